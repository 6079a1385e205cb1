// Opens every page of a folder in a browser, as its readers do: phone, tablet, desktop, 200 % zoom, light and dark, on paper.
//
//   node look.mjs FOLDER OUT
//
// FOLDER has one folder for each job with its pages (*.html) and pictures (*.svg). Screenshots and PDFs go to OUT. It fails on
// what an accessibility checker (axe-core, WCAG 2.2 AA and its best practices) finds, on a page that is wider than its window, on texts
// of a picture that lie over each other, on an extract of more than one sheet, on paper of another size than asked for.
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { createRequire } from "node:module";
import { chromium } from "playwright-core";

const [folder, out] = process.argv.slice(2);
if (!folder || !out) {
  console.error("usage: node look.mjs FOLDER OUT");
  process.exit(2);
}
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const LOOKS = [
  { name: "phone", width: 390, height: 844 },
  { name: "phone-dark", width: 390, height: 844, colorScheme: "dark" },
  { name: "tablet", width: 820, height: 1180 },
  { name: "desktop", width: 1280, height: 900 },
  { name: "desktop-dark", width: 1280, height: 900, colorScheme: "dark" },
  // A window of 1280 px at 200 % has 640 px of its own.
  { name: "zoom", width: 640, height: 450, deviceScaleFactor: 2 },
];
const EXTRACTS = /^(owner|inspector|estimator|before-and-after|dig-\d+)\.html$/;
/** How far two texts may reach into each other, px: descenders under capitals. */
const TOUCH = 3;

const faults = [];
const fault = (page, look, text) => {
  faults.push(`${page} (${look}): ${text}`);
};

const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});

/** Pairs of texts of a picture that lie over each other. */
const overlaps = (page) =>
  page.evaluate((touch) => {
    const found = [];
    for (const svg of document.querySelectorAll("svg")) {
      const scale = svg.getBoundingClientRect().width / (svg.viewBox.baseVal.width || 1);
      const texts = [...svg.querySelectorAll("text")].map((text) => ({ text: text.textContent, box: text.getBoundingClientRect() }));
      texts.forEach((a, i) => {
        for (const b of texts.slice(i + 1)) {
          const wide = Math.min(a.box.right, b.box.right) - Math.max(a.box.left, b.box.left);
          const high = Math.min(a.box.bottom, b.box.bottom) - Math.max(a.box.top, b.box.top);
          if (wide > touch * scale && high > touch * scale) found.push(`"${a.text}" lies over "${b.text}"`);
        }
        const frame = svg.getBoundingClientRect();
        if (a.box.left < frame.left - 1 || a.box.right > frame.right + 1) found.push(`"${a.text}" is cut off at the side`);
      });
    }
    return found;
  }, TOUCH);

async function look(job, file) {
  const name = `${job}/${file}`;
  const url = `file://${join(folder, job, file)}`;
  mkdirSync(join(out, job), { recursive: true });
  for (const at of LOOKS) {
    const { name: lookName, ...view } = at;
    const { width, height, ...rest } = view;
    const context = await browser.newContext({ viewport: { width, height }, bypassCSP: true, ...rest });
    const page = await context.newPage();
    await page.goto(url);
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
    if (wide > 0) fault(name, lookName, `the page is ${wide} px wider than the window`);
    await page.addScriptTag({ content: axe });
    const { violations } = await page.evaluate(() =>
      window.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }),
    );
    for (const v of violations) fault(name, lookName, `${v.id}: ${v.help} (${v.nodes.length}x, ${v.nodes[0].target.join(" ")})`);
    if (lookName === "desktop") for (const text of await overlaps(page)) fault(name, lookName, text);
    await page.screenshot({ path: join(out, job, `${file}-${lookName}.png`), fullPage: true });
    await context.close();
  }
  const context = await browser.newContext();
  const page = await context.newPage();
  await page.goto(url);
  const pdf = await page.pdf({ preferCSSPageSize: true, path: join(out, job, `${file}.pdf`) });
  const text = pdf.toString("latin1");
  const sheets = (text.match(/\/Type\s*\/Page\b(?!s)/g) ?? []).length;
  const box = /\/MediaBox\s*\[\s*0\s+0\s+([\d.]+)\s+([\d.]+)/.exec(text);
  const asked = /@page\s*\{\s*size:\s*(\w+)/.exec(readFileSync(join(folder, job, file), "utf8"))?.[1];
  const width = { A4: 595, letter: 612 }[asked];
  if (width && box && Math.abs(Number(box[1]) - width) > 1.5) fault(name, "paper", `${asked} was asked for, it is ${box[1]} points wide`);
  if (EXTRACTS.test(file) && sheets !== 1) fault(name, "paper", `one sheet is promised, it takes ${sheets}`);
  await context.close();
  return sheets;
}

async function lookAtPicture(job, file) {
  const context = await browser.newContext({ viewport: { width: 1000, height: 1400 } });
  const page = await context.newPage();
  await page.setContent(`<body style="margin:0">${readFileSync(join(folder, job, file), "utf8")}</body>`);
  for (const text of await overlaps(page)) fault(`${job}/${file}`, "picture", text);
  mkdirSync(join(out, job), { recursive: true });
  await page.screenshot({ path: join(out, job, `${file}.png`), fullPage: true });
  await context.close();
}

const sheets = [];
let pages = 0;
for (const job of readdirSync(folder).sort()) {
  for (const file of readdirSync(join(folder, job)).sort()) {
    if (file.endsWith(".html")) {
      sheets.push(`${job}/${file}: ${await look(job, file)} sheets`);
      pages += 1;
    } else if (file.endsWith(".svg")) {
      await lookAtPicture(job, file);
      pages += 1;
    }
  }
}
await browser.close();
writeFileSync(join(out, "sheets.txt"), sheets.join("\n") + "\n");
for (const text of faults) console.error(text);
console.log(`${pages} pages and pictures looked at, ${faults.length} faults`);
process.exit(faults.length > 0 || pages === 0 ? 1 : 0);

"""Puts the verification manual together: texts of this folder, records of the tests, tables of the coverage study.

Nothing in the page is typed but the texts. It fails where a record has no text, a text no record, or a text not all of its parts. Needs
markdown-it-py and latex2mathml.
"""

import argparse
import html
import json
import re
import sys
from collections import defaultdict
from pathlib import Path

import latex2mathml.converter
from markdown_it import MarkdownIt

HERE = Path(__file__).parent
PARTS = ["Equation", "Sources", "Limits of validity", "Known weaknesses", "What is from memory"]
# Marks of a reference, and what they mean.
MARKS = {
    "seen in the document": "the value was seen in the document itself",
    "seen in a secondary source": "it was seen in another document that quotes it",
    "from memory": "document and clause as well as they are known; to be confirmed",
    "common practice, no source": "no document is known",
    "computed apart": "computed apart from the library from the stated formula; confirms the computation, not a printed page",
    "exact": "follows from a definition or a theorem",
    "other software": "the answer of another program",
    "simulated truth": "a truth was drawn, measured by simulation, and solved",
}
MARKDOWN = MarkdownIt("commonmark").enable("table")


def fail(message):
    sys.exit(f"manual: {message}")


# Texts


NAMES = "sin|cos|tan|arcsin|arctan|ln|log|exp|max|min"


def mathml(latex, display):
    text = latex2mathml.converter.convert(latex.strip(), display="block" if display else "inline")
    # A gap between a function and its argument, and none about a stroke.
    gap = '<mspace width="0.17em"/>'
    name = rf"(?:<m(?:sup|sub)><mi>(?:{NAMES})</mi>(?:<m[ni]>\w+</m[ni]>|<mrow>(?:<m[ni]>\w+</m[ni]>)+</mrow>)</m(?:sup|sub)>|<mi>(?:{NAMES})</mi>)"
    text = re.sub(rf"({name})(?=<m(?:i|n|row|sqrt|frac|sub|sup|style)\b)(?!<mn>\d+</mn></msup>)(?!<mn>\d+</mn></msub>)", rf"\1{gap}", text)
    text = re.sub(rf"(</m(?:i|n|sub|sup)>)(?={name})", rf"\1{gap}", text)
    return re.sub(r'<mo( stretchy="false")?>(&#x0002F;|/|&#x0007C;|\|)</mo>', r'<mo lspace="0" rspace="0" stretchy="false">\2</mo>', text)


def rendered(markdown):
    """HTML of a text; formulas between dollars as MathML, which needs no script and no network."""
    kept = []

    def keep(latex, display):
        kept.append(mathml(latex, display))
        return f"@@{len(kept) - 1}@@"

    text = re.sub(r"\$\$(.+?)\$\$", lambda m: keep(m[1], True), markdown, flags=re.S)
    text = re.sub(r"\$(.+?)\$", lambda m: keep(m[1], False), text, flags=re.S)
    page = MARKDOWN.render(text)
    page = re.sub(r"<p>((?:@@\d+@@\s*)+)</p>", r'<div class="formula">\1</div>', page)
    page = re.sub(r"@@(\d+)@@", lambda m: kept[int(m[1])], page)
    return re.sub(r"<(/?)h2>", r"<\1h3>", page)


def texts():
    found = {}
    for file in sorted(HERE.glob("*.md")):
        name = file.stem.split("-", 1)[1]
        head, _, body = file.read_text().partition("\n---\n")
        title = re.search(r"^title: (.+)$", head, re.M)
        headings = re.findall(r"^## (.+)$", body, re.M)
        if not title or headings != PARTS:
            fail(f"{file.name} needs a title and the parts {PARTS}, and has {headings}")
        if any(not part.strip() for part in re.split(r"^## .+$", body, flags=re.M)[1:]):
            fail(f"{file.name} has an empty part")
        found[name] = (title[1], body)
    return found


# Records


def records(folder):
    lines = [line for file in sorted(folder.glob("*.jsonl")) for line in file.read_text().splitlines()]
    by = defaultdict(list)
    for line in lines:
        record = json.loads(line)
        by[record["computation"]].append(record)
    for of in by.values():
        of.sort(key=lambda r: r["test"])  # threads write as they come; within a test the order is the program's
    return by


def number(x):
    """A number as short as it is told apart by what it is compared with."""
    if isinstance(x, str):
        return html.escape(x)
    if x == 0:
        return "0"
    if 1e-3 <= abs(x) < 1e7:
        return f"{x:.9g}"
    return power(f"{x:.9g}")


def power(text):
    mantissa, _, exponent = text.partition("e")
    if not exponent:
        return text
    return f"{mantissa}&#8239;·&#8239;10<sup>{int(exponent)}</sup>".replace("-", "−")


def short(x):
    if x == 0:
        return "0"
    return f"{x:.2g}" if 1e-3 <= abs(x) < 1e4 else power(f"{x:.1e}")


def measured(error, measure):
    return {"relative": short(error), "absolute": short(error), "the same": "the same"}[measure]


def grouped(records):
    groups = defaultdict(list)
    for record in records:
        groups[(record["source"], record["mark"])].append(record)
    return groups


def cases(records):
    """Tables of the single cases, one a source; the reasons of tolerances as notes below."""
    page = []
    for (source, mark), of in grouped(records).items():
        reasons, rows = [], []
        for r in of:
            note = ""
            if r["why"]:
                if r["why"] not in reasons:
                    reasons.append(r["why"])
                note = f" ({letter(reasons.index(r['why']))})"
            if r["measure"] == "the same":
                allowed = "the same"
            else:
                kind = " rel." if r["measure"] == "relative" else ""
                allowed = f"{short(r['tolerance'])}{kind}{note}"
            error = "0" if r["measure"] == "the same" else measured(r["error"], r["measure"])
            rows.append(
                f"<tr><td>{html.escape(r['case'])}</td><td>{number(r['expected'])}</td><td>{number(r['computed'])}</td>"
                f"<td>{error}</td><td>{allowed}</td></tr>"
            )
        tests = ", ".join(f"<code>{html.escape(t)}</code>" for t in sorted({r["test"] for r in of}))
        notes = "".join(f"<li>{html.escape(reason)}</li>" for reason in reasons)
        page.append(
            f'<div class="group"><p class="source"><b>{html.escape(source)}</b> ({mark}; {tests})</p>'
            '<table class="cases"><thead><tr><th>case</th><th>expected</th><th>computed</th><th>off by</th><th>allowed</th></tr></thead>'
            f"<tbody>{''.join(rows)}</tbody></table>" + (f'<ol class="notes">{notes}</ol>' if notes else "") + "</div>"
        )
    return "".join(page)


def letter(i):
    return chr(ord("a") + i) if i < 26 else letter(i // 26 - 1) + letter(i % 26)


def merged(records):
    """The worst of records of one quantity, as where each network or each order of arguments has its own."""
    found = {}
    for r in records:
        key = (r["source"], r["case"], r["measure"], r["tolerance"])
        if key in found:
            best = found[key]
            worse = r if r["error"] > best["error"] else best
            found[key] = {**worse, "cases": best["cases"] + r["cases"]}
        else:
            found[key] = r
    return list(found.values())


def place(text):
    """Numbers of an input, short enough for a table but exact."""
    text = re.sub(r"Some\(([^)]*)\)", r"\1", text).replace("None", "-")
    return html.escape(text if len(text) < 190 else text[:187] + "...")


def many(records):
    page = []
    for (source, mark), of in grouped(records).items():
        reasons = []
        rows = []
        for r in merged(of):
            why = r["why"] + (f"; claimed: {r['claim']}" if r["claim"] else "")
            if why not in reasons:
                reasons.append(why)
            rows.append(
                f"<tr><td>{html.escape(r['case'])}</td><td>{r['cases']:,}</td><td>{html.escape(r['measure'])}</td><td>{short(r['error'])}</td>"
                f"<td>{short(r['tolerance'])} ({letter(reasons.index(why))})</td><td class='at'>{place(r['at'])}</td></tr>"
            )
        tests = ", ".join(f"<code>{html.escape(t)}</code>" for t in sorted({r["test"] for r in of}))
        notes = "".join(f"<li>{html.escape(reason)}</li>" for reason in reasons)
        page.append(
            f'<div class="group"><p class="source"><b>{html.escape(source)}</b> ({mark}; {tests})</p>'
            '<table class="many"><thead><tr><th>quantity</th><th>cases</th><th>error counted</th><th>worst</th><th>bound</th>'
            f'<th>where the worst lies</th></tr></thead><tbody>{"".join(rows)}</tbody></table><ol class="notes">{notes}</ol></div>'
        )
    return "".join(page)


# The page

STYLE = """
@page { size: A4; margin: 18mm 16mm 18mm 16mm; @bottom-center { content: counter(page); font: 8pt serif; } }
html { background: #fff; color: #000; }
body { font: 10pt/1.35 "Liberation Serif", "DejaVu Serif", "Times New Roman", serif; margin: 0 auto; max-width: 178mm; padding: 0 4mm; }
@media print { body { max-width: none; padding: 0; } }
h1 { font-size: 22pt; margin: 0 0 2mm; } h2 { font-size: 14pt; margin: 0 0 2mm; } h3 { font-size: 10.5pt; margin: 3mm 0 1mm; }
h4 { font-size: 10pt; margin: 4mm 0 1mm; font-style: italic; }
h1, h2, h3, h4 { line-height: 1.2; break-after: avoid; }
section { break-before: page; } p { margin: 0 0 1.5mm; orphans: 3; widows: 3; }
section.follows { break-before: auto; margin-top: 9mm; border-top: 0.5pt solid #000; padding-top: 4mm; }
a { color: #000; text-decoration: none; } code { font: 8.5pt "DejaVu Sans Mono", monospace; overflow-wrap: anywhere; }
.formula { margin: 2mm 0 3mm; } math { font-family: "STIX Two Math", "Latin Modern Math", "Cambria Math", "DejaVu Math TeX Gyre", math; font-size: 10.5pt; } .formula math { display: block; text-align: left; }
table { border-collapse: collapse; width: 100%; font-size: 8pt; line-height: 1.25; margin: 1mm 0; font-variant-numeric: tabular-nums lining-nums; }
thead { display: table-header-group; } tr { break-inside: avoid; }
th { text-align: left; font-weight: bold; border-bottom: 0.8pt solid #000; padding: 0.5mm 1.5mm 0.5mm 0; vertical-align: bottom; }
td { border-bottom: 0.25pt solid #999; padding: 0.4mm 1.5mm 0.4mm 0; vertical-align: top; overflow-wrap: anywhere; }
table.cases td:nth-child(1) { width: 44%; } table.cases td:nth-child(n+2), table.many td:nth-child(2) { white-space: normal; }
table.many td:nth-child(1) { width: 20%; } table.many td:nth-child(3) { width: 20%; } td.at { font: 6.5pt/1.25 "DejaVu Sans Mono", monospace; width: 32%; }
table.summary td:nth-child(n+3), table.summary th:nth-child(n+3) { text-align: right; padding-right: 2mm; white-space: nowrap; }
table.summary tr.first td { border-top: 0.6pt solid #000; } table.summary td:first-child { width: 27%; } .summary td, .summary th { padding-bottom: 0.2mm; }
table.many td:nth-child(2), table.many td:nth-child(4), table.many td:nth-child(5) { white-space: nowrap; }
.source { margin: 3mm 0 0.5mm; break-after: avoid; font-size: 9pt; } .source code { font-size: 7pt; }
ol.notes { list-style: lower-alpha; font-size: 7.5pt; line-height: 1.2; margin: 0 0 2mm; padding-left: 5mm; }
sup { font-size: 70%; line-height: 0; } .title { min-height: 225mm; } .title dl { display: grid; grid-template-columns: 30mm 1fr; gap: 1mm 3mm; }
.title dt { font-weight: bold; } dd { margin: 0; } .title pre, .commands { font: 8.5pt/1.4 "DejaVu Sans Mono", monospace; white-space: pre-wrap; }
nav ol { columns: 2; padding-left: 6mm; } nav li { break-inside: avoid; margin-bottom: 0.6mm; }
.study table { font-size: 6pt; line-height: 1.2; } .study h2 { font-size: 11.5pt; margin-top: 5mm; } .study h3 { font-size: 9.5pt; }
.study td:first-child { width: 26%; } .study li { font-size: 7.5pt; }
figure { margin: 3mm 0; break-inside: avoid; } figure svg { width: 100%; height: auto; max-height: 235mm; }
"""


def summary(order, found, titles):
    rows = []
    for name in order:
        of = found[name]
        single, own = [r for r in of if r["kind"] == "case"], []
        worst = 0.0
        for r in single:
            if r["tolerance"]:
                worst = max(worst, r["error"] / r["tolerance"])
        if single:
            shares = f"{100 * worst:.0f} %" if worst else "exact"
            own.append(("single reference cases", f"{len(single):,}", shares, "own of each"))
        for r in sorted(merged([r for r in of if r["kind"] == "many"]), key=lambda r: (r["cases"], r["case"])):
            what = f"{html.escape(r['case'])} ({html.escape(r['measure'])})"
            own.append((what, f"{r['cases']:,}", short(r["error"]), short(r["tolerance"])))
        for i, (what, count, error, bound) in enumerate(own):
            title = f'<a href="#{name}">{html.escape(titles[name][0])}</a>' if i == 0 else ""
            first = ' class="first"' if i == 0 else ""
            rows.append(f"<tr{first}><td>{title}</td><td>{what}</td><td>{count}</td><td>{error}</td><td>{bound}</td><td>all</td></tr>")
    return (
        '<table class="summary"><thead><tr><th>computation</th><th>what, and how its error is counted</th><th>cases</th>'
        f'<th>worst</th><th>bound</th><th>passed</th></tr></thead><tbody>{"".join(rows)}</tbody></table>'
    )


def study(folder):
    text = (folder / "coverage.md").read_text()
    page = MARKDOWN.render(text.partition("\n")[2])
    figures = "".join(f"<figure>{svg(folder / name)}</figure>" for name in ("coverage.svg", "power.svg"))
    return page + figures


def svg(file):
    text = file.read_text()
    return text[text.index("<svg") :]


def main():
    parser = argparse.ArgumentParser()
    for name in ("records", "study", "laterals", "date", "version", "compiler", "machine", "cases", "out"):
        parser.add_argument(f"--{name}", required=True)
    given = parser.parse_args()
    told, found = texts(), records(Path(given.records))
    if silent := set(told) - set(found):
        fail(f"texts without a record: {sorted(silent)}")
    if unknown := set(found) - set(told):
        fail(f"records without a text: {sorted(unknown)}")
    order = list(told)
    of_all = [r for of in found.values() for r in of]
    singles = sum(r["kind"] == "case" for r in of_all)
    drawn = sum(r["cases"] for r in of_all if r["kind"] == "many")

    marks = defaultdict(int)
    for r in of_all:
        marks[r["mark"]] += 1
    if strange := set(marks) - set(MARKS):
        fail(f"unknown marks {strange}")
    of_marks = "".join(f"<tr><td>{m}</td><td>{why}</td><td>{marks[m]:,}</td></tr>" for m, why in MARKS.items() if marks[m])

    sections, contents = [], []
    for i, name in enumerate(order, 1):
        title, body = told[name]
        contents.append(f'<li><a href="#{name}">{html.escape(title)}</a></li>')
        single = [r for r in found[name] if r["kind"] == "case"]
        worst = [r for r in found[name] if r["kind"] == "many"]
        sections.append(
            f'<section id="{name}" class="follows"><h2>{i}&#8195;{html.escape(title)}</h2>{rendered(body)}'
            + (f"<h3>Reference cases</h3>{cases(single)}" if single else "")
            + (f"<h3>The worst of many</h3>{many(worst)}" if worst else "")
            + "</section>"
        )
    for anchor, title in (("study", "Appendix: coverage and power"),):
        contents.append(f'<li><a href="#{anchor}">{title}</a></li>')

    e = html.escape
    page = f"""<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>fallwise {e(given.version)}: verification manual</title><style>{STYLE}</style></head><body>
<div class="title"><h1>fallwise: verification manual</h1>
<p>What the library computes, by which equation and source, and how far its answers are from answers that were had without it.</p>
<dl><dt>Version</dt><dd>{e(given.version)}</dd><dt>Date</dt><dd>{e(given.date)}</dd><dt>Compiler</dt><dd>{e(given.compiler)}</dd>
<dt>Machine</dt><dd>{e(given.machine)}</dd><dt>Cases</dt><dd>{singles:,} single reference cases, {drawn:,} cases of which the worst counts, all within
their bounds: the page is not made where one is not.</dd><dt>Study</dt><dd>{e(given.laterals)} laterals a row of the coverage tables.</dd></dl>
<h3>To repeat it</h3>
<pre>bash tests/manual.sh --date {e(given.date)} --cases {e(given.cases)}
FALLWISE_STUDY=full bash tests/manual.sh        # coverage with 500 laterals a row</pre>
<h3>How to read it</h3>
<p>Every figure in a table below was written by a test at the moment it passed; only the texts are written by hand. A <i>single</i> case has
an expected and a computed value and a tolerance with its reason. Of <i>many</i> cases the one that is farthest off is shown, with where it lies, and
the bound that the documentation claims or the method should have. Random cases are drawn from fixed seeds over the range of each function
and in its corners: near empty, near full, near level, nearly straight, nearly equal, huge, denormal. An error &ldquo;relative, in 2<sup>−52</sup>&rdquo;
is half to one unit in the last place of a double. The same bits come out on any x86-64 or aarch64 machine, so that these errors are those
of every machine.</p>
<p>What this document does not show: that a drain is of the model. Whether intervals hold the truth is in the appendix, together with
what they do not cover.</p>
<table><thead><tr><th>mark of a reference</th><th>what it means</th><th>records</th></tr></thead><tbody>{of_marks}</tbody></table></div>
<section><h2>Contents</h2><nav><ol>{"".join(contents)}</ol></nav></section>
<section><h2>Summary</h2><p>Worst errors of single cases are shown as a share of what each is allowed.</p>{summary(order, found, told)}</section>
{"".join(sections)}
<section id="study" class="study"><h2>Appendix: coverage and power</h2><p>Made by <code>tests/study</code> in the same run, {e(given.laterals)} laterals a
row.</p>{study(Path(given.study))}</section>
</body></html>
"""
    if re.search(r"<script|https?://(?!www\.w3\.org/)", page):
        fail("the page would need a script or the network")
    Path(given.out).write_text(page)
    print(f"{len(order)} computations, {singles:,} single cases, {drawn:,} of which the worst counts")


if __name__ == "__main__":
    main()

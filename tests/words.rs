//! Texts in other languages: all of ours are listed for translators, none is said past the list, and a demo speaks German.

#![allow(clippy::unwrap_used, reason = "the helpers of a test may panic as the test may")]

use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    path::{Path, PathBuf},
};

use fallwise::{
    Answers, Lateral, Rulebook, adjust,
    answers::Comparison,
    compare,
    units::{Language, Part, Said, Voice, Words},
};
use fallwise_examples::demos::DEMOS;
use fallwise_files::job;

/// Where texts of ours are written: the core, the report and its templates.
const WRITTEN_IN: [&str; 3] = ["crates/fallwise/src", "crates/fallwise-report/src", "crates/fallwise-report/templates"];

/// The list for translators.
const LIST: &str = "crates/fallwise/docs/texts.toml";

const HEAD: &str = r#"# Every English text that fallwise says in reports, for translators. Made by a test (see DEVELOPERS.md).
#
# Copy this file, say on the right what stands on the left, and name your file under [report] of a job: language = "de.toml".
#
# - A name in braces stands for a figure, a name or another text of this list. It must be there on the right too, wherever your
#   grammar wants it, and may be there more than once.
# - Texts stand in order of the files that say them, each where it is first said. One without a capital is a part of another,
#   or a heading.
# - What you leave out stays English. decimal is "point" or "comma"; code is the language's (BCP 47), such as "de" or "pt-BR".

code = "en"
name = "English"
decimal = "point"

[text]
"#;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("tests stand in the repository").to_owned()
}

/// Files below a folder of the repository, in order of name.
fn files_below(folder: &str) -> Vec<String> {
    let entries = fs::read_dir(root().join(folder)).expect("sources are readable");
    let mut names: Vec<String> = entries.flatten().filter_map(|entry| entry.file_name().into_string().ok()).collect();
    names.sort();
    let below = |name: &String| {
        let name = format!("{folder}/{name}");
        if root().join(&name).is_dir() { files_below(&name) } else { vec![name] }
    };
    names.iter().flat_map(below).collect()
}

/// The texts of a source file, in order: the literals of `said!`, `say!`, `word!` and of calls of `word` and `.text`. Comments and
/// tests are passed over.
fn texts_of(source: &str) -> Vec<String> {
    let code: Vec<&str> = source.lines().filter(|line| !line.trim_start().starts_with("//")).collect();
    let code = code.join("\n");
    let code = code.split("#[cfg(test)]\nmod tests {").next().unwrap_or_default();
    let mut texts = Vec::new();
    for (at, _) in code.match_indices('(') {
        let (before, after) = (&code[..at], &code[at + 1..]);
        let named = |name: &str| {
            before.strip_suffix(name).is_some_and(|b| !b.ends_with(|c: char| c.is_alphanumeric() || c == '_'))
        };
        let is_macro = ["said!", "say!", "word!"].into_iter().any(named);
        let is_call = named("word") || before.strip_suffix("text").is_some_and(|b| b.ends_with('.'));
        if is_macro || is_call && after.trim_start().starts_with('"') {
            texts.extend(first_literal(after));
        }
    }
    texts
}

/// The first string literal before the bracket that `code` stands in is closed.
fn first_literal(code: &str) -> Option<String> {
    let mut depth = 1;
    for (at, c) in code.char_indices() {
        match c {
            '"' => return Some(literal(&code[at + 1..])),
            '(' | '[' | '{' => depth += 1,
            ')' | ']' | '}' if depth == 1 => return None,
            ')' | ']' | '}' => depth -= 1,
            _ => {}
        }
    }
    None
}

/// A string literal from behind its opening quote, as the compiler reads it.
fn literal(code: &str) -> String {
    let mut text = String::new();
    let mut chars = code.chars().peekable();
    while let Some(c) = chars.next().filter(|c| *c != '"') {
        match (c, if c == '\\' { chars.next() } else { None }) {
            ('\\', Some('\n')) => while chars.next_if(|c| c.is_whitespace()).is_some() {},
            ('\\', Some('n')) => text.push('\n'),
            ('\\', Some('u')) => {
                let digits: String = chars.by_ref().skip(1).take_while(|c| *c != '}').collect();
                text.push(u32::from_str_radix(&digits, 16).ok().and_then(char::from_u32).unwrap());
            }
            ('\\', Some(escaped)) => {
                assert!(escaped == '"' || escaped == '\\', "\\{escaped} in a text");
                text.push(escaped);
            }
            _ => text.push(c),
        }
    }
    text
}

/// All texts by the file that says each first.
fn all_texts() -> Vec<(String, Vec<String>)> {
    let mut seen = BTreeSet::new();
    let mut all = Vec::new();
    for file in WRITTEN_IN.into_iter().flat_map(files_below).filter(|f| !f.ends_with("_tests.rs")) {
        let source = fs::read_to_string(root().join(&file)).expect("sources are readable");
        let new: Vec<String> = texts_of(&source).into_iter().filter(|text| seen.insert(text.clone())).collect();
        if !new.is_empty() {
            all.push((file, new));
        }
    }
    all
}

fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// A table of a language from each English text to what `say` makes of it.
fn table(say: impl Fn(&str) -> String) -> String {
    let mut table = String::new();
    for (file, texts) in all_texts() {
        table.extend(["\n# ", &file, "\n"]);
        for text in texts {
            table.extend([&quoted(&text), " = ", &quoted(&say(&text)), "\n"]);
        }
    }
    table
}

#[test]
fn the_scan_reads_literals_as_the_compiler_does() {
    let source = r#"
        // said!("a comment")
        said!(words, "one {n} \
                      two", n = said!("{m} %", m = 1));
        say!(t, "quo\"ted"); word!("fixed"); t.word("word"); v.text("text"); fall(
            word("const"));
        $crate::said!($crate::units::Words::Uk, $template $(, $name = $part)*)
        other("no"); password("no"); let text = node.text();
#[cfg(test)]
mod tests { said!("a test") }
"#;
    assert_eq!(texts_of(source), ["one {n} two", "{m} %", "quo\"ted", "fixed", "word", "text", "const"]);
}

#[test]
fn every_text_is_in_the_list_for_translators() {
    let list = format!("{HEAD}{}", table(str::to_owned));
    let path = root().join(LIST);
    if std::env::var_os("UPDATE").is_some() {
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(&path, &list).unwrap();
    }
    assert!(fs::read_to_string(&path).unwrap_or_default() == list, "{LIST} is not fresh: run this test with UPDATE=1");
    let read = Language::parse(&list).unwrap();
    assert!(read.translated().all(|text| read.text(text) == text) && read.translated().count() > 300);
}

fn lateral(demo: &str) -> (Lateral, Option<Rulebook>) {
    let loaded = job::read(&root().join("examples/demos").join(demo).join("job.toml")).expect("a demo is readable");
    let book = loaded.job.rules.rulebook.as_deref().map(|name| Rulebook::shipped(name).expect("a shipped rulebook"));
    (Lateral::solve(loaded.job).expect("a demo is solvable"), book)
}

fn answers(demo: &str) -> Answers {
    let (lateral, book) = lateral(demo);
    lateral.answers(book.as_ref()).expect("a demo has answers")
}

fn comparison() -> Comparison {
    let ((before, _), (after, book)) = (lateral("before-relay"), lateral("after-relay"));
    compare(&before, &after, adjust::Shared::Zero, book.as_ref()).expect("surveys of one lateral")
}

/// The texts of the answers that people read.
fn rows(a: &Answers) -> Vec<&String> {
    let mut rows = vec![&a.sentence, &a.total.name];
    rows.extend(a.next.iter().chain(&a.next_others).flat_map(|n| [&n.sentence, &n.hazard]));
    rows.extend(a.reaches.iter().chain(&a.pieces).chain(&a.backward).map(|r| &r.name));
    rows.extend(a.adjustment.iter().flat_map(|a| a.without.iter().map(|w| &w.left_out)));
    rows.extend(a.budget.iter().map(|b| &b.source));
    rows.extend(a.pools.iter().map(|p| &p.sentence));
    rows.extend(a.findings.iter().flat_map(|f| [&f.subject, &f.finding, &f.requirement, &f.sentence]));
    rows.extend(a.water.iter().map(|w| &w.sentence));
    rows.extend(a.carrying.iter().map(|c| &c.sentence));
    rows.extend(a.capacity.iter().flat_map(|c| [&c.name, &c.sentence]));
    rows.extend(a.needed.iter().flat_map(|n| [&n.name, &n.sentence]));
    rows.extend(a.ties.iter().flat_map(|t| [&t.name, &t.sentence]));
    rows.extend(a.adjustment.iter().flat_map(|j| j.not_determined.iter().chain([&j.sentence])));
    rows.extend(a.as_built.iter().map(|b| &b.sentence));
    rows.extend(a.relay.iter().flat_map(|r| {
        let stretches = r.stretches.iter().map(|s| &s.sentence).chain(r.quantities.iter().map(|q| &q.item));
        r.sentences.iter().chain(stretches).chain(r.short.iter().map(|s| &s.sentence))
    }));
    rows.extend(a.digs.iter().flat_map(|d| [&d.sentence, &d.tie_name, &d.setting_out]));
    rows.extend(a.edits.iter().map(|e| &e.reason));
    rows.extend(a.parameters.iter().map(|p| &p.name));
    rows.extend(a.warnings.iter().chain(&a.notes).chain(&a.not_covered).chain(&a.cautions));
    rows.retain(|text| !text.is_empty());
    rows
}

/// The texts of a comparison beside those of its two surveys.
fn rows_of_both(c: &Comparison) -> Vec<&String> {
    let mut rows = vec![&c.sentence];
    rows.extend(c.slopes.iter().flat_map(|s| [&s.name, &s.verdict, &s.sentence]));
    rows.extend(c.bellies.iter().flat_map(|b| [&b.verdict, &b.sentence]));
    rows.extend(c.findings.iter().map(|f| &f.subject));
    rows.extend(c.findings.iter().flat_map(|f| f.before.iter().chain(&f.after)));
    rows.extend(c.warnings.iter().chain(&c.not_covered).chain(&c.cautions));
    rows
}

/// What stands in a sentence as it is in every language.
fn same_in_all<'a>(said: &'a Said, texts: &mut Vec<&'a str>) {
    fn of<'a>(part: &'a Part, texts: &mut Vec<&'a str>) {
        match part {
            Part::Text(text) => texts.push(text),
            Part::Said(said) => same_in_all(said, texts),
            Part::Capital(part) => of(part, texts),
            _ => {}
        }
    }
    said.parts.values().for_each(|part| of(part, texts));
}

/// Every text of the job and of the shipped rulebooks, their names too.
fn of_others(a: &Answers) -> Vec<String> {
    fn gather(value: &serde_json::Value, into: &mut Vec<String>) {
        match value {
            serde_json::Value::String(text) => into.push(text.clone()),
            serde_json::Value::Array(all) => all.iter().for_each(|v| gather(v, into)),
            serde_json::Value::Object(all) => all.iter().for_each(|(key, v)| {
                into.push(key.clone());
                gather(v, into);
            }),
            _ => {}
        }
    }
    let mut texts = Vec::new();
    for size in fallwise::model::standard_pipes() {
        texts.extend([size.class.to_owned(), size.nominal.to_string()]);
    }
    gather(&serde_json::to_value((&a.job, &a.rules)).expect("a job is JSON"), &mut texts);
    for shelved in fallwise::rules::rulebooks() {
        let book = Rulebook::shipped(shelved.name).expect("a shipped rulebook");
        gather(&serde_json::to_value(&book.rows).expect("rules are JSON"), &mut texts);
        texts.push(shelved.title);
        for rule in &book.rows {
            // As they are cited: a fact as it stands in a job, and why a row is off.
            texts.extend(rule.assumed.iter().map(|(name, value)| format!("{name} = \"{value}\"")));
            texts.extend(rule.remark.strip_prefix("Switched off: ").map(str::to_owned));
        }
    }
    texts
}

/// Whether a template is a row of sentences, or a text that is the same in all languages.
fn is_frame(template: &str) -> bool {
    let in_row = |name: &str| name.len() == 5 && name.starts_with("{s") && name.ends_with('}');
    template == "{text}" || template.split(' ').all(in_row)
}

/// Holds rows against the list and what is said of them.
fn all_can_be_translated(demo: &str, rows: &[&String], said: &[Said], of_others: &[String], listed: &BTreeSet<String>) {
    let by_text: BTreeMap<String, &Said> = said.iter().map(|said| (said.to_string(), said)).collect();
    assert!(by_text.keys().eq(said.iter().map(Said::to_string).collect::<Vec<_>>().iter()), "{demo}: order");
    for row in rows {
        let known = by_text.contains_key(*row) || listed.contains(*row) || of_others.contains(row);
        assert!(known, "{demo}: no language can say: {row}");
    }
    for said in said {
        assert!(!said.is_fixed() && rows.iter().any(|row| said == row.as_str()), "{demo}: nowhere: {said}");
        for template in said.templates() {
            assert!(is_frame(template) || listed.contains(template), "{demo}: not in {LIST}: {template}");
        }
        let mut texts = Vec::new();
        same_in_all(said, &mut texts);
        for text in texts {
            // A row's text may be cited without its full stop.
            let theirs = of_others.iter().any(|other| other.trim_end_matches('.') == text.trim_end_matches('.'));
            assert!(theirs || text.is_empty(), "{demo}: \"{text}\" is no text of the job, in: {said}");
        }
    }
}

#[test]
fn nothing_is_said_past_the_list() {
    let listed: BTreeSet<String> = all_texts().into_iter().flat_map(|(_, texts)| texts).collect();
    for demo in DEMOS {
        let a = answers(demo.name);
        all_can_be_translated(demo.name, &rows(&a), &a.said, &of_others(&a), &listed);
    }
    let c = comparison();
    let of_others: Vec<String> = of_others(&c.before).into_iter().chain(of_others(&c.after)).collect();
    all_can_be_translated("two surveys", &rows_of_both(&c), &c.said, &of_others, &listed);
}

#[test]
fn a_language_of_brackets_leaves_nothing_outside_them() {
    let toml = format!("code = \"x\"\nname = \"x\"\n[text]\n{}", table(|text| format!("⟦{text}⟧")));
    let brackets = Language::parse(&toml).unwrap();
    for demo in DEMOS {
        let a = answers(demo.name);
        let voice = Voice::new(a.job.report.words, &brackets);
        for said in &a.said {
            let told = voice.tell(said);
            // Names of the job's, and documents' texts, are the same in all languages.
            if said.template == "{text}" {
                assert_eq!(told, said.to_string());
                continue;
            }
            let mut depth = 0_i32;
            let outside: String = told
                .chars()
                .filter(|c| {
                    depth += i32::from(*c == '⟦') - i32::from(*c == '⟧');
                    depth == 0 && *c != '⟧'
                })
                .collect();
            assert!(depth == 0 && outside.trim().is_empty(), "{}: {outside:?} in {told}", demo.name);
            // A bracket takes the capital of the text behind it.
            let without = told.replace(['⟦', '⟧'], "").to_lowercase();
            assert_eq!(without, said.to_string().to_lowercase(), "{}", demo.name);
        }
    }
}

fn german() -> Language {
    let text = fs::read_to_string(root().join("tests/languages/de.toml")).expect("German is readable");
    Language::parse(&text).expect("German is a language")
}

#[test]
fn german_translates_all_of_the_core_and_nothing_that_is_gone() {
    let (german, all) = (german(), all_texts());
    let listed: Vec<&String> = all.iter().flat_map(|(_, texts)| texts).collect();
    let of_core = all.iter().filter(|(file, _)| file.starts_with("crates/fallwise/src"));
    let left_out: Vec<&String> = of_core.flat_map(|(_, texts)| texts).filter(|text| !german.has(text)).collect();
    assert!(left_out.is_empty(), "not in de.toml: {left_out:#?}");
    let gone: Vec<&str> = german.translated().filter(|text| !listed.iter().any(|l| l == text)).collect();
    let nearest = |text: &&str| {
        // The one that shares the longest start, and then the nearest length, is most likely what became of it.
        let alike = |other: &str| text.chars().zip(other.chars()).take_while(|(a, b)| a == b).count();
        let near = listed.iter().max_by_key(|l| (alike(l), usize::MAX - l.len().abs_diff(text.len())));
        format!("{text:?}; the nearest is {near:?}")
    };
    let told: Vec<String> = gone.iter().map(nearest).collect();
    assert!(told.is_empty(), "de.toml has texts that are said no more: {told:#?}");
}

#[test]
fn a_demo_speaks_german() {
    let german = german();
    let a = answers("two-bellies");
    let voice = Voice::new(a.job.report.words, &german);
    let told: BTreeMap<String, String> = a.said.iter().map(|said| (said.to_string(), voice.tell(said))).collect();
    let tell = |english: &String| told.get(english).cloned().unwrap_or_else(|| german.text(english).to_owned());
    // What the code prints, and what the job calls its reaches, stays as it is.
    assert_eq!(
        tell(&a.sentence),
        "Flacher, als Approved Document H (2015) für Neubau verlangt. Abschnitt 1, garden, hat im Mittel 1 : 71,5 Gefälle, \
         irgendwo zwischen 1 : 99,4 und 1 : 55,9; die Richtlinie verlangt mindestens 1 in 40. Sie läuft auch rückwärts, über \
         1,99 m. Die tiefste von 2 Senken, bei Station 13,09 m, kann Wasser 28 mm tief (19 mm bis 37 mm) halten."
    );
    assert_eq!(
        tell(&a.pools[0].sentence),
        "Zwischen Station 5,17 m und 7,51 m kann das Rohr auf 2,33 m Wasser 17 mm tief (95-%-Bereich 10 mm bis 23 mm) halten, \
         insgesamt 0,85 Liter."
    );
    let backfall = a.findings.iter().find(|f| f.subject == "backfall").unwrap();
    assert_eq!(
        (tell(&backfall.subject), tell(&backfall.finding), tell(&backfall.sentence)),
        (
            "Gegengefälle".to_owned(),
            "nicht erfüllt".to_owned(),
            "Das Rohr läuft über 1,99 m rückwärts, zwischen Station 13,09 m und 15,10 m; wir verlangen, dass keine Strecke länger \
             als 1,20 m das tut (unsere Wahl, keine Vorschrift), und das ist nicht erfüllt (Wahrscheinlichkeit, dass doch: weniger \
             als 1 %)."
                .to_owned()
        )
    );
    assert_eq!(tell(&a.cautions[4]), "Nicht in Schächte einsteigen.");
    // No word of English is left in what is said of the pipe itself.
    for sentence in a.pools.iter().map(|p| tell(&p.sentence)).chain(a.not_covered.iter().map(tell)) {
        assert!(!sentence.contains(" the ") && !sentence.contains(" of "), "{sentence}");
    }
}

#[test]
fn a_sentence_keeps_its_wording_in_another_language() {
    let german = german();
    let said = fallwise::said!(Words::Us, "{depth} deep", depth = Part::Small(0.0254));
    assert_eq!(Voice::new(Words::Uk, &german).tell(&said), "1,0 in tief");
}

/// The sheet for the owner is German from top to bottom, but for what the job and a document say.
#[test]
fn the_owner_s_sheet_is_german() {
    let german = Language::parse(&fs::read_to_string(root().join("tests/languages/de.toml")).unwrap()).unwrap();
    let answers = crate::end_to_end::answers("two-bellies");
    let sheet = fallwise_report::Report::new(&answers).language(&german).owner_html().unwrap();
    for text in [
        "<html lang=\"de\">",
        "Ein Teil fällt mit 1 : 99,4 bis 1 : 55,9, wo Approved Document H 2015 1 : 40 verlangt. Es fällt auf 1,99 m rückwärts. Es hat 2 \
         Senken; die tiefste kann Wasser 19 mm bis 37 mm tief halten.",
        "<dt>Nicht bekannt</dt><dd>Wann und warum es so wurde.</dd>",
        "23,93 m entlang des Rohrs von etwa 24 m",
        "3. Mai 2031, 14:05 Uhr",
        "<td>Nein</td>",
        "Höhen sind 8-mal größer gezeichnet als Längen",
    ] {
        assert!(sheet.contains(text), "{text}\n{sheet}");
    }
    for english in ["Belly", "bellies", "water", "Known", "deep", "pipe", "Between", "Yes", "backwards", "the"] {
        let texts = sheet.split("</style>").skip(1).flat_map(|part| part.split('<'));
        let texts = texts.filter_map(|tag| tag.split_once('>')).filter(|(head, _)| *head != "style");
        let shown: Vec<&str> = texts.map(|(_, text)| text).collect();
        assert!(!shown.join(" ").contains(english), "{english} in {}", shown.join(" "));
    }
    // What is read by programs stays as it is.
    assert!(fallwise_files::output::result_json(&answers).unwrap().contains("1 in 71.5"));
}

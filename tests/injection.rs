//! Strangers' texts in every face: they are read, and do nothing else.
//!
//! A text is hostile where it is a note, a name, a title, a fact, a file name, a word of a log. The faces are looked at as
//! their readers do: CSV by a CSV reader, JSON by a JSON reader, the page and the picture by a strict XML reader (the page
//! is written so that it is well formed as XML too), whose tree must be that of harmless texts.

#![allow(clippy::unwrap_used, reason = "the helpers of a test may panic as the test may")]

use std::{path::Path, sync::LazyLock};

use fallwise::{
    Answers, Lateral, Rulebook, Run,
    text::{hides, visible},
};
use fallwise_files::{MemoryResolver, job, output, output::csv_table};
use fallwise_report::{Photo, Report};
use proptest::{collection::vec, prelude::*, sample::select};
use roxmltree::{Document, ParsingOptions};

static DEMO: LazyLock<Answers> = LazyLock::new(|| {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/demos/two-bellies/job.toml");
    let loaded = job::read(&path).unwrap();
    let book = loaded.job.rules.rulebook.clone().map(|name| Rulebook::shipped(&name).unwrap());
    let mut answers = Lateral::solve(loaded.job).unwrap().answers(book.as_ref()).unwrap();
    answers.edits.truncate(3);
    answers.readings.truncate(3);
    answers
});

/// The demo with `text` wherever a stranger's words come in, and what was made of them.
fn with(text: &str) -> Answers {
    let mut a = DEMO.clone();
    let word = || text.to_owned();
    let s = &mut a.job.survey;
    for fact in [&mut s.title, &mut s.site, &mut s.operator, &mut s.video, &mut s.video_hash, &mut s.signed_by] {
        *fact = Some(word());
    }
    (a.sentence, a.version) = (word(), word());
    (a.warnings, a.notes) = (vec![word()], vec![word()]);
    (a.cautions, a.not_covered) = (vec![word()], vec![word()]);
    for note in &mut a.noted {
        (note.text, note.photo, note.photo_sha256) = (word(), Some(word()), Some(word()));
    }
    for feature in &mut a.job.features {
        feature.text = word();
    }
    for reach in a.reaches.iter_mut().chain([&mut a.total]) {
        (reach.name, reach.pipe) = (word(), word());
    }
    for f in &mut a.findings {
        (f.sentence, f.requirement, f.document, f.edition) = (word(), word(), word(), word());
        (f.clause, f.force, f.reason) = (word(), word(), Some(word()));
        if f.subject != "lateral" {
            f.subject = word();
        }
    }
    for p in &mut a.pools {
        p.sentence = word();
    }
    for e in &mut a.edits {
        (e.run, e.reason, e.action) = (word(), word(), word());
    }
    for p in &mut a.parameters {
        p.name = word();
    }
    for r in &mut a.rules {
        (r.text, r.remark, r.source_mark) = (word(), word(), word());
    }
    a
}

const JPEG: &[u8] = &[0xff, 0xd8, 0xff, 0xd9];

fn page(answers: &Answers) -> String {
    let file = answers.noted[0].photo.clone().unwrap_or_default();
    let photo = Photo { file: &file, jpeg: JPEG, width_px: 4, height_px: 3 };
    Report::new(answers).photos(&[photo]).page_html().unwrap()
}

/// Every element with its depth and its attributes, names of these only: but for texts, that is all there is to a page.
fn tree(text: &str) -> Vec<(usize, String, Vec<String>)> {
    let options = ParsingOptions { allow_dtd: true, ..ParsingOptions::default() };
    let document = Document::parse_with_options(text, options).unwrap_or_else(|e| panic!("{e} in {text}"));
    let strange = document.descendants().find(|n| n.is_comment() || n.is_pi());
    assert!(strange.is_none(), "{strange:?}");
    let elements = document.descendants().filter(roxmltree::Node::is_element);
    elements
        .map(|n| {
            let attributes = n.attributes().map(|a| a.name().to_owned()).collect();
            (n.ancestors().count(), n.tag_name().name().to_owned(), attributes)
        })
        .collect()
}

/// The picture breaks lines by length, so that how many texts there are follows from that of the words: one of each kind
/// is enough to compare.
pub(crate) fn kinds(text: &str) -> Vec<(String, Vec<String>)> {
    let mut kinds: Vec<_> = tree(text).into_iter().map(|(_, name, attributes)| (name, attributes)).collect();
    kinds.sort();
    kinds.dedup();
    kinds
}

/// The page without its picture.
fn without_picture(page: &str) -> String {
    let (before, rest) = page.split_once("<svg").unwrap();
    let (_, after) = rest.split_once("</svg>").unwrap();
    format!("{before}{after}")
}

/// What may stand in no face, whatever was typed; the isolates that the library itself sets around what runs from right
/// to left are paired.
fn assert_plain(face: &str) {
    let hidden = face.chars().find(|c| *c != '\n' && hides(*c));
    assert_eq!(hidden.map(u32::from), None);
}

/// Harmless words for which the page has the same parts: no words, one sentence, or a first one and others.
fn alike(text: &str) -> &'static str {
    match visible(text) {
        text if text.is_empty() => "",
        text if text.split_once(". ").is_some_and(|(_, rest)| !rest.is_empty()) => "words. more",
        _ => "words",
    }
}

fn assert_faces(text: &str) {
    let (hostile, harmless) = (with(text), with(alike(text)));
    let (page_a, page_b) = (page(&hostile), page(&harmless));
    assert_eq!(tree(&without_picture(&page_a)), tree(&without_picture(&page_b)));
    let (svg_a, svg_b) = (Report::new(&hostile).profile_svg(), Report::new(&harmless).profile_svg());
    assert_eq!(kinds(&svg_a), kinds(&svg_b));
    assert_eq!(kinds(&page_a), kinds(&page_b));
    for face in [&page_a, &svg_a, &Report::new(&hostile).summary()] {
        assert_no_override(face);
    }
    // Only the library's own: pictures out of the page itself, and nothing to follow or to run.
    let options = ParsingOptions { allow_dtd: true, ..ParsingOptions::default() };
    let document = Document::parse_with_options(&page_a, options).unwrap();
    for attribute in document.descendants().flat_map(|n| n.attributes().collect::<Vec<_>>()) {
        let (name, value) = (attribute.name(), attribute.value());
        assert!(!name.starts_with("on") && name != "href" && name != "style", "{name}");
        assert!(name != "src" || value == "data:image/jpeg;base64,/9j/2Q==", "{value}");
    }
}

/// No hidden character, and of the two isolates as many begin as end.
pub(crate) fn assert_no_override(face: &str) {
    let (begin, end) = (face.matches('\u{2068}').count(), face.matches('\u{2069}').count());
    assert_eq!(begin, end);
    assert_plain(&face.replace(['\u{2068}', '\u{2069}'], ""));
}

#[test]
fn known_tricks_do_nothing() {
    for text in [
        "",
        "<script>alert(1)</script>",
        "</title><script>alert(1)</script>",
        "</style><img src=x onerror=alert(1)>",
        "\" onload=\"alert(1)",
        "' onload='alert(1)",
        "javascript:alert(1)",
        "data:text/html;base64,PHNjcmlwdD4=",
        "]]> <![CDATA[ <!-- --> <?xml?> <!DOCTYPE x>",
        "&lt;b&gt; &#x3c;b&#x3e; &nbsp; &unknown;",
        "}</style> body{display:none} @import url(http://x)",
        "{{ title }} {% if %} {# #}",
        "a\u{202e}b\u{2066}c\u{200b}d\u{feff}e\u{0}f\u{1b}[2Jg\u{85}h\u{2028}i\u{e0041}j\u{fffe}k",
        "שלום 12 עולם 3 m",
        "\u{202e}שלום",
    ] {
        assert_faces(text);
    }
}

#[test]
fn ordinary_writing_stays_as_it_is() {
    // Accents (also put together), scripts from right to left, joiners of Persian and of emoji, ideographs.
    for text in ["Café Zoë", "Cafe\u{301}", "שלום עולם", "نمی\u{200c}خواهم", "👩\u{200d}🔧", "漢字", "100 % & more"]
    {
        let answers = with(text);
        let page = page(&answers);
        let document =
            Document::parse_with_options(&page, ParsingOptions { allow_dtd: true, ..ParsingOptions::default() });
        let title = document.unwrap().descendants().find(|n| n.has_tag_name("h1")).unwrap().text().unwrap().to_owned();
        assert_eq!(title.replace(['\u{2068}', '\u{2069}'], ""), text);
        assert_eq!(output::read_answers(output::result_json(&answers).unwrap().as_bytes()).unwrap(), answers);
    }
    // The figure after a name from right to left is outside of what runs that way.
    let mut answers = with("שלום");
    answers.sentence = "Reach שלום falls 2 %.".to_owned();
    assert!(Report::new(&answers).summary().starts_with("Reach \u{2068}שלום\u{2069} falls 2 %."));
}

/// Cells of a table as a spreadsheet has them.
fn cells(table: &str, delimiter: u8) -> Vec<Vec<String>> {
    let mut reader =
        csv::ReaderBuilder::new().has_headers(false).flexible(true).delimiter(delimiter).from_reader(table.as_bytes());
    reader.records().map(|r| r.unwrap().iter().map(str::to_owned).collect()).collect()
}

/// Whether a spreadsheet would reckon with it.
fn is_formula(cell: &str) -> bool {
    let first = cell.trim_start_matches(|c: char| c.is_whitespace() || c.is_control()).chars().next();
    let marks = ['=', '+', '-', '@', '＝', '＋', '－', '＠', '﹦', '﹢', '﹣', '﹫'];
    first.is_some_and(|c| marks.contains(&c)) && !cell.parse::<f64>().is_ok_and(f64::is_finite)
}

pub(crate) fn assert_table<T: serde::Serialize + serde::de::DeserializeOwned>(rows: &[T]) {
    let table = csv_table(rows).unwrap();
    assert_plain(&table);
    let read = cells(&table, b',');
    assert_eq!(read.len(), rows.len() + 1, "a row breaks: {table}");
    for row in &read {
        assert_eq!(row.len(), read[0].len(), "a cell breaks: {table}");
    }
    // Some spreadsheets take the semicolon between cells, whatever is in the file.
    for cell in read.iter().chain(&cells(&table, b';')).flatten() {
        assert!(!is_formula(cell), "{cell:?} in {table}");
    }
}

fn assert_data(text: &str) {
    let answers = with(text);
    assert_table(&answers.noted);
    assert_table(&answers.pools);
    assert_table(&answers.findings);
    assert_table(&answers.parameters);
    let json = output::result_json(&answers).unwrap();
    assert_plain(&json);
    assert_eq!(output::read_answers(json.as_bytes()).unwrap(), answers, "the texts come back as they were given");
}

#[test]
fn formulas_stay_text() {
    for text in [
        "=1+1",
        "+1+1",
        "-1+1",
        "@SUM(A1)",
        " =1",
        "\t=1",
        "\r=1",
        "\n=1",
        "\u{a0}=1",
        "\u{3000}＝1",
        "\u{200b}=1",
        "＋1",
        "－1",
        "＠x",
        "a;=1",
        "a; =1",
        "a\";=1",
        "\"=1",
        "\",=1",
        "a\n=1",
        "-inf",
        "=cmd|' /C calc'!A0",
        ";",
    ] {
        assert_data(text);
    }
}

/// Names in a job and a log, through the files.
#[test]
fn names_in_files_do_nothing() {
    let trick = "<b>\\u202e\\\"=1";
    let log = "distance (m),tilt (deg),=cmd|<b>\n0,1.1,=1\n0.5,1.2,\u{202e}x\n1,1.1,y\n";
    let text = format!(
        "[survey]\ntitle = \"{trick}\"\n[[run]]\nname = \"{trick}\"\nlog = \"<i>=1.csv\"\n[[reach]]\nfrom = \"0 m\"\n\
         to = \"1 m\"\nname = \"{trick}\"\npipe = {{ name = \"{trick}\", bore = \"100 mm\" }}\n\
         facts = {{ \"{trick}\" = \"{trick}\" }}\n[[note]]\nstation = \"0.5 m\"\ntext = \"{trick}\"\nphoto = \"{trick}\"\n"
    );
    let files = MemoryResolver([("<i>=1.csv".to_owned(), log.as_bytes().to_vec())].into());
    let loaded = job::read_text(&text, "job.toml", &files).unwrap();
    let book = Rulebook::shipped("ipc-2021").unwrap();
    let answers = Lateral::solve(loaded.job).unwrap().answers(Some(&book)).unwrap();
    assert_eq!(answers.reaches[0].name, "<b>\u{202e}\"=1");
    let page = Report::new(&answers).page_html().unwrap();
    assert!(tree(&page).iter().all(|(_, name, _)| name != "b" && name != "i"));
    for face in [page, Report::new(&answers).profile_svg(), Report::new(&answers).summary()] {
        assert_no_override(&face);
    }
    assert_table(&answers.noted);
    assert_table(&answers.findings);
}

/// The sentences that the core makes of names.
#[test]
fn a_run_of_a_hostile_name_is_shown() {
    let mut run = Run::new(vec![0.0, 1.0, 2.0, 3.0], vec![0.02, 0.02, 0.021, 0.02]);
    run.name = "</svg><script>".to_owned();
    let answers =
        Lateral::solve(fallwise::Job { runs: vec![run], ..fallwise::Job::default() }).unwrap().answers(None).unwrap();
    tree(&Report::new(&answers).profile_svg());
    assert!(tree(&Report::new(&answers).page_html().unwrap()).iter().all(|(_, name, _)| name != "script"));
}

/// Words of an alphabet that was made to do harm.
fn hostile() -> impl Strategy<Value = String> {
    let piece = select(vec![
        "<",
        ">",
        "&",
        "\"",
        "'",
        "/",
        "=",
        "+",
        "-",
        "@",
        "\t",
        "\r",
        "\n",
        " ",
        ";",
        ",",
        "|",
        "＝",
        "＋",
        "]]>",
        "<!--",
        "-->",
        "</svg>",
        "</style>",
        "</title>",
        "<script>",
        "&#60;",
        "&amp;",
        "{{",
        "}}",
        "{%",
        "url(",
        "\\",
        "javascript:",
        "data:",
        "\u{0}",
        "\u{7}",
        "\u{1b}",
        "\u{7f}",
        "\u{85}",
        "\u{a0}",
        "\u{ad}",
        "\u{200b}",
        "\u{200d}",
        "\u{200f}",
        "\u{202a}",
        "\u{202e}",
        "\u{2028}",
        "\u{2066}",
        "\u{2069}",
        "\u{3000}",
        "\u{feff}",
        "\u{fffe}",
        "\u{1ffff}",
        "\u{e0020}",
        "א",
        "ب",
        "é",
        "a",
        "12",
        ". ",
        "👩",
    ]);
    prop_oneof![4 => vec(piece, 0..12).prop_map(|p| p.concat()), 1 => any::<String>()]
}

proptest! {
    // Each case makes two pages and two pictures of a whole demo.
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn any_text_leaves_page_and_picture_their_shape(text in hostile()) {
        assert_faces(&text);
    }

    #[test]
    fn any_text_leaves_tables_and_json_their_shape(text in hostile()) {
        assert_data(&text);
    }
}

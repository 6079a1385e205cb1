//! What holds of results that are read back, and of what is made of them.

use fallwise::{Answers, answers::Comparison, units::Language};
use fallwise_files::{dxf, geojson, output};
use fallwise_report::{AsLeft, Report};

use super::{Bound, check_csv, check_message, measured};

/// Of a result: rows of many columns, most of them absent, at up to a kilobyte for the two brackets that one takes; and room for tables
/// that grow by doubling.
const RESULT: Bound = Bound { base_bytes: 256 << 10, multiple: 1024 };
/// Rows of all tables of a result that pages are made of: the fuzzer finds more in many small ones.
const MOST_DRAWN: usize = 400;

/// Checks the reader of results and of comparisons, and every page, table and drawing made of what was read; returns the most
/// bytes it held at once for a byte of input.
pub fn result(bytes: &[u8]) -> f64 {
    let (answers, one) = measured(&RESULT, bytes.len(), || output::read_answers(bytes));
    let (comparison, two) = measured(&RESULT, bytes.len(), || output::read_comparison(bytes));
    match answers {
        Err(fault) => check_message(&fault.to_string()),
        Ok(answers) => of_answers(&answers),
    }
    match comparison {
        Err(fault) => check_message(&fault.to_string()),
        Ok(comparison) => of_comparison(&comparison),
    }
    one.max(two)
}

fn of_answers(answers: &Answers) {
    let json = output::result_json(answers).unwrap();
    assert_eq!(&output::read_answers(json.as_bytes()).unwrap(), answers);
    check_csv(&answers.segments);
    check_csv(&answers.findings);
    check_csv(&answers.ties);
    let rows =
        answers.path.len() + answers.segments.len() + answers.findings.len() + answers.pools.len() + answers.ties.len();
    if rows > MOST_DRAWN {
        return;
    }
    let _ = output::files(answers).map_err(|fault| check_message(&fault.to_string()));
    let _ = (dxf::profile(answers), dxf::plan(answers), geojson::geojson(answers));
    let report = Report::new(answers);
    assert!(!report.summary().is_empty());
    match report.files() {
        Err(fault) => check_message(&fault.to_string()),
        Ok(files) => files.iter().for_each(|(name, text)| check_page(name, text)),
    }
}

fn of_comparison(comparison: &Comparison) {
    let json = output::comparison_json(comparison).unwrap();
    assert_eq!(&output::read_comparison(json.as_bytes()).unwrap(), comparison);
    check_csv(&comparison.heights);
    if comparison.profile.len() > MOST_DRAWN {
        return;
    }
    let sheet = AsLeft::new(comparison);
    assert!(!sheet.summary().is_empty());
    match sheet.files() {
        Err(fault) => check_message(&fault.to_string()),
        Ok(files) => files.iter().for_each(|(name, text)| check_page(name, text)),
    }
}

/// A page brings in nothing that runs, and closes what it opens.
fn check_page(name: &str, text: &str) {
    if text.starts_with("<!") || text.starts_with("<html") {
        assert!(!text.contains("<script"), "{name}: a script came in");
        assert!(text.trim_end().ends_with("</html>"), "{name}");
    }
    if text.starts_with("<svg") {
        assert!(text.trim_end().ends_with("</svg>"), "{name}");
    }
}

/// Checks the reader of a language's table.
pub fn language(bytes: &[u8]) -> f64 {
    let Ok(text) = core::str::from_utf8(bytes) else { return 0.0 };
    let (language, held) = measured(&super::TOML, bytes.len(), || Language::parse(text));
    match language {
        Err(error) => check_message(&error.to_string()),
        Ok(language) => {
            for text in language.translated() {
                assert!(language.has(text) || language.is_english() || !language.text(text).is_empty());
            }
            // Whatever it says, a page can be made with it.
            for answers in super::answers() {
                let files = Report::new(answers).language(&language).files().unwrap();
                for (name, text) in &files {
                    check_page(name, text);
                }
            }
        }
    }
    held
}

//! Faces of the answers: a summary for a terminal, a picture, a page. All are plain text made from
//! [`Answers`](fallwise::Answers); nothing is read or written here, and the same answers give the same bytes.
//!
//! - [`summary()`]: some 25 lines of plain text.
//! - [`profile_svg`]: the profile as a picture in black and white, which states its own exaggeration.
//! - [`plan_svg`]: the lateral from above, true to scale, where its directions are known.
//! - [`page_html`], [`page_html_with_photos`]: one page that needs nothing else, for screen and paper, in order of findings.
//! - [`as_left_summary`], [`as_left_svg`], [`as_left_html`]: the same three for two surveys of one lateral beside each other, of
//!   a [`Comparison`](fallwise::answers::Comparison).
//!
//! ```
//! use fallwise::{Job, Lateral, Run};
//!
//! let job = Job { runs: vec![Run::new(vec![0.0, 1.0, 2.0, 3.0], vec![0.02, 0.02, 0.021, 0.02])], ..Job::default() };
//! let answers = Lateral::solve(job)?.answers(None)?;
//! assert!(fallwise_report::summary(&answers).starts_with(&answers.sentence));
//! assert!(fallwise_report::profile_svg(&answers).starts_with("<svg"));
//! let page = fallwise_report::page_html(&answers)?;
//! assert!(page.starts_with("<!DOCTYPE html>"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Inside, each leans on the ones before it: `text` (what a stranger's text may not do), `words` (the words of both
//! wordings), `sure` (how sure each figure is, in words), `known` (what is known beside the
//! runs, in words), `summary`, `profile`, `plan`, `page`,
//! `as_left` (two surveys).

mod as_left;
mod known;
mod page;
mod plan;
mod profile;
mod summary;
mod sure;
#[allow(dead_code, unused_macros, unused_imports, reason = "until the pages use it")]
mod tell;
mod text;
mod words;

pub use as_left::{as_left_html, as_left_summary, as_left_svg};
pub use page::{Photo, ReportError, page_html, page_html_with_photos};
pub use profile::profile_svg;
pub use summary::summary;

/// The lateral from above as an SVG picture, true to scale, in black and white; nothing where the plan is not determined. Its scale
/// holds where it is printed as wide as it says; it has bars in metres and feet to measure by.
pub fn plan_svg(answers: &fallwise::Answers) -> Option<String> {
    plan::plan(&tell::Teller::new(answers, None), true)
}

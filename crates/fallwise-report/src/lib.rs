//! Faces of the answers: a summary for a terminal, a picture, a page. All are plain text made from
//! [`Answers`](fallwise::Answers); nothing is read or written here, and the same answers give the same bytes.
//!
//! - [`Report::summary`]: some 25 lines of plain text.
//! - [`Report::profile_svg`]: the profile as a picture in black and white, which states its own exaggeration.
//! - [`Report::plan_svg`]: the lateral from above, true to scale, where its directions are known.
//! - [`Report::owner_html`], [`Report::inspector_html`], [`Report::estimator_html`]: one sheet for each of these readers.
//! - [`Report::page_html`]: one page that needs nothing else, for screen and paper, in order of findings, with
//!   [photos](Report::photos).
//! - [`AsLeft`]: the same three for two surveys of one lateral beside each other, of a
//!   [`Comparison`](fallwise::answers::Comparison).
//!
//! Wording, decimal mark and paper are those of the job; every word can be said in another
//! [`Language`](fallwise::units::Language).
//!
//! ```
//! use fallwise::{Job, Lateral, Run};
//! use fallwise_report::Report;
//!
//! let job = Job { runs: vec![Run::new(vec![0.0, 1.0, 2.0, 3.0], vec![0.02, 0.02, 0.021, 0.02])], ..Job::default() };
//! let answers = Lateral::solve(job)?.answers(None)?;
//! let report = Report::new(&answers);
//! assert!(report.summary().starts_with(&answers.sentence));
//! assert!(report.profile_svg().starts_with("<svg"));
//! assert!(report.page_html()?.starts_with("<!DOCTYPE html>"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Inside, each leans on the ones before it: `text` (what a stranger's text may not do), `tell` (who speaks: every text of ours is
//! said through it), `words` (the words of both wordings), `sure` (how sure each figure is, in words), `known` (what is known beside
//! the runs, in words), `summary`, `profile`, `plan`, `brief` (the whole in sixty words), `table` and `frame` (what pages are made
//! of), `verdict` (findings for who knows no rules), `appendix` (for the expert), `page`, `extract` (one sheet for each reader), `report` (the faces of one survey), `as_left` (two surveys).

mod appendix;
mod as_left;
mod brief;
mod extract;
mod frame;
mod known;
mod page;
mod plan;
mod profile;
mod report;
mod summary;
mod sure;
mod table;
mod tell;
mod text;
mod verdict;
mod words;

pub use as_left::AsLeft;
pub use page::{Photo, ReportError};
pub use report::Report;

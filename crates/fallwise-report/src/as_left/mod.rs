//! Two surveys of one lateral beside each other, "as left": what the pipe is now, what it was, what changed.
//!
//! - [`figures`]: changes with their intervals, in words.
//! - [`summary`]: plain text for a terminal.
//! - [`page`]: the page.
//! - [`extract`]: one sheet.

mod extract;
mod figures;
mod page;
mod summary;

use askama::Template;
use fallwise::{answers::Comparison, units::Language};

use self::extract::BeforeAfter;

use crate::{page::ReportError, profile, tell::Both};

/// What two surveys of one lateral say beside each other, for people: in the wording and with the decimal mark of the second job,
/// on its paper.
#[derive(Debug, Clone, Copy)]
#[must_use]
pub struct AsLeft<'a> {
    comparison: &'a Comparison,
    language: Option<&'a Language>,
}

impl<'a> AsLeft<'a> {
    /// In English.
    pub fn new(comparison: &'a Comparison) -> Self {
        Self { comparison, language: None }
    }

    /// In another language; what that does not have stays English.
    pub fn language(self, language: &'a Language) -> Self {
        Self { language: Some(language), ..self }
    }

    /// A summary in plain text: the sentence that matters on the first line, then what the pipe is and was, what changed, and
    /// cautions, at most 100 columns wide.
    ///
    /// The first line is not wrapped, so that it can be taken off whole. A change that the readings cannot show is called
    /// "not shown".
    pub fn summary(&self) -> String {
        summary::summary(&self.both())
    }

    /// Both profiles over each other as an SVG picture, whole in itself: the pipe before dashed, after full, each with its own band,
    /// and under them the change of height with the interval of the change.
    ///
    /// It states its exaggeration and what heights count from, and has the pipe as it is now once more true to scale.
    pub fn picture_svg(&self) -> String {
        profile::two(&self.both(), true)
    }

    /// One HTML page, "as left": no scripts, nothing from outside, for screen and paper.
    ///
    /// First what was asked and the one sentence, with both profiles over each other; then the pipe as it is now, as it was, what
    /// changed, what the two surveys have in common as stated, what the intervals do not allow for, cautions. Every text of a
    /// stranger's is escaped.
    ///
    /// # Errors
    /// [`ReportError::Page`] if the template cannot be filled.
    pub fn page_html(&self) -> Result<String, ReportError> {
        page::html(&self.both())
    }

    /// Both surveys on one sheet: what was asked, what changed, what the pipe is now and was, and how sure each change is.
    ///
    /// # Errors
    /// As [`AsLeft::page_html`].
    pub fn sheet_html(&self) -> Result<String, ReportError> {
        Ok(BeforeAfter::new(&self.both()).render()?)
    }

    /// Every page and picture by the name of its file: `as-left.html`, `before-and-after.html`, `as-left.svg`.
    ///
    /// # Errors
    /// As [`AsLeft::page_html`].
    pub fn files(&self) -> Result<Vec<(&'static str, String)>, ReportError> {
        Ok(vec![
            ("as-left.html", self.page_html()?),
            ("before-and-after.html", self.sheet_html()?),
            ("as-left.svg", self.picture_svg()),
        ])
    }

    fn both(&self) -> Both<'a> {
        Both::new(self.comparison, self.language)
    }
}

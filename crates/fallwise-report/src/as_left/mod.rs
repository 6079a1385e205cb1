//! Two surveys of one lateral beside each other, "as left": what the pipe is now, what it was, what changed.
//!
//! - [`figures`]: changes with their intervals, in words.
//! - [`summary`]: plain text for a terminal.
//! - [`page`]: the page.

mod figures;
mod page;
mod summary;

use fallwise::answers::Comparison;

pub use self::{page::as_left_html, summary::as_left_summary};

/// Both profiles over each other as an SVG picture, whole in itself: the pipe before dashed, after full, each with its own band,
/// and under them the change of height with the interval of the change.
///
/// It states its exaggeration and what heights count from, and has the pipe as it is now once more true to scale.
pub fn as_left_svg(comparison: &Comparison) -> String {
    crate::profile::two(comparison, true)
}

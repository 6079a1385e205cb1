//! The page.
use fallwise::Answers;

/// Why a page could not be made.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ReportError {
    /// The template could not be filled.
    #[error("the page could not be filled: {0}")]
    Page(#[from] askama::Error),
}

/// page
///
/// # Errors
/// [`ReportError`].
pub fn page_html(answers: &Answers) -> Result<String, ReportError> {
    Ok(crate::profile_svg(answers))
}

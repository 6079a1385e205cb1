//! How sure the rows of published tables are, in the words of [`StandardPipe::mark`](crate::model::StandardPipe::mark).

/// The value was read in the document that is named.
pub(super) const DOCUMENT: &str = "seen in the document";
/// It was read where somebody quotes the document.
pub(super) const SECONDARY: &str = "seen in a secondary source";
/// It was not read anywhere.
pub(super) const MEMORY: &str = "from memory";
/// Nobody is known who has published it.
pub(super) const PRACTICE: &str = "common practice, no source";

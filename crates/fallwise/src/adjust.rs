//! The posterior of a chain.
/// Posterior of a chain.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior;

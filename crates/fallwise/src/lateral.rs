//! The only orchestrator.
/// A solved lateral.
#[derive(Debug, Clone, PartialEq)]
pub struct Lateral;

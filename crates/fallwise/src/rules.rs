//! Rulebooks and findings.
use serde::{Deserialize, Serialize};
/// A row of a rulebook.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Rule;
/// A rulebook.
#[derive(Debug, Clone, PartialEq)]
pub struct Rulebook;
/// A finding.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding;

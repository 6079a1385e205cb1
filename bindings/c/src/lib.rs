//! The C binding: opaque handles and plain structs over the crates `fallwise`, `fallwise-files` and `fallwise-report`.
//!
//! `include/fallwise.h` is made from this crate by a test (`tests/header.rs`); README.md is the guide. No formula, rule
//! or sentence is here: what is missing goes into the core.
//!
//! | file | contents |
//! | --- | --- |
//! | `version`, `status`, `error` | which library this is; what a call ends with, and what went wrong |
//! | `border` | pointers, texts, buffers and callbacks, looked at before they are believed; panics |
//! | `job`, `build`, `ties` | a job from text, from a folder, or put together without files |
//! | `lateral` | solved, and asked |
//! | `live` | a run while it is being made |
//! | `answers`, `rows`, `table` | figures as plain structs, as tables, as JSON and CSV |
//! | `document`, `compare`, `report`, `rulebook` | re-laying and carrying, two surveys, pages, rules |
//! | `geometry`, `flow`, `published`, `units`, `readings` | computations by themselves |
//!
//! Every `unsafe` block says what makes it safe. "The contract of the header" is what stands at its head: pointers are
//! NULL or point to what they say, for as long as the call runs; handles come from this library, are not freed, and are
//! not changed by another thread meanwhile.

#![allow(non_camel_case_types, reason = "the names are those of the header")]

mod answers;
mod border;
mod build;
mod compare;
mod document;
mod error;
mod flow;
mod geometry;
mod job;
mod lateral;
mod live;
mod published;
mod readings;
mod report;
mod rows;
mod rulebook;
mod status;
mod table;
mod ties;
mod units;
mod version;

pub use answers::*;
pub use build::*;
pub use compare::*;
pub use document::*;
pub use error::*;
pub use flow::*;
pub use geometry::*;
pub use job::*;
pub use lateral::*;
pub use live::*;
pub use published::*;
pub use readings::*;
pub use report::*;
pub use rows::*;
pub use rulebook::*;
pub use status::*;
pub use table::*;
pub use ties::*;
pub use units::*;
pub use version::*;

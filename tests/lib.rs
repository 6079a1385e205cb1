//! Tests across the crates of fallwise: properties, published checks, golden vectors, end to end.

/// The README's Rust, run as a test.
#[doc = include_str!("../README.md")]
#[cfg(doctest)]
pub struct Readme;

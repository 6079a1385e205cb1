//! Tests across the crates of fallwise: properties, published checks, golden vectors, end to end.

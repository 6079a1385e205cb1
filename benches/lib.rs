//! Benchmarks of fallwise; each `.rs` beside this file is one theme.

//! Example programs of fallwise and the invented demo jobs they run on.

pub mod command;
pub mod demos;

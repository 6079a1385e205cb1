//! Water that bellies can hold.
/// A pool.
#[derive(Debug, Clone, PartialEq)]
pub struct Pool;

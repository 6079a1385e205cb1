//! What the standard library's prelude has beyond the core's, and the roots and roundings that only it has.

pub(crate) use alloc::{
    borrow::ToOwned,
    boxed::Box,
    format,
    string::{String, ToString},
    vec,
    vec::Vec,
};

#[cfg(not(feature = "std"))]
pub(crate) use crate::math::Real;

//! Where a place of the pipe lies on the surface, how sure that is, how it is taped out, and whether anybody may dig by it.
//!
//! Plan coordinates are east and north, m; azimuths clockwise from grid north, rad.

mod dig;
mod error_ellipse;
mod tape;

pub use crate::model::DigOptions;
pub use dig::{Dig, Refusal, dig};
pub use error_ellipse::{ELLIPSE_95, ErrorEllipse, PlanError};
pub use tape::{Offset, offset};

use crate::error::Error;

/// No length on earth is as long, m: what is given as longer is none, and need not be counted with.
pub(crate) const FARTHEST_M: f64 = 1e9;

/// Refuses coordinates that lie nowhere.
pub(crate) fn require_near(field: &str, coordinates_m: &[f64]) -> Result<(), Error> {
    match coordinates_m.iter().find(|m| !(-FARTHEST_M..FARTHEST_M).contains(*m)) {
        Some(m) => Err(Error::value(field, m, "metres in the job's local axes")),
        None => Ok(()),
    }
}

/// A place on the ground: east and north, m.
pub type Point = [f64; 2];

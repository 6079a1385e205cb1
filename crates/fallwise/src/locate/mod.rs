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

/// A place on the ground: east and north, m.
pub type Point = [f64; 2];

//! Geometry of a chain in space.
//!
//! A chain is straight pipe of constant tilt from break to break; a change of tilt alone is a kink. A noted bend is an
//! arc of a circle, centred at its station, that turns the one direction into the other by the fitting's angle.
//!
//! | file | holds |
//! | --- | --- |
//! | [`curvature`] | the other model, a direction measured at each station: [`minimum_curvature`], [`dogleg`] |
//! | `directions` | sines and cosines of many angles at once |
//! | `arc` | the arc between two directions |
//! | [`layout`] | [`Layout`]: what does not change with the tilts, and the heights that follow from them |
//! | `nearest` | [`Path::nearest`]: back from a point on the surface |
//! | [`place`] | [`Path`]: east, north and up of every station |
//!
//! # What this does not do
//! Water and rules look at the invert, and the path runs along the invert as if it were the pipe's axis: on an arc in
//! the vertical plane the invert is longer or shorter than the axis by half a bore times the angle, some millimetres.

mod arc;
pub mod curvature;
mod directions;
pub mod layout;
mod nearest;
pub mod place;

pub use curvature::{dogleg, minimum_curvature};
pub use layout::{Layout, Piece};
pub use nearest::Nearest;
pub use place::{Node, Path, Plan, Start};

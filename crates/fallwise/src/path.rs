//! Geometry of a chain in space.
use crate::{
    error::Error,
    model::{Bend, Reach, Step},
    profile::Profile,
};

/// One straight piece of the developed profile, or one chord of an arc.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Start, m.
    pub from_m: f64,
    /// End, m; equal to `from_m` for a step.
    pub to_m: f64,
    /// Segment it belongs to; on an arc, the segment before the bend.
    pub segment: usize,
    /// On an arc, the segment after the bend; else the same as `segment`.
    pub next_segment: usize,
    /// Share of `next_segment` in the tilt of this piece: 0 off arcs, the fraction of the arc passed at the middle of
    /// the chord on arcs. For derivatives; the heights themselves are exact.
    pub next_share: f64,
    /// Reach, an index.
    pub reach: usize,
    /// Bend, an index, where the piece is a chord of its arc.
    pub bend: Option<usize>,
    /// Step, an index, where the piece is a step.
    pub step: Option<usize>,
}

/// What of a lateral does not change with its tilts: nodes, arcs, steps, reaches. One entry of `pieces` for each piece
/// of every [`Profile`] made from it.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// The pieces, in order of station.
    pub pieces: Vec<Piece>,
}

impl Layout {
    /// Lays out breaks, bends, steps and reaches.
    ///
    /// # Errors
    /// Overlapping arcs, reaches that leave a gap or overlap, things outside the chain.
    pub fn new(_breaks_m: &[f64], _bends: &[Bend], _steps: &[Step], _reaches: &[Reach]) -> Result<Self, Error> {
        todo!()
    }

    /// The profile for given tilts of the segments, rad. `scale` is true length over station difference;
    /// `step_rise_m` replaces the noted rises (for draws).
    pub fn profile(&self, _tilt_rad: &[f64], _scale: f64, _step_rise_m: Option<&[f64]>) -> Profile {
        todo!()
    }
}

/// A chain in space.
#[derive(Debug, Clone, PartialEq)]
pub struct Path;

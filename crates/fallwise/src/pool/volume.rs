//! Water in one straight piece.

use super::fill::Piece;
use crate::{math, section::Bore};

/// Pieces steeper than this, 80 degrees, hold their full area over the wetted length: a section normal to them is cut by
/// the water's surface along nearly all of its height (our choice).
pub const STEEP_RAD: f64 = 80.0 * core::f64::consts::PI / 180.0;

/// A straight piece of pipe with the depth of water at its ends.
#[derive(Debug, Clone, Copy)]
pub(super) struct Prism {
    /// True length, m.
    length_m: f64,
    /// Depth at the downstream end, m, in the normal section (vertical in a steep piece); negative above the water.
    pub(super) down_m: f64,
    /// Depth at the upstream end, m.
    pub(super) up_m: f64,
    /// Steeper than [`STEEP_RAD`].
    steep: bool,
}

impl Prism {
    /// The water in `piece` below `level_m`.
    pub(super) fn new(piece: &Piece, level_m: f64) -> Self {
        let steep = piece.tilt_rad.abs() > STEEP_RAD;
        let cosine = if steep { 1.0 } else { math::cos(piece.tilt_rad) };
        let (down_m, up_m) = ((level_m - piece.foot_m) / cosine, (level_m - piece.head_m) / cosine);
        Self { length_m: piece.length_m, down_m, up_m, steep }
    }

    /// Greatest depth, m.
    pub(super) fn depth_m(&self) -> f64 {
        self.down_m.max(self.up_m)
    }

    /// Share of the length, from the wetter end, that is under water.
    pub(super) fn wet_share(&self) -> f64 {
        share_above(self.down_m, self.up_m, 0.0)
    }

    /// Length under water, m.
    pub(super) fn wet_length_m(&self) -> f64 {
        self.length_m * self.wet_share()
    }

    /// Length that runs full, m: where the water is above the crown, or all of the water of a steep piece.
    pub(super) fn full_length_m(&self, bore: &Bore) -> f64 {
        let crown_m = if self.steep { 0.0 } else { bore.height_m() };
        self.length_m * share_above(self.down_m, self.up_m, crown_m)
    }

    /// Water held, m3.
    pub(super) fn volume_m3(&self, bore: &Bore) -> f64 {
        if self.steep {
            bore.full_area_m2() * self.wet_length_m()
        } else {
            bore.mean_area_m2(self.down_m, self.up_m) * self.length_m
        }
    }
}

/// What sills alone hold of the `water` of a piece, m3: all of it unless the tailwater stands above them.
pub(super) fn belly_m3(piece: &Piece, water: &Prism, bore: &Bore) -> f64 {
    if piece.level_m > piece.sill_level_m {
        Prism::new(piece, piece.sill_level_m).volume_m3(bore)
    } else {
        water.volume_m3(bore)
    }
}

/// Share of a piece, with depth linear from `a` to `b`, that is deeper than `limit`.
fn share_above(a: f64, b: f64, limit: f64) -> f64 {
    let (low, high) = (a.min(b), a.max(b));
    if high <= limit {
        0.0
    } else if low >= limit {
        1.0
    } else {
        (high - limit) / (high - low)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares() {
        assert_eq!(share_above(1.0, -1.0, 0.0), 0.5);
        assert_eq!(share_above(-3.0, 1.0, 0.0), 0.25);
        assert_eq!(share_above(0.0, 0.0, 0.0), 0.0);
        assert_eq!(share_above(0.0, 1.0, 0.0), 1.0);
        assert_eq!(share_above(1.0, 3.0, 4.0), 0.0);
        assert_eq!(share_above(f64::MIN_POSITIVE, -f64::MIN_POSITIVE, 0.0), 0.5);
    }

    #[test]
    fn a_riser_holds_its_full_area() {
        let bore = Bore::Circle { diameter_m: 0.1 };
        let riser = Piece {
            down: 0,
            length_m: 2.0,
            tilt_rad: core::f64::consts::FRAC_PI_2,
            reach: 0,
            foot_m: 0.0,
            head_m: 2.0,
            level_m: 0.5,
            sill_level_m: 0.5,
        };
        let water = Prism::new(&riser, 0.5);
        assert_eq!(water.wet_length_m(), 0.5);
        assert_eq!(water.full_length_m(&bore), 0.5);
        assert_eq!(water.depth_m(), 0.5);
        assert_eq!(water.volume_m3(&bore), bore.full_area_m2() * 0.5);
    }
}

//! From metres on the ground to px: one scale both ways, a round one, and turned only where the pipe would not fit else.

use fallwise::{
    math,
    units::{Words, ft},
};

use super::{
    outline::{Px, hull},
    way::Point,
};

/// Width of the picture on paper, mm: between the margins of A4 and of Letter.
pub(super) const PRINTED_MM: f64 = 180.0;
/// One px on paper, m.
const PX_M: f64 = 0.001 * PRINTED_MM / crate::profile::WIDTH;
/// A plan that is turned must be drawn so many times larger by it.
const WORTH: f64 = 1.25;
/// And so many times as long as it is wide.
const SLENDER: f64 = 3.0;
/// What has no extent is drawn as if it had this, m.
const LEAST_M: f64 = 0.5;
/// Scales 1 : n by their first digits.
const ROUND: [f64; 9] = [1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 7.5];
/// The same of feet to an inch.
const ROUND_FT: [f64; 9] = [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0];

/// A view from above.
pub(super) struct View {
    /// It is drawn 1 : n.
    pub(super) n: f64,
    pub(super) px_per_m: f64,
    /// The direction that goes to the right, from east towards north, rad.
    pub(super) turn_rad: f64,
    sin: f64,
    cos: f64,
    /// What is in the middle, m, and where that is, px.
    middle: Point,
    at: Px,
    /// How high what is to be seen is, px.
    pub(super) high: f64,
    /// The smallest n at which it would fit.
    least_n: f64,
    /// It is much longer than it is high.
    slender: bool,
}

impl View {
    /// The largest round scale at which all points go into so many px.
    pub(super) fn fit(points: &[Point], words: Words, (wide, high): (f64, f64)) -> Self {
        let outline = hull(points.iter().map(|p| (p[0], p[1])).collect());
        let try_turned = |turn_rad: f64| Self::turned(&outline, words, (wide, high), turn_rad);
        let upright = try_turned(0.0);
        let along = try_turned(longest(&outline));
        let gains = along.least_n * WORTH <= upright.least_n && along.n < upright.n;
        if gains && along.slender { along } else { upright }
    }

    fn turned(outline: &[Px], words: Words, (wide, high): (f64, f64), turn_rad: f64) -> Self {
        let (sin, cos) = math::sin_cos(turn_rad);
        let (mut low, mut top) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for p in outline {
            for (i, v) in [p.0 * cos + p.1 * sin, p.1 * cos - p.0 * sin].into_iter().enumerate() {
                if let (Some(low), Some(top)) = (low.get_mut(i), top.get_mut(i)) {
                    (*low, *top) = (low.min(v), top.max(v));
                }
            }
        }
        let (across, up) = (top[0] - low[0], top[1] - low[1]);
        let least = (across / wide).max(up / high).max(LEAST_M / wide.min(high));
        let least_n = least / PX_M;
        let n = round_up(least_n, words);
        let px_per_m = 1.0 / (n * PX_M);
        let (x, y) = (0.5 * (low[0] + top[0]), 0.5 * (low[1] + top[1]));
        let middle = [x * cos - y * sin, x * sin + y * cos];
        Self {
            n,
            px_per_m,
            turn_rad,
            sin,
            cos,
            middle,
            at: (0.0, 0.0),
            high: up * px_per_m,
            least_n,
            slender: SLENDER * up <= across,
        }
    }

    /// The middle of what is to be seen goes here.
    pub(super) fn centre(&mut self, at: Px) {
        self.at = at;
    }

    /// Whether a point lies in a frame of so many px about the middle.
    pub(super) fn holds(&self, point: Point, (wide, high): (f64, f64)) -> bool {
        let (x, y) = self.px(point);
        (x - self.at.0).abs() <= 0.5 * wide && (y - self.at.1).abs() <= 0.5 * high
    }

    pub(super) fn px(&self, point: Point) -> Px {
        let (east, north) = (point[0] - self.middle[0], point[1] - self.middle[1]);
        let (x, y) = self.way([east, north]);
        (self.at.0 + x * self.px_per_m, self.at.1 + y * self.px_per_m)
    }

    /// A direction on the ground as one in the picture.
    pub(super) fn way(&self, direction: [f64; 2]) -> Px {
        let (east, north) = (direction[0], direction[1]);
        (east * self.cos + north * self.sin, east * self.sin - north * self.cos)
    }

    /// Feet to an inch of paper.
    pub(super) fn feet_to_inch(&self) -> f64 {
        self.n / 12.0
    }
}

/// The direction between the two points that are farthest from each other, within a quarter turn of east; 0 without any.
fn longest(outline: &[Px]) -> f64 {
    let mut best = (0.0, (1.0, 0.0));
    for (i, a) in outline.iter().enumerate() {
        for b in outline.iter().skip(i + 1) {
            let (east, north) = (b.0 - a.0, b.1 - a.1);
            let size = math::hypot(east, north);
            if size > best.0 {
                best = (size, if east < 0.0 { (-east, -north) } else { (east, north) });
            }
        }
    }
    math::atan2(best.1.1, best.1.0)
}

/// The next round scale that is no larger.
fn round_up(n: f64, words: Words) -> f64 {
    let (round, mut unit) = match words {
        Words::Uk => (ROUND, 1e-2),
        Words::Us => (ROUND_FT, 12e-3),
    };
    // From 1 : 0.01 on, 16 powers of ten reach beyond the Earth.
    for _ in 0..16 {
        if let Some(first) = round.iter().find(|r| **r * unit >= n) {
            return first * unit;
        }
        unit *= 10.0;
    }
    n
}

/// The longest round length, in metres or feet, that takes no more than so many px: with how many m it is.
pub(super) fn round_length(unit: Words, px_per_m: f64, most: f64) -> (f64, f64) {
    let in_m = match unit {
        Words::Uk => 1.0,
        Words::Us => ft(1.0),
    };
    let (mut length, mut power) = (0.0, 1e-3);
    for _ in 0..12 {
        for first in [1.0, 2.0, 5.0] {
            if first * power * in_m * px_per_m <= most {
                length = first * power;
            }
        }
        power *= 10.0;
    }
    // Powers of ten below 1 are not exact: back to the number that prints as it.
    let length = if length < 1.0 { (length * 1e3).round() / 1e3 } else { length.round() };
    (length, length * in_m)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_are_round() {
        for (n, uk, us) in [(101.0, 125.0, 120.0), (60.0, 75.0, 60.0), (0.9, 1.0, 0.96), (1001.0, 1250.0, 1200.0)] {
            // The last digits of a power of ten that is multiplied up.
            assert!((round_up(n, Words::Uk) - uk).abs() < 1e-9 && (round_up(n, Words::Us) - us).abs() < 1e-9, "{n}");
        }
        assert_eq!(round_length(Words::Uk, 20.0, 250.0).0, 10.0);
        assert_eq!(round_length(Words::Us, 20.0, 250.0).0, 20.0);
        assert_eq!(round_length(Words::Uk, 2000.0, 250.0), (0.1, 0.1));
    }

    #[test]
    fn a_long_line_north_is_turned_and_a_square_is_not() {
        let north = View::fit(&[[0.0, 0.0], [0.0, 90.0]], Words::Uk, (800.0, 500.0));
        assert!((north.turn_rad.abs() - core::f64::consts::FRAC_PI_2).abs() < 1e-12, "rounding alone");
        let square = View::fit(&[[0.0, 0.0], [0.0, 90.0], [90.0, 90.0]], Words::Uk, (800.0, 500.0));
        assert_eq!(square.turn_rad, 0.0);
        // North goes up.
        let (a, b) = (square.px([0.0, 0.0]), square.px([0.0, 1.0]));
        assert_eq!(a.0, b.0);
        assert!((a.1 - b.1 - square.px_per_m).abs() < 1e-9, "rounding of coordinates of some hundred px");
    }
}

//! Back from a point on the surface: where on the path is nearest to it in plan.
//!
//! On a straight piece that is the foot of the perpendicular, in closed form. An arc seen from above is a part of an ellipse, to
//! which a point may have up to four perpendiculars; they are zeros of (p - q) . p', which are looked for between a few places along
//! the arc and then halved down to the last bit.

use super::place::{Leg, Path};
use crate::math;
use crate::prelude::*;

/// Places along an arc between which at most one perpendicular is looked for.
const PLACES: u32 = 24;
/// Halvings that bring an interval of one down to below a rounding.
const HALVINGS: u32 = 60;
/// Distances that differ by less than this, m, are alike.
const ALIKE_M: f64 = 1e-9;
/// Places nearer to each other along the pipe than this, m, are one.
const SAME_M: f64 = 1e-6;

/// A place of the path that no other is nearer than.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nearest {
    /// Station, m.
    pub station_m: f64,
    /// East and north there, m.
    pub plan_m: [f64; 2],
    /// How far the point lies from there, m.
    pub away_m: f64,
    /// Square off the pipe to the right looking along growing station, m; negative to the left. Beyond an end it is less than
    /// the distance.
    pub right_m: f64,
    /// Along the pipe's direction beyond the end that is nearest, m: positive past the last station, negative before the first, 0
    /// where the foot lies on the path.
    pub beyond_m: f64,
    /// By what an error along the pipe is multiplied in the station: 1 / cos(tilt) over the scale on straight pipe, more on the inside
    /// of a bend.
    pub station_factor: f64,
}

impl Path {
    /// The place of the path that is nearest to a point in plan; several where the point lies equally far from them, in order of
    /// station. Empty where the plan is not determined or the point is no number.
    ///
    /// # Example
    /// ```
    /// use core::f64::consts::FRAC_PI_2;
    /// use fallwise::path::{Layout, Path, Start};
    /// let layout = Layout::new(&[0.0, 4.0], &[], &[], &[])?;
    /// let east = Start { azimuth_rad: Some(FRAC_PI_2), ..Start::default() };
    /// let near = Path::new(&layout, &[0.0], 1.0, east).nearest(1.5, -0.5);
    /// assert!((near[0].station_m - 1.5).abs() < 1e-12 && (near[0].right_m - 0.5).abs() < 1e-12); // right of east is south
    /// # Ok::<(), fallwise::Error>(())
    /// ```
    pub fn nearest(&self, east_m: f64, north_m: f64) -> Vec<Nearest> {
        let point = [east_m, north_m];
        if !(east_m.is_finite() && north_m.is_finite()) {
            return Vec::new();
        }
        let mut found: Vec<Nearest> = Vec::new();
        for (leg, node) in self.legs.iter().zip(&self.nodes) {
            let Some(start) = node.plan_m.filter(|_| leg.length_m > 0.0) else { continue };
            let on = OnLeg { leg, start, scale: self.scale, point };
            found.extend(on.feet().into_iter().filter_map(|part| on.at(node.station_m, part)));
        }
        let Some(least) = found.iter().map(|n| n.away_m).reduce(f64::min) else { return Vec::new() };
        found.retain(|n| n.away_m <= least + ALIKE_M);
        found.sort_by(|a, b| a.station_m.total_cmp(&b.station_m));
        found.dedup_by(|b, a| b.station_m - a.station_m < SAME_M);
        let ends = self.nodes.first().zip(self.nodes.last()).map(|(a, b)| (a.station_m, b.station_m));
        for near in &mut found {
            // Between stations of the path a kink may leave something along the pipe: that is not beyond an end.
            let past = ends.is_some_and(|(_, last)| near.station_m >= last) && near.beyond_m > ALIKE_M;
            let before = ends.is_some_and(|(first, _)| near.station_m <= first) && near.beyond_m < -ALIKE_M;
            if !(past || before) {
                near.beyond_m = 0.0;
            }
        }
        found
    }
}

/// A point beside a leg.
struct OnLeg<'a> {
    leg: &'a Leg,
    start: [f64; 2],
    scale: f64,
    point: [f64; 2],
}

impl OnLeg<'_> {
    /// From the point to a part of the leg, m.
    fn off_point(&self, part: f64) -> Option<[f64; 2]> {
        let mean = self.leg.mean_level(part)?;
        let reach = self.leg.length_m * part * self.scale;
        Some([0, 1].map(|axis| self.start[axis] - self.point[axis] + reach * mean[axis]))
    }

    /// Half the derivative of the squared distance by the way: 0 at a perpendicular, rising through it where it is nearest.
    fn along(&self, part: f64) -> Option<f64> {
        let (off, way) = self.off_point(part).zip(self.leg.level_at(part))?;
        Some(off[0] * way[0] + off[1] * way[1])
    }

    /// Parts of the leg at which it is nearest to the point: its ends, and the perpendiculars.
    fn feet(&self) -> Vec<f64> {
        let mut feet = vec![0.0, 1.0];
        if self.leg.arc.is_none() {
            let foot = self
                .along(0.0)
                .zip(self.leg.level_at(0.0))
                .map(|(along, way)| -along / ((way[0] * way[0] + way[1] * way[1]) * self.leg.length_m * self.scale));
            feet.extend(foot.filter(|part| (0.0..=1.0).contains(part)));
            return feet;
        }
        for i in 0..PLACES {
            let (mut from, mut to) = (f64::from(i) / f64::from(PLACES), f64::from(i + 1) / f64::from(PLACES));
            let Some((low, high)) = self.along(from).zip(self.along(to)) else { continue };
            if !(low <= 0.0 && high > 0.0) {
                continue;
            }
            for _ in 0..HALVINGS {
                let middle = 0.5 * (from + to);
                if self.along(middle).is_some_and(|a| a <= 0.0) { from = middle } else { to = middle }
            }
            feet.push(0.5 * (from + to));
        }
        feet
    }

    fn at(&self, from_m: f64, part: f64) -> Option<Nearest> {
        let (off, way) = self.off_point(part).zip(self.leg.level_at(part))?;
        let level = math::hypot(way[0], way[1]);
        // Upright pipe is a point from above: it has no side.
        let unit = if level > 0.0 { [way[0] / level, way[1] / level] } else { [0.0, 0.0] };
        Some(Nearest {
            station_m: from_m + part * self.leg.length_m,
            plan_m: [self.point[0] + off[0], self.point[1] + off[1]],
            away_m: math::hypot(off[0], off[1]),
            right_m: unit[0] * off[1] - unit[1] * off[0],
            beyond_m: -(unit[0] * off[0] + unit[1] * off[1]),
            station_factor: self.station_factor(part, off, level),
        })
    }

    /// How much the foot moves along the station for a metre that the pipe moves along itself: with f = (p - q) . p', the implicit
    /// function gives |p'| / (p'.p' + (p - q) . p'').
    fn station_factor(&self, part: f64, off: [f64; 2], level: f64) -> f64 {
        let step = 1.0 / f64::from(PLACES);
        let (before, after) = ((part - step).max(0.0), (part + step).min(1.0));
        let over = (after - before) * self.leg.length_m * self.scale;
        let bent = match self.leg.arc {
            None => 0.0,
            Some(_) => self
                .leg
                .level_at(before)
                .zip(self.leg.level_at(after))
                .map_or(0.0, |(a, b)| (off[0] * (b[0] - a[0]) + off[1] * (b[1] - a[1])) / over),
        };
        let below = (level * level + bent) * self.scale;
        if below > 0.0 { level / below } else { f64::INFINITY }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        model::Bend,
        path::{Layout, Start},
    };
    use core::f64::consts::{FRAC_PI_2, PI};

    /// 2 m to the north, a quarter bend to the right of radius 0.5 m, and on to the east.
    fn bent(tilt_rad: f64) -> Path {
        let mut bend = Bend::new(2.0, FRAC_PI_2);
        bend.radius_m = Some(0.5);
        let layout = Layout::new(&[0.0, 5.0], &[bend], &[], &[]).unwrap();
        Path::new(&layout, &[tilt_rad], 1.0, Start { azimuth_rad: Some(0.0), ..Start::default() })
    }

    #[test]
    fn every_place_is_nearest_to_itself() {
        for tilt in [0.0, 0.02, 0.3] {
            let path = bent(tilt);
            for k in 0..=500 {
                let station_m = 0.01 * f64::from(k);
                let [east, north, _] = path.position(station_m).unwrap();
                let near = path.nearest(east, north);
                assert_eq!(near.len(), 1, "{station_m}: {near:?}");
                // Halved to a rounding of a part of a leg; roundings of metres before that.
                assert!((near[0].station_m - station_m).abs() < 1e-12 && near[0].away_m < 1e-14, "{near:?}");
                assert!(near[0].beyond_m == 0.0);
            }
        }
    }

    /// A point square off the pipe comes back with its station and its offset, on the outside and on the inside of the bend.
    #[test]
    fn a_point_square_off_comes_back() {
        let path = bent(0.0);
        for k in 1..50 {
            let station_m = 0.1 * f64::from(k);
            let [east, north, _] = path.position(station_m).unwrap();
            let azimuth = path.azimuth(station_m).unwrap();
            for right in [-1.0, -0.2, 0.1, 0.4] {
                let (sin, cos) = math::sin_cos(azimuth + FRAC_PI_2);
                let near = path.nearest(east + right * sin, north + right * cos);
                assert!((near[0].station_m - station_m).abs() < 1e-10, "{station_m} {right}: {near:?}");
                assert!((near[0].right_m - right).abs() < 1e-12, "{near:?}");
            }
        }
    }

    /// On the inside of an arc of radius r, d from the pipe, the foot runs r / (r - d) times as fast: similar triangles.
    #[test]
    fn the_inside_of_a_bend_moves_the_station_more() {
        let path = bent(0.0);
        let [east, north, _] = path.position(2.0).unwrap();
        let (sin, cos) = math::sin_cos(path.azimuth(2.0).unwrap() + FRAC_PI_2);
        for right in [-0.5, 0.25, 0.4] {
            let near = path.nearest(east + right * sin, north + right * cos)[0];
            let expected = 0.5 / (0.5 - right);
            // A chord over a twelfth of the arc in the place of the curvature: its square over 24 is 7e-4.
            assert!((near.station_factor / expected - 1.0).abs() < 5e-3, "{near:?}");
        }
        let level = bent(0.3).nearest(0.2, 1.0)[0];
        assert!((level.station_factor - 1.0 / math::cos(0.3)).abs() < 1e-12, "{level:?}");
    }

    #[test]
    fn beyond_the_ends_is_said() {
        let path = bent(0.0);
        let before = path.nearest(0.3, -0.4)[0];
        assert!(
            before.station_m == 0.0 && (before.beyond_m + 0.4).abs() < 1e-14 && (before.right_m - 0.3).abs() < 1e-14
        );
        assert!((before.away_m - 0.5).abs() < 1e-14);
        let [east, north, _] = path.position(5.0).unwrap();
        let past = path.nearest(east + 1.0, north)[0];
        assert!(past.station_m == 5.0 && (past.beyond_m - 1.0).abs() < 1e-12);
    }

    /// A U of two bends: its middle is equally far from both legs.
    #[test]
    fn equally_far_places_are_all_told() {
        let bends = [6.0, 9.0].map(|station_m| {
            let mut bend = Bend::new(station_m, FRAC_PI_2);
            bend.radius_m = Some(0.5);
            bend
        });
        let layout = Layout::new(&[0.0, 15.0], &bends, &[], &[]).unwrap();
        let path = Path::new(&layout, &[0.0], 1.0, Start { azimuth_rad: Some(0.0), ..Start::default() });
        let [far, _, _] = path.position(15.0).unwrap();
        let near = path.nearest(0.5 * far, 0.5);
        assert_eq!(near.len(), 2, "{near:?}");
        assert!(near[0].right_m > 0.0 && near[1].right_m > 0.0 && (near[0].away_m - 0.5 * far).abs() < 1e-12);
    }

    #[test]
    fn without_a_plan_there_is_nothing() {
        let layout = Layout::new(&[0.0, 5.0], &[], &[], &[]).unwrap();
        assert!(Path::new(&layout, &[0.01], 1.0, Start::default()).nearest(0.0, 0.0).is_empty());
        assert!(bent(0.0).nearest(f64::NAN, 0.0).is_empty() && bent(0.0).nearest(0.0, f64::INFINITY).is_empty());
        // A drop straight down is a point from above.
        let layout = Layout::new(&[0.0, 2.0], &[], &[], &[]).unwrap();
        let path = Path::new(&layout, &[0.5 * PI], 1.0, Start { azimuth_rad: Some(0.0), ..Start::default() });
        assert!(path.nearest(3.0, 4.0).iter().all(|n| (n.away_m - 5.0).abs() < 1e-12));
    }
}

//! The pipe in plan, m: where its nodes lie, and how sure that is.

use core::f64::consts::{PI, TAU};

use fallwise::{
    answers::PathRow,
    locate::{ELLIPSE_95, PlanError},
    math,
};

/// Corners of an ellipse as drawn. They stand so far out that its sides touch it from outside.
const CORNERS: u32 = 32;
/// Coordinates beyond this are no place, m.
const FAR_M: f64 = 1e9;
/// A plan, or an error of a place, beyond this is no drain's, m.
const LARGEST_M: f64 = 1e5;
/// What was noted beyond an end by no more than this is drawn at the end, m: as in the profile.
const BEYOND_M: f64 = 1.0;
/// A turn that a thinned line keeps, rad.
const TURN_RAD: f64 = 0.09;

/// East and north, m; of the pipe from its first node.
pub(super) type Point = [f64; 2];

/// How far off a place may be, as far as it can be drawn.
#[derive(Clone, Copy)]
pub(super) struct Spread(pub(super) PlanError);

impl Spread {
    pub(super) fn new(east_sd_m: f64, north_sd_m: f64, correlation: f64) -> Option<Self> {
        let drawable = |sd: f64| (0.0..=LARGEST_M).contains(&sd);
        let correlation = if correlation.is_finite() { correlation.clamp(-1.0, 1.0) } else { 0.0 };
        let error = PlanError::new(east_sd_m, north_sd_m, correlation).ok()?;
        (drawable(east_sd_m) && drawable(north_sd_m)).then_some(Self(error))
    }

    /// Of a node.
    fn of(row: &PathRow) -> Option<Self> {
        Self::new(row.east_sd_m?, row.north_sd_m?, row.east_north_correlation.unwrap_or(0.0))
    }

    /// Corners of the 95 % ellipse about a place.
    pub(super) fn outline(self, around: Point) -> Vec<Point> {
        let Self(error) = self;
        let out = ELLIPSE_95 / math::cos(PI / f64::from(CORNERS));
        let own = (1.0 - error.correlation() * error.correlation()).max(0.0).sqrt();
        let corner = |i: u32| {
            let (sin, cos) = math::sin_cos(TAU * f64::from(i) / f64::from(CORNERS));
            [
                around[0] + out * error.east_sd_m() * cos,
                around[1] + out * error.north_sd_m() * (error.correlation() * cos + own * sin),
            ]
        };
        (0..CORNERS).map(corner).collect()
    }

    /// Half the longer axis of the 95 % ellipse, m.
    pub(super) fn half_m(self) -> f64 {
        ELLIPSE_95 * self.0.ellipse().major_sd_m
    }

    /// The wider of two in east and in north.
    fn wider(self, Self(other): Self) -> Option<Self> {
        let Self(own) = self;
        Self::new(
            own.east_sd_m().max(other.east_sd_m()),
            own.north_sd_m().max(other.north_sd_m()),
            0.5 * (own.correlation() + other.correlation()),
        )
    }
}

/// A node that has a place.
pub(super) struct Node {
    pub(super) station_m: f64,
    pub(super) at: Point,
    pub(super) spread: Option<Spread>,
    /// Nothing joins it to the node before: between them the plan is not determined.
    pub(super) begins: bool,
}

/// A place on the pipe.
pub(super) struct Placed {
    pub(super) station_m: f64,
    pub(super) at: Point,
    pub(super) spread: Option<Spread>,
    /// Along growing station, a unit vector.
    pub(super) along: [f64; 2],
}

/// The pipe in plan.
pub(super) struct Way {
    pub(super) nodes: Vec<Node>,
    /// Where its first node lies, m: so that coordinates of a country lose no digits.
    pub(super) origin: Point,
}

impl Way {
    /// Nothing where the plan is not determined, or is none that a drain can have.
    pub(super) fn new(path: &[PathRow]) -> Option<Self> {
        let (mut nodes, mut origin, mut begins): (Vec<Node>, Option<Point>, bool) = (Vec::new(), None, true);
        for row in path {
            let place = row.east_m.zip(row.north_m).filter(|(e, n)| e.abs() <= FAR_M && n.abs() <= FAR_M);
            let Some((east_m, north_m)) = place else {
                begins = true;
                continue;
            };
            let in_order = nodes.last().is_none_or(|n: &Node| n.station_m <= row.station_m);
            if !(row.station_m.abs() < 1e6 && in_order) {
                continue;
            }
            let from = *origin.get_or_insert([east_m, north_m]);
            let at = [east_m - from[0], north_m - from[1]];
            nodes.push(Node { station_m: row.station_m, at, spread: Spread::of(row), begins });
            begins = false;
        }
        let (first, last) = (nodes.first()?, nodes.last()?);
        let held = nodes.iter().all(|n| n.at[0].abs() <= LARGEST_M && n.at[1].abs() <= LARGEST_M);
        (held && last.station_m - first.station_m >= 1e-3).then_some(())?;
        Some(Self { nodes, origin: origin? })
    }

    pub(super) fn start_m(&self) -> f64 {
        self.nodes.first().map_or(0.0, |n| n.station_m)
    }

    pub(super) fn end_m(&self) -> f64 {
        self.nodes.last().map_or(0.0, |n| n.station_m)
    }

    /// A place on the pipe. Between two nodes: on the line between them, with the wider of their two spreads, as in the profile.
    pub(super) fn at(&self, station_m: f64) -> Option<Placed> {
        let (start_m, end_m) = (self.start_m(), self.end_m());
        let near = (start_m - BEYOND_M..=end_m + BEYOND_M).contains(&station_m);
        let station_m = near.then(|| station_m.clamp(start_m, end_m))?;
        let holds = |w: &&[Node]| {
            !w[1].begins
                && w[0].station_m <= station_m
                && station_m <= w[1].station_m
                && w[0].station_m < w[1].station_m
        };
        let w = self.nodes.windows(2).find(holds)?;
        let t = (station_m - w[0].station_m) / (w[1].station_m - w[0].station_m);
        let between = |i: usize| w[0].at[i] + t * (w[1].at[i] - w[0].at[i]);
        let spread = match t {
            0.0 => w[0].spread,
            1.0 => w[1].spread,
            _ => w[0].spread.zip(w[1].spread).and_then(|(a, b)| a.wider(b)),
        };
        Some(Placed { station_m, at: [between(0), between(1)], spread, along: self.along(w) })
    }

    /// Direction of a piece; of one that stands upright that of the whole.
    fn along(&self, w: &[Node]) -> [f64; 2] {
        let unit = |a: Point, b: Point| {
            let (east, north) = (b[0] - a[0], b[1] - a[1]);
            let length = math::hypot(east, north);
            (length > 1e-9).then(|| [east / length, north / length])
        };
        let ends = || unit(self.nodes.first()?.at, self.nodes.last()?.at);
        unit(w[0].at, w[1].at).or_else(ends).unwrap_or([1.0, 0.0])
    }

    /// Places of a stretch: its two ends and the nodes between them.
    pub(super) fn stretch(&self, from_m: f64, to_m: f64) -> Vec<Placed> {
        let inside = self.nodes.iter().map(|n| n.station_m).filter(|s| *s > from_m && *s < to_m);
        let mut stations: Vec<f64> = [from_m].into_iter().chain(inside).chain([to_m]).collect();
        stations.dedup();
        stations.into_iter().filter_map(|s| self.at(s)).collect()
    }

    /// Nodes at least so far apart, m, and those where the pipe turns, begins or ends.
    pub(super) fn thinned(&self, apart_m: f64) -> Vec<&Node> {
        let mut kept: Vec<&Node> = Vec::new();
        for (i, node) in self.nodes.iter().enumerate() {
            let before = i.checked_sub(1).and_then(|b| self.nodes.get(b));
            let after = self.nodes.get(i + 1);
            let turns = before.zip(after).is_some_and(|(a, b)| turn(a.at, node.at, b.at) > TURN_RAD);
            let ends = node.begins || after.is_none_or(|n| n.begins);
            let far = kept.last().is_none_or(|k| math::hypot(node.at[0] - k.at[0], node.at[1] - k.at[1]) >= apart_m);
            if ends || turns || far {
                kept.push(node);
            }
        }
        kept
    }
}

/// The angle by which a line turns at its second point, rad.
fn turn(a: Point, b: Point, c: Point) -> f64 {
    let (u, v) = ([b[0] - a[0], b[1] - a[1]], [c[0] - b[0], c[1] - b[1]]);
    math::atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1]).abs()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_ellipse_is_that_of_its_covariance() {
        // By hand: variances 4 and 1, correlation 0.5, so covariance 1; the larger root of (4 - x)(1 - x) = 1 is 2.5 + sqrt(3.25).
        let spread = Spread::new(2.0, 1.0, 0.5).unwrap();
        let half = ELLIPSE_95 * (2.5 + 3.25_f64.sqrt()).sqrt();
        assert!((spread.half_m() - half).abs() < 1e-12, "rounding alone");
        // Each corner lies outside the ellipse by the ratio of a polygon's outer to its inner circle, squared.
        let out = 1.0 / math::cos(PI / 32.0);
        for [e, n] in spread.outline([10.0, -5.0]) {
            let (e, n) = (e - 10.0, n + 5.0);
            // The inverse of [[4, 1], [1, 1]] is [[1, -1], [-1, 4]] / 3.
            let size = (e * e - 2.0 * e * n + 4.0 * n * n) / 3.0;
            assert!((size / (ELLIPSE_95 * ELLIPSE_95) - out * out).abs() < 1e-12, "rounding alone");
        }
        // Straight east the standard deviation is that of east.
        assert!((spread.0.sd_along_m([1.0, 0.0]) - 2.0).abs() < 1e-15);
        assert!(Spread::new(f64::NAN, 1.0, 0.0).is_none() && Spread::new(1.0, -1.0, 0.0).is_none());
    }
}

//! Where every station lies: east, north and up.
//!
//! Straight pipe and kinks keep their azimuth. At a bend of angle b between tilts t1 and t2 the azimuth turns by a, to
//! the bend's side, with
//! `sin^2(a/2) = (sin^2(b/2) - sin^2((t2 - t1)/2)) / (cos t1 cos t2)`.
//!
//! After pipe steeper than 80 degrees the azimuth is a new unknown: what leaves the foot of a drop may go anywhere. The
//! plan is then not determined from there on, nor is it anywhere without an azimuth at the start; heights always are.

use super::{
    arc::{mean_sine_upright, weights_at, weights_between},
    layout::{Arc, Chord, Layout, Piece, tilt_of},
};
use crate::math;
use core::f64::consts::{PI, TAU};

/// Pipe steeper than this, rad (80 degrees), hides the azimuth of what follows.
const STEEP_RAD: f64 = 80.0 * PI / 180.0;
/// Rounding allowed, rad, when an angle is compared with the largest possible.
const ANGLE_SLACK_RAD: f64 = 1e-9;

/// What is known of the first station in plan.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Start {
    /// Azimuth there, rad, clockwise from north, looking along growing station.
    pub azimuth_rad: Option<f64>,
    /// East, m.
    pub east_m: f64,
    /// North, m.
    pub north_m: f64,
}

/// A node of the path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Node {
    /// Station, m.
    pub station_m: f64,
    /// East and north, m, where the plan is determined.
    pub plan_m: Option<[f64; 2]>,
    /// Height of the invert above the lowest node, m.
    pub height_m: f64,
    /// Azimuth of the pipe that begins here (at the last node: that ends here), rad, from 0 to 2 pi, where determined.
    pub azimuth_rad: Option<f64>,
}

/// A chain in space.
#[derive(Debug, Clone, PartialEq)]
pub struct Path {
    /// Its nodes: those of the layout's profile.
    pub nodes: Vec<Node>,
    /// Why the plan is not determined somewhere, one plain sentence each.
    pub warnings: Vec<String>,
    legs: Vec<Leg>,
    scale: f64,
}

impl Path {
    /// Places a layout in space. `tilt_rad` and `scale` are those of [`Layout::profile`], whose heights these are.
    ///
    /// # Example
    /// Due east, then a level quarter bend to the right:
    /// ```
    /// use core::f64::consts::FRAC_PI_2;
    /// use fallwise::{model::Bend, path::{Layout, Path, Start}};
    /// let mut bend = Bend::new(2.0, FRAC_PI_2);
    /// bend.radius_m = Some(0.2);
    /// let layout = Layout::new(&[0.0, 4.0], &[bend], &[], &[])?;
    /// let path = Path::new(&layout, &[0.0], 1.0, Start { azimuth_rad: Some(FRAC_PI_2), ..Start::default() });
    /// let [east, north, up] = path.position(4.0).expect("the azimuth is given");
    /// // Straight 2 m less half the arc, then the radius, each way.
    /// let side = 2.0 - 0.1 * FRAC_PI_2 + 0.2;
    /// assert!((east - side).abs() < 1e-12 && (north + side).abs() < 1e-12 && up == 0.0);
    /// # Ok::<(), fallwise::Error>(())
    /// ```
    pub fn new(layout: &Layout, tilt_rad: &[f64], scale: f64, start: Start) -> Self {
        let profile = layout.profile(tilt_rad, scale, None);
        let mut walk = Walk::new(tilt_rad, start);
        let mut plan = walk.azimuth.map(|_| [start.east_m, start.north_m]);
        let mut nodes = Vec::with_capacity(layout.len() + 1);
        let mut legs = Vec::with_capacity(layout.len());
        let heights = profile.station_m.iter().zip(&profile.height_m);
        let places = layout.pieces.iter().zip(layout.chords());
        let mut end = Node { station_m: 0.0, plan_m: plan, height_m: 0.0, azimuth_rad: None };
        for ((&station_m, &height_m), place) in heights.zip(places.map(Some).chain([None])) {
            end = Node { station_m, plan_m: plan, height_m, azimuth_rad: end.azimuth_rad };
            let Some((piece, chord)) = place else { break };
            let leg = walk.leg(piece, chord.as_ref(), layout.arcs());
            let mean = leg.mean_level(1.0);
            let length = (piece.to_m - piece.from_m) * scale;
            plan = plan.zip(mean).map(|(p, m)| [p[0] + length * m[0], p[1] + length * m[1]]);
            nodes.push(Node { azimuth_rad: leg.azimuth_rad(0.0), ..end });
            end.azimuth_rad = leg.azimuth_rad(1.0);
            legs.push(leg);
        }
        nodes.push(end);
        Self { nodes, warnings: walk.warnings, legs, scale }
    }

    /// East, north and height above the lowest node at a station, m, exact anywhere on an arc; at a step, just after it.
    /// Nothing outside the survey or where the plan is not determined.
    pub fn position(&self, station_m: f64) -> Option<[f64; 3]> {
        let (leg, node, passed) = self.find(station_m)?;
        let length = leg.length_m * passed * self.scale;
        let (plan, mean) = node.plan_m.zip(leg.mean_level(passed))?;
        Some([plan[0] + length * mean[0], plan[1] + length * mean[1], self.height(station_m)?])
    }

    /// Height of the invert above the lowest node, m, exact anywhere on an arc; at a step, just after it. Nothing
    /// outside the survey.
    pub fn height(&self, station_m: f64) -> Option<f64> {
        let (leg, node, passed) = self.find(station_m)?;
        let Some(last) = self.nodes.last().filter(|n| n.station_m <= station_m) else {
            return Some(node.height_m - leg.length_m * passed * self.scale * leg.mean_sine(passed));
        };
        Some(last.height_m)
    }

    /// Unit direction of the pipe looking along growing station, east, north, up; at a node, of what follows it.
    /// Nothing outside the survey or where the azimuth is not determined.
    pub fn direction(&self, station_m: f64) -> Option<[f64; 3]> {
        let (leg, _, passed) = self.find(station_m)?;
        let [east, north] = leg.level_at(passed)?;
        Some([east, north, -leg.sine_at(passed)])
    }

    /// Azimuth of the pipe, rad, clockwise from north, from 0 to 2 pi; at a node, of what follows it. Nothing outside the
    /// survey or where it is not determined.
    pub fn azimuth(&self, station_m: f64) -> Option<f64> {
        let (leg, _, passed) = self.find(station_m)?;
        leg.azimuth_rad(passed)
    }

    /// The leg at a station, the node it starts from, and the part of it passed.
    fn find(&self, station_m: f64) -> Option<(&Leg, &Node, f64)> {
        let inside = self.nodes.first()?.station_m <= station_m && station_m <= self.nodes.last()?.station_m;
        let after = self.nodes.partition_point(|n| n.station_m <= station_m);
        let i = after.clamp(1, self.legs.len().max(1)) - 1;
        let (leg, node) = self.legs.get(i).zip(self.nodes.get(i)).filter(|_| inside)?;
        let passed =
            if leg.length_m > 0.0 { ((station_m - node.station_m) / leg.length_m).clamp(0.0, 1.0) } else { 0.0 };
        Some((leg, node, passed))
    }
}

/// A piece in space.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Leg {
    /// Along the station, m.
    length_m: f64,
    /// Tilts and azimuths at the ends of the straight piece or of the whole arc.
    tilt_rad: [f64; 2],
    azimuth_rad: Option<[f64; 2]>,
    /// East and north parts of the unit directions there.
    level: Option<[[f64; 2]; 2]>,
    /// Of an arc: its angle, and the fractions of it passed at the ends of this piece.
    arc: Option<(f64, [f64; 2])>,
}

impl Leg {
    fn mean_level(&self, passed: f64) -> Option<[f64; 2]> {
        self.blend(|angle, [from, to]| weights_between(angle, [from, from + passed * (to - from)]))
    }

    fn level_at(&self, passed: f64) -> Option<[f64; 2]> {
        self.blend(|angle, [from, to]| weights_at(angle, from + passed * (to - from)))
    }

    fn blend(&self, weights: impl Fn(f64, [f64; 2]) -> [f64; 2]) -> Option<[f64; 2]> {
        let [first, second] = self.level?;
        let Some((angle, fraction)) = self.arc else { return Some(first) };
        let w = weights(angle, fraction);
        Some([w[0] * first[0] + w[1] * second[0], w[0] * first[1] + w[1] * second[1]])
    }

    /// Sine of the mean tilt from the start of the piece to a part of it.
    fn mean_sine(&self, passed: f64) -> f64 {
        self.sine([0.0, passed])
    }

    fn sine_at(&self, passed: f64) -> f64 {
        self.sine([passed, passed])
    }

    fn sine(&self, passed: [f64; 2]) -> f64 {
        let Some((angle, [from, to])) = self.arc else { return math::sin(self.tilt_rad[0]) };
        let fraction = passed.map(|p| from + p * (to - from));
        if (self.tilt_rad[1] - self.tilt_rad[0]).abs() >= angle {
            return mean_sine_upright(self.tilt_rad, fraction);
        }
        let w = weights_between(angle, fraction);
        w[0] * math::sin(self.tilt_rad[0]) + w[1] * math::sin(self.tilt_rad[1])
    }

    /// Azimuth after a part of the piece. Pipe that stands upright keeps the one it came with.
    fn azimuth_rad(&self, passed: f64) -> Option<f64> {
        let [first, _] = self.azimuth_rad?;
        let [east, north] = self.level_at(passed)?;
        let azimuth = if self.arc.is_some() { math::atan2(east, north) } else { first };
        let turned = azimuth % TAU;
        Some(if turned < 0.0 { turned + TAU } else { turned })
    }
}

/// The state of a walk along the pieces.
struct Walk<'a> {
    tilt_rad: &'a [f64],
    /// Azimuth of the pipe behind, where determined.
    azimuth: Option<f64>,
    /// Segment behind, and the arc being walked with the azimuth beyond it.
    segment: Option<usize>,
    arc: Option<(usize, Option<f64>)>,
    warnings: Vec<String>,
}

impl<'a> Walk<'a> {
    fn new(tilt_rad: &'a [f64], start: Start) -> Self {
        let known =
            start.azimuth_rad.filter(|a| a.is_finite() && start.east_m.is_finite() && start.north_m.is_finite());
        let mut warnings = Vec::new();
        if known.is_none() {
            warnings.push("the plan is not determined: no azimuth is given at the start".to_owned());
        }
        Self { tilt_rad, azimuth: known, segment: None, arc: None, warnings }
    }

    fn leg(&mut self, piece: &Piece, chord: Option<&Chord>, arcs: &[Arc]) -> Leg {
        let length_m = piece.to_m - piece.from_m;
        let tilt = tilt_of(self.tilt_rad, piece.segment);
        if piece.step.is_some() {
            return self.level_leg(length_m, [tilt, tilt], self.azimuth, None);
        }
        let Some((chord, arc)) = chord.and_then(|c| Some((c, arcs.get(c.arc)?))) else {
            if self.segment.is_some_and(|s| s != piece.segment) {
                self.leave(self.segment, piece.from_m);
            }
            self.segment = Some(piece.segment);
            return self.level_leg(length_m, [tilt, tilt], self.azimuth, None);
        };

        let next = tilt_of(self.tilt_rad, piece.next_segment);
        let angle = chord.angle_rad.max((next - tilt).abs());
        let beyond = match self.arc {
            Some((known, beyond)) if known == chord.arc => beyond,
            _ => {
                self.leave(Some(piece.segment), piece.from_m);
                let beyond = self.azimuth.and_then(|a| Some(a + turn(arc.deflection_rad, tilt, next)?));
                if beyond.is_none() {
                    self.lose(arc.station_m, "the bend's angle and the tilts on its two sides cannot be");
                }
                beyond
            }
        };
        self.arc = Some((chord.arc, beyond));
        let leg = self.level_leg(length_m, [tilt, next], beyond, Some((angle, chord.fraction)));
        if chord.fraction[1] >= 1.0 || piece.to_m >= arc.to_m {
            self.azimuth = beyond;
            self.segment = Some(piece.next_segment);
        }
        leg
    }

    /// A leg from the azimuth behind to the azimuth given.
    fn level_leg(&self, length_m: f64, tilt_rad: [f64; 2], beyond: Option<f64>, arc: Option<(f64, [f64; 2])>) -> Leg {
        let azimuth_rad = self.azimuth.zip(beyond).map(|(a, b)| [a, b]);
        let level = azimuth_rad.map(|[a, b]| [level(tilt_rad[0], a), level(tilt_rad[1], b)]);
        Leg { length_m, tilt_rad, azimuth_rad, level, arc }
    }

    /// Forgets the azimuth when steep pipe is left behind.
    fn leave(&mut self, segment: Option<usize>, station_m: f64) {
        if segment.is_some_and(|s| tilt_of(self.tilt_rad, s).abs() > STEEP_RAD) {
            self.lose(station_m, "the pipe before it is steeper than 80 degrees and does not show where it turns");
        }
    }

    fn lose(&mut self, station_m: f64, why: &str) {
        if self.azimuth.take().is_some() {
            self.warnings.push(format!("the plan is not determined beyond {station_m:.2} m: {why}"));
        }
    }
}

/// East and north parts of a unit direction.
fn level(tilt_rad: f64, azimuth_rad: f64) -> [f64; 2] {
    let (sine, cosine) = math::sin_cos(azimuth_rad);
    let out = math::cos(tilt_rad);
    [out * sine, out * cosine]
}

/// Turn of the azimuth at a bend between two tilts, rad, positive to the right; nothing where no such bend can be.
fn turn(deflection_rad: f64, first: f64, second: f64) -> Option<f64> {
    let angle = deflection_rad.abs();
    let change = (second - first).abs();
    if change >= angle {
        // Straight up or down; near half a turn the plane of the arc is not defined.
        return (change < PI - 0.01).then_some(0.0);
    }
    if angle > PI - (first + second).abs() + ANGLE_SLACK_RAD {
        return None;
    }
    let over = math::sin(0.5 * (angle + change)) * math::sin(0.5 * (angle - change));
    let half = (over / (math::cos(first) * math::cos(second))).sqrt().min(1.0);
    Some((2.0 * math::asin(half)).copysign(deflection_rad))
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "these values are exact")]
#[path = "place_tests.rs"]
mod tests;

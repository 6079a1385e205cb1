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
use crate::prelude::*;
use crate::{
    math, said,
    units::{Part, Said},
};
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
    pub warnings: Vec<Said>,
    pub(super) legs: Vec<Leg>,
    pub(super) scale: f64,
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
        Self::turned(layout, tilt_rad, scale, start, None, None)
    }

    /// The same with other angles of the bends, rad, in the order of the layout's, and other rises of the steps, m. An arc keeps its length
    /// and the way it curves; it leads where the other angle does.
    pub fn turned(
        layout: &Layout,
        tilt_rad: &[f64],
        scale: f64,
        start: Start,
        bend_rad: Option<&[f64]>,
        step_rise_m: Option<&[f64]>,
    ) -> Self {
        let profile = layout.profile(tilt_rad, scale, step_rise_m);
        let mut walk = Walk::new(tilt_rad, start, bend_rad);
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

/// Where a station lies in plan, with its derivatives: of east and of north.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// East and north, m.
    pub plan_m: [f64; 2],
    /// Azimuth, rad.
    pub azimuth_rad: f64,
    /// Unit direction in plan times the cosine of the tilt: derivative by the station, over the scale.
    pub along: [f64; 2],
    /// By the tilt of each segment, m per rad.
    pub tilt: Vec<[f64; 2]>,
    /// By the scale, m.
    pub scale: [f64; 2],
    /// By the azimuth of the first node, m per rad.
    pub azimuth: [f64; 2],
    /// By the angle of each bend, m per rad.
    pub bend: Vec<[f64; 2]>,
    /// Derivatives of the azimuth by the tilt of each segment, and by the angle of each bend.
    pub azimuth_by: (Vec<f64>, Vec<f64>),
}

impl Path {
    /// Where a station lies in plan, with derivatives. `bend_rad` are the angles it was laid with. Nothing outside the survey or where
    /// the plan is not determined.
    pub(crate) fn plan(&self, layout: &Layout, bend_rad: &[f64], station_m: f64) -> Option<Plan> {
        let (leg, node, passed) = self.find(station_m)?;
        let last = self.nodes.partition_point(|n| n.station_m <= station_m).clamp(1, self.legs.len().max(1)) - 1;
        let origin = self.nodes.first()?.plan_m?;
        let reach = leg.length_m * passed * self.scale;
        let (start, mean) = node.plan_m.zip(leg.mean_level(passed))?;
        let at = [start[0] + reach * mean[0], start[1] + reach * mean[1]];
        let mut plan = Plan {
            plan_m: at,
            azimuth_rad: leg.azimuth_rad(passed)?,
            along: leg.level_at(passed)?,
            tilt: vec![[0.0; 2]; layout.segments()],
            scale: [(at[0] - origin[0]) / self.scale, (at[1] - origin[1]) / self.scale],
            azimuth: clockwise([at[0] - origin[0], at[1] - origin[1]]),
            bend: vec![[0.0; 2]; bend_rad.len()],
            azimuth_by: (vec![0.0; layout.segments()], vec![0.0; bend_rad.len()]),
        };
        // Of each arc passed: what turning all that follows by one radian moves.
        let mut arcs: Vec<(usize, usize, [f64; 2], f64)> = Vec::new();
        for (i, (leg, piece)) in self.legs.iter().zip(&layout.pieces).enumerate().take(last + 1) {
            let passed = if i == last { passed } else { 1.0 };
            let length = leg.length_m * passed * self.scale;
            let ([first, second], [from_azimuth, to_azimuth]) = (leg.level?, leg.azimuth_rad?);
            let weight = match leg.arc {
                None => [1.0, 0.0],
                Some((angle, [from, to])) => weights_between(angle, [from, from + passed * (to - from)]),
            };
            let by_tilt = |tilt: f64, azimuth: f64, weight: f64| {
                let steeper = -length * weight * math::sin(tilt);
                let (sine, cosine) = math::sin_cos(azimuth);
                [steeper * sine, steeper * cosine]
            };
            let moved = |into: &mut [[f64; 2]], k: usize, by: [f64; 2]| {
                if let Some(t) = into.get_mut(k) {
                    *t = [t[0] + by[0], t[1] + by[1]];
                }
            };
            moved(&mut plan.tilt, piece.segment, by_tilt(leg.tilt_rad[0], from_azimuth, weight[0]));
            for (_, _, turned, _) in arcs.iter_mut().filter(|(arc, ..)| chord_of(layout, i) != Some(*arc)) {
                let mean = clockwise([
                    length * (weight[0] * first[0] + weight[1] * second[0]),
                    length * (weight[0] * first[1] + weight[1] * second[1]),
                ]);
                *turned = [turned[0] + mean[0], turned[1] + mean[1]];
            }
            let Some(arc) = chord_of(layout, i) else { continue };
            moved(&mut plan.tilt, piece.next_segment, by_tilt(leg.tilt_rad[1], to_azimuth, weight[1]));
            let into = clockwise([length * weight[1] * second[0], length * weight[1] * second[1]]);
            let done = leg.arc.map_or(1.0, |(_, [from, to])| from + passed * (to - from));
            match arcs.iter_mut().find(|(known, ..)| *known == arc) {
                Some((_, _, turned, part)) => {
                    *turned = [turned[0] + into[0], turned[1] + into[1]];
                    *part = done;
                }
                None => arcs.push((arc, i, into, done)),
            }
        }
        for (arc, piece, turned, part) in arcs {
            let (Some(laid), Some(piece), Some(leg)) =
                (layout.arcs().get(arc), layout.pieces.get(piece), self.legs.get(piece))
            else {
                continue;
            };
            let deflection = bend_rad.get(laid.bend).copied().unwrap_or(laid.deflection_rad);
            let (by_angle, by_tilt) = turn_derivatives(deflection, leg.tilt_rad);
            let put = |into: &mut [[f64; 2]], azimuth: &mut [f64], index: usize, by: f64| {
                if let (Some(t), Some(a)) = (into.get_mut(index), azimuth.get_mut(index)) {
                    *t = [t[0] + by * turned[0], t[1] + by * turned[1]];
                    *a += by * part;
                }
            };
            put(&mut plan.bend, &mut plan.azimuth_by.1, laid.bend, by_angle);
            put(&mut plan.tilt, &mut plan.azimuth_by.0, piece.segment, by_tilt[0]);
            put(&mut plan.tilt, &mut plan.azimuth_by.0, piece.next_segment, by_tilt[1]);
        }
        Some(plan)
    }
}

/// The arc that a piece is a chord of.
fn chord_of(layout: &Layout, piece: usize) -> Option<usize> {
    layout.chords().get(piece).and_then(|c| c.as_ref()).map(|c| c.arc)
}

/// Derivative of a vector by a turn to the right.
fn clockwise([east, north]: [f64; 2]) -> [f64; 2] {
    [north, -east]
}

/// Derivatives of the turn at a bend by its angle and by the two tilts. With a the turn and b the angle,
/// sin^2(a/2) cos t1 cos t2 + sin^2((t2 - t1)/2) = sin^2(b/2). A bend straight up or down does not turn.
fn turn_derivatives(deflection_rad: f64, [first, second]: [f64; 2]) -> (f64, [f64; 2]) {
    let turned = turn(deflection_rad, first, second).unwrap_or(0.0);
    let (s1, c1) = math::sin_cos(first);
    let (s2, c2) = math::sin_cos(second);
    let below = math::sin(turned.abs()) * c1 * c2;
    if below < 1e-12 {
        return (0.0, [0.0; 2]);
    }
    let half = math::sin(0.5 * turned);
    let change = 0.5 * math::sin(second - first);
    let side = 2.0_f64.copysign(deflection_rad) / below;
    (
        math::sin(deflection_rad.abs()) / below,
        [side * (half * half * s1 * c2 + change), side * (half * half * c1 * s2 - change)],
    )
}

/// A piece in space.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Leg {
    /// Along the station, m.
    pub(super) length_m: f64,
    /// Tilts and azimuths at the ends of the straight piece or of the whole arc.
    tilt_rad: [f64; 2],
    azimuth_rad: Option<[f64; 2]>,
    /// East and north parts of the unit directions there.
    pub(super) level: Option<[[f64; 2]; 2]>,
    /// Of an arc: its angle, and the fractions of it passed at the ends of this piece.
    pub(super) arc: Option<(f64, [f64; 2])>,
}

impl Leg {
    pub(super) fn mean_level(&self, passed: f64) -> Option<[f64; 2]> {
        self.blend(|angle, [from, to]| weights_between(angle, [from, from + passed * (to - from)]))
    }

    pub(super) fn level_at(&self, passed: f64) -> Option<[f64; 2]> {
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
    /// Angles of the bends, where they are not those noted.
    bend_rad: Option<&'a [f64]>,
    /// Segment behind, and the arc being walked with the azimuth beyond it.
    segment: Option<usize>,
    arc: Option<(usize, Option<f64>)>,
    warnings: Vec<Said>,
}

impl<'a> Walk<'a> {
    fn new(tilt_rad: &'a [f64], start: Start, bend_rad: Option<&'a [f64]>) -> Self {
        let known =
            start.azimuth_rad.filter(|a| a.is_finite() && start.east_m.is_finite() && start.north_m.is_finite());
        let mut warnings = Vec::new();
        if known.is_none() {
            warnings.push(said!("the plan is not determined: no azimuth is given at the start"));
        }
        Self { tilt_rad, azimuth: known, bend_rad, segment: None, arc: None, warnings }
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
                let beyond = self.azimuth.and_then(|a| Some(a + turn(self.deflection_rad(arc), tilt, next)?));
                if beyond.is_none() {
                    let why = said!("the bend's angle and the tilts on its two sides cannot be");
                    self.lose(arc.station_m, why);
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

    fn deflection_rad(&self, arc: &Arc) -> f64 {
        self.bend_rad.and_then(|bends| bends.get(arc.bend)).copied().unwrap_or(arc.deflection_rad)
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
            let why = said!("the pipe before it is steeper than 80 degrees and does not show where it turns");
            self.lose(station_m, why);
        }
    }

    fn lose(&mut self, station_m: f64, why: Said) {
        if self.azimuth.take().is_some() {
            self.warnings.push(said!(
                "the plan is not determined beyond {at} m: {why}",
                at = Part::Number(station_m, 2),
                why = why
            ));
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

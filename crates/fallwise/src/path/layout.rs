//! What of a lateral does not change with its tilts, and the heights that follow from them.
//!
//! A [`Layout`] cuts the surveyed length at every break, at the limits of reaches, at steps, and along the arcs of
//! bends. Heights for a set of tilts are then one pass over its pieces: an arc's drop is linear in the sines of the two
//! tilts, with weights known beforehand (see `arc`), so that a thousand draws cost little more than a thousand sums.
//!
//! # Choices
//! * An arc has the bend's angle and its radius (default 1.5 bores; 150 mm where no bore is given, which is said in the
//!   warnings). It is laid off along the station, half to each side of the bend's; the counter's scale stretches it with
//!   the rest.
//! * Breaks inside an arc are absorbed: the arc turns from the segment at its start to the segment at its end.
//! * Of an arc that reaches past an end of the survey only the part inside is laid out; the segment at that end then
//!   stands for the pipe beyond. A bend exactly at an end has no pipe on one side of it and is an error.
//! * Where two tilts differ by more than the bend's angle (as drawn tilts may), the arc is taken in the vertical plane
//!   with the angle between them: heights stay continuous in the tilts.

use super::arc::{mean_sine_upright, weights_between};
use crate::prelude::*;
use crate::{
    error::{Error, require_finite},
    math,
    model::{Bend, Reach, Step},
    profile::Profile,
    said,
    units::{Part, Said},
};
use core::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI};

/// Chords of an arc turn by at most this, rad (2.25 degrees: 40 to a quarter bend; the invert of a 150 mm arc then lies
/// within 0.03 mm of its chord).
const CHORD_RAD: f64 = 2.25 * PI / 180.0;
/// Largest angle of a bend, rad (179 degrees): beyond, the plane of the arc is not defined.
const LARGEST_BEND_RAD: f64 = 179.0 * PI / 180.0;
/// Radius of a bend over the height of its bore.
const RADIUS_OVER_BORE: f64 = 1.5;
/// Bore taken for the radius of a bend where none is given, m.
const USUAL_BORE_M: f64 = 0.1;
/// Reaches may miss each other by this much, m: the rounding of feet and inches.
const REACH_JOIN_M: f64 = 1e-3;
/// Reaches that end short of the survey by up to this much, m, are extended, with a warning.
const REACH_SHORT_M: f64 = 0.5;
/// Arcs that overlap by less than this, m, touch.
const TOUCH_M: f64 = 1e-9;
/// A station beyond this, m, is a mistake of units.
const FAR_M: f64 = 1e6;
/// A step above this, m, is a mistake of units.
const LARGEST_STEP_M: f64 = 100.0;
/// Sines taken together.
const SINES: usize = 64;
/// Standard deviations of a bend's angle within which a larger change of tilt is taken for a bend straight up or down.
const BEND_DEVIATIONS: f64 = 3.0;

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
    /// Odd but usable input, one plain sentence each.
    pub warnings: Vec<Said>,
    /// What the arc of each piece is, where it is a chord.
    chords: Vec<Option<Chord>>,
    /// Stations of the nodes, and the reach of each piece, as a profile has them.
    station_m: Vec<f64>,
    reach: Vec<usize>,
    arcs: Vec<Arc>,
    breaks_m: Vec<f64>,
    rise_m: Vec<f64>,
    /// Every piece is a segment, whole and straight.
    plain: bool,
}

/// A bend laid out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Arc {
    /// Bend, an index.
    pub(super) bend: usize,
    pub(super) station_m: f64,
    /// Positive to the right.
    pub(super) deflection_rad: f64,
    deflection_sd_rad: f64,
    /// The part inside the survey.
    pub(super) from_m: f64,
    pub(super) to_m: f64,
    /// Half of its whole length along the station, inside the survey or not.
    half_m: f64,
    /// Segments at its ends.
    pub(super) before: usize,
    pub(super) after: usize,
}

/// A part of an arc.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Chord {
    /// Arc, an index into the layout's.
    pub(super) arc: usize,
    /// Size of the arc's angle, rad.
    pub(super) angle_rad: f64,
    /// Fractions of the whole arc passed at its ends.
    pub(super) fraction: [f64; 2],
    /// Weights of the end directions in its mean direction.
    pub(super) weight: [f64; 2],
}

impl Layout {
    /// Lays out breaks, bends, steps and reaches.
    ///
    /// `breaks_m` are the ends of the segments, growing, one more than there are segments. Bends and steps may come in
    /// any order; reaches come in order of station. Without reaches everything is in reach 0.
    ///
    /// # Errors
    /// [`Error::TooFew`] and [`Error::Value`] for breaks that do not grow or values that cannot be; [`Error::Outside`]
    /// for bends and steps outside the survey (a bend must be inside, not at an end); [`Error::Overlap`] for arcs in
    /// each other's way and for reaches that leave a gap or overlap by more than 1 mm.
    ///
    /// # Example
    /// A 45 degree bend of 150 mm radius between two segments:
    /// ```
    /// use fallwise::{model::Bend, path::Layout};
    /// let mut bend = Bend::new(3.0, 45f64.to_radians());
    /// bend.radius_m = Some(0.15);
    /// let layout = Layout::new(&[0.0, 3.0, 8.0], &[bend], &[], &[])?;
    /// assert_eq!(layout.len(), 2 + 20); // the two segments and 20 chords
    /// let profile = layout.profile(&[0.02, 0.05], 1.0, None);
    /// assert!((profile.fall_between(0.0, 8.0) - (3.0 * 0.02f64.sin() + 5.0 * 0.05f64.sin())).abs() < 1e-3);
    /// # Ok::<(), fallwise::Error>(())
    /// ```
    pub fn new(breaks_m: &[f64], bends: &[Bend], steps: &[Step], reaches: &[Reach]) -> Result<Self, Error> {
        let (first, last) = ends(breaks_m)?;
        let mut warnings = Vec::new();
        let limits = reach_limits(reaches, first, last, &mut warnings)?;
        let arcs = lay_arcs(breaks_m, bends, reaches, &limits, &mut warnings)?;
        let steps_in_order = order_steps(steps, first, last)?;

        let mut layout = Self {
            pieces: Vec::new(),
            warnings,
            chords: Vec::new(),
            station_m: Vec::new(),
            reach: Vec::new(),
            arcs,
            breaks_m: breaks_m.to_vec(),
            rise_m: steps.iter().map(|s| s.rise_m).collect(),
            plain: false,
        };
        layout.cut(&limits, &steps_in_order);
        layout.station_m = [first].into_iter().chain(layout.pieces.iter().map(|p| p.to_m)).collect();
        layout.reach = layout.pieces.iter().map(|p| p.reach).collect();
        layout.plain = bends.is_empty() && steps.is_empty() && layout.station_m == layout.breaks_m;
        Ok(layout)
    }

    /// Number of pieces; a profile has one node more.
    pub fn len(&self) -> usize {
        self.pieces.len()
    }

    /// Never so: a survey has a length.
    pub fn is_empty(&self) -> bool {
        self.pieces.is_empty()
    }

    /// Number of segments.
    pub fn segments(&self) -> usize {
        self.breaks_m.len().saturating_sub(1)
    }

    /// The profile for given tilts of the segments, rad. `scale` is true length over station difference;
    /// `step_rise_m` replaces the noted rises (for draws).
    ///
    /// Nodes on arcs lie exactly on the arc. The lowest node has height 0. A tilt beyond 90 degrees counts as 90, one
    /// that is missing as level; a rise that is missing as the noted one. Finite tilts, and a scale and rises of size
    /// up to 1e300, give finite heights.
    pub fn profile(&self, tilt_rad: &[f64], scale: f64, step_rise_m: Option<&[f64]>) -> Profile {
        let mut profile = Profile {
            station_m: self.station_m.clone(),
            height_m: vec![0.0; self.pieces.len() + 1],
            tilt_rad: vec![0.0; self.pieces.len()],
            reach: self.reach.clone(),
            at_drop: Vec::new(),
            scale,
        };
        self.lay(&mut profile, tilt_rad, scale, step_rise_m);
        profile
    }

    /// Writes other tilts, scale and rises over a profile of this layout: the same as a new one, without its memory.
    pub(crate) fn lay(&self, profile: &mut Profile, tilt_rad: &[f64], scale: f64, step_rise_m: Option<&[f64]>) {
        profile.scale = scale;
        if self.plain {
            self.lay_plain(profile, tilt_rad, scale);
            return;
        }
        let mut sines = Sines::new(tilt_rad);
        // The first node stays at 0 until the lowest is known.
        let (mut height, mut lowest) = (0.0, 0.0);
        profile.height_m.iter_mut().take(1).for_each(|h| *h = height);
        let nodes = profile.height_m.iter_mut().skip(1).zip(&mut profile.tilt_rad);
        for ((piece, chord), (node, piece_tilt)) in self.pieces.iter().zip(&self.chords).zip(nodes) {
            let (tilt, rise) = if let Some(step) = piece.step {
                let given = step_rise_m.and_then(|r| r.get(step)).or_else(|| self.rise_m.get(step));
                (0.0, given.copied().unwrap_or(0.0))
            } else {
                // Where there is no bend the chord need not be looked at.
                let (tilt, sine) = sines.piece(piece, piece.bend.and(chord.as_ref()));
                (tilt, -(piece.to_m - piece.from_m) * scale * sine)
            };
            height += rise;
            lowest = height.min(lowest);
            (*node, *piece_tilt) = (height, tilt);
        }
        for h in &mut profile.height_m {
            *h -= lowest;
        }
        if !self.arcs.is_empty() {
            let steep = |segment: usize| tilt_of(tilt_rad, segment).abs() > FRAC_PI_4;
            let at_drop = |p: &Piece| p.bend.is_some() && (steep(p.segment) || steep(p.next_segment));
            profile.at_drop.clear();
            profile.at_drop.extend(self.pieces.iter().map(at_drop));
        }
    }

    /// The same of straight pieces alone, each a whole segment.
    fn lay_plain(&self, profile: &mut Profile, tilt_rad: &[f64], scale: f64) {
        let given = tilt_rad.len().min(profile.tilt_rad.len());
        let (known, missing) = profile.tilt_rad.split_at_mut(given);
        known.iter_mut().zip(tilt_rad).for_each(|(into, tilt)| *into = tilt.clamp(-FRAC_PI_2, FRAC_PI_2));
        missing.fill(0.0);
        // Sines in blocks: small enough to stay at hand.
        let mut sine = [0.0; SINES];
        let (mut height, mut lowest) = (0.0, 0.0);
        profile.height_m.iter_mut().take(1).for_each(|h| *h = height);
        let mut ends = self.station_m.iter().zip(self.station_m.iter().skip(1));
        let blocks =
            profile.tilt_rad.chunks(SINES).zip(profile.height_m.get_mut(1..).unwrap_or_default().chunks_mut(SINES));
        for (tilts, nodes) in blocks {
            math::sin_each(tilts, &mut sine);
            for ((node, sine), (from_m, to_m)) in nodes.iter_mut().zip(&sine).zip(&mut ends) {
                height += -(to_m - from_m) * scale * sine;
                lowest = if height < lowest { height } else { lowest };
                *node = height;
            }
        }
        for h in &mut profile.height_m {
            *h -= lowest;
        }
    }

    /// Compares each bend's angle with the change of tilt across it, for the best estimate of the tilts. Returns
    /// warnings, one plain sentence each.
    ///
    /// # Errors
    /// [`Error::BendTooSmall`] where the tilt changes by more than the angle and three of its standard deviations.
    pub fn check_bends(&self, tilt_rad: &[f64]) -> Result<Vec<Said>, Error> {
        let mut warnings = Vec::new();
        for arc in &self.arcs {
            let (first, second) = (tilt_of(tilt_rad, arc.before), tilt_of(tilt_rad, arc.after));
            let change = (second - first).abs();
            let angle = arc.deflection_rad.abs();
            let slack = BEND_DEVIATIONS * arc.deflection_sd_rad;
            let (station, degrees, tilt_change) = (arc.station_m, angle.to_degrees(), change.to_degrees());
            if change > angle + slack {
                return Err(Error::BendTooSmall {
                    station_m: station,
                    deflection_deg: degrees,
                    tilt_change_deg: tilt_change,
                });
            }
            if change > angle {
                warnings.push(said!(
                    "bend at {at} m: the tilt changes by {change} degrees, more than the bend's {angle}; taken as a \
                     bend straight up or down",
                    at = Part::Number(station, 2),
                    change = Part::Number(tilt_change, 2),
                    angle = Part::Number(degrees, 2)
                ));
            } else if angle > PI - (first + second).abs() + slack {
                warnings.push(said!(
                    "bend at {at} m: pipes of {first} and {second} degrees of tilt cannot meet at {angle} degrees; the \
                     plan beyond it is not determined",
                    at = Part::Number(station, 2),
                    first = Part::Number(first.to_degrees(), 1),
                    second = Part::Number(second.to_degrees(), 1),
                    angle = Part::Number(degrees, 2)
                ));
            }
        }
        Ok(warnings)
    }

    /// Derivative of the fall between two stations (positive down towards growing station) by the tilt of each segment,
    /// m per rad, into `out`; stations outside the survey count as its ends,
    /// and one that is no number gives zeros.
    ///
    /// On arcs the bend's angle is held, and a chord cut by a station counts by its length. For standard deviations.
    pub fn fall_gradient(&self, tilt_rad: &[f64], scale: f64, from_m: f64, to_m: f64, out: &mut [f64]) {
        self.lengths(scale, from_m, to_m, out);
        for (k, o) in out.iter_mut().enumerate().filter(|(_, o)| **o != 0.0) {
            *o *= math::cos(tilt_of(tilt_rad, k));
        }
    }

    /// The same over the cosines of the tilts: the length of pipe of each segment between two stations, m, what arcs shorten taken off;
    /// negative where the stations are exchanged.
    pub(crate) fn lengths(&self, scale: f64, from_m: f64, to_m: f64, out: &mut [f64]) {
        out.fill(0.0);
        if from_m.is_nan() || to_m.is_nan() {
            return;
        }
        let (low, high, sign) = if from_m <= to_m { (from_m, to_m, scale) } else { (to_m, from_m, -scale) };
        let begin = self.pieces.partition_point(|p| p.to_m <= low);
        let touched = self.pieces.iter().zip(&self.chords).skip(begin).take_while(|(p, _)| p.from_m < high);
        for (piece, chord) in touched {
            let length = sign * (piece.to_m.min(high) - piece.from_m.max(low));
            let [first, second] = chord.map_or([1.0, 0.0], |c| c.weight);
            let mut add = |segment: usize, weight: f64| {
                if let Some(o) = out.get_mut(segment) {
                    *o += length * weight;
                }
            };
            add(piece.segment, first);
            add(piece.next_segment, second);
        }
    }

    /// The steps passed from the first node up to a station, those at the first left out where it is that.
    pub(crate) fn steps_upto(&self, station_m: f64) -> impl Iterator<Item = usize> + '_ {
        let passed = self.pieces.partition_point(|p| p.from_m <= station_m);
        self.pieces.iter().take(passed).filter_map(|p| p.step)
    }

    /// Derivative of the fall along a whole piece by the tilts of the one or two segments it belongs to, m per rad.
    pub(crate) fn fall_by_tilts(&self, piece: usize, tilt_rad: &[f64], scale: f64) -> [(usize, f64); 2] {
        let Some((p, chord)) = self.pieces.get(piece).zip(self.chords.get(piece)) else { return [(0, 0.0); 2] };
        let length = scale * (p.to_m - p.from_m);
        let [first, second] = chord.map_or([1.0, 0.0], |c| c.weight);
        let by = |segment: usize, weight: f64| {
            let cos = if weight == 0.0 { 0.0 } else { math::cos(tilt_of(tilt_rad, segment)) };
            (segment, length * weight * cos)
        };
        [by(p.segment, first), by(p.next_segment, second)]
    }

    /// Ends of the segments, m.
    pub fn breaks_m(&self) -> &[f64] {
        &self.breaks_m
    }

    pub(super) fn arcs(&self) -> &[Arc] {
        &self.arcs
    }

    pub(super) fn chords(&self) -> &[Option<Chord>] {
        &self.chords
    }

    /// Cuts the survey into pieces.
    fn cut(&mut self, limits: &[f64], steps: &[(f64, usize)]) {
        let mut cuts: Vec<f64> =
            self.breaks_m.iter().copied().filter(|b| !self.arcs.iter().any(|a| a.holds(*b))).collect();
        for arc in &self.arcs {
            let passed = arc.fraction(arc.to_m) - arc.fraction(arc.from_m);
            // At most 80 chords; the slack keeps 20 chords of 45 degrees from becoming 21 by a rounding.
            let count = (passed * arc.deflection_rad.abs() / CHORD_RAD - 1e-9).ceil().max(1.0);
            cuts.extend([arc.from_m, arc.to_m]);
            let mut j = 1.0;
            while j < count {
                cuts.push(arc.from_m + (arc.to_m - arc.from_m) * (j / count));
                j += 1.0;
            }
        }
        cuts.extend(limits);
        cuts.extend(steps.iter().map(|(station, _)| station));
        cuts.sort_by(f64::total_cmp);
        cuts.dedup();

        // Every limit of an arc, a segment, a reach is a cut, so that a piece is inside where its start is.
        let (mut arc, mut segment, mut reach) = (0, 0, 0);
        let mut steps = steps.iter().peekable();
        for (i, &from) in cuts.iter().enumerate() {
            while self.arcs.get(arc).is_some_and(|a| a.to_m <= from) {
                arc += 1;
            }
            while self.breaks_m.get(segment + 1).is_some_and(|b| *b <= from) && segment + 2 < self.breaks_m.len() {
                segment += 1;
            }
            while limits.get(reach).is_some_and(|l| *l <= from) {
                reach += 1;
            }
            let straight = |to_m: f64, step: Option<usize>| Piece {
                from_m: from,
                to_m,
                segment,
                next_segment: segment,
                next_share: 0.0,
                reach,
                bend: None,
                step,
            };
            while let Some((_, step)) = steps.next_if(|(station, _)| *station <= from) {
                self.pieces.push(straight(from, Some(*step)));
                self.chords.push(None);
            }
            let Some(&to) = cuts.get(i + 1) else { continue };
            let mut piece = straight(to, None);
            let chord = self.arcs.get(arc).filter(|a| a.from_m <= from).map(|a| {
                let chord = a.chord(arc, from, to);
                piece.segment = a.before;
                piece.next_segment = a.after;
                piece.next_share = 0.5 * (chord.fraction[0] + chord.fraction[1]);
                piece.bend = Some(a.bend);
                chord
            });
            self.pieces.push(piece);
            self.chords.push(chord);
        }
    }
}

impl Arc {
    /// Whether a station lies inside, ends excluded.
    fn holds(&self, station_m: f64) -> bool {
        self.from_m < station_m && station_m < self.to_m
    }

    /// Fraction of the whole arc passed at a station.
    pub(super) fn fraction(&self, station_m: f64) -> f64 {
        (0.5 + 0.5 * ((station_m - self.station_m) / self.half_m)).clamp(0.0, 1.0)
    }

    fn chord(&self, arc: usize, from_m: f64, to_m: f64) -> Chord {
        let angle_rad = self.deflection_rad.abs();
        let fraction = [self.fraction(from_m), self.fraction(to_m)];
        Chord { arc, angle_rad, fraction, weight: weights_between(angle_rad, fraction) }
    }
}

impl Chord {
    /// Sine of its mean tilt, drop over length, between tilts whose sines are given.
    fn mean_sine(&self, tilt_rad: [f64; 2], sine: [f64; 2]) -> f64 {
        if (tilt_rad[1] - tilt_rad[0]).abs() > self.angle_rad {
            return mean_sine_upright(tilt_rad, self.fraction);
        }
        self.weight[0] * sine[0] + self.weight[1] * sine[1]
    }
}

/// Sines of the tilts of segments in turn: each is taken once as long as they come in order.
struct Sines<'a> {
    tilt_rad: &'a [f64],
    /// The two segments asked for last: index, tilt, sine.
    known: [(usize, f64, f64); 2],
}

impl<'a> Sines<'a> {
    fn new(tilt_rad: &'a [f64]) -> Self {
        Self { tilt_rad, known: [(usize::MAX, 0.0, 0.0); 2] }
    }

    fn of(&mut self, segment: usize) -> (f64, f64) {
        if self.known[0].0 != segment {
            self.known.swap(0, 1);
        }
        if self.known[0].0 != segment {
            let tilt = tilt_of(self.tilt_rad, segment);
            let before = self.known[1];
            // Neighbours of one tilt have one sine.
            let sine = if before.0 != usize::MAX && before.1 == tilt { before.2 } else { math::sin(tilt) };
            self.known[0] = (segment, tilt, sine);
        }
        (self.known[0].1, self.known[0].2)
    }

    /// Tilt of a piece and its sine.
    fn piece(&mut self, piece: &Piece, chord: Option<&Chord>) -> (f64, f64) {
        let (first, first_sine) = self.of(piece.segment);
        let Some(chord) = chord else { return (first, first_sine) };
        let (second, second_sine) = self.of(piece.next_segment);
        let sine = chord.mean_sine([first, second], [first_sine, second_sine]).clamp(-1.0, 1.0);
        (math::asin(sine), sine)
    }
}

/// Tilt of a segment, at most 90 degrees; level where it is missing.
pub(super) fn tilt_of(tilt_rad: &[f64], segment: usize) -> f64 {
    tilt_rad.get(segment).map_or(0.0, |t| t.clamp(-FRAC_PI_2, FRAC_PI_2))
}

/// First and last surveyed station.
fn ends(breaks_m: &[f64]) -> Result<(f64, f64), Error> {
    let (Some(&first), Some(&last), true) = (breaks_m.first(), breaks_m.last(), breaks_m.len() >= 2) else {
        return Err(Error::TooFew { field: "breaks_m".to_owned(), found: breaks_m.len(), needed: 2 });
    };
    require_finite("breaks_m", breaks_m)?;
    if let Some(i) = breaks_m.iter().position(|b| b.abs() > FAR_M) {
        return Err(Error::at("breaks_m", i, breaks_m[i], "a station within 1000 km, in metres"));
    }
    if let Some(i) = breaks_m.windows(2).position(|w| w[1] <= w[0]) {
        let expected = format!("more than {}, the break before it", breaks_m[i]);
        return Err(Error::at("breaks_m", i + 1, breaks_m[i + 1], expected));
    }
    Ok((first, last))
}

/// Stations inside the survey at which one reach follows another, one fewer than reaches; a limit before or after the
/// survey leaves its reach without a piece.
fn reach_limits(reaches: &[Reach], first: f64, last: f64, warnings: &mut Vec<Said>) -> Result<Vec<f64>, Error> {
    for (i, reach) in reaches.iter().enumerate() {
        if !reach.from_m.is_finite() {
            return Err(Error::at("reach.from_m", i, reach.from_m, "a finite number"));
        }
        if !(reach.to_m.is_finite() && reach.to_m > reach.from_m) {
            return Err(Error::at("reach.to_m", i, reach.to_m, format!("more than {}, its from_m", reach.from_m)));
        }
    }
    for (i, pair) in reaches.windows(2).enumerate() {
        let (end, start) = (pair[0].to_m, pair[1].from_m);
        if start < end - REACH_JOIN_M {
            return Err(Error::Overlap {
                what: "reaches".to_owned(),
                first_m: pair[0].from_m,
                second_m: start,
                expected: format!("reach {} to end at {start} m or reach {} to begin at {end} m", i + 1, i + 2),
            });
        }
        if start > end + REACH_JOIN_M {
            let expected = format!("{end}, where reach {} ends: reaches cover the survey without a gap", i + 1);
            return Err(Error::at("reach.from_m", i + 1, start, expected));
        }
    }
    if let (Some(a), Some(b)) = (reaches.first(), reaches.last()) {
        let short = [("from_m", a.from_m - first, a.from_m, first), ("to_m", last - b.to_m, b.to_m, last)];
        for (field, missing, given, end) in short {
            if missing > REACH_SHORT_M {
                let index = if field == "to_m" { reaches.len() - 1 } else { 0 };
                let expected = format!("{end}, the end of the survey: reaches cover all of it");
                return Err(Error::at(format!("reach.{field}"), index, given, expected));
            }
            if missing > REACH_JOIN_M {
                warnings.push(said!(
                    "the reach that ends at {given} m is taken to go on to {end} m",
                    given = Part::Number(given, 2),
                    end = Part::Number(end, 2)
                ));
            }
        }
    }
    // The limit is where the later reach begins, kept inside the survey so that it is one of its cuts.
    Ok(reaches.iter().skip(1).map(|r| r.from_m.clamp(first, last)).collect())
}

/// Arcs of the bends, in order of station.
fn lay_arcs(
    breaks_m: &[f64],
    bends: &[Bend],
    reaches: &[Reach],
    limits: &[f64],
    warnings: &mut Vec<Said>,
) -> Result<Vec<Arc>, Error> {
    let (first, last) = ends(breaks_m)?;
    let mut arcs = Vec::with_capacity(bends.len());
    for (i, bend) in bends.iter().enumerate() {
        check_bend(i, bend, first, last)?;
        let station = bend.station_m;
        let bore = || {
            let reach = limits.partition_point(|l| *l <= station);
            reaches.get(reach).and_then(|r| r.pipe.bore.as_ref()).map(crate::section::Bore::height_m)
        };
        let radius = bend.radius_m.or_else(|| bore().map(|b| RADIUS_OVER_BORE * b)).unwrap_or_else(|| {
            let usual = RADIUS_OVER_BORE * USUAL_BORE_M;
            warnings.push(said!(
                "bend at {at} m: neither radius nor bore is given; {usual} m is taken",
                at = Part::Number(station, 2),
                usual = Part::Exact(usual)
            ));
            usual
        });
        let half_m = 0.5 * radius * bend.deflection_rad.abs();
        // Below 1 um there is no arc to speak of, beyond 1 km there is no bend; a bore may be no number at all.
        if !(half_m > 1e-6 && half_m < 1e3) {
            return Err(Error::at(
                "bend.radius_m",
                i,
                radius,
                "a radius and angle whose arc is longer than 2 um and below 2 km",
            ));
        }
        arcs.push(Arc {
            bend: i,
            station_m: station,
            deflection_rad: bend.deflection_rad,
            deflection_sd_rad: bend.deflection_sd_rad,
            from_m: (station - half_m).max(first),
            to_m: (station + half_m).min(last),
            half_m,
            before: 0,
            after: 0,
        });
    }
    arcs.sort_by(|a, b| a.station_m.total_cmp(&b.station_m));
    let mut end = first;
    let mut previous = first;
    for arc in &mut arcs {
        if arc.from_m < end - TOUCH_M || arc.to_m <= end {
            return Err(Error::Overlap {
                what: "the arcs of the bends".to_owned(),
                first_m: previous,
                second_m: arc.station_m,
                expected: "bends further apart, or smaller radii".to_owned(),
            });
        }
        arc.from_m = arc.from_m.max(end);
        (end, previous) = (arc.to_m, arc.station_m);
        // The segment that holds the first bit of the arc, and the one that holds its last.
        arc.before = breaks_m.partition_point(|b| *b <= arc.from_m).saturating_sub(1);
        arc.after = breaks_m.partition_point(|b| *b < arc.to_m).saturating_sub(1);
        for k in arc.before + 1..arc.after {
            warnings.push(said!(
                "segment {n} lies wholly inside the bend at {at} m and does not count",
                n = k + 1,
                at = Part::Number(arc.station_m, 2)
            ));
        }
    }
    Ok(arcs)
}

fn check_bend(i: usize, bend: &Bend, first: f64, last: f64) -> Result<(), Error> {
    let angle = bend.deflection_rad.abs();
    if !(angle > 0.0 && angle <= LARGEST_BEND_RAD) {
        let expected = "an angle other than 0 and below 179 degrees, in rad (a return bend is two bends)";
        return Err(Error::at("bend.deflection_rad", i, bend.deflection_rad, expected));
    }
    if !(bend.deflection_sd_rad >= 0.0 && bend.deflection_sd_rad.is_finite()) {
        return Err(Error::at("bend.deflection_sd_rad", i, bend.deflection_sd_rad, "0 or more, in rad"));
    }
    if let Some(radius) = bend.radius_m.filter(|r| !(*r > 0.0 && r.is_finite())) {
        return Err(Error::at("bend.radius_m", i, radius, "more than 0, in m"));
    }
    if !bend.station_m.is_finite() {
        return Err(Error::at("bend.station_m", i, bend.station_m, "a finite number"));
    }
    if bend.station_m <= first || bend.station_m >= last {
        return Err(Error::Outside { what: "bend".to_owned(), station_m: bend.station_m, from_m: first, to_m: last });
    }
    Ok(())
}

/// Stations and indices of the steps, in order of station, as noted where they share one.
fn order_steps(steps: &[Step], first: f64, last: f64) -> Result<Vec<(f64, usize)>, Error> {
    for (i, step) in steps.iter().enumerate() {
        if !step.station_m.is_finite() {
            return Err(Error::at("step.station_m", i, step.station_m, "a finite number"));
        }
        if step.rise_m.is_nan() || step.rise_m.abs() > LARGEST_STEP_M {
            return Err(Error::at("step.rise_m", i, step.rise_m, "a rise of at most 100 m, in metres"));
        }
        if !(0.0..=LARGEST_STEP_M).contains(&step.rise_sd_m) {
            return Err(Error::at("step.rise_sd_m", i, step.rise_sd_m, "0 to 100 m, in metres"));
        }
        if step.station_m < first || step.station_m > last {
            return Err(Error::Outside {
                what: "step".to_owned(),
                station_m: step.station_m,
                from_m: first,
                to_m: last,
            });
        }
    }
    let mut order: Vec<(f64, usize)> = steps.iter().enumerate().map(|(i, s)| (s.station_m, i)).collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0));
    Ok(order)
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "these values are exact")]
#[path = "layout_tests.rs"]
mod tests;

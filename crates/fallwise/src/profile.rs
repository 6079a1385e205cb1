//! Heights along a chain, and what is read off them: fall, slope, cover, the stations at a level.
//!
//! Stations and falls here run towards growing station; the sign of the flow is the caller's. Of a stretch that reaches
//! past the survey the functions named `..._between` give the surveyed part.

use core::f64::consts::FRAC_PI_4;

use crate::prelude::*;
use crate::{math, model::GroundPoint};

/// Pieces that are looked at together.
const BLOCK: usize = 64;

/// Heights of the invert along the lateral, developed along its stations: nodes joined by straight pieces. Arcs stand
/// as chords of at most 2.25 degrees whose nodes lie exactly on the arc; a step is two nodes at one station.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// Stations of the nodes, m, not falling.
    pub station_m: Vec<f64>,
    /// Heights of the nodes above the lowest, m.
    pub height_m: Vec<f64>,
    /// Tilt of each piece, rad (one fewer than nodes); 0 for a step.
    pub tilt_rad: Vec<f64>,
    /// Reach of each piece, an index into the reaches.
    pub reach: Vec<usize>,
    /// Whether each piece lies in a bend at an end of a drop, and so belongs to the drop; shorter where none of the rest does.
    pub at_drop: Vec<bool>,
    /// True length over station difference: 1 + the counter's scale error.
    pub scale: f64,
}

/// A piece of a profile.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProfilePiece {
    /// Stations of its ends, m; the same for a step.
    pub station_m: [f64; 2],
    /// Heights of its ends, m.
    pub height_m: [f64; 2],
    /// Tilt, rad; 0 for a step.
    pub tilt_rad: f64,
    /// Reach, an index.
    pub reach: usize,
    /// Whether it lies in a bend at an end of a drop.
    pub at_drop: bool,
}

impl ProfilePiece {
    /// Whether it is steeper than 45 degrees and so no "horizontal pipe" (IPC 2021 chapter 2, from memory), or lies in a bend at an end of such
    /// pipe.
    pub fn is_drop(&self) -> bool {
        self.at_drop || self.tilt_rad.abs() > FRAC_PI_4
    }

    /// Whether it is a vertical lip.
    pub fn is_step(&self) -> bool {
        self.station_m[1] <= self.station_m[0]
    }

    /// The part of it between two stations, of which the first is the lower; nothing where they do not meet over some
    /// length.
    fn part(&self, low_m: f64, high_m: f64) -> Option<(f64, f64)> {
        let [from, to] = self.station_m;
        let length = high_m.min(to) - low_m.max(from);
        (length > 0.0).then(|| {
            let fall = self.height_m[0] - self.height_m[1];
            // Whole pieces keep their fall to the bit.
            (length, if length >= to - from { fall } else { fall * (length / (to - from)) })
        })
    }
}

/// Equally likely profiles: draws of a posterior.
pub trait Draws {
    /// How many.
    fn count(&self) -> usize;
    /// Visits each in order.
    fn for_each(&self, visit: &mut dyn FnMut(&Profile));
}

impl Draws for Vec<Profile> {
    fn count(&self) -> usize {
        self.len()
    }
    fn for_each(&self, visit: &mut dyn FnMut(&Profile)) {
        self.iter().for_each(visit);
    }
}

impl Draws for [Profile] {
    fn count(&self) -> usize {
        self.len()
    }
    fn for_each(&self, visit: &mut dyn FnMut(&Profile)) {
        self.iter().for_each(visit);
    }
}

impl Profile {
    /// Its pieces, in order of station.
    pub fn pieces(&self) -> impl Iterator<Item = ProfilePiece> + '_ {
        self.pieces_from(0)
    }

    /// Whether a piece, by its number, is a drop: see [`ProfilePiece::is_drop`].
    pub(crate) fn is_drop(&self, piece: usize) -> bool {
        self.pieces_from(piece).next().is_some_and(|piece| piece.is_drop())
    }

    /// Its nodes, station and height, m.
    pub fn nodes(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.station_m.iter().copied().zip(self.height_m.iter().copied())
    }

    /// First and last station, m; nothing of a profile without nodes.
    pub fn range(&self) -> Option<(f64, f64)> {
        self.station_m.first().copied().zip(self.station_m.last().copied())
    }

    /// Height above the lowest node, m; at a step, just after it. Nothing outside the survey.
    pub fn height_at(&self, station_m: f64) -> Option<f64> {
        let (first, last) = self.range()?;
        if !(first <= station_m && station_m <= last) {
            return None;
        }
        let after = self.station_m.partition_point(|s| *s <= station_m);
        let (s0, h0) = self.node(after.checked_sub(1)?)?;
        let Some((s1, h1)) = self.node(after) else { return Some(h0) };
        Some(h0 + (h1 - h0) * ((station_m - s0) / (s1 - s0)))
    }

    /// Fall from one station to another, m, positive down, drops and steps included. A step at a station lies before it.
    /// 0 where nothing between them was surveyed. Exchanging the stations changes the sign.
    pub fn fall_between(&self, from_m: f64, to_m: f64) -> f64 {
        let Some((first, last)) = self.range() else { return 0.0 };
        let height = |s: f64| self.height_at(within(s, first, last)?);
        height(from_m).zip(height(to_m)).map_or(0.0, |(a, b)| a - b)
    }

    /// Slope between two stations: fall over horizontal length, (sum L sin t) / (sum L cos t), positive down towards
    /// growing station whatever the order of the two. Drops and steps are left out; nothing where no other pipe is left.
    pub fn slope_between(&self, one_m: f64, other_m: f64) -> Option<f64> {
        let (low, high) = (one_m.min(other_m), one_m.max(other_m));
        if one_m.is_nan() || other_m.is_nan() {
            return None;
        }
        // Whole pieces from one node to another; a part of a piece before and after them.
        let from = self.station_m.partition_point(|s| *s < low);
        let to = self.station_m.partition_point(|s| *s <= high).saturating_sub(1);
        let (mut fall, mut level) = if from < to { self.fall_and_level(from, to) } else { (0.0, 0.0) };
        let ends = [from.checked_sub(1), Some(to).filter(|to| from.checked_sub(1) != Some(*to))];
        for piece in ends.into_iter().flatten().filter_map(|end| self.pieces_from(end).next()) {
            if let Some((length, part_fall)) = piece.part(low, high).filter(|_| !piece.is_drop()) {
                let length = length * self.scale;
                fall += part_fall;
                // L cos t without a cosine; where rounding of a height counts the part is too short to matter.
                level += (length * length - part_fall * part_fall).max(0.0).sqrt();
            }
        }
        (level > 0.0).then(|| fall / level)
    }

    /// Fall and horizontal length of the pieces between two nodes, drops and steps left out.
    fn fall_and_level(&self, from: usize, to: usize) -> (f64, f64) {
        let (mut falls, mut levels) = ([0.0; BLOCK], [0.0; BLOCK]);
        let (mut fall, mut level) = (0.0, 0.0);
        for first in (from..to).step_by(BLOCK) {
            let last = to.min(first + BLOCK);
            let ((s0, s1), (h0, h1)) = (ends(&self.station_m, first, last), ends(&self.height_m, first, last));
            let tilts = self.tilt_rad.get(first..last).unwrap_or_default();
            let pieces = tilts.len().min(s1.len()).min(h1.len());
            // Cut to one length, and with no branch within, so that several pieces go side by side.
            let (s0, s1, h0, h1, tilts) =
                (&s0[..pieces], &s1[..pieces], &h0[..pieces], &h1[..pieces], &tilts[..pieces]);
            let (falls, levels) = (&mut falls[..pieces], &mut levels[..pieces]);
            for i in 0..pieces {
                let (length, drop) = ((s1[i] - s0[i]) * self.scale, h0[i] - h1[i]);
                let square = length * length - drop * drop;
                let counts = (s1[i] > s0[i]) & (tilts[i].abs() <= FRAC_PI_4);
                falls[i] = if counts { drop } else { 0.0 };
                // Taken of every piece: a step has its rise and no length.
                let run = square.max(0.0).sqrt();
                levels[i] = if counts { run } else { 0.0 };
            }
            let at_drop = self.at_drop.iter().skip(first).take(pieces).enumerate();
            for (i, _) in at_drop.filter(|(_, at_drop)| **at_drop) {
                (falls[i], levels[i]) = (0.0, 0.0);
            }
            fall += math::sum(falls);
            level += math::sum(levels);
        }
        (fall, level)
    }

    /// Fall in drops (steeper than 45 degrees) from one station to another, m, positive down, contained in
    /// [`Profile::fall_between`].
    pub fn drop_fall_between(&self, from_m: f64, to_m: f64) -> f64 {
        let mut fall = 0.0;
        self.each_part(from_m, to_m, |piece, _, part_fall| {
            if piece.is_drop() {
                fall += part_fall;
            }
        });
        if from_m <= to_m { fall } else { -fall }
    }

    /// True length along the pipe between two stations, m; not negative.
    pub fn length_between(&self, one_m: f64, other_m: f64) -> f64 {
        let Some((first, last)) = self.range() else { return 0.0 };
        let ends = within(one_m, first, last).zip(within(other_m, first, last));
        ends.map_or(0.0, |(one, other)| (other - one).abs() * self.scale)
    }

    /// Horizontal length between two stations, m, drops with the rest.
    pub(crate) fn level_between(&self, one_m: f64, other_m: f64) -> f64 {
        let mut level_m = 0.0;
        self.each_part(one_m, other_m, |_, length, fall| level_m += (length * length - fall * fall).max(0.0).sqrt());
        level_m
    }

    /// All stations, m, growing, where the profile crosses or touches a height above the lowest node: once where it only
    /// touches or steps across, both ends where it runs level at that height.
    #[allow(clippy::float_cmp, reason = "a node is at the level, above or below it; near is one of the last two")]
    pub fn crossings(&self, level_m: f64) -> Vec<f64> {
        let mut found = Vec::new();
        let mut before: Option<(f64, f64)> = None;
        // Whether the last station found is the end, so far, of a stretch at the level.
        let mut level = false;
        for (station, height) in self.nodes() {
            let (s0, h0) = before.unwrap_or((station, height));
            if height == level_m {
                if level {
                    found.pop();
                }
                level = h0 == level_m && found.last().is_some_and(|s| *s < station);
                if found.last() != Some(&station) {
                    found.push(station);
                }
            } else {
                level = false;
                if (h0 < level_m && level_m < height) || (height < level_m && level_m < h0) {
                    let passed = (level_m - h0) / (height - h0);
                    found.push((s0 + (station - s0) * passed).clamp(s0, station.max(s0)));
                }
            }
            before = Some((station, height));
        }
        found
    }

    /// Station and height of the lowest node, m, the first of several.
    pub fn lowest(&self) -> Option<(f64, f64)> {
        self.nodes().reduce(|low, node| if node.1 < low.1 { node } else { low })
    }

    fn node(&self, i: usize) -> Option<(f64, f64)> {
        self.station_m.get(i).copied().zip(self.height_m.get(i).copied())
    }

    fn pieces_from(&self, first: usize) -> impl Iterator<Item = ProfilePiece> + '_ {
        let stations = self.station_m.get(first..).unwrap_or_default().windows(2);
        let heights = self.height_m.get(first..).unwrap_or_default().windows(2);
        let tilts = self.tilt_rad.get(first..).unwrap_or_default();
        let reaches = self.reach.get(first..).unwrap_or_default();
        let at_drop = self.at_drop.get(first..).unwrap_or_default().iter().copied().chain(core::iter::repeat(false));
        stations.zip(heights).zip(tilts.iter().zip(reaches)).zip(at_drop).map(
            |(((s, h), (&tilt_rad, &reach)), at_drop)| ProfilePiece {
                station_m: [s[0], s[1]],
                height_m: [h[0], h[1]],
                tilt_rad,
                reach,
                at_drop,
            },
        )
    }

    /// Visits the pieces between two stations with the true length and the fall of what lies between.
    fn each_part(&self, one_m: f64, other_m: f64, mut visit: impl FnMut(&ProfilePiece, f64, f64)) {
        if one_m.is_nan() || other_m.is_nan() {
            return;
        }
        let (low, high) = (one_m.min(other_m), one_m.max(other_m));
        let first = self.station_m.partition_point(|s| *s <= low).saturating_sub(1);
        for piece in self.pieces_from(first).take_while(|p| p.station_m[0] < high) {
            if let Some((length, fall)) = piece.part(low, high) {
                visit(&piece, length * self.scale, fall);
            }
        }
    }
}

/// Values at the two ends of each piece.
fn ends(values: &[f64], first: usize, last: usize) -> (&[f64], &[f64]) {
    (values.get(first..last).unwrap_or_default(), values.get(first + 1..=last).unwrap_or_default())
}

/// The surveyed station nearest to one; nothing for what is no number. Ends in the wrong order do no harm.
fn within(station_m: f64, first_m: f64, last_m: f64) -> Option<f64> {
    (!station_m.is_nan()).then(|| station_m.max(first_m).min(last_m))
}

/// Elevation of the ground at a station, m, linear between the two points next to it. Nothing outside the points, which
/// may come in any order; those that are not numbers are passed over.
pub fn ground_at(ground: &[GroundPoint], station_m: f64) -> Option<f64> {
    let (before, after, passed) = ground_about(ground, station_m)?;
    Some(before.elevation_m * (1.0 - passed) + after.elevation_m * passed)
}

/// Standard deviation of that, m: of the two points next to it, whose errors are taken as independent. `None` where either of them
/// was given none: of what nobody stated nothing is known. How far the ground between them departs from a line is not in it.
pub fn ground_sd_at(ground: &[GroundPoint], station_m: f64) -> Option<f64> {
    let (before, after, passed) = ground_about(ground, station_m)?;
    let part = |point: &GroundPoint, share: f64| if share == 0.0 { Some(0.0) } else { Some(share * point.sd_m?) };
    Some(math::hypot(part(before, 1.0 - passed)?, part(after, passed)?))
}

/// The two points of the ground next to a station, and how much of the way from the one to the other it is.
fn ground_about(ground: &[GroundPoint], station_m: f64) -> Option<(&GroundPoint, &GroundPoint, f64)> {
    let points = || ground.iter().filter(|p| p.station_m.is_finite() && p.elevation_m.is_finite());
    let before = points().filter(|p| p.station_m <= station_m).max_by(|a, b| a.station_m.total_cmp(&b.station_m))?;
    let after = points().filter(|p| p.station_m >= station_m).min_by(|a, b| a.station_m.total_cmp(&b.station_m))?;
    let span = after.station_m - before.station_m;
    let passed = if span > 0.0 { (station_m - before.station_m) / span } else { 0.0 };
    Some((before, after, passed))
}

/// Cover, m: from the ground down to the outside top of the pipe, which lies (bore + wall) / cos t above the invert.
/// `bore_m` is the height of the bore. With no wall it is the depth to the crown. Nothing on a drop, which has no top.
pub fn cover_m(ground_m: f64, invert_m: f64, bore_m: f64, wall_m: f64, tilt_rad: f64) -> Option<f64> {
    let cover = ground_m - (invert_m + (bore_m + wall_m) / math::cos(tilt_rad));
    (tilt_rad.abs() <= FRAC_PI_4 && cover.is_finite()).then_some(cover)
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "these values are exact")]
#[path = "profile_tests.rs"]
mod tests;

//! Quantities with their derivatives, and their standard deviations: linear propagation at the best estimate.

use super::{Estimate, Parameter, Posterior};
use crate::prelude::*;
use crate::{
    math,
    model::Flow,
    path::{Layout, Piece},
    profile::Profile,
};

/// A quantity with its derivatives.
#[derive(Debug, Clone, PartialEq)]
pub struct Functional {
    /// Value.
    pub value: f64,
    /// Derivative by the tilt of each segment.
    pub tilt: Vec<f64>,
    /// Derivative by the counter's scale.
    pub scale: f64,
    /// Derivative by the rise of each step.
    pub step: Vec<f64>,
    /// Stretches whose unnoted lips are in it.
    pub lips: Vec<Lips>,
    /// Derivative by the zero error of the head, beside what it moves the tilts by.
    pub zero: f64,
    /// Derivative by the angle of each bend.
    pub bend: Vec<f64>,
    /// Derivatives by elevation, east, north and azimuth of the first node, of which nothing is known without ties.
    pub open: [f64; Self::OPEN],
}

/// Unnoted lips that are in a quantity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lips {
    /// From this station, m.
    pub from_m: f64,
    /// To this one, m.
    pub to_m: f64,
    /// With this factor.
    pub factor: f64,
}

impl Lips {
    /// Stations without an end, m.
    pub(super) const ALL_M: (f64, f64) = (f64::NEG_INFINITY, f64::INFINITY);

    /// What they add up to between two stations, m: lengths times factors.
    pub(super) fn sum_m(lips: &[Self], (low_m, high_m): (f64, f64)) -> f64 {
        lips.iter().map(|l| l.factor * (l.to_m.min(high_m) - l.from_m.max(low_m)).max(0.0)).sum()
    }

    /// Lengths between two stations that two sets of them have in common, times the factors of both, m. Of stretches of one set that
    /// overlap the factors add up.
    pub(super) fn product_m(one: &[Self], other: &[Self], (low_m, high_m): (f64, f64)) -> f64 {
        let pairs = one.iter().flat_map(|a| other.iter().map(move |b| (a, b)));
        let part = |(a, b): (&Self, &Self)| {
            let (from_m, to_m) = (a.from_m.max(b.from_m).max(low_m), a.to_m.min(b.to_m).min(high_m));
            a.factor * b.factor * (to_m - from_m).max(0.0)
        };
        pairs.map(part).sum()
    }
}

/// A chain as it lies: what quantities are read off.
#[derive(Debug, Clone, Copy)]
pub(super) struct Shape<'a> {
    pub(super) layout: &'a Layout,
    /// Tilts of the segments, rad.
    pub(super) tilt_rad: &'a [f64],
    /// Rises of the steps, m.
    pub(super) rise_m: &'a [f64],
    pub(super) bends: usize,
    /// The heights that follow from these.
    pub(super) profile: &'a Profile,
    /// Cosines of the tilts, where many quantities are read off.
    pub(super) cosine: Option<&'a [f64]>,
}

/// Cosines of tilts.
pub(super) fn cosines(tilt_rad: &[f64]) -> Vec<f64> {
    let upright = core::f64::consts::FRAC_PI_2;
    tilt_rad.iter().map(|t| math::cos(t.clamp(-upright, upright))).collect()
}

impl Functional {
    /// Number of open unknowns: where the first node is.
    pub const OPEN: usize = 4;
    /// Elevation of the first node.
    pub const ELEVATION: usize = 0;
    /// East of the first node.
    pub const EAST: usize = 1;
    /// North of the first node.
    pub const NORTH: usize = 2;
    /// Azimuth of the first node.
    pub const AZIMUTH: usize = 3;

    /// The same quantity counted along the flow: its sign is turned where the water flows towards falling station.
    pub(crate) fn along(self, flow: Flow) -> Self {
        self.times(flow.sign())
    }

    /// The same quantity times a factor.
    pub(crate) fn times(mut self, factor: f64) -> Self {
        let numbers = self.tilt.iter_mut().chain(&mut self.step).chain(&mut self.bend).chain(&mut self.open);
        numbers.for_each(|g| *g *= factor);
        self.lips.iter_mut().for_each(|l| l.factor *= factor);
        self.value *= factor;
        self.scale *= factor;
        self.zero *= factor;
        self
    }

    /// The sum of two quantities.
    pub(super) fn plus(mut self, other: Self) -> Self {
        let mine = self.tilt.iter_mut().chain(&mut self.step).chain(&mut self.bend).chain(&mut self.open);
        let theirs = other.tilt.iter().chain(&other.step).chain(&other.bend).chain(&other.open);
        mine.zip(theirs).for_each(|(a, b)| *a += b);
        self.lips.extend(other.lips);
        self.value += other.value;
        self.scale += other.scale;
        self.zero += other.zero;
        self
    }
}

impl Shape<'_> {
    /// A quantity that depends on nothing yet.
    pub(super) fn nothing(&self) -> Functional {
        Functional {
            value: 0.0,
            tilt: vec![0.0; self.tilt_rad.len()],
            scale: 0.0,
            step: vec![0.0; self.rise_m.len()],
            lips: Vec::new(),
            zero: 0.0,
            bend: vec![0.0; self.bends],
            open: [0.0; Functional::OPEN],
        }
    }

    /// Fall from one station to another, m, positive down, steps and drops included, of what was surveyed between them.
    pub(super) fn fall(&self, from_m: f64, to_m: f64) -> Functional {
        let mut quantity = self.nothing();
        if from_m > to_m {
            return self.fall(to_m, from_m).times(-1.0);
        }
        for (i, tilt, length) in between(self.layout, self.profile, from_m, to_m) {
            if let Some(step) = self.layout.pieces.get(i).and_then(|p| p.step) {
                quantity.value -= self.rise_m.get(step).copied().unwrap_or(0.0);
                add(&mut quantity.step, step, -1.0);
                continue;
            }
            let sin = math::sin(tilt);
            quantity.value += length * sin;
            quantity.scale += length * sin / self.profile.scale;
        }
        if let Some((first_m, last_m)) = self.profile.range() {
            let (low_m, high_m) = (from_m.max(first_m), to_m.min(last_m));
            if low_m < high_m {
                quantity.lips.push(Lips { from_m: low_m, to_m: high_m, factor: 1.0 });
            }
        }
        self.layout.fall_gradient(self.tilt_rad, self.profile.scale, from_m, to_m, &mut quantity.tilt);
        quantity
    }

    /// Slope between two stations, in either order, positive down towards growing station; drops cut out.
    pub(super) fn slope(&self, one_m: f64, other_m: f64) -> Option<Functional> {
        let (from_m, to_m) = (one_m.min(other_m), one_m.max(other_m));
        let (mut fall, mut run) = (0.0, 0.0);
        for (_, tilt, length) in slopes_between(self.layout, self.profile, from_m, to_m) {
            let (sin, cos) = math::sin_cos(tilt);
            fall += length * sin;
            run += length * cos;
        }
        if run <= 0.0 {
            return None;
        }
        let mut quantity = self.nothing();
        quantity.value = fall / run;
        for (i, tilt, length) in slopes_between(self.layout, self.profile, from_m, to_m) {
            let (sin, cos) = math::sin_cos(tilt);
            let by_tilt = length * (cos + quantity.value * sin) / run;
            let Some(piece) = self.layout.pieces.get(i) else { continue };
            if piece.bend.is_none() {
                add(&mut quantity.tilt, piece.segment, by_tilt);
                continue;
            }
            // The sine of a chord's tilt is a blend of those of its two segments.
            for (segment, by) in self.layout.fall_by_tilts(i, self.tilt_rad, 1.0) {
                add(&mut quantity.tilt, segment, by_tilt * by / ((piece.to_m - piece.from_m) * cos));
            }
        }
        Some(quantity)
    }

    /// Mean tilt over the pipe between two stations, rad.
    pub(super) fn mean_tilt(&self, from_m: f64, to_m: f64) -> Functional {
        let mut quantity = self.nothing();
        let cells = self.layout.breaks_m().windows(2).map(|ends| (ends[1].min(to_m) - ends[0].max(from_m)).max(0.0));
        let lengths: Vec<f64> = cells.collect();
        let whole: f64 = lengths.iter().sum();
        for ((g, length), tilt) in quantity.tilt.iter_mut().zip(&lengths).zip(self.tilt_rad) {
            *g = if whole > 0.0 { length / whole } else { 0.0 };
            quantity.value += *g * tilt;
        }
        quantity
    }

    /// Height of the invert at a station above that of the first node, m. A little beyond an end the pipe is carried on straight.
    pub(super) fn height(&self, station_m: f64) -> Functional {
        let mut height = self.nothing();
        let Some((first_m, last_m)) = self.profile.range() else { return height };
        let near_m = station_m.max(first_m).min(last_m);
        if let Some(cosine) = self.cosine {
            self.layout.lengths(-self.profile.scale, first_m, near_m, &mut height.tilt);
            height.tilt.iter_mut().zip(cosine).for_each(|(g, cosine)| *g *= cosine);
        } else {
            self.layout.fall_gradient(self.tilt_rad, -self.profile.scale, first_m, near_m, &mut height.tilt);
        }
        height.value = self.height_m(station_m);
        let mut steps_m = 0.0;
        for (piece, rise) in self.layout.steps_upto(near_m).map(|step| (step, self.rise_m.get(step))) {
            add(&mut height.step, piece, 1.0);
            steps_m += rise.copied().unwrap_or(0.0);
        }
        height.scale = (height.value - steps_m) / self.profile.scale;
        if near_m > first_m {
            height.lips.push(Lips { from_m: first_m, to_m: near_m, factor: -1.0 });
        }
        let beyond_m = station_m - near_m;
        if beyond_m != 0.0 {
            let segment = self.segment(near_m);
            let cosine = math::cos(self.tilt_rad.get(segment).copied().unwrap_or(0.0));
            add(&mut height.tilt, segment, -beyond_m * self.profile.scale * cosine);
        }
        height
    }

    /// The value of that alone.
    pub(super) fn height_m(&self, station_m: f64) -> f64 {
        let Some((first_m, last_m)) = self.profile.range() else { return 0.0 };
        let near_m = station_m.max(first_m).min(last_m);
        let first = self.profile.height_m.first().copied().unwrap_or(0.0);
        let height = self.profile.height_at(near_m).unwrap_or(0.0) - first;
        let beyond_m = station_m - near_m;
        if beyond_m == 0.0 {
            return height;
        }
        let tilt = self.tilt_rad.get(self.segment(near_m)).copied().unwrap_or(0.0);
        height - beyond_m * self.profile.scale * math::sin(tilt)
    }

    /// Elevation of the invert at a station, m, above that of the first node, which is open.
    pub(super) fn elevation(&self, station_m: f64) -> Functional {
        let mut elevation = self.height(station_m);
        elevation.open[Functional::ELEVATION] = 1.0;
        elevation
    }

    /// The segment at a station; at a break, the one after it.
    pub(super) fn segment(&self, station_m: f64) -> usize {
        let breaks = self.layout.breaks_m();
        breaks.partition_point(|b| *b <= station_m).saturating_sub(1).min(breaks.len().saturating_sub(2))
    }
}

impl Posterior {
    /// This posterior's best estimate, as it lies.
    pub(super) fn shape<'a>(&'a self, layout: &'a Layout, profile: &'a Profile) -> Shape<'a> {
        Shape {
            cosine: None,
            layout,
            tilt_rad: &self.tilt_rad,
            rise_m: &self.step_rise_m,
            bends: self.bend_sd_rad.len(),
            profile,
        }
    }

    /// The estimate of a quantity. Its standard deviation is infinite where it is not determined.
    pub fn estimate(&self, quantity: &Functional) -> Estimate {
        let lips = |l: &Lips| l.factor * (self.lips_m(l.to_m) - self.lips_m(l.from_m));
        Estimate::new(quantity.value + quantity.lips.iter().map(lips).sum::<f64>(), self.variance(quantity).sqrt())
    }

    /// By how much a station lies lower against the first for lips at joints that nobody noted, m, as far as ties show it: what is
    /// between the tilts and the levels. It is in heights and falls, not in slopes.
    pub fn lips_m(&self, station_m: f64) -> f64 {
        self.tied.as_ref().map_or(0.0, |tied| tied.lips_at_m(station_m))
    }

    /// Whether nothing open is in a quantity, where there are no ties.
    pub(super) fn is_determined(&self, quantity: &Functional) -> bool {
        let known = |open: usize| open == Functional::ELEVATION && self.datum.is_some();
        quantity.open.iter().enumerate().all(|(open, g)| *g == 0.0 || known(open))
    }

    /// Its variance: gᵀ C g, or, with ties, what they leave of it.
    fn variance(&self, quantity: &Functional) -> f64 {
        if let Some(tied) = &self.tied {
            return tied.variance(self, quantity);
        }
        if !self.is_determined(quantity) {
            return f64::INFINITY;
        }
        let zero = self.zero_parameter();
        let by_zero = |i: usize| quantity.zero * zero.and_then(|z| z.by_source.get(i)).copied().unwrap_or(0.0);
        let by_datum =
            |i: usize| quantity.open[Functional::ELEVATION] * self.datum.as_ref().map_or(0.0, |d| d.by_source(i));
        let white: f64 = quantity.tilt.iter().zip(&self.white_sd_rad).map(|(g, w)| (g * w) * (g * w)).sum();
        let own = white + self.scatter.as_ref().map_or(0.0, |s| s.variance(&quantity.tilt));
        let by_tilt = |tilt_rad: &[f64]| quantity.tilt.iter().zip(tilt_rad).map(|(g, l)| g * l).sum::<f64>();
        let shared: f64 = self
            .sources
            .iter()
            .enumerate()
            .map(|(i, s)| by_tilt(&s.tilt_rad) + by_zero(i) + by_datum(i))
            .map(|g| g * g)
            .sum();
        let squares = |g: &[f64], sd: &[f64]| g.iter().zip(sd).map(|(g, s)| (g * s) * (g * s)).sum::<f64>();
        let scale = quantity.scale * self.scale_sd;
        let steps = squares(&quantity.step, &self.step_sd_m) + squares(&quantity.bend, &self.bend_sd_rad);
        let lips = Lips::product_m(&quantity.lips, &quantity.lips, Lips::ALL_M);
        let zero_own = quantity.zero * zero.map_or(0.0, Parameter::own_sd);
        own + shared + scale * scale + steps + zero_own * zero_own + self.lip_variance_m * lips
    }

    /// Fall along the flow between two stations, m, steps and drops included; 0 where nothing between them was surveyed.
    /// Exchanging the stations changes the sign.
    pub fn fall(&self, layout: &Layout, profile: &Profile, flow: Flow, from_m: f64, to_m: f64) -> Estimate {
        self.estimate(&self.shape(layout, profile).fall(from_m, to_m).along(flow))
    }

    /// Slope along the flow between two stations, in either order: (Σ L sin t)/(Σ L cos t), drops cut out. `None` where
    /// only drops, or nothing surveyed, lie between them.
    pub fn slope(&self, layout: &Layout, profile: &Profile, flow: Flow, one_m: f64, other_m: f64) -> Option<Estimate> {
        Some(self.estimate(&self.shape(layout, profile).slope(one_m, other_m)?.along(flow)))
    }

    /// Mean tilt over the pipe between two stations, rad, positive down towards growing station.
    pub fn mean_tilt(&self, layout: &Layout, profile: &Profile, from_m: f64, to_m: f64) -> Estimate {
        self.estimate(&self.shape(layout, profile).mean_tilt(from_m, to_m))
    }

    /// Heights of the invert at stations, m, less the mean of them all.
    pub fn heights_about_mean(&self, layout: &Layout, profile: &Profile, station_m: &[f64]) -> Vec<Estimate> {
        let shape = self.shape(layout, profile);
        let share = 1.0 / station_m.len().max(1) as f64;
        let mean = station_m.iter().map(|s| shape.height(*s).times(-share)).reduce(Functional::plus);
        let Some(mean) = mean else { return Vec::new() };
        station_m.iter().map(|s| self.estimate(&shape.height(*s).plus(mean.clone()))).collect()
    }

    /// Elevation of the invert at a station, m; `None` where ties or as-built inverts give none.
    pub fn elevation(&self, layout: &Layout, profile: &Profile, station_m: f64) -> Option<Estimate> {
        let mut elevation = self.shape(layout, profile).elevation(station_m);
        elevation.value += self.first().elevation_m?;
        Some(self.estimate(&elevation)).filter(|e| e.sd.is_finite())
    }
}

/// Pieces between two stations, the lower one first, by their numbers, with their tilt and the true length of the part between them. A
/// step at a station lies before it, so that falls of stretches that meet there add up; none lies before the survey.
fn between(layout: &Layout, profile: &Profile, low_m: f64, high_m: f64) -> impl Iterator<Item = (usize, f64, f64)> {
    let first_m = layout.pieces.first().map_or(low_m, |p| p.from_m);
    layout.pieces.iter().zip(&profile.tilt_rad).enumerate().filter_map(move |(i, (piece, &tilt))| {
        let (from, to) = (piece.from_m.max(low_m), piece.to_m.min(high_m));
        let inside = match piece.step {
            Some(_) => (low_m < to || low_m <= first_m && to <= first_m) && from <= high_m,
            None => from < to,
        };
        (inside && low_m < high_m).then_some((i, tilt, (to - from) * profile.scale))
    })
}

/// The same without steps and drops.
fn slopes_between(
    layout: &Layout,
    profile: &Profile,
    from_m: f64,
    to_m: f64,
) -> impl Iterator<Item = (usize, f64, f64)> {
    let step = |i: usize| layout.pieces.get(i).is_none_or(|piece| piece.step.is_some());
    between(layout, profile, from_m, to_m).filter(move |(i, ..)| !step(*i) && !profile.is_drop(*i))
}

/// The segments whose tilts make up a piece's, with their shares.
pub(super) fn parts(piece: &Piece) -> [(usize, f64); 2] {
    [(piece.segment, 1.0 - piece.next_share), (piece.next_segment, piece.next_share)]
}

pub(super) fn add(gradient: &mut [f64], index: usize, value: f64) {
    if let Some(g) = gradient.get_mut(index) {
        *g += value;
    }
}

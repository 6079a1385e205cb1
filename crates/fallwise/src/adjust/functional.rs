//! Standard deviations of what is computed from a chain: linear propagation at the best estimate.

use super::{Estimate, Posterior};
use crate::{
    math,
    model::Flow,
    path::{Layout, Piece},
    profile::Profile,
};

/// Steeper than this is a drop, not "horizontal pipe": 45 degrees (IPC 2021 chapter 2, from memory).
const DROP_RAD: f64 = core::f64::consts::FRAC_PI_4;

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
    /// Length of pipe whose unnoted lips are in it, m.
    pub lips_m: f64,
}

impl Posterior {
    /// The estimate of a quantity: standard deviation sqrt(gᵀ C g).
    pub fn estimate(&self, quantity: &Functional) -> Estimate {
        let white: f64 = quantity.tilt.iter().zip(&self.white_sd_rad).map(|(g, w)| (g * w) * (g * w)).sum();
        let own = white + self.scatter.as_ref().map_or(0.0, |s| s.variance(&quantity.tilt));
        let shared: f64 = self
            .sources
            .iter()
            .map(|s| quantity.tilt.iter().zip(&s.tilt_rad).map(|(g, l)| g * l).sum::<f64>())
            .map(|g| g * g)
            .sum();
        let scale = quantity.scale * self.scale_sd;
        let steps: f64 = quantity.step.iter().zip(&self.step_sd_m).map(|(g, s)| (g * s) * (g * s)).sum();
        let lips = self.lip_variance_m * quantity.lips_m;
        Estimate::new(quantity.value, (own + shared + scale * scale + steps + lips).sqrt())
    }

    /// Fall along the flow between two stations, m, steps and drops included; 0 where nothing between them was surveyed.
    /// Exchanging the stations changes the sign.
    pub fn fall(&self, layout: &Layout, profile: &Profile, flow: Flow, from_m: f64, to_m: f64) -> Estimate {
        let mut quantity = self.nothing();
        if from_m > to_m {
            let back = self.fall(layout, profile, flow, to_m, from_m);
            return Estimate::new(-back.value, back.sd);
        }
        for (piece, tilt, length) in between(layout, profile, from_m, to_m) {
            if let Some(step) = piece.step {
                quantity.value -= self.step_rise_m.get(step).copied().unwrap_or(0.0);
                add(&mut quantity.step, step, -1.0);
                continue;
            }
            let sin = math::sin(tilt);
            quantity.lips_m += length;
            quantity.value += length * sin;
            quantity.scale += length * sin / profile.scale;
        }
        layout.fall_gradient(&self.tilt_rad, profile.scale, from_m, to_m, &mut quantity.tilt);
        self.estimate(&quantity.along(flow))
    }

    /// Slope along the flow between two stations, in either order: (Σ L sin t)/(Σ L cos t), drops cut out. `None` where
    /// only drops, or nothing surveyed, lie between them.
    pub fn slope(&self, layout: &Layout, profile: &Profile, flow: Flow, one_m: f64, other_m: f64) -> Option<Estimate> {
        let (from_m, to_m) = (one_m.min(other_m), one_m.max(other_m));
        let (mut fall, mut run) = (0.0, 0.0);
        for (_, tilt, length) in slopes_between(layout, profile, from_m, to_m) {
            let (sin, cos) = math::sin_cos(tilt);
            fall += length * sin;
            run += length * cos;
        }
        if run <= 0.0 {
            return None;
        }
        let mut quantity = self.nothing();
        quantity.value = fall / run;
        for (piece, tilt, length) in slopes_between(layout, profile, from_m, to_m) {
            let (sin, cos) = math::sin_cos(tilt);
            share(&mut quantity.tilt, piece, length * (cos + quantity.value * sin) / run);
        }
        Some(self.estimate(&quantity.along(flow)))
    }

    /// Mean tilt over the pipe between two stations, rad, positive down towards growing station.
    pub fn mean_tilt(&self, layout: &Layout, from_m: f64, to_m: f64) -> Estimate {
        let mut quantity = self.nothing();
        let cells = layout.breaks_m().windows(2).map(|ends| (ends[1].min(to_m) - ends[0].max(from_m)).max(0.0));
        let lengths: Vec<f64> = cells.collect();
        let whole: f64 = lengths.iter().sum();
        for ((g, length), tilt) in quantity.tilt.iter_mut().zip(&lengths).zip(&self.tilt_rad) {
            *g = if whole > 0.0 { length / whole } else { 0.0 };
            quantity.value += *g * tilt;
        }
        self.estimate(&quantity)
    }

    /// Standard deviation of the height of each node of the profile relative to the height at a station, m; to the nearest
    /// end where the station lies outside.
    pub fn height_sd_m(&self, layout: &Layout, profile: &Profile, anchor_m: f64) -> Vec<f64> {
        let all = || layout.pieces.iter().copied().zip(profile.tilt_rad.iter().copied());
        // The piece that the station lies within is walked in two parts, one each way.
        let cut = |from_m: f64, to_m: f64| if from_m < anchor_m && anchor_m < to_m { Some(anchor_m) } else { None };
        let begin = all().next().map_or(0.0, |(p, _)| p.from_m);
        let before: Vec<(Piece, f64)> = all()
            .filter(|(p, _)| p.from_m < anchor_m && begin < anchor_m)
            .map(|(p, tilt)| (Piece { to_m: cut(p.from_m, p.to_m).unwrap_or(p.to_m), ..p }, tilt))
            .collect();
        let after: Vec<(Piece, f64)> = all()
            .skip(before.len().saturating_sub(usize::from(all().any(|(p, _)| cut(p.from_m, p.to_m).is_some()))))
            .map(|(p, tilt)| (Piece { from_m: cut(p.from_m, p.to_m).unwrap_or(p.from_m), ..p }, tilt))
            .collect();
        let whole = before.len() + after.len() == layout.pieces.len();
        let mut sd = self.walked_sd_m(profile.scale, before.into_iter().rev());
        sd.reverse();
        if whole {
            sd.push(0.0); // the station is a node
        }
        sd.extend(self.walked_sd_m(profile.scale, after.into_iter()));
        sd
    }

    /// Standard deviations of the heights passed on the way, relative to its start.
    fn walked_sd_m(&self, length_scale: f64, pieces: impl Iterator<Item = (Piece, f64)>) -> Vec<f64> {
        // The variance is kept up to date as derivatives grow node by node: linear in the nodes.
        let mut tilt = vec![0.0; self.tilt_rad.len()];
        let mut shared = vec![0.0; self.sources.len()];
        let (mut own, mut steps, mut scale, mut lips) = (0.0, 0.0, 0.0, 0.0);
        // What each piece adds to the heights of the draws.
        let mut added = Vec::new();
        let mut variance = Vec::new();
        for (piece, tilt_rad) in pieces {
            let length = (piece.to_m - piece.from_m) * length_scale;
            if let Some(step) = piece.step {
                let s = self.step_sd_m.get(step).copied().unwrap_or(0.0);
                steps += s * s;
                added.push([(0, 0.0); 2]);
            } else {
                let (sin, cos) = math::sin_cos(tilt_rad);
                scale += length * sin / length_scale;
                lips += length * self.lip_variance_m;
                added.push(parts(&piece).map(|(segment, part)| (segment, length * cos * part)));
                for (segment, part) in parts(&piece) {
                    let Some(g) = tilt.get_mut(segment) else { continue };
                    let w = self.white_sd_rad.get(segment).copied().unwrap_or(0.0);
                    let grown = *g + length * cos * part;
                    own += w * w * (grown * grown - *g * *g);
                    *g = grown;
                    for (sum, source) in shared.iter_mut().zip(&self.sources) {
                        *sum += length * cos * part * source.tilt_rad.get(segment).copied().unwrap_or(0.0);
                    }
                }
            }
            let by_scale = scale * self.scale_sd;
            let by_sources: f64 = shared.iter().map(|g| g * g).sum();
            variance.push(own.max(0.0) + steps + lips + by_scale * by_scale + by_sources);
        }
        if let Some(scatter) = &self.scatter {
            variance.iter_mut().zip(scatter.growing(&added)).for_each(|(variance, drawn)| *variance += drawn);
        }
        variance.into_iter().map(f64::sqrt).collect()
    }

    fn nothing(&self) -> Functional {
        Functional {
            value: 0.0,
            tilt: vec![0.0; self.tilt_rad.len()],
            scale: 0.0,
            step: vec![0.0; self.step_rise_m.len()],
            lips_m: 0.0,
        }
    }
}

impl Functional {
    /// The same quantity counted along the flow: its sign is turned where the water flows towards falling station.
    fn along(mut self, flow: Flow) -> Self {
        let sign = flow.sign();
        self.value *= sign;
        self.scale *= sign;
        self.tilt.iter_mut().chain(&mut self.step).for_each(|g| *g *= sign);
        self
    }
}

/// Pieces between two stations, the lower one first, with their tilt and the true length of the part between them. A
/// step at a station lies before it, so that falls of stretches that meet there add up; none lies before the survey.
fn between<'a>(
    layout: &'a Layout,
    profile: &'a Profile,
    low_m: f64,
    high_m: f64,
) -> impl Iterator<Item = (&'a Piece, f64, f64)> {
    let first_m = layout.pieces.first().map_or(low_m, |p| p.from_m);
    layout.pieces.iter().zip(&profile.tilt_rad).filter_map(move |(piece, &tilt)| {
        let (from, to) = (piece.from_m.max(low_m), piece.to_m.min(high_m));
        let inside = match piece.step {
            Some(_) => (low_m < to || low_m <= first_m && to <= first_m) && from <= high_m,
            None => from < to,
        };
        (inside && low_m < high_m).then_some((piece, tilt, (to - from) * profile.scale))
    })
}

/// The same without steps and drops.
fn slopes_between<'a>(
    layout: &'a Layout,
    profile: &'a Profile,
    from_m: f64,
    to_m: f64,
) -> impl Iterator<Item = (&'a Piece, f64, f64)> {
    between(layout, profile, from_m, to_m).filter(|(piece, tilt, _)| piece.step.is_none() && tilt.abs() <= DROP_RAD)
}

/// The segments whose tilts make up a piece's, with their shares.
fn parts(piece: &Piece) -> [(usize, f64); 2] {
    [(piece.segment, 1.0 - piece.next_share), (piece.next_segment, piece.next_share)]
}

fn share(gradient: &mut [f64], piece: &Piece, derivative: f64) {
    for (segment, part) in parts(piece) {
        add(gradient, segment, derivative * part);
    }
}

fn add(gradient: &mut [f64], index: usize, value: f64) {
    if let Some(g) = gradient.get_mut(index) {
        *g += value;
    }
}

//! Draws of the posterior: equally likely profiles.
//!
//! The shared errors (zero, seating) decide most findings, and a finding turns on a tail of 5 %. Independent draws would
//! place that tail to 0.07 of a standard deviation with a thousand of them, the same for every lateral solved with the
//! default seed: a bias. So the first shared errors are spread evenly, by a Kronecker sequence each (Niederreiter, *Random
//! Number Generation and Quasi-Monte Carlo Methods*, 1992, §3.1: fractional parts of i α for an irrational α), begun at a
//! random place; everything else is drawn independently.

use super::{Posterior, basis::dot, tied::Tied};
use crate::prelude::*;
use crate::{
    math::{self, Random},
    path::Layout,
    profile::{Draws, Profile},
    watch::{self, Stage, Watch},
};

/// Steps of the sequences: the golden ratio, whose multiples are spread most evenly, and square roots of
/// 2, 3 and 7; no two of them are in a rational relation, so that the sequences do not follow each other.
const STEPS: [f64; 4] =
    [0.618_033_988_749_894_8, 0.414_213_562_373_095_1, 0.732_050_807_568_877_2, 0.645_751_311_064_590_6];

/// Draws of a posterior, made one by one as they are visited. Draw i is a function of (seed, lateral, i) alone, so it is
/// the same however many are asked for.
#[derive(Debug, Clone, Copy)]
pub struct Ensemble<'a> {
    /// The posterior.
    pub posterior: &'a Posterior,
    /// The layout its segments belong to.
    pub layout: &'a Layout,
    /// How many.
    pub count: usize,
    /// Seed.
    pub seed: u64,
    /// Which lateral of many.
    pub lateral: u32,
    /// Asked between blocks of draws; where it says stop, no more are visited.
    pub watch: Option<&'a Watch>,
}

impl Draws for Ensemble<'_> {
    fn count(&self) -> usize {
        self.count
    }

    fn for_each(&self, visit: &mut dyn FnMut(&Profile)) {
        let p = self.posterior;
        let mut tilt = vec![0.0; p.tilt_rad.len()];
        let mut rise = vec![0.0; p.step_rise_m.len()];
        let mut profile = self.layout.profile(&tilt, p.scale, None);
        // No ensemble is so large that it has this draw of its own.
        let mut begin = Random::new(self.seed, self.lateral, u32::MAX);
        let even: Vec<Even> = STEPS.iter().map(|&step| Even { begin: begin.uniform(), step }).collect();
        for draw in 0..u32::try_from(self.count).unwrap_or(u32::MAX) {
            if draw % watch::BLOCK == 0 && watch::ask(self.watch, Stage::Drawing).is_err() {
                return;
            }
            let mut random = Random::new(self.seed, self.lateral, draw);
            let scale = match &p.tied {
                Some(tied) => tied.draw(p, draw, &mut random, &even, &mut tilt, &mut rise),
                None => draw_untied(p, draw, &mut random, &even, &mut tilt, &mut rise),
            };
            self.layout.lay(&mut profile, &tilt, scale, Some(&rise));
            visit(&profile);
            if let Some(watch) = self.watch.filter(|_| draw % watch::BLOCK == watch::BLOCK - 1) {
                watch.drawn();
            }
        }
    }
}

/// Puts tilts and rises of a draw in place; gives its scale.
fn draw_untied(
    p: &Posterior,
    draw: u32,
    random: &mut Random,
    even: &[Even],
    tilt: &mut [f64],
    rise: &mut [f64],
) -> f64 {
    let scale = p.scale + p.scale_sd * random.normal();
    match &p.scatter {
        Some(_) => tilt.fill(0.0),
        None => tilt.copy_from_slice(&p.tilt_rad),
    }
    for (i, source) in p.sources.iter().enumerate() {
        let x = even.get(i).map_or_else(|| random.normal(), |even| even.normal(draw));
        tilt.iter_mut().zip(&source.tilt_rad).for_each(|(t, g)| *t += g * x);
    }
    for (r, (mean, sd)) in rise.iter_mut().zip(p.step_rise_m.iter().zip(&p.step_sd_m)) {
        *r = mean + sd * random.normal();
    }
    match &p.scatter {
        Some(scatter) => scatter.put(draw, tilt),
        None => tilt.iter_mut().zip(&p.white_sd_rad).for_each(|(t, sd)| *t += sd * random.normal()),
    }
    scale
}

impl Tied {
    /// The same after ties: a draw of all errors before them, less what its misclosures show of them. The errors of the ties, of their
    /// stations and of lips are drawn with the rest.
    fn draw(
        &self,
        p: &Posterior,
        draw: u32,
        random: &mut Random,
        even: &[Even],
        tilt: &mut [f64],
        rise: &mut [f64],
    ) -> f64 {
        let of = &self.coordinates;
        let shared = of.shared();
        let errors: Vec<f64> = (shared..of.len())
            .map(|i| match self.even.iter().position(|e| *e == i).and_then(|at| even.get(at)) {
                Some(even) => even.normal(draw),
                None => random.normal(),
            })
            .collect();
        // A draw of an average is one of its coordinates alone, as long as the root of their number.
        let own: Vec<f64> = match &p.scatter {
            Some(_) => Vec::new(),
            None => p.white_sd_rad.iter().map(|_| random.normal()).collect(),
        };
        let drawn = p.scatter.as_ref().map(|s| ((draw as usize) % s.len().max(1), (s.len() as f64).sqrt()));
        let along = |q: &Vec<f64>| {
            let own = drawn.map_or_else(|| dot(q, &own), |(at, root)| root * q.get(at).copied().unwrap_or(0.0));
            own + dot(q.get(shared..).unwrap_or_default(), &errors)
        };
        let taken: Vec<f64> = self.basis.vectors.iter().map(along).collect();
        // Draws of an average stand about its own mean; the ties have moved it.
        match &p.scatter {
            Some(_) => tilt.copy_from_slice(&self.moved_rad),
            None => tilt.copy_from_slice(&p.tilt_rad),
        }
        let error = |i: usize| errors.get(i - shared).copied().unwrap_or(0.0);
        for (i, source) in p.sources.iter().enumerate() {
            let x = error(shared + i);
            tilt.iter_mut().zip(&source.tilt_rad).for_each(|(t, g)| *t += g * x);
        }
        let mut scale = p.scale + p.scale_sd * error(of.scale());
        for (i, (r, (mean, sd))) in rise.iter_mut().zip(p.step_rise_m.iter().zip(&p.step_sd_m)).enumerate() {
            *r = mean + sd * error(of.step(i));
        }
        for (gain, taken) in self.gain.iter().zip(&taken) {
            tilt.iter_mut().zip(&gain.tilt_rad).for_each(|(t, g)| *t -= g * taken);
            rise.iter_mut().zip(&gain.step_m).for_each(|(r, g)| *r -= g * taken);
            scale -= gain.scale * taken;
        }
        match &p.scatter {
            Some(scatter) => scatter.put(draw, tilt),
            None => tilt.iter_mut().zip(p.white_sd_rad.iter().zip(&own)).for_each(|(t, (sd, x))| *t += sd * x),
        }
        scale
    }
}

/// Standard normal numbers spread evenly over the draws.
struct Even {
    begin: f64,
    step: f64,
}

impl Even {
    fn normal(&self, draw: u32) -> f64 {
        let u = (self.begin + f64::from(draw) * self.step).fract();
        // Zero itself has no quantile; half the last digit stands for it.
        math::normal_quantile(u.max(f64::EPSILON / 2.0))
    }
}

//! Draws of the posterior: equally likely profiles.

use super::Posterior;
use crate::{
    math::Random,
    path::Layout,
    profile::{Draws, Profile},
};

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
        for draw in 0..u32::try_from(self.count).unwrap_or(u32::MAX) {
            let mut random = Random::new(self.seed, self.lateral, draw);
            let scale = p.scale + p.scale_sd * random.normal();
            tilt.copy_from_slice(&p.tilt_rad);
            for source in &p.sources {
                let x = random.normal();
                tilt.iter_mut().zip(&source.tilt_rad).for_each(|(t, g)| *t += g * x);
            }
            for (r, (mean, sd)) in rise.iter_mut().zip(p.step_rise_m.iter().zip(&p.step_sd_m)) {
                *r = mean + sd * random.normal();
            }
            tilt.iter_mut().zip(&p.white_sd_rad).for_each(|(t, sd)| *t += sd * random.normal());
            self.layout.lay(&mut profile, &tilt, scale, Some(&rise));
            visit(&profile);
        }
    }
}

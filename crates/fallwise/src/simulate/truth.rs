//! The pipe as it is, and its heights.

use serde::{Deserialize, Serialize};

use crate::math;
use crate::prelude::*;

/// The pipe as it is: pieces of constant tilt, and lips.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Truth {
    /// Stations of the ends of the pieces, m, growing; one more than pieces.
    pub breaks_m: Vec<f64>,
    /// Tilt of each piece, rad, positive down towards growing station.
    pub tilt_rad: Vec<f64>,
    /// Lips at displaced joints, in any order. Heights have them; no tilt shows them. That the head rides over one is a flaw
    /// of the log, [`super::Flaw::StepUnderHead`].
    pub lips: Vec<Lip>,
}

/// A lip at a displaced joint.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lip {
    /// Station, m.
    pub at_m: f64,
    /// How much higher the invert is just after the station than just before it, looking along growing station, m.
    pub rise_m: f64,
}

impl Truth {
    /// Height of the invert above that of the first break, m; just after a lip at the station itself. Outside the pipe that
    /// of the nearer end.
    pub fn height_m(&self, station_m: f64) -> f64 {
        let fallen: f64 = self.parts(f64::NEG_INFINITY, station_m).map(|(length, tilt)| length * math::sin(tilt)).sum();
        let risen: f64 = self.lips.iter().filter(|lip| lip.at_m <= station_m).map(|lip| lip.rise_m).sum();
        risen - fallen
    }

    /// Fall between two stations, m, positive where the second is lower.
    pub fn fall_m(&self, from_m: f64, to_m: f64) -> f64 {
        self.height_m(from_m) - self.height_m(to_m)
    }

    /// Fall of the pipe over its horizontal length between two stations, lips left out; NaN where there is no pipe between
    /// them.
    pub fn slope(&self, from_m: f64, to_m: f64) -> f64 {
        let (mut fall, mut level) = (0.0, 0.0);
        for (length, tilt) in self.parts(from_m, to_m) {
            let (sin, cos) = math::sin_cos(tilt);
            fall += length * sin;
            level += length * cos;
        }
        fall / level
    }

    /// Length and tilt of the part of each piece between two stations.
    fn parts(&self, from_m: f64, to_m: f64) -> impl Iterator<Item = (f64, f64)> {
        let ends = self.breaks_m.iter().zip(self.breaks_m.iter().skip(1));
        ends.zip(&self.tilt_rad).map(move |((a, b), tilt)| ((to_m.min(*b) - from_m.max(*a)).max(0.0), *tilt))
    }
}

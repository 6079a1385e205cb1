//! The pipe, ready to be asked.

use super::Truth;
use crate::model::Toward;
use crate::prelude::*;

/// The pipe with the running integral of its tilt.
pub(super) struct Known {
    breaks_m: Vec<f64>,
    tilt_rad: Vec<f64>,
    /// Integral of the tilt up to each break, rad m.
    integral: Vec<f64>,
}

impl Known {
    pub(super) fn new(truth: &Truth) -> Self {
        let mut integral = vec![0.0];
        let mut total = 0.0;
        for ((a, b), tilt) in truth.breaks_m.iter().zip(truth.breaks_m.iter().skip(1)).zip(&truth.tilt_rad) {
            total += tilt * (b - a);
            integral.push(total);
        }
        Self { breaks_m: truth.breaks_m.clone(), tilt_rad: truth.tilt_rad.clone(), integral }
    }

    pub(super) fn first_m(&self) -> f64 {
        self.breaks_m.first().copied().unwrap_or(0.0)
    }

    pub(super) fn last_m(&self) -> f64 {
        self.breaks_m.last().copied().unwrap_or(0.0)
    }

    pub(super) fn length_m(&self) -> f64 {
        self.last_m() - self.first_m()
    }

    pub(super) fn station_m(&self, way_m: f64, toward: Toward) -> f64 {
        match toward {
            Toward::Increasing => self.first_m() + way_m,
            Toward::Decreasing => self.last_m() - way_m,
        }
    }

    pub(super) fn way_m(&self, station_m: f64, toward: Toward) -> f64 {
        match toward {
            Toward::Increasing => station_m - self.first_m(),
            Toward::Decreasing => self.last_m() - station_m,
        }
    }

    /// Piece at a station; the nearest outside.
    pub(super) fn piece(&self, station_m: f64) -> usize {
        let after = self.breaks_m.partition_point(|b| *b <= station_m);
        after.saturating_sub(1).min(self.tilt_rad.len().saturating_sub(1))
    }

    pub(super) fn tilt_rad(&self, station_m: f64) -> f64 {
        self.tilt_rad.get(self.piece(station_m)).copied().unwrap_or(0.0)
    }

    /// Mean tilt over the head's length about a station, as far as there is pipe.
    pub(super) fn mean_tilt_rad(&self, station_m: f64, length_m: f64) -> f64 {
        let from = (station_m - 0.5 * length_m).max(self.first_m());
        let to = (station_m + 0.5 * length_m).min(self.last_m());
        if to <= from || self.piece(from) == self.piece(to) {
            return self.tilt_rad(station_m);
        }
        (self.integral_to(to) - self.integral_to(from)) / (to - from)
    }

    pub(super) fn integral_to(&self, station_m: f64) -> f64 {
        let piece = self.piece(station_m);
        let at = |values: &[f64]| values.get(piece).copied().unwrap_or(0.0);
        at(&self.integral) + at(&self.tilt_rad) * (station_m - at(&self.breaks_m))
    }
}

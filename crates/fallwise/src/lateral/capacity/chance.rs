//! How likely slopes reach a limit, by the rule of findings.

use super::stretch::Stretch;
use crate::rules::{CheckOptions, at_least, roundoff};

/// What is known of a probability, by bounds that are equal where it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Chance {
    low: f64,
    high: f64,
    /// Of how many draws; 0: not from draws.
    draws: usize,
}

impl Chance {
    /// Share of the draws in which something is so.
    pub(super) fn counted(so: impl Iterator<Item = bool>) -> Option<Self> {
        let (mut n, mut yes) = (0_usize, 0_usize);
        for one in so {
            n += 1;
            yes += usize::from(one);
        }
        let p = yes as f64 / n as f64;
        (n > 0).then_some(Self { low: p, high: p, draws: n })
    }

    /// The probability, where known.
    pub(super) fn value(self) -> Option<f64> {
        (self.high - self.low < 1e-12).then_some(self.high)
    }

    /// Yes from 0.95 on. One more draw, not made, might have gone the other way, as with findings.
    pub(super) fn surely(self) -> bool {
        let n = self.draws as f64;
        let low = if self.draws > 0 { self.low * n / (n + 1.0) } else { self.low };
        low >= CheckOptions::default().confidence
    }

    /// No up to 0.05.
    pub(super) fn surely_not(self) -> bool {
        let n = self.draws as f64;
        let high = if self.draws > 0 { (self.high * n + 1.0) / (n + 1.0) } else { self.high };
        high <= 1.0 - CheckOptions::default().confidence + 1e-12 // 1 - 0.95 is not quite 0.05
    }

    /// That both are so, whatever their dependence (Fréchet 1935).
    pub(super) fn and(self, other: Self) -> Self {
        Self {
            low: (self.low + other.low - 1.0).max(0.0),
            high: self.high.min(other.high),
            draws: self.draws.max(other.draws),
        }
    }

    fn known(p: Option<f64>) -> Self {
        Self { low: p.unwrap_or(0.0), high: p.unwrap_or(1.0), draws: 0 }
    }
}

/// Whether a slope of a draw reaches a limit; what is nothing but a drop does.
pub(super) fn reaches(slope: f64, limit: f64) -> bool {
    slope.is_nan() || slope >= limit - roundoff(limit)
}

impl Stretch<'_> {
    /// That the mean slope reaches a limit.
    pub(super) fn mean_reaches(&self, limit: f64) -> Chance {
        let counted = Chance::counted(self.mean_draws.iter().map(|s| reaches(*s, limit)));
        counted.unwrap_or_else(|| Chance::known(self.mean.and_then(|s| at_least(s.value, Some(s.sd), limit))))
    }

    /// That the slope of every piece does.
    pub(super) fn every_piece_reaches(&self, limit: f64) -> Chance {
        let counted = Chance::counted(self.least_draws.iter().map(|s| reaches(*s, limit)));
        counted.unwrap_or_else(|| {
            let each = self.pieces.iter().map(|p| Chance::known(at_least(p.slope.value, Some(p.slope.sd), limit)));
            each.fold(self.mean_reaches(limit), Chance::and)
        })
    }

    /// That the slope of the flattest piece does.
    pub(super) fn flattest_reaches(&self, limit: f64) -> Chance {
        let slope = self.flattest().map_or(self.mean, |piece| Some(piece.slope));
        Chance::known(slope.and_then(|s| at_least(s.value, Some(s.sd), limit)))
    }
}

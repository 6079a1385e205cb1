//! Probabilities and intervals.

pub(super) use crate::math::normal_quantile;
use crate::math::{normal_cdf, quantile};
use crate::prelude::*;

/// Distance of the ends of a two-sided 95 % interval from the mean, in standard deviations (standard tables).
pub(super) const Z_95: f64 = 1.959963984540054;

/// What is known of a probability: it lies between `low` and `high`, which are equal where it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Chance {
    pub(super) low: f64,
    pub(super) high: f64,
}

impl Chance {
    /// Nothing is known.
    pub(super) const UNKNOWN: Self = Self { low: 0.0, high: 1.0 };
    /// Certain.
    pub(super) const CERTAIN: Self = Self { low: 1.0, high: 1.0 };

    /// A known probability.
    pub(super) fn known(p: f64) -> Self {
        Self { low: p, high: p }
    }

    /// The probability, where known.
    pub(super) fn value(self) -> Option<f64> {
        (self.high - self.low < 1e-12).then_some(self.high) // `low` carries the rounding of sums
    }

    /// That both hold, whatever their dependence: between p + q - 1 and the smaller (Fréchet 1935).
    pub(super) fn and(self, other: Self) -> Self {
        Self { low: (self.low + other.low - 1.0).max(0.0), high: self.high.min(other.high) }
    }
}

/// Fractions of draws in which something surely holds, and may hold.
pub(super) fn fraction(draws: usize, holds: impl Fn(usize) -> (bool, bool)) -> Chance {
    let (mut surely, mut maybe) = (0usize, 0usize);
    for draw in 0..draws {
        let (low, high) = holds(draw);
        surely += usize::from(low);
        maybe += usize::from(high);
    }
    Chance { low: surely as f64 / draws as f64, high: maybe as f64 / draws as f64 }
}

/// Probability that a normal variable is at least `limit`; absent without a usable standard deviation.
pub(crate) fn at_least(value: f64, sd: Option<f64>, limit: f64) -> Option<f64> {
    let sd = sd.filter(|sd| sd.is_finite() && *sd >= 0.0)?;
    if sd == 0.0 {
        return Some(if value >= limit - roundoff(limit) { 1.0 } else { 0.0 });
    }
    Some(normal_cdf((value - limit) / sd))
}

/// Rounding that a value may have against an exact limit: "2 %" laid exactly at 2 % must meet 2 %. Far below anything
/// that can be surveyed.
pub(crate) fn roundoff(limit: f64) -> f64 {
    1e-9 * limit.abs() + 1e-12
}

/// 2.5 % and 97.5 % quantiles, linear between order statistics (Hyndman and Fan 1996, type 7).
pub(super) fn interval(values: &[f64]) -> Option<(f64, f64)> {
    let mut sorted: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    sorted.sort_by(f64::total_cmp);
    let ends = (quantile(&sorted, 0.025), quantile(&sorted, 0.975));
    (!sorted.is_empty()).then_some(ends)
}

/// Sample standard deviation; absent for fewer than two finite values.
pub(super) fn sample_sd(values: &[f64]) -> Option<f64> {
    let finite = || values.iter().copied().filter(|v| v.is_finite());
    let n = finite().count();
    if n < 2 {
        return None;
    }
    let mean = finite().fold(0.0, |sum, v| sum + v) / n as f64;
    let squares = finite().fold(0.0, |sum, v| sum + (v - mean) * (v - mean));
    Some((squares / (n - 1) as f64).sqrt()).filter(|sd| sd.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_are_those_of_standard_tables() {
        // Standard tables, nine decimals.
        assert!((normal_quantile(0.95) - 1.644853627).abs() < 1e-9);
        assert!((normal_quantile(0.975) - Z_95).abs() < 1e-12); // bisection ends near 1e-14
        // Type 7 of 0 to 100: the quantile p lies at 100 p.
        let values: Vec<f64> = (0..=100).rev().map(f64::from).collect();
        assert_eq!(interval(&values), Some((2.5, 97.5)));
        assert_eq!(interval(&[f64::NAN, 3.0]), Some((3.0, 3.0)));
        assert_eq!(interval(&[]), None);
        // 1, 2, 3, 4: squares about 2.5 add to 5, over 3.
        assert_eq!(sample_sd(&[1.0, 2.0, 3.0, 4.0]), Some((5.0f64 / 3.0).sqrt()));
        assert_eq!(sample_sd(&[1.0]), None);
    }

    #[test]
    fn joint_probabilities_lie_between_their_bounds() {
        let both = Chance::known(0.9).and(Chance::known(0.7));
        assert!((both.low - 0.6).abs() < 1e-15); // rounding of one sum
        assert_eq!(Some(both.high), Some(0.7));
        assert_eq!(both.value(), None);
        assert_eq!(Chance::CERTAIN.and(Chance::known(0.3)).value(), Some(0.3));
        assert_eq!(Chance::UNKNOWN.and(Chance::known(0.02)), Chance { low: 0.0, high: 0.02 });
    }

    #[test]
    fn an_exact_value_is_decided_exactly() {
        assert_eq!(at_least(0.02, Some(0.0), 0.02), Some(1.0));
        assert_eq!(at_least(0.0199999, Some(0.0), 0.02), Some(0.0));
        assert_eq!(at_least(0.02, Some(0.001), 0.02), Some(0.5));
        assert_eq!(at_least(0.02, None, 0.02), None);
        assert_eq!(at_least(0.02, Some(f64::NAN), 0.02), None);
    }
}

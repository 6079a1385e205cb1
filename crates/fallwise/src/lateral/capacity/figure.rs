//! Figures of a pipe whose slope has an error.

use crate::adjust::Estimate;

/// Step of the slope over which a figure is differentiated, as a share of the slope: a figure that goes with a power of it then has its
/// derivative to 1e-7 of itself, and rounding takes 1e-12.
const STEP: f64 = 1e-3;

/// A figure with its standard deviation and the ends of its interval; absent where uniform flow does not give one.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Figure {
    pub(super) value: Option<f64>,
    pub(super) sd: Option<f64>,
    pub(super) low: Option<f64>,
    pub(super) high: Option<f64>,
}

impl Figure {
    /// A figure that goes one way with the slope: up, or down. The ends of its interval are those at the ends of the slope's.
    pub(super) fn of(slope: &Estimate, up: bool, figure: impl Fn(f64) -> Option<f64>) -> Self {
        let step = STEP * slope.value.abs();
        let by_slope = figure(slope.value + step).zip(figure(slope.value - step)).map(|(b, a)| (b - a) / (2.0 * step));
        let sd = if slope.sd == 0.0 { Some(0.0) } else { by_slope.map(|d| d.abs() * slope.sd) };
        let ends = (figure(slope.low), figure(slope.high));
        let (low, high) = if up { ends } else { (ends.1, ends.0) };
        let value = figure(slope.value);
        Self { value, sd: sd.filter(|sd| value.is_some() && sd.is_finite()), low, high }
    }
}

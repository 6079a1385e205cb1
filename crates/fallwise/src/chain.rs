//! Segments of constant tilt.
use crate::error::Error;

/// Segments in order of station.
#[derive(Debug, Clone, PartialEq)]
pub struct Chain {
    /// Ends of the segments, m, strictly growing; one more than there are segments.
    pub breaks_m: Vec<f64>,
    /// Tilt of each, rad.
    pub tilt_rad: Vec<f64>,
}

/// How to fit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FitOptions {
    /// Noise of a reading of weight 1, rad; absent: estimated.
    pub noise_sd: Option<f64>,
    /// Penalty for a break in units of the noise variance; absent: from the sample size.
    pub penalty: Option<f64>,
}

/// A penalised segmentation.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Index of the first reading of each segment; begins with 0.
    pub starts: Vec<usize>,
    /// Weighted mean of each segment.
    pub means: Vec<f64>,
    /// Sum of weighted squares plus penalties, in units of the data squared.
    pub cost: f64,
    /// Penalty of one break, in units of the data squared.
    pub penalty: f64,
    /// Noise of a reading of weight 1.
    pub noise_sd: f64,
}

/// Penalised optimum of a piecewise-constant mean.
///
/// # Errors
/// See the module.
pub fn fit(_values: &[f64], _weights: &[f64], _hard_breaks: &[usize], _options: &FitOptions) -> Result<Fit, Error> {
    todo!()
}

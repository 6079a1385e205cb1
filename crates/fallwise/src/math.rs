//! Every elementary function of the library, the same bits on every machine.
//!
//! The standard library's sine and the like differ between platforms and compilers; these come from the portable
//! `libm` crate. Sums go in a fixed order. The random generator is counter-based: a number is a function of (seed,
//! lateral, draw, position) and of nothing else.

/// Sine.
pub fn sin(x: f64) -> f64 {
    libm::sin(x)
}
/// Cosine.
pub fn cos(x: f64) -> f64 {
    libm::cos(x)
}
/// Sine and cosine.
pub fn sin_cos(x: f64) -> (f64, f64) {
    libm::sincos(x)
}
/// Tangent.
pub fn tan(x: f64) -> f64 {
    libm::tan(x)
}
/// Arc sine.
pub fn asin(x: f64) -> f64 {
    libm::asin(x)
}
/// Arc cosine.
pub fn acos(x: f64) -> f64 {
    libm::acos(x)
}
/// Arc tangent.
pub fn atan(x: f64) -> f64 {
    libm::atan(x)
}
/// Angle of the point (x, y).
pub fn atan2(y: f64, x: f64) -> f64 {
    libm::atan2(y, x)
}
/// Exponential.
pub fn exp(x: f64) -> f64 {
    libm::exp(x)
}
/// exp(x) - 1.
pub fn exp_m1(x: f64) -> f64 {
    libm::expm1(x)
}
/// Natural logarithm.
pub fn ln(x: f64) -> f64 {
    libm::log(x)
}
/// ln(1 + x).
pub fn ln_1p(x: f64) -> f64 {
    libm::log1p(x)
}
/// Logarithm to base 10.
pub fn log10(x: f64) -> f64 {
    libm::log10(x)
}
/// x to the power y.
pub fn pow(x: f64, y: f64) -> f64 {
    libm::pow(x, y)
}
/// Cube root.
pub fn cbrt(x: f64) -> f64 {
    libm::cbrt(x)
}
/// Length of (x, y).
pub fn hypot(x: f64, y: f64) -> f64 {
    libm::hypot(x, y)
}
/// Error function.
pub fn erf(x: f64) -> f64 {
    libm::erf(x)
}
/// 1 - erf(x).
pub fn erfc(x: f64) -> f64 {
    libm::erfc(x)
}
/// Standard normal distribution function.
pub fn normal_cdf(x: f64) -> f64 {
    0.5 * erfc(-x * core::f64::consts::FRAC_1_SQRT_2)
}
/// Standard normal quantile.
pub fn normal_quantile(_p: f64) -> f64 {
    todo!()
}
/// Sum in fixed blocks combined in index order.
pub fn sum(_values: &[f64]) -> f64 {
    todo!()
}
/// Quantile of sorted values, linear between order statistics (Hyndman and Fan 1996, type 7); NaN of an empty slice.
pub fn quantile(_sorted: &[f64], _p: f64) -> f64 {
    todo!()
}
/// Median; reorders its input; NaN of an empty slice.
pub fn median(_values: &mut [f64]) -> f64 {
    todo!()
}
/// Counter-based random numbers (Philox4x32-10).
#[derive(Debug, Clone)]
pub struct Random;
impl Random {
    /// The stream of one draw of one lateral.
    pub fn new(_seed: u64, _lateral: u32, _draw: u32) -> Self {
        todo!()
    }
    /// Next 64 bits.
    pub fn next_u64(&mut self) -> u64 {
        todo!()
    }
    /// Uniform in the open interval (0, 1).
    pub fn uniform(&mut self) -> f64 {
        todo!()
    }
    /// Standard normal, by the inverse distribution function: one number used for one number given.
    pub fn normal(&mut self) -> f64 {
        normal_quantile(self.uniform())
    }
}

//! Every elementary function of the library, the same bits on every machine; random numbers, order statistics, noise.
//!
//! The standard library's sine and the like differ between platforms and compilers; these come from the portable
//! `libm` crate, or have its kernels written so that many numbers go side by side (`lanes`). Sums go in a fixed order
//! ([`sum`]). The random generator is counter-based ([`Random`]): a number is a function of (seed, lateral, draw, position) and of nothing else.
//!
//! `libm` uses the processor's own instructions only for square root, fused multiply-add and rounding, each of which
//! IEEE 754 defines to the last bit, so its results do not depend on the machine; the workspace's `Cargo.toml` says
//! which of its features would break that. Every function here takes any argument: outside its domain it gives NaN,
//! as the standard library does, and never panics.

mod chi_square;
pub(crate) mod lanes;
mod noise;
mod normal;
mod random;
mod reduce;

pub use chi_square::chi_square_above;
pub use lanes::exp;
pub(crate) use lanes::{arcsine_excess, exp_each, sin_cos_each, sin_each};
pub(crate) use noise::mean_square_difference;
pub use noise::{
    ar1_mean_variance, before_rounding, noise_within_steps, rounding_error_sd, spread_sd, wander_variance,
};
pub use normal::{normal_cdf, normal_quantile};
pub use random::Random;
pub(crate) use reduce::dot;
pub use reduce::{median, quantile, sum};

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

/// Root and roundings, which the standard library has and the core has not. IEEE 754 defines them to the last bit.
#[cfg(not(feature = "std"))]
pub(crate) trait Real {
    fn sqrt(self) -> Self;
    fn floor(self) -> Self;
    fn ceil(self) -> Self;
    fn round(self) -> Self;
    fn fract(self) -> Self;
}

#[cfg(not(feature = "std"))]
impl Real for f64 {
    fn sqrt(self) -> Self {
        libm::sqrt(self)
    }
    fn floor(self) -> Self {
        libm::floor(self)
    }
    fn ceil(self) -> Self {
        libm::ceil(self)
    }
    fn round(self) -> Self {
        libm::round(self)
    }
    fn fract(self) -> Self {
        self - libm::trunc(self)
    }
}

#[cfg(test)]
#[path = "math_tests.rs"]
mod tests;

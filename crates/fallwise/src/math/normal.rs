//! The standard normal distribution.

#![allow(clippy::excessive_precision, reason = "published coefficients keep their printed digits")]

use super::{erfc, ln};
#[cfg(not(feature = "std"))]
use crate::math::Real as _;

/// Standard normal distribution function: the probability of a value at most `x`.
///
/// # Example
/// ```
/// let p = fallwise::math::normal_cdf(1.6448536269514722);
/// assert!((p - 0.95).abs() < 1e-15);
/// ```
pub fn normal_cdf(x: f64) -> f64 {
    0.5 * erfc(-x * core::f64::consts::FRAC_1_SQRT_2)
}

/// Standard normal quantile: the `x` with [`normal_cdf`]`(x) == p`; minus and plus infinity at 0 and 1, NaN outside.
///
/// # Source
/// M. J. Wichura, Algorithm AS 241, The percentage points of the normal distribution, Applied Statistics 37 (1988),
/// routine PPND16. The coefficients are from memory; the test vectors confirm them.
///
/// # Example
/// ```
/// let x = fallwise::math::normal_quantile(0.975);
/// assert!((x - 1.959963984540054).abs() < 1e-15);
/// ```
pub fn normal_quantile(p: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180625 - q * q;
        return q * ratio(r, &CENTRE_ABOVE, &CENTRE_BELOW);
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    if tail == 0.0 {
        return f64::INFINITY.copysign(q);
    }
    let r = (-ln(tail)).sqrt();
    let x =
        if r <= 5.0 { ratio(r - 1.6, &MIDDLE_ABOVE, &MIDDLE_BELOW) } else { ratio(r - 5.0, &FAR_ABOVE, &FAR_BELOW) };
    x.copysign(q)
}

/// Ratio of two polynomials, coefficients in rising order.
fn ratio(r: f64, above: &[f64; 8], below: &[f64; 8]) -> f64 {
    let polynomial = |c: &[f64; 8]| c.iter().rev().fold(0.0, |value, &c| value * r + c);
    polynomial(above) / polynomial(below)
}

const CENTRE_ABOVE: [f64; 8] = [
    3.3871328727963666080e0,
    1.3314166789178437745e2,
    1.9715909503065514427e3,
    1.3731693765509461125e4,
    4.5921953931549871457e4,
    6.7265770927008700853e4,
    3.3430575583588128105e4,
    2.5090809287301226727e3,
];
const CENTRE_BELOW: [f64; 8] = [
    1.0,
    4.2313330701600911252e1,
    6.8718700749205790830e2,
    5.3941960214247511077e3,
    2.1213794301586595867e4,
    3.9307895800092710610e4,
    2.8729085735721942674e4,
    5.2264952788528545610e3,
];
const MIDDLE_ABOVE: [f64; 8] = [
    1.42343711074968357734e0,
    4.63033784615654529590e0,
    5.76949722146069140550e0,
    3.64784832476320460504e0,
    1.27045825245236838258e0,
    2.41780725177450611770e-1,
    2.27238449892691845833e-2,
    7.74545014278341407640e-4,
];
const MIDDLE_BELOW: [f64; 8] = [
    1.0,
    2.05319162663775882187e0,
    1.67638483018380384940e0,
    6.89767334985100004550e-1,
    1.48103976427480074590e-1,
    1.51986665636164571966e-2,
    5.47593808499534494600e-4,
    1.05075007164441684324e-9,
];
const FAR_ABOVE: [f64; 8] = [
    6.65790464350110377720e0,
    5.46378491116411436990e0,
    1.78482653991729133580e0,
    2.96560571828504891230e-1,
    2.65321895265761230930e-2,
    1.24266094738807843860e-3,
    2.71155556874348757815e-5,
    2.01033439929228813265e-7,
];
const FAR_BELOW: [f64; 8] = [
    1.0,
    5.99832206555887937690e-1,
    1.36929880922735805310e-1,
    1.48753612908506148525e-2,
    7.86869131145613259100e-4,
    1.84631831751005468180e-5,
    1.42151175831644588870e-7,
    2.04426310338993978564e-15,
];

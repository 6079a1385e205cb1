//! Elementary functions of many numbers at once.
//!
//! The kernels are written without branches, so that a compiler may work on several numbers side by side; products and sums
//! only, so that the bits do not depend on whether it does. Each gives the bits that the function of one number gives.
//!
//! Kernels and constants are those of fdlibm (Sun Microsystems 1993: `e_exp.c`, `k_sin.c`, `k_cos.c`, `e_asin.c`), with its errors: below
//! 1 ulp.

#![allow(clippy::excessive_precision, reason = "published constants keep their printed digits")]

/// 1.5 * 2^52: adding and subtracting it rounds to a whole number, whose last bits are then the last of the sum.
pub(crate) const ROUND: f64 = 6755399441055744.0;
/// Beyond these e^x is no number but 0 or infinity.
const EXP_ENDS: (f64, f64) = (-746.0, 709.79);
const INV_LN_2: f64 = core::f64::consts::LOG2_E;
/// ln 2 in two parts, of which the first times any whole number below is exact.
const LN_2: [f64; 2] = [6.93147180369123816490e-01, 1.90821492927058770002e-10];
const P: [f64; 5] = [
    1.66666666666666019037e-01,
    -2.77777777770155933842e-03,
    6.61375632143793436117e-05,
    -1.65339022054652515390e-06,
    4.13813679705723846039e-08,
];

/// Exponential, within 1 ulp.
#[inline]
pub fn exp(x: f64) -> f64 {
    let x = x.clamp(EXP_ENDS.0, EXP_ENDS.1);
    // x = k ln 2 + r, and e^r = 1 + r + r c / (2 - c).
    let k = (x * INV_LN_2 + ROUND) - ROUND;
    let (hi, lo) = (x - k * LN_2[0], k * LN_2[1]);
    let r = hi - lo;
    let rr = r * r;
    let c = r - rr * (P[0] + rr * (P[1] + rr * (P[2] + rr * (P[3] + rr * P[4]))));
    let y = 1.0 + ((r * c / (2.0 - c) - lo) + hi);
    // In two steps, so that neither leaves the range of numbers; the second alone may round.
    let half = (0.5 * k + ROUND) - ROUND;
    y * power_of_two(half) * power_of_two(k - half)
}

/// 2^k for a whole number of at most 1000 or so either way.
#[inline]
fn power_of_two(k: f64) -> f64 {
    f64::from_bits((k + ROUND).to_bits().wrapping_add(1023) << 52)
}

/// Puts e^x in the place of each x.
pub(crate) fn exp_each(values: &mut [f64]) {
    for x in values {
        *x = exp(*x);
    }
}

/// Up to this size, rad, an angle needs no reduction: the last number whose first 32 bits are not above those of pi/4.
const NEAR_RAD: f64 = f64::from_bits(0x3fe9_21fb_ffff_ffff);
/// Coefficients of the sine (`k_sin.c`).
pub(crate) const S: [f64; 6] = [
    -1.66666666666666324348e-01,
    8.33333333332248946124e-03,
    -1.98412698298579493134e-04,
    2.75573137070700676789e-06,
    -2.50507602534068634195e-08,
    1.58969099521155010221e-10,
];

/// Sine of an angle of at most [`NEAR_RAD`].
#[inline]
fn near_sin(x: f64) -> f64 {
    let z = x * x;
    let p = S[1] + z * (S[2] + z * S[3]) + z * (z * z) * (S[4] + z * S[5]);
    // The sign is put in again for the sake of -0.
    (x + z * x * (S[0] + z * p)).copysign(x)
}

/// Coefficients of the cosine (`k_cos.c`).
pub(crate) const C: [f64; 6] = [
    4.16666666666666019037e-02,
    -1.38888888888741095749e-03,
    2.48015872894767294178e-05,
    -2.75573143513906633035e-07,
    2.08757232129817482790e-09,
    -1.13596475577881948265e-11,
];

/// Cosine of an angle of at most [`NEAR_RAD`].
#[inline]
fn near_cos(x: f64) -> f64 {
    let z = x * x;
    let zz = z * z;
    let p = z * (C[0] + z * (C[1] + z * C[2])) + zz * zz * (C[3] + z * (C[4] + z * C[5]));
    let half = 0.5 * z;
    let head = 1.0 - half;
    head + (((1.0 - head) - half) + z * p)
}

/// Puts sines and cosines of angles into the first entries of `sines` and `cosines`: the bits of [`sin_cos`](super::sin_cos).
pub(crate) fn sin_cos_each(angles_rad: &[f64], sines: &mut [f64], cosines: &mut [f64]) {
    let mut far = false;
    for ((s, c), &x) in sines.iter_mut().zip(cosines.iter_mut()).zip(angles_rad) {
        (*s, *c) = (near_sin(x), near_cos(x));
        far |= x.abs() > NEAR_RAD;
    }
    if far {
        for ((s, c), &x) in sines.iter_mut().zip(cosines).zip(angles_rad).filter(|(_, x)| x.abs() > NEAR_RAD) {
            (*s, *c) = super::sin_cos(x);
        }
    }
}

/// Puts the sine of each angle into the first entries of `sines`. Neighbours of one angle have one sine.
pub(crate) fn sin_each(angles_rad: &[f64], sines: &mut [f64]) {
    let (angles, last_angles) = angles_rad.as_chunks::<8>();
    let (into, last_into) = sines.split_at_mut((8 * angles.len()).min(sines.len()));
    let (into, _) = into.as_chunks_mut::<8>();
    let mut known = (f64::NAN, f64::NAN);
    for (angles, sines) in angles.iter().zip(into) {
        let one = angles[0];
        if angles.iter().all(|x| *x == one) {
            if known.0 != one {
                known = (one, super::sin(one));
            }
            *sines = [known.1; 8];
            continue;
        }
        let mut far = false;
        for (s, x) in sines.iter_mut().zip(angles) {
            *s = near_sin(*x);
            far |= x.abs() > NEAR_RAD;
        }
        if far {
            *sines = angles.map(super::sin);
        }
    }
    for (s, x) in last_into.iter_mut().zip(last_angles) {
        *s = super::sin(*x);
    }
}

/// p and q of asin(s)/s = 1 + p/q for h = s^2 up to 0.25: the rational approximation of fdlibm (`e_asin.c`), whose error is below
/// 2^-58.
#[inline]
pub(crate) fn arcsine_excess(h: f64) -> (f64, f64) {
    let p = 1.66666666666666657415e-01
        + h * (-3.25565818622400915405e-01
            + h * (2.01212532134862925881e-01
                + h * (-4.00555345006794114027e-02
                    + h * (7.91534994289814532176e-04 + h * 3.47933107596021167570e-05))));
    let q = 1.0
        + h * (-2.40339491173441421878e+00
            + h * (2.02094576023350569471e+00 + h * (-6.88283971605453293030e-01 + h * 7.70381505559019352791e-02)));
    (h * p, q)
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "these figures are to agree to the bit")]
mod tests {
    use super::*;
    use crate::math;
    use crate::prelude::*;

    /// Angles about the ends of what needs no reduction, of every size and both signs, and what is no angle.
    fn angles() -> Vec<f64> {
        let mut angles: Vec<f64> = (-4000..4000).map(|i| f64::from(i) * 0.00123).collect();
        angles.extend((-320..300).flat_map(|e| [1.7, -3.1].map(|m| format!("{m}e{e}").parse::<f64>().unwrap())));
        for near in [core::f64::consts::FRAC_PI_4, NEAR_RAD, 1.49e-8, 0.0] {
            angles.extend([near, -near, near.next_up(), near.next_down(), -near.next_down()]);
        }
        angles.extend([f64::NAN, f64::INFINITY, f64::NEG_INFINITY]);
        angles
    }

    #[test]
    fn many_sines_are_those_of_one() {
        let angles = angles();
        for start in 0..8 {
            let angles = &angles[start..];
            let mut sines = vec![0.0; angles.len()];
            sin_each(angles, &mut sines);
            for (x, s) in angles.iter().zip(&sines) {
                let one = math::sin(*x);
                assert!(one.to_bits() == s.to_bits() || one.is_nan() && s.is_nan(), "{x:e}: {s:e} {one:e}");
            }
        }
    }

    #[test]
    fn many_sines_and_cosines_are_those_of_one() {
        let angles = angles();
        for angles in angles.chunks(50) {
            let (mut sines, mut cosines) = (vec![0.0; angles.len()], vec![0.0; angles.len()]);
            sin_cos_each(angles, &mut sines, &mut cosines);
            for (x, many) in angles.iter().zip(sines.into_iter().zip(cosines)) {
                let one = math::sin_cos(*x);
                let same = |a: f64, b: f64| a.to_bits() == b.to_bits() || a.is_nan() && b.is_nan();
                assert!(same(one.0, many.0) && same(one.1, many.1), "{x:e}: {many:?} {one:?}");
            }
        }
    }

    #[test]
    fn a_row_of_one_angle_has_one_sine() {
        let angles: Vec<f64> = (0..100).map(|i| [0.02, 2.0, 0.02, -0.0][i / 30]).collect();
        let mut sines = vec![0.0; 100];
        sin_each(&angles, &mut sines);
        assert!(angles.iter().zip(&sines).all(|(x, s)| math::sin(*x).to_bits() == s.to_bits()));
    }

    /// libm's exponential has the same kernel: the two differ, by a last place, only below 2^-28, where it leaves out the square, and where
    /// x / ln 2 lies half way between two whole numbers.
    #[test]
    fn exponentials_are_those_of_the_portable_library() {
        let mut values: Vec<f64> = (-80_000..=80_000).map(|i| f64::from(i) * 0.01 + 1e-3).collect();
        values.extend(angles());
        values.extend([-745.2, -745.1, -708.5, 709.78, 709.79, -0.0, 1e-300]);
        let mut many = values.clone();
        exp_each(&mut many);
        for (x, e) in values.iter().zip(&many) {
            let (one, libm) = (exp(*x), libm::exp(*x));
            assert!(one.to_bits() == e.to_bits() || one.is_nan() && e.is_nan(), "{x:e}: {e:e} {one:e}");
            assert!(libm == one || libm.is_nan() && one.is_nan(), "{x:e}: {libm:e} {one:e}");
        }
    }
}

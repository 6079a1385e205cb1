//! Sines and cosines of many angles at once.
//!
//! The kernels and constants are those of fdlibm (Sun Microsystems 1993: `k_sin.c`, `k_cos.c`, `e_rem_pio2.c`), written
//! without branches so that a compiler may work on several angles side by side; products and sums only, so that the
//! bits do not depend on whether it does. Within 1 ulp, tested against 50-digit values and against `math`.

#![allow(clippy::excessive_precision, reason = "published constants keep their printed digits")]

use crate::math::{
    self,
    lanes::{C, ROUND, S},
};

/// Angles handled together: small enough to stay in the first-level cache, long enough for wide registers.
pub(super) const BLOCK: usize = 64;

/// One number for each angle of a block.
pub(super) type Block = [f64; BLOCK];

/// Up to this size, rad, a multiple of the first 33 bits of pi/2 is exact and the reduction below holds.
const REDUCIBLE_RAD: f64 = 1e5;
/// pi/2 in three parts: 33 bits, the next 33 bits, and the rest.
const HALF_PI: [f64; 3] = [1.57079632673412561417e+00, 6.07710050630396597660e-11, 2.02226624879595063154e-21];

/// Sines and cosines of at most a block of finite angles, rad; entries beyond stay as they are.
pub(super) fn sin_cos(angle_rad: &[f64], sine: &mut Block, cosine: &mut Block) {
    let mut far = false;
    for ((&x, s), c) in angle_rad.iter().zip(sine.iter_mut()).zip(cosine.iter_mut()) {
        (*s, *c) = reduced(x);
        far |= x.abs() > REDUCIBLE_RAD;
    }
    if far {
        for ((&x, s), c) in angle_rad.iter().zip(sine.iter_mut()).zip(cosine.iter_mut()) {
            if x.abs() > REDUCIBLE_RAD {
                (*s, *c) = math::sin_cos(x);
            }
        }
    }
}

/// Sine and cosine of an angle of at most [`REDUCIBLE_RAD`].
#[inline]
fn reduced(x: f64) -> (f64, f64) {
    let shifted = x * core::f64::consts::FRAC_2_PI + ROUND;
    let n = shifted - ROUND;
    let quadrant = shifted.to_bits();
    // What is left of x after n quarter turns is r + tail.
    let y = x - n * HALF_PI[0];
    let w = y - n * HALF_PI[1];
    let lost = (y - w) - n * HALF_PI[1];
    let r = w - n * HALF_PI[2];
    let tail = ((w - r) - n * HALF_PI[2]) + lost;

    let z = r * r;
    let zz = z * z;
    let cube = z * r;
    let p = S[1] + z * (S[2] + z * S[3]) + z * zz * (S[4] + z * S[5]);
    let sine = r - ((z * (0.5 * tail - cube * p) - tail) - cube * S[0]);
    let p = z * (C[0] + z * (C[1] + z * C[2])) + zz * zz * (C[3] + z * (C[4] + z * C[5]));
    let half = 0.5 * z;
    let head = 1.0 - half;
    let cosine = head + (((1.0 - head) - half) + (z * p - r * tail));

    // Odd quarter turns exchange the two; the second bit of n gives the sign of the sine, that of n + 1 the cosine's.
    let odd = 0u64.wrapping_sub(quadrant & 1);
    let (s, c) = (sine.to_bits(), cosine.to_bits());
    let sign_s = (quadrant & 2) << 62;
    let sign_c = (quadrant.wrapping_add(1) & 2) << 62;
    (f64::from_bits(((s & !odd) | (c & odd)) ^ sign_s), f64::from_bits(((c & !odd) | (s & odd)) ^ sign_c))
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "these values are exact")]
mod tests {
    use super::*;
    use crate::prelude::*;

    /// Distance in units of the last place.
    fn ulps(a: f64, b: f64) -> u64 {
        if a == b { 0 } else { a.to_bits().abs_diff(b.to_bits()) }
    }

    #[test]
    fn agrees_with_math() {
        // A walk over both signs, all quadrants, and near multiples of pi/2; then sizes from denormal to beyond reduction.
        let mut angles: Vec<f64> = (-4000..4000).map(|i| f64::from(i) * 0.0123).collect();
        for n in -40..40 {
            let near = f64::from(n) * core::f64::consts::FRAC_PI_2;
            angles.extend([near, near + 1e-9, near - 1e-15, near.next_up(), near.next_down()]);
        }
        angles.extend((-320..308).map(|e| format!("1.7e{e}").parse::<f64>().unwrap()));
        angles.extend([0.0, -0.0, 99_999.9, -100_000.0]);
        for chunk in angles.chunks(BLOCK) {
            let (mut sine, mut cosine) = ([0.0; BLOCK], [0.0; BLOCK]);
            sin_cos(chunk, &mut sine, &mut cosine);
            for (i, &x) in chunk.iter().enumerate() {
                let (s, c) = math::sin_cos(x);
                // Both are within 1 ulp of the truth.
                assert!(
                    ulps(sine[i], s) <= 2 && ulps(cosine[i], c) <= 2,
                    "{x:e}: {:e} {s:e} {:e} {c:e}",
                    sine[i],
                    cosine[i]
                );
            }
        }
    }
}

#![allow(clippy::float_cmp, reason = "these figures are to agree to the bit")]

use super::*;

/// Folds the bits of numbers into one (FNV-1a over 64-bit words).
fn fold(hash: u64, value: f64) -> u64 {
    (hash ^ value.to_bits()).wrapping_mul(0x0000_0100_0000_01b3)
}

/// The bits of every function, at 2,000 arguments each: the same on every machine, with every flag and profile.
#[test]
fn bits_are_pinned() {
    let one: [fn(f64) -> f64; 19] = [
        sin,
        cos,
        tan,
        asin,
        acos,
        atan,
        exp,
        exp_m1,
        ln,
        ln_1p,
        log10,
        cbrt,
        erf,
        erfc,
        normal_cdf,
        normal_quantile,
        |x| sin_cos(x).0,
        |x| sin_cos(x).1,
        |x| sum(&[x, 1.0, x * x, 0.1, -x]),
    ];
    let two: [fn(f64, f64) -> f64; 3] = [atan2, pow, hypot];
    let mut random = Random::new(2011, 1, 2);
    let mut hash = 0;
    for _ in 0..2000 {
        // From 1e-9 to 1e3, and in (0, 1): inside the domain of all.
        let (wide, narrow) = (exp(27.6 * random.uniform() - 20.7), random.uniform());
        for f in one {
            hash = [f(narrow), f(wide)].into_iter().filter(|v| !v.is_nan()).fold(hash, fold);
        }
        for f in two {
            hash = fold(hash, f(wide, narrow));
        }
    }
    assert_eq!(hash, 0x8042_ebd7_97ff_aa21, "{hash:#x}");
}

#[test]
fn normal_quantile_at_its_ends() {
    assert_eq!(normal_quantile(0.0), f64::NEG_INFINITY);
    assert_eq!(normal_quantile(1.0), f64::INFINITY);
    assert_eq!(normal_quantile(0.5), 0.0);
    for p in [-f64::MIN_POSITIVE, 1.0 + f64::EPSILON, f64::NAN, f64::INFINITY] {
        assert!(normal_quantile(p).is_nan(), "{p}");
    }
}

/// Quantiles of standard tables, to the six decimals they print.
#[test]
fn normal_quantiles_of_the_tables() {
    for (p, x) in [(0.95, 1.644854), (0.975, 1.959964), (0.995, 2.575829), (0.9995, 3.290527)] {
        assert!((normal_quantile(p) - x).abs() <= 0.5e-6);
        assert!((normal_quantile(1.0 - p) + x).abs() <= 0.5e-6);
    }
}

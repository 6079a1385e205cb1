//! Many numbers to one, in an order that depends on their count alone.

/// Numbers summed one after another at the leaves of [`sum`].
const BLOCK: usize = 128;

/// Sum: blocks of 128 in eight interleaved lanes, combined pairwise in index order.
///
/// The order depends on the count alone, so the bits are the same on every machine; the error grows with the logarithm
/// of the count (N. J. Higham, Accuracy and Stability of Numerical Algorithms, 2nd ed. 2002, section 4.2, from memory).
/// 0 for none.
///
/// # Example
/// ```
/// assert_eq!(fallwise::math::sum(&[1.0, 2.0, 3.5]), 6.5);
/// ```
pub fn sum(values: &[f64]) -> f64 {
    if values.len() <= BLOCK {
        return block(values);
    }
    // The first half in whole blocks; never empty, never all.
    let (first, second) = values.split_at((values.len() / 2).next_multiple_of(BLOCK).min(values.len() - 1));
    sum(first) + sum(second)
}

fn block(values: &[f64]) -> f64 {
    let mut lanes = [0.0; 8];
    let (eights, rest) = values.as_chunks::<8>();
    for eight in eights {
        for (lane, value) in lanes.iter_mut().zip(eight) {
            *lane += value;
        }
    }
    let [a, b, c, d, e, f, g, h] = lanes;
    let lanes = ((a + b) + (c + d)) + ((e + f) + (g + h));
    rest.iter().fold(lanes, |total, value| total + value)
}

/// Sum of the products of two rows, as long as the shorter: in eight interleaved lanes, so that the order depends on the count alone
/// and a processor may work on several products side by side.
pub(crate) fn dot(a: &[f64], b: &[f64]) -> f64 {
    let shorter = a.len().min(b.len());
    let (a, b) = (a.get(..shorter).unwrap_or_default(), b.get(..shorter).unwrap_or_default());
    let mut lanes = [0.0; 8];
    let mut add = |a: &[f64], b: &[f64]| {
        for ((lane, a), b) in lanes.iter_mut().zip(a).zip(b) {
            *lane += a * b;
        }
    };
    let ((a_eights, a_rest), (b_eights, b_rest)) = (a.as_chunks::<8>(), b.as_chunks::<8>());
    a_eights.iter().zip(b_eights).for_each(|(a, b)| add(a, b));
    add(a_rest, b_rest);
    let [a, b, c, d, e, f, g, h] = lanes;
    ((a + b) + (c + d)) + ((e + f) + (g + h))
}

/// Quantile of sorted values, linear between order statistics (Hyndman and Fan 1996, type 7).
///
/// `sorted` rises. NaN of an empty slice, and for `p` outside [0, 1].
///
/// # Example
/// ```
/// assert_eq!(fallwise::math::quantile(&[1.0, 2.0, 4.0, 8.0], 0.5), 3.0);
/// ```
pub fn quantile(sorted: &[f64], p: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else { return f64::NAN };
    if !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    let place = last as f64 * p;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "place lies between 0 and last")]
    let below = place as usize;
    let share = place - below as f64;
    match (sorted.get(below), sorted.get(below + 1)) {
        (Some(&low), Some(&high)) => between(low, high, share),
        _ => sorted[last],
    }
}

/// Median; reorders its input. NaN of an empty slice, and if any value is NaN.
///
/// # Example
/// ```
/// assert_eq!(fallwise::math::median(&mut [5.0, 1.0, 2.0, 9.0]), 3.5);
/// ```
pub fn median(values: &mut [f64]) -> f64 {
    if values.is_empty() || values.iter().any(|v| v.is_nan()) {
        return f64::NAN;
    }
    let middle = values.len() / 2;
    let odd = values.len() % 2 == 1;
    let (below, &mut upper, _) = values.select_nth_unstable_by(middle, f64::total_cmp);
    if odd {
        return upper;
    }
    let lower = below.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    between(lower, upper, 0.5)
}

/// The number a share of the way from `low` to `high`, without overflow.
#[allow(clippy::float_cmp, reason = "equal neighbours, infinite ones too, are returned as they are")]
fn between(low: f64, high: f64, share: f64) -> f64 {
    if share == 0.0 || low == high {
        return low;
    }
    (1.0 - share) * low + share * high
}

#[cfg(test)]
mod tests {
    #![allow(clippy::float_cmp, reason = "these figures are to agree to the bit")]

    use super::*;
    use crate::prelude::*;

    #[test]
    fn sums_of_whole_numbers_are_exact_at_every_count() {
        let values: Vec<f64> = (1..=2000).map(f64::from).collect();
        for n in 0..values.len() {
            let expected = (n * (n + 1) / 2) as f64;
            assert_eq!(sum(&values[..n]), expected, "{n}");
        }
    }

    /// A naive sum of 1e6 tenths is off by 1e-6; pairwise it is off by less than one part in 1e15.
    #[test]
    fn long_sums_keep_their_digits() {
        let values = vec![0.1; 1_000_000];
        // 100,000 plus the million roundings of 0.1 itself, 5.55e-18 each.
        assert!((sum(&values) - 100_000.0).abs() <= 1e-10);
    }

    /// The order is part of the contract: these bits stay.
    #[test]
    fn order_of_a_sum_is_pinned() {
        let values: Vec<f64> = (1..=1001).map(|i| 1.0 / f64::from(i)).collect();
        assert_eq!(sum(&values).to_bits(), 0x401d_f225_27c7_6059);
    }

    /// Sums of products of whole numbers are exact at every length; the longer row's rest is left out.
    #[test]
    fn products_of_whole_numbers_are_exact_at_every_count() {
        let values: Vec<f64> = (1..=100).map(f64::from).collect();
        for n in 0..values.len() {
            let expected = (n * (n + 1) * (2 * n + 1) / 6) as f64;
            assert_eq!(dot(&values[..n], &values), expected, "{n}");
            assert_eq!(dot(&values, &values[..n]), expected, "{n}");
        }
    }

    /// Default quantiles of R for 1..10 are 3.25, 5.5, 7.75 (from memory).
    #[test]
    fn quantiles_of_type_seven() {
        let ten: Vec<f64> = (1..=10).map(f64::from).collect();
        for (p, expected) in [(0.0, 1.0), (0.25, 3.25), (0.5, 5.5), (0.75, 7.75), (1.0, 10.0)] {
            assert_eq!(quantile(&ten, p), expected);
        }
        assert_eq!(quantile(&[3.0], 0.3), 3.0);
        assert_eq!(quantile(&[-f64::MAX, f64::MAX], 0.5), 0.0);
        for p in [-0.1, 1.1, f64::NAN] {
            assert!(quantile(&ten, p).is_nan());
        }
        assert!(quantile(&[], 0.5).is_nan());
    }

    #[test]
    fn medians() {
        assert_eq!(median(&mut [3.0, -1.0, 2.0]), 2.0);
        assert_eq!(median(&mut [7.0, 1.0]), 4.0);
        assert_eq!(median(&mut [f64::MAX, f64::MAX]), f64::MAX);
        assert!(median(&mut []).is_nan());
        assert!(median(&mut [1.0, f64::NAN, 2.0]).is_nan());
    }
}

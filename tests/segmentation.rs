//! Segmentation against exact enumeration, published data, a general change-point package, and its own invariances.

use fallwise::Chain;
use fallwise::chain::{Fit, FitOptions, default_penalty, fit};
use fallwise::math::spread_sd;
use proptest::prelude::*;
use serde::Deserialize;

/// Penalty in units of the data squared.
fn options(penalty: f64) -> FitOptions {
    FitOptions { noise_sd: Some(1.0), penalty: Some(penalty), ..FitOptions::default() }
}

/// Random numbers of these tests: the high bits of a linear congruence.
struct Numbers(u64);

impl Numbers {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }
    fn below(&mut self, n: u32) -> u32 {
        self.uniform();
        u32::try_from(((self.0 >> 33) * u64::from(n)) >> 31).expect("below n")
    }
    /// Nearly normal, unit sd: the sum of twelve.
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }
    fn ten_to(&mut self, low: f64, high: f64) -> f64 {
        fallwise::math::pow(10.0, low + (high - low) * self.uniform())
    }
}

/// Sum of weighted squares about the weighted mean, computed twice over.
fn squares(values: &[f64], weights: &[f64]) -> f64 {
    let total: f64 = weights.iter().sum();
    if total == 0.0 {
        return f64::INFINITY; // a segment needs weight
    }
    let origin = values[weights.iter().position(|w| *w > 0.0).expect("some weight")];
    let mean = origin + values.iter().zip(weights).map(|(v, w)| w * (v - origin)).sum::<f64>() / total;
    values.iter().zip(weights).map(|(v, w)| w * (v - mean) * (v - mean)).sum()
}

/// Least cost by trying every last segment (Jackson and others 2005): no pruning, every segment summed anew.
fn least_cost(values: &[f64], weights: &[f64], hard: &[usize], penalty: f64) -> f64 {
    let n = values.len();
    let mut best = vec![0.0; n + 1];
    for end in 1..=n {
        let from = hard.iter().copied().filter(|h| *h < end).max().unwrap_or(0);
        best[end] = (from..end)
            .map(|start| {
                let a_break = if start == 0 || hard.contains(&start) { 0.0 } else { penalty };
                best[start] + a_break + squares(&values[start..end], &weights[start..end])
            })
            .fold(f64::INFINITY, f64::min);
    }
    best[n]
}

/// Cost of the segmentation that was found, by the sums of this file.
fn cost_of(found: &Fit, values: &[f64], weights: &[f64], hard: &[usize]) -> f64 {
    let ends = found.starts.iter().skip(1).copied().chain([values.len()]);
    let soft = found.starts.len() - 1 - hard.len();
    let parts = found.starts.iter().zip(ends).map(|(&a, b)| squares(&values[a..b], &weights[a..b]));
    parts.sum::<f64>() + found.penalty * soft as f64
}

#[test]
fn cost_is_the_least_of_all() {
    let mut numbers = Numbers(1);
    let mut breaks = 0;
    for problem in 0..4_000 {
        let n = 1 + numbers.below(40) as usize;
        let (kind, weighing) = (numbers.below(6), numbers.below(5));
        let size = if numbers.below(3) == 0 { numbers.ten_to(-20.0, 20.0) } else { 1.0 };
        let values: Vec<f64> = (0..n)
            .map(|i| {
                size * match kind {
                    0 => numbers.normal(),
                    1 => numbers.normal().round(),
                    2 => f64::from(numbers.below(2)),
                    3 => 5.0 * (i / 7 % 3) as f64 + numbers.normal(),
                    4 => (1e3 * (i / 9 % 2) as f64) + 1e-3 * numbers.normal(),
                    _ => numbers.normal() / (numbers.uniform() + 1e-3),
                }
            })
            .collect();
        let mut weights: Vec<f64> = (0..n)
            .map(|_| match weighing {
                0 | 1 => 1.0,
                2 => 0.1 + numbers.uniform(),
                3 => numbers.ten_to(-12.0, 12.0),
                _ => f64::from(numbers.below(3)),
            })
            .collect();
        let mut hard: Vec<usize> = Vec::new();
        if numbers.below(2) == 0 {
            hard.extend((1..n).filter(|_| numbers.below(8) == 0));
        }
        for &first in hard.iter().chain(&[0]) {
            weights[first] = weights[first].max(1e-12); // a stretch needs weight
        }
        let penalty = numbers.ten_to(-6.0, 6.0) * if numbers.below(2) == 0 { size * size } else { 1.0 };
        let noise = penalty.sqrt();
        let how = FitOptions { noise_sd: Some(noise), penalty: Some(1.0), ..FitOptions::default() };
        let found = fit(&values, &weights, &hard, &how).unwrap();
        let least = least_cost(&values, &weights, &hard, found.penalty);
        // 1e-9 is the promise. Where the cost is nothing but rounding, the rounding of the heaviest square is allowed.
        let heaviest = weights.iter().zip(&values).fold(0.0, |most: f64, (w, v)| most.max(w * v * v));
        let allowed = 1e-9 * least + 1e-28 * heaviest;
        let actual = cost_of(&found, &values, &weights, &hard);
        assert!((actual - least).abs() <= allowed, "problem {problem}: {actual} is not the least, {least}");
        assert!((found.cost - actual).abs() <= allowed, "problem {problem}: {} reported for {actual}", found.cost);
        assert!(hard.iter().all(|h| found.starts.contains(h)));
        breaks += found.starts.len() - 1 - hard.len();
    }
    assert!(breaks > 4_000, "the problems have breaks to find: {breaks}");
}

/// The optimum in whole numbers: least cost, then fewest breaks, then the earliest last break, and so on back.
///
/// Costs are multiples of 1/(8 * 720720), 720720 being a multiple of every length up to 16; nothing is rounded.
fn exact_starts(values: &[i128], eighths: i128) -> (usize, Vec<usize>) {
    const LENGTHS: i128 = 720_720;
    let mut best: Vec<(i128, usize, Vec<usize>)> = vec![(0, 0, Vec::new())];
    let mut ways = vec![1_usize];
    for end in 1..=values.len() {
        let options: Vec<(i128, usize, Vec<usize>)> = (0..end)
            .map(|start| {
                let part = &values[start..end];
                let (sum, square): (i128, i128) = (part.iter().sum(), part.iter().map(|v| v * v).sum());
                let cost = 8 * LENGTHS * square - 8 * sum * sum * (LENGTHS / part.len() as i128);
                let (before, breaks, starts) = &best[start];
                let a_break = usize::from(start > 0);
                let all = [starts.as_slice(), &[start]].concat();
                (before + cost + a_break as i128 * eighths * LENGTHS, breaks + a_break, all)
            })
            .collect();
        let least = options.iter().map(|o| o.0).min().expect("end > 0");
        ways.push(options.iter().enumerate().filter(|(_, o)| o.0 == least).map(|(start, _)| ways[start]).sum());
        // The last start decides first, so `options` in order of start is in order of preference.
        let fewest = options.iter().filter(|o| o.0 == least).map(|o| o.1).min().expect("end > 0");
        best.push(options.into_iter().find(|o| o.0 == least && o.1 == fewest).expect("it is one of them"));
    }
    (ways[values.len()], best.pop().expect("one per end").2)
}

#[test]
fn ties_go_to_the_fewest_then_the_earliest_breaks() {
    let mut numbers = Numbers(2);
    let mut tied = 0;
    for problem in 0..9_000 {
        let n = 1 + numbers.below(16);
        let top = 2 + numbers.below(4);
        let whole: Vec<i128> = (0..n).map(|_| i128::from(numbers.below(top))).collect();
        // Halves and eighths; halves tie more often.
        let eighths =
            i128::from(if numbers.below(2) == 0 { 4 * (1 + numbers.below(5)) } else { 1 + numbers.below(40) });
        let values: Vec<f64> = whole.iter().map(|v| *v as f64).collect();
        let (ways, starts) = exact_starts(&whole, eighths);
        let found = fit(&values, &vec![1.0; n as usize], &[], &options(eighths as f64 / 8.0)).unwrap();
        assert_eq!(found.starts, starts, "problem {problem}: {whole:?}, penalty {eighths}/8, {ways} optima");
        tied += usize::from(ways > 1);
    }
    assert!(tied > 500, "ties are tried: {tied}");
}

#[derive(Deserialize)]
struct Nile {
    flow: Vec<f64>,
}

/// Cobb 1978, Biometrika 65:243-251: one change near 1898. The sums were computed apart from this library.
#[test]
fn nile_flow_falls_once_after_1898() {
    let nile: Nile = serde_json::from_str(include_str!("vectors/changepoint_nile.json")).unwrap();
    let weights = vec![1.0; 100];
    let found = fit(&nile.flow, &weights, &[], &FitOptions::default()).unwrap();
    assert_eq!(found.starts, [0, 28]); // the 28 years from 1871 to 1898, then the rest
    // Printed digits: half a unit of the sixth decimal.
    assert!((found.means[0] - 1097.75).abs() < 5e-7 && (found.means[1] - 849.972222).abs() < 5e-7);
    assert!((found.cost - found.penalty - 1597457.194444).abs() < 5e-7);
    // The best pair of breaks with at least 5 years between is 19 and 28. A penalty alone prefers to cut out single
    // years, so the pair is given and only its sum of squares checked.
    let pair = fit(&nile.flow, &weights, &[19, 28], &options(1e9)).unwrap();
    assert_eq!(pair.starts, [0, 19, 28]);
    assert!((pair.cost - 1542326.657895).abs() < 5e-7);
}

#[derive(Deserialize)]
struct Vectors {
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    name: String,
    values: Vec<f64>,
    penalty: f64,
    starts: Vec<usize>,
    cost: f64,
}

/// Written by vectors/changepoint.py: two exact methods of a change-point package that agree with each other.
#[test]
fn breaks_are_those_of_a_change_point_package() {
    let vectors: Vectors = serde_json::from_str(include_str!("vectors/changepoint.json")).unwrap();
    assert_eq!(vectors.cases.len(), 8);
    for case in vectors.cases {
        let found = fit(&case.values, &vec![1.0; case.values.len()], &[], &options(case.penalty)).unwrap();
        assert_eq!(found.starts, case.starts, "{}", case.name);
        assert!((found.cost - case.cost).abs() <= 1e-9 * case.cost, "{}", case.name); // the promised 1e-9
    }
}

/// Segments of 40 with unit noise, to multiples of 2^-20, so that adding 1e8 rounds nothing.
fn sticks(n: usize, seed: u64) -> Vec<f64> {
    let mut numbers = Numbers(seed);
    let grid = f64::from(1 << 20);
    (0..n).map(|i| ((2.5 * (i / 40 % 3) as f64 + numbers.normal()) * grid).round() / grid).collect()
}

#[test]
fn offset_and_unit_change_no_break() {
    let values = sticks(2_000, 3);
    let weights = vec![1.0; values.len()];
    let breaks = |values: &[f64]| fit(values, &weights, &[], &FitOptions::default()).unwrap();
    let plain = breaks(&values);
    assert!(plain.starts.len() > 40);
    for offset in [1e8, -1e8] {
        let moved: Vec<f64> = values.iter().map(|v| v + offset).collect();
        let found = breaks(&moved);
        // Exactly: nothing was rounded by the offset, and the median takes it off again.
        assert_eq!((&found.starts, found.cost, found.penalty), (&plain.starts, plain.cost, plain.penalty));
    }
    for factor in [1e-60, 1e-9, 1e60, -1.0, 2.0, 180.0 / core::f64::consts::PI] {
        let scaled: Vec<f64> = values.iter().map(|v| v * factor).collect();
        assert_eq!(breaks(&scaled).starts, plain.starts, "{factor}");
    }
}

#[test]
fn degrees_and_radians_give_one_chain() {
    let degrees: Vec<f64> = sticks(600, 4).iter().map(|v| 1.0 + 0.25 * v).collect();
    let radians: Vec<f64> = degrees.iter().map(|d| d.to_radians()).collect();
    let station: Vec<f64> = (0..600).map(|i| 0.05 * f64::from(i)).collect();
    let weights = vec![1.0; 600];
    let (chain, found) = Chain::fitted(&station, &radians, &weights, &[], &FitOptions::default()).unwrap();
    assert_eq!(found.starts, fit(&degrees, &weights, &[], &FitOptions::default()).unwrap().starts);
    assert_eq!(chain.ranges(&station).iter().map(|r| r.start).collect::<Vec<_>>(), found.starts);
    let means = chain.means(&station, &radians, &weights).unwrap();
    assert!(means.iter().zip(&chain.tilt_rad).all(|(m, t)| (m.mean_rad.unwrap() - t).abs() < 1e-15)); // rounding
}

#[test]
fn straight_pipe_is_seldom_broken() {
    // 3 ln n on pure noise, the noise estimated too: 2 % here would be 10 of 500.
    let broken = (0..500)
        .filter(|&seed| {
            let mut numbers = Numbers(1_000 + seed);
            let values: Vec<f64> = (0..600).map(|_| numbers.normal()).collect();
            fit(&values, &[1.0; 600], &[], &FitOptions::default()).unwrap().starts.len() > 1
        })
        .count();
    assert!(broken <= 10, "{broken} of 500");
}

#[test]
fn noise_is_found_through_breaks_spikes_and_weights() {
    let mut numbers = Numbers(5);
    let weights: Vec<f64> = (0..4_000_usize).map(|i| if i % 3 == 0 { 4.0 } else { 1.0 }).collect();
    let values: Vec<f64> = (0..4_000_usize)
        .map(|i| {
            3.0 * (i / 50 % 2) as f64 + 0.2 * numbers.normal() / weights[i].sqrt() + if i % 97 == 0 { 9.0 } else { 0.0 }
        })
        .collect();
    // 4,000 differences give the median to 2 % or so (one sd); 4 % of them are spoilt, which adds about as much.
    assert!((spread_sd(&values, &weights, 0.0) / 0.2 - 1.0).abs() < 0.1);
}

#[test]
fn noise_free_readings_break_where_they_step() {
    let values: Vec<f64> = (0..60).map(|i| 0.01 * f64::from(i / 20)).collect();
    assert_eq!(fit(&values, &[1.0; 60], &[], &FitOptions::default()).unwrap().starts, [0, 20, 40]);
    for constant in [0.0, 0.3, -1e100, 5e-324] {
        let found = fit(&[constant; 50], &[1.0; 50], &[], &FitOptions::default()).unwrap();
        assert_eq!((found.starts, found.means, found.cost), (vec![0], vec![constant], 0.0));
    }
}

#[test]
fn smallest_and_strangest_inputs() {
    let default = FitOptions::default();
    assert_eq!(fit(&[7.0], &[2.0], &[], &default).unwrap().means, [7.0]);
    assert_eq!(fit(&[7.0, 9.0], &[1.0; 2], &[], &default).unwrap().starts, [0]);
    assert_eq!(fit(&[7.0, 9.0], &[1.0; 2], &[1], &default).unwrap().means, [7.0, 9.0]);
    // Readings without weight are spanned, whatever they say.
    let found = fit(&[1e9, 0.0, 0.0, 1e9, 5.0, 5.0, -1e9], &[0.0, 1.0, 1.0, 0.0, 1.0, 1.0, 0.0], &[], &options(1.0));
    let found = found.unwrap();
    assert_eq!((found.starts, found.means), (vec![0, 4], vec![0.0, 5.0]));
    assert!(fit(&[], &[], &[], &default).is_err());
    assert!(fit(&[1.0], &[], &[], &default).is_err());
    assert!(fit(&[1.0], &[0.0], &[], &default).is_err());
    assert!(fit(&[1.0, 2.0], &[1.0, 0.0], &[1], &default).is_err());
    for hard in [&[0][..], &[2], &[1, 1], &[usize::MAX]] {
        assert!(fit(&[1.0, 2.0], &[1.0; 2], hard, &default).is_err(), "{hard:?}");
    }
    for bad in [f64::NAN, f64::INFINITY, -1.0, 0.0, 1e-13] {
        assert!(fit(&[1.0], &[1.0], &[], &options(bad)).is_err(), "penalty {bad}");
    }
    for bad in [f64::NAN, f64::INFINITY, -1.0] {
        let how = FitOptions { noise_sd: Some(bad), penalty: None, ..FitOptions::default() };
        assert!(fit(&[1.0], &[1.0], &[], &how).is_err(), "noise {bad}");
    }
    assert!(default_penalty(0) > 0.0);
}

/// Any number at all, the odd ones often.
fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => -10.0..10.0,
        2 => (-3i32..3).prop_map(f64::from),
        1 => proptest::num::f64::ANY,
        1 => prop::sample::select(vec![0.0, -0.0, 1e100, -1e100, 5e-324, f64::MAX, f64::NAN, f64::INFINITY, 1e-50]),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn any_input_gives_an_error_or_a_sound_fit(
        rows in prop::collection::vec((any_number(), any_number()), 0..30),
        tame in any::<bool>(),
        hard in prop::collection::vec(0_usize..30, 0..3),
        noise_sd in prop::option::of(any_number()),
        penalty in prop::option::of(any_number()),
    ) {
        let usable = |x: f64| if x.abs() <= 1e100 { x } else { 1.0 };
        let values: Vec<f64> = rows.iter().map(|r| if tame { usable(r.0) } else { r.0 }).collect();
        let weights: Vec<f64> = rows.iter().map(|r| if tame { usable(r.1).abs().clamp(1e-50, 9e49) } else { r.1 }).collect();
        let hard = if tame { Vec::new() } else { hard };
        let noise_sd = if tame { noise_sd.map(|x| usable(x).abs()) } else { noise_sd };
        let penalty = if tame { penalty.map(|x| usable(x).abs().clamp(1e-12, 9e49)) } else { penalty };
        let found = fit(&values, &weights, &hard, &FitOptions { noise_sd, penalty, ..FitOptions::default() });
        prop_assert!(!tame || values.is_empty() || found.is_ok(), "{found:?}");
        if let Ok(found) = found {
            prop_assert_eq!(found.starts[0], 0);
            prop_assert!(found.starts.windows(2).all(|w| w[0] < w[1]));
            prop_assert!(*found.starts.last().unwrap() < values.len());
            prop_assert_eq!(found.means.len(), found.starts.len());
            prop_assert!(found.means.iter().all(|m| m.is_finite()));
            prop_assert!(found.cost.is_finite() && found.penalty > 0.0 && found.noise_sd > 0.0);
        }
        let station: Vec<f64> = (0..values.len()).map(|i| i as f64).collect();
        let _ = Chain::raw(&station, &values);
        let _ = Chain::given(&station, &values, &weights, &[0.0, 3.5, 12.0]);
        let _ = Chain::fitted(&station, &values, &weights, &[3.5], &FitOptions { noise_sd, penalty, ..FitOptions::default() });
        let _ = Chain::new(values.clone(), weights.clone());
        let _ = noise_sd.map(|resolution| spread_sd(&values, &weights, resolution));
    }

    #[test]
    fn backwards_costs_the_same(
        rows in prop::collection::vec((-10.0..10.0, 0.1..10.0), 1..80),
        penalty in 0.1..100.0,
    ) {
        let (mut values, mut weights): (Vec<f64>, Vec<f64>) = rows.into_iter().unzip();
        let forwards = fit(&values, &weights, &[], &options(penalty)).unwrap();
        values.reverse();
        weights.reverse();
        let backwards = fit(&values, &weights, &[], &options(penalty)).unwrap();
        prop_assert!((forwards.cost - backwards.cost).abs() <= 1e-9 * forwards.cost); // the promised 1e-9
    }

    #[test]
    fn a_penalty_of_nothing_gives_the_raw_chain(
        rows in prop::collection::vec((0.01..1.0, 0.0..1.0), 2..60),
    ) {
        // Neighbours that differ by 0.1 at least: alternately above and below 0.
        let station: Vec<f64> = rows.iter().scan(0.0, |s, r| { *s += r.0; Some(*s) }).collect();
        let tilt: Vec<f64> = rows.iter().enumerate().map(|(i, r)| if i % 2 == 0 { 0.05 + r.1 } else { -0.05 - r.1 }).collect();
        let (fitted, _) = Chain::fitted(&station, &tilt, &vec![1.0; tilt.len()], &[], &options(1e-9)).unwrap();
        let raw = Chain::raw(&station, &tilt).unwrap();
        prop_assert_eq!(&fitted.breaks_m, &raw.breaks_m);
        // Centred on the median and back: two roundings of numbers of about 1.
        prop_assert!(fitted.tilt_rad.iter().zip(&raw.tilt_rad).all(|(a, b)| (a - b).abs() < 1e-15));
        // Each reading given its own stretch.
        let given = Chain::given(&station, &tilt, &vec![2.0; tilt.len()], &raw.breaks_m).unwrap();
        prop_assert!(given.tilt_rad.iter().zip(&raw.tilt_rad).all(|(a, b)| (a - b).abs() < 1e-15));
    }
}

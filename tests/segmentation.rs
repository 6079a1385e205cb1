//! Segmentation against exact enumeration, published data, a general change-point package, and its own invariances.

use fallwise::Chain;
use fallwise::chain::{Fit, FitOptions, Loss, default_penalty, fit};
use fallwise::math::spread_sd;
use fallwise_record::{
    Many, Mark,
    Tolerance::{Absolute, Relative},
    reference,
};
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

/// Weighted mean, summed from the first reading with weight; none without weight.
fn mean(values: &[f64], weights: &[f64]) -> Option<f64> {
    let origin = values[weights.iter().position(|w| *w > 0.0)?];
    let total: f64 = weights.iter().sum();
    Some(origin + values.iter().zip(weights).map(|(v, w)| w * (v - origin)).sum::<f64>() / total)
}

/// What readings cost about a mean: w (y - mean)^2, of each square at most that of the threshold.
fn cost_about(mean: f64, values: &[f64], weights: &[f64], threshold: f64) -> f64 {
    values.iter().zip(weights).map(|(v, w)| w * ((v - mean) * (v - mean)).min(threshold * threshold)).sum()
}

/// Least cost of a segment over all means, infinite for one without weight.
///
/// While the mean passes no reading's threshold the same readings are within it, and the best of these means is that of
/// these readings, if it is among them. Each set is tried; what its mean costs in full is never below the least.
fn segment_cost(values: &[f64], weights: &[f64], threshold: f64) -> f64 {
    if threshold == f64::INFINITY {
        return mean(values, weights).map_or(f64::INFINITY, |mean| cost_about(mean, values, weights, threshold));
    }
    let mut limits: Vec<f64> = values.iter().flat_map(|v| [v - threshold, v + threshold]).collect();
    limits.sort_by(f64::total_cmp);
    let least_between = |pair: &[f64]| {
        let middle = 0.5 * pair[0] + 0.5 * pair[1];
        let within = values.iter().zip(weights).filter(|(v, _)| (*v - middle).abs() < threshold);
        let (near, their_weights): (Vec<f64>, Vec<f64>) = within.unzip();
        mean(&near, &their_weights).map_or(f64::INFINITY, |mean| cost_about(mean, values, weights, threshold))
    };
    limits.windows(2).map(least_between).fold(f64::INFINITY, f64::min)
}

/// A segmentation to be found.
struct Problem {
    values: Vec<f64>,
    weights: Vec<f64>,
    hard: Vec<usize>,
    options: FitOptions,
}

impl Problem {
    fn random(numbers: &mut Numbers, longest: u32, loss: Loss) -> Self {
        let n = 1 + numbers.below(longest) as usize;
        let (kind, weighing) = (numbers.below(7), numbers.below(5));
        let size = if numbers.below(3) == 0 { numbers.ten_to(-20.0, 20.0) } else { 1.0 };
        let values: Vec<f64> = (0..n)
            .map(|i| {
                size * match kind {
                    0 => numbers.normal(),
                    1 => numbers.normal().round(),
                    2 => f64::from(numbers.below(2)),
                    3 => 5.0 * (i / 7 % 3) as f64 + numbers.normal(),
                    4 => (1e3 * (i / 9 % 2) as f64) + 1e-3 * numbers.normal(),
                    5 => (5 * (i / 6 % 2)) as f64 + numbers.normal() + f64::from(20 * (numbers.below(6) / 5)),
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
        let unit = if numbers.below(4) > 0 { size } else { 1.0 };
        let noise_sd =
            Some(unit * if numbers.below(4) > 0 { numbers.ten_to(-1.0, 0.5) } else { numbers.ten_to(-3.0, 3.0) });
        let penalty = Some(numbers.ten_to(-1.0, 1.5));
        let least_readings = if numbers.below(2) == 0 { 1 } else { 1 + numbers.below(7) as usize };
        Self { values, weights, hard, options: FitOptions { loss, noise_sd, penalty, least_readings } }
    }

    fn fit(&self) -> Fit {
        fit(&self.values, &self.weights, &self.hard, &self.options).expect("good readings")
    }

    /// Whether these readings may be a segment: all between two hard breaks, or enough with weight.
    fn allows(&self, start: usize, end: usize) -> bool {
        let end_of_stretch = |at| at == 0 || at == self.values.len() || self.hard.contains(&at);
        let enough = self.weights[start..end].iter().filter(|w| **w > 0.0).count() >= self.options.least_readings;
        enough || (end_of_stretch(start) && end_of_stretch(end))
    }

    /// Threshold with the noise that was used.
    fn threshold(&self, found: &Fit) -> f64 {
        match self.options.loss {
            Loss::Squares => f64::INFINITY,
            Loss::Biweight { threshold_sds } => threshold_sds * found.noise_sd,
        }
    }

    /// Least cost by trying every last segment (Jackson and others 2005): no pruning, every segment summed anew.
    fn least_cost(&self, penalty: f64, threshold: f64) -> f64 {
        let n = self.values.len();
        let mut best = vec![0.0; n + 1];
        for end in 1..=n {
            let from = self.hard.iter().copied().filter(|h| *h < end).max().unwrap_or(0);
            best[end] = (from..end)
                .filter(|&start| self.allows(start, end))
                .map(|start| {
                    let a_break = if start == 0 || self.hard.contains(&start) { 0.0 } else { penalty };
                    best[start] + a_break + segment_cost(&self.values[start..end], &self.weights[start..end], threshold)
                })
                .fold(f64::INFINITY, f64::min);
        }
        best[n]
    }

    /// Cost of the segmentation that was found, by the sums of this file: at the best means, and at those reported.
    fn costs_of(&self, found: &Fit, threshold: f64) -> (f64, f64) {
        let ends = found.starts.iter().skip(1).copied().chain([self.values.len()]);
        let breaks = found.penalty * (found.starts.len() - 1 - self.hard.len()) as f64;
        let (mut best, mut reported) = (breaks, breaks);
        for ((&start, end), &mean) in found.starts.iter().zip(ends).zip(&found.means) {
            assert!(self.allows(start, end), "{start}..{end} is too short");
            let (values, weights) = (&self.values[start..end], &self.weights[start..end]);
            best += segment_cost(values, weights, threshold);
            reported += cost_about(mean, values, weights, threshold);
        }
        (best, reported)
    }

    /// Checks the fit against trying everything.
    fn check(&self, what: &str, worst: &mut Many) -> Fit {
        let found = self.fit();
        let threshold = self.threshold(&found);
        let least = self.least_cost(found.penalty, threshold);
        // 1e-9 is the promise. Where the cost is nothing but rounding, the rounding of the heaviest square is allowed.
        let heaviest = self.weights.iter().zip(&self.values).fold(0.0, |most: f64, (w, v)| most.max(w * v * v));
        let allowed = 1e-9 * least + 1e-28 * heaviest;
        let (best, reported) = self.costs_of(&found, threshold);
        // Means are centred and put back: a rounding or two of the largest value, squared, for all the weight.
        let largest = self.values.iter().fold(0.0, |most: f64, v| most.max(v.abs()));
        let rounded = 1e-31 * largest * largest * self.weights.iter().sum::<f64>();
        for (cost, allowed, name) in [
            (best, allowed, "best means"),
            (found.cost, allowed, "reported cost"),
            (reported, allowed + rounded, "reported means"),
        ] {
            let off = if cost == least { 0.0 } else { (cost - least).abs() / allowed };
            worst.error(off, || format!("{what}: {cost} ({name}), least {least}"));
        }
        assert!(self.hard.iter().all(|h| found.starts.contains(h)), "{what}");
        found
    }

    /// Whether the least length makes a difference.
    fn is_held_back(&self, found: &Fit) -> bool {
        let options = FitOptions { least_readings: 1, ..self.options.clone() };
        fit(&self.values, &self.weights, &self.hard, &options).expect("good readings").starts != found.starts
    }
}

#[test]
fn squares_are_the_least_of_all() {
    let of =
        reference("segmentation", "every last segment tried, each summed anew (Jackson and others 2005)", Mark::Exact);
    let mut worst = of
        .many("cost by squares", "of what is allowed: 1e-9 of the least, and rounding", 1.0, "the promise")
        .claimed("1e-9");
    let mut numbers = Numbers(1);
    let (mut breaks, mut held_back) = (0, 0);
    for problem in 0..4_000 {
        let tried = Problem::random(&mut numbers, 40, Loss::Squares);
        let found = tried.check(&format!("problem {problem}"), &mut worst);
        breaks += found.starts.len() - 1 - tried.hard.len();
        held_back += usize::from(tried.is_held_back(&found));
    }
    worst.done(12_000); // three costs each
    assert!(breaks > 4_000 && held_back > 300, "there is something to find: {breaks} breaks, {held_back} held back");
}

#[test]
fn biweight_is_the_least_of_all() {
    let of = reference("segmentation", "every last segment tried at every set of readings", Mark::Exact);
    let mut worst = of
        .many("cost by the biweight", "of what is allowed: 1e-9 of the least, and rounding", 1.0, "the promise")
        .claimed("1e-9");
    let mut numbers = Numbers(6);
    let (mut breaks, mut held_back, mut spared) = (0, 0, 0);
    for problem in 0..4_000 {
        // Every segment is tried at every set of readings, which grows with the fifth power.
        let longest = if problem % 100 == 0 { 60 } else { 25 };
        let loss = Loss::Biweight { threshold_sds: 1.0 + 4.0 * numbers.uniform() };
        let tried = Problem::random(&mut numbers, longest, loss);
        let found = tried.check(&format!("problem {problem}"), &mut worst);
        breaks += found.starts.len() - 1 - tried.hard.len();
        held_back += usize::from(tried.is_held_back(&found));
        let options = FitOptions { loss: Loss::Squares, ..tried.options.clone() };
        let squares = fit(&tried.values, &tried.weights, &tried.hard, &options).unwrap();
        spared += usize::from(squares.starts != found.starts);
    }
    worst.done(12_000);
    let found = format!("{breaks} breaks, {held_back} held back, {spared} other than by squares");
    assert!(breaks > 2_000 && held_back > 300 && spared > 400, "there is something to find: {found}");
}

/// Costs are multiples of 1/(8 LENGTHS), a multiple of every length up to 16; nothing is rounded.
const LENGTHS: i128 = 720_720;

/// Least cost of a segment in whole numbers. The readings within the threshold are neighbours in order of value; other
/// readings left aside than those beyond the threshold only make it dearer.
fn exact_segment_cost(values: &[i128], threshold: Option<i128>) -> i128 {
    let mut sorted = values.to_vec();
    sorted.sort_unstable();
    let n = sorted.len();
    let cost = |from: usize, to: usize| {
        let kept = &sorted[from..to];
        let (sum, square): (i128, i128) = (kept.iter().sum(), kept.iter().map(|v| v * v).sum());
        let aside = (n - kept.len()) as i128 * threshold.map_or(0, |t| t * t);
        8 * LENGTHS * (square + aside) - 8 * sum * sum * (LENGTHS / kept.len() as i128)
    };
    match threshold {
        None => cost(0, n),
        Some(_) => (0..n).flat_map(|i| (i + 1..=n).map(move |k| cost(i, k))).min().expect("n > 0"),
    }
}

/// The optimum in whole numbers: least cost, then fewest breaks, then the earliest last break, and so on back; and how
/// many optima there are.
fn exact_starts(values: &[i128], eighths: i128, threshold: Option<i128>, least: usize) -> (usize, Vec<usize>) {
    let n = values.len();
    let mut best: Vec<Option<(i128, usize, Vec<usize>)>> = vec![Some((0, 0, Vec::new()))];
    let mut ways = vec![1_usize];
    for end in 1..=n {
        let options: Vec<(i128, usize, Vec<usize>)> = (0..end)
            .filter(|&start| end - start >= least || (start, end) == (0, n))
            .filter_map(|start| {
                let (before, breaks, starts) = best[start].as_ref()?;
                let cost = exact_segment_cost(&values[start..end], threshold);
                let a_break = usize::from(start > 0);
                let all = [starts.as_slice(), &[start]].concat();
                Some((before + cost + a_break as i128 * eighths * LENGTHS, breaks + a_break, all))
            })
            .collect();
        let lowest = options.iter().map(|o| o.0).min();
        let tied = options.iter().filter(|o| Some(o.0) == lowest);
        ways.push(tied.clone().map(|o| ways[o.2[o.2.len() - 1]]).sum());
        // The last start decides first, so `options` in order of start is in order of preference.
        let fewest = tied.clone().map(|o| o.1).min();
        best.push(tied.clone().find(|o| Some(o.1) == fewest).cloned());
    }
    (ways[n], best.pop().flatten().expect("the whole is allowed").2)
}

/// How many of `problems` had several optima.
fn check_ties(seed: u64, problems: u32, longest: u32, biweight: bool) -> usize {
    let mut numbers = Numbers(seed);
    let mut tied = 0;
    for problem in 0..problems {
        let n = 1 + numbers.below(longest);
        let top = 2 + numbers.below(if biweight { 7 } else { 4 });
        let whole: Vec<i128> = (0..n).map(|_| i128::from(numbers.below(top))).collect();
        // Halves and eighths; halves tie more often.
        let eighths =
            i128::from(if numbers.below(2) == 0 { 4 * (1 + numbers.below(5)) } else { 1 + numbers.below(40) });
        let threshold = biweight.then(|| 1 + numbers.below(3));
        let least = if numbers.below(2) == 0 { 1 } else { 1 + numbers.below(5) as usize };
        let values: Vec<f64> = whole.iter().map(|v| *v as f64).collect();
        let (ways, starts) = exact_starts(&whole, eighths, threshold.map(i128::from), least);
        let loss = threshold.map_or(Loss::Squares, |sds| Loss::Biweight { threshold_sds: f64::from(sds) });
        let how = FitOptions { loss, least_readings: least, ..options(eighths as f64 / 8.0) };
        let found = fit(&values, &vec![1.0; n as usize], &[], &how).expect("good readings");
        assert_eq!(found.starts, starts, "problem {problem}: {whole:?}, penalty {eighths}/8, {how:?}, {ways} optima");
        tied += usize::from(ways > 1);
    }
    tied
}

#[test]
fn ties_go_to_the_fewest_then_the_earliest_breaks() {
    let tied = check_ties(2, 9_000, 16, false);
    assert!(tied > 500, "ties are tried: {tied}");
    let tied = check_ties(7, 6_000, 12, true);
    assert!(tied > 500, "ties are tried with the biweight loss: {tied}");
}

/// No noise, sd 1, penalty 20, K = 3: a break is worth 20/9 = 2.2 readings cut off, two breaks 4.4.
#[test]
fn biweight_leaves_spikes_aside_and_keeps_steps() {
    let starts = |loss: Loss, apart: std::ops::Range<usize>, height: f64| {
        let values: Vec<f64> = (0..100).map(|i| if apart.contains(&i) { height } else { 0.0 }).collect();
        fit(&values, &[1.0; 100], &[], &FitOptions { loss, ..options(20.0) }).unwrap().starts
    };
    for height in [-100.0, 10.0, 1e6] {
        for length in 1..=4 {
            assert_eq!(starts(Loss::biweight(), 40..40 + length, height), [0], "a spike");
            assert_eq!(starts(Loss::Squares, 40..40 + length, height), [0, 40, 40 + length]);
        }
        assert_eq!(starts(Loss::biweight(), 40..45, height), [0, 40, 45], "a short segment");
        assert_eq!(starts(Loss::biweight(), 40..100, height), [0, 40], "a step");
        assert_eq!(starts(Loss::biweight(), 97..100, height), [0, 97], "a step at the end");
        assert_eq!(starts(Loss::biweight(), 98..100, height), [0], "a spike at the end");
    }
    // Of two means that cost the same, either, not one between; a reading apart at a break goes with what follows.
    let how = FitOptions { loss: Loss::biweight(), ..options(20.0) };
    let tied = fit(&[9.0, 9.0, 0.0, 0.0], &[1.0; 4], &[], &how).unwrap();
    assert!(tied.means == [0.0] || tied.means == [9.0], "{tied:?}");
    // A heavier penalty makes no difference between means coarser.
    let how_heavy = FitOptions { penalty: Some(1e14), ..how.clone() };
    let values = [9.0, 9.0 - 1e-3, 0.0, 0.0];
    assert_eq!(fit(&values, &[1.0; 4], &[], &how_heavy).unwrap().means, [0.0]);
    let values = [9.0, 9.0, 0.0, 1e-3];
    assert_eq!(fit(&values, &[1.0; 4], &[], &how_heavy).unwrap().means, [9.0]);
    let found = fit(&[0.0, 0.0, 0.0, 0.0, 99.0, 9.0, 9.0, 9.0, 9.0], &[1.0; 9], &[], &how).unwrap();
    assert_eq!((found.starts, found.means), (vec![0, 4], vec![0.0, 9.0]));
}

/// Unit noise, a step of 2 sds, and every 13th reading (on average) anywhere: as if those were not there.
#[test]
fn biweight_finds_a_step_among_spikes() {
    let mut numbers = Numbers(8);
    let mut values: Vec<f64> = (0..600).map(|i| if i < 300 { 0.0 } else { 2.0 } + numbers.normal()).collect();
    let mut weights = vec![1.0; 600];
    let how = FitOptions { loss: Loss::biweight(), noise_sd: Some(1.0), ..FitOptions::default() };
    for i in 0..600 {
        if numbers.below(13) == 0 {
            weights[i] = 0.0;
            values[i] = if numbers.below(2) == 0 { 1.0 } else { -1.0 } * numbers.ten_to(1.0, 6.0);
        }
    }
    let without = fit(&values, &weights, &[], &how).unwrap();
    let with = fit(&values, &[1.0; 600], &[], &how).unwrap();
    assert_eq!(with.starts.len(), 2);
    assert!(with.starts[1].abs_diff(300) < 8, "{:?}", with.starts); // few readings tell a step of 2 sds
    // Rounding of numbers up to 1e6, of which those of 1 are left.
    assert!(with.means.iter().zip(&without.means).all(|(a, b)| (a - b).abs() < 1e-9), "{with:?}, {without:?}");
    let squares = fit(&values, &[1.0; 600], &[], &FitOptions { loss: Loss::Squares, ..how }).unwrap();
    assert!(squares.starts.len() > 40, "squares make a segment of every spike");
}

#[test]
fn a_threshold_out_of_reach_is_squares() {
    let values = sticks(2_000, 9);
    let found = |loss, least_readings| {
        fit(&values, &[1.0; 2_000], &[], &FitOptions { loss, least_readings, ..FitOptions::default() }).unwrap()
    };
    for least in [1, 3, 45] {
        let squares = found(Loss::Squares, least);
        assert!(squares.starts.len() > 20);
        assert_eq!(found(Loss::Biweight { threshold_sds: 1e6 }, least), squares);
    }
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
    let of = reference(
        "segmentation",
        "Nile 1871 to 1970, Cobb 1978; break also printed by the strucchange package",
        Mark::Memory,
    );
    of.same("breaks after the 28 years to 1898", found.starts, vec![0, 28]);
    let half = "half a unit of the sixth decimal";
    let apart = reference("segmentation", "Nile 1871 to 1970, sums by hand", Mark::Computed);
    apart.check("mean before", found.means[0], 1097.75, Absolute(5e-7), half);
    apart.check("mean after", found.means[1], 849.972222, Absolute(5e-7), half);
    apart.check("sum of squares", found.cost - found.penalty, 1597457.194444, Absolute(5e-7), half);
    // The best pair of breaks with at least 5 years between is 19 and 28. A penalty alone prefers to cut out single
    // years, so the pair is given and only its sum of squares checked.
    let pair = fit(&nile.flow, &weights, &[19, 28], &options(1e9)).unwrap();
    assert_eq!(pair.starts, [0, 19, 28]);
    apart.check("sum of squares with breaks at 19 and 28", pair.cost, 1542326.657895, Absolute(5e-7), half);
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
    let of = reference("segmentation", "tests/vectors/changepoint.py (ruptures 1.1.10)", Mark::Software);
    for case in vectors.cases {
        let found = fit(&case.values, &vec![1.0; case.values.len()], &[], &options(case.penalty)).unwrap();
        let what = |part: &str| format!("{}: {part}", case.name);
        of.same(what("segments, and where they begin"), found.starts.clone(), case.starts.clone());
        of.check(what("cost"), found.cost, case.cost, Relative(1e-9), "the promise");
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
    for (loss, least_readings) in [(Loss::Squares, 1), (Loss::Squares, 6), (Loss::biweight(), 1), (Loss::biweight(), 6)]
    {
        offset_and_unit(&FitOptions { loss, least_readings, ..FitOptions::default() });
    }
}

fn offset_and_unit(how: &FitOptions) {
    let values = sticks(2_000, 3);
    let weights = vec![1.0; values.len()];
    let breaks = |values: &[f64]| fit(values, &weights, &[], how).expect("good readings");
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
        let found = breaks(&scaled);
        assert_eq!(found.starts, plain.starts, "{factor}");
        // The promised 1e-9; what the scaled values are rounded by is less.
        assert!((found.cost / (factor * factor) - plain.cost).abs() < 1e-9 * plain.cost, "{factor}");
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
    for loss in [Loss::Squares, Loss::biweight()] {
        let how = FitOptions { loss, ..FitOptions::default() };
        let broken = (0..500)
            .filter(|&seed| {
                let mut numbers = Numbers(1_000 + seed);
                let values: Vec<f64> = (0..600).map(|_| numbers.normal()).collect();
                fit(&values, &[1.0; 600], &[], &how).unwrap().starts.len() > 1
            })
            .count();
        assert!(broken <= 10, "{broken} of 500, {loss:?}");
    }
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
    for threshold_sds in [f64::NAN, f64::INFINITY, -1.0, 0.0, 0.99, 1e7] {
        let how = FitOptions { loss: Loss::Biweight { threshold_sds }, ..FitOptions::default() };
        assert!(fit(&[1.0], &[1.0], &[], &how).is_err(), "threshold {threshold_sds}");
    }
    assert!(fit(&[1.0], &[1.0], &[], &FitOptions { least_readings: 0, ..FitOptions::default() }).is_err());
    // A stretch that is too short stays whole, also among others.
    for loss in [Loss::Squares, Loss::biweight()] {
        let how = FitOptions { loss, least_readings: usize::MAX, ..options(1.0) };
        let found = fit(&[0.0, 0.0, 9.0, 9.0, 1.0], &[1.0; 5], &[4], &how).unwrap();
        assert_eq!(found.starts, [0, 4]);
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

fn any_loss() -> impl Strategy<Value = Loss> {
    prop_oneof![Just(Loss::Squares), (1.0..5.0).prop_map(|threshold_sds| Loss::Biweight { threshold_sds })]
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
        loss in any_loss(),
        least_readings in 1_usize..4,
    ) {
        let usable = |x: f64| if x.abs() <= 1e100 { x } else { 1.0 };
        let values: Vec<f64> = rows.iter().map(|r| if tame { usable(r.0) } else { r.0 }).collect();
        let weights: Vec<f64> = rows.iter().map(|r| if tame { usable(r.1).abs().clamp(1e-50, 9e49) } else { r.1 }).collect();
        let hard = if tame { Vec::new() } else { hard };
        let noise_sd = if tame { noise_sd.map(|x| usable(x).abs()) } else { noise_sd };
        let penalty = if tame { penalty.map(|x| usable(x).abs().clamp(1e-12, 9e49)) } else { penalty };
        let how = FitOptions { loss, noise_sd, penalty, least_readings };
        let found = fit(&values, &weights, &hard, &how);
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
        let _ = Chain::fitted(&station, &values, &weights, &[3.5], &how);
        let _ = Chain::new(values.clone(), weights.clone());
        let _ = noise_sd.map(|resolution| spread_sd(&values, &weights, resolution));
    }

    #[test]
    fn backwards_costs_the_same(
        rows in prop::collection::vec((-10.0..10.0, 0.1..10.0), 1..80),
        penalty in 0.1..100.0,
        loss in any_loss(),
        least_readings in 1_usize..6,
    ) {
        let (mut values, mut weights): (Vec<f64>, Vec<f64>) = rows.into_iter().unzip();
        let how = FitOptions { loss, least_readings, ..options(penalty) };
        let forwards = fit(&values, &weights, &[], &how).unwrap();
        values.reverse();
        weights.reverse();
        let backwards = fit(&values, &weights, &[], &how).unwrap();
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

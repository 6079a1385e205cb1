//! The statistics against what others have published.
#![allow(clippy::unwrap_used, reason = "the helpers of a test may panic as the test may")]

use fallwise::{
    Chain, Instrument,
    adjust::{SegmentMean, SetupNoise, adjust},
    chain::{FitOptions, fit},
    math::{self, Random},
    path::Layout,
};
use fallwise_record::{
    Mark,
    Tolerance::{Absolute, Relative},
    reference,
};

/// Mean and standard deviation of numbers, by the fit with a price that no break is worth.
fn mean_and_sd(values: &[f64]) -> (f64, f64) {
    let options = FitOptions { noise_sd: Some(1.0), penalty: Some(1e40), ..FitOptions::default() };
    let found = fit(values, &vec![1.0; values.len()], &[], &options).unwrap();
    assert_eq!(found.starts, [0]);
    let mean = found.means[0];
    let squares: f64 = values.iter().map(|v| (v - mean) * (v - mean)).sum();
    // What the fit itself says of the squares must be the same.
    assert!((found.cost / squares - 1.0).abs() < 1e-9, "{} {squares}", found.cost);
    (mean, (squares / (values.len() as f64 - 1.0)).sqrt())
}

/// The readings of Michelson (1879) are those of the public dataset; that both certified values come out to the last digit says that they
/// are right.
#[test]
fn nist_univariate() {
    let of =
        reference("segmentation", "NIST Statistical Reference Datasets, univariate, certified values", Mark::Memory);
    let michelson = [
        850, 740, 900, 1070, 930, 850, 950, 980, 980, 880, 1000, 980, 930, 650, 760, 810, 1000, 1000, 960, 960, 960,
        940, 960, 940, 880, 800, 850, 880, 900, 840, 830, 790, 810, 880, 880, 830, 800, 790, 760, 800, 880, 880, 880,
        860, 720, 720, 620, 860, 970, 950, 880, 910, 850, 870, 840, 840, 850, 840, 840, 840, 890, 810, 810, 820, 800,
        770, 760, 740, 750, 760, 910, 920, 890, 860, 880, 720, 840, 850, 850, 780, 890, 840, 780, 810, 760, 810, 790,
        810, 820, 850, 870, 870, 810, 740, 810, 940, 950, 800, 810, 870,
    ];
    let michelson: Vec<f64> = michelson.iter().map(|v| 299.0 + f64::from(*v) / 1000.0).collect();
    let pairs = |first: f64, low: f64, high: f64| {
        let mut values = vec![first];
        (0..500).for_each(|_| values.extend([low, high]));
        values
    };
    let cases = [
        ("NumAcc1", vec![10000001.0, 10000003.0, 10000002.0], 10000002.0, 1.0),
        ("NumAcc3", pairs(1000000.2, 1000000.1, 1000000.3), 1000000.2, 0.1),
        ("NumAcc4", pairs(10000000.2, 10000000.1, 10000000.3), 10000000.2, 0.1),
        ("Michelso", michelson, 299.8524, 0.0790105478190518),
    ];
    for (name, values, mean, sd) in cases {
        let (found, found_sd) = mean_and_sd(&values);
        of.check(format!("{name}: mean"), found, mean, Relative(2.0 * f64::EPSILON), "two roundings");
        let digits = if name == "NumAcc4" { 2e-8 } else { 2e-9 };
        let why =
            "decimal fractions as doubles are off by half an ulp of the values, 1e-9 at ten million: 1e-8 of a tenth";
        of.check(format!("{name}: standard deviation"), found_sd, sd, Relative(digits), why);
    }
}

/// Borehole inclinometers: a random error of 0.007 inch and a systematic one of 0.005 inch a reading add up to 0.050 and 0.250 inch over
/// fifty readings (Mikkelsen, *Advances in inclinometer data analysis*, Symposium on Field Measurements in Geomechanics 2003, from memory;
/// the same numbers stand in makers' handbooks): the one by the square root of their number, the other by the number.
#[test]
fn errors_of_inclinometers_add_up_as_published() {
    let inch = 0.0254;
    let reading_m = 0.5;
    let end_sd_m = |random_m: f64, systematic_m: f64| {
        let breaks_m: Vec<f64> = (0..=50).map(|k| reading_m * f64::from(k)).collect();
        let chain = Chain::new(breaks_m, vec![0.0; 50]).unwrap();
        let means: Vec<SegmentMean> = (0..50)
            .map(|segment| SegmentMean {
                segment,
                setup: 0,
                mean_rad: 0.0,
                weight: 1.0,
                readings: 1,
                drift_share: 0.0,
                roll_sine: 0.0,
            })
            .collect();
        let setup = SetupNoise {
            run: 0,
            pulled: false,
            zero_sign: 1.0,
            noise_sd_rad: random_m / reading_m,
            rounding_sd_rad: 0.0,
        };
        let instrument = Instrument { zero_sd_rad: systematic_m / reading_m, ..Instrument::exact() };
        let posterior = adjust(&chain, &means, &[setup], &instrument, &[], &[]).unwrap();
        let layout = Layout::new(&chain.breaks_m, &[], &[], &[]).unwrap();
        let profile = layout.profile(&posterior.tilt_rad, posterior.scale, None);
        *posterior.height_sd_m(&layout, &profile, fallwise::adjust::Anchor::Station(0.0)).last().unwrap()
    };
    let (random, systematic) = (end_sd_m(0.007 * inch, 0.0) / inch, end_sd_m(0.0, 0.005 * inch) / inch);
    let of = reference("adjustment", "Mikkelsen, Advances in inclinometer data analysis, 2003", Mark::Memory);
    let why = "printed for 0.0495: to a hundredth of an inch";
    of.check("random errors of 50 readings, in", random, 0.050, Absolute(0.005), why);
    of.check("the same, 0.007 times the root of 50", random, 0.0495, Absolute(0.00005), "half of the last digit");
    of.check("systematic errors of 50 readings, in", systematic, 0.250, Absolute(0.0005), "to a thousandth of an inch");
    let both = end_sd_m(0.007 * inch, 0.005 * inch) / inch;
    let why = "the least variance that a mean is given, a tenth of a microradian";
    of.check("both together, as squares, in", both, math::hypot(random, systematic), Relative(1e-6), why);
}

/// The error of an ideal quantiser has the standard deviation q/sqrt 12 (Bennett, *Spectra of quantized signals*, Bell System Technical
/// Journal 27, 1948; IEEE Std 1241, both from memory), and dither of half a step and more makes its mean vanish (Widrow and Kollár,
/// *Quantization Noise*, 2008, from memory).
#[test]
fn quantisation_errs_as_published() {
    let of = reference("noise", "Bennett 1948; Widrow and Kollár 2008", Mark::Memory);
    let sd = math::rounding_error_sd(1.0, 0.0);
    of.check("rounding to steps of 1 without noise", sd, 1.0 / 12.0_f64.sqrt(), Absolute(1e-15), "roundings");
    let sd = math::rounding_error_sd(1.0, 0.5);
    of.check("with noise of half a step", sd, 0.0, Absolute(0.002), "vanishes to all intents and purposes");
    // And as it is found in numbers: uniform values rounded.
    let mut random = Random::new(1, 0, 0);
    let squares: f64 = (0..100_000).map(|_| 50.0 * random.uniform()).map(|x| (x - x.round()) * (x - x.round())).sum();
    let why = "the square of a uniform error has a standard deviation of 0.0745: 4 of 1e5 of them";
    of.check(
        "variance of 100,000 rounded numbers",
        squares / 1e5,
        1.0 / 12.0,
        Absolute(4.0 * 0.0745 / 1e5_f64.sqrt()),
        why,
    );
}

/// Variance of the mean of a first-order autoregressive series: against the sum over all pairs, and against the effective number n
/// (1 - rho)/(1 + rho) of Bayley and Hammersley (Supplement to the Journal of the Royal Statistical Society 8, 1946, from memory).
#[test]
fn the_mean_of_correlated_readings_varies_as_published() {
    let by_pairs = reference("noise", "the sum over all pairs", Mark::Exact);
    let effective = reference("noise", "Bayley and Hammersley 1946", Mark::Memory);
    let why = "sums of up to 56,169 positive terms, each right to a few roundings of its power";
    let mut many = by_pairs.many("ar1_mean_variance", "relative, over the number of readings", 1e-13, why);
    for rho in [0.0, 0.3, 0.9, 0.999, 1.0 - 1e-9, 1.0] {
        for n in [1_i32, 2, 3, 7, 10, 64, 100, 237] {
            let pairs: f64 = (0..n).flat_map(|i| (0..n).map(move |j| math::pow(rho, f64::from((i - j).abs())))).sum();
            let direct = pairs / f64::from(n * n);
            let found = math::ar1_mean_variance(usize::try_from(n).unwrap(), rho);
            many.error((found / direct - 1.0).abs() / f64::from(n), || format!("{n} readings, {rho}"));
        }
        let long = math::ar1_mean_variance(1_000_000, rho);
        if rho < 0.95 {
            let number = 1e6 * (1.0 - rho) / (1.0 + rho);
            let why = "the next term of the series is 2 rho / (n (1 - rho)²)";
            effective.check(
                format!("effective number of 1e6 readings, rho {rho}"),
                1.0 / long,
                number,
                Relative(2e-4),
                why,
            );
        }
    }
    many.done(48);
}

use approx::assert_relative_eq;
use nalgebra::{DMatrix, DVector};

use super::*;
use crate::{
    math::{self, Random},
    model::Flow,
    path::Layout,
    profile::Draws,
};

const DEGREE: f64 = core::f64::consts::PI / 180.0;

/// Ten segments of 3 m with 60 readings each, 0.25 degree noise, slope 2 %.
fn thirty_metres(
    instrument: &Instrument,
    runs: &[SetupNoise],
    offsets: &[f64],
) -> (Chain, Vec<SegmentMean>, Posterior) {
    let tilt = math::atan(0.02);
    let chain = Chain::new((0..=10).map(|k| 3.0 * f64::from(k)).collect(), vec![tilt; 10]).unwrap();
    let means: Vec<SegmentMean> = (0..10)
        .flat_map(|segment| {
            runs.iter().enumerate().map(move |(setup, r)| SegmentMean {
                segment,
                setup,
                mean_rad: tilt + r.zero_sign * offsets[setup],
                weight: 60.0,
                readings: 60,
                drift_share: 0.0,
                roll_sine: 0.0,
            })
        })
        .collect();
    let posterior = adjust(&chain, &means, runs, instrument, &[], &[]).unwrap();
    (chain, means, posterior)
}

fn white(zero_sign: f64) -> SetupNoise {
    SetupNoise { run: 0, pulled: false, zero_sign, noise_sd_rad: 0.25 * DEGREE, rounding_sd_rad: 0.0 }
}

fn only_zero() -> Instrument {
    Instrument { seating_sd_rad: 0.0, counter_scale: 0.0, counter_scale_sd: 0.0, ..Instrument::default() }
}

#[test]
fn one_run_carries_its_zero_error_into_every_slope() {
    // Worked by hand: white part 0.25°/√60 = 0.03227°, so a segment's slope has sd √(0.3² + 0.03227²)° (1 + 0.02²)
    // = 0.5268 %, the whole √(0.3² + 0.03227²/10)° (1 + 0.02²) = 0.5241 %, and the end 30 m cos t times the latter.
    let (chain, _, p) = thirty_metres(&only_zero(), &[white(1.0)], &[0.0]);
    let layout = Layout::new(&chain.breaks_m, &[], &[], &[]).unwrap();
    let profile = layout.profile(&p.tilt_rad, p.scale, None);
    let segment = p.slope(&layout, &profile, Flow::Increasing, 0.0, 3.0).unwrap();
    let whole = p.slope(&layout, &profile, Flow::Increasing, 0.0, 30.0).unwrap();
    let secant2 = 1.0 + 0.02 * 0.02;
    let white = 0.25 / 60.0_f64.sqrt();
    // 1e-9: the closed form is exact; only rounding separates the two.
    assert_relative_eq!(segment.sd, (0.09 + white * white).sqrt() * DEGREE * secant2, max_relative = 1e-9);
    assert_relative_eq!(whole.sd, (0.09 + white * white / 10.0).sqrt() * DEGREE * secant2, max_relative = 1e-9);
    assert_relative_eq!(whole.value, 0.02, max_relative = 1e-12);
    let end = p.height_sd_m(&layout, &profile, Anchor::Station(0.0));
    let cos = 1.0 / secant2.sqrt();
    let expected = 30.0 * cos * (0.09 + white * white / 10.0).sqrt() * DEGREE;
    assert_relative_eq!(*end.last().unwrap(), expected, max_relative = 1e-9);
    // To the digits an engineer would quote: 157 mm over 30 m.
    assert!((expected - 0.1571).abs() < 1e-4, "{expected}");
    // One run says nothing of the zero: the posterior is the prior.
    assert_relative_eq!(p.parameter(ZERO).unwrap().sd, 0.3 * DEGREE, max_relative = 1e-9);
    let fall = p.fall(&layout, &profile, Flow::Increasing, 0.0, 30.0);
    assert_relative_eq!(fall.sd, expected, max_relative = 1e-9);
    // From within a segment: two parts of it, each way; one value a node, whatever the anchor.
    for anchor_m in [-5.0, 0.0, 4.5, 15.0, 29.9, 30.0, 99.0, f64::NAN] {
        let sd = p.height_sd_m(&layout, &profile, Anchor::Station(anchor_m));
        assert_eq!(sd.len(), profile.station_m.len(), "{anchor_m}");
        for (sd, &station_m) in sd.iter().zip(&profile.station_m) {
            let (a, b) = (station_m.min(anchor_m), station_m.max(anchor_m));
            if (0.0..=30.0).contains(&anchor_m) {
                let fall = p.fall(&layout, &profile, Flow::Increasing, a, b);
                assert_relative_eq!(*sd, fall.sd, max_relative = 1e-9, epsilon = 1e-12);
            }
        }
    }
    // All segments are alike, so that seen from the other end the heights are as sure, end for end.
    let from_last = p.height_sd_m(&layout, &profile, Anchor::Station(30.0));
    for (a, b) in end.iter().zip(from_last.iter().rev()) {
        assert_relative_eq!(a, b, max_relative = 1e-9);
    }
}

#[test]
fn a_run_from_the_other_end_finds_the_zero() {
    // The offset of 0.2 degrees enters one run with +, the other with -: half the difference of the means is the zero.
    let runs = [white(1.0), white(-1.0)];
    let (_, _, p) = thirty_metres(&only_zero(), &runs, &[0.2 * DEGREE, 0.2 * DEGREE]);
    let zero = &p.parameters[0];
    // Information of the data on b: 10 segments x 2/v with v the variance of a mean, against 1/0.3² of the prior.
    let v = 0.25 * 0.25 / 60.0;
    let sd = 1.0 / (1.0_f64 / 0.09 + 20.0 / v).sqrt();
    // 1e-9 for rounding of a 2 x 2 system whose prior is singular (one head).
    assert_relative_eq!(zero.sd, sd * DEGREE, max_relative = 1e-9);
    let shrunk = 0.2 * (1.0 - sd * sd / 0.09);
    assert_relative_eq!(zero.value, shrunk * DEGREE, max_relative = 1e-9);
}

#[test]
fn agrees_with_a_dense_solution() {
    // Three runs, five segments, some pairs missing; the dense problem holds tilts and offsets together, with the prior
    // as observations through its Cholesky factor.
    let instrument =
        Instrument { zero_rad: 0.1 * DEGREE, counter_scale: 0.0, counter_scale_sd: 0.0, ..Instrument::default() };
    let runs = [
        white(1.0),
        SetupNoise { run: 1, ..white(-1.0) },
        SetupNoise { run: 1, pulled: true, rounding_sd_rad: 0.05 * DEGREE, ..white(-1.0) },
    ];
    let mut random = Random::new(7, 0, 0);
    let (n, r) = (5, runs.len());
    let mut means = Vec::new();
    for segment in 0..n {
        for run in 0..r {
            if (segment + run) % 4 == 3 {
                continue;
            }
            let mean_rad = 0.02 + 0.005 * random.normal();
            means.push(SegmentMean {
                segment,
                setup: run,
                mean_rad,
                weight: 5.0 + segment as f64,
                readings: 5,
                drift_share: random.uniform(),
                roll_sine: random.uniform() - 0.5,
            });
        }
    }
    let chain = Chain::new((0..=n).map(|k| k as f64).collect(), vec![0.0; n]).unwrap();
    let p = adjust(&chain, &means, &runs, &instrument, &[], &[]).unwrap();

    let (zero, seating) = (instrument.zero_sd_rad, instrument.seating_sd_rad);
    let own = |i: usize| seating * seating + runs[i].rounding_sd_rad * runs[i].rounding_sd_rad;
    let prior = DMatrix::from_fn(r, r, |i, j| zero * zero + if i == j { own(i) } else { 0.0 });
    let information = prior.clone().try_inverse().unwrap();
    // Tilts, offsets, two drifts, the error across the axis.
    let size = n + r + 3;
    let mut normal = DMatrix::zeros(size, size);
    let mut right = DVector::zeros(size);
    normal.view_mut((n, n), (r, r)).copy_from(&information);
    right.rows_mut(n, r).copy_from(&(&information * DVector::from_element(r, instrument.zero_rad)));
    for (i, sd) in [instrument.drift_sd_rad, instrument.drift_sd_rad, instrument.roll_sd_rad].into_iter().enumerate() {
        normal[(n + r + i, n + r + i)] = 1.0 / (sd * sd);
    }
    for m in &means {
        let noise = runs[m.setup];
        let w =
            1.0 / (noise.noise_sd_rad * noise.noise_sd_rad / m.weight + noise.rounding_sd_rad * noise.rounding_sd_rad);
        let mut a = DVector::zeros(size);
        a[m.segment] = 1.0;
        a[n + m.setup] = noise.zero_sign;
        a[n + r + noise.run] = noise.zero_sign * m.drift_share;
        a[n + r + 2] = noise.zero_sign * m.roll_sine;
        normal += w * &a * a.transpose();
        right += w * m.mean_rad * &a;
    }
    let covariance = normal.try_inverse().unwrap();
    let solution = &covariance * right;
    for k in 0..n {
        // 1e-9: condition number of the dense system is about 1e5; eliminated form and inverse differ by its rounding.
        assert_relative_eq!(p.tilt_rad[k], solution[k], max_relative = 1e-9);
        for q in 0..n {
            assert_relative_eq!(p.tilt_covariance(k, q), covariance[(k, q)], max_relative = 1e-9, epsilon = 1e-16);
        }
    }
    // The zero itself: an unknown more, of which the offsets are noisy observations in the prior.
    let gain = information.clone() * DVector::from_element(r, zero * zero);
    let offsets = solution.rows(n, r).into_owned();
    let offset_covariance = covariance.view((n, n), (r, r)).into_owned();
    let mean = instrument.zero_rad + gain.dot(&(offsets - DVector::from_element(r, instrument.zero_rad)));
    let variance = zero * zero - gain.dot(&(&prior * &gain)) + gain.dot(&(&offset_covariance * &gain));
    let found = p.parameter(ZERO).unwrap();
    assert_relative_eq!(found.value, mean, max_relative = 1e-8);
    assert_relative_eq!(found.sd, variance.sqrt(), max_relative = 1e-8);
    for i in 0..r + 3 {
        assert_relative_eq!(p.parameters[i].value, solution[n + i], max_relative = 1e-8);
        assert_relative_eq!(p.parameters[i].sd, covariance[(n + i, n + i)].sqrt(), max_relative = 1e-8);
    }
}

#[test]
fn a_zero_known_exactly_is_held_exactly() {
    let instrument = Instrument { zero_rad: 0.25 * DEGREE, zero_sd_rad: 0.0, ..only_zero() };
    let (_, _, p) = thirty_metres(&instrument, &[white(1.0), white(-1.0)], &[0.1 * DEGREE, 0.1 * DEGREE]);
    assert!(p.sources.is_empty());
    assert_eq!(p.parameters[0].value, instrument.zero_rad);
    assert_eq!(p.parameters[0].sd, 0.0);
}

#[test]
fn one_run_without_noise_says_nothing_of_its_offset() {
    let exact = SetupNoise { noise_sd_rad: 0.0, ..white(1.0) };
    let instrument = Instrument { zero_rad: 0.1 * DEGREE, ..Instrument::default() };
    let (_, _, p) = thirty_metres(&instrument, &[exact], &[0.1 * DEGREE]);
    // 1e-12: rounding of a few sums.
    assert_relative_eq!(p.parameters[0].value, instrument.zero_rad, max_relative = 1e-12);
    assert_relative_eq!(p.tilt_rad[3], math::atan(0.02), max_relative = 1e-12);
}

#[test]
fn draws_have_the_covariance_of_the_posterior() {
    let instrument = Instrument { counter_scale: -0.008, counter_scale_sd: 0.006, ..Instrument::default() };
    let (chain, _, p) = thirty_metres(&instrument, &[white(1.0)], &[0.0]);
    let layout = Layout::new(&chain.breaks_m, &[], &[], &[]).unwrap();
    let best = layout.profile(&p.tilt_rad, p.scale, None);
    let fall = p.fall(&layout, &best, Flow::Increasing, 0.0, 30.0);
    let ensemble = Ensemble { posterior: &p, layout: &layout, count: 4000, seed: 1, lateral: 0, watch: None };
    let (mut sum, mut squares) = (0.0, 0.0);
    ensemble.for_each(&mut |profile| {
        let x = profile.fall_between(0.0, 30.0) - fall.value;
        sum += x;
        squares += x * x;
    });
    let n = ensemble.count() as f64;
    let sd = (squares / n).sqrt();
    // Sampling error of an sd from 4,000 draws is 1/√8000 = 1.1 %; four of those, with a fixed seed.
    assert_relative_eq!(sd, fall.sd, max_relative = 0.045);
    // The mean has an error of sd/√4000; the curvature of sin adds far less.
    assert!((sum / n).abs() < 4.0 * fall.sd / n.sqrt());
}

#[test]
fn lips_that_two_heights_have_in_common_are_counted_once() {
    // Two heights about their mean are half the rise between them, each: so are the lips in it.
    let layout = Layout::new(&[0.0, 4.0, 10.0], &[], &[], &[]).unwrap();
    let mut p = given(vec![0.02, 0.01], None, Vec::new(), &[], &[]);
    p.lip_variance_m = 1e-6;
    let profile = layout.profile(&p.tilt_rad, p.scale, None);
    for height in p.heights_about_mean(&layout, &profile, &[1.0, 10.0]) {
        // Some roundings.
        assert_relative_eq!(height.sd, 0.5 * (9.0 * p.lip_variance_m).sqrt(), max_relative = 1e-12);
    }
}

#[test]
fn a_draw_is_the_same_however_many_are_asked_for() {
    let (chain, _, p) = thirty_metres(&Instrument::default(), &[white(1.0)], &[0.0]);
    let layout = Layout::new(&chain.breaks_m, &[], &[], &[]).unwrap();
    let collect = |count| {
        let mut all = Vec::new();
        Ensemble { posterior: &p, layout: &layout, count, seed: 3, lateral: 2, watch: None }
            .for_each(&mut |d| all.push(d.clone()));
        all
    };
    assert_eq!(collect(3), collect(10)[..3]);
}

#[test]
fn two_runs_without_noise_are_solved_or_refused() {
    for noise_sd_rad in [0.0, 1e-9, 1e-6] {
        for sign in [1.0, -1.0] {
            let run = |zero_sign| SetupNoise { noise_sd_rad, ..white(zero_sign) };
            let offset = 0.2 * DEGREE;
            let (_, _, p) = thirty_metres(&Instrument::default(), &[run(1.0), run(sign)], &[offset, offset]);
            // From opposite ends the zero is found; the same way it stays, shared by both. The seating of 0.1 degrees
            // keeps the two apart by as much: three of its sds, and 0.2 degrees where nothing tells.
            let off = (p.tilt_rad[0] - math::atan(0.02)).abs();
            assert!(off <= if sign < 0.0 { 0.3 * DEGREE } else { offset + 1e-6 }, "{noise_sd_rad} {sign}: {off}");
            assert!(p.tilt_sd_rad(0) > 0.01 * DEGREE && p.tilt_sd_rad(0) < 0.35 * DEGREE, "{}", p.tilt_sd_rad(0));
        }
    }
}

#[test]
fn bad_instruments_are_named() {
    let (chain, means, _) = thirty_metres(&only_zero(), &[white(1.0)], &[0.0]);
    let try_with = |i: Instrument| adjust(&chain, &means, &[white(1.0)], &i, &[], &[]).unwrap_err().to_string();
    let negative = try_with(Instrument { zero_sd_rad: -1.0, ..only_zero() });
    assert_eq!(negative, "instrument.zero_sd_rad: -1 given, expected 0 to a quarter turn, in rad");
    assert!(try_with(Instrument { zero_rad: f64::NAN, ..only_zero() }).contains("instrument.zero_rad: NaN"));
    assert!(try_with(Instrument { counter_scale: 2.0, ..only_zero() }).contains("counter_scale"));
}

#[test]
fn a_segment_without_a_reading_is_named_by_its_stations() {
    let (chain, means, _) = thirty_metres(&only_zero(), &[white(1.0)], &[0.0]);
    let error = adjust(&chain, &means[..9], &[white(1.0)], &only_zero(), &[], &[]).unwrap_err();
    assert_eq!(error, Error::NoReading { from_m: 27.0, to_m: 30.0 });
}

#[test]
fn the_tails_of_the_shared_error_are_in_their_place() {
    // With no noise to speak of, every tilt is its mean plus the zero error: the share of draws beyond a quantile must be
    // that quantile's, nearer than independent draws would have it (0.007 for 1,000).
    let sharp = SetupNoise { noise_sd_rad: 1e-9, ..white(1.0) };
    let (chain, _, p) = thirty_metres(&only_zero(), &[sharp], &[0.0]);
    let layout = Layout::new(&chain.breaks_m, &[], &[], &[]).unwrap();
    for (seed, lateral) in [(0, 0), (1, 0), (7, 3)] {
        for z in [-1.959_964, -1.644_854, 0.0, 1.644_854, 1.959_964] {
            let limit = p.tilt_rad[0] + z * p.tilt_sd_rad(0);
            let mut below = 0;
            Ensemble { posterior: &p, layout: &layout, count: 1000, seed, lateral, watch: None }.for_each(
                &mut |draw| {
                    below += usize::from(draw.tilt_rad[0] < limit);
                },
            );
            let share = f64::from(u32::try_from(below).unwrap()) / 1000.0;
            // Discrepancy of the golden sequence: below 2 of 1,000 (Niederreiter 1992, §3.1, gives O(ln n / n)).
            assert!((share - math::normal_cdf(z)).abs() <= 0.002, "{seed} {lateral} {z}: {share}");
        }
    }
}

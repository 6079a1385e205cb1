//! Conditioning against logs whose pipe and flaws are known: every flaw on its own, then anything at all.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]
#![expect(clippy::float_cmp, reason = "exact values are meant where `==` stands")]

use fallwise::{
    Error, Instrument, Run,
    condition::{Action, Edit, Trace, condition},
    math,
    model::{TiltPositive, Toward},
    simulate::{self, Counts, Flaw, Flaws, Head, Rounding, Simulated, Truth},
};
use proptest::prelude::*;

const DEGREE: f64 = core::f64::consts::PI / 180.0;
const SPACING_M: f64 = 0.05;
const NOISE_RAD: f64 = 0.25 * DEGREE;

/// Sticks of 3 m with a belly in the middle.
fn truth() -> Truth {
    Truth {
        breaks_m: (0..=10).map(|i| 3.0 * f64::from(i)).collect(),
        tilt_rad: vec![0.02, 0.021, 0.019, 0.03, 0.035, -0.01, 0.0, 0.022, 0.02, 0.018],
        ..Truth::default()
    }
}

fn log(head: &Head, flaws: &[Flaw], seed: u64) -> Simulated {
    simulate::run(&truth(), head, &Flaws { list: flaws.to_vec(), counter_scale: 0.0 }, SPACING_M, seed).unwrap()
}

fn conditioned(run: &Run) -> Trace {
    condition(run, &Instrument::default(), &[]).unwrap()
}

/// Fall from the first to the last station of the trace, by the trapezoid, m.
fn fall_m(trace: &Trace) -> f64 {
    (1..trace.station_m.len())
        .map(|i| {
            (trace.station_m[i] - trace.station_m[i - 1])
                * 0.5
                * (math::sin(trace.tilt_rad[i - 1]) + math::sin(trace.tilt_rad[i]))
        })
        .sum()
}

/// Weighted mean tilt of each stick, readings within half a head of its ends left out, rad.
fn stick_means(trace: &Trace) -> Vec<f64> {
    truth()
        .breaks_m
        .windows(2)
        .map(|ends| {
            let (mut sum, mut weight) = (0.0, 0.0);
            for ((s, t), w) in trace.station_m.iter().zip(&trace.tilt_rad).zip(&trace.weight) {
                if *s > ends[0] + 0.075 && *s < ends[1] - 0.075 {
                    sum += w * t;
                    weight += w;
                }
            }
            sum / weight
        })
        .collect()
}

fn of_action(trace: &Trace, action: Action) -> usize {
    trace.edits.iter().filter(|e| e.action == action).count()
}

/// Every reading of the log is in the trace, or combined into one of it, or dropped; and only once.
fn accounted_once(run: &Run, trace: &Trace) {
    let mut times = vec![0; run.counter_m.len()];
    let used: Vec<usize> = trace.index.iter().chain(trace.pull.iter().flat_map(|p| &p.index)).copied().collect();
    for i in &used {
        times[*i] += 1;
    }
    for e in &trace.edits {
        let in_trace = used.contains(&e.index);
        match e.action {
            Action::Dropped => times[e.index] += 1,
            Action::Combined => times[e.index] += i32::from(!in_trace),
            Action::Flagged => assert!(in_trace),
        }
        assert!(!e.reason.template.is_empty());
    }
    assert!(times.iter().all(|t| *t == 1), "{times:?}");
    assert!(trace.edits.windows(2).all(|e| e[0].index < e[1].index));
    removed_fall_is_the_difference(run, trace);
}

/// The fall of the log as it stands less that of the trace is what the edits removed, and the total of it.
fn removed_fall_is_the_difference(run: &Run, trace: &Trace) {
    if run.by_hand {
        return;
    }
    let sign = trace.zero_sign * if run.tilt_positive == TiltPositive::Down { 1.0 } else { -1.0 };
    let sines: Vec<f64> = run.reading_rad.iter().map(|r| math::sin(sign * r)).collect();
    let logged: f64 =
        (1..sines.len()).map(|i| (run.counter_m[i] - run.counter_m[i - 1]) * 0.5 * (sines[i - 1] + sines[i])).sum();
    let raw = if trace.pulled { -logged } else { logged };
    let edits: f64 = trace.edits.iter().map(|e| e.removed_fall_m).sum();
    // Each reading may be taken out and put in again: some ten products of a counter (with what was added to it at
    // resets) and a sine, and their sums. Stations are the counter's and where it started, rounded together.
    let far = run.counter_m.iter().fold(1.0, |most: f64, c| most.max(c.abs())) + run.start_station_m.abs();
    let reach = far * run.counter_m.len() as f64;
    let rounding = 20.0 * f64::EPSILON * reach * run.counter_m.len() as f64;
    assert!((raw - fall_m(trace) - edits).abs() <= rounding, "{raw} {} {edits}", fall_m(trace));
    assert_eq!(trace.removed_fall_m, edits);
}

/// What holds of every trace.
fn sound(trace: &Trace) {
    let n = trace.station_m.len();
    assert!(n >= 2);
    assert_eq!((trace.tilt_rad.len(), trace.weight.len(), trace.index.len()), (n, n, n));
    assert!(trace.station_m.windows(2).all(|s| s[0] < s[1]));
    assert!(trace.tilt_rad.iter().all(|t| t.abs() <= core::f64::consts::FRAC_PI_2));
    assert!(trace.weight.iter().all(|w| (0.0..=1.0).contains(w)));
    for v in [trace.noise_sd_rad, trace.resolution_rad] {
        assert!(v.is_finite() && v >= 0.0);
    }
    assert!(trace.removed_fall_m.is_finite() && trace.zero_sign.abs() == 1.0);
    assert!(trace.gaps_m.iter().all(|(a, b)| a < b));
}

/// The flaw is put right: fall and sticks agree with those of the same pipe without it, within `fall_mm` and, for
/// each stick, `stick_sds` standard errors of its mean (60 readings less 4).
fn harmless(flaw: Flaw, fall_mm: f64, stick_sds: f64) -> Trace {
    let plain = conditioned(&log(&Head::default(), &[], 11).run);
    let flawed = log(&Head::default(), &[flaw], 11);
    let trace = conditioned(&flawed.run);
    sound(&trace);
    accounted_once(&flawed.run, &trace);
    let lost_mm = 1000.0 * (fall_m(&trace) - fall_m(&plain)).abs();
    assert!(lost_mm <= fall_mm, "fall moved by {lost_mm} mm");
    let standard_error = NOISE_RAD / 56_f64.sqrt();
    for (a, b) in stick_means(&trace).iter().zip(stick_means(&plain)) {
        assert!((a - b).abs() <= stick_sds * standard_error, "{a} {b}");
    }
    trace
}

// After a stop or pull-back the noise is another sample: the fall over 30 m differs by up to sqrt(2) 0.25 degrees
// 0.05 m sqrt(600) = 7.6 mm (1 sd), a stick by sqrt(2) standard errors. Four of these.
const OTHER_NOISE_MM: f64 = 31.0;
const OTHER_NOISE_SDS: f64 = 5.7;

#[test]
fn a_clean_log_passes_untouched() {
    let clean = log(&Head::default(), &[], 11);
    let trace = conditioned(&clean.run);
    assert_eq!(trace.tilt_rad, clean.run.reading_rad);
    assert!(trace.edits.is_empty() && trace.warnings.is_empty() && trace.gaps_m.is_empty());
    // 600 differences: the median gives the sd within 1.2 / sqrt(600) x 1.2 = 6 % (1 sd); three of them.
    assert!((trace.noise_sd_rad / NOISE_RAD - 1.0).abs() < 0.18, "{}", trace.noise_sd_rad / NOISE_RAD);
}

#[test]
fn a_stop_is_one_reading() {
    let trace = harmless(Flaw::Stop { at_m: 16.0, readings: 300 }, OTHER_NOISE_MM, OTHER_NOISE_SDS);
    assert_eq!(trace.station_m.len(), 601);
    assert_eq!(of_action(&trace, Action::Combined), 301);
    assert!(trace.weight.iter().all(|w| *w == 1.0));
}

#[test]
fn a_pull_back_is_dropped_and_the_ground_pushed_again_combined() {
    // Over the kink at 15 m slack can be told, and the pull is a setup of its own.
    let trace = harmless(Flaw::PullBack { at_m: 16.0, length_m: 2.0 }, OTHER_NOISE_MM, OTHER_NOISE_SDS);
    assert!(trace.slack_m.is_some() && trace.pull.is_some());
    assert_eq!(of_action(&trace, Action::Dropped), 0);
    // Within one stick it cannot.
    let trace = harmless(Flaw::PullBack { at_m: 5.6, length_m: 2.0 }, OTHER_NOISE_MM, OTHER_NOISE_SDS);
    assert_eq!(trace.station_m.len(), 601);
    // 40 readings on the way back; the turning one is the last of the pull, the other 40 are there twice but for it.
    assert_eq!(of_action(&trace, Action::Dropped), 40);
    assert_eq!(of_action(&trace, Action::Combined), 80);
    assert!(trace.edits.iter().any(|e| e.reason.contains("pull-back")));
}

#[test]
fn a_pulled_head_that_sits_differently_does_not_reach_the_trace() {
    let head = Head { noise_sd_rad: 0.0, seating_pull_rad: 2.0 * DEGREE, ..Head::default() };
    let flawed = log(&head, &[Flaw::PullBack { at_m: 16.0, length_m: 2.0 }], 1);
    let plain = log(&head, &[], 1);
    // The same readings at the same stations: nothing but the mean of two equal numbers.
    let (a, b) = (conditioned(&flawed.run), conditioned(&plain.run));
    assert_eq!(a.tilt_rad, b.tilt_rad);
}

#[test]
fn a_spike_is_dropped_either_way_up() {
    for rad in [4.0 * DEGREE, -4.0 * DEGREE, 60.0 * DEGREE] {
        // One reading of 600 is missing: its noise at 50 mm, 0.2 mm (1 sd), and 1/56 of a stick's.
        let trace = harmless(Flaw::Spike { at_m: 10.0, rad }, 1.0, 0.5);
        assert_eq!(trace.edits.len(), 1);
        assert_eq!((trace.edits[0].action, trace.edits[0].index), (Action::Dropped, 200));
        assert!(trace.edits[0].reason.contains("spike"));
        // What a single reading carries at this spacing, but for noise.
        let carried_m = SPACING_M * math::sin(rad);
        assert!((trace.removed_fall_m - carried_m).abs() < 0.002, "{} {carried_m}", trace.removed_fall_m);
    }
}

#[test]
fn white_noise_alone_makes_no_spikes() {
    // 60 logs of 601 readings: five sd beyond the medians of both sides is one in 1e6 or so.
    let edits: usize = (0..60).map(|seed| conditioned(&log(&Head::default(), &[], seed).run).edits.len()).sum();
    assert!(edits <= 1, "{edits}");
}

#[test]
fn correlated_noise_makes_few_spikes() {
    let head = Head { correlation_m: 0.5, ..Head::default() };
    let edits: usize = (0..60).map(|seed| conditioned(&log(&head, &[], seed).run).edits.len()).sum();
    assert!(edits <= 4, "{edits} of 36,000");
}

#[test]
fn a_step_under_the_head_keeps_its_fall_and_loses_weight() {
    let step = Flaw::StepUnderHead { at_m: 16.51, rise_m: 0.012 };
    let plain = conditioned(&log(&Head::default(), &[], 11).run);
    let trace = conditioned(&log(&Head::default(), &[step], 11).run);
    accounted_once(&log(&Head::default(), &[step], 11).run, &trace);
    assert_eq!(of_action(&trace, Action::Flagged), trace.edits.len());
    assert_eq!(trace.edits.len(), 3);
    assert!(trace.weight.iter().filter(|w| **w < 1.0).count() == 3);
    // The lip's 12 mm are in the fall (a quarter of a millimetre is lost to adding angles), and nothing was removed.
    let carried_mm = 1000.0 * (fall_m(&plain) - fall_m(&trace));
    assert!((carried_mm - 12.0).abs() < 0.3, "{carried_mm}");
    assert_eq!(trace.removed_fall_m, 0.0);
    // A lip of 4.6 degrees over 3 of 56 readings moves the stick by 0.25 degrees at full weight; now by a quarter.
    let moved = stick_means(&trace)[5] - stick_means(&plain)[5];
    assert!(moved.abs() < 0.08 * DEGREE, "{}", moved / DEGREE);
}

#[test]
fn a_kink_is_neither_spike_nor_step() {
    let mut steep = truth();
    steep.tilt_rad[4] = 0.5;
    steep.tilt_rad[5] = -0.2;
    let head = Head { head_length_m: 0.0, ..Head::default() };
    let log = simulate::run(&steep, &head, &Flaws::default(), SPACING_M, 2).unwrap();
    assert!(conditioned(&log.run).edits.is_empty());
}

#[test]
fn the_start_down_a_riser_is_left_alone() {
    let riser = Truth {
        breaks_m: vec![0.0, 1.2, 1.5, 20.0],
        tilt_rad: vec![88.0 * DEGREE, 45.0 * DEGREE, 0.02],
        ..Truth::default()
    };
    let head = Head { noise_sd_rad: 1.0 * DEGREE, ..Head::default() };
    for seed in 0..20 {
        let log = simulate::run(&riser, &head, &Flaws::default(), SPACING_M, seed).unwrap();
        let trace = conditioned(&log.run);
        let steep = trace.edits.iter().filter(|e| e.index < 32).count();
        let beyond = trace.edits.iter().filter(|e| e.reason.contains("upright")).count();
        assert_eq!(steep, beyond, "{:?}", trace.edits);
    }
}

#[test]
fn a_gap_is_listed_and_warned_of() {
    // A straight line between two noisy readings bridges 2.05 m: 2.05 m x 0.25 degrees / sqrt 2 = 6.3 mm, with the
    // lost readings' own 1.4 mm 6.5 mm (1 sd). Of the stick 16 readings are left: sqrt(56/16 - 1) = 1.6. Four of these.
    let trace = harmless(Flaw::Gap { from_m: 18.51, to_m: 20.51 }, 26.0, 6.4);
    assert_eq!(trace.gaps_m.len(), 1);
    let (from, to) = trace.gaps_m[0];
    assert!((from - 18.5).abs() < 1e-9 && (to - 20.55).abs() < 1e-9); // sums of steps of 0.05
    assert!(trace.warnings.iter().any(|w| w.contains("gap")));
    assert!(trace.edits.is_empty());
}

#[test]
fn a_reset_is_continued_and_not_taken_for_a_pull_back() {
    for time_kept in [true, false] {
        let plain = conditioned(&log(&Head::default(), &[], 11).run);
        let mut flawed = log(&Head::default(), &[Flaw::Reset { at_m: 16.0 }], 11).run;
        if !time_kept {
            flawed.time_s = None;
        }
        let trace = conditioned(&flawed);
        accounted_once(&flawed, &trace);
        assert_eq!(trace.tilt_rad, plain.tilt_rad);
        for (a, b) in trace.station_m.iter().zip(&plain.station_m) {
            assert!((a - b).abs() < 1e-9); // sums of steps of 0.05
        }
        assert_eq!(of_action(&trace, Action::Flagged), 281);
        assert!(trace.warnings[0].contains("reset"));
    }
}

#[test]
fn all_flaws_at_once_still_give_the_pipe() {
    for seed in 0..20 {
        let counts = Counts { stops: 3, pull_backs: 3, spikes: 5, gaps: 0, resets: 1 };
        let flaws = Flaws::scattered(2.0, 28.0, counts, seed);
        let flawed = simulate::run(&truth(), &Head::default(), &flaws, SPACING_M, seed).unwrap();
        let trace = conditioned(&flawed.run);
        sound(&trace);
        accounted_once(&flawed.run, &trace);
        let true_fall_m: f64 = truth().tilt_rad.iter().map(|t| 3.0 * math::sin(*t)).sum();
        // Noise alone: 5.3 mm (1 sd). A reset on a pull-back stretches or shortens the run by at most that pull-back,
        // 2 m at 0.02.
        assert!((fall_m(&trace) - true_fall_m).abs() < 0.022 + 0.04, "seed {seed}: {}", fall_m(&trace) - true_fall_m);
    }
}

#[test]
fn both_signs_and_both_ways_give_the_mirrored_trace_exactly() {
    let counts = Counts { stops: 2, pull_backs: 2, spikes: 3, gaps: 1, resets: 1 };
    let flaws = Flaws::scattered(0.0, 30.0, counts, 4);
    let run = simulate::run(&truth(), &Head::default(), &flaws, SPACING_M, 4).unwrap().run;
    let trace = conditioned(&run);

    let mut up = run.clone();
    up.tilt_positive = TiltPositive::Up;
    up.reading_rad.iter_mut().for_each(|r| *r = -*r);
    assert_eq!(conditioned(&up), trace);

    let mut back = run.clone();
    back.toward = Toward::Decreasing;
    let mirrored = conditioned(&back);
    let reversed = |v: &[f64], sign: f64| v.iter().rev().map(|x| sign * x).collect::<Vec<f64>>();
    assert_eq!(mirrored.station_m, reversed(&trace.station_m, -1.0));
    assert_eq!(mirrored.tilt_rad, reversed(&trace.tilt_rad, -1.0));
    assert_eq!(mirrored.weight, reversed(&trace.weight, 1.0));
    let turned = |e: &Edit| Edit { removed_fall_m: -e.removed_fall_m, ..e.clone() };
    assert!(mirrored.edits == trace.edits.iter().map(turned).collect::<Vec<_>>());
    assert_eq!(mirrored.zero_sign, -trace.zero_sign);
    assert_eq!(mirrored.removed_fall_m, -trace.removed_fall_m);
    assert_eq!((mirrored.noise_sd_rad, mirrored.resolution_rad), (trace.noise_sd_rad, trace.resolution_rad));
}

#[test]
fn the_zero_error_enters_with_the_sign_of_the_trace() {
    let zero_rad = 0.3 * DEGREE;
    for toward in [Toward::Increasing, Toward::Decreasing] {
        for tilt_positive in [TiltPositive::Down, TiltPositive::Up] {
            let head =
                Head { zero_rad, noise_sd_rad: 0.0, head_length_m: 0.0, toward, tilt_positive, ..Head::default() };
            let trace = conditioned(&log(&head, &[], 0).run);
            for (s, t) in trace.station_m.iter().zip(&trace.tilt_rad) {
                let piece = truth().breaks_m.iter().filter(|b| **b <= s - 1e-6).count().clamp(1, 10) - 1;
                let off_break = truth().breaks_m.iter().all(|b| (b - s).abs() > 1e-6);
                if off_break {
                    assert!((t - truth().tilt_rad[piece] - trace.zero_sign * zero_rad).abs() < 1e-15);
                }
            }
        }
    }
}

#[test]
fn whole_degrees_are_found_and_the_noise_before_rounding() {
    // Noise half a step: differences give it within a tenth or so for 600 readings; a fifth is asked.
    let head = Head { noise_sd_rad: 0.5 * DEGREE, rounding: Rounding::Degrees(1.0), ..Head::default() };
    let trace = conditioned(&log(&head, &[], 3).run);
    assert!((trace.resolution_rad / DEGREE - 1.0).abs() < 1e-12);
    assert!((trace.noise_sd_rad / DEGREE / 0.5 - 1.0).abs() < 0.2, "{}", trace.noise_sd_rad / DEGREE);
    // Hardly any noise: most differences are 0, and the estimate stays between nothing and the rounding itself.
    let head = Head { noise_sd_rad: 0.05 * DEGREE, rounding: Rounding::Degrees(1.0), ..Head::default() };
    let trace = conditioned(&log(&head, &[], 3).run);
    assert!((trace.resolution_rad / DEGREE - 1.0).abs() < 1e-12);
    assert!(trace.noise_sd_rad <= trace.resolution_rad / 12_f64.sqrt());
    // Half percents of slope.
    let head = Head { rounding: Rounding::Percent(0.5), ..Head::default() };
    let trace = conditioned(&log(&head, &[], 3).run);
    assert!((trace.resolution_rad / math::atan(0.005) - 1.0).abs() < 1e-12);
    assert!((trace.noise_sd_rad / NOISE_RAD - 1.0).abs() < 0.2, "{}", trace.noise_sd_rad / NOISE_RAD);
}

#[test]
fn rounded_logs_keep_their_kinks() {
    let head = Head { rounding: Rounding::Degrees(1.0), ..Head::default() };
    assert!(conditioned(&log(&head, &[], 8).run).edits.is_empty());
}

#[test]
fn a_counter_that_reads_long_is_left_to_the_adjustment() {
    let flaws = Flaws { list: vec![], counter_scale: -0.01 };
    let run = simulate::run(&truth(), &Head::default(), &flaws, SPACING_M, 1).unwrap().run;
    let trace = conditioned(&run);
    assert!((trace.station_m[600] - 30.0 / 0.99).abs() < 1e-9); // one division
}

#[test]
fn long_and_spiteful_logs_take_linear_time() {
    // A million readings each: anything quadratic would be 1e12 operations and never end.
    let n = 1_000_000;
    let wavy = |i: usize| 0.02 + 0.001 * ((i * 7919) % 1013) as f64 / 1013.0;
    let readings: Vec<f64> = (0..n).map(wavy).collect();
    let counters: [(&str, Vec<f64>); 5] = [
        ("steady", (0..n).map(|i| 0.01 * i as f64).collect()),
        ("to and fro", (0..n).map(|i| if i % 2 == 0 { 0.0 } else { 0.5 }).collect()),
        ("one dwell", (0..n).map(|i| if i == 0 { 0.0 } else { 1.0 }).collect()),
        ("resets", (0..n).map(|i| 0.05 * (i % 100) as f64).collect()),
        ("dense", (0..n).map(|i| 1e-6 * i as f64).collect()),
    ];
    for (name, counter_m) in counters {
        let run = Run::new(counter_m, readings.clone());
        match condition(&run, &Instrument::default(), &[1.0; 1000]) {
            Ok(trace) => sound(&trace),
            Err(e) => panic!("{name}: {e}"),
        }
    }
}

#[test]
fn the_same_log_gives_the_same_trace() {
    let run = log(&Head::default(), &[Flaw::PullBack { at_m: 9.0, length_m: 1.0 }], 5).run;
    assert_eq!(conditioned(&run), conditioned(&run));
}

/// Any number there is, ordinary ones more often.
fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        6 => -2.0..2.0_f64,
        2 => -20.0..20.0_f64,
        2 => prop_oneof![Just(0.0), Just(0.5), Just(1.0), Just(-0.0)],
        1 => any::<f64>(),
    ]
}

/// A number that a log can have.
fn ordinary() -> impl Strategy<Value = f64> {
    prop_oneof![4 => -2.0..2.0_f64, 2 => (-40_i32..40).prop_map(|i| 0.05 * f64::from(i)), 1 => -6.0..6.0_f64]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn nothing_panics_and_what_is_given_is_sound(
        rows in prop::collection::vec((any_number(), any_number(), any_number()), 0..60),
        (timed, up, back, by_hand) in any::<(bool, bool, bool, bool)>(),
        start_station_m in any_number(),
        bends_m in prop::collection::vec(any_number(), 0..3),
        head_length_m in any_number(),
    ) {
        let mut run = Run::new(rows.iter().map(|r| r.0).collect(), rows.iter().map(|r| r.1).collect());
        run.time_s = timed.then(|| rows.iter().map(|r| r.2).collect());
        run.tilt_positive = if up { TiltPositive::Up } else { TiltPositive::Down };
        run.toward = if back { Toward::Decreasing } else { Toward::Increasing };
        run.by_hand = by_hand;
        run.start_station_m = start_station_m;
        let instrument = Instrument { head_length_m, ..Instrument::default() };
        match condition(&run, &instrument, &bends_m) {
            Ok(trace) => {
                sound(&trace);
                accounted_once(&run, &trace);
            }
            Err(Error::Value { .. } | Error::TooFew { .. }) => {}
            Err(e) => prop_assert!(false, "{e}"),
        }
    }

    #[test]
    fn ordinary_but_wild_logs_are_accounted_for(
        rows in prop::collection::vec((ordinary(), ordinary()), 2..80),
        timed in any::<bool>(),
        bends_m in prop::collection::vec(-2.0..2.0_f64, 0..3),
    ) {
        let mut run = Run::new(rows.iter().map(|r| r.0).collect(), rows.iter().map(|r| 0.3 * r.1).collect());
        run.time_s = timed.then(|| (0..rows.len()).map(|i| i as f64).collect());
        if let Ok(trace) = condition(&run, &Instrument::default(), &bends_m) {
            sound(&trace);
            accounted_once(&run, &trace);
        }
    }

    #[test]
    fn simulation_never_panics(
        numbers in prop::collection::vec(any_number(), 12),
        places in prop::collection::vec((any_number(), any_number(), 0..6_u8), 0..6),
        seed in any::<u64>(),
    ) {
        let truth = Truth { breaks_m: vec![numbers[0], numbers[1], numbers[2]], tilt_rad: numbers[3..5].to_vec(), ..Truth::default() };
        let head = Head {
            zero_rad: numbers[5],
            noise_sd_rad: numbers[6],
            correlation_m: numbers[7],
            head_length_m: numbers[8],
            rounding: Rounding::Percent(numbers[9]),
            ..Head::default()
        };
        let list = places
            .iter()
            .map(|&(at_m, b, kind)| match kind {
                0 => Flaw::Stop { at_m, readings: 3 },
                1 => Flaw::PullBack { at_m, length_m: b },
                2 => Flaw::Spike { at_m, rad: b },
                3 => Flaw::Gap { from_m: at_m, to_m: b },
                4 => Flaw::Reset { at_m },
                _ => Flaw::StepUnderHead { at_m, rise_m: b },
            })
            .collect();
        let spacing_m = numbers[11].abs().max(1e-3);
        if let Ok(s) = simulate::run(&truth, &head, &Flaws { list, counter_scale: numbers[10] }, spacing_m, seed) {
            prop_assert!(s.run.reading_rad.iter().all(|r| r.is_finite()));
            prop_assert_eq!(s.run.counter_m.len(), s.true_tilt_rad.len());
        }
    }
}

/// The log of a head whose reading is late by so many readings, 0.25 s each: at the start it shows what it stood on.
fn late_by(readings: usize, flaws: &[Flaw], noise_sd_rad: f64) -> (Simulated, Run) {
    let head = Head { noise_sd_rad, ..Head::default() };
    let prompt = log(&head, flaws, 4);
    let mut late = prompt.run.clone();
    let n = late.reading_rad.len();
    late.reading_rad = (0..n).map(|i| prompt.run.reading_rad[i.saturating_sub(readings)]).collect();
    (prompt, late)
}

fn lagging(lag_s: Option<f64>, slack_m: f64) -> Instrument {
    Instrument { lag_s, slack_m: Some(slack_m), ..Instrument::default() }
}

/// Greatest difference between what was pulled and pushed at one place, rad.
fn push_against_pull(trace: &Trace) -> f64 {
    let pull = trace.pull.as_ref().unwrap();
    let at = |s: f64| trace.station_m.iter().position(|p| (p - s).abs() < 1e-6);
    let both = pull.station_m.iter().zip(&pull.tilt_rad).filter_map(|(s, t)| Some((trace.tilt_rad[at(*s)?] - t).abs()));
    let all: Vec<f64> = both.collect();
    assert!(all.len() > 500);
    all.into_iter().fold(0.0, f64::max)
}

#[test]
fn a_lag_is_put_right_in_either_direction() {
    let out_and_back = [Flaw::PullOut { length_m: 29.0 }];
    let (_, late) = late_by(4, &out_and_back, 0.0);
    let trace = |lag_s| condition(&late, &lagging(lag_s, 0.0), &[]).unwrap();
    let (as_logged, right) = (trace(None), trace(Some(1.0)));
    sound(&right);
    // A second at 0.2 m/s is 0.2 m, so push and pull are 0.4 m apart: more than the head averages over, so at the belly's
    // edge they differ by all of its 0.045. Put right they are the same readings but for what stations round.
    assert!(push_against_pull(&as_logged) > 0.04, "{}", push_against_pull(&as_logged));
    assert!(push_against_pull(&right) < 1e-9, "{}", push_against_pull(&right));
    accounted_once(&late, &right);
    // All that moved is told. The first five stay: the head stood there.
    let told: Vec<usize> = right.edits.iter().filter(|e| e.reason.contains("lag")).map(|e| e.index).collect();
    assert_eq!((told.first(), told.last()), (Some(&1), Some(&(late.counter_m.len() - 1))));
    // At the turn the counter is back where it was two readings before: those stay in place.
    assert!(told.len() >= late.counter_m.len() - 3, "{}", told.len());
    assert!(as_logged.edits.iter().all(|e| !e.reason.contains("lag")));
}

#[test]
fn with_slack_and_stops_too_a_late_reading_is_where_the_head_was() {
    let flaws = [
        Flaw::Slack { length_m: 0.3 },
        Flaw::PullBack { at_m: 17.5, length_m: 2.0 },
        Flaw::Stop { at_m: 20.0, readings: 8 },
    ];
    let (prompt, late) = late_by(4, &flaws, NOISE_RAD);
    // A stop is logged every half second: 1 s is two readings of it, and by hand the log is late by four.
    let time_s: Vec<f64> = (0..late.counter_m.len()).map(|i| 0.25 * i as f64).collect();
    let late = Run { time_s: Some(time_s), ..late };
    let trace = condition(&late, &lagging(Some(1.0), 0.3), &[]).unwrap();
    sound(&trace);
    accounted_once(&late, &trace);
    let pull = trace.pull.as_ref().unwrap();
    let rows = trace.index.iter().zip(&trace.station_m).chain(pull.index.iter().zip(&pull.station_m));
    for (i, station_m) in rows {
        let was_m = prompt.true_station_m[i.saturating_sub(4)];
        // Readings nearer than a millimetre are one place.
        assert!((was_m - station_m).abs() < 1.1e-3, "{i}: {was_m} {station_m}");
    }
}

#[test]
fn a_lag_that_cannot_be_used_is_said_and_nonsense_refused() {
    let (_, late) = late_by(4, &[], NOISE_RAD);
    let mut back = late.clone();
    back.time_s.as_mut().unwrap()[100] = 0.0;
    for (run, why) in [(Run { time_s: None, ..late.clone() }, "the log has no time"), (back, "goes back")] {
        let (without, with) = [None, Some(1.0)].map(|lag_s| condition(&run, &lagging(lag_s, 0.0), &[]).unwrap()).into();
        assert!(with.warnings.iter().any(|w| w.contains("is not used") && w.contains(why)), "{:?}", with.warnings);
        assert_eq!((&with.station_m, &with.tilt_rad), (&without.station_m, &without.tilt_rad));
    }
    let none = condition(&late, &lagging(Some(0.0), 0.0), &[]).unwrap();
    assert_eq!(none, condition(&late, &lagging(None, 0.0), &[]).unwrap());
    for lag_s in [-1.0, f64::NAN, f64::INFINITY, 61.0] {
        let error = condition(&late, &lagging(Some(lag_s), 0.0), &[]).unwrap_err().to_string();
        assert!(error.starts_with("instrument.lag_s") && error.contains("0 to 60 s"), "{error}");
    }
}

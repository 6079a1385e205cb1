//! Ties that nobody should hand in: beyond the pipe, against each other, without a number, by the hundred. Whatever is said
//! beside a run gives a typed error that names it, or figures that are finite, no less sure than without it, and the same
//! whatever the order, the datum, and the way the stations are counted.

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use fallwise::{
    Answers, Bend, Error, Flow, Instrument, Job, Lateral, Pipe, Posterior, Profile, Reach, Rulebook, Run, Tie,
    adjust::{
        SegmentMean, SetupNoise, Shared, ZERO, adjust,
        ties::{Adjustment, Terms},
    },
    answers::TieRow,
    chain::Chain,
    compare,
    math::{self, Random},
    model::{Feature, FeatureKind, Known, Nominal, Place, ReversalCheck, Seen, SizeUnit, Step, TiltPositive, Toward},
    path::Layout,
};
use proptest::prelude::*;

const DEGREE: f64 = core::f64::consts::PI / 180.0;

/// A little more than a rounding of figures that went through some hundred operations, relatively.
const ROUNDING: f64 = 1e-9;

fn at(station_m: f64) -> Place {
    Place::new(station_m)
}

fn spot(station_m: f64) -> Place {
    Place::exact(station_m)
}

fn invert(at: Place, elevation_m: f64, sd_m: f64) -> Tie {
    Tie::new(Known::Invert { at, elevation_m, sd_m })
}

fn rise(from: Place, to: Place, rise_m: f64, sd_m: f64) -> Tie {
    Tie::new(Known::HeightDifference { from, to, rise_m, sd_m })
}

fn plan(at: Place, east_m: f64, north_m: f64, sd_m: f64) -> Tie {
    Tie::new(Known::Plan { at, east_m, north_m, sd_m })
}

fn azimuth(at: Place, degrees: f64, sd_degrees: f64) -> Tie {
    Tie::new(Known::Azimuth { at, azimuth_rad: degrees * DEGREE, sd_rad: sd_degrees * DEGREE })
}

fn water(from: Place, to: Place) -> Tie {
    Tie::new(Known::WaterLevel { from, to, level_sd_m: None, seen: Seen::Edge, although_running: false })
}

fn deep(at: Place, depth_m: f64, edge: Place) -> Tie {
    let (sd_m, level_sd_m, seen) = (0.005, None, Seen::Edge);
    Tie::new(Known::WaterDepth { at, depth_m, sd_m, edge, level_sd_m, seen, although_running: false })
}

fn taped(from_m: f64, to_m: f64, length_m: f64, sd_m: f64) -> Tie {
    Tie::new(Known::Length { from_m, to_m, length_m, sd_m })
}

fn located(at: Place, depth_m: f64, ground_m: Option<f64>) -> Tie {
    let (sd_m, ground_sd_m, behind_m, above_m) = (None, None, 0.0, 0.05);
    Tie::new(Known::Depth { at, depth_m, sd_m, ground_m, ground_sd_m, behind_m, above_m })
}

fn level_check(degrees: f64, tilt_positive: Option<TiltPositive>) -> Tie {
    let (reading_rad, surface_rad, sd_rad) = (degrees * DEGREE, 0.0, 0.05 * DEGREE);
    Tie::new(Known::LevelCheck { reading_rad, surface_rad, sd_rad, tilt_positive })
}

fn reversal(zero_degrees: f64, tilt_positive: Option<TiltPositive>) -> Tie {
    let (first_rad, second_rad) = ((zero_degrees + 1.0) * DEGREE, (zero_degrees - 1.0) * DEGREE);
    Tie::new(Known::ReversalCheck(ReversalCheck { first_rad, second_rad, sd_rad: Some(0.1 * DEGREE), tilt_positive }))
}

/// The tilt of the usual pipe: 2 % but for a belly between 12 and 18 m.
fn usual(station_m: f64) -> f64 {
    match station_m {
        s if (12.0..15.0).contains(&s) => 0.03,
        s if (15.0..18.0).contains(&s) => -0.02,
        _ => 0.02,
    }
}

/// Readings by hand each metre over 30 m: surveyed from 0 to 30 m, with breaks half way between.
fn run() -> Run {
    let counter: Vec<f64> = (0..=30).map(f64::from).collect();
    let reading = counter.iter().map(|s| usual(*s)).collect();
    Run { by_hand: true, ..Run::new(counter, reading) }
}

fn job(ties: Vec<Tie>) -> Job {
    let mut job = Job { runs: vec![run()], ties, instrument: Instrument::default(), ..Job::default() };
    let nominal = Some(Nominal { size: 4.0, unit: SizeUnit::Inch });
    let pipe = Pipe { bore: Some(fallwise::Bore::circle(0.1).unwrap()), nominal, ..Pipe::default() };
    job.reaches.push(Reach { from_m: 0.0, to_m: 30.0, pipe, ..Reach::default() });
    job.report.draws = 60;
    job
}

/// Height above the start of what that run shows, with nothing added.
fn height(station_m: f64) -> f64 {
    let lateral = Lateral::solve(job(Vec::new())).unwrap();
    let height = |s: f64| lateral.profile().height_at(s).unwrap();
    height(station_m) - height(0.0)
}

fn book() -> Rulebook {
    Rulebook::shipped("ipc-2021").unwrap()
}

/// Every number of the answers is one, and every sentence is whole.
fn assert_finite(answers: &Answers) {
    let text = serde_json::to_string(answers).unwrap();
    let again: Answers = serde_json::from_str(&text).unwrap_or_else(|e| panic!("{e}: a number that is none"));
    assert_eq!(&again, answers, "an optional number that is none came back absent");
    assert!(!text.contains("NaN") && !text.contains("inf "), "a sentence with a number that is none");
    for row in &answers.ties {
        assert!(row.sd >= 0.0 && row.redundancy.is_none_or(|r| (0.0..=1.0).contains(&r)), "{row:?}");
        assert!(row.misclosure_sd.is_none_or(|sd| sd >= 0.0) && !row.sentence.is_empty(), "{row:?}");
    }
    for row in &answers.path {
        let sds = [Some(row.height_sd_m), row.elevation_sd_m, row.east_sd_m, row.north_sd_m, row.before_height_sd_m];
        assert!(sds.into_iter().flatten().all(|sd| sd >= 0.0), "{row:?}");
    }
}

fn answers(job: Job) -> Result<(Lateral, Answers), Error> {
    let lateral = Lateral::solve(job)?;
    let answers = lateral.answers(Some(&book()))?;
    assert_finite(&answers);
    Ok((lateral, answers))
}

/// Solved, or a word that names the tie and says what is expected.
fn solved(ties: Vec<Tie>) -> (Lateral, Answers) {
    answers(job(ties)).unwrap_or_else(|e| panic!("{e}"))
}

#[track_caller]
fn refused(job: Job) -> String {
    let error = match Lateral::solve(job) {
        Ok(lateral) => panic!("an error expected: {:?}", lateral.adjustment()),
        Err(error) => error.to_string(),
    };
    assert!(error.contains("tie") || error.contains("run"), "it names what is wrong: {error}");
    error
}

fn close(a: f64, b: f64, relative: f64, absolute: f64) -> bool {
    (a - b).abs() <= relative * a.abs().max(b.abs()) + absolute
}

// ---- a chain by itself, below the orchestrator ----

struct Laid {
    layout: Layout,
    before: Posterior,
    runs: Vec<Run>,
}

/// As many segments of a metre, each of 20 readings of 0.25 degrees; zero known to 0.3 degrees, scale to 0.6 %.
fn laid(tilts: &[f64], bends: &[Bend], steps: &[Step]) -> Laid {
    let breaks: Vec<f64> = (0..=tilts.len()).map(|i| i as f64).collect();
    let mean = |(segment, tilt): (usize, &f64)| SegmentMean {
        segment,
        setup: 0,
        mean_rad: *tilt,
        weight: 20.0,
        readings: 20,
        drift_share: 0.0,
        roll_sine: 0.0,
    };
    let means: Vec<SegmentMean> = tilts.iter().enumerate().map(mean).collect();
    let setup = SetupNoise { run: 0, pulled: false, zero_sign: 1.0, noise_sd_rad: 0.25 * DEGREE, rounding_sd_rad: 0.0 };
    let chain = Chain::new(breaks.clone(), tilts.to_vec()).unwrap();
    let instrument =
        Instrument { zero_sd_rad: 0.3 * DEGREE, counter_scale: 0.0, counter_scale_sd: 0.006, ..Instrument::exact() };
    let mut before = adjust(&chain, &means, &[setup], &instrument, steps, bends).unwrap();
    before.lip_variance_m = 1.3e-6;
    let layout = Layout::new(&breaks, bends, steps, &[]).unwrap();
    Laid { layout, before, runs: vec![Run::new(Vec::new(), Vec::new())] }
}

impl Laid {
    fn terms(&self) -> Terms<'_> {
        Terms { layout: &self.layout, runs: &self.runs, ground: &[], resolution_rad: 0.0, water_runs: false }
    }

    fn with(&self, ties: &[Tie]) -> Result<(Posterior, Adjustment), Error> {
        let (posterior, adjustment) = self.before.with_ties(&self.terms(), ties)?;
        let profile = self.profile(&posterior);
        assert!(profile.height_m.iter().chain(&posterior.tilt_rad).all(|x| x.is_finite()), "{ties:?}");
        assert!(posterior.parameters.iter().all(|p| p.value.is_finite() && p.sd.is_finite() && p.sd >= 0.0));
        let numbers = adjustment.closures.iter().flat_map(|c| [c.measured, c.sd, c.residual, c.redundancy]);
        assert!(numbers.chain([adjustment.chi_square]).all(f64::is_finite), "{adjustment:?}");
        Ok((posterior, adjustment))
    }

    fn profile(&self, posterior: &Posterior) -> Profile {
        self.layout.profile(&posterior.tilt_rad, posterior.scale, Some(&posterior.step_rise_m))
    }

    /// Standard deviations of all falls and slopes from the start, of the zero and of the scale, on one and the same chain.
    fn sds(&self, posterior: &Posterior) -> Vec<f64> {
        let profile = self.profile(&self.before);
        let mut lying = posterior.clone();
        (lying.tilt_rad, lying.scale) = (self.before.tilt_rad.clone(), self.before.scale);
        let (first_m, last_m) = profile.range().unwrap();
        let mut sds = Vec::new();
        let mut s = first_m + 0.5;
        while s <= last_m {
            sds.push(lying.fall(&self.layout, &profile, Flow::Increasing, first_m, s).sd);
            sds.push(lying.slope(&self.layout, &profile, Flow::Increasing, first_m, s).map_or(0.0, |e| e.sd));
            s += 1.0;
        }
        sds.extend([ZERO, "counter_scale"].map(|name| posterior.parameter(name).unwrap().sd));
        sds
    }
}

fn twelve() -> Laid {
    let tilts: Vec<f64> = (0..12).map(|k| 0.02 + 0.004 * math::sin(f64::from(k))).collect();
    laid(&tilts, &[], &[])
}

// ---- 1: many, the same, exact ----

#[test]
fn ties_at_one_point_are_one_tie() {
    let one = solved(vec![invert(spot(7.0), 10.0, 0.01 / 50_f64.sqrt())]).0;
    let same = vec![invert(spot(7.0), 10.0, 0.01); 50];
    let (fifty, told) = solved(same);
    let elevation = |l: &Lateral| {
        let e = l.posterior().elevation(&Layout::new(&l.chain().breaks_m, &[], &[], &[]).unwrap(), l.profile(), 7.0);
        e.unwrap()
    };
    let (one, fifty) = (elevation(&one), elevation(&fifty));
    assert!(
        close(one.value, fifty.value, ROUNDING, 0.0) && close(one.sd, fifty.sd, ROUNDING, 0.0),
        "{one:?} {fifty:?}"
    );
    assert!(
        told.ties.iter().all(|t| t.verdict == "agrees" && t.standardised.unwrap().abs() < 1e-6),
        "{:?}",
        told.ties[0]
    );
    // Whatever stands there, one after another.
    let all = vec![
        invert(spot(7.0), 10.0, 0.01),
        plan(at(7.0), 1.0, 2.0, 0.1),
        azimuth(at(7.0), 40.0, 1.0),
        located(at(7.0), 1.0, Some(11.1)),
    ];
    solved(all);
}

#[test]
fn exact_beside_exact_is_repeated_or_refused() {
    let (_, told) = solved(vec![invert(spot(3.0), 10.0, 0.0), invert(spot(3.0), 10.0, 0.0)]);
    let verdicts: Vec<&str> = told.ties.iter().map(|t| t.verdict.as_str()).collect();
    assert_eq!(verdicts, ["unchecked", "repeated"]);
    // By way of others: a and b, b and c, and c from a.
    let ring = vec![
        rise(spot(1.0), spot(4.0), -0.06, 0.0),
        rise(spot(4.0), spot(9.0), -0.1, 0.0),
        rise(spot(1.0), spot(9.0), -0.16, 0.0),
    ];
    let (_, told) = solved(ring.clone());
    assert_eq!(told.ties[2].verdict, "repeated", "{:?}", told.ties[2]);
    let mut wrong = ring;
    wrong[2] = rise(spot(1.0), spot(9.0), -0.161, 0.0);
    let error = refused(job(wrong));
    assert!(error.contains("tie 3") && error.contains("1.000 mm"), "{error}");
    let error = refused(job(vec![invert(spot(3.0), 10.0, 0.0), invert(spot(3.0), 10.002, 0.0)]));
    assert!(error.contains("tie 2") && error.contains("2.000 mm"), "{error}");
}

#[test]
fn a_nanometre_beside_a_thousand_kilometres() {
    let (h, h2) = (height(4.0), height(28.0));
    let (_, told) = solved(vec![
        invert(spot(4.0), 10.0 + h, 1e-9),
        invert(spot(28.0), 10.0 + h2, 1e6),
        invert(spot(20.0), 500.0, 1e6),
    ]);
    assert!(told.ties.iter().all(|t| t.verdict == "agrees" || t.verdict == "unchecked"), "{:?}", told.ties);
    let fine = solved(vec![invert(spot(4.0), 10.0 + h, 1e-9)]).1;
    for (a, b) in told.path.iter().zip(&fine.path) {
        // The other two say nothing: 0.2 m beside 1e6 m, squared.
        assert!(
            close(a.height_sd_m, b.height_sd_m, ROUNDING, 1e-12)
                && close(a.elevation_m.unwrap(), b.elevation_m.unwrap(), 0.0, 1e-9)
        );
    }
}

#[test]
fn sds_never_grow_with_a_tie() {
    let all = [
        invert(at(0.5), 10.0, 0.01),
        rise(at(1.0), at(11.0), -0.2, 0.005),
        located(at(6.0), 1.0, Some(10.93)),
        invert(at(12.2), 9.76, 0.02),
        taped(0.0, 12.0, 12.03, 0.01),
        level_check(0.1, None),
        reversal(0.1, None),
        water(at(3.0), at(3.4)),
        invert(spot(9.0), 9.82, 0.0),
        plan(at(0.5), 1.0, 2.0, 0.1),
        plan(at(11.0), 1.0, 12.5, 0.1),
        azimuth(at(4.0), 1.0, 2.0),
    ];
    // Whatever else: equations are read off where the chain lies, which a tie moves a little. Ties that agree exactly move
    // nothing, so each is given what is expected of it.
    let chain = twelve();
    let mut known: Vec<Tie> = Vec::new();
    let mut before = chain.sds(&chain.before);
    for tie in all {
        let mut tie = tie;
        let (posterior, _) = chain.with(&known).unwrap();
        if let Some(expected) = posterior.predicted(&chain.terms(), &tie) {
            match &mut tie.known {
                Known::Invert { elevation_m, .. } => *elevation_m = expected.value,
                Known::HeightDifference { rise_m, .. } => *rise_m = expected.value,
                Known::Length { length_m, .. } => *length_m = expected.value,
                _ => {}
            }
        }
        known.push(tie);
        let after = chain.sds(&chain.with(&known).unwrap().0);
        for (k, (a, b)) in after.iter().zip(&before).enumerate() {
            // Water, the head and the depth are not as expected: tilts move by some 1e-3, and the cosines with them.
            assert!(*a <= b * (1.0 + 5e-6) + 1e-13, "{k}: {a} after {b}, with {:?}", known.last());
        }
        before = after;
    }
}

#[test]
fn two_hundred_ties_are_solved() {
    let chain = twelve();
    let ties: Vec<Tie> = (0..200)
        .map(|i| invert(at(12.0 * f64::from(i) / 200.0), 10.0 - 0.02 * 12.0 * f64::from(i) / 200.0, 0.02))
        .collect();
    let (_, adjustment) = chain.with(&ties).unwrap();
    assert!(adjustment.converged && adjustment.suspect.is_none());
}

#[test]
fn ten_thousand_segments_and_twelve_ties() {
    let tilts: Vec<f64> = (0..10_000).map(|k| 0.02 + 0.004 * math::sin(f64::from(k))).collect();
    let chain = laid(&tilts, &[], &[]);
    let profile = chain.profile(&chain.before);
    let ties: Vec<Tie> = (0..12)
        .map(|i| 50.0 + 900.0 * f64::from(i))
        .map(|s| invert(at(s), 10.0 + profile.height_at(s).unwrap(), 0.02))
        .collect();
    let (posterior, adjustment) = chain.with(&ties).unwrap();
    let profile = chain.profile(&posterior);
    let sds = posterior.height_sd_m(&chain.layout, &profile, fallwise::adjust::Anchor::Datum);
    assert!(adjustment.converged && sds.iter().all(|sd| sd.is_finite()) && sds.len() == 10_001);
}

#[test]
fn one_segment_and_whole_degrees() {
    let chain = laid(&[0.02], &[], &[]);
    let (posterior, _) = chain
        .with(&[
            invert(at(0.0), 1.0, 0.01),
            invert(at(1.0), 0.98, 0.01),
            water(at(0.2), at(0.2001)),
            taped(0.0, 1.0, 1.0, 0.01),
        ])
        .unwrap();
    assert!(posterior.first().elevation_m.is_some());
    let counter: Vec<f64> = (0..600).map(|i| 0.05 * f64::from(i)).collect();
    let degrees = counter.iter().map(|s| (usual(*s) / DEGREE).round() * DEGREE).collect();
    let logged = Job {
        runs: vec![Run::new(counter, degrees)],
        ..job(vec![reversal(0.4, None), invert(at(0.0), 10.0, 0.01), invert(at(29.9), 9.4, 0.02)])
    };
    let (_, told) = answers(logged).unwrap();
    assert!(told.adjustment.unwrap().converged);
    // What cannot be said of a head that shows whole degrees is not said of it.
    let step = &told.ties[0];
    assert!(step.sd >= 0.07 * DEGREE, "{step:?}");
}

// ---- 2: against each other ----

#[test]
fn two_runs_two_degrees_apart_are_refused() {
    let mut other = run();
    other.reading_rad.iter_mut().for_each(|r| *r += 2.0 * DEGREE);
    let error = Lateral::solve(Job { runs: vec![run(), other], ..job(vec![invert(at(0.0), 10.0, 0.01)]) }).unwrap_err();
    assert!(matches!(error, Error::Contradiction { .. }), "{error}");
}

#[test]
fn a_check_of_the_head_against_water() {
    // The belly's edges are level as read, so that the zero is nothing; the check says 1.5 degrees.
    let level = height(13.2);
    let profile = Lateral::solve(job(Vec::new())).unwrap().profile().clone();
    let rises = |s: &f64| profile.height_at(*s).unwrap() - profile.height_m[0] >= level;
    let to_m = (0..1200).map(|i| 15.0 + 0.0025 * f64::from(i)).find(rises).unwrap();
    let edges = water(spot(13.2), spot(to_m));
    let agreed = solved(vec![reversal(0.0, None), edges.clone()]).1;
    assert!(agreed.ties.iter().all(|t| t.verdict == "agrees"), "{:?}", agreed.ties);
    let error = refused(job(vec![reversal(1.5, None), edges]));
    assert!(error.contains("contradict"), "{error}");
}

#[test]
fn the_sign_of_a_check_is_its_own() {
    let zero = |ties: Vec<Tie>| solved(ties).0.posterior().parameter(ZERO).unwrap().value;
    let (down, up) =
        (zero(vec![level_check(0.4, Some(TiltPositive::Down))]), zero(vec![level_check(-0.4, Some(TiltPositive::Up))]));
    assert!(close(down, up, ROUNDING, 0.0) && (down - 0.4 * DEGREE).abs() < 0.001 * DEGREE);
    let error = refused(job(vec![level_check(1.0, Some(TiltPositive::Down)), reversal(1.0, Some(TiltPositive::Up))]));
    assert!(error.contains("contradict") && error.contains("degrees off"), "{error}");
}

#[test]
fn a_head_eight_degrees_off_is_taken_at_its_check() {
    let (lateral, told) = solved(vec![level_check(8.0, None)]);
    // The head reads 2 %, and its zero is 8 degrees: the pipe rises by 6.9 degrees. The prior of 10 degrees pulls by 2.5e-5.
    let zero = lateral.posterior().parameter(ZERO).unwrap();
    assert!(
        (zero.value - 8.0 * DEGREE).abs() < 0.002 * DEGREE && (zero.sd - 0.05 * DEGREE).abs() < 1e-3 * DEGREE,
        "{zero:?}"
    );
    assert!(told.warnings.iter().any(|w| w.contains("backwards")), "{:?}", told.warnings);
}

// ---- 3: where they lie, and numbers that are none ----

#[test]
fn a_tie_lies_in_the_pipe_or_half_a_metre_beyond() {
    for (station_m, fits) in [
        (0.0, true),
        (30.0, true),
        (-0.49, true),
        (30.49, true),
        (-0.51, false),
        (30.51, false),
        (0.5, true),
        (1e9, false),
    ] {
        let anything: Vec<Tie> = vec![
            invert(at(station_m), 10.0, 0.01),
            rise(at(3.0), at(station_m), -0.1, 1.0),
            plan(at(station_m), 0.0, 0.0, 0.1),
            azimuth(at(station_m), 3.0, 1.0),
            water(at(station_m), at(if station_m < 15.0 { 0.2 } else { 29.8 })),
            located(at(station_m), 1.0, Some(11.0)),
            deep(at(station_m), 0.003, at(if station_m < 15.0 { 0.2 } else { 29.8 })),
        ];
        for tie in anything {
            let tape = Tie { known: with_taped(&tie.known), ..tie.clone() };
            for tie in [tie, tape] {
                match Lateral::solve(job(vec![tie.clone()])) {
                    Ok(lateral) => {
                        assert!(fits, "{tie:?}");
                        assert_finite(&lateral.answers(None).unwrap());
                    }
                    Err(error) => {
                        assert!(!fits && matches!(error, Error::Outside { .. }), "{error} {tie:?}");
                        assert!(error.to_string().starts_with("tie 1"), "{error}");
                    }
                }
            }
        }
    }
}

/// The same with stations that were taped.
fn with_taped(known: &Known) -> Known {
    let mut known = known.clone();
    match &mut known {
        Known::Invert { at, .. } | Known::Plan { at, .. } | Known::Azimuth { at, .. } | Known::Depth { at, .. } => {
            at.taped = true;
        }
        Known::HeightDifference { from, to, .. } | Known::WaterLevel { from, to, .. } => {
            (from.taped, to.taped) = (true, true);
        }
        Known::WaterDepth { at, edge, .. } => (at.taped, edge.taped) = (true, true),
        _ => {}
    }
    known
}

#[test]
fn a_transmitter_behind_the_opening_is_refused() {
    let (sd_m, ground_sd_m, above_m) = (None, None, 0.05);
    let behind =
        Known::Depth { at: at(0.3), depth_m: 1.0, sd_m, ground_m: Some(11.0), ground_sd_m, behind_m: 5.0, above_m };
    let error = refused(job(vec![Tie::new(behind)]));
    assert!(error.contains("tie 1") && error.contains("-4.7"), "{error}");
}

#[test]
fn exact_ties_cannot_draw_the_pipe_into_a_point() {
    // Two places that are surely far apart are both said to be the same one, without an error: a counter of scale 0 would explain it. These
    // readings and this seed came to rest there.
    let reading_rad = vec![
        0.0,
        0.031_487_338_114_286_785,
        0.0,
        -0.046_126_372_403_695_67,
        0.063_560_492_833_138_67,
        0.0,
        0.0,
        0.0,
        -0.000_218_680_724_401_067_44,
        0.030_042_504_292_370_726,
        -0.034_652_355_970_318_11,
        -0.027_339_542_098_199_124,
        -0.041_402_998_644_852_31,
        0.025_140_727_187_939_39,
        0.049_453_656_972_408_45,
        0.051_395_609_842_200_256,
        -0.004_078_695_881_884_455,
        0.0,
        0.032_786_682_941_562_166,
        -0.039_342_885_917_240_45,
        0.051_236_763_391_795_545,
        0.067_445_233_255_761_22,
        0.0,
        0.030_638_806_288_968_846,
        -0.044_874_601_722_219_395,
        0.0,
        0.062_574_071_169_269_05,
    ];
    let mut first = Run::new(
        (0..reading_rad.len()).map(|i| f64::from(2 * u16::try_from(i).unwrap()) / 100.0).collect(),
        reading_rad,
    );
    first.tilt_positive = TiltPositive::Up;
    (first.start_north_m, first.start_azimuth_rad) = (Some(0.0), Some(5.219_329_536_880_984));
    let mut second = Run::new(vec![0.0, 0.02], vec![0.0, 0.0]);
    (second.start_station_m, second.start_north_m) = (5.501_343_972_929_123, Some(0.0));
    let instrument = Instrument {
        zero_rad: -0.008_279_300_399_746_78,
        zero_checked: false,
        correlation_m: None,
        resolution_rad: None,
        drift_s: 10.0,
        wander_sd_rad: 0.0,
        head_length_m: 0.0,
        counter_scale: 0.008_966_348_506_163_003,
        counter_scale_sd: 0.006_896_134_901_363_034,
        ..Instrument::exact()
    };
    let mut job = Job { runs: vec![first, second], instrument, ..Job::default() };
    (job.report.draws, job.report.seed) = (0, 270_341_329_185_275);
    let error = refused(job);
    assert!(error.contains("the ties contradict each other"), "{error}");
}

#[test]
fn ties_on_breaks_steps_arcs_and_drops() {
    let bends = vec![
        Bend { radius_m: Some(0.3), ..Bend::new(6.0, 60.0 * DEGREE) },
        Bend { radius_m: Some(0.3), ..Bend::new(9.0, -45.0 * DEGREE) },
    ];
    let steps = vec![Step { station_m: 3.0, rise_m: -0.01, rise_sd_m: 0.003 }];
    let mut tilts = vec![0.02; 12];
    tilts[10] = 60.0 * DEGREE;
    let chain = laid(&tilts, &bends, &steps);
    for s in [0.0, 1.0, 2.999, 3.0, 3.001, 5.9, 6.0, 6.05, 9.0, 10.5, 11.0, 12.0, 12.3] {
        for place in [at(s), spot(s), Place { taped: true, ..at(s) }] {
            let anything = [
                invert(place, 10.0, 0.01),
                plan(place, 3.0, 4.0, 0.05),
                azimuth(place, 200.0, 1.0),
                rise(spot(0.4), place, -0.02 * s, 2.0),
            ];
            let (posterior, adjustment) = chain.with(&anything).unwrap_or_else(|e| panic!("{s}: {e}"));
            assert!(
                adjustment.converged && posterior.first().azimuth_rad.is_some(),
                "{s} {place:?} {}",
                adjustment.steps
            );
        }
    }
    // Beyond pipe that stands upright the plan is anybody's.
    tilts[10] = 85.0 * DEGREE;
    let upright = laid(&tilts, &[], &[]);
    assert!(upright.with(&[invert(at(11.5), 9.0, 0.01), plan(at(10.5), 3.0, 4.0, 0.1)]).is_ok());
    let error = upright.with(&[azimuth(at(1.0), 3.0, 1.0), plan(at(11.5), 3.0, 4.0, 0.1)]).unwrap_err().to_string();
    assert!(error.starts_with("tie 2, plan at 11.50 m") && error.contains("80 degrees"), "{error}");
}

#[test]
fn a_station_of_fifty_metres() {
    let loose = |s: f64| Place { sd_m: 50.0, ..at(s) };
    for tie in [
        invert(loose(20.0), 9.5, 0.01),
        plan(loose(20.0), 10.0, 10.0, 0.1),
        rise(loose(1.0), loose(20.0), 0.3, 0.01),
        azimuth(loose(3.0), 4.0, 1.0),
    ] {
        let known = vec![invert(at(0.0), 10.0, 0.01), plan(at(0.0), 0.0, 0.0, 0.1), azimuth(at(1.0), 0.0, 1.0), tie];
        match answers(job(known)) {
            Ok((_, told)) => {
                let a = told.adjustment.unwrap();
                println!("station_sd 50 m: {} steps, converged {}", a.steps, a.converged);
                assert!(a.converged || a.sentence.contains("did not come to rest"));
            }
            Err(error) => println!("{error}"),
        }
    }
}

/// Every number of a tie, to be spoilt.
fn numbers(known: &mut Known) -> Vec<&mut f64> {
    fn place(p: &mut Place) -> Vec<&mut f64> {
        vec![&mut p.station_m, &mut p.sd_m]
    }
    match known {
        Known::Invert { at, elevation_m, sd_m } => place(at).into_iter().chain([elevation_m, sd_m]).collect(),
        Known::Plan { at, east_m, north_m, sd_m } => place(at).into_iter().chain([east_m, north_m, sd_m]).collect(),
        Known::Azimuth { at, azimuth_rad, sd_rad } => place(at).into_iter().chain([azimuth_rad, sd_rad]).collect(),
        Known::Depth { at, depth_m, sd_m, ground_m, ground_sd_m, behind_m, above_m } => place(at)
            .into_iter()
            .chain([depth_m, behind_m, above_m])
            .chain([sd_m, ground_m, ground_sd_m].into_iter().map(|x| x.get_or_insert(0.5)))
            .collect(),
        Known::HeightDifference { from, to, rise_m, sd_m } => {
            place(from).into_iter().chain(place(to)).chain([rise_m, sd_m]).collect()
        }
        Known::Length { from_m, to_m, length_m, sd_m } => vec![from_m, to_m, length_m, sd_m],
        Known::ReversalCheck(c) => vec![&mut c.first_rad, &mut c.second_rad, c.sd_rad.get_or_insert(0.01)],
        Known::LevelCheck { reading_rad, surface_rad, sd_rad, .. } => vec![reading_rad, surface_rad, sd_rad],
        Known::WaterLevel { from, to, level_sd_m, .. } => {
            place(from).into_iter().chain(place(to)).chain([level_sd_m.get_or_insert(0.003)]).collect()
        }
        Known::WaterDepth { at, depth_m, sd_m, edge, level_sd_m, .. } => {
            place(at).into_iter().chain(place(edge)).chain([depth_m, sd_m, level_sd_m.get_or_insert(0.003)]).collect()
        }
        _ => Vec::new(),
    }
}

fn one_of_each() -> Vec<Tie> {
    vec![
        invert(at(3.0), 10.0, 0.01),
        plan(at(3.0), 1.0, 2.0, 0.1),
        azimuth(at(3.0), 30.0, 1.0),
        located(at(3.0), 1.0, Some(11.0)),
        rise(at(2.0), at(9.0), -0.1, 0.3),
        taped(1.0, 9.0, 8.0, 0.1),
        reversal(0.1, None),
        level_check(0.1, None),
        water(at(3.0), at(3.2)),
        deep(at(3.2), 0.01, at(3.0)),
    ]
}

#[test]
fn no_number_that_is_none_gets_through() {
    let chain = twelve();
    for tie in one_of_each() {
        let count = numbers(&mut tie.clone().known).len();
        assert!(count >= 3);
        for k in 0..count {
            for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -1e300, 1e300, -1.0, -5e-324, 1e9] {
                let mut tie = tie.clone();
                *numbers(&mut tie.known)[k] = bad;
                for known in [
                    vec![tie.clone()],
                    vec![
                        invert(at(1.0), 10.0, 0.01),
                        invert(at(11.0), 9.8, 0.01),
                        azimuth(at(1.0), 1.0, 1.0),
                        plan(at(1.0), 0.0, 0.0, 0.1),
                        tie.clone(),
                    ],
                ] {
                    let by_itself = chain.with(&known).map(|_| ());
                    let through_job = answers(job(known)).map(|_| ());
                    if !bad.is_finite() || bad.abs() >= 1e300 {
                        assert!(by_itself.is_err() && through_job.is_err(), "{bad} in {tie:?}");
                    }
                    for error in [by_itself.err(), through_job.err()].into_iter().flatten() {
                        assert!(error.to_string().contains("tie"), "{bad} as number {k} of {}: {error}", tie.kind());
                    }
                }
            }
        }
    }
}

#[test]
fn no_sd_is_negative() {
    let chain = twelve();
    // Of each kind: the standard deviations, and depths and the length, which are never negative either.
    let expected = [2, 2, 2, 4, 3, 3, 1, 1, 3, 5];
    for (tie, expected) in one_of_each().into_iter().zip(expected) {
        let mut invalid = 0;
        for k in 0..numbers(&mut tie.clone().known).len() {
            let mut spoilt = tie.clone();
            *numbers(&mut spoilt.known)[k] = -0.25;
            if spoilt.validate().is_err() {
                invalid += 1;
                let error = chain.with(&[spoilt.clone()]).unwrap_err().to_string();
                assert!(
                    error.starts_with("tie 1") && (error.contains("-0.25") || error.contains("lower station")),
                    "{error}"
                );
                let error = refused(job(vec![spoilt]));
                assert!(
                    error.starts_with("tie.") && (error.contains("-0.25") || error.contains("lower station")),
                    "{error}"
                );
            }
        }
        assert_eq!(invalid, expected, "{}", tie.kind());
    }
}

#[test]
fn ties_are_given_all_at_once() {
    let chain = twelve();
    let (tied, _) = chain.with(&[invert(at(1.0), 10.0, 0.01)]).unwrap();
    let error = tied.with_ties(&chain.terms(), &[invert(at(11.0), 9.8, 0.01)]).unwrap_err().to_string();
    assert!(error.contains("all at once"), "{error}");
}

#[test]
fn another_datum_is_told_by_its_tie() {
    let error = refused(job(vec![invert(at(0.0), 10.0, 0.01), invert(at(30.0), 109.4, 0.01)]));
    assert!(error.contains("tie 1") || error.contains("tie 2"), "{error}");
    let error = refused(job(vec![
        invert(at(0.0), 10.0, 0.01),
        rise(at(0.0), at(30.0), -60.0, 0.01),
        invert(at(15.0), 9.7, 0.01),
    ]));
    assert!(error.contains("tie 2"), "{error}");
}

// ---- 4: water ----

#[test]
fn water_is_still_and_one() {
    // Across the sill at 18 m, from one belly into the pipe behind it.
    let across = height(15.0);
    let profile = Lateral::solve(job(Vec::new())).unwrap().profile().clone();
    let to_m = (0..6000)
        .map(|i| 18.002 + 0.002 * f64::from(i))
        .find(|s| profile.height_at(*s).unwrap() - profile.height_m[0] <= across)
        .unwrap();
    let checked = |ties: Vec<Tie>| Job {
        instrument: Instrument { zero_sd_rad: 0.02 * DEGREE, ..Instrument::default() },
        ..job(ties)
    };
    let error = refused(checked(vec![water(spot(15.0), spot(to_m))]));
    assert!(error.contains("tie 1, water level") && error.contains("out of that water"), "{error}");
    let error = refused(checked(vec![water(spot(to_m), spot(15.0))]));
    assert!(error.contains("out of that water"), "{error}");
    // Depth beyond the sill, held against the edge this side of it.
    let error = refused(checked(vec![deep(spot(to_m + 0.5), 0.01, spot(15.0))]));
    assert!(error.contains("tie 1, water depth") && error.contains("out of that water"), "{error}");
    let error = refused(job(vec![water(at(13.0), at(13.0))]));
    assert!(error.contains("tie 1") && error.contains("one station"), "{error}");
    let error = refused(job(vec![deep(at(15.0), 0.4, at(13.2))]));
    assert!(error.contains("tie.depth_m") && error.contains("0.1"), "{error}");
}

#[test]
fn exchanged_edges_are_the_same_pool() {
    let there = solved(vec![water(at(13.1), at(17.0)), invert(at(1.0), 3.0, 0.01)]).1;
    let back = solved(vec![water(at(17.0), at(13.1)), invert(at(1.0), 3.0, 0.01)]).1;
    same_figures(&there, &back, 1.0);
}

#[test]
fn running_water_is_not_level() {
    for said in ["running", "flowing slowly"] {
        let mut running = job(vec![water(at(13.1), at(17.0))]);
        running.survey.water = Some(said.to_owned());
        let error = refused(running.clone());
        assert!(error.contains("tie 1") && error.contains("although_running"), "{error}");
        if let Known::WaterLevel { although_running, .. } = &mut running.ties[0].known {
            *although_running = true;
        }
        answers(running).unwrap();
    }
}

// ---- 5: plan ----

#[test]
fn one_position_gives_no_direction() {
    for ties in [
        vec![plan(at(3.0), 5.0, 6.0, 0.1)],
        vec![plan(at(3.0), 5.0, 6.0, 0.1), plan(at(3.0), 5.02, 6.1, 0.1)],
        vec![plan(spot(3.0), 5.0, 6.0, 0.1), plan(spot(3.0), 5.02, 6.1, 0.1)],
        vec![plan(at(0.0), 5.0, 6.0, 0.1), plan(at(0.0), 5.02, 6.1, 0.1)],
    ] {
        let (lateral, told) = solved(ties.iter().cloned().chain([invert(at(2.0), 10.0, 0.01)]).collect());
        assert_eq!(lateral.posterior().first().azimuth_rad, None, "{ties:?}");
        assert!(told.path.iter().all(|n| n.east_m.is_none() && n.elevation_m.is_some()));
        let a = told.adjustment.unwrap();
        assert!(a.converged && a.not_determined.iter().any(|s| s.contains("direction in plan")), "{a:?}");
    }
}

#[test]
fn azimuths_on_both_sides_of_north_are_near() {
    let (lateral, told) = solved(vec![azimuth(at(3.0), 359.0, 1.0), azimuth(at(20.0), 1.0, 1.0)]);
    let found = lateral.posterior().first().azimuth_rad.unwrap();
    assert!(math::sin(found).abs() < 1e-9 && math::cos(found) > 0.0, "{found}");
    assert!((told.ties[0].misclosure.unwrap().abs() - 2.0 * DEGREE).abs() < 1e-9, "{:?}", told.ties[0]);
}

#[test]
fn two_positions_give_the_direction_wherever_it_points() {
    // Of the 26 m between them 5 mm less are level; the positions are good to 50 mm.
    let level = 26.0;
    for degrees in [10.0, 100.0, 179.9, 200.0, 233.0, 269.0, 300.0, 359.5] {
        for origin in [0.0, 1e6] {
            let (sine, cosine) = math::sin_cos(degrees * DEGREE);
            let there = plan(spot(28.0), origin + level * sine, origin + level * cosine, 0.05);
            let (lateral, told) = solved(vec![plan(spot(2.0), origin, origin, 0.05), there]);
            let found = lateral.posterior().first().azimuth_rad.unwrap();
            // 1e6 m keep 1e-10 m; over 26 m that is 4e-12.
            assert!(
                math::sin(found - degrees * DEGREE).abs() < 1e-9 && math::cos(found - degrees * DEGREE) > 0.0,
                "{degrees} {found}"
            );
            assert!(told.adjustment.unwrap().converged && told.ties.iter().all(|t| t.verdict != "suspect"));
        }
    }
}

#[test]
fn a_bend_to_the_wrong_side_is_told() {
    let bends = |degrees: f64| vec![Bend { radius_m: Some(0.3), ..Bend::new(10.0, degrees * DEGREE) }];
    let laid = |bends: Vec<Bend>, ties: Vec<Tie>| Job { bends, ..job(ties) };
    // Along north to 10 m, then east.
    let ties = vec![plan(at(1.0), 0.0, 1.0, 0.1), plan(at(9.0), 0.0, 9.0, 0.1), plan(at(20.0), 9.87, 9.87, 0.1)];
    let (right, _) = answers(laid(bends(90.0), ties.clone())).unwrap();
    assert!(right.adjustment().suspect.is_none() && right.adjustment().converged);
    let error = refused(laid(bends(-90.0), ties.clone()));
    assert!(error.contains("tie"), "{error}");
    // The mirrored plan: east and west exchanged.
    let mirrored = ties.iter().map(|t| match &t.known {
        Known::Plan { at, east_m, north_m, sd_m } => plan(*at, -east_m, *north_m, *sd_m),
        _ => t.clone(),
    });
    let error = refused(laid(bends(90.0), mirrored.collect()));
    assert!(error.contains("tie"), "{error}");
}

// ---- 6: what must not matter ----

/// The figures of two answers, the second with stations counted the other way where `way` is -1.
fn same_figures(one: &Answers, other: &Answers, way: f64) {
    let figures = |a: &Answers| -> Vec<(f64, f64)> {
        let t = &a.total;
        vec![(t.slope.unwrap(), t.slope_sd.unwrap()), (t.fall_m, t.fall_sd_m), (t.length_m, t.length_sd_m)]
    };
    for ((a, sd), (b, other_sd)) in figures(one).into_iter().zip(figures(other)) {
        assert!(close(a, b, 1e-9, 1e-9 * sd) && close(sd, other_sd, 1e-9, 1e-15), "{a} +- {sd}, {b} +- {other_sd}");
    }
    let mut segments = other.segments.clone();
    if way < 0.0 {
        segments.reverse();
    }
    assert_eq!(one.segments.len(), segments.len());
    for (a, b) in one.segments.iter().zip(&segments) {
        assert!(
            close(a.tilt_rad, way * b.tilt_rad, 1e-9, 1e-9 * a.tilt_sd_rad)
                && close(a.tilt_sd_rad, b.tilt_sd_rad, 1e-9, 0.0),
            "{a:?} {b:?}"
        );
        assert!(close(a.fall_m, b.fall_m, 1e-9, 1e-9 * a.fall_sd_m), "{a:?} {b:?}");
    }
    for (a, b) in one.pools.iter().zip(&other.pools) {
        assert!(a.state == b.state && close(a.depth_m, b.depth_m, 1e-9, 1e-10), "{a:?} {b:?}");
    }
    let (a, b) = (one.adjustment.as_ref().unwrap(), other.adjustment.as_ref().unwrap());
    assert!(
        close(a.chi_square, b.chi_square, 1e-7, 1e-9) && a.degrees_of_freedom == b.degrees_of_freedom,
        "{a:?} {b:?}"
    );
}

fn mixed() -> Vec<Tie> {
    vec![
        invert(at(0.3), 10.0, 0.01),
        invert(at(29.2), 10.0 + height(29.2) + 0.03, 0.02),
        water(at(13.1), at(17.0)),
        located(at(22.0), 1.1, Some(10.75)),
        level_check(0.12, None),
        reversal(0.05, None),
        rise(at(5.0), Place { taped: true, ..at(25.0) }, height(25.0) - height(5.0) - 0.01, 0.01),
        taped(2.0, 28.0, 26.1, 0.05),
    ]
}

#[test]
fn the_order_of_ties_changes_nothing() {
    let ties = mixed();
    let one = solved(ties.clone()).1;
    let mut order = ties;
    for turn in 0..4 {
        order.rotate_left(3);
        if turn % 2 == 1 {
            order.reverse();
        }
        let other = solved(order.clone()).1;
        same_figures(&one, &other, 1.0);
        for (tie, row) in order.iter().zip(&other.ties) {
            let same = |r: &&TieRow| r.kind == tie.kind() && r.station_m == row.station_m;
            let first = one.ties.iter().find(same).unwrap();
            assert_eq!(first.verdict, row.verdict);
            assert!(close(first.standardised.unwrap(), row.standardised.unwrap(), 1e-7, 1e-7), "{first:?} {row:?}");
        }
    }
}

#[test]
fn a_datum_changes_only_elevations() {
    let by = |datum_m: f64| {
        let mut ties = mixed();
        for tie in &mut ties {
            match &mut tie.known {
                Known::Invert { elevation_m, .. } => *elevation_m += datum_m,
                Known::Depth { ground_m: Some(ground_m), .. } => *ground_m += datum_m,
                _ => {}
            }
        }
        solved(ties).1
    };
    let low = by(0.0);
    for (datum_m, rounding) in [(1000.0, 1e-9), (1e6, 1e-6)] {
        let high = by(datum_m);
        let mut worst: f64 = 0.0;
        for (a, b) in low.path.iter().zip(&high.path) {
            worst = worst.max((a.height_m - b.height_m).abs()).max((a.height_sd_m - b.height_sd_m).abs());
            assert!(close(a.elevation_m.unwrap() + datum_m, b.elevation_m.unwrap(), 0.0, rounding));
        }
        for (a, b) in low.segments.iter().zip(&high.segments) {
            worst = worst.max((a.tilt_rad - b.tilt_rad).abs()).max((a.tilt_sd_rad - b.tilt_sd_rad).abs());
        }
        for (a, b) in low.pools.iter().zip(&high.pools) {
            worst = worst.max((a.depth_m - b.depth_m).abs());
        }
        println!("datum raised by {datum_m} m: {worst:.1e}");
        // A double at that height holds 1.1e-13 and 1.2e-10 m; some hundred of these.
        assert!(worst < 100.0 * datum_m * f64::EPSILON, "{worst:e}");
    }
}

#[test]
fn counting_stations_the_other_way_changes_nothing() {
    let there = mixed();
    let long_m = 30.0;
    let turned = |p: &Place| Place { station_m: long_m - p.station_m, ..*p };
    let back = there.iter().map(|tie| {
        let mut tie = tie.clone();
        match &mut tie.known {
            Known::Invert { at, .. } | Known::Depth { at, .. } => *at = turned(at),
            Known::HeightDifference { from, to, .. } | Known::WaterLevel { from, to, .. } => {
                (*from, *to) = (turned(from), turned(to));
            }
            Known::Length { from_m, to_m, .. } => (*from_m, *to_m) = (long_m - *to_m, long_m - *from_m),
            _ => {}
        }
        tie
    });
    let mut other = job(back.collect());
    other.runs[0].toward = Toward::Decreasing;
    other.runs[0].start_station_m = long_m;
    other.flow = Flow::Decreasing;
    same_figures(&solved(there).1, &answers(other).unwrap().1, -1.0);
}

// ---- 8: surveys compared ----

#[test]
fn a_lateral_compared_with_itself_has_not_changed() {
    for ties in [Vec::new(), mixed(), vec![invert(spot(3.0), 10.0, 0.0)]] {
        let lateral = Lateral::solve(job(ties)).unwrap();
        let mut sds = Vec::new();
        for shared in [Shared::Zero, Shared::Nothing] {
            let changed = compare(&lateral, &lateral, shared, Some(&book())).unwrap();
            assert!(
                changed.slopes.iter().all(|s| s.change.abs() < 1e-15 && s.verdict == "not shown"),
                "{:?}",
                changed.slopes
            );
            assert!(
                changed
                    .heights
                    .iter()
                    .all(|h| h.change_m.abs() < 1e-12 && h.change_low_m <= 0.0 && h.change_high_m >= 0.0)
            );
            assert!(changed.bellies.iter().all(|b| b.verdict == "there in both"));
            sds.push(changed.slopes[0].change_sd);
        }
        // What the zero does to both alike falls out.
        assert!(sds[0] < sds[1], "{sds:?}");
    }
}

#[test]
fn surveys_that_cannot_be_compared_are_refused() {
    let one = Lateral::solve(job(Vec::new())).unwrap();
    let flows = Lateral::solve(Job { flow: Flow::Decreasing, ..job(Vec::new()) }).unwrap();
    let error = compare(&one, &flows, Shared::Nothing, None).unwrap_err().to_string();
    assert!(error.starts_with("flow:"), "{error}");
    let mut far = job(Vec::new());
    far.reaches.clear();
    far.runs[0].start_station_m = 29.5;
    let error = compare(&one, &Lateral::solve(far).unwrap(), Shared::Zero, None).unwrap_err().to_string();
    assert!(error.contains("at least 1 m in common"), "{error}");
}

#[test]
fn a_zero_in_common_is_as_sure_as_the_surer_of_both() {
    let solve = |zero_sd_degrees: f64, ties: Vec<Tie>| {
        let instrument = Instrument { zero_sd_rad: zero_sd_degrees * DEGREE, ..Instrument::default() };
        Lateral::solve(Job { instrument, ..job(ties) }).unwrap()
    };
    let exact = Tie::new(Known::LevelCheck { reading_rad: 0.004, surface_rad: 0.0, sd_rad: 0.0, tilt_positive: None });
    let surveys = vec![
        ("plain", solve(0.3, Vec::new())),
        ("surer", solve(0.1, Vec::new())),
        ("loose", solve(1.0, Vec::new())),
        ("checked", solve(0.3, vec![level_check(0.2, None)])),
        ("exactly", solve(0.3, vec![exact])),
        ("known", solve(0.0, Vec::new())),
        ("tied", solve(0.3, mixed())),
    ];
    for (first, one) in &surveys {
        for (second, other) in &surveys {
            let zero = compare(one, other, Shared::Zero, None).unwrap();
            let nothing = compare(one, other, Shared::Nothing, None).unwrap();
            let (a, b) = (&zero.slopes[0], &nothing.slopes[0]);
            assert!(
                a.change.is_finite() && a.change_sd.is_finite() && a.change.abs() < 0.03,
                "{first}, {second}: {a:?}"
            );
            // Nothing is less sure for knowing more, the noise of either kept.
            assert!(a.change_sd <= b.change_sd * (1.0 + 1e-9), "{first}, {second}: {} {}", a.change_sd, b.change_sd);
        }
    }
}

// ---- 9: what next ----

#[test]
fn nobody_is_sent_into_a_chamber() {
    let mut open = job(Vec::new());
    open.features = [0.0, 30.0]
        .map(|station_m| Feature { kind: FeatureKind::Cleanout, station_m, to_m: None, text: String::new() })
        .to_vec();
    open.report.draws = 200;
    let mut seen = Vec::new();
    for ties in [
        Vec::new(),
        vec![reversal(0.1, None)],
        vec![invert(at(0.0), 10.0, 0.3), invert(at(30.0), 9.5, 0.3)],
        vec![located(at(3.0), 1.0, Some(11.0))],
        mixed(),
    ] {
        let lateral = Lateral::solve(Job { ties: ties.clone(), ..open.clone() }).unwrap();
        let next = lateral.what_next(&book());
        for c in &next {
            let kinds: Vec<&str> = ties.iter().map(Tie::kind).collect();
            let checked = ties.iter().any(Tie::is_of_head);
            assert!(!(checked && c.measurement == "reversal_check"), "{c:?}");
            assert!(!(kinds.contains(&"depth") && c.measurement == "depth"), "{c:?}");
            assert!(
                !(kinds.iter().filter(|k| **k == "invert").count() > 1 && c.measurement == "height_difference"),
                "{c:?}"
            );
            assert!(c.expected_decided > 0.0 && c.expected_decided <= c.undecided_now as f64 + 1e-9, "{c:?}");
            seen.push(c.measurement.clone());
            let said = format!("{} {}", c.sentence, c.hazard).to_lowercase();
            for (i, _) in said.match_indices("enter ") {
                let before = &said[..i];
                assert!(before.ends_with("do not ") || before.ends_with("do not lean into or "), "{said}");
            }
        }
    }
    assert!(seen.iter().any(|m| m == "reversal_check"), "{seen:?}");
}

// ---- 11: how often the right one is named ----

/// A random pipe with five levelled inverts, of which some are off by so many of their standard deviations.
fn levelled(random: &mut Random, count: usize, wrong: &[usize], off_sds: f64) -> Result<Adjustment, Error> {
    let tilts: Vec<f64> = (0..30).map(|_| 0.02 + 0.01 * random.normal()).collect();
    let zero = 0.3 * DEGREE * random.normal();
    let read: Vec<f64> = tilts.iter().map(|t| t + zero + 0.25 / 20_f64.sqrt() * DEGREE * random.normal()).collect();
    let chain = laid(&read, &[], &[]);
    let fall =
        |s: f64| tilts.iter().enumerate().map(|(k, t)| (s - k as f64).clamp(0.0, 1.0) * math::sin(*t)).sum::<f64>();
    let sd_m = 0.01;
    let ties: Vec<Tie> = (0..count)
        .map(|i| {
            let s = 30.0 * i as f64 / (count - 1) as f64;
            let sign = if random.uniform() < 0.5 { -1.0 } else { 1.0 };
            let off = if wrong.contains(&i) { sign * off_sds } else { 0.0 };
            invert(spot(s), 10.0 - fall(s) + sd_m * (random.normal() + off), sd_m)
        })
        .collect();
    chain.with(&ties).map(|(_, a)| a)
}

#[test]
fn the_suspect_is_the_wrong_one() {
    let (mut right, mut blamed, mut silent, mut refused) = (0, 0, 0, 0);
    let tries = 400;
    for seed in 0..tries {
        let mut random = Random::new(11, 1, seed);
        let wrong = seed as usize % 5;
        match levelled(&mut random, 5, &[wrong], 6.0) {
            Ok(a) => match a.suspect {
                Some(j) if a.closures[j].tie == wrong => right += 1,
                Some(_) => blamed += 1,
                None => silent += 1,
            },
            Err(Error::TiesContradict { tie, .. }) => {
                refused += 1;
                if tie.starts_with(&format!("tie {}", wrong + 1)) { right += 1 } else { blamed += 1 }
            }
            Err(e) => panic!("{e}"),
        }
    }
    println!(
        "one of five off by 6 sd: right {right}, another blamed {blamed}, nothing found {silent}; refused {refused}, of {tries}"
    );
    // As it was found: 79 % and 2.5 %, less or more four standard errors of 400 tries. A sixth shows nothing: of an error of 6
    // standard deviations at an end a good part goes into the zero. Blaming another must stay rare.
    assert!(f64::from(right) > 0.71 * f64::from(tries) && f64::from(blamed) < 0.057 * f64::from(tries));
}

#[test]
fn two_wrong_ones_may_hide_each_other() {
    let (mut pairs, mut right_pairs, mut alone, mut blamed, mut silent, mut refused) = (0_u32, 0_u32, 0, 0_u32, 0, 0);
    let tries = 400;
    for seed in 0..tries {
        let mut random = Random::new(11, 2, seed);
        let wrong = [[0, 1], [0, 2], [0, 3], [1, 2], [1, 3], [2, 3]][seed as usize % 6];
        match levelled(&mut random, 4, &wrong, 6.0) {
            Ok(a) => {
                let of = |j: usize| a.closures[j].tie;
                match (a.suspect_pair, a.suspect) {
                    (Some((j, k)), _) => {
                        pairs += 1;
                        right_pairs += u32::from(wrong == [of(j), of(k)]);
                    }
                    (None, Some(j)) if wrong.contains(&of(j)) => alone += 1,
                    (None, Some(_)) => blamed += 1,
                    (None, None) => silent += 1,
                }
            }
            Err(Error::TiesContradict { tie, .. }) => {
                refused += 1;
                blamed += u32::from(!wrong.iter().any(|w| tie.starts_with(&format!("tie {}", w + 1))));
            }
            Err(e) => panic!("{e}"),
        }
    }
    println!(
        "two of four off by 6 sd: pairs {pairs} (right {right_pairs}), one of the two {alone}, a right one blamed {blamed}, nothing {silent}, refused {refused}, of {tries}"
    );
    // Two beyond what is open, and two wrong: which they are cannot be known. A right one is blamed in more than a third (as it was
    // found: 38 %), so that nothing may be said of a suspect without saying that. Less than half: else the sentence is too mild.
    assert!(f64::from(blamed) < 0.5 * f64::from(tries));
}

#[test]
fn a_suspect_is_named_with_what_may_hide_behind_it() {
    let shot = |s: f64, off: f64| invert(spot(s), 10.0 + height(s) + off, 0.01);
    let told = solved(vec![shot(0.0, 0.0), shot(10.0, 0.0), shot(20.0, 0.07), shot(30.0, 0.0)]).1;
    let a = told.adjustment.unwrap();
    assert_eq!(told.ties[a.suspect_row.unwrap() - 1].station_m, Some(20.0));
    assert!(a.sentence.contains("If two ties are wrong, a right one can fit worst"), "{}", a.sentence);
    let error = refused(job(vec![shot(0.0, 0.0), shot(10.0, 0.3), shot(20.0, -0.3), shot(30.0, 0.0)]));
    assert!(error.contains("two wrong ties can make a right one fit worst"), "{error}");
}

/// Two inverts and a run: which of the two is wrong cannot be told, whatever the order.
#[test]
fn what_cannot_be_told_apart_is_not_blamed_alone() {
    // 0.3 degrees over 30 m are 157 mm; 4.2 of these.
    let off = 0.66;
    let (high, low) = (invert(at(0.0), 10.0, 0.01), invert(at(30.0), 10.0 + height(30.0) - off, 0.01));
    for ties in [vec![high.clone(), low.clone()], vec![low, high]] {
        let told = solved(ties).1;
        let verdicts: Vec<&str> = told.ties.iter().map(|t| t.verdict.as_str()).collect();
        assert_eq!(verdicts, ["suspect", "suspect"], "{:?}", told.ties);
        let said = told.adjustment.unwrap().sentence;
        assert!(said.contains("cannot be told"), "{said}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever is tied to a run: an error that names a tie, or finite answers, the same again.
    #[test]
    fn any_ties_give_an_error_that_names_one_or_finite_answers(which in proptest::collection::vec((0_usize..10, -0.6..30.6_f64, 0.0..30.0_f64, -1.0..1.0_f64, 0.0..1.0_f64), 1..7)) {
        let ties: Vec<Tie> = which.iter().map(|&(kind, a, b, x, sd)| {
            let (p, q) = (Place { sd_m: 0.2 * sd, taped: x > 0.5, ..at(a) }, at(b));
            match kind {
                0 => invert(p, 10.0 - 0.02 * a + 0.1 * x, 0.1 * sd),
                1 => plan(p, 0.3 * x, a + x, sd),
                2 => azimuth(p, 20.0 * x, 10.0 * sd),
                3 => located(p, 1.0 + 0.1 * x, Some(11.0 - 0.02 * a)),
                4 => rise(p, q, -0.02 * (b - a) + 0.1 * x, 0.1 * sd),
                5 => taped(a.min(b), a.max(b) + 0.1, (a - b).abs() + 0.1, 0.2 * sd),
                6 => reversal(0.3 * x, None),
                7 => level_check(0.3 * x, None),
                8 => water(p, at(a + x)),
                _ => deep(p, 0.04 * sd, at(a + x)),
            }
        }).collect();
        match answers(job(ties.clone())) {
            Ok((lateral, told)) => {
                prop_assert_eq!(&lateral.answers(Some(&book())).unwrap(), &told);
                if let Some(a) = &told.adjustment {
                    prop_assert!(a.converged || a.sentence.contains("did not come to rest"));
                    let mut said = told.ties.iter();
                    prop_assert!(said.all(|t| t.verdict != "suspect" || t.standardised.unwrap().abs() > 3.29));
                }
            }
            Err(error) => prop_assert!(error.to_string().contains("tie"), "{error}"),
        }
    }
}

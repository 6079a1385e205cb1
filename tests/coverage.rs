//! Whether the figures mean what they say: a small run of the coverage study (`tests/study`) against its bounds, and what
//! stands beside it. `FALLWISE_STUDY=full` makes the large run with the same bounds; `--nocapture` shows the tables.
#![allow(clippy::unwrap_used, reason = "the helpers of a test may panic as the test may")]

use fallwise::{
    Instrument, Job, Lateral,
    math::{self, Random},
    model::{Flow, SegmentChoice, TiltPositive, Toward},
    simulate::{self, Flaws, Head, Truth},
};
use fallwise_record::{
    Mark,
    Tolerance::{Absolute, Relative},
    reference,
};
use fallwise_study::{
    DEGREE, belly,
    bounds::{Bound, ERRORS, bin_failures, failures, mended},
    decisions::{LIMIT, decisions, straight, tied_decisions, two_percent},
    fits::{SUSPECTED, fits},
    markdown,
    row::Row,
    shape::{LENGTH_M, STICK_M, STICKS, Shape},
    share::Share,
    survey::{Zero, checked},
    tables::{self, Table},
};

/// Whether the large run is asked for.
fn is_full() -> bool {
    std::env::var("FALLWISE_STUDY").is_ok_and(|v| v == "full")
}

/// How many laterals: the usual number, or ten times as many.
fn laterals(usual: u32) -> u32 {
    if is_full() { 10 * usual } else { usual }
}

#[track_caller]
fn holds(bound: Bound, share: &Share, what: &str) {
    assert!(!share.is_empty(), "{what}");
    let of = reference("intervals", "laterals of known truth (tests/study)", Mark::Simulated);
    let what = format!("{what}: share of {}, {} to {}", share.laterals(), bound.low, bound.high);
    let nearest = share.mean().clamp(bound.low, bound.high);
    let why = "2.6 clustered standard errors beside a bound, or what goes unseen in so many";
    of.check(what, share.mean(), nearest, Absolute(Bound::room(share)), why);
}

/// Failures that the list of the study does not have.
fn none_new(computation: &'static str, table: &str, rows: &[Row]) {
    let all: Vec<_> = rows.iter().flat_map(failures).collect();
    let new: Vec<String> = all.iter().filter(|f| f.known.is_none()).map(markdown::failure).collect();
    assert!(new.is_empty(), "{}", new.join("\n"));
    let of = reference(computation, "laterals of known truth (tests/study)", Mark::Simulated);
    of.same(
        format!("{table}: of {} rows, bounds not kept beyond those listed with their cause", rows.len()),
        new.len(),
        0,
    );
}

const NOMINAL: Bound = Bound { low: 0.95, high: 1.0 };
const ONE_IN_TWENTY: Bound = Bound { low: 0.0, high: 0.05 };

/// Every interval and pool of the main table. What is known to fail stands in one list of the study, with its cause.
#[test]
fn intervals_cover() {
    let cases = if is_full() { tables::cases(Table::Coverage) } else { tables::small_cases() };
    let rows = tables::rows(cases, if is_full() { 500 } else { 24 }).unwrap();
    println!("{}\n{}", markdown::coverage("Coverage", &rows), markdown::not_kept(&rows));
    none_new("averages", "every interval and pool of readings alone", &rows);
    if is_full() {
        // Only told: a list of what fails is for those who mend it.
        println!("mended, to be taken off the list: {:#?}", mended(&rows));
    }
}

/// The same with ties drawn from the truth: inverts, water edges, a reversal check, depths, a run from the other end, a length.
#[test]
fn intervals_cover_with_ties() {
    let cases = if is_full() { tables::cases(Table::Ties) } else { tables::small_tied_cases() };
    let rows = tables::rows(cases, if is_full() { 500 } else { 40 }).unwrap();
    println!("{}\n{}", markdown::tied("With ties", &rows), markdown::not_kept(&rows));
    none_new("intervals", "every interval and pool with ties", &rows);
}

/// Probabilities of misclosures are even and standardised residuals standard normal: by Kolmogorov and Smirnov at one in ten thousand.
/// Right ties are suspected once in a thousand tests; of wrong ones most are named.
#[test]
fn ties_fit_as_often_as_is_said() {
    let all = fits(laterals(200) as usize, 10).unwrap();
    println!("{}", markdown::fits(&all));
    for f in all {
        let what = f.ties.name();
        assert!(f.even > 1e-4 && f.normal > 1e-4, "{what}: {} {}", f.even, f.normal);
        holds(Bound { low: 0.0, high: SUSPECTED }, &f.beyond, what);
        if !f.named.is_empty() {
            // 95.6 % of errors of five standard deviations lie beyond 3.29; a neighbour of the wrong one may look worse: one in twenty.
            holds(Bound { low: 0.906, high: 1.0 }, &f.named, what);
            holds(Bound { low: 0.0, high: 0.05 }, &f.other_named, what);
        }
    }
}

/// Of the pools said to exist at 95 % one in twenty at most is absent, and no tenth of the probabilities states more than
/// there is, over a population that no estimate knows of.
#[test]
fn pools_exist_as_often_as_is_said() {
    let all = belly::ZEROS.map(|zero| belly::probabilities(zero, laterals(100) as usize, 8).unwrap());
    println!("{}", markdown::probabilities(&all));
    for of in &all {
        holds(NOMINAL, &of.said_to_exist, of.zero.name());
        let more: Vec<_> = bin_failures(of).into_iter().filter(|failure| failure.states_more).collect();
        assert!(more.is_empty(), "{more:?}");
    }
}

/// What the next measurement is expected to decide, against what it does decide once made. The expectation is over what
/// the readings leave open, which takes every slope for as likely as the next: so here slopes are uniform over more than
/// the readings leave open. For a pipe just at its limit the check decides far less than that.
#[test]
fn a_check_decides_what_was_expected_of_it() {
    let rows = two_percent().unwrap();
    let (mut surprise, mut expected) = (Share::default(), Share::default());
    for i in 0..laterals(400) {
        let mut random = Random::new(13, 4, i);
        let slope = 2.0 * LIMIT * random.uniform();
        let survey = straight(slope, Zero::Unknown, &mut random).unwrap();
        let lateral = Lateral::solve(survey.job.clone()).unwrap();
        let Some(next) = lateral.what_next(&rows).into_iter().next() else { continue };
        let instrument = checked(&survey.job.instrument, survey.check_rad);
        let after = Lateral::solve(Job { instrument, ..survey.job }).unwrap();
        let decided = next.undecided_now as f64 - after.check(&rows).unwrap().undecided() as f64;
        surprise.add(decided - next.expected_decided);
        expected.add(next.expected_decided);
    }
    println!("check: {:.3} expected, {:+.3}±{:.3} in truth", expected.mean(), surprise.mean(), surprise.error());
    assert!(surprise.mean().abs() <= ERRORS * surprise.error(), "{} {}", surprise.mean(), surprise.error());
}

/// Straight pipe laid just at a limit of 2 %, from either side: the worst fixed slope that there is.
#[test]
fn findings_are_wrong_in_one_of_twenty_at_most() {
    let all = decisions(laterals(300) as usize, 7).unwrap();
    println!("{}", markdown::decisions(&all));
    for d in all {
        if d.slope <= LIMIT {
            holds(ONE_IN_TWENTY, &d.meets, "a reach at or below its limit that meets it");
            holds(ONE_IN_TWENTY, &d.all_meet, "a lateral at or below its limit that meets it");
        }
        if d.slope >= LIMIT {
            holds(ONE_IN_TWENTY, &d.fails, "a reach at or above its limit that fails it");
            holds(ONE_IN_TWENTY, &d.all_fail, "a lateral at or above its limit that fails it");
        }
    }
}

/// The same with ties, at every slope half a percent to either side of the limit: inverts at both ends of straight pipe, the edges of
/// the water in a belly.
#[test]
fn findings_with_ties_are_wrong_in_one_of_twenty_at_most() {
    let all = tied_decisions(laterals(50) as usize, 12).unwrap();
    println!("{}", markdown::tied_decisions(&all));
    for d in all {
        let what = format!("{} at {:.4}", d.ties.name(), d.slope);
        if d.slope <= LIMIT {
            holds(ONE_IN_TWENTY, &d.meets, &what);
        }
        if d.slope >= LIMIT {
            holds(ONE_IN_TWENTY, &d.fails, &what);
        }
        // Right ties are not refused.
        holds(Bound { low: 0.0, high: 1e-6 }, &d.refused, &what);
        // And with ties there is something to say: half a percent from the limit.
        if (d.slope - LIMIT).abs() > 0.0049 {
            let right = if d.slope < LIMIT { &d.fails } else { &d.meets };
            holds(Bound { low: 0.4, high: 1.0 }, right, &what);
        }
    }
}

/// Two runs of one head from opposite ends: the zero is found, and its interval holds it. No error of the counter: the
/// two runs would disagree about their stations, which is not modelled.
#[test]
fn two_runs_from_opposite_ends_find_the_zero() {
    let (mut zero, mut slope) = (Share::default(), Share::default());
    for i in 0..laterals(200) {
        let mut random = Random::new(11, 3, i);
        let truth = Shape::LargeChanges.truth(&mut random);
        let instrument = Instrument { counter_scale: 0.0, counter_scale_sd: 0.0, ..Instrument::default() };
        let zero_rad = instrument.zero_sd_rad * random.normal();
        let runs = [Toward::Increasing, Toward::Decreasing].map(|toward| {
            let seating_push_rad = instrument.seating_sd_rad * random.normal();
            let head = Head { zero_rad, seating_push_rad, toward, ..Head::default() };
            simulate::run(&truth, &head, &Flaws::default(), 0.05, random.next_u64()).unwrap().run
        });
        let lateral = Lateral::solve(Job { runs: runs.to_vec(), instrument, ..Job::default() }).unwrap();
        let found = lateral.posterior().parameter("zero_rad").unwrap();
        zero.yes((found.value - zero_rad).abs() <= 1.96 * found.sd);
        let total = lateral.total();
        let true_slope = truth.slope(0.0, LENGTH_M);
        slope.yes(total.slope_low.unwrap() <= true_slope && true_slope <= total.slope_high.unwrap());
        assert!(found.sd < 0.1 * DEGREE); // the seatings, 0.1 degrees each, halve against each other
    }
    holds(NOMINAL, &zero, "zero");
    holds(NOMINAL, &slope, "slope");
}

/// Every sign of the log, way of the push and way of the water: one pipe, one zero error of known sign.
#[test]
fn signs_agree() {
    let truth = Truth { breaks_m: vec![0.0, 30.0], tilt_rad: vec![math::atan(0.02)], ..Truth::default() };
    let zero_rad = 0.4 * DEGREE;
    for tilt_positive in [TiltPositive::Down, TiltPositive::Up] {
        for toward in [Toward::Increasing, Toward::Decreasing] {
            for flow in [Flow::Increasing, Flow::Decreasing] {
                let head = Head { zero_rad, noise_sd_rad: 0.0, tilt_positive, toward, ..Head::default() };
                let run = simulate::run(&truth, &head, &Flaws::default(), 0.05, 1).unwrap().run;
                let instrument = Instrument { zero_rad, zero_sd_rad: 0.0, counter_scale: 0.0, ..Instrument::default() };
                let lateral = Lateral::solve(Job { runs: vec![run], instrument, flow, ..Job::default() }).unwrap();
                let total = lateral.total();
                // 1e-9: what the sums of 600 readings round.
                assert!(
                    (total.slope.unwrap() - 0.02 * flow.sign()).abs() < 1e-9,
                    "{tilt_positive:?} {toward:?} {flow:?}"
                );
                assert!((total.fall_m - 30.0 * math::sin(math::atan(0.02)) * flow.sign()).abs() < 1e-9);
            }
        }
    }
}

/// Figures worked out beforehand, apart from this code: 30 m in ten segments of 3 m with 60 white readings each.
#[test]
fn orientation_figures() {
    let runs = vec![{
        let counter_m = (0..600).map(|i| 30.0 * f64::from(i) / 599.0).collect();
        fallwise::Run::new(counter_m, vec![math::atan(0.02); 600])
    }];
    let instrument = Instrument {
        seating_sd_rad: 0.0,
        noise_sd_rad: Some(0.25 * DEGREE),
        resolution_rad: Some(0.0),
        head_length_m: 0.0, // all 60 readings of a segment count
        counter_scale: 0.0,
        counter_scale_sd: 0.0,
        drift_sd_rad: 0.0,
        lip_sd_m: 0.0,
        ..Instrument::default()
    };
    let breaks_m = (1..STICKS).map(|k| STICK_M * k as f64).collect();
    let segments = SegmentChoice::Given { breaks_m };
    let lateral = Lateral::solve(Job { runs, instrument, segments, ..Job::default() }).unwrap();
    let end = 1000.0 * lateral.fall_between(0.0, 30.0).unwrap().sd;
    let stick = 100.0 * lateral.slope_between(3.0, 6.0).unwrap().sd;
    let whole = 100.0 * lateral.slope_between(0.0, 30.0).unwrap().sd;
    println!("end {end:.3} mm, stick {stick:.4} %, whole {whole:.4} %");
    let of =
        reference("adjustment", "30 m in ten segments of 60 white readings, worked out beforehand", Mark::Computed);
    let why = "worked out for small slopes; at 2 % the factors cos t and 1/cos² t move the figures by up to 0.04 %";
    of.check("sd of the elevation of the end, mm", end, 157.17, Relative(5e-4), why);
    of.check("sd of the slope of 3 m, %", stick, 0.5266, Relative(5e-4), why);
    of.check("sd of the slope of all, %", whole, 0.524, Relative(1e-3), "three figures");
}

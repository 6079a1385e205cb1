//! What no verdict may rest on: pipe that was not seen, a handful of draws, a fact that is missing, a break that may lie
//! elsewhere, water that is another's. Each is the smallest job that once led to a false one.
#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use fallwise::{
    Bore, Error, Instrument, Job, Lateral, Pipe, Reach, Rulebook, Run,
    model::{AsBuilt, Feature, FeatureKind, Flow, SegmentChoice, TiltPositive, Toward},
    rules::{Check, Reason, Verdict},
    simulate::{self, Flaws, Head, Truth},
};

use fallwise_files::{MemoryResolver, job};

const DEGREE: f64 = core::f64::consts::PI / 180.0;

/// A head whose zero is known to a few hundredths of a degree.
fn known() -> Instrument {
    Instrument {
        zero_sd_rad: 0.02 * DEGREE,
        seating_sd_rad: 0.01 * DEGREE,
        counter_scale: 0.0,
        ..Instrument::default()
    }
}

fn reach(to_m: f64) -> Reach {
    let pipe = Pipe { bore: Some(Bore::circle(0.1).unwrap()), nominal: "4 in".parse().ok(), ..Pipe::default() };
    Reach { from_m: 0.0, to_m, pipe, ..Reach::default() }
}

fn slope(s: f64) -> f64 {
    fallwise::math::atan(s)
}

/// Readings of a pipe (station of each break, slope of each piece) by a head with a little noise.
fn survey(breaks_m: &[f64], slopes: &[f64], spacing_m: f64, seed: u64) -> Run {
    let truth =
        Truth { breaks_m: breaks_m.to_vec(), tilt_rad: slopes.iter().map(|s| slope(*s)).collect(), ..Truth::default() };
    let head = Head { noise_sd_rad: 0.1 * DEGREE, ..Head::default() };
    simulate::run(&truth, &head, &Flaws::default(), spacing_m, seed).unwrap().run
}

/// The readings whose counter is not within a stretch.
fn without(mut run: Run, from_m: f64, to_m: f64) -> Run {
    let kept: Vec<usize> =
        (0..run.counter_m.len()).filter(|i| !(from_m < run.counter_m[*i] && run.counter_m[*i] < to_m)).collect();
    run.counter_m = kept.iter().map(|i| run.counter_m[*i]).collect();
    run.reading_rad = kept.iter().map(|i| run.reading_rad[*i]).collect();
    (run.time_s, run.source_row) = (None, None);
    run
}

fn by_hand(stations_m: &[f64], fall: f64) -> Run {
    Run { by_hand: true, ..Run::new(stations_m.to_vec(), vec![slope(fall); stations_m.len()]) }
}

fn job(run: Run, length_m: f64) -> Job {
    Job { runs: vec![run], reaches: vec![reach(length_m)], instrument: known(), ..Job::default() }
}

/// A book of rows written in short: what follows the keys that every row has.
fn book(rows: &[&str]) -> Rulebook {
    let row = |(row, id): (&&str, char)| {
        format!(
            "[[rule]]\nid = '{id}'\ndocument = 'd'\nedition = 'e'\nclause = 'c'\ntext = 't'\nforce = 'contract'\n\
             applies_to = 'all'\nconfirmed = true\nsource_mark = 's'\n{row}\n"
        )
    };
    let rows: Vec<String> = rows.iter().zip('a'..).map(row).collect();
    Rulebook::parse(&format!("name = 't'\ntitle = 'T'\nversion = '1'\njurisdiction = 'none'\n{}", rows.join("")))
        .unwrap()
}

fn two_percent() -> Rulebook {
    book(&["min_slope = '2 %'"])
}

fn check(job: Job, book: &Rulebook) -> Check {
    Lateral::solve(job).unwrap().check(book).unwrap()
}

fn of(check: &Check, subject: &str) -> Verdict {
    check.findings().find(|f| f.subject == subject).map(|f| f.verdict).unwrap()
}

const NOT_SURVEYED: Verdict = Verdict::Undecided(Reason::NotSurveyed);

#[test]
fn what_lies_between_readings_too_far_apart_meets_nothing() {
    let whole = survey(&[0.0, 30.0], &[0.03], 0.1, 1);
    assert_eq!(check(job(whole.clone(), 30.0), &two_percent()).lateral.verdict, Verdict::Meets);
    let (mut near, mut far) = (whole.clone(), whole.clone());
    near = without(near, 5.0, 40.0);
    far = without(far, -1.0, 25.0);
    let jobs = [
        ("one log with a hole", job(without(whole.clone(), 5.0, 25.0), 30.0)),
        ("two runs that do not meet", Job { runs: vec![near, far], ..job(whole, 30.0) }),
        ("two readings by hand", job(by_hand(&[1.0, 35.0], 0.05), 36.0)),
        ("sticks at both ends", job(by_hand(&[1.5, 4.5, 7.5, 52.5, 55.5, 58.5], 0.03), 60.0)),
        ("a log every ten metres", job(survey(&[0.0, 60.0], &[0.04], 10.0, 2), 60.0)),
    ];
    for (name, job) in jobs {
        let lateral = Lateral::solve(job).unwrap();
        assert!(!lateral.unseen_m().is_empty(), "{name}");
        assert!(lateral.warnings().iter().any(|w| w.contains("there are no readings")), "{name}");
        let found = lateral.check(&two_percent()).unwrap();
        for subject in ["lateral", "reach 1", "backfall"] {
            assert_eq!(of(&found, subject), NOT_SURVEYED, "{name}: {subject}");
        }
        let answers = lateral.answers(Some(&two_percent())).unwrap();
        assert!(answers.sentence.contains("No belly was found where the pipe was seen."), "{}", answers.sentence);
    }
}

#[test]
fn a_backfall_seen_fails_whatever_was_not_seen() {
    let run = survey(&[0.0, 4.0, 7.0, 30.0], &[0.03, -0.03, 0.03], 0.1, 3);
    let found = check(job(without(run, 15.0, 25.0), 30.0), &two_percent());
    assert_eq!((of(&found, "backfall"), of(&found, "lateral")), (Verdict::Fails, Verdict::Fails));
    assert_eq!(of(&found, "reach 1"), NOT_SURVEYED);
}

#[test]
fn between_far_inverts_the_mean_slope_is_known_and_the_shape_is_not() {
    let invert = |station_m: f64| AsBuilt { station_m, invert_m: 10.0 - 0.03 * station_m, sd_m: Some(0.001) };
    let drawing = |stations: &[f64]| Job {
        as_built: stations.iter().map(|s| invert(*s)).collect(),
        reaches: vec![reach(60.0)],
        ..Job::default()
    };
    let found = check(drawing(&[0.0, 60.0]), &two_percent());
    assert_eq!(of(&found, "reach 1"), Verdict::Meets);
    assert_eq!((of(&found, "backfall"), of(&found, "lateral")), (NOT_SURVEYED, NOT_SURVEYED));
    let sticks: Vec<f64> = (0..=20).map(|k| 3.0 * f64::from(k)).collect();
    assert_eq!(check(drawing(&sticks), &two_percent()).lateral.verdict, Verdict::Meets);
}

#[test]
fn a_handful_of_draws_that_agree_decides_nothing() {
    let mut unsure = job(survey(&[0.0, 30.0], &[0.026], 0.1, 4), 30.0);
    unsure.instrument = Instrument::default();
    for draws in [1, 2, 3, 10] {
        for seed in 0..20 {
            (unsure.report.draws, unsure.report.seed) = (draws, seed);
            let verdict = of(&check(unsure.clone(), &two_percent()), "reach 1");
            assert!(matches!(verdict, Verdict::Undecided(_)), "{draws} draws, seed {seed}: {verdict:?}");
        }
    }
}

#[test]
fn a_row_that_may_take_the_place_of_another_may_be_the_stricter_one() {
    let job = job(survey(&[0.0, 30.0], &[0.015], 0.1, 5), 30.0);
    let stricter = book(&["min_slope = '1 %'", "min_slope = '2 %'\ninstead_of = ['a']\nneeds = { grease = 'yes' }"]);
    assert_eq!(of(&check(job.clone(), &stricter), "reach 1"), Verdict::Undecided(Reason::InputMissing));
    // A milder row that would take the place of one does not excuse another.
    let other = book(&[
        "min_slope = '3 %'",
        "min_slope = '2 %'",
        "min_slope = '1 %'\ninstead_of = ['b']\nneeds = { approval = 'yes' }",
    ]);
    assert_eq!(of(&check(job.clone(), &other), "reach 1"), Verdict::Fails);
    // Without draws the bounds say the same.
    let mut plain = job;
    plain.report.draws = 0;
    assert_eq!(of(&check(plain.clone(), &other), "reach 1"), Verdict::Fails);
    assert_eq!(of(&check(plain, &stricter), "reach 1"), Verdict::Undecided(Reason::InputMissing));
}

#[test]
fn a_rule_on_water_or_a_fact_does_not_speak_of_pipe_that_was_not_reached() {
    let short = job(survey(&[0.0, 2.0], &[0.03], 0.1, 6), 30.0);
    let found = check(short.clone(), &book(&["max_pool = 'none'"]));
    assert_eq!(found.lateral.verdict, NOT_SURVEYED);
    assert!(found.lateral.sentence.contains("the rule on standing water of"), "{}", found.lateral.sentence);
    let by_fact = book(&["min_slope = '5 %'", "instead_of = ['a']\nneeds = { velocity = 'enough' }"]);
    let mut stated = short;
    stated.rules.facts.insert("velocity".to_owned(), "enough".to_owned());
    assert_eq!(of(&check(stated.clone(), &by_fact), "reach 1"), NOT_SURVEYED);
    stated.reaches[0].to_m = 2.0;
    assert_eq!(of(&check(stated, &by_fact), "reach 1"), Verdict::Meets);
}

#[test]
fn one_noted_joint_does_not_make_the_rest_one_stick() {
    let mut job = job(survey(&[0.0, 12.0, 15.0, 30.0], &[0.04, 0.002, 0.04], 0.1, 7), 30.0);
    job.features.push(Feature { kind: FeatureKind::Joint, station_m: 29.0, to_m: None, text: String::new() });
    let sticks = book(&["min_slope = '1 %'\nover = 'stick'"]);
    assert_eq!(of(&check(job.clone(), &sticks), "reach 1"), Verdict::Undecided(Reason::InputMissing));
    job.reaches[0].pipe.stick_m = Some(3.0);
    assert_eq!(of(&check(job, &sticks), "reach 1"), Verdict::Fails);
}

#[test]
fn a_backfall_near_its_limit_takes_readings_closer_together() {
    // 1.8 m of backfall under readings a metre apart, of which one or two see it.
    for seed in 0..30 {
        let at = 10.0 + 0.05 * f64::from(u32::try_from(seed).unwrap());
        let run = survey(&[0.0, at, at + 1.8, 30.0], &[0.03, -0.02, 0.03], 1.0, seed);
        let verdict = of(&check(job(run, 30.0), &two_percent()), "backfall");
        assert_ne!(verdict, Verdict::Meets, "seed {seed}");
        let run = survey(&[0.0, at, at + 1.05, 30.0], &[0.03, -0.02, 0.03], 0.25, seed);
        let verdict = of(&check(job(run, 30.0), &two_percent()), "backfall");
        assert_ne!(verdict, Verdict::Fails, "seed {seed}");
    }
}

#[test]
fn a_trap_excuses_its_own_water_and_no_more() {
    let trap = |from_m: f64, to_m: f64| Feature {
        kind: FeatureKind::Trap,
        station_m: from_m,
        to_m: Some(to_m),
        text: String::new(),
    };
    let none = book(&["max_pool = 'none'"]);
    // A trap below a nearly level stretch that may hold water of its own.
    let run = survey(&[0.0, 9.0, 11.15, 11.6, 12.05, 30.0], &[0.03, 0.0005, 0.3, -0.3, 0.03], 0.05, 8);
    let mut level = job(run, 30.0);
    level.instrument = Instrument::default();
    level.features.push(trap(11.15, 12.6));
    assert_ne!(check(level, &none).lateral.verdict, Verdict::Meets);
    // A trap of twenty metres is none.
    let run = survey(&[0.0, 12.0, 16.0, 30.0], &[0.03, -0.02, 0.03], 0.05, 9);
    let mut long = job(run, 30.0);
    long.features.push(trap(5.0, 25.0));
    let lateral = Lateral::solve(long).unwrap();
    assert!(lateral.warnings().iter().any(|w| w.contains("which no trap is")), "{:?}", lateral.warnings());
    assert_eq!(lateral.check(&none).unwrap().lateral.verdict, Verdict::Fails);
}

#[test]
fn backwater_is_no_belly_and_hides_none() {
    let none = book(&["max_pool = 'none'"]);
    let straight = || job(survey(&[0.0, 30.0], &[0.03], 0.1, 10), 30.0);
    let wet = Job { tailwater_m: Some(0.05), ..straight() };
    assert_eq!(check(wet, &none).lateral.verdict, check(straight(), &none).lateral.verdict);
    let belly = job(survey(&[0.0, 24.0, 28.0, 30.0], &[0.03, -0.01, 0.03], 0.1, 11), 30.0);
    let drowned = Job { tailwater_m: Some(0.2), ..belly };
    assert_eq!(check(drowned, &none).lateral.verdict, Verdict::Fails);
}

#[test]
fn water_at_the_upstream_end_may_be_deeper_beyond_it() {
    let run = survey(&[0.0, 2.0, 30.0], &[-0.005, 0.03], 0.05, 12);
    let found = check(job(run, 30.0), &book(&["max_pool = '15 mm'"]));
    let pool = found.parts.iter().find(|f| f.subject == "pool 1").unwrap();
    assert_eq!(pool.verdict, NOT_SURVEYED);
    assert!(pool.sentence.contains("where the water may be deeper"), "{}", pool.sentence);
}

#[test]
fn what_keeps_the_water_lies_downstream_whichever_way_that_is() {
    // Flow towards falling station: the sill is at station 0.
    let run = survey(&[0.0, 3.0, 30.0], &[0.004, -0.03], 0.05, 13);
    let found = check(Job { flow: Flow::Decreasing, ..job(run, 30.0) }, &book(&["max_pool = '50 mm'"]));
    let pool = found.parts.iter().find(|f| f.subject.starts_with("pool")).unwrap();
    assert_eq!(pool.verdict, NOT_SURVEYED);
    assert!(pool.sentence.contains("surveyed beyond chainage 0.00 m"), "{}", pool.sentence);
}

#[test]
fn a_greatest_slope_is_not_met_by_a_drop() {
    let run = survey(&[0.0, 5.0, 30.0], &[1.2, 0.03], 0.05, 14);
    let mut job = job(run, 30.0);
    job.reaches = vec![reach(5.0), Reach { from_m: 5.0, ..reach(30.0) }];
    job.segments = SegmentChoice::Given { breaks_m: vec![5.0] };
    let found = check(job, &book(&["max_slope = '10 %'"]));
    assert_eq!(of(&found, "reach 1"), Verdict::Undecided(Reason::NoRule));
    assert_ne!(found.lateral.verdict, Verdict::Meets);
}

#[test]
fn falls_and_slopes_are_of_what_was_surveyed() {
    let lateral = Lateral::solve(job(survey(&[0.0, 30.0], &[0.03], 0.1, 15), 30.0)).unwrap();
    assert!(lateral.fall_between(0.0, 30.0).is_some() && lateral.slope_between(30.0, 0.0).is_some());
    for (a, b) in [(f64::NAN, 5.0), (5.0, f64::NAN), (100.0, 200.0), (0.0, 60.0), (-1.0, 5.0)] {
        assert_eq!((lateral.fall_between(a, b), lateral.slope_between(a, b)), (None, None), "{a} {b}");
    }
}

#[test]
fn a_fact_is_known_however_it_is_written() {
    let milder = book(&["min_slope = '2 %'", "min_slope = '1 %'\ninstead_of = ['a']\nneeds = { approval = 'yes' }"]);
    let mut job = job(survey(&[0.0, 30.0], &[0.015], 0.1, 16), 30.0);
    job.rules.facts.insert("approval".to_owned(), " Yes".to_owned());
    let found = check(job, &milder);
    assert_eq!(of(&found, "reach 1"), Verdict::Meets);
    assert_eq!(found.warnings, Vec::<&str>::new());
}

/// Readings the other way along the same pipe, from its end.
fn back(breaks_m: &[f64], slopes: &[f64], seed: u64) -> Run {
    let end = *breaks_m.last().unwrap();
    let turned: Vec<f64> = breaks_m.iter().rev().map(|b| end - b).collect();
    let rising: Vec<f64> = slopes.iter().rev().map(|s| -s).collect();
    let run = survey(&turned, &rising, 0.1, seed);
    Run { toward: Toward::Decreasing, start_station_m: end, ..run }
}

#[test]
fn runs_that_contradict_each_other_are_not_averaged() {
    let book = two_percent();
    let solve = |runs: Vec<Run>, instrument: Instrument| {
        Lateral::solve(Job { runs, reaches: vec![reach(30.0)], instrument, ..Job::default() })
    };
    let pipe = |s: f64, seed| survey(&[0.0, 30.0], &[s], 0.1, seed);
    // Two surveys of two pipes; and one of one pipe, whose sign was forgotten.
    let two = solve(vec![pipe(-0.01, 20), pipe(0.08, 21)], Instrument::default()).unwrap_err();
    assert!(matches!(two, Error::Contradiction { runs: (1, 2), .. }), "{two}");
    let mut forgotten = back(&[0.0, 30.0], &[0.025], 22);
    forgotten.tilt_positive = TiltPositive::Up;
    let sign = solve(vec![pipe(0.025, 23), forgotten], Instrument::default()).unwrap_err();
    assert!(sign.to_string().contains("check tilt_positive"), "{sign}");
    // One met something over three metres that the other did not.
    let belly = survey(&[0.0, 10.0, 13.0, 30.0], &[0.03, -0.02, 0.03], 0.1, 24);
    let lateral = solve(vec![belly, pipe(0.03, 25)], known()).unwrap();
    assert!(lateral.warnings().iter().any(|w| w.contains("contradict each other")), "{:?}", lateral.warnings());
    let found = lateral.check(&book).unwrap();
    for subject in ["lateral", "reach 1", "backfall"] {
        assert_eq!(of(&found, subject), NOT_SURVEYED, "{subject}");
    }
    // Two honest runs, the same way and opposite ways, are taken.
    for (seed, second) in [(26, pipe(0.03, 27)), (28, back(&[0.0, 30.0], &[0.03], 29))] {
        let lateral = solve(vec![pipe(0.03, seed), second], known()).unwrap();
        assert_eq!(lateral.unseen_m(), []);
        assert_eq!(lateral.check(&book).unwrap().lateral.verdict, Verdict::Meets);
    }
}

#[test]
fn a_check_is_as_coarse_as_whatever_showed_it() {
    let zero_sd_deg = |header: &str, rows: &[String]| {
        let text = "[[run]]\nlog = 'log.csv'\n[instrument]\nreversal_check = { first = '1 deg', second = '0 deg' }\n";
        let log = format!("distance (m),{header}\n{}\n", rows.join("\n"));
        let files = MemoryResolver([("log.csv".to_owned(), log.into_bytes())].into_iter().collect());
        let answers = job::read_text(text, "job.toml", &files).unwrap().solve().unwrap().answers(None).unwrap();
        answers.parameters.iter().find(|p| p.name == "zero_rad").unwrap().sd / DEGREE
    };
    // A head that was checked may have any zero, to 10 degrees; a single run says nothing of it.
    let prior_deg = 10.0;
    let with_prior = |check_deg: f64| (1.0 / (1.0 / (check_deg * check_deg) + 1.0 / (prior_deg * prior_deg))).sqrt();
    let rows = |n: usize, reading: &dyn Fn(usize) -> String| -> Vec<String> {
        (0..n).map(|i| format!("{:.1},{}", 0.1 * i as f64, reading(i))).collect()
    };
    // Half the sum of two readings in whole degrees: 0.204 degrees, with 0.05 for laying the head twice.
    let whole = with_prior((0.0025_f64 + 1.0 / 24.0).sqrt());
    let near = |found: f64, what: &str| assert!((found - whole).abs() < 1e-9, "{what}: {found}"); // a few roundings
    near(zero_sd_deg("tilt (deg)", &rows(5, &|_| "2".to_owned())), "five readings");
    near(zero_sd_deg("tilt (deg)", &rows(4, &|_| "2".to_owned())), "four readings");
    near(zero_sd_deg("tilt (deg)", &rows(301, &|i| if i == 0 { "1.3" } else { "2" }.to_owned())), "one odd reading");
    near(zero_sd_deg("slope (%)", &rows(301, &|i| if i % 3 == 0 { "1.75" } else { "3.49" }.to_owned())), "in percent");
    // A display of tenths is a display of tenths.
    let fine = zero_sd_deg("tilt (deg)", &rows(301, &|i| format!("{:.1}", 1.5 + 0.1 * (i * 7 % 5) as f64)));
    assert!((fine - with_prior((0.0025_f64 + 0.01 / 24.0).sqrt())).abs() < 1e-9, "{fine}"); // a few roundings
}

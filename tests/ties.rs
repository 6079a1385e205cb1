//! What is known beside the run, through whole laterals.

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use fallwise::{
    Instrument, Job, Lateral, Run, Tie,
    math::{atan, sin},
    model::{AsBuilt, AsBuiltUse, Feature, FeatureKind, Known, Note, Place, ReversalCheck, Seen, Toward},
    simulate::{self, Flaws, Head, Truth},
    units::deg,
};

/// Sticks of 3 m, with a belly of some 30 mm between 13 and 20 m.
fn truth() -> Truth {
    Truth {
        breaks_m: vec![0.0, 3.0, 6.0, 9.0, 12.0, 15.0, 18.0, 21.0, 24.0, 30.0],
        tilt_rad: vec![0.021, 0.018, 0.024, 0.02, 0.03, -0.012, 0.022, 0.019, 0.023],
        ..Truth::default()
    }
}

fn run(head: &Head, seed: u64) -> Run {
    simulate::run(&truth(), head, &Flaws::default(), 0.05, seed).unwrap().run
}

fn job(runs: Vec<Run>, ties: Vec<Tie>) -> Job {
    let mut job = Job { runs, ties, ..Job::default() };
    job.report.draws = 200;
    job
}

/// Elevation of the true invert, m, that of station 0 being 100 m.
fn true_m(station_m: f64) -> f64 {
    let truth = truth();
    let pieces = truth.breaks_m.windows(2).zip(&truth.tilt_rad);
    100.0 - pieces.map(|(ends, tilt)| (station_m.min(ends[1]) - ends[0]).max(0.0) * sin(*tilt)).sum::<f64>()
}

fn invert(station_m: f64, off_m: f64, sd_m: f64) -> Tie {
    Tie::new(Known::Invert { at: Place::exact(station_m), elevation_m: true_m(station_m) + off_m, sd_m })
}

#[test]
fn two_levels_make_a_slope_sure_that_one_run_leaves_open() {
    let head = Head { zero_rad: deg(0.4), ..Head::default() };
    let alone = Lateral::solve(job(vec![run(&head, 1)], vec![])).unwrap();
    let tied =
        Lateral::solve(job(vec![run(&head, 1)], vec![invert(0.0, 0.0, 0.005), invert(30.0, 0.0, 0.005)])).unwrap();
    let slope = |l: &Lateral| l.slope_between(0.0, 30.0).unwrap();
    assert!(slope(&tied).sd < slope(&alone).sd / 10.0);
    let expected = (100.0 - true_m(30.0)) / 30.0;
    assert!((slope(&tied).value - expected).abs() < 3.0 * slope(&tied).sd, "{:?} {expected}", slope(&tied));
    // The zero is found: 0.4 degrees, with the seating that goes with it.
    let zero = tied.posterior().parameter("zero_rad").unwrap();
    assert!((zero.value - deg(0.4)).abs() < 3.0 * zero.sd && zero.sd < deg(0.12), "{zero:?}");
    let answers = tied.answers(None).unwrap();
    let row = |i: usize| &answers.path[i];
    assert!(row(0).elevation_sd_m.unwrap() < 0.006 && row(0).before_height_sd_m.is_some());
    let (last, first) = (answers.path.last().unwrap(), row(0));
    assert!(last.before_height_sd_m.unwrap() > 10.0 * last.elevation_sd_m.unwrap(), "{last:?} {first:?}");
}

#[test]
fn heights_falls_and_as_built_inverts_have_the_same_lips() {
    // Levels that hold exactly, and that the tilts alone would miss: what is left over is lips.
    let exactly = |station_m: f64, off_m: f64| invert(station_m, off_m, 0.0);
    let rise = |rise_m: f64| {
        let known = Known::HeightDifference { from: Place::exact(0.0), to: Place::exact(30.0), rise_m, sd_m: 0.0 };
        vec![Tie::new(known)]
    };
    let all = [
        (vec![exactly(0.0, 0.0), exactly(12.0, 0.006), exactly(30.0, -0.02)], true),
        (vec![exactly(9.0, 0.0), exactly(21.0, -0.03)], true),
        (rise(true_m(30.0) - true_m(0.0) - 0.02), false),
    ];
    for (ties, levelled) in all {
        let mut job = job(vec![run(&Head::default(), 3)], ties.clone());
        let as_built = |station_m: f64| AsBuilt { station_m, invert_m: true_m(station_m), sd_m: Some(0.0) };
        job.as_built = vec![as_built(0.0), as_built(9.0), as_built(30.0)];
        let lateral = Lateral::solve(job).unwrap();
        let told = lateral.answers(None).unwrap();
        let lips_m = lateral.profile().fall_between(0.0, 30.0) - lateral.fall_between(0.0, 30.0).unwrap().value;
        assert!(lips_m.abs() > 1e-5, "there are lips to get wrong: {lips_m}");
        let row = |station_m: f64| lateral.at(&[station_m]).remove(0).unwrap();
        for (from_m, to_m) in [(0.0, 9.0), (9.0, 30.0), (0.0, 30.0)] {
            let fall = lateral.fall_between(from_m, to_m).unwrap();
            // Sums of numbers of size 100, and the same sums in another order.
            assert!((row(from_m).height_m - row(to_m).height_m - fall.value).abs() < 1e-12, "{fall:?}");
            let measured = |station_m: f64| told.as_built.iter().find(|a| a.station_m == station_m).unwrap().measured_m;
            assert!((measured(from_m) - measured(to_m) - fall.value).abs() < 1e-12, "{fall:?}");
        }
        for tie in ties.iter().filter(|_| levelled) {
            let Known::Invert { at, elevation_m, .. } = &tie.known else { panic!("an invert") };
            assert!((row(at.station_m).elevation_m.unwrap() - elevation_m).abs() < 1e-11, "{at:?}");
        }
    }
}

#[test]
fn two_edges_of_still_water_find_the_zero() {
    let head = Head { zero_rad: deg(-0.5), ..Head::default() };
    // The water stands at the sill at 18 m; its other edge is where the pipe passes that level before 15 m.
    let level = true_m(18.0) - 0.004;
    let before = 12.0 + (true_m(12.0) - level) / sin(0.03);
    let after = 15.0 + (level - true_m(15.0)) / sin(0.012);
    let edges = Tie::new(Known::WaterLevel {
        from: Place { sd_m: 0.02, ..Place::exact(before) },
        to: Place { sd_m: 0.05, ..Place::exact(after) },
        level_sd_m: None,
        seen: Seen::Lens,
        although_running: false,
    });
    let lateral = Lateral::solve(job(vec![run(&head, 2)], vec![edges.clone()])).unwrap();
    let zero = lateral.posterior().parameter("zero_rad").unwrap();
    assert!((zero.value + deg(0.5)).abs() < 3.0 * zero.sd && zero.sd < deg(0.15), "{zero:?}");
    let mut wet = job(vec![run(&head, 2)], vec![edges]);
    wet.survey.water = Some("Running a little".to_owned());
    let error = Lateral::solve(wet).unwrap_err().to_string();
    assert!(error.contains("water was running") && error.contains("tie 1"), "{error}");
}

#[test]
fn a_check_takes_the_place_of_what_heads_commonly_have() {
    let head = Head { zero_rad: deg(2.0), ..Head::default() };
    let check = |first: f64, second: f64| {
        let (first_rad, second_rad) = (deg(first), deg(second));
        Tie::new(Known::ReversalCheck(ReversalCheck {
            first_rad,
            second_rad,
            sd_rad: Some(deg(0.07)),
            tilt_positive: None,
        }))
    };
    // 2 degrees is seven times what heads commonly have; the check says so, and is believed.
    let lateral = Lateral::solve(job(vec![run(&head, 3)], vec![check(3.1, 0.9)])).unwrap();
    let zero = lateral.posterior().parameter("zero_rad").unwrap();
    assert!((zero.value - deg(2.0)).abs() < deg(0.001) && (zero.sd - deg(0.0495)).abs() < deg(0.001), "{zero:?}");
    // One before and one after the run, as far apart as checks are: both count.
    let both = Lateral::solve(job(vec![run(&head, 3)], vec![check(3.1, 0.9), check(2.6, 1.5)])).unwrap();
    let adjustment = both.adjustment();
    assert_eq!(adjustment.degrees_of_freedom, 1);
    assert!(adjustment.suspect.is_none() && adjustment.p_value.unwrap() > 0.3, "{adjustment:?}");
    assert!(both.posterior().parameter("zero_rad").unwrap().sd < deg(0.036));
    // And as far apart as only a head that was knocked has.
    let knocked =
        Lateral::solve(job(vec![run(&head, 3)], vec![check(3.1, 0.9), check(4.0, 1.0)])).unwrap_err().to_string();
    assert!(knocked.contains("contradict") && knocked.contains("check"), "{knocked}");
}

#[test]
fn a_run_from_the_other_end_is_laid_over_the_first() {
    let forth = run(&Head::default(), 4);
    let mut forth = forth;
    let keep = forth.counter_m.iter().take_while(|c| **c <= 19.0).count();
    for values in [&mut forth.counter_m, &mut forth.reading_rad] {
        values.truncate(keep);
    }
    (forth.time_s, forth.moving, forth.source_row) = (None, None, None);
    let mut back = run(&Head { toward: Toward::Decreasing, ..Head::default() }, 5);
    let keep = back.counter_m.iter().take_while(|c| **c <= 19.0).count();
    for values in [&mut back.counter_m, &mut back.reading_rad] {
        values.truncate(keep);
    }
    (back.time_s, back.moving, back.source_row) = (None, None, None);
    back.start_station_m -= 0.7;
    back.start_station_sd_m = Some(0.5);
    let lateral = Lateral::solve(job(vec![forth, back], vec![])).unwrap();
    assert!((lateral.job().runs[1].start_station_m - 30.0).abs() < 0.1, "{}", lateral.job().runs[1].start_station_m);
    assert!(lateral.warnings().iter().any(|w| w.contains("run 2 fits the others best if it starts at")));
    let (first_m, last_m) = lateral.surveyed_m();
    assert!(first_m < 0.1 && last_m > 29.8, "{first_m} {last_m}");
}

#[test]
fn a_run_over_even_pipe_stays_where_it_was_put_and_its_error_is_in_the_fall() {
    let even = Truth { breaks_m: vec![0.0, 30.0], tilt_rad: vec![0.02], ..Truth::default() };
    let cut = |toward: Toward, seed: u64| {
        let head = Head { toward, ..Head::default() };
        let mut run = simulate::run(&even, &head, &Flaws::default(), 0.05, seed).unwrap().run;
        let keep = run.counter_m.iter().take_while(|c| **c <= 18.0).count();
        run.counter_m.truncate(keep);
        run.reading_rad.truncate(keep);
        (run.time_s, run.moving, run.source_row) = (None, None, None);
        run
    };
    let solve = |sd_m: Option<f64>| {
        let back = Run { start_station_sd_m: sd_m, ..cut(Toward::Decreasing, 7) };
        Lateral::solve(job(vec![cut(Toward::Increasing, 6), back], vec![])).unwrap()
    };
    let (known, open) = (solve(None), solve(Some(1.0)));
    assert!(open.warnings().iter().any(|w| w.contains("stations that only it saw may be that far off")));
    let fall = |l: &Lateral| l.fall_between(0.5, 29.5).unwrap().sd;
    let more = (fall(&open) * fall(&open) - fall(&known) * fall(&known)).sqrt();
    // A metre of pipe that falls 2 %; the seating moves the slope by a tenth of that.
    assert!((more - 0.02).abs() < 0.003, "{more}");
}

#[test]
fn as_built_inverts_are_compared_or_used() {
    let as_built = |off_m: f64| -> Vec<AsBuilt> {
        [0.0, 15.0, 30.0]
            .map(|station_m| AsBuilt {
                station_m,
                invert_m: true_m(station_m) + if station_m == 15.0 { off_m } else { 0.0 },
                sd_m: Some(0.01),
            })
            .to_vec()
    };
    let with = |as_built_use, off_m| {
        let mut job = job(vec![run(&Head::default(), 8)], vec![]);
        (job.as_built, job.as_built_use) = (as_built(off_m), as_built_use);
        job.instrument.zero_sd_rad = deg(0.02);
        Lateral::solve(job).unwrap()
    };
    let compared = with(AsBuiltUse::Compare, 0.25).answers(None).unwrap();
    assert_eq!(compared.as_built.len(), 3);
    let middle = &compared.as_built[1];
    // Put on the inverts as a whole, a third of what is off goes into the others.
    assert!(
        (middle.difference_m + 0.25 * 2.0 / 3.0).abs() < 0.06 && middle.sentence.contains("more than both may be off"),
        "{middle:?}"
    );
    assert!(compared.ties.is_empty() && compared.adjustment.is_none());
    let used = with(AsBuiltUse::Use, 0.0).answers(None).unwrap();
    assert_eq!(used.ties.iter().filter(|t| t.name.starts_with("as-built invert")).count(), 3);
    assert!(used.as_built.is_empty() && used.path[0].elevation_m.is_some());
    let mut without = job(vec![run(&Head::default(), 8)], vec![]);
    (without.as_built, without.as_built_use) =
        (vec![AsBuilt { station_m: 0.0, invert_m: 1.0, sd_m: None }], AsBuiltUse::Use);
    assert!(Lateral::solve(without).unwrap_err().to_string().starts_with("as_built.sd_m[0]: nothing given"));
}

#[test]
fn water_that_is_not_explained_or_not_there_is_a_finding() {
    let note = |station_m: f64, water_seen: bool, dry_seen: bool| Note {
        station_m: Some(station_m),
        text: "seen".to_owned(),
        water_seen,
        dry_seen,
        ..Note::default()
    };
    let mut job = job(vec![run(&Head::default(), 9)], vec![]);
    job.instrument.zero_sd_rad = deg(0.02);
    // In the belly; on the slope; in the belly, dry; on the slope, dry.
    job.notes = vec![note(15.0, true, false), note(5.0, true, false), note(15.2, false, true), note(25.0, false, true)];
    let answers = Lateral::solve(job).unwrap().answers(None).unwrap();
    let found: Vec<(&str, f64)> = answers.water.iter().map(|w| (w.finding.as_str(), w.from_m)).collect();
    assert_eq!(found, [("not_explained", 5.0), ("not_seen", 15.2)], "{:?}", answers.water);
}

#[test]
fn a_start_given_with_the_run_is_a_tie_that_is_told_only_where_it_is_checked() {
    let mut start = run(&Head::default(), 10);
    (start.start_invert_m, start.start_invert_sd_m) = (Some(100.0), Some(0.004));
    let alone = Lateral::solve(job(vec![start.clone()], vec![])).unwrap().answers(None).unwrap();
    assert!(alone.ties.is_empty() && alone.adjustment.is_none() && alone.path[0].elevation_m.is_some());
    let checked = Lateral::solve(job(vec![start], vec![invert(30.0, 0.0, 0.01)])).unwrap().answers(None).unwrap();
    assert_eq!(checked.ties.iter().map(|t| t.number).collect::<Vec<_>>(), [1, 0]);
    assert_eq!(checked.adjustment.unwrap().verdict, "agree");
}

#[test]
fn what_is_proposed_is_what_is_open() {
    let book = fallwise::Rulebook::shipped("ipc-2021").unwrap();
    let mut plain = job(vec![run(&Head::default(), 11)], vec![]);
    plain.reaches = vec![fallwise::Reach {
        from_m: 0.0,
        to_m: 30.0,
        pipe: fallwise::Pipe::standard("SDR 35", "4 in").unwrap(),
        ..fallwise::Reach::default()
    }];
    plain.features = vec![Feature { kind: FeatureKind::Cleanout, station_m: 30.0, to_m: None, text: String::new() }];
    let proposed = |job: Job| -> Vec<String> {
        Lateral::solve(job).unwrap().what_next(&book).into_iter().map(|c| c.measurement).collect()
    };
    assert_eq!(proposed(plain.clone()).first().map(String::as_str), Some("reversal_check"));
    let mut checked = plain.clone();
    checked.ties = vec![Tie::new(Known::LevelCheck {
        reading_rad: 0.0,
        surface_rad: 0.0,
        sd_rad: deg(0.05),
        tilt_positive: None,
    })];
    assert!(!proposed(checked).iter().any(|m| m == "reversal_check"));
    let mut exact = plain;
    exact.instrument = Instrument { zero_sd_rad: 0.0, seating_sd_rad: 0.0, zero_checked: true, ..exact.instrument };
    assert!(!proposed(exact).iter().any(|m| m == "reversal_check" || m == "run_from_other_end"));
}

/// An even lateral a little steeper than the limit; three levels that say so, and one in the middle of them that is off.
#[test]
fn what_rests_on_a_tie_that_does_not_fit_is_left_undecided() {
    let book = fallwise::Rulebook::shipped("ipc-2021").unwrap();
    // 1/4 in/ft for 2 inch pipe (2.08 %); the pipe falls 2.25 %.
    let even = Truth { breaks_m: vec![0.0, 30.0], tilt_rad: vec![atan(0.0225)], ..Truth::default() };
    let reach = fallwise::Reach {
        from_m: 0.0,
        to_m: 30.0,
        pipe: fallwise::Pipe {
            bore: Some(fallwise::Bore::circle(0.05).unwrap()),
            nominal: "2 in".parse().ok(),
            ..fallwise::Pipe::default()
        },
        ..fallwise::Reach::default()
    };
    let level = |station_m: f64, off_m: f64| {
        let elevation_m = 100.0 - station_m * sin(atan(0.0225)) + off_m;
        Tie::new(Known::Invert { at: Place::exact(station_m), elevation_m, sd_m: 0.006 })
    };
    let found = |ties: Vec<Tie>| {
        let run = simulate::run(&even, &Head::default(), &Flaws::default(), 0.05, 12).unwrap().run;
        let mut job = job(vec![run], ties);
        job.reaches = vec![reach.clone()];
        job.instrument.counter_scale_sd = 0.0;
        job.instrument.counter_scale = 0.0;
        Lateral::solve(job).unwrap().answers(Some(&book)).unwrap()
    };
    let right = found(vec![level(0.1, 0.0), level(15.0, 0.0), level(29.9, 0.0)]);
    assert_eq!(right.findings.iter().find(|f| f.subject == "reach 1").unwrap().finding, "meets");
    // The last level is 75 mm too high, and with all of them the pipe looks flatter than it is.
    let wrong = found(vec![level(0.1, 0.0), level(15.0, 0.0), level(29.9, 0.075)]);
    assert_eq!(wrong.adjustment.as_ref().unwrap().verdict, "large", "{:?}", wrong.ties);
    let reach = wrong.findings.iter().find(|f| f.subject == "reach 1").unwrap();
    assert_eq!(reach.finding, "undecided", "{}", reach.sentence);
}

//! Jobs that nobody should hand in: any number in any field gives a typed error or finite figures, never a panic.
//! `PROPTEST_CASES` raises the number of cases.

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use std::collections::BTreeMap;

use fallwise::{
    Bore, Error, Flow, Instrument, Job, Lateral, Path, Pipe, Profile, Reach, Rulebook, Run,
    adjust::{self, SegmentMean, SetupNoise, Source},
    answers::Answers,
    chain::{self, Averaging, Chain, FitOptions, Loss, average},
    condition::condition,
    math,
    model::{
        AsBuilt, Bend, Capacity, Dig, DigOptions, Feature, FeatureKind, Formula, GroundPoint, KeepOut, KeptOver, Known,
        Landmark, Nominal, Note, Origin, Place, RelayChoice, RelayCosts, RelaySurface, ReportChoice, ReversalCheck,
        RulesChoice, Seen as EdgeSeen, SegmentChoice, SizeUnit, Step, Survey, Tie, TiltPositive, Toward, Work,
    },
    path::{self, Layout, Start},
    pool,
    profile::{self, Draws},
    rules::{self, CheckOptions, Evidence, PoolEvidence, Seen},
    units::{self, Words},
};
use proptest::{collection::vec, option, prelude::*, sample::select, strategy::ValueTree, test_runner::TestRunner};
use serde_json::Value;

/// A number that a field may be given: mostly the usual, sometimes anything.
fn number(usual: core::ops::Range<f64>) -> impl Strategy<Value = f64> + Clone {
    prop_oneof![150 => usual, 1 => odd()]
}

fn odd() -> impl Strategy<Value = f64> + Clone {
    prop_oneof![
        select(vec![
            f64::NAN,
            f64::INFINITY,
            f64::NEG_INFINITY,
            f64::MAX,
            f64::MIN,
            1e308,
            -1e308,
            1e300,
            1e100,
            -1e100,
            1e9,
            -1e9,
            1e6,
            5e-324,
            -5e-324,
            f64::MIN_POSITIVE,
            1e-300,
            1e-20,
            0.0,
            -0.0,
            -1.0,
            1.0,
            90.0,
            f64::EPSILON,
            core::f64::consts::FRAC_PI_2,
            -core::f64::consts::FRAC_PI_2,
            core::f64::consts::PI,
            core::f64::consts::TAU,
        ]),
        any::<f64>(),
    ]
}

fn station() -> impl Strategy<Value = f64> + Clone {
    number(-1.0..11.0)
}

/// A log: readings along a run, then a few things done to it.
fn log() -> impl Strategy<Value = (Vec<f64>, Vec<f64>)> {
    let push = (2_usize..60, 0.02..0.5_f64, vec(-0.05..0.08_f64, 60));
    let pushed = push.prop_map(|(n, step, tilts)| {
        let counter: Vec<f64> = (0..n).map(|i| step * i as f64).collect();
        (counter, tilts[..n].to_vec())
    });
    let spoiled = (pushed.clone(), vec((any::<prop::sample::Index>(), odd(), any::<bool>()), 0..4)).prop_map(
        |((mut counter, mut tilt), spoils)| {
            for (at, value, in_counter) in spoils {
                let i = at.index(counter.len());
                *(if in_counter { &mut counter[i] } else { &mut tilt[i] }) = value;
            }
            (counter, tilt)
        },
    );
    let moved = (pushed.clone(), vec((any::<prop::sample::Index>(), -3.0..3.0_f64), 0..4)).prop_map(
        |((mut counter, tilt), moves)| {
            for (at, by) in moves {
                let i = at.index(counter.len());
                counter[i..].iter_mut().for_each(|c| *c += by);
            }
            (counter, tilt)
        },
    );
    let anything = (vec(station(), 0..12), vec(number(-0.1..0.1), 0..12));
    prop_oneof![6 => pushed, 2 => spoiled, 2 => moved, 1 => anything]
}

fn run() -> impl Strategy<Value = Run> {
    let optional = || option::weighted(0.2, number(0.0..40.0));
    let starts = (optional(), optional(), optional(), optional(), optional(), optional(), optional());
    let start = prop_oneof![3 => Just(0.0), 1 => number(-5.0..12.0)];
    let log = prop_oneof![Just((vec![1.0], vec![0.02])), log(), log(), log(), log(), log(), log(), log(), log()];
    (log, start, any::<(bool, bool, bool)>(), option::weighted(0.2, prop_oneof![3 => 0.1..1.0_f64, 1 => odd()]), starts)
        .prop_map(|((counter, tilt), start_station_m, (up, back, by_hand), time, s)| {
            let n = counter.len();
            let mut run = Run::new(counter, tilt);
            run.start_station_m = start_station_m;
            run.tilt_positive = if up { TiltPositive::Up } else { TiltPositive::Down };
            run.toward = if back { Toward::Decreasing } else { Toward::Increasing };
            run.by_hand = by_hand && n < 20;
            run.time_s = time.map(|t| (0..n).map(|i| i as f64 * t).collect());
            (run.start_azimuth_rad, run.start_azimuth_sd_rad, run.start_east_m) = (s.0, s.1, s.2);
            (run.start_north_m, run.start_plan_sd_m, run.start_invert_m, run.start_invert_sd_m) = (s.3, s.4, s.5, s.6);
            run
        })
}

fn bore() -> impl Strategy<Value = Bore> {
    prop_oneof![
        number(0.05..0.3).prop_map(|diameter_m| Bore::Circle { diameter_m }),
        (number(0.05..0.3), number(0.05..0.3)).prop_map(|(width_m, height_m)| Bore::Ellipse { width_m, height_m }),
    ]
}

fn capacity() -> impl Strategy<Value = Capacity> {
    let some = |range: core::ops::Range<f64>| option::of(number(range));
    let numbers =
        (some(0.008..0.02), some(0.0..0.003), some(1e-5..0.02), some(0.1..1.0), some(0.2..1.5), some(0.1..5.0));
    (numbers, any::<bool>()).prop_map(|((n, k, flow, filling, velocity, shear), manning)| Capacity {
        formula: Some(if manning { Formula::Manning } else { Formula::ColebrookWhite })
            .filter(|_| n.is_some() == k.is_some()),
        manning_n: n,
        roughness_m: k,
        flow_m3_s: flow,
        filling,
        least_velocity_m_s: velocity,
        least_shear_pa: shear,
        ..Capacity::default()
    })
}

fn pipe() -> impl Strategy<Value = Pipe> {
    (
        option::of(bore()),
        option::of((select(vec![4.0, 6.0, 100.0, 110.0, 160.0]), any::<bool>(), option::weighted(0.02, odd()))),
        option::of(number(0.0..0.01)),
        option::of(number(0.5..6.0)),
    )
        .prop_map(|(bore, nominal, wall_m, stick_m)| Pipe {
            bore,
            nominal: nominal.map(|(size, dn, odd)| Nominal {
                size: odd.unwrap_or(size),
                unit: if dn { SizeUnit::Dn } else { SizeUnit::Inch },
            }),
            wall_m,
            stick_m,
            ..Pipe::default()
        })
}

/// Reaches that join, mostly; sometimes anything.
fn reaches() -> impl Strategy<Value = Vec<Reach>> {
    let joined = vec((0.5..60.0_f64, pipe()), 0..4).prop_map(|parts| {
        let mut from_m = -40.0;
        let mut reaches: Vec<Reach> = Vec::new();
        for (length, pipe) in parts {
            reaches.push(reach(from_m, from_m + length, pipe));
            from_m += length;
        }
        if let Some(last) = reaches.last_mut() {
            last.to_m = last.to_m.max(31.0);
        }
        reaches
    });
    let anything = vec((station(), station(), pipe()), 0..4)
        .prop_map(|parts| parts.into_iter().map(|(a, b, pipe)| reach(a, b, pipe)).collect());
    prop_oneof![8 => joined, 1 => anything]
}

fn reach(from_m: f64, to_m: f64, pipe: Pipe) -> Reach {
    Reach { from_m, to_m, name: String::new(), pipe, owner: None, facts: BTreeMap::new() }
}

fn instrument() -> impl Strategy<Value = Instrument> {
    (
        number(-0.02..0.02),
        number(0.0..0.01),
        number(0.0..0.003),
        option::of(number(0.0..0.01)),
        option::of(number(0.0..0.02)),
        number(0.0..0.3),
        number(-0.02..0.02),
        number(0.0..0.01),
        (
            option::of(number(0.0..1.0)),
            0.0..0.01_f64,
            number(10.0..1000.0),
            0.0..0.01_f64,
            0.0..0.01_f64,
            0.0..0.01_f64,
        ),
    )
        .prop_map(
            |(zero_rad, zero_sd_rad, seating_sd_rad, noise_sd_rad, resolution_rad, head, scale, scale_sd, more)| {
                Instrument {
                    zero_rad,
                    zero_sd_rad,
                    zero_checked: false,
                    seating_sd_rad,
                    noise_sd_rad,
                    resolution_rad,
                    head_length_m: head,
                    counter_scale: scale,
                    counter_scale_sd: scale_sd,
                    correlation_m: more.0,
                    drift_sd_rad: more.1,
                    drift_s: more.2,
                    roll_sd_rad: more.3,
                    wander_sd_rad: more.4,
                    lip_sd_m: more.5,
                    ..Instrument::default()
                }
            },
        )
}

fn bend() -> impl Strategy<Value = Bend> {
    (number(1.0..9.0), number(-1.5..1.5), number(0.0..0.05), option::of(number(0.05..0.3))).prop_map(
        |(station_m, deflection_rad, deflection_sd_rad, radius_m)| Bend {
            station_m,
            deflection_rad,
            deflection_sd_rad,
            radius_m,
        },
    )
}

fn step() -> impl Strategy<Value = Step> {
    (number(0.0..3.0), number(-0.02..0.02), number(0.0..0.01)).prop_map(|(station_m, rise_m, rise_sd_m)| Step {
        station_m,
        rise_m,
        rise_sd_m,
    })
}

fn feature() -> impl Strategy<Value = Feature> {
    let kind = select(vec![FeatureKind::Joint, FeatureKind::Trap, FeatureKind::Cleanout, FeatureKind::Main]);
    (kind, station(), option::of(station())).prop_map(|(kind, station_m, to_m)| Feature {
        kind,
        station_m,
        to_m,
        text: "a \"<b>\" & =1".to_owned(),
    })
}

fn note() -> impl Strategy<Value = Note> {
    (station(), option::of(station()), option::of(number(0.0..100.0)), any::<[bool; 2]>(), option::of(number(0.0..0.1)))
        .prop_map(|(station_m, to_m, video_time_s, [water_seen, dry_seen], tilt_sd_rad)| Note {
            station_m: Some(station_m),
            to_m,
            text: "seen".to_owned(),
            photo: None,
            video_time_s,
            water_seen,
            dry_seen,
            tilt_sd_rad,
        })
}

/// What is known beside the runs, mostly as it may be.
fn tie() -> impl Strategy<Value = Tie> {
    let place = || {
        (prop_oneof![8 => 0.0..1.0_f64, 1 => station()], number(0.0..0.2), any::<bool>())
            .prop_map(|(station_m, sd_m, taped)| Place { station_m, sd_m, taped })
    };
    let sd = || number(0.0..0.3);
    let small = || number(-0.1..0.1);
    let at_one = prop_oneof![
        (place(), number(29.0..31.0), sd()).prop_map(|(at, elevation_m, sd_m)| Known::Invert { at, elevation_m, sd_m }),
        (place(), number(0.0..9.0), number(0.0..9.0), number(0.0..5.0))
            .prop_map(|(at, east_m, north_m, sd_m)| Known::Plan { at, east_m, north_m, sd_m }),
        (place(), number(-7.0..7.0), number(0.0..1.0)).prop_map(|(at, azimuth_rad, sd_rad)| Known::Azimuth {
            at,
            azimuth_rad,
            sd_rad
        }),
        (
            place(),
            number(0.5..2.0),
            option::of(sd()),
            option::of(number(31.0..33.0)),
            number(0.0..0.4),
            option::of(sd())
        )
            .prop_map(|(at, depth_m, sd_m, ground_m, behind_m, ground_sd_m)| Known::Depth {
                at,
                depth_m,
                sd_m,
                ground_m,
                ground_sd_m,
                behind_m,
                above_m: 0.05,
            }),
    ];
    let at_two = prop_oneof![
        (place(), place(), small(), sd()).prop_map(|(from, to, rise_m, sd_m)| Known::HeightDifference {
            from,
            to,
            rise_m,
            sd_m
        }),
        (number(0.0..2.0), number(3.0..5.0), number(1.0..5.0), number(0.0..5.0))
            .prop_map(|(from_m, to_m, length_m, sd_m)| Known::Length { from_m, to_m, length_m, sd_m }),
        (place(), place(), option::of(sd()), any::<bool>()).prop_map(|(from, to, level_sd_m, although_running)| {
            Known::WaterLevel { from, to, level_sd_m, seen: EdgeSeen::Lens, although_running }
        }),
        (place(), number(0.0..0.1), sd(), place(), option::of(sd())).prop_map(
            |(at, depth_m, sd_m, edge, level_sd_m)| {
                Known::WaterDepth { at, depth_m, sd_m, edge, level_sd_m, seen: EdgeSeen::Edge, although_running: true }
            }
        ),
    ];
    let up = || select(vec![None, Some(TiltPositive::Up), Some(TiltPositive::Down)]);
    let of_head = prop_oneof![
        (small(), small(), option::of(number(0.0..0.01)), up()).prop_map(
            |(first_rad, second_rad, sd_rad, tilt_positive)| {
                Known::ReversalCheck(ReversalCheck { first_rad, second_rad, sd_rad, tilt_positive })
            }
        ),
        (small(), small(), number(0.0..0.01), up()).prop_map(|(reading_rad, surface_rad, sd_rad, tilt_positive)| {
            Known::LevelCheck { reading_rad, surface_rad, sd_rad, tilt_positive }
        }),
    ];
    prop_oneof![2 => at_one, 2 => at_two, 1 => of_head].prop_map(Tie::new)
}

/// A place on the earth, mostly one that there is.
fn origin() -> impl Strategy<Value = Origin> {
    let usual = (number(-3.1..3.1), number(-1.5..1.5), number(-5.0..9.0), number(-5.0..9.0), number(-0.1..0.1));
    (usual, option::of(number(0.0..5.0))).prop_map(|((longitude_rad, latitude_rad, east_m, north_m, turn), sd_m)| {
        Origin { longitude_rad, latitude_rad, east_m, north_m, grid_north_rad: turn, sd_m }
    })
}

fn job() -> impl Strategy<Value = Job> {
    let as_built = vec((station(), number(29.0..31.0), option::of(number(0.0..0.02))), 0..6).prop_map(|points| {
        let points = points.into_iter();
        points.map(|(station_m, invert_m, sd_m)| AsBuilt { station_m, invert_m, sd_m }).collect::<Vec<_>>()
    });
    let ground = vec((station(), number(31.0..33.0), option::of(number(0.0..0.1))), 0..4).prop_map(|points| {
        let points = points.into_iter();
        points.map(|(station_m, elevation_m, sd_m)| GroundPoint { station_m, elevation_m, sd_m }).collect::<Vec<_>>()
    });
    let landmarks = vec((number(-30.0..30.0), number(-30.0..30.0), number(0.0..0.2)), 0..3).prop_map(|marks| {
        let named = |(i, (east_m, north_m, sd_m))| Landmark { name: format!("mark {i}"), east_m, north_m, sd_m };
        marks.into_iter().enumerate().map(named).collect::<Vec<_>>()
    });
    let digs = vec((station(), number(0.0..0.3)), 0..3).prop_map(|digs| {
        let dig = |(station_m, station_sd_m)| Dig { station_sd_m, ..Dig::new(station_m) };
        digs.into_iter().map(dig).collect::<Vec<_>>()
    });
    let digging = (number(0.0..2.0), number(0.0..10.0), number(0.9..0.999), number(0.0..0.5)).prop_map(
        |(across_m, tie_within_m, confidence, margin_m)| DigOptions { across_m, tie_within_m, confidence, margin_m },
    );
    let few = |weight: u32, most: usize| prop_oneof![3 => Just(0..1_usize), weight => Just(0..most)];
    let data = (
        prop_oneof![1 => vec(run(), 0..1), 8 => vec(run(), 1..2), 2 => vec(run(), 2..4)],
        as_built,
        reaches(),
        instrument(),
    );
    let things = (
        few(1, 3).prop_flat_map(|r| vec(bend(), r)),
        few(1, 3).prop_flat_map(|r| vec(step(), r)),
        few(1, 5).prop_flat_map(|r| vec(feature(), r)),
        ground,
        few(1, 4).prop_flat_map(|r| vec(note(), r)),
        few(1, 3).prop_flat_map(|r| vec(tie(), r)),
    );
    let segments = prop_oneof![
        3 => Just(SegmentChoice::Fitted),
        2 => Just(SegmentChoice::Raw),
        1 => vec(station(), 0..4).prop_map(|breaks_m| SegmentChoice::Given { breaks_m }),
    ];
    let choices = (any::<bool>(), segments, option::weighted(0.3, number(0.0..0.2)), 0_usize..30, any::<(bool, u64)>());
    let about = (
        option::weighted(0.1, number(1.0..40.0)),
        option::weighted(0.3, origin()),
        option::of(capacity()),
        option::of(relay()),
    );
    (data, things, choices, about, (landmarks, digs, digging)).prop_map(
        |(
            (runs, as_built, reaches, instrument),
            (bends, steps, features, ground, notes, ties),
            (back, segments, tailwater_m, draws, (us, seed)),
            (about_length_m, origin, capacity, relay),
            (landmarks, digs, digging),
        )| Job {
            survey: Survey { about_length_m, ..Survey::default() },
            origin,
            runs,
            as_built,
            ties,
            reaches,
            instrument,
            bends,
            steps,
            features,
            ground,
            notes,
            landmarks,
            digs,
            digging,
            flow: if back { Flow::Decreasing } else { Flow::Increasing },
            segments,
            tailwater_m,
            capacity,
            rules: RulesChoice { rulebook: None, work: Work::Existing, facts: BTreeMap::new() },
            report: ReportChoice {
                words: if us { Words::Us } else { Words::Uk },
                draws,
                seed,
                ..ReportChoice::default()
            },
            relay,
            ..Job::default()
        },
    )
}

/// Choices that can be, and some that cannot.
fn relay() -> impl Strategy<Value = RelayChoice> {
    let costs = (number(0.0..1e4), number(0.0..1e3), number(0.0..1e3)).prop_map(|(per_trench, per_m, per_m_depth)| {
        RelayCosts { currency: "crowns".to_owned(), per_trench, per_m, per_m_depth }
    });
    let stretch = || (number(0.0..30.0), number(0.1..9.0)).prop_map(|(from_m, m)| (from_m, from_m + m));
    let surface = (stretch(), number(0.0..99.0)).prop_map(|((from_m, to_m), per_m)| RelaySurface {
        name: String::new(),
        from_m,
        to_m,
        per_m,
        per_m_depth: 0.0,
    });
    let keep_out = stretch().prop_map(|(from_m, to_m)| KeepOut { from_m, to_m, reason: String::new() });
    let sizes = (option::of(number(0.3..1.0)), number(0.0..2.0), number(0.0..0.3), option::of(number(1.0..30.0)));
    (
        option::of(number(0.0..0.05)),
        number(0.5..0.99),
        any::<bool>(),
        costs,
        vec(surface, 0..2),
        vec(keep_out, 0..3),
        sizes,
    )
        .prop_map(
            |(min_slope, confidence, reach, costs, surfaces, keep_out, (width_m, batter, bedding_m, max_length_m))| {
                RelayChoice {
                    min_slope,
                    confidence,
                    kept: if reach { KeptOver::Reach } else { KeptOver::Piece },
                    max_length_m,
                    costs,
                    surfaces,
                    keep_out,
                    width_m,
                    batter,
                    bedding_m,
                    ..RelayChoice::default()
                }
            },
        )
}

/// Places in a JSON tree, with their values.
fn leaves(value: &Value, at: &str, visit: &mut dyn FnMut(&str, &Value)) {
    match value {
        Value::Array(list) => list.iter().for_each(|v| leaves(v, at, visit)),
        Value::Object(map) => map.iter().for_each(|(k, v)| leaves(v, &format!("{at}.{k}"), visit)),
        leaf => visit(at, leaf),
    }
}

/// What the JSON writer turns into null comes back neither as a number nor as the same answers.
fn assert_finite(answers: &Answers) {
    let text = serde_json::to_string(answers).unwrap();
    let again: Answers = serde_json::from_str(&text).unwrap_or_else(|e| panic!("{e}: a number that is none"));
    assert_eq!(&again, answers, "an optional number that is none came back absent");
    leaves(&serde_json::to_value(answers).unwrap(), "", &mut |at, leaf| {
        if let Value::String(text) = leaf {
            let odd = ["NaN", "inf ", "inf,", "inf%"].iter().any(|w| text.contains(w)) || text.ends_with("inf");
            assert!(!odd, "{at}: {text}");
        }
    });
    for row in &answers.path {
        // What ties show of lips lies on top of the profile, whose lowest node is 0.
        assert!(row.height_sd_m >= 0.0 && (row.height_m >= 0.0 || !answers.job.ties.is_empty()), "{row:?}");
    }
    for row in &answers.ties {
        assert!(row.sd >= 0.0 && row.redundancy.is_none_or(|r| (0.0..=1.0).contains(&r)), "{row:?}");
        assert!(row.misclosure_sd.is_none_or(|sd| sd >= 0.0), "{row:?}");
        let large = row.standardised.is_some_and(|w| w.abs() > adjust::ties::SUSPECT);
        assert_eq!(large, row.verdict == "suspect" || row.verdict == "large", "{row:?}");
    }
    if let Some(a) = &answers.adjustment {
        assert!(a.p_value.is_none_or(|p| (0.0..=1.0).contains(&p)) && a.chi_square >= 0.0, "{a:?}");
        assert!(a.converged || a.sentence.contains("did not come to rest"), "{a:?}");
    }
    for p in answers.findings.iter().filter_map(|f| f.probability) {
        assert!((0.0..=1.0).contains(&p));
    }
}

fn books() -> [Rulebook; 2] {
    [Rulebook::shipped("ipc-2021").unwrap(), Rulebook::shipped("as-nzs-3500-2").unwrap()]
}

fn outcome(job: Job) -> Result<Answers, Error> {
    let lateral = Lateral::solve(job)?;
    for book in &books() {
        assert_finite(&lateral.answers(Some(book))?);
    }
    let answers = lateral.answers(None)?;
    assert_finite(&answers);
    let svg = fallwise_report::Report::new(&answers).profile_svg();
    assert!(svg.starts_with("<svg") || svg.starts_with("<?xml"));
    assert!(!svg.contains("NaN") && !svg.contains("\"inf"), "a drawing with a number that is none");
    fallwise_report::Report::new(&answers).page_html().unwrap();
    let _ = fallwise_report::Report::new(&answers).summary();
    Ok(answers)
}

/// The attack above is only one if many of its jobs get through to the answers.
#[test]
fn a_good_part_of_the_jobs_is_solved() {
    let mut runner = TestRunner::deterministic();
    let mut solved = 0;
    let mut errors: BTreeMap<String, usize> = BTreeMap::new();
    for _ in 0..200 {
        match Lateral::solve(job().new_tree(&mut runner).unwrap().current()) {
            Ok(_) => solved += 1,
            Err(e) => *errors.entry(e.to_string().chars().take(60).collect()).or_default() += 1,
        }
    }
    assert!(solved >= 60, "{solved} of 200; {errors:#?}");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_job_gives_an_error_or_finite_answers(job in job()) {
        if let Err(error) = outcome(job) {
            prop_assert!(!error.to_string().is_empty());
        }
    }

    #[test]
    fn the_lateral_answers_any_question(tilts in vec(number(-0.1..0.1), 1..6), a in odd(), b in station(), draws in 0_usize..5) {
        let breaks = (0..=tilts.len()).map(|i| i as f64).collect();
        let Ok(lateral) = Lateral::from_segments(breaks, tilts, Pipe::default()) else { return Ok(()) };
        for (from, to) in [(a, b), (b, a), (a, a), (b, b)] {
            if let Some(fall) = lateral.fall_between(from, to) {
                prop_assert!(fall.value.is_finite() && fall.sd >= 0.0 && fall.low <= fall.high);
                let back = lateral.fall_between(to, from).unwrap();
                prop_assert!(from.to_bits() == to.to_bits() || (back.value + fall.value).abs() <= 0.0);
            }
            if let Some(slope) = lateral.slope_between(from, to) {
                prop_assert!(slope.value.is_finite() && slope.sd.is_finite());
                prop_assert_eq!(lateral.slope_between(to, from), Some(slope));
            }
            let _ = lateral.profile().height_at(from);
            let _ = lateral.profile().crossings(from);
            let _ = lateral.path().position(from);
            let _ = lateral.path().direction(from);
            let _ = lateral.path().height(from);
        }
        lateral.draws(draws, 7).for_each(&mut |p| assert!(p.height_m.iter().all(|h| h.is_finite())));
    }

    #[test]
    fn the_least_depth_there_is_is_a_depth(bore in bore()) {
        prop_assert!(bore.validate().is_err() || bore.hydraulic_radius_m(5e-324) >= 0.0);
    }

    #[test]
    fn functions_of_numbers_take_any(a in odd(), b in odd(), c in odd(), d in odd(), bore in bore()) {
        if bore.validate().is_ok() {
            let values = [
                bore.area_m2(a),
                bore.antiderivative_m3(a),
                bore.mean_area_m2(a, b),
                bore.wetted_perimeter_m(a),
                bore.top_width_m(a),
                bore.hydraulic_radius_m(a),
            ];
            prop_assert!(a.is_nan() || b.is_nan() || values.iter().all(|v| !v.is_nan()), "{values:?} at {a}, {b}");
            if let Ok(depth) = bore.depth_for_area_m(a) {
                prop_assert!((0.0..=bore.height_m()).contains(&depth));
            }
        }
        let _ = (bore.area_m2(a), bore.mean_area_m2(a, b), bore.depth_for_area_m(c));
        let _ = (Bore::circle(a), Bore::ellipse(a, b));
        for f in [math::sin, math::cos, math::tan, math::asin, math::acos, math::atan, math::exp, math::exp_m1, math::ln,
            math::ln_1p, math::log10, math::cbrt, math::erf, math::erfc, math::normal_cdf, math::normal_quantile]
        {
            let _ = f(a);
        }
        let _ = (math::atan2(a, b), math::pow(a, b), math::hypot(a, b), math::sin_cos(a));
        let mut values = [a, b, c, d];
        let _ = (math::sum(&values), math::median(&mut values), math::quantile(&values, a));
        for words in [Words::Us, Words::Uk] {
            let said = [words.slope(a), words.slope_range(a, b), words.length(a), words.small(a), words.station(a),
                words.volume(a), words.angle(a)];
            prop_assert!(said.iter().all(|s| !s.is_empty()));
        }
        let _ = (units::ft(a), units::one_in(a), units::to_one_in(a), units::slope_to_tilt(a), units::tilt_to_slope(a));
        let _ = profile::cover_m(a, b, c, d, a);
        let ground = [GroundPoint { station_m: a, elevation_m: b, sd_m: None }, GroundPoint { station_m: c, elevation_m: d, sd_m: None }];
        prop_assert!(profile::ground_at(&ground, 0.5).is_none_or(|g| !g.is_nan()));
        let _ = path::minimum_curvature(&[a, b], &[c, d], &[a, d]);
        let _ = path::dogleg(a, b, c, d);
        let _ = (math::before_rounding(a, b), math::rounding_error_sd(a, b), chain::default_penalty(0));
        let _ = math::spread_sd(&[a, b, c], &[d, 1.0, 1.0], a);
    }

    #[test]
    fn functions_of_arrays_take_any(
        a in vec(number(-1.0..1.0), 0..8), b in vec(number(-0.1..0.1), 0..8), w in vec(number(0.0..2.0), 0..8),
        breaks in vec(station(), 0..5), hard in vec(0_usize..9, 0..3), option in option::of(odd()), x in odd(), y in odd(),
    ) {
        let _ = Chain::new(a.clone(), b.clone());
        let _ = Chain::raw(&a, &b);
        let _ = Chain::given(&a, &b, &w, &breaks);
        let options = FitOptions { noise_sd: option, penalty: option, ..FitOptions::default() };
        let _ = Chain::fitted(&a, &b, &w, &breaks, &options);
        let _ = chain::fit(&b, &w, &hard, &options);
        let loss = Loss::Biweight { threshold_sds: x };
        let _ = chain::fit(&b, &w, &hard, &FitOptions { loss, least_readings: hard.len(), ..options });
        let wild = Chain { breaks_m: breaks.clone(), tilt_rad: b.clone() };
        let _ = wild.ranges(&a);
        let _ = wild.means(&a, &b, &w);
        let _ = path::minimum_curvature(&a, &b, &w);

        // Plain data made by hand, of any shape.
        let profile = Profile {
            station_m: a.clone(), height_m: w.clone(), tilt_rad: b.clone(), reach: vec![0; hard.len()], at_drop: vec![], scale: x,
        };
        let _ = (profile.height_at(y), profile.fall_between(x, y), profile.slope_between(x, y));
        let _ = (profile.drop_fall_between(x, y), profile.length_between(x, y), profile.crossings(y), profile.lowest());
        for flow in [Flow::Increasing, Flow::Decreasing] {
            let _ = pool::pools(&profile, &[Some(Bore::Circle { diameter_m: x })], flow, option);
            let _ = pool::water_level(&profile, flow, option);
            let _ = pool::from_draws(
                &profile,
                &vec![profile.clone()],
                &[None],
                flow,
                option,
                pool::Terms { traps_m: &[(x, y)], tolerance_m: y, pieces: None, lips: pool::Lips { variance_m: x, seed: 1 } },
            );
        }
        let posterior = adjust::given(b.clone(), Some(w.clone()), vec![Source { name: String::new(), tilt_rad: a.clone(), varying: None }], &[], &[]);
        let _ = (posterior.tilt_sd_rad(3), posterior.tilt_covariance(0, 9));
        if let Ok(layout) = Layout::new(&[0.0, 1.0, 2.0], &[], &[], &[]) {
            let _ = layout.profile(&b, x, Some(&a));
            let _ = layout.check_bends(&b);
            let mut out = vec![0.0; hard.len()];
            layout.fall_gradient(&b, x, y, x, &mut out);
            let mut wild = posterior;
            wild.scale = x;
            let p = layout.profile(&b, 1.0, None);
            let _ = (wild.fall(&layout, &p, Flow::Increasing, x, y), wild.slope(&layout, &profile, Flow::Decreasing, x, y));
            let _ = [x, y, f64::NAN].map(|anchor_m| wild.height_sd_m(&layout, &profile, adjust::Anchor::Station(anchor_m)));
            let path = Path::new(&layout, &b, x, Start { azimuth_rad: option, east_m: x, north_m: y });
            let _ = path.position(0.5);
        }
        let _ = condition(&Run::new(a.clone(), b.clone()), &Instrument { head_length_m: x, ..Instrument::default() }, &breaks);
    }

    #[test]
    fn averaging_takes_any(
        tilts in vec(number(-0.1..0.1), 0..12), weights in vec(odd(), 0..12), spacing in odd(), hard in odd(),
        from in odd(), to in odd(), noise in odd(), rounding in odd(), head in odd(), usual in any::<[bool; 5]>(),
    ) {
        let pick = |usual: bool, plain: f64, odd: f64| if usual { plain } else { odd };
        let spacing = pick(usual[0], 0.1, spacing);
        let station_m: Vec<f64> = (0..tilts.len()).map(|i| spacing * i as f64).collect();
        let weight = if usual[1] { vec![1.0; tilts.len()] } else { weights };
        let of = Averaging {
            station_m: &station_m,
            tilt_rad: &tilts,
            weight: &weight,
            hard_breaks_m: if usual[2] { &[] } else { &[hard] },
            joints_m: if usual[3] { &[] } else { &[hard] },
            ends_m: if usual[3] { (0.0, spacing * tilts.len() as f64) } else { (from, to) },
            noise_sd_rad: pick(usual[4], 0.004, noise),
            rounding_sd_rad: pick(usual[0], 0.0, rounding),
            wander_sd_rad: pick(usual[2], 0.0, rounding),
            head_length_m: pick(usual[1], 0.15, head),
            draws: 3,
            seed: 0,
            lateral: 0,
        };
        if let Ok(averaged) = average(&of) {
            prop_assert!(averaged.mean_rad.iter().chain(&averaged.break_chance).all(|x| x.is_finite()), "{of:?}");
            prop_assert!((0..3).all(|d| averaged.draws.of(d).all(|(_, tilt)| tilt.is_finite())), "{of:?}");
        }
    }

    #[test]
    fn adjust_and_check_take_any(
        tilts in vec(number(-0.1..0.1), 1..4), weight in odd(), mean in odd(), noise in odd(), step in odd(),
        sign in odd(), a in odd(), b in odd(),
    ) {
        let chain = Chain { breaks_m: (0..=tilts.len()).map(|i| i as f64).collect(), tilt_rad: tilts.clone() };
        let means: Vec<SegmentMean> = (0..tilts.len())
            .map(|segment| SegmentMean { segment, setup: 0, mean_rad: mean, weight, readings: 1, drift_share: a, roll_sine: b })
            .collect();
        let runs = [SetupNoise { run: 0, pulled: false, zero_sign: sign, noise_sd_rad: noise, rounding_sd_rad: step }];
        let _ = adjust::adjust(&chain, &means, &runs, &Instrument::default(), &[], &[]);
        // Indices that point nowhere.
        let lost = [SegmentMean { segment: 99, setup: 7, mean_rad: 0.0, weight: 1.0, readings: 1, drift_share: 0.5, roll_sine: 0.0 }];
        let _ = adjust::adjust(&chain, &lost, &runs, &Instrument::default(), &[], &[]);
        let _ = adjust::adjust(&chain, &[], &[], &Instrument::default(), &[], &[]);

        let profile = Profile {
            station_m: vec![0.0, 1.0, b], height_m: vec![a, 0.1, 0.0], tilt_rad: vec![0.1, b], reach: vec![0, 5], at_drop: vec![], scale: 1.0,
        };
        let job = Job { reaches: vec![reach(0.0, 5.0, Pipe { nominal: Some(Nominal { size: a, unit: SizeUnit::Inch }), ..Pipe::default() })], ..Job::default() };
        let pools = [PoolEvidence { from_m: a, to_m: b, depth_m: mean, depth_sd_m: Some(noise), number: 1, ..PoolEvidence::default() }];
        for book in &books() {
            for pools in [&pools[..], &[]] {
                let evidence = Evidence {
                    job: &job, profile: &profile, draws: &vec![profile.clone()], slope_sd: &|_, _| Some(noise), pools, surveyed: (0.0, a), seen: Seen::default(),
                };
                let mut options = CheckOptions::default();
                let _ = rules::check(book, &evidence, &options);
                options.backfall_m = b;
                options.confidence = a;
                let _ = rules::check(book, &evidence, &options);
            }
        }
    }
}

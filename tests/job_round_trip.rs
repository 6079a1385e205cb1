//! A job written back and read again is the same job, in TOML and in JSON; old jobs and old results are read for ever.

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use std::{fs, path::PathBuf};

use fallwise::{
    Bore, Instrument, Job, Pipe, Run,
    model::{
        AsBuilt, AsBuiltUse, Bend, Capacity, Dig, DigOptions, Discharge, Feature, FeatureKind, Flow, Formula,
        GroundPoint, KeepOut, KeptOver, Known, Landmark, MovableConnection, Nominal, Note, Origin, Place, Reach,
        RelayChoice, RelayCosts, RelaySurface, ReportChoice, ReversalCheck, RulesChoice, Seen, SegmentChoice, Step,
        Survey, System, Tie, TiltPositive, Toward, Use, Work,
    },
    units::Words,
};
use fallwise_files::{MemoryResolver, job, output};
use proptest::{collection::vec, option::of, prelude::*, sample::select};

/// Bits of every number, so that two jobs that only seem equal are told apart; the form of jobs has one zero.
fn assert_same(read: &Job, job: &Job) {
    assert_eq!(read, job);
    // JSON writes the shortest digits that give a double back, so that equal texts are equal bits.
    let text = |job: &Job| {
        serde_json::to_string(job).unwrap().replace("-0.0,", "0.0,").replace("-0.0}", "0.0}").replace("-0.0]", "0.0]")
    };
    assert_eq!(text(read), text(job));
}

fn there_and_back(job: &Job) {
    let toml = job::to_toml(job).unwrap();
    assert_same(&job::read_text(&toml.text, "job.toml", &toml.logs).unwrap().job, job);
    let json = job::to_json(job).unwrap();
    assert_same(&job::read_json(&json.text, "job.json", &json.logs).unwrap().job, job);
    assert_eq!(toml.logs, json.logs);
}

fn number() -> BoxedStrategy<f64> {
    prop_oneof![
        4 => -1e3..1e3_f64,
        1 => any::<f64>().prop_filter("finite", |x| x.is_finite()),
        1 => select(&[0.0, 1.0, 0.3048, 1e-7, 5e-324, 1e16, 1.0 / 3.0, 0.1 + 0.2][..]),
    ]
    .boxed()
}

/// A tilt; beyond a right angle the form has none.
fn tilt() -> BoxedStrategy<f64> {
    prop_oneof![4 => -1.5..1.5_f64, 1 => select(&[0.0, 1e-9, 5e-324, -1.0 / 3.0][..])].boxed()
}

/// Whatever people type, and what nobody should.
fn text() -> BoxedStrategy<String> {
    prop_oneof![3 => "\\PC{0,12}", 1 => any::<String>(), 1 => select(&["", "\"\"\"", "'''", "a\r\nb\n", "\\", "=1+1", "é\u{202e}", "\0"][..]).prop_map(str::to_owned)].boxed()
}

fn facts() -> impl Strategy<Value = std::collections::BTreeMap<String, String>> {
    proptest::collection::btree_map(text(), text(), 0..3)
}

fn origin() -> impl Strategy<Value = Option<Origin>> {
    of((vec(number(), 5), of(number())).prop_map(|(n, sd_m)| Origin {
        longitude_rad: n[0],
        latitude_rad: n[1],
        east_m: n[2],
        north_m: n[3],
        grid_north_rad: n[4],
        sd_m,
    }))
}

fn survey() -> impl Strategy<Value = Survey> {
    (vec(of(text()), 27), of(number()), of(number()), any::<bool>()).prop_map(
        |(mut t, about_length_m, video_offset_s, invented)| {
            let mut next = || t.pop().unwrap();
            Survey {
                title: next(),
                ordered_by: next(),
                site: next(),
                date_time: next(),
                operator: next(),
                licence: next(),
                company: next(),
                permit: next(),
                weather_48h: next(),
                water_run: next(),
                water: next(),
                cleaned_before: next(),
                complaint: next(),
                entry: next(),
                riser_height: next(),
                stopped_at: next(),
                stopped_because: next(),
                not_surveyed: next(),
                head: next(),
                skid: next(),
                last_checked: next(),
                video: next(),
                video_hash: next(),
                locator: next(),
                landmarks: next(),
                signed_by: next(),
                about_length_m,
                video_offset_s,
                invented,
            }
        },
    )
}

fn run() -> impl Strategy<Value = Run> {
    let readings = (2..6_usize).prop_flat_map(|n| {
        let beside = (of(vec(any::<bool>(), n)), of(vec(number(), n)), of(vec(number(), n)));
        let tilts = vec(prop_oneof![tilt(), number()], n);
        (vec(number(), n), tilts, of(vec(number(), n)), of(vec(any::<usize>(), n)), beside)
    });
    let rest = (text(), any::<[bool; 3]>(), number(), vec(of(number()), 8));
    (readings, rest).prop_map(
        |((counter_m, reading_rad, time_s, source_row, beside), (name, [up, back, by_hand], start, o))| Run {
            name,
            time_s,
            moving: beside.0,
            roll_rad: beside.1,
            temperature_c: beside.2,
            source_row,
            tilt_positive: if up { TiltPositive::Up } else { TiltPositive::Down },
            toward: if back { Toward::Decreasing } else { Toward::Increasing },
            start_station_m: start,
            by_hand,
            start_azimuth_rad: o[0],
            start_azimuth_sd_rad: o[1],
            start_east_m: o[2],
            start_north_m: o[3],
            start_plan_sd_m: o[4],
            start_invert_m: o[5],
            start_invert_sd_m: o[6],
            start_station_sd_m: o[7],
            ..Run::new(counter_m, reading_rad)
        },
    )
}

fn tie() -> impl Strategy<Value = Tie> {
    let sign = of(prop_oneof![Just(TiltPositive::Up), Just(TiltPositive::Down)]);
    // As many of each as the kind with the most has.
    let quantities = (vec(number(), 8), vec(of(number()), 3), vec(tilt(), 3), of(tilt()), sign);
    (0..10_usize, text(), quantities, any::<[bool; 3]>()).prop_map(
        |(kind, name, (m, o, rad, sd_rad, tilt_positive), [taped, lens, although_running])| {
            let at = Place { station_m: m[0], sd_m: m[1], taped };
            let to = Place { station_m: m[2], sd_m: m[3], taped };
            let seen = if lens { Seen::Lens } else { Seen::Edge };
            let known = match kind {
                0 => Known::Invert { at, elevation_m: m[4], sd_m: m[5] },
                1 => Known::Plan { at, east_m: m[4], north_m: m[5], sd_m: m[6] },
                2 => Known::Azimuth { at, azimuth_rad: m[4], sd_rad: m[5] },
                3 => Known::Depth {
                    at,
                    depth_m: m[4],
                    sd_m: o[0],
                    ground_m: o[1],
                    ground_sd_m: o[2],
                    behind_m: m[5],
                    above_m: m[6],
                },
                4 => Known::HeightDifference { from: at, to, rise_m: m[4], sd_m: m[5] },
                5 => Known::Length { from_m: m[0], to_m: m[2], length_m: m[4], sd_m: m[5] },
                6 => {
                    Known::ReversalCheck(ReversalCheck { first_rad: rad[0], second_rad: rad[1], sd_rad, tilt_positive })
                }
                7 => Known::LevelCheck { reading_rad: rad[0], surface_rad: rad[1], sd_rad: rad[2], tilt_positive },
                8 => Known::WaterLevel { from: at, to, level_sd_m: o[0], seen, although_running },
                _ => Known::WaterDepth {
                    at,
                    depth_m: m[4],
                    sd_m: m[5],
                    edge: to,
                    level_sd_m: o[0],
                    seen,
                    although_running,
                },
            };
            Tie { name, known }
        },
    )
}

fn reach() -> impl Strategy<Value = Reach> {
    let bore = prop_oneof![
        number().prop_map(|diameter_m| Bore::Circle { diameter_m }),
        (number(), number()).prop_map(|(width_m, height_m)| Bore::Ellipse { width_m, height_m }),
    ];
    let nominal = prop_oneof![(1e-3..1e4_f64).prop_map(Nominal::inches), (1e-3..1e4_f64).prop_map(Nominal::dn)];
    let rough = [of(number()), of(number())];
    let pipe = (text(), of(bore), of(nominal), of(text()), of(number()), of(number()), rough);
    (number(), number(), text(), pipe, of(text()), facts()).prop_map(
        |(
            from_m,
            to_m,
            name,
            (pipe, bore, nominal, material, wall_m, stick_m, [manning_n, roughness_m]),
            owner,
            facts,
        )| Reach {
            from_m,
            to_m,
            name,
            pipe: Pipe { name: pipe, bore, nominal, material, wall_m, stick_m, manning_n, roughness_m },
            owner,
            facts,
        },
    )
}

/// Numbers that the form can hold, whether a drain has them or not.
fn capacity() -> impl Strategy<Value = Capacity> {
    let numbers = [(); 7].map(|()| of(number()));
    let formula = select(&[Formula::Manning, Formula::ColebrookWhite][..]);
    let frequency = select(&[Use::Intermittent, Use::Frequent, Use::Congested, Use::Special][..]);
    let system = select(&[System::I, System::II, System::III, System::IV][..]);
    let fixtures = proptest::collection::btree_map(text(), 0..1000_u32, 0..3);
    let discharge = (frequency, of(system), fixtures, vec(number(), 0..3), of(number())).prop_map(
        |(frequency, system, fixtures, units_m3_s, continuous_m3_s)| Discharge {
            frequency,
            system,
            fixtures,
            units_m3_s,
            continuous_m3_s,
        },
    );
    (numbers, of(formula), of(discharge)).prop_map(
        |([n, k, nu, flow, filling, velocity, shear], formula, discharge)| Capacity {
            formula,
            manning_n: n,
            roughness_m: k,
            viscosity_m2_s: nu,
            flow_m3_s: flow,
            discharge,
            filling,
            least_velocity_m_s: velocity,
            least_shear_pa: shear,
        },
    )
}

fn relay() -> impl Strategy<Value = RelayChoice> {
    let costs = (text(), number(), number(), number())
        .prop_map(|(currency, per_trench, per_m, per_m_depth)| RelayCosts { currency, per_trench, per_m, per_m_depth });
    let surface = (text(), number(), number(), number(), number())
        .prop_map(|(name, from_m, to_m, per_m, per_m_depth)| RelaySurface { name, from_m, to_m, per_m, per_m_depth });
    let keep_out = (number(), number(), text()).prop_map(|(from_m, to_m, reason)| KeepOut { from_m, to_m, reason });
    let connection = (number(), number()).prop_map(|(station_m, above_m)| MovableConnection { station_m, above_m });
    let lists = (vec(surface, 0..3), vec(keep_out, 0..3), vec(connection, 0..3));
    let lengths = (number(), of(number()), of(number()), number(), number());
    (of(number()), number(), any::<bool>(), costs, lists, lengths).prop_map(
        |(
            min_slope,
            confidence,
            reach,
            costs,
            (surfaces, keep_out, connections),
            (min_length_m, max_length_m, width_m, batter, bedding_m),
        )| RelayChoice {
            min_slope,
            confidence,
            kept: if reach { KeptOver::Reach } else { KeptOver::Piece },
            min_length_m,
            max_length_m,
            costs,
            surfaces,
            keep_out,
            connections,
            width_m,
            batter,
            bedding_m,
        },
    )
}

fn instrument() -> impl Strategy<Value = Instrument> {
    let more = (of(number()), tilt(), number(), tilt(), tilt(), number());
    let counter = (number(), number(), of(number()), of(number()));
    (tilt(), tilt(), any::<bool>(), tilt(), of(tilt()), of(tilt()), number(), counter, more).prop_map(
        |(
            zero_rad,
            zero_sd_rad,
            zero_checked,
            seating_sd_rad,
            noise_sd_rad,
            resolution_rad,
            head_length_m,
            (a, b, slack_m, lag_s),
            (correlation_m, drift_sd_rad, drift_s, roll_sd_rad, wander_sd_rad, lip_sd_m),
        )| {
            Instrument {
                zero_rad,
                zero_sd_rad,
                zero_checked,
                seating_sd_rad,
                noise_sd_rad,
                correlation_m,
                resolution_rad,
                drift_sd_rad,
                drift_s,
                roll_sd_rad,
                wander_sd_rad,
                lip_sd_m,
                head_length_m,
                counter_scale: a,
                counter_scale_sd: b,
                slack_m,
                lag_s,
            }
        },
    )
}

/// A stretch whose end does not lie before its start, as the form asks.
fn stretch() -> impl Strategy<Value = (f64, Option<f64>)> {
    (number(), of(number())).prop_map(|(a, b)| (b.map_or(a, |b| a.min(b)), b.map(|b| a.max(b))))
}

fn generated() -> impl Strategy<Value = Job> {
    let kinds = [
        FeatureKind::Joint,
        FeatureKind::Connection,
        FeatureKind::Cleanout,
        FeatureKind::Trap,
        FeatureKind::Valve,
        FeatureKind::Wall,
        FeatureKind::Boundary,
        FeatureKind::Main,
    ];
    let lists = (
        vec(run(), 0..3),
        vec(
            (number(), number(), of(number())).prop_map(|(station_m, invert_m, sd_m)| AsBuilt {
                station_m,
                invert_m,
                sd_m,
            }),
            1..3,
        ),
        vec(tie(), 0..4),
        vec(reach(), 0..3),
        vec(
            (number(), number(), number(), of(number())).prop_map(
                |(station_m, deflection_rad, deflection_sd_rad, radius_m)| Bend {
                    station_m,
                    deflection_rad,
                    deflection_sd_rad,
                    radius_m,
                },
            ),
            0..3,
        ),
        vec(
            (number(), number(), number()).prop_map(|(station_m, rise_m, rise_sd_m)| Step {
                station_m,
                rise_m,
                rise_sd_m,
            }),
            0..3,
        ),
        vec(
            (select(kinds.to_vec()), stretch(), text()).prop_map(|(kind, (station_m, to_m), text)| Feature {
                kind,
                station_m,
                to_m,
                text,
            }),
            0..3,
        ),
        vec(
            (number(), number(), of(number())).prop_map(|(station_m, elevation_m, sd_m)| GroundPoint {
                station_m,
                elevation_m,
                sd_m,
            }),
            0..3,
        ),
        vec(
            (
                stretch(),
                text(),
                of(select(&["a.jpg", "photos/1 é.png"][..])),
                of(0.0..1e6_f64),
                any::<[bool; 2]>(),
                of(tilt()),
            )
                .prop_map(
                    |((station_m, to_m), text, photo, video_time_s, [water_seen, dry_seen], tilt_sd_rad)| Note {
                        // One of the two is always there.
                        station_m: Some(station_m).filter(|_| video_time_s.is_none() || !water_seen),
                        to_m,
                        text,
                        photo: photo.map(str::to_owned),
                        video_time_s,
                        water_seen,
                        dry_seen,
                        tilt_sd_rad,
                    },
                ),
            0..3,
        ),
    );
    let digging = (
        vec(
            (text(), number(), number(), number()).prop_map(|(name, east_m, north_m, sd_m)| Landmark {
                name,
                east_m,
                north_m,
                sd_m,
            }),
            0..3,
        ),
        vec(
            (number(), number(), text(), text()).prop_map(|(station_m, station_sd_m, name, wanted)| Dig {
                station_m,
                station_sd_m,
                name,
                wanted,
            }),
            0..3,
        ),
        (number(), number(), number(), number()).prop_map(|(across_m, tie_within_m, confidence, margin_m)| {
            DigOptions { across_m, tie_within_m, confidence, margin_m }
        }),
    );
    let segments = prop_oneof![
        Just(SegmentChoice::Fitted),
        Just(SegmentChoice::Raw),
        vec(number(), 0..4).prop_map(|breaks_m| SegmentChoice::Given { breaks_m })
    ];
    let rest = (
        (survey(), origin(), digging),
        instrument(),
        segments,
        (of(number()), of(capacity())),
        of(select(&["ipc-2021", "upc-2021"][..])),
        any::<[bool; 4]>(),
        facts(),
        0..10_000_usize,
        (any::<u64>(), of(relay())),
    );
    (lists, rest)
        .prop_map(
            |(
                (runs, as_built, ties, reaches, bends, steps, features, ground, notes),
                (
                    (survey, origin, (landmarks, digs, digging)),
                    instrument,
                    segments,
                    (tailwater_m, capacity),
                    book,
                    [back, new, us, used],
                    facts,
                    draws,
                    (seed, relay),
                ),
            )| Job {
                survey,
                origin,
                runs,
                as_built,
                as_built_use: if used { AsBuiltUse::Use } else { AsBuiltUse::Compare },
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
                rules: RulesChoice {
                    rulebook: book.map(str::to_owned),
                    work: if new { Work::New } else { Work::Existing },
                    facts,
                },
                report: ReportChoice {
                    words: if us { Words::Us } else { Words::Uk },
                    decimal: us.then_some(fallwise::units::Decimal::Comma),
                    paper: us.then_some(fallwise::model::Paper::A4),
                    draws,
                    seed,
                },
                relay,
            },
        )
        .prop_map(with_signs)
}

/// A check of the head says what it shows as positive where the runs differ in theirs.
fn with_signs(mut job: Job) -> Job {
    let differ = job.runs.iter().any(|run| run.tilt_positive != job.runs[0].tilt_positive);
    for tie in job.ties.iter_mut().filter(|_| differ) {
        if let Known::ReversalCheck(ReversalCheck { tilt_positive, .. }) | Known::LevelCheck { tilt_positive, .. } =
            &mut tie.known
        {
            tilt_positive.get_or_insert(TiltPositive::Up);
        }
    }
    job
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_job_comes_back_the_same(job in generated()) {
        there_and_back(&job);
    }

    /// Hand-written readings come back as such where their stations hold the counter to the bit.
    #[test]
    fn readings_by_hand_stay_in_the_job(stations in vec(0..5000_u16, 1..9), tilts in vec(tilt(), 9), back: bool) {
        let counter_m: Vec<f64> = stations.iter().map(|s| f64::from(*s) / 8.0).collect();
        let n = counter_m.len();
        let toward = if back { Toward::Decreasing } else { Toward::Increasing };
        let run = Run { by_hand: true, toward, start_station_m: 2.5, ..Run::new(counter_m, tilts[..n].to_vec()) };
        let job = Job { runs: vec![run], ..Job::default() };
        there_and_back(&job);
        let written = job::to_toml(&job).unwrap();
        prop_assert!(written.logs.0.is_empty() && written.text.matches("[[reading]]").count() == n, "{}", written.text);
    }
}

fn path(parts: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(parts)
}

#[test]
fn every_demo_comes_back_the_same() {
    for demo in fallwise_examples::demos::DEMOS {
        let loaded = job::read(&path("../examples/demos").join(demo.name).join("job.toml")).unwrap();
        there_and_back(&loaded.job);
        // What was written is solved to the same answers.
        let written = job::to_json(&loaded.job).unwrap();
        let again = job::read_json(&written.text, "job.json", &written.logs).unwrap();
        let answers = |l: &job::Loaded| l.solve().unwrap().answers(l.rulebook.as_ref()).unwrap();
        assert_eq!(answers(&again), answers(&loaded), "{}", demo.name);
    }
}

#[test]
fn what_the_form_cannot_hold_is_named() {
    let said = |job: &Job| [job::to_toml(job), job::to_json(job)].map(|w| w.unwrap_err().to_string());
    let run = Run::new(vec![0.0, 1.0], vec![0.02, 0.02]);
    let mut job = Job { runs: vec![run], ..Job::default() };
    job.tailwater_m = Some(f64::NAN);
    for said in said(&job) {
        assert!(said.contains("tailwater: \"NaN m\": no number"), "{said}");
    }
    job.tailwater_m = None;
    job.runs[0].reading_rad.pop();
    for said in said(&job) {
        assert!(said.starts_with("run-1.csv, row 3"), "{said}");
    }
    let [taped, counted] = [true, false].map(|taped| Place { taped, ..Place::new(1.0) });
    let uneven = Known::HeightDifference { from: taped, to: counted, rise_m: 1.0, sd_m: 0.0 };
    job.ties = vec![Tie::new(Known::Length { from_m: 0.0, to_m: 1.0, length_m: 1.0, sd_m: 0.1 }), Tie::new(uneven)];
    for said in said(&job) {
        assert!(
            said.contains(
                ": tie[1]: one of its two stations is taped and the other is not, and the form has one key for both"
            ),
            "{said}"
        );
    }
    job.ties.clear();
    job.runs[0].reading_rad.push(f64::INFINITY);
    for said in said(&job) {
        assert!(said.starts_with("run-1.csv, row 3, column \"reading (rad)\""), "{said}");
    }
    job.runs[0].reading_rad[1] = 0.0;
    job.rules.rulebook = Some("ipc-2020".to_owned());
    for said in said(&job) {
        assert!(
            said.contains("rules.rulebook: rulebook \"ipc-2020\" is not known (did you mean \"ipc-2021\"?)"),
            "{said}"
        );
    }
}

// Files of old

/// Every member of `old` stands in `new` with the same value; `new` may have more.
fn assert_kept(old: &serde_json::Value, new: &serde_json::Value, at: &str) {
    use serde_json::Value::{Array, Object};
    match (old, new) {
        (Object(old), Object(new)) => {
            for (key, value) in old {
                assert_kept(value, new.get(key).unwrap_or(&serde_json::Value::Null), &format!("{at}.{key}"));
            }
        }
        (Array(old), Array(new)) => {
            assert_eq!(old.len(), new.len(), "{at}");
            old.iter().zip(new).enumerate().for_each(|(i, (old, new))| assert_kept(old, new, &format!("{at}[{i}]")));
        }
        _ => assert_eq!(old, new, "{at}"),
    }
}

/// `tests/old_files` is never made anew: it is what earlier versions wrote and read.
#[test]
fn a_job_of_version_1_is_read_for_ever() {
    let loaded = job::read(&path("old_files/job-1.toml")).unwrap();
    let json = job::read(&path("old_files/job-1.json")).unwrap();
    assert_eq!(loaded.job, json.job);
    let job = &loaded.job;
    assert_eq!((job.runs.len(), job.runs[0].counter_m.len(), job.runs[1].by_hand), (2, 5, true));
    assert_eq!(job.reaches[0].pipe.nominal, Some(Nominal::inches(4.0)));
    assert_eq!(
        (job.bends.len(), job.steps.len(), job.features.len(), job.ground.len(), job.notes.len()),
        (1, 1, 1, 1, 1)
    );
    assert_eq!(job.survey.signed_by.as_deref(), Some("n. n."));
    assert_eq!(job.segments, SegmentChoice::Given { breaks_m: vec![1.0] });
    assert_eq!(loaded.rulebook.unwrap().rows[0].id, "own-1");
}

#[test]
fn a_result_of_version_1_is_read_for_ever() {
    let bytes = fs::read(path("old_files/result-1.json")).unwrap();
    let answers = output::read_answers(&bytes).unwrap();
    assert_eq!((answers.schema.as_str(), answers.segments.len()), ("fallwise-answers-1", 6));
    let again = output::result_json(&answers).unwrap();
    assert_eq!(output::read_answers(again.as_bytes()).unwrap(), answers);
    let value = |bytes: &[u8]| serde_json::from_slice::<serde_json::Value>(bytes).unwrap();
    assert_kept(&value(&bytes), &value(again.as_bytes()), "");
}

#[test]
fn later_versions_name_what_reads_them() {
    for (text, line) in [("version = 2\n", "line 1, column 11"), ("\n  version = 9\nrun = 5\n", "line 2, column 13")] {
        let said = job::read_text(text, "job.toml", &MemoryResolver::default()).unwrap_err().to_string();
        assert!(said.starts_with(&format!("job.toml, {line}: version: version ")), "{said}");
        assert!(said.contains("a newer release of fallwise-files than "), "{said}");
    }
    let said =
        output::read_answers(b"{\"schema\": \"fallwise-answers-2\", \"version\": \"7.1.0\"}").unwrap_err().to_string();
    assert_eq!(
        said,
        "result.json: schema: version 2 of the form of results is not known to this library; expected \
         fallwise-answers-1, or fallwise-files of version 7.1.0 or newer"
    );
}

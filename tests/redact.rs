//! A job for sharing: nothing of people and site is in it nor in anything made from it, and its figures are those of the original.

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use std::{
    collections::{BTreeMap, BTreeSet},
    path::Path,
};

use fallwise::{
    Answers, Bore, Instrument, Job, Lateral, Pipe, Reach, Rulebook, Run,
    model::{
        AsBuilt, AsBuiltUse, Bend, Capacity, Dig, DigOptions, Discharge, Feature, FeatureKind, Formula, GroundPoint,
        KeepOut, Known, Landmark, MovableConnection, Nominal, Note, Origin, Place, RelayChoice, RelayCosts,
        RelaySurface, ReversalCheck, RulesChoice, Seen, SegmentChoice, Step, Survey, System, Tie, TiltPositive, Use,
        redact::{FIELDS, Treated},
    },
};
use fallwise_files::{dxf, geojson, job, output};
use proptest::prelude::*;
use serde_json::Value;

/// A job with something in every field: texts are `mark`, every optional number is there.
fn full(mark: &str) -> Job {
    let word = || Some(mark.to_owned());
    let survey: Survey = {
        // Through JSON, so that a new text of the survey is filled too.
        let mut value = serde_json::to_value(Survey::default()).unwrap();
        for (name, field) in value.as_object_mut().unwrap() {
            *field = match name.as_str() {
                "about_length_m" => Value::from(12.0),
                "video_offset_s" => Value::from(3.0),
                "invented" => Value::from(true),
                _ => Value::from(mark),
            };
        }
        serde_json::from_value(value).unwrap()
    };
    let n = 60;
    let run = Run {
        name: mark.to_owned(),
        time_s: Some((0..n).map(f64::from).collect()),
        moving: Some(vec![true; 60]),
        roll_rad: Some(vec![0.0; 60]),
        temperature_c: Some(vec![11.0; 60]),
        source_row: Some((2..62).collect()),
        start_station_sd_m: Some(0.0),
        start_azimuth_rad: Some(0.6),
        start_azimuth_sd_rad: Some(0.02),
        start_east_m: Some(431_220.5),
        start_north_m: Some(112_803.25),
        start_plan_sd_m: Some(0.1),
        start_invert_m: Some(31.25),
        start_invert_sd_m: Some(0.004),
        ..Run::new(
            (0..n).map(|i| 0.2 * f64::from(i)).collect(),
            (0..n).map(|i| if (20..30).contains(&i) { -0.012 } else { 0.03 }).collect(),
        )
    };
    let at = Place { station_m: 4.0, sd_m: 0.05, taped: false };
    let to = Place { station_m: 6.1, ..at };
    let up = Some(TiltPositive::Down);
    let ties = [
        Known::Invert { at, elevation_m: 31.13, sd_m: 0.02 },
        Known::Plan { at: to, east_m: 431_224.0, north_m: 112_808.2, sd_m: 0.6 },
        Known::Azimuth { at, azimuth_rad: 0.61, sd_rad: 0.05 },
        Known::Depth {
            at,
            depth_m: 1.0,
            sd_m: Some(0.1),
            ground_m: Some(32.2),
            ground_sd_m: Some(0.01),
            behind_m: 0.1,
            above_m: 0.05,
        },
        Known::HeightDifference { from: at, to, rise_m: 0.02, sd_m: 0.05 },
        Known::Length { from_m: 0.0, to_m: 11.0, length_m: 10.95, sd_m: 0.1 },
        Known::ReversalCheck(ReversalCheck {
            first_rad: 0.01,
            second_rad: -0.01,
            sd_rad: Some(0.002),
            tilt_positive: up,
        }),
        Known::LevelCheck { reading_rad: 0.001, surface_rad: 0.0, sd_rad: 0.002, tilt_positive: up },
        Known::WaterLevel { from: at, to, level_sd_m: Some(0.05), seen: Seen::Edge, although_running: true },
        Known::WaterDepth {
            at: to,
            depth_m: 0.02,
            sd_m: 0.01,
            edge: at,
            level_sd_m: Some(0.05),
            seen: Seen::Lens,
            although_running: true,
        },
    ];
    let facts: BTreeMap<String, String> = [
        ("water_closets".to_owned(), "2".to_owned()),
        ("approval".to_owned(), mark.to_owned()),
        (mark.to_owned(), "yes".to_owned()),
    ]
    .into();
    let reach = |from_m: f64, to_m: f64, bore: Bore| Reach {
        from_m,
        to_m,
        name: mark.to_owned(),
        pipe: Pipe {
            name: mark.to_owned(),
            bore: Some(bore),
            nominal: Some(Nominal::inches(4.0)),
            material: word(),
            wall_m: Some(0.004),
            stick_m: Some(3.0),
            manning_n: Some(0.013),
            roughness_m: Some(0.0015),
        },
        owner: word(),
        facts: facts.clone(),
    };
    Job {
        survey,
        origin: Some(Origin {
            longitude_rad: -0.5,
            latitude_rad: 0.7,
            east_m: 431_220.0,
            north_m: 112_800.0,
            grid_north_rad: 0.01,
            sd_m: Some(1.0),
        }),
        runs: vec![run],
        as_built: vec![AsBuilt { station_m: 1.0, invert_m: 31.2, sd_m: Some(0.05) }],
        as_built_use: AsBuiltUse::Compare,
        ties: ties.map(|known| Tie { name: mark.to_owned(), known }).to_vec(),
        reaches: vec![
            reach(0.0, 5.0, Bore::Circle { diameter_m: 0.1 }),
            reach(5.0, 12.0, Bore::Ellipse { width_m: 0.1, height_m: 0.09 }),
        ],
        instrument: Instrument {
            noise_sd_rad: Some(0.004),
            correlation_m: Some(0.0),
            resolution_rad: Some(0.001),
            slack_m: Some(0.0),
            lag_s: Some(0.0),
            ..Instrument::default()
        },
        bends: vec![Bend { radius_m: Some(0.15), ..Bend::new(8.0, 0.5) }],
        steps: vec![Step { station_m: 9.0, rise_m: -0.004, rise_sd_m: 0.002 }],
        features: vec![Feature {
            kind: FeatureKind::Connection,
            station_m: 3.0,
            to_m: Some(3.1),
            text: mark.to_owned(),
        }],
        ground: vec![
            GroundPoint { station_m: 0.0, elevation_m: 32.4, sd_m: Some(0.02) },
            GroundPoint { station_m: 12.0, elevation_m: 32.1, sd_m: Some(0.02) },
        ],
        notes: vec![Note {
            station_m: Some(5.0),
            to_m: Some(5.5),
            text: mark.to_owned(),
            photo: word(),
            video_time_s: Some(26.0),
            water_seen: true,
            dry_seen: false,
            tilt_sd_rad: Some(0.01),
        }],
        landmarks: vec![Landmark { sd_m: 0.02, ..Landmark::new(mark, 431_230.0, 112_801.0) }],
        digs: vec![Dig { name: mark.to_owned(), wanted: mark.to_owned(), ..Dig::new(6.0) }],
        digging: DigOptions { across_m: 0.6, tie_within_m: 2.5, confidence: 0.995, margin_m: 0.4 },
        segments: SegmentChoice::Given { breaks_m: vec![3.9, 5.9] },
        tailwater_m: Some(0.0),
        capacity: Some(Capacity {
            formula: Some(Formula::Manning),
            manning_n: Some(0.010),
            roughness_m: Some(0.001),
            viscosity_m2_s: Some(1.31e-6),
            flow_m3_s: None,
            discharge: Some(Discharge {
                frequency: Use::Intermittent,
                system: Some(System::I),
                fixtures: [("bath".to_owned(), 2)].into(),
                units_m3_s: vec![0.002],
                continuous_m3_s: Some(0.0001),
            }),
            filling: Some(0.5),
            least_velocity_m_s: Some(0.7),
            least_shear_pa: Some(1.0),
        }),
        rules: RulesChoice { rulebook: word(), facts, ..RulesChoice::default() },
        report: fallwise::model::ReportChoice { draws: 200, ..Default::default() },
        relay: Some(RelayChoice {
            min_slope: Some(0.02),
            max_length_m: Some(9.0),
            costs: RelayCosts { currency: mark.to_owned(), per_trench: 500.0, per_m: 90.0, per_m_depth: 40.0 },
            surfaces: vec![RelaySurface {
                name: mark.to_owned(),
                from_m: 0.0,
                to_m: 5.0,
                per_m: 9.0,
                per_m_depth: 1.0,
            }],
            keep_out: vec![KeepOut { from_m: 6.0, to_m: 7.0, reason: mark.to_owned() }],
            connections: vec![MovableConnection { station_m: 3.0, above_m: 0.02 }],
            width_m: Some(0.6),
            ..RelayChoice::default()
        }),
        ..Job::default()
    }
}

/// Leaves of a job by their path, without indices.
fn leaves(value: &Value, at: &str, found: &mut BTreeMap<String, Vec<Value>>) {
    match value {
        Value::Array(list) if !list.is_empty() => list.iter().for_each(|v| leaves(v, at, found)),
        Value::Object(map) if !map.is_empty() => {
            for (key, v) in map {
                let key = if at.ends_with("facts") || at.ends_with("fixtures") { "*" } else { key };
                leaves(v, &if at.is_empty() { key.to_owned() } else { format!("{at}.{key}") }, found);
            }
        }
        leaf => found.entry(at.to_owned()).or_default().push(leaf.clone()),
    }
}

fn leaves_of(job: &Job) -> BTreeMap<String, Vec<Value>> {
    let mut found = BTreeMap::new();
    leaves(&serde_json::to_value(job).unwrap(), "", &mut found);
    found
}

#[test]
fn somebody_decided_on_every_field() {
    let (before, after) = (leaves_of(&full("Mark")), leaves_of(&full("Mark").redacted()));
    let told: BTreeSet<&str> = FIELDS.iter().map(|(path, _)| *path).collect();
    assert_eq!(told.len(), FIELDS.len(), "a field stands twice");
    let there: BTreeSet<&str> = before.keys().map(String::as_str).collect();
    let undecided: Vec<_> = there.difference(&told).collect();
    assert!(undecided.is_empty(), "nobody decided on {undecided:#?}");
    let gone: Vec<_> = told.difference(&there).collect();
    assert!(gone.is_empty(), "no such field: {gone:#?}");
    for (path, treated) in FIELDS {
        let (was, is) = (&before[*path], after.get(*path));
        match treated {
            Treated::Kept => assert_eq!(Some(was), is, "{path}"),
            Treated::Changed => assert!(is.is_some() && is != Some(was), "{path}: {is:?}"),
            // The table is gone, or nothing stands there.
            Treated::Removed => {
                let empty = |v: &Value| v.is_null() || v.as_str() == Some("");
                assert!(is.is_none_or(|values| values.iter().all(empty)), "{path}: {is:?}");
            }
        }
    }
}

/// Every text of a job that was stuffed with one.
fn assert_no_mark(mark: &str) {
    let original = full(mark);
    let stuffed = serde_json::to_string(&original).unwrap();
    assert!(stuffed.matches(mark).count() > 50, "{}", stuffed.matches(mark).count());
    let redacted = original.redacted();
    assert!(!serde_json::to_string(&redacted).unwrap().contains(mark));
    let own = own_book(mark).redacted();
    assert!(!serde_json::to_string(&own).unwrap().contains(mark));
    for book in [Rulebook::shipped("ipc-2021").unwrap(), own] {
        let answers = Lateral::solve(redacted.clone()).unwrap().answers(Some(&book)).unwrap();
        let report = fallwise_report::Report::new(&answers);
        let mut faces = vec![
            output::result_json(&answers).unwrap(),
            dxf::profile(&answers).unwrap(),
            dxf::plan(&answers).unwrap(),
            report.summary(),
        ];
        faces.extend(report.files().unwrap().into_iter().map(|(_, text)| text));
        for face in faces {
            assert!(
                !face.contains(mark),
                "{mark}: {}",
                &face[face.find(mark).unwrap_or(0).saturating_sub(200)..][..400]
            );
        }
        assert_eq!(geojson::geojson(&answers).unwrap(), None, "the redacted job is nowhere on the earth");
    }
    let written = job::to_toml(&redacted).unwrap();
    assert!(!written.text.contains(mark));
    for (name, log) in &written.logs.0 {
        assert!(!name.contains(mark) && !String::from_utf8_lossy(log).contains(mark), "{name}");
    }
}

/// A rulebook of a user's own that names a firm wherever it can.
fn own_book(mark: &str) -> Rulebook {
    let mut book = Rulebook::shipped("ipc-2021").unwrap();
    for text in [&mut book.name, &mut book.title, &mut book.version, &mut book.jurisdiction] {
        mark.clone_into(text);
    }
    for (i, row) in book.rows.iter_mut().enumerate() {
        row.id = format!("{mark} {i}");
        for text in
            [&mut row.document, &mut row.edition, &mut row.clause, &mut row.text, &mut row.source_mark, &mut row.remark]
        {
            mark.clone_into(text);
        }
        row.needs.insert(format!("{mark} a"), mark.to_owned());
        row.needs_at_least.insert(format!("{mark} b"), 1.0);
        row.assumed.insert(format!("{mark} a"), mark.to_owned());
    }
    book
}

#[test]
fn no_mark_is_left_anywhere() {
    assert_no_mark("Quillfeather");
}

proptest! {
    // Each case solves a job twice and makes every face of it.
    #![proptest_config(ProptestConfig { cases: 8, ..ProptestConfig::default() })]

    /// Names in several scripts; letters enough that no word of the library's is among them.
    #[test]
    fn no_mark_of_any_script_is_left(mark in "[A-ZÄÖØ][a-zäöøß]{4}(qz|жщ|漢)[a-z]{4}") {
        assert_no_mark(&mark);
    }
}

#[test]
fn shipped_rulebooks_and_their_facts_are_known() {
    for listed in fallwise::rules::rulebooks() {
        let book = Rulebook::shipped(listed.name).unwrap();
        assert_eq!(book.redacted(), book);
        let mut job = Job::default();
        job.rules.rulebook = Some(book.name.clone());
        for row in &book.rows {
            job.rules.facts.extend(row.needs.clone());
            assert_eq!(job.redacted().rules, job.rules, "{}: {}", book.name, row.id);
            job.rules.facts.extend(row.needs_at_least.iter().map(|(name, least)| (name.clone(), least.to_string())));
            assert_eq!(job.redacted().rules, job.rules, "{}: {}", book.name, row.id);
        }
    }
}

#[test]
fn coordinates_begin_at_the_first_place_and_elevations_at_the_lowest() {
    let job = full("x").redacted();
    let run = &job.runs[0];
    assert_eq!((run.start_east_m, run.start_north_m), (Some(0.0), Some(0.0)));
    let Known::Plan { east_m, north_m, .. } = job.ties[1].known else { panic!() };
    // 431224.0 - 431220.5 and 112808.2 - 112803.25; such numbers are known to 1.5e-11.
    assert!(east_m == 3.5 && (north_m - 4.95).abs() < 3e-11, "{east_m} {north_m}");
    // The lowest is that of the invert tie, 31.13.
    assert!(matches!(job.ties[0].known, Known::Invert { elevation_m: 0.0, .. }));
    assert!((run.start_invert_m.unwrap() - 0.12).abs() < 1e-12 && (job.ground[0].elevation_m - 1.27).abs() < 1e-12);
    assert!((job.as_built[0].invert_m - 0.07).abs() < 1e-12);
    // One of the two alone means that the other is 0.
    let mut half = full("x");
    (half.runs[0].start_north_m, half.ties) = (None, Vec::new());
    assert_eq!(half.redacted().runs[0].start_north_m, Some(0.0));
    // What nobody knows is not made known.
    let bare = Job { runs: vec![Run::new(vec![0.0, 1.0], vec![0.02; 2])], ..Job::default() };
    let redacted = bare.redacted();
    assert_eq!((redacted.runs[0].start_invert_m, redacted.runs[0].start_east_m), (None, None));
}

#[test]
fn what_was_said_of_the_water_becomes_one_word() {
    for (said, word) in [
        ("running, from next door", "running"),
        ("Still since noon at the Smiths'", "still"),
        ("not running", "unknown"),
        ("none", "unknown"),
    ] {
        let survey = Survey { water: Some(said.to_owned()), ..Survey::default() };
        let job = Job { survey, ..Job::default() };
        assert_eq!(job.redacted().survey.water.as_deref(), Some(word));
    }
    assert_eq!(Job::default().redacted().survey.water, None);
}

/// Numbers of the figures that people decide by.
fn figures(a: &Answers) -> Vec<f64> {
    let mut all = vec![a.from_m, a.to_m];
    for r in a.reaches.iter().chain([&a.total]) {
        all.extend([r.length_m, r.length_sd_m, r.fall_m, r.fall_sd_m, r.fall_low_m, r.fall_high_m, r.drop_fall_m]);
        all.extend([r.slope, r.slope_sd, r.slope_low, r.slope_high].map(|s| s.unwrap_or(-1.0)));
    }
    for s in &a.segments {
        all.extend([s.from_m, s.to_m, s.tilt_rad, s.tilt_sd_rad, s.fall_m, s.fall_sd_m]);
    }
    for p in &a.pools {
        all.extend([p.from_m, p.to_m, p.depth_m, p.length_m]);
        all.extend([p.exists_probability, p.depth_low_m, p.depth_high_m, p.volume_m3].map(|s| s.unwrap_or(-1.0)));
    }
    for f in &a.findings {
        all.extend([f.from_m, f.to_m]);
        all.extend([f.value, f.value_sd, f.probability, f.required].map(|s| s.unwrap_or(-1.0)));
    }
    for p in &a.path {
        all.extend([p.station_m, p.height_m, p.height_sd_m]);
        all.extend([p.east_sd_m, p.north_sd_m, p.cover_m, p.water_m, p.azimuth_rad].map(|s| s.unwrap_or(-1.0)));
    }
    all
}

fn assert_same_figures(original: &Answers, redacted: &Answers, name: &str) {
    let verdicts = |a: &Answers| -> Vec<(String, Option<String>)> {
        a.findings.iter().map(|f| (f.finding.clone(), f.reason.clone())).collect()
    };
    assert_eq!(verdicts(original), verdicts(redacted), "{name}");
    assert_eq!(original.noted.len(), redacted.noted.len());
    let (one, other) = (figures(original), figures(redacted));
    assert_eq!(one.len(), other.len(), "{name}: other segments, pools or findings");
    // Coordinates of 4e5 m lose 6e-11 m as they are moved; the adjustment of ties multiplies that by some tens. Nothing here is
    // known to a micrometre. Probabilities count draws, of which none stands so near a limit.
    for (a, b) in one.iter().zip(&other) {
        assert!((a - b).abs() <= 1e-7 * a.abs().max(1.0), "{name}: {a} and {b}");
    }
}

#[test]
fn figures_and_findings_stay() {
    for demo in fallwise_examples::demos::DEMOS {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/demos").join(demo.name).join("job.toml");
        let loaded = job::read(&path).unwrap();
        let answers = |job: Job| Lateral::solve(job).unwrap().answers(loaded.rulebook.as_ref()).unwrap();
        let (original, redacted) = (answers(loaded.job.clone()), answers(loaded.job.redacted()));
        assert_same_figures(&original, &redacted, demo.name);
        for said in
            [&loaded.job.survey.site, &loaded.job.survey.ordered_by, &loaded.job.survey.date_time].into_iter().flatten()
        {
            assert!(!output::result_json(&redacted).unwrap().contains(said.as_str()), "{}: {said}", demo.name);
        }
    }
    let book = Rulebook::shipped("ipc-2021").unwrap();
    let answers = |job: Job| Lateral::solve(job).unwrap().answers(Some(&book)).unwrap();
    assert_same_figures(&answers(full("x")), &answers(full("x").redacted()), "full");
}

//! The report in another language: no word of ours that cannot be said in it, no decimal point where it has a comma.

#![allow(missing_docs, reason = "a test is no library")]
#![allow(
    clippy::manual_is_multiple_of,
    clippy::assigning_clones,
    reason = "remainders read as the pattern of the variants"
)]
#![allow(clippy::unwrap_used, reason = "the helpers of a test may panic as the test may")]

use core::fmt::Write;
use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    path::Path,
};

use fallwise::{
    Answers, Bore, Flow, Job, Lateral, Pipe, Reach, Rulebook, Run,
    adjust::Shared,
    answers::{
        AdjustmentRow, AsBuiltRow, Comparison, EditRow, NextRow, NoteRow, ParameterRow, StretchRow, TieRow, WaterRow,
        WithoutRow,
    },
    compare,
    model::{Bend, Feature, FeatureKind, Known, Place, Seen, Step, Tie},
    units::{Decimal, Language, Words, deg},
};
use fallwise_report::{AsLeft, Photo, Report};
use roxmltree::{Document, ParsingOptions};
use serde_json::Value;

/// What the core says of figures; the report prints it through them.
const FIGURES: [&str; 19] = [
    "{low} to {high}",
    "{n} mm",
    "{n} in",
    "{n} litres",
    "{n} gal",
    "{n} degrees",
    "less than {size}",
    "more than {n} %",
    "about {n} %",
    "level",
    "1 in {n}",
    "steeper than {slope}",
    "{slope} backfall",
    "chainage {station}",
    "station {station}",
    "chainage {from} and {to}",
    "stations {from} and {to}",
    "not determined",
    "1 %",
];
/// What is the same in every language: the name of the library and the symbols of units.
const SAME: [&str; 7] = ["fallwise", "answers", "m", "mm", "ft", "in", "x"];

/// Every file under a folder.
fn files(folder: &Path, found: &mut Vec<String>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files(&path, found);
        } else {
            found.push(fs::read_to_string(path).unwrap());
        }
    }
}

/// The text of a literal from after its opening mark on.
fn literal(source: &str) -> String {
    let (mut text, mut rest) = (String::new(), source.chars().peekable());
    while let Some(c) = rest.next() {
        match (c, c == '\\') {
            ('"', _) => return text,
            (_, false) => text.push(c),
            _ => match rest.next().unwrap() {
                'u' => {
                    let code: String = rest.by_ref().skip(1).take_while(|c| *c != '}').collect();
                    text.push(char::from_u32(u32::from_str_radix(&code, 16).unwrap()).unwrap());
                }
                '\n' => while rest.next_if(|c| c.is_whitespace()).is_some() {},
                c => text.push(c),
            },
        }
    }
    panic!("a literal without an end: {text}");
}

/// Every text of the report: what stands in `say!(.., "..")`, `said!(.., "..")` and `word("..")`.
fn texts() -> BTreeSet<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut sources = Vec::new();
    files(&root.join("src"), &mut sources);
    files(&root.join("templates"), &mut sources);
    let mut texts = BTreeSet::from(FIGURES.map(str::to_owned));
    for source in &sources {
        for (call, comma) in [("say!(", true), ("said!(", true), ("word(", false)] {
            for (at, _) in source.match_indices(call) {
                let after = &source[at + call.len()..];
                let before = if comma { after.split_once(',').map(|(_, rest)| rest) } else { Some(after) };
                if let Some(start) = before.and_then(|rest| rest.trim_start().strip_prefix('"')) {
                    texts.insert(literal(start));
                }
            }
        }
    }
    texts
}

/// A text with every letter outside braces made an `x`.
fn crossed(text: &str) -> String {
    let mut name = false;
    text.chars()
        .map(|c| {
            name = (name || c == '{') && c != '}';
            if c.is_alphabetic() && !name { 'x' } else { c }
        })
        .collect()
}

fn pseudo() -> Language {
    let mut toml = "code = \"de\"\nname = \"x\"\ndecimal = \"comma\"\n[text]\n".to_owned();
    for text in texts() {
        let quoted = |text: &str| format!("{text:?}").replace("\\'", "'");
        writeln!(toml, "{} = {}", quoted(&text), quoted(&crossed(&text))).unwrap();
    }
    Language::parse(&toml).unwrap()
}

/// A lateral with a belly, a backfall and a drop, with what can be known beside it.
fn job(words: Words, flow: Flow) -> Job {
    let tilt = |station: u32| match station {
        0..100 => 1.2,
        100..120 => -0.8,
        180..186 => 85.0,
        186.. => 0.3,
        _ => 2.0,
    };
    let noise = |i: u32| f64::from((i * 7919 + 13) % 101) / 101.0 - 0.5;
    let sign = if flow == Flow::Increasing { 1.0 } else { -1.0 };
    let counter_m = (0..241_u32).map(|i| 0.1 * f64::from(i)).collect();
    let reading_rad = (0..241_u32).map(|i| sign * deg(tilt(i) + 0.4 * noise(i))).collect();
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
    let feature = |(i, kind): (usize, FeatureKind)| {
        let text = if i % 2 == 0 { String::new() } else { "y y".to_owned() };
        Feature { kind, station_m: 3.0 * i as f64, to_m: None, text }
    };
    let place = Place::new;
    let known = [
        Known::Invert { at: place(0.0), elevation_m: 30.0, sd_m: 0.007 },
        Known::Invert { at: place(9.0), elevation_m: 29.9, sd_m: 0.1 },
        Known::HeightDifference { from: place(1.0), to: place(8.0), rise_m: -0.15, sd_m: 0.2 },
        Known::WaterLevel {
            from: place(9.0),
            to: place(12.0),
            level_sd_m: None,
            seen: Seen::Edge,
            although_running: false,
        },
    ];
    let mut job = Job {
        flow,
        runs: vec![Run::new(counter_m, reading_rad)],
        reaches: [(0.0, 9.0), (9.0, 24.0)]
            .map(|(from_m, to_m)| Reach {
                from_m,
                to_m,
                pipe: Pipe { bore: Some(Bore::circle(0.1).unwrap()), ..Pipe::default() },
                ..Reach::default()
            })
            .to_vec(),
        features: kinds.into_iter().enumerate().map(feature).collect(),
        // The other way round it is a hump, which holds no water.
        ties: known.into_iter().take(if flow == Flow::Increasing { 4 } else { 3 }).map(Tie::new).collect(),
        ..Job::default()
    };
    job.report.words = words;
    job
}

fn pick(words: &[&str], i: usize) -> String {
    words[i % words.len()].to_owned()
}

/// Answers in which, over all `k`, everything stands that the report has words for.
fn vary(a: &mut Answers, k: usize) {
    let some = |text: &str| Some(text.to_owned());
    let survey = &mut a.job.survey;
    if k % 2 == 0 {
        survey.invented = true;
        survey.about_length_m = Some(80.0);
        survey.video_offset_s = Some(-65.0);
        survey.title = some("y y");
        for field in [
            &mut survey.ordered_by,
            &mut survey.site,
            &mut survey.date_time,
            &mut survey.operator,
            &mut survey.licence,
            &mut survey.company,
            &mut survey.permit,
            &mut survey.weather_48h,
            &mut survey.water_run,
            &mut survey.water,
            &mut survey.cleaned_before,
            &mut survey.complaint,
            &mut survey.entry,
            &mut survey.riser_height,
            &mut survey.stopped_at,
            &mut survey.stopped_because,
            &mut survey.not_surveyed,
            &mut survey.head,
            &mut survey.skid,
            &mut survey.last_checked,
            &mut survey.video,
            &mut survey.video_hash,
            &mut survey.locator,
            &mut survey.landmarks,
            &mut survey.signed_by,
        ] {
            *field = some("y y");
        }
        a.job.bends = vec![Bend::new(4.0, deg(45.0)), Bend::new(5.0, deg(-45.0))];
        a.job.steps = vec![
            Step { station_m: 6.0, rise_m: 0.02, rise_sd_m: 0.003 },
            Step { station_m: 7.0, rise_m: -0.02, rise_sd_m: 0.003 },
        ];
    }
    let pool = a.pools.first().cloned();
    a.pools.extend((0..3).filter_map(|_| pool.clone()));
    for (i, p) in a.pools.iter_mut().enumerate() {
        p.state = pick(&["found", "possible", "intended"], i + k);
        p.exists_probability = [Some(0.97), Some(0.6), None, Some(0.004)][(i + k / 2) % 4];
        (p.depth_low_m, p.depth_high_m) =
            [(Some(0.01), Some(0.03)), (None, Some(0.03)), (Some(0.01), None), (None, None)][(i + k) % 4];
        (p.volume_low_m3, p.volume_high_m3) = (p.depth_low_m, p.depth_high_m);
        p.depth_m = if k % 5 == 4 { 0.0 } else { 0.02 };
        p.depth_over_bore = Some(0.25);
        p.sill_is_last_point = k % 2 == 0;
        p.touches_upstream_end = k % 3 == 0;
        p.full_bore_length_m = Some(1.5);
    }
    for (i, s) in a.segments.iter_mut().enumerate() {
        s.break_probability = [Some(0.99), Some(0.7), None, Some(0.2), Some(0.004)][(i + k) % 5];
        if (i + k) % 4 == 0 {
            s.kind = "drop".to_owned();
        }
        if (i + k) % 7 == 1 {
            s.slope = None;
        }
        (s.break_low_m, s.break_high_m) = [(Some(1.5), Some(2.5)), (None, None), (Some(1.5), Some(1.5))][(i + k) % 3];
    }
    let finding = a.findings.first().cloned();
    a.findings.extend((0..8).filter_map(|_| finding.clone()).map(|f| {
        let subject = "y 1".to_owned();
        fallwise::answers::FindingRow { subject, ..f }
    }));
    for (i, f) in a.findings.iter_mut().enumerate() {
        f.finding = pick(&["undecided", "fails", "meets", "undecided", "undecided"], i + k);
        let reasons = ["needs_measurement", "too_close", "not_surveyed", "contradicted", "no_rule", "input_missing"];
        f.reason = (f.finding == "undecided").then(|| pick(&reasons, i + k / 2));
        f.quantity = pick(&["slope", "depth_m", "length_m"], i + k);
        f.force = pick(&["code", "guidance", "contract", "practice"], i + k);
        f.document = "y y".to_owned();
        f.confirmed = (i + k) % 2 == 0;
        f.value = [Some(0.02), None, Some(0.3)][(i + k / 3) % 3];
        f.value_low = [Some(0.01), None][(i + k / 2) % 2];
        f.value_high = [Some(0.04), Some(0.05), None][(i + k) % 3];
        f.probability = [Some(0.5), Some(0.999), None][(i + k) % 3];
    }
    let measurements = ["reversal_check", "water_level", "run_from_other_end", "height_difference", "depth"];
    let next = |i: usize| NextRow {
        measurement: pick(&measurements, i),
        station_m: (i % 3 > 0).then_some(1.0),
        to_m: (i % 3 > 1).then_some(5.25),
        sentence: "y y".to_owned(),
        hazard: "y y".to_owned(),
        undecided_now: 1 + (i + k) % 2,
        expected_decided: if i == 4 { f64::NAN } else { 0.7 },
    };
    a.next = (k % 3 > 0).then(|| next(k));
    a.next_others = if k % 3 == 1 { (0..5).map(next).collect() } else { Vec::new() };
    let water = |i: usize| WaterRow {
        finding: pick(&["not_explained", "not_seen"], i),
        from_m: 1.0,
        to_m: 3.0,
        sentence: "y y".to_owned(),
    };
    a.water = if k % 2 == 0 { (0..8).map(water).collect() } else { Vec::new() };
    let edit = |i: usize| EditRow {
        run: "y 1".to_owned(),
        row: i,
        counter_m: 1.5,
        reading_rad: 0.02,
        run_number: 0,
        station_m: 1.5,
        tilt_rad: 0.02,
        action: "y".to_owned(),
        reason: pick(&["y", "yy", "y"], i),
        removed_fall_m: 0.0,
    };
    a.edits = if k % 3 == 0 { Vec::new() } else { (0..if k % 3 == 1 { 3 } else { 2003 }).map(edit).collect() };
    a.warnings = (0..k).map(|_| "y y".to_owned()).collect();
    beside(a, k);
    let note = |i: usize| NoteRow {
        number: i,
        station_m: (i % 4 > 0).then_some(i as f64),
        station_sd_m: (i % 3 > 1).then_some(0.2),
        station_low_m: Some(0.5),
        station_high_m: (i % 2 > 0).then_some(1.5),
        to_m: (i % 5 == 1).then_some(9.5),
        text: "y y".to_owned(),
        water_seen: i % 2 == 0,
        video_time_s: (i % 2 == 0).then_some(61.5),
        video_time_sd_s: (i % 4 == 0).then_some(2.0),
        video_time_low_s: (i % 3 == 0).then_some(59.0),
        video_time_high_s: Some(64.0),
        photo: (i % 3 == 0).then(|| "y".to_owned()),
        photo_sha256: (i % 2 == 0).then(|| "00".to_owned()),
        photo_bytes: None,
    };
    a.noted = (0..50).map(note).collect();
    a.total.drop_fall_m = [0.0, 0.4][k % 2];
    a.total.length_m *= [1.0, 1.01, 0.99][k % 3];
    for (i, r) in a.reaches.iter_mut().enumerate() {
        r.drop_fall_m = [0.0, 0.2][(i + k) % 2];
        r.bore_m = r.bore_m.filter(|_| (i + k) % 3 > 0);
    }
    let names = [
        "zero_rad",
        "offset_rad, run 1",
        "drift_rad, run 1",
        "across_axis_rad",
        "counter_scale, run 1",
        "noise_rad, run 1",
        "correlation_m, run 1",
        "step_rad, run 1",
        "rounding_rad, run 1",
    ];
    a.parameters = (names.iter().enumerate())
        .map(|(i, name)| ParameterRow {
            name: (*name).to_owned(),
            value: if k % 3 == 0 { 0.0 } else { 0.0012 },
            sd: [0.001, 0.0, 0.0005, 0.0012, 0.00095][(i + k) % 5],
            prior: Some(0.0),
            prior_sd: 0.001,
        })
        .collect();
    let instrument = &mut a.job.instrument;
    (instrument.seating_sd_rad, instrument.wander_sd_rad, instrument.lip_sd_m) = (0.001, 0.002, 0.002);
    instrument.zero_checked = k % 2 == 0;
    instrument.noise_sd_rad = (k == 4).then_some(0.01);
    for run in &mut a.job.runs {
        run.by_hand = k % 4 == 3;
        run.start_invert_m = (k > 6).then_some(30.0);
        run.start_invert_sd_m = (k % 2 == 0).then_some(0.01);
    }
    for p in &mut a.path {
        p.cover_m = (k % 4 == 1).then_some(0.8 + 0.01 * p.station_m);
    }
    if k == 10 {
        (a.findings, a.pools, a.segments) = (Vec::new(), Vec::new(), a.segments.iter().take(2).cloned().collect());
        a.job.runs.clear();
    }
    if k == 11 {
        a.path.clear();
    }
}

/// What is known beside the runs.
fn beside(a: &mut Answers, k: usize) {
    let quantities = ["elevation_m", "east_m", "north_m", "rise_m", "length_m", "azimuth_rad", "zero_rad", "depth_m"];
    let kinds = [
        "invert",
        "plan",
        "azimuth",
        "depth",
        "height_difference",
        "length",
        "reversal_check",
        "level_check",
        "water_level",
        "water_depth",
    ];
    let verdicts = ["agrees", "large", "repeated", "unchecked", "suspect"];
    let tie = |i: usize| TieRow {
        number: if i % 3 == 0 { 0 } else { i },
        name: "y y".to_owned(),
        kind: pick(&kinds, i + k),
        quantity: pick(&quantities, i / 2),
        station_m: (i % 4 > 0).then_some(2.0 + 0.5 * i as f64),
        to_m: (i % 4 > 2).then_some(9.0),
        value: [0.1, -0.2, 0.0][i % 3],
        sd: [0.005, 0.0][i % 2],
        expected: (i % 3 > 0).then_some(0.15),
        misclosure: if i % 2 == 0 { Some(0.02) } else { Some(-0.03) },
        misclosure_sd: Some(0.01),
        standardised: Some(-4.26),
        residual: 0.0,
        redundancy: Some(0.4),
        own_sd: Some(0.01),
        station_part_sd: None,
        expected_sd: Some(0.01),
        smallest_detectable: (i % 3 > 0).then_some(0.041),
        verdict: pick(&verdicts, i + k),
        sentence: "y y".to_owned(),
    };
    if k % 4 == 1 {
        (a.ties, a.adjustment) = (Vec::new(), None);
        for p in &mut a.path {
            (p.before_height_m, p.before_height_sd_m) = (None, None);
        }
        a.job.ties.clear();
        return;
    }
    a.ties.extend((0..18).map(tie));
    let row = |quantity: &&str| WithoutRow {
        left_out: "y y".to_owned(),
        quantity: (*quantity).to_owned(),
        value: 0.02,
        sd: 0.001,
        without: -0.00001,
        without_sd: 0.002,
    };
    a.adjustment = Some(AdjustmentRow {
        steps: 3,
        converged: k % 2 == 0,
        chi_square: 1.0,
        degrees_of_freedom: 3,
        p_value: Some(0.4),
        verdict: "large".to_owned(),
        sentence: "y y".to_owned(),
        suspect_row: (k % 3 == 0).then_some(2),
        suspect_pair_rows: (k % 3 == 1).then_some((1, 2)),
        explained_by_rows: [vec![], vec![3], vec![2, 3, 4]][k % 3].clone(),
        without: ["slope", "fall_m", "zero_rad", "counter_scale"].iter().map(row).collect(),
        not_determined: vec!["y y".to_owned()],
    });
    let as_built = |i: usize| AsBuiltRow {
        station_m: 2.0 * i as f64,
        invert_m: 30.0,
        invert_sd_m: [0.0, 0.01][i % 2],
        measured_m: 30.1,
        difference_m: 0.1,
        difference_sd_m: 0.01,
        difference_low_m: [-0.1, 0.05, -0.2][i % 3],
        difference_high_m: [0.1, 0.15, -0.1][i % 3],
        sentence: "y y".to_owned(),
    };
    a.as_built = (0..3).map(as_built).collect();
    a.unseen = vec![StretchRow { from_m: 1.0, to_m: 2.0 }];
    if k % 4 == 2 {
        for p in &mut a.path {
            p.elevation_m = None;
        }
        a.job.ties.clear();
    }
}

/// Takes the words out of what came with the answers, and their decimal points: sentences, names and what stands in rules.
/// Words by which the report chooses its own stay: they are written without a space.
fn silence(value: &mut Value, key: &str, rule: bool) {
    let own = ["name", "text", "id", "document", "edition", "clause", "source_mark", "remark", "pipe", "title"];
    match value {
        Value::String(text) if text.contains(' ') || own.contains(&key) || rule && key == "verdict" => {
            *text = text
                .chars()
                .map(|c| {
                    if c.is_alphabetic() {
                        'y'
                    } else if c == '.' {
                        ';'
                    } else {
                        c
                    }
                })
                .collect();
        }
        Value::Array(all) => all.iter_mut().for_each(|v| silence(v, key, rule)),
        // Rows of errors are named by what they are of.
        Value::Object(all) => {
            // Limits of rules are quantities that are read again.
            let kept = ["parameters", "min_slope", "max_slope", "max_pool", "also_printed"];
            for (name, v) in all.iter_mut().filter(|(name, _)| !kept.contains(&name.as_str())) {
                silence(v, name, rule || matches!(name.as_str(), "slopes" | "bellies"));
            }
        }
        _ => {}
    }
}

fn silent<T: serde::Serialize + serde::de::DeserializeOwned>(value: &T) -> T {
    let mut json = serde_json::to_value(value).unwrap();
    silence(&mut json, "", false);
    serde_json::from_value(json).unwrap()
}

/// What a reader sees, or hears, of a page or a picture.
fn visible(page: &str) -> Vec<String> {
    let options = ParsingOptions { allow_dtd: true, ..ParsingOptions::default() };
    let document = Document::parse_with_options(page, options).unwrap();
    let mut texts = Vec::new();
    for node in document.descendants() {
        if node.is_text() && !node.parent().is_some_and(|p| p.has_tag_name("style") || p.tag_name().name() == "style") {
            texts.push(node.text().unwrap().to_owned());
        }
        texts.extend(["alt", "aria-label", "title"].iter().filter_map(|name| node.attribute(*name)).map(str::to_owned));
    }
    texts
}

/// Fails on a word that is not the pseudo-language's, and on a decimal point.
fn check(name: &str, texts: &[String], version: &str, leftover: &mut BTreeMap<String, String>) {
    for text in texts {
        let shown = text.replace(version, "");
        for word in shown.split(|c: char| !c.is_alphabetic()).filter(|w| !w.is_empty()) {
            // One letter is a sign of the sketch, or north.
            let sign = word.len() == 1 && word.chars().all(char::is_uppercase);
            if !sign
                && !SAME.contains(&word)
                && !word.chars().all(|c| matches!(c, 'x' | 'X'))
                && !word.chars().all(|c| matches!(c, 'y' | 'Y'))
            {
                leftover.entry(word.to_owned()).or_insert_with(|| format!("{name}: {text}"));
            }
        }
        let digit = |c: Option<&u8>| c.is_some_and(u8::is_ascii_digit);
        let bytes = shown.as_bytes();
        for (i, _) in bytes.iter().enumerate().filter(|(_, b)| **b == b'.') {
            let point = digit(i.checked_sub(1).and_then(|i| bytes.get(i))) && digit(bytes.get(i + 1));
            assert!(!point, "{name}: a decimal point in {text:?}");
        }
    }
}

fn solved(words: Words, flow: Flow) -> Answers {
    let book = Rulebook::shipped("ipc-2021").unwrap();
    Lateral::solve(job(words, flow)).unwrap().answers(Some(&book)).unwrap()
}

fn compared(words: Words, shared: Shared) -> Comparison {
    let solve = |job: Job| Lateral::solve(job).unwrap();
    let mut later = job(words, Flow::Increasing);
    later.runs[0].reading_rad.iter_mut().take(60).for_each(|r| *r += 0.01);
    later.ties.clear();
    compare(&solve(job(words, Flow::Increasing)), &solve(later), shared, None).unwrap()
}

#[test]
fn every_word_can_be_said_in_another_language() {
    let language = pseudo();
    let mut leftover = BTreeMap::new();
    let photos = [Photo { file: "y", jpeg: &[1, 2, 3], width_px: 3, height_px: 2 }];
    for (words, flow) in [(Words::Uk, Flow::Increasing), (Words::Us, Flow::Decreasing)] {
        let answers = silent(&solved(words, flow));
        for k in 0..12 {
            let mut answers = answers.clone();
            vary(&mut answers, k);
            let report = Report::new(&answers).language(&language);
            let report = if k % 2 == 0 { report.photos(&photos) } else { report };
            let version = &answers.version;
            check(&format!("summary {k}"), &[report.summary()], version, &mut leftover);
            for (file, text) in report.files().unwrap() {
                check(&format!("{file} {k}"), &visible(&text), version, &mut leftover);
            }
        }
        for shared in [Shared::Nothing, Shared::Zero] {
            for k in 0..6 {
                let mut both = silent(&compared(words, shared));
                vary(&mut both.before, k);
                vary(&mut both.after, k + 1);
                both.heights_are = pick(&["elevation", "height"], k);
                both.warnings = (0..2 * k).map(|_| "y y".to_owned()).collect();
                both.findings = (0..2 * k)
                    .map(|i| fallwise::answers::FindingChange {
                        subject: pick(&["lateral", "y 1"], i),
                        before: (i % 2 > 0).then(|| "fails".to_owned()),
                        after: Some("meets".to_owned()),
                    })
                    .collect();
                if k == 4 {
                    (both.bellies, both.profile) = (Vec::new(), Vec::new());
                }
                let left = AsLeft::new(&both).language(&language);
                let version = &both.version;
                check(&format!("as-left summary {k}"), &[left.summary()], version, &mut leftover);
                check(&format!("as-left picture {k}"), &visible(&left.picture_svg()), version, &mut leftover);
                check(&format!("as-left page {k}"), &visible(&left.page_html().unwrap()), version, &mut leftover);
            }
        }
    }
    assert!(leftover.is_empty(), "not said in the other language: {leftover:#?}");
}

/// A decimal mark is a choice of its own: English has a comma where the job asks for one, and nothing else is different.
#[test]
fn the_job_can_ask_for_a_decimal_comma() {
    let mut answers = silent(&solved(Words::Uk, Flow::Increasing));
    let point = Report::new(&answers).page_html().unwrap();
    answers.job.report.decimal = Some(Decimal::Comma);
    let report = Report::new(&answers);
    let mut leftover = BTreeMap::new();
    for page in [report.page_html().unwrap(), report.profile_svg()] {
        check("comma", &visible(&page), &answers.version, &mut leftover);
    }
    assert!(leftover.contains_key("Findings"), "it is English");
    let commas: String = visible(&report.page_html().unwrap()).join("\n");
    assert_eq!(commas.replace(',', "."), visible(&point).join("\n").replace(',', "."));
}

#[test]
fn the_page_names_its_language_and_its_paper() {
    let mut answers = silent(&solved(Words::Uk, Flow::Increasing));
    let page = Report::new(&answers).page_html().unwrap();
    assert!(page.contains("<html lang=\"en\">") && page.contains("@page { size: A4; "));
    let language = pseudo();
    let page = Report::new(&answers).language(&language).page_html().unwrap();
    assert!(page.contains("<html lang=\"de\">"));
    answers.job.report.paper = Some(fallwise::model::Paper::Letter);
    assert!(Report::new(&answers).page_html().unwrap().contains("@page { size: letter; "));
    (answers.job.report.paper, answers.job.report.words) = (None, Words::Us);
    assert!(Report::new(&answers).page_html().unwrap().contains("@page { size: letter; "));
    let both = silent(&compared(Words::Uk, Shared::Nothing));
    assert!(AsLeft::new(&both).page_html().unwrap().contains("@page { size: A4; "));
}

/// A language file is a stranger's too.
#[test]
fn a_translation_cannot_act() {
    let toml = "code = \"de\"\nname = \"x\"\n[text]\n\"Findings\" = \"<script>\\u202e\"\n\"Bellies\" = \"שלום\"\n\
        \"invert (bottom)\" = \"</text><script>\"\n\"Segments:\" = \"a\\u001b[31m\"\n";
    let language = Language::parse(toml).unwrap();
    let answers = solved(Words::Uk, Flow::Increasing);
    let report = Report::new(&answers).language(&language);
    let (page, svg, summary) = (report.page_html().unwrap(), report.profile_svg(), report.summary());
    for face in [&page, &svg] {
        assert!(!face.contains("<script") && !face.contains('\u{202e}'));
        visible(face);
    }
    assert!(page.contains("U+202E") && page.contains("\u{2068}שלום\u{2069}") && !summary.contains('\u{1b}'));
}

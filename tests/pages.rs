//! Every page and picture of laterals that strain them: very short and long ones, long names, hundreds of notes, none at all, nothing
//! decided, everything decided. `FALLWISE_PAGES=FOLDER` writes them there, for `tests/look` to open in a browser.

#![allow(clippy::unwrap_used, reason = "the helpers of a test may panic as the test may")]

use std::{fs, path::Path};

use fallwise::{
    Answers, Job, Lateral, Pipe, Reach, Rulebook, Run, Tie,
    model::{AsBuilt, Bend, Dig, Feature, FeatureKind, GroundPoint, Known, Landmark, Note, Place, Step},
    units::{Words, deg, ft},
};
use fallwise_report::Report;

/// A log every decimetre over pieces of (length, m; slope): a reading with a fixed pattern of noise, no chance in it.
fn run(pieces: &[(f64, f64)], noise_rad: f64, zero_rad: f64) -> Run {
    let (mut counter_m, mut reading_rad) = (vec![], vec![]);
    let mut from_m = 0.0;
    for &(length_m, slope) in pieces {
        let mut at = from_m;
        while at < from_m + length_m - 1e-9 {
            let n = counter_m.len();
            // Steps through a circle by the golden angle: even, and without a run of one sign.
            let noise = noise_rad * fallwise::math::sin(2.399_963 * n as f64);
            counter_m.push(at);
            reading_rad.push(fallwise::math::atan(slope) + zero_rad + noise);
            at += 0.1;
        }
        from_m += length_m;
    }
    Run::new(counter_m, reading_rad)
}

fn reach(from_m: f64, to_m: f64, name: &str) -> Reach {
    Reach { from_m, to_m, name: name.to_owned(), pipe: Pipe::standard("SDR 35", "4 in").unwrap(), ..Reach::default() }
}

fn job(pieces: &[(f64, f64)], words: Words) -> Job {
    let mut job = Job { runs: vec![run(pieces, deg(0.2), 0.0)], ..Job::default() };
    let length_m = pieces.iter().map(|p| p.0).sum();
    job.reaches = vec![reach(0.0, length_m, "lateral")];
    job.rules.rulebook = Some("ipc-2021".to_owned());
    job.survey.invented = true;
    job.report.words = words;
    job.report.draws = 250;
    job
}

/// A head whose zero is known, so that much is decided.
fn checked(mut job: Job) -> Job {
    job.instrument.zero_sd_rad = deg(0.02);
    job.instrument.seating_sd_rad = deg(0.02);
    job.instrument.zero_checked = true;
    job
}

fn note(station_m: f64, text: &str) -> Note {
    Note { station_m: Some(station_m), text: text.to_owned(), ..Note::default() }
}

fn strained() -> Vec<(&'static str, Job)> {
    let plain: &[(f64, f64)] = &[(8.0, 0.02), (4.0, -0.008), (12.0, 0.03)];
    let mut long_names = job(plain, Words::Uk);
    let long = "Nobody-could-ever-have-called-a-drain-by-a-name-as-long-as-this-one-and-yet-somebody-did ".repeat(3);
    for text in [
        &mut long_names.survey.title,
        &mut long_names.survey.site,
        &mut long_names.survey.operator,
        &mut long_names.survey.company,
        &mut long_names.survey.permit,
        &mut long_names.survey.complaint,
        &mut long_names.survey.landmarks,
        &mut long_names.survey.stopped_because,
    ] {
        *text = Some(long.clone());
    }
    long_names.reaches = vec![reach(0.0, 9.0, &long), reach(9.0, 24.0, "שלום רב, garden")];
    long_names.notes = vec![note(3.0, &long), note(3.05, &"long".repeat(80))];
    long_names.features =
        vec![Feature { kind: FeatureKind::Connection, station_m: 5.0, to_m: None, text: long.clone() }];

    let mut many_notes = job(plain, Words::Us);
    many_notes.notes = (0..300).map(|i| note(0.08 * f64::from(i), &format!("joint {i}, roots"))).collect();
    many_notes.features = (0..60)
        .map(|i| Feature { kind: FeatureKind::Joint, station_m: 0.4 * f64::from(i), to_m: None, text: String::new() })
        .collect();
    many_notes.bends = vec![Bend::new(6.0, deg(45.0)), Bend::new(14.0, deg(-22.5))];
    many_notes.steps = vec![Step { station_m: 10.0, rise_m: 0.01, rise_sd_m: 0.003 }];

    let nothing = Job { runs: vec![run(&[(10.0, 0.02)], deg(0.2), 0.0)], ..Job::default() };
    let short = checked(job(&[(3.0, 0.02)], Words::Uk));
    let mut long_run = job(&[(20.0, 0.015), (30.0, 0.02), (2.0, -0.01), (38.0, 0.012)], Words::Us);
    long_run.survey.about_length_m = Some(120.0);
    let undecided = job(&[(24.0, 0.0205)], Words::Us);
    let decided = checked(job(&[(24.0, 0.04)], Words::Us));

    let mut planned = checked(job(&[(6.0, 0.03), (3.0, -0.01), (9.0, 0.025)], Words::Uk));
    planned.survey.permit = Some("2031/118".to_owned());
    planned.bends = vec![Bend::new(4.0, deg(45.0)), Bend::new(11.0, deg(-45.0))];
    let start = &mut planned.runs[0];
    (start.start_azimuth_rad, start.start_azimuth_sd_rad) = (Some(deg(30.0)), Some(deg(3.0)));
    (start.start_east_m, start.start_north_m, start.start_plan_sd_m) = (Some(0.0), Some(0.0), Some(0.05));
    (start.start_invert_m, start.start_invert_sd_m) = (Some(31.2), Some(0.005));
    planned.features = vec![
        Feature { kind: FeatureKind::Cleanout, station_m: 0.0, to_m: None, text: String::new() },
        Feature { kind: FeatureKind::Connection, station_m: 7.5, to_m: None, text: "from the kitchen".to_owned() },
        Feature { kind: FeatureKind::Main, station_m: 18.0, to_m: None, text: String::new() },
    ];
    planned.ground = vec![
        GroundPoint { station_m: 0.0, elevation_m: 32.1, sd_m: Some(0.02) },
        GroundPoint { station_m: 18.0, elevation_m: 31.9, sd_m: Some(0.02) },
    ];
    planned.ties = vec![Tie {
        name: "at the main".to_owned(),
        known: Known::Plan { at: Place::new(17.9), east_m: 12.2, north_m: 11.3, sd_m: 0.15 },
    }];
    planned.as_built = vec![
        AsBuilt { station_m: 0.0, invert_m: 31.2, sd_m: None },
        AsBuilt { station_m: 18.0, invert_m: 30.85, sd_m: Some(0.01) },
    ];

    let mut drop = checked(job(&[(6.0, 0.02), (1.2, 2.5), (6.0, 0.02)], Words::Us));
    drop.runs[0].start_station_m = ft(3.0);
    drop.reaches = vec![reach(0.0, 20.0, "house to main")];
    // Two digs of which one is possible, one not; one where nothing is known; each with names nobody could fit.
    let landmark =
        |i: usize, name: &str| Landmark::new(format!("{name} {i}"), 1.5 * i as f64 - 4.0, 9.0 - 2.0 * i as f64);
    planned.landmarks = (1..9).map(|i| landmark(i, "corner")).collect();
    planned.digs = vec![
        Dig { wanted: "the tail of the sag, cut out".into(), ..Dig::new(16.5) },
        Dig { name: "too far".into(), ..Dig::new(9.0) },
        Dig::new(50.0),
    ];
    let mut dug_us = planned.clone();
    dug_us.report.words = Words::Us;
    dug_us.landmarks = (1..3).map(|i| landmark(i, &long)).collect();
    dug_us.digs = vec![
        Dig { name: long.clone(), wanted: long.clone(), ..Dig::new(17.0) },
        Dig { wanted: long.clone(), ..Dig::new(8.0) },
    ];
    dug_us.notes = (0..40).map(|i| note(16.0 + 0.05 * f64::from(i), &long)).collect();
    many_notes.digs = vec![Dig::new(12.0)];

    vec![
        ("bare", nothing),
        ("decided", decided),
        ("drop", drop),
        ("dug", dug_us),
        ("long-90m", long_run),
        ("long-names", long_names),
        ("notes-300", many_notes),
        ("planned", planned),
        ("short-3m", short),
        ("undecided", undecided),
    ]
}

fn answers(job: Job) -> Answers {
    let book = job.rules.rulebook.as_deref().map(|name| Rulebook::shipped(name).unwrap());
    Lateral::solve(job).unwrap().answers(book.as_ref()).unwrap()
}

/// Every page and picture, by file name.
fn pages(answers: &Answers) -> Vec<(String, String)> {
    Report::new(answers).files().unwrap()
}

/// What a page shows, without its marks, styles and pictures.
fn shown(html: &str) -> String {
    let mut text = String::new();
    let mut rest = html;
    while let Some((before, tag)) = rest.split_once('<') {
        text.push_str(before);
        text.push(' ');
        let skipped = ["style", "svg"].into_iter().find(|name| tag.starts_with(name));
        rest = match skipped {
            Some(name) => tag.split_once(&format!("</{name}>")).map_or("", |(_, after)| after),
            None => tag.split_once('>').map_or("", |(_, after)| after),
        };
    }
    text.push_str(rest);
    text
}

#[test]
fn strained_pages_hold() {
    let folder = std::env::var_os("FALLWISE_PAGES");
    for (name, job) in strained() {
        let answers = answers(job);
        let made = pages(&answers);
        assert_eq!(made, pages(&answers), "{name}: not the same bytes twice");
        for (file, text) in &made {
            for bad in ["NaN", "inf ", "-0 mm", ">inf<", "Some(", "None)"] {
                assert!(!shown(text).contains(bad), "{name}/{file} shows {bad}");
            }
            assert!(text.contains("buried services"), "{name}/{file} has no caution");
            assert_eq!(text.contains("Invented example"), answers.job.survey.invented, "{name}/{file}");
            if let Some(folder) = &folder {
                let folder = Path::new(folder).join(name);
                fs::create_dir_all(&folder).unwrap();
                fs::write(folder.join(file), text).unwrap();
            }
        }
        let planned = ["dug", "planned"].contains(&name);
        assert_eq!(made.iter().any(|(file, _)| *file == "plan.svg"), planned, "{name}");
        let sheets = made.iter().filter(|(file, _)| file.starts_with("dig-"));
        assert_eq!(sheets.clone().count(), answers.job.digs.len(), "{name}");
        for ((_, sheet), dig) in sheets.zip(&answers.digs) {
            let shown = shown(sheet);
            assert_eq!(
                dig.refused,
                shown.contains("Do not dig from this: locate first."),
                "{name}, dig {}",
                dig.number
            );
            assert_eq!(!dig.refused, shown.contains("expect the top of the pipe"), "{name}, dig {}", dig.number);
            // Where nobody may dig there is nothing to dig to.
            assert!(!(dig.refused && shown.contains("Ground to")), "{name}, dig {}", dig.number);
        }
    }
}

/// Sixty words for the owner, their headings among them. A figure is no word, nor is the symbol of its unit.
#[test]
fn the_owner_reads_sixty_words() {
    let of = |html: &str| {
        let brief = html.split_once("<dl class=\"brief\">").unwrap().1.split_once("</dl>").unwrap().0;
        let word = |w: &&str| w.starts_with(char::is_alphabetic) && !["m", "mm", "ft", "in"].contains(w);
        shown(brief).split_whitespace().filter(word).count()
    };
    let demos = fallwise_examples::demos::DEMOS.iter().map(|demo| (demo.name, crate::end_to_end::answers(demo.name)));
    for (name, answers) in demos.chain(strained().into_iter().map(|(name, job)| (name, answers(job)))) {
        let of_file = |name: &str| of(&pages(&answers).into_iter().find(|(file, _)| *file == name).unwrap().1);
        let (page, own) = (of_file("report.html"), of_file("owner.html"));
        assert_eq!(page, own, "{name}");
        assert!((12..=60).contains(&page), "{name}: {page} words");
    }
}

//! Which files went in: each by the SHA-256 of its bytes as they were read; and a job's place on the earth, as text.

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use std::{fs, path::Path};

use fallwise::{Rulebook, answers::InputRow, units::deg};
use fallwise_files::{
    FolderResolver, MemoryResolver, job, output,
    photo::{self, PhotoOptions},
};

/// By `sha256sum` of GNU coreutils, of the bytes `distance (m),tilt (deg)\n0,1.2\n0.5,1.1\n1,1.15\n`.
const LOG: &str = "distance (m),tilt (deg)\n0,1.2\n0.5,1.1\n1,1.15\n";
const LOG_SHA256: &str = "6e2d65eb5a00a7dc7a94495cb0edd06d8c646605373d0573eae56f2f70005de7";

#[test]
fn the_job_its_log_and_its_rulebook_are_known_by_their_bytes() {
    let text = "[[run]]\nlog = \"logs/a.csv\"\n[rules]\nfile = \"own.toml\"\n";
    let book = include_str!("old_files/own-1.toml");
    // A byte order mark is part of the file and not of the text.
    let marked = [b"\xef\xbb\xbf", book.as_bytes()].concat();
    let files = MemoryResolver(
        [("logs/a.csv".to_owned(), LOG.as_bytes().to_vec()), ("own.toml".to_owned(), marked.clone())].into(),
    );
    let loaded = job::read_text(text, "job.toml", &files).unwrap();
    let rows: Vec<(&str, &str, u64)> =
        loaded.inputs.iter().map(|row| (row.role.as_str(), row.name.as_str(), row.bytes)).collect();
    assert_eq!(
        rows,
        [
            ("job", "job.toml", text.len() as u64),
            ("log", "logs/a.csv", LOG.len() as u64),
            ("rulebook", "own.toml", marked.len() as u64)
        ]
    );
    assert_eq!(loaded.inputs[1].sha256, LOG_SHA256);
    let plain = MemoryResolver(
        [("logs/a.csv".to_owned(), LOG.as_bytes().to_vec()), ("own.toml".to_owned(), book.as_bytes().to_vec())].into(),
    );
    assert_ne!(job::read_text(text, "job.toml", &plain).unwrap().inputs[2].sha256, loaded.inputs[2].sha256);
    // The core knows of no files; what is told goes before what is there.
    let mut answers = loaded.solve().unwrap().answers(None).unwrap();
    assert!(answers.inputs.is_empty());
    answers.warnings = vec!["last".to_owned()];
    loaded.tell(&mut answers);
    assert_eq!(answers.inputs, loaded.inputs);
    assert_eq!(answers.warnings.last().map(String::as_str), Some("last"));
    assert_eq!(output::read_answers(output::result_json(&answers).unwrap().as_bytes()).unwrap(), answers);
}

#[test]
fn a_file_is_known_without_its_folders_and_photos_follow() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/demos/two-bellies");
    let loaded = job::read(&folder.join("job.toml")).unwrap();
    let mut answers = loaded.solve().unwrap().answers(None).unwrap();
    loaded.tell(&mut answers);
    photo::read_all(&mut answers, &FolderResolver::new(&folder).unwrap(), PhotoOptions::default());
    let names: Vec<(&str, &str)> = answers.inputs.iter().map(|r| (r.role.as_str(), r.name.as_str())).collect();
    assert_eq!(names, [("job", "job.toml"), ("log", "log.csv"), ("photo", "13.2m.png")]);
    for row in &answers.inputs {
        assert_eq!(row.bytes, fs::metadata(folder.join(&row.name)).unwrap().len(), "{}", row.name);
        assert!(row.sha256.len() == 64 && row.sha256.bytes().all(|b| b.is_ascii_hexdigit()));
    }
    let note = answers.noted.iter().find(|n| n.photo.is_some()).unwrap();
    assert_eq!(note.photo_sha256.as_ref(), Some(&answers.inputs[2].sha256));
}

#[test]
fn results_from_before_inputs_were_told_are_read() {
    let old = output::read_answers(include_bytes!("old_files/result-1.json")).unwrap();
    assert_eq!(old.inputs, Vec::<InputRow>::new());
    assert_eq!(old.job.origin, None);
}

const READINGS: &str =
    "[[reading]]\nstation = \"0 m\"\nslope = \"2 %\"\n[[reading]]\nstation = \"2 m\"\nslope = \"1 %\"\n";

#[test]
fn an_origin_is_read_with_its_units() {
    let text = format!("[origin]\nlongitude = \"-32.5 deg\"\nlatitude = \"0.72 rad\"\neast = \"10 ft\"\n{READINGS}");
    let origin = job::read_text(&text, "job.toml", &MemoryResolver::default()).unwrap().job.origin.unwrap();
    assert_eq!((origin.longitude_rad, origin.latitude_rad), (deg(-32.5), 0.72));
    assert_eq!((origin.east_m, origin.north_m, origin.grid_north_rad, origin.sd_m), (3.048, 0.0, 0.0, None));
}

#[test]
fn faults_of_an_origin_have_their_place() {
    let told = |table: &str| {
        let text = format!("[origin]\n{table}\n{READINGS}");
        match job::read_text(&text, "job.toml", &MemoryResolver::default()) {
            Err(fault) => fault.to_string(),
            Ok(loaded) => loaded.solve().unwrap_err().to_string(),
        }
    };
    for (table, said) in [
        ("longitude = \"1 deg\"", "job.toml, line 1, column 1: origin: key \"latitude\" is missing"),
        (
            "longitude = 1\nlatitude = \"1 deg\"",
            "job.toml, line 2, column 13: origin.longitude: 1 has no unit; expected an angle with its unit, such as \"45 deg\", in quotes",
        ),
        (
            "longitude = \"181 deg\"\nlatitude = \"1 deg\"",
            "job.toml, line 2, column 13: origin.longitude = \"181 deg\": 3.1590459461097367 given, expected a longitude from \
             -180 to 180 degrees, in rad",
        ),
        (
            "longitude = \"1 deg\"\nlatitude = \"-91 deg\"",
            "job.toml, line 3, column 12: origin.latitude = \"-91 deg\": -1.5882496193148399 given, expected a latitude from -90 \
             to 90 degrees, in rad",
        ),
        (
            "longitude = \"1 deg\"\nlatitude = \"1 deg\"\nsd = \"-1 m\"",
            "job.toml, line 4, column 6: origin.sd = \"-1 m\": -1 given, expected a number from 0 to 1e9",
        ),
        (
            "longitude = \"1 deg\"\nlatitude = \"1 deg\"\ngrid_nord = \"0 deg\"",
            "job.toml, line 4, column 1: origin: key \"grid_nord\" is not known (did you mean \"grid_north\"?); expected one of \
             longitude, latitude, east, north, grid_north, sd",
        ),
    ] {
        assert_eq!(told(table), said);
    }
    for pole in ["90 deg", "-90 deg"] {
        let text = format!("[origin]\nlongitude = \"180 deg\"\nlatitude = \"{pole}\"\n{READINGS}");
        job::read_text(&text, "job.toml", &MemoryResolver::default()).unwrap().solve().unwrap();
    }
}

#[test]
fn an_origin_that_nothing_can_be_placed_by_is_told() {
    let told = |start: &str, origin: &str| {
        let text = format!(
            "[origin]\nlongitude = \"-32.5 deg\"\nlatitude = \"41 deg\"\n{origin}\n[[run]]\nlog = \"a.csv\"\n{start}\n"
        );
        let files = MemoryResolver([("a.csv".to_owned(), LOG.as_bytes().to_vec())].into());
        let loaded = job::read_text(&text, "job.toml", &files).unwrap();
        let answers = loaded.solve().unwrap().answers(Some(&Rulebook::shipped("ipc-2021").unwrap())).unwrap();
        answers.warnings.into_iter().filter(|w| w.contains("origin")).collect::<Vec<_>>()
    };
    let place = "start_azimuth = \"30 deg\"\nstart_azimuth_sd = \"2 deg\"";
    assert_eq!(told(place, ""), Vec::<String>::new());
    assert_eq!(
        told("", ""),
        [
            "the origin is not used: the plan is not determined, which needs a start_azimuth of a run or a tie of plan or azimuth"
        ]
    );
    let far = told(place, "east = \"200000 m\"");
    assert!(far[0].starts_with("the origin is not used: distance from the origin: ") && far.len() == 1, "{far:?}");
}

//! Files that nobody should hand in: any text gives a job or an error that names its place, never a panic, and in
//! bounded time. `PROPTEST_CASES` raises the number of cases.

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use std::{fmt::Write as _, fs, path::Path};

use fallwise::{Lateral, Rulebook, units};
use fallwise_files::{FileError, FolderResolver, LogFormat, MemoryResolver, Resolver, job, log, output};
use proptest::{
    collection::vec,
    prelude::*,
    sample::{Index, select},
};

use crate::clock::within_seconds;

const JOBS: [&str; 3] = [
    include_str!("../examples/demos/two-bellies/job.toml"),
    include_str!("../examples/demos/by-hand/job.toml"),
    include_str!("../examples/demos/long-messy/job.toml"),
];
const LOG: &str = include_str!("../examples/demos/two-bellies/log.csv");

/// Pieces of text that mean something somewhere.
const BITS: [&str; 60] = [
    "",
    "\n",
    "\r\n",
    "\r",
    ",",
    ";",
    "\t",
    "\"",
    "'",
    "#",
    "=",
    "[",
    "]",
    "[[",
    "]]",
    "{",
    "}",
    "\\",
    "\\u0000",
    "\0",
    "\u{feff}",
    "\u{202e}",
    "é",
    "\u{1d54f}",
    "-",
    "+",
    ".",
    "0",
    "1",
    "-0",
    "1e999",
    "-1e999",
    "1e308",
    "1e-400",
    "nan",
    "inf",
    "0x10",
    "1_000",
    "999999999999999999999999999999",
    "\" m\"",
    "\"1e999 m\"",
    "\"-5 ft\"",
    "\"1/0 in/ft\"",
    "\"1 in 0\"",
    "\"0+00\"",
    "\"90 deg\"",
    "\"1e400 %\"",
    "\"6' 3 1/2\\\"\"",
    "..",
    "../",
    "/etc/passwd",
    "log = \"../log.csv\"\n",
    "[[run]]\n",
    "[[reading]]\n",
    "station = \"5 m\"\n",
    "true",
    "null",
    "1979-05-27T07:32:00Z",
    "\"\"\"",
    "=1+1",
];

fn files(log: &[u8]) -> MemoryResolver {
    MemoryResolver([("log.csv".to_owned(), log.to_vec()), ("rules.toml".to_owned(), log.to_vec())].into())
}

/// A text with some of it replaced.
fn changed(text: &str, changes: &[(Index, usize, String)]) -> String {
    let mut chars: Vec<char> = text.chars().collect();
    for (at, length, put) in changes {
        let from = at.index(chars.len() + 1);
        let to = (from + length).min(chars.len());
        chars.splice(from..to, put.chars());
    }
    chars.into_iter().collect()
}

fn changes() -> impl Strategy<Value = Vec<(Index, usize, String)>> {
    let put = prop_oneof![4 => select(&BITS[..]).prop_map(str::to_owned), 1 => "\\PC{0,12}", 1 => any::<String>()];
    vec((any::<Index>(), prop_oneof![Just(0_usize), 1..6_usize, 1..200_usize], put), 1..5)
}

/// Reads, and goes on to the answers where that works.
fn through(text: &str, resolver: &dyn Resolver) {
    for read in [job::read_text, job::read_json] {
        match read(text, "job.toml", resolver) {
            Err(error) => assert_plain(&error),
            Ok(loaded) => {
                let mut job = loaded.job;
                job.report.draws = job.report.draws.min(3);
                if let Some(book) = &loaded.rulebook_text {
                    let _ = Rulebook::parse(book);
                }
                let Ok(lateral) = Lateral::solve(job) else { continue };
                let answers = lateral.answers(None).unwrap();
                let json = output::result_json(&answers).unwrap();
                assert_eq!(output::read_answers(json.as_bytes()).unwrap(), answers);
            }
        }
    }
}

/// An error fits on a screen, names a file, and sends the screen nothing but text.
fn assert_plain(error: &FileError) {
    let said = error.to_string();
    assert!(said.len() < 3000, "{} bytes: {said:.300}", said.len());
    assert!(said.contains(".csv") || said.contains(".toml") || said.contains("no such file"), "{said}");
    assert!(!said.contains(['\0', '\u{1b}']), "{said:?}");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_changed_job_is_read_or_refused(which in 0..JOBS.len(), changes in changes()) {
        through(&changed(JOBS[which], &changes), &files(LOG.as_bytes()));
    }

    #[test]
    fn a_changed_log_is_read_or_refused(changes in changes()) {
        let log = changed(&LOG[..3000], &changes);
        if let Err(e) = log::read(log.as_bytes(), &LogFormat::default()) {
            assert_plain(&e.in_file("log.csv"));
        }
        through("[[run]]\nlog = \"log.csv\"\n", &files(log.as_bytes()));
    }

    #[test]
    fn any_bytes_are_a_log_or_refused(bytes in vec(any::<u8>(), 0..300), bits in vec(select(&BITS[..]), 0..60)) {
        let _ = log::read(&bytes, &LogFormat::default());
        let _ = log::read(bits.concat().as_bytes(), &LogFormat::default());
        let _ = output::read_answers(&bytes);
        let mut log = b"cable (m),tilt (deg)\n0,1\n1,2\n".to_vec();
        log.extend(&bytes);
        through("[[run]]\nlog = \"log.csv\"\n", &files(&log));
    }

    #[test]
    fn any_text_is_a_job_or_refused(text in any::<String>(), bits in vec(select(&BITS[..]), 0..40)) {
        through(&text, &files(b""));
        through(&bits.concat(), &files(b""));
    }

    #[test]
    fn any_text_is_a_quantity_or_refused(text in any::<String>(), bits in vec(select(&BITS[..]), 0..5), number in any::<f64>()) {
        for text in [text, bits.concat(), format!("{number} ft"), format!("{number}+{number}"), format!("1 in {number}")] {
            for parse in [units::parse_length, units::parse_station, units::parse_slope, units::parse_tilt, units::parse_angle, units::parse_volume] {
                if let Ok(value) = parse(&text) {
                    prop_assert!(value.is_finite(), "{text:?} gives {value}");
                }
            }
        }
    }

    #[test]
    fn any_text_is_a_rulebook_or_refused(which in any::<Index>(), changes in changes()) {
        let books = [
            include_str!("../crates/fallwise/src/rules/shipped/ipc-2021.toml"),
            include_str!("../crates/fallwise/src/rules/shipped/as-nzs-3500-2.toml"),
        ];
        let _ = Rulebook::parse(&changed(books[which.index(2)], &changes));
    }

    #[test]
    fn no_name_leads_out_of_the_folder(parts in vec(select(&["..", "/", "\\", ".", "a", "C:", "\0", "~", "", "log.csv", "%2e%2e"][..]), 0..6)) {
        let folder = std::env::temp_dir().join("fallwise-hostile-names");
        fs::create_dir_all(folder.join("in")).unwrap();
        fs::write(folder.join("secret"), "secret").unwrap();
        fs::write(folder.join("in/log.csv"), "log").unwrap();
        let resolver = FolderResolver::new(&folder.join("in")).unwrap();
        for name in [parts.concat(), parts.join("/"), format!("{}/secret", parts.join("/"))] {
            if let Ok(bytes) = resolver.read(&name) {
                prop_assert_eq!(bytes, b"log");
            }
        }
    }
}

#[cfg(unix)]
#[test]
fn no_link_leads_out_of_the_folder() {
    let folder = std::env::temp_dir().join(format!("fallwise-hostile-links-{}", std::process::id()));
    fs::create_dir_all(folder.join("in/sub")).unwrap();
    fs::write(folder.join("secret.csv"), "secret").unwrap();
    std::os::unix::fs::symlink("../secret.csv", folder.join("in/log.csv")).unwrap();
    std::os::unix::fs::symlink("..", folder.join("in/up")).unwrap();
    fs::write(folder.join("in/job.toml"), "[[run]]\nlog = \"log.csv\"\n").unwrap();
    let said = job::read(&folder.join("in/job.toml")).unwrap_err().to_string();
    assert!(said.contains("outside its own folder"), "{said}");
    let resolver = FolderResolver::new(&folder.join("in")).unwrap();
    for name in ["up/secret.csv", "up/in/../secret.csv", "sub/../log.csv", "sub", "/dev/zero", "/proc/self/environ"] {
        assert!(resolver.read(name).is_err(), "{name}");
    }
    fs::remove_dir_all(folder).unwrap();
}

#[test]
fn deep_nesting_is_refused() {
    for depth in [100, 10_000, 100_000] {
        for (open, close) in [("[", "]"), ("{ a = ", "}"), ("{\"a\":", "}"), ("[{ a = ", "}]")] {
            let nested = format!("{}1{}", open.repeat(depth), close.repeat(depth));
            let text = format!("x = {nested}\n");
            within_seconds("deep nesting", 10.0, || {
                assert!(job::read_text(&text, "job.toml", &files(b"")).is_err());
                assert!(job::read_json(&nested, "job.toml", &files(b"")).is_err());
                assert!(Rulebook::parse(&text).is_err());
                assert!(output::read_answers(nested.as_bytes()).is_err());
            });
        }
        let dotted = format!("{}a = 1\n", "a.".repeat(depth));
        let table = format!("[{}a]\n", "a.".repeat(depth));
        let unclosed = "[".repeat(depth);
        for text in [dotted, table, unclosed] {
            within_seconds("a deep key", 10.0, || {
                assert!(job::read_text(&text, "job.toml", &files(b"")).is_err());
                assert!(Rulebook::parse(&text).is_err());
            });
        }
    }
}

#[test]
fn huge_texts_take_bounded_time() {
    let mut wide = String::from("cable (m),tilt (deg)");
    (0..100_000).for_each(|i| write!(wide, ",c{i}").unwrap());
    for row in 0..3 {
        write!(wide, "\n{row},1.0{}", ",1".repeat(100_000)).unwrap();
    }
    let read = within_seconds("1e5 columns", 10.0, || log::read(wide.as_bytes(), &LogFormat::default())).unwrap();
    assert_eq!((read.counter_m.len(), read.extra.len()), (3, 100_000));

    let line = "x".repeat(10 << 20);
    for text in [
        line.clone(),
        format!("cable (m),tilt (deg)\n0,1\n1,{line}\n"),
        format!("\"{line}"),
        format!("# {line}\n"),
        ",".repeat(4 << 20),
        "\n".repeat(4 << 20),
        "\"\n".repeat(1 << 20),
    ] {
        let fault = within_seconds("a line of megabytes", 20.0, || log::read(text.as_bytes(), &LogFormat::default()));
        assert_plain(&fault.unwrap_err().in_file("log.csv"));
    }
    for text in [
        line.clone(),
        format!("a = \"{line}\""),
        format!("{line} = 1"),
        format!("[survey]\ntitle = \"\"\"{line}"),
        format!("tailwater = \"{line} m\""),
    ] {
        let fault = within_seconds("a job of megabytes", 20.0, || job::read_text(&text, "job.toml", &files(b"")));
        assert_plain(&fault.unwrap_err());
    }
    let named = format!("[[run]]\nlog = \"{line}\"");
    assert!(job::read_text(&named, "job.toml", &files(b"")).unwrap_err().to_string().len() < 3000);
    // Many tables, many faults of the same kind in many rows, one number of many digits.
    let many = "[[reading]]\nstation = \"1 m\"\nslope = \"2 %\"\n".repeat(20_000);
    let loaded = within_seconds("2e4 readings", 20.0, || job::read_text(&many, "job.toml", &files(b""))).unwrap();
    assert!(within_seconds("2e4 readings at one place", 10.0, || Lateral::solve(loaded.job)).is_err());
    // Two long words are not compared, which would take the product of their lengths.
    let (counter, other) = ("ab".repeat(1 << 19), "ac".repeat(1 << 19));
    let format = LogFormat { counter: Some(counter), ..LogFormat::default() };
    let columns = format!("{other},tilt (deg)\n0,1\n");
    assert!(within_seconds("a long name", 10.0, || log::read(columns.as_bytes(), &format)).is_err());
    let digits = format!("cable (m),tilt (deg)\n0,1\n1,0.{}\n", "3".repeat(1 << 20));
    within_seconds("a million digits", 10.0, || log::read(digits.as_bytes(), &LogFormat::default())).unwrap();
    let rows: String = (0..200_000).fold("cable (m),tilt (deg)\n".to_owned(), |mut text, i| {
        writeln!(text, "{},{}", f64::from(i % 1000) * 0.01, i % 7).unwrap();
        text
    });
    let run = log::read(rows.as_bytes(), &LogFormat::default()).unwrap();
    let run = fallwise::Run::new(run.counter_m, run.reading_rad);
    let job = fallwise::Job {
        runs: vec![run],
        report: fallwise::model::ReportChoice { draws: 2, ..Default::default() },
        ..Default::default()
    };
    within_seconds("2e5 readings back and forth", 20.0, || Lateral::solve(job)).unwrap();
}

#[test]
fn the_committed_jobs_are_read() {
    let demos = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/demos");
    let mut read = 0;
    for folder in fs::read_dir(demos).unwrap() {
        let loaded = job::read(&folder.unwrap().path().join("job.toml")).unwrap();
        Lateral::solve(loaded.job).unwrap();
        read += 1;
    }
    assert!(read >= 6, "{read}");
}

//! Logs that are malformed, with the exact message, and logs that are odd and usable, with what is read and warned of; and
//! that the way a log is written changes nothing of what is read.

#![allow(clippy::needless_raw_string_hashes, reason = "one form for all texts of the tables")]
#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use std::fmt::Write as _;

use fallwise_files::{
    FileError, Loaded, LogFormat, MemoryResolver, job,
    log::{self, DecimalMark, Encoding, LogTable},
};
use peak_alloc::PeakAlloc;
use proptest::{collection::vec, option::of, prelude::*, sample::select};

#[global_allocator]
static MEMORY: PeakAlloc = PeakAlloc;

/// A log as it is written in bytes.
#[derive(Debug, Clone, Copy)]
enum Log {
    /// UTF-8.
    T(&'static str),
    /// Bytes as they are.
    B(&'static [u8]),
    /// UTF-16, little end first.
    Le(&'static str),
    /// UTF-16, big end first.
    Be(&'static str),
}
use Log::{B, Be, Le, T};

impl Log {
    fn bytes(self) -> Vec<u8> {
        match self {
            T(text) => text.as_bytes().to_vec(),
            B(bytes) => bytes.to_vec(),
            Le(text) => text.encode_utf16().flat_map(u16::to_le_bytes).collect(),
            Be(text) => text.encode_utf16().flat_map(u16::to_be_bytes).collect(),
        }
    }

    /// Reads it through a job whose run has these keys beside the log.
    fn read(self, keys: &str) -> Result<Loaded, FileError> {
        let files = MemoryResolver([("log.csv".to_owned(), self.bytes())].into());
        job::read_text(&format!("[[run]]\nlog = \"log.csv\"\n{keys}\n"), "job.toml", &files)
    }
}

/// Name, log, keys of the run, message, nearest known word.
type Fault = (&'static str, Log, &'static str, &'static str, Option<&'static str>);

#[rustfmt::skip]
const FAULTS: &[Fault] = &[
    (
        "nothing at all",
        T(""),
        "",
        r#"?"#,
        None,
    ),
    (
        "nothing but blanks",
        T(" \n\n\t\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "nothing but comments",
        T("# a\n# b\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "one column",
        T("distance (m)\n0\n1\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "no header",
        T("0,1.2\n0.5,1.1\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "header only",
        T("distance (m),tilt (deg)\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "one reading",
        T("distance (m),tilt (deg)\n0,1.2\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "no counter",
        T("a,tilt (deg)\n0,1\n1,1\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "no reading",
        T("distance (m),b\n0,1\n1,1\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "two counters",
        T("distance (m),station (m),tilt (deg)\n0,0,1\n1,1,1\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "one column for two",
        T("distance (m),tilt (deg)\n0,1\n1,1\n"),
        r#"reading = "distance (m)"
reading_unit = "deg""#,
        r#"?"#,
        None,
    ),
    (
        "a column that is not there",
        T("cable (m),tilt (deg)\n0,1\n1,1\n"),
        r#"counter = "cabel (m)""#,
        r#"?"#,
        None,
    ),
    (
        "no unit",
        T("distance,tilt (deg)\n0,1\n1,1\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "unknown unit of length",
        T("distance (furlong),tilt (deg)\n0,1\n1,1\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "misspelt unit of length",
        T("distance (metrs),tilt (deg)\n0,1\n1,1\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "misspelt unit of tilt",
        T("distance (m),tilt [degs]\n0,1\n1,1\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "unknown unit in the units line",
        T("distance,tilt\n(furlong),(deg)\n0,1\n1,1\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "two unknown units in the units line",
        T("distance,tilt\n(meeter),(degs)\n0,1\n1,1\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "unknown tilt unit in the units line",
        T("distance,tilt\nm,gon\n0,1\n1,1\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "unknown unit of a named time",
        T("distance (m),tilt (deg),t (fortnight)\n0,1,1\n1,1,2\n"),
        r#"time = "t""#,
        r#"?"#,
        None,
    ),
    (
        "unknown unit of a named time in the units line",
        T("distance,tilt,t\nm,deg,mins\n0,1,1\n1,1,2\n"),
        r#"time = "t""#,
        r#"?"#,
        None,
    ),
    (
        "unknown unit of a named roll",
        T("distance (m),tilt (deg),r (%)\n0,1,1\n1,1,2\n"),
        r#"roll = "r""#,
        r#"?"#,
        None,
    ),
    (
        "misspelt unit of a named temperature",
        T("distance (m),tilt (deg),T (celcius)\n0,1,1\n1,1,2\n"),
        r#"temperature = "T""#,
        r#"?"#,
        None,
    ),
    (
        "no unit of a named roll",
        T("distance (m),tilt (deg),r\n0,1,1\n1,1,2\n"),
        r#"roll = "r""#,
        r#"?"#,
        None,
    ),
    (
        "header and units line differ",
        T("distance (m),tilt (deg)\nft,deg\n0,1\n1,1\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "header and job differ",
        T("distance (m),tilt (deg)\n0,1\n1,1\n"),
        r#"counter_unit = "ft""#,
        r#"?"#,
        None,
    ),
    (
        "a word for a number",
        T("distance (m),tilt (deg)\n0,1\n1,level\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "a number with its unit",
        T("distance (m),tilt (deg)\n0,1\n1 m,1\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "an empty cell",
        T("distance (m),tilt (deg)\n0,1\n1,\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "no number",
        T("distance (m),tilt (deg)\n0,1\n1,NaN\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "too large a number",
        T("distance (m),tilt (deg)\n0,1\n1,1e400\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "two decimal marks",
        T("distance (m);tilt (deg)\n0,5;1,1\n1.5;1,1\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "not the decimal mark given",
        T("distance (m);tilt (deg)\n0.5;1\n1.5;1\n"),
        r#"decimal = "comma""#,
        r#"?"#,
        None,
    ),
    (
        "decimals or thousands",
        T("distance (mm);tilt (deg)\n1,000;1\n2,000;1\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "too few cells",
        T("distance (m),tilt (deg),remark\n0,1,a\n1,1\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "too many cells",
        T("distance (m),tilt (deg)\n0,1\n1,1,b\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "decimal commas between commas",
        T("distance (m),tilt (deg)\n0,0,1,1\n0,5,1,1\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "cut off in the last row",
        T("distance (m),tilt (deg)\n0,1\n1,1\n2"),
        "",
        r#"?"#,
        None,
    ),
    (
        "cut off after a sign",
        T("distance (m),tilt (deg)\n0,1\n1,1\n2,-"),
        "",
        r#"?"#,
        None,
    ),
    (
        "a quote that swallows rows",
        T("distance (m),tilt (deg),remark\n0,1,\"a\n1,1,b\n2,1,\"\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "a quote that swallows rows in a number",
        T("distance (m),tilt (deg)\n0,\"1\n1,1\n2,1\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "a quote that swallows rows in the header",
        T("distance (m),tilt (deg),\"remark\n0,1,a\n1,1,b\n2,1,\"\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "a quote that swallows rows in a column like moving",
        T("distance (m),tilt (deg),moving\n0,1,\"1\n1,1,0\n2,1,\"\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "Latin-1 in the header",
        B(b"distance (m),tilt (\xb0)\n0,1\n1,1\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "Latin-1 in a remark",
        B(b"distance (m),tilt (deg),remark\n0,1,a\n1,1,s\xf8lv\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "Latin-1 in a comment",
        B(b"# caf\xe9\ndistance (m),tilt (deg)\n0,1\n1,1\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "Latin-1 with carriage returns",
        B(b"distance (m);tilt (deg);remark\r0;1;a\r1;1;\xfc\r"),
        "",
        r#"?"#,
        None,
    ),
    (
        "half a character of UTF-8 at the end",
        B(b"distance (m),tilt (deg),remark\n0,1,a\n1,1,\xc3"),
        "",
        r#"?"#,
        None,
    ),
    (
        "half a character of UTF-16",
        B(b"\xff\xfed\0,\0t\0\n\0\x00\xd8,\0"),
        "",
        r#"?"#,
        None,
    ),
    (
        "UTF-16 that it is not",
        T("distance (m),tilt (deg)\n0,1\n1,1\n"),
        r#"encoding = "utf-16""#,
        r#"?"#,
        None,
    ),
    (
        "a byte order mark against the job",
        T("\u{feff}distance (m),tilt (deg)\n0,1\n1,1\n"),
        r#"encoding = "latin-1""#,
        r#"?"#,
        None,
    ),
    (
        "zeros after the end",
        B(b"distance (m),tilt (deg)\n0,1\n1,1\n\0\0\0\0\0"),
        "",
        r#"?"#,
        None,
    ),
    (
        "a picture",
        B(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"),
        "",
        r#"?"#,
        None,
    ),
    (
        "an unclear time",
        T("distance (m),tilt (deg),time\n0,1,00:00:01\n1,1,soon\n"),
        "",
        r#"?"#,
        None,
    ),
    (
        "a time of no unit",
        T("distance (m),tilt (deg),clock\n0,1,1\n1,1,2\n"),
        r#"time = "clock""#,
        r#"?"#,
        None,
    ),
    (
        "an odd word in a named moving",
        T("distance (m),tilt (deg),state\n0,1,rest\n1,1,perhaps\n"),
        r#"moving = "state""#,
        r#"?"#,
        None,
    ),
    (
        "an empty cell in a named roll",
        T("distance (m),tilt (deg),roll (deg)\n0,1,5\n1,1,\n"),
        r#"roll = "roll""#,
        r#"?"#,
        None,
    ),
    (
        "an odd cell in a named temperature",
        T("distance (m),tilt (deg),temp (C)\n0,1,11\n1,1,12 C\n"),
        r#"temperature = "temp (C)""#,
        r#"?"#,
        None,
    ),
    (
        "two columns for a named roll",
        T("distance (m),tilt (deg),roll (deg),roll (rad)\n0,1,5,6\n1,1,5,6\n"),
        r#"roll = "roll""#,
        r#"?"#,
        None,
    ),
    (
        "a moving that is not there",
        T("distance (m),tilt (deg),moving\n0,1,1\n1,1,0\n"),
        r#"moving = "movin""#,
        r#"?"#,
        None,
    ),
    (
        "a roll that is the reading",
        T("distance (m),tilt (deg)\n0,1\n1,1\n"),
        r#"roll = "tilt""#,
        r#"?"#,
        None,
    ),
];

#[test]
fn malformed_logs_are_refused_in_exact_words() {
    for (name, log, keys, message, nearest) in FAULTS {
        let fault = log.read(keys).map(|loaded| read(&loaded)).unwrap_err();
        assert_eq!(fault.to_string(), *message, "{name}");
        assert_eq!(fault.nearest.as_deref(), *nearest, "{name}");
    }
}

/// What a run has of its log, in one line; numbers are shown to the bit, in SI units.
fn read(loaded: &Loaded) -> String {
    let run = &loaded.job.runs[0];
    let mut said = format!(
        "rows {:?}; counter {:?}; reading {:?}",
        run.source_row.as_ref().unwrap(),
        run.counter_m,
        run.reading_rad
    );
    let mut say = |what: &str, values: Option<String>| {
        values.iter().for_each(|values| write!(said, "; {what} {values}").unwrap());
    };
    say("time", run.time_s.as_ref().map(|v| format!("{v:?}")));
    say("moving", run.moving.as_ref().map(|v| format!("{v:?}")));
    say("roll", run.roll_rad.as_ref().map(|v| format!("{v:?}")));
    say("temperature", run.temperature_c.as_ref().map(|v| format!("{v:?}")));
    for column in &loaded.logs[0].extra {
        say(&format!("text {:?}", column.name()), Some(format!("{:?}", column.iter().collect::<Vec<_>>())));
    }
    said
}

/// Name, log, keys of the run, what is read, warnings.
type Usable = (&'static str, Log, &'static str, &'static str, &'static [&'static str]);

#[rustfmt::skip]
const USABLE: &[Usable] = &[
    (
        "plain",
        T("distance (m),tilt (rad)\n0.5,0.02\n1,0.01\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "byte order mark and CRLF",
        T("\u{feff}distance (m),tilt (rad)\r\n0.5,0.02\r\n1,0.01\r\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "carriage returns alone",
        T("distance (m),tilt (rad)\r0.5,0.02\r1,0.01\r"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "line ends of three kinds",
        T("distance (m),tilt (rad)\r0.5,0.02\r\n1,0.01\n2,0.03"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "UTF-16, little end first",
        Le("\u{feff}distance (m)\ttilt (rad)\tremark\r\n0,5\t0,02\tøl\r\n1\t0,01\t\u{1d54f}\r\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "UTF-16, big end first",
        Be("\u{feff}distance (m),tilt (rad)\n0.5,0.02\n1,0.01\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "UTF-16 without a mark",
        Le("distance (m),tilt (rad)\n0.5,0.02\n1,0.01\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "UTF-16 without a mark, big end first",
        Be("distance (m),tilt (rad)\n0.5,0.02\n1,0.01\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "UTF-16 as the job says",
        Le("distance (m),tilt (rad),remark\n0.5,0.02,\u{4e00}\n1,0.01,\n"),
        r#"encoding = "utf-16""#,
        r#"?"#,
        &[],
    ),
    (
        "Latin-1 as the job says",
        B(b"distance (m),tilt (rad),tag\xe9\n0.5,0.02,\xb0\n1,0.01,\x80\n"),
        r#"encoding = "latin-1""#,
        r#"?"#,
        &[],
    ),
    (
        "comments, blank rows, rows of empty cells",
        T("# head\n\ndistance (m),tilt (rad)\n,\n\n0.5,0.02\n# pause\n,\n1,0.01\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "rows of empty cells before units and clock",
        T("distance,tilt,time\n,,\nm,rad,\n,,\n0.5,0.02,00:00:01\n1,0.01,00:00:03\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "units below the names",
        T("distance,tilt,time,roll,temp\n(m),[rad],(s),rad,\u{b0}C\n0.5,0.02,1,3,11\n1,0.01,2,3.5,12\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "names over two lines",
        T("\"distance\n(m)\",\"tilt\n(rad)\"\n0.5,0.02\n1,0.01\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "a remark over two lines",
        T("distance (m),tilt (rad),remark\n0.5,0.02,\"a\nb\"\n1,0.01,c\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "inches as a mark",
        T("distance (\"),tilt (rad),remark\n0,0.02,6\" pipe\n100,0.01,4\" pipe\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "a word where a unit is known from the job",
        T("distance (from the eye),tilt (rad)\n0.5,0.02\n1,0.01\n"),
        r#"counter_unit = "m""#,
        r#"?"#,
        &[],
    ),
    (
        "a word in the units line beside the header",
        T("distance (m),tilt (rad)\nfeets,rad\n0.5,0.02\n1,0.01\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "time without a unit",
        T("distance (m),tilt (rad),time\n0.5,0.02,1\n1,0.01,2\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "time in an unknown unit",
        T("distance (m),tilt (rad),time (ticks)\n0.5,0.02,1\n1,0.01,2\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "a clock with its zone in brackets",
        T("distance (m),tilt (rad),time (UTC)\n0.5,0.02,10:00:01\n1,0.01,10:00:03\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "moving, roll and temperature",
        T("distance (m),tilt (rad),moving,roll_rad,temp (F)\n0.5,0.02,Yes,3,50\n1,0.01,no,-0.5,32\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "moving in other words",
        T("distance (m),tilt (rad),In motion\n0.5,0.02,moving\n1,0.01,rest\n2,0.01,TRUE\n3,0.01,0\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "named and with units from the job",
        T("distance (m),tilt (rad),a,b,c\n0.5,0.02,1,2,3\n1,0.01,0,3,4\n"),
        r#"moving = "a"
roll = "b"
roll_unit = "rad"
temperature = "c"
temperature_unit = "C""#,
        r#"?"#,
        &[],
    ),
    (
        "an odd word in what looks like moving",
        T("distance (m),tilt (rad),moving\n0.5,0.02,1\n1,0.01,slipping\n2,0.01,0\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "an empty cell in what looks like roll",
        T("distance (m),tilt (rad),roll (rad)\n0.5,0.02,1\n1,0.01,\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "a word in what looks like temperature",
        T("distance (m),tilt (rad),temp (C)\n0.5,0.02,n/a\n1,0.01,12\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "roll without a unit",
        T("distance (m),tilt (rad),roll\n0.5,0.02,1\n1,0.01,2\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "roll in an unknown unit",
        T("distance (m),tilt (rad),roll (turns)\n0.5,0.02,1\n1,0.01,2\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "two that look like roll",
        T("distance (m),tilt (rad),roll (deg),roll (rad)\n0.5,0.02,1,2\n1,0.01,2,3\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "a roll that the job reads as tilt",
        T("distance (m),roll (rad)\n0.5,0.02\n1,0.01\n"),
        r#"reading = "roll""#,
        r#"?"#,
        &[],
    ),
    (
        "points in the temperature before the commas",
        T("distance (m);tilt (rad);temp (C)\n0;0;12.5\n1;0,01;13.5\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "units for columns that are not there",
        T("distance (m),tilt (rad)\n0.5,0.02\n1,0.01\n"),
        r#"roll_unit = "deg"
time_unit = "s"
temperature_unit = "F""#,
        r#"?"#,
        &[],
    ),
    (
        "cells in excess that are empty",
        T("distance (m),tilt (rad)\n0.5,0.02,,\n1,0.01,\n"),
        "",
        r#"?"#,
        &[],
    ),
    (
        "signs, exponents, blanks about numbers",
        T("distance (m), tilt (rad)\n +0.5 , 2e-2 \n1.,.01\n"),
        "",
        r#"?"#,
        &[],
    ),
];

#[test]
fn odd_logs_are_read_and_what_is_odd_is_said() {
    for (name, log, keys, values, warnings) in USABLE {
        let loaded = log.read(keys).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!(read(&loaded), *values, "{name}");
        assert_eq!(loaded.warnings, *warnings, "{name}");
    }
}

#[test]
fn the_tables_are_as_long_as_they_claim() {
    assert!(FAULTS.len() >= 40 && USABLE.len() >= 20);
    for (i, row) in FAULTS.iter().enumerate() {
        assert!(FAULTS[..i].iter().all(|other| other.0 != row.0), "{}", row.0);
    }
}

#[test]
fn what_was_found_is_said() {
    let text = "distance (m);tilt (rad);moving;roll (deg);temp (F)\n0,5;0,02;1;3;50\n1;0,01;0;3,5;32\n";
    let log: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
    assert_eq!(
        log::read(&log, &LogFormat::default()).unwrap().found,
        [
            "encoding: utf-16",
            "delimiter: semicolon",
            "decimal mark: comma",
            "counter: column \"distance (m)\", m",
            "reading: column \"tilt (rad)\", rad",
            "moving: column \"moving\"",
            "roll: column \"roll (deg)\", deg",
            "temperature: column \"temp (F)\", F",
        ]
    );
}

// One table in every way of writing it

/// The numbers of a table, in thousandths of a metre and of a radian, a hundredth of a degree Celsius; and its texts.
#[derive(Debug, Clone)]
struct Table {
    rows: Vec<(i32, i32)>,
    moving: Option<Vec<bool>>,
    roll: Option<Vec<i32>>,
    temperature: Option<Vec<i32>>,
    remark: Option<Vec<String>>,
}

fn table() -> impl Strategy<Value = Table> {
    // What every encoding has, with what needs quotes.
    let remark = vec(select(&["a", "é", "ß°", " ", "\"", ",", ";", "\t", "'", "x"][..]), 0..5).prop_map(|v| v.concat());
    (2..12_usize).prop_flat_map(move |n| {
        let number = || vec(-9_999_999..9_999_999_i32, n);
        let rows = vec((0..9_999_999_i32, -1_500..1_500_i32), n);
        (rows, of(vec(any::<bool>(), n)), of(number()), of(number()), of(vec(remark.clone(), n)))
            .prop_map(|(rows, moving, roll, temperature, remark)| Table { rows, moving, roll, temperature, remark })
    })
}

/// How a table is written.
#[derive(Debug, Clone)]
struct Way {
    delimiter: char,
    decimal: char,
    encoding: &'static str,
    newline: &'static str,
    quoted: bool,
    units: &'static str,
}

fn way() -> impl Strategy<Value = Way> {
    let encodings = ["utf-8", "utf-8 with mark", "utf-16le", "utf-16be", "utf-16le bare", "utf-16be bare", "latin-1"];
    (
        select(&[',', ';', '\t'][..]),
        select(&['.', ','][..]),
        select(encodings.to_vec()),
        select(&["\n", "\r\n", "\r"][..]),
        any::<bool>(),
        select(&["brackets", "underscore", "line", "format"][..]),
    )
        .prop_map(|(delimiter, decimal, encoding, newline, quoted, units)| Way {
            delimiter,
            decimal,
            encoding,
            newline,
            quoted,
            units,
        })
}

/// The table written this way, and what a format must say for it to be read.
fn written(table: &Table, way: &Way) -> (Vec<u8>, LogFormat) {
    let mut format = LogFormat { decimal: Some(DecimalMark::Point), ..LogFormat::default() };
    if way.decimal == ',' {
        format.decimal = Some(DecimalMark::Comma);
    }
    let mut columns = vec![("distance", "m"), ("tilt", "rad")];
    columns.extend(table.moving.as_ref().map(|_| ("moving", "")));
    columns.extend(table.roll.as_ref().map(|_| ("roll", "rad")));
    columns.extend(table.temperature.as_ref().map(|_| ("temp", "C")));
    columns.extend(table.remark.as_ref().map(|_| ("remark", "")));
    let cell = |cell: &str| {
        let needed = cell.contains([way.delimiter, '"']);
        if way.quoted || needed { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell.to_owned() }
    };
    let header = |(name, unit): &(&str, &str)| match way.units {
        "brackets" if !unit.is_empty() => format!("{name} ({unit})"),
        "underscore" if !unit.is_empty() => format!("{name}_{unit}"),
        _ => (*name).to_owned(),
    };
    let mut rows = vec![columns.iter().map(header).collect::<Vec<_>>()];
    match way.units {
        "line" => rows.push(columns.iter().map(|(_, unit)| (*unit).to_owned()).collect()),
        "format" => {
            format.counter_unit = "m".parse().ok();
            format.reading_unit = "rad".parse().ok();
            format.roll_unit = table.roll.as_ref().and_then(|_| "rad".parse().ok());
            format.temperature_unit = table.temperature.as_ref().and_then(|_| "C".parse().ok());
        }
        _ => {}
    }
    let number = |thousandths: i32| text_of(thousandths).replace('.', &way.decimal.to_string());
    for (i, (counter, reading)) in table.rows.iter().enumerate() {
        let mut row = vec![number(*counter), number(*reading)];
        row.extend(table.moving.as_ref().map(|v| if v[i] { "yes" } else { "rest" }.to_owned()));
        row.extend(table.roll.as_ref().map(|v| number(v[i])));
        row.extend(table.temperature.as_ref().map(|v| number(v[i])));
        row.extend(table.remark.as_ref().map(|v| v[i].clone()));
        rows.push(row);
    }
    let line = |row: &Vec<String>| row.iter().map(|c| cell(c)).collect::<Vec<_>>().join(&way.delimiter.to_string());
    let text: String = rows.iter().map(|row| line(row) + way.newline).collect();
    let marked = format!("\u{feff}{text}");
    let bytes = match way.encoding {
        "utf-8" => text.into_bytes(),
        "utf-8 with mark" => marked.into_bytes(),
        "utf-16le" => marked.encode_utf16().flat_map(u16::to_le_bytes).collect(),
        "utf-16be" => marked.encode_utf16().flat_map(u16::to_be_bytes).collect(),
        "utf-16le bare" => text.encode_utf16().flat_map(u16::to_le_bytes).collect(),
        "utf-16be bare" => text.encode_utf16().flat_map(u16::to_be_bytes).collect(),
        _ => {
            format.encoding = Some(Encoding::Latin1);
            // The first 256 characters are Latin-1.
            text.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect()
        }
    };
    (bytes, format)
}

/// Thousandths as a decimal number with a point.
fn text_of(thousandths: i32) -> String {
    let (sign, size) = (if thousandths < 0 { "-" } else { "" }, thousandths.unsigned_abs());
    format!("{sign}{}.{:03}", size / 1000, size % 1000)
}

fn bits(values: &[f64]) -> Vec<u64> {
    values.iter().map(|v| v.to_bits()).collect()
}

fn expected(thousandths: &[i32]) -> Vec<u64> {
    bits(&thousandths.iter().map(|t| text_of(*t).parse::<f64>().unwrap()).collect::<Vec<_>>())
}

fn assert_read(read: &LogTable, table: &Table) {
    let (counter, reading): (Vec<i32>, Vec<i32>) = table.rows.iter().copied().unzip();
    assert_eq!(bits(&read.counter_m), expected(&counter));
    assert_eq!(bits(&read.reading_rad), expected(&reading));
    assert_eq!(read.moving, table.moving);
    assert_eq!(read.roll_rad.as_deref().map(bits), table.roll.as_deref().map(expected));
    assert_eq!(read.temperature_c.as_deref().map(bits), table.temperature.as_deref().map(expected));
    let remarks = read.extra.first().map(|c| c.iter().map(str::to_owned).collect::<Vec<_>>());
    // Blanks about a cell are no part of it.
    assert_eq!(remarks, table.remark.as_ref().map(|v| v.iter().map(|r| r.trim().to_owned()).collect::<Vec<_>>()));
    assert!(read.warnings.is_empty(), "{:?}", read.warnings);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_way_of_writing_changes_nothing(table in table(), way in way()) {
        let (bytes, format) = written(&table, &way);
        let read = log::read(&bytes, &format).unwrap_or_else(|e| panic!("{e}\n{}", String::from_utf8_lossy(&bytes)));
        assert_read(&read, &table);
    }

    #[test]
    fn any_bytes_are_read_or_refused(
        bytes in vec(any::<u8>(), 0..200),
        encoding in select(&[None, Some(Encoding::Utf8), Some(Encoding::Utf16), Some(Encoding::Latin1)][..]),
        at in any::<proptest::sample::Index>(),
    ) {
        let format = LogFormat { encoding, ..LogFormat::default() };
        let _ = log::read(&bytes, &format);
        // And put into each of the logs above.
        let (_, log, ..) = USABLE[at.index(USABLE.len())];
        let mut log = log.bytes();
        let place = at.index(log.len());
        log.splice(place..place, bytes);
        let _ = log::read(&log, &format);
    }
}

// Memory

/// Alone in its own process under a runner that gives each test one; here the other tests add little beside 8 MiB.
#[test]
fn memory_is_a_small_multiple_of_the_log() {
    let mut text = String::from("distance (m),tilt (deg)\n");
    for row in 0..500_000 {
        writeln!(text, "{}.{:02},1.{:02}", row / 100, row % 100, row % 37).unwrap();
    }
    MEMORY.reset_peak_usage();
    let before = MEMORY.current_usage();
    let table = log::read(text.as_bytes(), &LogFormat::default()).unwrap();
    let peak = MEMORY.peak_usage() - before;
    assert_eq!(table.counter_m.len(), 500_000);
    // Three numbers of 8 bytes a row of 13 bytes, and while a list grows its old and its new half as large again: at most
    // 3 * 24 / 13 < 6 times the log.
    assert!(peak < 6 * text.len(), "{peak} bytes for a log of {} bytes", text.len());
}

#[test]
fn print_actual() {
    let mut out = String::new();
    for (name, log, keys, ..) in FAULTS {
        match log.read(keys) {
            Err(e) => writeln!(out, "F:{name}\t{e}\u{1}{}", e.nearest.as_deref().unwrap_or("-")).unwrap(),
            Ok(l) => writeln!(out, "F:{name}\tREAD {} {:?}\u{1}-", read(&l), l.warnings).unwrap(),
        }
    }
    for (name, log, keys, ..) in USABLE {
        match log.read(keys) {
            Err(e) => writeln!(out, "U:{name}\tERR {e}").unwrap(),
            Ok(l) => writeln!(
                out,
                "U:{name}\t{}{}",
                read(&l),
                l.warnings.iter().map(|w| format!("\u{1}{w}")).collect::<String>()
            )
            .unwrap(),
        }
    }
    std::fs::write("/tmp/actual.txt", out).unwrap();
}

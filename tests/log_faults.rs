//! Logs that are malformed, with the exact message, and logs that are odd and usable, with what is read and warned of; and
//! that the way a log is written changes nothing of what is read.

#![allow(clippy::needless_raw_string_hashes, reason = "one form for all texts of the tables")]
#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use std::fmt::Write as _;

use fallwise_files::{
    FileError, Loaded, LogFormat, MemoryResolver, job,
    log::{self, DecimalMark, Encoding, LogTable},
};
use proptest::{collection::vec, option::of, prelude::*, sample::select};

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
        r#"log.csv: the log is empty; expected a header row and at least two readings"#,
        None,
    ),
    (
        "nothing but blanks",
        T(" \n\n\t\n"),
        "",
        r#"log.csv: the log is empty; expected a header row and at least two readings"#,
        None,
    ),
    (
        "nothing but comments",
        T("# a\n# b\n"),
        "",
        r#"log.csv: the log is empty; expected a header row and at least two readings"#,
        None,
    ),
    (
        "one column",
        T("distance (m)\n0\n1\n"),
        "",
        r#"log.csv: the log has one column only; expected a header and rows of at least two cells, parted by commas, semicolons or tabs"#,
        None,
    ),
    (
        "no header",
        T("0,1.2\n0.5,1.1\n"),
        "",
        r#"log.csv, row 1: the first row holds numbers, not names of columns; expected a header row, such as "distance (ft),tilt (deg)""#,
        None,
    ),
    (
        "header only",
        T("distance (m),tilt (deg)\n"),
        "",
        r#"log.csv: readings: 0 given, at least 2 needed"#,
        None,
    ),
    (
        "one reading",
        T("distance (m),tilt (deg)\n0,1.2\n"),
        "",
        r#"log.csv: readings: 1 given, at least 2 needed"#,
        None,
    ),
    (
        "no counter",
        T("a,tilt (deg)\n0,1\n1,1\n"),
        "",
        r#"log.csv, row 1: no column is the counter; expected counter = "…" in the job with one of the columns: "a", "tilt (deg)""#,
        None,
    ),
    (
        "no reading",
        T("distance (m),b\n0,1\n1,1\n"),
        "",
        r#"log.csv, row 1: no column is the reading; expected reading = "…" in the job with one of the columns: "distance (m)", "b""#,
        None,
    ),
    (
        "two counters",
        T("distance (m),station (m),tilt (deg)\n0,0,1\n1,1,1\n"),
        "",
        r#"log.csv, row 1: two columns may be the counter: "distance (m)" and "station (m)"; expected counter = "…" in the job, with the whole name of one column"#,
        None,
    ),
    (
        "one column for two",
        T("distance (m),tilt (deg)\n0,1\n1,1\n"),
        r#"reading = "distance (m)"
reading_unit = "deg""#,
        r#"log.csv, row 1: column "distance (m)" is both counter and reading"#,
        None,
    ),
    (
        "a column that is not there",
        T("cable (m),tilt (deg)\n0,1\n1,1\n"),
        r#"counter = "cabel (m)""#,
        r#"log.csv, row 1: counter: there is no column "cabel (m)" (did you mean "cable (m)"?); expected one of the columns: "cable (m)", "tilt (deg)""#,
        Some(r#"cable (m)"#),
    ),
    (
        "no unit",
        T("distance,tilt (deg)\n0,1\n1,1\n"),
        "",
        r#"log.csv, row 1, column "distance": counter: the column has no unit; expected the unit in the header, such as "distance (ft)", or counter_unit = "ft" in the job"#,
        None,
    ),
    (
        "unknown unit of length",
        T("distance (furlong),tilt (deg)\n0,1\n1,1\n"),
        "",
        r#"log.csv, row 1, column "distance (furlong)": unit of length "furlong" is not known; expected one of m, cm, mm, ft, us ft, in, yd, or counter_unit = "ft" in the job"#,
        None,
    ),
    (
        "misspelt unit of length",
        T("distance (metrs),tilt (deg)\n0,1\n1,1\n"),
        "",
        r#"log.csv, row 1, column "distance (metrs)": unit of length "metrs" is not known (did you mean "metres"?); expected one of m, cm, mm, ft, us ft, in, yd, or counter_unit = "ft" in the job"#,
        Some(r#"metres"#),
    ),
    (
        "misspelt unit of tilt",
        T("distance (m),tilt [degs]\n0,1\n1,1\n"),
        "",
        r#"log.csv, row 1, column "tilt [degs]": unit of tilt or slope "degs" is not known (did you mean "deg"?); expected one of rad, mrad, deg, %, in/ft, mm/m, ratio, or reading_unit = "deg" in the job"#,
        Some(r#"deg"#),
    ),
    (
        "unknown unit in the units line",
        T("distance,tilt\n(furlong),(deg)\n0,1\n1,1\n"),
        "",
        r#"log.csv, row 2, column "distance": unit of length "furlong" is not known; expected one of m, cm, mm, ft, us ft, in, yd, or counter_unit = "ft" in the job"#,
        None,
    ),
    (
        "two unknown units in the units line",
        T("distance,tilt\n(meeter),(degs)\n0,1\n1,1\n"),
        "",
        r#"log.csv, row 2, column "distance": unit of length "meeter" is not known (did you mean "meter"?); expected one of m, cm, mm, ft, us ft, in, yd, or counter_unit = "ft" in the job"#,
        Some(r#"meter"#),
    ),
    (
        "unknown tilt unit in the units line",
        T("distance,tilt\nm,gon\n0,1\n1,1\n"),
        "",
        r#"log.csv, row 2, column "tilt": unit of tilt or slope "gon" is not known; expected one of rad, mrad, deg, %, in/ft, mm/m, ratio, or reading_unit = "deg" in the job"#,
        None,
    ),
    (
        "unknown unit of a named time",
        T("distance (m),tilt (deg),t (fortnight)\n0,1,1\n1,1,2\n"),
        r#"time = "t""#,
        r#"log.csv, row 1, column "t (fortnight)": time unit "fortnight" is not known; expected one of s, ms, min, or time_unit = "s" in the job"#,
        None,
    ),
    (
        "unknown unit of a named time in the units line",
        T("distance,tilt,t\nm,deg,mins\n0,1,1\n1,1,2\n"),
        r#"time = "t""#,
        r#"log.csv, row 2, column "t": time unit "mins" is not known (did you mean "min"?); expected one of s, ms, min, or time_unit = "s" in the job"#,
        Some(r#"min"#),
    ),
    (
        "unknown unit of a named roll",
        T("distance (m),tilt (deg),r (%)\n0,1,1\n1,1,2\n"),
        r#"roll = "r""#,
        r#"log.csv, row 1, column "r (%)": unit of angle "%" is not known; expected one of deg, rad, mrad, or roll_unit = "deg" in the job"#,
        None,
    ),
    (
        "misspelt unit of a named temperature",
        T("distance (m),tilt (deg),T (celcius)\n0,1,1\n1,1,2\n"),
        r#"temperature = "T""#,
        r#"log.csv, row 1, column "T (celcius)": unit of temperature "celcius" is not known (did you mean "celsius"?); expected one of C, F, or temperature_unit = "C" in the job"#,
        Some(r#"celsius"#),
    ),
    (
        "no unit of a named roll",
        T("distance (m),tilt (deg),r\n0,1,1\n1,1,2\n"),
        r#"roll = "r""#,
        r#"log.csv, row 1, column "r": roll: the column has no unit; expected the unit in the header, such as "r (deg)", or roll_unit = "deg" in the job"#,
        None,
    ),
    (
        "header and units line differ",
        T("distance (m),tilt (deg)\nft,deg\n0,1\n1,1\n"),
        "",
        r#"log.csv, row 2, column "distance (m)": the unit differs from the one in the header"#,
        None,
    ),
    (
        "header and job differ",
        T("distance (m),tilt (deg)\n0,1\n1,1\n"),
        r#"counter_unit = "ft""#,
        r#"log.csv, row 1, column "distance (m)": counter_unit: the log and the job give two different units; expected one of the two to be corrected or left out"#,
        None,
    ),
    (
        "a word for a number",
        T("distance (m),tilt (deg)\n0,1\n1,level\n"),
        "",
        r#"log.csv, row 3, column "tilt (deg)": "level" given; expected a number with a decimal point"#,
        None,
    ),
    (
        "a number with its unit",
        T("distance (m),tilt (deg)\n0,1\n1 m,1\n"),
        "",
        r#"log.csv, row 3, column "distance (m)": "1 m" given; expected a number with a decimal point"#,
        None,
    ),
    (
        "an empty cell",
        T("distance (m),tilt (deg)\n0,1\n1,\n"),
        "",
        r#"log.csv, row 3, column "tilt (deg)": the cell is empty; expected a number with a decimal point"#,
        None,
    ),
    (
        "no number",
        T("distance (m),tilt (deg)\n0,1\n1,NaN\n"),
        "",
        r#"log.csv, row 3, column "tilt (deg)": "NaN" given; expected a number with a decimal point"#,
        None,
    ),
    (
        "too large a number",
        T("distance (m),tilt (deg)\n0,1\n1,1e400\n"),
        "",
        r#"log.csv, row 3, column "tilt (deg)": "1e400" given; expected a number with a decimal point"#,
        None,
    ),
    (
        "two decimal marks",
        T("distance (m);tilt (deg)\n0,5;1,1\n1.5;1,1\n"),
        "",
        r#"log.csv, row 3, column "distance (m)": "1.5" given; expected a number with a decimal comma, as found in an earlier number"#,
        None,
    ),
    (
        "not the decimal mark given",
        T("distance (m);tilt (deg)\n0.5;1\n1.5;1\n"),
        r#"decimal = "comma""#,
        r#"log.csv, row 2, column "distance (m)": "0.5" given; expected a number with a decimal comma, as given"#,
        None,
    ),
    (
        "decimals or thousands",
        T("distance (mm);tilt (deg)\n1,000;1\n2,000;1\n"),
        "",
        r#"log.csv, row 2: "1,000" and every other number with a comma may have decimals or grouped thousands; expected decimal = "comma" in the job, or the numbers without grouping"#,
        None,
    ),
    (
        "too few cells",
        T("distance (m),tilt (deg),remark\n0,1,a\n1,1\n"),
        "",
        r#"log.csv, row 3: the row has 2 cells, the header has 3"#,
        None,
    ),
    (
        "too many cells",
        T("distance (m),tilt (deg)\n0,1\n1,1,b\n"),
        "",
        r#"log.csv, row 3: the row has 3 cells, the header has 2 (a decimal comma in a log parted by commas must be in quotes)"#,
        None,
    ),
    (
        "decimal commas between commas",
        T("distance (m),tilt (deg)\n0,0,1,1\n0,5,1,1\n"),
        "",
        r#"log.csv, row 2: the row has 4 cells, the header has 2 (a decimal comma in a log parted by commas must be in quotes)"#,
        None,
    ),
    (
        "cut off in the last row",
        T("distance (m),tilt (deg)\n0,1\n1,1\n2"),
        "",
        r#"log.csv, row 4: the row has 1 cell, the header has 2"#,
        None,
    ),
    (
        "cut off after a sign",
        T("distance (m),tilt (deg)\n0,1\n1,1\n2,-"),
        "",
        r#"log.csv, row 4, column "tilt (deg)": "-" given; expected a number with a decimal point"#,
        None,
    ),
    (
        "a quote that swallows rows",
        T("distance (m),tilt (deg),remark\n0,1,\"a\n1,1,b\n2,1,\"\n"),
        "",
        r#"log.csv, row 2, column "remark": a quote is opened and not closed on its line, so that rows may be lost in it; expected cells of one line each, or of several lines without the delimiter"#,
        None,
    ),
    (
        "a quote that swallows rows in a number",
        T("distance (m),tilt (deg)\n0,\"1\n1,1\n2,1\n"),
        "",
        r#"log.csv, row 2, column "tilt (deg)": a quote is opened and not closed on its line, so that rows may be lost in it; expected cells of one line each, or of several lines without the delimiter"#,
        None,
    ),
    (
        "a quote that swallows rows in the header",
        T("distance (m),tilt (deg),\"remark\n0,1,a\n1,1,b\n2,1,\"\n"),
        "",
        r#"log.csv, row 1: a quote is opened and not closed on its line, so that rows may be lost in it; expected cells of one line each, or of several lines without the delimiter"#,
        None,
    ),
    (
        "a quote that swallows rows in a column like moving",
        T("distance (m),tilt (deg),moving\n0,1,\"1\n1,1,0\n2,1,\"\n"),
        "",
        r#"log.csv, row 2, column "moving": a quote is opened and not closed on its line, so that rows may be lost in it; expected cells of one line each, or of several lines without the delimiter"#,
        None,
    ),
    (
        "Latin-1 in the header",
        B(b"distance (m),tilt (\xb0)\n0,1\n1,1\n"),
        "",
        r#"log.csv, row 1, column "tilt (°)": byte 0xB0 is not UTF-8; in Latin-1 it is "°"; expected the log saved again in UTF-8, or encoding = "latin-1" in the job"#,
        None,
    ),
    (
        "Latin-1 in a remark",
        B(b"distance (m),tilt (deg),remark\n0,1,a\n1,1,s\xf8lv\n"),
        "",
        r#"log.csv, row 3, column "remark": byte 0xF8 is not UTF-8; in Latin-1 it is "ø"; expected the log saved again in UTF-8, or encoding = "latin-1" in the job"#,
        None,
    ),
    (
        "Latin-1 in a comment",
        B(b"# caf\xe9\ndistance (m),tilt (deg)\n0,1\n1,1\n"),
        "",
        r#"log.csv, row 1: byte 0xE9 is not UTF-8; in Latin-1 it is "é"; expected the log saved again in UTF-8, or encoding = "latin-1" in the job"#,
        None,
    ),
    (
        "Latin-1 with carriage returns",
        B(b"distance (m);tilt (deg);remark\r0;1;a\r1;1;\xfc\r"),
        "",
        r#"log.csv, row 3, column "remark": byte 0xFC is not UTF-8; in Latin-1 it is "ü"; expected the log saved again in UTF-8, or encoding = "latin-1" in the job"#,
        None,
    ),
    (
        "half a character of UTF-8 at the end",
        B(b"distance (m),tilt (deg),remark\n0,1,a\n1,1,\xc3"),
        "",
        r#"log.csv, row 3, column "remark": byte 0xC3 is not UTF-8; in Latin-1 it is "Ã"; expected the log saved again in UTF-8, or encoding = "latin-1" in the job"#,
        None,
    ),
    (
        "half a character of UTF-16",
        B(b"\xff\xfed\0,\0t\0\n\0\x00\xd8,\0"),
        "",
        r#"log.csv, row 2: half a character of UTF-16; expected the whole log, or the log saved again in UTF-8"#,
        None,
    ),
    (
        "UTF-16 that it is not",
        T("distance (m),tilt (deg)\n0,1\n1,1\n"),
        r#"encoding = "utf-16""#,
        r#"log.csv: encoding: the log is not UTF-16: it has neither a byte order mark nor bytes of 0; expected encoding = "utf-8" or "latin-1" in the job"#,
        None,
    ),
    (
        "a byte order mark against the job",
        T("\u{feff}distance (m),tilt (deg)\n0,1\n1,1\n"),
        r#"encoding = "latin-1""#,
        r#"log.csv: encoding: the log begins with the byte order mark of utf-8; expected encoding = "utf-8" in the job, or none"#,
        None,
    ),
    (
        "zeros after the end",
        B(b"distance (m),tilt (deg)\n0,1\n1,1\n\0\0\0\0\0"),
        "",
        r#"log.csv, row 4: a byte of 0, which is no text: the log was cut off while it was written, or is in another encoding; expected the log without what follows, or saved again in UTF-8"#,
        None,
    ),
    (
        "a picture",
        B(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"),
        "",
        r#"log.csv, row 3: a byte of 0, which is no text: the log was cut off while it was written, or is in another encoding; expected the log without what follows, or saved again in UTF-8"#,
        None,
    ),
    (
        "an unclear time",
        T("distance (m),tilt (deg),time\n0,1,00:00:01\n1,1,soon\n"),
        r#"time = "time""#,
        r#"log.csv, row 3, column "time": "soon" given; expected a time, such as 00:03:12 or 2024-05-01T10:00:03Z"#,
        None,
    ),
    (
        "a time of no unit",
        T("distance (m),tilt (deg),clock\n0,1,1\n1,1,2\n"),
        r#"time = "clock""#,
        r#"log.csv, row 1, column "clock": time: the column has no unit; expected the unit in the header, such as "clock (s)", or time_unit = "s" in the job"#,
        None,
    ),
    (
        "an odd word in a named moving",
        T("distance (m),tilt (deg),state\n0,1,rest\n1,1,perhaps\n"),
        r#"moving = "state""#,
        r#"log.csv, row 3, column "state": "perhaps" given; expected 1 or 0, yes or no, true or false, moving or rest"#,
        None,
    ),
    (
        "an empty cell in a named roll",
        T("distance (m),tilt (deg),roll (deg)\n0,1,5\n1,1,\n"),
        r#"roll = "roll""#,
        r#"log.csv, row 3, column "roll (deg)": the cell is empty; expected a number with a decimal point"#,
        None,
    ),
    (
        "an odd cell in a named temperature",
        T("distance (m),tilt (deg),temp (C)\n0,1,11\n1,1,12 C\n"),
        r#"temperature = "temp (C)""#,
        r#"log.csv, row 3, column "temp (C)": "12 C" given; expected a number with a decimal point"#,
        None,
    ),
    (
        "two columns for a named roll",
        T("distance (m),tilt (deg),roll (deg),roll (rad)\n0,1,5,6\n1,1,5,6\n"),
        r#"roll = "roll""#,
        r#"log.csv, row 1: two columns may be the roll: "roll (deg)" and "roll (rad)"; expected roll = "…" in the job, with the whole name of one column"#,
        None,
    ),
    (
        "a moving that is not there",
        T("distance (m),tilt (deg),moving\n0,1,1\n1,1,0\n"),
        r#"moving = "movin""#,
        r#"log.csv, row 1: moving: there is no column "movin" (did you mean "moving"?); expected one of the columns: "distance (m)", "tilt (deg)", "moving""#,
        Some(r#"moving"#),
    ),
    (
        "a roll that is the reading",
        T("distance (m),tilt (deg)\n0,1\n1,1\n"),
        r#"roll = "tilt""#,
        r#"log.csv, row 1: column "tilt (deg)" is both reading and roll"#,
        None,
    ),
    (
        "a header behind a comment sign",
        T("# distance (m),tilt (deg)\n0,1\n1,1\n"),
        "",
        r#"log.csv, row 1: the names of the columns stand behind a #, which begins a comment; expected the # taken away from that row"#,
        None,
    ),
    (
        "a unit in the name that is none",
        T("distance_furlong,tilt_deg\n0,1\n1,1\n"),
        "",
        r#"log.csv, row 1: no column is the counter; "distance_furlong" is not taken for it, since it ends in no unit that is known; expected counter = "…" in the job with one of the columns: "distance_furlong", "tilt_deg""#,
        None,
    ),
    (
        "titles, then a header that lacks the reading",
        T("Survey 12\n\ndistance (m),angel (deg)\n0,1\n1,1\n"),
        "",
        r#"log.csv, row 3: no column is the reading; expected reading = "…" in the job with one of the columns: "distance (m)", "angel (deg)""#,
        None,
    ),
    (
        "readings above the header",
        T("0,1\n1,1\ndistance (m),tilt (deg)\n0,1\n1,1\n"),
        "",
        r#"log.csv, row 1: the first row holds numbers, not names of columns; expected a header row, such as "distance (ft),tilt (deg)""#,
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
        if let Some(values) = values {
            write!(said, "; {what} {values}").unwrap();
        }
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
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]"#,
        &[],
    ),
    (
        "byte order mark and CRLF",
        T("\u{feff}distance (m),tilt (rad)\r\n0.5,0.02\r\n1,0.01\r\n"),
        "",
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]"#,
        &[],
    ),
    (
        "carriage returns alone",
        T("distance (m),tilt (rad)\r0.5,0.02\r1,0.01\r"),
        "",
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]"#,
        &[],
    ),
    (
        "line ends of three kinds",
        T("distance (m),tilt (rad)\r0.5,0.02\r\n1,0.01\n2,0.03"),
        "",
        r#"rows [2, 3, 4]; counter [0.5, 1.0, 2.0]; reading [0.02, 0.01, 0.03]"#,
        &[],
    ),
    (
        "UTF-16, little end first",
        Le("\u{feff}distance (m)\ttilt (rad)\tremark\r\n0,5\t0,02\tøl\r\n1\t0,01\t\u{1d54f}\r\n"),
        "",
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]; text "remark" ["øl", "𝕏"]"#,
        &[],
    ),
    (
        "UTF-16, big end first",
        Be("\u{feff}distance (m),tilt (rad)\n0.5,0.02\n1,0.01\n"),
        "",
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]"#,
        &[],
    ),
    (
        "UTF-16 without a mark",
        Le("distance (m),tilt (rad)\n0.5,0.02\n1,0.01\n"),
        "",
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]"#,
        &[],
    ),
    (
        "UTF-16 without a mark, big end first",
        Be("distance (m),tilt (rad)\n0.5,0.02\n1,0.01\n"),
        "",
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]"#,
        &[],
    ),
    (
        "UTF-16 as the job says",
        Le("distance (m),tilt (rad),remark\n0.5,0.02,\u{4e00}\n1,0.01,\n"),
        r#"encoding = "utf-16""#,
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]; text "remark" ["一", ""]"#,
        &[],
    ),
    (
        "Latin-1 as the job says",
        B(b"distance (m),tilt (rad),tag\xe9\n0.5,0.02,\xb0\n1,0.01,\x80\n"),
        r#"encoding = "latin-1""#,
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]; text "tagé" ["°", "€"]"#,
        &[],
    ),
    (
        "comments, blank rows, rows of empty cells",
        T("# head\n\ndistance (m),tilt (rad)\n,\n\n0.5,0.02\n# pause\n,\n1,0.01\n"),
        "",
        r#"rows [6, 9]; counter [0.5, 1.0]; reading [0.02, 0.01]"#,
        &[
            r#"log.csv: 2 rows of empty cells passed over"#,
        ],
    ),
    (
        "rows of empty cells before units and clock",
        T("distance,tilt,time\n,,\nm,rad,\n,,\n0.5,0.02,00:00:01\n1,0.01,00:00:03\n"),
        "",
        r#"rows [5, 6]; counter [0.5, 1.0]; reading [0.02, 0.01]; time [0.0, 2.0]"#,
        &[
            r#"log.csv: 2 rows of empty cells passed over"#,
        ],
    ),
    (
        "units below the names",
        T("distance,tilt,time,roll,temp\n(m),[rad],(s),rad,\u{b0}C\n0.5,0.02,1,3,11\n1,0.01,2,3.5,12\n"),
        "",
        r#"rows [3, 4]; counter [0.5, 1.0]; reading [0.02, 0.01]; time [1.0, 2.0]; roll [3.0, 3.5]; temperature [11.0, 12.0]"#,
        &[],
    ),
    (
        "names over two lines",
        T("\"distance\n(m)\",\"tilt\n(rad)\"\n0.5,0.02\n1,0.01\n"),
        "",
        r#"rows [4, 5]; counter [0.5, 1.0]; reading [0.02, 0.01]"#,
        &[],
    ),
    (
        "a remark over two lines",
        T("distance (m),tilt (rad),remark\n0.5,0.02,\"a\nb\"\n1,0.01,c\n"),
        "",
        r#"rows [2, 4]; counter [0.5, 1.0]; reading [0.02, 0.01]; text "remark" ["a\nb", "c"]"#,
        &[],
    ),
    (
        "inches as a mark",
        T("distance (\"),tilt (rad),remark\n0,0.02,6\" pipe\n100,0.01,4\" pipe\n"),
        "",
        r#"rows [2, 3]; counter [0.0, 2.54]; reading [0.02, 0.01]; text "remark" ["6\" pipe", "4\" pipe"]"#,
        &[],
    ),
    (
        "a word where a unit is known from the job",
        T("distance (from the eye),tilt (rad)\n0.5,0.02\n1,0.01\n"),
        r#"counter_unit = "m""#,
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]"#,
        &[
            r#"log.csv: row 1, column "distance (from the eye)": unit of length "from the eye" is not known; m is used"#,
        ],
    ),
    (
        "a word in the units line beside the header",
        T("distance (m),tilt (rad)\nfeets,rad\n0.5,0.02\n1,0.01\n"),
        "",
        r#"rows [3, 4]; counter [0.5, 1.0]; reading [0.02, 0.01]"#,
        &[
            r#"log.csv: row 2, column "distance (m)": unit of length "feets" is not known; m is used"#,
        ],
    ),
    (
        "time without a unit",
        T("distance (m),tilt (rad),time\n0.5,0.02,1\n1,0.01,2\n"),
        "",
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]; text "time" ["1", "2"]"#,
        &[
            r#"log.csv: column "time" has no unit and is not used as time"#,
        ],
    ),
    (
        "time in an unknown unit",
        T("distance (m),tilt (rad),time (ticks)\n0.5,0.02,1\n1,0.01,2\n"),
        "",
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]; text "time (ticks)" ["1", "2"]"#,
        &[
            r#"log.csv: row 1, column "time (ticks)": time unit "ticks" is not known (known: s, ms, min); the column is kept as text, not used as time"#,
        ],
    ),
    (
        "a clock with its zone in brackets",
        T("distance (m),tilt (rad),time (UTC)\n0.5,0.02,10:00:01\n1,0.01,10:00:03\n"),
        "",
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]; time [0.0, 2.0]"#,
        &[],
    ),
    (
        "moving, roll and temperature",
        T("distance (m),tilt (rad),moving,roll_rad,temp (F)\n0.5,0.02,Yes,3,50\n1,0.01,no,-0.5,32\n"),
        "",
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]; moving [true, false]; roll [3.0, -0.5]; temperature [10.0, 0.0]"#,
        &[],
    ),
    (
        "moving in other words",
        T("distance (m),tilt (rad),In motion\n0.5,0.02,moving\n1,0.01,rest\n2,0.01,TRUE\n3,0.01,0\n"),
        "",
        r#"rows [2, 3, 4, 5]; counter [0.5, 1.0, 2.0, 3.0]; reading [0.02, 0.01, 0.01, 0.01]; moving [true, false, true, false]"#,
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
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]; moving [true, false]; roll [2.0, 3.0]; temperature [3.0, 4.0]"#,
        &[],
    ),
    (
        "an odd word in what looks like moving",
        T("distance (m),tilt (rad),moving\n0.5,0.02,1\n1,0.01,slipping\n2,0.01,0\n"),
        "",
        r#"rows [2, 3, 4]; counter [0.5, 1.0, 2.0]; reading [0.02, 0.01, 0.01]; text "moving" ["1", "slipping", "0"]"#,
        &[
            r#"log.csv: row 3, column "moving": "slipping" is not 1 or 0, yes or no, true or false, moving or rest; the column is kept as text, not used as moving"#,
        ],
    ),
    (
        "an empty cell in what looks like roll",
        T("distance (m),tilt (rad),roll (rad)\n0.5,0.02,1\n1,0.01,\n"),
        "",
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]; text "roll (rad)" ["1", ""]"#,
        &[
            r#"log.csv: row 3, column "roll (rad)": the cell is empty; the column is kept as text, not used as roll"#,
        ],
    ),
    (
        "a word in what looks like temperature",
        T("distance (m),tilt (rad),temp (C)\n0.5,0.02,n/a\n1,0.01,12\n"),
        "",
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]; text "temp (C)" ["n/a", "12"]"#,
        &[
            r#"log.csv: row 2, column "temp (C)": "n/a" is not a number with a decimal point; the column is kept as text, not used as temperature"#,
        ],
    ),
    (
        "roll without a unit",
        T("distance (m),tilt (rad),roll\n0.5,0.02,1\n1,0.01,2\n"),
        "",
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]; text "roll" ["1", "2"]"#,
        &[
            r#"log.csv: column "roll" has no unit and is not used as roll"#,
        ],
    ),
    (
        "roll in an unknown unit",
        T("distance (m),tilt (rad),roll (turns)\n0.5,0.02,1\n1,0.01,2\n"),
        "",
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]; text "roll (turns)" ["1", "2"]"#,
        &[
            r#"log.csv: row 1, column "roll (turns)": unit of angle "turns" is not known (known: deg, rad, mrad); the column is kept as text, not used as roll"#,
        ],
    ),
    (
        "two that look like roll",
        T("distance (m),tilt (rad),roll (deg),roll (rad)\n0.5,0.02,1,2\n1,0.01,2,3\n"),
        "",
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]; text "roll (deg)" ["1", "2"]; text "roll (rad)" ["2", "3"]"#,
        &[
            r#"log.csv: two columns may be the roll: "roll (deg)" and "roll (rad)"; none is used unless the job names one"#,
        ],
    ),
    (
        "a roll that the job reads as tilt",
        T("distance (m),roll (rad)\n0.5,0.02\n1,0.01\n"),
        r#"reading = "roll""#,
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]"#,
        &[],
    ),
    (
        "points in the temperature before the commas",
        T("distance (m);tilt (rad);temp (C)\n0;0;12.5\n1;0,01;13.5\n"),
        "",
        r#"rows [2, 3]; counter [0.0, 1.0]; reading [0.0, 0.01]; text "temp (C)" ["12.5", "13.5"]"#,
        &[
            r#"log.csv: row 3, column "temp (C)": "13.5" is not a number with a decimal comma; the column is kept as text, not used as temperature"#,
        ],
    ),
    (
        "units for columns that are not there",
        T("distance (m),tilt (rad)\n0.5,0.02\n1,0.01\n"),
        r#"roll_unit = "deg"
time_unit = "s"
temperature_unit = "F""#,
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]"#,
        &[
            r#"log.csv: time_unit is given, and no column is the time"#,
            r#"log.csv: roll_unit is given, and no column is the roll"#,
            r#"log.csv: temperature_unit is given, and no column is the temperature"#,
        ],
    ),
    (
        "cells in excess that are empty",
        T("distance (m),tilt (rad)\n0.5,0.02,,\n1,0.01,\n"),
        "",
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]"#,
        &[],
    ),
    (
        "signs, exponents, blanks about numbers",
        T("distance (m), tilt (rad)\n +0.5 , 2e-2 \n1.,.01\n"),
        "",
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]"#,
        &[],
    ),
    (
        "titles above the header",
        T("Survey of the yard drain\n\"Operator\",one\nLength (m),1\n\ndistance (m);tilt (rad)\n0,5;0,02\n1;0,01\n"),
        "",
        r#"rows [6, 7]; counter [0.5, 1.0]; reading [0.02, 0.01]"#,
        &[r#"log.csv: rows 1 to 4 above the header passed over"#],
    ),
    (
        "an unclear time",
        T("distance (m),tilt (rad),time\n0.5,0.02,00:00:01\n1,0.01,soon\n"),
        "",
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]; text "time" ["00:00:01", "soon"]"#,
        &[
            r#"log.csv: row 3, column "time": "soon" is not a time, such as 00:03:12 or 2024-05-01T10:00:03Z; the column is kept as text, not used as time"#,
        ],
    ),
    (
        "two times",
        T("distance (m),tilt (rad),time (s),elapsed (s)\n0.5,0.02,1,0\n1,0.01,2,1\n"),
        "",
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]; text "time (s)" ["1", "2"]; text "elapsed (s)" ["0", "1"]"#,
        &[r#"log.csv: two columns may be the time: "time (s)" and "elapsed (s)"; none is used unless the job names one"#],
    ),
    (
        "a moving that does not always say",
        T("distance (m),tilt (rad),moving\n0.5,0.02,0\n1,0.01,\n"),
        "",
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]; moving [false, true]"#,
        &[r#"log.csv: column "moving": 1 empty cell taken as moving"#],
    ),
    (
        "two columns that are not what they look like",
        T("distance (m),tilt (rad),roll (deg),temp (C)\n0.5,0.02,1,11\n1,0.01,,warm\n"),
        "",
        r#"rows [2, 3]; counter [0.5, 1.0]; reading [0.02, 0.01]; text "roll (deg)" ["1", ""]; text "temp (C)" ["11", "warm"]"#,
        &[
            r#"log.csv: row 3, column "roll (deg)": the cell is empty; the column is kept as text, not used as roll"#,
            r#"log.csv: row 3, column "temp (C)": "warm" is not a number with a decimal point; the column is kept as text, not used as temperature"#,
        ],
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

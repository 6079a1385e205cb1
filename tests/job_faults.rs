//! What is wrong with a job, a rulebook or an array, in exact words: file, line and column, key, what stands there, what was
//! expected and the nearest known word. And what is odd, but usable, with the exact warnings.

#![allow(clippy::needless_raw_string_hashes, reason = "one form for all texts of the table")]
#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use std::fmt::Write as _;

use fallwise::{
    Bore, Chain, Error, Instrument, Job, Lateral, Pipe, Run, condition::condition, model::ReportChoice, path, units,
};
use fallwise_files::{FileError, FolderResolver, MemoryResolver, Place, Resolver, job};

use crate::clock::within_seconds;

/// How a text is used.
#[derive(Debug, Clone, Copy, PartialEq)]
enum As {
    /// A job in TOML that is not read.
    Toml,
    /// A job in JSON that is not read.
    Json,
    /// A rulebook beside a job.
    Book,
    /// A job that is read, and not solved.
    Solved,
}

/// The files beside a job.
fn files(book: &str) -> MemoryResolver {
    let long = |rows: &str| format!("cable (m),tilt (deg),remark\n{rows}");
    MemoryResolver(
        [
            ("log.csv", long("0,1.2,a\n0.5,1.1,b\n1,1.3,c\n1.5,1.2,d\n")),
            ("far.csv", long("0,1.2,a\n20000,1.1,b\n")),
            ("steep.csv", long("0,1.2,a\n1,400,b\n")),
            ("again.csv", long("0,1.2,a\n0.5,1.2,b\n1,1.3,c\n1.5,1.1,d\n")),
            ("short.csv", long("0,1.2,a\n0,1.1,b\n")),
            ("odd.csv", "cable (m),tilt (deg),time\n0,1,5\n,,\n1,1,4\n2,1,3\n".to_owned()),
            ("back.csv", long("9,1.2,a\n8,1.1,b\n7,1.3,c\n6,1.2,d\n")),
            ("own.toml", book.to_owned()),
        ]
        .map(|(name, text)| (name.to_owned(), text.into_bytes()))
        .into(),
    )
}

fn fault(kind: As, text: &str) -> FileError {
    match kind {
        As::Toml => job::read_text(text, "job.toml", &files("")).unwrap_err(),
        As::Json => job::read_json(text, "job.json", &files("")).unwrap_err(),
        As::Book => job::read_text(OWN, "job.toml", &files(text)).unwrap_err(),
        As::Solved => job::read_text(text, "job.toml", &files("")).unwrap().solve().unwrap_err(),
    }
}

/// A job that reads the rulebook beside it.
const OWN: &str = "[[as_built]]\nstation = \"0 m\"\ninvert = \"1 m\"\n[rules]\nfile = \"own.toml\"\n";

/// Text, exact message, and nearest known word.
type Row = (As, &'static str, &'static str, Option<&'static str>);

#[rustfmt::skip]
const FAULTS: &[Row] = &[
    (
        As::Toml,
        r#"flow = "increasing"#,
        r#"job.toml, line 1, column 19: invalid basic string, expected `"`"#,
        None,
    ),
    (
        As::Toml,
        "flow = increasing",
        r#"job.toml, line 1, column 8: "increasing" is no value; expected text in quotes, a number, true or false"#,
        None,
    ),
    (
        As::Toml,
        "flow = 5",
        "job.toml, line 1, column 8: flow: 5 cannot stand here; expected one of increasing, decreasing, in quotes",
        None,
    ),
    (
        As::Toml,
        r#"flow = "incresing""#,
        r#"job.toml, line 1, column 8: flow: "incresing" is not known (did you mean "increasing"?); expected one of increasing, decreasing"#,
        Some("increasing"),
    ),
    (
        As::Toml,
        "version = 2",
        "job.toml, line 1, column 11: version: version 2 of the form of jobs is not known to this library; expected version = 1, or a newer release of fallwise-files than 0.1.0",
        None,
    ),
    (
        As::Toml,
        "version = 0",
        "job.toml, line 1, column 11: version: there is no version 0; expected version = 1",
        None,
    ),
    (
        As::Toml,
        "",
        "job.toml: run: the job has no data; expected a [[run]] with a log, [[reading]]s or [[as_built]] inverts",
        None,
    ),
    (
        As::Toml,
        r#"[surwey]
title = "x""#,
        r#"job.toml, line 1, column 2: key "surwey" is not known (did you mean "survey"?); expected one of version, flow, tailwater, as_built_use, survey, origin, run, reading, as_built, tie, reach, instrument, bend, step, feature, ground, note, landmark, dig, digging, segments, capacity, rules, report, relay"#,
        Some("survey"),
    ),
    (
        As::Toml,
        r#"[survey]
titel = "x""#,
        r#"job.toml, line 2, column 1: survey: key "titel" is not known (did you mean "title"?); expected one of title, ordered_by, site, date_time, operator, licence, company, permit, weather_48h, water_run, water, cleaned_before, complaint, entry, riser_height, stopped_at, stopped_because, not_surveyed, head, skid, last_checked, video, video_hash, locator, landmarks, signed_by, about_length, video_offset, invented"#,
        Some("title"),
    ),
    (
        As::Toml,
        r#"[survey]
title = ["x"]"#,
        "job.toml, line 2, column 9: survey.title: a list cannot stand here; expected text in quotes",
        None,
    ),
    (
        As::Toml,
        r#"[survey]
invented = "yes""#,
        r#"job.toml, line 2, column 12: survey.invented: "yes" cannot stand here; expected true or false"#,
        None,
    ),
    (
        As::Toml,
        r#"[survey]
date_time = 2024-05-01"#,
        r#"job.toml, line 2, column 13: survey.date_time: text must stand in quotes; expected such as "2024-05-01 10:00 +02:00""#,
        None,
    ),
    (
        As::Toml,
        r#"tailwater = "20 mn""#,
        r#"job.toml, line 1, column 13: tailwater: unit of length "mn" is not known (did you mean "m"?); known: m, cm, mm, ft, us ft, in, yd"#,
        Some("m"),
    ),
    (
        As::Toml,
        r#"tailwater = "20""#,
        r#"job.toml, line 1, column 13: tailwater: "20": no unit; expected a length with its unit, such as 12.4 m or 6' 3 1/2""#,
        None,
    ),
    (
        As::Toml,
        "tailwater = 20",
        r#"job.toml, line 1, column 13: tailwater: 20 has no unit; expected a length with its unit, such as "22 ft" or "6.7 m", in quotes"#,
        None,
    ),
    (
        As::Toml,
        r#"tailwater = "1,250 mm""#,
        r#"job.toml, line 1, column 13: tailwater: "1,250 mm": the comma can mean thousands or a decimal; write a point, or no comma; expected a length with its unit, such as 12.4 m or 6' 3 1/2""#,
        None,
    ),
    (
        As::Toml,
        r#"[[reading]]
station = "1+5"
tilt = "1 deg""#,
        r#"job.toml, line 2, column 11: reading[0].station: "1+5": after the plus there must be two digits of feet, as in 0+05 or 0+42.5; expected a station, such as 0+42.5 (feet) or 12.4 m"#,
        None,
    ),
    (
        As::Toml,
        r#"[[reading]]
station = "1 m"
slope = "48 in 1""#,
        r#"job.toml, line 3, column 9: reading[0].slope: "48 in 1": the larger number comes first, which can be read two ways; write 1 in N; expected a tilt with its unit, such as 0.3 deg or 2 %"#,
        None,
    ),
    (
        As::Toml,
        r#"[[reading]]
station = "1 m"
tilt = "91 deg""#,
        r#"job.toml, line 3, column 8: reading[0].tilt: "91 deg": the angle is 90 degrees or more; expected a tilt with its unit, such as 0.3 deg or 2 %"#,
        None,
    ),
    (
        As::Toml,
        r#"[[reading]]
station = "1 m""#,
        "job.toml, line 1, column 1: reading[0]: a reading gives either `tilt` or `slope`",
        None,
    ),
    (
        As::Toml,
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "2 m"
tilt = "1 deg"
slope = "2 %""#,
        "job.toml, line 5, column 1: reading[1]: a reading gives either `tilt` or `slope`",
        None,
    ),
    (
        As::Toml,
        r#"[[reach]]
name = "garden""#,
        r#"job.toml, line 1, column 1: reach[0]: keys "from", "to" are missing"#,
        None,
    ),
    (
        As::Toml,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[[reach]]
from = "0 m"
to = "9 m"
pipe = { standard = "SDR 36", size = "4 in" }"#,
        r#"job.toml, line 12, column 21: reach[0].pipe.standard: class of pipe "SDR 36" is not known (did you mean "SDR 35"?); known: SDR 35, Sch 40, EN 1401 SN 4, EN 1401 SN 8, A74 service"#,
        Some("SDR 35"),
    ),
    (
        As::Toml,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[[reach]]
from = "0 m"
to = "5 m"
pipe = { standard = "EN 1401 SN 4", size = "DN 100" }"#,
        r#"job.toml, line 12, column 44: reach[0].pipe.size: size of EN 1401 SN 4 "DN 100" is not known (did you mean "DN 110"?); known: DN 110, DN 125, DN 160, DN 200, DN 250"#,
        Some("DN 110"),
    ),
    (
        As::Toml,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[[reach]]
from = "0 m"
to = "9 m"
pipe = { standard = "SDR 35" }"#,
        "job.toml, line 12, column 8: reach[0].pipe: a pipe by its standard gives both `standard` and `size`",
        None,
    ),
    (
        As::Toml,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[[reach]]
from = "0 m"
to = "9 m"
pipe = { bore = "4 in", bore_width = "4 in" }"#,
        "job.toml, line 12, column 8: reach[0].pipe: a pipe gives either `bore`, or both `bore_width` and `bore_height`",
        None,
    ),
    (
        As::Toml,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[[reach]]
from = "0 m"
to = "9 m"
pipe = { nominal = "big" }"#,
        r#"job.toml, line 12, column 20: reach[0].pipe.nominal: "big" is not a nominal size; expected one such as "4 in" or "DN 100""#,
        None,
    ),
    (
        As::Toml,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[[reach]]
from = "0 m"
to = "9 m"
facts = { approval = ["yes"] }"#,
        "job.toml, line 12, column 22: reach[0].facts.approval: expected text, a number, true or false",
        None,
    ),
    (
        As::Toml,
        r#"[[bend]]
station = "6 m"
deflection = "45 deg""#,
        r#"job.toml, line 3, column 14: bend[0].deflection: "45 deg" has no side; expected "… right" or "… left", looking along growing station"#,
        None,
    ),
    (
        As::Toml,
        r#"[[bend]]
station = "6 m"
deflection = "45 deg down""#,
        r#"job.toml, line 3, column 14: bend[0].deflection: "45 deg down" is a bend in the vertical, which the tilt of the head shows by itself: leave it out"#,
        None,
    ),
    (
        As::Toml,
        r#"[[bend]]
station = "6 m"
deflection = "-45 deg left""#,
        r#"job.toml, line 3, column 14: bend[0].deflection: "-45 deg left" has a sign and a side; expected one of them, such as "45 deg left""#,
        None,
    ),
    (
        As::Toml,
        r#"[[bend]]
radius = "6 in""#,
        r#"job.toml, line 1, column 1: bend[0]: keys "station", "deflection" are missing"#,
        None,
    ),
    (
        As::Toml,
        r#"[[feature]]
kind = "clean-out"
station = "1 m""#,
        r#"job.toml, line 2, column 8: feature[0].kind: "clean-out" is not known (did you mean "cleanout"?); expected one of joint, connection, cleanout, trap, valve, wall, boundary, main"#,
        Some("cleanout"),
    ),
    (
        As::Toml,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[[feature]]
kind = "trap"
station = "2 m"
to = "1 m""#,
        "job.toml, line 12, column 6: feature[0].to: the end lies before the start; expected a station at or beyond that of `station`",
        None,
    ),
    (
        As::Toml,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[[note]]
station = "24 ft"
to = "20 ft"
text = "water""#,
        "job.toml, line 11, column 6: note[0].to: the end lies before the start; expected a station at or beyond that of `station`",
        None,
    ),
    (
        As::Toml,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[[note]]
station = "2 m"
photo = "../1.jpg""#,
        r#"job.toml, line 11, column 9: note[0].photo: "../1.jpg": a job reads nothing outside its own folder; expected a name below that folder, such as "log.csv" or "logs/1.csv""#,
        None,
    ),
    (
        As::Toml,
        r#"[[note]]
station = "2 m"
video_time = "3 minutes""#,
        r#"job.toml, line 3, column 14: note[0].video_time: "3 minutes" is not a time; expected minutes and seconds, such as "00:03:12", or seconds, such as "192 s""#,
        None,
    ),
    (
        As::Toml,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[segments]
method = "raw"
breaks = ["1 m"]"#,
        r#"job.toml, line 11, column 10: segments.breaks: `breaks` go with method = "given" only"#,
        None,
    ),
    (
        As::Toml,
        r#"[segments]
method = "given"
breaks = ["1 m", "2"]"#,
        r#"job.toml, line 3, column 18: segments.breaks[1]: "2": no unit; expected a station, such as 0+42.5 (feet) or 12.4 m"#,
        None,
    ),
    (
        As::Toml,
        r#"[instrument]
counter_scale = "-0.008""#,
        r#"job.toml, line 2, column 17: instrument.counter_scale: "-0.008" is not a percentage; expected one such as "-0.8 %""#,
        None,
    ),
    (
        As::Toml,
        r#"[instrument]
reversal_check = { first = "1 deg" }"#,
        r#"job.toml, line 2, column 18: instrument.reversal_check: key "second" is missing"#,
        None,
    ),
    (
        As::Toml,
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[instrument]
zero = "1 deg"
reversal_check = { first = "1 deg", second = "1 deg" }"#,
        "job.toml, line 11, column 18: instrument.reversal_check: gives both `reversal_check` and `zero` or `zero_sd`; the check gives the zero by itself",
        None,
    ),
    (
        As::Toml,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[rules]
rulebook = "ipc-2020""#,
        r#"job.toml, line 10, column 12: rules.rulebook: rulebook "ipc-2020" is not known (did you mean "ipc-2021"?); known: apwa-style, as-nzs-3500-2, carmel-ca, din-1986-100, en-752, ipc-2021, irc-2021, npc-canada, obc, ten-states-2014, texas-217-53, uk-approved-document-h-2015, uk-en-752-4-1998, upc-2021, us-ordinances, winter-garden-fl"#,
        Some("ipc-2021"),
    ),
    (
        As::Toml,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[rules]
rulebook = "ipc-2021"
file = "own.toml""#,
        "job.toml, line 9, column 1: rules: gives both `rulebook` and `file`; expected one of them",
        None,
    ),
    (
        As::Toml,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[rules]
file = "owm.toml""#,
        r#"job.toml, line 10, column 8: rules.file: "owm.toml": no such file was given (did you mean "own.toml"?)"#,
        Some("own.toml"),
    ),
    (
        As::Toml,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[rules]
work = "old""#,
        r#"job.toml, line 10, column 8: rules.work: "old" is not known; expected one of new, existing"#,
        None,
    ),
    (
        As::Toml,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[report]
words = "german""#,
        r#"job.toml, line 10, column 9: report.words: "german" is not known; expected one of uk, us"#,
        None,
    ),
    (
        As::Toml,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[report]
draws = 1.5"#,
        "job.toml, line 10, column 9: report.draws: 1.5 cannot stand here; expected a whole number, 0 or more",
        None,
    ),
    (
        As::Toml,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[report]
seed = -1"#,
        "job.toml, line 10, column 8: report.seed: -1 cannot stand here; expected a whole number from 0 to 18446744073709551615 (above 9223372036854775807 in quotes)",
        None,
    ),
    (
        As::Toml,
        r#"[[run]]
name = "x""#,
        r#"job.toml, line 1, column 1: run[0].log: the run has neither a log nor readings by hand; expected log = "log.csv", or [[reading]]s for one run without a log"#,
        None,
    ),
    (
        As::Toml,
        r#"[[run]]
log = "log.csv"
[[run]]
log = "log.csv""#,
        r#"job.toml, line 4, column 7: run[1].log: "log.csv" is byte for byte the log of run 1; expected a log of its own for each run: one run counted twice would look surer than it is"#,
        None,
    ),
    (
        As::Toml,
        r#"[[run]]
log = "lag.csv""#,
        r#"job.toml, line 2, column 7: run[0].log: "lag.csv": no such file was given (did you mean "log.csv"?)"#,
        Some("log.csv"),
    ),
    (
        As::Toml,
        r#"[[run]]
log = "/etc/passwd""#,
        r#"job.toml, line 2, column 7: run[0].log: "/etc/passwd": a job reads nothing outside its own folder; expected a name below that folder, such as "log.csv" or "logs/1.csv""#,
        None,
    ),
    (
        As::Toml,
        r#"[[run]]
log = "nul.csv""#,
        r#"job.toml, line 2, column 7: run[0].log: "nul.csv": the name is that of a device on some systems; expected another name"#,
        None,
    ),
    (
        As::Toml,
        r#"[[run]]
log = "log.csv"
counter_unit = "fete""#,
        r#"job.toml, line 3, column 16: run[0].counter_unit: unit of length "fete" is not known (did you mean "feet"?); known: m, cm, mm, ft, us ft, in, yd"#,
        Some("feet"),
    ),
    (
        As::Toml,
        r#"[[run]]
log = "log.csv"
counter = "cabel""#,
        r#"log.csv, row 1: counter: there is no column "cabel" (did you mean "cable (m)"?); expected one of the columns: "cable (m)", "tilt (deg)", "remark""#,
        Some("cable (m)"),
    ),
    (
        As::Toml,
        r#"[[run]]
log = "log.csv"
source_row = "rwo""#,
        r#"log.csv: source_row: there is no column "rwo""#,
        None,
    ),
    (
        As::Toml,
        r#"[[run]]
log = "log.csv"
delimiter = "pipe""#,
        r#"job.toml, line 3, column 13: run[0].delimiter: "pipe" is not known; expected one of comma, semicolon, tab"#,
        None,
    ),
    (
        As::Json,
        r#"{"flow": "increasing""#,
        "job.json, line 1, column 21: EOF while parsing an object",
        None,
    ),
    (
        As::Json,
        r#"{
  "flow": "incresing"
}"#,
        r#"job.json, line 2, column 11: flow: "incresing" is not known (did you mean "increasing"?); expected one of increasing, decreasing"#,
        Some("increasing"),
    ),
    (
        As::Json,
        r#"{
  "tailwater": 20
}"#,
        r#"job.json, line 2, column 16: tailwater: 20 has no unit; expected a length with its unit, such as "22 ft" or "6.7 m", in quotes"#,
        None,
    ),
    (
        As::Json,
        r#"{"reading": [
  {"station": "1 m", "tilt": "1 deg"},
  {"station": "5 fet", "tilt": "1 deg"}
]}"#,
        r#"job.json, line 3, column 15: reading[1].station: unit of length "fet" is not known (did you mean "feet"?); known: m, cm, mm, ft, us ft, in, yd"#,
        Some("feet"),
    ),
    (
        As::Json,
        r#"{"reading": [
  {"station": "1 m", "tlt": "1 deg"}
]}"#,
        r#"job.json, line 2, column 22: reading[0]: key "tlt" is not known (did you mean "tilt"?); expected one of station, tilt, slope"#,
        Some("tilt"),
    ),
    (
        As::Json,
        r#"{"flow": "increasing",
 "flow": "decreasing"}"#,
        r#"job.json, line 2, column 2: key "flow" is there twice"#,
        None,
    ),
    (
        As::Json,
        r#"{"reach": [
  {"name": "garden"}
]}"#,
        r#"job.json, line 2, column 3: reach[0]: keys "from", "to" are missing"#,
        None,
    ),
    (
        As::Json,
        r#"{"survey": null, "bend": [{"station": "1 m",
  "deflection": "45 deg up"}]}"#,
        r#"job.json, line 2, column 17: bend[0].deflection: "45 deg up" is a bend in the vertical, which the tilt of the head shows by itself: leave it out"#,
        None,
    ),
    (
        As::Json,
        r#"{"reading": [null]}"#,
        "job.json, line 1, column 14: reading[0]: null cannot stand here; expected a table",
        None,
    ),
    (
        As::Json,
        r#"{"reading": [{"station": null, "tilt": "1 deg"}]}"#,
        r#"job.json, line 1, column 14: reading[0]: key "station" is missing"#,
        None,
    ),
    (
        As::Json,
        r#"{"report": {"draws": 1e400}}"#,
        "job.json, line 1, column 22: report.draws: 1e400 is no finite number",
        None,
    ),
    (
        As::Json,
        r#"{"reading": {"station": "1 m"}}"#,
        "job.json, line 1, column 13: reading: a table cannot stand here; expected a list",
        None,
    ),
    (
        As::Book,
        r#"name = "own"
[[rule]]
id = "a"
document = "d"
edition = "1"
clause = "3"
text = "t"
force = "code"
source_mark = "s"
"#,
        r#"own.toml: keys "title", "version", "jurisdiction" are missing"#,
        None,
    ),
    (
        As::Book,
        r#"name = "own"
title = "t"
version = "1"
jurisdiction = "here"

[[rule]]
id = "a"
document = "d"
force = "code"
text = "t"
min_slope = "2 %""#,
        r#"own.toml, line 6, column 1: rule "a": keys "edition", "clause", "source_mark" are missing"#,
        None,
    ),
    (
        As::Book,
        r#"name = "own"
title = "t"
version = "1"
jurisdiction = "here"

[[rule]]
document = "d""#,
        r#"own.toml, line 6, column 1: rule 1: keys "id", "edition", "clause", "text", "force", "source_mark" are missing"#,
        None,
    ),
    (
        As::Book,
        r#"name = "own"
title = "t"
version = "1"
jurisdiction = "here"

[[rule]]
id = "a"
document = "d"
edition = "1"
clause = "3"
text = "t"
force = "code"
source_mark = "s"
min_slop = "2 %""#,
        r#"own.toml, line 14, column 1: key "min_slop" is not known (did you mean "min_slope"?); expected one of id, document, edition, clause, text, force, applies_to, confirmed, source_mark, enabled, remark, needs, needs_at_least, assumed, instead_of, unit, min_size, max_size, min_slope, also_printed, max_slope, max_pool, over"#,
        Some("min_slope"),
    ),
    (
        As::Book,
        r#"name = "own"
title = "t"
version = "1"
jurisdiction = "here"

[[rule]]
id = "a"
document = "d"
edition = "1"
clause = "3"
text = "t"
force = "code"
source_mark = "s"
min_slope = "2""#,
        r#"own.toml, line 14, column 13: "2": no unit; expected a slope with its unit, such as 2 %, 1/4 in/ft or 1 in 40"#,
        None,
    ),
    (
        As::Book,
        r#"name = "own"
title = "t"
version = "1"
jurisdiction = "here"

[[rule]]
id = "a"
document = "d"
edition = "1"
clause = "3"
text = "t"
force = "code"
source_mark = "s"
min_slope = "2 %"
unit = "inches""#,
        r#"own.toml, line 15, column 8: "inches" is not known (did you mean "inch"?); expected one of inch, dn"#,
        Some("inch"),
    ),
    (
        As::Book,
        r#"name = "own"
title = "t"
version = "1"
jurisdiction = "here"

[[rule]]
id = "a"
document = "d"
edition = "1"
clause = "3"
text = "t"
force = "law"
source_mark = "s"
min_slope = "2 %""#,
        r#"own.toml, line 12, column 9: "law" is not known; expected one of code, guidance, contract, practice"#,
        None,
    ),
    (
        As::Book,
        r#"name = "own"
title = "t"
version = "1"
jurisdiction = "here"

[[rule]]
id = "a"
document = "d"
edition = "1"
clause = "3"
text = "t"
force = "code"
source_mark = "s"
"#,
        r#"own.toml, line 6, column 1: rule "a": nothing is required; expected min_slope, max_slope or max_pool, or a row that, with needs, stands instead_of another"#,
        None,
    ),
    (
        As::Book,
        r#"name = "own"
title = "t"
version = "1"
jurisdiction = "here"

[[rule]]
id = "a"
document = "d"
edition = "1"
clause = "3"
text = "t"
force = "code"
source_mark = "s"
min_slope = "2 %"
[[rule]]
id = "a"
document = "d"
edition = "1"
clause = "3"
text = "t"
force = "code"
source_mark = "s"
min_slope = "2 %""#,
        r#"own.toml, line 15, column 1: rule "a" is there twice: each id is used once"#,
        None,
    ),
    (
        As::Book,
        r#"name = "own"
title = "t"
version = "1"
jurisdiction = "here"

[[rule]]
id = "a"
document = "d"
edition = "1"
clause = "3"
text = "t"
force = "code"
source_mark = "s"
min_slope = "2 %"
min_size = 4"#,
        r#"own.toml, line 6, column 1: rule "a": sizes are given without unit; expected unit = "inch" or "dn""#,
        None,
    ),
    (
        As::Book,
        r#"name = "own"
title = "t"
version = "1"
jurisdiction = "here"

[[rule]]
id = "a"
document = "d"
edition = "1"
clause = "3"
text = "t"
force = "code"
source_mark = "s"
min_slope = "1 in DN""#,
        r#"own.toml, line 6, column 1: rule "a": "1 in DN" needs unit = "dn""#,
        None,
    ),
    (
        As::Book,
        r#"name = "own"
title = "t"
version = "1"
jurisdiction = "here"

[[rule]]
id = "a"
document = "d"
edition = "1"
clause = "3"
text = "t"
force = "code"
source_mark = "s"
min_slope = "2 %"
over = "3 miles""#,
        r#"own.toml, line 15, column 8: over: 3 miles given, expected "reach", "stick" or a length such as "3 m""#,
        None,
    ),
    (
        As::Book,
        r#"name = "own"
title = "t"
version = "1"
jurisdiction = "here"

[[rule]]
id = "a"
document = "d"
edition = "1"
clause = "3"
text = "t"
force = "code"
source_mark = "s"
min_slope = "2 %"
instead_of = ["b"]"#,
        r#"own.toml, line 6, column 1: instead_of: rule "b" is not known; known: a"#,
        None,
    ),
    (
        As::Toml,
        "[[relay.surface]]\nname = \"lawn\"",
        "job.toml, line 1, column 1: relay.surface[0]: keys \"from\", \"to\" are missing",
        None,
    ),
    (
        As::Toml,
        "[relay.costs]\nper = \"furlong\"",
        "job.toml, line 2, column 7: relay.costs.per: unit of length \"furlong\" is not known; known: m, cm, mm, ft, us ft, in, yd",
        None,
    ),
    (
        As::Toml,
        "[relay]\nmin_slope = \"2\"",
        "job.toml, line 2, column 13: relay.min_slope: \"2\": no unit; expected a slope with its unit, such as 2 %, 1/4 in/ft or 1 in 40",
        None,
    ),
    (
        As::Solved,
        "[[run]]\nlog = \"log.csv\"\n[relay]\nconfidence = 0.2",
        "job.toml, line 4, column 14: relay.confidence = \"0.2\": 0.2 given, expected a probability from 0.5 to below 1",
        None,
    ),
    (
        As::Solved,
        "[[run]]\nlog = \"log.csv\"\n[[relay.surface]]\nfrom = \"2 m\"\nto = \"1 m\"",
        "job.toml, line 3, column 1: relay.surface[0]: 2 to 1 m given, expected from_m below to_m",
        None,
    ),
    (
        As::Solved,
        "[[run]]\nlog = \"log.csv\"\n[[feature]]\nkind = \"connection\"\nstation = \"1 m\"\n[[relay.connection]]\nstation = \"0.5 m\"",
        "job.toml, line 7, column 11: relay.connection[0].station = \"0.5 m\": 0.5 given, expected the station of a connection noted among the features; the nearest is at 1 m",
        None,
    ),
    (
        As::Solved,
        "[[run]]\nlog = \"log.csv\"\n[relay.costs]\nper_length = -3",
        "job.toml, line 4, column 14: relay.costs.per_length = \"-3\": -3 given, expected a cost from 0 to 1e12",
        None,
    ),
    (
        As::Solved,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[[bend]]
station = "100 ft"
deflection = "45 deg left""#,
        r#"job.toml, line 10, column 11: bend[0].station = "100 ft": bend at 30.48 m lies outside the surveyed 0 m to 9 m"#,
        None,
    ),
    (
        As::Solved,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[[bend]]
station = "4 m"
deflection = "0 deg left""#,
        r#"job.toml, line 11, column 14: bend[0].deflection = "0 deg left": -0 given, expected an angle other than 0 and below 179 degrees, in rad (a return bend is two bends)"#,
        None,
    ),
    (
        As::Solved,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[[bend]]
station = "4 m"
deflection = "45 deg left"

[[bend]]
station = "4.1 m"
deflection = "45 deg right"
radius = "20 in""#,
        r#"job.toml, line 14, column 11: bend[1].station = "4.1 m": the arcs of the bends at 4 m and at 4.1 m overlap: bends further apart, or smaller radii"#,
        None,
    ),
    (
        As::Solved,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[[step]]
station = "40 ft"
rise = "1 in""#,
        r#"job.toml, line 10, column 11: step[0].station = "40 ft": step at 12.192 m lies outside the surveyed 0 m to 9 m"#,
        None,
    ),
    (
        As::Solved,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[[step]]
station = "4 ft"
rise = "400 ft""#,
        r#"job.toml, line 11, column 8: step[0].rise = "400 ft": 121.92 given, expected a rise of at most 100 m, in metres"#,
        None,
    ),
    (
        As::Solved,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[[reach]]
from = "20 ft"
to = "10 ft""#,
        r#"job.toml, line 11, column 6: reach[0].to = "10 ft": 3.048 given, expected more than 6.096, its from_m"#,
        None,
    ),
    (
        As::Solved,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[[reach]]
from = "0 m"
to = "20 ft"

[[reach]]
from = "10 ft"
to = "9 m""#,
        r#"job.toml, line 14, column 8: reach[1].from = "10 ft": reaches at 0 m and at 3.048 m overlap: reach 1 to end at 3.048 m or reach 2 to begin at 6.096 m"#,
        None,
    ),
    (
        As::Solved,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[[reach]]
from = "0 m"
to = "10 ft"

[[reach]]
from = "20 ft"
to = "9 m""#,
        r#"job.toml, line 14, column 8: reach[1].from = "20 ft": 6.096 given, expected 3.048, where reach 1 ends: reaches cover the survey without a gap"#,
        None,
    ),
    (
        As::Solved,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[[reach]]
from = "0 m"
to = "10 ft""#,
        r#"job.toml, line 11, column 6: reach[0].to = "10 ft": 3.048 given, expected 9, the end of the survey: reaches cover all of it"#,
        None,
    ),
    (
        As::Solved,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[[reach]]
from = "0 m"
to = "9 m"
pipe = { bore = "100 ft" }"#,
        r#"job.toml, line 12, column 17: reach[0].pipe.bore = "100 ft": 30.48 given, expected an inside size between 0.001 m and 20 m"#,
        None,
    ),
    (
        As::Solved,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[[reach]]
from = "0 m"
to = "9 m"
pipe = { bore = "4 in", wall = "40 ft" }"#,
        r#"job.toml, line 12, column 32: reach[0].pipe.wall = "40 ft": 12.192 given, expected a wall of 0 to 10 m"#,
        None,
    ),
    (
        As::Solved,
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[segments]
method = "given"
breaks = ["6 ft", "20 ft"]"#,
        r#"job.toml, line 11, column 19: segments.breaks[1] = "20 ft": a break of segments at 6.096 m lies outside the surveyed 1 m to 3 m"#,
        None,
    ),
    (
        As::Solved,
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[segments]
method = "given""#,
        r#"job.toml, line 10, column 10: segments.method = "given": none given, expected break stations, or joints noted as features"#,
        None,
    ),
    (
        As::Solved,
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "2 deg""#,
        r#"job.toml, line 10, column 11: reading[2].station = "3 m": 3 given, expected one reading by hand for each station"#,
        None,
    ),
    (
        As::Solved,
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[instrument]
noise_sd = "-1 deg""#,
        r#"job.toml, line 10, column 12: instrument.noise_sd = "-1 deg": -0.017453292519943295 given, expected 0 to a quarter turn, in rad"#,
        None,
    ),
    (
        As::Solved,
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[instrument]
head_length = "-6 in""#,
        r#"job.toml, line 10, column 15: instrument.head_length = "-6 in": -0.15239999999999998 given, expected 0 to 100 m"#,
        None,
    ),
    (
        As::Solved,
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[instrument]
lag = "2000 s""#,
        r#"job.toml, line 10, column 7: instrument.lag = "2000 s": 2000 given, expected 0 to 60 s"#,
        None,
    ),
    (
        As::Solved,
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[instrument]
counter_scale = "60 %""#,
        r#"job.toml, line 10, column 17: instrument.counter_scale = "60 %": 0.6 given, expected a scale error between -0.5 and 0.5"#,
        None,
    ),
    (
        As::Solved,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "0 ft"
invert = "0.8 m"
"#,
        r#"job.toml, line 6, column 11: as_built[1].station = "0 ft": 0 given, expected stations that grow by at least 1 mm"#,
        None,
    ),
    (
        As::Solved,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "-30 ft"
"#,
        r#"job.toml, line 7, column 10: as_built[1].invert = "-30 ft": -9.144 given, expected a fall of less than the length of pipe"#,
        None,
    ),
    (
        As::Solved,
        r#"[[as_built]]
station = "0 m"
invert = "1 m""#,
        "job.toml, line 1, column 1: as_built: run, reading or as_built: nothing to solve; as_built: 1 given, at least 2 needed",
        None,
    ),
    (
        As::Solved,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[report]
draws = 2000000"#,
        r#"job.toml, line 10, column 9: report.draws = "2000000": 2000000 given, expected at most 1000000 draws"#,
        None,
    ),
    (
        As::Solved,
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "9 m"
invert = "0.8 m"

[[ground]]
station = "0 m"
elevation = "1 m"
sd = "-1 in""#,
        r#"job.toml, line 12, column 6: ground[0].sd = "-1 in": -0.0254 given, expected a number from 0 to 1e9"#,
        None,
    ),
    (
        As::Solved,
        r#"[[run]]
log = "log.csv"
start_station = "5000000 ft""#,
        r#"job.toml, line 3, column 17: run[0].start_station = "5000000 ft": 1524000 given, expected metres, within 1000 km"#,
        None,
    ),
    (
        As::Solved,
        r#"[[run]]
log = "far.csv""#,
        "far.csv, row 3: counter_m[1]: 20000 given, expected metres of cable, at most 10 km: is the unit right?",
        None,
    ),
    (
        As::Solved,
        r#"[[run]]
log = "steep.csv""#,
        "steep.csv, row 3: reading_rad[1]: 6.981317007977318 given, expected radians, within a full turn: is it degrees or percent?",
        None,
    ),
    (
        As::Solved,
        r#"[[run]]
log = "short.csv""#,
        "short.csv: counter_m: a run of 0 m given, expected a run of some length",
        None,
    ),
    (
        As::Solved,
        r#"[[run]]
log = "log.csv"
start_invert = "98 ft"
start_invert_sd = "-1 in""#,
        r#"job.toml, line 4, column 19: run[0].start_invert_sd = "-1 in": -0.0254 given, expected a number from 0 to 1e9"#,
        None,
    ),
    (
        As::Toml,
        r#"[[tie]]
station = "1 m""#,
        r#"job.toml, line 1, column 1: tie[0]: key "kind" is missing; expected one of invert, plan, azimuth, depth, height_difference, length, reversal_check, level_check, water_level, water_depth, in quotes"#,
        None,
    ),
    (
        As::Toml,
        r#"[[tie]]
knd = "invert""#,
        r#"job.toml, line 2, column 1: tie[0]: key "knd" is not known (did you mean "kind"?); expected kind"#,
        Some("kind"),
    ),
    (
        As::Toml,
        r#"[[tie]]
kind = "invrt"
station = "1 m""#,
        r#"job.toml, line 2, column 8: tie[0].kind: "invrt" is not known (did you mean "invert"?); expected one of invert, plan, azimuth, depth, height_difference, length, reversal_check, level_check, water_level, water_depth"#,
        Some("invert"),
    ),
    (
        As::Toml,
        r#"[[tie]]
kind = 5"#,
        "job.toml, line 2, column 8: tie[0].kind: 5 cannot stand here; expected one of invert, plan, azimuth, depth, height_difference, length, reversal_check, level_check, water_level, water_depth, in quotes",
        None,
    ),
    (
        As::Toml,
        r#"[[tie]]
kind = "invert"
name = "main""#,
        r#"job.toml, line 1, column 1: tie[0]: keys "station", "elevation", "sd" are missing for kind "invert"; expected in "sd" the standard deviation, which says how well it is known; one of 0 holds exactly"#,
        None,
    ),
    (
        As::Toml,
        r#"[[tie]]
kind = "invert"
station = "1 m"
elevation = "30 m""#,
        r#"job.toml, line 1, column 1: tie[0]: key "sd" is missing for kind "invert"; expected in "sd" the standard deviation, which says how well it is known; one of 0 holds exactly"#,
        None,
    ),
    (
        As::Toml,
        r#"[[tie]]
kind = "depth"
station = "1 m""#,
        r#"job.toml, line 1, column 1: tie[0]: key "depth" is missing for kind "depth""#,
        None,
    ),
    (
        As::Toml,
        r#"[[tie]]
kind = "reversal_check"
first = "1 deg""#,
        r#"job.toml, line 1, column 1: tie[0]: key "second" is missing for kind "reversal_check""#,
        None,
    ),
    (
        As::Toml,
        r#"[[tie]]
kind = "water_level"
from = "1 m""#,
        r#"job.toml, line 1, column 1: tie[0]: key "to" is missing for kind "water_level""#,
        None,
    ),
    (
        As::Toml,
        r#"[[tie]]
kind = "length"
from = "1 m"
to = "2 m"
length = "1 m"
sd = "1 mm"
taped = true"#,
        r#"job.toml, line 7, column 1: tie[0]: key "taped" does not go with kind "length"; expected one of name, from, to, length, sd"#,
        None,
    ),
    (
        As::Toml,
        r#"[[tie]]
kind = "invert"
elevaton = "30 m""#,
        r#"job.toml, line 3, column 1: tie[0]: key "elevaton" does not go with kind "invert" (did you mean "elevation"?); expected one of name, station, station_sd, taped, elevation, sd"#,
        Some("elevation"),
    ),
    (
        As::Toml,
        r#"[[tie]]
kind = "azimuth"
station = "1 m"
azimuth = "35 m"
sd = "1 deg""#,
        r#"job.toml, line 4, column 11: tie[0].azimuth: unit of tilt or slope "m" is not known (did you mean "m/m"?); known: rad, mrad, deg, %, in/ft, mm/m, ratio"#,
        Some("m/m"),
    ),
    (
        As::Toml,
        r#"[[tie]]
kind = "invert"
station = "1 m"
elevation = 30.0
sd = "0 m""#,
        r#"job.toml, line 4, column 13: tie[0].elevation: 30 has no unit; expected a length with its unit, such as "22 ft" or "6.7 m", in quotes"#,
        None,
    ),
    (
        As::Toml,
        r#"[[tie]]
kind = "invert"
station = "1 m"
elevation = "30 m"
sd = "0""#,
        r#"job.toml, line 5, column 6: tie[0].sd: "0": no unit; expected a length with its unit, such as 12.4 m or 6' 3 1/2""#,
        None,
    ),
    (
        As::Toml,
        r#"[[tie]]
kind = "water_level"
from = "1 m"
to = "2 m"
seen = "eye""#,
        r#"job.toml, line 5, column 8: tie[0].seen: "eye" is not known; expected one of edge, lens"#,
        None,
    ),
    (
        As::Toml,
        r#"[[tie]]
kind = "water_level"
from = "1 m"
to = "2 m"
although_running = "yes""#,
        r#"job.toml, line 5, column 20: tie[0].although_running: "yes" cannot stand here; expected true or false"#,
        None,
    ),
    (
        As::Toml,
        r#"tie = ["invert"]"#,
        r#"job.toml, line 1, column 8: tie[0]: "invert" cannot stand here; expected a table"#,
        None,
    ),
    (
        As::Toml,
        r#"tie = [["invert"]]"#,
        "job.toml, line 1, column 8: tie[0]: a list cannot stand here; expected a table",
        None,
    ),
    (
        As::Toml,
        r#"[tie]
kind = "invert""#,
        "job.toml, line 1, column 1: tie: a table cannot stand here; expected a list",
        None,
    ),
    (
        As::Toml,
        r#"[[run]]
log = "log.csv"

[[run]]
log = "again.csv"
tilt_positive = "up"

[[tie]]
kind = "level_check"
reading = "1 deg"
sd = "0.1 deg""#,
        "job.toml, line 8, column 1: tie[0].tilt_positive: no tilt_positive given; expected what the head shows as positive, since the runs differ in theirs",
        None,
    ),
    (
        As::Toml,
        r#"as_built_use = "both""#,
        r#"job.toml, line 1, column 16: as_built_use: "both" is not known; expected one of compare, use"#,
        None,
    ),
    (
        As::Toml,
        r#"[[run]]
log = "log.csv"
start_station_sd = 3"#,
        r#"job.toml, line 3, column 20: run[0].start_station_sd: 3 has no unit; expected a length with its unit, such as "22 ft" or "6.7 m", in quotes"#,
        None,
    ),
    (
        As::Toml,
        r#"[[note]]
station = "1 m"
dry_seen = "yes""#,
        r#"job.toml, line 3, column 12: note[0].dry_seen: "yes" cannot stand here; expected true or false"#,
        None,
    ),
    (
        As::Toml,
        r#"[[landmark]]
east = "1 m"
north = "2 m""#,
        r#"job.toml, line 1, column 1: landmark[0]: key "name" is missing"#,
        None,
    ),
    (
        As::Toml,
        r#"[[dig]]
station = "2 m"
depth = "1 m""#,
        r#"job.toml, line 3, column 1: dig[0]: key "depth" is not known; expected one of station, station_sd, name, wanted"#,
        None,
    ),
    (
        As::Toml,
        r#"[digging]
confidence = 0.99"#,
        r#"job.toml, line 2, column 14: digging.confidence: 0.99 has no unit; expected a percentage, such as "-0.8 %", in quotes"#,
        None,
    ),
    (
        As::Solved,
        r#"[[run]]
log = "log.csv"
[[landmark]]
name = "post"
east = "1 m"
north = "2 m"
[[landmark]]
name = "post"
east = "1 m"
north = "3 m""#,
        r#"job.toml, line 8, column 8: landmark[1].name = "post": post given, expected a name that no other landmark has: distances are taped from it by its name"#,
        None,
    ),
    (
        As::Solved,
        r#"[[run]]
log = "log.csv"
[digging]
confidence = "120 %""#,
        r#"job.toml, line 4, column 14: digging.confidence = "120 %": 1.2 given, expected above 0.5 and below 1"#,
        None,
    ),
];

/// Job, and the exact warnings.
#[rustfmt::skip]
const ODD: &[(&str, &[&str])] = &[
    (
        r#"[[run]]
log = "log.csv"
[[landmark]]
name = "post"
east = "1 m"
north = "2 m"
[digging]
margin = "1 ft""#,
        &[
            "landmark: without a [[dig]] nothing is taped out from it",
            "digging: without a [[dig]] there is no sheet that it is for",
        ],
    ),
    (
        r#"[[run]]
log = "log.csv"
[[dig]]
station = "1 m"
station_sd = "0 m""#,
        &[
            "dig[0].station_sd: 0 takes what is wanted to be exactly there",
        ],
    ),
    (
        r#"[[run]]
log = "log.csv"
start_azimuth = "35 deg""#,
        &[
            "run[0].start_azimuth: without start_azimuth_sd it is taken as exact",
        ],
    ),
    (
        r#"[[run]]
log = "log.csv"
start_azimuth_sd = "5 deg""#,
        &[
            "run[0].start_azimuth_sd: not used without start_azimuth",
        ],
    ),
    (
        r#"[[run]]
log = "log.csv"
start_east = "1 m""#,
        &[
            "run[0].start_east: start_east and start_north go together; the other is taken as 0",
        ],
    ),
    (
        r#"[[run]]
log = "log.csv"
start_plan_sd = "0.1 m""#,
        &[
            "run[0].start_plan_sd: not used without start_east and start_north",
        ],
    ),
    (
        r#"[[run]]
log = "log.csv"
start_invert = "98 ft""#,
        &[
            "run[0].start_invert: without start_invert_sd it is taken as exact",
        ],
    ),
    (
        r#"[[run]]
log = "log.csv"
start_invert_sd = "1 in""#,
        &[
            "run[0].start_invert_sd: not used without start_invert",
        ],
    ),
    (
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[[run]]
counter_unit = "ft""#,
        &[
            "run[0].counter_unit: speaks of a log, and the run has none",
            "every reading is the same: check that the sensor is alive",
        ],
    ),
    (
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[report]
draws = 0"#,
        &[
            "report.draws: 0 leaves pools and findings without probability",
            "every reading is the same: check that the sensor is alive",
        ],
    ),
    (
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[report]
draws = 20"#,
        &[
            "report.draws: fewer than 100 draws give rough probabilities",
            "every reading is the same: check that the sensor is alive",
        ],
    ),
    (
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[[reach]]
from = "0 m"
to = "4 m""#,
        &[
            "reach[0].pipe: no bore: volumes and depth over bore are not determined here",
            "reach[0].pipe: no nominal size: rules that go by size cannot be chosen here",
            "every reading is the same: check that the sensor is alive",
        ],
    ),
    (
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[[reach]]
from = "0 m"
to = "2.8 m"
pipe = { standard = "SDR 35", size = "4 in" }"#,
        &[
            "every reading is the same: check that the sensor is alive",
            "the reach that ends at 2.80 m is taken to go on to 3.00 m",
        ],
    ),
    (
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[[bend]]
station = "2 m"
deflection = "45 deg left""#,
        &[
            "every reading is the same: check that the sensor is alive",
            "bend at 2.00 m: neither radius nor bore is given; 0.15000000000000002 m is taken",
        ],
    ),
    (
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[[bend]]
station = "2 m"
deflection = "45 deg left"
deflection_sd = "0 deg"
radius = "6 in""#,
        &[
            "bend[0].deflection_sd: 0 takes the angle of the fitting for exact",
            "every reading is the same: check that the sensor is alive",
        ],
    ),
    (
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[[step]]
station = "2 m"
rise = "0 mm""#,
        &[
            "step[0].rise: a step of no height changes nothing",
            "every reading is the same: check that the sensor is alive",
        ],
    ),
    (
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[[ground]]
station = "1 m"
elevation = "2 m""#,
        &[
            "ground: without a start_invert of a run there is no cover to tell",
            "every reading is the same: check that the sensor is alive",
        ],
    ),
    (
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[[note]]
station = "1 m""#,
        &[
            "note[0]: says nothing",
            "every reading is the same: check that the sensor is alive",
        ],
    ),
    (
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[[note]]
station = "40 ft"
text = "a chamber""#,
        &[
            "every reading is the same: check that the sensor is alive",
            "the note at 12.19 m lies outside the surveyed 1.00 m to 3.00 m",
        ],
    ),
    (
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[[feature]]
kind = "main"
station = "40 ft""#,
        &[
            "every reading is the same: check that the sensor is alive",
            "the feature at 12.19 m lies outside the surveyed 1.00 m to 3.00 m",
        ],
    ),
    (
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[instrument]
zero_sd = "0 deg""#,
        &[
            "instrument.zero_sd: 0 takes the head's zero error for exactly known",
            "every reading is the same: check that the sensor is alive",
        ],
    ),
    (
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[rules]
facts = { approval = "yes" }"#,
        &[
            "rules: facts are given without a rulebook to ask for them",
            "every reading is the same: check that the sensor is alive",
        ],
    ),
    (
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[rules]
rulebook = "ipc-2021"
facts = { approvel = "yes" }"#,
        &[
            "every reading is the same: check that the sensor is alive",
            "the fact approvel is asked for by no row of International Plumbing Code 2021; it asks for: upstream_of_grease_interceptor",
        ],
    ),
    (
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[survey]
water = "lots""#,
        &[
            "survey.water: usually still, running or unknown; shown as it is",
            "every reading is the same: check that the sensor is alive",
        ],
    ),
    (
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[survey]
video_hash = "abc""#,
        &[
            "survey.video_hash: a hash without a video",
            "every reading is the same: check that the sensor is alive",
        ],
    ),
    (
        r#"tailwater = "-1 in"
[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"
"#,
        &[
            "tailwater: below the outlet's invert, as if there were none",
            "every reading is the same: check that the sensor is alive",
        ],
    ),
    (
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"

[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "6 m"
invert = "0.8 m"
"#,
        &[
            "every reading is the same: check that the sensor is alive",
            "as-built invert 1 at 0.00 m lies outside what was surveyed: it is not used",
            "as-built invert 2 at 6.00 m lies outside what was surveyed: it is not used",
        ],
    ),
    (
        r#"[[as_built]]
station = "0 m"
invert = "1 m"

[[as_built]]
station = "6 m"
invert = "0.8 m"
"#,
        &[
            "The inverts are taken as exact: no standard deviation was given for them.",
        ],
    ),
    (
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "0.5 m"
tilt = "1 deg"
"#,
        &[
            "every reading is the same: check that the sensor is alive",
            "the readings by hand were not in order of station; they were put in order",
        ],
    ),
    (
        r#"[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1 deg"
"#,
        &[
            "every reading is the same: check that the sensor is alive",
        ],
    ),
    (
        r#"[[run]]
log = "odd.csv""#,
        &[
            "odd.csv: column \"time\" has no unit and is not used as time",
            "odd.csv: 1 row of empty cells passed over",
            "every reading is the same: check that the sensor is alive",
        ],
    ),
    (
        r#"[[run]]
log = "back.csv""#,
        &[
            "the run was logged while pulling back: a pulled head sits differently",
        ],
    ),
    (
        r#"[[run]]
log = "log.csv"

[[run]]
log = "again.csv""#,
        &[
            "2 runs are put together as runs of one head; runs of different heads need their own zero errors.",
        ],
    ),
    (
        r#"[[run]]
log = "log.csv"

[segments]
method = "given"
breaks = []

[[feature]]
kind = "joint"
station = "0.4 m""#,
        &[
            "segments.breaks: no station: the breaks are taken at the joints",
        ],
    ),
];

/// What is odd about ties and what came with them, as it is seen in the text alone; behind each stand two readings.
#[rustfmt::skip]
const ODD_OF_TIES: &[(&str, &[&str])] = &[
    (
        r#"[[tie]]
kind = "invert"
station = "1 m"
elevation = "30 m"
sd = "1e-9 m""#,
        &[
            "tie[0].sd: below 0.1 mm, finer than it can be measured; 0 says that it holds exactly",
        ],
    ),
    (
        r#"[[tie]]
kind = "invert"
station = "1 m"
elevation = "30 m"
sd = "0 m""#,
        &[],
    ),
    (
        r#"[[tie]]
kind = "invert"
station = "1 m"
elevation = "30 m"
sd = "20 ft""#,
        &[
            "tie[0].sd: above 1 m, so coarse that it says next to nothing",
        ],
    ),
    (
        r#"[[tie]]
kind = "invert"
station = "1 m"
elevation = "30 m"
sd = "5 mm"
station_sd = "30 ft""#,
        &[
            "tie[0].station_sd: above 5 m, so coarse that it says next to nothing",
        ],
    ),
    (
        r#"[[tie]]
kind = "invert"
station = "1 m"
elevation = "30 m"
sd = "5 mm"

[[tie]]
kind = "invert"
station = "1 m"
elevation = "30 m"
sd = "0.5 cm"

[[tie]]
kind = "invert"
station = "1 m"
elevation = "30 m"
sd = "5 mm"
name = "again""#,
        &[
            "tie[1]: the same as tie[0]: one thing counted twice would look surer than it is",
        ],
    ),
    (
        r#"[[tie]]
kind = "invert"
station = "1 m"
elevation = "30 m"
sd = "5 mm"
taped = true"#,
        &[],
    ),
    (
        r#"[[tie]]
kind = "invert"
station = "0 m"
elevation = "30 m"
sd = "5 mm"
taped = true"#,
        &[
            "tie[0].taped: without need: the station is the start of the first run",
        ],
    ),
    (
        r#"[[tie]]
kind = "plan"
station = "1 m"
east = "1 m"
north = "1 m"
sd = "40 ft""#,
        &[
            "tie[0].sd: above 10 m, so coarse that it says next to nothing",
        ],
    ),
    (
        r#"[[tie]]
kind = "azimuth"
station = "1 m"
azimuth = "35 rad"
sd = "1 rad""#,
        &[
            "tie[0].azimuth: more than a whole turn; is its unit right?",
            "tie[0].sd: above 45 deg, so coarse that it says next to nothing",
        ],
    ),
    (
        r#"[[tie]]
kind = "azimuth"
station = "1 m"
azimuth = "360 deg"
sd = "0.001 deg""#,
        &[
            "tie[0].sd: below 0.01 deg, finer than it can be measured; 0 says that it holds exactly",
        ],
    ),
    (
        r#"[[tie]]
kind = "depth"
station = "1 m"
depth = "1.5 m"
sd = "3 m"
ground = "31 m"
ground_sd = "1e-6 m""#,
        &[
            "tie[0].sd: above 2 m, so coarse that it says next to nothing",
            "tie[0].ground_sd: below 0.1 mm, finer than it can be measured; 0 says that it holds exactly",
        ],
    ),
    (
        r#"[[tie]]
kind = "height_difference"
from = "1 m"
from_sd = "1e-5 m"
to = "3 m"
to_sd = "6 m"
rise = "-40 mm"
sd = "2 m""#,
        &[
            "tie[0].from_sd: below 0.1 mm, finer than it can be measured; 0 says that it holds exactly",
            "tie[0].to_sd: above 5 m, so coarse that it says next to nothing",
            "tie[0].sd: above 1 m, so coarse that it says next to nothing",
        ],
    ),
    (
        r#"[[tie]]
kind = "length"
from = "1 m"
to = "3 m"
length = "2 m"
sd = "1e-5 m""#,
        &[
            "tie[0].sd: below 0.1 mm, finer than it can be measured; 0 says that it holds exactly",
        ],
    ),
    (
        r#"[[tie]]
kind = "reversal_check"
first = "0.2 deg"
second = "0.1 deg"
sd = "0.1 rad""#,
        &[
            "tie[0].sd: above 5 deg, so coarse that it says next to nothing",
        ],
    ),
    (
        r#"[[tie]]
kind = "level_check"
reading = "0.2 deg"
sd = "1e-6 deg""#,
        &[
            "tie[0].sd: below 0.001 deg, finer than it can be measured; 0 says that it holds exactly",
        ],
    ),
    (
        r#"[instrument]
reversal_check = { first = "0.2 deg", second = "0.1 deg", sd = "0.1 rad" }"#,
        &[
            "instrument.reversal_check.sd: above 5 deg, so coarse that it says next to nothing",
        ],
    ),
    (
        r#"[[tie]]
kind = "water_level"
from = "1 m"
to = "2 m"
"#,
        &[
            r#"tie[0]: holds for still water only, and survey.water does not say "still""#,
        ],
    ),
    (
        r#"[survey]
water = "still"

[[tie]]
kind = "water_level"
from = "1 m"
to = "2 m"
level_sd = "30 cm""#,
        &[
            "tie[0].level_sd: above 100 mm, so coarse that it says next to nothing",
        ],
    ),
    (
        r#"[survey]
water = "running"

[[tie]]
kind = "water_level"
from = "1 m"
to = "2 m"
"#,
        &[
            "tie[0]: not used, since survey.water says running; although_running = true would use it",
        ],
    ),
    (
        r#"[survey]
water = "running"

[[tie]]
kind = "water_level"
from = "1 m"
to = "2 m"
although_running = true"#,
        &[],
    ),
    (
        r#"[[tie]]
kind = "water_level"
from = "1 m"
to = "2 m"
although_running = true"#,
        &[
            r#"tie[0].although_running: without need: survey.water does not say "running""#,
        ],
    ),
    (
        r#"[survey]
water = "still"

[[tie]]
kind = "water_depth"
station = "2 m"
depth = "30 mm"
sd = "1 ft"
edge = "1 m"
edge_sd = "7 m"
level_sd = "1e-6 m""#,
        &[
            "tie[0].edge_sd: above 5 m, so coarse that it says next to nothing",
            "tie[0].sd: above 100 mm, so coarse that it says next to nothing",
            "tie[0].level_sd: below 0.1 mm, finer than it can be measured; 0 says that it holds exactly",
        ],
    ),
    (
        r#"as_built_use = "use""#,
        &[
            "as_built_use: there are no as-built inverts",
        ],
    ),
    (
        r#"[[run]]
start_station_sd = "1 ft""#,
        &[
            "run[0].start_station_sd: there is no other run that could tell where this one lies",
        ],
    ),
    (
        r#"[[note]]
station = "1 m"
water_seen = true
dry_seen = true"#,
        &[
            "note[0].dry_seen: water and a dry pipe were seen in one place",
        ],
    ),
    (
        r#"[[note]]
station = "1 m"
dry_seen = true"#,
        &[],
    ),
];

const TWO_READINGS: &str = r#"

[[reading]]
station = "1 m"
tilt = "1 deg"

[[reading]]
station = "3 m"
tilt = "1.1 deg"
"#;

fn warnings_of_text(text: &str) -> Vec<String> {
    job::read_text(&format!("{text}{TWO_READINGS}"), "job.toml", &files("")).unwrap().warnings
}

fn warnings(text: &str) -> Vec<String> {
    let loaded = job::read_text(text, "job.toml", &files("")).unwrap();
    let answers = loaded.solve().unwrap().answers(loaded.rulebook.as_ref()).unwrap();
    loaded.warnings.into_iter().chain(answers.warnings).collect()
}

/// Prints what the tables should hold, as JSON, for whoever changes words: `cargo test ... -- --ignored --nocapture`.
#[test]
#[ignore = "prints the tables anew"]
fn print_tables() {
    let told = |e: FileError| (e.to_string(), e.nearest.clone());
    let faults: Vec<_> = FAULTS
        .iter()
        .map(|(kind, text, ..)| std::panic::catch_unwind(|| told(fault(*kind, text))).unwrap_or_default())
        .collect();
    let odd: Vec<_> =
        ODD.iter().map(|(text, _)| std::panic::catch_unwind(|| warnings(text)).unwrap_or_default()).collect();
    let of_ties: Vec<_> = ODD_OF_TIES
        .iter()
        .map(|(text, _)| std::panic::catch_unwind(|| warnings_of_text(text)).unwrap_or_default())
        .collect();
    let json = serde_json::json!({ "faults": faults, "odd": odd, "of_ties": of_ties });
    std::fs::write(std::env::temp_dir().join("job_faults.json"), json.to_string()).unwrap();
}

#[test]
fn every_fault_is_told_in_exact_words() {
    assert!(FAULTS.len() >= 45);
    for (kind, text, said, nearest) in FAULTS {
        let fault = fault(*kind, text);
        assert_eq!(fault.to_string(), *said, "{text}");
        assert_eq!(fault.nearest.as_deref(), *nearest, "{text}");
        // All but a job without data, and what only the whole of a log shows, have a place.
        let of_all =
            said.starts_with("job.toml: run: ") || fault.file.contains(".csv") || said.starts_with("own.toml: ");
        assert!(of_all || matches!(fault.place, Place::Line { .. }), "{said}");
    }
}

#[test]
fn every_oddity_is_told_in_exact_words() {
    assert!(ODD.iter().filter(|(_, warnings)| !warnings.is_empty()).count() >= 20);
    for (text, said) in ODD {
        assert_eq!(warnings(text), *said, "{text}");
    }
}

#[test]
fn every_oddity_of_ties_is_told_in_exact_words() {
    for (text, said) in ODD_OF_TIES {
        assert_eq!(warnings_of_text(text), *said, "{text}");
    }
}

/// Every kind names the keys that it needs, each of them, and those that it has.
#[test]
fn every_kind_of_tie_names_its_keys() {
    let needed: [(&str, &[&str]); 10] = [
        ("invert", &["station", "elevation", "sd"]),
        ("plan", &["station", "east", "north", "sd"]),
        ("azimuth", &["station", "azimuth", "sd"]),
        ("depth", &["station", "depth"]),
        ("height_difference", &["from", "to", "rise", "sd"]),
        ("length", &["from", "to", "length", "sd"]),
        ("reversal_check", &["first", "second"]),
        ("level_check", &["reading", "sd"]),
        ("water_level", &["from", "to"]),
        ("water_depth", &["station", "depth", "sd", "edge"]),
    ];
    for (kind, keys) in needed {
        let angle = |key: &str| {
            matches!(key, "azimuth" | "first" | "second" | "reading")
                || (key == "sd" && matches!(kind, "azimuth" | "level_check"))
        };
        let table = |but: Option<&str>| {
            let keys = keys.iter().filter(|key| Some(**key) != but);
            let lines = keys.map(|key| format!("{key} = \"1 {}\"\n", if angle(key) { "deg" } else { "m" }));
            lines.collect::<Vec<_>>().concat()
        };
        let text = |table: &str| format!("[[tie]]\nkind = \"{kind}\"\n{table}{TWO_READINGS}");
        let tie = job::read_text(&text(&table(None)), "job.toml", &files("")).unwrap().job.ties.remove(0);
        assert_eq!(tie.kind(), kind);
        for key in keys {
            let said = fault(As::Toml, &text(&table(Some(key)))).to_string();
            let exactly =
                "; expected in \"sd\" the standard deviation, which says how well it is known; one of 0 holds exactly";
            let exactly = if *key == "sd" { exactly } else { "" };
            let expected = format!("tie[0]: key \"{key}\" is missing for kind \"{kind}\"{exactly}");
            assert_eq!(said, format!("job.toml, line 1, column 1: {expected}"));
        }
        let other = fault(As::Toml, &text(&format!("{}colour = 5\n", table(None)))).to_string();
        assert!(
            other.contains(&format!("tie[0]: key \"colour\" does not go with kind \"{kind}\"; expected one of name, ")),
            "{other}"
        );
        assert!(keys.iter().all(|key| other.contains(key)), "{other}");
    }
}

/// The same job in JSON has its faults at the same keys and in the same words.
#[test]
fn json_tells_what_toml_tells() {
    let mut compared = 0;
    for (kind, text, said, _) in FAULTS {
        // What is not TOML at all cannot be turned into JSON, and a date has no JSON.
        let Ok(value) = toml_as_json(text) else { continue };
        let json = serde_json::to_string_pretty(&value).unwrap();
        let fault = match kind {
            As::Toml => job::read_json(&json, "job.toml", &files("")).unwrap_err(),
            As::Solved => job::read_json(&json, "job.toml", &files("")).unwrap().solve().unwrap_err(),
            As::Json | As::Book => continue,
        };
        let words = |said: &str| said.split_once(": ").map(|(_, words)| words.to_owned());
        assert_eq!(words(&fault.to_string()), words(said), "{text}");
        compared += 1;
    }
    assert!(compared >= 45, "{compared}");
}

fn toml_as_json(text: &str) -> Result<serde_json::Value, toml::de::Error> {
    let value: toml::Table = toml::from_str(text)?;
    let json = serde_json::to_value(value).unwrap();
    // A date becomes an object of toml's own.
    if json.to_string().contains("__toml_private") { toml::from_str("x") } else { Ok(json) }
}

/// Arrays given straight to the core.
#[test]
fn arrays_are_refused_in_exact_words() {
    let run = |counter_m: &[f64], reading_rad: &[f64]| Run::new(counter_m.to_vec(), reading_rad.to_vec());
    let conditioned = |run: &Run| condition(run, &Instrument::default(), &[]).unwrap_err().to_string();
    let solved = |run: Run| Lateral::solve(Job { runs: vec![run], ..Job::default() }).unwrap_err().to_string();
    let text = |e: Error| e.to_string();
    let nan = f64::NAN;
    let good = || run(&[0.0, 1.0, 2.0], &[0.02; 3]);
    let rows: Vec<(String, &str)> = vec![
        (conditioned(&run(&[0.0, 1.0], &[0.02])), "reading_rad has 1 values but counter_m has 2"),
        (conditioned(&run(&[], &[])), "counter_m: 0 given, at least 2 needed"),
        (conditioned(&run(&[0.0], &[0.02])), "counter_m: 1 given, at least 2 needed"),
        (conditioned(&run(&[0.0, nan], &[0.02; 2])), "counter_m[1]: NaN given, expected a finite number"),
        (conditioned(&run(&[0.0, 1.0], &[f64::INFINITY, 0.0])), "reading_rad[0]: inf given, expected a finite number"),
        (conditioned(&run(&[5.0, 5.0], &[0.02; 2])), "counter_m: a run of 0 m given, expected a run of some length"),
        (
            solved(run(&[0.0, 20_000.0], &[0.02; 2])),
            "counter_m[1]: 20000 given, expected metres of cable, at most 10 km: is the unit right?",
        ),
        (
            solved(run(&[0.0, 1.0], &[0.02, 7.0])),
            "reading_rad[1]: 7 given, expected radians, within a full turn: is it degrees or percent?",
        ),
        (solved(Run { start_station_m: nan, ..good() }), "start_station_m: NaN given, expected metres, within 1000 km"),
        (solved(Run { time_s: Some(vec![0.0]), ..good() }), "time_s has 1 values but counter_m has 3"),
        (solved(Run { time_s: Some(vec![0.0, nan, 2.0]), ..good() }), "time_s[1]: NaN given, expected a finite number"),
        (solved(Run { source_row: Some(vec![1]), ..good() }), "source_row has 1 values but counter_m has 3"),
        (
            text(Lateral::from_segments(vec![0.0, 1.0], vec![0.02, 0.02], Pipe::default()).unwrap_err()),
            "tilt_rad has 2 values but the gaps between breaks_m has 1",
        ),
        (
            text(Chain::new(vec![0.0, 2.0, 1.0], vec![0.02; 2]).unwrap_err()),
            "breaks_m[2]: 1 given, expected more than the one before, 2",
        ),
        (
            text(Lateral::from_inverts(&[0.0, 1.0], &[1.0], None, Pipe::default()).unwrap_err()),
            "invert_m has 1 values but station_m has 2",
        ),
        (
            text(Lateral::from_inverts(&[0.0, 0.0], &[1.0, 0.9], None, Pipe::default()).unwrap_err()),
            "as_built.station_m[1]: 0 given, expected stations that grow by at least 1 mm",
        ),
        (
            text(path::minimum_curvature(&[0.0, 1.0], &[0.02], &[0.0, 0.0]).unwrap_err()),
            "tilt_rad has 1 values but station_m has 2",
        ),
        (
            text(path::minimum_curvature(&[0.0, 2.0, 1.0], &[0.02; 3], &[0.0; 3]).unwrap_err()),
            "station_m[2]: 1 given, expected at least 2, the station before it",
        ),
        (
            text(Bore::circle(nan).unwrap_err()),
            "bore.circle.diameter_m: NaN given, expected an inside size between 0.001 m and 20 m",
        ),
        (
            text(Bore::Circle { diameter_m: 0.1 }.depth_for_area_m(1.0).unwrap_err()),
            "area_m2: 1 given, expected an area from 0 to the full area of 0.007853981633974483 m2",
        ),
        (
            text("fathom".parse::<units::LengthUnit>().unwrap_err()),
            "unit of length \"fathom\" is not known (did you mean \"ft\"?); known: m, cm, mm, ft, us ft, in, yd",
        ),
        (
            text(
                Lateral::solve(Job {
                    report: ReportChoice { draws: 2_000_000, ..ReportChoice::default() },
                    runs: vec![good()],
                    ..Job::default()
                })
                .unwrap_err(),
            ),
            "report.draws: 2000000 given, expected at most 1000000 draws",
        ),
    ];
    let wrong: Vec<_> = rows.iter().filter(|(said, expected)| said != expected).collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
}

const READINGS: &str =
    "[[reading]]\nstation = \"1 m\"\ntilt = \"1 deg\"\n[[reading]]\nstation = \"3 m\"\ntilt = \"1 deg\"\n";

#[test]
fn a_million_notes_are_read_and_a_fault_among_them_is_found() {
    let mut text = READINGS.to_owned();
    let mut json = String::from("{\"reading\": [{\"station\": \"1 m\", \"tilt\": \"1 deg\"}], \"note\": [");
    for i in 0..1_000_000 {
        write!(text, "[[note]]\nstation = \"2 m\"\ntext = \"{i}\"\n").unwrap();
        writeln!(json, "{}{{\"station\": \"2 m\"}}", if i > 0 { "," } else { "" }).unwrap();
    }
    let read = |text: &str| job::read_text(text, "job.toml", &files(""));
    let loaded = within_seconds("a million notes", 120.0, || read(&text)).unwrap();
    assert_eq!(loaded.job.notes.len(), 1_000_000);
    text.push_str("[[note]]\nstaton = \"2 m\"\n");
    let fault = within_seconds("a fault after a million notes", 120.0, || read(&text)).unwrap_err();
    assert_eq!(
        (fault.place.clone(), fault.nearest.as_deref()),
        (Place::Line { line: 3_000_008, column: 1 }, Some("station"))
    );
    json.push_str(",{\"station\": \"2 n\"}]}");
    let fault =
        within_seconds("the same in JSON", 120.0, || job::read_json(&json, "job.json", &files(""))).unwrap_err();
    assert_eq!(
        (fault.place.clone(), fault.field.as_deref()),
        (Place::Line { line: 1_000_001, column: 14 }, Some("note[1000000].station"))
    );
}

#[test]
fn many_ties_are_read_in_time() {
    let mut text = READINGS.to_owned();
    for i in 0..200_000 {
        write!(text, "[[tie]]\nkind = \"level_check\"\nreading = \"0.{:05} deg\"\nsd = \"0 deg\"\n", i % 100_000)
            .unwrap();
    }
    // Each held against each would take minutes.
    let read = || job::read_text(&text, "job.toml", &files(""));
    let loaded = within_seconds("many ties, half of them twice", 60.0, read).unwrap();
    assert_eq!((loaded.job.ties.len(), loaded.warnings.len()), (200_000, 100_000));
}

#[test]
fn long_and_deep_texts_are_refused_in_short_words() {
    let long = "x".repeat(10 << 20);
    let nested = |depth: usize| format!("{}1{}", "[".repeat(depth), "]".repeat(depth));
    let objects = |depth: usize| format!("{}1{}", "{\"a\":".repeat(depth), "}".repeat(depth));
    let texts = [
        format!("{{\"survey\": {{\"{long}\": 1}}}}"),
        format!("{{\"tailwater\": \"{long}\"}}"),
        format!("{{\"reading\": [{{\"station\": \"1 m\", \"tilt\": \"1{long}\"}}]}}"),
        format!("{{\"report\": {{\"draws\": 1{}}}}}", "0".repeat(1 << 20)),
        format!("{{\"run\": {}}}", nested(1_000_000)),
        format!("{{\"run\": {}}}", objects(1_000_000)),
        nested(100),
        objects(79),
    ];
    for text in texts {
        let fault =
            within_seconds("a long or deep text", 60.0, || job::read_json(&text, "job.json", &files(""))).unwrap_err();
        let said = fault.to_string();
        assert!(said.len() < 3000 && matches!(fault.place, Place::Line { line: 1, .. }), "{said:.300}");
    }
    // A long text that is fine is kept whole.
    let text = format!("{READINGS}[survey]\ntitle = \"{long}\"\n");
    let loaded = within_seconds("a title of 10 MB", 60.0, || job::read_text(&text, "job.toml", &files(""))).unwrap();
    assert_eq!(loaded.job.survey.title.map(|t| t.len()), Some(10 << 20));
}

// What a job may read

#[test]
fn names_that_mean_something_else_somewhere_are_refused() {
    let folder = std::env::temp_dir().join(format!("fallwise-names-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let resolver = FolderResolver::new(&folder).unwrap();
    let long_part = "a".repeat(256);
    let long_name = "a/".repeat(2100) + "a";
    for (name, said) in [
        ("", "outside"),
        ("/", "outside"),
        ("/etc/passwd", "outside"),
        ("//server/share", "outside"),
        ("..", "outside"),
        ("../x", "outside"),
        ("a/../x", "outside"),
        ("a/..", "outside"),
        ("..\\x", "outside"),
        ("C:x", "outside"),
        ("C:\\x", "outside"),
        ("file:///etc/passwd", "outside"),
        ("log.csv:stream", "outside"),
        ("a\0b", "outside"),
        ("a\nb", "control character"),
        ("log.csv.", "ends in a dot"),
        ("log.csv ", "ends in a dot"),
        ("logs./1.csv", "ends in a dot"),
        ("... /x", "ends in a dot"),
        ("logs/", "ends in a dot"),
        ("NUL", "device"),
        ("nul.csv", "device"),
        ("logs/Com1.txt", "device"),
        ("aux .csv", "device"),
        ("LPT9", "device"),
        ("com\u{b9}", "device"),
        ("CONIN$", "device"),
        (&long_part, "too long"),
        (&long_name, "too long"),
    ] {
        for resolver in [&resolver as &dyn Resolver, &MemoryResolver::default()] {
            let fault = resolver.read(name).unwrap_err().to_string();
            assert!(fault.contains(said) && fault.len() < 400, "{name:?}: {fault}");
        }
        // A log, a rulebook and a photo are all named under the same rule.
        let quoted = serde_json::to_string(name).unwrap();
        for key in [
            "\"run\": [{\"log\": NAME}]",
            "\"rules\": {\"file\": NAME}",
            "\"note\": [{\"station\": \"1 m\", \"photo\": NAME}]",
        ] {
            let text = format!(
                "{{\"as_built\": [{{\"station\": \"0 m\", \"invert\": \"0 m\"}}], {}}}",
                key.replace("NAME", &quoted)
            );
            let fault = job::read_json(&text, "job.json", &resolver).unwrap_err();
            assert!(fault.to_string().contains(said) && matches!(fault.place, Place::Line { .. }), "{name:?}: {fault}");
        }
    }
    // Names that only look so.
    for name in ["nulls.csv", "com.csv", "com10.csv", "...a", ".hidden", "a..b", "é.csv", "log.csv"] {
        let fault = resolver.read(name).unwrap_err().to_string();
        assert!(fault.contains("cannot read it"), "{name:?}: {fault}");
    }
    std::fs::remove_dir_all(folder).unwrap();
}

#[cfg(unix)]
#[test]
fn links_pipes_devices_and_huge_files_are_refused_at_once() {
    use std::{fs, os::unix::fs::symlink, process::Command};
    let outer = std::env::temp_dir().join(format!("fallwise-links-{}", std::process::id()));
    let inner = outer.join("in");
    fs::create_dir_all(inner.join("sub")).unwrap();
    fs::write(outer.join("secret"), "secret").unwrap();
    fs::write(inner.join("sub/log.csv"), "log").unwrap();
    let link = |to: &str, name: &str| symlink(to, inner.join(name)).unwrap();
    link("../secret", "file");
    link("..", "folder");
    link("chain-2", "chain-1");
    link("sub/../file", "chain-2");
    link("loop-2", "loop-1");
    link("loop-1", "loop-2");
    link("/dev/zero", "zero");
    link("/dev/tty", "tty");
    link("/proc/self/environ", "environ");
    link("sub/log.csv", "fine");
    link("nowhere", "nowhere-link");
    symlink(inner.join("sub/log.csv"), inner.join("absolute")).unwrap();
    assert!(Command::new("mkfifo").arg(inner.join("fifo")).status().unwrap().success());
    fs::File::create(inner.join("huge")).unwrap().set_len(300 << 20).unwrap();

    let resolver = FolderResolver::new(&inner).unwrap();
    for (name, said) in [
        ("file", "outside its own folder"),
        ("folder/secret", "outside its own folder"),
        ("folder/in/sub/log.csv", "outside its own folder"),
        ("chain-1", "outside its own folder"),
        ("loop-1", "cannot read it"),
        ("zero", "outside its own folder"),
        ("tty", "outside its own folder"),
        ("environ", "outside its own folder"),
        ("absolute", "outside its own folder"),
        ("nowhere-link", "cannot read it"),
        ("fifo", "is not a plain file"),
        ("sub", "is not a plain file"),
        ("huge", "the file is too large; expected at most 256 MiB"),
        ("sub/log.csv/x", "cannot read it"),
    ] {
        let fault = within_seconds(name, 10.0, || resolver.read(name)).unwrap_err().to_string();
        assert!(fault.contains(said), "{name}: {fault}");
    }
    assert_eq!(resolver.read("fine").unwrap(), b"log");

    // A job that is itself a pipe or a device does not hang either.
    for name in ["fifo", "zero", "sub", "huge"] {
        within_seconds(name, 10.0, || job::read(&inner.join(name))).unwrap_err();
    }

    // A link that is swapped while it is read leads nowhere.
    let done = std::sync::atomic::AtomicBool::new(false);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            while !done.load(std::sync::atomic::Ordering::Relaxed) {
                for to in ["sub/log.csv", "../secret", "fifo"] {
                    symlink(to, inner.join("next")).unwrap();
                    fs::rename(inner.join("next"), inner.join("swapped")).unwrap();
                }
            }
        });
        let mut read = 0;
        // On a machine with more to do the other thread may not come to its turn for a while.
        for tried in 0..2_000_000 {
            if tried >= 20_000 && read > 0 {
                break;
            }
            if let Ok(bytes) = resolver.read("swapped") {
                assert_eq!(bytes, b"log");
                read += 1;
            }
        }
        done.store(true, std::sync::atomic::Ordering::Relaxed);
        assert!(read > 0);
    });
    // The folder is held, not its name.
    fs::rename(&inner, outer.join("moved")).unwrap();
    symlink(&outer, &inner).unwrap();
    assert!(resolver.read("secret").is_err());
    assert_eq!(resolver.read("sub/log.csv").unwrap(), b"log");
    fs::remove_dir_all(outer).unwrap();
}

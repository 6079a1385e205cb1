//! The text of a job, kept to say where in it a fault lies and what was typed there.
//!
//! The text is read into its tree again only when there is a fault: a job without one pays nothing but the text.

use fallwise::{Error, Job, answers::InputRow, condition::condition, model::Tie};

use super::{
    Loaded,
    fault::{Fault, Parts},
    tie,
    tree::{self, Node},
};
use crate::{
    digest::input,
    error::{FileError, Place, shown},
};

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Syntax {
    Toml,
    Json,
}

/// A job's text, with its name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Source {
    text: String,
    name: String,
    syntax: Syntax,
}

impl Source {
    pub(super) fn new(text: &str, name: &str, syntax: Syntax) -> Self {
        Self { text: text.to_owned(), name: name.to_owned(), syntax }
    }

    /// What proves which text it was.
    pub(super) fn input(&self) -> InputRow {
        input("job", &self.name, self.text.as_bytes())
    }

    pub(super) fn tree(&self) -> Result<Node<'_>, Fault> {
        match self.syntax {
            Syntax::Toml => tree::from_toml(&self.text),
            Syntax::Json => tree::from_json(&self.text),
        }
    }

    /// A fault with its place in the text, and what stands there.
    pub(super) fn error(&self, fault: Fault) -> FileError {
        let Parts { at, path, problem, value, expected, nearest } = *fault.0;
        let found = if at.is_none() && !path.is_empty() { self.find(&[path.as_str()]) } else { None };
        let place = match (at, &found) {
            (Some(byte), _) => self.place(byte),
            (None, Some(found)) => found.place.clone(),
            (None, None) => Place::File,
        };
        let mut error = FileError::new(place, problem).in_file(self.name.as_str());
        if !path.is_empty() {
            error = error.field(shown(&path));
        }
        if let Some(value) = value.or(found.and_then(|f| f.typed)) {
            error = error.value(value);
        }
        if let Some(expected) = expected {
            error = error.expected(expected);
        }
        match nearest {
            Some(nearest) => error.nearest_is(nearest),
            None => error,
        }
    }

    /// An error of the core at a path of keys.
    pub(super) fn core(&self, path: &str, error: Error) -> FileError {
        let place = self.find(&[path]).map_or(Place::File, |found| found.place);
        FileError::from_core(place, error).in_file(self.name.as_str()).field(path)
    }

    /// An error of solving, at the key or the row of the log that it comes from.
    pub(super) fn solving(&self, error: Error, loaded: &Loaded) -> FileError {
        if let Some(error) = in_log(&error, loaded) {
            return error;
        }
        let mut paths = paths(&error, &loaded.job);
        if self.tree().is_ok_and(|tree| tree.find(tie::SHORT_FORM).1) {
            paths = paths.iter().map(|path| behind_short_form(path)).collect();
        }
        let found = self.find(&paths.iter().map(String::as_str).collect::<Vec<_>>());
        let place = found.as_ref().map_or(Place::File, |f| f.place.clone());
        let mut told = match &error {
            // The key of the job stands for the field of the core.
            Error::Value { value, expected, .. } if found.is_some() => {
                FileError::new(place, format!("{value} given, expected {expected}")).with_core(error)
            }
            _ => FileError::from_core(place, error),
        }
        .in_file(self.name.as_str());
        if let Some(found) = found {
            told = told.field(found.path);
            if let Some(typed) = found.typed {
                told = told.typed(typed);
            }
        }
        told
    }

    /// The first of the paths that is in the text; else where the first one would stand.
    fn find(&self, paths: &[&str]) -> Option<Found> {
        let tree = self.tree().ok()?;
        let path = paths.iter().find(|path| tree.find(path).1).or(paths.first())?;
        let (node, there) = tree.find(path);
        // The root has no place of its own.
        let place = if core::ptr::eq(node, &raw const tree) { Place::File } else { self.place(node.span.start) };
        let typed = node.said().filter(|_| there).map(std::borrow::Cow::into_owned);
        Some(Found { path: (*path).to_owned(), place, typed })
    }

    /// Line and column of a byte.
    fn place(&self, byte: usize) -> Place {
        let mut byte = byte.min(self.text.len());
        while !self.text.is_char_boundary(byte) {
            byte -= 1;
        }
        let before = self.text.get(..byte).unwrap_or_default();
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        Place::Line {
            line: 1 + before.matches('\n').count(),
            column: 1 + before.get(line_start..).unwrap_or_default().chars().count(),
        }
    }
}

struct Found {
    path: String,
    place: Place,
    typed: Option<String>,
}

/// The run that conditioning refuses, by trying again, and the index of the reading at fault.
fn refused_run(error: &Error, job: &Job) -> Option<usize> {
    let of_run = match error {
        Error::Value { field, .. } | Error::TooFew { field, .. } | Error::Length { field, .. } => {
            matches!(field.as_str(), "counter_m" | "reading_rad" | "time_s" | "source_row" | "start_station_m")
                || field.contains("of the run")
        }
        _ => false,
    };
    if !of_run {
        return None;
    }
    let bends: Vec<f64> = job.bends.iter().map(|b| b.station_m).collect();
    job.runs.iter().position(|run| condition(run, &job.instrument, &bends).as_ref() == Err(error))
}

/// An error in the readings of a log, by the log's row.
fn in_log(error: &Error, loaded: &Loaded) -> Option<FileError> {
    let run = refused_run(error, &loaded.job)?;
    let log = loaded.logs.iter().find(|log| log.run == run)?;
    let place = match error {
        // The start is the job's.
        Error::Value { field, .. } if field == "start_station_m" => return None,
        Error::Value { index: Some(index), .. } => {
            let row = loaded.job.runs.get(run).and_then(|r| r.source_row.as_ref()?.get(*index).copied());
            row.map_or(Place::File, Place::Row)
        }
        _ => Place::File,
    };
    Some(FileError::from_core(place, error.clone()).in_file(log.name.as_str()))
}

/// The keys of the job that an error of the core comes from, the likeliest first.
fn paths(error: &Error, job: &Job) -> Vec<String> {
    match error {
        Error::Value { field, index, .. } => value_paths(field, *index, error, job),
        Error::Outside { what, station_m, .. } => placed(what, *station_m, job),
        Error::Overlap { what, second_m, .. } => placed(what, *second_m, job),
        Error::BendTooSmall { station_m, .. } => {
            placed("bend", *station_m, job).iter().map(|p| p.replace(".station", ".deflection")).collect()
        }
        Error::NoReading { from_m, to_m } => {
            [placed("break", *to_m, job), placed("break", *from_m, job), placed("reaches", *to_m, job)].concat()
        }
        Error::TooFew { .. } | Error::Length { .. } => match refused_run(error, job) {
            Some(run) => run_paths(run, "log", None, job),
            None if job.runs.is_empty() => vec!["as_built".to_owned()],
            None => Vec::new(),
        },
        _ => Vec::new(),
    }
}

/// Keys of a field as the core names it, such as `run.start_invert_m` or `counter_m`.
fn value_paths(field: &str, index: Option<usize>, error: &Error, job: &Job) -> Vec<String> {
    if let Some(run) = refused_run(error, job) {
        return run_paths(run, key(field), index, job);
    }
    let Some((table, rest)) = field.split_once('.') else {
        return vec![key(field).to_owned()];
    };
    if table == "relay" {
        return relay_paths(rest, index);
    }
    if let ("tie" | "ties", Some(index)) = (table, index) {
        return vec![format!("tie[{index}].{}", tie_key(rest)), format!("tie[{index}]")];
    }
    let table = match index {
        Some(index) => format!("{table}[{index}]"),
        None => table.to_owned(),
    };
    let keys: &[&str] =
        match (key(rest).trim_start_matches("bore.circle.").trim_start_matches("bore.ellipse."), table.as_str()) {
            ("diameter", _) => &["pipe.bore", "pipe.size", "pipe"],
            ("width", _) => &["pipe.bore_width", "pipe"],
            ("height", _) => &["pipe.bore_height", "pipe"],
            ("pipe.nominal", _) => &["pipe.nominal", "pipe.size", "pipe"],
            ("breaks", _) => &["breaks", "method"],
            (plain, _) => return vec![format!("{table}.{plain}")],
        };
    keys.iter().map(|key| format!("{table}.{key}")).collect()
}

/// Keys of a field of what a plan of re-laying is asked for: lists have the name of one of them, costs that of their unit.
fn relay_paths(field: &str, index: Option<usize>) -> Vec<String> {
    let (list, rest) = field.split_once('.').map_or((field, None), |(list, rest)| (list, Some(rest)));
    let table = match list {
        "surfaces" => "surface",
        "connections" => "connection",
        other => key(other),
    };
    let place = index.map_or_else(|| format!("relay.{table}"), |index| format!("relay.{table}[{index}]"));
    match rest {
        Some("per_m") => vec![format!("{place}.per_length"), place],
        Some("per_m_depth") => vec![format!("{place}.per_length_and_depth"), place],
        Some(rest) => vec![format!("{place}.{}", key(rest)), place],
        None => vec![place],
    }
}

/// Keys of a run, or of the readings by hand if it is theirs.
fn run_paths(run: usize, key: &str, index: Option<usize>, job: &Job) -> Vec<String> {
    let by_hand = job.runs.get(run).is_some_and(|r| r.by_hand && r.source_row.is_none());
    match (key, index) {
        ("counter", Some(i)) if by_hand => vec![format!("reading[{i}].station")],
        ("reading", Some(i)) if by_hand => vec![format!("reading[{i}].tilt"), format!("reading[{i}].slope")],
        ("start_station", _) => vec![format!("run[{run}].start_station"), format!("run[{run}]")],
        _ if by_hand => vec!["reading".to_owned()],
        _ => vec![format!("run[{run}].log")],
    }
}

/// Keys of whatever is placed at a station.
fn placed(what: &str, at_m: f64, job: &Job) -> Vec<String> {
    let is = |station_m: f64| station_m.total_cmp(&at_m).is_eq();
    let all = |table: &str, key: &str, stations: &mut dyn Iterator<Item = f64>| {
        let found: Vec<usize> = stations.enumerate().filter(|(_, s)| is(*s)).map(|(i, _)| i).collect();
        // Of two in one place the later one is too many.
        found.last().map(|i| format!("{table}[{i}]{key}")).into_iter().collect::<Vec<_>>()
    };
    if what.split(' ').any(|word| word == "tie") {
        let of_tie = |tie: &Tie| <[_; 2]>::from(tie.stations_m()).into_iter().flatten().any(is);
        job.ties.iter().rposition(of_tie).map(|i| format!("tie[{i}]")).into_iter().collect()
    } else if what.contains("bend") {
        all("bend", ".station", &mut job.bends.iter().map(|b| b.station_m))
    } else if what.contains("step") {
        all("step", ".station", &mut job.steps.iter().map(|s| s.station_m))
    } else if what.contains("reach") {
        all("reach", ".from", &mut job.reaches.iter().map(|r| r.from_m))
    } else if let ("break" | "a break of segments", fallwise::model::SegmentChoice::Given { breaks_m }) =
        (what, &job.segments)
    {
        all("segments.breaks", "", &mut breaks_m.iter().copied())
    } else {
        Vec::new()
    }
}

/// A field's key: its name without the unit.
fn key(field: &str) -> &str {
    ["_m2_s", "_m3_s", "_m_s", "_pa", "_m", "_rad", "_s"]
        .iter()
        .find_map(|unit| field.strip_suffix(unit))
        .unwrap_or(field)
}

/// A tie's key: that of its field, or of a field of a place, such as `from.sd_m`.
fn tie_key(field: &str) -> String {
    let (of, last) = field.rsplit_once('.').unwrap_or(("", field));
    match (of.rsplit('.').next().unwrap_or_default(), key(last)) {
        ("at", "station") => "station".to_owned(),
        ("at", "sd") => "station_sd".to_owned(),
        (place @ ("from" | "to" | "edge"), "station") => place.to_owned(),
        (place @ ("from" | "to" | "edge"), "sd") => format!("{place}_sd"),
        (_, plain) => plain.to_owned(),
    }
}

/// The path where the short form of a reversal check is the first of the job's ties.
fn behind_short_form(path: &str) -> String {
    let place = path.strip_prefix("tie[").and_then(|rest| rest.split_once(']'));
    match place.and_then(|(index, rest)| Some((index.parse::<usize>().ok()?, rest))) {
        Some((0, rest)) => format!("{}{rest}", tie::SHORT_FORM),
        Some((index, rest)) => format!("tie[{}]{rest}", index - 1),
        None => path.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_of_ties_are_told_by_their_keys() {
        for (field, key) in [
            ("elevation_m", "elevation"),
            ("sd_rad", "sd"),
            ("at.station_m", "station"),
            ("known.at.sd_m", "station_sd"),
            ("from.station_m", "from"),
            ("to.sd_m", "to_sd"),
            ("edge.sd_m", "edge_sd"),
            ("to_m", "to"),
            ("level_sd_m", "level_sd"),
        ] {
            assert_eq!(tie_key(field), key);
        }
    }

    #[test]
    fn the_short_form_is_the_first_tie() {
        assert_eq!(behind_short_form("tie[0].sd"), "instrument.reversal_check.sd");
        assert_eq!(behind_short_form("tie[12].sd"), "tie[11].sd");
        assert_eq!(behind_short_form("bend[0].station"), "bend[0].station");
    }
}

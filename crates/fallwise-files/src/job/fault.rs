//! Faults that the TOML and JSON readers find, with their place and in the words of [`FileError`].

use crate::error::{FileError, Place, shown};

/// A fault of the TOML reader, in `text`.
pub(super) fn from_toml(mut error: toml::de::Error, text: &str) -> FileError {
    let span = error.span();
    let place = span.as_ref().map_or(Place::File, |s| place_of(text, s.start));
    let value = span.and_then(|s| text.get(s)).map(|v| v.trim_matches(['"', '\'']).to_owned());
    let message = error.message().to_owned();
    // Without its input the error prints the path of keys it arose at, which it does not give otherwise.
    error.set_input(None);
    let printed = error.to_string();
    let path = printed.rsplit_once("\nin `").map(|(_, p)| p.trim_end().trim_end_matches('`').to_owned());
    // A word without quotes is first tried as a number, whose message would mislead.
    let bare_word = |v: &String| message.starts_with("invalid") && path.is_none() && v.starts_with(char::is_alphabetic);
    if let Some(word) = value.as_ref().filter(|v| bare_word(v)) {
        return FileError::new(place, format!("\"{}\" is no value", shown(word)))
            .value(word.as_str())
            .expected("text in quotes, a number, true or false");
    }
    let mut fault = told(place, &message, path);
    if let (None, Some(value)) = (&fault.value, value.filter(|v| !v.is_empty() && !v.contains('\n'))) {
        fault = fault.value(value);
    }
    fault
}

/// A fault of the JSON reader.
pub(super) fn from_json(error: &serde_json::Error, text: &str) -> FileError {
    let message = error.to_string();
    let message = message.rsplit_once(" at line ").map_or(message.as_str(), |(message, _)| message);
    told(json_place(text, error.line(), error.column()), message, None)
}

/// Place of the JSON reader, which counts columns in bytes, and a line's end as column 0 of the next.
fn json_place(text: &str, line: usize, column: usize) -> Place {
    let Some(there) = line.checked_sub(1).and_then(|before| text.split('\n').nth(before)) else { return Place::File };
    let column = there.char_indices().take_while(|(byte, _)| *byte < column).count();
    Place::Line { line, column: column.max(1) }
}

/// Line and column of a byte.
pub(super) fn place_of(text: &str, byte: usize) -> Place {
    let before = text.get(..byte).unwrap_or(text);
    let line_start = before.rfind('\n').map_or(0, |at| at + 1);
    let line = 1 + before.matches('\n').count();
    Place::Line { line, column: 1 + before.get(line_start..).unwrap_or_default().chars().count() }
}

/// The message of a reader: unknown keys and words get the nearest known one, missing keys their own words.
fn told(place: Place, message: &str, path: Option<String>) -> FileError {
    let mut quoted = message.split('`').skip(1).step_by(2);
    let in_table = |path: Option<String>, key: &str| {
        let path = path?;
        let table = path.strip_suffix(key).map_or(path.as_str(), |p| p.trim_end_matches('.'));
        (!table.is_empty()).then(|| table.to_owned())
    };
    let (fault, field) = if message.starts_with("unknown field") {
        let key = quoted.next().unwrap_or_default();
        let known: Vec<&str> = quoted.collect();
        let fault = FileError::new(place, format!("key \"{}\" is not known", shown(key)))
            .value(key)
            .nearest(key, known.iter().copied())
            .expected(one_of(&known));
        (fault, in_table(path, key))
    } else if message.starts_with("unknown variant") {
        let word = quoted.next().unwrap_or_default();
        let known: Vec<&str> = quoted.collect();
        let fault = FileError::new(place, format!("\"{}\" is not known", shown(word)))
            .value(word)
            .nearest(word, known.iter().copied())
            .expected(one_of(&known));
        (fault, path)
    } else if message.starts_with("missing field") {
        let key = quoted.next().unwrap_or_default();
        (FileError::new(place, format!("key \"{key}\" is missing")), path)
    } else if message.starts_with("invalid type: map, expected a string") {
        // A date without quotes is a value of its own kind in TOML, read as a map.
        (FileError::new(place, "text must stand in quotes").expected("such as \"2024-05-01 10:00 +02:00\""), path)
    } else {
        // A message may hold the whole of a value, and what no screen should be sent.
        const LONGEST: usize = 500;
        let plain = |c: char| if c.is_control() && c != '\n' { ' ' } else { c };
        let mut said: String = message.trim_end().chars().take(LONGEST).map(plain).collect();
        if message.trim_end().chars().nth(LONGEST).is_some() {
            said.push('…');
        }
        (FileError::new(place, said), path)
    };
    match field {
        Some(field) => fault.field(shown(&field)),
        None => fault,
    }
}

fn one_of(known: &[&str]) -> String {
    match known {
        [only] => (*only).to_owned(),
        _ => format!("one of {}", known.join(", ")),
    }
}

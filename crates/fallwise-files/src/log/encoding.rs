//! From the bytes of a log to its text, with one kind of line end.

use std::borrow::Cow;

use encoding_rs::{UTF_16BE, UTF_16LE, WINDOWS_1252};

use super::{Encoding, LogFormat, header};
use crate::error::{FileError, Place, shown};

/// How much of a log is looked at to tell UTF-16 without a byte order mark.
const LOOKED_AT: usize = 4096;

/// A log as text.
pub(super) struct Decoded<'a> {
    /// Without a byte order mark; lines end in a line feed, with or without a carriage return before it.
    pub(super) text: Cow<'a, str>,
    /// Whether it was found to be UTF-16.
    pub(super) found_utf16: bool,
}

#[derive(Clone, Copy, PartialEq)]
enum Order {
    Little,
    Big,
}

/// Decodes a log: in the encoding given, or in UTF-8 or UTF-16, which show themselves. Old code pages do not, and are
/// read only when the format says so.
pub(super) fn decode<'a>(bytes: &'a [u8], format: &LogFormat) -> Result<Decoded<'a>, FileError> {
    let (mark, rest) = match bytes {
        [0xFF, 0xFE, rest @ ..] => (Some((Encoding::Utf16, Order::Little)), rest),
        [0xFE, 0xFF, rest @ ..] => (Some((Encoding::Utf16, Order::Big)), rest),
        [0xEF, 0xBB, 0xBF, rest @ ..] => (Some((Encoding::Utf8, Order::Little)), rest),
        _ => (None, bytes),
    };
    // In Latin-1 a byte order mark is text too, but none that begins a log.
    if let (Some((marked, _)), Some(given)) = (mark, format.encoding)
        && marked != given
    {
        return Err(FileError::new(
            Place::File,
            format!("the log begins with the byte order mark of {}", marked.word()),
        )
        .field("encoding")
        .value(given.word())
        .expected(format!("encoding = \"{}\" in the job, or none", marked.word())));
    }
    let order = mark.map(|m| m.1).or_else(|| order_of_utf16(rest, format.encoding.is_some()));
    let (text, found_utf16) = match (mark.map(|m| m.0).or(format.encoding), order) {
        (Some(Encoding::Latin1), _) => (WINDOWS_1252.decode_without_bom_handling(rest).0, false),
        (Some(Encoding::Utf16), Some(order)) => (utf16(rest, order)?, format.encoding.is_none()),
        (Some(Encoding::Utf16), None) => {
            return Err(FileError::new(
                Place::File,
                "the log is not UTF-16: it has neither a byte order mark nor bytes of 0",
            )
            .field("encoding")
            .expected("encoding = \"utf-8\" or \"latin-1\" in the job"));
        }
        (None, Some(order)) => (utf16(rest, order)?, true),
        (Some(Encoding::Utf8), _) | (None, None) => {
            let text = core::str::from_utf8(rest).map_err(|e| {
                // What holds zeros is in no code page either.
                no_zeros(rest).err().unwrap_or_else(|| not_utf8(rest, e.valid_up_to(), format))
            })?;
            (Cow::Borrowed(text), false)
        }
    };
    no_zeros(text.as_bytes())?;
    Ok(Decoded { text: with_line_feeds(text), found_utf16 })
}

/// Refuses bytes of 0, which no text has.
fn no_zeros(bytes: &[u8]) -> Result<(), FileError> {
    // `contains` is much the quicker where there are none, which is nearly always.
    let at = if bytes.contains(&0) { bytes.iter().position(|&b| b == 0) } else { None };
    let Some(at) = at else { return Ok(()) };
    Err(FileError::new(
        Place::Row(row_at(bytes, at)),
        "a byte of 0, which is no text: the log was cut off while it was written, or is in another encoding",
    )
    .expected("the log without what follows, or saved again in UTF-8"))
}

/// Which byte of UTF-16 without a byte order mark comes first: where every second byte is 0 and none of the others; if
/// the encoding is given, where most are.
fn order_of_utf16(bytes: &[u8], given: bool) -> Option<Order> {
    let start = bytes.get(..LOOKED_AT).unwrap_or(bytes);
    let mut zeros = [0, 0];
    for pair in start.chunks_exact(2) {
        for (count, byte) in zeros.iter_mut().zip(pair) {
            *count += usize::from(*byte == 0);
        }
    }
    let pairs = start.len() / 2;
    match zeros {
        [0, odd] if odd > 0 && (given || odd == pairs) => Some(Order::Little),
        [even, 0] if even > 0 && (given || even == pairs) => Some(Order::Big),
        [even, odd] if given && even != odd => Some(if even < odd { Order::Little } else { Order::Big }),
        _ => None,
    }
}

fn utf16(bytes: &[u8], order: Order) -> Result<Cow<'_, str>, FileError> {
    let encoding = match order {
        Order::Little => UTF_16LE,
        Order::Big => UTF_16BE,
    };
    encoding.decode_without_bom_handling_and_without_replacement(bytes).ok_or_else(|| {
        // Where it breaks off: decoded with a mark in place of what is wrong, which no log has of itself before it.
        let (text, _) = encoding.decode_without_bom_handling(bytes);
        let at = text.find('\u{fffd}').unwrap_or(text.len());
        FileError::new(Place::Row(row_at(text.as_bytes(), at)), "half a character of UTF-16")
            .expected("the whole log, or the log saved again in UTF-8")
    })
}

/// Line of a byte, from 1, where lines may end in any of the three ways.
fn row_at(bytes: &[u8], at: usize) -> usize {
    let before = bytes.get(..at).unwrap_or_default();
    let ends = |i: usize, b: u8| b == b'\n' || b == b'\r' && bytes.get(i + 1) != Some(&b'\n');
    1 + before.iter().enumerate().filter(|(i, b)| ends(*i, **b)).count()
}

#[cold]
fn not_utf8(bytes: &[u8], at: usize, format: &LogFormat) -> FileError {
    let byte = bytes.get(at).copied().unwrap_or_default();
    let row = row_at(bytes, at);
    // Read as Latin-1 the columns can be told.
    let latin = |bytes| with_line_feeds(WINDOWS_1252.decode_without_bom_handling(bytes).0);
    let text = latin(bytes);
    let place = format
        .delimiter
        .or_else(|| header::find_delimiter(&text))
        .and_then(|delimiter| column_at(&text, latin(bytes.get(..at).unwrap_or_default()).len(), delimiter.byte()))
        .map_or(Place::Row(row), |column| Place::Cell { row, column: shown(&column) });
    let letter = WINDOWS_1252.decode_without_bom_handling(&[byte]).0.chars().find(|c| !c.is_control());
    let letter = letter.map(|c| format!("; in Latin-1 it is \"{c}\"")).unwrap_or_default();
    FileError::new(place, format!("byte 0x{byte:02X} is not UTF-8{letter}"))
        .value(format!("0x{byte:02X}"))
        .expected("the log saved again in UTF-8, or encoding = \"latin-1\" in the job")
}

/// The header's name of the column that a byte of the text stands in; none in a comment.
fn column_at(text: &str, at: usize, delimiter: u8) -> Option<String> {
    let mut csv = csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .comment(Some(b'#'))
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes());
    let mut header = csv::StringRecord::new();
    csv.read_record(&mut header).ok().filter(|read| *read)?;
    let line = text.get(..at)?.rfind('\n').map_or(0, |end| end + 1);
    if text.get(line..)?.starts_with('#') {
        return None;
    }
    // With a letter in place of the byte, so that a cell that begins with it is there.
    let before = format!("{}x", text.get(line..at)?);
    let mut part =
        csv::ReaderBuilder::new().delimiter(delimiter).has_headers(false).flexible(true).from_reader(before.as_bytes());
    let mut cells = csv::StringRecord::new();
    part.read_record(&mut cells).ok().filter(|read| *read)?;
    header.get(cells.len() - 1).map(|name| name.trim().to_owned())
}

/// The text with a line feed for every carriage return that stands alone.
fn with_line_feeds(text: Cow<'_, str>) -> Cow<'_, str> {
    let mut after = text.as_bytes().split(|&b| b == b'\r').skip(1);
    // The last part is empty where the text ends in a carriage return.
    if after.all(|rest| rest.first() == Some(&b'\n')) {
        return text;
    }
    let mut new = String::with_capacity(text.len());
    let mut rest: &str = &text;
    while let Some((line, after)) = rest.split_once('\r') {
        new.push_str(line);
        new.push(if after.starts_with('\n') { '\r' } else { '\n' });
        rest = after;
    }
    new.push_str(rest);
    Cow::Owned(new)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn carriage_returns_alone_become_line_feeds() {
        for (text, expected) in
            [("a\rb\r", "a\nb\n"), ("a\r\nb\r\n", "a\r\nb\r\n"), ("a\r\r\nb\n\r", "a\n\r\nb\n\n"), ("", "")]
        {
            assert_eq!(with_line_feeds(Cow::Borrowed(text)), expected, "{text:?}");
        }
    }

    #[test]
    fn rows_are_counted_at_any_line_end() {
        assert_eq!(row_at(b"a\rb\r\nc\nd", 8), 4);
        assert_eq!(row_at(b"a", 0), 1);
    }
}

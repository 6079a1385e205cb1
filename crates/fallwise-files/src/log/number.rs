//! Numbers in cells, with a decimal point or comma, and moments in time.

/// Reads a plain decimal number with `mark` before its fraction: sign, digits, exponent; no grouping, no words such as
/// `nan`. Correctly rounded.
pub(crate) fn decimal(cell: &[u8], mark: u8) -> Option<f64> {
    // Up to 15 digits and 22 decimals a double holds mantissa and power of ten exactly, so that one division rounds
    // correctly (W. D. Clinger, How to read floating point numbers accurately, 1990).
    const POWERS: [f64; 23] = [
        1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19,
        1e20, 1e21, 1e22,
    ];
    let (negative, digits) = match cell {
        [b'-', rest @ ..] => (true, rest),
        [b'+', rest @ ..] => (false, rest),
        _ => (false, cell),
    };
    let mut mantissa = 0_u64;
    let (mut count, mut decimals, mut marked) = (0_usize, 0_usize, false);
    for &byte in digits {
        match byte {
            b'0'..=b'9' if count < 15 => {
                mantissa = mantissa * 10 + u64::from(byte - b'0');
                count += 1;
                decimals += usize::from(marked);
            }
            _ if byte == mark && !marked => marked = true,
            _ => return general(cell, mark),
        }
    }
    if count == 0 {
        return None;
    }
    let value = mantissa as f64 / POWERS.get(decimals)?;
    Some(if negative { -value } else { value })
}

/// The same for long numbers and exponents, by the standard library.
#[cold]
fn general(cell: &[u8], mark: u8) -> Option<f64> {
    let known = |b: &u8| b.is_ascii_digit() || matches!(b, b'+' | b'-' | b'e' | b'E') || *b == mark;
    if !cell.iter().all(known) {
        return None;
    }
    let text: String = cell.iter().map(|&b| if b == mark { '.' } else { char::from(b) }).collect();
    text.parse().ok().filter(|v: &f64| v.is_finite())
}

/// Whether the commas of a number may as well group thousands: `1,234` but not `0,123` or `1,23`.
pub(super) fn may_group(cell: &[u8]) -> bool {
    let digits = cell.strip_prefix(b"-").or_else(|| cell.strip_prefix(b"+")).unwrap_or(cell);
    let mut parts = digits.split(|&b| b == b',');
    let leads = parts.next().is_some_and(|p| matches!(p.len(), 1..=3) && p.first() != Some(&b'0'));
    leads && parts.all(|p| p.len() == 3)
}

/// Reads a time of day or a span (`01:02:03.5`, `02:03`), or a date and time (`2024-05-01T10:00:03+02:00`), as seconds
/// from midnight, from zero, or from 1970 in UTC (a date without a zone counts as UTC).
pub(super) fn clock(cell: &str) -> Option<f64> {
    let Some((date, time)) = cell.split_once(['T', ' ']).filter(|(date, _)| date.contains('-')) else {
        return clock_of_day(cell);
    };
    let time = time.trim();
    let (time, zone_s) = match time.strip_suffix('Z') {
        Some(time) => (time, 0.0),
        None => match time.rfind(['+', '-']) {
            Some(at) => {
                let (time, zone) = time.split_at(at);
                let sign = if zone.starts_with('-') { -1.0 } else { 1.0 };
                // `02:00` as a clock is 2 minutes; as a zone, 2 hours.
                (time, sign * 60.0 * clock_of_day(zone.get(1..)?)?)
            }
            None => (time, 0.0),
        },
    };
    Some(days_from_1970(date)? * 86400.0 + clock_of_day(time)? - zone_s)
}

/// A time of day or a span, `01:02:03.5` or `02:03`, s.
pub(crate) fn clock_of_day(text: &str) -> Option<f64> {
    let mut seconds = 0.0;
    let mut parts = 0;
    for part in text.split(':') {
        if !part.starts_with(|c: char| c.is_ascii_digit()) {
            return None;
        }
        // A comma before the fraction is one of the two forms of ISO 8601.
        let value = decimal(part.as_bytes(), b'.').or_else(|| decimal(part.as_bytes(), b','))?;
        if parts > 0 && value >= 60.0 {
            return None;
        }
        seconds = seconds * 60.0 + value;
        parts += 1;
    }
    (matches!(parts, 2..=3) && seconds.is_finite()).then_some(seconds)
}

/// Days of a Gregorian date since 1970-01-01 (the usual count with years that begin in March).
fn days_from_1970(date: &str) -> Option<f64> {
    let mut parts = date.split('-').map(|p| if p.len() <= 4 { p.parse::<u16>().ok() } else { None });
    let (year, month, day) = (parts.next()??, parts.next()??, parts.next()??);
    if parts.next().is_some() || year < 1 || !(1..=12).contains(&month) || !(1..=31).contains(&day) {
        return None;
    }
    let (year, month, day) = (i64::from(year), i64::from(month), i64::from(day));
    let (year, month) = if month <= 2 { (year - 1, month + 9) } else { (year, month - 3) };
    let days = 365 * year + year / 4 - year / 100 + year / 400 + (153 * month + 2) / 5 + day - 1;
    Some((days - 719_468) as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_to_the_bit() {
        for text in
            ["0", "-0.5", "+12.345", "1e-3", "123456789012345678.25", "0.1", "-7.", ".5", "2.2250738585072014e-308"]
        {
            let expected: f64 = text.parse().unwrap();
            assert_eq!(decimal(text.as_bytes(), b'.').unwrap().to_bits(), expected.to_bits(), "{text}");
            assert_eq!(
                decimal(text.replace('.', ",").as_bytes(), b',').unwrap().to_bits(),
                expected.to_bits(),
                "{text}"
            );
        }
    }

    #[test]
    fn what_is_no_number_is_none() {
        for text in ["", "-", ".", "nan", "inf", "1e999", "1.2.3", "1,2", "12 m", "0x1", "1e", "--1", "٣"] {
            assert_eq!(decimal(text.as_bytes(), b'.'), None, "{text}");
        }
    }

    #[test]
    fn grouping_is_told_from_decimals() {
        assert!(may_group(b"1,234") && may_group(b"-12,345,678"));
        assert!(!may_group(b"0,123") && !may_group(b"1,23") && !may_group(b"1,2345") && !may_group(b"1234,567"));
    }

    #[test]
    fn clocks() {
        assert_eq!(clock("01:02:03.5"), Some(3723.5));
        assert_eq!(clock("02:03"), Some(123.0));
        // 2024-05-01 is day 19844 since 1970: 54 years, 13 leap days (1972 to 2020), and 120 days (29 in February).
        assert_eq!(clock("2024-05-01T10:00:03Z"), Some(19844.0 * 86400.0 + 36003.0));
        assert_eq!(clock("2024-05-01 12:00:03+02:00"), clock("2024-05-01T10:00:03Z"));
        let endless = format!("{}:00:00", "9".repeat(308));
        for text in ["", "5", &endless, "1:60", "1:2:3:4", "2024-13-01 00:00:00", "-1:00", "1:-2", "a:b"] {
            assert_eq!(clock(text), None, "{text}");
        }
    }
}

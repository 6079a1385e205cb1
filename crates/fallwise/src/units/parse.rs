//! Texts with their unit, as people write them on plans and in notebooks.
//!
//! A number is a decimal (`12.4`, `12,4`, `1.2e3`), a fraction (`1/4`) or a whole number and a fraction (`6 1/2`,
//! `6-1/2`, `6½`). Typographic primes, dashes and spaces are read as the plain ones, capitals as small letters. A comma
//! before exactly three digits (`1,250`) is refused: it could mean thousands or a decimal. A missing unit is an error.

use super::convert::{ft, lb_per_ft2, slope_to_tilt, tilt_to_slope};
use super::unit::{FlowUnit, LengthUnit, TiltUnit, VolumeUnit};
use crate::error::Error;
use crate::prelude::*;

/// A length, m: `12.4 m`, `12,4 m`, `23 mm`, `40.25 ft`, `6-1/2 in`, `6' 3 1/2"`, `6 ft 3 1/2 in`.
///
/// Feet and inches together are added up in inches, so that binary fractions lose nothing.
///
/// ```
/// use fallwise::units::{inch, parse_length};
///
/// assert_eq!(parse_length("6' 3 1/2\"")?, inch(75.5));
/// assert_eq!(parse_length("12,4 m")?, 12.4);
/// assert!(parse_length("12.4").unwrap_err().to_string().contains("no unit"));
/// # Ok::<(), fallwise::Error>(())
/// ```
///
/// # Errors
/// [`Error::Text`] with what is wrong; [`Error::Unknown`] for an unknown unit.
pub fn parse_length(text: &str) -> Result<f64, Error> {
    let asked = Asked { text, expected: "a length with its unit, such as 12.4 m or 6' 3 1/2\"" };
    asked.finite(length(&asked, &plain(text))?)
}

/// A station, m: `0+42.5` and `1+05` (hundreds of feet before the plus, feet after it), or a length such as `12.4 m`,
/// with or without `station` or `chainage` before it.
///
/// The form with a plus is always in feet; `ft` or `us ft` may follow it, nothing else.
///
/// ```
/// use fallwise::units::{ft, parse_station};
///
/// assert_eq!(parse_station("0+42.5")?, ft(42.5));
/// assert_eq!(parse_station("sta. 1+05")?, ft(105.0));
/// assert_eq!(parse_station("chainage 12.4 m")?, 12.4);
/// # Ok::<(), fallwise::Error>(())
/// ```
///
/// # Errors
/// [`Error::Text`] with what is wrong; [`Error::Unknown`] for an unknown unit.
pub fn parse_station(text: &str) -> Result<f64, Error> {
    let asked = Asked { text, expected: "a station, such as 0+42.5 (feet) or 12.4 m" };
    let plain = plain(text);
    let rest = ["station", "sta.", "sta", "chainage", "ch.", "ch"]
        .iter()
        .find_map(|word| plain.strip_prefix(word))
        .map_or(plain.as_str(), str::trim_start);
    asked.finite(match plus_station(&asked, rest)? {
        Some(metres) => metres,
        None => length(&asked, rest)?,
    })
}

/// A slope, as a ratio: `1/4 in/ft`, `1/4"/ft`, `2 %`, `1 in 40`, `1:40`, `20 mm/m`, `0.02 m/m`, `level`; an angle of
/// less than 90 degrees (`1.2°`) gives its tangent.
///
/// `backfall` after it, or a minus sign before it, makes it negative.
///
/// ```
/// use fallwise::units::{in_per_ft, one_in, parse_slope};
///
/// assert_eq!(parse_slope("1/4 in/ft")?, in_per_ft(0.25));
/// assert_eq!(parse_slope("1 in 40")?, one_in(40.0));
/// assert_eq!(parse_slope("1 in 200 backfall")?, -0.005);
/// assert_eq!(parse_slope("level")?, 0.0);
/// # Ok::<(), fallwise::Error>(())
/// ```
///
/// # Errors
/// [`Error::Text`] with what is wrong; [`Error::Unknown`] for an unknown unit.
pub fn parse_slope(text: &str) -> Result<f64, Error> {
    let asked = Asked { text, expected: "a slope with its unit, such as 2 %, 1/4 in/ft or 1 in 40" };
    asked.finite(match steepness(&asked, &plain(text))? {
        Steepness::Slope(slope) => slope,
        Steepness::Angle(tilt_rad) => tilt_to_slope(tilt_rad),
    })
}

/// A tilt, rad: an angle (`0.3 deg`, `5 mrad`), or any slope of [`parse_slope`], whose arc tangent it is.
///
/// ```
/// use fallwise::units::{deg, parse_tilt, slope_to_tilt};
///
/// assert_eq!(parse_tilt("-0.3°")?, deg(-0.3));
/// assert_eq!(parse_tilt("2 %")?, slope_to_tilt(0.02));
/// # Ok::<(), fallwise::Error>(())
/// ```
///
/// # Errors
/// [`Error::Text`] with what is wrong; [`Error::Unknown`] for an unknown unit.
pub fn parse_tilt(text: &str) -> Result<f64, Error> {
    let asked = Asked { text, expected: "a tilt with its unit, such as 0.3 deg or 2 %" };
    asked.finite(match steepness(&asked, &plain(text))? {
        Steepness::Slope(slope) => slope_to_tilt(slope),
        Steepness::Angle(tilt_rad) => tilt_rad,
    })
}

/// An angle, rad, of any size: `45 deg`, `22 1/2°`, `5 mrad`, `0.01 rad`. A slope is refused.
///
/// ```
/// use fallwise::units::{deg, parse_angle};
///
/// assert_eq!(parse_angle("22 1/2°")?, deg(22.5));
/// assert!(parse_angle("2 %").is_err());
/// # Ok::<(), fallwise::Error>(())
/// ```
///
/// # Errors
/// [`Error::Text`] with what is wrong; [`Error::Unknown`] for an unknown unit.
pub fn parse_angle(text: &str) -> Result<f64, Error> {
    let asked = Asked { text, expected: "an angle with its unit, such as 45 deg or 5 mrad" };
    let plain = plain(text);
    let (sign, rest) = sign(&plain);
    let (value, rest) = number(&asked, rest)?;
    let unit: TiltUnit = asked.unit(rest)?.parse()?;
    if !unit.is_angle() {
        return Err(asked.error(format!("\"{unit}\" is a unit of slope, not of angle")));
    }
    asked.finite(sign * unit.scaled(value))
}

/// A volume, m3: `1.6 litres`, `0.43 gal` (US), `2 imperial gal`, `0.01 m3`, `1/2 cu ft`.
///
/// ```
/// use fallwise::units::{gallon, parse_volume};
///
/// assert_eq!(parse_volume("0.43 gal")?, gallon(0.43));
/// # Ok::<(), fallwise::Error>(())
/// ```
///
/// # Errors
/// [`Error::Text`] with what is wrong; [`Error::Unknown`] for an unknown unit.
pub fn parse_volume(text: &str) -> Result<f64, Error> {
    let asked = Asked { text, expected: "a volume with its unit, such as 1.6 l or 0.43 gal" };
    let plain = plain(text);
    let (sign, rest) = sign(&plain);
    let (value, rest) = number(&asked, rest)?;
    let unit: VolumeUnit = asked.unit(rest)?.parse()?;
    asked.finite(sign * unit.to_si(value))
}

/// A flow, m3/s: `1.2 L/s`, `20 gal/min` (US), `20 gpm`, `0.1 cfs`, `4 m3/h`.
///
/// ```
/// use fallwise::units::{l_per_s, parse_flow};
///
/// assert_eq!(parse_flow("1.2 L/s")?, l_per_s(1.2));
/// # Ok::<(), fallwise::Error>(())
/// ```
///
/// # Errors
/// [`Error::Text`] with what is wrong; [`Error::Unknown`] for an unknown unit.
pub fn parse_flow(text: &str) -> Result<f64, Error> {
    let asked = Asked { text, expected: "a flow with its unit, such as 1.2 L/s or 20 gal/min" };
    let plain = plain(text);
    let (sign, rest) = sign(&plain);
    let (value, rest) = number(&asked, rest)?;
    let unit: FlowUnit = asked.unit(rest)?.parse()?;
    asked.finite(sign * unit.to_si(value))
}

/// A velocity, m/s: `0.7 m/s`, `2 ft/s`.
///
/// # Errors
/// [`Error::Text`] with what is wrong; [`Error::Unknown`] for an unknown unit.
pub fn parse_velocity(text: &str) -> Result<f64, Error> {
    let asked = Asked { text, expected: "a velocity with its unit, such as 0.7 m/s or 2 ft/s" };
    scaled(&asked, "unit of velocity", &[("m/s", 1.0), ("ft/s", 0.3048), ("fps", 0.3048), ("mm/s", 0.001)])
}

/// A pressure or shear, Pa: `1 Pa`, `2 N/m2`, `0.02 lb/ft2`.
///
/// # Errors
/// [`Error::Text`] with what is wrong; [`Error::Unknown`] for an unknown unit.
pub fn parse_pressure(text: &str) -> Result<f64, Error> {
    let asked = Asked { text, expected: "a shear with its unit, such as 1 Pa or 0.02 lb/ft2" };
    let pound = lb_per_ft2(1.0);
    let units = [("pa", 1.0), ("n/m2", 1.0), ("n/m^2", 1.0), ("lb/ft2", pound), ("lb/ft^2", pound), ("psf", pound)];
    scaled(&asked, "unit of shear", &units)
}

/// A kinematic viscosity, m2/s: `1.31e-6 m2/s`, `1.31 mm2/s`, `1.41e-5 ft2/s`.
///
/// # Errors
/// [`Error::Text`] with what is wrong; [`Error::Unknown`] for an unknown unit.
pub fn parse_viscosity(text: &str) -> Result<f64, Error> {
    let asked = Asked { text, expected: "a kinematic viscosity with its unit, such as 1.31 mm2/s" };
    let square_foot = ft(1.0) * ft(1.0);
    let units = [
        ("m2/s", 1.0),
        ("m^2/s", 1.0),
        ("mm2/s", 1e-6),
        ("mm^2/s", 1e-6),
        ("cst", 1e-6),
        ("ft2/s", square_foot),
        ("ft^2/s", square_foot),
    ];
    scaled(&asked, "unit of viscosity", &units)
}

// The quantities

/// A signed number times what its unit is in SI.
fn scaled(asked: &Asked, what: &str, units: &[(&str, f64)]) -> Result<f64, Error> {
    let plain = plain(asked.text);
    let (sign, rest) = sign(&plain);
    let (value, rest) = number(asked, rest)?;
    let word = asked.unit(rest)?;
    match units.iter().find(|(name, _)| *name == word) {
        Some((_, one)) => asked.finite(sign * value * one),
        None => Err(Error::unknown(what, word, units.iter().map(|(name, _)| *name))),
    }
}

/// A signed length in one unit, or in feet and inches.
fn length(asked: &Asked, text: &str) -> Result<f64, Error> {
    let (sign, rest) = sign(text);
    let (value, rest) = number(asked, rest)?;
    let (unit, second) = rest.split_at(rest.find(|c: char| c.is_ascii_digit()).unwrap_or(rest.len()));
    if second.is_empty() {
        let unit: LengthUnit = asked.unit(unit)?.parse()?;
        return Ok(sign * unit.to_si(value));
    }
    if unit.ends_with(['.', ',']) {
        return Err(asked.error("it is not clear what the mark before the last number belongs to"));
    }
    // Drawings put a comma or a hyphen between feet and inches: 6'-3 1/2".
    let feet: LengthUnit = asked.unit(unit.trim_end_matches([' ', ',', '-']))?.parse()?;
    let (inches, rest) = number(asked, second)?;
    let inch: LengthUnit = asked.unit(rest)?.parse()?;
    if (feet, inch) != (LengthUnit::Ft, LengthUnit::In) {
        return Err(asked.error("only feet and inches go together"));
    }
    if value.fract() != 0.0 {
        return Err(asked.error("the feet before inches are not a whole number"));
    }
    if inches >= 12.0 {
        return Err(asked.error("the inches after feet are 12 or more"));
    }
    Ok(sign * inch.to_si(12.0 * value + inches))
}

/// A station with a plus, m; nothing where the text has no plus between its numbers.
fn plus_station(asked: &Asked, text: &str) -> Result<Option<f64>, Error> {
    let (sign, rest) = sign(text);
    let Some((hundreds, rest)) = rest.split_once('+') else { return Ok(None) };
    let hundreds = hundreds.trim_end();
    if hundreds.ends_with('e') {
        return Ok(None); // the plus of an exponent
    }
    if hundreds.is_empty() || !hundreds.bytes().all(|b| b.is_ascii_digit()) {
        return Err(asked.error("before the plus there must be a whole number of hundreds of feet"));
    }
    let (hundreds, _) = decimal(asked, hundreds)?;
    let rest = rest.trim_start();
    if digits(rest) != 2 {
        return Err(asked.error("after the plus there must be two digits of feet, as in 0+05 or 0+42.5"));
    }
    let (feet, unit) = decimal(asked, rest)?;
    if feet >= 100.0 {
        return Err(asked.error("after the plus there are 100 feet or more"));
    }
    let unit = match unit.trim() {
        "" => LengthUnit::Ft,
        named => named.parse()?,
    };
    match unit {
        LengthUnit::Ft => Ok(Some(sign * ft(100.0 * hundreds + feet))),
        LengthUnit::UsFt => Ok(Some(sign * unit.to_si(100.0 * hundreds + feet))),
        _ => Err(asked.error("a station with a plus is in feet")),
    }
}

/// How steep, in the way it was given.
enum Steepness {
    /// Fall over horizontal length.
    Slope(f64),
    /// Angle, rad, less than a right angle.
    Angle(f64),
}

/// A signed slope or angle, with `level`, `backfall` and `1 in N`.
fn steepness(asked: &Asked, text: &str) -> Result<Steepness, Error> {
    if text == "level" {
        return Ok(Steepness::Slope(0.0));
    }
    let (falls, rest) = match text.strip_suffix("backfall") {
        Some(rest) => (-1.0, rest.trim_end()),
        None => (1.0, text.strip_suffix("fall").unwrap_or(text).trim_end()),
    };
    let (sign, rest) = sign(rest);
    if sign < 0.0 && falls < 0.0 {
        return Err(asked.error("it has both a minus sign and \"backfall\""));
    }
    let sign = sign * falls;
    let (value, rest) = number(asked, rest)?;
    let rest = rest.trim_start();
    // "1 in 40", but not "1/4 in per ft".
    if let Some(n) = rest.strip_prefix("in").or_else(|| rest.strip_prefix(':')).map(str::trim_start)
        && digits(n) > 0
    {
        return Ok(Steepness::Slope(sign * ratio(asked, value, n)?));
    }
    let unit: TiltUnit = asked.unit(rest)?.parse()?;
    let scaled = unit.scaled(value);
    if !unit.is_angle() {
        return Ok(Steepness::Slope(sign * scaled));
    }
    if scaled >= core::f64::consts::FRAC_PI_2 {
        return Err(asked.error("the angle is 90 degrees or more"));
    }
    Ok(Steepness::Angle(sign * scaled))
}

/// The ratio of `value` to the N that stands in `text`, alone.
fn ratio(asked: &Asked, value: f64, text: &str) -> Result<f64, Error> {
    let (n, rest) = decimal(asked, text)?;
    if !rest.is_empty() {
        return Err(asked.error(format!("\"{}\" after \"1 in N\"", rest.trim())));
    }
    if n == 0.0 {
        return Err(asked.error("1 in 0 is no slope; level is written \"level\""));
    }
    if value > n && value > 1.0 {
        return Err(asked.error("the larger number comes first, which can be read two ways; write 1 in N"));
    }
    Ok(value / n)
}

// The pieces

/// What was given and what was asked for, to say what is wrong.
struct Asked<'a> {
    text: &'a str,
    expected: &'a str,
}

impl Asked<'_> {
    fn error(&self, reason: impl Into<String>) -> Error {
        Error::Text { text: self.text.to_owned(), reason: reason.into(), expected: self.expected.to_owned() }
    }

    /// The word of a unit, which must be there.
    fn unit<'t>(&self, word: &'t str) -> Result<&'t str, Error> {
        match word.trim() {
            "" => Err(self.error("no unit")),
            word => Ok(word),
        }
    }

    fn finite(&self, value: f64) -> Result<f64, Error> {
        if value.is_finite() { Ok(value + 0.0) } else { Err(self.error("the number is too large")) }
    }
}

/// The text in small letters, with plain signs in place of typographic ones and single spaces.
pub(super) fn plain(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\u{2032}' | '\u{2018}' | '\u{2019}' | '\u{b4}' | '`' | '\u{2b9}' => plain.push('\''),
            '\u{2033}' | '\u{201c}' | '\u{201d}' | '\u{2ba}' => plain.push('"'),
            '\u{2010}'..='\u{2014}' | '\u{2212}' => plain.push('-'),
            '\u{2044}' | '\u{2215}' => plain.push('/'),
            '\u{2236}' => plain.push(':'),
            '\u{b0}' | '\u{ba}' => plain.push_str(" deg"),
            '\u{b3}' => plain.push('3'),
            '½' => plain.push_str(" 1/2"),
            '¼' => plain.push_str(" 1/4"),
            '¾' => plain.push_str(" 3/4"),
            '⅛' => plain.push_str(" 1/8"),
            '⅜' => plain.push_str(" 3/8"),
            '⅝' => plain.push_str(" 5/8"),
            '⅞' => plain.push_str(" 7/8"),
            '\u{200b}' | '\u{feff}' => {}
            c if c.is_whitespace() => plain.push(' '),
            c => plain.extend(c.to_lowercase()),
        }
    }
    plain.replace("''", "\"").split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The sign before a number (1 where there is none), and the rest.
fn sign(text: &str) -> (f64, &str) {
    match text.strip_prefix('-') {
        Some(rest) => (-1.0, rest.trim_start()),
        None => (1.0, text.strip_prefix('+').unwrap_or(text).trim_start()),
    }
}

/// How many digits `text` begins with.
fn digits(text: &str) -> usize {
    text.bytes().take_while(u8::is_ascii_digit).count()
}

/// A decimal, a fraction, or a whole number and a fraction, and the rest.
fn number<'t>(asked: &Asked, text: &'t str) -> Result<(f64, &'t str), Error> {
    if let Some(fraction) = fraction(asked, text)? {
        return Ok(fraction);
    }
    let (value, rest) = decimal(asked, text)?;
    // Only after a bare whole number can a fraction follow: "6 1/2", "6-1/2".
    if let Some(after) = rest.strip_prefix([' ', '-'])
        && text.len() - rest.len() == digits(text)
        && let Some((part, rest)) = fraction(asked, after)?
    {
        if part >= 1.0 {
            return Err(asked.error("the fraction after the whole number is 1 or more"));
        }
        return Ok((value + part, rest));
    }
    Ok((value, rest))
}

/// A fraction of two whole numbers at the front of `text`, and the rest.
fn fraction<'t>(asked: &Asked, text: &'t str) -> Result<Option<(f64, &'t str)>, Error> {
    let (above, rest) = text.split_at(digits(text));
    let Some(rest) = rest.strip_prefix('/') else { return Ok(None) };
    let (below, rest) = rest.split_at(digits(rest));
    let (Ok(above), Ok(below)) = (above.parse::<f64>(), below.parse::<f64>()) else { return Ok(None) };
    if below == 0.0 {
        return Err(asked.error("a fraction over 0"));
    }
    if !above.is_finite() || !below.is_finite() {
        return Err(asked.error("the number is too large"));
    }
    Ok(Some((above / below, rest)))
}

/// A decimal number at the front of `text`, finite, and the rest.
fn decimal<'t>(asked: &Asked, text: &'t str) -> Result<(f64, &'t str), Error> {
    if text.is_empty() {
        return Err(asked.error(if plain(asked.text).is_empty() { "nothing given" } else { "no number" }));
    }
    let whole = digits(text);
    let after_mark = text.get(whole..).and_then(|t| t.strip_prefix(['.', ','])).map_or(0, digits);
    let mantissa = whole + if after_mark > 0 { 1 + after_mark } else { 0 };
    if mantissa == 0 {
        return Err(asked.error("no number"));
    }
    let (figures, rest) = text.split_at(mantissa);
    if rest.strip_prefix(['.', ',']).is_some_and(|t| digits(t) > 0) {
        return Err(asked.error("more than one decimal mark"));
    }
    if figures.contains(',') && after_mark == 3 && (1..=3).contains(&whole) && !figures.starts_with('0') {
        return Err(asked.error("the comma can mean thousands or a decimal; write a point, or no comma"));
    }
    let exponent = exponent(rest);
    let (figures, rest) = text.split_at(mantissa + exponent);
    match figures.replace(',', ".").parse::<f64>() {
        Ok(value) if value.is_finite() => Ok((value, rest)),
        _ => Err(asked.error("the number is too large")),
    }
}

/// How many bytes the exponent at the front of `text` takes: "e-3" is three.
fn exponent(text: &str) -> usize {
    let Some(rest) = text.strip_prefix('e') else { return 0 };
    let unsigned = rest.strip_prefix(['-', '+']).unwrap_or(rest);
    match digits(unsigned) {
        0 => 0,
        n => text.len() - unsigned.len() + n,
    }
}

#[cfg(test)]
#[path = "parse_tests.rs"]
mod tests;

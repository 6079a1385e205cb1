//! Numbers into words, for sentences and sheets. The sentences themselves are made where they are said.
//!
//! Nothing here prints "-0", an infinite or a missing number: those are "not determined".

use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::convert::{
    in_per_ft, to_deg, to_ft, to_gallon, to_in_per_ft, to_inch, to_litre, to_mm, to_one_in, to_percent,
};
use crate::error::Error;

/// Words and units of sentences.
///
/// ```
/// use fallwise::units::{Words, gallon, in_per_ft, inch, percent};
///
/// assert_eq!(Words::Uk.slope(percent(-0.5)), "1 in 200 backfall");
/// assert_eq!(Words::Us.slope(in_per_ft(0.25)), "2.08 % (1/4 in/ft)");
/// assert_eq!(Words::Uk.length(12.4), "12.40 m");
/// assert_eq!(Words::Us.length(inch(488.5)), "40 ft 8 1/2 in");
/// assert_eq!(Words::Us.station(12.4), "0+40.7");
/// assert_eq!(Words::Uk.small(0.0231), "23 mm");
/// assert_eq!(Words::Us.volume(gallon(0.43)), "0.43 gal");
/// assert_eq!(Words::Uk.small(f64::NAN), "not determined");
/// assert_eq!("uk".parse(), Ok(Words::Uk));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum Words {
    /// Metres and millimetres, "1 in N", chainage.
    #[default]
    Uk,
    /// Feet and inches, percent and in/ft.
    Us,
}

/// The fixed words, one row a language. Symbols of units (m, mm, ft, in, %) are the same in all.
struct Phrases {
    not_determined: &'static str,
    level: &'static str,
    backfall: &'static str,
    less_than: &'static str,
    steeper_than: &'static str,
    to: &'static str,
    one_in: &'static str,
    degrees: &'static str,
    litres: &'static str,
    gallons: &'static str,
}

const ENGLISH: Phrases = Phrases {
    not_determined: "not determined",
    level: "level",
    backfall: "backfall",
    less_than: "less than",
    steeper_than: "steeper than",
    to: "to",
    one_in: "1 in",
    degrees: "degrees",
    litres: "litres",
    gallons: "gal",
};

/// A slope flatter than 1 in 10,000 is called level: 1 mm in 10 m, beyond what any survey of a drain can tell.
const LEVEL: f64 = 1e-4;
/// A slope steeper than 1000 % is not given by its number.
const STEEPEST: f64 = 10.0;

impl Words {
    /// A slope along the flow: "1 in 48" (three figures) or "2.08 % (1/4 in/ft)"; "level" below 1 in 10,000 either way;
    /// "1 in 200 backfall" or "0.50 % backfall" where negative.
    ///
    /// The bracket holds a fraction in sixteenths of an inch per foot where that prints the same percentage, else a
    /// decimal; it is left out for a backfall, which no code states in in/ft.
    pub fn slope(self, slope: f64) -> String {
        let short = self.short_slope(slope);
        match self {
            Self::Us if (LEVEL..=STEEPEST).contains(&slope) => format!("{short} ({} in/ft)", inches_per_foot(slope)),
            _ => short,
        }
    }

    /// The two ends of a slope's interval: "1 in 60 to 1 in 40", "0.50 % backfall to 2.10 %".
    pub fn slope_range(self, low: f64, high: f64) -> String {
        let words = self.phrases();
        if !(low.is_finite() && high.is_finite()) {
            return words.not_determined.to_owned();
        }
        format!("{} {} {}", self.short_slope(low), words.to, self.short_slope(high))
    }

    /// A length along the pipe or on the ground: "12.40 m", or "40 ft 8 1/2 in" to the half inch.
    pub fn length(self, m: f64) -> String {
        match self {
            Self::Uk => self.finite(m, |m| format!("{} m", decimals(m, 2))),
            Self::Us => self.finite(2.0 * to_inch(m), |half_inches| feet_and_inches(half_inches.round())),
        }
    }

    /// A length that is only roughly known: "26 m", or "85 ft".
    pub fn about(self, m: f64) -> String {
        match self {
            Self::Uk => self.finite(m, |m| format!("{} m", decimals(m, 0))),
            Self::Us => self.finite(to_ft(m), |feet| format!("{} ft", decimals(feet, 0))),
        }
    }

    /// A small height or depth: "23 mm" or "0.9 in"; "less than 1 mm" or "less than 0.1 in" where there is less.
    pub fn small(self, m: f64) -> String {
        match self {
            Self::Uk => self.at_least(to_mm(m), 1.0, "mm", 0),
            Self::Us => self.at_least(to_inch(m), 0.1, "in", 1),
        }
    }

    /// A station, without the word before it: "12.40 m", or "0+40.7" in hundreds of feet and feet.
    pub fn station(self, m: f64) -> String {
        match self {
            Self::Uk => self.length(m),
            Self::Us => self.finite(10.0 * to_ft(m), |tenths| {
                let tenths = tenths.round();
                let feet = tenths.abs() % 1000.0;
                let hundreds = (tenths.abs() - feet) / 1000.0;
                format!("{}{hundreds}+{:04.1}", minus(tenths), feet / 10.0)
            }),
        }
    }

    /// A place, as a reader finds it: "chainage 12.40 m", "station 0+40.7".
    pub(crate) fn at(self, m: f64) -> String {
        match self {
            Self::Uk => format!("chainage {}", self.station(m)),
            Self::Us => format!("station {}", self.station(m)),
        }
    }

    /// A stretch: "chainage 12.40 m and 14.00 m", "stations 0+40.7 and 0+45.9"; "between" goes before it.
    pub(crate) fn both(self, from_m: f64, to_m: f64) -> String {
        match self {
            Self::Uk => format!("chainage {} and {}", self.station(from_m), self.station(to_m)),
            Self::Us => format!("stations {} and {}", self.station(from_m), self.station(to_m)),
        }
    }

    /// A volume: "1.6 litres" or "0.43 gal" (US gallons); two decimals below 1, one below 10, none above.
    pub fn volume(self, m3: f64) -> String {
        let (value, unit) = match self {
            Self::Uk => (to_litre(m3), self.phrases().litres),
            Self::Us => (to_gallon(m3), self.phrases().gallons),
        };
        let places = match value.abs() {
            v if v < 0.995 => 2,
            v if v < 9.95 => 1,
            _ => 0,
        };
        self.at_least(value, 0.01, unit, places)
    }

    /// An angle: "0.30 degrees".
    pub fn angle(self, rad: f64) -> String {
        self.finite(to_deg(rad), |deg| format!("{} {}", decimals(deg, 2), self.phrases().degrees))
    }

    /// The words of this wording's language.
    fn phrases(self) -> &'static Phrases {
        match self {
            Self::Uk | Self::Us => &ENGLISH,
        }
    }

    /// What `say` makes of the value, unless it is not determined.
    fn finite(self, value: f64, say: impl Fn(f64) -> String) -> String {
        if value.is_finite() { say(value) } else { self.phrases().not_determined.to_owned() }
    }

    /// The value in its unit, or "less than" the step where it is neither that much nor nothing.
    fn at_least(self, value: f64, step: f64, unit: &str, places: usize) -> String {
        self.finite(value, |value| {
            if value == 0.0 {
                format!("0 {unit}")
            // A value of one step that was converted there and back may have lost its last digit.
            } else if value.abs() < step * (1.0 - 1e-9) {
                format!("{} {step} {unit}", self.phrases().less_than)
            } else {
                format!("{} {unit}", decimals(value, places))
            }
        })
    }

    /// A slope without its bracket.
    pub(crate) fn short_slope(self, slope: f64) -> String {
        let words = self.phrases();
        self.finite(slope, |slope| {
            let steep = slope.abs();
            if steep < LEVEL {
                return words.level.to_owned();
            }
            let size = match self {
                Self::Uk => format!("{} {}", words.one_in, three_figures(to_one_in(steep.min(STEEPEST)))),
                Self::Us => format!("{} %", decimals(to_percent(steep.min(STEEPEST)), 2)),
            };
            let size = if steep > STEEPEST { format!("{} {size}", words.steeper_than) } else { size };
            if slope < 0.0 { format!("{size} {}", words.backfall) } else { size }
        })
    }
}

impl FromStr for Words {
    type Err = Error;
    fn from_str(word: &str) -> Result<Self, Error> {
        match word.trim().to_lowercase().as_str() {
            "uk" => Ok(Self::Uk),
            "us" => Ok(Self::Us),
            _ => Err(Error::unknown("wording", word, ["uk", "us"])),
        }
    }
}

/// The minus sign of a negative number, and of no other.
fn minus(value: f64) -> &'static str {
    if value < 0.0 { "-" } else { "" }
}

/// A number to so many decimals, a zero without a sign.
fn decimals(value: f64, places: usize) -> String {
    let size = format!("{:.places$}", value.abs());
    let zero = size.bytes().all(|b| matches!(b, b'0' | b'.'));
    format!("{}{size}", if zero { "" } else { minus(value) })
}

/// The N of "1 in N", three figures at most: 9.5, 48, 47.6, 192, 1230.
fn three_figures(n: f64) -> String {
    match n {
        n if n < 99.95 => decimals(n, 1).trim_end_matches(".0").to_owned(),
        n if n < 999.5 => decimals(n, 0),
        n => decimals((n / 10.0).round() * 10.0, 0),
    }
}

/// A slope in inches per foot: in sixteenths where they print the same percentage, else to three decimals.
fn inches_per_foot(slope: f64) -> String {
    let hundredths = |ratio: f64| decimals(to_percent(ratio), 2);
    let sixteenths = (16.0 * to_in_per_ft(slope)).round();
    if sixteenths > 0.0 && hundredths(in_per_ft(sixteenths / 16.0)) == hundredths(slope) {
        mixed(sixteenths, 16.0)
    } else {
        decimals(to_in_per_ft(slope), 3)
    }
}

/// Whole half inches as feet and inches.
fn feet_and_inches(half_inches: f64) -> String {
    let inches = half_inches.abs() % 24.0;
    let feet = (half_inches.abs() - inches) / 24.0;
    let size = match (feet > 0.0, inches > 0.0) {
        (true, true) => format!("{feet} ft {} in", mixed(inches, 2.0)),
        (false, true) => format!("{} in", mixed(inches, 2.0)),
        (_, false) => format!("{feet} ft"),
    };
    format!("{}{size}", minus(half_inches))
}

/// `parts` of which `denominator` (a power of two) make one, as a whole number and a fraction in lowest terms.
fn mixed(parts: f64, denominator: f64) -> String {
    let (mut above, mut below) = (parts % denominator, denominator);
    let whole = (parts - above) / denominator;
    while above > 0.0 && above % 2.0 == 0.0 {
        above /= 2.0;
        below /= 2.0;
    }
    match (whole > 0.0, above > 0.0) {
        (true, true) => format!("{whole} {above}/{below}"),
        (false, true) => format!("{above}/{below}"),
        (_, false) => format!("{whole}"),
    }
}

/// A probability, never as certainty: "about 97 %", "more than 99 %", "less than 1 %"; NaN is "not determined".
pub fn probability(p: f64) -> String {
    if p.is_nan() {
        "not determined".to_owned()
    } else if p > 0.99 {
        "more than 99 %".to_owned()
    } else if p < 0.01 {
        "less than 1 %".to_owned()
    } else {
        format!("about {:.0} %", p * 100.0)
    }
}

#[cfg(test)]
mod tests {
    use super::super::{deg, ft, gallon, inch, litre, one_in, percent};
    use super::*;
    use Words::{Uk, Us};

    #[test]
    fn slopes() {
        for (slope, uk, us) in [
            (in_per_ft(0.25), "1 in 48", "2.08 % (1/4 in/ft)"),
            (in_per_ft(0.125), "1 in 96", "1.04 % (1/8 in/ft)"),
            (in_per_ft(1.25), "1 in 9.6", "10.42 % (1 1/4 in/ft)"),
            (percent(2.0), "1 in 50", "2.00 % (0.240 in/ft)"),
            (percent(2.1), "1 in 47.6", "2.10 % (0.252 in/ft)"),
            (percent(0.01), "1 in 10000", "0.01 % (0.001 in/ft)"),
            (percent(100.0), "1 in 1", "100.00 % (12 in/ft)"),
            (one_in(200.0), "1 in 200", "0.50 % (0.060 in/ft)"),
            (one_in(1234.0), "1 in 1230", "0.08 % (0.010 in/ft)"),
            (one_in(-200.0), "1 in 200 backfall", "0.50 % backfall"),
            (0.0, "level", "level"),
            (-0.0, "level", "level"),
            (-0.00009, "level", "level"),
            (1e300, "steeper than 1 in 0.1", "steeper than 1000.00 %"),
            (-11.0, "steeper than 1 in 0.1 backfall", "steeper than 1000.00 % backfall"),
            (f64::NAN, "not determined", "not determined"),
            (f64::NEG_INFINITY, "not determined", "not determined"),
        ] {
            assert_eq!((Uk.slope(slope).as_str(), Us.slope(slope).as_str()), (uk, us));
        }
    }

    #[test]
    fn slope_ranges() {
        assert_eq!(Uk.slope_range(one_in(-60.0), one_in(40.0)), "1 in 60 backfall to 1 in 40");
        assert_eq!(Us.slope_range(percent(-0.5), percent(2.1)), "0.50 % backfall to 2.10 %");
        assert_eq!(Uk.slope_range(0.0, f64::INFINITY), "not determined");
    }

    #[test]
    fn lengths_and_stations() {
        for (m, uk, us, station) in [
            (12.4, "12.40 m", "40 ft 8 in", "0+40.7"),
            (inch(488.5), "12.41 m", "40 ft 8 1/2 in", "0+40.7"),
            (inch(8.5), "0.22 m", "8 1/2 in", "0+00.7"),
            (inch(11.8), "0.30 m", "1 ft", "0+01.0"),
            (ft(105.0), "32.00 m", "105 ft", "1+05.0"),
            (ft(99.96), "30.47 m", "99 ft 11 1/2 in", "1+00.0"),
            (ft(-5.0), "-1.52 m", "-5 ft", "-0+05.0"),
            (-0.001, "0.00 m", "0 ft", "0+00.0"),
            (-0.0, "0.00 m", "0 ft", "0+00.0"),
            (f64::INFINITY, "not determined", "not determined", "not determined"),
        ] {
            assert_eq!((Uk.length(m).as_str(), Us.length(m).as_str(), Us.station(m).as_str()), (uk, us, station));
            assert_eq!(Uk.station(m), uk);
        }
        // Finite in metres, not in half inches.
        assert_eq!(Us.length(f64::MAX), "not determined");
    }

    #[test]
    fn small_heights() {
        for (m, uk, us) in [
            (0.0231, "23 mm", "0.9 in"),
            (0.001, "1 mm", "less than 0.1 in"),
            (inch(0.1), "3 mm", "0.1 in"),
            (0.0005, "less than 1 mm", "less than 0.1 in"),
            (-0.0005, "less than 1 mm", "less than 0.1 in"),
            (-0.157, "-157 mm", "-6.2 in"),
            (0.0, "0 mm", "0 in"),
            (-0.0, "0 mm", "0 in"),
            (f64::NAN, "not determined", "not determined"),
        ] {
            assert_eq!((Uk.small(m).as_str(), Us.small(m).as_str()), (uk, us));
        }
    }

    #[test]
    fn volumes_and_angles() {
        assert_eq!(Uk.volume(litre(1.63)), "1.6 litres");
        assert_eq!(Uk.volume(litre(0.996)), "1.0 litres");
        assert_eq!(Uk.volume(litre(9.96)), "10 litres");
        assert_eq!(Uk.volume(litre(0.001)), "less than 0.01 litres");
        assert_eq!(Uk.volume(0.0), "0 litres");
        assert_eq!(Us.volume(gallon(0.43)), "0.43 gal");
        assert_eq!(Us.volume(f64::NAN), "not determined");
        assert_eq!(Uk.angle(deg(0.3)), "0.30 degrees");
        assert_eq!(Us.angle(deg(-0.001)), "0.00 degrees");
        assert_eq!(Us.angle(deg(-1.5)), "-1.50 degrees");
        assert_eq!(Us.angle(f64::INFINITY), "not determined");
    }

    #[test]
    fn names() {
        assert_eq!("US".parse(), Ok(Us));
        assert!(matches!("usa".parse::<Words>(), Err(Error::Unknown { nearest: Some(n), .. }) if n == "us"));
    }
}

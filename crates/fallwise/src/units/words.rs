//! The two wordings, in English. The sentences themselves are made where they are said.
//!
//! Nothing here prints "-0", an infinite or a missing number: those are "not determined".

use core::str::FromStr;

use serde::{Deserialize, Serialize};

use super::voice::Voice;
use crate::error::Error;
use crate::prelude::*;

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

impl Words {
    /// A slope along the flow: "1 in 48" (three figures) or "2.08 % (1/4 in/ft)"; "level" below 1 in 10,000 either way;
    /// "1 in 200 backfall" or "0.50 % backfall" where negative.
    ///
    /// The bracket holds a fraction in sixteenths of an inch per foot where that prints the same percentage, else a
    /// decimal; it is left out for a backfall, which no code states in in/ft.
    pub fn slope(self, slope: f64) -> String {
        Voice::english(self).slope(slope)
    }

    /// The two ends of a slope's interval: "1 in 60 to 1 in 40", "0.50 % backfall to 2.10 %".
    pub fn slope_range(self, low: f64, high: f64) -> String {
        Voice::english(self).slope_range(low, high)
    }

    /// A length along the pipe or on the ground: "12.40 m", or "40 ft 8 1/2 in" to the half inch.
    pub fn length(self, m: f64) -> String {
        Voice::english(self).length(m)
    }

    /// A depth rounded to what [`Words::length`] prints, never deeper: a hundredth of a metre, or half an inch.
    pub fn shallower_m(self, m: f64) -> f64 {
        let step_m = match self {
            Self::Uk => 0.01,
            Self::Us => super::inch(0.5),
        };
        // What lies on a step but for a rounding stays there.
        let stepped = (m / step_m + 1e-6).floor() * step_m;
        // What is too large to be counted in steps is whole ones anyway.
        if stepped.is_finite() { stepped } else { m }
    }

    /// A length that is only roughly known: "26 m", or "85 ft".
    pub fn about(self, m: f64) -> String {
        Voice::english(self).about(m)
    }

    /// A small height or depth: "23 mm" or "0.9 in"; "less than 1 mm" or "less than 0.1 in" where there is less.
    pub fn small(self, m: f64) -> String {
        Voice::english(self).small(m)
    }

    /// A station, without the word before it: "12.40 m", or "0+40.7" in hundreds of feet and feet.
    pub fn station(self, m: f64) -> String {
        Voice::english(self).station(m)
    }

    /// A volume: "1.6 litres" or "0.43 gal" (US gallons); two decimals below 1, one below 10, none above.
    pub fn volume(self, m3: f64) -> String {
        Voice::english(self).volume(m3)
    }

    /// An angle: "0.30 degrees".
    pub fn angle(self, rad: f64) -> String {
        Voice::english(self).angle(rad)
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

/// A probability, never as certainty: "about 97 %", "more than 99 %", "less than 1 %"; NaN is "not determined".
pub fn probability(p: f64) -> String {
    Voice::english(Words::Uk).probability(p)
}

#[cfg(test)]
mod tests {
    use super::super::{deg, ft, gallon, in_per_ft, inch, litre, one_in, percent};
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

//! Units by name, for log headers and keys such as `unit = "ft"`.

use core::str::FromStr;

use serde::{Deserialize, Serialize};

use super::convert::{
    Values, cm, cubic_foot, deg, ft, gal_per_min, gallon, imperial_gallon, in_per_ft, inch, l_per_s, litre, mm,
    mm_per_m, percent, slope_to_tilt, tilt_to_slope, to_cm, to_cubic_foot, to_deg, to_ft, to_gal_per_min, to_gallon,
    to_imperial_gallon, to_in_per_ft, to_inch, to_l_per_s, to_litre, to_mm, to_mm_per_m, to_percent, to_us_ft, to_yard,
    us_ft, yard,
};
use super::parse::plain;
use crate::error::{Error, nearest};
use crate::prelude::*;

/// A unit of length.
///
/// ```
/// use fallwise::units::LengthUnit;
///
/// let unit: LengthUnit = "feet".parse()?;
/// assert_eq!(unit.to_si(10.0), 3.048);
/// assert_eq!(unit.to_si(vec![0.0, 10.0]), [0.0, 3.048]);
/// assert_eq!(unit.to_string(), "ft");
/// assert!("feets".parse::<LengthUnit>().unwrap_err().to_string().contains("did you mean \"feet\"?"));
/// # Ok::<(), fallwise::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum LengthUnit {
    /// Metre.
    M,
    /// Centimetre.
    Cm,
    /// Millimetre.
    Mm,
    /// International foot.
    Ft,
    /// US survey foot.
    UsFt,
    /// Inch.
    In,
    /// Yard.
    Yd,
}

impl LengthUnit {
    const WHAT: &str = "unit of length";
    const SPELLINGS: &[(Self, &[&str])] = &[
        (Self::M, &["m", "metre", "metres", "meter", "meters"]),
        (Self::Cm, &["cm", "centimetre", "centimetres", "centimeter", "centimeters"]),
        (Self::Mm, &["mm", "millimetre", "millimetres", "millimeter", "millimeters"]),
        (Self::Ft, &["ft", "'", "foot", "feet"]),
        (Self::UsFt, &["us ft", "us survey ft", "us survey foot", "us survey feet"]),
        (Self::In, &["in", "\"", "inch", "inches"]),
        (Self::Yd, &["yd", "yard", "yards"]),
    ];

    /// This unit to metres.
    pub fn to_si<V: Values>(self, values: V) -> V::Output {
        match self {
            Self::M => values.each(|x| x),
            Self::Cm => cm(values),
            Self::Mm => mm(values),
            Self::Ft => ft(values),
            Self::UsFt => us_ft(values),
            Self::In => inch(values),
            Self::Yd => yard(values),
        }
    }

    /// Metres to this unit.
    pub fn from_si<V: Values>(self, metres: V) -> V::Output {
        match self {
            Self::M => metres.each(|x| x),
            Self::Cm => to_cm(metres),
            Self::Mm => to_mm(metres),
            Self::Ft => to_ft(metres),
            Self::UsFt => to_us_ft(metres),
            Self::In => to_inch(metres),
            Self::Yd => to_yard(metres),
        }
    }
}

/// A unit of tilt: an angle, or a slope whose arc tangent is the tilt.
///
/// "1 in N" is not among them: a column of N has no number for level. As a text it is read by
/// [`parse_slope`](super::parse_slope).
///
/// ```
/// use fallwise::units::{TiltUnit, deg};
///
/// assert_eq!("deg".parse::<TiltUnit>()?.to_si(0.3), deg(0.3));
/// assert_eq!("%".parse::<TiltUnit>()?.to_si(100.0), deg(45.0)); // a slope of 100 %, as atan
/// # Ok::<(), fallwise::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum TiltUnit {
    /// Radian.
    Rad,
    /// Milliradian.
    Mrad,
    /// Degree.
    Deg,
    /// Slope, percent.
    Percent,
    /// Slope, inches per foot.
    InPerFt,
    /// Slope, millimetres per metre.
    MmPerM,
    /// Slope, fall over horizontal length in the same unit.
    Ratio,
}

impl TiltUnit {
    const WHAT: &str = "unit of tilt or slope";
    const SPELLINGS: &[(Self, &[&str])] = &[
        (Self::Rad, &["rad", "radian", "radians"]),
        (Self::Mrad, &["mrad", "milliradian", "milliradians"]),
        (Self::Deg, &["deg", "degree", "degrees"]),
        (Self::Percent, &["%", "percent", "per cent", "pct", "cm/m"]),
        (
            Self::InPerFt,
            &[
                "in/ft",
                "\"/ft",
                "\"/'",
                "\"/foot",
                "in/foot",
                "inch/ft",
                "inch/foot",
                "inches/ft",
                "inches/foot",
                "in./ft",
            ],
        ),
        (
            Self::MmPerM,
            &["mm/m", "mm/metre", "mm/meter", "millimetres/metre", "millimeters/meter", "\u{2030}", "permille"],
        ),
        (Self::Ratio, &["ratio", "m/m", "ft/ft", "in/in"]),
    ];

    /// Whether it measures an angle, not a slope.
    pub fn is_angle(self) -> bool {
        matches!(self, Self::Rad | Self::Mrad | Self::Deg)
    }

    /// This unit to radians of tilt.
    pub fn to_si<V: Values>(self, values: V) -> V::Output {
        values.each(|x| if self.is_angle() { self.scaled(x) } else { slope_to_tilt(self.scaled(x)) })
    }

    /// Radians of tilt to this unit.
    pub fn from_si<V: Values>(self, tilt_rad: V) -> V::Output {
        tilt_rad.each(|t| match self {
            Self::Rad => t,
            Self::Mrad => t * 1000.0,
            Self::Deg => to_deg(t),
            Self::Percent => to_percent(tilt_to_slope(t)),
            Self::InPerFt => to_in_per_ft(tilt_to_slope(t)),
            Self::MmPerM => to_mm_per_m(tilt_to_slope(t)),
            Self::Ratio => tilt_to_slope(t),
        })
    }

    /// This unit to radians if it is an angle, to a ratio if it is a slope.
    pub(super) fn scaled(self, value: f64) -> f64 {
        match self {
            Self::Rad | Self::Ratio => value,
            Self::Mrad => value / 1000.0,
            Self::Deg => deg(value),
            Self::Percent => percent(value),
            Self::InPerFt => in_per_ft(value),
            Self::MmPerM => mm_per_m(value),
        }
    }
}

/// A unit of volume. A gallon is the US one unless it says "imperial".
///
/// ```
/// use fallwise::units::{VolumeUnit, gallon};
///
/// assert_eq!("gal".parse::<VolumeUnit>()?.to_si(2.0), gallon(2.0));
/// # Ok::<(), fallwise::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum VolumeUnit {
    /// Cubic metre.
    M3,
    /// Litre.
    Litre,
    /// Millilitre.
    Millilitre,
    /// US liquid gallon.
    Gallon,
    /// Imperial gallon.
    ImperialGallon,
    /// Cubic foot.
    CubicFoot,
}

impl VolumeUnit {
    const WHAT: &str = "unit of volume";
    const SPELLINGS: &[(Self, &[&str])] = &[
        (Self::M3, &["m3", "m^3", "cubic metre", "cubic metres", "cubic meter", "cubic meters"]),
        (Self::Litre, &["l", "litre", "litres", "liter", "liters"]),
        (Self::Millilitre, &["ml", "millilitre", "millilitres", "milliliter", "milliliters"]),
        (Self::Gallon, &["gal", "gallon", "gallons", "us gal", "us gallon", "us gallons"]),
        (Self::ImperialGallon, &["imperial gal", "imp gal", "uk gal", "imperial gallon", "imperial gallons"]),
        (Self::CubicFoot, &["ft3", "ft^3", "cu ft", "cubic ft", "cubic foot", "cubic feet"]),
    ];

    /// This unit to cubic metres.
    pub fn to_si<V: Values>(self, values: V) -> V::Output {
        match self {
            Self::M3 => values.each(|x| x),
            Self::Litre => litre(values),
            Self::Millilitre => values.each(|x| x / 1e6),
            Self::Gallon => gallon(values),
            Self::ImperialGallon => imperial_gallon(values),
            Self::CubicFoot => cubic_foot(values),
        }
    }

    /// Cubic metres to this unit.
    pub fn from_si<V: Values>(self, cubic_metres: V) -> V::Output {
        match self {
            Self::M3 => cubic_metres.each(|x| x),
            Self::Litre => to_litre(cubic_metres),
            Self::Millilitre => cubic_metres.each(|x| x * 1e6),
            Self::Gallon => to_gallon(cubic_metres),
            Self::ImperialGallon => to_imperial_gallon(cubic_metres),
            Self::CubicFoot => to_cubic_foot(cubic_metres),
        }
    }
}

/// A unit of flow. A gallon is the US one unless it says "imperial".
///
/// ```
/// use fallwise::units::{FlowUnit, gal_per_min};
///
/// assert_eq!("gpm".parse::<FlowUnit>()?.to_si(20.0), gal_per_min(20.0));
/// # Ok::<(), fallwise::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum FlowUnit {
    /// Cubic metres a second.
    M3PerS,
    /// Cubic metres an hour.
    M3PerH,
    /// Litres a second.
    LitrePerS,
    /// Litres a minute.
    LitrePerMin,
    /// US gallons a minute.
    GallonPerMin,
    /// Imperial gallons a minute.
    ImperialGallonPerMin,
    /// Cubic feet a second.
    CubicFootPerS,
}

impl FlowUnit {
    const WHAT: &str = "unit of flow";
    const SPELLINGS: &[(Self, &[&str])] = &[
        (Self::M3PerS, &["m3/s", "m^3/s", "cubic metres/second", "cubic meters/second"]),
        (Self::M3PerH, &["m3/h", "m^3/h", "m3/hour", "cubic metres/hour", "cubic meters/hour"]),
        (Self::LitrePerS, &["l/s", "litre/s", "litres/s", "litres/second", "liters/second", "lps"]),
        (Self::LitrePerMin, &["l/min", "litres/min", "litres/minute", "liters/minute"]),
        (Self::GallonPerMin, &["gal/min", "gpm", "us gpm", "us gal/min", "gallons/min", "gallons/minute"]),
        (Self::ImperialGallonPerMin, &["imperial gal/min", "imp gal/min", "uk gal/min", "imperial gallons/minute"]),
        (Self::CubicFootPerS, &["ft3/s", "ft^3/s", "cfs", "cu ft/s", "cubic feet/second"]),
    ];

    /// This unit to cubic metres a second.
    pub fn to_si<V: Values>(self, values: V) -> V::Output {
        match self {
            Self::M3PerS => values.each(|x| x),
            Self::M3PerH => values.each(|x| x / 3600.0),
            Self::LitrePerS => l_per_s(values),
            Self::LitrePerMin => values.each(|x| x / 60_000.0),
            Self::GallonPerMin => gal_per_min(values),
            Self::ImperialGallonPerMin => values.each(|x| imperial_gallon(x) / 60.0),
            Self::CubicFootPerS => cubic_foot(values),
        }
    }

    /// Cubic metres a second to this unit.
    pub fn from_si<V: Values>(self, cubic_metres_per_second: V) -> V::Output {
        match self {
            Self::M3PerS => cubic_metres_per_second.each(|x| x),
            Self::M3PerH => cubic_metres_per_second.each(|x| x * 3600.0),
            Self::LitrePerS => to_l_per_s(cubic_metres_per_second),
            Self::LitrePerMin => cubic_metres_per_second.each(|x| x * 60_000.0),
            Self::GallonPerMin => to_gal_per_min(cubic_metres_per_second),
            Self::ImperialGallonPerMin => cubic_metres_per_second.each(|x| to_imperial_gallon(60.0 * x)),
            Self::CubicFootPerS => to_cubic_foot(cubic_metres_per_second),
        }
    }
}

/// The unit that `word` spells; the first spelling of each is its symbol.
fn find<U: Copy>(what: &str, spellings: &[(U, &[&str])], word: &str) -> Result<U, Error> {
    let spelled = plain(word).replace('_', " ").replace(" per ", "/").replace(" /", "/").replace("/ ", "/");
    let spelled = spelled.strip_suffix('.').unwrap_or(&spelled);
    let all = || spellings.iter().flat_map(|&(unit, words)| words.iter().map(move |&w| (unit, w)));
    if let Some((unit, _)) = all().find(|&(_, w)| w == spelled) {
        return Ok(unit);
    }
    let symbols: Vec<&str> = spellings.iter().filter_map(|(_, words)| words.first().copied()).collect();
    Err(Error::Unknown {
        what: what.to_owned(),
        word: word.to_owned(),
        nearest: nearest(spelled, all().map(|(_, w)| w)).map(str::to_owned),
        known: symbols.join(", "),
    })
}

/// Reading a unit from its name, writing its symbol, and serde through both.
macro_rules! named {
    ($unit:ident) => {
        impl FromStr for $unit {
            type Err = Error;
            fn from_str(word: &str) -> Result<Self, Error> {
                find(Self::WHAT, Self::SPELLINGS, word)
            }
        }
        impl TryFrom<String> for $unit {
            type Error = Error;
            fn try_from(word: String) -> Result<Self, Error> {
                word.parse()
            }
        }
        impl core::fmt::Display for $unit {
            fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
                let words = Self::SPELLINGS.iter().find(|(unit, _)| unit == self).map_or(&[][..], |(_, words)| words);
                f.pad(words.first().copied().unwrap_or_default())
            }
        }
        impl From<$unit> for String {
            fn from(unit: $unit) -> Self {
                unit.to_string()
            }
        }
    };
}

named!(LengthUnit);
named!(TiltUnit);
named!(VolumeUnit);
named!(FlowUnit);

//! Pipes, their two sizes, and reaches.
//!
//! A pipe has a *bore* (inside, for volumes and flow) and a *nominal size* (a name, for rules); the one is never looked
//! up from the other. [`Pipe::standard`] fills both from the table of [`standard_pipes`].

use core::{fmt, str::FromStr};

use serde::{Deserialize, Serialize};

use crate::prelude::*;
use crate::{error::Error, section::Bore};

/// A pipe as laid. Unknown parts stay absent; what needs them is then "not determined".
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub struct Pipe {
    /// Name, such as a standard and class.
    pub name: String,
    /// Inside of the pipe.
    pub bore: Option<Bore>,
    /// Nominal size, for rules.
    pub nominal: Option<Nominal>,
    /// Material, in plain words.
    pub material: Option<String>,
    /// Wall thickness, m.
    pub wall_m: Option<f64>,
    /// Length of one laid piece, m.
    pub stick_m: Option<f64>,
    /// Manning's n of its wall, s/m^(1/3).
    pub manning_n: Option<f64>,
    /// Equivalent sand roughness of its wall, m, for Colebrook and White.
    pub roughness_m: Option<f64>,
}

/// A nominal size: a name that looks like a number.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Nominal {
    /// The number.
    pub size: f64,
    /// What it counts.
    pub unit: SizeUnit,
}

impl Nominal {
    /// A size in inches, as in "4 in".
    pub const fn inches(size: f64) -> Self {
        Self { size, unit: SizeUnit::Inch }
    }

    /// A size by DN, as in "DN 100".
    pub const fn dn(size: f64) -> Self {
        Self { size, unit: SizeUnit::Dn }
    }
}

/// "4 in" or "DN 100".
impl fmt::Display for Nominal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.unit {
            SizeUnit::Inch => write!(f, "{} in", self.size),
            SizeUnit::Dn => write!(f, "DN {}", self.size),
        }
    }
}

/// Reads "4 in", "4\"", "1.5 inch", "1 1/2 in" or "DN 100", in any case, with or without spaces.
///
/// A number alone is refused: 4 may be inches, 100 may be either's millimetres.
///
/// # Example
/// ```
/// use fallwise::model::Nominal;
/// assert_eq!("4\"".parse(), Ok(Nominal::inches(4.0)));
/// assert_eq!("dn100".parse(), Ok(Nominal::dn(100.0)));
/// assert_eq!(Nominal::dn(100.0).to_string(), "DN 100");
/// assert!("100".parse::<Nominal>().is_err());
/// ```
impl FromStr for Nominal {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self, Error> {
        let refuse = |reason: &str| Error::Text {
            text: text.to_owned(),
            reason: reason.to_owned(),
            expected: "a nominal size with its unit, such as \"4 in\" or \"DN 100\"".to_owned(),
        };
        let lower = text.trim().to_lowercase();
        let inches = ["inches", "inch", "in.", "in", "\"", "″"].iter().find_map(|unit| lower.strip_suffix(unit));
        let (number, unit) = match (inches, lower.strip_prefix("dn")) {
            (Some(number), None) => (number, SizeUnit::Inch),
            (None, Some(number)) => (number, SizeUnit::Dn),
            _ => return Err(refuse("it has no unit of nominal sizes")),
        };
        match size(number) {
            Some(size) => Ok(Self { size, unit }),
            None => Err(refuse("it has no positive number")),
        }
    }
}

/// A positive number, plain ("4", "1.5") or with a fraction ("1 1/2", "1-1/2", "3/4").
fn size(text: &str) -> Option<f64> {
    let plain = |t: &str| t.starts_with(|c: char| c.is_ascii_digit()).then(|| t.parse::<f64>().ok()).flatten();
    let text = text.trim().trim_end_matches(['-', ' ']);
    let value = match text.split_once('/') {
        None => plain(text)?,
        Some((before, below)) => {
            let (whole, above) = before.rsplit_once([' ', '-']).unwrap_or(("0", before));
            plain(whole.trim())? + plain(above)? / plain(below)?
        }
    };
    (value > 0.0 && value.is_finite()).then_some(value)
}

/// What a nominal size counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum SizeUnit {
    /// Inches, as in "4 in".
    Inch,
    /// DN or millimetres, as in "DN 100".
    Dn,
}

/// A stretch of one bore, material, place and owner.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Reach {
    /// Start, m.
    pub from_m: f64,
    /// End, m.
    pub to_m: f64,
    /// Name, such as "under the house".
    #[serde(default)]
    pub name: String,
    /// The pipe.
    #[serde(default)]
    pub pipe: Pipe,
    /// Who owns it.
    #[serde(default)]
    pub owner: Option<String>,
    /// Facts that rules ask for and that hold for this reach only; they go before the job's.
    #[serde(default)]
    pub facts: alloc::collections::BTreeMap<String, String>,
}

/// One row of the table of standard pipes.
#[derive(Debug, Clone, PartialEq)]
pub struct StandardPipe {
    /// Standard and class as asked for, such as "SDR 35".
    pub class: &'static str,
    /// Nominal size as asked for, such as "4 in".
    pub nominal: Nominal,
    /// Outside diameter, m.
    pub outside_m: f64,
    /// Wall, m: the least, or the nominal one where `source` says so.
    pub wall_m: f64,
    /// Material.
    pub material: &'static str,
    /// The standard.
    pub source: &'static str,
    /// How sure the values are: "seen in a secondary source" or "from memory". None was seen in the standard itself.
    pub mark: &'static str,
}

const fn inches(
    class: &'static str,
    size: f64,
    outside_in: f64,
    wall_in: f64,
    material: &'static str,
    source: &'static str,
    mark: &'static str,
) -> StandardPipe {
    const INCH_M: f64 = 0.0254;
    let (outside_m, wall_m) = (outside_in * INCH_M, wall_in * INCH_M);
    StandardPipe { class, nominal: Nominal::inches(size), outside_m, wall_m, material, source, mark }
}

/// Outside diameter is the size itself (DN/OD).
const fn en_1401(class: &'static str, source: &'static str, size: f64, wall_mm: f64) -> StandardPipe {
    let (outside_m, wall_m) = (size / 1000.0, wall_mm / 1000.0);
    StandardPipe { class, nominal: Nominal::dn(size), outside_m, wall_m, material: PVC_U, source, mark: SEEN }
}

const PVC: &str = "PVC";
const PVC_U: &str = "PVC-U";
const SEEN: &str = "seen in a secondary source";
const MEMORY: &str = "from memory";
const D3034: &str = "ASTM D3034, least wall";
const D1785: &str =
    "ASTM D1785 and D2665, least wall; by the average wall the bore is 3.042 in (3 in) and 3.998 in (4 in)";
const SN4: &str = "EN 1401-1, SN 4 (SDR 41), least wall";
const SN8: &str = "EN 1401-1, SN 8 (SDR 34), least wall";

const SDR_35: &str = "SDR 35";
const SCH_40: &str = "Sch 40";
const EN_SN_4: &str = "EN 1401 SN 4";
const EN_SN_8: &str = "EN 1401 SN 8";
const A74: &str = "A74 service";

/// Classes with other ways to write them, as `squeezed` leaves them.
const CLASSES: [(&str, &[&str]); 5] = [
    (SDR_35, &["d3034sdr35", "pvcsdr35"]),
    (SCH_40, &["schedule40", "pvcsch40", "d1785sch40", "d2665", "d2665sch40"]),
    (EN_SN_4, &["en14011sn4", "en1401sdr41"]),
    (EN_SN_8, &["en14011sn8", "en1401sdr34"]),
    (A74, &["a74serviceiron", "serviceiron"]),
];

static STANDARD_PIPES: [StandardPipe; 16] = [
    inches(SDR_35, 4.0, 4.215, 0.120, PVC, D3034, MEMORY),
    inches(SDR_35, 6.0, 6.275, 0.180, PVC, D3034, MEMORY),
    inches(SCH_40, 3.0, 3.500, 0.216, PVC, D1785, SEEN),
    inches(SCH_40, 4.0, 4.500, 0.237, PVC, D1785, SEEN),
    inches(SCH_40, 6.0, 6.625, 0.280, PVC, D1785, MEMORY),
    en_1401(EN_SN_4, SN4, 110.0, 3.2),
    en_1401(EN_SN_4, SN4, 125.0, 3.2),
    en_1401(EN_SN_4, SN4, 160.0, 4.0),
    en_1401(EN_SN_4, SN4, 200.0, 4.9),
    en_1401(EN_SN_4, SN4, 250.0, 6.2),
    en_1401(EN_SN_8, SN8, 110.0, 3.2),
    en_1401(EN_SN_8, SN8, 125.0, 3.7),
    en_1401(EN_SN_8, SN8, 160.0, 4.7),
    en_1401(EN_SN_8, SN8, 200.0, 5.9),
    en_1401(EN_SN_8, SN8, 250.0, 7.3),
    inches(A74, 4.0, 4.30, 0.18, "cast iron", "ASTM A74, service, nominal wall", MEMORY),
];

/// The table of standard pipes: outside diameter and wall as the standards have them.
///
/// The bore is outside diameter less two walls. With the least wall, as here, it is the largest the standard allows:
/// for Sch 40 the average bores are 3.042 in (3 in) and 3.998 in (4 in) against 3.068 in and 4.026 in here.
pub fn standard_pipes() -> &'static [StandardPipe] {
    &STANDARD_PIPES
}

impl StandardPipe {
    /// Inside diameter, m: outside less two walls.
    pub fn bore_m(&self) -> f64 {
        self.outside_m - 2.0 * self.wall_m
    }
}

impl Pipe {
    /// A pipe by standard class and size, such as `("SDR 35", "4 in")` or `("EN 1401 SN 4", "DN 110")`.
    ///
    /// Case and spacing do not matter; a bare number is taken in the unit of the class. Name, bore (see
    /// [`standard_pipes`]), nominal size, material and wall are filled; the length of a stick is not, since every
    /// standard sells several.
    ///
    /// Pipes of EN 1401 go by their outside diameter. Their nominal size is kept as such, "DN 110": that rules written
    /// for a bore of 100 mm take it for DN 100 is common practice, without a source.
    ///
    /// # Errors
    /// [`Error::Unknown`] with the known classes or sizes and the nearest of them.
    ///
    /// # Example
    /// ```
    /// let pipe = fallwise::Pipe::standard("sdr35", "4\"")?;
    /// assert_eq!(pipe.name, "SDR 35 4 in");
    /// assert!((pipe.bore.unwrap().height_m() - 0.100965).abs() < 1e-9);
    /// # Ok::<(), fallwise::Error>(())
    /// ```
    pub fn standard(class: &str, size: &str) -> Result<Self, Error> {
        let wanted = squeezed(class);
        let (class, _) = CLASSES
            .iter()
            .find(|(name, others)| squeezed(name) == wanted || others.contains(&wanted.as_str()))
            .ok_or_else(|| Error::unknown("class of pipe", class, CLASSES.map(|(name, _)| name)))?;
        let rows = || STANDARD_PIPES.iter().filter(|row| row.class == *class);
        let row = rows().find(|row| is_size(size, row.nominal)).ok_or_else(|| Error::Unknown {
            what: format!("size of {class}"),
            word: size.to_owned(),
            nearest: nearest_size(size, rows().map(|row| row.nominal)).map(|nominal| nominal.to_string()),
            known: rows().map(|row| row.nominal.to_string()).collect::<Vec<_>>().join(", "),
        })?;
        Ok(Self {
            name: format!("{class} {}", row.nominal),
            bore: Some(Bore::Circle { diameter_m: row.bore_m() }),
            nominal: Some(row.nominal),
            material: Some(row.material.to_owned()),
            wall_m: Some(row.wall_m),
            ..Self::default()
        })
    }
}

/// Whether a text names this size; a bare number does if it is the size's number.
#[allow(clippy::float_cmp, reason = "sizes are names: 4 is 4 or is another size")]
fn is_size(text: &str, nominal: Nominal) -> bool {
    match text.parse::<Nominal>() {
        Ok(parsed) => parsed == nominal,
        Err(_) => size(text) == Some(nominal.size),
    }
}

/// The size nearest by number in the same unit, if one is within half as much again.
fn nearest_size(text: &str, sizes: impl Iterator<Item = Nominal>) -> Option<Nominal> {
    let asked = text.parse::<Nominal>().ok();
    let number = asked.map_or_else(|| size(text), |asked| Some(asked.size))?;
    let ratio = |nominal: &Nominal| (nominal.size / number).max(number / nominal.size);
    sizes
        .filter(|nominal| asked.is_none_or(|asked| asked.unit == nominal.unit) && ratio(nominal) < 1.5)
        .min_by(|a, b| ratio(a).total_cmp(&ratio(b)))
}

/// Letters and digits only, in lower case, without the name of the standards body.
fn squeezed(text: &str) -> String {
    let text: String = text.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect();
    text.strip_prefix("astm").unwrap_or(&text).to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    const INCH: f64 = 0.0254;

    /// Bores as printed for these pipes (seen in secondary sources); the last printed digit is 0.001 in or 0.1 mm, and the
    /// subtraction is exact but for rounding.
    #[test]
    fn bores_of_the_table() {
        for (class, size, bore) in [
            ("SDR 35", "4 in", 3.975 * INCH),
            ("SDR 35", "6 in", 5.915 * INCH),
            ("Sch 40", "3 in", 3.068 * INCH),
            ("Sch 40", "4 in", 4.026 * INCH),
            ("Sch 40", "6 in", 6.065 * INCH),
            ("EN 1401 SN 4", "DN 110", 0.1036),
            ("EN 1401 SN 4", "DN 160", 0.1520),
            ("EN 1401 SN 8", "DN 110", 0.1036),
            ("EN 1401 SN 8", "DN 160", 0.1506),
            ("A74 service", "4 in", 3.94 * INCH),
        ] {
            let pipe = Pipe::standard(class, size).unwrap();
            assert!((pipe.bore.unwrap().height_m() - bore).abs() < 1e-12, "{class} {size}");
        }
    }

    /// The ratio of outside diameter to wall is what the class is named for, to 0.001 in, or to the 0.2 mm within which
    /// walls in mm are rounded up (and a least wall of 3.2 mm goes before the ratio in small pipes).
    #[test]
    fn walls_agree_with_their_ratio() {
        for row in standard_pipes() {
            let (ratio, step) = match row.class {
                SDR_35 => (35.0, 0.001 * INCH),
                EN_SN_4 => (41.0, 2e-4),
                EN_SN_8 => (34.0, 2e-4),
                _ => continue,
            };
            let wall = row.outside_m / ratio;
            assert!((row.wall_m - wall).abs() <= step || (row.wall_m <= 0.0032 && wall < 0.0032), "{row:?}");
        }
    }

    #[test]
    fn every_row_can_be_asked_for_and_is_a_bore() {
        for row in standard_pipes() {
            let pipe = Pipe::standard(row.class, &row.nominal.to_string()).unwrap();
            assert_eq!((pipe.nominal, pipe.wall_m), (Some(row.nominal), Some(row.wall_m)));
            pipe.bore.unwrap().validate().unwrap();
            assert!(CLASSES.iter().any(|(name, _)| *name == row.class));
        }
    }

    #[test]
    fn case_and_spacing_do_not_matter() {
        let pipe = Pipe::standard("SDR 35", "4 in").unwrap();
        for (class, size) in
            [("sdr35", "4\""), ("ASTM D3034 SDR-35", "4in"), ("Sdr 35", " 4 inch "), ("PVC SDR 35", "4")]
        {
            assert_eq!(Pipe::standard(class, size).unwrap(), pipe, "{class} {size}");
        }
        let pipe = Pipe::standard("EN 1401 SN 4", "DN 110").unwrap();
        for (class, size) in [("en1401sn4", "110"), ("EN 1401-1 SN4", "dn110"), ("en1401 sn 4", "DN  110")] {
            assert_eq!(Pipe::standard(class, size).unwrap(), pipe, "{class} {size}");
        }
        assert_eq!(Pipe::standard("schedule 40", "3").unwrap().name, "Sch 40 3 in");
    }

    #[test]
    fn unknown_words_get_the_nearest() {
        let near = |class, size| match Pipe::standard(class, size) {
            Err(Error::Unknown { what, nearest, known, .. }) => (what, nearest.unwrap_or_default(), known),
            other => panic!("{other:?}"),
        };
        let (what, nearest, known) = near("SDR 36", "4 in");
        assert_eq!((what.as_str(), nearest.as_str()), ("class of pipe", "SDR 35"));
        assert_eq!(known, "SDR 35, Sch 40, EN 1401 SN 4, EN 1401 SN 8, A74 service");
        let (what, nearest, known) = near("EN 1401 SN 4", "DN 100");
        assert_eq!((what.as_str(), nearest.as_str()), ("size of EN 1401 SN 4", "DN 110"));
        assert_eq!(known, "DN 110, DN 125, DN 160, DN 200, DN 250");
        assert_eq!(near("SDR 35", "4.5").1, "4 in");
        for size in ["DN 4", "100", "", "in", "nan", "-4 in"] {
            let (_, nearest, known) = near("SDR 35", size);
            assert_eq!((nearest.as_str(), known.as_str()), ("", "4 in, 6 in"), "{size}");
        }
    }

    #[test]
    fn nominal_sizes_from_text() {
        for (text, nominal) in [
            ("1 1/2 in", Nominal::inches(1.5)),
            ("1-1/4\"", Nominal::inches(1.25)),
            ("2.5 Inches", Nominal::inches(2.5)),
            ("4-in.", Nominal::inches(4.0)),
            ("6″", Nominal::inches(6.0)),
            ("3/4 in", Nominal::inches(0.75)),
            ("Dn 150", Nominal::dn(150.0)),
        ] {
            assert_eq!(text.parse(), Ok(nominal), "{text}");
            assert_eq!(nominal.to_string().parse(), Ok(nominal));
        }
        for text in ["", "4", "in", "dn", "4 mm", "0 in", "-4 in x", "inf in", "nan in", "1/0 in", "0/0 in", "dn 4 in"]
        {
            assert!(matches!(text.parse::<Nominal>(), Err(Error::Text { .. })), "{text}");
        }
    }
}

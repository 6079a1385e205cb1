//! Numbers into words, for sentences and sheets, in a wording and a language.
//!
//! Nothing here prints "-0", an infinite or a missing number: those are "not determined".

use super::{
    convert::{
        in_per_ft, to_deg, to_ft, to_ft_per_s, to_gal_per_min, to_gallon, to_in_per_ft, to_inch, to_l_per_s,
        to_lb_per_ft2, to_litre, to_mm, to_one_in, to_percent,
    },
    language::{Decimal, ENGLISH, Language, Piece, pieces},
    said::{Part, Said},
    words::Words,
};
use crate::prelude::*;
use crate::word;

/// A slope flatter than 1 in 10,000 is called level: 1 mm in 10 m, beyond what any survey of a drain can tell.
const LEVEL: f64 = 1e-4;
/// A slope steeper than 1000 % is not given by its number.
const STEEPEST: f64 = 10.0;

/// A wording, a language and a decimal mark: all that it takes to say a figure.
///
/// Symbols of units (m, mm, ft, in, %) are the same in all languages.
#[derive(Debug, Clone, Copy)]
pub struct Voice<'a> {
    /// Wording and units.
    pub words: Words,
    /// The language.
    pub language: &'a Language,
    /// What stands before decimals.
    pub decimal: Decimal,
}

impl Voice<'static> {
    /// English with a decimal point.
    pub fn english(words: Words) -> Self {
        Self { words, language: &ENGLISH, decimal: Decimal::Point }
    }
}

impl<'a> Voice<'a> {
    /// A language with its own decimal mark.
    pub fn new(words: Words, language: &'a Language) -> Self {
        Self { words, language, decimal: language.decimal }
    }

    /// Whether it says what the source says, as it says it.
    pub fn is_plain(self) -> bool {
        self.language.is_english() && self.decimal == Decimal::Point
    }

    /// A fixed text of ours in this language.
    pub fn text(self, english: &'a str) -> &'a str {
        self.language.text(english)
    }

    /// A sentence, in its own wording.
    pub fn tell(self, said: &Said) -> String {
        let voice = Self { words: said.words, ..self };
        let template = self.language.text(&said.template);
        let mut told = String::with_capacity(template.len() + 16 * said.parts.len());
        for piece in pieces(template) {
            match piece {
                Piece::Plain(text) => told.push_str(text),
                // A name that has nothing stays, so that it is seen.
                Piece::Name(name) => match said.parts.get(name).map(|part| voice.part(part)) {
                    Some(text) => told.push_str(&text),
                    None => told.extend(["{", name, "}"]),
                },
            }
        }
        told
    }

    /// What stands at a name of a sentence.
    pub fn part(self, part: &Part) -> String {
        match part {
            Part::Text(text) => text.clone(),
            Part::Word(word) => self.language.text(word).to_owned(),
            Part::Said(said) => self.tell(said),
            Part::Capital(part) => {
                let text = self.part(part);
                let mut letters = text.chars();
                letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
            }
            Part::Slope(slope) => self.slope(*slope),
            Part::ShortSlope(slope) => self.short_slope(*slope),
            Part::SlopeRange(low, high) => self.slope_range(*low, *high),
            Part::Length(m) => self.length(*m),
            Part::About(m) => self.about(*m),
            Part::Small(m) => self.small(*m),
            Part::Station(m) => self.station(*m),
            Part::At(m) => self.at(*m),
            Part::Both(from_m, to_m) => self.both(*from_m, *to_m),
            Part::Elevation(m) => self.elevation(*m),
            Part::Volume(m3) => self.volume(*m3),
            Part::Angle(rad) => self.angle(*rad),
            Part::Flow(m3_s) => self.flow(*m3_s),
            Part::Speed(m_s) => self.speed(*m_s),
            Part::Shear(pa) => self.shear(*pa),
            Part::Share(share) => self.share(*share),
            Part::Probability(p) => self.probability(*p),
            Part::Number(value, places) => self.number(*value, usize::from(*places)),
            Part::Exact(value) => self.finite(*value, |value| self.mark(&value.to_string())),
            Part::Count(count) => count.to_string(),
        }
    }

    /// A template of a single text filled in.
    fn fill(self, english: &'a str, name: &str, value: &str) -> String {
        self.language.text(english).replace(&format!("{{{name}}}"), value)
    }

    /// As [`Words::slope`].
    pub fn slope(self, slope: f64) -> String {
        let short = self.short_slope(slope);
        match self.words {
            Words::Us if (LEVEL..=STEEPEST).contains(&slope) => {
                format!("{short} ({} in/ft)", self.mark(&inches_per_foot(slope)))
            }
            _ => short,
        }
    }

    /// As [`Words::slope_range`].
    pub fn slope_range(self, low: f64, high: f64) -> String {
        if !(low.is_finite() && high.is_finite()) {
            return self.not_determined();
        }
        self.range(&self.short_slope(low), &self.short_slope(high))
    }

    /// "10 mm to 30 mm".
    pub fn range(self, low: &str, high: &str) -> String {
        self.language.text(word!("{low} to {high}")).replace("{low}", low).replace("{high}", high)
    }

    /// As [`Words::length`].
    pub fn length(self, m: f64) -> String {
        match self.words {
            Words::Uk => self.finite(m, |m| format!("{} m", self.number(m, 2))),
            Words::Us => self.finite(2.0 * to_inch(m), |half_inches| feet_and_inches(half_inches.round())),
        }
    }

    /// As [`Words::about`].
    pub fn about(self, m: f64) -> String {
        match self.words {
            Words::Uk => self.finite(m, |m| format!("{} m", self.number(m, 0))),
            Words::Us => self.finite(to_ft(m), |feet| format!("{} ft", self.number(feet, 0))),
        }
    }

    /// As [`Words::small`].
    pub fn small(self, m: f64) -> String {
        match self.words {
            Words::Uk => self.at_least(to_mm(m), 1.0, word!("{n} mm"), 0),
            Words::Us => self.at_least(to_inch(m), 0.1, word!("{n} in"), 1),
        }
    }

    /// As [`Words::station`].
    pub fn station(self, m: f64) -> String {
        match self.words {
            Words::Uk => self.length(m),
            Words::Us => self.finite(10.0 * to_ft(m), |tenths| {
                let tenths = tenths.round();
                let feet = tenths.abs() % 1000.0;
                let hundreds = (tenths.abs() - feet) / 1000.0;
                self.mark(&format!("{}{hundreds}+{:04.1}", minus(tenths), feet / 10.0))
            }),
        }
    }

    /// A place, as a reader finds it: "chainage 12.40 m", "station 0+40.7".
    pub fn at(self, m: f64) -> String {
        match self.words {
            Words::Uk => self.fill(word!("chainage {station}"), "station", &self.station(m)),
            Words::Us => self.fill(word!("station {station}"), "station", &self.station(m)),
        }
    }

    /// A stretch: "chainage 12.40 m and 14.00 m", "stations 0+40.7 and 0+45.9"; "between" goes before it.
    pub fn both(self, from_m: f64, to_m: f64) -> String {
        let template = match self.words {
            Words::Uk => word!("chainage {from} and {to}"),
            Words::Us => word!("stations {from} and {to}"),
        };
        self.language.text(template).replace("{from}", &self.station(from_m)).replace("{to}", &self.station(to_m))
    }

    /// An elevation in the job's datum: "31.200 m" or "98.40 ft".
    pub fn elevation(self, m: f64) -> String {
        match self.words {
            Words::Uk => self.finite(m, |m| format!("{} m", self.number(m, 3))),
            Words::Us => self.finite(to_ft(m), |ft| format!("{} ft", self.number(ft, 2))),
        }
    }

    /// As [`Words::volume`].
    pub fn volume(self, m3: f64) -> String {
        let (value, template) = match self.words {
            Words::Uk => (to_litre(m3), word!("{n} litres")),
            Words::Us => (to_gallon(m3), word!("{n} gal")),
        };
        let places = match value.abs() {
            v if v < 0.995 => 2,
            v if v < 9.95 => 1,
            _ => 0,
        };
        self.at_least(value, 0.01, template, places)
    }

    /// As [`Words::angle`].
    pub fn angle(self, rad: f64) -> String {
        self.finite(to_deg(rad), |deg| self.fill(word!("{n} degrees"), "n", &self.number(deg, 2)))
    }

    /// A flow: "1.20 l/s" or "19.0 gal/min" (US gallons).
    pub fn flow(self, m3_s: f64) -> String {
        match self.words {
            Words::Uk => self.three_figures(to_l_per_s(m3_s), "l/s"),
            Words::Us => self.three_figures(to_gal_per_min(m3_s), "gal/min"),
        }
    }

    /// A velocity: "0.70 m/s" or "2.30 ft/s".
    pub fn speed(self, m_s: f64) -> String {
        let (value, unit) = match self.words {
            Words::Uk => (m_s, "m/s"),
            Words::Us => (to_ft_per_s(m_s), "ft/s"),
        };
        self.finite(value, |value| format!("{} {unit}", self.number(value, 2)))
    }

    /// A shear: "1.25 Pa" or "0.0261 lb/ft2".
    pub fn shear(self, pa: f64) -> String {
        match self.words {
            Words::Uk => self.three_figures(pa, "Pa"),
            Words::Us => self.three_figures(to_lb_per_ft2(pa), "lb/ft2"),
        }
    }

    /// A share of a whole: "70 %".
    pub fn share(self, share: f64) -> String {
        self.finite(share, |share| format!("{} %", self.number(100.0 * share, 0)))
    }

    /// Three figures, and no more than four decimals.
    fn three_figures(self, value: f64, unit: &str) -> String {
        self.finite(value, |value| {
            let places = match value.abs() {
                v if v < 0.0995 => 4,
                v if v < 0.9995 => 3,
                v if v < 9.995 => 2,
                v if v < 99.95 => 1,
                _ => 0,
            };
            format!("{} {unit}", self.number(value, places))
        })
    }

    /// As [`probability`](super::probability).
    pub fn probability(self, p: f64) -> String {
        if p.is_nan() {
            self.not_determined()
        } else if p > 0.99 {
            self.fill(word!("more than {n} %"), "n", "99")
        } else if p < 0.01 {
            self.fill(word!("less than {size}"), "size", "1 %")
        } else {
            self.fill(word!("about {n} %"), "n", &format!("{:.0}", p * 100.0))
        }
    }

    /// A number to so many decimals, a zero without a sign.
    pub fn number(self, value: f64, places: usize) -> String {
        self.finite(value, |value| {
            let size = format!("{:.places$}", value.abs());
            let zero = size.bytes().all(|b| matches!(b, b'0' | b'.'));
            self.mark(&format!("{}{size}", if zero { "" } else { minus(value) }))
        })
    }

    /// "not determined"
    pub fn not_determined(self) -> String {
        self.language.text(word!("not determined")).to_owned()
    }

    /// A number with this voice's decimal mark; it has no other point.
    fn mark(self, number: &str) -> String {
        match self.decimal {
            Decimal::Point => number.to_owned(),
            Decimal::Comma => number.replace('.', ","),
        }
    }

    /// What `say` makes of the value, unless it is not determined.
    fn finite(self, value: f64, say: impl Fn(f64) -> String) -> String {
        if value.is_finite() { say(value) } else { self.not_determined() }
    }

    /// The value in its unit, or "less than" the step where it is neither that much nor nothing.
    fn at_least(self, value: f64, step: f64, unit: &'a str, places: usize) -> String {
        self.finite(value, |value| {
            let with_unit = |number: &str| self.fill(unit, "n", number);
            if value == 0.0 {
                with_unit("0")
            // A value of one step that was converted there and back may have lost its last digit.
            } else if value.abs() < step * (1.0 - 1e-9) {
                self.fill(word!("less than {size}"), "size", &with_unit(&self.mark(&step.to_string())))
            } else {
                with_unit(&self.number(value, places))
            }
        })
    }

    /// A slope without its bracket.
    pub fn short_slope(self, slope: f64) -> String {
        self.finite(slope, |slope| {
            let steep = slope.abs();
            if steep < LEVEL {
                return self.language.text(word!("level")).to_owned();
            }
            let size = match self.words {
                Words::Uk => {
                    self.fill(word!("1 in {n}"), "n", &self.mark(&three_figures(to_one_in(steep.min(STEEPEST)))))
                }
                Words::Us => format!("{} %", self.number(to_percent(steep.min(STEEPEST)), 2)),
            };
            let size = if steep > STEEPEST { self.fill(word!("steeper than {slope}"), "slope", &size) } else { size };
            if slope < 0.0 { self.fill(word!("{slope} backfall"), "slope", &size) } else { size }
        })
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

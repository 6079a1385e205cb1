//! A rulebook: rows of requirements as data, read from TOML.

use alloc::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use toml::de::{DeTable, DeValue};

use super::text;
use crate::prelude::*;
use crate::{
    error::{Error, nearest},
    model::{Nominal, SizeUnit, redact},
};

/// A named set of rows.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Rulebook {
    /// Short name, as asked for.
    pub name: String,
    /// Title for the reader.
    pub title: String,
    /// Version of this transcription, not of the document.
    pub version: String,
    /// Where the documents hold.
    pub jurisdiction: String,
    /// The rows, in the order of the document.
    #[serde(rename = "rule", default)]
    pub rows: Vec<Rule>,
}

/// A row of a rulebook. Results keep the rows they used, so that an old report stays true.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Rule {
    /// Name of the row, unique in its book.
    pub id: String,
    /// Document.
    pub document: String,
    /// Its edition.
    pub edition: String,
    /// Clause or table in it.
    pub clause: String,
    /// The requirement in plain words (not the document's own).
    pub text: String,
    /// What stands behind it.
    pub force: Force,
    /// The work it speaks of.
    #[serde(default)]
    pub applies_to: AppliesTo,
    /// Whether the value was seen in the primary document.
    #[serde(default)]
    pub confirmed: bool,
    /// Where the value was seen, such as "seen in a secondary source" or "from memory".
    pub source_mark: String,
    /// Whether the row is used; uncertain rows are shipped switched off, with the reason under `remark`.
    #[serde(default = "yes")]
    pub enabled: bool,
    /// What a reader should know of this row: disagreements between sources, and why it is switched off.
    #[serde(default)]
    pub remark: String,
    /// Facts the job must give, with the value that makes the row apply. A fact the job does not give leaves open
    /// whether the row applies.
    #[serde(default)]
    pub needs: BTreeMap<String, String>,
    /// Facts the job must give as numbers, with the least value that makes the row apply.
    #[serde(default)]
    pub needs_at_least: BTreeMap<String, f64>,
    /// Values taken for needed facts where the job is silent.
    #[serde(default)]
    pub assumed: BTreeMap<String, String>,
    /// Names of rows that this one takes the place of where it applies.
    #[serde(default)]
    pub instead_of: Vec<String>,
    /// What `min_size` and `max_size` count.
    #[serde(default)]
    pub unit: Option<SizeUnit>,
    /// Smallest nominal size the row speaks of; absent: no lower end.
    #[serde(default)]
    pub min_size: Option<f64>,
    /// Largest nominal size the row speaks of; absent: no upper end.
    #[serde(default)]
    pub max_size: Option<f64>,
    /// Least slope.
    #[serde(default)]
    pub min_slope: Option<SlopeLimit>,
    /// A second, rounded value that the document prints beside `min_slope`: shown, not tested.
    #[serde(default)]
    pub also_printed: Option<SlopeLimit>,
    /// Greatest slope.
    #[serde(default)]
    pub max_slope: Option<SlopeLimit>,
    /// Greatest depth of standing water, "none" for no water at all.
    #[serde(default)]
    pub max_pool: Option<DepthLimit>,
    /// The length over which the slope is measured.
    #[serde(default)]
    pub over: Over,
}

/// What stands behind a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum Force {
    /// A code or ordinance, where adopted.
    Code,
    /// A guidance document or standard.
    Guidance,
    /// A contract or specification.
    Contract,
    /// Practice, or a choice of this library's.
    Practice,
}

impl Force {
    /// The word, as written in rulebooks and answers.
    pub fn word(self) -> &'static str {
        match self {
            Self::Code => "code",
            Self::Guidance => "guidance",
            Self::Contract => "contract",
            Self::Practice => "practice",
        }
    }
}

/// The work that a row speaks of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum AppliesTo {
    /// New work only.
    #[default]
    New,
    /// New and existing pipe.
    All,
}

/// A limit of slope, kept as printed and as the exact number it says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(try_from = "String", into = "String")]
pub struct SlopeLimit {
    /// As printed, such as "1/4 in/ft" or "1 in DN".
    pub text: String,
    /// The slope; absent for "1 in DN", which depends on the nominal size.
    pub slope: Option<f64>,
}

impl SlopeLimit {
    /// The slope asked of a pipe of this nominal size; absent where the limit is "1 in DN" and the size is in inches.
    pub fn at(&self, nominal: Option<Nominal>) -> Option<f64> {
        self.slope.or_else(|| match nominal {
            Some(Nominal { size, unit: SizeUnit::Dn }) if size.is_finite() && size > 0.0 => Some(1.0 / size),
            _ => None,
        })
    }
}

impl TryFrom<String> for SlopeLimit {
    type Error = Error;
    fn try_from(text: String) -> Result<Self, Error> {
        if text.trim() == "1 in DN" {
            return Ok(Self { text, slope: None });
        }
        let slope = text::parse_slope(&text)?;
        Ok(Self { text, slope: Some(slope) })
    }
}

impl From<SlopeLimit> for String {
    fn from(limit: SlopeLimit) -> Self {
        limit.text
    }
}

/// A limit of depth, kept as printed and in metres.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(try_from = "String", into = "String")]
pub struct DepthLimit {
    /// As printed, such as "1/2 in"; "none" where no water may stand.
    pub text: String,
    /// The depth, m.
    pub depth_m: f64,
}

impl TryFrom<String> for DepthLimit {
    type Error = Error;
    fn try_from(text: String) -> Result<Self, Error> {
        let depth_m = if text.trim() == "none" { 0.0 } else { text::parse_length(&text)? };
        if depth_m < 0.0 {
            return Err(Error::value("max_pool", text, "a depth that is not negative, or \"none\""));
        }
        Ok(Self { text, depth_m })
    }
}

impl From<DepthLimit> for String {
    fn from(limit: DepthLimit) -> Self {
        limit.text
    }
}

/// The length over which a slope is measured. Shipped rows measure over the reach.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(try_from = "String", into = "String")]
pub enum Over {
    /// The whole reach.
    #[default]
    Reach,
    /// Every laid length: from joint to joint where joints are noted, else any stretch as long as a stick.
    Stick,
    /// Any stretch of this true length, m.
    Length(f64),
}

impl TryFrom<String> for Over {
    type Error = Error;
    fn try_from(text: String) -> Result<Self, Error> {
        match text.trim() {
            "reach" => Ok(Self::Reach),
            "stick" => Ok(Self::Stick),
            length => {
                let expected = "\"reach\", \"stick\" or a length such as \"3 m\"";
                match text::parse_length(length) {
                    Ok(m) if m > 0.0 => Ok(Self::Length(m)),
                    _ => Err(Error::value("over", &text, expected)),
                }
            }
        }
    }
}

impl From<Over> for String {
    fn from(over: Over) -> Self {
        match over {
            Over::Reach => "reach".to_owned(),
            Over::Stick => "stick".to_owned(),
            Over::Length(m) => format!("{m} m"),
        }
    }
}

impl Rulebook {
    /// Reads a rulebook written in TOML.
    ///
    /// # Errors
    /// [`Error::Rulebook`] with line and column, and the nearest known word where a word is unknown.
    ///
    /// # Example
    /// ```
    /// # fn main() -> Result<(), fallwise::Error> {
    /// let book = fallwise::Rulebook::parse(
    ///     r#"
    ///     name = "ours"
    ///     title = "What we lay to"
    ///     version = "1"
    ///     jurisdiction = "our own work"
    ///
    ///     [[rule]]
    ///     id = "laterals"
    ///     document = "House specification"
    ///     edition = "2026"
    ///     clause = "3"
    ///     text = "Laterals fall at least 1 in 60."
    ///     force = "contract"
    ///     confirmed = true
    ///     source_mark = "our own document"
    ///     min_slope = "1 in 60"
    ///     "#,
    /// )?;
    /// assert_eq!(book.rows[0].min_slope.as_ref().and_then(|limit| limit.slope), Some(1.0 / 60.0));
    /// # Ok(())
    /// # }
    /// ```
    pub fn parse(text: &str) -> Result<Self, Error> {
        let book: Written = toml::from_str(text).map_err(|e| {
            let at = e.span().map(|span| span.start);
            missing(text).unwrap_or_else(|| wrong(text, at, &readable(e.message())))
        })?;
        let mut rows: Vec<Rule> = Vec::with_capacity(book.rows.len());
        for row in &book.rows {
            let at = Some(row.span().start);
            let rule = row.as_ref();
            rule.validate().map_err(|message| wrong(text, at, &format!("rule \"{}\": {message}", rule.id)))?;
            if rows.iter().any(|earlier| earlier.id == rule.id) {
                return Err(wrong(text, at, &format!("rule \"{}\" is there twice: each id is used once", rule.id)));
            }
            rows.push(rule.clone());
        }
        let ids: Vec<&str> = rows.iter().map(|r| r.id.as_str()).collect();
        for row in &book.rows {
            if let Some(id) = row.as_ref().instead_of.iter().find(|id| !ids.contains(&id.as_str())) {
                let message = Error::unknown("instead_of: rule", id, ids.iter().copied()).to_string();
                return Err(wrong(text, Some(row.span().start), &message));
            }
        }
        Ok(Self { name: book.name, title: book.title, version: book.version, jurisdiction: book.jurisdiction, rows })
    }

    /// A shipped rulebook by name; [`rulebooks`](super::rulebooks) lists them.
    ///
    /// # Errors
    /// [`Error::Unknown`] with the nearest name.
    ///
    /// # Example
    /// ```
    /// let book = fallwise::Rulebook::shipped("ipc-2021")?;
    /// assert_eq!(book.rows[0].clause, "Table 704.1");
    /// assert!(fallwise::Rulebook::shipped("ipc-2020").unwrap_err().to_string().contains("did you mean \"ipc-2021\"?"));
    /// # Ok::<(), fallwise::Error>(())
    /// ```
    pub fn shipped(name: &str) -> Result<Self, Error> {
        match super::shipped::BOOKS.iter().find(|(known, _)| *known == name) {
            Some((_, text)) => Self::parse(text),
            None => Err(Error::unknown("rulebook", name, super::shipped::BOOKS.iter().map(|(known, _)| *known))),
        }
    }
}

impl Rulebook {
    /// Whether any row limits standing water: if none does, findings do not look at pools.
    pub(crate) fn limits_water(&self) -> bool {
        self.rows.iter().any(|rule| rule.enabled && rule.max_pool.is_some())
    }

    /// The book for sharing: a shipped one as it is; of the user's own, limits, sizes and conditions without names, documents and
    /// texts, which may name a firm. Facts that no shipped book knows stay conditions, under the name of their row.
    #[must_use]
    pub fn redacted(&self) -> Self {
        const OWN: &str = "own rulebook";
        if Self::shipped(&self.name).is_ok_and(|shipped| shipped == *self) {
            return self.clone();
        }
        let ids: BTreeMap<&str, usize> = self.rows.iter().zip(1..).map(|(row, i)| (row.id.as_str(), i)).collect();
        let rows = self.rows.iter().zip(1..).map(|(row, number)| {
            let hidden = |name: &String| match redact::fact(name, "") {
                Some(_) => name.clone(),
                None => format!("fact of row {number}"),
            };
            let said = |facts: &BTreeMap<String, String>| -> BTreeMap<String, String> {
                let value = |name: &str, value: &str| redact::fact(name, value).unwrap_or("as asked").to_owned();
                facts.iter().map(|(name, fact)| (hidden(name), value(name, fact))).collect()
            };
            Rule {
                id: format!("row {number}"),
                document: OWN.to_owned(),
                edition: "not told".to_owned(),
                clause: format!("row {number}"),
                text: format!("row {number} of a rulebook that is not told"),
                source_mark: OWN.to_owned(),
                remark: String::new(),
                needs: said(&row.needs),
                needs_at_least: row.needs_at_least.iter().map(|(name, least)| (hidden(name), *least)).collect(),
                assumed: said(&row.assumed),
                instead_of: row
                    .instead_of
                    .iter()
                    .filter_map(|id| ids.get(id.as_str()))
                    .map(|i| format!("row {i}"))
                    .collect(),
                ..row.clone()
            }
        });
        Self {
            rows: rows.collect(),
            name: OWN.to_owned(),
            title: OWN.to_owned(),
            version: "1".to_owned(),
            jurisdiction: "not told".to_owned(),
        }
    }
}

impl Rule {
    /// What is wrong with a row whose parts were all readable.
    fn validate(&self) -> Result<(), String> {
        let named = [
            ("id", &self.id),
            ("document", &self.document),
            ("edition", &self.edition),
            ("clause", &self.clause),
            ("text", &self.text),
            ("source_mark", &self.source_mark),
        ];
        if let Some((key, _)) = named.iter().find(|(_, value)| value.trim().is_empty()) {
            return Err(format!("{key} is empty"));
        }
        for (key, size) in [("min_size", self.min_size), ("max_size", self.max_size)] {
            if size.is_some_and(|s| !(s.is_finite() && s > 0.0)) {
                return Err(format!("{key} must be a positive number"));
            }
        }
        if self.unit.is_none() && (self.min_size.is_some() || self.max_size.is_some()) {
            return Err("sizes are given without unit; expected unit = \"inch\" or \"dn\"".to_owned());
        }
        if let (Some(least), Some(most)) = (self.min_size, self.max_size)
            && least > most
        {
            return Err(format!("min_size {least} is larger than max_size {most}"));
        }
        if let (Some(least), Some(most)) = (fixed(self.min_slope.as_ref()), fixed(self.max_slope.as_ref()))
            && least > most
        {
            return Err("min_slope is steeper than max_slope".to_owned());
        }
        if [&self.min_slope, &self.max_slope].into_iter().flatten().any(|limit| limit.slope.is_none())
            && self.unit != Some(SizeUnit::Dn)
        {
            return Err("\"1 in DN\" needs unit = \"dn\"".to_owned());
        }
        if let Some((key, _)) = self.needs_at_least.iter().find(|(_, least)| !least.is_finite()) {
            return Err(format!("needs_at_least.{key} must be a finite number"));
        }
        if let Some(key) =
            self.assumed.keys().find(|key| !self.needs.contains_key(*key) && !self.needs_at_least.contains_key(*key))
        {
            return Err(format!("assumed.{key} is not among the needs of the row"));
        }
        if self.also_printed.is_some() && self.min_slope.is_none() {
            return Err("also_printed goes with a min_slope".to_owned());
        }
        let conditional = !self.needs.is_empty() || !self.needs_at_least.is_empty();
        let releases = conditional && !self.instead_of.is_empty();
        if !(self.limits_slope() || self.max_pool.is_some() || releases) {
            return Err("nothing is required; expected min_slope, max_slope or max_pool, or a row that, with needs, \
                        stands instead_of another"
                .to_owned());
        }
        Ok(())
    }

    /// Whether the row states a slope.
    pub fn limits_slope(&self) -> bool {
        self.min_slope.is_some() || self.max_slope.is_some()
    }
}

/// A limit where it does not depend on the size.
fn fixed(limit: Option<&SlopeLimit>) -> Option<f64> {
    limit.and_then(|l| l.slope)
}

fn yes() -> bool {
    true
}

/// A rulebook as written, each row with its place.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    name: String,
    title: String,
    version: String,
    jurisdiction: String,
    #[serde(rename = "rule", default)]
    rows: Vec<toml::Spanned<Rule>>,
}

/// Keys that a book, and each of its rows, must have.
const BOOK_KEYS: [&str; 4] = ["name", "title", "version", "jurisdiction"];
const ROW_KEYS: [&str; 7] = ["id", "document", "edition", "clause", "text", "force", "source_mark"];

/// All keys that the book lacks, or else the first row that lacks some, told at once; the reader stops at the first key.
fn missing(text: &str) -> Option<Error> {
    let book = DeTable::parse(text).ok()?;
    let book = book.get_ref();
    let lacking = |table: &DeTable<'_>, keys: &[&str]| {
        let lacking: Vec<String> =
            keys.iter().filter(|key| !table.contains_key(**key)).map(|key| format!("\"{key}\"")).collect();
        match lacking.as_slice() {
            [] => None,
            [only] => Some(format!("key {only} is missing")),
            _ => Some(format!("keys {} are missing", lacking.join(", "))),
        }
    };
    // A key with a slip in it is told as such: the one that was meant is not missing.
    let slip = |table: &DeTable<'_>, known: &[&str]| table.keys().any(|key| !known.contains(&key.get_ref().as_ref()));
    if slip(book, &[&BOOK_KEYS[..], &["rule"]].concat()) {
        return None;
    }
    if let Some(said) = lacking(book, &BOOK_KEYS) {
        return Some(wrong(text, None, &said));
    }
    let DeValue::Array(rows) = book.get("rule")?.get_ref() else { return None };
    for (i, row) in rows.iter().enumerate() {
        let DeValue::Table(table) = row.get_ref() else { return None };
        let Some(said) = lacking(table, &ROW_KEYS) else { continue };
        if slip(table, &[&ROW_KEYS[..], &OTHER_ROW_KEYS].concat()) {
            return None;
        }
        let id = table.get("id").and_then(|id| id.get_ref().as_str());
        let row_name = id.map_or_else(|| format!("rule {}", i + 1), |id| format!("rule \"{id}\""));
        return Some(wrong(text, Some(row.span().start), &format!("{row_name}: {said}")));
    }
    None
}

/// Keys that a row may have beside [`ROW_KEYS`].
const OTHER_ROW_KEYS: [&str; 16] = [
    "applies_to",
    "confirmed",
    "enabled",
    "remark",
    "needs",
    "needs_at_least",
    "assumed",
    "instead_of",
    "unit",
    "min_size",
    "max_size",
    "min_slope",
    "also_printed",
    "max_slope",
    "max_pool",
    "over",
];

/// An error at a byte of the text. Its message may quote whatever stands there, of any length, and what no screen should
/// be sent.
fn wrong(text: &str, at: Option<usize>, message: &str) -> Error {
    const LONGEST: usize = 700;
    let plain = |c: char| if c.is_control() && c != '\n' { ' ' } else { c };
    let mut said: String = message.trim_end().chars().take(LONGEST).map(plain).collect();
    if message.trim_end().chars().nth(LONGEST).is_some() {
        said.push('…');
    }
    let before = at.and_then(|byte| text.get(..byte.min(text.len())));
    let line = before.map(|b| b.matches('\n').count() + 1);
    let column = before.map(|b| b.rsplit('\n').next().unwrap_or_default().chars().count() + 1);
    Error::Rulebook { line, column, message: said }
}

/// The parser's message; where it speaks of an unknown word ("unknown field `x`, expected one of `a`, `b`") in the words of
/// the job's faults, with the nearest known word.
fn readable(message: &str) -> String {
    let mut quoted = message.split('`').skip(1).step_by(2);
    let (Some(word), true) = (quoted.next(), message.starts_with("unknown ")) else {
        return message.to_owned();
    };
    let known: Vec<&str> = quoted.collect();
    let key = if message.starts_with("unknown field") { "key " } else { "" };
    let meant =
        nearest(word, known.iter().copied()).map_or(String::new(), |near| format!(" (did you mean \"{near}\"?)"));
    format!("{key}\"{word}\" is not known{meant}; expected one of {}", known.join(", "))
}

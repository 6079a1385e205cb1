//! What can be wrong with the input, said so that it can be put right: field, place, value, and what was expected.

use crate::prelude::*;

/// An input that cannot be used. Odd but usable input is a warning in the result instead.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// A value that its field cannot have.
    #[error("{field}{}: {value} given, expected {expected}", at(*.index))]
    Value {
        /// The field as the caller knows it, such as `counter_m` or `reach.pipe`.
        field: String,
        /// Zero-based position in an array, where the field is one.
        index: Option<usize>,
        /// The value as given.
        value: String,
        /// What would have been accepted.
        expected: String,
    },
    /// An array shorter than the computation needs.
    #[error("{field}: {found} given, at least {needed} needed")]
    TooFew {
        /// The array.
        field: String,
        /// How many there are.
        found: usize,
        /// How many are needed.
        needed: usize,
    },
    /// Two arrays that must be of one length.
    #[error("{field} has {found} values but {other} has {expected}")]
    Length {
        /// The array at fault.
        field: String,
        /// Its length.
        found: usize,
        /// The array it goes with.
        other: String,
        /// That array's length.
        expected: usize,
    },
    /// A text that is not the quantity it should be.
    #[error("\"{text}\": {reason}; expected {expected}")]
    Text {
        /// The text as given.
        text: String,
        /// What is wrong with it.
        reason: String,
        /// What would have been accepted, with an example.
        expected: String,
    },
    /// A word that is not one of those known.
    #[error("{what} \"{word}\" is not known{}; known: {known}", did_you_mean(.nearest.as_deref()))]
    Unknown {
        /// What the word names, such as `pipe` or `rulebook`.
        what: String,
        /// The word as given.
        word: String,
        /// The nearest known word, if one is near.
        nearest: Option<String>,
        /// The known words, for the reader.
        known: String,
    },
    /// Something placed where the run did not go.
    #[error("{what} at {station_m} m lies outside the surveyed {from_m} m to {to_m} m")]
    Outside {
        /// What was placed there.
        what: String,
        /// Where, m.
        station_m: f64,
        /// First surveyed station, m.
        from_m: f64,
        /// Last surveyed station, m.
        to_m: f64,
    },
    /// Two things in each other's way, such as reaches or the arcs of bends that overlap.
    #[error("{what} at {first_m} m and at {second_m} m overlap: {expected}")]
    Overlap {
        /// What overlaps.
        what: String,
        /// Station of the first, m.
        first_m: f64,
        /// Station of the second, m.
        second_m: f64,
        /// What would be accepted.
        expected: String,
    },
    /// A bend whose angle is less than the change of tilt measured across it.
    #[error(
        "bend at {station_m} m: its angle of {deflection_deg:.2} degrees is less than the change of tilt across it, \
         {tilt_change_deg:.2} degrees; correct the angle or the station of the bend"
    )]
    BendTooSmall {
        /// Station of the bend, m.
        station_m: f64,
        /// The bend's angle, degrees.
        deflection_deg: f64,
        /// The change of tilt, degrees.
        tilt_change_deg: f64,
    },
    /// Two runs that cannot be surveys of one pipe with the errors stated.
    #[error(
        "runs {} and {} contradict each other: over the pipe that both saw they differ by {difference_deg:.2} degrees, where \
         {sd_deg:.2} (one standard deviation) are stated; check tilt_positive, toward and start_station of both, or give \
         instrument.zero_sd and seating_sd as they are",
        .runs.0, .runs.1
    )]
    Contradiction {
        /// The runs, from 1.
        runs: (usize, usize),
        /// By how much they differ, degrees.
        difference_deg: f64,
        /// The standard deviation that they may differ by, degrees.
        sd_deg: f64,
    },
    /// A tie that cannot be used.
    #[error("{tie}: {problem}; expected {expected}")]
    Tie {
        /// Its name, or what it is and where.
        tie: String,
        /// What is wrong with it.
        problem: String,
        /// What would be accepted.
        expected: String,
    },
    /// Ties that cannot all be true with the errors stated.
    #[error(
        "the ties contradict each other{}: {tie} is the one that fits worst, {misclosure} off what everything else says where \
         {misclosure_sd} (one standard deviation) is stated; two wrong ties can make a right one fit worst: measure it again, \
         leave it out, or give its standard deviation and that of its station as they are",
        chance(*.p_value)
    )]
    TiesContradict {
        /// The tie that fits worst.
        tie: String,
        /// By how much it is off, with its unit.
        misclosure: String,
        /// Standard deviation that it may be off by, with its unit.
        misclosure_sd: String,
        /// Probability of misclosures as large, if all errors were as stated; absent where ties hold exactly and differ.
        p_value: Option<f64>,
    },
    /// Two successive directions that point against each other: the arc between them is undefined.
    #[error("stations {index} and {}: the direction turns right round; a pipe cannot do that", .index + 1)]
    Reversal {
        /// Zero-based index of the first of the two stations.
        index: usize,
    },
    /// A stretch whose slope nothing was measured for.
    #[error("no usable reading between {from_m} m and {to_m} m: remove the break or read the tilt there")]
    NoReading {
        /// Start of the stretch, m.
        from_m: f64,
        /// End of the stretch, m.
        to_m: f64,
    },
    /// Work that its caller stopped: a [`Watch`](crate::watch::Watch) said so.
    #[error("stopped by the caller before it was done")]
    Cancelled,
    /// A rulebook that cannot be read.
    #[error("rulebook{}: {message}", place(*.line, *.column))]
    Rulebook {
        /// Line, from 1, where known.
        line: Option<usize>,
        /// Column, from 1, where known.
        column: Option<usize>,
        /// What is wrong and what was expected.
        message: String,
    },
}

impl Error {
    /// A value that `field` cannot have.
    pub fn value(field: impl Into<String>, value: impl core::fmt::Display, expected: impl Into<String>) -> Self {
        Self::Value { field: field.into(), index: None, value: format!("{value}"), expected: expected.into() }
    }

    /// A value at `index` of an array that the array cannot have.
    pub fn at(
        field: impl Into<String>,
        index: usize,
        value: impl core::fmt::Display,
        expected: impl Into<String>,
    ) -> Self {
        Self::Value { field: field.into(), index: Some(index), value: format!("{value}"), expected: expected.into() }
    }

    /// An unknown word, with the nearest of `known` as a suggestion.
    pub fn unknown<'a>(what: &str, word: &str, known: impl IntoIterator<Item = &'a str>) -> Self {
        let known: Vec<&str> = known.into_iter().collect();
        Self::Unknown {
            what: what.to_owned(),
            word: word.to_owned(),
            nearest: nearest(word, known.iter().copied()).map(str::to_owned),
            known: known.join(", "),
        }
    }
}

/// The known word nearest to `word`, if it is near enough to be what was meant.
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    // Comparing takes the product of both lengths; what is longer than this was never one word.
    const LONGEST: usize = 200;
    if word.len() > LONGEST {
        return None;
    }
    let lower = word.to_lowercase();
    known
        .into_iter()
        .filter(|k| k.len() <= LONGEST)
        .map(|k| (alike(&lower, &k.to_lowercase()), k))
        .filter(|(score, _)| *score > 0.75)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, k)| k)
}

/// How alike two words are, from 0 to 1.
#[cfg(feature = "std")]
fn alike(a: &str, b: &str) -> f64 {
    strsim::jaro_winkler(a, b)
}

/// Alike or not: the library that compares words needs the standard one.
#[cfg(not(feature = "std"))]
fn alike(a: &str, b: &str) -> f64 {
    f64::from(u8::from(a == b))
}

/// Refuses a non-finite number in `values`, naming the first.
///
/// # Errors
/// [`Error::Value`] with the index of the first value that is not finite.
pub fn require_finite(field: &str, values: &[f64]) -> Result<(), Error> {
    match values.iter().position(|v| !v.is_finite()) {
        Some(i) => Err(Error::at(field, i, values[i], "a finite number")),
        None => Ok(()),
    }
}

/// Refuses `values` unless it has as many entries as `other`.
///
/// # Errors
/// [`Error::Length`] naming both.
pub fn require_length(field: &str, found: usize, other: &str, expected: usize) -> Result<(), Error> {
    if found == expected {
        return Ok(());
    }
    Err(Error::Length { field: field.to_owned(), found, other: other.to_owned(), expected })
}

fn at(index: Option<usize>) -> String {
    index.map_or_else(String::new, |i| format!("[{i}]"))
}

fn did_you_mean(nearest: Option<&str>) -> String {
    nearest.map_or_else(String::new, |n| format!(" (did you mean \"{n}\"?)"))
}

fn chance(p_value: Option<f64>) -> String {
    match p_value {
        Some(p) if p >= 1e-300 => format!(" (probability {p:.0e})"),
        _ => String::new(),
    }
}

fn place(line: Option<usize>, column: Option<usize>) -> String {
    match (line, column) {
        (Some(l), Some(c)) => format!(", line {l}, column {c}"),
        (Some(l), None) => format!(", line {l}"),
        _ => String::new(),
    }
}

//! The plain sentences of findings: whole sentences, figures in the words of the reader.

use super::{
    finding::Quantity,
    rulebook::{AppliesTo, Rule},
    text,
};
use crate::units::Words;

/// Document, edition and clause, such as "International Plumbing Code 2021, Table 704.1".
pub(super) fn cite(rule: &Rule) -> String {
    format!("{} {}, {}", rule.document, rule.edition, rule.clause)
}

/// A probability, never as certainty: "97 %", "more than 99 %", "less than 1 %".
pub(super) fn probability(p: f64) -> String {
    if p > 0.99 {
        "more than 99 %".to_owned()
    } else if p < 0.01 {
        "less than 1 %".to_owned()
    } else {
        format!("{:.0} %", p * 100.0)
    }
}

/// What a row asks of the slope, with the second value where the document prints two.
pub(super) fn slope_requirement(rule: &Rule) -> String {
    let least = rule.min_slope.as_ref().map(|limit| match &rule.also_printed {
        Some(second) => format!("at least {}, printed beside {} and tested exactly", limit.text, second.text),
        None => format!("at least {}", limit.text),
    });
    let most = rule.max_slope.as_ref().map(|limit| format!("at most {}", limit.text));
    match (least, most) {
        (Some(least), Some(most)) => format!("{least} and {most}"),
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => "no slope".to_owned(),
    }
}

/// What a row asks of standing water.
pub(super) fn pool_requirement(words: Words, rule: &Rule, tolerance_m: f64) -> String {
    match &rule.max_pool {
        Some(limit) if limit.depth_m > tolerance_m => format!("standing water at most {} deep", limit.text),
        Some(limit) if limit.depth_m == 0.0 => {
            format!("no standing water (deeper than {}, which counts as none)", text::small(words, tolerance_m))
        }
        Some(limit) => format!(
            "standing water at most {} deep (taken as {}, below which water counts as none)",
            limit.text,
            text::small(words, tolerance_m)
        ),
        None => "no limit".to_owned(),
    }
}

/// What a sentence on a measured quantity says.
pub(super) struct Measured<'a> {
    pub(super) words: Words,
    /// What it is about, such as "reach 1" or "pool 2".
    pub(super) subject: &'a str,
    pub(super) quantity: Quantity,
    pub(super) value: Option<f64>,
    pub(super) interval: Option<(f64, f64)>,
    /// Where the value is, if it is not the subject's whole length.
    pub(super) between: Option<(f64, f64)>,
    pub(super) rule: &'a Rule,
    pub(super) requirement: &'a str,
    /// The limit that binds is the greatest, not the least.
    pub(super) at_most: bool,
    pub(super) new_work: bool,
    pub(super) sd_needed: Option<f64>,
}

impl Measured<'_> {
    /// "The slope of reach 1 is 2.10 %".
    fn opening(&self) -> String {
        let place = self.between.map_or_else(String::new, |(a, b)| {
            format!(" from {} to {}", text::station(self.words, a), text::station(self.words, b))
        });
        let Some(value) = self.value else { return format!("No figure can be given for {}{place}", self.subject) };
        match self.quantity {
            Quantity::Slope => format!("The slope of {}{place} is {}", self.subject, self.figure(value)),
            Quantity::DepthM | Quantity::LengthM => {
                format!("The greatest depth of water that {} can hold is {}", self.subject, self.figure(value))
            }
        }
    }

    fn figure(&self, value: f64) -> String {
        match self.quantity {
            Quantity::Slope => text::slope(self.words, value),
            Quantity::DepthM | Quantity::LengthM => text::small(self.words, value),
        }
    }

    /// The requirement is met.
    pub(super) fn meets(&self, p: Option<f64>) -> String {
        let (opening, cite, asked) = (self.opening(), cite(self.rule), self.requirement);
        match p {
            Some(p) => format!("{opening}; {cite} asks for {asked}, which is met (probability {}).", probability(p)),
            None => format!("{opening}; {cite} asks for {asked}, which is met."),
        }
    }

    /// The requirement is not met.
    pub(super) fn fails(&self) -> String {
        let (opening, cite, asked) = (self.opening(), cite(self.rule), self.requirement);
        if self.new_work || self.rule.applies_to == AppliesTo::All {
            return format!("{opening}; {cite} asks for {asked}, which is not met.");
        }
        let than = match (self.quantity, self.at_most) {
            (Quantity::Slope, false) => "flatter than",
            (Quantity::Slope, true) => "steeper than",
            (Quantity::DepthM | Quantity::LengthM, _) => "deeper than",
        };
        format!(
            "{opening}, {than} {cite} asks of new work, {asked}; whether that matters here is for the authority and a \
             licensed person."
        )
    }

    /// A measurement could decide it.
    pub(super) fn needs_measurement(&self) -> String {
        let (opening, cite, asked) = (self.opening(), cite(self.rule), self.requirement);
        let spread = match self.interval {
            Some((low, high)) => format!(", 95 % interval {} to {}", self.figure(low), self.figure(high)),
            None => ", interval not determined".to_owned(),
        };
        let needed = self.sd_needed.map_or_else(String::new, |sd| {
            let sd = match self.quantity {
                Quantity::Slope => text::percent(sd),
                Quantity::DepthM | Quantity::LengthM => text::small(self.words, sd),
            };
            format!("; a standard deviation of {sd} or less would decide it")
        });
        format!(
            "{opening}{spread}; whether that meets {cite}, which asks for {asked}, cannot be decided from this data{needed}."
        )
    }

    /// No practical measurement would decide it.
    pub(super) fn too_close(&self) -> String {
        format!(
            "{}, so close to the requirement of {}, {}, that no practical measurement will decide it.",
            self.opening(),
            cite(self.rule),
            self.requirement
        )
    }
}

/// On backfall: the longest of the best estimate, where it is, and the probability that none is longer than the limit.
pub(super) fn backfall(
    words: Words,
    length_m: f64,
    between: (f64, f64),
    limit_m: f64,
    p: Option<f64>,
    fails: bool,
) -> String {
    let limit = text::length(words, limit_m);
    let longest = if length_m > 0.0 {
        let (from, to) = (text::station(words, between.0), text::station(words, between.1));
        format!("The longest backfall is {} long, from {from} to {to}", text::length(words, length_m))
    } else {
        "There is no backfall in the best estimate".to_owned()
    };
    match p {
        Some(p) => {
            format!("{longest}; the probability that none is longer than {limit}, our limit, is {}.", probability(p))
        }
        None if fails => format!("{longest}, more than {limit}, our limit."),
        None => format!("{longest}; whether none is longer than {limit}, our limit, cannot be said without draws."),
    }
}

/// The job does not give what the rules ask for.
pub(super) fn input_missing(subject: &str, title: &str, missing: &[String]) -> String {
    format!("Whether {subject} meets {title} cannot be decided: the job does not give {}.", list(missing))
}

/// No row speaks of it.
pub(super) fn no_rule(subject: &str, title: &str, off: &[&Rule]) -> String {
    let plain = format!("No row of {title} covers {subject}, so there is nothing to decide it by.");
    match off.first() {
        Some(rule) => format!("{plain} {} would, but the row is switched off.", cite(rule)),
        None => plain,
    }
}

/// It was not surveyed, or only in part.
pub(super) fn not_surveyed(words: Words, subject: &str, title: &str, surveyed: Option<(f64, f64)>) -> String {
    match surveyed {
        Some((a, b)) => format!(
            "Of {subject} only {} to {} was surveyed, so whether the whole meets {title} cannot be decided.",
            text::station(words, a),
            text::station(words, b)
        ),
        None => format!("Whether {subject} meets {title} cannot be decided: it was not surveyed."),
    }
}

/// "a", "a and b", "a, b and c".
pub(super) fn list(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

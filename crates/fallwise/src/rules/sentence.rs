//! The plain sentences of findings, all in one place: each template is a whole sentence with figures put into it, so that
//! another language is another set of templates.

use super::{
    figures::Chance,
    finding::{Finding, Quantity, Reason, Verdict},
    rulebook::{AppliesTo, Force, Rule, SlopeLimit},
    text,
};
use crate::{
    model::Nominal,
    units::{Words, probability},
};

/// Document, edition and clause, such as "International Plumbing Code 2021, Table 704.1".
pub(super) fn cite(rule: &Rule) -> String {
    format!("{} {}, {}", rule.document, rule.edition, rule.clause)
}

/// The same within a sentence: "the International Plumbing Code 2021 (Table 704.1)".
fn source(rule: &Rule) -> String {
    format!("{} {} ({})", named(&rule.document), rule.edition, rule.clause)
}

/// A document's title within a sentence: with "the" where it is called a code, but plain "EN 752".
fn named(title: &str) -> String {
    let lower = title.to_lowercase();
    let called = ["code", "ordinance", "standards", "specification"].iter().any(|word| lower.contains(word));
    if called && !lower.starts_with("the ") { format!("the {title}") } else { title.to_owned() }
}

/// With a capital at its start.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The probability that something is met: as known, else as the lower bound that decides.
fn met_with(chance: Chance) -> Option<String> {
    match chance.value() {
        Some(p) => Some(probability(p)),
        None if chance.low > 0.99 => Some(probability(chance.low)),
        // Rounded down; 0.95 times 100 may fall short of 95 in its last digit.
        None if chance.low > 0.5 => Some(format!("at least {:.0} %", (chance.low * 100.0 + 1e-9).floor())),
        None => None,
    }
}

/// What a row asks of the slope, with the second value where the document prints two.
pub(super) fn slope_requirement(words: Words, rule: &Rule, nominal: Option<Nominal>) -> String {
    let said = |limit: &SlopeLimit| text::limit(words, &limit.text, limit.at(nominal).unwrap_or(f64::MAX));
    let least = rule.min_slope.as_ref().map(|limit| format!("at least {}", said(limit)));
    let most = rule.max_slope.as_ref().map(|limit| format!("at most {}", said(limit)));
    match (least, most) {
        (Some(least), Some(most)) => format!("{least} and {most}"),
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => "no slope".to_owned(),
    }
}

/// What a row asks of standing water.
pub(super) fn pool_requirement(words: Words, rule: &Rule, tolerance_m: f64) -> String {
    let none = text::small(words, tolerance_m);
    match &rule.max_pool {
        Some(limit) if limit.depth_m > tolerance_m => format!("standing water at most {} deep", limit.text),
        Some(limit) if limit.depth_m == 0.0 => format!("no standing water deeper than {none}, which counts as none"),
        Some(limit) => {
            format!("standing water at most {} deep, taken as {none}, which counts as none", limit.text)
        }
        None => "no limit".to_owned(),
    }
}

/// What a sentence on a measured quantity says.
pub(super) struct Measured<'a> {
    pub(super) words: Words,
    /// What it is about, such as "reach 1", "reach 1, building drain," or "pool 2".
    pub(super) subject: &'a str,
    pub(super) quantity: Quantity,
    pub(super) value: Option<f64>,
    /// Ends of the 95 % interval; without the low one only an upper limit can be given.
    pub(super) interval: Option<(Option<f64>, f64)>,
    /// Where the value is, if it is not the subject's whole length.
    pub(super) between: Option<(f64, f64)>,
    pub(super) rule: &'a Rule,
    pub(super) requirement: &'a str,
    /// The limit that binds is the greatest, not the least.
    pub(super) at_most: bool,
    pub(super) new_work: bool,
    pub(super) sd_needed: Option<f64>,
    /// The value lies between two limits that the clause prints as one.
    pub(super) prints_two: bool,
}

impl Measured<'_> {
    /// "Reach 1 falls 2.10 % on average", "Pool 2 between chainage 4.00 m and 6.00 m can hold water 20 mm deep".
    fn opening(&self) -> String {
        let place =
            self.between.map_or_else(String::new, |(a, b)| format!(" between {}", text::both(self.words, a, b)));
        let subject = format!("{}{place}", capital(self.subject));
        match (self.value.filter(|value| value.is_finite()), self.quantity) {
            (None, _) => format!("{subject} has no figure that could be determined"),
            (Some(value), Quantity::Slope) => format!("{subject} {}", text::falls(self.words, value)),
            (Some(value), _) if value <= 0.0 => format!("{subject} can hold no water in the best estimate"),
            (Some(value), _) => format!("{subject} can hold water {} deep", self.figure(value)),
        }
    }

    fn figure(&self, value: f64) -> String {
        match self.quantity {
            Quantity::Slope => text::slope(self.words, value),
            Quantity::DepthM | Quantity::LengthM => text::small(self.words, value),
        }
    }

    /// The interval's ends in words, unless they read the same; only the high one where there is no low one.
    fn ends(&self) -> Option<(Option<String>, String)> {
        let (low, high) = self.interval.filter(|(low, high)| low.is_none_or(f64::is_finite) && high.is_finite())?;
        let (low, high) = (low.map(|low| self.figure(low)), self.figure(high));
        (low.as_ref() != Some(&high)).then_some((low, high))
    }

    /// The opening with its interval.
    fn opening_with_interval(&self) -> String {
        let opening = self.opening();
        match self.ends() {
            Some((Some(low), high)) => format!("{opening} (95 % interval {low} to {high})"),
            Some((None, high)) => format!("{opening} (at most {high})"),
            None => opening,
        }
    }

    /// What is asked, by which clause.
    fn asked(&self) -> String {
        let (source, requirement) = (source(self.rule), self.requirement);
        match &self.rule.also_printed {
            Some(second) if self.prints_two => {
                format!("{source} asks for {requirement} and prints {} beside it", second.text)
            }
            _ => format!("{source} asks for {requirement}"),
        }
    }

    /// The short sentence for the lateral's own.
    pub(super) fn brief(&self) -> String {
        let opening = self.opening();
        let found = match self.ends() {
            Some((Some(low), high)) => format!("{opening}, somewhere between {low} and {high}"),
            Some((None, high)) => format!("{opening}, at most {high}"),
            None => opening,
        };
        let who = match self.rule.force {
            Force::Code => "the code",
            Force::Guidance => "the guidance",
            Force::Contract => "the contract",
            Force::Practice => "practice",
        };
        format!("{found}; {who} asks for {}.", self.requirement)
    }

    /// The requirement is met.
    pub(super) fn meets(&self, chance: Chance) -> String {
        let (opening, asked) = (self.opening_with_interval(), self.asked());
        match met_with(chance) {
            Some(p) => format!("{opening}; {asked}, which is met with a probability of {p}."),
            None => format!("{opening}; {asked}, which is met."),
        }
    }

    /// The requirement is not met.
    pub(super) fn fails(&self, p: Option<f64>) -> String {
        let opening = self.opening_with_interval();
        if self.new_work || self.rule.applies_to == AppliesTo::All {
            let asked = self.asked();
            return match p {
                Some(p) => {
                    format!("{opening}; {asked}, which is not met (the probability that it is: {}).", probability(p))
                }
                None => format!("{opening}; {asked}, which is not met."),
            };
        }
        let than = match (self.quantity, self.at_most) {
            (Quantity::Slope, false) => "flatter than",
            (Quantity::Slope, true) => "steeper than",
            (Quantity::DepthM | Quantity::LengthM, _) => "deeper than",
        };
        format!(
            "{opening}, {than} {} asks of new work, {}; whether that matters here is for the authority and a licensed \
             person.",
            source(self.rule),
            self.requirement
        )
    }

    /// A measurement could decide it.
    pub(super) fn needs_measurement(&self, p: Option<f64>) -> String {
        let (mut opening, asked) = (self.opening_with_interval(), self.asked());
        if self.interval.is_none() {
            opening.push_str(" (interval not determined)");
        }
        let said = match p {
            Some(p) => format!("{opening}; {asked}, which is met with a probability of {}", probability(p)),
            None => format!("{opening}; {asked}, and this survey cannot say whether that is met"),
        };
        match (self.sd_needed, self.quantity) {
            (Some(sd), Quantity::Slope) => format!(
                "{said}; to decide it the slope would have to be known to {} (one standard deviation).",
                text::percent(sd)
            ),
            (Some(sd), _) => format!(
                "{said}; to decide it the depth would have to be known to {} (one standard deviation).",
                text::small(self.words, sd)
            ),
            (None, _) => format!("{said}; to decide it the pipe would have to be measured better."),
        }
    }

    /// No practical measurement would decide it.
    pub(super) fn too_close(&self) -> String {
        format!(
            "{}; {}, so near that no practical measurement will decide it.",
            self.opening_with_interval(),
            self.asked()
        )
    }

    /// The water may go on beyond the survey: downstream where what keeps it may lie, or upstream.
    pub(super) fn goes_on_beyond(&self, end_m: f64, downstream: bool) -> String {
        let (opening, asked, end) = (self.opening_with_interval(), self.asked(), text::at(self.words, end_m));
        if downstream {
            format!(
                "{opening}; {asked}, which cannot be decided before the pipe is surveyed beyond {end}, where what keeps the \
                 water may lie."
            )
        } else {
            format!(
                "{opening}; {asked}, which cannot be decided before the pipe is surveyed beyond {end}, where the water may be \
                 deeper."
            )
        }
    }
}

/// The same as [`Measured::goes_on_beyond`], in short.
pub(super) fn goes_on_beyond_brief(subject: &str, downstream: bool) -> String {
    if downstream {
        format!("What keeps the water of {subject} may lie beyond the last surveyed point.")
    } else {
        format!("The water of {subject} may be deeper beyond the upstream end of the survey.")
    }
}

/// What the sentence on backfall says.
pub(super) struct Backfall {
    pub(super) words: Words,
    /// The longest of the best estimate; 0 where there is none.
    pub(super) length_m: f64,
    pub(super) between: (f64, f64),
    pub(super) limit_m: f64,
    /// A stretch in which nothing was seen.
    pub(super) hole: Option<(f64, f64)>,
}

impl Backfall {
    fn opening(&self, verdict: Verdict) -> String {
        if !self.found() {
            return "No stretch of the pipe runs backwards in the best estimate".to_owned();
        }
        let (length, between) =
            (text::length(self.words, self.length_m), text::both(self.words, self.between.0, self.between.1));
        match verdict {
            Verdict::Undecided(_) => {
                format!("The pipe may run backwards, in the best estimate over {length} between {between}")
            }
            Verdict::Meets | Verdict::Fails => format!("The pipe runs backwards over {length} between {between}"),
        }
    }

    fn found(&self) -> bool {
        self.length_m > 0.0
    }

    pub(super) fn sentence(&self, verdict: Verdict, chance: Chance, p: Option<f64>) -> String {
        let (opening, limit) = (self.opening(verdict), text::length(self.words, self.limit_m));
        let asked = format!("{opening}; we ask that no stretch longer than {limit} does (our choice, no code)");
        match (verdict, p) {
            (Verdict::Meets, _) => match met_with(chance) {
                Some(p) => format!("{asked}, which is met with a probability of {p}."),
                None => format!("{asked}, which is met."),
            },
            (Verdict::Fails, Some(p)) => {
                format!("{asked}, which is not met (the probability that it is: {}).", probability(p))
            }
            (Verdict::Fails, None) => format!("{asked}, which is not met."),
            (Verdict::Undecided(Reason::NotSurveyed), _) => match self.hole {
                Some((from_m, to_m)) => format!(
                    "{asked}, which cannot be decided before the pipe between {} is surveyed.",
                    text::both(self.words, from_m, to_m)
                ),
                None => format!("{asked}, which cannot be decided before the rest of the pipe is surveyed."),
            },
            // The draws agree, but not on either side of the limit.
            (Verdict::Undecided(_), Some(p)) if self.found() && !(0.05..0.95).contains(&p) => format!(
                "{asked}; where it begins and ends is not known well enough to say whether that is met, which takes readings \
                 closer together."
            ),
            (Verdict::Undecided(_), Some(p)) => format!(
                "{asked}, which is met with a probability of {}; to decide it the tilt there would have to be known better.",
                probability(p)
            ),
            (Verdict::Undecided(_), None) => {
                format!(
                    "{asked}, and this survey cannot say whether that is met; to decide it takes joint draws of the profile."
                )
            }
        }
    }

    /// The short sentence for the lateral's own.
    pub(super) fn brief(&self) -> String {
        let limit = text::length(self.words, self.limit_m);
        if self.found() {
            return format!(
                "It does so over {} between {}; we ask that no stretch longer than {limit} does (our choice, no \
                 code).",
                text::length(self.words, self.length_m),
                text::both(self.words, self.between.0, self.between.1)
            );
        }
        if let Some((from_m, to_m)) = self.hole {
            return format!("Nothing was seen of it between {}.", text::both(self.words, from_m, to_m));
        }
        "In the best estimate no stretch does.".to_owned()
    }
}

/// What the lateral's own sentences say.
pub(super) struct Whole<'a> {
    pub(super) words: Words,
    pub(super) title: &'a str,
    pub(super) verdict: Verdict,
    pub(super) chance: Chance,
    /// The part that decides, and its short sentence.
    pub(super) deciding: Option<(&'a Finding, &'a str)>,
    /// The finding on backfall, which is our own choice and not the rulebook's.
    pub(super) backfall: Option<&'a Finding>,
    pub(super) new_work: bool,
    /// The verdicts of the parts that the rulebook speaks of.
    pub(super) by_book: &'a [Verdict],
    /// Whether any of them is on a slope.
    pub(super) on_slope: bool,
}

impl Whole<'_> {
    /// The verdict, what decides it, and what else shares it.
    pub(super) fn sentence(&self) -> String {
        let verdict = match self.verdict {
            Verdict::Meets => self.meets(),
            Verdict::Fails => self.fails(),
            Verdict::Undecided(_) => self.undecided(),
        };
        let deciding = self.deciding.map(|(_, brief)| brief.to_owned());
        [Some(verdict), deciding, self.others(), self.backfall_too()]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(" ")
    }

    /// Only our own choice on backfall decides.
    fn only_ours(&self) -> bool {
        self.deciding.zip(self.backfall).is_some_and(|((deciding, _), backfall)| core::ptr::eq(deciding, backfall))
    }

    /// What of a document was held against the pipe: never all of it.
    fn rule_of(&self) -> &'static str {
        match self.deciding.map(|(part, _)| part.quantity) {
            Some(Quantity::DepthM) => "the rule on standing water of",
            Some(Quantity::LengthM) if !self.on_slope => "the rule on standing water of",
            Some(Quantity::Slope | Quantity::LengthM) | None => "the slope rule of",
        }
    }

    fn meets(&self) -> String {
        let title = named(self.title);
        match met_with(self.chance) {
            Some(p) => format!("The lateral meets {} {title} (probability {p}).", self.rule_of()),
            None => format!("The lateral meets {} {title}.", self.rule_of()),
        }
    }

    fn fails(&self) -> String {
        let title = named(self.title);
        let Some((part, _)) = self.deciding.filter(|(part, _)| part.verdict == Verdict::Fails) else {
            let rule = self.rule_of();
            return format!("The lateral does not meet {rule} {title}: its parts cannot all do so together.");
        };
        if self.only_ours() {
            return "Not met: the pipe runs backwards too far.".to_owned();
        }
        if self.new_work || part.rule.as_ref().is_none_or(|rule| rule.applies_to == AppliesTo::All) {
            return format!("The lateral does not meet {} {title}.", self.rule_of());
        }
        let steeper = part.value.zip(part.required).is_some_and(|(value, required)| value > required);
        match (part.quantity, steeper) {
            (Quantity::Slope, false) => format!("Flatter than {title} asks of new work."),
            (Quantity::Slope, true) => format!("Steeper than {title} asks of new work."),
            _ => format!("Deeper standing water than {title} asks of new work."),
        }
    }

    fn undecided(&self) -> String {
        if self.only_ours() {
            return "Undecided: this survey cannot say whether the pipe runs backwards too far.".to_owned();
        }
        let (rule, title) = (self.rule_of(), named(self.title));
        let said = format!("Undecided: this survey cannot say whether the lateral meets {rule} {title}");
        let measured = matches!(self.verdict, Verdict::Undecided(Reason::NeedsMeasurement | Reason::TooClose));
        // A probability that our own choice brings down is not the rulebook's.
        let by_book = self.backfall.is_none_or(|finding| finding.verdict == Verdict::Meets);
        match self.chance.value().filter(|_| measured && by_book) {
            Some(p) => format!("{said} (probability {}).", probability(p)),
            None => format!("{said}."),
        }
    }

    /// How many parts share the verdict; where only backfall decides, what the rulebook comes to.
    fn others(&self) -> Option<String> {
        let (title, parts) = (named(self.title), self.by_book.len());
        if self.only_ours() {
            let met = self.by_book.iter().all(|verdict| *verdict == Verdict::Meets);
            return (parts > 0).then(|| {
                if met {
                    format!("On average it meets the slope rule of {title}.")
                } else {
                    format!("Whether on average it meets the slope rule of {title} is undecided.")
                }
            });
        }
        let alike = self.by_book.iter().filter(|verdict| verdict.word() == self.verdict.word()).count();
        match self.verdict {
            Verdict::Fails if alike > 1 => Some(format!("{alike} of {parts} parts are not met.")),
            Verdict::Undecided(_) if alike > 1 => Some(format!("{alike} of {parts} parts are undecided.")),
            _ => None,
        }
    }

    /// What backfall adds where it does not decide by itself.
    fn backfall_too(&self) -> Option<String> {
        let finding = self.backfall.filter(|_| !self.only_ours())?;
        match finding.verdict {
            Verdict::Meets => None,
            Verdict::Fails => {
                Some(format!("It also runs backwards, over {}.", text::length(self.words, finding.value?)))
            }
            Verdict::Undecided(_) => Some(format!(
                "It may also run backwards over more than {}.",
                text::length(self.words, finding.required?)
            )),
        }
    }
}

/// The job does not give what the rules ask for.
pub(super) fn input_missing(subject: &str, title: &str, missing: &[String]) -> String {
    format!("Whether {subject} meets {} cannot be decided before the job gives {}.", named(title), list(missing))
}

/// The same, in short.
pub(super) fn input_missing_brief(subject: &str, missing: &[String]) -> String {
    format!("For {subject} the job does not give {}.", list(missing))
}

/// No row speaks of it.
pub(super) fn no_rule(subject: &str, title: &str, off: &[&Rule]) -> String {
    let (subject, title) = (capital(subject), named(title));
    match off.first() {
        Some(rule) => {
            format!("{subject} is covered by no row of {title} that is in use; {} is switched off.", source(rule))
        }
        None => format!("{subject} is covered by no row of {title}, so there is nothing to decide it by."),
    }
}

/// The same, in short.
pub(super) fn no_rule_brief(subject: &str) -> String {
    format!("{} is covered by none of its rows.", capital(subject))
}

/// It was not surveyed, or only in part.
pub(super) fn not_surveyed(words: Words, subject: &str, title: &str, surveyed: Option<(f64, f64)>) -> String {
    let (subject, title) = (capital(subject), named(title));
    match surveyed {
        Some((a, b)) => format!(
            "{subject} was surveyed only between {}; whether it meets {title} cannot be decided before the rest is \
             surveyed.",
            text::both(words, a, b)
        ),
        None => format!("{subject} was not surveyed, so whether it meets {title} cannot be decided."),
    }
}

/// The same, in short.
pub(super) fn not_surveyed_brief(words: Words, subject: &str, surveyed: Option<(f64, f64)>) -> String {
    let subject = capital(subject);
    match surveyed {
        Some((a, b)) => format!("{subject} was surveyed only between {}.", text::both(words, a, b)),
        None => format!("{subject} was not surveyed."),
    }
}

/// Readings lie too far apart in it.
pub(super) fn unseen(words: Words, subject: &str, title: &str, hole: (f64, f64)) -> String {
    format!(
        "{} has no readings between {}; whether it meets {} cannot be decided before that stretch is surveyed.",
        capital(subject),
        text::both(words, hole.0, hole.1),
        named(title)
    )
}

/// The same, in short.
pub(super) fn unseen_brief(words: Words, subject: &str, hole: (f64, f64)) -> String {
    format!("{} has no readings between {}.", capital(subject), text::both(words, hole.0, hole.1))
}

/// Standing water of a stretch that was not seen.
pub(super) fn water_unseen(words: Words, title: &str, (from_m, to_m): (f64, f64)) -> String {
    format!(
        "Between {} the shape of the pipe was not surveyed; whether water can stand there, of which {} has a limit, cannot be \
         decided.",
        text::both(words, from_m, to_m),
        named(title)
    )
}

/// A row without limits, met by what the job states.
pub(super) fn met_by_facts(subject: &str, rule: &Rule) -> String {
    format!(
        "{} meets {} by what the job states, whatever its slope: {}.",
        capital(subject),
        source(rule),
        rule.text.trim_end_matches('.')
    )
}

/// A reach of which the rules on slope do not speak.
pub(super) fn is_drop(subject: &str) -> String {
    format!("{} is steeper than 45 degrees, which the rules on slope do not speak of.", capital(subject))
}

/// "a", "a and b", "a, b and c".
pub(super) fn list(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

//! The plain sentences of findings, all in one place: each template is a whole sentence or clause with figures put into it,
//! so that another language is another set of templates.

use super::{
    figures::Chance,
    finding::{Finding, Quantity, Reason, Verdict},
    rulebook::{AppliesTo, Force, Rule, SlopeLimit},
    text,
};
use crate::prelude::*;
use crate::{
    model::Nominal,
    said,
    units::{Part, Said, Voice, Words},
    word,
};

/// Document, edition and clause, such as "International Plumbing Code 2021, Table 704.1".
pub(super) fn cite(rule: &Rule) -> Said {
    said!("{document} {edition}, {clause}", document = &rule.document, edition = &rule.edition, clause = &rule.clause)
}

/// What would be found if a fact that was assumed were not so.
pub(super) fn if_assumed_wrong(rule: &Rule, asked: &Said, would: Verdict, p: Option<f64>) -> Said {
    let taken = rule.assumed.iter().map(|(name, value)| Said::text(format!("{name} = \"{value}\"")));
    let taken = list(&taken.collect::<Vec<_>>());
    let (rule, would) = (cite(rule), Part::word(would.word()));
    match p {
        Some(p) => said!(
            "This hangs on {taken}, which is taken because the job is silent: otherwise {rule} applies, which asks for {asked}, and \
             the finding is \"{would}\" (the probability that it is met: {p}).",
            taken = taken,
            rule = rule,
            asked = asked.clone(),
            would = would,
            p = Part::Probability(p)
        ),
        None => said!(
            "This hangs on {taken}, which is taken because the job is silent: otherwise {rule} applies, which asks for {asked}, and \
             the finding is \"{would}\".",
            taken = taken,
            rule = rule,
            asked = asked.clone(),
            would = would
        ),
    }
}

/// The same within a sentence: "the International Plumbing Code 2021 (Table 704.1)".
fn source(rule: &Rule) -> Said {
    said!("{title} {edition} ({clause})", title = named(&rule.document), edition = &rule.edition, clause = &rule.clause)
}

/// A document's title within a sentence: with "the" where it is called a code, but plain "EN 752".
fn named(title: &str) -> Part {
    let lower = title.to_lowercase();
    let called = ["code", "ordinance", "standards", "specification"].iter().any(|word| lower.contains(word));
    if called && !lower.starts_with("the ") { said!("the {title}", title = title).into() } else { title.into() }
}

/// A reach by its number.
pub(super) fn reach(index: usize) -> Said {
    said!("reach {n}", n = index + 1)
}

/// What we ask of backfall.
pub(super) fn no_backfall(words: Words, limit_m: f64) -> Said {
    said!(words, "no stretch longer than {limit} runs backwards (our choice)", limit = Part::Length(limit_m))
}

/// The probability that something is met: as known, else as the lower bound that decides.
fn met_with(chance: Chance) -> Option<Part> {
    match chance.value() {
        Some(p) => Some(Part::Probability(p)),
        None if chance.low > 0.99 => Some(Part::Probability(chance.low)),
        // Rounded down; 0.95 times 100 may fall short of 95 in its last digit.
        None if chance.low > 0.5 => {
            let percent = said!("{n} %", n = Part::Number((chance.low * 100.0 + 1e-9).floor(), 0));
            Some(said!("at least {size}", size = percent).into())
        }
        None => None,
    }
}

/// What a row asks of the slope, with the second value where the document prints two.
pub(super) fn slope_requirement(words: Words, rule: &Rule, nominal: Option<Nominal>) -> Said {
    let limit = |limit: &SlopeLimit| text::limit(words, &limit.text, limit.at(nominal).unwrap_or(f64::MAX));
    let least = rule.min_slope.as_ref().map(|least| said!("at least {size}", size = limit(least)));
    let most = rule.max_slope.as_ref().map(|most| said!("at most {size}", size = limit(most)));
    match (least, most) {
        (Some(least), Some(most)) => said!("{least} and {most}", least = least, most = most),
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => said!("no slope"),
    }
}

/// What a row asks of standing water.
pub(super) fn pool_requirement(words: Words, rule: &Rule, tolerance_m: f64) -> Said {
    let none = Part::Small(tolerance_m);
    match &rule.max_pool {
        Some(limit) if limit.depth_m > tolerance_m => {
            said!("standing water at most {limit} deep", limit = &limit.text)
        }
        Some(limit) if limit.depth_m == 0.0 => {
            said!(words, "no standing water deeper than {none}, which counts as none", none = none)
        }
        Some(limit) => said!(
            words,
            "standing water at most {limit} deep, taken as {none}, which counts as none",
            limit = &limit.text,
            none = none
        ),
        None => said!("no limit"),
    }
}

/// What a sentence on a measured quantity says.
pub(super) struct Measured<'a> {
    pub(super) words: Words,
    /// What it is about, such as "reach 1", "reach 1, building drain," or "pool 2".
    pub(super) subject: &'a Said,
    pub(super) quantity: Quantity,
    pub(super) value: Option<f64>,
    /// Ends of the 95 % interval; without the low one only an upper limit can be given.
    pub(super) interval: Option<(Option<f64>, f64)>,
    /// Where the value is, if it is not the subject's whole length.
    pub(super) between: Option<(f64, f64)>,
    pub(super) rule: &'a Rule,
    pub(super) requirement: &'a Said,
    /// The limit that binds is the greatest, not the least.
    pub(super) at_most: bool,
    pub(super) new_work: bool,
    pub(super) sd_needed: Option<f64>,
    /// The value lies between two limits that the clause prints as one.
    pub(super) prints_two: bool,
}

impl Measured<'_> {
    /// "Reach 1 falls 2.10 % on average", "Pool 2 between chainage 4.00 m and 6.00 m can hold water 20 mm deep".
    fn opening(&self) -> Said {
        let words = self.words;
        let subject = Part::capital(self.subject);
        let subject = match self.between {
            Some((a, b)) => {
                said!(words, "{subject} between {stretch}", subject = subject, stretch = Part::Both(a, b)).into()
            }
            None => subject,
        };
        match (self.value.filter(|value| value.is_finite()), self.quantity) {
            (None, _) => said!("{subject} has no figure that could be determined", subject = subject),
            (Some(slope), Quantity::Slope) => text::falls(words, subject, slope),
            (Some(depth_m), _) if depth_m <= 0.0 => {
                said!("{subject} can hold no water in the best estimate", subject = subject)
            }
            (Some(depth_m), _) => {
                said!(words, "{subject} can hold water {depth} deep", subject = subject, depth = self.figure(depth_m))
            }
        }
    }

    fn figure(&self, value: f64) -> Part {
        match self.quantity {
            Quantity::Slope => text::slope(self.words, value),
            Quantity::DepthM | Quantity::LengthM => Part::Small(value),
        }
    }

    /// The interval's ends, unless they read the same; only the high one where there is no low one.
    fn ends(&self) -> Option<(Option<Part>, Part)> {
        let (low, high) = self.interval.filter(|(low, high)| low.is_none_or(f64::is_finite) && high.is_finite())?;
        let (low, high) = (low.map(|low| self.figure(low)), self.figure(high));
        let reads = |part: &Part| Voice::english(self.words).part(part);
        let alike = low.as_ref().is_some_and(|low| reads(low) == reads(&high));
        (!alike).then_some((low, high))
    }

    /// The opening with its interval.
    fn opening_with_interval(&self) -> Said {
        let (words, opening) = (self.words, self.opening());
        match self.ends() {
            Some((Some(low), high)) => {
                said!(words, "{clause} (95 % interval {low} to {high})", clause = opening, low = low, high = high)
            }
            Some((None, high)) => said!(words, "{clause} (at most {high})", clause = opening, high = high),
            None => opening,
        }
    }

    /// What is asked, by which clause.
    fn asked(&self) -> Said {
        let (source, requirement) = (source(self.rule), self.requirement);
        match &self.rule.also_printed {
            Some(second) if self.prints_two => said!(
                "{source} asks for {requirement} and prints {second} beside it",
                source = source,
                requirement = requirement,
                second = &second.text
            ),
            _ => said!("{source} asks for {requirement}", source = source, requirement = requirement),
        }
    }

    /// The short sentence for the lateral's own.
    pub(super) fn brief(&self) -> Said {
        let (words, opening) = (self.words, self.opening());
        let found = match self.ends() {
            Some((Some(low), high)) => {
                said!(words, "{clause}, somewhere between {low} and {high}", clause = opening, low = low, high = high)
            }
            Some((None, high)) => said!(words, "{clause}, at most {high}", clause = opening, high = high),
            None => opening,
        };
        let who = match self.rule.force {
            Force::Code => word!("the code"),
            Force::Guidance => word!("the guidance"),
            Force::Contract => word!("the contract"),
            Force::Practice => word!("practice"),
        };
        let requirement = self.requirement;
        said!(
            "{clause}; {who} asks for {requirement}.",
            clause = found,
            who = Part::word(who),
            requirement = requirement
        )
    }

    /// The requirement is met.
    pub(super) fn meets(&self, chance: Chance) -> Said {
        let (opening, asked) = (self.opening_with_interval(), self.asked());
        match met_with(chance) {
            Some(p) => said!(
                "{clause}; {asked}, which is met with a probability of {p}.",
                clause = opening,
                asked = asked,
                p = p
            ),
            None => said!("{clause}; {asked}, which is met.", clause = opening, asked = asked),
        }
    }

    /// The requirement is not met.
    pub(super) fn fails(&self, p: Option<f64>) -> Said {
        let opening = self.opening_with_interval();
        if self.new_work || self.rule.applies_to == AppliesTo::All {
            let asked = self.asked();
            return match p {
                Some(p) => said!(
                    "{clause}; {asked}, which is not met (the probability that it is: {p}).",
                    clause = opening,
                    asked = asked,
                    p = Part::Probability(p)
                ),
                None => said!("{clause}; {asked}, which is not met.", clause = opening, asked = asked),
            };
        }
        let (source, requirement) = (source(self.rule), self.requirement);
        match (self.quantity, self.at_most) {
            (Quantity::Slope, false) => said!(
                "{clause}, flatter than {source} asks of new work, {requirement}; whether that matters here is for the \
                 authority and a licensed person.",
                clause = opening,
                source = source,
                requirement = requirement
            ),
            (Quantity::Slope, true) => said!(
                "{clause}, steeper than {source} asks of new work, {requirement}; whether that matters here is for the \
                 authority and a licensed person.",
                clause = opening,
                source = source,
                requirement = requirement
            ),
            (Quantity::DepthM | Quantity::LengthM, _) => said!(
                "{clause}, deeper than {source} asks of new work, {requirement}; whether that matters here is for the \
                 authority and a licensed person.",
                clause = opening,
                source = source,
                requirement = requirement
            ),
        }
    }

    /// A measurement could decide it.
    pub(super) fn needs_measurement(&self, p: Option<f64>) -> Said {
        let (mut opening, asked) = (self.opening_with_interval(), self.asked());
        if self.interval.is_none() {
            opening = said!("{clause} (interval not determined)", clause = opening);
        }
        let found = match p {
            Some(p) => said!(
                "{clause}; {asked}, which is met with a probability of {p}",
                clause = opening,
                asked = asked,
                p = Part::Probability(p)
            ),
            None => said!(
                "{clause}; {asked}, and this survey cannot say whether that is met",
                clause = opening,
                asked = asked
            ),
        };
        match (self.sd_needed, self.quantity) {
            (Some(sd), Quantity::Slope) => said!(
                "{found}; to decide it the slope would have to be known to {sd} (one standard deviation).",
                found = found,
                sd = text::percent(sd)
            ),
            (Some(sd), _) => said!(
                self.words,
                "{found}; to decide it the depth would have to be known to {sd} (one standard deviation).",
                found = found,
                sd = Part::Small(sd)
            ),
            (None, _) => said!("{found}; to decide it the pipe would have to be measured better.", found = found),
        }
    }

    /// No practical measurement would decide it.
    pub(super) fn too_close(&self) -> Said {
        said!(
            "{clause}; {asked}, so near that no practical measurement will decide it.",
            clause = self.opening_with_interval(),
            asked = self.asked()
        )
    }

    /// The water may go on beyond the survey: downstream where what keeps it may lie, or upstream.
    pub(super) fn goes_on_beyond(&self, end_m: f64, downstream: bool) -> Said {
        let (opening, asked, end) = (self.opening_with_interval(), self.asked(), Part::At(end_m));
        if downstream {
            said!(
                self.words,
                "{clause}; {asked}, which cannot be decided before the pipe is surveyed beyond {end}, where what keeps \
                 the water may lie.",
                clause = opening,
                asked = asked,
                end = end
            )
        } else {
            said!(
                self.words,
                "{clause}; {asked}, which cannot be decided before the pipe is surveyed beyond {end}, where the water \
                 may be deeper.",
                clause = opening,
                asked = asked,
                end = end
            )
        }
    }
}

/// The same as [`Measured::goes_on_beyond`], in short.
pub(super) fn goes_on_beyond_brief(subject: &Said, downstream: bool) -> Said {
    if downstream {
        said!("What keeps the water of {subject} may lie beyond the last surveyed point.", subject = subject)
    } else {
        said!("The water of {subject} may be deeper beyond the upstream end of the survey.", subject = subject)
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
    fn opening(&self, verdict: Verdict) -> Said {
        if !self.found() {
            return said!("No stretch of the pipe runs backwards in the best estimate");
        }
        let (length, stretch) = (Part::Length(self.length_m), Part::Both(self.between.0, self.between.1));
        match verdict {
            Verdict::Undecided(_) => said!(
                self.words,
                "The pipe may run backwards, in the best estimate over {length} between {stretch}",
                length = length,
                stretch = stretch
            ),
            Verdict::Meets | Verdict::Fails => said!(
                self.words,
                "The pipe runs backwards over {length} between {stretch}",
                length = length,
                stretch = stretch
            ),
        }
    }

    fn found(&self) -> bool {
        self.length_m > 0.0
    }

    pub(super) fn sentence(&self, verdict: Verdict, chance: Chance, p: Option<f64>) -> Said {
        let words = self.words;
        let asked = said!(
            words,
            "{clause}; we ask that no stretch longer than {limit} does (our choice, no code)",
            clause = self.opening(verdict),
            limit = Part::Length(self.limit_m)
        );
        match (verdict, p) {
            (Verdict::Meets, _) => match met_with(chance) {
                Some(p) => said!("{asked}, which is met with a probability of {p}.", asked = asked, p = p),
                None => said!("{asked}, which is met.", asked = asked),
            },
            (Verdict::Fails, Some(p)) => said!(
                "{asked}, which is not met (the probability that it is: {p}).",
                asked = asked,
                p = Part::Probability(p)
            ),
            (Verdict::Fails, None) => said!("{asked}, which is not met.", asked = asked),
            (Verdict::Undecided(Reason::NotSurveyed), _) => match self.hole {
                Some((from_m, to_m)) => said!(
                    words,
                    "{asked}, which cannot be decided before the pipe between {stretch} is surveyed.",
                    asked = asked,
                    stretch = Part::Both(from_m, to_m)
                ),
                None => {
                    said!("{asked}, which cannot be decided before the rest of the pipe is surveyed.", asked = asked)
                }
            },
            // The draws agree, but not on either side of the limit.
            (Verdict::Undecided(_), Some(p)) if self.found() && !(0.05..0.95).contains(&p) => said!(
                "{asked}; where it begins and ends is not known well enough to say whether that is met, which takes \
                 readings closer together.",
                asked = asked
            ),
            (Verdict::Undecided(_), Some(p)) => said!(
                "{asked}, which is met with a probability of {p}; to decide it the tilt there would have to be known \
                 better.",
                asked = asked,
                p = Part::Probability(p)
            ),
            (Verdict::Undecided(_), None) => match self.hole {
                Some((from_m, to_m)) => said!(
                    words,
                    "{asked}, and this survey cannot say whether that is met; to decide it the pipe between {stretch} \
                     would have to be surveyed, which may hide another such stretch, and the tilt known better.",
                    asked = asked,
                    stretch = Part::Both(from_m, to_m)
                ),
                None => said!(
                    "{asked}, and this survey cannot say whether that is met; to decide it takes joint draws of the \
                     profile.",
                    asked = asked
                ),
            },
        }
    }

    /// The short sentence for the lateral's own.
    pub(super) fn brief(&self) -> Said {
        if self.found() {
            return said!(
                self.words,
                "It does so over {length} between {stretch}; we ask that no stretch longer than {limit} does (our \
                 choice, no code).",
                length = Part::Length(self.length_m),
                stretch = Part::Both(self.between.0, self.between.1),
                limit = Part::Length(self.limit_m)
            );
        }
        if let Some((from_m, to_m)) = self.hole {
            let stretch = Part::Both(from_m, to_m);
            return said!(self.words, "Nothing was seen of it between {stretch}.", stretch = stretch);
        }
        said!("In the best estimate no stretch does.")
    }
}

/// What the lateral's own sentences say.
pub(super) struct Whole<'a> {
    pub(super) words: Words,
    pub(super) title: &'a str,
    pub(super) verdict: Verdict,
    pub(super) chance: Chance,
    /// The part that decides, and its short sentence.
    pub(super) deciding: Option<(&'a Finding, &'a Said)>,
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
    pub(super) fn sentence(&self) -> Said {
        let verdict = match self.verdict {
            Verdict::Meets => self.meets(),
            Verdict::Fails => self.fails(),
            Verdict::Undecided(_) => self.undecided(),
        };
        let deciding = self.deciding.map(|(_, brief)| brief.clone());
        let sentences = [Some(verdict), deciding, self.others(), self.backfall_too()];
        Said::all(self.words, sentences.into_iter().flatten())
    }

    /// Only our own choice on backfall decides.
    fn only_ours(&self) -> bool {
        self.deciding.zip(self.backfall).is_some_and(|((deciding, _), backfall)| core::ptr::eq(deciding, backfall))
    }

    /// What of a document was held against the pipe: never all of it.
    fn rule(&self) -> Said {
        let title = named(self.title);
        match self.deciding.map(|(part, _)| part.quantity) {
            Some(Quantity::DepthM) => said!("the rule on standing water of {title}", title = title),
            Some(Quantity::LengthM) if !self.on_slope => said!("the rule on standing water of {title}", title = title),
            Some(Quantity::Slope | Quantity::LengthM) | None => said!("the slope rule of {title}", title = title),
        }
    }

    fn meets(&self) -> Said {
        match met_with(self.chance) {
            Some(p) => said!("The lateral meets {rule} (probability {p}).", rule = self.rule(), p = p),
            None => said!("The lateral meets {rule}.", rule = self.rule()),
        }
    }

    fn fails(&self) -> Said {
        let title = named(self.title);
        let Some((part, _)) = self.deciding.filter(|(part, _)| part.verdict == Verdict::Fails) else {
            return said!("The lateral does not meet {rule}: its parts cannot all do so together.", rule = self.rule());
        };
        if self.only_ours() {
            return said!("Not met by our own limit, which is no code: the pipe runs backwards too far.");
        }
        if self.new_work || part.rule.as_ref().is_none_or(|rule| rule.applies_to == AppliesTo::All) {
            return said!("The lateral does not meet {rule}.", rule = self.rule());
        }
        let steeper = part.value.zip(part.required).is_some_and(|(value, required)| value > required);
        match (part.quantity, steeper) {
            (Quantity::Slope, false) => said!("Flatter than {title} asks of new work.", title = title),
            (Quantity::Slope, true) => said!("Steeper than {title} asks of new work.", title = title),
            _ => said!("Deeper standing water than {title} asks of new work.", title = title),
        }
    }

    fn undecided(&self) -> Said {
        if self.only_ours() {
            return said!("Undecided: this survey cannot say whether the pipe runs backwards too far.");
        }
        let rule = self.rule();
        let measured = matches!(self.verdict, Verdict::Undecided(Reason::NeedsMeasurement | Reason::TooClose));
        // A probability that our own choice brings down is not the rulebook's.
        let by_book = self.backfall.is_none_or(|finding| finding.verdict == Verdict::Meets);
        match self.chance.value().filter(|_| measured && by_book) {
            Some(p) => said!(
                "Undecided: this survey cannot say whether the lateral meets {rule} (probability {p}).",
                rule = rule,
                p = Part::Probability(p)
            ),
            None => said!("Undecided: this survey cannot say whether the lateral meets {rule}.", rule = rule),
        }
    }

    /// How many parts share the verdict; where only backfall decides, what the rulebook comes to.
    fn others(&self) -> Option<Said> {
        let (title, parts) = (named(self.title), self.by_book.len());
        if self.only_ours() {
            let met = self.by_book.iter().all(|verdict| *verdict == Verdict::Meets);
            return (parts > 0).then(|| {
                if met {
                    said!("On average it meets the slope rule of {title}.", title = title)
                } else {
                    said!("Whether on average it meets the slope rule of {title} is undecided.", title = title)
                }
            });
        }
        let alike = self.by_book.iter().filter(|verdict| verdict.word() == self.verdict.word()).count();
        match self.verdict {
            Verdict::Fails if alike > 1 => {
                Some(said!("{count} of {parts} parts are not met.", count = alike, parts = parts))
            }
            Verdict::Undecided(_) if alike > 1 => {
                Some(said!("{count} of {parts} parts are undecided.", count = alike, parts = parts))
            }
            _ => None,
        }
    }

    /// What backfall adds where it does not decide by itself.
    fn backfall_too(&self) -> Option<Said> {
        let finding = self.backfall.filter(|_| !self.only_ours())?;
        match finding.verdict {
            Verdict::Meets => None,
            Verdict::Fails => {
                let length = Part::Length(finding.value?);
                Some(said!(self.words, "It also runs backwards, over {length}.", length = length))
            }
            Verdict::Undecided(_) => {
                let length = Part::Length(finding.required?);
                Some(said!(self.words, "It may also run backwards over more than {length}.", length = length))
            }
        }
    }
}

/// What is missing, one after the other.
pub(super) fn list(missing: &[Said]) -> Part {
    Part::list(Words::default(), missing.iter().map(Part::from))
}

/// The job does not give what the rules ask for.
pub(super) fn input_missing(subject: &Said, title: &str, missing: &[Said]) -> Said {
    said!(
        "Whether {subject} meets {title} cannot be decided before the job gives {missing}.",
        subject = subject,
        title = named(title),
        missing = list(missing)
    )
}

/// The same, in short.
pub(super) fn input_missing_brief(subject: &Said, missing: &[Said]) -> Said {
    said!("For {subject} the job does not give {missing}.", subject = subject, missing = list(missing))
}

/// No row speaks of it.
pub(super) fn no_rule(subject: &Said, title: &str, off: &[&Rule]) -> Said {
    let (subject, title) = (Part::capital(subject), named(title));
    match off.first() {
        Some(rule) => said!(
            "{subject} is covered by no row of {title} that is in use; {source} is switched off.",
            subject = subject,
            title = title,
            source = source(rule)
        ),
        None => said!(
            "{subject} is covered by no row of {title}, so there is nothing to decide it by.",
            subject = subject,
            title = title
        ),
    }
}

/// The same, in short.
pub(super) fn no_rule_brief(subject: &Said) -> Said {
    said!("{subject} is covered by none of its rows.", subject = Part::capital(subject))
}

/// It was not surveyed, or only in part.
pub(super) fn not_surveyed(words: Words, subject: &Said, title: &str, surveyed: Option<(f64, f64)>) -> Said {
    let (subject, title) = (Part::capital(subject), named(title));
    match surveyed {
        Some((a, b)) => said!(
            words,
            "{subject} was surveyed only between {stretch}; whether it meets {title} cannot be decided before the rest \
             is surveyed.",
            subject = subject,
            stretch = Part::Both(a, b),
            title = title
        ),
        None => said!(
            "{subject} was not surveyed, so whether it meets {title} cannot be decided.",
            subject = subject,
            title = title
        ),
    }
}

/// The same, in short.
pub(super) fn not_surveyed_brief(words: Words, subject: &Said, surveyed: Option<(f64, f64)>) -> Said {
    let subject = Part::capital(subject);
    match surveyed {
        Some((a, b)) => said!(
            words,
            "{subject} was surveyed only between {stretch}.",
            subject = subject,
            stretch = Part::Both(a, b)
        ),
        None => said!("{subject} was not surveyed.", subject = subject),
    }
}

/// Readings lie too far apart in it.
pub(super) fn unseen(words: Words, subject: &Said, title: &str, hole: (f64, f64)) -> Said {
    said!(
        words,
        "{subject} has no readings between {stretch}; whether it meets {title} cannot be decided before that stretch is \
         surveyed.",
        subject = Part::capital(subject),
        stretch = Part::Both(hole.0, hole.1),
        title = named(title)
    )
}

/// The same, in short.
pub(super) fn unseen_brief(words: Words, subject: &Said, hole: (f64, f64)) -> Said {
    said!(
        words,
        "{subject} has no readings between {stretch}.",
        subject = Part::capital(subject),
        stretch = Part::Both(hole.0, hole.1)
    )
}

/// Standing water of a stretch that was not seen.
pub(super) fn water_unseen(words: Words, title: &str, (from_m, to_m): (f64, f64)) -> Said {
    said!(
        words,
        "Between {stretch} the shape of the pipe was not surveyed; whether water can stand there, of which {title} has \
         a limit, cannot be decided.",
        stretch = Part::Both(from_m, to_m),
        title = named(title)
    )
}

/// A row without limits, met by what the job states.
pub(super) fn met_by_facts(subject: &Said, rule: &Rule) -> Said {
    said!(
        "{subject} meets {source} by what the job states, whatever its slope: {text}.",
        subject = Part::capital(subject),
        source = source(rule),
        text = rule.text.trim_end_matches('.')
    )
}

/// A reach of which the rules on slope do not speak.
pub(super) fn is_drop(subject: &Said) -> Said {
    said!(
        "{subject} is steeper than 45 degrees, which the rules on slope do not speak of.",
        subject = Part::capital(subject)
    )
}

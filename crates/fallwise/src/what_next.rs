//! The next measurement: what would decide the findings that are undecided, while the cable is still in the pipe.
//!
//! For a measurement whose outcome is not known yet, the expectation is over its *predicted* outcome: what the posterior says
//! the measurement will show. Every proposal enters as a tie with the standard deviation that it is expected to have: a reversal check
//! and a run from the other end as a check of the head, the others as a height difference. None asks anybody into a chamber.

use serde::{Deserialize, Serialize};

use crate::prelude::*;
use crate::{
    math,
    model::{Known, Place, Tie},
    said,
    units::{Part, Said, Words},
};

/// Nodes of the expectation over the predicted outcome: midpoints of equal probability. Nine are enough to tell "nearly
/// all" from "about half" from "none", which is what the ranking needs.
pub const NODES: usize = 9;

/// Fewer decided findings than this are not worth a proposal (our choice).
const WORTH_WHILE: f64 = 0.1;

/// Of those that decide at least this share of what the best one does the cheapest comes first (our choice).
const AS_GOOD: f64 = 0.8;

/// What is done to come by a tie, from the cheapest and safest on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Measure {
    /// The head laid down twice: a minute, at the surface.
    Reversal,
    /// Two edges of still water, with the camera that is in the pipe.
    WaterLevel,
    /// The same head from the other end.
    OtherEnd,
    /// The inverts of both ends levelled from the surface.
    Level,
    /// The head located at both ends, and the heights of the ground there measured.
    Locate,
}

/// A measurement that could be made.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// What is done.
    pub measure: Measure,
    /// Where, m; absent for a measurement of the head.
    pub station_m: Option<f64>,
    /// Second station, m.
    pub to_m: Option<f64>,
    /// The tie that it gives, whatever its value.
    pub tie: Tie,
}

/// A measurement that would help.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Candidate {
    /// Name, such as `reversal_check`.
    pub measurement: String,
    /// Where, m; absent for a measurement of the head.
    pub station_m: Option<f64>,
    /// Second station, m.
    pub to_m: Option<f64>,
    /// What to do.
    pub sentence: Said,
    /// What can hurt while doing it.
    pub hazard: Said,
    /// Findings undecided now.
    pub undecided_now: usize,
    /// How many of them it is expected to decide.
    pub expected_decided: f64,
}

impl Measure {
    /// Its name in the answers: the kind of tie that it gives, where that says it.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Reversal => "reversal_check",
            Self::WaterLevel => "water_level",
            Self::OtherEnd => "run_from_other_end",
            Self::Level => "height_difference",
            Self::Locate => "depth",
        }
    }
}

impl Proposal {
    /// A check of the head by reversal whose result is good to `sd_rad`.
    pub fn reversal(sd_rad: f64) -> Self {
        Self { measure: Measure::Reversal, station_m: None, to_m: None, tie: of_head(sd_rad) }
    }

    /// The same head pushed in from the other end: what both runs read of the same pipe differs by twice the zero error, good to
    /// what the two seatings leave.
    pub fn other_end(end_m: f64, seating_sd_rad: f64) -> Self {
        let tie = of_head(seating_sd_rad * core::f64::consts::FRAC_1_SQRT_2);
        Self { measure: Measure::OtherEnd, station_m: Some(end_m), to_m: None, tie }
    }

    /// A height difference between two places, each had with `place_sd_m`, good to `sd_m`.
    pub fn heights(measure: Measure, from_m: f64, to_m: f64, place_sd_m: f64, sd_m: f64) -> Self {
        let place = |station_m| Place { sd_m: place_sd_m, ..Place::exact(station_m) };
        let tie = Tie::new(Known::HeightDifference { from: place(from_m), to: place(to_m), rise_m: 0.0, sd_m });
        Self { measure, station_m: Some(from_m), to_m: Some(to_m), tie }
    }

    /// The tie with a result.
    pub fn with_result(&self, value: f64) -> Tie {
        let mut tie = self.tie.clone();
        match &mut tie.known {
            Known::LevelCheck { surface_rad, .. } => *surface_rad = -value,
            Known::HeightDifference { rise_m, .. } => *rise_m = value,
            _ => {}
        }
        tie
    }

    /// What to do, and what can hurt while doing it.
    fn words(&self, words: Words) -> (Said, Said) {
        let place = |station_m: Option<f64>| station_m.map_or_else(|| Part::from(""), Part::At);
        let (from, to) = (place(self.station_m), place(self.to_m));
        match self.measure {
            Measure::Reversal => (
                said!(
                    "Check the head by reversal: lay it on a steady surface and read the tilt, then turn it end for end \
                     on the same spot and read again. Half the sum of the two readings is its zero error; type both \
                     into the job and solve again. It takes a minute and needs no level."
                ),
                said!(
                    "At the surface, on dry ground beside the opening: keep clear of traffic and of the open cleanout; \
                     the head has been in sewage, so wear gloves and wash; do not enter a chamber."
                ),
            ),
            Measure::WaterLevel => (
                said!(
                    words,
                    "Let clean water stand in the belly between {from} and {to}: run water, shut it off, wait until it \
                     is still. Then push the head through slowly and note the counter where the lens goes under and \
                     where it comes out. The two are at one height: type them into the job as a tie of kind water_level \
                     with seen = \"lens\" and solve again.",
                    from = from,
                    to = to
                ),
                said!(
                    "From the surface, with the camera. A drain that backs up can flood the house: watch the lowest \
                     fitting and stop as soon as water rises there. Have everything that drains here shut off while the \
                     water stands. Treat the water as sewage: gloves, washed hands; do not enter a chamber."
                ),
            ),
            Measure::OtherEnd => (
                said!(
                    words,
                    "Push the same head, with the same skid, in from the other end at {from}: its zero error then \
                     counts the other way, and the two runs together show it. Add the log to the job as a second run, \
                     with toward the other way than the first and start_station the station of this end \
                     (start_station_sd: how well that is known), and solve again.",
                    from = from
                ),
                said!(
                    "From the surface at the other opening, with the permission of whoever owns it: keep clear of \
                     traffic, cover the opening when you leave it; gloves, washed hands; do not enter a chamber."
                ),
            ),
            Measure::Level => (
                said!(
                    words,
                    "Measure how much higher the flow line is at one end than at the other, {from} and {to}: a staff \
                     let down onto it from the surface, and a levelling instrument or a hose filled with water between \
                     the two openings. Type the rise from the first to the second, negative where it falls, into the \
                     job as a tie of kind height_difference and solve again.",
                    from = from,
                    to = to
                ),
                said!(
                    "From the surface with a staff: do not lean into or enter a chamber; keep clear of traffic; an \
                     opening on the sewer needs the permission of the sewer's owner; gloves, washed hands."
                ),
            ),
            Measure::Locate => (
                said!(
                    words,
                    "If the head has a transmitter, locate it from the surface at {from} and at {to} and read its depth \
                     at each. Measure with a levelling instrument how high the ground is at both, from one mark; \
                     nothing is dug. Type both into the job as ties of kind depth, each with its ground, and solve \
                     again.",
                    from = from,
                    to = to
                ),
                said!(
                    "At the surface: keep clear of traffic. Other buried services may carry the locator's signal, and \
                     may lie above the pipe: a located depth is no leave to dig; do not enter a chamber."
                ),
            ),
        }
    }
}

fn of_head(sd_rad: f64) -> Tie {
    Tie::new(Known::LevelCheck { reading_rad: 0.0, surface_rad: 0.0, sd_rad, tilt_positive: None })
}

/// The midpoints of equal probability of a predicted outcome, in standard deviations from its mean.
pub fn outcomes() -> [f64; NODES] {
    core::array::from_fn(|node| math::normal_quantile((node as f64 + 0.5) / NODES as f64))
}

/// Proposals that are worth it, best first: by the number of findings they are expected to decide, and of those that decide all but
/// as many the cheapest and safest.
///
/// `now` findings are undecided. `remaining` gives the number expected to be undecided after a proposal; `None` for one that says
/// nothing. It is asked in the order of cost, and no more once one decides all but everything.
pub fn rank(
    mut proposals: Vec<Proposal>,
    now: usize,
    words: Words,
    remaining: &mut dyn FnMut(&Proposal) -> Option<f64>,
) -> Vec<Candidate> {
    if now == 0 {
        return Vec::new();
    }
    proposals.sort_by_key(|p| p.measure);
    let mut worth: Vec<(Measure, Candidate)> = Vec::new();
    for proposal in proposals {
        if worth.iter().any(|(_, c)| c.expected_decided > 0.95 * now as f64) {
            break;
        }
        let Some(expected_decided) = remaining(&proposal).map(|left| now as f64 - left) else { continue };
        if expected_decided >= WORTH_WHILE {
            let (sentence, hazard) = proposal.words(words);
            let candidate = Candidate {
                measurement: proposal.measure.as_str().to_owned(),
                station_m: proposal.station_m,
                to_m: proposal.to_m,
                sentence,
                hazard,
                undecided_now: now,
                expected_decided,
            };
            worth.push((proposal.measure, candidate));
        }
    }
    let best = worth.iter().map(|(_, c)| c.expected_decided).fold(0.0, f64::max);
    let as_good = |c: &Candidate| c.expected_decided >= AS_GOOD * best;
    worth.sort_by(|a, b| match (as_good(&a.1), as_good(&b.1)) {
        (true, true) => a.0.cmp(&b.0),
        (false, false) => b.1.expected_decided.total_cmp(&a.1.expected_decided).then(a.0.cmp(&b.0)),
        (first, second) => second.cmp(&first),
    });
    worth.into_iter().map(|(_, candidate)| candidate).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ranked(now: usize, left: impl Fn(&Proposal) -> Option<f64>) -> Vec<String> {
        let proposals = vec![
            Proposal::heights(Measure::Level, 0.0, 30.0, 0.05, 0.007),
            Proposal::reversal(0.001),
            Proposal::heights(Measure::WaterLevel, 3.0, 8.0, 0.05, 0.004),
        ];
        rank(proposals, now, Words::Uk, &mut |p| left(p)).into_iter().map(|c| c.measurement).collect()
    }

    #[test]
    fn the_cheapest_of_those_that_decide_as_much_comes_first() {
        let left = |p: &Proposal| Some(if p.measure == Measure::Level { 0.3 } else { 0.5 });
        assert_eq!(ranked(2, left), ["reversal_check", "water_level", "height_difference"]);
    }

    #[test]
    fn what_decides_far_more_comes_before_what_is_cheap() {
        let left = |p: &Proposal| Some(if p.measure == Measure::Level { 0.2 } else { 1.4 });
        assert_eq!(ranked(2, left), ["height_difference", "reversal_check", "water_level"]);
    }

    #[test]
    fn nothing_is_proposed_that_decides_nothing() {
        assert!(ranked(0, |_| Some(0.0)).is_empty());
        assert!(ranked(3, |_| Some(3.0)).is_empty());
        assert!(ranked(3, |_| None).is_empty());
        // The rest is not asked once one decides everything.
        assert_eq!(ranked(2, |_| Some(0.0)), ["reversal_check"]);
    }

    #[test]
    fn outcomes_are_even_about_their_mean() {
        let o = outcomes();
        assert_eq!(o[NODES / 2], 0.0);
        // A quantile is good to 1e-15.
        assert!((o[0] + o[NODES - 1]).abs() < 1e-14 && (o[0] - math::normal_quantile(1.0 / 18.0)).abs() < 1e-14);
    }

    #[test]
    fn nobody_is_sent_into_a_chamber() {
        for measure in [Measure::Reversal, Measure::WaterLevel, Measure::OtherEnd, Measure::Level, Measure::Locate] {
            let (sentence, hazard) = Proposal::heights(measure, 1.0, 2.0, 0.0, 0.1).words(Words::Uk);
            assert!(hazard.contains("chamber") && !sentence.contains("chamber"), "{sentence} {hazard}");
        }
    }
}

//! The next measurement: what would decide the findings that are undecided, while the cable is still in the pipe.
//!
//! For a measurement whose outcome is not known yet, the expectation is over its *predicted* outcome: what the posterior
//! says the measurement will show. The candidate here is the reversal check of the head; others join it as candidates of
//! the same form.

use serde::{Deserialize, Serialize};

use crate::{condition::reversal_check_sd_rad, math, model::Instrument};

/// Nodes of the expectation over the predicted outcome: midpoints of equal probability. Nine are enough to tell "nearly
/// all" from "about half" from "none", which is what the ranking needs.
const NODES: usize = 9;

/// Fewer decided findings than this are not worth a proposal.
const WORTH_WHILE: f64 = 0.1;

/// A measurement that would help.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Candidate {
    /// Name, such as `reversal_check`.
    pub measurement: String,
    /// What to do.
    pub sentence: String,
    /// What can hurt while doing it.
    pub hazard: String,
    /// Findings undecided now.
    pub undecided_now: usize,
    /// How many of them it is expected to decide.
    pub expected_decided: f64,
}

/// What is known of the zero error of the head, after the runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zero {
    /// Mean, rad.
    pub value_rad: f64,
    /// Standard deviation, rad.
    pub sd_rad: f64,
    /// Step of the head's display, rad; 0 for none.
    pub resolution_rad: f64,
}

/// Whether a reversal check of the head would decide anything.
///
/// `now` findings are undecided with this instrument. `undecided` says how many are with a given one: it solves the
/// adjustment anew, so that the check enters exactly as it would if it were made and typed into the job, where it takes
/// the place of what was known of the zero before. `None` where the zero was checked already, where a check would say no
/// more than is known, or where nothing is undecided.
pub fn reversal_check(
    instrument: &Instrument,
    zero: Zero,
    now: usize,
    undecided: &dyn Fn(&Instrument) -> Option<usize>,
) -> Option<Candidate> {
    let check_sd = reversal_check_sd_rad(zero.resolution_rad);
    if now == 0 || instrument.zero_checked || zero.sd_rad <= check_sd {
        return None;
    }
    // What the check will show: the zero, and the error of the check.
    let shown_sd = (zero.sd_rad * zero.sd_rad + check_sd * check_sd).sqrt();
    let mut remaining = 0.0;
    for node in 0..NODES {
        let p = (node as f64 + 0.5) / NODES as f64;
        let outcome = Instrument {
            zero_rad: zero.value_rad + shown_sd * math::normal_quantile(p),
            zero_sd_rad: check_sd,
            zero_checked: true,
            ..instrument.clone()
        };
        remaining += undecided(&outcome)? as f64 / NODES as f64;
    }
    let expected_decided = now as f64 - remaining;
    (expected_decided >= WORTH_WHILE).then(|| Candidate {
        measurement: "reversal_check".to_owned(),
        sentence: "Check the head by reversal: lay it on a steady surface and read the tilt, then turn it end for end on \
                   the same spot and read again. Half the sum of the two readings is its zero error; type both into the \
                   job and solve again. It takes a minute and needs no level."
            .to_owned(),
        hazard: "At the surface, on dry ground beside the opening: keep clear of traffic and of the open cleanout; the head \
                 has been in sewage, so wear gloves and wash; do not enter a chamber."
            .to_owned(),
        undecided_now: now,
        expected_decided,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::condition::REVERSAL_CHECK_SD_RAD;

    fn prior(i: &Instrument) -> Zero {
        Zero { value_rad: i.zero_rad, sd_rad: i.zero_sd_rad, resolution_rad: 0.0 }
    }

    /// One slope finding: value 1 % against 0 %, decided when it is 1.645 sd away.
    fn one_finding(value: f64) -> impl Fn(&Instrument) -> Option<usize> {
        move |i: &Instrument| {
            let sd = i.zero_sd_rad.max(1e-9);
            Some(usize::from((value - i.zero_rad).abs() < 1.645 * sd))
        }
    }

    #[test]
    fn a_check_that_decides_is_proposed() {
        let i = Instrument::default();
        let c = reversal_check(&i, prior(&i), 1, &one_finding(1.5 * i.zero_sd_rad)).unwrap();
        assert_eq!(c.undecided_now, 1);
        // The outcome moves by nearly the prior sd; it stays undecided only within 1.645 * 0.049 deg of the limit.
        assert!(c.expected_decided > 0.8, "{c:?}");
    }

    #[test]
    fn nothing_is_proposed_when_all_is_decided_or_the_zero_is_known() {
        let i = Instrument::default();
        assert_eq!(reversal_check(&i, prior(&i), 0, &one_finding(1.0)), None);
        let known = Instrument { zero_checked: true, ..i };
        assert_eq!(reversal_check(&known, prior(&known), 1, &one_finding(0.0)), None);
    }

    #[test]
    fn what_the_runs_said_of_the_zero_counts() {
        // The prior leaves the sign of the slope open; two runs have put the zero at its value, to 0.06 degrees: no
        // outcome of a check is now far enough away.
        let i = Instrument::default();
        let said = Zero { value_rad: i.zero_sd_rad, sd_rad: 1.2 * REVERSAL_CHECK_SD_RAD, resolution_rad: 0.0 };
        let decided =
            |zero| reversal_check(&i, zero, 1, &one_finding(i.zero_sd_rad)).map_or(0.0, |c| c.expected_decided);
        assert!(decided(prior(&i)) > 0.7 && decided(said) < 0.4, "{} {}", decided(prior(&i)), decided(said));
    }

    #[test]
    fn a_check_that_cannot_decide_is_not_proposed() {
        let i = Instrument::default();
        assert_eq!(reversal_check(&i, prior(&i), 3, &|_| Some(3)), None);
        assert_eq!(reversal_check(&i, prior(&i), 3, &|_| None), None);
    }

    #[test]
    fn a_check_on_a_coarse_display_is_not_proposed() {
        let degree = core::f64::consts::PI / 180.0;
        let i = Instrument::default();
        let coarse = Zero { resolution_rad: 2.0 * degree, ..prior(&i) };
        assert_eq!(reversal_check(&i, coarse, 1, &one_finding(1.5 * i.zero_sd_rad)), None);
    }
}

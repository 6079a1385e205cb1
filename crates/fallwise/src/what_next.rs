//! The next measurement: what would decide the findings that are undecided, while the cable is still in the pipe.
//!
//! For a measurement whose outcome is not known yet, the expectation is over its *predicted* outcome: what the posterior
//! says the measurement will show. The candidate here is the reversal check of the head; others join it as candidates of
//! the same form.

use serde::{Deserialize, Serialize};

use crate::{math, model::Instrument};

/// Standard deviation of the zero error after a reversal check, as expected beforehand, rad: 0.05 degrees, half the sum
/// of two readings of a head at rest shown to a tenth of a degree (our choice).
pub const REVERSAL_CHECK_SD_RAD: f64 = 0.05 * core::f64::consts::PI / 180.0;

/// Nodes of the expectation over the predicted outcome: midpoints of equal probability. Nine are enough to tell "nearly
/// all" from "about half" from "none", which is what the ranking needs.
const NODES: usize = 9;

/// Fewer decided findings than this are not worth a proposal.
const WORTH_WHILE: f64 = 0.2;

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

/// Whether a reversal check of the head would decide anything.
///
/// `zero` is what is known of the zero error *now*, after the runs: mean and standard deviation, rad. `undecided` says how
/// many findings are undecided with a given instrument: it solves the adjustment anew, so that the check enters exactly
/// as it would if it were made and typed into the job, where it takes the place of what was known of the zero before.
/// `None` where the zero is known already or nothing is undecided.
pub fn reversal_check(
    instrument: &Instrument,
    zero: (f64, f64),
    undecided: &dyn Fn(&Instrument) -> Option<usize>,
) -> Option<Candidate> {
    let before = zero.1;
    if instrument.zero_checked || before <= REVERSAL_CHECK_SD_RAD {
        return None;
    }
    let now = undecided(instrument)?;
    if now == 0 {
        return None;
    }
    // What the check will show: the zero, and the error of the check.
    let shown_sd = (before * before + REVERSAL_CHECK_SD_RAD * REVERSAL_CHECK_SD_RAD).sqrt();
    let mut remaining = 0.0;
    for node in 0..NODES {
        let p = (node as f64 + 0.5) / NODES as f64;
        let outcome = Instrument {
            zero_rad: zero.0 + shown_sd * math::normal_quantile(p),
            zero_sd_rad: REVERSAL_CHECK_SD_RAD,
            zero_checked: true,
            ..instrument.clone()
        };
        remaining += undecided(&outcome)? as f64 / NODES as f64;
    }
    let expected_decided = now as f64 - remaining;
    (expected_decided >= WORTH_WHILE).then(|| Candidate {
        measurement: "reversal_check".to_owned(),
        sentence: "Check the head by reversal: lay it on a steady surface, read the tilt, turn it end for end on the same \
                   spot, read again; half the sum of the two readings is its zero error. One minute, no level needed. Type \
                   both readings into the job and solve again."
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

    fn prior(i: &Instrument) -> (f64, f64) {
        (i.zero_rad, i.zero_sd_rad)
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
        let c = reversal_check(&i, prior(&i), &one_finding(1.5 * i.zero_sd_rad)).unwrap();
        assert_eq!(c.undecided_now, 1);
        // The outcome moves by nearly the prior sd; it stays undecided only within 1.645 * 0.049 deg of the limit.
        assert!(c.expected_decided > 0.8, "{c:?}");
    }

    #[test]
    fn nothing_is_proposed_when_all_is_decided_or_the_zero_is_known() {
        let i = Instrument::default();
        assert_eq!(reversal_check(&i, prior(&i), &one_finding(1.0)), None);
        let known = Instrument { zero_checked: true, ..i };
        assert_eq!(reversal_check(&known, prior(&known), &one_finding(0.0)), None);
    }

    #[test]
    fn what_the_runs_said_of_the_zero_counts() {
        // The prior leaves the sign of the slope open; two runs have put the zero at its value, to 0.06 degrees: no
        // outcome of a check is now far enough away.
        let i = Instrument::default();
        let said = (i.zero_sd_rad, 1.2 * REVERSAL_CHECK_SD_RAD);
        let by_prior = reversal_check(&i, prior(&i), &one_finding(i.zero_sd_rad)).unwrap();
        let by_runs = reversal_check(&i, said, &one_finding(i.zero_sd_rad)).unwrap();
        assert!(by_prior.expected_decided > 0.7 && by_runs.expected_decided < 0.4, "{by_prior:?} {by_runs:?}");
    }

    #[test]
    fn a_check_that_cannot_decide_is_not_proposed() {
        let i = Instrument::default();
        assert_eq!(reversal_check(&i, prior(&i), &|_| Some(3)), None);
        assert_eq!(reversal_check(&i, prior(&i), &|_| None), None);
    }
}

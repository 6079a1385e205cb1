//! Findings that rest on a tie that does not fit the rest.

use super::Lateral;
use crate::{
    adjust::{Ensemble, ties::Verdict as Fit},
    error::Error,
    rules::{Check, Finding, Reason, Rulebook, Verdict},
    said,
    units::{Part, Said},
};

impl Lateral {
    /// The ties that are suspect, by their places among the equations: two that together explain what one cannot, or all that fit
    /// worst and cannot be told apart. An error of a position shows in east and north: it is one tie.
    pub(super) fn suspects(&self) -> Vec<usize> {
        let a = &self.adjustment;
        match a.suspect_pair {
            Some((j, k)) => vec![j, k],
            None => (0..a.closures.len()).filter(|j| a.closures[*j].verdict == Fit::Suspect).collect(),
        }
    }

    /// The findings that there would be without the suspect ties, and what these are called; nothing where none is suspect.
    pub(super) fn check_without_suspects(&self, book: &Rulebook) -> Option<(Said, Result<Check, Error>)> {
        let suspects = self.suspects();
        if suspects.is_empty() {
            return None;
        }
        let left_out: Vec<usize> = suspects.iter().map(|j| self.adjustment.closures[*j].tie).collect();
        let mut named: Vec<Said> = left_out.iter().map(|tie| self.quoted(*tie)).collect();
        named.dedup();
        let check = || {
            let posterior = self.without_ties(&left_out)?;
            let profile = self.layout.profile(&posterior.tilt_rad, posterior.scale, Some(&posterior.step_rise_m));
            let draws = Ensemble { posterior: &posterior, ..self.ensemble() };
            let pools = self.pools_of(&profile, &draws, self.job.tailwater_m);
            self.check_of(book, &profile, &draws, &pools)
        };
        Some((both(named)?, check()))
    }
}

/// "a and b", "a and b and c": each may be the one.
pub(super) fn both(ties: impl IntoIterator<Item = Said>) -> Option<Said> {
    ties.into_iter().reduce(|list, last| said!("{list} and {last}", list = list, last = last))
}

/// Leaves undecided what is decided the one way with the suspect ties and not without them; but for pools, whose numbers may differ.
pub(super) fn leave_open(check: &mut Check, without: &Check, named: &Said) {
    let mut opened = false;
    for finding in &mut check.parts {
        opened |= open(finding, without, named);
    }
    if opened || check.lateral.verdict != without.lateral.verdict {
        open(&mut check.lateral, without, named);
    }
}

fn open(finding: &mut Finding, without: &Check, named: &Said) -> bool {
    // A pool that only one of the two has stays as it is: its number says nothing of the other's.
    let Some(other) = without.findings().find(|f| f.subject == finding.subject) else { return false };
    let decided = matches!(finding.verdict, Verdict::Meets | Verdict::Fails);
    if !decided || finding.verdict == other.verdict || finding.pool.is_some() {
        return false;
    }
    let (with_all, without_it) = (Part::word(finding.verdict.word()), Part::word(other.verdict.word()));
    finding.verdict = Verdict::Undecided(Reason::NeedsMeasurement);
    finding.sentence = said!(
        "Undecided: this rests on {ties}, which does not fit the rest. With all ties it would be \"{with_all}\", \
         without \"{without}\": measure again before anything is decided by it.",
        ties = named,
        with_all = with_all,
        without = without_it
    );
    true
}

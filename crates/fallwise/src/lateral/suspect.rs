//! Findings that rest on a tie that does not fit the rest.

use super::Lateral;
use crate::prelude::*;
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

    /// What may be wrong, the likeliest first: the suspects together, then every other tie that explains the rest just by itself. Ties
    /// by their places among all.
    pub(super) fn explanations(&self) -> Vec<Vec<usize>> {
        let mut suspects: Vec<usize> = self.suspects().iter().map(|j| self.adjustment.closures[*j].tie).collect();
        suspects.dedup();
        let others: Vec<usize> =
            self.adjustment.explained_by.iter().copied().filter(|tie| !suspects.contains(tie)).collect();
        let first = (!suspects.is_empty()).then_some(suspects);
        first.into_iter().chain(others.into_iter().map(|tie| vec![tie])).collect()
    }

    /// What a set of ties is called.
    pub(super) fn named(&self, ties: &[usize]) -> Said {
        let mut named: Vec<Said> = ties.iter().map(|tie| self.quoted(*tie)).collect();
        named.dedup();
        both(named).unwrap_or_default()
    }

    /// The findings that there would be without some ties.
    pub(super) fn check_without(&self, book: &Rulebook, left_out: &[usize]) -> Result<Check, Error> {
        let posterior = self.without_ties(left_out)?;
        let profile = self.layout.profile(&posterior.tilt_rad, posterior.scale, Some(&posterior.step_rise_m));
        let draws = Ensemble { posterior: &posterior, ..self.ensemble() };
        let pools = self.pools_for(book, &profile, &draws);
        self.check_of(book, &profile, &draws, &pools)
    }
}

/// "a and b", "a and b and c": each may be the one.
pub(super) fn both(ties: impl IntoIterator<Item = Said>) -> Option<Said> {
    ties.into_iter().reduce(|list, last| said!("{list} and {last}", list = list, last = last))
}

/// Leaves undecided what is decided the one way with ties that may be wrong and not without them; but for pools, whose numbers may differ.
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
    finding.verdict = Verdict::Undecided(Reason::Contradicted);
    // Which holds only if nothing is wrong.
    finding.probability = None;
    finding.sentence = said!(
        "Undecided: this rests on {ties}, which may be what does not fit the rest. With all ties it would be \
         \"{with_all}\", without \"{without}\": measure again before anything is decided by it.",
        ties = named,
        with_all = with_all,
        without = without_it
    );
    true
}

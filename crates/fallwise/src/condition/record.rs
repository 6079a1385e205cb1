//! What was done to each reading, why, and the fall that went with it: a few bits and a number a reading, until it is
//! read out as edits.

use super::{Action, Edit};
use crate::prelude::*;
use crate::{said, units::Said};

/// Why a reading was changed. The order is that of conditioning, and of the reasons in an edit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Cause {
    Continued,
    Lag,
    Slack,
    Pull,
    PullLeftOut,
    Push,
    BeyondUpright,
    Folded,
    Frozen,
    Pinned,
    Moved,
    Spike,
    Step,
    NearBend,
    InMotion,
    Repeat,
    OtherPass,
}

impl Cause {
    const ALL: [Self; 17] = [
        Self::Continued,
        Self::Lag,
        Self::Slack,
        Self::Pull,
        Self::PullLeftOut,
        Self::Push,
        Self::BeyondUpright,
        Self::Folded,
        Self::Frozen,
        Self::Pinned,
        Self::Moved,
        Self::Spike,
        Self::Step,
        Self::NearBend,
        Self::InMotion,
        Self::Repeat,
        Self::OtherPass,
    ];

    fn bit(self) -> u32 {
        1 << (self as u32)
    }

    fn action(self) -> Action {
        match self {
            Self::PullLeftOut | Self::Push | Self::BeyondUpright | Self::Folded | Self::Frozen | Self::Spike => {
                Action::Dropped
            }
            Self::Repeat | Self::OtherPass => Action::Combined,
            Self::Continued
            | Self::Lag
            | Self::Slack
            | Self::Pull
            | Self::Pinned
            | Self::Moved
            | Self::Step
            | Self::NearBend
            | Self::InMotion => Action::Flagged,
        }
    }

    fn reason(self) -> Said {
        match self {
            Self::Continued => said!("counter continued over a reset"),
            Self::Lag => said!("lag: the reading follows the pipe late; put where the head was then"),
            Self::Slack => said!("slack: the counter turned before the head did; station put right"),
            Self::Pull => said!("pull-back: a pulled head sits differently, so it is a setup of its own"),
            Self::PullLeftOut => {
                said!("pull-back: a pulled head sits differently, and what ties it to the push is not known")
            }
            Self::Push => said!("push: the run was logged while pulling back"),
            Self::BeyondUpright => said!("beyond upright: more than 90 degrees from level"),
            Self::Folded => said!("folded: near upright the sign turned over"),
            Self::Frozen => said!("frozen: the very same value over metres, where this log flickers"),
            Self::Pinned => said!("pinned at the sensor's limit: the pipe is at least as steep"),
            Self::Moved => said!("put in order of station"),
            Self::Spike => said!("spike: a single reading apart from those on both sides"),
            Self::Step => said!("step passing under the head: kept for the fall, weight reduced"),
            Self::NearBend => said!("near a bend: no weight for slopes"),
            Self::InMotion => said!("in motion: weight reduced to what readings at rest show"),
            Self::Repeat => said!("repeat: combined with the others at this place"),
            Self::OtherPass => said!("pushed over again: combined with the other pass here"),
        }
    }
}

/// The causes of every reading, one bit each, and the fall that it lost.
pub(super) struct Record {
    causes: Vec<u32>,
    removed_m: Vec<f64>,
}

impl Record {
    pub(super) fn new(readings: usize) -> Self {
        Self { causes: vec![0; readings], removed_m: vec![0.0; readings] }
    }

    pub(super) fn note(&mut self, index: usize, cause: Cause) {
        if let Some(causes) = self.causes.get_mut(index) {
            *causes |= cause.bit();
        }
    }

    /// A change of this reading took so much fall away, m.
    pub(super) fn charge(&mut self, index: usize, removed_m: f64) {
        if let Some(sum) = self.removed_m.get_mut(index) {
            *sum += removed_m;
        }
    }

    /// The walk is gone the other way from now on: what fell rises.
    pub(super) fn turn_round(&mut self) {
        self.removed_m.iter_mut().for_each(|m| *m = -*m);
    }

    /// One cause in place of another.
    pub(super) fn instead(&mut self, index: usize, cause: Cause, other: Cause) {
        if let Some(causes) = self.causes.get_mut(index) {
            *causes = *causes & !cause.bit() | other.bit();
        }
    }

    /// The causes of another record beside its own, without what they took away.
    pub(super) fn take_causes(&mut self, other: &Self) {
        self.causes.iter_mut().zip(&other.causes).for_each(|(mine, theirs)| *mine |= theirs);
    }

    /// One edit for each reading that has a cause.
    pub(super) fn into_edits(self) -> Vec<Edit> {
        let rows = self.causes.iter().zip(&self.removed_m).enumerate();
        rows.filter(|(_, (c, _))| **c != 0)
            .map(|(index, (&causes, &removed_m))| edit(index, causes, removed_m))
            .collect()
    }
}

fn edit(index: usize, causes: u32, removed_fall_m: f64) -> Edit {
    let given = given(causes);
    let action = [Action::Dropped, Action::Combined]
        .into_iter()
        .find(|a| given.iter().any(|c| c.action() == *a))
        .unwrap_or(Action::Flagged);
    let reasons = given.iter().map(|cause| cause.reason());
    let reason = reasons.reduce(|first, next| said!("{first}; {next}", first = first, next = next)).unwrap_or_default();
    Edit { index, action, reason, removed_fall_m }
}

/// The causes of these bits, in their order. From bit to bit: of a loop over all of them the compiler makes every combination,
/// which takes it half an hour.
fn given(causes: u32) -> Vec<Cause> {
    let mut given = Vec::new();
    let mut rest = causes;
    while let Some(&cause) = Cause::ALL.get(rest.trailing_zeros() as usize) {
        given.push(cause);
        rest &= rest - 1;
    }
    given
}

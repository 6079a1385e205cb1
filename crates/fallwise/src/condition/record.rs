//! What was done to each reading, and why: a few bits a reading until it is read out as edits.

use super::{Action, Edit};

/// Why a reading was changed. The order is that of conditioning, and of the reasons in an edit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Cause {
    Continued,
    Pull,
    Push,
    BeyondUpright,
    Spike,
    Step,
    NearBend,
    Repeat,
    OtherPass,
}

impl Cause {
    const ALL: [Self; 9] = [
        Self::Continued,
        Self::Pull,
        Self::Push,
        Self::BeyondUpright,
        Self::Spike,
        Self::Step,
        Self::NearBend,
        Self::Repeat,
        Self::OtherPass,
    ];

    fn bit(self) -> u16 {
        1 << (self as u16)
    }

    fn action(self) -> Action {
        match self {
            Self::Pull | Self::Push | Self::BeyondUpright | Self::Spike => Action::Dropped,
            Self::Repeat | Self::OtherPass => Action::Combined,
            Self::Continued | Self::Step | Self::NearBend => Action::Flagged,
        }
    }

    fn reason(self) -> &'static str {
        match self {
            Self::Continued => "counter continued over a reset",
            Self::Pull => "pull-back: a pulled head sits differently",
            Self::Push => "push: the run was logged while pulling back",
            Self::BeyondUpright => "beyond upright: more than 90 degrees from level",
            Self::Spike => "spike: a single reading apart from those on both sides",
            Self::Step => "step passing under the head: kept for the fall, weight reduced",
            Self::NearBend => "near a bend: no weight for slopes",
            Self::Repeat => "repeat: combined with the others at this place",
            Self::OtherPass => "pushed over again: combined with the other pass here",
        }
    }
}

/// The causes of every reading, one bit each.
pub(super) struct Record(Vec<u16>);

impl Record {
    pub(super) fn new(readings: usize) -> Self {
        Self(vec![0; readings])
    }

    pub(super) fn note(&mut self, index: usize, cause: Cause) {
        if let Some(causes) = self.0.get_mut(index) {
            *causes |= cause.bit();
        }
    }

    /// One edit for each reading that has a cause.
    pub(super) fn into_edits(self) -> Vec<Edit> {
        self.0.iter().enumerate().filter(|(_, c)| **c != 0).map(|(index, &causes)| edit(index, causes)).collect()
    }
}

fn edit(index: usize, causes: u16) -> Edit {
    let given = || Cause::ALL.into_iter().filter(move |c| causes & c.bit() != 0);
    let action = [Action::Dropped, Action::Combined]
        .into_iter()
        .find(|&a| given().any(|c| c.action() == a))
        .unwrap_or(Action::Flagged);
    let mut reason = String::new();
    for cause in given() {
        if !reason.is_empty() {
            reason.push_str("; ");
        }
        reason.push_str(cause.reason());
    }
    Edit { index, action, reason }
}

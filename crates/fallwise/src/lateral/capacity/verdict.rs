//! Whether a reach carries the flow, and keeps itself clean.

use super::{
    Asked,
    chance::{Chance, reaches},
    stretch::Stretch,
    wall::{self, Missing},
};
use crate::prelude::*;
use crate::{
    error::Error,
    hydraulics::{self, Friction, slope_for_flow},
    section::Bore,
    units::Said,
};

/// What can be said of a flow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Verdict {
    Carries,
    DoesNotCarry,
    NotDecided,
    InputMissing,
    NoUniformFlow,
}

impl Verdict {
    pub(super) fn as_str(self) -> &'static str {
        match self {
            Self::Carries => "carries",
            Self::DoesNotCarry => "does_not_carry",
            Self::NotDecided => "not_decided",
            Self::InputMissing => "input_missing",
            Self::NoUniformFlow => "no_uniform_flow",
        }
    }
}

/// Whether a limit of cleanness is reached over every piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Clean {
    Yes,
    No,
    NotDecided,
}

impl Clean {
    pub(super) fn as_str(self) -> &'static str {
        match self {
            Self::Yes => "yes",
            Self::No => "no",
            Self::NotDecided => "not_decided",
        }
    }
}

/// Whether a flow keeps the reach clean by one measure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Cleansing {
    pub(super) clean: Clean,
    pub(super) every_piece: Chance,
    /// Slope that it takes; infinite where it is steeper than can be.
    pub(super) needed: f64,
}

/// A reach as decided.
#[derive(Debug, Clone)]
pub(super) struct Decided {
    pub(super) missing: Vec<Missing>,
    /// Bore and friction, where both are known.
    pub(super) pipe: Option<(Bore, Friction)>,
    /// Slope that the flow takes at the filling; infinite where it is steeper than can be.
    pub(super) needed: Option<f64>,
    pub(super) verdict: Verdict,
    pub(super) mean: Option<Chance>,
    pub(super) every_piece: Option<Chance>,
    pub(super) by_velocity: Option<Cleansing>,
    pub(super) by_shear: Option<Cleansing>,
    /// Ties that may be wrong, on which this rests.
    pub(super) contradicted: Option<Said>,
}

pub(super) fn decide(asked: &Asked<'_>, stretch: &Stretch<'_>) -> Result<Decided, Error> {
    let capacity = asked.capacity;
    let mut missing = Vec::new();
    let bore = stretch.pipe.bore.ok_or(Missing::Bore).map_err(|m| missing.push(m)).ok();
    let friction = wall::friction(capacity, stretch.pipe).map_err(|m| missing.push(m)).ok();
    if asked.flow_m3_s.is_none() {
        missing.push(Missing::Flow);
    }
    if capacity.filling.is_none() {
        missing.push(Missing::Filling);
    }
    let pipe = bore.zip(friction);
    let mut decided = Decided {
        missing,
        pipe,
        needed: None,
        verdict: Verdict::InputMissing,
        mean: None,
        every_piece: None,
        by_velocity: None,
        by_shear: None,
        contradicted: None,
    };
    let level = stretch.mean.is_none_or(|mean| mean.value <= 0.0);
    if let (Some((bore, friction)), Some(flow)) = (pipe, asked.flow_m3_s) {
        let steep = |slope: Option<f64>| slope.unwrap_or(f64::INFINITY);
        if let Some(filling) = capacity.filling {
            let needed = steep(slope_for_flow(bore, friction, filling * bore.height_m(), flow)?);
            let (mean, every) = (stretch.mean_reaches(needed), stretch.every_piece_reaches(needed));
            let uniform = !stretch.unseen && stretch.backward_m.is_empty();
            decided.verdict = if every.surely() && uniform {
                Verdict::Carries
            } else if mean.surely_not() {
                Verdict::DoesNotCarry
            } else {
                Verdict::NotDecided
            };
            (decided.needed, decided.mean, decided.every_piece) = (Some(needed), Some(mean), Some(every));
        }
        if !level {
            let cleansing = |needed: f64| {
                let every_piece = stretch.every_piece_reaches(needed);
                let uniform = !stretch.unseen && stretch.backward_m.is_empty();
                let clean = if every_piece.surely() && uniform {
                    Clean::Yes
                } else if stretch.flattest_reaches(needed).surely_not() {
                    Clean::No
                } else {
                    Clean::NotDecided
                };
                Cleansing { clean, every_piece, needed }
            };
            if let Some(least) = capacity.least_velocity_m_s {
                let needed = hydraulics::slope_for_velocity_of_flow(bore, friction, flow, least)?;
                decided.by_velocity = Some(cleansing(steep(needed)));
            }
            if let Some(least) = capacity.least_shear_pa {
                let needed = hydraulics::slope_for_shear_of_flow(bore, friction, flow, least)?;
                decided.by_shear = Some(cleansing(steep(needed)));
            }
        }
    }
    if level && pipe.is_some() {
        decided.verdict = Verdict::NoUniformFlow;
    }
    Ok(decided)
}

/// Leaves open what is decided the one way with ties that may be wrong and another without them; says whether it did.
pub(super) fn leave_open(decided: &mut Decided, without: &Decided, named: &Said) -> bool {
    let sure = |v: Verdict| matches!(v, Verdict::Carries | Verdict::DoesNotCarry);
    let mut opened = false;
    if sure(decided.verdict) && decided.verdict != without.verdict {
        (decided.verdict, decided.mean, decided.every_piece) = (Verdict::NotDecided, None, None);
        decided.contradicted = Some(named.clone());
        opened = true;
    }
    for (one, other) in [(&mut decided.by_velocity, &without.by_velocity), (&mut decided.by_shear, &without.by_shear)] {
        if let Some(one) = one
            && other.is_none_or(|other| other.clean != one.clean)
        {
            one.clean = Clean::NotDecided;
        }
    }
    opened
}

/// That every piece of every reach carries the flow; nothing where one of them lacks what that takes.
pub(super) fn joint(stretches: &[Stretch<'_>], decided: &[Decided]) -> Option<Chance> {
    let limits: Vec<f64> = decided.iter().map(|d| d.needed).collect::<Option<_>>()?;
    let draws = stretches.first()?.least_draws.len();
    let in_draw = |draw: usize| {
        let each = stretches.iter().zip(&limits);
        each.into_iter().all(|(s, limit)| s.least_draws.get(draw).is_some_and(|least| reaches(*least, *limit)))
    };
    Chance::counted((0..draws).map(in_draw))
        .or_else(|| stretches.iter().zip(&limits).map(|(s, limit)| s.every_piece_reaches(*limit)).reduce(Chance::and))
}

/// The verdict over all reaches.
pub(super) fn of_whole(decided: &[Decided], joint: Option<Chance>) -> Verdict {
    let any = |verdict| decided.iter().any(|d| d.verdict == verdict);
    let all = |verdict| decided.iter().all(|d| d.verdict == verdict);
    if any(Verdict::DoesNotCarry) {
        Verdict::DoesNotCarry
    } else if decided.is_empty() || any(Verdict::InputMissing) {
        Verdict::InputMissing
    } else if any(Verdict::NoUniformFlow) {
        Verdict::NoUniformFlow
    } else if all(Verdict::Carries) && joint.is_some_and(Chance::surely) {
        Verdict::Carries
    } else {
        Verdict::NotDecided
    }
}

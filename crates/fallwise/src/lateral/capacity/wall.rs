//! How the wall of a pipe slows the water down, or what the job does not give.

use crate::prelude::*;
use crate::{
    answers::CapacityRow,
    hydraulics::{EN_12056_VISCOSITY_M2_S, Friction},
    model::{Capacity, Formula, Pipe},
    said,
    units::Said,
};

/// What a row lacks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Missing {
    Bore,
    ManningN,
    Roughness,
    Either,
    Formula,
    Flow,
    Filling,
}

impl Missing {
    /// The keys of the job that would give it.
    pub(super) fn key(self) -> &'static str {
        match self {
            Self::Bore => "bore",
            Self::ManningN => "manning_n",
            Self::Roughness => "roughness",
            Self::Either => "manning_n or roughness",
            Self::Formula => "formula",
            Self::Flow => "flow",
            Self::Filling => "filling",
        }
    }

    pub(super) fn said(self) -> Said {
        match self {
            Self::Bore => said!("the bore of the pipe"),
            Self::ManningN => said!("Manning's n of the pipe"),
            Self::Roughness => said!("the roughness of the pipe"),
            Self::Either => said!("Manning's n or the roughness of the pipe"),
            Self::Formula => said!("which formula is to be taken"),
            Self::Flow => said!("the flow to carry"),
            Self::Filling => said!("how full the pipe may run"),
        }
    }
}

/// The friction of a pipe: by the formula asked for, else by the one for which the pipe (or, where it gives none, the job) has a roughness.
pub(super) fn friction(asked: &Capacity, pipe: &Pipe) -> Result<Friction, Missing> {
    let own = pipe.manning_n.is_some() || pipe.roughness_m.is_some();
    let given = if own { (pipe.manning_n, pipe.roughness_m) } else { (asked.manning_n, asked.roughness_m) };
    let viscosity_m2_s = asked.viscosity_m2_s.unwrap_or(EN_12056_VISCOSITY_M2_S);
    let rough = |roughness_m| Friction::ColebrookWhite { roughness_m, viscosity_m2_s };
    match (asked.formula, given) {
        (Some(Formula::Manning), _) => {
            pipe.manning_n.or(asked.manning_n).map(|n| Friction::Manning { n }).ok_or(Missing::ManningN)
        }
        (Some(Formula::ColebrookWhite), _) => {
            pipe.roughness_m.or(asked.roughness_m).map(rough).ok_or(Missing::Roughness)
        }
        (None, (Some(n), None)) => Ok(Friction::Manning { n }),
        (None, (None, Some(roughness_m))) => Ok(rough(roughness_m)),
        (None, (Some(_), Some(_))) => Err(Missing::Formula),
        (None, (None, None)) => Err(Missing::Either),
    }
}

/// Puts the friction into a row.
pub(super) fn put(friction: Friction, row: &mut CapacityRow) {
    match friction {
        Friction::Manning { n } => {
            Formula::Manning.as_str().clone_into(&mut row.formula);
            row.manning_n = Some(n);
        }
        Friction::ColebrookWhite { roughness_m, viscosity_m2_s } => {
            Formula::ColebrookWhite.as_str().clone_into(&mut row.formula);
            row.roughness_m = Some(roughness_m);
            row.viscosity_m2_s = Some(viscosity_m2_s);
        }
    }
}

//! What a partly full pipe carries: uniform flow by Manning or by Colebrook and White, its depths, and whether it keeps the pipe clean.
//!
//! With water of depth y in a bore, area A, wetted perimeter P, hydraulic radius R = A/P and top width T, at a slope S (fall over length;
//! a bare ratio as everywhere here):
//!
//! | | |
//! | --- | --- |
//! | Manning | V = R^(2/3) S^(1/2) / n, in m and s |
//! | Colebrook and White | V = -2 s log10(k / (14.8 R) + 2.51 nu / (4 R s)), s = (8 g R S)^(1/2): the full-bore form with four times R for the diameter |
//! | flow | Q = A V |
//! | critical depth | Q^2 T = g A^3 |
//! | Froude number | V / (g A / T)^(1/2) |
//! | mean boundary shear | rho g R S |
//!
//! | file | what |
//! | --- | --- |
//! | `friction` | the two laws, and their roughness |
//! | `uniform` | velocity, flow, the most a pipe can carry, normal depth |
//! | `critical` | critical depth, Froude number |
//! | `clean` | boundary shear, self-cleansing |
//! | `fixtures` | design flow from discharge units (EN 12056-2) |
//! | `fixture_units` | drainage fixture units of the IPC and the UPC, and how many a drain may have |
//! | `roughness` | published values of Manning's n and of the roughness of Colebrook and White |
//! | `needed` | what it would take: slope or size for a flow |
//!
//! Nothing here says that a pipe *carries enough*: bellies, deposits and roots are not in the formulas, and a pipe with a belly is not
//! in uniform flow.
//!
//! # Accuracy
//! Velocities and flows: relative error below 1e-12 of the formula at the arguments given; by Colebrook and White, in a film so thin that
//! the logarithm is near nothing, 1e-12 times 1 + 1/|ln|. Depths: the flow of the depth returned is the
//! flow asked for to 1e-14, and the depth is as good as that allows: its relative error is that of the flow times
//! [`NormalDepth::condition`], which grows without bound at the most that the pipe can carry. Held against 50 digits
//! (tests/vectors/hydraulics.py).
//!
//! # Sources
//! V. T. Chow, Open-Channel Hydraulics (1959), chapters 4 to 6 (from memory); C. F. Colebrook, Turbulent flow in pipes, J. Inst. Civil
//! Engineers 11 (1939) 133 (from memory); EN 12056-2:2000, annex B, for the partly full form.

mod clean;
mod critical;
mod fixture_units;
mod fixtures;
mod friction;
mod mark;
mod needed;
mod roughness;
mod solve;
mod uniform;

pub use clean::{Cleansing, critical_shear_pa, self_cleansing, shear_pa};
pub use critical::{critical_depth_m, froude};
pub use fixture_units::{
    DrainUnits, FIXTURE_UNITS_PER_GAL_PER_MIN, FixtureUnits, PlumbingCode, continuous_fixture_units,
    drain_for_fixture_units, drain_units, fixture_units, fixture_units_of, most_fixture_units, outlet_fixture_units,
};
pub(crate) use fixtures::design_flow;
pub use fixtures::{Fixture, design_flow_m3_s, discharge_unit_l_s, fixtures, waste_water_flow_m3_s};
pub use friction::{EN_12056_ROUGHNESS_M, EN_12056_VISCOSITY_M2_S, Friction, water_viscosity_m2_s};
pub use needed::{
    diameter_for_flow_m, slope_for_flow, slope_for_shear, slope_for_shear_of_flow, slope_for_velocity_of_flow,
};
pub use roughness::{Roughness, roughness_of, roughnesses};
pub use uniform::{Most, NormalDepth, State, Uniform};

pub use crate::model::{System, Use};
use crate::prelude::*;
use crate::{error::Error, section::Bore};

/// Standard gravity, m/s2 (ISO 80000-3; exact by definition).
pub const GRAVITY_M_S2: f64 = 9.80665;
/// Weight of a cubic metre of water, N/m3: 1000 kg at standard gravity.
pub const UNIT_WEIGHT_N_M3: f64 = 1000.0 * GRAVITY_M_S2;

/// Refuses a flow that is no flow.
fn require_flow(flow_m3_s: f64) -> Result<(), Error> {
    if (0.0..f64::INFINITY).contains(&flow_m3_s) {
        return Ok(());
    }
    Err(Error::value("flow_m3_s", flow_m3_s, "a flow from 0 up, m3/s"))
}

/// Refuses a depth that is dry or above the crown.
fn require_wet(bore: Bore, depth_m: f64) -> Result<(), Error> {
    if depth_m > 0.0 && depth_m <= bore.height_m() {
        return Ok(());
    }
    Err(Error::value("depth_m", depth_m, format!("a depth above 0 and up to {} m", bore.height_m())))
}

#[cfg(test)]
mod hydraulics_tests;

//! Boundary shear, and whether a flow keeps the pipe clean.

use serde::{Deserialize, Serialize};

use super::{UNIT_WEIGHT_N_M3, Uniform};
use crate::{error::Error, math};

/// Mean shear that a flow of a depth has on the wall, Pa: rho g R S.
pub fn shear_pa(pipe: &Uniform, depth_m: f64) -> f64 {
    UNIT_WEIGHT_N_M3 * pipe.bore.hydraulic_radius_m(depth_m) * pipe.slope.max(0.0)
}

/// Shear that moves a grain, Pa: 0.867 d^0.277, d in mm.
///
/// # Errors
/// [`Error::Value`] for a grain that is not between 0.01 and 100 mm.
///
/// # Source
/// ASCE Manual of Practice 60 / WEF FD-5, 2nd edition (2007), after Merritt (from memory).
pub fn critical_shear_pa(grain_m: f64) -> Result<f64, Error> {
    if !(1e-5..=0.1).contains(&grain_m) {
        return Err(Error::value("grain_m", grain_m, "a grain between 0.00001 and 0.1 m (1 mm is 0.001)"));
    }
    Ok(0.867 * math::pow(1000.0 * grain_m, 0.277))
}

/// Whether a flow keeps a pipe clean, by the two tests in use. Neither is a code's: which limit holds is for the one that is in force.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Cleansing {
    /// Velocity at that flow, m/s.
    pub velocity_m_s: f64,
    /// Whether it reaches the velocity asked for.
    pub by_velocity: bool,
    /// Boundary shear at that flow, Pa.
    pub shear_pa: f64,
    /// Whether it reaches the shear asked for.
    pub by_shear: bool,
}

/// Whether a flow keeps a pipe clean: by velocity, and by boundary shear.
///
/// Nothing where the flow has no normal depth: a pipe that does not fall, or carries less.
///
/// # Errors
/// [`Error::Value`] for a flow or a limit that is negative or not finite.
///
/// # Example
/// ```
/// use fallwise::{Bore, hydraulics::{Friction, Uniform, self_cleansing}};
///
/// let pipe = Uniform::new(Bore::circle(0.10226)?, 1.0 / 48.0, Friction::Manning { n: 0.013 })?;
/// let clean = self_cleansing(&pipe, 0.001, 0.6, 1.0)?.unwrap();
/// assert!(clean.by_velocity && clean.by_shear);
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn self_cleansing(
    pipe: &Uniform,
    flow_m3_s: f64,
    least_velocity_m_s: f64,
    least_shear_pa: f64,
) -> Result<Option<Cleansing>, Error> {
    for (field, value) in [("least_velocity_m_s", least_velocity_m_s), ("least_shear_pa", least_shear_pa)] {
        if !(0.0..f64::INFINITY).contains(&value) {
            return Err(Error::value(field, value, "a limit from 0 up"));
        }
    }
    let Some(depth_m) = pipe.normal_depth(flow_m3_s)?.depth_m else { return Ok(None) };
    let (velocity_m_s, shear_pa) = (pipe.velocity_m_s(depth_m), shear_pa(pipe, depth_m));
    Ok(Some(Cleansing {
        velocity_m_s,
        by_velocity: velocity_m_s >= least_velocity_m_s,
        shear_pa,
        by_shear: shear_pa >= least_shear_pa,
    }))
}

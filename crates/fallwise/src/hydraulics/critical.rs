//! Critical depth and the Froude number.

use core::f64::consts::PI;

use super::{GRAVITY_M_S2, require_flow, require_wet, solve};
#[cfg(not(feature = "std"))]
use crate::math::Real as _;
use crate::{error::Error, math, section::Bore};

/// Critical depth of a flow, m: Q^2 T = g A^3. There is one below the crown for every flow, since the surface narrows to nothing there.
///
/// # Errors
/// [`Error::Value`] for a bore out of its range, or a flow that is negative or not finite.
///
/// # Example
/// ```
/// let depth = fallwise::hydraulics::critical_depth_m(fallwise::Bore::circle(0.2)?, 0.01)?;
/// assert!((depth - 0.0846).abs() < 1e-4);
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn critical_depth_m(bore: Bore, flow_m3_s: f64) -> Result<f64, Error> {
    bore.validate()?;
    require_flow(flow_m3_s)?;
    if flow_m3_s == 0.0 {
        return Ok(0.0);
    }
    // ln of g A^3 / (T Q^2), which rises all the way, T = W sin t; by ln t.
    let of = |t: f64| {
        let wet = bore.at_half_angle(t);
        let ratio = wet.area_m2 / flow_m3_s;
        let value = math::ln(GRAVITY_M_S2 * ratio * ratio * wet.area_m2 / wet.width_m);
        (value, t * (3.0 * wet.area_by_angle / wet.area_m2 - wet.width_by_angle / wet.width_m))
    };
    // From the law of a shallow flow: the area goes with the angle's cube, so that the whole goes with its eighth power.
    let middle = 0.5 * PI;
    let start = middle * math::exp((-of(middle).0 / 8.0).min(0.6));
    Ok(bore.at_half_angle(solve::rising(0.0, PI, start, of)).depth_m)
}

/// Froude number of water of a depth that carries a flow: above 1 it shoots, below it streams. 0 when there is no flow, infinite where the
/// surface has no width (dry, or full) and water moves.
///
/// # Errors
/// [`Error::Value`] as [`critical_depth_m`], or for a depth that is not above 0 and at most the height of the bore.
pub fn froude(bore: Bore, depth_m: f64, flow_m3_s: f64) -> Result<f64, Error> {
    bore.validate()?;
    require_flow(flow_m3_s)?;
    require_wet(bore, depth_m)?;
    if flow_m3_s == 0.0 {
        return Ok(0.0);
    }
    let area = bore.area_m2(depth_m);
    let deep = area / bore.top_width_m(depth_m);
    Ok(if deep.is_finite() { flow_m3_s / area / (GRAVITY_M_S2 * deep).sqrt() } else { f64::INFINITY })
}

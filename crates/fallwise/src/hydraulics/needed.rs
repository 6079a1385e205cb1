//! What it would take: the slope for a flow, the size for a slope, the slope for a shear. Facts, no recommendation.

use super::{Friction, UNIT_WEIGHT_N_M3, Uniform, require_wet, solve};
use crate::{error::Error, math, section::Bore};

/// Slopes that are looked at, as ratios.
const SLOPES: (f64, f64) = (1e-12, 10.0);
/// Diameters that are looked at, m: those that a bore may have.
const DIAMETERS_M: (f64, f64) = (0.001, 20.0);

/// Slope at which water of a depth carries a flow; nothing where that would be steeper than 10 in 1.
///
/// # Errors
/// [`Error::Value`] for a bore, friction, depth or flow out of range.
///
/// # Example
/// ```
/// use fallwise::{Bore, hydraulics::{Friction, slope_for_flow}};
///
/// let slope = slope_for_flow(Bore::circle(0.6)?, Friction::Manning { n: 0.013 }, 0.3, 0.17)?.unwrap();
/// assert!((slope - 0.00306623).abs() < 1e-8);
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn slope_for_flow(bore: Bore, friction: Friction, depth_m: f64, flow_m3_s: f64) -> Result<Option<f64>, Error> {
    bore.validate()?;
    friction.validate()?;
    require_wet(bore, depth_m)?;
    require_some(flow_m3_s)?;
    let at = |slope: f64| Uniform { bore, slope, friction }.flow_m3_s(depth_m);
    if at(SLOPES.1) < flow_m3_s {
        return Ok(None);
    }
    if let Friction::Manning { .. } = friction {
        // The flow goes with the root of the slope.
        let ratio = flow_m3_s / at(1.0);
        return Ok(Some(ratio * ratio));
    }
    let of = |slope: f64| {
        let ratio = at(slope) / flow_m3_s;
        // About a root: the steps come to rest where the sign changes, whatever the exponent.
        (if ratio > 0.0 { math::ln(ratio) } else { -1e3 }, 0.53)
    };
    Ok(Some(solve::rising(SLOPES.0, SLOPES.1, 0.01, of)))
}

/// Inside diameter of a circle that carries a flow at a slope with water as deep as a share of it (1: full); nothing above 20 m.
///
/// # Errors
/// [`Error::Value`] for a slope that does not fall, a filling not above 0 and up to 1, a friction or flow out of range.
pub fn diameter_for_flow_m(slope: f64, friction: Friction, flow_m3_s: f64, filling: f64) -> Result<Option<f64>, Error> {
    friction.validate()?;
    require_some(flow_m3_s)?;
    if !(slope > 0.0 && slope <= SLOPES.1) {
        return Err(Error::value("slope", slope, "a slope above 0 and up to 10, as a ratio (2 % is 0.02)"));
    }
    if !(filling > 0.0 && filling <= 1.0) {
        return Err(Error::value("filling", filling, "a share of the diameter above 0 and up to 1"));
    }
    let at = |d: f64| {
        let bore = Bore::Circle { diameter_m: d };
        Uniform { bore, slope, friction }.flow_m3_s(filling * d)
    };
    if at(DIAMETERS_M.1) < flow_m3_s {
        return Ok(None);
    }
    let of = |d: f64| {
        let ratio = at(d) / flow_m3_s;
        (if ratio > 0.0 { math::ln(ratio) } else { -1e3 }, 8.0 / 3.0)
    };
    Ok(Some(solve::rising(DIAMETERS_M.0, DIAMETERS_M.1, 0.1, of)))
}

/// Slope at which water of a depth has a mean shear on the wall: rho g R S, turned round.
///
/// # Errors
/// [`Error::Value`] for a bore or depth out of range, or a shear that is negative or not finite.
pub fn slope_for_shear(bore: Bore, depth_m: f64, shear_pa: f64) -> Result<f64, Error> {
    bore.validate()?;
    require_wet(bore, depth_m)?;
    if !(0.0..f64::INFINITY).contains(&shear_pa) {
        return Err(Error::value("shear_pa", shear_pa, "a shear from 0 up, Pa"));
    }
    let slope = shear_pa / (UNIT_WEIGHT_N_M3 * bore.hydraulic_radius_m(depth_m));
    if slope.is_finite() {
        Ok(slope)
    } else {
        Err(Error::value("depth_m", depth_m, "a depth at which a slope has this shear"))
    }
}

/// Least slope at which a flow has a velocity in uniform flow with a free surface; nothing where that would be steeper than 10 in 1.
///
/// Where the flow is so large that every slope that carries it makes it faster, it is the slope that carries it.
///
/// # Errors
/// [`Error::Value`] for a bore, friction, flow or velocity out of range.
pub fn slope_for_velocity_of_flow(
    bore: Bore,
    friction: Friction,
    flow_m3_s: f64,
    velocity_m_s: f64,
) -> Result<Option<f64>, Error> {
    bore.validate()?;
    require_some(flow_m3_s)?;
    if !(0.0..f64::INFINITY).contains(&velocity_m_s) {
        return Err(Error::value("velocity_m_s", velocity_m_s, "a velocity from 0 up, m/s"));
    }
    // The velocity says how large the wetted area is, and so how deep the water.
    let deepest_m = deepest_m(bore, friction)?;
    let area_m2 = flow_m3_s / velocity_m_s;
    let depth_m = if area_m2 < bore.area_m2(deepest_m) { bore.depth_for_area_m(area_m2)? } else { deepest_m };
    if depth_m > 0.0 { slope_for_flow(bore, friction, depth_m, flow_m3_s) } else { Ok(None) }
}

/// Least slope at which a flow has a mean shear on the wall in uniform flow with a free surface; nothing where that would be steeper than
/// 10 in 1.
///
/// Where the flow is so large that every slope that carries it has more, it is the slope that carries it.
///
/// # Errors
/// [`Error::Value`] for a bore, friction, flow or shear out of range.
pub fn slope_for_shear_of_flow(
    bore: Bore,
    friction: Friction,
    flow_m3_s: f64,
    shear_pa: f64,
) -> Result<Option<f64>, Error> {
    require_some(flow_m3_s)?;
    let deepest_m = deepest_m(bore, friction)?;
    slope_for_shear(bore, deepest_m, shear_pa)?;
    // The shear says how steep water of a depth lies; the deeper it is, the more it carries then.
    let at = |depth_m: f64| {
        let slope = shear_pa / (UNIT_WEIGHT_N_M3 * bore.hydraulic_radius_m(depth_m));
        Uniform { bore, slope, friction }.flow_m3_s(depth_m)
    };
    let depth_m = if at(deepest_m) > flow_m3_s {
        let of = |depth_m: f64| {
            let ratio = at(depth_m) / flow_m3_s;
            (if ratio > 0.0 { math::ln(ratio) } else { -1e3 }, 1.67)
        };
        solve::rising(1e-9 * deepest_m, deepest_m, 0.3 * deepest_m, of)
    } else {
        deepest_m
    };
    slope_for_flow(bore, friction, depth_m, flow_m3_s)
}

/// The depth at which a pipe carries the most, m: by Colebrook and White it hardly depends on the slope, and that at 1 in 100 is taken.
fn deepest_m(bore: Bore, friction: Friction) -> Result<f64, Error> {
    Ok(Uniform::new(bore, 0.01, friction)?.most().depth_m)
}

/// Refuses a flow that takes no slope and no pipe.
fn require_some(flow_m3_s: f64) -> Result<(), Error> {
    if flow_m3_s > 0.0 && flow_m3_s.is_finite() {
        return Ok(());
    }
    Err(Error::value("flow_m3_s", flow_m3_s, "a flow above 0, m3/s"))
}

//! The two laws of friction.

use serde::{Deserialize, Serialize};

use super::GRAVITY_M_S2;
#[cfg(not(feature = "std"))]
use crate::math::Real as _;
use crate::{error::Error, math};

/// Roughness that EN 12056-2 (annex B) reckons with, m: 1.0 mm (from memory).
pub const EN_12056_ROUGHNESS_M: f64 = 0.001;
/// Kinematic viscosity that it reckons with, m2/s: water of 10 degrees Celsius (from memory).
pub const EN_12056_VISCOSITY_M2_S: f64 = 1.31e-6;

/// Kinematic viscosity of water at a temperature, m2/s.
///
/// # Errors
/// [`Error::Value`] for a temperature that is not from 0 to 60 degrees Celsius.
///
/// # Source
/// Viscosity: J. Kestin, M. Sokolov, W. A. Wakeham, J. Phys. Chem. Ref. Data 7 (1978) 941; density: S. C. McCutcheon, J. L. Martin, T. O. Barnwell,
/// Water Quality, in Handbook of Hydrology (1993). Both formulas from memory; sewage is taken for water.
///
/// # Example
/// ```
/// let viscosity = fallwise::hydraulics::water_viscosity_m2_s(10.0)?;
/// assert!((viscosity - 1.307e-6).abs() < 1e-9);
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn water_viscosity_m2_s(temperature_c: f64) -> Result<f64, Error> {
    if !(0.0..=60.0).contains(&temperature_c) {
        return Err(Error::value("temperature_c", temperature_c, "a temperature from 0 to 60 degrees Celsius"));
    }
    let below = 20.0 - temperature_c;
    let exponent = below / (temperature_c + 96.0) * (1.2364 - below * (1.37e-3 - 5.7e-6 * below));
    let dynamic_pa_s = 1.002e-3 * math::pow(10.0, exponent);
    let above = temperature_c - 3.9863;
    let lighter = (temperature_c + 288.9414) / (508_929.2 * (temperature_c + 68.12963)) * above * above;
    Ok(dynamic_pa_s / (1000.0 * (1.0 - lighter)))
}

/// How the wall slows the water down.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Friction {
    /// Manning's formula with one n at all depths.
    Manning {
        /// Manning's n, s/m^(1/3), the same number in metres and in feet.
        n: f64,
    },
    /// The formula of Colebrook and White.
    ColebrookWhite {
        /// Equivalent sand roughness, m.
        roughness_m: f64,
        /// Kinematic viscosity, m2/s.
        viscosity_m2_s: f64,
    },
}

impl Friction {
    /// Refuses numbers that no pipe has.
    ///
    /// # Errors
    /// [`Error::Value`] naming the first that is out of its range.
    pub fn validate(self) -> Result<(), Error> {
        let within = |field: &str, value: f64, least: f64, most: f64, expected: &str| {
            if (least..=most).contains(&value) { Ok(()) } else { Err(Error::value(field, value, expected)) }
        };
        match self {
            Self::Manning { n } => within("friction.manning.n", n, 0.001, 1.0, "Manning's n between 0.001 and 1"),
            Self::ColebrookWhite { roughness_m, viscosity_m2_s } => {
                within(
                    "friction.colebrook_white.roughness_m",
                    roughness_m,
                    0.0,
                    1.0,
                    "a roughness between 0 and 1 m (1.5 mm is 0.0015)",
                )?;
                within(
                    "friction.colebrook_white.viscosity_m2_s",
                    viscosity_m2_s,
                    1e-8,
                    1e-2,
                    "a viscosity between 1e-8 and 1e-2 m2/s (water: 1.3e-6)",
                )
            }
        }
    }

    /// Velocity at a hydraulic radius and a slope, m/s; 0 where either is 0.
    ///
    /// By Colebrook and White a film as thin as the roughness does not flow.
    pub(super) fn velocity_m_s(self, radius_m: f64, slope: f64) -> f64 {
        if !(radius_m > 0.0 && slope > 0.0) {
            return 0.0;
        }
        match self {
            Self::Manning { n } => {
                let root = math::cbrt(radius_m);
                root * root * slope.sqrt() / n
            }
            Self::ColebrookWhite { roughness_m, viscosity_m2_s } => {
                let s = shear_term(radius_m, slope);
                let (rough, smooth) = argument(roughness_m, viscosity_m2_s, radius_m, s);
                (-2.0 * s * math::log10(rough + smooth)).max(0.0)
            }
        }
    }

    /// ln(Q / flow) of an area with a hydraulic radius, at a slope.
    pub(super) fn log_share(self, area_m2: f64, radius_m: f64, slope: f64, flow_m3_s: f64) -> f64 {
        match self {
            // Q / flow = x R^(2/3), and its cube has no root.
            Self::Manning { n } => {
                let x = area_m2 * slope.sqrt() / (n * flow_m3_s);
                math::ln(x * x * x * (radius_m * radius_m)) / 3.0
            }
            Self::ColebrookWhite { .. } => math::ln(area_m2 * self.velocity_m_s(radius_m, slope) / flow_m3_s),
        }
    }

    /// d ln V / d ln R at a slope.
    pub(super) fn exponent(self, radius_m: f64, slope: f64) -> f64 {
        match self {
            Self::Manning { .. } => 2.0 / 3.0,
            Self::ColebrookWhite { roughness_m, viscosity_m2_s } => {
                let s = shear_term(radius_m, slope);
                // The rough part goes with 1/R, the smooth one with R^(-3/2).
                let (rough, smooth) = argument(roughness_m, viscosity_m2_s, radius_m, s);
                0.5 - (rough + 1.5 * smooth) / ((rough + smooth) * math::ln(rough + smooth))
            }
        }
    }
}

/// What Colebrook and White take the logarithm of, its rough part and its smooth one.
fn argument(roughness_m: f64, viscosity_m2_s: f64, radius_m: f64, s: f64) -> (f64, f64) {
    (roughness_m / (14.8 * radius_m), 2.51 * viscosity_m2_s / (4.0 * radius_m * s))
}

/// (8 g R S)^(1/2), m/s.
fn shear_term(radius_m: f64, slope: f64) -> f64 {
    (8.0 * GRAVITY_M_S2 * radius_m * slope).sqrt()
}

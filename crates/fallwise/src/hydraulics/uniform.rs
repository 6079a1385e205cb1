//! Uniform flow: velocity, flow, the most that a pipe can carry, normal depth.

use core::f64::consts::{FRAC_PI_2, PI};

use serde::{Deserialize, Serialize};

use super::{Friction, require_flow, solve};
#[cfg(not(feature = "std"))]
use crate::math::Real as _;
use crate::{
    error::Error,
    math,
    section::{AtAngle, Bore},
};

/// A pipe in uniform flow.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Uniform {
    /// The bore.
    pub bore: Bore,
    /// Slope along the flow: fall over length, negative where the pipe runs backwards.
    pub slope: f64,
    /// The wall.
    pub friction: Friction,
}

/// The most that a pipe carries with a free surface.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Most {
    /// The depth at which it does, m.
    pub depth_m: f64,
    /// The flow, m3/s.
    pub flow_m3_s: f64,
    /// What it carries full, m3/s: less than the most, since the crown adds wall and no room.
    pub full_m3_s: f64,
}

/// What can be said of the depth of a flow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum State {
    /// One depth carries the flow.
    One,
    /// Two do: between what the full bore carries and the most that can be. Which one is there depends on what lies beyond; the lower is
    /// the stable one.
    Two,
    /// None does: the flow is more than the most that the pipe can carry with a free surface.
    AboveCapacity,
    /// The pipe does not fall: water stands.
    NoFall,
    /// The pipe runs backwards.
    Backfall,
}

impl State {
    /// As a word.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::One => "one",
            Self::Two => "two",
            Self::AboveCapacity => "above_capacity",
            Self::NoFall => "no_fall",
            Self::Backfall => "backfall",
        }
    }
}

/// Depth at which a flow is uniform.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct NormalDepth {
    /// What can be said.
    pub state: State,
    /// The depth, the lower one of two, m; absent where there is none.
    pub depth_m: Option<f64>,
    /// The upper one of two, m.
    pub upper_depth_m: Option<f64>,
    /// By how much an error of the flow, as a share of it, shows in the (lower) depth, as a share of that: some 0.4 in a shallow pipe,
    /// without bound at the most that the pipe can carry.
    pub condition: Option<f64>,
}

impl Uniform {
    /// A pipe in uniform flow.
    ///
    /// # Errors
    /// [`Error::Value`] for a bore or a friction out of its range, or a slope that is not a number within 10 either way.
    ///
    /// # Example
    /// A pipe of 0.6 m at 1 in 400, Manning's n of 0.013, water 0.24 m deep.
    /// ```
    /// use fallwise::{Bore, hydraulics::{Friction, Uniform}};
    ///
    /// let pipe = Uniform::new(Bore::circle(0.6)?, 1.0 / 400.0, Friction::Manning { n: 0.013 })?;
    /// assert!((pipe.flow_m3_s(0.24) - 0.103457).abs() < 1e-6);
    /// # Ok::<(), fallwise::Error>(())
    /// ```
    pub fn new(bore: Bore, slope: f64, friction: Friction) -> Result<Self, Error> {
        bore.validate()?;
        friction.validate()?;
        if !(-10.0..=10.0).contains(&slope) {
            return Err(Error::value("slope", slope, "a slope between -10 and 10, as a ratio (2 % is 0.02)"));
        }
        Ok(Self { bore, slope, friction })
    }

    /// Mean velocity with water of a depth, m/s; 0 where the pipe does not fall, and when dry.
    pub fn velocity_m_s(&self, depth_m: f64) -> f64 {
        self.friction.velocity_m_s(self.bore.hydraulic_radius_m(depth_m), self.slope)
    }

    /// Flow with water of a depth, m3/s. Above the crown it is that of the full bore at the same slope of the energy line.
    pub fn flow_m3_s(&self, depth_m: f64) -> f64 {
        self.bore.area_m2(depth_m) * self.velocity_m_s(depth_m)
    }

    /// The most that it carries with a free surface, at which depth; all 0 where the pipe does not fall.
    pub fn most(&self) -> Most {
        let full_m3_s = self.flow_m3_s(self.bore.height_m());
        if full_m3_s <= 0.0 {
            return Most { depth_m: 0.0, flow_m3_s: 0.0, full_m3_s: 0.0 };
        }
        let depth_m = self.bore.at_half_angle(self.angle_of_most()).depth_m;
        Most { depth_m, flow_m3_s: self.flow_m3_s(depth_m).max(full_m3_s), full_m3_s }
    }

    /// Depth at which a flow is uniform.
    ///
    /// # Errors
    /// [`Error::Value`] for a flow that is negative or not finite.
    ///
    /// # Example
    /// ```
    /// use fallwise::{Bore, hydraulics::{Friction, State, Uniform}};
    ///
    /// let pipe = Uniform::new(Bore::circle(0.2)?, 0.001, Friction::Manning { n: 0.013 })?;
    /// let normal = pipe.normal_depth(0.01)?;
    /// assert_eq!(normal.state, State::One);
    /// assert!((normal.depth_m.unwrap() - 0.157828).abs() < 1e-6);
    /// # Ok::<(), fallwise::Error>(())
    /// ```
    pub fn normal_depth(&self, flow_m3_s: f64) -> Result<NormalDepth, Error> {
        require_flow(flow_m3_s)?;
        let nothing = |state| NormalDepth { state, depth_m: None, upper_depth_m: None, condition: None };
        if self.slope < 0.0 {
            return Ok(nothing(State::Backfall));
        }
        if self.slope == 0.0 {
            return Ok(nothing(State::NoFall));
        }
        if flow_m3_s == 0.0 {
            return Ok(NormalDepth { state: State::One, depth_m: Some(0.0), upper_depth_m: None, condition: None });
        }
        let full = self.flow_m3_s(self.bore.height_m());
        let of = |t: f64| {
            let wet = self.bore.at_half_angle(t);
            (self.log_share(&wet, flow_m3_s), t * self.log_slope(&wet))
        };
        let (lower, upper) = if flow_m3_s < full {
            // From the one depth on the flow is more, up to the crown.
            (solve::rising(0.0, PI, start(flow_m3_s / full), of), None)
        } else {
            let top = self.angle_of_most();
            let most = self.flow_m3_s(self.bore.at_half_angle(top).depth_m);
            if flow_m3_s > most {
                return Ok(nothing(State::AboveCapacity));
            }
            // Down from the crown: the rest of the angle, in which the flow rises again.
            let rest = |u: f64| PI - u;
            let of_rest = |u: f64| {
                let wet = self.bore.at_half_angle(rest(u));
                (self.log_share(&wet, flow_m3_s), -u * self.log_slope(&wet))
            };
            let upper =
                if flow_m3_s == full { PI } else { rest(solve::rising(0.0, rest(top), 0.5 * rest(top), of_rest)) };
            (solve::rising(0.0, top, start(flow_m3_s / full), of), Some(upper))
        };
        let wet = self.bore.at_half_angle(lower);
        Ok(NormalDepth {
            state: if upper.is_some() { State::Two } else { State::One },
            depth_m: Some(wet.depth_m),
            upper_depth_m: upper.map(|t| self.bore.at_half_angle(t).depth_m),
            // d ln y / d ln Q.
            condition: Some((wet.depth_by_angle / wet.depth_m / self.log_slope(&wet)).abs()),
        })
    }

    /// ln(Q / flow).
    fn log_share(&self, wet: &AtAngle, flow_m3_s: f64) -> f64 {
        self.friction.log_share(wet.area_m2, wet.area_m2 / wet.perimeter_m, self.slope, flow_m3_s)
    }

    /// d ln Q / dt, t the half-angle.
    fn log_slope(&self, wet: &AtAngle) -> f64 {
        let exponent = self.friction.exponent(wet.area_m2 / wet.perimeter_m, self.slope);
        let by_area = wet.area_by_angle / wet.area_m2;
        by_area + exponent * (by_area - wet.perimeter_by_angle / wet.perimeter_m)
    }

    /// The half-angle of the most that is carried: where the flow stops to rise. In the upper half there is one such place.
    fn angle_of_most(&self) -> f64 {
        let (mut low, mut high) = (FRAC_PI_2, PI);
        // Halves until nothing is between them.
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if self.log_slope(&self.bore.at_half_angle(middle)) > 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        low
    }
}

/// Half-angle at which a share of the flow of the full bore runs, to less than a hundred-thousandth in a circle by Manning, so that two of
/// Newton's steps are enough, and near enough to begin from otherwise.
///
/// By Manning (t - sin t cos t)^(5/3) t^(-2/3) = pi q. For shallow water the left side goes with t^(13/3), so that t is nearly
/// z = (pi q (3/2)^(5/3))^(3/13); z is greatest, 1.54799, where the most is carried, and there t goes with the root of what is missing to
/// that. The coefficients are those of the polynomial in that root u, from 0 to 1, that is z / t at the eight places of Chebyshev.
fn start(share: f64) -> f64 {
    const MOST: f64 = 1.547_990_241_962_75;
    // (pi (3/2)^(5/3))^(3/13).
    const FULL: f64 = 1.522_138_956_206_06;
    const OVER_ANGLE: [f64; 8] = [
        0.586_573_664_5,
        0.497_941_844_1,
        -0.188_665_360_2,
        0.267_733_225_6,
        -0.358_741_132_1,
        0.331_051_782_7,
        -0.175_917_040_3,
        0.040_023_901_5,
    ];
    let z = FULL * math::exp(3.0 / 13.0 * math::ln(share));
    let u = (1.0 - (z / MOST) * (z / MOST)).max(0.0).sqrt();
    z / OVER_ANGLE.iter().rev().fold(0.0, |value, c| value * u + c)
}

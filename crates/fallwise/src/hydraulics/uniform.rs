//! Uniform flow: velocity, flow, the most that a pipe can carry, normal depth.

use core::f64::consts::{FRAC_PI_2, PI};

use serde::{Deserialize, Serialize};

use super::{Friction, require_flow, solve};
use crate::{error::Error, math, section::Bore};

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
        let depth_m = self.depth_at(self.angle_of_most());
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
            let (flow, log_slope) = self.flow_and_log_slope(t);
            (math::ln(flow / flow_m3_s), t * log_slope)
        };
        // From the law of a shallow flow, which is a power of the angle: 13/3 by Manning.
        let start = |at: f64, flow: f64| at * math::pow(flow_m3_s / flow, 3.0 / 13.0);
        let (lower, upper) = if flow_m3_s < full {
            // From the one depth on the flow is more, up to the crown.
            (solve::rising(0.0, PI, start(FRAC_PI_2, self.flow_at(FRAC_PI_2)).min(2.6), of), None)
        } else {
            let top = self.angle_of_most();
            let most = self.flow_at(top);
            if flow_m3_s > most {
                return Ok(nothing(State::AboveCapacity));
            }
            // Down from the crown: the rest of the angle, in which the flow rises again.
            let rest = |u: f64| PI - u;
            let of_rest = |u: f64| {
                let (flow, log_slope) = self.flow_and_log_slope(rest(u));
                (math::ln(flow / flow_m3_s), -u * log_slope)
            };
            let upper =
                if flow_m3_s == full { PI } else { rest(solve::rising(0.0, rest(top), 0.5 * rest(top), of_rest)) };
            (solve::rising(0.0, top, start(top, most), of), Some(upper))
        };
        Ok(NormalDepth {
            state: if upper.is_some() { State::Two } else { State::One },
            depth_m: Some(self.depth_at(lower)),
            upper_depth_m: upper.map(|t| self.depth_at(t)),
            condition: Some(self.condition(lower)),
        })
    }

    /// Half of the angle under which the surface is seen from the centre (of an ellipse, of the circle it was stretched from).
    pub(super) fn depth_at(&self, half_angle: f64) -> f64 {
        depth_at(self.bore, half_angle)
    }

    fn flow_at(&self, half_angle: f64) -> f64 {
        self.flow_m3_s(self.depth_at(half_angle))
    }

    /// Q and d ln Q / dt, t the half-angle.
    fn flow_and_log_slope(&self, t: f64) -> (f64, f64) {
        let depth = self.depth_at(t);
        let (area, perimeter) = (self.bore.area_m2(depth), self.bore.wetted_perimeter_m(depth));
        let radius = area / perimeter;
        let (area_by_angle, perimeter_by_angle) = by_angle(self.bore, t);
        let by_area = area_by_angle / area;
        let exponent = self.friction.exponent(radius, self.slope);
        let flow = area * self.friction.velocity_m_s(radius, self.slope);
        (flow, by_area + exponent * (by_area - perimeter_by_angle / perimeter))
    }

    fn log_slope(&self, t: f64) -> f64 {
        self.flow_and_log_slope(t).1
    }

    /// The half-angle of the most that is carried: where the flow stops to rise. In the upper half there is one such place.
    fn angle_of_most(&self) -> f64 {
        let (mut low, mut high) = (FRAC_PI_2, PI);
        // Halves until nothing is between them.
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if self.log_slope(middle) > 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        low
    }

    /// d ln y / d ln Q.
    fn condition(&self, t: f64) -> f64 {
        let depth_by_angle = 0.5 * self.bore.height_m() * math::sin(t) / self.depth_at(t);
        (depth_by_angle / self.log_slope(t)).abs()
    }
}

/// Depth under which the half-angle is t, m: H sin(t/2)^2.
pub(super) fn depth_at(bore: Bore, t: f64) -> f64 {
    let s = math::sin(0.5 * t);
    bore.height_m() * s * s
}

/// dA/dt and dP/dt.
pub(super) fn by_angle(bore: Bore, t: f64) -> (f64, f64) {
    let (sin, cos) = math::sin_cos(t);
    let (width, height) = (bore.width_m(), bore.height_m());
    (0.5 * width * height * sin * sin, math::hypot(width * cos, height * sin))
}

//! Geometry of the bore.
use serde::{Deserialize, Serialize};

/// Inside of a pipe.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase", deny_unknown_fields)]
pub enum Bore {
    /// A circle.
    Circle {
        /// Inside diameter, m.
        diameter_m: f64,
    },
    /// An upright or lying ellipse.
    Ellipse {
        /// Horizontal axis, m.
        width_m: f64,
        /// Vertical axis, m.
        height_m: f64,
    },
}

impl Bore {
    /// Height of the bore, m.
    pub fn height_m(&self) -> f64 {
        match *self {
            Self::Circle { diameter_m } => diameter_m,
            Self::Ellipse { height_m, .. } => height_m,
        }
    }
    /// Area of the whole bore, m2.
    pub fn full_area_m2(&self) -> f64 {
        todo!()
    }
    /// Area below a depth, m2.
    pub fn area_m2(&self, _depth_m: f64) -> f64 {
        todo!()
    }
    /// Integral of the area over depth, m3; 0 for depth <= 0, linear above the crown.
    pub fn antiderivative_m3(&self, _depth_m: f64) -> f64 {
        todo!()
    }
    /// Mean of the area over depths from one to the other, m2: (F(d2) - F(d1)) / (d2 - d1), exact also where they meet.
    pub fn mean_area_m2(&self, _first_m: f64, _second_m: f64) -> f64 {
        todo!()
    }
}

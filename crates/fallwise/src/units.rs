//! Units at the edge: conversions of scalars, arrays and text to SI and radians, and back into words.

use serde::{Deserialize, Serialize};

/// Words and units of sentences.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Words {
    /// Metres and millimetres, "1 in N", chainage.
    #[default]
    Uk,
    /// Feet and inches, percent and in/ft.
    Us,
}

impl Words {
    /// A slope, such as "1 in 48 (2.08 %)" or "2.08 % (1/4 in/ft)"; "level"; "1 in 200 backfall".
    pub fn slope(self, _slope: f64) -> String {
        todo!()
    }
    /// A length along the pipe or on the ground, such as "12.40 m" or "40 ft 8 in".
    pub fn length(self, _m: f64) -> String {
        todo!()
    }
    /// A small height or depth, such as "23 mm" or "0.9 in".
    pub fn small(self, _m: f64) -> String {
        todo!()
    }
    /// A station, such as "chainage 12.40 m" or "0+40.7".
    pub fn station(self, _m: f64) -> String {
        todo!()
    }
    /// A volume, such as "1.6 litres" or "0.43 gal".
    pub fn volume(self, _m3: f64) -> String {
        todo!()
    }
    /// An angle, such as "0.30 degrees".
    pub fn angle(self, _rad: f64) -> String {
        todo!()
    }
}

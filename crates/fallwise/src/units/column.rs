//! Columns of the answers in other units than SI: which unit a name ends in, and what stands for it.

use super::{
    Words,
    convert::{to_deg, to_ft, to_ft_per_s, to_gal_per_min, to_gallon, to_l_per_s, to_lb_per_ft2, to_litre, to_percent},
};
use crate::prelude::*;

/// What a column's figures are in.
const SUFFIXES: [(&str, Quantity); 7] = [
    ("_m", Quantity::Length),
    ("_m2", Quantity::Square),
    ("_m3", Quantity::Volume),
    ("_rad", Quantity::Angle),
    ("_m3_s", Quantity::Flow),
    ("_m_s", Quantity::Velocity),
    ("_pa", Quantity::Shear),
];

/// Names of columns whose figures are slopes, as bare ratios.
const SLOPES: [&str; 8] = [
    "slope",
    "slope_sd",
    "slope_low",
    "slope_high",
    "flattest_slope",
    "flattest_slope_sd",
    "flattest_slope_low",
    "flattest_slope_high",
];

/// A conversion of one figure.
pub type Convert = fn(f64) -> f64;

#[derive(Debug, Clone, Copy)]
enum Quantity {
    Length,
    Square,
    Volume,
    Angle,
    Slope,
    Flow,
    Velocity,
    Shear,
}

/// The name of a column of the answers, and the conversion of its figures, in the units of a wording: feet, US gallons and square
/// feet, or metres, litres and square metres; degrees and percent in both. `None` where the column stays as it is: what has no
/// unit in its name has none, or another in each row.
///
/// ```
/// use fallwise::units::{Words, column};
///
/// let (name, convert) = column("depth_sd_m", Words::Us).unwrap();
/// assert_eq!((name.as_str(), convert(0.3048)), ("depth_sd_ft", 1.0));
/// assert_eq!(column("slope_low", Words::Uk).unwrap().0, "slope_low_percent");
/// assert!(column("depth_sd_m", Words::Uk).is_none() && column("number", Words::Us).is_none());
/// ```
pub fn column(name: &str, words: Words) -> Option<(String, Convert)> {
    let (stem, quantity) = if SLOPES.contains(&name) {
        (name, Quantity::Slope)
    } else {
        SUFFIXES.iter().find_map(|(suffix, quantity)| Some((name.strip_suffix(suffix)?, *quantity)))?
    };
    let (unit, convert): (&str, Convert) = match (quantity, words) {
        (Quantity::Length | Quantity::Square | Quantity::Velocity | Quantity::Shear, Words::Uk) => return None,
        (Quantity::Length, Words::Us) => ("ft", to_ft),
        (Quantity::Square, Words::Us) => ("ft2", |m2| to_ft(to_ft(m2))),
        (Quantity::Volume, Words::Uk) => ("litre", to_litre),
        (Quantity::Volume, Words::Us) => ("gallon", to_gallon),
        (Quantity::Angle, _) => ("deg", to_deg),
        (Quantity::Slope, _) => ("percent", to_percent),
        (Quantity::Flow, Words::Uk) => ("litre_per_s", to_l_per_s),
        (Quantity::Flow, Words::Us) => ("gallon_per_min", to_gal_per_min),
        (Quantity::Velocity, Words::Us) => ("ft_per_s", to_ft_per_s),
        (Quantity::Shear, Words::Us) => ("lb_per_ft2", to_lb_per_ft2),
    };
    Some((format!("{stem}_{unit}"), convert))
}

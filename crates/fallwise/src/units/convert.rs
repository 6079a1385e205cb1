//! Conversions, one name for a number and for an array.
//!
//! Each is a single product or quotient by the constant of its unit, so that there and back again is within 1 ulp (the
//! first rounding is less than 1 ulp, the second goes to a neighbour at most). Not-a-number and infinity pass through.

use core::f64::consts::PI;

use crate::math;
use crate::prelude::*;

/// International foot, m, exactly (agreement of 1959; NIST SP 811, from memory).
const FOOT: f64 = 0.3048;
/// International inch, m, exactly (agreement of 1959; NIST SP 811, from memory).
const INCH: f64 = 0.0254;
/// International yard, m, exactly (agreement of 1959; NIST SP 811, from memory).
const YARD: f64 = 0.9144;
/// US survey foot, m: 1200/3937 by definition (Mendenhall order of 1893; NIST SP 811, from memory).
const US_SURVEY_FOOT: f64 = 1200.0 / 3937.0;
/// US liquid gallon, m3: 231 cubic inches, exactly (NIST Handbook 44, appendix C, from memory).
const GALLON: f64 = 0.003785411784;
/// Pounds-force a square foot in pascals.
const POUND_PER_SQUARE_FOOT: f64 = 0.45359237 * 9.80665 / (0.3048 * 0.3048);
/// Imperial gallon, m3: 4.54609 litres, exactly (UK Weights and Measures Act 1985, from memory).
const IMPERIAL_GALLON: f64 = 0.00454609;
/// Cubic foot, m3, exactly: the cube of 0.3048.
const CUBIC_FOOT: f64 = 0.028316846592;
/// Degree, rad.
const DEGREE: f64 = PI / 180.0;

/// A number, or an array of numbers: what the conversions take. An array gives an array of the same length.
///
/// ```
/// use fallwise::units::{ft, to_ft};
///
/// let counter = vec![0.0, 10.0, 20.0];
/// assert_eq!(ft(10.0), 3.048);
/// assert_eq!(ft([0.0, 10.0]), [0.0, 3.048]);
/// assert_eq!(ft(&counter[1..]), [3.048, 6.096]);
/// assert_eq!(to_ft(ft(counter)), [0.0, 10.0, 20.0]);
/// ```
pub trait Values {
    /// The same shape, owned.
    type Output;
    /// Applies `f` to every number.
    fn each(self, f: impl Fn(f64) -> f64) -> Self::Output;
}

impl Values for f64 {
    type Output = f64;
    fn each(self, f: impl Fn(f64) -> f64) -> f64 {
        f(self)
    }
}

impl<const N: usize> Values for [f64; N] {
    type Output = [f64; N];
    fn each(self, f: impl Fn(f64) -> f64) -> [f64; N] {
        self.map(f)
    }
}

impl Values for &[f64] {
    type Output = Vec<f64>;
    fn each(self, f: impl Fn(f64) -> f64) -> Vec<f64> {
        self.iter().map(|&x| f(x)).collect()
    }
}

impl Values for &Vec<f64> {
    type Output = Vec<f64>;
    fn each(self, f: impl Fn(f64) -> f64) -> Vec<f64> {
        self.as_slice().each(f)
    }
}

impl Values for Vec<f64> {
    type Output = Vec<f64>;
    fn each(self, f: impl Fn(f64) -> f64) -> Vec<f64> {
        self.into_iter().map(f).collect()
    }
}

// Lengths

/// International feet to metres: 1 ft = 0.3048 m exactly.
pub fn ft<V: Values>(feet: V) -> V::Output {
    feet.each(|x| x * FOOT)
}
/// Metres to international feet.
pub fn to_ft<V: Values>(metres: V) -> V::Output {
    metres.each(|x| x / FOOT)
}
/// Inches to metres: 1 in = 0.0254 m exactly.
pub fn inch<V: Values>(inches: V) -> V::Output {
    inches.each(|x| x * INCH)
}
/// Metres to inches.
pub fn to_inch<V: Values>(metres: V) -> V::Output {
    metres.each(|x| x / INCH)
}
/// US survey feet to metres: 1 US survey foot = 1200/3937 m, 2 parts in a million more than the international foot.
///
/// It matters for coordinates (1.2 m in 600 km), not along a drain. Retired at the end of 2022, alive in older plans.
///
/// ```
/// use fallwise::units::{ft, us_ft};
///
/// let apart = us_ft(2_000_000.0) - ft(2_000_000.0);
/// assert!((apart - 1.219).abs() < 0.001);
/// ```
pub fn us_ft<V: Values>(feet: V) -> V::Output {
    feet.each(|x| x * US_SURVEY_FOOT)
}
/// Metres to US survey feet.
pub fn to_us_ft<V: Values>(metres: V) -> V::Output {
    metres.each(|x| x / US_SURVEY_FOOT)
}
/// Yards to metres: 1 yd = 0.9144 m exactly.
pub fn yard<V: Values>(yards: V) -> V::Output {
    yards.each(|x| x * YARD)
}
/// Metres to yards.
pub fn to_yard<V: Values>(metres: V) -> V::Output {
    metres.each(|x| x / YARD)
}
/// Millimetres to metres.
pub fn mm<V: Values>(millimetres: V) -> V::Output {
    millimetres.each(|x| x / 1000.0)
}
/// Metres to millimetres.
pub fn to_mm<V: Values>(metres: V) -> V::Output {
    metres.each(|x| x * 1000.0)
}
/// Centimetres to metres.
pub fn cm<V: Values>(centimetres: V) -> V::Output {
    centimetres.each(|x| x / 100.0)
}
/// Metres to centimetres.
pub fn to_cm<V: Values>(metres: V) -> V::Output {
    metres.each(|x| x * 100.0)
}

// Angles

/// Degrees to radians.
///
/// ```
/// use fallwise::units::{deg, slope_to_tilt, tilt_to_slope, to_deg, to_percent};
///
/// assert_eq!(deg(180.0), core::f64::consts::PI);
/// assert!((to_percent(tilt_to_slope(deg(0.3))) - 0.5236).abs() < 1e-4);
/// assert!((to_deg(slope_to_tilt(0.02)) - 1.1458).abs() < 1e-4);
/// ```
pub fn deg<V: Values>(degrees: V) -> V::Output {
    degrees.each(|x| x * DEGREE)
}
/// Radians to degrees.
pub fn to_deg<V: Values>(radians: V) -> V::Output {
    radians.each(|x| x / DEGREE)
}
/// Slope (fall over horizontal length) to tilt, rad: its arc tangent.
pub fn slope_to_tilt<V: Values>(slope: V) -> V::Output {
    slope.each(math::atan)
}
/// Tilt, rad, to slope: its tangent. Meaningful below 90 degrees.
pub fn tilt_to_slope<V: Values>(tilt_rad: V) -> V::Output {
    tilt_rad.each(math::tan)
}

// Slopes

/// Percent to a ratio.
///
/// ```
/// use fallwise::units::{in_per_ft, one_in, percent, to_in_per_ft, to_one_in, to_percent};
///
/// // The table every code leans on: 1/4 in/ft is 1 in 48 and 2.0833 %, a little more than 2 %.
/// assert_eq!(in_per_ft(0.25), one_in(48.0));
/// assert!((to_percent(in_per_ft(0.25)) - 2.0833).abs() < 1e-4);
/// assert_eq!(to_one_in(percent(2.0)), 50.0);
/// assert!((to_in_per_ft(percent(2.0)) - 0.24).abs() < 1e-15);
/// ```
pub fn percent<V: Values>(percent: V) -> V::Output {
    percent.each(|x| x / 100.0)
}
/// A ratio to percent.
pub fn to_percent<V: Values>(slope: V) -> V::Output {
    slope.each(|x| x * 100.0)
}
/// Inches per foot to a ratio: a twelfth.
pub fn in_per_ft<V: Values>(inches_per_foot: V) -> V::Output {
    inches_per_foot.each(|x| x / 12.0)
}
/// A ratio to inches per foot.
pub fn to_in_per_ft<V: Values>(slope: V) -> V::Output {
    slope.each(|x| x * 12.0)
}
/// Millimetres per metre to a ratio.
pub fn mm_per_m<V: Values>(millimetres_per_metre: V) -> V::Output {
    mm(millimetres_per_metre)
}
/// A ratio to millimetres per metre.
pub fn to_mm_per_m<V: Values>(slope: V) -> V::Output {
    to_mm(slope)
}
/// The N of "1 in N" to a ratio. 1 in 0 is vertical: infinite, as 1/0 is.
pub fn one_in<V: Values>(n: V) -> V::Output {
    n.each(f64::recip)
}
/// A ratio to the N of "1 in N"; infinite where level.
pub fn to_one_in<V: Values>(slope: V) -> V::Output {
    slope.each(f64::recip)
}

// Volumes

/// US liquid gallons to cubic metres: 231 cubic inches exactly.
///
/// ```
/// use fallwise::units::{gallon, imperial_gallon, inch, to_litre};
///
/// assert!((gallon(1.0) - 231.0 * inch(1.0) * inch(1.0) * inch(1.0)).abs() < 1e-17);
/// assert!((to_litre(gallon(1.0)) - 3.785).abs() < 0.001);
/// assert!((to_litre(imperial_gallon(1.0)) - 4.546).abs() < 0.001);
/// ```
pub fn gallon<V: Values>(gallons: V) -> V::Output {
    gallons.each(|x| x * GALLON)
}
/// Cubic metres to US liquid gallons.
pub fn to_gallon<V: Values>(cubic_metres: V) -> V::Output {
    cubic_metres.each(|x| x / GALLON)
}
/// Imperial gallons to cubic metres: 4.54609 litres exactly.
pub fn imperial_gallon<V: Values>(gallons: V) -> V::Output {
    gallons.each(|x| x * IMPERIAL_GALLON)
}
/// Cubic metres to imperial gallons.
pub fn to_imperial_gallon<V: Values>(cubic_metres: V) -> V::Output {
    cubic_metres.each(|x| x / IMPERIAL_GALLON)
}
/// Litres to cubic metres.
pub fn litre<V: Values>(litres: V) -> V::Output {
    litres.each(|x| x / 1000.0)
}
/// Cubic metres to litres.
pub fn to_litre<V: Values>(cubic_metres: V) -> V::Output {
    cubic_metres.each(|x| x * 1000.0)
}
/// Cubic feet to cubic metres.
pub fn cubic_foot<V: Values>(cubic_feet: V) -> V::Output {
    cubic_feet.each(|x| x * CUBIC_FOOT)
}
/// Cubic metres to cubic feet.
pub fn to_cubic_foot<V: Values>(cubic_metres: V) -> V::Output {
    cubic_metres.each(|x| x / CUBIC_FOOT)
}

// Flows, velocities, shear

/// Litres a second to cubic metres a second.
pub fn l_per_s<V: Values>(litres_per_second: V) -> V::Output {
    litre(litres_per_second)
}
/// Cubic metres a second to litres a second.
pub fn to_l_per_s<V: Values>(cubic_metres_per_second: V) -> V::Output {
    to_litre(cubic_metres_per_second)
}
/// US gallons a minute to cubic metres a second.
///
/// ```
/// use fallwise::units::{gal_per_min, to_l_per_s};
///
/// assert!((to_l_per_s(gal_per_min(10.0)) - 0.6309).abs() < 1e-4);
/// ```
pub fn gal_per_min<V: Values>(gallons_per_minute: V) -> V::Output {
    gallons_per_minute.each(|x| x * GALLON / 60.0)
}
/// Cubic metres a second to US gallons a minute.
pub fn to_gal_per_min<V: Values>(cubic_metres_per_second: V) -> V::Output {
    cubic_metres_per_second.each(|x| x * 60.0 / GALLON)
}
/// Feet a second to metres a second.
pub fn ft_per_s<V: Values>(feet_per_second: V) -> V::Output {
    ft(feet_per_second)
}
/// Metres a second to feet a second.
pub fn to_ft_per_s<V: Values>(metres_per_second: V) -> V::Output {
    to_ft(metres_per_second)
}
/// Pounds-force a square foot to pascals: 0.45359237 kg at standard gravity on 0.3048 m squared, exactly.
///
/// ```
/// assert!((fallwise::units::lb_per_ft2(0.0181) - 0.867).abs() < 1e-3);
/// ```
pub fn lb_per_ft2<V: Values>(pounds_per_square_foot: V) -> V::Output {
    pounds_per_square_foot.each(|x| x * POUND_PER_SQUARE_FOOT)
}
/// Pascals to pounds-force a square foot.
pub fn to_lb_per_ft2<V: Values>(pascals: V) -> V::Output {
    pascals.each(|x| x / POUND_PER_SQUARE_FOOT)
}

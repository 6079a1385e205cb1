//! Functions of numbers: conversions of units and elementary functions, and texts with units.

use fallwise::{Error, math, units};
use pyo3::prelude::*;

use crate::{
    arrays::{self, Finite, each},
    errors::Failure,
};

/// Functions of one number, or of every number of an array; what is not finite goes through.
macro_rules! of_one {
    ($($module:ident :: $name:ident $doc:literal;)*) => { $(
        #[doc = $doc]
        #[pyfunction]
        #[pyo3(signature = (x, /))]
        pub(crate) fn $name(py: Python<'_>, x: &Bound<'_, PyAny>) -> Result<Py<PyAny>, Failure> {
            each(py, [("x", x)], Finite::Any, |[x]| Ok($module::$name(x)))
        }
    )* };
}

/// The same of two numbers.
macro_rules! of_two {
    ($($module:ident :: $name:ident ($first:ident, $second:ident) $doc:literal;)*) => { $(
        #[doc = $doc]
        #[pyfunction]
        #[pyo3(signature = ($first, $second, /))]
        pub(crate) fn $name(
            py: Python<'_>,
            $first: &Bound<'_, PyAny>,
            $second: &Bound<'_, PyAny>,
        ) -> Result<Py<PyAny>, Failure> {
            let arguments = [(stringify!($first), $first), (stringify!($second), $second)];
            each(py, arguments, Finite::Any, |[first, second]| Ok($module::$name(first, second)))
        }
    )* };
}

/// Texts to numbers in SI.
macro_rules! of_text {
    ($($name:ident $doc:literal;)*) => { $(
        #[doc = $doc]
        #[pyfunction]
        #[pyo3(signature = (text, /))]
        pub(crate) fn $name(text: &str) -> Result<f64, Failure> {
            Ok(units::$name(text)?)
        }
    )* };
}

of_one! {
    units::ft "International feet to metres.";
    units::to_ft "Metres to international feet.";
    units::inch "Inches to metres.";
    units::to_inch "Metres to inches.";
    units::us_ft "US survey feet to metres.";
    units::to_us_ft "Metres to US survey feet.";
    units::yard "Yards to metres.";
    units::to_yard "Metres to yards.";
    units::mm "Millimetres to metres.";
    units::to_mm "Metres to millimetres.";
    units::cm "Centimetres to metres.";
    units::to_cm "Metres to centimetres.";
    units::deg "Degrees to radians.";
    units::to_deg "Radians to degrees.";
    units::slope_to_tilt "A slope, fall over horizontal length, to the tilt, rad.";
    units::tilt_to_slope "A tilt, rad, to the slope, fall over horizontal length.";
    units::percent "Percent to a bare ratio.";
    units::to_percent "A bare ratio to percent.";
    units::in_per_ft "Inches per foot to a bare ratio.";
    units::to_in_per_ft "A bare ratio to inches per foot.";
    units::mm_per_m "Millimetres per metre to a bare ratio.";
    units::to_mm_per_m "A bare ratio to millimetres per metre.";
    units::one_in "N of \"1 in N\" to a bare ratio.";
    units::to_one_in "A bare ratio to N of \"1 in N\".";
    units::gallon "US gallons to cubic metres.";
    units::to_gallon "Cubic metres to US gallons.";
    units::imperial_gallon "Imperial gallons to cubic metres.";
    units::to_imperial_gallon "Cubic metres to imperial gallons.";
    units::litre "Litres to cubic metres.";
    units::to_litre "Cubic metres to litres.";
    units::cubic_foot "Cubic feet to cubic metres.";
    units::to_cubic_foot "Cubic metres to cubic feet.";
    units::l_per_s "Litres a second to cubic metres a second.";
    units::to_l_per_s "Cubic metres a second to litres a second.";
    units::gal_per_min "US gallons a minute to cubic metres a second.";
    units::to_gal_per_min "Cubic metres a second to US gallons a minute.";
    units::ft_per_s "Feet a second to metres a second.";
    units::to_ft_per_s "Metres a second to feet a second.";
    units::lb_per_ft2 "Pounds-force a square foot to pascals.";
    units::to_lb_per_ft2 "Pascals to pounds-force a square foot.";
    math::sin "Sine.";
    math::cos "Cosine.";
    math::tan "Tangent.";
    math::asin "Arc sine.";
    math::acos "Arc cosine.";
    math::atan "Arc tangent.";
    math::exp "Exponential function.";
    math::exp_m1 "exp(x) - 1, exact for small x.";
    math::ln "Natural logarithm.";
    math::ln_1p "ln(1 + x), exact for small x.";
    math::log10 "Logarithm to base 10.";
    math::cbrt "Cube root.";
    math::erf "Error function.";
    math::erfc "1 - erf(x), exact for large x.";
    math::normal_cdf "Distribution function of the standard normal distribution.";
    math::normal_quantile "Quantile of the standard normal distribution.";
}

of_two! {
    math::atan2(y, x) "Angle of the point (x, y), given as y, x.";
    math::pow(x, y) "x to the power y.";
    math::hypot(x, y) "Length of (x, y).";
}

of_text! {
    parse_length "A text such as `6' 3\"` to metres.";
    parse_station "A text such as `0+42.5` or `12.4 m` to metres.";
    parse_slope "A text such as `1/4 in/ft` to a bare ratio.";
    parse_tilt "A text such as `1.2 deg` or `2 %` to radians.";
    parse_angle "A text such as `45 deg` to radians.";
    parse_volume "A text such as `2 gal` to cubic metres.";
    parse_flow "A text such as `1.2 L/s` or `20 gal/min` to cubic metres a second.";
    parse_velocity "A text such as `0.7 m/s` or `2 ft/s` to metres a second.";
    parse_pressure "A text such as `1 Pa` or `0.02 lb/ft2` to pascals.";
    parse_viscosity "A text such as `1.31 mm2/s` to square metres a second.";
}

/// Probability that a chi-square variable exceeds x.
#[pyfunction]
#[pyo3(signature = (x, degrees, /))]
pub(crate) fn chi_square_above(x: f64, degrees: usize) -> f64 {
    math::chi_square_above(x, degrees)
}

/// Sum in fixed blocks, the same on any machine.
#[pyfunction]
#[pyo3(signature = (values, /))]
pub(crate) fn sum(values: &Bound<'_, PyAny>) -> Result<f64, Failure> {
    Ok(math::sum(&arrays::row("values", values)?))
}

/// Median.
#[pyfunction]
#[pyo3(signature = (values, /))]
pub(crate) fn median(values: &Bound<'_, PyAny>) -> Result<f64, Failure> {
    Ok(math::median(&mut arrays::finite_row("values", values)?))
}

/// Quantile of sorted values.
#[pyfunction]
#[pyo3(signature = (sorted, p, /))]
pub(crate) fn quantile(sorted: &Bound<'_, PyAny>, p: f64) -> Result<f64, Failure> {
    let sorted = arrays::finite_row("sorted", sorted)?;
    if let Some(i) = sorted.windows(2).position(|pair| matches!(pair, [a, b] if a > b)) {
        return Err(Error::at("sorted", i + 1, sorted.get(i + 1).copied().unwrap_or_default(), "growing values").into());
    }
    if !(0.0..=1.0).contains(&p) {
        return Err(Error::value("p", p, "0 to 1").into());
    }
    Ok(math::quantile(&sorted, p))
}

/// A probability in words, never as certainty.
#[pyfunction]
#[pyo3(signature = (p, /))]
pub(crate) fn say_probability(p: f64) -> String {
    units::probability(p)
}

/// Figures in the words of a report.
macro_rules! in_words {
    ($($name:ident $method:ident $doc:literal;)*) => { $(
        #[doc = $doc]
        #[pyfunction]
        #[pyo3(signature = (value, /, words = "uk"))]
        pub(crate) fn $name(value: f64, words: &str) -> Result<String, Failure> {
            Ok(words.parse::<units::Words>()?.$method(value))
        }
    )* };
}

in_words! {
    say_slope slope "A slope in words.";
    say_length length "A length in words, m given.";
    say_about about "A length that is only roughly known, in words, m given.";
    say_small small "A small height or depth in words, m given.";
    say_station station "A station in words, m given.";
    say_volume volume "A volume in words, m3 given.";
    say_angle angle "An angle in words, rad given.";
}

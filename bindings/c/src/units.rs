//! Units at the edge: texts to SI, and numbers from and to other units.

use core::ffi::c_char;

use fallwise::{Error, units};

use crate::{
    border::{Out, bad_value, call, fill, some_array, some_text, unknown_name},
    error::{Failure, fw_error},
    status::fw_status,
};

/// What a text is to be.
#[repr(u32)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum fw_quantity_kind {
    /// A length, such as "22 ft" or "10' 6\""; m.
    FW_LENGTH = 0,
    /// A station; m.
    FW_STATION = 1,
    /// A slope, such as "1/4 in/ft", "2 %" or "1 in 40"; a ratio.
    FW_SLOPE = 2,
    /// A tilt, as an angle or a slope; rad.
    FW_TILT = 3,
    /// An angle, such as "0.3 deg"; rad.
    FW_ANGLE = 4,
    /// A volume; m3.
    FW_VOLUME = 5,
    /// A flow; m3/s.
    FW_FLOW = 6,
    /// A velocity; m/s.
    FW_VELOCITY = 7,
    /// A pressure or shear; Pa.
    FW_PRESSURE = 8,
    /// A kinematic viscosity; m2/s.
    FW_VISCOSITY = 9,
}

/// A quantity with its unit from a text, in SI units and radians.
///
/// `kind` is fw_quantity_kind. Fails with FW_INPUT: the message says what is wrong and gives an example.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_parse_quantity(
    kind: u32,
    text: *const c_char,
    length: usize,
    value: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's text and place, by the contract of the header.
        let (text, out) = unsafe { (some_text(text, length, "text")?, Out::new(value, "value")?) };
        let parse: fn(&str) -> Result<f64, Error> = match kind {
            0 => units::parse_length,
            1 => units::parse_station,
            2 => units::parse_slope,
            3 => units::parse_tilt,
            4 => units::parse_angle,
            5 => units::parse_volume,
            6 => units::parse_flow,
            7 => units::parse_velocity,
            8 => units::parse_pressure,
            9 => units::parse_viscosity,
            other => return Err(bad_value("kind", other, "a number of fw_quantity_kind")),
        };
        out.put(parse(text)?);
        Ok(())
    })
}

/// Units by name: to SI, and from it.
const UNITS: [(&str, Convert, Convert); 20] = [
    ("ft", units::ft, units::to_ft),
    ("us_ft", units::us_ft, units::to_us_ft),
    ("inch", units::inch, units::to_inch),
    ("yard", units::yard, units::to_yard),
    ("mm", units::mm, units::to_mm),
    ("cm", units::cm, units::to_cm),
    ("deg", units::deg, units::to_deg),
    ("percent", units::percent, units::to_percent),
    ("in_per_ft", units::in_per_ft, units::to_in_per_ft),
    ("mm_per_m", units::mm_per_m, units::to_mm_per_m),
    ("one_in", units::one_in, units::to_one_in),
    ("gallon", units::gallon, units::to_gallon),
    ("imperial_gallon", units::imperial_gallon, units::to_imperial_gallon),
    ("litre", units::litre, units::to_litre),
    ("cubic_foot", units::cubic_foot, units::to_cubic_foot),
    ("l_per_s", units::l_per_s, units::to_l_per_s),
    ("gal_per_min", units::gal_per_min, units::to_gal_per_min),
    ("ft_per_s", units::ft_per_s, units::to_ft_per_s),
    ("lb_per_ft2", units::lb_per_ft2, units::to_lb_per_ft2),
    ("slope", units::slope_to_tilt, units::tilt_to_slope),
];

type Convert = fn(f64) -> f64;

fn unit(name: &str) -> Result<(Convert, Convert), Failure> {
    let found = UNITS.iter().find(|(known, ..)| *known == name);
    found.map(|(_, to, from)| (*to, *from)).ok_or_else(|| unknown_name("unit", name))
}

/// Numbers in a unit to SI and radians: `count` of them from `values` into `out`, which may be the same.
///
/// `unit` is "ft", "us_ft", "inch", "yard", "mm", "cm" (to m), "deg" (to rad), "percent", "in_per_ft", "mm_per_m",
/// "one_in" (to a slope), "slope" (a slope to a tilt, rad), "gallon", "imperial_gallon", "litre", "cubic_foot" (to m3),
/// "l_per_s", "gal_per_min" (to m3/s), "ft_per_s" (to m/s), "lb_per_ft2" (to Pa). Fails with FW_UNKNOWN_NAME.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_to_si(
    unit_name: *const c_char,
    unit_length: usize,
    values: *const f64,
    count: usize,
    out: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    // SAFETY: the caller's text and arrays, by the contract of the header.
    call(error, || unsafe { converted(unit_name, unit_length, values, count, out, |(to, _)| to) })
}

/// Numbers in SI and radians to a unit; as fw_to_si.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_from_si(
    unit_name: *const c_char,
    unit_length: usize,
    values: *const f64,
    count: usize,
    out: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    // SAFETY: the caller's text and arrays, by the contract of the header.
    call(error, || unsafe { converted(unit_name, unit_length, values, count, out, |(_, from)| from) })
}

/// # Safety
/// As the two above.
unsafe fn converted(
    unit_name: *const c_char,
    unit_length: usize,
    values: *const f64,
    count: usize,
    out: *mut f64,
    which: impl Fn((Convert, Convert)) -> Convert,
) -> Result<(), Failure> {
    // SAFETY: the same contract; copied before anything is written, since both may be one.
    let (name, values) =
        unsafe { (some_text(unit_name, unit_length, "unit_name")?, some_array(values, count, "values")?.to_vec()) };
    // SAFETY: only looked at, before the work begins.
    unsafe { Out::new(out, "out") }?;
    let convert = which(unit(name)?);
    let converted: Vec<f64> = values.into_iter().map(convert).collect();
    // SAFETY: the same contract.
    unsafe { fill(&converted, out, "out") }
}

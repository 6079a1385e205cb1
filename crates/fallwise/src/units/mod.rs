//! Units at the edge: conversions of scalars, arrays and text to SI and radians, and back into words.
//!
//! Inside, and in every public number, lengths are metres, volumes cubic metres, angles radians and slopes bare ratios.
//! - [`convert`](ft): plain functions, one name for a number and for an array: [`ft`], [`percent`], [`gallon`], ...
//! - [`unit`](LengthUnit): units by name, for log headers and `unit = "ft"` keys: [`LengthUnit`], [`TiltUnit`],
//!   [`VolumeUnit`].
//! - [`parse`](parse_length): texts with their unit: [`parse_length`], [`parse_slope`], [`parse_station`], ... A
//!   missing unit is an error, never a guess.
//! - [`words`](Words): numbers back into text, in UK or US wording: [`Words`]; the same in another language and with another
//!   decimal mark: [`Voice`].
//! - [`said`](Said): whole sentences with their figures kept apart: [`Said`], made by [`said!`](crate::said); fixed texts, marked by
//!   [`word!`](crate::word).
//! - [`column`](column()): columns of the answers in other units than SI.
//! - [`language`](Language): another language as data: [`Language`].
//!
//! One quarter of an inch per foot is 2.0833 %, not 2 %: rules that print both are two rules.
//!
//! ```
//! use fallwise::units::{Words, ft, in_per_ft, parse_length, parse_slope, percent};
//!
//! assert_eq!(ft(6.25), 1.905);
//! assert_eq!(ft(vec![0.0, 10.0]), [0.0, 3.048]);
//! assert_eq!(parse_length("6' 3\"")?, 1.905);
//! assert_eq!(parse_slope("1/4 in/ft")?, in_per_ft(0.25));
//! assert!(in_per_ft(0.25) > percent(2.08));
//! assert_eq!(Words::Uk.slope(in_per_ft(0.25)), "1 in 48");
//! # Ok::<(), fallwise::Error>(())
//! ```

mod column;
mod convert;
mod language;
mod parse;
mod said;
mod unit;
mod voice;
mod words;

pub use column::{Convert, column};
pub use convert::{
    Values, cm, cubic_foot, deg, ft, ft_per_s, gal_per_min, gallon, imperial_gallon, in_per_ft, inch, l_per_s,
    lb_per_ft2, litre, mm, mm_per_m, one_in, percent, slope_to_tilt, tilt_to_slope, to_cm, to_cubic_foot, to_deg,
    to_ft, to_ft_per_s, to_gal_per_min, to_gallon, to_imperial_gallon, to_in_per_ft, to_inch, to_l_per_s,
    to_lb_per_ft2, to_litre, to_mm, to_mm_per_m, to_one_in, to_percent, to_us_ft, to_yard, us_ft, yard,
};
pub use language::{Decimal, Language};
pub use parse::{
    parse_angle, parse_flow, parse_length, parse_pressure, parse_slope, parse_station, parse_tilt, parse_velocity,
    parse_viscosity, parse_volume,
};
pub use said::{Part, Said};
pub use unit::{FlowUnit, LengthUnit, TiltUnit, VolumeUnit};
pub use voice::Voice;
pub use words::{Words, probability};

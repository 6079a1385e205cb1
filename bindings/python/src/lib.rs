//! The Python binding: thin over the three crates, without a formula, a rule or a sentence of its own.
//!
//! | file | what |
//! | --- | --- |
//! | `errors`, `work`, `arrays`, `convert` | exceptions; long work; numbers in and out; structs in and out |
//! | `table` | the one table class |
//! | `answers`, `lateral`, `many`, `comparison`, `job`, `rules`, `profile`, `estimate` | the other classes |
//! | `numbers`, `geometry`, `hydraulics`, `locate` | computations by themselves |
//!
//! Names that begin with `_` are called by the Python sources beside, which hold signatures and documentation.

#![allow(clippy::needless_pass_by_value, reason = "arguments from Python come by value")]

mod answers;
mod arrays;
mod comparison;
mod convert;
mod errors;
mod estimate;
mod geometry;
mod hydraulics;
mod job;
mod lateral;
mod locate;
mod many;
mod numbers;
mod profile;
mod relay;
mod rules;
mod table;
mod work;

#[pyo3::pymodule(gil_used = false, name = "_core")]
mod core {
    #[pymodule_export]
    use crate::{
        answers::{Answers, cautions, read_result, unpickled as unpickled_answers},
        arrays::_row,
        comparison::{Comparison, compare, read_comparison, unpickled as unpickled_comparison},
        estimate::Estimate,
        geometry::{
            _antiderivative, _area, _condition, _depth_for_area, _display_step, _dogleg, _fit_chain, _full_area,
            _given_chain, _hydraulic_radius, _mean_area, _minimum_curvature, _place, _raw_chain, _scattered, _simulate,
            _top_width, _truth, _wetted_perimeter,
        },
        hydraulics::{
            _continuous_fixture_units, _critical_depth, _critical_shear, _diameter_for_flow, _drain_for_fixture_units,
            _drain_units, _fixture_units, _fixture_units_of, _fixtures, _flow, _froude, _most, _most_fixture_units,
            _normal_depth, _outlet_fixture_units, _roughnesses, _shear, _slope_for_flow, _slope_for_shear, _states,
            _velocity, _waste_water_flow,
        },
        job::{Loaded, bores, nominal, parse_job, read_job, read_log, standard_pipe},
        lateral::{
            Check, Lateral, defaults, redacted, solve, to_text, unpickled as unpickled_lateral, unpickled_check,
        },
        locate::{_dig, _ellipse, _offset, _plan_sd},
        many::{_read_runs, _read_runs_columns, Collected, RunLogs, Solver},
        numbers::{
            acos, asin, atan, atan2, cbrt, chi_square_above, cm, cos, cubic_foot, deg, erf, erfc, exp, exp_m1, ft,
            ft_per_s, gal_per_min, gallon, hypot, imperial_gallon, in_per_ft, inch, l_per_s, lb_per_ft2, litre, ln,
            ln_1p, log10, median, mm, mm_per_m, normal_cdf, normal_quantile, one_in, parse_angle, parse_flow,
            parse_length, parse_pressure, parse_slope, parse_station, parse_tilt, parse_velocity, parse_viscosity,
            parse_volume, percent, pow, quantile, say_about, say_angle, say_length, say_probability, say_slope,
            say_small, say_station, say_volume, sin, slope_to_tilt, sum, tan, tilt_to_slope, to_cm, to_cubic_foot,
            to_deg, to_ft, to_ft_per_s, to_gal_per_min, to_gallon, to_imperial_gallon, to_in_per_ft, to_inch,
            to_l_per_s, to_lb_per_ft2, to_litre, to_mm, to_mm_per_m, to_one_in, to_percent, to_us_ft, to_yard, us_ft,
            yard,
        },
        profile::{Profile, cover, ground, pools, unpickled as unpickled_profile, water_level},
        relay::{RelayAnswer, unpickled as unpickled_relay},
        rules::{Rulebook, rulebooks, unpickled as unpickled_rulebook},
        table::{Table, unpickled as unpickled_table},
    };

    /// Standard deviations from the middle of a 95 % ellipse to its edge.
    #[pymodule_export]
    const _ELLIPSE_95: f64 = crate::locate::ELLIPSE;

    /// Version of the library.
    #[pymodule_export]
    #[expect(non_upper_case_globals, reason = "Python's name for it")]
    const __version__: &str = env!("CARGO_PKG_VERSION");
}

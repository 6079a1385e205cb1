//! What a log cannot be made from.

use super::{Flaw, Flaws, Head, Truth};
use crate::error::{Error, require_finite, require_length};
use crate::prelude::*;

/// Refuses what the model cannot be made from.
pub(super) fn check(truth: &Truth, head: &Head, flaws: &Flaws, spacing_m: f64) -> Result<(), Error> {
    if truth.tilt_rad.is_empty() {
        return Err(Error::TooFew { field: "tilt_rad".to_owned(), found: 0, needed: 1 });
    }
    require_length("breaks_m", truth.breaks_m.len(), "tilt_rad (and one more)", truth.tilt_rad.len() + 1)?;
    require_finite("breaks_m", &truth.breaks_m)?;
    require_finite("tilt_rad", &truth.tilt_rad)?;
    if let Some(i) = truth.breaks_m.iter().zip(truth.breaks_m.iter().skip(1)).position(|(a, b)| a >= b) {
        return Err(Error::at("breaks_m", i + 1, truth.breaks_m[i + 1], "stations that grow"));
    }
    for (i, lip) in truth.lips.iter().enumerate() {
        require_finite("lips", &[lip.at_m, lip.rise_m])
            .map_err(|_| Error::at("lips", i, "not finite", "finite numbers"))?;
    }
    if truth.tilt_rad.iter().any(|t| t.abs() > core::f64::consts::PI) {
        return Err(Error::value("tilt_rad", "more than pi", "radians within half a turn"));
    }
    let any = [
        ("head.zero_rad", head.zero_rad),
        ("head.seating_push_rad", head.seating_push_rad),
        ("head.seating_pull_rad", head.seating_pull_rad),
        ("head.drift_rad", head.drift_rad),
        ("head.roll.cross_rad", head.roll.cross_rad),
        ("head.roll.amplitude_rad", head.roll.amplitude_rad),
        ("head.roll.phase_rad", head.roll.phase_rad),
    ];
    let not_negative = [
        ("head.noise_sd_rad", head.noise_sd_rad),
        ("head.correlation_m", head.correlation_m),
        ("head.head_length_m", head.head_length_m),
        ("head.rounding", head.rounding.step()),
        ("head.lag_s", head.lag_s),
    ];
    for (field, v) in any.into_iter().chain(not_negative) {
        if !v.is_finite() {
            return Err(Error::value(field, v, "a finite number"));
        }
    }
    for (field, v) in not_negative {
        if v < 0.0 {
            return Err(Error::value(field, v, "0 or more"));
        }
    }
    // A phase may be any.
    let angles = any
        .into_iter()
        .chain(not_negative)
        .filter(|(field, _)| field.ends_with("_rad") && !field.ends_with("phase_rad"));
    for (field, v) in angles {
        if v.abs() > core::f64::consts::TAU {
            return Err(Error::value(field, v, "radians within a turn"));
        }
    }
    if !(head.roll.wavelength_m > 0.0 && head.roll.wavelength_m.is_finite()) {
        return Err(Error::value("head.roll.wavelength_m", head.roll.wavelength_m, "metres, more than 0"));
    }
    if !(spacing_m > 0.0 && spacing_m.is_finite()) {
        return Err(Error::value("spacing_m", spacing_m, "metres, more than 0"));
    }
    if !(flaws.counter_scale > -1.0 && flaws.counter_scale.is_finite()) {
        return Err(Error::value("flaws.counter_scale", flaws.counter_scale, "a finite number above -1"));
    }
    for (i, flaw) in flaws.list.iter().enumerate() {
        let (a, b) = match *flaw {
            Flaw::Stop { at_m, .. } | Flaw::Reset { at_m } => (at_m, 0.0),
            Flaw::Rezero { at_m, counter_m } => (at_m, counter_m),
            Flaw::Slack { length_m } if length_m < 0.0 => {
                return Err(Error::at("flaws.list", i, length_m, "a slack of 0 or more"));
            }
            Flaw::PullOut { length_m } | Flaw::Slack { length_m } => (length_m, 0.0),
            Flaw::Limit { rad } if rad < 0.0 => return Err(Error::at("flaws.list", i, rad, "a limit of 0 or more")),
            Flaw::Limit { rad } => (rad, 0.0),
            Flaw::TurnsOver => (0.0, 0.0),
            Flaw::Motion { sd_rad, .. } => (sd_rad, 0.0),
            Flaw::PullBack { at_m, length_m } | Flaw::Slip { at_m, length_m } => (at_m, length_m),
            Flaw::Stretch { scale, .. } if scale <= -1.0 => {
                return Err(Error::at("flaws.list", i, scale, "a scale error above -1"));
            }
            Flaw::Stretch { scale, .. } if !scale.is_finite() => (scale, 0.0),
            Flaw::Spike { at_m, rad } | Flaw::Bend { at_m, rad } => (at_m, rad),
            Flaw::Gap { from_m, to_m } | Flaw::Frozen { from_m, to_m } | Flaw::Stretch { from_m, to_m, .. } => {
                (from_m, to_m)
            }
            Flaw::StepUnderHead { at_m, rise_m } => (at_m, rise_m),
        };
        require_finite("flaws.list", &[a, b])
            .map_err(|_| Error::at("flaws.list", i, "not finite", "finite numbers"))?;
    }
    Ok(())
}

//! What the adjustment refuses.

use super::{SegmentMean, SetupNoise, WEIGHTS};
use crate::prelude::*;
use crate::{
    chain::Chain,
    error::{Error, require_length},
    model::Instrument,
};

/// Refuses means that cannot be, or that belong nowhere.
pub(super) fn means(chain: &Chain, means: &[SegmentMean], setups: &[SetupNoise]) -> Result<(), Error> {
    let half = core::f64::consts::FRAC_PI_2;
    require_length("breaks_m", chain.breaks_m.len(), "the tilts, and one more,", chain.tilt_rad.len() + 1)?;
    for (i, setup) in setups.iter().enumerate() {
        if ![1.0, -1.0].contains(&setup.zero_sign) {
            return Err(Error::at("setups.zero_sign", i, setup.zero_sign, "1 or -1"));
        }
        if !((0.0..=half).contains(&setup.noise_sd_rad) && (0.0..=half).contains(&setup.rounding_sd_rad)) {
            let given = format!("noise {}, rounding {}", setup.noise_sd_rad, setup.rounding_sd_rad);
            return Err(Error::at("setups", i, given, "0 to a quarter turn each, in rad"));
        }
    }
    for (i, mean) in means.iter().enumerate() {
        if mean.segment >= chain.tilt_rad.len() || mean.setup >= setups.len() {
            let given = format!("segment {}, setup {}", mean.segment, mean.setup);
            return Err(Error::at("means", i, given, "a segment and a setup that are there"));
        }
        if !((-half..=half).contains(&mean.mean_rad) && WEIGHTS.contains(&mean.weight)) {
            let given = format!("{} rad of weight {}", mean.mean_rad, mean.weight);
            return Err(Error::at("means", i, given, "a tilt, and a weight from 1e-9 to 1e9"));
        }
    }
    let shares = means.iter().map(|m| (m.drift_share, m.roll_sine));
    if let Some((i, given)) =
        shares.enumerate().find(|(_, (u, v))| !((0.0..=1.0).contains(u) && (-1.0..=1.0).contains(v)))
    {
        let given = format!("{} of the drift, sine {} of the roll", given.0, given.1);
        return Err(Error::at("means", i, given, "a share of the drift of 0 to 1, a sine of -1 to 1"));
    }
    Ok(())
}

/// Refuses an instrument that cannot be.
pub(crate) fn instrument(instrument: &Instrument) -> Result<(), Error> {
    let angle = core::f64::consts::FRAC_PI_2;
    let zero = "an angle within a quarter turn, in rad";
    let angle_sd = "0 to a quarter turn, in rad";
    let numbers = [
        ("zero_rad", Some(instrument.zero_rad), -angle..=angle, zero),
        ("zero_sd_rad", Some(instrument.zero_sd_rad), 0.0..=angle, angle_sd),
        ("seating_sd_rad", Some(instrument.seating_sd_rad), 0.0..=angle, angle_sd),
        ("noise_sd_rad", instrument.noise_sd_rad, 0.0..=angle, angle_sd),
        ("correlation_m", instrument.correlation_m, 0.0..=100.0, "0 to 100 m"),
        ("resolution_rad", instrument.resolution_rad, 0.0..=angle, angle_sd),
        ("drift_sd_rad", Some(instrument.drift_sd_rad), 0.0..=angle, angle_sd),
        ("drift_s", Some(instrument.drift_s), 1.0..=1e5, "1 to 100,000 s"),
        ("roll_sd_rad", Some(instrument.roll_sd_rad), 0.0..=angle, angle_sd),
        ("wander_sd_rad", Some(instrument.wander_sd_rad), 0.0..=angle, angle_sd),
        ("lip_sd_m", Some(instrument.lip_sd_m), 0.0..=0.1, "0 to 0.1 m"),
        ("head_length_m", Some(instrument.head_length_m), 0.0..=100.0, "0 to 100 m"),
        ("slack_m", instrument.slack_m, 0.0..=100.0, "0 to 100 m"),
        ("counter_scale", Some(instrument.counter_scale), -0.5..=0.5, "a scale error between -0.5 and 0.5"),
        ("counter_scale_sd", Some(instrument.counter_scale_sd), 0.0..=0.1, "0 to 0.1"),
    ];
    for (field, value, allowed, expected) in numbers {
        if let Some(value) = value.filter(|v| !allowed.contains(v)) {
            return Err(Error::value(format!("instrument.{field}"), value, expected));
        }
    }
    Ok(())
}

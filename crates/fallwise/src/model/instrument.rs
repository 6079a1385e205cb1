//! The head and the counter: what is known of their errors before the run.

use serde::{Deserialize, Serialize};

/// One degree, rad.
const DEGREE: f64 = core::f64::consts::PI / 180.0;

/// What is known of the head's and the counter's errors. Every default is our choice and can be set.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub struct Instrument {
    /// Zero error of the tilt sensor, rad: what it reads when level, looking down positive. A reversal check gives it.
    pub zero_rad: f64,
    /// Standard deviation of the zero error, rad. Default 0.3 degrees: a common push-camera head without a check.
    pub zero_sd_rad: f64,
    /// Whether a reversal check gave the zero (then none is proposed again).
    pub zero_checked: bool,
    /// Standard deviation of the seating offset of the head, rad: one offset for each push and another while it is pulled
    /// back. Default 0.1 degrees: 0.2 mm over 100 mm.
    pub seating_sd_rad: f64,
    /// Noise of one reading before rounding, rad; absent: estimated from the readings.
    pub noise_sd_rad: Option<f64>,
    /// Distance over which the correlation of the noise falls to 1/e, m; 0: independent from reading to reading; absent:
    /// estimated together with the noise.
    pub correlation_m: Option<f64>,
    /// Step of the readings, rad; absent: found in the log.
    pub resolution_rad: Option<f64>,
    /// Standard deviation of the drift at the start of a run, rad, which decays while the head takes the temperature of the
    /// drain; 0: none. Default 0.05 degrees: let the head rest in the pipe first.
    pub drift_sd_rad: f64,
    /// Time over which the drift falls to 1/e, s. Default 180 s. Where no time is logged, a pace of 0.2 m/s stands for it.
    pub drift_s: f64,
    /// Standard deviation of the error of the sensor across its axis, rad, which enters the readings by the sine of the
    /// roll, where roll is logged; 0: none. Default 0.3 degrees, as along the axis.
    pub roll_sd_rad: f64,
    /// Standard deviation of the part of the zero error that varies along the run, rad: of a head that rolls and does not say
    /// so. Default 0: of a head that keeps itself upright.
    pub wander_sd_rad: f64,
    /// Standard deviation of the lip at each joint, m, up or down, that nobody noted. In heights and falls only: no tilt shows
    /// it. Default 2 mm; joints are as far apart as the sticks of the reach are long, 3 m where that is not given.
    pub lip_sd_m: f64,
    /// Length of pipe over which the head averages, m. Default 0.15 m.
    pub head_length_m: f64,
    /// Way that the counter goes before the head does when the cable turns, m; absent: found by laying what was read while
    /// pulling back over what was read while pushing, where the slope changes enough for that.
    pub slack_m: Option<f64>,
    /// Time by which a reading follows the pipe late, s; absent: none, since a lag that is not known moves readings wrongly as
    /// easily as rightly, and at an easy push of 0.2 m/s half a second is 0.1 m, less than a head. Used only where the log has
    /// time. At most 60 s.
    pub lag_s: Option<f64>,
    /// Mean of the counter's scale error: true = (1 + scale) counter. Snaking and slack make the counter read long;
    /// default -0.8 %, with the standard deviation below: the moments of a half-normal of scale 1 %.
    pub counter_scale: f64,
    /// Standard deviation of the counter's scale error. Default 0.6 %.
    pub counter_scale_sd: f64,
}

impl Default for Instrument {
    fn default() -> Self {
        Self {
            zero_rad: 0.0,
            zero_sd_rad: 0.3 * DEGREE,
            zero_checked: false,
            seating_sd_rad: 0.1 * DEGREE,
            noise_sd_rad: None,
            correlation_m: None,
            resolution_rad: None,
            drift_sd_rad: 0.05 * DEGREE,
            drift_s: 180.0,
            roll_sd_rad: 0.3 * DEGREE,
            wander_sd_rad: 0.0,
            lip_sd_m: 0.002,
            head_length_m: 0.15,
            slack_m: None,
            lag_s: None,
            counter_scale: -0.008,
            counter_scale_sd: 0.006,
        }
    }
}

impl Instrument {
    /// Noise taken for a single reading where nothing can be estimated (readings by hand), rad: 0.25 degrees, our
    /// choice.
    pub const NOISE_SD_RAD: f64 = 0.25 * DEGREE;

    /// An instrument without error, for geometry that is given rather than measured.
    pub fn exact() -> Self {
        Self {
            zero_sd_rad: 0.0,
            zero_checked: true,
            seating_sd_rad: 0.0,
            noise_sd_rad: Some(0.0),
            correlation_m: Some(0.0),
            resolution_rad: Some(0.0),
            drift_sd_rad: 0.0,
            roll_sd_rad: 0.0,
            lip_sd_m: 0.0,
            counter_scale: 0.0,
            counter_scale_sd: 0.0,
            ..Self::default()
        }
    }
}

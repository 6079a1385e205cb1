//! Facts of the survey and the operator's notes: shown, and no figure of the pipe is computed with them. What they do is
//! place each other: a moment in the recording gives a station, and a station a moment.

use crate::prelude::*;
use serde::{Deserialize, Serialize};

/// Facts of the survey, in the words of whoever filled them in. All optional; all shown.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub struct Survey {
    /// Title of the job.
    pub title: Option<String>,
    /// Who ordered the survey.
    pub ordered_by: Option<String>,
    /// Where.
    pub site: Option<String>,
    /// When, with the zone.
    pub date_time: Option<String>,
    /// Who pushed the camera.
    pub operator: Option<String>,
    /// Their licence.
    pub licence: Option<String>,
    /// Their company.
    pub company: Option<String>,
    /// Permit.
    pub permit: Option<String>,
    /// Weather of the last 48 hours.
    pub weather_48h: Option<String>,
    /// Whether water was run before or during the survey.
    pub water_run: Option<String>,
    /// Water in the pipe: still, running or unknown.
    pub water: Option<String>,
    /// Whether the pipe was cleaned before.
    pub cleaned_before: Option<String>,
    /// What the complaint was.
    pub complaint: Option<String>,
    /// Where the camera went in.
    pub entry: Option<String>,
    /// Height of the riser at the entry.
    pub riser_height: Option<String>,
    /// Where the camera stopped.
    pub stopped_at: Option<String>,
    /// Why it stopped.
    pub stopped_because: Option<String>,
    /// What was not surveyed.
    pub not_surveyed: Option<String>,
    /// About how long the whole lateral is, m, surveyed or not.
    pub about_length_m: Option<f64>,
    /// The camera head.
    pub head: Option<String>,
    /// Its skid.
    pub skid: Option<String>,
    /// When the head was last checked.
    pub last_checked: Option<String>,
    /// The recording.
    pub video: Option<String>,
    /// Hash of the recording.
    pub video_hash: Option<String>,
    /// Time that the recording shows when the time of the log is 0, s; absent: taken to start with the log.
    pub video_offset_s: Option<f64>,
    /// The locator.
    pub locator: Option<String>,
    /// Landmarks that distances were taped from.
    pub landmarks: Option<String>,
    /// Who signs.
    pub signed_by: Option<String>,
    /// Whether the place, the people and the readings are made up.
    pub invented: bool,
}

impl Survey {
    /// Whether the job's words for the water say that it ran.
    pub(crate) fn water_runs(&self) -> bool {
        let said = self.water.as_deref().unwrap_or_default().to_lowercase();
        let any = |words: &[&str]| words.iter().any(|word| said.contains(word));
        any(&["running", "flowing", "trickl"]) && !any(&["not running", "no running", "not flowing", "no flow"])
    }
}

/// A note of the operator's.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Note {
    /// Station, m; absent where the note is given by its moment in the recording alone.
    #[serde(default)]
    pub station_m: Option<f64>,
    /// Station of its end, m, where it has an extent.
    #[serde(default)]
    pub to_m: Option<f64>,
    /// Plain words.
    pub text: String,
    /// File name of a photo.
    #[serde(default)]
    pub photo: Option<String>,
    /// Moment in the recording, s from its start.
    #[serde(default)]
    pub video_time_s: Option<f64>,
    /// Whether standing water was seen here.
    #[serde(default)]
    pub water_seen: bool,
    /// Whether the pipe was seen dry here: then a belly that would hold water is a finding.
    #[serde(default)]
    pub dry_seen: bool,
    /// How far the tilt of the head may be off here because it did not lie on the bottom of the pipe, as a standard deviation, rad:
    /// debris under it, water deep enough to lift it. Such a thing is never inferred from the readings.
    #[serde(default)]
    pub tilt_sd_rad: Option<f64>,
}

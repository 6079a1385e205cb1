//! The tables of a job's text form, one struct each. Keys are the names of `fallwise::model` without their unit.
//!
//! The same structs are read, written, and described by the JSON Schema. Keys that must be there are also listed in
//! `read::REQUIRED`.

use std::collections::BTreeMap;

use fallwise::{
    model::{AsBuiltUse, FeatureKind, Flow, Formula, Paper, Survey, System, TiltPositive, Toward, Use, Work},
    units::{Decimal, LengthUnit, TiltUnit, Words},
};
use serde::{Deserialize, Serialize};

use super::{
    quantity::{
        Angle, Fact, FlowRate, Length, Offset, Percent, Seconds, Seed, Shear, Size, Span, Station, Temperature, Tilt,
        Turn, Velocity, Viscosity,
    },
    relay::RelayForm,
    tie::TieForm,
};
use crate::log::{AngleUnit, DecimalMark, Delimiter, Encoding, TemperatureUnit, TimeUnit};

#[derive(Debug, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default, expecting = "a table")]
pub(super) struct JobForm {
    /// Version of this form; absent: 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) version: Option<u64>,
    pub(super) flow: Flow,
    pub(super) tailwater: Option<Length>,
    pub(super) as_built_use: AsBuiltUse,
    pub(super) survey: SurveyForm,
    pub(super) origin: Option<OriginForm>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) run: Vec<RunForm>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) reading: Vec<ReadingForm>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) as_built: Vec<AsBuiltForm>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) tie: Vec<TieForm>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) reach: Vec<ReachForm>,
    pub(super) instrument: InstrumentForm,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) bend: Vec<BendForm>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) step: Vec<StepForm>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) feature: Vec<FeatureForm>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) ground: Vec<GroundForm>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) note: Vec<NoteForm>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) landmark: Vec<LandmarkForm>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) dig: Vec<DigForm>,
    pub(super) digging: DiggingForm,
    pub(super) segments: SegmentsForm,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) capacity: Option<CapacityForm>,
    pub(super) rules: RulesForm,
    pub(super) report: ReportForm,
    /// A plan of re-laying is asked for; absent: none.
    pub(super) relay: Option<RelayForm>,
}

/// The survey's facts: text, but for a length and a yes or no.
macro_rules! survey {
    ($($text:ident),+ $(,)?) => {
        #[derive(Debug, Default, Serialize, Deserialize)]
        #[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
        #[serde(deny_unknown_fields, default, expecting = "a table")]
        pub(super) struct SurveyForm {
            $(pub(super) $text: Option<String>,)+
            pub(super) about_length: Option<Length>,
            pub(super) video_offset: Option<Offset>,
            pub(super) invented: bool,
        }

        impl From<&Survey> for SurveyForm {
            fn from(survey: &Survey) -> Self {
                let Survey { $($text,)+ about_length_m, video_offset_s, invented } = survey;
                Self {
                    $($text: $text.clone(),)+
                    about_length: about_length_m.map(Length),
                    video_offset: video_offset_s.map(Offset),
                    invented: *invented,
                }
            }
        }

        impl From<SurveyForm> for Survey {
            fn from(form: SurveyForm) -> Self {
                Self {
                    $($text: form.$text,)+
                    about_length_m: form.about_length.map(|l| l.0),
                    video_offset_s: form.video_offset.map(|s| s.0),
                    invented: form.invented,
                }
            }
        }
    };
}

survey!(
    title,
    ordered_by,
    site,
    date_time,
    operator,
    licence,
    company,
    permit,
    weather_48h,
    water_run,
    water,
    cleaned_before,
    complaint,
    entry,
    riser_height,
    stopped_at,
    stopped_because,
    not_surveyed,
    head,
    skid,
    last_checked,
    video,
    video_hash,
    locator,
    landmarks,
    signed_by,
);

/// Where on the earth the local axes lie (WGS 84).
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(super) struct OriginForm {
    pub(super) longitude: Angle,
    pub(super) latitude: Angle,
    /// Of this point in the local axes; absent: 0.
    pub(super) east: Option<Length>,
    pub(super) north: Option<Length>,
    /// Azimuth of grid north, clockwise from true north; absent: 0.
    pub(super) grid_north: Option<Angle>,
    pub(super) sd: Option<Length>,
}

#[derive(Debug, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default, expecting = "a table")]
pub(super) struct RunForm {
    pub(super) name: Option<String>,
    pub(super) log: Option<String>,
    pub(super) counter: Option<String>,
    #[cfg_attr(feature = "schema", schemars(with = "Option<String>"))]
    pub(super) counter_unit: Option<LengthUnit>,
    pub(super) reading: Option<String>,
    #[cfg_attr(feature = "schema", schemars(with = "Option<String>"))]
    pub(super) reading_unit: Option<TiltUnit>,
    pub(super) time: Option<String>,
    #[cfg_attr(feature = "schema", schemars(with = "Option<String>"))]
    #[serde(skip_serializing)]
    pub(super) time_unit: Option<TimeUnit>,
    /// Column that says whether the head moved: 1 or 0, yes or no, true or false, moving or rest.
    pub(super) moving: Option<String>,
    pub(super) roll: Option<String>,
    #[cfg_attr(feature = "schema", schemars(with = "Option<String>"))]
    #[serde(skip_serializing)]
    pub(super) roll_unit: Option<AngleUnit>,
    pub(super) temperature: Option<String>,
    #[cfg_attr(feature = "schema", schemars(with = "Option<String>"))]
    #[serde(skip_serializing)]
    pub(super) temperature_unit: Option<TemperatureUnit>,
    #[cfg_attr(feature = "schema", schemars(with = "Option<String>"))]
    #[serde(skip_serializing)]
    pub(super) encoding: Option<Encoding>,
    #[cfg_attr(feature = "schema", schemars(with = "Option<String>"))]
    #[serde(skip_serializing)]
    pub(super) delimiter: Option<Delimiter>,
    #[cfg_attr(feature = "schema", schemars(with = "Option<String>"))]
    #[serde(skip_serializing)]
    pub(super) decimal: Option<DecimalMark>,
    pub(super) tilt_positive: TiltPositive,
    pub(super) toward: Toward,
    pub(super) start_station: Option<Station>,
    /// Of a run whose stationing does not hang together with the first.
    pub(super) start_station_sd: Option<Length>,
    pub(super) start_azimuth: Option<Angle>,
    pub(super) start_azimuth_sd: Option<Angle>,
    pub(super) start_east: Option<Length>,
    pub(super) start_north: Option<Length>,
    pub(super) start_plan_sd: Option<Length>,
    pub(super) start_invert: Option<Length>,
    pub(super) start_invert_sd: Option<Length>,
    /// Readings by hand, given as a log.
    pub(super) by_hand: bool,
    /// Column of the log with the rows of the log that it was made from; "": the rows mean nothing.
    pub(super) source_row: Option<String>,
}

#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(super) struct ReadingForm {
    pub(super) station: Station,
    pub(super) tilt: Option<Tilt>,
    pub(super) slope: Option<Tilt>,
}

#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(super) struct AsBuiltForm {
    pub(super) station: Station,
    pub(super) invert: Length,
    pub(super) sd: Option<Length>,
}

#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(super) struct ReachForm {
    pub(super) from: Station,
    pub(super) to: Station,
    #[serde(default)]
    pub(super) name: String,
    #[serde(default)]
    pub(super) pipe: PipeForm,
    pub(super) owner: Option<String>,
    #[serde(default)]
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub(super) facts: BTreeMap<String, Fact>,
}

#[derive(Debug, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default, expecting = "a table")]
pub(super) struct PipeForm {
    pub(super) standard: Option<String>,
    pub(super) size: Option<String>,
    pub(super) name: Option<String>,
    pub(super) bore: Option<Length>,
    pub(super) bore_width: Option<Length>,
    pub(super) bore_height: Option<Length>,
    pub(super) nominal: Option<Size>,
    pub(super) material: Option<String>,
    pub(super) wall: Option<Length>,
    pub(super) stick: Option<Length>,
    /// Manning's n of the wall.
    pub(super) manning_n: Option<f64>,
    /// Equivalent sand roughness of the wall, for Colebrook and White.
    pub(super) roughness: Option<Length>,
}

#[derive(Debug, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default, expecting = "a table")]
pub(super) struct InstrumentForm {
    pub(super) zero: Option<Tilt>,
    pub(super) zero_sd: Option<Tilt>,
    pub(super) zero_checked: bool,
    /// Short form of a tie of this kind.
    pub(super) reversal_check: Option<ReversalForm>,
    pub(super) seating_sd: Option<Tilt>,
    pub(super) noise_sd: Option<Tilt>,
    /// Distance over which the correlation of the noise falls to 1/e; absent: estimated.
    pub(super) correlation: Option<Length>,
    pub(super) resolution: Option<Tilt>,
    pub(super) drift_sd: Option<Tilt>,
    /// Time over which the drift falls to 1/e.
    pub(super) drift_time: Option<Seconds>,
    /// Error of the sensor across its axis, where roll is logged.
    pub(super) roll_sd: Option<Tilt>,
    /// Part of the zero error that varies along the run.
    pub(super) wander_sd: Option<Tilt>,
    /// Lip at each joint that nobody noted.
    pub(super) lip_sd: Option<Length>,
    pub(super) head_length: Option<Length>,
    /// Length by which the counter moves before the head follows where the cable turns; absent: found in the log.
    pub(super) slack: Option<Length>,
    /// Time by which a reading follows the pipe late; absent: none. Used where the log has time.
    pub(super) lag: Option<Seconds>,
    pub(super) counter_scale: Option<Percent>,
    pub(super) counter_scale_sd: Option<Percent>,
}

#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(super) struct ReversalForm {
    pub(super) first: Tilt,
    pub(super) second: Tilt,
    pub(super) sd: Option<Tilt>,
    pub(super) tilt_positive: Option<TiltPositive>,
}

#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(super) struct BendForm {
    pub(super) station: Station,
    pub(super) deflection: Turn,
    pub(super) deflection_sd: Option<Angle>,
    pub(super) radius: Option<Length>,
}

#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(super) struct StepForm {
    pub(super) station: Station,
    pub(super) rise: Length,
    pub(super) rise_sd: Option<Length>,
}

#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(super) struct FeatureForm {
    pub(super) kind: FeatureKind,
    pub(super) station: Station,
    pub(super) to: Option<Station>,
    #[serde(default)]
    pub(super) text: String,
}

#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(super) struct GroundForm {
    pub(super) station: Station,
    pub(super) elevation: Length,
    pub(super) sd: Option<Length>,
}

#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(super) struct NoteForm {
    pub(super) station: Option<Station>,
    pub(super) to: Option<Station>,
    #[serde(default)]
    pub(super) text: String,
    pub(super) photo: Option<String>,
    pub(super) video_time: Option<Span>,
    #[serde(default)]
    pub(super) water_seen: bool,
    /// The pipe was seen dry here.
    #[serde(default)]
    pub(super) dry_seen: bool,
    /// How far the tilt may be off here because the head did not lie on the bottom (debris, deep water).
    pub(super) tilt_sd: Option<Tilt>,
}

/// Something on the surface that places are taped out from.
#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(super) struct LandmarkForm {
    pub(super) name: String,
    pub(super) east: Length,
    pub(super) north: Length,
    pub(super) sd: Option<Length>,
}

/// A dig that somebody plans.
#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(super) struct DigForm {
    pub(super) station: Station,
    pub(super) station_sd: Option<Length>,
    #[serde(default)]
    pub(super) name: String,
    /// What is wanted there, in plain words.
    #[serde(default)]
    pub(super) wanted: String,
}

/// When nobody may dig by a sheet, and where it is dug by hand.
#[derive(Debug, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default, expecting = "a table")]
pub(super) struct DiggingForm {
    /// Most that half of the 95 % interval across the pipe may be.
    pub(super) across: Option<Length>,
    /// A place measured from the surface must lie within this along the pipe.
    pub(super) tie_within: Option<Length>,
    /// One-sided probability that the top of the pipe is not above the shallow end.
    pub(super) confidence: Option<Percent>,
    /// How much before the shallow end it is dug by hand.
    pub(super) margin: Option<Length>,
}

impl DiggingForm {
    pub(super) fn is_given(&self) -> bool {
        let Self { across, tie_within, confidence, margin } = self;
        across.is_some() || tie_within.is_some() || confidence.is_some() || margin.is_some()
    }
}

#[derive(Debug, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default, expecting = "a table")]
pub(super) struct SegmentsForm {
    pub(super) method: Method,
    pub(super) breaks: Option<Vec<Station>>,
}

/// How segments are found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub(super) enum Method {
    /// Penalised segmentation of the readings.
    #[default]
    Fitted,
    /// One segment for each reading.
    Raw,
    /// Breaks at given stations.
    Given,
}

/// What the pipes have to carry.
#[derive(Debug, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default, expecting = "a table")]
pub(super) struct CapacityForm {
    pub(super) formula: Option<Formula>,
    /// Manning's n of pipes that give none.
    pub(super) manning_n: Option<f64>,
    /// Equivalent sand roughness of pipes that give none.
    pub(super) roughness: Option<Length>,
    /// Kinematic viscosity of the water; either this or its temperature.
    pub(super) viscosity: Option<Viscosity>,
    /// Temperature of the water, from which its viscosity is reckoned.
    #[serde(skip_serializing)]
    pub(super) temperature: Option<Temperature>,
    /// Flow to carry; either this or `discharge`.
    pub(super) flow: Option<FlowRate>,
    /// What discharges into the drain (EN 12056-2).
    pub(super) discharge: Option<DischargeForm>,
    /// How deep the flow may stand, as a share of the bore.
    pub(super) filling: Option<Percent>,
    pub(super) least_velocity: Option<Velocity>,
    pub(super) least_shear: Option<Shear>,
}

#[derive(Debug, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, expecting = "a table")]
pub(super) struct DischargeForm {
    pub(super) frequency: Use,
    /// Needed where fixtures are given.
    pub(super) system: Option<System>,
    /// How many of each, by its name.
    #[serde(default)]
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub(super) fixtures: BTreeMap<String, u32>,
    /// Discharge units one by one.
    #[serde(default)]
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) units: Vec<FlowRate>,
    /// What flows all the time.
    pub(super) continuous: Option<FlowRate>,
}

#[derive(Debug, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default, expecting = "a table")]
pub(super) struct RulesForm {
    pub(super) rulebook: Option<String>,
    pub(super) file: Option<String>,
    pub(super) work: Work,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub(super) facts: BTreeMap<String, Fact>,
}

#[derive(Debug, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default, expecting = "a table")]
pub(super) struct ReportForm {
    pub(super) words: Words,
    /// File of another language.
    pub(super) language: Option<String>,
    pub(super) decimal: Option<Decimal>,
    pub(super) paper: Option<Paper>,
    pub(super) draws: Option<usize>,
    pub(super) seed: Seed,
}

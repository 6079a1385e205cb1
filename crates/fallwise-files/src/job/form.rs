//! The tables of a job's text form, one struct each. Keys are the names of `fallwise::model` without their unit.

use std::collections::BTreeMap;

use fallwise::{
    model::{FeatureKind, Flow, Pipe, ReportChoice, SegmentChoice, Survey, TiltPositive, Toward, Work},
    section::Bore,
    units::{LengthUnit, TiltUnit},
};
use serde::Deserialize;

use super::quantity::{Angle, Fact, Length, Offset, Percent, Size, Span, Station, Tilt, Turn};
use crate::log::{DecimalMark, Delimiter, TimeUnit};

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct JobForm {
    pub(super) flow: Flow,
    pub(super) tailwater: Option<Length>,
    pub(super) survey: SurveyForm,
    pub(super) run: Vec<RunForm>,
    pub(super) reading: Vec<ReadingForm>,
    pub(super) as_built: Vec<AsBuiltForm>,
    pub(super) reach: Vec<ReachForm>,
    pub(super) instrument: InstrumentForm,
    pub(super) bend: Vec<BendForm>,
    pub(super) step: Vec<StepForm>,
    pub(super) feature: Vec<FeatureForm>,
    pub(super) ground: Vec<GroundForm>,
    pub(super) note: Vec<NoteForm>,
    pub(super) segments: SegmentsForm,
    pub(super) rules: RulesForm,
    pub(super) report: ReportChoice,
}

/// The survey's facts: text, but for a length and a yes or no.
macro_rules! survey {
    ($($text:ident),+ $(,)?) => {
        #[derive(Debug, Default, Deserialize)]
        #[serde(deny_unknown_fields, default)]
        pub(super) struct SurveyForm {
            $($text: Option<String>,)+
            about_length: Option<Length>,
            video_offset: Option<Offset>,
            invented: bool,
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

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct RunForm {
    pub(super) name: Option<String>,
    pub(super) log: Option<String>,
    pub(super) counter: Option<String>,
    pub(super) counter_unit: Option<LengthUnit>,
    pub(super) reading: Option<String>,
    pub(super) reading_unit: Option<TiltUnit>,
    pub(super) time: Option<String>,
    pub(super) time_unit: Option<TimeUnit>,
    pub(super) delimiter: Option<Delimiter>,
    pub(super) decimal: Option<DecimalMark>,
    pub(super) tilt_positive: TiltPositive,
    pub(super) toward: Toward,
    pub(super) start_station: Option<Station>,
    pub(super) start_azimuth: Option<Angle>,
    pub(super) start_azimuth_sd: Option<Angle>,
    pub(super) start_east: Option<Length>,
    pub(super) start_north: Option<Length>,
    pub(super) start_plan_sd: Option<Length>,
    pub(super) start_invert: Option<Length>,
    pub(super) start_invert_sd: Option<Length>,
}

#[derive(Debug, Deserialize)]
#[serde(try_from = "ReadingKeys")]
pub(super) struct ReadingForm {
    pub(super) station_m: f64,
    pub(super) reading_rad: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ReadingKeys {
    station: Station,
    tilt: Option<Tilt>,
    slope: Option<Tilt>,
}

impl TryFrom<ReadingKeys> for ReadingForm {
    type Error = &'static str;

    fn try_from(keys: ReadingKeys) -> Result<Self, Self::Error> {
        let ((Some(reading), None) | (None, Some(reading))) = (keys.tilt, keys.slope) else {
            return Err("a reading gives either `tilt` or `slope`");
        };
        Ok(Self { station_m: keys.station.0, reading_rad: reading.0 })
    }
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct AsBuiltForm {
    pub(super) station: Station,
    pub(super) invert: Length,
    pub(super) sd: Option<Length>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ReachForm {
    pub(super) from: Station,
    pub(super) to: Station,
    #[serde(default)]
    pub(super) name: String,
    #[serde(default)]
    pub(super) pipe: PipeForm,
    pub(super) owner: Option<String>,
    #[serde(default)]
    pub(super) facts: BTreeMap<String, Fact>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(try_from = "PipeKeys")]
pub(super) struct PipeForm(pub(super) Pipe);

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PipeKeys {
    standard: Option<String>,
    size: Option<String>,
    name: Option<String>,
    bore: Option<Length>,
    bore_width: Option<Length>,
    bore_height: Option<Length>,
    nominal: Option<Size>,
    material: Option<String>,
    wall: Option<Length>,
    stick: Option<Length>,
}

impl TryFrom<PipeKeys> for PipeForm {
    type Error = String;

    fn try_from(keys: PipeKeys) -> Result<Self, Self::Error> {
        let bore = match (keys.bore, keys.bore_width, keys.bore_height) {
            (None, None, None) => None,
            (Some(diameter), None, None) => Some(Bore::Circle { diameter_m: diameter.0 }),
            (None, Some(width), Some(height)) => Some(Bore::Ellipse { width_m: width.0, height_m: height.0 }),
            _ => return Err("a pipe gives either `bore`, or both `bore_width` and `bore_height`".to_owned()),
        };
        let mut pipe = match (keys.standard, keys.size) {
            (None, None) => {
                Pipe { bore, nominal: keys.nominal.map(|n| n.0), wall_m: keys.wall.map(|l| l.0), ..Pipe::default() }
            }
            (Some(standard), Some(size)) => {
                if bore.is_some() || keys.nominal.is_some() || keys.wall.is_some() {
                    return Err(
                        "a pipe gives either `standard` and `size`, or its own bore, nominal size and wall".to_owned()
                    );
                }
                Pipe::standard(&standard, &size).map_err(|e| e.to_string())?
            }
            _ => return Err("a pipe by its standard gives both `standard` and `size`".to_owned()),
        };
        if let Some(name) = keys.name {
            pipe.name = name;
        }
        pipe.material = keys.material.or(pipe.material);
        pipe.stick_m = keys.stick.map(|l| l.0).or(pipe.stick_m);
        Ok(Self(pipe))
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct InstrumentForm {
    pub(super) zero: Option<Tilt>,
    pub(super) zero_sd: Option<Tilt>,
    pub(super) reversal_check: Option<ReversalForm>,
    pub(super) seating_sd: Option<Tilt>,
    pub(super) noise_sd: Option<Tilt>,
    pub(super) resolution: Option<Tilt>,
    pub(super) head_length: Option<Length>,
    pub(super) counter_scale: Option<Percent>,
    pub(super) counter_scale_sd: Option<Percent>,
}

#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ReversalForm {
    pub(super) first: Tilt,
    pub(super) second: Tilt,
    pub(super) sd: Option<Tilt>,
    pub(super) tilt_positive: Option<TiltPositive>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct BendForm {
    pub(super) station: Station,
    pub(super) deflection: Turn,
    pub(super) deflection_sd: Option<Angle>,
    pub(super) radius: Option<Length>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct StepForm {
    pub(super) station: Station,
    pub(super) rise: Length,
    pub(super) rise_sd: Option<Length>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FeatureForm {
    pub(super) kind: FeatureKind,
    pub(super) station: Station,
    pub(super) to: Option<Station>,
    #[serde(default)]
    pub(super) text: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct GroundForm {
    pub(super) station: Station,
    pub(super) elevation: Length,
    pub(super) sd: Option<Length>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct NoteForm {
    pub(super) station: Option<Station>,
    pub(super) to: Option<Station>,
    #[serde(default)]
    pub(super) text: String,
    pub(super) photo: Option<String>,
    pub(super) video_time: Option<Span>,
    #[serde(default)]
    pub(super) water_seen: bool,
}

#[derive(Debug, Default, Deserialize)]
#[serde(try_from = "SegmentsKeys")]
pub(super) struct SegmentsForm(pub(super) SegmentChoice);

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SegmentsKeys {
    method: Method,
    breaks: Option<Vec<Station>>,
}

#[derive(Deserialize)]
#[serde(rename_all = "lowercase")]
enum Method {
    Fitted,
    Raw,
    Given,
}

impl TryFrom<SegmentsKeys> for SegmentsForm {
    type Error = &'static str;

    fn try_from(keys: SegmentsKeys) -> Result<Self, Self::Error> {
        Ok(Self(match (keys.method, keys.breaks) {
            (Method::Fitted, None) => SegmentChoice::Fitted,
            (Method::Raw, None) => SegmentChoice::Raw,
            (Method::Given, breaks) => {
                SegmentChoice::Given { breaks_m: breaks.unwrap_or_default().iter().map(|s| s.0).collect() }
            }
            (_, Some(_)) => return Err("`breaks` go with method = \"given\" only"),
        }))
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct RulesForm {
    pub(super) rulebook: Option<String>,
    pub(super) file: Option<String>,
    pub(super) work: Work,
    pub(super) facts: BTreeMap<String, Fact>,
}

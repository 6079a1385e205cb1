//! A job written back to its text form: TOML or JSON, and a CSV log for each run with readings.
//!
//! Quantities are text in SI units with the digits that give the same number when read (but the sign of a zero). Every
//! run is a log beside the job, but readings by hand that the form can hold as `[[reading]]`s. What was written is read
//! again and compared before it is handed out.

use std::collections::BTreeMap;

use fallwise::{
    Bore, Job,
    model::{
        AsBuilt, Bend, Capacity, Dig, DigOptions, Discharge, Feature, GroundPoint, Instrument, Landmark, Note, Origin,
        Pipe, Reach, ReportChoice, RulesChoice, Run, SegmentChoice, Step, Tie,
    },
};

use super::{
    VERSION, convert,
    form::{
        AsBuiltForm, BendForm, CapacityForm, DigForm, DiggingForm, DischargeForm, FeatureForm, GroundForm,
        InstrumentForm, JobForm, LandmarkForm, Method, NoteForm, OriginForm, PipeForm, ReachForm, ReadingForm,
        ReportForm, RulesForm, RunForm, SegmentsForm, StepForm, SurveyForm,
    },
    quantity::{
        Angle, Fact, FlowRate, Length, Percent, Seconds, Seed, Shear, Size, Span, Station, Tilt, Turn, Velocity,
        Viscosity,
    },
    read_json, read_text,
    tie::{self, TieForm},
};
use crate::{
    error::{FileError, Place},
    resolver::MemoryResolver,
};

/// A job in its text form, and the logs it names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    /// The job.
    pub text: String,
    /// The logs by name, to be written beside it; a resolver that reads the job back from memory.
    pub logs: MemoryResolver,
}

/// The job as TOML; [`read_text`] reads the same job from it.
///
/// # Errors
/// A job that the form cannot hold: a number that is not finite, a run without readings, an unknown rulebook. The error
/// names the key.
///
/// # Example
/// ```
/// use fallwise::{Job, Run};
/// use fallwise_files::job;
///
/// let run = Run { name: "from the eye".into(), ..Run::new(vec![0.0, 0.1, 0.2], vec![0.02, 0.021, 0.019]) };
/// let job = Job { runs: vec![run], ..Job::default() };
/// let written = job::to_toml(&job)?;
/// assert_eq!(job::read_text(&written.text, "job.toml", &written.logs)?.job, job);
/// assert!(written.logs.0.contains_key("run-1.csv"));
/// # Ok::<(), fallwise_files::FileError>(())
/// ```
pub fn to_toml(job: &Job) -> Result<Written, FileError> {
    let (form, logs) = form(job, "job.toml")?;
    let text = toml::to_string(&form).map_err(|e| FileError::new(Place::File, e.to_string()).in_file("job.toml"))?;
    same(job, &read_text(&text, "job.toml", &logs)?.job, "job.toml")?;
    Ok(Written { text, logs })
}

/// The job as JSON (keys sorted, indented); [`read_json`] reads the same job from it.
///
/// # Errors
/// As [`to_toml`].
pub fn to_json(job: &Job) -> Result<Written, FileError> {
    let (form, logs) = form(job, "job.json")?;
    let fault = |e: serde_json::Error| FileError::new(Place::File, e.to_string()).in_file("job.json");
    let mut value = serde_json::to_value(&form).map_err(fault)?;
    without_null(&mut value);
    let mut text = serde_json::to_string_pretty(&value).map_err(fault)?;
    text.push('\n');
    same(job, &read_json(&text, "job.json", &logs)?.job, "job.json")?;
    Ok(Written { text, logs })
}

fn same(job: &Job, read: &Job, file: &str) -> Result<(), FileError> {
    if job == read {
        return Ok(());
    }
    Err(FileError::new(Place::File, "the form of jobs cannot hold this job: read back it is another").in_file(file))
}

fn without_null(value: &mut serde_json::Value) {
    match value {
        serde_json::Value::Object(members) => {
            members.retain(|_, member| !member.is_null());
            members.values_mut().for_each(without_null);
        }
        serde_json::Value::Array(items) => items.iter_mut().for_each(without_null),
        _ => {}
    }
}

// Every struct of the model is taken apart by name, so that a field that comes to it later cannot be forgotten here.

fn form(job: &Job, file: &str) -> Result<(JobForm, MemoryResolver), FileError> {
    let Job {
        survey,
        origin,
        runs,
        as_built,
        as_built_use,
        ties,
        reaches,
        instrument,
        bends,
        steps,
        features,
        ground,
        notes,
        landmarks,
        digs,
        digging,
        flow,
        segments,
        tailwater_m,
        capacity,
        rules,
        report,
        relay,
    } = job;
    let mut logs = MemoryResolver::default();
    let mut reading = Vec::new();
    let by_hand = match runs.iter().filter(|r| r.by_hand).collect::<Vec<_>>().as_slice() {
        [only] => readings(only),
        _ => None,
    };
    let mut run_forms = Vec::with_capacity(runs.len());
    for (i, run) in runs.iter().enumerate() {
        let mut form = described(run);
        match &by_hand {
            Some(_) if run.by_hand => form.by_hand = false,
            _ => {
                let name = format!("run-{}.csv", i + 1);
                form.counter = Some("counter (m)".to_owned());
                form.reading = Some("reading (rad)".to_owned());
                form.time = run.time_s.as_ref().map(|_| "time (s)".to_owned());
                form.moving = run.moving.as_ref().map(|_| "moving".to_owned());
                form.roll = run.roll_rad.as_ref().map(|_| "roll (rad)".to_owned());
                form.temperature = run.temperature_c.as_ref().map(|_| "temperature (C)".to_owned());
                form.source_row = Some(if run.source_row.is_some() { "row".to_owned() } else { String::new() });
                logs.0.insert(name.clone(), log(run).into_bytes());
                form.log = Some(name);
            }
        }
        run_forms.push(form);
    }
    if let Some(readings) = by_hand {
        reading = readings;
    }
    let form = JobForm {
        version: Some(VERSION),
        flow: *flow,
        tailwater: tailwater_m.map(Length),
        as_built_use: *as_built_use,
        survey: SurveyForm::from(survey),
        origin: origin.map(|Origin { longitude_rad, latitude_rad, east_m, north_m, grid_north_rad, sd_m }| {
            OriginForm {
                longitude: Angle(longitude_rad),
                latitude: Angle(latitude_rad),
                east: Some(Length(east_m)),
                north: Some(Length(north_m)),
                grid_north: Some(Angle(grid_north_rad)),
                sd: sd_m.map(Length),
            }
        }),
        run: run_forms,
        reading,
        as_built: as_built
            .iter()
            .map(|AsBuilt { station_m, invert_m, sd_m }| AsBuiltForm {
                station: Station(*station_m),
                invert: Length(*invert_m),
                sd: sd_m.map(Length),
            })
            .collect(),
        tie: tie_forms(ties, file)?,
        reach: reaches.iter().map(reach).collect(),
        instrument: instrument_form(instrument),
        bend: bends
            .iter()
            .map(|Bend { station_m, deflection_rad, deflection_sd_rad, radius_m }| BendForm {
                station: Station(*station_m),
                deflection: Turn(*deflection_rad),
                deflection_sd: Some(Angle(*deflection_sd_rad)),
                radius: radius_m.map(Length),
            })
            .collect(),
        step: steps
            .iter()
            .map(|Step { station_m, rise_m, rise_sd_m }| StepForm {
                station: Station(*station_m),
                rise: Length(*rise_m),
                rise_sd: Some(Length(*rise_sd_m)),
            })
            .collect(),
        feature: features
            .iter()
            .map(|Feature { kind, station_m, to_m, text }| FeatureForm {
                kind: *kind,
                station: Station(*station_m),
                to: to_m.map(Station),
                text: text.clone(),
            })
            .collect(),
        ground: ground
            .iter()
            .map(|GroundPoint { station_m, elevation_m, sd_m }| GroundForm {
                station: Station(*station_m),
                elevation: Length(*elevation_m),
                sd: sd_m.map(Length),
            })
            .collect(),
        note: notes
            .iter()
            .map(|Note { station_m, to_m, text, photo, video_time_s, water_seen, dry_seen, tilt_sd_rad }| NoteForm {
                station: station_m.map(Station),
                to: to_m.map(Station),
                text: text.clone(),
                photo: photo.clone(),
                video_time: video_time_s.map(Span),
                water_seen: *water_seen,
                dry_seen: *dry_seen,
                tilt_sd: tilt_sd_rad.map(Tilt),
            })
            .collect(),
        landmark: landmarks
            .iter()
            .map(|Landmark { name, east_m, north_m, sd_m }| LandmarkForm {
                name: name.clone(),
                east: Length(*east_m),
                north: Length(*north_m),
                sd: Some(Length(*sd_m)),
            })
            .collect(),
        dig: digs
            .iter()
            .map(|Dig { station_m, station_sd_m, name, wanted }| DigForm {
                station: Station(*station_m),
                station_sd: Some(Length(*station_sd_m)),
                name: name.clone(),
                wanted: wanted.clone(),
            })
            .collect(),
        // Without a dig they are for nothing, which is odd to read.
        digging: if digs.is_empty() && *digging == DigOptions::default() {
            DiggingForm::default()
        } else {
            let DigOptions { across_m, tie_within_m, confidence, margin_m } = digging;
            DiggingForm {
                across: Some(Length(*across_m)),
                tie_within: Some(Length(*tie_within_m)),
                confidence: Some(Percent(*confidence)),
                margin: Some(Length(*margin_m)),
            }
        },
        segments: match segments {
            SegmentChoice::Fitted => SegmentsForm { method: Method::Fitted, breaks: None },
            SegmentChoice::Raw => SegmentsForm { method: Method::Raw, breaks: None },
            SegmentChoice::Given { breaks_m } => SegmentsForm {
                method: Method::Given,
                breaks: Some(breaks_m.iter().map(|m| Station(*m)).collect()).filter(|b: &Vec<_>| !b.is_empty()),
            },
        },
        capacity: capacity.as_ref().map(capacity_form),
        rules: {
            let RulesChoice { rulebook, work, facts } = rules;
            RulesForm { rulebook: rulebook.clone(), file: None, work: *work, facts: facts_form(facts) }
        },
        report: {
            let ReportChoice { words, decimal, paper, draws, seed } = report;
            ReportForm {
                words: *words,
                language: None,
                decimal: *decimal,
                paper: *paper,
                draws: Some(*draws),
                seed: Seed(*seed),
            }
        },
        relay: relay.as_ref().map(Into::into),
    };
    Ok((form, logs))
}

fn tie_forms(ties: &[Tie], file: &str) -> Result<Vec<TieForm>, FileError> {
    let told = |i, why| FileError::new(Place::File, why).in_file(file).field(format!("tie[{i}]"));
    ties.iter().enumerate().map(|(i, tie)| tie::form(tie).map_err(|why| told(i, why))).collect()
}

fn facts_form(facts: &BTreeMap<String, String>) -> BTreeMap<String, Fact> {
    facts.iter().map(|(key, fact)| (key.clone(), Fact(fact.clone()))).collect()
}

fn reach(reach: &Reach) -> ReachForm {
    let Reach { from_m, to_m, name, pipe, owner, facts } = reach;
    let Pipe { name: pipe_name, bore, nominal, material, wall_m, stick_m, manning_n, roughness_m } = pipe;
    let (diameter, width, height) = match bore {
        None => (None, None, None),
        Some(Bore::Circle { diameter_m }) => (Some(*diameter_m), None, None),
        Some(Bore::Ellipse { width_m, height_m }) => (None, Some(*width_m), Some(*height_m)),
    };
    ReachForm {
        from: Station(*from_m),
        to: Station(*to_m),
        name: name.clone(),
        pipe: PipeForm {
            standard: None,
            size: None,
            name: Some(pipe_name.clone()),
            bore: diameter.map(Length),
            bore_width: width.map(Length),
            bore_height: height.map(Length),
            nominal: nominal.map(Size),
            material: material.clone(),
            wall: wall_m.map(Length),
            stick: stick_m.map(Length),
            manning_n: *manning_n,
            roughness: roughness_m.map(Length),
        },
        owner: owner.clone(),
        facts: facts_form(facts),
    }
}

fn capacity_form(capacity: &Capacity) -> CapacityForm {
    let Capacity {
        formula,
        manning_n,
        roughness_m,
        viscosity_m2_s,
        flow_m3_s,
        discharge,
        filling,
        least_velocity_m_s,
        least_shear_pa,
    } = capacity;
    CapacityForm {
        formula: *formula,
        manning_n: *manning_n,
        roughness: roughness_m.map(Length),
        viscosity: viscosity_m2_s.map(Viscosity),
        temperature: None,
        flow: flow_m3_s.map(FlowRate),
        discharge: discharge.as_ref().map(|Discharge { frequency, system, fixtures, units_m3_s, continuous_m3_s }| {
            DischargeForm {
                frequency: *frequency,
                system: *system,
                fixtures: fixtures.clone(),
                units: units_m3_s.iter().copied().map(FlowRate).collect(),
                continuous: continuous_m3_s.map(FlowRate),
            }
        }),
        filling: filling.map(Percent),
        least_velocity: least_velocity_m_s.map(Velocity),
        least_shear: least_shear_pa.map(Shear),
    }
}

fn instrument_form(instrument: &Instrument) -> InstrumentForm {
    let Instrument {
        zero_rad,
        zero_sd_rad,
        zero_checked,
        seating_sd_rad,
        noise_sd_rad,
        correlation_m,
        resolution_rad,
        drift_sd_rad,
        drift_s,
        roll_sd_rad,
        wander_sd_rad,
        lip_sd_m,
        head_length_m,
        counter_scale,
        counter_scale_sd,
        slack_m,
        lag_s,
    } = instrument;
    InstrumentForm {
        zero: Some(Tilt(*zero_rad)),
        zero_sd: Some(Tilt(*zero_sd_rad)),
        zero_checked: *zero_checked,
        reversal_check: None,
        seating_sd: Some(Tilt(*seating_sd_rad)),
        noise_sd: noise_sd_rad.map(Tilt),
        correlation: correlation_m.map(Length),
        resolution: resolution_rad.map(Tilt),
        drift_sd: Some(Tilt(*drift_sd_rad)),
        drift_time: Some(Seconds(*drift_s)),
        roll_sd: Some(Tilt(*roll_sd_rad)),
        wander_sd: Some(Tilt(*wander_sd_rad)),
        lip_sd: Some(Length(*lip_sd_m)),
        head_length: Some(Length(*head_length_m)),
        counter_scale: Some(Percent(*counter_scale)),
        counter_scale_sd: Some(Percent(*counter_scale_sd)),
        slack: slack_m.map(Length),
        lag: lag_s.map(Seconds),
    }
}

/// What is known of a run besides its readings.
fn described(run: &Run) -> RunForm {
    let Run {
        name,
        counter_m: _,
        reading_rad: _,
        time_s: _,
        moving: _,
        roll_rad: _,
        temperature_c: _,
        source_row: _,
        tilt_positive,
        toward,
        start_station_m,
        start_station_sd_m,
        by_hand,
        start_azimuth_rad,
        start_azimuth_sd_rad,
        start_east_m,
        start_north_m,
        start_plan_sd_m,
        start_invert_m,
        start_invert_sd_m,
    } = run;
    RunForm {
        name: Some(name.clone()),
        tilt_positive: *tilt_positive,
        toward: *toward,
        start_station: Some(Station(*start_station_m)),
        start_station_sd: start_station_sd_m.map(Length),
        by_hand: *by_hand,
        start_azimuth: start_azimuth_rad.map(Angle),
        start_azimuth_sd: start_azimuth_sd_rad.map(Angle),
        start_east: start_east_m.map(Length),
        start_north: start_north_m.map(Length),
        start_plan_sd: start_plan_sd_m.map(Length),
        start_invert: start_invert_m.map(Length),
        start_invert_sd: start_invert_sd_m.map(Length),
        ..RunForm::default()
    }
}

/// The `[[reading]]`s that give this run's very numbers, if they can.
fn readings(run: &Run) -> Option<Vec<ReadingForm>> {
    let beside = [&run.time_s, &run.roll_rad, &run.temperature_c].into_iter().any(Option::is_some);
    if beside || run.moving.is_some() || run.source_row.is_some() || run.counter_m.len() != run.reading_rad.len() {
        return None;
    }
    let forms: Vec<ReadingForm> = run
        .counter_m
        .iter()
        .zip(&run.reading_rad)
        .map(|(counter_m, reading_rad)| ReadingForm {
            station: Station(run.station_m(*counter_m)),
            tilt: Some(Tilt(*reading_rad)),
            slope: None,
        })
        .collect();
    let again = convert::by_hand(described(run), &forms).ok()?;
    let upright = run.reading_rad.iter().any(|r| r.abs() >= core::f64::consts::FRAC_PI_2);
    (!forms.is_empty() && !upright && again.counter_m == run.counter_m).then_some(forms)
}

/// The readings of a run as a log, numbers to the bit.
fn log(run: &Run) -> String {
    let cells = |values: &Vec<f64>| values.iter().map(|v| format!("{v:?}")).collect::<Vec<_>>();
    let columns = [
        ("counter (m)", Some(cells(&run.counter_m))),
        ("reading (rad)", Some(cells(&run.reading_rad))),
        ("time (s)", run.time_s.as_ref().map(cells)),
        ("moving", run.moving.as_ref().map(|v| v.iter().map(|m| u8::from(*m).to_string()).collect())),
        ("roll (rad)", run.roll_rad.as_ref().map(cells)),
        ("temperature (C)", run.temperature_c.as_ref().map(cells)),
        ("row", run.source_row.as_ref().map(|v| v.iter().map(ToString::to_string).collect())),
    ];
    let columns: Vec<(&str, Vec<String>)> = columns.into_iter().filter_map(|(name, v)| Some((name, v?))).collect();
    let mut text = columns.iter().map(|(name, _)| *name).collect::<Vec<_>>().join(",");
    text.push('\n');
    for i in 0..run.counter_m.len().max(run.reading_rad.len()) {
        // An array that is shorter leaves an empty cell, which is refused when it is read.
        let row = columns.iter().map(|(_, cells)| cells.get(i).map_or("", String::as_str));
        text.push_str(&row.collect::<Vec<_>>().join(","));
        text.push('\n');
    }
    text
}

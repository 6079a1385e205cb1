//! From the text form to the job, with the files it names.

use std::collections::BTreeMap;

use fallwise::{
    Rulebook,
    hydraulics::water_viscosity_m2_s,
    model::{
        AsBuilt, Bend, Capacity, Dig, DigOptions, Discharge, Feature, GroundPoint, Instrument, Job, Landmark, Note,
        Origin, Pipe, Reach, ReportChoice, RulesChoice, Run, SegmentChoice, Step, Toward,
    },
    section::Bore,
    units::Language,
};

use sha2::{Digest, Sha256};

use super::{
    Loaded, LoadedLog, as_text,
    fault::Fault,
    form::{
        CapacityForm, DiggingForm, InstrumentForm, JobForm, Method, OriginForm, PipeForm, ReadingForm, ReportForm,
        RunForm, SegmentsForm,
    },
    odd,
    quantity::{Fact, Length, Station},
    source::Source,
    tie,
};
use crate::{
    digest::input,
    error::{FileError, Place, shown},
    log::{self, LogFormat},
    resolver::{Resolver, check_name},
};

/// A fault at a path of keys.
fn fault(path: impl Into<String>, problem: impl Into<String>) -> Fault {
    Fault::new(problem).path(path)
}

/// A fault of a file that the job names, told at the key that names it.
fn of_file(path: impl Into<String>, name: &str, error: &FileError) -> Fault {
    let mut fault = fault(path, format!("\"{}\": {}", shown(name), error.problem)).value(name);
    fault.expected.clone_from(&error.expected);
    fault.nearest.clone_from(&error.nearest);
    fault
}

pub(super) fn into_job(form: JobForm, source: Source, resolver: &dyn Resolver) -> Result<Loaded, FileError> {
    let told = |fault: Fault| source.error(fault);
    ends_in_order(&form).map_err(told)?;
    let mut warnings = odd::warnings(&form);
    let mut reaches = Vec::with_capacity(form.reach.len());
    for (i, r) in form.reach.into_iter().enumerate() {
        reaches.push(Reach {
            from_m: r.from.0,
            to_m: r.to.0,
            name: r.name,
            pipe: pipe(r.pipe).map_err(|f| told(f.within("pipe").within(&format!("[{i}]")).within("reach")))?,
            owner: r.owner,
            facts: facts(r.facts),
        });
    }
    let segments = segments(form.segments).map_err(told)?;
    let capacity = form.capacity.map(capacity).transpose().map_err(told)?;
    if form.run.is_empty() && form.reading.is_empty() && form.as_built.is_empty() {
        return Err(told(
            fault("run", "the job has no data").expected("a [[run]] with a log, [[reading]]s or [[as_built]] inverts"),
        ));
    }
    let mut inputs = vec![source.input()];
    let mut logs = Vec::new();
    let mut runs = Vec::new();
    let mut contents = BTreeMap::new();
    let mut readings = Some(form.reading).filter(|r| !r.is_empty());
    for (index, run) in form.run.into_iter().enumerate() {
        runs.push(match &run.log {
            Some(log) => {
                let log = log.clone();
                let bytes = resolver.read(&log).map_err(|e| told(of_file(format!("run[{index}].log"), &log, &e)))?;
                if let Some(first) = contents.insert(Sha256::digest(&bytes), index) {
                    return Err(told(
                        fault(
                            format!("run[{index}].log"),
                            format!("\"{}\" is byte for byte the log of run {}", shown(&log), first + 1),
                        )
                        .value(log)
                        .expected("a log of its own for each run: one run counted twice would look surer than it is"),
                    ));
                }
                inputs.push(input("log", &log, &bytes));
                let (run, loaded) = logged(run, &log, &bytes, index, &mut warnings)?;
                logs.push(loaded);
                run
            }
            None => match readings.take() {
                Some(readings) => by_hand(run, &readings).map_err(told)?,
                None => {
                    return Err(told(
                        fault(format!("run[{index}].log"), "the run has neither a log nor readings by hand")
                            .expected("log = \"log.csv\", or [[reading]]s for one run without a log"),
                    ));
                }
            },
        });
    }
    if let Some(readings) = readings {
        runs.push(by_hand(RunForm::default(), &readings).map_err(told)?);
    }

    let ties = tie::ties(&form.instrument, form.tie, &runs).map_err(told)?;
    let (rulebook, rulebook_text) = match (&form.rules.rulebook, &form.rules.file) {
        (Some(_), Some(_)) => {
            return Err(told(fault("rules", "gives both `rulebook` and `file`").expected("one of them")));
        }
        (Some(name), None) => (Some(Rulebook::shipped(name).map_err(|e| source.core("rules.rulebook", e))?), None),
        (None, Some(file)) => {
            let bytes = resolver.read(file).map_err(|e| told(of_file("rules.file", file, &e)))?;
            inputs.push(input("rulebook", file, &bytes));
            let text = as_text(&bytes, file)?.to_owned();
            (Some(rulebook(&text, file)?), Some(text))
        }
        (None, None) => (None, None),
    };
    let language = match &form.report.language {
        Some(file) => {
            let bytes = resolver.read(file).map_err(|e| told(of_file("report.language", file, &e)))?;
            let read = |e| FileError::from_core(Place::File, e).in_file(file);
            inputs.push(input("language", file, &bytes));
            Some(Language::parse(as_text(&bytes, file)?).map_err(read)?)
        }
        None => None,
    };
    let job = Job {
        survey: form.survey.into(),
        origin: form.origin.map(origin),
        runs,
        as_built: form
            .as_built
            .iter()
            .map(|a| AsBuilt { station_m: a.station.0, invert_m: a.invert.0, sd_m: a.sd.map(|l| l.0) })
            .collect(),
        as_built_use: form.as_built_use,
        ties,
        reaches,
        instrument: instrument(&form.instrument),
        bends: form
            .bend
            .iter()
            .map(|b| {
                let mut bend = Bend::new(b.station.0, b.deflection.0);
                bend.radius_m = b.radius.map(|l| l.0);
                if let Some(sd) = b.deflection_sd {
                    bend.deflection_sd_rad = sd.0;
                }
                bend
            })
            .collect(),
        steps: form
            .step
            .iter()
            .map(|s| Step {
                station_m: s.station.0,
                rise_m: s.rise.0,
                rise_sd_m: s.rise_sd.map_or(STEP_RISE_SD_M, |l| l.0),
            })
            .collect(),
        features: form
            .feature
            .into_iter()
            .map(|f| Feature { kind: f.kind, station_m: f.station.0, to_m: f.to.map(|s| s.0), text: f.text })
            .collect(),
        ground: form
            .ground
            .iter()
            .map(|g| GroundPoint { station_m: g.station.0, elevation_m: g.elevation.0, sd_m: g.sd.map(|l| l.0) })
            .collect(),
        notes: form
            .note
            .into_iter()
            .map(|n| Note {
                station_m: n.station.map(|s| s.0),
                to_m: n.to.map(|s| s.0),
                text: n.text,
                photo: n.photo,
                video_time_s: n.video_time.map(|t| t.0),
                water_seen: n.water_seen,
                dry_seen: n.dry_seen,
                tilt_sd_rad: n.tilt_sd.map(|t| t.0),
            })
            .collect(),
        landmarks: form
            .landmark
            .into_iter()
            .map(|l| Landmark {
                sd_m: l.sd.map_or(Landmark::SD_M, |sd| sd.0),
                ..Landmark::new(l.name, l.east.0, l.north.0)
            })
            .collect(),
        digs: form
            .dig
            .into_iter()
            .map(|d| {
                let dig = Dig::new(d.station.0);
                Dig {
                    station_sd_m: d.station_sd.map_or(dig.station_sd_m, |sd| sd.0),
                    name: d.name,
                    wanted: d.wanted,
                    ..dig
                }
            })
            .collect(),
        digging: digging(&form.digging),
        flow: form.flow,
        segments,
        tailwater_m: form.tailwater.map(|l| l.0),
        capacity,
        rules: RulesChoice { rulebook: form.rules.rulebook, work: form.rules.work, facts: facts(form.rules.facts) },
        report: report(&form.report),
        relay: form.relay.map(Into::into),
    };
    Ok(Loaded { job, rulebook, rulebook_text, language, logs, inputs, warnings, source })
}

/// A rulebook beside the job, with its faults in the words of a file.
pub(super) fn rulebook(text: &str, file: &str) -> Result<Rulebook, FileError> {
    Rulebook::parse(text).map_err(|error| match &error {
        fallwise::Error::Rulebook { line, column, message } => {
            let place = line.zip(*column).map_or(Place::File, |(line, column)| Place::Line { line, column });
            let mut told = FileError::new(place, message.clone()).in_file(file);
            if let Some((_, rest)) = message.split_once("did you mean \"") {
                told = told.nearest_is(rest.split('"').next().unwrap_or_default());
            }
            told.with_core(error)
        }
        _ => FileError::from_core(Place::File, error).in_file(file),
    })
}

/// Refuses what ends before it begins, and photos that are not below the job's folder.
fn ends_in_order(form: &JobForm) -> Result<(), Fault> {
    let check = |table: &str, i: usize, from: Station, to: Option<Station>| match to.filter(|to| to.0 < from.0) {
        Some(_) => Err(fault(format!("{table}[{i}].to"), "the end lies before the start")
            .expected("a station at or beyond that of `station`")),
        None => Ok(()),
    };
    for (i, feature) in form.feature.iter().enumerate() {
        check("feature", i, feature.station, feature.to)?;
    }
    for (i, note) in form.note.iter().enumerate() {
        match note.station {
            Some(station) => check("note", i, station, note.to)?,
            None if note.video_time.is_none() => {
                return Err(fault(format!("note[{i}]"), "the note has no place")
                    .expected("`station`, or `video_time` where the log has a time"));
            }
            None => {}
        }
        if let Some(photo) = &note.photo {
            check_name(photo).map_err(|e| of_file(format!("note[{i}].photo"), photo, &e))?;
        }
    }
    Ok(())
}

fn origin(form: OriginForm) -> Origin {
    Origin {
        longitude_rad: form.longitude.0,
        latitude_rad: form.latitude.0,
        east_m: form.east.map_or(0.0, |l| l.0),
        north_m: form.north.map_or(0.0, |l| l.0),
        grid_north_rad: form.grid_north.map_or(0.0, |a| a.0),
        sd_m: form.sd.map(|l| l.0),
    }
}

fn digging(form: &DiggingForm) -> DigOptions {
    let default = DigOptions::default();
    let DiggingForm { across, tie_within, confidence, margin } = form;
    DigOptions {
        across_m: across.map_or(default.across_m, |l| l.0),
        tie_within_m: tie_within.map_or(default.tie_within_m, |l| l.0),
        confidence: confidence.map_or(default.confidence, |p| p.0),
        margin_m: margin.map_or(default.margin_m, |l| l.0),
    }
}

fn facts(facts: BTreeMap<String, Fact>) -> BTreeMap<String, String> {
    facts.into_iter().map(|(key, fact)| (key, fact.0)).collect()
}

fn report(form: &ReportForm) -> ReportChoice {
    let default = ReportChoice::default();
    let ReportForm { words, language: _, decimal, paper, draws, seed } = form;
    ReportChoice {
        words: *words,
        decimal: *decimal,
        paper: *paper,
        draws: draws.unwrap_or(default.draws),
        seed: seed.0,
    }
}

fn segments(form: SegmentsForm) -> Result<SegmentChoice, Fault> {
    let breaks_m = form.breaks.map(|breaks| breaks.iter().map(|s| s.0).collect());
    match (form.method, breaks_m) {
        (Method::Fitted, None) => Ok(SegmentChoice::Fitted),
        (Method::Raw, None) => Ok(SegmentChoice::Raw),
        (Method::Given, breaks_m) => Ok(SegmentChoice::Given { breaks_m: breaks_m.unwrap_or_default() }),
        (_, Some(_)) => Err(fault("segments.breaks", "`breaks` go with method = \"given\" only")),
    }
}

fn capacity(form: CapacityForm) -> Result<Capacity, Fault> {
    let at =
        |key: &str, error: fallwise::Error| <Fault as serde::de::Error>::custom(error).path(format!("capacity.{key}"));
    let viscosity_m2_s = match (form.viscosity, form.temperature) {
        (Some(_), Some(_)) => {
            return Err(fault("capacity", "gives both `viscosity` and `temperature`").expected("one of them"));
        }
        (viscosity, None) => viscosity.map(|v| v.0),
        (None, Some(t)) => Some(water_viscosity_m2_s(t.0).map_err(|e| at("temperature", e))?),
    };
    Ok(Capacity {
        formula: form.formula,
        manning_n: form.manning_n,
        roughness_m: form.roughness.map(|l| l.0),
        viscosity_m2_s,
        flow_m3_s: form.flow.map(|q| q.0),
        discharge: form.discharge.map(|d| Discharge {
            frequency: d.frequency,
            system: d.system,
            fixtures: d.fixtures,
            units_m3_s: d.units.iter().map(|q| q.0).collect(),
            continuous_m3_s: d.continuous.map(|q| q.0),
        }),
        filling: form.filling.map(|p| p.0),
        least_velocity_m_s: form.least_velocity.map(|v| v.0),
        least_shear_pa: form.least_shear.map(|tau| tau.0),
    })
}

fn pipe(form: PipeForm) -> Result<Pipe, Fault> {
    let bore = match (form.bore, form.bore_width, form.bore_height) {
        (None, None, None) => None,
        (Some(Length(diameter_m)), None, None) => Some(Bore::Circle { diameter_m }),
        (None, Some(Length(width_m)), Some(Length(height_m))) => Some(Bore::Ellipse { width_m, height_m }),
        _ => return Err(Fault::new("a pipe gives either `bore`, or both `bore_width` and `bore_height`")),
    };
    let mut pipe = match (&form.standard, &form.size) {
        (None, None) => {
            Pipe { bore, nominal: form.nominal.map(|n| n.0), wall_m: form.wall.map(|l| l.0), ..Pipe::default() }
        }
        (Some(standard), Some(size)) => {
            if bore.is_some() || form.nominal.is_some() || form.wall.is_some() {
                return Err(Fault::new(
                    "a pipe gives either `standard` and `size`, or its own bore, nominal size and wall",
                ));
            }
            Pipe::standard(standard, size).map_err(|error| {
                let (key, word) = match &error {
                    fallwise::Error::Unknown { what, .. } if what.starts_with("size") => ("size", size),
                    _ => ("standard", standard),
                };
                <Fault as serde::de::Error>::custom(error).path(key).value(word.as_str())
            })?
        }
        _ => return Err(Fault::new("a pipe by its standard gives both `standard` and `size`")),
    };
    if let Some(name) = form.name {
        pipe.name = name;
    }
    pipe.material = form.material.or(pipe.material);
    pipe.stick_m = form.stick.map(|l| l.0).or(pipe.stick_m);
    pipe.manning_n = form.manning_n;
    pipe.roughness_m = form.roughness.map(|l| l.0);
    Ok(pipe)
}

/// Default standard deviation of a step's rise, m: that of `fallwise::model::Step`.
const STEP_RISE_SD_M: f64 = 0.003;

/// A run with a log.
fn logged(
    form: RunForm,
    log: &str,
    bytes: &[u8],
    index: usize,
    warnings: &mut Vec<String>,
) -> Result<(Run, LoadedLog), FileError> {
    let format = LogFormat {
        counter: form.counter.clone(),
        counter_unit: form.counter_unit,
        reading: form.reading.clone(),
        reading_unit: form.reading_unit,
        time: form.time.clone(),
        time_unit: form.time_unit,
        moving: form.moving.clone(),
        roll: form.roll.clone(),
        roll_unit: form.roll_unit,
        temperature: form.temperature.clone(),
        temperature_unit: form.temperature_unit,
        encoding: form.encoding,
        delimiter: form.delimiter,
        decimal: form.decimal,
    };
    let table = log::read(bytes, &format).map_err(|e| e.in_file(shown(log)))?;
    warnings.extend(table.warnings.iter().map(|w| format!("{}: {w}", shown(log))));
    let mut run = Run::new(table.counter_m, table.reading_rad);
    run.time_s = table.time_s;
    run.moving = table.moving;
    run.roll_rad = table.roll_rad;
    run.temperature_c = table.temperature_c;
    run.source_row = source_rows(form.source_row.as_deref(), table.source_row, &table.extra, log)?;
    run.by_hand = form.by_hand;
    log.clone_into(&mut run.name);
    described(&mut run, form);
    Ok((run, LoadedLog { name: log.to_owned(), run: index, found: table.found, extra: table.extra }))
}

/// The rows that readings come from: those of the log, those that a column of it gives, or none.
fn source_rows(
    column: Option<&str>,
    rows: Vec<usize>,
    extra: &[log::TextColumn],
    log: &str,
) -> Result<Option<Vec<usize>>, FileError> {
    let Some(name) = column else { return Ok(Some(rows)) };
    if name.is_empty() {
        return Ok(None);
    }
    let Some(column) = extra.iter().find(|c| c.name() == name) else {
        return Err(FileError::new(Place::File, format!("there is no column \"{}\"", shown(name)))
            .in_file(log)
            .field("source_row")
            .value(name)
            .nearest(name, extra.iter().map(log::TextColumn::name)));
    };
    let whole = |(cell, row): (&str, &usize)| {
        cell.trim().parse::<usize>().map_err(|_| {
            FileError::new(Place::Cell { row: *row, column: name.to_owned() }, format!("\"{}\" is no row", shown(cell)))
                .in_file(log)
                .value(cell)
                .expected("a whole number")
        })
    };
    column.iter().zip(&rows).map(whole).collect::<Result<_, _>>().map(Some)
}

/// The run of the readings by hand: their counter is the way from the run's start.
pub(super) fn by_hand(form: RunForm, readings: &[ReadingForm]) -> Result<Run, Fault> {
    let start_m = form.start_station.map_or(0.0, |s| s.0);
    let sign = match form.toward {
        Toward::Increasing => 1.0,
        Toward::Decreasing => -1.0,
    };
    let counter_m = readings.iter().map(|r| sign * (r.station.0 - start_m)).collect();
    let reading_rad = readings.iter().enumerate().map(|(i, r)| match (r.tilt, r.slope) {
        (Some(reading), None) | (None, Some(reading)) => Ok(reading.0),
        _ => Err(fault(format!("reading[{i}]"), "a reading gives either `tilt` or `slope`")),
    });
    let mut run = Run::new(counter_m, reading_rad.collect::<Result<_, _>>()?);
    run.by_hand = true;
    BY_HAND.clone_into(&mut run.name);
    described(&mut run, form);
    Ok(run)
}

/// Name of the run of readings by hand where it has no other.
pub(super) const BY_HAND: &str = "readings by hand";

/// What the job says of a run besides its readings.
fn described(run: &mut Run, form: RunForm) {
    if let Some(name) = form.name {
        run.name = name;
    }
    run.tilt_positive = form.tilt_positive;
    run.toward = form.toward;
    run.start_station_m = form.start_station.map_or(0.0, |s| s.0);
    run.start_station_sd_m = form.start_station_sd.map(|l| l.0);
    run.start_azimuth_rad = form.start_azimuth.map(|a| a.0);
    run.start_azimuth_sd_rad = form.start_azimuth_sd.map(|a| a.0);
    run.start_east_m = form.start_east.map(|l| l.0);
    run.start_north_m = form.start_north.map(|l| l.0);
    run.start_plan_sd_m = form.start_plan_sd.map(|l| l.0);
    run.start_invert_m = form.start_invert.map(|l| l.0);
    run.start_invert_sd_m = form.start_invert_sd.map(|l| l.0);
}

fn instrument(form: &InstrumentForm) -> Instrument {
    let default = Instrument::default();
    Instrument {
        zero_rad: form.zero.map_or(default.zero_rad, |t| t.0),
        zero_sd_rad: form.zero_sd.map_or(default.zero_sd_rad, |t| t.0),
        zero_checked: form.zero_checked,
        seating_sd_rad: form.seating_sd.map_or(default.seating_sd_rad, |t| t.0),
        noise_sd_rad: form.noise_sd.map(|t| t.0),
        correlation_m: form.correlation.map(|l| l.0),
        resolution_rad: form.resolution.map(|t| t.0),
        drift_sd_rad: form.drift_sd.map_or(default.drift_sd_rad, |t| t.0),
        drift_s: form.drift_time.map_or(default.drift_s, |t| t.0),
        roll_sd_rad: form.roll_sd.map_or(default.roll_sd_rad, |t| t.0),
        wander_sd_rad: form.wander_sd.map_or(default.wander_sd_rad, |t| t.0),
        lip_sd_m: form.lip_sd.map_or(default.lip_sd_m, |l| l.0),
        head_length_m: form.head_length.map_or(default.head_length_m, |l| l.0),
        counter_scale: form.counter_scale.map_or(default.counter_scale, |p| p.0),
        counter_scale_sd: form.counter_scale_sd.map_or(default.counter_scale_sd, |p| p.0),
        slack_m: form.slack.map(|l| l.0),
        lag_s: form.lag.map(|s| s.0),
    }
}

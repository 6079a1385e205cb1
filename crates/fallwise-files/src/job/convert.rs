//! From the text form to the job, with the files it names.

use fallwise::model::{
    AsBuilt, Bend, Feature, GroundPoint, Instrument, Job, Note, Reach, RulesChoice, Run, Step, TiltPositive, Toward,
};
use fallwise::{condition::condition, what_next::reversal_check_sd_rad};

use super::{
    Loaded, LoadedLog, as_text,
    form::{InstrumentForm, JobForm, ReadingForm, ReversalForm, RunForm},
};
use crate::{
    error::{FileError, Place, shown},
    log::{self, LogFormat},
    resolver::Resolver,
};

pub(super) fn into_job(form: JobForm, name: &str, resolver: &dyn Resolver) -> Result<Loaded, FileError> {
    let fault = |field: &str, problem: &str| FileError::new(Place::File, problem).in_file(name).field(field);
    if form.run.is_empty() && form.reading.is_empty() && form.as_built.is_empty() {
        return Err(
            fault("run", "the job has no data").expected("a [[run]] with a log, [[reading]]s or [[as_built]] inverts")
        );
    }
    let mut logs = Vec::new();
    let mut warnings = Vec::new();
    let mut runs = Vec::new();
    let mut readings = Some(form.reading).filter(|r| !r.is_empty());
    for (index, run) in form.run.into_iter().enumerate() {
        runs.push(match &run.log {
            Some(log) => {
                let log = log.clone();
                let (run, loaded) = logged(run, &log, index, resolver, &mut warnings)?;
                logs.push(loaded);
                run
            }
            None => match readings.take() {
                Some(readings) => by_hand(run, &readings),
                None => {
                    return Err(fault(&format!("run[{index}].log"), "the run has neither a log nor readings by hand")
                        .expected("log = \"log.csv\", or [[reading]]s for one run without a log"));
                }
            },
        });
    }
    if let Some(readings) = readings {
        runs.push(by_hand(RunForm::default(), &readings));
    }

    let instrument = instrument(&form.instrument, &runs).map_err(|problem| fault("instrument", problem))?;
    if form.rules.rulebook.is_some() && form.rules.file.is_some() {
        return Err(fault("rules", "gives both `rulebook` and `file`").expected("one of them"));
    }
    let rulebook_text = match &form.rules.file {
        Some(file) => Some(as_text(&resolver.read(file)?, file)?.to_owned()),
        None => None,
    };
    let facts = |facts: std::collections::BTreeMap<_, super::quantity::Fact>| {
        facts.into_iter().map(|(k, v): (String, _)| (k, v.0)).collect()
    };
    let job = Job {
        survey: form.survey.into(),
        runs,
        as_built: form
            .as_built
            .iter()
            .map(|a| AsBuilt { station_m: a.station.0, invert_m: a.invert.0, sd_m: a.sd.map(|l| l.0) })
            .collect(),
        reaches: form
            .reach
            .into_iter()
            .map(|r| Reach {
                from_m: r.from.0,
                to_m: r.to.0,
                name: r.name,
                pipe: r.pipe.0,
                owner: r.owner,
                facts: facts(r.facts),
            })
            .collect(),
        instrument,
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
                station_m: n.station.0,
                to_m: n.to.map(|s| s.0),
                text: n.text,
                photo: n.photo,
                video_time_s: n.video_time.map(|t| t.0),
                water_seen: n.water_seen,
            })
            .collect(),
        flow: form.flow,
        segments: form.segments.0,
        tailwater_m: form.tailwater.map(|l| l.0),
        rules: RulesChoice { rulebook: form.rules.rulebook, work: form.rules.work, facts: facts(form.rules.facts) },
        report: form.report,
    };
    Ok(Loaded { job, rulebook_text, logs, warnings })
}

/// Default standard deviation of a step's rise, m: that of `fallwise::model::Step`.
const STEP_RISE_SD_M: f64 = 0.003;

/// A run with a log.
fn logged(
    form: RunForm,
    log: &str,
    index: usize,
    resolver: &dyn Resolver,
    warnings: &mut Vec<String>,
) -> Result<(Run, LoadedLog), FileError> {
    let format = LogFormat {
        counter: form.counter.clone(),
        counter_unit: form.counter_unit,
        reading: form.reading.clone(),
        reading_unit: form.reading_unit,
        time: form.time.clone(),
        time_unit: form.time_unit,
        delimiter: form.delimiter,
        decimal: form.decimal,
    };
    let table = log::read(&resolver.read(log)?, &format).map_err(|e| e.in_file(shown(log)))?;
    warnings.extend(table.warnings.iter().map(|w| format!("{}: {w}", shown(log))));
    let mut run = Run::new(table.counter_m, table.reading_rad);
    run.time_s = table.time_s;
    run.source_row = Some(table.source_row);
    log.clone_into(&mut run.name);
    described(&mut run, form);
    Ok((run, LoadedLog { name: log.to_owned(), run: index, found: table.found, extra: table.extra }))
}

/// The run of the readings by hand: their counter is the way from the run's start.
fn by_hand(form: RunForm, readings: &[ReadingForm]) -> Run {
    let start_m = form.start_station.map_or(0.0, |s| s.0);
    let sign = match form.toward {
        Toward::Increasing => 1.0,
        Toward::Decreasing => -1.0,
    };
    let counter_m = readings.iter().map(|r| sign * (r.station_m - start_m)).collect();
    let mut run = Run::new(counter_m, readings.iter().map(|r| r.reading_rad).collect());
    run.by_hand = true;
    run.name = String::from("readings by hand");
    described(&mut run, form);
    run
}

/// What the job says of a run besides its readings.
fn described(run: &mut Run, form: RunForm) {
    if let Some(name) = form.name {
        run.name = name;
    }
    run.tilt_positive = form.tilt_positive;
    run.toward = form.toward;
    run.start_station_m = form.start_station.map_or(0.0, |s| s.0);
    run.start_azimuth_rad = form.start_azimuth.map(|a| a.0);
    run.start_azimuth_sd_rad = form.start_azimuth_sd.map(|a| a.0);
    run.start_east_m = form.start_east.map(|l| l.0);
    run.start_north_m = form.start_north.map(|l| l.0);
    run.start_plan_sd_m = form.start_plan_sd.map(|l| l.0);
    run.start_invert_m = form.start_invert.map(|l| l.0);
    run.start_invert_sd_m = form.start_invert_sd.map(|l| l.0);
}

/// The instrument; a reversal check gives its zero.
fn instrument(form: &InstrumentForm, runs: &[Run]) -> Result<Instrument, &'static str> {
    let default = Instrument::default();
    let mut instrument = Instrument {
        zero_rad: form.zero.map_or(default.zero_rad, |t| t.0),
        zero_sd_rad: form.zero_sd.map_or(default.zero_sd_rad, |t| t.0),
        zero_checked: false,
        seating_sd_rad: form.seating_sd.map_or(default.seating_sd_rad, |t| t.0),
        noise_sd_rad: form.noise_sd.map(|t| t.0),
        resolution_rad: form.resolution.map(|t| t.0),
        head_length_m: form.head_length.map_or(default.head_length_m, |l| l.0),
        counter_scale: form.counter_scale.map_or(default.counter_scale, |p| p.0),
        counter_scale_sd: form.counter_scale_sd.map_or(default.counter_scale_sd, |p| p.0),
    };
    if let Some(check) = form.reversal_check {
        if form.zero.is_some() || form.zero_sd.is_some() {
            return Err("gives both `reversal_check` and `zero` or `zero_sd`; the check gives the zero by itself");
        }
        reversal(&mut instrument, check, runs)?;
    }
    Ok(instrument)
}

/// The display's step: as given, else as found in the runs. A run that cannot be used is an error when it is solved.
fn display_step_rad(instrument: &Instrument, runs: &[Run]) -> f64 {
    let found = |run: &Run| condition(run, instrument, &[]).map_or(0.0, |trace| trace.resolution_rad);
    instrument.resolution_rad.unwrap_or_else(|| runs.iter().map(found).fold(0.0, f64::max))
}

/// Zero from a reversal check: the head read on a steady surface, turned end for end, and read again. Half the sum of
/// the two readings is the zero error; of two readings of equal `sd` its standard deviation is sd / sqrt 2. Without an
/// `sd` it is that of [`reversal_check_sd_rad`] for the display's step, given or found: what was expected of the check beforehand.
fn reversal(instrument: &mut Instrument, check: ReversalForm, runs: &[Run]) -> Result<(), &'static str> {
    let first_sign = runs.first().map_or(TiltPositive::Down, |r| r.tilt_positive);
    let sign = match check.tilt_positive {
        Some(sign) => sign,
        None if runs.iter().all(|r| r.tilt_positive == first_sign) => first_sign,
        None => return Err("`reversal_check` needs `tilt_positive`, since the runs differ in theirs"),
    };
    // The zero counts looking down as positive, whatever the head shows.
    let sign = match sign {
        TiltPositive::Down => 1.0,
        TiltPositive::Up => -1.0,
    };
    instrument.zero_rad = sign * (check.first.0 + check.second.0) / 2.0;
    instrument.zero_sd_rad = match check.sd {
        Some(reading_sd) => reading_sd.0 / core::f64::consts::SQRT_2,
        None => reversal_check_sd_rad(display_step_rad(instrument, runs)),
    };
    instrument.zero_checked = true;
    Ok(())
}

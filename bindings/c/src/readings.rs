//! Readings by themselves: a log from its text, and its conditioning.

use core::ffi::c_char;

#[cfg(not(feature = "files"))]
use crate::border::not_built;
use crate::{
    border::{Out, array, call, given, hand_out, options, some_array},
    build::{fw_instrument, fw_run},
    error::{Failure, fw_error},
    job::fw_job,
    status::fw_status,
    table::fw_table,
};

/// Conditions a run as solving does: a table of the readings that are left (`station_m`, `tilt_rad`, `weight`,
/// `index`), and one of what was done to the others (`index`, `action`, `reason`, `removed_fall_m`).
///
/// `instrument` NULL: what is usual. `bends_m` are `bends` stations of bends, m, or NULL. `edits` may be NULL. The
/// tables are the caller's, to be freed by fw_table_free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_condition(
    run: *const fw_run,
    instrument: *const fw_instrument,
    bends_m: *const f64,
    bends: usize,
    trace: *mut *mut fw_table,
    edits: *mut *mut fw_table,
    error: *mut fw_error,
) -> fw_status {
    /// A reading that is left.
    #[derive(serde::Serialize, serde::Deserialize)]
    struct Left {
        station_m: f64,
        tilt_rad: f64,
        weight: f64,
        index: usize,
    }
    /// What was done to one.
    #[derive(serde::Serialize, serde::Deserialize)]
    struct Done {
        index: usize,
        action: String,
        reason: String,
        removed_fall_m: f64,
    }
    call(error, || {
        // SAFETY: the caller's structs, arrays and place, by the contract of the header.
        let (run, bends_m, out) = unsafe {
            (options(run, fw_run::unset(), "run")?.run()?, array(bends_m, bends, "bends_m")?, Out::new(trace, "trace")?)
        };
        let asked = if instrument.is_null() {
            fw_instrument::usual()
        } else {
            // SAFETY: the caller's struct, by the contract of the header.
            unsafe { options(instrument, fw_instrument::usual(), "instrument") }?
        };
        let edits = if edits.is_null() {
            None
        } else {
            // SAFETY: the caller's place, by the contract of the header.
            Some(unsafe { Out::new(edits, "edits") }?)
        };
        let found = fallwise::condition::condition(&run, &asked.instrument()?, bends_m)?;
        let places = found.station_m.iter().zip(&found.tilt_rad).zip(found.weight.iter().zip(&found.index));
        let left: Vec<Left> = places
            .map(|((&station_m, &tilt_rad), (&weight, &index))| Left { station_m, tilt_rad, weight, index })
            .collect();
        let done = |edit: &fallwise::condition::Edit| Done {
            index: edit.index,
            action: match edit.action {
                fallwise::condition::Action::Dropped => "dropped",
                fallwise::condition::Action::Combined => "combined",
                fallwise::condition::Action::Flagged => "flagged",
            }
            .to_owned(),
            reason: edit.reason.to_string(),
            removed_fall_m: edit.removed_fall_m,
        };
        let (left, done) = (fw_table::of(&left)?, fw_table::of(&found.edits.iter().map(done).collect::<Vec<_>>())?);
        hand_out(out, left);
        if let Some(edits) = edits {
            hand_out(edits, done);
        }
        Ok(())
    })
}

/// Reads a log (CSV) and adds it to a job as a run of this name.
///
/// `bytes` are those of the file. `format_json` says what is known of it (columns, units, delimiter: the fields of the
/// core's `LogFormat`); NULL with a length of 0: found in the log, or an error. `like` gives what the log does not say
/// (signs, direction, start); its arrays are not used; NULL: what fw_run_init sets. Fails with FW_FORMAT: row and
/// column are in the error; the job is then as it was.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_add_log(
    job: *mut fw_job,
    name: *const c_char,
    name_length: usize,
    bytes: *const u8,
    length: usize,
    format_json: *const c_char,
    format_length: usize,
    like: *const fw_run,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle, texts and bytes, by the contract of the header.
        let (job, name, bytes, format) = unsafe {
            (
                crate::border::changed(job, "job")?,
                crate::border::text(name, name_length, "name")?,
                some_array(bytes, length, "bytes")?,
                crate::border::text(format_json, format_length, "format_json")?,
            )
        };
        let like = if like.is_null() {
            fw_run::unset()
        } else {
            // SAFETY: the caller's struct, by the contract of the header.
            unsafe { options(like, fw_run::unset(), "like") }?
        };
        let like = like.without_readings()?;
        add_log(job, name, bytes, format, &like)
    })
}

#[cfg(feature = "files")]
fn add_log(job: &mut fw_job, name: &str, bytes: &[u8], format: &str, like: &fallwise::Run) -> Result<(), Failure> {
    let format = match format {
        "" => fallwise_files::LogFormat::default(),
        json => crate::job::from_json("format", json)?,
    };
    let log = fallwise_files::log::read(bytes, &format).map_err(|error| Failure::from(error.in_file(name)))?;
    job.job_mut().runs.push(fallwise::Run {
        name: name.to_owned(),
        counter_m: log.counter_m,
        reading_rad: log.reading_rad,
        time_s: log.time_s,
        moving: log.moving,
        roll_rad: log.roll_rad,
        temperature_c: log.temperature_c,
        source_row: Some(log.source_row),
        ..like.clone()
    });
    Ok(())
}

#[cfg(not(feature = "files"))]
fn add_log(_: &mut fw_job, _: &str, _: &[u8], _: &str, _: &fallwise::Run) -> Result<(), Failure> {
    Err(not_built("files"))
}

/// The zero error of a head, rad, and its standard deviation, from two readings on one steady spot, the second turned
/// end for end.
///
/// Readings and zero positive downwards. `sd_rad` of each reading; NaN: from the step of the display and how well a
/// head can be laid twice.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_zero_by_reversal(
    first_rad: f64,
    second_rad: f64,
    sd_rad: f64,
    zero_rad: *mut f64,
    zero_sd_rad: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's places, by the contract of the header.
        let (zero, zero_sd) = unsafe { (Out::new(zero_rad, "zero_rad")?, Out::new(zero_sd_rad, "zero_sd_rad")?) };
        let check = fallwise::model::ReversalCheck {
            first_rad: crate::border::finite(first_rad, "first_rad")?,
            second_rad: crate::border::finite(second_rad, "second_rad")?,
            sd_rad: crate::border::unless_nan(sd_rad),
            tilt_positive: None,
        };
        let (value, sd) = fallwise::condition::zero_by_reversal(&check, &[], 0.0)?;
        zero.put(value);
        zero_sd.put(sd);
        Ok(())
    })
}

/// How many runs a job has.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_runs(job: *const fw_job, runs: *mut usize, error: *mut fw_error) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and place, by the contract of the header.
        let (job, runs) = unsafe { (given(job, "job")?, Out::new(runs, "runs")?) };
        runs.put(job.job().runs.len());
        Ok(())
    })
}

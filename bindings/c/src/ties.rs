//! What is known beside the runs: one function a kind of tie.

use core::ffi::c_char;

use fallwise::{
    Tie,
    model::{Known, Place, ReversalCheck, Seen},
};

use crate::{
    border::{bad_value, call, changed, text, unless_nan, yes_no},
    build::tilt_positive,
    error::{Failure, fw_error},
    job::fw_job,
    status::fw_status,
};

/// Where in the lateral something was measured. Small and passed by value.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct fw_place {
    /// Station, m.
    pub station_m: f64,
    /// Standard deviation of the station, m: how well the place belongs to it; NaN: what is usual, 0.05 m.
    pub sd_m: f64,
    /// 1: the station was taped from the start of the first run rather than had from the counter; else 0.
    pub taped: i32,
    /// For alignment; 0.
    pub reserved: i32,
}

impl fw_place {
    fn place(self, field: &str) -> Result<Place, Failure> {
        let usual = Place::new(self.station_m);
        Ok(Place { sd_m: unless_nan(self.sd_m).unwrap_or(usual.sd_m), taped: yes_no(self.taped, field)?, ..usual })
    }
}

/// How the edge of water was seen.
#[repr(u32)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum fw_seen {
    /// As the line where water meets the pipe.
    FW_SEEN_EDGE = 0,
    /// As the lens went under or came out: sharper.
    FW_SEEN_LENS = 1,
}

fn seen(value: u32) -> Result<Seen, Failure> {
    match value {
        0 => Ok(Seen::Edge),
        1 => Ok(Seen::Lens),
        other => Err(bad_value("seen", other, "0 (edge) or 1 (lens)")),
    }
}

/// What the head shows as positive: FW_TILT_POSITIVE_..., or this for what the runs have.
pub const FW_AS_IN_THE_RUNS: u32 = 0xffff_ffff;

/// A tie of a name, checked as the core checks it.
///
/// # Safety
/// Handle and text are the caller's, by the contract of the header.
unsafe fn add(
    job: *mut fw_job,
    name: *const c_char,
    name_length: usize,
    known: impl FnOnce() -> Result<Known, Failure>,
) -> Result<(), Failure> {
    // SAFETY: the same contract.
    let (job, name) = unsafe { (changed(job, "job")?, text(name, name_length, "name")?.to_owned()) };
    let tie = Tie { name, ..Tie::new(known()?) };
    tie.validate()?;
    job.job_mut().ties.push(tie);
    Ok(())
}

/// Adds the elevation of the invert at a place, levelled: m in the job's datum, with its standard deviation in m; 0
/// holds exactly.
///
/// `name` (for tables and messages, UTF-8) may be NULL, here and in the functions below. They fail with FW_TIE and
/// FW_INPUT for what a tie cannot be; the job is then as it was.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_add_invert_tie(
    job: *mut fw_job,
    name: *const c_char,
    name_length: usize,
    at: fw_place,
    elevation_m: f64,
    sd_m: f64,
    error: *mut fw_error,
) -> fw_status {
    let known = || Ok(Known::Invert { at: at.place("at.taped")?, elevation_m, sd_m });
    // SAFETY: the caller's, by the contract of the header.
    call(error, || unsafe { add(job, name, name_length, known) })
}

/// Adds a position in plan, such as a located point: east and north in m, and the standard deviation of each.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_add_plan_tie(
    job: *mut fw_job,
    name: *const c_char,
    name_length: usize,
    at: fw_place,
    east_m: f64,
    north_m: f64,
    sd_m: f64,
    error: *mut fw_error,
) -> fw_status {
    let known = || Ok(Known::Plan { at: at.place("at.taped")?, east_m, north_m, sd_m });
    // SAFETY: the caller's, by the contract of the header.
    call(error, || unsafe { add(job, name, name_length, known) })
}

/// Adds the direction of the pipe in plan along growing station, rad, clockwise from grid north.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_add_azimuth_tie(
    job: *mut fw_job,
    name: *const c_char,
    name_length: usize,
    at: fw_place,
    azimuth_rad: f64,
    sd_rad: f64,
    error: *mut fw_error,
) -> fw_status {
    let known = || Ok(Known::Azimuth { at: at.place("at.taped")?, azimuth_rad, sd_rad });
    // SAFETY: the caller's, by the contract of the header.
    call(error, || unsafe { add(job, name, name_length, known) })
}

/// Adds the depth that a locator shows of a transmitter behind the head, m below the ground.
///
/// `at` is the station of the head. NaN: `sd_m` as is usual for a locator, `ground_m` and `ground_sd_m` from the job's
/// ground, `above_m` (how high the transmitter lies above the invert) 0.05 m. `behind_m` is how far the transmitter is
/// behind the head along the cable.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_add_depth_tie(
    job: *mut fw_job,
    name: *const c_char,
    name_length: usize,
    at: fw_place,
    depth_m: f64,
    sd_m: f64,
    ground_m: f64,
    ground_sd_m: f64,
    behind_m: f64,
    above_m: f64,
    error: *mut fw_error,
) -> fw_status {
    let known = || {
        Ok(Known::Depth {
            at: at.place("at.taped")?,
            depth_m,
            sd_m: unless_nan(sd_m),
            ground_m: unless_nan(ground_m),
            ground_sd_m: unless_nan(ground_sd_m),
            behind_m,
            above_m: unless_nan(above_m).unwrap_or(fallwise::model::TRANSMITTER_ABOVE_M),
        })
    };
    // SAFETY: the caller's, by the contract of the header.
    call(error, || unsafe { add(job, name, name_length, known) })
}

/// Adds by how much the invert is higher at the second place than at the first, m; negative where it falls.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_add_height_difference_tie(
    job: *mut fw_job,
    name: *const c_char,
    name_length: usize,
    from: fw_place,
    to: fw_place,
    rise_m: f64,
    sd_m: f64,
    error: *mut fw_error,
) -> fw_status {
    let known =
        || Ok(Known::HeightDifference { from: from.place("from.taped")?, to: to.place("to.taped")?, rise_m, sd_m });
    // SAFETY: the caller's, by the contract of the header.
    call(error, || unsafe { add(job, name, name_length, known) })
}

/// Adds the true length of the pipe, m, between two stations of the counter.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_add_length_tie(
    job: *mut fw_job,
    name: *const c_char,
    name_length: usize,
    from_m: f64,
    to_m: f64,
    length_m: f64,
    sd_m: f64,
    error: *mut fw_error,
) -> fw_status {
    let known = || Ok(Known::Length { from_m, to_m, length_m, sd_m });
    // SAFETY: the caller's, by the contract of the header.
    call(error, || unsafe { add(job, name, name_length, known) })
}

/// Adds two readings of the head on one steady spot, rad, the second turned end for end: half their sum is the zero
/// error.
///
/// `sd_rad` of each reading; NaN: what is usual. `positive` is fw_tilt_positive, or FW_AS_IN_THE_RUNS.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_add_reversal_check(
    job: *mut fw_job,
    name: *const c_char,
    name_length: usize,
    first_rad: f64,
    second_rad: f64,
    sd_rad: f64,
    positive: u32,
    error: *mut fw_error,
) -> fw_status {
    let known = || {
        Ok(Known::ReversalCheck(ReversalCheck {
            first_rad,
            second_rad,
            sd_rad: unless_nan(sd_rad),
            tilt_positive: shown(positive)?,
        }))
    };
    // SAFETY: the caller's, by the contract of the header.
    call(error, || unsafe { add(job, name, name_length, known) })
}

/// Adds a reading of the head on a surface whose tilt is known, rad, positive down the way the head looked.
///
/// `sd_rad` of the two together. `positive` as in fw_job_add_reversal_check.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_add_level_check(
    job: *mut fw_job,
    name: *const c_char,
    name_length: usize,
    reading_rad: f64,
    surface_rad: f64,
    sd_rad: f64,
    positive: u32,
    error: *mut fw_error,
) -> fw_status {
    let known = || Ok(Known::LevelCheck { reading_rad, surface_rad, sd_rad, tilt_positive: shown(positive)? });
    // SAFETY: the caller's, by the contract of the header.
    call(error, || unsafe { add(job, name, name_length, known) })
}

fn shown(positive: u32) -> Result<Option<fallwise::model::TiltPositive>, Failure> {
    if positive == FW_AS_IN_THE_RUNS { Ok(None) } else { tilt_positive(positive, "positive").map(Some) }
}

/// Adds the two edges of one still pool, which are at one height.
///
/// `level_sd_m` of the level at each edge, m; NaN: by how it was seen. `how` is fw_seen. `although_running` is 1 to use
/// it although the job says that water was running; else 0.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_add_water_level_tie(
    job: *mut fw_job,
    name: *const c_char,
    name_length: usize,
    from: fw_place,
    to: fw_place,
    level_sd_m: f64,
    how: u32,
    although_running: i32,
    error: *mut fw_error,
) -> fw_status {
    let known = || {
        Ok(Known::WaterLevel {
            from: from.place("from.taped")?,
            to: to.place("to.taped")?,
            level_sd_m: unless_nan(level_sd_m),
            seen: seen(how)?,
            although_running: yes_no(although_running, "although_running")?,
        })
    };
    // SAFETY: the caller's, by the contract of the header.
    call(error, || unsafe { add(job, name, name_length, known) })
}

/// Adds the depth of still water at a place, m upright, and an edge of the same water; the rest as in
/// fw_job_add_water_level_tie.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_add_water_depth_tie(
    job: *mut fw_job,
    name: *const c_char,
    name_length: usize,
    at: fw_place,
    depth_m: f64,
    sd_m: f64,
    edge: fw_place,
    level_sd_m: f64,
    how: u32,
    although_running: i32,
    error: *mut fw_error,
) -> fw_status {
    let known = || {
        Ok(Known::WaterDepth {
            at: at.place("at.taped")?,
            depth_m,
            sd_m,
            edge: edge.place("edge.taped")?,
            level_sd_m: unless_nan(level_sd_m),
            seen: seen(how)?,
            although_running: yes_no(although_running, "although_running")?,
        })
    };
    // SAFETY: the caller's, by the contract of the header.
    call(error, || unsafe { add(job, name, name_length, known) })
}

//! A job put together without files: runs, reaches, the instrument, bends and lips.

use core::ffi::c_char;

use fallwise::{
    Bend, Instrument, Pipe, Reach, Run,
    model::{StandardPipe, Step, TiltPositive, Toward, standard_pipes},
};

use crate::{
    border::{
        Out, Sized1, array, bad_value, bore, call, changed, finite, hand_out, init, optional_array, options, or_nan,
        some_array, some_text, text, unless_nan, yes_no,
    },
    error::{Failure, fw_error},
    job::{from_json, fw_job},
    status::fw_status,
    table::fw_table,
};

/// A log or a station may have its sign or its direction either way.
#[repr(u32)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum fw_tilt_positive {
    /// The log gives a head that looks down a positive reading.
    FW_TILT_POSITIVE_DOWN = 0,
    /// The log gives a head that looks up a positive reading.
    FW_TILT_POSITIVE_UP = 1,
}

/// Which way a run goes.
#[repr(u32)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum fw_toward {
    /// Station grows with the counter.
    FW_TOWARD_INCREASING = 0,
    /// Station falls as the counter grows.
    FW_TOWARD_DECREASING = 1,
}

/// One push of the camera, or readings written down by hand. Call fw_run_init first. Arrays have `count` values each
/// and are copied.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct fw_run {
    /// `sizeof(fw_run)`.
    pub struct_size: usize,
    /// Name for messages, UTF-8, or NULL.
    pub name: *const c_char,
    /// Its length, bytes.
    pub name_length: usize,
    /// How many readings.
    pub count: usize,
    /// Cable out, m, as the counter showed it.
    pub counter_m: *const f64,
    /// What the head reported, rad, sign as logged.
    pub reading_rad: *const f64,
    /// Time since the start of the log, s, or NULL.
    pub time_s: *const f64,
    /// Whether the head moved, 0 or 1, or NULL: told from the time, where there is one.
    pub moving: *const u8,
    /// Roll of the head about the pipe's axis, rad, or NULL.
    pub roll_rad: *const f64,
    /// Temperature of the head, degrees Celsius, or NULL. Kept, not used.
    pub temperature_c: *const f64,
    /// Row of the source file, from 1, for messages, or NULL.
    pub source_row: *const u64,
    /// fw_tilt_positive.
    pub tilt_positive: u32,
    /// fw_toward.
    pub toward: u32,
    /// 1: readings written down by hand, one a stick; else 0.
    pub by_hand: i32,
    /// Station at counter 0, m.
    pub start_station_m: f64,
    /// Its standard deviation, m; NaN: exact.
    pub start_station_sd_m: f64,
    /// Azimuth of the pipe at the start of the run along growing station, rad, clockwise from grid north; NaN: not
    /// known.
    pub start_azimuth_rad: f64,
    /// Its standard deviation, rad; NaN: not given.
    pub start_azimuth_sd_rad: f64,
    /// East of the start of the run, m; NaN: not known.
    pub start_east_m: f64,
    /// North of it, m; NaN: not known.
    pub start_north_m: f64,
    /// Standard deviation of each of the two, m; NaN: not given.
    pub start_plan_sd_m: f64,
    /// Elevation of the invert at the start, m; NaN: not known.
    pub start_invert_m: f64,
    /// Its standard deviation, m; NaN: not given.
    pub start_invert_sd_m: f64,
}

// SAFETY: `repr(C)`, plain data, its size first.
unsafe impl Sized1 for fw_run {
    const FIRST: usize = size_of::<Self>();

    fn sized(self, struct_size: usize) -> Self {
        Self { struct_size, ..self }
    }
}

impl fw_run {
    fn new() -> Self {
        Self {
            struct_size: size_of::<Self>(),
            name: core::ptr::null(),
            name_length: 0,
            count: 0,
            counter_m: core::ptr::null(),
            reading_rad: core::ptr::null(),
            time_s: core::ptr::null(),
            moving: core::ptr::null(),
            roll_rad: core::ptr::null(),
            temperature_c: core::ptr::null(),
            source_row: core::ptr::null(),
            tilt_positive: fw_tilt_positive::FW_TILT_POSITIVE_DOWN as u32,
            toward: fw_toward::FW_TOWARD_INCREASING as u32,
            by_hand: 0,
            start_station_m: 0.0,
            start_station_sd_m: f64::NAN,
            start_azimuth_rad: f64::NAN,
            start_azimuth_sd_rad: f64::NAN,
            start_east_m: f64::NAN,
            start_north_m: f64::NAN,
            start_plan_sd_m: f64::NAN,
            start_invert_m: f64::NAN,
            start_invert_sd_m: f64::NAN,
        }
    }

    /// What fw_run_init sets.
    pub(crate) fn unset() -> Self {
        Self::new()
    }

    /// The run of the core without its readings, whatever arrays are given.
    pub(crate) fn without_readings(&self) -> Result<Run, Failure> {
        let some = [0.0];
        let bare = Self {
            name: core::ptr::null(),
            name_length: 0,
            count: 1,
            counter_m: some.as_ptr(),
            reading_rad: some.as_ptr(),
            time_s: core::ptr::null(),
            moving: core::ptr::null(),
            roll_rad: core::ptr::null(),
            temperature_c: core::ptr::null(),
            source_row: core::ptr::null(),
            ..*self
        };
        // SAFETY: its arrays are that of one number above.
        unsafe { bare.run() }
    }

    /// The run of the core.
    ///
    /// # Safety
    /// The arrays are the caller's, by the contract of the header.
    pub(crate) unsafe fn run(&self) -> Result<Run, Failure> {
        let n = self.count;
        // SAFETY: the contract above, for all of them.
        let (name, counter_m, reading_rad, time_s, moving, roll_rad, temperature_c, rows) = unsafe {
            (
                text(self.name, self.name_length, "run.name")?.to_owned(),
                some_array(self.counter_m, n, "run.counter_m")?.to_vec(),
                some_array(self.reading_rad, n, "run.reading_rad")?.to_vec(),
                optional_array(self.time_s, n, "run.time_s")?,
                optional_array(self.moving, n, "run.moving")?,
                optional_array(self.roll_rad, n, "run.roll_rad")?,
                optional_array(self.temperature_c, n, "run.temperature_c")?,
                optional_array(self.source_row, n, "run.source_row")?,
            )
        };
        let moving = moving
            .map(|all| all.iter().map(|m| yes_no(i32::from(*m), "run.moving")).collect::<Result<Vec<_>, _>>())
            .transpose()?;
        let row = |row: u64| usize::try_from(row).map_err(|_| bad_value("run.source_row", row, "a row of a file"));
        let source_row = rows.map(|all| all.into_iter().map(row).collect::<Result<Vec<_>, _>>()).transpose()?;
        Ok(Run {
            name,
            counter_m,
            reading_rad,
            time_s,
            moving,
            roll_rad,
            temperature_c,
            source_row,
            tilt_positive: tilt_positive(self.tilt_positive, "run.tilt_positive")?,
            toward: match self.toward {
                0 => Toward::Increasing,
                1 => Toward::Decreasing,
                other => return Err(bad_value("run.toward", other, "0 (increasing) or 1 (decreasing)")),
            },
            start_station_m: self.start_station_m,
            start_station_sd_m: unless_nan(self.start_station_sd_m),
            by_hand: yes_no(self.by_hand, "run.by_hand")?,
            start_azimuth_rad: unless_nan(self.start_azimuth_rad),
            start_azimuth_sd_rad: unless_nan(self.start_azimuth_sd_rad),
            start_east_m: unless_nan(self.start_east_m),
            start_north_m: unless_nan(self.start_north_m),
            start_plan_sd_m: unless_nan(self.start_plan_sd_m),
            start_invert_m: unless_nan(self.start_invert_m),
            start_invert_sd_m: unless_nan(self.start_invert_sd_m),
        })
    }
}

pub(crate) fn tilt_positive(value: u32, field: &str) -> Result<TiltPositive, Failure> {
    match value {
        0 => Ok(TiltPositive::Down),
        1 => Ok(TiltPositive::Up),
        other => Err(bad_value(field, other, "0 (down) or 1 (up)")),
    }
}

/// Sets all of it: no readings, station growing, readings positive downwards, nothing else known.
///
/// `struct_size` is `sizeof(fw_run)`, which is written too.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_run_init(run: *mut fw_run, struct_size: usize, error: *mut fw_error) -> fw_status {
    // SAFETY: a place of the caller's of that size, by the contract of the header.
    call(error, || unsafe { init(run, struct_size, fw_run::new(), "run") })
}

/// Adds a run to a job; its arrays are copied.
///
/// What no run can be (fewer than two readings, numbers that are not finite) is told when the job is solved, with the
/// run's name and the index.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_add_run(job: *mut fw_job, run: *const fw_run, error: *mut fw_error) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle, struct and arrays, by the contract of the header.
        let (job, run) = unsafe { (changed(job, "job")?, options(run, fw_run::new(), "run")?.run()?) };
        job.job_mut().runs.push(run);
        Ok(())
    })
}

/// Adds a reach of a standard pipe, from `from_m` to `to_m` (stations, m), such as class "SDR 35" and size "4 in".
///
/// `name` may be NULL. Reaches follow each other in order of station. Fails with FW_UNKNOWN_WORD for a class or size
/// that is not in the table of fw_standard_pipes.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_add_standard_reach(
    job: *mut fw_job,
    name: *const c_char,
    name_length: usize,
    from_m: f64,
    to_m: f64,
    pipe_class: *const c_char,
    class_length: usize,
    size: *const c_char,
    size_length: usize,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and texts, by the contract of the header.
        let (job, name, class, size) = unsafe {
            (
                changed(job, "job")?,
                text(name, name_length, "name")?.to_owned(),
                some_text(pipe_class, class_length, "pipe_class")?,
                some_text(size, size_length, "size")?,
            )
        };
        let (from_m, to_m) = (finite(from_m, "from_m")?, finite(to_m, "to_m")?);
        let pipe = Pipe::standard(class, size)?;
        job.job_mut().reaches.push(Reach { name, from_m, to_m, pipe, ..Reach::default() });
        Ok(())
    })
}

/// Adds a reach of a pipe whose bore is known: `width_m` wide and `height_m` high inside, m; NaN for the height: round.
/// NaN for both: a pipe whose bore is not known.
///
/// `name` may be NULL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_add_reach(
    job: *mut fw_job,
    name: *const c_char,
    name_length: usize,
    from_m: f64,
    to_m: f64,
    width_m: f64,
    height_m: f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and text, by the contract of the header.
        let (job, name) = unsafe { (changed(job, "job")?, text(name, name_length, "name")?.to_owned()) };
        let (from_m, to_m) = (finite(from_m, "from_m")?, finite(to_m, "to_m")?);
        let pipe = pipe(width_m, height_m)?;
        job.job_mut().reaches.push(Reach { name, from_m, to_m, pipe, ..Reach::default() });
        Ok(())
    })
}

/// A pipe of a bore, or of none that is known.
pub(crate) fn pipe(width_m: f64, height_m: f64) -> Result<Pipe, Failure> {
    let none = width_m.is_nan() && height_m.is_nan();
    Ok(Pipe { bore: if none { None } else { Some(bore(width_m, height_m)?) }, ..Pipe::default() })
}

/// The table of standard pipes: class, nominal size, outside diameter, wall and bore in m, material, source.
///
/// `*table` is the caller's, to be freed by fw_table_free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_standard_pipes(table: *mut *mut fw_table, error: *mut fw_error) -> fw_status {
    /// A row of it.
    #[derive(serde::Serialize, serde::Deserialize)]
    struct Row {
        class: String,
        nominal: String,
        outside_m: f64,
        wall_m: f64,
        bore_m: f64,
        material: String,
        source: String,
        mark: String,
    }
    call(error, || {
        // SAFETY: the caller's place, by the contract of the header.
        let out = unsafe { Out::new(table, "table") }?;
        let row = |pipe: &StandardPipe| Row {
            class: pipe.class.to_owned(),
            nominal: pipe.nominal.to_string(),
            outside_m: pipe.outside_m,
            wall_m: pipe.wall_m,
            bore_m: pipe.bore_m(),
            material: pipe.material.to_owned(),
            source: pipe.source.to_owned(),
            mark: pipe.mark.to_owned(),
        };
        hand_out(out, fw_table::of(&standard_pipes().iter().map(row).collect::<Vec<_>>())?);
        Ok(())
    })
}

/// The head and the counter. Call fw_instrument_init first; every default has its reason in the core's documentation.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct fw_instrument {
    /// `sizeof(fw_instrument)`.
    pub struct_size: usize,
    /// Zero error of the tilt sensor, rad: what it reads on a level surface.
    pub zero_rad: f64,
    /// Its standard deviation, rad.
    pub zero_sd_rad: f64,
    /// Standard deviation of how the head lies in each run, rad.
    pub seating_sd_rad: f64,
    /// Standard deviation of a single reading, rad; NaN: found in the readings.
    pub noise_sd_rad: f64,
    /// Over what length noise hangs together, m; NaN: found in the readings.
    pub correlation_m: f64,
    /// Step of the display, rad; NaN: found in the readings.
    pub resolution_rad: f64,
    /// Standard deviation of the drift over a run, rad.
    pub drift_sd_rad: f64,
    /// Over what time it drifts, s.
    pub drift_s: f64,
    /// Standard deviation of the error across the axis, which a roll brings in, rad.
    pub roll_sd_rad: f64,
    /// Standard deviation of a slow wander, rad.
    pub wander_sd_rad: f64,
    /// Standard deviation of the lip at a joint, m.
    pub lip_sd_m: f64,
    /// Length of the head, m.
    pub head_length_m: f64,
    /// Slack of the cable between push and pull, m; NaN: found in the readings.
    pub slack_m: f64,
    /// Lag of the reading behind the counter, s; NaN: found in the readings.
    pub lag_s: f64,
    /// By how much the counter reads short, as a share of length: -0.008 where it reads 0.8 % long.
    pub counter_scale: f64,
    /// Its standard deviation.
    pub counter_scale_sd: f64,
    /// 1: the zero was checked, and its standard deviation is that of the check; else 0.
    pub zero_checked: i32,
}

// SAFETY: `repr(C)`, plain data, its size first.
unsafe impl Sized1 for fw_instrument {
    const FIRST: usize = size_of::<Self>();

    fn sized(self, struct_size: usize) -> Self {
        Self { struct_size, ..self }
    }
}

impl fw_instrument {
    fn of(core: &Instrument) -> Self {
        Self {
            struct_size: size_of::<Self>(),
            zero_rad: core.zero_rad,
            zero_sd_rad: core.zero_sd_rad,
            seating_sd_rad: core.seating_sd_rad,
            noise_sd_rad: or_nan(core.noise_sd_rad),
            correlation_m: or_nan(core.correlation_m),
            resolution_rad: or_nan(core.resolution_rad),
            drift_sd_rad: core.drift_sd_rad,
            drift_s: core.drift_s,
            roll_sd_rad: core.roll_sd_rad,
            wander_sd_rad: core.wander_sd_rad,
            lip_sd_m: core.lip_sd_m,
            head_length_m: core.head_length_m,
            slack_m: or_nan(core.slack_m),
            lag_s: or_nan(core.lag_s),
            counter_scale: core.counter_scale,
            counter_scale_sd: core.counter_scale_sd,
            zero_checked: i32::from(core.zero_checked),
        }
    }

    pub(crate) fn instrument(&self) -> Result<Instrument, Failure> {
        Ok(Instrument {
            zero_rad: self.zero_rad,
            zero_sd_rad: self.zero_sd_rad,
            zero_checked: yes_no(self.zero_checked, "instrument.zero_checked")?,
            seating_sd_rad: self.seating_sd_rad,
            noise_sd_rad: unless_nan(self.noise_sd_rad),
            correlation_m: unless_nan(self.correlation_m),
            resolution_rad: unless_nan(self.resolution_rad),
            drift_sd_rad: self.drift_sd_rad,
            drift_s: self.drift_s,
            roll_sd_rad: self.roll_sd_rad,
            wander_sd_rad: self.wander_sd_rad,
            lip_sd_m: self.lip_sd_m,
            head_length_m: self.head_length_m,
            slack_m: unless_nan(self.slack_m),
            lag_s: unless_nan(self.lag_s),
            counter_scale: self.counter_scale,
            counter_scale_sd: self.counter_scale_sd,
        })
    }

    pub(crate) fn usual() -> Self {
        Self::of(&Instrument::default())
    }
}

/// Sets all of it to what is usual for a push camera.
///
/// `struct_size` is `sizeof(fw_instrument)`, which is written too.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_instrument_init(
    instrument: *mut fw_instrument,
    struct_size: usize,
    error: *mut fw_error,
) -> fw_status {
    // SAFETY: a place of the caller's of that size, by the contract of the header.
    call(error, || unsafe { init(instrument, struct_size, fw_instrument::usual(), "instrument") })
}

/// Sets all of it to an instrument without errors, for tests.
///
/// `struct_size` is `sizeof(fw_instrument)`, which is written too.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_instrument_init_exact(
    instrument: *mut fw_instrument,
    struct_size: usize,
    error: *mut fw_error,
) -> fw_status {
    // SAFETY: a place of the caller's of that size, by the contract of the header.
    call(error, || unsafe { init(instrument, struct_size, fw_instrument::of(&Instrument::exact()), "instrument") })
}

/// Sets the instrument of a job; it is copied. What it cannot be is told when the job is solved.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_set_instrument(
    job: *mut fw_job,
    instrument: *const fw_instrument,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and struct, by the contract of the header.
        let (job, given) =
            unsafe { (changed(job, "job")?, options(instrument, fw_instrument::usual(), "instrument")?) };
        job.job_mut().instrument = given.instrument()?;
        Ok(())
    })
}

/// Adds a bend: the fitting's angle in space, rad, positive to the right looking along growing station, centred at
/// `station_m`.
///
/// `deflection_sd_rad` and `radius_m` may be NaN: what is usual.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_add_bend(
    job: *mut fw_job,
    station_m: f64,
    deflection_rad: f64,
    deflection_sd_rad: f64,
    radius_m: f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle, by the contract of the header.
        let job = unsafe { changed(job, "job") }?;
        let usual = Bend::new(finite(station_m, "station_m")?, finite(deflection_rad, "deflection_rad")?);
        job.job_mut().bends.push(Bend {
            deflection_sd_rad: unless_nan(deflection_sd_rad).unwrap_or(usual.deflection_sd_rad),
            radius_m: unless_nan(radius_m),
            ..usual
        });
        Ok(())
    })
}

/// Adds a vertical lip at a displaced joint: by how much, m, the invert is higher just after `station_m` than just
/// before it, looking along growing station.
///
/// `rise_sd_m` may be NaN: what is usual.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_add_step(
    job: *mut fw_job,
    station_m: f64,
    rise_m: f64,
    rise_sd_m: f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle, by the contract of the header.
        let job = unsafe { changed(job, "job") }?;
        let usual: Step = from_json("step", r#"{"station_m": 0.0, "rise_m": 0.0}"#)?;
        job.job_mut().steps.push(Step {
            station_m: finite(station_m, "station_m")?,
            rise_m: finite(rise_m, "rise_m")?,
            rise_sd_m: unless_nan(rise_sd_m).unwrap_or(usual.rise_sd_m),
        });
        Ok(())
    })
}

/// Adds as-built inverts: `count` stations and elevations, m, with a standard deviation in m for all of them; NaN:
/// exact.
///
/// Where the job has no run, the lateral is made of them.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_add_as_built(
    job: *mut fw_job,
    station_m: *const f64,
    invert_m: *const f64,
    count: usize,
    sd_m: f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and arrays, by the contract of the header.
        let (job, stations, inverts) = unsafe {
            (changed(job, "job")?, some_array(station_m, count, "station_m")?, array(invert_m, count, "invert_m")?)
        };
        let row = |(&station_m, &invert_m): (&f64, &f64)| fallwise::model::AsBuilt {
            station_m,
            invert_m,
            sd_m: unless_nan(sd_m),
        };
        job.job_mut().as_built.extend(stations.iter().zip(inverts).map(row));
        Ok(())
    })
}

//! A run while it is being made: readings one by one, what they say so far, and the end.

use core::ffi::c_char;

use fallwise::{
    Lateral, Rulebook,
    lateral::{Live, LiveOptions, LiveReading, Provisional},
    units::Language,
};

use crate::{
    border::{
        Out, Sized1, bad_value, call, changed, free, given, hand_out, init, optional, options, room, text_out,
        unless_nan,
    },
    error::{Failure, fw_error},
    job::fw_job,
    lateral::fw_lateral,
    rulebook::fw_rulebook,
    status::fw_status,
};

/// A run that is being made. Pushing changes it: then no other thread may use it meanwhile. It depends on no other handle.
pub struct fw_live {
    core: Live,
    book: Option<Rulebook>,
    language: Option<Language>,
}

impl fw_live {
    fn lateral(&self, core: Lateral) -> fw_lateral {
        fw_lateral::plain(core, self.book.clone(), self.language.clone())
    }
}

/// How readings are taken. Call fw_live_options_init first.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct fw_live_options {
    /// `sizeof(fw_live_options)`.
    pub struct_size: usize,
    /// The last piece before the head is left out of what is provisional, m.
    pub lag_m: f64,
    /// Length of a cell to begin with, m: readings of new ground are averaged over cells, which become longer as the run does.
    pub cell_m: f64,
    /// Most cells, an even number from 16 on: they bound the time that a provisional answer takes.
    pub most_cells: u64,
    /// Most readings that are kept: 40 bytes each at most.
    pub most_readings: u64,
    /// Draws for what is provisional; 0: none, errors by propagation alone.
    pub draws: u64,
}

// SAFETY: `repr(C)`, plain data, its size first.
unsafe impl Sized1 for fw_live_options {
    const FIRST: usize = size_of::<Self>();

    fn sized(self, struct_size: usize) -> Self {
        Self { struct_size, ..self }
    }
}

impl fw_live_options {
    fn new() -> Self {
        let usual = LiveOptions::default();
        Self {
            struct_size: size_of::<Self>(),
            lag_m: usual.lag_m,
            cell_m: usual.cell_m,
            most_cells: usual.most_cells as u64,
            most_readings: usual.most_readings as u64,
            draws: usual.draws as u64,
        }
    }

    fn core(self) -> Result<LiveOptions, Failure> {
        let count = |value: u64, field: &str| {
            usize::try_from(value).map_err(|_| bad_value(field, value, "a count that memory can have"))
        };
        Ok(LiveOptions {
            lag_m: self.lag_m,
            cell_m: self.cell_m,
            most_cells: count(self.most_cells, "options.most_cells")?,
            most_readings: count(self.most_readings, "options.most_readings")?,
            draws: count(self.draws, "options.draws")?,
        })
    }
}

/// Sets all of it: 1 m of lag, cells of 50 mm, 512 of them at most, a million readings, no draws.
///
/// `struct_size` is `sizeof(fw_live_options)`, which is written too.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_live_options_init(
    options: *mut fw_live_options,
    struct_size: usize,
    error: *mut fw_error,
) -> fw_status {
    // SAFETY: a place of the caller's of that size, by the contract of the header.
    call(error, || unsafe { init(options, struct_size, fw_live_options::new(), "options") })
}

/// A run to come, in a job that has no run, or one without readings, which says how the counter counts and where it starts.
///
/// The job is only read, and may be freed afterwards. `options` may be NULL. `*live` is the caller's, to be freed by fw_live_free. Fails with FW_INPUT for
/// a job with readings or as-built inverts, or options out of range.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_live_new(
    job: *const fw_job,
    options: *const fw_live_options,
    live: *mut *mut fw_live,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and place, by the contract of the header.
        let (job, out) = unsafe { (given(job, "job")?, Out::new(live, "live")?) };
        let asked = if options.is_null() {
            fw_live_options::new()
        } else {
            // SAFETY: the caller's struct, by the contract of the header.
            unsafe { self::options(options, fw_live_options::new(), "options") }?
        };
        let core = Live::new(job.job().clone(), asked.core()?)?;
        hand_out(out, fw_live { core, book: job.rulebook()?, language: job.language.clone() });
        Ok(())
    })
}

/// Takes a reading, in constant time over many of them: cable out, m, and what the head reports, rad, sign as it comes.
///
/// `time_s` and `roll_rad` are NaN, and `moving` -1, where they are not known; each must be known with every reading or with none. Fails with FW_INPUT,
/// `row` the number of the reading from 0, for a value that is not finite and for more readings than the options allow; nothing is kept of it then.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_live_push(
    live: *mut fw_live,
    counter_m: f64,
    reading_rad: f64,
    time_s: f64,
    roll_rad: f64,
    moving: i32,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle, by the contract of the header.
        let live = unsafe { changed(live, "live")? };
        let moving = match moving {
            -1 => None,
            0 => Some(false),
            1 => Some(true),
            other => return Err(bad_value("moving", other, "-1, 0 or 1")),
        };
        let (time_s, roll_rad) = (unless_nan(time_s), unless_nan(roll_rad));
        Ok(live.core.push(LiveReading { counter_m, reading_rad, time_s, moving, roll_rad })?)
    })
}

/// Readings so far.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_live_count(live: *const fw_live, count: *mut usize, error: *mut fw_error) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and place, by the contract of the header.
        let (live, out) = unsafe { (given(live, "live")?, Out::new(count, "count")?) };
        out.put(live.core.len());
        Ok(())
    })
}

fn provisional(live: &fw_live) -> Result<Provisional, Failure> {
    let none = || {
        Failure::new(
            fw_status::FW_NOT_DETERMINED,
            "",
            "too few readings: the head has not come far enough beyond the lag",
        )
    };
    live.core.provisional()?.ok_or_else(none)
}

/// What the readings say so far: a lateral like any other, up to `*settled_to_m`, m, the lag behind the farthest that the head came.
///
/// Ask it for its profile, segments, pools and findings; what the job says of pipe beyond is left out, as are digs, a plan of re-laying and what the pipe
/// carries. `settled_to_m` may be NULL. `*lateral` is the caller's. Takes about a millisecond without draws, after many readings as after few. Fails
/// with FW_NOT_DETERMINED while the readings are too few.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_live_provisional(
    live: *const fw_live,
    lateral: *mut *mut fw_lateral,
    settled_to_m: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and place, by the contract of the header.
        let (live, out) = unsafe { (given(live, "live")?, Out::new(lateral, "lateral")?) };
        let settled = if settled_to_m.is_null() {
            None
        } else {
            // SAFETY: the caller's place, by the contract of the header.
            Some(unsafe { Out::new(settled_to_m, "settled_to_m") }?)
        };
        let so_far = provisional(live)?;
        if let Some(settled) = settled {
            settled.put(so_far.settled_to_m);
        }
        hand_out(out, live.lateral(so_far.lateral));
        Ok(())
    })
}

/// What the readings say so far, in one sentence that says how far it reaches; against `rulebook`, or where that is NULL against the job's, or none.
///
/// It is worked out anew at each call, also where it only asks how long the text is: give room enough at once, 1000 bytes do.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_live_sentence(
    live: *const fw_live,
    rulebook: *const fw_rulebook,
    buffer: *mut c_char,
    capacity: usize,
    needed: *mut usize,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handles, by the contract of the header.
        let (live, book) = unsafe { (given(live, "live")?, optional(rulebook, "rulebook")?) };
        // SAFETY: the caller's buffer and place, by the contract of the header.
        unsafe { room(buffer, capacity, needed)? };
        let said = provisional(live)?.sentence(book.map(|book| &book.0).or(live.book.as_ref()))?;
        // SAFETY: the same.
        unsafe { text_out(&said.to_string(), buffer, capacity, needed) }
    })
}

/// The job with its run, a handle of the caller's: to solve it by fw_lateral_solve with options, or to keep it. The run goes on.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_live_job(live: *const fw_live, job: *mut *mut fw_job, error: *mut fw_error) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and place, by the contract of the header.
        let (live, out) = unsafe { (given(live, "live")?, Out::new(job, "job")?) };
        hand_out(out, fw_job::plain(live.core.clone().into_job(), live.book.clone(), live.language.clone()));
        Ok(())
    })
}

/// The lateral of all readings: to the bit what fw_lateral_solve gives for a job with the same readings. `*lateral` is the caller's; the run may go on.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_live_finish(
    live: *const fw_live,
    lateral: *mut *mut fw_lateral,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and place, by the contract of the header.
        let (live, out) = unsafe { (given(live, "live")?, Out::new(lateral, "lateral")?) };
        hand_out(out, live.lateral(live.core.clone().finish()?));
        Ok(())
    })
}

/// Frees it; NULL is nothing.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_live_free(live: *mut fw_live) {
    // SAFETY: the caller's handle, by the contract of the header.
    unsafe { free(live) };
}

//! A solved lateral, and what it is asked.

use core::ffi::{c_char, c_void};

use fallwise::{
    Lateral, Rulebook,
    answers::{FindingRow, InputRow, NextRow, pool_rows},
    model::Place,
    profile::Draws as _,
    units::Language,
    watch::Watch,
};

use crate::{
    answers::fw_answers,
    border::{
        Out, OutStruct, Sized1, array_out, bad_value, call, fill, finite, free, given, hand_out, init, optional,
        options, room, some_array, unless_nan, watch,
    },
    build::pipe,
    document::fw_document,
    error::{Failure, fw_error},
    job::{Inner, fw_job, fw_resolver},
    rows::{fw_dig, fw_estimate},
    rulebook::fw_rulebook,
    status::fw_status,
    table::fw_table,
};

/// A solved lateral. Nothing in it changes: several threads may ask it at once. It stays whole when the job is freed.
pub struct fw_lateral {
    pub(crate) core: Lateral,
    pub(crate) book: Option<Rulebook>,
    pub(crate) language: Option<Language>,
    inputs: Vec<InputRow>,
    warnings: Vec<String>,
    #[cfg(feature = "files")]
    folder: Option<std::path::PathBuf>,
}

impl fw_lateral {
    fn new(core: Lateral) -> Self {
        Self {
            core,
            book: None,
            language: None,
            inputs: Vec::new(),
            warnings: Vec::new(),
            #[cfg(feature = "files")]
            folder: None,
        }
    }

    /// Of a job that was put together.
    pub(crate) fn plain(core: Lateral, book: Option<Rulebook>, language: Option<Language>) -> Self {
        Self { book, language, ..Self::new(core) }
    }

    /// The rulebook that was given, or that of the job.
    fn rulebook<'a>(&'a self, given: Option<&'a fw_rulebook>) -> Option<&'a Rulebook> {
        given.map(|book| &book.0).or(self.book.as_ref())
    }

    fn some_rulebook<'a>(&'a self, given: Option<&'a fw_rulebook>) -> Result<&'a Rulebook, Failure> {
        let none = || bad_value("rulebook", "none", "a rulebook, here or in the job");
        self.rulebook(given).ok_or_else(none)
    }
}

/// What a progress callback is told is being done next.
#[repr(u32)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum fw_stage {
    /// Logs become traces.
    FW_STAGE_CONDITIONING = 0,
    /// Segments are found.
    FW_STAGE_SEGMENTS = 1,
    /// The average over segmentations is made.
    FW_STAGE_AVERAGING = 2,
    /// Everything that is known is put together.
    FW_STAGE_ADJUSTING = 3,
    /// Profiles are drawn: for pools, findings, measurements to come.
    FW_STAGE_DRAWING = 4,
}

/// Told how far the work has come: fw_stage, and how many profiles have been drawn in all; how many there will be is
/// not known beforehand.
///
/// Return 0 to go on; anything else stops, and the call returns FW_CANCELLED with nothing made. It is called on the
/// thread of the call, and must neither free the handles of the call nor leave by longjmp or an exception.
pub type fw_progress = Option<unsafe extern "C" fn(user: *mut c_void, stage: u32, draws: u64) -> i32>;

/// How a job is solved and answered. Call fw_solve_options_init first.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct fw_solve_options {
    /// `sizeof(fw_solve_options)`.
    pub struct_size: usize,
    /// How many draws; -1: as the job says. For solving; answers take the lateral's.
    pub draws: i64,
    /// Seed of the draws; used where `draws` is not -1.
    pub seed: u64,
    /// Asked between stages and between blocks of draws; NULL: nobody is. Figures are the same to the bit with one and
    /// without.
    pub progress: fw_progress,
    /// Handed to it as it is.
    pub progress_user: *mut c_void,
    /// Gives the photos that the notes name, for answers; NULL: those of the folder that the job came from, or none.
    pub resolver: fw_resolver,
    /// Handed to it as it is.
    pub resolver_user: *mut c_void,
    /// Largest photo that is taken, bytes.
    pub max_file_bytes: u64,
}

// SAFETY: `repr(C)`, plain data, its size first.
unsafe impl Sized1 for fw_solve_options {
    const FIRST: usize = size_of::<Self>();

    fn sized(self, struct_size: usize) -> Self {
        Self { struct_size, ..self }
    }
}

impl fw_solve_options {
    fn new() -> Self {
        Self {
            struct_size: size_of::<Self>(),
            draws: -1,
            seed: 0,
            progress: None,
            progress_user: core::ptr::null_mut(),
            resolver: None,
            resolver_user: core::ptr::null_mut(),
            max_file_bytes: 32 << 20,
        }
    }

    /// # Safety
    /// The caller's, or NULL, by the contract of the header.
    unsafe fn given(pointer: *const Self) -> Result<Self, Failure> {
        if pointer.is_null() {
            return Ok(Self::new());
        }
        // SAFETY: the same contract.
        unsafe { options(pointer, Self::new(), "options") }
    }

    fn watch(&self) -> Option<Watch> {
        self.progress.map(|progress| watch(progress, self.progress_user))
    }
}

/// Sets all of it: draws as the job says, nobody asked, photos of the job's folder.
///
/// `struct_size` is `sizeof(fw_solve_options)`, which is written too.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_solve_options_init(
    options: *mut fw_solve_options,
    struct_size: usize,
    error: *mut fw_error,
) -> fw_status {
    // SAFETY: a place of the caller's of that size, by the contract of the header.
    call(error, || unsafe { init(options, struct_size, fw_solve_options::new(), "options") })
}

/// Solves a job. The job is only read, and may be freed afterwards.
///
/// `options` may be NULL. `*lateral` is the caller's, to be freed by fw_lateral_free. Fails with FW_INPUT and the other
/// failures of input, which name field, index or station, value and what was expected, and for a job from text that was
/// not changed since its line; with FW_CANCELLED. Takes milliseconds to seconds; several threads may solve several
/// jobs, or one, at once.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_solve(
    job: *const fw_job,
    options: *const fw_solve_options,
    lateral: *mut *mut fw_lateral,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle, struct and place, by the contract of the header.
        let (job, asked, out) =
            unsafe { (given(job, "job")?, fw_solve_options::given(options)?, Out::new(lateral, "lateral")?) };
        let draws = match asked.draws {
            -1 => None,
            n => Some(usize::try_from(n).map_err(|_| bad_value("options.draws", n, "a count, or -1"))?),
        };
        let watch = asked.watch();
        let book = job.rulebook()?;
        let mut solved = match &job.inner {
            Inner::Plain(plain) => {
                let mut plain = (**plain).clone();
                if let Some(draws) = draws {
                    (plain.report.draws, plain.report.seed) = (draws, asked.seed);
                }
                fw_lateral::new(match &watch {
                    Some(watch) => Lateral::solve_watched(plain, watch)?,
                    None => Lateral::solve(plain)?,
                })
            }
            #[cfg(feature = "files")]
            Inner::Loaded(loaded) => {
                let changed = draws.map(|draws| {
                    let mut changed = (**loaded).clone();
                    (changed.job.report.draws, changed.job.report.seed) = (draws, asked.seed);
                    changed
                });
                let loaded = changed.as_ref().unwrap_or(loaded);
                let core = match &watch {
                    Some(watch) if job.changed => Lateral::solve_watched(loaded.job.clone(), watch)?,
                    None if job.changed => Lateral::solve(loaded.job.clone())?,
                    Some(watch) => loaded.solve_watched(watch)?,
                    None => loaded.solve()?,
                };
                let (inputs, warnings) = (loaded.inputs.clone(), loaded.warnings.clone());
                fw_lateral { inputs, warnings, ..fw_lateral::new(core) }
            }
        };
        solved.book = book;
        solved.language.clone_from(&job.language);
        #[cfg(feature = "files")]
        solved.folder.clone_from(&job.folder);
        hand_out(out, solved);
        Ok(())
    })
}

/// Solves a job with one round pipe all along in the place of its reaches: a standard one, from the first surveyed
/// station to the last.
///
/// `options` may be NULL. Otherwise as fw_lateral_solve; faults of a job from text come without their lines.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_solve_in_one_pipe(
    job: *const fw_job,
    pipe_class: *const c_char,
    class_length: usize,
    size: *const c_char,
    size_length: usize,
    options: *const fw_solve_options,
    lateral: *mut *mut fw_lateral,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle, texts, struct and place, by the contract of the header.
        let (job, class, size, asked, out) = unsafe {
            (
                given(job, "job")?,
                crate::border::some_text(pipe_class, class_length, "pipe_class")?,
                crate::border::some_text(size, size_length, "size")?,
                fw_solve_options::given(options)?,
                Out::new(lateral, "lateral")?,
            )
        };
        let mut plain = Lateral::in_one_pipe(job.job().clone(), fallwise::Pipe::standard(class, size)?)?;
        if asked.draws != -1 {
            let draws = asked.draws;
            plain.report.draws =
                usize::try_from(draws).map_err(|_| bad_value("options.draws", draws, "a count, or -1"))?;
            plain.report.seed = asked.seed;
        }
        let mut solved = fw_lateral::new(match asked.watch() {
            Some(watch) => Lateral::solve_watched(plain, &watch)?,
            None => Lateral::solve(plain)?,
        });
        solved.book = job.rulebook()?;
        solved.language.clone_from(&job.language);
        hand_out(out, solved);
        Ok(())
    })
}

/// A lateral whose segments are given and exact: `breaks` stations, m, and one tilt fewer, rad, positive down towards
/// growing station.
///
/// `width_m` and `height_m` of the bore, m; NaN for the height: round; NaN for both: not known. `*lateral` is the
/// caller's, to be freed by fw_lateral_free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_from_segments(
    breaks_m: *const f64,
    breaks: usize,
    tilt_rad: *const f64,
    tilts: usize,
    width_m: f64,
    height_m: f64,
    lateral: *mut *mut fw_lateral,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's arrays and place, by the contract of the header.
        let (breaks_m, tilt_rad, out) = unsafe {
            (
                some_array(breaks_m, breaks, "breaks_m")?,
                some_array(tilt_rad, tilts, "tilt_rad")?,
                Out::new(lateral, "lateral")?,
            )
        };
        let pipe = pipe(width_m, height_m)?;
        hand_out(out, fw_lateral::new(Lateral::from_segments(breaks_m.to_vec(), tilt_rad.to_vec(), pipe)?));
        Ok(())
    })
}

/// A lateral whose inverts are given: `count` stations and inverts, m, straight pipe between them, each with a standard
/// deviation of `sd_m`, m; NaN: exact.
///
/// The bore as in fw_lateral_from_segments. `*lateral` is the caller's, to be freed by fw_lateral_free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_from_inverts(
    station_m: *const f64,
    invert_m: *const f64,
    count: usize,
    sd_m: f64,
    width_m: f64,
    height_m: f64,
    lateral: *mut *mut fw_lateral,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's arrays and place, by the contract of the header.
        let (station_m, invert_m, out) = unsafe {
            (
                some_array(station_m, count, "station_m")?,
                some_array(invert_m, count, "invert_m")?,
                Out::new(lateral, "lateral")?,
            )
        };
        let pipe = pipe(width_m, height_m)?;
        hand_out(out, fw_lateral::new(Lateral::from_inverts(station_m, invert_m, unless_nan(sd_m), pipe)?));
        Ok(())
    })
}

/// Frees a lateral. NULL is allowed.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_free(lateral: *mut fw_lateral) {
    // SAFETY: a handle of this library that was not freed, by the contract of the header.
    unsafe { free(lateral) };
}

/// Everything that the lateral has to say, with findings where there is a rulebook.
///
/// `rulebook` NULL: that of the job. `options` may be NULL; its draws and seed are not used. `*answers` is the
/// caller's, to be freed by fw_answers_free. Fails with FW_CANCELLED. A photo that cannot be had is a warning in the
/// answers.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_answers(
    lateral: *const fw_lateral,
    rulebook: *const fw_rulebook,
    options: *const fw_solve_options,
    answers: *mut *mut fw_answers,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handles, struct and place, by the contract of the header.
        let (lateral, book, asked, out) = unsafe {
            (
                given(lateral, "lateral")?,
                optional(rulebook, "rulebook")?,
                fw_solve_options::given(options)?,
                Out::new(answers, "answers")?,
            )
        };
        let book = lateral.rulebook(book);
        let mut core = match asked.watch() {
            Some(watch) => lateral.core.answers_watched(book, &watch)?,
            None => lateral.core.answers(book)?,
        };
        core.inputs.splice(0..0, lateral.inputs.iter().cloned());
        core.warnings.splice(0..0, lateral.warnings.iter().cloned());
        #[cfg(feature = "files")]
        let photos = photos(lateral, &asked, &mut core)?;
        hand_out(
            out,
            fw_answers {
                core,
                language: lateral.language.clone(),
                #[cfg(feature = "files")]
                photos,
            },
        );
        Ok(())
    })
}

/// The photos of the notes, from the caller's resolver or the folder of the job.
#[cfg(feature = "files")]
fn photos(
    lateral: &fw_lateral,
    asked: &fw_solve_options,
    core: &mut fallwise::Answers,
) -> Result<Vec<fallwise_files::Photo>, Failure> {
    use fallwise_files::{
        FolderResolver,
        photo::{PhotoOptions, read_all},
    };
    if asked.resolver.is_some() {
        let called = crate::job::Called::new(asked.resolver, asked.resolver_user, asked.max_file_bytes, u64::MAX);
        return Ok(read_all(core, &called, PhotoOptions::default()));
    }
    match &lateral.folder {
        Some(folder) => Ok(read_all(core, &FolderResolver::new(folder)?, PhotoOptions::default())),
        None => Ok(Vec::new()),
    }
}

/// First and last surveyed station, m.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_surveyed(
    lateral: *const fw_lateral,
    from_m: *mut f64,
    to_m: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and places, by the contract of the header.
        let (lateral, from, to) =
            unsafe { (given(lateral, "lateral")?, Out::new(from_m, "from_m")?, Out::new(to_m, "to_m")?) };
        let (from_m, to_m) = lateral.core.surveyed_m();
        from.put(from_m);
        to.put(to_m);
        Ok(())
    })
}

/// Slope along the flow between two stations, m: fall over horizontal length, drops cut out, with its error.
///
/// Set `out->struct_size` first. Fails with FW_NOT_DETERMINED where there is nothing but drops, or where either was not
/// surveyed.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_slope_between(
    lateral: *const fw_lateral,
    from_m: f64,
    to_m: f64,
    out: *mut fw_estimate,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and struct, by the contract of the header.
        let (lateral, out) = unsafe { (given(lateral, "lateral")?, OutStruct::new(out, "out")?) };
        let slope = lateral.core.slope_between(finite(from_m, "from_m")?, finite(to_m, "to_m")?);
        out.put(slope.ok_or_else(|| not_determined("slope"))?.into());
        Ok(())
    })
}

/// Fall along the flow between two stations, m, drops and steps included, with its error.
///
/// Set `out->struct_size` first. Fails with FW_NOT_DETERMINED where either was not surveyed.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_fall_between(
    lateral: *const fw_lateral,
    from_m: f64,
    to_m: f64,
    out: *mut fw_estimate,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and struct, by the contract of the header.
        let (lateral, out) = unsafe { (given(lateral, "lateral")?, OutStruct::new(out, "out")?) };
        let fall = lateral.core.fall_between(finite(from_m, "from_m")?, finite(to_m, "to_m")?);
        out.put(fall.ok_or_else(|| not_determined("fall"))?.into());
        Ok(())
    })
}

fn not_determined(what: &str) -> Failure {
    Failure::new(fw_status::FW_NOT_DETERMINED, what, format!("{what}: not determined between these stations"))
}

/// What is known at each of `count` stations, m: a table with the columns of `path`.
///
/// `*table` is the caller's, to be freed by fw_table_free. Fails with FW_NOT_SURVEYED.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_at(
    lateral: *const fw_lateral,
    station_m: *const f64,
    count: usize,
    table: *mut *mut fw_table,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle, array and place, by the contract of the header.
        let (lateral, stations, out) = unsafe {
            (given(lateral, "lateral")?, some_array(station_m, count, "station_m")?, Out::new(table, "table")?)
        };
        fallwise::error::require_finite("station_m", stations)?;
        let (from_m, to_m) = lateral.core.surveyed_m();
        let rows = lateral.core.at(stations).into_iter().zip(stations).map(|(row, &station_m)| {
            row.ok_or_else(|| fallwise::Error::Outside { what: "station_m".to_owned(), station_m, from_m, to_m })
        });
        hand_out(out, fw_table::of(&rows.collect::<Result<Vec<_>, _>>()?)?);
        Ok(())
    })
}

/// Stations and heights of the profile of the best estimate, m above its lowest node, in order of station, each into
/// its own buffer of
/// `capacity` numbers.
///
/// Both buffers NULL with a capacity of 0 only ask.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_profile(
    lateral: *const fw_lateral,
    station_m: *mut f64,
    height_m: *mut f64,
    capacity: usize,
    needed: *mut usize,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle, by the contract of the header.
        let lateral = unsafe { given(lateral, "lateral") }?;
        let profile = lateral.core.profile();
        if !station_m.is_null() && (height_m.is_null() || !height_m.is_aligned()) {
            return Err(Failure::new(fw_status::FW_NULL_POINTER, "height_m", "height_m is NULL or not aligned"));
        }
        // SAFETY: the caller's buffers, by the contract of the header; the second only where the first was large enough.
        unsafe {
            array_out(&profile.station_m, station_m, capacity, needed)?;
            array_out(&profile.height_m, height_m, capacity, needed)
        }
    })
}

/// Takes a draw: its number from 0, and its heights, m above its lowest node, at the stations of fw_lateral_profile.
/// They live for the call only.
///
/// Return 0 to go on; anything else stops, and the call returns FW_SINK.
pub type fw_draw_sink =
    Option<unsafe extern "C" fn(user: *mut c_void, draw: usize, height_m: *const f64, count: usize) -> i32>;

/// Equally likely profiles, one after the other through a sink: `count` of them for a seed.
///
/// Draw i is the same however many are asked for, on every machine.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_draws(
    lateral: *const fw_lateral,
    count: usize,
    seed: u64,
    sink: fw_draw_sink,
    user: *mut c_void,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle, by the contract of the header.
        let lateral = unsafe { given(lateral, "lateral") }?;
        let sink = sink.ok_or_else(|| Failure::new(fw_status::FW_NULL_POINTER, "sink", "sink is NULL"))?;
        if count > u32::MAX as usize {
            return Err(bad_value("count", count, "at most 4294967295 draws"));
        }
        let (mut draw, mut stopped) = (0, false);
        lateral.core.draws(count, seed).for_each(&mut |profile| {
            if !stopped {
                let heights = &profile.height_m;
                // SAFETY: the caller's sink, by the contract of the header; the heights live for the call.
                stopped = unsafe { sink(user, draw, heights.as_ptr(), heights.len()) } != 0;
                draw += 1;
            }
        });
        if stopped { Err(Failure::new(fw_status::FW_SINK, "", "the sink said stop")) } else { Ok(()) }
    })
}

/// Covariances of the heights at `count` stations, m2, into `matrix` of `count * count` numbers, row by row.
///
/// Fails with FW_NOT_SURVEYED.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_covariance(
    lateral: *const fw_lateral,
    station_m: *const f64,
    count: usize,
    matrix: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and array, by the contract of the header.
        let (lateral, stations) = unsafe { (given(lateral, "lateral")?, some_array(station_m, count, "station_m")?) };
        // SAFETY: only looked at, before the work begins.
        unsafe { Out::new(matrix, "matrix") }?;
        fallwise::error::require_finite("station_m", stations)?;
        let (from_m, to_m) = lateral.core.surveyed_m();
        if let Some(&station_m) = stations.iter().find(|s| lateral.core.fall_between(**s, **s).is_none()) {
            return Err(fallwise::Error::Outside { what: "station_m".to_owned(), station_m, from_m, to_m }.into());
        }
        // As many as its result has places; more would not fit in memory either.
        let places = count.checked_mul(count).filter(|n| *n <= isize::MAX.unsigned_abs() / 8);
        let places = places.ok_or_else(|| bad_value("count", count, "fewer stations"))?;
        let mut full = Vec::new();
        full.try_reserve_exact(places).map_err(|_| bad_value("count", count, "fewer stations"))?;
        full.resize(places, f64::NAN);
        for c in lateral.core.height_covariance(stations) {
            for at in [c.first * count + c.second, c.second * count + c.first] {
                if let Some(place) = full.get_mut(at) {
                    *place = c.covariance_m2;
                }
            }
        }
        // SAFETY: room for them is the contract of this function.
        unsafe { fill(&full, matrix, "matrix") }
    })
}

/// Findings against a rulebook, the lateral's own first: a table with the columns of `findings`.
///
/// `rulebook` NULL: that of the job. `*undecided` becomes how many parts are undecided for want of a measurement; it
/// may be NULL. `*table` is the caller's, to be freed by fw_table_free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_check(
    lateral: *const fw_lateral,
    rulebook: *const fw_rulebook,
    undecided: *mut u64,
    table: *mut *mut fw_table,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handles and place, by the contract of the header.
        let (lateral, book, out) =
            unsafe { (given(lateral, "lateral")?, optional(rulebook, "rulebook")?, Out::new(table, "table")?) };
        let count = if undecided.is_null() {
            None
        } else {
            // SAFETY: the caller's place, by the contract of the header.
            Some(unsafe { Out::new(undecided, "undecided") }?)
        };
        let check = lateral.core.check(lateral.some_rulebook(book)?)?;
        let rows: Vec<FindingRow> = check.findings().map(FindingRow::from).collect();
        let made = fw_table::of(&rows)?;
        if let Some(count) = count {
            count.put(check.undecided() as u64);
        }
        hand_out(out, made);
        Ok(())
    })
}

/// Measurements that would decide what is undecided, best first: a table with the columns of `next`. Show the hazard of
/// each with it.
///
/// `rulebook` NULL: that of the job. `*table` is the caller's, to be freed by fw_table_free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_what_next(
    lateral: *const fw_lateral,
    rulebook: *const fw_rulebook,
    table: *mut *mut fw_table,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handles and place, by the contract of the header.
        let (lateral, book, out) =
            unsafe { (given(lateral, "lateral")?, optional(rulebook, "rulebook")?, Out::new(table, "table")?) };
        let book = lateral.some_rulebook(book)?;
        let rows: Vec<NextRow> = lateral.core.what_next(book).into_iter().map(NextRow::from).collect();
        hand_out(out, fw_table::of(&rows)?);
        Ok(())
    })
}

/// Pools with standing water at the outlet so high above its invert, m: a table with the columns of `pools`. NaN: as
/// the job says of it.
///
/// `*table` is the caller's, to be freed by fw_table_free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_pools(
    lateral: *const fw_lateral,
    tailwater_m: f64,
    table: *mut *mut fw_table,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and place, by the contract of the header.
        let (lateral, out) = unsafe { (given(lateral, "lateral")?, Out::new(table, "table")?) };
        let found = match unless_nan(tailwater_m) {
            Some(tailwater_m) => lateral.core.pools_with(Some(finite(tailwater_m, "tailwater_m")?)),
            None => lateral.core.pools(),
        };
        hand_out(out, fw_table::of(&pool_rows(&found, lateral.core.job().report.words))?);
        Ok(())
    })
}

/// The segments: a table with the columns of `segments`, without drawing anything.
///
/// `*table` is the caller's, to be freed by fw_table_free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_segments(
    lateral: *const fw_lateral,
    table: *mut *mut fw_table,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and place, by the contract of the header.
        let (lateral, out) = unsafe { (given(lateral, "lateral")?, Out::new(table, "table")?) };
        hand_out(out, fw_table::of(&lateral.core.segments())?);
        Ok(())
    })
}

/// Where a station lies on the surface and how deep, and whether anybody may dig by it: figures, and the whole row as a
/// table of one row with the columns of `digs`.
///
/// `station_sd_m`, m; NaN: what is usual for a station from the counter. Set `out->struct_size` first; `table` may be
/// NULL. `*table` is the caller's, to be freed by fw_table_free. Fails with FW_NOT_SURVEYED.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_locate(
    lateral: *const fw_lateral,
    station_m: f64,
    station_sd_m: f64,
    out: *mut fw_dig,
    table: *mut *mut fw_table,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and struct, by the contract of the header.
        let (lateral, out) = unsafe { (given(lateral, "lateral")?, OutStruct::new(out, "out")?) };
        let place = if table.is_null() {
            None
        } else {
            // SAFETY: the caller's place, by the contract of the header.
            Some(unsafe { Out::new(table, "table") }?)
        };
        let dig = lateral.core.locate(station_m, unless_nan(station_sd_m).unwrap_or(Place::SD_M))?;
        let made = fw_table::of([&dig])?;
        out.put((&dig).into());
        if let Some(place) = place {
            hand_out(place, made);
        }
        Ok(())
    })
}

/// Distances of a station from each landmark of the job: a table with the columns of `tapes`; no rows where the plan is
/// not determined.
///
/// `station_sd_m` as in fw_lateral_locate. `*table` is the caller's, to be freed by fw_table_free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_distances(
    lateral: *const fw_lateral,
    station_m: f64,
    station_sd_m: f64,
    table: *mut *mut fw_table,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and place, by the contract of the header.
        let (lateral, out) = unsafe { (given(lateral, "lateral")?, Out::new(table, "table")?) };
        let rows = lateral.core.tapes(station_m, unless_nan(station_sd_m).unwrap_or(Place::SD_M))?;
        hand_out(out, fw_table::of(&rows)?);
        Ok(())
    })
}

/// The places of the pipe nearest to a point on the surface, east and north in m: a table, usually of one row.
///
/// `*table` is the caller's, to be freed by fw_table_free. No rows where the plan is not determined.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_nearest(
    lateral: *const fw_lateral,
    east_m: f64,
    north_m: f64,
    table: *mut *mut fw_table,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and place, by the contract of the header.
        let (lateral, out) = unsafe { (given(lateral, "lateral")?, Out::new(table, "table")?) };
        hand_out(out, fw_table::of(&lateral.core.nearest(east_m, north_m)?)?);
        Ok(())
    })
}

/// What to re-lay at least cost, or why no re-laying helps, for what is asked in JSON (`relay` of a job); NULL with a
/// length of 0: what the job asks.
///
/// `rulebook` NULL: that of the job. The tables of `*document` are "relay", "stretches", "pieces", "nodes",
/// "quantities", "short", "sentences". It is the caller's, to be freed by fw_document_free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_relay(
    lateral: *const fw_lateral,
    choice_json: *const c_char,
    choice_length: usize,
    rulebook: *const fw_rulebook,
    document: *mut *mut fw_document,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handles, text and place, by the contract of the header.
        let (lateral, json, book, out) = unsafe {
            (
                given(lateral, "lateral")?,
                crate::border::text(choice_json, choice_length, "choice_json")?,
                optional(rulebook, "rulebook")?,
                Out::new(document, "document")?,
            )
        };
        let choice = match (json, &lateral.core.job().relay) {
            ("", Some(choice)) => choice.clone(),
            ("", None) => return Err(bad_value("choice_json", "none", "JSON, or a job that has relay")),
            (json, _) => crate::job::from_json("choice", json)?,
        };
        let answer = lateral.core.relay(&choice, lateral.rulebook(book))?;
        hand_out(out, fw_document::relay(&answer)?);
        Ok(())
    })
}

/// What the reaches carry, and what it would take, for what is asked in JSON (`capacity` of a job); NULL with a length
/// of 0: what the job asks.
///
/// The tables of `*document` are "carrying", "capacity" and "needed". It is the caller's, to be freed by
/// fw_document_free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_capacity(
    lateral: *const fw_lateral,
    capacity_json: *const c_char,
    capacity_length: usize,
    document: *mut *mut fw_document,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle, text and place, by the contract of the header.
        let (lateral, json, out) = unsafe {
            (
                given(lateral, "lateral")?,
                crate::border::text(capacity_json, capacity_length, "capacity_json")?,
                Out::new(document, "document")?,
            )
        };
        let asked = match (json, &lateral.core.job().capacity) {
            ("", Some(asked)) => asked.clone(),
            ("", None) => return Err(bad_value("capacity_json", "none", "JSON, or a job that has capacity")),
            (json, _) => crate::job::from_json("capacity", json)?,
        };
        hand_out(out, fw_document::carrying(&lateral.core.capacity(&asked)?));
        Ok(())
    })
}

/// Stretches that no reading saw, or on which runs contradict each other: pairs of stations, m, one after the other,
/// into `buffer` of `capacity` numbers.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_unseen(
    lateral: *const fw_lateral,
    buffer: *mut f64,
    capacity: usize,
    needed: *mut usize,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's buffer, by the contract of the header.
        unsafe { room(buffer, capacity, needed) }?;
        // SAFETY: the caller's handle, by the contract of the header.
        let lateral = unsafe { given(lateral, "lateral") }?;
        let flat: Vec<f64> = lateral.core.unseen_m().iter().flat_map(|(from, to)| [*from, *to]).collect();
        // SAFETY: the caller's buffer, by the contract of the header.
        unsafe { array_out(&flat, buffer, capacity, needed) }
    })
}

/// Odd but usable input: a table of one column, "text". Show it.
///
/// `*table` is the caller's, to be freed by fw_table_free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_warnings(
    lateral: *const fw_lateral,
    table: *mut *mut fw_table,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and place, by the contract of the header.
        let (lateral, out) = unsafe { (given(lateral, "lateral")?, Out::new(table, "table")?) };
        let solving = lateral.core.warnings().iter().map(ToString::to_string);
        let all: Vec<String> = lateral.warnings.iter().cloned().chain(solving).collect();
        hand_out(out, fw_table::of_texts("text", &all));
        Ok(())
    })
}

/// The position of each of `count` stations, m, into three buffers of `count` numbers: east, north,
/// and height above the lowest station. East and north are NaN where the plan is not determined.
///
/// Fails with FW_NOT_SURVEYED.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_lateral_positions(
    lateral: *const fw_lateral,
    station_m: *const f64,
    count: usize,
    east_m: *mut f64,
    north_m: *mut f64,
    height_m: *mut f64,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and array, by the contract of the header.
        let (lateral, stations) = unsafe { (given(lateral, "lateral")?, some_array(station_m, count, "station_m")?) };
        // SAFETY: only looked at, before the work begins.
        unsafe { (Out::new(east_m, "east_m")?, Out::new(north_m, "north_m")?, Out::new(height_m, "height_m")?) };
        fallwise::error::require_finite("station_m", stations)?;
        let (from_m, to_m) = lateral.core.surveyed_m();
        let (mut east, mut north, mut height) = (Vec::new(), Vec::new(), Vec::new());
        for &station_m in stations {
            let path = lateral.core.path();
            let up = path.height(station_m).ok_or_else(|| fallwise::Error::Outside {
                what: "station_m".to_owned(),
                station_m,
                from_m,
                to_m,
            })?;
            let [e, n, _] = path.position(station_m).unwrap_or([f64::NAN; 3]);
            east.push(e);
            north.push(n);
            height.push(up);
        }
        // SAFETY: room for them is the contract of this function.
        unsafe {
            fill(&east, east_m, "east_m")?;
            fill(&north, north_m, "north_m")?;
            fill(&height, height_m, "height_m")
        }
    })
}

//! Jobs: from text in memory, from a folder, and by the JSON of their parts.

use core::ffi::{c_char, c_void};

use fallwise::{Job, Rulebook, units::Language};
use serde::de::DeserializeOwned;

#[cfg(not(feature = "files"))]
use crate::border::not_built;
use crate::{
    border::{
        Out, Sized1, call, changed, free, given, hand_out, init, options, room, some_text, text_out, unknown_name,
    },
    error::{Failure, fw_error},
    rulebook::fw_rulebook,
    status::fw_status,
};

/// A job: all that is known of one lateral before anything is computed. It may be changed; then no other thread may use
/// it meanwhile. Solving only reads it.
pub struct fw_job {
    pub(crate) inner: Inner,
    /// Whether it is no longer what was read: then a fault's line would be that of another value.
    pub(crate) changed: bool,
    pub(crate) book: Book,
    pub(crate) language: Option<Language>,
    #[cfg(feature = "files")]
    pub(crate) folder: Option<std::path::PathBuf>,
}

/// Where the job is.
pub(crate) enum Inner {
    Plain(Box<Job>),
    /// As read, for the places of faults that only solving shows.
    #[cfg(feature = "files")]
    Loaded(Box<fallwise_files::Loaded>),
}

/// The rulebook that a job is checked against where no other is given.
pub(crate) enum Book {
    /// The shipped one that the job names, if it names one.
    Named,
    Own(Box<Rulebook>),
}

impl fw_job {
    fn new(inner: Inner) -> Self {
        Self {
            inner,
            changed: false,
            book: Book::Named,
            language: None,
            #[cfg(feature = "files")]
            folder: None,
        }
    }

    /// Put together from what is known.
    pub(crate) fn plain(job: Job, book: Option<Rulebook>, language: Option<Language>) -> Self {
        let book = book.map_or(Book::Named, |book| Book::Own(Box::new(book)));
        Self { book, language, ..Self::new(Inner::Plain(Box::new(job))) }
    }

    #[cfg(feature = "files")]
    fn loaded(mut loaded: fallwise_files::Loaded, folder: Option<std::path::PathBuf>) -> Self {
        let book = loaded.rulebook.clone().map_or(Book::Named, |book| Book::Own(Box::new(book)));
        let language = loaded.language.take();
        Self { book, language, folder, ..Self::new(Inner::Loaded(Box::new(loaded))) }
    }

    pub(crate) fn job(&self) -> &Job {
        match &self.inner {
            Inner::Plain(job) => job,
            #[cfg(feature = "files")]
            Inner::Loaded(loaded) => &loaded.job,
        }
    }

    /// The job, to be changed.
    pub(crate) fn job_mut(&mut self) -> &mut Job {
        self.changed = true;
        match &mut self.inner {
            Inner::Plain(job) => job,
            #[cfg(feature = "files")]
            Inner::Loaded(loaded) => &mut loaded.job,
        }
    }

    pub(crate) fn rulebook(&self) -> Result<Option<Rulebook>, Failure> {
        match (&self.book, &self.job().rules.rulebook) {
            (Book::Own(book), _) => Ok(Some((**book).clone())),
            (Book::Named, Some(name)) if !name.is_empty() => Ok(Some(Rulebook::shipped(name)?)),
            (Book::Named, _) => Ok(None),
        }
    }
}

/// Where a resolver puts the bytes of a file. It lives for the call of the resolver only.
pub struct fw_bytes {
    #[cfg_attr(not(feature = "files"), allow(dead_code, reason = "no resolver is asked"))]
    bytes: Vec<u8>,
    most: u64,
    too_large: bool,
}

/// Gives the bytes of a file that a job names: a log, a rulebook, a language, a photo.
///
/// `name` is UTF-8 of `name_length` bytes, without a NUL behind it: a relative path with `/` between its parts that
/// never leads upwards. Hand the bytes over by fw_bytes_append, in one piece or several, and return 0. Return 1 where
/// there is no such file, anything else where it cannot be given. It is called on the thread that made the call it was
/// given to, and must neither free the handles of that call nor leave by longjmp or an exception.
pub type fw_resolver =
    Option<unsafe extern "C" fn(user: *mut c_void, name: *const c_char, name_length: usize, out: *mut fw_bytes) -> i32>;

/// Adds bytes to the file that a resolver is asked for; they are copied.
///
/// Fails with FW_TOO_LARGE where the file becomes larger than the limit; the resolver should then return, what it
/// returns no longer matters.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_bytes_append(
    out: *mut fw_bytes,
    bytes: *const u8,
    length: usize,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: handed to the resolver by this library, and bytes of the caller's, by the contract of the header.
        let (out, bytes) = unsafe { (changed(out, "out")?, crate::border::array(bytes, length, "bytes")?) };
        if out.too_large || (out.bytes.len() + bytes.len()) as u64 > out.most {
            out.too_large = true;
            out.bytes = Vec::new();
            return Err(Failure::new(
                fw_status::FW_TOO_LARGE,
                "bytes",
                format!("the file is too large: at most {} bytes are taken", out.most),
            ));
        }
        out.bytes.extend_from_slice(bytes);
        Ok(())
    })
}

/// How a job is read from memory. Call fw_job_options_init first.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct fw_job_options {
    /// `sizeof(fw_job_options)`.
    pub struct_size: usize,
    /// Name of the text for messages, UTF-8; NULL: "job.toml" or "job.json".
    pub name: *const c_char,
    /// Its length, bytes.
    pub name_length: usize,
    /// Gives the files that the job names; NULL: it may name none.
    pub resolver: fw_resolver,
    /// Handed to the resolver as it is.
    pub resolver_user: *mut c_void,
    /// Largest text of a job, bytes.
    pub max_text_bytes: u64,
    /// Largest file that a resolver may give, bytes.
    pub max_file_bytes: u64,
    /// Most bytes of all files that one job names together.
    pub max_total_bytes: u64,
}

// SAFETY: `repr(C)`, plain data, its size first.
unsafe impl Sized1 for fw_job_options {
    const FIRST: usize = size_of::<Self>();

    fn sized(self, struct_size: usize) -> Self {
        Self { struct_size, ..self }
    }
}

/// Largest text of a job that is read where no limit is set, bytes.
const MAX_TEXT_BYTES: u64 = 16 << 20;
/// The same of a file that it names: that of the core for logs.
const MAX_FILE_BYTES: u64 = 256 << 20;

impl fw_job_options {
    fn new() -> Self {
        Self {
            struct_size: size_of::<Self>(),
            name: core::ptr::null(),
            name_length: 0,
            resolver: None,
            resolver_user: core::ptr::null_mut(),
            max_text_bytes: MAX_TEXT_BYTES,
            max_file_bytes: MAX_FILE_BYTES,
            max_total_bytes: 2 * MAX_FILE_BYTES,
        }
    }
}

/// Sets all of it: no resolver, at most 16 MiB of text, 256 MiB a file, 512 MiB together.
///
/// `struct_size` is `sizeof(fw_job_options)`, which is written too.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_options_init(
    options: *mut fw_job_options,
    struct_size: usize,
    error: *mut fw_error,
) -> fw_status {
    // SAFETY: a place of the caller's of that size, by the contract of the header.
    call(error, || unsafe { init(options, struct_size, fw_job_options::new(), "options") })
}

/// A job with nothing in it, to be filled by fw_job_add_run and the like.
///
/// `*job` is the caller's, to be freed by fw_job_free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_new(job: *mut *mut fw_job, error: *mut fw_error) -> fw_status {
    call(error, || {
        // SAFETY: the caller's place, by the contract of the header.
        let out = unsafe { Out::new(job, "job") }?;
        hand_out(out, fw_job::new(Inner::Plain(Box::default())));
        Ok(())
    })
}

/// Reads a job from its text in TOML: the form of job files, every quantity with its unit.
///
/// `text` is UTF-8 of `length` bytes; `options` may be NULL, which is what fw_job_options_init sets. `*job` is the
/// caller's, to be freed by fw_job_free. Fails with FW_FORMAT and the like: file, line and column, key and what was
/// expected are in the error; with FW_TOO_LARGE; with FW_NOT_BUILT.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_from_toml(
    text: *const c_char,
    length: usize,
    options: *const fw_job_options,
    job: *mut *mut fw_job,
    error: *mut fw_error,
) -> fw_status {
    // SAFETY: the caller's text, options and place, by the contract of the header.
    call(error, || unsafe { read(text, length, options, job, false) })
}

/// Reads a job of the same form from JSON, in which null is an absent key; as fw_job_from_toml.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_from_json(
    text: *const c_char,
    length: usize,
    options: *const fw_job_options,
    job: *mut *mut fw_job,
    error: *mut fw_error,
) -> fw_status {
    // SAFETY: the caller's text, options and place, by the contract of the header.
    call(error, || unsafe { read(text, length, options, job, true) })
}

/// # Safety
/// As the two above.
unsafe fn read(
    given_text: *const c_char,
    length: usize,
    given_options: *const fw_job_options,
    job: *mut *mut fw_job,
    json: bool,
) -> Result<(), Failure> {
    // SAFETY: the same contract.
    let (text, out) = unsafe { (some_text(given_text, length, "text")?, Out::new(job, "job")?) };
    let asked = if given_options.is_null() {
        fw_job_options::new()
    } else {
        // SAFETY: the same contract.
        unsafe { options(given_options, fw_job_options::new(), "options") }?
    };
    if text.len() as u64 > asked.max_text_bytes {
        let message = format!("the text is too large: at most {} bytes are taken", asked.max_text_bytes);
        return Err(Failure::new(fw_status::FW_TOO_LARGE, "text", message));
    }
    // SAFETY: the same contract.
    let name = unsafe { crate::border::text(asked.name, asked.name_length, "options.name") }?;
    let name = match (name, json) {
        ("", false) => "job.toml",
        ("", true) => "job.json",
        (name, _) => name,
    };
    #[cfg(feature = "files")]
    {
        use fallwise_files::job::{read_json, read_text};
        let resolver = Called::new(asked.resolver, asked.resolver_user, asked.max_file_bytes, asked.max_total_bytes);
        let loaded = if json { read_json(text, name, &resolver) } else { read_text(text, name, &resolver) };
        let loaded = loaded.map_err(|error| resolver.told(Failure::from(error)))?;
        hand_out(out, fw_job::loaded(loaded, None));
        Ok(())
    }
    #[cfg(not(feature = "files"))]
    {
        let _ = (name, out);
        Err(not_built("files"))
    }
}

/// Reads a job file (TOML, or JSON where its name ends in ".json") and the files that it names, which must lie below
/// its folder. Nothing is written.
///
/// `path` is UTF-8 of `path_length` bytes. `*job` is the caller's, to be freed by fw_job_free. The folder is read again
/// for photos when answers are made. Fails as fw_job_from_toml, and with FW_FILE_MISSING and FW_FILE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_from_file(
    path: *const c_char,
    path_length: usize,
    job: *mut *mut fw_job,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's text and place, by the contract of the header.
        let (path, out) = unsafe { (some_text(path, path_length, "path")?, Out::new(job, "job")?) };
        #[cfg(feature = "files")]
        {
            let path = std::path::Path::new(path);
            let loaded = fallwise_files::job::read(path)?;
            let folder = path.parent().unwrap_or(std::path::Path::new(".")).to_owned();
            hand_out(out, fw_job::loaded(loaded, Some(folder)));
            Ok(())
        }
        #[cfg(not(feature = "files"))]
        {
            let _ = (path, out);
            Err(not_built("files"))
        }
    })
}

/// Frees a job. NULL is allowed. What was made of it stays.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_free(job: *mut fw_job) {
    // SAFETY: a handle of this library that was not freed, by the contract of the header.
    unsafe { free(job) };
}

/// Sets a part of the job from JSON: plain data in SI units and radians, under the names of `result.json`'s `job`.
///
/// `key` is one of `survey`, `origin`, `runs`, `as_built`, `as_built_use`, `ties`, `reaches`, `instrument`, `bends`,
/// `steps`, `features`, `ground`, `notes`, `landmarks`, `digs`, `digging`, `flow`, `segments`, `tailwater_m`,
/// `capacity`, `rules`, `report`, `relay`; what was there is replaced. Fails with FW_UNKNOWN_NAME, and with FW_JSON:
/// the path of the key is in `field`, line and column of the JSON beside it. The job is then as it was.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_set_json(
    job: *mut fw_job,
    key: *const c_char,
    key_length: usize,
    json: *const c_char,
    json_length: usize,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and texts, by the contract of the header.
        let (job, key, json) = unsafe {
            (changed(job, "job")?, some_text(key, key_length, "key")?, some_text(json, json_length, "json")?)
        };
        let into = job.job_mut();
        match key {
            "survey" => set(&mut into.survey, key, json),
            "origin" => set(&mut into.origin, key, json),
            "runs" => set(&mut into.runs, key, json),
            "as_built" => set(&mut into.as_built, key, json),
            "as_built_use" => set(&mut into.as_built_use, key, json),
            "ties" => set(&mut into.ties, key, json),
            "reaches" => set(&mut into.reaches, key, json),
            "instrument" => set(&mut into.instrument, key, json),
            "bends" => set(&mut into.bends, key, json),
            "steps" => set(&mut into.steps, key, json),
            "features" => set(&mut into.features, key, json),
            "ground" => set(&mut into.ground, key, json),
            "notes" => set(&mut into.notes, key, json),
            "landmarks" => set(&mut into.landmarks, key, json),
            "digs" => set(&mut into.digs, key, json),
            "digging" => set(&mut into.digging, key, json),
            "flow" => set(&mut into.flow, key, json),
            "segments" => set(&mut into.segments, key, json),
            "tailwater_m" => set(&mut into.tailwater_m, key, json),
            "capacity" => set(&mut into.capacity, key, json),
            "rules" => {
                set(&mut into.rules, key, json)?;
                job.book = Book::Named;
                Ok(())
            }
            "report" => set(&mut into.report, key, json),
            "relay" => set(&mut into.relay, key, json),
            _ => Err(unknown_name("key", key)),
        }
    })
}

/// Adds one to a list of the job from JSON; as fw_job_set_json.
///
/// `key` is one of `runs`, `as_built`, `ties`, `reaches`, `bends`, `steps`, `features`, `ground`, `notes`, `landmarks`,
/// `digs`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_add_json(
    job: *mut fw_job,
    key: *const c_char,
    key_length: usize,
    json: *const c_char,
    json_length: usize,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and texts, by the contract of the header.
        let (job, key, json) = unsafe {
            (changed(job, "job")?, some_text(key, key_length, "key")?, some_text(json, json_length, "json")?)
        };
        let into = job.job_mut();
        match key {
            "runs" => add(&mut into.runs, key, json),
            "as_built" => add(&mut into.as_built, key, json),
            "ties" => add(&mut into.ties, key, json),
            "reaches" => add(&mut into.reaches, key, json),
            "bends" => add(&mut into.bends, key, json),
            "steps" => add(&mut into.steps, key, json),
            "features" => add(&mut into.features, key, json),
            "ground" => add(&mut into.ground, key, json),
            "notes" => add(&mut into.notes, key, json),
            "landmarks" => add(&mut into.landmarks, key, json),
            "digs" => add(&mut into.digs, key, json),
            _ => Err(unknown_name("key", key)),
        }
    })
}

/// A value from JSON, its faults under `key`.
pub(crate) fn from_json<T: DeserializeOwned>(key: &str, json: &str) -> Result<T, Failure> {
    let mut reader = serde_json::Deserializer::from_str(json);
    #[cfg(feature = "files")]
    let value = serde_path_to_error::deserialize(&mut reader).map_err(|error| Failure::from(error).within(key))?;
    // A tenth of the smallest library would be the paths: there the key alone is told.
    #[cfg(not(feature = "files"))]
    let value = T::deserialize(&mut reader).map_err(|error| Failure::from(error).within(key))?;
    reader.end().map_err(|error| Failure::from(error).within(key))?;
    Ok(value)
}

fn set<T: DeserializeOwned>(part: &mut T, key: &str, json: &str) -> Result<(), Failure> {
    *part = from_json(key, json)?;
    Ok(())
}

fn add<T: DeserializeOwned>(list: &mut Vec<T>, key: &str, json: &str) -> Result<(), Failure> {
    list.push(from_json(&format!("{key}[{}]", list.len()), json)?);
    Ok(())
}

/// The job as plain data in JSON, SI units and radians: what fw_job_set_json takes, all of it under its keys.
///
/// Into `buffer` of `capacity` bytes; `*needed` counts the NUL. The text is made anew in each call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_json(
    job: *const fw_job,
    buffer: *mut c_char,
    capacity: usize,
    needed: *mut usize,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's buffer, by the contract of the header.
        unsafe { room(buffer, capacity, needed) }?;
        // SAFETY: the caller's handle, by the contract of the header.
        let job = unsafe { given(job, "job") }?;
        let text = serde_json::to_string(job.job())?;
        // SAFETY: the caller's buffer, by the contract of the header.
        unsafe { text_out(&text, buffer, capacity, needed) }
    })
}

/// The job as a TOML text of the form that fw_job_from_toml reads, and the logs that it then names, through a sink:
/// first "job.toml", then each log.
///
/// Fails with FW_SINK where the sink says stop, FW_NOT_BUILT, and FW_FORMAT for what the form cannot say.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_write(
    job: *const fw_job,
    sink: crate::report::fw_sink,
    user: *mut c_void,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle, by the contract of the header.
        let job = unsafe { given(job, "job") }?;
        let sink = sink.ok_or_else(|| Failure::new(fw_status::FW_NULL_POINTER, "sink", "sink is NULL"))?;
        #[cfg(feature = "files")]
        {
            let written = fallwise_files::job::to_toml(job.job())?;
            // SAFETY: the caller's sink, by the contract of the header.
            unsafe { crate::border::sink(sink, user, "job.toml", written.text.as_bytes()) }?;
            for (name, log) in &written.logs.0 {
                // SAFETY: as above.
                unsafe { crate::border::sink(sink, user, name, log) }?;
            }
            Ok(())
        }
        #[cfg(not(feature = "files"))]
        {
            let _ = (job, sink, user);
            Err(not_built("files"))
        }
    })
}

/// The job without people and site, for sharing: everything that figures depend on stays.
///
/// `*redacted` is the caller's, to be freed by fw_job_free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_redacted(
    job: *const fw_job,
    redacted: *mut *mut fw_job,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and place, by the contract of the header.
        let (job, out) = unsafe { (given(job, "job")?, Out::new(redacted, "redacted")?) };
        let book = match &job.book {
            Book::Own(book) => Book::Own(Box::new(book.redacted())),
            Book::Named => Book::Named,
        };
        let plain = Inner::Plain(Box::new(job.job().redacted()));
        hand_out(out, fw_job { book, language: job.language.clone(), ..fw_job::new(plain) });
        Ok(())
    })
}

/// Sets the rulebook that the lateral is checked against where no other is given; it is copied.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_set_rulebook(
    job: *mut fw_job,
    rulebook: *const fw_rulebook,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handles, by the contract of the header.
        let (job, book) = unsafe { (changed(job, "job")?, given(rulebook, "rulebook")?) };
        job.book = Book::Own(Box::new(book.0.clone()));
        Ok(())
    })
}

/// Sets the language of pages and pictures, from the text of its table (TOML). Fails with FW_INPUT and the like.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_job_set_language(
    job: *mut fw_job,
    text: *const c_char,
    length: usize,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and text, by the contract of the header.
        let (job, text) = unsafe { (changed(job, "job")?, some_text(text, length, "text")?) };
        job.language = Some(Language::parse(text)?);
        Ok(())
    })
}

#[cfg(feature = "files")]
pub(crate) use called::Called;

#[cfg(feature = "files")]
mod called {
    use core::{
        cell::Cell,
        ffi::{c_char, c_void},
    };

    use fallwise_files::{FileError, Place, Resolver, resolver::check_name};

    use super::{fw_bytes, fw_resolver};
    use crate::{error::Failure, status::fw_status};

    /// A resolver that asks the caller's.
    pub(crate) struct Called {
        resolver: fw_resolver,
        user: *mut c_void,
        most: u64,
        /// Bytes that may still come.
        left: Cell<u64>,
        /// What the failure of the last file was, where it was the resolver's.
        failed: Cell<Option<fw_status>>,
    }

    impl Called {
        pub(crate) fn new(resolver: fw_resolver, user: *mut c_void, most: u64, total: u64) -> Self {
            Self { resolver, user, most, left: Cell::new(total), failed: Cell::new(None) }
        }

        /// A failure of reading, with the status of what the resolver did where that was the cause.
        pub(crate) fn told(&self, failure: Failure) -> Failure {
            match self.failed.get() {
                Some(status) => failure.with_status(status),
                None => failure,
            }
        }
    }

    impl Resolver for Called {
        fn read(&self, name: &str) -> Result<Vec<u8>, FileError> {
            self.read_at_most(name, self.most)
        }

        fn read_at_most(&self, name: &str, most: u64) -> Result<Vec<u8>, FileError> {
            check_name(name)?;
            let fault = |status, problem: &str| {
                self.failed.set(Some(status));
                Err(FileError::new(Place::File, problem).in_file(name))
            };
            let Some(resolver) = self.resolver else {
                return fault(fw_status::FW_FILE_MISSING, "no such file was given");
            };
            let most = most.min(self.most).min(self.left.get());
            let mut out = fw_bytes { bytes: Vec::new(), most, too_large: false };
            // SAFETY: the caller's function with the caller's data; name and place live for the call.
            let answer = unsafe { resolver(self.user, name.as_ptr().cast::<c_char>(), name.len(), &raw mut out) };
            if out.too_large {
                return fault(fw_status::FW_TOO_LARGE, "the file is too large");
            }
            self.left.set(self.left.get().saturating_sub(out.bytes.len() as u64));
            match answer {
                0 => Ok(out.bytes),
                1 => fault(fw_status::FW_FILE_MISSING, "no such file was given"),
                _ => fault(fw_status::FW_RESOLVER, "the file could not be given"),
            }
        }
    }
}

//! Where the files that a job names come from. A job reads nothing outside its own folder.

use std::{
    collections::BTreeMap,
    io::{self, Read},
    path::Path,
};

use cap_std::{
    ambient_authority,
    fs::{Dir, File, OpenOptions},
};

use crate::error::{FileError, Place, shown};

/// The largest file that is read, bytes: about ten million rows of a log. A limit, so that a wrong name cannot fill the
/// memory.
pub const LARGEST_FILE: u64 = 256 << 20;

/// The longest name, bytes: what the common file systems allow a whole path.
const LONGEST_NAME: usize = 4096;
/// The longest part of a name, bytes: what the common file systems allow one.
const LONGEST_PART: usize = 255;

/// Gives the bytes of a file that a job names: logs, rulebooks, photos.
pub trait Resolver {
    /// The bytes of `name`, a relative path with `/` between its parts.
    ///
    /// # Errors
    /// A [`FileError`] that names the file, where it is not there, may not be read, or lies outside; see [`check_name`].
    fn read(&self, name: &str) -> Result<Vec<u8>, FileError>;

    /// The same of a file that is to have `most` bytes at most. A resolver that can tell a size before it reads should.
    ///
    /// # Errors
    /// As [`Resolver::read`], and a larger file.
    fn read_at_most(&self, name: &str, most: u64) -> Result<Vec<u8>, FileError> {
        let bytes = self.read(name)?;
        if bytes.len() as u64 > most { Err(too_large(&shown(name), most)) } else { Ok(bytes) }
    }
}

/// Files below one folder, held open: what the folder's own path comes to name later does not matter.
///
/// Absolute names, `..`, links that lead out of the folder, and whatever is no plain file are refused. Links are followed
/// by the operating system's own means of staying below a folder (crate `cap-std`), so that a link that changes while it
/// is looked at leads nowhere either. Nothing waits: a pipe is opened without blocking and refused.
#[derive(Debug)]
pub struct FolderResolver {
    root: Dir,
}

impl FolderResolver {
    /// Files below `folder`.
    ///
    /// # Errors
    /// The folder is not there.
    pub fn new(folder: &Path) -> Result<Self, FileError> {
        // `parent` of a bare file name is empty, and means here.
        let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
        let root = Dir::open_ambient_dir(folder, ambient_authority())
            .map_err(|e| FileError::from_io(folder.display().to_string(), "open the folder", &e))?;
        Ok(Self { root })
    }
}

impl Resolver for FolderResolver {
    fn read(&self, name: &str) -> Result<Vec<u8>, FileError> {
        self.read_at_most(name, LARGEST_FILE)
    }

    fn read_at_most(&self, name: &str, most: u64) -> Result<Vec<u8>, FileError> {
        check_name(name)?;
        let fault = |e: io::Error| if is_escape(&e) { outside(name) } else { unread(&shown(name), &e) };
        // Asked before opening too, since opening a device may do something.
        if !self.root.metadata(name).map_err(fault)?.is_file() {
            return Err(not_plain(&shown(name)));
        }
        whole(self.root.open_with(name, &reading()).map_err(fault)?, &shown(name), most.min(LARGEST_FILE))
    }
}

/// Files held in memory, by name.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct MemoryResolver(pub BTreeMap<String, Vec<u8>>);

impl Resolver for MemoryResolver {
    fn read(&self, name: &str) -> Result<Vec<u8>, FileError> {
        check_name(name)?;
        self.0.get(name).cloned().ok_or_else(|| {
            FileError::new(Place::File, "no such file was given")
                .in_file(shown(name))
                .nearest(name, self.0.keys().map(String::as_str))
        })
    }
}

/// Reads a plain file of at most [`LARGEST_FILE`] bytes that the user named; `name` is for messages.
pub(crate) fn read_file(path: &Path, name: &str) -> Result<Vec<u8>, FileError> {
    // Asked before opening, since opening a device may do something.
    if !std::fs::metadata(path).map_err(|e| unread(name, &e))?.is_file() {
        return Err(not_plain(name));
    }
    whole(
        File::open_ambient_with(path, &reading(), ambient_authority()).map_err(|e| unread(name, &e))?,
        name,
        LARGEST_FILE,
    )
}

/// How a file is opened: for reading, and without waiting for the other end of a pipe.
fn reading() -> OpenOptions {
    let mut options = OpenOptions::new();
    options.read(true);
    #[cfg(unix)]
    {
        use cap_std::fs::OpenOptionsExt;
        options.custom_flags(rustix::fs::OFlags::NONBLOCK.bits().cast_signed());
    }
    options
}

/// All of an open file, if it is plain and of `most` bytes at most.
fn whole(file: File, name: &str, most: u64) -> Result<Vec<u8>, FileError> {
    let there = file.metadata().map_err(|e| unread(name, &e))?;
    if !there.is_file() {
        return Err(not_plain(name));
    }
    if there.len() > most {
        return Err(too_large(name, most));
    }
    let mut bytes = Vec::new();
    // A file may grow while it is read.
    file.take(most + 1).read_to_end(&mut bytes).map_err(|e| unread(name, &e))?;
    if bytes.len() as u64 > most { Err(too_large(name, most)) } else { Ok(bytes) }
}

fn too_large(name: &str, most: u64) -> FileError {
    FileError::new(Place::File, "the file is too large").in_file(name).expected(format!("at most {} MiB", most >> 20))
}

/// Refuses a name that goes anywhere but down, or that means another file, or none, on some system: a job reads the same
/// everywhere.
///
/// # Errors
/// The name is empty, absolute or too long; a part of it is `..`, ends in a dot or a space, is the name of a device
/// (`NUL`, `COM1.csv`); it holds a backslash, a colon, or a control character.
pub fn check_name(name: &str) -> Result<(), FileError> {
    let parts = || name.split('/');
    // A backslash or colon separates or names a drive on one system and is part of a name on another.
    if name.is_empty() || name.starts_with('/') || name.contains(['\\', ':', '\0']) || parts().any(|p| p == "..") {
        return Err(outside(name));
    }
    let refused = |problem: &str, expected: &str| {
        Err(FileError::new(Place::File, problem).in_file(shown(name)).value(name).expected(expected))
    };
    if name.len() > LONGEST_NAME || parts().any(|p| p.len() > LONGEST_PART) {
        return refused("the name is too long", "parts of at most 255 bytes");
    }
    if name.contains(char::is_control) {
        return refused("a control character stands in the name", "a plain name");
    }
    if name.ends_with('/') || parts().any(|p| p != "." && p.ends_with(['.', ' '])) {
        return refused(
            "a part of the name ends in a dot, a space or a slash, which some systems leave out",
            "a plain name",
        );
    }
    if parts().any(is_device) {
        return refused("the name is that of a device on some systems", "another name");
    }
    Ok(())
}

/// Whether Windows takes a name, whatever its extension, for a device.
fn is_device(part: &str) -> bool {
    let stem = part.split('.').next().unwrap_or_default().trim_end().to_uppercase();
    let numbered = |word: &str| {
        stem.strip_prefix(word)
            .is_some_and(|n| matches!(n, "0" | "1" | "2" | "3" | "4" | "5" | "6" | "7" | "8" | "9" | "¹" | "²" | "³"))
    };
    matches!(stem.as_str(), "CON" | "PRN" | "AUX" | "NUL" | "CONIN$" | "CONOUT$" | "CLOCK$")
        || numbered("COM")
        || numbered("LPT")
}

/// Whether `cap-std` refused a path since it leads out of its folder; it has no error kind of its own for that.
fn is_escape(error: &io::Error) -> bool {
    error.kind() == io::ErrorKind::PermissionDenied && error.raw_os_error().is_none()
}

fn unread(name: &str, error: &io::Error) -> FileError {
    FileError::from_io(name, "read it", error)
}

fn not_plain(name: &str) -> FileError {
    FileError::new(Place::File, "is not a plain file").in_file(name)
}

fn outside(name: &str) -> FileError {
    FileError::new(Place::File, "a job reads nothing outside its own folder")
        .in_file(if name.is_empty() { "\"\"".to_owned() } else { shown(name) })
        .value(name)
        .expected("a name below that folder, such as \"log.csv\" or \"logs/1.csv\"")
}

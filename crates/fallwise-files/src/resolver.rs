//! Where the files that a job names come from. A job reads nothing outside its own folder.

use std::{
    collections::BTreeMap,
    fs::{self, File},
    io::Read,
    path::{Component, Path, PathBuf},
};

use crate::error::{FileError, Place, shown};

/// The largest file that is read, bytes: about ten million rows of a log. A limit, so that a wrong name cannot fill the
/// memory.
pub const LARGEST_FILE: u64 = 256 << 20;

/// Gives the bytes of a file that a job names.
pub trait Resolver {
    /// The bytes of `name`, a relative path with `/` between its parts.
    ///
    /// # Errors
    /// A [`FileError`] that names the file, where it is not there, may not be read, or lies outside.
    fn read(&self, name: &str) -> Result<Vec<u8>, FileError>;
}

/// Files below one folder. Absolute names, `..`, links that lead out of the folder, and whatever is no plain file are
/// refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FolderResolver {
    root: PathBuf,
}

impl FolderResolver {
    /// Files below `folder`.
    ///
    /// # Errors
    /// The folder is not there.
    pub fn new(folder: &Path) -> Result<Self, FileError> {
        // `parent` of a bare file name is empty, and means here.
        let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
        let root = fs::canonicalize(folder)
            .map_err(|e| FileError::from_io(folder.display().to_string(), "open the folder", &e))?;
        Ok(Self { root })
    }
}

impl Resolver for FolderResolver {
    fn read(&self, name: &str) -> Result<Vec<u8>, FileError> {
        let path = self.root.join(checked_name(name)?);
        let real = fs::canonicalize(&path).map_err(|e| FileError::from_io(shown(name), "read it", &e))?;
        if !real.starts_with(&self.root) {
            return Err(outside(name));
        }
        read_file(&real, &shown(name))
    }
}

/// Files held in memory, by name.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct MemoryResolver(pub BTreeMap<String, Vec<u8>>);

impl Resolver for MemoryResolver {
    fn read(&self, name: &str) -> Result<Vec<u8>, FileError> {
        checked_name(name)?;
        self.0.get(name).cloned().ok_or_else(|| {
            FileError::new(Place::File, "no such file was given")
                .in_file(shown(name))
                .nearest(name, self.0.keys().map(String::as_str))
        })
    }
}

/// Reads a plain file of at most [`LARGEST_FILE`] bytes; `name` is for messages.
pub(crate) fn read_file(path: &Path, name: &str) -> Result<Vec<u8>, FileError> {
    let io = |e: std::io::Error| FileError::from_io(name, "read it", &e);
    // Asked before opening, since opening a pipe would wait for its other end.
    if !fs::metadata(path).map_err(io)?.is_file() {
        return Err(FileError::new(Place::File, "is not a plain file").in_file(name));
    }
    let mut bytes = Vec::new();
    File::open(path).map_err(io)?.take(LARGEST_FILE + 1).read_to_end(&mut bytes).map_err(io)?;
    if bytes.len() as u64 > LARGEST_FILE {
        let limit = format!("at most {} MiB", LARGEST_FILE >> 20);
        return Err(FileError::new(Place::File, "the file is too large").in_file(name).expected(limit));
    }
    Ok(bytes)
}

/// `name` as a path, if it is relative and goes nowhere but down.
fn checked_name(name: &str) -> Result<&Path, FileError> {
    let path = Path::new(name);
    let goes_down = path.components().all(|part| matches!(part, Component::Normal(_) | Component::CurDir));
    // A backslash or colon separates or names a drive on one system and is part of a name on another.
    if name.is_empty() || !goes_down || name.contains(['\\', ':', '\0']) {
        return Err(outside(name));
    }
    Ok(path)
}

fn outside(name: &str) -> FileError {
    FileError::new(Place::File, "a job reads nothing outside its own folder")
        .in_file(if name.is_empty() { "\"\"".to_owned() } else { shown(name) })
        .value(name)
        .expected("a name below that folder, such as \"log.csv\" or \"logs/1.csv\"")
}

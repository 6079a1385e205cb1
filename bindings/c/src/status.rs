//! What a call ends with, as a number that stays the same in every version.

use core::ffi::c_char;

/// What a call ends with. 0 is success. Numbers stand in blocks and never change their meaning; a newer library may
/// return numbers that this header does not have: take what you do not know for a failure.
///
/// 1 to 99: the call itself; 100 to 199: the input; 200 to 299: files and texts; 300 to 399: there is no such figure;
/// 400 to 499: the caller said stop; 900 to 999: a fault of the library.
#[repr(i32)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum fw_status {
    /// Done.
    FW_OK = 0,
    /// A pointer that must point somewhere is NULL, or is not aligned for what it points to.
    FW_NULL_POINTER = 1,
    /// A text is not UTF-8.
    FW_BAD_UTF8 = 2,
    /// An argument has a value that it cannot have: an enumerated number without a meaning, a length beyond all memory,
    /// a number that is not finite.
    FW_BAD_VALUE = 3,
    /// `struct_size` is not the size of any form of the struct: it was not set.
    FW_BAD_STRUCT_SIZE = 4,
    /// The buffer is too small; `*needed` says how large it must be. Nothing else was written.
    FW_BUFFER_TOO_SMALL = 5,
    /// There is no row, segment or the like of that index.
    FW_OUT_OF_RANGE = 6,
    /// There is no table, column or key of that name.
    FW_UNKNOWN_NAME = 7,
    /// An array or text is empty where something must be there.
    FW_EMPTY = 8,
    /// This library was built without what the call needs: see `fw_features`.
    FW_NOT_BUILT = 9,
    /// An input that cannot be used.
    FW_INPUT = 100,
    /// A word that is none of those known.
    FW_UNKNOWN_WORD = 101,
    /// A tie that cannot be used.
    FW_TIE = 102,
    /// Runs or ties that contradict each other.
    FW_CONTRADICTION = 103,
    /// A rulebook that cannot be read.
    FW_RULEBOOK = 104,
    /// A station that was not surveyed.
    FW_NOT_SURVEYED = 105,
    /// JSON that is none, or does not fit what it is for.
    FW_JSON = 106,
    /// A text or file that is not of the form it should be: file, row or line and column are in the error.
    FW_FORMAT = 200,
    /// There is no such file.
    FW_FILE_MISSING = 201,
    /// The operating system refused a file.
    FW_FILE = 202,
    /// Larger than the limit that was set.
    FW_TOO_LARGE = 203,
    /// The resolver said that it cannot give a file.
    FW_RESOLVER = 204,
    /// There is no such figure: not measured, or nothing but drops between the stations.
    FW_NOT_DETERMINED = 300,
    /// The progress callback said stop.
    FW_CANCELLED = 400,
    /// The sink said stop.
    FW_SINK = 401,
    /// A page could not be filled.
    FW_REPORT = 900,
    /// The library broke its word not to panic. Please report it. Free the handles that took part in the call; use them
    /// no more.
    FW_PANIC = 901,
}

/// The name of a status, such as "FW_TIE"; "unknown" for a number that has none.
///
/// The text is static: never free it. May be called from any thread.
#[unsafe(no_mangle)]
pub extern "C" fn fw_status_name(status: i32) -> *const c_char {
    name(status).as_ptr()
}

fn name(status: i32) -> &'static core::ffi::CStr {
    use fw_status::{
        FW_BAD_STRUCT_SIZE, FW_BAD_UTF8, FW_BAD_VALUE, FW_BUFFER_TOO_SMALL, FW_CANCELLED, FW_CONTRADICTION, FW_EMPTY,
        FW_FILE, FW_FILE_MISSING, FW_FORMAT, FW_INPUT, FW_JSON, FW_NOT_BUILT, FW_NOT_DETERMINED, FW_NOT_SURVEYED,
        FW_NULL_POINTER, FW_OK, FW_OUT_OF_RANGE, FW_PANIC, FW_REPORT, FW_RESOLVER, FW_RULEBOOK, FW_SINK, FW_TIE,
        FW_TOO_LARGE, FW_UNKNOWN_NAME, FW_UNKNOWN_WORD,
    };
    let named = [
        (FW_OK, c"FW_OK"),
        (FW_NULL_POINTER, c"FW_NULL_POINTER"),
        (FW_BAD_UTF8, c"FW_BAD_UTF8"),
        (FW_BAD_VALUE, c"FW_BAD_VALUE"),
        (FW_BAD_STRUCT_SIZE, c"FW_BAD_STRUCT_SIZE"),
        (FW_BUFFER_TOO_SMALL, c"FW_BUFFER_TOO_SMALL"),
        (FW_OUT_OF_RANGE, c"FW_OUT_OF_RANGE"),
        (FW_UNKNOWN_NAME, c"FW_UNKNOWN_NAME"),
        (FW_EMPTY, c"FW_EMPTY"),
        (FW_NOT_BUILT, c"FW_NOT_BUILT"),
        (FW_INPUT, c"FW_INPUT"),
        (FW_UNKNOWN_WORD, c"FW_UNKNOWN_WORD"),
        (FW_TIE, c"FW_TIE"),
        (FW_CONTRADICTION, c"FW_CONTRADICTION"),
        (FW_RULEBOOK, c"FW_RULEBOOK"),
        (FW_NOT_SURVEYED, c"FW_NOT_SURVEYED"),
        (FW_JSON, c"FW_JSON"),
        (FW_FORMAT, c"FW_FORMAT"),
        (FW_FILE_MISSING, c"FW_FILE_MISSING"),
        (FW_FILE, c"FW_FILE"),
        (FW_TOO_LARGE, c"FW_TOO_LARGE"),
        (FW_RESOLVER, c"FW_RESOLVER"),
        (FW_NOT_DETERMINED, c"FW_NOT_DETERMINED"),
        (FW_CANCELLED, c"FW_CANCELLED"),
        (FW_SINK, c"FW_SINK"),
        (FW_REPORT, c"FW_REPORT"),
        (FW_PANIC, c"FW_PANIC"),
    ];
    named.into_iter().find(|(known, _)| *known as i32 == status).map_or(c"unknown", |(_, name)| name)
}

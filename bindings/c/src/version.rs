//! Which library this is.

use core::ffi::{CStr, c_char};

/// Version of the binary interface: programs built against a header with this number run with any library that has it.
/// It is raised when a function is taken away or changes, or a struct changes but by growing at its end.
pub const FW_ABI_VERSION: u32 = 0;

/// A bit of fw_features: jobs from text and folders, results read back, CSV, drawings and map.
pub const FW_FEATURE_FILES: u32 = 1;
/// A bit of fw_features: pages and pictures.
pub const FW_FEATURE_REPORT: u32 = 2;

const VERSION: &str = concat!(env!("CARGO_PKG_VERSION"), "\0");

/// Version of the library, such as "0.1.0": of what runs, where FW_VERSION_STRING is that of the header.
///
/// The text is static: never free it. May be called from any thread.
#[unsafe(no_mangle)]
pub extern "C" fn fw_version() -> *const c_char {
    CStr::from_bytes_with_nul(VERSION.as_bytes()).unwrap_or_default().as_ptr()
}

/// FW_ABI_VERSION of the library that runs. Where it is not that of the header, do not call anything else.
#[unsafe(no_mangle)]
pub extern "C" fn fw_abi_version() -> u32 {
    FW_ABI_VERSION
}

/// What the library was built with: FW_FEATURE_FILES, FW_FEATURE_REPORT. Calls that need what is not there return
/// FW_NOT_BUILT.
#[unsafe(no_mangle)]
pub extern "C" fn fw_features() -> u32 {
    let files = if cfg!(feature = "files") { FW_FEATURE_FILES } else { 0 };
    files | if cfg!(feature = "report") { FW_FEATURE_REPORT } else { 0 }
}

/// Panics within the border, for the test of it.
#[cfg(feature = "test-panic")]
#[unsafe(no_mangle)]
#[allow(clippy::panic, reason = "what it is for")]
pub extern "C" fn fw_test_panic(error: *mut crate::error::fw_error) -> crate::status::fw_status {
    crate::border::call(error, || panic!("as asked"))
}

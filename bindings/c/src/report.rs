//! Everything that a report is made of, handed over by name.

use core::ffi::{c_char, c_void};

#[cfg(not(all(feature = "files", feature = "report")))]
use crate::border::not_built;
use crate::{
    answers::fw_answers,
    border::{call, given, room, text_out},
    error::{Failure, fw_error},
    status::fw_status,
};

/// Takes a file: its name, UTF-8 of `name_length` bytes without a NUL behind it and without folders, and its bytes.
/// Both live for the call only.
///
/// Return 0 to go on; anything else stops, and the call that it was given to returns FW_SINK. It is called on the
/// thread of that call, and must neither free the handles of the call nor leave by longjmp or an exception.
pub type fw_sink = Option<
    unsafe extern "C" fn(
        user: *mut c_void,
        name: *const c_char,
        name_length: usize,
        bytes: *const u8,
        length: usize,
    ) -> i32,
>;

/// All files of a report through a sink: result.json, the CSV tables, drawings, map, cautions, then pages and pictures:
/// what a folder of the main program has.
///
/// Fails with FW_SINK, FW_REPORT, FW_NOT_BUILT. Writes nothing itself.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_report_files(
    answers: *const fw_answers,
    sink: fw_sink,
    user: *mut c_void,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle, by the contract of the header.
        let answers = unsafe { given(answers, "answers") }?;
        let sink = sink.ok_or_else(|| Failure::new(fw_status::FW_NULL_POINTER, "sink", "sink is NULL"))?;
        #[cfg(all(feature = "files", feature = "report"))]
        {
            // Made before the first is handed over: all of them, or none.
            let files = fallwise_files::output::files(&answers.core)?;
            let pages = report(answers, |report| report.files())?;
            for (name, text) in &files {
                // SAFETY: the caller's sink, by the contract of the header.
                unsafe { crate::border::sink(sink, user, name, text.as_bytes()) }?;
            }
            for (name, text) in &pages {
                // SAFETY: as above.
                unsafe { crate::border::sink(sink, user, name, text.as_bytes()) }?;
            }
            Ok(())
        }
        #[cfg(not(all(feature = "files", feature = "report")))]
        {
            let _ = (answers, sink, user);
            Err(not_built("report"))
        }
    })
}

/// A page or picture by the name of its file, such as "owner.html" or "profile.svg", or "summary.txt": the text for a
/// terminal.
///
/// Into `buffer` of `capacity` bytes; `*needed` counts the NUL. It is made anew in each call. Fails with
/// FW_UNKNOWN_NAME for what there is not of these answers, FW_REPORT, FW_NOT_BUILT.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_report_page(
    answers: *const fw_answers,
    name: *const c_char,
    name_length: usize,
    buffer: *mut c_char,
    capacity: usize,
    needed: *mut usize,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's buffer, by the contract of the header.
        unsafe { room(buffer, capacity, needed) }?;
        // SAFETY: the caller's handle and text, by the contract of the header.
        let (answers, name) =
            unsafe { (given(answers, "answers")?, crate::border::some_text(name, name_length, "name")?) };
        #[cfg(all(feature = "files", feature = "report"))]
        {
            let text = match name {
                "summary.txt" => report(answers, |report| report.summary()),
                _ => report(answers, |report| report.files())?
                    .into_iter()
                    .find_map(|(file, text)| (file == name).then_some(text))
                    .ok_or_else(|| crate::border::unknown_name("page", name))?,
            };
            // SAFETY: the caller's buffer, by the contract of the header.
            unsafe { text_out(&text, buffer, capacity, needed) }
        }
        #[cfg(not(all(feature = "files", feature = "report")))]
        {
            let _ = (answers, name, buffer, capacity, needed);
            let _ = text_out;
            Err(not_built("report"))
        }
    })
}

/// Does something with the report of answers.
#[cfg(all(feature = "files", feature = "report"))]
fn report<T>(answers: &fw_answers, make: impl FnOnce(fallwise_report::Report<'_>) -> T) -> T {
    let photos: Vec<fallwise_report::Photo<'_>> = answers
        .photos
        .iter()
        .map(|p| fallwise_report::Photo { file: &p.file, jpeg: &p.jpeg, width_px: p.width_px, height_px: p.height_px })
        .collect();
    let report = fallwise_report::Report::new(&answers.core).photos(&photos);
    make(match &answers.language {
        Some(language) => report.language(language),
        None => report,
    })
}

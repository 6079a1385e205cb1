//! Two surveys of one lateral.

use core::ffi::{c_char, c_void};

use fallwise::{adjust::Shared, answers::Comparison, lateral::compare, units::Language};

#[cfg(not(all(feature = "files", feature = "report")))]
use crate::border::not_built;
use crate::{
    border::{Out, bad_value, call, free, given, hand_out, optional, room, some_text, text_out, unknown_name},
    error::{Failure, fw_error},
    lateral::fw_lateral,
    rulebook::fw_rulebook,
    status::fw_status,
    table::fw_table,
};

/// Two surveys of one lateral beside each other. Nothing in it changes: several threads may use it at once.
pub struct fw_comparison {
    core: Comparison,
    #[cfg_attr(not(all(feature = "files", feature = "report")), allow(dead_code, reason = "for pages"))]
    language: Option<Language>,
}

/// What two surveys have in common beside the pipe.
#[repr(u32)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum fw_shared {
    /// Nothing: different heads, or one that was repaired, dropped or set anew between them.
    FW_SHARED_NOTHING = 0,
    /// The zero error: one head, with nothing done to it between them.
    FW_SHARED_ZERO = 1,
}

/// Compares two surveys of one lateral in one stationing: what changed, each with its error.
///
/// `shared` is fw_shared. `rulebook` NULL: that of the second survey's job, or none. `*comparison` is the caller's, to
/// be freed by fw_comparison_free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_compare(
    before: *const fw_lateral,
    after: *const fw_lateral,
    shared: u32,
    rulebook: *const fw_rulebook,
    comparison: *mut *mut fw_comparison,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handles and place, by the contract of the header.
        let (before, after, book, out) = unsafe {
            (
                given(before, "before")?,
                given(after, "after")?,
                optional(rulebook, "rulebook")?,
                Out::new(comparison, "comparison")?,
            )
        };
        let shared = match shared {
            0 => Shared::Nothing,
            1 => Shared::Zero,
            other => return Err(bad_value("shared", other, "0 (nothing) or 1 (zero)")),
        };
        let book = book.map(|book| &book.0).or(after.book.as_ref());
        let core = compare(&before.core, &after.core, shared, book)?;
        hand_out(out, fw_comparison { core, language: after.language.clone() });
        Ok(())
    })
}

/// Opens a `comparison.json` that was written before, without solving anything; as fw_answers_from_json.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_comparison_from_json(
    json: *const c_char,
    length: usize,
    comparison: *mut *mut fw_comparison,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's text and place, by the contract of the header.
        let (json, out) = unsafe { (some_text(json, length, "json")?, Out::new(comparison, "comparison")?) };
        #[cfg(feature = "files")]
        {
            let core = fallwise_files::output::read_comparison(json.as_bytes())?;
            hand_out(out, fw_comparison { core, language: None });
            Ok(())
        }
        #[cfg(not(feature = "files"))]
        {
            let _ = (json, out);
            Err(not_built("files"))
        }
    })
}

/// Everything in it as JSON: the text of `comparison.json`.
///
/// Into `buffer` of `capacity` bytes; `*needed` counts the NUL. The text is made anew in each call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_comparison_json(
    comparison: *const fw_comparison,
    buffer: *mut c_char,
    capacity: usize,
    needed: *mut usize,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's buffer, by the contract of the header.
        unsafe { room(buffer, capacity, needed) }?;
        // SAFETY: the caller's handle, by the contract of the header.
        let comparison = unsafe { given(comparison, "comparison") }?;
        #[cfg(feature = "files")]
        let text = fallwise_files::output::comparison_json(&comparison.core)?;
        // Without the files' crate: the same content, its keys as the core has them.
        #[cfg(not(feature = "files"))]
        let text = serde_json::to_string(&comparison.core)?;
        // SAFETY: the caller's buffer, by the contract of the header.
        unsafe { text_out(&text, buffer, capacity, needed) }
    })
}

/// The one sentence that matters.
///
/// Into `buffer` of `capacity` bytes; `*needed` counts the NUL. Does not allocate.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_comparison_sentence(
    comparison: *const fw_comparison,
    buffer: *mut c_char,
    capacity: usize,
    needed: *mut usize,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's buffer, by the contract of the header.
        unsafe { room(buffer, capacity, needed) }?;
        // SAFETY: the caller's handle and buffer, by the contract of the header.
        unsafe { text_out(&given(comparison, "comparison")?.core.sentence, buffer, capacity, needed) }
    })
}

/// A table of it: "slopes", "heights", "profile", "bellies", "findings"; "warnings", "not_covered" and "cautions" have
/// one column, "text".
///
/// `*table` is the caller's, to be freed by fw_table_free. Fails with FW_UNKNOWN_NAME.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_comparison_table(
    comparison: *const fw_comparison,
    name: *const c_char,
    name_length: usize,
    table: *mut *mut fw_table,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle, text and place, by the contract of the header.
        let (comparison, name, out) = unsafe {
            (given(comparison, "comparison")?, some_text(name, name_length, "name")?, Out::new(table, "table")?)
        };
        let c = &comparison.core;
        let made = match name {
            "slopes" => fw_table::of(&c.slopes)?,
            "heights" => fw_table::of(&c.heights)?,
            "profile" => fw_table::of(&c.profile)?,
            "bellies" => fw_table::of(&c.bellies)?,
            "findings" => fw_table::of(&c.findings)?,
            "warnings" => fw_table::of_texts("text", &c.warnings),
            "not_covered" => fw_table::of_texts("text", &c.not_covered),
            "cautions" => fw_table::of_texts("text", &c.cautions),
            _ => return Err(unknown_name("table", name)),
        };
        hand_out(out, made);
        Ok(())
    })
}

/// Pages and pictures of it through a sink.
///
/// Fails with FW_SINK, FW_REPORT, FW_NOT_BUILT.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_comparison_files(
    comparison: *const fw_comparison,
    sink: crate::report::fw_sink,
    user: *mut c_void,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle, by the contract of the header.
        let comparison = unsafe { given(comparison, "comparison") }?;
        let sink = sink.ok_or_else(|| Failure::new(fw_status::FW_NULL_POINTER, "sink", "sink is NULL"))?;
        #[cfg(all(feature = "files", feature = "report"))]
        {
            let left = fallwise_report::AsLeft::new(&comparison.core);
            let left = match &comparison.language {
                Some(language) => left.language(language),
                None => left,
            };
            for (name, text) in left.files()? {
                // SAFETY: the caller's sink, by the contract of the header.
                unsafe { crate::border::sink(sink, user, name, text.as_bytes()) }?;
            }
            Ok(())
        }
        #[cfg(not(all(feature = "files", feature = "report")))]
        {
            let _ = (comparison, sink, user);
            Err(not_built("report"))
        }
    })
}

/// Frees a comparison. NULL is allowed.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_comparison_free(comparison: *mut fw_comparison) {
    // SAFETY: a handle of this library that was not freed, by the contract of the header.
    unsafe { free(comparison) };
}

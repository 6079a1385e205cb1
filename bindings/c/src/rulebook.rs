//! Rulebooks.

use core::ffi::c_char;

use fallwise::{Rulebook, rules};

use crate::{
    border::{Out, call, free, given, hand_out, some_text},
    error::fw_error,
    status::fw_status,
    table::fw_table,
};

/// A rulebook: the rows against which a lateral is checked. Nothing in it changes: several threads may use it at once.
pub struct fw_rulebook(pub(crate) Rulebook);

/// A rulebook that comes with the library, by its name, such as "ipc-2021".
///
/// `name` is UTF-8 of `name_length` bytes. `*rulebook` is the caller's, to be freed by fw_rulebook_free. Fails with
/// FW_UNKNOWN_WORD.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_rulebook_shipped(
    name: *const c_char,
    name_length: usize,
    rulebook: *mut *mut fw_rulebook,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's text and place, by the contract of the header.
        let (name, out) = unsafe { (some_text(name, name_length, "name")?, Out::new(rulebook, "rulebook")?) };
        hand_out(out, fw_rulebook(Rulebook::shipped(name)?));
        Ok(())
    })
}

/// A rulebook of the caller's own, from its text (TOML).
///
/// `*rulebook` is the caller's, to be freed by fw_rulebook_free. Fails with FW_RULEBOOK, line and column in the error.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_rulebook_parse(
    text: *const c_char,
    text_length: usize,
    rulebook: *mut *mut fw_rulebook,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's text and place, by the contract of the header.
        let (text, out) = unsafe { (some_text(text, text_length, "text")?, Out::new(rulebook, "rulebook")?) };
        hand_out(out, fw_rulebook(Rulebook::parse(text)?));
        Ok(())
    })
}

/// The rulebook without what names people or places, for sharing.
///
/// `*redacted` is the caller's, to be freed by fw_rulebook_free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_rulebook_redacted(
    rulebook: *const fw_rulebook,
    redacted: *mut *mut fw_rulebook,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and place, by the contract of the header.
        let (rulebook, out) = unsafe { (given(rulebook, "rulebook")?, Out::new(redacted, "redacted")?) };
        hand_out(out, fw_rulebook(rulebook.0.redacted()));
        Ok(())
    })
}

/// The rows of a rulebook as a table.
///
/// `*table` is the caller's, to be freed by fw_table_free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_rulebook_rows(
    rulebook: *const fw_rulebook,
    table: *mut *mut fw_table,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and place, by the contract of the header.
        let (rulebook, out) = unsafe { (given(rulebook, "rulebook")?, Out::new(table, "table")?) };
        hand_out(out, fw_table::of(&rulebook.0.rows)?);
        Ok(())
    })
}

/// The rulebooks that come with the library: a table of `name` and `title`.
///
/// `*table` is the caller's, to be freed by fw_table_free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_rulebooks(table: *mut *mut fw_table, error: *mut fw_error) -> fw_status {
    /// A row of it.
    #[derive(serde::Serialize, serde::Deserialize)]
    struct Row {
        name: String,
        title: String,
    }
    call(error, || {
        // SAFETY: the caller's place, by the contract of the header.
        let out = unsafe { Out::new(table, "table") }?;
        let rows: Vec<Row> =
            rules::rulebooks().into_iter().map(|book| Row { name: book.name.to_owned(), title: book.title }).collect();
        hand_out(out, fw_table::of(&rows)?);
        Ok(())
    })
}

/// Frees a rulebook. NULL is allowed.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_rulebook_free(rulebook: *mut fw_rulebook) {
    // SAFETY: a handle of this library that was not freed, by the contract of the header.
    unsafe { free(rulebook) };
}

//! An answer that has tables of its own: a plan of re-laying, or what the pipe carries.

use core::ffi::c_char;

use fallwise::answers::{Carrying, RelayAnswer};
use serde::{Deserialize, Serialize};
use serde_json::json;

use crate::{
    border::{Out, call, free, given, hand_out, room, some_text, text_out, unknown_name},
    error::{Failure, fw_error},
    status::fw_status,
    table::fw_table,
};

/// An answer with tables of its own. Nothing in it changes: several threads may use it at once.
pub struct fw_document {
    kind: Kind,
    json: String,
}

enum Kind {
    Relay(Box<RelayAnswer>),
    Carrying(Box<Carrying>),
}

/// The head of a plan, without its lists.
#[derive(Serialize, Deserialize)]
struct RelayHead {
    outcome: String,
    confidence: f64,
    currency: String,
    cost: Option<f64>,
    joint_probability: Option<f64>,
    joint_low: Option<f64>,
    joint_high: Option<f64>,
    lower_outlet_m: Option<f64>,
}

impl fw_document {
    pub(crate) fn relay(answer: &RelayAnswer) -> Result<Self, Failure> {
        let json = serde_json::to_value(answer)?.to_string();
        Ok(Self { kind: Kind::Relay(Box::new(answer.clone())), json })
    }

    pub(crate) fn carrying(answer: &Carrying) -> Self {
        let json = json!({ "carrying": answer.whole, "capacity": answer.reaches, "needed": answer.needed });
        Self { kind: Kind::Carrying(Box::new(answer.clone())), json: json.to_string() }
    }

    fn table(&self, name: &str) -> Result<fw_table, Failure> {
        match (&self.kind, name) {
            (Kind::Relay(r), "relay") => fw_table::of([&RelayHead {
                outcome: r.outcome.clone(),
                confidence: r.confidence,
                currency: r.currency.clone(),
                cost: r.cost,
                joint_probability: r.joint_probability,
                joint_low: r.joint_low,
                joint_high: r.joint_high,
                lower_outlet_m: r.lower_outlet_m,
            }]),
            (Kind::Relay(r), "stretches") => fw_table::of(&r.stretches),
            (Kind::Relay(r), "pieces") => fw_table::of(&r.pieces),
            (Kind::Relay(r), "nodes") => fw_table::of(&r.nodes),
            (Kind::Relay(r), "quantities") => fw_table::of(&r.quantities),
            (Kind::Relay(r), "short") => fw_table::of(&r.short),
            (Kind::Relay(r), "sentences") => Ok(fw_table::of_texts("text", &r.sentences)),
            (Kind::Carrying(c), "carrying") => fw_table::of([&c.whole]),
            (Kind::Carrying(c), "capacity") => fw_table::of(&c.reaches),
            (Kind::Carrying(c), "needed") => fw_table::of(&c.needed),
            _ => Err(unknown_name("table", name)),
        }
    }
}

/// Everything in it as JSON.
///
/// Into `buffer` of `capacity` bytes; `*needed` counts the NUL. Does not allocate.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_document_json(
    document: *const fw_document,
    buffer: *mut c_char,
    capacity: usize,
    needed: *mut usize,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's buffer, by the contract of the header.
        unsafe { room(buffer, capacity, needed) }?;
        // SAFETY: the caller's handle and buffer, by the contract of the header.
        unsafe { text_out(&given(document, "document")?.json, buffer, capacity, needed) }
    })
}

/// A table of it by its name; which there are says the function that made it.
///
/// `*table` is the caller's, to be freed by fw_table_free. Fails with FW_UNKNOWN_NAME.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_document_table(
    document: *const fw_document,
    name: *const c_char,
    name_length: usize,
    table: *mut *mut fw_table,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle, text and place, by the contract of the header.
        let (document, name, out) =
            unsafe { (given(document, "document")?, some_text(name, name_length, "name")?, Out::new(table, "table")?) };
        hand_out(out, document.table(name)?);
        Ok(())
    })
}

/// Frees a document. NULL is allowed.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_document_free(document: *mut fw_document) {
    // SAFETY: a handle of this library that was not freed, by the contract of the header.
    unsafe { free(document) };
}

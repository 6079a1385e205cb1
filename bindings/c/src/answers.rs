//! Everything that a lateral has to say.

use core::ffi::c_char;

use fallwise::{
    Answers,
    answers::{NextRow, RelayNodeRow, RelayPieceRow, RelayQuantityRow, RelayShortRow, RelayStretchRow, WithoutRow},
    units::Language,
};

#[cfg(not(feature = "files"))]
use crate::border::not_built;
use crate::{
    border::{
        Out, OutStruct, Sized1, call, free, given, hand_out, out_of_range, room, some_text, text_out, unknown_name,
    },
    error::{Failure, fw_error},
    rows::{
        fw_dig, fw_finding, fw_next, fw_path_node, fw_pool_figures, fw_reach_figures, fw_relay_figures, fw_segment,
        fw_summary,
    },
    status::fw_status,
    table::fw_table,
};

/// Everything that a lateral has to say: figures, sentences, the job as understood. Nothing in it changes: several
/// threads may use it at once. It stays whole when the lateral is freed.
pub struct fw_answers {
    pub(crate) core: Answers,
    pub(crate) language: Option<Language>,
    #[cfg(feature = "files")]
    #[cfg_attr(not(feature = "report"), allow(dead_code, reason = "photos are for pages"))]
    pub(crate) photos: Vec<fallwise_files::Photo>,
}

/// Opens a `result.json` that was written before, by this version or an older one, without solving anything.
///
/// `json` is UTF-8 of `length` bytes. `*answers` is the caller's, to be freed by fw_answers_free. Fails with FW_FORMAT
/// for what is no result, or one of a later form, and with FW_NOT_BUILT. Photos are not in a result: pages made of it
/// go without.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_answers_from_json(
    json: *const c_char,
    length: usize,
    answers: *mut *mut fw_answers,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's text and place, by the contract of the header.
        let (json, out) = unsafe { (some_text(json, length, "json")?, Out::new(answers, "answers")?) };
        #[cfg(feature = "files")]
        {
            let core = fallwise_files::output::read_answers(json.as_bytes())?;
            hand_out(out, fw_answers { core, language: None, photos: Vec::new() });
            Ok(())
        }
        #[cfg(not(feature = "files"))]
        {
            let _ = (json, out);
            Err(not_built("files"))
        }
    })
}

/// Frees answers. NULL is allowed.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_answers_free(answers: *mut fw_answers) {
    // SAFETY: a handle of this library that was not freed, by the contract of the header.
    unsafe { free(answers) };
}

/// Sets the language of pages made of answers, from the text of its table (TOML). No other thread may use the answers
/// meanwhile.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_answers_set_language(
    answers: *mut fw_answers,
    text: *const c_char,
    length: usize,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and text, by the contract of the header.
        let (answers, text) =
            unsafe { (crate::border::changed(answers, "answers")?, some_text(text, length, "text")?) };
        answers.language = Some(Language::parse(text)?);
        Ok(())
    })
}

/// Everything as JSON: the text of `result.json`, keys sorted, the same bytes on every machine.
///
/// Into `buffer` of `capacity` bytes; `*needed` counts the NUL. The text is made anew in each call: ask once with a
/// large buffer, or use fw_report_files, where it is large. Fails with FW_NOT_BUILT.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_answers_json(
    answers: *const fw_answers,
    buffer: *mut c_char,
    capacity: usize,
    needed: *mut usize,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's buffer, by the contract of the header.
        unsafe { room(buffer, capacity, needed) }?;
        // SAFETY: the caller's handle, by the contract of the header.
        let answers = unsafe { given(answers, "answers") }?;
        #[cfg(feature = "files")]
        let text = fallwise_files::output::result_json(&answers.core)?;
        // Without the files' crate: the same content, its keys as the core has them.
        #[cfg(not(feature = "files"))]
        let text = serde_json::to_string(&answers.core)?;
        // SAFETY: the caller's buffer, by the contract of the header.
        unsafe { text_out(&text, buffer, capacity, needed) }
    })
}

/// A table as CSV, by the name of its file without the ending, such as "segments": a header, then a line a row.
///
/// Into `buffer` of `capacity` bytes; `*needed` counts the NUL. The text is made anew in each call. Fails with
/// FW_UNKNOWN_WORD, and FW_NOT_BUILT.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_answers_csv(
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
        let (answers, name) = unsafe { (given(answers, "answers")?, some_text(name, name_length, "name")?) };
        #[cfg(feature = "files")]
        {
            let text = fallwise_files::output::csv(&answers.core, name)?;
            // SAFETY: the caller's buffer, by the contract of the header.
            unsafe { text_out(&text, buffer, capacity, needed) }
        }
        #[cfg(not(feature = "files"))]
        {
            let _ = (answers, name, buffer, capacity, needed);
            Err(not_built("files"))
        }
    })
}

/// The one sentence that matters, in the words of the job.
///
/// Into `buffer` of `capacity` bytes; `*needed` counts the NUL. Does not allocate.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_answers_sentence(
    answers: *const fw_answers,
    buffer: *mut c_char,
    capacity: usize,
    needed: *mut usize,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's buffer, by the contract of the header.
        unsafe { room(buffer, capacity, needed) }?;
        // SAFETY: the caller's handle and buffer, by the contract of the header.
        unsafe { text_out(&given(answers, "answers")?.core.sentence, buffer, capacity, needed) }
    })
}

/// The names of the tables of answers, in their order: those of the lists in `result.json`; `next` with all
/// measurements; lists of a plan of re-laying under
/// `relay_`; `warnings`, `notes`, `cautions`, `not_covered` and `relay_sentences` with one column, `text`.
const TABLES: [&str; 39] = [
    "total",
    "reaches",
    "pieces",
    "backward",
    "unseen",
    "segments",
    "pools",
    "findings",
    "next",
    "water",
    "carrying",
    "capacity",
    "needed",
    "ties",
    "adjustment",
    "without",
    "as_built",
    "noted",
    "digs",
    "tapes",
    "path",
    "edits",
    "readings",
    "parameters",
    "budget",
    "correlations",
    "covariance",
    "rules",
    "inputs",
    "relay_stretches",
    "relay_pieces",
    "relay_nodes",
    "relay_quantities",
    "relay_short",
    "relay_sentences",
    "warnings",
    "notes",
    "cautions",
    "not_covered",
];

fn table(a: &Answers, name: &str) -> Result<fw_table, Failure> {
    let relay = a.relay.as_ref();
    match name {
        "total" => fw_table::of([&a.total]),
        "reaches" => fw_table::of(&a.reaches),
        "pieces" => fw_table::of(&a.pieces),
        "backward" => fw_table::of(&a.backward),
        "unseen" => fw_table::of(&a.unseen),
        "segments" => fw_table::of(&a.segments),
        "pools" => fw_table::of(&a.pools),
        "findings" => fw_table::of(&a.findings),
        "next" => fw_table::of(a.next.iter().chain(&a.next_others)),
        "water" => fw_table::of(&a.water),
        "carrying" => fw_table::of(&a.carrying),
        "capacity" => fw_table::of(&a.capacity),
        "needed" => fw_table::of(&a.needed),
        "ties" => fw_table::of(&a.ties),
        "adjustment" => fw_table::of(&a.adjustment),
        "without" => fw_table::of::<WithoutRow>(a.adjustment.iter().flat_map(|row| &row.without)),
        "as_built" => fw_table::of(&a.as_built),
        "noted" => fw_table::of(&a.noted),
        "digs" => fw_table::of(&a.digs),
        "tapes" => fw_table::of(&a.tapes),
        "path" => fw_table::of(&a.path),
        "edits" => fw_table::of(&a.edits),
        "readings" => fw_table::of(&a.readings),
        "parameters" => fw_table::of(&a.parameters),
        "budget" => fw_table::of(&a.budget),
        "correlations" => fw_table::of(&a.correlations),
        "covariance" => fw_table::of(&a.covariance),
        "rules" => fw_table::of(&a.rules),
        "inputs" => fw_table::of(&a.inputs),
        "relay_stretches" => fw_table::of::<RelayStretchRow>(relay.map_or(&[][..], |r| &r.stretches)),
        "relay_pieces" => fw_table::of::<RelayPieceRow>(relay.map_or(&[][..], |r| &r.pieces)),
        "relay_nodes" => fw_table::of::<RelayNodeRow>(relay.map_or(&[][..], |r| &r.nodes)),
        "relay_quantities" => fw_table::of::<RelayQuantityRow>(relay.map_or(&[][..], |r| &r.quantities)),
        "relay_short" => fw_table::of::<RelayShortRow>(relay.map_or(&[][..], |r| &r.short)),
        "relay_sentences" => Ok(fw_table::of_texts("text", relay.map_or(&[][..], |r| &r.sentences))),
        "warnings" => Ok(fw_table::of_texts("text", &a.warnings)),
        "notes" => Ok(fw_table::of_texts("text", &a.notes)),
        "cautions" => Ok(fw_table::of_texts("text", &a.cautions)),
        "not_covered" => Ok(fw_table::of_texts("text", &a.not_covered)),
        _ => Err(unknown_name("table", name)),
    }
}

/// A table of the answers by its name.
///
/// Names are those of the lists in `result.json` ("segments", "pools", "findings", "path", "ties", "digs", ...);
/// "total", "carrying" and "adjustment" have one row or none; "next" has all measurements that would help, "without"
/// what figures would be without ties that may be wrong; lists of a plan of re-laying are "relay_stretches",
/// "relay_pieces", "relay_nodes", "relay_quantities", "relay_short"; "warnings", "notes", "cautions" (show them where
/// you show figures), "not_covered" and "relay_sentences" have one column, "text". fw_answers_tables lists them all.
///
/// `*table` is the caller's, to be freed by fw_table_free. Fails with FW_UNKNOWN_NAME.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_answers_table(
    answers: *const fw_answers,
    name: *const c_char,
    name_length: usize,
    table_out: *mut *mut fw_table,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle, text and place, by the contract of the header.
        let (answers, name, out) = unsafe {
            (given(answers, "answers")?, some_text(name, name_length, "name")?, Out::new(table_out, "table_out")?)
        };
        hand_out(out, table(&answers.core, name)?);
        Ok(())
    })
}

/// The names of the tables that fw_answers_table gives: a table of one column, "text".
///
/// `*table_out` is the caller's, to be freed by fw_table_free.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_answers_tables(table_out: *mut *mut fw_table, error: *mut fw_error) -> fw_status {
    call(error, || {
        // SAFETY: the caller's place, by the contract of the header.
        let out = unsafe { Out::new(table_out, "table_out") }?;
        let names: Vec<String> = TABLES.into_iter().map(str::to_owned).collect();
        hand_out(out, fw_table::of_texts("text", &names));
        Ok(())
    })
}

/// The lateral in figures, and how many rows there are of each kind.
///
/// Set `out->struct_size` first, here and in the functions below. They do not allocate; rows count from 0, and what is
/// beyond the last is FW_OUT_OF_RANGE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_answers_summary(
    answers: *const fw_answers,
    out: *mut fw_summary,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and struct, by the contract of the header.
        let (answers, out) = unsafe { (given(answers, "answers")?, OutStruct::new(out, "out")?) };
        out.put((&answers.core).into());
        Ok(())
    })
}

/// A row as its plain struct.
///
/// # Safety
/// Handle and struct are the caller's, by the contract of the header.
unsafe fn row<R: 'static, T: Sized1 + for<'r> From<&'r R>>(
    answers: *const fw_answers,
    index: usize,
    out: *mut T,
    rows: impl FnOnce(&Answers) -> &[R],
) -> Result<(), Failure> {
    // SAFETY: the same contract.
    let (answers, out) = unsafe { (given(answers, "answers")?, OutStruct::new(out, "out")?) };
    let rows = rows(&answers.core);
    out.put(rows.get(index).ok_or_else(|| out_of_range("index", index, rows.len()))?.into());
    Ok(())
}

/// Figures of a surveyed reach; its name and pipe are in the table `reaches`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_answers_reach(
    answers: *const fw_answers,
    index: usize,
    out: *mut fw_reach_figures,
    error: *mut fw_error,
) -> fw_status {
    // SAFETY: the caller's, by the contract of the header.
    call(error, || unsafe { row(answers, index, out, |a| &a.reaches) })
}

/// A segment.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_answers_segment(
    answers: *const fw_answers,
    index: usize,
    out: *mut fw_segment,
    error: *mut fw_error,
) -> fw_status {
    // SAFETY: the caller's, by the contract of the header.
    call(error, || unsafe { row(answers, index, out, |a| &a.segments) })
}

/// A pool; its sentence is in the table `pools`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_answers_pool(
    answers: *const fw_answers,
    index: usize,
    out: *mut fw_pool_figures,
    error: *mut fw_error,
) -> fw_status {
    // SAFETY: the caller's, by the contract of the header.
    call(error, || unsafe { row(answers, index, out, |a| &a.pools) })
}

/// A finding, the lateral's own first.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_answers_finding(
    answers: *const fw_answers,
    index: usize,
    out: *mut fw_finding,
    error: *mut fw_error,
) -> fw_status {
    // SAFETY: the caller's, by the contract of the header.
    call(error, || unsafe { row(answers, index, out, |a| &a.findings) })
}

/// A node of the path, in order of station.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_answers_path_node(
    answers: *const fw_answers,
    index: usize,
    out: *mut fw_path_node,
    error: *mut fw_error,
) -> fw_status {
    // SAFETY: the caller's, by the contract of the header.
    call(error, || unsafe { row(answers, index, out, |a| &a.path) })
}

/// A measurement that would help, the best first.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_answers_next(
    answers: *const fw_answers,
    index: usize,
    out: *mut fw_next,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and struct, by the contract of the header.
        let (answers, out) = unsafe { (given(answers, "answers")?, OutStruct::new(out, "out")?) };
        let all = || answers.core.next.iter().chain(&answers.core.next_others);
        let found: Option<&NextRow> = all().nth(index);
        out.put(found.ok_or_else(|| out_of_range("index", index, all().count()))?.into());
        Ok(())
    })
}

/// A dig that the job plans. Where `refused` is 1, nobody may dig by it.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_answers_dig(
    answers: *const fw_answers,
    index: usize,
    out: *mut fw_dig,
    error: *mut fw_error,
) -> fw_status {
    // SAFETY: the caller's, by the contract of the header.
    call(error, || unsafe { row(answers, index, out, |a| &a.digs) })
}

/// What to re-lay; FW_NOT_DETERMINED where the job asks for no plan.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn fw_answers_relay(
    answers: *const fw_answers,
    out: *mut fw_relay_figures,
    error: *mut fw_error,
) -> fw_status {
    call(error, || {
        // SAFETY: the caller's handle and struct, by the contract of the header.
        let (answers, out) = unsafe { (given(answers, "answers")?, OutStruct::new(out, "out")?) };
        let none = || Failure::new(fw_status::FW_NOT_DETERMINED, "relay", "the job asks for no plan of re-laying");
        out.put(answers.core.relay.as_ref().ok_or_else(none)?.into());
        Ok(())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What of a result is no table: sentences apart for translators, and the job.
    const NO_TABLE: [&str; 7] = ["said", "job", "schema", "version", "sentence", "from_m", "to_m"];
    /// What has its table under other names.
    const ELSEWHERE: [(&str, &str); 2] = [("next_others", "next"), ("relay", "relay_stretches")];

    #[test]
    fn every_list_of_a_result_has_a_table() {
        let lateral = fallwise::Lateral::from_segments(vec![0.0, 1.0], vec![0.02], fallwise::Pipe::default()).unwrap();
        let answers = lateral.answers(None).unwrap();
        let serde_json::Value::Object(result) = serde_json::to_value(&answers).unwrap() else { panic!("an object") };
        assert!(result.len() > 30);
        for key in result.keys().filter(|key| !NO_TABLE.contains(&key.as_str())) {
            let name = ELSEWHERE.iter().find(|(of, _)| of == key).map_or(key.as_str(), |(_, name)| name);
            assert!(TABLES.contains(&name), "{key} has no table");
            assert!(table(&answers, name).is_ok(), "{name}");
        }
        for name in TABLES {
            assert!(table(&answers, name).is_ok(), "{name}");
        }
    }
}

//! Programs in C that are made from the header: every function with NULL in each place, and what the binary interface
//! is. And: every function is tried by the tests in C.

mod common;

use std::{collections::BTreeSet, fmt::Write as _, fs};

use common::{Function, constants, fresh, functions, here, structs};

/// Arguments that may be NULL beside the usual ones, by function: what that means stands in the documentation of each.
const MAY_BE_NULL: [(&str, &[&str]); 12] = [
    ("fw_lateral_answers", &["rulebook"]),
    ("fw_lateral_check", &["rulebook", "undecided"]),
    ("fw_lateral_what_next", &["rulebook"]),
    ("fw_lateral_relay", &["choice_json", "rulebook"]),
    ("fw_lateral_capacity", &["capacity_json"]),
    ("fw_lateral_locate", &["table"]),
    ("fw_compare", &["rulebook"]),
    ("fw_fit_chain", &["weight", "options_given"]),
    ("fw_condition", &["instrument", "bends_m", "edits"]),
    ("fw_job_add_log", &["format_json", "like"]),
    ("fw_live_provisional", &["settled_to_m"]),
    ("fw_live_sentence", &["rulebook"]),
];

/// Functions whose `name` must be there.
const NAMED: [&str; 7] = [
    "fw_rulebook_shipped",
    "fw_answers_csv",
    "fw_answers_table",
    "fw_report_page",
    "fw_document_table",
    "fw_comparison_table",
    "fw_hydraulics_discharge_unit",
];

fn may_be_null(function: &Function, argument: &str) -> bool {
    let own = MAY_BE_NULL.iter().find(|(name, _)| *name == function.name).map_or(&[][..], |(_, arguments)| arguments);
    let usual = match argument {
        "error" | "user" => true,
        "name" => !NAMED.contains(&function.name.as_str()),
        // Options that are set by an _init function must be there for it.
        "options" => !function.name.ends_with("_init"),
        _ => false,
    };
    usual || own.contains(&argument)
}

/// A value in C for an argument that is not at stake.
fn value(of: &str, name: &str, function: &str) -> String {
    match (of, name) {
        ("double", _) => "0.5".to_owned(),
        ("size_t", "struct_size") => "1024".to_owned(),
        // A length of a text, a count, an index.
        ("size_t", _) => "1".to_owned(),
        ("uint32_t" | "int32_t" | "int64_t" | "uint64_t", _) => "0".to_owned(),
        ("struct fw_place", _) => "place".to_owned(),
        ("fw_sink", _) => "sink".to_owned(),
        ("fw_draw_sink", _) => "draw_sink".to_owned(),
        ("struct fw_error *", _) => "&error".to_owned(),
        // Bytes are put into only while a resolver is asked.
        ("void *" | "struct fw_bytes *", _) => "NULL".to_owned(),
        ("const struct fw_job *" | "struct fw_job *", _) => "job".to_owned(),
        ("const struct fw_lateral *", _) => "lateral".to_owned(),
        ("const struct fw_answers *" | "struct fw_answers *", _) => "answers".to_owned(),
        ("const struct fw_live *" | "struct fw_live *", _) => "live".to_owned(),
        ("const struct fw_table *", _) => "table".to_owned(),
        ("const struct fw_rulebook *", _) => "rulebook".to_owned(),
        ("const struct fw_document *", _) => "document".to_owned(),
        ("const struct fw_comparison *", _) => "comparison".to_owned(),
        ("const struct fw_run *", _) => "&run".to_owned(),
        ("const uint8_t *", _) => "(const uint8_t *)\"x\"".to_owned(),
        ("const char *", _) => "\"x\"".to_owned(),
        ("const double *", _) => "numbers".to_owned(),
        _ if of.ends_with("**") => format!("({of})place_for_a_pointer"),
        _ if of.ends_with('*') => format!("({of})room"),
        _ => panic!("{function}: no value for {of} {name}"),
    }
}

/// Every function with each of its pointers NULL in turn, the others as they should be, and with all of them NULL.
fn nulls() -> String {
    let mut body = String::new();
    let mut calls = 0;
    for function in functions() {
        if function.returns != "fw_status" {
            continue;
        }
        let pointers: Vec<usize> = (0..function.arguments.len())
            .filter(|i| {
                let (of, name) = &function.arguments[*i];
                let sink = of == "fw_sink" || of == "fw_draw_sink";
                (of.ends_with('*') || sink) && !may_be_null(&function, name)
            })
            .collect();
        for at in &pointers {
            let arguments: Vec<String> = function
                .arguments
                .iter()
                .enumerate()
                .map(|(i, (of, name))| if i == *at { "NULL".to_owned() } else { value(of, name, &function.name) })
                .collect();
            let _ = writeln!(body, "    NULL_AT({}({}));", function.name, arguments.join(", "));
            calls += 1;
        }
        let all: Vec<String> = function
            .arguments
            .iter()
            .map(|(of, name)| match of.as_str() {
                _ if of.ends_with('*') || of == "fw_sink" || of == "fw_draw_sink" => "NULL".to_owned(),
                "size_t" => "0".to_owned(),
                _ => value(of, name, &function.name),
            })
            .collect();
        let _ = writeln!(body, "    NULL_AT({}({}));", function.name, all.join(", "));
        calls += 1;
    }
    assert!(calls > 250, "{calls}");
    format!(
        r#"/* Every function with each of its pointers NULL in turn. Made from the header by tests/calls.rs; do not edit. */
#include "check.h"

/* Whatever it ends with is said in the error; what must be NULL_POINTER is. */
#define NULL_AT(call) EXPECT(FW_NULL_POINTER, call)

static int32_t sink(void *user, const char *name, size_t name_length, const uint8_t *bytes, size_t length) {{
    (void)user, (void)name, (void)name_length, (void)bytes, (void)length;
    return 0;
}}

static int32_t draw_sink(void *user, size_t draw, const double *height_m, size_t count) {{
    (void)user, (void)draw, (void)height_m, (void)count;
    return 0;
}}

int main(void) {{
    static double room[4096];
    static void *place_for_a_pointer[1];
    static const double numbers[] = {{0.1, 0.2, 0.3, 0.4}}, breaks_m[] = {{0.0, 1.0}}, tilt_rad[] = {{0.02}};
    const fw_place place = {{0.5, NAN, 0, 0}};
    fw_error error;
    fw_job *job = NULL;
    fw_live *live = NULL;
    fw_lateral *lateral = NULL;
    fw_answers *answers = NULL;
    fw_table *table = NULL;
    fw_rulebook *rulebook = NULL;
    fw_document *document = NULL;
    fw_comparison *comparison = NULL;
    fw_run run;
    size_t size = sizeof room;
    fw_error_init(&error, sizeof error);
    fw_error_init(E, sizeof fw_test_error);
    /* Whatever struct is put there has a size. */
    memcpy(room, &size, sizeof size);
    OK(fw_job_new(&job, E));
    OK(fw_live_new(job, NULL, &live, E));
    OK(fw_run_init(&run, sizeof run, E));
    run.count = 2;
    run.counter_m = run.reading_rad = numbers;
    OK(fw_lateral_from_segments(breaks_m, 2, tilt_rad, 1, 0.1, NAN, &lateral, E));
    OK(fw_rulebook_shipped(T("ipc-2021"), &rulebook, E));
    OK(fw_lateral_answers(lateral, rulebook, NULL, &answers, E));
    OK(fw_answers_table(answers, T("segments"), &table, E));
    OK(fw_lateral_capacity(lateral, T("{{}}"), &document, E));
    OK(fw_compare(lateral, lateral, 0, NULL, &comparison, E));
{body}    fw_comparison_free(comparison);
    fw_document_free(document);
    fw_table_free(table);
    fw_answers_free(answers);
    fw_rulebook_free(rulebook);
    fw_lateral_free(lateral);
    fw_live_free(live);
    fw_job_free(job);
    printf("nulls: %d checks\n", fw_checks);
    return 0;
}}
"#
    )
}

#[test]
fn the_program_of_nulls_is_fresh() {
    fresh(&here().join("tests/c/nulls.c"), &nulls());
}

/// A program that prints the binary interface: constants with their values, plain structs with sizes and offsets.
fn layout() -> String {
    let mut body = String::new();
    for constant in constants() {
        let _ = writeln!(body, "    printf(\"constant {constant} %lld\\n\", (long long){constant});");
    }
    for (name, fields) in structs() {
        let _ = writeln!(body, "    printf(\"struct {name} %zu\\n\", sizeof({name}));");
        for field in fields {
            let _ = writeln!(
                body,
                "    printf(\"field {name}.{field} %zu %zu\\n\", offsetof({name}, {field}), sizeof((({name} *)0)->{field}));"
            );
        }
    }
    for function in functions() {
        let _ = writeln!(body, "    puts(\"function {}\");", function.signature());
    }
    format!(
        "/* Prints the binary interface, for abi.txt. Made from the header by tests/calls.rs; do not edit. */\n#include \"fallwise.h\"\n\n\
         #include <stdio.h>\n\nint main(void) {{\n{body}    return 0;\n}}\n"
    )
}

#[test]
fn the_program_of_the_layout_is_fresh() {
    fresh(&here().join("tests/c/layout.c"), &layout());
}

#[test]
fn every_function_is_tried_in_c() {
    let read = |file: &str| fs::read_to_string(here().join("tests/c").join(file)).expect("a test in C");
    let happy = read("happy.c");
    // What is tried elsewhere: every failure of a resolver, with its bytes.
    let elsewhere = read("errors.c") + &read("check.h");
    let untried: BTreeSet<String> = functions()
        .into_iter()
        .map(|function| function.name)
        .filter(|name| !happy.contains(&format!("{name}(")) && !elsewhere.contains(&format!("{name}(")))
        .collect();
    assert!(untried.is_empty(), "{untried:?}");
    assert!(functions().len() > 120);
}

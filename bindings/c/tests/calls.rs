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

/// Structs of numbers that a function reads: type, and how the program calls the one that it spoils.
const SPOILT: [(&str, &str); 4] = [
    ("const struct fw_pipe_flow *", "pipe"),
    ("const struct fw_run *", "run"),
    ("const struct fw_instrument *", "instrument"),
    ("const struct fw_fit_options *", "options"),
];

/// Every function that takes numbers, with any number at each place where one stands.
fn numbers() -> String {
    let spoilt = |of: &str| SPOILT.iter().find(|(spoilt, _)| *spoilt == of).map(|(_, name)| *name);
    let mut body = String::new();
    let mut calls = 0;
    for function in functions() {
        let takes = |of: &str| ["double", "const double *", "struct fw_place"].contains(&of) || spoilt(of).is_some();
        let places: Vec<usize> =
            (0..function.arguments.len()).filter(|i| takes(function.arguments[*i].0.as_str())).collect();
        if function.returns != "fw_status" || places.is_empty() {
            continue;
        }
        let made: Vec<(&str, &str)> = function
            .arguments
            .iter()
            .filter_map(|(of, name)| Some((of.strip_prefix("struct ")?.strip_suffix(" **")?, name.as_str())))
            .collect();
        let _ = writeln!(body, "    for (n = 0; n < ROUNDS; n++) {{");
        for changed in ["job", "live"] {
            if function.arguments.iter().any(|(of, _)| *of == format!("struct fw_{changed} *")) {
                let _ = writeln!(body, "        renew_{changed}(n, &{changed});");
            }
        }
        for (of, name) in &made {
            let _ = writeln!(body, "        {of} *made_{name} = NULL;");
        }
        // One place after the other, then all of them.
        for at in places.iter().map(|at| Some(*at)).chain([None]) {
            let arguments: Vec<String> = function
                .arguments
                .iter()
                .enumerate()
                .map(|(i, (of, name))| {
                    let odd = takes(of) && at.is_none_or(|at| at == i);
                    match (of.as_str(), spoilt(of)) {
                        ("double", _) if odd => "odd(n)".to_owned(),
                        ("double", _) => "usual()".to_owned(),
                        ("const double *", _) => format!("{}()", if odd { "odds" } else { "usuals" }),
                        ("struct fw_place", _) => format!("place({})", i32::from(odd)),
                        (_, Some(kind)) => format!("{kind}({})", i32::from(odd)),
                        ("size_t", _) if name == "struct_size" => "1024".to_owned(),
                        // So many numbers as an array has; a text has one character.
                        ("size_t", _) if name.ends_with("length") => "1".to_owned(),
                        ("size_t", _) => "4".to_owned(),
                        ("struct fw_error *", _) => "E".to_owned(),
                        ("const char *", _) if name == "unit_name" => "\"m\"".to_owned(),
                        _ if made.iter().any(|(_, made)| made == name) => format!("&made_{name}"),
                        ("double *", _) => format!("room[{i}]"),
                        (of, _)
                            if of.ends_with('*')
                                && !of.starts_with("const")
                                && value(of, name, "").contains("room") =>
                        {
                            format!("({of})sized(room[{i}])")
                        }
                        (of, _) => value(of, name, &function.name),
                    }
                })
                .collect();
            let _ = writeln!(body, "        ANY({}({}));", function.name, arguments.join(", "));
            calls += 1;
            for (of, name) in &made {
                let _ = writeln!(body, "        {of}_free(made_{name}), made_{name} = NULL;");
            }
        }
        let _ = writeln!(body, "    }}");
    }
    assert!(calls > 150, "{calls}");
    format!(
        r#"/* Any number at every place where one stands. Made from the header by tests/calls.rs; do not edit. */
#include "check.h"

#include <float.h>

enum {{ ROUNDS = 120, PLACES = 32, LENGTH = 64 }};

/* Where functions put what they give: a row for each argument. */
static double room[PLACES][LENGTH];

static uint64_t state = 1;

/* Calls that gave something. */
static int answered = 0;

/* The next of a fixed sequence (a linear congruence: Knuth, The Art of Computer Programming, 3.3.4), below a number. */
static unsigned next(unsigned below) {{
    state = state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (unsigned)(state >> 33) % below;
}}

static double usual(void) {{
    static const double numbers[] = {{0.01, 0.02, 0.1, 0.15, 0.35, 0.6, 2.0, 12.5}};
    return numbers[next(8)];
}}

/* Zeros of both signs, denormal, next to 1, huge, endless, and not a number, with and without payload. */
static double odd(int n) {{
    static const uint64_t bits[] = {{
        UINT64_C(0x0000000000000000), UINT64_C(0x8000000000000000), UINT64_C(0x0000000000000001),
        UINT64_C(0x8000000000000001), UINT64_C(0x000FFFFFFFFFFFFF), UINT64_C(0x0010000000000000),
        UINT64_C(0x01A56E1FC2F8F359), UINT64_C(0x3C9CD2B297D889BC), UINT64_C(0x3FEFFFFFFFFFFFFF),
        UINT64_C(0x3FF0000000000001), UINT64_C(0xBFF0000000000000), UINT64_C(0x3FF921FB54442D18),
        UINT64_C(0x400921FB54442D18), UINT64_C(0x4056800000000000), UINT64_C(0x4197D78400000000),
        UINT64_C(0x5FE69E8B00000000), UINT64_C(0x7E37E43C8800759C), UINT64_C(0x7FEFFFFFFFFFFFFF),
        UINT64_C(0xFFEFFFFFFFFFFFFF), UINT64_C(0x7FF0000000000000), UINT64_C(0xFFF0000000000000),
        UINT64_C(0x7FF8000000000000), UINT64_C(0xFFF80000DEADBEEF), UINT64_C(0x7FF0000000000001),
    }};
    double value;
    memcpy(&value, &bits[(unsigned)n % (sizeof bits / sizeof *bits)], sizeof value);
    return value;
}}

/* One that is odd now and then. */
static double some(int spoil) {{
    return spoil && next(2) ? odd((int)next(1000)) : usual();
}}

static const double *array(int spoil) {{
    static double numbers[4][4];
    static int turn = 0;
    double *to = numbers[turn++ % 4], sum = 0;
    int i;
    for (i = 0; i < 4; i++) {{
        sum += usual();
        to[i] = sum;
    }}
    if (spoil) {{
        to[next(4)] = odd((int)next(1000));
    }}
    return to;
}}

static const double *odds(void) {{
    return array(1);
}}

static const double *usuals(void) {{
    return array(0);
}}

static fw_place place(int spoil) {{
    fw_place given = {{some(spoil), some(spoil), 0, 0}};
    return given;
}}

static const fw_pipe_flow *pipe(int spoil) {{
    static fw_pipe_flow given;
    OK(fw_pipe_flow_init(&given, sizeof given, E));
    given.width_m = some(spoil);
    given.height_m = some(spoil);
    given.slope = some(spoil);
    given.friction = next(2);
    given.roughness = some(spoil);
    given.viscosity_m2_s = some(spoil);
    return &given;
}}

static const fw_run *run(int spoil) {{
    static fw_run given;
    OK(fw_run_init(&given, sizeof given, E));
    given.count = 4;
    given.counter_m = array(spoil);
    given.reading_rad = array(spoil);
    given.time_s = next(2) ? array(spoil) : NULL;
    given.roll_rad = next(2) ? array(spoil) : NULL;
    given.start_station_m = some(spoil);
    return &given;
}}

static const fw_instrument *instrument(int spoil) {{
    static fw_instrument given;
    OK(fw_instrument_init(&given, sizeof given, E));
    given.zero_sd_rad = some(spoil);
    given.head_length_m = some(spoil);
    given.resolution_rad = some(spoil);
    given.counter_scale_sd = some(spoil);
    return &given;
}}

static const fw_fit_options *options(int spoil) {{
    static fw_fit_options given;
    OK(fw_fit_options_init(&given, sizeof given, E));
    given.noise_sd_rad = some(spoil);
    given.penalty = some(spoil);
    return &given;
}}

/* Whatever struct is put there has a size. */
static void *sized(double *at) {{
    size_t size = LENGTH * sizeof *at;
    memcpy(at, &size, sizeof size);
    return at;
}}

static void clear(void) {{
    int i, j;
    for (i = 0; i < PLACES; i++) {{
        for (j = 0; j < LENGTH; j++) {{
            room[i][j] = 0.5;
        }}
    }}
}}

/* A status that there is, with words where it is none of success; and nothing endless given. Not a number means absent. */
static void look(fw_status status, const char *call) {{
    int i, j;
    fw_checks += 1;
    if (status == FW_PANIC || strcmp(fw_status_name(status), "unknown") == 0 || (status != FW_OK && !fw_test_error.message[0])) {{
        fprintf(stderr, "%s gave %s: %s\n", call, fw_status_name(status), fw_test_error.message);
        exit(1);
    }}
    answered += status == FW_OK;
    for (i = 0; status == FW_OK && i < PLACES; i++) {{
        for (j = 0; j < LENGTH; j++) {{
            /* A surface without width has a wave without speed. */
            if (!strstr(call, "fw_hydraulics_froude") && (room[i][j] > DBL_MAX || room[i][j] < -DBL_MAX)) {{
                fprintf(stderr, "%s gave an endless number\n", call);
                exit(1);
            }}
        }}
    }}
}}

#define ANY(call)                                                                                                          do {{                                                                                                                       clear();                                                                                                               fw_error_init(E, sizeof fw_test_error);                                                                                look(call, #call);                                                                                                 }} while (0)

/* Some rounds go into one job. It is solved then, whatever it took. */
static void renew_job(int n, fw_job **job) {{
    fw_lateral *solved = NULL;
    if (n % 10 == 0) {{
        ANY(fw_lateral_solve(*job, NULL, &solved, E));
        fw_lateral_free(solved);
        fw_job_free(*job);
        *job = NULL;
        OK(fw_job_new(job, E));
        OK(fw_job_add_run(*job, run(0), E));
    }}
}}

static void renew_live(int n, fw_live **live) {{
    fw_lateral *solved = NULL;
    fw_job *job = NULL;
    if (n % 10 == 0) {{
        ANY(fw_live_provisional(*live, &solved, NULL, E));
        fw_lateral_free(solved);
        fw_live_free(*live);
        *live = NULL;
        OK(fw_job_new(&job, E));
        OK(fw_live_new(job, NULL, live, E));
        fw_job_free(job);
    }}
}}

int main(void) {{
    static void *place_for_a_pointer[1];
    static const double breaks_m[] = {{0.0, 1.0}}, tilt_rad[] = {{0.02}};
    int n;
    fw_job *job = NULL;
    fw_live *live = NULL;
    fw_lateral *lateral = NULL;
    fw_answers *answers = NULL;
    fw_table *table = NULL;
    fw_rulebook *rulebook = NULL;
    (void)place_for_a_pointer;
    fw_error_init(E, sizeof fw_test_error);
    OK(fw_job_new(&job, E));
    OK(fw_live_new(job, NULL, &live, E));
    OK(fw_lateral_from_segments(breaks_m, 2, tilt_rad, 1, 0.1, NAN, &lateral, E));
    OK(fw_rulebook_shipped(T("ipc-2021"), &rulebook, E));
    OK(fw_lateral_answers(lateral, rulebook, NULL, &answers, E));
    OK(fw_answers_table(answers, T("segments"), &table, E));
{body}    fw_table_free(table);
    fw_answers_free(answers);
    fw_rulebook_free(rulebook);
    fw_lateral_free(lateral);
    fw_live_free(live);
    fw_job_free(job);
    /* It is only an attack where a good part gets through. */
    CHECK(answered > fw_checks / 5);
    printf("numbers: %d checks, %d answered\n", fw_checks, answered);
    return 0;
}}
"#
    )
}

#[test]
fn the_program_of_numbers_is_fresh() {
    fresh(&here().join("tests/c/numbers.c"), &numbers());
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

//! The committed header is the one that the sources make. `UPDATE=1` writes it.

mod common;

use std::{fs, path::PathBuf};

use cbindgen::{Builder, Config, EnumConfig, Language, Layout, RenameRule, Style};

/// What stands before the declarations: what holds of all of them.
const HEAD: &str = r#"/* fallwise from C: how a drain falls, where it holds water and whether it meets its slope rule.
 *
 * Made from the sources of the binding by a test; do not edit. bindings/c/README.md is the guide.
 *
 * What holds of every function:
 *
 * - Units are SI and radians; names say which. Station grows along the pipe; tilt is positive down towards growing
 *   station; slopes and falls are along the flow; heights are of the invert above the lowest station, elevations in
 *   the job's datum. NaN is "absent" or "not determined".
 * - It returns fw_status, and takes a caller's fw_error last, or NULL. Outputs are written only where it returns
 *   FW_OK; but for `*needed`, which FW_BUFFER_TOO_SMALL writes too.
 * - Pointers must point to what their type says, for as long as the call runs. A NULL where none may be is
 *   FW_NULL_POINTER. Nothing that is given is kept when the call returns, but where it says so.
 * - Texts that go in are UTF-8 with their length in bytes; no NUL is needed behind them. Texts that come out go into
 *   the caller's buffer, UTF-8 with a NUL behind: `*needed` becomes how many bytes that takes. A buffer that is NULL
 *   with a capacity of 0 only asks, and that is FW_OK. Arrays alike, without the NUL.
 * - Structs begin with `struct_size`, set by the caller to their sizeof (options: by their _init function), so that
 *   they may grow.
 * - Numbers of an enumeration go in as uint32_t; one without a meaning is FW_BAD_VALUE.
 * - Handles (fw_job *, fw_lateral * and so on) belong to the caller, who frees each once by its _free function, which
 *   takes NULL too. None depends on another: they may be freed in any order.
 * - Any thread may call anything. A handle may be used by several threads at once where nothing changes it: functions
 *   that take it as const. Who changes or frees it must be alone with it.
 * - No panic of the library crosses the border (FW_PANIC), and no callback may throw or jump across it.
 */"#;

fn config() -> Config {
    let mut config = Config {
        language: Language::C,
        style: Style::Both,
        cpp_compat: true,
        header: Some(HEAD.to_owned()),
        include_guard: Some("FALLWISE_H".to_owned()),
        no_includes: true,
        sys_includes: vec!["stddef.h".to_owned(), "stdint.h".to_owned()],
        after_includes: Some(versions()),
        documentation_length: cbindgen::DocumentationLength::Full,
        documentation_style: cbindgen::DocumentationStyle::Doxy,
        usize_is_size_t: true,
        line_length: 120,
        tab_width: 4,
        enumeration: EnumConfig { rename_variants: RenameRule::None, ..EnumConfig::default() },
        ..Config::default()
    };
    config.function.args = Layout::Auto;
    // Numbers that only go in or stand in structs as integers.
    config.export.include = [
        "fw_tilt_positive",
        "fw_toward",
        "fw_seen",
        "fw_stage",
        "fw_shared",
        "fw_section_of",
        "fw_friction",
        "fw_flow_state",
        "fw_slope_for",
        "fw_published",
        "fw_plumbing_code",
        "fw_quantity_kind",
        "fw_verdict",
        "fw_reason",
        "fw_quantity",
        "fw_pool_state",
        "fw_relay_outcome",
    ]
    .map(str::to_owned)
    .to_vec();
    config.export.exclude = vec!["fw_test_panic".to_owned()];
    config
}

/// Macros of the version, from Cargo's.
fn versions() -> String {
    let [major, minor, patch] =
        [env!("CARGO_PKG_VERSION_MAJOR"), env!("CARGO_PKG_VERSION_MINOR"), env!("CARGO_PKG_VERSION_PATCH")]
            .map(|part| part.parse::<u32>().expect("a version of numbers"));
    assert!(minor < 100 && patch < 100, "the combined number has two digits each");
    format!(
        "\n/* Version of this header. fw_version() has that of the library that runs. */\n\
         #define FW_VERSION_MAJOR {major}\n\
         #define FW_VERSION_MINOR {minor}\n\
         #define FW_VERSION_PATCH {patch}\n\
         /* MAJOR * 10000 + MINOR * 100 + PATCH */\n\
         #define FW_VERSION_NUMBER {number}\n\
         #define FW_VERSION_STRING \"{text}\"",
        number = major * 10_000 + minor * 100 + patch,
        text = env!("CARGO_PKG_VERSION")
    )
}

#[test]
fn the_header_is_fresh() {
    let here = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    let builder = Builder::new().with_config(config()).with_src(here.join("src/lib.rs"));
    let mut made = Vec::new();
    builder.generate().expect("cbindgen reads the sources").write(&mut made);
    let made = String::from_utf8(made).expect("UTF-8");
    let made = made.lines().map(str::trim_end).collect::<Vec<_>>().join("\n") + "\n";
    let path = here.join("include/fallwise.h");
    if std::env::var_os("UPDATE").is_some() {
        fs::write(&path, &made).expect("the header can be written");
    }
    let committed = fs::read_to_string(&path).unwrap_or_default();
    assert!(committed == made, "include/fallwise.h is not fresh; UPDATE=1 writes it");
}

#[test]
fn every_function_of_the_header_is_documented_and_takes_an_error_last() {
    let here = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    let without_status = ["fw_version", "fw_abi_version", "fw_features", "fw_status_name", "fw_error_init"];
    let mut seen = 0;
    for file in common::sources(&here.join("src")) {
        let text = fs::read_to_string(&file).expect("a source");
        for (before, after) in text.match_indices("extern \"C\" fn fw_").map(|(at, _)| text.split_at(at)) {
            // A type of a callback has no name there.
            let name: String = after.trim_start_matches("extern \"C\" fn ").chars().take_while(|c| *c != '(').collect();
            let declared = after.split_once('{').expect("a body").0;
            seen += 1;
            let lines: Vec<&str> = before.lines().rev().skip(1).take_while(|l| !l.is_empty()).collect();
            assert!(lines.iter().any(|l| l.starts_with("///")), "{name} is not documented");
            if without_status.contains(&name.as_str()) || name.ends_with("_free") {
                continue;
            }
            assert!(declared.contains("-> fw_status") || declared.contains("-> crate::status::fw_status"), "{name}");
            let arguments = declared.rsplit_once(')').expect("arguments").0.trim_end().trim_end_matches(',');
            assert!(arguments.ends_with("fw_error"), "{name} takes no error last");
        }
    }
    assert!(seen > 90, "{seen}");
}

//! Whether the texts of the verification manual (`tests/manual`), what the tests record and the public functions go together.

#![allow(clippy::unwrap_used, reason = "files of the source tree that a test reads")]

use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    path::{Path, PathBuf},
};

fn here() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Name and text of each section of the manual: `NN-name.md`.
fn texts() -> BTreeMap<String, String> {
    let files = fs::read_dir(here().join("manual")).unwrap().map(|f| f.unwrap().path());
    let texts = files.filter(|f| f.extension().is_some_and(|e| e == "md"));
    texts
        .map(|file| {
            let stem = file.file_stem().unwrap().to_str().unwrap().to_owned();
            let (number, name) = stem.split_once('-').expect("NN-name.md");
            assert!(number.len() == 2 && number.bytes().all(|b| b.is_ascii_digit()), "{stem}");
            (name.to_owned(), fs::read_to_string(&file).unwrap())
        })
        .collect()
}

/// The names after `covers:` in the heads of all texts.
fn covered() -> BTreeSet<String> {
    let heads = texts().into_values().map(|text| text.split("\n---").next().unwrap().to_owned());
    heads
        .flat_map(|head| {
            let line = head.lines().find_map(|l| l.strip_prefix("covers:").map(str::to_owned));
            line.unwrap_or_default().split_whitespace().map(str::to_owned).collect::<Vec<_>>()
        })
        .collect()
}

fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()) {
        if entry.is_dir() {
            found.extend(sources(&entry));
        } else if entry.extension().is_some_and(|e| e == "rs") {
            found.push(entry);
        }
    }
    found
}

/// A text that no test speaks of is an error here rather than in the slow command; a record without a text fails where it is made.
#[test]
fn every_text_has_records() {
    let files = sources(&here()).into_iter().filter(|f| !f.ends_with("manual.rs"));
    let tests: Vec<String> =
        files.map(|f| fs::read_to_string(f).unwrap()).filter(|t| t.contains("fallwise_record")).collect();
    let silent: Vec<String> =
        texts().into_keys().filter(|name| !tests.iter().any(|t| t.contains(&format!("\"{name}\"")))).collect();
    assert!(silent.is_empty(), "texts without a record: {silent:?}");
}

/// Each public function of the computations is covered by a text, or `not_covered.toml` says why not.
#[test]
fn every_public_function_is_covered() {
    let core = here().join("../crates/fallwise/src");
    let mut public: BTreeSet<String> = BTreeSet::new();
    for module in ["math", "units", "section.rs", "path", "profile.rs", "geographic.rs", "pool", "hydraulics"] {
        let at = core.join(module);
        let files = if at.is_dir() { sources(&at) } else { vec![at] };
        for file in files.into_iter().filter(|f| !f.to_str().unwrap().ends_with("_tests.rs")) {
            let text = fs::read_to_string(&file).unwrap();
            let names = text.lines().filter_map(|line| {
                let line = line.trim_start();
                let rest = line.strip_prefix("pub fn ").or_else(|| line.strip_prefix("pub const fn "))?;
                Some(rest.split(['(', '<']).next().unwrap().to_owned())
            });
            public.extend(names.map(|name| format!("{}::{name}", module.trim_end_matches(".rs"))));
        }
    }
    let reasons: toml::Table = fs::read_to_string(here().join("manual/not_covered.toml")).unwrap().parse().unwrap();
    let excused: BTreeSet<String> = reasons
        .values()
        .flat_map(|of| of.as_table().unwrap()["names"].as_array().unwrap())
        .map(|name| name.as_str().unwrap().to_owned())
        .collect();
    let covered = covered();
    let told: BTreeSet<String> = covered.union(&excused).cloned().collect();
    let missing: Vec<_> = public.difference(&told).collect();
    assert!(missing.is_empty(), "neither in the head of a text of tests/manual nor in not_covered.toml: {missing:#?}");
    let gone: Vec<_> =
        told.difference(&public).filter(|n| !n.starts_with("adjust::") && !n.starts_with("rules::")).collect();
    assert!(gone.is_empty(), "no such public function: {gone:#?}");
    assert!(covered.intersection(&excused).next().is_none(), "both covered and excused");
}

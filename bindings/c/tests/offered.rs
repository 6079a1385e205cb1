//! What the core offers, C offers, or `not_offered.toml` says why not.

mod common;

use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
};

use common::{functions, header, here, sources};

/// Public functions, types and constants of the core: `module::name` or `module::Type::name`.
fn public() -> BTreeSet<String> {
    let root = here().join("../../crates/fallwise/src");
    let mut names = BTreeSet::new();
    for file in sources(&root) {
        let relative = file.strip_prefix(&root).expect("below it");
        let last = relative.to_string_lossy().into_owned();
        if last.ends_with("_tests.rs") || last == "lib.rs" {
            continue;
        }
        let module = last.split(['/', '\\']).next().unwrap_or_default().trim_end_matches(".rs").to_owned();
        let text = fs::read_to_string(&file).expect("a source");
        let text = text.split("\n#[cfg(test)]\nmod ").next().unwrap_or_default();
        let mut of: Option<String> = None;
        for line in text.lines() {
            let line = line.split("//").next().unwrap_or_default();
            if let Some(rest) = line.strip_prefix("impl") {
                of = implemented(rest);
            } else if line.starts_with('}') {
                of = None;
            }
            let indent = line.len() - line.trim_start().len();
            let Some(name) = declared(line.trim_start()) else { continue };
            match (indent, &of) {
                (0, _) => names.insert(format!("{module}::{name}")),
                (4, Some(of)) => names.insert(format!("{module}::{of}::{name}")),
                _ => false,
            };
        }
    }
    names
}

/// The type that `impl<T> Trait for Type<T> {` is of.
fn implemented(rest: &str) -> Option<String> {
    let rest = match rest.strip_prefix('<') {
        Some(generic) => generic.split_once("> ").map(|(_, rest)| rest)?,
        None => rest.strip_prefix(' ')?,
    };
    let of = rest.split_once(" for ").map_or(rest, |(_, of)| of);
    let name: String = of.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
    Some(name).filter(|name| !name.is_empty())
}

/// The name that a line declares to everybody.
fn declared(line: &str) -> Option<String> {
    let mut words = line.strip_prefix("pub ")?.split_whitespace().peekable();
    let kind = words.next()?;
    let kind = if kind == "const" && words.peek() == Some(&"fn") { words.next()? } else { kind };
    if !["fn", "struct", "enum", "trait", "const", "type", "static"].contains(&kind) {
        return None;
    }
    let name: String = words.next()?.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
    Some(name).filter(|name| !name.is_empty())
}

type Lists = BTreeMap<String, BTreeMap<String, String>>;

fn lists() -> Lists {
    let text = fs::read_to_string(here().join("tests/not_offered.toml")).expect("the list");
    toml::from_str(&text).expect("TOML")
}

/// Whether an entry, which may stand for all of a module or type (`adjust::*`), is of a name.
fn covers(entry: &str, name: &str) -> bool {
    entry == name || entry.strip_suffix('*').is_some_and(|all| name.starts_with(all))
}

#[test]
fn everything_is_offered_or_listed() {
    let names = public();
    // The sources were found and read.
    assert!(names.len() > 600, "{}", names.len());
    let lists = lists();
    let entries: Vec<&String> = lists["as"].keys().chain(lists["not_offered"].keys()).collect();
    let missing: Vec<&String> = names.iter().filter(|name| !entries.iter().any(|entry| covers(entry, name))).collect();
    assert!(missing.is_empty(), "neither offered nor listed in tests/not_offered.toml: {missing:#?}");
}

#[test]
fn the_list_is_true() {
    let (names, lists) = (public(), lists());
    let own: BTreeSet<String> = functions().into_iter().map(|function| function.name).collect();
    let header = header();
    for (entry, offered) in &lists["as"] {
        assert!(names.iter().any(|name| covers(entry, name)), "{entry} is not in the core");
        for name in offered.split(", ") {
            let there =
                own.contains(name) || header.contains(&format!("{name};")) || header.contains(&format!("{name} "));
            assert!(there, "{entry}: {name} is not in the header");
        }
    }
    for (entry, reason) in &lists["not_offered"] {
        assert!(names.iter().any(|name| covers(entry, name)), "{entry} is not in the core");
        assert!(reason.len() > 10, "{entry}: {reason}");
        // A name that is offered by itself is not also listed as missing.
        assert!(!lists["as"].contains_key(entry), "{entry} is in both lists");
    }
}

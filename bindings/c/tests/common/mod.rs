//! What the tests share: the sources, and what the header declares.

#![allow(dead_code, reason = "each test uses a part of it")]

use std::{
    fs,
    path::{Path, PathBuf},
};

/// The folder of the binding.
pub(crate) fn here() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The Rust sources in a folder and below it, in order of name.
pub(crate) fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            files.extend(sources(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            files.push(path);
        }
    }
    files.sort();
    files
}

/// A function of the header.
#[derive(Debug)]
pub(crate) struct Function {
    pub(crate) returns: String,
    pub(crate) name: String,
    /// Type and name of each argument.
    pub(crate) arguments: Vec<(String, String)>,
}

impl Function {
    /// As it is declared, on one line.
    pub(crate) fn signature(&self) -> String {
        let arguments: Vec<String> = self.arguments.iter().map(|(of, name)| format!("{of} {name}")).collect();
        format!("{} {}({})", self.returns, self.name, arguments.join(", "))
    }
}

/// The committed header without comments.
pub(crate) fn header() -> String {
    let text = fs::read_to_string(here().join("include/fallwise.h")).expect("the header");
    let mut plain = String::new();
    let mut rest = text.as_str();
    while let Some((before, after)) = rest.split_once("/*") {
        plain.push_str(before);
        rest = after.split_once("*/").expect("comments end").1;
    }
    plain.push_str(rest);
    let plain: Vec<&str> = plain.lines().map(|line| line.split("//").next().unwrap_or_default().trim_end()).collect();
    plain.join("\n") + "\n"
}

/// The functions that it declares, in their order.
pub(crate) fn functions() -> Vec<Function> {
    let mut found = Vec::new();
    for declaration in header().replace('\n', " ").split(';') {
        let words = declaration.split_whitespace().collect::<Vec<_>>().join(" ");
        // Behind whatever of the preprocessor stands before the first.
        let words = words.rsplit_once("extern \"C\" { #endif").map_or(words.as_str(), |(_, after)| after).trim();
        let Some((head, arguments)) = words.split_once('(') else { continue };
        if words.contains("typedef") || words.contains('{') || !head.contains("fw_") {
            continue;
        }
        let (returns, name) = typed(head);
        let arguments = arguments.strip_suffix(')').expect("an argument list");
        let arguments = match arguments {
            "void" => Vec::new(),
            _ => arguments.split(',').map(typed).collect(),
        };
        found.push(Function { returns, name, arguments });
    }
    found
}

/// Type and name of `struct fw_job **job`.
fn typed(declared: &str) -> (String, String) {
    let declared = declared.trim();
    let at = declared.rfind(|c: char| !(c.is_alphanumeric() || c == '_')).map_or(0, |at| at + 1);
    (declared[..at].trim().to_owned(), declared[at..].to_owned())
}

/// The plain structs that it defines: name, and the names of the fields.
pub(crate) fn structs() -> Vec<(String, Vec<String>)> {
    let header = header();
    let mut found = Vec::new();
    for (at, _) in header.match_indices("typedef struct fw_") {
        let rest = &header[at + "typedef struct ".len()..];
        let name: String = rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
        let Some(body) = rest[name.len()..].trim_start().strip_prefix('{') else { continue };
        let fields = body.split_once('}').expect("a body ends").0.split(';').map(str::trim).filter(|f| !f.is_empty());
        let field = |declared: &str| typed(declared.split('[').next().unwrap_or_default()).1;
        found.push((name, fields.map(field).collect()));
    }
    found
}

/// Constants: names of enumerations' variants and of macros with a number.
pub(crate) fn constants() -> Vec<String> {
    let mut found = Vec::new();
    for line in header().lines() {
        let line = line.trim();
        if let Some(defined) = line.strip_prefix("#define FW_") {
            let (name, value) = defined.split_once(' ').unwrap_or((defined, ""));
            if value.trim().parse::<i64>().is_ok() {
                found.push(format!("FW_{name}"));
            }
        } else if line.starts_with("FW_")
            && let Some((name, _)) = line.split_once(" = ")
        {
            found.push(name.to_owned());
        }
    }
    found
}

/// Compares a committed file with what was made; `UPDATE=1` writes it.
pub(crate) fn fresh(path: &Path, made: &str) {
    if std::env::var_os("UPDATE").is_some() {
        fs::write(path, made).expect("it can be written");
    }
    let committed = fs::read_to_string(path).unwrap_or_default();
    assert!(committed == made, "{} is not fresh; UPDATE=1 writes it", path.display());
}

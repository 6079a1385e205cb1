//! The corpora that fuzzing left, replayed: every file holds to the checks that the fuzz targets make (`fuzz/checks.rs`),
//! and what a reader holds at once is bounded by a multiple of its input. `--nocapture` prints the multiples.

#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "helpers of tests, which clippy does not take for tests")]

#[allow(unreachable_pub, reason = "shared with the fuzz targets, which take it as a crate")]
#[path = "fuzz/checks.rs"]
mod checks;

use std::{fs, path::Path};

/// Runs a check on every file of a corpus.
fn replay(target: &str, check: fn(&[u8]) -> f64) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz/corpus").join(target);
    let mut paths: Vec<_> = fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    assert!(!paths.is_empty(), "no files in {}", folder.display());
    let (mut most, mut broken) = ((0.0, String::from("any")), Vec::new());
    for path in &paths {
        let bytes = fs::read(path).unwrap();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        match std::panic::catch_unwind(|| check(&bytes)) {
            Ok(held) if held > most.0 => most = (held, name),
            Ok(_) => {}
            Err(_cause) => broken.push(name), // printed where it broke
        }
    }
    assert!(broken.is_empty(), "in {}: {broken:?}", folder.display());
    println!("{target}: {} files; at most {:.0} bytes held a byte of input, by {}", paths.len(), most.0, most.1);
}

#[test]
fn logs() {
    replay("log", checks::log);
}

#[test]
fn jobs() {
    replay("job", checks::job);
}

#[test]
fn rulebooks() {
    replay("rulebook", checks::rulebook);
}

#[test]
fn results() {
    replay("result", checks::result);
}

#[test]
fn languages() {
    replay("language", checks::language);
}

#[test]
fn quantities() {
    replay("quantity", checks::quantity);
}

#[test]
fn photos() {
    replay("photo", checks::photo);
}

#[test]
fn readings_one_by_one() {
    replay("live", checks::live);
}

/// Inputs made to take the most memory a byte, each just behind a power of two, where vectors have just doubled. If one of
/// them takes less than an eighth of what is allowed, the bound is no longer one.
#[test]
fn the_worst_inputs_are_held_within_bounds() {
    let many = (1 << 15) + 2;
    let wide = format!("cable (m),tilt (deg){}\n0,1{}\n", ",".repeat(many), ",".repeat(many));
    let headed = format!("cable (m),tilt (deg){}\n0,1\n", ",".repeat(many));
    let tables = format!("run = [{}]\n", "{},".repeat(many));
    let json = format!("{{\"run\":[{}{{}}]}}", "{},".repeat(many));
    let dots = format!("[[r{}", ".".repeat(many));
    for (name, input, check, allowed) in [
        ("wide rows", wide, checks::log as fn(&[u8]) -> f64, &checks::LOG),
        ("a wide header", headed, checks::log, &checks::LOG),
        ("tables", tables, checks::job, &checks::TOML),
        ("tables in JSON", json, checks::job, &checks::TOML),
        ("dots", dots, checks::rulebook, &checks::TOML),
    ] {
        let held = check(input.as_bytes());
        println!("{name}: {held:.0} bytes held a byte of input, {} allowed", allowed.multiple);
        assert!(held > allowed.multiple as f64 / 8.0, "{name}: {held}");
    }
}

//! The one place through which published and golden tests assert.
//!
//! A [`Reference`] says what is computed, against what it is held, and how sure that is. [`Reference::check`] is one case, [`Reference::many`]
//! the worst of many. Each asserts, and where the environment variable `FALLWISE_RECORD` names a folder it also appends one line of JSON to a
//! file there: the verification manual (`tests/manual.sh`) shows these lines, so that nothing in it is typed.

use std::{
    collections::BTreeSet,
    fmt::{Debug, Display},
    fs::{File, OpenOptions},
    io::Write as _,
    path::PathBuf,
    sync::{LazyLock, Mutex},
};

use serde_json::{Value, json};

/// How sure a reference is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// The value was seen in the document itself.
    Seen,
    /// It was seen in another document that quotes it.
    Secondary,
    /// From memory, document and clause as well as they are known.
    Memory,
    /// Common practice, of which no document is known.
    Practice,
    /// Computed apart from this library from the stated formula: it confirms the computation, not a printed page.
    Computed,
    /// What follows exactly from a definition or a theorem.
    Exact,
    /// The answer of other software.
    Software,
    /// A truth that was drawn, and simulated measurements of it.
    Simulated,
}

impl Mark {
    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            Self::Seen => "seen in the document",
            Self::Secondary => "seen in a secondary source",
            Self::Memory => "from memory",
            Self::Practice => "common practice, no source",
            Self::Computed => "computed apart",
            Self::Exact => "exact",
            Self::Software => "other software",
            Self::Simulated => "simulated truth",
        }
    }
}

/// How far a value may be off.
#[derive(Debug, Clone, Copy)]
pub enum Tolerance {
    /// By so much, in the unit of the value.
    Absolute(f64),
    /// By this share of what is expected.
    Relative(f64),
}

/// What is computed, and against what it is held.
#[derive(Debug, Clone, Copy)]
pub struct Reference<'a> {
    /// Name of its text in `tests/manual`.
    pub computation: &'static str,
    /// Document, edition and clause; paper; or program.
    pub source: &'a str,
    /// How sure that is.
    pub mark: Mark,
}

/// A reference.
pub const fn reference<'a>(computation: &'static str, source: &'a str, mark: Mark) -> Reference<'a> {
    Reference { computation, source, mark }
}

impl Reference<'_> {
    /// One case, of which `what` names quantity and unit: fails unless the value is as near as the tolerance says. `why` is its reason.
    ///
    /// # Panics
    /// Where the value is farther off, or not a number.
    #[track_caller]
    pub fn check(&self, what: impl Display, computed: f64, expected: f64, tolerance: Tolerance, why: &str) {
        let off = (computed - expected).abs();
        let (error, allowed, kind) = match tolerance {
            Tolerance::Absolute(allowed) => (off, allowed, "absolute"),
            Tolerance::Relative(allowed) if off == 0.0 => (0.0, allowed, "relative"),
            Tolerance::Relative(allowed) => (off / expected.abs(), allowed, "relative"),
        };
        assert!(
            error <= allowed,
            "{}: {what}: {computed}, by {} {expected}: off by {error:e} ({kind}), allowed {allowed:e} ({why})",
            self.computation,
            self.source
        );
        self.write(json!({
            "kind": "case", "case": what.to_string(), "expected": expected, "computed": computed, "error": error,
            "tolerance": allowed, "measure": kind, "why": why,
        }));
    }

    /// One case that a document prints: fails unless the value rounds to it, give or take a rounding of its own.
    ///
    /// # Panics
    /// Where it does not.
    #[track_caller]
    pub fn printed(&self, what: impl Display, computed: f64, expected: &str) {
        let decimals = expected.split_once('.').map_or(0, |(_, fraction)| fraction.len());
        let half = (0..decimals).fold(0.5, |half, _| half / 10.0);
        let value: f64 = expected.parse().expect("a printed number");
        self.check(what, computed, value, Tolerance::Absolute(half * (1.0 + 1e-9)), "half of the last digit printed");
    }

    /// One case that is the same or is not.
    ///
    /// # Panics
    /// Where it is not.
    #[track_caller]
    pub fn same<T: PartialEq + Debug>(&self, what: impl Display, computed: T, expected: T) {
        assert!(computed == expected, "{}: {what}: {computed:?}, by {} {expected:?}", self.computation, self.source);
        let text = |value: T| json!(plain(&format!("{value:?}")));
        self.write(json!({
            "kind": "case", "case": what.to_string(), "expected": text(expected), "computed": text(computed), "error": 0.0,
            "tolerance": 0.0, "measure": "the same", "why": "",
        }));
    }

    /// Many cases of one quantity, of which the worst counts. An error is in the `unit` named, and at most `bound`; `why` is its reason.
    pub fn many<'a>(&'a self, quantity: &'a str, unit: &'a str, bound: f64, why: &'a str) -> Many<'a> {
        Many { of: self, quantity, unit, bound, why, claim: "", cases: 0, worst: 0.0, at: String::new() }
    }

    #[track_caller]
    fn write(&self, mut line: Value) {
        assert!(TEXTS.contains(self.computation), "no text tests/manual/NN-{}.md", self.computation);
        let Some(recorder) = &*RECORDER else { return };
        line["computation"] = json!(self.computation);
        line["source"] = json!(self.source);
        line["mark"] = json!(self.mark.word());
        line["test"] = json!(std::thread::current().name().unwrap_or("main"));
        let mut file = recorder.lock().expect("nothing panics while it writes");
        writeln!(file, "{line}").expect("the folder of FALLWISE_RECORD can be written to");
    }
}

/// A share of 2^-52, for relative errors: half to one unit in the last place.
pub const ULP: &str = "relative, in 2^-52";
/// Relative error.
pub const RELATIVE: &str = "relative";

/// Many cases of one quantity.
#[derive(Debug)]
#[must_use = "`done` asserts"]
pub struct Many<'a> {
    of: &'a Reference<'a>,
    quantity: &'a str,
    unit: &'a str,
    bound: f64,
    why: &'a str,
    claim: &'a str,
    cases: usize,
    worst: f64,
    at: String,
}

impl<'a> Many<'a> {
    /// What the documentation of the function promises, where that is more than the bound that is held to here.
    pub fn claimed(mut self, claim: &'a str) -> Self {
        self.claim = claim;
        self
    }

    /// A case and its error in the unit named.
    pub fn error(&mut self, error: f64, at: impl FnOnce() -> String) {
        self.cases += 1;
        // What is not a number is worse than all.
        if error.is_nan() || error > self.worst {
            (self.worst, self.at) = (if error.is_nan() { f64::INFINITY } else { error }, at());
        }
    }

    /// A case by its relative error; where 2^-52 is the unit, in that.
    pub fn value(&mut self, computed: f64, expected: f64, at: impl FnOnce() -> String) {
        let relative = if computed == expected { 0.0 } else { ((computed - expected) / expected).abs() };
        self.error(if self.unit == ULP { relative / f64::EPSILON } else { relative }, at);
    }

    /// Asserts the bound, and that there were as many cases as are promised. Gives the worst error.
    ///
    /// # Panics
    /// Where one is farther off, or there are fewer.
    #[track_caller]
    pub fn done(self, least: usize) -> f64 {
        let Self { of, quantity, unit, bound, why, claim, cases, worst, at } = self;
        assert!(cases >= least, "{}: {quantity}: {cases} cases, promised {least}", of.computation);
        assert!(
            worst <= bound,
            "{}: {quantity}: {worst:.3e} ({unit}), allowed {bound:.3e} ({why}), at {at}",
            of.computation
        );
        of.write(json!({
            "kind": "many", "case": quantity, "cases": cases, "error": worst, "at": at, "tolerance": bound, "measure": unit,
            "why": why, "claim": claim,
        }));
        worst
    }
}

/// Text of a value as a table shows it: without `Some`, quotes and struct names.
fn plain(debug: &str) -> String {
    let inner = debug.strip_prefix("Some(").and_then(|t| t.strip_suffix(')')).unwrap_or(debug);
    if inner == "None" {
        "none".to_owned()
    } else {
        inner.replace("Some(", "(").replace("None", "none").replace('"', "")
    }
}

/// Names of the texts of the manual.
static TEXTS: LazyLock<BTreeSet<String>> = LazyLock::new(|| {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../manual");
    let files = std::fs::read_dir(folder).expect("tests/manual lies beside").filter_map(Result::ok);
    let stems = files.filter_map(|f| f.path().file_stem().map(|stem| stem.to_string_lossy().into_owned()));
    stems.filter_map(|stem| stem.split_once('-').map(|(_, name)| name.to_owned())).collect()
});

/// The file of this process in the folder that `FALLWISE_RECORD` names.
static RECORDER: LazyLock<Option<Mutex<File>>> = LazyLock::new(|| {
    let folder = PathBuf::from(std::env::var_os("FALLWISE_RECORD")?);
    std::fs::create_dir_all(&folder).expect("the folder of FALLWISE_RECORD can be made");
    let path = folder.join(format!("{}.jsonl", std::process::id()));
    Some(Mutex::new(OpenOptions::new().create(true).append(true).open(path).expect("a file can be written there")))
});

#[cfg(test)]
mod tests {
    use super::*;

    const OF: Reference<'static> = reference("area", "nobody", Mark::Exact);

    fn fails(of: impl FnOnce() + std::panic::UnwindSafe) -> bool {
        std::panic::catch_unwind(of).is_err()
    }

    #[test]
    fn what_is_off_fails() {
        OF.check("near", 1.0, 1.001, Tolerance::Absolute(0.002), "test");
        assert!(fails(|| OF.check("far", 1.0, 1.003, Tolerance::Absolute(0.002), "test")));
        assert!(fails(|| OF.check("far", 1.0, 2.0, Tolerance::Relative(0.4), "test")));
        assert!(fails(|| OF.check("not a number", f64::NAN, 2.0, Tolerance::Relative(0.4), "test")));
        OF.printed("rounds", 27.2249, "27.22");
        assert!(fails(|| OF.printed("does not round", 27.226, "27.22")));
        assert!(fails(|| OF.same("other", Some(1), None)));
    }

    #[test]
    fn the_worst_counts() {
        let of = |errors: &'static [f64], least| {
            let mut many = OF.many("test", RELATIVE, 0.1, "test");
            for e in errors {
                many.error(*e, || e.to_string());
            }
            many.done(least)
        };
        assert!((of(&[0.05, 0.1, 0.0], 3) - 0.1).abs() < 1e-15);
        assert!(fails(|| assert!(of(&[0.05, 0.11], 2) >= 0.0)));
        assert!(fails(|| assert!(of(&[0.05, f64::NAN, 0.01], 2) >= 0.0)));
        assert!(fails(|| assert!(of(&[0.05], 2) >= 0.0)));
    }

    #[test]
    fn values_are_told_plainly() {
        assert_eq!([plain("Some(1.5)"), plain("None"), plain("\"a\"")], ["1.5", "none", "a"]);
    }
}

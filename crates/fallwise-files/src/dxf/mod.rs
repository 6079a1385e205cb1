//! Drawings for a CAD program: the profile, and where it is determined the plan, in the drawing interchange form (DXF).
//!
//! | file | what | axes |
//! | --- | --- | --- |
//! | `profile.dxf` | invert, crown, ground, band, water, ties | x station as the counter shows it, y elevation, or height above the lowest invert where no elevation is known; a text says which |
//! | `plan.dxf` | the pipe seen from above | x east, y north, of the job's own axes |
//!
//! True scale both ways: one unit of the drawing is one metre (`words = "uk"`) or one foot (`"us"`), and a text says so beside the
//! header. Layers have plain names; everything is black by its layer, and lines differ by pattern, since colours mean utilities on
//! site. Strangers' texts are read and do nothing else. Every figure with the standard deviation it has is in `result.json`; here
//! coordinates have four decimals, a tenth of a millimetre or less.
//!
//! Written by a small writer of our own: the general crate `dxf` puts the time of day and random numbers into every header, so
//! that the same survey would not give the same bytes. That crate reads what is written here in the tests.

mod plan;
mod profile;
mod writer;

use fallwise::{Answers, units::Words};

pub use plan::plan;
pub use profile::profile;
use writer::{Drawing, Layer, Pattern};

/// The name of the profile's file.
pub const PROFILE_FILE: &str = "profile.dxf";
/// The name of the plan's file.
pub const PLAN_FILE: &str = "plan.dxf";

const TITLE: Layer = Layer("title", Pattern::Whole);
const CAUTIONS: Layer = Layer("cautions", Pattern::Whole);
const NOTES: Layer = Layer("notes", Pattern::Whole);
const TIES: Layer = Layer("ties", Pattern::Whole);
const FEATURES: Layer = Layer("features", Pattern::Whole);
const BENDS: Layer = Layer("bends and steps", Pattern::Whole);
const DIGS: Layer = Layer("digs", Pattern::Whole);
const ENDS: Layer = Layer("ends of the survey", Pattern::Whole);
const WATER: Layer = Layer("water it can hold", Pattern::DashDot);

/// Characters in a line of a paragraph.
const COLUMNS: usize = 100;
/// Characters of one note, or of what is said of one tie, at most.
const LONGEST_NOTE: usize = 1000;

/// The layer of a kind of mark.
fn layer_of(kind: &str) -> Layer {
    match kind {
        "end" => ENDS,
        "bend" | "step" => BENDS,
        "tie" => TIES,
        "belly" => WATER,
        "note" => NOTES,
        "dig" => DIGS,
        _ => FEATURES,
    }
}

/// Height of text for a drawing so wide, m: a paragraph of it is about as wide as the drawing, and text is never smaller than 20 mm
/// nor larger than 250 mm of the ground. Our choice.
fn text_height_m(width_m: f64) -> f64 {
    (width_m / 100.0).clamp(0.02, 0.25)
}

/// What stands under every drawing, from a place down: what it is, the cautions, what the intervals do not cover, notes and ties.
fn under(drawing: &mut Drawing, answers: &Answers, what: &[String], listed: &[(Layer, String)], from_m: [f64; 2]) {
    let survey = &answers.job.survey;
    let (left, step) = (from_m[0], drawing.text_m);
    let mut y = from_m[1];
    if survey.invented {
        y = drawing.paragraph(
            TITLE,
            [left, y],
            COLUMNS,
            "INVENTED EXAMPLE: the place, the people and the readings are made up.",
        );
    }
    let facts = [&survey.title, &survey.site, &survey.date_time];
    for fact in facts.into_iter().flatten() {
        y = drawing.paragraph(TITLE, [left, y], COLUMNS, &writer::short(fact, LONGEST_NOTE));
    }
    for line in what.iter().chain([&answers.sentence]) {
        y = drawing.paragraph(TITLE, [left, y], COLUMNS, line);
    }
    y = drawing.paragraph(TITLE, [left, y], COLUMNS, &format!("Made by fallwise {}.", answers.version));
    y -= step;
    let honesty =
        "Intervals are two-sided 95 % intervals. They hold if the stated error sources are the only ones.".to_owned();
    let covered = answers.not_covered.iter().map(|line| format!("Not covered by the intervals: {line}"));
    for line in answers.cautions.iter().cloned().chain([honesty]).chain(covered) {
        y = drawing.paragraph(CAUTIONS, [left, y], COLUMNS, &line);
    }
    y -= step;
    for (layer, line) in listed {
        y = drawing.paragraph(*layer, [left, y], COLUMNS, &writer::short(line, LONGEST_NOTE));
    }
}

/// The unit of the drawing, in words.
fn unit(words: Words) -> &'static str {
    match words {
        Words::Uk => "Units of the drawing: metres. True scale both ways, 1:1, no exaggeration.",
        Words::Us => "Units of the drawing: feet (of 0.3048 m). True scale both ways, 1:1, no exaggeration.",
    }
}

//! Rulebooks and findings: what a code asks, and whether the pipe does it.
//!
//! | file | what |
//! | --- | --- |
//! | `rulebook` | rows as data, read from TOML |
//! | `shipped` | the rulebooks that come with the library |
//! | `select` | which rows speak of a reach |
//! | `measure`, `figures` | slopes and backfalls of a profile; probabilities and intervals |
//! | `finding` | evidence, choices, findings |
//! | `check` | evidence in, findings out; the lateral's own |
//! | `slope`, `belly` | the parts: slope of reaches; backfall and standing water |
//! | `sentence`, `text` | the plain sentences |
//!
//! # How a finding is reached
//! A requirement is *met* where the probability that it holds is at least the confidence (0.95, one-sided), *not met*
//! where it is at most one minus that, else *undecided*, with the [`Reason`]. The probability is the fraction of equally
//! likely profiles (draws of the posterior) that meet it; without draws it is the normal one of the slope's standard
//! deviation. The lateral's own finding is the joint probability over all its parts, counted draw by draw; where a
//! part has no draws, joint probabilities lie between their Fréchet bounds (p + q - 1 and the smaller), and only what
//! both ends agree on is found.
//!
//! Rows whose needed facts the job does not give stay open. Such a row leaves a finding undecided
//! ([`Reason::InputMissing`]) only where it would change it: a stricter one that is not met, or a milder one (named by
//! `instead_of`) that is not excluded.
//!
//! What is not done: cover, cleanout spacing, capacity and velocity are not rules here; a row that turns on a velocity
//! asks the job for it.
//!
//! # How to add a rule
//! Write a row in a TOML file, or in the file of the shipped book under `rules/shipped`:
//! ```toml
//! [[rule]]
//! id = "ours-1"                      # unique in the book
//! document = "House specification"   # document, edition and clause are printed with every finding
//! edition = "2026"
//! clause = "3"
//! text = "Laterals of 4 in fall at least 1/4 in/ft."   # in your own words
//! force = "contract"                 # code, guidance, contract or practice
//! applies_to = "new"                 # new (default) or all
//! confirmed = true                   # seen in the document itself
//! source_mark = "our own document"   # where the value was seen
//! enabled = true                     # false: kept, not used; say why in remark
//! remark = ""
//! needs = { peak_flow = "below 1 l/s" }          # facts the job must give: [rules] facts, or those of a reach
//! needs_at_least = { water_closets = 1 }         # the same, as numbers
//! assumed = { peak_flow = "below 1 l/s" }        # taken where the job is silent
//! instead_of = []                    # ids of the rows this one takes the place of
//! unit = "inch"                      # what the nominal sizes count: inch or dn
//! min_size = 4
//! max_size = 4
//! min_slope = "1/4 in/ft"            # tested exactly; "1 in DN" for one in the nominal size
//! also_printed = "2 %"               # a rounded value printed beside it: shown, not tested
//! max_slope = "1/2 in/ft"
//! max_pool = "1/2 in"                # "none" for no standing water
//! over = "reach"                     # reach, stick, or a length such as "3 m"
//! ```
//! Only the first six keys, `source_mark` and one requirement must be there. Several rows may apply to a reach: all
//! must hold, and the strictest is named. A new shipped file also needs its line in `shipped.rs`, and its values a line
//! in the table of `tests/rules.rs`.

mod asked;
mod belly;
mod check;
mod figures;
mod finding;
mod measure;
mod rulebook;
mod select;
mod sentence;
mod shipped;
mod slope;
mod text;

use crate::prelude::*;
pub(crate) use asked::asked_of_new;
pub(crate) use belly::backward_m;
pub use check::check;
pub(crate) use figures::{at_least, roundoff};
pub use finding::{Check, CheckOptions, Evidence, Finding, PoolEvidence, Quantity, Reason, Seen, Verdict};
pub use rulebook::{AppliesTo, DepthLimit, Force, Over, Rule, Rulebook, SlopeLimit};

/// A shipped rulebook, before it is read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shelved {
    /// Name, for [`Rulebook::shipped`].
    pub name: &'static str,
    /// Title.
    pub title: String,
}

/// Names and titles of the shipped rulebooks, in order of name.
///
/// # Example
/// ```
/// assert!(fallwise::rules::rulebooks().iter().any(|book| book.name == "ipc-2021"));
/// ```
pub fn rulebooks() -> Vec<Shelved> {
    let titled = |(name, text): &(&'static str, &str)| {
        Rulebook::parse(text).ok().map(|book| Shelved { name, title: book.title })
    };
    shipped::BOOKS.iter().filter_map(titled).collect()
}

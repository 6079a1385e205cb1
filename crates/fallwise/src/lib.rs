//! How a drain falls, where it holds water, and whether it meets its slope rule: from the cable counter and the tilt
//! of a camera pushed down it, with a standard deviation on every figure.
//!
//! # The way data flows
//! log → [`condition`] → trace → [`chain`] → chain → [`adjust`] → posterior → answers ([`pool`], [`rules`],
//! [`relay`], [`what_next`]), put together by [`lateral`] in the rows of [`answers`]. Each module knows only those before it in this
//! list: [`math`], [`units`], [`text`], [`error`], [`watch`]; [`section`]; [`model`]; [`condition`]; [`chain`]; [`path`],
//! [`profile`], [`geographic`]; [`adjust`]; [`pool`], [`hydraulics`]; [`rules`]; [`relay`], [`locate`], [`what_next`]; [`answers`];
//! [`lateral`]. Beside them stands [`simulate`], the forward model.
//!
//! How sure every figure is, what that costs where an assumption fails, and how to read `undecided`: [`uncertainty`].
//!
//! # Conventions
//! | what | convention |
//! | --- | --- |
//! | units | SI and radians in every public number; the name says so (`station_m`, `tilt_rad`, `volume_m3`) |
//! | station | along the pipe axis, in the lateral's own stationing, as the counter shows it; true lengths carry the counter's scale |
//! | tilt | positive where the pipe goes down towards growing station |
//! | slope | fall over *horizontal* length, along the flow: positive falls, negative backfalls; drops (steeper than 45°) are left out |
//! | fall | L sin(tilt), positive down along the flow |
//! | heights | of the invert, relative to the lateral's lowest station, unless the name says `elevation` (then in the job's datum) |
//! | axes | local east, north, up; azimuth clockwise from grid north; a bend turns positive to the right looking along growing station |
//! | figures | `x`, `x_sd`, `x_low`, `x_high`: value, standard deviation, 95 % interval; absent when not determined |
//!
//! # Without the standard library
//! With `default-features = false` the crate needs only `alloc`: the same figures to the bit, but no [`solve_many`], which is on
//! threads, and no guess at what a misspelt word was meant to be.

#![no_std]

#[doc(hidden)] // for `said!`, which other crates say too
pub extern crate alloc;
#[cfg(any(feature = "std", test))]
extern crate std;

pub mod adjust;
pub mod answers;
pub mod chain;
pub mod condition;
pub mod error;
pub mod geographic;
pub mod hydraulics;
pub mod lateral;
pub mod locate;
pub mod math;
pub mod model;
pub mod path;
pub mod pool;
mod prelude;
pub mod profile;
pub mod relay;
pub mod rules;
pub mod section;
pub mod simulate;
pub mod text;
#[doc = include_str!("../docs/uncertainty.md")]
pub mod uncertainty {
    /// What the coverage study prints, and its chart of which bellies are found.
    #[cfg_attr(doc, doc = include_str!("../docs/coverage.md"))]
    #[cfg_attr(doc, doc = "\n")]
    #[cfg_attr(doc, doc = include_str!("../docs/power.svg"))]
    pub mod coverage {}
}
pub mod units;
pub mod watch;
pub mod what_next;

pub use adjust::Posterior;
pub use answers::Answers;
pub use chain::Chain;
pub use error::Error;
#[cfg(feature = "std")]
pub use lateral::solve_many;
pub use lateral::{Lateral, compare};
pub use model::{Bend, Flow, Instrument, Job, Origin, Pipe, Reach, Run, Tie};
pub use path::Path;
pub use pool::Pool;
pub use profile::Profile;
pub use relay::RelayPlan;
pub use rules::{Finding, Rulebook};
pub use section::Bore;

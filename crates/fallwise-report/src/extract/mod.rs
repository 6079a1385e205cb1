//! One page for each reader: what this one needs, in this one's words, and where the rest is.
//!
//! - `owner`: what was asked, what is known, what is not, what comes next.
//! - `inspector`: permit, document and edition, pipe, fall of each reach, a sketch with distances.
//! - `estimator`: quantities.
//! - `relay`: what a plan lays anew, or why there is none.
//! - `dig`: one planned dig.

mod dig;
mod estimator;
mod inspector;
mod owner;
mod relay;

pub(crate) use self::{
    dig::DigSheet,
    estimator::Estimator,
    inspector::Inspector,
    owner::{Owner, answers_are, head_means, means},
    relay::Relay,
};

//! One page for each reader: what this one needs, in this one's words, and where the rest is.
//!
//! - `owner`: what was asked, what is known, what is not, what comes next.
//! - `inspector`: permit, document and edition, pipe, fall of each reach, a sketch with distances.
//! - `estimator`: quantities.
//! - `dig`: one planned dig.

mod dig;
mod estimator;
mod inspector;
mod owner;

pub(crate) use self::{
    dig::DigSheet,
    estimator::Estimator,
    inspector::Inspector,
    owner::{Owner, answers_are, head_means, means},
};

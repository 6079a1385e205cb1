//! The slope that a book asks of pipe laid anew.

use super::{
    rulebook::{Rule, Rulebook, SlopeLimit},
    select::select,
};
use crate::prelude::*;
use crate::{
    model::{Job, Reach},
    said,
    units::Said,
};

/// What a book asks of the slope of a reach.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct AskedSlope {
    /// The strictest least slope of the rows that apply, and of those that may apply besides.
    pub(crate) min: Option<f64>,
    /// The strictest greatest slope.
    pub(crate) max: Option<f64>,
    /// The row of the least slope: document, clause, the requirement as printed and in words, and whether it was seen there.
    pub(crate) from: Option<Said>,
    /// Facts that would have to be known to tell which rows apply: they are taken to.
    pub(crate) missing: Vec<Said>,
}

/// The slope asked of a reach if it were laid anew. Rows that would be milder if a fact were known do not count; nor those that are
/// switched off.
pub(crate) fn asked_of_new(book: &Rulebook, job: &Job, reach: &Reach) -> AskedSlope {
    let selection = select(book, job, reach, Rule::limits_slope);
    let mut asked = AskedSlope { missing: selection.missing(), ..AskedSlope::default() };
    for rule in selection.applying.iter().copied().chain(selection.open.iter().map(|(rule, _)| *rule)) {
        let mut at = |limit: &Option<SlopeLimit>| {
            let limit = limit.as_ref()?;
            let slope = limit.at(reach.pipe.nominal);
            if slope.is_none() {
                asked.missing.push(said!("nominal size as DN"));
            }
            slope
        };
        let (min, max) = (at(&rule.min_slope), at(&rule.max_slope));
        if let Some(min) = min.filter(|min| asked.min.is_none_or(|before| *min > before)) {
            asked.min = Some(min);
            let printed = rule.min_slope.as_ref().map(|limit| limit.text.clone()).unwrap_or_default();
            let mut from = said!(
                "{document} {edition}, {clause} ({limit}): {text}",
                document = &rule.document,
                edition = &rule.edition,
                clause = &rule.clause,
                limit = printed,
                text = whole(&rule.text)
            );
            if !rule.confirmed {
                from.push(said!(
                    "That value was not checked in the document itself ({source}).",
                    source = &rule.source_mark
                ));
            }
            asked.from = Some(from);
        }
        asked.max = max.into_iter().chain(asked.max).reduce(f64::min);
    }
    asked
}

/// A text of a rulebook as a whole sentence.
fn whole(text: &str) -> String {
    format!("{}.", text.trim().trim_end_matches('.'))
}

//! The one sentence that matters.

use std::fmt::Write as _;

use super::Lateral;
use crate::{
    answers::ReachRow,
    pool::{Pool, PoolEstimate, PoolState, Spread},
    rules::Check,
    units::{Words, probability},
};

/// A survey that ends no further short of the lateral's length speaks of all of it, m (our choice).
const SHORT_M: f64 = 0.5;

/// The sentence a summary begins with: the finding if there is a rulebook, the shape if not, then the water.
pub(super) fn first(
    lateral: &Lateral,
    total: &ReachRow,
    pools: &[PoolEstimate],
    check: Option<&Check>,
    words: Words,
) -> String {
    let mut text = match check {
        Some(check) => check.lateral.sentence.clone(),
        None => shape(total, words),
    };
    text.push(' ');
    text.push_str(&water(pools, lateral.unseen_m().is_empty(), words));
    if let Some(about) = lateral.job().survey.about_length_m
        && total.length_m < about - SHORT_M
    {
        let (surveyed, about) = (words.length(total.length_m), words.about(about));
        let _ = write!(text, " This speaks of the surveyed {surveyed} of about {about}.");
    }
    text
}

fn shape(total: &ReachRow, words: Words) -> String {
    match (total.slope, total.slope_low, total.slope_high) {
        (Some(slope), Some(low), Some(high)) => format!(
            "Over {} the pipe falls {}, at a mean slope of {} (95 % interval {}).",
            words.length(total.length_m),
            words.length(total.fall_m),
            words.slope(slope),
            words.slope_range(low, high)
        ),
        _ => format!("Over {} there is nothing but drops.", words.length(total.length_m)),
    }
}

fn water(pools: &[PoolEstimate], all_seen: bool, words: Words) -> String {
    let in_state = |state: PoolState| pools.iter().filter(move |p| p.state == state);
    let found: Vec<(&PoolEstimate, &Pool)> =
        in_state(PoolState::Found).filter_map(|p| p.pool.as_ref().map(|pool| (p, pool))).collect();
    let deepest = found.iter().max_by(|a, b| a.1.depth_m.total_cmp(&b.1.depth_m));
    let Some((estimate, pool)) = deepest else {
        let likeliest = in_state(PoolState::Possible).filter_map(|p| p.exists_probability).reduce(f64::max);
        let sure = likeliest.map(|p| format!(" (probability {})", probability(p))).unwrap_or_default();
        return match in_state(PoolState::Possible).count() {
            0 if in_state(PoolState::Intended).count() > 0 => {
                "No belly was found beside the water of traps.".to_owned()
            }
            0 if all_seen => "No belly was found.".to_owned(),
            0 => "No belly was found where the pipe was seen.".to_owned(),
            1 if likeliest.is_some_and(|p| p >= 0.95) => {
                format!("One belly is likely{sure}; how deep it is, is not certain from this data.")
            }
            1 => format!("One belly is possible{sure} but not certain from this data."),
            n => format!("{n} bellies are possible, the likeliest{sure}, but not certain from this data."),
        };
    };
    let (at, depth) = (words.at(pool.deepest_station_m), words.small(pool.depth_m));
    let least = if pool.sill_is_last_point || pool.touches_upstream_end { "at least " } else { "" };
    let limits = match estimate.depth_m {
        Some(Spread { low: Some(low), high, .. }) if words.small(low) != words.small(high) => {
            format!(" ({} to {})", words.small(low), words.small(high))
        }
        _ => String::new(),
    };
    match found.len() {
        1 => format!("One belly, deepest at {at}, can hold water {least}{depth} deep{limits}."),
        n => format!("The deepest of {n} bellies, at {at}, can hold water {least}{depth} deep{limits}."),
    }
}

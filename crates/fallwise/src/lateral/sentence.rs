//! The one sentence that matters.

use super::Lateral;
use crate::{
    answers::ReachRow,
    pool::{Pool, PoolEstimate, PoolState},
    rules::Check,
    units::Words,
};

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
    text.push_str(&water(pools, words));
    if let Some(about) = lateral.job().survey.about_length_m {
        text.push_str(&format!(
            " This speaks of the surveyed {} of about {}.",
            words.length(total.to_m - total.from_m),
            words.length(about)
        ));
    }
    text
}

fn shape(total: &ReachRow, words: Words) -> String {
    match (total.slope, total.slope_low, total.slope_high) {
        (Some(slope), Some(low), Some(high)) => format!(
            "Over {} the pipe falls {} at a mean slope of {}, with a 95 % interval from {} to {}.",
            words.length(total.length_m),
            words.small(total.fall_m),
            words.slope(slope),
            words.slope(low),
            words.slope(high)
        ),
        _ => format!("Over {} there is nothing but drops.", words.length(total.length_m)),
    }
}

fn water(pools: &[PoolEstimate], words: Words) -> String {
    let found: Vec<&Pool> =
        pools.iter().filter(|p| p.state == PoolState::Found).filter_map(|p| p.pool.as_ref()).collect();
    let possible = pools.iter().filter(|p| p.state == PoolState::Possible).count();
    let deepest = found.iter().max_by(|a, b| a.depth_m.total_cmp(&b.depth_m));
    match (deepest, found.len(), possible) {
        (None, _, 0) => "No belly was found.".to_owned(),
        (None, _, 1) => "One belly is possible but not certain from this data.".to_owned(),
        (None, _, n) => format!("{n} bellies are possible but not certain from this data."),
        (Some(p), 1, _) => format!(
            "One belly, deepest at {}, can hold water up to {} deep.",
            words.station(p.deepest_station_m),
            words.small(p.depth_m)
        ),
        (Some(p), n, _) => format!(
            "{n} bellies; the deepest, at {}, can hold water up to {} deep.",
            words.station(p.deepest_station_m),
            words.small(p.depth_m)
        ),
    }
}

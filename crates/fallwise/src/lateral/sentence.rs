//! The one sentence that matters.

use super::Lateral;
use crate::prelude::*;
use crate::{
    answers::ReachRow,
    pool::{Pool, PoolEstimate, PoolState, Spread},
    rules::Check,
    said,
    units::{Part, Said, Words},
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
) -> Said {
    let mut sentences = match check {
        Some(check) => check.lateral.sentence.clone(),
        None => shape(total, words),
    };
    sentences.push(water(pools, lateral.unseen_m().is_empty(), words));
    if let Some(about) = lateral.job().survey.about_length_m
        && total.length_m < about - SHORT_M
    {
        sentences.push(said!(
            words,
            "This speaks of the surveyed {surveyed} of about {about}.",
            surveyed = Part::Length(total.length_m),
            about = Part::About(about)
        ));
    }
    sentences
}

fn shape(total: &ReachRow, words: Words) -> Said {
    let length = Part::Length(total.length_m);
    match (total.slope, total.slope_low, total.slope_high) {
        (Some(slope), Some(low), Some(high)) => said!(
            words,
            "Over {length} the pipe falls {fall}, at a mean slope of {slope} (95 % interval {interval}).",
            length = length,
            fall = Part::Length(total.fall_m),
            slope = Part::Slope(slope),
            interval = Part::SlopeRange(low, high)
        ),
        _ => said!(words, "Over {length} there is nothing but drops.", length = length),
    }
}

fn water(pools: &[PoolEstimate], all_seen: bool, words: Words) -> Said {
    let in_state = |state: PoolState| pools.iter().filter(move |p| p.state == state);
    let found: Vec<(&PoolEstimate, &Pool)> =
        in_state(PoolState::Found).filter_map(|p| p.pool.as_ref().map(|pool| (p, pool))).collect();
    let deepest = found.iter().max_by(|a, b| a.1.depth_m.total_cmp(&b.1.depth_m));
    let Some((estimate, pool)) = deepest else {
        let likeliest = in_state(PoolState::Possible).filter_map(|p| p.exists_probability).reduce(f64::max);
        return match (in_state(PoolState::Possible).count(), likeliest) {
            (0, _) if in_state(PoolState::Intended).count() > 0 => {
                said!("No belly was found beside the water of traps.")
            }
            (0, _) if all_seen => said!("No belly was found."),
            (0, _) => said!("No belly was found where the pipe was seen."),
            (1, Some(p)) if p >= 0.95 => said!(
                "One belly is likely (probability {p}); how deep it is, is not certain from this data.",
                p = Part::Probability(p)
            ),
            (1, Some(p)) => said!(
                "One belly is possible (probability {p}) but not certain from this data.",
                p = Part::Probability(p)
            ),
            (1, None) => said!("One belly is possible but not certain from this data."),
            (n, Some(p)) => said!(
                "{count} bellies are possible, the likeliest (probability {p}), but not certain from this data.",
                count = n,
                p = Part::Probability(p)
            ),
            (n, None) => {
                said!("{count} bellies are possible, the likeliest, but not certain from this data.", count = n)
            }
        };
    };
    let (place, depth) = (Part::At(pool.deepest_station_m), Part::Small(pool.depth_m));
    let deep = match estimate.depth_m {
        Some(Spread { low: Some(low), high, .. }) if words.small(low) != words.small(high) => said!(
            words,
            "{depth} deep ({low} to {high})",
            depth = depth,
            low = Part::Small(low),
            high = Part::Small(high)
        ),
        _ => said!(words, "{depth} deep", depth = depth),
    };
    let deep = if pool.sill_is_last_point || pool.touches_upstream_end {
        said!(words, "{deep}, or more beyond the survey", deep = deep)
    } else {
        deep
    };
    match found.len() {
        1 => said!(words, "One belly, deepest at {place}, can hold water {deep}.", place = place, deep = deep),
        n => said!(
            words,
            "The deepest of {count} bellies, at {place}, can hold water {deep}.",
            count = n,
            place = place,
            deep = deep
        ),
    }
}

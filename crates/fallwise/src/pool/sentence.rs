//! Pools in plain sentences.

use super::{Pool, PoolEstimate, PoolState, Spread, overlap};
use crate::prelude::*;
use crate::{
    said,
    units::{Part, Said, Words},
};

/// How far beyond the edges of a pool water may have been noted and still be that pool's, m. On a slope of 1 % an error of
/// 5 mm in the level moves the edge by half a metre (our choice).
const NOTE_REACH_M: f64 = 0.5;

/// What a pool comes to, in whole sentences.
pub fn sentence(estimate: &PoolEstimate, words: Words) -> Said {
    let Some(pool) = &estimate.pool else { return without_pool(estimate, words) };
    let place = Part::Both(pool.from_m, pool.to_m);
    let said = match estimate.depth_m {
        Some(Spread { low: None, high, .. }) => {
            let belly = estimate.volume_m3.filter(|_| !pool.held_by_tailwater);
            upper_limit(place, high, estimate, belly, words)
        }
        limits => both_limits(place, pool, limits, words),
    };
    let intended = match estimate.state {
        PoolState::Intended => Some(said!("This is the water of a trap and is intended.")),
        PoolState::Found | PoolState::Possible => None,
    };
    Said::all(words, [Some(said), caveat(pool, words), intended].into_iter().flatten())
}

fn without_pool(estimate: &PoolEstimate, words: Words) -> Said {
    let place = Part::Both(estimate.from_m, estimate.to_m);
    match estimate.depth_m {
        Some(Spread { high, .. }) => upper_limit(place, high, estimate, estimate.volume_m3, words),
        None => said!(words, "Between {stretch} no pool was found.", stretch = place),
    }
}

fn upper_limit(place: Part, depth_m: f64, estimate: &PoolEstimate, volume: Option<Spread>, words: Words) -> Said {
    let depth = Part::Small(depth_m);
    let most = match volume {
        Some(volume) => said!(
            words,
            "Between {stretch} the pipe can hold water at most {depth} deep and at most {volume} in all",
            stretch = place,
            depth = depth,
            volume = Part::Volume(volume.high)
        ),
        None => said!(
            words,
            "Between {stretch} the pipe can hold water at most {depth} deep",
            stretch = place,
            depth = depth
        ),
    };
    match estimate.exists_probability {
        Some(p) => said!(
            "{clause}; the probability that there is a belly at all is {p}.",
            clause = most,
            p = Part::Probability(p)
        ),
        None => said!("{clause}; whether there is a belly at all is not certain from this data.", clause = most),
    }
}

fn both_limits(place: Part, pool: &Pool, depth: Option<Spread>, words: Words) -> Said {
    let deep = Part::Small(pool.depth_m);
    let deep = match depth {
        Some(Spread { low: Some(low), high, .. }) => said!(
            words,
            "{depth} deep (95 % interval {low} to {high})",
            depth = deep,
            low = Part::Small(low),
            high = Part::Small(high)
        ),
        _ => said!(words, "{depth} deep", depth = deep),
    };
    let length = Part::Length(pool.length_m);
    // The survey may end in it.
    let bound = pool.sill_is_last_point || pool.touches_upstream_end;
    match (pool.volume_m3.zip(pool.backwater_m3), bound) {
        (Some((belly, backwater)), false) => said!(
            words,
            "Between {stretch} the pipe can hold water {deep} over {length}, {volume} in all.",
            stretch = place,
            deep = deep,
            length = length,
            volume = Part::Volume(belly + backwater)
        ),
        (Some((belly, backwater)), true) => said!(
            words,
            "Between {stretch} the pipe can hold water {deep} over {length}, {volume} in all, as far as it was surveyed.",
            stretch = place,
            deep = deep,
            length = length,
            volume = Part::Volume(belly + backwater)
        ),
        (None, false) => said!(
            words,
            "Between {stretch} the pipe can hold water {deep} over {length}.",
            stretch = place,
            deep = deep,
            length = length
        ),
        (None, true) => said!(
            words,
            "Between {stretch} the pipe can hold water {deep} over {length}, as far as it was surveyed.",
            stretch = place,
            deep = deep,
            length = length
        ),
    }
}

/// What keeps the figures from being the whole truth.
fn caveat(pool: &Pool, words: Words) -> Option<Said> {
    if pool.held_by_tailwater {
        return Some(match pool.backwater_m3 {
            Some(backwater) => said!(
                words,
                "Of this {volume} is backwater from the outlet, not a belly.",
                volume = Part::Volume(backwater)
            ),
            None => said!("The level is that of the water at the outlet, not of a belly."),
        });
    }
    match (pool.sill_is_last_point, pool.touches_upstream_end) {
        (true, _) => {
            Some(said!("Beyond the last surveyed point the pipe may rise further, and then it can hold more."))
        }
        (false, true) => Some(said!("The water reaches the upstream end of the survey and may go on beyond it.")),
        (false, false) => None,
    }
}

/// Water that was seen and is not explained, or expected and not seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mismatch {
    /// Standing water was seen where the shape of the pipe holds none.
    NotExplained,
    /// The pipe was seen dry where its shape holds water.
    NotSeen,
}

impl Mismatch {
    /// As a word: `not_explained`, `not_seen`.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::NotExplained => "not_explained",
            Self::NotSeen => "not_seen",
        }
    }
}

/// A belly this shallow may be dry: what a film of slime takes up and what dries out, m (our choice).
const DRY_M: f64 = 0.01;

/// Findings of water noted between two stations each, m, that the shape of the pipe does not explain, and of water that it would hold and
/// that was not there.
///
/// Water is not explained outside every pool, or stretch that may hold one, by more than half a metre. It is missing where the pipe
/// was noted dry over a place that is under the water of a pool beyond doubt, by more than 10 mm.
pub fn water_findings(
    seen_m: &[(f64, f64)],
    dry_m: &[(f64, f64)],
    estimates: &[PoolEstimate],
    words: Words,
) -> Vec<(Mismatch, (f64, f64), Said)> {
    let edges = |estimate: &PoolEstimate| {
        estimate.pool.as_ref().map_or((estimate.from_m, estimate.to_m), |pool| (pool.from_m, pool.to_m))
    };
    let explained = |seen: (f64, f64)| {
        estimates.iter().any(|estimate| {
            let (from_m, to_m) = edges(estimate);
            overlap((from_m - NOTE_REACH_M, to_m + NOTE_REACH_M), seen)
        })
    };
    let place = |from_m: f64, to_m: f64| {
        if from_m == to_m {
            said!(words, "at {place}", place = Part::At(from_m))
        } else {
            said!(words, "between {stretch}", stretch = Part::Both(from_m.min(to_m), from_m.max(to_m)))
        }
    };
    let unexplained = seen_m.iter().filter(|seen| !explained(**seen)).map(|&(from_m, to_m)| {
        let sentence = said!(
            words,
            "Standing water was noted {place}, where the measured shape of the pipe holds none: a lip, a blockage or an \
             error of the zero may explain it; tilt sees neither of the first two.",
            place = place(from_m, to_m)
        );
        (Mismatch::NotExplained, (from_m, to_m), sentence)
    });
    let wet = |dry: (f64, f64)| {
        estimates.iter().find(|estimate| {
            let (from_m, to_m) = edges(estimate);
            let least = estimate.depth_m.and_then(|d| d.low).unwrap_or(0.0);
            let (dry_from, dry_to) = (dry.0.min(dry.1), dry.0.max(dry.1));
            let inside = dry_from >= from_m && dry_to <= to_m;
            let deepest = estimate.pool.as_ref().is_some_and(|p| {
                overlap((p.deepest_station_m - NOTE_REACH_M, p.deepest_station_m + NOTE_REACH_M), dry)
            });
            estimate.state == PoolState::Found && least > DRY_M && (inside || deepest)
        })
    };
    let missing = dry_m.iter().filter_map(|&(from_m, to_m)| {
        let estimate = wet((from_m, to_m))?;
        let pool = estimate.pool.as_ref()?;
        let sentence = said!(
            words,
            "The pipe was noted dry {place}, where its measured shape can hold water {depth} deep: nothing may have \
             been run since it dried out, water may leak away there, or the zero is in error.",
            place = place(from_m, to_m),
            depth = Part::Small(pool.depth_m)
        );
        Some((Mismatch::NotSeen, (from_m, to_m), sentence))
    });
    unexplained.chain(missing).collect()
}

#[cfg(test)]
#[path = "sentence_tests.rs"]
mod tests;

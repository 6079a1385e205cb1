//! Pools as flat rows and plain sentences.

use super::{Pool, PoolEstimate, PoolState, Spread, overlap};
use crate::{answers::PoolRow, model::Note, units::Words};

/// How far beyond the edges of a pool water may have been noted and still be that pool's, m. On a slope of 1 % an error of
/// 5 mm in the level moves the edge by half a metre (our choice).
const NOTE_REACH_M: f64 = 0.5;

/// The rows, numbered from 1 in the order given.
pub fn rows(estimates: &[PoolEstimate], words: Words) -> Vec<PoolRow> {
    estimates.iter().enumerate().map(|(index, estimate)| row(index + 1, estimate, words)).collect()
}

fn row(number: usize, estimate: &PoolEstimate, words: Words) -> PoolRow {
    let pool = estimate.pool.as_ref();
    // A stretch where only draws show water holds none in the best estimate.
    let volume_m3 = match pool {
        Some(pool) => pool.volume_m3,
        None => estimate.volume_m3.map(|_| 0.0),
    };
    PoolRow {
        number,
        state: estimate.state.as_str().to_owned(),
        exists_probability: estimate.exists_probability,
        from_m: pool.map_or(estimate.from_m, |pool| pool.from_m),
        to_m: pool.map_or(estimate.to_m, |pool| pool.to_m),
        length_m: pool.map_or(0.0, |pool| pool.length_m),
        sill_station_m: pool.map(|pool| pool.sill_station_m),
        level_m: pool.map(|pool| pool.level_m),
        deepest_station_m: pool.map(|pool| pool.deepest_station_m),
        depth_m: pool.map_or(0.0, |pool| pool.depth_m),
        depth_sd_m: estimate.depth_m.map(|spread| spread.sd),
        depth_low_m: estimate.depth_m.and_then(|spread| spread.low),
        depth_high_m: estimate.depth_m.map(|spread| spread.high),
        depth_over_bore: pool.and_then(|pool| pool.depth_over_bore),
        full_bore_length_m: pool.and_then(|pool| pool.full_bore_length_m),
        volume_m3,
        volume_sd_m3: estimate.volume_m3.map(|spread| spread.sd),
        volume_low_m3: estimate.volume_m3.and_then(|spread| spread.low),
        volume_high_m3: estimate.volume_m3.map(|spread| spread.high),
        sill_is_last_point: pool.is_some_and(|pool| pool.sill_is_last_point),
        touches_upstream_end: pool.is_some_and(|pool| pool.touches_upstream_end),
        sentence: sentence(estimate, words),
    }
}

/// What a pool comes to, in whole sentences.
pub fn sentence(estimate: &PoolEstimate, words: Words) -> String {
    let Some(pool) = &estimate.pool else { return without_pool(estimate, words) };
    let place = stretch(pool.from_m, pool.to_m, words);
    let said = match estimate.depth_m {
        Some(Spread { low: None, high, .. }) => {
            let belly = estimate.volume_m3.filter(|_| !pool.held_by_tailwater);
            upper_limit(&place, high, belly, words)
        }
        limits => both_limits(&place, pool, limits, words),
    };
    let intended = match estimate.state {
        PoolState::Intended => " This is the water of a trap and is intended.",
        PoolState::Found | PoolState::Possible => "",
    };
    format!("{said}{}{intended}", caveat(pool, words))
}

fn without_pool(estimate: &PoolEstimate, words: Words) -> String {
    let place = stretch(estimate.from_m, estimate.to_m, words);
    match estimate.depth_m {
        Some(Spread { high, .. }) => upper_limit(&place, high, estimate.volume_m3, words),
        None => format!("{place} no pool was found."),
    }
}

fn upper_limit(place: &str, depth_m: f64, volume: Option<Spread>, words: Words) -> String {
    let volume = volume.map(|v| format!(" and at most {}", words.volume(v.high))).unwrap_or_default();
    format!(
        "{place} the pipe can hold water at most {} deep{volume}; whether it holds any is not certain from this data.",
        words.small(depth_m)
    )
}

fn both_limits(place: &str, pool: &Pool, depth: Option<Spread>, words: Words) -> String {
    let least = if pool.sill_is_last_point || pool.touches_upstream_end { "at least " } else { "" };
    let limits = match depth {
        Some(Spread { low: Some(low), high, .. }) => {
            format!(" (95 % interval {} to {})", words.small(low), words.small(high))
        }
        _ => String::new(),
    };
    let volume = pool
        .volume_m3
        .zip(pool.backwater_m3)
        .map(|(belly, backwater)| format!(", {least}{}", words.volume(belly + backwater)))
        .unwrap_or_default();
    format!(
        "{place} the pipe can hold water {least}{} deep{limits}{volume} over {least}{}.",
        words.small(pool.depth_m),
        words.length(pool.length_m)
    )
}

/// What keeps the figures from being the whole truth.
fn caveat(pool: &Pool, words: Words) -> String {
    if pool.held_by_tailwater {
        return match pool.backwater_m3 {
            Some(backwater) => {
                format!(" Of this {} is backwater from the outlet, not a belly.", words.volume(backwater))
            }
            None => " The level is that of the water at the outlet, not of a belly.".to_owned(),
        };
    }
    match (pool.sill_is_last_point, pool.touches_upstream_end) {
        (true, _) => " The pipe beyond the last surveyed point may rise further and hold more.".to_owned(),
        (false, true) => " The water reaches the upstream end of the survey and may go on beyond it.".to_owned(),
        (false, false) => String::new(),
    }
}

fn stretch(from_m: f64, to_m: f64, words: Words) -> String {
    format!("From {} to {}", words.station(from_m), words.station(to_m))
}

/// Warnings for notes of standing water where the pipe's shape, as measured, holds none: outside every pool, or
/// stretch that may hold one, by more than half a metre.
pub fn water_not_explained(notes: &[Note], estimates: &[PoolEstimate], words: Words) -> Vec<String> {
    let explained = |note: &Note| {
        let seen = (note.station_m, note.to_m.unwrap_or(note.station_m));
        estimates.iter().any(|estimate| {
            let (from_m, to_m) =
                estimate.pool.as_ref().map_or((estimate.from_m, estimate.to_m), |pool| (pool.from_m, pool.to_m));
            overlap((from_m - NOTE_REACH_M, to_m + NOTE_REACH_M), seen)
        })
    };
    notes
        .iter()
        .filter(|note| note.water_seen && !explained(note))
        .map(|note| {
            format!(
                "standing water was noted at {}, where the measured shape of the pipe holds none: a lip or a blockage, \
                 which tilt cannot see, or an error of the zero may explain it",
                words.station(note.station_m)
            )
        })
        .collect()
}

#[cfg(test)]
#[path = "rows_tests.rs"]
mod tests;

//! How much of an error that varies along the run is in each reading: drift that goes by, roll.

use crate::prelude::*;
use crate::{
    adjust::{Posterior, SegmentMean, Varying},
    chain::Chain,
    condition::Trace,
    math,
    model::{Instrument, Job, Run},
};

/// Pace of a run that logs no time, m/s: an easy push (our choice).
const PACE_M_S: f64 = 0.2;

/// What is left of the drift at each reading of a setup, and the sine of the roll; the latter empty where it is not logged.
pub(super) struct Shares {
    pub(super) drift: Vec<f64>,
    pub(super) roll_sine: Vec<f64>,
}

/// Of each setup of a run.
pub(super) fn of(t: &Trace, run: &Run, instrument: &Instrument) -> Vec<Shares> {
    let start_s = run.time_s.as_ref().and_then(|times| times.first()).copied().unwrap_or(0.0);
    let start_m = run.counter_m.first().copied().unwrap_or(0.0);
    let at = |index: &[usize]| {
        let drift = |&i: &usize| {
            let since_s = match &run.time_s {
                Some(times) => times.get(i).map_or(0.0, |s| s - start_s),
                None => run.counter_m.get(i).map_or(0.0, |m| (m - start_m).abs() / PACE_M_S),
            };
            math::exp(-since_s.max(0.0) / instrument.drift_s)
        };
        let roll = |rolls: &Vec<f64>| index.iter().map(|&i| math::sin(rolls.get(i).copied().unwrap_or(0.0))).collect();
        Shares {
            drift: index.iter().map(drift).collect(),
            roll_sine: run.roll_rad.as_ref().map(roll).unwrap_or_default(),
        }
    };
    [Some(&t.index), t.pull.as_ref().map(|p| &p.index)].into_iter().flatten().map(|index| at(index)).collect()
}

/// Puts into each cell of an average what is left of the drift and how the head lies there, in place of their means over the segment it
/// is of. Of a segment that several setups saw each counts by its weight there.
pub(super) fn follow(
    posterior: &mut Posterior,
    cells_m: &[f64],
    chain: &Chain,
    means: &[SegmentMean],
    traces: &[Trace],
    job: &Job,
) {
    if posterior.sources.iter().all(|s| s.varying.is_none()) {
        return;
    }
    // Of each setup: its run, its sign, its stations and shares.
    let setups: Vec<(usize, f64, &[f64], Shares)> = traces
        .iter()
        .zip(&job.runs)
        .enumerate()
        .flat_map(|(run, (t, log))| {
            let stations = [Some(&t.station_m[..]), t.pull.as_ref().map(|p| &p.station_m[..])];
            let shares = of(t, log, &job.instrument);
            stations
                .into_iter()
                .flatten()
                .zip(shares)
                .map(move |(stations, shares)| (run, t.zero_sign, stations, shares))
        })
        .collect();
    let mut total = vec![0.0; chain.tilt_rad.len()];
    for m in means {
        total[m.segment] += m.weight;
    }
    let mut of_segment: Vec<Vec<&SegmentMean>> = vec![Vec::new(); chain.tilt_rad.len()];
    for m in means {
        of_segment[m.segment].push(m);
    }
    for (cell, ends) in cells_m.windows(2).enumerate() {
        let middle_m = 0.5 * ends[0] + 0.5 * ends[1];
        let segment =
            chain.breaks_m.partition_point(|b| *b <= middle_m).saturating_sub(1).min(total.len().saturating_sub(1));
        for m in of_segment.get(segment).into_iter().flatten() {
            let Some((run, sign, station_m, shares)) = setups.get(m.setup) else { continue };
            let part = sign * m.weight / total[segment];
            let at = |values: &[f64], mean: f64| between(station_m, values, middle_m).map_or(0.0, |v| v - mean);
            for source in &mut posterior.sources {
                let (Some(varying), Some(tilt)) = (source.varying, source.tilt_rad.get_mut(cell)) else { continue };
                let more = match varying {
                    Varying::Drift { run: of, sd_rad } if of == *run => sd_rad * at(&shares.drift, m.drift_share),
                    Varying::Drift { .. } => 0.0,
                    Varying::Across { sd_rad } => sd_rad * at(&shares.roll_sine, m.roll_sine),
                };
                *tilt -= part * more;
            }
        }
    }
}

/// A value at a station, on the line between those of the readings on either side; that of the nearest beyond them.
fn between(station_m: &[f64], values: &[f64], at_m: f64) -> Option<f64> {
    let after = station_m.partition_point(|s| *s < at_m);
    let (a, b) = (after.saturating_sub(1), after.min(station_m.len().saturating_sub(1)));
    let (from, to) = (*station_m.get(a)?, *station_m.get(b)?);
    let share = if to > from { ((at_m - from) / (to - from)).clamp(0.0, 1.0) } else { 0.0 };
    Some(*values.get(a)? + share * (*values.get(b)? - *values.get(a)?))
}

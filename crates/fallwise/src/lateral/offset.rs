//! Where a run lies whose stationing does not hang together with the others', such as one from the other end.
//!
//! Its start is given with a standard deviation. Where it overlaps the runs whose stations are known, it is laid over them: of all
//! starts within four standard deviations, the one whose squared differences (beyond six sds each counts as six; the mean difference,
//! the heads' zero and seating, taken off) together with what was known of the start are least, if every start more than half a metre
//! away is worse by 36, six sds. What was read before is averaged over half a metre, so that it has no noise of its own to be laid on.
//! Where the slope does not change enough that finds nothing: then the start stays as it was given, and its error is in the fall, by
//! the slope where the two meet.

use crate::prelude::*;
use crate::{
    condition::{Trace, condition},
    error::Error,
    math,
    model::Job,
    said,
    units::{Part, Said},
};

/// Starts are tried in steps of this, m.
const STEP_M: f64 = 0.02;
/// And no further than this from where the run was said to start, m (our choice): a counter that is off by more is off.
const MOST_M: f64 = 20.0;
/// As many standard deviations of the start each way.
const MOST_START_SDS: f64 = 4.0;
/// Starts within this of the best one need not be told from it, m.
const NEAR_M: f64 = 0.5;
/// Worse by this much, in squared sds, is worse for sure: six sds, as for slack (our choice).
const SURE: f64 = 36.0;
/// A difference of more sds than this counts as this many.
const MOST_SDS: f64 = 6.0;
/// What was read before is averaged over this, m: some heads long, far less than a stick (our choice).
const SMOOTH_M: f64 = 0.5;
/// Fewer readings over common ground say nothing; of more only so many are looked at.
const LEAST_READINGS: usize = 20;
const MOST_READINGS: usize = 1000;
/// Start found by laying runs over each other is good to this, m (our choice): two counters read the same place so far apart.
const LAID_SD_M: f64 = 0.05;

/// Errors of stretches for the posterior: what they are of, from and to, m, sd of the tilt, rad.
pub(super) type Stretch = (String, (f64, f64), f64);

/// Puts runs of unknown start where they fit, reads them anew there, and says what is left open.
pub(super) fn place(job: &mut Job, traces: &mut [Trace], warnings: &mut Vec<Said>) -> Result<Vec<Stretch>, Error> {
    let open = |job: &Job, i: usize| job.runs[i].start_station_sd_m.is_some_and(|sd| sd > 0.0);
    let mut left = Vec::new();
    let mut known: Vec<usize> = (0..traces.len()).filter(|&i| !open(job, i)).collect();
    if known.is_empty() {
        // The first run is what the others are laid over.
        known.extend((!traces.is_empty()).then_some(0));
    }
    let bends: Vec<f64> = job.bends.iter().map(|b| b.station_m).collect();
    for i in 0..traces.len() {
        if known.contains(&i) {
            continue;
        }
        let sd_m = job.runs[i].start_station_sd_m.unwrap_or(0.0);
        let ground = Ground::of(known.iter().map(|&k| &traces[k]));
        let start_m = job.runs[i].start_station_m;
        let sd_m = if let Some(shift_m) = ground.lay(&traces[i], sd_m) {
            job.runs[i].start_station_m = start_m + shift_m;
            traces[i] = condition(&job.runs[i], &job.instrument, &bends)?;
            warnings.push(said!(
                "run {n} fits the others best if it starts at {at} m rather than at {given} m: it is put there",
                n = i + 1,
                at = Part::Number(start_m + shift_m, 2),
                given = Part::Number(start_m, 2)
            ));
            LAID_SD_M.min(sd_m)
        } else {
            warnings.push(said!(
                "where run {n} starts is known to {sd} m only, and the slope does not change enough over what it has in \
                 common with the others to lay it over them: stations that only it saw may be that far off",
                n = i + 1,
                sd = Part::Number(sd_m, 2)
            ));
            sd_m
        };
        left.extend(ground.stretch(i, &traces[i], sd_m));
        known.push(i);
    }
    Ok(left)
}

/// Tilt by station as read by the runs whose stations are known.
struct Ground {
    station_m: Vec<f64>,
    tilt_rad: Vec<f64>,
}

impl Ground {
    fn of<'a>(traces: impl Iterator<Item = &'a Trace>) -> Self {
        let mut rows: Vec<(f64, f64)> =
            traces.flat_map(|t| t.station_m.iter().copied().zip(t.tilt_rad.iter().copied())).collect();
        rows.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let mut sums = vec![0.0];
        for (_, tilt) in &rows {
            sums.push(sums.last().copied().unwrap_or(0.0) + tilt);
        }
        let (mut from, mut to) = (0, 0);
        let half_m = 0.5 * SMOOTH_M;
        let tilt_rad = rows
            .iter()
            .map(|(at, _)| {
                while rows.get(to).is_some_and(|r| r.0 <= at + half_m) {
                    to += 1;
                }
                while rows.get(from).is_some_and(|r| r.0 < at - half_m) {
                    from += 1;
                }
                (sums[to] - sums[from]) / (to - from).max(1) as f64
            })
            .collect();
        Self { station_m: rows.into_iter().map(|r| r.0).collect(), tilt_rad }
    }

    fn ends_m(&self) -> (f64, f64) {
        (self.station_m.first().copied().unwrap_or(0.0), self.station_m.last().copied().unwrap_or(0.0))
    }

    /// Straight between readings; nothing beyond them.
    fn tilt_at(&self, station_m: f64) -> Option<f64> {
        let after = self.station_m.partition_point(|s| *s < station_m);
        let (a, b) = (self.station_m.get(after.checked_sub(1)?)?, self.station_m.get(after)?);
        let (from, to) = (self.tilt_rad.get(after - 1)?, self.tilt_rad.get(after)?);
        let share = if b > a { (station_m - a) / (b - a) } else { 1.0 };
        Some(from + share * (to - from))
    }

    /// The shift that lays a run over the ground, m; nothing where it does not tell.
    fn lay(&self, trace: &Trace, start_sd_m: f64) -> Option<f64> {
        let every = trace.station_m.len().div_ceil(MOST_READINGS).max(1);
        let readings: Vec<(f64, f64)> =
            trace.station_m.iter().copied().zip(trace.tilt_rad.iter().copied()).step_by(every).collect();
        let most_m = (MOST_START_SDS * start_sd_m).min(MOST_M);
        let steps = (most_m / STEP_M).ceil();
        let differences = |shift_m: f64| -> Vec<f64> {
            let mut all: Vec<f64> =
                readings.iter().filter_map(|(s, tilt)| Some(tilt - self.tilt_at(s + shift_m)?)).collect();
            if all.len() >= LEAST_READINGS {
                let middle = math::median(&mut all);
                for d in &mut all {
                    *d -= middle;
                }
            } else {
                all.clear();
            }
            all
        };
        let mut tried: Vec<(f64, Vec<f64>)> = Vec::new();
        let mut k = -steps;
        while k <= steps {
            let shift_m = k * STEP_M;
            let all = differences(shift_m);
            if !all.is_empty() {
                tried.push((shift_m, all));
            }
            k += 1.0;
        }
        let scale = |all: &[f64]| math::median(&mut all.iter().map(|d| d.abs()).collect::<Vec<f64>>()) / 0.6745;
        // One scale for all: the least, so that it is noise and not a wrong place.
        let sd_rad = tried.iter().map(|(_, all)| scale(all)).fold(f64::INFINITY, f64::min);
        let sd_rad = sd_rad.max(trace.scatter_sd_rad).max(1e-9);
        let most = tried.iter().map(|(_, all)| all.len()).max()? as f64;
        let cost = |(shift_m, all): &(f64, Vec<f64>)| {
            let squares: f64 = all.iter().map(|d| (d / sd_rad).abs().min(MOST_SDS)).map(|z| z * z).sum();
            // Each start as if all the readings said what those over common ground do.
            let known = shift_m / start_sd_m;
            (*shift_m, squares / all.len() as f64 * most + known * known)
        };
        let costs: Vec<(f64, f64)> = tried.iter().map(cost).collect();
        let best = costs.iter().copied().min_by(|a, b| a.1.total_cmp(&b.1))?;
        let told = costs.iter().all(|(s, cost)| (s - best.0).abs() <= NEAR_M || *cost >= best.1 + SURE);
        let inside = best.0.abs() < most_m - NEAR_M.min(0.5 * most_m);
        (told && inside).then_some(best.0)
    }

    /// What an error of the start does to the fall: it makes the pipe where the two meet longer or shorter.
    fn stretch(&self, run: usize, trace: &Trace, sd_m: f64) -> Option<Stretch> {
        let (low, high) = self.ends_m();
        let (first, last) = (trace.station_m.first().copied()?, trace.station_m.last().copied()?);
        // Common ground; or, where there is none, the gap between the two.
        let (a, b) = (low.max(first), high.min(last));
        let (from_m, to_m) = (a.min(b), a.max(b));
        if to_m - from_m < STEP_M {
            return None;
        }
        let within = |s: &f64| (from_m..=to_m).contains(s);
        let tilts = || trace.station_m.iter().zip(&trace.tilt_rad).filter(|(s, _)| within(s)).map(|(_, t)| *t);
        let count = tilts().count();
        let all = || trace.tilt_rad.iter().copied();
        let mean = if count > 0 {
            tilts().sum::<f64>() / count as f64
        } else {
            all().sum::<f64>() / trace.tilt_rad.len().max(1) as f64
        };
        let sd_rad = sd_m * math::sin(mean).abs() / (to_m - from_m);
        Some((start_name(run).to_string(), (from_m, to_m), sd_rad))
    }
}

/// What the error of a run's start is called, of the run by its place from 0.
pub(super) fn start_name(run: usize) -> Said {
    said!("where run {n} starts", n = run + 1)
}

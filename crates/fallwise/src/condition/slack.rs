//! Slack: when the direction turns, the counter moves before the head does.
//!
//! A pushed cable lies snaked in the pipe and is stretched before it pulls. So between the head and the counter there is
//! play: the head stands still until the counter has come back by the slack, then follows behind; pushed again, it stands
//! until the slack is used up. While pushing the head is where the counter says. (The play operator of mechanics, from
//! memory; that a cable's slack is one length for a whole run is our choice: it grows with the cable out.)
//!
//! The slack is given with the instrument, or found by laying the pulled readings over the pushed ones: of slacks from
//! 0 to 1 m, the one whose squared differences (beyond six sds each counts as six; the seating, their median, taken
//! off) are least, if every slack more than 0.2 m away is worse by 36, six sds. The pushed readings are averaged over 1 m, which
//! moves no kink but takes away their own noise: laid over themselves they would show slacks by chance. Where the slope does not change enough
//! that finds nothing; where it does, 0 stands unless it is worse by 9.

use super::Reading;
use crate::math;
use crate::prelude::*;

/// Slacks are tried up to here, m.
const MOST_M: f64 = 1.0;
/// In steps of this, m.
const STEP_M: f64 = 0.02;
/// Slacks within this of the best one need not be told from it, m.
const NEAR_M: f64 = 0.2;
/// Worse by this much, in squared sds, is worse for sure.
const SURE: f64 = 36.0;
/// No slack is believed in unless none at all is worse by this, three sds.
const LIKELY: f64 = 9.0;
/// Pushed readings are averaged over this, m, or over the head if that is longer.
const SMOOTH_M: f64 = 1.0;
/// A difference of more sds than this counts as this many: spikes and lips.
const MOST_SDS: f64 = 6.0;
/// No more pulled readings are looked at than this, evenly spread; fewer than the other say nothing.
const MOST_READINGS: usize = 2000;
const LEAST_READINGS: usize = 20;

/// Where the head is when the counter stands at each of `along_m`, in order of the log.
pub(super) fn head_m(along_m: &[f64], slack_m: f64) -> Vec<f64> {
    let mut head_m = along_m.first().copied().unwrap_or(0.0);
    along_m
        .iter()
        .map(|&counter_m| {
            head_m = head_m.max(counter_m).min(counter_m + slack_m);
            head_m
        })
        .collect()
}

/// The slack that lays pulled readings over pushed ones, m; `None` where they do not tell.
pub(super) fn estimate_m(readings: &[Reading], head_length_m: f64, least_sd_rad: f64) -> Option<f64> {
    let ground = Ground::of(readings, head_length_m);
    let pulled = pulled(readings);
    if pulled.len() < LEAST_READINGS || ground.along_m.len() < LEAST_READINGS {
        return None;
    }
    let mut differences = Vec::with_capacity(pulled.len());
    let mut scale_rad = |slack_m: f64| {
        ground.differences(&pulled, slack_m, &mut differences);
        let seating = math::median(&mut differences);
        for d in &mut differences {
            *d = (*d - seating).abs();
        }
        math::median(&mut differences) / 0.6745
    };
    let tried = || (0..).map(|k| STEP_M * f64::from(k)).take_while(|s| *s <= MOST_M + 1e-9);
    // One scale for all: the least, so that it is noise and not a wrong slack.
    let sd_rad = tried().map(&mut scale_rad).fold(f64::INFINITY, f64::min).max(least_sd_rad).max(1e-9);
    let costs: Vec<(f64, f64)> = tried().map(|slack_m| (slack_m, ground.cost(&pulled, slack_m, sd_rad))).collect();
    let best = costs.iter().copied().min_by(|a, b| a.1.total_cmp(&b.1))?;
    let told = costs.iter().all(|(s, cost)| (s - best.0).abs() <= NEAR_M || *cost >= best.1 + SURE);
    let none = costs.first().is_some_and(|(_, cost)| *cost < best.1 + LIKELY);
    match told && best.0 < MOST_M - NEAR_M {
        true if none => Some(0.0),
        true => Some(best.0),
        false => None,
    }
}

/// Pulled readings with the place where their pull began.
fn pulled(readings: &[Reading]) -> Vec<(Reading, f64)> {
    let mut turn_m = f64::NEG_INFINITY;
    let mut pulled: Vec<(Reading, f64)> = Vec::new();
    for r in readings {
        if r.pushing {
            turn_m = r.along_m;
        } else if turn_m.is_finite() {
            pulled.push((*r, turn_m));
        }
    }
    let every = pulled.len().div_ceil(MOST_READINGS).max(1);
    pulled.into_iter().step_by(every).collect()
}

/// Tilt by place as first pushed over.
struct Ground {
    along_m: Vec<f64>,
    tilt_rad: Vec<f64>,
}

impl Ground {
    /// Of pushed readings further than any before, each the mean over [`SMOOTH_M`] about it.
    fn of(readings: &[Reading], head_length_m: f64) -> Self {
        let half_m = 0.5 * SMOOTH_M.max(head_length_m);
        let mut front_m = f64::NEG_INFINITY;
        let mut fresh: Vec<(f64, f64)> = Vec::new();
        for r in readings.iter().filter(|r| r.pushing) {
            if r.along_m > front_m {
                front_m = r.along_m;
                fresh.push((r.along_m, r.tilt_rad));
            }
        }
        let mut sums = Vec::with_capacity(fresh.len() + 1);
        sums.push(0.0);
        for (_, tilt) in &fresh {
            sums.push(sums.last().copied().unwrap_or(0.0) + tilt);
        }
        let (mut from, mut to) = (0, 0);
        let tilt_rad = fresh
            .iter()
            .map(|(at, _)| {
                while fresh.get(to).is_some_and(|f| f.0 <= at + half_m) {
                    to += 1;
                }
                while fresh.get(from).is_some_and(|f| f.0 < at - half_m) {
                    from += 1;
                }
                (sums[to] - sums[from]) / (to - from).max(1) as f64
            })
            .collect();
        Self { along_m: fresh.into_iter().map(|f| f.0).collect(), tilt_rad }
    }

    /// Straight between places; the nearest beyond them.
    fn tilt_at(&self, along_m: f64) -> f64 {
        let after = self.along_m.partition_point(|a| *a < along_m).min(self.along_m.len() - 1);
        let before = after.saturating_sub(1);
        let length_m = self.along_m[after] - self.along_m[before];
        let share = if length_m > 0.0 { ((along_m - self.along_m[before]) / length_m).clamp(0.0, 1.0) } else { 1.0 };
        self.tilt_rad[before] + share * (self.tilt_rad[after] - self.tilt_rad[before])
    }

    fn differences(&self, pulled: &[(Reading, f64)], slack_m: f64, into: &mut Vec<f64>) {
        into.clear();
        into.extend(pulled.iter().map(|(r, turn_m)| r.tilt_rad - self.tilt_at((r.along_m + slack_m).min(*turn_m))));
    }

    fn cost(&self, pulled: &[(Reading, f64)], slack_m: f64, sd_rad: f64) -> f64 {
        let mut differences = Vec::with_capacity(pulled.len());
        self.differences(pulled, slack_m, &mut differences);
        let seating = math::median(&mut differences.clone());
        differences.iter().map(|d| ((d - seating) / sd_rad).abs().min(MOST_SDS)).map(|z| z * z).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_head_stands_until_the_slack_is_used_up() {
        let counter = [0.0, 1.0, 2.0, 1.8, 1.5, 1.0, 1.2, 1.5, 2.0, 3.0];
        assert_eq!(head_m(&counter, 0.5), [0.0, 1.0, 2.0, 2.0, 2.0, 1.5, 1.5, 1.5, 2.0, 3.0]);
        assert_eq!(head_m(&counter, 0.0), counter);
    }
}

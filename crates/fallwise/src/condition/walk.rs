//! Readings in the order they are walked, and the fall along them: every change of the walk is charged to the reading
//! changed.
//!
//! The fall of a walk is its line integral: sine of the tilt, straight between readings, over the way from one to the
//! next, which counts backwards where the counter does. Changes are made one reading at a time, left to right, and each
//! charge is the fall before less the fall after: so the charges of a stage add up to what the stage changed.

use super::{
    Reading,
    record::{Cause, Record},
};
use crate::math;
use crate::prelude::*;

/// Fall towards growing station of a whole walk, m.
#[cfg(test)]
pub(super) fn fall_m(readings: &[Reading]) -> f64 {
    readings.iter().zip(readings.iter().skip(1)).map(|(a, b)| between(Some(a), Some(b))).sum()
}

/// Fall between two neighbours, m; 0 beyond either end.
fn between(a: Option<&Reading>, b: Option<&Reading>) -> f64 {
    match (a, b) {
        (Some(a), Some(b)) => (b.along_m - a.along_m) * 0.5 * (math::sin(a.tilt_rad) + math::sin(b.tilt_rad)),
        _ => 0.0,
    }
}

/// Fall that `r` adds between two others, m.
fn added(before: Option<&Reading>, r: &Reading, after: Option<&Reading>) -> f64 {
    between(before, Some(r)) + between(Some(r), after) - between(before, after)
}

/// Takes out the readings for which there is a cause.
pub(super) fn take_out(
    readings: &mut Vec<Reading>,
    record: &mut Record,
    mut cause: impl FnMut(&Reading) -> Option<Cause>,
) {
    let mut kept = 0_usize;
    for at in 0..readings.len() {
        let r = readings[at];
        if let Some(cause) = cause(&r) {
            record.note(r.index, cause);
            let before = kept.checked_sub(1).and_then(|k| readings.get(k));
            record.charge(r.index, added(before, &r, readings.get(at + 1)));
        } else {
            readings[kept] = r;
            kept += 1;
        }
    }
    readings.truncate(kept);
}

/// Moves readings along to where `place` says that they are. What a stretch between two readings loses is charged to the
/// later one, or to the earlier one where only that moved: so a block that moves as one is charged at its start.
pub(super) fn move_to(
    readings: &mut [Reading],
    record: &mut Record,
    cause: Cause,
    mut place: impl FnMut(&Reading) -> f64,
) {
    let mut before: Option<(Reading, Reading)> = None;
    for r in readings {
        let was = *r;
        r.along_m = place(&was);
        if r.along_m != was.along_m {
            record.note(r.index, cause);
        }
        if let Some((old, new)) = before {
            let charged = if r.along_m == was.along_m { old.index } else { r.index };
            record.charge(charged, between(Some(&old), Some(&was)) - between(Some(&new), Some(r)));
        }
        before = Some((was, *r));
    }
}

/// Puts readings in order of the counter: those behind one before them are taken out and set in where they belong.
pub(super) fn put_in_order(readings: &mut Vec<Reading>, record: &mut Record) {
    let mut front_m = f64::NEG_INFINITY;
    let mut behind = Vec::new();
    take_out(readings, record, |r| {
        if r.along_m >= front_m {
            front_m = r.along_m;
            return None;
        }
        behind.push(*r);
        Some(Cause::Moved)
    });
    if behind.is_empty() {
        return;
    }
    // Stable: of equal places the one logged first stays first.
    behind.sort_by(|a, b| a.along_m.total_cmp(&b.along_m));
    let mut merged: Vec<Reading> = Vec::with_capacity(readings.len() + behind.len());
    let mut ahead = readings.iter().peekable();
    for r in behind {
        while let Some(next) = ahead.next_if(|next| next.along_m <= r.along_m) {
            merged.push(*next);
        }
        record.charge(r.index, -added(merged.last(), &r, ahead.peek().copied()));
        merged.push(r);
    }
    merged.extend(ahead);
    *readings = merged;
}

/// Puts groups of neighbours together, each to one reading. `group` says how many of the readings given (which are not
/// none) belong together, `one` makes one of them.
pub(super) fn combine(
    readings: &[Reading],
    record: &mut Record,
    group: impl Fn(&[Reading]) -> usize,
    mut one: impl FnMut(&[Reading], &mut Record) -> Reading,
) -> Vec<Reading> {
    let mut combined: Vec<Reading> = Vec::with_capacity(readings.len());
    let mut rest = readings;
    while !rest.is_empty() {
        let (members, after) = rest.split_at(group(rest).clamp(1, rest.len()));
        let [first, others @ ..] = members else { break };
        if others.is_empty() {
            combined.push(*first);
            rest = after;
            continue;
        }
        // The others are taken out, then the first becomes the one for all.
        for (k, r) in others.iter().enumerate() {
            record.charge(r.index, added(Some(first), r, others.get(k + 1).or(after.first())));
        }
        let single = one(members, record);
        let before = combined.last();
        record.charge(first.index, added(before, first, after.first()) - added(before, &single, after.first()));
        combined.push(single);
        rest = after;
    }
    combined
}

#[cfg(test)]
mod tests {
    use super::*;

    fn walk() -> Vec<Reading> {
        let along = [0.0, 1.0, 2.0, 1.5, 1.0, 1.5, 2.5, 3.0];
        let tilts = [0.1, 0.2, 0.0, -0.3, 0.4, 0.2, 0.1, 0.3];
        let rows = along.into_iter().zip(tilts).enumerate();
        rows.map(|(index, (along_m, tilt_rad))| Reading { along_m, tilt_rad, ..Reading::at(index) }).collect()
    }

    /// What is charged is what the fall lost, whatever the change.
    #[test]
    fn charges_add_up() {
        let check = |change: &dyn Fn(&mut Vec<Reading>, &mut Record)| {
            let (mut readings, mut record) = (walk(), Record::new(8));
            change(&mut readings, &mut record);
            let charged: f64 = record.into_edits().iter().map(|e| e.removed_fall_m).sum();
            // A dozen sums of numbers below 1.
            assert!((charged - (fall_m(&walk()) - fall_m(&readings))).abs() < 1e-14, "{charged}");
            readings
        };
        let even = |r: &Reading| r.index.is_multiple_of(2).then_some(Cause::Spike);
        assert_eq!(check(&|r, e| take_out(r, e, even)).len(), 4);
        assert!(check(&|r, e| take_out(r, e, |_| Some(Cause::Spike))).is_empty());
        let ordered = check(&|r, e| put_in_order(r, e));
        assert!(ordered.is_sorted_by(|a, b| a.along_m <= b.along_m) && ordered.len() == 8);
        check(&|r, e| move_to(r, e, Cause::Slack, |r| r.along_m + 0.1 * (r.index % 3) as f64));
        let pairs = check(&|r, e| {
            let note = |members: &[Reading], e: &mut Record| {
                for m in members {
                    e.note(m.index, Cause::Repeat);
                }
                Reading { tilt_rad: 0.05, ..members[0] }
            };
            *r = combine(r, e, |_| 2, note);
        });
        assert_eq!(pairs.len(), 4);
    }
}

//! Stretches without a reading.

use super::Trace;
use crate::prelude::*;
use crate::{math, said, units::Part};

/// A gap is longer than this many usual spacings, and than [`GAP_M`]. Our choice.
const GAP_SPACINGS: f64 = 5.0;
/// No stretch shorter than this is called a gap, m. Our choice.
const GAP_M: f64 = 0.5;

/// Lists stretches that are long for this run's spacing, and warns once.
pub(super) fn find(trace: &mut Trace) {
    let pairs = || trace.station_m.iter().copied().zip(trace.station_m.iter().copied().skip(1));
    let mut spacings: Vec<f64> = pairs().map(|(a, b)| b - a).collect();
    if spacings.is_empty() {
        return;
    }
    let limit_m = (GAP_SPACINGS * math::median(&mut spacings)).max(GAP_M);
    trace.gaps_m = pairs().filter(|(a, b)| b - a > limit_m).collect();
    if let Some((from, to)) = trace.gaps_m.iter().max_by(|x, y| (x.1 - x.0).total_cmp(&(y.1 - y.0))) {
        let (from, to) = (Part::Number(*from, 2), Part::Number(*to, 2));
        trace.warnings.push(match trace.gaps_m.len() {
            1 => said!("1 gap without a reading, the longest from {from} m to {to} m", from = from, to = to),
            count => said!(
                "{count} gaps without a reading, the longest from {from} m to {to} m",
                count = count,
                from = from,
                to = to
            ),
        });
    }
}

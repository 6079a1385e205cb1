//! What a trench costs along the pipe, in sums from the first node on, so that the cost of any piece is one difference.
//!
//! With rates r0 a metre and r1 a metre and metre of depth, ground g and the bottom of a piece from a to b, which is straight:
//! ```text
//! cost = ∫ r0 dx + ∫ r1 g dx - b_a ∫ r1 dx - (b_b - b_a) / (b - a) ∫ r1 (x - a) dx
//! ```
//! Rates are constant and ground is straight between cuts, so that each integral is a sum.

use super::{Costs, Line, RelayPlan, Stretch, feasible::along_m};
use crate::prelude::*;
use crate::{error::Error, model::GroundPoint};

/// Ground in order of station.
pub(super) struct Ground(Vec<(f64, f64)>);

impl Ground {
    pub(super) fn new(points: &[GroundPoint]) -> Self {
        let mut points: Vec<(f64, f64)> = points.iter().map(|p| (p.station_m, p.elevation_m)).collect();
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        Self(points)
    }

    /// Ground at a station, linear between the points next to it; nothing beyond them.
    pub(super) fn at(&self, station_m: f64) -> Option<f64> {
        let after = self.0.partition_point(|p| p.0 < station_m);
        let (s1, g1) = *self.0.get(after)?;
        if s1 == station_m {
            return Some(g1);
        }
        let (s0, g0) = *self.0.get(after.checked_sub(1)?)?;
        Some(g0 + (g1 - g0) * ((station_m - s0) / (s1 - s0)))
    }

    /// Stations of points strictly between two, in either order.
    pub(super) fn between(&self, one_m: f64, other_m: f64) -> impl Iterator<Item = f64> + '_ {
        let (low, high) = (one_m.min(other_m), one_m.max(other_m));
        let first = self.0.partition_point(|p| p.0 <= low);
        self.0.iter().skip(first).map(|p| p.0).take_while(move |s| *s < high)
    }
}

/// Puts cuts in order from one station to another, both included, each once.
pub(super) fn in_order(from_m: f64, to_m: f64, cuts: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut all: Vec<f64> = cuts.chain([from_m, to_m]).collect();
    all.sort_by(f64::total_cmp);
    all.dedup();
    if to_m < from_m {
        all.reverse();
    }
    all
}

/// Integrals from the first node to each.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    /// Of r0.
    flat: f64,
    /// Of r1.
    deep: f64,
    /// Of r1 g.
    ground: f64,
    /// Of r1 x.
    along: f64,
}

/// What pieces cost.
pub(super) struct Prices {
    sums: Vec<Sums>,
    /// Bottom of a trench at each node, less the height of the first.
    bottom_m: Vec<f64>,
}

impl Prices {
    /// # Errors
    /// [`Error::Value`] where the depth has a price and the ground above what may be dug is not known, or lies below the trench.
    pub(super) fn new(line: &Line<'_>, along_m: &[f64], costs: &Costs) -> Result<Self, Error> {
        let ground = Ground::new(line.ground);
        let zero_m = line.nodes.first().map_or(0.0, |n| n.height_m);
        let mut surfaces: Vec<_> = costs.surfaces.iter().collect();
        surfaces.sort_by(|a, b| a.from_m.total_cmp(&b.from_m));
        let bounds = |one_m: f64, other_m: f64| {
            let (low, high) = (one_m.min(other_m), one_m.max(other_m));
            let touching = surfaces.iter().filter(move |s| s.from_m < high && low < s.to_m);
            touching.flat_map(|s| [s.from_m, s.to_m]).filter(move |s| low < *s && *s < high)
        };
        let mut sums = vec![Sums::default()];
        let mut sum = Sums::default();
        let ends = line.nodes.iter().zip(line.nodes.iter().skip(1)).zip(along_m.iter().zip(along_m.iter().skip(1)));
        for (i, (((a, b), (x0, x1)), span)) in ends.zip(line.spans).enumerate() {
            for (node, at) in [(a, i), (b, i + 1)] {
                if span.may_dig && ground.at(node.station_m).is_some_and(|g| g < node.height_m - node.deeper_m) {
                    return Err(Error::at("nodes.height_m", at, node.height_m, "an invert below the ground"));
                }
            }
            let x_of = |s: f64| x0 + (x1 - x0) * ((s - a.station_m) / (b.station_m - a.station_m));
            let cuts = bounds(a.station_m, b.station_m).chain(ground.between(a.station_m, b.station_m));
            let cuts = in_order(a.station_m, b.station_m, cuts);
            for (s0, s1) in cuts.iter().zip(cuts.iter().skip(1)) {
                let middle = 0.5 * s0 + 0.5 * s1;
                let surface = surfaces.iter().find(|s| s.from_m <= middle && middle < s.to_m);
                let flat = costs.per_m + surface.map_or(0.0, |s| s.per_m);
                let deep = costs.per_m_depth + surface.map_or(0.0, |s| s.per_m_depth);
                let (from, to) = (x_of(*s0), x_of(*s1));
                sum.flat += flat * (to - from);
                sum.deep += deep * (to - from);
                sum.along += deep * (to - from) * (0.5 * from + 0.5 * to);
                match ground.at(*s0).zip(ground.at(*s1)) {
                    Some((g0, g1)) => {
                        sum.ground += deep * (to - from) * (0.5 * (g0 - zero_m) + 0.5 * (g1 - zero_m));
                    }
                    None if deep > 0.0 && span.may_dig => {
                        let place = format!("unknown from {s0} to {s1} m");
                        return Err(Error::at("ground above spans", i, place, "ground, or no costs by depth there"));
                    }
                    None => {}
                }
            }
            sums.push(sum);
        }
        let bottom_m = line.nodes.iter().map(|n| n.height_m - n.deeper_m - zero_m).collect();
        Ok(Self { sums, bottom_m })
    }

    /// What a new piece between two nodes costs, without the trench's fixed cost.
    pub(super) fn piece(&self, along_m: &[f64], from: usize, to: usize) -> f64 {
        let at = |i: usize| Some((self.sums.get(i)?, *self.bottom_m.get(i)?, *along_m.get(i)?));
        let Some(((s0, b0, x0), (s1, b1, x1))) = at(from).zip(at(to)) else { return 0.0 };
        let deep = s1.deep - s0.deep;
        let moment = (s1.along - s0.along) - x0 * deep;
        let cost = (s1.flat - s0.flat) + (s1.ground - s0.ground) - b0 * deep - (b1 - b0) / (x1 - x0) * moment;
        // Where a ditch cuts below the bottom, depth counts with its sign; nothing is paid for more than that.
        cost.max(0.0)
    }
}

/// What a stretch of a plan costs under some costs, without the trench's fixed cost.
///
/// # Errors
/// As [`super::plan`].
pub(crate) fn priced(line: &Line<'_>, plan: &RelayPlan, stretch: &Stretch, costs: &Costs) -> Result<f64, Error> {
    let along_m = along_m(line.spans);
    let prices = Prices::new(line, &along_m, costs)?;
    let pieces = plan.pieces.iter().filter(|p| p.new && stretch.from <= p.from && p.to <= stretch.to);
    Ok(pieces.map(|p| prices.piece(&along_m, p.from, p.to)).sum())
}

/// Millionths of the unit of money, or micrometres.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "not negative; the cast saturates")]
pub(super) fn millionths(x: f64) -> u128 {
    (x * 1e6 + 0.5).floor() as u128
}

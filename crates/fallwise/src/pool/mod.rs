//! Water that bellies can hold.
//!
//! The drain has one free outlet downstream. Water then stands, at every station s, up to
//! ```text
//! level(s) = max(tailwater at the outlet, highest invert from s to the outlet)
//! ```
//! a running maximum walked upstream. A *pool* is a maximal stretch whose level is above its invert; the high point
//! that holds it is its *sill*. A step is a lip: water stands behind one that rises along the flow.
//!
//! A straight piece of true length L, tilted by t, with normal depths d1 and d2 at its ends holds
//! ```text
//! V = L (F(d2) - F(d1)) / (d2 - d1),   F = integral of the wetted area over depth, 0 below the invert
//! ```
//! ([`crate::Bore::mean_area_m2`]), where the normal depth is (level - invert) / cos t. That is the wedge (hoof, ungula)
//! of the handbooks, and exact for a prismatic piece that ends in planes normal to its axis. Two such ends overlap, or
//! leave a gap, at a kink: that wedge, of the order of area x depth x change of tilt (some millilitres in a 100 mm
//! drain at a kink of a degree), is not counted. Pieces steeper than [`STEEP_RAD`] hold their full area over the wetted
//! length, and depth in them is taken vertically.
//!
//! What a pool *can* hold is geometry; whether water stands there on a given day is not known from it.
//!
//! | file | what |
//! | --- | --- |
//! | `fill` | the level, walked upstream |
//! | `volume` | water in one straight piece |
//! | `draws` | the same pools in draws of a posterior: probabilities and limits |
//! | `sentence` | what a pool comes to, in words |

mod draws;
mod fill;
mod sentence;
#[cfg(test)]
pub(crate) mod small_belly;
mod volume;

pub use draws::{LONGEST_TRAP_M, Lips, PoolEstimate, PoolState, Spread, TOLERANCE_M, Terms, from_draws, traps_m};
pub use fill::water_level;
pub use sentence::{Mismatch, sentence, water_findings};
pub use volume::STEEP_RAD;

use serde::{Deserialize, Serialize};

use crate::prelude::*;
use crate::{model::Flow, profile::Profile, section::Bore};
use fill::{Piece, Walk};
use volume::Prism;

/// Depth below which water is no pool, m. Heights are sums of some tens of metres of fall, good to about 1e-14 m; a
/// nanometre is far above that rounding and far below anything that can be measured.
pub const FLOOR_M: f64 = 1e-9;

/// Water that a belly, a step or the tailwater can hold. Stations in the lateral's stationing, `from_m` the lower one;
/// lengths true; heights above the profile's zero.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Pool {
    /// Station of the sill that holds it, m: the downstream edge of the water. Of a pool held by the tailwater, the
    /// outlet.
    pub sill_station_m: f64,
    /// Level of the water, m above the profile's zero.
    pub level_m: f64,
    /// One edge, m.
    pub from_m: f64,
    /// The other edge, m.
    pub to_m: f64,
    /// True length of the water along the pipe, m.
    pub length_m: f64,
    /// Station where it is deepest, m; of several equally deep, the one nearest the outlet.
    pub deepest_station_m: f64,
    /// Greatest depth in the section normal to the pipe, m; where two pieces meet, the larger of the two sides. In
    /// pieces steeper than [`STEEP_RAD`], vertical.
    pub depth_m: f64,
    /// Greatest depth over the height of the bore, anywhere in the pool; absent where a reach it touches has no bore.
    pub depth_over_bore: Option<f64>,
    /// Length over which the pipe is full, m, true; absent where a reach it touches has no bore.
    pub full_bore_length_m: Option<f64>,
    /// What sills alone can hold here, m3 (the bellies, without the tailwater); absent where a reach it touches has no
    /// bore.
    pub volume_m3: Option<f64>,
    /// What the tailwater holds on top of that, m3: backwater, not belly.
    pub backwater_m3: Option<f64>,
    /// The tailwater, not a sill, sets the level.
    pub held_by_tailwater: bool,
    /// The sill is no higher than the last surveyed point: the pipe beyond may rise, so everything is a lower bound.
    pub sill_is_last_point: bool,
    /// The water reaches the upstream end of the survey: everything but the level is a lower bound.
    pub touches_upstream_end: bool,
}

impl Pool {
    /// Whether it and the stretch between two stations, m, in either order, have a point in common.
    pub fn meets(&self, first_m: f64, second_m: f64) -> bool {
        overlap((self.from_m, self.to_m), (first_m, second_m))
    }
}

/// Pools of a profile, in order of station.
///
/// `bores` are those of the reaches that `profile.reach` counts; one that is absent, there or in the list, leaves the
/// volumes of the pools that touch it undetermined. `tailwater_m` is the height of standing water above the invert of the
/// outlet, the last node along the flow; negative or absent, it is free. Edges are exact: they lie where the level meets
/// the sloping piece. Water shallower than [`FLOOR_M`] is rounding and no pool. A profile with a value that is not finite
/// or beyond 1e9 has no pools.
///
/// # Example
/// A 4 inch drain falls 20 mm in 2 m and climbs 10 mm in 1 m: it can hold 10 mm of water over 2 m.
/// ```
/// use fallwise::{Bore, Flow, Profile, pool::pools};
///
/// let drain = Profile {
///     station_m: vec![0.0, 2.0, 3.0],
///     height_m: vec![0.02, 0.0, 0.01],
///     tilt_rad: vec![0.01, -0.01],
///     reach: vec![0, 0],
///     at_drop: vec![],
///     scale: 1.0,
/// };
/// let bores = [Some(Bore::Circle { diameter_m: 0.1 })];
/// let found = pools(&drain, &bores, Flow::Increasing, None);
/// assert_eq!(found.len(), 1);
/// assert_eq!(found[0].sill_station_m, 3.0);
/// assert_eq!(found[0].from_m, 1.0);
/// assert!((found[0].depth_m - 0.01).abs() < 1e-6); // 10 mm over the cosine of 0.01 rad
/// ```
pub fn pools(profile: &Profile, bores: &[Option<Bore>], flow: Flow, tailwater_m: Option<f64>) -> Vec<Pool> {
    let Some(walk) = Walk::new(profile, flow) else { return Vec::new() };
    let mut pools: Vec<Pool> = find(&walk, bores, tailwater_m).into_iter().map(|found| found.pool).collect();
    if flow == Flow::Increasing {
        pools.reverse(); // the walk met the most downstream one first
    }
    pools
}

/// A pool and the nodes of the walk it hangs on.
#[derive(Debug, Clone)]
struct Found {
    pool: Pool,
    /// Node of the sill, counted upstream from the outlet.
    sill: usize,
    /// Deepest node.
    deepest: usize,
    /// Every reach so far has a bore; the figures below are then those of the pool so far.
    bored: bool,
    depth_over_bore: f64,
    full_bore_length_m: f64,
    volume_m3: f64,
    backwater_m3: f64,
}

/// Pools in the order of the walk: the one nearest the outlet first.
fn find(walk: &Walk, bores: &[Option<Bore>], tailwater_m: Option<f64>) -> Vec<Found> {
    let mut pools = Vec::new();
    let mut open: Option<Found> = None;
    for piece in walk.water(tailwater_m).filter(Piece::is_wet) {
        let found = open.get_or_insert_with(|| Found::start(walk, &piece));
        found.add(walk, &piece, bores);
        if piece.ends_water() || piece.down + 2 == walk.nodes() {
            found.end(walk, &piece);
            pools.extend(open.take().filter(|found| found.pool.depth_m > FLOOR_M));
        }
    }
    pools
}

impl Found {
    /// An empty pool whose downstream edge is the lower end of `piece`.
    fn start(walk: &Walk, piece: &Piece) -> Self {
        let edge_m = walk.station_m(piece.down);
        let held_by_tailwater = piece.level_m > piece.sill_level_m;
        Self {
            pool: Pool {
                sill_station_m: edge_m,
                level_m: piece.level_m,
                from_m: edge_m,
                to_m: edge_m,
                length_m: 0.0,
                deepest_station_m: edge_m,
                depth_m: 0.0,
                depth_over_bore: None,
                full_bore_length_m: None,
                volume_m3: None,
                backwater_m3: None,
                held_by_tailwater,
                sill_is_last_point: !held_by_tailwater && piece.level_m <= walk.height_m(0),
                touches_upstream_end: false,
            },
            sill: piece.down,
            deepest: piece.down,
            bored: true,
            depth_over_bore: 0.0,
            full_bore_length_m: 0.0,
            volume_m3: 0.0,
            backwater_m3: 0.0,
        }
    }

    /// Adds the water in one piece.
    fn add(&mut self, walk: &Walk, piece: &Piece, bores: &[Option<Bore>]) {
        if piece.length_m == 0.0 {
            return; // a step: its two ends are those of its neighbours
        }
        let water = Prism::new(piece, piece.level_m);
        let pool = &mut self.pool;
        for (node, depth_m) in [(piece.down, water.down_m), (piece.down + 1, water.up_m)] {
            if depth_m > pool.depth_m {
                pool.depth_m = depth_m;
                pool.deepest_station_m = walk.station_m(node);
                self.deepest = node;
            }
        }
        pool.length_m += water.wet_length_m();
        let Some(Some(bore)) = bores.get(piece.reach) else {
            self.bored = false;
            return;
        };
        let belly_m3 = volume::belly_m3(piece, &water, bore);
        self.volume_m3 += belly_m3;
        if piece.level_m > piece.sill_level_m {
            self.backwater_m3 += water.volume_m3(bore) - belly_m3;
        }
        self.full_bore_length_m += water.full_length_m(bore);
        self.depth_over_bore = self.depth_over_bore.max(water.depth_m() / bore.height_m());
    }

    /// Sets the upstream edge, in the last piece.
    fn end(&mut self, walk: &Walk, piece: &Piece) {
        let share = Prism::new(piece, piece.level_m).wet_share();
        let (down_m, up_m) = (walk.station_m(piece.down), walk.station_m(piece.down + 1));
        let edge_m = if share < 1.0 { down_m + share * (up_m - down_m) } else { up_m };
        self.pool.from_m = self.pool.sill_station_m.min(edge_m);
        self.pool.to_m = self.pool.sill_station_m.max(edge_m);
        self.pool.touches_upstream_end = !piece.ends_water();
        // Of a bore that is no bore the figures may not be finite.
        let known = |value: f64| Some(value).filter(|v| self.bored && v.is_finite());
        self.pool.depth_over_bore = known(self.depth_over_bore);
        self.pool.full_bore_length_m = known(self.full_bore_length_m);
        self.pool.volume_m3 = known(self.volume_m3);
        self.pool.backwater_m3 = known(self.backwater_m3);
    }
}

/// Whether two stretches, each in either order, have a point in common.
fn overlap(a: (f64, f64), b: (f64, f64)) -> bool {
    a.0.min(a.1) <= b.0.max(b.1) && b.0.min(b.1) <= a.0.max(a.1)
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "what is compared with == is exact by contract")]
mod tests {
    use super::*;

    fn profile(nodes: &[(f64, f64)]) -> Profile {
        let tilt = |w: &[(f64, f64)]| crate::math::asin(((w[0].1 - w[1].1) / (w[1].0 - w[0].0)).clamp(-1.0, 1.0));
        Profile {
            station_m: nodes.iter().map(|n| n.0).collect(),
            height_m: nodes.iter().map(|n| n.1).collect(),
            tilt_rad: nodes.windows(2).map(|w| if w[1].0 > w[0].0 { tilt(w) } else { 0.0 }).collect(),
            reach: vec![0; nodes.len().saturating_sub(1)],
            at_drop: vec![],
            scale: 1.0,
        }
    }

    #[test]
    fn falling_level_and_short_profiles_hold_nothing() {
        for nodes in [
            &[(0.0, 0.3), (10.0, 0.1), (20.0, 0.0)][..],
            &[(0.0, 0.0), (10.0, 0.0), (20.0, 0.0)],
            &[(0.0, 0.0), (10.0, 1e-10)], // below the floor
            &[(0.0, 0.0)],
            &[],
        ] {
            assert_eq!(pools(&profile(nodes), &[], Flow::Increasing, None), []);
        }
    }

    #[test]
    fn a_touching_sill_parts_two_pools_of_one_level() {
        let two = profile(&[(0.0, 0.5), (1.0, 0.0), (2.0, 0.25), (3.0, 0.0), (4.0, 0.25), (5.0, 0.125)]);
        let found = pools(&two, &[], Flow::Increasing, None);
        let edges: Vec<_> = found.iter().map(|p| (p.from_m, p.to_m, p.sill_station_m)).collect();
        assert_eq!(edges, [(0.5, 2.0, 2.0), (2.0, 4.0, 4.0)]);
        assert!(found.iter().all(|p| p.level_m == 0.25 && p.volume_m3.is_none() && p.depth_over_bore.is_none()));
    }

    #[test]
    fn flags_say_what_is_a_lower_bound() {
        let whole = profile(&[(0.0, 0.1), (2.0, 0.0), (4.0, 0.2)]);
        let up = &pools(&whole, &[], Flow::Increasing, None)[0];
        assert!(up.sill_is_last_point && up.touches_upstream_end);
        let down = &pools(&whole, &[], Flow::Decreasing, None)[0];
        assert!(down.sill_is_last_point && !down.touches_upstream_end);
        assert_eq!((down.from_m, down.to_m, down.level_m), (0.0, 3.0, 0.1));
        let drowned = &pools(&whole, &[], Flow::Decreasing, Some(0.05))[0];
        assert!(drowned.held_by_tailwater && !drowned.sill_is_last_point);
    }

    #[test]
    fn bad_numbers_give_no_pool_and_no_panic() {
        let good = profile(&[(0.0, 0.1), (2.0, 0.0), (4.0, 0.2)]);
        for bad in [f64::NAN, f64::INFINITY, -f64::INFINITY, 1e300, -f64::MAX] {
            for place in 0..4 {
                let mut p = good.clone();
                match place {
                    0 => p.station_m[1] = bad,
                    1 => p.height_m[1] = bad,
                    2 => p.tilt_rad[1] = bad,
                    _ => p.scale = bad,
                }
                assert_eq!(pools(&p, &[], Flow::Increasing, Some(0.1)), []);
                assert!(water_level(&p, Flow::Increasing, None).is_empty());
            }
            let bores = [Some(Bore::Circle { diameter_m: bad })];
            let free = pools(&good, &bores, Flow::Increasing, Some(bad));
            assert!(free.iter().all(|p| p.depth_m.is_finite() && p.volume_m3.is_none_or(f64::is_finite)));
        }
        let short = Profile { tilt_rad: vec![], ..good };
        assert_eq!(pools(&short, &[], Flow::Increasing, None), []);
    }
}

//! Pools in draws of a posterior: how likely, how deep, how much.
//!
//! Pools merge and split between draws, so a pool is followed by its *neighbourhood*. The sills of the best estimate cut
//! the lateral into tiles: upstream end to first sill, sill to sill, last sill to outlet; in each draw the quantities of
//! a tile are those of the water that stands in it.
//!
//! The depth of a pool is a maximum of a noisy curve and therefore biased up: a truly level pipe shows some pool in
//! nearly every draw, and equal-tail intervals of it hardly ever contain the truth, zero. So existence comes first, and
//! a lower limit is given only where the pool is beyond doubt (see [`PoolEstimate`]); elsewhere an upper limit alone.

use super::{
    FLOOR_M, Found, Pool,
    fill::Walk,
    find,
    volume::{Prism, belly_m3},
};
use crate::prelude::*;
use crate::{
    math::{self, Random},
    model::{Feature, FeatureKind, Flow},
    profile::{Draws, Profile},
    section::Bore,
};

/// Depth from which water counts as a pool, m: 3 mm (our choice), about what an operator can see standing.
pub const TOLERANCE_M: f64 = 0.003;

/// Probability of a depth beyond the tolerance from which a pool is found.
const FOUND: f64 = 0.95;
/// Probability of a depth beyond the tolerance below which a tile without a pool of its own is left out.
const POSSIBLE: f64 = 0.05;
/// Lower and upper end of an equal-tail 95 % interval. The upper end is also the limit where none is given below: which of
/// the two is given depends on the data, and with a 95 % limit the two together would miss up to 7.5 %.
const TAILS: (f64, f64) = (0.025, 0.975);

/// How far the water of a trap may reach beyond the trap as noted, m: half a trap's own length (our choice).
const TRAP_M: f64 = 0.3;
/// No trap is longer, m (our choice): what is noted as one over more excuses no water.
pub const LONGEST_TRAP_M: f64 = 2.0;

/// On what terms pools are looked for in draws.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Terms<'a> {
    /// Stretches of traps, m.
    pub traps_m: &'a [(f64, f64)],
    /// Depth from which water counts, m (not positive: any).
    pub tolerance_m: f64,
    /// Pieces of pipe of one tilt each; absent: those of the best estimate.
    pub pieces: Option<usize>,
    /// Lips at joints that nobody noted, which draws of a profile do not show.
    pub lips: Lips,
}

/// Lips at joints that nobody noted: each raises or lowers a sill against what lies upstream of it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Lips {
    /// Variance of height, m² for each metre of pipe.
    pub variance_m: f64,
    /// Seed of what they are in each draw.
    pub seed: u64,
}

/// Keeps the lips apart from the other draws of the same seed.
const LIPS: u64 = 0x6c69_7073_2061_7421;

impl Default for Terms<'_> {
    fn default() -> Self {
        Self { traps_m: &[], tolerance_m: TOLERANCE_M, pieces: None, lips: Lips::default() }
    }
}

/// The extents of the noted traps, m, lower station first; those that are too long for one are left out.
pub fn traps_m(features: &[Feature]) -> Vec<(f64, f64)> {
    let traps = features.iter().filter(|f| f.kind == FeatureKind::Trap);
    let ends = traps.map(|f| (f.station_m, f.to_m.unwrap_or(f.station_m))).map(|(a, b)| (a.min(b), a.max(b)));
    ends.filter(|(a, b)| b - a <= LONGEST_TRAP_M).collect()
}

/// How many of its standard deviations a rise must have, not to be level: the one-sided 97.5 % quantile, shared out over
/// the pieces it was picked from (Bonferroni), since the stretch below a sill is picked by the same data. Of truly level
/// pipes of 3, 8, 20 and 50 pieces with independent errors, 600 each, 6, 13, 24 and 40 % were given a lower limit with 2,
/// and 2, 4, 8 and 13 % with 2.5; this asks for 2.39, 2.73, 3.02 and 3.29.
fn level_sds(pieces: usize) -> f64 {
    math::normal_quantile(1.0 - (1.0 - TAILS.1) / pieces.max(1) as f64)
}

/// A pool of the best estimate, or a stretch that may hold one, with what the draws say of it.
#[derive(Debug, Clone, PartialEq)]
pub struct PoolEstimate {
    /// Found, possible or intended.
    pub state: PoolState,
    /// P(depth > tolerance) in the neighbourhood; absent without draws.
    pub exists_probability: Option<f64>,
    /// The pool in the best estimate; absent where only draws show one.
    pub pool: Option<Pool>,
    /// Start of the neighbourhood, m.
    pub from_m: f64,
    /// End of the neighbourhood, m.
    pub to_m: f64,
    /// Greatest depth in the neighbourhood, m; absent without draws.
    pub depth_m: Option<Spread>,
    /// Greatest depth in the neighbourhood in each draw, m, in the order of the draws; for joint probabilities.
    pub depth_draws_m: Vec<f64>,
    /// True length of water in the neighbourhood, m; absent without draws.
    pub length_m: Option<Spread>,
    /// What sills alone can hold in the neighbourhood, m3; absent without draws, or where water touches a reach without
    /// bore in any of them.
    pub volume_m3: Option<Spread>,
}

/// Whether there is a pool.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PoolState {
    /// P(depth > tolerance) is 0.95 or more, and a lower limit can be given.
    Found,
    /// Less sure than that.
    Possible,
    /// In a trap.
    Intended,
}

impl PoolState {
    /// As a word: `found`, `possible`, `intended`.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Found => "found",
            Self::Possible => "possible",
            Self::Intended => "intended",
        }
    }
}

/// Spread of a quantity over draws.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Standard deviation.
    pub sd: f64,
    /// Low end of the equal-tail 95 % interval; absent where only an upper limit can be given.
    pub low: Option<f64>,
    /// High end of that interval, or the upper limit where there is no low end: the 97.5 % quantile in both cases.
    pub high: f64,
}

/// Pools of the best estimate with probabilities and limits from draws, in order of station.
///
/// `best`, `bores`, `flow` and `tailwater_m` are those of [`super::pools`]. The draws must have the nodes of `best`, as
/// profiles of one [`crate::path::Layout`] do; one that has not, or has a number beyond reason, is left out.
///
/// *Existence.* P(depth > tolerance) over the draws. What is neither deeper than the tolerance in the best estimate nor
/// exists with probability 0.05 is left out; the last stretch before the outlet, which has no pool in the best estimate,
/// enters on the same terms. Without draws every pool is possible.
///
/// *Limits.* Only an upper limit is given, never a low end, where P(depth > 0) < 0.975, or where the pipe that makes
/// the pool is level within its error: the rise from the deepest node of the best estimate to its sill, taken at those
/// two nodes in every draw, is less than so many of its standard deviations as the one-sided 97.5 % quantile shared out over
/// the pieces asks for (2.4 for 3 pieces, 3 for 20; our choice: of level pipes, fewer than 5 % are then given a lower
/// limit). Such a pool is never `Found`. Limits are those of equal-tail 95 % (quantiles by [`math::quantile`]).
///
/// # Example
/// ```
/// use fallwise::{Bore, Flow, Profile, pool::{PoolState, Terms, from_draws}};
///
/// let drain = |sill_m| Profile {
///     station_m: vec![0.0, 2.0, 3.0],
///     height_m: vec![0.04, 0.0, sill_m],
///     tilt_rad: vec![0.02, -sill_m],
///     reach: vec![0, 0],
///     at_drop: vec![],
///     scale: 1.0,
/// };
/// let draws = [drain(0.009), drain(0.010), drain(0.011)];
/// let bores = [Some(Bore::Circle { diameter_m: 0.1 })];
/// let found = from_draws(&drain(0.010), &draws[..], &bores, Flow::Increasing, None, Terms::default());
/// assert_eq!(found[0].state, PoolState::Found);
/// assert_eq!(found[0].exists_probability, Some(1.0));
/// ```
pub fn from_draws<D: Draws + ?Sized>(
    best: &Profile,
    draws: &D,
    bores: &[Option<Bore>],
    flow: Flow,
    tailwater_m: Option<f64>,
    terms: Terms<'_>,
) -> Vec<PoolEstimate> {
    let traps_m = terms.traps_m;
    let Some(walk) = Walk::new(best, flow) else { return Vec::new() };
    let mut tiles = tiles(&walk, find(&walk, bores, tailwater_m), draws.count());
    let mut number = 0;
    draws.for_each(&mut |draw| {
        if let Some(drawn) = Walk::new(draw, flow).filter(|drawn| drawn.nodes() == walk.nodes()) {
            measure(&mut tiles, &drawn, bores, tailwater_m, traps_m);
            if terms.lips.variance_m > 0.0 {
                let mut random = Random::new(terms.lips.seed ^ LIPS, 0, number);
                for tile in &mut tiles {
                    tile.put_lips(&walk, terms.lips.variance_m, &mut random);
                }
            }
        }
        number = number.wrapping_add(1);
    });
    let tolerance_m = terms.tolerance_m.max(0.0); // also of NaN
    let pieces = || 1 + best.tilt_rad.windows(2).filter(|t| t[0] != t[1]).count();
    let level_sds = level_sds(terms.pieces.unwrap_or_else(pieces));
    let mut estimates: Vec<PoolEstimate> =
        tiles.into_iter().flat_map(|tile| tile.estimates(&walk, traps_m, tolerance_m, level_sds)).collect();
    if flow == Flow::Increasing {
        estimates.reverse();
    }
    // What a tile may hold beside a trap comes after the trap's own water.
    estimates.sort_by(|a, b| a.from_m.total_cmp(&b.from_m).then(a.pool.is_none().cmp(&b.pool.is_none())));
    estimates
}

/// A stretch between sills of the best estimate and the water in it, draw by draw.
struct Tile {
    /// Its nodes, counted upstream: from its sill (or the outlet) to the next sill (or the upstream end).
    nodes: (usize, usize),
    /// Its pool in the best estimate.
    found: Option<Found>,
    depth_m: Vec<f64>,
    /// Greatest depth beside the noted traps; none without traps.
    beside_m: Vec<f64>,
    length_m: Vec<f64>,
    volume_m3: Vec<f64>,
    /// Rise of the level at the sill over the deepest node of the best estimate, m.
    rise_m: Vec<f64>,
    /// No draw had water in a reach without bore.
    bored: bool,
}

/// The tiles in the order of the walk: from the outlet upstream.
fn tiles(walk: &Walk, pools: Vec<Found>, draws: usize) -> Vec<Tile> {
    let room = draws.min(1 << 16); // a wrong count must not ask for all memory
    let first_sill = pools.first().map_or(walk.nodes() - 1, |found| found.sill);
    let ends: Vec<usize> = pools.iter().skip(1).map(|found| found.sill).chain([walk.nodes() - 1]).collect();
    let to_outlet = (first_sill > 0).then_some(((0, first_sill), None));
    let held = pools.into_iter().zip(ends).map(|(found, end)| ((found.sill, end), Some(found)));
    let tile = |(nodes, found)| Tile {
        nodes,
        found,
        depth_m: Vec::with_capacity(room),
        beside_m: Vec::new(),
        length_m: Vec::with_capacity(room),
        volume_m3: Vec::with_capacity(room),
        rise_m: Vec::with_capacity(room),
        bored: true,
    };
    to_outlet.into_iter().chain(held).map(tile).collect()
}

/// Adds the water of one draw to every tile. The tiles lie end to end, so one walk fills them all.
fn measure(tiles: &mut [Tile], walk: &Walk, bores: &[Option<Bore>], tailwater_m: Option<f64>, traps_m: &[(f64, f64)]) {
    let mut water = walk.water(tailwater_m);
    for tile in tiles {
        let (mut depth_m, mut beside_m, mut length_m, mut volume_m3) = (0.0_f64, 0.0_f64, 0.0, 0.0);
        let mut sill_m = walk.height_m(tile.nodes.0);
        for piece in water.by_ref().take(tile.nodes.1 - tile.nodes.0) {
            if piece.down == tile.nodes.0 && piece.level_m > piece.sill_level_m {
                sill_m = piece.level_m; // the tailwater stands above the sill
            }
            if piece.length_m == 0.0 || !piece.is_wet() {
                continue;
            }
            let prism = Prism::new(&piece, piece.level_m);
            depth_m = depth_m.max(prism.depth_m());
            if !traps_m.is_empty() {
                let ends = (walk.station_m(piece.down), walk.station_m(piece.down + 1));
                beside_m = beside_m.max(depth_beside_m(&prism, ends, traps_m));
            }
            length_m += prism.wet_length_m();
            match bores.get(piece.reach) {
                Some(Some(bore)) => volume_m3 += belly_m3(&piece, &prism, bore),
                _ => tile.bored = false,
            }
        }
        tile.depth_m.push(depth_m);
        if !traps_m.is_empty() {
            tile.beside_m.push(beside_m);
        }
        tile.length_m.push(length_m);
        tile.volume_m3.push(volume_m3);
        if let Some(found) = &tile.found {
            tile.rise_m.push(sill_m - walk.height_m(found.deepest));
        }
    }
}

/// Greatest depth in a piece, from station to station of its ends, beside the traps and the water that may be theirs, m.
fn depth_beside_m(prism: &Prism, (down_m, up_m): (f64, f64), traps_m: &[(f64, f64)]) -> f64 {
    let theirs = || traps_m.iter().map(|(a, b)| (a.min(*b) - TRAP_M, a.max(*b) + TRAP_M));
    let (low, high) = (down_m.min(up_m), down_m.max(up_m));
    let depth = |station_m: f64| prism.down_m + (prism.up_m - prism.down_m) * ((station_m - down_m) / (up_m - down_m));
    // The depth is linear: of what lies beside the traps it is greatest at an end.
    theirs()
        .flat_map(|(a, b)| [a, b])
        .chain([low, high])
        .filter(|s| (low..=high).contains(s) && theirs().all(|(a, b)| *s <= a || *s >= b))
        .map(depth)
        .fold(0.0, f64::max)
}

impl Tile {
    /// Moves what was measured last by what lips between the deepest place and the sill do: they add up as a random walk. A wedge of
    /// water grows in length as its depth, in volume as the power 5/2 of it: of a shallow one in a round pipe exactly, else nearly.
    fn put_lips(&mut self, walk: &Walk, variance_m: f64, random: &mut Random) {
        let Some(found) = &self.found else { return };
        let apart_m = (walk.station_m(self.nodes.0) - walk.station_m(found.deepest)).abs();
        let lips_m = (variance_m * apart_m).sqrt() * random.normal();
        let Some(depth_m) = self.depth_m.last_mut().filter(|depth| **depth > FLOOR_M) else { return };
        let moved_m = (*depth_m + lips_m).max(0.0);
        let growth = moved_m / *depth_m;
        *depth_m = moved_m;
        if let (Some(length_m), Some(volume_m3)) = (self.length_m.last_mut(), self.volume_m3.last_mut()) {
            *length_m *= growth;
            *volume_m3 *= growth * growth * growth.sqrt();
        }
        self.rise_m.last_mut().into_iter().for_each(|rise| *rise += lips_m);
    }

    /// What the draws say of it, as far as it is worth saying: of its pool, and, where that is a trap's, of what else it may
    /// hold.
    fn estimates(mut self, walk: &Walk, traps_m: &[(f64, f64)], tolerance_m: f64, level_sds: f64) -> Vec<PoolEstimate> {
        let ends = (walk.station_m(self.nodes.0), walk.station_m(self.nodes.1));
        let mut beside_m = core::mem::take(&mut self.beside_m);
        let own = self.estimate(walk, traps_m, tolerance_m, level_sds);
        let exists = share_beyond(&beside_m, tolerance_m).filter(|p| *p >= POSSIBLE);
        let beside = exists.filter(|_| own.as_ref().is_some_and(|own| own.state == PoolState::Intended));
        let beside = beside.map(|exists| PoolEstimate {
            state: PoolState::Possible,
            exists_probability: Some(exists),
            pool: None,
            from_m: ends.0.min(ends.1),
            to_m: ends.0.max(ends.1),
            depth_draws_m: beside_m.clone(),
            depth_m: Spread::of(&mut beside_m, false),
            length_m: None,
            volume_m3: None,
        });
        beside.into_iter().chain(own).collect()
    }

    fn estimate(
        mut self,
        walk: &Walk,
        traps_m: &[(f64, f64)],
        tolerance_m: f64,
        level_sds: f64,
    ) -> Option<PoolEstimate> {
        let exists = share_beyond(&self.depth_m, tolerance_m);
        let pool = self.found.take().map(|found| found.pool);
        let deep = pool.as_ref().is_some_and(|pool| pool.depth_m > tolerance_m);
        if !deep && exists.is_none_or(|p| p < POSSIBLE) {
            return None;
        }
        let rises = mean_and_sd(&self.rise_m).is_some_and(|(mean, sd)| mean > 0.0 && mean >= level_sds * sd);
        let certain = rises && share_beyond(&self.depth_m, FLOOR_M).is_some_and(|p| p >= TAILS.1);
        // A trap's own water lies within it; a belly that only reaches a trap is a belly.
        let trap = |pool: &Pool| {
            traps_m.iter().any(|&(a, b)| pool.from_m >= a.min(b) - TRAP_M && pool.to_m <= a.max(b) + TRAP_M)
        };
        let state = match exists {
            _ if pool.as_ref().is_some_and(trap) => PoolState::Intended,
            Some(p) if p >= FOUND && certain => PoolState::Found,
            _ => PoolState::Possible,
        };
        let ends = (walk.station_m(self.nodes.0), walk.station_m(self.nodes.1));
        Some(PoolEstimate {
            state,
            exists_probability: exists,
            pool,
            from_m: ends.0.min(ends.1),
            to_m: ends.0.max(ends.1),
            depth_draws_m: self.depth_m.clone(),
            depth_m: Spread::of(&mut self.depth_m, certain),
            length_m: Spread::of(&mut self.length_m, certain),
            volume_m3: Spread::of(&mut self.volume_m3, certain).filter(|spread| self.bored && spread.sd.is_finite()),
        })
    }
}

impl Spread {
    /// Of values from draws, which it reorders; both limits where `two_sided`. None without values.
    fn of(values: &mut [f64], two_sided: bool) -> Option<Self> {
        let (_, sd) = mean_and_sd(values)?;
        let low = two_sided.then(|| quantile(values, TAILS.0));
        Some(Self { sd, low, high: quantile(values, TAILS.1) })
    }
}

/// [`math::quantile`] of values in any order, which it reorders: only the two that it looks at are put in their places.
fn quantile(values: &mut [f64], p: f64) -> f64 {
    let Some(last) = values.len().checked_sub(1) else { return f64::NAN };
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "p is one of the shares above")]
    let below = ((last as f64 * p) as usize).min(last);
    let (_, _, above) = values.select_nth_unstable_by(below, f64::total_cmp);
    if !above.is_empty() {
        above.select_nth_unstable_by(0, f64::total_cmp);
    }
    math::quantile(values, p)
}

/// Share of values greater than `limit`; none without values.
fn share_beyond(values: &[f64], limit: f64) -> Option<f64> {
    let beyond = values.iter().filter(|v| **v > limit).count();
    (!values.is_empty()).then(|| beyond as f64 / values.len() as f64)
}

/// Mean and standard deviation (0 of a single value); none without values.
fn mean_and_sd(values: &[f64]) -> Option<(f64, f64)> {
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let squares: f64 = values.iter().map(|v| (v - mean) * (v - mean)).sum();
    (count > 0.0).then(|| (mean, (squares / (count - 1.0).max(1.0)).sqrt()))
}

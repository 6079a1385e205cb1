//! The plan of least cost, by dynamic programming along the flow.
//!
//! Two tables, both filled from the outlet upstream. The first has the cheapest chain of new pieces from one node to another, over nodes
//! where the pipe may bend:
//! ```text
//! chain(i, j) = least of: one piece from i to j;  a piece from i to a bend m, and chain(m, j)
//! ```
//! The second has the least cost of all the pipe from a node on, where no stretch is open:
//! ```text
//! best(i) = least of: span i kept, and best(i + 1);  a trench, chain(i, j), and best(j)
//! ```

use super::{
    Asked, Costs, Line, Outcome, RelayPlan, Stretch,
    cost::{Prices, millionths},
    feasible::{Bend, Setup, joint_bounds},
    input, proof,
};
use crate::error::Error;
use crate::prelude::*;

/// Plans the re-laying of least cost.
///
/// # Errors
/// [`Error::TooFew`] for fewer than two nodes; [`Error::Length`] unless there is one span fewer than nodes; [`Error::Value`] for
/// more nodes than [`super::MOST_NODES`], for a number that is not finite or not within what its field says, for stations that turn
/// back, and for ground that is not known where depth has its price; [`Error::Overlap`] for surfaces that overlap.
///
/// # Example
/// See the [module](super).
pub fn plan(line: &Line<'_>, asked: &Asked, costs: &Costs) -> Result<Outcome, Error> {
    input::check(line, asked, costs)?;
    let setup = Setup::new(*line, *asked)?;
    let prices = Prices::new(line, &setup.along_m, costs)?;
    let price = |from: usize, to: usize| millionths(prices.piece(&setup.along_m, from, to));
    Ok(match cheapest(&setup, millionths(costs.per_trench), &price) {
        Some(stretches) => Outcome::Plan(told(&setup, stretches)),
        None => Outcome::NoPlan(proof::no_plan(&setup)),
    })
}

/// What plans are compared by, in order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
struct Score {
    /// Millionths of the unit of money.
    cost: u128,
    stretches: u32,
    /// Micrometres.
    length: u128,
    pieces: u32,
}

impl Score {
    fn plus(self, other: Self) -> Self {
        Self {
            cost: self.cost + other.cost,
            stretches: self.stretches + other.stretches,
            length: self.length + other.length,
            pieces: self.pieces + other.pieces,
        }
    }
}

/// A chain of new pieces: its cost, how many they are, and where the first of them ends.
#[derive(Debug, Clone, Copy)]
struct Chain {
    cost: u128,
    pieces: u32,
    first_to: usize,
}

/// Cheapest chains from each node to those after it.
struct Chains(Vec<Vec<Option<Chain>>>);

impl Chains {
    fn new(setup: &Setup<'_>, price: &dyn Fn(usize, usize) -> u128) -> Self {
        let nodes = setup.nodes();
        // Rows are made from the outlet upstream, and turned round at the end.
        let mut rows: Vec<Vec<Option<Chain>>> = Vec::with_capacity(nodes);
        for from in (0..nodes).rev() {
            let mut row: Vec<Option<Chain>> = vec![None; nodes - from - 1];
            for first_to in setup.laid_from(from) {
                let cost = price(from, first_to);
                put(&mut row, first_to - from - 1, Chain { cost, pieces: 1, first_to });
                if setup.bend.get(first_to).is_none_or(|bend| *bend == Bend::Free) {
                    continue;
                }
                let onward = rows.get(nodes - 1 - first_to).map(Vec::as_slice).unwrap_or_default();
                for (place, next) in onward.iter().enumerate() {
                    if let Some(next) = next {
                        let chain = Chain { cost: cost + next.cost, pieces: next.pieces + 1, first_to };
                        put(&mut row, first_to - from + place, chain);
                    }
                }
            }
            rows.push(row);
        }
        rows.reverse();
        Self(rows)
    }

    fn get(&self, from: usize, to: usize) -> Option<Chain> {
        *self.0.get(from)?.get(to.checked_sub(from + 1)?)?
    }

    /// Nodes between two where the chain bends.
    fn bends(&self, mut from: usize, to: usize) -> Vec<usize> {
        let mut bends = Vec::new();
        while let Some(chain) = self.get(from, to).filter(|chain| chain.first_to < to) {
            bends.push(chain.first_to);
            from = chain.first_to;
        }
        bends
    }
}

/// Keeps the better of two chains; of equal ones that with the first bend, which came before.
fn put(row: &mut [Option<Chain>], place: usize, chain: Chain) {
    let Some(best) = row.get_mut(place) else { return };
    if best.is_none_or(|best| (chain.cost, chain.pieces) < (best.cost, best.pieces)) {
        *best = Some(chain);
    }
}

/// The cheapest stretches, along the flow; nothing where no plan exists.
pub(super) fn cheapest(
    setup: &Setup<'_>,
    per_trench: u128,
    price: &dyn Fn(usize, usize) -> u128,
) -> Option<Vec<Stretch>> {
    if !setup.reaches().into_iter().all(|reach| setup.reach_meets(reach, 0.0)) {
        return None;
    }
    let (nodes, last) = (setup.nodes(), setup.last());
    let chains = Chains::new(setup, price);
    let trench = |from: usize, to: usize| {
        let level_m = setup.level_m(from, to);
        let chain = chains.get(from, to).filter(|_| setup.may_end(to) && setup.may_measure(level_m))?;
        let cost = per_trench + chain.cost;
        Some(Score { cost, stretches: 1, length: millionths(level_m), pieces: chain.pieces })
    };
    // The best from each node on: its score, and the end of the stretch that begins there, if one does.
    let mut best: Vec<Option<(Score, Option<usize>)>> = vec![None; nodes];
    if let Some(outlet) = best.last_mut() {
        *outlet = Some((Score::default(), None));
    }
    for from in (0..last).rev() {
        // Of equal scores the first is kept: a stretch that begins here before one that begins later, and of those the shortest.
        let mut found: Option<(Score, Option<usize>)> = None;
        let mut offer = |step: Score, to: usize, stretch: Option<usize>| {
            let Some(Some((onward, _))) = best.get(to) else { return };
            let score = step.plus(*onward);
            if found.is_none_or(|(least, _)| score < least) {
                found = Some((score, stretch));
            }
        };
        if setup.may_end(from) {
            for to in from + 1..nodes {
                if let Some(step) = trench(from, to) {
                    offer(step, to, Some(to));
                }
            }
        }
        if setup.may_keep(from) {
            offer(Score::default(), from + 1, None);
        }
        if let Some(place) = best.get_mut(from) {
            *place = found;
        }
    }
    best.first().copied().flatten()?;
    let mut stretches = Vec::new();
    let mut from = 0;
    while from < last {
        let end = best.get(from).copied().flatten().and_then(|(_, stretch)| stretch);
        if let Some((to, score)) = end.and_then(|to| Some((to, trench(from, to)?))) {
            let (bends, length_m) = (chains.bends(from, to), setup.level_m(from, to));
            stretches.push(Stretch { from, to, bends, length_m, cost: score.cost as f64 / 1e6 });
        }
        from = end.unwrap_or(from + 1);
    }
    Some(stretches)
}

/// The plan with its figures.
fn told(setup: &Setup<'_>, stretches: Vec<Stretch>) -> RelayPlan {
    let mut pieces = Vec::new();
    let mut from = 0;
    for stretch in &stretches {
        pieces.extend((from..stretch.from).map(|span| setup.piece(span, span + 1, false)));
        from = stretch.from;
        for to in stretch.bends.iter().copied().chain([stretch.to]) {
            pieces.push(setup.piece(from, to, true));
            from = to;
        }
    }
    pieces.extend((from..setup.last()).map(|span| setup.piece(span, span + 1, false)));
    let mut invert_m: Vec<f64> = setup.line.nodes.iter().map(|n| n.height_m).collect();
    for piece in pieces.iter().filter(|p| p.new) {
        for node in piece.from + 1..piece.to {
            let fall_m = piece.slope * setup.level_m(piece.from, node);
            let from_m = setup.line.nodes.get(piece.from).map_or(f64::NAN, |n| n.height_m);
            if let Some(height_m) = invert_m.get_mut(node) {
                *height_m = from_m - fall_m;
            }
        }
    }
    let reaches: Vec<_> = setup.reaches().into_iter().map(|reach| setup.reach(reach)).collect();
    RelayPlan {
        // The sum of nothing is a zero with a sign.
        cost: stretches.iter().map(|s| s.cost).sum::<f64>() + 0.0,
        joint_bounds: joint_bounds(pieces.iter().chain(&reaches)),
        stretches,
        pieces,
        reaches,
        invert_m,
    }
}

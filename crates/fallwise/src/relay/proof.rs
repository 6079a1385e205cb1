//! Why there is no plan, and what would help.

use super::{
    Lift, NoPlan,
    feasible::{Bend, Setup},
    plan::cheapest,
};
use crate::prelude::*;

/// Limits of a kind that are lifted one by one; more are lifted together.
const ONE_BY_ONE: usize = 16;

/// What is to be said of a line without a plan.
pub(super) fn no_plan(setup: &Setup<'_>) -> NoPlan {
    let ends = (0, setup.last());
    let whole = setup.shortfall(ends, setup.asked_fall_m(ends));
    let mut short = Vec::new();
    for reach in setup.reaches() {
        if !setup.reach_meets(reach, 0.0) {
            let strictest = setup.reach(reach).min_slope;
            short.push(setup.shortfall(reach, strictest * setup.level_m(reach.0, reach.1)));
        }
    }
    let sections = setup.sections().into_iter().map(|ends| setup.shortfall(ends, setup.least_fall_m(ends)));
    short.extend(sections.filter(|s| s.missing_m.is_none_or(|missing| missing > 0.0)));
    short.sort_by_key(|s| (s.from, s.to));
    // Both ends stay whatever else is lifted.
    let lifts = if whole.missing_m == Some(0.0) { lifts(setup) } else { Vec::new() };
    NoPlan { whole, short, lower_outlet_m: lower_outlet_m(setup), must_go: must_go(setup), lifts }
}

/// Spans that may not stay and that no new piece covers.
fn must_go(setup: &Setup<'_>) -> Vec<usize> {
    let mut covered = vec![false; setup.last()];
    for from in 0..setup.last() {
        for to in setup.laid_from(from) {
            covered.iter_mut().take(to).skip(from).for_each(|covered| *covered = true);
        }
    }
    let spans = setup.line.spans.iter().zip(&covered).enumerate();
    spans.filter(|(_, (span, covered))| !span.may_stay && !**covered).map(|(i, _)| i).collect()
}

/// Least lowering of the last invert, m, with which there is a plan.
fn lower_outlet_m(setup: &Setup<'_>) -> Option<f64> {
    let (nodes, last) = (setup.nodes(), setup.last());
    // The mean of the last reach gains what the outlet is lowered by; the others must do as they are.
    let mut reaches = setup.reaches();
    let last_reach = reaches.pop();
    if !reaches.into_iter().all(|reach| setup.reach_meets(reach, 0.0)) {
        return None;
    }
    // Lowering by which the pipe from each node on, inside a stretch, comes to the outlet: one last piece.
    let to_outlet: Vec<Option<f64>> = (0..nodes)
        .map(|from| {
            let (_, limits) = setup.within_reach(from).find(|(to, _)| *to == last)?;
            setup.lowering_m(from, limits, last_reach)
        })
        .collect();
    let laid: Vec<Vec<usize>> = (0..nodes).map(|from| setup.laid_from(from).collect()).collect();
    let bends = |node: usize| setup.bend.get(node).is_some_and(|bend| *bend != Bend::Free);
    let mut reached = vec![false; nodes];
    if let Some(first) = reached.first_mut() {
        *first = true;
    }
    let mut least: Option<f64> = None;
    for from in 0..last {
        if reached.get(from) != Some(&true) {
            continue;
        }
        if setup.may_keep(from)
            && let Some(next) = reached.get_mut(from + 1)
        {
            *next = true;
        }
        if !setup.may_end(from) {
            continue;
        }
        // Nodes that a chain from here comes to, and the bends among them, which it goes on from.
        let mut inside = vec![false; nodes];
        let mut open = vec![from];
        while let Some(at) = open.pop() {
            if setup.may_measure(setup.level_m(from, last))
                && let Some(lowering_m) = to_outlet.get(at).copied().flatten()
                && least.is_none_or(|least| lowering_m < least)
            {
                least = Some(lowering_m);
            }
            for &to in laid.get(at).into_iter().flatten() {
                let Some(seen) = inside.get_mut(to).filter(|seen| !**seen) else { continue };
                *seen = true;
                if bends(to) {
                    open.push(to);
                }
            }
        }
        for (to, inside) in inside.iter().enumerate() {
            let ends = *inside && setup.may_end(to) && setup.may_measure(setup.level_m(from, to));
            if let Some(reached) = reached.get_mut(to).filter(|_| ends) {
                *reached = true;
            }
        }
    }
    least
}

/// Limits of which each, lifted by itself, lets a plan exist; else all together, if that does.
fn lifts(setup: &Setup<'_>) -> Vec<Lift> {
    let helps = |lift: &Lift| cheapest(&lifted(setup, *lift), 0, &|_, _| 0).is_some();
    let mut tried =
        kind(forbidden(setup).into_iter().map(|s| Lift::Forbidden(Some(s))).collect(), Lift::Forbidden(None));
    let connections = setup.line.nodes.iter().enumerate().filter(|(_, n)| n.connection.is_some());
    tried.extend(kind(connections.map(|(node, _)| Lift::Connection(Some(node))).collect(), Lift::Connection(None)));
    if setup.asked.min_length_m > 0.0 {
        tried.push(Lift::MinLength);
    }
    if setup.asked.max_length_m.is_some() {
        tried.push(Lift::MaxLength);
    }
    if setup.line.spans.iter().any(|span| span.max_slope.is_some()) {
        tried.push(Lift::MaxSlope);
    }
    let alone: Vec<Lift> = tried.into_iter().filter(helps).collect();
    if alone.is_empty() && helps(&Lift::Together) { vec![Lift::Together] } else { alone }
}

/// All limits of a kind, or the kind where they are many.
fn kind(each: Vec<Lift>, all: Lift) -> Vec<Lift> {
    if each.len() > ONE_BY_ONE { vec![all] } else { each }
}

/// Stretches that must not be dug, by their first and last nodes.
fn forbidden(setup: &Setup<'_>) -> Vec<(usize, usize)> {
    let mut stretches: Vec<(usize, usize)> = Vec::new();
    for span in (0..setup.last()).filter(|span| setup.may_dig.get(*span) == Some(&false)) {
        match stretches.last_mut().filter(|(_, to)| *to == span) {
            Some((_, to)) => *to = span + 1,
            None => stretches.push((span, span + 1)),
        }
    }
    stretches
}

/// The same line without a limit.
fn lifted<'a>(setup: &Setup<'a>, lift: Lift) -> Setup<'a> {
    let mut other = setup.clone();
    let all = lift == Lift::Together;
    if let Lift::Forbidden(Some((from, to))) = lift {
        other.may_dig.iter_mut().take(to).skip(from).for_each(|may| *may = true);
    }
    if all || lift == Lift::Forbidden(None) {
        other.may_dig.fill(true);
    }
    if all || matches!(lift, Lift::Connection(_)) {
        let ends: Vec<usize> = setup.reaches().into_iter().map(|(_, to)| to).collect();
        for (node, bend) in other.bend.iter_mut().enumerate() {
            // Where reaches are measured their ends stay.
            let this = !matches!(lift, Lift::Connection(Some(one)) if one != node);
            if this && !ends.contains(&node) {
                *bend = Bend::Free;
            }
        }
    }
    if all || lift == Lift::MinLength {
        other.asked.min_length_m = 0.0;
    }
    if all || lift == Lift::MaxLength {
        other.asked.max_length_m = None;
    }
    other.steepest = !(all || lift == Lift::MaxSlope);
    other
}

//! What is refused.

use super::{Asked, Connection, Costs, LEAST_CONFIDENCE, Line, MOST_NODES, MeasuredOver, Node, Span};
use crate::error::{Error, require_length};
use crate::prelude::*;

/// Beyond this no station, height or length is a drain's, m.
const BEYOND_REASON_M: f64 = 1e6;
/// Costs up to this, in any money.
const MOST_COST: f64 = 1e12;

/// Refuses what no plan can be made of.
pub(super) fn check(line: &Line<'_>, asked: &Asked, costs: &Costs) -> Result<(), Error> {
    let nodes = line.nodes.len();
    if nodes < 2 {
        return Err(Error::TooFew { field: "nodes".to_owned(), found: nodes, needed: 2 });
    }
    if nodes > MOST_NODES {
        return Err(Error::value("nodes", nodes, format!("at most {MOST_NODES} nodes")));
    }
    require_length("spans", line.spans.len(), "the gaps between nodes", nodes - 1)?;
    line.nodes.iter().enumerate().try_for_each(|(i, node)| check_node(i, node))?;
    let towards = line.nodes.iter().zip(line.nodes.iter().skip(1)).map(|(a, b)| b.station_m - a.station_m);
    let growing = towards.clone().next().is_some_and(|step| step > 0.0);
    for (i, step) in towards.enumerate() {
        if step == 0.0 || (step > 0.0) != growing {
            let station_m = line.nodes.get(i + 1).map_or(f64::NAN, |node| node.station_m);
            return Err(Error::at("nodes.station_m", i + 1, station_m, "stations that grow or fall throughout"));
        }
    }
    line.spans.iter().enumerate().try_for_each(|(i, span)| check_span(i, span))?;
    let mut reaches: Vec<usize> = line.spans.iter().map(|span| span.reach).collect();
    reaches.dedup();
    for (i, reach) in reaches.iter().enumerate() {
        if reaches.iter().take(i).any(|before| before == reach) {
            return Err(Error::value("spans.reach", reach, "spans of one reach one after the other"));
        }
    }
    for (i, point) in line.ground.iter().enumerate() {
        within("ground.station_m", i, point.station_m, -BEYOND_REASON_M, BEYOND_REASON_M, "m")?;
        within("ground.elevation_m", i, point.elevation_m, -BEYOND_REASON_M, BEYOND_REASON_M, "m")?;
    }
    check_asked(asked)?;
    check_costs(costs)
}

fn check_node(i: usize, node: &Node) -> Result<(), Error> {
    within("nodes.station_m", i, node.station_m, -BEYOND_REASON_M, BEYOND_REASON_M, "m")?;
    within("nodes.height_m", i, node.height_m, -BEYOND_REASON_M, BEYOND_REASON_M, "m")?;
    within("nodes.deeper_m", i, node.deeper_m, 0.0, BEYOND_REASON_M, "m")?;
    if let Some(Connection::NotAbove { above_m }) = node.connection {
        within("nodes.connection.above_m", i, above_m, 0.0, BEYOND_REASON_M, "m")?;
    }
    Ok(())
}

fn check_span(i: usize, span: &Span) -> Result<(), Error> {
    within("spans.level_m", i, span.level_m, 1e-6, BEYOND_REASON_M, "m")?;
    within("spans.min_slope", i, span.min_slope, -1.0, 1.0, "fall over length")?;
    match span.max_slope {
        Some(max) if !(max > span.min_slope && max.is_finite()) => {
            Err(Error::at("spans.max_slope", i, max, format!("a slope above the least, {}", span.min_slope)))
        }
        _ => Ok(()),
    }
}

fn check_asked(asked: &Asked) -> Result<(), Error> {
    if !(LEAST_CONFIDENCE..1.0).contains(&asked.confidence) {
        return Err(Error::value("confidence", asked.confidence, "a probability from 0.5 to below 1"));
    }
    if let MeasuredOver::Reach { kept_min_slope } = asked.measured_over
        && !(-1.0..=1.0).contains(&kept_min_slope)
    {
        return Err(Error::value("kept_min_slope", kept_min_slope, "a slope from -1 to 1"));
    }
    if !(0.0..f64::INFINITY).contains(&asked.min_length_m) {
        return Err(Error::value("min_length_m", asked.min_length_m, "a length from 0 up, m"));
    }
    match asked.max_length_m {
        Some(most) if !(most > 0.0 && most >= asked.min_length_m && most.is_finite()) => {
            Err(Error::value("max_length_m", most, "a length above 0 and not below min_length_m, m"))
        }
        _ => Ok(()),
    }
}

fn check_costs(costs: &Costs) -> Result<(), Error> {
    let money = |field: &str, value: f64| {
        if (0.0..=MOST_COST).contains(&value) {
            return Ok(());
        }
        Err(Error::value(field, value, "a cost from 0 to 1e12"))
    };
    money("per_trench", costs.per_trench)?;
    money("per_m", costs.per_m)?;
    money("per_m_depth", costs.per_m_depth)?;
    for (i, surface) in costs.surfaces.iter().enumerate() {
        within("surfaces.per_m", i, surface.per_m, 0.0, MOST_COST, "a metre")?;
        within("surfaces.per_m_depth", i, surface.per_m_depth, 0.0, MOST_COST, "a metre and metre of depth")?;
        if !(surface.from_m.abs() <= BEYOND_REASON_M && surface.to_m.abs() <= BEYOND_REASON_M)
            || surface.from_m >= surface.to_m
        {
            let given = format!("{} to {} m", surface.from_m, surface.to_m);
            return Err(Error::at("surfaces", i, given, "from_m below to_m"));
        }
    }
    let mut in_order: Vec<_> = costs.surfaces.iter().collect();
    in_order.sort_by(|a, b| a.from_m.total_cmp(&b.from_m));
    match in_order.iter().zip(in_order.iter().skip(1)).find(|(a, b)| b.from_m < a.to_m) {
        Some((a, b)) => Err(Error::Overlap {
            what: "surfaces".to_owned(),
            first_m: a.from_m,
            second_m: b.from_m,
            expected: "each station below one surface at most".to_owned(),
        }),
        None => Ok(()),
    }
}

/// Refuses a number that is not within bounds.
fn within(field: &str, i: usize, value: f64, low: f64, high: f64, unit: &str) -> Result<(), Error> {
    if (low..=high).contains(&value) {
        return Ok(());
    }
    Err(Error::at(field, i, value, format!("a number from {low} to {high}, {unit}")))
}

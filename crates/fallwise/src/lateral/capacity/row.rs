//! The row of a reach.

use super::{
    Asked, Bellies,
    chance::Chance,
    figure::Figure,
    stretch::Stretch,
    verdict::{Cleansing, Decided},
    wall::{self, Missing},
};
use crate::prelude::*;
use crate::{
    adjust::Estimate,
    answers::CapacityRow,
    error::Error,
    hydraulics::{Friction, NormalDepth, Uniform, critical_depth_m, froude, shear_pa},
    section::Bore,
};

pub(super) fn of(
    asked: &Asked<'_>,
    stretch: &Stretch<'_>,
    decided: &Decided,
    bellies: &Bellies,
) -> Result<CapacityRow, Error> {
    let keys: Vec<&str> = decided.missing.iter().copied().map(Missing::key).collect();
    let numbers: Vec<String> = {
        let mut all: Vec<usize> = bellies.found.iter().chain(&bellies.possible).copied().collect();
        all.sort_unstable();
        all.iter().map(ToString::to_string).collect()
    };
    let mut row = CapacityRow {
        reach: stretch.number,
        name: stretch.name.to_string(),
        from_m: stretch.from_m,
        to_m: stretch.to_m,
        bore_m: stretch.pipe.bore.map(|b| b.height_m()),
        missing: keys.join(", "),
        filling: asked.capacity.filling,
        flow_m3_s: asked.flow_m3_s,
        verdict: decided.verdict.as_str().to_owned(),
        probability: decided.mean.and_then(Chance::value),
        every_piece_probability: decided.every_piece.and_then(Chance::value),
        pools: numbers.join(", "),
        bellies_found: bellies.found.len(),
        bellies_possible: bellies.possible.len(),
        ..CapacityRow::default()
    };
    if let Some(mean) = &stretch.mean {
        (row.slope, row.slope_sd) = (Some(mean.value), Some(mean.sd));
        (row.slope_low, row.slope_high) = (Some(mean.low), Some(mean.high));
    }
    if let Some(piece) = stretch.flattest() {
        (row.flattest_from_m, row.flattest_to_m) = (Some(piece.from_m), Some(piece.to_m));
        (row.flattest_slope, row.flattest_slope_sd) = (Some(piece.slope.value), Some(piece.slope.sd));
        (row.flattest_slope_low, row.flattest_slope_high) = (Some(piece.slope.low), Some(piece.slope.high));
    }
    cleansing(decided.by_velocity, &mut row.clean_by_velocity, &mut row.clean_by_velocity_probability);
    cleansing(decided.by_shear, &mut row.clean_by_shear, &mut row.clean_by_shear_probability);
    if let (Some((bore, friction)), Some(mean)) = (decided.pipe, &stretch.mean) {
        wall::put(friction, &mut row);
        carried(&mut row, bore, friction, mean, stretch.flattest().map(|p| p.slope));
        if let Some(flow) = asked.flow_m3_s {
            of_flow(&mut row, bore, friction, mean, flow)?;
        }
    }
    Ok(row)
}

fn cleansing(of: Option<Cleansing>, word: &mut String, probability: &mut Option<f64>) {
    let Some(of) = of else { return };
    of.clean.as_str().clone_into(word);
    *probability = of.every_piece.value();
}

/// What it carries at most, and at the filling. A pipe that does not fall has no capacity; one that may not fall, at the low end of its slope's
/// interval, may carry nothing.
fn carried(row: &mut CapacityRow, bore: Bore, friction: Friction, mean: &Estimate, flattest: Option<Estimate>) {
    let pipe = |slope: f64| Uniform::new(bore, slope, friction).ok();
    let figure = |slope: &Estimate, of: &dyn Fn(&Uniform) -> f64| {
        if slope.value > 0.0 { Figure::of(slope, true, |s| pipe(s).map(|p| of(&p))) } else { Figure::default() }
    };
    let most = figure(mean, &|p| p.most().flow_m3_s);
    (row.most_m3_s, row.most_sd_m3_s) = (most.value, most.sd);
    (row.most_low_m3_s, row.most_high_m3_s) = (most.low, most.high);
    row.most_depth_m = pipe(mean.value).filter(|p| p.slope > 0.0).map(|p| p.most().depth_m);
    let at = row.filling.map(|filling| filling * bore.height_m());
    if let Some(depth_m) = at {
        let filled = figure(mean, &|p| p.flow_m3_s(depth_m));
        (row.filled_m3_s, row.filled_sd_m3_s) = (filled.value, filled.sd);
        (row.filled_low_m3_s, row.filled_high_m3_s) = (filled.low, filled.high);
    }
    if let (Some(depth_m), Some(slope)) = (at, &flattest) {
        let filled = figure(slope, &|p| p.flow_m3_s(depth_m));
        (row.flattest_filled_m3_s, row.flattest_filled_sd_m3_s) = (filled.value, filled.sd);
        (row.flattest_filled_low_m3_s, row.flattest_filled_high_m3_s) = (filled.low, filled.high);
    }
}

/// How the flow stands and runs at the mean slope.
fn of_flow(row: &mut CapacityRow, bore: Bore, friction: Friction, mean: &Estimate, flow: f64) -> Result<(), Error> {
    row.critical_depth_m = Some(critical_depth_m(bore, flow)?);
    let pipe = |slope: f64| Uniform::new(bore, slope, friction).ok();
    let Some(here) = pipe(mean.value) else { return Ok(()) };
    let NormalDepth { state, depth_m, upper_depth_m, condition } = here.normal_depth(flow)?;
    state.as_str().clone_into(&mut row.state);
    (row.upper_depth_m, row.condition) = (upper_depth_m, condition);
    row.depth_over_bore = depth_m.map(|d| d / bore.height_m());
    // The pipe at a slope, with the depth of the flow.
    let at = |slope: f64| {
        let pipe = pipe(slope)?;
        pipe.normal_depth(flow).ok()?.depth_m.map(|depth| (pipe, depth))
    };
    let depth = Figure::of(mean, false, |s| at(s).map(|(_, depth)| depth));
    (row.depth_m, row.depth_sd_m, row.depth_low_m, row.depth_high_m) = (depth.value, depth.sd, depth.low, depth.high);
    let velocity = Figure::of(mean, true, |s| at(s).map(|(pipe, depth)| pipe.velocity_m_s(depth)));
    (row.velocity_m_s, row.velocity_sd_m_s) = (velocity.value, velocity.sd);
    (row.velocity_low_m_s, row.velocity_high_m_s) = (velocity.low, velocity.high);
    let number = Figure::of(mean, true, |s| at(s).and_then(|(_, depth)| froude(bore, depth, flow).ok()));
    (row.froude, row.froude_sd, row.froude_low, row.froude_high) = (number.value, number.sd, number.low, number.high);
    let shear = Figure::of(mean, true, |s| at(s).map(|(pipe, depth)| shear_pa(&pipe, depth)));
    (row.shear_pa, row.shear_sd_pa, row.shear_low_pa, row.shear_high_pa) =
        (shear.value, shear.sd, shear.low, shear.high);
    Ok(())
}

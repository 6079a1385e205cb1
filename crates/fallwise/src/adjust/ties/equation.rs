//! Ties as equations: what the chain says of each, with its derivatives, beside what was measured.

use super::{Terms, label, of_tie, refuse};
use crate::prelude::*;
use crate::{
    adjust::functional::{Functional, Shape, add},
    condition::{sign_of_head, zero_by_reversal},
    error::Error,
    math,
    model::{Known, Place, Tie, Toward, depth_sd_m},
    path::Path,
    profile::ground_at,
};

/// Half of the way over which the slope at a place is taken where its station is exact, m: the counter's tenth of a foot.
pub(super) const ABOUT_M: f64 = 0.03;

/// One number that was measured.
#[derive(Debug, Clone)]
pub(super) struct Equation {
    pub(super) tie: usize,
    /// What the numbers are.
    pub(super) quantity: &'static str,
    pub(super) measured: f64,
    /// What is counted from: coordinates of a country have millions of metres, of which no double holds a nanometre.
    pub(super) origin: f64,
    /// What the chain says, from there, with the open unknowns and the moved stations in its value.
    pub(super) modelled: Functional,
    /// Standard deviation of the measurement's own error.
    pub(super) sd: f64,
    /// What the errors of the tie's one or two stations move it by, for one standard deviation of each.
    pub(super) stations: [f64; 2],
}

/// The chain as it lies now, for reading equations off it.
pub(super) struct Now<'a> {
    pub(super) shape: Shape<'a>,
    pub(super) path: Option<&'a Path>,
    pub(super) bend_rad: &'a [f64],
    pub(super) zero_rad: f64,
    /// Elevation of the first node, m, above the origin.
    pub(super) elevation_m: f64,
    /// What elevations, east and north are counted from, m.
    pub(super) origin: [f64; Functional::OPEN],
    /// Errors of the stations of each tie, m.
    pub(super) station_m: &'a [[f64; 2]],
    /// Where stations are left as noted: the scale that they were noted with.
    pub(super) noted_scale: Option<f64>,
}

/// A station to read a quantity off.
struct Stand {
    station_m: f64,
    /// From there to where it is carried on to by the slope, m.
    on_m: f64,
    /// Derivative of where that is by the scale.
    by_scale: f64,
}

/// A quantity at a place whose station has an error.
struct At {
    modelled: Functional,
    by_station: f64,
}

impl Now<'_> {
    /// The equations of a tie.
    pub(super) fn equations(&self, number: usize, tie: &Tie, terms: &Terms<'_>) -> Result<Vec<Equation>, Error> {
        let moved = self.station_m.get(number).copied().unwrap_or_default();
        let one = |quantity: &'static str, measured: f64, sd: f64, at: At| Equation {
            tie: number,
            quantity,
            measured,
            origin: 0.0,
            modelled: at.modelled,
            sd,
            stations: [at.by_station, 0.0],
        };
        let from_origin = |open: usize, equation: Equation| Equation { origin: self.origin[open], ..equation };
        let difference = |quantity: &'static str, measured: f64, sd: f64, from: At, to: At| Equation {
            tie: number,
            quantity,
            measured,
            origin: 0.0,
            modelled: to.modelled.plus(from.modelled.times(-1.0)),
            sd,
            stations: [-from.by_station, to.by_station],
        };
        let height = |place: &Place, error_m: f64| self.height(place, error_m, 0.0, terms);
        let elevation = |place: &Place, error_m: f64, beyond_m: f64| {
            let mut at = self.height(place, error_m, beyond_m, terms);
            at.modelled.open[Functional::ELEVATION] = 1.0;
            at.modelled.value += self.elevation_m;
            at
        };
        let head = |zero_rad: f64, sd_rad: f64| {
            let mut modelled = self.shape.nothing();
            (modelled.value, modelled.zero) = (self.zero_rad, 1.0);
            one("zero_rad", zero_rad, sd_rad, At { modelled, by_station: 0.0 })
        };
        Ok(match &tie.known {
            Known::Invert { at, elevation_m, sd_m } => {
                vec![from_origin(
                    Functional::ELEVATION,
                    one("elevation_m", *elevation_m, *sd_m, elevation(at, moved[0], 0.0)),
                )]
            }
            Known::Depth { at, depth_m, sd_m, ground_m, ground_sd_m, behind_m, above_m } => {
                let behind_m = behind_head(terms, *behind_m);
                let given = (*ground_m).map(|m| (m, ground_sd_m.unwrap_or(0.0)));
                let Some((ground_m, ground_sd)) =
                    given.or_else(|| ground(terms, at.station_m + behind_m, *ground_sd_m))
                else {
                    return Err(refuse(
                        number,
                        tie,
                        "no ground is known there",
                        "the ground's elevation in the tie, or ground on both sides of it",
                    ));
                };
                let mut lying = elevation(at, moved[0], behind_m);
                let (sin, cos, segment) = self.tilt_at(self.stand(at, moved[0], terms).station_m + behind_m);
                lying.modelled.value += above_m * cos;
                add(&mut lying.modelled.tilt, segment, -above_m * sin);
                let sd = math::hypot(sd_m.unwrap_or_else(|| depth_sd_m(*depth_m)), ground_sd);
                vec![from_origin(Functional::ELEVATION, one("elevation_m", ground_m - depth_m, sd, lying))]
            }
            Known::HeightDifference { from, to, rise_m, sd_m } => {
                vec![difference("rise_m", *rise_m, *sd_m, height(from, moved[0]), height(to, moved[1]))]
            }
            Known::WaterLevel { from, to, level_sd_m, seen, .. } => {
                let sd = core::f64::consts::SQRT_2 * level_sd_m.unwrap_or_else(|| seen.level_sd_m());
                vec![difference("rise_m", 0.0, sd, height(from, moved[0]), height(to, moved[1]))]
            }
            Known::WaterDepth { at, depth_m, sd_m, edge, level_sd_m, seen, .. } => {
                let sd = math::hypot(*sd_m, level_sd_m.unwrap_or_else(|| seen.level_sd_m()));
                vec![difference("rise_m", *depth_m, sd, height(at, moved[0]), height(edge, moved[1]))]
            }
            Known::Length { from_m, to_m, length_m, sd_m } => {
                let mut modelled = self.shape.nothing();
                modelled.scale = to_m - from_m;
                modelled.value = modelled.scale * self.shape.profile.scale;
                vec![one("length_m", *length_m, *sd_m, At { modelled, by_station: 0.0 })]
            }
            Known::ReversalCheck(check) => {
                let (zero, sd) =
                    zero_by_reversal(check, terms.runs, terms.resolution_rad).map_err(|e| of_tie(number, tie, &e))?;
                vec![head(zero, sd)]
            }
            Known::LevelCheck { reading_rad, surface_rad, sd_rad, tilt_positive } => {
                let sign = sign_of_head(*tilt_positive, terms.runs).map_err(|e| of_tie(number, tie, &e))?;
                vec![head(sign * reading_rad - surface_rad, *sd_rad)]
            }
            Known::Plan { at, east_m, north_m, sd_m } => {
                let [east, north, _] = self.in_plan(number, tie, at, moved[0], terms)?;
                let (east, north) = (one("east_m", *east_m, *sd_m, east), one("north_m", *north_m, *sd_m, north));
                vec![from_origin(Functional::EAST, east), from_origin(Functional::NORTH, north)]
            }
            Known::Azimuth { at, azimuth_rad, sd_rad } => {
                let [_, _, azimuth] = self.in_plan(number, tie, at, moved[0], terms)?;
                // The turn from what the chain says to what was measured, the short way round.
                let turns = core::f64::consts::TAU;
                let off = azimuth_rad - azimuth.modelled.value;
                let measured = azimuth.modelled.value + off - turns * (off / turns).round();
                vec![one("azimuth_rad", measured, *sd_rad, azimuth)]
            }
        })
    }

    fn stand(&self, place: &Place, error_m: f64, terms: &Terms<'_>) -> Stand {
        let (label_m, by_scale) = label(place, error_m, terms, self.shape.profile.scale);
        let station_m = self.noted_scale.map_or(label_m, |scale| label(place, 0.0, terms, scale).0);
        Stand { station_m, on_m: label_m - station_m, by_scale }
    }

    /// Height a little way beyond a place above the first node.
    fn height(&self, place: &Place, error_m: f64, beyond_m: f64, terms: &Terms<'_>) -> At {
        let Stand { station_m, on_m, by_scale } = self.stand(place, error_m, terms);
        let station_m = station_m + beyond_m;
        let mut modelled = self.shape.height(station_m);
        // Over the pipe that the station may be in, so that a break there counts by its share.
        let half = if place.sd_m > 0.0 { place.sd_m } else { ABOUT_M };
        let slope = (self.shape.height_m(station_m + half) - self.shape.height_m(station_m - half)) / (2.0 * half);
        modelled.value += slope * on_m;
        modelled.scale += slope * by_scale;
        At { modelled, by_station: slope * place.sd_m }
    }

    /// East, north and azimuth at a place.
    fn in_plan(
        &self,
        number: usize,
        tie: &Tie,
        place: &Place,
        error_m: f64,
        terms: &Terms<'_>,
    ) -> Result<[At; 3], Error> {
        let scale = self.shape.profile.scale;
        let Stand { station_m, on_m, by_scale } = self.stand(place, error_m, terms);
        let (first_m, last_m) = self.shape.profile.range().unwrap_or_default();
        // A little beyond an end the pipe is carried on straight.
        let near_m = station_m.max(first_m).min(last_m);
        let beyond_m = (station_m - near_m + on_m) * scale;
        let laid = self.path.and_then(|path| path.plan(self.shape.layout, self.bend_rad, near_m));
        let Some(plan) = laid else {
            return Err(refuse(
                number,
                tie,
                "the plan is not determined there: pipe steeper than 80 degrees before it does not show where it turns",
                "a tie in plan before that pipe",
            ));
        };
        let of = |axis: usize, open: usize| {
            let mut modelled = self.shape.nothing();
            let along = plan.along[axis];
            modelled.value = plan.plan_m[axis] + beyond_m * along;
            let turned = [plan.along[1], -plan.along[0]][axis];
            let end = |by: &[f64; 2], by_azimuth: &f64| by[axis] + beyond_m * turned * by_azimuth;
            let tilts = plan.tilt.iter().zip(&plan.azimuth_by.0);
            modelled.tilt.iter_mut().zip(tilts).for_each(|(g, (by, turn))| *g = end(by, turn));
            let bends = plan.bend.iter().zip(&plan.azimuth_by.1);
            modelled.bend.iter_mut().zip(bends).for_each(|(g, (by, turn))| *g = end(by, turn));
            // What lies beyond an end is carried on by its own tilt.
            let (sine, cosine) = math::sin_cos(plan.azimuth_rad);
            let (steep, _, segment) = self.tilt_at(near_m);
            add(&mut modelled.tilt, segment, -beyond_m * steep * [sine, cosine][axis]);
            modelled.scale = plan.scale[axis] + scale * along * by_scale + (station_m - near_m + on_m) * along;
            modelled.open[open] = 1.0;
            modelled.open[Functional::AZIMUTH] = plan.azimuth[axis] + beyond_m * turned;
            At { modelled, by_station: scale * along * place.sd_m }
        };
        let mut azimuth = self.shape.nothing();
        azimuth.value = plan.azimuth_rad;
        azimuth.tilt.clone_from(&plan.azimuth_by.0);
        azimuth.bend.clone_from(&plan.azimuth_by.1);
        azimuth.open[Functional::AZIMUTH] = 1.0;
        Ok([of(0, Functional::EAST), of(1, Functional::NORTH), At { modelled: azimuth, by_station: 0.0 }])
    }

    /// Sine and cosine of the tilt at a station, and its segment.
    fn tilt_at(&self, station_m: f64) -> (f64, f64, usize) {
        let segment = self.shape.segment(station_m);
        let (sin, cos) = math::sin_cos(self.shape.tilt_rad.get(segment).copied().unwrap_or(0.0));
        (sin, cos, segment)
    }
}

/// From a head to what lies so far behind it along the cable, in station, m.
pub(super) fn behind_head(terms: &Terms<'_>, behind_m: f64) -> f64 {
    match terms.runs.first().map_or(Toward::Increasing, |r| r.toward) {
        Toward::Increasing => -behind_m,
        Toward::Decreasing => behind_m,
    }
}

/// The job's ground at a station with its standard deviation: the larger of the two points next to it, unless the tie gives one.
fn ground(terms: &Terms<'_>, station_m: f64, sd_m: Option<f64>) -> Option<(f64, f64)> {
    let elevation = ground_at(terms.ground, station_m)?;
    let points = || terms.ground.iter();
    let before = points().filter(|p| p.station_m <= station_m).max_by(|a, b| a.station_m.total_cmp(&b.station_m));
    let after = points().filter(|p| p.station_m >= station_m).min_by(|a, b| a.station_m.total_cmp(&b.station_m));
    let own = before.into_iter().chain(after).filter_map(|p| p.sd_m).fold(0.0, f64::max);
    Some((elevation, sd_m.unwrap_or(own)))
}

//! Ties put into a posterior: least squares in all that is unknown, and how well everything goes together.
//!
//! Unknowns are the tilts, the errors that they share (zero, seating, drift), the counter's scale, steps, angles of bends, stations of
//! ties, and where the first node is. The readings have their say already: they are the posterior that the ties are put into, by its
//! independent unit errors (`adjust::coordinates`). Heights go by the sine of a tilt, positions in plan by more; so the
//! equations are made straight where the chain lies, solved, and made straight anew (Gauss and Newton), with no damping: the Jacobian
//! at the solution is the one that standard deviations come from.
//!
//! | file | contents |
//! | --- | --- |
//! | this one | [`Posterior::with_ties`]: the steps to the solution |
//! | `equation` | what the chain says of each tie, with derivatives |
//! | `closure` | misclosures, redundancy, what could be found, which tie is suspect |

mod closure;
mod equation;

pub use closure::{Adjustment, Closure, DETECTABLE, SUSPECT, Verdict};

use super::{
    Estimate, Functional, Parameter, Posterior,
    basis::{Basis, dot},
    coordinates::Coordinates,
    functional::{Shape, cosines},
    tied::{First, Pivot, Tied, take_open},
};
use crate::prelude::*;
use crate::{
    error::Error,
    model::{GroundPoint, Known, Place, Run, Tie},
    path::{Layout, Path, Start},
};
use equation::{Equation, Now};

/// A tie may lie this far beyond the first and last reading, m: the pipe is carried on straight to it. A head's readings begin a
/// little inside the opening (our choice).
pub const BEYOND_M: f64 = 0.5;

/// Whether something at a station can be held against a survey with these ends, m. Of what is no number it cannot.
pub fn is_near((first_m, last_m): (f64, f64), station_m: f64) -> bool {
    (first_m - BEYOND_M..=last_m + BEYOND_M).contains(&station_m)
}

/// Steps before it is given up that they come to rest: random chains need ten at most (our choice).
const STEPS: usize = 30;
/// At rest when no unit error, and of the first node no coordinate (m) or azimuth (rad), would move by more than this, as a share of
/// the largest of them where that is beyond 1.
const AT_REST: f64 = 1e-9;
/// At rest also when they move by less than this share, and no less than half of what they moved by before: roundings.
const RATTLE: f64 = 1e-6;
/// Equations that hold exactly may miss by this, m or rad: the rounding of heights of tens of metres, many times over.
const EXACT: f64 = 1e-9;
/// Errors whose draws are spread evenly, as many as there are sequences for.
const EVEN: usize = 4;
/// Of an open zero at least this share of its standard deviation is left where nothing else says anything of it (our choice).
const OPEN_SHARE: f64 = 0.9;
/// Water is higher than a hump between its edges, or is no one pool: a hump that stands out by more than this, m, and by what has less
/// than a chance of one in ten thousand, contradicts it (our choice: the depth from which water counts as a pool).
const HUMP_M: f64 = 0.003;
const HUMP_SDS: f64 = 3.9;

/// What ties are held against beside the posterior.
#[derive(Debug, Clone, Copy)]
pub struct Terms<'a> {
    /// How the segments lie.
    pub layout: &'a Layout,
    /// The runs: what they show as positive, where the first starts.
    pub runs: &'a [Run],
    /// The ground.
    pub ground: &'a [GroundPoint],
    /// Step of the head's display, rad; 0 for none.
    pub resolution_rad: f64,
    /// Whether the job says that water was running.
    pub water_runs: bool,
}

/// A tie that cannot be used.
fn refuse(number: usize, tie: &Tie, problem: &str, expected: &str) -> Error {
    Error::Tie { tie: told(number, tie), problem: problem.to_owned(), expected: expected.to_owned() }
}

/// An error of a value of a tie.
fn of_tie(number: usize, tie: &Tie, error: &Error) -> Error {
    match error {
        Error::Value { field, value, expected, .. } => Error::Tie {
            tie: told(number, tie),
            problem: format!("{field}: {value} given"),
            expected: expected.clone(),
        },
        other => Error::Tie {
            tie: told(number, tie),
            problem: other.to_string(),
            expected: "a tie that can be used".to_owned(),
        },
    }
}

/// No counter is so far off that the pipe is shorter than this share of what it is taken to be (our choice).
const LEAST_SCALE: f64 = 0.1;

/// Ties that ask for a pipe that there is none of.
fn no_such_pipe(problem: &str) -> Error {
    Error::Tie {
        tie: "ties".to_owned(),
        problem: problem.to_owned(),
        expected: "ties in one datum, with their signs and units right".to_owned(),
    }
}

/// Errors of the stations of each tie, m.
fn station_errors_m(coordinates: &Coordinates, ties: &[Tie], errors: &[f64]) -> Vec<[f64; 2]> {
    let of = |(tie, of): (usize, &Tie)| {
        let sds = of.station_sds_m();
        [0, 1].map(|end| sds[end] * coordinates.station(tie, end).map_or(0.0, |i| errors[i]))
    };
    ties.iter().enumerate().map(of).collect()
}

/// Name of a tie in tables and messages: its own, or what it is and where.
pub fn name(number: usize, tie: &Tie) -> String {
    if !tie.name.is_empty() {
        return tie.name.clone();
    }
    let what = tie.kind().replace('_', " ");
    match tie.stations_m() {
        (Some(from), Some(to)) => format!("tie {}, {what} from {from:.2} m to {to:.2} m", number + 1),
        (Some(at), None) => format!("tie {}, {what} at {at:.2} m", number + 1),
        _ => format!("tie {}, {what}", number + 1),
    }
}

/// Name of a tie in errors: with its number, whatever else it is called.
fn told(number: usize, tie: &Tie) -> String {
    if tie.name.is_empty() { name(number, tie) } else { format!("tie {} ({})", number + 1, tie.name) }
}

/// Station on the counter of a place, m, with an error of its station; and its derivative by the scale. A taped place is a true
/// distance from the start of the first run.
fn label(place: &Place, error_m: f64, terms: &Terms<'_>, scale: f64) -> (f64, f64) {
    if !place.taped {
        return (place.station_m + error_m, 0.0);
    }
    let origin_m = terms.runs.first().map_or(0.0, |r| r.start_station_m);
    let true_m = place.station_m - origin_m;
    (origin_m + true_m / scale + error_m, -true_m / (scale * scale))
}

/// How sure a position in plan is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlanCovariance {
    /// Standard deviation of east, m.
    pub east_sd_m: f64,
    /// Standard deviation of north, m.
    pub north_sd_m: f64,
    /// Covariance of the two, m².
    pub covariance_m2: f64,
}

impl PlanCovariance {
    /// Correlation of east and north; `None` where one of them has no error.
    pub fn correlation(&self) -> Option<f64> {
        let product = self.east_sd_m * self.north_sd_m;
        (product > 0.0).then(|| (self.covariance_m2 / product).clamp(-1.0, 1.0))
    }
}

/// The unknowns as they stand.
#[derive(Clone)]
struct State {
    /// Unit errors.
    errors: Vec<f64>,
    tilt_rad: Vec<f64>,
    scale: f64,
    rise_m: Vec<f64>,
    bend_rad: Vec<f64>,
    zero_rad: f64,
    station_m: Vec<[f64; 2]>,
    /// What is open, from the origin.
    open: [f64; Functional::OPEN],
    /// What elevations, east and north are counted from, m.
    origin: [f64; Functional::OPEN],
    /// What of it the ties say, stations as noted.
    told: [bool; Functional::OPEN],
    /// Equations are read off where the counter's scale and the stations' errors put them; or, where this is given, where they were
    /// noted, with this scale, and carried on from there by the slope.
    noted_scale: Option<f64>,
}

/// What the zero was left at where it is open: its standard deviation, rad.
#[derive(Debug, Clone, Copy)]
struct ZeroLeft {
    sd_rad: Option<f64>,
}

impl ZeroLeft {
    /// Whether an open zero is all that a check can be held against, by the standard deviation of what everything else says of it.
    fn is_all_that_says(self, sd_rad: f64) -> bool {
        self.sd_rad.is_some_and(|left| sd_rad >= OPEN_SHARE * left)
    }
}

/// A system made straight and solved.
struct Solved {
    equations: Vec<Equation>,
    pivots: Vec<Pivot>,
    pivot_given: Vec<f64>,
    combined: Vec<Vec<(usize, f64)>>,
    /// The equations that are no pivots.
    rest: Vec<usize>,
    basis: Basis,
    closed: Vec<f64>,
    missed: Vec<f64>,
}

impl Posterior {
    /// This posterior with ties, and how they go together.
    ///
    /// # Errors
    /// [`Error::Outside`] for a tie more than [`BEYOND_M`] beyond the survey; [`Error::Tie`] for one that cannot be used: running
    /// water, a sill between two edges of one pool, a depth without ground, a plan position beyond an upright pipe;
    /// [`Error::TiesContradict`] for ties that cannot all be true with the errors stated.
    pub fn with_ties(&self, terms: &Terms<'_>, ties: &[Tie]) -> Result<(Self, Adjustment), Error> {
        if ties.is_empty() {
            return Ok((self.clone(), Adjustment::none()));
        }
        if self.is_tied() {
            // What is left of its errors would be taken for all of them.
            return Err(Error::value("posterior", "one with ties in it", "one without: ties are given all at once"));
        }
        check(terms, ties)?;
        let mut state = self.begin(terms, ties);
        let mut equations = read_off(&state, terms, ties)?;
        // Lips count up to where the station was noted, wherever it is moved to.
        let lips: Vec<_> = equations.iter().map(|e| e.modelled.lips.clone()).collect();
        let coordinates = self.coordinates(&equations, ties);
        state.errors = vec![0.0; coordinates.len()];
        let (mut steps, mut converged) = (0, false);
        let mut solved = self.solve(&state, &coordinates, equations);
        // Two positions at one station say nothing of a direction, however far apart they move it.
        state.told = solved.told();
        let begun = state.clone();
        for noted_scale in [None, Some(self.scale)] {
            if converged {
                break;
            }
            // Where a station goes to and fro over a lip it is left where it was noted.
            if noted_scale.is_some() {
                state = State { noted_scale, ..begun.clone() };
                equations = read_off(&state, terms, ties)?;
                solved = self.solve(&state, &coordinates, equations);
            }
            steps = 0;
            let mut changed = f64::INFINITY;
            while steps < STEPS && !converged {
                let (errors, open) = solved.solution(&coordinates, &state);
                let change = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
                let size = errors.iter().fold(1.0_f64, |m, e| m.max(e.abs()));
                let open_size = open.iter().fold(1.0_f64, |m, e| m.max(e.abs()));
                steps += 1;
                let (before, now) = (changed, change(&errors, &state.errors) / size);
                changed = now.max(change(&open, &state.open) / open_size);
                // Of what is known to a nanometre roundings are more; they neither grow nor fall.
                // Each step is some share of the one before: at rest too where the next one will be far less.
                let next =
                    if before.is_finite() && changed < before { 30.0 * changed * (changed / before) } else { changed };
                converged = next.min(changed) <= AT_REST || changed <= RATTLE && changed >= 0.5 * before;
                self.move_to(&mut state, errors, open, &coordinates, ties);
                let upright = state.tilt_rad.iter().any(|t| !t.is_finite() || t.abs() > core::f64::consts::FRAC_PI_2);
                // Ties that hold exactly may draw all of the pipe into one point.
                if upright || state.scale.is_nan() || state.scale < LEAST_SCALE * self.scale {
                    let problem = if upright {
                        "they ask for pipe beyond the upright"
                    } else {
                        "they ask for a pipe far shorter than the counter showed"
                    };
                    // Which of them it is shows before they bend anything.
                    return Err(solved
                        .adjustment(&coordinates, ties, self.zero_left(ties), (steps, false))
                        .err()
                        .unwrap_or_else(|| no_such_pipe(problem)));
                }
                equations = read_off(&state, terms, ties)?;
                equations.iter_mut().zip(&lips).for_each(|(e, lips)| e.modelled.lips.clone_from(lips));
                solved = self.solve(&state, &coordinates, equations);
            }
        }
        let mut adjustment = solved.adjustment(&coordinates, ties, self.zero_left(ties), (steps, converged))?;
        adjustment.station_m = station_errors_m(&coordinates, ties, &state.errors);
        let posterior = self.tied_by(solved, state, coordinates, terms);
        posterior.no_sill_between(terms, ties)?;
        Ok((posterior, adjustment))
    }

    /// What the zero was left at, where checks of the head are among the ties.
    fn zero_left(&self, ties: &[Tie]) -> ZeroLeft {
        let open = self.zero_is_open && ties.iter().any(Tie::is_of_head);
        // Runs from both ends find the zero by themselves: then a check checks it.
        let unfound = |zero: &&Parameter| open && zero.sd >= OPEN_SHARE * zero.prior_sd;
        ZeroLeft { sd_rad: self.zero_parameter().filter(unfound).map(|zero| zero.prior_sd) }
    }

    /// What this posterior says a tie will show, with the tie's own error in it; `None` where it says nothing, or of a tie that is more than
    /// one number.
    pub fn predicted(&self, terms: &Terms<'_>, tie: &Tie) -> Option<Estimate> {
        let first = self.first();
        let mut state = State {
            errors: Vec::new(),
            tilt_rad: self.tilt_rad.clone(),
            scale: self.scale,
            rise_m: self.step_rise_m.clone(),
            bend_rad: self.bend_rad.clone(),
            zero_rad: self.zero_parameter().map_or(0.0, |z| z.value),
            station_m: Vec::new(),
            open: [0.0; Functional::OPEN],
            origin: [0.0; Functional::OPEN],
            told: [true; Functional::OPEN],
            noted_scale: None,
        };
        state.open[Functional::ELEVATION] = first.elevation_m.unwrap_or(0.0);
        state.open[Functional::AZIMUTH] = first.azimuth_rad.unwrap_or(0.0);
        [state.open[Functional::EAST], state.open[Functional::NORTH]] = first.plan_m.unwrap_or_default();
        tie.validate().ok()?;
        let equations = read_off(&state, terms, core::slice::from_ref(tie)).ok()?;
        let [equation] = equations.as_slice() else { return None };
        let of_chain = self.estimate(&equation.modelled);
        let own = equation.stations.iter().fold(equation.sd * equation.sd, |sum, by| sum + by * by);
        Some(Estimate::new(of_chain.value, (of_chain.sd * of_chain.sd + own).sqrt())).filter(|e| e.sd.is_finite())
    }

    /// Covariance of east and north at stations, where the plan is determined.
    pub fn plan_covariance_m2(&self, layout: &Layout, path: &Path, station_m: &[f64]) -> Vec<Option<PlanCovariance>> {
        if self.first().plan_m.is_none() || self.first().azimuth_rad.is_none() {
            return vec![None; station_m.len()];
        }
        let of = |s: &f64| {
            let plan = path.plan(layout, &self.bend_rad, *s)?;
            let axes = [0, 1].map(|axis| {
                let mut quantity = self.constant();
                quantity.tilt.iter_mut().zip(&plan.tilt).for_each(|(g, by)| *g = by[axis]);
                quantity.bend.iter_mut().zip(&plan.bend).for_each(|(g, by)| *g = by[axis]);
                quantity.scale = plan.scale[axis];
                quantity.open[Functional::EAST + axis] = 1.0;
                quantity.open[Functional::AZIMUTH] = plan.azimuth[axis];
                quantity
            });
            let [east_sd_m, north_sd_m] = axes.each_ref().map(|axis| self.estimate(axis).sd);
            Some(PlanCovariance { east_sd_m, north_sd_m, covariance_m2: self.covariance(&axes[0], &axes[1]) })
        };
        let is_finite = |p: &PlanCovariance| p.east_sd_m.is_finite() && p.north_sd_m.is_finite();
        station_m.iter().map(|s| of(s).filter(is_finite)).collect()
    }

    /// The posterior between this one and another with the same ties but for what one of them shows, at a share of the way: it moves
    /// straight with what is measured.
    #[must_use]
    pub fn towards(&self, other: &Self, share: f64) -> Self {
        let between = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a + share * (b - a)).collect::<Vec<f64>>();
        let mut moved = self.clone();
        moved.tilt_rad = between(&self.tilt_rad, &other.tilt_rad);
        moved.step_rise_m = between(&self.step_rise_m, &other.step_rise_m);
        moved.scale = self.scale + share * (other.scale - self.scale);
        if let (Some(moved), Some(other)) = (&mut moved.tied, &other.tied) {
            moved.moved_rad = between(&moved.moved_rad, &other.moved_rad);
        }
        moved
    }

    /// Where the chain lies before ties, with a first guess of what is open.
    fn begin(&self, terms: &Terms<'_>, ties: &[Tie]) -> State {
        let mut state = State {
            errors: Vec::new(),
            tilt_rad: self.tilt_rad.clone(),
            scale: self.scale,
            rise_m: self.step_rise_m.clone(),
            bend_rad: self.bend_rad.clone(),
            zero_rad: self.zero_parameter().map_or(0.0, |z| z.value),
            station_m: vec![[0.0; 2]; ties.len()],
            open: [0.0; Functional::OPEN],
            origin: origin(ties),
            told: [true; Functional::OPEN],
            noted_scale: None,
        };
        if let Some(datum) = &self.datum {
            state.origin[Functional::ELEVATION] = datum.elevation_m;
        }
        state.open[Functional::AZIMUTH] = first_azimuth(&state, terms, ties);
        state
    }

    /// The coordinates that equations need: lips between all their stations.
    fn coordinates(&self, equations: &[Equation], ties: &[Tie]) -> Coordinates {
        let lips = equations.iter().flat_map(|e| &e.modelled.lips);
        let mut cuts: Vec<f64> = lips.flat_map(|l| [l.from_m, l.to_m]).collect();
        cuts.sort_by(f64::total_cmp);
        cuts.dedup();
        if self.lip_variance_m == 0.0 {
            cuts.clear();
        }
        let stations: Vec<[f64; 2]> = ties.iter().map(Tie::station_sds_m).collect();
        Coordinates::new(self, cuts, equations.iter().map(|e| e.tie).collect(), &stations)
    }

    /// Makes equations straight, puts what is open into them, and solves them.
    fn solve(&self, state: &State, coordinates: &Coordinates, equations: Vec<Equation>) -> Solved {
        let in_value = coordinates.in_value();
        let (mut columns, mut by_open, mut given) = (Vec::new(), Vec::new(), Vec::new());
        for (i, equation) in equations.iter().enumerate() {
            let (mut column, _) = coordinates.of(self, &equation.modelled);
            column[coordinates.equation(i)] = equation.sd;
            for (end, by) in equation.stations.iter().enumerate() {
                if let Some(i) = coordinates.station(equation.tie, end) {
                    column[i] = *by;
                }
            }
            // What of the errors as they stand is in the modelled value already.
            let counted: f64 = in_value.iter().map(|r| dot(&column[r.clone()], &state.errors[r.clone()])).sum();
            let mut open = equation.modelled.open;
            if self.datum.is_some() {
                open[Functional::ELEVATION] = 0.0;
            }
            open.iter_mut().zip(&state.told).filter(|(_, told)| !**told).for_each(|(open, _)| *open = 0.0);
            given.push((equation.measured - equation.origin) - equation.modelled.value + counted);
            columns.push(column);
            by_open.push(open);
        }
        let (pivots, combined) = take_open(&mut columns, &mut by_open, &mut given);
        let rest: Vec<usize> = (0..columns.len()).filter(|j| pivots.iter().all(|p| p.equation != *j)).collect();
        let basis = Basis::new(rest.iter().map(|&j| columns[j].as_slice()));
        let (closed, missed) = basis.coefficients(&rest.iter().map(|&j| given[j]).collect::<Vec<f64>>());
        let pivot_given = pivots.iter().map(|p| given[p.equation]).collect();
        Solved { equations, pivots, pivot_given, combined, rest, basis, closed, missed }
    }

    /// Moves the chain to where the unit errors put it.
    fn move_to(
        &self,
        state: &mut State,
        errors: Vec<f64>,
        open: [f64; Functional::OPEN],
        coordinates: &Coordinates,
        ties: &[Tie],
    ) {
        let moved = coordinates.moved(self, &errors);
        state.tilt_rad = self.tilt_rad.iter().zip(&moved.tilt_rad).map(|(t, m)| t + m).collect();
        state.scale = self.scale + moved.scale;
        state.rise_m = self.step_rise_m.iter().zip(&moved.step_m).map(|(r, m)| r + m).collect();
        let bends = self.bend_rad.iter().zip(&self.bend_sd_rad).enumerate();
        state.bend_rad = bends.map(|(i, (b, sd))| b + sd * errors[coordinates.bend(i)]).collect();
        state.zero_rad = self.zero_parameter().map_or(0.0, |z| z.value + dot(&coordinates.parameter(self, z), &errors));
        state.station_m = station_errors_m(coordinates, ties, &errors);
        (state.errors, state.open) = (errors, open);
    }

    /// The posterior that the solution is.
    fn tied_by(&self, solved: Solved, state: State, coordinates: Coordinates, terms: &Terms<'_>) -> Self {
        let told = solved.told();
        let determined = |open: usize| told[open];
        let plan = [Functional::EAST, Functional::NORTH, Functional::AZIMUTH].map(determined);
        let at = |open: usize| state.origin[open] + state.open[open];
        let first = First {
            elevation_m: (determined(Functional::ELEVATION) || self.datum.is_some())
                .then_some(at(Functional::ELEVATION)),
            plan_m: (plan[0] && plan[1]).then_some([at(Functional::EAST), at(Functional::NORTH)]),
            azimuth_rad: plan[2].then_some(state.open[Functional::AZIMUTH]),
        };
        let gain = solved.basis.vectors.iter().map(|q| coordinates.moved(self, q)).collect();
        let mut tied = Tied {
            lips_m: coordinates.lips_m(self.lip_variance_m, &state.errors),
            gain,
            moved_rad: state.tilt_rad.iter().zip(&self.tilt_rad).map(|(after, before)| after - before).collect(),
            even: Vec::new(),
            coordinates,
            pivots: solved.pivots,
            basis: solved.basis,
            first,
        };
        let mut posterior = Self {
            tilt_rad: state.tilt_rad,
            scale: state.scale,
            step_rise_m: state.rise_m,
            bend_rad: state.bend_rad,
            ..self.clone()
        };
        // Of the fall over the whole what the ties leave decides most findings.
        let profile = terms.layout.profile(&posterior.tilt_rad, posterior.scale, Some(&posterior.step_rise_m));
        let (first_m, last_m) = ends(terms.layout);
        let fall = posterior.shape(terms.layout, &profile).fall(first_m, last_m);
        tied.even = tied.largest(&tied.coordinates.of(self, &fall).0, EVEN);
        for parameter in &mut posterior.parameters {
            let mut vector = tied.coordinates.parameter(self, parameter);
            parameter.value += dot(&vector, &state.errors);
            tied.basis.take_off(&mut vector);
            parameter.sd = dot(&vector, &vector).sqrt();
        }
        posterior.tied = Some(Box::new(tied));
        posterior
    }

    /// Refuses water between whose places there is pipe that stands out of it.
    fn no_sill_between(&self, terms: &Terms<'_>, ties: &[Tie]) -> Result<(), Error> {
        let profile = terms.layout.profile(&self.tilt_rad, self.scale, Some(&self.step_rise_m));
        let shape = self.shape(terms.layout, &profile);
        for (number, tie) in ties.iter().enumerate() {
            let (from, to, level, edges, seen_sd_m) = match &tie.known {
                Known::WaterLevel { from, to, level_sd_m, seen, .. } => {
                    let level = shape.height(from.station_m).plus(shape.height(to.station_m)).times(0.5);
                    (from, to, level, 2.0, level_sd_m.unwrap_or_else(|| seen.level_sd_m()))
                }
                Known::WaterDepth { at, edge, level_sd_m, seen, .. } => {
                    let level = shape.height(edge.station_m);
                    (at, edge, level, 1.0, level_sd_m.unwrap_or_else(|| seen.level_sd_m()))
                }
                _ => continue,
            };
            let (low_m, high_m) = (from.station_m.min(to.station_m), from.station_m.max(to.station_m));
            let out = |(s, h): &(f64, f64)| low_m < *s && *s < high_m && h - profile.height_m[0] - level.value > HUMP_M;
            let highest = profile.nodes().filter(out).max_by(|a, b| a.1.total_cmp(&b.1));
            let Some((station_m, _)) = highest else { continue };
            let hump = self.estimate(&shape.height(station_m).plus(level.times(-1.0)));
            // The level itself is no better known than its edges were read: of two the mean.
            let slope = |at: &Place| {
                let half_m = at.sd_m.max(equation::ABOUT_M);
                let rise_m = shape.height_m(at.station_m + half_m) - shape.height_m(at.station_m - half_m);
                rise_m / (2.0 * half_m) * at.sd_m
            };
            let placed =
                if edges > 1.5 { slope(from) * slope(from) + slope(to) * slope(to) } else { slope(to) * slope(to) };
            let read_m = (seen_sd_m * seen_sd_m / edges + placed / (edges * edges)).sqrt();
            if hump.value > HUMP_SDS * crate::math::hypot(hump.sd, read_m) {
                let problem = format!(
                    "the pipe at {station_m:.2} m stands {:.0} mm out of that water: there are two pools",
                    1000.0 * hump.value
                );
                return Err(refuse(number, tie, &problem, "two places in one pool"));
            }
        }
        Ok(())
    }
}

impl Solved {
    /// What of the open unknowns the ties say.
    fn told(&self) -> [bool; Functional::OPEN] {
        core::array::from_fn(|open| self.pivots.iter().any(|p| p.open == open))
    }

    /// The unit errors and the open unknowns.
    fn solution(&self, coordinates: &Coordinates, state: &State) -> (Vec<f64>, [f64; Functional::OPEN]) {
        let mut errors = self.basis.combine(&self.closed);
        errors.resize(coordinates.len(), 0.0);
        let mut by = [0.0; Functional::OPEN];
        for (pivot, given) in self.pivots.iter().zip(&self.pivot_given).rev() {
            let others: f64 =
                (0..Functional::OPEN).filter(|o| *o != pivot.open).map(|o| pivot.by_open[o] * by[o]).sum();
            by[pivot.open] = (given - dot(&pivot.vector, &errors) - others) / pivot.by_open[pivot.open];
        }
        let mut open = state.open;
        open.iter_mut().zip(by).for_each(|(open, by)| *open += by);
        (errors, open)
    }
}

/// What coordinates are counted from: the first elevation and position among the ties.
fn origin(ties: &[Tie]) -> [f64; Functional::OPEN] {
    let elevation = ties.iter().find_map(|tie| match &tie.known {
        Known::Invert { elevation_m, .. } => Some(*elevation_m),
        Known::Depth { ground_m, .. } => *ground_m,
        _ => None,
    });
    let position = ties.iter().find_map(|tie| match &tie.known {
        Known::Plan { east_m, north_m, .. } => Some([*east_m, *north_m]),
        _ => None,
    });
    let [east, north] = position.unwrap_or_default();
    let mut origin = [0.0; Functional::OPEN];
    origin[Functional::ELEVATION] = elevation.unwrap_or(0.0);
    (origin[Functional::EAST], origin[Functional::NORTH]) = (east, north);
    origin
}

/// A first guess of the azimuth of the first node: from one that is known, else from the turn that lays the path, begun due north,
/// best over the plan positions.
fn first_azimuth(state: &State, terms: &Terms<'_>, ties: &[Tie]) -> f64 {
    let north = Start { azimuth_rad: Some(0.0), ..Start::default() };
    let path = Path::new(terms.layout, &state.tilt_rad, state.scale, north);
    let (first_m, last_m) = ends(terms.layout);
    let at = |place: &Place| label(place, 0.0, terms, state.scale).0.max(first_m).min(last_m);
    let known = ties.iter().find_map(|tie| match &tie.known {
        Known::Azimuth { at: place, azimuth_rad, .. } => Some(azimuth_rad - path.azimuth(at(place))?),
        _ => None,
    });
    if let Some(azimuth) = known {
        return azimuth;
    }
    let positions: Vec<([f64; 2], [f64; 2])> = ties
        .iter()
        .filter_map(|tie| match &tie.known {
            Known::Plan { at: place, east_m, north_m, .. } => {
                let [east, north, _] = path.position(at(place))?;
                Some(([east, north], [*east_m, *north_m]))
            }
            _ => None,
        })
        .collect();
    let count = positions.len().max(1) as f64;
    let sums = positions.iter().fold([0.0; 4], |sum, (laid, known)| {
        [sum[0] + laid[0], sum[1] + laid[1], sum[2] + known[0], sum[3] + known[1]]
    });
    let centre = sums.map(|sum| sum / count);
    // Turning to the right by a: east' = east cos a + north sin a, north' = north cos a - east sin a.
    let (mut along, mut across) = (0.0, 0.0);
    for (laid, known) in &positions {
        let (e, n) = (laid[0] - centre[0], laid[1] - centre[1]);
        let (east, north) = (known[0] - centre[2], known[1] - centre[3]);
        along += e * east + n * north;
        across += n * east - e * north;
    }
    if along == 0.0 && across == 0.0 { 0.0 } else { crate::math::atan2(across, along) }
}

/// The equations where the chain lies.
fn read_off(state: &State, terms: &Terms<'_>, ties: &[Tie]) -> Result<Vec<Equation>, Error> {
    let layout = terms.layout;
    let profile = layout.profile(&state.tilt_rad, state.scale, Some(&state.rise_m));
    let start = Start {
        azimuth_rad: Some(state.open[Functional::AZIMUTH]),
        east_m: state.open[Functional::EAST],
        north_m: state.open[Functional::NORTH],
    };
    let in_plan = ties.iter().any(|t| matches!(t.known, Known::Plan { .. } | Known::Azimuth { .. }));
    let path = in_plan
        .then(|| Path::turned(layout, &state.tilt_rad, state.scale, start, Some(&state.bend_rad), Some(&state.rise_m)));
    let cosine = cosines(&state.tilt_rad);
    let now = Now {
        shape: Shape {
            cosine: Some(&cosine),
            layout,
            tilt_rad: &state.tilt_rad,
            rise_m: &state.rise_m,
            bends: state.bend_rad.len(),
            profile: &profile,
        },
        path: path.as_ref(),
        bend_rad: &state.bend_rad,
        zero_rad: state.zero_rad,
        elevation_m: state.open[Functional::ELEVATION],
        origin: state.origin,
        station_m: &state.station_m,
        noted_scale: state.noted_scale,
    };
    let mut equations = Vec::new();
    for (number, tie) in ties.iter().enumerate() {
        equations.extend(now.equations(number, tie, terms)?);
    }
    Ok(equations)
}

/// First and last station of a layout, m.
fn ends(layout: &Layout) -> (f64, f64) {
    let breaks = layout.breaks_m();
    (breaks.first().copied().unwrap_or(0.0), breaks.last().copied().unwrap_or(0.0))
}

/// Refuses ties outside the survey, and levels of water that was running.
fn check(terms: &Terms<'_>, ties: &[Tie]) -> Result<(), Error> {
    let (first_m, last_m) = ends(terms.layout);
    for (number, tie) in ties.iter().enumerate() {
        tie.validate().map_err(|e| of_tie(number, tie, &e))?;
        let (from, to) = tie.stations_m();
        let behind = match &tie.known {
            Known::Depth { at, behind_m, .. } => Some(at.station_m + equation::behind_head(terms, *behind_m)),
            _ => None,
        };
        for station_m in [from, to, behind].into_iter().flatten() {
            if !is_near((first_m, last_m), station_m) {
                return Err(Error::Outside { what: told(number, tie), station_m, from_m: first_m, to_m: last_m });
            }
        }
        if let Known::WaterLevel { from, to, .. } = &tie.known
            && from.station_m == to.station_m
        {
            return Err(refuse(number, tie, "both edges are at one station", "the two edges of one pool"));
        }
        let (Known::WaterLevel { although_running, .. } | Known::WaterDepth { although_running, .. }) = &tie.known
        else {
            continue;
        };
        if terms.water_runs && !although_running {
            return Err(refuse(
                number,
                tie,
                "the job says that water was running, and running water is not level",
                "still water; or `although_running`, if you know that it stood there",
            ));
        }
    }
    Ok(())
}

#[cfg(test)]
#[path = "../ties_tests.rs"]
mod tests;

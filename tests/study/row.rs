//! One row of a table: the quantities of a case, over many laterals.

use fallwise::{
    Lateral,
    adjust::{Estimate, SCALE, ZERO},
    math,
    pool::{PoolEstimate, PoolState, Spread, TOLERANCE_M},
};

use crate::{
    Error, parallel,
    shape::{LENGTH_M, Shape},
    share::Share,
    survey::{Case, Survey, Zero},
    ties::{DATUM_M, TieSet},
    water::{self, Water},
};

/// Half of the normal distribution lies within so many standard deviations.
const Z_50: f64 = 0.674_489_750_196_082;
/// A stick has ends of its own where a segment's end is farther than this from either of them, m: five readings.
const APART_M: f64 = 0.25;

/// What an interval is given for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Quantity {
    /// Slope of a segment that was found, between its own ends.
    FoundSegment,
    /// Slope of a stick whose ends are not both those of segments that were found.
    Stick,
    /// Slope of a stick, its joints noted as features.
    NotedStick,
    /// Slope of a stick, the breaks given.
    GivenStick,
    /// Slope of the whole.
    Reach,
    /// Fall to the far end.
    End,
    /// Zero error of the head.
    Zero,
    /// Station of a break that is there with a probability of 0.95 or more.
    Break,
    /// Depth of a pool truly deeper than the tolerance and three standard deviations.
    PoolDepth,
    /// Volume of such a pool.
    PoolVolume,
    /// Upper limit of the depth of any other pool.
    PoolLimit,
    /// A pool said to exist with a probability of 0.95 or more does.
    PoolExists,
    /// No pool is found where there is none.
    NoFalsePool,
    /// Elevation of the far end, where ties give a datum.
    Elevation,
    /// Scale of the counter.
    Scale,
    /// Ties drawn as stated are not refused.
    NotRefused,
}

impl Quantity {
    /// All of them, in the order of the tables.
    pub const ALL: [Self; 16] = [
        Self::FoundSegment,
        Self::Stick,
        Self::NotedStick,
        Self::GivenStick,
        Self::Reach,
        Self::End,
        Self::Zero,
        Self::Break,
        Self::PoolDepth,
        Self::PoolVolume,
        Self::PoolLimit,
        Self::PoolExists,
        Self::NoFalsePool,
        Self::Elevation,
        Self::Scale,
        Self::NotRefused,
    ];

    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Self::FoundSegment => "segment found",
            Self::Stick => "stick, joints unknown",
            Self::NotedStick => "stick, joints noted",
            Self::GivenStick => "stick, breaks given",
            Self::Reach => "whole slope",
            Self::End => "fall to the end",
            Self::Zero => "zero error",
            Self::Break => "break station",
            Self::PoolDepth => "pool depth",
            Self::PoolVolume => "pool volume",
            Self::PoolLimit => "upper limit of small pools",
            Self::PoolExists => "pools said to exist do",
            Self::NoFalsePool => "laterals without a false pool",
            Self::Elevation => "elevation of the end",
            Self::Scale => "counter scale",
            Self::NotRefused => "ties not refused",
        }
    }
}

/// At which level an interval is held against the truth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// 95 %.
    Wide,
    /// 50 %.
    Half,
}

impl Level {
    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Self::Wide => "95 %",
            Self::Half => "50 %",
        }
    }
}

/// How often intervals hold the truth, and how wide they are.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Coverage {
    /// At 95 %.
    pub in_95: Share,
    /// At 50 %, where there is such an interval.
    pub in_50: Share,
    /// Median width over that with the breaks given; with ties, over that of the same lateral without them.
    pub width: Option<f64>,
}

impl Coverage {
    /// The share at a level.
    pub fn at(&self, level: Level) -> &Share {
        match level {
            Level::Wide => &self.in_95,
            Level::Half => &self.in_50,
        }
    }
}

/// The row of a case.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The case.
    pub case: Case,
    coverage: Vec<Coverage>,
}

impl Row {
    /// Of one quantity.
    pub fn of(&self, quantity: Quantity) -> &Coverage {
        &self.coverage[quantity as usize]
    }
}

/// The row of a case, from so many laterals.
///
/// # Errors
/// A lateral that cannot be made or solved.
pub fn row(case: Case, laterals: usize, seed: u64) -> Result<Row, Error> {
    let mut measured = parallel::map(laterals, |number| {
        if case.ties == TieSet::None { measured(&case, seed, number) } else { tied(&case, seed, number) }
    })?;
    let mut sds_m: Vec<f64> = measured.iter().flat_map(|(_, looked)| looked).map(|pool| pool.depth.sd).collect();
    let usual_sd_m = math::median(&mut sds_m);
    for (tallies, looked) in &mut measured {
        limits(tallies, looked, usual_sd_m);
    }
    let mut coverage = vec![Coverage::default(); Quantity::ALL.len()];
    for (i, coverage) in coverage.iter_mut().enumerate() {
        let tallies = || measured.iter().map(|(tallies, _)| &tallies.0[i]);
        tallies().filter_map(|t| mean(&t.in_95)).for_each(|share| coverage.in_95.add(share));
        tallies().filter_map(|t| mean(&t.in_50)).for_each(|share| coverage.in_50.add(share));
        let mut widths: Vec<f64> = tallies().filter_map(|t| mean(&t.width)).collect();
        coverage.width = Some(math::median(&mut widths)).filter(|width| width.is_finite());
    }
    Ok(Row { case, coverage })
}

/// What one lateral says of one quantity.
#[derive(Debug, Clone, Default)]
struct Tally {
    in_95: Vec<f64>,
    in_50: Vec<f64>,
    width: Vec<f64>,
}

/// What one lateral says of all of them.
#[derive(Debug)]
struct Tallies(Vec<Tally>);

impl Tallies {
    fn of(&mut self, quantity: Quantity) -> &mut Tally {
        &mut self.0[quantity as usize]
    }

    /// Whether the interval of an estimate holds the truth; beside it the same with the breaks given.
    fn estimate(&mut self, quantity: Quantity, estimate: Estimate, truth: f64, given: Option<Estimate>) {
        let tally = self.of(quantity);
        tally.in_95.push(yes(estimate.low <= truth && truth <= estimate.high));
        tally.in_50.push(yes((truth - estimate.value).abs() <= Z_50 * estimate.sd));
        tally.width.extend(given.map(|given| estimate.sd / given.sd));
    }
}

fn measured(case: &Case, seed: u64, number: u32) -> Result<(Tallies, Vec<Looked>), Error> {
    let survey = case.survey(seed, number)?;
    let joints_m = case.shape.joints_m(&survey.truth);
    let lateral = Lateral::solve(survey.job.clone())?;
    let (given, noted) = if joints_m.is_empty() {
        (None, None)
    } else {
        (Some(Lateral::solve(survey.given(&joints_m))?), Some(Lateral::solve(survey.noted(&joints_m))?))
    };
    let mut tallies = Tallies(vec![Tally::default(); Quantity::ALL.len()]);
    segments(&mut tallies, &survey, &lateral, given.as_ref());
    sticks(&mut tallies, &survey, &case.shape.laid_m(&survey.truth), [Some(&lateral), given.as_ref(), noted.as_ref()]);
    whole(&mut tallies, &survey, &lateral, given.as_ref());
    breaks(&mut tallies, case.shape, &survey, &lateral);
    if case.zero != Zero::Known {
        tallies.estimate(Quantity::Zero, parameter(&lateral, ZERO)?, survey.zero_rad, None);
    }
    let looked = pools(&mut tallies, &survey, &lateral.pools(), &[]);
    Ok((tallies, looked))
}

/// The same with ties, held beside the lateral without them.
fn tied(case: &Case, seed: u64, number: u32) -> Result<(Tallies, Vec<Looked>), Error> {
    let survey = case.survey(seed, number)?;
    let mut tallies = Tallies(vec![Tally::default(); Quantity::ALL.len()]);
    let lateral = match Lateral::solve(survey.job.clone()) {
        Err(fallwise::Error::TiesContradict { .. } | fallwise::Error::Tie { .. }) => {
            tallies.of(Quantity::NotRefused).in_95.push(yes(false));
            return Ok((tallies, Vec::new()));
        }
        solved => solved?,
    };
    tallies.of(Quantity::NotRefused).in_95.push(yes(true));
    let bare = Lateral::solve(survey.bare())?;
    segments(&mut tallies, &survey, &lateral, Some(&bare));
    whole(&mut tallies, &survey, &lateral, Some(&bare));
    for (quantity, name, truth) in
        [(Quantity::Zero, ZERO, survey.zero_rad), (Quantity::Scale, SCALE, survey.counter_scale)]
    {
        tallies.estimate(quantity, parameter(&lateral, name)?, truth, Some(parameter(&bare, name)?));
    }
    if case.ties.has_datum() {
        let path = lateral.answers(None)?.path;
        let end = path.last().ok_or("a path")?;
        let (elevation_m, sd_m) = end.elevation_m.zip(end.elevation_sd_m).ok_or("no elevation")?;
        let truth_m = DATUM_M + survey.truth.height_m(survey.true_m(end.station_m));
        tallies.estimate(Quantity::Elevation, Estimate::new(elevation_m, sd_m), truth_m, None);
    }
    let looked = pools(&mut tallies, &survey, &lateral.pools(), &bare.pools());
    Ok((tallies, looked))
}

fn parameter(lateral: &Lateral, name: &str) -> Result<Estimate, Error> {
    let of = lateral.posterior().parameter(name).ok_or("not among the parameters")?;
    Ok(Estimate::new(of.value, of.sd))
}

fn segments(tallies: &mut Tallies, survey: &Survey, lateral: &Lateral, given: Option<&Lateral>) {
    for ends in lateral.chain().breaks_m.windows(2) {
        let Some(slope) = lateral.slope_between(ends[0], ends[1]) else { continue };
        let truth = survey.truth.slope(survey.true_m(ends[0]), survey.true_m(ends[1]));
        let given = given.and_then(|g| g.slope_between(ends[0], ends[1]));
        tallies.estimate(Quantity::FoundSegment, slope, truth, given);
    }
}

/// From joint to joint, or every three metres where there are none; as found, with the breaks given, with joints noted.
fn sticks(tallies: &mut Tallies, survey: &Survey, joints_m: &[f64], [found, given, noted]: [Option<&Lateral>; 3]) {
    for ends in joints_m.windows(2) {
        let ends_m = [ends[0], ends[1]].map(|s| survey.station_m(s));
        let truth = survey.truth.slope(survey.true_m(ends_m[0]), survey.true_m(ends_m[1]));
        let slope = |lateral: &Lateral| lateral.slope_between(ends_m[0], ends_m[1]);
        let known = given.and_then(slope);
        let is_an_end = |s: &f64| found.is_some_and(|l| l.chain().breaks_m.iter().any(|b| (b - s).abs() <= APART_M));
        let of = [
            (Quantity::Stick, found.filter(|_| !ends_m.iter().all(is_an_end))),
            (Quantity::NotedStick, noted),
            (Quantity::GivenStick, given),
        ];
        for (quantity, lateral) in of {
            if let Some(slope) = lateral.and_then(slope) {
                tallies.estimate(quantity, slope, truth, known);
            }
        }
    }
}

fn whole(tallies: &mut Tallies, survey: &Survey, lateral: &Lateral, given: Option<&Lateral>) {
    let (first_m, last_m) = lateral.surveyed_m();
    let truth_m = (survey.true_m(first_m), survey.true_m(last_m));
    if let Some(slope) = lateral.slope_between(first_m, last_m) {
        let truth = survey.truth.slope(truth_m.0, truth_m.1);
        tallies.estimate(Quantity::Reach, slope, truth, given.and_then(|g| g.slope_between(first_m, last_m)));
    }
    if let Some(fall) = lateral.fall_between(first_m, last_m) {
        let truth = survey.truth.fall_m(truth_m.0, truth_m.1);
        tallies.estimate(Quantity::End, fall, truth, given.and_then(|g| g.fall_between(first_m, last_m)));
    }
}

/// Breaks that are all but certain, against the nearest true one.
fn breaks(tallies: &mut Tallies, shape: Shape, survey: &Survey, lateral: &Lateral) {
    let true_m = shape.breaks_m(&survey.truth);
    for segment in lateral.segments().iter().skip(1) {
        let interval = segment.break_low_m.zip(segment.break_high_m);
        let Some(interval) = interval.filter(|_| segment.break_probability.is_some_and(|p| p >= 0.95)) else {
            continue;
        };
        let at_m = survey.true_m(segment.from_m);
        let nearest = true_m.iter().copied().min_by(|a, b| (a - at_m).abs().total_cmp(&(b - at_m).abs()));
        if let Some(nearest_m) = nearest {
            let holds = survey.true_m(interval.0) <= nearest_m && nearest_m <= survey.true_m(interval.1);
            tallies.of(Quantity::Break).in_95.push(yes(holds));
        }
    }
}

/// A pool as told, and its truth.
#[derive(Debug, Clone, Copy)]
struct Looked {
    depth: Spread,
    volume: Option<Spread>,
    middle_half_m: (f64, f64),
    truth: Water,
    /// Standard deviation of the depth of the same pool without ties, m.
    bare_sd_m: Option<f64>,
}

fn pools(tallies: &mut Tallies, survey: &Survey, pools: &[PoolEstimate], bare: &[PoolEstimate]) -> Vec<Looked> {
    let mut wrong = false;
    let mut looked = Vec::new();
    for pool in pools {
        let ends_m = [pool.from_m, pool.to_m].map(|s| survey.true_m(s).clamp(0.0, LENGTH_M));
        let truth = water::between(&survey.truth, &survey.bore, ends_m[0], ends_m[1]);
        wrong |= pool.state == PoolState::Found && truth.depth_m <= TOLERANCE_M;
        if pool.exists_probability.is_some_and(|p| p >= 0.95) {
            tallies.of(Quantity::PoolExists).in_95.push(yes(truth.depth_m > TOLERANCE_M));
        }
        let Some(depth) = pool.depth_m else { continue };
        let mut draws_m = pool.depth_draws_m.clone();
        draws_m.sort_by(f64::total_cmp);
        let middle_half_m = (math::quantile(&draws_m, 0.25), math::quantile(&draws_m, 0.75));
        let same = bare.iter().find(|other| other.from_m < pool.to_m && pool.from_m < other.to_m);
        let bare_sd_m = same.and_then(|p| p.depth_m).map(|depth| depth.sd).filter(|sd| *sd > 0.0);
        looked.push(Looked { depth, volume: pool.volume_m3, middle_half_m, truth, bare_sd_m });
    }
    tallies.of(Quantity::NoFalsePool).in_95.push(yes(!wrong));
    looked
}

/// Limits of the pools of all laterals. Which of them are deep is a matter of the truth and of the standard deviation that
/// is usual in this row, not of the one that a pool was given: that follows what was found, and would pick what is wrong.
fn limits(tallies: &mut Tallies, looked: &[Looked], usual_sd_m: f64) {
    for pool in looked {
        let Looked { depth, volume, middle_half_m, truth, bare_sd_m } = *pool;
        if truth.depth_m <= TOLERANCE_M.max(3.0 * usual_sd_m) {
            tallies.of(Quantity::PoolLimit).in_95.push(yes(truth.depth_m <= depth.high));
            continue;
        }
        let holds = |of: Spread, truth: f64| of.low.is_none_or(|low| low <= truth) && truth <= of.high;
        tallies.of(Quantity::PoolDepth).in_95.push(yes(holds(depth, truth.depth_m)));
        let half = middle_half_m.0 <= truth.depth_m && truth.depth_m <= middle_half_m.1;
        tallies.of(Quantity::PoolDepth).in_50.push(yes(half));
        tallies.of(Quantity::PoolDepth).width.extend(bare_sd_m.map(|bare| depth.sd / bare));
        if let Some(volume) = volume {
            tallies.of(Quantity::PoolVolume).in_95.push(yes(holds(volume, truth.volume_m3)));
        }
    }
}

fn yes(holds: bool) -> f64 {
    f64::from(u8::from(holds))
}

fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_stand_at_their_place() {
        assert!(Quantity::ALL.iter().enumerate().all(|(i, q)| *q as usize == i));
    }
}

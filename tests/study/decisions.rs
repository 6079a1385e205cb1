//! How often a rule is said to be met, or failed, by straight pipe of a fixed slope at and beside its limit.

use fallwise::{
    Instrument, Lateral, Rulebook,
    math::{self, Random},
    rules::Verdict,
    simulate::{Head, Truth},
};

use crate::{
    Error, parallel,
    shape::{LENGTH_M, STICK_M, STICKS},
    share::Share,
    survey::{BORE_M, Making, Survey, Zero},
    ties::{self, TieSet},
    water,
};

/// The limit that the rule asks for.
pub const LIMIT: f64 = 0.02;
/// Slopes at which it is tried.
const SLOPES: [f64; 3] = [0.019, LIMIT, 0.021];

/// What was said of many pipes of one slope.
#[derive(Debug, Clone, PartialEq)]
pub struct Decisions {
    /// What was known of the zero.
    pub zero: Zero,
    /// The slope.
    pub slope: f64,
    /// The reach meets.
    pub meets: Share,
    /// The reach fails.
    pub fails: Share,
    /// The lateral meets.
    pub all_meet: Share,
    /// The lateral fails.
    pub all_fail: Share,
}

/// A book with one row: 2 % at least.
///
/// # Errors
/// None, unless rulebooks are read otherwise than here.
pub fn two_percent() -> Result<Rulebook, Error> {
    let text = "name = 't'\ntitle = 't'\nversion = '1'\njurisdiction = 'none'\n[[rule]]\nid = 'a'\ndocument = 'd'\n\
                edition = 'e'\nclause = 'c'\ntext = 't'\nforce = 'contract'\napplies_to = 'all'\nconfirmed = true\n\
                source_mark = 's'\nmin_slope = '2 %'\n";
    Ok(Rulebook::parse(text)?)
}

/// A survey of straight pipe by a common head with all that the default instrument states.
///
/// # Errors
/// Those of the simulation.
pub fn straight(slope: f64, zero: Zero, random: &mut Random) -> Result<Survey, Error> {
    let truth = Truth { breaks_m: vec![0.0, LENGTH_M], tilt_rad: vec![math::atan(slope)], lips: Vec::new() };
    usual(truth, zero, random)
}

/// A survey of a pipe by a common head with all that the default instrument states.
fn usual(truth: Truth, zero: Zero, random: &mut Random) -> Result<Survey, Error> {
    let bore = fallwise::Bore::circle(BORE_M)?;
    let joints_m = (1..STICKS).map(|k| STICK_M * k as f64).collect();
    let making = Making { zero_factor: 1.0, joints_m, list: Vec::new(), spacing_m: 0.05, bore, random };
    Survey::made(truth, &Head::default(), &Instrument::default(), zero, making)
}

/// What is said at each slope, with the zero unknown and checked.
///
/// # Errors
/// A lateral that cannot be made, solved or checked.
pub fn decisions(laterals: usize, seed: u64) -> Result<Vec<Decisions>, Error> {
    let book = two_percent()?;
    let mut all = Vec::new();
    for zero in [Zero::Unknown, Zero::Checked] {
        for slope in SLOPES {
            let verdicts = parallel::map(laterals, |number| {
                let lateral = Lateral::solve(straight(slope, zero, &mut Random::new(seed, 2, number))?.job)?;
                let check = lateral.check(&book)?;
                let reach = check.parts.first().ok_or("no finding for the reach")?;
                Ok((reach.verdict, check.lateral.verdict))
            })?;
            let reach = |verdict| verdicts.iter().map(|v| v.0 == verdict).collect();
            let whole = |verdict| verdicts.iter().map(|v| v.1 == verdict).collect();
            all.push(Decisions {
                zero,
                slope,
                meets: reach(Verdict::Meets),
                fails: reach(Verdict::Fails),
                all_meet: whole(Verdict::Meets),
                all_fail: whole(Verdict::Fails),
            });
        }
    }
    Ok(all)
}

/// Steps by which slopes differ that are tried with ties: about a standard deviation of the slope with two inverts.
const STEP: f64 = 0.0005;
/// Steps to either side of the limit: half a percent.
const STEPS: i32 = 10;
/// Belly of the pipes whose water is read, m: length and depth.
const BELLY_M: (f64, f64) = (6.0, 0.04);

/// What was said, with ties, of many pipes of one slope.
#[derive(Debug, Clone, PartialEq)]
pub struct TiedDecisions {
    /// The ties.
    pub ties: TieSet,
    /// The slope of the reach.
    pub slope: f64,
    /// The reach meets.
    pub meets: Share,
    /// The reach fails.
    pub fails: Share,
    /// The lateral is refused for its ties, which are right.
    pub refused: Share,
}

/// What is said of a reach at each slope from half a percent below the limit to half a percent above it, with two inverts, and with the
/// edges of the water in a belly.
///
/// # Errors
/// A lateral that cannot be made, solved or checked.
pub fn tied_decisions(laterals: usize, seed: u64) -> Result<Vec<TiedDecisions>, Error> {
    let book = two_percent()?;
    let mut all = Vec::new();
    for ties in [TieSet::Inverts, TieSet::Water] {
        for step in -STEPS..=STEPS {
            let slope = LIMIT + STEP * f64::from(step);
            let verdicts = parallel::map(laterals, |number| {
                let random = &mut Random::new(seed, 6, number);
                let mut survey = tied(slope, ties, random)?;
                ties::put(ties, &mut survey, &Head::default(), 1.0, random)?;
                let lateral = match Lateral::solve(survey.job) {
                    Err(fallwise::Error::TiesContradict { .. } | fallwise::Error::Tie { .. }) => return Ok(None),
                    solved => solved?,
                };
                Ok(Some(lateral.check(&book)?.parts.first().ok_or("no finding for the reach")?.verdict))
            })?;
            let said = |verdict: Option<Verdict>| verdicts.iter().map(|v| *v == verdict).collect();
            all.push(TiedDecisions {
                ties,
                slope,
                meets: said(Some(Verdict::Meets)),
                fails: said(Some(Verdict::Fails)),
                refused: said(None),
            });
        }
    }
    Ok(all)
}

/// A survey of a pipe that falls by exactly so much over its length: straight, or with a belly.
fn tied(slope: f64, ties: TieSet, random: &mut Random) -> Result<Survey, Error> {
    if ties != TieSet::Water {
        return straight(slope, Zero::Unknown, random);
    }
    let (length_m, depth_m) = BELLY_M;
    let from_m = 9.0 + 6.0 * random.uniform();
    let dip = |line: f64| water::dip(line, LENGTH_M, from_m, length_m, depth_m);
    // The slope of the whole is not quite that of the line: tilts of a few percent are taken for slopes.
    let line = slope + (slope - dip(slope).slope(0.0, LENGTH_M));
    usual(dip(line), Zero::Unknown, random)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Of two laterals the sums over segmentations once left the range of numbers, and every tilt was none.
    #[test]
    fn every_tilt_is_a_number() {
        for slope in [0.0165, 0.017] {
            let survey = tied(slope, TieSet::Water, &mut Random::new(12, 6, 47)).unwrap();
            let lateral = Lateral::solve(survey.job).unwrap();
            assert!(lateral.posterior().tilt_rad.iter().all(|t| t.is_finite()), "{slope}");
        }
    }

    #[test]
    fn a_pipe_with_a_belly_falls_by_what_it_is_tried_with() {
        for slope in [0.015, 0.02, 0.025] {
            let survey = tied(slope, TieSet::Water, &mut Random::new(1, 2, 3)).unwrap();
            // A thousandth of the steps between the slopes tried.
            assert!((survey.truth.slope(0.0, LENGTH_M) - slope).abs() < 1e-3 * STEP);
        }
    }
}

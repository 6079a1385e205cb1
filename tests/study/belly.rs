//! One belly in a straight pipe of 2 %: what the probabilities of pools are worth, and which bellies are found.

use fallwise::{
    Bore, Lateral,
    math::{self, Random},
    pool::{PoolState, TOLERANCE_M},
    simulate::{Head, Rounding, Truth},
};

use crate::{
    DEGREE, Error, parallel,
    share::Share,
    survey::{BORE_M, Making, Survey, Zero},
    water,
};

/// Length of the pipe, m.
const PIPE_M: f64 = 18.0;
/// Middle of the belly, m, give or take half a stick.
const MIDDLE_M: f64 = 9.0;
/// Slope of the pipe. It has no joints: what water a lip holds is another matter.
const SLOPE: f64 = 0.02;

/// Depths of bellies that are tried, mm.
pub const DEPTHS_MM: [u8; 8] = [3, 5, 8, 12, 16, 20, 30, 40];
/// Lengths of bellies that are tried, m.
pub const LENGTHS_M: [u8; 4] = [1, 2, 4, 6];

/// How good a head is, with what the log shows of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grade {
    /// In words.
    pub name: &'static str,
    /// Noise of one reading, degrees.
    pub noise_deg: f64,
    /// Step of the readings, degrees.
    pub step_deg: f64,
}

/// The grades that are tried.
pub const GRADES: [Grade; 3] = [
    Grade { name: "fine", noise_deg: 0.05, step_deg: 0.01 },
    Grade { name: "common", noise_deg: 0.25, step_deg: 0.1 },
    Grade { name: "coarse", noise_deg: 0.25, step_deg: 1.0 },
];
/// The one that probabilities are tried with.
pub const COMMON: Grade = GRADES[1];
/// What may be known of the zero.
pub const ZEROS: [Zero; 3] = [Zero::Unknown, Zero::Checked, Zero::Known];

fn survey(truth: Truth, grade: Grade, zero: Zero, random: &mut Random) -> Result<Survey, Error> {
    let head =
        Head { noise_sd_rad: grade.noise_deg * DEGREE, rounding: Rounding::Degrees(grade.step_deg), ..Head::default() };
    let making = Making {
        zero_factor: 1.0,
        joints_m: Vec::new(),
        list: Vec::new(),
        spacing_m: 0.05,
        bore: Bore::circle(BORE_M)?,
        random,
    };
    Survey::made(truth, &head, &zero.instrument(), zero, making)
}

/// A pipe with a belly somewhere about its middle, and where that is deepest, m.
fn pipe(length_m: f64, depth_m: f64, random: &mut Random) -> (Truth, f64) {
    let middle_m = MIDDLE_M + 3.0 * (random.uniform() - 0.5);
    (water::dip(SLOPE, PIPE_M, middle_m - 0.5 * length_m, length_m, depth_m), middle_m)
}

/// Which bellies one grade finds.
#[derive(Debug, Clone, PartialEq)]
pub struct Power {
    /// The head.
    pub grade: Grade,
    /// What is known of its zero.
    pub zero: Zero,
    /// Share found, one row a length of [`LENGTHS_M`], one column a depth of [`DEPTHS_MM`].
    pub found: Vec<Vec<Share>>,
    /// Laterals without a belly in which one is found.
    pub false_alarms: Share,
}

impl Power {
    /// Least depth from which on every depth tried is found in 95 % of the laterals, mm.
    pub fn least_mm(&self, length: usize) -> Option<u8> {
        let missed = self.found[length].iter().rposition(|share| share.mean() < 0.95);
        DEPTHS_MM.get(missed.map_or(0, |m| m + 1)).copied()
    }
}

/// The power of each grade with each knowledge of the zero.
///
/// # Errors
/// A lateral that cannot be made or solved.
pub fn power(laterals: usize, seed: u64) -> Result<Vec<Power>, Error> {
    let found = |grade, zero, belly: Option<(f64, f64)>| -> Result<Share, Error> {
        let found = parallel::map(laterals, |number| {
            let random = &mut Random::new(seed, 3, number);
            let straight =
                || Truth { breaks_m: vec![0.0, PIPE_M], tilt_rad: vec![math::atan(SLOPE)], lips: Vec::new() };
            let (truth, middle_m) = match belly {
                Some((length_m, depth_m)) => pipe(length_m, depth_m, random),
                None => (straight(), MIDDLE_M),
            };
            let survey = survey(truth, grade, zero, random)?;
            let at_m = survey.station_m(middle_m);
            let pools = Lateral::solve(survey.job)?.pools();
            let is_there = |from_m: f64, to_m: f64| belly.is_none() || (from_m <= at_m && at_m <= to_m);
            Ok(pools.iter().any(|p| p.state == PoolState::Found && is_there(p.from_m, p.to_m)))
        })?;
        Ok(found.into_iter().collect())
    };
    let mut all = Vec::new();
    for grade in GRADES {
        for zero in ZEROS {
            let row = |length_m: u8| {
                let depths = DEPTHS_MM.into_iter();
                depths.map(|mm| found(grade, zero, Some((f64::from(length_m), 0.001 * f64::from(mm))))).collect()
            };
            all.push(Power {
                grade,
                zero,
                found: LENGTHS_M.into_iter().map(row).collect::<Result<_, _>>()?,
                false_alarms: found(grade, zero, None)?,
            });
        }
    }
    Ok(all)
}

/// One tenth of the probabilities.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Bin {
    /// Probabilities as stated.
    pub stated: Share,
    /// Whether the pools are there.
    pub there: Share,
}

/// What probabilities of pools are worth.
#[derive(Debug, Clone, PartialEq)]
pub struct Probabilities {
    /// What was known of the zero.
    pub zero: Zero,
    /// Ten bins of the stated probability.
    pub bins: [Bin; 10],
    /// Pools stated at 0.95 or more that are there.
    pub said_to_exist: Share,
}

/// Probabilities over laterals with bellies of 0 to 20 mm and 1 to 6 m, each as likely as the next: a population that no
/// estimate knows of. A belly of which nothing is said counts as stated at 0.
///
/// # Errors
/// A lateral that cannot be made or solved.
pub fn probabilities(zero: Zero, laterals: usize, seed: u64) -> Result<Probabilities, Error> {
    let said = parallel::map(laterals, |number| {
        let random = &mut Random::new(seed, 4, number);
        let (length_m, depth_m) = (1.0 + 5.0 * random.uniform(), 0.02 * random.uniform());
        let (truth, middle_m) = pipe(length_m, depth_m, random);
        let survey = survey(truth, COMMON, zero, random)?;
        let pools = Lateral::solve(survey.job.clone())?.pools();
        let is_there =
            |from_m: f64, to_m: f64| water::between(&survey.truth, &survey.bore, from_m, to_m).depth_m > TOLERANCE_M;
        let mut said: Vec<(f64, bool)> = Vec::new();
        let mut mentioned = false;
        for pool in &pools {
            let ends_m = [pool.from_m, pool.to_m].map(|s| survey.true_m(s).clamp(0.0, PIPE_M));
            mentioned |= ends_m[0] <= middle_m && middle_m <= ends_m[1];
            said.push((pool.exists_probability.unwrap_or(0.0), is_there(ends_m[0], ends_m[1])));
        }
        if !mentioned {
            said.push((0.0, depth_m > TOLERANCE_M));
        }
        Ok(said)
    })?;
    let mut all = Probabilities { zero, bins: Default::default(), said_to_exist: Share::default() };
    for (stated, there) in said.into_iter().flatten() {
        let of = (1..10).filter(|tenth| stated >= 0.1 * f64::from(*tenth)).count();
        all.bins[of].stated.add(stated);
        all.bins[of].there.yes(there);
        if stated >= 0.95 {
            all.said_to_exist.yes(there);
        }
    }
    Ok(all)
}

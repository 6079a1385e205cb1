//! How ties and readings are said to go together: whether the probabilities of misclosures are what they say, how often a right tie is
//! suspected, and how often a wrong one is named.

use fallwise::{
    Error as Refusal, Job, Lateral,
    adjust::ties::Closure,
    math::{self, Random},
    model::Known,
};

use crate::{
    Error, parallel,
    shape::Shape,
    share::Share,
    survey::{Case, Survey},
    ties::TieSet,
};

/// The sets that are tried: all with something measured beyond what is needed.
pub const SETS: [TieSet; 4] = [TieSet::Inverts, TieSet::Water, TieSet::Depths, TieSet::Mix];
/// An error of so many standard deviations of its own misclosure.
pub const WRONG_SDS: f64 = 5.0;
/// Of right ties so many tests in a thousand are beyond what suspicion asks for.
pub const SUSPECTED: f64 = 0.001;

/// How the ties of one set fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Fits {
    /// The set.
    pub ties: TieSet,
    /// Degrees of freedom.
    pub degrees: usize,
    /// Probability of misclosures whose distribution is as far from even as that found.
    pub even: f64,
    /// Probability of standardised residuals, one of each lateral by turns, as far from standard normal as those found.
    pub normal: f64,
    /// Of each lateral's right ties the share that is beyond what suspicion asks for.
    pub beyond: Share,
    /// Laterals with right ties of which one is suspect.
    pub suspected: Share,
    /// The wrong one of a lateral's ties is named, as suspect or in the refusal.
    pub named: Share,
    /// Another is named.
    pub other_named: Share,
}

/// What one lateral says.
struct One {
    degrees: usize,
    p_value: Option<f64>,
    standardised: Vec<f64>,
    suspected: bool,
    wrong: Option<Named>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Named {
    It,
    Other,
    None,
}

/// How the ties of each set fit, in pipes with large changes.
///
/// # Errors
/// A lateral that cannot be made or solved; right ties that are refused.
pub fn fits(laterals: usize, seed: u64) -> Result<Vec<Fits>, Error> {
    SETS.into_iter()
        .map(|ties| {
            let case = Case::tied(Shape::LargeChanges, ties);
            let all = parallel::map(laterals, |number| one(&case, seed, number))?;
            let mut p_values: Vec<f64> = all.iter().filter_map(|one| one.p_value).collect();
            let by_turns = |(i, one): (usize, &One)| {
                let count = one.standardised.len().max(1);
                one.standardised.get(i % count).copied()
            };
            let mut even: Vec<f64> = all.iter().enumerate().filter_map(by_turns).map(math::normal_cdf).collect();
            let mut fits = Fits {
                ties,
                degrees: all.iter().map(|one| one.degrees).max().unwrap_or(0),
                even: evenly(&mut p_values),
                normal: evenly(&mut even),
                beyond: Share::default(),
                suspected: all.iter().map(|one| one.suspected).collect(),
                named: Share::default(),
                other_named: Share::default(),
            };
            for one in &all {
                let beyond = one.standardised.iter().filter(|s| s.abs() > fallwise::adjust::ties::SUSPECT).count();
                if !one.standardised.is_empty() {
                    fits.beyond.add(beyond as f64 / one.standardised.len() as f64);
                }
                if let Some(wrong) = one.wrong {
                    fits.named.yes(wrong == Named::It);
                    fits.other_named.yes(wrong == Named::Other);
                }
            }
            Ok(fits)
        })
        .collect()
}

fn one(case: &Case, seed: u64, number: u32) -> Result<One, Error> {
    let survey = case.survey(seed, number)?;
    let lateral = Lateral::solve(survey.job.clone())?;
    let adjustment = lateral.adjustment();
    let closures = &adjustment.closures;
    Ok(One {
        degrees: adjustment.degrees_of_freedom,
        p_value: adjustment.p_value,
        standardised: closures.iter().filter_map(Closure::standardised).collect(),
        suspected: adjustment.suspect.is_some(),
        // With one degree of freedom all ties share one residual, and none can be told from another.
        wrong: if adjustment.degrees_of_freedom > 1 { wrong(&survey, closures, seed, number)? } else { None },
    })
}

/// What is named when one of the ties, another in each lateral, is off by [`WRONG_SDS`].
fn wrong(survey: &Survey, closures: &[Closure], seed: u64, number: u32) -> Result<Option<Named>, Error> {
    let is_measured = |c: &&Closure| !matches!(survey.job.ties[c.tie].known, Known::WaterLevel { .. });
    let measured: Vec<&Closure> = closures.iter().filter(is_measured).collect();
    let Some(closure) = measured.get(number as usize % measured.len().max(1)) else { return Ok(None) };
    let Some((_, sd)) = closure.off else { return Ok(None) };
    let sign = if Random::new(seed, 5, number).uniform() < 0.5 { -1.0 } else { 1.0 };
    let mut job: Job = survey.job.clone();
    spoil(&mut job.ties[closure.tie].known, sign * WRONG_SDS * sd);
    let named = match Lateral::solve(job) {
        Ok(lateral) => {
            let adjustment = lateral.adjustment();
            adjustment.suspect.map(|j| adjustment.closures[j].tie)
        }
        Err(Refusal::TiesContradict { tie, .. }) => {
            let number = tie.strip_prefix("tie ").and_then(|rest| rest.split([',', ' ']).next());
            let number: usize = number.and_then(|n| n.parse().ok()).ok_or("no number in the name of a tie")?;
            number.checked_sub(1)
        }
        Err(other) => return Err(other.into()),
    };
    Ok(Some(match named {
        Some(tie) if tie == closure.tie => Named::It,
        Some(_) => Named::Other,
        None => Named::None,
    }))
}

/// Makes what was measured wrong by so much.
fn spoil(known: &mut Known, by: f64) {
    match known {
        Known::Invert { elevation_m, .. } => *elevation_m += by,
        Known::Depth { depth_m, .. } => *depth_m += by,
        Known::Length { length_m, .. } => *length_m += by,
        // Half the sum of the two readings moves by as much.
        Known::ReversalCheck(check) => {
            check.first_rad += by;
            check.second_rad += by;
        }
        _ => {}
    }
}

/// Probability of values between 0 and 1, if they are even, that lie as far from it as these: Kolmogorov and Smirnov, with Stephens' terms
/// for few values.
pub fn evenly(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    let n = (values.len() as f64).max(1.0);
    let apart = |(i, v): (usize, &f64)| (v - i as f64 / n).abs().max(((i + 1) as f64 / n - v).abs());
    let farthest = values.iter().enumerate().map(apart).fold(0.0, f64::max);
    let scaled = farthest * (n.sqrt() + 0.12 + 0.11 / n.sqrt());
    let term = |k: u32| {
        let k = f64::from(k);
        let sign = if k % 2.0 == 1.0 { 1.0 } else { -1.0 };
        2.0 * sign * math::exp(-2.0 * k * k * scaled * scaled)
    };
    // The series does not settle near 0, where the probability is 1.
    if scaled < 0.3 { 1.0 } else { (1..=20).map(term).sum::<f64>().clamp(0.0, 1.0) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn even_values_are_told_from_others() {
        let mut random = Random::new(5, 1, 2);
        let mut even: Vec<f64> = (0..1000).map(|_| random.uniform()).collect();
        let mut squared: Vec<f64> = even.iter().map(|u| u * u).collect();
        assert!(evenly(&mut even) > 0.01 && evenly(&mut squared) < 1e-10);
        // 1.36 and 1.63 of scaled distance are the textbook points of 5 and 1 %.
        for (scaled, p) in [(1.358, 0.05), (1.628, 0.01)] {
            let n = 40_000.0_f64;
            let shift = scaled / (n.sqrt() + 0.12 + 0.11 / n.sqrt());
            // Even values with the lowest `shift` of them taken to 0: the farthest is `shift` - 1/n apart, or `shift`.
            let mut values: Vec<f64> =
                (0..40_000).map(|i| (f64::from(i) / n).max(0.0)).map(|u| if u < shift { 0.0 } else { u }).collect();
            let found = evenly(&mut values);
            assert!((found / p - 1.0).abs() < 0.05, "{found} {p}"); // 1/n of `shift` is 0.4 %, p goes with 4 scaled² of it: 4 %
        }
    }
}

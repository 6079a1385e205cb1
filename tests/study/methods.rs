//! Ways of giving a segment that was found its interval, on the same laterals: the average over segmentations that the library
//! takes, and two that it does not.

use fallwise::{Job, Lateral, model::SegmentChoice};

use crate::{
    Error, parallel,
    shape::Shape,
    share::Share,
    source::Source,
    survey::{Case, Zero},
};

/// A way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// The average over segmentations.
    Averaged,
    /// As if the breaks had been known beforehand.
    AsGiven,
    /// The same, each standard deviation times [`FACTOR`].
    AsGivenWider,
}

/// What makes the intervals of segments taken as given right in a pipe with small changes.
pub const FACTOR: f64 = 1.4;
/// Half of the normal distribution lies within so many standard deviations.
const Z_50: f64 = 0.674_489_750_196_082;
/// 95 % of it.
const Z_95: f64 = 1.959_963_984_540_054;

impl Method {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Averaged, Self::AsGiven, Self::AsGivenWider];

    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Self::Averaged => "average over segmentations",
            Self::AsGiven => "breaks as if given",
            Self::AsGivenWider => "the same, sds times 1.4",
        }
    }
}

/// How often intervals hold the truth, by way.
#[derive(Debug, Clone, PartialEq)]
pub struct Compared {
    /// The case.
    pub case: Case,
    /// At 95 and 50 %, in the order of [`Method::ALL`].
    pub covered: [[Share; 2]; 3],
}

/// The ways compared in the classes of the study, noise alone, the zero known.
///
/// # Errors
/// A lateral that cannot be made or solved.
pub fn compared(laterals: usize, seed: u64) -> Result<Vec<Compared>, Error> {
    Shape::ALL
        .into_iter()
        .map(|shape| {
            let case = Case::new(shape, Source::Plain, Zero::Known);
            let all = parallel::map(laterals, |number| one(&case, seed, number))?;
            let mut covered: [[Share; 2]; 3] = Default::default();
            for lateral in all {
                for (shares, found) in covered.iter_mut().zip(lateral) {
                    shares.iter_mut().zip(found).for_each(|(share, found)| share.add(found));
                }
            }
            Ok(Compared { case, covered })
        })
        .collect()
}

/// Shares of the segments of one lateral.
fn one(case: &Case, seed: u64, number: u32) -> Result<[[f64; 2]; 3], Error> {
    let survey = case.survey(seed, number)?;
    let averaged = Lateral::solve(survey.job.clone())?;
    let breaks_m = averaged.chain().breaks_m.clone();
    let inner: Vec<f64> = breaks_m[1..breaks_m.len() - 1].to_vec();
    // Without a break the way through given breaks has none to be given: one at the very end is none.
    let given = if inner.is_empty() {
        let ends_m = averaged.surveyed_m();
        let breaks_m = vec![ends_m.1 - 1e-6 * (ends_m.1 - ends_m.0)];
        Lateral::solve(Job { segments: SegmentChoice::Given { breaks_m }, ..survey.job.clone() })
    } else {
        Lateral::solve(Job { segments: SegmentChoice::Given { breaks_m: inner }, ..survey.job.clone() })
    }?;
    let mut covered = [[0.0; 2]; 3];
    let segments = breaks_m.len() as f64 - 1.0;
    for ends in breaks_m.windows(2) {
        let truth = survey.truth.slope(ends[0], ends[1]);
        let (one, other) = (averaged.slope_between(ends[0], ends[1]), given.slope_between(ends[0], ends[1]));
        let (one, other) = one.zip(other).ok_or("a slope between two breaks")?;
        let ways = [(one.value, one.sd), (other.value, other.sd), (other.value, FACTOR * other.sd)];
        for (covered, (value, sd)) in covered.iter_mut().zip(ways) {
            for (covered, z) in covered.iter_mut().zip([Z_95, Z_50]) {
                *covered += f64::from(u8::from((truth - value).abs() <= z * sd)) / segments;
            }
        }
    }
    Ok(covered)
}

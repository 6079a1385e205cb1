//! Whether a place is known well enough to dig at, and at what depth the pipe may begin.

use super::FARTHEST_M;
use crate::prelude::*;
use crate::{error::Error, math, model::DigOptions};

/// Why nobody may dig by it. The place is located from the surface first.
///
/// [`dig`] gives the first four; the others are those of a solved lateral
/// ([`Lateral::locate`](crate::Lateral::locate)).
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Refusal {
    /// Directions, or where the run starts, were not measured: there is no place in plan.
    NoPlan,
    /// Half of the 95 % interval across the pipe, m, is more than the options allow.
    TooWide {
        /// What it is, m.
        across_m: f64,
    },
    /// No place was measured from the surface near enough.
    NoTie {
        /// How far the nearest one is along the pipe, m; absent where there is none.
        nearest_m: Option<f64>,
    },
    /// The depth is not known: no elevation of the pipe or of the ground, or no error of one.
    NoDepth,
    /// The place was not surveyed.
    NotSurveyed,
    /// It lies in a stretch that no reading saw.
    NotSeen {
        /// Start of the stretch, m.
        from_m: f64,
        /// End of the stretch, m.
        to_m: f64,
    },
    /// What was measured contradicts itself, so that something is wrong which no error allows for.
    Contradicted,
    /// The job gives where a run starts, or its azimuth, without an error: that would be taken for exact.
    NotStated {
        /// The run, from 1.
        run: usize,
    },
}

impl Refusal {
    /// Its name in tables.
    pub fn as_str(&self) -> &'static str {
        match self {
            Self::NoPlan => "no_plan",
            Self::TooWide { .. } => "too_wide",
            Self::NoTie { .. } => "no_tie",
            Self::NoDepth => "no_depth",
            Self::NotSurveyed => "not_surveyed",
            Self::NotSeen { .. } => "not_seen",
            Self::Contradicted => "contradicted",
            Self::NotStated { .. } => "not_stated",
        }
    }
}

/// What a dig sheet says of the depth, or why there is none.
#[derive(Debug, Clone, PartialEq)]
pub struct Dig {
    /// Why nobody may dig by it; empty where one may, after everything else that must come before digging.
    pub refused: Vec<Refusal>,
    /// The shallow end: the top of the pipe may begin here, m below the ground; not above it. Absent where the depth is not known.
    pub expect_from_m: Option<f64>,
    /// From here on it is dug by hand, m below the ground; 0 means from the surface.
    pub by_hand_from_m: Option<f64>,
}

/// Whether one may dig at a place.
///
/// `across_sd_m` is the standard deviation across the pipe, absent without a plan; `tie_m` how far along the pipe the nearest place lies
/// that was measured from the surface; `top_m` the depth of the top of the pipe below the ground with its standard deviation, m.
///
/// # Errors
/// [`Error::Value`] for options or standard deviations that cannot be.
///
/// # Example
/// ```
/// use fallwise::locate::{DigOptions, dig};
/// let told = dig(Some(0.1), Some(1.2), Some((1.5, 0.1)), &DigOptions::default())?;
/// assert!(told.refused.is_empty());
/// // 1.5 m less 2.326 standard deviations (standard tables), and 0.3 m less for the hand.
/// assert!(told.expect_from_m.is_some_and(|m| (m - 1.267_365).abs() < 1e-6));
/// assert!(told.by_hand_from_m.is_some_and(|m| (m - 0.967_365).abs() < 1e-6));
/// let unseen = dig(Some(0.4), None, Some((1.5, 0.1)), &DigOptions::default())?;
/// assert_eq!(unseen.refused.len(), 2); // 0.78 m wide to either side, and nothing measured from the surface
/// # Ok::<(), fallwise::Error>(())
/// ```
pub fn dig(
    across_sd_m: Option<f64>,
    tie_m: Option<f64>,
    top_m: Option<(f64, f64)>,
    options: &DigOptions,
) -> Result<Dig, Error> {
    options.validate()?;
    let sds = [("across_sd_m", across_sd_m), ("top_sd_m", top_m.map(|(_, sd)| sd))];
    for (field, sd) in sds.into_iter().filter_map(|(field, sd)| Some((field, sd?))) {
        if !(0.0..FARTHEST_M).contains(&sd) {
            return Err(Error::value(field, sd, "a length in metres, 0 or more"));
        }
    }
    if let Some((top, _)) = top_m.filter(|(top, _)| !(-FARTHEST_M..FARTHEST_M).contains(top)) {
        return Err(Error::value("top_m", top, "a depth in metres"));
    }
    let mut refused = Vec::new();
    match across_sd_m.map(|sd| crate::adjust::Z_95 * sd) {
        None => refused.push(Refusal::NoPlan),
        Some(across_m) if across_m > options.across_m => refused.push(Refusal::TooWide { across_m }),
        Some(_) => {}
    }
    if tie_m.is_none_or(|m| m.is_nan() || m > options.tie_within_m) {
        refused.push(Refusal::NoTie { nearest_m: tie_m.filter(|m| m.is_finite()) });
    }
    let quantile = math::normal_quantile(options.confidence);
    let expect_from_m = top_m.map(|(top, sd)| (top - quantile * sd).max(0.0));
    if expect_from_m.is_none() {
        refused.push(Refusal::NoDepth);
    }
    Ok(Dig { refused, expect_from_m, by_hand_from_m: expect_from_m.map(|m| (m - options.margin_m).max(0.0)) })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(across: Option<f64>, tie: Option<f64>, top: Option<(f64, f64)>) -> Dig {
        dig(across, tie, top, &DigOptions::default()).unwrap()
    }

    #[test]
    fn what_is_missing_is_named() {
        assert_eq!(
            told(None, None, None).refused,
            [Refusal::NoPlan, Refusal::NoTie { nearest_m: None }, Refusal::NoDepth]
        );
        assert_eq!(told(Some(0.1), Some(3.1), Some((1.0, 0.0))).refused, [Refusal::NoTie { nearest_m: Some(3.1) }]);
        let wide = told(Some(0.26), Some(3.0), Some((1.0, 0.0))).refused;
        assert!(matches!(wide[..], [Refusal::TooWide { across_m }] if (across_m - 0.509_59).abs() < 1e-5), "{wide:?}");
    }

    #[test]
    fn nothing_begins_above_the_ground() {
        let shallow = told(Some(0.1), Some(0.0), Some((0.2, 0.3)));
        assert_eq!((shallow.expect_from_m, shallow.by_hand_from_m), (Some(0.0), Some(0.0)));
        assert!(shallow.refused.is_empty());
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let fails = |options: DigOptions| dig(None, None, None, &options).unwrap_err().to_string();
        assert!(fails(DigOptions { across_m: -1.0, ..DigOptions::default() }).contains("across_m"));
        assert!(fails(DigOptions { confidence: 0.4, ..DigOptions::default() }).contains("confidence"));
        assert!(dig(Some(f64::NAN), None, None, &DigOptions::default()).is_err());
        assert!(dig(None, None, Some((f64::INFINITY, 0.1)), &DigOptions::default()).is_err());
    }
}

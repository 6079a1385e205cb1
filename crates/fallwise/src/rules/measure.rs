//! What rules measure on a profile: the slope of a stretch, the flattest and steepest of many, the longest backfall.

use super::rulebook::Over;
use crate::{
    model::{FeatureKind, Flow, Job, Reach},
    profile::Profile,
};

/// Slope along the flow between two stations, drops and steps left out; absent where nothing but drops lies between.
// At merge: `profile.slope_between(from_m, to_m).map(|slope| flow.sign() * slope)`.
pub(super) fn slope_between(profile: &Profile, flow: Flow, from_m: f64, to_m: f64) -> Option<f64> {
    let (mut fall_m, mut horizontal_m) = (0.0, 0.0);
    for piece in pieces(profile, from_m, to_m) {
        if piece.tilt_rad.abs() <= core::f64::consts::FRAC_PI_4 {
            let (sin, cos) = crate::math::sin_cos(piece.tilt_rad);
            fall_m += (piece.to_m - piece.from_m) * sin;
            horizontal_m += (piece.to_m - piece.from_m) * cos;
        }
    }
    let slope = flow.sign() * fall_m / horizontal_m;
    (horizontal_m > 0.0 && slope.is_finite()).then_some(slope)
}

/// Stretches to measure one by one.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Span {
    /// These, the same in every profile.
    Fixed(Vec<(f64, f64)>),
    /// Every stretch of a true length within two stations.
    Sliding {
        /// First station, m.
        from_m: f64,
        /// Last station, m.
        to_m: f64,
        /// True length, m.
        length_m: f64,
    },
}

impl Span {
    /// The stretches of a reach, cut to `from_m` to `to_m`, on which a row measures; absent where sticks are asked
    /// for and neither joints nor the length of a stick are known.
    pub(super) fn of(over: Over, job: &Job, reach: &Reach, from_m: f64, to_m: f64) -> Option<Self> {
        match over {
            Over::Reach => Some(Self::Fixed(vec![(from_m, to_m)])),
            Over::Length(length_m) => Some(Self::Sliding { from_m, to_m, length_m }),
            Over::Stick => {
                let mut ends: Vec<f64> = job
                    .features
                    .iter()
                    .filter(|f| f.kind == FeatureKind::Joint && f.station_m > from_m && f.station_m < to_m)
                    .map(|f| f.station_m)
                    .collect();
                if ends.is_empty() {
                    let length_m = reach.pipe.stick_m.filter(|m| m.is_finite() && *m > 0.0)?;
                    return Some(Self::Sliding { from_m, to_m, length_m });
                }
                ends.extend([from_m, to_m]);
                ends.sort_by(f64::total_cmp);
                ends.dedup();
                Some(Self::Fixed(ends.iter().copied().zip(ends.iter().copied().skip(1)).collect()))
            }
        }
    }

    /// The stretches on a profile. Among all stretches of one length the flattest and the steepest have an end at a
    /// node, because the slope of a sliding stretch is monotone while both ends stay within their pieces.
    pub(super) fn stretches(&self, profile: &Profile) -> Vec<(f64, f64)> {
        let (from_m, to_m, length_m) = match self {
            Self::Fixed(stretches) => return stretches.clone(),
            Self::Sliding { from_m, to_m, length_m } => (*from_m, *to_m, *length_m),
        };
        let length = length_m / profile.scale;
        if !(length.is_finite() && length > 0.0 && length < to_m - from_m) {
            return vec![(from_m, to_m)];
        }
        let nodes = profile.station_m.iter().copied().filter(|s| *s >= from_m && *s <= to_m);
        let starts = [from_m, to_m - length].into_iter().chain(nodes.flat_map(|s| [s, s - length]));
        starts.filter(|s| *s >= from_m && *s + length <= to_m).map(|s| (s, s + length)).collect()
    }
}

/// A stretch and its slope along the flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stretch {
    pub(super) from_m: f64,
    pub(super) to_m: f64,
    pub(super) slope: f64,
}

/// The flattest and the steepest stretch; absent where all are drops.
pub(super) fn extremes(profile: &Profile, flow: Flow, span: &Span) -> Option<(Stretch, Stretch)> {
    let mut found: Option<(Stretch, Stretch)> = None;
    for (from_m, to_m) in span.stretches(profile) {
        let Some(slope) = slope_between(profile, flow, from_m, to_m) else { continue };
        let here = Stretch { from_m, to_m, slope };
        found = Some(found.map_or((here, here), |(flattest, steepest)| {
            (if slope < flattest.slope { here } else { flattest }, if slope > steepest.slope { here } else { steepest })
        }));
    }
    found
}

/// A stretch of backfall: contiguous pieces that rise along the flow.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[allow(clippy::struct_field_names, reason = "all are lengths in metres")]
pub(super) struct Backfall {
    pub(super) from_m: f64,
    pub(super) to_m: f64,
    /// True length, m; 0 where there is none.
    pub(super) length_m: f64,
}

/// The longest backfall within the stretches given, steps ignored.
pub(super) fn longest_backfall(profile: &Profile, flow: Flow, within: &[(f64, f64)]) -> Backfall {
    let mut longest = Backfall::default();
    for (from_m, to_m) in within {
        let mut here: Option<Backfall> = None;
        for piece in pieces(profile, *from_m, *to_m) {
            if piece.tilt_rad * flow.sign() >= 0.0 {
                here = None;
                continue;
            }
            let start = here.map_or(piece.from_m, |b| b.from_m);
            let length_m = (piece.to_m - start) * profile.scale;
            let grown = Backfall { from_m: start, to_m: piece.to_m, length_m };
            if length_m > longest.length_m {
                longest = grown;
            }
            here = Some(grown);
        }
    }
    longest
}

/// A piece of a profile, cut to a stretch.
struct Piece {
    from_m: f64,
    to_m: f64,
    tilt_rad: f64,
}

/// The pieces between two stations; steps have no length and are left out.
fn pieces(profile: &Profile, from_m: f64, to_m: f64) -> impl Iterator<Item = Piece> {
    let first = profile.station_m.partition_point(|s| *s <= from_m).saturating_sub(1);
    let starts = profile.station_m.iter().skip(first);
    let ends = profile.station_m.iter().skip(first + 1);
    starts
        .zip(ends)
        .zip(profile.tilt_rad.iter().skip(first))
        .take_while(move |((start, _), _)| **start < to_m)
        .map(move |((start, end), tilt)| Piece { from_m: start.max(from_m), to_m: end.min(to_m), tilt_rad: *tilt })
        .filter(|piece| piece.to_m > piece.from_m)
}

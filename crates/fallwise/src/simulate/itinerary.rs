//! Where the cable goes.

use super::{Flaw, Flaws, Known, MOST_READINGS, whole};
use crate::prelude::*;
use crate::{error::Error, model::Toward};

/// One moment at which the head may be read.
#[derive(Debug, Clone, Copy)]
pub(super) struct Moment {
    /// Way of the cable from the start of the push, m.
    pub(super) way_m: f64,
    /// Whether the camera stands.
    pub(super) standing: bool,
}

/// Where the cable goes, in order: forward by the spacing, with stops and pull-backs at their places, and out at the end.
pub(super) fn of(pipe: &Known, toward: Toward, flaws: &Flaws, spacing_m: f64) -> Result<Vec<Moment>, Error> {
    let mut turns: Vec<(f64, Flaw)> = flaws
        .list
        .iter()
        .filter_map(|f| match *f {
            Flaw::Stop { at_m, .. } | Flaw::PullBack { at_m, .. } => Some((pipe.way_m(at_m, toward), *f)),
            _ => None,
        })
        .collect();
    turns.sort_by(|a, b| a.0.total_cmp(&b.0));
    let steps = |length_m: f64| (length_m / spacing_m + 1e-9).floor();
    let readings = steps(pipe.length_m())
        + turns
            .iter()
            .map(|(_, f)| match *f {
                Flaw::Stop { readings, .. } => readings as f64,
                Flaw::PullBack { length_m, .. } => 2.0 * steps(length_m.min(pipe.length_m())).max(0.0),
                _ => 0.0,
            })
            .sum::<f64>();
    if readings > MOST_READINGS {
        return Err(Error::value("spacing_m", spacing_m, "a log of at most 2e7 readings"));
    }
    let mut turns = turns.into_iter().peekable();
    let mut moments = Vec::with_capacity(whole(readings) + 1);
    for i in 0..=whole(steps(pipe.length_m())) {
        let way_m = spacing_m * i as f64;
        moments.push(Moment { way_m, standing: false });
        while let Some((_, flaw)) = turns.next_if(|(at_m, _)| *at_m <= way_m) {
            match flaw {
                Flaw::Stop { readings, .. } => {
                    moments.extend(core::iter::repeat_n(Moment { way_m, standing: true }, readings));
                }
                Flaw::PullBack { length_m, .. } => {
                    let back = whole(steps(length_m)).min(i);
                    let at = |j: usize| Moment { way_m: spacing_m * (i - j) as f64, standing: false };
                    moments.extend((1..=back).map(at));
                    moments.extend((0..back).rev().map(at));
                }
                _ => {}
            }
        }
    }
    let last = whole(steps(pipe.length_m()));
    for flaw in &flaws.list {
        if let Flaw::PullOut { length_m } = *flaw {
            let back = whole(steps(length_m)).min(last);
            moments.extend((1..=back).map(|j| Moment { way_m: spacing_m * (last - j) as f64, standing: false }));
            break;
        }
    }
    Ok(moments)
}

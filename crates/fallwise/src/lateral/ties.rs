//! What is known beside the readings, put into the posterior.

use super::Lateral;
use crate::prelude::*;
use crate::{
    adjust::{
        Posterior,
        ties::{Adjustment, BEYOND_M, Terms, is_near},
    },
    condition::{Trace, sign_of_head, zero_by_reversal},
    error::Error,
    model::{AsBuiltUse, Instrument, Job, Known, Place, Run, Tie},
    path::Layout,
    said,
    units::{Part, Said},
};

/// Zero error that a head may have which was checked, rad: 10 degrees (our choice). The check says what it is; what heads commonly
/// have must not hold it back.
const CHECKED_SD_RAD: f64 = 10.0 * core::f64::consts::PI / 180.0;

/// What is known, with its place in the job: `None` for what was given with a run or as an as-built invert.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Ties {
    pub(super) all: Vec<Tie>,
    pub(super) numbers: Vec<Option<usize>>,
    /// What those are called that are not the job's.
    pub(super) names: Vec<Option<Said>>,
    pub(super) warnings: Vec<Said>,
}

impl Ties {
    /// All that the job knows beside the readings, between the first and the last station.
    pub(super) fn of(job: &Job, (first_m, last_m): (f64, f64)) -> Self {
        let mut known = Self {
            all: job.ties.clone(),
            numbers: (0..job.ties.len()).map(Some).collect(),
            names: vec![None; job.ties.len()],
            ..Self::default()
        };
        for (i, run) in job.runs.iter().enumerate() {
            known.start(i, run, (first_m, last_m));
        }
        if !job.runs.is_empty() {
            for (i, a) in job.as_built.iter().enumerate() {
                if !is_near((first_m, last_m), a.station_m) {
                    known.warnings.push(said!(
                        "as-built invert {n} at {at} m lies outside what was surveyed: it is not used",
                        n = i + 1,
                        at = Part::Number(a.station_m, 2)
                    ));
                    continue;
                }
                if job.as_built_use == AsBuiltUse::Compare {
                    continue;
                }
                let invert =
                    Known::Invert { at: Place::new(a.station_m), elevation_m: a.invert_m, sd_m: a.sd_m.unwrap_or(0.0) };
                known.add(said!("as-built invert {n}", n = i + 1), invert);
            }
        }
        known
    }

    /// What a run says of its start.
    fn start(&mut self, i: usize, run: &Run, (first_m, last_m): (f64, f64)) {
        let name = said!("start of run {n}", n = i + 1);
        let start_m = run.start_station_m;
        if let Some(elevation_m) = run.start_invert_m {
            if is_near((first_m, last_m), start_m) {
                let sd_m = run.start_invert_sd_m.unwrap_or(0.0);
                self.add(name.clone(), Known::Invert { at: Place::exact(start_m), elevation_m, sd_m });
            } else {
                self.warnings.push(said!(
                    "start_invert is not used: the readings begin more than {limit} m from the start whose elevation it \
                     gives",
                    limit = Part::Exact(BEYOND_M)
                ));
            }
        }
        // In plan a pipe that was not read is carried on from where it was.
        let at = Place::exact(start_m.max(first_m).min(last_m));
        if run.start_east_m.is_some() || run.start_north_m.is_some() {
            let (east_m, north_m) = (run.start_east_m.unwrap_or(0.0), run.start_north_m.unwrap_or(0.0));
            self.add(name.clone(), Known::Plan { at, east_m, north_m, sd_m: run.start_plan_sd_m.unwrap_or(0.0) });
        }
        if let Some(azimuth_rad) = run.start_azimuth_rad {
            // Whole turns say nothing, nor does a standard deviation beyond a quarter of one.
            let azimuth_rad = azimuth_rad % core::f64::consts::TAU;
            let sd_rad = run.start_azimuth_sd_rad.unwrap_or(0.0).min(core::f64::consts::FRAC_PI_2);
            self.add(name, Known::Azimuth { at, azimuth_rad, sd_rad });
        }
    }

    fn add(&mut self, name: Said, known: Known) {
        self.all.push(Tie { name: name.to_string(), known });
        self.numbers.push(None);
        self.names.push(Some(name));
    }
}

/// The instrument as the ties have it: a head that was checked may have any zero error.
pub(super) fn instrument(job: &Job, traces: &[Trace]) -> Instrument {
    let zeros = job.ties.iter().filter_map(|tie| match &tie.known {
        Known::ReversalCheck(check) => Some(zero_by_reversal(check, &job.runs, step_rad(traces)).ok()?.0),
        Known::LevelCheck { reading_rad, surface_rad, tilt_positive, .. } => {
            Some(sign_of_head(*tilt_positive, &job.runs).ok()? * reading_rad - surface_rad)
        }
        _ => None,
    });
    // Of several their mean, so that their order says nothing.
    let zeros: Vec<f64> = zeros.collect();
    match zeros.len() {
        0 => job.instrument.clone(),
        count => Instrument {
            zero_rad: zeros.iter().sum::<f64>() / count as f64,
            zero_sd_rad: CHECKED_SD_RAD,
            ..job.instrument.clone()
        },
    }
}

/// Whether the head was checked.
pub(super) fn checked(job: &Job) -> bool {
    job.instrument.zero_checked || job.ties.iter().any(Tie::is_of_head)
}

/// The coarsest step of the runs' displays, rad.
pub(super) fn step_rad(traces: &[Trace]) -> f64 {
    traces.iter().map(|t| t.resolution_rad).fold(0.0, f64::max)
}

/// What the ties are held against.
pub(super) fn terms<'a>(job: &'a Job, layout: &'a Layout, traces: &[Trace]) -> Terms<'a> {
    Terms {
        layout,
        runs: &job.runs,
        ground: &job.ground,
        resolution_rad: job.instrument.resolution_rad.unwrap_or_else(|| step_rad(traces)),
        water_runs: job.survey.water_runs(),
    }
}

impl Lateral {
    /// How the ties and the runs go together; nothing measured beyond what is needed where there are none.
    pub fn adjustment(&self) -> &Adjustment {
        &self.adjustment
    }

    /// The ties that were used, in the order of [`Adjustment::closures`]: those of the job, then what runs and as-built inverts say.
    pub fn ties(&self) -> &[Tie] {
        &self.known.all
    }

    /// The posterior of the readings alone.
    pub fn before_ties(&self) -> &Posterior {
        &self.before
    }

    /// The posterior that ties are put into: that of the readings, the zero of a checked head left to its checks.
    pub(super) fn base(&self) -> &Posterior {
        self.base.as_ref().unwrap_or(&self.before)
    }

    /// The same posterior with some of its ties left out, by their places in [`Lateral::ties`].
    ///
    /// # Errors
    /// Those of [`Lateral::solve`].
    pub(super) fn without_ties(&self, left_out: &[usize]) -> Result<Posterior, Error> {
        let kept: Vec<Tie> =
            self.known.all.iter().enumerate().filter(|(i, _)| !left_out.contains(i)).map(|(_, t)| t.clone()).collect();
        let checked = kept.iter().any(Tie::is_of_head) || !self.known.all.iter().any(Tie::is_of_head);
        // Without its check a head has what heads commonly have.
        let base = if checked { self.base() } else { &self.before };
        let terms = terms(&self.job, &self.layout, &self.traces);
        let (posterior, _) = base.with_ties(&terms, &kept)?;
        Ok(posterior)
    }
}

//! One lateral as it is, as it was read, and as the estimator is told of it.

use fallwise::{
    Bore, Instrument, Job, Pipe, Reach,
    math::{self, Random},
    model::{Feature, FeatureKind, Nominal, SegmentChoice},
    simulate::{self, Flaw, Flaws, Head, Lip, Roll, Rounding, Simulated, Truth},
};

use crate::{
    DEGREE, Error,
    shape::{LENGTH_M, Shape},
    source::Source,
    ties::{self, TieSet},
};

/// Bore that the job is told, m.
pub const BORE_M: f64 = 0.1;
/// Draws for pools and findings.
const DRAWS: usize = 400;

/// Greatest roll of a head that rolls, rad.
const ROLL_RAD: f64 = 30.0 * DEGREE;
/// Error of its sensor across, rad.
const ACROSS_RAD: f64 = 0.5 * DEGREE;

/// What is known of the zero error.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Zero {
    /// Nothing but the instrument's default; zero, seating, drift, lips and the counter's scale are drawn from it.
    Unknown,
    /// A reversal check with an error of 0.05 degrees; the rest as above.
    Checked,
    /// The head has none, and the job says so; nor has it seating or drift, the pipe lips, the counter a scale.
    Known,
}

impl Zero {
    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Self::Unknown => "zero unknown",
            Self::Checked => "zero checked",
            Self::Known => "zero known",
        }
    }

    /// What the job says of the instrument; a check has yet to be put in.
    pub fn instrument(self) -> Instrument {
        match self {
            Self::Unknown | Self::Checked => Instrument::default(),
            Self::Known => {
                Instrument { noise_sd_rad: None, correlation_m: None, resolution_rad: None, ..Instrument::exact() }
            }
        }
    }
}

/// The instrument after a reversal check whose outcome was put into it rather than told as a tie.
pub fn checked(instrument: &Instrument, check_rad: f64) -> Instrument {
    Instrument { zero_rad: check_rad, zero_sd_rad: 0.05 * DEGREE, zero_checked: true, ..instrument.clone() }
}

/// What is stated wrongly: true over stated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stated {
    /// Standard deviation of the zero error.
    pub zero: f64,
    /// Noise; absent: not stated, but estimated.
    pub noise: Option<f64>,
    /// Standard deviations of the ties.
    pub ties: f64,
}

impl Stated {
    /// Zero and ties as stated, noise not stated.
    pub const RIGHT: Self = Self { zero: 1.0, noise: None, ties: 1.0 };
}

/// What a lateral is made and told by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Case {
    /// The pipe.
    pub shape: Shape,
    /// What goes wrong.
    pub source: Source,
    /// What is known of the zero.
    pub zero: Zero,
    /// What is stated wrongly.
    pub stated: Stated,
    /// What is known beside the readings.
    pub ties: TieSet,
}

impl Case {
    /// With nothing stated wrongly, and nothing known beside the readings.
    pub fn new(shape: Shape, source: Source, zero: Zero) -> Self {
        Self { shape, source, zero, stated: Stated::RIGHT, ties: TieSet::None }
    }

    /// Read by a usual head, which has every error that the default instrument states, with ties.
    pub fn tied(shape: Shape, ties: TieSet) -> Self {
        Self { ties, ..Self::new(shape, Source::HeadLength, Zero::Unknown) }
    }

    /// The `number`-th lateral of this case.
    ///
    /// # Errors
    /// Those of the simulation.
    pub fn survey(&self, seed: u64, number: u32) -> Result<Survey, Error> {
        let random = &mut Random::new(seed, 1, number);
        let truth = ties::pipe_for(self.ties, self.shape, random)?;
        let joints_m = self.shape.laid_m(&truth);
        let head = Head {
            noise_sd_rad: self.source.noise_deg() * DEGREE,
            head_length_m: if self.source == Source::HeadLength { 0.15 } else { 0.0 },
            correlation_m: if self.source == Source::CorrelatedNoise { 0.2 } else { 0.0 },
            roll: self.roll(random),
            lag_s: if self.source == Source::Lag { 1.0 } else { 0.0 },
            rounding: if self.source.step_deg() > 0.0 {
                Rounding::Degrees(self.source.step_deg())
            } else {
                Rounding::None
            },
            ..Head::default()
        };
        let mut survey = Survey::made(
            truth,
            &head,
            &self.told(),
            self.zero,
            Making {
                joints_m,
                zero_factor: self.stated.zero,
                list: self.flaws(random),
                spacing_m: self.source.spacing_m(),
                bore: if self.source == Source::OvalBore {
                    Bore::ellipse(1.05 * BORE_M, 0.95 * BORE_M)?
                } else {
                    Bore::circle(BORE_M)?
                },
                random: &mut *random,
            },
        )?;
        ties::put(self.ties, &mut survey, &head, self.stated.ties, random)?;
        Ok(survey)
    }

    /// What the job says of the instrument before a check.
    fn told(&self) -> Instrument {
        let default = Instrument::default();
        let told = Instrument {
            head_length_m: 0.0,
            noise_sd_rad: self.stated.noise.map(|factor| self.source.noise_deg() * DEGREE / factor),
            ..self.zero.instrument()
        };
        match self.source {
            Source::HeadLength => Instrument { head_length_m: default.head_length_m, ..told },
            Source::Seating => Instrument { seating_sd_rad: default.seating_sd_rad, ..told },
            Source::CounterScale => {
                Instrument { counter_scale: default.counter_scale, counter_scale_sd: default.counter_scale_sd, ..told }
            }
            Source::Drift => Instrument { drift_sd_rad: 0.1 * DEGREE, ..told },
            Source::Lips => Instrument { lip_sd_m: default.lip_sd_m, ..told },
            Source::RollLogged => Instrument { roll_sd_rad: ACROSS_RAD, ..told },
            // Root mean square of the sine of a roll that swings by half a radian, nearly a sine itself: over root two.
            Source::RollTold => {
                Instrument { wander_sd_rad: ACROSS_RAD * math::sin(ROLL_RAD) / core::f64::consts::SQRT_2, ..told }
            }
            _ => told,
        }
    }

    fn roll(&self, random: &mut Random) -> Roll {
        if !self.source.rolls() {
            return Roll::default();
        }
        let phase_rad = 2.0 * core::f64::consts::PI * random.uniform();
        let cross_rad = ACROSS_RAD * if self.source == Source::RollLogged { random.normal() } else { 1.0 };
        let logged = self.source == Source::RollLogged;
        Roll { cross_rad, amplitude_rad: ROLL_RAD, wavelength_m: 12.0, phase_rad, logged }
    }

    fn flaws(&self, random: &mut Random) -> Vec<Flaw> {
        match self.source {
            Source::Slip => vec![Flaw::Slip { at_m: (LENGTH_M - 1.0) * random.uniform(), length_m: 0.3 }],
            Source::Stretch => {
                let from_m = LENGTH_M * 2.0 / 3.0 * random.uniform();
                vec![Flaw::Stretch { from_m, to_m: from_m + LENGTH_M / 3.0, scale: -0.02 }]
            }
            _ => Vec::new(),
        }
    }
}

/// What else a survey is made by.
#[derive(Debug)]
pub struct Making<'a> {
    /// Standard deviation of the zero error over the stated one.
    pub zero_factor: f64,
    /// Where the joints are, m.
    pub joints_m: Vec<f64>,
    /// Flaws of the log.
    pub list: Vec<Flaw>,
    /// Way from reading to reading, m.
    pub spacing_m: f64,
    /// The bore as it is.
    pub bore: Bore,
    /// Whence the errors that the instrument states are drawn.
    pub random: &'a mut Random,
}

/// A lateral, its log and what the estimator is told.
#[derive(Debug, Clone)]
pub struct Survey {
    /// The pipe.
    pub truth: Truth,
    /// Its bore.
    pub bore: Bore,
    /// The log with the truth beside it.
    pub log: Simulated,
    /// Zero error of the head, rad.
    pub zero_rad: f64,
    /// Scale error of the counter.
    pub counter_scale: f64,
    /// What a reversal check shows, or would show, rad: with an error of 0.05 degrees.
    pub check_rad: f64,
    /// What the estimator is told.
    pub job: Job,
}

impl Survey {
    /// Surveys a pipe with a head that has, beside what `head` says, the errors that the instrument states.
    ///
    /// # Errors
    /// Those of the simulation.
    pub fn made(mut truth: Truth, head: &Head, told: &Instrument, zero: Zero, by: Making<'_>) -> Result<Self, Error> {
        let Making { zero_factor, joints_m, list, spacing_m, bore, random } = by;
        let zero_rad = told.zero_sd_rad * zero_factor * random.normal();
        let check_rad = zero_rad + 0.05 * DEGREE * random.normal();
        let head = Head {
            zero_rad,
            seating_push_rad: told.seating_sd_rad * random.normal(),
            drift_rad: told.drift_sd_rad * random.normal(),
            ..head.clone()
        };
        truth.lips = joints_m.into_iter().map(|at_m| Lip { at_m, rise_m: told.lip_sd_m * random.normal() }).collect();
        let counter_scale = told.counter_scale + told.counter_scale_sd * random.normal();
        let flaws = Flaws { list, counter_scale };
        let log = simulate::run(&truth, &head, &flaws, spacing_m, random.next_u64())?;
        let instrument = if zero == Zero::Checked { checked(told, check_rad) } else { told.clone() };
        let pipe = Pipe { bore: Some(Bore::circle(BORE_M)?), nominal: Some(Nominal::dn(100.0)), ..Pipe::default() };
        let to_m = log.run.counter_m.last().copied().unwrap_or_default();
        let mut job = Job {
            runs: vec![log.run.clone()],
            instrument,
            reaches: vec![Reach { from_m: 0.0, to_m, pipe, ..Reach::default() }],
            ..Job::default()
        };
        job.report.draws = DRAWS;
        Ok(Self { truth, bore, log, zero_rad, counter_scale, check_rad, job })
    }

    /// The job with nothing but its first run.
    pub fn bare(&self) -> Job {
        Job { runs: vec![self.log.run.clone()], ties: Vec::new(), ..self.job.clone() }
    }

    /// The job with breaks given.
    pub fn given(&self, true_m: &[f64]) -> Job {
        let breaks_m = true_m.iter().map(|s| self.station_m(*s)).collect();
        Job { segments: SegmentChoice::Given { breaks_m }, ..self.job.clone() }
    }

    /// The job with joints noted and segments found.
    pub fn noted(&self, true_m: &[f64]) -> Job {
        let joint = |s: &f64| Feature {
            kind: FeatureKind::Joint,
            station_m: self.station_m(*s),
            to_m: None,
            text: String::new(),
        };
        Job { features: true_m.iter().map(joint).collect(), ..self.job.clone() }
    }

    /// Where a station of the lateral truly is, m.
    pub fn true_m(&self, station_m: f64) -> f64 {
        interpolated(&self.log.run.counter_m, &self.log.true_station_m, station_m)
    }

    /// The lateral's station, as the counter shows it, of a true one, m.
    pub fn station_m(&self, true_m: f64) -> f64 {
        interpolated(&self.log.true_station_m, &self.log.run.counter_m, true_m)
    }
}

/// Linear between the two nearest of `x`, which do not fall, and beyond them; of several equal ones the last.
fn interpolated(x: &[f64], y: &[f64], at: f64) -> f64 {
    let last = x.len().saturating_sub(1).min(y.len().saturating_sub(1));
    let after = x.partition_point(|v| *v <= at).clamp(1, last.max(1)).min(last);
    // Where the counter stood there is no slope to go by.
    let before = x[..after].iter().rposition(|v| *v < x[after]).unwrap_or(0);
    let rise = x[after] - x[before];
    if rise > 0.0 { y[before] + (at - x[before]) * (y[after] - y[before]) / rise } else { y[before] }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stations_go_there_and_back() {
        for source in Source::ALL {
            let survey = Case::new(Shape::Straight, source, Zero::Unknown).survey(1, 2).unwrap();
            for (station, truth) in survey.log.run.counter_m.iter().zip(&survey.log.true_station_m) {
                // 1e-9 of 30 m; while the counter stands, over 0.3 m, one station is many places.
                let within = if source == Source::Slip { 0.3 + 1e-9 } else { 1e-9 };
                assert!((survey.true_m(*station) - truth).abs() < within, "{source:?} {station} {truth}");
                assert!((survey.station_m(*truth) - station).abs() < 1e-9, "{source:?} {station} {truth}");
            }
            // Half a millimetre past the last reading goes on at the last rate.
            let end = survey.log.run.counter_m.last().unwrap() + 0.0005;
            assert!((survey.station_m(survey.true_m(end)) - end).abs() < 1e-9, "{source:?}");
        }
    }
}

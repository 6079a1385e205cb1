//! What is known beside the readings, drawn from the truth with exactly the errors stated: heights are those of the true pipe, levels
//! and stations are read off it, and nothing here knows how the estimator writes a tie as an equation.

use fallwise::{
    math::{self, Random},
    model::{Known, Place, ReversalCheck, Seen, Tie, Toward},
    simulate::{self, Flaws, Head, Truth},
};

use crate::{
    DEGREE, Error,
    shape::{LENGTH_M, Shape},
    survey::Survey,
    water,
};

/// What is known beside the readings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TieSet {
    /// Nothing.
    None,
    /// The inverts at both ends, 10 mm.
    Inverts,
    /// The two edges of the deepest belly's water, 3 mm each, standing half as high as it can.
    Water,
    /// A reversal check, 0.05 degrees.
    Reversal,
    /// Four located depths, 50 mm.
    Depths,
    /// A second run of the same head from the other end.
    OtherEnd,
    /// The whole length, taped, 50 mm.
    Length,
    /// All of these; water where the pipe has a belly.
    Mix,
}

impl TieSet {
    /// All that say something, in the order of the tables.
    pub const ALL: [Self; 7] =
        [Self::Inverts, Self::Water, Self::Reversal, Self::Depths, Self::OtherEnd, Self::Length, Self::Mix];

    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Self::None => "no ties",
            Self::Inverts => "two inverts",
            Self::Water => "water edges",
            Self::Reversal => "reversal check",
            Self::Depths => "four located depths",
            Self::OtherEnd => "run from the other end",
            Self::Length => "length taped",
            Self::Mix => "all of them",
        }
    }

    /// Whether it gives a datum.
    pub fn has_datum(self) -> bool {
        matches!(self, Self::Inverts | Self::Depths | Self::Mix)
    }

    /// Whether a class of pipe has what is to be measured.
    pub fn fits(self, shape: Shape) -> bool {
        self != Self::Water || matches!(shape, Shape::LargeChanges | Shape::Backfall)
    }
}

/// Depth from which on a belly has edges worth reading, m.
const BELLY_M: f64 = 0.02;
/// Pipes drawn before it is given up that one of a class has such a belly.
const TRIES: usize = 100;

/// Elevation of the first break, m.
pub const DATUM_M: f64 = 87.25;
/// Standard deviation of a station that was had from the counter, m.
const STATION_SD_M: f64 = 0.05;
const INVERT_SD_M: f64 = 0.01;
const LEVEL_SD_M: f64 = 0.003;
const DEPTH_SD_M: f64 = 0.05;
const LENGTH_SD_M: f64 = 0.05;
const CHECK_SD_RAD: f64 = 0.05 * DEGREE;
/// How far behind the head the transmitter is, and how high above the invert, m.
const BEHIND_M: f64 = 0.3;
const ABOVE_M: f64 = 0.05;
/// Where depths are located, m: not at joints.
const LOCATED_M: [f64; 4] = [4.1, 11.4, 19.3, 26.2];
/// Cover over the transmitter where the pipe begins, m.
const DEPTH_M: f64 = 1.2;
/// Tilt of the surface that a head is checked on, rad.
const SURFACE_RAD: f64 = 0.7 * DEGREE;

/// A pipe of a class in which a set of ties can be measured: where that is water, one with a belly.
///
/// # Errors
/// A class whose pipes have none.
pub fn pipe_for(ties: TieSet, shape: Shape, random: &mut Random) -> Result<Truth, Error> {
    for _ in 0..TRIES {
        let truth = shape.truth(random);
        if ties != TieSet::Water || water::deepest(&truth).depth_m >= BELLY_M {
            return Ok(truth);
        }
    }
    Err(format!("{} has no belly of {BELLY_M} m", shape.name()).into())
}

/// Draws ties from the truth of a survey and puts them into its job; `factor` is what their true standard deviations are of the stated
/// ones.
///
/// # Errors
/// Those of the simulation, where a second run is made.
pub fn put(ties: TieSet, survey: &mut Survey, head: &Head, factor: f64, random: &mut Random) -> Result<(), Error> {
    let has = |of: TieSet| ties == of || ties == TieSet::Mix;
    let mut known = Vec::new();
    {
        let drawn = &mut Drawn { survey, factor, random };
        if has(TieSet::Inverts) {
            known.extend([0.0, LENGTH_M].map(|at_m| drawn.invert(at_m)));
        }
        if has(TieSet::Water) {
            known.extend(drawn.water());
        }
        if has(TieSet::Reversal) {
            known.push(drawn.reversal());
        }
        if has(TieSet::Depths) {
            known.extend(LOCATED_M.map(|at_m| drawn.depth(at_m)));
        }
        if has(TieSet::Length) {
            known.push(drawn.length());
        }
    }
    survey.job.ties = known.into_iter().map(Tie::new).collect();
    if has(TieSet::OtherEnd) {
        other_end(survey, head, random)?;
    }
    Ok(())
}

/// What ties are drawn from.
struct Drawn<'a> {
    survey: &'a Survey,
    factor: f64,
    random: &'a mut Random,
}

impl Drawn<'_> {
    /// An error of a stated standard deviation.
    fn error(&mut self, sd: f64) -> f64 {
        self.factor * sd * self.random.normal()
    }

    /// What was noted as the station of a place.
    fn place(&mut self, true_m: f64) -> Place {
        let station_m = self.survey.station_m(true_m) + self.error(STATION_SD_M);
        Place { station_m, sd_m: STATION_SD_M, taped: false }
    }

    fn invert(&mut self, true_m: f64) -> Known {
        let elevation_m = DATUM_M + self.survey.truth.height_m(true_m) + self.error(INVERT_SD_M);
        Known::Invert { at: self.place(true_m), elevation_m, sd_m: INVERT_SD_M }
    }

    /// Edges where the invert comes up to the water's level, give or take what film and meniscus make of each; half as high as the belly
    /// can hold, so that an edge of three standard deviations more is still in it.
    fn water(&mut self) -> Option<Known> {
        let truth = &self.survey.truth;
        let deepest = water::deepest(truth);
        if deepest.depth_m < BELLY_M {
            return None;
        }
        let level_m = deepest.invert_m + 0.5 * deepest.depth_m;
        let [from, to] = [true, false].map(|upstream| {
            let seen_m = level_m + self.error(LEVEL_SD_M);
            self.place(water::edge_m(truth, deepest.at_m, upstream, seen_m))
        });
        Some(Known::WaterLevel { from, to, level_sd_m: Some(LEVEL_SD_M), seen: Seen::Edge, although_running: false })
    }

    /// Two readings on one spot; half their sum has an error of the check's standard deviation.
    fn reversal(&mut self) -> Known {
        let reading_sd_rad = core::f64::consts::SQRT_2 * CHECK_SD_RAD;
        let zero_rad = self.survey.zero_rad;
        Known::ReversalCheck(ReversalCheck {
            first_rad: zero_rad + SURFACE_RAD + self.error(reading_sd_rad),
            second_rad: zero_rad - SURFACE_RAD + self.error(reading_sd_rad),
            sd_rad: Some(reading_sd_rad),
            tilt_positive: None,
        })
    }

    /// The head at a place, the transmitter behind it, upright above the invert by what the tilt leaves of its height; the ground falls
    /// with the pipe by 1 %.
    fn depth(&mut self, true_m: f64) -> Known {
        let truth = &self.survey.truth;
        let behind_m = true_m - BEHIND_M;
        let piece = truth.breaks_m.partition_point(|b| *b <= behind_m).saturating_sub(1).min(truth.tilt_rad.len() - 1);
        let transmitter_m = DATUM_M + truth.height_m(behind_m) + ABOVE_M * math::cos(truth.tilt_rad[piece]);
        let ground_m = DATUM_M + DEPTH_M - 0.01 * behind_m;
        let depth_m = ground_m - transmitter_m + self.error(DEPTH_SD_M);
        Known::Depth {
            at: self.place(true_m),
            depth_m,
            sd_m: Some(DEPTH_SD_M),
            ground_m: Some(ground_m),
            ground_sd_m: Some(0.0),
            behind_m: BEHIND_M,
            above_m: ABOVE_M,
        }
    }

    fn length(&mut self) -> Known {
        let (from_m, to_m) = (self.survey.station_m(0.0), self.survey.station_m(LENGTH_M));
        Known::Length { from_m, to_m, length_m: LENGTH_M + self.error(LENGTH_SD_M), sd_m: LENGTH_SD_M }
    }
}

/// A second run of the same head by the same counter: its zero is the same, its seating and drift are its own. It starts where the
/// first run ended, by the first run's counter.
fn other_end(survey: &mut Survey, head: &Head, random: &mut Random) -> Result<(), Error> {
    let told = &survey.job.instrument;
    let head = Head {
        zero_rad: survey.zero_rad,
        seating_push_rad: told.seating_sd_rad * random.normal(),
        drift_rad: told.drift_sd_rad * random.normal(),
        toward: Toward::Decreasing,
        ..head.clone()
    };
    let flaws = Flaws { list: Vec::new(), counter_scale: survey.counter_scale };
    let mut run = simulate::run(&survey.truth, &head, &flaws, 0.05, random.next_u64())?.run;
    run.start_station_m = survey.station_m(LENGTH_M);
    survey.job.runs.push(run);
    Ok(())
}

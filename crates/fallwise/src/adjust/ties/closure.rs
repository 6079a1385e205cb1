//! How well ties and readings go together.
//!
//! With S the covariance that the misclosures w of all equations may have if the errors are as stated, and what is open put in, P =
//! S⁻¹ - S⁻¹F (FᵀS⁻¹F)⁻¹FᵀS⁻¹. Of equation j then (Baarda, *A Testing Procedure for Use in Geodetic Networks*, 1968; Teunissen,
//! *Testing Theory*, 2000):
//!
//! * everything else says of it that it is off by (P w)(j) / P(j,j), with the standard deviation 1/√P(j,j);
//! * their ratio is its standardised residual, standard normal;
//! * an error in it of size e shows with e √P(j,j), so that the smallest one that a test at one in a thousand finds with a
//!   probability of 80 % is 4.132/√P(j,j);
//! * its redundancy is the variance of its own errors times P(j,j): of an error in it that share goes into its residual.
//!
//! wᵀ P w is chi-square with as many degrees of freedom as there are equations beyond what is open. What a set K of equations takes off it
//! when it is left out is uᵀ (P(K,K))⁻¹ u with u = (P w)(K), so that pairs are tried without solving anew.

use super::{Solved, ZeroLeft, told};
use crate::prelude::*;
use crate::{
    adjust::{basis::dot, coordinates::Coordinates},
    error::Error,
    math,
    model::Tie,
};

/// Standardised residuals beyond this are suspect: one in a thousand (Baarda's choice).
pub const SUSPECT: f64 = 3.290_526_731_491_895;
/// And with a power of 80 % that is what an error must add: SUSPECT + the 80 % quantile.
pub const DETECTABLE: f64 = 4.132_147_965_064_809;
/// Ties contradict each other where all misclosures together have less than this probability, or the worst one alone less than its
/// share of it, one for each equation (our choice).
const CONTRADICTORY: f64 = 1e-6;
/// Misclosures that together have less than this probability are large, also where no single one is suspect (our choice).
const LARGE: f64 = 0.01;
/// Two equations whose residuals have more than this correlation cannot be told apart: of errors that both show with five standard
/// deviations the right one shows more by a third of what chance does.
const ALIKE: f64 = 0.99;
/// Of more equations than this only those that fit worst are tried in pairs.
const IN_PAIRS: usize = 40;
/// More explanations than this are not looked into: each is solved anew.
const EXPLANATIONS: usize = 6;
/// Of an error less than this share goes into the residual: it would have to be 400 of its own standard deviations to be found, so that
/// nothing checks it (our choice).
const UNCHECKED: f64 = 1e-4;

/// How an equation of a tie fits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Within what it may be off.
    Agrees,
    /// Beyond what happens once in a thousand, but another fits worse.
    Large,
    /// Fits worst, and beyond what happens once in a thousand; or cannot be told from that which does.
    Suspect,
    /// Nothing else says anything of it.
    Unchecked,
    /// Repeats what holds exactly already.
    Repeated,
}

impl Verdict {
    /// As a word.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Agrees => "agrees",
            Self::Large => "large",
            Self::Suspect => "suspect",
            Self::Unchecked => "unchecked",
            Self::Repeated => "repeated",
        }
    }
}

/// One number that a tie measures, held against everything else.
#[derive(Debug, Clone, PartialEq)]
pub struct Closure {
    /// Which tie, from 0.
    pub tie: usize,
    /// What the numbers are: `elevation_m`, `rise_m`, `east_m`, `north_m`, `azimuth_rad`, `length_m`, `zero_rad`.
    pub quantity: &'static str,
    /// What was measured, m or rad; of a located depth the elevation of the invert that it gives.
    pub measured: f64,
    /// Standard deviation of that, with what the stations add.
    pub sd: f64,
    /// Standard deviation of the measurement alone.
    pub own_sd: f64,
    /// What the errors of its stations add.
    pub station_sd: f64,
    /// Misclosure: what was measured less what everything else says, and its standard deviation; absent where nothing else says
    /// anything. In m or rad, as the quantity.
    pub off: Option<(f64, f64)>,
    /// Measured less adjusted, m or rad, at the stations as noted.
    pub residual: f64,
    /// Share of an error in it that goes into its residual, 0 to 1; 0 also of what holds exactly, which others check all the same.
    pub redundancy: f64,
    /// How it fits.
    pub verdict: Verdict,
}

impl Closure {
    /// Misclosure over its standard deviation; 0 where it can have none.
    pub fn standardised(&self) -> Option<f64> {
        self.off.map(|(off, sd)| if sd > 0.0 { off / sd } else { 0.0 })
    }

    /// Standard deviation of what everything else says of it; `None` where nothing does, and for a position whose station has an error:
    /// that stands in two equations, so that what the one says of the other is not independent of it.
    pub fn expected_sd(&self) -> Option<f64> {
        let shared = matches!(self.quantity, "east_m" | "north_m") && self.station_sd > 0.0;
        self.off.filter(|_| !shared).map(|(_, sd)| ((sd - self.sd) * (sd + self.sd)).max(0.0).sqrt())
    }

    /// The smallest error in it that would be found with a probability of 80 %, at one false alarm in a thousand, m or rad.
    pub fn smallest_detectable(&self) -> Option<f64> {
        self.off.map(|(_, sd)| DETECTABLE * sd)
    }
}

/// How ties and readings go together.
#[derive(Debug, Clone, PartialEq)]
pub struct Adjustment {
    /// Steps that were taken.
    pub steps: usize,
    /// Whether they came to rest.
    pub converged: bool,
    /// Chi-square of the misclosures: wᵀ P w.
    pub chi_square: f64,
    /// Its degrees of freedom.
    pub degrees_of_freedom: usize,
    /// Probability of a chi-square as large or larger; absent without a degree of freedom.
    pub p_value: Option<f64>,
    /// The equations of the ties, in order.
    pub closures: Vec<Closure>,
    /// The equation that fits worst, if it is suspect. Others may be suspect as much: their verdict says so.
    pub suspect: Option<usize>,
    /// Two that together explain what one cannot.
    pub suspect_pair: Option<(usize, usize)>,
    /// Where misclosures are larger than they should be: ties each of which, left out alone, makes the rest go together (our choice:
    /// with a probability of 1 % or more), the likeliest first, six at most. Any of them may be the wrong one.
    pub explained_by: Vec<usize>,
    /// Errors of the stations of each tie as they were found, m.
    pub station_m: Vec<[f64; 2]>,
}

impl Adjustment {
    /// Of no ties.
    pub(super) fn none() -> Self {
        Self {
            steps: 0,
            converged: true,
            chi_square: 0.0,
            degrees_of_freedom: 0,
            p_value: None,
            closures: Vec::new(),
            suspect: None,
            suspect_pair: None,
            explained_by: Vec::new(),
            station_m: Vec::new(),
        }
    }

    /// Whether the misclosures are larger than they should be.
    pub fn is_large(&self) -> bool {
        self.suspect.is_some() || self.p_value.is_some_and(|p| p < LARGE)
    }
}

/// P of all equations as products of vectors: P(j,k) = Y(j) · Y(k), and u = P w.
struct Precision {
    vectors: Vec<Vec<f64>>,
    misclosure: Vec<f64>,
}

impl Precision {
    /// Equations of other ties that cannot be told from one: what goes into the residual of the one goes into theirs. Of two whose
    /// residuals go together so closely chance decides which is the larger, and the order of a sum.
    fn alike(&self, one: usize, closures: &[Closure]) -> Vec<usize> {
        let y = &self.vectors;
        let as_one = |j: &usize| {
            let both = dot(&y[one], &y[*j]);
            both * both > ALIKE * ALIKE * dot(&y[one], &y[one]) * dot(&y[*j], &y[*j])
        };
        let others =
            (0..closures.len()).filter(|j| closures[*j].tie != closures[one].tie && closures[*j].off.is_some());
        others.filter(as_one).collect()
    }
}

impl Solved {
    /// How everything goes together.
    pub(super) fn adjustment(
        &self,
        coordinates: &Coordinates,
        ties: &[Tie],
        zero: ZeroLeft,
        (steps, converged): (usize, bool),
    ) -> Result<Adjustment, Error> {
        let chi_square = dot(&self.closed, &self.closed);
        // A zero that is open takes one equation to be known at all.
        let degrees_of_freedom = self.closed.len().saturating_sub(usize::from(zero.sd_rad.is_some()));
        let p_value = (degrees_of_freedom > 0).then(|| math::chi_square_above(chi_square, degrees_of_freedom));
        let errors = self.basis.combine(&self.closed);
        let error = |i: usize| errors.get(i).copied().unwrap_or(0.0);
        let precision = self.precision();
        let mut closures: Vec<Closure> = self
            .equations
            .iter()
            .enumerate()
            .map(|(j, e)| {
                let own = e.stations.iter().fold(e.sd * e.sd, |sum, by| sum + by * by);
                let square = dot(&precision.vectors[j], &precision.vectors[j]);
                let redundancy = (own * square).clamp(0.0, 1.0);
                let repeated = self.rest.iter().position(|r| *r == j).is_some_and(|at| self.basis.repeated(at));
                // Of what holds exactly nothing goes into a residual, and yet it can be off.
                let checked = square > 0.0
                    && (own == 0.0 || redundancy > UNCHECKED)
                    && !(e.quantity == "zero_rad" && zero.is_all_that_says(1.0 / square.sqrt()));
                let off = (checked && !repeated).then(|| (precision.misclosure[j] / square, 1.0 / square.sqrt()));
                let stations: f64 = e
                    .stations
                    .iter()
                    .enumerate()
                    .map(|(end, by)| by * coordinates.station(e.tie, end).map_or(0.0, error))
                    .sum();
                Closure {
                    tie: e.tie,
                    quantity: e.quantity,
                    measured: e.measured,
                    sd: own.sqrt(),
                    own_sd: e.sd,
                    station_sd: math::hypot(e.stations[0], e.stations[1]),
                    off,
                    residual: e.sd * error(coordinates.equation(j)) + stations,
                    redundancy,
                    verdict: match off {
                        _ if repeated => Verdict::Repeated,
                        None => Verdict::Unchecked,
                        Some((off, sd)) if off.abs() > SUSPECT * sd => Verdict::Large,
                        Some(_) => Verdict::Agrees,
                    },
                }
            })
            .collect();
        self.holds_exactly(&closures, ties)?;
        let size = |c: &Closure| c.standardised().map_or(0.0, f64::abs);
        let worst = (0..closures.len()).max_by(|&a, &b| size(&closures[a]).total_cmp(&size(&closures[b])));
        let alike = worst.map(|worst| precision.alike(worst, &closures)).unwrap_or_default();
        if let Some(worst) = worst {
            let least = CONTRADICTORY / closures.len().max(1) as f64;
            let alone = 2.0 * math::normal_cdf(-size(&closures[worst]));
            if p_value.is_some_and(|p| p < CONTRADICTORY) || alone < least {
                let mut others: Vec<usize> = alike.iter().map(|j| closures[*j].tie).collect();
                others.dedup();
                return Err(contradictory(&closures[worst], &others, ties, p_value.map(|p| p.min(alone))));
            }
        }
        let suspect = worst.filter(|&j| closures[j].verdict == Verdict::Large);
        for j in suspect.into_iter().chain(alike) {
            if closures[j].verdict == Verdict::Large {
                closures[j].verdict = Verdict::Suspect;
            }
        }
        let suspect_pair = pair(&precision, &closures, (chi_square, degrees_of_freedom), worst);
        let large = suspect.is_some() || p_value.is_some_and(|p| p < LARGE);
        let explained_by =
            if large { explained_by(&precision, &closures, (chi_square, degrees_of_freedom)) } else { Vec::new() };
        Ok(Adjustment {
            steps,
            converged,
            chi_square,
            degrees_of_freedom,
            p_value,
            closures,
            suspect,
            suspect_pair,
            explained_by,
            station_m: Vec::new(),
        })
    }

    /// What holds exactly and says another thing than what holds exactly already.
    fn holds_exactly(&self, closures: &[Closure], ties: &[Tie]) -> Result<(), Error> {
        for (missed, &j) in self.missed.iter().zip(&self.rest) {
            if missed.abs() > super::EXACT {
                let of = Closure { off: Some((*missed, 0.0)), ..closures[j].clone() };
                return Err(contradictory(&of, &[], ties, None));
            }
        }
        Ok(())
    }

    fn precision(&self) -> Precision {
        let inverse = self.basis.inverse();
        let own = self.basis.own();
        let count = inverse.len();
        let mut vectors = vec![vec![0.0; count]; self.equations.len()];
        // P = Nᵀ X Xᵀ N, X the inverse of the triangle and N what was made of the equations when the open ones were put in.
        for (i, &at) in own.iter().enumerate() {
            let Some(&j) = self.rest.get(at) else { continue };
            // Row i of X.
            let row: Vec<f64> = (0..count).map(|k| inverse[k].get(i).copied().unwrap_or(0.0)).collect();
            self.put(&mut vectors, j, 1.0, &row);
        }
        let misclosure = vectors.iter().map(|y| dot(y, &self.closed)).collect();
        Precision { vectors, misclosure }
    }

    /// Adds a row of X to an equation and, the other way, to the pivots that were taken off it.
    fn put(&self, vectors: &mut [Vec<f64>], equation: usize, factor: f64, row: &[f64]) {
        if let Some(y) = vectors.get_mut(equation) {
            y.iter_mut().zip(row).for_each(|(y, x)| *y += factor * x);
        }
        for (pivot, share) in &self.combined[equation] {
            self.put(vectors, self.pivots[*pivot].equation, -factor * share, row);
        }
    }
}

/// Ties each of which, left out alone, brings the rest within bounds, the likeliest first.
fn explained_by(precision: &Precision, closures: &[Closure], (chi_square, degrees): (f64, usize)) -> Vec<usize> {
    let mut ties: Vec<usize> = closures.iter().filter(|c| c.off.is_some()).map(|c| c.tie).collect();
    ties.dedup();
    let left = |tie: usize| {
        let of: Vec<usize> =
            (0..closures.len()).filter(|j| closures[*j].tie == tie && closures[*j].off.is_some()).collect();
        let (y, u) = (&precision.vectors, &precision.misclosure);
        let taken = match of.as_slice() {
            [j] => u[*j] * u[*j] / dot(&y[*j], &y[*j]),
            [j, k] => together(precision, *j, *k)?,
            // No tie has more equations than a position has.
            _ => return None,
        };
        // Where nothing is left that could differ, it explains all.
        let rest = degrees.checked_sub(of.len())?;
        let p = if rest == 0 { 1.0 } else { math::chi_square_above((chi_square - taken).max(0.0), rest) };
        (p >= LARGE).then_some((tie, p, taken))
    };
    let mut found: Vec<(usize, f64, f64)> = ties.into_iter().filter_map(left).collect();
    found.sort_by(|a, b| b.2.total_cmp(&a.2).then(a.0.cmp(&b.0)));
    found.into_iter().take(EXPLANATIONS).map(|(tie, ..)| tie).collect()
}

/// What two equations take off chi-square together; nothing where they cannot be told apart: then they take no more than one does.
fn together(precision: &Precision, j: usize, k: usize) -> Option<f64> {
    let (y, u) = (&precision.vectors, &precision.misclosure);
    let (a, b, c) = (dot(&y[j], &y[j]), dot(&y[j], &y[k]), dot(&y[k], &y[k]));
    let determinant = a * c - b * b;
    (determinant > 1e-6 * a * c).then(|| (c * u[j] * u[j] - 2.0 * b * u[j] * u[k] + a * u[k] * u[k]) / determinant)
}

/// Two equations of two ties that together bring the rest within bounds, where leaving out the worst one does not, or where each of
/// them hides the other.
fn pair(
    precision: &Precision,
    closures: &[Closure],
    (chi_square, degrees): (f64, usize),
    worst: Option<usize>,
) -> Option<(usize, usize)> {
    let p = |left: f64, degrees: usize| math::chi_square_above(left.max(0.0), degrees);
    let alone = |j: usize| closures[j].standardised().map_or(0.0, |s| s * s);
    let worst = worst?;
    let whole = p(chi_square, degrees);
    // One explains it, or nothing is to be explained.
    if degrees < 3 || whole >= LARGE || p(chi_square - alone(worst), degrees - 1) >= LARGE {
        return None;
    }
    let mut tried: Vec<usize> = (0..closures.len()).filter(|&j| closures[j].off.is_some()).collect();
    tried.sort_by(|a, b| alone(*b).total_cmp(&alone(*a)).then(a.cmp(b)));
    tried.truncate(IN_PAIRS);
    let mut best: Option<(f64, (usize, usize))> = None;
    for (at, &j) in tried.iter().enumerate() {
        for &k in tried.iter().skip(at + 1).filter(|k| closures[**k].tie != closures[j].tie) {
            let Some(taken) = together(precision, j, k) else { continue };
            if best.is_none_or(|(most, _)| taken > most) {
                best = Some((taken, (j.min(k), j.max(k))));
            }
        }
    }
    let (taken, pair) = best?;
    (p(chi_square - taken, degrees - 2) >= LARGE).then_some(pair)
}

/// The error of ties that cannot all be true.
fn contradictory(closure: &Closure, alike: &[usize], ties: &[Tie], p_value: Option<f64>) -> Error {
    let (off, sd) = closure.off.unwrap_or_default();
    let named = |number: usize| ties.get(number).map_or_else(String::new, |tie| told(number, tie));
    let others: Vec<String> = alike.iter().take(2).map(|other| named(*other)).collect();
    let tie = match others.as_slice() {
        [] => named(closure.tie),
        others => format!("{} (or just as well {})", named(closure.tie), others.join(", or ")),
    };
    let worded = |x: f64| match closure.quantity {
        "azimuth_rad" | "zero_rad" => format!("{:.2} degrees", x.abs().to_degrees()),
        _ if x == 0.0 => "0 mm".to_owned(),
        _ => format!("{} mm", three_figures(1000.0 * x.abs())),
    };
    Error::TiesContradict { tie, misclosure: worded(off), misclosure_sd: worded(sd), p_value }
}

/// A number to three figures, without an exponent where it can be.
fn three_figures(x: f64) -> String {
    match x {
        x if x >= 100.0 => format!("{x:.0}"),
        x if x >= 10.0 => format!("{x:.1}"),
        x if x >= 0.01 => format!("{x:.3}"),
        x => format!("{x:.2e}"),
    }
}

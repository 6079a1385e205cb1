//! Which rows stand in which table.

use crate::{
    Error,
    row::{Row, row},
    shape::Shape,
    source::Source,
    survey::{Case, Stated, Zero},
    ties::TieSet,
};

/// A table of the study.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Table {
    /// What the estimator models, with bounds.
    Coverage,
    /// Zero and noise stated wrongly.
    Stated,
    /// What the estimator does not model.
    NotModelled,
    /// With ties, with bounds; what is stated wrongly beside them; how ties fit; findings with them.
    Ties,
    /// Ways of giving a found segment its interval.
    Methods,
    /// Findings at fixed slopes.
    Decisions,
    /// Probabilities of pools.
    Probabilities,
    /// Which bellies are found.
    Power,
}

impl Table {
    /// All of them, in the order of the study.
    pub const ALL: [Self; 8] = [
        Self::Coverage,
        Self::Stated,
        Self::NotModelled,
        Self::Ties,
        Self::Methods,
        Self::Decisions,
        Self::Probabilities,
        Self::Power,
    ];

    /// As an option.
    pub fn name(self) -> &'static str {
        match self {
            Self::Coverage => "coverage",
            Self::Stated => "stated",
            Self::NotModelled => "not-modelled",
            Self::Ties => "ties",
            Self::Methods => "methods",
            Self::Decisions => "decisions",
            Self::Probabilities => "probabilities",
            Self::Power => "power",
        }
    }
}

/// Classes in which sources are switched on: one of each kind.
const FEW: [Shape; 5] = [Shape::Straight, Shape::LargeChanges, Shape::SmallChanges, Shape::SmoothSag, Shape::Backfall];

/// Classes of the small run: the one that is hardest to tell apart, and one with a pool.
const FEWEST: [Shape; 2] = [Shape::SmallChanges, Shape::Backfall];

/// Classes with a belly deep enough for its edges to be read.
const WITH_POOLS: [Shape; 2] = [Shape::LargeChanges, Shape::Backfall];

/// The cases of a table of coverage; none of another.
pub fn cases(table: Table) -> Vec<Case> {
    let sources = |modelled: bool, shapes: &'static [Shape], zero: Zero| {
        let of = move |source: &Source| source.is_modelled() == modelled && *source != Source::Plain;
        let of = Source::ALL.into_iter().filter(of);
        of.flat_map(move |source| shapes.iter().map(move |shape| Case::new(*shape, source, zero)))
    };
    match table {
        Table::Coverage => {
            let of = |zero, shapes| plain(zero).chain(sources(true, shapes, zero));
            // Where the zero decides, sources hardly show.
            of(Zero::Known, &FEW).chain(of(Zero::Unknown, &FEWEST[..1])).collect()
        }
        Table::Stated => {
            let wrong = [(1.5, None, Zero::Unknown), (1.0 / 1.5, None, Zero::Unknown)]
                .into_iter()
                .chain([1.5, 1.0, 1.0 / 1.5].map(|noise| (1.0, Some(noise), Zero::Known)));
            let case = |(zero_factor, noise, zero), shape| Case {
                stated: Stated { zero: zero_factor, noise, ties: 1.0 },
                ..Case::new(shape, Source::Plain, zero)
            };
            wrong.flat_map(|stated| FEW.map(|shape| case(stated, shape))).collect()
        }
        Table::NotModelled => sources(false, &FEW, Zero::Known).collect(),
        Table::Ties => {
            let of =
                |ties: TieSet| Shape::ALL.into_iter().filter(move |s| ties.fits(*s)).map(move |s| Case::tied(s, ties));
            TieSet::ALL.into_iter().flat_map(of).collect()
        }
        Table::Methods | Table::Decisions | Table::Probabilities | Table::Power => Vec::new(),
    }
}

fn plain(zero: Zero) -> impl Iterator<Item = Case> {
    Shape::ALL.into_iter().map(move |shape| Case::new(shape, Source::Plain, zero))
}

/// Cases with ties in which something is stated wrongly: zero, noise or the errors of ties, each 1.5 times too large or too small.
pub fn wrongly_stated_ties() -> Vec<Case> {
    let right = Stated::RIGHT;
    let of = |factor: f64| {
        [Stated { zero: factor, ..right }, Stated { noise: Some(factor), ..right }, Stated { ties: factor, ..right }]
    };
    let wrong = [of(1.5), of(1.0 / 1.5)].into_iter().flatten();
    let case = |stated, ties, shape| Case { stated, ..Case::tied(shape, ties) };
    let sets = [TieSet::Inverts, TieSet::Water, TieSet::Depths, TieSet::Mix];
    wrong
        .flat_map(|stated| sets.into_iter().flat_map(move |ties| WITH_POOLS.map(|shape| case(stated, ties, shape))))
        .collect()
}

/// The cases with ties that every run of the tests can afford: each set, in the classes that have what all sets measure.
pub fn small_tied_cases() -> Vec<Case> {
    cases(Table::Ties).into_iter().filter(|case| WITH_POOLS.contains(&case.shape)).collect()
}

/// The cases of the main table that every run of the tests can afford.
pub fn small_cases() -> Vec<Case> {
    let is_small =
        |case: &Case| case.source == Source::Plain || (case.zero == Zero::Known && FEWEST.contains(&case.shape));
    cases(Table::Coverage).into_iter().filter(is_small).collect()
}

/// The rows of cases, each from so many laterals.
///
/// # Errors
/// A lateral that cannot be made or solved.
pub fn rows(cases: Vec<Case>, laterals: usize) -> Result<Vec<Row>, Error> {
    cases.into_iter().map(|case| row(case, laterals, seed(&case))).collect()
}

/// Another seed for each case, whatever table it stands in.
fn seed(case: &Case) -> u64 {
    case.shape as u64 + 100 * case.source as u64 + 10_000 * case.zero as u64 + 100_000 * case.ties as u64
}

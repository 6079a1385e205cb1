//! Which rows stand in which table.

use crate::{
    Error,
    row::{Row, row},
    shape::Shape,
    source::Source,
    survey::{Case, Stated, Zero},
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
    /// Findings at fixed slopes.
    Decisions,
    /// Probabilities of pools.
    Probabilities,
    /// Which bellies are found.
    Power,
}

impl Table {
    /// All of them, in the order of the study.
    pub const ALL: [Self; 6] =
        [Self::Coverage, Self::Stated, Self::NotModelled, Self::Decisions, Self::Probabilities, Self::Power];

    /// As an option.
    pub fn name(self) -> &'static str {
        match self {
            Self::Coverage => "coverage",
            Self::Stated => "stated",
            Self::NotModelled => "not-modelled",
            Self::Decisions => "decisions",
            Self::Probabilities => "probabilities",
            Self::Power => "power",
        }
    }
}

/// Classes in which sources are switched on: one of each kind.
const FEW: [Shape; 4] = [Shape::Straight, Shape::SmallChanges, Shape::SmoothSag, Shape::Backfall];

/// The cases of a table of coverage; none of another.
pub fn cases(table: Table) -> Vec<Case> {
    let sources = |modelled: bool| {
        let of = move |source: &Source| source.is_modelled() == modelled && *source != Source::Plain;
        let of = Source::ALL.into_iter().filter(of);
        of.flat_map(|source| FEW.map(|shape| Case::new(shape, source, Zero::Known)))
    };
    match table {
        Table::Coverage => {
            let plain = [Zero::Known, Zero::Unknown]
                .into_iter()
                .flat_map(|zero| Shape::ALL.map(|shape| Case::new(shape, Source::Plain, zero)));
            plain.chain(sources(true)).collect()
        }
        Table::Stated => {
            let wrong = [(1.5, None, Zero::Unknown), (1.0 / 1.5, None, Zero::Unknown)]
                .into_iter()
                .chain([1.5, 1.0, 1.0 / 1.5].map(|noise| (1.0, Some(noise), Zero::Known)));
            let case = |(zero_factor, noise, zero), shape| Case {
                stated: Stated { zero: zero_factor, noise },
                ..Case::new(shape, Source::Plain, zero)
            };
            wrong.flat_map(|stated| FEW.map(|shape| case(stated, shape))).collect()
        }
        Table::NotModelled => sources(false).collect(),
        Table::Decisions | Table::Probabilities | Table::Power => Vec::new(),
    }
}

/// The rows of a table of coverage, each from so many laterals.
///
/// # Errors
/// A lateral that cannot be made or solved.
pub fn rows(table: Table, laterals: usize) -> Result<Vec<Row>, Error> {
    cases(table).into_iter().map(|case| row(case, laterals, seed(&case))).collect()
}

/// Another seed for each case, whatever table it stands in.
fn seed(case: &Case) -> u64 {
    case.shape as u64 + 100 * case.source as u64 + 10_000 * case.zero as u64
}

//! What a row of the main table must keep to, and the one list of what does not.

use crate::{
    belly::{Bin, Probabilities},
    row::{Level, Quantity, Row},
    shape::Shape,
    share::Share,
    source::Source,
    survey::{Case, Zero},
    ties::TieSet,
};

/// Standard errors by which a bound is widened: of right intervals one in a hundred lies beyond.
pub const ERRORS: f64 = 2.6;

/// Least and greatest share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bound {
    /// Least.
    pub low: f64,
    /// Greatest.
    pub high: f64,
}

impl Bound {
    /// What is allowed beside a bound: [`ERRORS`] standard errors, or what goes unseen in so many laterals once in two hundred studies,
    /// whichever is more: exp(-5.3).
    pub fn room(share: &Share) -> f64 {
        (ERRORS * share.error()).max(5.3 / (share.laterals() as f64).max(1.0))
    }

    /// Whether a share keeps to it, give or take its [`room`](Self::room). What has no value keeps to everything.
    pub fn holds(self, share: &Share) -> bool {
        let room = Self::room(share);
        share.is_empty() || (self.low - room <= share.mean() && share.mean() <= self.high + room)
    }
}

/// What is asked of a quantity of a case that the estimator models; nothing for some.
pub fn asked(case: &Case, quantity: Quantity, level: Level) -> Option<Bound> {
    let least = |low| Some(Bound { low, high: 1.0 });
    match (quantity, level) {
        // In a class without pools every pool said to exist is absent: that one is asked over a population of bellies.
        (Quantity::PoolExists, _)
        | (Quantity::NoFalsePool | Quantity::PoolLimit | Quantity::NotRefused, Level::Half) => None,
        (Quantity::NoFalsePool, Level::Wide) => least(0.95),
        // Ties are refused where what they show happens once in a million.
        (Quantity::NotRefused, Level::Wide) => least(0.999_999),
        (Quantity::PoolLimit, Level::Wide) => least(0.93),
        // Noise below 0.3 steps is not told from the readings: too wide is all right there.
        (_, Level::Wide) if case.source.is_coarse() => least(0.93),
        (_, Level::Half) if case.source.is_coarse() => None,
        (_, Level::Wide) => Some(Bound { low: 0.93, high: 0.97 }),
        (_, Level::Half) => Some(Bound { low: 0.47, high: 0.53 }),
    }
}

/// A bound that does not hold today: the cause, and the bound that does.
#[derive(Debug, Clone, Copy)]
pub struct KnownFailure {
    /// Of which quantity.
    pub quantity: Quantity,
    /// At which level.
    pub level: Level,
    /// In which classes; empty: in all.
    pub shapes: &'static [Shape],
    /// With which sources; empty: with all.
    pub sources: &'static [Source],
    /// With the zero known so; absent: however.
    pub zero: Option<Zero>,
    /// With these ties; empty: with and without any.
    pub ties: &'static [TieSet],
    /// What does hold.
    pub holds: Bound,
    /// Why.
    pub cause: &'static str,
}

impl KnownFailure {
    fn is_of(&self, case: &Case, quantity: Quantity, level: Level) -> bool {
        self.quantity == quantity
            && self.level == level
            && (self.shapes.is_empty() || self.shapes.contains(&case.shape))
            && (self.sources.is_empty() || self.sources.contains(&case.source))
            && self.zero.is_none_or(|zero| zero == case.zero)
            && (self.ties.is_empty() || self.ties.contains(&case.ties))
    }
}

const DRAWN_TOGETHER: &str = "a stick that the readings do not tell from its neighbours is averaged with them, and where breaks may \
                              lie anywhere that is right over all stretches of its length, not over those that are a stick";
const AS_LIKELY_AS_NOT: &str = "a noted joint is taken to be a break as likely as not: too wide where no joint is one, too narrow \
                                where all are and changes are small";
const READINGS_APART: &str = "an interval of a station goes out to the readings on either side, so that it holds more where \
                              the place is known to a reading";
const ROLL_OR_BENDS: &str = "how the head rolls and how the pipe bends cannot always be told apart";
const ONE_FOR_SEVERAL: &str = "among small changes one break that is found may stand for several";
const NO_PIECES: &str = "a smooth sag is not made of pieces: what is said of it is a little too wide";
const SHAPE_OR_NOISE: &str = "noise that hangs together cannot be told from the shape of the pipe: too wide where that changes, \
                              and of a straight pipe there are few independent readings";
const NOISE_AND_BREAKS: &str =
    "noise is estimated a little too large where readings are far apart or under the head at breaks";
const LIPS_HOLD_WATER: &str = "the water that a lip holds or lets go is not modelled";
const LIPS_APART_FROM_TIES: &str = "lips are drawn for pools as if no tie had shown anything of them: too wide where the zero is so well \
                                    known that they decide";
const LIPS_IN_VOLUMES: &str = "what a lip does to a volume goes by the power 5/2 of the depth, as of a shallow wedge: too wide where the \
                               pipe runs nearly full";
const COARSE: &str = "where the tilt of a straight pipe lies about the middle of a whole degree all readings are one number, and \
                      the noise is not seen";
const COARSE_CHANGES: &str =
    "a small change shows in whole degrees only where it passes the middle of one, not where it is";

const EVERYWHERE: KnownFailure = KnownFailure {
    quantity: Quantity::Stick,
    level: Level::Wide,
    shapes: &[],
    sources: &[],
    zero: None,
    ties: &[],
    holds: Bound { low: 0.0, high: 1.0 },
    cause: "",
};

/// A failure of a quantity in all classes, with some sources; empty: with all.
const fn with(
    sources: &'static [Source],
    quantity: Quantity,
    level: Level,
    (low, high): (f64, f64),
    cause: &'static str,
) -> KnownFailure {
    KnownFailure { quantity, level, sources, holds: Bound { low, high }, cause, ..EVERYWHERE }
}

/// A failure of a quantity of the pool of one class, with ties that make the zero so well known that lips decide.
const fn tied(
    shapes: &'static [Shape],
    quantity: Quantity,
    level: Level,
    bound: (f64, f64),
    cause: &'static str,
) -> KnownFailure {
    KnownFailure {
        shapes,
        ties: &[TieSet::Inverts, TieSet::Water, TieSet::OtherEnd, TieSet::Mix],
        ..with(&[], quantity, level, bound, cause)
    }
}

/// All that fails, in one place. Of several that fit, and hold, the first counts.
pub static KNOWN_FAILURES: &[KnownFailure] = &[
    with(&[], Quantity::Stick, Level::Wide, (0.61, 1.0), DRAWN_TOGETHER),
    with(&[], Quantity::Stick, Level::Half, (0.23, 0.80), DRAWN_TOGETHER),
    with(&[Source::RollLogged], Quantity::NotedStick, Level::Half, (0.33, 0.75), ROLL_OR_BENDS),
    with(&[Source::RollLogged], Quantity::FoundSegment, Level::Wide, (0.87, 1.0), ROLL_OR_BENDS),
    with(&[Source::RollLogged], Quantity::Reach, Level::Wide, (0.88, 1.0), ROLL_OR_BENDS),
    with(&[Source::RollLogged], Quantity::End, Level::Wide, (0.88, 1.0), ROLL_OR_BENDS),
    with(&[Source::RollLogged], Quantity::Break, Level::Wide, (0.84, 1.0), ROLL_OR_BENDS),
    with(&[Source::CorrelatedNoise], Quantity::NotedStick, Level::Wide, (0.84, 1.0), SHAPE_OR_NOISE),
    with(&[], Quantity::NotedStick, Level::Wide, (0.88, 1.0), AS_LIKELY_AS_NOT),
    with(&[], Quantity::NotedStick, Level::Half, (0.33, 0.71), AS_LIKELY_AS_NOT),
    with(&[Source::WholeDegrees, Source::WholeDegreesQuiet], Quantity::Break, Level::Wide, (0.80, 1.0), COARSE_CHANGES),
    KnownFailure {
        shapes: &[Shape::SmallChanges],
        ..with(&[], Quantity::Break, Level::Wide, (0.79, 1.0), ONE_FOR_SEVERAL)
    },
    with(&[], Quantity::Break, Level::Wide, (0.93, 1.0), READINGS_APART),
    with(&[Source::CorrelatedNoise], Quantity::FoundSegment, Level::Wide, (0.86, 1.0), SHAPE_OR_NOISE),
    with(&[Source::CorrelatedNoise], Quantity::FoundSegment, Level::Half, (0.40, 0.85), SHAPE_OR_NOISE),
    with(&[Source::CorrelatedNoise], Quantity::GivenStick, Level::Wide, (0.93, 1.0), SHAPE_OR_NOISE),
    with(&[Source::CorrelatedNoise], Quantity::GivenStick, Level::Half, (0.47, 0.70), SHAPE_OR_NOISE),
    with(&[Source::CorrelatedNoise], Quantity::Reach, Level::Wide, (0.93, 1.0), SHAPE_OR_NOISE),
    with(&[Source::CorrelatedNoise], Quantity::Reach, Level::Half, (0.40, 0.87), SHAPE_OR_NOISE),
    with(&[Source::CorrelatedNoise], Quantity::End, Level::Wide, (0.93, 1.0), SHAPE_OR_NOISE),
    with(&[Source::CorrelatedNoise], Quantity::End, Level::Half, (0.40, 0.87), SHAPE_OR_NOISE),
    with(&[Source::CorrelatedNoise], Quantity::PoolLimit, Level::Wide, (0.83, 1.0), SHAPE_OR_NOISE),
    KnownFailure {
        shapes: &[Shape::SmoothSag],
        ..with(&[], Quantity::FoundSegment, Level::Half, (0.47, 0.58), NO_PIECES)
    },
    with(&[Source::Spacing], Quantity::Reach, Level::Half, (0.47, 0.61), NOISE_AND_BREAKS),
    with(&[Source::Spacing], Quantity::End, Level::Half, (0.47, 0.61), NOISE_AND_BREAKS),
    with(&[Source::HeadLength, Source::Spacing], Quantity::FoundSegment, Level::Half, (0.47, 0.62), NOISE_AND_BREAKS),
    with(&[Source::Spacing], Quantity::GivenStick, Level::Half, (0.47, 0.61), NOISE_AND_BREAKS),
    with(&[Source::Lips], Quantity::PoolDepth, Level::Wide, (0.85, 1.0), LIPS_HOLD_WATER),
    with(&[Source::Lips], Quantity::PoolDepth, Level::Half, (0.40, 0.53), LIPS_HOLD_WATER),
    with(&[Source::Lips], Quantity::PoolVolume, Level::Wide, (0.85, 1.0), LIPS_HOLD_WATER),
    tied(&[Shape::LargeChanges], Quantity::PoolDepth, Level::Wide, (0.85, 1.0), LIPS_HOLD_WATER),
    tied(&[Shape::LargeChanges], Quantity::PoolDepth, Level::Half, (0.40, 0.53), LIPS_HOLD_WATER),
    tied(&[Shape::Backfall], Quantity::PoolDepth, Level::Wide, (0.93, 1.0), LIPS_APART_FROM_TIES),
    tied(&[Shape::Backfall], Quantity::PoolDepth, Level::Half, (0.47, 0.62), LIPS_APART_FROM_TIES),
    tied(&[Shape::Backfall], Quantity::PoolVolume, Level::Wide, (0.93, 1.0), LIPS_IN_VOLUMES),
    KnownFailure {
        shapes: &[Shape::Straight],
        ..with(&[Source::WholeDegreesQuiet], Quantity::GivenStick, Level::Wide, (0.84, 1.0), COARSE)
    },
];

/// A share that does not keep to what is asked.
#[derive(Debug, Clone)]
pub struct Failure {
    /// Of which case.
    pub case: Case,
    /// Of which quantity.
    pub quantity: Quantity,
    /// At which level.
    pub level: Level,
    /// What was found.
    pub found: Share,
    /// What was asked.
    pub asked: Bound,
    /// The known failure that it keeps to.
    pub known: Option<&'static KnownFailure>,
}

/// Everything in a row that does not keep to what is asked.
pub fn failures(row: &Row) -> Vec<Failure> {
    let mut failures = Vec::new();
    for quantity in Quantity::ALL {
        for level in [Level::Wide, Level::Half] {
            let found = row.of(quantity).at(level);
            let Some(asked) = asked(&row.case, quantity, level).filter(|asked| !asked.holds(found)) else { continue };
            let known = KNOWN_FAILURES.iter().find(|k| k.is_of(&row.case, quantity, level) && k.holds.holds(found));
            failures.push(Failure { case: row.case, quantity, level, found: found.clone(), asked, known });
        }
    }
    failures
}

/// The known failures that none of all these rows has any more: they are to be taken off the list.
pub fn mended(rows: &[Row]) -> Vec<&'static KnownFailure> {
    let found: Vec<Failure> = rows.iter().flat_map(failures).collect();
    let is_found = |known: &KnownFailure| found.iter().any(|f| f.known.is_some_and(|k| core::ptr::eq(k, known)));
    KNOWN_FAILURES.iter().filter(|known| !is_found(known)).collect()
}

/// Why tenths of the probabilities of pools may state less than there is: a stated bin need not be kept to from above.
///
/// The population has five bellies in six deeper than the tolerance, and the estimator, which has no prior of slopes, does
/// not know that: what it leaves open is there more often than it says. What does hold, and what a reader relies on, is that
/// no tenth states more than there is.
pub const BINS_STATE_LESS: &str = "the population has more pools than readings alone would say";

/// A tenth of the probabilities whose pools are not there as often as stated.
#[derive(Debug, Clone)]
pub struct BinFailure {
    /// What was known of the zero.
    pub zero: Zero,
    /// The tenth.
    pub bin: Bin,
    /// Whether more is stated than there is: that is not known to fail.
    pub states_more: bool,
}

/// The tenths of the probabilities that are not calibrated.
pub fn bin_failures(of: &Probabilities) -> Vec<BinFailure> {
    let mut failures = Vec::new();
    for bin in &of.bins {
        let stated = bin.stated.mean();
        if !(Bound { low: stated, high: stated }).holds(&bin.there) {
            let states_more = bin.there.mean() < stated;
            failures.push(BinFailure { zero: of.zero, bin: bin.clone(), states_more });
        }
    }
    failures
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bound_gives_way_by_standard_errors() {
        let share = |yes: usize, of: usize| (0..of).map(|i| i < yes).collect::<Share>();
        let wide = Bound { low: 0.93, high: 0.97 };
        assert!(wide.holds(&share(475, 500)) && wide.holds(&Share::default()));
        // 2.6 standard errors of 0.90 in 500 are 3.5 %, of 0.88 3.8 %.
        assert!(wide.holds(&share(450, 500)) && !wide.holds(&share(440, 500)));
        // All of 500 leave room for 1.1 %, all of 40 for 13 %.
        assert!(!wide.holds(&share(500, 500)) && wide.holds(&share(40, 40)));
    }
}

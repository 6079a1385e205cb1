//! For the expert: what it takes to repeat the result by hand.

use fallwise::{
    Answers,
    adjust::Z_95,
    answers::{BudgetRow, CorrelationRow, CovarianceRow, SegmentRow},
    math,
    units::{Part, to_deg},
};

use crate::{
    known, sure,
    table::{Cell, Table, lines, plain},
    tell::{Teller, say},
    words,
};

/// Covariances and correlations listed at most; all are in the tables beside the page.
const COVARIANCES: usize = 120;

/// Sources of less than this share of a variance are in budget.csv alone.
const SHARE: f64 = 0.0005;

/// What the page lays out.
pub(crate) struct Appendix {
    /// The model, in sentences.
    pub(crate) model: Vec<String>,
    /// Segments, budget, correlations, covariances; those that have rows.
    pub(crate) tables: Vec<Table>,
    pub(crate) left_out: Option<String>,
    pub(crate) inputs: Table,
    pub(crate) made: Vec<String>,
}

impl Appendix {
    pub(crate) fn new(t: &Teller<'_>) -> Self {
        let answers = t.answers;
        let left_out = answers.covariance.len().saturating_sub(COVARIANCES);
        let tables = [segments(t), budget(t), correlations(t), covariance(t)];
        Self {
            model: lines(model(t)),
            tables: tables.into_iter().filter(|table| !table.is_empty()).collect(),
            left_out: (left_out > 0).then(|| say!(t, "{n} more covariances are in covariance.csv.", n = left_out)),
            inputs: inputs(t),
            made: lines(made(t)),
        }
    }
}

/// The model and its formulas, as an engineer would write them down to check the figures.
fn model(t: &Teller<'_>) -> Vec<String> {
    let draws = t.answers.job.report.draws;
    let mut said = vec![
        t.word("The pipe is a chain of straight segments. Over a segment of true length L and tilt t the invert falls by L sin t; the slope of a stretch is the sum of its falls over the sum of its L cos t, segments steeper than 45 degrees left out."),
        t.word("True length is what the counter shows times 1 plus the counter's scale error. A run towards growing station reads tilt plus zero error, a run the other way minus tilt plus zero error."),
        t.word("Where the segments begin and end minimises the sum of squared residuals plus 3 ln n times the noise variance for each segment; figures and intervals are averages over all segmentations that the readings allow."),
        t.word("Standard deviations are those of a linear error propagation over every source in the table below. Its rows are independent: their squares add up to the square of the figure's own standard deviation. Sources of next to nothing of the variance are in budget.csv alone."),
        t.word("The standard deviation of a difference of two heights is the square root of the sum of their two variances less twice their covariance; that of a mean slope is, very nearly, that of the fall by tilts alone over the length."),
        say!(
            t,
            "Intervals of slopes, falls and heights are the figure plus and minus {factor} standard deviations.",
            factor = Part::Number(Z_95, 2)
        ),
        if draws > 0 {
            say!(
                t,
                "Pools and findings are computed in each of {draws} draws of the whole pipe (seed {seed}); their intervals and probabilities are counted there.",
                draws = draws,
                seed = t.answers.job.report.seed.to_string()
            )
        } else {
            t.word("No draws were asked for: pools and findings have no probability.")
        },
        t.word("A finding meets where the probability that the requirement holds is 95 % or more, fails where it is 5 % or less, and is undecided between; that is one-sided. The lateral's own asks that all its parts hold in the same draw."),
    ];
    if let Some(most_mm) = most_off_mm(t.answers) {
        said.push(say!(
            t,
            "The columns of the segments are averages over segmentations, each by itself: L sin t differs from the fall beside it by up to {n} mm.",
            n = Part::Number(most_mm, 1)
        ));
    }
    if known::is_wrong(t.answers) {
        said.push(t.word("Ties contradict each other. A finding is decided only where it comes out the same without each tie that may be the wrong one: each that, left out alone, makes the rest go together with a probability of 1 % or more."));
    }
    said
}

/// By how much the falls of segments differ from those of their lengths and tilts, mm, where that shows.
fn most_off_mm(answers: &Answers) -> Option<f64> {
    let flow = answers.job.flow.sign();
    let off = |s: &SegmentRow| 1000.0 * (flow * s.length_m * math::sin(s.tilt_rad) - s.fall_m).abs();
    answers.segments.iter().map(off).filter(|mm| *mm >= 0.05).reduce(f64::max)
}

/// A number in so many significant figures, of which tables for reckoning need more than sentences do.
fn figures(t: &Teller<'_>, value: f64, places: usize) -> String {
    t.number(value, places)
}

/// The segments in SI, to reckon with.
fn segments(t: &Teller<'_>) -> Table {
    let row = |s: &SegmentRow| {
        vec![
            plain(s.number.to_string()),
            plain(figures(t, s.from_m, 3)),
            plain(figures(t, s.to_m, 3)),
            plain(figures(t, s.length_m, 3)),
            plain(figures(t, to_deg(s.tilt_rad), 4)),
            plain(figures(t, to_deg(s.tilt_sd_rad), 4)),
            plain(figures(t, 1000.0 * s.fall_m, 1)),
            plain(figures(t, 1000.0 * s.fall_sd_m, 1)),
        ]
    };
    let columns = [
        t.word("segment"),
        t.word("from, m"),
        t.word("to, m"),
        t.word("true length, m"),
        t.word("tilt, degrees, down towards growing station"),
        t.word("its standard deviation"),
        t.word("fall, mm"),
        t.word("its standard deviation"),
    ];
    Table::new(&t.word("Segments, to reckon with"), columns, t.answers.segments.iter().map(row))
}

/// What makes the figures uncertain, source by source.
fn budget(t: &Teller<'_>) -> Table {
    let row = |r: &BudgetRow| {
        let (value, unit) = if r.quantity == "slope" {
            (100.0 * r.sd, t.word("slope, %"))
        } else {
            (1000.0 * r.sd, t.word("fall, mm"))
        };
        vec![
            plain(t.sentence(&r.figure)),
            plain(unit),
            plain(t.sentence(&r.source)),
            plain(figures(t, value, 3)),
            plain(words::percent(t.voice, r.share, 1)),
        ]
    };
    let columns = [
        t.word("figure of"),
        t.word("quantity"),
        t.word("source of error"),
        t.word("standard deviation that it makes alone"),
        t.word("share of the variance"),
    ];
    let total = &t.answers.total;
    // A reach that is the whole has the whole's figures; what makes next to nothing is in the table of all.
    let own = |r: &&BudgetRow| r.figure == total.name || r.from_m > total.from_m || r.to_m < total.to_m;
    let shown = t.answers.budget.iter().filter(own).filter(|r| r.share >= SHARE);
    Table::new(&t.word("What makes the figures uncertain"), columns, shown.map(row)).of_texts()
}

fn correlations(t: &Teller<'_>) -> Table {
    let name = |name: &str| match name {
        "slope" => t.word("mean slope of the surveyed length"),
        "fall_m" => t.word("fall of the surveyed length"),
        other => sure::parameter_name(t, other),
    };
    let row =
        |r: &CorrelationRow| vec![plain(name(&r.first)), plain(name(&r.second)), plain(figures(t, r.correlation, 3))];
    let columns = [t.word("first"), t.word("second"), t.word("correlation")];
    Table::new(&t.word("How the main figures hang together"), columns, t.answers.correlations.iter().map(row))
        .of_texts()
}

/// Of the heights at the ends of the segments.
fn covariance(t: &Teller<'_>) -> Table {
    let row = |r: &CovarianceRow| {
        vec![
            plain(figures(t, r.first_station_m, 3)),
            plain(figures(t, r.second_station_m, 3)),
            plain(figures(t, 1e6 * r.covariance_m2, 2)),
            plain(figures(t, 1e6 * r.by_tilts_m2, 2)),
        ]
    };
    let columns = [
        t.word("station, m"),
        t.word("and station, m"),
        t.word("covariance, mm²"),
        t.word("by tilts alone, without lips and steps, mm²"),
    ];
    let rows = t.answers.covariance.iter().take(COVARIANCES).map(row);
    Table::new(&t.word("Covariance of the heights where segments meet"), columns, rows)
}

/// What went in, by its hash.
fn inputs(t: &Teller<'_>) -> Table {
    let row = |r: &fallwise::answers::InputRow| -> Vec<Cell> {
        vec![plain(t.sentence(&r.role)), plain(r.name.clone()), plain(r.bytes.to_string()), plain(r.sha256.clone())]
    };
    let columns = [t.word("what"), t.word("file"), t.word("bytes"), t.word("SHA-256")];
    Table::new(&t.word("Files that went in"), columns, t.answers.inputs.iter().map(row)).of_texts()
}

/// To two significant figures.
fn to_two_figures(p: f64) -> f64 {
    format!("{p:.1e}").parse().unwrap_or(p)
}

/// By what it was computed.
fn made(t: &Teller<'_>) -> Vec<String> {
    let mut said = vec![say!(
        t,
        "Computed by fallwise {version}, form {schema}: the same input gives the same bits on any machine.",
        version = &t.answers.version,
        schema = &t.answers.schema
    )];
    let dropped = t.answers.edits.iter().filter(|e| e.action == "dropped").count();
    if !t.answers.readings.is_empty() {
        said.push(say!(
            t,
            "Readings: {n} used, some of them as the mean of several, {dropped} dropped.",
            n = t.answers.readings.len(),
            dropped = dropped
        ));
    }
    if let Some(a) = &t.answers.adjustment {
        said.push(match a.p_value {
            Some(p) => say!(
                t,
                "Adjustment: chi-square {chi} at {n} degrees of freedom, probability {p}; {steps} steps.",
                chi = Part::Number(a.chi_square, 2),
                n = a.degrees_of_freedom,
                p = Part::Exact(to_two_figures(p)),
                steps = a.steps
            ),
            None => say!(t, "Adjustment: no degree of freedom; {steps} steps.", steps = a.steps),
        });
    }
    said
}

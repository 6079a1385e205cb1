//! What the pipe carries: the table, the sentences, what it would take, and what must be known with it.

use fallwise::{
    answers::CapacityRow,
    lateral::capacity_not_covered,
    model::Formula,
    units::{Part, Said, Voice},
};

use super::{all_told, told};
use crate::{
    sure,
    table::{Cell, Table, plain},
    tell::{Teller, say},
    text::readable,
};

/// The section as texts.
pub(super) struct Carrying {
    pub(super) sentence: String,
    pub(super) table: Table,
    pub(super) reaches: Vec<String>,
    pub(super) needed: Vec<String>,
    /// The formulas and where they are from.
    pub(super) source: String,
    pub(super) cautions: Vec<String>,
}

pub(super) fn of(t: &Teller) -> Option<Carrying> {
    let whole = t.answers.carrying.as_ref()?;
    let rows = t.answers.capacity.iter().map(|row| cells(t, row));
    let columns = [
        t.word("reach"),
        t.word("mean slope"),
        t.word("carries at the filling"),
        t.word("carries at most"),
        t.word("flattest piece carries at the filling"),
        t.word("depth of the flow"),
        t.word("velocity"),
        t.word("shear"),
        t.word("does it carry the flow?"),
    ];
    Some(Carrying {
        sentence: told(t, &whole.sentence),
        table: Table::new(&t.word("What each reach carries"), columns, rows),
        reaches: t.answers.capacity.iter().map(|row| told(t, &row.sentence)).collect(),
        needed: all_told(t, &t.answers.needed.iter().map(|row| row.sentence.clone()).collect::<Vec<_>>()),
        source: readable(&source(t)),
        cautions: capacity_not_covered().iter().map(|said| readable(&t.voice.tell(said))).collect(),
    })
}

fn cells(t: &Teller, row: &CapacityRow) -> Vec<Cell> {
    let figure = |value: Option<f64>, low: Option<f64>, high: Option<f64>, say: fn(f64) -> Part| match value {
        Some(value) => (t.voice.part(&say(value)), ends(t.voice, low, high, say)),
        None => plain(t.voice.not_determined()),
    };
    let name = (t.sentence(&row.name), roughness(t, row));
    let slope = figure(row.slope, row.slope_low, row.slope_high, Part::ShortSlope);
    let slope = match row.slope_low.zip(row.slope_high) {
        Some((low, high)) => (slope.0, t.voice.slope_range(low, high)),
        None => slope,
    };
    let flattest = match row.flattest_slope {
        Some(_) => {
            figure(row.flattest_filled_m3_s, row.flattest_filled_low_m3_s, row.flattest_filled_high_m3_s, Part::Flow)
        }
        None => plain(t.word("one piece")),
    };
    vec![
        name,
        slope,
        figure(row.filled_m3_s, row.filled_low_m3_s, row.filled_high_m3_s, Part::Flow),
        figure(row.most_m3_s, row.most_low_m3_s, row.most_high_m3_s, Part::Flow),
        flattest,
        figure(row.depth_m, row.depth_low_m, row.depth_high_m, Part::Small),
        figure(row.velocity_m_s, row.velocity_low_m_s, row.velocity_high_m_s, Part::Speed),
        figure(row.shear_pa, row.shear_low_pa, row.shear_high_pa, Part::Shear),
        (verdict(t, row), bellies(t, row)),
    ]
}

/// The ends of an interval; one that is not defined is said to be so.
fn ends(v: Voice, low: Option<f64>, high: Option<f64>, say: fn(f64) -> Part) -> String {
    match (low, high) {
        (Some(low), Some(high)) => sure::range(v, low, high, say),
        (Some(one), None) | (None, Some(one)) => v.range(&v.part(&say(one)), &v.not_determined()),
        (None, None) => String::new(),
    }
}

fn roughness(t: &Teller, row: &CapacityRow) -> String {
    match (row.manning_n, row.roughness_m) {
        (Some(n), _) => say!(t, "Manning's n {n}", n = Part::Exact(n)),
        (None, Some(roughness_m)) => {
            say!(t, "wall roughness {mm} mm", mm = Part::Number(1000.0 * roughness_m, 2))
        }
        (None, None) => String::new(),
    }
}

fn verdict(t: &Teller, row: &CapacityRow) -> String {
    match row.verdict.as_str() {
        "carries" if row.bellies_found + row.bellies_possible > 0 => t.word("carries it, apart from the bellies"),
        "carries" => t.word("carries it"),
        "does_not_carry" => t.word("does not carry it"),
        "not_decided" => t.word("not decided"),
        "no_uniform_flow" => t.word("no uniform flow"),
        _ => t.word("input missing"),
    }
}

fn bellies(t: &Teller, row: &CapacityRow) -> String {
    if row.pools.is_empty() {
        t.word("no belly in it")
    } else {
        say!(t, "bellies in it: {numbers}", numbers = &row.pools)
    }
}

fn source(t: &Teller) -> String {
    let by = |formula: Formula| t.answers.capacity.iter().any(|row| row.formula == formula.as_str());
    let manning: Option<Said> = by(Formula::Manning)
        .then(|| fallwise::said!("Manning's formula with one n at all depths (Chow, Open-Channel Hydraulics, 1959)."));
    let rough = by(Formula::ColebrookWhite).then(|| {
        let viscosity = t.answers.capacity.iter().find_map(|row| row.viscosity_m2_s).unwrap_or(0.0);
        fallwise::said!(
            "The formula of Colebrook and White in its form for partly full pipes (EN 12056-2, annex B), at a viscosity of {viscosity} mm2/s.",
            viscosity = Part::Number(1e6 * viscosity, 2)
        )
    });
    let all: Vec<String> = manning.into_iter().chain(rough).map(|said| t.voice.tell(&said)).collect();
    all.join(" ")
}

//! One sheet on what to re-lay at least cost under the costs given, or why there is no such plan.

use askama::Template;
use fallwise::{
    answers::{RelayAnswer, RelayNodeRow, RelayPieceRow, RelayQuantityRow, RelayShortRow, RelayStretchRow},
    units::Part,
};

use crate::{
    frame::Frame,
    page::Labels,
    profile,
    table::{Cell, Row, Table, lines, plain},
    tell::{Teller, say},
    text::readable,
    words,
};

/// Rows of a table at most: the rest is in the CSV files.
const ROWS: usize = 20;

/// What the template lays out. Texts only.
#[derive(Template)]
#[template(path = "relay.html")]
pub(crate) struct Relay<'a> {
    t: Labels<'a>,
    frame: Frame,
    first: String,
    surveyed: String,
    /// What was found of the pipe as it lies.
    as_it_lies: Option<String>,
    /// There is no plan, or none can be made.
    stop: bool,
    sentences: Vec<String>,
    picture: String,
    tables: Vec<Table>,
    /// What is left out of the tables, if anything.
    more: Option<String>,
    honesty: String,
}

impl<'a> Relay<'a> {
    pub(crate) fn new(t: &Teller<'a>) -> Option<Self> {
        let relay = t.answers.relay.as_ref()?;
        let all = [relay.short.len(), relay.stretches.len(), relay.quantities.len(), relay.pieces.len()];
        let cut = all.iter().any(|n| *n > ROWS) || relay.nodes.len() > ROWS;
        let tables = [short(t, relay), stretches(t, relay), quantities(t, relay), pieces(t, relay), inverts(t, relay)];
        let mut sentences = relay.sentences.iter().map(|s| t.sentence(s));
        Some(Self {
            t: Labels::new(t.voice, &t.answers.job.report),
            frame: Frame::extract(t),
            first: readable(&sentences.next().unwrap_or_default()),
            surveyed: readable(&super::survey_line(t)),
            as_it_lies: t
                .answers
                .findings
                .iter()
                .find(|f| f.subject == "lateral")
                .map(|f| readable(&t.sentence(&f.sentence))),
            stop: !matches!(relay.outcome.as_str(), "plan" | "as_it_is"),
            sentences: lines(sentences),
            picture: profile::relay_alone(t, relay),
            tables: tables.into_iter().filter(|table| !table.is_empty()).collect(),
            more: cut.then(|| readable(&t.word("The tables are cut; all rows are in the files relay_*.csv."))),
            honesty: readable(&words::honesty(t)),
        })
    }
}

fn slope(t: &Teller<'_>, slope: f64) -> String {
    t.part(&Part::ShortSlope(slope))
}

fn small(t: &Teller<'_>, m: f64) -> String {
    t.part(&Part::Small(m))
}

fn or_not(t: &Teller<'_>, text: Option<String>) -> Cell {
    plain(text.unwrap_or_else(|| t.not_determined()))
}

/// Sections without enough fall.
fn short(t: &Teller<'_>, relay: &RelayAnswer) -> Table {
    let row = |s: &RelayShortRow| {
        vec![
            plain(t.station(s.from_m)),
            plain(t.station(s.to_m)),
            plain(small(t, s.fall_m)),
            plain(small(t, s.asked_m)),
            or_not(t, s.missing_m.map(|m| small(t, m))),
            plain(slope(t, s.slope)),
        ]
    };
    let columns = [
        t.word("From"),
        t.word("To"),
        t.word("Fall that is there"),
        t.word("Fall asked for"),
        t.word("Missing, with the errors"),
        t.word("Steepest even slope"),
    ];
    Table::new(&t.word("Where the fall is not there"), columns, relay.short.iter().take(ROWS).map(row))
}

fn stretches(t: &Teller<'_>, relay: &RelayAnswer) -> Table {
    let row = |s: &RelayStretchRow| {
        vec![
            plain(say!(t, "trench {n}", n = s.number)),
            plain(t.station(s.from_m)),
            plain(t.station(s.to_m)),
            plain(t.length(s.length_m)),
            or_not(t, s.max_depth_m.map(|m| t.length(m))),
            plain(say!(t, "{cost} {currency}", cost = Part::Number(s.cost, 0), currency = relay.currency.as_str())),
        ]
    };
    let columns = [
        t.word("Trench"),
        t.word("Upstream end"),
        t.word("Downstream end"),
        t.word("Length, level"),
        t.word("Greatest depth, deep end"),
        t.word("Cost under your costs"),
    ];
    // One alone is told above, and in its quantities.
    let rows = if relay.stretches.len() > 1 { relay.stretches.as_slice() } else { &[] };
    Table::new(&t.word("Trenches"), columns, rows.iter().take(ROWS).map(row))
}

fn quantities(t: &Teller<'_>, relay: &RelayAnswer) -> Table {
    let amount = |q: &RelayQuantityRow| {
        let amount = q.quantity?;
        Some(match q.unit.as_str() {
            "m" => t.length(amount),
            "m2" => area(t, amount),
            "m3" => dug(t, amount),
            _ => t.part(&Part::Number(amount, 0)),
        })
    };
    let row = |q: &RelayQuantityRow| {
        vec![
            plain(say!(t, "trench {n}", n = q.stretch)),
            plain(t.sentence(&q.item)),
            or_not(t, amount(q)),
            plain(q.rate.map_or_else(String::new, |rate| price(t, q, rate))),
            plain(q.amount.map_or_else(String::new, |amount| t.part(&Part::Number(amount, 0)))),
        ]
    };
    let columns = [
        t.word("Trench"),
        t.word("Item"),
        t.word("Quantity"),
        t.word("Price given (fill in the others)"),
        t.word("Amount"),
    ];
    Table::new(&t.word("Quantities to price"), columns, relay.quantities.iter().take(ROWS).map(row))
}

/// What one of the reader's units costs.
fn price(t: &Teller<'_>, q: &RelayQuantityRow, rate: f64) -> String {
    use fallwise::units::{Words, ft};
    let foot = ft(1.0);
    let (rate, unit) = match (q.unit.as_str(), t.words) {
        ("m", Words::Uk) => (rate, "m"),
        ("m", Words::Us) => (rate * foot, "ft"),
        ("m2", Words::Uk) => (rate, "m²"),
        ("m2", Words::Us) => (rate * foot * foot, "sq ft"),
        _ => return t.part(&Part::Number(rate, 2)),
    };
    say!(t, "{rate} per {unit}", rate = Part::Number(rate, 2), unit = unit)
}

/// An area in the reader's unit.
fn area(t: &Teller<'_>, m2: f64) -> String {
    use fallwise::units::{Words, ft};
    match t.words {
        Words::Uk => say!(t, "{n} m²", n = Part::Number(m2, 1)),
        Words::Us => say!(t, "{n} sq ft", n = Part::Number(m2 / (ft(1.0) * ft(1.0)), 0)),
    }
}

/// A volume of earth in the reader's unit.
fn dug(t: &Teller<'_>, m3: f64) -> String {
    use fallwise::units::{Words, ft};
    let yard = ft(3.0);
    match t.words {
        Words::Uk => say!(t, "{n} m³", n = Part::Number(m3, 1)),
        Words::Us => say!(t, "{n} cu yd", n = Part::Number(m3 / (yard * yard * yard), 1)),
    }
}

fn pieces(t: &Teller<'_>, relay: &RelayAnswer) -> Table {
    let row = |p: &RelayPieceRow| {
        let what = if p.new { t.word("new") } else { t.word("stays") };
        let sure = t.part(&Part::Probability(p.probability));
        Row::new(
            "",
            vec![
                plain(what),
                plain(t.station(p.from_m)),
                plain(t.station(p.to_m)),
                plain(slope(t, p.slope)),
                p.min_slope.map_or_else(|| plain(t.word("nothing")), |min| plain(slope(t, min))),
                plain(sure),
            ],
        )
    };
    let columns = [
        t.word("Pipe"),
        t.word("From"),
        t.word("To"),
        t.word("Slope"),
        t.word("At least asked"),
        t.word("Probability that it is so"),
    ];
    let name = t.word("How the pipe falls after it");
    Table { rows: relay.pieces.iter().take(ROWS).map(row).collect(), ..Table::new(&name, columns, []) }
}

fn inverts(t: &Teller<'_>, relay: &RelayAnswer) -> Table {
    let changes = |n: &&RelayNodeRow| {
        let inside = relay.stretches.iter().any(|s| {
            let (low, high) = (s.from_m.min(s.to_m), s.from_m.max(s.to_m));
            low <= n.station_m && n.station_m <= high
        });
        inside && n.new_height_m.is_some()
    };
    let row = |n: &RelayNodeRow| {
        let new_m = n.new_height_m.unwrap_or(n.height_m);
        let height = |elevation_m: Option<f64>, height_m: f64| match elevation_m {
            Some(m) => t.part(&Part::Elevation(m)),
            None => small(t, height_m),
        };
        let moved_m = new_m - n.height_m;
        // Nobody lays to less than half a millimetre.
        let moved = if moved_m.abs() < 5e-4 {
            t.word("stays: level it first")
        } else if moved_m > 0.0 {
            say!(t, "{up} higher", up = Part::Small(moved_m))
        } else {
            say!(t, "{down} lower", down = Part::Small(-moved_m))
        };
        vec![
            plain(t.station(n.station_m)),
            plain(height(n.elevation_m, n.height_m)),
            plain(height(n.new_elevation_m, new_m)),
            plain(moved),
        ]
    };
    let columns = [t.word("At"), t.word("Invert now"), t.word("Invert after it"), t.word("Change")];
    let name = t.word("Inverts in the trenches, best estimate (elevations where the datum is known)");
    Table::new(&name, columns, relay.nodes.iter().filter(changes).take(ROWS).map(row))
}

//! One page for whoever reckons what work would take: stretches, depths, pipe and what is on the way. Quantities of what is there,
//! not of work proposed.

use askama::Template;
use fallwise::{
    adjust::Z_95,
    answers::{FindingRow, PathRow, PoolRow, ReachRow},
    model::FeatureKind,
    units::{Part, to_deg},
};

use crate::{
    frame::Frame,
    page::Labels,
    sure,
    table::{Cell, Table, lines, plain},
    tell::{Teller, say},
    text::readable,
    words,
};

/// Stations listed at most for one kind of thing on the way.
const STATIONS: usize = 8;

/// What the template lays out. Texts only.
#[derive(Template)]
#[template(path = "estimator.html")]
pub(crate) struct Estimator<'a> {
    t: Labels<'a>,
    frame: Frame,
    surveyed: String,
    /// What to re-lay, and what the pipe carries, in a sentence each.
    told: Vec<String>,
    parts: Vec<Quantities>,
    /// Where depths have no interval, why.
    no_interval: Option<String>,
    honesty: String,
}

/// What other pages answer and an estimator must not miss.
fn told(t: &Teller<'_>) -> Vec<String> {
    let mut told = Vec::new();
    if let Some(relay) = &t.answers.relay {
        told.extend(relay.sentences.first().map(|s| t.sentence(s)));
        told.push(match relay.outcome.as_str() {
            "plan" => t.word("Price it from relay.html, which has the quantities: the stretches below are where it fails, not what is re-laid."),
            _ => t.word("The reasons are in relay.html."),
        });
    }
    told.extend(t.answers.carrying.as_ref().map(|carrying| t.first_and_rest(&carrying.sentence).0));
    told
}

/// A table, and what is said where it has no rows.
struct Quantities {
    table: Table,
    none: String,
}

impl<'a> Estimator<'a> {
    pub(crate) fn new(t: &Teller<'a>) -> Self {
        Self {
            t: Labels::new(t.voice, &t.answers.job.report),
            frame: Frame::extract(t),
            surveyed: readable(&super::survey_line(t)),
            told: lines(told(t)),
            parts: vec![
                Quantities { table: stretches(t), none: readable(&t.word("None.")) },
                Quantities {
                    table: depths(t),
                    none: readable(&t.word(
                        "Not determined: it needs levels of the ground along the drain, and an elevation of the pipe.",
                    )),
                },
                Quantities { table: pipes(t), none: readable(&t.word("No pipe was given.")) },
                Quantities { table: on_the_way(t), none: readable(&t.word("Nothing was noted.")) },
            ],
            no_interval: t.answers.path.iter().any(|row| row.depth_m.is_some() && row.depth_low_m.is_none()).then(|| {
                readable(&t.word(
                    "Depths without an interval: how well the levels of the ground are known was not given (sd in [[ground]]).",
                ))
            }),
            honesty: readable(&words::honesty(t)),
        }
    }
}

/// True length of a stretch of the counter, m, with its interval.
fn length(t: &Teller<'_>, shown_m: f64) -> Cell {
    let total = &t.answers.total;
    let whole_m = t.answers.to_m - t.answers.from_m;
    if whole_m <= 0.0 {
        return plain(t.not_determined());
    }
    let (m, sd_m) = (shown_m * total.length_m / whole_m, shown_m * total.length_sd_m / whole_m);
    (t.length(m), sure::range(t.voice, m - Z_95 * sd_m, m + Z_95 * sd_m, Part::Length))
}

/// What the rule or a belly points at.
fn stretches(t: &Teller<'_>) -> Table {
    let stretch = |name: String, verdict: Cell, from_m: f64, to_m: f64| {
        let [first, other] = [from_m, to_m].map(|station_m| nearest(t, station_m).map(|row| depth(t, row)));
        let none = || plain(t.not_determined());
        vec![
            plain(name),
            verdict,
            plain(t.station(from_m)),
            plain(t.station(to_m)),
            length(t, to_m - from_m),
            first.unwrap_or_else(none),
            other.unwrap_or_else(none),
        ]
    };
    let finding = |f: &FindingRow| {
        let reason = f.reason.as_deref().map(|r| words::reason(t, r)).unwrap_or_default();
        stretch(words::subject(t, &f.subject), (words::finding(t, &f.finding), reason), f.from_m, f.to_m)
    };
    let pool = |p: &PoolRow| stretch(sure::belly(t, p), plain(String::new()), p.from_m, p.to_m);
    let asked = t.answers.findings.iter().filter(|f| f.subject != "lateral" && f.finding != "meets");
    // A pool that a rule speaks of stands among the findings already.
    let told = |p: &&PoolRow| t.answers.findings.iter().any(|f| f.pool == Some(p.number) && f.finding != "meets");
    let bellies = t.answers.pools.iter().filter(|p| p.state != "intended" && !told(p));
    let columns = [
        t.word("What"),
        t.word("Finding"),
        t.word("From"),
        t.word("To"),
        t.word("True length"),
        t.word("Ground to invert, first end"),
        t.word("Ground to invert, other end"),
    ];
    let name = t.word("Stretches that a finding or a belly points at");
    Table::new(&name, columns, asked.map(finding).chain(bellies.map(pool)))
}

/// The row of the path nearest to a station.
fn nearest<'a>(t: &Teller<'a>, station_m: f64) -> Option<&'a PathRow> {
    let off = |row: &PathRow| (row.station_m - station_m).abs();
    t.answers.path.iter().min_by(|a, b| off(a).total_cmp(&off(b)))
}

/// Ground to invert there.
fn depth(t: &Teller<'_>, row: &PathRow) -> Cell {
    match (row.depth_m, row.depth_low_m.zip(row.depth_high_m)) {
        (Some(m), Some((low, high))) => (t.length(m), sure::range(t.voice, low, high, Part::Length)),
        (Some(m), None) => (t.length(m), t.word("no interval")),
        (None, _) => plain(t.not_determined()),
    }
}

/// Ground to invert, reach by reach.
fn depths(t: &Teller<'_>) -> Table {
    let reach = |r: &ReachRow| {
        let inside = |p: &&PathRow| p.station_m >= r.from_m && p.station_m <= r.to_m;
        let rows: Vec<(&PathRow, f64)> =
            t.answers.path.iter().filter(inside).filter_map(|p| Some((p, p.depth_m?))).collect();
        let least = rows.iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
        let most = rows.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
        // Between two nodes the depth runs straight: the side of a trench there is a trapezium.
        let side_m2: f64 =
            rows.windows(2).map(|w| (w[1].0.station_m - w[0].0.station_m) * 0.5 * (w[0].1 + w[1].1)).sum();
        let along_m = rows.last()?.0.station_m - rows.first()?.0.station_m;
        let mean = if along_m > 0.0 { t.length(side_m2 / along_m) } else { t.not_determined() };
        let name = plain(t.sentence(&r.name));
        Some(vec![name, length(t, r.to_m - r.from_m), depth(t, least.0), depth(t, most.0), plain(mean)])
    };
    let answers = t.answers;
    let reaches = if answers.reaches.is_empty() { core::slice::from_ref(&answers.total) } else { &answers.reaches };
    let columns = [
        t.word("Reach"),
        t.word("True length"),
        t.word("Least depth"),
        t.word("Greatest depth"),
        t.word("Mean depth (no interval)"),
    ];
    Table::new(&t.word("Depth from the ground to the invert"), columns, reaches.iter().filter_map(reach))
}

/// Lengths by kind of pipe.
fn pipes(t: &Teller<'_>) -> Table {
    let mut kinds: Vec<(String, f64, Option<f64>)> = Vec::new();
    for r in &t.answers.reaches {
        let middle_m = 0.5 * (r.from_m + r.to_m);
        let of = |j: &&fallwise::Reach| j.from_m <= middle_m && middle_m <= j.to_m;
        let Some(job) = t.answers.job.reaches.iter().find(of) else { continue };
        let name = match &job.pipe.material {
            Some(material) => format!("{}, {material}", words::pipe(t.voice, r)),
            None => words::pipe(t.voice, r),
        };
        match kinds.iter_mut().find(|kind| kind.0 == name) {
            Some(kind) => kind.1 += r.to_m - r.from_m,
            None => kinds.push((name, r.to_m - r.from_m, job.pipe.stick_m)),
        }
    }
    let row = |(name, shown_m, stick_m): &(String, f64, Option<f64>)| {
        let sticks = match stick_m.filter(|s| *s > 0.0) {
            Some(s) => say!(t, "{n} of {stick}", n = Part::Number((shown_m / s).ceil(), 0), stick = Part::Length(s)),
            None => t.word("length of a stick not given"),
        };
        vec![plain(name.clone()), length(t, *shown_m), plain(sticks)]
    };
    let columns = [t.word("Pipe"), t.word("True length"), t.word("Sticks, rounded up")];
    Table::new(&t.word("Pipe that was surveyed"), columns, kinds.iter().map(row))
}

/// What is on the way, counted.
fn on_the_way(t: &Teller<'_>) -> Table {
    let job = &t.answers.job;
    let mut rows = Vec::new();
    let mut count = |name: String, stations: Vec<f64>| {
        if !stations.is_empty() {
            let mut shown: Vec<String> = stations.iter().take(STATIONS).map(|s| t.station(*s)).collect();
            if stations.len() > STATIONS {
                shown.push("...".to_owned());
            }
            rows.push(vec![plain(name), plain(stations.len().to_string()), plain(shown.join(", "))]);
        }
    };
    let kinds = [
        FeatureKind::Connection,
        FeatureKind::Cleanout,
        FeatureKind::Joint,
        FeatureKind::Trap,
        FeatureKind::Valve,
        FeatureKind::Wall,
        FeatureKind::Boundary,
        FeatureKind::Main,
    ];
    for kind in kinds {
        let here = job.features.iter().filter(|f| f.kind == kind).map(|f| f.station_m);
        count(words::feature(t.voice, kind), here.collect());
    }
    let mut bends: Vec<(f64, Vec<f64>)> = Vec::new();
    for b in &job.bends {
        let degrees = to_deg(b.deflection_rad.abs()).round();
        match bends.iter_mut().find(|(angle, _)| angle.total_cmp(&degrees).is_eq()) {
            Some((_, stations)) => stations.push(b.station_m),
            None => bends.push((degrees, vec![b.station_m])),
        }
    }
    for (degrees, stations) in bends {
        count(say!(t, "bend of {n} degrees", n = Part::Number(degrees, 0)), stations);
    }
    count(t.word("step"), job.steps.iter().map(|s| s.station_m).collect());
    let columns = [t.word("What"), t.word("How many"), t.word("Where")];
    Table::new(&t.word("On the way, as noted"), columns, rows)
}

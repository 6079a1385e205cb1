//! One page for whoever reckons what the work would take: stretches, depths, pipe and what is on the way. Quantities of what is
//! there, not of work proposed.

use askama::Template;
use fallwise::{
    adjust::Z_95,
    answers::{FindingRow, PathRow, PoolRow, ReachRow},
    model::FeatureKind,
    units::{Part, to_deg},
};

use crate::{
    frame::{self, Frame},
    sure,
    tell::{Teller, say},
    text::readable,
    words::{self, HONESTY},
};

/// A figure, and what stands below it.
type Cell = (String, String);

/// What the template lays out. Texts only.
#[derive(Template)]
#[template(path = "estimator.html")]
pub(crate) struct Estimator {
    frame: Frame,
    reader: String,
    not_a_dig_sheet: String,
    tables: Vec<Table>,
    left_out_heading: String,
    left_out: Vec<String>,
    honesty: String,
}

struct Table {
    heading: String,
    /// Where there are no rows.
    none: String,
    columns: Vec<String>,
    rows: Vec<Vec<Cell>>,
}

impl Estimator {
    pub(crate) fn new(t: &Teller<'_>) -> Self {
        let left_out = [
            "Widths, support, spoil, surfaces, traffic, permits, water to be kept away, making good: not measured, not reckoned here.",
            "Pipes, cables and roots beside the drain: not seen. Other buried services are to be located before anything is dug.",
            "Broken, cracked or worn pipe: the tilt does not show it.",
        ];
        Self {
            frame: Frame::short(t, frame::title(t), "extract"),
            reader: t.word("For the estimator, on one page"),
            not_a_dig_sheet: t.word(
                "Quantities of what is there, to reckon with. It proposes no work, and nobody may dig by it: it gives no place on the surface.",
            ),
            tables: vec![stretches(t), depths(t), pipes(t), on_the_way(t)],
            left_out_heading: t.word("What is not in these quantities"),
            left_out: left_out.iter().map(|line| t.word(line)).collect(),
            honesty: t.word(HONESTY),
        }
    }
}

fn columns(t: &Teller<'_>, names: &[&str]) -> Vec<String> {
    names.iter().map(|name| t.word(name)).collect()
}

fn plain(text: String) -> Cell {
    (text, String::new())
}

/// True length of a stretch between two stations, with its interval.
fn length(t: &Teller<'_>, from_m: f64, to_m: f64) -> Cell {
    let total = &t.answers.total;
    let shown_m = t.answers.to_m - t.answers.from_m;
    let (scale, sd) = if shown_m > 0.0 { (total.length_m / shown_m, total.length_sd_m / shown_m) } else { (1.0, 0.0) };
    let m = to_m - from_m;
    let v = t.voice;
    (v.length(m * scale), sure::range(v, m * (scale - Z_95 * sd), m * (scale + Z_95 * sd), |m| v.length(m)))
}

/// What the rule or a belly asks somebody to look at.
fn stretches(t: &Teller<'_>) -> Table {
    let v = t.voice;
    let stretch = |name: String, verdict: Cell, from_m: f64, to_m: f64| {
        vec![
            plain(name),
            verdict,
            plain(v.station(from_m)),
            plain(v.station(to_m)),
            length(t, from_m, to_m),
            depth_at(t, from_m),
            depth_at(t, to_m),
        ]
    };
    let finding = |f: &FindingRow| {
        let reason = f.reason.as_deref().map(|r| t.word(words::reason(r))).unwrap_or_default();
        stretch(readable(&t.sentence(&f.subject)), (t.word(&f.finding), reason), f.from_m, f.to_m)
    };
    let pool = |p: &PoolRow| {
        let name = say!(t, "belly {n}", n = p.number);
        stretch(readable(&name), plain(t.word(sure::belly(p))), p.from_m, p.to_m)
    };
    let asked = t.answers.findings.iter().filter(|f| f.subject != "lateral" && f.finding != "meets");
    // What is a pool by a rule stands among the findings already.
    let bellies = t.answers.pools.iter().filter(|p| p.state != "intended" && !t.answers.findings.iter().any(|f| f.pool == Some(p.number)));
    Table {
        heading: t.word("Stretches that a finding or a belly points at"),
        none: t.word("None."),
        columns: columns(t, &["What", "Finding", "From", "To", "True length", "Ground to invert, first end", "Ground to invert, other end"]),
        rows: asked.map(finding).chain(bellies.map(pool)).collect(),
    }
}

/// The row of the path at or nearest to a station.
fn nearest<'a>(t: &Teller<'a>, station_m: f64) -> Option<&'a PathRow> {
    t.answers.path.iter().min_by(|a, b| (a.station_m - station_m).abs().total_cmp(&(b.station_m - station_m).abs()))
}

/// Ground to invert at the node nearest to a station.
fn depth_at(t: &Teller<'_>, station_m: f64) -> Cell {
    match nearest(t, station_m) {
        Some(row) => depth(t, row),
        None => plain(t.voice.not_determined()),
    }
}

fn depth(t: &Teller<'_>, row: &PathRow) -> Cell {
    let v = t.voice;
    match (row.depth_m, row.depth_low_m.zip(row.depth_high_m)) {
        (Some(m), Some((low, high))) => (v.length(m), v.range(&v.length(low), &v.length(high))),
        (Some(m), None) => (v.length(m), t.word("no interval: how well the ground is known was not given")),
        (None, _) => plain(v.not_determined()),
    }
}

/// Ground to invert over the surveyed length, by reach.
fn depths(t: &Teller<'_>) -> Table {
    let v = t.voice;
    let reach = |r: &ReachRow| {
        let rows: Vec<&PathRow> =
            t.answers.path.iter().filter(|p| p.station_m >= r.from_m && p.station_m <= r.to_m && p.depth_m.is_some()).collect();
        let by = |a: &&&PathRow, b: &&&PathRow| a.depth_m.unwrap_or(0.0).total_cmp(&b.depth_m.unwrap_or(0.0));
        let (least, most) = (rows.iter().min_by(by)?, rows.iter().max_by(by)?);
        // Between two nodes the depth runs straight: the area of its side is the sum of trapezia.
        let area: f64 = rows
            .windows(2)
            .map(|w| (w[1].station_m - w[0].station_m) * 0.5 * (w[0].depth_m.unwrap_or(0.0) + w[1].depth_m.unwrap_or(0.0)))
            .sum();
        let along_m = rows.last()?.station_m - rows.first()?.station_m;
        let mean = if along_m > 0.0 { v.length(area / along_m) } else { v.not_determined() };
        Some(vec![
            plain(readable(&t.sentence(&r.name))),
            length(t, r.from_m, r.to_m),
            depth(t, least),
            depth(t, most),
            plain(mean),
        ])
    };
    let reaches = if t.answers.reaches.is_empty() { core::slice::from_ref(&t.answers.total) } else { &t.answers.reaches[..] };
    Table {
        heading: t.word("Depth from the ground to the invert"),
        none: t.word("Not determined: it needs levels of the ground along the drain, and an elevation of the pipe."),
        columns: columns(t, &["Reach", "True length", "Least depth", "Greatest depth", "Mean depth (no interval)"]),
        rows: reaches.iter().filter_map(reach).collect(),
    }
}

/// Lengths by kind of pipe.
fn pipes(t: &Teller<'_>) -> Table {
    let v = t.voice;
    let mut kinds: Vec<(String, f64, Option<f64>)> = Vec::new();
    for r in &t.answers.reaches {
        let middle_m = 0.5 * (r.from_m + r.to_m);
        let Some(job) = t.answers.job.reaches.iter().find(|j| j.from_m <= middle_m && middle_m <= j.to_m) else { continue };
        let name = if job.pipe.material.is_empty() || job.pipe.name.contains(&job.pipe.material) {
            words::pipe(t, r)
        } else {
            format!("{}, {}", words::pipe(t, r), job.pipe.material)
        };
        match kinds.iter_mut().find(|k| k.0 == name) {
            Some(k) => k.1 += r.to_m - r.from_m,
            None => kinds.push((name, r.to_m - r.from_m, job.pipe.stick_m)),
        }
    }
    let row = |(name, m, stick_m): &(String, f64, Option<f64>)| {
        let sticks = stick_m.filter(|s| *s > 0.0).map_or_else(
            || t.word("length of a stick not given"),
            |s| readable(&say!(t, "{n} of {stick}", n = Part::Number((m / s).ceil(), 0), stick = Part::Length(s))),
        );
        vec![plain(readable(name)), length(t, 0.0, *m), plain(sticks)]
    };
    Table {
        heading: t.word("Pipe that was surveyed"),
        none: t.word("No pipe was given."),
        columns: columns(t, &["Pipe", "True length", "Sticks, rounded up"]),
        rows: kinds.iter().map(row).collect::<Vec<_>>().into_iter().filter(|r| !r.is_empty()).map(|r| { let _ = v; r }).collect(),
    }
}

/// What is on the way, counted.
fn on_the_way(t: &Teller<'_>) -> Table {
    let job = &t.answers.job;
    let mut rows = Vec::new();
    let mut count = |name: String, stations: Vec<f64>| {
        if !stations.is_empty() {
            let shown: Vec<String> = stations.iter().take(12).map(|s| t.voice.station(*s)).collect();
            let more = if stations.len() > shown.len() { ", ..." } else { "" };
            rows.push(vec![plain(readable(&name)), plain(stations.len().to_string()), plain(format!("{}{more}", shown.join(", ")))]);
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
        count(words::feature(t, kind), here.collect());
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
    Table {
        heading: t.word("On the way, as noted"),
        none: t.word("Nothing was noted."),
        columns: columns(t, &["What", "How many", "Where"]),
        rows,
    }
}

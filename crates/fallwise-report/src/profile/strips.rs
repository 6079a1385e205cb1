//! What stands under the plot on the same axis.

use fallwise::{
    Flow,
    answers::{PathRow, ReachRow, SegmentRow},
    model::FeatureKind,
    units::{Part, Voice, Words, ft},
};

use super::{
    LEFT, RIGHT, WIDTH,
    canvas::{Canvas, Hold, columns, width},
    scale::{Scale, Shape, bore, length_ticks},
};
use crate::{
    known, sure,
    tell::{Teller, say},
    text::wrap,
    words::{self, at},
};

/// Boxes whose text is written below at most.
const BESIDE: usize = 12;

/// Lengths along the bottom in the reader's units, and what the two ends are.
pub(super) fn station_axis(c: &mut Canvas, t: &Teller, shape: &Shape, scale: &Scale, y: f64) -> f64 {
    let answers = t.answers;
    let (x0, x1) = (scale.x(shape.start_m()), scale.x(shape.end_m()));
    lengths(c, t.voice, shape, scale, y);
    let flows_up = answers.job.flow == Flow::Increasing;
    let end = |row: &PathRow, upper: bool| {
        let main = answers
            .job
            .features
            .iter()
            .any(|f| f.kind == FeatureKind::Main && (f.station_m - row.station_m).abs() < 1.0);
        let place = at(t.voice, row.station_m);
        match (upper, main) {
            (true, false) => say!(t, "upper end: {place}", place = place),
            (true, true) => say!(t, "upper end, the main: {place}", place = place),
            (false, false) => say!(t, "lower end: {place}", place = place),
            (false, true) => say!(t, "lower end, the main: {place}", place = place),
        }
    };
    let elevation = |row: &PathRow| {
        let elevation = Part::Elevation(row.elevation_m.filter(|e| e.abs() < 1e6)?);
        let interval = sure::elevation_ends(t.voice, row)?;
        let told = if known::is_wrong(t.answers) {
            say!(t, "invert at {elevation} ({interval})", elevation = elevation, interval = interval)
        } else {
            say!(t, "invert at {elevation} (95 %: {interval})", elevation = elevation, interval = interval)
        };
        Some(told)
    };
    let right = x1.max(x0 + 520.0).min(RIGHT);
    let mut below = y + 50.0;
    let ends = [(shape.nodes.first(), x0, Hold::Left, flows_up), (shape.nodes.last(), right, Hold::Right, !flows_up)];
    for (node, x, hold, upper) in ends {
        let Some(row) = node.map(|n| n.row) else { continue };
        c.text(x, y + 38.0, hold, "fw-bold", &end(row, upper));
        if let Some(text) = elevation(row) {
            c.text(x, y + 52.0, hold, "fw-small", &text);
            below = y + 64.0;
        }
    }
    below
}

/// Lengths along the bottom in the reader's units.
pub(super) fn lengths(c: &mut Canvas, v: Voice, shape: &Shape, scale: &Scale, y: f64) {
    c.line((scale.x(shape.start_m()), y + 6.0), (scale.x(shape.end_m()), y + 6.0), "fw-thin");
    for (station_m, text) in length_ticks(v, shape.start_m(), shape.end_m()) {
        let x = scale.x(station_m);
        c.line((x, y + 6.0), (x, y + 11.0), "fw-thin");
        c.text(x, y + 22.0, Hold::Middle, "", &text);
    }
}

/// A heading at the left edge over a strip.
pub(super) fn heading(c: &mut Canvas, y: f64, text: &str) -> f64 {
    c.text(20.0, y + 11.0, Hold::Left, "fw-small fw-bold", text);
    y + 15.0
}

/// The slope of each segment in its box; where it does not fit, its number, and the figures in the lines below.
pub(super) fn slopes(c: &mut Canvas, t: &Teller, scale: &Scale, y: f64) -> f64 {
    let text = t.word("slope of each segment along the flow, with its 95 % interval; dotted: backfall");
    let y = heading(c, y, &text);
    let mut beside = Vec::new();
    for s in &t.answers.segments {
        let (x, wide) = (scale.x(s.from_m), scale.x(s.to_m) - scale.x(s.from_m));
        let drop = s.kind == "drop";
        let value = match s.slope {
            _ if drop => t.word("drop"),
            Some(slope) => t.short_slope(slope),
            None => t.not_determined(),
        };
        let interval = match (s.slope_low, s.slope_high) {
            (Some(low), Some(high)) if !drop => t.slope_range(low, high),
            _ => String::new(),
        };
        let title = format!(
            "{} {}",
            segment(t.voice, s),
            say!(t, "Slope with its 95 % interval: {slope}.", slope = sure::slope_told(t.voice, s))
        );
        let class = if s.slope.is_some_and(|v| v < -1e-4) { "fw-back" } else { "fw-box" };
        let middle = x + 0.5 * wide;
        let fits = |text: &str, size: f64| width(text, size) + 6.0 < wide;
        c.group(&title, |c| {
            c.rect(x, y, wide, 34.0, class);
            if fits(&value, 11.5) && (interval.is_empty() || fits(&interval, 10.5)) {
                let row = if interval.is_empty() { 21.0 } else { 14.0 };
                c.text(middle, y + row, Hold::Middle, "fw-bold fw-halo", &value);
                c.text(middle, y + 28.0, Hold::Middle, "fw-small fw-halo", &interval);
                return;
            }
            let interval = if interval.is_empty() { String::new() } else { format!(" ({interval})") };
            beside.push(format!("[{}] {value}{interval}", s.number));
            let number = format!("[{}]", s.number);
            if width(&number, 10.5) < wide {
                c.text(middle, y + 21.0, Hold::Middle, "fw-small fw-halo", &number);
            }
        });
    }
    if beside.len() > BESIDE {
        beside.truncate(BESIDE);
        beside.push(t.word("the others are in the report"));
    }
    lines_beside(c, &beside, y + 36.0)
}

/// Which segment it is.
pub(super) fn segment(v: Voice, s: &SegmentRow) -> String {
    say!(
        v,
        "Segment {number}, from {from} to {to}.",
        number = s.number,
        from = at(v, s.from_m),
        to = Part::Station(s.to_m)
    )
}

/// Figures that did not fit into their boxes.
fn lines_beside(c: &mut Canvas, beside: &[String], mut y: f64) -> f64 {
    for line in wrap(&beside.join("; "), columns(RIGHT - LEFT, 10.5)).iter().take(5) {
        c.text(LEFT, y + 11.0, Hold::Left, "fw-small", line);
        y += 13.5;
    }
    y + 5.0
}

/// The reaches with their pipes.
pub(super) fn reaches(c: &mut Canvas, t: &Teller, reaches: &[ReachRow], scale: &Scale, y: f64) -> f64 {
    if reaches.is_empty() {
        return y;
    }
    let y = heading(c, y, &t.word("reaches and their pipe"));
    let mut beside = Vec::new();
    for (i, r) in reaches.iter().enumerate() {
        let (x, wide) = (scale.x(r.from_m), scale.x(r.to_m) - scale.x(r.from_m));
        let both = format!("{}: {}", t.sentence(&r.name), words::pipe(t.voice, r));
        c.group(&both, |c| {
            c.rect(x, y, wide, 20.0, "fw-box");
            let text = if width(&both, 11.5) + 6.0 < wide {
                both.clone()
            } else {
                beside.push(format!("({}) {both}", i + 1));
                format!("({})", i + 1)
            };
            if width(&text, 11.5) + 2.0 < wide {
                c.text(x + 0.5 * wide, y + 14.0, Hold::Middle, "", &text);
            }
        });
    }
    beside.truncate(BESIDE);
    lines_beside(c, &beside, y + 22.0)
}

/// Ground to the outside top of the pipe, on its own scale; or why it is not drawn.
pub(super) fn cover(c: &mut Canvas, t: &Teller, shape: &Shape, scale: &Scale, y: f64) -> f64 {
    const HIGH: f64 = 44.0;
    let name = words::cover(t.voice);
    let points: Vec<(f64, f64)> = shape
        .nodes
        .iter()
        .filter_map(|n| Some((n.row.station_m, n.row.cover_m.filter(|m| *m > 0.0 && *m < 1e4)?)))
        .collect();
    let deepest = points.iter().fold(0.0, |d: f64, p| d.max(p.1));
    if points.len() < 2 {
        let text = if t.answers.job.ground.is_empty() {
            say!(t, "{cover}: not drawn, no ground levels were given", cover = name)
        } else {
            say!(t, "{cover}: not drawn, it needs the ground, the elevation of the pipe and its bore", cover = name)
        };
        return heading(c, y, &text) + 2.0;
    }
    let (first, last) = (points.first().copied().unwrap_or_default(), points.last().copied().unwrap_or_default());
    let text = say!(
        t,
        "{cover}: {first} at {start}, {last} at {end}; greatest {greatest} (own scale, ground above, no interval)",
        cover = name,
        first = Part::Length(first.1),
        start = Part::Station(first.0),
        last = Part::Length(last.1),
        end = Part::Station(last.0),
        greatest = Part::Length(deepest)
    );
    let y = heading(c, y, &text);
    let mut outline: Vec<(f64, f64)> = points.iter().map(|p| (scale.x(p.0), y + HIGH * p.1 / deepest)).collect();
    c.line((scale.x(first.0), y), (scale.x(last.0), y), "fw-level");
    let top: Vec<(bool, f64, f64)> = outline.iter().map(|p| (false, p.0, p.1)).collect();
    outline.extend([(scale.x(last.0), y), (scale.x(first.0), y)]);
    c.polygon(&outline, "fw-wedge");
    c.path(&top, "fw-crown");
    y + HIGH + 8.0
}

/// Height of the ground, on the axis of the inverts, m; nothing where it is too far off to be drawn beside the pipe.
fn ground_m(row: &PathRow) -> Option<f64> {
    let above_m = row.ground_m? - row.elevation_m?;
    (above_m.abs() < 30.0).then_some(row.height_m + above_m)
}

/// The pipe, and the ground over it, with lengths and heights alike.
pub(super) fn true_scale(c: &mut Canvas, v: Voice, shape: &Shape, scale: &Scale, y: f64) -> f64 {
    const MOST: f64 = 130.0;
    if scale.exaggeration <= 1.0 && shape.cuts.is_empty() {
        return heading(c, y, &say!(v, "The picture above is true to scale.")) + 4.0;
    }
    let ground: Vec<(f64, f64)> =
        shape.nodes.iter().filter_map(|n| Some((n.row.station_m, ground_m(n.row)?))).collect();
    let heights = || shape.nodes.iter().map(|n| (n.row.height_m, bore(n.row).unwrap_or(0.0)));
    let low = heights().fold(f64::INFINITY, |m, h| m.min(h.0));
    let high = heights().map(|h| h.0 + h.1).chain(ground.iter().map(|g| g.1)).fold(f64::NEG_INFINITY, f64::max);
    let px = scale.along.min(MOST / (high - low).max(1e-6));
    let name = if ground.len() > 1 {
        say!(v, "true to scale: heights and lengths drawn alike; the line above is the ground")
    } else {
        say!(v, "true to scale: heights and lengths drawn alike")
    };
    let y = heading(c, y, &name) + 4.0;
    let x = |station_m: f64| scale.x(shape.start_m()) + (station_m - shape.start_m()) * px;
    let h = |height_m: f64| y + (high - height_m) * px;
    let invert: Vec<(bool, f64, f64)> =
        shape.nodes.iter().map(|n| (false, x(n.row.station_m), h(n.row.height_m))).collect();
    let mut crown = Vec::new();
    for w in shape.nodes.windows(2) {
        let Some(d) = bore(w[0].row) else { continue };
        crown.push((true, x(w[0].row.station_m), h(w[0].row.height_m + d)));
        crown.push((false, x(w[1].row.station_m), h(w[1].row.height_m + d)));
    }
    c.group(&say!(v, "the pipe true to scale"), |c| {
        c.path(&invert, "fw-crown");
        if !crown.is_empty() {
            c.path(&crown, "fw-thin");
        }
        if ground.len() > 1 {
            let line: Vec<(bool, f64, f64)> = ground.iter().map(|g| (false, x(g.0), h(g.1))).collect();
            c.path(&line, "fw-dash");
        }
    });
    let y = y + (high - low) * px + 6.0;
    // A bar to measure by.
    let (unit, in_m) = match v.words {
        Words::Uk => ("m", 1.0),
        Words::Us => ("ft", ft(1.0)),
    };
    let length = [200.0, 100.0, 50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1]
        .into_iter()
        .find(|l| l * in_m * px < 0.3 * (WIDTH - 2.0 * LEFT));
    if let Some(length) = length {
        let (left, wide) = (scale.x(shape.start_m()), length * in_m * px);
        let places = usize::from(length < 1.0);
        c.line((left, y + 4.0), (left + wide, y + 4.0), "fw-level");
        c.text(left + wide + 6.0, y + 8.0, Hold::Left, "fw-small", &format!("{} {unit}", v.number(length, places)));
    }
    y + 18.0
}

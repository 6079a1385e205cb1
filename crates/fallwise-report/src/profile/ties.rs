//! What was measured beside the runs, over the pipe: the band without it, ties with their error bars, as-built inverts.

use fallwise::{
    Answers,
    adjust::Z_95,
    answers::TieRow,
    model::{Known, Place, Toward},
    units::{Part, Voice},
};

use super::{
    LEFT, RIGHT, WIDTH,
    canvas::{Canvas, Hold, width},
    marks::two_columns,
    scale::{Scale, Shape},
};
use crate::{
    known,
    tell::{Teller, say},
    words::at,
};

/// Ties listed in the picture at most; the page has them all.
const MOST: usize = 16;
/// Columns of a tie's name there.
const NAME: usize = 40;
/// Size of the numbers beside the marks, px.
const SIZE: f64 = 10.5;
/// Least space between two of them, px.
const GAP: f64 = 3.0;
/// Radius of the ring about what is suspect, px.
const RING: f64 = 11.0;

/// How a tie is drawn.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    /// A levelled invert.
    Invert,
    /// A located depth.
    Depth,
    /// Two edges of still water, or a depth and an edge.
    Water,
    /// How much higher one place is than another.
    Rise,
}

/// A tie that has a place in the picture; heights as drawn, m.
struct Drawn<'a> {
    row: &'a TieRow,
    /// Its number among the rows.
    index: usize,
    kind: Kind,
    station_m: f64,
    height_m: f64,
    half_m: f64,
    /// The place that its height counts from, and whether a line may join the two: not over a drop that is cut short.
    from: Option<(f64, f64, bool)>,
}

/// Whether the picture shows anything that was known beside the runs.
pub(super) fn is_drawn(answers: &Answers) -> bool {
    !answers.ties.is_empty() || !answers.as_built.is_empty()
}

/// A place on the counter, m: what was taped is a true distance from the start of the first run.
fn on_counter(answers: &Answers, place: &Place) -> f64 {
    let shown_m = answers.to_m - answers.from_m;
    let scale = answers.total.length_m / shown_m;
    if !(place.taped && scale.is_finite() && scale > 0.0) {
        return place.station_m;
    }
    let origin_m = answers.job.runs.first().map_or(0.0, |r| r.start_station_m);
    origin_m + (place.station_m - origin_m) / scale
}

/// What is added to a height above the lowest invert for an elevation, m.
fn datum_m(answers: &Answers) -> Option<f64> {
    let row = answers.path.iter().find(|r| r.height_m.is_finite() && r.elevation_m.is_some_and(f64::is_finite))?;
    Some(row.elevation_m? - row.height_m)
}

/// The ties that have a height.
fn drawn<'a>(answers: &'a Answers, shape: &Shape) -> Vec<Drawn<'a>> {
    let datum = datum_m(answers);
    let one = |(index, row): (usize, &'a TieRow)| {
        let known = row.number.checked_sub(1).and_then(|i| answers.job.ties.get(i)).map(|t| &t.known);
        let place = |place: &Place| on_counter(answers, place);
        let half_m = Z_95 * row.sd;
        // A second place, against the invert at the first.
        let against = |kind: Kind, from: &Place, to: &Place| {
            let (from_m, to_m) = (place(from), place(to));
            let inside = |s: f64| s.clamp(shape.start_m(), shape.end_m());
            let height_m = shape.height_m(inside(from_m))?;
            let level_m = height_m + row.value;
            // Water stands at its own level at both ends; a height difference begins on the invert.
            let from_height_m = if kind == Kind::Water { level_m } else { height_m };
            let (first, second) = (shape.drawn_m(from_m, from_height_m)?, shape.drawn_m(to_m, level_m)?);
            let joined = (second - level_m - (first - from_height_m)).abs() < 1e-9;
            Some(Drawn {
                row,
                index,
                kind,
                station_m: to_m,
                height_m: second,
                half_m,
                from: Some((from_m, first, joined)),
            })
        };
        let single = |kind: Kind, station_m: f64, elevation_m: f64| {
            let height_m = shape.drawn_m(station_m, elevation_m - datum?)?;
            Some(Drawn { row, index, kind, station_m, height_m, half_m, from: None })
        };
        match known {
            Some(Known::Invert { at, .. }) => single(Kind::Invert, place(at), row.value),
            // What came with a run or an as-built invert.
            None if row.quantity == "elevation_m" => single(Kind::Invert, row.station_m?, row.value),
            Some(Known::Depth { at, behind_m, above_m, .. }) => {
                let increasing = answers.job.runs.first().is_none_or(|r| r.toward == Toward::Increasing);
                let behind_m = if increasing { -behind_m } else { *behind_m };
                single(Kind::Depth, place(&Place { station_m: at.station_m + behind_m, ..*at }), row.value - above_m)
            }
            Some(Known::HeightDifference { from, to, .. }) => against(Kind::Rise, from, to),
            Some(Known::WaterLevel { from, to, .. }) => against(Kind::Water, from, to),
            Some(Known::WaterDepth { at, edge, .. }) => against(Kind::Water, at, edge),
            _ => None,
        }
    };
    let drawable = |d: &Drawn| [d.station_m, d.height_m, d.half_m].iter().all(|x| x.abs() < 1e6);
    answers.ties.iter().enumerate().filter_map(one).filter(drawable).collect()
}

/// As-built inverts: station and height as drawn, m.
fn as_built(answers: &Answers, shape: &Shape) -> Vec<(f64, f64, usize)> {
    let one = |(i, row): (usize, &fallwise::answers::AsBuiltRow)| {
        let inside_m = row.station_m.clamp(shape.start_m(), shape.end_m());
        let height_m = shape.drawn_m(inside_m, shape.height_m(inside_m)? - row.difference_m)?;
        (row.station_m.abs() < 1e6 && height_m.abs() < 1e6).then_some((row.station_m, height_m, i))
    };
    answers.as_built.iter().enumerate().filter_map(one).collect()
}

/// Heights between which each lies as drawn, m, with its error bar.
pub(super) fn extents(answers: &Answers, shape: &Shape) -> Vec<(f64, f64)> {
    let ties = drawn(answers, shape).into_iter().map(|d| (d.height_m - d.half_m, d.height_m + d.half_m));
    ties.chain(as_built(answers, shape).into_iter().map(|a| (a.1, a.1))).collect()
}

/// The band without the ties, to go behind the one with them.
pub(super) fn before(c: &mut Canvas, v: Voice, shape: &Shape, scale: &Scale) {
    let ends: Vec<(f64, (f64, f64))> =
        shape.nodes.iter().filter_map(|n| Some((scale.x(n.row.station_m), n.before_m()?))).collect();
    if ends.len() < 2 {
        return;
    }
    let mut band: Vec<(f64, f64)> = ends.iter().map(|(x, (_, high))| (*x, scale.y(*high))).collect();
    band.extend(ends.iter().rev().map(|(x, (low, _))| (*x, scale.y(*low))));
    let title = say!(v, "95 % band without the ties: from the runs alone the pipe is somewhere in here");
    c.group(&title, |c| c.polygon(&band, "fw-before"));
}

/// What the key names: width, label, and how it is drawn.
struct Swatch {
    label: String,
    draw: fn(&mut Canvas, f64, f64),
}

fn swatches(t: &Teller) -> Vec<Swatch> {
    let answers = t.answers;
    let of_kind = |kinds: &[&str]| answers.ties.iter().any(|t| kinds.contains(&t.kind.as_str()));
    let mut all = Vec::new();
    let mut add = |there: bool, label: String, draw: fn(&mut Canvas, f64, f64)| {
        if there {
            all.push(Swatch { label, draw });
        }
    };
    let before = answers.path.iter().any(|r| r.before_height_m.is_some());
    add(before, t.word("without the ties the pipe is somewhere in here (95 %)"), |c, x, y| {
        c.rect(x, y - 7.0, 34.0, 13.0, "fw-before");
    });
    add(of_kind(&["invert"]), t.word("levelled invert (bar: 95 %)"), |c, x, y| {
        bar(c, x + 17.0, y - 8.0, y + 8.0);
        c.circle(x + 17.0, y, 3.8, "fw-tie");
    });
    add(of_kind(&["depth"]), t.word("located depth, as the invert it means (bar: 95 %)"), |c, x, y| {
        bar(c, x + 17.0, y - 8.0, y + 8.0);
        c.circle(x + 17.0, y, 3.8, "fw-tie-open");
    });
    add(of_kind(&["water_level", "water_depth"]), t.word("still water: one level (bar: 95 %)"), |c, x, y| {
        still(c, (x + 6.0, y), (x + 28.0, y), true);
        bar(c, x + 28.0, y - 5.0, y + 5.0);
    });
    add(
        of_kind(&["height_difference"]),
        t.word("height difference, from the first tick to the second (bar: 95 %)"),
        |c, x, y| {
            tick(c, x + 6.0, y - 4.0);
            c.line((x + 6.0, y - 4.0), (x + 28.0, y + 2.0), "fw-dash");
            bar(c, x + 28.0, y - 4.0, y + 8.0);
            tick(c, x + 28.0, y + 2.0);
        },
    );
    add(!answers.as_built.is_empty(), t.word("as-built invert"), |c, x, y| square(c, x + 17.0, y));
    let high = ["invert", "depth", "water_level", "water_depth", "height_difference"];
    let ringed = |i: &usize| answers.ties.get(*i).is_some_and(|t| high.contains(&t.kind.as_str()));
    add(known::suspects(answers).iter().any(ringed), t.word("does not fit: suspect"), |c, x, y| {
        ring(c, x + 17.0, y, 8.0);
    });
    all
}

/// The rows of the key, with where each entry begins.
fn key_rows(t: &Teller) -> Vec<(f64, usize, Swatch)> {
    let (mut x, mut row) = (30.0, 0);
    let mut rows = Vec::new();
    for swatch in swatches(t) {
        let wide = 40.0 + width(&swatch.label, 11.5) + 14.0;
        if x > 30.0 && x + wide - 14.0 > WIDTH - 30.0 {
            (x, row) = (30.0, row + 1);
        }
        rows.push((x, row, swatch));
        x += wide;
    }
    rows
}

/// How much the key needs for what was known beside the runs, px.
pub(super) fn key_height(t: &Teller) -> f64 {
    if !is_drawn(t.answers) {
        return 0.0;
    }
    22.0 * key_rows(t).last().map_or(0.0, |(_, row, _)| *row as f64 + 1.0)
}

/// The key of it, from `y` on down.
pub(super) fn key(c: &mut Canvas, t: &Teller, y: f64) {
    if !is_drawn(t.answers) {
        return;
    }
    for (x, row, swatch) in key_rows(t) {
        let middle = y + 1.0 + 22.0 * row as f64;
        (swatch.draw)(c, x, middle);
        c.text(x + 40.0, middle + 4.0, Hold::Left, "", &swatch.label);
    }
}

/// An upright error bar.
fn bar(c: &mut Canvas, x: f64, top: f64, bottom: f64) {
    let ends = [
        (true, x, top),
        (false, x, bottom),
        (true, x - 3.5, top),
        (false, x + 3.5, top),
        (true, x - 3.5, bottom),
        (false, x + 3.5, bottom),
    ];
    c.path(&ends, "fw-bars-under");
    c.path(&ends, "fw-bars");
}

fn tick(c: &mut Canvas, x: f64, y: f64) {
    c.line((x - 6.0, y), (x + 6.0, y), "fw-level");
}

/// The level of still water, or a short piece of it at each end where a drop between them is cut short.
fn still(c: &mut Canvas, from: (f64, f64), to: (f64, f64), joined: bool) {
    if joined {
        c.line(from, to, "fw-still");
    }
    tick(c, from.0, from.1);
    tick(c, to.0, to.1);
}

fn square(c: &mut Canvas, x: f64, y: f64) {
    c.rect(x - 3.5, y - 3.5, 7.0, 7.0, "fw-as-built");
}

fn ring(c: &mut Canvas, x: f64, y: f64, r: f64) {
    c.circle(x, y, r, "fw-suspect-under");
    c.circle(x, y, r, "fw-suspect");
}

/// Keeps a mark in the frame; whether it had to be moved.
fn held(scale: &Scale, (top, bottom): (f64, f64), height_m: f64) -> (f64, Option<f64>) {
    match scale.y(height_m) {
        y if y < top + 4.0 => (top + 10.0, Some(-1.0)),
        y if y > bottom - 4.0 => (bottom - 10.0, Some(1.0)),
        y => (y, None),
    }
}

/// A small arrow towards what lies outside the picture.
fn arrow(c: &mut Canvas, x: f64, y: f64, way: f64) {
    c.polygon(&[(x - 4.5, y + 3.0 * way), (x + 4.5, y + 3.0 * way), (x, y + 9.0 * way)], "fw-bar");
}

/// As-built inverts and ties over the pipe, with their numbers; what is suspect is ringed and said so.
pub(super) fn marks(c: &mut Canvas, t: &Teller, shape: &Shape, scale: &Scale, frame: (f64, f64)) {
    let answers = t.answers;
    let x_of = |station_m: f64| scale.x(station_m).clamp(LEFT, RIGHT);
    for (station_m, height_m, i) in as_built(answers, shape) {
        let Some(row) = answers.as_built.get(i) else { continue };
        let (y, outside) = held(scale, frame, height_m);
        let invert = Part::Elevation(row.invert_m);
        let title = say!(t, "As-built invert of {invert} at {place}.", invert = invert, place = at(t.voice, station_m));
        let title = format!("{title} {}", t.sentence(&row.sentence));
        c.group(&title, |c| {
            square(c, x_of(station_m), y);
            if let Some(way) = outside {
                arrow(c, x_of(station_m), y, way);
            }
        });
    }
    let suspects = known::suspects(answers);
    let others = known::others_may_be_wrong(answers);
    let mut labels = Vec::new();
    for d in drawn(answers, shape) {
        let (x, (y, outside)) = (x_of(d.station_m), held(scale, frame, d.height_m));
        let inside = |y: f64| y.clamp(frame.0 + 2.0, frame.1 - 2.0);
        let (high, low) = (inside(scale.y(d.height_m + d.half_m)), inside(scale.y(d.height_m - d.half_m)));
        let from = d.from.map(|(s, h, joined)| (x_of(s), held(scale, frame, h).0, joined));
        let suspect = suspects.contains(&d.index);
        let measured = known::figure(t.voice, d.row, d.row.value);
        let (name, error) = (t.sentence(&d.row.name), known::error(t.voice, d.row));
        let title = format!("{name}: {measured}, {error}. {}", t.sentence(&d.row.sentence));
        c.group(&title, |c| {
            match (d.kind, from) {
                (Kind::Water, Some((x0, y0, joined))) => still(c, (x0, y0), (x, y), joined && outside.is_none()),
                (Kind::Rise, Some((x0, y0, joined))) => {
                    if joined && outside.is_none() {
                        c.line((x0, y0), (x, y), "fw-dash");
                    }
                    tick(c, x0, y0);
                }
                _ => {}
            }
            if outside.is_none() {
                bar(c, x, high, low);
            }
            match d.kind {
                Kind::Invert => c.circle(x, y, 3.8, "fw-tie"),
                Kind::Depth => c.circle(x, y, 3.8, "fw-tie-open"),
                Kind::Water | Kind::Rise => tick(c, x, y),
            }
            if let Some(way) = outside {
                arrow(c, x, y, way);
            }
            if suspect {
                ring(c, x, y, RING);
            }
        });
        let ends = if suspect { (high.min(y - RING), low.max(y + RING)) } else { (high.min(y), low.max(y)) };
        let number = known::number(d.row);
        let text = if suspect {
            say!(t, "{number} does not fit", number = number)
        } else if others.contains(&d.index) {
            say!(t, "{number} may be wrong instead", number = number)
        } else {
            number
        };
        labels.push((suspect, text, x, ends));
    }
    // What is suspect gets its words first; of the others a number that has no room is left out.
    labels.sort_by_key(|l| !l.0);
    let first = frame.0 + if shape.cuts.is_empty() { 4.0 } else { 36.0 + 14.0 * shape.cuts.len().min(9) as f64 };
    let (left, right) = (scale.x(shape.start_m()).max(LEFT), scale.x(shape.end_m()).min(RIGHT));
    let mut taken: Vec<(f64, f64, f64)> = Vec::new();
    for (_, text, x, (high, low)) in labels {
        let half = 0.5 * width(&text, SIZE);
        let middle = x.clamp(left + half + 2.0, (right - half - 2.0).max(left + half + 2.0));
        let free = |y: &f64| {
            *y > first + SIZE
                && *y < frame.1 - 4.0
                && taken
                    .iter()
                    .all(|(l, r, at)| middle + half + GAP < *l || middle - half - GAP > *r || (y - at).abs() > 10.0)
        };
        let Some(y) = [high - 5.0, low + 13.0, high - 17.0, low + 25.0].into_iter().find(free) else { continue };
        taken.push((middle - half, middle + half, y));
        c.text(middle, y, Hold::Middle, "fw-small fw-bold fw-halo", &text);
    }
}

/// The ties in words, what does not fit first. `whole`: the picture stands by itself; else they are in the page's table.
pub(super) fn list(c: &mut Canvas, t: &Teller, whole: bool, y: f64) -> f64 {
    let answers = t.answers;
    if answers.ties.is_empty() {
        return y;
    }
    // A check of the head has no place, and is not drawn.
    if !whole && answers.ties.iter().all(|row| row.station_m.is_none()) {
        return y;
    }
    if !whole {
        let text = t.word("The numbers beside ties are those of the table of what is known beside the runs.");
        c.text(20.0, y + 10.0, Hold::Left, "", &text);
        return y + 16.0;
    }
    let suspects = known::suspects(answers);
    let mut rows: Vec<(bool, &TieRow)> =
        answers.ties.iter().enumerate().map(|(i, row)| (suspects.contains(&i), row)).collect();
    rows.sort_by_key(|(suspect, _)| !suspect);
    let entry = |(suspect, row): &(bool, &TieRow)| {
        (known::number(row), format!("{} - {}", known::title(t, row, NAME), known::fit(t, row, *suspect)))
    };
    let entries = rows.iter().take(MOST).map(entry).collect();
    let heading = t.word("Measured beside the runs, and how it fits");
    two_columns(c, t.voice, &heading, (entries, rows.len()), y)
}

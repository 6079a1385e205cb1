//! The pipe itself: key, axes, band, water, invert and crown, and where its slope changes.

use fallwise::{
    Answers, Flow,
    answers::{PoolRow, SegmentRow},
    units::{Part, Voice, Words, to_ft, to_inch, to_mm},
};

use super::{
    LEFT, RIGHT, WIDTH,
    canvas::{Canvas, Hold, width},
    scale::{Scale, Shape, bore, length_ticks, other, ticks},
    strips, ties,
};
use crate::{
    known,
    sure::{self, Chance},
    tell::{Teller, say},
    text::shorten,
};

/// Rows of pool labels under the plot at most; with more, the page has them all.
const POOL_ROWS: usize = 5;
/// Reference slopes shown at most.
const ASKED: usize = 4;

/// The distinct slopes asked for, as they are written.
fn asked(answers: &Answers) -> Vec<(f64, &str)> {
    let mut asked: Vec<(f64, &str)> = Vec::new();
    for finding in &answers.findings {
        let Some(slope) = finding.required.filter(|s| finding.quantity == "slope" && s.abs() < 1.0) else { continue };
        if !asked.iter().any(|a| a.0.to_bits() == slope.to_bits()) {
            asked.push((slope, &finding.requirement));
        }
    }
    asked.truncate(ASKED);
    asked
}

/// Height of the key, px.
pub(super) fn key_height(t: &Teller) -> f64 {
    let breaks = if found_breaks(t.answers).next().is_some() { 18.0 } else { 0.0 };
    let asked = if asked(t.answers).is_empty() { 0.0 } else { 52.0 };
    69.0 + breaks + ties::key_height(t) + asked
}

/// The key: exaggeration, line styles, direction of flow, slopes asked for.
pub(super) fn key(c: &mut Canvas, t: &Teller, scale: &Scale, y: f64) {
    let answers = t.answers;
    c.rect(20.0, y, WIDTH - 40.0, key_height(t) - 4.0, "fw-box");
    c.text(30.0, y + 18.0, Hold::Left, "fw-bold", &exaggeration(t, scale.exaggeration));
    flow_arrow(c, t.voice, answers.job.flow, y);
    swatches(c, t, y + 37.0);
    let tied = answers.path.iter().any(|r| r.before_height_m.is_some());
    c.text(30.0, y + 55.0, Hold::Left, "", &sure::band_is(t, tied));
    let mut below = y + 65.0;
    if found_breaks(answers).next().is_some() {
        break_key(c, t.voice, y + 73.0);
        below += 18.0;
    }
    ties::key(c, t, below + 8.0);
    below += ties::key_height(t);
    let asked = asked(answers);
    if !asked.is_empty() {
        reference(c, t, &asked, scale, below);
    }
}

/// A key of two lines: exaggeration, direction of flow, line styles; gives back where it ends.
pub(super) fn short_key(c: &mut Canvas, t: &Teller, times: f64, y: f64) -> f64 {
    c.text(20.0, y + 12.0, Hold::Left, "fw-bold", &exaggeration(t, times));
    flow_arrow(c, t.voice, t.answers.job.flow, y - 6.0);
    swatches(c, t, y + 32.0);
    y + 40.0
}

/// How many times larger heights are drawn, in a sentence.
fn exaggeration(t: &Teller, times: f64) -> String {
    if times > 1.0 {
        say!(
            t,
            "Heights are drawn {n} times larger than lengths and count from the lowest invert.",
            n = Part::Number(times, 0)
        )
    } else {
        t.word("Heights and lengths are drawn to the same scale; heights count from the lowest invert.")
    }
}

/// The line styles.
fn swatches(c: &mut Canvas, t: &Teller, row: f64) {
    let answers = t.answers;
    let mut x = 30.0;
    let mut swatch = |c: &mut Canvas, label: String, draw: &dyn Fn(&mut Canvas, f64)| {
        draw(c, x);
        c.text(x + 40.0, row, Hold::Left, "", &label);
        x += 40.0 + width(&label, 11.5) + 20.0;
    };
    swatch(c, t.word("invert (bottom)"), &|c, x| c.line((x, row - 4.0), (x + 34.0, row - 4.0), "fw-invert"));
    let band = if known::is_wrong(answers) {
        t.word("the pipe's invert is somewhere in here, if nothing measured is wrong")
    } else {
        t.word("the pipe's invert is somewhere in here (95 %)")
    };
    swatch(c, band, &|c, x| {
        c.rect(x, row - 11.0, 34.0, 13.0, "fw-band");
    });
    if answers.path.iter().any(|r| bore(r).is_some()) {
        swatch(c, t.word("crown (top)"), &|c, x| c.line((x, row - 4.0), (x + 34.0, row - 4.0), "fw-crown"));
    }
    if !answers.pools.is_empty() {
        let possible = answers.pools.iter().any(|p| p.state == "possible");
        let water = if possible { t.word("water it can hold (broken: possible)") } else { t.word("water it can hold") };
        swatch(c, water, &|c, x| {
            c.rect(x, row - 11.0, 34.0, 13.0, "fw-water");
            c.line((x, row - 11.0), (x + 34.0, row - 11.0), "fw-level");
        });
    }
}

/// The way of the water, in the right corner of the key.
pub(super) fn flow_arrow(c: &mut Canvas, v: Voice, flow: Flow, y: f64) {
    let (tail, head) = match flow {
        Flow::Increasing => (WIDTH - 120.0, WIDTH - 40.0),
        Flow::Decreasing => (WIDTH - 40.0, WIDTH - 120.0),
    };
    let back = if head > tail { -9.0 } else { 9.0 };
    c.line((tail, y + 14.0), (head, y + 14.0), "fw-invert");
    c.polygon(&[(head, y + 14.0), (head + back, y + 8.0), (head + back, y + 20.0)], "fw-bar");
    c.text(WIDTH - 128.0, y + 18.0, Hold::Right, "fw-bold", &say!(v, "the water flows this way"));
}

/// How a sure change of slope looks, and one that is not.
fn break_key(c: &mut Canvas, v: Voice, row: f64) {
    let mut x = 30.0;
    let text = |c: &mut Canvas, x: &mut f64, text: &str, class: &str| {
        c.text(*x, row, Hold::Left, class, text);
        *x += width(text, 11.5) + 22.0;
    };
    text(c, &mut x, &say!(v, "The slope changes here:"), "fw-bold");
    x += 10.0;
    for (chance, label) in [
        (Chance::Sure, say!(v, "sure, 95 % or more")),
        (Chance::Likely, say!(v, "likely, 50 % or more")),
        (Chance::Doubtful, say!(v, "doubtful")),
    ] {
        diamond(c, (x, row - 4.0), chance);
        x += 12.0;
        text(c, &mut x, &label, "");
    }
    within(c, x - 6.0, x + 24.0, row - 4.0);
    x += 34.0;
    text(c, &mut x, &say!(v, "the change lies within this bar (95 %)"), "");
}

/// Small triangles at the plot's own scale, one for each slope asked for: to compare with, not to build by.
fn reference(c: &mut Canvas, t: &Teller, asked: &[(f64, &str)], scale: &Scale, y: f64) {
    c.text(30.0, y + 18.0, Hold::Left, "fw-bold", &t.word("Asked for, to compare"));
    c.text(30.0, y + 33.0, Hold::Left, "fw-bold", &t.word("(not this pipe):"));
    let mut x = 175.0;
    for (slope, text) in asked {
        let steep = slope.abs() * scale.exaggeration;
        let run = 60.0_f64.min(40.0 / steep.max(1e-6));
        let rise = run * steep;
        // The high end is upstream.
        let (high, low) = if t.answers.job.flow == Flow::Increasing { (x, x + run) } else { (x + run, x) };
        let base = y + 42.0;
        c.polygon(&[(high, base), (high, base - rise), (low, base)], "fw-wedge");
        let text = t.sentence(text);
        let limit = shorten(text.split(" (").next().unwrap_or(&text), 44);
        let label = say!(t, "asked: {limit}", limit = limit);
        let value = t.short_slope(*slope);
        c.text(x + run + 8.0, y + 26.0, Hold::Left, "", &label);
        let second =
            if label.contains(value.as_str()) { String::new() } else { say!(t, "that is {slope}", slope = value) };
        c.text(x + run + 8.0, y + 40.0, Hold::Left, "fw-small", &second);
        x += run + 30.0 + width(&label, 11.5).max(width(&second, 10.5));
        if x > WIDTH - 220.0 {
            break;
        }
    }
}

/// Frame, axes, band, water, invert and crown; gives back the bottom of the frame.
pub(super) fn frame(c: &mut Canvas, t: &Teller, shape: &Shape, scale: &Scale, top: f64) -> f64 {
    let bottom = (scale.y(shape.low_m) + 12.0).max(top + 90.0);
    c.rect(LEFT, top, RIGHT - LEFT, bottom - top, "fw-frame");
    top_axis(c, t.voice, shape, scale, top);
    height_axes(c, t.voice, scale, top, bottom);

    ties::before(c, t.voice, shape, scale);
    let mut band: Vec<(f64, f64)> =
        shape.nodes.iter().map(|n| (scale.x(n.row.station_m), scale.y(n.band_m().1))).collect();
    band.extend(shape.nodes.iter().rev().map(|n| (scale.x(n.row.station_m), scale.y(n.band_m().0))));
    c.group(&t.word("95 % band of the invert: the pipe is somewhere in here"), |c| {
        if shape.nodes.iter().any(|n| n.before_m().is_some()) {
            // The wider band must not show through.
            c.polygon(&band, "fw-after");
        }
        c.polygon(&band, "fw-band");
    });

    for pool in &t.answers.pools {
        water(c, pool, &t.sentence(&pool.sentence), shape, scale, bottom);
    }
    pipe(c, shape, scale);
    unseen(c, t, shape, scale, (top, bottom));
    cuts(c, t.voice, (shape, &t.answers.segments), scale, top);
    hover(c, t, shape, scale, top, bottom);
    bottom
}

/// Crown and invert, open where a drop is cut.
pub(super) fn pipe(c: &mut Canvas, shape: &Shape, scale: &Scale) {
    let mut crown = Vec::new();
    for (i, w) in shape.nodes.windows(2).enumerate() {
        let (a, b) = (w[0], w[1]);
        let Some(d) = bore(a.row).filter(|_| a.row.station_m < b.row.station_m && !shape.is_cut(i)) else { continue };
        crown.push((true, scale.x(a.row.station_m), scale.y(a.height_m() + d)));
        crown.push((false, scale.x(b.row.station_m), scale.y(b.height_m() + d)));
    }
    if !crown.is_empty() {
        c.path(&crown, "fw-crown");
    }
    let invert: Vec<(bool, f64, f64)> = shape
        .nodes
        .iter()
        .enumerate()
        .map(|(i, n)| (i > 0 && shape.is_cut(i - 1), scale.x(n.row.station_m), scale.y(n.height_m())))
        .collect();
    c.path(&invert, "fw-invert");
}

/// Lengths along the top, in the units that the reader's are not.
pub(super) fn top_axis(c: &mut Canvas, v: Voice, shape: &Shape, scale: &Scale, top: f64) {
    for (station_m, text) in length_ticks(other(v), shape.start_m(), shape.end_m()) {
        let x = scale.x(station_m);
        c.line((x, top), (x, top - 5.0), "fw-thin");
        c.text(x, top - 9.0, Hold::Middle, "", &text);
    }
}

/// Heights in the reader's units on the left, in the others on the right, above the lowest invert on the axis' own part.
pub(super) fn height_axes(c: &mut Canvas, v: Voice, scale: &Scale, top: f64, bottom: f64) {
    let per_m = scale.along * scale.exaggeration;
    let high = scale.high_m + (scale.top - top) / per_m;
    let low = scale.high_m - (bottom - scale.top) / per_m;
    let marked = |v: Voice<'_>| {
        let (unit, factor) = match v.words {
            Words::Uk if high - low < 2.0 => ("mm", to_mm(1.0)),
            Words::Uk => ("m", 1.0),
            Words::Us if high - low < 2.0 => ("in", to_inch(1.0)),
            Words::Us => ("ft", to_ft(1.0)),
        };
        let (values, places) = ticks(low * factor, high * factor, 6.0);
        let heights: Vec<(f64, String)> =
            values.into_iter().map(|value| (scale.y(value / factor), v.number(value, places))).collect();
        (unit, heights.into_iter().filter(|(y, _)| *y > top + 7.0 && *y < bottom - 14.0))
    };
    let (unit, heights) = marked(v);
    for (y, text) in heights {
        c.line((LEFT, y), (RIGHT, y), "fw-grid");
        c.text(LEFT - 6.0, y + 4.0, Hold::Right, "", &text);
    }
    c.text(LEFT - 6.0, bottom + 4.0, Hold::Right, "fw-small", unit);
    let (unit, heights) = marked(other(v));
    for (y, text) in heights {
        c.line((RIGHT, y), (RIGHT + 5.0, y), "fw-thin");
        c.text(RIGHT + 8.0, y + 4.0, Hold::Left, "", &text);
    }
    c.text(RIGHT + 8.0, bottom + 4.0, Hold::Left, "fw-small", unit);
}

/// Water between the invert and the level, cut off at the crown.
pub(super) fn water(c: &mut Canvas, pool: &PoolRow, sentence: &str, shape: &Shape, scale: &Scale, bottom: f64) {
    let (from, to) = (pool.from_m, pool.to_m);
    if !(from.is_finite() && to.is_finite() && from < to) {
        return;
    }
    let deepest = pool.deepest_station_m.and_then(|s| shape.at(s));
    let (Some(level), Some((_, shift, _))) = (pool.level_m.filter(|l| l.abs() < 1e6), deepest) else {
        // No level in the best estimate: only the stretch can be shown.
        let y = bottom - 6.0;
        c.group(sentence, |c| c.line((scale.x(from), y), (scale.x(to), y), "fw-dash"));
        return;
    };
    let level = level + shift;
    let mut stations = vec![from, to];
    for w in shape.nodes.windows(2) {
        let (a, b) = (w[0].row.station_m, w[1].row.station_m);
        // Where the level meets the crown, the top of the water bends.
        let fall = w[1].height_m() - w[0].height_m();
        let meets = bore(w[0].row).map(|d| a + (level - d - w[0].height_m()) / fall * (b - a));
        let meets = meets.filter(|s| s.is_finite() && *s > a && *s < b);
        stations.extend([a].into_iter().chain(meets).chain([b]).filter(|s| *s > from && *s < to));
    }
    stations.sort_by(f64::total_cmp);
    stations.dedup();
    let under: Vec<(f64, f64, f64)> = stations
        .iter()
        .filter_map(|&s| shape.at(s).map(|(h, _, d)| (s, h, d.map_or(level, |d| level.min(h + d)))))
        .map(|(s, h, top)| (scale.x(s), scale.y(h.min(level)), scale.y(top.max(h.min(level)))))
        .collect();
    let mut outline: Vec<(f64, f64)> = under.iter().map(|p| (p.0, p.1)).collect();
    outline.extend(under.iter().rev().map(|p| (p.0, p.2)));
    c.group(sentence, |c| {
        c.polygon(&outline, "fw-water");
        // Not certain: the level is broken.
        let class = if pool.state == "possible" { "fw-dash" } else { "fw-level" };
        c.line((scale.x(from), scale.y(level)), (scale.x(to), scale.y(level)), class);
    });
}

/// Where no reading saw the pipe: the plot covered, the line that joins both ends broken.
fn unseen(c: &mut Canvas, t: &Teller, shape: &Shape, scale: &Scale, (top, bottom): (f64, f64)) {
    for stretch in &t.answers.unseen {
        let (from, to) = (stretch.from_m.max(shape.start_m()), stretch.to_m.min(shape.end_m()));
        let (Some((first, ..)), Some((last, ..))) = (shape.at(from), shape.at(to)) else { continue };
        let (x0, x1) = (scale.x(from), scale.x(to));
        if !(x0.is_finite() && x1 > x0) {
            continue;
        }
        let title = known::unseen(t, stretch);
        c.group(&title, |c| {
            c.rect(x0, top, x1 - x0, bottom - top, "fw-unseen");
            c.line((x0, scale.y(first)), (x1, scale.y(last)), "fw-dash");
            let text = t.word("not seen");
            let middle = 0.5 * (x0 + x1);
            let half = 0.5 * width(&text, 10.5);
            if middle - half > LEFT && middle + half < RIGHT {
                c.text(middle, bottom - 6.0, Hold::Middle, "fw-halo fw-small", &text);
            }
        });
    }
}

/// Two short strokes where a drop is cut, and how high it is.
///
/// The height is that of the whole drop, as the table of segments has it: the arc of a bend at its foot belongs to it.
pub(super) fn cuts(c: &mut Canvas, v: Voice, (shape, segments): (&Shape, &[SegmentRow]), scale: &Scale, top: f64) {
    let mut labels = Vec::new();
    for (i, cut) in shape.cuts.iter().enumerate() {
        let Some(w) = shape.nodes.get(cut.node..cut.node + 2) else { continue };
        let (x0, y0) = (scale.x(w[0].row.station_m), scale.y(w[0].height_m()));
        let (x1, y1) = (scale.x(w[1].row.station_m), scale.y(w[1].height_m()));
        c.line((x0, y0), (x1, y1), "fw-dash");
        let (x, y) = (0.5 * (x0 + x1), 0.5 * (y0 + y1));
        for dy in [-3.0, 3.0] {
            c.line((x - 9.0, y + dy + 4.0), (x + 9.0, y + dy - 4.0), "fw-level");
        }
        let (from_m, to_m) = (w[0].row.station_m, w[1].row.station_m);
        let whole = segments.iter().filter(|s| s.kind == "drop" && s.from_m < to_m && s.to_m > from_m);
        let drop_m = whole.map(|s| s.fall_m.abs()).reduce(|a, b| a + b).unwrap_or(cut.drop_m);
        let height = if drop_m < 1.0 { Part::Small(drop_m) } else { Part::Length(drop_m) };
        let label = say!(v, "drop of {height} not drawn to height", height = height);
        // In the upper part of the frame the pipe has left the space beside a drop.
        let right = x + 14.0 + width(&label, 11.5) < RIGHT;
        let hold = if right { Hold::Left } else { Hold::Right };
        let row = top + 16.0 + 14.0 * f64::from(u8::try_from(i.min(8)).unwrap_or(0));
        c.text(if right { x + 14.0 } else { x - 14.0 }, row, hold, "fw-halo fw-bold", &label);
        let wide = width(&label, 11.5);
        labels.push((
            row,
            if right { x + 14.0 } else { x - 14.0 - wide },
            if right { x + 14.0 + wide } else { x - 14.0 },
        ));
    }
    if let Some(cut) = shape.cuts.first() {
        let Some(node) = shape.nodes.get(cut.node + 1) else { return };
        let shifted = shape
            .nodes
            .iter()
            .any(|n| n.shift_m != 0.0 && n.row.station_m < node.row.station_m && n.row.station_m > shape.start_m())
            || shape.nodes.last().is_some_and(|n| n.shift_m != 0.0);
        if shifted {
            let text = say!(v, "The height axes are for the longest part between drops.");
            let (middle, half) = (0.5 * (LEFT + RIGHT), 0.5 * width(&text, 11.5));
            // Under the labels where one of them stands in its row.
            let taken = |y: f64| labels.iter().any(|(row, l, r)| *row == y && *l < middle + half && *r > middle - half);
            let lowest = labels.iter().fold(top, |low, label| low.max(label.0));
            let y = if taken(top + 16.0) { lowest + 14.0 } else { top + 16.0 };
            c.text(middle, y, Hold::Middle, "fw-halo", &text);
        }
    }
}

/// Width of what shows one station when one points at it, px.
const SLICE: f64 = 24.0;
/// Of those in one segment at most.
const MOST_SLICES: u8 = 40;

/// What shows when one points at a place: station, height, slope, each with its interval.
fn hover(c: &mut Canvas, t: &Teller, shape: &Shape, scale: &Scale, top: f64, bottom: f64) {
    for s in &t.answers.segments {
        if shape.at(s.from_m).is_none() || shape.at(s.to_m).is_none() {
            continue;
        }
        let slope = say!(t, "Slope: {slope}.", slope = sure::slope_told(t.voice, s));
        let (x0, x1) = (scale.x(s.from_m), scale.x(s.to_m));
        let slices = ((x1 - x0) / SLICE).ceil().clamp(1.0, f64::from(MOST_SLICES));
        let share = |i: f64| i / slices;
        for i in (0..MOST_SLICES).map(f64::from).take_while(|i| *i < slices) {
            let station_m = s.from_m + share(i + 0.5) * (s.to_m - s.from_m);
            let invert = say!(
                t,
                "Invert at {place}: {height}.",
                place = crate::words::at(t.voice, station_m),
                height = height_told(t, station_m)
            );
            let title = [strips::segment(t.voice, s), slope.clone(), invert, t.word("Ranges are 95 % intervals.")];
            let (left, right) = (x0 + share(i) * (x1 - x0), x0 + share(i + 1.0) * (x1 - x0));
            c.group(&title.join(" "), |c| c.rect(left, top, right - left, bottom - top, "fw-point"));
        }
    }
}

/// Segments that begin with a break found in the readings, with what is before them and how likely the break is.
fn found_breaks(answers: &Answers) -> impl Iterator<Item = (&SegmentRow, &SegmentRow, f64)> {
    answers.segments.windows(2).filter_map(|w| Some((&w[0], &w[1], w[1].break_probability?)))
}

/// A mark on the invert at each break that was found, and under it the bar within which it lies.
pub(super) fn breaks(c: &mut Canvas, t: &Teller, shape: &Shape, scale: &Scale) {
    for (before, after, chance) in found_breaks(t.answers) {
        let Some((height, _, _)) = shape.at(after.from_m) else { continue };
        let (x, y) = (scale.x(after.from_m), scale.y(height));
        let title = sure::break_told(t.voice, chance, before, after, &height_told(t, after.from_m));
        let ends = after.break_low_m.zip(after.break_high_m);
        let ends = ends.filter(|(low, high)| low.is_finite() && high.is_finite() && low <= high);
        c.group(&title, |c| {
            if let Some((low, high)) = ends {
                let inside = |s: f64| scale.x(s.clamp(shape.start_m(), shape.end_m()));
                within(c, inside(low), inside(high), y + 11.0);
            }
            diamond(c, (x, y), Chance::of(chance));
        });
    }
}

/// Solid for a break that is sure, open for a likely one, of a broken line for a doubtful one.
fn diamond(c: &mut Canvas, (x, y): (f64, f64), chance: Chance) {
    const R: f64 = 6.5;
    let class = match chance {
        Chance::Sure => "fw-sure",
        Chance::Likely => "fw-likely",
        Chance::Doubtful => "fw-doubtful",
    };
    c.polygon(&[(x - R, y), (x, y - R), (x + R, y), (x, y + R)], class);
}

/// A short bar between two ends, set apart from what is under it.
fn within(c: &mut Canvas, x0: f64, x1: f64, y: f64) {
    c.line((x0 - 1.0, y), (x1 + 1.0, y), "fw-under");
    c.path(
        &[
            (true, x0, y),
            (false, x1, y),
            (true, x0, y - 3.0),
            (false, x0, y + 3.0),
            (true, x1, y - 3.0),
            (false, x1, y + 3.0),
        ],
        "fw-within",
    );
}

/// "285 mm (260 mm to 310 mm)" above the lowest invert.
fn height_told(t: &Teller, station_m: f64) -> String {
    sure::path_at(&t.answers.path, station_m).map_or_else(
        || t.not_determined(),
        |row| format!("{} ({})", t.small(row.height_m), sure::height_ends(t.voice, &row)),
    )
}

/// An end of about `m` metres that was not surveyed; `edge`: on which side of here it lies.
pub(super) fn unsurveyed(
    c: &mut Canvas,
    t: &Teller,
    edge: &str,
    m: f64,
    (x, wide): (f64, f64),
    (top, bottom): (f64, f64),
) {
    c.rect(x, top, wide, bottom - top, "fw-unknown");
    let lines = [t.word("not surveyed"), edge.to_owned(), t.word("about"), t.length(m), t.word("(not to scale)")];
    let mut y = top + 0.5 * (bottom - top) - 26.0;
    for line in lines {
        c.text(x + 0.5 * wide, y, Hold::Middle, "fw-halo fw-small", &line);
        y += 14.0;
    }
}

/// What each pool can hold, under the plot, with a line up to its deepest point.
pub(super) fn pool_labels(c: &mut Canvas, t: &Teller, shape: &Shape, scale: &Scale, bottom: f64) -> f64 {
    let mut ends = [LEFT - 60.0; POOL_ROWS];
    let mut left_out = 0_usize;
    let mut labels = Vec::new();
    for pool in &t.answers.pools {
        let station = pool.deepest_station_m.unwrap_or(0.5 * (pool.from_m + pool.to_m));
        let Some((height, shift, _)) = shape.at(station) else { continue };
        let label = label(t.voice, pool);
        let half = 0.5 * width(&label, 11.5);
        let x = scale.x(station).clamp(20.0 + half, (WIDTH - 20.0 - half).max(20.0 + half));
        let Some((row, end)) = ends.iter_mut().enumerate().find(|(_, end)| **end < x - half - 8.0) else {
            left_out += 1;
            continue;
        };
        *end = x + half;
        let from = pool.level_m.map_or(bottom - 6.0, |l| scale.y(l + shift).min(scale.y(height)));
        labels.push((row, x, half, scale.x(station), from, label));
    }
    let rows = labels.iter().map(|l| l.0 + 1).max().unwrap_or(0);
    // First all the lines, then the texts over them.
    for (row, _, _, x, from, _) in &labels {
        c.line((*x, *from), (*x, bottom + 8.0 + 18.0 * *row as f64), "fw-lead-line");
    }
    for (row, x, half, _, _, label) in &labels {
        let y = bottom + 8.0 + 18.0 * *row as f64;
        c.rect(x - half - 3.0, y, 2.0 * half + 6.0, 16.0, "fw-box");
        c.text(*x, y + 12.0, Hold::Middle, "", label);
    }
    let mut y = bottom + 8.0 + 18.0 * rows as f64;
    if left_out > 0 {
        let text = say!(t, "{n} more bellies: no room here, see the report", n = left_out);
        c.text(LEFT, y + 12.0, Hold::Left, "", &text);
        y += 18.0;
    }
    y
}

/// First whether it is there, then how deep, with its interval, or with an upper limit alone.
fn label(v: Voice, pool: &PoolRow) -> String {
    let is = match (pool.state.as_str(), pool.exists_probability) {
        ("possible", Some(p)) => {
            say!(v, "a belly may be there, {probability}", probability = Part::Probability(p))
        }
        ("possible", None) => say!(v, "a belly may be there"),
        ("intended", _) => say!(v, "a trap"),
        _ => say!(v, "a belly for sure"),
    };
    // What the survey did not see the end of may hold more.
    let more = pool.sill_is_last_point || pool.touches_upstream_end;
    let depth = Part::Small(pool.depth_m);
    let holds = match (pool.depth_low_m, pool.depth_high_m) {
        (Some(low), Some(high)) => {
            let interval = sure::range(v, low, high, Part::Small);
            if more {
                say!(
                    v,
                    "it can hold {depth} deep (95 %: {interval}), or more beyond the survey",
                    depth = depth,
                    interval = interval
                )
            } else {
                say!(v, "it can hold {depth} deep (95 %: {interval})", depth = depth, interval = interval)
            }
        }
        (None, Some(high)) => say!(v, "it can hold at most {depth} deep", depth = Part::Small(high)),
        _ if more => say!(v, "it can hold {depth} deep in the best estimate, or more beyond the survey", depth = depth),
        _ => say!(v, "it can hold {depth} deep in the best estimate", depth = depth),
    };
    format!("{}: {is}; {holds}", pool.number)
}

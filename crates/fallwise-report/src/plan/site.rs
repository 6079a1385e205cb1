//! The picture of a dig: the place from above with the landmarks it is taped out from, and the section across the pipe, each true to
//! scale, black with patterns. Where it is refused there is no section: a depth would be taken for leave to dig.

use fallwise::{
    answers::DigRow,
    locate::PlanError,
    math,
    model::{Flow, Landmark},
    units::Part,
};

use super::{
    draw,
    view::{View, round_length},
    way::{Point, Spread, Way},
};
use crate::{
    profile::{
        Sheet, WIDTH,
        canvas::{Canvas, Hold, columns, width},
    },
    tell::{Teller, say},
    text::{shorten, wrap},
};

/// Room of each half, px.
const HALF: f64 = 0.5 * WIDTH;
const HIGH: f64 = 400.0;
/// Where a half begins under its heading, px.
const TOP: f64 = 30.0;
/// Margin about what is drawn from above, so that labels have room, px.
const BESIDE: (f64, f64) = (60.0, 32.0);
/// So far along the pipe to either side of the place it is shown, m.
const ALONG_M: f64 = 4.0;
/// Size of labels, px, and the height of one.
const SIZE: f64 = 12.0;
const LINE: f64 = 15.0;

const STYLE: &str = "\
.fw-axis{fill:none;stroke:#000;stroke-width:4;stroke-linejoin:round;stroke-linecap:round}\
.fw-tape{fill:none;stroke:#000;stroke-width:1.2;stroke-dasharray:9 3 2 3}\
.fw-ellipse{fill:url(#fw-hatch);stroke:#000;stroke-width:1.3}\
.fw-cross-under{fill:none;stroke:#fff;stroke-width:4}.fw-cross{fill:none;stroke:#000;stroke-width:2}\
.fw-hand{fill:url(#fw-dots);stroke:none}.fw-where{fill:url(#fw-hatch);stroke:#000;stroke-width:.8;stroke-dasharray:3 2}\
.fw-bore{fill:#fff;stroke:#000;stroke-width:2.4}.fw-ground{fill:none;stroke:#000;stroke-width:2.4}\
.fw-north{fill:none;stroke:#000;stroke-width:1.6}.fw-scale-m,.fw-scale-ft{fill:none;stroke:#000;stroke-width:.8}";

/// The picture of a dig; nothing where neither its plan nor a depth can be drawn.
pub(crate) fn site(t: &Teller, dig: &DigRow) -> Option<String> {
    let mut c = Canvas(String::new());
    let plan = from_above(&mut c, t, dig);
    let section = !dig.refused && across(&mut c, t, dig);
    if !plan && !section {
        return None;
    }
    let title = say!(t, "Dig {n} from above, and across the pipe", n = dig.number);
    let description = t.sentence(&dig.sentence);
    let sheet = Sheet { ids: "fw-dig", title: &title, description: &description, style: STYLE, patterns: "" };
    Some(sheet.svg(&c, TOP + HIGH + 10.0))
}

/// Labels that do not lie over each other.
#[derive(Default)]
struct Labels {
    taken: Vec<[f64; 4]>,
}

impl Labels {
    /// Keeps a box free, px: left, top, right, bottom.
    fn keep(&mut self, about: (f64, f64), half: f64) {
        self.taken.push([about.0 - half, about.1 - half, about.0 + half, about.1 + half]);
    }

    /// Puts a text beside a place, where there is room inside the half that ends at `right`.
    fn put(&mut self, c: &mut Canvas, at: (f64, f64), class: &str, text: &str, (left, right): (f64, f64)) {
        let wide = width(text, SIZE);
        let near = [(12.0, 4.0), (-12.0, 4.0), (0.0, -13.0), (0.0, 23.0)];
        let steps = [0.0, -LINE, LINE, -2.0 * LINE, 2.0 * LINE, -3.0 * LINE, 3.0 * LINE, 4.0 * LINE, 5.0 * LINE];
        let spot = |step: f64, (dx, dy): (f64, f64)| {
            let (x, y) = (at.0 + dx, at.1 + dy + step);
            let (hold, from) = match dx {
                dx if dx > 0.0 => (Hold::Left, x),
                dx if dx < 0.0 => (Hold::Right, x - wide),
                _ => (Hold::Middle, x - 0.5 * wide),
            };
            (hold, (x, y), [from, y - 0.8 * LINE, from + wide, y + 0.25 * LINE])
        };
        let all = steps.iter().flat_map(|step| near.iter().map(|n| spot(*step, *n)));
        let inside = |b: &[f64; 4]| b[0] >= left && b[2] <= right && b[1] >= TOP && b[3] <= TOP + HIGH;
        let over = |a: &[f64; 4], b: &[f64; 4]| a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];
        let free = all.clone().find(|(_, _, b)| inside(b) && !self.taken.iter().any(|k| over(b, k)));
        // With no room anywhere it is left out: the table beside has it.
        if let Some((hold, (x, y), taken)) = free {
            c.text(x, y, hold, class, text);
            self.taken.push(taken);
        }
    }
}

/// The place from above; false where it has none.
fn from_above(c: &mut Canvas, t: &Teller, dig: &DigRow) -> bool {
    let (Some(way), Some(place)) = (Way::new(&t.answers.path), dig.east_m.zip(dig.north_m)) else { return false };
    let local = |east_m: f64, north_m: f64| [east_m - way.origin[0], north_m - way.origin[1]];
    let place = local(place.0, place.1);
    let pipe = pipe_about(&way, dig.station_m);
    let spread = dig.east_sd_m.zip(dig.north_sd_m).and_then(|(e, n)| {
        let correlation = dig.east_north_correlation.unwrap_or(0.0);
        PlanError::new(e, n, correlation).ok().and_then(|p| Spread::new(p.east_sd_m(), p.north_sd_m(), p.correlation()))
    });
    let outline = spread.map(|s| s.outline(place)).unwrap_or_default();
    let is_used = |mark: &&Landmark| mark.name == dig.first_landmark || mark.name == dig.second_landmark;
    let marks: Vec<(&Landmark, Point)> =
        t.answers.job.landmarks.iter().filter(is_used).map(|m| (m, local(m.east_m, m.north_m))).collect();
    let near = |p: &Point| super::distance_m(*p, place) < 200.0;
    let mut points: Vec<Point> = pipe.iter().copied().chain([place]).collect();
    points.extend(marks.iter().map(|m| m.1).filter(near));
    // A region that would make a dot of everything else is said, not shown whole.
    points.extend(outline.iter().copied().filter(|p| super::distance_m(*p, place) < 3.0 * ALONG_M));
    let room = (HALF - 30.0 - 2.0 * BESIDE.0, HIGH - 85.0 - 2.0 * BESIDE.1);
    let mut view = View::fit(&points, t.words, room);
    view.centre((0.5 * HALF, TOP + 0.5 * (HIGH - 85.0)));
    let frame = (10.0, HALF - 20.0);
    c.text(10.0, 18.0, Hold::Left, "fw-title", &heading(t, dig));
    c.rect(10.0, TOP, HALF - 30.0, HIGH - 85.0, "fw-frame");
    let inside = |p: (f64, f64)| p.0 > frame.0 && p.0 < frame.1 && p.1 > TOP && p.1 < TOP + HIGH - 85.0;

    if !outline.is_empty() && outline.iter().all(|p| inside(view.px(*p))) {
        let corners: Vec<(f64, f64)> = outline.iter().map(|p| view.px(*p)).collect();
        c.group(&say!(t, "the place is somewhere in here (95 %)"), |c| c.polygon(&corners, "fw-ellipse"));
    }
    let line: Vec<(bool, f64, f64)> =
        pipe.iter().enumerate().map(|(i, p)| (i == 0, view.px(*p).0, view.px(*p).1)).collect();
    c.path(&line, "fw-axis");
    let mut labels = Labels::default();
    for p in &pipe {
        labels.keep(view.px(*p), 5.0);
    }
    let at = view.px(place);
    for from in marks.iter().map(|m| view.px(m.1)).filter(|p| inside(*p)) {
        for k in 1..20 {
            let part = f64::from(k) / 20.0;
            labels.keep((from.0 + part * (at.0 - from.0), from.1 + part * (at.1 - from.1)), 2.0);
        }
    }
    flow(c, t, &pipe, &view, &mut labels, frame);
    labels.keep(at, 13.0);
    for (mark, from) in &marks {
        let from = view.px(*from);
        if !inside(from) {
            continue;
        }
        c.line(from, at, "fw-tape");
        c.rect(from.0 - 5.0, from.1 - 5.0, 10.0, 10.0, "fw-bar");
        labels.keep(from, 8.0);
        let length = if mark.name == dig.first_landmark { dig.from_first_m } else { dig.from_second_m };
        let text = say!(
            t,
            "{name}: {length}",
            name = shorten(&mark.name, 20),
            length = Part::Length(length.unwrap_or(f64::NAN))
        );
        labels.put(c, from, "fw-halo", &text, frame);
    }
    for class in ["fw-cross-under", "fw-cross"] {
        c.line((at.0 - 9.0, at.1 - 9.0), (at.0 + 9.0, at.1 + 9.0), class);
        c.line((at.0 - 9.0, at.1 + 9.0), (at.0 + 9.0, at.1 - 9.0), class);
    }
    let name = if dig.refused { say!(t, "locate here") } else { say!(t, "dig {n}", n = dig.number) };
    labels.put(c, at, "fw-bold fw-halo", &name, frame);

    let low = TOP + HIGH - 85.0;
    draw::north(c, t, &view, (40.0, low + 46.0), 22.0);
    draw::bars(c, t, &view, (95.0, low + 18.0), 150.0);
    let told = match (t.words, outline.is_empty()) {
        (_, false) => say!(t, "Hatched: the place is somewhere in here (95 %). Broken lines: level tapes."),
        (_, true) => say!(t, "Broken lines: level tapes."),
    };
    for (i, line) in wrap(&told, columns(210.0, SIZE)).iter().enumerate() {
        c.text(HALF - 230.0, low + 20.0 + LINE * i as f64, Hold::Left, "", line);
    }
    true
}

fn heading(t: &Teller, dig: &DigRow) -> String {
    if dig.refused { say!(t, "Where to locate: no place to dig") } else { say!(t, "From above, true to scale") }
}

/// The pipe about a station from above: its nodes, and places between so that bends are round.
fn pipe_about(way: &Way, station_m: f64) -> Vec<Point> {
    const STEPS: u32 = 32;
    let from_m = (station_m - ALONG_M).max(way.start_m());
    let to_m = (station_m + ALONG_M).min(way.end_m());
    let between = (0..=STEPS).map(|i| from_m + (to_m - from_m) * f64::from(i) / f64::from(STEPS));
    let inside = way.nodes.iter().map(|n| n.station_m).filter(|s| *s > from_m && *s < to_m);
    let mut stations: Vec<f64> = between.chain(inside).collect();
    stations.sort_by(f64::total_cmp);
    stations.iter().filter_map(|s| way.at(*s)).map(|p| p.at).collect()
}

/// An arrow beside the pipe that says which way it flows.
fn flow(c: &mut Canvas, t: &Teller, pipe: &[Point], view: &View, labels: &mut Labels, frame: (f64, f64)) {
    let third = pipe.len() / 6;
    let (Some(a), Some(b)) = (pipe.get(third), pipe.get(third + 1)) else { return };
    let sign = match t.answers.job.flow {
        Flow::Increasing => 1.0,
        Flow::Decreasing => -1.0,
    };
    let (dx, dy) = view.way([sign * (b[0] - a[0]), sign * (b[1] - a[1])]);
    let length = math::hypot(dx, dy);
    if length == 0.0 {
        return;
    }
    let (dx, dy) = (dx / length, dy / length);
    let middle = view.px(*a);
    let (x, y) = (middle.0 - 13.0 * dy, middle.1 + 13.0 * dx);
    let tip = (x + 16.0 * dx, y + 16.0 * dy);
    c.line((x - 16.0 * dx, y - 16.0 * dy), tip, "fw-north");
    let neck = (tip.0 - 9.0 * dx, tip.1 - 9.0 * dy);
    c.polygon(&[tip, (neck.0 - 4.0 * dy, neck.1 + 4.0 * dx), (neck.0 + 4.0 * dy, neck.1 - 4.0 * dx)], "fw-bar");
    labels.keep((x, y), 14.0);
    labels.put(c, (x, y), "fw-halo", &say!(t, "flow"), frame);
}

/// The section across the pipe, looking along growing station; false where there is no depth.
fn across(c: &mut Canvas, t: &Teller, dig: &DigRow) -> bool {
    let (Some(cover), Some(low), Some(high), Some(expect), Some(hand), Some(half)) =
        (dig.cover_m, dig.cover_low_m, dig.cover_high_m, dig.expect_from_m, dig.by_hand_from_m, dig.across_m)
    else {
        return false;
    };
    let Some(depth) = dig.depth_m.filter(|m| *m > cover) else { return false };
    let crown = dig.crown_m.unwrap_or(cover);
    let deepest = depth + (high - cover).max(0.0);
    let (left, right) = (HALF + 55.0, HALF + 190.0);
    let (top, bottom) = (TOP + 34.0, TOP + HIGH - 60.0);
    let wide_m = 2.0 * (half + 0.5 * (depth - crown)).max(0.3 * deepest) + 0.2;
    let below_m = 0.12 * deepest;
    let px = ((bottom - top) / (deepest + below_m)).min((right - left) / wide_m);
    if !(px.is_finite() && px > 0.0) {
        return false;
    }
    let middle = 0.5 * (left + right);
    let y = |m: f64| top + m.max(-0.1) * px;
    let floor = y(deepest + below_m);
    let edge = (middle - 0.5 * wide_m * px, middle + 0.5 * wide_m * px);
    c.text(HALF + 10.0, 18.0, Hold::Left, "fw-title", &say!(t, "Across the pipe, true to scale"));
    c.group(&say!(t, "dig by hand here"), |c| {
        c.rect(edge.0, y(hand), edge.1 - edge.0, floor - y(hand), "fw-hand");
    });
    c.group(&say!(t, "the pipe is somewhere in here"), |c| {
        let (x, beside) = (middle - half * px, (half * px).max(1.0));
        // To the outside of the wall.
        let own = 0.5 * (depth - crown) * px + (crown - cover).max(0.0) * px;
        c.rect(x - own, y(expect), 2.0 * (beside + own), y(deepest) - y(expect), "fw-where");
    });
    c.line((edge.0 - 14.0, top), (edge.1 + 14.0, top), "fw-ground");
    let radius = 0.5 * (depth - cover) * px;
    c.circle(middle, y(cover) + radius, radius.max(1.0), "fw-bore");
    ruler(c, t, (edge.0 - 14.0, top, floor), px);

    let mut rows: Vec<(f64, &str, String)> = vec![
        (0.0, "", say!(t, "ground")),
        (
            hand,
            "fw-bold",
            if hand > 0.0 {
                say!(t, "by hand from {depth} on (dotted)", depth = Part::Length(t.words.shallower_m(hand)))
            } else {
                say!(t, "by hand from the surface on (dotted)")
            },
        ),
        (expect, "fw-bold", say!(t, "top of pipe from {depth} on", depth = Part::Length(t.words.shallower_m(expect)))),
        (cover, "", say!(t, "top most likely at {depth}", depth = Part::Length(cover))),
    ];
    if high - low > 0.005 {
        rows.push((high, "", say!(t, "top at {depth} at most (95 %)", depth = Part::Length(high))));
    }
    rows.push((depth, "", say!(t, "invert most likely at {depth}", depth = Part::Length(depth))));
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    // Labels from top to bottom, none over the one before it, and none below the picture.
    let count = rows.len() as f64;
    let mut at = f64::NEG_INFINITY;
    for (i, (m, class, text)) in rows.iter().enumerate() {
        let last = bottom + 40.0 - (count - 1.0 - i as f64) * LINE;
        at = (y(*m) + 4.0).max(at + LINE).min(last.max(at + LINE));
        c.path(&[(true, edge.1, y(*m)), (false, edge.1 + 8.0, y(*m)), (false, right + 18.0, at - 4.0)], "fw-lead-line");
        c.text(right + 22.0, at, Hold::Left, class, text);
    }
    let beside = floor + 14.0;
    c.line((middle - half * px, beside), (middle + half * px, beside), "fw-thin");
    for x in [middle - half * px, middle + half * px] {
        c.line((x, beside - 5.0), (x, beside + 5.0), "fw-thin");
    }
    let told = say!(t, "{half} to either side (95 %)", half = Part::Length(half));
    c.text(middle, beside + 18.0, Hold::Middle, "", &told);
    let told = match t.answers.job.flow {
        Flow::Increasing => say!(
            t,
            "Hatched: the pipe is somewhere in here (95 %). Looking downstream: left is left on site. No depth is safe by itself."
        ),
        Flow::Decreasing => say!(
            t,
            "Hatched: the pipe is somewhere in here (95 %). Looking upstream: left is left on site. No depth is safe by itself."
        ),
    };
    for (i, line) in wrap(&told, columns(HALF - 30.0, SIZE)).iter().enumerate() {
        c.text(HALF + 10.0, TOP + HIGH - LINE + LINE * i as f64, Hold::Left, "fw-small", line);
    }
    true
}

/// Depths on the left, from the ground on.
fn ruler(c: &mut Canvas, t: &Teller, (x, top, floor): (f64, f64, f64), px: f64) {
    let (_, step_m) = round_length(t.words, px, 60.0);
    c.line((x, top), (x, floor), "fw-thin");
    for i in 0..200 {
        let at = top + f64::from(i) * step_m * px;
        if !(at <= floor && step_m > 0.0) {
            break;
        }
        c.line((x - 5.0, at), (x, at), "fw-thin");
        c.text(x - 8.0, at + 4.0, Hold::Right, "fw-small", &t.length(f64::from(i) * step_m));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_keep_off_each_other() {
        let (mut c, mut labels) = (Canvas(String::new()), Labels::default());
        for _ in 0..4 {
            labels.put(&mut c, (200.0, 200.0), "", "the same place", (0.0, 500.0));
        }
        for (i, a) in labels.taken.iter().enumerate() {
            for b in labels.taken.iter().skip(i + 1) {
                assert!(a[2] <= b[0] || b[2] <= a[0] || a[3] <= b[1] || b[3] <= a[1], "{a:?} {b:?}");
            }
        }
        assert_eq!(labels.taken.len(), 4);
    }
}

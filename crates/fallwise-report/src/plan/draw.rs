//! What is drawn from above: the region, the pipe, bellies, stations, the flow, what was noted, each off the other.

use fallwise::{
    adjust::Z_95,
    units::{Part, Words},
};

use super::{
    outline::{Area, Px, clip, hull},
    space::{Found, PIPE, Space},
    view::{View, round_length},
    way::{Node, Placed, Point, Spread, Way},
};
use crate::{
    profile::canvas::{Canvas, Hold, width},
    tell::{Teller, say},
};

/// Size of the letters of labels, px, and the height of one.
const SIZE: f64 = 11.5;
const HIGH: f64 = 14.0;
/// Radius of the ring about a number, px.
const RING: f64 = 8.5;
/// How far a label may stand off what it names, px: with its words, and with its number alone.
const NEAR: f64 = 70.0;
const FAR: f64 = 160.0;
/// The strip beside the pipe that shows a belly, px from its axis.
const BELLY: (f64, f64) = (5.0, 12.0);
/// Half the length of the arrow of the flow, and how far off the pipe it is, px.
const ARROW: (f64, f64) = (26.0, 15.0);
/// Nodes of the region and those that show their place when one points at them are so far apart, px.
const APART: f64 = 9.0;
/// Least distance of two stations that are marked, px.
const TICKS: f64 = 62.0;

/// Stations that are marked at most.
const MOST_STATIONS: u32 = 200;

/// How something on the way is drawn.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Symbol {
    /// A filled dot.
    Bend,
    /// An open ring.
    Ring,
    /// An open square.
    Square,
    /// Two triangles that meet.
    Valve,
    /// A thick stroke across the pipe.
    Wall,
    /// A long broken stroke across the pipe.
    Boundary,
    /// A long thick stroke across the pipe.
    Main,
    /// A short thin stroke across the pipe.
    Joint,
    /// Nothing but its number.
    Bare,
}

/// Something on the way.
#[derive(Clone)]
pub(super) struct Spot {
    pub(super) station_m: f64,
    /// Its number or letter; empty: its words alone.
    pub(super) sign: String,
    pub(super) text: String,
    pub(super) title: String,
    pub(super) symbol: Symbol,
}

/// Something that has a place of its own, measured from the surface.
pub(super) struct Measured {
    pub(super) at: Point,
    pub(super) spread: Option<Spread>,
    pub(super) station_m: Option<f64>,
    pub(super) text: String,
    pub(super) title: String,
    pub(super) suspect: bool,
}

/// A coordinate with its interval, in the reader's units.
fn coordinate(t: &Teller, m: f64, sd_m: Option<f64>) -> Part {
    let Some(sd_m) = sd_m else { return Part::Elevation(m) };
    let end = |m: f64| t.voice.elevation(m);
    let interval = t.voice.range(&end(m - Z_95 * sd_m), &end(m + Z_95 * sd_m));
    Part::Text(say!(t, "{value} (95 %: {interval})", value = Part::Elevation(m), interval = interval))
}

/// A drawing from above, with what of it is taken.
pub(super) struct Drawing<'a> {
    pub(super) t: &'a Teller<'a>,
    pub(super) way: &'a Way,
    pub(super) view: &'a View,
    pub(super) space: Space,
}

impl<'a> Drawing<'a> {
    pub(super) fn new(t: &'a Teller<'a>, way: &'a Way, view: &'a View, frame: Area) -> Self {
        let mut space = Space::new(frame);
        // Pieces of a few px are enough to keep labels off the line.
        for w in way.thinned(4.0 / view.px_per_m).windows(2).filter(|w| !w[1].begins) {
            space.line(view.px(w[0].at), view.px(w[1].at), PIPE);
        }
        Self { t, way, view, space }
    }

    /// Where the pipe is somewhere in: the 95 % ellipses of its nodes, each joined with the next, cut at the frame.
    pub(super) fn region(&self, c: &mut Canvas) {
        let frame = self.space.frame;
        let ellipse = |n: &Node| -> Option<Vec<Px>> {
            Some(n.spread?.outline(n.at).into_iter().map(|p| self.view.px(p)).collect())
        };
        let mut pieces = Vec::new();
        for w in self.way.thinned(APART / self.view.px_per_m).windows(2).filter(|w| !w[1].begins) {
            let Some((mut a, b)) = ellipse(w[0]).zip(ellipse(w[1])) else { continue };
            a.extend(b);
            let outline = clip(hull(a), &frame);
            let first = outline.first().copied();
            let closed = outline.into_iter().chain(first).enumerate();
            pieces.extend(closed.map(|(i, (x, y))| (i == 0, x, y)));
        }
        if pieces.is_empty() {
            return;
        }
        c.group(&say!(self.t, "95 % region of the pipe: the pipe is somewhere in here"), |c| {
            // The line about all of them is what the white inside leaves of the lines about each.
            c.path(&pieces, "fw-where-edge");
            c.path(&pieces, "fw-where-inside");
            c.path(&pieces, "fw-where");
        });
    }

    /// The pipe's axis.
    pub(super) fn pipe(&self, c: &mut Canvas) {
        let points: Vec<(bool, f64, f64)> = self
            .way
            .nodes
            .iter()
            .map(|n| {
                let (x, y) = self.view.px(n.at);
                (n.begins, x, y)
            })
            .collect();
        c.path(&points, "fw-axis");
    }

    /// What shows when one points at the pipe.
    pub(super) fn hover(&self, c: &mut Canvas) {
        for node in self.way.thinned(APART / self.view.px_per_m) {
            let (x, y) = self.view.px(node.at);
            let title = self.told(node.station_m, node.at, node.spread);
            c.group(&title, |c| c.circle(x, y, 0.6 * APART, "fw-point"));
        }
    }

    /// Station, east and north with their intervals.
    fn told(&self, station_m: f64, at: Point, spread: Option<Spread>) -> String {
        let (t, origin) = (self.t, self.way.origin);
        say!(
            t,
            "{at}: east {east}, north {north}",
            at = Part::Capital(Box::new(Part::At(station_m))),
            east = coordinate(t, origin[0] + at[0], spread.map(|s| s.0.east_sd_m())),
            north = coordinate(t, origin[1] + at[1], spread.map(|s| s.0.north_sd_m())),
        )
    }

    /// A belly as a strip of waves on the right of the pipe; whether any of it is on the drawing.
    pub(super) fn belly(&mut self, c: &mut Canvas, from_m: f64, to_m: f64, sure: bool, title: &str) -> bool {
        let places = self.way.stretch(from_m, to_m);
        if places.len() < 2 {
            return false;
        }
        let beside = |off: f64| places.iter().map(move |p| (p, off)).map(|(p, off)| self.beside(p, off));
        let mut outline: Vec<Px> = beside(BELLY.0).collect();
        outline.extend(beside(BELLY.1).rev());
        let middle: Vec<Px> = beside(0.5 * (BELLY.0 + BELLY.1)).collect();
        for w in middle.windows(2) {
            self.space.line(w[0], w[1], 0.5 * (BELLY.1 - BELLY.0) + 1.0);
        }
        c.group(title, |c| c.polygon(&outline, if sure { "fw-wet" } else { "fw-wet fw-open" }));
        true
    }

    /// So many px to the right of a place on the pipe, looking along growing station.
    fn beside(&self, place: &Placed, off: f64) -> Px {
        let ((x, y), (dx, dy)) = (self.view.px(place.at), self.view.way(place.along));
        (x - off * dy, y + off * dx)
    }

    /// Strokes across the pipe at round stations.
    pub(super) fn stations_marked(&self, c: &mut Canvas) -> Stations {
        let words = self.t.words;
        let per_m = self.view.px_per_m;
        // The shortest round length that is long enough is no longer than 2.5 times the longest that is too short.
        let steps = [1.0, 1.25, 2.0, 2.5].map(|times| round_length(words, per_m, times * TICKS));
        let step = steps.into_iter().find(|s| s.1 * per_m >= TICKS);
        let Some((step, step_m)) = step else { return Stations { step: 0.0, places: Vec::new() } };
        let first = (self.way.start_m() / step_m - 1e-6).ceil();
        let mut places = Vec::new();
        for i in 0..MOST_STATIONS {
            let count = first + f64::from(i);
            if count * step_m > self.way.end_m() {
                break;
            }
            let Some(place) = self.way.at(count * step_m) else { continue };
            // The ends say their own.
            let at_end = |end_m: f64| (place.station_m - end_m).abs() < 0.02 * step_m;
            if at_end(self.way.start_m()) || at_end(self.way.end_m()) {
                continue;
            }
            c.line(self.beside(&place, -5.0), self.beside(&place, 5.0), "fw-thin");
            places.push((place, count * step));
        }
        Stations { step, places }
    }

    /// Their lengths, where there is room close by: a line that leads to one would say more than it is worth.
    pub(super) fn stations_named(&mut self, c: &mut Canvas, stations: &Stations) {
        for (place, value) in &stations.places {
            let text = stations.length(self.t, *value);
            let (at, toward) = (self.view.px(place.at), self.left_of(place));
            if let Some(found) = self.space.place(at, toward, (width(&text, 10.5), 12.0), 13.0) {
                c.text(found.area.left, found.area.bottom - 2.5, Hold::Left, "fw-small fw-halo", &text);
            }
        }
    }

    /// Away from the pipe on its left, where no belly is.
    fn left_of(&self, place: &Placed) -> Px {
        let (dx, dy) = self.view.way(place.along);
        (dy, -dx)
    }

    /// What is drawn on the pipe.
    pub(super) fn symbols(&mut self, c: &mut Canvas, spots: &[Spot]) {
        for spot in spots {
            if let Some(place) = self.way.at(spot.station_m) {
                self.symbol(c, &place, spot.symbol);
            }
        }
    }

    /// Lines that lead to labels, then the labels. Gives back the signs that found no room.
    pub(super) fn labels(&mut self, c: &mut Canvas, spots: &[Spot]) -> Vec<String> {
        let placed: Vec<(&Spot, Placed)> = spots.iter().filter_map(|s| Some((s, self.way.at(s.station_m)?))).collect();
        let (mut found, mut missed) = (Vec::new(), Vec::new());
        for (spot, place) in placed {
            let (at, toward) = (self.view.px(place.at), self.left_of(&place));
            let stop = if spot.title.ends_with('.') { "" } else { "." };
            let title = format!("{}{stop} {}", spot.title, self.told(place.station_m, place.at, place.spread));
            match self.label(at, toward, &spot.sign, &spot.text) {
                Some((label, with_text)) => found.push((spot, title, label, with_text)),
                None => missed.push(spot.sign.clone()),
            }
        }
        for leader in found.iter().filter_map(|f| f.2.leader) {
            c.line(leader.0, leader.1, "fw-lead-line");
        }
        for (spot, title, label, with_text) in found {
            c.group(&title, |c| write(c, &label.area, &spot.sign, if with_text { &spot.text } else { "" }, "fw-halo"));
        }
        missed
    }

    /// Room for a sign with its words, or else for the sign alone.
    fn label(&mut self, at: Px, toward: Px, sign: &str, text: &str) -> Option<(Found, bool)> {
        if !text.is_empty()
            && let Some(found) =
                self.space.place(at, toward, size(sign, text), if sign.is_empty() { FAR } else { NEAR })
        {
            return Some((found, true));
        }
        if sign.is_empty() {
            return None;
        }
        Some((self.space.place(at, toward, size(sign, ""), FAR)?, false))
    }

    fn symbol(&mut self, c: &mut Canvas, place: &Placed, symbol: Symbol) {
        let (x, y) = self.view.px(place.at);
        let (dx, dy) = self.view.way(place.along);
        let mut across = |c: &mut Canvas, half: f64, class: &str| {
            let (a, b) = ((x - half * dy, y + half * dx), (x + half * dy, y - half * dx));
            c.line(a, b, class);
            self.space.line(a, b, 2.0);
        };
        match symbol {
            Symbol::Bare => return,
            Symbol::Joint => return across(c, 5.0, "fw-level"),
            Symbol::Wall => return across(c, 13.0, "fw-wall"),
            Symbol::Main => return across(c, 17.0, "fw-wall"),
            Symbol::Boundary => return across(c, 20.0, "fw-dash"),
            Symbol::Bend => c.circle(x, y, 4.2, "fw-tie"),
            Symbol::Ring => c.circle(x, y, 4.2, "fw-tie-open"),
            Symbol::Square => c.rect(x - 4.0, y - 4.0, 8.0, 8.0, "fw-as-built"),
            Symbol::Valve => {
                let corner = |along: f64, off: f64| (x + along * dx - off * dy, y + along * dy + off * dx);
                let corners = [corner(-6.0, -5.0), corner(6.0, 5.0), corner(6.0, -5.0), corner(-6.0, 5.0)];
                c.polygon(&corners, "fw-as-built");
            }
        }
        self.space.symbol(Area::about((x, y), 5.0));
    }

    /// A place measured from the surface, with its ellipse and a line to where the pipe has that station. Gives back whether it lies
    /// in the picture.
    pub(super) fn measured(&mut self, c: &mut Canvas, tie: &Measured) -> bool {
        let at = self.view.px(tie.at);
        if !self.space.frame.grown(-RING).holds(at) {
            return false;
        }
        let on_pipe = tie.station_m.and_then(|s| self.way.at(s)).map(|p| self.view.px(p.at));
        let ellipse: Vec<Px> = tie.spread.map_or_else(Vec::new, |s| {
            clip(s.outline(tie.at).into_iter().map(|p| self.view.px(p)).collect(), &self.space.frame)
        });
        c.group(&tie.title, |c| {
            if ellipse.len() > 2 {
                c.polygon(&ellipse, "fw-ellipse-under");
                c.polygon(&ellipse, "fw-ellipse");
            }
            if let Some(end) = on_pipe {
                c.line(at, end, "fw-dash");
            }
            c.circle(at.0, at.1, 3.8, "fw-tie");
            if tie.suspect {
                c.circle(at.0, at.1, 11.0, "fw-suspect-under");
                c.circle(at.0, at.1, 11.0, "fw-suspect");
            }
        });
        self.space.symbol(Area::about(at, if tie.suspect { 12.0 } else { 4.5 }));
        true
    }

    /// The label of such a place.
    pub(super) fn name_measured(&mut self, c: &mut Canvas, tie: &Measured) {
        let at = self.view.px(tie.at);
        if let Some(found) = self.space.place(at, (1.0, 0.0), size("", &tie.text), FAR) {
            if let Some((from, to)) = found.leader {
                c.line(from, to, "fw-lead-line");
            }
            write(c, &found.area, "", &tie.text, "fw-bold fw-halo");
        }
    }

    /// Which way the water flows: an arrow on the left of the pipe where there is room, nearest the middle.
    pub(super) fn flow(&mut self, c: &mut Canvas) {
        let (from_m, to_m) = (self.way.start_m(), self.way.end_m());
        let sign = self.t.answers.job.flow.sign();
        let word = say!(self.t, "flow");
        for (share, side) in [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9].iter().flat_map(|s| [(*s, -1.0), (*s, 1.0)])
        {
            let Some(place) = self.way.at(from_m + share * (to_m - from_m)) else { continue };
            let (x, y) = self.beside(&place, side * ARROW.1);
            let (dx, dy) = self.view.way([sign * place.along[0], sign * place.along[1]]);
            let (from, to) = ((x - ARROW.0 * dx, y - ARROW.0 * dy), (x + ARROW.0 * dx, y + ARROW.0 * dy));
            // The arrow is a row of small areas, as it may lie askew.
            let areas = (0..=8)
                .map(|i| 0.125 * f64::from(i))
                .map(|k| Area::about((from.0 + k * (to.0 - from.0), from.1 + k * (to.1 - from.1)), 4.0));
            if !areas.clone().all(|a| self.space.is_free(&a)) {
                continue;
            }
            arrow(c, from, to);
            areas.for_each(|a| self.space.symbol(a));
            let (left, up) = self.left_of(&place);
            let toward = if side < 0.0 { (left, up) } else { (-left, -up) };
            if let Some(found) = self.space.place((x, y), toward, size("", &word), 34.0) {
                write(c, &found.area, "", &word, "fw-bold fw-halo");
            }
            return;
        }
    }
}

/// Round stations on the drawing.
pub(super) struct Stations {
    /// In the reader's unit.
    step: f64,
    places: Vec<(Placed, f64)>,
}

impl Stations {
    fn length(&self, t: &Teller, value: f64) -> String {
        let unit = match t.words {
            Words::Uk => "m",
            Words::Us => "ft",
        };
        format!("{} {unit}", t.voice.number(value, usize::from(self.step < 1.0)))
    }

    /// How far apart they are.
    pub(super) fn told(&self, t: &Teller) -> String {
        if self.places.is_empty() {
            return String::new();
        }
        say!(t, "A thin stroke across the pipe every {step} along it.", step = self.length(t, self.step))
    }
}

/// Width and height of a label.
fn size(sign: &str, text: &str) -> (f64, f64) {
    let wide = match (sign.is_empty(), text.is_empty()) {
        (true, _) => width(text, SIZE),
        (false, true) => 2.0 * RING,
        (false, false) => 2.0 * RING + 3.0 + width(text, SIZE),
    };
    (wide, if sign.is_empty() { HIGH } else { 2.0 * RING })
}

/// A label: a sign in a ring, and words after it.
fn write(c: &mut Canvas, area: &Area, sign: &str, text: &str, class: &str) {
    let middle = 0.5 * (area.top + area.bottom);
    let mut left = area.left;
    if !sign.is_empty() {
        c.circle(left + RING, middle, RING, "fw-box");
        c.text(left + RING, middle + 4.0, Hold::Middle, "fw-small", sign);
        left += 2.0 * RING + 3.0;
    }
    if !text.is_empty() {
        c.text(left, middle + 4.0, Hold::Left, class, text);
    }
}

/// A line with a head at its end.
pub(super) fn arrow(c: &mut Canvas, from: Px, to: Px) {
    let (x, y) = (to.0 - from.0, to.1 - from.1);
    let length = fallwise::math::hypot(x, y).max(1e-6);
    let (dx, dy) = (x / length, y / length);
    let neck = (to.0 - 11.0 * dx, to.1 - 11.0 * dy);
    c.line(from, neck, "fw-level");
    c.polygon(&[to, (neck.0 - 4.5 * dy, neck.1 + 4.5 * dx), (neck.0 + 4.5 * dy, neck.1 - 4.5 * dx)], "fw-bar");
}

/// An arrow to grid north about a place, with its letter.
pub(super) fn north(c: &mut Canvas, t: &Teller, view: &View, at: Px, half: f64) {
    let (dx, dy) = view.way([0.0, 1.0]);
    let (tail, tip) = ((at.0 - half * dx, at.1 - half * dy), (at.0 + half * dx, at.1 + half * dy));
    c.group(&say!(t, "Grid north"), |c| {
        c.line(tail, tip, "fw-north");
        let neck = (tip.0 - 14.0 * dx, tip.1 - 14.0 * dy);
        c.polygon(&[tip, (neck.0 - 6.0 * dy, neck.1 + 6.0 * dx), neck], "fw-bar");
        c.polygon(&[tip, (neck.0 + 6.0 * dy, neck.1 - 6.0 * dx), neck], "fw-wedge");
        let letter = say!(t, "N");
        c.text(tip.0 + 9.0 * dx, tip.1 + 9.0 * dy + 4.0, Hold::Middle, "fw-bold", &letter);
    });
}

/// Bars to measure by, in metres and in feet, from a place on.
pub(super) fn bars(c: &mut Canvas, t: &Teller, view: &View, (left, top): Px, most: f64) {
    let both = [(Words::Uk, "m", "fw-scale-m"), (Words::Us, "ft", "fw-scale-ft")];
    for (i, (words, unit, class)) in both.into_iter().enumerate() {
        let (length, length_m) = round_length(words, view.px_per_m, most);
        let (wide, y) = (length_m * view.px_per_m, top + 24.0 * i as f64);
        let places = if length < 0.1 { 2 } else { usize::from(length < 1.0) };
        let said = format!("{} {unit}", t.voice.number(length, places));
        c.group(&said, |c| {
            c.rect(left, y, 0.5 * wide, 6.0, "fw-bar");
            c.rect(left, y, wide, 6.0, class);
        });
        c.text(left - 5.0, y + 7.0, Hold::Right, "fw-small", "0");
        c.text(left + wide + 5.0, y + 7.0, Hold::Left, "fw-small", &said);
    }
}

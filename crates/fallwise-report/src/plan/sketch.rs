//! The inspector's sketch: a third of a page with the distances that a tape along the pipe would show, over the plan where it is
//! determined, else over the pipe drawn straight.

use fallwise::{
    adjust::Z_95,
    answers::ReachRow,
    model::{Bend, FeatureKind},
    units::{Part, Voice, Words},
};

use super::{
    STYLE, Sheet, WIDTH, cautions,
    draw::{self, Drawing, Spot, Symbol, arrow},
    is_cut, noted,
    outline::Area,
    to_show,
    view::View,
    way::Way,
};
use crate::{
    known,
    profile::canvas::{Canvas, Hold, columns, width},
    tell::{Teller, say},
    text::{shorten, wrap},
};

/// A third of a page at the width of the picture, px: 1000 px are 180 mm, and Letter is 279 mm high, A4 more.
const MOST_HIGH: f64 = 516.0;
/// The plan, left of the table, px: its width, its height, and that of north and the bars below it.
const PLAN: (f64, f64, f64) = (350.0, 156.0, 50.0);
/// Height of the dimension line with what stands about it, px.
const LINE_HIGH: f64 = 114.0;
/// Ends of the dimension line, px.
const LINE: (f64, f64) = (50.0, 950.0);
/// Height of a row of the table, px.
const ROW: f64 = 13.0;
/// Least distance of two letters, px.
const LETTERS: f64 = 19.0;
/// Size of the letters, px, and how much wider they are where they are bold.
const SMALL: f64 = 10.5;
const BOLD: f64 = 1.1;
/// What is so near an end is at it, m: as well as a place is known.
const AT_END_M: f64 = 0.05;
/// As many letters as there are.
const ALPHABET: usize = 26;

/// A place that is taped.
struct Point {
    station_m: f64,
    what: String,
    /// Angle and side of a bend, and whether it turns left.
    bend: Option<(String, bool)>,
    /// Those that stand before it have no room, so that its neighbour is not the one shown.
    alone: bool,
    symbol: Symbol,
}

/// Ends, bends, connections, cleanouts, walls, boundaries, changes of pipe and bellies in order of station.
fn points(t: &Teller) -> Vec<Point> {
    let answers = t.answers;
    let job = &answers.job;
    let point =
        |station_m: f64, what: String, symbol: Symbol| Point { station_m, what, bend: None, alone: false, symbol };
    let mut points = Vec::new();
    for b in job.bends.iter().filter(|b| noted::is_bend(b)) {
        let angle = if turns_in_slope(t, b) { noted::angle(t, b) } else { noted::bend(t, b) };
        let what = say!(t, "bend {angle}", angle = &angle);
        let bend = (!turns_in_slope(t, b)).then_some((angle, b.deflection_rad < 0.0));
        points.push(Point { bend, ..point(b.station_m, what, Symbol::Bend) });
    }
    for f in &job.features {
        let symbol = match f.kind {
            FeatureKind::Connection => Symbol::Ring,
            FeatureKind::Cleanout => Symbol::Square,
            FeatureKind::Wall | FeatureKind::Boundary => Symbol::Bare,
            _ => continue,
        };
        let name = crate::words::feature(t.voice, f.kind);
        let what = if f.text.is_empty() { name } else { say!(t, "{what}: {text}", what = name, text = &f.text) };
        points.push(point(f.station_m, what, symbol));
    }
    for (before, r) in answers.reaches.iter().zip(answers.reaches.iter().skip(1)) {
        let what = if r.pipe == before.pipe && r.bore_m == before.bore_m {
            say!(t, "reach: {name} begins", name = t.sentence(&r.name))
        } else {
            match pipe_at(t, r) {
                Some(pipe) => say!(t, "now {pipe}", pipe = pipe),
                None => say!(t, "change of pipe"),
            }
        };
        points.push(point(r.from_m, what, Symbol::Joint));
    }
    for gap in &answers.unseen {
        points.push(point(gap.from_m, say!(t, "no reading from here"), Symbol::Bare));
        points.push(point(gap.to_m, say!(t, "readings again"), Symbol::Bare));
    }
    for row in answers.ties.iter().filter(|row| row.number > 0) {
        if let (Some(at_m), None) = (row.station_m, row.to_m) {
            let what = say!(t, "tie {n}: {name}", n = known::number(row), name = known::name(t, row).0);
            points.push(point(at_m, what, Symbol::Bare));
        }
    }
    for p in &answers.pools {
        let (begins, ends) = match p.state.as_str() {
            "possible" => (say!(t, "belly {n}? begins", n = p.number), say!(t, "belly {n}? ends", n = p.number)),
            _ => (say!(t, "belly {n} begins", n = p.number), say!(t, "belly {n} ends", n = p.number)),
        };
        // The survey may end in a belly, which goes on.
        let goes_on = |station_m: f64| {
            (p.sill_is_last_point || p.touches_upstream_end)
                && ((station_m - answers.from_m).abs() < AT_END_M || (station_m - answers.to_m).abs() < AT_END_M)
        };
        let end = |station_m: f64, what: String| {
            let what = if goes_on(station_m) { say!(t, "survey ends in belly {n}", n = p.number) } else { what };
            point(station_m, what, Symbol::Bare)
        };
        points.extend([end(p.from_m, begins), end(p.to_m, ends)]);
    }
    let inside = |p: &Point| p.station_m >= answers.from_m - 1e-6 && p.station_m <= answers.to_m + 1e-6;
    points.retain(inside);
    points.sort_by(|a, b| a.station_m.total_cmp(&b.station_m));
    let mut end = |first: bool, station_m: f64| {
        let mut what = noted::end_name(t, first);
        // What is at an end is told with it.
        points.retain(|p: &Point| {
            let here = matches!(p.symbol, Symbol::Ring | Symbol::Square) && (p.station_m - station_m).abs() < AT_END_M;
            if here {
                what = say!(t, "{end}, {what}", end = &what, what = &p.what);
            }
            !here
        });
        point(station_m, what, Symbol::Bare)
    };
    let (first, last) = (end(true, answers.from_m), end(false, answers.to_m));
    points.insert(0, first);
    points.push(last);
    points
}

/// Whether a bend is all in the slope, from steep to flat, so that it turns to neither side.
fn turns_in_slope(t: &Teller, bend: &Bend) -> bool {
    // A head reads a tilt no better than this.
    const NEAR_RAD: f64 = 0.03;
    let path = &t.answers.segments;
    let before = path.iter().rev().find(|s| s.to_m <= bend.station_m + AT_END_M);
    let after = path.iter().find(|s| s.from_m >= bend.station_m - AT_END_M);
    before.zip(after).is_some_and(|(b, a)| (b.tilt_rad - a.tilt_rad).abs() > bend.deflection_rad.abs() - NEAR_RAD)
}

/// What the pipe of a reach is, by its name or else by material and size.
fn pipe_at(t: &Teller, row: &ReachRow) -> Option<String> {
    if !row.pipe.is_empty() {
        return Some(row.pipe.clone());
    }
    let middle_m = 0.5 * (row.from_m + row.to_m);
    let pipe = &t.answers.job.reaches.iter().find(|r| r.from_m <= middle_m && middle_m <= r.to_m)?.pipe;
    let known = [pipe.material.clone(), pipe.nominal.map(|size| size.to_string())];
    let known: Vec<String> = known.into_iter().flatten().collect();
    (!known.is_empty()).then(|| known.join(", "))
}

/// Lengths as the counter shows them and as a tape would.
struct Tape<'a> {
    voice: Voice<'a>,
    other: Voice<'a>,
    from_m: f64,
    /// True length of a metre of the counter; absent where that is not determined.
    scale: Option<f64>,
}

impl<'a> Tape<'a> {
    fn new(t: &Teller<'a>) -> Self {
        let answers = t.answers;
        let words = match t.words {
            Words::Uk => Words::Us,
            Words::Us => Words::Uk,
        };
        let scale = answers.total.length_m / (answers.to_m - answers.from_m);
        let scale = Some(scale).filter(|s| s.is_finite() && *s > 0.0);
        Self { voice: t.voice, other: Voice { words, ..t.voice }, from_m: answers.from_m, scale }
    }

    /// In both systems of units, the reader's first.
    fn both(&self, m: f64) -> String {
        format!("{} ({})", self.voice.length(m), self.other.length(m))
    }

    fn true_m(&self, from_m: f64, to_m: f64) -> f64 {
        self.scale.map_or(f64::NAN, |scale| scale * (to_m - from_m))
    }
}

/// The sketch: at most a third of a page. `whole`: it stands by itself, so that the cautions are said here.
pub(crate) fn sketch(t: &Teller, whole: bool) -> String {
    let answers = t.answers;
    let way = Way::new(&answers.path);
    let title = match t.words {
        Words::Uk => say!(t, "Sketch of the drain, with distances along it"),
        Words::Us => say!(t, "Sketch of the lateral, with distances along it"),
    };
    let mut c = Canvas(String::new());
    c.text(20.0, 20.0, Hold::Left, "fw-lead fw-bold", &title);
    if answers.job.survey.invented {
        c.text(WIDTH - 20.0, 20.0, Hold::Right, "fw-bold", &say!(t, "Invented example"));
    }
    let mut y = 36.0;
    let length_m = answers.to_m - answers.from_m;
    if !(length_m > 0.0 && length_m < 1e6 && answers.from_m.abs() < 1e6) {
        c.text(20.0, y, Hold::Left, "", &say!(t, "Nothing was surveyed, so that there is nothing to draw."));
        return sheet(t, &c, &title, y + 20.0);
    }
    let tape = Tape::new(t);
    let below = if whole { small_lines(&cautions(t)) } else { Vec::new() };
    let view = way.as_ref().map(|way| View::fit(&to_show(way, &[]), t.words, (PLAN.0 - 80.0, PLAN.1 - 60.0)));
    let mut plan_of = way.as_ref().zip(view);
    let is_plan = plan_of.is_some();
    let told = small_lines(&told(t, &tape, plan_of.as_ref().map(|(way, view)| is_cut(way, view, (PLAN.0, PLAN.1)))));
    // What is left for the table, with its heading and one row for what has no room.
    let left = MOST_HIGH - y - LINE_HIGH - 13.0 * (below.len() + told.len()) as f64 - 20.0;
    let mut points = points(t);
    let left_out = shorten_to(&mut points, left / ROW - 2.5);
    let letters: Vec<String> = ('A'..='Z').take(points.len()).map(|c| c.to_string()).collect();
    let lines = |c: &mut Canvas, y: f64| {
        for (i, line) in told.iter().enumerate() {
            c.text(20.0, y + 10.0 + 13.0 * i as f64, Hold::Left, "fw-small", line);
        }
        y + 13.0 * told.len() as f64
    };
    let mut plan_end = y;
    let columns = if let Some((way, view)) = &mut plan_of {
        y = lines(&mut c, y - 8.0) + 6.0;
        plan_end = plan(&mut c, t, way, view, &points, &letters, y);
        [382.0, 400.0, 578.0, 720.0, 862.0]
    } else {
        y = lines(&mut c, y - 8.0) + 6.0;
        y = line(&mut c, t, &tape, &points, &letters, true, y);
        [20.0, 40.0, 400.0, 590.0, 780.0]
    };
    let mut end = table(&mut c, &tape, t, columns, &points, &letters, y);
    if left_out > 0 {
        c.text(columns[0], end + 9.0, Hold::Left, "fw-small", &say!(t, "and {n} more in the report", n = left_out));
        end += ROW;
    }
    y = if is_plan { line(&mut c, t, &tape, &points, &letters, false, end.max(plan_end)) } else { end };
    y += 4.0;
    c.line((20.0, y), (WIDTH - 20.0, y), "fw-thin");
    for text in &below {
        y += 13.0;
        c.text(20.0, y, Hold::Left, "fw-small", text);
    }
    sheet(t, &c, &title, y + 8.0)
}

fn sheet(t: &Teller, c: &Canvas, title: &str, height: f64) -> String {
    let description = t.sentence(&t.answers.sentence);
    Sheet { ids: "fw-sketch", title, description: &description, style: STYLE, patterns: "" }.svg(c, height)
}

fn small_lines(text: &str) -> Vec<String> {
    wrap(text, columns(WIDTH - 40.0, SMALL))
}

/// How it is drawn, and what its distances are.
fn told(t: &Teller, tape: &Tape, plan_is_cut: Option<bool>) -> String {
    let answers = t.answers;
    let mut told = vec![match plan_is_cut {
        Some(false) => say!(
            t,
            "Above true to scale, with the region in which the pipe is (95 %) hatched; below it is drawn straight."
        ),
        Some(true) => say!(
            t,
            "Above true to scale, with the region in which the pipe is (95 %) hatched as far as the frame holds it: do not tape from this plan. Below it is drawn straight."
        ),
        None => say!(t, "Drawn straight: directions were not measured, so that there is no north; bends as noted."),
    }];
    told.push(say!(
        t,
        "Left and right are as seen from A along the pipe. Distances on the line are true, not the counter's."
    ));
    if plan_is_cut.is_some() {
        told.push(say!(t, "North is that of the grid in which the job gives its directions, not the needle's."));
    }
    let (length_m, sd_m) = (answers.total.length_m, answers.total.length_sd_m);
    if tape.scale.is_some() && sd_m.is_finite() {
        let (low, high) = (length_m - Z_95 * sd_m, length_m + Z_95 * sd_m);
        told.push(say!(
            t,
            "True distances are along the pipe, as a tape in it would show them, with the counter's error taken off; the whole is {length} (95 %: {interval}), and any part is as sure in proportion.",
            length = Part::Length(length_m),
            interval = t.voice.range(&t.voice.length(low), &t.voice.length(high)),
        ));
    } else {
        told.push(say!(t, "True distances are not determined; the counter's are given."));
    }
    if let Some(about_m) = answers.job.survey.about_length_m.filter(|m| m.is_finite() && *m > length_m * 1.02 + 0.3) {
        told.push(say!(t, "This is what was surveyed of about {about}.", about = Part::About(about_m)));
    }
    told.join(" ")
}

/// Keeps the ends and what comes first; gives back how many have no room.
fn shorten_to(points: &mut Vec<Point>, rows: f64) -> usize {
    let mut most = 3;
    while most < ALPHABET && (most + 1) as f64 <= rows {
        most += 1;
    }
    let all = points.len();
    if all <= most {
        return 0;
    }
    if let Some(last) = points.pop() {
        points.truncate(most - 1);
        points.push(Point { alone: true, ..last });
    }
    all - points.len()
}

/// The plan, small, with the letters; gives back where it ends.
fn plan(c: &mut Canvas, t: &Teller, way: &Way, view: &mut View, points: &[Point], letters: &[String], top: f64) -> f64 {
    let frame = Area { left: 20.0, top, right: 20.0 + PLAN.0, bottom: top + PLAN.1 };
    view.centre((0.5 * (frame.left + frame.right), 0.5 * (frame.top + frame.bottom)));
    let view = &*view;
    let mut drawing = Drawing::new(t, way, view, frame);
    drawing.region(c);
    for pool in &t.answers.pools {
        drawing.belly(c, pool.from_m, pool.to_m, pool.state != "possible", &t.sentence(&pool.sentence));
    }
    drawing.pipe(c);
    drawing.hover(c);
    let spot = |(point, letter): (&Point, &String)| Spot {
        station_m: point.station_m,
        sign: letter.clone(),
        text: String::new(),
        title: point.what.clone(),
        symbol: point.symbol,
    };
    let spots: Vec<Spot> = points.iter().zip(letters).map(spot).collect();
    drawing.symbols(c, &spots);
    drawing.flow(c);
    let missed = drawing.labels(c, &spots);
    c.rect(frame.left, frame.top, PLAN.0, PLAN.1, "fw-frame");
    draw::north(c, t, view, (46.0, frame.bottom + 27.0), 15.0);
    c.text(84.0, frame.bottom + 31.0, Hold::Left, "fw-small", &say!(t, "grid north"));
    draw::bars(c, t, view, (172.0, frame.bottom + 10.0), PLAN.0 - 232.0);
    let mut y = frame.bottom + PLAN.2;
    if !missed.is_empty() {
        let text = say!(t, "No room on the plan for {letters}: see the line below.", letters = missed.join(", "));
        for line in wrap(&text, columns(PLAN.0, SMALL)) {
            c.text(20.0, y + 6.0, Hold::Left, "fw-small", &line);
            y += 13.0;
        }
    }
    y
}

/// The pipe drawn straight with its dimensions: letters above, distances between neighbours and from the first end below.
fn line(c: &mut Canvas, t: &Teller, tape: &Tape, points: &[Point], letters: &[String], is_pipe: bool, top: f64) -> f64 {
    let (from_m, to_m) = (t.answers.from_m, t.answers.to_m);
    let x = |station_m: f64| LINE.0 + (station_m - from_m) / (to_m - from_m) * (LINE.1 - LINE.0);
    let y = top + 36.0;
    for pool in &t.answers.pools {
        let (a, b) = (pool.from_m.max(from_m), pool.to_m.min(to_m));
        if a < b {
            let class = if pool.state == "possible" { "fw-wet fw-open" } else { "fw-wet" };
            c.group(&t.sentence(&pool.sentence), |c| c.rect(x(a), y - 10.0, x(b) - x(a), 7.0, class));
        }
    }
    c.line((LINE.0, y), (LINE.1, y), if is_pipe { "fw-axis" } else { "fw-level" });
    for gap in &t.answers.unseen {
        let (a, b) = (gap.from_m.max(from_m), gap.to_m.min(to_m));
        if a < b {
            c.group(&known::unseen(t, gap), |c| c.rect(x(a), y - 5.0, x(b) - x(a), 10.0, "fw-gap"));
        }
    }
    let at: Vec<f64> = points.iter().map(|p| x(p.station_m)).collect();
    let spread = apart(&at);
    for (x, letter_x) in at.iter().zip(&spread) {
        c.line((*x, y), (*letter_x, top + 18.0), "fw-lead-line");
    }
    let mut bends_end = [flow(c, t, y); 2];
    for ((point, letter), (x, letter_x)) in points.iter().zip(letters).zip(at.iter().zip(&spread)) {
        let distance = tape.both(tape.true_m(tape.from_m, point.station_m));
        let title = say!(
            t,
            "{letter}: {what}, {distance} from the first end",
            letter = letter,
            what = &point.what,
            distance = distance
        );
        c.group(&title, |c| {
            c.line((*x, y - 6.0), (*x, y + 6.0), "fw-level");
            c.circle(*letter_x, top + 10.0, 8.5, "fw-box");
            c.text(*letter_x, top + 14.0, Hold::Middle, "fw-small", letter);
        });
        if let Some((angle, left)) = &point.bend {
            // Growing station goes to the right, so that left is up.
            let way = if *left { -1.0 } else { 1.0 };
            arrow(c, (*x, y), (*x + 15.0, y + 15.0 * way));
            let half = 0.5 * width(angle, SMALL);
            let row = bends_end.iter_mut().zip([y + 57.0, y + 69.0]).find(|(end, _)| x - half > **end);
            if let Some((end, y)) = row {
                c.text(*x, y, Hold::Middle, "fw-small", angle);
                *end = x + half + 6.0;
            }
        }
    }
    // Between neighbours; from the first end.
    let mut running_end = f64::NEG_INFINITY;
    for (i, (point, x)) in points.iter().zip(&at).enumerate() {
        let before = i.checked_sub(1).and_then(|b| points.get(b).zip(at.get(b))).filter(|_| !point.alone);
        if let Some((before, before_x)) = before {
            let text = t.voice.length(tape.true_m(before.station_m, point.station_m));
            if width(&text, SMALL) + 24.0 < x - before_x {
                c.text(0.5 * (before_x + x), y + 18.0, Hold::Middle, "fw-small fw-halo", &text);
            }
        }
        let text = t.voice.length(tape.true_m(tape.from_m, point.station_m));
        let half = 0.5 * BOLD * width(&text, SMALL);
        let is_last = i + 1 == points.len();
        let last_begins = LINE.1 - 0.5 * BOLD * width(&t.voice.length(tape.true_m(tape.from_m, to_m)), SMALL) - 8.0;
        if x - half > running_end && (is_last || x + half < last_begins) {
            c.line((*x, y + 24.0), (*x, y + 34.0), "fw-lead-line");
            c.text(*x, y + 44.0, Hold::Middle, "fw-small fw-bold", &text);
            running_end = x + half + 8.0;
        }
    }
    y + 74.0
}

/// Which way the water flows, under the line's beginning; gives back where that ends.
fn flow(c: &mut Canvas, t: &Teller, y: f64) -> f64 {
    let word = say!(t, "flow");
    let (a, b) = ((20.0, y + 59.0), (52.0, y + 59.0));
    let down = t.answers.job.flow.sign() > 0.0;
    arrow(c, if down { a } else { b }, if down { b } else { a });
    c.text(57.0, y + 63.0, Hold::Left, "fw-small fw-bold", &word);
    57.0 + BOLD * width(&word, SMALL) + 6.0
}

/// Letters over their places, pushed apart where they would touch.
fn apart(at: &[f64]) -> Vec<f64> {
    let mut spread: Vec<f64> = Vec::with_capacity(at.len());
    for x in at {
        spread.push(spread.last().map_or(*x, |before| x.max(before + LETTERS)));
    }
    let mut next = LINE.1 + LETTERS;
    for x in spread.iter_mut().rev() {
        *x = x.min(next - LETTERS);
        next = *x;
    }
    spread
}

/// What the letters are, and their distances in both systems of units.
fn table(c: &mut Canvas, tape: &Tape, t: &Teller, at: [f64; 5], points: &[Point], letters: &[String], y: f64) -> f64 {
    let mut y = y + 10.0;
    let headings = [
        String::new(),
        say!(t, "what"),
        say!(t, "counter, from A"),
        say!(t, "true, from A"),
        say!(t, "true, from before"),
    ];
    row(c, at, y, "fw-small fw-bold", &headings);
    for (i, (point, letter)) in points.iter().zip(letters).enumerate() {
        y += ROW;
        let before = i.checked_sub(1).and_then(|b| points.get(b)).filter(|_| !point.alone);
        let cells = [
            letter.clone(),
            shorten(&point.what, columns(at[2] - at[1] - 6.0, SMALL)),
            tape.both(point.station_m - tape.from_m),
            tape.both(tape.true_m(tape.from_m, point.station_m)),
            before.map_or_else(String::new, |b| tape.both(tape.true_m(b.station_m, point.station_m))),
        ];
        row(c, at, y, "fw-small", &cells);
    }
    y + 4.0
}

fn row(c: &mut Canvas, at: [f64; 5], y: f64, class: &str, cells: &[String; 5]) {
    for (x, cell) in at.into_iter().zip(cells).filter(|(_, cell)| !cell.is_empty()) {
        c.text(x, y, Hold::Left, class, cell);
    }
}

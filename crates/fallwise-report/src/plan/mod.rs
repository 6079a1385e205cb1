//! The lateral from above, true to scale, in black and white; and the sketch for whoever tapes it on site.
//!
//! From top to bottom: what it is; its scale; a key; how well the plan is known; the pipe in its 95 % region, with what was noted,
//! bellies, ties and stations; grid north and bars to measure by; the lists; cautions. Without a direction or a place known beside
//! the run there is no plan, and the sketch is drawn straight.
//!
//! - [`way`]: the pipe in plan, m, and how sure it is.
//! - [`view`]: from m to px.
//! - [`outline`]: outlines in px.
//! - [`space`]: where labels go.
//! - [`draw`]: what is drawn.
//! - [`noted`]: what was noted, as it is drawn.
//! - [`mod@site`]: a dig, from above and across the pipe.
//! - [`sketch`]: tape distances, over the plan or over the pipe drawn straight.

mod draw;
mod noted;
mod outline;
#[cfg(test)]
mod plan_tests;
mod site;
mod sketch;
mod space;
mod view;
mod way;

use fallwise::{
    adjust::Z_95,
    answers::PoolRow,
    math,
    model::{Flow, Known},
    units::{Part, Words},
};

use self::{
    draw::Drawing,
    outline::Area,
    view::{PRINTED_MM, View},
    way::{Point, Way},
};
pub(crate) use self::{site::site, sketch::sketch};
use crate::{
    profile::{
        Sheet, WIDTH,
        canvas::{Canvas, Hold, columns, width},
        marks::{MOST, two_columns},
    },
    tell::{Teller, say},
    text::{shorten, wrap},
    words,
};

/// Room for labels about what is drawn, px.
const BESIDE: (f64, f64) = (105.0, 62.0);
/// Most height of the frame, px.
const HIGH: f64 = 620.0;
/// Least height of the frame, px.
const LOW: f64 = 250.0;
/// Ties listed at most.
const TIES: usize = 12;
/// A region that reaches no farther about the pipe than this share of its size has room in the frame.
const ROOM: f64 = 0.4;

const STYLE: &str = "\
.fw-axis{fill:none;stroke:#000;stroke-width:3;stroke-linejoin:round;stroke-linecap:round}\
.fw-where{fill:url(#fw-hatch);stroke:none}.fw-where-inside{fill:#fff;stroke:none}\
.fw-where-edge{fill:none;stroke:#777;stroke-width:1.6;stroke-linejoin:round}\
.fw-wet{fill:url(#fw-waves);stroke:#000;stroke-width:.8}.fw-open{stroke-dasharray:3 2}.fw-gap{fill:#fff;stroke:#000;stroke-width:.8;stroke-dasharray:2 3}\
.fw-wall{fill:none;stroke:#000;stroke-width:3.4}.fw-north{fill:none;stroke:#000;stroke-width:1.6}\
.fw-tie{fill:#000;stroke:#fff;stroke-width:1}.fw-tie-open{fill:#fff;stroke:#000;stroke-width:1.5}\
.fw-ellipse{fill:none;stroke:#000;stroke-width:1.3}.fw-ellipse-under{fill:none;stroke:#fff;stroke-width:3.4}\
.fw-suspect{fill:none;stroke:#000;stroke-width:2.4}.fw-suspect-under{fill:none;stroke:#fff;stroke-width:5.5}\
.fw-as-built{fill:#fff;stroke:#000;stroke-width:1.2}\
.fw-scale-m,.fw-scale-ft{fill:none;stroke:#000;stroke-width:.8}";

/// The plan as an SVG picture, 180 mm wide; nothing where the plan is not determined. `whole`: it stands by itself, so that the
/// sentence that matters and what the figures do not allow for are said here.
pub(crate) fn plan(t: &Teller, whole: bool) -> Option<String> {
    let answers = t.answers;
    let way = Way::new(&answers.path)?;
    let ties = noted::ties(t, &way);
    let points = to_show(&way, &ties.iter().map(|tie| tie.at).collect::<Vec<_>>());
    let room = (WIDTH - 40.0 - 2.0 * BESIDE.0, HIGH - 2.0 * BESIDE.1);
    let mut view = View::fit(&points, t.words, room);
    let mut c = Canvas(String::new());
    let title = title(t);
    let mut y = head(&mut c, t, &title, whole);
    y = paragraph(&mut c, &scale_told(t, &view), "fw-bold", y + 4.0);

    let high = (view.high + 2.0 * BESIDE.1).clamp(LOW, HIGH);
    let frame = |top: f64| Area { left: 20.0, top, right: WIDTH - 20.0, bottom: top + high };
    let marks = noted::marks(t);
    // What is drawn says what the key has to name; the key stands above it.
    let mut plot = Canvas(String::new());
    let mut key = vec![Swatch::Pipe];
    if way.nodes.iter().any(|n| n.spread.is_some()) {
        key.push(Swatch::Region);
    }
    let words = known_told(t, &way, is_cut(&way, &view, (WIDTH - 40.0, high)));
    let top = y + key_height() + 14.5 * line_count(&words) + 10.0;
    let frame = frame(top);
    view.centre((0.5 * (frame.left + frame.right), 0.5 * (frame.top + frame.bottom)));
    let mut drawing = Drawing::new(t, &way, &view, frame);
    drawing.region(&mut plot);
    for pool in &answers.pools {
        let title = t.sentence(&pool.sentence);
        if drawing.belly(&mut plot, pool.from_m, pool.to_m, pool.state != "possible", &title) {
            key.push(Swatch::Belly);
        }
    }
    let step = drawing.stations_marked(&mut plot);
    drawing.pipe(&mut plot);
    drawing.hover(&mut plot);
    let (inside, outside): (Vec<_>, Vec<_>) = ties.iter().partition(|tie| drawing.measured(&mut plot, tie));
    if !inside.is_empty() {
        key.push(Swatch::Tie);
    }
    let spots: Vec<draw::Spot> = marks.iter().take(MOST).filter_map(|(_, spot)| spot.clone()).collect();
    if !spots.is_empty() {
        key.push(Swatch::Noted);
    }
    drawing.symbols(&mut plot, &spots);
    drawing.flow(&mut plot);
    drawing.labels(&mut plot, &noted::ends(t, &way));
    for tie in &inside {
        drawing.name_measured(&mut plot, tie);
    }
    drawing.labels(&mut plot, &noted::bellies(t));
    let missed = drawing.labels(&mut plot, &spots);
    drawing.stations_named(&mut plot, &step);

    key.dedup();
    y = draw_key(&mut c, t, &key, y);
    y = paragraph(&mut c, &words, "", y);
    c.rect(frame.left, frame.top, frame.right - frame.left, high, "fw-frame");
    c.0.push_str(&plot.0);
    y = below(&mut c, t, &view, &step.told(t), frame.bottom.max(y));
    if !missed.is_empty() {
        let numbers = missed.join(", ");
        let text = say!(t, "No room in the picture for the numbers {numbers}; the list has them.", numbers = numbers);
        y = paragraph(&mut c, &text, "", y);
    }
    for tie in outside {
        let text = say!(t, "{tie} lies outside the picture; see the list.", tie = &tie.text);
        y = paragraph(&mut c, &text, "", y);
    }
    y = lists(&mut c, t, &marks.into_iter().map(|m| m.0).collect::<Vec<_>>(), y);
    y = footer(&mut c, t, whole, y);

    let description = format!("{} {words}", scale_told(t, &view));
    let sheet = Sheet { ids: "fw-plan", title: &title, description: &description, style: STYLE, patterns: "" };
    Some(sized(&sheet.svg(&c, y), y))
}

/// With its size on paper, at which its scale holds.
fn sized(svg: &str, height: f64) -> String {
    let mm = PRINTED_MM * height.clamp(100.0, 1e5) / WIDTH;
    svg.replacen("<svg ", &format!("<svg width=\"{PRINTED_MM:.0}mm\" height=\"{mm:.2}mm\" "), 1)
}

fn title(t: &Teller) -> String {
    match (&t.answers.job.survey.title, t.words) {
        (Some(title), _) => say!(t, "Plan: {title}", title = title),
        (None, Words::Uk) => say!(t, "Plan of a drain"),
        (None, Words::Us) => say!(t, "Plan of a lateral"),
    }
}

/// What the picture is; gives back where the next line goes.
fn head(c: &mut Canvas, t: &Teller, title: &str, sentence: bool) -> f64 {
    let mut y = 28.0;
    c.text(20.0, y, Hold::Left, "fw-title", &shorten(title, 66));
    if t.answers.job.survey.invented {
        c.text(WIDTH - 20.0, y, Hold::Right, "fw-bold", &say!(t, "Invented example"));
    }
    y += 20.0;
    let sentence = if sentence { t.sentence(&t.answers.sentence) } else { String::new() };
    for line in wrap(&sentence, columns(WIDTH - 40.0, 12.5)) {
        c.text(20.0, y, Hold::Left, "fw-lead", &line);
        y += 16.5;
    }
    y
}

/// Lines of text; gives back where the next goes.
fn paragraph(c: &mut Canvas, text: &str, class: &str, mut y: f64) -> f64 {
    for line in wrap(text, columns(WIDTH - 40.0, 11.0)) {
        c.text(20.0, y, Hold::Left, class, &line);
        y += 14.5;
    }
    y
}

fn line_count(text: &str) -> f64 {
    wrap(text, columns(WIDTH - 40.0, 11.0)).len() as f64
}

/// The scale on paper.
fn scale_told(t: &Teller, view: &View) -> String {
    // What is drawn larger than life, as no drain is, would need decimals.
    let n = |n: f64| Part::Number(n, if n < 10.0 { 2 } else { 0 });
    let feet = view.feet_to_inch();
    let places = if feet < 1.0 { 2 } else { u8::from(feet.fract() != 0.0 && feet < 10.0) };
    match t.words {
        Words::Uk => say!(
            t,
            "True to scale: 1 : {n} where this picture is printed {mm} mm wide, as on A4 between margins. Else use the bars.",
            n = n(view.n),
            mm = Part::Number(PRINTED_MM, 0),
        ),
        Words::Us => say!(
            t,
            "True to scale: 1 : {n}, 1 inch is {feet} ft, where this picture is printed {mm} mm ({inches} in) wide, as on Letter or A4 between margins. Else use the bars.",
            n = n(view.n),
            feet = Part::Number(feet, places),
            mm = Part::Number(PRINTED_MM, 0),
            inches = Part::Number(PRINTED_MM / 25.4, 2),
        ),
    }
}

/// What must lie in the frame: the region too, unless it is so large that it would make a dot of the pipe.
fn to_show(way: &Way, ties: &[Point]) -> Vec<Point> {
    let mut points: Vec<Point> = way.nodes.iter().map(|n| n.at).collect();
    let extent = |points: &[Point]| {
        let range = |i: usize| {
            let values = || points.iter().filter_map(move |p| p.get(i).copied());
            (values().fold(f64::INFINITY, f64::min), values().fold(f64::NEG_INFINITY, f64::max))
        };
        (range(0), range(1))
    };
    let (east, north) = extent(&points);
    let size = (east.1 - east.0).max(north.1 - north.0).max(1.0);
    let reach = way.nodes.iter().filter_map(|n| n.spread).fold(0.0, |far: f64, s| far.max(s.half_m()));
    if reach <= ROOM * size {
        points.extend(way.nodes.iter().filter_map(|n| Some(n.spread?.outline(n.at))).flatten());
    }
    // A tie whose coordinate is wrong must not make it a dot either.
    let near = |v: f64, range: (f64, f64)| v >= range.0 - 0.5 * size && v <= range.1 + 0.5 * size;
    points.extend(ties.iter().filter(|p| near(p[0], east) && near(p[1], north)));
    points
}

/// Whether some of the region lies outside a frame of so many px.
fn is_cut(way: &Way, view: &View, frame: (f64, f64)) -> bool {
    let outside = |p: Point| !view.holds(p, frame);
    way.nodes.iter().filter_map(|n| Some(n.spread?.outline(n.at))).flatten().any(outside)
}

/// How well the plan is known, in words.
fn known_told(t: &Teller, way: &Way, is_cut: bool) -> String {
    let across = |p: &way::Placed| Some(Z_95 * p.spread?.0.sd_along_m([-p.along[1], p.along[0]]));
    let all: Vec<(f64, f64)> =
        way.nodes.iter().filter_map(|n| Some((n.station_m, across(&way.at(n.station_m)?)?))).collect();
    let order = |a: &&(f64, f64), b: &&(f64, f64)| a.1.total_cmp(&b.1);
    let mut told = Vec::new();
    match all.iter().min_by(order).zip(all.iter().max_by(order)) {
        Some((best, worst)) => {
            told.push(say!(
                t,
                "To either side the pipe is known best at {best}, to {best_size}, and worst at {worst}, to {worst_size} (95 %).",
                best = Part::At(best.0),
                best_size = size(best.1),
                worst = Part::At(worst.0),
                worst_size = size(worst.1),
            ));
        }
        None => told.push(say!(t, "How well the plan is known is not determined: no region is drawn.")),
    }
    if is_cut {
        told.push(say!(
            t,
            "The region in which the pipe may lie is larger than the picture and is cut off at its frame: do not tape from this plan. A position located on the surface near the far end would tell where the pipe goes."
        ));
    }
    let job = &t.answers.job;
    let placed = job.runs.iter().any(|r| r.start_east_m.is_some() || r.start_north_m.is_some())
        || job.ties.iter().any(|tie| matches!(tie.known, Known::Plan { .. }));
    if !placed {
        told.push(say!(t, "East and north count from where the first run starts: no coordinates were given."));
    }
    told.join(" ")
}

/// A half-width: as a small height below a metre, else as a length.
fn size(m: f64) -> Part {
    if m < 1.0 { Part::Small(m) } else { Part::Length(m) }
}

/// What the key names.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Swatch {
    Pipe,
    Region,
    Belly,
    Tie,
    Noted,
}

fn key_height() -> f64 {
    2.0 * 22.0 + 4.0
}

/// The key in one or two rows.
fn draw_key(c: &mut Canvas, t: &Teller, key: &[Swatch], y: f64) -> f64 {
    let (mut x, mut middle) = (20.0, y + 6.0);
    for swatch in key {
        let label = match swatch {
            Swatch::Pipe => say!(t, "axis of the pipe"),
            Swatch::Region => say!(t, "the pipe is somewhere in here (95 % at each place)"),
            Swatch::Belly => say!(t, "belly (dashed: may be there)"),
            Swatch::Tie => say!(t, "measured from the surface (ellipse: 95 %)"),
            Swatch::Noted => say!(t, "noted on the way, listed below"),
        };
        let wide = 40.0 + width(&label, 11.5) + 14.0;
        if x > 20.0 && x + wide - 14.0 > WIDTH - 20.0 {
            (x, middle) = (20.0, middle + 22.0);
        }
        match swatch {
            Swatch::Pipe => c.line((x, middle), (x + 34.0, middle), "fw-axis"),
            Swatch::Region => {
                c.rect(x, middle - 7.0, 34.0, 13.0, "fw-where-edge");
                c.rect(x, middle - 7.0, 34.0, 13.0, "fw-where");
            }
            Swatch::Belly => c.rect(x, middle - 4.0, 34.0, 7.0, "fw-wet"),
            Swatch::Tie => {
                c.circle(x + 17.0, middle, 8.0, "fw-ellipse");
                c.circle(x + 17.0, middle, 3.8, "fw-tie");
            }
            Swatch::Noted => {
                c.circle(x + 17.0, middle, 8.5, "fw-box");
                c.text(x + 17.0, middle + 4.0, Hold::Middle, "fw-small", "1");
            }
        }
        c.text(x + 40.0, middle + 4.0, Hold::Left, "", &label);
        x += wide;
    }
    y + key_height()
}

/// Under the frame: grid north, bars to measure by, how far apart the stations are.
fn below(c: &mut Canvas, t: &Teller, view: &View, stations: &str, y: f64) -> f64 {
    draw::north(c, t, view, (52.0, y + 44.0), 24.0);
    let (mut row, left) = (y + 32.0, 112.0);
    let told = [north_told(t, view), stations.to_owned()];
    for line in told.iter().flat_map(|text| wrap(text, columns(340.0, 11.5))) {
        c.text(left, row, Hold::Left, "", &line);
        row += 14.5;
    }
    draw::bars(c, t, view, (WIDTH - 460.0, y + 26.0), 370.0);
    (y + 90.0).max(row)
}

/// What the arrow is.
fn north_told(t: &Teller, view: &View) -> String {
    if view.turn_rad == 0.0 {
        return say!(t, "Grid north is up, where the arrow points.");
    }
    say!(t, "Grid north is where the arrow points: the plan is turned so that it fits.")
}

/// What was noted, by the numbers of the profile; bellies; ties; landmarks.
fn lists(c: &mut Canvas, t: &Teller, marks: &[String], y: f64) -> f64 {
    let numbered = |texts: &[String]| {
        let shown = texts.iter().take(MOST).enumerate();
        (shown.map(|(i, text)| ((i + 1).to_string(), text.clone())).collect(), texts.len())
    };
    let mut y = two_columns(c, t.voice, &say!(t, "Noted on the way"), numbered(marks), y);
    let bellies: Vec<String> = t.answers.pools.iter().map(|p| belly_told(t, p)).collect();
    y = two_columns(c, t.voice, &say!(t, "Bellies"), numbered(&bellies), y);
    let ties = noted::tie_list(t);
    let all = ties.len();
    let shown = ties.into_iter().take(TIES).collect();
    y = two_columns(c, t.voice, &say!(t, "Measured from the surface, and how it fits"), (shown, all), y);
    if let Some(landmarks) = &t.answers.job.survey.landmarks {
        let text = say!(t, "Landmarks that distances were taped from: {text}", text = shorten(landmarks, 600));
        y = paragraph(c, &text, "", y + 12.0);
    }
    y
}

fn belly_told(t: &Teller, pool: &PoolRow) -> String {
    let (between, depth) = (Part::Both(pool.from_m, pool.to_m), Part::Small(pool.depth_m));
    match (pool.state.as_str(), pool.depth_high_m) {
        ("intended", _) => say!(t, "A trap between {between}.", between = between),
        ("possible", Some(high)) => {
            say!(
                t,
                "There may be a belly between {between}, at most {depth} deep.",
                between = between,
                depth = Part::Small(high)
            )
        }
        ("possible", None) => say!(t, "There may be a belly between {between}.", between = between),
        _ => say!(t, "A belly between {between}, {depth} deep in the best estimate.", between = between, depth = depth),
    }
}

/// What the picture rests on, and the cautions that hurt most when they are missed: as under the profile.
fn footer(c: &mut Canvas, t: &Teller, whole: bool, mut y: f64) -> f64 {
    y += 8.0;
    c.line((20.0, y), (WIDTH - 20.0, y), "fw-thin");
    y += 16.0;
    let not_covered: Vec<String> = t.answers.not_covered.iter().map(|s| t.sentence(s)).collect();
    if whole && !not_covered.is_empty() {
        c.text(20.0, y, Hold::Left, "fw-bold", &say!(t, "What these figures do not allow for"));
        y = paragraph(c, &not_covered.join(" "), "", y + 14.5) + 4.0;
    }
    y = paragraph(c, &cautions(t), "", y);
    let version = say!(t, "fallwise {version}", version = &t.answers.version);
    c.text(WIDTH - 20.0, y, Hold::Right, "fw-small", &version);
    y + 12.0
}

/// What the picture rests on, and the worst cautions.
fn cautions(t: &Teller) -> String {
    let cautions = &t.answers.cautions;
    let invented = t.answers.job.survey.invented.then(|| words::invented(t.voice));
    let mut lines: Vec<String> = invented.into_iter().chain([words::honesty(t)]).collect();
    lines.extend(cautions.first().map(|caution| t.sentence(caution)));
    lines.extend(words::worst(cautions).map(|caution| t.sentence(caution)));
    lines.join(" ")
}

/// Whether a station is the upper end of the pipe, of its two ends.
fn is_upper(t: &Teller, first: bool) -> bool {
    first == (t.answers.job.flow == Flow::Increasing)
}

/// How far two places are from each other, m.
fn distance_m(a: Point, b: Point) -> f64 {
    math::hypot(b[0] - a[0], b[1] - a[1])
}

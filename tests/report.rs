//! The report read back: the picture's geometry, what strangers' texts may not do, and odd answers.

#![allow(clippy::unwrap_used, reason = "the helpers of a test may panic as the test may")]

use core::f64::consts::FRAC_PI_2;
use std::path::Path;

use fallwise::{
    Answers, Lateral, Rulebook,
    answers::{NoteRow, PathRow, SegmentRow},
    units::Words,
};
use fallwise_report::Report;

const DEMOS: [&str; 12] = [
    "after-relay",
    "backfall-at-main",
    "before-relay",
    "both-ends",
    "by-hand",
    "checked-twice",
    "four-points",
    "good-lateral",
    "long-messy",
    "two-bellies",
    "water-edges",
    "whole-degrees",
];

fn demo(name: &str) -> Answers {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/demos").join(name).join("job.toml");
    let loaded = fallwise_files::job::read(&path).unwrap();
    let book = loaded.job.rules.rulebook.clone().map(|name| Rulebook::shipped(&name).unwrap());
    Lateral::solve(loaded.job).unwrap().answers(book.as_ref()).unwrap()
}

/// An element as `<name attributes>text`, up to the next element.
pub(crate) struct Element<'a> {
    name: &'a str,
    head: &'a str,
    pub(crate) text: &'a str,
}

impl Element<'_> {
    pub(crate) fn get(&self, attribute: &str) -> &str {
        let start = self.head.find(&format!(" {attribute}=\"")).map(|i| i + attribute.len() + 3);
        start.and_then(|i| self.head[i..].split('"').next()).unwrap_or("")
    }
    pub(crate) fn number(&self, attribute: &str) -> f64 {
        self.get(attribute).parse().unwrap()
    }
}

/// All elements; panics where tags do not close in order or a mark is not escaped.
pub(crate) fn elements(svg: &str) -> Vec<Element<'_>> {
    let (mut all, mut open) = (Vec::new(), Vec::new());
    for piece in svg.split('<').skip(1) {
        let (head, text) = piece.split_once('>').expect("a tag closes");
        assert!(!text.contains('>'), "unescaped mark in {text}");
        if let Some(name) = head.strip_prefix('/') {
            assert_eq!(open.pop(), Some(name));
            continue;
        }
        let name = head.split([' ', '/']).next().unwrap();
        if !head.ends_with('/') {
            open.push(name);
        }
        all.push(Element { name, head, text });
    }
    assert!(open.is_empty());
    all
}

pub(crate) fn with_class<'a>(all: &'a [Element], name: &str, class: &str) -> Vec<&'a Element<'a>> {
    all.iter().filter(|e| e.name == name && e.get("class") == class).collect()
}

/// "M1 2L3 4" or "1,2 3,4".
pub(crate) fn points(list: &str) -> Vec<(f64, f64)> {
    let numbers: Vec<f64> =
        list.split(['M', 'L', ' ', ',']).filter(|s| !s.is_empty()).map(|s| s.parse().unwrap()).collect();
    numbers.chunks(2).map(|p| (p[0], p[1])).collect()
}

/// Coordinates are printed to 0.001 px; a scale read off two of them is off by less than twice that over the picture.
pub(crate) const PX: f64 = 0.01;

/// px of a station and px of a height, from the two nodes farthest apart in each.
struct Frame {
    along: (f64, f64),
    up: (f64, f64),
}

impl Frame {
    fn read(answers: &Answers, svg: &str) -> (Self, Vec<(f64, f64)>) {
        let all = elements(svg);
        let nodes = points(with_class(&all, "path", "fw-invert")[0].get("d"));
        assert_eq!(nodes.len(), answers.path.len());
        let pairs = || nodes.iter().zip(&answers.path);
        let (a, b) = (pairs().next().unwrap(), pairs().next_back().unwrap());
        let along = (b.0.0 - a.0.0) / (b.1.station_m - a.1.station_m);
        let low = pairs().min_by(|p, q| p.1.height_m.total_cmp(&q.1.height_m)).unwrap();
        let high = pairs().max_by(|p, q| p.1.height_m.total_cmp(&q.1.height_m)).unwrap();
        let up = (low.0.1 - high.0.1) / (high.1.height_m - low.1.height_m);
        (Self { along: (a.0.0 - a.1.station_m * along, along), up: (low.0.1 + low.1.height_m * up, up) }, nodes)
    }
    fn x(&self, station_m: f64) -> f64 {
        self.along.0 + self.along.1 * station_m
    }
    fn y(&self, height_m: f64) -> f64 {
        self.up.0 - self.up.1 * height_m
    }
}

fn height_at(path: &[PathRow], station_m: f64) -> f64 {
    let w = path.windows(2).find(|w| w[0].station_m <= station_m && station_m <= w[1].station_m).unwrap();
    let t = (station_m - w[0].station_m) / (w[1].station_m - w[0].station_m);
    w[0].height_m + t * (w[1].height_m - w[0].height_m)
}

#[test]
fn invert_nodes_and_the_exaggeration_are_where_they_say() {
    // The long drain's entry is a drop that is cut short: it has a test of its own.
    for name in DEMOS.iter().filter(|d| **d != "long-messy") {
        let answers = demo(name);
        let svg = Report::new(&answers).profile_svg();
        let (frame, nodes) = Frame::read(&answers, &svg);
        for (node, row) in nodes.iter().zip(&answers.path) {
            assert!((node.0 - frame.x(row.station_m)).abs() < PX, "{name}");
            assert!((node.1 - frame.y(row.height_m)).abs() < PX, "{name}");
        }
        let stated: f64 = svg.split("Heights are drawn ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
        assert!(stated > 1.0);
        // The picture is some 800 px long and 100 px high, read to 0.001 px.
        assert!((frame.up.1 / frame.along.1 / stated - 1.0).abs() < 1e-4, "{name}");
    }
}

#[test]
fn a_drop_is_cut_and_the_rest_keeps_its_scale() {
    let answers = demo("long-messy");
    let svg = Report::new(&answers).profile_svg();
    assert!(svg.contains("drop of 980 mm not drawn to height"));
    let all = elements(&svg);
    let nodes = points(with_class(&all, "path", "fw-invert")[0].get("d"));
    let stated: f64 = svg.split("Heights are drawn ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
    let (a, b) = (1, nodes.len() - 1);
    // The drop is drawn as one line, its inner nodes are not.
    let row = |node: usize| &answers.path[answers.path.len() - nodes.len() + node];
    let along = (nodes[b].0 - nodes[a].0) / (row(b).station_m - row(a).station_m);
    let up = (nodes[b].1 - nodes[a].1) / (row(a).height_m - row(b).height_m);
    assert!((up / along / stated - 1.0).abs() < 1e-4);
    // The drop itself is drawn less high than it is.
    let drawn = (nodes[1].1 - nodes[0].1) / up;
    assert!(drawn < 0.5 * (answers.path[0].height_m - row(1).height_m));
}

#[test]
fn water_lies_between_invert_and_level() {
    let answers = demo("two-bellies");
    let svg = Report::new(&answers).profile_svg();
    let (frame, _) = Frame::read(&answers, &svg);
    let all = elements(&svg);
    let pools = with_class(&all, "polygon", "fw-water");
    assert_eq!(pools.len(), 2);
    for (element, pool) in pools.iter().zip(&answers.pools) {
        let level = frame.y(pool.level_m.unwrap());
        let outline = points(element.get("points"));
        let station = |x: f64| (x - frame.along.0) / frame.along.1;
        for (x, y) in &outline {
            let invert = frame.y(height_at(&answers.path, station(*x)));
            assert!(*y > level - PX && *y < invert + PX);
        }
        // It reaches from edge to edge, and down to the deepest point.
        let deepest = outline.iter().fold(f64::NEG_INFINITY, |m, p| m.max(p.1));
        assert!((deepest - level - pool.depth_m * frame.up.1).abs() < 2.0 * PX);
        let first = outline.iter().fold(f64::INFINITY, |m, p| m.min(p.0));
        assert!((first - frame.x(pool.from_m)).abs() < PX);
    }
}

/// Font sizes of the classes; half an em a character is less than the common fonts need, so that texts called apart
/// here may touch by a hair, and texts called overlapping do overlap.
fn text_box(e: &Element) -> (f64, f64, f64) {
    let class = e.get("class");
    let size = if class.contains("fw-title") {
        18.0
    } else if class.contains("fw-lead") {
        13.0
    } else if class.contains("fw-small") {
        10.5
    } else {
        11.5
    };
    // A quotation mark is one letter, however it is written.
    let wide = 0.5 * size * e.text.replace("&quot;", "\"").chars().count() as f64;
    let x = e.number("x");
    let left = match e.get("text-anchor") {
        "middle" => x - 0.5 * wide,
        "end" => x - wide,
        _ => x,
    };
    (left, left + wide, e.number("y"))
}

pub(crate) fn assert_readable(name: &str, svg: &str) {
    let all = elements(svg);
    let root = &all[0];
    let size: Vec<f64> = root.get("viewBox").split(' ').map(|s| s.parse().unwrap()).collect();
    let boxes: Vec<_> =
        all.iter().filter(|e| e.name == "text" && !e.text.is_empty()).map(|e| (text_box(e), e.text)).collect();
    for (i, ((left, right, y), text)) in boxes.iter().enumerate() {
        assert!(*left >= 0.0 && *right <= size[2] && *y > 5.0 && *y < size[3], "{name}: {text} leaves the picture");
        for ((l, r, below), other) in &boxes[i + 1..] {
            let apart = right < l || r < left || (y - below).abs() > 8.0;
            assert!(apart, "{name}: {text} over {other}");
        }
    }
}

#[test]
fn no_text_leaves_the_picture_or_covers_another() {
    for name in DEMOS {
        assert_readable(name, &Report::new(&demo(name)).profile_svg());
    }
}

/// 90 m in 300 segments with a pool in every hundredth and 60 notes; and 3 m in one segment.
#[test]
fn long_and_short_laterals_stay_readable() {
    let base = demo("two-bellies");
    let laid = |pieces: u32, length_m: f64| {
        let mut answers = base.clone();
        let step = length_m / f64::from(pieces);
        let row = |i: u32| {
            let height_m = 0.02 * (length_m - step * f64::from(i)) + if i.is_multiple_of(3) { 0.004 } else { 0.0 };
            PathRow {
                station_m: step * f64::from(i),
                height_m,
                height_low_m: height_m - 0.01,
                height_high_m: height_m + 0.01,
                ..base.path[0].clone()
            }
        };
        answers.path = (0..=pieces).map(row).collect();
        answers.segments = (0..pieces)
            .map(|i| {
                let mut segment = base.segments[0].clone();
                segment.number = i as usize + 1;
                (segment.from_m, segment.to_m) = (step * f64::from(i), step * f64::from(i + 1));
                segment
            })
            .collect();
        (answers.from_m, answers.to_m) = (0.0, length_m);
        answers.job.survey.about_length_m = Some(length_m + 10.0);
        (answers, step)
    };
    let (mut long, step) = laid(300, 90.0);
    long.pools = (1..100)
        .map(|i| {
            let mut pool = base.pools[0].clone();
            pool.number = i;
            pool.deepest_station_m = Some(3.0 * step * i as f64);
            (pool.from_m, pool.to_m) = (3.0 * step * i as f64 - 0.1, 3.0 * step * i as f64 + 0.1);
            pool
        })
        .collect();
    let note = long.noted[0].clone();
    long.noted = (0..60).map(|i| NoteRow { station_m: Some(1.5 * f64::from(i)), to_m: None, ..note.clone() }).collect();
    let svg = Report::new(&long).profile_svg();
    assert!(svg.contains("more bellies: no room here") && svg.contains("more in the report"));
    assert_readable("long", &svg);

    let (mut short, _) = laid(1, 3.0);
    short.pools.clear();
    short.reaches.clear();
    short.noted.clear();
    for row in &mut short.path {
        row.bore_m = None;
    }
    assert_readable("short", &Report::new(&short).profile_svg());
}

pub(crate) const HOSTILE: &str =
    "<script>alert(1)</script> ]]> \"quoted\" 'single' & \u{0}\u{1b}[2J\u{202e} {{ title }} --> </svg></style>";

#[test]
fn strangers_texts_cannot_act() {
    let mut answers = demo("two-bellies");
    answers.sentence = HOSTILE.to_owned();
    answers.warnings.push(HOSTILE.to_owned());
    answers.job.survey.title = Some(HOSTILE.to_owned());
    answers.job.survey.site = Some(HOSTILE.to_owned());
    answers.reaches[0].name = HOSTILE.to_owned();
    answers.reaches[0].pipe = HOSTILE.to_owned();
    answers.job.features[0].text = HOSTILE.to_owned();
    answers.noted[0].text = HOSTILE.to_owned();
    answers.noted[0].photo = Some("javascript:alert(1)".to_owned());
    for finding in &mut answers.findings {
        finding.sentence = HOSTILE.to_owned();
        finding.requirement = HOSTILE.to_owned();
        finding.subject = HOSTILE.to_owned();
    }
    answers.pools[0].sentence = HOSTILE.to_owned();
    let svg = Report::new(&answers).profile_svg();
    elements(&svg);
    let page = Report::new(&answers).page_html().unwrap();
    for text in [&svg, &page] {
        assert!(!text.contains("<script") && !text.contains("]]>") && !text.contains("-->"));
        assert!(!text.chars().any(|c| c.is_control() && c != '\n') && !text.contains('\u{202e}'));
        assert!(!text.contains("href=") && !text.contains("src="));
    }
    assert_eq!(page.matches("</svg>").count(), 1);
    assert_eq!(page.matches("</style>").count(), 2);
    assert!(!Report::new(&answers).summary().chars().any(|c| c.is_control() && c != '\n'));
}

fn assert_no_missing_numbers(answers: &Answers) {
    let faces =
        [Report::new(answers).profile_svg(), Report::new(answers).page_html().unwrap(), Report::new(answers).summary()];
    elements(&faces[0]);
    for face in faces {
        let word =
            face.split(|c: char| !c.is_alphanumeric()).find(|w| matches!(*w, "NaN" | "inf" | "Infinity" | "None"));
        assert_eq!(word, None);
    }
}

#[test]
fn odd_answers_print_no_missing_number() {
    let base = demo("two-bellies");
    let odd = |change: &dyn Fn(&mut Answers)| {
        let mut answers = base.clone();
        change(&mut answers);
        assert_no_missing_numbers(&answers);
    };
    odd(&|a| a.path.iter_mut().for_each(|r| r.bore_m = None));
    odd(&|a| a.path.iter_mut().for_each(|r| (r.height_low_m, r.height_high_m) = (f64::NAN, f64::INFINITY)));
    odd(&|a| a.path.iter_mut().for_each(|r| r.height_m = f64::NAN));
    odd(&|a| a.path.iter_mut().for_each(|r| r.height_m = 0.0));
    odd(&|a| a.path[3].station_m = f64::INFINITY);
    odd(&|a| a.path[3].tilt_rad = Some(FRAC_PI_2));
    odd(&|a| a.path.truncate(2));
    odd(&|a| a.path.truncate(1));
    odd(&|a| a.path.clear());
    odd(&|a| a.segments.truncate(1));
    odd(&|a| (a.segments.clear(), a.pools.clear(), a.findings.clear(), a.reaches.clear()).0);
    odd(&|a| {
        let nan = f64::NAN;
        (a.from_m, a.to_m, a.total.fall_m, a.total.slope) = (nan, f64::INFINITY, nan, Some(nan));
        let pool = &mut a.pools[0];
        (pool.from_m, pool.level_m, pool.depth_m, pool.depth_over_bore) = (nan, Some(nan), nan, Some(nan));
        let finding = &mut a.findings[1];
        (finding.value, finding.probability, finding.required) = (Some(nan), Some(nan), Some(f64::INFINITY));
        (finding.value_low, finding.value_high) = (Some(f64::NEG_INFINITY), Some(nan));
        let segment = &mut a.segments[0];
        (segment.from_m, segment.slope, segment.slope_sd) = (nan, Some(nan), Some(f64::INFINITY));
        a.parameters[0].sd = f64::INFINITY;
        a.job.survey.about_length_m = Some(f64::INFINITY);
        a.noted[0].video_time_s = Some(nan);
        a.noted[0].station_m = Some(nan);
        (a.reaches[0].from_m, a.reaches[0].fall_m) = (nan, nan);
    });
}

#[test]
fn the_same_answers_give_the_same_bytes() {
    let (a, b) = (demo("good-lateral"), demo("good-lateral"));
    assert_eq!(Report::new(&a).profile_svg(), Report::new(&b).profile_svg());
    assert_eq!(Report::new(&a).page_html().unwrap(), Report::new(&b).page_html().unwrap());
    assert_eq!(Report::new(&a).summary(), Report::new(&b).summary());
}

#[test]
fn summaries_begin_with_the_sentence_and_count_the_undecided() {
    for name in DEMOS {
        let mut answers = demo(name);
        // The sentences of pools are the library's; what is printed around them is the report's.
        for pool in &mut answers.pools {
            pool.sentence = "The pipe can hold water.".to_owned();
        }
        let text = Report::new(&answers).summary();
        assert!(text.starts_with(&format!("{}\n", answers.sentence)), "{name}");
        assert!(text.is_ascii(), "{name}");
        assert!(text.lines().skip(1).all(|l| l.chars().count() <= 100), "{name}");
        let undecided = answers.findings.iter().filter(|f| f.subject != "lateral" && f.finding == "undecided").count();
        assert!(text.contains(&format!(" {undecided} undecided")), "{name}");
        for face in [text, Report::new(&answers).profile_svg(), Report::new(&answers).page_html().unwrap()] {
            assert!(!face.contains("holds water") && !face.contains("pool holds") && !face.contains(": holds"));
        }
    }
    assert!(Report::new(&demo("long-messy")).summary().contains("3 undecided"));
}

#[test]
fn findings_come_in_order_of_what_matters() {
    let page = Report::new(&demo("two-bellies")).page_html().unwrap();
    let places: Vec<usize> = ["lateral: fails", "reach 1: fails", "backfall: fails", "reach 2: meets"]
        .iter()
        .map(|heading| page.find(heading).unwrap())
        .collect();
    assert!(places.is_sorted());
    assert!(page.contains("its value was not checked in the document itself") && page.contains("Invented example"));
    assert!(page.contains("They hold if the stated error sources are the only ones"));
}

#[test]
fn the_axes_are_in_the_reader_s_units() {
    for (name, bottom, left) in [("two-bellies", "m", "mm"), ("by-hand", "ft", "in")] {
        let svg = Report::new(&demo(name)).profile_svg();
        let all = elements(&svg);
        let texts: Vec<_> = all.iter().filter(|e| e.name == "text").collect();
        // The axis of stations is the last that begins at 0; the unit of the heights stands at the left edge.
        let zeros: Vec<&str> = texts.iter().map(|e| e.text).filter(|t| matches!(*t, "0 m" | "0 ft")).collect();
        assert_eq!(zeros.len(), 2, "{name}");
        assert_eq!(zeros[1], format!("0 {bottom}"), "{name}");
        let unit = texts.iter().find(|e| e.text == left).unwrap();
        assert!(unit.number("x") < 100.0, "{name}");
    }
}

#[test]
fn slopes_asked_for_are_told_apart() {
    // Both are "at least 1 in DN", of a DN 110 and of a DN 100.
    let svg = Report::new(&demo("long-messy")).profile_svg();
    assert!(svg.contains("that is 1 in 110<") && svg.contains("that is 1 in 100<"));
}

/// The page's part under a heading of the second or third rank, up to the next of its own rank or above.
fn part<'a>(page: &'a str, heading: &str) -> &'a str {
    let start = page.find(heading).unwrap_or_else(|| panic!("no {heading}"));
    let rest = &page[start + heading.len()..];
    let end = rest.find("<h2>").unwrap_or(rest.len());
    let article = if heading.starts_with("<h3>") { rest.find("</article>").unwrap_or(end) } else { end };
    &rest[..end.min(article)]
}

/// What an element with a title tells: the titles of a picture, in order.
fn titles(svg: &str) -> Vec<&str> {
    svg.split("<title>").skip(1).map(|t| t.split("</title>").next().unwrap()).collect()
}

/// The middle of a polygon.
fn middle(e: &Element) -> (f64, f64) {
    let corners = points(e.get("points"));
    let n = corners.len() as f64;
    (corners.iter().map(|p| p.0).sum::<f64>() / n, corners.iter().map(|p| p.1).sum::<f64>() / n)
}

/// Those that no reach's beginning made certain.
fn found_breaks(answers: &Answers) -> Vec<&SegmentRow> {
    let begins = |s: &SegmentRow| answers.job.reaches.iter().any(|r| r.from_m.to_bits() == s.from_m.to_bits());
    answers.segments.iter().skip(1).filter(|s| s.break_probability.is_some() && !begins(s)).collect()
}

const LOOKS: [&str; 3] = ["fw-sure", "fw-likely", "fw-doubtful"];

#[test]
fn each_break_that_was_found_has_a_mark_whose_look_is_its_probability() {
    let mut answers = demo("two-bellies");
    // The fifth begins a reach; as one reach all five are found.
    answers.job.reaches.truncate(1);
    let chances = [1.0, 0.95, 0.949, 0.5, 0.1];
    assert_eq!(answers.segments.len(), chances.len() + 1);
    for (segment, chance) in answers.segments.iter_mut().skip(1).zip(chances) {
        segment.break_probability = Some(chance);
    }
    let svg = Report::new(&answers).profile_svg();
    let (frame, _) = Frame::read(&answers, &svg);
    let all = elements(&svg);
    // The first of each look is in the key.
    let marks = |look: &str| with_class(&all, "polygon", look).into_iter().skip(1).map(middle).collect::<Vec<_>>();
    assert_eq!(LOOKS.map(|look| marks(look).len()), [2, 2, 1]);
    let bars: Vec<Vec<(f64, f64)>> =
        with_class(&all, "path", "fw-within").iter().skip(1).map(|e| points(e.get("d"))).collect();
    let breaks = found_breaks(&answers);
    let placed = LOOKS.iter().flat_map(|look| marks(look));
    for ((x, y), (segment, bar)) in placed.zip(breaks.iter().zip(&bars)) {
        assert!((x - frame.x(segment.from_m)).abs() < PX);
        assert!((y - frame.y(height_at(&answers.path, segment.from_m))).abs() < PX);
        assert!((bar[0].0 - frame.x(segment.break_low_m.unwrap())).abs() < PX);
        assert!((bar[1].0 - frame.x(segment.break_high_m.unwrap())).abs() < PX);
        // The bar is apart from the mark, which is 6.5 px from its middle to its corners.
        assert!(bar[0].1 > y + 6.5 + PX);
    }
    let summed = "6 of constant tilt; of the 5 changes of slope that were found 2 are there for sure";
    assert!(Report::new(&answers).summary().contains(summed));
    let told: Vec<&str> = titles(&svg).into_iter().filter(|t| t.contains("The slope after it")).collect();
    assert_eq!(told.len(), 5);
    assert!(
        told[0].starts_with("The slope changes at chainage 6.01 m for sure (more than 99 %). The change lies between")
    );
    assert!(
        told[2].starts_with("The slope is likely to change at chainage 13.04 m (about 95 %, 9 in 10). If it does, ")
    );
    assert!(told[4].starts_with("It is doubtful whether the slope changes at chainage 16.00 m (about 10 %, 1 in 10)."));
    for (title, segment) in told.iter().zip(&breaks) {
        let row = answers.path.iter().find(|r| r.station_m.to_bits() == segment.from_m.to_bits()).unwrap();
        let mm = |m: f64| Words::Uk.small(m);
        let height = format!("{} ({} to {})", mm(row.height_m), mm(row.height_low_m), mm(row.height_high_m));
        assert!(title.contains(&height), "{title}: not {height}");
        let slope = Words::Uk.slope_range(segment.slope_low.unwrap(), segment.slope_high.unwrap());
        assert!(title.contains(&slope), "{title}: not {slope}");
    }
}

#[test]
fn breaks_that_were_given_have_no_mark() {
    for name in DEMOS {
        let answers = demo(name);
        let svg = Report::new(&answers).profile_svg();
        let all = elements(&svg);
        let marks: usize = LOOKS.iter().map(|look| with_class(&all, "polygon", look).len()).sum();
        let found = found_breaks(&answers).len();
        assert_eq!(marks, if found > 0 { found + LOOKS.len() } else { 0 }, "{name}");
        assert_eq!(svg.contains("The slope changes here:"), found > 0, "{name}");
    }
    // Both of its breaks are where reaches begin.
    assert!(!Report::new(&demo("good-lateral")).profile_svg().contains("The slope changes here:"));
    let page = Report::new(&demo("by-hand")).page_html().unwrap();
    assert_eq!(part(&page, "<h2>Slopes by segment</h2>").matches("given, not found in the readings").count(), 11);
}

#[test]
fn the_table_of_segments_says_of_each_break_whether_and_where() {
    let mut answers = demo("two-bellies");
    let found = answers.segments.iter_mut().filter(|s| s.break_probability.is_some());
    for (segment, chance) in found.zip([0.999, 0.7, 0.3, 1.0, 1.0]) {
        segment.break_probability = Some(chance);
    }
    answers.segments[4].break_low_m = None;
    for words in [Words::Uk, Words::Us] {
        answers.job.report.words = words;
        let page = Report::new(&answers).page_html().unwrap();
        let table = part(&page, "<h2>Slopes by segment</h2>");
        let chances = ["sure (more than 99 %)", "likely (about 70 %, 7 in 10)", "doubtful (about 30 %, 3 in 10)"];
        for (segment, chance) in answers.segments[1..4].iter().zip(chances) {
            let station = |m: Option<f64>| words.station(m.unwrap());
            let place = format!("between {} and {}", station(segment.break_low_m), station(segment.break_high_m));
            let cell = format!("<td>{chance}<br/><span class=\"interval\">{place}</span></td>");
            assert!(table.contains(&cell), "{words:?}: {cell}");
        }
        assert!(table.contains("<td>the survey begins here</td>") && table.contains("<td>a reach begins here</td>"));
        assert!(table.contains("<span class=\"interval\">not determined"));
    }
}

#[test]
fn intervals_stand_under_slopes_falls_lengths_and_heights() {
    let answers = demo("two-bellies");
    let page = Report::new(&answers).page_html().unwrap();
    let words = Words::Uk;
    let cell =
        |figure: String, interval: String| format!("<td>{figure}<br/><span class=\"interval\">{interval}</span></td>");
    let ends = |low: f64, high: f64, say: &dyn Fn(f64) -> String| format!("{} to {}", say(low), say(high));
    let small = |m: f64| words.small(m);
    let table = part(&page, "<h2>Slopes by reach</h2>");
    for r in answers.reaches.iter().chain([&answers.total]) {
        let slope = words.slope_range(r.slope_low.unwrap(), r.slope_high.unwrap());
        assert!(table.contains(&cell(words.slope(r.slope.unwrap()), slope)));
        assert!(table.contains(&cell(small(r.fall_m), ends(r.fall_low_m, r.fall_high_m, &small))));
        let half = 1.959_964 * r.length_sd_m;
        let length = ends(r.length_m - half, r.length_m + half, &|m| words.length(m));
        assert!(table.contains(&cell(words.length(r.length_m), length)));
    }
    let table = part(&page, "<h2>Slopes by segment</h2>");
    for s in &answers.segments {
        assert!(table.contains(&words.slope_range(s.slope_low.unwrap(), s.slope_high.unwrap())));
        let half = 1.959_964 * s.fall_sd_m;
        assert!(table.contains(&cell(small(s.fall_m), ends(s.fall_m - half, s.fall_m + half, &small))));
    }
    let table = part(&page, "<h2>Heights of the invert</h2>");
    assert!(table.contains("counted from chainage 0.00 m, with the error of the elevation given there"));
    for row in [answers.path.first().unwrap(), answers.path.last().unwrap()] {
        assert!(table.contains(&cell(small(row.height_m), ends(row.height_low_m, row.height_high_m, &small))));
        let e = row.elevation_m.unwrap();
        let (low, high) = (e + row.height_low_m - row.height_m, e + row.height_high_m - row.height_m);
        assert!(table.contains(&cell(format!("{e:.3} m"), ends(low, high, &|m| format!("{m:.3} m")))));
    }
    for place in ["where drive begins", "connection: from the kitchen", "deepest point of belly 2", "sill of belly 1"] {
        assert!(table.contains(&format!("<td>{place}</td>")), "{place}");
    }
}

#[test]
fn the_band_is_the_interval_of_heights_and_says_from_where() {
    // Where there are ties, as a check of the head is one, there are two bands to tell apart.
    for (name, band, from) in [
        ("two-bellies", "close hatching", "counted from chainage 0.00 m, with the error of the elevation given there."),
        ("backfall-at-main", "band", "counted from 0+00.0, where the run starts."),
    ] {
        let answers = demo(name);
        let svg = Report::new(&answers).profile_svg();
        assert!(
            svg.contains(&format!("The {band} is the 95 % interval of the invert at each place by itself, {from}"))
        );
        let (frame, _) = Frame::read(&answers, &svg);
        let all = elements(&svg);
        let band = points(with_class(&all, "polygon", "fw-band")[0].get("points"));
        let high = answers.path.iter().map(|r| r.height_high_m);
        let low = answers.path.iter().rev().map(|r| r.height_low_m);
        assert_eq!(band.len(), 2 * answers.path.len());
        for (point, height_m) in band.iter().zip(high.chain(low)) {
            assert!((point.1 - frame.y(height_m)).abs() < PX, "{name}");
        }
    }
}

#[test]
fn bellies_say_first_whether_they_are_there_and_no_lower_limit_that_is_not_given() {
    let possible = demo("long-messy");
    assert!(possible.pools[0].depth_low_m.is_none() && possible.pools[0].depth_high_m.is_some());
    let page = Report::new(&possible).page_html().unwrap();
    let belly = part(&page, "<h3>Belly 1: it may be there</h3>");
    let first = belly.find("A belly may be there; the probability is about 8").unwrap();
    assert!(first < belly.find("Greatest depth it can hold").unwrap());
    // Depth and volume.
    assert!(belly.matches("<dd>at most ").count() >= 2, "{belly}");
    assert!(!belly.contains("95 % interval") && !belly.contains("at least"));
    let svg = Report::new(&possible).profile_svg();
    let label = svg.split('>').find(|t| t.starts_with("1: ")).unwrap();
    assert!(label.starts_with("1: a belly may be there, about 8") && label.contains("it can hold at most 41 mm deep"));
    assert!(!label.contains("95 %"));

    let found = demo("two-bellies");
    let page = Report::new(&found).page_html().unwrap();
    for (i, pool) in found.pools.iter().enumerate() {
        let belly = part(&page, &format!("<h3>Belly {}: there for sure</h3>", i + 1));
        let mm = |m: Option<f64>| Words::Uk.small(m.unwrap());
        let (low, high) = (mm(pool.depth_low_m), mm(pool.depth_high_m));
        assert!(belly.contains(&format!("(95 % interval {low} to {high})")));
        assert!(belly.contains("A belly is there for sure; the probability is more than 99 %."));
        assert!(
            Report::new(&found)
                .profile_svg()
                .contains(&format!("a belly for sure; it can hold {} deep (95 %: {low} to {high})", {
                    Words::Uk.small(pool.depth_m)
                }))
        );
    }
}

const MEANS: &str = "means that these data cannot carry a verdict";

#[test]
fn what_undecided_means_stands_beside_the_first_finding_that_is() {
    for name in DEMOS {
        let answers = demo(name);
        let page = Report::new(&answers).page_html().unwrap();
        let undecided = page.matches("<article class=\"finding undecided\">").count();
        assert_eq!(page.matches(MEANS).count(), usize::from(undecided > 0), "{name}");
        assert_eq!(page.matches("What would decide it</dt>").count(), undecided.saturating_sub(1), "{name}");
        if undecided > 0 {
            let first = page.find("<article class=\"finding undecided\">").unwrap();
            let article = page[first..].split("</article>").next().unwrap();
            assert!(article.contains(MEANS) && article.contains("It does not mean that the pipe is probably fine."));
        }
    }
    let mut answers = demo("whole-degrees");
    for (reason, next, said) in [
        ("needs_measurement", true, "The next measurement, described at the head of this page, may decide it"),
        ("needs_measurement", false, "No quick check of the head would decide it"),
        ("too_close", false, "nothing practical would decide it."),
        ("not_surveyed", false, "Only a survey of the stretch that no reading saw would decide it."),
        ("contradicted", false, "First measure again what may be wrong"),
        ("no_rule", false, "No measurement would decide it"),
        ("input_missing", false, "once the missing fact stands in the job."),
    ] {
        for f in answers.findings.iter_mut().filter(|f| f.finding == "undecided") {
            f.reason = Some(reason.to_owned());
        }
        if !next {
            answers.next = None;
        }
        let page = Report::new(&answers).page_html().unwrap();
        let paragraph = page.split(MEANS).nth(1).unwrap().split("</p>").next().unwrap();
        assert!(paragraph.contains(said), "{reason}: {paragraph}");
    }
    // Parts that wait for different things speak for themselves.
    let page = Report::new(&demo("long-messy")).page_html().unwrap();
    assert!(page.split(MEANS).nth(1).unwrap().split("</p>").next().unwrap().contains("each says what would decide it"));
}

#[test]
fn errors_of_the_instrument_are_shown_before_and_after_with_what_the_run_said() {
    let heading = "<h3>The errors of camera and counter</h3>";
    let row = |table: &str, name: &str| {
        let start = table.find(&format!("<td>{name}")).unwrap_or_else(|| panic!("no {name} in {table}"));
        table[start..].split("</tr>").next().unwrap().to_owned()
    };
    let page = Report::new(&demo("two-bellies")).page_html().unwrap();
    let table = part(&page, heading);
    // The head was checked by reversal, and that check is a tie.
    assert!(table.contains("The head was checked: its zero error is that of the check"));
    for (name, before, said) in [
        ("zero error of the head: what it reads when level", "left to the check", "It comes from the check"),
        ("zero error and seating of the head together, run 1", "left to the check", "It comes from the check"),
        ("drift of the head at the start, run 1", "usual of such heads", "The run and the ties said nothing of it."),
        (
            "counter: true length less what it shows",
            "-0.80 % (-1.98 % to 0.38 %)",
            "The run and the ties said nothing of it.",
        ),
    ] {
        let row = row(table, name);
        assert!(row.contains(before) && row.contains("(95 % interval "), "{row}");
        assert!(row.contains(said), "{row}");
    }
    // Its pull-backs say a little of each seating, and nothing of the zero.
    let page = Report::new(&demo("long-messy")).page_html().unwrap();
    let table = part(&page, heading);
    assert!(row(table, "zero error and seating of the head together, run 1").contains("next to nothing"));
    assert!(row(table, "zero error of the head").contains("said nothing of it."));
    assert!(
        row(table, "noise of one reading, as a standard deviation, run 1 pulled back")
            .contains("found in the readings")
    );
    let mut answers = demo("two-bellies");
    let scale = answers.parameters.iter_mut().find(|p| p.name == "counter_scale").unwrap();
    scale.sd = 0.25 * scale.prior_sd;
    answers.job.instrument.noise_sd_rad = Some(0.004);
    let page = Report::new(&answers).page_html().unwrap();
    let table = part(&page, heading);
    assert!(row(table, "counter: true length").contains("Together they narrowed it to 25 % of what it was."));
    assert!(row(table, "noise of one reading").contains("It was given in the job."));
    assert!(
        part(&page, "<h2>What these figures assume</h2>")
            .contains("Each time the head is put in, its seating may shift all its readings, within 0.20 degrees")
    );
}

#[test]
fn the_answers_say_what_was_taken_of_each_run_s_noise() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/demos/long-messy/job.toml");
    let lateral = Lateral::solve(fallwise_files::job::read(&path).unwrap().job).unwrap();
    let answers = lateral.answers(None).unwrap();
    let value = |name: &str, run: &str| {
        let row = answers.parameters.iter().find(|p| p.name.starts_with(name) && p.name.ends_with(run)).unwrap();
        assert!(row.sd == 0.0 && row.prior_sd == 0.0, "{row:?}");
        row.value.to_bits()
    };
    let trace = &lateral.traces()[0];
    let pull = trace.pull.as_ref().unwrap();
    for (run, noise, correlation, rounding) in [
        (", run 1", trace.noise_sd_rad, trace.correlation_m, trace.rounding_sd_rad),
        (", run 1 pulled back", pull.noise_sd_rad, pull.correlation_m, pull.rounding_sd_rad),
    ] {
        assert_eq!(value("noise_rad", run), noise.to_bits());
        assert_eq!(value("correlation_m", run), correlation.to_bits());
        assert_eq!(value("rounding_rad", run), rounding.to_bits());
        assert_eq!(value("step_rad", run), trace.resolution_rad.to_bits());
    }
}

#[test]
fn what_is_not_allowed_for_stands_before_the_cautions_and_in_the_picture() {
    for name in DEMOS {
        let answers = demo(name);
        let page = Report::new(&answers).page_html().unwrap();
        let list = part(&page, "<h2>What these figures do not allow for</h2>");
        assert!(!answers.not_covered.is_empty());
        assert_eq!(list.matches("<li>").count(), answers.not_covered.len());
        assert!(page.find("do not allow for").unwrap() < page.find("<h2>Cautions</h2>").unwrap());
        let svg = Report::new(&answers).profile_svg();
        let texts: Vec<String> =
            elements(&svg).iter().filter(|e| e.name == "text").map(|e| e.text.to_owned()).collect();
        let texts = texts.join(" ");
        for sentence in &answers.not_covered {
            assert!(list.contains(sentence.as_str()) && texts.contains(sentence.as_str()), "{name}: {sentence}");
        }
    }
}

/// Nothing that only comes of putting pieces together where one is missing; sentences end as sentences do.
#[test]
fn no_sentence_is_glued() {
    for name in DEMOS {
        for words in [Words::Uk, Words::Us] {
            let mut answers = demo(name);
            answers.job.report.words = words;
            let (page, svg) = (Report::new(&answers).page_html().unwrap(), Report::new(&answers).profile_svg());
            let page = &page[page.find("<main>").unwrap()..page.find("<footer>").unwrap()];
            let texts = page.split('<').chain(svg.split('<')).filter_map(|piece| piece.split_once('>'));
            for (_, text) in texts.filter(|(head, _)| !head.starts_with("style")) {
                for glued in [" ,", " .", "()", "( ", " )", ";;", "; ;", ";.", ":.", ": .", ",.", "..", ": ;"] {
                    assert!(!text.contains(glued), "{name}: \u{201c}{glued}\u{201d} in {text}");
                }
            }
            let whole = page.split("<p>").chain(page.split("<p class=\"meaning\">")).skip(1);
            for text in whole.filter_map(|p| p.split("</p>").next()).filter(|t| !t.contains('<')) {
                assert!(text.ends_with(['.', ':', '?']), "{name}: {text}");
            }
            for title in titles(&svg).iter().filter(|t| t.contains("slope") || t.contains("Slope")) {
                assert!(title.ends_with('.'), "{name}: {title}");
            }
        }
    }
}

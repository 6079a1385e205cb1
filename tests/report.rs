//! The report read back: the picture's geometry, what strangers' texts may not do, and odd answers.

#![allow(clippy::unwrap_used, reason = "the helpers of a test may panic as the test may")]

use core::f64::consts::FRAC_PI_2;
use std::path::Path;

use fallwise::{
    Answers, Lateral, Rulebook,
    answers::{NoteRow, PathRow},
};
use fallwise_report::{page_html, profile_svg, summary};

const DEMOS: [&str; 6] = ["backfall-at-main", "by-hand", "good-lateral", "long-messy", "two-bellies", "whole-degrees"];

fn demo(name: &str) -> Answers {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/demos").join(name).join("job.toml");
    let loaded = fallwise_files::job::read(&path).unwrap();
    let book = loaded.job.rules.rulebook.clone().map(|name| Rulebook::shipped(&name).unwrap());
    Lateral::solve(loaded.job).unwrap().answers(book.as_ref()).unwrap()
}

/// An element as `<name attributes>text`, up to the next element.
struct Element<'a> {
    name: &'a str,
    head: &'a str,
    text: &'a str,
}

impl Element<'_> {
    fn get(&self, attribute: &str) -> &str {
        let start = self.head.find(&format!(" {attribute}=\"")).map(|i| i + attribute.len() + 3);
        start.and_then(|i| self.head[i..].split('"').next()).unwrap_or("")
    }
    fn number(&self, attribute: &str) -> f64 {
        self.get(attribute).parse().unwrap()
    }
}

/// All elements; panics where tags do not close in order or a mark is not escaped.
fn elements(svg: &str) -> Vec<Element<'_>> {
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

fn with_class<'a>(all: &'a [Element], name: &str, class: &str) -> Vec<&'a Element<'a>> {
    all.iter().filter(|e| e.name == name && e.get("class") == class).collect()
}

/// "M1 2L3 4" or "1,2 3,4".
fn points(list: &str) -> Vec<(f64, f64)> {
    let numbers: Vec<f64> =
        list.split(['M', 'L', ' ', ',']).filter(|s| !s.is_empty()).map(|s| s.parse().unwrap()).collect();
    numbers.chunks(2).map(|p| (p[0], p[1])).collect()
}

/// Coordinates are printed to 0.001 px; a scale read off two of them is off by less than twice that over the picture.
const PX: f64 = 0.01;

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
        let svg = profile_svg(&answers);
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
    let svg = profile_svg(&answers);
    assert!(svg.contains("drop of 940 mm not drawn to height"));
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
    let svg = profile_svg(&answers);
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
    let wide = 0.5 * size * e.text.chars().count() as f64;
    let x = e.number("x");
    let left = match e.get("text-anchor") {
        "middle" => x - 0.5 * wide,
        "end" => x - wide,
        _ => x,
    };
    (left, left + wide, e.number("y"))
}

fn assert_readable(name: &str, svg: &str) {
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
        assert_readable(name, &profile_svg(&demo(name)));
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
    let svg = profile_svg(&long);
    assert!(svg.contains("more bellies: no room here") && svg.contains("more in the report"));
    assert_readable("long", &svg);

    let (mut short, _) = laid(1, 3.0);
    short.pools.clear();
    short.reaches.clear();
    short.noted.clear();
    for row in &mut short.path {
        row.bore_m = None;
    }
    assert_readable("short", &profile_svg(&short));
}

const HOSTILE: &str =
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
    let svg = profile_svg(&answers);
    elements(&svg);
    let page = page_html(&answers).unwrap();
    for text in [&svg, &page] {
        assert!(!text.contains("<script") && !text.contains("]]>") && !text.contains("-->"));
        assert!(!text.chars().any(|c| c.is_control() && c != '\n') && !text.contains('\u{202e}'));
        assert!(!text.contains("href=") && !text.contains("src="));
    }
    assert_eq!(page.matches("</svg>").count(), 1);
    assert_eq!(page.matches("</style>").count(), 2);
    assert!(!summary(&answers).chars().any(|c| c.is_control() && c != '\n'));
}

fn assert_no_missing_numbers(answers: &Answers) {
    let faces = [profile_svg(answers), page_html(answers).unwrap(), summary(answers)];
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
    assert_eq!(profile_svg(&a), profile_svg(&b));
    assert_eq!(page_html(&a).unwrap(), page_html(&b).unwrap());
    assert_eq!(summary(&a), summary(&b));
}

#[test]
fn summaries_begin_with_the_sentence_and_count_the_undecided() {
    for name in DEMOS {
        let mut answers = demo(name);
        // The sentences of pools are the library's; what is printed around them is the report's.
        for pool in &mut answers.pools {
            pool.sentence = "The pipe can hold water.".to_owned();
        }
        let text = summary(&answers);
        assert!(text.starts_with(&format!("{}\n", answers.sentence)), "{name}");
        assert!(text.is_ascii(), "{name}");
        assert!(text.lines().skip(1).all(|l| l.chars().count() <= 100), "{name}");
        let undecided = answers.findings.iter().filter(|f| f.subject != "lateral" && f.finding == "undecided").count();
        assert!(text.contains(&format!(" {undecided} undecided")), "{name}");
        for face in [text, profile_svg(&answers), page_html(&answers).unwrap()] {
            assert!(!face.contains("holds water") && !face.contains("pool holds") && !face.contains(": holds"));
        }
    }
    assert!(summary(&demo("long-messy")).contains("3 undecided"));
}

#[test]
fn findings_come_in_order_of_what_matters() {
    let page = page_html(&demo("two-bellies")).unwrap();
    let places: Vec<usize> = ["lateral: fails", "reach 1: fails", "backfall: fails", "reach 2: meets"]
        .iter()
        .map(|heading| page.find(heading).unwrap())
        .collect();
    assert!(places.is_sorted());
    assert!(page.contains("not seen in the primary document") && page.contains("Invented example"));
    assert!(page.contains("They hold if the stated error sources are the only ones"));
}

#[test]
fn the_axes_are_in_the_reader_s_units() {
    for (name, bottom, left) in [("two-bellies", "m", "mm"), ("by-hand", "ft", "in")] {
        let svg = profile_svg(&demo(name));
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
    let svg = profile_svg(&demo("long-messy"));
    assert!(svg.contains("that is 1 in 110<") && svg.contains("that is 1 in 100<"));
}

//! What is known beside the runs, read back from the faces: the picture's geometry, the page, what strangers' names may not do.

#![allow(missing_docs, reason = "a test is no library")]
#![allow(clippy::unwrap_used, reason = "the helpers of a test may panic as the test may")]

use fallwise::{
    Answers, Bore, Job, Lateral, Pipe, Reach, Rulebook, Run,
    adjust::Z_95,
    answers::{NextRow, PathRow, TieRow},
    math,
    model::{AsBuilt, Feature, FeatureKind, Known, Note, Place, ReversalCheck, Seen, Step, Tie},
    units::{Words, deg},
};
use fallwise_report::Report;
use roxmltree::{Document, Node, ParsingOptions};

/// True tilts, degrees: a belly between 10 and 15 m of a lateral at 2 %; `drop_m`: there 0.3 m of pipe stand upright.
fn tilt_deg(station_m: f64, drop_m: Option<f64>) -> f64 {
    match station_m {
        s if drop_m.is_some_and(|d| (d..d + 0.6).contains(&s)) => 85.0,
        s if (10.0..13.0).contains(&s) => 1.9,
        s if (13.0..15.0).contains(&s) => -0.6,
        _ => 1.2,
    }
}

/// A run over it whose head reads 0.2 degrees too much, with a noise that is always the same.
fn job(length_m: f64, drop_m: Option<f64>, words: Words) -> Job {
    let mut counter_m = Vec::new();
    let mut reading_rad = Vec::new();
    let mut i = 0_u32;
    while 0.1 * f64::from(i) <= length_m + 1e-9 {
        let station_m = 0.1 * f64::from(i);
        let noise = f64::from((i * 7919 + 13) % 101) / 101.0 - 0.5;
        counter_m.push(station_m);
        reading_rad.push(deg(tilt_deg(station_m, drop_m) + 0.2 + 0.4 * noise));
        i += 1;
    }
    let pipe = Pipe { bore: Some(Bore::circle(0.1).unwrap()), ..Pipe::default() };
    let feature = |kind, station_m| Feature { kind, station_m, to_m: None, text: String::new() };
    let mut job = Job {
        runs: vec![Run::new(counter_m, reading_rad)],
        reaches: vec![Reach { from_m: 0.0, to_m: length_m, pipe, ..Reach::default() }],
        features: vec![feature(FeatureKind::Cleanout, 0.0), feature(FeatureKind::Main, length_m)],
        ..Job::default()
    };
    job.report.words = words;
    job
}

/// Height of the true pipe above its start, m.
fn true_m(station_m: f64, drop_m: Option<f64>) -> f64 {
    let steps = 10_000_u32;
    let step = station_m / f64::from(steps);
    -(0..steps).map(|i| step * math::sin(deg(tilt_deg(step * (f64::from(i) + 0.5), drop_m)))).sum::<f64>()
}

const DATUM_M: f64 = 30.0;

fn invert(station_m: f64, off_m: f64, drop_m: Option<f64>) -> Tie {
    let elevation_m = DATUM_M + true_m(station_m, drop_m) + off_m;
    Tie::new(Known::Invert { at: Place::new(station_m), elevation_m, sd_m: 0.007 })
}

fn named(name: &str, tie: Tie) -> Tie {
    Tie { name: name.to_owned(), ..tie }
}

fn edges(from_m: f64, to_m: f64) -> Tie {
    Tie::new(Known::WaterLevel {
        from: Place::new(from_m),
        to: Place::new(to_m),
        level_sd_m: None,
        seen: Seen::Edge,
        although_running: false,
    })
}

fn solved(job: Job) -> Answers {
    let book = Rulebook::shipped("ipc-2021").unwrap();
    Lateral::solve(job).unwrap().answers(Some(&book)).unwrap()
}

/// How wrong the third invert is, m: 4 of the standard deviations that it may be off by what everything else says, 9 mm.
const WRONG_M: f64 = 0.036;

/// Four levelled inverts, the third wrong.
fn four(words: Words) -> Answers {
    let mut job = job(24.0, None, words);
    let third = named("chamber in the yard", invert(16.0, WRONG_M, None));
    job.ties = vec![invert(0.0, 0.0, None), invert(8.0, 0.0, None), third, invert(23.9, 0.0, None)];
    solved(job)
}

/// The same without the wrong one.
fn three(words: Words) -> Answers {
    let mut job = job(24.0, None, words);
    job.ties = vec![invert(0.0, 0.0, None), invert(8.0, 0.0, None), invert(23.9, 0.0, None)];
    solved(job)
}

fn parsed(text: &str) -> Document<'_> {
    Document::parse_with_options(text, ParsingOptions { allow_dtd: true, ..ParsingOptions::default() }).unwrap()
}

fn of_class<'a, 'd>(document: &'a Document<'d>, class: &str) -> Vec<Node<'a, 'd>> {
    document.descendants().filter(|n| n.attribute("class") == Some(class)).collect()
}

fn number(node: Node, name: &str) -> f64 {
    node.attribute(name).unwrap().parse().unwrap()
}

/// "M1 2L3 4" or "1,2 3,4".
fn points(list: &str) -> Vec<(f64, f64)> {
    let numbers: Vec<f64> =
        list.split(['M', 'L', ' ', ',']).filter(|s| !s.is_empty()).map(|s| s.parse().unwrap()).collect();
    numbers.chunks(2).map(|p| (p[0], p[1])).collect()
}

/// Coordinates are printed to 0.001 px; a scale read off two of them is off by less than a few times that.
const PX: f64 = 0.01;

/// From stations and heights to px, read off the drawn invert.
struct Frame {
    along: (f64, f64),
    up: (f64, f64),
}

impl Frame {
    fn read(answers: &Answers, document: &Document) -> Self {
        let path = of_class(document, "fw-invert").into_iter().find(|n| n.has_tag_name("path")).unwrap();
        let nodes = points(path.attribute("d").unwrap());
        assert_eq!(nodes.len(), answers.path.len());
        let both = || nodes.iter().zip(&answers.path);
        let (a, b) = (both().next().unwrap(), both().next_back().unwrap());
        let along = (b.0.0 - a.0.0) / (b.1.station_m - a.1.station_m);
        let order = |p: &(&(f64, f64), &PathRow), q: &(&(f64, f64), &PathRow)| p.1.height_m.total_cmp(&q.1.height_m);
        let (low, high) = (both().min_by(order).unwrap(), both().max_by(order).unwrap());
        let up = (low.0.1 - high.0.1) / (high.1.height_m - low.1.height_m);
        Self { along: (a.0.0 - a.1.station_m * along, along), up: (low.0.1 + low.1.height_m * up, up) }
    }
    fn x(&self, station_m: f64) -> f64 {
        self.along.0 + self.along.1 * station_m
    }
    fn y(&self, height_m: f64) -> f64 {
        self.up.0 - self.up.1 * height_m
    }
}

fn datum_m(answers: &Answers) -> f64 {
    answers.path[0].elevation_m.unwrap() - answers.path[0].height_m
}

fn height_at(answers: &Answers, station_m: f64) -> f64 {
    let w = answers.path.windows(2).find(|w| w[0].station_m <= station_m && station_m <= w[1].station_m).unwrap();
    let t = (station_m - w[0].station_m) / (w[1].station_m - w[0].station_m);
    w[0].height_m + t * (w[1].height_m - w[0].height_m)
}

/// Marks of a class that lie in the plot, below the key.
fn marks<'a, 'd>(document: &'a Document<'d>, class: &str, y: &str) -> Vec<Node<'a, 'd>> {
    let frame = number(of_class(document, "fw-frame")[0], "y");
    of_class(document, class).into_iter().filter(|n| number(*n, y) >= frame).collect()
}

fn error_bars(document: &Document) -> Vec<Vec<(f64, f64)>> {
    let frame = number(of_class(document, "fw-frame")[0], "y");
    let bars = of_class(document, "fw-bars").into_iter().map(|n| points(n.attribute("d").unwrap()));
    bars.filter(|b| b[0].1 >= frame).collect()
}

fn near(a: f64, b: f64) {
    assert!((a - b).abs() < PX, "{a} drawn, {b} meant");
}

#[test]
fn inverts_and_their_bars_are_where_they_were_measured() {
    for words in [Words::Uk, Words::Us] {
        let answers = four(words);
        let svg = Report::new(&answers).profile_svg();
        let document = parsed(&svg);
        let (frame, datum) = (Frame::read(&answers, &document), datum_m(&answers));
        let (circles, bars) = (marks(&document, "fw-tie", "cy"), error_bars(&document));
        assert_eq!((circles.len(), bars.len()), (4, 4));
        for ((circle, bar), row) in circles.iter().zip(&bars).zip(&answers.ties) {
            near(number(*circle, "cx"), frame.x(row.station_m.unwrap()));
            near(number(*circle, "cy"), frame.y(row.value - datum));
            near(bar[0].1, frame.y(row.value + Z_95 * row.sd - datum));
            near(bar[1].1, frame.y(row.value - Z_95 * row.sd - datum));
        }
        // The suspect one, and no other, has a ring.
        let rings = marks(&document, "fw-suspect", "cy");
        assert_eq!(rings.len(), 1);
        near(number(rings[0], "cx"), frame.x(16.0));
        assert!(svg.contains(">3 does not fit<"));
    }
}

#[test]
fn both_bands_are_those_of_the_answers_and_the_axis_holds_them() {
    let answers = four(Words::Uk);
    let svg = Report::new(&answers).profile_svg();
    let document = parsed(&svg);
    let frame = Frame::read(&answers, &document);
    let whole = of_class(&document, "fw-frame")[0];
    let (top, bottom) = (number(whole, "y"), number(whole, "y") + number(whole, "height"));
    let band = |class: &str| {
        let all = of_class(&document, class);
        let polygon = all.iter().find(|n| n.has_tag_name("polygon")).unwrap();
        (points(polygon.attribute("points").unwrap()), document.descendants().position(|n| n == *polygon))
    };
    let ((after, after_at), (before, before_at)) = (band("fw-band"), band("fw-before"));
    assert!(before_at < after_at, "the wider band goes behind");
    let count = answers.path.len();
    assert_eq!((after.len(), before.len()), (2 * count, 2 * count));
    for (i, row) in answers.path.iter().enumerate() {
        let (height_m, sd_m) = (row.before_height_m.unwrap(), row.before_height_sd_m.unwrap());
        for (drawn, high, low) in
            [(&before, height_m + Z_95 * sd_m, height_m - Z_95 * sd_m), (&after, row.height_high_m, row.height_low_m)]
        {
            near(drawn[i].0, frame.x(row.station_m));
            near(drawn[i].1, frame.y(high));
            near(drawn[2 * count - 1 - i].1, frame.y(low));
            assert!(drawn[i].1 > top && drawn[2 * count - 1 - i].1 < bottom);
        }
    }
    for label in ["without the ties the pipe is somewhere in here (95 %)", "the pipe&#39;s invert is somewhere in here"]
    {
        assert!(svg.contains(label), "{label}");
    }
}

#[test]
fn still_water_is_one_level_with_a_bar_at_its_second_edge() {
    let mut job = job(24.0, None, Words::Us);
    job.ties = vec![edges(11.4, 15.0)];
    let answers = solved(job);
    let svg = Report::new(&answers).profile_svg();
    let document = parsed(&svg);
    let frame = Frame::read(&answers, &document);
    let level = frame.y(height_at(&answers, 11.4));
    let lines = marks(&document, "fw-still", "y1");
    assert_eq!(lines.len(), 1);
    near(number(lines[0], "x1"), frame.x(11.4));
    near(number(lines[0], "x2"), frame.x(15.0));
    near(number(lines[0], "y1"), level);
    near(number(lines[0], "y2"), level);
    let bars = error_bars(&document);
    assert_eq!(bars.len(), 1);
    near(0.5 * (bars[0][0].1 + bars[0][1].1), level);
    near(bars[0][1].1 - bars[0][0].1, 2.0 * Z_95 * answers.ties[0].sd * frame.up.1);
    // A single tie, and nothing that would give it away: said so.
    assert_eq!(answers.ties.len(), 1);
    assert!(Report::new(&answers).page_html().unwrap().contains("both at one height"));
}

#[test]
fn depths_height_differences_and_what_was_taped_are_drawn_where_they_belong() {
    let mut job = job(24.0, None, Words::Uk);
    let rise_m = true_m(20.0, None) - true_m(4.0, None);
    let difference = Known::HeightDifference { from: Place::new(4.0), to: Place::new(20.0), rise_m, sd_m: 0.01 };
    let depth = Known::Depth {
        at: Place::new(18.0),
        depth_m: 1.2,
        sd_m: None,
        ground_m: Some(DATUM_M + true_m(17.5, None) + 0.05 + 1.2),
        ground_sd_m: None,
        behind_m: 0.5,
        above_m: 0.05,
    };
    let elevation_m = DATUM_M + true_m(12.0, None);
    let taped = Known::Invert { at: Place { taped: true, ..Place::new(12.0) }, elevation_m, sd_m: 0.01 };
    job.ties = [difference, depth, taped].map(Tie::new).to_vec();
    let answers = solved(job);
    let svg = Report::new(&answers).profile_svg();
    let document = parsed(&svg);
    let (frame, datum) = (Frame::read(&answers, &document), datum_m(&answers));
    let bars = error_bars(&document);
    near(bars[0][0].0, frame.x(20.0));
    near(0.5 * (bars[0][0].1 + bars[0][1].1), frame.y(height_at(&answers, 4.0) + rise_m));
    // The transmitter is half a metre behind the head, and 50 mm above the invert.
    let open = marks(&document, "fw-tie-open", "cy");
    near(number(open[0], "cx"), frame.x(17.5));
    near(number(open[0], "cy"), frame.y(answers.ties[1].value - 0.05 - datum));
    // 12 m of true length are more on a counter that reads long.
    let scale = answers.total.length_m / (answers.to_m - answers.from_m);
    assert!(scale < 1.0);
    near(number(marks(&document, "fw-tie", "cy")[0], "cx"), frame.x(12.0 / scale));
}

#[test]
fn as_built_inverts_are_squares_as_far_off_as_the_answers_say() {
    let mut job = job(24.0, None, Words::Uk);
    let as_built = |station_m: f64, off_m: f64| AsBuilt {
        station_m,
        invert_m: DATUM_M + true_m(station_m, None) + off_m,
        sd_m: Some(0.01),
    };
    job.as_built = vec![as_built(2.0, 0.0), as_built(12.0, 0.15), as_built(22.0, -0.02)];
    // Without ties only their shape can be compared; with one they are elevations, and a wrong datum is at the edge.
    for tied in [false, true] {
        if tied {
            job.ties = vec![invert(0.0, 0.0, None), invert(23.9, 0.0, None)];
            job.as_built[2].invert_m += 50.0;
        }
        let answers = solved(job.clone());
        let svg = Report::new(&answers).profile_svg();
        let document = parsed(&svg);
        let frame = Frame::read(&answers, &document);
        let squares = marks(&document, "fw-as-built", "y");
        assert_eq!(squares.len(), 3);
        for (square, row) in squares.iter().zip(&answers.as_built).take(if tied { 2 } else { 3 }) {
            near(number(*square, "x") + 3.5, frame.x(row.station_m));
            near(number(*square, "y") + 3.5, frame.y(height_at(&answers, row.station_m) - row.difference_m));
        }
        if tied {
            let top = number(of_class(&document, "fw-frame")[0], "y");
            near(number(squares[2], "y") + 3.5, top + 10.0);
        }
        let page = Report::new(&answers).page_html().unwrap();
        assert!(page.contains("As-built inverts beside what was measured"));
        assert_eq!(page.contains("only the shapes can be compared"), !tied);
        assert!(page.contains("yes, the pipe lies lower"));
        assert!(!svg.contains("does not fit"));
    }
}

#[test]
fn nothing_of_it_stands_where_there_are_no_ties() {
    let answers = solved(job(24.0, None, Words::Uk));
    let (svg, page) = (Report::new(&answers).profile_svg(), Report::new(&answers).page_html().unwrap());
    for word in ["fw-before", "fw-tie", "fw-as-built", "fw-sparse", "Measured beside", "levelled", "without the ties"] {
        assert!(!svg.contains(word), "{word}");
    }
    for heading in ["What is known beside the runs", "As-built", "class=\"alarm\"", "With and without"] {
        assert!(!page.contains(heading), "{heading}");
    }
    assert!(!Report::new(&answers).summary().contains("Ties:"));
}

/// Every word in the summary on one line, as a reader reads it.
fn unwrapped(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn nobody_misses_the_suspect_tie() {
    for words in [Words::Uk, Words::Us] {
        let answers = four(words);
        assert_eq!(answers.adjustment.as_ref().unwrap().suspect_row, Some(3));
        let page = Report::new(&answers).page_html().unwrap();
        let document = parsed(&page);
        let rows = of_class(&document, "suspect");
        assert_eq!(rows.len(), 1);
        let cells: String = rows[0].descendants().filter_map(|n| n.text()).collect();
        assert!(cells.contains("chamber in the yard") && cells.contains("suspect"));
        // At the head, before the picture, and again over the table.
        let alarms = of_class(&document, "alarm");
        assert_eq!(alarms.len(), 2);
        assert!(page.find("class=\"alarm\"").unwrap() < page.find("<figure").unwrap());
        // Each figure with all ties and without it, in the reader's units.
        let (unit, other) = if words == Words::Uk { (" mm", " in<") } else { (" in", " mm") };
        let start = page.find("With and without what may be wrong").unwrap();
        let part = &page[start..start + page[start..].find("</table>").unwrap()];
        assert!(part.contains("fall over what was surveyed") && part.contains(unit) && !part.contains(other));
        let text = unwrapped(&Report::new(&answers).summary());
        assert!(text.contains("Ties: 4 figures were measured beside the runs."));
        assert!(text.contains("SUSPECT: chamber in the yard"));
    }
    let page = Report::new(&three(Words::Uk)).page_html().unwrap();
    assert!(
        page.contains("What is known beside the runs") && !page.contains("alarm\">") && !page.contains("\"suspect\"")
    );
}

#[test]
fn each_tie_is_told_whole() {
    let answers = three(Words::Uk);
    let page = Report::new(&answers).page_html().unwrap();
    let document = parsed(&page);
    let table = of_class(&document, "figures ties")[0];
    let rows: Vec<_> = table.descendants().filter(|n| n.has_tag_name("tr")).skip(1).collect();
    assert_eq!(rows.len(), answers.ties.len());
    for (row, tie) in rows.iter().zip(&answers.ties) {
        let text: String = row.descendants().filter_map(|n| n.text()).collect::<Vec<_>>().join(" ");
        for said in [
            "levelled invert".to_owned(),
            Words::Uk.station(tie.station_m.unwrap()),
            format!("{:.3} m", tie.value),
            format!("{:.3} m", tie.expected.unwrap()),
            format!("\u{b1} {}", Words::Uk.small(tie.sd)),
            Words::Uk.small(tie.misclosure.unwrap().abs()),
            format!("{:.1} standard deviations", tie.standardised.unwrap().abs()),
            Words::Uk.small(tie.smallest_detectable.unwrap()),
            "agrees".to_owned(),
        ] {
            assert!(text.contains(&said), "{said} in {text}");
        }
    }
    for line in &answers.adjustment.as_ref().unwrap().not_determined {
        assert!(page.contains(line));
    }
}

#[test]
fn a_checked_head_is_said_to_be_checked() {
    let unchecked = Report::new(&solved(job(24.0, None, Words::Uk))).page_html().unwrap();
    assert!(unchecked.contains("The head was not checked"));
    let mut with = job(24.0, None, Words::Uk);
    with.instrument.zero_checked = true;
    assert!(Report::new(&solved(with.clone())).page_html().unwrap().contains("The head was checked: the job gives"));
    with.instrument.zero_checked = false;
    let check = ReversalCheck { first_rad: deg(0.6), second_rad: deg(-0.2), sd_rad: None, tilt_positive: None };
    with.ties = vec![Tie::new(Known::ReversalCheck(check))];
    let page = Report::new(&solved(with.clone())).page_html().unwrap();
    assert!(
        page.contains("The head was checked: its zero error is that of the check")
            && !page.contains("head was not checked")
    );
    // What a checked head may have beforehand is no figure for a reader.
    assert!(page.contains("left to the check of the head") && !page.contains("within 19."));
    let level = Known::LevelCheck { reading_rad: deg(0.2), surface_rad: 0.0, sd_rad: deg(0.05), tilt_positive: None };
    with.ties.push(Tie::new(level));
    assert!(Report::new(&solved(with)).page_html().unwrap().contains("that of 2 checks"));
}

#[test]
fn water_that_does_not_fit_is_a_finding_with_its_notes() {
    let mut job = job(24.0, None, Words::Uk);
    let note = |station_m: f64, text: &str, dry_seen: bool| Note {
        station_m: Some(station_m),
        text: text.to_owned(),
        water_seen: !dry_seen,
        dry_seen,
        ..Note::default()
    };
    job.notes = vec![note(5.0, "water here", false), note(13.3, "dust here", true)];
    job.ties = vec![invert(0.0, 0.0, None), invert(23.9, 0.0, None)];
    let answers = solved(job);
    assert_eq!(answers.water.len(), 2);
    let page = Report::new(&answers).page_html().unwrap();
    for (heading, told) in [
        ("water: seen, not explained", "noted: water here (standing water seen)"),
        ("water: expected from the shape of the pipe, not seen", "noted: dust here (seen dry)"),
    ] {
        let start = page.find(heading).unwrap();
        let article = &page[start..start + page[start..].find("</article>").unwrap()];
        assert!(article.contains(told), "{article}");
        assert!(start < page.find("To know beside the findings").unwrap());
    }
    let text = unwrapped(&Report::new(&answers).summary());
    for row in &answers.water {
        assert!(page.contains(&row.sentence) && text.contains(&format!("Water: {}", row.sentence)));
    }
}

#[test]
fn the_other_measurements_stand_below_in_their_order() {
    let mut answers = three(Words::Us);
    let next = |measurement: &str, station_m: Option<f64>, expected_decided: f64| NextRow {
        measurement: measurement.to_owned(),
        station_m,
        to_m: None,
        sentence: format!("Do {measurement} now."),
        hazard: format!("Beware of {measurement}."),
        undecided_now: 3,
        expected_decided,
    };
    answers.next = Some(next("reversal_check", None, 2.4));
    answers.next_others = vec![next("water_level", Some(11.0), 1.5), next("run_from_other_end", Some(24.0), 0.7)];
    let page = Report::new(&answers).page_html().unwrap();
    let lead = &page[..page.find("<figure").unwrap()];
    assert!(lead.contains("a check of the head by reversal") && !lead.contains("Do water_level now."));
    let places: Vec<usize> = [
        "What would decide the rest",
        "Do reversal_check now.",
        "<ol start=\"2\">",
        "The two edges of still water, 0+36.1.",
        "Do water_level now.",
        "Beware of water_level.",
        "expected to decide 1.5 of them",
        "A run from the other end",
        "Beware of run_from_other_end.",
        "expected to decide 0.7 of them",
    ]
    .iter()
    .map(|text| page.find(text).unwrap_or_else(|| panic!("no {text}")))
    .collect();
    assert!(places.is_sorted());
    let text = unwrapped(&Report::new(&answers).summary());
    assert!(text.contains("the two edges of still water, 0+36.1 (1.5); a run from the other end, 0+78.7 (0.7)"));
}

/// Font sizes of the classes; half an em a character is less than the common fonts need, so that texts called overlapping do overlap.
fn assert_readable(name: &str, svg: &str) {
    let document = parsed(svg);
    let size: Vec<f64> =
        document.root_element().attribute("viewBox").unwrap().split(' ').map(|s| s.parse().unwrap()).collect();
    let boxes: Vec<(f64, f64, f64, &str)> = document
        .descendants()
        .filter(|n| n.has_tag_name("text"))
        .map(|n| {
            let (class, text) = (n.attribute("class").unwrap(), n.text().unwrap_or_default());
            let size = match class {
                c if c.contains("fw-title") => 18.0,
                c if c.contains("fw-lead") => 13.0,
                c if c.contains("fw-small") => 10.5,
                _ => 11.5,
            };
            let wide = 0.5 * size * text.chars().count() as f64;
            let left = number(n, "x")
                - match n.attribute("text-anchor").unwrap() {
                    "middle" => 0.5 * wide,
                    "end" => wide,
                    _ => 0.0,
                };
            (left, left + wide, number(n, "y"), text)
        })
        .collect();
    for (i, (left, right, y, text)) in boxes.iter().enumerate() {
        assert!(*left >= 0.0 && *right <= size[2] && *y > 5.0 && *y < size[3], "{name}: {text} leaves the picture");
        for (l, r, below, other) in &boxes[i + 1..] {
            let apart = right < l || r < left || (y - below).abs() > 8.0;
            assert!(apart, "{name}: {text} over {other}");
        }
    }
}

/// Every mark within the picture's frame.
fn assert_held(svg: &str) {
    let document = parsed(svg);
    let frame = of_class(&document, "fw-frame")[0];
    let (left, top) = (number(frame, "x"), number(frame, "y"));
    let (right, bottom) = (left + number(frame, "width"), top + number(frame, "height"));
    for class in ["fw-tie", "fw-tie-open", "fw-suspect"] {
        for node in marks(&document, class, "cy") {
            let (x, y) = (number(node, "cx"), number(node, "cy"));
            assert!(left <= x && x <= right && top <= y && y <= bottom, "{class} at {x}, {y}");
        }
    }
}

#[test]
fn long_short_and_crowded_laterals_stay_readable() {
    for words in [Words::Uk, Words::Us] {
        assert_readable("four", &Report::new(&four(words)).profile_svg());
        for (length_m, count) in [(3.0, 2), (90.0, 5), (24.0, 60)] {
            let mut job = job(length_m, None, words);
            let step = length_m / f64::from(count - 1);
            // Of those between, each stands on debris or is read a little low.
            job.ties = (0..count)
                .map(|i| invert((step * f64::from(i)).min(length_m), if i % 2 == 0 { 0.004 } else { -0.004 }, None))
                .collect();
            job.as_built = vec![
                AsBuilt { station_m: 0.0, invert_m: DATUM_M, sd_m: None },
                AsBuilt { station_m: length_m, invert_m: DATUM_M + true_m(length_m, None), sd_m: None },
            ];
            let answers = solved(job);
            let svg = Report::new(&answers).profile_svg();
            let name = format!("{count} ties in {length_m} m");
            assert_readable(&name, &svg);
            assert_held(&svg);
            assert_eq!(svg.contains("more in the report"), count > 16, "{name}");
            let page = Report::new(&answers).page_html().unwrap();
            let document = parsed(&page);
            let table = of_class(&document, "figures ties")[0];
            assert_eq!(table.descendants().filter(|n| n.has_tag_name("tr")).count(), answers.ties.len() + 1, "{name}");
        }
    }
}

#[test]
fn a_tie_on_a_drop_stays_on_it() {
    let mut job = job(24.0, Some(6.0), Words::Uk);
    job.ties = [0.0, 6.2, 12.0, 23.9].map(|s| invert(s, 0.0, Some(6.0))).to_vec();
    // On a pipe that stands upright a station decides the height: it is known to a centimetre here.
    if let Known::Invert { at, .. } = &mut job.ties[1].known {
        at.sd_m = 0.01;
    }
    let answers = solved(job);
    let svg = Report::new(&answers).profile_svg();
    assert!(svg.contains("not drawn to height"));
    assert_readable("drop", &svg);
    assert_held(&svg);
    let document = parsed(&svg);
    let circles = marks(&document, "fw-tie", "cy");
    assert_eq!(circles.len(), 4);
    // As far from the invert as drawn as it is from the invert: the drop's ends as drawn stand on either side of it.
    let path = of_class(&document, "fw-invert").into_iter().find(|n| n.has_tag_name("path")).unwrap();
    let drawn = points(path.attribute("d").unwrap());
    let (x, y) = (number(circles[1], "cx"), number(circles[1], "cy"));
    let w = drawn.windows(2).find(|w| w[0].0 <= x && x <= w[1].0).unwrap();
    let residual_m = answers.ties[1].value - datum_m(&answers) - height_at(&answers, 6.2);
    let on_line = w[0].1 + (x - w[0].0) / (w[1].0 - w[0].0) * (w[1].1 - w[0].1);
    let per_m = 24.0 / 876.0; // the frame is 876 px long
    let stated: f64 = svg.split("Heights are drawn ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
    // The pieces of the drop are drawn as one line, from which its nodes stray by less than a tenth of a px here.
    assert!((y - on_line + residual_m * stated / per_m).abs() < 0.1, "{y} {on_line} {residual_m}");
}

/// A step is a drop without length.
#[test]
fn a_tie_at_a_step_is_drawn() {
    let mut job = job(24.0, None, Words::Uk);
    job.steps = vec![Step { station_m: 8.0, rise_m: -0.01, rise_sd_m: 0.003 }];
    job.ties = vec![invert(0.0, 0.0, None), invert(8.0, 0.0, None)];
    let svg = Report::new(&solved(job)).profile_svg();
    assert_eq!(marks(&parsed(&svg), "fw-tie", "cy").len(), 2);
}

const HOSTILE: &str =
    "<script>alert(1)</script> ]]> \"quoted\" 'single' & \u{0}\u{1b}[2J\u{202e} {{ title }} --> </svg></style>";

#[test]
fn strangers_names_cannot_act() {
    let mut job = job(24.0, None, Words::Uk);
    job.ties = vec![
        named(HOSTILE, invert(0.0, 0.0, None)),
        named(&"x".repeat(5000), invert(8.0, 0.0, None)),
        named("\u{5e9}\u{5dc}\u{5d5}\u{5dd} \u{202e}abc", invert(16.0, WRONG_M, None)),
        named(&"word ".repeat(1000), invert(23.9, 0.0, None)),
    ];
    let answers = solved(job);
    let (svg, page) = (Report::new(&answers).profile_svg(), Report::new(&answers).page_html().unwrap());
    parsed(&svg);
    parsed(&page);
    for text in [&svg, &page] {
        assert!(!text.contains("<script") && !text.contains("]]>") && !text.contains("-->"));
        assert!(!text.chars().any(|c| c.is_control() && c != '\n') && !text.contains('\u{202e}'));
        assert!(text.contains("&lt;script&gt;") || text.contains("&#60;script&#62;"));
    }
    assert_eq!(page.matches("</svg>").count(), 1);
    assert_readable("hostile", &svg);
    let text = Report::new(&answers).summary();
    assert!(!text.chars().any(|c| c.is_control() && c != '\n'));
    assert!(text.lines().skip(1).all(|l| l.chars().count() <= 100 + 4), "two marks about what runs from right to left");
}

#[test]
fn odd_rows_print_no_missing_number() {
    let base = four(Words::Uk);
    let odd = |change: &dyn Fn(&mut Answers)| {
        let mut answers = base.clone();
        change(&mut answers);
        let faces = [
            Report::new(&answers).profile_svg(),
            Report::new(&answers).page_html().unwrap(),
            Report::new(&answers).summary(),
        ];
        parsed(&faces[0]);
        for face in faces {
            // "None" says on the page that no reading was changed.
            let word =
                face.split(|c: char| !c.is_alphanumeric()).find(|w| matches!(*w, "NaN" | "inf" | "Infinity" | "Some"));
            assert_eq!(word, None);
        }
    };
    let each = |a: &mut Answers, change: &dyn Fn(&mut TieRow)| a.ties.iter_mut().for_each(change);
    odd(&|a| each(a, &|t| (t.value, t.sd) = (f64::NAN, f64::INFINITY)));
    odd(&|a| each(a, &|t| (t.misclosure, t.standardised) = (Some(f64::NAN), Some(f64::INFINITY))));
    odd(&|a| each(a, &|t| (t.station_m, t.expected) = (Some(f64::NAN), Some(f64::NEG_INFINITY))));
    odd(&|a| each(a, &|t| (t.number, t.smallest_detectable) = (99, Some(f64::NAN))));
    odd(&|a| each(a, &|t| t.kind = "of another version".to_owned()));
    odd(&|a| a.path.iter_mut().for_each(|r| r.before_height_sd_m = Some(f64::INFINITY)));
    odd(&|a| a.path.iter_mut().for_each(|r| r.before_height_m = Some(f64::NAN)));
    odd(&|a| a.path.iter_mut().for_each(|r| r.elevation_m = None));
    odd(&|a| a.path.clear());
    odd(&|a| a.ties.clear());
    odd(&|a| a.adjustment = None);
    odd(&|a| a.job.ties.clear());
    odd(&|a| a.adjustment.as_mut().unwrap().suspect_row = Some(1000));
    odd(&|a| {
        let adjustment = a.adjustment.as_mut().unwrap();
        (adjustment.suspect_pair_rows, adjustment.converged) = (Some((1, 4)), false);
        adjustment.without[0].sd = f64::NAN;
    });
}

#[test]
fn the_same_answers_give_the_same_bytes() {
    let (a, b) = (four(Words::Uk), four(Words::Uk));
    assert_eq!(Report::new(&a).profile_svg(), Report::new(&b).profile_svg());
    assert_eq!(Report::new(&a).page_html().unwrap(), Report::new(&b).page_html().unwrap());
    assert_eq!(Report::new(&a).summary(), Report::new(&b).summary());
}

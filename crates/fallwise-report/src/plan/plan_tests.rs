//! The plan and the sketch read back from their pictures and held against the answers.

use fallwise::{
    Answers, Bore, Job, Lateral, Pipe, Reach, Run,
    adjust::Z_95,
    model::{AsBuilt, Bend, Feature, FeatureKind, Known, Note, Place, Tie},
    units::{Decimal, Language, Voice, Words, deg, ft},
};
use roxmltree::{Document, Node, ParsingOptions};

use super::{plan, sketch::sketch, view::PRINTED_MM, way::Way};
use crate::{Report, profile::canvas::width, tell::Teller};

/// Coordinates are printed to 0.001 px: two of them, and a scale read off two more, are off by a few times that.
const PX: f64 = 0.01;

/// A run of so many m that falls at 2 % with a belly at two fifths, its direction known to `azimuth_sd_deg`.
pub(super) fn job(length_m: f64, azimuth_sd_deg: f64, words: Words) -> Job {
    let count = 200_u32;
    let stations = || (0..=count).map(|i| length_m * f64::from(i) / f64::from(count));
    let tilt = |s: f64| match s / length_m {
        s if (0.40..0.46).contains(&s) => 1.8,
        s if (0.46..0.50).contains(&s) => -0.9,
        _ => 1.15,
    };
    let noise = |i: u32| f64::from((i * 7919 + 13) % 101) / 101.0 - 0.5;
    let readings = stations().zip(0..).map(|(s, i)| deg(tilt(s) + 0.3 * noise(i))).collect();
    let mut run = Run::new(stations().collect(), readings);
    run.start_azimuth_rad = Some(deg(40.0));
    run.start_azimuth_sd_rad = Some(deg(azimuth_sd_deg));
    (run.start_east_m, run.start_north_m, run.start_plan_sd_m) = (Some(0.0), Some(0.0), Some(0.05));
    let pipe = Pipe { bore: Some(Bore::circle(0.1).unwrap()), ..Pipe::default() };
    let half = 0.6 * length_m;
    let reach = |name: &str, from_m: f64, to_m: f64| Reach {
        name: name.to_owned(),
        from_m,
        to_m,
        pipe: pipe.clone(),
        ..Reach::default()
    };
    let mut job = Job {
        runs: vec![run],
        reaches: vec![reach("house", 0.0, half), reach("garden", half, length_m)],
        features: vec![feature(FeatureKind::Cleanout, 0.0, ""), feature(FeatureKind::Main, length_m, "")],
        ..Job::default()
    };
    job.report.words = words;
    job.report.draws = 200;
    job
}

pub(super) fn feature(kind: FeatureKind, station_m: f64, text: &str) -> Feature {
    Feature { kind, station_m, to_m: None, text: text.to_owned() }
}

/// A right angle in two bends, with what a garden has.
pub(super) fn right_angle(words: Words) -> Job {
    let mut job = job(24.0, 2.0, words);
    job.bends = vec![Bend::new(9.0, deg(45.0)), Bend::new(10.2, deg(45.0))];
    job.features.extend([
        feature(FeatureKind::Wall, 2.1, "outer wall"),
        feature(FeatureKind::Connection, 6.3, "from the kitchen"),
        feature(FeatureKind::Cleanout, 14.0, ""),
        feature(FeatureKind::Valve, 17.5, ""),
        feature(FeatureKind::Boundary, 20.0, "edge of the plot"),
    ]);
    job.notes = vec![Note { station_m: Some(12.0), text: "roots at the joint".to_owned(), ..Note::default() }];
    job.survey.invented = true;
    job.survey.title = Some("Drain of 3 Thistle Yard".to_owned());
    job.survey.landmarks = Some("north corner of the house; gate post".to_owned());
    job
}

/// Crooked and crowded: so many features, bends both ways, a loop.
pub(super) fn crowded(count: u32, words: Words) -> Job {
    let mut job = job(40.0, 3.0, words);
    job.bends = [4.0, 9.0, 14.0, 19.0, 24.0, 29.0].map(|s| Bend::new(s, deg(60.0))).to_vec();
    let kinds = [
        FeatureKind::Joint,
        FeatureKind::Connection,
        FeatureKind::Valve,
        FeatureKind::Cleanout,
        FeatureKind::Boundary,
        FeatureKind::Wall,
    ];
    let place = |i: u32| 39.0 * f64::from(i) / f64::from(count) + 0.4;
    job.features.extend((0..count).zip(kinds.into_iter().cycle()).map(|(i, kind)| feature(kind, place(i), "as found")));
    job
}

/// Taped on the surface: where the pipe is at a station, off by so much.
pub(super) fn located(answers: &Answers, station_m: f64, off_m: f64) -> Tie {
    let way = Way::new(&answers.path).unwrap();
    let at = way.at(station_m).unwrap().at;
    let (east_m, north_m) = (way.origin[0] + at[0] + off_m, way.origin[1] + at[1] - off_m);
    Tie::new(Known::Plan { at: Place::new(station_m), east_m, north_m, sd_m: 0.15 })
}

pub(super) fn solved(job: Job) -> Answers {
    Lateral::solve(job).unwrap().answers(None).unwrap()
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

fn axis(document: &Document) -> Vec<(f64, f64)> {
    let path = of_class(document, "fw-axis").into_iter().find(|n| n.has_tag_name("path")).unwrap();
    points(path.attribute("d").unwrap())
}

fn all_text(document: &Document) -> String {
    let texts = document.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text());
    texts.collect::<Vec<_>>().join(" ")
}

/// px a metre, read off the bar.
fn bar(document: &Document, class: &str, unit: &str, in_m: f64) -> f64 {
    let bar = of_class(document, class)[0];
    let title = bar.parent().unwrap().descendants().find(|n| n.has_tag_name("title")).unwrap();
    let length: f64 = title.text().unwrap().strip_suffix(unit).unwrap().trim().parse().unwrap();
    number(bar, "width") / (length * in_m)
}

/// The unit vector in px that the north arrow points along.
fn north(document: &Document) -> (f64, f64) {
    let shaft = of_class(document, "fw-north")[0];
    let (x, y) = (number(shaft, "x2") - number(shaft, "x1"), number(shaft, "y2") - number(shaft, "y1"));
    let length = fallwise::math::hypot(x, y);
    (x / length, y / length)
}

#[test]
fn the_pipe_is_drawn_as_the_bars_and_the_arrow_say() {
    for (job, turned) in [
        (right_angle(Words::Uk), false),
        (right_angle(Words::Us), false),
        (crowded(30, Words::Uk), false),
        (
            {
                let mut north = job(90.0, 1.0, Words::Us);
                north.runs[0].start_azimuth_rad = Some(deg(5.0));
                north
            },
            true,
        ),
    ] {
        let answers = solved(job);
        let svg = Report::new(&answers).plan_svg().unwrap();
        let document = parsed(&svg);
        let drawn = axis(&document);
        assert_eq!(drawn.len(), answers.path.len());
        let (per_m, per_m_ft) = (bar(&document, "fw-scale-m", "m", 1.0), bar(&document, "fw-scale-ft", "ft", ft(1.0)));
        // A bar of some hundred px, printed to 0.001.
        assert!((per_m / per_m_ft - 1.0).abs() < 1e-5, "{per_m} {per_m_ft}");
        let up = north(&document);
        assert_eq!(up != (0.0, -1.0), turned, "{up:?}");
        let right = (-up.1, up.0);
        for (a, b) in drawn.windows(2).zip(answers.path.windows(2)).chain([(&drawn[..], &answers.path[..])]) {
            let (p, q) = (a[0], a[a.len() - 1]);
            let (from, to) = (&b[0], &b[b.len() - 1]);
            let east = (to.east_m.unwrap() - from.east_m.unwrap()) * per_m;
            let north = (to.north_m.unwrap() - from.north_m.unwrap()) * per_m;
            // Of a turned plan the arrow, 48 px long and printed to 0.001 px, gives the direction to 2e-5.
            let px = if turned { PX + 3e-5 * fallwise::math::hypot(east, north) } else { PX };
            assert!((q.0 - p.0 - east * right.0 - north * up.0).abs() < px);
            assert!((q.1 - p.1 - east * right.1 - north * up.1).abs() < px);
        }
        // The scale that is stated, at the size that is stated.
        let stated: f64 = svg.split("1 : ").nth(1).unwrap().split([' ', ',']).next().unwrap().parse().unwrap();
        assert!((per_m * PRINTED_MM / 1e6 * stated - 1.0).abs() < 1e-5, "{stated}");
        assert!(svg.starts_with("<svg width=\"180mm\" height=\""));
        assert!(svg.contains(if turned { "Grid north is where the arrow" } else { "Grid north is up" }));
        assert_eq!(svg.contains("1 inch is"), answers.job.report.words == Words::Us);
    }
}

#[test]
fn the_region_holds_every_ellipse() {
    let answers = solved(right_angle(Words::Uk));
    let svg = Report::new(&answers).plan_svg().unwrap();
    let document = parsed(&svg);
    let region = of_class(&document, "fw-where").into_iter().find(|n| n.has_tag_name("path")).unwrap();
    let pieces: Vec<Vec<(f64, f64)>> =
        region.attribute("d").unwrap().split('M').filter(|p| !p.is_empty()).map(points).collect();
    let inside = |p: (f64, f64)| {
        pieces.iter().any(|piece| {
            let turn = |w: &[(f64, f64)]| (w[1].0 - w[0].0) * (p.1 - w[0].1) - (w[1].1 - w[0].1) * (p.0 - w[0].0);
            // Two roundings to 0.001 px along sides of some px.
            piece.windows(2).all(|w| turn(w) > -0.05)
        })
    };
    let per_m = bar(&document, "fw-scale-m", "m", 1.0);
    let mut ends = 0;
    for (row, at) in answers.path.iter().zip(axis(&document)) {
        // The places farthest east, west, north and south of the ellipse of 1.96 standard deviations, which lies within that of 2.45.
        let r = row.east_north_correlation.unwrap();
        for (e, n) in [(0.0, 0.0), (Z_95, r * Z_95), (-Z_95, -r * Z_95), (r * Z_95, Z_95), (-r * Z_95, -Z_95)] {
            let off = (e * row.east_sd_m.unwrap() * per_m, -n * row.north_sd_m.unwrap() * per_m);
            assert!(inside((at.0 + off.0, at.1 + off.1)), "at {}", row.station_m);
            ends += 1;
        }
        let far = 4.0 * row.east_sd_m.unwrap().max(row.north_sd_m.unwrap()) * per_m;
        if row.station_m == answers.path[0].station_m {
            assert!(!inside((at.0 - far, at.1 + far)), "not everything is inside");
        }
    }
    assert_eq!(ends, 5 * answers.path.len());
}

/// Half an em a character is less than the common fonts need, so that texts called overlapping do overlap.
const HALF: f64 = 0.5 / 0.54;

/// Texts as boxes: so much of the width that the widest fonts may need.
fn boxes(document: &Document, share: f64) -> Vec<(f64, f64, f64, f64, String)> {
    let one = |n: Node| {
        let (class, text) = (n.attribute("class").unwrap(), n.text().unwrap_or_default());
        let size = match class {
            c if c.contains("fw-title") => 18.0,
            c if c.contains("fw-lead") => 13.0,
            c if c.contains("fw-small") => 10.5,
            _ => 11.5,
        };
        let wide = share * width(text, size);
        let left = number(n, "x")
            - match n.attribute("text-anchor").unwrap() {
                "middle" => 0.5 * wide,
                "end" => wide,
                _ => 0.0,
            };
        let y = number(n, "y");
        (left, left + wide, y - 0.72 * size, y + 0.2 * size, text.to_owned())
    };
    document.descendants().filter(|n| n.has_tag_name("text")).map(one).collect()
}

/// No text over another, none outside, none on the pipe.
fn assert_readable(name: &str, svg: &str) {
    assert!(!svg.contains("NaN") && !svg.contains("inf\"") && !svg.contains("Some("), "{name}");
    let document = parsed(svg);
    let root = document.root_element();
    let size: Vec<f64> = root.attribute("viewBox").unwrap().split(' ').map(|s| s.parse().unwrap()).collect();
    let boxes = boxes(&document, HALF);
    for (i, (left, right, top, bottom, text)) in boxes.iter().enumerate() {
        assert!(
            *left >= 0.0 && *right <= size[2] && *top > 0.0 && *bottom <= size[3],
            "{name}: {text} leaves the picture"
        );
        for (l, r, t, b, other) in &boxes[i + 1..] {
            let apart = right <= l || r <= left || bottom <= t || b <= top;
            assert!(apart, "{name}: {text} over {other}");
        }
    }
    let drawn = of_class(&document, "fw-axis").into_iter().find(|n| n.has_tag_name("path"));
    for at in drawn.map(|n| points(n.attribute("d").unwrap())).unwrap_or_default() {
        let over = boxes.iter().find(|(l, r, t, b, _)| *l < at.0 && at.0 < *r && *t < at.1 && at.1 < *b);
        assert!(over.is_none(), "{name}: {over:?} covers the pipe");
    }
    for node in document.descendants().filter(|n| n.has_tag_name("path") || n.has_tag_name("polygon")) {
        let Some(list) =
            node.attribute("d").filter(|d| !d.contains('Q') && !d.contains('V')).or(node.attribute("points"))
        else {
            continue;
        };
        assert!(points(list).iter().all(|p| p.0.abs() < 1e4 && p.1.abs() < 1e5), "{name}: far out");
    }
}

/// Every label of the drawing in its frame.
fn assert_framed(svg: &str) {
    let document = parsed(svg);
    let frame = of_class(&document, "fw-frame")[0];
    let (left, top) = (number(frame, "x"), number(frame, "y"));
    let (right, bottom) = (left + number(frame, "width"), top + number(frame, "height"));
    let mut inside = 0;
    for (l, r, t, b, text) in boxes(&document, 1.0) {
        let meets = l < right && r > left && t < bottom && b > top;
        if meets {
            assert!(l >= left && r <= right && t >= top && b <= bottom, "{text} over the frame");
            inside += 1;
        }
    }
    assert!(inside >= 3, "the ends, the flow and more");
    for at in axis(&document) {
        assert!(left < at.0 && at.0 < right && top < at.1 && at.1 < bottom);
    }
}

#[test]
fn every_size_and_shape_stays_readable() {
    for words in [Words::Uk, Words::Us] {
        let mut north = job(300.0, 1.0, words);
        north.runs[0].start_azimuth_rad = Some(0.0);
        let jobs = [
            ("right angle", right_angle(words)),
            ("three metres", job(3.0, 2.0, words)),
            ("ninety", job(90.0, 2.0, words)),
            ("three hundred north", north),
            ("poor azimuth", job(24.0, 40.0, words)),
            ("thirty", crowded(30, words)),
            ("three hundred features", crowded(300, words)),
        ];
        for (name, job) in jobs {
            let answers = solved(job);
            let svg = Report::new(&answers).plan_svg().unwrap();
            assert_readable(name, &svg);
            assert_framed(&svg);
            let told = svg.contains("larger than the picture");
            assert_eq!(told, name == "poor azimuth", "{name}");
            let t = Teller::new(&answers, None);
            assert_readable(name, &sketch(&t, true));
            assert_third(name, &sketch(&t, true));
        }
    }
}

/// Letter is 279 mm high, A4 more; the picture is 180 mm wide there.
fn assert_third(name: &str, svg: &str) {
    let document = parsed(svg);
    let size: Vec<f64> =
        document.root_element().attribute("viewBox").unwrap().split(' ').map(|s| s.parse().unwrap()).collect();
    assert!(size[3] * PRINTED_MM / size[2] <= 279.0 / 3.0, "{name}: {} px", size[3]);
}

#[test]
fn numbers_are_those_of_the_profile() {
    let answers = solved(right_angle(Words::Uk));
    let (plan, profile) = (Report::new(&answers).plan_svg().unwrap(), Report::new(&answers).profile_svg());
    let list = |svg: &str| {
        let document = parsed(svg);
        let texts: Vec<(String, String)> = document
            .descendants()
            .filter(|n| n.has_tag_name("text"))
            .map(|n| (n.attribute("class").unwrap().to_owned(), n.text().unwrap_or_default().to_owned()))
            .collect();
        let start = texts.iter().position(|t| t.1 == "Noted on the way").unwrap();
        let pairs = texts[start + 1..].windows(2).filter(|w| w[0].1.parse::<u32>().is_ok());
        pairs.map(|w| format!("{} {}", w[0].1, w[1].1)).take(10).collect::<Vec<_>>()
    };
    assert_eq!(list(&plan)[..9], list(&profile)[..9]);
    let document = parsed(&plan);
    let text = all_text(&document);
    for label in ["45\u{b0} right", "rodding eye", "connection", "valve", "boundary", "the main", "flow", "belly 1"] {
        assert!(text.contains(label), "{label}");
    }
    assert!(text.contains("Landmarks that distances were taped from: north corner of the house; gate post"));
    assert!(text.contains("Invented example") && text.contains("gas emergency") && text.contains("two-sided 95 %"));
    // Who points at the connection reads where it is.
    let titles: Vec<&str> =
        document.descendants().filter(|n| n.has_tag_name("title")).filter_map(|n| n.text()).collect();
    let row = answers.path.iter().find(|r| r.station_m == answers.from_m).unwrap();
    let east = format!("east {}", Voice::english(Words::Uk).elevation(row.east_m.unwrap()));
    assert!(titles.iter().any(|t| t.contains("from the kitchen") && t.contains("north")));
    assert!(titles.iter().any(|t| t.contains(&east) && t.contains("(95 %: ")), "{east}");
}

#[test]
fn ties_in_plan_stand_where_they_were_measured() {
    let before = solved(right_angle(Words::Uk));
    let mut job = right_angle(Words::Uk);
    job.ties = vec![located(&before, 5.0, 0.1), located(&before, 15.0, -0.05), located(&before, 22.0, 0.0)];
    let answers = solved(job);
    let svg = Report::new(&answers).plan_svg().unwrap();
    assert_readable("ties", &svg);
    let document = parsed(&svg);
    let (per_m, axis) = (bar(&document, "fw-scale-m", "m", 1.0), axis(&document));
    let frame = number(of_class(&document, "fw-frame")[0], "y");
    let first = &answers.path[0];
    let circles: Vec<Node> = of_class(&document, "fw-tie")
        .into_iter()
        .filter(|n| number(*n, "cy") > frame && n.attribute("r") == Some("3.8"))
        .collect();
    let ellipses = of_class(&document, "fw-ellipse");
    let measured: Vec<_> =
        answers.ties.windows(2).filter(|w| w[0].quantity == "east_m" && w[0].kind == "plan").collect();
    assert_eq!(circles.len(), measured.len());
    for (circle, rows) in circles.iter().zip(&measured) {
        let (east, north) = (rows[0].value - first.east_m.unwrap(), rows[1].value - first.north_m.unwrap());
        assert!((number(*circle, "cx") - axis[0].0 - east * per_m).abs() < PX);
        assert!((number(*circle, "cy") - axis[0].1 + north * per_m).abs() < PX);
    }
    // The last ellipse: 2.45 standard deviations east, by a polygon about it that is 0.5 % larger (1 / cos(pi / 32)).
    let polygons: Vec<_> = ellipses.iter().filter(|n| n.has_tag_name("polygon")).collect();
    let last = points(polygons[polygons.len() - 1].attribute("points").unwrap());
    let wide = last.iter().map(|p| p.0).fold(f64::MIN, f64::max) - last.iter().map(|p| p.0).fold(f64::MAX, f64::min);
    let meant = 2.0 * 2.4477 * measured[measured.len() - 1][0].sd * per_m;
    assert!((wide / meant - 1.005).abs() < 0.001, "{wide} {meant}");
    assert!(svg.contains("tie 1") && svg.contains("Measured from the surface, and how it fits"));
}

/// The cells of the sketch's table, row by row.
fn table(svg: &str) -> Vec<Vec<String>> {
    let document = parsed(svg);
    let texts: Vec<(f64, f64, String)> = document
        .descendants()
        .filter(|n| n.has_tag_name("text"))
        .map(|n| (number(n, "x"), number(n, "y"), n.text().unwrap_or_default().to_owned()))
        .collect();
    let top = texts.iter().find(|t| t.2 == "what").unwrap().1;
    let mut rows: Vec<(f64, Vec<String>)> = Vec::new();
    for (x, y, text) in texts {
        // Letters stand in the table's first column, and nothing else of one letter stands there.
        if y > top && (x == 20.0 || x == 382.0) && text.len() == 1 {
            rows.push((y, vec![text]));
        } else if let Some((_, row)) = rows.last_mut().filter(|r| r.0 == y) {
            row.push(text);
        }
    }
    rows.into_iter().map(|r| r.1).collect()
}

#[test]
fn the_sketch_has_every_distance_in_both_units() {
    for (words, other) in [(Words::Uk, Words::Us), (Words::Us, Words::Uk)] {
        for straight in [false, true] {
            let mut job = right_angle(words);
            // A taped length 1 % longer than the counter's shows that the two differ.
            job.ties.push(Tie::new(Known::Length { from_m: 0.0, to_m: 24.0, length_m: 24.24, sd_m: 0.01 }));
            if straight {
                job.runs[0].start_azimuth_rad = None;
                (job.runs[0].start_east_m, job.runs[0].start_north_m, job.runs[0].start_plan_sd_m) = (None, None, None);
            }
            let answers = solved(job);
            let t = Teller::new(&answers, None);
            assert_eq!(plan(&t, true).is_none(), straight);
            let svg = sketch(&t, true);
            assert_readable("sketch", &svg);
            let text = all_text(&parsed(&svg));
            assert_eq!(
                text.contains(
                    "Drawn straight: directions were not measured, so that there is no north; bends as noted."
                ),
                straight
            );
            assert_eq!(of_class(&parsed(&svg), "fw-north").is_empty(), straight);
            let rows = table(&svg);
            let both = |m: f64| format!("{} ({})", words.length(m), other.length(m));
            let scale = answers.total.length_m / (answers.to_m - answers.from_m);
            assert!((scale - 1.01).abs() < 0.002, "the tie of 1 % is good to 0.01 m of 24 m: {scale}");
            let stations: Vec<f64> = answers
                .pools
                .iter()
                .flat_map(|p| [p.from_m, p.to_m])
                .chain([0.0, 2.1, 6.3, 9.0, 10.2, 14.0, 14.4, 20.0, 24.0])
                .collect();
            let mut stations = stations;
            stations.sort_by(f64::total_cmp);
            assert_eq!(rows.len(), stations.len());
            for (i, (row, station_m)) in rows.iter().zip(&stations).enumerate() {
                assert_eq!((&row[2], &row[3]), (&both(*station_m), &both(scale * station_m)), "{row:?}");
                if i > 0 {
                    assert_eq!(row[4], both(scale * (station_m - stations[i - 1])), "{row:?}");
                }
            }
            assert!(rows[0][1].starts_with("upper end, "), "the cleanout there: {:?}", rows[0]);
            assert!(rows.iter().any(|r| r[1] == "bend 45\u{b0} right") && text.contains("gas emergency"));
        }
    }
}

#[test]
fn a_distance_over_what_has_no_room_is_not_given_as_one_between_neighbours() {
    let answers = solved(crowded(30, Words::Uk));
    let svg = sketch(&Teller::new(&answers, None), true);
    assert!(svg.contains("more in the report"));
    let rows = table(&svg);
    let (last, others) = rows.split_last().unwrap();
    assert_eq!(last.len(), 4, "{last:?}");
    assert!(others.iter().skip(1).all(|r| r.len() == 5));
    let drawn = |a: &str, b: &str| {
        let m = |cell: &str| cell.split(' ').next().unwrap().parse::<f64>().unwrap();
        format!(">{:.2} m<", m(b) - m(a))
    };
    assert!(!svg.contains(&drawn(&others[others.len() - 1][3], &last[3])));
}

#[test]
fn bends_of_the_straight_sketch_point_to_their_side() {
    let mut job = right_angle(Words::Uk);
    job.runs[0].start_azimuth_rad = None;
    job.bends = vec![Bend::new(5.0, deg(-45.0)), Bend::new(15.0, deg(30.0))];
    let answers = solved(job);
    let svg = sketch(&Teller::new(&answers, None), true);
    let document = parsed(&svg);
    let line = of_class(&document, "fw-axis")[0];
    let y = number(line, "y1");
    let x = |s: f64| number(line, "x1") + s / 24.0 * (number(line, "x2") - number(line, "x1"));
    let tips: Vec<(f64, f64)> = of_class(&document, "fw-bar")
        .into_iter()
        .filter_map(|n| Some(points(n.attribute("points")?)[0]))
        .filter(|p| (p.1 - y).abs() < 20.0)
        .collect();
    assert_eq!(tips.len(), 2);
    assert!((tips[0].0 - x(5.0) - 15.0).abs() < PX && tips[0].1 < y, "left is up");
    assert!((tips[1].0 - x(15.0) - 15.0).abs() < PX && tips[1].1 > y, "right is down");
}

#[test]
fn what_is_hostile_does_no_harm() {
    let base = solved(right_angle(Words::Us));
    let hostile = "<script>alert(1)</script> ]]> \"q\" 'q' & \u{0}\u{1b}[2J\u{202e} --> </svg></style>";
    let odd = |name: &str, change: &dyn Fn(&mut Answers)| {
        let mut answers = base.clone();
        change(&mut answers);
        let t = Teller::new(&answers, None);
        let (plan, sketch) = (plan(&t, true), sketch(&t, true));
        for svg in plan.iter().chain([&sketch]) {
            parsed(svg);
            assert!(!svg.contains("<script") && !svg.contains("]]>") && !svg.contains("-->"), "{name}");
            assert!(!svg.chars().any(|c| (c.is_control() && c != '\n') || c == '\u{202e}'), "{name}");
            let word =
                svg.split(|c: char| !c.is_alphanumeric()).find(|w| matches!(*w, "NaN" | "inf" | "Infinity" | "Some"));
            assert_eq!(word, None, "{name}");
        }
        plan
    };
    let path = |a: &mut Answers, change: &dyn Fn(&mut fallwise::answers::PathRow)| a.path.iter_mut().for_each(change);
    assert!(odd("no path", &|a| a.path.clear()).is_none());
    assert!(odd("one node", &|a| a.path.truncate(1)).is_none());
    assert!(odd("no place", &|a| path(a, &|r| r.east_m = None)).is_none());
    assert!(odd("not a number", &|a| path(a, &|r| r.north_m = Some(f64::NAN))).is_none());
    assert!(odd("beyond reason", &|a| path(a, &|r| r.north_m = r.north_m.map(|n| n * 1e7))).is_none());
    assert!(odd("one station", &|a| path(a, &|r| r.station_m = 3.0)).is_none());
    let upright = odd("zero extent", &|a| path(a, &|r| (r.east_m, r.north_m) = (Some(5.0), Some(5.0)))).unwrap();
    assert!(upright.contains("fw-axis"));
    assert!(odd("no errors", &|a| path(a, &|r| r.east_sd_m = None)).unwrap().contains("no region is drawn"));
    assert!(odd("exact", &|a| path(a, &|r| (r.east_sd_m, r.north_sd_m) = (Some(0.0), Some(0.0)))).is_some());
    assert!(odd("wide", &|a| path(a, &|r| r.east_sd_m = Some(9e4))).unwrap().contains("larger than the picture"));
    assert!(odd("endless", &|a| path(a, &|r| r.east_sd_m = Some(f64::INFINITY))).is_some());
    // A hole: the plan begins anew behind it.
    let hole = odd("hole", &|a| {
        let middle = a.path.len() / 2;
        a.path[middle].east_m = None;
    });
    let hole = hole.unwrap();
    let document = parsed(&hole);
    let drawn = of_class(&document, "fw-axis").into_iter().find(|n| n.has_tag_name("path")).unwrap();
    assert_eq!(drawn.attribute("d").unwrap().matches('M').count(), 2);
    odd("ends", &|a| (a.from_m, a.to_m) = (f64::NAN, f64::INFINITY));
    odd("length", &|a| (a.total.length_m, a.total.length_sd_m) = (f64::NAN, f64::NAN));
    odd("pools", &|a| a.pools.iter_mut().for_each(|p| (p.from_m, p.depth_m) = (f64::NAN, f64::INFINITY)));
    odd("bends", &|a| a.job.bends.iter_mut().for_each(|b| b.deflection_rad = f64::NAN));
    odd("stations", &|a| a.job.features.iter_mut().for_each(|f| f.station_m = 1e300));
    odd("texts", &|a| {
        a.job.survey.title = Some(hostile.to_owned());
        a.job.survey.landmarks = Some(hostile.repeat(50));
        a.job.features.iter_mut().for_each(|f| f.text = hostile.to_owned());
        a.reaches.iter_mut().for_each(|r| r.pipe = hostile.to_owned());
        a.noted.iter_mut().for_each(|n| n.text = hostile.to_owned());
        a.pools.iter_mut().for_each(|p| p.sentence = hostile.to_owned());
    });
    // Coordinates of a country: the same picture as about the origin but for what is written of them.
    let shifted = odd("country", &|a| {
        path(a, &|r| (r.east_m, r.north_m) = (r.east_m.map(|e| e + 5e5), r.north_m.map(|n| n + 4.5e6)));
    })
    .unwrap();
    let here = Report::new(&base).plan_svg().unwrap();
    for (a, b) in axis(&parsed(&shifted)).iter().zip(axis(&parsed(&here))) {
        // A double near 4.5e6 holds 1e-9 m.
        assert!((a.0 - b.0).abs() < PX && (a.1 - b.1).abs() < PX);
    }
}

#[test]
fn a_job_of_inverts_alone_has_no_plan_and_a_sketch() {
    let as_built = |station_m: f64, invert_m: f64| AsBuilt { station_m, invert_m, sd_m: None };
    let answers = solved(Job { as_built: vec![as_built(0.0, 10.0), as_built(12.0, 9.8)], ..Job::default() });
    let t = Teller::new(&answers, None);
    assert!(plan(&t, true).is_none());
    assert_readable("inverts", &sketch(&t, true));
}

#[test]
fn the_same_answers_give_the_same_bytes_and_any_voice_is_heard() {
    let (a, b) = (solved(crowded(12, Words::Uk)), solved(crowded(12, Words::Uk)));
    assert_eq!(Report::new(&a).plan_svg(), Report::new(&b).plan_svg());
    assert_eq!(sketch(&Teller::new(&a, None), true), sketch(&Teller::new(&b, None), true));
    let german = "code = \"de\"\nname = \"Deutsch\"\ndecimal = \"comma\"\n[text]\n\"flow\" = \"Fließrichtung\"\n\"upper end\" = \"oberes Ende\"";
    let german = Language::parse(german).unwrap();
    let t = Teller::new(&a, Some(&german));
    assert!(t.voice.decimal == Decimal::Comma);
    for svg in [plan(&t, false).unwrap(), sketch(&t, true)] {
        assert!(svg.contains("Fließrichtung") && svg.contains("oberes Ende"));
        let length = t.voice.length(a.total.length_m);
        assert!(length.contains(',') && (svg.contains(&length) || svg.contains("oberes Ende: chainage 0,00 m")));
        assert_readable("German", &svg);
    }
}

//! Drawings and map: read with general libraries, they show the coordinates of the answers; strangers' texts do nothing in them.

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use std::{fs, path::Path, sync::LazyLock};

use ::dxf::{Drawing, entities::EntityType, enums::Units};
use fallwise::{
    Answers, geographic, math,
    text::visible,
    units::{Words, deg, to_ft},
};
use fallwise_examples::demos::DEMOS;
use fallwise_files::{dxf, geojson::geojson, job, output};
use geojson::{FeatureCollection, GeometryValue};
use proptest::{collection::vec, prelude::*, sample::select};

fn answers(name: &str) -> Answers {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/demos").join(name).join("job.toml");
    let loaded = job::read(&path).unwrap();
    loaded.solve().unwrap().answers(loaded.rulebook.as_ref()).unwrap()
}

static PLACED: LazyLock<Answers> = LazyLock::new(|| answers("good-lateral"));
static TIED: LazyLock<Answers> = LazyLock::new(|| answers("four-points"));

fn read(drawing: &str) -> Drawing {
    Drawing::load(&mut drawing.as_bytes()).unwrap()
}

/// Polylines of a layer.
fn lines(drawing: &Drawing, layer: &str) -> Vec<Vec<[f64; 2]>> {
    drawing
        .entities()
        .filter(|e| e.common.layer == layer)
        .filter_map(|e| match &e.specific {
            EntityType::LwPolyline(line) => Some(line.vertices.iter().map(|v| [v.x, v.y]).collect()),
            _ => None,
        })
        .collect()
}

/// Texts with their layer.
fn texts(drawing: &Drawing) -> Vec<(String, String)> {
    let text = |e: &::dxf::entities::Entity| match &e.specific {
        EntityType::Text(text) => Some((e.common.layer.clone(), text.value.clone())),
        _ => None,
    };
    drawing.entities().filter_map(text).collect()
}

fn of_layer(drawing: &Drawing, layer: &str) -> String {
    let of = texts(drawing).into_iter().filter(|(l, _)| l == layer).map(|(_, text)| text);
    of.collect::<Vec<_>>().join(" ")
}

/// Half of the last decimal of a coordinate, and what a double adds to it.
const HALF: f64 = 0.5e-4 + 1e-9;

fn assert_line(line: &[[f64; 2]], expected: &[[f64; 2]], name: &str) {
    assert_eq!(line.len(), expected.len(), "{name}");
    for (a, b) in line.iter().zip(expected) {
        assert!((a[0] - b[0]).abs() < HALF && (a[1] - b[1]).abs() < HALF, "{name}: {a:?} and {b:?}");
    }
}

fn unit(answers: &Answers, m: f64) -> f64 {
    match answers.job.report.words {
        Words::Uk => m,
        Words::Us => to_ft(m),
    }
}

#[test]
fn a_general_reader_shows_the_profile_of_every_demo() {
    for demo in DEMOS {
        let a = answers(demo.name);
        let text = dxf::profile(&a).unwrap();
        let drawing = read(&text);
        let metric = a.job.report.words == Words::Uk;
        assert_eq!(drawing.header.default_drawing_units, if metric { Units::Meters } else { Units::Feet });
        let along = |height: fn(&fallwise::answers::PathRow) -> f64| -> Vec<[f64; 2]> {
            let datum = a.path[0].elevation_m.map_or(0.0, |elevation| elevation - a.path[0].height_m);
            a.path.iter().map(|r| [unit(&a, r.station_m), unit(&a, height(r) + datum)]).collect()
        };
        assert_line(&lines(&drawing, "invert")[0], &along(|r| r.height_m), demo.name);
        let band = lines(&drawing, "band, the pipe is somewhere in here, 95 per cent");
        assert_line(&band[0], &along(|r| r.height_low_m), demo.name);
        assert_line(&band[1], &along(|r| r.height_high_m), demo.name);
        let title = of_layer(&drawing, "title");
        let up = if a.path[0].elevation_m.is_some() { "elevation of the" } else { "height above the lowest invert" };
        for said in ["INVENTED EXAMPLE", up, "1:1, no exaggeration", if metric { "metres" } else { "feet" }] {
            assert!(title.contains(said), "{}: {said} in {title}", demo.name);
        }
        assert_told(&drawing, &a);
        // Every belly that the best estimate has is drawn at its level.
        let pools = a.pools.iter().filter(|p| p.level_m.is_some()).count();
        assert_eq!(lines(&drawing, "water it can hold").len(), pools, "{}", demo.name);
        assert!(drawing.layers().all(|layer| layer.color.index() == Some(7)), "{}", demo.name);
        assert_eq!(dxf::plan(&a).is_some(), a.path.iter().any(|r| r.east_m.is_some()), "{}", demo.name);
    }
}

/// All cautions, the honest sentence, and what is not covered stand in the drawing.
fn assert_told(drawing: &Drawing, answers: &Answers) {
    let said = of_layer(drawing, "cautions");
    let honest = "They hold if the stated error sources are the only ones.".to_owned();
    for line in answers.cautions.iter().chain(&answers.not_covered).chain([&honest]) {
        assert!(said.contains(line.as_str()), "{line} is not in {said}");
    }
}

#[test]
fn ties_stand_where_they_were_measured_with_their_bars() {
    let drawing = read(&dxf::profile(&TIED).unwrap());
    let upright: Vec<([f64; 2], f64)> = drawing
        .entities()
        .filter(|e| e.common.layer == "ties")
        .filter_map(|e| match &e.specific {
            EntityType::Line(l) if l.p1.x == l.p2.x => {
                Some(([l.p1.x, 0.5 * (l.p1.y + l.p2.y)], 0.5 * (l.p2.y - l.p1.y)))
            }
            _ => None,
        })
        .collect();
    for row in TIED.ties.iter().filter(|row| row.kind == "depth") {
        let fallwise::model::Known::Depth { at, behind_m, above_m, .. } = &TIED.job.ties[row.number - 1].known else {
            panic!("{row:?}")
        };
        let (x, y) = (to_ft(at.station_m - behind_m), to_ft(row.value - above_m));
        // 95 % of a normal distribution: 1.959964 standard deviations.
        let half = to_ft(1.959_964 * row.sd);
        let is = |(p, h): &&([f64; 2], f64)| {
            (p[0] - x).abs() < 2.0 * HALF && (p[1] - y).abs() < 2.0 * HALF && (h - half).abs() < 2.0 * HALF
        };
        assert!(upright.iter().any(|bar| is(&bar)), "{}: no bar at {x} {y} of {half} in {upright:?}", row.name);
    }
}

#[test]
fn a_general_reader_shows_the_plan() {
    let drawing = read(&dxf::plan(&PLACED).unwrap());
    let pipe = &lines(&drawing, "pipe")[0];
    // Every node of the path is a corner of the line; between them only arcs have more.
    for row in &PLACED.path {
        let node = [to_ft(row.east_m.unwrap()), to_ft(row.north_m.unwrap())];
        let away = |p: &[f64; 2]| math::hypot(p[0] - node[0], p[1] - node[1]);
        assert!(pipe.iter().any(|p| away(p) < 2.0 * HALF), "{node:?}");
    }
    assert_told(&drawing, &PLACED);
    let title = of_layer(&drawing, "title");
    assert!(title.contains("0.6000 degrees clockwise of true north"), "{title}");
    let boundary = of_layer(&drawing, "features");
    let row =
        PLACED.path.iter().min_by(|a, b| (a.station_m - 18.9).abs().total_cmp(&(b.station_m - 18.9).abs())).unwrap();
    assert!(boundary.contains("boundary, station 0+62.0") && row.east_sd_m.is_some(), "{boundary}");
    assert!(drawing.entities().any(|e| matches!(e.specific, EntityType::ModelPoint(_))));
}

fn collection(answers: &Answers) -> FeatureCollection {
    geojson(answers).unwrap().unwrap().parse().unwrap()
}

#[test]
fn a_general_reader_shows_the_path_on_a_map() {
    let map = collection(&PLACED);
    let origin = PLACED.job.origin.unwrap();
    let GeometryValue::LineString { coordinates } = &map.features[0].geometry.as_ref().unwrap().value else {
        panic!("the pipe is one line")
    };
    for row in &PLACED.path {
        let place = geographic::place(&origin, row.east_m.unwrap(), row.north_m.unwrap()).unwrap();
        // Eight decimals of a degree.
        let is = |p: &geojson::Position| {
            (deg(p.as_slice()[0]) - place.longitude_rad).abs() < deg(0.51e-8)
                && (deg(p.as_slice()[1]) - place.latitude_rad).abs() < deg(0.51e-8)
        };
        assert!(coordinates.iter().any(is), "{row:?}");
    }
    let kinds: Vec<&str> =
        map.features.iter().map(|f| f.properties.as_ref().unwrap()["kind"].as_str().unwrap()).collect();
    for kind in ["pipe", "end", "feature", "bend"] {
        assert!(kinds.contains(&kind), "{kinds:?}");
    }
    let end = map.features.last().unwrap().properties.as_ref().unwrap();
    let last = PLACED.path.last().unwrap();
    for (name, value) in [
        ("east_m", last.east_m),
        ("north_m", last.north_m),
        ("east_sd_m", last.east_sd_m),
        ("north_sd_m", last.north_sd_m),
        ("elevation_m", last.elevation_m),
        ("elevation_sd_m", last.elevation_sd_m),
    ] {
        assert!((end[name].as_f64().unwrap() - value.unwrap()).abs() < 0.51e-3, "{name}");
    }
    let top = map.foreign_members.unwrap();
    assert_eq!(top["cautions"], serde_json::to_value(&PLACED.cautions).unwrap());
    assert!(!top.contains_key("crs"));
    // Longitude and latitude only: nobody knows the height above the ellipsoid.
    assert!(coordinates.iter().all(|p| p.as_slice().len() == 2));
}

#[test]
fn there_is_no_map_without_an_origin_or_a_plan() {
    let mut nowhere = PLACED.clone();
    nowhere.job.origin = None;
    assert_eq!(geojson(&nowhere).unwrap(), None);
    let mut unplaced = answers("two-bellies");
    unplaced.job.origin = PLACED.job.origin;
    assert_eq!(geojson(&unplaced).unwrap(), None);
    assert_eq!(dxf::plan(&unplaced), None);
    let mut empty = PLACED.clone();
    empty.path.clear();
    assert_eq!((dxf::profile(&empty), dxf::plan(&empty), geojson(&empty).unwrap()), (None, None, None));
}

#[test]
fn across_the_antimeridian_the_line_is_cut() {
    let mut a = PLACED.clone();
    let origin = a.job.origin.as_mut().unwrap();
    (origin.longitude_rad, origin.latitude_rad) = (deg(179.9999), deg(-20.0));
    let map = collection(&a);
    let GeometryValue::MultiLineString { coordinates } = &map.features[0].geometry.as_ref().unwrap().value else {
        panic!("the pipe is two lines")
    };
    assert_eq!(coordinates.len(), 2);
    assert_eq!(coordinates[0].last().unwrap().as_slice()[0], 180.0);
    assert_eq!(coordinates[1][0].as_slice()[0], -180.0);
    assert!(
        coordinates.iter().all(|line| line.windows(2).all(|w| (w[0].as_slice()[0] - w[1].as_slice()[0]).abs() < 1.0))
    );
}

#[test]
fn the_same_answers_give_the_same_bytes() {
    let again = answers("good-lateral");
    assert_eq!(dxf::profile(&PLACED), dxf::profile(&again));
    assert_eq!(dxf::plan(&PLACED), dxf::plan(&again));
    assert_eq!(geojson(&PLACED).unwrap(), geojson(&again).unwrap());
}

#[test]
fn the_files_are_written_with_the_rest_and_never_over_what_is_there() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("drawings");
    let _ = fs::remove_dir_all(&folder);
    output::write_all(&folder, &PLACED, &[], false).unwrap();
    let cautions = fs::read_to_string(folder.join("cautions.txt")).unwrap();
    for name in ["inputs.csv", "profile.dxf", "plan.dxf", "path.geojson"] {
        assert!(cautions.lines().next().unwrap().contains(name), "{name}");
    }
    for (name, text) in [
        ("profile.dxf", dxf::profile(&PLACED)),
        ("plan.dxf", dxf::plan(&PLACED)),
        ("path.geojson", geojson(&PLACED).unwrap()),
    ] {
        assert_eq!(Some(fs::read_to_string(folder.join(name)).unwrap()), text, "{name}");
        for other in fs::read_dir(&folder).unwrap() {
            fs::remove_file(other.unwrap().path()).unwrap();
        }
        fs::write(folder.join(name), "mine").unwrap();
        assert!(output::write_all(&folder, &PLACED, &[], false).is_err(), "{name}");
        assert_eq!(fs::read_to_string(folder.join(name)).unwrap(), "mine");
        assert!(output::write_all(&folder, &PLACED, &[(name, String::new())], true).is_err(), "{name} is taken");
        output::write_all(&folder, &PLACED, &[], true).unwrap();
    }
}

/// The demo with `text` wherever a stranger's words come into drawings and map.
fn with(text: &str) -> Answers {
    let mut a = PLACED.clone();
    let word = || text.to_owned();
    let s = &mut a.job.survey;
    (s.title, s.site, s.date_time) = (Some(word()), Some(word()), Some(word()));
    (a.sentence, a.version) = (word(), word());
    (a.cautions, a.not_covered) = (vec![word()], vec![word()]);
    for feature in &mut a.job.features {
        feature.text = word();
    }
    a.noted = vec![fallwise::answers::NoteRow { number: 1, station_m: Some(3.0), text: word(), ..Default::default() }];
    for (mut tie, i) in TIED.ties.iter().cloned().zip(0..) {
        (tie.name, tie.sentence, tie.number) = (format!("{text}{i}"), word(), 0);
        a.ties.push(tie);
    }
    a
}

/// Group codes and values, two lines each; with a hostile text as with any other.
fn codes(drawing: &str) -> Vec<(i32, String)> {
    let lines: Vec<&str> = drawing.split('\n').collect();
    assert!(lines.len() % 2 == 1 && lines.last() == Some(&""));
    lines.chunks_exact(2).map(|pair| (pair[0].trim().parse().unwrap(), pair[1].to_owned())).collect()
}

fn assert_harmless(text: &str) {
    let a = with(text);
    for drawing in [dxf::profile(&a).unwrap(), dxf::plan(&a).unwrap()] {
        assert!(drawing.bytes().all(|b| b == b'\n' || (b' '..=b'~').contains(&b)), "plain bytes only");
        for (code, value) in codes(&drawing) {
            assert!(value.len() < 2049, "a line has room for 2049 bytes");
            if code == 1 {
                let free = value.replace("\\U+", "").contains('\\');
                assert!(!free && !value.contains("%%"), "{value}");
                assert!(value.split('^').skip(1).all(|rest| rest.starts_with(' ')), "{value}");
            }
        }
        // As many of each sort of thing as a harmless text gives, but for texts, whose lines break elsewhere.
        let sorts = |text: &str| -> Vec<String> {
            codes(text)
                .into_iter()
                .filter(|(code, value)| *code == 0 && value != "TEXT")
                .map(|(_, value)| value)
                .collect()
        };
        let harmless = with("words");
        let other = if drawing.contains("Plan of the pipe.") { dxf::plan(&harmless) } else { dxf::profile(&harmless) };
        assert_eq!(sorts(&drawing), sorts(&other.unwrap()));
        read(&drawing);
    }
    let map = geojson(&a).unwrap().unwrap();
    assert!(map.chars().all(|c| c == '\n' || !fallwise::text::hides(c)));
    let read: FeatureCollection = map.parse().unwrap();
    // JSON has the texts as they were given.
    let note = read.features.iter().find_map(|f| f.properties.as_ref().filter(|p| p["kind"] == "note")).unwrap();
    assert_eq!(note["text"], text);
}

#[test]
fn known_tricks_do_nothing() {
    for text in [
        "",
        "a\n  0\nTEXT\n  8\n0\n",
        "a\r\n0\r\nEOF\r\n",
        "\\U+202E \\M+1xxxx {\\H100;big} \\P \\L",
        "%%d %%c %%p %%u %%036 %%%%",
        "^J^M^I ^ ^",
        "a\u{202e}b\u{0}c\u{1b}[2Jd\u{85}e\u{2028}f\u{e0041}g",
        "שלום é 漢字 👩\u{200d}🔧",
        "</script>\"}],\"crs\":{",
    ] {
        assert_harmless(text);
    }
    assert_harmless(&"long ".repeat(100_000));
    assert_harmless(&"漢".repeat(5000));
}

#[test]
fn ordinary_writing_is_read_back() {
    for text in ["Café Zoë", "100 % & more", "C:\\pipes ^ 2", "漢字"] {
        let drawing = read(&dxf::profile(&with(text)).unwrap());
        assert!(texts(&drawing).iter().any(|(layer, said)| layer == "title" && *said == visible(text)), "{text}");
    }
}

fn hostile() -> impl Strategy<Value = String> {
    let pieces = [
        "\\", "U+", "0041", "%", "%%", "^", "J", "\n", "\r", "0", "EOF", "{", "}", ";", " ", "\u{202e}", "é", "漢",
        "👩", "\"",
    ];
    prop_oneof![4 => vec(select(pieces.to_vec()), 0..16).prop_map(|p| p.concat()), 1 => any::<String>()]
}

proptest! {
    // Each case makes four drawings and a map.
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn any_text_leaves_drawings_and_map_their_shape(text in hostile()) {
        assert_harmless(&text);
    }
}

//! Two surveys of one lateral beside each other: whether the interval of a change holds the truth as often as it says, and what
//! the faces make of it.

#![allow(clippy::unwrap_used, reason = "the helpers of a test may panic as the test may")]

use std::{fs, path::Path};

use fallwise::{
    Flow, Instrument, Job, Lateral, Reach, Run,
    adjust::{Shared, Z_95},
    answers::{Comparison, HeightChange},
    compare,
    math::{self, Random},
    simulate::{self, Flaws, Head, Truth},
    units::Words,
};
use fallwise_examples::demos;
use fallwise_files::{job, output};
use fallwise_record::{Mark, Tolerance::Absolute, reference};
use fallwise_report::AsLeft;

use crate::{
    injection::{assert_no_override, assert_table, kinds},
    report::{HOSTILE, PX, assert_readable, elements, points, with_class},
};

const DEGREE: f64 = core::f64::consts::PI / 180.0;

fn relay(shared: Shared) -> Comparison {
    let solved = |name: &str| {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/demos").join(name).join("job.toml");
        let loaded = job::read(&path).unwrap();
        (loaded.solve().unwrap(), loaded.rulebook)
    };
    let ((before, _), (after, book)) = (solved("before-relay"), solved("after-relay"));
    compare(&before, &after, shared, book.as_ref()).unwrap()
}

/// Zero and seating as the simulation draws them, and nothing else but noise.
fn instrument() -> Instrument {
    Instrument {
        zero_sd_rad: 0.3 * DEGREE,
        seating_sd_rad: 0.1 * DEGREE,
        noise_sd_rad: None,
        correlation_m: None,
        resolution_rad: None,
        ..Instrument::exact()
    }
}

/// A survey of 12 m in three reaches of 4 m.
fn survey(slopes: [f64; 3], zero_rad: f64, random: &mut Random, seed: u64) -> Lateral {
    let truth = Truth {
        breaks_m: vec![0.0, 4.0, 8.0, 12.0],
        tilt_rad: slopes.iter().map(|s| math::atan(*s)).collect(),
        ..Truth::default()
    };
    let head = Head { zero_rad, seating_push_rad: 0.1 * DEGREE * random.normal(), ..Head::default() };
    let run = simulate::run(&truth, &head, &Flaws::default(), 0.1, seed).unwrap().run;
    let reach = |i: u32| Reach { from_m: 4.0 * f64::from(i), to_m: 4.0 * f64::from(i + 1), ..Reach::default() };
    let mut job = Job { runs: vec![run], instrument: instrument(), ..Job::default() };
    job.reaches = (0..3).map(reach).collect();
    // Bellies are not asked about here.
    job.report.draws = 0;
    Lateral::solve(job).unwrap()
}

/// How many of the intervals of the change hold the truth: of the whole, and of the reach that was laid anew.
fn held(pairs: u32, one_zero: bool, shared: Shared) -> [f64; 2] {
    let mut held = [0.0; 2];
    for i in 0..pairs {
        let mut random = Random::new(23, 6, i);
        let mut slope = || 0.02 + 0.005 * random.normal();
        let (was, anew) = ([slope(), slope() - 0.02, slope()], slope());
        let is = [was[0], anew, was[2]];
        let first_rad = 0.3 * DEGREE * random.normal();
        let other_rad = 0.3 * DEGREE * random.normal();
        let second_rad = if one_zero { first_rad } else { other_rad };
        let before = survey(was, first_rad, &mut random, 2 * u64::from(i));
        let after = survey(is, second_rad, &mut random, 2 * u64::from(i) + 1);
        let changed = compare(&before, &after, shared, None).unwrap();
        let mean = |slopes: [f64; 3]| {
            // Fall over horizontal length, of pieces of one true length.
            let of = |f: fn(f64) -> f64| slopes.iter().map(|s| f(math::atan(*s))).sum::<f64>();
            of(math::sin) / of(math::cos)
        };
        for ((held, row), truth) in
            held.iter_mut().zip([&changed.slopes[0], &changed.slopes[2]]).zip([mean(is) - mean(was), is[1] - was[1]])
        {
            *held += f64::from(u8::from(row.change_low <= truth && truth <= row.change_high)) / f64::from(pairs);
        }
    }
    held
}

/// Of 300 intervals that each hold the truth with 95 %, the share has a binomial standard error of sqrt(0.95 0.05 / 300) = 1.26 %;
/// three of these either way leave out one run in 370 (four shares are looked at, of one fixed seed).
#[test]
fn the_interval_of_a_change_holds_as_often_as_it_says() {
    const PAIRS: u32 = 300;
    let of = reference("two-surveys", "surveys made by the forward model", Mark::Simulated);
    let three = 3.0 * (0.95 * 0.05 / f64::from(PAIRS)).sqrt();
    for (one_zero, shared) in [(true, Shared::Zero), (false, Shared::Nothing)] {
        for share in held(PAIRS, one_zero, shared) {
            let what = format!("one zero: {one_zero}, said: {shared:?}: share of intervals that have the truth");
            of.check(what, share, 0.95, Absolute(three), "three binomial standard errors of 300");
        }
    }
    // One zero and nothing said of it: the interval is wider than it need be, and holds more often.
    for share in held(100, true, Shared::Nothing) {
        assert!(share >= 0.98, "{share}");
    }
    // Two zeros said to be one: their difference, of sd 0.42 degrees, is not in an interval of some 0.14 degrees' seating. Normal
    // within 1.96 · 0.14 / 0.45 deviations: about 46 %.
    for share in held(100, false, Shared::Zero) {
        assert!(share < 0.7, "{share}");
    }
}

/// Without a shared zero each height is that of its own survey.
#[test]
fn heights_are_those_of_either_survey() {
    let changed = relay(Shared::Nothing);
    assert_eq!(changed.heights_are, "elevation");
    let mut seen = 0;
    for row in &changed.profile {
        for (path, value_m, sd_m) in
            [(&changed.before.path, row.before_m, row.before_sd_m), (&changed.after.path, row.after_m, row.after_sd_m)]
        {
            let Some(node) = path.iter().find(|p| p.station_m == row.station_m) else { continue };
            seen += 1;
            // Two ways to the same sums: rounding of some hundred terms.
            assert!((node.elevation_m.unwrap() - value_m).abs() < 1e-9, "{row:?} {node:?}");
            assert!((node.elevation_sd_m.unwrap() - sd_m).abs() < 1e-9, "{row:?} {node:?}");
        }
    }
    assert!(seen > 40, "{seen}");
}

#[test]
fn the_change_of_the_relay_holds_the_truth() {
    let changed = relay(Shared::Zero);
    let (was, is) = (demos::before_relay(), demos::after_relay());
    // The counter reads 0.3 % long.
    let at = |station_m: f64| (station_m * 0.997).min(21.0);
    // Both are tied at 21 m on the counter.
    let height = |truth: &Truth, station_m: f64| truth.height_m(at(station_m)) - truth.height_m(at(21.0));
    for row in &changed.heights {
        let truth_m = height(&is, row.station_m) - height(&was, row.station_m);
        assert!(row.change_low_m <= truth_m && truth_m <= row.change_high_m, "{truth_m} {row:?}");
        assert!((row.after_m - row.before_m - row.change_m).abs() < 1e-9, "{row:?}");
    }
    for row in &changed.slopes {
        let fall = |truth: &Truth| truth.height_m(at(row.from_m)) - truth.height_m(at(row.to_m));
        // Slopes of 2 %: the horizontal length is the true one to 0.02 %.
        let truth = (fall(&is) - fall(&was)) / (at(row.to_m) - at(row.from_m));
        assert!(row.change_low <= truth && truth <= row.change_high, "{truth} {row:?}");
    }
    let verdicts: Vec<(&str, &str)> = changed.slopes.iter().map(|s| (s.name.as_str(), s.verdict.as_str())).collect();
    assert_eq!(verdicts, [("surveyed by both", "not shown"), ("kitchen end", "changed"), ("garden", "not shown")]);
    assert_eq!(changed.bellies.iter().map(|b| b.verdict.as_str()).collect::<Vec<_>>(), ["not found again"]);
    // One zero makes the change surer than either slope, and than without saying so.
    let alone = relay(Shared::Nothing);
    assert!(changed.slopes[1].change_sd < 0.7 * alone.slopes[1].change_sd);
}

#[test]
fn surveys_that_do_not_go_together_are_refused_with_what_would() {
    let along = |from_m: f64, flow: Flow| {
        let run = Run { by_hand: true, ..Run::new(vec![from_m, from_m + 1.0, from_m + 2.0], vec![0.02; 3]) };
        Lateral::solve(Job { runs: vec![run], flow, ..Job::default() }).unwrap()
    };
    let said = |one: &Lateral, other: &Lateral| compare(one, other, Shared::Nothing, None).unwrap_err().to_string();
    let first = along(0.0, Flow::Increasing);
    let other_flow = said(&first, &along(0.0, Flow::Decreasing));
    assert!(other_flow.contains("the same flow in both surveys"), "{other_flow}");
    let apart = said(&first, &along(40.0, Flow::Increasing));
    assert!(apart.contains("at least 1 m in common") && apart.contains("40.00 m"), "{apart}");
}

#[test]
fn one_check_in_both_jobs_is_told() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/demos/after-relay/job.toml");
    let checked = job::read(&path).unwrap().solve().unwrap();
    let twice = |w: &String| w.contains("counts twice");
    let told = |shared: Shared| compare(&checked, &checked, shared, None).unwrap().warnings.iter().any(twice);
    assert!(told(Shared::Zero) && !told(Shared::Nothing));
    assert!(!relay(Shared::Zero).warnings.iter().any(twice));
}

#[test]
fn all_files_are_written_once() {
    let changed = relay(Shared::Zero);
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("two-surveys");
    let _ = fs::remove_dir_all(&folder);
    let pages = [
        ("as-left.svg", AsLeft::new(&changed).picture_svg()),
        ("as-left.html", AsLeft::new(&changed).page_html().unwrap()),
    ];
    output::write_comparison(&folder, &changed, &pages, false).unwrap();
    for (table, rows) in [
        ("changes.csv", changed.slopes.len()),
        ("heights.csv", changed.heights.len()),
        ("bellies.csv", changed.bellies.len()),
    ] {
        assert_eq!(fs::read_to_string(folder.join(table)).unwrap().lines().count(), rows + 1, "{table}");
    }
    let back = output::read_comparison(&fs::read(folder.join("comparison.json")).unwrap()).unwrap();
    assert_eq!(back, changed);
    for file in ["cautions.txt", "as-left.html", "as-left.svg"] {
        let text = fs::read_to_string(folder.join(file)).unwrap();
        assert!(text.contains("buried services"), "{file} carries no caution");
        assert!(text.contains("It does not show when or why it changed."), "{file}");
    }
    // One is there: nothing is written, not even what is not there.
    fs::remove_file(folder.join("heights.csv")).unwrap();
    fs::write(folder.join("changes.csv"), "mine").unwrap();
    assert!(output::write_comparison(&folder, &changed, &pages, false).is_err());
    assert_eq!(fs::read_to_string(folder.join("changes.csv")).unwrap(), "mine");
    assert!(!folder.join("heights.csv").exists());
    output::write_comparison(&folder, &changed, &pages, true).unwrap();
    assert_ne!(fs::read_to_string(folder.join("changes.csv")).unwrap(), "mine");
}

#[test]
fn page_and_summary_say_what_is_asked_of_them() {
    for (shared, stated) in [(Shared::Zero, "one head made both surveys"), (Shared::Nothing, "its own zero error")] {
        let changed = relay(shared);
        let (page, summary) = (AsLeft::new(&changed).page_html().unwrap(), AsLeft::new(&changed).summary());
        assert!(summary.starts_with(&changed.sentence));
        // The reach that was re-laid leads, the whole comes last.
        let reach = "Kitchen end falls more than it did";
        assert!(
            changed.sentence.starts_with(reach) && changed.sentence.ends_with(&changed.slopes[0].sentence),
            "{}",
            changed.sentence
        );
        let narrow = summary.lines().skip(1).find(|l| l.chars().count() > 100);
        assert_eq!(narrow, None);
        // Where lines break is not looked at.
        let told = summary.split_whitespace().collect::<Vec<_>>().join(" ");
        for part in [stated, &changed.slopes[1].sentence, &changed.bellies[0].sentence, &changed.after.sentence] {
            assert!(told.contains(part), "{part}");
        }
        let row = &changed.slopes[1];
        let change = format!("{:+.2} %", 100.0 * row.change);
        let interval = format!("{:.2} % to {:.2} %", 100.0 * row.change_low, 100.0 * row.change_high);
        let (first, _) = changed.after.sentence.split_once(". ").unwrap();
        for part in [stated, &change, &interval, &changed.bellies[0].sentence, first] {
            assert!(page.contains(part), "{part}");
        }
        let order = [
            "Asked.",
            "class=\"headline\"",
            "<svg",
            "The pipe as it is now</h2>",
            "The pipe as it was</h2>",
            "What changed</h2>",
            "have in common</h2>",
            "do not allow for</h2>",
            "Cautions</h2>",
        ];
        let places: Vec<usize> = order.iter().map(|part| page.find(part).unwrap_or_else(|| panic!("{part}"))).collect();
        assert!(places.is_sorted(), "{places:?}");
        for line in changed.not_covered.iter().chain(&changed.cautions) {
            assert!(page.contains(&line.replace('\'', "&#39;")), "{line}");
        }
        // Two pictures in one page: no name twice.
        let mut names: Vec<&str> = page.split(" id=\"").skip(1).map(|p| p.split('"').next().unwrap()).collect();
        let all = names.len();
        names.sort_unstable();
        names.dedup();
        assert!(all == names.len() && all > 10, "{all} {names:?}");
        for part in page.split("url(#").skip(1) {
            assert!(names.contains(&part.split(')').next().unwrap()), "{part:.20}");
        }
    }
}

/// Middle and standard deviation of a band.
type Band = fn(&HeightChange) -> (f64, f64);

/// px of a station and of a height, read off two nodes of the invert now.
struct Drawn {
    x: (f64, f64),
    y: (f64, f64),
    nodes: Vec<(f64, f64)>,
}

fn drawn(changed: &Comparison, svg: &str) -> Drawn {
    let all = elements(svg);
    let nodes = points(with_class(&all, "path", "fw-invert")[0].get("d"));
    assert_eq!(nodes.len(), changed.profile.len());
    let (first, last) = (changed.profile.first().unwrap(), changed.profile.last().unwrap());
    let (a, b) = (nodes[0], nodes[nodes.len() - 1]);
    let along = (b.0 - a.0) / (last.station_m - first.station_m);
    let up = (b.1 - a.1) / (last.after_m - first.after_m);
    Drawn { x: (a.0 - along * first.station_m, along), y: (a.1 - up * first.after_m, up), nodes }
}

impl Drawn {
    fn is_at(&self, (x, y): (f64, f64), station_m: f64, height_m: f64) -> bool {
        (x - self.x.0 - self.x.1 * station_m).abs() < PX && (y - self.y.0 - self.y.1 * height_m).abs() < PX
    }
}

#[test]
fn both_profiles_and_their_bands_are_where_they_say() {
    for shared in [Shared::Zero, Shared::Nothing] {
        let changed = relay(shared);
        let svg = AsLeft::new(&changed).picture_svg();
        let all = elements(&svg);
        let drawn = drawn(&changed, &svg);
        let was = points(with_class(&all, "path", "fw-was")[0].get("d"));
        assert_eq!(was.len(), changed.profile.len());
        for ((row, now), was) in changed.profile.iter().zip(&drawn.nodes).zip(&was) {
            assert!(drawn.is_at(*now, row.station_m, row.after_m), "{row:?}");
            assert!(drawn.is_at(*was, row.station_m, row.before_m), "{row:?}");
        }
        let bands: [(&str, Band); 2] =
            [("fw-was-band", |r| (r.before_m, r.before_sd_m)), ("fw-band", |r| (r.after_m, r.after_sd_m))];
        for (class, band) in bands {
            let outline = points(with_class(&all, "polygon", class)[0].get("points"));
            assert_eq!(outline.len(), 2 * changed.profile.len());
            for (i, row) in changed.profile.iter().enumerate() {
                let (middle_m, sd_m) = band(row);
                assert!(drawn.is_at(outline[i], row.station_m, middle_m + Z_95 * sd_m), "{class} {row:?}");
                let below = outline[outline.len() - 1 - i];
                assert!(drawn.is_at(below, row.station_m, middle_m - Z_95 * sd_m), "{class} {row:?}");
            }
        }
        let stated: f64 = svg.split("Heights are drawn ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
        // The picture is some 800 px long and 100 px high, read to 0.001 px.
        assert!((-drawn.y.1 / drawn.x.1 / stated - 1.0).abs() < 1e-4);
        assert!(svg.contains("true to scale: heights and lengths drawn alike"));
        // The strip of changes: its band holds its line, and the broken line of no change is drawn where 0 is.
        let line = points(with_class(&all, "path", "fw-change")[0].get("d"));
        let strip = points(with_class(&all, "polygon", "fw-band")[1].get("points"));
        let (a, b) = changed.profile.iter().enumerate().fold((0, 0), |(a, b), (i, r)| {
            let of = |k: usize| changed.profile[k].change_m;
            (if r.change_m < of(a) { i } else { a }, if r.change_m > of(b) { i } else { b })
        });
        let per_m = (line[b].1 - line[a].1) / (changed.profile[b].change_m - changed.profile[a].change_m);
        let zero = line[a].1 - per_m * changed.profile[a].change_m;
        for (i, row) in changed.profile.iter().enumerate() {
            assert!((line[i].1 - zero - per_m * row.change_m).abs() < 2.0 * PX, "{row:?}");
            assert!((strip[i].1 - zero - per_m * row.change_high_m).abs() < 2.0 * PX, "{row:?}");
        }
        let none = with_class(&all, "line", "fw-dash");
        assert!(none.iter().any(|l| (l.number("y1") - zero).abs() < 2.0 * PX), "{zero}");
        // The water that the belly could hold lies between the invert before and its level, and over no pool of now.
        let water = points(with_class(&all, "polygon", "fw-was-water")[0].get("points"));
        let deepest = changed.before.pools[0].depth_m * -drawn.y.1;
        let (top, low) = water.iter().fold((f64::MAX, f64::MIN), |(t, l), p| (t.min(p.1), l.max(p.1)));
        // The belly is the first survey's by itself, the pipe that of both: with one zero the sill lies a little otherwise.
        let tolerance = if shared == Shared::Nothing { 2.0 * PX } else { 0.5 * deepest };
        assert!((low - top - deepest).abs() < tolerance, "{} {deepest}", low - top);
    }
}

#[test]
fn pictures_stay_readable() {
    let mut changed = relay(Shared::Zero);
    assert_readable("re-lay", &AsLeft::new(&changed).picture_svg());
    changed.after.job.report.words = Words::Us;
    changed.after.job.flow = Flow::Decreasing;
    assert_readable("the other words", &AsLeft::new(&changed).picture_svg());
    changed.heights_are = "relative".to_owned();
    changed.after.reaches.clear();
    changed.after.pools = changed.before.pools.clone();
    assert_readable("relative", &AsLeft::new(&changed).picture_svg());
    changed.profile.clear();
    assert!(AsLeft::new(&changed).picture_svg().contains("there is nothing to draw"));
    AsLeft::new(&changed).page_html().unwrap();
}

fn with(text: &str) -> Comparison {
    let mut changed = relay(Shared::Zero);
    let word = || text.to_owned();
    (changed.sentence, changed.version) = (word(), word());
    (changed.warnings, changed.not_covered, changed.cautions) = (vec![word()], vec![word()], vec![word()]);
    for row in &mut changed.slopes {
        (row.name, row.verdict, row.sentence) = (word(), word(), word());
    }
    for row in &mut changed.bellies {
        (row.verdict, row.sentence) = (word(), word());
    }
    for row in &mut changed.findings {
        (row.subject, row.before, row.after) = (word(), Some(word()), None);
    }
    for answers in [&mut changed.before, &mut changed.after] {
        let survey = &mut answers.job.survey;
        for fact in [&mut survey.title, &mut survey.date_time, &mut survey.site, &mut survey.signed_by] {
            *fact = Some(word());
        }
        (answers.sentence, answers.warnings) = (word(), vec![word()]);
        for reach in &mut answers.reaches {
            (reach.name, reach.pipe) = (word(), word());
        }
        for finding in &mut answers.findings {
            (finding.sentence, finding.requirement, finding.document) = (word(), word(), word());
        }
        for pool in &mut answers.pools {
            pool.sentence = word();
        }
        for feature in &mut answers.job.features {
            feature.text = word();
        }
        for note in &mut answers.noted {
            note.text = word();
        }
    }
    changed
}

#[test]
fn strangers_texts_do_nothing() {
    let harmless = with("words. more");
    let (plain_page, plain_svg) = (AsLeft::new(&harmless).page_html().unwrap(), AsLeft::new(&harmless).picture_svg());
    for text in
        [HOSTILE, "</title><script>alert(1)</script>. x", "=1+1. \u{202e}שלום", "\" onload=\"alert(1). \u{1b}[2J"]
    {
        let changed = with(text);
        let (page, svg) = (AsLeft::new(&changed).page_html().unwrap(), AsLeft::new(&changed).picture_svg());
        if text != HOSTILE {
            assert_eq!(kinds(&page), kinds(&plain_page));
        }
        assert_eq!(kinds(&svg), kinds(&plain_svg));
        assert!(kinds(&page).iter().all(|(name, _)| name != "script" && name != "b" && name != "img"));
        for face in [&page, &svg, &AsLeft::new(&changed).summary()] {
            assert_no_override(face);
        }
        assert_table(&changed.slopes);
        assert_table(&changed.bellies);
        let json = output::comparison_json(&changed).unwrap();
        assert_eq!(output::read_comparison(json.as_bytes()).unwrap(), changed);
    }
}

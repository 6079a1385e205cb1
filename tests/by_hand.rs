//! Figures that another professional can repeat by hand, from the tables alone.

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use std::path::PathBuf;

use fallwise::{
    Answers, Bore, Job, Lateral, Pipe, Reach, Rulebook, Run, Tie,
    answers::{BudgetRow, CovarianceRow, ReachRow, SegmentRow},
    math::hypot,
    model::{GroundPoint, Known, Place},
    units::deg,
};
use fallwise_examples::demos::DEMOS;
use fallwise_files::job;
use fallwise_record::{Mark, RELATIVE, reference};

fn demo(name: &str) -> Answers {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../examples/demos").join(name).join("job.toml");
    let loaded = job::read(&path).unwrap();
    loaded.solve().unwrap().answers(loaded.rulebook.as_ref()).unwrap()
}

/// Relative difference, of what may be 0.
fn apart(a: f64, b: f64) -> f64 {
    (a - b).abs() / a.abs().max(b.abs()).max(f64::MIN_POSITIVE)
}

/// Variance of the fall between two stations of a table; nothing where one of them is not in it.
fn between(rows: &[CovarianceRow], a_m: f64, b_m: f64, of: impl Fn(&CovarianceRow) -> f64) -> Option<f64> {
    let same = |a: f64, b: f64| (a - b).abs() < 1e-6;
    let at = |a: f64, b: f64| {
        let row = rows.iter().find(|r| same(r.first_station_m, a.min(b)) && same(r.second_station_m, a.max(b)))?;
        Some(of(row))
    };
    Some(at(a_m, a_m)? + at(b_m, b_m)? - 2.0 * at(a_m, b_m)?)
}

fn rows_of<'a>(budget: &'a [BudgetRow], of: &ReachRow, quantity: &str) -> Vec<&'a BudgetRow> {
    let is =
        |r: &&BudgetRow| r.figure == of.name && (r.from_m, r.to_m) == (of.from_m, of.to_m) && r.quantity == quantity;
    budget.iter().filter(is).collect()
}

#[test]
fn squares_of_a_budget_add_up_to_what_the_answers_say() {
    let of = reference("adjustment", "the budget of the same figure, squared and summed by hand", Mark::Exact);
    let why = "one sum in two orders; ties take off all but a part in a thousand of some vectors";
    let mut many = of.many("sd of slopes and falls of all demos", RELATIVE, 1e-9, why);
    for demo in DEMOS.iter().map(|d| demo(d.name)) {
        for row in core::iter::once(&demo.total).chain(&demo.reaches) {
            for (quantity, sd) in [("slope", row.slope_sd), ("fall_m", Some(row.fall_sd_m))] {
                // A reach that is a drop has no slope.
                let Some(sd) = sd else { continue };
                let rows = rows_of(&demo.budget, row, quantity);
                let sum: f64 = rows.iter().map(|r| r.sd * r.sd).sum();
                many.error(apart(sum.sqrt(), sd), || format!("{} {quantity}: {} {sd:?}", row.name, sum.sqrt()));
                assert!((rows.iter().map(|r| r.share).sum::<f64>() - 1.0).abs() < 1e-12);
                assert!(rows.is_sorted_by(|a, b| a.sd >= b.sd), "most first");
            }
        }
    }
    many.done(20);
}

#[test]
fn falls_and_slopes_have_the_sds_that_their_table_gives() {
    for name in DEMOS.iter().map(|d| d.name) {
        let demo = demo(name);
        let mut compared = 0;
        let falls = demo.segments.iter().map(|s| (s.from_m, s.to_m, s.fall_sd_m, s.slope.zip(s.slope_sd)));
        let reaches = core::iter::once(&demo.total).chain(&demo.reaches);
        for (from_m, to_m, fall_sd_m, slope) in
            falls.chain(reaches.map(|r| (r.from_m, r.to_m, r.fall_sd_m, r.slope.zip(r.slope_sd))))
        {
            let fall = between(&demo.covariance, from_m, to_m, |c| c.covariance_m2);
            let by_tilts = between(&demo.covariance, from_m, to_m, |c| c.by_tilts_m2);
            let Some((fall, by_tilts)) = fall.zip(by_tilts) else { continue };
            compared += 1;
            // Differences of variances up to some 0.1 m2, of which roundings are 1e-17: of 1 mm squared a part in 10^11; a thousand times more
            // for sums over a thousand draws.
            assert!(apart(fall.max(0.0).sqrt(), fall_sd_m) < 1e-8, "{name} {from_m} {to_m}: {fall} {fall_sd_m}");
            if let Some((slope, slope_sd)) = slope {
                // What of each segment lies between them, m of true length.
                let part = |s: &SegmentRow| {
                    let length = (s.to_m.min(to_m) - s.from_m.max(from_m)).max(0.0);
                    s.length_m * length / (s.to_m - s.from_m)
                };
                let inside = demo.segments.iter().map(|s| (part(s), s.slope)).filter(|(length, _)| *length > 0.0);
                // Drops are cut out of slopes.
                if inside.clone().any(|(_, slope)| slope.is_none()) {
                    continue;
                }
                let inside = inside.map(|(length, slope)| (length, slope.unwrap()));
                let level_m: f64 = inside.clone().map(|(length, slope)| length / (1.0 + slope * slope).sqrt()).sum();
                let by_hand = by_tilts.max(0.0).sqrt() / level_m * (1.0 + slope * slope);
                // The factor of each segment is 1 + slope times its own slope; the arc of a bend, the only one of two metres, is some
                // thousandths shorter than its two legs, of a whole as long as the pipe or a reach.
                let differs = inside.map(|(_, s)| (slope * (s - slope)).abs()).fold(0.0, f64::max);
                assert!(apart(by_hand, slope_sd) < differs + 1e-3, "{name} {from_m} {to_m}: {by_hand} {slope_sd}");
            }
        }
        assert!(compared > demo.reaches.len(), "{name}");
    }
}

#[test]
fn correlations_are_of_the_parameters_that_are_shown() {
    for name in ["four-points", "both-ends", "checked-twice", "good-lateral"] {
        let demo = demo(name);
        let sd = |of: &str| match of {
            "slope" => demo.total.slope_sd.unwrap(),
            "fall_m" => demo.total.fall_sd_m,
            _ => demo.parameters.iter().find(|p| p.name == of).unwrap().sd,
        };
        for row in &demo.correlations {
            // One sum in two orders.
            assert!(
                apart(sd(&row.first), row.first_sd) < 1e-9 && apart(sd(&row.second), row.second_sd) < 1e-9,
                "{row:?}"
            );
            assert!((-1.0..=1.0).contains(&row.correlation), "{row:?}");
        }
        let with = demo.correlations.iter().filter(|r| r.second == "fall_m").count();
        // All that have a standard deviation, and the slope.
        let noise = ["noise_rad", "correlation_m", "step_rad", "rounding_rad"];
        let shown = demo.parameters.iter().filter(|p| p.sd > 0.0 && !noise.iter().any(|n| p.name.starts_with(n)));
        assert_eq!(with, shown.count() + 1, "{name}");
    }
}

/// A run of straight pipe by hand, with two points of ground and the start levelled.
fn dug(ground: Vec<GroundPoint>) -> Answers {
    let mut run = Run::new(vec![0.5, 5.0, 9.5], deg(vec![1.1, 1.2, 1.15]));
    (run.by_hand, run.start_station_m) = (true, 0.0);
    (run.start_invert_m, run.start_invert_sd_m) = (Some(98.5), Some(0.01));
    let pipe = Pipe { bore: Some(Bore::circle(0.1).unwrap()), wall_m: Some(0.004), ..Pipe::default() };
    let reach = Reach { from_m: 0.0, to_m: 10.0, pipe, ..Reach::default() };
    let mut job = Job { runs: vec![run], reaches: vec![reach], ground, ..Job::default() };
    job.report.draws = 0;
    Lateral::solve(job).unwrap().answers(None).unwrap()
}

#[test]
fn depth_and_cover_have_the_errors_of_ground_and_elevation() {
    let point = |station_m, elevation_m, sd_m| GroundPoint { station_m, elevation_m, sd_m };
    let told = dug(vec![point(-2.0, 100.0, Some(0.02)), point(14.0, 101.6, Some(0.05))]);
    for row in &told.path {
        let share = (row.station_m + 2.0) / 16.0;
        let ground_sd = hypot((1.0 - share) * 0.02, share * 0.05);
        let sd = hypot(ground_sd, row.elevation_sd_m.unwrap());
        // The same few operations: some roundings of 100 m in the heights, of 0.05 m in the sds.
        let near = |found: Option<f64>, expected: f64| {
            assert!((found.unwrap() - expected).abs() < 1e-12, "{found:?} {expected}");
        };
        near(row.ground_m, 100.0 + 1.6 * share);
        near(row.ground_sd_m, ground_sd);
        near(row.depth_m, row.ground_m.unwrap() - row.elevation_m.unwrap());
        for (value, found, low, high) in [
            (row.depth_m, row.depth_sd_m, row.depth_low_m, row.depth_high_m),
            (row.cover_m, row.cover_sd_m, row.cover_low_m, row.cover_high_m),
        ] {
            near(found, sd);
            near(low, value.unwrap() - fallwise::adjust::Z_95 * sd);
            near(high, value.unwrap() + fallwise::adjust::Z_95 * sd);
        }
        // Bore and wall: 0.104 m over the cosine of 1.2 degrees, 23 micrometres more.
        assert!((row.depth_m.unwrap() - row.cover_m.unwrap() - 0.104).abs() < 5e-5);
    }
    // Of ground that nobody said how well it is known nothing is made up; a point itself takes no other.
    let told = dug(vec![point(0.5, 100.0, Some(0.02)), point(14.0, 101.6, None)]);
    for row in told.path.iter().filter(|r| r.station_m >= 0.5) {
        let known = row.station_m == 0.5;
        assert_eq!(
            (row.ground_sd_m.is_some(), row.cover_sd_m.is_some(), row.depth_sd_m.is_some()),
            (known, known, known)
        );
        assert!(row.depth_m.is_some() && row.cover_m.is_some());
    }
}

#[test]
fn a_tie_shows_where_its_sd_comes_from() {
    let mut run = Run::new(vec![0.0, 3.0, 6.0, 9.0, 12.0, 15.0, 18.0], deg(vec![3.0; 7]));
    run.by_hand = true;
    let invert = |station_m: f64, station_sd_m: f64, elevation_m: f64, sd_m: f64| {
        let at = Place { sd_m: station_sd_m, ..Place::exact(station_m) };
        Tie::new(Known::Invert { at, elevation_m, sd_m })
    };
    let ties = vec![invert(1.0, 0.0, 100.0, 0.0), invert(9.0, 0.1, 99.6, 0.004), invert(17.0, 0.0, 99.2, 0.0)];
    let mut job = Job { runs: vec![run], ties, ..Job::default() };
    job.report.draws = 0;
    let told = Lateral::solve(job).unwrap().answers(None).unwrap();
    let middle = &told.ties[1];
    // 0.8 m over 16 m of slope between the two that hold exactly, give or take the lips: 0.1 m of station at some 5 %.
    let slope = middle.station_part_sd.unwrap() / 0.1;
    assert!((slope - 0.05).abs() < 0.005, "{slope}");
    assert_eq!(middle.own_sd, Some(0.004));
    for row in &told.ties {
        // Roundings of the squares.
        assert!(apart(hypot(row.own_sd.unwrap(), row.station_part_sd.unwrap()), row.sd) < 1e-12);
        assert!(apart(hypot(row.sd, row.expected_sd.unwrap()), row.misclosure_sd.unwrap()) < 1e-9);
        // What holds exactly is left without a residual, and has no share of an error that would show.
        assert_eq!(row.redundancy.is_some(), row.sd > 0.0, "{row:?}");
    }
    assert!(middle.redundancy.unwrap() > 0.0);
}

#[test]
fn findings_say_by_number_what_they_are_about() {
    let book = "name = 't'\ntitle = 'T'\nversion = '1'\njurisdiction = 'none'\n[[rule]]\nid = 'a'\ndocument = 'd'\nedition = 'e'\n\
                clause = 'c'\ntext = 't'\nforce = 'contract'\napplies_to = 'all'\nconfirmed = true\nsource_mark = 's'\nmax_pool = '10 mm'";
    let pools = Rulebook::parse(book).unwrap();
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../examples/demos/two-bellies/job.toml");
    let bellies = job::read(&path).unwrap().solve().unwrap().answers(Some(&pools)).unwrap();
    let mut pools = 0;
    for demo in DEMOS.iter().map(|d| demo(d.name)).chain([bellies]) {
        for f in &demo.findings {
            let (pool, reach) = (f.pool.map(|n| format!("pool {n}")), f.reach.map(|n| format!("reach {n}")));
            assert_eq!(f.subject.starts_with("pool "), pool.is_some());
            assert!(pool.is_none_or(|p| p == f.subject) && reach.is_none_or(|r| r == f.subject), "{f:?}");
            assert_eq!(f.subject.starts_with("reach "), f.reach.is_some(), "{f:?}");
            assert!(f.pool.is_none_or(|n| (1..=demo.pools.len()).contains(&n)));
            assert!(f.reach.is_none_or(|n| (1..=demo.job.reaches.len()).contains(&n)));
            pools += usize::from(f.pool.is_some());
        }
    }
    assert!(pools > 0, "the bellies of the demo are spoken of");
}

/// Cells of the table of the documentation whose header begins so, as numbers.
fn documented(header: &str) -> Vec<Vec<f64>> {
    let text = include_str!("../crates/fallwise/docs/uncertainty.md");
    let rows =
        text.lines().skip_while(|line| !line.starts_with(header)).skip(2).take_while(|line| line.starts_with('|'));
    let cells = |line: &str| line.split('|').filter_map(|cell| cell.trim().replace('−', "-").parse().ok()).collect();
    rows.map(cells).collect()
}

#[test]
fn the_worked_example_of_the_documentation_is_right() {
    let demo = demo("four-points");
    let rows: Vec<CovarianceRow> = documented("| `first_station_m`")
        .into_iter()
        .map(|cells| CovarianceRow {
            first_station_m: cells[0],
            second_station_m: cells[1],
            covariance_m2: cells[2],
            by_tilts_m2: cells[3],
        })
        .collect();
    assert_eq!(rows.len(), 3);
    for row in &rows {
        let same = |a: f64, b: f64| (a - b).abs() < 5e-7;
        let told = demo
            .covariance
            .iter()
            .find(|r| same(r.first_station_m, row.first_station_m) && same(r.second_station_m, row.second_station_m));
        let told = told.unwrap();
        // Printed to 0.001 mm2: half of the last digit.
        assert!((told.covariance_m2 - row.covariance_m2).abs() < 0.51e-9, "{told:?}");
        assert!((told.by_tilts_m2 - row.by_tilts_m2).abs() < 0.51e-9, "{told:?}");
    }
    let (from_m, to_m) = (rows[0].first_station_m, rows[2].second_station_m);
    let fall = between(&rows, from_m, to_m, |r| r.covariance_m2).unwrap().sqrt();
    // Four halves of the last digit, 2e-9 m2, are 17 nm of a standard deviation of 60 mm.
    assert!((fall - demo.total.fall_sd_m).abs() < 2e-8, "{fall}");
    let total = &demo.total;
    let slope = total.slope.unwrap();
    let level_m: f64 =
        demo.segments.iter().map(|s| s.length_m / (1.0 + s.slope.unwrap() * s.slope.unwrap()).sqrt()).sum();
    let by_hand = between(&rows, from_m, to_m, |r| r.by_tilts_m2).unwrap().sqrt() / level_m * (1.0 + slope * slope);
    // Slopes of the segments are within a hundredth of the mean: 0.01 x 0.023.
    assert!(apart(by_hand, total.slope_sd.unwrap()) < 2.5e-4, "{by_hand}");
    // The budget beside it, in thousandths of a percent and as it is printed.
    let budget = rows_of(&demo.budget, total, "slope");
    let documented = documented("| source of the slope's error");
    for (cells, row) in documented.iter().zip(&budget) {
        // The cell of the name is no number.
        assert!(
            (cells[0] - 100.0 * row.sd).abs() < 0.51e-4 && (cells[1] - 100.0 * row.share).abs() < 0.051,
            "{cells:?} {row:?}"
        );
    }
    let rest: f64 = budget.iter().skip(documented.len()).map(|r| r.sd * r.sd).sum();
    let all: f64 = documented.iter().map(|cells| cells[0] * cells[0] / 1e4).sum();
    // Eight numbers to half of the last digit, 5e-7 of at most 0.0012 each.
    assert!(apart((all + rest).sqrt(), total.slope_sd.unwrap()) < 1e-3, "{all} {rest}");
}

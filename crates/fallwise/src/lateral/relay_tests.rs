use super::*;
use crate::{
    Bore, Pipe, Reach, Run,
    model::{
        AsBuilt, Feature, Job, KeepOut, Known, MovableConnection, Nominal, Place, RelayCosts, RelaySurface, SizeUnit,
        Tie,
    },
    units::{percent, slope_to_tilt},
};

/// Inverts known to 1 mm, with a joint at each but the ends.
fn job(inverts: &[(f64, f64)]) -> Job {
    let joint = |(station_m, _): &(f64, f64)| feature(FeatureKind::Joint, *station_m);
    let (first, last) = (inverts[0].0, inverts[inverts.len() - 1].0);
    let pipe = Pipe {
        bore: Some(Bore::Circle { diameter_m: 0.1 }),
        nominal: Some(Nominal { size: 100.0, unit: SizeUnit::Dn }),
        ..Pipe::default()
    };
    Job {
        as_built: inverts
            .iter()
            .map(|&(station_m, invert_m)| AsBuilt { station_m, invert_m, sd_m: Some(0.001) })
            .collect(),
        features: inverts[1..inverts.len() - 1].iter().map(joint).collect(),
        reaches: vec![Reach { from_m: first, to_m: last, pipe, ..Reach::default() }],
        ..Job::default()
    }
}

fn feature(kind: FeatureKind, station_m: f64) -> Feature {
    Feature { kind, station_m, to_m: None, text: String::new() }
}

fn choice() -> RelayChoice {
    let costs = RelayCosts { currency: "crowns".into(), per_trench: 500.0, per_m: 100.0, per_m_depth: 0.0 };
    RelayChoice { min_slope: Some(0.02), costs, ..RelayChoice::default() }
}

fn told(job: Job, choice: &RelayChoice) -> RelayAnswer {
    Lateral::solve(job).unwrap().relay(choice, None).unwrap()
}

const SAG: [(f64, f64); 5] = [(0.0, 0.21), (2.0, 0.15), (4.0, 0.15), (6.0, 0.05), (8.0, 0.0)];

#[test]
fn a_sag_is_laid_anew_with_the_stick_that_has_fall_to_spare() {
    let plan = told(job(&SAG), &choice());
    assert_eq!(plan.outcome, "plan");
    let ends: Vec<(f64, f64)> = plan.stretches.iter().map(|s| (s.from_m, s.to_m)).collect();
    assert_eq!(ends, [(2.0, 6.0)]);
    // 500 for the trench, 100 for each metre of level length: 4 m of pipe at 2.5 % are 3.9983 m (two sticks at 0 and 5 %).
    let level_m = 2.0 + (2.0f64 * 2.0 - 0.1 * 0.1).sqrt();
    assert!((plan.cost.unwrap() - (500.0 + 100.0 * level_m)).abs() < 1e-5);
    // Half-way between its neighbours but for the difference of the two level lengths.
    let new_m = plan.nodes[2].new_height_m.unwrap();
    assert!((new_m - (0.15 - 0.1 * 2.0 / level_m)).abs() < 1e-9, "{new_m}");
    assert!(plan.pieces.iter().all(|p| p.probability >= 0.95));
    assert!(plan.sentences[0].starts_with("Least cost under your costs: re-lay the pipe between"), "{plan:?}");
    assert!(plan.sentences.iter().any(|s| s.contains("Lining and bursting")));
}

#[test]
fn water_the_other_way_gives_the_same_trench() {
    let mirrored: Vec<(f64, f64)> = SAG.iter().rev().map(|(s, h)| (8.0 - s, *h)).collect();
    let mut other = job(&mirrored);
    other.flow = Flow::Decreasing;
    let (one, other) = (told(job(&SAG), &choice()), told(other, &choice()));
    assert_eq!((other.stretches[0].from_m, other.stretches[0].to_m), (6.0, 2.0));
    // Sums are taken in another order: rounding, in millionths of money.
    assert!((one.cost.unwrap() - other.cost.unwrap()).abs() <= 2e-6);
    assert!((one.pieces[1].slope - other.pieces[1].slope).abs() < 1e-12);
}

#[test]
fn too_little_fall_is_proved() {
    let none = told(job(&SAG), &RelayChoice { min_slope: Some(0.03), ..choice() });
    assert_eq!((none.outcome.as_str(), none.cost), ("no_plan", None));
    let short = &none.short[0];
    assert_eq!((short.from_m, short.to_m), (0.0, 8.0));
    // 3 % of the level length less 210 mm, and 1.645 standard deviations of a difference of two levels of 1 mm.
    let level_m: f64 = [0.06f64, 0.0, 0.1, 0.05].iter().map(|fall| (4.0 - fall * fall).sqrt()).sum();
    let sd = 0.001 * 2.0f64.sqrt();
    let missing_m = 0.03 * level_m - 0.21 + 1.644_853_6 * sd;
    assert!((short.missing_m.unwrap() - missing_m).abs() < 1e-9, "{short:?}"); // the quantile has eight digits
    assert!((none.lower_outlet_m.unwrap() - short.missing_m.unwrap()).abs() < 1e-9);
    assert!(none.sentences[0].starts_with("No plan exists"));
}

#[test]
fn what_falls_as_asked_stays() {
    let as_it_is = told(job(&SAG), &RelayChoice { min_slope: Some(0.0), confidence: 0.5, ..choice() });
    assert_eq!((as_it_is.outcome.as_str(), as_it_is.stretches.len()), ("as_it_is", 0));
    assert!(as_it_is.cost.is_some_and(|cost| cost == 0.0 && cost.is_sign_positive()));
    assert!(as_it_is.sentences[0].starts_with("Nothing has to be re-laid"));
}

#[test]
fn nobody_digs_where_nobody_may() {
    let keep_out = vec![KeepOut { from_m: 4.5, to_m: 5.0, reason: "below the shed".into() }];
    let none = told(job(&SAG), &RelayChoice { keep_out, ..choice() });
    assert_eq!(none.outcome, "no_plan");
    assert!(
        none.sentences
            .iter()
            .any(|s| s.contains("between chainage 4.00 m and 6.00 m could be dug up (below the shed)")),
        "{none:?}"
    );
}

#[test]
fn connections_keep_their_inverts_unless_it_is_said_that_they_need_not() {
    let mut with = job(&SAG);
    with.features.push(feature(FeatureKind::Connection, 4.0));
    assert_eq!(told(with.clone(), &choice()).outcome, "no_plan");
    let connections = vec![MovableConnection { station_m: 4.0, above_m: 0.0 }];
    let moved = told(with.clone(), &RelayChoice { connections, ..choice() });
    assert_eq!(moved.outcome, "plan");
    assert_eq!(moved.nodes[2].connection.as_deref(), Some("not_above"));
    assert!(moved.sentences.iter().any(|s| s.contains("where a connection comes in")), "{moved:?}");

    with.relay =
        Some(RelayChoice { connections: vec![MovableConnection { station_m: 5.0, above_m: 0.0 }], ..choice() });
    let error = Lateral::solve(with).unwrap_err().to_string();
    assert!(error.contains("relay.connections.station_m[0]") && error.contains("nearest is at 4 m"), "{error}");
}

/// A belly inside of what lies between two joints does not hide behind the mean.
#[test]
fn pipe_that_runs_backwards_somewhere_does_not_stay() {
    let reading = |i: i32| {
        let slope = if (120..180).contains(&i) { -1.0 } else { 2.0 };
        slope_to_tilt(percent(slope))
    };
    let counter_m: Vec<f64> = (0..=480).map(|i| f64::from(i) * 0.05).collect();
    let run = Run::new(counter_m, (0..=480).map(reading).collect());
    let level = |station_m: f64, elevation_m: f64| Tie {
        name: String::new(),
        known: Known::Invert { at: Place::exact(station_m), elevation_m, sd_m: 0.002 },
    };
    let ties = vec![level(0.0, 1.0), level(24.0, 1.0 - 0.02 * 21.0 + 0.01 * 3.0)];
    let job = Job { runs: vec![run], ties, ..Job::default() };
    // 1.6 % over the whole, and no joint noted.
    let plan = told(job.clone(), &RelayChoice { min_slope: Some(0.0125), ..choice() });
    assert_eq!(plan.outcome, "plan", "{plan:?}");
    assert_eq!((plan.stretches[0].from_m, plan.stretches[0].to_m), (0.0, 24.0));
    assert!(plan.sentences.iter().any(|s| s.starts_with("No joint is noted")));
    let keep_out = vec![KeepOut { from_m: 20.0, to_m: 21.0, reason: String::new() }];
    let none = told(job, &RelayChoice { min_slope: Some(0.0125), keep_out, ..choice() });
    assert!(none.sentences.iter().any(|s| s.starts_with("Somewhere between")), "{none:?}");
}

#[test]
fn what_is_not_known_well_enough_is_not_called_missing() {
    let mut unsure = job(&SAG);
    unsure.as_built.iter_mut().for_each(|a| a.sd_m = Some(0.05));
    let none = told(unsure, &choice());
    assert_eq!(none.outcome, "no_plan");
    assert!(none.sentences[0].starts_with("No plan can be given"), "{none:?}");
    assert!(none.short[0].sentence.contains("the fall would do"), "{none:?}");
}

#[test]
fn a_drop_and_a_trap_stay() {
    // 0.6 m down over 0.2 m in the middle, a trap of 0.3 m before it.
    let mut drop = job(&[(0.0, 1.0), (2.0, 0.95), (2.3, 0.9498), (4.0, 0.9), (4.7, 0.4), (7.0, 0.35)]);
    drop.features.push(Feature { to_m: Some(2.3), ..feature(FeatureKind::Trap, 2.0) });
    let plan = told(drop, &RelayChoice { min_slope: Some(0.01), ..choice() });
    assert_eq!(plan.outcome, "as_it_is", "{plan:?}");
    let asked: Vec<bool> = plan.pieces.iter().map(|p| p.min_slope.is_some()).collect();
    assert_eq!(asked, [true, false, true, false, true]);
}

#[test]
fn pipe_that_nobody_saw_does_not_stay() {
    let reading = slope_to_tilt(percent(3.0));
    // No reading between 3 and 6 m.
    let counter_m: Vec<f64> = (0..=180).map(|i| f64::from(i) * 0.05).filter(|m| *m <= 3.0 || *m >= 6.0).collect();
    let run = Run::new(counter_m.clone(), vec![reading; counter_m.len()]);
    let level = |station_m: f64, elevation_m: f64| Tie {
        name: String::new(),
        known: Known::Invert { at: Place::exact(station_m), elevation_m, sd_m: 0.002 },
    };
    let ties = [0.0, 2.0, 7.0, 9.0].map(|s| level(s, 1.0 - 0.03 * s)).to_vec();
    let features = [2.0, 7.0].map(|s| feature(FeatureKind::Joint, s)).to_vec();
    let job = Job { runs: vec![run], ties, features, ..Job::default() };
    let plan = told(job.clone(), &choice());
    assert_eq!((plan.outcome.as_str(), plan.stretches.len()), ("plan", 1), "{plan:?}");
    assert_eq!((plan.stretches[0].from_m, plan.stretches[0].to_m), (2.0, 7.0));
    let keep_out = vec![KeepOut { from_m: 4.0, to_m: 5.0, reason: String::new() }];
    let none = told(job, &RelayChoice { keep_out, ..choice() });
    assert!(none.sentences.iter().any(|s| s.starts_with("Nothing was read somewhere between")), "{none:?}");
}

#[test]
fn what_cannot_be_told_says_why() {
    let no_rule = told(job(&SAG), &RelayChoice { min_slope: None, ..choice() });
    assert_eq!(no_rule.outcome, "refused");
    assert!(no_rule.sentences[0].contains("no rule says which slope is asked for"), "{no_rule:?}");
    let mut by_depth = choice();
    by_depth.costs.per_m_depth = 10.0;
    let no_ground = told(job(&SAG), &by_depth);
    assert_eq!(no_ground.outcome, "refused");
    assert!(no_ground.sentences[0].contains("costs by depth are given"), "{no_ground:?}");
    let book = Rulebook::shipped("ipc-2021").unwrap();
    let in_dn = Lateral::solve(job(&SAG)).unwrap();
    let missing = in_dn.relay(&RelayChoice { min_slope: None, ..choice() }, Some(&book)).unwrap();
    let open = "turns on nominal size in inches, which the job does not say: the strictest are taken";
    assert!(missing.sentences.iter().any(|s| s.contains(open)), "{missing:?}");
    assert_eq!(missing.pieces[0].min_slope, Some(1.0 / 48.0)); // 1/4 in/ft
}

#[test]
fn quantities_go_to_the_deep_end() {
    let mut deep = job(&SAG);
    let ground = |station_m: f64| GroundPoint { station_m, elevation_m: 1.5, sd_m: Some(0.01) };
    deep.ground = vec![ground(0.0), ground(8.0)];
    deep.reaches[0].pipe.wall_m = Some(0.01);
    deep.reaches[0].pipe.stick_m = Some(3.0);
    let surfaces = vec![RelaySurface { name: "lawn".into(), from_m: 0.0, to_m: 3.0, per_m: 20.0, per_m_depth: 0.0 }];
    let plan = told(deep, &RelayChoice { width_m: Some(0.6), surfaces, ..choice() });
    let stretch = &plan.stretches[0];
    // The lower end: 1.45 m to the invert, wall 10 mm, bedding 100 mm, and 1.96 standard deviations: of the ground a quarter of the one
    // point's 10 mm and three quarters of the other's, of the invert 1 mm.
    let sd = [0.0025f64, 0.0075, 0.001].iter().map(|sd| sd * sd).sum::<f64>().sqrt();
    assert!((stretch.max_depth_m.unwrap() - (1.45 + 0.01 + 0.1 + 1.959_964 * sd)).abs() < 1e-6, "{stretch:?}");
    assert_eq!(stretch.sticks, Some(2));
    let under = plan.quantities.iter().find(|q| q.item == "trench under lawn").unwrap();
    assert!((under.quantity.unwrap() - 1.0).abs() < 1e-9, "{under:?}");
}

/// What has a price adds up to the cost, by metre and by depth, with a surface over part of it.
#[test]
fn amounts_add_up_to_the_cost() {
    let mut deep = job(&SAG);
    let ground = |station_m: f64, elevation_m: f64| GroundPoint { station_m, elevation_m, sd_m: Some(0.01) };
    deep.ground = vec![ground(0.0, 1.5), ground(3.3, 1.9), ground(8.0, 1.4)];
    let surfaces = vec![RelaySurface { name: "lawn".into(), from_m: 0.0, to_m: 3.0, per_m: 20.0, per_m_depth: 7.0 }];
    let costs = RelayCosts { per_trench: 500.0, per_m: 100.0, per_m_depth: 31.0, ..RelayCosts::default() };
    let plan = told(deep, &RelayChoice { costs, surfaces, ..choice() });
    let sum: f64 = plan.quantities.iter().filter_map(|q| q.amount).sum();
    // Costs are planned in millionths, one rounding a piece.
    assert!((sum - plan.cost.unwrap()).abs() < 1e-5, "{sum} {plan:?}");
    assert_eq!(plan.quantities.iter().filter(|q| q.rate.is_some()).count(), 5, "{plan:?}");
    // Where the new pipe lies lower, so does the bottom of the trench.
    for node in &plan.nodes {
        let (ground_m, new_m) = (node.ground_m.unwrap(), node.new_elevation_m.unwrap());
        let below_m = node.trench_m.unwrap() - (ground_m - new_m);
        // Bedding of 0.1 m, and 1.96 standard deviations of some millimetres.
        assert!((0.1..0.13).contains(&below_m), "{node:?}");
    }
}

/// Spoils a choice, and the field that is named.
type Fault<'a> = (&'a dyn Fn(&mut RelayChoice), &'a str);

#[test]
fn numbers_that_cannot_be_are_named() {
    let solved = Lateral::solve(job(&SAG)).unwrap();
    let faults: [Fault<'_>; 9] = [
        (&|c| c.confidence = 0.4, "relay.confidence"),
        (&|c| c.min_slope = Some(f64::NAN), "relay.min_slope"),
        (&|c| c.costs.per_m = -1.0, "relay.costs.per_m"),
        (&|c| c.max_length_m = Some(0.0), "relay.max_length_m"),
        (&|c| c.width_m = Some(0.0), "relay.width_m"),
        (&|c| c.batter = f64::INFINITY, "relay.batter"),
        (&|c| c.bedding_m = -0.1, "relay.bedding_m"),
        (&|c| c.keep_out = vec![KeepOut { from_m: 2.0, to_m: 1.0, reason: String::new() }], "relay.keep_out[0]"),
        (
            &|c| {
                let one = RelaySurface { name: String::new(), from_m: 0.0, to_m: 5.0, per_m: 1.0, per_m_depth: 0.0 };
                c.surfaces = vec![one.clone(), RelaySurface { from_m: 4.0, to_m: 8.0, ..one }];
            },
            "relay.surfaces",
        ),
    ];
    for (spoil, field) in faults {
        let mut choice = choice();
        spoil(&mut choice);
        let told = solved.relay(&choice, None).unwrap_err().to_string();
        assert!(told.contains(field), "{field}: {told}");
    }
}

/// The variance of each fall is that of the posterior, by another way through it.
#[test]
fn falls_are_as_sure_as_the_posterior_says() {
    let reading = slope_to_tilt(percent(2.0));
    let counter_m: Vec<f64> = (0..=240).map(|i| f64::from(i) * 0.05).collect();
    let readings: Vec<f64> = (0..=240).map(|i| reading + if i > 100 { 0.01 } else { 0.0 }).collect();
    let run = Run::new(counter_m, readings);
    let features = [3.0, 6.0, 9.0].map(|s| feature(FeatureKind::Joint, s)).to_vec();
    let invert = |station_m: f64, elevation_m: f64| Tie {
        name: String::new(),
        known: Known::Invert { at: Place::exact(station_m), elevation_m, sd_m: 0.005 },
    };
    for ties in [vec![], vec![invert(0.0, 1.0)], vec![invert(1.0, 1.0), invert(11.0, 0.75)]] {
        let job = Job { runs: vec![run.clone()], features: features.clone(), ties, ..Job::default() };
        let lateral = Lateral::solve(job).unwrap();
        let site = lateral.site(&choice(), None);
        for (i, one) in site.nodes.iter().enumerate() {
            for (j, other) in site.nodes.iter().enumerate().skip(i + 1) {
                let fall = lateral.fall(one.station_m, other.station_m);
                let sd = site.fall_sd_m(i, j).unwrap();
                // A difference of variances of up to a square decimetre, a micrometre apart.
                assert!((sd - fall.sd).abs() < 1e-6, "{sd} {fall:?}");
                assert!((one.height_m - other.height_m - fall.value).abs() < 1e-12, "{fall:?}");
            }
        }
    }
}

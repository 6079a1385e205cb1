//! What to re-lay: 200 sticks with a belly in every tenth, beside a plain hand-written dynamic programme that measures every piece
//! anew; and the same from a solved lateral, errors of all falls and draws with it.

use core::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use fallwise::{
    Job, Lateral, Reach, Tie,
    math::normal_quantile,
    model::{Feature, FeatureKind, Known, Place, RelayChoice, RelayCosts},
    relay::{Asked, Costs, Line, Node, Outcome, Span, plan},
    simulate::{self, Flaws, Head, Truth},
    units::{percent, slope_to_tilt},
};

const STICKS: usize = 200;
const STICK_M: f64 = 3.0;
const ASKED: f64 = 0.0125;
const PER_TRENCH: f64 = 800.0;
const PER_M: f64 = 150.0;

/// Slope of a stick, percent.
fn slope(stick: usize) -> f64 {
    match stick % 10 {
        4 => -0.5,
        5 => 3.4,
        _ => 2.0,
    }
}

/// Standard deviation of a fall over some sticks, m: 2 mm for each, and 4 mm besides.
fn fall_sd_m(from: usize, to: usize) -> f64 {
    (4e-6 * (to - from) as f64 + 1.6e-5).sqrt()
}

fn nodes() -> Vec<Node> {
    let mut height_m = 20.0;
    (0..=STICKS)
        .map(|i| {
            let node = Node::joint(STICK_M * i as f64, height_m);
            height_m -= STICK_M * percent(slope(i));
            node
        })
        .collect()
}

fn spans(min_slope: f64) -> Vec<Span> {
    vec![Span { level_m: STICK_M, min_slope, max_slope: None, reach: 0, may_dig: true, may_stay: true }; STICKS]
}

/// The plain programme: for every pair of nodes whether the piece between them meets what is asked, its length summed span by span.
fn plain_loop(nodes: &[Node], spans: &[Span]) -> f64 {
    let z = normal_quantile(0.95);
    let mut best = vec![f64::INFINITY; nodes.len()];
    best[0] = 0.0;
    for from in 0..STICKS {
        for to in from + 1..=STICKS {
            let level_m: f64 = spans[from..to].iter().map(|s| s.level_m).sum();
            let asked = spans[from..to].iter().map(|s| s.min_slope).fold(0.0, f64::max);
            let fall_m = nodes[from].height_m - nodes[to].height_m;
            if fall_m - asked * level_m < z * fall_sd_m(from, to) {
                continue;
            }
            let cost = if to == from + 1 { 0.0 } else { PER_TRENCH + PER_M * level_m };
            best[to] = best[to].min(best[from] + cost);
        }
    }
    best[STICKS]
}

fn planner(c: &mut Criterion) {
    let nodes = nodes();
    let sd = |from: usize, to: usize| Some(fall_sd_m(from, to));
    let costs = Costs { per_trench: PER_TRENCH, per_m: PER_M, ..Costs::default() };
    let (there, not) = (spans(ASKED), spans(0.021));
    let line = |spans| Line { nodes: &nodes, spans, fall_sd_m: &sd, ground: &[] };
    let Ok(Outcome::Plan(found)) = plan(&line(&there), &Asked::default(), &costs) else { panic!("there is a plan") };
    // Twenty bellies; the plain programme finds the same cost.
    assert!(found.stretches.len() <= STICKS / 10 && (found.cost - plain_loop(&nodes, &there)).abs() < 1e-3);
    let none = plan(&line(&not), &Asked::default(), &costs);
    assert!(matches!(none, Ok(Outcome::NoPlan(_))));
    let mut group = c.benchmark_group("200 sticks");
    group.bench_function("fallwise", |b| b.iter(|| plan(black_box(&line(&there)), &Asked::default(), &costs)));
    group.bench_function("plain loop", |b| b.iter(|| plain_loop(black_box(&nodes), &there)));
    group.bench_function("fallwise, no plan and why", |b| {
        b.iter(|| plan(black_box(&line(&not)), &Asked::default(), &costs));
    });
    group.finish();
}

/// 600 m read every 0.1 m, with a level at every thirtieth joint.
fn lateral() -> Lateral {
    let breaks_m: Vec<f64> = (0..=STICKS).map(|i| STICK_M * i as f64).collect();
    let tilt_rad: Vec<f64> = (0..STICKS).map(|i| slope_to_tilt(percent(slope(i)))).collect();
    let mut height_m = vec![20.0];
    for (i, tilt) in tilt_rad.iter().enumerate() {
        height_m.push(height_m[i] - STICK_M * fallwise::math::sin(*tilt));
    }
    let truth = Truth { breaks_m: breaks_m.clone(), tilt_rad, ..Truth::default() };
    let log = simulate::run(&truth, &Head::default(), &Flaws::default(), 0.1, 1).expect("the pipe can be read");
    let level = |i: usize| Tie {
        name: String::new(),
        known: Known::Invert { at: Place::exact(breaks_m[i]), elevation_m: height_m[i], sd_m: 0.003 },
    };
    let joint = |m: &f64| Feature { kind: FeatureKind::Joint, station_m: *m, to_m: None, text: String::new() };
    let job = Job {
        runs: vec![log.run],
        ties: (0..=STICKS).step_by(20).map(level).collect(),
        features: breaks_m[1..STICKS].iter().map(joint).collect(),
        reaches: vec![Reach { from_m: 0.0, to_m: STICK_M * STICKS as f64, ..Reach::default() }],
        ..Job::default()
    };
    Lateral::solve(job).expect("it can be solved")
}

fn whole(c: &mut Criterion) {
    let lateral = lateral();
    let costs = RelayCosts { per_trench: PER_TRENCH, per_m: PER_M, ..RelayCosts::default() };
    let choice = RelayChoice { min_slope: Some(0.01), costs, ..RelayChoice::default() };
    let told = lateral.relay(&choice, None).expect("the choice can be");
    assert_eq!((told.outcome.as_str(), told.stretches.len()), ("plan", 20), "{:?}", told.sentences);
    let mut group = c.benchmark_group("a lateral with 200 joints");
    group.sample_size(20);
    group.bench_function("the plan, errors of falls and 1,000 draws with it", |b| {
        b.iter(|| black_box(&lateral).relay(&choice, None));
    });
    group.finish();
}

criterion_group!(benches, planner, whole);
criterion_main!(benches);

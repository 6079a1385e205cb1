//! Pools: 100 of them over 4,332 pieces beside a plain hand-written loop of the closed form, long profiles, and draws.

use core::hint::black_box;

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use fallwise::{
    Bore, Flow, Profile, math,
    pool::{Terms, from_draws, pools, water_level},
};

const DIAMETER_M: f64 = 0.1;

/// `waves` bellies in `pieces` pieces of 0.1 m, of different depths (a few above the crown), on a fall of 1 %.
fn wavy(pieces: usize, waves: usize) -> Profile {
    let (mut station_m, mut height_m, mut tilt_rad) = (vec![0.0], vec![0.0], Vec::new());
    let mut height = 0.0;
    for i in 0..pieces {
        let turns = i as f64 * waves as f64 / pieces as f64;
        let size = 0.012 + 0.03 * (turns.floor() * 0.618).fract();
        let tilt = 0.01 + size * math::cos(core::f64::consts::TAU * turns);
        height -= 0.1 * math::sin(tilt);
        station_m.push((i + 1) as f64 * 0.1);
        height_m.push(height);
        tilt_rad.push(tilt);
    }
    Profile { station_m, height_m, tilt_rad, reach: vec![0; pieces], at_drop: vec![], scale: 1.0 }
}

/// The plain loop: running maximum, and F(d) = r^3 (sin p - sin^3 p / 3 - p cos p) at both ends of every wet piece. It
/// has no edges, depths, flags or bores, and loses digits for shallow water.
fn plain_loop(pipe: &Profile, diameter_m: f64) -> f64 {
    let radius = 0.5 * diameter_m;
    let integral = |depth: f64| {
        let d = depth.clamp(0.0, diameter_m);
        let cosine = 1.0 - d / radius;
        let (p, sine) = (math::acos(cosine), (1.0 - cosine * cosine).max(0.0).sqrt());
        let full = core::f64::consts::PI * radius * radius;
        radius * radius * radius * (sine - sine * sine * sine / 3.0 - p * cosine) + full * (depth - diameter_m).max(0.0)
    };
    let (mut level, mut total) = (f64::NEG_INFINITY, 0.0);
    for i in (0..pipe.tilt_rad.len()).rev() {
        level = level.max(pipe.height_m[i + 1]);
        let (a, b) = (level - pipe.height_m[i], level - pipe.height_m[i + 1]);
        if a.max(b) > 0.0 {
            let cosine = math::cos(pipe.tilt_rad[i]);
            let (a, b) = (a / cosine, b / cosine);
            let length = pipe.station_m[i + 1] - pipe.station_m[i];
            let mean = if (b - a).abs() > 1e-9 { (integral(b) - integral(a)) / (b - a) } else { 0.0 };
            total += mean * length;
        }
    }
    total
}

fn hundred(c: &mut Criterion) {
    let pipe = wavy(4332, 100);
    let bores = [Some(Bore::Circle { diameter_m: DIAMETER_M })];
    let found = pools(&pipe, &bores, Flow::Increasing, None);
    let total: f64 = found.iter().filter_map(|pool| pool.volume_m3).sum();
    assert_eq!(found.len(), 100);
    assert!((total / plain_loop(&pipe, DIAMETER_M) - 1.0).abs() < 1e-6, "the two must do the same work");
    let mut group = c.benchmark_group("pools_100_of_4332_pieces");
    group.bench_function("pools", |b| b.iter(|| pools(black_box(&pipe), &bores, Flow::Increasing, None)));
    group.bench_function("plain_loop", |b| b.iter(|| plain_loop(black_box(&pipe), DIAMETER_M)));
    group.finish();
}

fn long(c: &mut Criterion) {
    let bores = [Some(Bore::Circle { diameter_m: DIAMETER_M })];
    let mut group = c.benchmark_group("pools_by_nodes");
    group.sample_size(20);
    for pieces in [1_000, 10_000, 100_000, 1_000_000] {
        let pipe = wavy(pieces, pieces / 43);
        group.throughput(Throughput::Elements(pieces as u64));
        group.bench_with_input(BenchmarkId::new("pools", pieces), &pipe, |b, pipe| {
            b.iter(|| pools(pipe, &bores, Flow::Increasing, None));
        });
        group.bench_with_input(BenchmarkId::new("water_level", pieces), &pipe, |b, pipe| {
            b.iter(|| water_level(pipe, Flow::Increasing, None));
        });
    }
    group.finish();
}

fn draws(c: &mut Criterion) {
    let best = wavy(100, 4);
    let drawn: Vec<Profile> = (0..1000)
        .map(|i| {
            let tilt = 0.003 * math::sin(f64::from(i)); // a zero error, as it moves every pool at once
            let mut draw = best.clone();
            draw.tilt_rad.iter_mut().for_each(|t| *t += tilt);
            draw.height_m.iter_mut().zip(&best.station_m).for_each(|(h, s)| *h -= s * math::sin(tilt));
            draw
        })
        .collect();
    let bores = [Some(Bore::Circle { diameter_m: DIAMETER_M })];
    c.bench_function("pools_1000_draws_of_100_pieces", |b| {
        b.iter(|| from_draws(black_box(&best), &drawn[..], &bores, Flow::Increasing, None, Terms::default()));
    });
}

criterion_group!(benches, hundred, long, draws);
criterion_main!(benches);

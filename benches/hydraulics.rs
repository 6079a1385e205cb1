//! Normal depths of 10,000 pipes, beside a plain hand-written loop: Manning in the half-angle, halved down to the last place.

use core::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use fallwise::{
    Bore,
    hydraulics::{Friction, Uniform},
    math,
};

const N: f64 = 0.013;

/// Diameter, slope, flow of each pipe: from a film to nine tenths of what the full bore carries.
fn pipes() -> Vec<(f64, f64, f64)> {
    (0..10_000)
        .map(|i| {
            let (a, b, c) = (0.618 * f64::from(i), 0.755 * f64::from(i), 0.57 * f64::from(i));
            let (diameter, slope) = (0.1 + 0.2 * a.fract(), 0.002 + 0.03 * b.fract());
            let full =
                Uniform { bore: Bore::Circle { diameter_m: diameter }, slope, friction: Friction::Manning { n: N } };
            (diameter, slope, (0.001 + 0.9 * c.fract()) * full.flow_m3_s(diameter))
        })
        .collect()
}

/// The plain loop: no second depth, no state, no condition, no other bore, no check; below the most only.
fn plain_loop(pipes: &[(f64, f64, f64)]) -> f64 {
    let mut total = 0.0;
    for &(diameter, slope, flow) in pipes {
        let area = 0.25 * diameter * diameter;
        let (mut low, mut high) = (0.0, 2.6);
        for _ in 0..52 {
            let t = 0.5 * (low + high);
            let a = area * (t - math::sin(t) * math::cos(t));
            let root = math::cbrt(a / (diameter * t));
            if a * root * root * slope.sqrt() / N < flow {
                low = t;
            } else {
                high = t;
            }
        }
        let s = math::sin(0.25 * (low + high));
        total += diameter * s * s;
    }
    total
}

fn ours(pipes: &[(f64, f64, f64)]) -> f64 {
    let depth = |&(diameter, slope, flow): &(f64, f64, f64)| {
        let bore = Bore::Circle { diameter_m: diameter };
        let pipe = Uniform { bore, slope, friction: Friction::Manning { n: N } };
        pipe.normal_depth(flow).expect("a flow").depth_m.expect("a depth")
    };
    pipes.iter().map(depth).sum()
}

fn normal_depth(c: &mut Criterion) {
    let pipes = pipes();
    // Both are roots to the last places.
    assert!((ours(&pipes) / plain_loop(&pipes) - 1.0).abs() < 1e-12);
    let mut group = c.benchmark_group("normal_depth");
    group.throughput(Throughput::Elements(10_000));
    group.bench_function("fallwise", |b| b.iter(|| ours(black_box(&pipes))));
    group.bench_function("plain", |b| b.iter(|| plain_loop(black_box(&pipes))));
    group.finish();
}

criterion_group!(benches, normal_depth);
criterion_main!(benches);

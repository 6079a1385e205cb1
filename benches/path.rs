//! Paths: a direction at each station, and heights of a layout, beside plain loops over the standard library's functions.
#![allow(clippy::disallowed_methods, reason = "the plain loops compared with are written as anyone would write them")]

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use fallwise::{
    model::Bend,
    path::{Layout, minimum_curvature},
};
use std::hint::black_box;

const SIZES: [usize; 4] = [1_000, 10_000, 100_000, 1_000_000];

/// Minimum curvature in its chord form, as a loop one would write by hand, without checks.
fn plain(station_m: &[f64], tilt_rad: &[f64], azimuth_rad: &[f64]) -> Vec<[f64; 3]> {
    let unit = |i: usize| {
        let ((st, ct), (sa, ca)) = (tilt_rad[i].sin_cos(), azimuth_rad[i].sin_cos());
        [ct * sa, ct * ca, -st]
    };
    let (mut u, mut p) = (unit(0), [0.0; 3]);
    let mut out = Vec::with_capacity(station_m.len());
    out.push(p);
    for i in 1..station_m.len() {
        let v = unit(i);
        let chord: f64 = (0..3).map(|k| (u[k] - v[k]) * (u[k] - v[k])).sum::<f64>().sqrt();
        let half = (0.5 * chord).asin();
        let ratio = if half < 1e-4 { 1.0 + half * half / 3.0 } else { half.tan() / half };
        for k in 0..3 {
            p[k] += 0.5 * (station_m[i] - station_m[i - 1]) * ratio * (u[k] + v[k]);
        }
        out.push(p);
        u = v;
    }
    out
}

/// Heights by adding L sin t.
fn plain_heights(breaks_m: &[f64], tilt_rad: &[f64]) -> Vec<f64> {
    let mut h = 0.0;
    let mut out = vec![h];
    for (w, t) in breaks_m.windows(2).zip(tilt_rad) {
        h -= (w[1] - w[0]) * t.sin();
        out.push(h);
    }
    let low = out.iter().copied().fold(f64::INFINITY, f64::min);
    for h in &mut out {
        *h -= low;
    }
    out
}

fn course(c: &mut Criterion) {
    let mut group = c.benchmark_group("minimum_curvature");
    for n in SIZES {
        let station: Vec<f64> = (0..n).map(|i| 0.1 * i as f64).collect();
        let tilt: Vec<f64> = (0..n).map(|i| 0.02 + 0.01 * (i as f64 * 0.37).sin()).collect();
        let azimuth: Vec<f64> = (0..n).map(|i| 1.0 + 0.05 * (i as f64 * 0.011).sin()).collect();
        group.throughput(Throughput::Elements(n as u64));
        group.bench_function(BenchmarkId::new("fallwise", n), |b| {
            b.iter(|| minimum_curvature(black_box(&station), black_box(&tilt), black_box(&azimuth)));
        });
        group.bench_function(BenchmarkId::new("plain loop", n), |b| {
            b.iter(|| plain(black_box(&station), black_box(&tilt), black_box(&azimuth)));
        });
    }
    group.finish();
}

fn heights(c: &mut Criterion) {
    let mut group = c.benchmark_group("profile");
    for n in SIZES {
        let breaks: Vec<f64> = (0..=n).map(|i| 0.1 * i as f64).collect();
        let tilt: Vec<f64> = (0..n).map(|i| 0.02 + 0.01 * (i as f64 * 0.37).sin()).collect();
        let layout = Layout::new(&breaks, &[], &[], &[]).expect("breaks grow");
        group.throughput(Throughput::Elements(n as u64));
        group.bench_function(BenchmarkId::new("fallwise", n), |b| {
            b.iter(|| layout.profile(black_box(&tilt), 0.99, None));
        });
        group.bench_function(BenchmarkId::new("plain loop", n), |b| {
            b.iter(|| plain_heights(black_box(&breaks), black_box(&tilt)));
        });
    }
    // A lateral as they are: ten segments and two bends, some ninety pieces.
    let breaks: Vec<f64> = (0..=10).map(|i| 3.0 * f64::from(i)).collect();
    let bends = [Bend::new(6.0, 0.785), Bend::new(21.0, -1.5)];
    let layout = Layout::new(&breaks, &bends, &[], &[]).expect("bends are apart");
    let tilt = [0.02, 0.021, 0.019, 0.03, -0.01, 0.02, 0.02, 0.04, 0.02, 0.02];
    group.finish();
    c.bench_function("profile of a lateral with two bends", |b| {
        b.iter(|| layout.profile(black_box(&tilt), 0.99, None));
    });
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20).measurement_time(std::time::Duration::from_secs(1)).warm_up_time(std::time::Duration::from_millis(300));
    targets = course, heights
}
criterion_main!(benches);

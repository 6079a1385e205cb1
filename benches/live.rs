//! A run while it is being made: a reading taken, and what is provisional after a thousand readings and after a hundred thousand. Both must take as long
//! after many as after few.

use core::hint::black_box;

use criterion::{BatchSize, Criterion, Throughput, criterion_group, criterion_main};
use fallwise::{
    Job,
    lateral::{Live, LiveOptions, LiveReading},
    units::deg,
};

/// Readings of 30 m of pipe, so many of them.
fn readings(count: u32) -> Vec<LiveReading> {
    let wave = |i: u32| 0.2 * (0.618 * f64::from(i)).fract();
    let at = |i: u32| LiveReading {
        counter_m: 30.0 * f64::from(i) / f64::from(count),
        reading_rad: deg(1.2 + wave(i)),
        ..LiveReading::default()
    };
    (0..count).map(at).collect()
}

fn pushed(readings: &[LiveReading]) -> Live {
    let mut live = Live::new(Job::default(), LiveOptions::default()).expect("options");
    for reading in readings {
        live.push(*reading).expect("a reading");
    }
    live
}

fn live(c: &mut Criterion) {
    for count in [1_000, 100_000] {
        let readings = readings(count);
        let mut group = c.benchmark_group(format!("live_{count}"));
        group.throughput(Throughput::Elements(u64::from(count)));
        group.bench_function("push", |b| b.iter_batched(|| &readings, |r| black_box(pushed(r)), BatchSize::LargeInput));
        group.throughput(Throughput::Elements(1));
        let live = pushed(&readings);
        group.bench_function("provisional", |b| b.iter(|| black_box(&live).provisional().expect("a lateral")));
        group.finish();
    }
}

criterion_group!(benches, live);
criterion_main!(benches);

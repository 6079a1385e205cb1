//! Fitting a chain: exact penalised segmentation, beside a plain PELT loop on the same data with the same penalty.
//!
//! Data: unit noise, steps of 4 noise sds up and down; `readings/40`, 6 or no breaks. The PELT loop prunes little where
//! there are few breaks and grows with the square, so it stops at 1e4 readings there. It is for squares: the biweight
//! cost of a segment has no formula in sums, and its plain loop grows with the cube.

use std::hint::black_box;

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use fallwise::chain::{FitOptions, Loss, default_penalty, fit};

fn benchmark(c: &mut Criterion) {
    let mut group = c.benchmark_group("fit");
    group.sample_size(20);
    for n in [1_000, 10_000, 100_000, 1_000_000] {
        for breaks in [n / 40, 6, 0] {
            let values = steps(n, breaks);
            let weights = vec![1.0; n];
            let name = format!("{n} readings, {breaks} breaks");
            group.throughput(Throughput::Elements(n as u64));
            let mut one = |who: &str, loss: Loss, least_readings: usize| {
                let options = FitOptions { loss, noise_sd: Some(1.0), least_readings, ..FitOptions::default() };
                group.bench_with_input(BenchmarkId::new(who, &name), &values, |b, values| {
                    b.iter(|| fit(black_box(values), &weights, &[], &options));
                });
            };
            one("fallwise, squares", Loss::Squares, 1);
            one("fallwise, biweight", Loss::biweight(), 1);
            if n == 10_000 {
                one("fallwise, squares, at least 6 readings", Loss::Squares, 6);
                one("fallwise, biweight, at least 6 readings", Loss::biweight(), 6);
            }
            if n <= 10_000 || (n == 100_000 && breaks > 6) {
                let options = FitOptions { noise_sd: Some(1.0), ..FitOptions::default() };
                let found = fit(&values, &weights, &[], &options).expect("good data");
                assert_eq!(pelt(&values, default_penalty(n)), found.starts, "the two are one optimum");
                group.bench_with_input(BenchmarkId::new("PELT loop, squares", &name), &values, |b, values| {
                    b.iter(|| pelt(black_box(values), default_penalty(n)));
                });
            }
        }
    }
    group.finish();
}

/// Unit noise (the sum of twelve uniform numbers) about a mean that goes up and down by 4.
fn steps(n: usize, breaks: usize) -> Vec<f64> {
    let mut state = 1_u64;
    let mut uniform = || {
        state = state.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        (state >> 40) as f64 / (1_u64 << 24) as f64
    };
    (0..n).map(|i| (i * (breaks + 1) / n % 2) as f64 * 4.0 + (0..12).map(|_| uniform()).sum::<f64>() - 6.0).collect()
}

/// Squares by inequality pruning (Killick, Fearnhead, Eckley 2012) with prefix sums of equally weighted, centred values.
fn pelt(values: &[f64], penalty: f64) -> Vec<usize> {
    let n = values.len();
    let mean = values.iter().sum::<f64>() / n as f64;
    let (mut sum, mut square) = (vec![0.0; n + 1], vec![0.0; n + 1]);
    for (i, v) in values.iter().enumerate() {
        let z = v - mean;
        (sum[i + 1], square[i + 1]) = (sum[i] + z, square[i] + z * z);
    }
    let (mut best, mut begin) = (vec![0.0; n + 1], vec![0; n + 1]);
    best[0] = -penalty;
    let (mut candidates, mut costs) = (vec![0], vec![0.0; n]);
    for end in 1..=n {
        let mut lowest = (f64::INFINITY, 0);
        for (&start, cost) in candidates.iter().zip(&mut costs) {
            let s = sum[end] - sum[start];
            *cost = best[start] + (square[end] - square[start] - s * s / (end - start) as f64);
            if *cost < lowest.0 {
                lowest = (*cost, start);
            }
        }
        (best[end], begin[end]) = (lowest.0 + penalty, lowest.1);
        let mut cost = costs.iter();
        candidates.retain(|_| cost.next().is_some_and(|c| *c <= best[end]));
        candidates.push(end);
    }
    let (mut starts, mut end) = (Vec::new(), n);
    while end > 0 {
        end = begin[end];
        starts.push(end);
    }
    starts.reverse();
    starts
}

criterion_group!(benches, benchmark);
criterion_main!(benches);

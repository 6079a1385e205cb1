//! Ties: the vertical adjustment of 60 segments with 12 ties beside a plain loop over normal equations, in 3-D with mixed ties,
//! growth with segments and ties, and a whole lateral of 2,000 readings with four of them.

use std::hint::black_box;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use fallwise::{
    Bend, Bore, Instrument, Job, Lateral, Path, Pipe, Posterior, Reach, Rulebook, Tie,
    adjust::{Anchor, SegmentMean, SetupNoise, adjust, ties::Terms},
    chain::Chain,
    model::{Known, Place},
    path::{Layout, Start},
    simulate::{self, Flaws, Head, Truth},
};

const DEGREE: f64 = core::f64::consts::PI / 180.0;
const NOISE_RAD: f64 = 0.25 * DEGREE;
const ZERO_RAD: f64 = 0.3 * DEGREE;
const SEGMENT_M: f64 = 1.0;

fn tilt(k: usize) -> f64 {
    0.02 + 0.01 * fallwise::math::sin(k as f64)
}

/// A chain of segments of a metre with twenty readings each, one setup.
fn chain(segments: usize, bends: &[Bend]) -> (Layout, Posterior) {
    let breaks: Vec<f64> = (0..=segments).map(|k| SEGMENT_M * k as f64).collect();
    let mean = |segment| SegmentMean {
        segment,
        setup: 0,
        mean_rad: tilt(segment),
        weight: 20.0,
        readings: 20,
        drift_share: 0.0,
        roll_sine: 0.0,
    };
    let means: Vec<SegmentMean> = (0..segments).map(mean).collect();
    let setup = SetupNoise { run: 0, pulled: false, zero_sign: 1.0, noise_sd_rad: NOISE_RAD, rounding_sd_rad: 0.0 };
    let instrument = Instrument { zero_sd_rad: ZERO_RAD, counter_scale_sd: 0.006, ..Instrument::exact() };
    let tilts = (0..segments).map(tilt).collect();
    let of = Chain::new(breaks.clone(), tilts).expect("a good chain");
    let posterior = adjust(&of, &means, &[setup], &instrument, &[], bends).expect("good means");
    (Layout::new(&breaks, bends, &[], &[]).expect("a good layout"), posterior)
}

/// Levelled inverts spread over the chain, as it lies.
fn inverts(segments: usize, count: usize) -> Vec<Tie> {
    let length_m = SEGMENT_M * segments as f64;
    let true_m = |s: f64| -> f64 {
        (0..segments).map(|k| (s - SEGMENT_M * k as f64).clamp(0.0, SEGMENT_M) * fallwise::math::sin(tilt(k))).sum()
    };
    let invert = |i: usize| {
        let station_m = (0.13 + length_m * i as f64 / count as f64).min(length_m);
        let elevation_m = 100.0 - true_m(station_m) + 0.003 * fallwise::math::sin(7.0 * i as f64);
        Tie::new(Known::Invert { at: Place::exact(station_m), elevation_m, sd_m: 0.005 })
    };
    (0..count).map(invert).collect()
}

/// With ties: estimates, standard deviations of every tilt and elevation, misclosures.
fn solve(layout: &Layout, before: &Posterior, ties: &[Tie]) -> f64 {
    let terms = Terms { layout, runs: &[], ground: &[], resolution_rad: 0.0, water_runs: false };
    let (posterior, adjustment) = before.with_ties(&terms, ties).expect("ties that go together");
    let profile = layout.profile(&posterior.tilt_rad, posterior.scale, None);
    let tilts: f64 = (0..posterior.tilt_rad.len()).map(|k| posterior.tilt_sd_rad(k)).sum();
    let heights: f64 = posterior.height_sd_m(layout, &profile, Anchor::Datum).iter().sum();
    tilts + heights + adjustment.chi_square
}

/// The plain loop: one set of normal equations in tilts, zero, scale and datum, solved twice (once anew at the solution) and inverted by
/// elimination; standard deviations of all unknowns and elevations. No lips, stations, tests of outliers, exact ties or draws.
fn plain_loop(segments: usize, ties: &[Tie]) -> f64 {
    let n = segments + 3;
    let (zero, scale, datum) = (segments, segments + 1, segments + 2);
    let mut x: Vec<f64> = (0..segments).map(tilt).chain([0.0, 1.0, 100.0]).collect();
    let mut inverse = vec![vec![0.0; n]; n];
    for _ in 0..2 {
        let mut normal = vec![vec![0.0; n]; n];
        let mut right = vec![0.0; n];
        let weight = 20.0 / (NOISE_RAD * NOISE_RAD);
        for k in 0..segments {
            let off = tilt(k) - x[k] - x[zero];
            normal[k][k] += weight;
            normal[k][zero] += weight;
            normal[zero][k] += weight;
            normal[zero][zero] += weight;
            right[k] += weight * off;
            right[zero] += weight * off;
        }
        normal[zero][zero] += 1.0 / (ZERO_RAD * ZERO_RAD);
        right[zero] -= x[zero] / (ZERO_RAD * ZERO_RAD);
        normal[scale][scale] += 1.0 / (0.006 * 0.006);
        right[scale] -= (x[scale] - 1.0) / (0.006 * 0.006);
        for tie in ties {
            let Known::Invert { at, elevation_m, sd_m } = &tie.known else { continue };
            let mut row = vec![0.0; n];
            let mut fall = 0.0;
            for k in 0..segments {
                let length = (at.station_m - SEGMENT_M * k as f64).clamp(0.0, SEGMENT_M);
                let (sin, cos) = fallwise::math::sin_cos(x[k]);
                row[k] = -x[scale] * length * cos;
                fall += length * sin;
            }
            (row[scale], row[datum]) = (-fall, 1.0);
            let off = elevation_m - (x[datum] - x[scale] * fall);
            let weight = 1.0 / (sd_m * sd_m);
            for i in 0..n {
                if row[i] == 0.0 {
                    continue;
                }
                right[i] += weight * row[i] * off;
                for j in 0..n {
                    normal[i][j] += weight * row[i] * row[j];
                }
            }
        }
        inverse = inverted(normal);
        for i in 0..n {
            x[i] += (0..n).map(|j| inverse[i][j] * right[j]).sum::<f64>();
        }
    }
    let tilts: f64 = (0..segments).map(|k| inverse[k][k].sqrt()).sum();
    // Elevations grow node by node: of each the variance by its row.
    let mut row = vec![0.0; n];
    row[datum] = 1.0;
    let mut heights = inverse[datum][datum].sqrt();
    for k in 0..segments {
        let (sin, cos) = fallwise::math::sin_cos(x[k]);
        row[k] = -x[scale] * SEGMENT_M * cos;
        row[scale] -= SEGMENT_M * sin;
        let variance: f64 = (0..n).map(|i| row[i] * (0..n).map(|j| inverse[i][j] * row[j]).sum::<f64>()).sum();
        heights += variance.sqrt();
    }
    tilts + heights
}

/// Inverse of a positive definite matrix, by Gauss and Jordan.
fn inverted(mut a: Vec<Vec<f64>>) -> Vec<Vec<f64>> {
    let n = a.len();
    for k in 0..n {
        let pivot = 1.0 / a[k][k];
        a[k][k] = 1.0;
        a[k].iter_mut().for_each(|x| *x *= pivot);
        let row = a[k].clone();
        for (i, other) in a.iter_mut().enumerate() {
            if i != k {
                let factor = other[k];
                other[k] = 0.0;
                other.iter_mut().zip(&row).for_each(|(x, r)| *x -= factor * r);
            }
        }
    }
    a
}

fn vertical(c: &mut Criterion) {
    let (layout, before) = chain(60, &[]);
    let ties = inverts(60, 12);
    let (found, plain) = (solve(&layout, &before, &ties), plain_loop(60, &ties));
    // The loop has no chi-square of the misclosures: a dozen at most.
    assert!((found - plain).abs() < 40.0, "{found} {plain}");
    let mut group = c.benchmark_group("vertical_60_segments_12_ties");
    group.bench_function("fallwise", |b| b.iter(|| solve(black_box(&layout), &before, black_box(&ties))));
    group.bench_function("estimates_and_misclosures_only", |b| {
        let terms = Terms { layout: &layout, runs: &[], ground: &[], resolution_rad: 0.0, water_runs: false };
        b.iter(|| black_box(&before).with_ties(&terms, black_box(&ties)));
    });
    group.bench_function("plain_loop", |b| b.iter(|| plain_loop(60, black_box(&ties))));
    group.finish();
}

fn in_space(c: &mut Criterion) {
    let bends = [Bend::new(20.0, 45.0 * DEGREE), Bend::new(41.0, -30.0 * DEGREE)];
    let (layout, before) = chain(60, &bends);
    let start = Start { azimuth_rad: Some(0.4), east_m: 10.0, north_m: 20.0 };
    let path = Path::new(&layout, &before.tilt_rad, before.scale, start);
    let plan = |i: usize| {
        let station_m = 1.3 + 8.0 * i as f64;
        let [east_m, north_m, _] = path.position(station_m).expect("a plan");
        Tie::new(Known::Plan { at: Place::new(station_m), east_m, north_m, sd_m: 0.1 })
    };
    let mut ties = inverts(60, 6);
    ties.extend((0..6).map(plan));
    c.bench_function("in_space_60_segments_6_inverts_6_positions", |b| {
        b.iter(|| solve(black_box(&layout), &before, black_box(&ties)));
    });
}

fn growth(c: &mut Criterion) {
    let mut group = c.benchmark_group("growth");
    group.sample_size(10);
    for (segments, count) in [(10, 12), (100, 12), (1000, 12), (10_000, 12), (60, 2), (60, 50), (60, 500)] {
        let (layout, before) = chain(segments, &[]);
        let ties = inverts(segments, count);
        let terms = Terms { layout: &layout, runs: &[], ground: &[], resolution_rad: 0.0, water_runs: false };
        group.bench_function(BenchmarkId::new("segments_ties", format!("{segments}_{count}")), |b| {
            b.iter(|| {
                let (posterior, _) = before.with_ties(&terms, black_box(&ties)).expect("ties that go together");
                let profile = layout.profile(&posterior.tilt_rad, posterior.scale, None);
                posterior.height_sd_m(&layout, &profile, Anchor::Datum)
            });
        });
    }
    group.finish();
}

fn whole(c: &mut Criterion) {
    let truth = Truth {
        breaks_m: vec![0.0, 20.0, 23.0, 50.0, 54.0, 100.0],
        tilt_rad: vec![0.020, -0.010, 0.024, -0.014, 0.022],
        ..Truth::default()
    };
    let head = Head { zero_rad: -0.18 * DEGREE, noise_sd_rad: NOISE_RAD, ..Head::default() };
    let log = simulate::run(&truth, &head, &Flaws::default(), 0.05, 12).expect("a good pipe");
    let true_m = |s: f64| -> f64 {
        let pieces = truth.breaks_m.windows(2).zip(&truth.tilt_rad);
        pieces.map(|(e, t)| (s - e[0]).clamp(0.0, e[1] - e[0]) * fallwise::math::sin(*t)).sum()
    };
    let pipe = Pipe { bore: Bore::circle(0.1).ok(), nominal: "4 in".parse().ok(), ..Pipe::default() };
    let reach = Reach { from_m: 0.0, to_m: 100.0, pipe, ..Reach::default() };
    let ties = [0.0, 30.0, 70.0, 99.9].map(|s| {
        let at = Place { sd_m: 0.05, ..Place::exact(s) };
        Tie::new(Known::Invert { at, elevation_m: 50.0 - true_m(s), sd_m: 0.005 })
    });
    let book = Rulebook::shipped("ipc-2021").expect("a shipped book");
    let mut group = c.benchmark_group("lateral_of_2000_readings_with_ties");
    group.sample_size(20);
    for count in [0, 4] {
        let job = Job {
            runs: vec![log.run.clone()],
            reaches: vec![reach.clone()],
            ties: ties[..count].to_vec(),
            ..Job::default()
        };
        let answers = |job: Job| Lateral::solve(job).and_then(|lateral| lateral.answers(Some(&book)));
        assert!(answers(job.clone()).is_ok());
        group.bench_with_input(BenchmarkId::new("solve_and_answer", count), &job, |b, job| {
            b.iter(|| answers(black_box(job.clone())));
        });
    }
    group.finish();
}

criterion_group!(benches, vertical, in_space, growth, whole);
criterion_main!(benches);

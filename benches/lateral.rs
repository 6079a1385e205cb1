//! A whole lateral, from a log of 2,000 readings to the answers against a rulebook, without draws and with 1,000.

use std::hint::black_box;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use fallwise::{
    Bore, Job, Lateral, Pipe, Reach, Rulebook,
    simulate::{self, Flaws, Head, Rounding, Truth},
};

const DEGREE: f64 = core::f64::consts::PI / 180.0;

/// 100 m of 4 inch pipe with two bellies, logged every 50 mm by a head that nobody checked: its findings are undecided, so
/// that the next measurement is looked for too, the dearest case.
fn job(draws: usize) -> Result<Job, Box<dyn core::error::Error>> {
    let truth = Truth {
        breaks_m: vec![0.0, 20.0, 23.0, 50.0, 54.0, 100.0],
        tilt_rad: vec![0.020, -0.010, 0.024, -0.014, 0.022],
        ..Truth::default()
    };
    let head = Head {
        zero_rad: -0.18 * DEGREE,
        noise_sd_rad: 0.25 * DEGREE,
        rounding: Rounding::Degrees(0.1),
        ..Head::default()
    };
    let log = simulate::run(&truth, &head, &Flaws::default(), 0.05, 12)?;
    let pipe = Pipe { bore: Some(Bore::circle(0.1)?), nominal: Some("4 in".parse()?), ..Pipe::default() };
    let reach = Reach { from_m: 0.0, to_m: 100.0, pipe, ..Reach::default() };
    let mut job = Job { runs: vec![log.run], reaches: vec![reach], ..Job::default() };
    job.report.draws = draws;
    Ok(job)
}

fn whole(c: &mut Criterion) {
    let book = Rulebook::shipped("ipc-2021").expect("a shipped book");
    let mut group = c.benchmark_group("lateral_of_2000_readings");
    group.sample_size(20);
    for draws in [0, 1000] {
        let job = job(draws).expect("a good job");
        let answers = |job: Job| Lateral::solve(job).and_then(|lateral| lateral.answers(Some(&book)));
        assert_eq!(answers(job.clone()).expect("a good job").pools.len(), 2);
        group.bench_with_input(BenchmarkId::new("solve_and_answer_with_draws", draws), &job, |b, job| {
            b.iter(|| answers(black_box(job.clone())));
        });
    }
    group.finish();
}

criterion_group!(benches, whole);
criterion_main!(benches);

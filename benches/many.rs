//! Many laterals of 500 readings at once, solved and answered against a rulebook: 300, which stand for 3,000, since they know nothing of
//! each other.

use core::ops::ControlFlow;
use std::{hint::black_box, time::Duration};

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use fallwise::{
    Bore, Job, Lateral, Pipe, Reach, Rulebook,
    lateral::solve_many,
    simulate::{self, Flaws, Head, Rounding, Truth},
};

const DEGREE: f64 = core::f64::consts::PI / 180.0;
const LATERALS: usize = 300;
/// Logs that differ; each comes five times.
const LOGS: u64 = 60;

/// 25 m of 4 inch pipe, logged every 50 mm; one in three has a belly.
fn job(seed: u64, draws: usize) -> Result<Job, Box<dyn core::error::Error>> {
    let middle = if seed.is_multiple_of(3) { -0.010 } else { 0.018 };
    let truth =
        Truth { breaks_m: vec![0.0, 10.0, 12.0, 25.0], tilt_rad: vec![0.022, middle, 0.024], ..Truth::default() };
    let head = Head {
        zero_rad: 0.1 * DEGREE,
        noise_sd_rad: 0.25 * DEGREE,
        rounding: Rounding::Degrees(0.1),
        ..Head::default()
    };
    let log = simulate::run(&truth, &head, &Flaws::default(), 0.05, seed)?;
    let pipe = Pipe { bore: Some(Bore::circle(0.1)?), nominal: Some("4 in".parse()?), ..Pipe::default() };
    let reach = Reach { from_m: 0.0, to_m: 25.0, pipe, ..Reach::default() };
    let mut job = Job { runs: vec![log.run], reaches: vec![reach], ..Job::default() };
    job.report.draws = draws;
    Ok(job)
}

fn many(c: &mut Criterion) {
    let book = Rulebook::shipped("ipc-2021").expect("a shipped book");
    let mut group = c.benchmark_group("300_laterals_of_500_readings");
    group.sample_size(10).warm_up_time(Duration::from_millis(100)).measurement_time(Duration::from_secs(1));
    group.throughput(Throughput::Elements(LATERALS as u64));
    for draws in [0, 1000] {
        let jobs: Vec<Job> = (0..LOGS).map(|seed| job(seed, draws).expect("a good job")).collect();
        for threads in [1, 2] {
            let id = BenchmarkId::new(format!("solve_many_{draws}_draws"), format!("{threads}_threads"));
            group.bench_with_input(id, &jobs, |b, jobs| {
                b.iter(|| {
                    let jobs = jobs.iter().cycle().take(LATERALS).cloned().enumerate();
                    let make = |_: &usize, lateral: &Lateral| lateral.answers(Some(&book)).map(|a| a.pools.len());
                    let mut pools = 0;
                    let _ = solve_many(jobs, threads, make, |_, made| {
                        pools += made.and_then(|made| made).expect("a good job");
                        ControlFlow::<()>::Continue(())
                    });
                    black_box(pools)
                });
            });
        }
    }
    group.finish();
}

criterion_group!(benches, many);
criterion_main!(benches);

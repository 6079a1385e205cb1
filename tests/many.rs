//! Many laterals at once: the same bits as one by one, on any number of threads, in any order.

#![allow(clippy::unwrap_used, reason = "helpers of tests, which clippy does not take for tests")]

use std::{collections::BTreeMap, ops::ControlFlow};

use fallwise::{
    Answers, Bore, Error, Job, Lateral, Pipe, Reach, Rulebook, Run,
    answers::SummaryRow,
    lateral::{look_ahead, solve_many},
    simulate::{self, Flaws, Head, Truth},
    units::deg,
};

/// A lateral of its own for each number; every seventh cannot be solved.
fn job(number: u64) -> Job {
    let belly = 0.004 * (number % 4) as f64;
    let truth =
        Truth { breaks_m: vec![0.0, 4.0, 6.0, 10.0], tilt_rad: vec![0.02, 0.004 - belly, 0.02], ..Truth::default() };
    let head = Head { noise_sd_rad: deg(0.2), zero_rad: deg(0.1), ..Head::default() };
    let mut run = simulate::run(&truth, &head, &Flaws::default(), 0.2, number).unwrap().run;
    if number % 7 == 3 {
        run.reading_rad[2] = f64::NAN;
    }
    let pipe =
        Pipe { bore: Some(Bore::circle(0.1).unwrap()), nominal: Some("4 in".parse().unwrap()), ..Pipe::default() };
    let mut job =
        Job { runs: vec![run], reaches: vec![Reach { to_m: 10.0, pipe, ..Reach::default() }], ..Job::default() };
    job.report.draws = 50;
    job
}

fn answered(lateral: &Lateral) -> Result<Answers, Error> {
    lateral.answers(Some(&Rulebook::shipped("ipc-2021").unwrap()))
}

fn text(answers: &Answers) -> String {
    serde_json::to_string(answers).unwrap()
}

#[test]
fn the_same_bits_on_any_number_of_threads_and_in_any_order() {
    const COUNT: u64 = 40;
    let alone: BTreeMap<u64, Result<String, Error>> = (0..COUNT)
        .map(|n| (n, Lateral::solve(job(n)).and_then(|lateral| answered(&lateral)).map(|answers| text(&answers))))
        .collect();
    let failed = alone.values().filter(|one| one.is_err()).count();
    assert_eq!(failed, 6);
    let in_order: Vec<u64> = (0..COUNT).collect();
    // 11 has no factor in common with 40: every number comes once.
    let shuffled: Vec<u64> = (0..COUNT).map(|n| (11 * n + 5) % COUNT).collect();
    for order in [in_order, shuffled] {
        for threads in [1, 2, 7] {
            let mut came = Vec::new();
            let jobs = order.iter().map(|&n| (n, job(n)));
            let end = solve_many(
                jobs,
                threads,
                |_, lateral| answered(lateral).map(|a| text(&a)),
                |n, made| {
                    assert_eq!(made.and_then(|made| made), alone[&n], "{n} on {threads} threads");
                    came.push(n);
                    ControlFlow::<()>::Continue(())
                },
            );
            assert!(end.is_continue());
            assert_eq!(came, order, "{threads} threads");
        }
    }
}

#[test]
fn an_endless_row_of_jobs_is_stopped() {
    for threads in [1, 2, 7] {
        let mut taken = 0;
        let jobs = (0..).map(|n| (n, job(1))).inspect(|_| taken += 1);
        let end = solve_many(
            jobs,
            threads,
            |_, _| (),
            |n, made| {
                assert!(made.is_ok());
                if n == 30 { ControlFlow::Break(n) } else { ControlFlow::Continue(()) }
            },
        );
        assert_eq!(end, ControlFlow::Break(30));
        assert!((31..=31 + look_ahead(threads)).contains(&taken), "{taken} taken on {threads} threads");
    }
}

#[test]
fn a_summary_says_what_the_answers_say() {
    let answers = answered(&Lateral::solve(job(2)).unwrap()).unwrap();
    let row = SummaryRow::from(&answers);
    assert_eq!(
        (row.slope, row.slope_sd, row.fall_m),
        (answers.total.slope, answers.total.slope_sd, answers.total.fall_m)
    );
    assert_eq!(row.finding.as_deref(), Some(answers.findings[0].finding.as_str()));
    assert_eq!(row.warnings, answers.warnings.len());
    let deepest = answers.pools.iter().filter(|p| p.state == "found").map(|p| p.depth_m).fold(0.0, f64::max);
    assert_eq!(row.pool_depth_m.unwrap_or(0.0), deepest);
    // Without a rulebook nothing is found.
    let run = Run { by_hand: true, ..Run::new(vec![0.0, 1.0, 2.0], vec![0.02; 3]) };
    let alone = Lateral::solve(Job { runs: vec![run], ..Job::default() }).unwrap().answers(None).unwrap();
    assert_eq!(SummaryRow::from(&alone).pools_found, 0);
    assert_eq!(alone.findings.first().map(|f| f.finding.clone()), SummaryRow::from(&alone).finding);
}

//! A watch sees how far the work has come, can stop it anywhere, and changes nothing.

use std::{
    ops::ControlFlow,
    sync::{
        Arc, Mutex,
        atomic::{AtomicUsize, Ordering},
    },
};

use fallwise::{
    Error, Lateral, Rulebook,
    watch::{Progress, Stage, Watch},
};
use fallwise_files::job;

/// Jobs that draw for each reason there is: pools, findings, measurements, ties that may be wrong, what a reach carries, a re-laying.
const DEMOS: [&str; 4] = ["two-bellies", "four-points", "which-metres-to-relay", "water-edges"];

fn read(name: &str) -> (fallwise::Job, Option<Rulebook>) {
    let path =
        std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/demos").join(name).join("job.toml");
    let loaded = job::read(&path).expect("a demo");
    let mut job = loaded.job;
    job.report.draws = 200;
    (job, loaded.rulebook)
}

/// Goes on until it has been asked so often.
fn until(most: usize) -> (Watch, Arc<AtomicUsize>) {
    let asked = Arc::new(AtomicUsize::new(0));
    let count = Arc::clone(&asked);
    let go_on = move |_: Progress| {
        if count.fetch_add(1, Ordering::Relaxed) + 1 >= most {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    };
    (Watch::new(go_on), asked)
}

#[test]
fn a_watch_changes_nothing_and_can_stop_it_anywhere() {
    let mut drawing = 0;
    for (job, book) in DEMOS.iter().map(|name| read(name)) {
        let plain = Lateral::solve(job.clone()).unwrap();
        let answers = plain.answers(book.as_ref()).unwrap();

        let (watch, asked) = until(usize::MAX);
        assert_eq!(Lateral::solve_watched(job.clone(), &watch).unwrap(), plain);
        let in_solving = asked.load(Ordering::Relaxed);
        assert!(in_solving >= 3, "{in_solving}");
        assert_eq!(plain.answers_watched(book.as_ref(), &watch).unwrap(), answers);
        let in_answers = asked.load(Ordering::Relaxed) - in_solving;
        assert!(in_answers >= 200 / 32, "{in_answers}");
        drawing += in_answers;

        for most in 1..=in_solving {
            let (watch, asked) = until(most);
            assert_eq!(Lateral::solve_watched(job.clone(), &watch).unwrap_err(), Error::Cancelled);
            assert_eq!(asked.load(Ordering::Relaxed), most, "asked again after it said stop");
        }
        // Each place once where they are few; else some of them, the first and the last among them.
        let step = (in_answers / 40).max(1);
        for most in (1..=in_answers).step_by(step).chain([in_answers]) {
            let (watch, asked) = until(most);
            assert_eq!(plain.answers_watched(book.as_ref(), &watch).unwrap_err(), Error::Cancelled);
            assert!(watch.stopped());
            assert_eq!(asked.load(Ordering::Relaxed), most, "asked again after it said stop");
        }
    }
    // Stopped in many places, or little was tried.
    assert!(drawing > 60, "{drawing}");
}

#[test]
fn stages_come_in_order_and_draws_are_counted() {
    let (job, book) = read("two-bellies");
    let seen: Arc<Mutex<Vec<Progress>>> = Arc::default();
    let keep = Arc::clone(&seen);
    let watch = Watch::new(move |progress| {
        keep.lock().unwrap().push(progress);
        ControlFlow::Continue(())
    });
    Lateral::solve_watched(job, &watch).unwrap().answers_watched(book.as_ref(), &watch).unwrap();
    let seen = seen.lock().unwrap();
    let mut stages: Vec<Stage> = seen.iter().map(|p| p.stage).collect();
    stages.dedup();
    assert_eq!(stages, [Stage::Conditioning, Stage::Segments, Stage::Averaging, Stage::Adjusting, Stage::Drawing]);
    assert!(seen.is_sorted_by_key(|p| p.draws));
    // The pools alone take 200, of which whole blocks of 32 are counted.
    assert!(seen.last().unwrap().draws >= 192, "{:?}", seen.last());
}

//! Many laterals at once: on several threads, in the order of the jobs, the same bits however many threads there are.
//!
//! Laterals know nothing of each other, so each is solved as if it were alone; the threads only share out the work. What
//! is made of each is handed over in the order of the jobs, and no more are taken from the jobs than are soon handed
//! over, so that they may be endless.

use core::{
    ops::ControlFlow,
    sync::atomic::{AtomicBool, Ordering},
};
use std::{
    collections::VecDeque,
    panic::{AssertUnwindSafe, catch_unwind, resume_unwind},
    sync::{
        Mutex,
        mpsc::{Receiver, Sender, channel},
    },
    thread::{self, Builder},
};

use super::Lateral;
use crate::prelude::*;
use crate::{error::Error, model::Job};

/// Jobs in hand for each thread: enough that a slow one does not keep the others waiting for long. Our choice.
const AHEAD: usize = 4;
/// Stack of each thread, bytes: as much as a main thread commonly has.
const STACK: usize = 8 << 20;

/// How many items [`in_order`] has in hand at most: taken, and not yet handed over.
pub fn look_ahead(threads: usize) -> usize {
    AHEAD * threads.max(1)
}

/// Solves jobs on so many threads, makes something of each lateral, and hands that over in the order of the jobs.
///
/// `jobs` gives each job under a key of the caller's. `make` says what is kept of a lateral, on the thread that solved
/// it: an [`Answers`](crate::Answers), or a number. `each` takes what was made, on the thread of the caller, and may stop.
/// What cannot be solved is that one's error; the others go on.
///
/// At most [`look_ahead`] jobs and results are held at once. Nothing depends on the number of threads nor on the order of
/// the jobs but the order in which results come.
///
/// # Example
/// ```
/// use core::ops::ControlFlow;
/// use fallwise::{Job, Run, lateral::solve_many, units::deg};
///
/// let job = |tilt_deg: f64| {
///     let run = Run::new(vec![0.0, 1.0, 2.0, 3.0], deg(vec![tilt_deg; 4]));
///     Job { runs: vec![Run { by_hand: true, ..run }], ..Job::default() }
/// };
/// // Endless; the caller stops.
/// let jobs = (1..).map(|n| (n, job(0.1 * f64::from(n))));
/// let mut falls = Vec::new();
/// let stopped = solve_many(jobs, 2, |_, lateral| lateral.fall_between(0.0, 3.0).map(|fall| fall.value), |n, fall| {
///     falls.push(fall);
///     if n == 20 { ControlFlow::Break("enough") } else { ControlFlow::Continue(()) }
/// });
/// assert_eq!(stopped, ControlFlow::Break("enough"));
/// assert_eq!(falls.len(), 20);
/// ```
pub fn solve_many<K: Send, T: Send, B>(
    jobs: impl IntoIterator<Item = (K, Job)>,
    threads: usize,
    make: impl Fn(&K, &Lateral) -> T + Sync,
    mut each: impl FnMut(K, Result<T, Error>) -> ControlFlow<B>,
) -> ControlFlow<B> {
    let work = |(key, job): (K, Job)| {
        let made = Lateral::solve(job).map(|lateral| make(&key, &lateral));
        (key, made)
    };
    in_order(jobs, threads, work, |(key, made)| each(key, made))
}

/// Does work on items on so many threads (0 counts as 1), and hands its results over in the order of the items.
///
/// `items` and `each` run on the thread of the caller, `work` on the others; with one thread all run on the caller's. At
/// most [`look_ahead`] items are taken and not yet handed over. Where `each` stops, what was begun runs to its end and is
/// dropped. A panic in any of the three goes on in the caller.
pub fn in_order<I: Send, T: Send, B>(
    items: impl IntoIterator<Item = I>,
    threads: usize,
    work: impl Fn(I) -> T + Sync,
    mut each: impl FnMut(T) -> ControlFlow<B>,
) -> ControlFlow<B> {
    let mut items = items.into_iter();
    if threads <= 1 {
        return items.try_for_each(|item| each(work(item)));
    }
    let stopped = AtomicBool::new(false);
    let (give, given) = channel();
    let given = Mutex::new(given);
    let (done, results) = channel();
    thread::scope(|scope| {
        let mut started = 0;
        for _ in 0..threads {
            let done = done.clone();
            let (given, work, stopped) = (&given, &work, &stopped);
            let worker = move || labour(given, work, stopped, &done);
            // Where the system gives no more threads, those that there are do it.
            let builder = Builder::new().name("fallwise".to_owned()).stack_size(STACK);
            started += usize::from(builder.spawn_scoped(scope, worker).is_ok());
        }
        drop(done);
        if started == 0 {
            return items.try_for_each(|item| each(work(item)));
        }
        // Owned here, so that it goes with this closure, and the threads end, however the closure ends.
        let give = give;
        let _stop = Stop(&stopped);
        hand_over(&mut items, look_ahead(threads), &give, &results, &mut each)
    })
}

/// Tells the threads to begin nothing more, once it is dropped.
struct Stop<'a>(&'a AtomicBool);

impl Drop for Stop<'_> {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

/// What came of an item: its place in the order, and the result or what a panic left.
type Done<T> = (usize, thread::Result<T>);

/// What a thread does: an item at a time, until there are no more.
fn labour<I, T>(
    given: &Mutex<Receiver<(usize, I)>>,
    work: &impl Fn(I) -> T,
    stopped: &AtomicBool,
    done: &Sender<Done<T>>,
) {
    loop {
        // Held while waiting too: the others then wait for the lock in place of the item. Nothing panics under it.
        let next = given.lock().map_or(None, |given| given.recv().ok());
        let Some((place, item)) = next.filter(|_| !stopped.load(Ordering::Relaxed)) else { return };
        let made = catch_unwind(AssertUnwindSafe(|| work(item)));
        if done.send((place, made)).is_err() {
            return;
        }
    }
}

/// Gives items out as far as is looked ahead, and hands results over in order.
fn hand_over<I, T, B>(
    items: &mut impl Iterator<Item = I>,
    ahead: usize,
    give: &Sender<(usize, I)>,
    results: &Receiver<Done<T>>,
    each: &mut impl FnMut(T) -> ControlFlow<B>,
) -> ControlFlow<B> {
    // Results that wait for one before them; the first is that of item `first`.
    let mut waiting: VecDeque<Option<T>> = VecDeque::with_capacity(ahead);
    let (mut first, mut ended) = (0, false);
    loop {
        while !ended && waiting.len() < ahead {
            let given = items.next().is_some_and(|item| give.send((first + waiting.len(), item)).is_ok());
            if given { waiting.push_back(None) } else { ended = true }
        }
        if waiting.is_empty() {
            return ControlFlow::Continue(());
        }
        // Only where every thread has ended, which they do not while there is something to do.
        let Ok((place, made)) = results.recv() else { return ControlFlow::Continue(()) };
        let made = made.unwrap_or_else(|panic| resume_unwind(panic));
        if let Some(slot) = place.checked_sub(first).and_then(|at| waiting.get_mut(at)) {
            *slot = Some(made);
        }
        while let Some(made) = waiting.front_mut().and_then(Option::take) {
            waiting.pop_front();
            first += 1;
            each(made)?;
        }
    }
}

#[cfg(test)]
mod tests {
    use core::{cell::Cell, sync::atomic::AtomicUsize};

    use super::*;

    /// Threads of which each count must give the same.
    const THREADS: [usize; 5] = [0, 1, 2, 7, 40];

    #[test]
    fn results_come_in_order_whatever_takes_long() {
        for threads in THREADS {
            let work = |n: u64| {
                // The first of every eight takes longest.
                thread::sleep(std::time::Duration::from_micros(if n.is_multiple_of(8) { 3000 } else { 10 * (n % 5) }));
                n
            };
            let mut got = Vec::new();
            let end: ControlFlow<()> = in_order(0..100, threads, work, |n| {
                got.push(n);
                ControlFlow::Continue(())
            });
            assert!(end.is_continue());
            assert!(got.iter().copied().eq(0..100), "{threads}: {got:?}");
        }
    }

    #[test]
    fn an_endless_iterator_is_taken_no_further_than_is_looked_ahead() {
        for threads in THREADS {
            let (taken, handed) = (Cell::new(0), Cell::new(0));
            let begun = AtomicUsize::new(0);
            let items = (0_usize..).inspect(|_| {
                taken.set(taken.get() + 1);
                assert!(taken.get() - handed.get() <= look_ahead(threads), "{threads}");
            });
            let work = |n| {
                begun.fetch_add(1, Ordering::Relaxed);
                n
            };
            let end = in_order(items, threads, work, |n| {
                assert_eq!(n, handed.get());
                handed.set(handed.get() + 1);
                if n == 500 { ControlFlow::Break(n) } else { ControlFlow::Continue(()) }
            });
            assert_eq!(end, ControlFlow::Break(500));
            assert!(begun.load(Ordering::Relaxed) <= 501 + look_ahead(threads), "{threads}");
        }
    }

    #[test]
    fn nothing_to_do_is_done() {
        for threads in THREADS {
            let end: ControlFlow<()> = in_order(0..0, threads, |n| n, |_| ControlFlow::Continue(()));
            assert!(end.is_continue());
        }
    }

    #[test]
    fn a_panic_goes_on_in_the_caller() {
        for threads in THREADS {
            let work = |n: u32| if n == 5 { resume_unwind(Box::new("five")) } else { n };
            let caught =
                catch_unwind(AssertUnwindSafe(|| in_order(0..100, threads, work, |_| ControlFlow::<()>::Continue(()))));
            assert_eq!(caught.unwrap_err().downcast_ref::<&str>(), Some(&"five"), "{threads}");
            let each = |n: u32| if n == 5 { resume_unwind(Box::new("five")) } else { ControlFlow::<()>::Continue(()) };
            let caught = catch_unwind(AssertUnwindSafe(|| in_order(0..100, threads, |n| n, each)));
            assert!(caught.is_err(), "{threads}");
        }
    }
}

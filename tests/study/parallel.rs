//! Laterals shared out over threads; results come in the order of the laterals, whatever the number of threads.

use std::{
    sync::{
        Mutex,
        atomic::{AtomicUsize, Ordering},
    },
    thread,
};

use crate::Error;

/// What `one` gives for 0 to `count` - 1, in that order.
///
/// # Errors
/// The first error in that order among those met; no more are begun after one.
pub fn map<T: Send>(count: usize, one: impl Fn(u32) -> Result<T, Error> + Sync) -> Result<Vec<T>, Error> {
    map_on(thread::available_parallelism().map_or(1, usize::from), count, one)
}

fn map_on<T: Send>(
    threads: usize,
    count: usize,
    one: impl Fn(u32) -> Result<T, Error> + Sync,
) -> Result<Vec<T>, Error> {
    let next = AtomicUsize::new(0);
    let done = Mutex::new(Vec::with_capacity(count));
    thread::scope(|scope| {
        for _ in 0..threads.min(count).max(1) {
            scope.spawn(|| {
                loop {
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    let Some(number) = u32::try_from(i).ok().filter(|_| i < count) else { break };
                    let result = one(number);
                    if result.is_err() {
                        next.store(count, Ordering::Relaxed);
                    }
                    done.lock().unwrap_or_else(std::sync::PoisonError::into_inner).push((i, result));
                }
            });
        }
    });
    let mut done = done.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
    done.sort_by_key(|(i, _)| *i);
    done.into_iter().map(|(_, result)| result).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn results_stand_in_order() {
        for threads in [1, 2, 7] {
            assert_eq!(map_on(threads, 1000, |i| Ok(3 * i)).unwrap(), (0..1000).map(|i| 3 * i).collect::<Vec<_>>());
        }
        assert!(map(100, |i| if i == 57 { Err("57".into()) } else { Ok(()) }).is_err());
        assert!(map(0, |_| Ok(())).unwrap().is_empty());
    }
}

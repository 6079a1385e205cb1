//! How long the processor worked at something, so that a bound means the same on a machine that does other things besides.

#![allow(clippy::disallowed_types, reason = "a test may look at the clock")]

/// Seconds that the processor has worked for this thread.
#[cfg(unix)]
fn worked_s() -> f64 {
    let time = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
    time.tv_sec as f64 + 1e-9 * time.tv_nsec as f64
}

/// Seconds by the clock, where there is nothing better.
#[cfg(not(unix))]
fn worked_s() -> f64 {
    static START: std::sync::OnceLock<std::time::Instant> = std::sync::OnceLock::new();
    START.get_or_init(std::time::Instant::now).elapsed().as_secs_f64()
}

/// Runs with so many seconds of work at most: the bound is a hundred times what it takes, and tells a quadratic from a line.
pub(crate) fn within_seconds<T>(what: &str, limit_s: f64, work: impl FnOnce() -> T) -> T {
    let start = worked_s();
    let done = work();
    let took = worked_s() - start;
    assert!(took < limit_s, "{what} took {took} s");
    done
}

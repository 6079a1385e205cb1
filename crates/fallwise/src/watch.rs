//! Long work that is watched: told how far it has come, and stopped where the caller no longer wants it.
//!
//! A [`Watch`] is asked between the stages of a solve and between blocks of draws. It changes nothing that is computed:
//! figures are the same to the bit with one and without, and what is stopped gives [`Error::Cancelled`] and no figures.

use alloc::sync::Arc;
use core::{
    fmt,
    ops::ControlFlow,
    sync::atomic::{AtomicBool, AtomicU32, Ordering},
};

use crate::error::Error;
use crate::prelude::*;

/// Draws between two questions: some milliseconds of work (our choice).
pub(crate) const BLOCK: u32 = 32;

/// What is being done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Stage {
    /// Logs become traces.
    Conditioning,
    /// Segments are found.
    Segments,
    /// The average over segmentations is made.
    Averaging,
    /// Everything that is known is put together.
    Adjusting,
    /// Profiles are drawn: for pools, findings, measurements to come and the like.
    Drawing,
}

/// How far the work has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// What is done next.
    pub stage: Stage,
    /// Profiles drawn so far, by all stages. How many there will be is not known beforehand: it hangs on what is
    /// undecided.
    pub draws: u64,
}

/// Asks a function of the caller's whether to go on.
///
/// Once it has said stop, it is asked no more and the answer stays.
///
/// # Example
/// ```
/// use core::ops::ControlFlow;
/// use fallwise::{Error, Job, Lateral, Run, watch::Watch};
///
/// let run = Run::new(vec![0.0, 1.0, 2.0, 3.0], vec![0.02, 0.021, 0.02, 0.02]);
/// let job = Job { runs: vec![run], ..Job::default() };
/// let lateral = Lateral::solve_watched(job, &Watch::new(|_| ControlFlow::Continue(())))?;
/// let stopped = lateral.answers_watched(None, &Watch::new(|_| ControlFlow::Break(())));
/// assert_eq!(stopped.unwrap_err(), Error::Cancelled);
/// # Ok::<(), Error>(())
/// ```
#[derive(Clone)]
pub struct Watch(Arc<Inner>);

/// A caller's function.
type Ask = dyn Fn(Progress) -> ControlFlow<()> + Send + Sync;

struct Inner {
    ask: Box<Ask>,
    /// Wraps beyond four thousand million, which nobody waits for; small machines count no further at once.
    draws: AtomicU32,
    stopped: AtomicBool,
}

impl Watch {
    /// Asks `ask`, on the thread that does the work.
    pub fn new(ask: impl Fn(Progress) -> ControlFlow<()> + Send + Sync + 'static) -> Self {
        Self(Arc::new(Inner { ask: Box::new(ask), draws: AtomicU32::new(0), stopped: AtomicBool::new(false) }))
    }

    /// Whether it has said stop.
    pub fn stopped(&self) -> bool {
        self.0.stopped.load(Ordering::Relaxed)
    }

    /// Asks before a stage.
    ///
    /// # Errors
    /// [`Error::Cancelled`] where the work is to stop, or was.
    pub(crate) fn ask(&self, stage: Stage) -> Result<(), Error> {
        if !self.stopped() {
            let progress = Progress { stage, draws: u64::from(self.0.draws.load(Ordering::Relaxed)) };
            if (self.0.ask)(progress).is_break() {
                self.0.stopped.store(true, Ordering::Relaxed);
            }
        }
        if self.stopped() { Err(Error::Cancelled) } else { Ok(()) }
    }

    /// Counts a block of draws as made.
    pub(crate) fn drawn(&self) {
        self.0.draws.fetch_add(BLOCK, Ordering::Relaxed);
    }
}

impl fmt::Debug for Watch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Watch").field("stopped", &self.stopped()).finish_non_exhaustive()
    }
}

/// The same watch, not one that would say the same.
impl PartialEq for Watch {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}

/// Asks a watch, where there is one.
pub(crate) fn ask(watch: Option<&Watch>, stage: Stage) -> Result<(), Error> {
    watch.map_or(Ok(()), |watch| watch.ask(stage))
}

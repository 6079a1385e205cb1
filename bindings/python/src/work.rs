//! Long work: without the interpreter's lock, interruptible, and no panic across the border.

use std::{
    panic::{AssertUnwindSafe, catch_unwind},
    sync::mpsc::{RecvTimeoutError, channel},
    thread::Builder,
    time::Duration,
};

use pyo3::prelude::*;

use crate::errors::Failure;

/// How often a waiting call looks whether it is to stop.
pub(crate) const LOOK: Duration = Duration::from_millis(50);
/// As much as a main thread has: the core was tried on those.
pub(crate) const STACK: usize = 8 << 20;

/// Does `work` on a thread of its own while other Python threads go on, and waits for it. Ctrl-C ends the wait at once; what was
/// begun then runs to its end unseen, since the core cannot be stopped half way, and its result is dropped.
pub(crate) fn interruptible<T, E>(
    py: Python<'_>,
    work: impl FnOnce() -> Result<T, E> + Send + 'static,
) -> Result<T, Failure>
where
    T: Send + 'static,
    E: Send + 'static,
    Failure: From<E>,
{
    let (done, result) = channel();
    let work = move || {
        let _ = done.send(catch_unwind(AssertUnwindSafe(work)));
    };
    Builder::new().name("fallwise".to_owned()).stack_size(STACK).spawn(work).map_err(|e| Failure::Python(e.into()))?;
    py.detach(move || {
        loop {
            match result.recv_timeout(LOOK) {
                Ok(Ok(result)) => return result.map_err(Failure::from),
                Ok(Err(_)) | Err(RecvTimeoutError::Disconnected) => return Err(Failure::Panicked),
                Err(RecvTimeoutError::Timeout) => signals()?,
            }
        }
    })
}

/// As much as is done in place: the thread, and waking up from it, would take longer than the wait that Ctrl-C may have to sit out.
const IN_PLACE: usize = 2_500;

/// Does `work` on so many readings in place where they are few, while other Python threads go on; else as [`interruptible`].
pub(crate) fn sized<T, E>(
    py: Python<'_>,
    readings: usize,
    work: impl FnOnce() -> Result<T, E> + Send + 'static,
) -> Result<T, Failure>
where
    T: Send + 'static,
    E: Send + 'static,
    Failure: From<E>,
{
    if readings > IN_PLACE {
        return interruptible(py, work);
    }
    py.detach(move || caught(work))
}

/// Does short work in place; a panic becomes an exception.
pub(crate) fn caught<T, E>(work: impl FnOnce() -> Result<T, E>) -> Result<T, Failure>
where
    Failure: From<E>,
{
    catch_unwind(AssertUnwindSafe(work)).map_err(|_| Failure::Panicked)?.map_err(Failure::from)
}

/// Whether Ctrl-C was pressed meanwhile; its exception then.
pub(crate) fn signals() -> PyResult<()> {
    #[expect(clippy::redundant_closure_for_method_calls, reason = "the method is not general over the lifetime")]
    Python::attach(|py| py.check_signals())
}

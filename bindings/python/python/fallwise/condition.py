"""A log to conditioned readings: resets, slack, pull-backs, spikes, repeats and gaps, every change with its reason."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from . import _core
from ._job import Job
from ._model import Instrument, Run
from ._plain import Record

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from ._model import Floats

__all__ = ["Trace", "condition", "display_step_rad"]


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Trace(Record):
    """Conditioned readings of one run, by growing station.

    Attributes
    ----------
    station_m, tilt_rad, weight : ndarray
        Station, m, tilt as read, rad, zero error still in it, and the number of readings each stands for.
    index : ndarray of int
        Index in the run of the reading behind each.
    slack_m : float or None
        Slack between counter and head, m.
    zero_sign : float
        Sign with which the zero error enters `tilt_rad`.
    noise_sd_rad, correlation_m, resolution_rad : float
        Noise of a reading, distance over which it hangs together, step of the readings.
    gaps_m : list of pair of float
        Stretches without a reading, m.
    removed_fall_m : float
        Fall that conditioning removed, m.
    edited : ndarray of int
        Index in the run of each reading that was changed, flagged or dropped.
    reasons : list of str
        Why, one each.
    warnings : list of str
        Odd but usable.
    """

    station_m: Floats
    tilt_rad: Floats
    weight: Floats
    index: npt.NDArray[np.uint64]
    slack_m: float | None
    zero_sign: float
    noise_sd_rad: float
    correlation_m: float
    resolution_rad: float
    gaps_m: list[tuple[float, float]]
    removed_fall_m: float
    edited: npt.NDArray[np.uint64]
    reasons: list[str]
    warnings: list[str]


def condition(run: Run, instrument: Instrument | None = None, *, bends_m: npt.ArrayLike = ()) -> Trace:
    """Condition a log.

    Parameters
    ----------
    run : Run
        The log.
    instrument : Instrument, optional
        The head; absent: a common one.
    bends_m : array_like
        Stations of noted bends, m, near which readings are off.

    Returns
    -------
    Trace
        What is left of the readings, and what was done to them.

    Raises
    ------
    InputError
        A log that cannot be used, such as one of fewer than two readings; named by field and index.
    """
    job = Job(runs=(run,), instrument=Instrument() if instrument is None else instrument)
    return Trace(**_core._condition(job._to_core(), job._arrays(), bends_m))


def display_step_rad(readings_rad: npt.ArrayLike) -> float:
    """Find the step in which readings are shown: the coarsest usual one that all of them are whole numbers of.

    Parameters
    ----------
    readings_rad : array_like
        Readings as shown, rad.

    Returns
    -------
    float
        The step, rad; 0 where there is none.

    Examples
    --------
    >>> from fallwise.units import deg, to_deg
    >>> round(to_deg(display_step_rad(deg([0.4, 0.3, 0.7, 1.1]))), 6)
    0.1
    """
    return _core._display_step(readings_rad)

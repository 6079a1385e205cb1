"""Segments of constant tilt: fitted to readings, given, or one a reading."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from . import _core
from ._plain import Record

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from ._model import Floats

__all__ = ["Chain", "Fit", "fit_chain", "given", "raw"]


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Chain(Record):
    """Segments in order.

    Attributes
    ----------
    breaks_m : ndarray
        Stations of the ends, m; one more than segments.
    tilt_rad : ndarray
        Tilt of each, rad.
    """

    breaks_m: Floats
    tilt_rad: Floats


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Fit(Chain):
    """A penalised segmentation.

    Attributes
    ----------
    starts : ndarray of int
        Index of the first reading of each segment.
    cost, penalty : float
        Cost of the whole and penalty of one break, rad2.
    noise_sd_rad : float
        Noise of a reading of weight 1, as used, rad.
    """

    starts: npt.NDArray[np.uint64]
    cost: float
    penalty: float
    noise_sd_rad: float


def fit_chain(
    station_m: npt.ArrayLike,
    tilt_rad: npt.ArrayLike,
    *,
    weight: npt.ArrayLike | None = None,
    hard_breaks_m: npt.ArrayLike = (),
    loss: Literal["squares", "biweight"] = "squares",
    threshold_sds: float | None = None,
    noise_sd_rad: float | None = None,
    penalty: float | None = None,
    least_readings: int = 1,
) -> Fit:
    """Find the segmentation of readings that is the exact penalised optimum.

    What it minimises is the cost of the departures from the means of segments plus a penalty a break. The search is exact
    (Maidstone, Hocking, Rigaill and Fearnhead 2017, Statistics and Computing 27:519-533); the biweight loss is that of Fearnhead
    and Rigaill 2019 (Journal of the American Statistical Association 114:169-183).

    Parameters
    ----------
    station_m, tilt_rad : array_like
        Stations, m, growing, and tilts, rad, of the readings.
    weight : array_like, optional
        Weights of the readings; absent: 1 each.
    hard_breaks_m : array_like
        Stations where a segment ends whatever the readings say, m.
    loss : {"squares", "biweight"}
        What departures cost.
    threshold_sds : float, optional
        Beyond so many standard deviations the biweight loss grows no more.
    noise_sd_rad : float, optional
        Noise of a reading, rad; absent: estimated.
    penalty : float, optional
        Penalty of a break in units of the noise variance; absent: three times the logarithm of the number of readings.
    least_readings : int
        Least number of readings in a segment.

    Returns
    -------
    Fit
        The segments, and what they cost.

    Raises
    ------
    InputError
        Fewer than two readings, stations that do not grow, what is not finite or out of its range; named by index.

    Examples
    --------
    >>> fit = fit_chain(range(40), [0.02] * 25 + [-0.01] * 15)
    >>> fit.breaks_m
    array([ 0. , 24.5, 39. ])
    """
    return Fit(
        **_core._fit_chain(station_m, tilt_rad, weight, hard_breaks_m, loss, threshold_sds, noise_sd_rad, penalty, least_readings)
    )


def raw(station_m: npt.ArrayLike, tilt_rad: npt.ArrayLike) -> Chain:
    """Make one segment of each reading. Segments meet half way between readings; the outer two end at their own readings.

    Parameters
    ----------
    station_m, tilt_rad : array_like
        Stations, m, growing, and tilts, rad, positive down, of the readings.

    Returns
    -------
    Chain
        As many segments as readings.

    Raises
    ------
    InputError
        Fewer than two readings, stations that do not grow, what is not finite; named by index.

    Examples
    --------
    >>> raw([0.0, 1.0, 2.0], [0.02, 0.01, 0.03]).breaks_m
    array([0. , 0.5, 1.5, 2. ])
    """
    return Chain(**_core._raw_chain(station_m, tilt_rad))


def given(
    station_m: npt.ArrayLike, tilt_rad: npt.ArrayLike, breaks_m: npt.ArrayLike, *, weight: npt.ArrayLike | None = None
) -> Chain:
    """Take the weighted means of the readings between known breaks. Readings outside the breaks are not used.

    Parameters
    ----------
    station_m, tilt_rad : array_like
        Stations, m, growing, and tilts, rad, positive down, of the readings.
    breaks_m : array_like
        Stations of the ends of segments, m, growing; one more than segments.
    weight : array_like, optional
        Weights of the readings; absent: 1 each.

    Returns
    -------
    Chain
        One segment between each two breaks.

    Raises
    ------
    InputError
        A segment without a reading of positive weight, a weight below 0, what is not finite; named by index.

    Examples
    --------
    >>> given([0.5, 1.0, 2.0, 3.5], [0.02, 0.04, 0.01, 0.01], [0.0, 1.5, 4.0]).tilt_rad
    array([0.03, 0.01])
    """
    return Chain(**_core._given_chain(station_m, tilt_rad, weight, breaks_m))

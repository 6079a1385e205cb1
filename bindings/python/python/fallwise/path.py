"""Positions along a pipe whose direction is known at stations."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from . import _core

if TYPE_CHECKING:
    import numpy.typing as npt

    from ._model import Floats

__all__ = ["dogleg", "minimum_curvature"]


def minimum_curvature(station_m: npt.ArrayLike, tilt_rad: npt.ArrayLike, azimuth_rad: npt.ArrayLike) -> Floats:
    """East, north and up of stations at which the direction of the pipe is known: an arc between each two.

    The method is common property of borehole surveying (Taylor and Mason 1972); the formula as in Sawaryn and Thorogood 2005
    (SPE 84246), both from memory.

    Parameters
    ----------
    station_m : array_like
        Stations, m, not falling; where the direction changes, growing.
    tilt_rad, azimuth_rad : array_like, or float for all
        Direction there, rad: tilt positive down, azimuth clockwise from north.

    Returns
    -------
    ndarray of shape (n, 3)
        East, north, up, m, beginning with zeros.

    Raises
    ------
    InputError
        What is not finite, a station that falls, a direction that turns right round; named by index.

    Examples
    --------
    >>> minimum_curvature([0.0, 10.0], 0.0, 0.0)
    array([[ 0.,  0.,  0.],
           [ 0., 10.,  0.]])
    """
    return _core._minimum_curvature(station_m, tilt_rad, azimuth_rad)


def dogleg(
    first_tilt_rad: npt.ArrayLike,
    first_azimuth_rad: npt.ArrayLike,
    second_tilt_rad: npt.ArrayLike,
    second_azimuth_rad: npt.ArrayLike,
) -> Any:
    """Angle between two directions, exact for small angles too.

    Parameters
    ----------
    first_tilt_rad, first_azimuth_rad : float or array_like
        The first direction, rad: tilt positive down, azimuth clockwise from north.
    second_tilt_rad, second_azimuth_rad : float or array_like
        The second.

    Returns
    -------
    float or ndarray
        The angle, rad, 0 to pi.

    Raises
    ------
    InputError
        What is not finite.

    Examples
    --------
    >>> dogleg(0.0, 0.0, 0.0, 0.5)
    0.5
    """
    return _core._dogleg(first_tilt_rad, first_azimuth_rad, second_tilt_rad, second_azimuth_rad)

"""Heights along a chain of straight pieces, and what is read off them. Falls run towards growing station."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from . import _core
from ._core import Profile
from ._model import GroundPoint

if TYPE_CHECKING:
    import numpy.typing as npt

__all__ = ["Profile", "cover", "from_segments", "ground"]


def from_segments(breaks_m: npt.ArrayLike, tilt_rad: npt.ArrayLike) -> Profile:
    """Lay straight pieces between stations.

    Parameters
    ----------
    breaks_m : array_like
        Stations of the ends, m, growing; one more than pieces.
    tilt_rad : array_like
        Tilt of each piece, rad, positive down.

    Returns
    -------
    Profile
        Heights above the lowest node.

    Raises
    ------
    InputError
        Stations that do not grow, not one more of them than tilts, what is not finite; named by index.

    Examples
    --------
    >>> from_segments([0.0, 10.0, 12.0], [0.02, -0.01]).fall_between(0.0, 12.0)
    0.17998700026499748
    """
    return _core.Profile._from_segments(breaks_m, tilt_rad)


def cover(
    ground_m: npt.ArrayLike,
    invert_m: npt.ArrayLike,
    *,
    bore_m: npt.ArrayLike,
    wall_m: npt.ArrayLike = 0.0,
    tilt_rad: npt.ArrayLike = 0.0,
) -> Any:
    """Ground to the outside top of the pipe, m, upright; NaN where the pipe is so steep that there is no top.

    Parameters
    ----------
    ground_m, invert_m : float or array_like
        Elevations, m.
    bore_m, wall_m : float or array_like
        Inside height and wall, m.
    tilt_rad : float or array_like
        Tilt, rad.

    Returns
    -------
    float or ndarray
        Cover, m; below 0 where the pipe stands out of the ground.

    Raises
    ------
    InputError
        What is not finite.

    Examples
    --------
    >>> round(cover(30.0, 28.9, bore_m=0.1, wall_m=0.004), 3)
    0.996
    """
    return _core._cover(ground_m, invert_m, bore_m, wall_m, tilt_rad)


def ground(points: Sequence[GroundPoint], station_m: npt.ArrayLike) -> dict[str, Any]:
    """Elevation of the ground at stations, on straight lines between points.

    Parameters
    ----------
    points : sequence of GroundPoint
        Where the ground was levelled, in any order.
    station_m : float or array_like
        Stations, m.

    Returns
    -------
    dict
        ``elevation_m`` and ``sd_m``, m: floats or arrays. NaN outside the points, and an sd of NaN between points of which one
        was given none. How far the ground departs from the line is not in it.
    """
    return _core._ground([point._to_core() for point in points], station_m)

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
    """
    return _core._cover(ground_m, invert_m, bore_m, wall_m, tilt_rad)


def ground(points: Sequence[GroundPoint], station_m: npt.ArrayLike) -> dict[str, Any]:
    """Elevation of the ground between points, and its standard deviation, m: ``elevation_m``, ``sd_m``; NaN where not known."""
    return _core._ground([point._to_core() for point in points], station_m)

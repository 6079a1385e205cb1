"""From a job's local axes to longitude and latitude (WGS 84)."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from . import _core
from ._model import Origin

if TYPE_CHECKING:
    import numpy.typing as npt

__all__ = ["Geographic", "place"]


class Geographic(NamedTuple):
    """Places on the ellipsoid: longitude and latitude, rad; floats or arrays."""

    longitude_rad: Any
    latitude_rad: Any


def place(origin: Origin, east_m: npt.ArrayLike, north_m: npt.ArrayLike) -> Geographic:
    """Longitude and latitude of points in the job's local axes.

    Parameters
    ----------
    origin : Origin
        A point whose place is known.
    east_m, north_m : float or array_like
        The points, m; not farther than 100 km from the origin.
    """
    return Geographic(*_core._place(origin, east_m, north_m))

"""From a job's local axes to longitude and latitude (WGS 84)."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from . import _core
from ._model import Origin

if TYPE_CHECKING:
    import numpy.typing as npt

__all__ = ["Geographic", "place"]


class Geographic(NamedTuple):
    """Places on the ellipsoid; floats or arrays.

    Attributes
    ----------
    longitude_rad : float or ndarray
        Longitude, rad, positive east.
    latitude_rad : float or ndarray
        Geodetic latitude, rad, positive north.
    """

    longitude_rad: Any
    latitude_rad: Any


def place(origin: Origin, east_m: npt.ArrayLike, north_m: npt.ArrayLike) -> Geographic:
    """Longitude and latitude of points in the job's local axes (WGS 84; Bowring 1976, Survey Review 23:323-327, from memory).

    Parameters
    ----------
    origin : Origin
        A point whose place is known.
    east_m, north_m : float or array_like
        The points, m; not farther than 100 km from the origin.

    Returns
    -------
    Geographic
        Longitude and latitude, rad.

    Raises
    ------
    InputError
        What is not finite, or too far from the origin.

    Examples
    --------
    >>> from fallwise import Origin
    >>> from fallwise.units import deg, to_deg
    >>> there = place(Origin(longitude_rad=deg(-32.5), latitude_rad=deg(41.25)), 0.0, 1000.0)
    >>> round(to_deg(there.latitude_rad), 5)
    41.259
    """
    return Geographic(*_core._place(origin, east_m, north_m))

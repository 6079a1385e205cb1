"""The water that bellies of a profile can hold. What stands there on a given day is not known from it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from . import _core
from ._core import Profile, Table
from ._model import Circle, Ellipse, Flow

if TYPE_CHECKING:
    from ._model import Floats

__all__ = ["pools", "water_level"]


def pools(
    profile: Profile,
    bores: Circle | Ellipse | Sequence[Circle | Ellipse | None] | None = None,
    *,
    flow: Flow = "increasing",
    tailwater_m: float | None = None,
) -> Table:
    """Find every pool, in order of station.

    Parameters
    ----------
    profile : Profile
        Heights, see :func:`fallwise.profile.from_segments`.
    bores : Circle, Ellipse, or a sequence of them
        Bore of each reach of the profile; without it volumes are not determined.
    flow : {"increasing", "decreasing"}
        Which way the water flows.
    tailwater_m : float, optional
        Standing water above the invert of the outlet, m; absent: a free outlet.

    Returns
    -------
    Table
        One row a pool: its ends and sill, level, deepest point, depth and volume, in m and m3.

    Raises
    ------
    InputError
        A bore that cannot be, or a tailwater that is not finite.

    Examples
    --------
    >>> from fallwise import Circle
    >>> from fallwise.profile import from_segments
    >>> found = pools(from_segments([0.0, 10.0, 12.0, 14.0], [0.02, -0.01, 0.02]), Circle(diameter_m=0.1))
    >>> len(found), found.sill_station_m[0]
    (1, np.float64(12.0))
    """
    given = bores if isinstance(bores, Sequence) else (bores,)
    return _core._pools(profile, [bore and bore._to_core() for bore in given], flow, tailwater_m)


def water_level(profile: Profile, *, flow: Flow = "increasing", tailwater_m: float | None = None) -> Floats:
    """Level of the water at each node of a profile.

    Parameters
    ----------
    profile : Profile
        Heights.
    flow : {"increasing", "decreasing"}
        Which way the water flows.
    tailwater_m : float, optional
        Standing water above the invert of the outlet, m; absent: a free outlet.

    Returns
    -------
    ndarray
        Levels, m above the zero of the profile's heights: the invert where it is dry.

    Examples
    --------
    >>> from fallwise.profile import from_segments
    >>> water_level(from_segments([0.0, 2.0, 3.0], [0.01, -0.01])).round(4)
    array([0.02, 0.01, 0.01])
    """
    return _core._water_level(profile, flow, tailwater_m)

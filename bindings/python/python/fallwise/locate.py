"""A place on the surface: how sure it is, how it is taped out, and whether anybody may dig by it.

Plan coordinates are east and north, m; azimuths clockwise from grid north, rad. What a solved lateral says of a place is
:meth:`fallwise.Lateral.locate`; these are the computations by themselves.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from . import _core
from ._model import DigOptions

if TYPE_CHECKING:
    import numpy.typing as npt

__all__ = ["ELLIPSE_95", "Dig", "ErrorEllipse", "Offset", "PlanError", "dig", "ellipse", "offset"]

#: Standard deviations from the middle of a 95 % ellipse to its edge.
ELLIPSE_95: float = _core._ELLIPSE_95


class ErrorEllipse(NamedTuple):
    """An ellipse of one standard deviation; floats or arrays. Times :data:`ELLIPSE_95` it holds a place with 95 %.

    Attributes
    ----------
    major_sd_m, minor_sd_m : float or ndarray
        Longer and shorter half axis, m.
    azimuth_rad : float or ndarray
        Azimuth of the longer axis, rad, from 0 to below pi.
    """

    major_sd_m: Any
    minor_sd_m: Any
    azimuth_rad: Any


class Offset(NamedTuple):
    """How a place is found with two tapes, or with one and a right angle; floats or arrays.

    Attributes
    ----------
    from_first_m, from_second_m : float or ndarray
        Distance from each mark, m.
    along_m : float or ndarray
        Along the line from the first mark to the second, m; negative before the first.
    right_m : float or ndarray
        Square off that line to the right, m; negative to the left.
    error_factor : float or ndarray
        By what the cut of the two tapes multiplies their errors: 1 at a right angle, infinite where they lie on each other.
    """

    from_first_m: Any
    from_second_m: Any
    along_m: Any
    right_m: Any
    error_factor: Any


class Dig(NamedTuple):
    """Whether one may dig at a place.

    Attributes
    ----------
    refused : tuple of str
        Why nobody may: ``"no_plan"``, ``"too_wide"``, ``"no_tie"``, ``"no_depth"``; empty where one may, after everything else
        that must come before digging.
    expect_from_m : float or None
        The shallow end: the top of the pipe may begin here, m below the ground.
    by_hand_from_m : float or None
        From here on it is dug by hand, m below the ground.
    """

    refused: tuple[str, ...]
    expect_from_m: float | None
    by_hand_from_m: float | None


@dataclass(frozen=True, kw_only=True)
class PlanError:
    """Errors of east and north of a place, which may go together.

    Parameters
    ----------
    east_sd_m, north_sd_m : float
        Standard deviations, m.
    correlation : float
        Correlation of the two, -1 to 1.

    Raises
    ------
    InputError
        A standard deviation that is negative or not finite, or a correlation outside -1 to 1.

    Examples
    --------
    >>> PlanError(east_sd_m=0.3, north_sd_m=0.4).sd(0.0)  # towards north
    0.4
    """

    east_sd_m: float
    north_sd_m: float
    correlation: float = 0.0

    def __post_init__(self) -> None:
        self.ellipse()

    def sd(self, azimuth_rad: npt.ArrayLike) -> Any:
        """Standard deviation in a direction, m.

        Parameters
        ----------
        azimuth_rad : float or array_like
            The direction, rad, clockwise from north.

        Returns
        -------
        float or ndarray
            Standard deviation, m.
        """
        return _core._plan_sd(self.east_sd_m, self.north_sd_m, self.correlation, azimuth_rad)

    def ellipse(self) -> ErrorEllipse:
        """Its ellipse of one standard deviation.

        Returns
        -------
        ErrorEllipse
            Half axes and azimuth.
        """
        return ellipse(self.east_sd_m, self.north_sd_m, self.correlation)


def ellipse(east_sd_m: npt.ArrayLike, north_sd_m: npt.ArrayLike, correlation: npt.ArrayLike = 0.0) -> ErrorEllipse:
    """Error ellipse of places (Mikhail and Ackermann 1976, Observations and Least Squares, from memory).

    Parameters
    ----------
    east_sd_m, north_sd_m : float or array_like
        Standard deviations, m.
    correlation : float or array_like
        Correlation of the two.

    Returns
    -------
    ErrorEllipse
        Half axes of one standard deviation, m, and the azimuth of the longer.

    Raises
    ------
    InputError
        A standard deviation that is negative or not finite, or a correlation outside -1 to 1.

    Examples
    --------
    >>> from fallwise.units import to_deg
    >>> found = ellipse(0.3, 0.3, 0.6)
    >>> round(to_deg(found.azimuth_rad), 9), round(found.major_sd_m, 4)
    (45.0, 0.3795)
    """
    return ErrorEllipse(*_core._ellipse(east_sd_m, north_sd_m, correlation))


def offset(first: Sequence[float], second: Sequence[float], place: Sequence[npt.ArrayLike]) -> Offset:
    """Distances and offset of places from two marks, in plan.

    Parameters
    ----------
    first, second : pair of float
        East and north of the marks, m; 0.1 m apart or more.
    place : pair of float or array_like
        East and north of the places, m.

    Returns
    -------
    Offset
        What is taped.

    Raises
    ------
    InputError
        A coordinate that is not finite, or marks less than 0.1 m apart.

    Examples
    --------
    >>> tape = offset((0.0, 0.0), (0.0, 10.0), (4.0, 3.0))
    >>> tape.along_m, tape.right_m, tape.from_first_m
    (3.0, 4.0, 5.0)
    """
    (east_m, north_m), (first_east_m, first_north_m), (second_east_m, second_north_m) = place, first, second
    marks = (first_east_m, first_north_m, second_east_m, second_north_m)
    return Offset(*_core._offset(*marks, east_m, north_m))


def dig(
    *,
    across_sd_m: float | None,
    tie_m: float | None,
    top_m: float | None,
    top_sd_m: float | None,
    options: DigOptions | None = None,
) -> Dig:
    """Whether one may dig at a place.

    Parameters
    ----------
    across_sd_m : float or None
        Standard deviation across the pipe, m; absent without a plan.
    tie_m : float or None
        How far along the pipe the nearest place lies that was measured from the surface, m; absent without any.
    top_m, top_sd_m : float or None
        Depth of the top of the pipe below the ground and its standard deviation, m; absent where not known.
    options : DigOptions, optional
        Limits and margin.

    Returns
    -------
    Dig
        Why nobody may, or from where on the pipe is expected.

    Raises
    ------
    InputError
        Options or standard deviations that cannot be.

    Examples
    --------
    >>> told = dig(across_sd_m=0.1, tie_m=1.2, top_m=1.5, top_sd_m=0.1)
    >>> told.refused, round(told.expect_from_m, 3), round(told.by_hand_from_m, 3)
    ((), 1.267, 0.967)
    >>> dig(across_sd_m=0.4, tie_m=None, top_m=1.5, top_sd_m=0.1).refused
    ('too_wide', 'no_tie')
    """
    refused, expect_from_m, by_hand_from_m = _core._dig(across_sd_m, tie_m, top_m, top_sd_m, options or DigOptions())
    return Dig(tuple(refused), expect_from_m, by_hand_from_m)

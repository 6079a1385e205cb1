"""The bore: area, wetted perimeter, width of the surface, and their inverse, also in a film of water or a hair from full.

Every argument may be a number or an array-like; they are broadcast against each other. A round bore is given by `bore_m`, an
ellipse by its height `bore_m` and its `width_m`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from . import _core

if TYPE_CHECKING:
    import numpy.typing as npt

__all__ = [
    "antiderivative",
    "area",
    "depth_for_area",
    "full_area",
    "hydraulic_radius",
    "mean_area",
    "top_width",
    "wetted_perimeter",
]


def _width(bore_m: npt.ArrayLike, width_m: npt.ArrayLike | None) -> npt.ArrayLike:
    return bore_m if width_m is None else width_m


def area(depth_m: npt.ArrayLike, *, bore_m: npt.ArrayLike, width_m: npt.ArrayLike | None = None) -> Any:
    """Area below a depth.

    Parameters
    ----------
    depth_m : float or array_like
        Depth above the invert, m; below 0 there is none, above the bore it is full.
    bore_m : float or array_like
        Inside diameter, or height of an ellipse, m; 1 mm to 20 m.
    width_m : float or array_like, optional
        Width of an ellipse, m.

    Returns
    -------
    float or ndarray
        Area, m2.

    Raises
    ------
    InputError
        What is not finite, or a bore that cannot be.

    Examples
    --------
    >>> area(0.05, bore_m=0.1)
    0.003926990816987242
    >>> area([0.0, 0.1], bore_m=0.1)
    array([0.        , 0.00785398])
    """
    return _core._area(depth_m, _width(bore_m, width_m), bore_m)


def full_area(*, bore_m: npt.ArrayLike, width_m: npt.ArrayLike | None = None) -> Any:
    """Area of the whole bore.

    Parameters
    ----------
    bore_m : float or array_like
        Inside diameter, or height of an ellipse, m; 1 mm to 20 m.
    width_m : float or array_like, optional
        Width of an ellipse, m.

    Returns
    -------
    float or ndarray
        Area, m2.

    Raises
    ------
    InputError
        What is not finite, or a bore that cannot be.
    """
    return _core._full_area(_width(bore_m, width_m), bore_m)


def antiderivative(depth_m: npt.ArrayLike, *, bore_m: npt.ArrayLike, width_m: npt.ArrayLike | None = None) -> Any:
    """Integral of :func:`area` over depth from the invert: what wedges of water are made of.

    Parameters
    ----------
    depth_m : float or array_like
        Depth above the invert, m; below 0 there is none, above the bore it is full.
    bore_m : float or array_like
        Inside diameter, or height of an ellipse, m; 1 mm to 20 m.
    width_m : float or array_like, optional
        Width of an ellipse, m.

    Returns
    -------
    float or ndarray
        Integral, m3.

    Raises
    ------
    InputError
        What is not finite, or a bore that cannot be.
    """
    return _core._antiderivative(depth_m, _width(bore_m, width_m), bore_m)


def mean_area(
    first_m: npt.ArrayLike, second_m: npt.ArrayLike, *, bore_m: npt.ArrayLike, width_m: npt.ArrayLike | None = None
) -> Any:
    """Mean of :func:`area` between two depths, stable where they are close.

    Parameters
    ----------
    first_m, second_m : float or array_like
        The two depths above the invert, m, in any order.
    bore_m : float or array_like
        Inside diameter, or height of an ellipse, m; 1 mm to 20 m.
    width_m : float or array_like, optional
        Width of an ellipse, m.

    Returns
    -------
    float or ndarray
        Mean area, m2.

    Raises
    ------
    InputError
        What is not finite, or a bore that cannot be.
    """
    return _core._mean_area(first_m, second_m, _width(bore_m, width_m), bore_m)


def wetted_perimeter(depth_m: npt.ArrayLike, *, bore_m: npt.ArrayLike, width_m: npt.ArrayLike | None = None) -> Any:
    """Wetted perimeter with water of a depth.

    Parameters
    ----------
    depth_m : float or array_like
        Depth above the invert, m; below 0 there is none, above the bore it is full.
    bore_m : float or array_like
        Inside diameter, or height of an ellipse, m; 1 mm to 20 m.
    width_m : float or array_like, optional
        Width of an ellipse, m.

    Returns
    -------
    float or ndarray
        Perimeter, m.

    Raises
    ------
    InputError
        What is not finite, or a bore that cannot be.
    """
    return _core._wetted_perimeter(depth_m, _width(bore_m, width_m), bore_m)


def top_width(depth_m: npt.ArrayLike, *, bore_m: npt.ArrayLike, width_m: npt.ArrayLike | None = None) -> Any:
    """Width of the surface with water of a depth.

    Parameters
    ----------
    depth_m : float or array_like
        Depth above the invert, m; below 0 there is none, above the bore it is full.
    bore_m : float or array_like
        Inside diameter, or height of an ellipse, m; 1 mm to 20 m.
    width_m : float or array_like, optional
        Width of an ellipse, m.

    Returns
    -------
    float or ndarray
        Width, m; 0 when dry and when full.

    Raises
    ------
    InputError
        What is not finite, or a bore that cannot be.
    """
    return _core._top_width(depth_m, _width(bore_m, width_m), bore_m)


def hydraulic_radius(depth_m: npt.ArrayLike, *, bore_m: npt.ArrayLike, width_m: npt.ArrayLike | None = None) -> Any:
    """Area over wetted perimeter with water of a depth.

    Parameters
    ----------
    depth_m : float or array_like
        Depth above the invert, m; below 0 there is none, above the bore it is full.
    bore_m : float or array_like
        Inside diameter, or height of an ellipse, m; 1 mm to 20 m.
    width_m : float or array_like, optional
        Width of an ellipse, m.

    Returns
    -------
    float or ndarray
        Hydraulic radius, m.

    Raises
    ------
    InputError
        What is not finite, or a bore that cannot be.
    """
    return _core._hydraulic_radius(depth_m, _width(bore_m, width_m), bore_m)


def depth_for_area(area_m2: npt.ArrayLike, *, bore_m: npt.ArrayLike, width_m: npt.ArrayLike | None = None) -> Any:
    """Depth at which :func:`area` has a value: its inverse.

    Parameters
    ----------
    area_m2 : float or array_like
        Area, m2, 0 to the full area.
    bore_m : float or array_like
        Inside diameter, or height of an ellipse, m; 1 mm to 20 m.
    width_m : float or array_like, optional
        Width of an ellipse, m.

    Returns
    -------
    float or ndarray
        Depth above the invert, m.

    Raises
    ------
    InputError
        An area that the bore does not have, what is not finite, or a bore that cannot be.
    """
    return _core._depth_for_area(area_m2, _width(bore_m, width_m), bore_m)

"""What a partly full pipe carries: Manning, Colebrook and White, normal and critical depth, shear, what it would take.

Every argument may be a number or an array-like; they are broadcast against each other. Friction is given by `manning_n`, or by
`roughness_m` (Colebrook and White). Nothing here says that a pipe carries enough: bellies, deposits and roots are not in the
formulas.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from . import _core

if TYPE_CHECKING:
    import numpy.typing as npt

__all__ = [
    "EN_12056_VISCOSITY_M2_S",
    "FIXTURE_UNITS_PER_GAL_PER_MIN",
    "GRAVITY_M_S2",
    "Most",
    "NormalDepth",
    "continuous_fixture_units",
    "critical_depth",
    "critical_shear",
    "diameter_for_flow",
    "discharge_units",
    "drain_for_fixture_units",
    "drain_units",
    "fixture_units",
    "fixture_units_of",
    "flow",
    "froude",
    "most",
    "most_fixture_units",
    "normal_depth",
    "outlet_fixture_units",
    "roughness_of",
    "roughnesses",
    "shear",
    "slope_for_flow",
    "slope_for_shear",
    "velocity",
    "waste_water_flow",
]

#: Standard gravity, m/s2.
GRAVITY_M_S2 = 9.80665
#: Fixture units that 1 US gallon a minute of continuous flow counts for (International Plumbing Code, 709.3, from memory).
FIXTURE_UNITS_PER_GAL_PER_MIN = 2.0
#: Kinematic viscosity that EN 12056-2 reckons with, m2/s.
EN_12056_VISCOSITY_M2_S = 1.31e-6


class NormalDepth(NamedTuple):
    """Depth at which a flow is uniform; numbers for numbers, arrays for arrays."""

    #: Depth, the lower one of two, m; NaN where there is none.
    depth_m: Any
    #: The upper one of two, m; NaN where there is none.
    upper_depth_m: Any
    #: ``one``, ``two``, ``above_capacity``, ``no_fall`` or ``backfall``.
    state: Any
    #: Relative change of the depth for one of the flow; without bound at the most that the pipe carries.
    condition: Any


class Most(NamedTuple):
    """The most that a pipe carries with a free surface; all 0 where it does not fall."""

    #: Depth at which it does, m.
    depth_m: Any
    #: The flow, m3/s.
    flow_m3_s: Any
    #: Flow of the full bore, m3/s.
    full_m3_s: Any


def _width(bore_m: npt.ArrayLike, width_m: npt.ArrayLike | None) -> npt.ArrayLike:
    return bore_m if width_m is None else width_m


def _law(
    manning_n: npt.ArrayLike | None, roughness_m: npt.ArrayLike | None, viscosity_m2_s: npt.ArrayLike
) -> tuple[str, npt.ArrayLike, npt.ArrayLike]:
    if (manning_n is None) == (roughness_m is None):
        raise TypeError("friction: give either manning_n or roughness_m")
    if manning_n is not None:
        return "manning", manning_n, 0.0
    assert roughness_m is not None
    return "colebrook_white", roughness_m, viscosity_m2_s


def velocity(
    depth_m: npt.ArrayLike,
    *,
    bore_m: npt.ArrayLike,
    slope: npt.ArrayLike,
    manning_n: npt.ArrayLike | None = None,
    roughness_m: npt.ArrayLike | None = None,
    viscosity_m2_s: npt.ArrayLike = EN_12056_VISCOSITY_M2_S,
    width_m: npt.ArrayLike | None = None,
) -> Any:
    """Mean velocity with water of a depth.

    Parameters
    ----------
    depth_m : float or array_like
        Depth above the invert, m.
    bore_m : float or array_like
        Inside diameter, or height of an ellipse, m; 1 mm to 20 m.
    slope : float or array_like
        Fall over length along the flow; negative where the pipe runs backwards.
    manning_n : float or array_like, optional
        Manning's n, s/m^(1/3). Either this or `roughness_m`.
    roughness_m : float or array_like, optional
        Roughness for the formula of Colebrook and White, m.
    viscosity_m2_s : float or array_like
        Kinematic viscosity for it, m2/s; that of EN 12056-2, water of 10 degrees Celsius, unless given.
    width_m : float or array_like, optional
        Width of an ellipse, m.

    Returns
    -------
    float or ndarray
        Velocity, m/s; 0 where the pipe does not fall, and when dry.

    Raises
    ------
    InputError
        What is not finite or out of its range.
    TypeError
        Not one of manning_n and roughness_m.

    Examples
    --------
    >>> round(velocity(0.05, bore_m=0.1, slope=0.02, manning_n=0.011), 4)
    1.0992
    """
    law, rough, viscosity = _law(manning_n, roughness_m, viscosity_m2_s)
    return _core._velocity(depth_m, _width(bore_m, width_m), bore_m, slope, law, rough, viscosity)


def flow(
    depth_m: npt.ArrayLike,
    *,
    bore_m: npt.ArrayLike,
    slope: npt.ArrayLike,
    manning_n: npt.ArrayLike | None = None,
    roughness_m: npt.ArrayLike | None = None,
    viscosity_m2_s: npt.ArrayLike = EN_12056_VISCOSITY_M2_S,
    width_m: npt.ArrayLike | None = None,
) -> Any:
    """Flow with water of a depth; of the full bore with the bore itself.

    Parameters
    ----------
    depth_m : float or array_like
        Depth above the invert, m.
    bore_m : float or array_like
        Inside diameter, or height of an ellipse, m; 1 mm to 20 m.
    slope : float or array_like
        Fall over length along the flow; negative where the pipe runs backwards.
    manning_n : float or array_like, optional
        Manning's n, s/m^(1/3). Either this or `roughness_m`.
    roughness_m : float or array_like, optional
        Roughness for the formula of Colebrook and White, m.
    viscosity_m2_s : float or array_like
        Kinematic viscosity for it, m2/s; that of EN 12056-2, water of 10 degrees Celsius, unless given.
    width_m : float or array_like, optional
        Width of an ellipse, m.

    Returns
    -------
    float or ndarray
        Flow, m3/s.

    Raises
    ------
    InputError
        What is not finite or out of its range.
    TypeError
        Not one of manning_n and roughness_m.

    Examples
    --------
    >>> round(flow(0.24, bore_m=0.6, slope=1 / 400, manning_n=0.013), 6)
    0.103457
    """
    law, rough, viscosity = _law(manning_n, roughness_m, viscosity_m2_s)
    return _core._flow(depth_m, _width(bore_m, width_m), bore_m, slope, law, rough, viscosity)


def normal_depth(
    flow_m3_s: npt.ArrayLike,
    *,
    bore_m: npt.ArrayLike,
    slope: npt.ArrayLike,
    manning_n: npt.ArrayLike | None = None,
    roughness_m: npt.ArrayLike | None = None,
    viscosity_m2_s: npt.ArrayLike = EN_12056_VISCOSITY_M2_S,
    width_m: npt.ArrayLike | None = None,
) -> NormalDepth:
    """Depth at which a flow is uniform, and what can be said of it.

    Parameters
    ----------
    flow_m3_s : float or array_like
        Flow, m3/s.
    bore_m : float or array_like
        Inside diameter, or height of an ellipse, m; 1 mm to 20 m.
    slope : float or array_like
        Fall over length along the flow; negative where the pipe runs backwards.
    manning_n : float or array_like, optional
        Manning's n, s/m^(1/3). Either this or `roughness_m`.
    roughness_m : float or array_like, optional
        Roughness for the formula of Colebrook and White, m.
    viscosity_m2_s : float or array_like
        Kinematic viscosity for it, m2/s; that of EN 12056-2, water of 10 degrees Celsius, unless given.
    width_m : float or array_like, optional
        Width of an ellipse, m.

    Returns
    -------
    NormalDepth
        Depth, upper depth, state and condition.

    Raises
    ------
    InputError
        What is not finite or out of its range.
    TypeError
        Not one of manning_n and roughness_m.

    Examples
    --------
    >>> found = normal_depth(0.01, bore_m=0.2, slope=0.001, manning_n=0.013)
    >>> found.state, round(found.depth_m, 6)
    ('one', 0.157828)
    >>> normal_depth([0.0001, 1.0], bore_m=0.1, slope=0.01, manning_n=0.013).state
    array(['one', 'above_capacity'], dtype='<U14')
    """
    import numpy as np

    law, rough, viscosity = _law(manning_n, roughness_m, viscosity_m2_s)
    depth, upper, condition, state = _core._normal_depth(flow_m3_s, _width(bore_m, width_m), bore_m, slope, law, rough, viscosity)
    words = _core._states()
    if isinstance(state, float):
        return NormalDepth(depth, upper, words[int(state)], condition)
    return NormalDepth(depth, upper, np.array(words)[state.astype(int)], condition)


def most(
    *,
    bore_m: npt.ArrayLike,
    slope: npt.ArrayLike,
    manning_n: npt.ArrayLike | None = None,
    roughness_m: npt.ArrayLike | None = None,
    viscosity_m2_s: npt.ArrayLike = EN_12056_VISCOSITY_M2_S,
    width_m: npt.ArrayLike | None = None,
) -> Most:
    """Most that a pipe carries with a free surface, and what it carries full.

    Parameters
    ----------
    bore_m : float or array_like
        Inside diameter, or height of an ellipse, m; 1 mm to 20 m.
    slope : float or array_like
        Fall over length along the flow; negative where the pipe runs backwards.
    manning_n : float or array_like, optional
        Manning's n, s/m^(1/3). Either this or `roughness_m`.
    roughness_m : float or array_like, optional
        Roughness for the formula of Colebrook and White, m.
    viscosity_m2_s : float or array_like
        Kinematic viscosity for it, m2/s; that of EN 12056-2, water of 10 degrees Celsius, unless given.
    width_m : float or array_like, optional
        Width of an ellipse, m.

    Returns
    -------
    Most
        Depth and flow of the most, and the flow of the full bore.

    Raises
    ------
    InputError
        What is not finite or out of its range.
    TypeError
        Not one of manning_n and roughness_m.

    Examples
    --------
    >>> found = most(bore_m=0.1, slope=0.01, manning_n=0.013)
    >>> round(found.flow_m3_s / found.full_m3_s, 6)
    1.075706
    """
    law, rough, viscosity = _law(manning_n, roughness_m, viscosity_m2_s)
    return Most(*_core._most(_width(bore_m, width_m), bore_m, slope, law, rough, viscosity))


def shear(depth_m: npt.ArrayLike, *, bore_m: npt.ArrayLike, slope: npt.ArrayLike, width_m: npt.ArrayLike | None = None) -> Any:
    """Mean boundary shear with water of a depth: rho g R S.

    Parameters
    ----------
    depth_m : float or array_like
        Depth above the invert, m.
    bore_m : float or array_like
        Inside diameter, or height of an ellipse, m.
    slope : float or array_like
        Fall over length.
    width_m : float or array_like, optional
        Width of an ellipse, m.

    Returns
    -------
    float or ndarray
        Shear, Pa; 0 where the pipe does not fall.

    Raises
    ------
    InputError
        What is not finite or out of its range.

    Examples
    --------
    >>> round(shear(0.05113, bore_m=0.10226, slope=1 / 96), 2)
    2.61
    """
    return _core._shear(depth_m, _width(bore_m, width_m), bore_m, slope, "manning", 0.01, 0.0)


def critical_depth(flow_m3_s: npt.ArrayLike, *, bore_m: npt.ArrayLike, width_m: npt.ArrayLike | None = None) -> Any:
    """Critical depth of a flow.

    Parameters
    ----------
    flow_m3_s : float or array_like
        Flow, m3/s.
    bore_m : float or array_like
        Inside diameter, or height of an ellipse, m.
    width_m : float or array_like, optional
        Width of an ellipse, m.

    Returns
    -------
    float or ndarray
        Depth, m.

    Raises
    ------
    InputError
        What is not finite or out of its range.

    Examples
    --------
    >>> round(critical_depth(0.01, bore_m=0.2), 4)
    0.0846
    """
    return _core._critical_depth(flow_m3_s, _width(bore_m, width_m), bore_m)


def froude(
    depth_m: npt.ArrayLike, flow_m3_s: npt.ArrayLike, *, bore_m: npt.ArrayLike, width_m: npt.ArrayLike | None = None
) -> Any:
    """Froude number: above 1 the water shoots, below it streams.

    Parameters
    ----------
    depth_m : float or array_like
        Depth above the invert, m, above 0 and up to the bore.
    flow_m3_s : float or array_like
        Flow, m3/s.
    bore_m : float or array_like
        Inside diameter, or height of an ellipse, m.
    width_m : float or array_like, optional
        Width of an ellipse, m.

    Returns
    -------
    float or ndarray
        The number; infinite where the surface has no width and water moves.

    Raises
    ------
    InputError
        What is not finite or out of its range.
    """
    return _core._froude(depth_m, flow_m3_s, _width(bore_m, width_m), bore_m)


def critical_shear(grain_m: npt.ArrayLike) -> Any:
    """Shear that moves a grain: 0.867 d^0.277, d in mm (ASCE Manual of Practice 60, 2007, from memory).

    Parameters
    ----------
    grain_m : float or array_like
        Size of the grain, m.

    Returns
    -------
    float or ndarray
        Shear, Pa.

    Raises
    ------
    InputError
        What is not finite or out of its range.
    """
    return _core._critical_shear(grain_m)


def slope_for_flow(
    flow_m3_s: npt.ArrayLike,
    *,
    depth_m: npt.ArrayLike,
    bore_m: npt.ArrayLike,
    manning_n: npt.ArrayLike | None = None,
    roughness_m: npt.ArrayLike | None = None,
    viscosity_m2_s: npt.ArrayLike = EN_12056_VISCOSITY_M2_S,
    width_m: npt.ArrayLike | None = None,
) -> Any:
    """Slope at which water of a depth carries a flow.

    Parameters
    ----------
    flow_m3_s : float or array_like
        Flow, m3/s, above 0.
    depth_m : float or array_like
        Depth above the invert, m, above 0 and up to the bore.
    bore_m : float or array_like
        Inside diameter, or height of an ellipse, m.
    manning_n, roughness_m, viscosity_m2_s : float or array_like
        Friction, as of :func:`flow`.
    width_m : float or array_like, optional
        Width of an ellipse, m.

    Returns
    -------
    float or ndarray
        The slope; NaN where it would be steeper than 10 in 1.

    Raises
    ------
    InputError
        What is not finite or out of its range.
    TypeError
        Not one of manning_n and roughness_m.
    """
    law, rough, viscosity = _law(manning_n, roughness_m, viscosity_m2_s)
    return _core._slope_for_flow(flow_m3_s, depth_m, _width(bore_m, width_m), bore_m, law, rough, viscosity)


def slope_for_shear(
    shear_pa: npt.ArrayLike, *, depth_m: npt.ArrayLike, bore_m: npt.ArrayLike, width_m: npt.ArrayLike | None = None
) -> Any:
    """Slope at which water of a depth has a mean boundary shear.

    Parameters
    ----------
    shear_pa : float or array_like
        Shear, Pa.
    depth_m : float or array_like
        Depth above the invert, m, above 0 and up to the bore.
    bore_m : float or array_like
        Inside diameter, or height of an ellipse, m.
    width_m : float or array_like, optional
        Width of an ellipse, m.

    Returns
    -------
    float or ndarray
        The slope.

    Raises
    ------
    InputError
        What is not finite or out of its range.
    """
    return _core._slope_for_shear(shear_pa, depth_m, _width(bore_m, width_m), bore_m)


def diameter_for_flow(
    flow_m3_s: npt.ArrayLike,
    *,
    slope: npt.ArrayLike,
    filling: npt.ArrayLike = 1.0,
    manning_n: npt.ArrayLike | None = None,
    roughness_m: npt.ArrayLike | None = None,
    viscosity_m2_s: npt.ArrayLike = EN_12056_VISCOSITY_M2_S,
) -> Any:
    """Inside diameter of a circle that carries a flow with water as deep as a share of it.

    Parameters
    ----------
    flow_m3_s : float or array_like
        Flow, m3/s, above 0.
    slope : float or array_like
        Fall over length, above 0.
    filling : float or array_like
        Depth as a share of the diameter; 1 is full.
    manning_n, roughness_m, viscosity_m2_s : float or array_like
        Friction, as of :func:`flow`.

    Returns
    -------
    float or ndarray
        The diameter, m; NaN above 20 m.

    Raises
    ------
    InputError
        What is not finite or out of its range.
    TypeError
        Not one of manning_n and roughness_m.
    """
    law, rough, viscosity = _law(manning_n, roughness_m, viscosity_m2_s)
    return _core._diameter_for_flow(flow_m3_s, slope, filling, law, rough, viscosity)


def discharge_units(system: Literal["I", "II", "III", "IV"]) -> dict[str, tuple[float, float]]:
    """Discharge units of EN 12056-2 in a system.

    Parameters
    ----------
    system : {"I", "II", "III", "IV"}
        System of the drainage.

    Returns
    -------
    dict
        Name of the fixture to its lower and upper discharge unit, l/s, which are one but where the document gives a range.

    Raises
    ------
    UnknownWordError
        No such system.

    Examples
    --------
    >>> discharge_units("I")["bath"]
    (0.8, 0.8)
    """
    return _core._fixtures(system)


def waste_water_flow(
    units_l_s: npt.ArrayLike, *, use: Literal["intermittent", "frequent", "congested", "special"] = "intermittent"
) -> float:
    """Flow of waste water that a drain is designed for, by EN 12056-2: K times the root of the sum, at least the largest unit.

    Parameters
    ----------
    units_l_s : array_like
        Discharge units of all that discharges, l/s.
    use : {"intermittent", "frequent", "congested", "special"}
        How often it is used: dwellings, hotels, public toilets, laboratories.

    Returns
    -------
    float
        Flow, m3/s.

    Raises
    ------
    InputError
        A unit that is not finite or below 0, or a use that is not known.

    Examples
    --------
    >>> waste_water_flow([2.0, 0.5, 0.8, 0.8, 0.8])
    0.002
    """
    return _core._waste_water_flow(units_l_s, use)


def roughnesses() -> list[dict[str, Any]]:
    """What documents say of the roughness of pipes, one row a statement.

    The library chooses none of them: the table is for the engineer who chooses one. Where documents disagree, both rows stand. No
    row is for a pipe that is deformed, or that has roots or deposits in it.

    Returns
    -------
    list of dict
        ``material`` and ``condition``; ``formula``, ``manning`` or ``colebrook_white``; ``low``, ``usual`` and ``high``, each a
        number or None, Manning's n in s/m^(1/3) or the roughness of Colebrook and White in m; ``source``, the document; ``mark``,
        how sure the values are: ``seen in the document``, ``seen in a secondary source``, ``from memory`` (one may have two) or
        ``common practice, no source``. What was not seen in the document is to be confirmed before anything rests on it.

    Examples
    --------
    >>> row = roughnesses()[0]
    >>> row["material"], row["formula"], row["usual"], row["mark"]
    ('PVC', 'manning', 0.01, 'seen in the document')
    """
    return _core._roughnesses()


def roughness_of(material: str) -> list[dict[str, Any]]:
    """What documents say of one material, in both formulas.

    Parameters
    ----------
    material : str
        The material, such as ``"vitrified clay"``, in any case.

    Returns
    -------
    list of dict
        Rows of :func:`roughnesses`.

    Raises
    ------
    UnknownWordError
        A material that the table does not have.

    Examples
    --------
    >>> [row["usual"] for row in roughness_of("vitrified clay") if row["formula"] == "manning" and row["usual"]]
    [0.013, 0.014]
    """
    return _core._roughnesses(material)


def fixture_units() -> list[dict[str, Any]]:
    """Drainage fixture units of the plumbing codes of the United States, one row a fixture and code.

    The code as adopted locally governs: states and cities amend both, and none of that is here. Where the two codes disagree,
    both values stand.

    Returns
    -------
    list of dict
        ``fixture``; ``code``, ``ipc`` or ``upc``; ``units``; ``source``, the document; ``mark``, how sure the units are.

    Examples
    --------
    >>> [(row["code"], row["units"]) for row in fixture_units() if row["fixture"] == "clothes washer, domestic"]
    [('ipc', 2.0), ('upc', 3.0)]
    """
    return _core._fixture_units()


def fixture_units_of(fixture: str, *, code: Literal["ipc", "upc"]) -> float:
    """Drainage fixture units of a fixture by a code.

    Parameters
    ----------
    fixture : str
        A name of :func:`fixture_units`, in any case.
    code : {"ipc", "upc"}
        International or Uniform Plumbing Code.

    Returns
    -------
    float
        The units.

    Raises
    ------
    UnknownWordError
        A fixture that neither code has here, or no such code.
    InputError
        A fixture that only the other code has here.

    Examples
    --------
    >>> fixture_units_of("lavatory", code="ipc")
    1.0
    """
    return _core._fixture_units_of(fixture, code)


def outlet_fixture_units(outlet: str) -> float | None:
    """Drainage fixture units of a fixture that is in no table, by the size of its outlet or trap.

    International Plumbing Code, 709.2 (from memory). Outlets below 1 1/4 in count as that.

    Parameters
    ----------
    outlet : str
        Nominal size in inches, such as ``"2 in"``.

    Returns
    -------
    float or None
        The units; None for a size that the table does not have.

    Raises
    ------
    InputError
        What is no nominal size in inches.

    Examples
    --------
    >>> outlet_fixture_units("1 1/2 in")
    2.0
    """
    return _core._outlet_fixture_units(outlet)


def continuous_fixture_units(flow_m3_s: float, *, units_per_gal_per_min: float = FIXTURE_UNITS_PER_GAL_PER_MIN) -> float:
    """Drainage fixture units that a continuous flow counts for, such as of a pump.

    Parameters
    ----------
    flow_m3_s : float
        Flow, m3/s.
    units_per_gal_per_min : float
        Units for 1 US gallon a minute; 2, as in the model code, unless given; 1 by an amendment (Municipal Code of Chicago,
        18-29-709.3).

    Returns
    -------
    float
        The units.

    Raises
    ------
    InputError
        What is negative or not finite.

    Examples
    --------
    >>> from fallwise.units import gal_per_min
    >>> round(continuous_fixture_units(gal_per_min(10)), 9)
    20.0
    """
    return _core._continuous_fixture_units(flow_m3_s, units_per_gal_per_min)


def drain_units() -> list[dict[str, Any]]:
    """What the plumbing codes allow building drains and sewers, one row a code, size and slope.

    International Plumbing Code, 2018, table 710.1(1); of the Uniform Plumbing Code the horizontal drains at 1/4 in/ft, without
    the footnotes of the row for 1 1/2 in. The code as adopted locally governs. A count of units is a rule of a code: nothing here
    says what a lateral carries.

    Returns
    -------
    list of dict
        ``code``; ``nominal``, the size; ``slope``, fall over length; ``most_units``; ``source``, the document; ``mark``, how sure
        they are.

    Examples
    --------
    >>> [row["most_units"] for row in drain_units() if row["nominal"] == "4 in" and row["code"] == "ipc"]
    [180, 216, 250]
    """
    return _core._drain_units()


def most_fixture_units(nominal: str, *, slope: float, code: Literal["ipc", "upc"]) -> int | None:
    """The most drainage fixture units that a code allows a building drain or sewer of a size at a slope.

    The column is the steepest that is not steeper than the slope: a pipe at 2.00 % counts as 1/8 in/ft, since 1/4 in/ft is
    2.0833 %.

    Parameters
    ----------
    nominal : str
        Nominal size in inches, such as ``"4 in"``.
    slope : float
        Fall over length.
    code : {"ipc", "upc"}
        International or Uniform Plumbing Code.

    Returns
    -------
    int or None
        The units; None for a size that the table does not have, a slope below its columns, or where it has none for that size
        there.

    Raises
    ------
    UnknownWordError
        No such code.
    InputError
        What is no nominal size in inches, or a slope that is not finite.

    Examples
    --------
    >>> from fallwise.units import in_per_ft, percent
    >>> most_fixture_units("4 in", slope=in_per_ft(1 / 4), code="ipc"), most_fixture_units("4 in", slope=percent(2), code="ipc")
    (216, 180)
    """
    return _core._most_fixture_units(nominal, slope, code)


def drain_for_fixture_units(units: float, *, slope: float, serves_wc: bool, code: Literal["ipc", "upc"]) -> str | None:
    """The smallest building drain or sewer that a code allows for so many drainage fixture units at a slope.

    One that serves a WC has at least 3 in: by the footnote of the International Plumbing Code, and in the Uniform Plumbing Code
    from memory. How many WCs the latter allows on 3 in is not counted.

    Parameters
    ----------
    units : float
        Drainage fixture units.
    slope : float
        Fall over length; the column is that of :func:`most_fixture_units`.
    serves_wc : bool
        Whether a WC discharges into it.
    code : {"ipc", "upc"}
        International or Uniform Plumbing Code.

    Returns
    -------
    str or None
        Nominal size; None where no size of the table will do, or it has none at such a slope.

    Raises
    ------
    UnknownWordError
        No such code.
    InputError
        What is negative or not finite.

    Examples
    --------
    >>> drain_for_fixture_units(12, slope=1 / 48, serves_wc=True, code="ipc")
    '3 in'
    """
    return _core._drain_for_fixture_units(units, slope, serves_wc, code)

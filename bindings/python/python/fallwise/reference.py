"""Reference answers for other people's tests: arguments as doubles, answers from 50 digits and more, and where each is from.

A set is named after the function whose arguments and answers it holds (``"section.area"``), and has cases wherever a
computation cancels, such as in a film of water or a hair from full. The answers were made by programs that share no code with
the library; they lie with those programs in the source repository, in ``tests/vectors``.

Not here: 500 adjustments of chains with ties (``adjust.json`` beside the others), whose 3 MB would add a fifth to the package,
and whose problems are those inside a solved lateral, which no function takes.

Examples
--------
>>> import math
>>> worst = check("math.erf", math.erf)
>>> worst.error < 4e-16
True
>>> def area(depth_m, *, bore_m, width_m):
...     angle = 2 * math.acos(1 - 2 * depth_m / bore_m)
...     return bore_m * width_m * (angle - math.sin(angle)) / 8
>>> worst = check("section.area", area)  # the formula of the books loses half of the digits in a film of water
>>> worst.error > 1e-8, worst.case.inputs["depth_m"] < 1e-9
(True, True)
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Context, Decimal
from functools import partial
from typing import Any, NamedTuple

from ._errors import InputError
from ._model import Origin
from ._plain import Record
from .units import deg

__all__ = ["Case", "ReferenceSet", "Worst", "check", "load", "names"]

# Enough that differences and norms of answers of 50 digits round nothing that could be seen.
_DIGITS = Context(prec=60)
# So many digits name a double; an answer that has no more of them stands for it.
_OF_A_DOUBLE = 17


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Case(Record):
    """Arguments and the exact answers to them.

    Attributes
    ----------
    inputs : mapping of str to value
        Arguments by name, in the order of the function's own.
    digits : mapping of str to value
        Answers with all digits that the source has, as ``Decimal``; several of them as tuples. 17 digits or fewer stand for the
        double nearest to the exact answer. ``None``: there is none.
    condition : float
        What a relative error may grow by because arguments are rounded, whatever the method: :func:`check` divides by it.
    beside : mapping of str to value
        What else the source says of the case, such as a name, or what was published.
    """

    inputs: Mapping[str, Any]
    digits: Mapping[str, Any]
    condition: float = 1.0
    beside: Mapping[str, Any] = field(default_factory=dict)

    @property
    def answers(self) -> dict[str, Any]:
        """The answers as the nearest doubles."""
        return {name: _floats(value) for name, value in self.digits.items()}


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class ReferenceSet(Record):
    """Cases of one function.

    Attributes
    ----------
    name : str
        Name of the set; that of the function, where there is one.
    source : str
        Who computed or published the answers, and how.
    measure : str
        What :func:`check` gives as error.
    by_name : bool
        Whether :func:`check` calls with the names of the inputs; otherwise in their order, as elementary functions are called.
    cases : tuple of Case
        The cases.

    Examples
    --------
    >>> areas = load("section.area")
    >>> len(areas), areas.source
    (200, 'section.py, mpmath with 120 digits, of which 50 are given')
    >>> case = areas.cases[0]
    >>> dict(case.inputs)
    {'depth_m': 1.0000000000000002e-10, 'bore_m': 0.1, 'width_m': 0.1}
    >>> case.digits["area_m2"], case.answers["area_m2"]
    (Decimal('4.2163702122929292099134747612556078161032586750207E-16'), 4.216370212292929e-16)
    """

    name: str
    source: str
    measure: str
    by_name: bool
    cases: tuple[Case, ...]

    def __len__(self) -> int:
        return len(self.cases)

    def __iter__(self) -> Iterator[Case]:
        return iter(self.cases)

    def __repr__(self) -> str:
        return f'<fallwise.ReferenceSet "{self.name}": {len(self)} cases>'


class Worst(NamedTuple):
    """The case in which a function errs most."""

    #: The error, as the set's `measure` says; infinite for what is no answer at all.
    error: float
    #: Where.
    case: Case
    #: What the function gave there.
    found: Any


def names() -> list[str]:
    """Names of the sets.

    Examples
    --------
    >>> [name for name in names() if name.startswith("section")]
    ['section.antiderivative', 'section.area', 'section.depth_for_area', 'section.mean_area', 'section.wetted_perimeter']
    """
    return sorted(_SETS)


def load(name: str) -> ReferenceSet:
    """Read a set.

    Parameters
    ----------
    name : str
        One of :func:`names`.

    Returns
    -------
    ReferenceSet
        Its cases, with their source.

    Raises
    ------
    UnknownWordError
        No set has the name.
    """
    if name in _LOADED:
        return _LOADED[name]
    found = _SETS.get(name)
    if found is None:
        from difflib import get_close_matches

        from ._errors import UnknownWordError

        nearest = next(iter(get_close_matches(name, _SETS, n=1)), None)
        hint = "" if nearest is None else f'; did you mean "{nearest}"?'
        expected = ", ".join(names())
        raise UnknownWordError(
            f'name: "{name}" is no set of references{hint} There are: {expected}',
            field="name",
            value=name,
            expected=expected,
            nearest=nearest,
        )
    _LOADED[name] = ReferenceSet(
        name=name,
        source=found.source,
        measure="metres on the ellipsoid" if name == _PLACES else "relative error over condition",
        by_name=not name.startswith("math."),
        cases=tuple(found.cases()),
    )
    return _LOADED[name]


def check(name: str, function: Callable[..., Any], *, where: Callable[[Case], bool] | None = None) -> Worst:
    """Call a function with every case of a set, and tell the worst of its answers.

    Errors are relative: of an array by Euclid's norm; where the answer is 0, the error is the number itself. Whole numbers and
    words must be the same. Where there is no answer, ``None`` or NaN must be given.

    Parameters
    ----------
    name : str
        Name of the set.
    function : callable
        Called with the inputs of a case. Where there are several answers it gives a mapping, an object with attributes of their
        names, or a sequence in their order.
    where : callable, optional
        Which cases to take; absent: all of them.

    Returns
    -------
    Worst
        Error, case, and what the function gave.

    Examples
    --------
    >>> from fallwise import hydraulics
    >>> check("hydraulics.critical_depth", hydraulics.critical_depth).error < 1e-14
    True
    >>> def half_full(case):
    ...     return case.inputs["depth_m"] < 0.5 * case.inputs["bore_m"]
    >>> from fallwise import section
    >>> check("section.area", section.area, where=half_full).error < 1e-14
    True
    """
    cases = load(name)
    worst: Worst | None = None
    for case in cases if where is None else filter(where, cases):
        found = function(**case.inputs) if cases.by_name else function(*case.inputs.values())
        parts = _parts(found, list(case.digits))
        if name == _PLACES:
            error = _apart_m(parts, case)
        else:
            error = max(_off(part, exact) for part, exact in zip(parts, case.digits.values(), strict=True)) / case.condition
        if worst is None or error > worst.error:
            worst = Worst(error, case, found)
    if worst is None:
        raise InputError(f"where: takes no case of {name}, expected at least one", field="where", expected="at least one case")
    return worst


def _floats(value: Any) -> Any:
    if isinstance(value, Decimal):
        return float(value)
    if isinstance(value, tuple):
        return tuple(map(_floats, value))
    return value


def _parts(found: Any, answers: Sequence[str]) -> list[Any]:
    """What was given for each of the answers."""
    if isinstance(found, Mapping):
        return [found[name] for name in answers]
    if all(hasattr(found, name) for name in answers):
        return [getattr(found, name) for name in answers]
    if len(answers) == 1:
        return [found]
    parts = list(found)
    if len(parts) != len(answers):
        raise TypeError(f"{len(parts)} answers given, expected {len(answers)}: {', '.join(answers)}")
    return parts


def _flat(value: Any) -> Iterator[Any]:
    # Arrays of numpy and the like are asked for their lists.
    value = value.tolist() if hasattr(value, "tolist") else value
    if isinstance(value, Iterable) and not isinstance(value, str):
        for part in value:
            yield from _flat(part)
    else:
        yield value


def _off(found: Any, exact: Any) -> float:
    """Relative error; infinite for what is not comparable."""
    if exact is None:
        return 0.0 if found is None or found != found else float("inf")
    ones, rights = list(_flat(found)), list(_flat(exact))
    if len(ones) != len(rights):
        return float("inf")
    off = size = Decimal(0)
    for one, right in zip(ones, rights, strict=True):
        if not isinstance(right, Decimal):
            if one != right:
                return float("inf")
            continue
        value = one if isinstance(one, Decimal) else Decimal("nan" if one is None else float(one))
        if not value.is_finite():
            return float("inf")
        if value is not one and len(right.as_tuple().digits) <= _OF_A_DOUBLE:
            right = Decimal(float(right))
        off = _DIGITS.add(off, _DIGITS.power(_DIGITS.subtract(value, right), 2))
        size = _DIGITS.add(size, _DIGITS.power(right, 2))
    return float(_DIGITS.sqrt(_DIGITS.divide(off, size) if size else off))


def _apart_m(found: Sequence[Any], case: Case) -> float:
    """How far two places lie apart, by the chord on a sphere, so that near a pole longitudes count for little."""

    def unit(longitude: float, latitude: float) -> tuple[float, float, float]:
        across = math.cos(latitude)
        return across * math.cos(longitude), across * math.sin(longitude), math.sin(latitude)

    apart = 6378137.0 * math.dist(unit(*map(float, found)), unit(*case.answers.values()))
    return float("inf") if math.isnan(apart) else apart


# What follows makes cases of the rows of the files.

_PLACES = "geographic.place"
_FILES: dict[str, Any] = {}
_LOADED: dict[str, ReferenceSet] = {}


class _Set(NamedTuple):
    source: str
    cases: Callable[[], Iterable[Case]]


def _file(name: str) -> Any:
    if name not in _FILES:
        import json
        from importlib.resources import files

        text = files(__package__).joinpath("vectors", name).read_text(encoding="utf-8")
        _FILES[name] = json.loads(text, parse_float=Decimal)
    return _FILES[name]


def _frozen(value: Any) -> Any:
    """Lists as tuples, deep down."""
    if isinstance(value, list):
        return tuple(map(_frozen, value))
    if isinstance(value, dict):
        return {name: _frozen(part) for name, part in value.items()}
    return value


def _plain(value: Any) -> Any:
    """The same with doubles, for what goes in or stands beside."""
    if isinstance(value, dict):
        return {name: _plain(part) for name, part in value.items()}
    if isinstance(value, (list, tuple)):
        return tuple(map(_plain, value))
    return _floats(value)


def _exact(value: Any) -> Any:
    """A number of the file that is an answer, though it may be written without a fraction or as text."""
    return value if value is None or isinstance(value, Decimal) else Decimal(value)


def _elementary(name: str, arguments: Sequence[str]) -> Iterator[Case]:
    for row in _file("math.json")[name]:
        inputs = {argument: float(x) for argument, x in zip(arguments, row, strict=False)}
        condition = 1.0
        if name == "normal_cdf":
            # x over the root of 2 is rounded, and the condition of the lower tail is x squared.
            condition = 3.0 + min(inputs["x"], 0.0) ** 2
        yield Case(inputs=inputs, digits={"value": _exact(row[-1])}, condition=condition)
    if name in {"sin", "cos"}:
        for angle in _file("path.json")["angles"]:
            yield Case(inputs={"x": float(angle["angle_rad"])}, digits={"value": Decimal(angle[name])})


def _chi_square() -> Iterator[Case]:
    for degrees, x, above in _file("networks.json")["chi_square_survival"]:
        yield Case(inputs={"x": float(x), "degrees": degrees}, digits={"value": _exact(above)})


def _section(answer: str, keys: Sequence[str], arguments: Sequence[str]) -> Iterator[Case]:
    for key in keys:
        for width, height, *rest in _file("section.json")[key]:
            inputs = {argument: float(x) for argument, x in zip(arguments, rest, strict=False)}
            inputs |= {"bore_m": float(height), "width_m": float(width)}
            if key != "depth_for_area":
                yield Case(inputs=inputs, digits={answer: _exact(rest[-1])})
                continue
            area, low, depth, high = map(float, rest)
            # Depths of the area less and plus four units in its last place.
            grown = (high - low) / depth / (8 * math.ulp(area) / area)
            yield Case(
                inputs=inputs,
                digits={answer: _exact(rest[2])},
                condition=max(1.0, grown),
                beside={"four_ulps_less_m": low, "four_ulps_more_m": high},
            )


def _courses(of: str) -> Iterator[Case]:
    for row in _file("path.json")["courses"]:
        tilt, azimuth, turn = _plain(row["tilt_rad"]), _plain(row["azimuth_rad"]), Decimal(row["dogleg_rad"])
        beside = {"kind": row["kind"]}
        if of == "dogleg":
            names = ("first_tilt_rad", "first_azimuth_rad", "second_tilt_rad", "second_azimuth_rad")
            inputs = dict(zip(names, (tilt[0], azimuth[0], tilt[1], azimuth[1]), strict=True))
            yield Case(inputs=inputs, digits={"dogleg_rad": turn}, beside=beside)
        else:
            inputs = {"station_m": (0.0, float(row["length_m"])), "tilt_rad": tilt, "azimuth_rad": azimuth}
            start = (Decimal(0),) * 3
            yield Case(
                inputs=inputs,
                digits={"position_m": (start, tuple(map(Decimal, row["move_m"])))},
                # The mean of two directions that nearly cancel.
                condition=1.0 / math.cos(0.5 * float(turn)),
                beside=beside,
            )


def _pipes(key: str, arguments: Sequence[str], places: Mapping[str, int], condition: int | None = None) -> Iterator[Case]:
    for row in _file("hydraulics.json")[key]:
        inputs: dict[str, Any] = {argument: float(row[6 + i]) for i, argument in enumerate(arguments)}
        width, height, law, rough, viscosity, slope = map(float, row[:6])
        inputs |= {"bore_m": height, "width_m": width, "slope": slope}
        inputs |= {"manning_n": rough} if law == 0 else {"roughness_m": rough, "viscosity_m2_s": viscosity}
        digits = {answer: _exact(row[place]) for answer, place in places.items()}
        grows = 1.0 if condition is None else max(1.0, float(row[condition]))
        beside = {} if condition is None else {"state": "one" if row[8] is None else "two", "condition": float(row[condition])}
        yield Case(inputs=inputs, digits=digits, condition=grows, beside=beside)


def _critical() -> Iterator[Case]:
    for width, height, flow, depth in _file("hydraulics.json")["critical"]:
        inputs = {"flow_m3_s": float(flow), "bore_m": float(height), "width_m": float(width)}
        yield Case(inputs=inputs, digits={"depth_m": _exact(depth)})


def _placed() -> Iterator[Case]:
    for row in _file("geographic.json"):
        plain = _plain(row)
        (origin_east, origin_north), (east, north) = plain["origin_m"], plain["point_m"]
        origin = Origin(
            longitude_rad=deg(plain["longitude_deg"]),
            latitude_rad=deg(plain["latitude_deg"]),
            east_m=origin_east,
            north_m=origin_north,
            grid_north_rad=plain["grid_north_rad"],
        )
        longitude, latitude = (Decimal(deg(x)) for x in plain["expected_deg"])
        yield Case(
            inputs={"origin": origin, "east_m": east, "north_m": north},
            digits={"longitude_rad": longitude, "latitude_rad": latitude},
            beside={"expected_deg": plain["expected_deg"], "geodesic_m": plain["geodesic_m"]},
        )


# A power of two, by which values become tilts and lose nothing.
_TILT = 2.0**-10


def _segmented(values: Sequence[Any], **more: float) -> dict[str, Any]:
    tilt = tuple(float(value) * _TILT for value in values)
    return {"station_m": tuple(map(float, range(len(tilt)))), "tilt_rad": tilt, **more}


def _segmentations() -> Iterator[Case]:
    for row in _file("changepoint.json")["cases"]:
        yield Case(
            inputs=_segmented(row["values"], noise_sd_rad=_TILT, penalty=float(row["penalty"])),
            digits={"starts": tuple(row["starts"]), "cost": _DIGITS.multiply(_exact(row["cost"]), Decimal(_TILT**2))},
            beside={"name": row["name"], "values": _plain(row["values"]), "cost_of_values": float(row["cost"])},
        )


def _nile() -> Iterator[Case]:
    file = _file("changepoint_nile.json")
    yield Case(
        inputs=_segmented(file["flow"]),
        # 28 years from 1871 to 1898 with a mean of 1097.75, then the rest.
        digits={"starts": (0, 28)},
        beside={"first_year": file["first_year"], "flow": tuple(file["flow"])},
    )


def _named(key: str, inputs: Sequence[str]) -> Iterator[Case]:
    """What is laid out by name: all that is computed is an answer, what was published stands beside."""
    for row in _file("networks.json")[key]:
        row = _frozen(row)
        computed = row["computed"] if isinstance(row["computed"], dict) else {"value": row["computed"]}
        yield Case(
            inputs={name: _plain(row[name]) for name in inputs},
            digits={name: _decimals(value) for name, value in computed.items()},
            beside={name: _plain(value) for name, value in row.items() if name not in {*inputs, "computed"}},
        )


def _decimals(value: Any) -> Any:
    if isinstance(value, tuple):
        return tuple(map(_decimals, value))
    return Decimal(value) if isinstance(value, (int, Decimal)) else value


def _sets() -> Iterator[tuple[str, _Set]]:
    digits = "section.py, mpmath with 120 digits, of which 50 are given"
    one = "sin cos tan asin acos atan exp exp_m1 ln ln_1p log10 cbrt erf erfc normal_cdf normal_quantile"
    for name in one.split():
        also = "; path.py, mpmath with 60 digits, of which 50 are given" if name in {"sin", "cos"} else ""
        yield f"math.{name}", _Set(digits + also, partial(_elementary, name, ("x",)))
    for name, arguments in {"atan2": ("y", "x"), "hypot": ("x", "y"), "pow": ("x", "y")}.items():
        yield f"math.{name}", _Set(digits, partial(_elementary, name, arguments))
    statistics = "networks.py, mpmath with 60 digits, rounded to the nearest double"
    yield "math.chi_square_above", _Set(statistics, _chi_square)

    depth, pair = ("depth_m",), ("first_m", "second_m")
    yield "section.area", _Set(digits, partial(_section, "area_m2", ["area"], depth))
    yield "section.antiderivative", _Set(digits, partial(_section, "volume_m3", ["antiderivative"], depth))
    yield "section.mean_area", _Set(digits, partial(_section, "area_m2", ["mean_area"], pair))
    perimeters = ["perimeter_circle", "perimeter_ellipse"]
    yield "section.wetted_perimeter", _Set(digits, partial(_section, "perimeter_m", perimeters, depth))
    yield "section.depth_for_area", _Set(digits, partial(_section, "depth_m", ["depth_for_area"], ("area_m2",)))

    vectors = "path.py, mpmath with 60 digits, of which 50 are given; the turn from the two directions as vectors"
    yield "path.minimum_curvature", _Set(vectors, partial(_courses, "minimum_curvature"))
    yield "path.dogleg", _Set(vectors, partial(_courses, "dogleg"))

    halved = "hydraulics.py, mpmath with 60 digits, of which 50 are given; roots by halving"
    most = {"depth_m": 6, "flow_m3_s": 7, "full_m3_s": 8}
    normal = {"depth_m": 7, "upper_depth_m": 8}
    yield "hydraulics.velocity", _Set(halved, partial(_pipes, "flow", depth, {"velocity_m_s": 7}))
    yield "hydraulics.flow", _Set(halved, partial(_pipes, "flow", depth, {"flow_m3_s": 8}))
    yield "hydraulics.most", _Set(halved, partial(_pipes, "most", (), most))
    yield "hydraulics.normal_depth", _Set(halved, partial(_pipes, "normal", ("flow_m3_s",), normal, condition=9))
    yield "hydraulics.critical_depth", _Set(halved, _critical)

    yield _PLACES, _Set("geographic.py: places by PROJ (pyproj), lengths of geodesics by GeographicLib; doubles", _placed)

    packages = "changepoint.py with ruptures 1.1.10: KernelCPD and Pelt agree; values times 2^-10, so that they are tilts"
    yield "chain.fit_chain", _Set(packages, _segmentations)
    cobb = (
        "flow of the Nile, Cobb 1978, The problem of the Nile, Biometrika 65:243-251; values times 2^-10, so that they are tilts"
    )
    yield "chain.fit_chain nile", _Set(cobb, _nile)

    published = "networks.py, mpmath with 60 digits, of published cases; the publication of each stands beside it"
    yield "networks.levelling", _Set(published, partial(_named, "networks", ("fixed", "unknown", "observations")))
    yield "networks.fit", _Set(published, partial(_named, "fits", ("x", "y", "powers")))
    yield "networks.chi_square_quantile", _Set(statistics, partial(_named, "chi_square_quantiles", ("degrees", "probability")))
    yield "networks.outlier_test", _Set(statistics, partial(_named, "tests", ("alpha", "power")))


_SETS: dict[str, _Set] = dict(_sets())

"""Any number at all into every function that takes numbers: a typed error, or an answer without an endless number.

Not a number comes back where none went in: as "not determined", or where mathematics has no value.
"""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# What is in an answer may be anything.

from __future__ import annotations

import dataclasses
import inspect
from collections.abc import Callable, Iterator
from functools import partial
from typing import Any

import numpy as np
import pytest

import fallwise as fw
from fallwise import chain, condition, geographic, hydraulics, locate, path, pool, profile, section, simulation, units
from fallwise import math as fmath

# Zeros of both signs, denormal, next to 1, huge, endless, and not a number: quiet or signalling, with and without payload.
BITS = [
    0x0000000000000000,
    0x8000000000000000,
    0x0000000000000001,
    0x8000000000000001,
    0x000FFFFFFFFFFFFF,
    0x0010000000000000,
    0x01A56E1FC2F8F359,
    0x3C9CD2B297D889BC,
    0x3FEFFFFFFFFFFFFF,
    0x3FF0000000000001,
    0xBFF0000000000000,
    0x3FF921FB54442D18,
    0x400921FB54442D18,
    0x4056800000000000,
    0x4197D78400000000,
    0x5FE69E8B00000000,
    0x7E37E43C8800759C,
    0x7FEFFFFFFFFFFFFF,
    0xFFEFFFFFFFFFFFFF,
    0x7FF0000000000000,
    0xFFF0000000000000,
    0x7FF8000000000000,
    0xFFF80000DEADBEEF,
    0x7FF0000000000001,
]
NASTY = np.array(BITS, dtype=np.uint64).view(np.float64)
USUAL = np.array([0.01, 0.02, 0.1, 0.15, 0.35, 0.6, 2.0, 12.5])
ROUNDS = 300


class Numbers:
    """Numbers one after the other, the same in each run; as many of them odd as is said."""

    def __init__(self, share: float) -> None:
        self.random = np.random.default_rng(5)
        self.share = share

    def __call__(self) -> float:
        odd = self.random.random() < self.share
        return float(self.random.choice(NASTY if odd else USUAL))

    def array(self, count: int = 4) -> np.ndarray[Any, np.dtype[np.float64]]:
        """Growing, but for what is odd."""
        values = np.cumsum(self.random.choice(USUAL, count))
        odd = self.random.random(count) < self.share / 2
        values[odd] = self.random.choice(NASTY, int(odd.sum()))
        return values

    def pair(self) -> tuple[float, float]:
        return self(), self()


Call = Callable[[Numbers], Any]


def _truth() -> simulation.Truth:
    return simulation.Truth(breaks_m=[0, 4], tilt_rad=[0.01])


def _pipe(x: Numbers) -> dict[str, Any]:
    return {"bore_m": x(), "slope": x(), "manning_n": x()}


def _profile() -> fw.Profile:
    return profile.from_segments([0, 10, 12, 24], [0.02, -0.01, 0.022])


def _origin(x: Numbers) -> fw.Origin:
    return fw.Origin(longitude_rad=x(), latitude_rad=x(), east_m=x(), north_m=x(), grid_north_rad=x())


CALLS: dict[str, Call] = {
    "math.atan2": lambda x: fmath.atan2(x(), x()),
    "math.pow": lambda x: fmath.pow(x(), x()),
    "math.hypot": lambda x: fmath.hypot(x(), x()),
    "math.chi_square_above": lambda x: fmath.chi_square_above(x(), 3),
    "math.sum": lambda x: fmath.sum(x.array()),
    "math.median": lambda x: fmath.median(x.array()),
    "math.quantile": lambda x: fmath.quantile(x.array(), x()),
    "section.area": lambda x: section.area(x.array(), bore_m=x(), width_m=x()),
    "section.full_area": lambda x: section.full_area(bore_m=x(), width_m=x()),
    "section.antiderivative": lambda x: section.antiderivative(x(), bore_m=x()),
    "section.mean_area": lambda x: section.mean_area(x(), x(), bore_m=x()),
    "section.wetted_perimeter": lambda x: section.wetted_perimeter(x(), bore_m=x(), width_m=x()),
    "section.top_width": lambda x: section.top_width(x(), bore_m=x(), width_m=x()),
    "section.hydraulic_radius": lambda x: section.hydraulic_radius(x(), bore_m=x(), width_m=x()),
    "section.depth_for_area": lambda x: section.depth_for_area(x(), bore_m=x(), width_m=x()),
    "hydraulics.velocity": lambda x: hydraulics.velocity(x(), **_pipe(x)),
    "hydraulics.flow": lambda x: hydraulics.flow(x.array(), **_pipe(x)),
    "hydraulics.normal_depth": lambda x: hydraulics.normal_depth(x(), **_pipe(x)),
    "hydraulics.most": lambda x: hydraulics.most(**_pipe(x)),
    "hydraulics.shear": lambda x: hydraulics.shear(x(), bore_m=x(), slope=x()),
    "hydraulics.critical_depth": lambda x: hydraulics.critical_depth(x(), bore_m=x()),
    "hydraulics.froude": lambda x: hydraulics.froude(x(), x(), bore_m=x()),
    "hydraulics.critical_shear": lambda x: hydraulics.critical_shear(x()),
    "hydraulics.slope_for_flow": lambda x: hydraulics.slope_for_flow(x(), depth_m=x(), bore_m=x(), manning_n=x()),
    "hydraulics.slope_for_shear": lambda x: hydraulics.slope_for_shear(x(), depth_m=x(), bore_m=x()),
    "hydraulics.diameter_for_flow": lambda x: hydraulics.diameter_for_flow(x(), slope=x(), filling=x(), manning_n=x()),
    "hydraulics.waste_water_flow": lambda x: hydraulics.waste_water_flow(x.array(), use="frequent"),
    "hydraulics.continuous_fixture_units": lambda x: hydraulics.continuous_fixture_units(x(), units_per_gal_per_min=x()),
    "hydraulics.most_fixture_units": lambda x: hydraulics.most_fixture_units("4 in", slope=x(), code="ipc"),
    "hydraulics.drain_for_fixture_units": lambda x: hydraulics.drain_for_fixture_units(
        x(), slope=x(), serves_wc=True, code="upc"
    ),
    "path.minimum_curvature": lambda x: path.minimum_curvature(x.array(), x.array(), x.array()),
    "path.dogleg": lambda x: path.dogleg(x(), x(), x(), x()),
    "geographic.place": lambda x: geographic.place(_origin(x), x(), x.array()),
    "chain.fit_chain": lambda x: chain.fit_chain(x.array(), x.array()),
    "chain.raw": lambda x: chain.raw(x.array(), x.array()),
    "chain.given": lambda x: chain.given(x.array(), x.array(), x.array(2)),
    "condition.condition": lambda x: condition.condition(fw.Run(counter_m=x.array(), reading_rad=x.array()), bends_m=x.array(1)),
    "condition.display_step_rad": lambda x: condition.display_step_rad(x.array()),
    "profile.from_segments": lambda x: profile.from_segments(x.array(3), x.array(2)),
    "profile.cover": lambda x: profile.cover(x(), x(), bore_m=x(), wall_m=x(), tilt_rad=x()),
    "profile.ground": lambda x: profile.ground(
        [fw.GroundPoint(station_m=0.0, elevation_m=x()), fw.GroundPoint(station_m=x(), elevation_m=2.0)], x.array()
    ),
    "pool.pools": lambda x: pool.pools(_profile(), fw.Circle(diameter_m=x()), tailwater_m=x()),
    "pool.water_level": lambda x: pool.water_level(_profile(), tailwater_m=x()),
    "locate.ellipse": lambda x: locate.ellipse(x(), x(), x()),
    "locate.offset": lambda x: locate.offset(x.pair(), x.pair(), x.pair()),
    "locate.dig": lambda x: locate.dig(across_sd_m=x(), tie_m=x(), top_m=x(), top_sd_m=x()),
    "simulation.simulate": lambda x: simulation.simulate(_truth(), head=simulation.Head(noise_sd_rad=x()), spacing_m=0.5, seed=1),
}

# Functions of whole folders, jobs and surveys: they have no number of their own, and their jobs are attacked in Rust.
WITHOUT_NUMBERS = {
    "hydraulics.discharge_units",
    "hydraulics.drain_units",
    "hydraulics.fixture_units",
    "hydraulics.fixture_units_of",
    "hydraulics.outlet_fixture_units",
    "hydraulics.roughness_of",
    "hydraulics.roughnesses",
}
MODULES = (fmath, section, hydraulics, path, geographic, chain, condition, profile, pool, locate, simulation)


def public() -> Iterator[tuple[str, Callable[..., Any]]]:
    """Functions of the modules of single functions, with their names."""
    for module in MODULES:
        for name in module.__all__:
            function = getattr(module, name)
            if callable(function) and not inspect.isclass(function):
                yield f"{module.__name__.rpartition('.')[2]}.{name}", function


def one_number() -> list[str]:
    """Elementary functions of one number, which need no call of their own."""
    known = {name.partition(".")[2] for name in CALLS if name.startswith("math.")}
    return sorted(set(fmath.__all__) - known)


def numbers_in(value: Any) -> Iterator[float]:
    """All floating numbers in an answer."""
    if isinstance(value, float):
        yield value
    elif isinstance(value, np.ndarray):
        numbers = np.asarray(value)
        if numbers.dtype == np.float64:
            yield from numbers.ravel().tolist()
    elif isinstance(value, fw.Table):
        for column in value.columns:
            yield from numbers_in(value[column])
    elif isinstance(value, dict):
        for one in value.values():
            yield from numbers_in(one)
    elif isinstance(value, list | tuple):
        for one in value:
            yield from numbers_in(one)
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from numbers_in(getattr(value, field.name))


def told(error: fw.Error) -> bool:
    """Whether an error says what it is about."""
    return len(str(error)) > 10


def answer_or_error(call: Callable[[], Any]) -> Any:
    """What a call gives, or why it refuses."""
    try:
        return call()
    except fw.Error as error:
        return error


def look(call: Call, share: float, endless: bool = False) -> int:
    """Calls with any numbers; how often there was an answer."""
    x, answered = Numbers(share), 0
    with np.errstate(all="ignore"):
        for _ in range(ROUNDS):
            answer = answer_or_error(lambda: call(x))
            if isinstance(answer, fw.Error):
                assert told(answer)
                continue
            answered += 1
            assert endless or not any(np.isinf(number) for number in numbers_in(answer)), answer
    return answered


def test_every_function_is_asked() -> None:
    names = {name for name, _ in public()}
    elementary = {f"math.{name}" for name in one_number()}
    assert names == set(CALLS) | elementary | WITHOUT_NUMBERS


# Endless where the sum or the quotient is, as mathematics has it; a wave on a surface without width; the error of tapes that
# lie on each other; an integral over a depth that is.
ENDLESS = {
    "hydraulics.froude",
    "locate.offset",
    "section.antiderivative",
    "math.pow",
    "math.hypot",
    "math.sum",
    "math.median",
    "math.quantile",
}


@pytest.mark.parametrize("name", sorted(CALLS))
def test_any_number(name: str) -> None:
    # Usual ones are answered now and then, so that the rest is an attack on more than the first check.
    assert look(CALLS[name], 0.0, name in ENDLESS) > 0
    look(CALLS[name], 0.3, name in ENDLESS)
    look(CALLS[name], 0.9, name in ENDLESS)


@pytest.mark.parametrize("name", one_number())
def test_elementary_functions_take_arrays_of_anything(name: str) -> None:
    function = getattr(fmath, name)
    values = function(NASTY)
    assert np.array_equal(values, [function(x) for x in NASTY.tolist()], equal_nan=True)
    # Where nothing goes in, nothing comes out.
    assert np.isnan(values[np.isnan(NASTY)]).all()


def test_units_of_anything() -> None:
    for name in units.__all__:
        function = getattr(units, name)
        if name.startswith("say_"):
            for x in NASTY.tolist():
                assert function(x)
        elif name.startswith("parse_"):
            for x in NASTY.tolist():
                for text in (repr(x), f"{x!r} m", f"{x!r} %", f"{x!r} deg"):
                    answer = answer_or_error(partial(function, text))
                    assert told(answer) if isinstance(answer, fw.Error) else np.isfinite(answer)
        else:
            assert np.isnan(function(NASTY)[np.isnan(NASTY)]).all()


LATERAL: dict[str, Callable[[fw.Lateral, Numbers], Any]] = {
    "at": lambda lateral, x: lateral.at(x.array()),
    "capacity": lambda lateral, x: lateral.capacity(fw.Capacity(flow_m3_s=x())),
    "covariance": lambda lateral, x: lateral.covariance(x.array()),
    "distances": lambda lateral, x: lateral.distances(x(), station_sd_m=x()),
    "fall_between": lambda lateral, x: lateral.fall_between(x(), x()),
    "locate": lambda lateral, x: lateral.locate(x.array(1), station_sd_m=x()),
    "nearest": lambda lateral, x: lateral.nearest(x(), x()),
    "needed": lambda lateral, x: lateral.needed(fw.Capacity(flow_m3_s=x())),
    "pools": lambda lateral, x: lateral.pools(tailwater_m=x()),
    "relay": lambda lateral, x: lateral.relay(fw.RelayChoice(min_slope=x(), confidence=x())),
    "slope_between": lambda lateral, x: lateral.slope_between(x(), x()),
}


@pytest.mark.parametrize("name", sorted(LATERAL))
def test_a_lateral_is_asked_anything(name: str) -> None:
    lateral = fw.Lateral.from_segments(
        breaks_m=[0, 4, 9, 20], tilt_rad=[0.02, 0.0, 0.01], pipe=fw.Pipe.standard("SDR 35", "4 in")
    )
    slow = name in {"capacity", "needed", "relay", "pools"}
    x = Numbers(0.5)
    for _ in range(20 if slow else ROUNDS):
        answer = answer_or_error(lambda: LATERAL[name](lateral, x))
        if isinstance(answer, fw.Error):
            assert told(answer)
            continue
        assert not any(np.isinf(number) for number in numbers_in(answer)), answer


def test_a_profile_is_asked_anything() -> None:
    line, x = _profile(), Numbers(0.7)
    questions: list[Callable[[Any, Any], Any]] = [
        lambda a, _: line.height_at(a),
        lambda _, b: line.crossings(b),
        line.fall_between,
        line.slope_between,
        line.drop_fall_between,
        line.length_between,
    ]
    for _ in range(ROUNDS):
        given, other = x.array(), x()
        for question in questions:
            answer = answer_or_error(partial(question, given, other))
            assert told(answer) if isinstance(answer, fw.Error) else not np.isinf(answer).any(), (given, other)

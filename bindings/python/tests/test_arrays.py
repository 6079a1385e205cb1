"""Numbers in any dress, floats and numpy arrays out."""

from __future__ import annotations

import math
from array import array
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hn

import fallwise as fw
from fallwise import section, units


@pytest.mark.parametrize("x", [2, 2.0, np.float64(2), np.float32(2), np.int64(2), np.array(2.0), Decimal(2), Fraction(2)])
def test_a_scalar_gives_a_python_float(x: Any) -> None:
    out = units.ft(x)
    assert type(out) is float
    assert out == 2 * 0.3048
    assert type(section.area(x, bore_m=4)) is float


class Interface:
    """An array that numpy knows only by its protocol."""

    def __array__(self, dtype: Any = None, copy: Any = None) -> Any:
        return np.array([1.0, 2.0, 3.0], dtype)


def dressed() -> list[Any]:
    plain = [1.0, 2.0, 3.0]
    many: list[Any] = [
        plain,
        tuple(plain),
        [1, 2, 3],
        range(1, 4),
        np.array(plain),
        np.array(plain, dtype=np.float32),
        np.array([1, 2, 3], dtype=np.uint8),
        np.array([1, 9, 2, 9, 3, 9], dtype=np.int16)[::2],
        np.array(plain)[::-1][::-1],
        np.array(plain, dtype=">f8"),
        np.asfortranarray(np.array([plain, plain]))[0],
        np.ma.masked_array(plain),
        [Decimal(1), Fraction(2), 3],
        memoryview(array("d", plain)),
        Interface(),
    ]
    others: list[tuple[str, Callable[[Any], list[Any]]]] = [
        ("pandas", lambda module: [module.Series(plain), module.Series(plain, dtype="Float64"), module.Index([1, 2, 3])]),
        ("polars", lambda module: [module.Series(plain), module.Series([1, 2, 3])]),
        ("pyarrow", lambda module: [module.array(plain), module.chunked_array([plain[:1], plain[1:]])]),
    ]
    for name, make in others:
        try:
            many += make(__import__(name))
        except ImportError:
            continue
    return many


@pytest.mark.parametrize("values", dressed(), ids=lambda v: f"{type(v).__module__}.{type(v).__name__}")
def test_array_likes(values: Any) -> None:
    out: Any = units.ft(values)
    assert type(out) is np.ndarray
    assert out.dtype == np.float64
    assert out.tolist() == [0.3048, 2 * 0.3048, 3 * 0.3048]
    run = fw.Run(counter_m=values, reading_rad=values)
    assert run.counter_m.tolist() == [1.0, 2.0, 3.0]


@pytest.mark.parametrize(
    "values",
    [
        "1.0",
        ["1", "2"],
        [1, "2"],
        b"1",
        [True, False],
        True,
        None,
        [None],
        1j,
        [1j],
        np.array(["2020"], dtype="M8[Y]"),
        {},
        object(),
    ],
    ids=repr,
)
def test_what_is_no_number_is_refused(values: Any) -> None:
    with pytest.raises(fw.InputError) as told:
        section.area(values, bore_m=0.1)
    assert told.value.field == "depth_m"


def test_missing_values_are_refused_where_they_are() -> None:
    with pytest.raises(fw.InputError) as told:
        section.area(np.ma.masked_array([0.01, 0.02], mask=[False, True]), bore_m=0.1)
    assert (told.value.field, told.value.index) == ("depth_m", 1)
    with pytest.raises(fw.InputError) as told:
        section.area([0.01, None], bore_m=0.1)  # type: ignore[arg-type]
    assert (told.value.index, told.value.value) == (1, "None")


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_what_is_not_finite_is_refused(bad: float) -> None:
    for give, index in ((bad, None), ([0.01, bad], 1)):
        with pytest.raises(fw.InputError) as told:
            section.area(give, bore_m=0.1)
        assert (told.value.field, told.value.index) == ("depth_m", index)
    with pytest.raises(fw.InputError) as told:
        fw.path.minimum_curvature([0.0, bad], 0.0, 0.0)
    assert (told.value.field, told.value.index) == ("station_m", 1)
    with pytest.raises(fw.InputError) as told:
        fw.solve(fw.Run(counter_m=[0.0, 1.0, 2.0], reading_rad=[0.0, bad, 0.0]))
    assert "reading_rad" in str(told.value)
    assert told.value.index == 1


def test_conversions_let_through_what_is_not_finite() -> None:
    assert math.isnan(units.ft(math.nan))
    assert units.to_percent([math.inf]).tolist() == [math.inf]


shapes = hn.mutually_broadcastable_shapes(num_shapes=3, max_dims=3, max_side=4)


@given(shapes, st.integers(0, 2**32 - 1))
def test_arguments_are_broadcast_as_numpy_does(shapes: Any, seed: int) -> None:
    random = np.random.default_rng(seed)
    sides: list[Any] = [random.uniform(0.05, 0.3, shape) for shape in shapes.input_shapes]
    depth, width, height = sides
    out = section.mean_area(depth, 0.1, bore_m=height, width_m=width)
    assert np.shape(out) == shapes.result_shape
    one_by_one = np.vectorize(lambda d, w, h: section.mean_area(float(d), 0.1, bore_m=float(h), width_m=float(w)), otypes=[float])
    if np.size(out):
        np.testing.assert_array_equal(out, one_by_one(depth, width, height))


def test_shapes_that_do_not_go_together_are_refused() -> None:
    with pytest.raises(fw.InputError, match="broadcast") as told:
        section.area([0.1, 0.2, 0.3], bore_m=[0.1, 0.2])
    assert told.value.field == "bore_m"
    with pytest.raises(fw.InputError):
        fw.Run(counter_m=[[1.0, 2.0]], reading_rad=[0.0, 0.0])
    with pytest.raises(fw.InputError):
        fw.chain.raw([0.0, 1.0], [0.0])


def test_arguments_are_not_kept_or_changed() -> None:
    depth = np.array([0.01, 0.02])
    out = section.area(depth, bore_m=0.1)
    out[0] = 9.0
    assert depth.tolist() == [0.01, 0.02]

"""The one table class."""

from __future__ import annotations

import copy
import math
import pickle
from typing import Any, Literal

import numpy as np
import pytest

import fallwise as fw
from fallwise import units

TABLES = [
    "total",
    "reaches",
    "pieces",
    "backward",
    "unseen",
    "segments",
    "findings",
    "next",
    "water",
    "ties",
    "as_built",
    "noted",
    "path",
    "edits",
    "readings",
    "parameters",
    "budget",
    "correlations",
    "without",
    "inputs",
]


SYSTEMS: tuple[Literal["si", "us", "uk"], ...] = ("si", "us", "uk")


def tables(lateral: fw.Lateral) -> list[fw.Table]:
    answers = lateral.answers
    return [getattr(answers, name) for name in [*TABLES, "pools", "covariance"]] + [fw.bores()]


def test_columns_are_those_of_the_answers(lateral: fw.Lateral) -> None:
    whole = lateral.answers.to_dict()
    for name in [*TABLES, "pools", "covariance"]:
        rows = getattr(lateral.answers, name).to_rows()
        theirs = whole.get(name)
        if name == "next":
            theirs = [whole["next"], *whole["next_others"]] if whole["next"] else []
        elif name == "without":
            theirs = whole["adjustment"]["without"]
        assert rows == ([theirs] if name == "total" else theirs), name
        if name not in {"pools", "covariance"}:
            assert getattr(lateral, name) == getattr(lateral.answers, name)


def test_a_table_by_column_row_and_slice(lateral: fw.Lateral) -> None:
    segments = lateral.segments
    assert len(segments) == len(segments.to_rows()) == len(list(segments))
    assert segments.columns == list(segments.to_dict()) == list(segments[0])
    assert segments["number"].tolist() == segments.number.tolist() == list(range(1, len(segments) + 1))
    assert segments[-1] == segments.to_rows()[-1]
    assert segments[::2] == segments.to_rows()[::2]
    assert segments[::-1] == segments.to_rows()[::-1]
    assert "slope" in segments
    assert "slop" not in segments
    assert set(segments.columns) < set(dir(segments))


def test_what_is_not_there(lateral: fw.Lateral) -> None:
    with pytest.raises(KeyError, match='did you mean "slope"'):
        lateral.segments["slop"]
    with pytest.raises(AttributeError, match='did you mean "slope"'):
        _ = lateral.segments.slop
    with pytest.raises(IndexError):
        lateral.segments[99]
    with pytest.raises(TypeError):
        lateral.segments[1.5]  # type: ignore[call-overload]


def test_types_do_not_change_with_what_is_absent(lateral: fw.Lateral) -> None:
    # The first segment has no break before it, so that there this is absent.
    assert math.isnan(lateral.segments.break_probability[0])
    assert lateral.segments[0]["break_probability"] is None
    findings = lateral.findings
    assert findings.reason.dtype == object
    assert findings.pool.dtype == np.float64  # a number or nothing
    assert findings.confirmed.dtype == np.bool_
    assert lateral.segments.readings.dtype == np.int64
    empty = lateral.as_built
    assert len(empty) == 0
    assert empty.difference_m.dtype == np.float64


def test_no_column_is_hidden_by_a_method(lateral: fw.Lateral) -> None:
    own = set(dir(fw.Table))
    for table in tables(lateral):
        assert not own & set(table.columns), table.title


@pytest.mark.parametrize("again", [lambda t: pickle.loads(pickle.dumps(t)), copy.copy, copy.deepcopy])
def test_copies_are_equal(lateral: fw.Lateral, again: Any) -> None:
    for table in tables(lateral):
        assert again(table) == table
    assert lateral.segments != lateral.path
    assert lateral.segments != 1


def test_units(lateral: fw.Lateral) -> None:
    segments = lateral.segments
    us = segments.to_units("us")
    assert us.from_ft.tolist() == units.to_ft(segments.from_m).tolist()
    assert us.tilt_sd_deg.tolist() == units.to_deg(segments.tilt_sd_rad).tolist()
    assert us.slope_percent.tolist() == units.to_percent(segments.slope).tolist()
    assert us.number.tolist() == segments.number.tolist()
    assert segments.to_units("si") == segments
    pools = lateral.answers.pools
    assert pools.to_units("uk").volume_litre.tolist() == units.to_litre(pools.volume_m3).tolist()
    assert pools.to_units("us").volume_gallon.tolist() == units.to_gallon(pools.volume_m3).tolist()
    covariance = lateral.answers.covariance
    assert covariance.to_units("us").covariance_ft2 == pytest.approx(covariance.covariance_m2 / 0.3048**2, rel=1e-15)
    with pytest.raises(fw.UnknownWordError, match='did you mean "us"'):
        segments.to_units("usa")  # type: ignore[arg-type]


def test_every_figure_with_a_unit_is_converted(lateral: fw.Lateral) -> None:
    for table in tables(lateral):
        for name in table.to_units("us").columns:
            assert not name.endswith(("_m", "_m2", "_m3", "_rad")), (table.title, name)


def test_pandas(lateral: fw.Lateral) -> None:
    pandas = pytest.importorskip("pandas")
    for table in tables(lateral):
        for system in SYSTEMS:
            frame = table.to_pandas(units=system)
            assert list(frame.columns) == table.to_units(system).columns
            assert len(frame) == len(table)
    frame = lateral.findings.to_pandas()
    assert frame["pool"].dtype == pandas.Int64Dtype()
    assert frame["sentence"].tolist() == lateral.findings.sentence.tolist()
    with pytest.raises(fw.UnknownWordError):
        lateral.segments.to_pandas(units="imperial")  # type: ignore[arg-type]


def test_arrow(lateral: fw.Lateral) -> None:
    pyarrow = pytest.importorskip("pyarrow")
    for table in tables(lateral):
        theirs = pyarrow.table(table)
        assert theirs.to_pylist() == table.to_rows()
        assert pyarrow.record_batch(table).to_pylist() == table.to_rows()
        assert pyarrow.schema(table).names == table.columns
    # Nothing is left behind of a capsule that nobody takes.
    lateral.segments.__arrow_c_stream__()
    lateral.segments.__arrow_c_array__()


def test_polars(lateral: fw.Lateral) -> None:
    polars = pytest.importorskip("polars")
    for table in tables(lateral):
        assert polars.DataFrame(table).to_dicts() == table.to_rows()


def test_shown(lateral: fw.Lateral) -> None:
    assert repr(lateral.segments).startswith('<fallwise.Table "segments": ')
    run = fw.Run(counter_m=[0.5, 1.5], reading_rad=[0.02, 0.021], by_hand=True)
    name = "<script>alert(1)</script>"
    shown = fw.solve(run, reaches=[fw.Reach(0, 2, name=name)], draws=0).reaches._repr_html_()
    assert "<script" not in shown
    assert "&lt;script" in shown
    assert "of " in lateral.readings._repr_html_()

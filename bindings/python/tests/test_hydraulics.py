"""Hydraulics through the binding: the same numbers as Rust's vectors, shapes, words, errors."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

import fallwise as fw
from fallwise import hydraulics


def test_vectors(root: Path) -> None:
    rows = json.loads((root / "tests/vectors/hydraulics.json").read_text())["normal"]
    for width, height, law, rough, viscosity, slope, flow, depth, upper, _ in rows:
        friction = {"manning_n": rough} if law == 0 else {"roughness_m": rough, "viscosity_m2_s": viscosity}
        found = hydraulics.normal_depth(flow, bore_m=height, width_m=width, slope=slope, **friction)
        # The bound of the Rust test, whose conditions are below 10.
        assert found.depth_m == pytest.approx(depth, rel=1e-13)
        assert found.state == ("one" if upper is None else "two")
        assert np.isnan(found.upper_depth_m) if upper is None else found.upper_depth_m == pytest.approx(upper, rel=1e-13)
        back = hydraulics.flow(found.depth_m, bore_m=height, width_m=width, slope=slope, **friction)
        assert back == pytest.approx(flow, rel=1e-14)  # what the module promises of the flow of a depth


def test_arrays_are_broadcast() -> None:
    found = hydraulics.normal_depth([[0.001], [0.1]], bore_m=0.1, slope=[0.01, 0.0, -0.01], manning_n=0.013)
    assert found.state.tolist() == [["one", "no_fall", "backfall"], ["above_capacity", "no_fall", "backfall"]]
    assert found.depth_m.shape == (2, 3)
    assert np.isnan(found.depth_m[1]).all()
    most = hydraulics.most(bore_m=[0.1, 0.15], slope=0.01, roughness_m=0.0015)
    assert (most.flow_m3_s > most.full_m3_s).all()
    assert isinstance(hydraulics.velocity(0.05, bore_m=0.1, slope=0.01, manning_n=0.013), float)


def test_what_it_takes() -> None:
    slope = hydraulics.slope_for_flow(0.002, depth_m=0.05, bore_m=0.1, roughness_m=0.001)
    assert hydraulics.flow(0.05, bore_m=0.1, slope=slope, roughness_m=0.001) == pytest.approx(0.002, rel=1e-14)
    bore = hydraulics.diameter_for_flow(0.002, slope=0.01, filling=0.7, manning_n=0.011)
    assert hydraulics.flow(0.7 * bore, bore_m=bore, slope=0.01, manning_n=0.011) == pytest.approx(0.002, rel=1e-14)
    steep = hydraulics.slope_for_shear(1.0, depth_m=0.02, bore_m=0.1)
    assert hydraulics.shear(0.02, bore_m=0.1, slope=steep) == pytest.approx(1.0, rel=1e-15)
    depth = hydraulics.critical_depth(0.01, bore_m=0.2)
    assert hydraulics.froude(depth, 0.01, bore_m=0.2) == pytest.approx(1.0, rel=1e-13)
    assert hydraulics.critical_shear(0.001) == pytest.approx(0.867, rel=1e-15)


def test_errors() -> None:
    with pytest.raises(TypeError, match="manning_n or roughness_m"):
        hydraulics.flow(0.05, bore_m=0.1, slope=0.01)
    with pytest.raises(fw.InputError, match="a slope between"):
        hydraulics.flow(0.05, bore_m=0.1, slope=20, manning_n=0.013)
    with pytest.raises(fw.InputError, match=r"flow_m3_s\[1\]"):
        hydraulics.normal_depth([0.001, float("nan")], bore_m=0.1, slope=0.01, manning_n=0.013)
    with pytest.raises(fw.UnknownWordError, match="intermittent"):
        hydraulics.waste_water_flow([1.0], use="intermitent")  # type: ignore[arg-type]
    with pytest.raises(fw.UnknownWordError):
        hydraulics.discharge_units("V")  # type: ignore[arg-type]
    assert "WC with 4.0 l cistern" not in hydraulics.discharge_units("I")


def test_tables_of_roughness() -> None:
    rows = hydraulics.roughnesses()
    assert len({row["material"] for row in rows}) == 12
    assert set(rows[0]) == {"material", "condition", "formula", "low", "usual", "high", "source", "mark"}
    clay = hydraulics.roughness_of("Vitrified Clay")
    assert clay == [row for row in rows if row["material"] == "vitrified clay"]
    by_formula = {row["formula"] for row in clay}
    assert by_formula == {"manning", "colebrook_white"}
    chow = next(row for row in clay if "Chow" in row["source"])
    assert (chow["low"], chow["usual"], chow["high"]) == (0.011, 0.014, 0.017)  # table 5-6
    assert "from memory" in chow["mark"]
    sleeve = next(row for row in clay if row["condition"] == "sleeve joints")
    assert (sleeve["low"], sleeve["usual"], sleeve["high"]) == (3e-5, 6e-5, 1.5e-4)  # m
    # Each row goes into the formula that it is for.
    for row in rows:
        name = {"manning": "manning_n", "colebrook_white": "roughness_m"}[row["formula"]]
        for value in (row["low"], row["usual"], row["high"]):
            if value is not None:
                assert hydraulics.velocity(0.05, bore_m=0.1, slope=0.01, **{name: value}) > 0
    with pytest.raises(fw.UnknownWordError, match="vitrified clay"):
        hydraulics.roughness_of("vitrefied clay")


def test_fixture_units() -> None:
    washer = [row for row in hydraulics.fixture_units() if row["fixture"] == "clothes washer, domestic"]
    assert [(row["code"], row["units"], row["mark"]) for row in washer] == [
        ("ipc", 2.0, "from memory"),
        ("upc", 3.0, "seen in a secondary source"),
    ]
    assert hydraulics.fixture_units_of("bar sink", code="upc") == 1
    with pytest.raises(fw.InputError, match="IPC"):
        hydraulics.fixture_units_of("bar sink", code="ipc")
    with pytest.raises(fw.UnknownWordError, match="lavatory"):
        hydraulics.fixture_units_of("lavatry", code="ipc")
    with pytest.raises(fw.UnknownWordError, match="upc"):
        hydraulics.fixture_units_of("lavatory", code="ups")  # type: ignore[arg-type]
    assert [hydraulics.outlet_fixture_units(size) for size in ("1 in", "3 in", "6 in")] == [1, 5, None]
    flow = fw.units.gal_per_min(10.0)
    assert hydraulics.continuous_fixture_units(flow) == pytest.approx(20, rel=1e-15)
    assert hydraulics.continuous_fixture_units(flow, units_per_gal_per_min=1) == pytest.approx(10, rel=1e-15)


def test_units_of_drains() -> None:
    rows = hydraulics.drain_units()
    assert len(rows) == 41
    for row in rows:
        assert hydraulics.most_fixture_units(row["nominal"], slope=row["slope"], code=row["code"]) == row["most_units"]
    assert hydraulics.most_fixture_units("4 in", slope=0.02, code="ipc") == 180  # 2 % is less than 1/4 in/ft
    assert hydraulics.most_fixture_units("4 in", slope=0.02, code="upc") is None
    sizes = [hydraulics.drain_for_fixture_units(8, slope=1 / 48, serves_wc=wc, code="upc") for wc in (False, True)]
    assert sizes == ["2 in", "3 in"]
    assert hydraulics.drain_for_fixture_units(1e5, slope=1 / 48, serves_wc=False, code="ipc") is None
    with pytest.raises(fw.InputError, match="inches"):
        hydraulics.most_fixture_units("DN 100", slope=0.02, code="ipc")
    with pytest.raises(fw.InputError, match="slope"):
        hydraulics.most_fixture_units("4 in", slope=float("nan"), code="ipc")

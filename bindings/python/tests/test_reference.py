"""References for other people's tests: every set is served as the files have it, and the library's own functions pass them."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import fallwise as fw
from fallwise import reference, section

EPS = 2.0**-52

# The accuracies that the Rust tests hold the same functions to; the reasons stand there (`tests/section_vectors.rs`,
# `path_published.rs`, `hydraulics_vectors.rs`, `geographic_vectors.rs`, `segmentation.rs`, `ties_published.rs`). Relative.
CLAIMED: dict[str, float] = {
    **dict.fromkeys(["math.sin", "math.cos", "math.tan", "math.asin", "math.acos", "math.atan"], EPS),
    **dict.fromkeys(
        ["math.exp", "math.exp_m1", "math.ln", "math.ln_1p", "math.erf", "math.atan2", "math.hypot", "math.pow"], EPS
    ),
    **dict.fromkeys(["math.log10", "math.erfc"], 2 * EPS),
    "math.cbrt": 0.5 * EPS,  # the nearest double
    "math.normal_quantile": 4 * EPS,
    "math.normal_cdf": EPS,
    "math.chi_square_above": 1e-12,
    "section.area": 4 * EPS,
    "section.antiderivative": 10 * EPS,
    "section.mean_area": 150 * EPS,
    "section.wetted_perimeter": 40 * EPS,
    # Between the depths of areas of four units less and more: in units of what one of them makes, and a rounding of the depth.
    "section.depth_for_area": 5 * EPS,
    "path.minimum_curvature": 5e-16,
    "path.dogleg": 9e-16,
    **dict.fromkeys(["hydraulics.velocity", "hydraulics.flow", "hydraulics.most"], 1e-14),
    **dict.fromkeys(["hydraulics.normal_depth", "hydraulics.critical_depth"], 1e-14),
    "geographic.place": 1e-7,  # metres
    "chain.fit_chain": 1e-9,
    "chain.fit_chain nile": 0.0,
}
# As far off as the nearest double can be.
HALF = 0.5 * EPS
# What no function of the library takes as it stands.
OTHERS = {"networks.levelling", "networks.fit", "networks.chi_square_quantile", "networks.outlier_test"}


def function(name: str) -> Callable[..., Any]:
    module, of = name.split()[0].split(".")
    found: Callable[..., Any] = getattr(getattr(fw, module), of)
    return found


def test_every_set_is_listed() -> None:
    assert set(reference.names()) == {*CLAIMED, *OTHERS}
    assert all(len(reference.load(name).source) > 20 for name in reference.names())


@pytest.mark.parametrize("name", CLAIMED)
def test_own_functions_pass(name: str) -> None:
    worst = reference.check(name, function(name))
    assert worst.error <= CLAIMED[name], worst


def levelled(fixed: dict[str, float], unknown: tuple[str, ...], observations: tuple[dict[str, Any], ...]) -> dict[str, Any]:
    """A levelling network as a pipe: points are nodes of a chain of unknown tilts, lines are height differences."""
    points = [*fixed, *unknown]
    # So far apart, and heights so much smaller than they are, that a tilt known to a radian and a half says nothing of a height.
    station, small = {point: 1e3 * i for i, point in enumerate(points)}, 2.0**-10
    middles = [1e3 * i + 500.0 for i in range(len(points) - 1)]
    ties: list[Any] = [
        fw.InvertTie(station_m=station[p], elevation_m=h * small, sd_m=0.0, station_sd_m=0.0) for p, h in fixed.items()
    ]
    for line in observations:
        ends, rise, sd = (station[line["from"]], station[line["to"]]), line["rise"] * small, line["sd"] * small
        ties.append(fw.HeightDifferenceTie(station_m=ends, rise_m=rise, sd_m=sd, station_sd_m=0.0))
    head = fw.Instrument(zero_sd_rad=0.0, seating_sd_rad=0.0, counter_scale_sd=0.0, noise_sd_rad=1.5, resolution_rad=0.0)
    run = fw.Run(counter_m=middles, reading_rad=np.zeros(len(middles)), by_hand=True)
    lateral = fw.solve(run, reaches=[fw.Reach(0, station[points[-1]])], instrument=head, ties=ties, draws=0)
    at = lateral.at([station[p] for p in unknown])
    return {"heights": at.elevation_m / small, "height_sds": at.elevation_sd_m / small}


@pytest.mark.filterwarnings("ignore::fallwise.Warning")  # readings that are all the same, and far apart
def test_own_adjustment_passes_the_networks() -> None:
    for case in reference.load("networks.levelling"):
        found = levelled(**case.inputs)
        for name, value in found.items():
            # As in `ties_published.rs`: columns of 1e6 m beside errors of 5e-3 m leave half of the digits.
            np.testing.assert_allclose(value, case.answers[name], rtol=1e-7, atol=1e-7, err_msg=case.beside["name"])


def test_fits_and_quantiles_are_what_they_are_called() -> None:
    for case in reference.load("networks.fit"):
        matrix = np.vander(case.inputs["x"], max(case.inputs["powers"]) + 1, increasing=True)[:, list(case.inputs["powers"])]
        found = np.linalg.lstsq(matrix, np.array(case.inputs["y"]), rcond=None)[0]
        # The condition of the quadratic on x up to 3e6 takes six digits of sixteen.
        assert found == pytest.approx(case.answers["coefficients"], rel=1e-8), case.beside["name"]
    for case in reference.load("networks.chi_square_quantile"):
        above = fw.math.chi_square_above(case.answers["value"], case.inputs["degrees"])
        assert 1.0 - above == pytest.approx(case.inputs["probability"], abs=1e-13)  # a few roundings of 1
    for case in reference.load("networks.outlier_test"):
        assert fw.math.normal_quantile(1 - case.inputs["alpha"] / 2) == pytest.approx(case.answers["w"], rel=1e-12)


def rows(root: Path, file: str) -> Any:
    """A file as it is read without a thought for digits."""
    return json.loads((root / "tests/vectors" / file).read_text(encoding="utf-8"))


def test_values_are_those_of_the_files(root: Path) -> None:
    elementary = rows(root, "math.json")
    for name, given in elementary.items():
        cases = reference.load(f"math.{name}").cases[: len(given)]
        assert [[*case.inputs.values(), case.answers["value"]] for case in cases] == given
    sections = rows(root, "section.json")
    for name in ("area", "antiderivative", "mean_area"):
        cases = reference.load(f"section.{name}").cases
        found = [[c.inputs["width_m"], c.inputs["bore_m"], *list(c.inputs.values())[:-2], *c.answers.values()] for c in cases]
        assert found == sections[name]
    perimeters = [(c.inputs["depth_m"], c.answers["perimeter_m"]) for c in reference.load("section.wetted_perimeter")]
    assert perimeters == [(row[2], row[3]) for row in sections["perimeter_circle"] + sections["perimeter_ellipse"]]
    depths = [(c.inputs["area_m2"], c.answers["depth_m"]) for c in reference.load("section.depth_for_area")]
    assert depths == [(row[2], row[4]) for row in sections["depth_for_area"]]
    path = rows(root, "path.json")
    for course, case, turn in zip(
        path["courses"], reference.load("path.minimum_curvature"), reference.load("path.dogleg"), strict=True
    ):
        assert [str(x) for x in case.digits["position_m"][1]] == [str(Decimal(x)) for x in course["move_m"]]
        assert list(case.inputs["tilt_rad"]) == course["tilt_rad"]
        assert list(case.inputs["azimuth_rad"]) == course["azimuth_rad"]
        assert case.inputs["station_m"] == (0.0, course["length_m"])
        assert turn.digits["dogleg_rad"] == Decimal(course["dogleg_rad"])
        assert [turn.inputs["first_tilt_rad"], turn.inputs["second_tilt_rad"]] == course["tilt_rad"]
    for name in ("sin", "cos"):
        cases = reference.load(f"math.{name}").cases[len(elementary[name]) :]
        angles = [(case.inputs["x"], case.digits["value"]) for case in cases]
        assert angles == [(angle["angle_rad"], Decimal(angle[name])) for angle in path["angles"]]
    water = rows(root, "hydraulics.json")
    for name, key, first in (("velocity", "flow", 7), ("flow", "flow", 8), ("most", "most", 6), ("normal_depth", "normal", 7)):
        for row, case in zip(water[key], reference.load(f"hydraulics.{name}"), strict=True):
            answers = list(case.answers.values())
            assert answers == row[first : first + len(answers)]
            assert [case.inputs["width_m"], case.inputs["bore_m"], case.inputs["slope"]] == [row[0], row[1], row[5]]
            assert case.inputs["roughness_m" if row[2] else "manning_n"] == row[3]
    critical = reference.load("hydraulics.critical_depth")
    assert [[c.inputs["width_m"], c.inputs["bore_m"], c.inputs["flow_m3_s"], c.answers["depth_m"]] for c in critical] == water[
        "critical"
    ]
    places = rows(root, "geographic.json")
    for row, case in zip(places, reference.load("geographic.place"), strict=True):
        assert list(case.beside["expected_deg"]) == row["expected_deg"]
        assert [math.radians(x) for x in row["expected_deg"]] == pytest.approx(list(case.answers.values()), rel=EPS, abs=0)
        assert [case.inputs["east_m"], case.inputs["north_m"]] == row["point_m"]
    for row, case in zip(rows(root, "changepoint.json")["cases"], reference.load("chain.fit_chain"), strict=True):
        assert [x * 1024 for x in case.inputs["tilt_rad"]] == row["values"]
        assert case.answers["cost"] * 1024**2 == row["cost"]
        assert list(case.answers["starts"]) == row["starts"]
    (nile,) = reference.load("chain.fit_chain nile")
    assert list(nile.beside["flow"]) == rows(root, "changepoint_nile.json")["flow"]
    networks = rows(root, "networks.json")
    survival = [[c.inputs["degrees"], c.inputs["x"], c.answers["value"]] for c in reference.load("math.chi_square_above")]
    assert survival == networks["chi_square_survival"]
    for network, case in zip(networks["networks"], reference.load("networks.levelling"), strict=True):
        assert list(case.answers["heights"]) == network["computed"]["heights"]
        assert list(case.inputs["observations"]) == network["observations"]
        assert case.beside["published"].keys() == network["published"].keys()


def test_each_file_is_served(root: Path) -> None:
    # One home: what the package reads is what lies beside the programs that made it, byte for byte.
    packaged = {file.name: file for file in (Path(reference.__file__).parent / "vectors").glob("*.json")}
    for file in sorted((root / "tests/vectors").glob("*.json")):
        if file.name != "adjust.json":  # too large, which the documentation says
            assert packaged[file.name].read_bytes() == file.read_bytes(), file.name


def test_a_fault_is_found() -> None:
    def slightly_off(depth_m: float, *, bore_m: float, width_m: float) -> float:
        return float(section.area(depth_m, bore_m=bore_m, width_m=width_m)) * (1 + 1e-6 * (depth_m > 0.099))

    worst = reference.check("section.area", slightly_off)
    assert worst.error == pytest.approx(1e-6, rel=1e-6)  # whose own error is below 4 ulp
    assert worst.case.inputs["depth_m"] > 0.099
    assert worst.found != worst.case.answers["area_m2"]


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, [1.0, 2.0], []])
def test_what_is_no_answer_has_no_bound(bad: Any) -> None:
    assert reference.check("section.area", lambda **_: bad).error == math.inf
    assert reference.check("geographic.place", lambda **_: (math.nan, 0.0)).error == math.inf


def test_answers_in_any_dress() -> None:
    cases = {tuple(case.inputs.values()): case for case in reference.load("hydraulics.most")}

    def exact(how: Callable[[dict[str, Any]], Any]) -> float:
        return reference.check("hydraulics.most", lambda **inputs: how(cases[tuple(inputs.values())].answers)).error

    assert exact(lambda answers: answers) <= HALF
    assert exact(lambda answers: tuple(answers.values())) <= HALF
    assert exact(lambda answers: np.array(list(answers.values()))) <= HALF
    assert exact(lambda answers: fw.hydraulics.Most(**answers)) <= HALF
    with pytest.raises(TypeError, match="2 answers given, expected 3: depth_m, flow_m3_s, full_m3_s"):
        exact(lambda answers: (0.0, 1.0))
    # Where there is no upper depth, none must be given: that of a pipe with one is missed.
    found = reference.check("hydraulics.normal_depth", lambda **inputs: (fw.hydraulics.normal_depth(**inputs).depth_m, None))
    assert found.error == math.inf
    assert found.case.digits["upper_depth_m"] is not None


def test_digits_beyond_doubles_count() -> None:
    sines = reference.load("math.sin")
    # 50 are given; the last may be a 0, which is left out.
    assert all(len(case.digits["value"].as_tuple().digits) > 45 for case in sines)
    exact = {case.inputs["x"]: case.digits["value"] for case in sines}
    assert reference.check("math.sin", lambda x: exact[x]).error < 5e-17  # half a unit of the last of 17 digits
    # The nearest double is off by up to half a unit: 2^-53.
    assert 5e-17 < reference.check("math.sin", lambda x: float(exact[x])).error <= 2.0**-53


def test_names_that_are_not_there() -> None:
    with pytest.raises(fw.UnknownWordError, match=r'did you mean "section\.area"') as told:
        reference.load("section.aera")
    assert told.value.nearest == "section.area"
    with pytest.raises(fw.UnknownWordError):
        reference.check("", math.sin)


def test_sets_cannot_be_changed_and_say_what_they_are() -> None:
    found = reference.load("section.area")
    assert found is reference.load("section.area")
    assert repr(found) == '<fallwise.ReferenceSet "section.area": 200 cases>'
    with pytest.raises(AttributeError):
        found.name = "mine"  # type: ignore[misc]
    with pytest.raises(AttributeError, match="referense"):
        _ = fw.referense  # type: ignore[attr-defined]


def test_it_is_read_only_when_asked_for() -> None:
    code = "import sys, fallwise; before = 'fallwise.reference' in sys.modules; fallwise.reference.names(); print(before)"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "False\n"


def test_some_of_the_cases() -> None:
    def shallow(case: reference.Case) -> bool:
        return bool(case.inputs["depth_m"] < 0.1 * case.inputs["bore_m"])

    cases = [case for case in reference.load("section.area") if shallow(case)]
    assert 0 < len(cases) < len(reference.load("section.area"))
    called: list[dict[str, float]] = []

    def area(**inputs: float) -> float:
        called.append(inputs)
        return float(fw.section.area(**inputs))

    assert reference.check("section.area", area, where=shallow).case in cases
    assert len(called) == len(cases)
    with pytest.raises(fw.InputError, match="at least one"):
        reference.check("section.area", area, where=lambda case: False)

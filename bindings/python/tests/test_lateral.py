"""What can be asked of a solved lateral."""

from __future__ import annotations

import copy
import math
import pickle
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from conftest import truth
from test_inputs import full_job

import fallwise as fw
from fallwise.units import deg, ft


def test_figures_hold_the_truth(lateral: fw.Lateral) -> None:
    for from_m, to_m in ((0.0, 10.0), (0.0, 24.0), (12.0, 24.0)):
        slope, fall = lateral.slope_between(from_m, to_m), lateral.fall_between(from_m, to_m)
        assert slope is not None
        assert fall is not None
        # Four standard deviations: once in fifteen thousand, and the seed is fixed.
        assert abs(slope.value - truth().slope(from_m, to_m)) < 4 * slope.sd
        assert abs(fall.value - truth().fall_m(from_m, to_m)) < 4 * fall.sd
        assert slope.low < slope.value < slope.high
        assert float(slope) == slope.value
    assert lateral.slope_between(0.0, 99.0) is None
    with pytest.raises(fw.InputError):
        lateral.slope_between(0.0, math.nan)


def test_the_sentence_comes_first(lateral: fw.Lateral) -> None:
    assert repr(lateral).splitlines()[0] == lateral.sentence == lateral.summary().splitlines()[0]
    html = lateral._repr_html_()
    assert lateral.profile_svg() in html
    assert html.index("<strong>") < html.index("<svg")
    assert repr(lateral.answers).splitlines()[0] == lateral.sentence
    assert lateral.plan_svg() is None


def test_at_nodes_is_the_path(lateral: fw.Lateral) -> None:
    path, at = lateral.path, lateral.at(lateral.path.station_m)
    assert at.columns == path.columns
    for name in path.columns:
        if not name.startswith("before_") and path[name].dtype == np.float64:
            ours, theirs = at[name], path[name]
            if name == "tilt_rad":  # of the piece that starts there; the last node has none in both
                assert math.isnan(ours[-1])
                assert math.isnan(theirs[-1])
            # The standard deviations come by sums in another order.
            assert ours == pytest.approx(theirs, rel=1e-9, abs=1e-12, nan_ok=True), name
    middle = lateral.at([11.0, 5.5])
    assert middle.height_m[0] == pytest.approx(lateral.profile.height_at(11.0), abs=0.01)
    assert len(lateral.at(3)) == 1
    with pytest.raises(fw.InputError) as told:
        lateral.at([1.0, 99.0])
    assert told.value.station_m == 99.0


def test_draws_have_the_spread_that_is_stated(run: fw.Run) -> None:
    # Draws are of the pipe without lips that nobody noted.
    lateral = fw.solve(run, instrument=fw.Instrument(lip_sd_m=0.0), draws=200)
    draws = lateral.draws(2000, seed=5)
    assert draws.height_m.shape == (2000, len(draws.station_m))
    assert draws.tilt_rad.shape == (2000, len(draws.station_m) - 1)
    fall = draws.height_m[:, 0] - draws.height_m[:, -1]
    stated = lateral.fall_between(*lateral.surveyed_m)
    assert stated is not None
    # Of 2,000 draws the standard deviation is good to 1.6 %; the mean to 1/45 of it.
    assert fall.std() == pytest.approx(stated.sd, rel=0.08)
    assert fall.mean() == pytest.approx(stated.value, abs=0.1 * stated.sd)
    assert (lateral.draws(10, seed=5).height_m == draws.height_m[:10]).all()
    assert lateral.draws().height_m.shape[0] == 200  # as many as the job asks for
    assert lateral.draws(0).height_m.shape == (0, len(draws.station_m))


def test_covariance(lateral: fw.Lateral) -> None:
    matrix = lateral.covariance([0.0, 10.0, 24.0])
    assert (matrix == matrix.T).all()
    assert (np.linalg.eigvalsh(matrix) >= -1e-18).all()
    fall = lateral.fall_between(0.0, 24.0)
    assert fall is not None
    assert matrix[0, 0] + matrix[2, 2] - 2 * matrix[0, 2] == pytest.approx(fall.sd**2, rel=1e-9)
    stations = lateral.answers.covariance.first_station_m
    row = lateral.answers.covariance[0]
    assert lateral.covariance([row["first_station_m"]])[0, 0] == row["covariance_m2"]
    assert len(lateral.covariance()) == len(lateral.segments) + 1
    assert len(stations)
    with pytest.raises(fw.InputError):
        lateral.covariance([99.0])


def test_check_and_what_next(lateral: fw.Lateral) -> None:
    check = lateral.check()
    assert check.findings == lateral.findings
    assert check.sentence == check.findings.sentence[0]
    assert check.undecided == np.isin(check.findings.reason[1:], ["needs_measurement", "too_close"]).sum()
    assert lateral.what_next() == lateral.next
    other = lateral.check("ipc-2021")
    assert other.findings != check.findings
    book = fw.Rulebook.shipped("upc-2021")
    assert lateral.check(book) == check
    assert lateral.rulebook == book
    with pytest.raises(fw.UnknownWordError) as told:
        lateral.check("upc-2012")
    assert told.value.nearest == "upc-2021"
    with pytest.raises(fw.InputError, match="rulebook"):
        fw.Lateral.from_segments(breaks_m=[0, 1], tilt_rad=[0.02]).check()
    with pytest.raises(fw.InputError):
        lateral.check(3)  # type: ignore[arg-type]


def test_pools_with_water_at_the_outlet(lateral: fw.Lateral) -> None:
    assert lateral.pools() == lateral.answers.pools
    assert len(lateral.pools()) == 1
    held = lateral.pools(tailwater_m=0.05)
    assert held.to_m.max() == pytest.approx(lateral.surveyed_m[1])


def test_given_geometry() -> None:
    pipe = fw.Pipe(bore=fw.Circle(diameter_m=0.1))
    sag = fw.Lateral.from_segments(breaks_m=[0, 10, 12, 14], tilt_rad=[0.02, -0.01, 0.02], pipe=pipe)
    pools = sag.pools()
    assert pools.depth_m == pytest.approx([2 * math.sin(0.01) / math.cos(0.02)], rel=1e-12)
    assert pools.depth_m.tolist() == fw.pool.pools(sag.profile, fw.Circle(diameter_m=0.1)).depth_m.tolist()
    built = fw.Lateral.from_inverts([0, 10, 20], [1.0, 0.8, 0.7], sd_m=0.01, pipe=pipe)
    slope = built.slope_between(0.0, 20.0)
    assert slope is not None
    assert slope.value == pytest.approx(0.015, rel=1e-3)  # over horizontal length, which is a little less
    assert slope.sd > 0


def everything(lateral: fw.Lateral, run: fw.Run) -> list[Any]:
    sag = fw.Lateral.from_segments(breaks_m=[0, 10, 12], tilt_rad=[0.02, -0.01])
    estimate = lateral.slope_between(0.0, 10.0)
    full = full_job(run)
    parts = [full, *full.ties, *full.runs, *full.reaches, full.instrument, full.survey, full.notes[0], full.origin]
    return [
        lateral,
        lateral.answers,
        lateral.profile,
        lateral.check(),
        lateral.rulebook,
        lateral.segments,
        estimate,
        sag,
        fw.Lateral.from_inverts([0, 10], [1.0, 0.8]),
        fw.compare(lateral, lateral, same_head=True),
        fw.chain.raw([0, 1], [0.0, 0.0]),
        fw.condition.condition(run),
        fw.simulate(truth()),
        truth(),
        *parts,
    ]


@pytest.mark.parametrize("again", [lambda t: pickle.loads(pickle.dumps(t)), copy.copy, copy.deepcopy])
def test_everything_pickles_and_copies(lateral: fw.Lateral, run: fw.Run, again: Any) -> None:
    for thing in everything(lateral, run):
        assert again(thing) == thing, type(thing)
        assert again(thing) != 1
    draws = lateral.draws(3)
    assert (again(draws).height_m == draws.height_m).all()


def test_a_job_that_was_read_pickles(demo: Callable[[str], Path], recwarn: pytest.WarningsRecorder) -> None:
    lateral = fw.read_job(demo("two-bellies")).solve()
    again = pickle.loads(pickle.dumps(lateral))
    assert again == lateral
    assert again.answers == lateral.answers
    assert pickle.loads(pickle.dumps(lateral.answers)) == lateral.answers


def test_comparison(run: fw.Run) -> None:
    head = fw.simulation.Head(noise_sd_rad=deg(0.2), zero_rad=deg(0.1))
    relaid = fw.simulation.Truth(breaks_m=[0, 24], tilt_rad=[0.021])
    after = fw.simulate(relaid, head=head, spacing_m=0.1, seed=4).run
    first, second = fw.solve(run, draws=100), fw.solve(after, draws=100)
    alike, unlike = fw.compare(first, second, same_head=True), fw.compare(first, second)
    assert alike.slopes.change_sd[0] < unlike.slopes.change_sd[0]
    assert (alike.same_head, unlike.same_head) == (True, False)
    assert repr(alike).splitlines()[0] == alike.sentence == alike.summary().splitlines()[0]
    assert alike.before.segments == first.segments
    assert "<svg" in alike._repr_html_()
    with pytest.raises(fw.InputError, match="flow"):
        fw.compare(first, fw.solve(after, flow="decreasing", draws=0))


def test_warnings_are_issued_once_and_point_here(run: fw.Run) -> None:
    job = fw.Job(runs=[run], reaches=[fw.Reach(0, 23.8)])
    solves: list[Callable[[], fw.Lateral]] = [job.solve, lambda: fw.solve(run, reaches=[fw.Reach(0, 23.8)])]
    for solve in solves:
        with pytest.warns(fw.Warning, match="taken to go on") as told:
            lateral = solve()
        assert len(told) == 1
        assert any("taken to go on" in warning for warning in lateral.warnings)
    assert issubclass(fw.Warning, UserWarning)
    with pytest.warns(fw.Warning) as told:
        fw.solve(run, reaches=[fw.Reach(0, 23.8)])
    assert told[0].filename == __file__


def test_the_report_is_not_written_over(lateral: fw.Lateral, tmp_path: Path) -> None:
    written = lateral.write_report(tmp_path / "out")
    assert {"report.html", "result.json", "profile.svg", "segments.csv"} <= {file.name for file in written}
    with pytest.raises(FileExistsError) as told:
        lateral.write_report(tmp_path / "out")
    assert isinstance(told.value, fw.FileThereError)
    assert told.value.file is not None
    assert lateral.write_report(str(tmp_path / "out"), overwrite=True) == written
    assert fw.read_result(tmp_path / "out" / "result.json") == lateral.answers


def test_design_example() -> None:
    run = fw.Run(
        counter_m=ft([0, 10, 20, 30]), reading_slope=fw.units.percent([2.0, 2.1, 1.9, 2.0]), tilt_positive="up",
        start_station_m=0.0, toward="increasing", time_s=None, start_azimuth_rad=None, start_east_m=0.0, start_north_m=0.0,
    )  # fmt: skip
    lateral = fw.solve(
        run,
        pipe=fw.Pipe.standard("SDR 35", "4 in"),
        instrument=fw.Instrument(zero_sd_rad=deg(0.3)),
        ties=[fw.InvertTie(station_m=0, elevation_m=ft(98.4), sd_m=ft(0.02))],
        flow="increasing",
        draws=1000,
        seed=0,
    )
    slope = lateral.slope_between(0.0, ft(30))
    assert slope is not None
    assert slope.value == pytest.approx(-0.02, abs=1e-3)

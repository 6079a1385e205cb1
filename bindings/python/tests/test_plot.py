"""Pictures: what is drawn is what the tables say."""

# pyright: reportUnknownMemberType=false, reportUnknownVariableType=false
# What is drawn is asked of matplotlib, whose own types have gaps.

from __future__ import annotations

import math
import pickle
import subprocess
import sys
import warnings
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from conftest import DEMOS, demo_names
from matplotlib import colors
from matplotlib import pyplot as plt
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon
from matplotlib.path import Path as Outline

import fallwise as fw
from fallwise import _drawn
from fallwise.units import deg, to_deg, to_ft, to_inch, to_mm, to_percent

Z_95 = 1.959963984540054


@pytest.fixture(autouse=True)
def _closed() -> Iterator[None]:
    """Each test leaves matplotlib as it was."""
    before = dict(plt.rcParams)
    yield
    plt.close("all")
    assert dict(plt.rcParams) == before


@pytest.fixture(scope="module")
def solved() -> Callable[[str], fw.Lateral]:
    """A demo, solved once."""
    known: dict[str, fw.Lateral] = {}

    def get(name: str) -> fw.Lateral:
        if name not in known:
            with warnings.catch_warnings():
                # What is odd about a demo's log is not what is tested here.
                warnings.simplefilter("ignore", fw.Warning)
                known[name] = fw.read_job(DEMOS / name / "job.toml").solve()
        return known[name]

    return get


def labelled(ax: Axes, label: str) -> Any:
    """What the legend calls so."""
    handles, labels = ax.get_legend_handles_labels()
    assert labels.count(label) == 1, labels
    return handles[labels.index(label)]


def labels(ax: Axes) -> list[str]:
    return list(ax.get_legend_handles_labels()[1])


def line(ax: Axes, label: str) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    drawn = labelled(ax, label)
    assert isinstance(drawn, Line2D)
    return np.asarray(drawn.get_xdata()), np.asarray(drawn.get_ydata())


def corners(of: Any) -> np.ndarray[Any, Any]:
    """Corners of the outline of an area."""
    assert isinstance(of, PolyCollection)
    return np.asarray(of.get_paths()[0].vertices)


BAND = "the invert is somewhere in here (95 %)"
INVERT = "invert, best estimate"
WATER = "water that a belly can hold"


@pytest.mark.parametrize(
    ("units", "along", "up"), [("si", lambda x: x, to_mm), ("us", to_ft, to_inch), ("uk", lambda x: x, to_mm)]
)
def test_profile_is_the_table(lateral: fw.Lateral, units: Any, along: Any, up: Any) -> None:
    ax = fw.plot_profile(lateral, units=units)
    path = lateral.path
    x, y = line(ax, INVERT)
    assert x.tolist() == along(path.station_m).tolist()
    assert y.tolist() == up(path.height_m).tolist()
    drawn = corners(labelled(ax, BAND))
    ends = [*zip(along(path.station_m), up(path.height_low_m), strict=True)]
    ends += zip(along(path.station_m), up(path.height_high_m), strict=True)
    assert {tuple(end) for end in ends} <= {tuple(corner) for corner in drawn}
    x, y = line(ax, "crown (inside top)")
    assert x[0::2].tolist() == along(path.station_m[:-1]).tolist()
    assert y[0::2] == pytest.approx(up(path.height_m[:-1] + path.bore_m[:-1]), rel=1e-12)
    assert y[1::2] == pytest.approx(up(path.height_m[1:] + path.bore_m[:-1]), rel=1e-12)
    word, unit, small = {"si": ("Station", "m", "mm"), "us": ("Station", "ft", "in"), "uk": ("Chainage", "m", "mm")}[units]
    assert ax.get_xlabel() == f"{word} ({unit})"
    assert ax.get_ylabel().startswith(f"Invert above its lowest point ({small})\nwhose elevation is {along(29.5):.0f}"[:44])


def test_water_lies_between_invert_and_level(lateral: fw.Lateral) -> None:
    (pool,) = lateral.pools()
    drawn = corners(labelled(fw.plot_profile(lateral), WATER))
    assert drawn[:, 0].min() == pytest.approx(pool["from_m"])
    assert drawn[:, 0].max() == pytest.approx(pool["to_m"])
    # Heights of the path have the part of lips that ties show, the level has not: here 0.05 mm.
    assert drawn[:, 1].max() == pytest.approx(to_mm(pool["level_m"]), abs=0.2)
    deepest = drawn[np.isclose(drawn[:, 0], pool["deepest_station_m"])][:, 1]
    # The table's depth is square to the pipe, which makes 5e-5 of it; lips as above.
    assert np.ptp(deepest) == pytest.approx(to_mm(pool["depth_m"]), abs=0.2)
    assert labelled(fw.plot_profile(lateral), WATER).get_hatch()


def test_water_ends_at_the_crown() -> None:
    sag = fw.Lateral.from_segments(breaks_m=[0, 10, 20], tilt_rad=[0.02, -0.02], pipe=fw.Pipe(bore=fw.Circle(diameter_m=0.1)))
    drawn = corners(labelled(fw.plot_profile(sag), WATER))
    lowest = drawn[np.isclose(drawn[:, 0], 10.0)][:, 1]
    assert np.ptp(lowest) == pytest.approx(100.0)
    assert BAND not in labels(fw.plot_profile(sag))  # nothing is uncertain in it


def test_possible_bellies_are_open(solved: Callable[[str], fw.Lateral]) -> None:
    lateral = solved("long-messy")
    assert lateral.pools().state.tolist() == ["possible"]
    ax = fw.plot_profile(lateral)
    assert WATER not in labels(ax)
    drawn = labelled(ax, "there may be a belly")
    assert not drawn.get_hatch()
    assert drawn.get_facecolor().size == 0 or drawn.get_facecolor()[0, 3] == 0.0
    unseen = labelled(ax, "only its ends are known: not seen, or contradicted")
    assert unseen.get_x() == pytest.approx(lateral.answers.unseen.from_m[0])
    assert unseen.get_x() + unseen.get_width() == pytest.approx(lateral.answers.unseen.to_m[0])
    x, y = line(ax, "drop (steeper than 45 degrees)")
    drop = lateral.segments[0]
    assert (x[0], x[-1]) == pytest.approx((drop["from_m"], drop["to_m"]))
    assert y[0] - y[-1] == pytest.approx(to_mm(drop["fall_m"]), rel=0.02)  # nodes beside the bend, not the break itself


def test_a_belly_without_level_is_a_strip_below() -> None:
    # Slopes so near to level that water may stand without standing in the best estimate.
    head = fw.simulation.Head(noise_sd_rad=deg(0.2))
    run = fw.simulate(fw.simulation.Truth(breaks_m=[0, 8, 12, 20], tilt_rad=[0.02, 0.003, 0.02]), head=head, seed=4).run
    lateral = fw.solve(run, pipe=fw.Pipe.standard("SDR 35", "4 in"), draws=400)
    without = [pool for pool in lateral.pools() if pool["level_m"] is None]
    assert without
    drawn = labelled(fw.plot_profile(lateral), "there may be a belly")
    assert drawn.get_x() == pytest.approx(without[0]["from_m"])
    assert drawn.get_height() < 0.1


def test_ties_stand_where_they_were_levelled(lateral: fw.Lateral) -> None:
    ax = fw.plot_profile(lateral)
    datum = lateral.path.elevation_m[0] - lateral.path.height_m[0]
    assert labels(ax).count("levelled invert (bar: 95 %)") == 1
    for container, tie in zip(ax.containers, lateral.ties, strict=True):
        point, _, (stem,) = container
        assert point.get_xdata() == [tie["station_m"]]
        assert point.get_ydata()[0] == pytest.approx(to_mm(tie["value"] - datum), abs=1e-6)
        ((_, low), (_, high)) = stem.get_segments()[0]
        assert high - low == pytest.approx(2 * Z_95 * to_mm(tie["sd"]))
    assert not fw.plot_profile(lateral, ties=False).containers


def test_every_kind_of_tie_with_a_height() -> None:
    truth = fw.simulation.Truth(breaks_m=[0, 10, 12, 24], tilt_rad=[0.02, -0.01, 0.022])
    run = fw.simulate(truth, spacing_m=0.1, seed=3).run
    rise = truth.height_m(20.0) - truth.height_m(5.0)
    lateral = fw.solve(
        run,
        pipe=fw.Pipe.standard("SDR 35", "4 in"),
        as_built=[fw.AsBuilt(station_m=0.0, invert_m=10.0), fw.AsBuilt(station_m=24.0, invert_m=9.6)],
        ties=[
            fw.HeightDifferenceTie(station_m=(5.0, 20.0), rise_m=rise, sd_m=0.002),
            fw.WaterLevelTie(station_m=(9.0, 12.0), station_sd_m=0.05),
            fw.ReversalCheck(first_rad=0.001, second_rad=-0.001),
        ],
        draws=100,
    )
    ax = fw.plot_profile(lateral)
    assert {"height difference (bar: 95 %)", "still water, one level (bar: 95 %)", "as-built invert"} <= set(labels(ax))
    joined = [drawn for drawn in ax.lines if drawn.get_linestyle() == "-."]
    assert np.asarray(joined[0].get_ydata())[1] - np.asarray(joined[0].get_ydata())[0] == pytest.approx(to_mm(rise))
    x, y = line(ax, "as-built invert")
    assert x.tolist() == [0.0, 24.0]
    # The table's differences are without the lips that ties show, the heights of the path with: here 0.15 mm.
    assert y[0] - y[1] == pytest.approx(400.0, abs=0.3)
    assert len(ax.containers) == 2


def test_what_does_not_fit_is_ringed(solved: Callable[[str], fw.Lateral]) -> None:
    lateral = solved("four-points")
    suspect = [tie for tie in lateral.ties if tie["verdict"] == "suspect"]
    x, _ = line(fw.plot_profile(lateral, units="us"), "does not fit: suspect")
    assert x.tolist() == to_ft(np.array([tie["station_m"] for tie in suspect])).tolist()


def test_exaggeration_holds_as_drawn(lateral: fw.Lateral) -> None:
    ax = fw.plot_profile(lateral, units="us")
    (note,) = ax.findobj(_drawn.Exaggeration)
    figure = ax.get_figure()
    assert figure is not None
    for zoom in (1.0, 4.0):
        low, high = ax.get_ylim()
        ax.set_ylim(low, low + (high - low) / zoom)
        figure.canvas.draw()
        # One metre each way, in pixels.
        (x0, y0), (x1, y1) = ax.transData.transform([(0.0, 0.0), (to_ft(1.0), to_inch(1.0))])
        times = float(f"{(y1 - y0) / (x1 - x0):.2g}")
        assert f"Heights are drawn {times:g} times larger than lengths." in note.get_text()
        assert "buried services" in note.get_text()
    again = pickle.loads(pickle.dumps(figure))
    again.canvas.draw()
    plt.close(again)


def test_flow_is_shown(lateral: fw.Lateral, run: fw.Run) -> None:
    def arrow(ax: Axes) -> float:
        (flow,) = [text for text in ax.texts if text.get_text() == "flow"]
        return float(flow.xy[0] - flow.get_position()[0])  # type: ignore[attr-defined]

    assert arrow(fw.plot_profile(lateral)) > 0
    assert arrow(fw.plot_profile(fw.solve(run, flow="decreasing", draws=50))) < 0


def test_axes_in_and_out(lateral: fw.Lateral) -> None:
    figure, (left, right) = plt.subplots(1, 2)
    left.set_title("my own")
    assert fw.plot_profile(lateral.answers, ax=left) is left
    assert fw.plot_readings(lateral.answers, ax=right, legend=False) is right
    assert left.get_title() == "my own"
    assert left.get_legend() is not None
    assert right.get_legend() is None
    assert plt.get_fignums() == [figure.number]
    mine, others = fw.plot_profile(lateral), fw.plot_profile(lateral.answers)
    assert mine is not others
    assert line(mine, INVERT)[1].tolist() == line(others, INVERT)[1].tolist()
    assert mine.get_title() == ""  # the job has none


def test_the_style_is_the_users(lateral: fw.Lateral) -> None:
    with plt.style.context("dark_background"):
        ax = fw.plot_profile(lateral)
        assert labelled(ax, INVERT).get_color() == (1.0, 1.0, 1.0)
        grey = labelled(ax, BAND).get_facecolor()[0]
        assert grey[0] < 0.3
        dots = labelled(fw.plot_readings(lateral), "readings, zero error in")
        assert dots.get_color() == plt.rcParams["axes.prop_cycle"].by_key()["color"][0]
    ax = fw.plot_profile(lateral)
    inks = [drawn.get_color() for drawn in ax.lines]
    assert {colors.to_rgb(ink) for ink in inks} == {(0.0, 0.0, 0.0)}


@pytest.mark.parametrize("units", ["si", "us"])
def test_plan_is_the_table(solved: Callable[[str], fw.Lateral], units: Any) -> None:
    lateral = solved("water-edges")
    along: Any = to_ft if units == "us" else lambda x: x
    ax = fw.plot_plan(lateral, units=units)
    path = lateral.path
    x, y = line(ax, "axis of the pipe")
    assert x.tolist() == along(path.east_m).tolist()
    assert y.tolist() == along(path.north_m).tolist()
    assert ax.get_aspect() == 1.0
    assert {"N", "flow"} <= {text.get_text() for text in ax.texts}
    assert ax.get_xlabel() == f"East ({'ft' if units == 'us' else 'm'})"
    region = labelled(ax, "the pipe is somewhere in here (95 % at each place)")
    last = np.asarray(region.get_paths()[-1].vertices)
    # The farthest east of the ellipses of both ends of the last piece; 2.4477 is the square root of -2 ln 0.05.
    factor = math.sqrt(-2.0 * math.log(0.05))
    assert last[:, 0].max() == pytest.approx(along((path.east_m + factor * path.east_sd_m)[-2:].max()), rel=1e-12)
    assert last[:, 1].min() == pytest.approx(along((path.north_m - factor * path.north_sd_m)[-2:].min()), rel=1e-12)
    (belly,) = [patch for patch in ax.patches if isinstance(patch, Polygon)]
    middle = belly.get_xy()[:-1].mean(axis=0)
    pool = lateral.pools()[0]
    where = lateral.at(0.5 * (pool["from_m"] + pool["to_m"]))
    assert middle == pytest.approx([along(where.east_m[0]), along(where.north_m[0])], abs=along(0.6))
    assert belly.get_hatch()


def test_region_holds_as_many_as_it_says() -> None:
    # Two ellipses, of which one leans: 95 % of the points of each lie in the outline about both, and no fewer.
    covariance = np.array([[[0.04, 0.018], [0.018, 0.01]]] * 2)
    (outline,) = _drawn.region(np.zeros(2), np.zeros(2), covariance)
    points = np.random.default_rng(1).multivariate_normal([0.0, 0.0], covariance[0], 20_000)
    inside = Outline(outline).contains_points(points).mean()
    # A standard error is 0.0015; chords of 48 corners lose 0.0014 of a radius, less than 0.001 of the points.
    assert inside == pytest.approx(0.95, abs=0.006)


def test_located_points_in_the_plan(run: fw.Run) -> None:
    azimuth = {"start_azimuth_rad": deg(90.0), "start_azimuth_sd_rad": deg(2.0), "start_east_m": 100.0, "start_north_m": 50.0}
    run = fw.Run(counter_m=run.counter_m, reading_rad=run.reading_rad, **azimuth, start_plan_sd_m=0.05)  # type: ignore[arg-type]
    tie = fw.PlanTie(station_m=20.0, east_m=120.0, north_m=50.2, sd_m=0.1)
    ax = fw.plot_plan(fw.solve(run, ties=[tie], draws=50))
    x, y = line(ax, "located from the surface (ellipse: 95 %)")
    assert (120.0, 50.2) in {*zip(x.tolist(), y.tolist(), strict=True)}


def test_no_plan_without_azimuth(lateral: fw.Lateral) -> None:
    with pytest.raises(fw.InputError, match=r"plan is not determined.*start_azimuth_rad.*located point") as told:
        fw.plot_plan(lateral)
    assert told.value.expected == "start_azimuth_rad of a run, an AzimuthTie, or two PlanTies"
    assert plt.get_fignums() == []


def test_readings_are_the_table(lateral: fw.Lateral) -> None:
    ax = fw.plot_readings(lateral, units="us")
    x, y = line(ax, "readings, zero error in")
    assert x.tolist() == to_ft(lateral.readings.station_m).tolist()
    assert y.tolist() == to_deg(lateral.readings.tilt_rad).tolist()
    x, y = line(ax, "segments found: tilt of the pipe")
    segments = lateral.segments
    assert x[0::2].tolist() == to_ft(segments.from_m).tolist()
    assert x[1::2].tolist() == to_ft(segments.to_m).tolist()
    assert y[0::2].tolist() == y[1::2].tolist() == to_deg(segments.tilt_rad).tolist()
    drawn = corners(labelled(ax, "tilt of the pipe is somewhere in here (95 %)"))
    assert drawn[:, 1].max() == pytest.approx(to_deg((segments.tilt_rad + Z_95 * segments.tilt_sd_rad).max()))
    assert ax.get_xlabel() == "Station (ft)"
    slopes = fw.plot_readings(lateral, y="slope")
    assert line(slopes, "readings, zero error in")[1] == pytest.approx(to_percent(np.tan(lateral.readings.tilt_rad)))
    assert slopes.get_ylabel().endswith("(%)")


def test_runs_stand_apart(solved: Callable[[str], fw.Lateral]) -> None:
    lateral = solved("both-ends")
    ax = fw.plot_readings(lateral)
    names = [job.name for job in lateral.job.runs]
    drawn = [labelled(ax, f"readings of run {i + 1} ({name}), zero error in") for i, name in enumerate(names)]
    assert len({one.get_marker() for one in drawn}) == 2
    for i, one in enumerate(drawn):
        assert one.get_xdata().tolist() == lateral.readings.station_m[lateral.readings.run == i].tolist()


def test_what_was_changed_stands_apart_with_its_reason(solved: Callable[[str], fw.Lateral]) -> None:
    lateral = solved("two-bellies")
    ax = fw.plot_readings(lateral)
    edits = lateral.answers.edits
    dropped = edits.action == "dropped"
    (label,) = [label for label in labels(ax) if label.startswith("dropped: ")]
    assert label == f"dropped: {edits.reason[dropped][0]} ({dropped.sum()})"
    x, y = line(ax, label)
    assert x.tolist() == edits.counter_m[dropped].tolist()
    assert y.tolist() == to_deg(edits.reading_rad[dropped]).tolist()
    assert "combined: repeat: combined" not in " ".join(labels(ax))


def test_directions_of_a_run_are_undone() -> None:
    truth = fw.simulation.Truth(breaks_m=[0, 20], tilt_rad=[0.02])
    flaws = fw.simulation.Flaws(list=[fw.simulation.Flaw("spike", at_m=8.0, rad=0.2)])
    for toward, positive in (("increasing", "up"), ("decreasing", "down"), ("decreasing", "up")):
        head = fw.simulation.Head(tilt_positive=positive, toward=toward)  # type: ignore[arg-type]
        lateral = fw.solve(fw.simulate(truth, head=head, flaws=flaws, seed=2).run, draws=50)
        ax = fw.plot_readings(lateral)
        x, _ = line(ax, "beyond the picture, up or down")
        # Where the spike was put, to a reading every 0.05 m.
        assert x == pytest.approx([8.0], abs=0.06), (toward, positive)


def test_what_squashes_is_at_the_edge(solved: Callable[[str], fw.Lateral]) -> None:
    ax = fw.plot_readings(solved("long-messy"))
    low, high = ax.get_ylim()
    assert -3.0 < low < high < 5.0  # the pipe, not the entry at 50 degrees
    x, y = line(ax, "beyond the picture, up or down")
    assert set(y.tolist()) <= {low, high}
    assert len(x) > 10


def test_posterior_is_the_table(solved: Callable[[str], fw.Lateral]) -> None:
    lateral = solved("four-points")
    axes = fw.plot_posterior(lateral)
    estimated = [row for row in lateral.parameters if row["prior"] is not None]
    assert len(axes) == len(estimated) < len(lateral.parameters)
    for ax, row in zip(axes, estimated, strict=True):
        convert: Any = to_deg if "_rad" in row["name"] else to_percent
        for label, mean, sd in (("after the adjustment", "value", "sd"), ("before the run", "prior", "prior_sd")):
            x, y = line(ax, label)
            peak = 1.0 / (convert(row[sd]) * math.sqrt(2.0 * math.pi))
            # 400 points over at most eight standard deviations: the nearest to the top is 0.01 of one off.
            assert y.max() == pytest.approx(peak, rel=1e-3)
            assert x[y.argmax()] == pytest.approx(convert(row[mean]), abs=0.05 * convert(row[sd]))
        assert f"sd {convert(row['prior_sd']):.3g}" in ax.get_title()
    one = fw.plot_posterior(lateral.answers, parameters=["counter_scale"])
    assert one.shape == (1,)
    assert one[0].get_xlabel() == "%"


def test_posterior_into_axes(lateral: fw.Lateral) -> None:
    figure, grid = plt.subplots(2, 2)
    drawn = fw.plot_posterior(lateral, ax=grid)
    assert drawn.tolist() == grid.ravel().tolist()
    assert plt.get_fignums() == [figure.number]
    with pytest.raises(fw.InputError, match="2 axes given, expected one for each of 4"):
        fw.plot_posterior(lateral, ax=[grid[0, 0], grid[0, 1]])
    with pytest.raises(fw.UnknownWordError, match="zero_rd") as told:
        fw.plot_posterior(lateral, parameters=["zero_rd"])
    assert told.value.nearest == "zero_rad"
    exact = fw.Lateral.from_segments(breaks_m=[0, 1], tilt_rad=[0.02])
    with pytest.raises(fw.InputError, match="nothing was estimated"):
        fw.plot_posterior(exact)
    held = fw.solve(lateral.job.runs, instrument=fw.Instrument(counter_scale_sd=0.0), draws=50)
    assert len(fw.plot_posterior(held)) == 3  # what is held exactly has no density


@pytest.mark.parametrize("of", ["segments", "inverts"])
def test_without_readings_pipe_and_ties(of: str) -> None:
    if of == "segments":
        plain = fw.Lateral.from_segments(breaks_m=[0, 10], tilt_rad=[0.02])
    else:
        plain = fw.Lateral.from_inverts([0, 10, 20], [1.0, 0.8, 0.7], sd_m=0.01)
    ax = fw.plot_profile(plain)
    # Between as-built inverts nothing was seen.
    unseen = "only its ends are known: not seen, or contradicted"
    assert labels(ax) == ([INVERT] if of == "segments" else [unseen, BAND, INVERT])
    ax = fw.plot_readings(plain)
    assert "segments found: tilt of the pipe" in labels(ax)
    plt.gcf().canvas.draw()


@pytest.mark.parametrize("units", ["si", "us", "uk"])
@pytest.mark.parametrize("name", demo_names())
def test_demos_draw(solved: Callable[[str], fw.Lateral], name: str, units: Any) -> None:
    answers = solved(name).answers
    drawn = [fw.plot_profile(answers, units=units), fw.plot_readings(answers, units=units, y="slope")]
    drawn += fw.plot_posterior(answers, units=units).tolist()
    if answers.plan_svg() is None:
        with pytest.raises(fw.InputError, match="plan is not determined"):
            fw.plot_plan(answers, units=units)
    else:
        drawn.append(fw.plot_plan(answers, units=units))
    assert drawn[0].get_title() == answers.to_dict()["job"]["survey"]["title"]
    for number in plt.get_fignums():
        plt.figure(number).canvas.draw()


def test_words_that_are_not_known(lateral: fw.Lateral) -> None:
    for draw in (fw.plot_profile, fw.plot_readings, fw.plot_plan, fw.plot_posterior):
        with pytest.raises(fw.UnknownWordError, match="known: si, us, uk") as told:
            draw(lateral, units="uss")  # type: ignore[arg-type]
        assert (told.value.field, told.value.nearest) == ("units", "us")
        with pytest.raises(fw.InputError, match="expected Answers or Lateral"):
            draw("job.toml")  # type: ignore[arg-type]
    with pytest.raises(fw.UnknownWordError, match="known: tilt, slope"):
        fw.plot_readings(lateral, y="tilts")  # type: ignore[arg-type]
    assert plt.get_fignums() == []


def test_without_matplotlib(tmp_path: Path) -> None:
    code = """
import sys
sys.modules["matplotlib"] = None
import fallwise as fw
try:
    fw.plot_profile(fw.Lateral.from_segments(breaks_m=[0, 10], tilt_rad=[0.02]))
except ImportError as error:
    print(error)
"""
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=tmp_path).stdout
    assert out == 'plot_profile needs matplotlib, which is not installed: pip install "fallwise[plot]"\n'


@pytest.mark.parametrize("of", ["lateral", "answers"])
def test_as_methods(lateral: fw.Lateral, solved: Callable[[str], fw.Lateral], of: str) -> None:
    given = lateral if of == "lateral" else lateral.answers
    assert np.array_equal(
        line(given.plot_profile(units="us", legend=False), INVERT)[1], line(fw.plot_profile(given, units="us"), INVERT)[1]
    )
    assert given.plot_readings(y="slope").get_ylabel() == fw.plot_readings(given, y="slope").get_ylabel()
    assert [ax.get_title() for ax in given.plot_posterior()] == [ax.get_title() for ax in fw.plot_posterior(given)]
    planned = solved("good-lateral") if of == "lateral" else solved("good-lateral").answers
    assert planned.plot_plan().get_aspect() == 1.0
    with pytest.raises(fw.UnknownWordError, match="si"):
        given.plot_profile(units="feet")  # type: ignore[arg-type]

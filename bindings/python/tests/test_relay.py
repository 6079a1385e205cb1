"""What to re-lay, from Python."""

from __future__ import annotations

import copy
import pickle

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.axes import Axes

import fallwise as fw

mpl.use("agg")

INVERTS = [(0.0, 0.21), (2.0, 0.15), (4.0, 0.15), (6.0, 0.05), (8.0, 0.0)]
COSTS = fw.RelayCosts(currency="crowns", per_trench=500, per_m=100)


def lateral(relay: fw.RelayChoice | None = None, **more: object) -> fw.Lateral:
    return fw.solve(
        as_built=[fw.AsBuilt(station_m=s, invert_m=h, sd_m=0.001) for s, h in INVERTS],
        features=[fw.Feature(kind="joint", station_m=s) for s, _ in INVERTS[1:-1]],
        relay=relay,
        **more,  # type: ignore[arg-type]
    )


def test_a_plan_has_its_tables() -> None:
    choice = fw.RelayChoice(min_slope=0.02, costs=COSTS)
    plan = lateral().relay(choice)
    assert plan.outcome == "plan"
    # 500 for the trench and 100 for each of its 3.997 level metres.
    assert plan.cost == pytest.approx(900, abs=0.5)
    assert list(plan.stretches.from_m) == [2.0]
    assert list(plan.stretches.to_m) == [6.0]
    assert plan.pieces.new.tolist() == [False, True, False]
    assert (plan.pieces.probability >= plan.confidence).all()
    assert plan.nodes.new_height_m[2] == pytest.approx(0.1, abs=1e-3)  # half-way, but for the slopes of the two sticks
    assert "couplings to the old pipe" in set(plan.quantities["item"])
    assert len(plan.short) == 0
    assert plan.joint_bounds is not None
    assert plan.joint_probability is not None
    assert plan.joint_bounds[0] <= plan.joint_probability <= plan.joint_bounds[1]
    assert plan.to_dict()["cost"] == plan.cost
    assert "re-lay the pipe between" in repr(plan)


def test_copies_and_pickles_are_equal() -> None:
    plan = lateral().relay(fw.RelayChoice(min_slope=0.02, costs=COSTS))
    assert pickle.loads(pickle.dumps(plan)) == plan
    assert copy.deepcopy(plan) is plan
    assert plan != lateral().relay(fw.RelayChoice(min_slope=0.03, costs=COSTS))


def test_the_job_may_ask() -> None:
    choice = fw.RelayChoice(
        min_slope=0.02,
        costs=COSTS,
        surfaces=[fw.RelaySurface(from_m=0, to_m=4, name="lawn", per_m=10)],
        keep_out=[fw.KeepOut(from_m=7, to_m=7.5, reason="below the shed")],
    )
    solved = lateral(choice)
    assert solved.answers.relay == solved.relay()
    assert solved.job.relay == choice
    text, _ = solved.job.to_toml()
    assert "keep_out" in text
    assert lateral().answers.relay is None


def test_no_plan_says_what_is_missing() -> None:
    none = lateral().relay(fw.RelayChoice(min_slope=0.03))
    assert (none.outcome, none.cost, none.joint_bounds) == ("no_plan", None, None)
    assert none.short.missing_m[0] == pytest.approx(none.lower_outlet_m)
    assert none.sentences[0].startswith("No plan exists")


def test_the_rulebook_may_ask() -> None:
    pipe = fw.Pipe(bore=fw.Circle(diameter_m=0.1), nominal=fw.Nominal.parse("4 in"))
    solved = lateral(pipe=pipe)
    told = solved.relay(fw.RelayChoice(costs=COSTS), rulebook="ipc-2021")
    # 1/8 in/ft for 4 in: the level stick falls less.
    assert told.outcome == "plan"
    assert told.pieces.min_slope[0] == pytest.approx(1 / 96)


def test_what_cannot_be_is_named() -> None:
    with pytest.raises(fw.InputError, match="a RelayChoice, or a job that has one"):
        lateral().relay()
    with pytest.raises(fw.InputError, match=r"relay\.confidence"):
        lateral().relay(fw.RelayChoice(confidence=0.2))
    with pytest.raises(fw.InputError, match="nearest is at"):
        fw.solve(
            as_built=[fw.AsBuilt(station_m=s, invert_m=h, sd_m=0.001) for s, h in INVERTS],
            features=[fw.Feature(kind="connection", station_m=4.0)],
            relay=fw.RelayChoice(connections=[fw.MovableConnection(station_m=5.0)]),
        )
    refused = lateral().relay(fw.RelayChoice())
    assert refused.outcome == "refused"
    assert "no rule says which slope is asked for" in refused.sentences[0]


def test_the_picture_has_the_new_pipe() -> None:
    solved = lateral()
    plan = solved.relay(fw.RelayChoice(min_slope=0.02, costs=COSTS))
    assert not [text for text in labels(solved.plot_profile()) if "new pipe" in text]
    ax = solved.plot_profile(relay=plan)
    drawn = next(line for line in ax.lines if line.get_label() == "invert of the new pipe")
    assert [float(x) for x in np.asarray(drawn.get_xdata())] == [2.0, 6.0]
    # In millimetres: from 150 to 50 above the lowest, as the inverts that it keeps.
    assert np.asarray(drawn.get_ydata(), dtype=float) == pytest.approx([150.0, 50.0])
    assert "to be dug: a trench" in labels(ax)
    asked = lateral(fw.RelayChoice(min_slope=0.02, costs=COSTS))
    assert "invert of the new pipe" in labels(asked.plot_profile())
    with_none = solved.plot_profile(relay=solved.relay(fw.RelayChoice(min_slope=0.03)))
    assert "to be dug: a trench" not in labels(with_none)


def labels(ax: Axes) -> list[str]:
    return [str(text) for text in ax.get_legend_handles_labels()[1]]

"""What the pipe carries, from Python: figures, verdicts and bellies are the core's."""

from __future__ import annotations

import math

import pytest

import fallwise as fw
from fallwise import hydraulics

PIPE = fw.Pipe(bore=fw.Circle(diameter_m=0.1), manning_n=0.013)
ASKED = fw.Capacity(flow_m3_s=0.002, filling=0.5, least_velocity_m_s=0.6)


def test_a_straight_pipe_carries_what_the_formula_says() -> None:
    lateral = fw.Lateral.from_segments(breaks_m=[0, 10], tilt_rad=[math.atan(0.02)], pipe=PIPE)
    row = lateral.capacity(ASKED)[0]
    # The slope comes back from a sum of falls.
    assert row["filled_m3_s"] == pytest.approx(hydraulics.flow(0.05, bore_m=0.1, slope=0.02, manning_n=0.013), rel=1e-12)
    assert (row["verdict"], row["clean_by_velocity"], row["missing"]) == ("carries", "yes", "")
    kinds = lateral.needed(ASKED).kind.tolist()
    assert kinds[:4] == ["slope_for_flow", "slope_for_velocity", "fall_there_is", "fall_missing"]
    # The job itself asks for nothing.
    assert len(lateral.capacity()) == len(lateral.needed()) == len(lateral.carrying) == 0
    columns = lateral.capacity(ASKED).to_units("us").columns
    assert {"filled_gallon_per_min", "velocity_ft_per_s", "slope_percent"} <= set(columns)


def test_the_belly_stands_beside_it() -> None:
    lateral = fw.Lateral.from_segments(breaks_m=[0, 10, 12, 20], tilt_rad=[0.03, -0.01, 0.03], pipe=PIPE)
    row = lateral.capacity(ASKED)[0]
    assert (row["verdict"], row["pools"], row["bellies_found"]) == ("not_decided", "1", 1)
    assert "belly 1" in row["sentence"]


def test_the_job_may_ask() -> None:
    run = fw.Run(counter_m=[0.5, 1.5, 2.5, 3.5], reading_rad=[0.02, 0.021, 0.019, 0.02], by_hand=True)
    lateral = fw.solve(run, pipe=PIPE, capacity=ASKED)
    assert lateral.answers.carrying[0]["flow_m3_s"] == 0.002
    assert len(lateral.answers.capacity) == 1
    assert len(lateral.answers.needed) >= 5
    many = fw.solve_many({"a": run}, pipes=PIPE, capacity=ASKED, draws=50)
    assert many.capacity.id.tolist() == ["a"]


def test_what_cannot_be_is_refused_by_name() -> None:
    lateral = fw.Lateral.from_segments(breaks_m=[0, 10], tilt_rad=[0.02], pipe=PIPE)
    with pytest.raises(fw.InputError, match="filling"):
        lateral.capacity(fw.Capacity(filling=2.0))
    with pytest.raises(fw.InputError, match="discharge"):
        lateral.capacity(fw.Capacity(flow_m3_s=0.001, discharge=fw.Discharge(frequency="special", units_m3_s=[0.001])))
    discharge = fw.Discharge(frequency="intermittent", system="I", fixtures={"wash basn": 1})
    with pytest.raises(fw.InputError, match="wash basin"):
        lateral.capacity(fw.Capacity(discharge=discharge))

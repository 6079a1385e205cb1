"""Places on the surface: digs of a job, any place, back from a point, and the computations by themselves."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

import fallwise as fw
from fallwise.units import deg


def job(**changed: Any) -> fw.Job:
    run = fw.Run(
        counter_m=[0.1 * i for i in range(201)],
        reading_rad=[0.02 + 0.001 * (i % 3 - 1) for i in range(201)],
        start_azimuth_rad=deg(90.0),
        start_azimuth_sd_rad=deg(3.0),
        start_east_m=100.0,
        start_north_m=200.0,
        start_plan_sd_m=0.05,
        start_invert_m=30.0,
        start_invert_sd_m=0.01,
    )
    pipe = fw.Pipe.standard("SDR 35", "4 in")
    given: dict[str, Any] = {
        "runs": [run],
        "reaches": [fw.Reach(from_m=0.0, to_m=20.0, pipe=pipe)],
        "ties": [fw.PlanTie(station_m=11.0, east_m=111.0, north_m=200.0, sd_m=0.1)],
        "ground": [fw.GroundPoint(station_m=s, elevation_m=31.4, sd_m=0.02) for s in (0.0, 20.0)],
        "landmarks": [
            fw.Landmark(name="gate post", east_m=108.0, north_m=195.0),
            fw.Landmark(name="corner", east_m=118.0, north_m=195.0),
        ],
        "digs": [fw.Dig(station_m=12.0, name="joint"), fw.Dig(station_m=19.5), fw.Dig(station_m=30.0)],
    }
    return fw.Job(**{**given, **changed})


def test_digs_are_a_table() -> None:
    with pytest.warns(fw.Warning, match="outside the surveyed"):
        lateral = job().solve()
    digs = lateral.answers.digs
    assert list(digs.refused) == [False, True, True]
    assert [r.split() for r in digs.reasons] == [[], ["no_tie"], ["not_surveyed"]]
    assert digs.by_hand_from_m[0] == pytest.approx(digs.expect_from_m[0] - 0.3)
    assert math.isnan(digs.expect_from_m[1])
    assert len(lateral.answers.tapes) == 4  # two landmarks, two digs that were surveyed


def test_any_place_and_back() -> None:
    lateral = job(digs=[]).solve()
    rows = lateral.locate([11.0, 12.0], station_sd_m=0.0)
    assert len(rows) == 2
    near = lateral.nearest(float(rows.east_m[1]), float(rows.north_m[1]))
    assert near.station_m[0] == pytest.approx(12.0, abs=1e-9)
    assert list(lateral.distances(12.0).landmark) == ["gate post", "corner"]
    with pytest.raises(fw.InputError, match="outside the surveyed"):
        lateral.locate(30.0)
    with pytest.raises(fw.InputError, match="station_sd_m"):
        lateral.locate(12.0, station_sd_m=-1.0)
    with pytest.raises(fw.InputError, match="east_m"):
        lateral.nearest(math.nan, 0.0)


def test_landmarks_are_told_apart() -> None:
    twice = [fw.Landmark(name="post", east_m=float(i), north_m=0.0) for i in range(2)]
    with pytest.raises(fw.InputError, match="landmark"):
        job(landmarks=twice).solve()


def test_an_ellipse_is_that_of_its_covariance() -> None:
    # numpy.linalg.eigh of the covariance matrix.
    for east, north, correlation in [(0.3, 0.4, 0.2), (0.1, 0.1, -0.7), (0.5, 0.02, 0.9)]:
        both = correlation * east * north
        values, vectors = np.linalg.eigh(np.array([[east**2, both], [both, north**2]]))
        found = fw.locate.ellipse(east, north, correlation)
        assert found.major_sd_m == pytest.approx(math.sqrt(values[1]), rel=1e-12)
        assert found.minor_sd_m == pytest.approx(math.sqrt(values[0]), rel=1e-10)
        azimuth = math.atan2(vectors[0, 1], vectors[1, 1]) % math.pi
        assert found.azimuth_rad == pytest.approx(azimuth, abs=1e-9)
    many = fw.locate.ellipse([0.1, 0.2], 0.1)
    assert many.major_sd_m.shape == (2,)
    error = fw.locate.PlanError(east_sd_m=0.3, north_sd_m=0.4)
    assert error.sd(deg(90.0)) == pytest.approx(0.3)
    assert error.ellipse().major_sd_m == 0.4
    assert pytest.approx(math.sqrt(-2.0 * math.log(0.05))) == fw.locate.ELLIPSE_95
    with pytest.raises(fw.InputError, match="correlation"):
        fw.locate.PlanError(east_sd_m=1.0, north_sd_m=1.0, correlation=2.0)


def test_offsets_and_the_decision() -> None:
    tape = fw.locate.offset((0.0, 0.0), (0.0, 10.0), ([4.0, -4.0], [3.0, 3.0]))
    assert list(tape.right_m) == [4.0, -4.0]
    assert list(tape.from_first_m) == [5.0, 5.0]
    with pytest.raises(fw.InputError, match="second"):
        fw.locate.offset((0.0, 0.0), (0.0, 0.01), (1.0, 1.0))
    told = fw.locate.dig(across_sd_m=0.1, tie_m=1.0, top_m=1.0, top_sd_m=0.1)
    assert told.refused == ()
    strict = fw.DigOptions(tie_within_m=0.5)
    refused = fw.locate.dig(across_sd_m=0.1, tie_m=1.0, top_m=None, top_sd_m=None, options=strict).refused
    assert refused == ("no_tie", "no_depth")
    with pytest.raises(fw.InputError, match="confidence"):
        fw.locate.dig(across_sd_m=0.1, tie_m=1.0, top_m=1.0, top_sd_m=0.1, options=fw.DigOptions(confidence=2.0))

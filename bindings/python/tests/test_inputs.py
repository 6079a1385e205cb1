"""Inputs have the core's fields, names and defaults."""

from __future__ import annotations

import inspect
import json
from dataclasses import MISSING, fields
from pathlib import Path
from typing import Any, get_args

import pytest

import fallwise as fw
from fallwise import _job, _model, _ties


@pytest.fixture(scope="module")
def schema(root: Path) -> dict[str, Any]:
    text = (root / "crates/fallwise-files/schema/result.schema.json").read_text(encoding="utf-8")
    definitions: dict[str, Any] = json.loads(text)["$defs"]
    return definitions


PLAIN = [
    fw.AsBuilt,
    fw.Bend,
    fw.Capacity,
    fw.Discharge,
    fw.Feature,
    fw.GroundPoint,
    fw.Instrument,
    fw.Job,
    fw.Nominal,
    fw.Note,
    fw.Origin,
    fw.Pipe,
    fw.Reach,
    fw.ReportChoice,
    fw.RulesChoice,
    fw.Run,
    fw.Step,
    fw.Survey,
]


@pytest.mark.parametrize("kind", PLAIN, ids=lambda kind: kind.__name__)
def test_fields_are_those_of_the_core(kind: Any, schema: dict[str, Any]) -> None:
    ours = {part.name for part in fields(kind)}
    assert ours == set(schema[kind.__name__]["properties"])


@pytest.mark.parametrize("kind", PLAIN, ids=lambda kind: kind.__name__)
def test_what_must_be_given_is_what_the_core_asks_for(kind: Any, schema: dict[str, Any]) -> None:
    must = {p.name for p in fields(kind) if p.default is MISSING and p.default_factory is MISSING}
    theirs = set(schema[kind.__name__].get("required", []))
    if kind is fw.Run:
        theirs.remove("reading_rad")  # or reading_slope
    assert must == theirs


@pytest.mark.parametrize("kind", PLAIN, ids=lambda kind: kind.__name__)
def test_every_field_is_documented(kind: Any) -> None:
    parameters = inspect.getdoc(kind) or ""
    for part in fields(kind):
        assert part.name in parameters, part.name


def test_ties_are_those_of_the_core(schema: dict[str, Any]) -> None:
    known = {one["properties"]["kind"]["const"]: one for one in schema["Known"]["oneOf"]}
    assert set(known) == {tie._KIND for tie in _ties.TIES}
    assert set(get_args(_ties.Tie)) == set(_ties.TIES)
    for tie in _ties.TIES:
        theirs = set(known[tie._KIND]["properties"]) - {"kind"}
        if "$ref" in known[tie._KIND]:
            theirs |= set(schema[known[tie._KIND]["$ref"].rsplit("/", 1)[1]]["properties"])
        ours = {part.name for part in fields(tie)} - {"name"}
        if tie._PLACES:
            assert ours >= {"station_m", "station_sd_m", "taped"}
            ours = ours - {"station_m", "station_sd_m", "taped"} | set(tie._PLACES)
        assert ours == theirs, tie.__name__
    assert set(schema["Place"]["properties"]) == {"station_m", "sd_m", "taped"}


def words(schema: dict[str, Any], name: str) -> set[str]:
    of = schema[name]
    return set(of["enum"]) if "enum" in of else {one["const"] for one in of["oneOf"]}


@pytest.mark.parametrize(
    ("alias", "name"),
    [
        (_model.Flow, "Flow"),
        (_model.Toward, "Toward"),
        (_model.TiltPositive, "TiltPositive"),
        (_model.FeatureKind, "FeatureKind"),
        (_model.SizeUnit, "SizeUnit"),
        (_model.Work, "Work"),
        (_model.Words, "Words"),
        (_model.Decimal, "Decimal"),
        (_model.Paper, "Paper"),
        (_model.AsBuiltUse, "AsBuiltUse"),
        (_ties.Seen, "Seen"),
    ],
)
def test_literals_are_the_words_of_the_core(alias: Any, name: str, schema: dict[str, Any]) -> None:
    assert set(get_args(alias)) == words(schema, name)


def test_methods_of_finding_segments(schema: dict[str, Any]) -> None:
    methods = {one["properties"]["method"]["const"] for one in schema["SegmentChoice"]["oneOf"]}
    assert set(get_args(_model.Method)) == methods


def test_defaults_are_those_of_the_core(run: fw.Run) -> None:
    job = fw.Job(runs=[run])
    again = job.solve().job
    assert again == job
    parameters = inspect.signature(_job.solve).parameters
    assert (parameters["draws"].default, parameters["seed"].default) == (fw.ReportChoice().draws, fw.ReportChoice().seed)
    assert parameters["words"].default == fw.ReportChoice().words


def test_solve_takes_every_part_of_a_job() -> None:
    parameters = set(inspect.signature(_job.solve).parameters)
    inside = {"rules": {"rulebook", "work", "facts"}, "report": {"words", "decimal", "paper", "draws", "seed"}}
    for part in fields(fw.Job):
        assert inside.get(part.name, {part.name}) <= parameters


def full_job(run: fw.Run) -> fw.Job:
    """A job in which every kind of input stands."""
    pipe = fw.Pipe(
        name="old clay",
        bore=fw.Ellipse(width_m=0.11, height_m=0.09),
        nominal=fw.Nominal.parse("4 in"),
        material="clay",
        wall_m=0.02,
    )
    return fw.Job(
        survey=fw.Survey(title="invented", invented=True, about_length_m=25.0),
        origin=fw.Origin(longitude_rad=0.1, latitude_rad=0.8),
        runs=[run],
        as_built=[fw.AsBuilt(station_m=1.0, invert_m=29.98, sd_m=0.05)],
        ties=[
            fw.InvertTie(station_m=0.0, elevation_m=30.0, sd_m=0.01, name="step"),
            fw.PlanTie(station_m=0.0, east_m=100.0, north_m=200.0, sd_m=0.05),
            fw.AzimuthTie(station_m=0.5, azimuth_rad=0.3, sd_rad=0.02),
            fw.DepthTie(station_m=9.0, depth_m=1.2, ground_m=31.0),
            fw.HeightDifferenceTie(station_m=(2.0, 8.0), rise_m=-0.12, sd_m=0.05, station_sd_m=(0.05, 0.1)),
            fw.LengthTie(from_m=0.0, to_m=20.0, length_m=19.9, sd_m=0.3),
            fw.ReversalCheck(first_rad=0.004, second_rad=-0.001),
            fw.LevelCheck(reading_rad=0.002, sd_rad=0.002),
            fw.WaterLevelTie(station_m=(9.5, 11.9), level_sd_m=0.01, station_sd_m=0.3),
            fw.WaterDepthTie(station_m=(10.0, 11.9), depth_m=0.02, sd_m=0.01, seen="lens", taped=(False, True)),
        ],
        reaches=[fw.Reach(0, 12, name="house", pipe=pipe, facts={"x": "1"}), fw.Reach(12, 24.5, pipe=pipe)],
        instrument=fw.Instrument(zero_sd_rad=0.004),
        bends=[fw.Bend(station_m=6.0, deflection_rad=0.4)],
        steps=[fw.Step(station_m=4.0, rise_m=0.004)],
        features=[fw.Feature(kind="joint", station_m=3.0)],
        ground=[fw.GroundPoint(station_m=0.0, elevation_m=31.0), fw.GroundPoint(station_m=24.0, elevation_m=31.2, sd_m=0.02)],
        notes=[fw.Note(text="roots", station_m=5.0)],
        segments=fw.SegmentChoice(method="given", breaks_m=[10, 12]),
        tailwater_m=0.01,
        capacity=fw.Capacity(
            manning_n=0.013,
            filling=0.5,
            least_velocity_m_s=0.6,
            least_shear_pa=1.0,
            discharge=fw.Discharge(
                frequency="intermittent", system="I", fixtures={"bath": 2}, units_m3_s=[0.002], continuous_m3_s=1e-4
            ),
        ),
        rules=fw.RulesChoice(rulebook="upc-2021", facts={"approval": "yes"}),
        report=fw.ReportChoice(words="us", draws=50),
    )


def test_every_part_reaches_the_core_and_comes_back(run: fw.Run, recwarn: pytest.WarningsRecorder) -> None:
    job = full_job(run)
    lateral = job.solve()
    assert lateral.job == job
    assert len(lateral.ties) >= 10
    assert set(lateral.ties.kind) == {tie._KIND for tie in _ties.TIES}


def test_inputs_do_not_change(run: fw.Run) -> None:
    with pytest.raises(AttributeError):
        run.name = "x"  # type: ignore[misc]
    with pytest.raises(ValueError, match="read-only"):
        run.counter_m[0] = 1.0
    counter = [0.0, 1.0, 2.0]
    made = fw.Run(counter_m=counter, reading_rad=[0.02] * 3)
    counter[0] = 9.0
    assert made.counter_m[0] == 0.0


def test_equal_inputs_have_equal_hashes() -> None:
    one, other = (fw.Bend(station_m=1.0, deflection_rad=0.1) for _ in range(2))
    assert (one, hash(one)) == (other, hash(other))
    assert one != fw.Bend(station_m=1.0, deflection_rad=0.2)
    assert repr(one) == f"Bend(station_m=1.0, deflection_rad=0.1, deflection_sd_rad={one.deflection_sd_rad}, radius_m=None)"


def test_slopes_in_the_place_of_angles() -> None:
    by_slope = fw.Run(counter_m=[0, 1], reading_slope=[0.02, -0.01])
    assert by_slope.reading_rad.tolist() == fw.units.slope_to_tilt([0.02, -0.01]).tolist()
    for wrong in ({}, {"reading_rad": [0.0], "reading_slope": [0.0]}):
        with pytest.raises(fw.InputError, match="give one of the two"):
            fw.Run(counter_m=[0], **wrong)  # type: ignore[arg-type]


def test_one_pipe_reaches_from_end_to_end(run: fw.Run) -> None:
    pipe = fw.Pipe.standard("SDR 35", "4 in")
    (reach,) = fw.solve(run, pipe=pipe, draws=0).job.reaches
    assert (reach.from_m, reach.to_m) == fw.solve(run, draws=0).surveyed_m
    assert reach.pipe == pipe

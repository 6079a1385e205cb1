"""One tree of errors, with what is wrong as attributes."""

from __future__ import annotations

import inspect
import pickle
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import fallwise as fw
from fallwise import _errors
from fallwise.units import deg

KINDS = [kind for _, kind in inspect.getmembers(_errors, inspect.isclass) if issubclass(kind, fw.Error)]
PARTS = ("file", "line", "row", "column", "field", "index", "value", "expected", "nearest", "station_m")


def test_one_tree() -> None:
    for kind in KINDS:
        assert issubclass(kind, fw.Error)
        assert getattr(fw, kind.__name__) is kind
    assert issubclass(fw.InputError, ValueError)
    assert issubclass(fw.FormatError, ValueError)
    assert issubclass(fw.FileError, OSError)
    assert issubclass(fw.FileMissingError, FileNotFoundError)
    assert issubclass(fw.FileThereError, FileExistsError)


@pytest.mark.parametrize("kind", KINDS)
def test_errors_pickle(kind: type[fw.Error]) -> None:
    parts: dict[str, Any] = {name: name for name in PARTS}
    again = pickle.loads(pickle.dumps(kind("said", **parts)))
    assert type(again) is kind
    assert str(again) == "said"
    assert {name: getattr(again, name) for name in PARTS} == parts


def solve(**given: Any) -> fw.Lateral:
    run = fw.Run(counter_m=[0, 1, 2, 3], reading_rad=[0.02, 0.021, 0.019, 0.02])
    return fw.solve(given.pop("runs", run), **given)


def test_parts_of_an_error() -> None:
    with pytest.raises(fw.InputError) as told:
        solve(bends=[fw.Bend(station_m=40.0, deflection_rad=0.4)], steps=[fw.Step(station_m=50.0, rise_m=0.01)])
    assert told.value.station_m in {40.0, 50.0}
    with pytest.raises(fw.InputError) as told:
        solve(instrument=fw.Instrument(zero_sd_rad=-1.0))
    assert (told.value.field, told.value.value) == ("instrument.zero_sd_rad", "-1")
    assert told.value.expected
    with pytest.raises(fw.InputError) as told:
        solve(runs=fw.Run(counter_m=[0, 1], reading_rad=[0.02]))
    assert told.value.field is not None
    with pytest.raises(fw.InputError, match="nothing to solve"):
        solve(runs=())
    ties = [fw.InvertTie(station_m=s, elevation_m=e, sd_m=0.001, station_sd_m=0.0) for s, e in ((0, 10), (1, 9), (2, 10), (3, 9))]
    with pytest.raises(fw.ContradictionError) as apart:
        solve(ties=ties)
    assert apart.value.field
    assert apart.value.value
    with pytest.raises(fw.InputError) as told:
        solve(ties=[fw.InvertTie(station_m=70.0, elevation_m=1.0, sd_m=0.01)])
    assert told.value.station_m == 70.0
    with pytest.raises(fw.TieError) as unused:
        solve(ties=[fw.DepthTie(station_m=1.0, depth_m=1.0)])
    assert unused.value.expected


@pytest.mark.parametrize(
    ("make", "nearest"),
    [
        (lambda: solve(flow="increasin"), "increasing"),
        (lambda: solve(words="u"), None),
        (lambda: solve(runs=fw.Run(counter_m=[0, 1], reading_rad=[0, 0.01], tilt_positive="Up")), "up"),  # type: ignore[arg-type]
        (lambda: solve(features=[fw.Feature(kind="joints", station_m=1.0)]), "joint"),  # type: ignore[arg-type]
        (lambda: solve(segments="fit"), "fitted"),
        (lambda: solve(rulebook="upc2021"), "upc-2021"),
        (lambda: fw.Pipe.standard("SDR 53", "4 in"), "SDR 35"),
        (lambda: fw.Pipe.standard("SDR 35", "5 in"), "4 in"),
    ],
)
def test_words_that_are_not_known_get_the_nearest(make: Any, nearest: str | None) -> None:
    with pytest.raises(fw.UnknownWordError) as told:
        make()
    assert told.value.expected
    if nearest is not None:
        assert told.value.nearest == nearest or nearest in str(told.value)


def test_wrong_types_are_named() -> None:
    with pytest.raises(fw.InputError) as told:
        solve(reaches=[fw.Reach("a", 2)])  # type: ignore[arg-type]
    assert told.value.field == "reaches[0].from_m"
    with pytest.raises(fw.InputError) as told:
        solve(ties=[fw.Bend(station_m=1, deflection_rad=0.1)])
    assert told.value.field == "ties[0]"
    with pytest.raises(fw.InputError) as told:
        fw.Job(instrument=3)  # type: ignore[arg-type]
    assert told.value.field == "instrument"
    with pytest.raises(fw.InputError):
        fw.HeightDifferenceTie(station_m=(1.0, 2.0, 3.0), rise_m=0.0, sd_m=0.1)  # type: ignore[arg-type]
    with pytest.raises(fw.InputError):
        fw.Run(counter_m=[0, 1], reading_rad=[0, 0], moving=[0.5, 1.0])
    with pytest.raises(fw.InputError):
        solve(pipe=fw.Pipe(), reaches=[fw.Reach(0, 3)])
    with pytest.raises(fw.InputError):
        fw.SegmentChoice(breaks_m=[1.0])
    with pytest.raises(TypeError):
        fw.Bend(1.0, 0.1)  # type: ignore[call-arg]


def test_files(tmp_path: Path) -> None:
    with pytest.raises(fw.FileMissingError) as missing:
        fw.read_job(tmp_path / "job.toml")
    assert missing.value.file == str(tmp_path / "job.toml")
    log = tmp_path / "log.csv"
    log.write_text("cable (m),tilt (deg)\n0,1\n1,x\n", encoding="utf-8")
    with pytest.raises(fw.FormatError) as cell:
        fw.read_log(log)
    assert (cell.value.file, cell.value.row, cell.value.column) == (str(log), 3, "tilt (deg)")
    assert cell.value.value == "x"
    job = tmp_path / "job.toml"
    job.write_text('[[run]]\nlog = "log.csv"\ntilt_positve = "up"\n', encoding="utf-8")
    with pytest.raises(fw.InputError) as told:
        fw.read_job(job)
    assert (told.value.line, told.value.column, told.value.nearest) == (3, 1, "tilt_positive")
    with pytest.raises(fw.InputError):
        fw.read_log(log, counter_unit="furlong")
    book = tmp_path / "book.toml"
    text = 'name = "ours"\ntitle = 3\nversion = "1"\njurisdiction = "here"\n'
    book.write_text(text, encoding="utf-8")
    reads: list[Callable[[], fw.Rulebook]] = [lambda: fw.Rulebook.read(book), lambda: fw.Rulebook.parse(text)]
    for read in reads:
        with pytest.raises(fw.RulebookError) as fault:
            read()
        assert fault.value.line == 2
    result = tmp_path / "result.json"
    result.write_text("{}", encoding="utf-8")
    with pytest.raises(fw.FormatError) as form:
        fw.read_result(result)
    assert form.value.file == str(result)
    with pytest.raises(fw.FileMissingError):
        fw.read_comparison(tmp_path / "none.json")


def test_faults_of_solving_have_their_place_in_the_file() -> None:
    text = (
        '[[as_built]]\nstation = "0 m"\ninvert = "1 m"\n[[as_built]]\nstation = "9 m"\ninvert = "0.8 m"\n'
        '[[step]]\nstation = "40 ft"\nrise = "1 in"\n'
    )
    with pytest.raises(fw.InputError) as told:
        fw.parse_job(text).solve()
    assert (told.value.file, told.value.line, told.value.field) == ("job.toml", 8, "step[0].station")
    assert told.value.value == "40 ft"
    assert told.value.station_m == pytest.approx(12.192)


def test_a_log_as_read(tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    log.write_text("a;b;battery\n0,0;1,2;98\n0,5;1,1;97\n", encoding="utf-8")
    read = fw.read_log(log, counter="a", counter_unit="m", reading="b", reading_unit="deg")
    assert read.run.counter_m.tolist() == [0.0, 0.5]
    assert read.run.reading_rad.tolist() == deg([1.2, 1.1]).tolist()
    assert read.extra == {"battery": ["98", "97"]}
    assert read.run.name == "log.csv"
    assert any("semicolon" in found for found in read.found)

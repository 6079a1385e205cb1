"""The page of measured times and memory is what its run wrote, and the run lets no two unlike things stand side by side."""

from __future__ import annotations

import copy
import json
import math
import re
from pathlib import Path
from typing import Any

import pytest
from peers.__main__ import THEMES, as_text
from peers.machine import required
from peers.measure import DisagreementError, Pace, Way, check, row
from peers.page import duration, page, verdict

ROOT = Path(__file__).resolve().parents[3]
MEASURED = ROOT / "benches" / "peers" / "measured.json"
PAGE = ROOT / "bindings" / "python" / "docs" / "explanation" / "speed.md"


@pytest.fixture(scope="module")
def measured() -> Any:
    return json.loads(MEASURED.read_text(encoding="utf-8"))


def test_the_page_is_what_the_run_wrote(measured: Any) -> None:
    # Where this fails, the page was edited, or `benches/peers/page.py` was and the page not made anew: see DEVELOPERS.md.
    assert PAGE.read_text(encoding="utf-8") == page(measured)
    assert MEASURED.read_text(encoding="utf-8") == as_text(measured)


def test_the_run_was_a_whole_one(measured: Any) -> None:
    assert not measured["quick"]
    assert len(measured["themes"]) == len(THEMES)
    assert [of["title"] for of in measured["processes"]] == ["Importing a package", "The whole lateral from a cold process"]
    assert len({peak["work"] for peak in measured["memory"]}) == 3
    # With the versions that the requirements file names today.
    assert {**measured["versions"], **dict.fromkeys(measured["missing"])}.keys() == {"fallwise", *required()}
    assert {name: version for name, version in measured["versions"].items() if required().get(name, version) != version} == {}


def test_every_row_was_seen_to_agree(measured: Any) -> None:
    for theme in measured["themes"]:
        for of in theme["rows"]:
            assert of["timed"][0]["way"].startswith("fallwise"), of["work"]
            assert all(timed["seconds"] for timed in of["timed"])
            checked = {timed["way"] for timed in of["timed"] if any(c["what"].startswith(timed["way"]) for c in of["checks"])}
            assert checked >= {timed["way"] for timed in of["timed"][1:]}, of["work"]
            assert all(found["difference"] <= found["tolerance"] for found in of["checks"])


def test_figures_are_on_the_page(measured: Any) -> None:
    # Any one of them would be missed.
    for theme in measured["themes"]:
        for of in theme["rows"]:
            for timed in of["timed"]:
                was = timed["seconds"], timed["processor"]
                timed["seconds"], timed["processor"] = ([second * 7 for second in of_kind] for of_kind in was)
                assert page(measured) != PAGE.read_text(encoding="utf-8"), (of["work"], timed["way"])
                timed["seconds"], timed["processor"] = was


def test_on_a_busy_machine_times_are_those_of_the_processor(measured: Any) -> None:
    quiet, loaded = copy.deepcopy(measured), copy.deepcopy(measured)
    for of, load in ((quiet, 0.1), (loaded, 5.0)):
        of["machine"]["load"], of["load_after"] = [load] * 3, 1.0
        # A figure that no other is.
        of["themes"][0]["rows"][0]["timed"][0].update(seconds=[0.01234], processor=[0.05678])
    assert "12.3 ms" in page(quiet)
    assert "56.8 ms" not in page(quiet)
    assert "12.3 ms" not in page(loaded)
    assert "56.8 ms" in page(loaded)
    assert "Other programs were at work" not in page(quiet)
    assert "Other programs were at work" in page(loaded)


def test_a_loss_is_said_as_plainly_as_a_gain() -> None:
    assert verdict(1.0, 2.0) == "2.0 times as quick"
    assert verdict(2.0, 1.0) == "2.0 times as slow"
    assert verdict(1.0, 1.05) == verdict(1.05, 1.0) == "about as quick"
    assert [duration(s) for s in (1.5, 0.0123, 4.56e-6, 7e-8, 123.4)] == ["1.50 s", "12.3 ms", "4.56 µs", "70.0 ns", "123 s"]


def test_what_disagrees_is_not_timed() -> None:
    assert check("a", 1.0, 1.0, "why")["difference"] == 1.0
    for difference in (1.1, math.nan, math.inf):
        with pytest.raises(DisagreementError, match=re.escape("a: ")):
            check("a", difference, 1.0, "why")
    ways = [Way("fallwise", lambda: 1.0), Way("another", lambda: 2.0)]
    with pytest.raises(DisagreementError, match="another"):
        row("two things", ways, lambda name, ours, theirs: [check(name, abs(ours - theirs), 0.5, "why")], QUICKEST)


def test_what_cannot_be_had_is_said() -> None:
    ways = [
        Way("fallwise", lambda: 1.0),
        Way("another", lambda: 1.0, ("no_such_package",)),
        Way("a third", lambda: 1.0, not_run="slow"),
    ]
    found = row("one thing", ways, lambda name, ours, theirs: [check(name, abs(ours - theirs), 0.0, "why")], QUICKEST)
    assert [timed["way"] for timed in found["timed"]] == ["fallwise"]
    assert [left["way"] for left in found["left_out"]] == ["another", "a third"]
    assert "no_such_package" in found["left_out"][0]["why"]


QUICKEST = Pace(quick=True, budget_s=0.0, least=1)

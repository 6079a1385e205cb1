"""What Python gives is what Rust gives, to the bit."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from conftest import demo_names

import fallwise as fw


@pytest.mark.parametrize("name", demo_names())
def test_every_file_of_the_report(
    name: str, demo: Callable[[str], Path], expected: Path, tmp_path: Path, recwarn: pytest.WarningsRecorder
) -> None:
    lateral = fw.read_job(demo(name)).solve()
    theirs = {file.name: file.read_bytes() for file in (expected / name).iterdir()}
    assert lateral.answers.to_json().encode() == theirs["result.json"]
    assert lateral.summary() in (expected / f"{name}.txt").read_text(encoding="utf-8")
    written = lateral.write_report(tmp_path / "out")
    assert {file.name: file.read_bytes() for file in written} == theirs


@pytest.mark.parametrize("name", demo_names())
def test_a_job_through_the_dataclasses(name: str, demo: Callable[[str], Path], recwarn: pytest.WarningsRecorder) -> None:
    loaded = fw.read_job(demo(name))
    job = loaded.job
    assert job.solve() == job.solve()
    ours = job.solve(rulebook=loaded.rulebook).answers.to_dict()
    theirs = loaded.solve().answers.to_dict()
    # What only the files know.
    for answers in (ours, theirs):
        del answers["inputs"], answers["warnings"]
        answers["job"]["rules"].pop("rulebook")
        for note in answers["noted"]:
            del note["photo_sha256"], note["photo_bytes"]
    assert ours == theirs


def test_two_surveys(demo: Callable[[str], Path], expected: Path, tmp_path: Path, recwarn: pytest.WarningsRecorder) -> None:
    before, after = (fw.read_job(demo(name)).solve() for name in ("before-relay", "after-relay"))
    comparison = fw.compare(before, after, same_head=True)
    written = comparison.write_report(tmp_path)
    assert {file.name: file.read_bytes() for file in written} == {
        file.name: file.read_bytes() for file in (expected / "compare").iterdir()
    }


def test_results_are_read_back(expected: Path) -> None:
    for name in demo_names():
        text = (expected / name / "result.json").read_text(encoding="utf-8")
        assert fw.read_result(expected / name / "result.json").to_json() == text
    comparison = fw.read_comparison(expected / "compare" / "comparison.json")
    assert comparison.to_json() == (expected / "compare" / "comparison.json").read_text(encoding="utf-8")


def test_the_shared_copy(demo: Callable[[str], Path], expected: Path) -> None:
    redacted = fw.read_job(demo("good-lateral")).redacted()
    assert redacted == fw.read_job(demo("good-lateral")).job.redacted()
    text, logs = redacted.to_toml()
    assert text == (expected / "redacted" / "job-redacted.toml").read_text(encoding="utf-8")
    assert fw.parse_job(text, logs).job == redacted

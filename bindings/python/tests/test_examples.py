"""The examples in README, documentation and docstrings run."""

from __future__ import annotations

import doctest
from pathlib import Path
from types import ModuleType

import pages
import pytest
from test_exports import MODULES

import fallwise as fw
from fallwise import _job, _many, _model, _ties

DOCS = Path(__file__).resolve().parents[1] / "docs"


@pytest.mark.parametrize("module", [fw, _job, _many, _model, _ties, *MODULES.values()], ids=lambda m: m.__name__)
def test_docstrings(module: ModuleType) -> None:
    assert doctest.testmod(module, optionflags=pages.FLAGS).failed == 0


def test_some_docstrings_have_examples() -> None:
    modules = [_job, _model, *MODULES.values()]
    assert sum(doctest.testmod(module, optionflags=pages.FLAGS).attempted for module in modules) > 15


@pytest.mark.parametrize("readme", ["README.md", "bindings/python/README.md"])
def test_readme(
    readme: str, root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, recwarn: pytest.WarningsRecorder
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "job").symlink_to(root / "examples" / "demos" / "two-bellies")
    assert pages.run(root / readme) > 0


PAGES = sorted(path for path in DOCS.rglob("*.md") if pages.blocks(path.read_text(encoding="utf-8")))


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(DOCS).with_suffix("").as_posix())
def test_page(page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert pages.run(page) > 0


def test_pages_were_found() -> None:
    # The page before all others, the tutorial, and whatever explains how to do something.
    found = {page.relative_to(DOCS).as_posix() for page in PAGES}
    howto = {path.relative_to(DOCS).as_posix() for path in (DOCS / "howto").glob("*.md") if path.stem != "index"}
    assert {"index.md", "tutorial.md", *howto} <= found


def test_a_wrong_page_is_found(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text("```python\nx = 2\n```\n\n```pycon\n>>> x + 1\n4\n```\n", encoding="utf-8")
    with pytest.raises(AssertionError, match="Expected"):
        pages.run(page)

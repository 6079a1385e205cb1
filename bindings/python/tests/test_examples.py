"""The examples in README and docstrings run."""

from __future__ import annotations

import doctest
import re
from pathlib import Path
from types import ModuleType

import pytest
from test_exports import MODULES

import fallwise as fw
from fallwise import _job, _many, _model, _ties

FLAGS = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE


@pytest.mark.parametrize("module", [fw, _job, _many, _model, _ties, *MODULES.values()], ids=lambda m: m.__name__)
def test_docstrings(module: ModuleType) -> None:
    assert doctest.testmod(module, optionflags=FLAGS).failed == 0


def test_some_docstrings_have_examples() -> None:
    modules = [_job, _model, *MODULES.values()]
    assert sum(doctest.testmod(module, optionflags=FLAGS).attempted for module in modules) > 15


@pytest.mark.parametrize("readme", ["README.md", "bindings/python/README.md"])
def test_readme(
    readme: str, root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, recwarn: pytest.WarningsRecorder
) -> None:
    text = (root / readme).read_text(encoding="utf-8")
    blocks = re.findall(r"```python\n(.*?)```", text, flags=re.S)
    assert blocks
    monkeypatch.chdir(tmp_path)
    (tmp_path / "job").symlink_to(root / "examples" / "demos" / "two-bellies")
    names: dict[str, object] = {}
    for block in blocks:
        exec(compile(block, readme, "exec"), names)

"""The notebooks of the examples run from a clean kernel, warn of nothing, and say what is committed in them.

``UPDATE=1`` writes what they give now into them.
"""

from __future__ import annotations

import os
import re
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from matplotlib import font_manager

# Packages without types.
nbclient: Any = import_module("nbclient")
nbformat: Any = import_module("nbformat")

ROOT = Path(__file__).resolve().parents[3]
NOTEBOOKS = sorted((ROOT / "examples" / "notebooks").glob("*.ipynb"))
# Who looks at a picture wants it small, and the same file from the same figure: without the name and version of the program.
PICTURES = {"metadata": {"Software": None}, "bbox_inches": "tight", "dpi": 90}
# Longer than a whole notebook takes on two busy cores; it ends what hangs.
SECONDS_A_CELL = 120
# Addresses, places of this machine, and times differ from run to run; nothing committed may have them.
PASSING = re.compile(r"\b0x[0-9a-f]{6,}|/tmp/|/home/|/root/|[A-Z]:\\\\|ipykernel_\d|\d\d:\d\d:\d\d")


def plain(notebook: Any) -> Any:
    """The notebook without what differs from run to run and from program to program that writes it."""
    notebook = nbformat.from_dict(notebook)  # a copy
    notebook.metadata = {
        "kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"},
        "language_info": {"file_extension": ".py", "mimetype": "text/x-python", "name": "python"},
    }
    notebook.nbformat, notebook.nbformat_minor = 4, 5
    for number, cell in enumerate(notebook.cells, start=1):
        cell.id = f"cell-{number}"
        cell.metadata = {}
        for output in cell.get("outputs", []):
            if "metadata" in output:
                output["metadata"] = {}
    return notebook


def executed(path: Path) -> Any:
    """The notebook as it comes out of a new kernel."""
    notebook = nbformat.read(path, as_version=4)
    client = nbclient.NotebookClient(
        notebook,
        timeout=SECONDS_A_CELL,
        kernel_name="python3",
        resources={"metadata": {"path": str(path.parent)}},
        coalesce_streams=True,
        record_timing=False,
    )
    return plain(client.execute())


def told(cell: Any) -> list[Any]:
    """What a cell says, with only the kinds of its pictures: their bytes follow the fonts of the machine."""
    said: list[Any] = []
    for output in cell.get("outputs", []):
        data = output.get("data", {})
        texts = {kind: text for kind, text in data.items() if not kind.startswith("image/")}
        pictures = sorted(set(data) - set(texts))
        said.append((output["output_type"], output.get("name"), output.get("text"), texts, pictures))
    return said


@pytest.fixture(autouse=True)
def clean(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No settings of whoever runs this reach the kernel; its pictures are made as `PICTURES` says."""
    for name in ("IPYTHONDIR", "JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR"):
        monkeypatch.setenv(name, str(tmp_path / name.lower()))
    for name in ("PYTHONWARNINGS", "MPLBACKEND", "MATPLOTLIBRC"):
        monkeypatch.delenv(name, raising=False)
    profile = tmp_path / "ipythondir" / "profile_default"
    profile.mkdir(parents=True)
    (profile / "ipython_kernel_config.py").write_text(f"c.InlineBackend.print_figure_kwargs = {PICTURES!r}\n", encoding="utf-8")
    # The first figure on a machine looks for its fonts, and says so if that takes long: done before the kernel starts.
    assert font_manager.fontManager.ttflist


def test_there_are_notebooks() -> None:
    """With none, the tests below would pass."""
    assert len(NOTEBOOKS) >= 4


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_notebook(path: Path) -> None:
    now = executed(path)
    if os.environ.get("UPDATE"):
        nbformat.write(now, path)
    committed = nbformat.read(path, as_version=4)
    for new, old in zip(now.cells, committed.cells, strict=True):
        complaints = [output.text for output in new.get("outputs", []) if output.get("name") == "stderr"]
        assert not complaints, f"{new.id}: {complaints}"
        assert told(new) == told(old), f"{new.id} gives something else now; UPDATE=1 accepts it"
        assert not PASSING.search(repr(told(new))), f"{new.id} says what is of this machine or moment"


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_committed_form(path: Path) -> None:
    """No settings of an editor, no times, no run by halves: what UPDATE=1 writes, and nothing else."""
    text = path.read_text(encoding="utf-8")
    committed = nbformat.reads(text, as_version=4)
    nbformat.validate(committed)
    assert nbformat.writes(plain(committed)) + "\n" == text
    code = [cell for cell in committed.cells if cell.cell_type == "code"]
    assert [cell.execution_count for cell in code] == list(range(1, len(code) + 1))


def test_a_change_is_seen(tmp_path: Path) -> None:
    """A comparison that lets everything pass would prove nothing."""
    cell = nbformat.v4.new_code_cell(
        "import warnings\nimport matplotlib.pyplot as plt\nplt.plot([0, 1])\nplt.show()\nprint(1 + 1)\nwarnings.warn('odd')"
    )
    path = tmp_path / "made.ipynb"
    nbformat.write(nbformat.v4.new_notebook(cells=[cell]), path)
    (now,) = executed(path).cells
    kinds = {output.get("name") or output["output_type"]: output for output in now.outputs}
    assert set(kinds) == {"display_data", "stdout", "stderr"}
    assert kinds["stdout"].text == "2\n"
    assert "odd" in kinds["stderr"].text
    other = nbformat.from_dict(now)
    for output in other.outputs:
        if "data" in output:
            assert "image/png" in output.data
            output.data["image/png"] = ""
    assert told(other) == told(now)
    next(output for output in other.outputs if output.get("name") == "stdout").text = "3\n"
    assert told(other) != told(now)

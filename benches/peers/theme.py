"""One theme in a process of its own: `python -m peers.theme NAME FOLDER [--quick]` prints it as JSON.

The folder is for files that a theme makes, or leaves for the processes that are measured after it.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterable
from importlib import import_module
from pathlib import Path

from .measure import FULL, QUICK, Given
from .record import Row, Theme


def run(name: str, given: Given) -> Theme:
    """Run the theme."""
    module = import_module(f".{name}", __package__)
    rows: Callable[[Given], Iterable[Row]] = module.rows
    return {"title": module.TITLE, "says": [" ".join(text.split()) for text in module.SAYS], "rows": list(rows(given))}


def main() -> None:
    """Run what the command line asks for."""
    parser = argparse.ArgumentParser()
    parser.add_argument("name")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--quick", action="store_true")
    asked = parser.parse_args()
    theme = run(asked.name, Given(QUICK if asked.quick else FULL, asked.folder))
    json.dump(theme, sys.stdout)


if __name__ == "__main__":
    main()

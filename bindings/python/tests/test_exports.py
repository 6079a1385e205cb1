"""What the core offers, Python offers, or says why not."""

from __future__ import annotations

import inspect
import re
import subprocess
import sys
import tomllib
import types
from pathlib import Path

import pytest

import fallwise as fw
from fallwise import (
    chain,
    condition,
    geographic,
    hydraulics,
    locate,
    math,
    path,
    plot,
    pool,
    profile,
    reference,
    rules,
    section,
    simulation,
    units,
)

MODULES = {
    "chain": chain,
    "condition": condition,
    "geographic": geographic,
    "hydraulics": hydraulics,
    "locate": locate,
    "math": math,
    "path": path,
    "plot": plot,
    "pool": pool,
    "profile": profile,
    "reference": reference,
    "rules": rules,
    "section": section,
    "simulate": simulation,
    "units": units,
}


def public(source: Path) -> set[str]:
    """Public functions, types and constants of the core: `module::name` or `module::Type::name`."""
    names: set[str] = set()
    root = source / "src"
    private = {"uncertainty"}
    for file in sorted(root.rglob("*.rs")):
        if file.name.endswith("_tests.rs") or file.name == "lib.rs":
            continue
        module = file.relative_to(root).parts[0].removesuffix(".rs")
        if module in private:
            continue
        text = re.split(r"^#\[cfg\(test\)\]\s*mod ", file.read_text(encoding="utf-8"), maxsplit=1, flags=re.M)[0]
        text = re.sub(r"//.*", "", text)
        of = None
        for line in text.splitlines():
            if match := re.match(r"impl(?:<[^>]*>)? (?:\w+(?:<.*>)? for )?(\w+)", line):
                of = match[1]
            elif line.startswith("}"):
                of = None
            if match := re.match(r"( *)pub (?:const fn|fn|struct|enum|trait|const|type|static) (\w+)", line):
                indent, name = match.groups()
                if not indent:
                    names.add(f"{module}::{name}")
                elif len(indent) == 4 and of is not None:
                    names.add(f"{module}::{of}::{name}")
    return names


def offered(name: str) -> bool:
    """Whether Python has it under its own name, with or without the unit that it gives."""
    module, *rest = name.split("::")
    places: list[object] = [MODULES.get(module), fw]
    last = rest[-1]
    if len(rest) == 2:
        places = [getattr(place, rest[0], None) for place in places if place is not None]
        # What hangs on the bore there are functions of a module here.
        if rest[0] == "Bore":
            places.append(section)
        if rest[0] == "Fit" or rest[0] == "Chain":
            places.append(chain)
    spelled = {last, re.sub(r"_(m|m2|m3|rad)$", "", last), f"_{last}"}
    return any(hasattr(place, spelling) for place in places if place is not None for spelling in spelled)


@pytest.fixture(scope="module")
def names(root: Path) -> set[str]:
    return public(root / "crates" / "fallwise")


@pytest.fixture(scope="module")
def listed(root: Path) -> dict[str, dict[str, str]]:
    text = (root / "bindings/python/tests/not_offered.toml").read_text(encoding="utf-8")
    tables: dict[str, dict[str, str]] = tomllib.loads(text)
    return tables


def covers(entry: str, name: str) -> bool:
    """Whether an entry, which may stand for all of a module or type (`adjust::*`), is of a name."""
    return entry == name or (entry.endswith("*") and name.startswith(entry[:-1]))


def test_everything_is_offered_or_listed(names: set[str], listed: dict[str, dict[str, str]]) -> None:
    assert len(names) > 250  # the sources were found and read
    entries = [*listed["under_another_name"], *listed["not_offered"]]
    assert [name for name in sorted(names) if not offered(name) and not any(covers(e, name) for e in entries)] == []


def test_the_list_is_true(names: set[str], listed: dict[str, dict[str, str]]) -> None:
    for entry in [*listed["under_another_name"], *listed["not_offered"]]:
        of = [name for name in names if covers(entry, name) and not offered(name)]
        assert of, f"{entry}: not in the core, or offered"
    for entry, name in listed["under_another_name"].items():
        value: object = fw
        for part in name.split("."):
            value = getattr(value, part)
        assert entry
    assert all(len(reason) > 10 for reason in listed["not_offered"].values())


def test_all_is_what_is_there() -> None:
    for module in (fw, *MODULES.values()):
        # Constants first, as the formatter has them.
        assert sorted(module.__all__, key=lambda name: (not name.isupper(), name)) == list(module.__all__)
        for name in module.__all__:
            assert hasattr(module, name)
    for name, value in vars(fw).items():
        assert name.startswith("_") or name in fw.__all__ or isinstance(value, types.ModuleType), name


def test_everything_is_documented() -> None:
    for module in (fw, *MODULES.values()):
        assert module.__doc__
        for name in module.__all__:
            value = getattr(module, name)
            if inspect.isclass(value) or callable(value):
                assert inspect.getdoc(value), name


def test_versions_agree(root: Path) -> None:
    workspace = tomllib.loads((root / "Cargo.toml").read_text(encoding="utf-8"))
    assert fw.__version__ == workspace["workspace"]["package"]["version"]


def test_import_is_light() -> None:
    code = """
import sys
import numpy
before = set(sys.modules)
import fallwise
fallwise.plot.plot_profile, fallwise.plot_plan
heavy = {name.split(".")[0] for name in set(sys.modules) - before} & {
    "pandas", "matplotlib", "mpl_toolkits", "PIL", "polars", "pyarrow", "scipy"
}
print(sorted(heavy))
"""
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert out == "[]\n"

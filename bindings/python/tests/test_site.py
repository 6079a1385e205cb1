"""The built documentation has every public name, and needs no network."""

from __future__ import annotations

import dataclasses
import inspect
import os
import re
import zlib
from html.parser import HTMLParser
from pathlib import Path

import pytest
from test_exports import MODULES

import fallwise as fw


@pytest.fixture(scope="module")
def site() -> Path:
    """Where test.sh has built it."""
    folder = os.environ.get("FALLWISE_SITE")
    if folder is None:
        pytest.skip("FALLWISE_SITE names no folder: bindings/python/test.sh builds the documentation")
    return Path(folder)


@pytest.fixture(scope="module")
def entries(site: Path) -> dict[str, str]:
    """Names with the pages that document them, from the inventory that the generator writes for other sites."""
    content = (site / "objects.inv").read_bytes()
    head, _, rest = content.partition(b"zlib.\n")
    assert head.startswith(b"# Sphinx inventory version 2")
    found: dict[str, str] = {}
    for line in zlib.decompress(rest).decode("utf-8").splitlines():
        name, domain, _priority, place, _shown = line.split(" ", 4)
        if domain.startswith("py:"):
            found[name] = place.split("#")[0]
    return found


def public_names() -> set[str]:
    """What is exported, what is exported by the public modules, and the members of classes."""
    names = {f"fallwise.{name}" for name in fw.__all__}
    names |= {f"{module.__name__}.{name}" for module in MODULES.values() for name in module.__all__}
    for name in fw.__all__:
        value = getattr(fw, name)
        if inspect.isclass(value) and value.__module__ == "fallwise":
            # A compiled class; arguments of the others are in their sections of parameters.
            names |= {f"fallwise.{name}.{member}" for member in vars(value) if not member.startswith("_")}
        elif inspect.isclass(value):
            methods = [member for member, of in vars(value).items() if inspect.isroutine(of) or isinstance(of, property)]
            names |= {f"fallwise.{name}.{member}" for member in methods if not member.startswith("_")}
    return names


def test_every_public_name_has_its_place(entries: dict[str, str]) -> None:
    names = public_names()
    assert len(names) > 300  # they were found
    assert sorted(names - set(entries)) == []


def test_every_module_has_a_page_of_its_own(entries: dict[str, str]) -> None:
    pages = {module.__name__: entries[module.__name__] for module in MODULES.values()}
    assert len(set(pages.values())) == len(pages)


class Sources(HTMLParser):
    """What a page loads."""

    def __init__(self) -> None:
        super().__init__()
        self.loads: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag in ("script", "img", "iframe", "source"):
            self.loads.append(given.get("src") or "")
        if tag == "link" and given.get("rel") in ("stylesheet", "preload", "icon", "preconnect", "dns-prefetch"):
            self.loads.append(given.get("href") or "")


def test_nothing_is_loaded_from_a_network(site: Path) -> None:
    pages = list(site.rglob("*.html"))
    assert len(pages) > 40
    loads = 0
    for page in pages:
        sources = Sources()
        sources.feed(page.read_text(encoding="utf-8"))
        loads += len(sources.loads)
        assert [source for source in sources.loads if re.match(r"(?:[a-z]+:)?//", source)] == [], page.name
    assert loads > len(pages)
    for sheet in site.rglob("*.css"):
        assert re.findall(r"(?:url\(|@import )[\"']?(?:https?:)?//[^)]*", sheet.read_text(encoding="utf-8")) == [], sheet.name


class Cells(HTMLParser):
    """First cells of the tables of columns, by the heading above."""

    def __init__(self) -> None:
        super().__init__()
        self.columns: dict[str, list[str]] = {}
        self._heading = ""
        self._at = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "h3":
            self._at, self._heading = "heading", ""
        elif tag == "tr":
            self._at = "row"
        elif tag == "code" and self._at == "row":
            self._at = "name"

    def handle_endtag(self, tag: str) -> None:
        if tag in ("h3", "code", "td"):
            self._at = ""

    def handle_data(self, data: str) -> None:
        if self._at == "heading" and not self._heading:
            self._heading = data
        elif self._at == "name":
            self.columns.setdefault(self._heading, []).append(data)


def test_columns_are_those_of_the_tables(site: Path, run: fw.Run, recwarn: pytest.WarningsRecorder) -> None:
    page = Cells()
    page.feed((site / "reference" / "tables.html").read_text(encoding="utf-8"))
    lateral = fw.solve(run, pipe=fw.Pipe.standard("SDR 35", "4 in"), rulebook="upc-2021", draws=100)
    answers, comparison, many = lateral.answers, fw.compare(lateral, lateral), fw.solve_many({"A": run}, draws=0)
    tables = {name: value for name in dir(answers) if isinstance(value := getattr(answers, name), fw.Table)}
    tables |= {
        f"comparison: {name}": getattr(comparison, name) for name in ("slopes", "heights", "profile", "bellies", "findings")
    }
    tables |= {f"many: {name}": getattr(many, name) for name in ("summary", "errors", "warnings")}
    tables |= {"bores": fw.bores(), "pool.pools": fw.pool.pools(lateral.profile)}
    plan = lateral.relay(fw.RelayChoice(min_slope=0.005))
    tables |= {f"relay.{name}": getattr(plan, name) for name in ("stretches", "pieces", "nodes", "quantities", "short")}
    towards = dataclasses.replace(
        run,
        start_azimuth_rad=0.0,
        start_azimuth_sd_rad=0.01,
        start_east_m=0.0,
        start_north_m=0.0,
        start_plan_sd_m=0.1,
    )
    tables |= {"nearest": fw.solve(towards, draws=0).nearest(0.0, 1.0)}
    assert page.columns == {name: table.columns for name, table in tables.items()}

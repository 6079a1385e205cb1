"""The columns of a table of results: names in their order from the library, meanings from the committed JSON Schema.

``.. columns:: segments`` lists those of ``Answers.segments``; ``.. columns:: comparison slopes`` those of ``Comparison.slopes``;
``.. columns:: relay stretches`` those of ``RelayAnswer.stretches``; ``.. columns:: source summary`` those of a table that no
schema has, from the comments at the struct of its rows.
"""

from __future__ import annotations

import json
import re
from functools import cache
from pathlib import Path
from typing import Any, ClassVar

from compiled import literal
from docutils import nodes
from docutils.statemachine import StringList
from sphinx.application import Sphinx
from sphinx.util.docutils import SphinxDirective
from sphinx.util.logging import getLogger

import fallwise as fw

ROOT = Path(__file__).resolve().parents[4]
SCHEMAS = ROOT / "crates" / "fallwise-files" / "schema"

logger = getLogger(__name__)

#: Tables that no schema has: file and name of the struct of their rows, and whether an id stands before them.
SOURCES = {
    "summary": ("crates/fallwise/src/answers/summary.rs", "SummaryRow", True),
    "errors": ("bindings/python/src/many.rs", "ErrorRow", True),
    "warnings": ("bindings/python/src/many.rs", "WarningRow", True),
    "bores": ("bindings/python/src/job.rs", "Row", False),
    "pools": ("crates/fallwise/src/pool/mod.rs", "Pool", False),
    "nearest": ("crates/fallwise/src/answers/place.rs", "NearestRow", False),
}


@cache
def results() -> tuple[fw.Answers, fw.Comparison]:
    """Any lateral: empty tables have their columns too."""
    lateral = fw.Lateral.from_segments(breaks_m=[0.0, 10.0, 20.0], tilt_rad=[0.02, 0.01])
    return lateral.answers, fw.compare(lateral, lateral)


def planned() -> fw.RelayAnswer:
    """The same of a plan of re-laying."""
    lateral = fw.Lateral.from_segments(breaks_m=[0.0, 10.0, 20.0], tilt_rad=[0.02, 0.01])
    return lateral.relay(fw.RelayChoice(min_slope=0.005))


@cache
def schema(kind: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((SCHEMAS / f"{kind}.schema.json").read_text(encoding="utf-8"))
    return found


def named(reference: str) -> str:
    return reference.rsplit("/", 1)[-1]


def row_type(kind: str, table: str) -> str:
    """Which definition the rows of a table are of."""
    if table == "without":
        return "WithoutRow"
    of = (schema("result")["$defs"]["RelayAnswer"] if kind == "relay" else schema(kind))["properties"][table]
    if "items" in of:
        return named(of["items"]["$ref"])
    return named(of["$ref"] if "$ref" in of else of["anyOf"][0]["$ref"])


RUST = {"f64": "number", "usize": "whole number", "String": "text", "bool": "truth value"}


def sourced(table: str) -> list[tuple[str, str, str]]:
    """Name, what it holds and meaning of each column of a table of :data:`SOURCES`."""
    path, struct, keyed = SOURCES[table]
    text = (ROOT / path).read_text(encoding="utf-8")
    body = re.search(rf"^ *(?:pub )?struct {struct} \{{\n(.*?)^ *\}}", text, flags=re.M | re.S)
    if body is None:
        raise ValueError(f"{path} has no struct {struct}")
    rows = [("id", "text", "Id of the lateral.")] if keyed else []
    said: list[str] = []
    for line in map(str.strip, body[1].splitlines()):
        if line.startswith("///"):
            said.append(line.removeprefix("///").strip())
        elif field := re.fullmatch(r"(?:pub )?(\w+): (Option<)?(\w+)>?,", line):
            if not said:
                logger.warning("%s: the column %s has no comment", path, field[1])
            holds = RUST[field[3]] + (", or nothing" if field[2] else "")
            # Links within the Rust documentation become plain names.
            rows.append((field[1], holds, re.sub(r"\[(`[^`]+`)\]", r"\1", " ".join(said))))
            said = []
    return rows


WORDS = {"number": "number", "integer": "whole number", "string": "text", "boolean": "truth value"}


def kind_of(part: dict[str, Any], definitions: dict[str, Any]) -> tuple[str, bool]:
    """What stands in a column, and whether it may be absent."""
    absent = False
    if "anyOf" in part:
        absent = any(one.get("type") == "null" for one in part["anyOf"])
        part = next(one for one in part["anyOf"] if one.get("type") != "null")
    if "$ref" in part:
        part = definitions[named(part["$ref"])]
    kind = part.get("type", "string")
    if isinstance(kind, list):
        absent = absent or "null" in kind
        kind = next(one for one in kind if one != "null")
    return WORDS.get(kind, "text"), absent


class Columns(SphinxDirective):
    """A list of the columns of a table."""

    has_content = False
    required_arguments = 1
    optional_arguments = 1
    option_spec: ClassVar[dict[str, Any]] = {}

    def run(self) -> list[nodes.Node]:
        kind, table = ("result", self.arguments[0]) if len(self.arguments) == 1 else self.arguments
        lines = [
            ".. list-table::",
            "   :header-rows: 1",
            "   :widths: 26 16 58",
            "   :class: columns",
            "",
            "   * - column",
            "     - holds",
            "     - meaning",
        ]
        for name, holds, meaning in sourced(table) if kind == "source" else self.described(kind, table):
            lines += [f"   * - ``{name}``", f"     - {holds}", f"     - {literal([meaning])[0]}"]
        node = nodes.section()
        node.document = self.state.document
        self.state.nested_parse(StringList(lines, source=f"columns {table}"), 0, node)
        return node.children

    def described(self, kind: str, table: str) -> list[tuple[str, str, str]]:
        """The same of a table that the schema has."""
        file = "result" if kind == "relay" else kind
        self.env.note_dependency(str(SCHEMAS / f"{file}.schema.json"))
        answers, comparison = results()
        of_kind: dict[str, Any] = {"result": answers, "comparison": comparison, "relay": planned()}
        definitions = schema(file)["$defs"]
        of = definitions[row_type(kind, table)]
        rows: list[tuple[str, str, str]] = []
        for name in getattr(of_kind[kind], table).columns:
            part = of["properties"][name]
            holds, absent = kind_of(part, definitions)
            rows.append((name, holds + (", or nothing" if absent else ""), " ".join(part["description"].split())))
        return rows


def setup(app: Sphinx) -> dict[str, bool]:
    app.add_directive("columns", Columns)
    return {"parallel_read_safe": True, "parallel_write_safe": True}

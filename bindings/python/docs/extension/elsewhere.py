"""Pages whose text lies in the repository already, beside what it documents: the page has a head, and the text goes under it."""

from __future__ import annotations

import re
from pathlib import Path

from pygments.lexers.special import TextLexer
from sphinx.application import Sphinx
from sphinx.util.logging import getLogger

ROOT = Path(__file__).resolve().parents[4]

PAGES = {
    "explanation/model": "crates/fallwise/docs/uncertainty.md",
    "explanation/coverage": "crates/fallwise/docs/coverage.md",
    "reference/files": "crates/fallwise-files/README.md",
}

#: What the Rust documentation links to, and where it is here.
LINKS = {
    "crate::Instrument": "{py:class}`{} <fallwise.Instrument>`",
    "crate::Tie": "{doc}`{} <../reference/ties>`",
    "crate::model::Tie": "{doc}`{} <../reference/ties>`",
    "crate::what_next": "{py:meth}`{} <fallwise.Lateral.what_next>`",
    "crate::compare()": "{py:func}`{} <fallwise.compare>`",
    "crate::uncertainty::coverage": "{doc}`{} <coverage>`",
    # Inside a solved lateral; Python has no name for them.
    "crate::adjust": "{}",
    "crate::chain::average()": "{}",
}


def linked(match: re.Match[str]) -> str:
    text, target = match.groups()
    to = LINKS.get(target)
    if to is None:
        getLogger(__name__).warning("no place for the link to %s", target)
        return text
    plain = text.strip("`")
    return text if to == "{}" else to.replace("{}", plain)


def read(app: Sphinx, docname: str, content: list[str]) -> None:
    """Puts the text under the page's own head: without its title, or, where it has several, with all headings one lower."""
    if docname not in PAGES:
        return
    path = ROOT / PAGES[docname]
    app.env.note_dependency(str(path))
    text = path.read_text(encoding="utf-8")
    # Code blocks have comments that look like headings.
    parts = re.split(r"(^```.*?^```$)", text, flags=re.M | re.S)
    prose = "".join(part for part in parts[::2])
    tops = len(re.findall(r"^# ", prose, flags=re.M))
    for i in range(0, len(parts), 2):
        part = parts[i]
        of = (r"^# .*\n", "") if tops == 1 else (r"^(#+) ", r"#\1 ")
        part = re.sub(*of, part, flags=re.M)
        parts[i] = re.sub(r"\[([^\]]+)\]\((crate::[\w:]+(?:\(\))?)\)", linked, part)
    content[0] = content[0].rstrip() + "\n\n" + "".join(parts)


def setup(app: Sphinx) -> dict[str, bool]:
    app.connect("source-read", read)
    # A log as text: there is nothing in it to be coloured.
    app.add_lexer("csv", TextLexer)
    return {"parallel_read_safe": True, "parallel_write_safe": True}

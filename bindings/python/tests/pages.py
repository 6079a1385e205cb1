"""Pages whose examples run: ``python`` blocks are executed, ``pycon`` blocks print what stands there; one page, one namespace."""

from __future__ import annotations

import doctest
import re
from pathlib import Path

FLAGS = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE


def blocks(text: str) -> list[tuple[str, str, int]]:
    """Kind, text and line of each block, in order."""
    found = re.finditer(r"^```(python|pycon)\n(.*?)^```$", text, flags=re.M | re.S)
    return [(match[1], match[2], text.count("\n", 0, match.start(2))) for match in found]


def run(page: Path) -> int:
    """Runs the blocks of a page in the folder that is current; how many there are."""
    names: dict[str, object] = {"__name__": "page"}
    found = blocks(page.read_text(encoding="utf-8"))
    for kind, text, line in found:
        if kind == "python":
            exec(compile("\n" * line + text, str(page), "exec"), names)
            continue
        examples = doctest.DocTestParser().get_examples(text)
        assert examples, f"{page.name}, line {line}: nothing to run"
        test = doctest.DocTest(examples, names, page.name, str(page), line, text)
        said: list[str] = []
        # Names that one block binds stay for the next.
        doctest.DocTestRunner(optionflags=FLAGS).run(test, out=said.append, clear_globs=False)
        assert not said, "".join(said)
        names.update(test.globs)
    return len(found)

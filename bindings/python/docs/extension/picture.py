"""A picture that a page's own examples make: ``{picture} lateral`` is the profile of what they have called so until there."""

from __future__ import annotations

import os
import re
import tempfile
from html import escape
from pathlib import Path
from typing import Any, ClassVar

from docutils import nodes
from sphinx.application import Sphinx
from sphinx.util.docutils import SphinxDirective


class Picture(SphinxDirective):
    """The profile of a lateral, with a text for those who do not see it."""

    has_content = False
    required_arguments = 1
    final_argument_whitespace = False
    option_spec: ClassVar[dict[str, Any]] = {}

    def run(self) -> list[nodes.Node]:
        page = Path(self.env.doc2path(self.env.docname))
        above = "\n".join(page.read_text(encoding="utf-8").splitlines()[: self.lineno - 1])
        names: dict[str, Any] = {}
        here = Path.cwd()
        with tempfile.TemporaryDirectory() as folder:
            # What they write goes with the folder.
            os.chdir(folder)
            try:
                for block in re.findall(r"^```python\n(.*?)^```$", above, flags=re.M | re.S):
                    exec(compile(block, str(page), "exec"), names)
            finally:
                os.chdir(here)
        lateral = names[self.arguments[0]]
        svg = re.sub(r"^<\?xml.*?\?>\s*", "", lateral.profile_svg())
        text = f'<figure class="picture" role="img" aria-label="{escape(lateral.sentence)}">{svg}</figure>'
        return [nodes.raw("", text, format="html")]


def setup(app: Sphinx) -> dict[str, bool]:
    app.add_directive("picture", Picture)
    # The folder that is current is that of the whole program.
    return {"parallel_read_safe": False, "parallel_write_safe": True}

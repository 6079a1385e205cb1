"""How the documentation is built (see DEVELOPERS.md). Nothing is fetched, and the pages work without a network."""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE / "extension"))

import fallwise  # noqa: E402

project = "fallwise for Python"
author = "fallwise maintainers"
copyright = "fallwise maintainers; MIT or Apache-2.0"
version = release = fallwise.__version__

extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon", "compiled", "columns", "elsewhere", "picture"]
source_suffix = {".rst": "restructuredtext", ".md": "markdown"}
exclude_patterns = ["extension", "static"]

html_theme = "furo"
html_title = f"fallwise {version} for Python"
html_static_path = ["static"]
html_css_files = ["site.css"]
html_copy_source = False
html_show_sphinx = False
html_theme_options = {"navigation_with_keys": True}
pygments_style = "friendly"

myst_heading_anchors = 3
myst_enable_extensions = ["deflist", "fieldlist"]

# Docstrings have the sections of numpydoc. Types there are words for readers, such as "array_like", and no names to be found.
napoleon_google_docstring = False
napoleon_use_param = False
napoleon_use_rtype = False
napoleon_custom_sections = [("Attributes", "params_style"), ("Warns", "returns_style")]

autodoc_member_order = "bysource"
autodoc_typehints = "signature"
autodoc_typehints_format = "short"
autodoc_class_signature = "mixed"
python_use_unqualified_type_names = True
python_maximum_signature_line_length = 100
toc_object_entries_show_parents = "hide"

nitpicky = True
# Names that have no page here, and why.
nitpick_ignore_regex = [
    # Other packages, whose inventories would have to be fetched.
    ("py:.*", r"(np|npt|numpy|numpy\.typing|pd|pandas|matplotlib)\..*"),
    ("py:class", r"NDArray|ArrayLike|Axes|DataFrame"),
    # The standard library, likewise.
    ("py:.*", r"(os|pathlib|collections|collections\.abc|typing|decimal)\..*"),
    (
        "py:(class|exc)",
        r"Any|Callable|Decimal|InitVar|Iterable|Iterator|Literal|Mapping|NamedTuple|Path|PathLike|Self|Sequence|TypeAlias|object|None|"
        r"bool|bytes|dict|float|int|list|str|tuple|type|Exception|ValueError|OSError|RuntimeError|UserWarning|FileNotFoundError|"
        r"FileExistsError|Protocol|Generic",
    ),
    # Aliases of literal words and of unions, and what several classes have in common: private, and said in words beside the
    # argument.
    (
        "py:class",
        r"(fallwise\.)?(_\w+\.)?_?(AsBuiltUse|Corner|Decimal|FeatureKind|Floats|Flow|ManyRuns|Method|Paper|SizeUnit|TableLike|Tie|"
        r"TiltPositive|Toward|Units|Words|Work|Pair|Seen|Given|Columns|Plain|Record)",
    ),
]

"""The reference of what is compiled: signatures from the stub, texts from ``__doc__``, put together as autodoc would.

``.. compiled:: fallwise Lateral Table`` documents those names of a module.
"""

from __future__ import annotations

import ast
import inspect
import re
from copy import deepcopy
from pathlib import Path
from typing import Any, ClassVar

from docutils import nodes
from docutils.statemachine import StringList
from sphinx.addnodes import pending_xref
from sphinx.application import Sphinx
from sphinx.environment import BuildEnvironment
from sphinx.ext.napoleon import NumpyDocstring
from sphinx.util.docutils import SphinxDirective
from sphinx.util.logging import getLogger
from sphinx.util.nodes import make_refnode

import fallwise._core as core

logger = getLogger(__name__)

STUB = Path(__file__).resolve().parents[2] / "python" / "fallwise" / "_core.pyi"

#: Where a compiled name is offered a second time.
ALSO = {
    "Profile": "fallwise.profile",
    "Check": "fallwise.rules",
    "Rulebook": "fallwise.rules",
    "rulebooks": "fallwise.rules",
}
#: Classes whose tables are on the page of columns, and how their labels begin.
TABLES = {"Lateral": "columns-", "Answers": "columns-", "Comparison": "columns-comparison-"}
#: Special methods that are part of what a class offers.
SPECIAL = {"__arrow_c_schema__", "__arrow_c_array__", "__arrow_c_stream__"}


def literal(lines: list[str]) -> list[str]:
    """Names in single backticks, as numpydoc and Rust have them, as literals; roles and what is literal already stay."""
    return [re.sub(r"(?<![:`\w])`([^`\n]+)`(?![`_])", r"``\1``", line) for line in lines]


class Stub:
    """Classes and functions of the stub, overloads together."""

    def __init__(self) -> None:
        tree = ast.parse(STUB.read_text(encoding="utf-8"))
        self.classes = {node.name: node for node in tree.body if isinstance(node, ast.ClassDef)}
        self.functions = self.grouped(tree.body)

    @staticmethod
    def grouped(body: list[ast.stmt]) -> dict[str, list[ast.FunctionDef]]:
        found: dict[str, list[ast.FunctionDef]] = {}
        for node in body:
            if isinstance(node, ast.FunctionDef):
                found.setdefault(node.name, []).append(node)
        return found


def written(node: ast.expr | None) -> str:
    text = "" if node is None else ast.unparse(node)
    return text.replace("_Floats", "NDArray[np.float64]")


def decorated(node: ast.FunctionDef, name: str) -> bool:
    return any(isinstance(by, ast.Name) and by.id == name for by in node.decorator_list)


def signature(node: ast.FunctionDef, *, bound: bool) -> str:
    """Arguments and what is given back; ``self`` or ``cls`` left out."""
    arguments = deepcopy(node.args)
    if bound:
        # With it goes a "/" that stood after it alone.
        del (arguments.posonlyargs or arguments.args)[0]
    text = ast.unparse(arguments).replace("_Floats", "NDArray[np.float64]")
    back = written(node.returns)
    return f"({text})" + (f" -> {back}" if back and node.name != "__new__" else "")


class Compiled(SphinxDirective):
    """Documents names of a module that are compiled."""

    has_content = False
    required_arguments = 1
    optional_arguments = 400
    final_argument_whitespace = False
    option_spec: ClassVar[dict[str, Any]] = {}

    def run(self) -> list[nodes.Node]:
        module, *names = self.arguments
        self.env.note_dependency(str(STUB))
        stub = Stub()
        lines: list[str] = []
        for name in names:
            # A word of ours could stand at several places; where it is documented, it is offered.
            getattr(__import__(module, fromlist=["_"]), name)
            if name in stub.classes:
                lines += self.of_class(module, stub.classes[name])
            else:
                lines += self.of_function(module, stub.functions[name])
        content = StringList(lines, source=f"compiled {module}")
        return self.parse_content(content)

    def parse_content(self, content: StringList) -> list[nodes.Node]:
        node = nodes.section()
        node.document = self.state.document
        self.state.nested_parse(content, 0, node, match_titles=False)
        return node.children

    def text(self, value: Any, what: str) -> list[str]:
        """The docstring, indented; a missing one is a warning."""
        doc = inspect.getdoc(value)
        if not doc:
            logger.warning("%s has no docstring", what)
            return []
        parsed = NumpyDocstring("\n".join(literal(doc.splitlines())), self.config).lines()
        return ["   " + line for line in parsed]

    def head(self, directive: str, name: str, signatures: list[str], options: dict[str, str]) -> list[str]:
        first, *rest = [f"{name}{signature}" for signature in signatures]
        lines = [f".. {directive}:: {first}"]
        lines += [f"{' ' * (len(directive) + 6)}{more}" for more in rest]
        return lines + [f"   :{option}: {value}".rstrip() for option, value in options.items()] + [""]

    def of_function(self, module: str, overloads: list[ast.FunctionDef]) -> list[str]:
        name = overloads[0].name
        options = {"module": module}
        if name in ALSO:
            options["canonical"] = f"{ALSO[name]}.{name}"
        head = self.head("py:function", name, [signature(node, bound=False) for node in overloads], options)
        return head + self.text(getattr(core, name), f"{module}.{name}") + [""]

    def of_class(self, module: str, node: ast.ClassDef) -> list[str]:
        cls = getattr(core, node.name)
        methods = Stub.grouped(node.body)
        new = methods.pop("__new__", None)
        options = {"module": module, "final": ""}
        if node.name in ALSO:
            options["canonical"] = f"{ALSO[node.name]}.{node.name}"
        lines = self.head("py:class", node.name, [signature(new[0], bound=True) if new else ""], options)
        lines += [*self.text(cls, node.name), ""]
        for name, overloads in methods.items():
            if name.startswith("_") and name not in SPECIAL:
                continue
            lines += ["   " + line for line in self.of_member(cls, name, overloads)] + [""]
        return lines

    def of_member(self, cls: Any, name: str, overloads: list[ast.FunctionDef]) -> list[str]:
        first = overloads[0]
        if decorated(first, "property"):
            head = self.head("py:property", name, [""], {"type": written(first.returns)})
            text = self.text(getattr(cls, name), f"{cls.__name__}.{name}")
            of = TABLES.get(cls.__name__)
            if text and of is not None and written(first.returns) == "Table":
                # At the end of the first paragraph.
                last = next((i for i, line in enumerate(text) if not line.strip()), len(text)) - 1
                text[last] += f" :ref:`Columns <{of}{name}>`."
            return head + text
        else:
            static = decorated(first, "staticmethod")
            options = {"staticmethod": ""} if static else {}
            head = self.head("py:method", name, [signature(node, bound=not static) for node in overloads], options)
        return head + self.text(getattr(cls, name), f"{cls.__name__}.{name}")


class Also(SphinxDirective):
    """Names of the package that a module of it has too: ``.. also:: fallwise.plot plot_profile`` finds them under either."""

    has_content = False
    required_arguments = 2
    optional_arguments = 400
    option_spec: ClassVar[dict[str, Any]] = {}

    def run(self) -> list[nodes.Node]:
        module, *names = self.arguments
        domain = self.env.domains.python_domain
        for name in names:
            entry = domain.objects[f"fallwise.{name}"]
            domain.note_object(f"{module}.{name}", entry.objtype, entry.node_id, aliased=True)
        return []


def shorter(app: Sphinx, what: str, name: str, obj: Any, options: object, signature: str | None, back: str | None) -> Any:
    """Arguments of a class without their types, which its section of parameters gives in words; none of what is only caught."""
    if what == "exception":
        return ("", None) if signature else None
    if what != "class" or not signature or signature == "()":
        return None
    try:
        arguments = inspect.signature(obj)
    except (TypeError, ValueError):
        return None
    bare = [one.replace(annotation=inspect.Parameter.empty) for one in arguments.parameters.values()]
    return str(arguments.replace(parameters=bare, return_annotation=inspect.Signature.empty)), None


def clean(app: Sphinx, what: str, name: str, obj: object, options: object, lines: list[str]) -> None:
    """The same backticks in what autodoc reads."""
    lines[:] = literal(lines)


def elsewhere(app: Sphinx, env: BuildEnvironment, node: pending_xref, contnode: nodes.Element) -> nodes.Node | None:
    """Names as the sources and the stub write them (``_core.Lateral``, ``Run`` from a module), where they are documented."""
    if node.get("refdomain") != "py":
        return None
    target = str(node.get("reftarget", ""))
    last = target.removeprefix("fallwise.").split(".")
    while last and last[0].startswith("_"):
        del last[0]
    domain = env.domains.python_domain
    for candidate in (f"fallwise.{'.'.join(last)}", f"fallwise.{last[-1]}" if last else ""):
        if candidate != target and candidate in domain.objects:
            entry = domain.objects[candidate]
            return make_refnode(app.builder, str(node["refdoc"]), entry.docname, entry.node_id, contnode, candidate)
    return None


def setup(app: Sphinx) -> dict[str, bool]:
    app.add_directive("compiled", Compiled)
    app.add_directive("also", Also)
    # Before napoleon, which comes at 500.
    app.connect("autodoc-process-docstring", clean, priority=400)
    app.connect("autodoc-process-signature", shorter)
    app.connect("missing-reference", elsewhere)
    return {"parallel_read_safe": True, "parallel_write_safe": True}

"""What inputs have in common: to the core's form and back, by the names of their fields."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields
from typing import Any, ClassVar, Self

from . import _core

#: What the core takes where nothing is said.
DEFAULTS: dict[str, Any] = _core._defaults()


def as_plain(value: Any) -> Any:
    """A value as the core reads it: dicts, lists, numbers and texts."""
    if isinstance(value, Plain):
        return value._to_core()
    if isinstance(value, str):
        return value
    if isinstance(value, Mapping):
        return {name: as_plain(part) for name, part in value.items()}
    # Numbers of numpy and the like.
    if hasattr(value, "tolist"):
        return value.tolist()
    if isinstance(value, Sequence):
        return [as_plain(part) for part in value]
    return value


class Record:
    """Equality and text of a dataclass, arrays among its fields or not.

    Here, and not made anew for each class, which would take most of the time of the import.
    """

    def _parts(self) -> dict[str, Any]:
        return {part.name: getattr(self, part.name) for part in fields(self)}  # type: ignore[arg-type]

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        theirs = other._parts()
        return all(_same(value, theirs[name]) for name, value in self._parts().items())

    def __hash__(self) -> int:
        return hash(tuple(self._parts().values()))

    def __repr__(self) -> str:
        return f"{type(self).__name__}({', '.join(f'{name}={value!r}' for name, value in self._parts().items())})"


class Plain(Record):
    """An input: to the core's form and back, field by field."""

    #: Classes of the fields that are inputs themselves.
    _NESTED: ClassVar[dict[str, Any]] = {}

    def _to_core(self) -> dict[str, Any]:
        """Its dict; what is ``None`` is left out, so that the core's default holds."""
        return {name: as_plain(value) for name, value in self._parts().items() if value is not None}

    @classmethod
    def _from_core(cls, plain: dict[str, Any]) -> Self:
        def part(name: str, value: Any) -> Any:
            of = cls._NESTED.get(name)
            if isinstance(value, list):
                return tuple(value if of is None else map(of._from_core, value))
            return value if of is None or value is None else of._from_core(value)

        return cls(**{name: part(name, value) for name, value in plain.items() if value is not None})


def tuples(of: Any, *names: str) -> None:
    """Lists that were given become tuples: what is frozen does not change."""
    for name in names:
        value = getattr(of, name)
        if not isinstance(value, tuple):
            object.__setattr__(of, name, tuple(value))


def _same(one: Any, other: Any) -> bool:
    if hasattr(one, "shape") and hasattr(other, "shape"):
        return bool(one.shape == other.shape and (one == other).all())
    return bool(one == other)


def given(plain: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in plain.items() if value is not None}

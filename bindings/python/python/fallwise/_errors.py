"""Everything that can go wrong, in one tree under :class:`Error`, and the category of warnings."""

from __future__ import annotations

from typing import Any

__all__ = [
    "ContradictionError",
    "Error",
    "FileError",
    "FileMissingError",
    "FileThereError",
    "FormatError",
    "InputError",
    "InternalError",
    "RulebookError",
    "TieError",
    "UnknownWordError",
    "Warning",
]


class Error(Exception):
    """Whatever this library refuses, said so that it can be put right.

    Every part that is not known is ``None``.

    Attributes
    ----------
    file : str or None
        The file at fault.
    line, row : int or None
        Line of a text, or row of a table, both counted from 1 as lines of the file.
    column : int, str or None
        Column of a text, from 1, or the name of a table's column.
    field : str or None
        The key or argument at fault, such as ``"runs[0].counter_m"``.
    index : int or None
        Position in an array, from 0.
    value : str or None
        What was given.
    expected : str or None
        What would have been accepted.
    nearest : str or None
        The nearest known word, where a word is not known and one is near.
    station_m : float or None
        Where along the lateral, m.
    """

    def __init__(
        self,
        message: str = "",
        *,
        file: str | None = None,
        line: int | None = None,
        row: int | None = None,
        column: int | str | None = None,
        field: str | None = None,
        index: int | None = None,
        value: str | None = None,
        expected: str | None = None,
        nearest: str | None = None,
        station_m: float | None = None,
    ) -> None:
        super().__init__(message)
        self.file = file
        self.line = line
        self.row = row
        self.column = column
        self.field = field
        self.index = index
        self.value = value
        self.expected = expected
        self.nearest = nearest
        self.station_m = station_m

    def __reduce__(self) -> tuple[Any, ...]:
        return _again, (type(self), str(self), dict(self.__dict__))


def _again(kind: type[Error], message: str, parts: dict[str, Any]) -> Error:
    error = kind(message)
    error.__dict__.update(parts)
    return error


class InputError(Error, ValueError):
    """A value that cannot be used."""


class UnknownWordError(InputError):
    """A word that is not one of those known; ``nearest`` has the nearest of them."""


class TieError(InputError):
    """A tie that cannot be used."""


class ContradictionError(InputError):
    """Runs, or ties, that cannot all be true with the errors stated."""


class RulebookError(InputError):
    """A rulebook that cannot be read."""


class FormatError(InputError):
    """A file whose content is not what it should be; ``line`` or ``row`` and ``column`` say where."""


class FileError(Error, OSError):
    """A failure of the operating system with a file."""

    def __str__(self) -> str:
        return str(self.args[0]) if self.args else ""


class FileMissingError(FileError, FileNotFoundError):
    """A file that is not there."""


class FileThereError(FileError, FileExistsError):
    """A file that is there already; nothing was written."""


class InternalError(Error, RuntimeError):
    """A fault in the library itself."""


class Warning(UserWarning):
    """Odd but usable input. Issued once when a job is solved."""

"""Logs of cameras: tables in text, read into a run."""

from __future__ import annotations

from os import PathLike
from typing import Any, Literal, NamedTuple

from . import _core
from ._model import Run


class Log(NamedTuple):
    """A log as read.

    Attributes
    ----------
    run : Run
        Counter, readings and what else the head tells.
    extra : dict of str to list of str
        The columns that are none of those of a run, as text.
    found : list of str
        What was found rather than given: delimiter, decimal mark, columns and units.
    warnings : list of str
        Odd but usable input.
    """

    run: Run
    extra: dict[str, list[str]]
    found: list[str]
    warnings: list[str]


def read_log(
    path: str | PathLike[str],
    *,
    counter: str | None = None,
    counter_unit: str | None = None,
    reading: str | None = None,
    reading_unit: str | None = None,
    time: str | None = None,
    time_unit: str | None = None,
    moving: str | None = None,
    roll: str | None = None,
    roll_unit: str | None = None,
    temperature: str | None = None,
    temperature_unit: str | None = None,
    encoding: Literal["utf-8", "utf-16", "latin-1"] | None = None,
    delimiter: Literal["comma", "semicolon", "tab"] | None = None,
    decimal: Literal["point", "comma"] | None = None,
) -> Log:
    """Read a camera's log (CSV). What is not given is found in the header, or is an error: no unit is guessed.

    Parameters
    ----------
    path : path-like
        The file.
    counter, reading, time, moving, roll, temperature : str, optional
        Names of the columns.
    counter_unit, reading_unit, time_unit, roll_unit, temperature_unit : str, optional
        Their units, where the header does not say.
    encoding, delimiter, decimal : str, optional
        How the text is written; absent: found.

    Returns
    -------
    Log
        The run, the other columns, and what was found.

    Raises
    ------
    FormatError
        What is wrong, with `row` and `column`.
    FileMissingError
        There is no such file.
    """
    given: dict[str, Any] = {name: value for name, value in locals().items() if name != "path" and value is not None}
    run, beside = _core._read_log(path, given)
    return Log(run, beside["extra"], beside["found"], beside["warnings"])

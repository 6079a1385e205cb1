"""A stream of tables cut anew, so that no lateral lies in two of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby
from typing import Any, TypeAlias

import numpy as np

from ._errors import InputError, UnknownWordError
from ._many import TableLike, _column, _names

#: Columns by their names: arrays of numbers, lists of texts.
_Part: TypeAlias = dict[str, Any]


def whole_laterals(batches: Iterable[TableLike], *, by: str = "lateral_id") -> Iterator[_Part]:
    """Cut a stream of tables anew, so that no lateral lies in two of them: what a file or an engine hands out ends anywhere.

    The rows of a lateral must stand together, as they do where the stream is sorted by id: the last lateral of a table waits for
    the next table. Half a lateral would be solved like a whole one, so an id that comes again is an error. Held at once are one
    table, the lateral that waits, and the ids that have been.

    Parameters
    ----------
    batches : iterable of tables
        Record batches of Arrow, data frames, mappings of columns; all with the same columns.
    by : str
        Name of the column that says which lateral a row is of. A row without an id goes with the rows before it.

    Yields
    ------
    dict
        Columns by their names, as :func:`read_runs` takes them: at most one table for each that came, and one at the end.

    Raises
    ------
    InputError
        An id comes again after rows of others; columns that differ from those of the first table.
    UnknownWordError
        No column has that name.

    Examples
    --------
    >>> import fallwise as fw
    >>> first = {"lateral_id": ["A", "A", "B"], "cable (m)": [0.0, 1.0, 0.0], "tilt (deg)": [1.2, 1.1, 0.9]}
    >>> second = {"lateral_id": ["B", "C", "C"], "cable (m)": [1.0, 0.0, 1.0], "tilt (deg)": [1.0, 1.4, 1.5]}
    >>> for part in fw.whole_laterals([first, second]):
    ...     print(list(fw.read_runs(part)))
    ['A']
    ['B', 'C']
    """
    finished: set[str] = set()
    waiting: _Part = {}
    for table in batches:
        part = _joined(waiting, _read(table, by))
        ids = [(name or "").strip() for name in part[by]]
        cut = _start_of_last(ids)
        for name in _in_order(ids[:cut]):
            if name in finished:
                raise _again(by, name)
            finished.add(name)
        # Seen now, and not only when the rows that follow are.
        if cut < len(ids) and (last := ids[cut]) in finished:
            raise _again(by, last)
        if cut:
            yield _rows(part, 0, cut)
        waiting = _rows(part, cut, len(ids))
    if waiting and len(waiting[by]):
        yield waiting


def _read(table: Any, by: str) -> _Part:
    names = _names(table)
    if by not in names:
        raise UnknownWordError(
            f'there is no column "{by}"; the columns: {", ".join(names)}', field="by", value=by, expected=", ".join(names)
        )
    part = {name: _column(table, name, as_text=name == by) for name in names}
    lengths = {len(column) for column in part.values()}
    if len(lengths) > 1:
        raise InputError(f"batches: columns of {sorted(lengths)} cells, expected as many in each", field="batches")
    return part


def _start_of_last(ids: list[str]) -> int:
    """Where the rows of the last id begin; rows without an id go with those before them."""
    last = next((name for name in reversed(ids) if name), "")
    at = len(ids)
    while at and ids[at - 1] in (last, ""):
        at -= 1
    # Not of the last id, what stands before its first row.
    while at < len(ids) and not ids[at]:
        at += 1
    return at


def _in_order(ids: list[str]) -> Iterator[str]:
    """Each id once for each block of its rows."""
    return (name for name, _ in groupby(filter(None, ids)))


def _again(by: str, name: str) -> InputError:
    return InputError(
        f'batches: {by} "{name}" comes again after rows of others', field="batches", value=name, expected="rows sorted by id"
    )


def _joined(first: _Part, second: _Part) -> _Part:
    if not first:
        return second
    if first.keys() != second.keys():
        there, expected = ", ".join(second), ", ".join(first)
        message = f"batches: a table has the columns {there}, the first has {expected}"
        raise InputError(message, field="batches", value=there, expected=expected)
    return {name: _column_joined(first[name], second[name]) for name in first}


def _column_joined(first: Any, second: Any) -> Any:
    if isinstance(first, np.ndarray) and isinstance(second, np.ndarray):
        return np.concatenate([first, second])
    # Numbers in one table and texts in the other, such as where all cells are empty.
    one, other = (list(part) for part in (first, second))
    return one + other


def _rows(part: _Part, start: int, end: int) -> _Part:
    # Copies, so that a lateral that waits does not keep the table that it came in.
    return {name: column[start:end].copy() for name, column in part.items()}

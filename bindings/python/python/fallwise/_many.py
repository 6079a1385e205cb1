"""Many laterals at once: read from one table, solved on several threads, their rows in common tables."""

from __future__ import annotations

import warnings
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import fields, replace
from importlib import import_module
from os import PathLike, fspath
from typing import Any, Literal, NamedTuple, Protocol, TypeAlias, cast

import numpy as np

from . import _core
from ._errors import Error, InputError, UnknownWordError, Warning
from ._job import Job
from ._model import (
    Bend,
    Capacity,
    Circle,
    Decimal,
    Flow,
    Instrument,
    Method,
    Nominal,
    Paper,
    Pipe,
    Reach,
    ReportChoice,
    RulesChoice,
    Run,
    SegmentChoice,
    TiltPositive,
    Toward,
    Words,
    Work,
)
from ._ties import TIES, Tie


class _Columns(Protocol):
    def __getitem__(self, name: str, /) -> Any: ...


#: Columns by their names: a data frame, an Arrow table, a mapping.
TableLike: TypeAlias = Mapping[str, Any] | _Columns


def _names(table: Any) -> list[str]:
    """Names of the columns of a table, whatever library made it."""
    if isinstance(table, Mapping):
        return [str(name) for name in table]
    for attribute in ("column_names", "columns"):
        names = getattr(table, attribute, None)
        if names is not None and all(isinstance(name, str) for name in names):
            return list(names)
    raise InputError(
        f"table: an object of type {type(table).__name__} given, expected columns by their names",
        field="table",
        value=type(table).__name__,
        expected="a data frame, an Arrow table, or a mapping of columns",
    )


def _absent(value: Any) -> bool:
    """Whether a cell holds nothing: ``None``, NaN, and what data frames have in their place."""
    if value is None:
        return True
    try:
        return bool(value != value)
    except TypeError:  # pandas' NA has no truth value
        return True


def _text(value: Any) -> str | None:
    """A cell as text; a whole number without decimals, as where a data frame made floats of ids because some are absent."""
    if _absent(value):
        return None
    if isinstance(value, (float, np.floating)) and float(value).is_integer():
        return str(int(value))
    return str(value)


def _cells(table: Any, name: str) -> Any:
    """A column as a list of Python objects."""
    column = table[name]
    for method in ("to_pylist", "to_list", "tolist"):
        if hasattr(column, method):
            return getattr(column, method)()
    return list(column)


def _column(table: Any, name: str, *, as_text: bool) -> Any:
    """A column for the reader: an array of numbers, or a list of texts."""
    if not as_text:
        try:
            array = np.asarray(table[name])
        except (TypeError, ValueError):
            array = np.asarray(_cells(table, name), dtype=object)
        if array.dtype.kind in "fiu":
            return np.asarray(array, dtype=np.float64)
        if array.dtype.kind == "M":
            return [None if np.isnat(moment) else str(moment) for moment in array.astype("datetime64[us]")]
        if array.dtype.kind == "O" and all(isinstance(cell, (int, float)) or _absent(cell) for cell in array.tolist()):
            return np.array([np.nan if _absent(cell) else float(cell) for cell in array.tolist()])
    return [_text(cell) for cell in _cells(table, name)]


class Runs(Mapping[str, Run]):
    """Runs of many laterals by their ids, in the order in which these first appear. What :func:`read_runs` gives.

    Ids that cannot be read are not among them: they stand in `errors`.

    Attributes
    ----------
    found : list of str
        What was found rather than given: delimiter, decimal mark, columns and units.
    by : str
        Name of the column of ids.
    """

    def __init__(self, logs: _core._RunLogs, by: str, options: dict[str, Any]) -> None:
        self.by = by
        self.found: list[str] = logs.found
        self._logs = logs
        self._options = options
        self._numbers = {name: number for number, name in enumerate(logs.ids)}
        self._all = dict(self._numbers)
        self._tables: dict[str, _core.Table] | None = None

    def _read(self, number: int) -> tuple[Run | None, list[str], list[Error]]:
        run, said, faults, more = self._logs.get(number)
        if more:
            faults = [*faults, InputError(f"{more} more rows of it cannot be read", value=str(more))]
        return (None if run is None else replace(run, **self._options)), said, faults

    def _without_id(self) -> list[Error]:
        faults, more = self._logs.without_id
        return [*faults, InputError(f"{more} more rows have no id", value=str(more))] if more else faults

    def _collected(self) -> dict[str, _core.Table]:
        if self._tables is None:
            collected = _core._Collected()
            for warning in self._logs.warnings:
                collected.warn("", warning)
            for name, number in self._all.items():
                run, said, faults = self._read(number)
                for warning in said:
                    collected.warn(name, warning)
                for fault in faults:
                    collected.fail(name, fault)
                if run is None:
                    self._numbers.pop(name, None)
            for fault in self._without_id():
                collected.fail("", fault)
            self._tables = collected.tables()
        return self._tables

    @property
    def errors(self) -> _core.Table:
        """Rows that cannot be read, with the id of their lateral, an empty one where they have none."""
        return self._collected()["errors"]

    @property
    def warnings(self) -> _core.Table:
        """Odd but usable input, by id; an empty one where it is of the whole table."""
        return self._collected()["warnings"]

    def __getitem__(self, key: str) -> Run:
        run, _, faults = self._read(self._all[key])
        if run is None:
            raise faults[0]
        return run

    def __iter__(self) -> Iterator[str]:
        self._collected()
        return iter(self._numbers)

    def __len__(self) -> int:
        self._collected()
        return len(self._numbers)

    def __contains__(self, key: object) -> bool:
        self._collected()
        return key in self._numbers

    def __repr__(self) -> str:
        return f"<fallwise.Runs: {len(self)} by {self.by!r}, {len(self.errors)} errors>"


def read_runs(
    source: str | PathLike[str] | TableLike,
    *,
    by: str = "lateral_id",
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
    row: str | None = None,
    encoding: Literal["utf-8", "utf-16", "latin-1"] | None = None,
    delimiter: Literal["comma", "semicolon", "tab"] | None = None,
    decimal: Literal["point", "comma"] | None = None,
    tilt_positive: TiltPositive = "down",
    toward: Toward = "increasing",
    start_station_m: float = 0.0,
) -> Runs:
    """Read the runs of many laterals from one table: a CSV file, a data frame, an Arrow table or a mapping of columns.

    Ids are text, so that leading zeros of a file stay; blanks around them are left out, which is said. Rows of one id need not
    stand together. A row that cannot be read is an error of its lateral, and the others are read. No unit is guessed.

    Parameters
    ----------
    source : path-like or table
        The file; or columns by their names, as pandas, polars and Arrow have them.
    by : str
        Name of the column that says which lateral a row is of.
    counter, reading, time, moving, roll, temperature : str, optional
        Names of the columns.
    counter_unit, reading_unit, time_unit, roll_unit, temperature_unit : str, optional
        Their units, where the names of the columns do not say.
    row : str, optional
        Of a table that is a part of a larger one: the column with the number of each row there, so that errors and warnings name
        rows that can be found. Absent: rows count from 1.
    encoding, delimiter, decimal : str, optional
        How the text of a file is written; of a table, the decimal mark of numbers that are texts.
    tilt_positive, toward, start_station_m
        Of every run, as in :class:`Run`.

    Returns
    -------
    Runs
        Runs by id, with `errors`, `warnings` and what was `found`. Rows count as lines of a file, and in a table
        from 1, or as `row` says.

    Raises
    ------
    FormatError
        What is wrong with the table as a whole.

    Examples
    --------
    >>> import fallwise as fw
    >>> ids, cable, tilt = ["007", "007", "B", "B"], [0.0, 10.0, 0.0, 10.0], [1.2, 1.1, 0.9, None]
    >>> runs = fw.read_runs({"lateral_id": ids, "cable (ft)": cable, "tilt (deg)": tilt})
    >>> list(runs)
    ['007']
    >>> runs.errors[0]["id"], runs.errors[0]["row"], runs.errors[0]["column"]
    ('B', 4, 'tilt (deg)')
    """
    form: dict[str, Any] = {
        "counter": counter,
        "counter_unit": counter_unit,
        "reading": reading,
        "reading_unit": reading_unit,
        "time": time,
        "time_unit": time_unit,
        "moving": moving,
        "roll": roll,
        "roll_unit": roll_unit,
        "temperature": temperature,
        "temperature_unit": temperature_unit,
        "encoding": encoding,
        "delimiter": delimiter,
        "decimal": decimal,
    }
    form = {name: value for name, value in form.items() if value is not None}
    if isinstance(source, (str, PathLike)):
        if row is not None:
            raise InputError(
                "row: given with a file, whose rows are its lines", field="row", value=row, expected="nothing, of a file"
            )
        logs = _core._read_runs(fspath(source), by, form)
    else:
        names = _names(source)
        numbers = None if row is None else _row_numbers(source, names, row)
        columns = [(name, _column(source, name, as_text=name == by)) for name in names if name != row]
        logs = _core._read_runs_columns(columns, by, form, numbers)
    return Runs(logs, by, {"tilt_positive": tilt_positive, "toward": toward, "start_station_m": start_station_m})


def _row_numbers(table: Any, names: list[str], row: str) -> list[int]:
    """The column of row numbers."""
    if row not in names:
        raise UnknownWordError(
            f'row: there is no column "{row}"; the columns: {", ".join(names)}', field="row", value=row, expected=", ".join(names)
        )
    numbers = np.asarray(_column(table, row, as_text=False))
    whole = numbers.dtype.kind == "f" and bool(np.all((numbers >= 1) & (numbers < 2**53) & (numbers == np.floor(numbers))))
    if not whole:
        expected = "whole numbers, 1 or more, in every cell"
        raise InputError(f'row: the column "{row}" is not of {expected}', field="row", value=row, expected=expected)
    return cast("list[int]", numbers.astype(np.int64).tolist())


class Solved(NamedTuple):
    """One lateral out of many: its answers, or why there are none.

    Attributes
    ----------
    id : str
        Its id.
    answers : Answers or None
        Everything that it has to say.
    errors : list of Error
        Why there is none; empty where there are answers.
    """

    id: str
    answers: _core.Answers | None
    errors: list[Error]


class Many:
    """What is kept of many laterals: tables whose first column, ``id``, says of which one a row is.

    Paths, readings and covariances are not kept; :func:`iter_many` gives them, one lateral at a time.

    Attributes
    ----------
    summary : Table
        One row a lateral: sentence, finding, length, slope and fall with their standard deviations, the deepest belly, how many
        warnings.
    total, reaches, pieces, backward, unseen, segments, pools, findings, next, water, carrying, capacity, needed, ties, \
as_built, noted, digs, tapes, edits, parameters, budget : Table
        As those of :class:`Answers`, of all laterals.
    errors : Table
        What could not be used: id, row, column, field, index, value, expected, message.
    warnings : Table
        Odd but usable input.
    cautions : list of str
        What goes with every table that is handed on: what the figures do not show, and what can hurt.
    """

    def __init__(self, tables: dict[str, _core.Table], cautions: list[str]) -> None:
        self.cautions = cautions
        self.summary = tables["summary"]
        self.total = tables["total"]
        self.reaches = tables["reaches"]
        self.pieces = tables["pieces"]
        self.backward = tables["backward"]
        self.unseen = tables["unseen"]
        self.segments = tables["segments"]
        self.pools = tables["pools"]
        self.findings = tables["findings"]
        self.next = tables["next"]
        self.water = tables["water"]
        self.carrying = tables["carrying"]
        self.capacity = tables["capacity"]
        self.needed = tables["needed"]
        self.ties = tables["ties"]
        self.as_built = tables["as_built"]
        self.noted = tables["noted"]
        self.digs = tables["digs"]
        self.tapes = tables["tapes"]
        self.edits = tables["edits"]
        self.parameters = tables["parameters"]
        self.budget = tables["budget"]
        self.errors = tables["errors"]
        self.warnings = tables["warnings"]

    def __len__(self) -> int:
        return len(self.summary)

    def __repr__(self) -> str:
        errors, warned = _count(len(self.errors), "error"), _count(len(self.warnings), "warning")
        return f"<fallwise.Many: {_count(len(self), 'lateral')}, {errors}, {warned}>"


Given: TypeAlias = Run | Sequence[Run] | Job
ManyRuns: TypeAlias = Runs | Mapping[str, Given] | Iterable[tuple[str, Given]]


class _Keyed:
    """Parts of jobs by the ids of the laterals: from a table, from a mapping, or the same for all."""

    def __init__(self, what: str, given: Any, by: str, kinds: tuple[type, ...], of_row: Any, *, many: bool) -> None:
        self.what, self._kinds, self._many = what, kinds, many
        self._for_all: Any = None
        self._parts: dict[str, Any] = {}
        self._faults: dict[str, list[Error]] = {}
        self._left: set[str] = set()
        if given is None:
            return
        if isinstance(given, kinds) or (many and isinstance(given, (list, tuple))):
            self._for_all = self._checked(given)
            return
        if isinstance(given, Mapping) and by not in given:
            self._parts = {str(name): part for name, part in given.items()}
        else:
            self._read(given, by, of_row)
        self._left = {*self._parts, *self._faults}

    def _checked(self, part: Any) -> Any:
        """The part, or parts, if they are of the right kinds."""
        parts = [part] if isinstance(part, self._kinds) else part
        if not self._many and parts is not part:
            return part
        for i, one in enumerate(parts if self._many and isinstance(parts, (list, tuple)) else [part]):
            if not isinstance(one, self._kinds):
                expected = " or ".join(kind.__name__ for kind in self._kinds)
                field = f"{self.what}[{i}]" if self._many else self.what
                raise InputError(
                    f"{field}: an object of type {type(one).__name__} given, expected {expected}",
                    field=field,
                    value=type(one).__name__,
                    expected=expected,
                )
        return tuple(parts)

    def _read(self, table: Any, by: str, of_row: Any) -> None:
        names = _names(table)
        if by not in names:
            raise UnknownWordError(
                f'{self.what}: there is no column "{by}"; the columns: {", ".join(names)}',
                field=self.what,
                value=by,
                expected=", ".join(names),
            )
        columns = {name: _cells(table, name) for name in names}
        lengths = {len(column) for column in columns.values()}
        if len(lengths) > 1:
            raise InputError(f"{self.what}: columns of {sorted(lengths)} cells, expected as many in each", field=self.what)
        for row in range(lengths.pop() if lengths else 0):
            cells = {name: column[row] for name, column in columns.items() if not _absent(column[row])}
            key = (_text(cells.pop(by, None)) or "").strip()
            try:
                if not key:
                    raise InputError(f"{self.what}, row {row + 1}: no id", expected="the id of a lateral")
                part = of_row(self.what, cells)
                if not self._many and key in self._parts:
                    raise InputError(f"{self.what}, row {row + 1}: a second row of {key!r}", value=key, expected="one row an id")
            except Error as error:
                error.row, error.field = row + 1, error.field or self.what
                self._faults.setdefault(key, []).append(_told(error))
                continue
            if self._many:
                self._parts.setdefault(key, []).append(part)
            else:
                self._parts[key] = part

    def take(self, key: str) -> Any:
        """The part of a lateral, or ``None``; raises what is wrong with it."""
        self._left.discard(key)
        if key in self._faults:
            raise _Several(self._faults[key])
        if self._for_all is not None:
            return self._for_all
        part = self._parts.get(key)
        return None if part is None else self._checked(part)

    def passed_over(self, key: str) -> None:
        self._left.discard(key)

    def has(self, key: str) -> bool:
        return self._for_all is not None or key in self._parts or key in self._faults

    def left(self) -> Iterator[tuple[str, list[Error]]]:
        """What no run was for."""
        for key in [*self._parts, *self._faults]:
            if key in self._left:
                self._left.discard(key)
                faults = self._faults.get(key, [])
                if key:
                    message = f"{self.what}: no run has the id {key!r}"
                    faults = [*faults, InputError(message, field=self.what, value=key, expected="the id of a run")]
                yield key, faults


def _told(error: Error) -> Error:
    """An error that is kept as a value: without the frames it came through, which would keep all that was in them."""
    error.__context__ = None
    return error.with_traceback(None)


class _Several(Exception):  # noqa: N818  # carries errors, is none
    def __init__(self, errors: list[Error]) -> None:
        super().__init__()
        self.errors = errors


def _made(what: str, kind: Any, cells: dict[str, Any]) -> Any:
    """An input from the cells of a row, by the names of its fields."""
    known = [part.name for part in fields(kind)]
    for name in cells:
        if name not in known:
            raise UnknownWordError(
                f'{what}: there is no "{name}" in {kind.__name__}; known: {", ".join(known)}',
                field=what,
                value=name,
                expected=", ".join(known),
            )
    try:
        return kind(**cells)
    except TypeError as error:
        raise InputError(f"{what}: {error}", field=what, expected=f"the columns of {kind.__name__}") from None


_PIPE = ("pipe_class", "size", "bore_m", "nominal", "material", "wall_m", "stick_m")


def _pipe_of_row(what: str, cells: dict[str, Any]) -> Pipe:
    cells = dict(cells)
    own: dict[str, Any] = {}
    if "pipe_class" in cells or "size" in cells:
        pipe = Pipe.standard(str(cells.pop("pipe_class", "")), str(cells.pop("size", "")))
        own = {part.name: getattr(pipe, part.name) for part in fields(Pipe)}
    if "bore_m" in cells:
        own["bore"] = Circle(diameter_m=cells.pop("bore_m"))
    if "nominal" in cells:
        own["nominal"] = Nominal.parse(str(cells.pop("nominal")))
    return cast(Pipe, _made(what, Pipe, {**own, **cells}))


def _reach_of_row(what: str, cells: dict[str, Any]) -> Reach:
    pipe = _pipe_of_row(what, {name: cells[name] for name in _PIPE if name in cells})
    return cast(Reach, _made(what, Reach, {**{name: cell for name, cell in cells.items() if name not in _PIPE}, "pipe": pipe}))


def _bend_of_row(what: str, cells: dict[str, Any]) -> Bend:
    return cast(Bend, _made(what, Bend, cells))


_KINDS = {kind._KIND: kind for kind in TIES}


def _tie_of_row(what: str, cells: dict[str, Any]) -> Tie:
    cells = dict(cells)
    kind = str(cells.pop("kind", ""))
    if kind not in _KINDS:
        known = ", ".join(_KINDS)
        raise UnknownWordError(f'{what}: kind "{kind}" is not known; known: {known}', field=what, value=kind, expected=known)
    # A tie between two places has the second in a column of its own.
    for name in ("station_m", "station_sd_m", "taped"):
        if f"to_{name}" in cells:
            cells[name] = (cells.get(name), cells.pop(f"to_{name}"))
    return cast(Tie, _made(what, _KINDS[kind], cells))


def _instrument_of_row(what: str, cells: dict[str, Any]) -> Instrument:
    return cast(Instrument, _made(what, Instrument, cells))


def _pairs(runs: Any) -> Iterator[tuple[str, Given | None, list[str], list[Error]]]:
    """Ids with what was read of each: runs or a job, warnings, errors."""
    if isinstance(runs, Runs):
        for name, number in runs._all.items():
            yield name, *runs._read(number)
        for fault in runs._without_id():
            yield "", None, [], [fault]
        return
    for pair in runs.items() if isinstance(runs, Mapping) else runs:
        if not isinstance(pair, tuple) or len(pair) != 2:
            raise InputError("runs: not pairs of an id and a run", field="runs", expected="pairs of an id and a run or a job")
        yield str(pair[0]), pair[1], [], []


def iter_many(
    runs: ManyRuns,
    *,
    by: str | None = None,
    pipes: Pipe | Mapping[str, Pipe] | TableLike | None = None,
    reaches: Sequence[Reach] | Mapping[str, Sequence[Reach]] | TableLike | None = None,
    ties: Sequence[Tie] | Mapping[str, Sequence[Tie]] | TableLike | None = None,
    bends: Mapping[str, Sequence[Bend]] | TableLike | None = None,
    instrument: Instrument | Mapping[str, Instrument] | TableLike | None = None,
    flow: Flow = "increasing",
    segments: SegmentChoice | Method = "fitted",
    tailwater_m: float | None = None,
    capacity: Capacity | None = None,
    rulebook: _core.Rulebook | str | None = None,
    work: Work = "existing",
    facts: Mapping[str, str] | None = None,
    words: Words = "uk",
    decimal: Decimal | None = None,
    paper: Paper | None = None,
    draws: int = 1000,
    seed: int | Callable[[str], int] = 0,
    threads: int | None = None,
) -> Iterator[Solved]:
    """Solve many laterals, one after the other in order, each as :func:`solve` does; nothing is kept.

    Takes a few more runs than it has given results of (four for each thread), so that runs may come from an iterator that has no
    end. It remembers no ids: one that comes twice is solved twice.

    Parameters
    ----------
    runs, by, pipes, reaches, ties, bends, instrument, rulebook, threads
        As in :func:`solve_many`.
    flow, segments, tailwater_m, capacity, work, facts, words, decimal, paper, draws
        As in :func:`solve`, for all.
    seed : int or callable
        As in :func:`solve_many`.

    Yields
    ------
    Solved
        Id, answers or ``None``, errors. At the end, ids of tables that no run had.

    Examples
    --------
    >>> import itertools
    >>> import fallwise as fw
    >>> from fallwise.units import deg
    >>> def endless():
    ...     for n in itertools.count():
    ...         yield f"L{n}", fw.Run(counter_m=[0, 1, 2, 3], reading_rad=deg([1.0 + n, 1.0, 1.2, 1.1]), by_hand=True)
    >>> for one in itertools.islice(fw.iter_many(endless(), draws=0), 3):
    ...     print(one.id, round(one.answers.total[0]["fall_m"], 3))
    L0 0.056
    L1 0.065
    L2 0.074
    """
    by = by if by is not None else (runs.by if isinstance(runs, Runs) else "lateral_id")
    solver = _core._Solver(threads, rulebook)
    keyed = {
        "pipe": _Keyed("pipes", pipes, by, (Pipe,), _pipe_of_row, many=False),
        "reaches": _Keyed("reaches", reaches, by, (Reach,), _reach_of_row, many=True),
        "ties": _Keyed("ties", ties, by, TIES, _tie_of_row, many=True),
        "bends": _Keyed("bends", bends, by, (Bend,), _bend_of_row, many=True),
        "instrument": _Keyed("instrument", instrument, by, (Instrument,), _instrument_of_row, many=False),
    }
    if pipes is not None and isinstance(pipes, Pipe) and reaches is not None:
        raise InputError("pipes, reaches: give one of the two", field="pipes", expected="either pipes or reaches")
    report = ReportChoice(words=words, decimal=decimal, paper=paper, draws=draws, seed=0 if callable(seed) else seed)
    same: dict[str, Any] = {
        "flow": flow,
        "segments": SegmentChoice(method=segments) if isinstance(segments, str) else segments,
        "tailwater_m": tailwater_m,
        "capacity": capacity,
        "rules": RulesChoice(work=work, facts={} if facts is None else facts),
        "report": report,
    }

    def common(key: str) -> dict[str, Any]:
        return {**same, "report": replace(report, seed=seed(key))} if callable(seed) else same

    head = Instrument()
    return _solved(_pairs(runs), solver, keyed, common, head)


def _job(
    key: str, given: Any, keyed: dict[str, _Keyed], common: Callable[[str], dict[str, Any]], head: Instrument
) -> tuple[Job, Pipe | None]:
    if isinstance(given, Job):
        for name, of in keyed.items():
            if of.has(key):
                of.take(key)
                raise InputError(
                    f"{of.what}: {key!r} is a job, which says its own", field=of.what, value=key, expected=f"no {name}"
                )
        return given, None
    own = {name: part for name, of in keyed.items() if (part := of.take(key)) is not None}
    pipe = own.pop("pipe", None)
    if pipe is not None and "reaches" in own:
        raise InputError(f"pipes, reaches: {key!r} has both", field="pipes", value=key, expected="either pipes or reaches")
    own.setdefault("instrument", head)
    return Job(runs=(given,) if isinstance(given, Run) else given, **own, **common(key)), pipe


def _solved(
    pairs: Iterator[tuple[str, Given | None, list[str], list[Error]]],
    solver: _core._Solver,
    keyed: dict[str, _Keyed],
    common: Callable[[str], dict[str, Any]],
    head: Instrument,
) -> Iterator[Solved]:
    # In order, what is in hand: ids, and errors of those of which there is nothing to solve.
    waiting: deque[tuple[str, list[Error]]] = deque()

    def first() -> Solved:
        key, errors = waiting.popleft()
        try:
            return Solved(key, solver.take(), errors)
        except Error as error:
            return Solved(key, None, [_told(error)])

    try:
        for key, given, said, errors in pairs:
            if not errors:
                try:
                    job, pipe = _job(key, given, keyed, common, head)
                    solver.give(job._to_core(), job._arrays(), pipe, said)
                except _Several as several:
                    errors = several.errors
                except Error as error:
                    errors = [_told(error)]
                except TypeError as error:
                    errors = [InputError(f"runs: {error}", field="runs", expected="a Run, several, or a Job")]
            if errors:
                # Its rows in other tables are not without a run.
                for of in keyed.values():
                    of.passed_over(key)
                solver.skip()
            waiting.append((key, errors))
            while len(waiting) >= solver.ahead:
                yield first()
        solver.end()
        while waiting:
            yield first()
        for of in keyed.values():
            for key, errors in of.left():
                yield Solved(key, None, errors)
    finally:
        solver.end()


def solve_many(
    runs: ManyRuns,
    *,
    by: str | None = None,
    pipes: Pipe | Mapping[str, Pipe] | TableLike | None = None,
    reaches: Sequence[Reach] | Mapping[str, Sequence[Reach]] | TableLike | None = None,
    ties: Sequence[Tie] | Mapping[str, Sequence[Tie]] | TableLike | None = None,
    bends: Mapping[str, Sequence[Bend]] | TableLike | None = None,
    instrument: Instrument | Mapping[str, Instrument] | TableLike | None = None,
    flow: Flow = "increasing",
    segments: SegmentChoice | Method = "fitted",
    tailwater_m: float | None = None,
    capacity: Capacity | None = None,
    rulebook: _core.Rulebook | str | None = None,
    work: Work = "existing",
    facts: Mapping[str, str] | None = None,
    words: Words = "uk",
    decimal: Decimal | None = None,
    paper: Paper | None = None,
    draws: int = 1000,
    seed: int | Callable[[str], int] = 0,
    threads: int | None = None,
    progress: bool = False,
) -> Many:
    """Solve many laterals, each as :func:`solve` does, and put their rows into common tables.

    A lateral that cannot be solved stands in `errors`, and the others are solved. The figures are the same bits however many
    threads there are. Other Python threads go on meanwhile, and Ctrl-C stops.

    Parameters
    ----------
    runs : Runs, mapping, or iterable of pairs
        What :func:`read_runs` gives; or runs by id: a :class:`Run`, several, or a whole :class:`Job`.
    by : str, optional
        Name of the column of ids in the tables below; absent: that of `runs`, or ``"lateral_id"``.
    pipes : Pipe, mapping or table, optional
        One pipe all along each lateral: the same for all, by id, or a table with a row an id and the columns ``pipe_class`` and
        ``size`` of a standard pipe, or ``bore_m``, ``nominal`` and the other fields of :class:`Pipe`.
    reaches : sequence, mapping or table, optional
        Reaches in the place of `pipes`: a table has the columns of :class:`Reach` and those of `pipes`.
    ties : sequence, mapping or table, optional
        A table has a row a tie: ``kind`` (such as ``"invert"`` or ``"reversal_check"``) and the fields of that tie. The second of
        two places stands in ``to_station_m``. A sequence holds for all.
    bends : mapping or table, optional
        A table has the columns of :class:`Bend`.
    instrument : Instrument, mapping or table, optional
        The head and the counter.
    rulebook : Rulebook or str, optional
        What findings are made against.
    flow, segments, tailwater_m, capacity, work, facts, words, decimal, paper, draws
        As in :func:`solve`, for all.
    seed : int or callable
        Of the draws: one for all, so that each is drawn with the same random numbers, or what gives the seed of an id. Neither
        depends on what else is solved.
    threads : int, optional
        How many threads; absent: as many as the machine has.
    progress : bool
        Show how far it is, where ``tqdm`` is installed.

    Returns
    -------
    Many
        Tables with the id in the first column.

    Warns
    -----
    Warning
        Once, how many warnings and errors there are.

    Examples
    --------
    >>> import fallwise as fw
    >>> from fallwise.units import deg, ft
    >>> runs = {
    ...     name: fw.Run(counter_m=ft([0, 10, 20, 30]), reading_rad=deg([tilt, tilt + 0.1, tilt - 0.1, tilt]), by_hand=True)
    ...     for name, tilt in {"007": 3.5, "B": 0.2}.items()
    ... }
    >>> many = fw.solve_many(runs, pipes=fw.Pipe.standard("SDR 35", "4 in"), rulebook="upc-2021")
    >>> for row in many.summary:
    ...     print(row["id"], row["finding"], round(row["slope"], 4))
    007 meets 0.0612
    B undecided 0.0035
    """
    collected = _core._Collected()
    seen: set[str] = set()

    def unique() -> Iterator[tuple[str, Given]]:
        for key, given, *_ in _pairs(runs):
            if key in seen:
                error = InputError(f"runs: the id {key!r} comes twice", field="runs", value=key, expected="each id once")
                collected.fail(key, error)
            else:
                seen.add(key)
                yield key, cast(Given, given)

    if isinstance(runs, Runs):
        for warning in runs._logs.warnings:
            collected.warn("", warning)
    results = iter_many(
        runs if isinstance(runs, Mapping) else unique(),
        by=by,
        pipes=pipes,
        reaches=reaches,
        ties=ties,
        bends=bends,
        instrument=instrument,
        flow=flow,
        segments=segments,
        tailwater_m=tailwater_m,
        capacity=capacity,
        rulebook=rulebook,
        work=work,
        facts=facts,
        words=words,
        decimal=decimal,
        paper=paper,
        draws=draws,
        seed=seed,
        threads=threads,
    )
    if progress:
        results = _shown(results, len(runs._all) if isinstance(runs, Runs) else len(runs) if isinstance(runs, Mapping) else None)
    for one in results:
        if one.answers is not None:
            collected.add(one.id, one.answers)
        for error in one.errors:
            collected.fail(one.id, error)
    odd, failed = collected.counts()
    if odd or failed:
        told = f"{_count(odd, 'warning')} and {_count(failed, 'error')}: see .warnings and .errors of the result"
        warnings.warn(told, Warning, stacklevel=2)
    return Many(collected.tables(), collected.cautions())


def _shown(results: Iterator[Solved], total: int | None) -> Iterator[Solved]:
    """The same with a bar of progress, if there is a library for it."""
    try:
        tqdm = import_module("tqdm.auto").tqdm
    except ImportError:
        warnings.warn("progress is not shown: tqdm is not installed", Warning, stacklevel=3)
        return results
    return iter(tqdm(results, total=total, unit="lateral"))


def _count(n: int, name: str) -> str:
    return f"{n} {name}" if n == 1 else f"{n} {name}s"

"""What a run writes down: `measured.json` is one `Measured`."""

from __future__ import annotations

from typing import TypedDict


class Timed(TypedDict):
    """A way that was timed."""

    way: str
    #: Waited for one call, in the order of the rounds, and the processor's time for it, of all threads together.
    seconds: list[float]
    processor: list[float]
    #: Of the very first call, which some ways compile in; the processor's time.
    first_s: float


class LeftOut(TypedDict):
    """A way that was not timed."""

    way: str
    why: str


class Check(TypedDict):
    """How far two ways are apart, and how far they may be."""

    what: str
    difference: float
    tolerance: float
    why: str


class Row(TypedDict):
    """Ways of doing one thing; the first is fallwise."""

    work: str
    timed: list[Timed]
    left_out: list[LeftOut]
    checks: list[Check]


class Theme(TypedDict):
    """Rows that belong together, and what is to be known of them."""

    title: str
    says: list[str]
    rows: list[Row]


class Peak(TypedDict):
    """Peak memory of a process that does one thing, in MB: after its imports, after a small call, after the large one."""

    work: str
    way: str
    imported_mb: float
    small_mb: float
    peak_mb: float


class Process(TypedDict):
    """A whole process."""

    what: str
    seconds: list[float]
    processor: list[float]
    peak_mb: float


class Processes(TypedDict):
    """Processes that were run by turns; the first does nothing but what is taken off the others."""

    title: str
    says: list[str]
    #: Whether they do the same, so that one can be called quicker than another.
    same_work: bool
    runs: list[Process]
    left_out: list[LeftOut]


class Machine(TypedDict):
    """What it was measured on."""

    cpu: str
    cores: int
    memory_gb: float
    system: str
    python: str
    #: Over the last one, five and fifteen minutes, before the run.
    load: list[float]


class Measured(TypedDict):
    """A run."""

    date: str
    quick: bool
    minutes: float
    #: Load of the last minute at the end, of which the run itself is one.
    load_after: float
    machine: Machine
    versions: dict[str, str]
    missing: dict[str, str]
    themes: list[Theme]
    processes: list[Processes]
    memory: list[Peak]
    memory_left_out: list[LeftOut]

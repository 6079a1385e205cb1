"""The page that a run makes: `python -m peers.page measured.json` prints it. Nothing on it is typed by hand."""

from __future__ import annotations

import copy
import json
import statistics
import sys
import textwrap
from collections.abc import Iterable, Sequence
from itertools import chain
from pathlib import Path

from .record import Check, LeftOut, Measured, Peak, Processes, Row, Theme, Timed

HEAD = """\
# Speed and memory beside general packages

<!-- Made by benches/peers/run.sh from benches/peers/measured.json. Do not edit: a test compares the two. -->

What fallwise takes, and what a user would combine instead, on the same input in the same run. This page is written by that run
and edited by nobody; `benches/peers/measured.json` has every figure that it is made from.
"""

QUICK = (
    "**This was a quick run, to see that it works. Its sizes are small, its rounds few, and its figures are not to be quoted.**"
)

HOW = """\
- Before anything is timed, the ways of a row are seen to agree, each within a tolerance that has its reason. The run ends where
  they do not.
- Times are {of_what}, in medians of rounds in which each way has its turn, after a first call that is not counted. What
  compiles in its first call is listed by itself.
- One thread each, unless a row says otherwise. Every way gets its input in the form that it wants.
- A figure in brackets is that way's time over that of fallwise: above 1 it takes longer, below 1 fallwise does.
- Loops by hand were written for this comparison. They check nothing, and do no more than the row asks for.
"""

REPEAT = """\
```sh
bash benches/peers/run.sh --json measured.json --out speed.md
```

It needs CPython 3.11 or newer and Rust, and fetches the packages in the versions of `benches/peers/requirements.txt`. `--quick`
is a smoke run of less than two minutes. `python -m peers.page measured.json` in `benches` makes the page again without measuring.
"""

BUSY = (
    "**Other programs were at work on the machine during this run.** How long a way was waited for then says more of them than "
    "of it, so that times here are those of the processor. Waiting for another thread is not in them, and a second thread "
    "shortens none; `measured.json` has the times waited for too."
)


def busy(of: Measured) -> bool:
    """Whether others took a part of the processor: the run itself is one of the load at its end."""
    return of["machine"]["load"][0] > 1 or of["load_after"] > 2


def as_shown(of: Measured) -> Measured:
    """With the times that the page is of where others' are: those of the processor, on a busy machine."""
    if not busy(of):
        return of
    shown = copy.deepcopy(of)
    for timed in chain.from_iterable(row["timed"] for theme in shown["themes"] for row in theme["rows"]):
        timed["seconds"] = timed["processor"]
    for run in chain.from_iterable(processes["runs"] for processes in shown["processes"]):
        run["seconds"] = run["processor"]
    return shown


def wrapped(text: str) -> str:
    """As wide as a page."""
    return textwrap.fill(text, 128, break_long_words=False, break_on_hyphens=False)


def number(value: float) -> str:
    """Three digits, without an exponent."""
    digits = 0 if value >= 99.95 else 1 if value >= 9.995 else 2
    return f"{value:.{digits}f}"


def duration(seconds: float) -> str:
    """A time in the unit that suits it."""
    for unit, factor in (("s", 1.0), ("ms", 1e3), ("µs", 1e6)):
        if seconds * factor >= 0.9995:
            return f"{number(seconds * factor)} {unit}"
    return f"{number(seconds * 1e9)} ns"


def ratio(value: float) -> str:
    """Two digits, and more of what is large."""
    return f"{value:,.0f}" if value >= 9.95 else f"{value:.1f}" if value >= 0.995 else f"{value:.2g}"


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """In Markdown."""
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines) + "\n"


def median(timed: Timed) -> float:
    """Of its rounds."""
    return statistics.median(timed["seconds"])


def is_ours(way: str) -> bool:
    """Whether it is fallwise, in one form or another."""
    return way.startswith("fallwise")


def verdict(ours: float, best: float) -> str:
    """In words, the same for a loss as for a gain."""
    if 1 / 1.1 < ours / best < 1.1:
        return "about as quick"
    return f"{ratio(best / ours)} times as quick" if ours < best else f"{ratio(ours / best)} times as slow"


def quickest(title: str, work: str, times: Sequence[tuple[str, float]]) -> list[list[str]]:
    """A line beside the quickest of the other ways, if there is one; the first is fallwise."""
    others = [(time, way) for way, time in times if not is_ours(way)]
    if not others:
        return []
    (_, ours), (best, way) = times[0], min(others)
    return [[title, work, duration(ours), f"{way}, {duration(best)}", verdict(ours, best)]]


def in_short(of: Measured) -> str:
    """Every row beside the quickest of the other ways, and how often fallwise is quicker."""
    lines: list[list[str]] = []
    for theme in of["themes"]:
        for row in theme["rows"]:
            lines += quickest(theme["title"], row["work"], [(timed["way"], median(timed)) for timed in row["timed"]])
    for processes in of["processes"]:
        if processes["same_work"]:
            lines += quickest(processes["title"], "beyond importing numpy", list(beyond(processes).items()))
    slow, quick = (sum(line[-1].endswith(f"times as {word}") for line in lines) for word in ("slow", "quick"))
    said = (
        f"Beside the quickest of the other ways, fallwise is quicker in {quick} rows, slower in {slow}, and about as quick in "
        f"{len(lines) - quick - slow}, which is within a tenth. What each way leaves out is said with its row below."
    )
    head = ["theme", "row", "fallwise", "quickest beside it", "fallwise is"]
    return "\n".join([wrapped(said) + "\n", table(head, lines)])


def cell(row: Row, way: str) -> str:
    """Time of a way in a row, with its ratio to fallwise."""
    ours = median(row["timed"][0])
    for timed in row["timed"]:
        if timed["way"] == way:
            same = timed is row["timed"][0]
            return duration(median(timed)) if same else f"{duration(median(timed))} ({ratio(median(timed) / ours)})"
    return "not run"


def one(theme: Theme) -> str:
    """A theme: its rows, what was left out, and what was seen to agree."""
    ways = list(dict.fromkeys(way for row in theme["rows"] for way in names(row)))
    parts = [f"## {theme['title']}\n", *(wrapped(text) + "\n" for text in theme["says"])]
    if len({tuple(names(row)) for row in theme["rows"]}) == 1:
        parts.append(table(["", *ways], ([row["work"], *(cell(row, way) for way in ways)] for row in theme["rows"])))
    else:
        # Rows of different ways: one line each way would leave most cells empty.
        parts.append(table(["", "fallwise", "beside it"], (beside(row) for row in theme["rows"])))
    parts += left_out((f"{left['way']}, {row['work']}", left["why"]) for row in theme["rows"] for left in row["left_out"])
    return "\n".join([*parts, *agreed(theme["rows"])])


def agreed(rows: Iterable[Row]) -> list[str]:
    """What was seen to agree; of the rows of a theme the one that comes nearest to what is allowed."""
    nearest: dict[tuple[str, str], tuple[Check, str]] = {}
    for row in rows:
        for found in row["checks"]:
            key = (found["what"], found["why"])
            if key not in nearest or share(found) > share(nearest[key][0]):
                nearest[key] = (found, row["work"])
    if not nearest:
        return []
    lines = [
        [found["what"], f"{found['difference']:.2g}", f"{found['tolerance']:.2g}", work, found["why"]]
        for found, work in nearest.values()
    ]
    return ["Seen to agree before, in the row where they are farthest apart for what is allowed:\n", table(AGREED, lines)]


AGREED = ["what", "apart", "allowed", "row", "why so much"]


def share(of: Check) -> float:
    """Of what is allowed; what must be the same is the same."""
    return of["difference"] / of["tolerance"] if of["tolerance"] else 0.0


def names(row: Row) -> list[str]:
    """Of all its ways, fallwise first."""
    return [timed["way"] for timed in row["timed"]] + [left["way"] for left in row["left_out"]]


def beside(row: Row) -> list[str]:
    """A row on its own."""
    first, *others = row["timed"]
    return [row["work"], duration(median(first)), "; ".join(f"{timed['way']} {cell(row, timed['way'])}" for timed in others)]


def left_out(pairs: Iterable[tuple[str, str]]) -> list[str]:
    """What was not run, and why, each reason once."""
    by_reason: dict[str, list[str]] = {}
    for what, why in pairs:
        by_reason.setdefault(why, []).append(what)
    return [wrapped(f"Not run: {'; '.join(what)}: {why}.") + "\n" for why, what in by_reason.items()]


def first_calls(themes: Iterable[Theme]) -> str:
    """What compiles in its first call."""
    rows = [
        [theme["title"], duration(timed["first_s"]), duration(median(timed))]
        for theme in themes
        for timed in chain.from_iterable(row["timed"] for row in theme["rows"][:1])
        if timed["way"].startswith("numba")
    ]
    if not rows:
        return ""
    said = (
        "numba compiles a function in its first call, in every process anew unless it is told to keep what it made. Times of the "
        "first call are those of the processor."
    )
    head = ["numba, first row of", "first call", "a call later"]
    return "\n".join(["## First calls\n", wrapped(said) + "\n", table(head, rows)])


def beyond(of: Processes) -> dict[str, float]:
    """Times less that of the first, and not below a tenth of a millisecond, which is lost in the noise."""
    base, *others = (statistics.median(run["seconds"]) for run in of["runs"])
    return {run["what"]: max(time - base, 1e-4) for run, time in zip(of["runs"][1:], others, strict=True)}


def programs(of: Processes) -> str:
    """Whole processes, less the first."""
    base, *others = of["runs"]
    said = f"The process with numpy alone takes {duration(statistics.median(base['seconds']))} and {base['peak_mb']:.0f} MB."
    times = beyond(of)
    rows: list[list[str]] = []
    for run in others:
        time = times[run["what"]]
        over = "" if run["what"] == "fallwise" else f" ({ratio(time / times['fallwise'])})"
        rows.append([run["what"], duration(time) + over, f"{run['peak_mb'] - base['peak_mb']:.0f} MB"])
    says = [wrapped(" ".join([*of["says"], said])) + "\n"]
    lacks = left_out((left["way"], left["why"]) for left in of["left_out"])
    return "\n".join([f"## {of['title']}\n", *says, table(["", "time", "peak memory"], rows), *lacks])


def memory(peaks: Sequence[Peak], left: Iterable[LeftOut]) -> str:
    """Peaks of the large rows."""
    if not peaks:
        return ""
    lines: list[list[str]] = []
    ours: dict[str, float] = {}
    for peak in peaks:
        small, large = (peak[key] - peak["imported_mb"] for key in ("small_mb", "peak_mb"))
        first = ours.setdefault(peak["work"], large)
        over = "" if is_ours(peak["way"]) else f" ({ratio(large / first)})"
        lines.append([peak["work"], peak["way"], f"{small:.0f} MB", f"{large:.0f} MB{over}"])
    parts = ["## Memory\n", wrapped(MEMORY) + "\n", table(["row", "way", "after the small call", "after the large one"], lines)]
    return "\n".join([*parts, *left_out((item["way"], item["why"]) for item in left)])


MEMORY = (
    "Each in a process of its own that reads its input, which has been made before, and makes one call. The figures are peaks of "
    "what the process has in memory, beyond that after its imports, and so have the input in them: the arrays, or of a log the "
    "file as far as it is held. A call of 1,000 comes before the large one, and shows what compiling takes."
)


def spread(themes: Iterable[Theme]) -> str:
    """How far rounds of one figure lie apart."""
    found: list[float] = []
    for theme in themes:
        for timed in chain.from_iterable(row["timed"] for row in theme["rows"]):
            if len(timed["seconds"]) >= 4:
                low, middle, high = statistics.quantiles(timed["seconds"], n=4)
                found.append((high - low) / middle)
    if not found:
        return "Every figure is of fewer than four rounds."
    return (
        f"The middle half of the rounds of a figure spans {100 * statistics.median(found):.0f} % of it, in the median over all "
        f"figures, and {100 * max(found):.0f} % at worst."
    )


def measured_on(of: Measured) -> str:
    """Date, machine and versions."""
    machine = of["machine"]
    versions = ", ".join(f"{name} {version}" for name, version in of["versions"].items())
    rows = [
        ["date", f"{of['date']}; the run took {of['minutes']:.0f} minutes"],
        ["processor", f"{machine['cpu']}, {machine['cores']} cores, {machine['memory_gb']:.0f} GB"],
        ["system", f"{machine['system']}, {machine['python']}"],
        ["load at start", f"{', '.join(f'{load:.2f}' for load in machine['load'])}, over the last 1, 5 and 15 minutes"],
        ["load at end", f"{of['load_after']:.2f}, of which the run itself is 1"],
        ["spread", spread(of["themes"])],
    ]
    parts = [table(["", ""], rows), wrapped(f"Versions: {versions}.") + "\n"]
    parts += [wrapped(f"Not to be had: {why}.") + "\n" for why in of["missing"].values()]
    return "\n".join(parts)


def page(measured: Measured) -> str:
    """The whole page."""
    of = as_shown(measured)
    parts = [
        HEAD,
        *([QUICK + "\n"] if of["quick"] else []),
        *([wrapped(BUSY) + "\n"] if busy(of) else []),
        HOW.format(of_what="of the processor" if busy(of) else "waited for"),
        "## In short\n",
        in_short(of),
        "## Measured on\n",
        measured_on(of),
        *(one(theme) for theme in of["themes"]),
        first_calls(of["themes"]),
        *(programs(processes) for processes in of["processes"]),
        memory(of["memory"], of["memory_left_out"]),
        "## How to repeat\n",
        REPEAT,
    ]
    return "\n".join(part for part in parts if part)


if __name__ == "__main__":
    print(page(json.loads(Path(sys.argv[1]).read_text(encoding="utf-8"))), end="")

"""Pictures for notebooks, drawn with matplotlib, which ``pip install "fallwise[plot]"`` brings along.

Each draws into the axes that it is given, or makes a figure, and returns the axes. What is drawn are the tables of the answers.
Black, grey and patterns carry the meaning, so that a picture can be printed, and no colour is taken for a utility's mark; only
the runs of :func:`plot_readings` take the colours of the axes' own cycle. No setting of matplotlib is changed.
"""

from __future__ import annotations

from collections.abc import Sequence
from importlib import import_module
from typing import TYPE_CHECKING, Any, Literal, NamedTuple, TypeAlias

import numpy as np

from . import _core
from . import units as _units
from ._errors import InputError, UnknownWordError

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt
    from matplotlib.axes import Axes

    from ._model import Floats

__all__ = ["plot_plan", "plot_posterior", "plot_profile", "plot_readings"]

Units: TypeAlias = Literal["si", "us", "uk"]


class _Scales(NamedTuple):
    """How lengths and heights are given."""

    length: Callable[[Any], Any]
    length_unit: str
    #: Metres in one unit of length, and in one of height.
    metres: tuple[float, float]
    height: Callable[[Any], Any]
    height_unit: str
    station: str
    words: str


_SCALES = {
    "si": _Scales(lambda m: m, "m", (1.0, _units.mm(1.0)), _units.to_mm, "mm", "Station", "uk"),
    "us": _Scales(_units.to_ft, "ft", (_units.ft(1.0), _units.inch(1.0)), _units.to_inch, "in", "Station", "us"),
    "uk": _Scales(lambda m: m, "m", (1.0, _units.mm(1.0)), _units.to_mm, "mm", "Chainage", "uk"),
}

_HIGH = {
    "invert": ("levelled invert (bar: 95 %)", "o", True),
    "depth": ("located depth, as the invert it means (bar: 95 %)", "o", False),
    "water_level": ("still water, one level (bar: 95 %)", "_", True),
    "water_depth": ("still water, one level (bar: 95 %)", "_", True),
    "height_difference": ("height difference (bar: 95 %)", "_", True),
}
#: Groups of changed readings that the legend of a picture names, at most.
_MOST_GROUPS = 6
#: A region that reaches no farther about the pipe than this share of its size has room in a plan.
_ROOM = 0.4


def plot_profile(
    of: _core.Answers | _core.Lateral,
    *,
    ax: Axes | None = None,
    units: Units = "si",
    ties: bool = True,
    relay: _core.RelayAnswer | None = None,
    legend: bool = True,
) -> Axes:
    """Draw the profile: invert with its 95 % band, crown, the water that bellies can hold, and what was levelled or located.

    Heights are those above the lowest invert, and drawn larger than lengths: a text in the axes states how many times, and
    follows when one zooms. The band says where the invert may lie; it is no damage. A belly that is found is hatched, one that
    may be there has a broken outline.

    Parameters
    ----------
    of : Answers or Lateral
        What to draw.
    ax : matplotlib.axes.Axes, optional
        Where; absent: a figure of its own, with the legend under it.
    units : {"si", "us", "uk"}
        Stations in metres and heights in millimetres, or in feet and inches.
    ties : bool
        Draw levelled inverts, located depths, water levels, height differences and as-built inverts too. A located depth lies as
        far off the invert as is left of it after the adjustment; what has two places counts from the invert at the first.
    relay : RelayAnswer, optional
        A plan of re-laying: the inverts of its new pipe, and its trenches; absent: the one that the job asks for, if it does.
    legend : bool
        Say what is what.

    Returns
    -------
    matplotlib.axes.Axes
        The axes.

    Raises
    ------
    UnknownWordError
        Units that are not known.
    ImportError
        Matplotlib is not installed.

    Examples
    --------
    >>> import fallwise as fw
    >>> sag = fw.Lateral.from_segments(
    ...     breaks_m=[0, 10, 12, 14], tilt_rad=[0.02, -0.01, 0.02], pipe=fw.Pipe.standard("SDR 35", "4 in")
    ... )
    >>> ax = fw.plot_profile(sag, units="us")
    >>> ax.get_xlabel(), ax.get_ylabel()
    ('Station (ft)', 'Invert above its lowest point (in)')
    """
    answers, scales = _answers(of), _scales(units)
    drawn = _library("plot_profile")
    ax, made = drawn.axes(ax)
    ink = drawn.Ink(ax)
    job = answers.to_dict()["job"]
    path = answers.path
    station, height = scales.length(path.station_m), scales.height(path.height_m)
    low, high = scales.height(path.height_low_m), scales.height(path.height_high_m)
    bore = scales.height(path.bore_m)

    stretches = [(scales.length(row["from_m"]), scales.length(row["to_m"])) for row in answers.unseen]
    for number, (start, end) in enumerate(stretches):
        ax.axvspan(
            start,
            end,
            facecolor="none",
            edgecolor=ink.grey(0.3),
            hatch="xx",
            linewidth=0.8,
            linestyle="--",
            zorder=0.5,
            label="only its ends are known: not seen, or contradicted" if number == 0 else None,
        )
    if (path.height_sd_m > 0.0).any():
        ax.fill_between(
            station,
            low,
            high,
            facecolor=ink.grey(0.15),
            edgecolor=ink.grey(0.5),
            linewidth=0.5,
            zorder=1.0,
            label="the invert is somewhere in here (95 %)",
        )
    _water(ax, ink, answers, scales)
    if np.isfinite(bore).any():
        ax.plot(
            *drawn.pieces(station, height, bore),
            color=ink.full,
            linestyle="--",
            linewidth=0.9,
            zorder=2.0,
            label="crown (inside top)",
        )
    ax.plot(station, height, color=ink.full, linewidth=1.8, zorder=2.5, label="invert, best estimate")
    _drops(ax, ink, answers, scales)
    plan = answers.relay if relay is None else relay
    if plan is not None:
        _relaid(ax, ink, plan, scales)
    if ties:
        _ties(ax, ink, answers, scales, drawn.Z_95)

    ax.set_xlabel(f"{scales.station} ({scales.length_unit})")
    ax.set_ylabel(_height_label(path, scales))
    # Where the pipe, its band and its crown are not, there is room for words.
    many = np.linspace(station[0], station[-1], 200)
    lines = [np.interp(many, station, line) for line in (height, low, high, height + np.nan_to_num(bore))]
    taken = (np.tile(many, len(lines)), np.concatenate(lines))
    emptiest, second = drawn.free_corners(ax, *taken, 0.5, 0.2)[:2]
    # In axes that have more of them the legend has the emptiest corner, and the words go under the arrow of the flow.
    inside = legend and not made
    _flow_arrow(ax, ink, second, job["flow"] == "increasing")
    note = drawn.Exaggeration(
        metres=scales.metres,
        below=drawn.wrapped(_caution(answers), 48),
        **drawn.into_corner(second, up=0.1) if inside else drawn.into_corner(emptiest),
        **drawn.note_style(ax, ink),
    )
    ax.add_artist(note)
    note.set_in_layout(False)
    note.set_text(note.told())
    drawn.finish(ax, made, job["survey"].get("title"), legend, emptiest)
    return ax


def _relaid(ax: Axes, ink: Any, plan: _core.RelayAnswer, scales: _Scales) -> None:
    """What a plan lays anew: each trench hatched over its length, the new invert broken over the old one."""
    for number, stretch in enumerate(plan.stretches):
        ends = sorted((stretch["from_m"], stretch["to_m"]))
        ax.axvspan(
            *(scales.length(end) for end in ends),
            facecolor="none",
            edgecolor=ink.grey(0.3),
            hatch="//",
            linewidth=0.8,
            zorder=0.4,
            label="to be dug: a trench" if number == 0 else None,
        )
    heights = dict(zip(plan.nodes.station_m, plan.nodes.new_height_m, strict=True))
    new = [row for row in plan.pieces if row["new"]]
    for number, piece in enumerate(new):
        stations = (piece["from_m"], piece["to_m"])
        ax.plot(
            [scales.length(station) for station in stations],
            [scales.height(heights[station]) for station in stations],
            color=ink.full,
            linestyle=(0, (6, 2)),
            linewidth=1.8,
            zorder=2.7,
            label="invert of the new pipe" if number == 0 else None,
        )


def plot_plan(
    of: _core.Answers | _core.Lateral,
    *,
    ax: Axes | None = None,
    units: Units = "si",
    legend: bool = True,
) -> Axes:
    """Draw the lateral from above, true to scale: its axis in its 95 % region, bellies, and what was located from the surface.

    Parameters
    ----------
    of : Answers or Lateral
        What to draw.
    ax : matplotlib.axes.Axes, optional
        Where; its aspect becomes equal. Absent: a figure of its own, with the legend under it.
    units : {"si", "us", "uk"}
        Metres or feet.
    legend : bool
        Say what is what.

    Returns
    -------
    matplotlib.axes.Axes
        The axes.

    Raises
    ------
    InputError
        The plan is not determined; the message says what would determine it.
    UnknownWordError
        Units that are not known.
    ImportError
        Matplotlib is not installed.

    Examples
    --------
    >>> import fallwise as fw
    >>> from fallwise.units import deg
    >>> run = fw.Run(
    ...     counter_m=[0, 5, 10, 15],
    ...     reading_rad=deg([1.2, 1.1, 1.2, 1.3]),
    ...     by_hand=True,
    ...     start_azimuth_rad=deg(60),
    ...     start_azimuth_sd_rad=deg(2),
    ... )
    >>> ax = fw.plot_plan(fw.solve(run, draws=100))
    >>> ax.get_xlabel(), ax.get_ylabel()
    ('East (m)', 'North (m)')
    """
    answers, scales = _answers(of), _scales(units)
    path = answers.path
    known = np.isfinite(path.east_m) & np.isfinite(path.north_m)
    if known.sum() < 2:
        expected = "start_azimuth_rad of a run, an AzimuthTie, or two PlanTies"
        said = [line for line in (answers.adjustment or {}).get("not_determined", []) if "in plan" in line]
        raise InputError(
            " ".join(
                ["the plan is not determined, because no direction in plan was measured; expected", expected, *said]
            ).strip(),
            field="of",
            expected=expected,
        )
    drawn = _library("plot_plan")
    ax, made = drawn.axes(ax)
    ink = drawn.Ink(ax)
    job = answers.to_dict()["job"]
    station_m = path.station_m
    east = np.where(known, scales.length(path.east_m), np.nan)
    north = np.where(known, scales.length(path.north_m), np.nan)

    from matplotlib.collections import PolyCollection
    from matplotlib.patches import Ellipse, Polygon

    size = max(np.ptp(east[known]), np.ptp(north[known]))

    # The region node by node; where one of two has no error there is no correlation.
    east_sd, north_sd = scales.length(path.east_sd_m), scales.length(path.north_sd_m)
    shared = np.nan_to_num(path.east_north_correlation) * east_sd * north_sd
    covariance = np.array([[east_sd**2, shared], [shared, north_sd**2]]).transpose(2, 0, 1)
    sure = known & np.isfinite(covariance).all(axis=(1, 2))
    outlines: list[Floats] = []
    for part in np.split(np.arange(len(sure)), np.flatnonzero(np.diff(sure)) + 1):
        if sure[part[0]] and len(part) > 1:
            outlines += drawn.region(east[part], north[part], covariance[part])
    if outlines:
        grey = ink.grey(0.15)
        where = PolyCollection(outlines, facecolors=[grey], edgecolors=[grey], linewidths=0.5, zorder=1.0)
        where.set_label("the pipe is somewhere in here (95 % at each place)")
        # A region that would make a dot of the pipe is cut off at the frame.
        reach = drawn.ELLIPSE_95 * max(east_sd[sure].max(), north_sd[sure].max())
        ax.add_collection(where, autolim=bool(reach <= _ROOM * size))

    ax.plot(east, north, color=ink.full, linewidth=1.8, zorder=2.5, label="axis of the pipe")
    named: set[str] = set()
    for pool in answers.pools:
        inside = (station_m > pool["from_m"]) & (station_m < pool["to_m"]) & known
        at_m = np.concatenate([[pool["from_m"]], station_m[inside], [pool["to_m"]]])
        x, y = (np.interp(at_m, station_m[known], line[known]) for line in (east, north))
        look = _BELLIES[pool["state"]]
        strip = Polygon(
            drawn.beside(x, y, 0.014 * size),
            facecolor="none",
            edgecolor=ink.full,
            hatch=look.hatch,
            linestyle=look.line,
            linewidth=0.9,
            zorder=2.0,
            label=look.label if look.label not in named else None,
        )
        named.add(look.label)
        ax.add_patch(strip)
    rows = [row for row in answers.ties if row["kind"] == "plan"]
    located = [
        (a, b) for a in rows for b in rows if (a["number"], a["quantity"], b["quantity"]) == (b["number"], "east_m", "north_m")
    ]
    for number, pair in enumerate(located):
        (x, y), (x_sd, y_sd) = ([scales.length(row[name]) for row in pair] for name in ("value", "sd"))
        style = {"color": ink.full, "zorder": 3.0, "linestyle": "none"}
        ax.plot([x], [y], marker="o", ms=5, label=None if number else "located from the surface (ellipse: 95 %)", **style)
        across = 2.0 * drawn.ELLIPSE_95
        ax.add_patch(
            Ellipse((x, y), across * x_sd, across * y_sd, facecolor="none", edgecolor=ink.full, linewidth=0.9, zorder=3.0)
        )
        if "suspect" in {row["verdict"] for row in pair}:
            ax.plot([x], [y], marker="o", ms=14, mfc="none", mew=1.5, label=_once(ax, "does not fit: suspect"), **style)

    ax.margins(0.12)
    ax.set_aspect("equal", adjustable="datalim")
    ax.ticklabel_format(useOffset=False)
    ax.set_xlabel(f"East ({scales.length_unit})")
    ax.set_ylabel(f"North ({scales.length_unit})")
    _ends(ax, ink, scales, station_m[known], east[known], north[known], job["flow"] == "increasing")
    emptiest, second = drawn.free_corners(ax, *_dense(east[known], north[known]), 0.45, 0.22)[:2]
    inside = legend and not made
    _north_arrow(ax, ink, second)
    place = drawn.into_corner(second, along=0.1) if inside else drawn.into_corner(emptiest)
    words = drawn.wrapped("True to scale. " + _caution(answers), 40)
    note = ax.text(s=words, **place, **drawn.note_style(ax, ink))
    note.set_in_layout(False)
    drawn.finish(ax, made, job["survey"].get("title"), legend, emptiest)
    return ax


def plot_readings(
    of: _core.Answers | _core.Lateral,
    *,
    ax: Axes | None = None,
    y: Literal["tilt", "slope"] = "tilt",
    units: Units = "si",
    legend: bool = True,
) -> Axes:
    """Draw the readings against station, what conditioning made of them, and the segments found in them with their 95 % band.

    Readings are drawn as the head gave them, with its zero error and seating still in them, and the segments without: how far
    they lie apart is that error. Each run has a marker of its own. What conditioning dropped, flagged or combined stands
    apart by its reason, where the counter as logged put it: after the counter was reset that is not where the head was. Up
    and down cover the pipe, drops left out; what lies beyond is drawn at the edge with an arrow head.

    Parameters
    ----------
    of : Answers or Lateral
        What to draw.
    ax : matplotlib.axes.Axes, optional
        Where; absent: a figure of its own, with the legend under it.
    y : {"tilt", "slope"}
        Degrees from level, or percent; positive down towards growing station.
    units : {"si", "us", "uk"}
        Stations in metres or feet.
    legend : bool
        Say what is what, with the reasons.

    Returns
    -------
    matplotlib.axes.Axes
        The axes.

    Raises
    ------
    UnknownWordError
        Units, or a `y`, that are not known.
    ImportError
        Matplotlib is not installed.

    Examples
    --------
    >>> import fallwise as fw
    >>> from fallwise.units import deg
    >>> run = fw.Run(counter_m=[0, 5, 10, 15], reading_rad=deg([1.2, 1.1, 1.2, 1.3]), by_hand=True)
    >>> fw.plot_readings(fw.solve(run, draws=100), y="slope").get_ylabel()
    'Slope towards growing station (%)'
    """
    answers, scales = _answers(of), _scales(units)
    _known("y", y, ("tilt", "slope"))
    drawn = _library("plot_readings")
    ax, made = drawn.axes(ax)
    ink = drawn.Ink(ax)
    job = answers.to_dict()["job"]

    def up(tilt_rad: npt.ArrayLike) -> Any:
        return _units.to_deg(tilt_rad) if y == "tilt" else _units.to_percent(_units.tilt_to_slope(tilt_rad))

    readings, segments = answers.readings, answers.segments
    pipe = segments.kind != "drop"
    # What the picture is for lies on the pipe; drops and what was dropped would squash it.
    tilt, sd = segments.tilt_rad, np.nan_to_num(segments.tilt_sd_rad)
    ends_m = np.column_stack([segments.from_m, segments.to_m])
    band = [up(tilt - drawn.Z_95 * sd), up(tilt + drawn.Z_95 * sd)]
    shown = [*band[0][pipe], *band[1][pipe]]
    for start_m, end_m in ends_m[pipe]:
        # Those without weight are near a bend, and may still see the drop before it.
        here = (readings.station_m >= start_m) & (readings.station_m <= end_m) & (readings.weight > 0.0)
        shown += list(up(readings.tilt_rad[here]))
    limits = _limits(shown or [*band[0], *band[1]])

    edge = _Edge(ax, ink, limits)
    markers, marker_size = "os^Dv<>p", 3 if len(readings) > 100 else 5
    for run in np.unique(readings.run):
        of_run = readings.run == run
        name = job["runs"][run]["name"] if run < len(job["runs"]) else ""
        numbered = f"run {run + 1}" + (f" ({name})" if name else "")
        label = f"readings of {numbered}, zero error in" if len(job["runs"]) > 1 else "readings, zero error in"
        edge.plot(
            scales.length(readings.station_m[of_run]),
            up(readings.tilt_rad[of_run]),
            None,
            marker=markers[run % len(markers)],
            markersize=marker_size,
            alpha=0.6,
            markeredgewidth=0,
            zorder=1.5,
            label=label,
        )
    _edits(ax, edge, drawn, answers, scales, up)

    x = scales.length(ends_m).ravel()
    steps = [np.repeat(line, 2) for line in (up(tilt), *band)]
    # Segments that do not touch are not joined.
    breaks = 2 * np.flatnonzero(ends_m[1:, 0] - ends_m[:-1, 1] > 1e-6) + 2
    x, *steps = (np.insert(line, breaks, np.nan) for line in (x, *steps))
    if (sd > 0.0).any():
        ax.fill_between(
            x,
            steps[1],
            steps[2],
            facecolor=ink.grey(0.25),
            edgecolor="none",
            zorder=1.0,
            label="tilt of the pipe is somewhere in here (95 %)",
        )
    ax.plot(x, steps[0], color=ink.full, linewidth=1.6, zorder=2.5, label="segments found: tilt of the pipe")
    ax.axhline(0.0, color=ink.grey(0.5), linewidth=0.6, zorder=0.5)
    ax.set_ylim(limits)
    ax.set_xlabel(f"{scales.station} ({scales.length_unit})")
    what, unit = ("Tilt", "degrees") if y == "tilt" else ("Slope", "%")
    ax.set_ylabel(f"{what} towards growing station ({unit})")
    drawn.finish(ax, made, job["survey"].get("title"), legend)
    return ax


def plot_posterior(
    of: _core.Answers | _core.Lateral,
    *,
    ax: Sequence[Axes] | npt.NDArray[Any] | None = None,
    parameters: Sequence[str] | None = None,
    units: Units = "si",
    legend: bool = True,
) -> npt.NDArray[Any]:
    """Draw what was known of the instrument before the run, and what is known after all was adjusted, each as a density.

    One picture for each row of the table ``parameters`` that was estimated; what was taken as it stands, or held exactly, has
    none. Where hardly anything was known before, that density is nearly flat, and may not fit into the picture in width.

    Parameters
    ----------
    of : Answers or Lateral
        What to draw.
    ax : sequence of matplotlib.axes.Axes, optional
        Where, one for each parameter; an array of axes will do. Absent: a figure of its own.
    parameters : sequence of str, optional
        Which, by their `name` in the table; absent: all that were estimated.
    units : {"si", "us", "uk"}
        Of parameters that are lengths: millimetres or inches. Angles are in degrees, ratios in percent.
    legend : bool
        Say what is what, in the first picture.

    Returns
    -------
    ndarray of matplotlib.axes.Axes
        The axes, in the order of the parameters.

    Raises
    ------
    InputError
        Nothing was estimated, or the number of axes is not that of the parameters.
    UnknownWordError
        A parameter, or units, that are not known.
    ImportError
        Matplotlib is not installed.

    Examples
    --------
    >>> import fallwise as fw
    >>> from fallwise.units import deg
    >>> run = fw.Run(counter_m=[0, 5, 10, 15], reading_rad=deg([1.2, 1.1, 1.2, 1.3]), by_hand=True)
    >>> lateral = fw.solve(run, ties=[fw.ReversalCheck(first_rad=0.003, second_rad=-0.001)], draws=100)
    >>> axes = fw.plot_posterior(lateral, parameters=["zero_rad"])
    >>> print(axes[0].get_title())
    zero error of the head
    sd 0.3° before, 0.05° after
    """
    answers, scales = _answers(of), _scales(units)
    estimated = {
        row["name"]: row for row in answers.parameters if row["prior"] is not None and row["prior_sd"] > 0.0 and row["sd"] > 0.0
    }
    names = list(estimated) if parameters is None else list(parameters)
    for name in names:
        _known("parameters", name, tuple(estimated))
    if not names:
        raise InputError(
            "parameters: nothing was estimated of an instrument, so that there is nothing to draw",
            field="of",
            expected="answers with rows of parameters that have a standard deviation",
        )
    given = None if ax is None else list(np.asarray(ax, dtype=object).ravel())
    if given is not None and len(given) != len(names):
        raise InputError(
            f"ax: {len(given)} axes given, expected one for each of {len(names)} parameters",
            field="ax",
            value=str(len(given)),
            expected=str(len(names)),
        )
    drawn = _library("plot_posterior")
    panels = drawn.panels(len(names), given)
    for panel, name in zip(panels, names, strict=True):
        row, ink = estimated[name], drawn.Ink(panel)
        what, convert, unit = _parameter(name, scales)
        value, sd, prior, prior_sd = (convert(row[key]) for key in ("value", "sd", "prior", "prior_sd"))
        # All of what is known now, and what was known before as far as that leaves the other to be seen.
        reach = min(3.5 * prior_sd, 12.0 * sd)
        x = np.linspace(min(value - 4.0 * sd, prior - reach), max(value + 4.0 * sd, prior + reach), 400)
        after = _density(x, value, sd)
        panel.fill_between(x, after, facecolor=ink.grey(0.15), edgecolor="none", zorder=1.0)
        panel.plot(x, after, color=ink.grey(0.5), linewidth=2.2, zorder=2.0, label="after the adjustment")
        panel.plot(
            x, _density(x, prior, prior_sd), color=ink.full, linewidth=1.2, linestyle="--", zorder=2.5, label="before the run"
        )
        panel.set_ylim(bottom=0.0)
        panel.set_xlabel(unit)
        panel.set_ylabel(f"density (1/{_SIGNS[unit].strip() if unit == 'degrees' else unit})")
        panel.set_title(
            f"{drawn.wrapped(what, 40)}\nsd {prior_sd:.3g}{_SIGNS[unit]} before, {sd:.3g}{_SIGNS[unit]} after", fontsize="medium"
        )
    if legend:
        panels[0].legend(loc="best", fontsize="small")
    result = np.empty(len(panels), dtype=object)
    result[:] = panels
    return result


class _Belly(NamedTuple):
    """How a belly is drawn."""

    label: str
    hatch: str | None
    line: str


_BELLIES = {
    "found": _Belly("water that a belly can hold", "-----", "-"),
    "possible": _Belly("there may be a belly", None, "--"),
    "intended": _Belly("water in a trap, as intended", ".....", "-"),
}
_SIGNS = {"degrees": "°", "%": " %", "mm": " mm", "in": " in"}


def _library(name: str) -> Any:
    """What draws, or how to get it."""
    try:
        import_module("matplotlib")
    except ImportError as error:
        raise ImportError(
            f'{name} needs matplotlib, which is not installed: pip install "fallwise[plot]"', name="matplotlib"
        ) from error
    return import_module("fallwise._drawn")


def _answers(of: _core.Answers | _core.Lateral) -> _core.Answers:
    if isinstance(of, _core.Lateral):
        return of.answers
    if isinstance(of, _core.Answers):
        return of
    kind = type(of).__name__
    raise InputError(
        f"of: an object of type {kind} given, expected Answers or Lateral", field="of", value=kind, expected="Answers or Lateral"
    )


def _known(field: str, word: str, known: Sequence[str]) -> None:
    if word in known:
        return
    from difflib import get_close_matches

    nearest = next(iter(get_close_matches(str(word), known, n=1)), None)
    meant = f' (did you mean "{nearest}"?)' if nearest else ""
    expected = ", ".join(known)
    raise UnknownWordError(
        f'{field} "{word}" is not known{meant}; known: {expected}',
        field=field,
        value=str(word),
        expected=expected,
        nearest=nearest,
    )


def _scales(units: str) -> _Scales:
    _known("units", units, tuple(_SCALES))
    return _SCALES[units]


def _caution(answers: _core.Answers) -> str:
    """The caution that matters most where somebody may dig by a picture."""
    return next((line for line in answers.cautions if "buried services" in line), "")


def _once(ax: Axes, label: str) -> str | None:
    """A label, unless the axes have it."""
    return None if label in ax.get_legend_handles_labels()[1] else label


def _height_label(path: _core.Table, scales: _Scales) -> str:
    label = f"Invert above its lowest point ({scales.height_unit})"
    lowest = path.elevation_m[np.argmin(path.height_m)]
    if np.isfinite(lowest):
        label += f"\nwhose elevation is {scales.length(lowest):.3f} {scales.length_unit}"
    return label


def _water(ax: Axes, ink: Any, answers: _core.Answers, scales: _Scales) -> None:
    """The water of each belly, between invert and level, cut off at the crown."""
    path = answers.path
    station_m, height_m = path.station_m, path.height_m
    for pool in answers.pools:
        look = _BELLIES[pool["state"]]
        style = {
            "facecolor": "none",
            "edgecolor": ink.full,
            "hatch": look.hatch,
            "linestyle": look.line,
            "linewidth": 0.9,
            "zorder": 1.5,
            "label": _once(ax, look.label),
        }
        if pool["level_m"] is None:
            # No water in the best estimate: only the stretch can be shown.
            start, end = (scales.length(pool[name]) for name in ("from_m", "to_m"))
            ax.axvspan(start, end, ymin=0.0, ymax=0.025, **style)
            continue
        inside = (station_m > pool["from_m"]) & (station_m < pool["to_m"])
        at_m = np.concatenate([[pool["from_m"]], station_m[inside], [pool["to_m"]]])
        # Stations of a step come twice; only those inside are taken as they are.
        invert_m = np.concatenate(
            [
                [np.interp(pool["from_m"], station_m, height_m)],
                height_m[inside],
                [np.interp(pool["to_m"], station_m, height_m)],
            ]
        )
        bore_m = path.bore_m[np.clip(np.searchsorted(station_m, at_m, side="right") - 1, 0, len(station_m) - 1)]
        top_m = np.fmin(pool["level_m"], invert_m + bore_m)
        ax.fill_between(scales.length(at_m), scales.height(invert_m), scales.height(np.fmax(top_m, invert_m)), **style)


def _drops(ax: Axes, ink: Any, answers: _core.Answers, scales: _Scales) -> None:
    """Drops, by a heavy line over the invert."""
    path = answers.path
    for row in answers.segments:
        if row["kind"] == "drop":
            inside = (path.station_m >= row["from_m"]) & (path.station_m <= row["to_m"])
            ax.plot(
                scales.length(path.station_m[inside]),
                scales.height(path.height_m[inside]),
                color=ink.full,
                linewidth=4.0,
                solid_capstyle="butt",
                zorder=2.4,
                label=_once(ax, "drop (steeper than 45 degrees)"),
            )


def _ties(ax: Axes, ink: Any, answers: _core.Answers, scales: _Scales, z: float) -> None:
    """What was levelled, located or seen beside the runs, with error bars; as-built inverts; rings about what does not fit."""
    path = answers.path

    def invert_m(station_m: float) -> float:
        return float(np.interp(station_m, path.station_m, path.height_m))

    datum_m = path.elevation_m[0] - path.height_m[0]
    for row in answers.ties:
        if row["kind"] not in _HIGH or row["station_m"] is None:
            continue
        label, marker, filled = _HIGH[row["kind"]]
        if row["quantity"] == "rise_m":
            # From the invert, or the water over it, at the first place to the second.
            start, end = row["station_m"], row["to_m"]
            high_m = invert_m(start) + row["value"]
            first_m = invert_m(start) if row["kind"] == "height_difference" else high_m
            ax.plot(
                scales.length(np.array([start, end])),
                scales.height(np.array([first_m, high_m])),
                color=ink.full,
                linestyle="-." if row["kind"] == "height_difference" else ":",
                marker="_",
                markersize=9,
                linewidth=1.2,
                zorder=3.0,
            )
        elif row["kind"] == "invert" and np.isfinite(datum_m):
            end = row["station_m"]
            high_m = row["value"] - datum_m
        else:
            # The elevation is of what was located, which need not be the invert: it is drawn as far off as is left of it.
            end = row["station_m"]
            high_m = invert_m(end) + row["residual"]
        ax.errorbar(
            [scales.length(end)],
            [scales.height(high_m)],
            yerr=[scales.height(z * row["sd"])],
            color=ink.full,
            marker=marker,
            markersize=5,
            markerfacecolor=ink.full if filled else ink.paper,
            linestyle="none",
            elinewidth=1.1,
            capsize=3,
            zorder=3.0,
            label=_once(ax, label),
        )
        if row["verdict"] == "suspect":
            ax.plot(
                [scales.length(end)],
                [scales.height(high_m)],
                marker="o",
                markersize=14,
                markerfacecolor="none",
                markeredgecolor=ink.full,
                markeredgewidth=1.5,
                linestyle="none",
                zorder=3.0,
                label=_once(ax, "does not fit: suspect"),
            )
    built = answers.as_built
    if len(built):
        ax.plot(
            scales.length(built.station_m),
            scales.height(np.array([invert_m(s) for s in built.station_m]) - built.difference_m),
            marker="s",
            markersize=5,
            markerfacecolor=ink.paper,
            markeredgecolor=ink.full,
            linestyle="none",
            zorder=3.0,
            label="as-built invert",
        )


def _flow_arrow(ax: Axes, ink: Any, corner: str, increasing: bool) -> None:
    """Which way the water flows, in a corner."""
    left, right = (0.03, 0.17) if corner.endswith("left") else (0.83, 0.97)
    tail, head = (left, right) if increasing else (right, left)
    level = 0.06 if corner.startswith("lower") else 0.94
    arrow = ax.annotate(
        "flow",
        xy=(head, level),
        xytext=(tail, level),
        xycoords="axes fraction",
        textcoords="axes fraction",
        va="center",
        ha="left" if increasing else "right",
        color=ink.full,
        zorder=6,
        arrowprops={"arrowstyle": "-|>", "color": ink.full},
    )
    arrow.set_in_layout(False)


def _north_arrow(ax: Axes, ink: Any, corner: str) -> None:
    """Grid north, in a corner."""
    x = 0.06 if corner.endswith("left") else 0.94
    low, high = (0.05, 0.19) if corner.startswith("lower") else (0.81, 0.95)
    arrow = ax.annotate(
        "N",
        xy=(x, high),
        xytext=(x, low),
        xycoords="axes fraction",
        textcoords="axes fraction",
        ha="center",
        va="bottom",
        color=ink.full,
        zorder=6,
        arrowprops={"arrowstyle": "-|>", "color": ink.full},
    )
    arrow.set_in_layout(False)


def _ends(ax: Axes, ink: Any, scales: _Scales, station_m: Floats, east: Floats, north: Floats, increasing: bool) -> None:
    """The stations of both ends, and which way the water flows."""
    middle = np.array([east.mean(), north.mean()])
    for index in (0, -1):
        at = np.array([east[index], north[index]])
        ax.plot(*at, marker="o", markersize=4, color=ink.full, linestyle="none", zorder=2.6)
        right, above = at >= middle
        ax.annotate(
            _units.say_station(float(station_m[index]), scales.words),
            _point(at),
            xytext=(6 if right else -6, 6 if above else -6),
            textcoords="offset points",
            ha="left" if right else "right",
            va="bottom" if above else "top",
            fontsize="small",
            color=ink.full,
            zorder=5,
        )
    # Beside the middle of the way, a tenth of it long.
    way = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(east), np.diff(north)))])
    if way[-1] <= 0.0:
        return
    places = np.array([0.45, 0.55] if increasing else [0.55, 0.45]) * way[-1]
    tail, head = np.column_stack([np.interp(places, way, east), np.interp(places, way, north)])
    along = (head - tail) / max(float(np.hypot(*(head - tail))), 1e-12)
    aside = np.array([-along[1], along[0]]) * 0.05 * way[-1]
    ax.annotate(
        "", xy=_point(head + aside), xytext=_point(tail + aside), arrowprops={"arrowstyle": "-|>", "color": ink.full}, zorder=5
    )
    ax.annotate(
        "flow",
        _point(0.5 * (tail + head) + aside),
        xytext=(-14.0 * along[1], 14.0 * along[0]),
        textcoords="offset points",
        ha="center",
        va="center",
        fontsize="small",
        color=ink.full,
        zorder=5,
    )


def _point(at: npt.NDArray[Any]) -> tuple[float, float]:
    return float(at[0]), float(at[1])


def _dense(x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """Points along a line, close to each other."""
    many = np.linspace(0.0, len(x) - 1.0, 400)
    nodes = np.arange(len(x))
    return np.interp(many, nodes, x), np.interp(many, nodes, y)


def _limits(shown: Sequence[float]) -> tuple[float, float]:
    """Ends of an axis with room for values, and for level."""
    low, high = min(0.0, float(np.min(shown))), max(0.0, float(np.max(shown)))
    room = 0.06 * (high - low) or 1.0
    return low - room, high + room


class _Edge:
    """Draws points, those beyond the limits at the edge with an arrow head."""

    def __init__(self, ax: Axes, ink: Any, limits: tuple[float, float]) -> None:
        self._ax = ax
        self._ink = ink
        self._limits = limits

    def plot(self, x: Floats, y: Floats, colour: Any, **style: Any) -> None:
        low, high = self._limits
        inside = (y >= low) & (y <= high)
        own = {} if colour is None else {"color": colour}
        self._ax.plot(x[inside], y[inside], linestyle="none", **own, **style)
        for beyond, marker, edge in ((y > high, "^", high), (y < low, "v", low)):
            if beyond.any():
                self._ax.plot(
                    x[beyond],
                    np.full(int(beyond.sum()), edge),
                    marker=marker,
                    markersize=6,
                    color=self._ink.full,
                    linestyle="none",
                    clip_on=False,
                    zorder=4.0,
                    label=_once(self._ax, "beyond the picture, up or down"),
                )


def _edits(ax: Axes, edge: _Edge, drawn: Any, answers: _core.Answers, scales: _Scales, up: Callable[[Any], Any]) -> None:
    """What conditioning dropped, flagged or combined, by its reason: what is lost first, and of that the most first."""
    ink = drawn.Ink(ax)
    groups: dict[tuple[str, str], list[tuple[float, float]]] = {}
    for row in answers.edits:
        groups.setdefault((row["action"], row["reason"]), []).append((row["station_m"], row["tilt_rad"]))
    order = {"dropped": 0, "flagged": 1, "combined": 2}
    markers = {"dropped": iter("xX*d"), "flagged": iter("sDph"), "combined": iter("+123")}
    ranked = sorted(groups, key=lambda key: (order.get(key[0], 3), -len(groups[key])))
    for number, (action, reason) in enumerate(ranked):
        points = np.array(groups[action, reason])
        rest = sum(len(groups[key]) for key in ranked[_MOST_GROUPS:])
        told = reason if action in reason else f"{action}: {reason}"
        label = f"{told} ({len(points)})" if number < _MOST_GROUPS else f"changed otherwise ({rest})"
        edge.plot(
            scales.length(points[:, 0]),
            up(points[:, 1]),
            ink.grey(0.55 if action == "combined" else 0.9),
            marker=next(markers.get(action, iter(())), "."),
            markersize=6 if action == "dropped" else 5,
            markerfacecolor="none",
            markeredgewidth=0.8,
            zorder=1.2 if action == "combined" else 3.0,
            label=_once(ax, label),
        )


def _parameter(name: str, scales: _Scales) -> tuple[str, Callable[[Any], Any], str]:
    """Plain words of a parameter, and its unit, which its name says."""
    plain, _, rest = name.partition(" ")
    first = {"zero_rad": "zero_error_of_the_head_rad", "counter_scale": "scale_error_of_the_counter"}.get(plain, plain)
    for suffix, convert, unit in (("_rad", _units.to_deg, "degrees"), ("_m", scales.height, scales.height_unit)):
        if first.endswith(suffix):
            return " ".join([first.removesuffix(suffix).replace("_", " "), rest]).strip(), convert, unit
    return " ".join([first.replace("_", " "), rest]).strip(), _units.to_percent, "%"


def _density(x: Floats, mean: float, sd: float) -> Any:
    """Of a normal distribution."""
    return np.exp(-0.5 * ((x - mean) / sd) ** 2) / (sd * np.sqrt(2.0 * np.pi))

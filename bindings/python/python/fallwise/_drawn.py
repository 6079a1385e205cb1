"""What the pictures of :mod:`fallwise.plot` have in common. It imports matplotlib, and is imported where a picture is made."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import fill
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from matplotlib import pyplot, rcParams
from matplotlib.colors import to_rgba
from matplotlib.figure import Figure
from matplotlib.text import Text

from . import math

if TYPE_CHECKING:
    import numpy.typing as npt
    from matplotlib.axes import Axes
    from matplotlib.backend_bases import RendererBase

    from ._model import Floats

Colour = tuple[float, float, float]
Corner = Literal["upper left", "upper right", "lower left", "lower right"]

#: So many standard deviations to either side hold a figure with 95 %.
Z_95 = math.normal_quantile(0.975)
#: So many hold a point of the plane: the square root of -2 ln 0.05.
ELLIPSE_95 = float(np.sqrt(-2.0 * np.log(0.05)))
#: Directions in which the region of a plan is laid out.
_DIRECTIONS = 48
#: Letters of a label in half the width of a figure, and in all of it; and how high a line of them is, inches.
_NARROW, _WIDE, _LINE_INCH = 46, 84, 0.17


class Ink:
    """Black, or what the user's style writes with, and the greys between that and the ground."""

    def __init__(self, ax: Axes) -> None:
        self.full: Colour = to_rgba(rcParams["text.color"])[:3]
        *ground, alpha = to_rgba(ax.get_facecolor())
        if alpha == 0.0:
            *ground, alpha = to_rgba(rcParams["savefig.facecolor"] if rcParams["savefig.facecolor"] != "auto" else "white")
        self.paper: Colour = (ground[0], ground[1], ground[2])

    def grey(self, share: float) -> Colour:
        """So much ink, 0 to 1, on the ground."""
        mixed = [share * ink + (1.0 - share) * paper for ink, paper in zip(self.full, self.paper, strict=True)]
        return (mixed[0], mixed[1], mixed[2])


class Exaggeration(Text):
    """States how many times larger heights are drawn than lengths, anew whenever it is drawn: zooming changes it."""

    def __init__(self, *, metres: tuple[float, float], below: str, **style: Any) -> None:
        super().__init__(**style)
        self._metres = metres
        self._below = below

    def told(self) -> str:
        """What it says of the axes as they stand."""
        ax = self.axes
        if ax is None:
            return self._below
        box = ax.get_window_extent()
        (left, right), (low, high) = ax.get_xlim(), ax.get_ylim()
        wide, tall = abs(right - left) * self._metres[0], abs(high - low) * self._metres[1]
        if not (box.width > 0.0 and box.height > 0.0 and wide > 0.0 and tall > 0.0):
            return self._below
        times = (box.height / tall) / (box.width / wide)
        rounded = float(f"{times:.2g}")
        said = (
            "Heights and lengths are drawn to one scale."
            if rounded == 1.0
            else f"Heights are drawn {rounded:g} times larger than lengths."
        )
        return f"{said}\n{self._below}" if self._below else said

    def draw(self, renderer: RendererBase) -> None:
        """Draw it as it holds now."""
        told = self.told()
        if told != self.get_text():
            self.set_text(told)
        super().draw(renderer)


def axes(ax: Axes | None) -> tuple[Axes, bool]:
    """The axes to draw into, and whether they were made here."""
    if ax is not None:
        return ax, False
    _, made = pyplot.subplots(layout="constrained")
    return made, True


def finish(ax: Axes, made: bool, title: str | None, legend: bool, corner: Corner | Literal["best"] = "best") -> None:
    """Title where there is none, and the legend: under axes that were made here, so that it hides nothing; else in a corner."""
    if title and not ax.get_title():
        ax.set_title(title)
    handles, labels = ax.get_legend_handles_labels()
    if not (legend and handles):
        return
    figure = ax.get_figure()
    if made and isinstance(figure, Figure):
        columns = 2 if max(map(len, labels)) < _NARROW else 1
        labels = [wrapped(label, _WIDE) for label in labels]
        lines = sum(label.count("\n") + 1 for label in labels) // columns
        # What a long legend takes, the figure gets on top.
        figure.set_figheight(figure.get_figheight() + _LINE_INCH * max(0, lines - 4))
        figure.legend(handles, labels, loc="outside lower center", ncols=columns, fontsize="small")
    else:
        ax.legend(handles, [wrapped(label, _NARROW) for label in labels], loc=corner, fontsize="small")


def free_corners(ax: Axes, x: npt.ArrayLike, y: npt.ArrayLike, wide: float, tall: float) -> list[Corner]:
    """Corners of the axes, the emptiest first: where the fewest of these points lie in so large a share of the axes."""
    # Limits that are to follow what was drawn do so when they are asked for.
    ax.get_xlim(), ax.get_ylim()
    ax.apply_aspect()
    points = np.column_stack([np.ravel(x), np.ravel(y)])
    at = ax.transAxes.inverted().transform(ax.transData.transform(points[np.isfinite(points).all(axis=1)]))
    across = {"left": at[:, 0] < wide, "right": at[:, 0] > 1.0 - wide}
    up = {"lower": at[:, 1] < tall, "upper": at[:, 1] > 1.0 - tall}
    order: list[Corner] = ["lower left", "upper right", "lower right", "upper left"]

    def taken(corner: Corner) -> int:
        vertical, horizontal = corner.split()
        return int((across[horizontal] & up[vertical]).sum())

    return sorted(order, key=taken)


def into_corner(corner: Corner, along: float = 0.0, up: float = 0.0) -> dict[str, Any]:
    """Place and alignment of a text in a corner, or so far from it into the axes."""
    vertical, horizontal = corner.split()
    return {
        "x": 0.02 + along if horizontal == "left" else 0.98 - along,
        "y": 0.03 + up if vertical == "lower" else 0.97 - up,
        "ha": horizontal,
        "va": "bottom" if vertical == "lower" else "top",
    }


def note_style(ax: Axes, ink: Ink) -> dict[str, Any]:
    """How a small text in a corner is written."""
    return {
        "transform": ax.transAxes,
        "fontsize": "x-small",
        "color": ink.full,
        "zorder": 6,
        "bbox": {"facecolor": ink.paper, "edgecolor": "none", "alpha": 0.7, "pad": 1.5},
    }


def wrapped(text: str, columns: int) -> str:
    """A text in lines."""
    return fill(text, columns, break_long_words=False)


def pieces(x: Floats, y: Floats, offset: Floats) -> tuple[Floats, Floats]:
    """A line piece by piece, each with its own offset, broken where the offset is not known."""
    xs, ys = [], []
    for i in range(len(x) - 1):
        xs += [x[i], x[i + 1]]
        ys += [y[i] + offset[i], y[i + 1] + offset[i]]
    return np.array(xs), np.array(ys)


def region(east: Floats, north: Floats, covariance: Floats) -> list[Floats]:
    """Outlines of the 95 % ellipses of places, each with the one after it and what lies between them.

    The outermost point of an ellipse in a direction u is c + k C u / sqrt(u C u); that of two together is the farther of both.
    """
    angle = np.linspace(0.0, 2.0 * np.pi, _DIRECTIONS, endpoint=False)
    u = np.column_stack([np.cos(angle), np.sin(angle)])
    towards = np.einsum("nij,kj->nki", covariance, u)
    sd = np.sqrt(np.maximum(np.einsum("nki,ki->nk", towards, u), 0.0))
    centre = np.column_stack([east, north])
    edge = centre[:, None, :] + ELLIPSE_95 * towards / np.where(sd > 0.0, sd, np.inf)[:, :, None]
    reach = np.einsum("nki,ki->nk", edge, u)
    farther = (reach[1:] > reach[:-1])[:, :, None]
    return list(np.where(farther, edge[1:], edge[:-1]))


def beside(x: Floats, y: Floats, half: float) -> Floats:
    """Outline of a strip so wide to either side of a line."""
    run = np.column_stack([np.gradient(x), np.gradient(y)])
    length = np.hypot(run[:, 0], run[:, 1])
    across = np.column_stack([-run[:, 1], run[:, 0]]) / np.where(length > 0.0, length, np.inf)[:, None]
    line = np.column_stack([x, y])
    return np.concatenate([line + half * across, (line - half * across)[::-1]])


def panels(count: int, given: Sequence[Axes] | None) -> list[Axes]:
    """Axes for so many pictures, side by side in twos."""
    if given is not None:
        return list(given)
    rows = (count + 1) // 2
    columns = min(count, 2)
    wide, tall = rcParams["figure.figsize"]
    figure, made = pyplot.subplots(
        rows,
        columns,
        layout="constrained",
        squeeze=False,
        figsize=(wide * max(1.0, 0.75 * columns), tall * max(1.0, 0.55 * rows)),
    )
    flat: list[Axes] = list(made.ravel())
    for spare in flat[count:]:
        figure.delaxes(spare)
    return flat[:count]

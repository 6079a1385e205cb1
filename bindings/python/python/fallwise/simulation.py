"""The forward model: the log that a head would give in a pipe that is known, with what can go wrong."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar, Literal

from . import _core
from ._model import Run, TiltPositive, Toward
from ._plain import DEFAULTS, Plain, Record, given, tuples

if TYPE_CHECKING:
    import numpy.typing as npt

    from ._model import Floats

__all__ = ["Flaw", "Flaws", "Head", "Lip", "Roll", "Rounding", "Simulated", "Truth", "simulate"]

_HEAD, _ROLL, _FLAWS = DEFAULTS["Head"], DEFAULTS["Roll"], DEFAULTS["Flaws"]


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Lip(Plain):
    """A lip at a displaced joint.

    Parameters
    ----------
    at_m : float
        Station, m.
    rise_m : float
        How much higher the invert is just after it, looking along growing station, m.
    """

    at_m: float
    rise_m: float


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Truth(Plain):
    """The pipe as it is.

    Parameters
    ----------
    breaks_m : sequence of float
        Stations of the ends of the pieces, m, growing; one more than pieces.
    tilt_rad : sequence of float
        Tilt of each piece, rad, positive down towards growing station.
    lips : sequence of Lip
        Lips at displaced joints.
    """

    _NESTED: ClassVar[dict[str, Any]] = {"lips": Lip}

    breaks_m: Sequence[float]
    tilt_rad: Sequence[float]
    lips: Sequence[Lip] = ()

    def __post_init__(self) -> None:
        for name in ("breaks_m", "tilt_rad"):
            object.__setattr__(self, name, tuple(_core._row(name, getattr(self, name)).tolist()))
        tuples(self, "lips")

    def height_m(self, station_m: npt.ArrayLike) -> Any:
        """Height of the invert above that of the first break.

        Parameters
        ----------
        station_m : float or array_like
            Stations, m.

        Returns
        -------
        float or ndarray
            Height, m.
        """
        return _core._truth(self, "height", station_m, 0.0)

    def fall_m(self, from_m: npt.ArrayLike, to_m: npt.ArrayLike) -> Any:
        """Fall between stations.

        Parameters
        ----------
        from_m, to_m : float or array_like
            Stations, m.

        Returns
        -------
        float or ndarray
            Fall, m, positive where the second is lower.
        """
        return _core._truth(self, "fall", from_m, to_m)

    def slope(self, from_m: npt.ArrayLike, to_m: npt.ArrayLike) -> Any:
        """Slope between stations.

        Parameters
        ----------
        from_m, to_m : float or array_like
            Stations, m.

        Returns
        -------
        float or ndarray
            Fall over horizontal length; NaN where there is no pipe.
        """
        return _core._truth(self, "slope", from_m, to_m)


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Roll(Plain):
    """How the head rolls about the pipe's axis, and what that adds to a reading.

    Parameters
    ----------
    cross_rad : float
        Error of the sensor across the head, rad.
    amplitude_rad, wavelength_m, phase_rad : float
        The roll, a sine of the way.
    logged : bool
        Whether the log has the roll.
    """

    cross_rad: float = _ROLL["cross_rad"]
    amplitude_rad: float = _ROLL["amplitude_rad"]
    wavelength_m: float = _ROLL["wavelength_m"]
    phase_rad: float = _ROLL["phase_rad"]
    logged: bool = _ROLL["logged"]


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Rounding(Plain):
    """Rounding to whole steps in the log's own unit.

    Parameters
    ----------
    unit : {"none", "degrees", "percent"}
        What is rounded.
    step : float
        To whole steps of so many of them.
    """

    unit: Literal["none", "degrees", "percent"] = "none"
    step: float = 0.0

    def _to_core(self) -> Any:
        return "none" if self.unit == "none" else {self.unit: self.step}


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Head(Plain):
    """The head, as it is rather than as it is known, and how it logs.

    Parameters
    ----------
    zero_rad, seating_push_rad, seating_pull_rad : float
        Zero error, and seating while pushed and while pulled, rad.
    noise_sd_rad, correlation_m : float
        Noise of one reading before rounding, rad, and the distance over which its correlation falls to 1/e, m.
    rounding : Rounding
        Rounding of what is logged.
    head_length_m : float
        Length of pipe that a reading averages over, m.
    drift_rad : float
        Drift at the start of the log, rad.
    roll : Roll
        How it rolls.
    lag_s : float
        Time constant of the sensor's filter, s.
    tilt_positive, toward
        As in :class:`fallwise.Run`.
    """

    zero_rad: float = _HEAD["zero_rad"]
    seating_push_rad: float = _HEAD["seating_push_rad"]
    seating_pull_rad: float = _HEAD["seating_pull_rad"]
    noise_sd_rad: float = _HEAD["noise_sd_rad"]
    correlation_m: float = _HEAD["correlation_m"]
    rounding: Rounding = field(default_factory=Rounding)
    head_length_m: float = _HEAD["head_length_m"]
    drift_rad: float = _HEAD["drift_rad"]
    roll: Roll = field(default_factory=Roll)
    lag_s: float = _HEAD["lag_s"]
    tilt_positive: TiltPositive = "down"
    toward: Toward = "increasing"


class Flaw(Plain):
    """One flaw of a log: its kind and the figures that go with it.

    Kinds and figures: ``stop`` (`at_m`, `readings`), ``pull_back`` (`at_m`, `length_m`), ``spike`` (`at_m`, `rad`), ``gap``
    (`from_m`, `to_m`), ``reset`` (`at_m`), ``rezero`` (`at_m`, `counter_m`), ``slip`` (`at_m`, `length_m`), ``stretch``
    (`from_m`, `to_m`, `scale`), ``pull_out`` (`length_m`), ``slack`` (`length_m`), ``frozen`` (`from_m`, `to_m`), ``limit``
    (`rad`), ``turns_over``, ``motion`` (`sd_rad`, `rest_every`), ``bend`` (`at_m`, `rad`), ``step_under_head`` (`at_m`,
    `rise_m`).

    Examples
    --------
    >>> Flaw("pull_back", at_m=14.0, length_m=1.2)
    Flaw('pull_back', at_m=14.0, length_m=1.2)
    """

    __slots__ = ("figures", "kind")

    kind: str
    figures: Mapping[str, float]

    def __init__(self, kind: str, /, **figures: float) -> None:
        self.kind = kind
        self.figures = figures

    def _to_core(self) -> dict[str, Any]:
        return {"kind": self.kind, **self.figures}

    @classmethod
    def _from_core(cls, plain: dict[str, Any]) -> Flaw:
        return cls(plain["kind"], **{name: value for name, value in plain.items() if name != "kind"})

    def __repr__(self) -> str:
        return f"Flaw({', '.join([repr(self.kind), *(f'{name}={value}' for name, value in self.figures.items())])})"

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Flaw) and self._to_core() == other._to_core()

    def __hash__(self) -> int:
        return hash((self.kind, *sorted(self.figures.items())))


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Flaws(Plain):
    """What goes wrong with a log.

    Parameters
    ----------
    list : sequence of Flaw
        Flaws with a place, in any order.
    counter_scale : float
        Scale error of the counter: true distance = (1 + this) counter.
    """

    _NESTED: ClassVar[dict[str, Any]] = {"list": Flaw}

    list: Sequence[Flaw] = ()
    counter_scale: float = _FLAWS["counter_scale"]

    def __post_init__(self) -> None:
        tuples(self, "list")

    @classmethod
    def scattered(
        cls,
        from_m: float,
        to_m: float,
        *,
        stops: int = 0,
        pull_backs: int = 0,
        spikes: int = 0,
        gaps: int = 0,
        resets: int = 0,
        seed: int = 0,
    ) -> Flaws:
        """Place so many flaws of each kind between two stations.

        Parameters
        ----------
        from_m, to_m : float
            The two stations, m.
        stops, pull_backs, spikes, gaps, resets : int
            How many: stops of 20 to 200 readings, pull-backs of 0.3 to 2 m, spikes of 5 to 30 degrees, gaps of 1 m, resets.
        seed : int
            Seed of places and sizes.

        Returns
        -------
        Flaws
            The same for the same seed.
        """
        counts = {"stops": stops, "pull_backs": pull_backs, "spikes": spikes, "gaps": gaps, "resets": resets}
        return cls._from_core(_core._scattered(from_m, to_m, counts, seed))


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Simulated(Record):
    """A made log and what it was made from.

    Attributes
    ----------
    run : Run
        The log.
    true_station_m, true_tilt_rad : ndarray
        Where the head truly was at each reading, m, and the tilt of the pipe there, rad.
    unflawed_rad : ndarray
        What would have been logged there without a flaw, rad.
    flawed : list of pair of int
        Rows of the log that a flaw touches, with the place of the flaw in the list.
    """

    run: Run
    true_station_m: Floats
    true_tilt_rad: Floats
    unflawed_rad: Floats
    flawed: list[tuple[int, int]]


def simulate(
    truth: Truth, *, head: Head | None = None, flaws: Flaws | None = None, spacing_m: float = 0.05, seed: int = 0
) -> Simulated:
    """Push a head through a known pipe.

    Parameters
    ----------
    truth : Truth
        The pipe.
    head : Head, optional
        The head; absent: a common one without systematic error.
    flaws : Flaws, optional
        What goes wrong.
    spacing_m : float
        A reading every so many metres.
    seed : int
        Seed of the noise.

    Returns
    -------
    Simulated
        The log, and what was true at each of its readings.

    Raises
    ------
    InputError
        A pipe, a head or a flaw that cannot be; named by field.

    Examples
    --------
    >>> made = simulate(Truth(breaks_m=[0, 12, 15, 30], tilt_rad=[0.02, -0.01, 0.02]), seed=1)
    >>> len(made.run)
    601
    """
    run, beside = _core._simulate(truth, Head() if head is None else head, Flaws() if flaws is None else flaws, spacing_m, seed)
    return Simulated(run=run, **given(beside))

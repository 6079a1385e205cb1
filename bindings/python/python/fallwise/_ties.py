"""Ties: what is known independently of the runs, each with its own standard deviation. 0: it holds exactly."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any, ClassVar, Literal, TypeAlias

from ._errors import InputError
from ._model import TiltPositive
from ._plain import DEFAULTS, Plain, as_plain, given

Seen: TypeAlias = Literal["edge", "lens"]
#: A figure for each of two places, or one for both.
Pair: TypeAlias = tuple[float, float]

_STATION_SD_M: float = DEFAULTS["Place"]["sd_m"]


def _both(name: str, value: Any) -> tuple[Any, Any]:
    """A value for each of two places."""
    if isinstance(value, (list, tuple)) or hasattr(value, "__len__"):
        if len(value) != 2:
            raise InputError(f"{name}: {len(value)} given, expected 2", field=name, value=str(len(value)), expected="2")
        return value[0], value[1]
    return value, value


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class _Tie(Plain):
    #: Word of the core for this kind.
    _KIND: ClassVar[str] = ""
    #: What the core calls the places of `station_m`.
    _PLACES: ClassVar[tuple[str, ...]] = ("at",)

    def __post_init__(self) -> None:
        if len(self._PLACES) == 2:
            for name in ("station_m", "station_sd_m", "taped"):
                object.__setattr__(self, name, _both(name, getattr(self, name)))

    def _to_core(self) -> dict[str, Any]:
        own = {part.name: as_plain(getattr(self, part.name)) for part in fields(self)}
        own = {name: value for name, value in own.items() if value is not None}
        name = own.pop("name", "")
        return {"name": name, "known": {"kind": self._KIND, **self._placed(own)}}

    def _placed(self, own: dict[str, Any]) -> dict[str, Any]:
        """Stations with their standard deviations as the places that the core has."""
        if not self._PLACES:
            return own
        parts = {"station_m": own.pop("station_m"), "sd_m": own.pop("station_sd_m"), "taped": own.pop("taped")}
        for i, place in enumerate(self._PLACES):
            of = {name: value[i] if len(self._PLACES) == 2 else value for name, value in parts.items()}
            own[place] = of
        return own

    @classmethod
    def _from_known(cls, name: str, known: dict[str, Any]) -> _Tie:
        own = given(known)
        if cls._PLACES:
            places = [own.pop(place) for place in cls._PLACES]
            for here, there in (("station_m", "station_m"), ("sd_m", "station_sd_m"), ("taped", "taped")):
                values = tuple(place[here] for place in places)
                own[there] = values[0] if len(places) == 1 else values
        return cls(**{"name": name, **own})


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class InvertTie(_Tie):
    """Elevation of the invert, levelled.

    Parameters
    ----------
    station_m : float
        Where, m.
    elevation_m, sd_m : float
        Elevation in the job's datum and its standard deviation, m.
    station_sd_m : float
        Standard deviation of the station, m.
    taped : bool
        Whether the station was taped rather than had from the counter.
    name : str
        Name for tables and messages.
    """

    _KIND: ClassVar[str] = "invert"

    station_m: float
    elevation_m: float
    sd_m: float
    station_sd_m: float = _STATION_SD_M
    taped: bool = False
    name: str = ""


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class PlanTie(_Tie):
    """Position in plan, such as a located point.

    Parameters
    ----------
    station_m : float
        Where, m.
    east_m, north_m, sd_m : float
        Position, and the standard deviation of each of the two, m.
    station_sd_m, taped, name
        As in :class:`InvertTie`.
    """

    _KIND: ClassVar[str] = "plan"

    station_m: float
    east_m: float
    north_m: float
    sd_m: float
    station_sd_m: float = _STATION_SD_M
    taped: bool = False
    name: str = ""


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class AzimuthTie(_Tie):
    """Direction of the pipe in plan.

    Parameters
    ----------
    station_m : float
        Where, m.
    azimuth_rad, sd_rad : float
        Azimuth along growing station, clockwise from grid north, and its standard deviation, rad.
    station_sd_m, taped, name
        As in :class:`InvertTie`.
    """

    _KIND: ClassVar[str] = "azimuth"

    station_m: float
    azimuth_rad: float
    sd_rad: float
    station_sd_m: float = _STATION_SD_M
    taped: bool = False
    name: str = ""


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class DepthTie(_Tie):
    """Depth that a locator shows under known ground, of a transmitter behind the head.

    Parameters
    ----------
    station_m : float
        Station of the head when the depth was taken, m.
    depth_m : float
        Depth below the ground, m.
    sd_m : float, optional
        Its standard deviation, m; absent: 5 % of the depth and not below 50 mm.
    ground_m, ground_sd_m : float, optional
        Elevation of the ground there and its standard deviation, m; absent: from the job's ground.
    behind_m : float
        How far behind the head's station the transmitter is, m.
    above_m : float
        How high above the invert it lies, m.
    station_sd_m, taped, name
        As in :class:`InvertTie`.
    """

    _KIND: ClassVar[str] = "depth"

    station_m: float
    depth_m: float
    sd_m: float | None = None
    ground_m: float | None = None
    ground_sd_m: float | None = None
    behind_m: float = 0.0
    above_m: float = DEFAULTS["above_m"]
    station_sd_m: float = _STATION_SD_M
    taped: bool = False
    name: str = ""


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class HeightDifferenceTie(_Tie):
    """How much higher the invert is at one place than at another.

    Parameters
    ----------
    station_m : pair of float
        The two places, m.
    rise_m, sd_m : float
        Rise from the first to the second, negative where it falls, and its standard deviation, m.
    station_sd_m, taped : float, bool, or a pair of them
        As in :class:`InvertTie`, one for both or one for each.
    name : str
        Name for tables and messages.
    """

    _KIND: ClassVar[str] = "height_difference"
    _PLACES: ClassVar[tuple[str, ...]] = ("from", "to")

    station_m: Pair
    rise_m: float
    sd_m: float
    station_sd_m: float | Pair = _STATION_SD_M
    taped: bool | tuple[bool, bool] = False
    name: str = ""


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class LengthTie(_Tie):
    """True length of the pipe between two stations of the counter.

    Parameters
    ----------
    from_m, to_m : float
        The two stations, m.
    length_m, sd_m : float
        True length and its standard deviation, m.
    name : str
        Name for tables and messages.
    """

    _KIND: ClassVar[str] = "length"
    _PLACES: ClassVar[tuple[str, ...]] = ()

    from_m: float
    to_m: float
    length_m: float
    sd_m: float
    name: str = ""


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class ReversalCheck(_Tie):
    """Zero error of the head: two readings on one steady spot, the second turned end for end. Half their sum is the zero.

    Parameters
    ----------
    first_rad, second_rad : float
        The readings, rad, as the head showed them.
    sd_rad : float, optional
        Standard deviation of each reading, rad; absent: from the step of the display.
    tilt_positive : {"down", "up"}, optional
        What the head shows as positive; absent: as in the runs.
    name : str
        Name for tables and messages.
    """

    _KIND: ClassVar[str] = "reversal_check"
    _PLACES: ClassVar[tuple[str, ...]] = ()

    first_rad: float
    second_rad: float
    sd_rad: float | None = None
    tilt_positive: TiltPositive | None = None
    name: str = ""


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class LevelCheck(_Tie):
    """Zero error of the head on a surface whose tilt is known.

    Parameters
    ----------
    reading_rad : float
        What the head read, rad.
    sd_rad : float
        Standard deviation of reading and surface together, rad.
    surface_rad : float
        Tilt of the surface the way the head looked, rad, positive down.
    tilt_positive : {"down", "up"}, optional
        What the head shows as positive; absent: as in the runs.
    name : str
        Name for tables and messages.
    """

    _KIND: ClassVar[str] = "level_check"
    _PLACES: ClassVar[tuple[str, ...]] = ()

    reading_rad: float
    sd_rad: float
    surface_rad: float = 0.0
    tilt_positive: TiltPositive | None = None
    name: str = ""


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class WaterLevelTie(_Tie):
    """The two edges of one still pool: they are at one height.

    Parameters
    ----------
    station_m : pair of float
        The two edges, m.
    level_sd_m : float, optional
        Standard deviation of the level at each edge, m; absent: by how it was seen.
    seen : {"edge", "lens"}
        As the line where water meets the pipe, or as the lens went under or came out.
    although_running : bool
        Use it although the job says that water was running.
    station_sd_m, taped, name
        As in :class:`HeightDifferenceTie`.
    """

    _KIND: ClassVar[str] = "water_level"
    _PLACES: ClassVar[tuple[str, ...]] = ("from", "to")

    station_m: Pair
    level_sd_m: float | None = None
    seen: Seen = "edge"
    although_running: bool = False
    station_sd_m: float | Pair = _STATION_SD_M
    taped: bool | tuple[bool, bool] = False
    name: str = ""


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class WaterDepthTie(_Tie):
    """Depth of still water at one place, and an edge of the same water.

    Parameters
    ----------
    station_m : pair of float
        Where the depth was seen, and the edge, m.
    depth_m, sd_m : float
        Depth, upright, and its standard deviation, m.
    level_sd_m : float, optional
        Standard deviation of the level at the edge, m; absent: by how it was seen.
    seen, although_running, station_sd_m, taped, name
        As in :class:`WaterLevelTie`.
    """

    _KIND: ClassVar[str] = "water_depth"
    _PLACES: ClassVar[tuple[str, ...]] = ("at", "edge")

    station_m: Pair
    depth_m: float
    sd_m: float
    level_sd_m: float | None = None
    seen: Seen = "edge"
    although_running: bool = False
    station_sd_m: float | Pair = _STATION_SD_M
    taped: bool | tuple[bool, bool] = False
    name: str = ""


TIES = (
    InvertTie,
    PlanTie,
    AzimuthTie,
    DepthTie,
    HeightDifferenceTie,
    LengthTie,
    ReversalCheck,
    LevelCheck,
    WaterLevelTie,
    WaterDepthTie,
)

Tie: TypeAlias = (
    InvertTie
    | PlanTie
    | AzimuthTie
    | DepthTie
    | HeightDifferenceTie
    | LengthTie
    | ReversalCheck
    | LevelCheck
    | WaterLevelTie
    | WaterDepthTie
)


def tie_from_core(tie: dict[str, Any]) -> Any:
    """A tie of the core as its class here."""
    known = dict(tie["known"])
    kind = known.pop("kind")
    return next(of for of in TIES if kind == of._KIND)._from_known(tie.get("name", ""), known)

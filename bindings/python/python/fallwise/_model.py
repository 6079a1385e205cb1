"""What a job says: frozen dataclasses in SI units and radians, which become the core's structs by the names of their fields."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import KW_ONLY, InitVar, dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar, Literal, NamedTuple, TypeAlias

from . import _core
from ._errors import InputError
from ._plain import DEFAULTS, Plain, as_plain, tuples

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Floats: TypeAlias = npt.NDArray[np.float64]

_INSTRUMENT, _EXACT, _REPORT = DEFAULTS["Instrument"], DEFAULTS["Exact"], DEFAULTS["Report"]

Flow: TypeAlias = Literal["increasing", "decreasing"]
Toward: TypeAlias = Literal["increasing", "decreasing"]
TiltPositive: TypeAlias = Literal["down", "up"]
FeatureKind: TypeAlias = Literal["joint", "connection", "cleanout", "trap", "valve", "wall", "boundary", "main"]
SizeUnit: TypeAlias = Literal["inch", "dn"]
Work: TypeAlias = Literal["new", "existing"]
Words: TypeAlias = Literal["uk", "us"]
Decimal: TypeAlias = Literal["point", "comma"]
Paper: TypeAlias = Literal["a4", "letter"]
AsBuiltUse: TypeAlias = Literal["compare", "use"]
KeptOver: TypeAlias = Literal["piece", "reach"]
Method: TypeAlias = Literal["fitted", "raw", "given"]
Formula: TypeAlias = Literal["manning", "colebrook_white"]
Frequency: TypeAlias = Literal["intermittent", "frequent", "congested", "special"]
System: TypeAlias = Literal["I", "II", "III", "IV"]


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Circle(Plain):
    """A round bore.

    Parameters
    ----------
    diameter_m : float
        Inside diameter, m.
    """

    diameter_m: float

    def _to_core(self) -> dict[str, Any]:
        return {"circle": super()._to_core()}


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Ellipse(Plain):
    """An elliptic bore, such as a soft pipe that was squashed.

    Parameters
    ----------
    width_m, height_m : float
        Horizontal and vertical axis, m.
    """

    width_m: float
    height_m: float

    def _to_core(self) -> dict[str, Any]:
        return {"ellipse": super()._to_core()}


class _Bore:
    @staticmethod
    def _from_core(plain: dict[str, Any]) -> Circle | Ellipse:
        return Circle(**plain["circle"]) if "circle" in plain else Ellipse(**plain["ellipse"])


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Nominal(Plain):
    """A nominal size: a name that looks like a number.

    Parameters
    ----------
    size : float
        The number.
    unit : {"inch", "dn"}
        What it counts.
    """

    size: float
    unit: SizeUnit

    @classmethod
    def parse(cls, text: str) -> Nominal:
        """Read a nominal size.

        Parameters
        ----------
        text : str
            Such as ``"4 in"``, ``"1 1/2 in"`` or ``"DN 100"``; a number alone is refused.

        Returns
        -------
        Nominal
            The size.

        Raises
        ------
        InputError
            What is no size with its unit.
        """
        return cls(**_core._nominal(text))


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Pipe(Plain):
    """A pipe as laid. Unknown parts stay absent; what needs them is then not determined.

    Parameters
    ----------
    name : str
        Name, such as a standard and class.
    bore : Circle or Ellipse, optional
        Inside of the pipe, for volumes.
    nominal : Nominal, optional
        Nominal size, for rules. Never looked up by the bore.
    material : str, optional
        Material, in plain words.
    wall_m : float, optional
        Wall thickness, m.
    stick_m : float, optional
        Length of one laid piece, m.
    manning_n : float, optional
        Manning's n of its wall, s/m^(1/3).
    roughness_m : float, optional
        Equivalent sand roughness of its wall, m, for Colebrook and White.

    Examples
    --------
    >>> Pipe.standard("SDR 35", "4 in").nominal
    Nominal(size=4.0, unit='inch')
    """

    _NESTED: ClassVar[dict[str, Any]] = {"bore": _Bore, "nominal": Nominal}

    name: str = ""
    bore: Circle | Ellipse | None = None
    nominal: Nominal | None = None
    material: str | None = None
    wall_m: float | None = None
    stick_m: float | None = None
    manning_n: float | None = None
    roughness_m: float | None = None

    @classmethod
    def standard(cls, pipe_class: str, size: str) -> Pipe:
        """Take name, bore, size, material and wall from the table of standard pipes (see :func:`fallwise.bores`).

        Parameters
        ----------
        pipe_class : str
            Standard and class, such as ``"SDR 35"``.
        size : str
            Nominal size with its unit, such as ``"4 in"`` or ``"DN 110"``.

        Returns
        -------
        Pipe
            The pipe, without the length of its sticks.

        Raises
        ------
        UnknownWordError
            No such class, or no such size of it.
        """
        return cls._from_core(_core._standard_pipe(pipe_class, size))


@dataclass(frozen=True, repr=False, eq=False)
class Reach(Plain):
    """A stretch of one bore, material, place and owner.

    Parameters
    ----------
    from_m, to_m : float
        Start and end, m.
    name : str
        Name, such as ``"under the house"``.
    pipe : Pipe
        The pipe.
    owner : str, optional
        Who owns it.
    facts : mapping of str to str
        Facts that rules ask for and that hold for this reach only; they go before the job's.
    """

    _NESTED: ClassVar[dict[str, Any]] = {"pipe": Pipe}

    from_m: float
    to_m: float
    _: KW_ONLY
    name: str = ""
    pipe: Pipe = field(default_factory=Pipe)
    owner: str | None = None
    facts: Mapping[str, str] = field(default_factory=dict)


_ARRAYS = ("counter_m", "reading_rad", "time_s", "roll_rad", "temperature_c")


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Run(Plain):
    """One push of the camera, with its pull-backs, as logged or as written down by hand.

    Arrays may be lists, numpy arrays of any number type and stride, or columns of pandas, polars and Arrow; they are kept as
    float64 arrays that cannot be written to.

    Parameters
    ----------
    counter_m : array_like
        Cable out, m, one a reading, as the counter showed it.
    reading_rad : array_like
        What the head reported, rad, one a reading, sign as logged.
    reading_slope : array_like
        The same as slopes (fall over horizontal length), in the place of `reading_rad`.
    name : str
        Name for messages.
    time_s : array_like, optional
        Time since the start of the log, s.
    moving : array_like of bool, optional
        Whether the head was in motion.
    roll_rad : array_like, optional
        Roll of the head about the pipe's axis, rad.
    temperature_c : array_like, optional
        Temperature of the head, degrees Celsius. Kept, not used.
    source_row : array_like of int, optional
        Row of the source file of each reading, from 1, for messages.
    tilt_positive : {"down", "up"}
        Which sign the log gives to a head that looks down.
    toward : {"increasing", "decreasing"}
        Whether growing counter means growing or falling station.
    start_station_m : float
        Station at counter 0, m.
    start_station_sd_m : float, optional
        Standard deviation of that station, m; absent: exact.
    by_hand : bool
        Readings written down by hand, one a stick: each stands for a segment of its own.
    start_azimuth_rad, start_azimuth_sd_rad : float, optional
        Azimuth of the pipe at the start, along growing station, and its standard deviation, rad.
    start_east_m, start_north_m, start_plan_sd_m : float, optional
        Position of the start in plan and its standard deviation, m.
    start_invert_m, start_invert_sd_m : float, optional
        Elevation of the invert at the start and its standard deviation, m.

    Examples
    --------
    >>> from fallwise.units import deg, ft
    >>> run = Run(counter_m=ft([0, 10, 20, 30]), reading_rad=deg([1.5, 1.4, 1.6, 1.5]))
    >>> len(run)
    4
    """

    counter_m: Floats
    reading_rad: Floats = None  # type: ignore[assignment]  # or reading_slope
    reading_slope: InitVar[npt.ArrayLike | None] = None
    name: str = ""
    time_s: Floats | None = None
    moving: npt.NDArray[np.bool_] | None = None
    roll_rad: Floats | None = None
    temperature_c: Floats | None = None
    source_row: npt.NDArray[np.int64] | None = None
    tilt_positive: TiltPositive = "down"
    toward: Toward = "increasing"
    start_station_m: float = 0.0
    start_station_sd_m: float | None = None
    by_hand: bool = False
    start_azimuth_rad: float | None = None
    start_azimuth_sd_rad: float | None = None
    start_east_m: float | None = None
    start_north_m: float | None = None
    start_plan_sd_m: float | None = None
    start_invert_m: float | None = None
    start_invert_sd_m: float | None = None

    if TYPE_CHECKING:
        # Array-likes in, arrays kept.
        def __init__(
            self,
            *,
            counter_m: npt.ArrayLike,
            reading_rad: npt.ArrayLike | None = ...,
            reading_slope: npt.ArrayLike | None = ...,
            name: str = ...,
            time_s: npt.ArrayLike | None = ...,
            moving: npt.ArrayLike | None = ...,
            roll_rad: npt.ArrayLike | None = ...,
            temperature_c: npt.ArrayLike | None = ...,
            source_row: npt.ArrayLike | None = ...,
            tilt_positive: TiltPositive = ...,
            toward: Toward = ...,
            start_station_m: float = ...,
            start_station_sd_m: float | None = ...,
            by_hand: bool = ...,
            start_azimuth_rad: float | None = ...,
            start_azimuth_sd_rad: float | None = ...,
            start_east_m: float | None = ...,
            start_north_m: float | None = ...,
            start_plan_sd_m: float | None = ...,
            start_invert_m: float | None = ...,
            start_invert_sd_m: float | None = ...,
        ) -> None: ...

    def __post_init__(self, reading_slope: npt.ArrayLike | None) -> None:
        given = getattr(self, "reading_rad", None)
        if (given is None) == (reading_slope is None):
            raise InputError(
                "reading_rad, reading_slope: give one of the two",
                field="reading_rad",
                expected="either reading_rad or reading_slope",
            )
        if reading_slope is not None:
            object.__setattr__(self, "reading_rad", _core.slope_to_tilt(_core._row("reading_slope", reading_slope)))
        for name in _ARRAYS:
            value = getattr(self, name)
            if value is not None:
                object.__setattr__(self, name, _core._row(name, value))
        if self.moving is not None:
            object.__setattr__(self, "moving", _others("moving", self.moving, "b", "truth values"))
        if self.source_row is not None:
            object.__setattr__(self, "source_row", _others("source_row", self.source_row, "iu", "whole numbers"))

    def __len__(self) -> int:
        return len(self.counter_m)

    def __repr__(self) -> str:
        name = f' "{self.name}"' if self.name else ""
        return f"<fallwise.Run{name}: {len(self)} readings>"

    def _to_core(self) -> dict[str, Any]:
        plain = {name: value for name, value in self.__dict__.items() if name not in (*_ARRAYS, "moving", "source_row")}
        plain = {name: as_plain(value) for name, value in plain.items() if value is not None}
        return {**plain, "counter_m": [], "reading_rad": []}

    def _arrays(self) -> dict[str, Any]:
        return {name: getattr(self, name) for name in (*_ARRAYS, "moving", "source_row")}


def _others(name: str, given: Any, kinds: str, expected: str) -> Any:
    """A copy of an array that is not of floats, not to be written to."""
    import numpy as np

    array = np.array(given)
    if array.dtype.kind not in kinds or array.ndim != 1:
        raise InputError(f"{name}: expected one row of {expected}", field=name, value=str(array.dtype), expected=expected)
    array.setflags(write=False)
    return array


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Instrument(Plain):
    """What is known of the head's and the counter's errors before the run. Every default is the core's and can be set.

    Parameters
    ----------
    zero_rad, zero_sd_rad : float
        Zero error of the tilt sensor, looking down positive, and its standard deviation, rad.
    zero_checked : bool
        Whether a reversal check gave the zero.
    seating_sd_rad : float
        Standard deviation of how the head sits, rad.
    noise_sd_rad : float, optional
        Noise of one reading before rounding, rad; absent: estimated.
    correlation_m : float, optional
        Distance over which the correlation of the noise falls to 1/e, m; absent: estimated.
    resolution_rad : float, optional
        Step of the readings, rad; absent: found in the log.
    drift_sd_rad, drift_s : float
        Standard deviation of the drift at the start of a run, rad, and the time over which it falls to 1/e, s.
    roll_sd_rad : float
        Standard deviation of the error across the axis, rad.
    wander_sd_rad : float
        Standard deviation of the part of the zero error that varies along the run, rad.
    lip_sd_m : float
        Standard deviation of the lip at each joint that nobody noted, m.
    head_length_m : float
        Length of pipe over which the head averages, m.
    slack_m : float, optional
        Way that the counter goes before the head does when the cable turns, m; absent: found.
    lag_s : float, optional
        Time by which a reading follows the pipe late, s; absent: none.
    counter_scale, counter_scale_sd : float
        Mean and standard deviation of the counter's scale error: true = (1 + scale) counter.
    """

    zero_rad: float = _INSTRUMENT["zero_rad"]
    zero_sd_rad: float = _INSTRUMENT["zero_sd_rad"]
    zero_checked: bool = _INSTRUMENT["zero_checked"]
    seating_sd_rad: float = _INSTRUMENT["seating_sd_rad"]
    noise_sd_rad: float | None = _INSTRUMENT["noise_sd_rad"]
    correlation_m: float | None = _INSTRUMENT["correlation_m"]
    resolution_rad: float | None = _INSTRUMENT["resolution_rad"]
    drift_sd_rad: float = _INSTRUMENT["drift_sd_rad"]
    drift_s: float = _INSTRUMENT["drift_s"]
    roll_sd_rad: float = _INSTRUMENT["roll_sd_rad"]
    wander_sd_rad: float = _INSTRUMENT["wander_sd_rad"]
    lip_sd_m: float = _INSTRUMENT["lip_sd_m"]
    head_length_m: float = _INSTRUMENT["head_length_m"]
    slack_m: float | None = _INSTRUMENT["slack_m"]
    lag_s: float | None = _INSTRUMENT["lag_s"]
    counter_scale: float = _INSTRUMENT["counter_scale"]
    counter_scale_sd: float = _INSTRUMENT["counter_scale_sd"]

    @classmethod
    def exact(cls) -> Instrument:
        """Make an instrument without error, for geometry that is given rather than measured."""
        return cls._from_core(_EXACT)


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Bend(Plain):
    """A noted bend: an arc of the fitting's angle, centred at its station.

    Parameters
    ----------
    station_m : float
        Station of the middle of the bend, m.
    deflection_rad : float
        Angle of the fitting in space, rad; positive turns right looking along growing station.
    deflection_sd_rad : float
        Standard deviation of that angle, rad.
    radius_m : float, optional
        Radius of the pipe axis, m; absent: 1.5 bores.
    """

    station_m: float
    deflection_rad: float
    deflection_sd_rad: float = DEFAULTS["Bend"]["deflection_sd_rad"]
    radius_m: float | None = None


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Step(Plain):
    """A vertical lip at a displaced joint, which tilt cannot see.

    Parameters
    ----------
    station_m : float
        Station, m.
    rise_m, rise_sd_m : float
        How much higher the invert is just after the station, looking along growing station, and its standard deviation, m.
    """

    station_m: float
    rise_m: float
    rise_sd_m: float = DEFAULTS["Step"]["rise_sd_m"]


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Feature(Plain):
    """Something on the way.

    Parameters
    ----------
    kind : str
        ``"joint"``, ``"connection"``, ``"cleanout"``, ``"trap"``, ``"valve"``, ``"wall"``, ``"boundary"`` or ``"main"``.
    station_m : float
        Station, m; of its start where it has an extent.
    to_m : float, optional
        Station of its end, m.
    text : str
        A few words of the operator's.
    """

    kind: FeatureKind
    station_m: float
    to_m: float | None = None
    text: str = ""


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class GroundPoint(Plain):
    """Elevation of the ground above a station.

    Parameters
    ----------
    station_m, elevation_m : float
        Station and elevation, m, in the job's datum.
    sd_m : float, optional
        Standard deviation of the elevation, m.
    """

    station_m: float
    elevation_m: float
    sd_m: float | None = None


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Landmark(Plain):
    """Something on the surface that does not move and can be found again, from which places are taped out.

    Parameters
    ----------
    name : str
        What it is, so that somebody finds it. No two have the same.
    east_m, north_m : float
        Where it is, m, in the job's local axes.
    sd_m : float
        Standard deviation of each of the two, m.
    """

    name: str
    east_m: float
    north_m: float
    sd_m: float = DEFAULTS["Landmark"]["sd_m"]


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Dig(Plain):
    """A dig that somebody plans. It becomes one sheet of the report, which may say that nobody may dig by it.

    Parameters
    ----------
    station_m : float
        Station, m.
    station_sd_m : float
        How well what is looked for belongs to the station, m: one standard deviation.
    name : str
        Name; empty: where it is.
    wanted : str
        What is wanted there, in plain words.
    """

    station_m: float
    station_sd_m: float = DEFAULTS["Dig"]["station_sd_m"]
    name: str = ""
    wanted: str = ""


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class DigOptions(Plain):
    """When nobody may dig by a sheet, and where it is dug by hand.

    Parameters
    ----------
    across_m : float
        Most that half of the 95 % interval across the pipe may be, m.
    tie_within_m : float
        A place measured from the surface must lie within this along the pipe, m.
    confidence : float
        One-sided probability that the top of the pipe is not above the shallow end.
    margin_m : float
        How much before the shallow end it is dug by hand, m.
    """

    across_m: float = DEFAULTS["DigOptions"]["across_m"]
    tie_within_m: float = DEFAULTS["DigOptions"]["tie_within_m"]
    confidence: float = DEFAULTS["DigOptions"]["confidence"]
    margin_m: float = DEFAULTS["DigOptions"]["margin_m"]


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class AsBuilt(Plain):
    """An invert elevation from an as-built drawing or a level.

    Parameters
    ----------
    station_m, invert_m : float
        Station and elevation of the invert, m.
    sd_m : float, optional
        Standard deviation, m; absent: taken as exact, and said so.
    """

    station_m: float
    invert_m: float
    sd_m: float | None = None


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Note(Plain):
    """A note of the operator's.

    Parameters
    ----------
    text : str
        Plain words.
    station_m, to_m : float, optional
        Station, and station of its end where it has an extent, m.
    photo : str, optional
        File name of a photo.
    video_time_s : float, optional
        Moment in the recording, s from its start.
    water_seen, dry_seen : bool
        Whether standing water was seen here; whether the pipe was seen dry.
    tilt_sd_rad : float, optional
        How far the tilt of the head may be off here because it did not lie on the bottom of the pipe, rad.
    """

    text: str
    station_m: float | None = None
    to_m: float | None = None
    photo: str | None = None
    video_time_s: float | None = None
    water_seen: bool = False
    dry_seen: bool = False
    tilt_sd_rad: float | None = None


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Origin(Plain):
    """A point whose longitude and latitude are known (WGS 84), and how the job's local axes lie there.

    Parameters
    ----------
    longitude_rad, latitude_rad : float
        Longitude, positive east, and geodetic latitude, positive north, rad.
    east_m, north_m : float
        The point in the job's local axes, m.
    grid_north_rad : float
        Azimuth of the job's grid north, clockwise from true north, rad.
    sd_m : float, optional
        Standard deviation of the point's place, m.
    """

    longitude_rad: float
    latitude_rad: float
    east_m: float = 0.0
    north_m: float = 0.0
    grid_north_rad: float = 0.0
    sd_m: float | None = None


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Survey(Plain):
    """Facts of the survey, in the words of whoever filled them in. All optional; all shown.

    Parameters
    ----------
    title, ordered_by, site, date_time, operator, licence, company, permit : str, optional
        What, for whom, where, when, by whom.
    weather_48h, water_run, water, cleaned_before, complaint : str, optional
        Weather of the last 48 hours; whether water was run; still, running or unknown; whether it was cleaned; why.
    entry, riser_height, stopped_at, stopped_because, not_surveyed : str, optional
        Where the camera went in and stopped, and what it did not see.
    about_length_m : float, optional
        About how long the whole lateral is, m, surveyed or not.
    head, skid, last_checked, video, video_hash, locator, landmarks, signed_by : str, optional
        Equipment, recording, landmarks, and who signs.
    video_offset_s : float, optional
        Time that the recording shows when the time of the log is 0, s.
    invented : bool
        Whether the place, the people and the readings are made up.
    """

    title: str | None = None
    ordered_by: str | None = None
    site: str | None = None
    date_time: str | None = None
    operator: str | None = None
    licence: str | None = None
    company: str | None = None
    permit: str | None = None
    weather_48h: str | None = None
    water_run: str | None = None
    water: str | None = None
    cleaned_before: str | None = None
    complaint: str | None = None
    entry: str | None = None
    riser_height: str | None = None
    stopped_at: str | None = None
    stopped_because: str | None = None
    not_surveyed: str | None = None
    about_length_m: float | None = None
    head: str | None = None
    skid: str | None = None
    last_checked: str | None = None
    video: str | None = None
    video_hash: str | None = None
    video_offset_s: float | None = None
    locator: str | None = None
    landmarks: str | None = None
    signed_by: str | None = None
    invented: bool = False


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class SegmentChoice(Plain):
    """How segments are found in the readings.

    Parameters
    ----------
    method : {"fitted", "raw", "given"}
        Penalised segmentation; one segment a reading; breaks at given stations.
    breaks_m : sequence of float
        Stations of the inner breaks, m, for ``"given"``; empty: at the noted joints.
    """

    method: Method = "fitted"
    breaks_m: Sequence[float] = ()

    def __post_init__(self) -> None:
        tuples(self, "breaks_m")
        if self.breaks_m and self.method != "given":
            raise InputError(
                f'breaks_m: given with method "{self.method}", which finds its own',
                field="breaks_m",
                expected='method="given"',
            )

    def _to_core(self) -> dict[str, Any]:
        plain = super()._to_core()
        return plain if self.method == "given" else {"method": plain["method"]}


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class RulesChoice(Plain):
    """Facts that rules ask for, and which rulebook.

    Parameters
    ----------
    rulebook : str, optional
        Name of a shipped rulebook, see :func:`fallwise.rulebooks`.
    work : {"existing", "new"}
        Pipe that was there before, or new work.
    facts : mapping of str to str
        Facts by the names that rulebooks ask for under ``needs``.
    """

    rulebook: str | None = None
    work: Work = "existing"
    facts: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Discharge(Plain):
    """What discharges into the drain, from which the flow to carry is reckoned (EN 12056-2).

    Parameters
    ----------
    frequency : {"intermittent", "frequent", "congested", "special"}
        How often what discharges is used: dwelling or office; hospital, school, restaurant, hotel; public toilets and
        showers; laboratory.
    system : {"I", "II", "III", "IV"}, optional
        System of the drainage; needed for `fixtures`.
    fixtures : mapping of str to int
        How many of each fixture, by the names of :func:`fallwise.hydraulics.discharge_units`. Where the document gives a
        range, the upper end is taken.
    units_m3_s : sequence of float
        Discharge units given one by one, m3/s (the document prints litres a second).
    continuous_m3_s : float, optional
        What flows all the time, m3/s: added as it is.
    """

    frequency: Frequency
    system: System | None = None
    fixtures: Mapping[str, int] = field(default_factory=dict)
    units_m3_s: Sequence[float] = ()
    continuous_m3_s: float | None = None

    def __post_init__(self) -> None:
        tuples(self, "units_m3_s")


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Capacity(Plain):
    """What the pipes have to carry. Nothing of it is guessed: what is missing, the answers name.

    Parameters
    ----------
    formula : {"manning", "colebrook_white"}, optional
        Formula of friction; absent: that for which the pipe gives its roughness.
    manning_n, roughness_m : float, optional
        Of pipes that give none: Manning's n, s/m^(1/3), and the equivalent sand roughness, m.
    viscosity_m2_s : float, optional
        Kinematic viscosity of the water, m2/s; absent: 1.31e-6, that of EN 12056-2.
    flow_m3_s : float, optional
        Flow to carry, m3/s. Either this or `discharge`.
    discharge : Discharge, optional
        What discharges into the drain, from which the flow is reckoned.
    filling : float, optional
        How deep the flow may stand, as a share of the bore: 0.5 is half full.
    least_velocity_m_s : float, optional
        Velocity at that flow from which the pipe is taken to keep itself clean, m/s.
    least_shear_pa : float, optional
        Mean boundary shear at that flow from which it is, Pa.

    Examples
    --------
    >>> Capacity(manning_n=0.013, flow_m3_s=0.002, filling=0.5).filling
    0.5
    """

    _NESTED: ClassVar[dict[str, Any]] = {"discharge": Discharge}

    formula: Formula | None = None
    manning_n: float | None = None
    roughness_m: float | None = None
    viscosity_m2_s: float | None = None
    flow_m3_s: float | None = None
    discharge: Discharge | None = None
    filling: float | None = None
    least_velocity_m_s: float | None = None
    least_shear_pa: float | None = None


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class ReportChoice(Plain):
    """Wording and statistics of the answers.

    Parameters
    ----------
    words : {"uk", "us"}
        Words and units of sentences.
    decimal : {"point", "comma"}, optional
        Decimal mark of pages and pictures.
    paper : {"a4", "letter"}, optional
        Paper that pages are printed on.
    draws : int
        How many draws of the posterior; 0 leaves pools and findings without a probability.
    seed : int
        Seed of the draws.
    """

    words: Words = _REPORT["words"]
    decimal: Decimal | None = None
    paper: Paper | None = None
    draws: int = _REPORT["draws"]
    seed: int = _REPORT["seed"]


class Draws(NamedTuple):
    """Equally likely profiles.

    Attributes
    ----------
    station_m : ndarray of shape (nodes,)
        Stations of the nodes, m.
    height_m : ndarray of shape (draws, nodes)
        Heights above the lowest node of the same draw, m.
    tilt_rad : ndarray of shape (draws, nodes - 1)
        Tilt of each piece, rad.
    scale : ndarray of shape (draws,)
        True length over station difference.
    """

    station_m: Floats
    height_m: Floats
    tilt_rad: Floats
    scale: Floats


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class RelayCosts(Plain):
    """What re-laying costs, in any money.

    Parameters
    ----------
    currency : str
        What the money is called, such as ``"USD"``.
    per_trench : float
        For each trench: setting up, two cuts, two couplings.
    per_m : float
        For each metre of trench.
    per_m_depth : float
        For each metre of trench and each metre of its depth; needs the ground above it, and an elevation of the pipe.
    """

    currency: str = ""
    per_trench: float = 0.0
    per_m: float = 0.0
    per_m_depth: float = 0.0


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class RelaySurface(Plain):
    """What a surface adds to the costs.

    Parameters
    ----------
    from_m, to_m : float
        Start and end, m.
    name : str
        What it is, such as ``"lawn"``.
    per_m : float
        For each metre of trench, such as reinstating it.
    per_m_depth : float
        For each metre of trench and each metre of its depth.
    """

    from_m: float
    to_m: float
    name: str = ""
    per_m: float = 0.0
    per_m_depth: float = 0.0


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class KeepOut(Plain):
    """A stretch that must not be dug.

    Parameters
    ----------
    from_m, to_m : float
        Start and end, m.
    reason : str
        Why, such as ``"below the house"``.
    """

    from_m: float
    to_m: float
    reason: str = ""


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class MovableConnection(Plain):
    """A noted connection that a new pipe may pass below; all others keep their inverts.

    Parameters
    ----------
    station_m : float
        Its station, m, as noted among the features.
    above_m : float
        How far its invert lies above that of the pipe now, m, less the drop that it needs.
    """

    station_m: float
    above_m: float = 0.0


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class RelayChoice(Plain):
    """What a plan of re-laying is asked for: limits, costs, how the trench is dug.

    Parameters
    ----------
    min_slope : float, optional
        Least slope asked for; absent: that of the rulebook, as for new work.
    confidence : float
        Probability with which each piece, kept or new, falls as asked, from 0.5 to below 1.
    kept : {"piece", "reach"}
        Over what the slope of pipe that stays is measured: between neighbouring joints, or the mean of each reach.
    min_length_m, max_length_m : float, optional
        Least and greatest length of a trench, m.
    costs : RelayCosts
        What it costs.
    surfaces : sequence of RelaySurface
        What comes on top by surface.
    keep_out : sequence of KeepOut
        Where nobody may dig.
    connections : sequence of MovableConnection
        Connections that the new pipe may pass below.
    width_m : float, optional
        Width of the trench at its bottom, m; absent: no volume is given.
    batter : float
        How far each side of the trench goes out for each metre up; 0: upright.
    bedding_m : float
        Bedding below the pipe, m.
    """

    min_slope: float | None = None
    confidence: float = DEFAULTS["Relay"]["confidence"]
    kept: KeptOver = "piece"
    min_length_m: float = 0.0
    max_length_m: float | None = None
    costs: RelayCosts = field(default_factory=RelayCosts)
    surfaces: Sequence[RelaySurface] = ()
    keep_out: Sequence[KeepOut] = ()
    connections: Sequence[MovableConnection] = ()
    width_m: float | None = None
    batter: float = DEFAULTS["Relay"]["batter"]
    bedding_m: float = DEFAULTS["Relay"]["bedding_m"]

    _NESTED: ClassVar[dict[str, Any]] = {
        "costs": RelayCosts,
        "surfaces": RelaySurface,
        "keep_out": KeepOut,
        "connections": MovableConnection,
    }

    def __post_init__(self) -> None:
        tuples(self, "surfaces", "keep_out", "connections")

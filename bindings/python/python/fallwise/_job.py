"""The job: everything that is known of one lateral before it is solved."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, ClassVar

from . import _core
from ._errors import InputError
from ._model import (
    AsBuilt,
    AsBuiltUse,
    Bend,
    Capacity,
    Decimal,
    Dig,
    DigOptions,
    Feature,
    Flow,
    GroundPoint,
    Instrument,
    Landmark,
    Method,
    Note,
    Origin,
    Paper,
    Pipe,
    Reach,
    RelayChoice,
    ReportChoice,
    RulesChoice,
    Run,
    SegmentChoice,
    Step,
    Survey,
    Words,
    Work,
)
from ._plain import Plain, given, tuples
from ._ties import TIES, Tie, tie_from_core


@dataclass(frozen=True, kw_only=True, repr=False, eq=False)
class Job(Plain):
    """All that is known of one lateral before anything is computed.

    Parameters
    ----------
    runs : sequence of Run
        Runs of the camera. Either these or `as_built` must be there.
    reaches : sequence of Reach
        Stretches of one pipe, in order of station; together they cover the survey.
    ties : sequence of tie
        What is known independently of the runs: :class:`InvertTie` and the others.
    instrument : Instrument
        The head and the counter.
    bends, steps, features, ground, notes : sequence
        What was noted on the way.
    landmarks : sequence of Landmark
        What is seen on the surface that places can be taped out from.
    digs : sequence of Dig
        Digs that somebody plans: a sheet of the report for each.
    digging : DigOptions
        When nobody may dig by a sheet, and where it is dug by hand.
    as_built : sequence of AsBuilt
        As-built inverts, from which a chain can be made where there is no run.
    as_built_use : {"compare", "use"}
        What as-built inverts are for where there is a run: to be compared with what was measured, or used as ties.
    survey : Survey
        Facts of the survey.
    origin : Origin, optional
        Where on the earth the local axes lie.
    flow : {"increasing", "decreasing"}
        Which way the water flows.
    segments : SegmentChoice
        How segments are found.
    tailwater_m : float, optional
        Height of standing water at the outlet above the outlet's invert, m.
    capacity : Capacity, optional
        What the pipes have to carry; absent: nothing is said of it.
    rules : RulesChoice
        Facts that rules ask for.
    report : ReportChoice
        Wording and confidence of the answers.
    relay : RelayChoice, optional
        What a plan of re-laying is asked for; absent: none is made.
    """

    survey: Survey = field(default_factory=Survey)
    origin: Origin | None = None
    runs: Sequence[Run] = ()
    as_built: Sequence[AsBuilt] = ()
    as_built_use: AsBuiltUse = "compare"
    ties: Sequence[Tie] = ()
    reaches: Sequence[Reach] = ()
    instrument: Instrument = field(default_factory=Instrument)
    bends: Sequence[Bend] = ()
    steps: Sequence[Step] = ()
    features: Sequence[Feature] = ()
    ground: Sequence[GroundPoint] = ()
    notes: Sequence[Note] = ()
    landmarks: Sequence[Landmark] = ()
    digs: Sequence[Dig] = ()
    digging: DigOptions = field(default_factory=DigOptions)
    flow: Flow = "increasing"
    segments: SegmentChoice = field(default_factory=SegmentChoice)
    tailwater_m: float | None = None
    capacity: Capacity | None = None
    rules: RulesChoice = field(default_factory=RulesChoice)
    report: ReportChoice = field(default_factory=ReportChoice)
    relay: RelayChoice | None = None

    _NESTED: ClassVar[dict[str, Any]] = {
        "survey": Survey,
        "origin": Origin,
        "as_built": AsBuilt,
        "reaches": Reach,
        "instrument": Instrument,
        "bends": Bend,
        "steps": Step,
        "features": Feature,
        "ground": GroundPoint,
        "notes": Note,
        "landmarks": Landmark,
        "digs": Dig,
        "digging": DigOptions,
        "segments": SegmentChoice,
        "capacity": Capacity,
        "rules": RulesChoice,
        "report": ReportChoice,
        "relay": RelayChoice,
    }

    def __post_init__(self) -> None:
        tuples(self, "runs", "as_built", "ties", "reaches", "bends", "steps", "features", "ground", "notes")
        tuples(self, "landmarks", "digs")
        kinds = {**{name: (of,) for name, of in self._NESTED.items()}, "runs": (Run,), "ties": tuple(TIES)}
        for name, of in kinds.items():
            value = getattr(self, name)
            for i, part in enumerate(value if isinstance(value, tuple) else (value,)):
                if part is not None and not isinstance(part, of):
                    at = f"{name}[{i}]" if isinstance(value, tuple) else name
                    expected = " or ".join(kind.__name__ for kind in of)
                    raise InputError(
                        f"{at}: an object of type {type(part).__name__} given, expected {expected}",
                        field=at,
                        value=type(part).__name__,
                        expected=expected,
                    )

    def _arrays(self) -> list[dict[str, Any]]:
        return [run._arrays() for run in self.runs]

    @classmethod
    def _from_core(cls, plain: dict[str, Any], arrays: list[dict[str, Any]] | None = None) -> Job:
        plain = dict(plain)
        runs = [Run(**{**given(run), **given(parts)}) for run, parts in zip(plain.pop("runs", []), arrays or [], strict=True)]
        ties = [tie_from_core(tie) for tie in plain.pop("ties", [])]
        rest: dict[str, Any] = {
            name: tuple(map(cls._NESTED[name]._from_core, value))
            if isinstance(value, list)
            else (cls._NESTED[name]._from_core(value) if name in cls._NESTED else value)
            for name, value in given(plain).items()
        }
        return cls(runs=runs, ties=ties, **rest)

    def solve(self, *, rulebook: _core.Rulebook | str | None = None) -> _core.Lateral:
        """Solve the job.

        Parameters
        ----------
        rulebook : Rulebook or str, optional
            A rulebook, or the name of a shipped one; absent: the one that `rules` names.

        Returns
        -------
        Lateral
            The solved lateral.

        Raises
        ------
        InputError
            What cannot be used, named by field and index.

        Warns
        -----
        Warning
            Odd but usable input, once.
        """
        return _core._solve(self._to_core(), self._arrays(), None, rulebook)

    def redacted(self) -> Job:
        """Copy the job for sharing.

        Returns
        -------
        Job
            Without people and site, with everything that figures depend on. A rulebook of one's own has its own
            :meth:`Rulebook.redacted`.
        """
        return _core._redacted(self._to_core(), self._arrays())

    def to_toml(self) -> tuple[str, dict[str, bytes]]:
        """Write the job in its text form.

        Returns
        -------
        text : str
            The job as TOML, in SI units.
        files : dict of str to bytes
            The logs that it names, by their names.

        Raises
        ------
        InputError
            What the form cannot hold, such as a run of fewer than two readings.
        """
        return _core._to_text(self._to_core(), self._arrays(), True)

    def to_json(self) -> tuple[str, dict[str, bytes]]:
        """Write the same as JSON.

        Returns
        -------
        text : str
            The job as JSON.
        files : dict of str to bytes
            The logs that it names, by their names.

        Raises
        ------
        InputError
            What the form cannot hold.
        """
        return _core._to_text(self._to_core(), self._arrays(), False)


def solve(
    runs: Run | Sequence[Run] = (),
    *,
    pipe: Pipe | None = None,
    reaches: Sequence[Reach] = (),
    instrument: Instrument | None = None,
    ties: Sequence[Tie] = (),
    bends: Sequence[Bend] = (),
    steps: Sequence[Step] = (),
    features: Sequence[Feature] = (),
    ground: Sequence[GroundPoint] = (),
    notes: Sequence[Note] = (),
    landmarks: Sequence[Landmark] = (),
    digs: Sequence[Dig] = (),
    digging: DigOptions | None = None,
    as_built: Sequence[AsBuilt] = (),
    as_built_use: AsBuiltUse = "compare",
    survey: Survey | None = None,
    origin: Origin | None = None,
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
    seed: int = 0,
    relay: RelayChoice | None = None,
) -> _core.Lateral:
    """Solve a lateral: from runs of a camera to slopes, bellies and findings, each with its standard deviation.

    Other Python threads go on meanwhile. Ctrl-C ends the wait at once; what was begun runs to its end unseen.

    Parameters
    ----------
    runs : Run or sequence of Run
        One run or several; none where `as_built` has the inverts.
    pipe : Pipe, optional
        One pipe all along, in the place of `reaches`.
    reaches : sequence of Reach
        Stretches of one pipe each.
    instrument : Instrument, optional
        The head and the counter; absent: a common head that nobody checked.
    ties : sequence of tie
        What is known beside the runs.
    bends, steps, features, ground, notes, as_built, as_built_use, survey, origin, flow, tailwater_m, capacity
        As in :class:`Job`.
    landmarks, digs, digging
        As in :class:`Job`.
    segments : SegmentChoice or {"fitted", "raw", "given"}
        How segments are found.
    rulebook : Rulebook or str, optional
        What findings are made against.
    work, facts
        As in :class:`RulesChoice`.
    words, decimal, paper, draws, seed
        As in :class:`ReportChoice`.
    relay : RelayChoice, optional
        What a plan of re-laying is asked for.

    Returns
    -------
    Lateral
        The solved lateral.

    Raises
    ------
    InputError
        What cannot be used, named by field and index.
    ContradictionError
        Runs, or ties, that cannot all be true with the errors stated.

    Warns
    -----
    Warning
        Odd but usable input, once.

    Examples
    --------
    >>> import fallwise as fw
    >>> from fallwise.units import deg, ft
    >>> run = fw.Run(counter_m=ft([0, 10, 20, 30]), reading_rad=deg([1.5, 1.4, 1.6, 1.5]), by_hand=True)
    >>> lateral = fw.solve(run, pipe=fw.Pipe.standard("SDR 35", "4 in"), rulebook="upc-2021")
    >>> lateral.slope_between(ft(5), ft(25))
    Estimate(value=0.026186, sd=0.006374, low=0.013693, high=0.038679)
    """
    if pipe is not None and reaches:
        raise InputError("pipe, reaches: give one of the two", field="pipe", expected="either pipe or reaches")
    job = Job(
        runs=(runs,) if isinstance(runs, Run) else runs,
        reaches=reaches,
        instrument=Instrument() if instrument is None else instrument,
        ties=ties,
        bends=bends,
        steps=steps,
        features=features,
        ground=ground,
        notes=notes,
        landmarks=landmarks,
        digs=digs,
        digging=DigOptions() if digging is None else digging,
        as_built=as_built,
        as_built_use=as_built_use,
        survey=Survey() if survey is None else survey,
        origin=origin,
        flow=flow,
        segments=SegmentChoice(method=segments) if isinstance(segments, str) else segments,
        tailwater_m=tailwater_m,
        capacity=capacity,
        rules=RulesChoice(work=work, facts={} if facts is None else facts),
        report=ReportChoice(words=words, decimal=decimal, paper=paper, draws=draws, seed=seed),
        relay=relay,
    )
    return _core._solve(job._to_core(), job._arrays(), pipe, rulebook)

"""How a drain falls, where it holds water and whether it meets its slope rule: from a camera's cable counter and tilt.

Units are SI and radians, in every number and by name (``station_m``, ``tilt_rad``); slopes are bare ratios. Conversions are
plain functions in :mod:`fallwise.units`. Every figure has its standard deviation beside it.
"""

import typing as _typing

from . import chain, condition, geographic, hydraulics, locate, math, path, pool, profile, rules, section, units
from ._core import (
    Answers,
    Check,
    Comparison,
    Estimate,
    Lateral,
    Loaded,
    Profile,
    RelayAnswer,
    Rulebook,
    Table,
    __version__,
    bores,
    cautions,
    compare,
    parse_job,
    read_comparison,
    read_job,
    read_result,
    rulebooks,
)
from ._errors import (
    ContradictionError,
    Error,
    FileError,
    FileMissingError,
    FileThereError,
    FormatError,
    InputError,
    InternalError,
    RulebookError,
    TieError,
    UnknownWordError,
    Warning,
)
from ._job import Job, solve
from ._log import Log, read_log
from ._many import Many, Runs, Solved, iter_many, read_runs, solve_many
from ._model import (
    AsBuilt,
    Bend,
    Capacity,
    Circle,
    Dig,
    DigOptions,
    Discharge,
    Draws,
    Ellipse,
    Feature,
    GroundPoint,
    Instrument,
    KeepOut,
    Landmark,
    MovableConnection,
    Nominal,
    Note,
    Origin,
    Pipe,
    Reach,
    RelayChoice,
    RelayCosts,
    RelaySurface,
    ReportChoice,
    RulesChoice,
    Run,
    SegmentChoice,
    Step,
    Survey,
)
from ._ties import (
    AzimuthTie,
    DepthTie,
    HeightDifferenceTie,
    InvertTie,
    LengthTie,
    LevelCheck,
    PlanTie,
    ReversalCheck,
    WaterDepthTie,
    WaterLevelTie,
)
from ._whole import whole_laterals
from .chain import fit_chain

__all__ = [
    "Answers",
    "AsBuilt",
    "AzimuthTie",
    "Bend",
    "Capacity",
    "Check",
    "Circle",
    "Comparison",
    "ContradictionError",
    "DepthTie",
    "Dig",
    "DigOptions",
    "Discharge",
    "Draws",
    "Ellipse",
    "Error",
    "Estimate",
    "Feature",
    "FileError",
    "FileMissingError",
    "FileThereError",
    "FormatError",
    "GroundPoint",
    "HeightDifferenceTie",
    "InputError",
    "Instrument",
    "InternalError",
    "InvertTie",
    "Job",
    "KeepOut",
    "Landmark",
    "Lateral",
    "LengthTie",
    "LevelCheck",
    "Loaded",
    "Log",
    "Many",
    "MovableConnection",
    "Nominal",
    "Note",
    "Origin",
    "Pipe",
    "PlanTie",
    "Profile",
    "Reach",
    "RelayAnswer",
    "RelayChoice",
    "RelayCosts",
    "RelaySurface",
    "ReportChoice",
    "ReversalCheck",
    "Rulebook",
    "RulebookError",
    "RulesChoice",
    "Run",
    "Runs",
    "SegmentChoice",
    "Solved",
    "Step",
    "Survey",
    "Table",
    "TieError",
    "UnknownWordError",
    "Warning",
    "WaterDepthTie",
    "WaterLevelTie",
    "__version__",
    "bores",
    "cautions",
    "chain",
    "compare",
    "condition",
    "fit_chain",
    "geographic",
    "hydraulics",
    "iter_many",
    "locate",
    "math",
    "parse_job",
    "path",
    "plot",
    "plot_plan",
    "plot_posterior",
    "plot_profile",
    "plot_readings",
    "pool",
    "profile",
    "read_comparison",
    "read_job",
    "read_log",
    "read_result",
    "read_runs",
    "reference",
    "rulebooks",
    "rules",
    "section",
    "simulate",
    "simulation",
    "solve",
    "solve_many",
    "units",
    "whole_laterals",
]

if _typing.TYPE_CHECKING:
    from . import plot, reference, simulation
    from .plot import plot_plan, plot_posterior, plot_profile, plot_readings
    from .simulation import simulate
else:

    def __getattr__(name: str) -> object:
        # Read when it is asked for: not everybody needs it, and it would take a fifth of the import.
        from importlib import import_module

        if name in {"plot", "reference", "simulation"}:
            return import_module(f".{name}", __name__)
        module = "simulation" if name == "simulate" else "plot" if name.startswith("plot_") else None
        if module is None or name not in __all__:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        return getattr(import_module(f".{module}", __name__), name)

    def __dir__() -> list[str]:
        return sorted({*globals(), *__all__})

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

import fallwise as fw
from fallwise.units import deg, ft

ROOT = Path(__file__).resolve().parents[3]
DEMOS = ROOT / "examples" / "demos"

# Pictures are drawn without a screen.
os.environ.setdefault("MPLBACKEND", "Agg")


def demo_names() -> list[str]:
    """Names of the demo jobs; none where only the tests are at hand."""
    return sorted(job.parent.name for job in DEMOS.glob("*/job.toml"))


@pytest.fixture(scope="session")
def demo() -> Callable[[str], Path]:
    """The job file of a demo."""
    return lambda name: DEMOS / name / "job.toml"


@pytest.fixture(scope="session")
def root() -> Path:
    return ROOT


@pytest.fixture(scope="session")
def expected() -> Path:
    """What the Rust programs wrote of the demos."""
    folder = os.environ.get("FALLWISE_EXPECTED")
    if folder is None:
        pytest.skip("FALLWISE_EXPECTED names no folder: bindings/python/test.sh makes it")
    return Path(folder)


def truth() -> fw.simulation.Truth:
    """A pipe with one belly of some 20 mm."""
    return fw.simulation.Truth(breaks_m=[0, 10, 12, 24], tilt_rad=[0.02, -0.01, 0.022])


@pytest.fixture(scope="session")
def run() -> fw.Run:
    head = fw.simulation.Head(noise_sd_rad=deg(0.2), zero_rad=deg(0.1))
    return fw.simulate(truth(), head=head, spacing_m=0.1, seed=3).run


@pytest.fixture(scope="session")
def lateral(run: fw.Run) -> fw.Lateral:
    return fw.solve(
        run,
        pipe=fw.Pipe.standard("SDR 35", "4 in"),
        ties=[
            fw.InvertTie(station_m=0.0, elevation_m=30.0, sd_m=ft(0.02)),
            fw.InvertTie(station_m=24.0, elevation_m=29.56, sd_m=ft(0.02)),
        ],
        rulebook="upc-2021",
        draws=200,
    )

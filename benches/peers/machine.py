"""What a run was measured on, and with which versions."""

from __future__ import annotations

import os
import platform
import re
from importlib import metadata
from pathlib import Path

from .record import Machine

HERE = Path(__file__).resolve().parent
CPU = Path("/proc/cpuinfo")


def cpu() -> str:
    """Name of the processor, as the system tells it."""
    if CPU.exists():
        named = re.search(r"^model name\s*: (.*)$", CPU.read_text(encoding="utf-8"), flags=re.M)
        if named is not None:
            return named[1].strip()
    return platform.processor() or platform.machine()


def machine() -> Machine:
    """As it is now: the load is that of the last one, five and fifteen minutes."""
    return {
        "cpu": cpu(),
        "cores": os.cpu_count() or 1,
        "memory_gb": round(os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 1e9, 1),
        "system": f"{platform.system()} {platform.machine()}",
        "python": f"{platform.python_implementation()} {platform.python_version()}",
        "load": [round(load, 2) for load in os.getloadavg()],
    }


def required() -> dict[str, str]:
    """Names and versions of the requirements file."""
    lines = (HERE / "requirements.txt").read_text(encoding="utf-8").splitlines()
    pairs = (line.partition("==") for line in lines if "==" in line and not line.startswith("#"))
    return {name.strip(): version.strip() for name, _, version in pairs}


def versions() -> tuple[dict[str, str], dict[str, str]]:
    """Versions that are installed, and what is not installed although the requirements file names it."""
    found: dict[str, str] = {"fallwise": metadata.version("fallwise")}
    missing: dict[str, str] = {}
    for name, version in required().items():
        try:
            found[name] = metadata.version(name)
        except metadata.PackageNotFoundError:
            missing[name] = f"{name} {version} could not be installed here"
    return found, missing

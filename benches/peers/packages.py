"""The packages beside fallwise. Each may be missing: then its ways are left out, and the page says so."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import cache
from importlib import import_module
from typing import Any


@cache
def package(name: str) -> Any:
    """A module by its name. Few of them have types, so that to a reader of types it is anything."""
    return import_module(name)


def missing(names: Iterable[str]) -> str | None:
    """Imports the modules; which of them cannot be had, and why."""
    for name in names:
        try:
            package(name)
        except ImportError as error:
            return f"`{name}` could not be imported ({type(error).__name__}: {error})"
    return None


@cache
def compiled(function: Callable[..., Any]) -> Callable[..., Any]:
    """A function as numba compiles it, which it does in the first call."""
    found: Callable[..., Any] = package("numba").njit(function)
    return found

"""Rulebooks: what a code asks. A row says whether its value was seen in the primary document; check the code as adopted."""

from ._core import Check, Rulebook, rulebooks

__all__ = ["Check", "Rulebook", "rulebooks"]

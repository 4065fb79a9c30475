"""Codes of the tables as people read them, the same on sheets and on the command line."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

import pandas as pd

__all__ = ["SOURCES", "STEPS", "lead_kinds", "lead_ways"]

STEPS: Final = {
    "desk": "look at records",
    "call": "call",
    "level": "take levels",
    "soil test": "test the soil",
    "visit": "visit",
}
"""What to do next."""

SOURCES: Final = {
    "survey": "soil survey",
    "derived": "derived from the survey's layers",
    "field": "field test",
    "test": "field test",
    "group": "usual for the group",
    "none": "no source",
}
"""Where a fact of the soil comes from."""

_KINDS: Final = {"surface": "over the ground", "shallow": "shallow pipe", "buried": "buried pipe"}
_WAYS: Final = {"surface": "over the ground", "shallow": "in a shallow pipe", "buried": "in a buried pipe"}


def _in_order(codes: Iterable[Any], words: dict[str, str]) -> list[str]:
    """Words of the codes that occur, each once, from the surface down; a code without words stands as it is."""
    found = {str(code) for code in codes if not pd.isna(code)}
    return [told for code, told in words.items() if code in found] + sorted(found - set(words))


def lead_kinds(codes: Iterable[Any]) -> str:
    """What the leads of a garden are, each kind once: ``over the ground, shallow pipe``; empty for none."""
    return ", ".join(_in_order(codes, _KINDS))


def lead_ways(codes: Iterable[Any]) -> str:
    """How the leads of a garden go, each way once: ``over the ground and in a shallow pipe``; empty for none."""
    return " and ".join(_in_order(codes, _WAYS))

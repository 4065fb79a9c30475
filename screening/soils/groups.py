"""Hydrologic soil groups: how files spell them, which group counts, and how sure a plainly mapped group is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.rules import Rules

__all__ = [
    "CHANCE_COLUMNS",
    "GROUPS",
    "LABELS",
    "UNKNOWN",
    "chances_of_label",
    "clean_labels",
    "counted_group",
    "group_number",
    "mapped_chances",
    "strange_labels",
]

GROUPS: Final = ("A", "B", "C", "D")
"""The four groups, from the one that takes most water to the one that takes least."""
UNKNOWN: Final = "unknown"
LABELS: Final = ("A", "A/D", "B", "B/D", "C", "C/D", "D", UNKNOWN)
"""Every label a map unit can carry; a dual group is drained / undrained."""
_SAID_UNKNOWN: Final = frozenset({"", "unknown", "none", "not rated"})
"""How files say that a group is not known."""
CHANCE_COLUMNS: Final = ("chance_a", "chance_b", "chance_c", "chance_d", "chance_unknown")


def clean_labels(values: Iterable[Any]) -> list[str]:
    """Groups as files spell them, in the spelling of ``LABELS``; anything else is ``unknown``."""
    cleaned = []
    for value in values:
        text = "" if pd.isna(value) else str(value).strip().upper().replace(" ", "")
        cleaned.append(text if text in LABELS[:-1] else UNKNOWN)
    return cleaned


def strange_labels(values: Iterable[Any], most: int = 6) -> str:
    """Texts that stand where a group should and are none, with how often, in words; empty when there are none."""
    values = list(values)
    texts = ["" if pd.isna(value) else str(value).strip() for value in values]
    unknown = (text for text, label in zip(texts, clean_labels(values), strict=True) if label == UNKNOWN)
    odd = Counter(text for text in unknown if text.lower() not in _SAID_UNKNOWN)
    shown = ", ".join(f"{text!r} ({count})" for text, count in sorted(odd.items())[:most])
    return shown + (", ..." if len(odd) > most else "")


def counted_group(label: str, *, drained: bool) -> str:
    """Group that counts for a label: of a dual group the second letter, or the first where drainage is stated.

    Dual groups are given only to soils that are D in their natural condition (NEH part 630, chapter 7; TR-55,
    appendix A).
    """
    if "/" not in label:
        return label
    first, second = label.split("/")
    return first if drained else second


def group_number(labels: Iterable[str], *, drained: bool) -> NDArray[np.int64]:
    """Position in ``GROUPS`` of the group that counts for each label; -1 for unknown."""
    table = {label: _position(counted_group(label, drained=drained)) for label in LABELS}
    return np.array([table.get(label, -1) for label in labels], dtype=np.int64)


def _position(group: str) -> int:
    return GROUPS.index(group) if group in GROUPS else -1


def chances_of_label(label: str, rules: Rules) -> NDArray[np.float64]:
    """Chance of each group, and of unknown, where a plain map says ``label`` and nothing more.

    The mapped group is right with ``rules.soil_map_purity``; the rest goes to the neighbouring groups in equal parts,
    and for a dual group to the letter that does not count, since its drainage is what is in doubt.

    Returns
    -------
    numpy.ndarray
        Shape (5,), in the order of ``CHANCE_COLUMNS``, summing to 1.
    """
    chances = np.zeros(5)
    group = counted_group(label, drained=rules.dual_group_drained)
    if group not in GROUPS:
        chances[4] = 1.0
        return chances
    own = GROUPS.index(group)
    if "/" in label:
        others = [GROUPS.index(letter) for letter in label.split("/") if letter != group]
    else:
        others = [near for near in (own - 1, own + 1) if 0 <= near < len(GROUPS)]
    chances[own] = rules.soil_map_purity
    chances[others] = (1.0 - rules.soil_map_purity) / len(others)
    return chances


def mapped_chances(labels: Iterable[str], rules: Rules) -> NDArray[np.float64]:
    """``chances_of_label`` of many labels, shape (n, 5)."""
    table = {label: chances_of_label(label, rules) for label in LABELS}
    rows = [table[label] for label in labels]
    return np.array(rows, dtype=np.float64).reshape(len(rows), 5)

"""Rules that hold for single lots instead of the programme's: which may, and which lots share one set of them.

A lot's stages run with the lot's own rules (``blocks.split`` gives lots of unlike rules blocks of their own), so that
every rule that a lot is judged by can be its own without any stage knowing. What is read or compared over the whole
area cannot.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from screening.rules import Rules

__all__ = ["AREA_ONLY", "OwnRules", "own_words", "rule_sets", "rules_of"]

OwnRules = Mapping[str, Mapping[str, Any]]
"""For lots by id: the rules that hold there instead, by name, in the rule's unit and type."""

_TERRAIN: Final = "the ground is read once for the whole area"
_ROOFS: Final = "the kinds of roofs are told once for the whole area"
_SOILS: Final = "the soils are read once for the whole area, where a test on one lot speaks for its neighbours"
_DATA: Final = "it describes the data, which are the same on every lot"
_COMPARED: Final = "lots are compared by it"

AREA_ONLY: Final[dict[str, str]] = {
    **dict.fromkeys(("slope_scale_m", "hollow_depth_m", "hollow_area_m2", "overflow_clearance_m"), _TERRAIN),
    "outbuilding_most_m2": _ROOFS,
    **dict.fromkeys(
        (
            *(f"infiltration_{name}" for name in ("a_mm_h", "b_mm_h", "c_mm_h", "d_mm_h", "spread")),
            *(f"soil_{name}" for name in ("line_error_m", "map_purity", "test_spread", "test_reach_m")),
            *("soil_unit_correlation", "soil_correlation_range_m", "built_lot_divisor", "dual_group_drained"),
            *("pond_drawdown_h", "bed_drawdown_h"),
        ),
        _SOILS,
    ),
    **dict.fromkeys(
        (
            *("elevation_error_m", "elevation_error_range_m", "level_error_m", "slope_error_pct", "relief_m"),
            *("slope_relief_pct", "search_gain"),
            *("roof_error_pct", "void_fraction_low"),
        ),
        _DATA,
    ),
    **dict.fromkeys(
        (
            *(
                "storm_depth_mm",
                "run_on",
                "lawn_condition",
                "runoff_coefficient",
                "run_good_m",
                "answer_share",
                "built_share",
                "visits",
                "seed",
            ),
            *("draws", "chance_look", "score_weights_firmness", "wanted_share", "visits_of_street_most"),
            *(name for name in Rules.model_fields if name.startswith(("weight_", "value_"))),
        ),
        _COMPARED,
    ),
}
"""Rules that no lot can have of its own, and why."""


def rules_of(lot_id: str, rules: Rules, own: OwnRules) -> Rules:
    """Rules of one lot."""
    return rules.model_copy(update=dict(own[lot_id])) if lot_id in own else rules


def rule_sets(lot_ids: Collection[Any], rules: Rules, own: OwnRules) -> list[tuple[NDArray[np.int64], Rules]]:
    """Group lots by their rules.

    Parameters
    ----------
    lot_ids
        Ids, any number of times each.
    rules, own
        Rules of the area, and of single lots.

    Returns
    -------
    list
        Rising positions in ``lot_ids`` and the rules that hold there; the area's own set first where any lot has it,
        then in the order of the first lot of each.
    """
    if not own:
        return [(np.arange(len(lot_ids), dtype=np.int64), rules)]
    ids = [str(lot) for lot in lot_ids]
    area = rules.model_dump()
    sets: dict[tuple[tuple[str, Any], ...], int] = {(): 0}
    key_of = {lot: tuple(sorted((k, v) for k, v in given.items() if area[k] != v)) for lot, given in own.items()}
    number = np.array([sets.setdefault(key_of.get(lot, ()), len(sets)) for lot in ids], dtype=np.int64)
    found = [(np.flatnonzero(number == at), rules.model_copy(update=dict(key))) for key, at in sets.items()]
    return [(rows, mine) for rows, mine in found if len(rows)] or [(number, rules)]


def own_words(given: Mapping[str, Any]) -> str:
    """Rules of a lot as text: ``name value``, by name, separated by a semicolon."""
    return "; ".join(f"{name} {_plain(value)}" for name, value in sorted(given.items()))


def _plain(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)

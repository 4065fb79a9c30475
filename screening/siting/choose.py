"""Which candidate is the lot's spot: a pure function of the candidates table, on whole numbers.

The order, the first that differs deciding, smaller first:

1. severity: nothing against it or a note, test the soil, look closer, ruled out; then how many reasons are as heavy;
2. water kept out of the drain, in steps of 5% of what the lot's roofs could keep, the most first (where next to none of
   the lot's water reaches the drain, the roof that is led);
3. shape: length at most twice and at least one and a half times the width, then the others;
4. comfort of the fall: its margin in steps of 25 mm, the most first, all from 75 mm on alike; what falls short in
   steps of 75 mm;
5. the longest lead in steps of a metre;
6. the slope in steps of 5%;
7. the candidate's number.
"""

from __future__ import annotations

from collections.abc import Container
from typing import Any, Final

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from screening.fields.id_lists import ids_of
from screening.lot_rules import OwnRules, rule_sets
from screening.rules import Rules
from screening.siting.soil_limits import SOIL_LIMITS
from screening.siting.spot_limits import FINE, LIMITS, LOOK_CLOSER, NOTE, RULES_OUT, candidate_reasons, number, text

__all__ = ["choose", "choose_second", "may_be_second", "reasons_of", "severity_of"]

WATER_STEP: Final = 0.05
FALL_STEP_M: Final = 0.025
FALL_STEPS_MOST: Final = 3
SLOPE_STEP_PCT: Final = 5.0
SMALL: Final = 1e-6


def reasons_of(candidates: Any, rules: Rules, own_rules: OwnRules | None = None, *, but: Container[str] = ()) -> Any:
    """Everything that stands against each candidate: rows as ``spot_limits.candidate_reasons`` makes them.

    ``own_rules``: rules of single lots that differ from ``rules``. ``but``: codes that are left out.
    """
    limits = [
        limit for limit in (*LIMITS, *SOIL_LIMITS) if not but or limit(candidates.iloc[:0], rules).code not in but
    ]
    parts = []
    for rows, mine in rule_sets(candidates["lot_id"], rules, own_rules or {}):
        some = candidates.iloc[rows] if len(rows) < len(candidates) else candidates
        found = candidate_reasons([limit(some, mine) for limit in limits], len(some))
        parts.append(found.assign(row=rows[found["row"].to_numpy(dtype=np.int64)]))
    return parts[0] if len(parts) == 1 else pd.concat(parts, ignore_index=True)


def severity_of(reasons: Any, count: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Heaviest severity of each candidate, 0 to 4, and how many reasons have it."""
    row, weight = reasons["row"].to_numpy(dtype=np.int64), reasons["weight"].to_numpy(dtype=np.int64)
    severity = np.full(count, FINE, dtype=np.int64)
    np.maximum.at(severity, row, weight)
    return severity, np.bincount(row[weight == severity[row]], minlength=count)


def choose(candidates: Any, rules: Rules) -> NDArray[np.bool_]:
    """Tell which candidate is the spot of its lot: the first in order, none where all are ruled out.

    Parameters
    ----------
    candidates
        As ``fields.TABLES["candidates"]``, soils and overflow filled in, any number of lots.
    rules
        The rules; what they say of limits may differ from those of the search.
    """
    severity, reasons = severity_of(reasons_of(candidates, rules), len(candidates))
    first = first_of_lots(candidates, severity, reasons)
    chosen = np.zeros(len(candidates), dtype=bool)
    chosen[first] = severity[first] < RULES_OUT
    return chosen


def choose_second(candidates: Any, chosen: NDArray[np.bool_], rules: Rules) -> NDArray[np.bool_]:
    """Tell which candidate is the second garden of its lot, beside the spot: none unless the rules allow two.

    It serves other downspouts than the spot, their footprints lie apart, and of what is left it is the first in order.

    Parameters
    ----------
    candidates
        As for ``choose``, with geometry.
    chosen
        The spots, as ``choose`` tells them.
    rules
        ``gardens_most``, ``berm_ring_m`` and what the limits need.
    """
    second = np.zeros(len(candidates), dtype=bool)
    if rules.gardens_most < 2 or not chosen.any():
        return second
    severity, reasons = severity_of(reasons_of(candidates, rules), len(candidates))
    row = np.flatnonzero(chosen)
    ids = candidates["lot_id"].to_numpy(dtype=object)
    spot_of = dict(zip(ids[row].tolist(), row.tolist(), strict=True))
    spot = np.array([spot_of.get(lot, -1) for lot in ids.tolist()], dtype=np.int64)
    beside = (spot >= 0) & _beside(*_led_and_shapes(candidates), np.arange(len(spot)), spot, rules)
    left = np.flatnonzero(beside & (severity < RULES_OUT))
    rest = candidates.iloc[left]
    second[left[first_of_lots(rest, severity[left], reasons[left])]] = True
    return second


def may_be_second(candidates: Any, rules: Rules) -> NDArray[np.int64]:
    """Which candidates of its lot may be the second garden beside each as spot: a bit for each by its number.

    Parameters
    ----------
    candidates
        As for ``choose_second``.
    rules
        ``gardens_most`` and ``berm_ring_m``.

    Returns
    -------
    numpy.ndarray
        int64, shape (n,); 0 where the rules allow one garden.
    """
    out = np.zeros(len(candidates), dtype=np.int64)
    if rules.gardens_most < 2:
        return out
    place = candidates["candidate"].to_numpy(dtype=np.int64)
    _, lot = np.unique(candidates["lot_id"].to_numpy(dtype=object), return_inverse=True)
    order = np.argsort(lot, kind="stable")
    led, shapes = _led_and_shapes(candidates)
    for away in range(1, int(np.bincount(lot).max(initial=0))):
        one, other = order[:-away], order[away:]
        same = lot[one] == lot[other]
        one, other = one[same], other[same]
        may = _beside(led, shapes, one, other, rules)
        np.bitwise_or.at(out, one[may], 1 << place[other[may]])
        np.bitwise_or.at(out, other[may], 1 << place[one[may]])
    return out


def _led_and_shapes(candidates: Any) -> tuple[list[set[str]], NDArray[Any]]:
    """Downspouts led to each candidate, and its outline."""
    return [set(ids_of(words)) for words in text(candidates, "downspout_ids").tolist()], candidates.geometry.to_numpy()


def _beside(
    led: list[set[str]], shapes: NDArray[Any], one: NDArray[np.int64], other: NDArray[np.int64], rules: Rules
) -> NDArray[np.bool_]:
    """Whether gardens may stand at both of two candidates: other downspouts, footprints apart."""
    apart = shapely.distance(shapes[one], shapes[other]) >= 2.0 * rules.berm_ring_m
    alone = [not led[i] & led[j] for i, j in zip(one.tolist(), other.tolist(), strict=True)]
    return np.asarray(apart & np.array(alone, dtype=bool))


def first_of_lots(candidates: Any, severity: NDArray[np.int64], reasons: NDArray[np.int64]) -> NDArray[np.int64]:
    """Row of the first candidate in order of each lot, in order of the lots in the table."""
    aspect = number(candidates, "aspect")
    keys = (
        np.maximum(severity, NOTE),
        np.where(severity >= LOOK_CLOSER, reasons, 0),
        -_steps(number(candidates, "kept_of_lot_share"), WATER_STEP),
        np.where((aspect >= 1.5 - SMALL) & (aspect <= 2.0 + SMALL), 0, 1),
        -_comfort(number(candidates, "fall_margin_m")),
        _steps(number(candidates, "run_m"), 1.0),
        _steps(number(candidates, "slope_pct"), SLOPE_STEP_PCT),
        candidates["candidate"].to_numpy(dtype=np.int64),
    )
    ids, lot = np.unique(candidates["lot_id"].to_numpy(dtype=object), return_inverse=True)
    order = np.lexsort((*keys[::-1], lot))
    return order[np.searchsorted(lot[order], np.arange(len(ids)))]


def _comfort(margin_m: NDArray[np.float64]) -> NDArray[np.int64]:
    """Steps of comfort in the margin of a fall."""
    short = _steps(margin_m, FALL_STEP_M * FALL_STEPS_MOST)
    return np.where(margin_m < 0.0, short, np.minimum(_steps(margin_m, FALL_STEP_M), FALL_STEPS_MOST))


def _steps(values: NDArray[np.float64], step: float) -> NDArray[np.int64]:
    """Whole steps in each value; missing counts as none."""
    return np.floor(np.nan_to_num(values) / step + SMALL).astype(np.int64)

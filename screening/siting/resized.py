"""Gardens at the places that the search kept, sized anew for another capture depth.

The places, the downspouts led there and what was measured under the garden as the search drew it stay as they are;
size, levels and fall follow from the depth, as in the search.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from screening.fields import TABLES, round_half_up
from screening.rules import Rules
from screening.siting.ellipse import footprint_area_m2
from screening.siting.spot_limits import SIGMAS, number

__all__ = ["needed_m2_per_mm_m2", "resized", "wanted_mm"]

Floats = NDArray[np.float64]


def wanted_mm(rules: Rules) -> float:
    """Depth of rain that the search sizes gardens for [mm]."""
    return max(rules.capture_depth_mm, rules.capture_depth_least_mm)


def needed_m2_per_mm_m2(rules: Rules) -> float:
    """Ponding area for a millimetre of rain on a square metre that drains to it [m2/(mm m2)]."""
    return rules.runoff_coefficient / (rules.ponding_depth_mm + rules.void_fraction * rules.bed_depth_mm)


def resized(candidates: Any, before: Rules, rules: Rules) -> Any:
    """Size the gardens of the candidates for the capture depth of other rules.

    Parameters
    ----------
    candidates
        As ``fields.TABLES["candidates"]``.
    before
        The rules that they were found under.
    rules
        The same but for ``capture_depth_mm`` and ``capture_depth_least_mm``.

    Returns
    -------
    DataFrame
        The candidates with new sizes, levels and falls, rounded as declared; the outlines stay as they were. Untouched
        where neither depth changes.
    """
    depths = ("capture_depth_mm", "capture_depth_least_mm")
    if not len(candidates) or all(getattr(before, name) == getattr(rules, name) for name in depths):
        return candidates
    area, now = number(candidates, "draining_area_m2"), number(candidates, "ponding_area_m2")
    per_mm = needed_m2_per_mm_m2(rules)
    needed = per_mm * wanted_mm(rules) * area
    size = now if wanted_mm(rules) == wanted_mm(before) else _size_m2(candidates, needed, rules)
    held = round_half_up(size / (per_mm * area), 0.1)
    aspect = number(candidates, "aspect")
    before_share = np.minimum(now / np.maximum(per_mm * wanted_mm(before) * area, 1e-9), 1.0)
    after_share = np.minimum(size / np.maximum(needed, 1e-9), 1.0)
    most = np.minimum(number(candidates, "kept_of_lot_share") / before_share, 1.0)
    columns = {
        "needed_m2": needed,
        "ponding_area_m2": size,
        "footprint_m2": footprint_area_m2(size, aspect, rules.berm_ring_m),
        "capture_depth_mm": held,
        "kept_of_lot_share": most * after_share,
        "eligible": (held >= rules.capture_depth_least_mm - 1e-6) & (area <= rules.draining_area_most_m2 + 1e-6),
        **_levels(candidates, size, rules),
    }
    steps = {field.name: field.step for field in TABLES["candidates"]}
    return candidates.assign(
        **{name: round_half_up(values, steps[name]) if steps[name] else values for name, values in columns.items()}
    )


def _drop_m(candidates: Any, size_m2: Floats) -> Floats:
    """Drop from the centre to the lowest ground under a garden of another size: as the square root of its area [m]."""
    return number(candidates, "drop_m") * np.sqrt(size_m2 / number(candidates, "ponding_area_m2"))


def _top_m(candidates: Any) -> Floats:
    """Highest lip that the tightest lead allows [m]."""
    return number(candidates, "lip_low_m") + number(candidates, "fall_margin_m")


def _lowest_lip_m(ground_m: Floats, drop_m: Floats, rules: Rules) -> Floats:
    return np.maximum(ground_m - drop_m, ground_m + drop_m - rules.cut_most_m)


def _fall_class(margin_m: Floats, error_m: Floats) -> NDArray[np.int64]:
    """0 fall met, 1 short within its error, 2 short beyond it."""
    return np.where(margin_m >= -1e-9, 0, np.where(margin_m >= -SIGMAS * error_m - 1e-9, 1, 2))


def _size_m2(candidates: Any, needed_m2: Floats, rules: Rules) -> Floats:
    """Ponding area: what is needed, never under the least nor over the room.

    On a slope a larger garden reaches further downhill. One that would lose its fall by being smaller stays as large as
    it was; one that lacks fall is as large as it must be where that alone wins it.
    """
    room, aspect = number(candidates, "room_m2"), number(candidates, "aspect")
    least = np.maximum(rules.ponding_area_least_m2, np.pi * (0.5 * rules.width_least_m) ** 2 * aspect)
    size = np.minimum(np.maximum(needed_m2, least), room)
    now, error = number(candidates, "ponding_area_m2"), number(candidates, "fall_error_m")
    ground, top = number(candidates, "ground_m"), _top_m(candidates)

    def fall_class(size_m2: Floats) -> NDArray[np.int64]:
        return _fall_class(top - _lowest_lip_m(ground, _drop_m(candidates, size_m2), rules), error)

    size = np.where((now > size) & (fall_class(size) > fall_class(now)), now, size)
    with np.errstate(divide="ignore"):
        larger = size * (rules.cut_most_m / (2.0 * _drop_m(candidates, size))) ** 2
    larger = np.minimum(np.maximum(larger, size), room)
    return np.where((fall_class(size) == 2) & (fall_class(larger) < 2), larger, size)


def _levels(candidates: Any, size_m2: Floats, rules: Rules) -> dict[str, Floats]:
    """Lips, berm, cut and fall of gardens of another size."""
    ground, drop, top = number(candidates, "ground_m"), _drop_m(candidates, size_m2), _top_m(candidates)
    freeboard = rules.berm_freeboard_mm / 1000.0
    low = _lowest_lip_m(ground, drop, rules)
    error = number(candidates, "fall_error_m")
    high = np.maximum(ground - drop + rules.berm_height_most_m - freeboard, low)
    lip = np.minimum(np.maximum(np.minimum(ground, top), low), high)
    return {
        "drop_m": drop,
        "lip_low_m": low,
        "lip_high_m": high,
        "lip_m": lip,
        "fall_m": number(candidates, "fall_m") + number(candidates, "lip_m") - lip,
        "fall_margin_m": top - low,
        "class_code": _fall_class(top - low, error),
        "berm_m": np.maximum(lip + freeboard - (ground - drop), 0.0),
        "cut_m": np.maximum(ground + drop - lip, 0.0),
    }

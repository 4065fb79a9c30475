"""The lot's numbers as pairs of a term and a value, in the reader's units."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

import numpy as np

from screening.outputs.code_words import lead_kinds
from screening.outputs.reader_units import amount_text
from screening.ranking.sentences import Units
from screening.rules import Rules

__all__ = ["bill_pairs", "garden_pairs", "lot_pairs", "sizing_pairs"]

Pairs = list[tuple[str, str]]

_BILL: Final = (
    ("hole_m3", "Dig", "m3"),
    ("spoil_m3", "Soil left over", "m3"),
    ("sand_m3", "Sand", "m3"),
    ("topsoil_m3", "Topsoil", "m3"),
    ("compost_m3", "Compost in the mix", "m3"),
    ("berm_compost_m3", "Compost on the berm", "m3"),
    ("mulch_m3", "Mulch", "m3"),
    ("turf_stripped_m2", "Turf to strip", "m2"),
    ("pipe_m", "Pipe", "m"),
    ("swale_m", "Swale", "m"),
    ("plants", "Plants", ""),
    ("shrubs", "Shrubs", ""),
    ("native_least", "Of these native, at least", ""),
)
_CUBIC_FOOT_M3: Final = 0.3048**3
_CUBIC_YARD_M3: Final = 27 * _CUBIC_FOOT_M3


def _words(value: Any) -> str:
    return "" if value is None else str(value)


def garden_pairs(lot: Any, leads: Sequence[Any], rules: Rules, units: Units) -> Pairs:
    """The garden at the spot; ``leads`` are those to it, which may be of several kinds."""

    def told(name: str, unit: str, decimals: int | None = None) -> str:
        return amount_text(getattr(lot, name), unit, units, decimals)

    fall = told("fall_m", "m", 2)
    return [
        ("Ponding area", told("ponding_area_m2", "m2")),
        ("Room there", told("room_m2", "m2")),
        ("With its berm", told("footprint_m2", "m2")),
        ("Drains to it", told("draining_area_m2", "m2")),
        ("Holds, of rain", told("capture_depth_mm", "mm")),
        ("Leads" if len(leads) > 1 else "Lead", lead_kinds([lead.lead for lead in leads] or [lot.lead])),
        ("The longest" if len(leads) > 1 else "Its length", told("run_m", "m", 1)),
        ("Fall; needed", f"{fall}; {told('fall_needed_m', 'm', 2)}" if fall else ""),
        ("Slope there; limit", f"{told('slope_spot_pct', '%')}; {rules.slope_limit_pct:g}%" if fall else ""),
        ("Soil group; source", "; ".join(w for w in (_words(lot.hsg_spot), _words(lot.hsg_source)) if w)),
        ("Soil takes, design", told("ksat_spot_um_s", "um/s")),
        ("Overflow goes to", _words(lot.overflow_to)),
        (f"Kept of a {amount_text(rules.storm_depth_mm, 'mm', units)} storm", told("storm_kept_m3", "m3")),
        *([("Lawn runs on, in that storm", told("storm_run_on_m3", "m3"))] if rules.run_on else []),
        ("Kept in a mean year", told("year_kept_m3", "m3", 0 if units == "us" else 1)),
    ]


def lot_pairs(lot: Any, units: Units) -> Pairs:
    """The lot where no place was found."""
    return [
        ("Lot", amount_text(lot.lot_area_m2, "m2", units)),
        ("Roofs", amount_text(lot.roof_area_m2, "m2", units)),
        ("Open ground", amount_text(lot.open_ground_m2, "m2", units)),
        ("Mean slope", amount_text(lot.slope_lot_pct, "%", units)),
        ("Soil group", _words(lot.hsg)),
        ("Shed in the storm", amount_text(lot.storm_runoff_m3, "m3", units)),
    ]


def _level(over_lip_mm: float, units: Units) -> str:
    """A level against the lip, with its sign."""
    text = amount_text(abs(over_lip_mm), "mm", units)
    return f"+{text}" if over_lip_mm > 0 else f"−{text}" if over_lip_mm < 0 else "0"


def sizing_pairs(spot: Any, rules: Rules, units: Units) -> Pairs:
    """Size of the garden and its levels, all from the overflow lip."""
    long_m = 2 * float(np.sqrt(spot.ponding_area_m2 * spot.aspect / np.pi)) if _known(spot.aspect) else float("nan")
    across = (
        ""
        if np.isnan(long_m)
        else (f"{amount_text(long_m, 'm', units)} × {amount_text(long_m / spot.aspect, 'm', units)}")
    )
    bed_top = -(rules.ponding_depth_mm + rules.mulch_mm)
    ground = (spot.ground_m - spot.lip_m) * 1000 if _known(spot.ground_m) and _known(spot.lip_m) else None
    return [
        ("Long and across", across),
        ("Berm crest", _level(rules.berm_freeboard_mm, units)),
        ("Overflow lip: the datum", "0"),
        ("Ground at the middle", "" if ground is None else _level(ground, units)),
        ("Top of the mulch", _level(-rules.ponding_depth_mm, units)),
        ("Top of the mix", _level(bed_top, units)),
        ("Bottom of the hole", _level(bed_top - rules.bed_depth_mm, units)),
        ("Berm over lowest ground", amount_text(spot.berm_m, "m", units)),
        ("Cut at highest ground", amount_text(spot.cut_m, "m", units)),
    ]


def _known(value: Any) -> bool:
    return value is not None


def _quantity(value: float, unit: str, units: Units) -> str:
    if unit == "m3" and units == "us":
        return f"{value / _CUBIC_YARD_M3:.1f} cu yd"
    return amount_text(value, unit, units)


def bill_pairs(bill: Mapping[str, float], units: Units) -> Pairs:
    """Bill of materials, in place, without waste; what is nought is left out."""
    return [(name, _quantity(bill[key], unit, units)) for key, name, unit in _BILL if abs(bill.get(key, 0.0)) > 1e-9]

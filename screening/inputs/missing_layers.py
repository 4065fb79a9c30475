"""What each layer that was not given costs."""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

from screening.inputs.findings import Findings

__all__ = ["COSTS", "tell_missing"]

COSTS: Final[dict[str, str]] = {
    "soils": "the group of every lot is unknown, so every soil is to be tested first",
    "surface": "no roof planes and no tree crowns are measured; roofs are taken as the rules say",
    "paved": "drives and walks are unknown: spots may lie on paving, paving adds no runoff, and water soaks away over "
    "it as over lawn, so that less of it seems to reach the drain",
    "trees": "root protection is unknown on every lot, unless a surface raster shows the crowns",
    "buried": "buried lines are unknown on every lot; have them located before any digging",
    "wells": "setbacks from wells are not checked",
    "septic": "setbacks from septic fields are not checked",
    "easements": "easements are not checked; a lead may need a consent that is not told",
    "avoid": "flood zones, walls, pools and other ground to avoid are not checked",
    "water": "setbacks from streams and ponds are not checked; flow ends only at the raster's edge and inlets",
    "inlets": "where flow leaves for the drain is not known; it ends at the raster's edge",
    "streets": "a lot without a street of its own gets none, and the streets' totals need it; water that leaves the "
    "lots is taken to reach a street",
    "downspouts": "every downspout is a guess of the tool, drawn as such",
    "rainfall": "capture is told for the design storm only, not for the year",
    "field": "no field result corrects the maps",
}
"""What a run lacks, by the table that was not given."""


def tell_missing(given: Collection[str], findings: Findings) -> None:
    """Tell what each layer that is not given costs."""
    for name, cost in COSTS.items():
        if name not in given:
            label = {"surface": "surface raster", "field": "field results"}.get(name, name)
            findings.note("missing", f"No {label} given: {cost}.", name)

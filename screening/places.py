"""Lots stacked on one place, as condominiums are: the first is looked at for all, and all are in the results."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

import numpy as np
import pandas as pd

from screening.area import FOUND_COLUMNS, LAYER_COLUMNS, Area
from screening.fields import TABLES, conform
from screening.lot_rules import OwnRules

__all__ = ["first_ids", "first_lots", "one_lot_a_place", "with_further_lots"]

_OWN: Final = ("lot_id", "street", "address", "zone", "geometry")
"""Columns of the lots table that further lots of a place have of their own."""
_OF_FIRST: Final = frozenset(
    {"rank", "rank_group", "rank_low", "rank_high", "shared_with"}
    | {field.name for field in TABLES["lots"] if field.unit == "m3"}
)
"""Columns of the lots table that the first lot of a place has for all: water is counted once, a place has one rank."""


def first_ids(lots: Any) -> Mapping[str, str]:
    """First lot of each lot's place, by lot id: itself for most."""
    place = lots["place"].where(lots["place"].notna(), lots["lot_id"])
    return dict(zip(lots["lot_id"].tolist(), place.tolist(), strict=True))


def first_lots(lots: Any) -> Any:
    """The lots table or layer with one row a place, index 0..n-1; as it is where no places are told.

    A lot whose place is that of no lot here stands for itself.
    """
    if "place" not in lots:
        return lots
    behind = lots["place"].notna() & (lots["place"] != lots["lot_id"])
    if not behind.any():
        return lots
    further = (behind & lots["place"].isin(lots["lot_id"])).to_numpy(dtype=bool)
    return lots[~further].reset_index(drop=True) if further.any() else lots


def one_lot_a_place(area: Area, own_rules: OwnRules | None = None) -> tuple[Area, OwnRules | None]:
    """An area without the further lots of each place, what is known of them given to the first.

    The first lot takes what it lacks (street, address and the like) from those behind it, their field results and
    their rules where it has none of its own.

    Parameters
    ----------
    area
        The area as read; ``place`` of its lots tells which are stacked.
    own_rules
        Rules of single lots that differ from the area's, by lot id.

    Returns
    -------
    Area
        Its lots have ``shared_with``: further lots of the place, missing for most. The same area where none are
        stacked.
    OwnRules or None
        By the first lots' ids.
    """
    lots = area.layers["lots"]
    kept = first_lots(lots)
    if kept is lots:
        return area, own_rules
    first = first_ids(lots)
    place = lots["lot_id"].map(first)
    known = [name for name in LAYER_COLUMNS["lots"] if name in lots and name not in {"lot_id", *FOUND_COLUMNS}]
    further = (place != lots["lot_id"]).to_numpy(dtype=bool)
    # a lot of which a smaller one keeps all stands behind that one, whichever id comes first
    order = np.argsort(further, kind="stable")
    found = lots[known].iloc[order].groupby(place.to_numpy(dtype=object)[order]).first().reindex(kept["lot_id"])
    names = lots["lot_id"][further].groupby(place[further].to_numpy(dtype=object)).agg(", ".join)
    filled = {name: pd.array(found[name], dtype=lots[name].dtype) for name in known}
    kept = kept.assign(**filled, shared_with=pd.array(names.reindex(kept["lot_id"]), dtype="str"))
    results = area.field_results
    if results is not None:
        results = results.assign(lot_id=results["lot_id"].map(lambda lot: first.get(lot, lot)))
    rules = None if own_rules is None else _rules_of_first(own_rules, first)
    return replace(area, layers={**area.layers, "lots": kept}, field_results=results), rules


def _rules_of_first(own_rules: OwnRules, first: Mapping[str, str]) -> OwnRules:
    """Rules of single lots by the first lots' ids: a first lot's own, else those of the next one behind it."""
    found = {lot: own for lot, own in own_rules.items() if first.get(lot, lot) == lot}
    for lot in sorted(own_rules):
        found.setdefault(first.get(lot, lot), own_rules[lot])
    return found


def with_further_lots(lots: Any, layer: Any) -> Any:
    """The lots table with a row for every lot of the input.

    Further lots of a place have the verdict of the first, and all that was found there but its rank and its water.

    Parameters
    ----------
    lots
        The lots table, one row a place, judged and ranked.
    layer
        The lots layer as read.
    """
    first = first_ids(layer)
    behind = layer[[first[lot] != lot for lot in layer["lot_id"]]]
    if not len(behind):
        return lots
    rows = lots.set_index("lot_id").loc[[first[lot] for lot in behind["lot_id"]]].reset_index()
    for name in _OWN:
        own = behind[name].to_numpy(dtype=object)
        rows[name] = own if name in ("lot_id", "geometry") else rows[name].where(pd.isna(own), own)
    rows = conform(rows.assign(**dict.fromkeys(_OF_FIRST, None)), TABLES["lots"])
    both = pd.concat([lots, rows], ignore_index=True)
    order = sorted(range(len(both)), key=both["lot_id"].tolist().__getitem__)
    return conform(both.iloc[order].reset_index(drop=True), TABLES["lots"])

"""What stands against a lot as a whole: nothing to catch, nowhere to dig, nothing to judge by; what is not known."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd

from screening.area import AreaContext, Block
from screening.fields import round_half_up
from screening.lot_rules import own_words
from screening.rules import Rules
from screening.siting.frontage import REACH_M
from screening.siting.spot_limits import LOOK_CLOSER, NOTE, RULES_OUT, TEST_SOIL
from screening.siting.templates import ASPECTS
from screening.units import in_detail

__all__ = ["least_width_m", "lot_reasons", "taken_reasons", "taken_rows", "taken_words", "unfit_reasons"]

NEAR_WIDTH_M: Final = 0.25
"""Ground that lacks no more than this for the narrowest garden is a near pass: lot lines are drawn no better."""

WORDS_MOST: Final = 3
TAKEN_STEP_M2: Final = 0.1
"""What the table ``taken`` tells areas in; its words say the same before and after they are written."""

_WEIGHTS: Final = {"note": NOTE, "test soil": TEST_SOIL, "look closer": LOOK_CLOSER, "rules out": RULES_OUT}
_WORDS: Final = {NOTE: "note", LOOK_CLOSER: "look closer", RULES_OUT: "rules out"}


def rows_of(
    lot_ids: Any,
    code: str,
    weight: int,
    measured: Any = np.nan,
    limit: Any = np.nan,
    detail: Any = "",
    near: Any = False,
) -> pd.DataFrame:
    """Rows of one reason."""
    count = len(lot_ids)
    return pd.DataFrame(
        {
            "lot_id": np.asarray(lot_ids, dtype=object),
            "code": code,
            "weight": weight,
            "severity": _WORDS[weight],
            "measured": np.broadcast_to(np.asarray(measured, dtype=np.float64), count),
            "limit": np.broadcast_to(np.asarray(limit, dtype=np.float64), count),
            "detail": np.broadcast_to(np.asarray(detail, dtype=object), count),
            "near": np.broadcast_to(np.asarray(near, dtype=bool), count),
        }
    )


def unfit_reasons(block: Block, context: AreaContext) -> pd.DataFrame:
    """Why a lot has no candidate at all: nothing to catch, nothing to judge by, no room, room too far, or no way there.

    ``searched`` tells what was found instead (see ``siting.candidates.without_candidate``).
    """
    rules, searched = context.rules, block.tables["searched"]
    ids = searched["lot_id"].to_numpy(dtype=object)
    assessed = _assessed(block, ids)
    blind = assessed == 0.0
    no_roof = ~blind & (searched["spouts"].to_numpy() == 0)
    away, reach = searched["away_m"].to_numpy(float), searched["reach_m"].to_numpy(float)
    roomy = ~blind & ~no_roof & np.isfinite(away)
    far, barred = roomy & (away > reach), roomy & (away <= reach)
    narrow = ~(blind | no_roof | roomy)
    widest = searched["widest_m"].to_numpy(float)
    needed = least_width_m(rules)
    fits = 2.0 * np.pi * np.maximum(0.5 * widest - rules.berm_ring_m, 0.0) ** 2
    takers = taken_words(block.tables.get("taken"), ids[narrow])
    least_m = in_detail(needed, "m", 1)
    across = [
        f"The widest open ground is {in_detail(w, 'm', 1)} across, a garden with its berms needs {least_m}."
        if w > 0.0
        else "No ground is open."
        for w in widest[narrow]
    ]
    words = [f"{w} {takers.get(lot, '')}" for lot, w in zip(ids[narrow], across, strict=True)]
    least = rules.ponding_area_least_m2
    return pd.concat(
        [
            rows_of(ids[blind], "not_assessed", RULES_OUT, assessed[blind], rules.assessed_least_share),
            rows_of(ids[no_roof], "no_roof", RULES_OUT, _largest_share(block, ids[no_roof]), rules.roof_share_least_m2),
            rows_of(ids[far], "no_reach", RULES_OUT, away[far], reach[far], near=(away <= 1.25 * reach)[far]),
            rows_of(ids[barred], "no_lead", RULES_OUT, away[barred], reach[barred]),
            rows_of(
                ids[narrow],
                "no_room",
                RULES_OUT,
                np.minimum(fits, 0.99 * least)[narrow],
                least,
                np.array(words, dtype=object),
                (widest >= needed - NEAR_WIDTH_M)[narrow],
            ),
        ],
        ignore_index=True,
    )


def _largest_share(block: Block, ids: Any) -> Any:
    """Largest that any roof share of each lot may be; none without a roof [m2]."""
    spouts = block.tables["downspouts"]
    return spouts["share_high_m2"].groupby(spouts["lot_id"]).max().reindex(ids).fillna(0.0).to_numpy(dtype=np.float64)


def least_width_m(rules: Rules) -> float:
    """Least width of a garden: of the narrowest shape of the least size, with its two berms [m]."""
    narrowest = max(rules.width_least_m, 2.0 * float(np.sqrt(rules.ponding_area_least_m2 / (np.pi * max(ASPECTS)))))
    return narrowest + 2.0 * rules.berm_ring_m


def taken_words(taken: Any | None, lot_ids: Any) -> dict[str, str]:
    """What takes most of the ground of these lots, as a sentence, by lot, from the table ``taken``."""
    if taken is None:
        return {}
    mine = taken[taken["lot_id"].isin(list(lot_ids)).to_numpy(dtype=bool)]
    order = mine.sort_values(["lot_id", "area_m2", "constraint"], ascending=[True, False, True], kind="stable")
    areas = round_half_up(order["area_m2"].astype("float64"), TAKEN_STEP_M2).tolist()
    words: dict[str, list[str]] = {}
    for lot, constraint, area in zip(order["lot_id"].tolist(), order["constraint"].tolist(), areas, strict=True):
        named = words.setdefault(str(lot), [])
        if len(named) < WORDS_MOST:
            named.append(f"{constraint} {in_detail(area, 'm2', 0)}")
    return {lot: f"Its ground is taken by {'; '.join(named)}." for lot, named in words.items()}


def taken_reasons(block: Block, lot_ids: Any) -> pd.DataFrame:
    """What takes the ground of these lots."""
    return taken_rows(block.tables.get("taken"), lot_ids)


def taken_rows(taken: Any | None, lot_ids: Any) -> pd.DataFrame:
    """What takes the ground of these lots, from the table ``taken``."""
    words = taken_words(taken, lot_ids)
    known = np.array([lot for lot in lot_ids if lot in words], dtype=object)
    return rows_of(known, "taken", NOTE, detail=np.array([words[lot] for lot in known], dtype=object))


def _assessed(block: Block, ids: Any) -> Any:
    """Share of lots with elevation; 1 where nobody measured it."""
    ground = block.tables.get("lot_ground")
    if ground is None:
        return np.ones(len(ids))
    share = ground.set_index("lot_id")["assessed_share"].reindex(ids)
    return pd.to_numeric(share).astype("Float64").to_numpy(dtype=np.float64, na_value=1.0)


def lot_reasons(block: Block, context: AreaContext) -> pd.DataFrame:
    """What is not known about a lot, whatever its spot."""
    ids = block.lots["lot_id"].to_numpy(dtype=object)
    parts = [rows_of(ids[:0], "trees_unknown", NOTE)]
    given = context.given
    if "trees" not in given and "surface" not in given:
        parts.append(rows_of(ids, "trees_unknown", NOTE))
    if "paved" not in given:
        parts.append(rows_of(ids, "paving_unknown", NOTE))
    if "buried" not in given:
        parts.append(rows_of(ids, "buried_unknown", NOTE))
    parts.append(_partly_assessed(block, context, ids))
    parts.append(_placed(block))
    parts.append(_stacked(block))
    parts.append(_street_unknown(block, ids))
    own = [lot for lot in ids if lot in context.own_rules]
    words = [own_words(context.own_rules[lot]) for lot in own]
    parts.append(rows_of(np.array(own, dtype=object), "own_rules", NOTE, detail=np.array(words, dtype=object)))
    if context.field is not None:
        parts.append(_field_reasons(context.field.reasons, ids))
    return pd.concat(parts, ignore_index=True)


def _partly_assessed(block: Block, context: AreaContext, ids: Any) -> pd.DataFrame:
    """Lots of which too little has elevation to be sure."""
    share, least = _assessed(block, ids), context.rules.assessed_least_share
    some = (share < least) & (share > 0.0)
    return rows_of(ids[some], "partly_assessed", LOOK_CLOSER, share[some], least)


def _street_unknown(block: Block, ids: Any) -> pd.DataFrame:
    """Lots whose street neither they nor the map tell."""
    ground = block.tables.get("lot_ground")
    if ground is None or "street" not in ground.columns:
        return rows_of(ids[:0], "street_unknown", NOTE)
    unknown = ground.set_index("lot_id")["street"].reindex(ids).isna().to_numpy(dtype=bool)
    given = "streets" in block.layers
    words = (
        f"none with a name within {in_detail(REACH_M, 'm', 0)} of it"
        if given
        else "it does not say, and no streets were given"
    )
    return rows_of(ids[unknown], "street_unknown", NOTE, detail=words)


def _placed(block: Block) -> pd.DataFrame:
    """Lots with downspouts that the tool placed: how many of how many."""
    spouts = block.tables["downspouts"]
    placed = spouts["placed"].fillna(True).astype(bool).groupby(spouts["lot_id"], sort=True)
    count, total = placed.sum(), placed.size()
    some = (count > 0).to_numpy()
    ids = count.index.to_numpy(dtype=object)
    return rows_of(ids[some], "downspouts_placed", NOTE, count.to_numpy(float)[some], total.to_numpy(float)[some])


def _stacked(block: Block) -> pd.DataFrame:
    """Lots that stand for others on their place."""
    lots = block.lots[block.lots["shared_with"].notna()]
    words = np.array(
        [_few([lot, *others.split(", ")]) for lot, others in zip(lots["lot_id"], lots["shared_with"], strict=True)],
        dtype=object,
    )
    return rows_of(lots["lot_id"].to_numpy(dtype=object), "stacked", NOTE, detail=words)


def _few(names: list[str], most: int = 6) -> str:
    """Some names, the first ones only where there are many."""
    return ", ".join(names) if len(names) <= most else f"{', '.join(names[:most])} and {len(names) - most} more"


def _field_reasons(reasons: pd.DataFrame, ids: Any) -> pd.DataFrame:
    """What the households of these lots said."""
    mine = reasons[reasons["lot_id"].isin(list(ids))].reset_index(drop=True)
    numbers = {name: mine[name].astype("float64") for name in ("measured", "limit")}
    near = np.zeros(len(mine), dtype=bool)
    return mine.assign(weight=mine["severity"].map(_WEIGHTS).astype("int64"), near=near, **numbers)

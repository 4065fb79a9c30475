"""What stands against a lot as a whole: nothing to catch, nowhere to dig, nothing to judge by; what is not known."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd

from screening.area import AreaContext, Block
from screening.siting.spot_limits import LOOK_CLOSER, NOTE, RULES_OUT, TEST_SOIL

__all__ = ["lot_reasons", "unfit_reasons"]

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
    """Why a lot has no candidate at all."""
    ids = block.lots["lot_id"].to_numpy(dtype=object)
    some = set(block.tables["candidates"]["lot_id"])
    none = np.array([lot not in some for lot in ids], dtype=bool)
    return rows_of(ids[none], "no_room", RULES_OUT, 0.0, context.rules.ponding_area_least_m2)


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
    if context.field is not None:
        parts.append(_field_reasons(context.field.reasons, ids))
    return pd.concat(parts, ignore_index=True)


def _field_reasons(reasons: pd.DataFrame, ids: Any) -> pd.DataFrame:
    """What the households of these lots said."""
    mine = reasons[reasons["lot_id"].isin(list(ids))].reset_index(drop=True)
    return mine.assign(weight=mine["severity"].map(_WEIGHTS).astype("int64"), near=False)

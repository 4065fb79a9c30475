"""How every limit stands on every lot: the spot, and the reasons behind the verdict."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd

from screening.area import AreaContext, Block, Tables
from screening.fields import REASONS, TABLES, round_half_up
from screening.siting.choose import choose_second, first_of_lots, reasons_of, severity_of
from screening.siting.lot_limits import lot_reasons, taken_reasons, unfit_reasons
from screening.siting.spot_limits import LOOK_CLOSER, RULES_OUT, TEST_SOIL, number

__all__ = ["judge"]

_COLUMNS: Final = ("lot_id", "code", "severity", "measured", "limit", "unit", "detail", "near")


def judge(block: Block, context: AreaContext) -> Tables:
    """Choose the spot of every lot of a block, and give the reasons for and against it.

    Parameters
    ----------
    block
        The block, with the tables ``candidates`` (soils and overflow filled in) and ``searched``.
    context
        The rules, and which layers were given.

    Returns
    -------
    dict
        ``candidates`` with ``chosen`` and ``second``, and ``reasons``: of each lot those of its spot; where every
        candidate is ruled out, those of the one that comes nearest; where there is none, what left none.
    """
    candidates = _rounded(block.tables["candidates"])
    reasons = reasons_of(candidates, context.rules)
    severity, heaviest = severity_of(reasons, len(candidates))
    first = first_of_lots(candidates, severity, heaviest)
    chosen = np.zeros(len(candidates), dtype=bool)
    chosen[first] = severity[first] < RULES_OUT
    row = reasons["row"].to_numpy(dtype=np.int64)
    # what only asks to look says nothing of a place that is ruled out
    idle = (severity[row] == RULES_OUT) & np.isin(reasons["weight"].to_numpy(), (LOOK_CLOSER, TEST_SOIL))
    reasons = reasons[np.isin(row, first) & ~idle]
    ids = candidates["lot_id"].to_numpy(dtype=object)
    reasons = reasons.assign(lot_id=ids[reasons["row"].to_numpy(dtype=np.int64)])
    out = ids[first][severity[first] == RULES_OUT]
    parts = [reasons, unfit_reasons(block, context), taken_reasons(block, out), lot_reasons(block, context)]
    second = choose_second(candidates, chosen, context.rules)
    return {"candidates": candidates.assign(chosen=chosen, second=second), "reasons": _ordered(block, parts)}


def _rounded(candidates: Any) -> Any:
    """Candidates in the steps that their numbers are told in, so that they can be judged anew from what is told."""
    steps = {field.name: field.step for field in TABLES["candidates"] if field.dtype == "number" and field.step}
    told = {name: step for name, step in steps.items() if name in candidates.columns}
    return candidates.assign(**{name: round_half_up(number(candidates, name), step) for name, step in told.items()})


def _ordered(block: Block, parts: list[pd.DataFrame]) -> pd.DataFrame:
    """Reasons in order of the lots, the heaviest first, then as the list of reasons has them."""
    table = pd.concat([part for part in parts if len(part)] or parts[:1], ignore_index=True)
    number, codes = pd.factorize(table["code"])
    table["unit"] = np.array([REASONS[name].unit for name in codes], dtype=object)[number]
    place = {name: position for position, name in enumerate(REASONS)}
    lot = pd.Series(np.arange(len(block.lots)), index=block.lots["lot_id"].to_numpy())
    order = np.lexsort(
        (
            np.array([place[name] for name in codes], dtype=np.int64)[number],
            -table["weight"].to_numpy(dtype=np.int64),
            table["lot_id"].map(lot).to_numpy(dtype=np.int64),
        )
    )
    return table.iloc[order][list(_COLUMNS)].reset_index(drop=True)

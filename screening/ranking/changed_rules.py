"""The lots of a run judged anew under changed rules, choosing among the candidates that the run kept.

What the map does when somebody moves a limit: no search, no draws, no year. Chances, what follows from them, and the
year's water stay the run's; all else is what the run itself would say of the same candidates, by the same functions.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import numpy as np
import pandas as pd

from screening.fields import REASONS, SEVERITIES, TABLES, conform
from screening.lot_rules import OwnRules, rule_sets, rules_of
from screening.places import first_lots
from screening.ranking.lot_rows import with_spots
from screening.ranking.score import score_lots
from screening.ranking.sentences import lot_reasons
from screening.ranking.verdict import verdicts
from screening.rules import Rules
from screening.siting.choose import choose_second, first_of_lots, reasons_of, severity_of
from screening.siting.lot_limits import taken_rows
from screening.siting.resized import resized
from screening.siting.soil_limits import SOIL_LIMITS
from screening.siting.spot_limits import LIMITS, LOOK_CLOSER, RULES_OUT, TEST_SOIL, number
from screening.water.storm import garden_storm, of_both

__all__ = ["FROM_RUN", "LIVE_RULES", "changed", "live_range", "rejudged", "spot_codes", "with_verdicts"]

LIVE_RULES: Final = (
    "capture_depth_mm",
    "capture_depth_least_mm",
    "slope_limit_pct",
    "slope_look_pct",
    "visits",
    "visits_of_street_most",
)
"""Rules, besides the weights, under which lots can be judged anew without a search."""

FROM_RUN: Final = (
    "chance_feasible",
    "chance_in_first",
    "rank_low",
    "rank_high",
    "year_runoff_m3",
    "year_captured_m3",
    "year_kept_m3",
)
"""Columns of the lots that stay the run's."""


def spot_codes(candidates: Any, rules: Rules) -> tuple[str, ...]:
    """Codes of the reasons that are a candidate's; the others are the lot's as a whole."""
    none = candidates.iloc[:0]
    return tuple(limit(none, rules).code for limit in (*LIMITS, *SOIL_LIMITS))


def live_range(rule: str, rules: Rules) -> tuple[float, float]:
    """Least and most of a live rule: within it the candidates that a run under ``rules`` kept tell enough.

    Gardens of any depth can be sized on them, as their room is known. Ground steeper than the limit and its error was
    never searched.
    """
    if rule == "capture_depth_mm":
        return 5.0, max(2.0 * rules.capture_depth_mm, 50.0)
    if rule == "slope_limit_pct":
        return 1.0, rules.slope_limit_pct + 2.0 * rules.slope_error_pct
    return 0.0, 100000.0


def changed(rules: Rules, **wanted: Any) -> Rules:
    """Rules with some changed, and those that may not lie above them drawn along."""
    new = dict(wanted)
    for least, most in (("capture_depth_least_mm", "capture_depth_mm"), ("slope_look_pct", "slope_limit_pct")):
        if most in new and least not in new:
            new[least] = min(getattr(rules, least), new[most])
    return rules.model_copy(update=new)


def with_verdicts(lots: Any, reasons: pd.DataFrame, rules: Rules) -> Any:
    """The lots table with verdicts, sentences, scores and ranks, from its reasons."""
    out = lots.copy()
    found = verdicts(out["lot_id"], reasons)
    for column in ("verdict", "deciding_limit", "near_pass", "next_step"):
        out[column] = found[column].to_numpy()
    out["reasons"] = lot_reasons(out["lot_id"], reasons).to_numpy()
    return conform(score_lots(out, rules), TABLES["lots"])


def rejudged(
    tables: Mapping[str, Any], before: Rules, rules: Rules, own_rules: OwnRules | None = None
) -> dict[str, Any]:
    """Judge the lots of a run anew.

    Parameters
    ----------
    tables
        Of the run: ``lots``, ``candidates``, ``reasons``, ``taken`` and ``soil_lots``.
    before
        The rules of the run.
    rules
        The same but for ``LIVE_RULES`` and the weights.
    own_rules
        Rules of single lots, which hold there before and after.

    Returns
    -------
    dict
        The tables with ``lots``, ``candidates`` and ``reasons`` anew; ``FROM_RUN`` as they were.

    Raises
    ------
    ValueError
        When another rule differs.
    """
    strange = [
        name
        for name in Rules.model_fields
        if getattr(before, name) != getattr(rules, name) and name not in LIVE_RULES and not name.startswith("weight_")
    ]
    if strange:
        raise ValueError(f"not to be changed without a new run: {', '.join(strange)}")
    own_rules = own_rules or {}
    candidates = _resized(tables["candidates"], before, rules, own_rules)
    lots = first_lots(tables["lots"])
    found = reasons_of(candidates, rules, own_rules)
    severity, heaviest = severity_of(found, len(candidates))
    first = first_of_lots(candidates, severity, heaviest)
    chosen = np.zeros(len(candidates), dtype=bool)
    chosen[first] = severity[first] < RULES_OUT
    second = np.zeros(len(candidates), dtype=bool)
    for rows, mine in rule_sets(candidates["lot_id"], rules, own_rules):
        second[rows] = choose_second(candidates.iloc[rows].reset_index(drop=True), chosen[rows], mine)
    candidates = candidates.assign(chosen=chosen, second=second)
    candidates = conform(candidates, TABLES["candidates"])
    reasons = _reasons(tables, candidates, found, severity, first, spot_codes(candidates, rules))
    lots = with_spots(lots, candidates, tables["soil_lots"])
    water = _storm(lots, candidates, "chosen", rules)
    if second.any():
        water = of_both(water, _storm(lots, candidates, "second", rules))
    for column in ("storm_captured_m3", "storm_kept_m3", "storm_run_on_held_m3"):
        lots[column] = water[column].to_numpy()
    lots = with_verdicts(conform(lots, TABLES["lots"]), reasons, rules)
    return {**tables, "lots": lots, "candidates": candidates, "reasons": reasons}


def _resized(candidates: Any, before: Rules, rules: Rules, own_rules: OwnRules) -> Any:
    """Candidates sized anew, each by the rules of its lot."""
    parts = []
    for rows, mine in rule_sets(candidates["lot_id"], rules, own_rules):
        lot = str(candidates["lot_id"].iloc[rows[0]]) if len(rows) else ""
        parts.append(resized(candidates.iloc[rows], rules_of(lot, before, own_rules), mine))
    return pd.concat(parts).sort_index() if len(parts) > 1 else parts[0]


def _storm(lots: Any, candidates: Any, mark: str, rules: Rules) -> pd.DataFrame:
    """Storm of the gardens that bear a mark, one row a lot, by figures as exact as the candidates have them."""
    gardens = candidates[candidates[mark].to_numpy(dtype=bool)].set_index("lot_id").reindex(lots["lot_id"])
    return garden_storm(
        number(lots, "storm_runoff_m3"),
        number(gardens, "draining_area_m2"),
        number(gardens, "capture_depth_mm"),
        number(gardens, "kept_share"),
        rules,
        run_on_m3=number(gardens, "run_on_m3") if rules.run_on else None,
    )


def _reasons(
    tables: Mapping[str, Any], candidates: Any, found: Any, severity: Any, first: Any, codes: tuple[str, ...]
) -> Any:
    """Reasons of every lot: of its first candidate, and what holds whatever its spot."""
    row = found["row"].to_numpy(dtype=np.int64)
    idle = (severity[row] == RULES_OUT) & np.isin(found["weight"].to_numpy(), (LOOK_CLOSER, TEST_SOIL))
    own = found[np.isin(row, first) & ~idle]
    ids = candidates["lot_id"].to_numpy(dtype=object)
    own = own.assign(lot_id=ids[own["row"].to_numpy(dtype=np.int64)])
    out = ids[first][severity[first] == RULES_OUT]
    before = tables["reasons"]
    judged = before["lot_id"].isin(set(ids.tolist()))
    stays = ~(judged & before["code"].isin((*codes, "taken")))
    # draws are the run's, and say something only of ground that is not ruled out
    stays &= ~((before["code"] == "chance") & before["lot_id"].isin(set(out.tolist())))
    parts = [before[stays], own, taken_rows(tables["taken"], out)]
    both = pd.concat([part.astype(object) for part in parts if len(part)] or [before.astype(object)], ignore_index=True)
    both["unit"] = [REASONS[code].unit for code in both["code"]]
    place = {lot: at for at, lot in enumerate(first_lots(tables["lots"])["lot_id"])}
    order = {code: at for at, code in enumerate(REASONS)}
    weight = {name: at for at, name in enumerate(SEVERITIES)}
    keys = (both["code"].map(order), both["severity"].map(weight), both["lot_id"].map(place))
    columns = [field.name for field in TABLES["reasons"]]
    rows = both.iloc[np.lexsort([key.to_numpy(dtype=np.int64) for key in keys])][columns]
    return conform(rows, TABLES["reasons"])

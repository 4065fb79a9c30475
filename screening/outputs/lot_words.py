"""Everything about one lot, whatever its rank, in words."""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from typing import Any, Final

import pandas as pd

from screening.errors import BadInput, Fault
from screening.fields import REASONS, SEVERITIES, TABLES
from screening.outputs.cautions import OTHER_HELP, SHORT_CAUTION
from screening.ranking.sentences import Units, amount, sentence

__all__ = ["NO_PLACE", "lot_words"]

NO_PLACE: Final = "no garden place found from maps"
"""What a household is told in place of a verdict against it."""

_FACTS: Final = (
    "lot_area_m2", "roof_area_m2", "paved_area_m2", "open_ground_m2", "downspouts", "downspouts_placed",
    "drain_reach_share", "hsg", "hsg_share", "hsg_spot", "hsg_source", "ksat_source", "slope_lot_pct",
    "slope_spot_pct", "water_table_m", "bedrock_m", "spot_side", "ponding_area_m2", "footprint_m2",
    "draining_area_m2", "capture_depth_mm", "eligible", "lead", "fall_m", "fall_needed_m", "run_m", "overflow_to",
    "storm_runoff_m3", "storm_captured_m3", "storm_kept_m3", "year_runoff_m3", "year_captured_m3", "year_kept_m3",
    "assessed_share",
)  # fmt: skip


def lot_words(tables: Mapping[str, Any], lot_id: str, units: Units = "metric") -> list[str]:
    """Tell in lines what a run found about one lot.

    Parameters
    ----------
    tables
        The run's tables.
    lot_id
        The lot.
    units
        Units of the reasons' numbers; facts stay metric.

    Raises
    ------
    BadInput
        When there is no such lot.
    """
    lots = pd.DataFrame(tables["lots"])
    found = lots[lots["lot_id"] == lot_id]
    if not len(found):
        near = get_close_matches(lot_id, lots["lot_id"].tolist(), n=3, cutoff=0.5)
        mend = f"Did you mean {', '.join(near)}" if near else "Write the id as the lots layer has it"
        raise BadInput([Fault(f"No lot {lot_id!r} in this run", mend)])
    lot = found.iloc[0].to_dict()
    reasons = pd.DataFrame(tables["reasons"])
    reasons = reasons[reasons["lot_id"] == lot_id]
    out = [
        *_head(lot),
        *_reason_lines(reasons, units),
        "What was measured:",
        *_fact_lines(lot),
        *_candidate_lines(tables["candidates"], lot_id, units),
        *_season_lines(tables.get("season"), lot_id),
        *_household(lot, reasons),
        SHORT_CAUTION,
    ]
    return out


def _known(value: Any) -> bool:
    return value is not None and not pd.isna(value)


def _head(lot: Mapping[str, Any]) -> list[str]:
    where = ", ".join(str(lot[name]) for name in ("address", "street", "zone") if _known(lot[name]))
    lines = [f"Lot {lot['lot_id']}" + (f": {where}" if where else "")]
    score = f", score {int(lot['score']) // 100}" if _known(lot["score"]) else ""
    rank = f", rank {int(lot['rank'])}" if _known(lot["rank"]) else ", no rank"
    lines.append(f"For staff: {lot['verdict']}{score}{rank}.")
    if _known(lot["next_step"]):
        lines.append(f"Next step: {lot['next_step']}.")
    if _known(lot["contact_status"]):
        lines.append(f"Status: {lot['contact_status']}.")
    return lines


def _reason_lines(reasons: pd.DataFrame, units: Units) -> list[str]:
    """Reasons under their severity, the heaviest first."""
    lines = []
    for severity in SEVERITIES:
        rows = reasons[reasons["severity"] == severity]
        if len(rows):
            lines.append(
                {"note": "To know:", "rules out": "Stands against it:"}.get(severity, f"To settle ({severity}):")
            )
        for row in rows.itertuples():
            unit = row.unit if _known(row.unit) else ""
            lines.append(f"  {sentence(REASONS[row.code], row.measured, row.limit, unit, row.detail, units)}")
    return lines


def _fact_lines(lot: Mapping[str, Any]) -> list[str]:
    """Known columns with what they mean."""
    fields = {field.name: field for field in TABLES["lots"]}
    lines = []
    for name in _FACTS:
        if _known(lot[name]):
            value = lot[name]
            shown = {True: "yes", False: "no"}[bool(value)] if fields[name].dtype == "flag" else f"{value}"
            unit = fields[name].unit if fields[name].unit not in ("0 to 1",) else "of 1"
            lines.append(f"  {fields[name].meaning.rstrip('.')}: {shown} {unit}".rstrip())
    return lines


def _candidate_lines(candidates: Any, lot_id: str, units: Units) -> list[str]:
    """Every place that was kept."""
    rows = candidates[candidates["lot_id"] == lot_id]
    if not len(rows):
        return ["Places kept: none."]
    lines = [f"Places kept: {len(rows)}."]
    for row in rows.itertuples():
        chosen = "the spot" if _known(row.chosen) and row.chosen else "another"
        lines.append(
            f"  {row.candidate} ({chosen}): {row.side}, ponding {amount(row.ponding_area_m2, 'm2', units)} for "
            f"{amount(row.draining_area_m2, 'm2', units)} of roof, fall {amount(row.fall_m, 'm', units)} "
            f"({amount(row.fall_needed_m, 'm', units)} needed), lead {row.lead} {amount(row.run_m, 'm', units)}, "
            f"overflow to {row.overflow_to}"
        )
    return lines


def _season_lines(season: Any | None, lot_id: str) -> list[str]:
    """What was done in the field."""
    if season is None:
        return []
    rows = pd.DataFrame(season)
    rows = rows[rows["lot_id"] == lot_id]
    if not len(rows):
        return []
    row = rows.iloc[0]
    skipped = ("lot_id", "contact_status", "geometry")
    known = [field for field in TABLES["season"] if field.name not in skipped and _known(row[field.name])]
    return ["In the field:"] + [
        f"  {field.meaning.rstrip('.')}: {row[field.name]} {field.unit}".rstrip() for field in known
    ]


def _household(lot: Mapping[str, Any], reasons: pd.DataFrame) -> list[str]:
    """What to tell the household."""
    if lot["verdict"] != "ruled out":
        return ["For the household: a garden place was found from maps; a visit must confirm it."]
    heads = dict.fromkeys(
        REASONS[code].head.lower() for code in reasons.loc[reasons["severity"] == "rules out", "code"]
    )
    return [
        f"For the household: {NO_PLACE} (looked at: {', '.join(heads)}). A visit can still find one.",
        "What else could help:",
        *(f"  {thing}" for thing in OTHER_HELP),
    ]

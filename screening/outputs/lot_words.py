"""Everything about one lot, whatever its rank, in words."""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from typing import Any, Final

import pandas as pd

from screening.errors import BadInput, Fault
from screening.fields import REASONS, SEVERITIES, TABLES, Field
from screening.outputs.cautions import OTHER_HELP, SHORT_CAUTION
from screening.outputs.code_words import SOURCES, STEPS, lead_kinds, lead_ways
from screening.outputs.reader_units import amount_text
from screening.ranking.sentences import Units, amount, sentence
from screening.units import shown_score

__all__ = ["NO_PLACE", "lot_words"]

NO_PLACE: Final = "no garden place found from maps"
"""What a household is told in place of a verdict against it."""

_FACTS: Final[dict[str, str]] = {
    "lot_area_m2": "Lot",
    "roof_area_m2": "Roofs, in plan",
    "paved_area_m2": "Drives, walks and patios",
    "open_ground_m2": "Ground where digging is allowed",
    "downspouts": "Downspouts",
    "downspouts_placed": "Of these, guesses of the tool",
    "drain_reach_share": "Share of the roof water that reaches the drain today",
    "hsg": "Soil group of the lot",
    "hsg_spot": "Soil group at the spot",
    "hsg_source": "Group known by",
    "ksat_spot_um_s": "Design conductivity at the spot",
    "ksat_source": "Conductivity known by",
    "water_table_m": "Water table at the spot",
    "bedrock_m": "Bedrock at the spot",
    "slope_lot_pct": "Mean slope of the open ground",
    "slope_spot_pct": "Slope at the spot",
    "spot_side": "Side of the lot",
    "ponding_area_m2": "Ponding area",
    "footprint_m2": "Ponding area and berm",
    "draining_area_m2": "Roof and paving led to it",
    "capture_depth_mm": "Depth of rain held",
    "eligible": "Meets the programme's minimum",
    "lead": "Leads",
    "fall_m": "Fall",
    "fall_needed_m": "Fall needed",
    "run_m": "Longest lead",
    "overflow_to": "Overflow to",
    "storm_runoff_m3": "Shed in the storm",
    "storm_captured_m3": "Captured in the storm",
    "storm_kept_m3": "Of this, kept out of the drain",
    "run_on_m2": "Ground that drains in over the lip",
    "run_on_curve_number": "Its curve number, as lawn",
    "storm_run_on_m3": "Lawn water that runs on in the storm",
    "storm_run_on_held_m3": "Of this, held; credited to nobody",
    "year_runoff_m3": "Shed in a mean year",
    "year_captured_m3": "Captured in a mean year",
    "year_kept_m3": "Of this, kept out of the drain in a mean year",
    "assessed_share": "Share of the lot with elevation",
    "chance_feasible": "Chance that a garden can be built",
}
_FIELD: Final[dict[str, str]] = {
    "approached": "Approached",
    "answered": "Answered",
    "visited": "Visited",
    "tests": "Soil tests",
    "levels": "Ground at the spot below the house",
    "answers": "The household said",
    "consents": "Consents",
    "ticket": "Utility locating ticket",
    "applied": "Applied",
    "approved": "Approved before digging",
    "built": "Built",
    "inspected": "Inspected",
    "paid": "Paid",
    "built_ponding_area_m2": "Ponding area as built",
    "built_ponding_depth_mm": "Ponding depth as built",
    "built_bed_depth_mm": "Bed depth as built",
    "built_area_treated_m2": "Roof and paving connected as built",
    "built_native_share": "Native share of the plants as built",
    "built_capture_depth_mm": "Depth of rain held as built",
    "built_storm_captured_m3": "Captured in the storm as built",
    "built_storm_kept_m3": "Of this, kept out of the drain",
    "built_year_captured_m3": "Captured in a mean year as built",
    "built_year_kept_m3": "Of this, kept out of the drain in a mean year",
    "outfall": "Outfall",
}


def lot_words(tables: Mapping[str, Any], lot_id: str, units: Units = "metric") -> list[str]:
    """Tell in lines what a run found about one lot.

    Parameters
    ----------
    tables
        The run's tables.
    lot_id
        The lot.
    units
        Units of the numbers.

    Raises
    ------
    BadInput
        When there is no such lot.
    """
    lots = pd.DataFrame(tables["lots"])
    found = lots[lots["lot_id"] == lot_id]
    if not len(found):
        near = get_close_matches(lot_id, lots["lot_id"].tolist(), n=3, cutoff=0.5)
        mend = f"Did you mean {' or '.join(near)}?" if near else "Write the id as the lots layer has it"
        raise BadInput([Fault(f"No lot {lot_id!r} in this run", mend)])
    lot = found.iloc[0].to_dict()
    if isinstance(lot["place"], str) and lot["place"] != lot_id:
        stands = f"Lot {lot_id} lies on the place of lot {lot['place']}, which stands for it:"
        return [stands, *lot_words(tables, lot["place"], units)]
    reasons = pd.DataFrame(tables["reasons"])
    reasons = reasons[reasons["lot_id"] == lot_id]
    out = [
        *_head(lot),
        *_reason_lines(reasons, units),
        "What was measured:",
        *_fact_lines(_in_words(lot, tables), "lots", _FACTS, units),
        *_candidate_lines(tables, lot_id, units),
        *_season_lines(tables.get("season"), lot_id, units),
        *_household(lot, reasons),
        SHORT_CAUTION,
    ]
    return out


def _leads(tables: Mapping[str, Any], lot_id: str) -> dict[int, list[Any]]:
    """Codes of the leads to each place of a lot, by the place's number."""
    rows = pd.DataFrame(tables["leads"])
    rows = rows[rows["lot_id"] == lot_id]
    return {int(number): own["lead"].tolist() for number, own in rows.groupby("candidate")}


def _in_words(lot: Mapping[str, Any], tables: Mapping[str, Any]) -> dict[str, Any]:
    """The lot's row with its codes as people read them."""
    out = dict(lot)
    for name in ("hsg_source", "ksat_source"):
        if _known(lot[name]):
            out[name] = SOURCES.get(lot[name], lot[name])
    if _known(lot["lead"]):
        places = pd.DataFrame(tables["candidates"])
        spot = places.loc[(places["lot_id"] == lot["lot_id"]) & places["chosen"].fillna(False), "candidate"]
        codes = _leads(tables, lot["lot_id"])
        led = [code for number in spot.tolist() for code in codes.get(int(number), [])]
        out["lead"] = lead_kinds(led or [lot["lead"]])
    return out


def _known(value: Any) -> bool:
    return value is not None and not pd.isna(value)


def _head(lot: Mapping[str, Any]) -> list[str]:
    parts = [str(lot[name]) for name in ("address", "street", "zone") if _known(lot[name])]
    where = ", ".join(part for at, part in enumerate(parts) if not any(part in longer for longer in parts[:at]))
    lines = [f"Lot {lot['lot_id']}" + (f": {where}" if where else "")]
    score = f", score {shown_score(lot['score'])}" if _known(lot["score"]) else ""
    rank = f", rank {int(lot['rank'])}" if _known(lot["rank"]) else ", no rank"
    lines.append(f"For staff: {lot['verdict']}{score}{rank}.")
    if _known(lot["next_step"]):
        lines.append(f"Next step: {STEPS.get(lot['next_step'], lot['next_step'])}.")
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


def _fact_lines(row: Mapping[str, Any], table: str, labels: Mapping[str, str], units: Units) -> list[str]:
    """Known values under their labels."""
    fields = {field.name: field for field in TABLES[table]}
    lines = []
    for name, label in labels.items():
        if _known(row[name]):
            field, value = fields[name], row[name]
            if field.dtype == "flag":
                shown = "yes" if value else "no"
            elif field.dtype == "number":
                shown = amount_text(value, field.unit, units, _decimals(field, units))
            else:
                shown = str(value)
            lines.append(f"  {label}: {shown}")
    return lines


def _decimals(field: Field, units: Units) -> int | None:
    """A fall to the hundredth in every unit, lengths and water no finer than they are known; None for all else."""
    if field.name in ("fall_m", "fall_needed_m"):
        return 2
    return 1 if units == "metric" and field.unit in ("m", "m3") and field.step == 0.1 else None


def _candidate_lines(tables: Mapping[str, Any], lot_id: str, units: Units) -> list[str]:
    """Every place that was kept."""
    candidates, leads = tables["candidates"], _leads(tables, lot_id)
    rows = candidates[candidates["lot_id"] == lot_id]
    if not len(rows):
        return ["Places kept: none."]
    lines = [f"Places kept: {len(rows)}."]
    for row in rows.itertuples():
        chosen = "the spot" if _known(row.chosen) and row.chosen else "another"
        led = leads.get(int(row.candidate), [])
        side = f"{row.side}, " if _known(row.side) else ""
        fall, needed = (amount_text(m, "m", units, 2) or "unknown" for m in (row.fall_m, row.fall_needed_m))
        run = f"{'led at most' if len(led) > 1 else 'led'} {amount(row.run_m, 'm', units)}"
        lines.append(
            f"  {row.candidate} ({chosen}): {side}ponding {amount(row.ponding_area_m2, 'm2', units)} for "
            f"{amount(row.draining_area_m2, 'm2', units)} of roof, fall {fall} "
            f"({needed} needed), {run} {lead_ways(led or [row.lead])}, "
            f"overflow to {row.overflow_to}{_bound(row.kept_share)}"
        )
    return lines


def _bound(kept_share: Any) -> str:
    """How much of what a place takes is otherwise bound for the drain, which is what it is chosen by."""
    return f", {100 * kept_share:.0f}% of its water now bound for the drain" if _known(kept_share) else ""


def _season_lines(season: Any | None, lot_id: str, units: Units) -> list[str]:
    """What was done in the field."""
    if season is None:
        return []
    rows = pd.DataFrame(season)
    rows = rows[rows["lot_id"] == lot_id]
    if not len(rows):
        return []
    return ["In the field:", *_fact_lines(rows.iloc[0].to_dict(), "season", _FIELD, units)]


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

"""What households said: each question's last answer, and the reasons that follow."""

from __future__ import annotations

from typing import Any, Final

import pandas as pd
import shapely

from screening.area import Area

__all__ = ["QUESTIONS", "answer_reasons", "last_answers"]

QUESTIONS: Final = ("owner", "association", "basement", "sump", "wet_spots", "septic", "sprinklers", "pipes")
Row = tuple[str, str, str, str]
"""Lot, code, severity, detail."""

REASON_COLUMNS: Final = ("lot_id", "code", "severity", "measured", "limit", "detail")


def last_answers(results: pd.DataFrame, question: str) -> dict[str, Any]:
    """Last answer to a question, by lot; lots that gave none are left out."""
    calls = results[(results["what"] == "call") & results[question].notna()]
    last = calls.drop_duplicates("lot_id", keep="last")
    return dict(zip(last["lot_id"], last[question], strict=True))


def answer_reasons(results: pd.DataFrame, area: Area) -> pd.DataFrame:
    """Reasons from calls and consents.

    A visit or a soil test after the call settles a wet spot, a test a sump pump: they turn into notes. An owner's or an
    association's consent settles theirs. A septic system that is on a map settles itself by its setback.

    Returns
    -------
    pandas.DataFrame
        ``lot_id, code, severity, measured, limit, detail``.
    """
    consents = _consents(results)
    rows = [
        *_agreement_rows(results, consents),
        *_water_rows(results),
        *_septic_rows(results, area),
        *_note_rows(results),
        *[
            (lot, "consent_given" if given else "consent_refused", "note" if given else "look closer", whose)
            for (lot, whose), given in consents.items()
        ],
    ]
    table = pd.DataFrame(rows, columns=["lot_id", "code", "severity", "detail"])
    return table.assign(measured=float("nan"), limit=float("nan"))[list(REASON_COLUMNS)]


def _agreement_rows(results: pd.DataFrame, consents: dict[tuple[str, str], bool]) -> list[Row]:
    """Owners and associations that must agree and have not yet."""
    tenants = [lot for lot, owns in last_answers(results, "owner").items() if not owns]
    bound = [lot for lot, yes in last_answers(results, "association").items() if yes]
    asked = [(lot, "owner") for lot in tenants] + [(lot, "association") for lot in bound]
    return [(lot, whose, "look closer", "") for lot, whose in asked if not consents.get((lot, whose))]


def _water_rows(results: pd.DataFrame) -> list[Row]:
    """Ground water and wet ground that the household knows."""
    seen, tested = _lots_of(results, ("visit", "test", "level")), _lots_of(results, ("test",))
    pumped = [lot for lot, yes in last_answers(results, "sump").items() if yes]
    rows: list[Row] = [(lot, "sump", "note" if lot in tested else "test soil", "") for lot in pumped]
    for lot, where in last_answers(results, "wet_spots").items():
        if where.lower() not in ("no", "n", "none"):
            words = "place not told" if where.lower() in ("yes", "y") else where
            rows.append((lot, "wet_spots", "note" if lot in seen else "look closer", words))
    return rows


def _septic_rows(results: pd.DataFrame, area: Area) -> list[Row]:
    """Septic systems that no map shows."""
    mapped = _mapped_septic(area)
    told = last_answers(results, "septic")
    return [(lot, "septic_told", "look closer", "") for lot, yes in told.items() if yes and lot not in mapped]


def _note_rows(results: pd.DataFrame) -> list[Row]:
    """What to know before digging."""
    return [
        (lot, code, "note", "")
        for question, code in (("sprinklers", "sprinklers"), ("pipes", "piped"))
        for lot, yes in last_answers(results, question).items()
        if yes
    ]


def _consents(results: pd.DataFrame) -> dict[tuple[str, str], bool]:
    """Last word of each party on each lot."""
    rows = results[results["what"] == "consent"].drop_duplicates(["lot_id", "consent_of"], keep="last")
    return {
        (lot, whose): bool(given)
        for lot, whose, given in zip(rows["lot_id"], rows["consent_of"], rows["consent"], strict=True)
    }


def _lots_of(results: pd.DataFrame, events: tuple[str, ...]) -> set[str]:
    """Lots on which one of these happened on or after their last call."""
    calls = results[results["what"] == "call"]
    last_call = dict(zip(calls["lot_id"], calls["date"], strict=True))
    rows = results[results["what"].isin(events)]
    return {
        str(lot) for lot, day in zip(rows["lot_id"], rows["date"], strict=True) if str(day) >= last_call.get(lot, "")
    }


def _mapped_septic(area: Area) -> set[str]:
    """Lots with a septic system on the map."""
    if not area.given("septic") or not len(area.layers["septic"]):
        return set()
    lots = area.layers["lots"]
    tree = shapely.STRtree(area.layers["septic"].geometry.to_numpy())
    rows, _ = tree.query(lots.geometry.to_numpy(), predicate="intersects")
    return set(lots["lot_id"].iloc[rows])

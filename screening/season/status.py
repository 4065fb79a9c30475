"""How far each lot has come: one row a lot from all its events."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import pandas as pd

from screening.season.answers import QUESTIONS

__all__ = ["contact_status", "season_lines", "season_rows"]

NEVER: Final = "not to be contacted"
_BEFORE: Final = (("test", "tested"), ("visit", "visited"), ("level", "visited"), ("call", "answered"),
                  ("approach", "approached"))  # fmt: skip
_STATUS_DATES: Final = {"applied": "applied", "approved before digging": "approved", "paid": "paid"}


def contact_status(events: pd.DataFrame) -> str | None:
    """How far one lot has come.

    Parameters
    ----------
    events
        Its rows of the field results, in order of date.

    Returns
    -------
    str or None
        ``not to be contacted`` once that was ever said; else the last status or as-built row; else the furthest of
        tested, visited, answered and approached.
    """
    statuses = events["status"].where(events["what"] == "status", None).where(events["what"] != "built", "built")
    said = [status for status in statuses if isinstance(status, str)]
    if NEVER in said:
        return NEVER
    if said:
        return said[-1]
    happened = set(events["what"])
    return next((word for what, word in _BEFORE if what in happened), None)


def season_rows(results: pd.DataFrame, tests: pd.DataFrame) -> pd.DataFrame:
    """One row for each lot with a field result, in order of ``lot_id``; water and geometry still missing.

    Parameters
    ----------
    results
        As ``inputs.field_file`` reads them.
    tests
        Of ``reduce.soil_tests``, in the same order.
    """
    rates = dict(tests.groupby("lot_id", sort=False)["test_ksat_um_s"].apply(list)) if len(tests) else {}
    rows = [
        _lot_row(str(lot), events, rates.get(lot, []))
        for lot, events in results.groupby("lot_id", sort=False)
    ]  # fmt: skip
    table = (
        pd.DataFrame(rows)
        if rows
        else pd.DataFrame({name: pd.Series(dtype=object) for name in ("lot_id", "contact_status")})
    )
    return table.sort_values("lot_id", kind="stable").reset_index(drop=True)


def _lot_row(lot: str, events: pd.DataFrame, rates_um_s: list[float]) -> dict[str, Any]:
    """Everything that happened on one lot."""
    row: dict[str, Any] = {
        "lot_id": lot,
        "contact_status": contact_status(events),
        "approached": _first(events, "approach", "call", "visit"),
        "answered": _first(events, "call"),
        "visited": _first(events, "visit", "test", "level"),
        "tested": _last(events, "test"),
        "built": _last(events, "built") or _status_date(events, "built"),
        "inspected": " ".join(events.loc[events["status"] == "inspected", "date"]) or None,
        "answers": _answers(events),
        "tests": _tests(events, rates_um_s),
        "levels": " ".join(f"{drop:.2f}" for drop in _of(events, "level").eval("at_spot - at_house")) or None,
        "consents": _consents(events),
        "ticket": " ".join(_of(events, "ticket")["ticket"]) or None,
        **_as_built(events),
    }
    for status, column in _STATUS_DATES.items():
        row[column] = _status_date(events, status)
    return row


def _of(events: pd.DataFrame, *what: str) -> pd.DataFrame:
    return events[events["what"].isin(what)]


def _first(events: pd.DataFrame, *what: str) -> str | None:
    dates = _of(events, *what)["date"]
    return str(dates.iloc[0]) if len(dates) else None


def _last(events: pd.DataFrame, *what: str) -> str | None:
    dates = _of(events, *what)["date"]
    return str(dates.iloc[-1]) if len(dates) else None


def _status_date(events: pd.DataFrame, status: str) -> str | None:
    dates = events.loc[(events["what"] == "status") & (events["status"] == status), "date"]
    return str(dates.iloc[0]) if len(dates) else None


def _answers(events: pd.DataFrame) -> str | None:
    """Each question's last answer, in words."""
    calls = _of(events, "call")
    said = {name: calls[name].dropna() for name in QUESTIONS}
    words = {True: "yes", False: "no"}
    parts = [
        f"{name.replace('_', ' ')}: {words.get(values.iloc[-1], values.iloc[-1])}"
        for name, values in said.items()
        if len(values)
    ]
    return "; ".join(parts) or None


def _tests(events: pd.DataFrame, rates_um_s: list[float]) -> str | None:
    """Hours of each filling and the rate found."""
    parts = []
    for test, rate in zip(_of(events, "test").to_dict("records"), rates_um_s, strict=True):
        hours = [test[f"fill_{number}_h"] for number in range(1, 5)]
        shown = ", ".join(f"{value:g}" for value in hours if not pd.isna(value))
        parts.append(f"{shown} h: {3.6 * rate:.1f} mm/h")
    return "; ".join(parts) or None


def _consents(events: pd.DataFrame) -> str | None:
    rows = _of(events, "consent").drop_duplicates("consent_of", keep="last")
    parts = [f"{w}: {'given' if g else 'refused'}" for w, g in zip(rows["consent_of"], rows["consent"], strict=True)]
    return "; ".join(parts) or None


def _as_built(events: pd.DataFrame) -> Mapping[str, Any]:
    """Figures of the last as-built row; a later row corrects an earlier one."""
    rows = _of(events, "built")
    if not len(rows):
        return {}
    last = rows.iloc[-1]
    return {
        "built_ponding_area_m2": last["ponding_area"],
        "built_ponding_depth_mm": 1000.0 * last["ponding_depth"],
        "built_bed_depth_mm": 1000.0 * last["bed_depth"],
        "built_area_treated_m2": last["area_treated"],
        "built_native_share": last["native_share"],
        "outfall": last["outfall"],
        "built_x_m": last["x_m"],
        "built_y_m": last["y_m"],
    }


def season_lines(rows: pd.DataFrame) -> list[str]:
    """What field results tell of each lot, one line a lot."""
    lines = [f"{len(rows)} {'lot' if len(rows) == 1 else 'lots'} with field results"]
    for row in rows.to_dict("records"):
        names = ("answers", "tests", "levels", "consents", "ticket", "built")
        told = [f"{name} {row[name]}" for name in names if isinstance(row.get(name), str)]
        lines.append(
            f"  {row['lot_id']}: {row['contact_status'] or 'no status'}" + "".join(f"; {text}" for text in told)
        )
    return lines

"""The lists as CSV: UTF-8, LF, stable order, missing left empty, and no cell that a spreadsheet takes for a formula."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Any, Final

import pandas as pd

from screening.fields import LAYERS, REASONS, SEVERITIES, TABLES
from screening.inputs.cells import safe_cell
from screening.outputs.write import write_text
from screening.ranking.sentences import Units, sentence
from screening.result import Screening

__all__ = [
    "approach_list",
    "columns_list",
    "csv_text",
    "curves_list",
    "inlets_list",
    "ruled_out_list",
    "streets_list",
    "write_csv_files",
]

_APPROACH: Final = (
    "street", "address", "lot_id", "rank", "rank_group", "score", "verdict", "next_step", "reasons",
    "storm_kept_m3", "year_kept_m3", "ponding_area_m2", "draining_area_m2", "capture_depth_mm", "eligible", "lead",
    "run_m", "fall_m", "fall_needed_m", "slope_spot_pct", "spot_side", "hsg_spot", "hsg_source", "overflow_to",
    "downspouts", "downspouts_placed", "chance_feasible", "chance_in_first", "zone", "contact_status",
)  # fmt: skip


def csv_text(table: pd.DataFrame) -> str:
    """Write a table as CSV text.

    Parameters
    ----------
    table
        Columns without geometry; flags become yes and no, missing values nothing.

    Returns
    -------
    str
        CSV with a head line and LF line ends.
    """
    text = io.StringIO()
    lines = csv.writer(text, lineterminator="\n")
    lines.writerow(table.columns)
    lines.writerows(zip(*(_cells(table[name]) for name in table.columns), strict=True))
    return text.getvalue()


def _cells(column: pd.Series[Any]) -> list[Any]:
    """Values of a column as they go into a CSV."""
    there, values = column.notna().tolist(), column.tolist()
    if pd.api.types.is_bool_dtype(column.dtype):
        values = ["yes" if known and value else "no" for known, value in zip(there, values, strict=True)]
    elif not pd.api.types.is_numeric_dtype(column.dtype):
        values = [known and safe_cell(value) for known, value in zip(there, values, strict=True)]
    return [value if known else "" for known, value in zip(there, values, strict=True)]


def _visit_order(lots: pd.DataFrame) -> pd.DataFrame:
    """Ranked lots, street by street: streets in the order of their best lot, lots in the order of rank."""
    ranked = lots[lots["rank"].notna()].copy()
    ranked["_street"] = ranked["street"].fillna("")
    best = ranked.groupby("_street")["rank"].transform("min")
    return ranked.assign(_best=best).sort_values(["_best", "_street", "rank"], kind="stable")


def approach_list(result: Screening) -> pd.DataFrame:
    """Lots to approach in visit order, with the number of the visit."""
    rows = _visit_order(pd.DataFrame(result.tables["lots"][list(_APPROACH)]))[list(_APPROACH)].reset_index(drop=True)
    rows.insert(0, "visit", range(1, len(rows) + 1))
    return rows


def ruled_out_list(result: Screening, units: Units = "metric") -> pd.DataFrame:
    """Ruled-out lots with every limit that failed, the deciding one first, near passes marked.

    ``units`` are those of the sentences; measured values and limits stay in the unit of their column.
    """
    lots = pd.DataFrame(result.tables["lots"])
    out = lots.loc[lots["verdict"] == "ruled out", ["lot_id", "street", "address", "deciding_limit", "near_pass"]]
    rows = pd.DataFrame(result.tables["reasons"])
    rows = rows[rows["severity"] == SEVERITIES[0]].merge(out, on="lot_id", how="inner", validate="many_to_one")
    order = {code: number for number, code in enumerate(REASONS)}
    rows["_decides"] = (rows["code"] != rows["deciding_limit"]).astype(int)
    rows["_order"] = rows["code"].map(order)
    rows = rows.sort_values(["lot_id", "_decides", "_order"], kind="stable").reset_index(drop=True)
    rows["failed"] = rows.groupby("lot_id").cumcount() + 1
    rows["limit_name"] = [REASONS[code].head for code in rows["code"]]
    rows["rule"] = [REASONS[code].rule for code in rows["code"]]
    rows["sentence"] = [
        sentence(REASONS[row.code], row.measured, row.limit, "" if pd.isna(row.unit) else row.unit, row.detail, units)
        for row in rows.itertuples()
    ]
    return rows[
        ["lot_id", "street", "address", "failed", "code", "limit_name", "measured", "limit", "unit", "near",
         "near_pass", "rule", "sentence"]
    ]  # fmt: skip


def streets_list(result: Screening) -> pd.DataFrame:
    """Totals by street, without the streets' lines."""
    streets = pd.DataFrame(result.tables["streets"])
    return streets[[name for name in streets.columns if name != "geometry"]]


def curves_list(result: Screening) -> pd.DataFrame:
    """Water kept against gardens built, of each street and of the whole area."""
    return pd.DataFrame(result.tables["curves"])


def inlets_list(result: Screening) -> pd.DataFrame:
    """Totals by inlet, without the inlets' points."""
    inlets = pd.DataFrame(result.tables["inlet_totals"])
    return inlets[[name for name in inlets.columns if name != "geometry"]]


def columns_list() -> pd.DataFrame:
    """What every column of every table and every raster means."""
    rows: list[dict[str, Any]] = []
    for table, fields in (*TABLES.items(), ("terrain", LAYERS)):
        for field in fields:
            rows.append(
                {
                    "table": table,
                    "column": field.name,
                    "type": field.dtype,
                    "unit": field.unit,
                    "step": f"{field.step:g}" if field.step else "",
                    "stage": field.stage,
                    "meaning": field.meaning,
                }
            )
    return pd.DataFrame(rows)


def write_csv_files(result: Screening, folder: Path) -> dict[str, Path]:
    """Write ``approach.csv``, ``ruled_out.csv``, ``streets.csv``, ``curves``, ``inlets`` and ``columns.csv``."""
    tables = {
        "approach": approach_list(result),
        "ruled_out": ruled_out_list(result),
        "streets": streets_list(result),
        "curves": curves_list(result),
        "inlets": inlets_list(result),
        "columns": columns_list(),
    }
    return {name: write_text(folder / f"{name}.csv", csv_text(table)) for name, table in tables.items()}

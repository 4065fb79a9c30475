"""Field results reduced over the whole area: what every stage is given of them, before any block."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

import numpy as np
import pandas as pd

from screening.area import Area, FieldFacts
from screening.rules import Rules
from screening.season.answers import answer_reasons, last_answers
from screening.season.status import season_rows
from screening.soils.at_points import soil_at_points, units_at_points
from screening.soils.field_test import conductivity_of_hole_mm_h, time_of_hole_h
from screening.units import UM_PER_S_MM_PER_H

__all__ = ["hole_readings", "reduce_field", "soil_tests", "with_basements"]

FILLINGS: Final = 4
TEST_COLUMNS: Final = ("lot_id", "x_m", "y_m", "located", "unit", "ksat_um_s", "ksat_spread", "test_ksat_um_s",
                       "slowest_h", "water_m", "fillings", "date")  # fmt: skip


def reduce_field(area: Area, rules: Rules) -> FieldFacts | None:
    """Reduce the field results of an area; None when it has none.

    Parameters
    ----------
    area
        The area, with its ``field_results``.
    rules
        The rules.
    """
    results = area.field_results
    if results is None:
        return None
    tests = soil_tests(results, area, rules)
    once = (tests["fillings"] == 1) & ~(tests["slowest_h"] > rules.pond_drawdown_h)
    counted = tests[~once].reset_index(drop=True)
    reasons = pd.concat(
        [answer_reasons(results, area), _repeat_reasons(tests[once], counted, rules)], ignore_index=True
    )
    consents = results[(results["what"] == "consent") & results["consent_of"].isin(["easement", "main"])]
    last = consents.drop_duplicates("lot_id", keep="last")
    given = frozenset(str(lot) for lot, yes in zip(last["lot_id"], last["consent"], strict=True) if yes)
    return FieldFacts(counted, _levels(results), given, reasons, season_rows(results, tests))


def hole_readings(row: dict[str, Any]) -> tuple[list[float], float]:
    """Hours that each filling takes to empty the whole hole, and the conductivity of the last.

    Parameters
    ----------
    row
        A test row of the field results.

    Returns
    -------
    hours
        Of each filling as it was measured when it ran the full hole dry, else as the formula of the hole has it, never
        less than was measured. [h]
    ksat_mm_h
        By the last filling, on soil already wet. [mm/h]
    """
    depth_mm, width_mm = 1000.0 * row["hole_depth"], 1000.0 * row["hole_width"]
    hours: list[float] = []
    ksat = np.nan
    for number in range(1, FILLINGS + 1):
        measured = row[f"fill_{number}_h"]
        if pd.isna(measured):
            break
        start, end = row[f"fill_{number}_start"], row[f"fill_{number}_end"]
        start_mm = depth_mm if pd.isna(start) else 1000.0 * start
        end_mm = 0.0 if pd.isna(end) else 1000.0 * end
        ksat = float(conductivity_of_hole_mm_h(start_mm, end_mm, measured, width_mm))
        whole = float(time_of_hole_h(ksat, depth_mm, width_mm))
        hours.append(max(float(measured), round(whole, 6)))
    return hours, ksat


def soil_tests(results: pd.DataFrame, area: Area, rules: Rules) -> pd.DataFrame:
    """Every soil test with its place, what the map says there and what it found, in the order of the results."""
    rows = []
    points = _lot_points(area)
    for row in results[results["what"] == "test"].to_dict("records"):
        hours, ksat_mm_h = hole_readings(row)
        located = not pd.isna(row["x_m"])
        point = points[row["lot_id"]]
        rows.append(
            {
                "lot_id": row["lot_id"],
                "x_m": float(row["x_m"]) if located else point[0],
                "y_m": float(row["y_m"]) if located else point[1],
                "located": located,
                "test_ksat_um_s": ksat_mm_h / UM_PER_S_MM_PER_H,
                "slowest_h": max(hours),
                "water_m": row["water_at"],
                "fillings": len(hours),
                "date": row["date"],
            }
        )
    table = pd.DataFrame(rows, columns=[name for name in TEST_COLUMNS if name not in _MAPPED])
    return _with_map(table, area, rules)


_MAPPED: Final = ("unit", "ksat_um_s", "ksat_spread")


def _with_map(tests: pd.DataFrame, area: Area, rules: Rules) -> pd.DataFrame:
    """What the soil map says at the tests."""
    x, y = tests["x_m"].to_numpy(dtype=np.float64), tests["y_m"].to_numpy(dtype=np.float64)
    unit = np.full(len(x), -1, dtype=np.int64)
    ksat, spread = np.full(len(x), np.nan), np.full(len(x), np.nan)
    if area.soils is not None and len(area.soils.polygons) and len(x):
        unit = units_at_points(area.soils, x, y)
        mapped = soil_at_points(area.soils, x, y, rules)
        ksat, spread = (mapped[name].to_numpy(dtype=np.float64) for name in ("ksat_um_s", "ksat_spread"))
    return tests.assign(unit=unit, ksat_um_s=ksat, ksat_spread=spread)[list(TEST_COLUMNS)]


def _lot_points(area: Area) -> dict[str, tuple[float, float]]:
    """A point on each lot."""
    lots = area.layers["lots"]
    points = lots.geometry.representative_point()
    return dict(zip(lots["lot_id"].astype(str), zip(points.x, points.y, strict=True), strict=True))


def _levels(results: pd.DataFrame) -> pd.DataFrame:
    """Level readings; of several at one place the last one counts."""
    rows = results[results["what"] == "level"]
    table = pd.DataFrame(
        {
            "lot_id": rows["lot_id"].to_numpy(dtype=object),
            "x_m": rows["x_m"].to_numpy(dtype=np.float64),
            "y_m": rows["y_m"].to_numpy(dtype=np.float64),
            "located": rows["x_m"].notna().to_numpy(dtype=bool),
            "drop_m": (rows["at_spot"] - rows["at_house"]).to_numpy(dtype=np.float64),
        }
    )
    return table.drop_duplicates(["lot_id", "x_m", "y_m"], keep="last").reset_index(drop=True)


def _repeat_reasons(once: pd.DataFrame, counted: pd.DataFrame, rules: Rules) -> pd.DataFrame:
    """Holes that were filled once only, on lots without a test that counts."""
    open_lots = once[~once["lot_id"].isin(set(counted["lot_id"]))].drop_duplicates("lot_id", keep="last")
    return pd.DataFrame(
        {
            "lot_id": open_lots["lot_id"],
            "code": "repeat_test",
            "severity": "test soil",
            "measured": open_lots["slowest_h"],
            "limit": rules.pond_drawdown_h,
            "detail": "",
        }
    )


def with_basements(area: Area) -> Area:
    """The area, its houses having the basements that their households told of.

    The household knows its house better than a layer does; setbacks follow from it.
    """
    if area.field_results is None:
        return area
    told = last_answers(area.field_results, "basement")
    if not told:
        return area
    roofs, lots = area.layers["roofs"], area.layers["lots"]
    points = roofs.set_geometry(roofs.geometry.representative_point())[["geometry"]]
    joined = points.sjoin(lots[["lot_id", "geometry"]], predicate="within")
    joined = joined[~joined.index.duplicated(keep="first")]
    house = joined[joined["lot_id"].isin(list(told)) & roofs.loc[joined.index, "kind"].fillna("house").eq("house")]
    basement = roofs["basement"].copy()
    basement.loc[house.index] = pd.array([told[lot] for lot in house["lot_id"]], dtype="boolean")
    return replace(area, layers={**area.layers, "roofs": roofs.assign(basement=basement)})

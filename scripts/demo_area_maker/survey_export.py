"""Write the soils as a survey export: a shapefile, and pipe-delimited text without a header."""

from __future__ import annotations

from pathlib import Path

import geopandas as gpd
import pyogrio

from scripts.demo_area_maker.soil_units import UNITS, Component, MapUnit, unit_key
from scripts.demo_area_maker.survey_columns import COLUMNS, NUMBERS, TABLE_FILES

AREA_SYMBOL = "ZZ900"
LEGEND_KEY = "900000"
MONTHS = (
    "January February March April May June July August September October November December".split()  # noqa: SIM905
)

Row = dict[str, object]


def text(table: str, row: Row) -> str:
    """One line of a table: numbers bare, everything else quoted, nothing where nothing is."""
    cells = []
    for column in COLUMNS[table].split():
        value = row.get(column)
        if value is None or value == "":
            cells.append("")
        elif column in NUMBERS:
            cells.append(f"{value:g}")
        else:
            cells.append(f'"{value}"')
    return "|".join(cells)


def unit_rows(unit: MapUnit, acres: int) -> tuple[Row, Row]:
    """The map unit's rows in ``mapunit`` and ``muaggatt``."""
    mukey = unit_key(unit.symbol)
    large = [c for c in unit.components if c.share_pct >= 15]
    wet = [c.wet_from_cm for c in large if c.wet_from_cm is not None]
    rock = [c.restriction[1] for c in large if c.restriction is not None and "bedrock" in c.restriction[0]]
    mapunit: Row = {
        "musym": unit.symbol,
        "muname": unit.name,
        "mukind": "Consociation",
        "muacres": acres,
        "lkey": LEGEND_KEY,
        "mukey": mukey,
    }
    if len([c for c in unit.components if c.share_pct >= 30]) > 1:
        mapunit["mukind"] = "Complex"
    summary: Row = {
        "musym": unit.symbol,
        "muname": unit.name,
        "slopegraddcp": unit.slope_pct,
        "brockdepmin": min(rock, default=None),
        "wtdepannmin": min(wet, default=None),
        "drclassdcd": unit.components[0].drainage,
        "hydgrpdcd": unit.group,
        "mukey": mukey,
    }
    return mapunit, summary


def component_rows(unit: MapUnit, number: int, soil: Component) -> dict[str, list[Row]]:
    """A component's rows in every table that has some."""
    mukey = unit_key(unit.symbol)
    cokey = f"{mukey}{number}"
    rows: dict[str, list[Row]] = {
        "component": [
            {
                "comppct_r": soil.share_pct,
                "compname": soil.name,
                "compkind": soil.kind,
                "majcompflag": "Yes" if soil.share_pct >= 20 else "No ",
                "slope_r": unit.slope_pct,
                "drainagecl": soil.drainage,
                "hydgrp": soil.group,
                "mukey": mukey,
                "cokey": cokey,
            }
        ],
        "chorizon": [
            {
                "hzname": name,
                "hzdept_r": top,
                "hzdepb_r": bottom,
                "ksat_r": ksat,
                "cokey": cokey,
                "chkey": f"{cokey}{i}",
            }
            for i, (name, top, bottom, ksat) in enumerate(soil.horizons, start=1)
        ],
    }
    if soil.restriction is not None:
        kind, top = soil.restriction
        rows["corestrictions"] = [{"reskind": kind, "resdept_r": top, "cokey": cokey, "corestrictkey": f"{cokey}9"}]
    if soil.wet_from_cm is not None:
        rows.update(month_rows(soil, cokey))
    return rows


def month_rows(soil: Component, cokey: str) -> dict[str, list[Row]]:
    """Month by month, the moist layer above the water and the wet one below it."""
    months: list[Row] = []
    layers: list[Row] = []
    for number, month in enumerate(MONTHS, start=1):
        key = f"{cokey}{number:02d}"
        months.append({"monthseq": number, "month": month, "cokey": cokey, "comonthkey": key})
        wet_from = soil.wet_from_cm if number in soil.wet_months else None
        spans = [(0, 200, "Moist")] if wet_from is None else [(0, wet_from, "Moist"), (wet_from, 200, "Wet")]
        layers += [
            {
                "soimoistdept_r": a,
                "soimoistdepb_r": b,
                "soimoiststat": s,
                "comonthkey": key,
                "cosoilmoistkey": f"{key}{i}",
            }
            for i, (a, b, s) in enumerate(spans, start=1)
        ]
    return {"comonth": months, "cosoilmoist": layers}


def write_tables(folder: Path, acres: dict[str, int]) -> None:
    """Write every table, the list of tables and the list of their columns."""
    tables: dict[str, list[Row]] = {table: [] for table in COLUMNS}
    for unit in UNITS:
        mapunit, summary = unit_rows(unit, acres.get(unit.symbol, 0))
        tables["mapunit"].append(mapunit)
        tables["muaggatt"].append(summary)
        for number, soil in enumerate(unit.components, start=1):
            for table, rows in component_rows(unit, number, soil).items():
                tables[table] += rows
    folder.mkdir(parents=True, exist_ok=True)
    for table, rows in tables.items():
        lines = [text(table, row) for row in rows]
        write_lines(folder / f"{TABLE_FILES[table]}.txt", lines)
    write_lines(folder / "mstab.txt", [f'"{t}"|"{t}"|"{t}"||"{f}"' for t, f in TABLE_FILES.items()])
    names = [(t, i, c) for t in sorted(COLUMNS) for i, c in enumerate(COLUMNS[t].split(), start=1)]
    write_lines(folder / "mstabcol.txt", [f'"{t}"|{i}|"{c}"|"{c}"|"{c}"|""|"No"||||||""|""' for t, i, c in names])
    write_lines(folder / "version.txt", ["made up"])


def write_lines(path: Path, lines: list[str]) -> None:
    """Write lines with the same ending everywhere."""
    path.write_text("".join(f"{line}\n" for line in lines), encoding="utf-8", newline="\n")


def write_survey(folder: Path, polygons: gpd.GeoDataFrame) -> None:
    """Write the whole export; ``polygons`` has columns ``symbol`` and geometry, in longitude and latitude."""
    spatial = folder / "spatial"
    spatial.mkdir(parents=True, exist_ok=True)
    table = gpd.GeoDataFrame(
        {
            "AREASYMBOL": AREA_SYMBOL,
            "SPATIALVER": 1.0,
            "MUSYM": polygons["symbol"],
            "MUKEY": [unit_key(symbol) for symbol in polygons["symbol"]],
        },
        geometry=polygons.geometry,
        crs=polygons.crs,
    )
    path = spatial / f"soilmu_a_{AREA_SYMBOL.lower()}.shp"
    pyogrio.write_dataframe(table, path, driver="ESRI Shapefile", layer_options={"DBF_DATE_LAST_UPDATE": "2024-01-01"})
    area_m2 = polygons.geometry.to_crs(polygons.estimate_utm_crs()).area
    acres = (area_m2.groupby(polygons["symbol"]).sum() / 4046.8564224).round().astype(int)
    write_tables(folder / "tabular", {str(k): int(v) for k, v in acres.items()})

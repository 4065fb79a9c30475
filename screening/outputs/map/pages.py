"""The map of a large area: an index of all lots and streets, and one full page for each neighbourhood.

A neighbourhood is what halving the lots along their longer side leaves, until no part has more than ``MOST``.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Final

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from screening.fields import TABLES, Field
from screening.outputs.map.contents import page_texts, table_columns
from screening.outputs.map.live import live_tables
from screening.outputs.map.pack import Pack
from screening.outputs.map.relief import hillshade_picture, slope_breaks
from screening.outputs.map.shapes import COARSE, pack_shapes
from screening.outputs.map.shell import assemble, map_page, write_map
from screening.outputs.map.window_source import WindowSource, window_around
from screening.outputs.write import write_text
from screening.ranking.sentences import Units
from screening.result import Screening

__all__ = ["MOST", "index_page", "parts_of", "split_lots", "write_maps"]

MOST: Final = 5000
"""Most lots on a full page."""
_AROUND_M: Final = 60.0
"""Ground drawn around a part's lots."""
_INDEX_COLUMNS: Final = (
    "lot_id", "street", "address", "zone", "rank", "rank_group", "score", "verdict", "next_step", "deciding_limit",
    "near_pass", "value_water_kept", "value_soil", "value_lead", "value_slope", "value_room", "value_side", "hsg",
    "chance_feasible", "storm_runoff_m3", "storm_captured_m3", "storm_kept_m3", "contact_status", "own_rules",
)  # fmt: skip
_INDEX_CANDIDATES: Final = (
    "lot_id", "candidate", "aspect", "room_m2", "ponding_area_m2", "footprint_m2", "draining_area_m2",
    "capture_depth_mm", "capture_most_mm", "run_m", "fall_m", "fall_needed_m", "fall_margin_m", "fall_error_m", "lip_m",
    "lip_low_m", "ground_m", "drop_m", "slope_pct", "kept_share", "kept_of_lot_share", "side", "ksat_um_s",
    "water_table_m", "bedrock_m",
)  # fmt: skip
"""What the index needs of the candidates to judge lots anew."""
_PAGE: Final = Field("page", "integer", "", 0, "outputs", "The page that tells everything of the lot.")


def split_lots(x_m: NDArray[np.float64], y_m: NDArray[np.float64], most: int = MOST) -> NDArray[np.int64]:
    """Number of the part that each lot falls in.

    Parameters
    ----------
    x_m, y_m
        A point on each lot, shape (n,). [m]
    most
        Most lots in a part.

    Returns
    -------
    numpy.ndarray
        Parts from 0, int64, shape (n,); halves differ by one lot at most, ties go by the other coordinate, then by
        order.
    """
    parts = np.zeros(x_m.size, dtype=np.int64)
    waiting, made = [np.arange(x_m.size)], 0
    while waiting:
        lots = waiting.pop()
        if lots.size <= most:
            parts[lots] = made
            made += 1
            continue
        across = np.ptp(x_m[lots]) >= np.ptp(y_m[lots])
        first, second = (x_m, y_m) if across else (y_m, x_m)
        order = lots[np.lexsort((lots, second[lots], first[lots]))]
        half = order.size // 2
        waiting += [np.sort(order[half:]), np.sort(order[:half])]
    return parts


def _rows_of_parts(result: Screening, parts: NDArray[np.int64]) -> dict[str, list[NDArray[np.int64]]]:
    """Rows of each table that tells of lots, by the part that the lot falls in, in order of the table."""
    lots = pd.Index(result.tables["lots"]["lot_id"])
    out = {}
    for name, table in result.tables.items():
        if "lot_id" in table.columns and name != "streets":
            lot = lots.get_indexer(pd.Index(table["lot_id"]))
            part = np.where(lot >= 0, parts[lot], -1)
            order = np.argsort(part, kind="stable")
            out[name] = np.split(order, np.searchsorted(part[order], np.arange(parts.max() + 2)))[1:-1]
    return out


def _of_part(result: Screening, rows: dict[str, NDArray[np.int64]]) -> Screening:
    """The result of some lots: their rows, the streets they lie on, and what lies around them."""
    tables = {name: result.tables[name].iloc[own].reset_index(drop=True) for name, own in rows.items()}
    lots = tables["lots"]
    streets = result.tables["streets"]
    kept = streets["street"].isin(lots["street"].dropna().unique()) | streets["street"].isna()
    tables["streets"] = streets[kept].reset_index(drop=True)
    west, south, east, north = (float(edge) for edge in lots.total_bounds)
    bounds_m = (west, south, east, north)
    box = shapely.box(west, south, east, north).buffer(_AROUND_M)
    layers = {name: layer.iloc[sorted(layer.sindex.query(box))] for name, layer in result.layers.items()}
    rasters = {
        name: WindowSource(source, window_around(source, bounds_m, _AROUND_M))
        for name, source in result.rasters.items()
    }
    return replace(result, tables=tables, layers=layers, rasters=rasters)


def parts_of(result: Screening, most: int = MOST) -> NDArray[np.int64]:
    """Number of the part that each lot of a result falls in; lots without a geometry go with the first."""
    points = result.tables["lots"].geometry.representative_point()
    x, y = points.x.to_numpy(), points.y.to_numpy()
    return split_lots(np.nan_to_num(x, nan=np.nanmin(x)), np.nan_to_num(y, nan=np.nanmin(y)), most)


def index_page(result: Screening, parts: NDArray[np.int64], units: Units, *, addresses: bool = True) -> str:
    """The index: every lot with its verdict, score and page, and every street.

    Parameters
    ----------
    result
        The result of a run.
    parts
        Number of each lot's page, from 0, shape (n,).
    units
        Units that the page starts with.
    addresses
        False leaves addresses out.
    """
    pack = Pack()
    lots = result.tables["lots"]
    columns = [name for name in _INDEX_COLUMNS if name in lots.columns and (addresses or name != "address")]
    shown = pd.DataFrame(lots[columns]).assign(page=pd.array(parts + 1, dtype="Int64"))
    fields = tuple(field for field in TABLES["lots"] if field.name in columns)
    ids = pd.Index(lots["lot_id"])
    tables = {"lots": table_columns(pack, shown, (*fields, _PAGE), ids, "lots")}
    tables["lots"]["shapes"] = pack_shapes(pack, lots.geometry.array, result.crs, COARSE)
    streets = result.tables["streets"]
    tables["streets"] = table_columns(pack, streets, TABLES["streets"], ids, "streets")
    tables["streets"]["shapes"] = pack_shapes(pack, streets.geometry.array, result.crs, COARSE)
    fields = tuple(field for field in TABLES["candidates"] if field.name in _INDEX_CANDIDATES)
    tables["candidates"] = table_columns(pack, result.tables["candidates"], fields, ids, "candidates")
    for name, (table, own) in live_tables(result, sentences=False).items():
        tables[name] = table_columns(pack, table, own, ids, name)
    meta = page_texts(result) | {
        "reasons": {}, "severities": [], "tables": tables, "sections": pack.directory(), "units": units,
        "slope_breaks": list(slope_breaks(result.rules)), "pages": int(parts.max()) + 1,
    }  # fmt: skip
    return assemble(meta, pack.base64(), {"ground": hillshade_picture(result.rasters["heights_m"], result.crs)})


def write_maps(
    result: Screening, path: Path, units: Units = "metric", *, addresses: bool = True, most: int = MOST
) -> dict[str, Path]:
    """Write the map: one page, or for a large area an index and the folder ``map_pages`` beside it.

    Parameters
    ----------
    result
        The result of a run.
    path
        ``map.html``.
    units
        Units that the pages start with.
    addresses
        False leaves addresses out.
    most
        Most lots on a full page.

    Returns
    -------
    dict
        Paths by name: ``map``, and ``map_page_1`` and so on where there is an index.
    """
    lots = result.tables["lots"]
    if len(lots) <= most:
        return {"map": write_map(result, path, units, addresses=addresses)}
    parts = parts_of(result, most)
    paths = {"map": write_text(path, index_page(result, parts, units, addresses=addresses))}
    folder = path.parent / "map_pages"
    folder.mkdir(exist_ok=True)
    count = int(parts.max()) + 1
    whole = page_texts(result)
    rows = _rows_of_parts(result, parts)
    for number in range(count):
        more = {
            "part": {"number": number + 1, "of": count},
            **{name: whole[name] for name in ("breaks", "ranked")},
        }
        part = _of_part(result, {name: of_parts[number] for name, of_parts in rows.items()})
        page = map_page(part, units, addresses=addresses, more=more)
        paths[f"map_page_{number + 1}"] = write_text(folder / f"{number + 1}.html", page)
    return paths

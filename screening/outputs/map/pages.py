"""The map of a large area: an index of all lots and streets, and one full page for each neighbourhood.

A neighbourhood is what halving the lots along their longer side leaves, until no part has more than ``MOST``.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray
from rasterio.errors import NotGeoreferencedWarning

from screening.fields import Field
from screening.outputs.map.background import background_of, photo_stretch
from screening.outputs.map.columns import Column, Columns
from screening.outputs.map.contents import Contents, contents_of, page_texts
from screening.outputs.map.pack import Pack
from screening.outputs.map.relief import hillshade_picture, slope_breaks
from screening.outputs.map.shapes import COARSE, pack_shapes
from screening.outputs.map.shell import assemble, map_page
from screening.outputs.map.varints import zigzag
from screening.outputs.map.window_source import WindowSource, window_around
from screening.outputs.write import write_text
from screening.ranking.sentences import Units
from screening.result import Screening

__all__ = ["MOST", "index_page", "map_jobs", "parts_of", "split_lots", "write_maps"]

MOST: Final = 5000
"""Most lots on a full page."""
_AT_ONCE: Final = 2
"""Pages made at a time."""
_AROUND_M: Final = 60.0
"""Ground drawn around a part's lots."""
_INDEX_COLUMNS: Final = (
    "lot_id", "street", "address", "zone", "rank", "rank_group", "score", "verdict", "next_step", "deciding_limit",
    "near_pass", "value_water_kept", "value_soil", "value_lead", "value_slope", "value_room", "value_side", "hsg",
    "chance_feasible", "storm_runoff_m3", "storm_captured_m3", "storm_kept_m3", "contact_status", "own_rules",
)  # fmt: skip
_INDEX_CANDIDATES: Final = (
    "lot_id", "candidate", "aspect", "room_m2", "ponding_area_m2", "draining_area_m2",
    "capture_depth_mm", "capture_most_mm", "run_m", "fall_m", "fall_needed_m", "fall_margin_m", "fall_error_m", "lip_m",
    "lip_low_m", "ground_m", "drop_m", "slope_pct", "kept_share", "kept_of_lot_share", "side", "ksat_um_s",
    "water_table_m", "bedrock_m", "run_on_m3",
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


def _rows_of_parts(
    result: Screening, contents: Contents, parts: NDArray[np.int64]
) -> list[dict[str, NDArray[np.int64]]]:
    """Rows of each table by part: those of its lots and of the streets that they lie on, in order of the table."""
    count = int(parts.max()) + 1
    rows: list[dict[str, NDArray[np.int64]]] = [{} for _ in range(count)]
    lot_of = {name: columns.lots for name, columns in contents.columns.items()}
    lot_of |= {"lots": np.arange(parts.size), "own": np.arange(parts.size), "judged": lot_of["candidates"]}
    for name, lots in lot_of.items():
        if lots is None:
            continue
        part = np.where(lots >= 0, parts[lots], -1)
        order = np.argsort(part, kind="stable")
        edges = np.searchsorted(part[order], np.arange(count + 1))
        for number in range(count):
            rows[number][name] = order[edges[number] : edges[number + 1]]
    lots, streets = result.tables["lots"], result.tables["streets"]
    for own in rows:
        inlets = lots["inlet"].iloc[own["lots"]].dropna().unique()
        for name in ("inlet_totals", "catchments"):
            own[name] = np.flatnonzero(result.tables[name]["inlet_id"].isin(inlets).to_numpy(dtype=bool))
        kept = streets["street"].isin(lots["street"].iloc[own["lots"]].dropna().unique()) | streets["street"].isna()
        own["streets"] = np.flatnonzero(kept.to_numpy(dtype=bool))
    return [{name: own[name] for name in contents.columns if name in own} for own in rows]


def _around(result: Screening, lots: NDArray[np.int64]) -> Screening:
    """The result with no more layers and rasters than lie around some lots."""
    west, south, east, north = (float(edge) for edge in result.tables["lots"].geometry.iloc[lots].total_bounds)
    bounds_m = (west, south, east, north)
    box = shapely.box(west, south, east, north).buffer(_AROUND_M)
    layers = {name: layer.iloc[sorted(layer.sindex.query(box))] for name, layer in result.layers.items()}
    rasters = {
        name: WindowSource(source, window_around(source, bounds_m, _AROUND_M))
        for name, source in result.rasters.items()
    }
    return replace(result, layers=layers, rasters=rasters)


def parts_of(result: Screening, most: int = MOST) -> NDArray[np.int64]:
    """Number of the part that each lot of a result falls in; lots without a geometry go with the first."""
    points = result.tables["lots"].geometry.representative_point()
    x, y = points.x.to_numpy(), points.y.to_numpy()
    return split_lots(np.nan_to_num(x, nan=np.nanmin(x)), np.nan_to_num(y, nan=np.nanmin(y)), most)


def index_page(result: Screening, contents: Contents, parts: NDArray[np.int64], units: Units) -> str:
    """The index: every lot with its verdict, score and page, and every street.

    Parameters
    ----------
    result
        The result of a run.
    contents
        What pages hold of its tables.
    parts
        Number of each lot's page, from 0, shape (n,).
    units
        Units that the page starts with.
    """
    pack = Pack()
    columns, lots = contents.columns, contents.columns["lots"].only(_INDEX_COLUMNS)
    page = Column(_PAGE, zigzag(parts + 1) + np.uint64(1))
    tables = {"lots": Columns(lots.rows, (*lots.columns, page)).add_to(pack)}
    tables["lots"]["shapes"] = pack_shapes(pack, contents.shapes["lots"], result.crs, COARSE)
    tables["streets"] = columns["streets"].add_to(pack)
    tables["streets"]["shapes"] = pack_shapes(pack, contents.shapes["streets"], result.crs, COARSE)
    tables["candidates"] = columns["candidates"].only(_INDEX_CANDIDATES).add_to(pack)
    for name in ("judged", "own"):
        tables[name] = columns[name].add_to(pack)
    meta = page_texts(result) | {
        "reasons": {}, "severities": [], "tables": tables, "sections": pack.directory(), "units": units,
        "slope_breaks": list(slope_breaks(result.rules)), "pages": int(parts.max()) + 1,
    }  # fmt: skip
    pictures = {"ground": hillshade_picture(result.rasters["heights_m"], result.crs)}
    return assemble(meta, pack.base64(), pictures, background=background_of(result, photo=False))


def write_maps(result: Screening, path: Path, units: Units = "metric", **how: Any) -> dict[str, Path]:
    """Write the map as ``map_jobs`` would, two pages at a time; paths by name."""
    jobs = map_jobs(result, path, units, **how)
    with warnings.catch_warnings(), ThreadPoolExecutor(_AT_ONCE) as pool:
        # writing a picture mutes this for the whole process, and another page's picture would unmute it
        warnings.simplefilter("ignore", NotGeoreferencedWarning)
        return dict(zip(jobs, pool.map(lambda write: write(), jobs.values()), strict=True))


def map_jobs(
    result: Screening,
    path: Path,
    units: Units = "metric",
    *,
    addresses: bool = True,
    most: int = MOST,
    settled: Mapping[str, Columns] | None = None,
) -> dict[str, Callable[[], Path]]:
    """What writes the map: one page, or for a large area an index and the folder ``map_pages`` beside it.

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
    settled
        What ``contents.settled_columns`` made of it, where that is done.

    Returns
    -------
    dict
        What writes a page and gives its path, any number at a time, by name: ``map``, and ``map_page_1`` and so on
        where there is an index.
    """
    result = result.by_place()
    contents = contents_of(result, addresses=addresses, settled=settled)
    if len(result.tables["lots"]) <= most:
        return {"map": lambda: write_text(path, map_page(result, units, contents=contents))}
    parts = parts_of(result, most)
    rows, texts = _rows_of_parts(result, contents, parts), page_texts(result)
    stretch = photo_stretch(result)
    folder = path.parent / "map_pages"
    folder.mkdir(exist_ok=True)

    def index() -> Path:
        return write_text(path, index_page(result, contents, parts, units))

    def page(number: int) -> Path:
        own = rows[number - 1]
        told = texts | {"part": {"number": number, "of": len(rows)}}
        part = map_page(_around(result, own["lots"]), units, contents=contents.of(own), texts=told, stretch=stretch)
        return write_text(folder / f"{number}.html", part)

    return {"map": index} | {f"map_page_{number}": partial(page, number) for number in range(1, len(rows) + 1)}

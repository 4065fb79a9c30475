"""What the page holds: tables and geometries of a result, packed, and the texts that explain them."""

from __future__ import annotations

import re
from typing import Any, Final

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from screening.fields import OFF_LIST, REASONS, SEVERITIES, TABLES, Field
from screening.outputs.cautions import CAUTIONS, OTHER_HELP, SHORT_CAUTION
from screening.outputs.map.flow_lines import flow_lines
from screening.outputs.map.hollows import hollows
from screening.outputs.map.live import live_tables, live_texts
from screening.outputs.map.pack import Pack, column_numbers
from screening.outputs.map.shapes import COARSE, FINE, pack_shapes
from screening.outputs.suitability import suitability_breaks
from screening.ranking.changed_rules import spot_codes
from screening.ranking.criteria import CRITERIA
from screening.result import Screening
from screening.streets.totals import NO_STREET

__all__ = ["page_contents", "page_texts", "table_columns"]

_STEPS: Final[dict[str, int]] = {
    "lots": COARSE, "roof_pieces": COARSE, "roof_shares": FINE, "downspouts": FINE, "open_ground": COARSE,
    "candidates": FINE, "leads": FINE, "overflow_paths": FINE, "streets": COARSE, "inlets": COARSE, "water": COARSE,
    "flow": COARSE, "hollows": COARSE,
}  # fmt: skip
"""Steps in a degree of each layer that is drawn."""

_OFF_PAGE: Final = frozenset({"problems", "curves", "inlet_totals"})
"""Tables that the page does without."""

_LEFT_OUT: Final[dict[str, frozenset[str]]] = {
    "lots": frozenset({"reasons", "place"}),
    "roof_pieces": frozenset({"piece_id", "roof_id", "method", "shared"}),
    "roof_shares": frozenset({"piece_id", "downspout_id"}),
    "downspouts": frozenset({"piece_id", "normal_x", "normal_y", "ground_m"}),
    "candidates": frozenset({"soil_name", "x_m", "y_m", "lip_high_m", "long_axis_deg", "downspout_ids", "geometry"}),
    "leads": frozenset({"downspout_id"}),
}
"""Columns that the page does without. It writes reasons itself, in the reader's units."""

_EXTRA: Final[dict[str, tuple[Field, ...]]] = {
    "flow": (Field("upslope_m2", "number", "m2", 1, "terrain", "Ground that drains to the line's end."),),
    "hollows": (Field("depth_m", "number", "m", 0.01, "terrain", "Depth at its deepest."),),
    "inlets": (Field("inlet_id", "text", "", 0, "inputs", "The inlet's id."),),
    "water": (Field("name", "text", "", 0, "inputs", "Its name."),),
}
"""Columns of the layers that are no tables of the run."""


def table_columns(pack: Pack, table: Any, fields: tuple[Field, ...], lots: pd.Index[Any], name: str) -> dict[str, Any]:
    """Pack the columns of a table; the lot's id becomes the number of the lot, its place among the ids ``lots``."""
    columns: list[dict[str, Any]] = []
    for field in fields:
        if field.dtype == "geometry" or field.name not in table.columns or field.name in _LEFT_OUT.get(name, ()):
            continue
        if field.name == "lot_id" and name != "lots":
            numbers = lots.get_indexer(pd.Index(table["lot_id"])) + 1
            columns.append({"name": "lot", "dtype": "lot", "section": pack.add(numbers)})
            continue
        numbers, words = column_numbers(table[field.name], field)
        column: dict[str, Any] = {
            "name": field.name, "dtype": field.dtype, "unit": field.unit, "step": field.step, "meaning": field.meaning,
            "section": pack.add(numbers),
        }  # fmt: skip
        if words is not None:
            column["words"] = pack.add_words(words)
        columns.append(column)
    return {"rows": len(table), "columns": columns}


def _drawn_from_rasters(result: Screening) -> dict[str, gpd.GeoDataFrame]:
    """Flow lines and hollows."""
    rules, out = result.rules, {}
    if {"flow_direction", "accumulation_cells"} <= set(result.rasters):
        lines, areas = flow_lines(
            result.rasters["flow_direction"], result.rasters["accumulation_cells"], rules.upslope_look_m2
        )
        out["flow"] = gpd.GeoDataFrame({"upslope_m2": areas}, geometry=lines, crs=result.crs)
    if "hollow_depth_m" in result.rasters:
        outlines, depths = hollows(result.rasters["hollow_depth_m"], rules)
        out["hollows"] = gpd.GeoDataFrame({"depth_m": depths}, geometry=outlines, crs=result.crs)
    return out


def _rules(result: Screening) -> dict[str, dict[str, Any]]:
    """Each rule with its unit and meaning."""
    out: dict[str, dict[str, Any]] = {}
    last = ""
    for name, described in type(result.rules).model_fields.items():
        extra: Any = described.json_schema_extra or {}
        meaning = described.description or ""
        if meaning.startswith("the same, "):
            meaning = re.sub(r"group [A-D]", meaning.removeprefix("the same, "), last)
        else:
            last = meaning
        out[name] = {
            "value": getattr(result.rules, name),
            "unit": extra.get("unit", ""),
            "basis": extra.get("basis", ""),
            "meaning": meaning,
        }
    return out


def page_contents(result: Screening, *, addresses: bool = True) -> tuple[dict[str, Any], str]:
    """Everything the page shows.

    Parameters
    ----------
    result
        The result of a run.
    addresses
        Whether the lots' addresses are among it.

    Returns
    -------
    tuple
        What goes into the page as JSON, and the packed numbers as base64.
    """
    pack = Pack()
    lots = pd.Index(result.tables["lots"]["lot_id"])
    tables: dict[str, Any] = {}
    for name, fields in TABLES.items():
        if name not in result.tables or name in _OFF_PAGE:
            continue
        table = result.tables[name]
        if name == "lots" and not addresses:
            table = table.drop(columns="address")
        tables[name] = table_columns(pack, table, fields, lots, name)
        if name in _STEPS and "geometry" in table.columns:
            tables[name]["shapes"] = pack_shapes(pack, table.geometry.array, result.crs, _STEPS[name])
    for name, (table, fields) in live_tables(result).items():
        tables[name] = table_columns(pack, table, fields, lots, name)
    drawn = {name: result.layers[name] for name in ("inlets", "water") if name in result.layers}
    for name, frame in (drawn | _drawn_from_rasters(result)).items():
        tables[name] = table_columns(pack, pd.DataFrame(frame), _EXTRA[name], lots, name)
        tables[name]["shapes"] = pack_shapes(pack, _one_kind(frame), result.crs, _STEPS[name])
    meta = page_texts(result) | {
        "reasons": {
            code: {"head": r.head, "sentence": r.sentence, "unit": r.unit, "rule": r.rule}
            for code, r in REASONS.items()
        },
        "severities": list(SEVERITIES),
        "spot_codes": list(spot_codes(result.tables["candidates"], result.rules)),
        "tables": tables,
        "sections": pack.directory(),
    }
    return meta, pack.base64()


def page_texts(result: Screening) -> dict[str, Any]:
    """What every page says: title, cautions, notes, rules, and how scores are made."""
    lots = result.tables["lots"]
    return {
        "title": result.title,
        "cautions": list(CAUTIONS),
        "short_caution": SHORT_CAUTION,
        "other_help": list(OTHER_HELP),
        "notes": [{"kind": note.kind, "layer": note.layer, "text": note.text} for note in result.notes],
        "rules": _rules(result),
        "criteria": [{"column": column, "rule": rule} for column, rule, _ in CRITERIA],
        "breaks": list(suitability_breaks(lots["score"])),
        "off_list": list(OFF_LIST),
        "no_street": NO_STREET,
        **live_texts(result.rules),
        "ranked": int(lots["rank"].notna().sum()),
    }


def _one_kind(frame: Any) -> Any:
    """Geometries of the highest dimension found, the others left out: a layer is drawn one way."""
    shapes = np.array(frame.geometry.array, dtype=object)
    ranks = shapely.get_dimensions(shapes)
    if ranks.size:
        shapes[ranks != ranks.max()] = None
    return shapes

"""What the page holds: tables and geometries of a result, packed, and the texts that explain them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from screening.fields import OFF_LIST, REASONS, SEVERITIES, TABLES, Field
from screening.outputs.cautions import CAUTIONS, OTHER_HELP, SHORT_CAUTION
from screening.outputs.map.columns import Columns, columns_of
from screening.outputs.map.flow_lines import flow_lines
from screening.outputs.map.hollows import hollows
from screening.outputs.map.live import candidate_tables, live_texts, lot_table
from screening.outputs.map.pack import Pack
from screening.outputs.map.shapes import COARSE, FINE, pack_shapes
from screening.outputs.suitability import suitability_breaks
from screening.ranking.changed_rules import spot_codes
from screening.ranking.criteria import CRITERIA
from screening.result import RANKED, Screening
from screening.streets.inlets import NO_INLET
from screening.streets.totals import NO_STREET

__all__ = ["Contents", "contents_of", "page_contents", "page_texts", "settled_columns"]

_STEPS: Final[dict[str, int]] = {
    "lots": COARSE, "roof_pieces": COARSE, "roof_shares": FINE, "downspouts": FINE, "open_ground": COARSE,
    "candidates": FINE, "leads": FINE, "overflow_paths": FINE, "streets": COARSE, "inlets": COARSE, "water": COARSE,
    "catchments": COARSE, "flow": COARSE, "hollows": COARSE,
}  # fmt: skip
"""Steps in a degree of each layer that is drawn."""

_OFF_PAGE: Final = frozenset({"problems", "curves"})
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


@dataclass(frozen=True)
class Contents:
    """What pages hold of the tables, made once for an area and taken from for each page.

    Parameters
    ----------
    columns
        Columns of each table, and of what the page needs to judge lots anew.
    shapes
        Geometries of each table that is drawn, working CRS, rows as in the columns.
    """

    columns: dict[str, Columns]
    shapes: dict[str, NDArray[np.object_]]

    def of(self, rows: Mapping[str, NDArray[np.int64]]) -> Contents:
        """The rows of one page, by table; ``lots`` among them."""
        lots = np.full(self.columns["lots"].rows, -1, dtype=np.int64)
        lots[rows["lots"]] = np.arange(len(rows["lots"]))
        return Contents(
            {name: self.columns[name].of(own, lots) for name, own in rows.items()},
            {name: self.shapes[name][own] for name, own in rows.items() if name in self.shapes},
        )


def settled_columns(found: Screening) -> dict[str, Columns]:
    """What pages hold of the tables that ranking leaves as they are; ``found`` may be ranked or not."""
    ids = found.places["lot_id"]
    settled = {name: _shown(name, found.tables[name], ids) for name in _on_page(found) if name not in RANKED}
    return settled | {name: columns_of(*made, ids) for name, made in candidate_tables(found).items()}


def contents_of(result: Screening, *, addresses: bool = True, settled: Mapping[str, Columns] | None = None) -> Contents:
    """What pages hold of a result's tables.

    Parameters
    ----------
    result
        The result of a run.
    addresses
        False leaves the lots' addresses out.
    settled
        What ``settled_columns`` made of it, where that is done.
    """
    ids = result.tables["lots"]["lot_id"]
    known = settled or settled_columns(result)
    columns = {
        name: known[name] if name in known else _shown(name, result.tables[name], ids, addresses=addresses)
        for name in _on_page(result)
    }
    columns |= {"judged": known["judged"], "own": columns_of(*lot_table(result), ids)}
    columns["kept_reasons"] = known["kept_reasons"]
    drawn = [name for name in columns if name in _STEPS and "geometry" in result.tables[name].columns]
    return Contents(columns, {name: np.array(result.tables[name].geometry.array, dtype=object) for name in drawn})


def _on_page(result: Screening) -> list[str]:
    """Tables that the page holds."""
    return [name for name in TABLES if name in result.tables and name not in _OFF_PAGE]


def _shown(name: str, table: Any, ids: pd.Series[Any], *, addresses: bool = True) -> Columns:
    """What the page holds of a table."""
    left_out = _LEFT_OUT.get(name, frozenset()) | (frozenset() if addresses else {"address"})
    shown = tuple(field for field in TABLES[name] if field.name not in left_out)
    return columns_of(table, shown, None if name == "lots" else ids)


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


def page_contents(
    result: Screening, contents: Contents | None = None, *, addresses: bool = True
) -> tuple[dict[str, Any], str]:
    """Everything that the page holds besides the texts of ``page_texts``.

    Parameters
    ----------
    result
        The result of a run; only what lies around the page's lots matters of its layers and rasters.
    contents
        What the page holds of the tables; all of it unless told.
    addresses
        Whether the lots' addresses are among it, where ``contents`` is not told.

    Returns
    -------
    tuple
        What goes into the page as JSON, and the packed numbers as base64.
    """
    contents = contents or contents_of(result, addresses=addresses)
    pack = Pack()
    tables: dict[str, Any] = {}
    for name, columns in contents.columns.items():
        tables[name] = columns.add_to(pack)
        if name in contents.shapes:
            tables[name]["shapes"] = pack_shapes(pack, contents.shapes[name], result.crs, _STEPS[name])
    drawn = {name: result.layers[name] for name in ("inlets", "water") if name in result.layers}
    for name, frame in (drawn | _drawn_from_rasters(result)).items():
        tables[name] = columns_of(pd.DataFrame(frame), _EXTRA[name]).add_to(pack)
        tables[name]["shapes"] = pack_shapes(pack, _one_kind(frame), result.crs, _STEPS[name])
    reasons = {
        code: {"head": r.head, "sentence": r.sentence, "unit": r.unit, "rule": r.rule} for code, r in REASONS.items()
    }
    meta = {
        "reasons": reasons, "severities": list(SEVERITIES), "tables": tables, "sections": pack.directory(),
        "spot_codes": list(spot_codes(result.tables["candidates"], result.rules)),
    }  # fmt: skip
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
        "no_inlet": NO_INLET,
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

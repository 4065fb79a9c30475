"""Made-up lots judged with a field file: written as CSV, read, reduced, and taken through siting."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from affine import Affine

from screening.area import Area, AreaContext, Block
from screening.grid import Grid
from screening.inputs.field_file import read_field_files
from screening.ranking.verdict import verdicts
from screening.season.reduce import reduce_field, with_basements
from screening.siting import ground, judge, search
from screening.siting.field_results import with_field_results
from screening.soils import candidate_soils
from tests.siting.lots import CRS_METRE, make_block


def write_field(path: Path, *rows: dict[str, Any]) -> Path:
    """A field file of these rows; dates run on where none is given, numbers are metric."""
    filled = [{"date": f"2026-05-{n + 1:02d}", "units": "metric", **row} for n, row in enumerate(rows)]
    names = list(dict.fromkeys(name for row in filled for name in row))
    lines = [",".join(names), *(",".join(str(row.get(name, "")) for name in names) for row in filled)]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def hole(lot: str, *hours: float, x: float | None = None, y: float | None = None, **more: Any) -> dict[str, Any]:
    """A soil test in a hole 0.6 m deep and 0.3 m wide."""
    at = {} if x is None else {"x": x, "y": y}
    fills = {f"fill_{number}_h": value for number, value in enumerate(hours, 1)}
    return {"lot": lot, "what": "test", "hole_depth": 60, "hole_width": 30, **fills, **at, **more}


def area_of(block: Block, field: Path | None) -> Area:
    """The block as an area of its own, with a field file."""
    grid = Grid.from_array(block.rasters["heights_m"], block.transform or Affine.identity(), crs=CRS_METRE)
    results = None if field is None else read_field_files([field], block.layers["lots"]["lot_id"], crs=CRS_METRE)
    return Area(
        "made up", CRS_METRE, CRS_METRE, 1.0, grid, block.layers, soils=block.soils, field_results=results
    )  # fmt: skip


def judged(field: Path | None, **site: Any) -> tuple[dict[str, Any], Any, AreaContext]:
    """Verdict by lot, tables and context of a made-up site with a field file."""
    block, context = make_block(margin_m=10.0, **site)
    area = with_basements(area_of(block, field))
    block = replace(block, layers=area.layers)
    if "basement" in block.tables["roof_pieces"]:
        told = area.layers["roofs"].set_index("roof_id")["basement"]
        pieces = block.tables["roof_pieces"]
        block = block.with_tables(
            {"roof_pieces": pieces.assign(basement=told.reindex(pieces["roof_id"]).to_numpy(dtype=object))}
        )
    context = replace(context, field=reduce_field(area, context.rules))
    mask, tables = ground(block, context)
    block = block.with_tables(tables)
    block = block.with_tables(search(block, context, mask))
    block = block.with_tables(candidate_soils(block, context))
    block = block.with_tables(with_field_results(block, context))
    block = block.with_tables(judge(block, context))
    found = verdicts(block.lots["lot_id"], block.tables["reasons"]).set_index("lot_id")
    return found.to_dict("index"), block.tables, context

"""What a run found, put together for outputs: first its ground, then its tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

import pandas as pd

from screening.area import Area, AreaContext
from screening.blocks.run_record import run_record
from screening.fields import TABLES, conform
from screening.result import Screening

__all__ = ["ground_of", "with_tables"]

DRAWN_LAYERS: Final = (
    "streets",
    "inlets",
    "water",
    "trees",
    "paved",
    "wells",
    "septic",
    "easements",
    "buried",
    "avoid",
)

WRITTEN_RASTERS: Final = {
    "heights_m": "heights_m",
    "slope_pct": "slope_pct",
    "flow_direction": "direction",
    "accumulation_cells": "accumulation",
    "hollow_depth_m": "hollow_depth_m",
    "carved_m": "carved_m",
}
"""Rasters of a result, and what they are called inside a block."""


def ground_of(area: Area, rasters: Mapping[str, Any], context: AreaContext) -> Screening:
    """A result as far as it is known before any lot is looked at: rasters and layers, no tables, no record."""
    return Screening(
        title=area.title,
        crs=area.crs,
        output_crs=area.output_crs,
        unit_m=area.unit_m,
        tables={},
        layers={name: area.layers[name] for name in DRAWN_LAYERS if name in area.layers},
        rasters={name: rasters[source] for name, source in WRITTEN_RASTERS.items()},
        rules=context.rules,
        notes=context.notes,
        own_rules=context.own_rules,
        background=area.background,
    )


def with_tables(ground: Screening, area: Area, context: AreaContext, tables: Mapping[str, Any]) -> Screening:
    """The whole result: the tables, the problems of reading among them, and the record of the run."""
    tables = {**tables, "problems": _all_problems(area.problems, tables["problems"])}
    return replace(ground, tables=tables, record=run_record(area, context, tables))


def _all_problems(reading: Any | None, stages: Any) -> Any:
    """Problems of reading, then those that the stages found."""
    if reading is None or not len(reading):
        return stages
    if not len(stages):
        return conform(reading, TABLES["problems"])
    return conform(pd.concat([reading, stages], ignore_index=True), TABLES["problems"])

"""Every column of every table and every raster layer, once.

``TABLES`` drives the tables, the heads of the CSV files, ``columns.csv``, the map's data and the docs; one test goes
over all of it. ``conform`` puts a table into its declared shape: columns, order, types and rounding (half up, on
integers, one step a column), so that page, pocket calculator and CSV agree.
"""

from __future__ import annotations

from screening.fields.candidate_tables import CANDIDATES, LEADS, OPEN_GROUND, OVERFLOW_PATHS, TAKEN
from screening.fields.conform import conform, round_half_up
from screening.fields.field import Field
from screening.fields.ids import rows_of
from screening.fields.layers import LAYERS
from screening.fields.lots_table import LOTS
from screening.fields.reason_codes import REASONS, SEVERITIES, Reason
from screening.fields.roof_tables import DOWNSPOUTS, ROOF_PIECES, ROOF_SHARES
from screening.fields.season_table import OFF_LIST, SEASON
from screening.fields.summary_tables import CATCHMENTS, CURVES, INLETS, PROBLEMS, REASON_ROWS, SOIL_LOTS, STREETS

__all__ = [
    "LAYERS",
    "OFF_LIST",
    "REASONS",
    "SEVERITIES",
    "TABLES",
    "Field",
    "Reason",
    "conform",
    "round_half_up",
    "rows_of",
]

TABLES: dict[str, tuple[Field, ...]] = {
    "lots": LOTS,
    "roof_pieces": ROOF_PIECES,
    "roof_shares": ROOF_SHARES,
    "downspouts": DOWNSPOUTS,
    "open_ground": OPEN_GROUND,
    "taken": TAKEN,
    "candidates": CANDIDATES,
    "leads": LEADS,
    "overflow_paths": OVERFLOW_PATHS,
    "soil_lots": SOIL_LOTS,
    "reasons": REASON_ROWS,
    "streets": STREETS,
    "curves": CURVES,
    "inlet_totals": INLETS,
    "catchments": CATCHMENTS,
    "season": SEASON,
    "problems": PROBLEMS,
}
"""Tables by name, each a tuple of its columns in order. A geometry column is named ``geometry``."""

"""What the stages are given: the area as read, one block of it, and what is known of the whole area.

``Area`` is what the inputs room hands on: everything in the working CRS (metre), columns under the names listed
here, whatever the user's files call them. A ``Block`` is some lots with what lies around them; an ``AreaContext``
holds the rules and what is known of the whole area. Every stage from soils to capture is ``stage(block, context) ->
tables``, and nothing in a stage may depend on which other lots share its block.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

import geopandas as gpd
import numpy as np
import pandas as pd
from affine import Affine
from numpy.typing import NDArray
from pyproj import CRS

from screening.background import Background
from screening.grid import Grid
from screening.lot_rules import OwnRules
from screening.rules import Rules

__all__ = ["FOUND_COLUMNS", "LAYER_COLUMNS", "Area", "AreaContext", "Block", "FieldFacts", "Note", "SoilMap", "Tables"]

T = TypeVar("T")

Tables = dict[str, Any]
"""Tables by name, as ``fields.TABLES`` declares them: DataFrames and GeoDataFrames."""

LAYER_COLUMNS: dict[str, tuple[str, ...]] = {
    "lots": (
        "lot_id",
        "street",
        "address",
        "zone",
        "land_use",
        "owner_occupied",
        "association",
        "place",
        "shared_with",
    ),
    "roofs": ("roof_id", "kind", "roof_kind", "basement", "height_m"),
    "paved": ("kind",),
    "trees": ("trunk_m", "crown_m"),
    "buried": ("kind", "clearance_m"),
    "wells": ("clearance_m",),
    "septic": ("clearance_m",),
    "easements": ("name", "clearance_m"),
    "avoid": ("name", "kind", "clearance_m", "height_m", "effect", "sentence"),
    "water": ("name",),
    "inlets": ("inlet_id",),
    "streets": ("street",),
    "downspouts": ("downspout_id", "leads_to"),
}
"""Columns of each vector layer beside ``geometry``; a column that the user's file lacks is there, all missing.

Text is ``str`` with missing values; lengths are metres: ``trunk_m`` a diameter, ``crown_m`` a radius. ``kind`` is
house, garage or shed for roofs; drive, walk or patio for paving; main or service for buried lines; wall or pool or
other for avoid. ``effect`` is ``no digging`` or ``look closer``. ``leads_to`` is pipe, drive, street or lawn.
``basement``, ``owner_occupied`` and ``association`` are nullable booleans. Lots are sorted by ``lot_id`` (code
points), index 0..n-1; ``place`` is the first lot id of a stack of lots on one place, or the lot that keeps most of one
of which nothing is left, ``shared_with`` the further ids where the first stands for all (see ``places``). No two lots
that stand for a place overlap by more than a little.
"""

FOUND_COLUMNS = frozenset({"place", "shared_with"})
"""Columns of the lots that no file gives: they are found."""


@dataclass(frozen=True, order=True)
class Note:
    """Something the reader of the results must know: what was assumed, what is missing and what that costs."""

    kind: str
    """``assumption``, ``missing``, ``caution`` or ``repair``."""
    text: str
    layer: str = ""


@dataclass(frozen=True, eq=False)
class SoilMap:
    """Soil polygons and what is known of their map units.

    Parameters
    ----------
    polygons
        Columns ``unit`` (text key into ``units``) and geometry, in the working CRS.
    units
        One row a map unit, index ``unit`` (text): ``name``, ``hsg`` (A, B, C, D, A/D, B/D, C/D or unknown),
        ``source`` (survey, derived or none), ``chance_a`` .. ``chance_d`` and ``chance_unknown`` (shares of the unit by
        group, summing to 1), ``ksat_um_s`` (least transmissive layer within the bed's reach; NaN unknown),
        ``water_table_m`` and ``bedrock_m`` (depths; NaN when none was seen).
    """

    polygons: gpd.GeoDataFrame
    units: pd.DataFrame


@dataclass(frozen=True, eq=False)
class Area:
    """One area, read, repaired and in the working CRS."""

    title: str
    crs: CRS
    """Working CRS: the raster's own with the metre as its unit, or a local transverse Mercator after a warp."""
    output_crs: CRS
    """CRS that results go back to."""
    unit_m: float
    """Metres in one horizontal unit of ``output_crs``; working coordinates divided by it are output coordinates."""
    elevation: Grid
    layers: Mapping[str, gpd.GeoDataFrame]
    """Vector layers that were given, by name (``LAYER_COLUMNS``), in the working CRS."""
    surface: Grid | None = None
    soils: SoilMap | None = None
    rain: pd.DataFrame | None = None
    """Columns ``start`` (timestamp), ``step_h`` and ``depth_mm`` (NaN where missing)."""
    field_results: pd.DataFrame | None = None
    """Rows of the field files, as ``inputs.field_file`` reads them."""
    problems: gpd.GeoDataFrame | None = None
    notes: tuple[Note, ...] = ()
    files: Mapping[str, str] = field(default_factory=dict)
    """Input files with the hash of each, for the run record."""
    background: Background | None = None
    """What a reader of the map may lay under it."""

    def given(self, layer: str) -> bool:
        """Whether a layer was given."""
        return layer in self.layers


@dataclass(frozen=True, eq=False)
class FieldFacts:
    """What was learnt in the field, reduced over the whole area (``season.reduce``).

    Parameters
    ----------
    tests
        Soil tests that count: ``lot_id``, ``x_m``, ``y_m``, ``located`` (False: the place is only known to be the
        lot's spot, and x and y are a point on the lot), ``unit`` (position of the map unit, -1 none), ``ksat_um_s``
        and ``ksat_spread`` (what the map says there), ``test_ksat_um_s``, ``slowest_h`` (slowest filling), ``water_m``
        (depth of ground water seen, NaN none).
    levels
        ``lot_id``, ``x_m``, ``y_m`` (NaN where only known to be the lot's spot), ``drop_m`` (ground at the spot below
        the ground at the house).
    consents
        Lots where a lead may cross the easement or main.
    reasons
        ``lot_id, code, severity, measured, limit, detail``: what the household said.
    lots
        Rows of ``fields.TABLES["season"]``, water and geometry still missing.
    """

    tests: pd.DataFrame
    levels: pd.DataFrame
    consents: frozenset[str]
    reasons: pd.DataFrame
    lots: pd.DataFrame


@dataclass(frozen=True, eq=False)
class AreaContext:
    """What a stage may know beyond its block."""

    rules: Rules
    crs: CRS
    given: frozenset[str]
    """Names of the layers that were given, ``soils``, ``surface`` and ``rain`` among them."""
    notes: tuple[Note, ...] = ()
    rain_years: Any = None
    """The rain record made ready for the year's balance (``water.year.RainYears``); None without a record."""
    own_rules: OwnRules = field(default_factory=dict)
    """Rules of single lots that differ from ``rules``."""
    field: FieldFacts | None = None
    """What was learnt in the field; None without field results."""
    inlet_ids: tuple[str, ...] = ()
    """Ids of the area's inlets, in the order of their layer: what the numbers of the raster ``inlet`` stand for."""


@dataclass(frozen=True, eq=False)
class Block:
    """Some lots with what lies around them.

    Parameters
    ----------
    lots
        The block's own lots, in order of ``lot_id``, index 0..n-1.
    layers
        Every vector layer cut to the window (features whole, chosen by bounding box), ``lots`` here being all lots
        around, the block's own among them.
    transform
        Of the window of the elevation raster, halo included.
    rasters
        Windows of one shape: ``heights_m`` (float32 or float64, NaN where none), ``state`` (uint8, see ``grid``),
        ``slope_pct``, ``dz_dx``, ``dz_dy`` (at the rules' scale, m/m, x east and y north, ground without walls),
        ``direction`` (uint8 D8), ``accumulation`` (int64 cells), ``hollow_depth_m``, ``wet`` (bool, hollows that count
        as wet), ``carved_m``, ``reaches`` (uint8, first stop met downstream: see ``siting.overflow``), ``enters``
        (int32, roof number + 1 of the first building's setback entered downstream, 0 none), ``inlet`` (int32, number of
        the inlet in the area's layer + 1 that the cell's water ends in, 0 none); and, where the rules ask for run-on,
        ``upslope_unknown`` (bool, ground without elevation may drain through the cell).
    tables
        Rows of the stages that came before.
    soils, surface
        As in ``Area``, cut to the window.
    """

    lots: gpd.GeoDataFrame
    layers: Mapping[str, gpd.GeoDataFrame]
    transform: Affine
    rasters: Mapping[str, NDArray[Any]]
    tables: Mapping[str, Any] = field(default_factory=dict)
    soils: SoilMap | None = None
    surface: NDArray[Any] | None = None
    _read: dict[Hashable, Any] = field(init=False, repr=False, default_factory=dict)

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of the window."""
        rows, columns = self.rasters["heights_m"].shape
        return int(rows), int(columns)

    @property
    def cell_x_m(self) -> float:
        """Width of a cell [m]."""
        return float(self.transform.a)

    @property
    def cell_y_m(self) -> float:
        """Height of a cell [m]."""
        return float(-self.transform.e)

    def with_tables(self, tables: Tables) -> Block:
        """The block with the rows of one more stage."""
        block = replace(self, tables={**self.tables, **tables})
        object.__setattr__(block, "_read", self._read)
        return block

    def once(self, what: Hashable, read: Callable[[], T]) -> T:
        """What ``read`` makes of the block's lots, layers and rasters, made once and kept for later stages.

        Parameters
        ----------
        what
            What it is: the function that reads it, and whatever else it depends on. Never the tables.
        read
            Called when nobody asked before.
        """
        if what not in self._read:
            self._read[what] = read()
        found: T = self._read[what]
        return found


def empty_rasters(shape: tuple[int, int]) -> dict[str, NDArray[Any]]:
    """Rasters of a block on flat dry ground, for tests and examples."""
    zeros = np.zeros(shape)
    return {
        "heights_m": zeros,
        "state": np.zeros(shape, dtype=np.uint8),
        "slope_pct": zeros,
        "dz_dx": zeros,
        "dz_dy": zeros,
        "direction": np.zeros(shape, dtype=np.uint8),
        "accumulation": np.ones(shape, dtype=np.int64),
        "hollow_depth_m": zeros,
        "wet": np.zeros(shape, dtype=bool),
        "carved_m": zeros,
        "reaches": np.zeros(shape, dtype=np.uint8),
        "enters": np.zeros(shape, dtype=np.int32),
        "inlet": np.zeros(shape, dtype=np.int32),
    }

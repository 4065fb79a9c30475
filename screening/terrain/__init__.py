"""Terrain: where water runs on an elevation raster, and how steep the ground is.

The guide `screening/guide/terrain.md` explains the method on a drawn example. In memory: `route` (everything) and
`drain` (the fastest), `fate`, `flow_path`, `catchments`, `d_infinity`, `slope_pct`, `aspect_deg`, `gradient_at_scale`.
Larger than memory: `route_tiles`, `route_on_dask`, `fate_tiles`, `slope_tiles`. Layers are the same, bit for bit,
however a raster is cut and on however many threads or workers.
"""

from screening.terrain.culverts import cut_culverts
from screening.terrain.fate import Fate, catchments, fate, flow_accumulation, flow_path
from screening.terrain.fate_in_tiles import CellLabels, fate_tiles
from screening.terrain.grid_sources import GridSource, MemoryGrid, RasterGrid, WithCuts, WithOutlets
from screening.terrain.hollows import PARTS_PER_UNIT, Hollows, KeepHollows
from screening.terrain.in_tiles import RoutingSinks, TiledRouting, route_tiles
from screening.terrain.infinity import DInfinity, d_infinity
from screening.terrain.on_dask import route_on_dask
from screening.terrain.routing import Drainage, Routing, drain, route
from screening.terrain.slope import (
    aspect_deg,
    downslope_deg,
    gradient_at_scale,
    slope_at_scale_pct,
    slope_pct,
    steepness_pct,
)
from screening.terrain.slope_in_tiles import slope_tiles
from screening.terrain.unknown import upslope_unknown

__all__ = [
    "PARTS_PER_UNIT",
    "CellLabels",
    "DInfinity",
    "Drainage",
    "Fate",
    "GridSource",
    "Hollows",
    "KeepHollows",
    "MemoryGrid",
    "RasterGrid",
    "Routing",
    "RoutingSinks",
    "TiledRouting",
    "WithCuts",
    "WithOutlets",
    "aspect_deg",
    "catchments",
    "cut_culverts",
    "d_infinity",
    "downslope_deg",
    "drain",
    "fate",
    "fate_tiles",
    "flow_accumulation",
    "flow_path",
    "gradient_at_scale",
    "route",
    "route_on_dask",
    "route_tiles",
    "slope_at_scale_pct",
    "slope_pct",
    "slope_tiles",
    "steepness_pct",
    "upslope_unknown",
]

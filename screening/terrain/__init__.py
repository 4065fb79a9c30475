"""Terrain: where water runs on an elevation raster, and how steep the ground is."""

from screening.terrain.culverts import cut_culverts
from screening.terrain.fate import Fate, catchments, fate, flow_path
from screening.terrain.hollows import PARTS_PER_UNIT, Hollows, KeepHollows
from screening.terrain.routing import Drainage, Routing, drain, route
from screening.terrain.slope import aspect_deg, downslope_deg, gradient_at_scale, slope_at_scale_pct, slope_pct

__all__ = [
    "PARTS_PER_UNIT",
    "Drainage",
    "Fate",
    "Hollows",
    "KeepHollows",
    "Routing",
    "aspect_deg",
    "catchments",
    "cut_culverts",
    "downslope_deg",
    "drain",
    "fate",
    "flow_path",
    "gradient_at_scale",
    "route",
    "slope_at_scale_pct",
    "slope_pct",
]

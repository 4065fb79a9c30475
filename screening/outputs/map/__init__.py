"""The map: one page that holds everything it needs."""

from __future__ import annotations

from screening.outputs.map.pages import map_jobs, write_maps
from screening.outputs.map.public_page import write_public_map
from screening.outputs.map.shell import map_page, write_map

__all__ = ["map_jobs", "map_page", "write_map", "write_maps", "write_public_map"]

"""A made-up suburb of any number of lots, for timings: streets, lots, roofs, soils and noisy ground.

Nothing in it is a real place. Blocks of two rows of lots back to back, streets between them; every lot has a house of
one of three shapes and two of three have a garage or shed behind it.
"""

from __future__ import annotations

import math
from pathlib import Path

import geopandas as gpd
import numpy as np
import rasterio
import shapely
from affine import Affine
from scipy.ndimage import gaussian_filter

__all__ = ["make_suburb"]

CRS = "EPSG:32633"
WEST, SOUTH = 400_000.0, 5_200_000.0
LOT_M, DEPTH_M, STREET_M, ALONG = 21.0, 39.0, 13.0, 9
EDGE_M = 60.0

AREA_FILE = """\
title = "Made-up suburb for timings"
[elevation]
file = "elevation.tif"
vertical_unit = "m"
[lots]
file = "lots.gpkg"
id = "lot_id"
street = "street"
[roofs]
file = "roofs.gpkg"
[soils]
file = "soils.gpkg"
group = "group"
[streets]
file = "streets.gpkg"
street = "street"
"""


def make_suburb(folder: Path, lots: int, seed: int = 7) -> Path:
    """Write a suburb of so many lots and its area file; return the area file's path."""
    rng = np.random.default_rng(seed)
    folder.mkdir(parents=True, exist_ok=True)
    blocks = math.ceil(lots / (2 * ALONG))
    wide, deep = ALONG * LOT_M + STREET_M, 2 * DEPTH_M + STREET_M
    across = max(1, round(math.sqrt(blocks * deep / wide)))
    down = math.ceil(blocks / across)
    west, south, front = _places(lots, across, wide, deep)
    plots = shapely.box(west, south, west + LOT_M, south + DEPTH_M)
    street_of = np.rint((front - SOUTH) / deep).astype(int)
    names = np.array([f"Row {number:03d}" for number in range(down + 1)], dtype=object)
    ids = np.array([f"L{number:06d}" for number in range(lots)], dtype=object)
    _write(folder / "lots.gpkg", plots, lot_id=ids, street=names[street_of])
    _write(folder / "roofs.gpkg", _roofs(west, south, front > south + 1.0, rng))
    ends = WEST - STREET_M / 2, WEST + across * wide - STREET_M / 2
    y = SOUTH + deep * np.arange(down + 1) - STREET_M / 2
    lines = shapely.linestrings([[(ends[0], at), (ends[1], at)] for at in y])
    _write(folder / "streets.gpkg", lines, street=names)
    _soils(folder / "soils.gpkg", across * wide, down * deep, rng)
    _ground(folder / "elevation.tif", across * wide, down * deep, y, rng)
    (folder / "area.toml").write_text(AREA_FILE, encoding="utf-8")
    return folder / "area.toml"


def _places(lots, across, wide, deep):
    """South-west corner of each lot, and the y of its street line."""
    number = np.arange(lots)
    block, within = number // (2 * ALONG), number % (2 * ALONG)
    row, column = within // ALONG, within % ALONG
    west = WEST + (block % across) * wide + column * LOT_M
    south = SOUTH + (block // across) * deep + row * DEPTH_M
    return west, south, np.where(row == 0, south, south + DEPTH_M)


def _roofs(west, south, faces_north, rng):
    """A house on each lot, 7 m off its street; behind it a garage or a shed on two lots of three."""
    count = len(west)
    x = west + rng.uniform(4.0, 6.0, count)
    width, depth = rng.uniform(9.0, 11.0, count), rng.uniform(7.5, 10.0, count)
    y = np.where(faces_north, south + DEPTH_M - 7.0 - depth, south + 7.0)
    houses = shapely.box(x, y, x + width, y + depth)
    ell = rng.random(count) < 0.5
    back = np.where(faces_north, y - 3.5, y + depth - 0.01)
    wing = shapely.box(x, back, x + 0.45 * width, back + 3.51)
    houses[ell] = shapely.union(houses[ell], wing[ell])
    some = rng.random(count) < 2.0 / 3.0
    side = rng.uniform(2.5, 6.0, count)
    far = np.where(faces_north, south + 2.0, south + DEPTH_M - 2.0 - side)
    small = shapely.box(west + LOT_M - 2.0 - side, far, west + LOT_M - 2.0, far + side)[some]
    return np.concatenate([houses, small])


def _soils(path, width_m, height_m, rng):
    """Patches of four groups, cut along lines that wander."""
    count = max(4, int(width_m * height_m / 60_000))
    seeds = shapely.multipoints(rng.uniform((WEST, SOUTH), (WEST + width_m, SOUTH + height_m), (count, 2)))
    window = shapely.box(WEST - EDGE_M, SOUTH - EDGE_M, WEST + width_m + EDGE_M, SOUTH + height_m + EDGE_M)
    patches = shapely.get_parts(shapely.voronoi_polygons(seeds, extend_to=window))
    patches = shapely.intersection(shapely.segmentize(patches, 15.0), window)
    _write(path, patches, group=rng.choice(["A", "B", "C", "D"], len(patches), p=[0.1, 0.45, 0.3, 0.15]))


def _ground(path, width_m, height_m, streets_y, rng):
    """Ground that falls to the south-east, rolls, dips at the streets, and has the noise of a survey from the air."""
    columns, rows = int(width_m + 2 * EDGE_M), int(height_m + 2 * EDGE_M)
    x = np.arange(columns, dtype=np.float32)
    y = SOUTH + height_m + EDGE_M - 0.5 - np.arange(rows)
    ground = np.zeros((rows, columns), dtype=np.float32)
    for sigma, size in ((120.0, 3.0), (25.0, 0.5), (3.0, 0.06)):
        # drawn coarsely, then spread; white noise so smoothed has a deviation of 1 / (2 sqrt(pi) sigma)
        step = max(1, int(sigma / 4))
        height = size * 2.0 * math.sqrt(math.pi) * sigma / step
        coarse = rng.normal(0.0, 1.0, (rows // step + 2, columns // step + 2)).astype(np.float32)
        coarse = gaussian_filter(coarse, sigma / step)
        spread = np.repeat(np.repeat(coarse * np.float32(height), step, 0), step, 1)[:rows, :columns]
        ground += gaussian_filter(spread, step / 2.0) if step > 1 else spread
    ground += 0.012 * (y - SOUTH).astype(np.float32)[:, None] - 0.006 * x[None, :] + 300.0
    off = np.abs(y[:, None] - streets_y[None, :]).min(axis=1)
    ground -= (0.35 * np.exp(-((off / 5.0) ** 2))).astype(np.float32)[:, None]
    ground += rng.normal(0.0, 0.02, ground.shape).astype(np.float32)
    transform = Affine(1.0, 0.0, WEST - EDGE_M, 0.0, -1.0, SOUTH + height_m + EDGE_M)
    how = {"height": rows, "width": columns, "count": 1, "dtype": "float32", "crs": CRS, "transform": transform}
    with rasterio.open(path, "w", driver="GTiff", nodata=-9999.0, compress="deflate", tiled=True, **how) as target:
        target.write(ground, 1)


def _write(path, shapes, **columns):
    gpd.GeoDataFrame(columns, geometry=np.asarray(shapes), crs=CRS).to_file(path, driver="GPKG")

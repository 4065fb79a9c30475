import geopandas as gpd
import numpy as np
import pytest
from affine import Affine
from pyproj import CRS
from shapely.geometry import Point, box

from screening import Grid, area_from_layers
from screening.blocks.area_terrain import area_catchments, area_terrain
from screening.grid import WALL
from screening.rules import Rules
from screening.terrain import flow_path

UTM = CRS.from_epsg(32631)
WEST, NORTH = 500_000.0, 4_000_100.0
AT = {"i1": (45.5, 60.5), "i2": (45.5, 95.5), "i3": (104.5, 95.5), "off the map": (-500.0, 0.0)}


def two_valleys():
    """Two valleys that run south side by side, the ridge at 75 m; two inlets in the west one, one in the east."""
    y, x = np.mgrid[0:100, 0:150] + 0.5
    ground = 100 + 0.05 * np.minimum(abs(x - 45.5), abs(x - 104.5)) + 0.02 * (100 - y)
    grid = Grid.from_array(ground.astype(np.float32), Affine(1, 0, WEST, 0, -1, NORTH), crs=UTM)
    places = [(10, 20), (60, 20), (110, 40)]
    lots = [box(WEST + x, NORTH - y - 30, WEST + x + 25, NORTH - y) for x, y in places]
    roofs = [box(WEST + x + 8, NORTH - y - 18, WEST + x + 18, NORTH - y - 10) for x, y in places]
    points = [Point(WEST + x, NORTH - y) for x, y in AT.values()]
    return area_from_layers(
        grid,
        gpd.GeoDataFrame({"lot_id": list("abc")}, geometry=lots, crs=UTM),
        gpd.GeoDataFrame({"roof_id": list("abc")}, geometry=roofs, crs=UTM),
        inlets=gpd.GeoDataFrame({"inlet_id": list(AT)}, geometry=points, crs=UTM),
        title="Two valleys",
    )


def test_a_valley_belongs_to_its_inlets_as_far_as_the_next_one_up():
    area = two_valleys()
    table = area_catchments(area, area_terrain(area, Rules()))
    assert table["inlet_id"].tolist() == ["i1", "i2", "i3"]
    # water runs straight down the sides, five in a hundred, and then along the valley; the raster's edge drains out
    west, rest, east = table["area_m2"]
    assert west == pytest.approx(75 * 60, abs=2 * (75 + 60))
    assert rest == pytest.approx(75 * 35, abs=2 * (75 + 35))
    assert east == pytest.approx(75 * 95, abs=2 * (75 + 95))


def test_water_of_a_catchment_s_ground_meets_its_inlet_first():
    area = two_valleys()
    rasters = area_terrain(area, Rules())
    table = area_catchments(area, rasters)
    direction, state = rasters["direction"].read(), rasters["state"].read()
    seen = dict.fromkeys(table["inlet_id"], 0)
    for name, outline in zip(table["inlet_id"], table.geometry, strict=True):
        inner = outline.buffer(-3)
        for row, column in np.argwhere(state != WALL)[::11].tolist():
            if not inner.contains(Point(WEST + column + 0.5, NORTH - row - 0.5)):
                continue
            rows, columns = flow_path(direction, row, column)
            met = [
                inlet
                for r, c in zip(rows.tolist(), columns.tolist(), strict=True)
                for inlet, (x, y) in AT.items()
                if np.hypot(c + 0.5 - x, r + 0.5 - y) < 0.71
            ]
            assert met[:1] == [name], (row, column)
            seen[name] += 1
    assert min(seen.values()) > 100


def test_no_inlets_no_catchments():
    area = two_valleys()
    none = area_from_layers(area.elevation, area.layers["lots"], area.layers["roofs"], title="None")
    assert len(area_catchments(none, {})) == 0

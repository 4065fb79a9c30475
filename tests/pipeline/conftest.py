"""A small made-up neighbourhood in memory: nine lots on rolling ground, roofs of several shapes, a street."""

import geopandas as gpd
import numpy as np
import pytest
from affine import Affine
from pyproj import CRS
from shapely.affinity import translate
from shapely.geometry import LineString, Polygon, box

from screening import Grid, area_from_layers
from screening.pipeline import screen

UTM = CRS.from_epsg(32631)
WEST, NORTH = 500000.0, 4000120.0
L_SHAPE = Polygon([(0, 0), (12, 0), (12, 6), (4, 6), (4, 10), (0, 10)])


def rolling(rows, columns, seed=5):
    y, x = np.mgrid[0:rows, 0:columns]
    rng = np.random.default_rng(seed)
    ground = 100 + 0.03 * (rows - y) + 0.4 * np.sin(x / 17.0) + 0.3 * np.cos(y / 13.0)
    return (ground + rng.normal(0, 0.02, ground.shape)).astype(np.float32)


def made_up_area(stacked=None, **layers):
    """The neighbourhood; ``stacked`` lots, by id, lie on the place of the lot whose number they have."""
    stacked = stacked or {}
    grid = Grid.from_array(rolling(120, 150), Affine(1, 0, WEST, 0, -1, NORTH), crs=UTM)
    lots, roofs = [], []
    for number in range(9):
        x = WEST + 15 + (number % 5) * 24
        y = NORTH - 60 if number < 5 else NORTH - 105
        lots.append(box(x, y, x + 22, y + 40))
        shape = translate(L_SHAPE, x + 5, y + 12) if number % 2 else box(x + 5, y + 12, x + 16, y + 21)
        roofs.append(shape)
    ids = [*(f"{n:03d}" for n in range(9)), *stacked]
    lots += [lots[number] for number in stacked.values()]
    address = [*[None] * 9, *(f"{id_} Made-up Street" for id_ in stacked)]
    lot_table = gpd.GeoDataFrame({"lot_id": ids, "address": address}, geometry=lots, crs=UTM)
    roof_table = gpd.GeoDataFrame({"roof_id": [f"R{n}" for n in range(9)]}, geometry=roofs, crs=UTM)
    street = LineString([(WEST, NORTH - 62.5), (WEST + 150, NORTH - 62.5)])
    streets = gpd.GeoDataFrame({"street": ["Made-up Street"]}, geometry=[street], crs=UTM)
    return area_from_layers(grid, lot_table, roof_table, streets=streets, title="Made up", **layers)


@pytest.fixture(scope="session")
def area():
    return made_up_area()


@pytest.fixture(scope="session")
def result(area):
    return screen(area)

"""Small lots, roofs and downspouts for the tests of this room."""

import geopandas as gpd
import numpy as np
import pytest
from shapely import Point

from screening.roofs import share_roofs
from screening.rules import Rules

CRS = "EPSG:32615"


def lot_table(*shapes):
    return gpd.GeoDataFrame({"lot_id": [f"L{i}" for i in range(len(shapes))]}, geometry=list(shapes), crs=CRS)


def roof_table(*shapes, **columns):
    ids = [f"R{i}" for i in range(len(shapes))]
    return gpd.GeoDataFrame({"roof_id": ids, **columns}, geometry=list(shapes), crs=CRS)


def spout_table(*points, **columns):
    return gpd.GeoDataFrame(columns, geometry=[Point(point) for point in points], crs=CRS, index=range(len(points)))


@pytest.fixture
def share():
    """Share roofs on lots; returns the stage's tables."""

    def run(lots, roofs, spouts=None, surface=None, **rules):
        lots = lots if isinstance(lots, list) else [lots]
        roofs = roofs if isinstance(roofs, gpd.GeoDataFrame) else roof_table(*np.atleast_1d(roofs))
        return share_roofs(roofs, lot_table(*lots), spouts, Rules(**rules), surface)

    return run

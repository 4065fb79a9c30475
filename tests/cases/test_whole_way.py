"""The made-up lots through the whole way: terrain, roof shares, ground, search, soils, ranking."""

from __future__ import annotations

import math

import geopandas as gpd
import pytest

from screening import Grid, area_from_layers
from screening.pipeline import screen
from tests.cases.more_sites import MORE_SITES
from tests.cases.sites import EVERYWHERE, SITES
from tests.siting.lots import CRS_METRE, make_block

# not: tests in the field (another table), downspouts that only a given layer could name
WHOLE = [site for site in (*SITES, *MORE_SITES) if not site.tests and site.downspouts is None]


def screened(site):
    """The first lot of a site, screened with everything that the tool finds by itself."""
    soils = site.soils or ({"geometry": EVERYWHERE, "hsg": site.group},)
    block, _ = make_block(
        site.plane, site.lots, site.roofs, site.streets, margin_m=10.0, ground=site.ground, soils=soils, **site.layers
    )
    grid = Grid.from_array(block.rasters["heights_m"], block.transform, crs=CRS_METRE)
    layers = {name: gpd.GeoDataFrame(layer) for name, layer in block.layers.items()}
    result = screen(area_from_layers(grid, layers.pop("lots"), layers.pop("roofs"), soils=block.soils, **layers))
    row = result.tables["lots"].iloc[0]
    chosen = result.tables["candidates"].query("chosen and lot_id == @row.lot_id")
    return row, chosen


@pytest.mark.parametrize("site", WHOLE, ids=lambda site: site.name)
def test_whole_way(site):
    row, chosen = screened(site)
    assert row["verdict"] == site.verdict, row["reasons"]
    if site.places:
        spot = (float(chosen["x_m"].iloc[0]), float(chosen["y_m"].iloc[0]))
        assert min(math.dist(spot, place) for place in site.places) <= site.tolerance_m, spot

from dataclasses import replace

import numpy as np
import pytest
from shapely import Point

from screening.siting.crowns import surface_crowns
from screening.siting.setback_layers import crowns
from tests.siting.lots import make_block, standard_lot


def seen(height_m=6.0, radius_m=3.0, centre=(10.0, 31.0), **given):
    block, context = make_block(plane=(0.0, 0.03), **standard_lot(**given))
    rows, columns = block.shape
    x = block.transform.c + (np.arange(columns) + 0.5)[None, :]
    y = block.transform.f - (np.arange(rows) + 0.5)[:, None]
    crown = np.hypot(x - centre[0], y - centre[1]) < radius_m
    surface = (
        block.rasters["heights_m"] + np.where(crown, height_m, 0.0) + np.where(block.rasters["state"] == 1, 5.0, 0.0)
    )
    return replace(block, surface=surface), context


def test_a_crown_is_seen_and_a_roof_is_not():
    block, context = seen()
    found = surface_crowns(block, context.rules)
    assert len(found) == 1
    assert found[0].area == pytest.approx(np.pi * 9, rel=0.15)
    assert found[0].centroid.distance(Point(10, 31)) < 0.5


@pytest.mark.parametrize(("height_m", "radius_m"), [(2.5, 3.0), (6.0, 1.2)])
def test_shrubs_and_masts_are_no_trees(height_m, radius_m):
    block, context = seen(height_m, radius_m)
    assert len(surface_crowns(block, context.rules)) == 0


def test_a_tree_that_is_known_speaks_for_its_crown():
    block, context = seen(trees=[{"geometry": Point(10, 31), "trunk_m": 0.3}])
    assert len(surface_crowns(block, context.rules)) == 0
    other, _ = seen(trees=[{"geometry": Point(2, 2), "crown_m": 4.0}])
    assert crowns(other, context)["clearance_m"].tolist() == [4.0, 0.0]


def test_without_a_surface_raster_nothing_is_seen():
    block, context = make_block(**standard_lot())
    assert len(surface_crowns(block, context.rules)) == 0
    assert len(crowns(block, context)) == 0

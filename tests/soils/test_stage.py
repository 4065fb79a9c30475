from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from affine import Affine

from screening.area import AreaContext, Block, empty_rasters
from screening.fields import TABLES
from screening.rules import Rules
from screening.soils import assess, candidate_soils, from_groups

RULES = Rules()
TRANSFORM = Affine(1, 0, 0, 0, -1, 10)
CONTEXT = AreaContext(RULES, crs=None, given=frozenset({"soils"}))


@dataclass(frozen=True)
class Cells:
    transform: Affine
    lot: np.ndarray
    open_ground: np.ndarray

    def open_cells(self):
        return self.open_ground


def block(**tables):
    lots = gpd.GeoDataFrame({"lot_id": ["a", "b"]}, geometry=[shapely.box(0, 0, 10, 10), shapely.box(10, 0, 20, 10)])
    roofs = gpd.GeoDataFrame({"roof_id": ["r"]}, geometry=[shapely.box(12, 0, 16, 10)])
    polygons = gpd.GeoDataFrame({"g": ["B", "D"]}, geometry=[shapely.box(0, 0, 6, 10), shapely.box(6, 0, 14, 10)])
    soils = from_groups(polygons, "g", RULES)
    layers = {"lots": lots, "roofs": roofs}
    return Block(lots, layers, TRANSFORM, empty_rasters((10, 20)), tables=tables, soils=soils)


def test_groups_by_lot_from_the_ground_mask():
    lot = np.repeat([0, 1], 10)[None, :].repeat(10, axis=0).astype(np.int32)
    open_ground = lot == 0
    table = assess(block(), CONTEXT, Cells(TRANSFORM, lot, open_ground))["soil_lots"]
    assert table["lot_id"].tolist() == ["a", "a", "b", "b"]
    assert table["hsg"].tolist() == ["B", "D", "unknown", "D"]
    # lot b has no open ground, so its 60 m2 without the roof count, 40 of them not mapped
    assert table["share"].tolist() == pytest.approx([0.6, 0.4, 0.6667, 0.3333])


def test_candidates_get_every_column_of_the_soils_stage():
    candidates = pd.DataFrame({"lot_id": ["a", "b"], "x_m": [1.0, 18.0], "y_m": [5.0, 5.0]})
    found = candidate_soils(block(candidates=candidates), CONTEXT)["candidates"]
    declared = [field.name for field in TABLES["candidates"] if field.stage == "soils"]
    assert set(declared) <= set(found.columns)
    assert found["hsg"].tolist() == ["B", "unknown"]
    assert found["near_groups"].tolist() == ["D", "B, D"]
    assert "hsg" not in candidates.columns
    none = candidate_soils(block(candidates=candidates.iloc[:0]), CONTEXT)["candidates"]
    assert len(none) == 0
    assert set(declared) <= set(none.columns)

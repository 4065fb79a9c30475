"""The made-up suburb for timings: as many lots as asked for, the same each time, and an area that a run can use."""

from __future__ import annotations

import sys
from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
import rasterio
import shapely

from screening.pipeline import check_area

sys.path.insert(0, str(Path(__file__).parents[2] / "scripts"))

from bench_suburb import make_suburb


@pytest.fixture(scope="module")
def suburb(tmp_path_factory):
    return make_suburb(tmp_path_factory.mktemp("suburb"), 40)


def test_it_is_an_area_without_faults(suburb):
    lines, faults = check_area(suburb)
    assert faults == ()
    assert any("40" in line and "lots" in line for line in lines)


def test_lots_lie_apart_and_each_holds_one_house_or_more(suburb):
    lots = gpd.read_file(suburb.parent / "lots.gpkg").geometry.to_numpy()
    roofs = gpd.read_file(suburb.parent / "roofs.gpkg").geometry.to_numpy()
    assert len(lots) == 40
    assert shapely.area(shapely.union_all(lots)) == pytest.approx(shapely.area(lots).sum())
    assert shapely.is_valid(roofs).all()
    lot, roof = shapely.STRtree(roofs).query(lots, predicate="covers")
    assert sorted(roof) == list(range(len(roofs)))  # each roof on one lot, whole
    assert len(np.unique(lot)) == 40


def test_the_ground_covers_the_lots_and_is_as_rough_as_a_survey_from_the_air(suburb):
    lots = gpd.read_file(suburb.parent / "lots.gpkg")
    with rasterio.open(suburb.parent / "elevation.tif") as source:
        ground, bounds = source.read(1), source.bounds
    assert np.isfinite(ground).all()
    assert shapely.box(*bounds).contains(shapely.box(*lots.total_bounds))
    bend = ground[:, 2:] - 2.0 * ground[:, 1:-1] + ground[:, :-2]  # of noise of 2 cm alone: sqrt(6) times as much
    assert 0.045 < bend.std() < 0.07


def test_it_is_the_same_each_time(suburb, tmp_path):
    again = make_suburb(tmp_path, 40)
    for name in ("lots", "roofs", "soils", "streets"):
        one, other = (gpd.read_file(area.parent / f"{name}.gpkg") for area in (suburb, again))
        assert one.equals(other), name
    with rasterio.open(suburb.parent / "elevation.tif") as one, rasterio.open(again.parent / "elevation.tif") as other:
        assert (one.read(1) == other.read(1)).all()

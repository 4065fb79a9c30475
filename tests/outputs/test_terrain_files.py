from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import rasterio
from pyproj import CRS

from screening.outputs.terrain_files import RASTERS, write_terrain
from screening.result import Screening
from screening.sources import ArraySource


@pytest.mark.parametrize("file", RASTERS, ids=lambda file: file.layer)
def test_cells_come_back_with_unit_and_description(file, made_up: Screening, written: dict[str, Path]) -> None:
    source = made_up.rasters[file.layer]
    missing = np.isnan(made_up.rasters["heights_m"].read())
    with rasterio.open(written[file.layer]) as raster:
        assert raster.tags(ns="IMAGE_STRUCTURE")["LAYOUT"] == "COG"
        values = raster.read(1, masked=True)
        assert raster.descriptions == (file.layer,)
        assert raster.units[0]
        assert tuple(raster.transform)[:6] == tuple(source.transform)[:6]
        assert CRS.from_user_input(raster.crs) == made_up.output_crs
    assert (np.ma.getmaskarray(values) == missing).all()
    held, given = values.data[~missing].astype(float), source.read()[~missing].astype(float)
    if file.parts:
        assert (held * file.parts == np.floor(given * file.parts + 0.5)).all()
    else:
        assert (held == given).all()


def test_slope_is_held_to_a_64th_and_depth_to_a_1024th(made_up: Screening, tmp_path: Path) -> None:
    transform = made_up.rasters["heights_m"].transform
    values = np.array([[0.0, 1 / 128, 12.3456], [np.nan, 0.0007, 99.99]])
    rasters = {
        "heights_m": ArraySource(np.array([[1, 2, 3], [4, np.nan, 6.0]]), transform, made_up.crs),
        "slope_pct": ArraySource(values, transform, made_up.crs),
        "hollow_depth_m": ArraySource(values, transform, made_up.crs),
        "accumulation_cells": ArraySource(np.array([[1, 2, 3], [4, 5, 2**33]]), transform, made_up.crs),
    }
    paths = write_terrain(replace(made_up, rasters=rasters), tmp_path)
    wanted = {
        "slope_pct": [[0, 1 / 64, 790 / 64], [np.nan, np.nan, 6399 / 64]],
        "hollow_depth_m": [[0, 8 / 1024, 12642 / 1024], [np.nan, np.nan, 102390 / 1024]],
        "accumulation_cells": [[1, 2, 3], [4, 0, 2**32 - 1]],
    }
    for name, cells in wanted.items():
        with rasterio.open(paths[name]) as raster:
            np.testing.assert_array_equal(raster.read(1), cells)


def test_large_rasters_have_overviews_and_feet_their_own_transform(made_up: Screening, tmp_path: Path) -> None:
    transform = made_up.rasters["heights_m"].transform
    large = {
        name: ArraySource(np.ones((1500, 1300), dtype=made_up.rasters[name].dtype), transform, made_up.crs)
        for name in ("heights_m", "slope_pct")
    }
    paths = write_terrain(replace(made_up, rasters=large, unit_m=0.3048), tmp_path)
    assert list(paths) == ["slope_pct"]
    with rasterio.open(paths["slope_pct"]) as raster:
        assert raster.overviews(1) == [2, 4]
        assert raster.read(1, out_shape=(375, 325)).mean() == 1
        assert raster.transform.a == pytest.approx(1 / 0.3048)
        assert raster.transform.c == pytest.approx(transform.c / 0.3048)
        assert (raster.read(1) == 1).all()

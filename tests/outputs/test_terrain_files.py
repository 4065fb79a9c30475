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
    assert (values.data[~missing] == source.read()[~missing]).all()


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
        assert raster.transform.a == pytest.approx(1 / 0.3048)
        assert raster.transform.c == pytest.approx(transform.c / 0.3048)
        assert (raster.read(1) == 1).all()

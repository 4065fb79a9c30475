"""Real parcels, buildings and streets, as the package momepy carries them: Web Mercator, so that areas are 2.4 times
too large until corrected. True areas are geodesic ones, which another library computes (pyproj, after GeographicLib).
"""

import importlib.util
from pathlib import Path

import geopandas as gpd
import numpy as np
import pyogrio
import pytest
import shapely
from affine import Affine
from pyproj import Geod

from screening.inputs import inspect_area
from tests.inputs.made_up import write_raster

AREA = """[elevation]
file = "dtm.tif"
vertical_unit = "m"
[lots]
file = "{file}"
layer = "plots"
id = "ID"
[roofs]
file = "{file}"
layer = "buildings"
id = "uID"
[streets]
file = "{file}"
layer = "streets"
"""


@pytest.fixture(scope="module")
def dataset():
    folder = Path(importlib.util.find_spec("momepy").origin).parent / "datasets"
    return next(path for path in sorted(folder.glob("*.gpkg")) if "plots" in pyogrio.list_layers(path)[:, 0])


@pytest.fixture(scope="module")
def reading(dataset, tmp_path_factory):
    folder = tmp_path_factory.mktemp("real")
    west, south, east, north = gpd.read_file(dataset, layer="plots").total_bounds
    shape = int((north - south + 100) / 8), int((east - west + 100) / 8)
    transform = Affine(8, 0, west - 50, 0, -8, north + 50)
    write_raster(folder / "dtm.tif", np.full(shape, 200, "float32"), crs="EPSG:3857", transform=transform)
    (folder / "area.toml").write_text(AREA.format(file=dataset.as_posix()))
    return inspect_area(folder / "area.toml")


def true_areas(frame):
    geod = Geod(ellps="WGS84")
    shapes = shapely.orient_polygons(frame.to_crs("EPSG:4326").geometry.array)  # holes count off only when turned
    return np.array([geod.geometry_area_perimeter(shape)[0] for shape in shapes])


@pytest.mark.parametrize(("layer", "theirs", "column"), [("lots", "plots", "ID"), ("roofs", "buildings", "uID")])
def test_areas_are_true(reading, dataset, layer, theirs, column):
    assert reading.faults == ()
    raw = gpd.read_file(dataset, layer=theirs)
    raw["key"] = raw[column].astype(int).astype(str)
    ours = reading.layers[layer].set_index(f"{layer[:-1]}_id")
    assert len(ours) == len(raw)
    expected = true_areas(raw)
    np.testing.assert_allclose(ours.loc[raw["key"]].area.to_numpy(), expected, rtol=1e-3, atol=0.05)
    assert ours.area.sum() == pytest.approx(expected.sum(), rel=1e-4)
    assert raw.area.sum() / ours.area.sum() == pytest.approx(2.4, abs=0.05)


def test_lots_that_share_lines_still_do(reading):
    lots = reading.layers["lots"]
    assert lots.geometry.is_valid.all()
    assert lots.union_all().area == pytest.approx(lots.area.sum(), rel=2e-3)
    assert lots["lot_id"].is_unique

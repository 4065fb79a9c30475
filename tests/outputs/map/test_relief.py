from __future__ import annotations

import base64
import io

import numpy as np
import pytest
from affine import Affine
from PIL import Image
from pyproj import CRS, Transformer

from screening.outputs.map.relief import coarse, hillshade, hillshade_picture, slope_breaks, slope_picture
from screening.rules import Rules
from screening.sources import ArraySource

UTM = CRS.from_epsg(32626)
TRANSFORM = Affine(1, 0, 500_000, 0, -1, 4_983_100)


def _pixels(url: str) -> np.ndarray:
    with Image.open(io.BytesIO(base64.b64decode(url.split(",", 1)[1]))) as image:
        return np.moveaxis(np.asarray(image), 2, 0)


def test_slopes_towards_the_light_are_lighter() -> None:
    rows, columns = np.mgrid[0:30, 0:30].astype(float)
    north_west = hillshade(-(0.1 * rows + 0.1 * columns) * -1, 1, 1)
    south_east = hillshade((0.1 * rows + 0.1 * columns) * -1, 1, 1)
    flat = hillshade(np.zeros((30, 30)), 1, 1)
    assert flat == pytest.approx(np.full((30, 30), np.sin(np.pi / 4)))
    assert north_west[15, 15] > flat[15, 15] > south_east[15, 15]


def test_no_height_has_no_light() -> None:
    heights = np.zeros((5, 5))
    heights[2, 2] = np.nan
    assert np.isnan(hillshade(heights, 1, 1)).sum() == 1
    assert np.isnan(hillshade(np.full((3, 3), np.nan), 1, 1)).all()


def test_large_rasters_are_averaged_over_what_is_known() -> None:
    values = np.array([[1.0, 3.0, 5.0], [np.nan, np.nan, np.nan], [2.0, 4.0, 9.0]])
    small, transform = coarse(ArraySource(values, TRANSFORM), longest=2)
    assert small.tolist() == [[2.0, 5.0], [3.0, 9.0]]
    assert (transform.a, transform.e, transform.c) == (2, -2, 500_000)
    small, _ = coarse(ArraySource(np.arange(15.0).reshape(3, 5), TRANSFORM), longest=3)
    assert small.tolist() == [[3.0, 5.0, 6.5], [10.5, 12.5, 14.0]]


def test_the_picture_lies_where_the_raster_lies() -> None:
    heights = ArraySource(np.random.default_rng(1).normal(size=(100, 80)), TRANSFORM, UTM)
    picture = hillshade_picture(heights, UTM)
    (south, west), (north, east) = picture.bounds
    to_degrees = Transformer.from_crs(UTM, 4326, always_xy=True)
    for x, y in ((500_000, 4_983_100), (500_080, 4_983_100), (500_000, 4_983_000), (500_080, 4_983_000)):
        lon, lat = to_degrees.transform(x, y)
        assert west - 2e-5 <= lon <= east + 2e-5
        assert south - 2e-5 <= lat <= north + 2e-5
    assert (east - west) * 111_320 * np.cos(np.radians(45)) == pytest.approx(80, abs=3)
    assert _pixels(picture.url).shape[0] == 4


def test_slope_classes_begin_at_the_rules() -> None:
    rules = Rules()
    assert slope_breaks(rules)[1:3] == (rules.slope_look_pct, rules.slope_limit_pct)
    slope = np.full((40, 40), 1.0)
    slope[:, 20:] = rules.slope_limit_pct + 1
    pixels = _pixels(slope_picture(ArraySource(slope, TRANSFORM, UTM), UTM, rules).url)
    assert pixels[3, 20, 5] == 0
    assert pixels[3, 20, 35] > 0

import contextlib

import numpy as np
import pytest
import rasterio
from affine import Affine
from pyproj import CRS

from screening.sources import ArraySink, ArraySource, GeoTiffSink, GeoTiffSource, RasterSink, RasterSource, Window

TRANSFORM = Affine(1.0, 0, 0.0, 0, -1.0, 100.0)


def test_windows_are_clipped_to_the_raster():
    assert Window(-2, -3, 6, 6).clipped((10, 10)) == Window(0, 0, 4, 3)
    assert Window(8, 8, 6, 6).clipped((10, 10)) == Window(8, 8, 2, 2)
    assert Window(20, 0, 5, 5).clipped((10, 10)).rows == 0


def test_arrays_by_window():
    values = np.arange(12.0).reshape(3, 4)
    source = ArraySource(values, TRANSFORM)
    assert isinstance(source, RasterSource)
    assert source.read(Window(1, 1, 2, 2)).tolist() == [[5, 6], [9, 10]]
    assert source.read() is values
    target = np.zeros((3, 4))
    sink = ArraySink(target)
    assert isinstance(sink, RasterSink)
    sink.write(Window(0, 2, 1, 2), np.array([[7.0, 8.0]]))
    assert target[0].tolist() == [0, 0, 7, 8]


def test_a_geotiff_written_by_windows_reads_back_by_windows(tmp_path):
    path = tmp_path / "heights.tif"
    crs = CRS.from_epsg(32631)
    values = np.random.default_rng(1).normal(size=(600, 530)).astype("float32")
    values[5, 7] = -9999
    sink = GeoTiffSink(path, values.shape, TRANSFORM, "float32", crs, nodata=-9999)
    for row in (0, 512):
        for column in (0, 512):
            window = Window(row, column, 512, 512).clipped(values.shape)
            sink.write(window, values[window.slices])
    sink.close()
    source = GeoTiffSource(path)
    assert isinstance(source, RasterSource)
    assert source.shape == (600, 530)
    assert source.dtype == np.float32
    assert source.transform == TRANSFORM
    assert source.crs == crs
    found = source.read(Window(5, 7, 100, 100))
    assert np.isnan(found[0, 0])
    np.testing.assert_array_equal(found[1:], values[6:105, 7:107])
    metres = GeoTiffSource(path, transform_m=TRANSFORM @ Affine.scale(0.3048), working_crs=CRS.from_epsg(32632))
    assert metres.transform.a == 0.3048
    assert metres.crs == CRS.from_epsg(32632)


def test_a_raster_has_its_name_only_when_it_is_whole(tmp_path):
    path = tmp_path / "heights.tif"
    path.write_bytes(b"an earlier file")
    sink = GeoTiffSink(path, (20, 30), TRANSFORM, "float32")
    with contextlib.suppress(KeyboardInterrupt), sink:
        sink.write(Window(0, 0, 20, 30), np.ones((20, 30), np.float32))
        assert (tmp_path / "heights.tif.part").exists()
        raise KeyboardInterrupt
    assert [file.name for file in tmp_path.iterdir()] == ["heights.tif"]
    assert path.read_bytes() == b"an earlier file"


@pytest.mark.parametrize(("dtype", "overview"), [("float32", 1.5), ("uint8", 1)])
def test_a_cloud_optimized_file_holds_the_same_cells_and_overviews(tmp_path, dtype, overview):
    path = tmp_path / "cells.tif"
    values = np.tile(np.array([[1, 2], [1, 2]], dtype), (400, 350))
    with GeoTiffSink(path, values.shape, TRANSFORM, dtype, CRS.from_epsg(32631), cloud_optimized=True) as sink:
        for row in (0, 512):
            window = Window(row, 0, 512, 700).clipped(values.shape)
            sink.write(window, values[window.slices])
    assert [file.name for file in tmp_path.iterdir()] == ["cells.tif"]
    np.testing.assert_array_equal(GeoTiffSource(path).read(), values)
    with rasterio.open(path) as dataset:
        assert dataset.tags(ns="IMAGE_STRUCTURE")["LAYOUT"] == "COG"
        assert dataset.overviews(1) == [2]
        half = dataset.read(1, out_shape=(400, 350))
    assert half[200, 100] == overview

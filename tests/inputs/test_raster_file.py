import numpy as np
import pytest
import rasterio
from affine import Affine
from rasterio.errors import NotGeoreferencedWarning

from screening.inputs.findings import Findings
from screening.inputs.raster_file import SENTINELS, north_up, read_raster
from tests.inputs.made_up import NORTH, UTM, WEST, plane, write_raster


def read(path, **options):
    findings = Findings()
    return read_raster(str(path), path.name, findings, layer="elevation", **options), findings


def test_every_kind_of_missing_is_nan(tmp_path):
    values = plane(4, 5)
    values[0, 0], values[0, 1], values[0, 2], values[0, 3] = -5, np.nan, np.inf, -7
    raster, findings = read(write_raster(tmp_path / "d.tif", values, nodata=-5), nodata=-7)
    assert findings.faults == []
    assert np.isnan(raster.values[0, :4]).all()
    assert np.isfinite(raster.values).sum() == 16
    assert raster.values[1, 1] == values[1, 1]


def test_a_declared_nan_and_a_mask_band(tmp_path):
    path = write_raster(tmp_path / "d.tif", plane(4, 5), nodata=np.nan)
    mask = np.full((4, 5), 255, dtype="uint8")
    mask[2, 2] = 0
    with rasterio.Env(GDAL_TIFF_INTERNAL_MASK=True), rasterio.open(path, "r+") as dataset:
        dataset.nodata = None
        dataset.write_mask(mask)
    raster, _ = read(path)
    assert np.argwhere(np.isnan(raster.values)).tolist() == [[2, 2]]


# marks that lidar specifications (-999999) and older tiles (about -3.4e38) use, and common practice
MARKS = (-9999.0, -32768.0, -32767.0, -99999.0, -999999.0, -3.4028234663852886e38)


def test_no_known_mark_is_forgotten():
    assert set(SENTINELS) == set(MARKS[:-1])


@pytest.mark.parametrize("mark", MARKS)
def test_a_declared_mark_is_missing_ground(tmp_path, mark):
    values = plane(4, 5).astype("float32")
    values[1, :3] = mark
    raster, findings = read(write_raster(tmp_path / "d.tif", values, nodata=mark))
    assert findings.faults == []
    assert np.argwhere(np.isnan(raster.values)).tolist() == [[1, 0], [1, 1], [1, 2]]


@pytest.mark.parametrize("mark", MARKS)
def test_undeclared_marks_are_a_fault_that_names_the_mend(tmp_path, mark):
    values = plane(4, 5)
    values[1, :3] = mark
    path = write_raster(tmp_path / "d.tif", values)
    raster, findings = read(path)
    assert raster is None
    assert "3 cells hold" in findings.faults[0].what
    assert findings.faults[0].mend.startswith("Add nodata = -")
    mended, after = read(path, nodata=float(findings.faults[0].mend.split("= ")[1].split(" to")[0]))
    assert after.faults == []
    assert np.isnan(mended.values).sum() == 3


def test_whole_numbers_keep_their_worth(tmp_path):
    small, _ = read(write_raster(tmp_path / "s.tif", np.array([[1, 2], [3, -9]], dtype="int16"), nodata=-9))
    assert small.values.dtype == np.float32
    assert small.values[1, 0] == 3
    assert np.isnan(small.values[1, 1])
    wide, _ = read(write_raster(tmp_path / "w.tif", np.array([[16_777_217, 2]], dtype="int32")))
    assert wide.values.dtype == np.float64
    assert wide.values[0, 0] == 16_777_217


def test_scale_and_offset_are_applied(tmp_path):
    path = write_raster(tmp_path / "d.tif", np.array([[100, 200, -1]], dtype="int16"), nodata=-1)
    with rasterio.open(path, "r+") as dataset:
        dataset.scales, dataset.offsets = (0.01,), (50.0,)
    raster, _ = read(path)
    np.testing.assert_allclose(raster.values[0, :2], [51.0, 52.0])
    assert np.isnan(raster.values[0, 2])


def test_what_cannot_be_read_is_told(tmp_path):
    (tmp_path / "x.tif").write_text("no raster")
    with pytest.warns(NotGeoreferencedWarning):
        nowhere = write_raster(tmp_path / "g.tif", plane(4, 5), transform=Affine.identity())
    for path, options, said in (
        (tmp_path / "x.tif", {}, "cannot be read"),
        (write_raster(tmp_path / "d.tif", plane(4, 5)), {"band": 2}, "There is no band 2"),
        (write_raster(tmp_path / "n.tif", np.full((2, 2), np.nan, "float32")), {}, "no cell with a height"),
        (nowhere, {}, "not georeferenced"),
    ):
        raster, findings = read(path, **options)
        assert raster is None
        assert said in findings.faults[0].what
        assert str(tmp_path) not in str(findings.faults[0])


def test_south_up_and_mirrored_rasters_are_turned(tmp_path):
    values = np.arange(12, dtype="float32").reshape(3, 4)
    usual, _ = read(write_raster(tmp_path / "a.tif", values))
    south_up = Affine(1, 0, WEST, 0, 1, NORTH - 3)
    turned, _ = read(write_raster(tmp_path / "b.tif", values[::-1].copy(), transform=south_up))
    mirrored = Affine(-1, 0, WEST + 4, 0, -1, NORTH)
    mirror, _ = read(write_raster(tmp_path / "c.tif", values[:, ::-1].copy(), transform=mirrored))
    for raster in (turned, mirror):
        up = north_up(raster)
        np.testing.assert_array_equal(up.values, usual.values)
        assert up.transform.almost_equals(usual.transform)
    assert usual.crs == UTM

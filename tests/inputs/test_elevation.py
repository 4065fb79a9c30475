import zipfile

import numpy as np
import pytest
import rasterio
from affine import Affine
from pyproj import CRS, Transformer
from rasterio.shutil import copy as raster_copy

from screening.grid import NODATA
from screening.inputs.elevation import read_heights, typical_step_pct
from screening.inputs.findings import Findings
from screening.inputs.raster_table import RasterTable
from screening.units import FOOT_M, US_SURVEY_FOOT_M
from tests.inputs.made_up import NORTH, UTM, WEST, plane, write_raster


def read(*paths, **said):
    findings = Findings()
    heights = read_heights(RasterTable("elevation", [str(path) for path in paths], paths[0].parent, **said), findings)
    assert findings.faults == []
    return heights, findings


@pytest.mark.parametrize(("code", "unit"), [("EPSG:2263", US_SURVEY_FOOT_M), ("EPSG:2222", FOOT_M)])
def test_feet_multiply_the_transform_and_leave_the_cells(tmp_path, code, unit):
    values = plane()
    feet = Affine(3, 0, 990_000, 0, -2.5, 210_000)
    heights, _ = read(write_raster(tmp_path / "d.tif", values, crs=code, transform=feet), vertical_unit="ft")
    grid = heights.grid
    np.testing.assert_array_equal(grid.values, values)
    assert grid.cell_x_m == pytest.approx(3 * unit, rel=1e-12)
    assert grid.cell_y_m == pytest.approx(2.5 * unit, rel=1e-12)
    assert grid.transform.c == pytest.approx(990_000 * unit, rel=1e-12)
    assert grid.height_factor == FOOT_M
    assert heights.output_crs == CRS(code)
    assert heights.unit_m == pytest.approx(unit, rel=1e-14)
    assert not heights.warped
    # The corner is the same place on earth in both systems.
    back = Transformer.from_crs(grid.crs, heights.output_crs, always_xy=True)
    x, y = back.transform(grid.transform.c, grid.transform.f)
    assert (x, y) == pytest.approx((990_000, 210_000), abs=1e-5)
    assert grid.transform.c / heights.unit_m == pytest.approx(990_000, rel=1e-12)


def test_compound_crs_keeps_its_horizontal_part(tmp_path):
    heights, _ = read(write_raster(tmp_path / "d.tif", plane(), crs="EPSG:32606+5773"))
    assert heights.output_crs == CRS(UTM)
    assert heights.grid.crs == CRS(UTM)
    assert heights.vertical_source == "CRS"


def test_the_scale_of_utm_is_accepted_and_told(tmp_path):
    heights, findings = read(write_raster(tmp_path / "d.tif", plane()), vertical_unit="m")
    assert heights.scale == pytest.approx(0.9996**2, abs=1e-6)
    assert "-0.08% off here; accepted" in findings.notes[0].text


def warped_plane(tmp_path, crs, cell):
    """A plane in a CRS whose scale is off, rising 4% to the east on the ground, near 10 E 47 N."""
    local = CRS("+proj=tmerc +lat_0=47 +lon_0=10 +k=1 +ellps=WGS84 +datum=WGS84 +type=crs")
    to_crs = Transformer.from_crs("EPSG:4326", crs, always_xy=True)
    x, y = to_crs.transform(10.0, 47.0)
    transform = Affine(cell, 0, x - 40 * cell, 0, -cell, y + 30 * cell)
    columns, rows = np.meshgrid(np.arange(80) + 0.5, np.arange(60) + 0.5)
    east, _ = Transformer.from_crs(crs, local, always_xy=True).transform(*(transform @ (columns, rows)))
    return write_raster(tmp_path / "d.tif", (100 + 0.04 * east).astype("float32"), crs=crs, transform=transform)


@pytest.mark.parametrize(
    ("crs", "cell", "side"),
    # 47 N: Web Mercator is 1 / cos 47 = 1.466 too long; a degree is 111.17 km by 76.06 km there.
    [("EPSG:3857", 3.0, 2.05), ("EPSG:4326", 1 / 36_000, 2.55)],
)
def test_web_mercator_and_degrees_are_warped_to_true_size(tmp_path, crs, cell, side):
    heights, findings = read(warped_plane(tmp_path, crs, cell), vertical_unit="m")
    grid = heights.grid
    assert heights.warped
    assert heights.output_crs == grid.crs
    assert heights.unit_m == 1.0
    assert grid.cell_x_m == grid.cell_y_m == pytest.approx(side, abs=0.011)
    assert "warped bilinearly to Transverse Mercator at 47.00, 10.00" in findings.notes[0].text
    middle = grid.heights_m()[20:-20, 20:-20].astype(float)
    slope = np.diff(middle, axis=1) / grid.cell_x_m
    assert np.nanmedian(slope) == pytest.approx(0.04, rel=1e-3)
    assert np.nanmax(np.abs(np.diff(middle, axis=0))) < 0.01
    assert grid.state[0, 0] in (0, NODATA)
    # As much ground as before but for a rim of a cell: the plane covered 80 x 60 cells.
    ground, rim = 80 * 60 * side**2, 2 * (80 + 60) * side**2
    assert ground - rim < grid.valid.sum() * grid.cell_area_m2 < ground


def test_a_rotated_raster_is_warped_in_its_own_crs(tmp_path):
    values = plane(60, 60, x_slope=0.05)
    turned = Affine.translation(WEST, NORTH) @ Affine.rotation(30) @ Affine.scale(1, -1)
    heights, findings = read(write_raster(tmp_path / "d.tif", values, transform=turned), vertical_unit="m")
    assert heights.warped
    assert heights.output_crs == CRS(UTM)
    assert heights.grid.cell_x_m == 1.0
    assert "is rotated" in " ".join(note.text for note in findings.notes)
    middle = heights.grid.heights_m()[30:50, 30:50].astype(float)
    dz_dx, dz_dy = np.diff(middle, axis=1).mean(), -np.diff(middle, axis=0).mean()
    assert np.hypot(dz_dx, dz_dy) == pytest.approx(0.05, rel=1e-3)
    assert np.degrees(np.arctan2(dz_dy, dz_dx)) == pytest.approx(30, abs=0.1)


def test_tiles_and_a_virtual_raster_read_as_the_whole(tmp_path):
    values = plane()
    whole, _ = read(write_raster(tmp_path / "whole.tif", values), vertical_unit="m")
    for at, left in enumerate((0, 20)):
        transform = Affine(1, 0, WEST + left, 0, -1, NORTH)
        write_raster(
            tmp_path / f"t{at}.tif", values[:, left : left + (20 if at == 0 else 30)].copy(), transform=transform
        )
    tiles, _ = read(tmp_path / "t1.tif", tmp_path / "t0.tif", vertical_unit="m")
    np.testing.assert_array_equal(tiles.grid.values, whole.grid.values)
    assert tiles.grid.transform == whole.grid.transform
    raster_copy(tmp_path / "whole.tif", tmp_path / "all.vrt", driver="VRT")
    virtual, _ = read(tmp_path / "all.vrt", vertical_unit="m")
    np.testing.assert_array_equal(virtual.grid.values, whole.grid.values)
    assert {file.rsplit("/", 1)[-1] for file in virtual.files} == {"all.vrt", "whole.tif"}


def test_a_zip_of_tiles_reads_as_the_whole(tmp_path):
    values = plane()
    for at, left in enumerate((0, 20)):
        transform = Affine(1, 0, WEST + left, 0, -1, NORTH)
        write_raster(tmp_path / f"t{at}.tif", values[:, left : left + 20 + 10 * at].copy(), transform=transform)
    with zipfile.ZipFile(tmp_path / "all.zip", "w") as archive:
        for at in (0, 1):
            archive.write(tmp_path / f"t{at}.tif", f"tiles/t{at}.tif")
    heights, _ = read(tmp_path / "all.zip", vertical_unit="m")
    np.testing.assert_array_equal(heights.grid.values, values)


def test_feet_taken_for_metres_look_too_steep(tmp_path):
    steep = plane(x_slope=0.8)
    heights, findings = read(write_raster(tmp_path / "d.tif", steep), vertical_unit="m")
    assert typical_step_pct(heights.grid) == pytest.approx(80, rel=1e-3)
    assert "80% in the median" in findings.notes[-1].text


def test_cells_that_are_not_square_keep_their_sides(tmp_path):
    transform = Affine(2.9968, 0, WEST, 0, -2.9943, NORTH)
    heights, _ = read(write_raster(tmp_path / "d.tif", plane(), transform=transform), vertical_unit="m")
    assert (heights.grid.cell_x_m, heights.grid.cell_y_m) == (2.9968, 2.9943)


def test_the_input_is_not_changed(tmp_path):
    path = write_raster(tmp_path / "d.tif", plane(), nodata=-9999)
    before = path.read_bytes()
    read(path)
    assert path.read_bytes() == before
    with rasterio.open(path) as dataset:
        assert dataset.nodata == -9999

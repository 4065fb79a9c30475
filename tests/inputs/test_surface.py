import numpy as np
import pytest
from affine import Affine

from screening.inputs.elevation import read_heights
from screening.inputs.findings import Findings
from screening.inputs.raster_table import RasterTable
from screening.inputs.surface import read_surface
from screening.units import FOOT_M
from tests.inputs.made_up import NORTH, WEST, plane, write_raster


@pytest.fixture
def grid(tmp_path):
    path = write_raster(tmp_path / "dtm.tif", plane())
    return read_heights(RasterTable("elevation", [str(path)], tmp_path, "m"), Findings()).grid


def read(path, grid, unit="m"):
    findings = Findings()
    return read_surface(RasterTable("surface", [str(path)], path.parent, unit), grid, findings), findings


def test_a_surface_on_the_same_lattice_is_copied(tmp_path, grid):
    larger = np.full((50, 60), 104, dtype="float32")
    transform = Affine(1, 0, WEST - 5, 0, -1, NORTH + 5)
    (surface, files), findings = read(write_raster(tmp_path / "dsm.tif", larger, transform=transform), grid)
    assert surface.shape == grid.shape
    assert surface.transform == grid.transform
    assert (surface.values == 104).all()
    assert findings.notes == []
    assert files[0].endswith("dsm.tif")


def test_a_surface_in_feet_on_other_cells_is_warped_onto_the_elevation(tmp_path, grid):
    feet = np.full((60, 60), 105 / FOOT_M, dtype="float32")
    transform = Affine(0.9, 0, WEST - 0.4, 0, -0.9, NORTH + 0.4)
    (surface, _), findings = read(write_raster(tmp_path / "dsm.tif", feet, transform=transform), grid, "ft")
    assert surface.shape == grid.shape
    assert surface.height_factor == FOOT_M
    np.testing.assert_allclose(surface.heights_m()[surface.valid], 105, rtol=1e-6)
    assert "warped bilinearly onto the cells" in findings.notes[0].text


def test_a_surface_in_the_wrong_unit_or_place_is_told(tmp_path, grid):
    feet = np.full(grid.shape, 105 / FOOT_M, dtype="float32")
    _, findings = read(write_raster(tmp_path / "dsm.tif", feet), grid)
    assert "check the vertical units" in findings.notes[0].text
    away = Affine(1, 0, WEST + 5000, 0, -1, NORTH)
    nothing, findings = read(write_raster(tmp_path / "dsm.tif", plane(), transform=away), grid)
    assert nothing is None
    assert "does not lie on the elevation" in findings.faults[0].what

import zipfile

import numpy as np
import pytest

from screening.inputs.findings import Findings
from screening.inputs.raster_table import RasterTable, read_raster_table
from screening.units import FOOT_M, US_SURVEY_FOOT_M
from tests.inputs.made_up import plane, write_raster


def read(path, **said):
    findings = Findings()
    table = RasterTable(said.pop("layer", "elevation"), [str(path)], path.parent, **said)
    return read_raster_table(table, findings), findings


@pytest.mark.parametrize(
    ("crs", "unit", "said", "factor", "source"),
    [
        ("EPSG:2263+6360", "m", "ft", FOOT_M, "area file"),
        ("EPSG:2263+6360", "m", None, US_SURVEY_FOOT_M, "CRS"),
        ("EPSG:2263", "ft", None, FOOT_M, "band"),
        ("EPSG:2263", "US survey foot", None, US_SURVEY_FOOT_M, "band"),
        ("EPSG:26918+5703", None, None, 1.0, "CRS"),
        ("EPSG:32606", None, None, 1.0, "assumed"),
    ],
)
def test_the_vertical_unit_is_sought_in_the_stated_order(tmp_path, crs, unit, said, factor, source):
    whole, findings = read(write_raster(tmp_path / "d.tif", plane(), crs=crs, unit=unit), vertical_unit=said)
    assert findings.faults == []
    assert whole.factor == pytest.approx(factor, rel=1e-12)
    assert whole.factor_from == source


def test_an_assumed_metre_is_an_assumption_and_a_caution(tmp_path):
    _, findings = read(write_raster(tmp_path / "d.tif", plane()))
    assert [note.kind for note in findings.notes] == ["assumption", "caution"]
    assert 'Add vertical_unit = "m" or "ft" to [elevation]' in findings.notes[1].text


def test_contradicting_units_are_told(tmp_path):
    path = write_raster(tmp_path / "d.tif", plane(), crs="EPSG:2263+6360")
    _, findings = read(path, vertical_unit="m")
    assert "the raster's CRS says US survey feet" in findings.notes[0].text


@pytest.mark.parametrize("crs", ["EPSG:2263", "EPSG:4326"])
def test_feet_and_degrees_refuse_with_the_line_to_add(tmp_path, crs):
    whole, findings = read(write_raster(tmp_path / "d.tif", plane(), crs=crs))
    assert whole is None
    assert 'Add vertical_unit = "ft"' in findings.faults[0].mend
    surface, findings = read(write_raster(tmp_path / "d.tif", plane(), crs=crs), layer="surface")
    assert surface is None
    assert 'Add surface_vertical_unit = "ft"' in findings.faults[0].mend


def test_a_missing_crs_is_a_fault_that_the_area_file_can_mend(tmp_path):
    path = write_raster(tmp_path / "d.tif", plane(), crs=None)
    whole, findings = read(path)
    assert whole is None
    assert findings.faults[0].mend == 'Add crs = "EPSG:..." to [elevation]'
    whole, findings = read(path, crs="EPSG:32606")
    assert findings.faults == []
    assert whole.crs == "EPSG:32606"
    assert "is no CRS" in read(path, crs="EPSG:none")[1].faults[0].what


def test_a_crs_that_is_nowhere_on_earth(tmp_path):
    nowhere = 'ENGCRS["yard",EDATUM["a nail"],CS[Cartesian,2],AXIS["x",east],AXIS["y",north],LENGTHUNIT["metre",1]]'
    whole, findings = read(write_raster(tmp_path / "d.tif", plane(), crs=None), crs=nowhere)
    assert whole is None
    assert "does not say where on earth" in findings.faults[0].what


def test_many_zeros_and_deep_holes_are_told(tmp_path):
    values = plane()
    values[:, :3] = 0
    _, findings = read(write_raster(tmp_path / "d.tif", values), vertical_unit="m")
    assert "120 cells are exactly 0" in findings.notes[0].text
    values[:, :3] = -5321.5
    _, findings = read(write_raster(tmp_path / "d.tif", values), vertical_unit="m")
    assert "resampled" in findings.notes[0].text


def test_every_bad_tile_is_told(tmp_path):
    (tmp_path / "x.tif").write_text("no raster")
    (tmp_path / "y.tif").write_text("no raster")
    findings = Findings()
    paths = [str(tmp_path / name) for name in ("x.tif", "y.tif")]
    assert read_raster_table(RasterTable("elevation", paths, tmp_path), findings) is None
    assert [fault.file for fault in findings.faults] == ["x.tif", "y.tif"]


def test_a_zip_without_rasters_and_a_crs_that_contradicts(tmp_path):
    (tmp_path / "bad.zip").write_text("no zip")
    assert "cannot be opened" in read(tmp_path / "bad.zip")[1].faults[0].what
    with zipfile.ZipFile(tmp_path / "empty.zip", "w") as archive:
        archive.writestr("readme.txt", "x")
    whole, findings = read(tmp_path / "empty.zip")
    assert whole is None
    assert findings.faults[0].what == "The zip holds no raster"
    path = write_raster(tmp_path / "d.tif", plane())
    whole, findings = read(path, crs="EPSG:32607", vertical_unit="m")
    assert whole.crs == "EPSG:32607"
    assert "the area file's crs is followed" in findings.notes[0].text


def test_heights_are_not_touched(tmp_path):
    values = plane()
    whole, _ = read(write_raster(tmp_path / "d.tif", values, crs="EPSG:2263"), vertical_unit="ft")
    np.testing.assert_array_equal(whole.raster.values, values)

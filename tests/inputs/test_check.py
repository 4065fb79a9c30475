import geopandas as gpd
from shapely.geometry import box

from screening.inputs.check import check_area, unit_name
from screening.units import FOOT_M, US_SURVEY_FOOT_M
from tests.inputs.made_up import BASE, NORTH, UTM, WEST, lots, plane, write_area, write_export, write_raster


def test_the_report_of_a_small_area(tmp_path):
    write_export(tmp_path / "survey")
    more = '[soils]\nexport = "survey"\n[rules]\nhouse_setback_ft = 10\n'
    report, faults = check_area(write_area(tmp_path, more))
    text = "\n".join(report)
    assert faults == ()
    for said in (
        "Area: Made up",
        "Elevation: 40 rows and 50 columns of 1 x 1 m, 50 x 40 m; 0 cells (0.0%) without height",
        "heights 100.01 to 100.99 m; median step between cells 2.0%",
        "working CRS WGS 84 / UTM zone 6N",
        "x and y metre; heights metre, as the area file says",
        "lots: 3 read, 3 on the elevation, 3 kept. given: lot_id; in part: street (2); not given: address",
        "roofs: 3 read, 3 on the elevation, 3 kept. given: roof_id; in part: kind (2)",
        "Soils: 3 polygons on the elevation; groups from the survey's tables",
        "3 of 3 polygons joined to mapunit by mukey",
        "house_setback_ft = 10 (house_setback_m = 3.048)",
        "roofs: kind: 'res' (1) not understood",
        "No trees given: root protection is unknown",
        "Nothing stands in the way of a run.",
    ):
        assert said in text, said


def test_without_lots_and_roofs_the_rest_is_still_told(tmp_path):
    base = BASE.split("[lots]")[0]
    lots().to_file(tmp_path / "water.gpkg")
    report, faults = check_area(write_area(tmp_path, '[water]\nfile = "water.gpkg"\n', base=base))
    assert [fault.what for fault in faults] == [
        "The area file has no [lots] table",
        "The area file has no [roofs] table",
    ]
    text = "\n".join(report)
    assert "Elevation: 40 rows" in text
    assert "water: 3 read, 3 on the elevation, 3 kept" in text
    assert report[-1] == "2 faults stand in the way of a run."


def test_without_elevation_the_layers_are_looked_through(tmp_path):
    path = write_area(tmp_path)
    (tmp_path / "dtm.tif").unlink()
    lots().rename(columns={"parcel": "key"}).to_file(tmp_path / "lots.gpkg")
    report, faults = check_area(path)
    assert "Elevation: none could be read" in report[1]
    assert [fault.layer for fault in faults] == ["elevation", "lots"]


def test_problems_are_counted_by_kind(tmp_path):
    path = write_area(tmp_path)
    shapes = [box(WEST + 10 * at, NORTH - 30, WEST + 10 * at + 13, NORTH - 10) for at in (1, 2, 3)]
    lots().set_geometry(gpd.GeoSeries(shapes, crs=UTM)).to_file(tmp_path / "lots.gpkg")
    report, faults = check_area(path)
    assert faults == ()
    assert "  lots: overlaps another lot, cut: 1" in report


def test_a_surface_and_a_group_column_are_told(tmp_path):
    write_raster(tmp_path / "dsm.tif", plane() + 3)
    frame = lots().assign(group=["A", "B/D", "A"])
    frame.to_file(tmp_path / "soils.gpkg")
    base = BASE.replace("[lots]", 'surface = "dsm.tif"\nsurface_vertical_unit = "m"\n[lots]')
    report, faults = check_area(write_area(tmp_path, '[soils]\nfile = "soils.gpkg"\n', base=base))
    assert faults == ()
    text = "\n".join(report)
    assert "Surface raster: on 100% of the cells; 3.0 m above the ground in the median" in text
    assert "  groups: A 2, B/D 1" in text


def test_an_area_file_that_cannot_be_read(tmp_path):
    report, faults = check_area(tmp_path / "none.toml")
    assert report[0] == "Area: none.toml"
    assert len(faults) == 1


def test_units_have_names():
    assert unit_name(1.0) == "metre"
    assert unit_name(FOOT_M) == "foot"
    assert unit_name(US_SURVEY_FOOT_M) == "US survey foot"
    assert unit_name(0.9144) == "0.9144 m"

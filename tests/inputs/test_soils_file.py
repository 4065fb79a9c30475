import geopandas as gpd
import pytest
from shapely.geometry import box

from screening.inputs.reading import inspect_area
from screening.units import FOOT_M
from tests.inputs.made_up import NORTH, UTM, WEST, write_area, write_export


def soil_polygons(**columns):
    shapes = [
        box(WEST + 20 * at, NORTH - 40, WEST + 20 * at + 20, NORTH) for at in range(len(next(iter(columns.values()))))
    ]
    return gpd.GeoDataFrame(columns, geometry=shapes, crs=UTM)


def read(tmp_path, more):
    reading = inspect_area(write_area(tmp_path, more))
    return reading.raw_soils, [str(fault) for fault in reading.faults], reading


def test_a_survey_export(tmp_path):
    write_export(tmp_path / "survey")
    soils, faults, reading = read(tmp_path, '[soils]\nexport = "survey"\n')
    assert faults == []
    assert soils.way == "survey"
    assert soils.polygons["mukey"].tolist() == ["1", "2", "1"]
    assert soils.polygons.crs == UTM
    assert soils.polygons.area.tolist() == pytest.approx([800] * 3, abs=0.1)
    assert soils.joins[0].matched == 3
    assert "survey/tabular/comp.txt" in reading.hashes
    assert not any(note.layer == "soils" and note.kind == "missing" for note in reading.notes)


def test_polygons_with_a_group_column(tmp_path):
    soil_polygons(HSG=["A", " b/d ", None], K=["9.5", "x", ""], wt=[2.0, None, 0.0]).to_file(tmp_path / "s.gpkg")
    more = '[soils]\nfile = "s.gpkg"\ngroup = "HSG"\nksat = "K"\nwater_table = "wt"\nwater_table_unit = "ft"\n'
    soils, faults, reading = read(tmp_path, more)
    assert faults == []
    assert soils.way == "groups"
    assert soils.polygons["group"].tolist()[:2] == ["A", "b/d"]
    assert soils.polygons["group"].isna().tolist() == [False, False, True]
    assert soils.polygons["ksat_um_s"].isna().tolist() == [False, True, True]
    assert soils.polygons["water_table_m"].tolist()[0] == 2 * FOOT_M
    assert soils.polygons["water_table_m"].tolist()[2] == 0
    assert any("ksat_um_s: 1 values are no numbers" in note.text for note in reading.notes)


def test_polygons_with_keys_and_the_tabular_folder(tmp_path):
    write_export(tmp_path / "survey")
    soil_polygons(key=[1, 2, 9]).to_file(tmp_path / "s.gpkg")
    more = '[soils]\nfile = "s.gpkg"\nmukey = "key"\nexport = "survey/tabular"\n'
    soils, faults, reading = read(tmp_path, more)
    assert faults == []
    assert soils.way == "survey"
    assert soils.joins[0].left_only == ("9",)
    assert any("1 of 3 polygons have a mukey that mapunit lacks (9)" in note.text for note in reading.notes)


def test_keys_of_another_survey_are_a_fault(tmp_path):
    write_export(tmp_path / "survey")
    soil_polygons(mukey=["7", "8"]).to_file(tmp_path / "s.gpkg")
    _, faults, _ = read(tmp_path, '[soils]\nfile = "s.gpkg"\nexport = "survey"\n')
    assert "No polygon's mukey is in the survey's tables (7, 8)" in faults[0]


def test_keys_without_tables_leave_every_group_unknown_and_say_so(tmp_path):
    soil_polygons(mukey=["7", "8"]).to_file(tmp_path / "s.gpkg")
    soils, faults, reading = read(tmp_path, '[soils]\nfile = "s.gpkg"\n')
    assert faults == []
    assert soils.way == "none"
    assert any("every group is unknown" in note.text for note in reading.notes)


def test_polygons_without_group_or_key_are_told_their_columns(tmp_path):
    soil_polygons(x=[1, 2]).to_file(tmp_path / "s.gpkg")
    _, faults, _ = read(tmp_path, '[soils]\nfile = "s.gpkg"\n')
    assert "Soils need a hydrologic group or a map unit key" in faults[0]
    _, faults, _ = read(tmp_path, '[soils]\nfile = "s.gpkg"\ngroup = "hsg"\n')
    assert "There is no column 'hsg'" in faults[0]
    assert "Known: x" in faults[0]


def test_only_what_lies_on_the_elevation_is_kept(tmp_path):
    near = soil_polygons(group=["A", "B"])
    far = near.assign(geometry=near.translate(3000, 0), group=["C", "D"])
    gpd.GeoDataFrame(
        {"group": [*near["group"], *far["group"]]}, geometry=[*near.geometry, *far.geometry], crs=UTM
    ).to_file(tmp_path / "s.gpkg")
    soils, faults, _ = read(tmp_path, '[soils]\nfile = "s.gpkg"\n')
    assert faults == []
    assert soils.polygons["group"].tolist() == ["A", "B"]


def test_soils_of_another_place_are_a_fault(tmp_path):
    near = soil_polygons(group=["A"])
    near.assign(geometry=near.translate(9000, 0)).to_file(tmp_path / "s.gpkg")
    _, faults, _ = read(tmp_path, '[soils]\nfile = "s.gpkg"\n')
    assert "Nothing of the layer lies on the elevation" in faults[0]
    assert "9.0 km away" in faults[0]

import hashlib

import geopandas as gpd
import numpy as np
import pytest
from affine import Affine
from pyproj import CRS
from shapely.affinity import translate
from shapely.geometry import Point, Polygon

from screening.area import LAYER_COLUMNS
from screening.errors import BadInput
from screening.inputs import RainFile, inspect_area, read_area
from screening.inputs.missing_layers import COSTS
from screening.units import US_SURVEY_FOOT_M
from tests.inputs.made_up import BASE, NORTH, UTM, WEST, lots, plane, roofs, write_area, write_raster


def test_a_small_area_end_to_end(tmp_path):
    read = read_area(write_area(tmp_path))
    area = read.area
    assert area.title == "Made up"
    assert area.crs == area.output_crs == CRS(UTM)
    assert area.unit_m == 1.0
    np.testing.assert_array_equal(area.elevation.values, plane())
    lot_table = area.layers["lots"]
    assert lot_table["lot_id"].tolist() == ["0002", "0010", "9"]
    assert lot_table["street"].tolist()[1:] == ["Elm", "Elm"]
    assert lot_table["street"].isna().tolist() == [True, False, False]
    assert tuple(lot_table.columns) == (*LAYER_COLUMNS["lots"], "geometry")
    roof_table = area.layers["roofs"]
    assert roof_table["roof_id"].tolist() == ["1", "2", "3"]
    assert roof_table["kind"].tolist()[:2] == ["house", "garage"]
    assert roof_table.area.tolist() == pytest.approx([48.0] * 3, abs=0.02)
    assert lot_table.geometry[1].contains(roof_table.geometry[0])
    assert {overlap.layer: overlap.share for overlap in read.overlaps} == {"lots": 1.0, "roofs": 1.0}
    assert read.raw_soils is None
    assert read.rain_file is None
    assert read.field_files == ()


def test_the_record_has_every_file_with_its_hash_by_relative_path(tmp_path):
    path = write_area(tmp_path)
    files = read_area(path).area.files
    assert list(files) == ["area.toml", "dtm.tif", "lots.gpkg", "roofs.geojson"]
    assert files["area.toml"] == hashlib.sha256(path.read_bytes()).hexdigest()


def test_what_is_missing_is_told_with_its_cost(tmp_path):
    notes = read_area(write_area(tmp_path)).area.notes
    missing = {note.layer: note.text for note in notes if note.kind == "missing"}
    assert set(missing) == set(COSTS)
    assert "every soil is to be tested first" in missing["soils"]
    lots().iloc[:0].to_file(tmp_path / "wells.gpkg")
    notes = read_area(write_area(tmp_path, '[wells]\nfile = "wells.gpkg"\n')).area.notes
    assert "wells" not in {note.layer for note in notes if note.kind == "missing"}
    assert ("caution", "The layer holds no feature.") in {(note.kind, note.text) for note in notes}


def test_every_fault_of_every_file_is_raised_at_once(tmp_path):
    values = plane()
    values[3:6, 3:6] = -9999
    path = write_area(
        tmp_path,
        """colour = "red"
[trees]
file = "trees.gpkg"
[streets]
file = "lots.gpkg"
street = "way"
[rules]
house_setback_m = -1
[rainfall]
file = "rain.csv"
""",
    )
    write_raster(tmp_path / "dtm.tif", values)
    lots().rename(columns={"parcel": "key"}).to_file(tmp_path / "lots.gpkg")
    (tmp_path / "roofs.geojson").unlink()
    with pytest.raises(BadInput) as told:
        read_area(path)
    text = str(told.value)
    for said in (
        "Unknown key 'colour' in [roofs]",
        "9 cells hold -9999",
        "There is no column 'parcel' (for lot_id)",
        "There is no file 'roofs.geojson'",
        "There is no file 'trees.gpkg'",
        "There is no column 'way' (for street)",
        "house_setback_m is -1, out of its range",
        "There is no file 'rain.csv'",
    ):
        assert said in text
    assert len(told.value.faults) == 8


def test_feet_go_in_and_feet_can_come_out(tmp_path):
    write_area(tmp_path)
    transform = Affine(3, 0, 990_000, 0, -3, 210_000)
    write_raster(tmp_path / "dtm.tif", plane(60, 60), crs="EPSG:2263", transform=transform)
    corner = Polygon([(990_030, 209_970), (990_060, 209_970), (990_060, 209_910), (990_030, 209_910)])
    gpd.GeoDataFrame({"parcel": ["1"], "road": ["Elm"]}, geometry=[corner], crs="EPSG:2263").to_file(
        tmp_path / "lots.gpkg"
    )
    gpd.GeoDataFrame({"use": ["house"]}, geometry=[corner.buffer(-5)], crs="EPSG:2263").to_crs("EPSG:4326").to_file(
        tmp_path / "roofs.geojson"
    )
    area = read_area(tmp_path / "area.toml").area
    assert area.output_crs == CRS("EPSG:2263")
    assert area.unit_m == pytest.approx(US_SURVEY_FOOT_M, rel=1e-14)
    lot = area.layers["lots"].geometry[0]
    assert lot.area == pytest.approx(1800 * US_SURVEY_FOOT_M**2, abs=0.05)
    assert lot.bounds[0] / area.unit_m == pytest.approx(990_030, abs=0.01)
    assert lot.contains(area.layers["roofs"].geometry[0])


def test_lots_in_web_mercator_have_their_true_areas(tmp_path):
    write_area(tmp_path)
    lots("EPSG:3857").to_file(tmp_path / "lots.gpkg")
    assert read_area(tmp_path / "area.toml").area.layers["lots"].area.tolist() == pytest.approx([200] * 3, abs=0.1)


def test_rain_field_and_rules_are_handed_on(tmp_path):
    (tmp_path / "rain.csv").write_text("day,inches\n")
    (tmp_path / "visits.csv").write_text("lot_id\n")
    (tmp_path / "rules.toml").write_text("house_setback_ft = 12\nvisits = 12\n")
    read = read_area(
        write_area(
            tmp_path,
            """[rainfall]
file = "rain.csv"
unit = "in"
date = "day"
depth = "inches"
step = "day"
[field]
file = ["visits.csv"]
[rules]
file = "rules.toml"
visits = 20
""",
        )
    )
    assert read.rain_file == RainFile((str(tmp_path / "rain.csv"),), 25.4, "day", "inches", "day")
    assert read.field_files == (str(tmp_path / "visits.csv"),)
    assert read.rules.house_setback_m == 12 * 0.3048
    assert read.rules.visits == 20
    assert read.rules_written == {"house_setback_m": "house_setback_ft = 12", "visits": "visits = 20"}
    assert {"rain.csv", "visits.csv", "rules.toml"} <= set(read.area.files)


def test_problems_of_all_layers_come_in_one_table(tmp_path):
    write_area(tmp_path)
    frame = lots()
    frame.loc[0, "geometry"] = Polygon([(WEST, NORTH), (WEST + 4, NORTH - 4), (WEST + 4, NORTH), (WEST, NORTH - 4)])
    frame.to_file(tmp_path / "lots.gpkg")
    doubled = roofs("EPSG:4326")
    doubled = doubled.iloc[[0, 0, 1, 2]]
    doubled.to_file(tmp_path / "roofs.geojson")
    area = read_area(tmp_path / "area.toml").area
    assert sorted(zip(area.problems["layer"], area.problems["done"], strict=True)) == [
        ("lots", "repaired"),
        ("roofs", "dropped"),
    ]
    assert area.problems.crs == area.crs
    assert len(area.layers["roofs"]) == 3


def test_lots_of_another_place_are_a_fault_with_a_guess(tmp_path):
    write_area(tmp_path)
    moved = lots().assign(geometry=[translate(shape, 7000) for shape in lots().geometry])
    moved.to_file(tmp_path / "lots.gpkg")
    with pytest.raises(BadInput, match="7\\.0 km away"):
        read_area(tmp_path / "area.toml")


def test_a_lot_whose_corner_is_no_number_does_not_stop_the_rest(tmp_path):
    write_area(tmp_path)
    frame = lots()
    frame.loc[0, "geometry"] = Polygon([(WEST, NORTH), (WEST + 5, np.inf), (WEST + 5, NORTH - 5)])
    frame.to_file(tmp_path / "lots.gpkg")
    area = read_area(tmp_path / "area.toml").area
    assert area.layers["lots"]["lot_id"].tolist() == ["0002", "9"]
    assert area.problems["feature"].tolist() == ["0010"]


def test_no_roofs_left_is_a_fault(tmp_path):
    write_area(tmp_path)
    points = gpd.GeoDataFrame({"use": ["house"]}, geometry=[Point(WEST + 15, NORTH - 20)], crs=UTM)
    points.to_crs("EPSG:4326").to_file(tmp_path / "roofs.geojson")
    with pytest.raises(BadInput, match="No roofs are left to screen"):
        read_area(tmp_path / "area.toml")


def test_inspecting_never_raises_and_keeps_what_could_be_read(tmp_path):
    reading = inspect_area(tmp_path / "none.toml")
    assert "cannot be opened" in reading.faults[0].what
    path = write_area(tmp_path, base=BASE.split("[roofs]")[0])
    reading = inspect_area(path)
    assert [fault.what for fault in reading.faults] == ["The area file has no [roofs] table"]
    assert len(reading.layers["lots"]) == 3
    with pytest.raises(BadInput):
        reading.result()


def test_reading_twice_gives_the_same(tmp_path):
    path = write_area(tmp_path)
    one, other = read_area(path), read_area(path)
    assert one.area.notes == other.area.notes
    assert one.area.files == other.area.files
    for name in one.area.layers:
        assert one.area.layers[name].equals(other.area.layers[name])

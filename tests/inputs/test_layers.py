import geopandas as gpd
import pytest
from pyproj import CRS
from shapely.geometry import Point, box

from screening.inputs.area_file import LayerTable
from screening.inputs.findings import Findings
from screening.inputs.layers import REACH_M, finished_layer, joined, reach_of, read_layer_files
from tests.inputs.made_up import NORTH, UTM, WEST, lots

BOUNDS = (WEST, NORTH - 40, WEST + 50, NORTH)


def test_files_of_one_layer_are_joined_across_crs(tmp_path):
    lots().iloc[:2].to_file(tmp_path / "a.gpkg")
    lots("EPSG:4326").iloc[2:].to_file(tmp_path / "b.geojson")
    table = LayerTable("lots", ("*",), columns={"lot_id": "parcel"})
    paths = [str(tmp_path / name) for name in ("a.gpkg", "b.geojson")]
    findings = Findings()
    out = read_layer_files(table, paths, tmp_path, CRS(UTM), findings)
    assert findings.faults == []
    assert out["lot_id"].tolist() == ["0010", "9", "0002"]
    assert out.area.round(2).tolist() == [200.0] * 3


def test_whole_numbers_beside_gaps_stay_whole():
    first = gpd.GeoDataFrame({"lot_id": [9_007_199_254_740_993]}, geometry=[Point(0, 0)], crs=UTM)
    second = gpd.GeoDataFrame({"lot_id": ["x"], "zone": [1]}, geometry=[Point(0, 0)], crs=UTM)
    out = joined([first, second], CRS(UTM))
    assert out["lot_id"].tolist() == [9_007_199_254_740_993, "x"]
    assert out["zone"].tolist()[1] == 1


def test_lots_without_an_id_column_are_told_what_to_add(tmp_path):
    lots().to_file(tmp_path / "lots.gpkg")
    findings = Findings()
    table = LayerTable("lots", ("lots.gpkg",))
    assert read_layer_files(table, [str(tmp_path / "lots.gpkg")], tmp_path, CRS(UTM), findings) is None
    assert "Add id = ... to [lots]" in findings.faults[0].mend


def test_without_elevation_files_are_still_looked_through(tmp_path):
    lots().to_file(tmp_path / "lots.gpkg")
    findings = Findings()
    table = LayerTable("lots", ("lots.gpkg",), columns={"lot_id": "nothing"})
    assert read_layer_files(table, [str(tmp_path / "lots.gpkg")], tmp_path, None, findings) is None
    assert "There is no column 'nothing'" in findings.faults[0].what


def test_a_finished_layer_is_in_order_and_counted():
    frame = lots().rename(columns={"parcel": "lot_id", "road": "street"})
    out, overlap = finished_layer(frame, "lots", BOUNDS, Findings())
    assert out["lot_id"].tolist() == ["0002", "0010", "9"]
    assert out["place"].tolist() == ["0002", "0010", "9"]
    assert (overlap.layer, overlap.features, overlap.share) == ("lots", 3, 1.0)


def test_what_lies_far_off_is_left_out_but_never_a_lot():
    far = gpd.GeoDataFrame(geometry=[Point(WEST + 5, NORTH - 5), Point(WEST + 900, NORTH), None], crs=UTM)
    reach = reach_of(BOUNDS, None)
    findings = Findings()
    trees, overlap = finished_layer(far, "trees", BOUNDS, findings, reach=reach)
    assert len(trees) == 1
    assert overlap.features == 3
    assert "1 features far from every lot" in findings.notes[0].text
    assert findings.problems[0]["problem"] == "no geometry"
    shapes = [box(WEST, NORTH - 9, WEST + 9, NORTH), box(WEST + 900, NORTH, WEST + 909, NORTH + 9)]
    both = gpd.GeoDataFrame({"lot_id": ["a", "b"]}, geometry=shapes, crs=UTM)
    assert len(finished_layer(both, "lots", BOUNDS, Findings(), reach=reach)[0]) == 2


def test_reach_covers_lots_and_elevation():
    west, south, east, north = reach_of(BOUNDS, lots().translate(1000, 0).to_frame("geometry"))
    assert (west, south, north) == (WEST - REACH_M, NORTH - 40 - REACH_M, NORTH + REACH_M)
    assert east == pytest.approx(WEST + 1040 + REACH_M)

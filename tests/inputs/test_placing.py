import geopandas as gpd
import numpy as np
import pytest
from pyproj import CRS
from shapely.geometry import Point, box

from screening.inputs.findings import Findings
from screening.inputs.placing import in_working_crs, meets, overlap_share, tell_overlap
from screening.inputs.working_crs import metric_crs
from screening.units import FOOT_M, US_SURVEY_FOOT_M
from tests.inputs.made_up import NORTH, UTM, WEST, lots

BOUNDS = (WEST, NORTH - 40, WEST + 50, NORTH)


def test_degrees_come_into_the_working_crs():
    findings = Findings()
    out = in_working_crs(lots("EPSG:4326"), CRS(UTM), findings, layer="lots")
    assert out.crs == UTM
    assert out.geometry.geom_equals_exact(lots().geometry, 1e-6).all()
    assert findings.notes[0].text.startswith("Brought from WGS 84 by 'axis order")


def test_feet_come_into_metres_by_the_unit_alone():
    feet = gpd.GeoDataFrame(geometry=[Point(990_000, 210_000)], crs="EPSG:2263")
    out = in_working_crs(feet, metric_crs(CRS("EPSG:2263")), Findings(), layer="trees")
    assert out.geometry[0].x == pytest.approx(990_000 * US_SURVEY_FOOT_M, abs=1e-6)
    assert out.geometry[0].y == pytest.approx(210_000 * US_SURVEY_FOOT_M, abs=1e-6)


def test_the_same_crs_is_left_alone_and_a_compound_one_is_the_same():
    findings = Findings()
    frame = lots()
    assert in_working_crs(frame, CRS(UTM), findings, layer="lots").geometry.equals(frame.geometry)
    compound = frame.set_crs("EPSG:32606+5773", allow_override=True)
    out = in_working_crs(compound, CRS(UTM), findings, layer="lots")
    assert out.geometry.equals(frame.geometry)
    assert out.crs == UTM
    assert findings.notes == []


def test_coordinates_that_are_nowhere_are_a_fault():
    findings = Findings()
    nowhere = gpd.GeoDataFrame(geometry=[Point(500_000, 6_300_000)], crs="EPSG:4326")
    assert in_working_crs(nowhere, CRS(UTM), findings, layer="lots", file="lots.shp") is None
    assert "cannot be brought" in findings.faults[0].what
    assert findings.faults[0].file == "lots.shp"


def test_a_change_of_datum_is_told_with_its_exactness():
    findings = Findings()
    in_working_crs(lots("EPSG:4326").set_crs("EPSG:4267", allow_override=True), CRS(UTM), findings, layer="lots")
    assert "check that it lies where it should" in findings.notes[0].text


def test_missing_geometry_passes_through():
    frame = gpd.GeoDataFrame(geometry=[Point(10, 47), None], crs="EPSG:4326")
    out = in_working_crs(frame, CRS("EPSG:32632"), Findings(), layer="trees")
    assert out.geometry.isna().tolist() == [False, True]


def test_boxes_that_meet():
    boxes = np.array([[0, 0, 1, 1], [1, 1, 2, 2], [3, 0, 4, 1], [np.nan] * 4])
    assert meets(boxes, (1, 1, 1.5, 1.5)).tolist() == [True, True, False, False]


def test_overlap_is_a_share_of_the_features():
    findings = Findings()
    frame = lots()
    assert overlap_share(frame, BOUNDS) == 1.0
    east = (WEST + 25, NORTH - 40, WEST + 50, NORTH)
    found = tell_overlap(frame, east, findings, layer="lots")
    assert found.share == pytest.approx(2 / 3)
    assert findings.notes[0].text == "1 of 3 features lie off the elevation."


@pytest.mark.parametrize(
    ("moved", "guess"),
    [
        (lambda frame: frame.translate(20_000, 0), "20.0 km away"),
        (lambda frame: frame.affine_transform([0, 1, 1, 0, 0, 0]), "x and y seem to be swapped"),
        (lambda frame: frame.affine_transform([1 / FOOT_M, 0, 0, 1 / FOOT_M, 0, 0]), "seem to be in feet"),
        (lambda frame: frame.affine_transform([FOOT_M, 0, 0, FOOT_M, 0, 0]), "seem to be in metres"),
        (lambda frame: frame.to_crs("EPSG:4326"), "look like degrees"),
    ],
)
def test_no_overlap_is_a_fault_with_a_guess_why(moved, guess):
    findings = Findings()
    frame = lots().set_geometry(moved(lots().geometry).set_crs(UTM, allow_override=True))
    assert tell_overlap(frame, BOUNDS, findings, layer="lots", file="lots.gpkg").share == 0
    assert "Nothing of the layer lies on the elevation" in findings.faults[0].what
    assert guess in findings.faults[0].mend


def test_an_empty_layer_and_one_that_surrounds_are_no_fault():
    findings = Findings()
    empty = lots().iloc[:0]
    assert tell_overlap(empty, BOUNDS, findings, layer="wells").share == 0
    west, south, east, north = BOUNDS
    around = gpd.GeoDataFrame(
        geometry=[box(west - 20, south, west - 10, north), box(east + 10, south, east + 20, north)]
    )
    tell_overlap(around, BOUNDS, findings, layer="wells")
    assert findings.faults == []
    assert [note.text for note in findings.notes] == [
        "The layer holds no feature.",
        "The layer surrounds the elevation, but none of it lies on it.",
    ]

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import (
    GeometryCollection,
    LineString,
    MultiPoint,
    MultiPolygon,
    Point,
    Polygon,
    box,
)

from screening.inputs.findings import Findings
from screening.inputs.repair import repaired, snapped, with_finite_coordinates
from tests.inputs.made_up import UTM

BOW_TIE = Polygon([(0, 0), (4, 4), (4, 0), (0, 4)])


def mend(layer, geometries, **columns):
    findings = Findings()
    frame = gpd.GeoDataFrame(columns, geometry=list(geometries), crs=UTM)
    return repaired(frame, layer, findings), findings


def test_an_invalid_lot_is_repaired_and_told_with_its_areas():
    out, findings = mend("lots", [box(0, 0, 5, 5), BOW_TIE], lot_id=["a", "b"])
    assert out.geometry.is_valid.all()
    assert out.area.tolist() == [25.0, 8.0]
    problem = findings.problems[0]
    assert (problem["feature"], problem["problem"], problem["done"]) == ("b", "self-intersection", "repaired")
    assert problem["area_after_m2"] == 8.0
    assert problem["area_before_m2"] == BOW_TIE.area
    assert any("changed the area of 1 features" in note.text for note in findings.notes)


def test_a_collapsed_or_empty_feature_is_dropped_into_the_problems():
    flat = Polygon([(0, 0), (4, 0), (2, 0)])
    out, findings = mend("lots", [flat, None, Polygon(), box(0, 0, 1, 1)], lot_id=["a", "b", "c", "d"])
    assert out["lot_id"].tolist() == ["d"]
    assert [(one["feature"], one["done"]) for one in findings.problems if one["done"] == "dropped"] == [
        ("b", "dropped"),
        ("c", "dropped"),
        ("a", "dropped"),
    ]
    assert any("3 features without usable geometry" in note.text for note in findings.notes)


def test_heights_are_dropped_and_told_once():
    solid = Polygon([(0, 0, 9), (4, 0, 9), (4, 4, 9)])
    out, findings = mend("paved", [solid, solid])
    assert not out.has_z.any()
    assert [note.text for note in findings.notes] == ["2 features had Z values; dropped."]


def test_coordinates_are_millimetres_and_rings_run_counter_clockwise():
    shape = Polygon([(0, 0), (0, 1.00049), (1.00051, 1), (1, 0)])
    out, _ = mend("lots", [shape], lot_id=["a"])
    ring = out.geometry[0].exterior
    assert ring.is_ccw
    assert sorted(set(ring.coords)) == [(0.0, 0.0), (0.0, 1.0), (1.0, 0.0), (1.001, 1.0)]


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 4000), st.integers(0, 4000)), min_size=3, max_size=8, unique=True),
    st.floats(5e5, 6e5),
)
def test_whatever_comes_in_comes_out_valid_on_the_millimetre(points, east):
    shape = Polygon([(x / 777 + east, y / 777 + 6.3e6) for x, y in points])
    out, findings = mend("roofs", [shape], roof_id=["a"])
    assert out.geometry.is_valid.all()
    assert out.geom_type.isin(["Polygon"]).all()
    coordinates = shapely.get_coordinates(out.geometry.array)
    np.testing.assert_allclose(coordinates, np.round(coordinates, 3), rtol=0, atol=1e-9)
    assert len(out) or findings.problems
    assert len(set(out["roof_id"])) == len(out)


def test_roofs_of_several_parts_are_split_and_lots_stay_whole():
    two = MultiPolygon([box(0, 0, 1, 1), box(3, 0, 5, 2)])
    roofs, findings = mend("roofs", [two, box(9, 9, 10, 10)], roof_id=["a", "b"])
    assert roofs["roof_id"].tolist() == ["a/1", "a/2", "b"]
    assert roofs.area.tolist() == [1.0, 4.0, 1.0]
    assert findings.problems[0]["problem"] == "2 parts"
    assert findings.problems[0]["done"] == "split"
    lots, findings = mend("lots", [two], lot_id=["a"])
    assert lots.geom_type.tolist() == ["MultiPolygon"]
    assert findings.problems == []


def test_a_sliver_beside_a_roof_is_dropped():
    shape = MultiPolygon([box(0, 0, 5, 5), box(7, 0, 7.004, 1)])
    roofs, findings = mend("roofs", [shape], roof_id=["a"])
    assert roofs["roof_id"].tolist() == ["a"]
    assert findings.problems[0]["problem"] == "sliver under 0.01 m2"


def test_the_wrong_kind_is_dropped_or_brought_to_the_right_one():
    mixed = GeometryCollection([box(0, 0, 2, 2), LineString([(5, 5), (6, 6)])])
    out, findings = mend("paved", [mixed, Point(1, 1)])
    assert out.area.tolist() == [4.0]
    assert [one["done"] for one in findings.problems] == ["its polygon parts were kept", "dropped"]
    inlets, findings = mend("inlets", [box(0, 0, 2, 2), MultiPoint([(7, 7), (8, 8)])], inlet_id=["a", "b"])
    assert inlets.geom_type.tolist() == ["Point"] * 3
    assert inlets["inlet_id"].tolist() == ["a", "b/1", "b/2"]
    assert box(0, 0, 2, 2).contains(inlets.geometry[0])
    assert findings.problems[0]["done"] == "a point on it was taken"
    wells, findings = mend("wells", [box(0, 0, 2, 2), Point(1, 1)])
    assert wells.geom_type.tolist() == ["Polygon", "Point"]
    assert findings.problems == []


def test_coordinates_that_are_no_numbers_are_told():
    findings = Findings()
    with np.errstate(invalid="ignore"):
        shapes = [Point(0, 0), Point(np.nan, 1), LineString([(0, 0), (np.inf, 1)]), Point(2, 2)]
    frame = gpd.GeoDataFrame({"trunk_m": [1, 2, 3, 4]}, geometry=shapes, crs=UTM)
    out = with_finite_coordinates(frame, "trees", findings)
    assert out["trunk_m"].tolist() == [1, 4]
    assert [(one["feature"], one["problem"]) for one in findings.problems] == [
        ("2", "a coordinate is no number"),
        ("3", "a coordinate is no number"),
    ]
    assert with_finite_coordinates(out, "trees", Findings()) is out


def test_rows_keep_their_attributes():
    shapes = [Point(0, 0), None, Point(2, 2), MultiPoint([(3, 3), (4, 4)])]
    trunks = pd.array([0.1, 0.2, 0.3, 0.4], dtype="Float64")
    out, _ = mend("trees", shapes, trunk_m=trunks)
    assert out["trunk_m"].tolist() == [0.1, 0.3, 0.4, 0.4]
    assert out.index.tolist() == [0, 1, 2, 3]


def test_snapping_leaves_what_it_was_given():
    shapes = np.array([Point(0.00049, 1.0006)], dtype=object)
    assert snapped(shapes)[0].equals(Point(0, 1.001))
    assert shapes[0].x == 0.00049
    assert snapped(shapes)[0].y == pytest.approx(1.001, abs=1e-12)

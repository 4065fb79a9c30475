import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import box

from screening.inputs.findings import Findings
from screening.inputs.overlaps import overlapping_pairs, roofs_apart

HOUSE = box(0, 0, 12, 10)


def roofs(*shapes):
    return gpd.GeoDataFrame({"roof_id": [f"r{n}" for n in range(len(shapes))]}, geometry=list(shapes), crs="EPSG:32631")


def apart(*shapes):
    findings = Findings()
    out = roofs_apart(roofs(*shapes), findings)
    told = [(one["feature"], one["problem"], one["done"], one["area_after_m2"]) for one in findings.problems]
    return dict(zip(out["roof_id"], out.geometry, strict=True)), told


def test_overlapping_pairs_are_told_with_their_area():
    shapes = np.array(
        [box(0, 0, 10, 10), box(8, 0, 18, 10), box(18, 0, 28, 10), box(17.95, 0, 18.05, 10)], dtype=object
    )
    pairs = overlapping_pairs(shapes)
    assert (pairs.first.tolist(), pairs.second.tolist(), pairs.area_m2.tolist()) == ([0], [1], [20.0])
    assert pairs.common[0].equals(box(8, 0, 10, 10))


def test_roofs_that_only_touch_stay_as_they_are():
    frame, findings = roofs(HOUSE, box(12, 0, 18, 6), box(-0.05, 10, 5, 16)), Findings()
    assert roofs_apart(frame, findings) is frame
    assert findings.problems == []


def test_of_two_that_overlap_the_smaller_is_cut():
    found, told = apart(box(10, 2, 18, 8), HOUSE)
    assert found["r1"].equals(HOUSE)
    assert found["r0"].equals(box(12, 2, 18, 8))
    assert told == [("r0", "overlaps roof r1", "cut", 36.0)]


@pytest.mark.parametrize(
    "second", [HOUSE, box(3, 3, 7, 7), box(0.4, 0.4, 12.4, 9.4)], ids=["the same", "on it", "drawn again, 0.4 m off"]
)
def test_what_lies_on_a_larger_roof_is_left_out(second):
    found, told = apart(HOUSE, second)
    assert list(found) == ["r0"]
    assert told == [("r1", "overlaps roof r0", "left out", 0.0)]


def test_a_wing_across_a_house_is_left_on_both_sides():
    found, told = apart(HOUSE, box(4, -5, 8, 15))
    assert found["r1"].equals(shapely.union_all([box(4, -5, 8, 0), box(4, 10, 8, 15)]))
    assert told == [("r1", "overlaps roof r0", "cut", 40.0)]


def test_one_that_several_overlap_is_cut_by_all_of_them():
    found, told = apart(box(10, 2, 22, 8), HOUSE, box(20, 0, 32, 10))
    assert found["r0"].equals(box(12, 2, 20, 8))
    assert told == [("r0", "overlaps roof r1, r2", "cut", 48.0)]


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(*[st.integers(0, 15)] * 2, *[st.integers(2, 7)] * 2), min_size=2, max_size=7))
def test_no_rain_falls_twice_and_none_is_lost(sizes):
    """On a lattice of 2 m every overlap is told and nothing left is a strip: the same ground, none of it twice."""
    shapes = np.array([box(2 * x, 2 * y, 2 * (x + w), 2 * (y + d)) for x, y, w, d in sizes], dtype=object)
    out = roofs_apart(roofs(*shapes), Findings())
    total, covered = out.area.sum(), shapely.area(shapely.union_all(np.array(out.geometry.array)))
    assert total == pytest.approx(covered, abs=1e-6)
    assert covered == pytest.approx(shapely.area(shapely.union_all(shapes)), abs=1e-6)

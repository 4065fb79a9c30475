import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate
from shapely.geometry import Polygon, box

from screening.inputs.findings import Findings
from screening.inputs.lots import lots_in_order
from screening.inputs.overlaps import roofs_apart
from screening.places import first_lots
from screening.roofs.pieces import cut_by_lots
from tests.inputs.made_up import UTM


def lot_table(shapes):
    ids = pd.Series(list(shapes), dtype="str")
    return gpd.GeoDataFrame({"lot_id": ids}, geometry=list(shapes.values()), crs=UTM)


def roof_table(*shapes):
    ids = [f"r{at}" for at in range(len(shapes))]
    return gpd.GeoDataFrame({"roof_id": ids}, geometry=list(shapes), crs=UTM)


def apart(**shapes):
    findings = Findings()
    out = lots_in_order(lot_table(shapes), findings)
    return out.set_index("lot_id", drop=False), findings


def told(findings):
    return [(one["feature"], one["problem"], one["done"]) for one in findings.problems]


def roof_m2(lots, roofs):
    """Roof of each lot that stands for a place."""
    pieces, _ = cut_by_lots(roofs, first_lots(lots.reset_index(drop=True)))
    return pieces.groupby("lot_id")["area_m2"].sum().to_dict()


def test_lots_that_touch_or_share_a_strip_of_a_metre_square_stay_as_they_are():
    shapes = {"a": box(0, 0, 20, 30), "b": box(20, 0, 40, 30), "c": box(39.97, 0, 60, 30)}
    out, findings = apart(**shapes)
    assert [out.geometry[name] is shapes[name] or out.geometry[name].equals_exact(shapes[name]) for name in shapes]
    assert out.area.tolist() == [600, 600, pytest.approx(600.9)]
    assert (findings.problems, findings.notes) == ([], [])


def test_a_common_plot_is_what_remains_around_the_lots_that_lie_in_it():
    """Two lots of 8 x 20 m side by side in a plot of 40 x 30 m, a house of 6 x 10 m across their line, and a shed."""
    out, findings = apart(plot=box(0, 0, 40, 30), t1=box(10, 5, 18, 25), t2=box(18, 5, 26, 25))
    assert out.geometry["t1"].equals(box(10, 5, 18, 25))
    assert out.area.to_dict() == {"plot": 1200 - 2 * 160, "t1": 160, "t2": 160}
    assert out.geometry["plot"].equals(box(0, 0, 40, 30) - box(10, 5, 26, 25))
    assert out["place"].tolist() == ["plot", "t1", "t2"]
    assert told(findings) == [("plot", "overlaps lot t1, t2 by 320.0 m2", "cut")]
    assert (findings.problems[0]["area_before_m2"], findings.problems[0]["area_after_m2"]) == (1200, 880)
    assert findings.problems[0]["geometry"].equals(box(10, 5, 26, 25))
    roofs = roof_table(box(14, 8, 24, 14), box(30, 10, 33, 13))
    assert roof_m2(out, roofs) == pytest.approx({"t1": 4 * 6, "t2": 6 * 6, "plot": 9})


def test_lots_that_overlap_by_metres_are_cut_where_the_larger_one_reaches_over():
    out, findings = apart(small=box(0, 0, 20, 30), large=box(17, 0, 45, 30))
    assert out.geometry["large"].equals(box(20, 0, 45, 30))
    assert told(findings) == [("large", "overlaps lot small by 90.0 m2", "cut")]
    assert [note.kind for note in findings.notes] == ["caution"]
    assert findings.notes[0].text.startswith("1 lots were cut where smaller lots overlap them")
    assert roof_m2(out, roof_table(box(12, 5, 26, 15))) == pytest.approx({"small": 80, "large": 60})


def test_of_equal_lots_the_first_by_id_keeps_the_ground_wherever_its_outline_begins():
    turned = Polygon([(47.0, 30.0), (17.0, 30.0), (17.0, 0.0), (47.0, 0.0)])
    out, _ = apart(b=box(-10, 0, 20, 30), a=turned)
    assert out.geometry["a"].equals(turned)
    assert out.geometry["b"].equals(box(-10, 0, 17, 30))


def test_strips_are_cut_and_counted_in_one_note():
    """Lines that do not fit: 0.1 m by 30 m on either side of the middle lot, which is the smallest."""
    out, findings = apart(a=box(0, 0, 25.1, 30), b=box(25, 0, 45, 30), c=box(44.9, 0, 70, 30))
    assert out.area.to_dict() == pytest.approx({"a": 750, "b": 600, "c": 750})
    assert findings.problems == []
    assert [(note.kind, note.text) for note in findings.notes] == [
        ("repair", "2 strips under 0.5 m wide where lots overlap were left to the smaller lot.")
    ]
    assert sum(roof_m2(out, roof_table(box(10, 5, 60, 15))).values()) == pytest.approx(500)


def test_a_strip_is_told_by_its_own_width_where_the_lots_also_touch_along_a_line():
    """The overlap is 1 x 2 m; both lots then run along 60 m of one line."""
    other = Polygon([(10, 0), (40, 0), (40, 70), (10, 70), (10, 5), (9, 5), (9, 3), (10, 3)])
    out, findings = apart(a=box(0, 0, 10, 70), b=other)
    assert told(findings) == [("b", "overlaps lot a by 2.0 m2", "cut")]
    assert out.geometry["b"].equals(box(10, 0, 40, 70))


def test_three_that_overlap_leave_each_spot_to_the_smallest():
    out, _ = apart(large=box(0, 0, 40, 40), middle=box(10, 10, 40, 40), small=box(20, 20, 40, 40))
    assert out.area.to_dict() == {"large": 700, "middle": 500, "small": 400}


def test_a_part_that_is_only_a_strip_goes_and_others_stay():
    """A plot 0.2 m wider than the lots across it has two gardens left and no strip beside them."""
    out, _ = apart(plot=box(0, 0, 40, 20), t=box(10, 0.2, 30, 20.2))
    assert out.geometry["plot"].equals(box(0, 0, 10, 20).union(box(30, 0, 40, 20)).union(box(10, 0, 30, 0.2)))
    out, _ = apart(plot=box(0, 0, 40, 20), t=box(10, -1, 39.8, 21))
    assert out.geometry["plot"].equals(box(0, 0, 10, 20))


def test_a_lot_of_which_nothing_is_left_stands_with_the_one_that_keeps_most_of_it():
    shapes = {"0": box(0, 0, 20, 30), "a": box(0, 0, 20, 10), "b": box(0, 10, 20, 30), "0-2": box(0, 0, 20, 30)}
    out, findings = apart(**shapes)
    assert out["place"].to_dict() == {"0": "b", "0-2": "b", "a": "a", "b": "b"}
    assert out.area.to_dict() == {"0": 600, "0-2": 600, "a": 200, "b": 400}
    assert told(findings) == [
        ("0", "overlaps lot a, b by 600.0 m2", "nothing is left: looked at with the lot of its place")
    ]
    assert roof_m2(out, roof_table(box(5, 5, 15, 15))) == pytest.approx({"a": 50, "b": 50})


def test_many_lots_in_one_are_told_by_the_first_of_them():
    row = {f"t{at}": box(5 * at, 10, 5 * at + 5, 30) for at in range(8)}
    _, findings = apart(plot=box(-5, 0, 45, 40), **row)
    assert told(findings) == [("plot", "overlaps lot t0, t1, t2, t3, t4 and 3 more by 800.0 m2", "cut")]


def test_a_stack_is_cut_by_and_cuts_other_lots_as_its_first_lot_does():
    out, findings = apart(a=box(0, 0, 10, 10), b=box(0, 0, 10, 10.1), plot=box(-10, 0, 20, 30), hut=box(5, 5, 8, 8))
    assert out["place"].to_dict() == {"a": "a", "b": "a", "hut": "hut", "plot": "plot"}
    assert out.area.to_dict() == pytest.approx({"a": 91, "b": 101, "hut": 9, "plot": 800})
    assert [one["feature"] for one in findings.problems] == ["a", "plot"]


def test_what_is_left_is_valid_and_on_the_millimetre():
    turned = [rotate(box(20 * at, 0, 20 * at + 22, 31), 17 + at, origin=(0, 0)) for at in range(6)]
    shapes = shapely.transform(np.array(turned, dtype=object), lambda xy: np.round(xy * 1000) / 1000)
    out, _ = apart(**{f"l{at}": shape for at, shape in enumerate(shapes)})
    left = out.geometry.to_numpy()
    assert shapely.is_valid(left).all()
    corners = shapely.get_coordinates(left)
    np.testing.assert_array_equal(corners, np.round(corners * 1000) / 1000)
    assert shapely.is_ccw(shapely.get_exterior_ring(left)).all()
    assert shapely.area(left).sum() == pytest.approx(shapely.union_all(shapes).area, abs=0.2)


RECTANGLES = st.lists(st.tuples(*[st.integers(0, 14)] * 2, *[st.integers(2, 9)] * 2), min_size=1, max_size=7)


@settings(max_examples=100, deadline=None)
@given(RECTANGLES, RECTANGLES, st.randoms(use_true_random=False))
def test_every_roof_counts_once_whatever_the_order(lots, roofs, random):
    """On a lattice of 2 m nothing is a strip: roofs of all lots add up to what lies in any lot, each once."""

    def boxes(sizes):
        return [box(2 * x, 2 * y, 2 * (x + w), 2 * (y + d)) for x, y, w, d in sizes]

    shapes = {f"l{at}": shape for at, shape in enumerate(boxes(lots))}
    out, _ = apart(**shapes)
    roof_rows = roofs_apart(roof_table(*boxes(roofs)), Findings())
    found = roof_m2(out, roof_rows)
    ground = shapely.union_all(boxes(lots))
    assert sum(found.values()) == pytest.approx(shapely.union_all(boxes(roofs)).intersection(ground).area, abs=1e-6)
    assert first_lots(out.reset_index(drop=True)).area.sum() == pytest.approx(ground.area, abs=1e-6)
    mixed = list(shapes)
    random.shuffle(mixed)
    again, _ = apart(**{name: shapes[name] for name in mixed})
    assert again["place"].to_dict() == out["place"].to_dict()
    assert [shape.wkb for shape in again.geometry] == [shape.wkb for shape in out.geometry]

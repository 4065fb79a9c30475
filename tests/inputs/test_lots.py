import geopandas as gpd
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import box

from screening.inputs.findings import Findings
from screening.inputs.lots import in_order, lots_in_order, unique_ids
from tests.inputs.made_up import UTM


def frame(ids, shapes, column="lot_id"):
    return gpd.GeoDataFrame({column: pd.Series(ids, dtype="str")}, geometry=shapes, crs=UTM)


@given(st.lists(st.text(min_size=1), unique=True, min_size=1, max_size=8))
@settings(max_examples=50, deadline=None)
def test_order_is_by_code_point(ids):
    out = in_order(frame(ids, [box(0, 0, 1, 1)] * len(ids)), "lot_id")
    assert out["lot_id"].tolist() == sorted(ids)
    assert out.index.tolist() == list(range(len(ids)))


def test_a_lot_without_id_is_a_fault_that_names_its_row():
    findings = Findings()
    unique_ids(frame(["a", None, None], [box(at, 0, at + 1, 1) for at in range(3)]), "lots", "lot_id", findings)
    assert findings.faults[0].what == "2 lots have no id (rows 2, 3)"


def test_one_id_on_two_places_is_a_fault():
    findings = Findings()
    unique_ids(frame(["a", "a", "b"], [box(at, 0, at + 1, 1) for at in range(3)]), "lots", "lot_id", findings)
    assert findings.faults[0].what == "1 ids stand on more than one feature: a"


def test_the_same_lot_twice_is_a_problem_and_goes():
    findings = Findings()
    shapes = [box(0, 0, 1, 1), box(0, 0, 1, 1), box(0, 0, 1, 1)]
    out = unique_ids(frame(["a", "a", "b"], shapes), "lots", "lot_id", findings)
    assert out["lot_id"].tolist() == ["a", "b"]
    assert findings.faults == []
    assert findings.problems[0]["problem"] == "the same feature again"


def test_the_same_roof_twice_goes_whatever_its_id():
    findings = Findings()
    shapes = [box(0, 0, 1, 1), box(0, 0, 1, 1), box(3, 0, 4, 1)]
    out = unique_ids(frame(["a", "b", None], shapes, "roof_id"), "roofs", "roof_id", findings)
    assert out["roof_id"].tolist() == ["a", "3"]
    assert findings.faults == []
    assert findings.notes[-1].text == "1 features that stood there twice were dropped."


def test_numbers_given_to_roofs_without_id_are_as_wide_as_the_last_and_free():
    shapes = [box(at, 0, at + 1, 1) for at in range(11)]
    out = unique_ids(frame([None] * 11, shapes, "roof_id"), "roofs", "roof_id", Findings())
    assert out["roof_id"].tolist() == [f"{at:02d}" for at in range(1, 12)]
    taken = frame(["2", None, None], shapes[:3], "roof_id")
    assert unique_ids(taken, "roofs", "roof_id", Findings())["roof_id"].tolist() == ["2", "#2", "3"]


def test_stacked_lots_share_the_place_of_the_first_id():
    shapes = [box(0, 0, 10, 10), box(0, 0, 10, 10.2), box(10, 0, 20, 10), box(0, 0, 10, 10), box(0, 0, 10, 5)]
    findings = Findings()
    out = lots_in_order(frame(["d", "b", "a", "c", "e"], shapes), findings)
    assert out["lot_id"].tolist() == ["a", "b", "c", "d", "e"]
    assert out["place"].tolist() == ["a", "b", "b", "b", "e"]
    assert len(out) == 5
    assert out.geometry[1].equals(box(0, 5, 10, 10.2))
    told = [(one["feature"], one["problem"]) for one in findings.problems]
    assert told == [("b", "overlaps lot e by 50.0 m2")]
    assert any("2 lots lie on the place of another lot" in note.text for note in findings.notes)


def test_a_chain_of_nearly_equal_lots_is_one_place():
    # The outer two share less than 95% of each other, but both lie on the middle one's place.
    left, middle, right = box(0, 0, 10, 10), box(0.3, 0, 10.3, 10), box(0.6, 0, 10.6, 10)
    for ids in (["a", "b", "c"], ["a", "c", "b"], ["b", "c", "a"]):
        out = lots_in_order(frame(ids, [left, middle, right]), Findings())
        assert out["place"].tolist() == ["a", "a", "a"]


def test_a_unit_within_its_plot_is_no_stack():
    out = lots_in_order(frame(["plot", "unit"], [box(0, 0, 50, 50), box(10, 10, 15, 15)]), Findings())
    assert out["place"].tolist() == ["plot", "unit"]
    assert out.area.tolist() == [2500 - 25, 25]


def test_touching_lots_are_not_told():
    findings = Findings()
    lots_in_order(frame(["a", "b"], [box(0, 0, 10, 10), box(10, 0, 20, 10)]), findings)
    assert findings.problems == []
    assert findings.notes == []

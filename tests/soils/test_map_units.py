import pandas as pd
import pytest

from screening.errors import BadInput
from screening.rules import Rules
from screening.soils.groups import CHANCE_COLUMNS
from screening.soils.map_units import UNIT_COLUMNS, map_units

RULES = Rules()


def chances(units, key):
    return units.loc[key, list(CHANCE_COLUMNS)].tolist()


def test_columns_and_keys(tables):
    units = map_units(tables, RULES)
    assert list(units.columns) == list(UNIT_COLUMNS)
    assert units.index.tolist() == ["1", "2", "3"]
    assert units.index.name == "unit"
    assert units["name"].tolist() == ["Alpha-Beta complex", "Urban land-Alpha complex", "Delta loam"]
    assert units[list(CHANCE_COLUMNS)].sum(axis=1).tolist() == pytest.approx([1, 1, 1])


def test_component_percentages_are_chances(tables):
    units = map_units(tables, RULES)
    assert chances(units, "1") == pytest.approx([0, 0.6, 0, 0.3, 0.1])
    assert chances(units, "2") == pytest.approx([0, 0.45, 0, 0, 0.55])
    assert chances(units, "3") == pytest.approx([0, 0.15, 0, 0.85, 0])
    drained = map_units(tables, Rules(dual_group_drained=True))
    assert chances(drained, "3") == pytest.approx([0, 0.15, 0.85, 0, 0])


def test_labels_and_sources(tables):
    units = map_units(tables, RULES)
    # unit 2 is mostly urban land, so the survey's summary (D) does not tell; unit 3 has no group of its own
    assert units["hsg"].tolist() == ["B", "unknown", "C/D"]
    assert units["source"].tolist() == ["survey", "none", "derived"]


def test_conductivity_and_depths_are_those_of_the_label_s_largest_component(tables):
    units = map_units(tables, RULES)
    assert units["ksat_um_s"].tolist() == pytest.approx([9.0, float("nan"), 1.0], nan_ok=True)
    # the summary's 46 cm of unit 1 belongs to another component, and Alpha's months show no wet layer
    assert units["water_table_m"].tolist() == pytest.approx([float("nan"), float("nan"), 0.4], nan_ok=True)
    assert units["bedrock_m"].isna().all()


def test_the_summary_stands_in_where_there_are_no_such_tables(tables):
    for name in ("comonth", "cosoilmoist", "corestrictions"):
        del tables[name]
    units = map_units(tables, RULES)
    assert units["water_table_m"].tolist() == pytest.approx([0.46, float("nan"), 0.3], nan_ok=True)
    assert units["bedrock_m"]["3"] == 1.5


def test_a_summary_alone(tables):
    units = map_units({"muaggatt": tables["muaggatt"], "mapunit": tables["mapunit"]}, RULES)
    assert units["hsg"].tolist() == ["B", "unknown", "unknown"]
    assert chances(units, "1") == pytest.approx([0.1, 0.8, 0.1, 0, 0])
    assert chances(units, "3") == [0, 0, 0, 0, 1]
    assert units["ksat_um_s"].isna().all()


def test_components_alone(tables):
    units = map_units({"component": tables["component"]}, RULES)
    assert units["hsg"].tolist() == ["B", "unknown", "unknown"]
    assert units["name"].tolist() == ["1", "2", "3"]
    assert chances(units, "1") == pytest.approx([0, 0.6, 0, 0, 0.4])


def test_percentages_missing_or_over_a_hundred():
    component = pd.DataFrame(
        {
            "mukey": ["1", "1", "2", "2", "3"],
            "cokey": list("abcde"),
            "compname": list("VWXYZ"),
            "comppct_r": [60, None, 80, 80, None],
            "hydgrp": ["A", "C", "B", "D", "C"],
        }
    )
    units = map_units({"component": component}, RULES)
    assert chances(units, "1") == pytest.approx([0.6, 0, 0.4, 0, 0])
    assert chances(units, "2") == pytest.approx([0, 0.5, 0, 0.5, 0])
    assert chances(units, "3") == pytest.approx([0, 0, 1, 0, 0])
    assert units["hsg"].tolist() == ["A", "D", "C"]  # of equal shares the one that takes less water


@pytest.mark.parametrize("order", [[0, 1, 2], [2, 1, 0], [1, 2, 0]])
def test_of_two_components_alike_the_first_cokey_is_the_dominant_one(order):
    """Most percent first, ties by cokey (an agency's script for the dominant component), in any order of the rows."""
    rows = [("1", "b7", "Late", 40, "B"), ("1", "a9", "Early", 40, "B"), ("1", "a1", "Small", 20, "B")]
    component = pd.DataFrame([rows[at] for at in order], columns=["mukey", "cokey", "compname", "comppct_r", "hydgrp"])
    horizons = pd.DataFrame(
        [("b7", 0, 152, 7.0), ("a9", 0, 152, 9.0), ("a1", 0, 152, 1.0)],
        columns=["cokey", "hzdept_r", "hzdepb_r", "ksat_r"],
    )
    found = map_units({"component": component, "chorizon": horizons}, RULES)
    assert found["ksat_um_s"].tolist() == [9.0]
    rows[0] = ("1", "b7", "Late", 41, "B")
    component = pd.DataFrame([rows[at] for at in order], columns=component.columns)
    assert map_units({"component": component, "chorizon": horizons}, RULES)["ksat_um_s"].tolist() == [7.0]


def test_tables_that_tell_nothing_are_refused(tables):
    with pytest.raises(BadInput, match="neither components nor map unit summaries"):
        map_units({"mapunit": tables["mapunit"]}, RULES)

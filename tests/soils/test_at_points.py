import geopandas as gpd
import numpy as np
import pytest
import shapely

from screening.area import SoilMap
from screening.errors import BadInput
from screening.rules import Rules
from screening.soils.at_points import soil_at_points
from screening.soils.map_units import from_groups

RULES = Rules()


def plain_map(groups, boxes, **columns):
    frame = gpd.GeoDataFrame({"hydro": groups, **columns}, geometry=[shapely.box(*box) for box in boxes])
    return from_groups(frame, "hydro", RULES)


def two_halves():
    """B west of x = 100, C east of it."""
    return plain_map(["B", "C"], [(0, 0, 100, 200), (100, 0, 200, 200)])


def test_no_map_is_unknown_and_not_good():
    rows = soil_at_points(None, [1.0, 2.0], [3.0, 4.0], RULES)
    assert rows["hsg"].tolist() == ["unknown", "unknown"]
    assert rows["hsg_source"].tolist() == ["none", "none"]
    assert rows["ksat_um_s"].isna().all()
    assert (rows[["chance_a", "chance_b", "chance_c", "chance_d"]] == 0).all().all()
    assert (rows["near_groups"] == "").all()
    empty = SoilMap(two_halves().polygons.iloc[:0], two_halves().units)
    assert soil_at_points(empty, [1.0, 2.0], [3.0, 4.0], RULES).equals(rows)


def test_far_from_the_line_the_mapped_unit_alone_counts():
    rows = soil_at_points(two_halves(), [50.0, 150.0], [100.0, 100.0], RULES)
    assert rows["hsg"].tolist() == ["B", "C"]
    assert rows["hsg_source"].tolist() == ["survey", "survey"]
    assert rows["near_groups"].tolist() == ["", ""]
    assert rows.loc[0, ["chance_a", "chance_b", "chance_c", "chance_d"]].tolist() == pytest.approx([0.1, 0.8, 0.1, 0])
    assert (rows["ksat_um_s"] * 3.6).tolist() == pytest.approx([8.0, 4.0])
    assert rows["ksat_spread"].tolist() == [2.0, 2.0]


def test_near_the_line_both_sides_are_blended():
    # 5 m off a line that may be 20 m off: the other side with (1 - 5/20) / 2 = 0.375
    rows = soil_at_points(two_halves(), [95.0, 105.0, 80.0 - 1e-6], [100.0] * 3, RULES)
    own, other = np.array([0.1, 0.8, 0.1, 0]), np.array([0, 0.1, 0.8, 0.1])
    chances = rows[["chance_a", "chance_b", "chance_c", "chance_d"]].to_numpy()
    assert chances[0] == pytest.approx(0.625 * own + 0.375 * other)
    assert chances[1] == pytest.approx(0.625 * other + 0.375 * own)
    assert rows["hsg"].tolist() == ["B", "C", "B"]
    assert rows["near_groups"].tolist() == ["C", "B", ""]


def test_where_three_units_meet_the_point_s_own_keeps_half():
    corner = plain_map(["A", "B", "D"], [(0, 0, 100, 100), (100, 0, 200, 100), (0, 100, 200, 200)])
    rows = soil_at_points(corner, [100.0 - 1e-9], [100.0 - 1e-9], RULES)
    a, b, d = np.array([0.8, 0.2, 0, 0]), np.array([0.1, 0.8, 0.1, 0]), np.array([0, 0, 0.2, 0.8])
    found = rows[["chance_a", "chance_b", "chance_c", "chance_d"]].to_numpy()[0]
    assert found == pytest.approx(0.5 * a + 0.25 * b + 0.25 * d)
    assert rows["near_groups"][0] == "B, D"


def test_a_line_between_polygons_of_one_unit_is_no_line():
    one = plain_map(["B", "B"], [(0, 0, 100, 200), (100, 0, 200, 200)])
    rows = soil_at_points(one, [99.0], [100.0], RULES)
    assert rows["near_groups"][0] == ""
    assert rows["chance_b"][0] == pytest.approx(0.8)


def test_unmapped_ground_beside_a_polygon():
    rows = soil_at_points(two_halves(), [-10.0], [100.0], RULES)
    assert rows["hsg"][0] == "unknown"
    assert rows["near_groups"][0] == "B"
    assert rows["chance_b"][0] == pytest.approx(0.25 * 0.8)
    assert rows["ksat_source"][0] == "none"


def test_depths_and_conductivity_given_with_the_polygons():
    strip = plain_map(
        ["B", "B"],
        [(0, 0, 20, 24), (0, 24, 20, 40)],
        water_table_m=[np.nan, 0.4],
        bedrock_m=[np.nan, np.nan],
        ksat_um_s=[9.0, np.nan],
    )
    rows = soil_at_points(strip, [10.0, 10.0], [10.0, 30.0], RULES)
    assert rows["water_table_m"].tolist() == pytest.approx([np.nan, 0.4], nan_ok=True)
    assert rows["ksat_um_s"].tolist() == pytest.approx([3.0, 8.0 / 3.6])
    assert rows["ksat_source"].tolist() == ["survey", "group"]
    assert (rows["near_groups"] == "").all()
    assert len(strip.units) == 2


def test_the_answer_at_a_point_does_not_depend_on_its_company():
    rng = np.random.default_rng(5)
    x, y = rng.uniform(-20, 220, 300), rng.uniform(-20, 220, 300)
    soils = plain_map(["A", "B", "D"], [(0, 0, 100, 100), (100, 0, 200, 100), (0, 100, 200, 200)])
    whole = soil_at_points(soils, x, y, RULES)
    alone = soil_at_points(soils, x[7:8], y[7:8], RULES)
    assert alone.iloc[0].equals(whole.iloc[7].rename(0))
    chances = whole[["chance_a", "chance_b", "chance_c", "chance_d"]].sum(axis=1)
    assert ((chances <= 1 + 1e-12) & (chances >= 0)).all()


def test_a_column_without_a_single_group_is_refused():
    frame = gpd.GeoDataFrame({"kind": ["loam", "sand"]}, geometry=[shapely.box(0, 0, 1, 1), shapely.box(1, 0, 2, 1)])
    with pytest.raises(BadInput, match="No value of column 'kind' is a soil group"):
        from_groups(frame, "kind", RULES)
    with pytest.raises(BadInput, match="There is no column 'hsg'"):
        from_groups(frame, "hsg", RULES)

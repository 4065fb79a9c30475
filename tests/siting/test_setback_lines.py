import numpy as np
import pytest
import shapely
from shapely import LineString, MultiPoint, MultiPolygon, Polygon, box

from screening.rules import Rules
from screening.siting import setback_lines
from screening.siting.setback_lines import narrow_parts, side_lines, street_lines
from tests.siting.lots import make_block, standard_lot


def length(rows):
    return float(shapely.length(rows.geometry.to_numpy()).sum())


def test_only_the_front_of_a_plain_lot_is_a_street_line():
    block, context = make_block(**standard_lot())
    front, rest = street_lines(block, context), side_lines(block, context)
    assert front.geometry[0].bounds == (0, 0, 20, 0)
    assert front["clearance_m"].tolist() == [1.0]
    assert length(rest) == pytest.approx(100.0)
    assert rest["clearance_m"].tolist() == [1.5]


@pytest.mark.parametrize("away", [0.0, 3.0, 6.4, 10.0, 14.9])
def test_a_line_within_reach_that_runs_beside_the_street_faces_it(away):
    lot = {**standard_lot(), "streets": [LineString([(-40, -away), (60, -away)])]}
    block, context = make_block(turn_deg=25, **lot)
    assert length(street_lines(block, context)) == pytest.approx(20.0)


def test_a_street_out_of_reach_is_faced_by_nothing():
    lot = {**standard_lot(), "streets": [LineString([(-40, -15.5), (60, -15.5)])]}
    block, context = make_block(**lot)
    assert len(street_lines(block, context)) == 0
    assert length(side_lines(block, context)) == pytest.approx(120.0)


def test_a_corner_lot_has_two_street_lines():
    streets = [LineString([(-40, -3), (28, -3)]), LineString([(28, -40), (28, 90)])]
    block, context = make_block(lots=[box(0, 0, 25, 30)], roofs=[box(6, 12, 18, 22)], streets=streets)
    assert length(street_lines(block, context)) == pytest.approx(55.0)


def test_a_long_edge_is_a_street_line_only_where_the_street_runs():
    block, context = make_block(
        lots=[box(0, 0, 60, 40)], roofs=[box(6, 12, 18, 22)], streets=[LineString([(-40, -2), (20, -2)])]
    )
    assert 20.0 <= length(street_lines(block, context)) <= 30.0


def test_the_pole_is_narrow_and_a_lot_narrow_all_over_is_not():
    flag = shapely.union(box(0, 0, 5, 40), box(0, 40, 30, 75))
    terrace = box(40, 0, 45.5, 40)
    block, context = make_block(lots=[flag, terrace], roofs=[box(9, 50, 21, 60)])
    parts = narrow_parts(block, context)
    assert parts["lot"].tolist() == [0]
    assert parts.geometry.area.sum() == pytest.approx(200.0, rel=0.01)
    assert len(narrow_parts(*make_block(lots=[flag], rules=Rules(narrow_part_m=0)))) == 0


def test_lots_that_are_surely_wide_are_told_by_their_edges():
    lots = [
        box(0, 0, 6.1, 40),
        box(0, 0, 5.9, 40),
        Polygon([(0, 0), (20, 0), (20, 30), (10, 40), (0, 30)]),
        Polygon([(0, 0), (0, 30), (18, 30), (20, 0)]),
        Polygon([(0, 0), (10, 0), (20, 0), (20, 30), (0, 30)]),
        Polygon([(0, 0), (20, 0), (20, 29), (19, 30), (0, 30)]),
        Polygon([(0, 0), (60, 0), (30, 4)]),
        Polygon([(0, 0), (30, 0), (30, 30), (20, 30), (20, 10), (0, 10)]),
        box(0, 0, 30, 30) - box(10, 10, 20, 20),
        MultiPolygon([box(0, 0, 20, 20), box(30, 0, 50, 20)]),
    ]
    found = setback_lines._wide_all_over(np.array(lots, dtype=object), 3.0)
    assert found.tolist() == [True, False, True, True, True, False, False, False, False, False]
    assert setback_lines._wide_all_over(np.array(lots[-1:], dtype=object), 3.0).tolist() == [False]


def test_leaving_out_lots_that_are_surely_wide_changes_nothing(monkeypatch):
    random = np.random.default_rng(11)
    lots = []
    for n in range(60):
        points = random.uniform(0, 1, (random.integers(4, 8), 2)) * random.uniform(8, 60, 2) + [70 * n, 0]
        lots.append(MultiPoint(points).convex_hull)
        pole = box(70 * n, 100, 70 * n + random.uniform(3, 9), 130)
        lots.append(shapely.union(pole, box(70 * n, 130, 70 * n + 30, 150)))
    block, context = make_block(lots=lots)
    sure = setback_lines._wide_all_over(block.lots.geometry.to_numpy(), context.rules.narrow_part_m / 2)
    assert 10 < sure.sum() < 60
    quick = narrow_parts(block, context)
    monkeypatch.setattr(setback_lines, "_wide_all_over", lambda lots, _: np.zeros(len(lots), dtype=bool))
    slow = narrow_parts(block, context)
    assert len(quick) > 10
    assert quick["lot"].tolist() == slow["lot"].tolist()
    assert shapely.equals_exact(quick.geometry.to_numpy(), slow.geometry.to_numpy()).all()


@pytest.mark.parametrize("corner", [(40, 0), (60, 5), (12, 30)])
def test_corners_of_a_wide_lot_are_not_narrow(corner):
    triangle = shapely.Polygon([(0, 0), corner, (20, 40)])
    parts = narrow_parts(*make_block(lots=[triangle]))
    assert parts.geometry.area.sum() < 0.1 * triangle.area

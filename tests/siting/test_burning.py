import numpy as np
import pytest
import shapely
from affine import Affine
from shapely import LineString, MultiPolygon, Point, box

from screening.siting import burning
from screening.siting.burning import burn, segments
from screening.siting.kernels import burn as kernels

CELLS = Affine(0.5, 0, 3.3, 0, -0.7, 57.1)
SHAPE = (90, 110)


def centres(transform=CELLS, shape=SHAPE):
    x = transform.c + transform.a * (np.arange(shape[1]) + 0.5)
    y = transform.f + transform.e * (np.arange(shape[0]) + 0.5)
    return np.meshgrid(x, y)


def burnt(geometry, value=1, **how):
    out = np.zeros(SHAPE, dtype=np.uint32)
    burn(np.array(geometry, dtype=object), value, CELLS, out, **how)
    return out


def some_geometry(seed):
    rng = np.random.default_rng(seed)
    hull = shapely.convex_hull(shapely.multipoints(rng.uniform(0, 60, (6, 2))))
    holed = hull.difference(Point(*rng.uniform(10, 50, 2)).buffer(5))
    line = LineString(rng.uniform(0, 60, (4, 2)))
    return [holed, line, MultiPolygon([box(10, 10, 14, 18), box(40, 30, 55, 33)]), Point(30, 30), hull][seed % 5]


@pytest.mark.parametrize("seed", range(10))
def test_insides_and_reach_are_those_of_the_geometry(seed):
    geometry = some_geometry(seed)
    x, y = centres()
    reach = 0.1 + seed
    assert (burnt([geometry]).astype(bool) == shapely.contains_xy(geometry, x, y)).all()
    near = shapely.distance(shapely.points(x, y), geometry) < reach
    assert (burnt([geometry], reach_m=reach).astype(bool) == near).all()


def test_polygons_that_share_edges_share_no_cell_and_leave_none_out():
    cells = Affine(1.0, 0, 0, 0, -1.0, 10.0)
    out = np.zeros((10, 10), dtype=np.uint32)
    quarters = [box(0, 0, 4.5, 5.5), box(4.5, 0, 10, 5.5), box(0, 5.5, 4.5, 10), box(4.5, 5.5, 10, 10)]
    count = np.zeros_like(out)
    for quarter in quarters:
        out[:] = 0
        burn(np.array([quarter]), 1, cells, out)
        count += out
    assert (count == 1).all()


def test_bits_add_up_and_the_first_number_stays():
    things = [box(10, 20, 30, 40), box(20, 20, 40, 40)]
    bits = burnt(things, [1, 4])
    assert set(np.unique(bits)) == {0, 1, 4, 5}
    numbers = burnt(things, [1, 2], first_wins=True)
    assert (numbers[bits == 5] == 1).all()
    assert (numbers[bits == 4] == 2).all()


def test_a_thing_of_one_lot_burns_no_other_and_a_level_only_what_is_above_or_unknown():
    x, y = centres()
    lot = np.where(x < 30, 0, 1).astype(np.int32)
    assert (burnt([box(10, 20, 50, 40)], own=1, lot=lot).astype(bool) <= (lot == 1)).all()
    ground = np.where(y > 30, 5.0, 1.0)
    ground[x < 12] = np.nan
    high = burnt([box(10, 20, 50, 40)], level_m=2.0, ground_m=ground).astype(bool)
    assert high.any()
    assert ((y > 30) | (x < 12))[high].all()


def test_compiled_and_plain_agree(monkeypatch):
    things = [some_geometry(0), some_geometry(1), some_geometry(2), some_geometry(3)]
    lot = np.zeros(SHAPE, dtype=np.int32)
    ground = centres()[1]
    how = {"reach_m": 3.0, "own": [-1, 0, -1, 0], "lot": lot, "level_m": [np.nan, 20.0, 25.0, np.nan]}
    fast = burnt(things, [1, 2, 4, 8], ground_m=ground, **how)
    monkeypatch.setattr(kernels, "burn_span", kernels.burn_span.py_func)
    monkeypatch.setattr(burning, "burn_polygons", kernels.burn_polygons.py_func)
    monkeypatch.setattr(burning, "burn_reach", kernels.burn_reach.py_func)
    assert (burnt(things, [1, 2, 4, 8], ground_m=ground, **how) == fast).all()


def test_segments_of_mixed_geometries_keep_their_number():
    found = segments(np.array([box(0, 0, 1, 1), Point(5, 5), LineString([(0, 0), (3, 0), (3, 4)])], dtype=object))
    lengths = np.hypot(*(found.end - found.start).T)
    assert np.bincount(found.thing, lengths).tolist() == [4.0, 0.0, 7.0]


def test_what_is_alike_is_taken_apart_once_and_comes_in_the_same_order():
    line, area = LineString([(0, 0), (1, 0), (1, 2)]), box(3, 3, 5, 4)
    things = [line, Point(7, 7), area, shapely.MultiPoint([(8, 8), (9, 9)]), shapely.GeometryCollection([area, line])]
    number = np.array([3, 0, 3, 2, 4, 1, 0, 2])
    geometry = np.array(things, dtype=object)[number]
    plain, once = segments(geometry), segments(geometry, number)
    for name in ("start", "end", "thing"):
        assert np.array_equal(getattr(once, name), getattr(plain, name))
    none = segments(geometry[:0], number[:0])
    assert len(none.start) == len(none.thing) == 0

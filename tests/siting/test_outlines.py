import numpy as np
import pytest
import shapely
from affine import Affine
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from screening.siting import outlines as module
from screening.siting.kernels import outlines as kernels
from screening.siting.outlines import outlines

CELLS = Affine(0.5, 0, 3.0, 0, -0.5, 57.0)


@settings(max_examples=150, deadline=None)
@given(hnp.arrays(np.int32, hnp.array_shapes(min_dims=2, max_dims=2, max_side=14), elements=st.integers(-1, 3)))
def test_outlines_are_valid_and_hold_their_cells(labels):
    polygons, label = outlines(labels, CELLS)
    assert shapely.is_valid(polygons).all()
    for value in (1, 2, 3):
        row, column = np.nonzero(labels == value)
        x, y = CELLS.c + CELLS.a * (column + 0.5), CELLS.f + CELLS.e * (row + 0.5)
        own = polygons[label == value]
        assert shapely.area(own).sum() == pytest.approx(0.25 * row.size)
        holders = sum((shapely.contains_xy(polygon, x, y).astype(int) for polygon in own), np.zeros(row.size, int))
        assert (holders == 1).all()


def test_cells_that_touch_at_a_corner_stay_apart_and_a_ring_never_meets_itself():
    two, _ = outlines(np.array([[1, 0], [0, 1]], dtype=np.int32), CELLS)
    assert shapely.area(two).tolist() == [0.25, 0.25]
    pinched = np.array([[1, 1, 1], [1, 0, 1], [1, 1, 0]], dtype=np.int32)
    one, _ = outlines(pinched, CELLS)
    assert len(one) == 1
    assert shapely.is_valid(one[0])
    assert len(one[0].interiors) == 1


def test_straight_sides_have_no_vertices_within():
    polygon = outlines(np.ones((4, 7), dtype=np.int32), CELLS)[0][0]
    assert len(polygon.exterior.coords) == 5
    assert polygon.exterior.is_ccw
    assert polygon.bounds == (3.0, 55.0, 6.5, 57.0)


def test_nothing_has_no_outline():
    polygons, label = outlines(np.zeros((3, 3), dtype=np.int32), CELLS)
    assert len(polygons) == len(label) == 0


def test_compiled_and_plain_agree(monkeypatch):
    labels = np.random.default_rng(3).integers(-1, 3, (17, 23)).astype(np.int32)
    fast = outlines(labels, CELLS)
    for name in ("number_regions", "count_corners", "trace_rings"):
        monkeypatch.setattr(module, name, getattr(kernels, name).py_func)
    plain = outlines(labels, CELLS)
    assert shapely.equals_exact(fast[0], plain[0]).all()
    assert (fast[1] == plain[1]).all()

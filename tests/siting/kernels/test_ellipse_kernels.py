import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.siting.ellipse import ellipse_polygons
from screening.siting.kernels.ellipse_kernels import exact_room, near_segments, point_gap, segment_gap
from screening.siting.search_arrays import SEG


def metres(low, high):
    return st.integers(round(low * 1000), round(high * 1000)).map(lambda mm: mm / 1000)


COORDINATE = metres(-12, 12)


def ellipse(a, b):
    return ellipse_polygons([0.0], [0.0], [math.pi * a * b], [a / b], [0.0], vertices=3000)[0]


@given(COORDINATE, COORDINATE, st.floats(0.6, 5), st.floats(1, 3))
@settings(max_examples=150, deadline=None)
def test_point_gap_is_the_distance(u, v, b, aspect):
    expected = shapely.distance(shapely.Point(u, v), ellipse(b * aspect, b))
    assert point_gap(u, v, b * aspect, b) == pytest.approx(expected, abs=2e-4)
    assert point_gap.py_func(u, v, b * aspect, b) == pytest.approx(point_gap(u, v, b * aspect, b), abs=1e-12)


@given(COORDINATE, COORDINATE, COORDINATE, COORDINATE, st.floats(0.6, 5), st.floats(1, 3))
@settings(max_examples=150, deadline=None)
def test_segment_gap_is_the_distance(u0, v0, u1, v1, b, aspect):
    line = shapely.LineString([(u0, v0), (u1, v1)])
    expected = shapely.distance(line, ellipse(b * aspect, b))
    assert segment_gap(u0, v0, u1, v1, b * aspect, b) == pytest.approx(expected, abs=2e-4)
    assert segment_gap.py_func(u0, v0, u1, v1, b * aspect, b) == pytest.approx(expected, abs=2e-4)


def segs(*lines):
    out = np.zeros(len(lines), dtype=SEG)
    for number, line in enumerate(lines):
        for name, value in zip(SEG.names, line, strict=True):
            out[name][number] = value
    return out.view(np.recarray)


def room(lines, x=0.0, y=0.0, turn=0.0, aspect=2.0, kernel=exact_room):
    records = segs(*lines)
    near, aside = np.zeros(len(lines), dtype=np.int64), np.zeros((len(lines), 3))
    count = near_segments(x, y, 7.0, 1.2, records, 0, len(lines), near, aside)
    if count < 0:
        return 0.0
    return kernel(x, y, math.cos(turn), math.sin(turn), aspect, 3.0, 28.0, 0.6, records, near, aside, count)


STRIP = [(-50, -2, 50, -2, 0.4), (-50, 2, 50, 2, 0.4)]


@pytest.mark.parametrize("kernel", [exact_room, exact_room.py_func])
def test_room_in_a_strip_by_hand(kernel):
    # half width 2.0 - 0.4 - 0.6 = 1.0, so half length 2.0
    assert room(STRIP, kernel=kernel) == pytest.approx(2.0 * math.pi, abs=0.01)
    assert room(STRIP, aspect=3.0, kernel=kernel) == pytest.approx(3.0 * math.pi, abs=0.01)
    # across the strip only the short axes count
    assert room(STRIP, turn=math.pi / 2, aspect=1.15, kernel=kernel) == pytest.approx(math.pi / 1.15, abs=0.01) or (
        room(STRIP, turn=math.pi / 2, aspect=1.15, kernel=kernel) == 0.0
    )


def test_no_room_beside_a_segment_that_is_too_near():
    assert room([(-50, 1.0, 50, 1.0, 0.0)]) == 0.0


def test_room_is_the_most_where_nothing_is_near():
    assert room([(-50, 40, 50, 40, 3.0)]) == 28.0


@given(metres(-3, 3), metres(2.3, 9), metres(-9, 9), metres(2.3, 9), st.floats(0, math.pi), metres(0, 1))
@settings(max_examples=60, deadline=None)
def test_footprint_of_the_room_keeps_its_distance(u0, v0, u1, v1, turn, clearance):
    found = room([(u0, v0, u1, v1, clearance)], turn=turn)
    if found == 0.0:
        return
    polygon = ellipse_polygons([0.0], [0.0], [found], [2.0], [math.degrees(turn)], vertices=720)[0]
    away = shapely.distance(polygon, shapely.LineString([(u0, v0), (u1, v1)]))
    assert away >= 0.6 + clearance - 2e-3
    if found < 27.99:
        assert away <= 0.6 + clearance + 0.02


def halved(u0, v0, u1, v1, keep):
    """The largest area by halving alone."""
    low, high = 3.0, 28.0

    def fits(size):
        a = math.sqrt(size * 2.0 / math.pi)
        return segment_gap(u0, v0, u1, v1, a, a / 2.0) >= keep

    if fits(high) or not fits(low):
        return high if fits(high) else 0.0
    while high - low > 0.005:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low


@given(metres(-6, 6), metres(1.5, 6), metres(-6, 6), metres(1.5, 6), metres(0, 1))
@settings(max_examples=200, deadline=None)
def test_closing_in_finds_what_halving_finds(u0, v0, u1, v1, clearance):
    found = room([(u0, v0, u1, v1, clearance)])
    if min(math.hypot(u0, v0), math.hypot(u1, v1)) > clearance + 2.0:
        assert found == halved(u0, v0, u1, v1, 0.6 + clearance)


def test_near_segments_collects_what_is_near_and_refuses_what_is_too_near():
    records = segs((0, 5, 10, 5, 1.0), (0, 30, 10, 30, 1.0), (-5, -4, -5, 4, 2.0))
    near, aside = np.zeros(3, dtype=np.int64), np.zeros((3, 3))
    for kernel in (near_segments, near_segments.py_func):
        assert kernel(0.0, 0.0, 6.0, 1.2, records, 0, 3, near, aside) == 2
        assert near[:2].tolist() == [0, 2]
        assert aside[:2].tolist() == [[5.0, 0.0, 1.0], [5.0, -1.0, 0.0]]
        assert kernel(-4.5, 0.0, 6.0, 1.2, records, 0, 3, near, aside) == -1

from __future__ import annotations

from functools import partial

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from screening.outputs.written_shapes import as_written, fewer_corners, of_one_type, straight

BOX = shapely.box(0, 0, 2, 1)
LINE = shapely.LineString([(0, 0), (3, 4)])
POINT = shapely.Point(1, 1)


def straightened(lines):
    return as_written(lines, "MultiLineString", thinning=straight)


def with_fewer_corners(outlines, within_m: float):
    return as_written(outlines, "MultiPolygon", thinning=partial(fewer_corners, within_m=within_m))


def test_parts_are_taken_out_and_others_left_out() -> None:
    both = shapely.GeometryCollection([LINE, shapely.GeometryCollection([BOX, POINT]), shapely.MultiPolygon([BOX])])
    shapes = [BOX, None, both, shapely.Polygon(), shapely.MultiPolygon([BOX, BOX]), LINE]
    areas = of_one_type(shapes, "MultiPolygon")
    assert [None if shape is None else (shape.geom_type, shape.area) for shape in areas] == [
        ("Polygon", 2.0), None, ("MultiPolygon", 4.0), None, ("MultiPolygon", 4.0), None,
    ]  # fmt: skip
    lines = of_one_type(shapes, "MultiLineString")
    assert [None if shape is None else shape.length for shape in lines] == [None, None, 5.0, None, None, 5.0]
    points = of_one_type([POINT, BOX, None, shapely.Point()], "Point")
    assert points[0] == POINT
    assert BOX.contains(points[1])
    assert points[2] is None
    assert points[3] is None


@pytest.mark.parametrize("kind", ["Point", "MultiLineString", "MultiPolygon"])
@given(data=st.data())
def test_any_mix_is_written_as_one_type(kind: str, data: st.DataObject) -> None:
    holed = shapely.box(0, 0, 9, 9).difference(shapely.box(1, 1, 2, 2))
    mixed = shapely.GeometryCollection([LINE, POINT, holed])
    choices = {
        "Point": [POINT, BOX],
        "MultiLineString": [LINE, shapely.LineString([(0, 0), (3, 4), (-1.5, 7.25)]), mixed],
        "MultiPolygon": [BOX, holed, shapely.MultiPolygon([BOX, shapely.box(5, 5, 6, 6)]), mixed],
    }
    promote = {"MultiLineString": shapely.MultiLineString, "MultiPolygon": shapely.MultiPolygon}
    choice = st.sampled_from([*choices[kind], None, shapely.Polygon()])
    shapes = data.draw(st.lists(choice, max_size=8))
    for shape, written in zip(shapes, as_written(shapes, kind), strict=True):
        if shape is None or shape.is_empty:
            assert written is None
        elif kind == "Point":
            assert written == shapely.point_on_surface(shape)
        else:
            wanted = promote[kind]([part for part in shapely.get_parts(shape) if part.geom_type in kind])
            assert shapely.to_wkb(written) == shapely.to_wkb(wanted)


def test_feet_are_feet() -> None:
    lines = as_written([LINE, None], "MultiLineString", 0.3048)
    assert shapely.get_coordinates(lines[0]).tolist() == [[0, 0], [3 / 0.3048, 4 / 0.3048]]
    assert lines[1] is None
    assert as_written([BOX], "Point", 0.5)[0] == shapely.Point(2.0, 1.0)


def test_points_on_a_straight_go_and_turns_stay() -> None:
    stairs = shapely.LineString([(0, 0), (1, 1), (2, 2), (3, 2), (4, 2), (5, 2), (5, 3)])
    back = shapely.LineString([(0, 0), (2, 0), (1, 0)])
    out = straightened([stairs, None, back])
    assert list(out[0].geoms[0].coords) == [(0, 0), (2, 2), (5, 2), (5, 3)]
    assert out[1] is None
    assert out[2].geoms[0].equals_exact(back, 0)
    many = straightened([shapely.MultiLineString([stairs, back])])[0]
    assert [len(part.coords) for part in many.geoms] == [4, 3]


def test_every_second_corner_goes_only_where_the_outline_hardly_moves() -> None:
    wide = shapely.Point(0, 0).buffer(2.0, quad_segs=12)
    assert len(with_fewer_corners([wide], 0.03)[0].geoms[0].exterior.coords) == 25
    assert with_fewer_corners([wide], 0.01)[0].geoms[0].equals_exact(wide, 0)
    assert with_fewer_corners([BOX], 100.0)[0].geoms[0].equals_exact(BOX, 0)
    ring = wide.difference(shapely.box(-0.5, -0.5, 0.5, 0.5))
    thin = with_fewer_corners([ring, None], 0.03)
    assert [len(path.coords) for path in (thin[0].geoms[0].exterior, *thin[0].geoms[0].interiors)] == [25, 5]
    assert thin[1] is None


@given(
    st.lists(st.tuples(st.integers(-50, 50), st.integers(-50, 50)), min_size=2, max_size=40),
    st.floats(0.1, 3.0),
    st.integers(4, 40),
)
def test_nothing_moves_further_than_it_may(points: list[tuple[int, int]], size: float, corners: int) -> None:
    line = shapely.LineString(points)
    out = straightened([line])[0].geoms[0]
    assert out.coords[0] == line.coords[0]
    assert out.coords[-1] == line.coords[-1]
    assert out.length == pytest.approx(line.length)
    assert shapely.hausdorff_distance(out, line) == pytest.approx(0, abs=1e-5)
    turn = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    outline = shapely.Polygon(np.column_stack([2 * size * np.cos(turn), size * np.sin(turn)]))
    thin = with_fewer_corners([outline], 0.03)[0]
    assert thin.is_valid
    assert shapely.hausdorff_distance(thin.boundary, outline.boundary) <= 0.03 + 1e-9


def test_many_shapes_are_thinned_alike() -> None:
    wide = shapely.Point(0, 0).buffer(2.0, quad_segs=12)
    out = with_fewer_corners([wide, BOX, None] * 1_500, 0.03)
    assert {shapely.to_wkb(shape) for shape in out[::3]} == {shapely.to_wkb(out[0])}
    assert set(out[1::3]) == {shapely.MultiPolygon([BOX])}

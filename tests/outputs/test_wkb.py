from __future__ import annotations

import struct

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from screening.outputs.wkb import wkb_column

BOX = shapely.box(0, 0, 2, 1)
HOLED = shapely.box(0, 0, 9, 9).difference(shapely.box(1, 1, 2, 2))
LINE = shapely.LineString([(0, 0), (3, 4)])
BENT = shapely.LineString([(0, 0), (3, 4), (-1.5, 7.25)])
POINT = shapely.Point(1, -2.5)
MIXED = shapely.GeometryCollection([LINE, POINT, HOLED])
SHAPES = {
    "MultiPolygon": [BOX, HOLED, shapely.MultiPolygon([BOX, shapely.box(5, 5, 6, 6)]), MIXED],
    "MultiLineString": [LINE, BENT, shapely.MultiLineString([BENT, LINE]), MIXED],
    "Point": [POINT, BOX],
}


def _columns(shapes: list[object], kind: str) -> list[bytes | None]:
    return wkb_column(np.array([*shapes, None], dtype=object)[:-1], kind).to_pylist()


def test_bytes_by_hand() -> None:
    # OGC 06-103r4, clause 8.2: little endian, the type (1 point, 2 line, 3 polygon, 5 lines, 6 polygons), the counts
    assert _columns([POINT], "Point") == [struct.pack("<BIdd", 1, 1, 1.0, -2.5)]
    lines = struct.pack("<BIIBII4d", 1, 5, 1, 1, 2, 2, 0, 0, 3, 4)
    assert _columns([LINE], "MultiLineString") == [lines]
    ring = [2.0, 0.0, 2.0, 1.0, 0.0, 1.0, 0.0, 0.0, 2.0, 0.0]
    areas = struct.pack("<BIIBIII10d", 1, 6, 1, 1, 3, 1, 5, *ring)
    assert _columns([BOX], "MultiPolygon") == [areas]


@pytest.mark.parametrize("kind", SHAPES)
@given(data=st.data())
def test_any_mix_is_encoded_as_geos_does(kind: str, data: st.DataObject) -> None:
    several = {"MultiPolygon": shapely.MultiPolygon, "MultiLineString": shapely.MultiLineString}
    choice = st.sampled_from([*SHAPES[kind], None, shapely.Polygon()])
    shapes = data.draw(st.lists(choice, max_size=8))
    wanted: list[bytes | None] = []
    for shape in shapes:
        if shape is None or shape.is_empty:
            wanted.append(None)
        elif kind == "Point":
            wanted.append(shapely.to_wkb(shapely.point_on_surface(shape), byte_order=1))
        else:
            parts = [part for part in shapely.get_parts(shape) if part.geom_type in kind]
            wanted.append(shapely.to_wkb(several[kind](parts), byte_order=1))
    assert _columns(shapes, kind) == wanted


def test_what_is_of_another_kind_is_null_and_feet_are_feet() -> None:
    assert _columns([LINE, POINT, BOX], "MultiPolygon")[:2] == [None, None]
    feet = shapely.from_wkb(wkb_column(np.array([LINE]), "MultiLineString", 0.3048)[0].as_py())
    assert shapely.get_coordinates(feet).tolist() == [[0, 0], [3 / 0.3048, 4 / 0.3048]]


def test_more_than_are_encoded_at_a_time() -> None:
    shapes = [BOX, HOLED, None, SHAPES["MultiPolygon"][2]] * 1_250
    column = wkb_column(np.array(shapes, dtype=object), "MultiPolygon")
    assert column.num_chunks > 1
    assert column.to_pylist() == _columns(shapes[:4], "MultiPolygon") * 1_250

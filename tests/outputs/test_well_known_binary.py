from __future__ import annotations

from functools import partial

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from screening.outputs.well_known_binary import as_binary, binary_of
from screening.outputs.written_shapes import Paths, as_written, fewer_corners

LINE = shapely.LineString([(0, 0), (3, 4), (-1.5, 7.25)])
BOX = shapely.box(0, 0, 2, 1)
HOLED = shapely.box(0, 0, 9, 9).difference(shapely.box(1, 1, 2, 2))


def test_bytes_of_a_line_are_those_of_the_standard() -> None:
    paths = Paths(np.array([[1.0, 2.0], [3.0, 4.0]]), (np.array([0, 2]), np.array([0, 1])))
    data, sizes = binary_of(paths, (2, 5))
    head = "010500000001000000" + "010200000002000000"
    points = "000000000000f03f000000000000004000000000000008400000000000001040"
    assert data.tobytes().hex() == head + points
    assert sizes.tolist() == [9 + 9 + 32]


@pytest.mark.parametrize("kind", ["Point", "MultiLineString", "MultiPolygon"])
@given(data=st.data())
def test_any_mix_is_written_as_its_geometries_are(kind: str, data: st.DataObject) -> None:
    parts = [LINE, shapely.MultiLineString([LINE, LINE.reverse()]), BOX, HOLED, shapely.MultiPolygon([BOX, HOLED])]
    choice = st.sampled_from([*parts, shapely.Point(1, 2), shapely.GeometryCollection(parts), None, shapely.Polygon()])
    shapes, unit_m = data.draw(st.lists(choice, max_size=8)), data.draw(st.sampled_from([1.0, 0.3048]))
    wanted = shapely.to_wkb(as_written(shapes, kind, unit_m)).tolist()
    assert as_binary(shapes, kind, unit_m).to_pylist() == wanted


def test_many_are_thinned_each_by_itself() -> None:
    wide = shapely.Point(0, 0).buffer(2.0, quad_segs=12)
    thinning = partial(fewer_corners, within_m=0.03)
    out = as_binary([wide, BOX, None] * 1_500, "MultiPolygon", thinning=thinning)
    wanted = shapely.to_wkb(as_written([wide, BOX, None], "MultiPolygon", thinning=thinning)).tolist()
    assert len(wanted[0]) == 9 + 9 + 4 + 25 * 16
    assert out.to_pylist() == wanted * 1_500

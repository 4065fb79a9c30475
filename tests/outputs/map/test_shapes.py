from __future__ import annotations

import base64
import gzip
from collections.abc import Callable
from importlib import resources
from typing import Any

import numpy as np
import pytest
import shapely
from pyproj import CRS, Transformer
from shapely import affinity

from screening.outputs.map.pack import Pack
from screening.outputs.map.shapes import COARSE, FINE, pack_shapes
from screening.result import Screening
from tests.outputs.browser import Watched

UTM = CRS.from_epsg(32626)
AT = (500_000.0, 4_983_000.0)


def _near(shape: Any) -> Any:
    return affinity.translate(shape, *AT)


def _sections(pack: Pack) -> list[bytes]:
    data = gzip.decompress(base64.b64decode(pack.base64()))
    ends = np.cumsum([size for _, size in pack.directory()])
    return [data[end - size : end] for end, (_, size) in zip(ends, pack.directory(), strict=True)]


def test_shapes_are_told_as_moves_in_parts_of_a_metre() -> None:
    hole = shapely.Polygon(shapely.box(0, 0, 4, 4).exterior, [shapely.box(1, 1, 2, 2).exterior])
    two = shapely.MultiPolygon([shapely.box(5, 5, 6, 6), shapely.box(8, 8, 9, 9)])
    pack = Pack()
    told = pack_shapes(pack, [_near(hole), None, _near(two)], UTM, COARSE)
    assert told["kind"] == "polygon"
    sections = _sections(pack)
    assert sections[told["counts"]] == bytes([2, 0, 2])
    assert sections[told["sizes"]] == bytes([4, 4, 4, 4])
    moves = sections[told["moves"]]
    # from the middle of the box (4.5, rounded to 4) to (4, 0); then north, west and south by 4 m, each move doubled
    assert list(moves[:8]) == [0, 79, 0, 80, 79, 0, 0, 79]
    assert pack.directory()[told["moves"]][0] == 2 * 16


def test_points_straight_on_a_line_are_left_out() -> None:
    there_and_back = [(0, 0), (1, 1), (2, 2), (2, 3), (2, 4), (2, 3.5)]
    pack = Pack()
    lines = [_near(shapely.LineString(line)) for line in (there_and_back, [(9, 9), (12, 12)])]
    told = pack_shapes(pack, lines, UTM, FINE)
    assert _sections(pack)[told["sizes"]] == bytes([4, 2])


def test_a_detail_of_the_shapes_survives(made_up: Screening) -> None:
    pack = Pack()
    pack_shapes(pack, np.asarray(made_up.tables["lots"].geometry.array), made_up.crs, COARSE)
    assert pack.directory()[0] == [30, 30]


@pytest.mark.parametrize("none", [[], [None], [shapely.Polygon()]])
def test_a_layer_may_hold_nothing(none: list[Any]) -> None:
    pack = Pack()
    told = pack_shapes(pack, none, UTM, FINE)
    assert pack.directory()[told["counts"]][0] == len(none)
    assert pack.directory()[told["moves"]][0] == 0


def _as_the_page_reads(new_page: Callable[..., Watched], shapes: list[Any], crs: CRS, steps: int) -> list[np.ndarray]:
    """Rings as the page's own script reads them, longitude and latitude of each point [degrees]."""
    pack = Pack()
    told = pack_shapes(pack, shapes, crs, steps)
    script = resources.files("screening.outputs.map").joinpath("page", "unpack.js").read_text(encoding="utf-8")
    read = new_page().page.evaluate(
        f"""([described, directory, bytes]) => {{ {script}
            const shapes = readShapes(described, sectionsOf(directory, new Uint8Array(bytes)));
            return [[...shapes.x], [...shapes.y], [...shapes.pointOf]]; }}""",
        [told, pack.directory(), list(b"".join(_sections(pack)))],
    )
    x, y = np.array(read[0]), np.array(read[1])
    lat = np.degrees(np.arctan(np.sinh(np.pi * (1 - 2 * y))))
    return np.split(np.column_stack([(x - 0.5) * 360, lat]), read[2][1:-1])


def _working(ring: np.ndarray, crs: CRS) -> np.ndarray:
    return np.column_stack(Transformer.from_crs(4326, crs, always_xy=True).transform(ring[:, 0], ring[:, 1]))


@pytest.mark.browser
@pytest.mark.parametrize(
    ("side_m", "steps", "near_m"), [(200, FINE, 0.01), (40_000, FINE, 0.01), (40_000, COARSE, 0.1)]
)
def test_the_page_draws_points_where_they_are(
    new_page: Callable[..., Watched], side_m: float, steps: int, near_m: float
) -> None:
    points = np.random.default_rng(1).random((400, 2)) * side_m + AT
    rings = _as_the_page_reads(
        new_page, [shapely.LineString(points[:300]), shapely.LineString(points[300:])], UTM, steps
    )
    assert [len(ring) for ring in rings] == [300, 100]
    assert np.abs(_working(np.concatenate(rings), UTM) - points).max() < near_m


@pytest.mark.browser
def test_the_page_draws_what_no_polynomial_places(new_page: Callable[..., Watched]) -> None:
    line = np.array([[300_000.0, 1_000.0], [700_000.0, 9_300_000.0]])
    (ring,) = _as_the_page_reads(new_page, [shapely.LineString(line)], UTM, COARSE)
    assert np.abs(_working(ring, UTM) - line).max() < 0.1


@pytest.mark.browser
def test_the_page_draws_ellipses_as_ellipses(new_page: Callable[..., Watched]) -> None:
    circle = 2 * np.pi * np.arange(48) / 48
    unit = shapely.Polygon(np.column_stack([np.cos(circle), np.sin(circle)]))
    shapes = [
        _near(affinity.rotate(affinity.scale(unit, long, short), turn))
        for long, short, turn in [(6.0, 3.0, 20.0), (0.8, 0.6, 130.0)]
    ]
    rings = _as_the_page_reads(new_page, [shapes[0], None, shapes[1]], UTM, FINE)
    sizes = [len(ring) for ring in rings]
    assert sizes[0] > sizes[1] >= 12
    for ring, shape in zip(rings, shapes, strict=True):
        drawn = shapely.Polygon(_working(ring, UTM))
        assert drawn.hausdorff_distance(shape) < 0.03
        assert drawn.area == pytest.approx(shape.area, rel=0.02)

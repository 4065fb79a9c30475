from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import affinity

from screening.outputs.map.ellipses import as_ellipses


def _ellipse(x: float, y: float, long: float, short: float, degrees: float, around: int = 48) -> shapely.Polygon:
    turn = 2 * np.pi * np.arange(around) / around
    circle = shapely.Polygon(np.column_stack([np.cos(turn), np.sin(turn)]))
    stretched = affinity.scale(circle, long, short, origin=(0, 0))
    return affinity.translate(affinity.rotate(stretched, degrees, origin=(0, 0)), x, y)


def test_centre_and_half_axes_are_found() -> None:
    found = as_ellipses(np.array([_ellipse(10, 20, 3, 1, 0), _ellipse(-5, 4, 2, 1, 90)]))
    assert found is not None
    assert found[0] == pytest.approx(np.array([[10, 20], [3, 0], [0, 1]]))
    assert found[1] == pytest.approx(np.array([[-5, 4], [0, 2], [-1, 0]]), abs=1e-9)


def test_anything_else_stays_an_outline() -> None:
    ellipse = _ellipse(0, 0, 3, 2, 10)
    points = shapely.get_coordinates(ellipse)
    points[7] += 0.002
    dented = shapely.Polygon(points)
    holed = shapely.Polygon(ellipse.exterior, [ellipse.buffer(-0.5).exterior])
    others = [dented, holed, _ellipse(0, 0, 3, 2, 0, 40), shapely.MultiPolygon([ellipse])]
    for other in others:
        assert as_ellipses(np.array([ellipse, other])) is None
    assert as_ellipses(np.array([shapely.box(0, 0, 1, 1)])) is None
    assert as_ellipses(np.array([shapely.LineString(points)])) is None
    assert as_ellipses(np.array([], dtype=object)) is None

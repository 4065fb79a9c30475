import numpy as np
import shapely
from affine import Affine

from screening.outputs.map.hollows import hollows
from screening.rules import Rules
from screening.sources import ArraySource


def test_hollows_are_outlined_where_they_lie_with_their_greatest_depth() -> None:
    rules = Rules(hollow_depth_m=0.1, hollow_area_m2=10.0)
    depth = np.zeros((60, 80))
    depth[10:14, 20:26] = 0.2
    depth[12, 22] = 0.5
    depth[40:43, 60:63] = 0.3
    depth[43:46, 63:66] = 0.4  # joined at a corner
    depth[50, 5] = 9.0  # too small
    depth[30, 30] = np.nan
    outlines, depths = hollows(ArraySource(depth, Affine(2, 0, 1000, 0, -2, 5000)), rules)
    assert depths.tolist() == [0.5, 0.4]
    assert outlines[0].equals(shapely.box(1040, 4972, 1052, 4980))
    assert outlines[1].equals(shapely.box(1120, 4914, 1126, 4920) | shapely.box(1126, 4908, 1132, 4914))


def test_no_hollow_is_no_outline() -> None:
    outlines, depths = hollows(ArraySource(np.zeros((5, 5)), Affine(1, 0, 0, 0, -1, 5)), Rules())
    assert outlines == []
    assert depths.tolist() == []

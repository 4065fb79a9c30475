"""The way of a lead: what it crosses, and whether the ground rises in its way."""

from __future__ import annotations

import math
from typing import Any

from screening.jit import compiled

__all__ = ["BARRED", "hump_mode", "lead_way"]

BARRED = -1
WALL = 0
LOT_LINE = 1
CONSENT = 2
SHALLOW_PAVING = 3
BURIED_PAVING = 4

OWN_START_M = 3.0
"""Start of a lead that may run along the walls of its own house."""
LINE_START_M = 1.0
"""A lead may pass a lot line in its first metre: roofs reach over."""
TOUCH_M = 0.05
"""A downspout may touch the wall of a building beside its own."""
HUMP_CLEAR_M = 2.0
"""Length at both ends of a lead that is not looked at: the ground at a wall, and the garden."""
SWALE_CUT_M, SHALLOW_CUT_M, BURIED_CUT_M = 0.15, 0.30, 0.60
"""Ground above the straight line from downspout to garden that a swale, a shallow and a buried pipe go through."""


@compiled
def _point_distance2(px: float, py: float, ax: float, ay: float, bx: float, by: float) -> float:
    """Squared distance from a point to a segment."""
    dx = bx - ax
    dy = by - ay
    length2 = dx * dx + dy * dy
    t = 0.0
    if length2 > 0.0:
        t = min(max(((px - ax) * dx + (py - ay) * dy) / length2, 0.0), 1.0)
    ex = px - ax - t * dx
    ey = py - ay - t * dy
    return ex * ex + ey * ey


@compiled
def lead_way(
    x0: float, y0: float, x1: float, y1: float, roof: int, start_mode: int, start_consent: int, bars: Any, first: int,
    last: int, own_wall: float,
) -> int:  # fmt: skip
    """How a straight lead can go: -1 barred, else 0 surface, 1 shallow, 2 buried, with 4 added where it needs consent.

    Parameters
    ----------
    x0, y0, x1, y1
        From the downspout to the centre of the garden.
    roof
        Roof of the downspout: within ``own_wall`` of its walls a lead runs only in its first ``OWN_START_M``.
    start_mode, start_consent
        What the downspout itself stands on.
    bars
        records ``x0, y0, x1, y1, kind, roof``: walls, lot lines (passed in the lead's first metre only, for roofs that
        reach over them), mains and easements, paving.
    """
    dx = x1 - x0
    dy = y1 - y0
    run = math.sqrt(dx * dx + dy * dy)
    mode = start_mode
    consent = start_consent
    late = OWN_START_M / run if run > OWN_START_M else 1.0
    sx = x0 + late * dx
    sy = y0 + late * dy
    low_x = min(x0, x1) - own_wall
    high_x = max(x0, x1) + own_wall
    low_y = min(y0, y1) - own_wall
    high_y = max(y0, y1) + own_wall
    i = first - 1
    while i < last - 1 and mode != BARRED:
        i += 1
        px = bars[i].x0
        py = bars[i].y0
        qx = bars[i].x1
        qy = bars[i].y1
        if (px < low_x and qx < low_x) or (px > high_x and qx > high_x):
            continue
        if (py < low_y and qy < low_y) or (py > high_y and qy > high_y):
            continue
        kind = bars[i].kind
        ex = qx - px
        ey = qy - py
        cross = dx * ey - dy * ex
        crosses = False
        if cross != 0.0:
            s = ((px - x0) * ey - (py - y0) * ex) / cross
            t = ((px - x0) * dy - (py - y0) * dx) / cross
            crosses = 0.0 <= s <= 1.0 and 0.0 <= t <= 1.0
            if crosses and kind == LOT_LINE:
                crosses = s * run > LINE_START_M
            elif crosses and kind == WALL:
                crosses = s * run > TOUCH_M
        if crosses:
            if kind == WALL or kind == LOT_LINE:
                mode = BARRED
            elif kind == CONSENT:
                consent = 1
            elif kind == SHALLOW_PAVING:
                mode = max(mode, 1)
            else:
                mode = 2
        elif kind == WALL and bars[i].roof == roof and late < 1.0:
            near = min(
                min(_point_distance2(sx, sy, px, py, qx, qy), _point_distance2(x1, y1, px, py, qx, qy)),
                min(_point_distance2(px, py, sx, sy, x1, y1), _point_distance2(qx, qy, sx, sy, x1, y1)),
            )
            if near < own_wall * own_wall:
                mode = BARRED
    return BARRED if mode == BARRED else mode + 4 * consent


@compiled
def hump_mode(x0: float, y0: float, start: float, x1: float, y1: float, end: float, plane: Any, p: Any) -> int:
    """How deep a lead must go for ground that rises in its way: 0, 1, 2, or -1 where even a buried pipe is too high.

    Parameters
    ----------
    x0, y0, start, x1, y1, end
        Downspout and garden, with the levels that a straight line between them joins. [m]
    plane
        Heights of the smoothed ground.
    p
        ``west, north, cell_x, cell_y`` of its cells.
    """
    run = math.sqrt((x1 - x0) ** 2 + (y1 - y0) ** 2)
    worst = 0.0
    steps = int(run - 2.0 * HUMP_CLEAR_M) + 1 if run >= 2.0 * HUMP_CLEAR_M else 0
    for k in range(steps):
        at = HUMP_CLEAR_M + k
        share = at / run
        row = math.floor((p.north - (y0 + share * (y1 - y0))) / p.cell_y)
        column = math.floor((x0 + share * (x1 - x0) - p.west) / p.cell_x)
        if row < 0 or column < 0 or row >= plane.shape[0] or column >= plane.shape[1]:
            continue
        rise = plane[row, column] - (start + share * (end - start))
        if rise > worst:  # false for NaN: unknown ground is no hump
            worst = rise
    if worst <= SWALE_CUT_M:
        mode = 0
    elif worst <= SHALLOW_CUT_M:
        mode = 1
    else:
        mode = 2 if worst <= BURIED_CUT_M else BARRED
    return mode

"""Distances to an ellipse, and the largest ellipse that keeps its distance from segments.

An ellipse lies at the origin with its long half axis ``a`` along the first coordinate unless a direction is given.
"""

from __future__ import annotations

import math
from typing import Any

from screening.jit import compiled

__all__ = ["exact_room", "near_segments", "point_gap", "segment_gap"]

SHORTEST_M = 1e-9
"""Shorter segments are points."""
HALVED_TO_M2 = 0.005
"""Exactness of a room."""
ASIDE = 1e-4
"""Part of a half axis."""
SURELY_M = 1e-9
"""Above what rounding does to a distance."""


@compiled
def point_gap(u: float, v: float, a: float, b: float) -> float:
    """Distance from a point to the ellipse, 0 inside it.

    The nearest point is (a2 u / (t + a2), b2 v / (t + b2)) with t the root of a convex falling function, which Newton
    steps approach from the left without overshooting.
    """
    u = abs(u)
    v = abs(v)
    if (u / a) ** 2 + (v / b) ** 2 <= 1.0:
        return 0.0
    t = max(0.0, a * u - a * a, b * v - b * b)
    for _ in range(40):
        p = a * u / (t + a * a)
        q = b * v / (t + b * b)
        f = p * p + q * q - 1.0
        slope = 2.0 * (p * p / (t + a * a) + q * q / (t + b * b))
        step = f / slope
        t += step
        if step <= 1e-12 * (t + b * b):
            break
    du = u - a * a * u / (t + a * a)
    dv = v - b * b * v / (t + b * b)
    return math.sqrt(du * du + dv * dv)


@compiled
def segment_gap(u0: float, v0: float, u1: float, v1: float, a: float, b: float) -> float:
    """Distance from a segment to the ellipse, 0 where they touch.

    The distance to a convex set is convex along a line, so the nearest point of the segment is that of its whole line,
    or the end towards it.
    """
    du = u1 - u0
    dv = v1 - v0
    length = math.sqrt(du * du + dv * dv)
    if length < SHORTEST_M:
        return point_gap(u0, v0, a, b)
    nu = dv / length
    nv = -du / length
    offset = u0 * nu + v0 * nv
    support = math.sqrt((a * nu) ** 2 + (b * nv) ** 2)
    if abs(offset) >= support:
        sign = 1.0 if offset > 0.0 else -1.0
        eu = sign * a * a * nu / support
        ev = sign * b * b * nv / support
        t = ((eu - u0) * du + (ev - v0) * dv) / (length * length)
        if 0.0 <= t <= 1.0:
            return abs(offset) - support
    else:
        # the line cuts the ellipse: nearest to the centre once the ellipse is stretched to a circle
        su = du / a
        sv = dv / b
        t = -(u0 / a * su + v0 / b * sv) / (su * su + sv * sv)
        if 0.0 <= t <= 1.0:
            return 0.0
    if t < 0.0:
        return point_gap(u0, v0, a, b)
    return point_gap(u1, v1, a, b)


@compiled
def near_segments(
    x: float, y: float, reach: float, least_keep: float, segs: Any, first: int, last: int, near: Any, away: Any
) -> int:
    """Collect the segments that a footprint centred here might come too near to; count them, -1 when none fits.

    Parameters
    ----------
    x, y
        The centre.
    reach, least_keep
        Longest half axis and ring; half the least width and ring. [m]
    segs, first, last
        Records ``x0, y0, x1, y1, clearance``, and which count.
    near, away
        Their numbers; their distance from the centre and the direction of their nearest point, shape (n, 3); written in
        place.
    """
    count = 0
    i = first - 1
    while i < last - 1 and count >= 0:  # one way out of the loop: arrays are not counted in and out of each call
        i += 1
        px = segs[i].x0 - x
        py = segs[i].y0 - y
        dx = segs[i].x1 - segs[i].x0
        dy = segs[i].y1 - segs[i].y0
        length2 = dx * dx + dy * dy
        t = 0.0
        if length2 > SHORTEST_M * SHORTEST_M:
            t = min(max(-(px * dx + py * dy) / length2, 0.0), 1.0)
        px += t * dx
        py += t * dy
        away2 = px * px + py * py
        keep = segs[i].clearance
        if away2 >= (keep + reach) * (keep + reach):
            continue
        if away2 < (keep + least_keep) * (keep + least_keep):
            count = -1
            continue
        distance = math.sqrt(away2)
        near[count] = i
        away[count, 0] = distance
        away[count, 1] = px / distance
        away[count, 2] = py / distance
        count += 1
    return count


@compiled
def _largest(
    u0: float, v0: float, u1: float, v1: float, aspect: float, least: float, most: float, keep: float, short: float
) -> float:
    """Largest ponding area that keeps its distance from a segment, by halving; ``most`` falls short of it; 0 for none.

    The gap falls almost evenly with the half axis, so a few steps of false position close in on the area first, and
    halving measures again only between them.
    """
    a = math.sqrt(least * aspect / math.pi)
    spare = segment_gap(u0, v0, u1, v1, a, a / aspect) - keep
    fits = least
    fails = most
    for step in range(3 if spare >= 0.0 else 0):
        root = math.sqrt(fits) + (math.sqrt(fails) - math.sqrt(fits)) * spare / (spare + short)
        # from the second try on a little aside, to have it between the two
        root += (0.0 if step == 0 else (ASIDE if spare < short else -ASIDE)) * root
        middle = min(max(root * root, fits), fails)
        a = math.sqrt(middle * aspect / math.pi)
        gap = segment_gap(u0, v0, u1, v1, a, a / aspect) - keep
        if gap >= 0.0:
            fits = middle
            spare = gap
        else:
            fails = middle
            short = -gap
    low = least
    high = most
    while spare >= 0.0 and high - low > HALVED_TO_M2:
        middle = 0.5 * (low + high)
        if middle > fits and middle < fails:
            a = math.sqrt(middle * aspect / math.pi)
            if segment_gap(u0, v0, u1, v1, a, a / aspect) >= keep:
                fits = middle
            else:
                fails = middle
        if middle <= fits:
            low = middle
        else:
            high = middle
    return low if spare >= 0.0 else 0.0


@compiled
def exact_room(
    x: float,
    y: float,
    cos: float,
    sin: float,
    aspect: float,
    least: float,
    most: float,
    ring: float,
    segs: Any,
    near: Any,
    away: Any,
    count: int,
) -> float:
    """Largest ponding area up to ``most`` whose footprint keeps its distance from every segment; 0 below ``least``.

    Parameters
    ----------
    x, y, cos, sin, aspect
        Centre, direction of the long axis, length over width.
    least, most
        Ponding areas. [m2]
    ring
        Width of the berm ring. [m]
    segs, near, away, count
        Records ``x0, y0, x1, y1, clearance``; which of them are near, as ``near_segments`` collects them.
    """
    room = most
    tried = -1.0
    a = 0.0
    b = 0.0
    trial = least  # first whether the least garden keeps off all of them, then how much more there is room for
    k = -1
    while k < count - 1 and room >= least:
        k += 1
        i = near[k]
        keep = ring + segs[i].clearance
        if trial != tried:
            tried = trial
            a = math.sqrt(trial * aspect / math.pi)
            b = a / aspect
        # no point of the segment lies nearer, along the way to its nearest point, than that one
        nu = away[k, 1] * cos + away[k, 2] * sin
        nv = away[k, 2] * cos - away[k, 1] * sin
        if away[k, 0] - math.sqrt(a * nu * a * nu + b * nv * b * nv) < keep + SURELY_M:
            px = segs[i].x0 - x
            py = segs[i].y0 - y
            qx = segs[i].x1 - x
            qy = segs[i].y1 - y
            u0 = px * cos + py * sin
            v0 = py * cos - px * sin
            u1 = qx * cos + qy * sin
            v1 = qy * cos - qx * sin
            gap = segment_gap(u0, v0, u1, v1, a, b) - keep
            if gap < 0.0 and trial == least:
                room = 0.0
            elif gap < 0.0:
                room = _largest(u0, v0, u1, v1, aspect, least, room, keep, -gap)
                trial = room
        if k == count - 1 and trial == least and room > least:
            trial = room
            k = -1
    return room

"""Made-up footprints: families of random polygons, each from its seed."""

import numpy as np
import shapely
from shapely import Polygon, affinity, box

from screening.roofs.footprints import Footprints


def rectangle(rng):
    return box(0, 0, rng.uniform(4, 20), rng.uniform(4, 20))


def ell(rng):
    a, b = rng.uniform(8, 20, 2)
    c, d = rng.uniform(3, a - 2), rng.uniform(3, b - 2)
    return Polygon([(0, 0), (a, 0), (a, d), (c, d), (c, b), (0, b)])


def tee(rng):
    a, h, depth = rng.uniform(10, 20), rng.uniform(3, 8), rng.uniform(1, 10)
    left = rng.uniform(1, a - 5)
    right = rng.uniform(left + 2, a - 1)
    return Polygon([(0, 0), (a, 0), (a, h), (right, h), (right, h + depth), (left, h + depth), (left, h), (0, h)])


def you(rng):
    a, h = rng.uniform(10, 20), rng.uniform(3, 8)
    (p, q), (s, t) = rng.uniform(2, 4, 2), rng.uniform(1, 10, 2)
    return Polygon([(0, 0), (a, 0), (a, h + s), (a - p, h + s), (a - p, h), (q, h), (q, h + t), (0, h + t)])


def cross(rng):
    """Symmetric: many events at one time and place."""
    a, b = rng.uniform(5, 10, 2)
    p, q = rng.uniform(1, 3, 2)
    return Polygon(
        [(-a, -p), (-q, -p), (-q, -b), (q, -b), (q, -p), (a, -p), (a, p), (q, p), (q, b), (-q, b), (-q, p), (-a, p)]
    )


def courtyard(rng):
    a, b = rng.uniform(12, 24, 2)
    west, south, east, north = rng.uniform(2, 4, 4)
    return box(0, 0, a, b).difference(box(west, south, a - east, b - north))


def rectilinear(rng):
    """A few cells of a grid, with holes now and then."""
    while True:
        filled = rng.random(rng.integers(2, 5, 2)) < 0.75
        cells = [box(3 * j, 2.5 * i, 3 * j + 3, 2.5 * i + 2.5) for i, j in zip(*np.nonzero(filled), strict=True)]
        largest = max(shapely.get_parts(shapely.union_all(cells)), key=lambda part: part.area, default=None)
        if largest is not None:
            return largest.simplify(0)


def comb(rng):
    """Teeth of one or of several lengths."""
    teeth, width, even = int(rng.integers(2, 5)), rng.uniform(1, 3), rng.random() < 0.5
    corners = [(0.0, 0.0), ((2 * teeth - 1) * width, 0.0)]
    for i in range(teeth - 1, -1, -1):
        top = 8.0 if even else 3 + rng.uniform(2, 8)
        corners += [((2 * i + 1) * width, top), (2 * i * width, top)]
        if i > 0:
            corners += [(2 * i * width, 3.0), ((2 * i - 1) * width, 3.0)]
    return Polygon(corners)


def star(rng, corners=(5, 31), radius=(3.0, 12.0)):
    n = int(rng.integers(*corners))
    angle = (np.arange(n) + rng.uniform(0.1, 0.9, n)) * 2 * np.pi / n
    r = rng.uniform(*radius, n)
    return Polygon(np.column_stack([r * np.cos(angle), r * np.sin(angle)]))


def star_with_hole(rng):
    hole = star(rng, (3, 8), (0.4, 1.2))
    outer = star(rng)
    return outer.difference(hole) if outer.buffer(-0.05).contains(hole) else outer


def needle(rng):
    """Long and thin, with a corner of a degree or less."""
    length, width = rng.uniform(8, 30), rng.uniform(0.05, 0.5)
    return Polygon([(0, 0), (length, 0), (length, rng.uniform(1, 4)), (length / 2, width)])


def jogged(rng):
    """Jogs of centimetres on a rectangle, and corners in the middle of straight sides."""
    corners = np.array(rectangle(rng).exterior.coords)[:4]
    out = []
    for i in range(4):
        start, end = corners[i], corners[(i + 1) % 4]
        along = end - start
        out.append(start)
        if rng.random() < 0.3:
            out.append(start + rng.uniform(0.2, 0.3) * along)
        if rng.random() < 0.6:
            inward = rng.uniform(0.01, 0.3) * np.array([-along[1], along[0]]) / np.hypot(*along) * rng.choice([-1, 1])
            first, last = rng.uniform(0.35, 0.5), rng.uniform(0.55, 0.8)
            out += [start + first * along, start + first * along + inward]
            out += [start + last * along + inward, start + last * along]
    return Polygon(out)


def jittered(rng):
    """Nearly parallel edges: a rectilinear footprint with every corner off by some centimetres."""
    shape = rectilinear(rng)
    rings = [np.array(ring.coords)[:-1] for ring in (shape.exterior, *shape.interiors)]
    rings = [ring + rng.normal(0.0, 0.05, ring.shape) for ring in rings]
    moved = Polygon(rings[0], rings[1:])
    return moved if moved.is_valid else shape


FAMILIES = {
    "rectangle": rectangle,
    "L": ell,
    "T": tee,
    "U": you,
    "cross": cross,
    "courtyard": courtyard,
    "rectilinear": rectilinear,
    "comb": comb,
    "star": star,
    "star with hole": star_with_hole,
    "needle": needle,
    "jogged": jogged,
    "jittered": jittered,
}


def polygons(family, count, seed, turned=True):
    """So many valid polygons of a family, each turned by a random angle, on a grid of 1 mm."""
    rng = np.random.default_rng([seed, *family.encode()])
    found = []
    while len(found) < count:
        shape = FAMILIES[family](rng)
        if turned:
            shape = affinity.rotate(shape, rng.uniform(0, 360), origin=(0, 0))
        shape = shapely.set_precision(shape, 0.001)
        if isinstance(shape, Polygon) and shape.area > 0 and shape.is_valid:
            found.append(shape)
    return np.array(found, dtype=object)


def footprints(*shapes):
    return Footprints.from_polygons(np.array(shapes, dtype=object))


def with_random_gables(feet, seed, share=0.25):
    """Speeds with a share of the edges standing still, wherever they happen to be."""
    return (np.random.default_rng(seed).random(len(feet.xy_m)) >= share).astype(float)

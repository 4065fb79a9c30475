"""Streets, blocks and lots, on the straight lines of the plan."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon, box

from scripts.demo_area_maker.warp import shape_to_ground

HALF_WAY_M = 7.5
"""Half the width of a street from lot line to lot line, in plan metres."""
VERTEX_STEP_M = 6.0

STREETS: tuple[tuple[str, tuple[tuple[float, float], ...]], ...] = (
    ("Mizzle Way", ((20, 138), (800, 138))),
    ("Puddle Lane", ((20, 226), (800, 226))),
    ("Cloudburst Avenue", ((20, 395), (800, 395))),
    ("Rainbarrel Row", ((20, 483), (800, 483))),
    ("Freeboard Street", ((20, 571), (545, 571))),
    ("Mackerel Sky Road", ((20, 660), (800, 660))),
    ("Umbrella Street", ((20, 138), (20, 226))),
    ("Sou'wester Street", ((20, 395), (20, 660))),
    ("Downspout Street", ((280, 138), (280, 660))),
    ("Splash Lane", ((560, 138), (560, 226))),
    ("Scupper Lane", ((545, 395), (545, 660))),
    ("Gumboot Road", ((800, 138), (800, 660))),
    ("Overflow Court", ((672, 483), (672, 570))),
)
COURT = Point(672.0, 570.0)
COURT_RADIUS_M = 15.0


@dataclass(frozen=True)
class Row:
    """A row of lots along one side of a street: from ``front`` to ``back`` across, ``start`` to ``end`` along."""

    street: str
    across: str
    """``v`` when the street runs along u, ``u`` when it runs along v."""
    front: float
    back: float
    start: float
    end: float
    kind: str = "ordinary"


WIDTHS_M = {
    "ordinary": (19.5, 26.0),
    "wide": (27.0, 36.0),
    "narrow": (13.0, 15.5),
    "twin": (9.6, 11.2),
    "deep": (21.0, 30.0),
}

ROWS: tuple[Row, ...] = (
    Row("Mizzle Way", "v", 130.5, 94, 12.5, 190),
    Row("Mizzle Way", "v", 130.5, 94, 190, 380, "twin"),
    Row("Mizzle Way", "v", 130.5, 94, 380, 807.5),
    Row("Mizzle Way", "v", 145.5, 182, 27.5, 272.5),
    Row("Mizzle Way", "v", 145.5, 182, 287.5, 430, "narrow"),
    Row("Mizzle Way", "v", 145.5, 182, 430, 552.5),
    Row("Mizzle Way", "v", 145.5, 182, 690, 792.5),
    Row("Puddle Lane", "v", 218.5, 182, 27.5, 272.5),
    Row("Puddle Lane", "v", 218.5, 182, 287.5, 552.5),
    Row("Puddle Lane", "v", 218.5, 182, 690, 792.5),
    Row("Puddle Lane", "v", 233.5, 274, 20, 272.5, "ordinary"),
    Row("Puddle Lane", "v", 233.5, 274, 287.5, 552.5, "ordinary"),
    Row("Puddle Lane", "v", 233.5, 274, 552.5, 792.5, "wide"),
    Row("Cloudburst Avenue", "v", 387.5, 345, 20, 272.5),
    Row("Cloudburst Avenue", "v", 387.5, 345, 287.5, 537.5, "wide"),
    Row("Cloudburst Avenue", "v", 402.5, 439, 27.5, 272.5),
    Row("Cloudburst Avenue", "v", 402.5, 439, 287.5, 537.5),
    Row("Cloudburst Avenue", "v", 402.5, 439, 552.5, 792.5),
    Row("Rainbarrel Row", "v", 475.5, 439, 27.5, 272.5),
    Row("Rainbarrel Row", "v", 475.5, 439, 287.5, 537.5, "ordinary"),
    Row("Rainbarrel Row", "v", 475.5, 439, 552.5, 792.5, "ordinary"),
    Row("Rainbarrel Row", "v", 490.5, 527, 27.5, 272.5),
    Row("Rainbarrel Row", "v", 490.5, 527, 287.5, 537.5),
    Row("Rainbarrel Row", "v", 490.5, 527, 552.5, 664.5),
    Row("Rainbarrel Row", "v", 490.5, 527, 679.5, 792.5),
    Row("Freeboard Street", "v", 563.5, 527, 27.5, 272.5, "wide"),
    Row("Freeboard Street", "v", 563.5, 527, 287.5, 537.5),
    Row("Freeboard Street", "v", 578.5, 615.5, 27.5, 272.5),
    Row("Freeboard Street", "v", 578.5, 615.5, 287.5, 537.5),
    Row("Mackerel Sky Road", "v", 652.5, 615.5, 27.5, 272.5, "wide"),
    Row("Mackerel Sky Road", "v", 652.5, 615.5, 287.5, 537.5, "wide"),
    Row("Mackerel Sky Road", "v", 652.5, 615.5, 552.5, 792.5),
    Row("Mackerel Sky Road", "v", 667.5, 727, 12.5, 360, "deep"),
    Row("Mackerel Sky Road", "v", 667.5, 727, 360, 600, "flag"),
    Row("Mackerel Sky Road", "v", 667.5, 727, 600, 807.5, "deep"),
    Row("Scupper Lane", "u", 552.5, 612, 527, 615.5, "ordinary"),
    Row("Gumboot Road", "u", 792.5, 732, 527, 615.5, "deep"),
    Row("Overflow Court", "u", 664.5, 612, 527, 552, "single"),
    Row("Overflow Court", "u", 679.5, 732, 527, 552, "single"),
    Row("Mizzle Way", "v", 145.5, 218.5, 567.5, 690, "park"),
)


@dataclass(frozen=True)
class PlanLot:
    """A lot on the plan: its shape, its front from left to right as seen from the house's back, and what it is."""

    street: str
    shape: Polygon
    front: tuple[tuple[float, float], tuple[float, float]]
    kind: str
    block: int
    corner: bool = False


def lot_widths(length: float, kind: str, rng: np.random.Generator) -> list[float]:
    """Widths that fill a row of ``length``, corner lots at both ends wider."""
    low, high = WIDTHS_M[kind]
    count = max(1, round(length / ((low + high) / 2)))
    if kind == "twin" and count % 2:
        count += 1
    shares = rng.uniform(low, high, count)
    if kind == "twin":
        shares[1::2] = shares[0::2]
    elif count > 2:
        shares[[0, -1]] *= 1.2
    edges = np.cumsum(shares) / shares.sum() * length
    return list(np.diff(np.concatenate([[0.0], edges])))


def row_shape(row: Row, start: float, end: float, front: float, back: float) -> Polygon:
    """The rectangle of one lot of a row."""
    low, high = min(front, back), max(front, back)
    return box(start, low, end, high) if row.across == "v" else box(low, start, high, end)


def row_front(row: Row, start: float, end: float, front: float, inward: float) -> tuple[tuple[float, float], ...]:
    """The front of a lot, ordered so that the lot lies to its left."""
    if row.across == "v":
        pair = ((start, front), (end, front))
        return pair if inward > 0 else pair[::-1]
    pair = ((front, start), (front, end))
    return pair[::-1] if inward > 0 else pair


def flag_lots(row: Row, start: float, end: float, block: int) -> list[PlanLot]:
    """Two lots from one width: one at the street, and a flag behind it reached by a pole 5 m wide."""
    middle = row.front + 0.5 * (row.back - row.front)
    pole = 5.0
    near = row_shape(row, start + pole, end, row.front, middle)
    flag = shapely.union_all(
        [row_shape(row, start, start + pole, row.front, middle), row_shape(row, start, end, middle, row.back)]
    )
    inward = row.back - row.front
    return [
        PlanLot(row.street, near, row_front(row, start + pole, end, row.front, inward), "ordinary", block),  # type: ignore[arg-type]
        PlanLot(row.street, flag, row_front(row, start, end, middle, inward), "flag", block),  # type: ignore[arg-type]
    ]


def lots_of_row(row: Row, block: int, rng: np.random.Generator) -> list[PlanLot]:
    """The lots of one row."""
    inward = row.back - row.front
    if row.kind in ("single", "park"):
        whole = row_shape(row, row.start, row.end, row.front, row.back)
        kind = "park" if row.kind == "park" else "ordinary"
        return [PlanLot(row.street, whole, row_front(row, row.start, row.end, row.front, inward), kind, block)]  # type: ignore[arg-type]
    widths = lot_widths(row.end - row.start, "wide" if row.kind == "flag" else row.kind, rng)
    lots: list[PlanLot] = []
    at = row.start
    for number, width in enumerate(widths):
        end = row.end if number == len(widths) - 1 else at + width
        if row.kind == "flag" and number % 2 == 1:
            lots += flag_lots(row, at, end, block)
        else:
            shape = row_shape(row, at, end, row.front, row.back)
            corner = number in (0, len(widths) - 1)
            front = row_front(row, at, end, row.front, inward)
            kind = "deep" if row.kind == "flag" else row.kind
            lots.append(PlanLot(row.street, shape, front, kind, block, corner))  # type: ignore[arg-type]
        at = end
    return lots


def court_lots(block: int) -> list[PlanLot]:
    """The lots round the bulb at the end of the court, cut by rays from its centre."""
    way = shapely.union_all([COURT.buffer(COURT_RADIUS_M, 24), box(664.5, 490.5, 679.5, 570.0)])
    ground = box(612, 552, 732, 615.5).difference(way)
    angles = np.radians([-66.0, 42.0, 90.0, 138.0, 246.0])
    lots = []
    for low, high in pairwise(angles):
        rays = [(COURT.x + 150 * np.cos(a), COURT.y + 150 * np.sin(a)) for a in np.linspace(low, high, 9)]
        shape = ground.intersection(Polygon([(COURT.x, COURT.y), *rays]))
        fronts = np.clip([high, low], np.radians(-20.0), np.radians(200.0))
        ends = [(COURT.x + COURT_RADIUS_M * np.cos(a), COURT.y + COURT_RADIUS_M * np.sin(a)) for a in fronts]
        shape = max(shapely.get_parts(shape), key=lambda part: part.area)
        lots.append(PlanLot("Overflow Court", shape, (ends[0], ends[1]), "court", block))
    return lots


def plan_lots(seed: int) -> list[PlanLot]:
    """All lots of the plan, row by row, with the corners of their neighbours as vertices on shared lines."""
    rng = np.random.default_rng([seed, 1])
    lots: list[PlanLot] = []
    for block, row in enumerate(ROWS, start=1):
        lots += lots_of_row(row, block, rng)
    lots += court_lots(len(ROWS) + 1)
    return lots


def shared_vertices(shapes: list[Polygon]) -> list[Polygon]:
    """The same shapes, with the corners of the others that lie on their edges, and a vertex each few metres."""
    corners = np.unique(np.round(shapely.get_coordinates(shapes), 6), axis=0)
    tree = shapely.STRtree([Point(corner) for corner in corners])
    out = []
    for shape in shapes:
        ring = np.round(shapely.get_coordinates(shape.exterior), 6)
        points: list[tuple[float, float]] = []
        for start, end in pairwise(ring):
            edge = LineString([start, end])
            on_edge = tree.query(edge.buffer(1e-4), predicate="intersects")
            reach = np.unique(np.round([edge.project(Point(corners[i])) for i in on_edge] + [0.0, edge.length], 6))
            reach = np.concatenate(
                [np.linspace(a, b, max(2, 1 + int(np.ceil((b - a) / VERTEX_STEP_M)))) for a, b in pairwise(reach)]
            )
            points += [edge.interpolate(r).coords[0] for r in np.unique(np.round(reach, 6))[:-1]]
        out.append(Polygon(points))
    return out


def street_lines() -> list[tuple[str, LineString]]:
    """Street centre lines on the ground, a vertex each few metres."""
    return [(name, shape_to_ground(LineString(line).segmentize(4.0))) for name, line in STREETS]

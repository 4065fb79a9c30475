"""Where water goes from a full garden: whole-area labels, what every cell meets downstream, and the path of a spot."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import IntEnum
from typing import Any, Final

import numpy as np
import shapely
from affine import Affine
from numpy.typing import NDArray

from screening.area import Area, Block
from screening.rules import Rules
from screening.siting.burning import burn
from screening.siting.kernels.overflow import UNKNOWN, first_met, trace_overflows
from screening.siting.lot_cells import lot_numbers
from screening.siting.setback_buildings import block_kinds, roof_kinds
from screening.terrain import fate
from screening.terrain.codes import linear_steps
from screening.terrain.threads import crew

__all__ = [
    "STREET_CORRIDOR_M",
    "Overflows",
    "Stop",
    "area_downstream",
    "block_setbacks",
    "block_stops",
    "downstream",
    "inlet_labels",
    "overflows",
    "setback_labels",
    "stop_labels",
]

STREET_CORRIDOR_M: Final = 12.0
"""Ground in no lot and within this distance of a street line is street; so is a street line itself."""


class Stop(IntEnum):
    """What ends water's way over the ground: codes of the raster ``reaches``."""

    NONE = 0
    """Nothing before the edge of the data."""
    STREET = 1
    """The corridor of a street."""
    INLET = 2
    """A storm drain inlet."""
    WATER = 3
    """A stream, pond or wetland."""
    OFF_LOTS = 4
    """Ground in no lot, where no street lines were given: a street, as far as anybody can tell."""


_LOT: Final = 1 << 8
"""Mark of cells of lots while stops are labelled; above every ``Stop``."""


def stop_labels(
    layers: Mapping[str, Any],
    transform: Affine,
    shape: tuple[int, int],
    lots: NDArray[Any] | None = None,
) -> NDArray[np.int32]:
    """Label what ends water's way over the ground, by ``Stop``; ``lots`` is above 0 in cells of lots, where known."""
    stops = np.zeros(shape, dtype=np.uint32)
    if lots is None:
        burn(layers["lots"].geometry.to_numpy(), _LOT, transform, stops)
    else:
        np.multiply(lots > 0, np.uint32(_LOT), out=stops)
    touch = _touch_m(transform)
    streets = layers.get("streets")
    if streets is not None and len(streets):
        lines = streets.geometry.to_numpy()
        # cells of lots are taken already, so that the corridor ends at them
        burn(lines, int(Stop.STREET), transform, stops, reach_m=STREET_CORRIDOR_M, first_wins=True)
        stops &= np.uint32(_LOT - 1)
        burn(lines, int(Stop.STREET), transform, stops, reach_m=touch, first_wins=True)
    else:
        np.equal(stops, 0, out=stops)
        stops *= np.uint32(Stop.OFF_LOTS)
    for layer, stop in (("water", Stop.WATER), ("inlets", Stop.INLET)):
        features = layers.get(layer)
        if features is not None and len(features):
            found = np.zeros(shape, dtype=np.uint32)
            burn(features.geometry.to_numpy(), 1, transform, found, reach_m=touch)
            stops[found > 0] = stop
    return stops.view(np.int32)


def _touch_m(transform: Affine) -> float:
    """Reach at which a point always has a cell of its own, on the corner of four too [m]."""
    return 0.5001 * float(np.hypot(transform.a, transform.e))


def setback_labels(
    layers: Mapping[str, Any],
    transform: Affine,
    shape: tuple[int, int],
    rules: Rules,
    kinds: NDArray[Any] | None = None,
) -> NDArray[np.int32]:
    """Label the ground beside buildings with foundations that no overflow may cross.

    Side yards are where water is meant to pass between houses, so this is ``overflow_clearance_m``, not the setback of
    a garden, except where that setback is less. ``kinds`` are those of the roofs, where they are known already.

    Returns
    -------
    numpy.ndarray
        Number of the roof in its layer, and one; 0 elsewhere.
    """
    labels = np.zeros(shape, dtype=np.uint32)
    roofs = layers.get("roofs")
    if roofs is None or not len(roofs):
        return labels.view(np.int32)
    kind = roof_kinds(layers, rules) if kinds is None else kinds
    setback_m = np.where(kind == "garage", rules.garage_setback_m, rules.house_setback_m)
    reach = np.minimum(setback_m, rules.overflow_clearance_m)
    kept = np.flatnonzero(kind != "shed")
    shapes = roofs.geometry.to_numpy()[kept]
    burn(shapes, kept + 1, transform, labels, reach_m=reach[kept], first_wins=True)
    return labels.view(np.int32)


def block_stops(block: Block) -> NDArray[np.int32]:
    """``stop_labels`` of a block, read once."""
    return block.once(stop_labels, lambda: stop_labels(block.layers, block.transform, block.shape, lot_numbers(block)))


def block_setbacks(block: Block, rules: Rules) -> NDArray[np.int32]:
    """``setback_labels`` of a block, read once."""

    def read() -> NDArray[np.int32]:
        kinds = block_kinds(block, rules) if block.layers.get("roofs") is not None else None
        return setback_labels(block.layers, block.transform, block.shape, rules, kinds)

    reach = (rules.garage_setback_m, rules.house_setback_m, rules.overflow_clearance_m, rules.outbuilding_most_m2)
    return block.once((setback_labels, *reach), read)


def downstream(
    direction: NDArray[np.uint8],
    stops: NDArray[np.int32],
    setbacks: NDArray[np.int32],
    out: NDArray[np.int32] | None = None,
) -> tuple[NDArray[np.uint8], NDArray[np.int32]]:
    """Find the first stop that each cell's water meets, and the first building's setback that it enters before.

    Parameters
    ----------
    direction
        D8 codes, uint8.
    stops, setbacks
        Labels of ``stop_labels`` and ``setback_labels``, int32, of the same shape.
    out
        Where to write ``enters``, contiguous; may be ``setbacks`` itself, as of each cell they are read once.

    Returns
    -------
    tuple
        ``reaches`` (uint8, codes of ``Stop``) and ``enters`` (int32, roof number and one, 0 none).
    """
    codes, ends, walls = (np.ascontiguousarray(values).reshape(-1) for values in (direction, stops, setbacks))
    reaches = np.full(direction.size, UNKNOWN, dtype=np.uint8)
    enters = np.empty(direction.size, dtype=np.int32) if out is None else out.reshape(-1)
    steps, trail = linear_steps(direction.shape[1]), np.empty(direction.size, dtype=np.int64)
    if not first_met(codes, ends, walls, steps, reaches, enters, trail):
        raise ValueError("directions run in a circle")
    return reaches.reshape(direction.shape), enters.reshape(direction.shape)


def area_downstream(
    area: Area, direction: NDArray[np.uint8], rules: Rules, *, threads: int = 2
) -> tuple[NDArray[np.uint8], NDArray[np.int32]]:
    """``reaches`` and ``enters`` of a whole area."""
    place = (area.layers, area.elevation.transform, area.elevation.shape)
    jobs = (lambda: stop_labels(*place), lambda: setback_labels(*place, rules))
    with crew(threads, lambda: None) as hands:
        stops, setbacks = hands.map(lambda _, number: jobs[number](), len(jobs))
    return downstream(direction, stops, setbacks, out=setbacks)


def inlet_labels(area: Area, direction: NDArray[np.uint8]) -> NDArray[np.int32]:
    """Inlet that each cell's water ends in, along gutters and all: its number in the layer and one, 0 for none."""
    inlets = area.layers.get("inlets")
    labels = np.zeros(direction.shape, dtype=np.uint32)
    if inlets is None or not len(inlets):
        return labels.view(np.int32)
    transform = area.elevation.transform
    touch = _touch_m(transform)
    shapes = inlets.geometry.to_numpy()
    burn(shapes, np.arange(1, len(shapes) + 1), transform, labels, reach_m=touch, first_wins=True)
    return fate(direction, labels.view(np.int32), include_self=True).label


@dataclass(frozen=True, eq=False)
class Overflows:
    """Overflow of spots, one entry each.

    Parameters
    ----------
    to
        ``street``, ``inlet``, ``water``, ``lot line``, ``edge of data``, or ``building`` and the roof's id; where no
        streets were given, ``ground in no lot, taken for a street`` in place of ``street``.
    threatens
        Id of the roof whose setback the overflow enters; empty when none.
    length_m
        Length of the path as drawn.
    path
        LineStrings down the ground, from the spot to where it goes.
    carved_m
        Deepest cut through an obstacle in the elevation that the path hangs on.
    """

    to: NDArray[Any]
    threatens: NDArray[Any]
    length_m: NDArray[np.float64]
    path: NDArray[Any]
    carved_m: NDArray[np.float64]


_OFF_LOTS: Final = "ground in no lot, taken for a street"
_ENDS: Final = ("edge of data", "street", "inlet", "water", _OFF_LOTS, "lot line", "building")
"""By code of ``Stop``, then the ends that only a walk knows."""

_BUILDING: Final = 6


def overflows(block: Block, x_m: NDArray[np.float64], y_m: NDArray[np.float64], rules: Rules) -> Overflows:
    """Follow the overflow of spots down the ground.

    The way ends where it enters a building's setback, at a street, inlet or water, where it crosses a line into
    another lot, or at the edge of the data. A building farther down than a lot line still counts as threatened.

    Parameters
    ----------
    block
        The block, with ``reaches`` and ``enters``.
    x_m, y_m
        Centres of the spots. [m]
    rules
        For the setbacks.
    """
    rows, columns = block.shape
    row = np.clip(np.floor((y_m - block.transform.f) / block.transform.e), 0, rows - 1).astype(np.int64)
    column = np.clip(np.floor((x_m - block.transform.c) / block.transform.a), 0, columns - 1).astype(np.int64)
    entered = block.rasters["enters"][row, column] > 0
    end, building, carved, start, path = _walk(block, row, column, entered, rules)
    reaches = block.rasters["reaches"][row, column]
    end = np.where(entered, _BUILDING, np.where((end == 0) & (reaches > 0), reaches, end))
    roofs = block.layers.get("roofs")
    ids = [] if roofs is None else roofs["roof_id"].astype("object").tolist()
    threatens = np.array(["", *ids], dtype=object)[building]
    threatens[entered & (building == 0)] = "farther down"
    to = np.array(_ENDS, dtype=object)[end]
    to[entered] = "building " + threatens[entered]
    lines = _lines(block, x_m, y_m, start, path)
    return Overflows(to, threatens, shapely.length(lines), lines, carved)


def _walk(
    block: Block, row: NDArray[Any], column: NDArray[Any], entered: NDArray[Any], rules: Rules
) -> tuple[NDArray[Any], ...]:
    """End, building entered, deepest cut and cells of each way, as far as the block's window shows it."""
    count = row.size
    end, building = np.zeros(count, dtype=np.int64), np.zeros(count, dtype=np.int32)
    carved, start = np.zeros(count), np.zeros(count + 1, dtype=np.int64)
    given = (
        row, column, entered.astype(np.uint8), np.ascontiguousarray(block.rasters["direction"]), block_stops(block),
        block_setbacks(block, rules), lot_numbers(block), np.ascontiguousarray(block.rasters["carved_m"]), end,
        building, carved, start,
    )  # fmt: skip
    path = np.empty(64 * count + 1, dtype=np.int64)
    needed = trace_overflows(*given, path)
    if needed > path.size:
        path = np.empty(needed, dtype=np.int64)
        trace_overflows(*given, path)
    return end, building, carved, start, path[:needed]


def _lines(
    block: Block, x_m: NDArray[Any], y_m: NDArray[Any], start: NDArray[np.int64], path: NDArray[np.int64]
) -> NDArray[Any]:
    """From the spot over the centres of the cells on its way."""
    columns = block.shape[1]
    x = block.transform.c + block.transform.a * (path % columns + 0.5)
    y = block.transform.f + block.transform.e * (path // columns + 0.5)
    single = start[1:] - start[:-1] == 1
    x[start[:-1][~single]], y[start[:-1][~single]] = x_m[~single], y_m[~single]
    which = np.repeat(np.arange(len(x_m)), np.diff(start))
    # a way of one cell is drawn from the spot to the cell's centre
    xy = np.column_stack([np.concatenate([x_m[single], x]), np.concatenate([y_m[single], y])])
    whose = np.concatenate([np.flatnonzero(single), which])
    order = np.argsort(whose, kind="stable")
    lines: NDArray[Any] = np.asarray(shapely.linestrings(xy[order], indices=whose[order]))
    return lines

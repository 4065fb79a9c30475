"""Slope, flow and fate of small made-up grounds, in plain Python: an independent reading for tests."""

from __future__ import annotations

import heapq
from dataclasses import replace
from typing import Any

import numpy as np
from scipy import ndimage

from screening.area import AreaContext, Block
from screening.grid import NODATA, VALID
from screening.rules import Rules
from screening.siting.overflow import setback_labels, stop_labels

# D8 codes in the order of their neighbours' (row, column) steps
STEPS = {1: (0, 1), 2: (1, 1), 4: (1, 0), 8: (1, -1), 16: (0, -1), 32: (-1, -1), 64: (-1, 0), 128: (-1, 1)}


def slopes(heights: Any, cell_m: float, scale_m: float) -> tuple[Any, Any]:
    """Least-squares slope over a square window, east and north; the border repeats a plane's slope."""
    half = max(1, round(scale_m / cell_m) // 2)
    offsets = np.arange(-half, half + 1)
    weights = np.ones((2 * half + 1, 1)) * offsets[None, :] / (offsets.size * (offsets**2).sum() * cell_m)
    dz_dx = ndimage.correlate(heights, weights, mode="constant", cval=np.nan)
    dz_dy = -ndimage.correlate(heights, weights.T, mode="constant", cval=np.nan)
    return _filled(dz_dx), _filled(dz_dy)


def _filled(values: Any) -> Any:
    missing = np.isnan(values)
    if missing.all():
        return np.zeros_like(values)
    where = ndimage.distance_transform_edt(missing, return_distances=False, return_indices=True)
    return values[tuple(where)]


def route(heights: Any, state: Any, cell_m: float, rules: Rules) -> dict[str, Any]:
    """Directions, accumulation and hollows by flooding from the edge; walls and nodata take no part."""
    rows, columns = heights.shape
    ok = (state == VALID) & np.isfinite(heights)
    filled, order, parent = _flood(heights, ok)
    direction = np.zeros(heights.shape, dtype=np.uint8)
    for row, column in order:
        best, chosen = 0.0, 0
        for code, (down, right) in STEPS.items():
            r, c = row + down, column + right
            if 0 <= r < rows and 0 <= c < columns and ok[r, c]:
                drop = (filled[row, column] - filled[r, c]) / (cell_m * np.hypot(down, right))
                if drop > best + 1e-12:
                    best, chosen = drop, code
        direction[row, column] = chosen or parent[row, column]
    edge = np.ones(heights.shape, dtype=bool)
    edge[1:-1, 1:-1] = False
    direction[edge & ok] = np.where(direction[edge & ok] > 0, direction[edge & ok], 0)
    accumulation = np.where(ok, 1, 0).astype(np.int64)
    for row, column in reversed(order):
        target = _receiver(direction, row, column)
        if target is not None:
            accumulation[target] += accumulation[row, column]
    depth = np.where(ok, filled - np.where(ok, heights, 0.0), 0.0)
    return {
        "direction": direction,
        "accumulation": accumulation,
        "hollow_depth_m": depth,
        "wet": _wet(depth, cell_m, rules),
        "carved_m": np.zeros(heights.shape),
        "reaches": np.zeros(heights.shape, dtype=np.uint8),
        "enters": np.zeros(heights.shape, dtype=np.int32),
    }


def _flood(heights: Any, ok: Any) -> tuple[Any, list[tuple[int, int]], Any]:
    rows, columns = heights.shape
    filled = np.where(ok, heights, np.nan)
    parent = np.zeros(heights.shape, dtype=np.uint8)
    seen = ~ok
    heap: list[tuple[float, int, int]] = []
    outside = ndimage.binary_dilation(~ok & np.isnan(heights), np.ones((3, 3)))
    for row in range(rows):
        for column in range(columns):
            rim = row in (0, rows - 1) or column in (0, columns - 1) or outside[row, column]
            if ok[row, column] and rim:
                heapq.heappush(heap, (float(heights[row, column]), row, column))
                seen[row, column] = True
    order = []
    back = {code: (-down, -right) for code, (down, right) in STEPS.items()}
    codes = {step: code for code, step in STEPS.items()}
    while heap:
        level, row, column = heapq.heappop(heap)
        order.append((row, column))
        for code, (down, right) in STEPS.items():
            r, c = row + down, column + right
            if 0 <= r < rows and 0 <= c < columns and not seen[r, c]:
                seen[r, c] = True
                filled[r, c] = max(level, float(heights[r, c]))
                parent[r, c] = codes[back[code]]
                heapq.heappush(heap, (float(filled[r, c]), r, c))
    return filled, order, parent


def _receiver(direction: Any, row: int, column: int) -> tuple[int, int] | None:
    if direction[row, column] == 0:
        return None
    down, right = STEPS[int(direction[row, column])]
    return row + down, column + right


def _wet(depth: Any, cell_m: float, rules: Rules) -> Any:
    labels, count = ndimage.label(depth > 1e-9, np.ones((3, 3)))
    if count == 0:
        return np.zeros(depth.shape, dtype=bool)
    numbers = np.arange(1, count + 1)
    deepest = ndimage.maximum(depth, labels, numbers)
    area = ndimage.sum_labels(np.ones(depth.shape), labels, numbers) * cell_m**2
    counts = np.flatnonzero((deepest >= rules.hollow_depth_m) & (area >= rules.hollow_area_m2)) + 1
    return np.isin(labels, counts)


def downstream(block: Block, context: AreaContext) -> Block:
    """The block with ``reaches`` and ``enters``, cell by cell."""
    place = (block.layers, block.transform, block.shape)
    labels = stop_labels(*place), setback_labels(*place, context.rules)
    rasters = dict(block.rasters)
    rasters["reaches"], rasters["enters"] = follow(rasters["direction"], rasters["state"], *labels)
    return replace(block, rasters=rasters)


def follow(direction: Any, state: Any, stops: Any, buildings: Any) -> tuple[Any, Any]:
    """First stop met on the way down from each cell, and the first building's setback entered before it."""
    reaches = np.zeros(direction.shape, dtype=np.uint8)
    enters = np.zeros(direction.shape, dtype=np.int32)
    for row, column in np.ndindex(direction.shape):
        if state[row, column] == NODATA:
            continue
        at: tuple[int, int] | None = (row, column)
        while at is not None:
            if stops[at]:
                reaches[row, column] = stops[at]
                break
            if enters[row, column] == 0 and buildings[at]:
                enters[row, column] = buildings[at]
            at = _receiver(direction, *at)
    return reaches, enters

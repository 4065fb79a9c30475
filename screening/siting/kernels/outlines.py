"""Number regions of equal cells, and follow the edges around them."""

from __future__ import annotations

from typing import Any

from screening.jit import compiled

__all__ = ["count_corners", "number_regions", "trace_rings"]


@compiled
def number_regions(labels: Any, region: Any, parent: Any, label_of: Any) -> int:
    """Number the regions of equal labels above 0 that hang together by their sides, in order of their first cells.

    Parameters
    ----------
    labels
        Cells, int32, 2-D.
    region
        Number of each cell's region, 1 and up, int32; 0 outside. Has a border of one cell more on every side.
    parent
        Work space, int32, as long as there are cells, and one more.
    label_of
        Label of region 1, 2, ..., int32, as long as ``parent``.

    Returns
    -------
    int
        How many regions there are.
    """
    rows, columns = labels.shape
    count = 0
    for row in range(rows):
        for column in range(columns):
            label = labels[row, column]
            if label <= 0:
                continue
            north, west = 0, 0
            if row > 0 and labels[row - 1, column] == label:
                north = region[row, column + 1]
            if column > 0 and labels[row, column - 1] == label:
                west = region[row + 1, column]
            if north == 0 and west == 0:
                count += 1
                parent[count] = count
                label_of[count] = label
                region[row + 1, column + 1] = count
            elif north == 0 or west == 0 or north == west:
                region[row + 1, column + 1] = max(north, west)
            else:
                while parent[north] != north:
                    north = parent[north]
                while parent[west] != west:
                    west = parent[west]
                low, high = min(north, west), max(north, west)
                parent[high] = low
                region[row + 1, column + 1] = low
    kept = 0
    for number in range(1, count + 1):
        if parent[number] == number:
            kept += 1
            parent[number] = -kept
            label_of[kept] = label_of[number]
        else:
            # the parent is a smaller number, so it has its final number already
            parent[number] = parent[parent[number]]
    for row in range(rows):
        for column in range(columns):
            number = region[row + 1, column + 1]
            if number > 0:
                region[row + 1, column + 1] = -parent[number]
    return kept


@compiled
def count_corners(region: Any) -> int:
    """Count corners of cells around which regions turn: no fewer than all rings have.

    Parameters
    ----------
    region
        Numbers of regions, int32, 2-D, with a border of one cell of 0.
    """
    rows, columns = region.shape
    total = 0
    for row in range(rows - 1):
        for column in range(columns - 1):
            a, b = region[row, column], region[row, column + 1]
            c, d = region[row + 1, column], region[row + 1, column + 1]
            if not (a == b and c == d) and not (a == c and b == d):
                total += 4
    return total


@compiled
def trace_rings(region: Any, seen: Any, vertex: Any, ring_start: Any, ring_region: Any) -> int:
    """Trace every ring around every region, the outer ring of each region before its holes.

    A ring keeps its cells on the left: outer rings run counter-clockwise with north up, holes clockwise. Where cells
    of one region touch at a corner only, the ring crosses over, so that no ring meets itself.

    Parameters
    ----------
    region
        Numbers of regions, int32, 2-D, with a border of one cell of 0.
    seen
        Work space, uint8 of the same shape, 0: bit k once the cell's side k (north, east, south, west) was followed.
    vertex
        Corners of the rings, int32, shape (n, 2): row and column of the corner in the bordered raster. Each ring
        repeats its first corner at its end.
    ring_start
        First corner of each ring, and the end, int64.
    ring_region
        Region of each ring, int32.

    Returns
    -------
    int
        Number of rings.
    """
    rows, columns = region.shape
    rings, used = 0, 0
    for r0 in range(1, rows - 1):
        for c0 in range(1, columns - 1):
            number = region[r0, c0]
            if number <= 0:
                continue
            for side0 in range(0, 3, 2):
                # an outer ring begins with a northern side, a hole with the southern side above it
                beyond = region[r0 - 1, c0] if side0 == 0 else region[r0 + 1, c0]
                if beyond == number or seen[r0, c0] & (1 << side0):
                    continue
                ring_start[rings] = used
                ring_region[rings] = number
                rings += 1
                first = used
                r, c, side, came = r0, c0, side0, -1
                while came == -1 or r != r0 or c != c0 or side != side0:
                    seen[r, c] |= 1 << side
                    if side != came:
                        vertex[used, 0] = r + (1 if side == 1 or side == 2 else 0)
                        vertex[used, 1] = c + (1 if side == 0 or side == 1 else 0)
                        used += 1
                    came = side
                    # north is followed west, west south, south east, east north; a is the cell ahead, b the one
                    # outside it
                    if side == 0:
                        ar, ac, br, bc = r, c - 1, r - 1, c - 1
                    elif side == 3:
                        ar, ac, br, bc = r + 1, c, r + 1, c - 1
                    elif side == 2:
                        ar, ac, br, bc = r, c + 1, r + 1, c + 1
                    else:
                        ar, ac, br, bc = r - 1, c, r - 1, c + 1
                    if region[br, bc] == number:
                        r, c = br, bc
                        side = (side + 1) % 4
                    elif region[ar, ac] == number:
                        r, c = ar, ac
                    else:
                        side = (side + 3) % 4
                if side == came:
                    # the ring began in the middle of a side
                    vertex[first, 0], vertex[first, 1] = vertex[used - 1, 0], vertex[used - 1, 1]
                else:
                    vertex[used, 0], vertex[used, 1] = vertex[first, 0], vertex[first, 1]
                    used += 1
    ring_start[rings] = used
    return rings

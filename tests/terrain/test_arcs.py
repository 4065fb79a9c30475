"""Pruning: which edges of a cell may be left out."""

import itertools

from screening.terrain.arcs import EDGES, edge_directions, ring_arcs
from screening.terrain.codes import COLUMN_STEP, ROW_STEP


def touching(a: int, b: int) -> bool:
    """Whether two neighbours of a cell are neighbours of one another."""
    return max(abs(int(ROW_STEP[a] - ROW_STEP[b])), abs(int(COLUMN_STEP[a] - COLUMN_STEP[b]))) == 1


def test_arcs_are_the_groups_of_lower_neighbours_that_touch() -> None:
    for mask in range(256):
        group = {k: {k} for k in range(8) if mask >> k & 1}
        for a, b in itertools.combinations(list(group), 2):
            if touching(a, b):
                merged = group[a] | group[b]
                group.update(dict.fromkeys(merged, merged))
        expected = sorted({sum(1 << k for k in one) for one in group.values()}, key=lambda arc: arc & -arc)
        assert ring_arcs(mask) == expected
        assert len(expected) <= 4


def test_edges_are_one_for_each_arc_but_that_of_the_way() -> None:
    # east alone, and south-west with west, whose lowest direction is south-west
    mask = 0b11001
    assert edge_directions(mask, 0) == [3]
    assert edge_directions(mask, 3) == edge_directions(mask, 4) == [0]
    assert edge_directions(mask, 8) == [0, 3]
    assert edge_directions(0b1111, 1) == []
    assert edge_directions(0b10101010, 8) == [1, 3, 5, 7]


def test_table_holds_them_all() -> None:
    for mask in range(256):
        for way in range(9):
            code = int(EDGES[16 * mask + way])
            unpacked = [code >> shift & 15 for shift in (0, 4, 8, 12)]
            assert [k for k in unpacked if k != 15] == edge_directions(mask, way)

from itertools import pairwise

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from scipy import ndimage

from screening.streets.neighbour_colours import COLOURS, neighbour_colours, side_by_side


def test_labels_are_side_by_side_where_cells_share_a_side():
    labels = np.array([[1, 1, 0, 2], [3, 1, 4, 2], [3, 0, 4, 1]], dtype=np.int32)
    assert side_by_side(labels).tolist() == [[1, 2], [1, 3], [1, 4], [2, 4]]


def test_nothing_side_by_side_needs_one_colour():
    labels = np.array([[1, 0, 2]], dtype=np.int32)
    assert side_by_side(labels).shape == (0, 2)
    assert neighbour_colours(2, np.empty((0, 2), dtype=int)).tolist() == [1, 1]
    assert neighbour_colours(0, np.empty((0, 2), dtype=int)).tolist() == []


def test_a_ring_of_four_needs_two_and_its_middle_a_third():
    ring = [[0, 1], [1, 2], [2, 3], [0, 3]]
    spokes = [[0, 4], [1, 4], [2, 4], [3, 4]]
    colours = neighbour_colours(5, np.array(ring + spokes))
    assert colours[0] == colours[2] != colours[1] == colours[3]
    assert sorted(set(colours)) == [1, 2, 3]


def test_more_neighbours_than_colours_share_as_seldom_as_they_can():
    all_pairs = np.array([[a, b] for a in range(7) for b in range(a + 1, 7)])
    colours = neighbour_colours(7, all_pairs)
    assert sorted(np.bincount(colours)[1:]) == [1, 1, 1, 1, 1, 2]


@given(st.integers(0, 2**32 - 1), st.integers(1, 60))
def test_six_colours_keep_any_pieces_of_a_plane_apart(seed, count):
    rng = np.random.default_rng(seed)
    seeds = np.zeros((40, 40), dtype=np.int32)
    seeds.flat[rng.choice(seeds.size, count, replace=False)] = np.arange(1, count + 1)
    row, column = ndimage.distance_transform_edt(seeds == 0, return_distances=False, return_indices=True)
    labels = seeds[row, column]
    # nearest seeds on cells may leave a piece in two parts: each part is a piece of its own
    pieces = np.zeros_like(labels)
    for label in range(1, count + 1):
        part, parts = ndimage.label(labels == label)
        pieces += np.where(part > 0, part + pieces.max(), 0)
        assert parts >= 1
    pairs = side_by_side(pieces)
    colours = neighbour_colours(int(pieces.max()), pairs - 1)
    assert colours.min() >= 1
    assert colours.max() <= COLOURS
    assert all(colours[a - 1] != colours[b - 1] for a, b in pairs)


def test_the_answer_does_not_hang_on_the_order_of_pairs():
    chain = np.array(list(pairwise(range(30))))
    once = neighbour_colours(30, chain)
    again = neighbour_colours(30, chain[::-1, ::-1])
    assert once.tolist() == again.tolist()
    assert set(once) == {1, 2}

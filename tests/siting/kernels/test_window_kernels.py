import numpy as np
import pytest
from shapely import LineString, Point, box

from screening.siting import ground
from screening.siting.kernels.footprint_kernels import under_footprints
from screening.siting.kernels.room_kernels import (
    CLOSED,
    LOOK,
    STEEP,
    cell_offsets,
    clear_runs,
    first_size,
    marked_size,
    shape_rooms,
)
from screening.siting.kernels.search_kernels import FLOODS, search_lots
from screening.siting.kernels.template_kernels import first_covering
from screening.siting.kernels.why_kernels import why_none
from screening.siting.kernels.window_kernels import core_clear, fill_level, lot_window
from screening.siting.search_arrays import new_work
from screening.siting.search_world import search_world
from tests.siting.lots import make_block, standard_lot


def made(**arguments):
    block, context = make_block(**{"plane": (0, 0.03), **standard_lot(), "margin_m": 8.0, **arguments})
    mask, tables = ground(block, context)
    return search_world(block.with_tables(tables), context, mask), block, mask


@pytest.fixture(scope="module")
def world():
    return made(trees=[{"geometry": Point(15, 6), "crown_m": 3.0}])[0]


def window_of(world, kernel=lot_window):
    place = np.zeros(9, dtype=np.int64)
    kernel(0, world, place)
    place[4] = place[3] - place[2] + 2 * world.limits.template_reach
    return place


def level_of(world, kernel=fill_level):
    place = window_of(world)
    border = world.limits.template_reach
    level = np.empty(place[4] * (place[1] - place[0] + 2 * border), dtype=np.uint8)
    count = kernel(0, place, world, level)
    return place, level, count


def test_window_is_the_lot_within_reach(world):
    for kernel in (lot_window, lot_window.py_func):
        place = window_of(world, kernel)
        rows, columns = place[1] - place[0], place[3] - place[2]
        assert (rows, columns) == (81, 41)  # 40 x 20 m in half metres, both ends counted


def test_levels_of_open_ground_ground_to_look_at_and_closed_ground(world):
    place, level, count = level_of(world)
    plain = level_of(world, fill_level.py_func)
    assert (plain[1] == level).all()
    assert plain[2] == count == (level < 3).sum()
    border = world.limits.template_reach

    def at(x, y):
        row = int((world.limits.north - y) / 0.5)
        column = int((x - world.limits.west) / 0.5)
        return (row - place[0] + border) * place[4] + column - place[2] + border

    assert level[at(6.2, 5.2)] == 0
    assert level[at(15.2, 6.2)] == 1  # the crown
    assert level[at(10.2, 15.2)] == 3  # the house
    assert (level.reshape(-1, place[4])[:border] == 3).all()
    for kernel in (core_clear, core_clear.py_func):
        assert kernel(level, at(6.2, 5.2), place[4], world.core, len(world.core))
        assert not kernel(level, at(1.8, 5.2), place[4], world.core, len(world.core))
    assert place[8] == 1 << 0 | 1 << LOOK | 1 << CLOSED


def test_first_size_that_covers_ground_to_look_at(world):
    place, level, _ = level_of(world)
    border, sizes = world.limits.template_reach, len(world.sizes_m2)
    row, column = int((world.limits.north - 5.2) / 0.5), int((10.2 - world.limits.west) / 0.5)
    at = (row - place[0] + border) * place[4] + column - place[2] + border
    rooms = np.zeros(3)
    for listed, ran, sized, marked, rooming in (
        (cell_offsets, clear_runs, first_size, marked_size, shape_rooms),
        (cell_offsets.py_func, clear_runs.py_func, first_size.py_func, marked_size.py_func, shape_rooms.py_func),
    ):
        offsets = np.full(len(world.cells), -1, dtype=np.int32)
        row_offsets = np.full(len(world.rows), -1, dtype=np.int32)
        listed(world.cells, place[4], offsets)
        listed(world.rows, place[4], row_offsets)
        assert (offsets == world.cells[:, 0].astype(int) * place[4] + world.cells[:, 1]).all()
        runs = np.zeros((3, len(level), 2), dtype=np.uint16)
        for kind in (LOOK, STEEP, CLOSED):
            ran(place, border, level, kind, world.reached.shape[2] - 1, runs[kind - 1])
        templates = (offsets, row_offsets, world.first_cell, world.first_row, world.rows, world.reached)
        for shape in range(64):
            first, last = world.first_cell[shape, 0], world.first_cell[shape, -1]
            kinds = level[at + offsets[first:last]].tolist()
            size = [int(size) for size in world.cells[first:last, 2]]
            closed = kinds.index(CLOSED) if CLOSED in kinds else last - first
            rows = (world.rows, world.reached, world.first_row[shape], world.first_row[shape + 1])
            found = sized(runs[CLOSED - 1], at, row_offsets, *rows, sizes)
            assert found == [*size, sizes][closed]
            assert sized(runs[CLOSED - 1], at, row_offsets, *rows, 3) == min(found, 3)
            for kind in (LOOK, STEEP):
                before = kinds[:closed].index(kind) if kind in kinds[:closed] else -1
                told = marked(level, runs[kind - 1], kind, found, at, *templates, shape)
                assert told == [*size, sizes][before]
        flags = np.array([marked(level, runs[0], LOOK, sizes, at, *templates, 0), sizes, sizes])
        assert 0 < flags[0] < sizes
        rooming(flags, world.sizes_m2, 20.0, rooms)
        assert rooms[0] == world.sizes_m2[flags[0] - 1]
        assert rooms[1] == rooms[2] == 20.0


def test_runs_by_hand():
    window = np.array([0, 2, 0, 5, 7, 0, 0, 0, 0])
    level = np.full((4, 7), CLOSED, dtype=np.uint8)
    level[1:3, 1:6] = [[0, 1, 0, 3, 0], [0, 0, 2, 0, 0]]
    for kernel in (clear_runs, clear_runs.py_func):
        out = np.zeros((28, 2), dtype=np.uint16)
        kernel(window, 1, level.ravel(), CLOSED, 4, out)
        east, west = out.T.reshape(2, 4, 7)
        assert east[1:3, 1:6].tolist() == [[3, 2, 1, 0, 1], [4, 4, 3, 2, 1]]
        assert west[1:3, 1:6].tolist() == [[1, 2, 3, 0, 1], [1, 2, 3, 4, 4]]
        assert not east[:, 0].any()
        assert not west[3].any()
        kernel(window, 1, level.ravel(), LOOK, 4, out)
        east, west = out.T.reshape(2, 4, 7)
        assert east[1, 1:6].tolist() == [1, 0, 4, 4, 4]  # beyond the window nothing is to look at
        assert west[1, 1:6].tolist() == [4, 0, 1, 2, 3]


@pytest.mark.parametrize("plane", [(0.01, -0.02), (-0.01, -0.02), (0.005, -0.015), (0.01, -0.015)])
def test_gardens_that_flood_a_building_are_the_same_whether_their_room_is_known_first_or_their_overflow(plane):
    """Where two gardens are allowed, room comes first; the first three of a lot do not hang on how many are."""
    world = made(plane=plane, trees=[{"geometry": Point(15, 6), "crown_m": 3.0}])[0]
    found, flooding = [], 0
    for gardens in (1, 2):
        limits = world.limits.copy()
        limits["gardens"] = gardens
        kept, tried = np.full((1, 8, 34), np.nan), np.zeros((1, 3), dtype=np.int64)
        work = new_work(world, 8)
        assert search_lots(0, 1, world._replace(limits=limits), work, kept, tried) == 1
        flooding += (work.warned[: tried[0, 1]] == FLOODS).sum()
        found.append(kept[0, :3])
    assert np.array_equal(*found, equal_nan=True)
    assert np.isfinite(found[0][:, 0]).all()
    assert flooding > 0


def test_a_lot_with_more_centres_than_there_is_room_for_is_given_back(world):
    for kernel in (search_lots, search_lots.py_func):
        kept, tried = np.full((1, 8, 34), np.nan), np.zeros((1, 3), dtype=np.int64)
        assert kernel(0, 1, world, new_work(world, 8, 16), kept, tried) == 0
        assert kernel(0, 1, world, new_work(world, 8), kept, tried) == 1


def test_search_as_plain_python_is_the_compiled_one(world):
    found = []
    for kernel in (search_lots, search_lots.py_func):
        kept, tried = np.full((1, 8, 34), np.nan), np.zeros((1, 3), dtype=np.int64)
        assert kernel(0, 1, world, new_work(world, 8), kept, tried) == 1
        found.append((kept, tried))
    assert np.allclose(found[0][0], found[1][0], equal_nan=True, rtol=0, atol=1e-9)
    assert (found[0][1] == found[1][1]).all()


def test_covering_by_hand():
    for kernel in (first_covering, first_covering.py_func):
        out = np.empty((3, 5), dtype=np.int16)
        # circles of radius 1 and 2, no ring: cells whose centre lies inside
        kernel(1.0, 1.0, 1, 2, 1.0, 0.0, 1.0, np.pi * np.array([1.1, 4.1]), 1e-9, out)
        assert out.tolist() == [[2, 1, 0, 1, 2], [1, 0, 0, 0, 1], [2, 1, 0, 1, 2]] or out[1].tolist() == [1, 0, 0, 0, 1]


def test_what_lies_under_a_footprint(world):
    shape = (20, 20)
    slope, upslope = np.zeros(shape), np.ones(shape, dtype=np.int64)
    slope[10, 11], upslope[9, 10] = 7.0, 40
    bits = np.zeros((40, 40), dtype=np.uint32)
    bits[20, 22], bits[0, 0] = 4, 8
    row = column = np.array([20])
    for kernel in (under_footprints, under_footprints.py_func):
        steepest, most, seen = np.zeros(1), np.zeros(1, dtype=np.int64), np.zeros(1, dtype=np.uint32)
        kernel(
            row, column, np.array([0]), np.array([5]), world.cells, world.first_cell, slope, upslope, bits, steepest,
            most, seen,
        )  # fmt: skip
        assert steepest[0] == 7.0
        assert most[0] == 40
        assert seen[0] == 4


def test_widest_ground_of_the_narrow_lot():
    world, _, _ = made(
        plane=(0, 0.02), lots=[box(0, 0, 10, 30)], roofs=[{"geometry": box(1, 6, 9, 26), "kind": "house"}],
        streets=[LineString([(-40, 0), (60, 0)])],
    )  # fmt: skip
    near, distance = np.zeros(200, dtype=np.int64), np.zeros((200, 3))
    for kernel in (why_none, why_none.py_func):
        out = np.zeros((1, 3))
        kernel(np.array([0]), world, near, distance, out)
        assert 2.0 * out[0, 0] == pytest.approx(2.0, abs=0.02)
        assert np.isinf(out[0, 1])

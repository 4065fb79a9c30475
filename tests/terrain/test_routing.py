"""Routing against an independent flood, published grids and what must always hold."""

import numpy as np
import pyflwdir
import pytest
from affine import Affine
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.errors import BadInput
from screening.grid import NODATA, OUTLET, VALID, WALL, Grid
from screening.terrain import PARTS_PER_UNIT, KeepHollows, Routing, drain, route
from screening.terrain.codes import COLUMN_STEP, ROW_STEP
from tests.terrain.flood_oracle import crossing_heights, flood, steepest_ways
from tests.terrain.strategies import grids

UNIT = Affine(1, 0, 0, 0, -1, 0)


def grid_of(rows: str, cell: float = 1.0) -> Grid:
    """A grid from digits, a row a line; # is wall, . nodata, o an outlet of height 0."""
    lines = rows.split()
    z = np.array([[float(x) if x.isdigit() else 0.0 for x in line] for line in lines], np.float32)
    codes = {"#": WALL, ".": NODATA, "o": OUTLET}
    state = np.array([[codes.get(x, VALID) for x in line] for line in lines], np.uint8)
    z[state == WALL] = 9
    z[state == NODATA] = np.nan
    return Grid(z, Affine(cell, 0, 0, 0, -cell, 0), state)


def assert_same(one: Routing, other: Routing) -> None:
    for name in ("filled", "direction", "accumulation", "conditioned", "hollow_id"):
        np.testing.assert_array_equal(getattr(one, name), getattr(other, name), err_msg=name, strict=True)
    for name in one.hollows.__dataclass_fields__:
        np.testing.assert_array_equal(getattr(one.hollows, name), getattr(other.hollows, name), err_msg=name)


def assert_drains(grid: Grid, routing: Routing) -> None:
    """No cycle, every ground cell reaches an outlet, never uphill, outlets' accumulation adds up."""
    direction, accumulation = routing.direction.astype(int), routing.accumulation
    is_ground = (grid.state == VALID) | (grid.state == OUTLET)
    flowing = direction != 255
    assert flowing[is_ground].all()
    rows, columns = np.nonzero(flowing & (direction > 0))
    k = np.log2(direction[rows, columns]).astype(int)
    to_rows, to_columns = rows + ROW_STEP[k], columns + COLUMN_STEP[k]
    assert flowing[to_rows, to_columns].all()
    # with no cycle, the cells that drain in are exactly accounted for, cell by cell
    added = is_ground.astype(np.int64)
    np.add.at(added, (to_rows, to_columns), accumulation[rows, columns])
    np.testing.assert_array_equal(added, accumulation)
    assert accumulation[direction == 0].sum() == is_ground.sum()
    both = is_ground[rows, columns] & is_ground[to_rows, to_columns]
    a, b = (rows[both], columns[both]), (to_rows[both], to_columns[both])
    assert (routing.filled[a] >= routing.filled[b]).all()
    conditioned = routing.conditioned
    assert (conditioned[a] >= conditioned[b]).all()
    assert (conditioned[is_ground] <= grid.values[is_ground]).all()
    assert (routing.filled[is_ground] >= grid.values[is_ground]).all()


@settings(max_examples=60, deadline=None)
@given(grids(24), st.integers(1, 17))
def test_equals_an_independent_flood(grid: Grid, tile: int) -> None:
    answer, routing = flood(grid), route(grid, tile=tile, threads=1)
    np.testing.assert_array_equal(routing.direction, answer.direction)
    np.testing.assert_array_equal(routing.filled, answer.filled)
    np.testing.assert_array_equal(routing.accumulation, answer.accumulation)
    np.testing.assert_array_equal(routing.conditioned, answer.conditioned)
    np.testing.assert_array_equal(routing.hollow_id, answer.hollow_id)
    table = routing.hollows
    columns = table.first_cell, table.lowest_cell, table.depth_parts, table.volume_parts, table.cells, table.enclosed
    assert list(zip(*(c.tolist() for c in columns), strict=True)) == answer.hollows


@settings(max_examples=40, deadline=None)
@given(grids(60), st.lists(st.integers(1, 17), min_size=2, max_size=2))
def test_same_whatever_the_tiles_and_always_drains(grid: Grid, tiles: list[int]) -> None:
    whole = route(grid, tile=1000, threads=1)
    assert_drains(grid, whole)
    for tile, threads in zip(tiles, (1, 2), strict=True):
        assert_same(route(grid, tile=tile, threads=threads), whole)


@settings(max_examples=20, deadline=None)
@given(grids(40))
def test_directions_are_steepest_descent_but_where_carved(grid: Grid) -> None:
    routing = route(grid)
    for (r, c), way in steepest_ways(grid, crossing_heights(grid)).items():
        code = {8: 0, -1: -1}.get(way, 1 << max(way, 0))
        if grid.state[r, c] == WALL or routing.direction[r, c] == code:
            continue
        # turned round: only where the first way leads into a hollow that stands as high as the cell
        assert code != 0
        if way >= 0:
            there = r + ROW_STEP[way], c + COLUMN_STEP[way]
            assert grid.state[there] == WALL or routing.filled[there] == routing.filled[r, c]


def test_one_cell_at_a_time_is_the_same() -> None:
    rng = np.random.default_rng(7)
    grid = Grid.from_array(rng.integers(0, 9, (40, 30)), UNIT)
    assert_same(route(grid, tile=1, threads=2), route(grid))


def test_filled_equals_another_librarys() -> None:
    rng = np.random.default_rng(3)
    y, x = np.mgrid[:300, :280]
    z = np.round((4 * np.sin(x / 23.0) + 3 * np.cos(y / 19.0) + rng.normal(0, 0.3, x.shape)) * 256) / 256
    z = z.astype(np.float32)
    filled, _ = pyflwdir.dem.fill_depressions(z, outlets="edge", nodata=-9999)
    np.testing.assert_array_equal(route(Grid.from_array(z, UNIT)).filled, filled)


def test_accumulation_equals_another_librarys_on_the_same_directions() -> None:
    rng = np.random.default_rng(4)
    z = rng.random((200, 150)).astype(np.float32)
    z[rng.random(z.shape) < 0.05] = np.nan
    routing = route(Grid.from_array(z, UNIT))
    codes = np.where(routing.direction == 255, 247, routing.direction).astype(np.uint8)
    upstream = pyflwdir.from_array(codes, ftype="d8").upstream_area(unit="cell")
    is_ground = np.isfinite(z)
    np.testing.assert_array_equal(routing.accumulation[is_ground], upstream[is_ground].astype(np.int64))


def test_published_d8_grid() -> None:
    # The 6 x 6 grid of directions and accumulation used to teach D8 (Jenson and Domingue 1988; the values of the
    # reference manuals). There the rim drains inwards: a wall round the grid gives that, the pit is an outlet here.
    z = _table(
        "78 72 69 71 58 49/74 67 56 49 46 50/69 53 44 37 38 48/64 58 55 22 31 24/68 61 47 21 16 19/74 53 34 12 11 12"
    )
    codes = _table("2 2 2 4 4 8/2 2 2 4 4 8/1 1 2 4 8 4/128 128 1 2 4 8/2 2 1 4 4 4/1 1 1 1 0 16")
    beyond = _table("0 0 0 0 0 0/0 1 1 2 2 0/0 3 7 5 4 0/0 0 0 20 0 1/0 0 0 1 24 0/0 2 4 7 35 1")
    state = np.full((8, 8), WALL, np.uint8)
    state[1:-1, 1:-1] = VALID
    state[6, 5] = OUTLET
    routing = route(Grid(np.pad(z, 1, constant_values=99).astype(np.float32), UNIT, state))
    inner = slice(1, -1), slice(1, -1)
    np.testing.assert_array_equal(routing.direction[inner], codes)
    np.testing.assert_array_equal(routing.accumulation[inner], beyond + 1)


def _table(text: str) -> np.ndarray:
    return np.array([[int(x) for x in row.split()] for row in text.split("/")])


def test_published_filling() -> None:
    # The first depression test of Barnes's richdem: 9 cells raised, 18 units of volume.
    rows = (
        "0000000000 0000000000 0222200000 0200222200 0222200200 0020200200 0022200200 0000222200 0000000000 0000000000"
    )
    grid = grid_of(rows)
    routing = route(grid, mode="fill")
    expected = grid.values.copy()
    expected[3, 2:4] = expected[4:7, 5:8] = expected[5, 3] = 2
    expected[4:7, 6:8] = 2
    np.testing.assert_array_equal(routing.filled, expected)
    assert routing.hollows.volume_parts.sum() == 18 * PARTS_PER_UNIT
    assert routing.hollows.volume_m3(4.0, 0.5).sum() == 36.0
    assert not routing.carved.any()
    assert routing.conditioned is routing.filled


def test_published_carving() -> None:
    # The first breaching test of Barnes's richdem: only the three cells of the ridge are cut, to the pit's height.
    z = np.zeros((10, 10), np.float32)
    z[1:9, 1:9] = 8
    z[3:6, 3:6] = 1
    z[6:9, 5] = 7
    routing = route(Grid.from_array(z, UNIT))
    cut = np.zeros_like(z)
    cut[6:9, 5] = 6
    np.testing.assert_array_equal(routing.carved, cut)
    np.testing.assert_array_equal(routing.conditioned, z - cut)
    assert routing.hollows.depth_m().tolist() == [6.0]


def test_hand_filled_bowl() -> None:
    z = np.full((5, 5), 9.0)
    z[1:4, 1:4] = 5
    z[2, 2] = 1
    z[2, 4] = 4
    routing = route(Grid.from_array(z, UNIT))
    assert (routing.hollow_depth > 0).sum() == 1
    assert routing.hollow_depth[2, 2] == 4
    # out over the first of the cells of height 5 beside the rim's 4
    assert routing.direction[[2, 1], [2, 3]].tolist() == [128, 2]
    assert routing.carved[1, 3] == 4
    assert routing.accumulation[2, 4] == 10
    table = routing.hollows
    assert (table.lowest_cell.tolist(), table.cells.tolist(), table.level.tolist()) == ([12], [1], [5.0])


def test_enclosed_ground_leaves_by_the_lowest_ground_of_the_wall() -> None:
    grid = grid_of("88888888 88888888 88####88 88#22#88 88#23#88 88####88 88888888 88888888")
    z = grid.values.copy()
    z[grid.state == WALL] = 8.5
    z[5, 3] = 8.25
    routing = route(Grid(z, UNIT, grid.state))
    assert len(routing.hollows) == 1
    assert routing.hollows.enclosed.all()
    assert routing.hollows.cells.tolist() == [4]
    # out through the lowest cell of the wall, and on by the first direction of three alike
    assert routing.direction[5, 3] == 2
    assert routing.accumulation[5, 3] == 4
    wall = grid.state == WALL
    assert (routing.accumulation[wall] > 0).sum() == 1
    assert (routing.direction[wall & (routing.accumulation == 0)] == 255).all()
    np.testing.assert_array_equal(routing.filled[wall], z[wall])
    assert (routing.carved[wall] == 0).all()
    assert (routing.filled[3:5, 3:5] == 8.25).all()
    assert routing.hollows.level.tolist() == [8.25]


def test_walls_turn_water_aside_and_are_no_outlets() -> None:
    grid = grid_of("99999 97#59 98#49 97639 99929 99919")
    routing = route(grid)
    # (1, 1) would fall to the east; the wall sends it round by the south
    assert routing.direction[1, 1] not in (0, 1)
    assert routing.direction[2, 1] == 2
    assert routing.direction[3, 2] == 1
    assert (routing.direction[1:3, 2] == 255).all()
    assert (routing.accumulation[1:3, 2] == 0).all()


def test_forced_outlets_and_nodata_edges_take_water() -> None:
    grid = grid_of("99999 95559 95o59 95559 99999")
    routing = route(grid)
    assert routing.direction[2, 2] == 0
    assert routing.accumulation[2, 2] == 9
    assert routing.filled[2, 2] == 0
    hole = grid_of("99999 95559 95.59 95559 99999")
    routing = route(hole)
    assert (routing.direction[1:4, 1:4].ravel() == [0, 0, 0, 0, 255, 0, 0, 0, 0]).all()
    assert np.isnan(routing.filled[2, 2])
    assert np.isnan(routing.carved[2, 2])
    assert routing.accumulation[2, 2] == 0


def test_hollows_beyond_a_limit_are_kept() -> None:
    z = np.full((9, 20), 10.0)
    z[3:6, 3:6] = 9.5  # shallow, nine cells
    z[4, 14] = 7  # deep, one cell
    grid = Grid.from_array(z, UNIT, height_factor=0.5)
    free = route(grid)
    assert free.direction[4, 14] != 0
    assert not free.kept.any()
    deep = route(grid, keep=KeepHollows(depth_m=1.0))
    assert deep.direction[4, 14] == 0
    assert deep.kept.tolist() == [False, True]
    assert deep.carved.max() == 0.5
    assert free.carved.max() == 3
    np.testing.assert_array_equal(deep.hollow_depth, free.hollow_depth)
    large = route(grid, keep=KeepHollows(area_m2=8.0))
    assert large.kept.tolist() == [True, False]
    assert large.direction[3, 3] == 0
    assert route(grid, keep=KeepHollows(depth_m=5.0)).direction[4, 14] != 0
    assert large.grid is grid


def test_cell_sizes_weigh_the_steepest_way() -> None:
    z = np.array([[9, 9, 9, 9], [9, 9, 6, 9], [9, 5, 9, 9], [9, 9, 9, 9.0]])
    state = np.pad(np.zeros((2, 2), np.uint8), 1, constant_values=WALL)
    state[1, 2] = state[2, 1] = OUTLET
    wide = route(Grid(z, Affine(2, 0, 0, 0, -4, 0), state))
    assert wide.direction[1, 1] == 1  # 3 in 2 m beats 4 in 4 m
    tall = route(Grid(z, Affine(2, 0, 0, 0, -2, 0), state))
    assert tall.direction[1, 1] == 4


@pytest.mark.parametrize("shape", [(1, 1), (1, 9), (9, 1), (2, 2)])
def test_every_cell_of_a_thin_raster_is_an_outlet(shape: tuple[int, int]) -> None:
    routing = route(Grid.from_array(np.ones(shape), UNIT))
    assert (routing.direction == 0).all()
    assert (routing.accumulation == 1).all()
    assert len(routing.hollows) == 0


def test_integers_and_nodata_values_read_as_heights() -> None:
    z = np.array([[5, 5, 5, 5], [5, 1, -9999, 5], [5, 5, 5, 5]], np.int16)
    routing = route(Grid.from_array(z, UNIT, nodata=-9999))
    assert routing.filled.dtype == np.float32
    assert routing.direction[1, 1] == 0
    assert routing.direction[1, 2] == 255


def test_memory_of_an_earlier_result_may_be_used_again() -> None:
    rng = np.random.default_rng(1)
    one, other = (Grid.from_array(rng.random((30, 40)).astype(np.float32), UNIT) for _ in range(2))
    expected = drain(other)
    first = drain(one)
    again = drain(other, out=first)
    assert again.accumulation is first.accumulation
    np.testing.assert_array_equal(again.accumulation, expected.accumulation)
    np.testing.assert_array_equal(again.filled, expected.filled)
    np.testing.assert_array_equal(again.direction, expected.direction)
    with pytest.raises(ValueError, match="filled to write to must be float32"):
        drain(Grid.from_array(rng.random((3, 4)).astype(np.float32), UNIT), out=first)


def test_refuses_what_it_cannot_route() -> None:
    with pytest.raises(BadInput, match="no valid cell"):
        route(Grid.from_array(np.full((3, 3), np.nan), UNIT))
    grid = Grid.from_array(np.ones((3, 3)), UNIT)
    with pytest.raises(ValueError, match="mode must be"):
        route(grid, mode="cut")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="at least 1"):
        route(grid, tile=0)

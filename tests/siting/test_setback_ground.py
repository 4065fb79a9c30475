from dataclasses import replace

import numpy as np
import pytest
from scipy import ndimage
from shapely import box

from screening.grid import NODATA, WALL
from screening.rules import Rules
from screening.siting import setback_ground as ground
from tests.siting.lots import make_block, standard_lot


def with_raster(name, values, **arguments):
    block, context = make_block(**standard_lot(**arguments))
    return replace(block, rasters={**block.rasters, name: values(block.rasters[name])}), context


@pytest.mark.parametrize(("rows", "columns", "counts"), [(10, 10, True), (7, 7, False)])
def test_steep_ground_counts_when_larger_than_a_bank(rows, columns, counts):
    def steep(slope):
        slope = slope.copy()
        slope[27 : 27 + rows, 25 : 25 + columns] = 25.0
        return slope

    found = ground.steep_ground(*with_raster("slope_pct", steep))
    assert found["clearance_m"].unique().tolist() == ([15.0] if counts else [])
    assert found.geometry.area.sum() == pytest.approx(rows * columns if counts else 0)


def test_a_pit_under_a_roof_is_no_steep_ground():
    """Bare-earth rasters guess the ground under houses; what lies beside the walls is a strip of 46 m2."""
    block, context = make_block(**standard_lot())
    roof = block.rasters["state"] == WALL
    assert roof.sum() == 120
    slope = np.where(ndimage.binary_dilation(roof), 40.0, 3.0)
    pitted = replace(block, rasters={**block.rasters, "slope_pct": slope})
    assert len(ground.steep_ground(pitted, context)) == 0
    bare = replace(pitted, rasters={**pitted.rasters, "state": np.zeros_like(block.rasters["state"])})
    assert ground.steep_ground(bare, context).geometry.area.sum() == pytest.approx(164.0)


def test_a_wet_hollow_takes_its_cells_and_not_its_rim():
    def bowl(x, y):
        return -np.clip(0.25 * (1 - ((x - 10) ** 2 + (y - 33) ** 2) / 16), 0, None)

    block, context = make_block(plane=(0.0, -0.03), ground=bowl, **standard_lot())
    wet = ground.wet_hollows(block, context).union_all()
    assert wet.contains(box(9.5, 32.5, 10.5, 33.5))
    assert 15 < wet.area < 50
    assert not wet.intersects(box(9, 26, 11, 29))


def test_concentrated_flow_takes_the_cells_it_runs_over():
    def gully(accumulation):
        accumulation = accumulation.copy()
        accumulation[:, 30] = 2000
        accumulation[:, 31] = 1999
        return accumulation

    found = ground.concentrated_flow(*with_raster("accumulation", gully)).union_all()
    assert found.bounds[0::2] == (10.0, 11.0)


def test_no_elevation_is_no_open_ground():
    def hole(state):
        state = state.copy()
        state[25:28, 25:30] = NODATA
        return state

    assert ground.no_elevation(*with_raster("state", hole)).geometry.area.sum() == pytest.approx(15.0)


@pytest.mark.parametrize(("depth", "taken"), [(0.40, True), (0.52, True), (0.53, False), (np.nan, False)])
def test_a_water_table_above_the_beds_bottom_forbids(depth, taken):
    soils = [{"geometry": box(0, 24, 20, 40), "water_table_m": depth, "bedrock_m": 0.3}]
    block, context = make_block(soils=soils, **standard_lot())
    assert ground.bed_bottom_m(Rules()) == pytest.approx(0.525)
    assert (len(ground.water_table(block, context)) == 1) is taken
    assert len(ground.bedrock(block, context)) == 1


@pytest.mark.parametrize("reach", [1, 4, 12])
def test_cells_are_widened_by_whole_rows_and_columns(reach):
    cells = np.random.default_rng(5).random((23, 9)) > 0.97
    rows, columns = np.nonzero(cells)
    wanted = np.zeros_like(cells)
    for row, column in zip(rows, columns, strict=True):
        wanted[max(row - reach, 0) : row + reach + 1, max(column - reach, 0) : column + reach + 1] = True
    before = cells.copy()
    assert (ground._widened(cells, reach) == wanted).all()
    assert (cells == before).all()
    assert wanted.any()


@pytest.mark.parametrize(
    ("area", "cell"), [(1000.0, 1.0), (0.3, 0.1), (0.7, 0.1), (500.0, 0.37), (929.03, 0.3048**2), (0.0, 2.0)]
)
def test_the_fewest_cells_of_an_area_are_those_that_a_comparison_finds(area, cell):
    cells = np.arange(12_000)
    assert ground.least_cells(area, cell) == cells[cells * cell >= area][0]

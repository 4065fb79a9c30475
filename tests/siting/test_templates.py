import numpy as np
import pytest
import shapely

from screening.rules import Rules
from screening.siting.ellipse import ellipse_polygons
from screening.siting.templates import ASPECTS, DIRECTIONS, footprint_templates, nested_sizes_m2


@pytest.fixture(scope="module")
def templates():
    return footprint_templates(Rules(), 0.5, 0.5)


def test_sizes_run_from_the_least_to_the_most():
    sizes = nested_sizes_m2(3.0, 28.0)
    assert sizes[0] == 3.0
    assert sizes[-1] == 28.0
    assert 11.5 in sizes
    assert 12.0 in sizes
    assert 13.0 in sizes
    assert 12.5 not in sizes
    assert (np.diff(sizes) > 0).all()


def test_sizes_of_narrow_rules():
    assert nested_sizes_m2(4.2, 4.2).tolist() == [4.2]
    assert nested_sizes_m2(14.0, 15.5).tolist() == [14.0, 15.0, 15.5]


def test_each_size_lists_only_the_cells_new_to_it(templates):
    for shape in range(len(ASPECTS) * DIRECTIONS):
        cells = templates.cells[templates.first_cell[shape, 0] : templates.first_cell[shape, -1]]
        assert (np.diff(cells[:, 2]) >= 0).all()
        assert len(np.unique(cells[:, :2], axis=0)) == len(cells)
        assert cells[0, 2] == 0


@pytest.mark.parametrize("shape", [0, 5, 20, 37, 60])
def test_covered_cells_are_those_nearer_than_the_ring_less_a_quarter_cell(templates, shape):
    aspect, direction = ASPECTS[shape // DIRECTIONS], 180.0 / DIRECTIONS * (shape % DIRECTIONS)
    cells = templates.cells[templates.first_cell[shape, 0] : templates.first_cell[shape, -1]]
    for number in (0, 10, len(templates.sizes_m2) - 1):
        size = templates.sizes_m2[number]
        ellipse = ellipse_polygons([0.0], [0.0], [size], [aspect], [direction], vertices=720)[0]
        reach = np.arange(-templates.reach, templates.reach + 1)
        rows, columns = (part.ravel() for part in np.meshgrid(reach, reach, indexing="ij"))
        gap = shapely.distance(shapely.points(0.5 * columns, -0.5 * rows), ellipse) - (0.6 - 0.125)
        covered = {(row, column) for row, column, first in cells.tolist() if first <= number}
        inside = set(zip(rows[gap < -1e-3].tolist(), columns[gap < -1e-3].tolist(), strict=True))
        outside = set(zip(rows[gap > 1e-3].tolist(), columns[gap > 1e-3].tolist(), strict=True))
        assert inside <= covered
        assert not covered & outside


@pytest.mark.parametrize("cell_m", [0.5, 0.25, 0.3])
def test_sizes_grow_to_both_sides_of_the_middle_of_each_row(cell_m):
    templates = footprint_templates(Rules(), cell_m, cell_m)
    sizes = len(templates.sizes_m2)
    assert (np.diff(templates.reached.astype(int), axis=2) >= 0).all()
    assert (templates.reached[:, :, -1] == sizes).all()
    for shape in range(len(ASPECTS) * DIRECTIONS):
        cells = templates.cells[templates.first_cell[shape, 0] : templates.first_cell[shape, -1]]
        told = {(row, column): size for row, column, size in cells.tolist()}
        rows = range(templates.first_row[shape], templates.first_row[shape + 1])
        found = {}
        for row in rows:
            south, middle, from_here = templates.rows[row].tolist()
            assert from_here == templates.reached[row : rows.stop].min()
            for way, reached in zip((1, -1), templates.reached[row].tolist(), strict=True):
                found |= {(south, middle + way * k): size for k, size in enumerate(reached) if size < sizes}
        assert found == told


def test_where_each_size_begins(templates):
    for shape in (0, 17, 63):
        for size in (0, 1, 20, len(templates.sizes_m2) - 1):
            first, end = templates.first_cell[shape, size], templates.first_cell[shape, -1]
            assert (templates.cells[first:end, 2] >= size).all()
            assert first == templates.first_cell[shape, 0] or templates.cells[first - 1, 2] < size


def test_slim_shapes_start_where_they_are_wide_enough(templates):
    least = dict(zip(templates.aspects[:, 0].tolist(), templates.aspects[:, 1].tolist(), strict=True))
    assert least[2.0] == 3.0
    assert least[3.0] == pytest.approx(np.pi * 0.6**2 * 3.0)


def test_every_footprint_covers_the_core(templates):
    core = {tuple(cell) for cell in templates.core.tolist()}
    assert (0, 0) in core
    for shape in range(len(ASPECTS) * DIRECTIONS):
        cells = templates.cells[templates.first_cell[shape, 0] : templates.first_cell[shape, -1]]
        least = np.searchsorted(templates.sizes_m2, templates.aspects[shape // DIRECTIONS, 1])
        assert core <= {(row, column) for row, column, size in cells.tolist() if size <= least}

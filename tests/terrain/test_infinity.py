"""D-infinity against published shares, closed forms and what must always hold."""

import numpy as np
import pytest
from affine import Affine
from hypothesis import given, settings

from screening.grid import OUTLET, VALID, Grid
from screening.terrain import DInfinity, d_infinity, drain
from screening.terrain.kernels.infinity import facet_descent
from tests.terrain.strategies import grids


def grid_of(z: np.ndarray, cell: float = 1.0) -> Grid:
    return Grid.from_array(np.asarray(z, float), Affine(cell, 0, 0, 0, -cell, 0))


def test_published_shares_on_a_plane() -> None:
    # z = 2x + y: to the west 0.40966553, to the south-west 0.59033447, slope 2.2360680 (proportions printed in
    # landlab's documentation of Tarboton's method).
    y, x = np.mgrid[:7, :7]
    found = d_infinity(drain(grid_of(2.0 * x - 1.0 * y + 6)))
    towards = found.angle_rad[3, 3]
    assert towards == pytest.approx(np.pi + np.arctan(0.5), abs=1e-12)
    assert (towards - np.pi) / (np.pi / 4) == pytest.approx(0.59033447, abs=1e-8)
    assert found.slope[3, 3] == pytest.approx(2.2360680, abs=1e-7)


@pytest.mark.parametrize("compiled", [True, False])
def test_published_facet(compiled: bool) -> None:
    # Heights 31, 20 (cardinal), 10 (diagonal): diagonal share 0.93941531 (landlab's tests of the same method).
    function = facet_descent if compiled else facet_descent.py_func
    angle, slope = function(31.0, 20.0, 10.0, 1.0, 1.0)
    assert angle / (np.pi / 4) == pytest.approx(0.93941531, abs=1e-8)
    assert slope == pytest.approx(np.hypot(11, 10))
    assert function(5.0, 4.0, 6.0, 1.0, 1.0) == (0.0, 1.0)
    angle, slope = function(5.0, 4.0, 1.0, 1.0, 1.0)
    assert (angle, slope) == (np.pi / 4, pytest.approx(4 / np.sqrt(2)))


@pytest.mark.parametrize("degrees", [0, 20, 45, 100, 200, 300])
def test_direction_of_a_plane_is_exact(degrees: float) -> None:
    y, x = np.mgrid[:20, :20]
    a = np.radians(degrees)
    found = d_infinity(drain(grid_of(50 - x * np.cos(a) + y * np.sin(a))))
    turned = np.angle(np.exp(1j * (found.angle_rad[2:-2, 2:-2] - a)))
    np.testing.assert_allclose(turned, 0, atol=1e-9)
    np.testing.assert_allclose(found.slope[2:-2, 2:-2], 1)


def specific_area(found: DInfinity, cell: float) -> np.ndarray:
    """Area for a unit of width. Flow that leaves a row (or column) of cells sideways has the width of a cell on it."""
    width = np.maximum(np.abs(np.cos(found.angle_rad)), np.abs(np.sin(found.angle_rad)))
    return found.area_cells * cell / width


def cone_error(cells: int, outward: bool) -> float:
    """Root mean square relative error on a cone: a = r/2 outward, a = (R2 - r2) / 2r inward (Tarboton 1997)."""
    y, x = np.mgrid[:cells, :cells]
    cell = 100.0 / cells
    r = np.hypot(x - cells // 2, y - cells // 2) * cell
    grid = grid_of(np.where(r < 50, 200 - r if outward else 200 + r, np.nan), cell)
    if not outward:
        state = np.array(grid.state)
        state[cells // 2, cells // 2] = OUTLET
        grid = grid.with_state(state)
    area = specific_area(d_infinity(drain(grid)), cell)
    ring = (r > 15) & (r < 40)
    expected = r[ring] / 2 if outward else (50**2 - r[ring] ** 2) / (2 * r[ring])
    return float(np.sqrt(np.mean((area[ring] / expected - 1) ** 2)))


@pytest.mark.parametrize("outward", [True, False])
def test_area_of_a_cone_nears_the_closed_form_as_cells_shrink(outward: bool) -> None:
    # what is left is the method's own bias along the eight directions
    errors = [cone_error(cells, outward) for cells in (51, 101, 201)]
    assert errors[0] > errors[1] > errors[2]
    assert errors[2] < 0.12


def test_area_of_a_tilted_plane_nears_the_length_upslope_as_cells_shrink() -> None:
    errors = []
    for cells in (31, 61, 121):
        y, x = np.mgrid[:cells, :cells] * (60.0 / cells)
        found = d_infinity(drain(grid_of(200 - (x - y) * np.sqrt(0.5), 60.0 / cells)))
        length = np.minimum(x, 60 - y) * np.sqrt(2)
        inner = (x > 15) & (x < 50) & (y > 10) & (y < 45)
        errors.append(np.abs(specific_area(found, 60.0 / cells)[inner] / length[inner] - 1).mean())
    np.testing.assert_allclose(errors, [0.043, 0.021, 0.010], atol=0.002)


def test_area_of_a_plane_is_the_length_upslope() -> None:
    # falling due south: a = upslope length, exactly
    y, _ = np.mgrid[:30, :9]
    found = d_infinity(drain(grid_of(40.0 - y)))
    np.testing.assert_allclose(found.area_cells[1:-1, 4], np.arange(1, 29))


@settings(max_examples=25, deadline=None)
@given(grids(30))
def test_all_ground_arrives_at_the_outlets_and_never_uphill(grid: Grid) -> None:
    drainage = drain(grid)
    found = d_infinity(drainage)
    is_ground = (grid.state == VALID) | (grid.state == OUTLET)
    assert found.area_cells[drainage.direction == 0].sum() == is_ground.sum()
    assert (found.area_cells[is_ground] >= 1).all()
    assert (found.slope >= 0).all()
    running = (drainage.direction != 0) & (drainage.direction != 255)
    np.testing.assert_array_equal(np.isfinite(found.angle_rad), running)
    assert (found.angle_rad[running] >= 0).all()
    assert (found.angle_rad[running] <= 2 * np.pi).all()


def test_refuses_a_surface_that_does_not_belong_to_the_directions() -> None:
    z = np.zeros((3, 4))
    drainage = drain(grid_of(z))
    direction = drainage.direction.copy()
    direction[1, 1:3] = 1, 16
    wrong = type(drainage)(drainage.grid, drainage.filled, direction, drainage.accumulation)
    with pytest.raises(ValueError, match="circle"):
        d_infinity(wrong)

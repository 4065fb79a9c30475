"""Surfaces of known roofs, with 5 cm of noise, on cells of 0.5 and 1 m."""

import numpy as np
import pytest
import shapely
from affine import Affine
from shapely import Polygon, affinity, box

from screening.roofs.gables import gable_edges, roof_sides
from screening.roofs.measured import Surface, measure_falls, measure_kinds
from screening.roofs.planes import roof_planes
from tests.roofs.conftest import roof_table
from tests.roofs.made_up import footprints

HOUSE = box(4, 12, 18, 22)


def surface_of(shape, speed, cell_m=0.5, pitch=0.5, noise_m=0.05, feet=None):
    """Heights over flat ground of one roof with the planes that these speeds give."""
    feet = feet or footprints(shape)
    west, south, east, north = (round(v) for v in np.array(shape.bounds) + np.array([-5, -5, 5, 5]))
    x, y = np.meshgrid(np.arange(west, east, cell_m) + cell_m / 2, np.arange(north, south, -cell_m) - cell_m / 2)
    heights = np.random.default_rng(7).normal(0.0, noise_m, x.shape)
    planes, edges = roof_planes(feet, np.array(speed, float)).polygons()
    for plane, e in zip(planes, edges, strict=True):
        (ax, ay), (bx, by) = feet.xy_m[e], feet.xy_m[feet.ends[e]]
        length = np.hypot(bx - ax, by - ay)
        rise = ((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / length
        inside = shapely.contains_xy(plane, x, y)
        heights[inside] += 3.0 + pitch * rise[inside]
    return Surface(heights, Affine(cell_m, 0, west, 0, -cell_m, north))


def kinds_of(surface, *shapes):
    feet = footprints(*shapes)
    falls = measure_falls(surface, np.array(shapes))
    return measure_kinds(feet, roof_sides(feet), falls, surface, np.ones(len(shapes), dtype=bool))


def still_in(shape, middles):
    """Speeds of a roof whose edges with these middles stand still."""
    feet = footprints(shape)
    middle = 0.5 * (feet.xy_m + feet.xy_m[feet.ends])
    return np.array([0.0 if tuple(np.round(m, 3)) in middles else 1.0 for m in middle])


SHORT, LONG = {(4, 17), (18, 17)}, {(11, 12), (11, 22)}


@pytest.mark.parametrize("cell_m", [0.5, 1.0])
@pytest.mark.parametrize(
    ("kind", "walls"),
    [
        ("hip", set()),
        ("gable", SHORT),
        ("gable", LONG),
        ("one slope", SHORT | {(11, 22)}),
        ("one slope", LONG | {(4, 17)}),
    ],
)
def test_the_kind_of_a_house_is_read_off_its_surface(kind, walls, cell_m):
    speed = still_in(HOUSE, walls)
    names, gable = kinds_of(surface_of(HOUSE, speed, cell_m), HOUSE)
    assert list(names) == [kind]
    np.testing.assert_array_equal(gable, speed == 0)


@pytest.mark.parametrize("angle", [20.0, 65.0, 140.0])
def test_turned_gables(angle):
    turned = affinity.rotate(HOUSE, angle)
    feet = footprints(turned)
    speed = np.where(gable_edges(feet, roof_sides(feet)), 0.0, 1.0)
    names, gable = kinds_of(surface_of(turned, speed, 1.0), turned)
    assert list(names) == ["gable"]
    np.testing.assert_array_equal(gable, speed == 0)


def test_a_flat_roof():
    names, gable = kinds_of(surface_of(HOUSE, np.ones(4), pitch=0.02, noise_m=0.02), HOUSE)
    assert list(names) == ["flat"]
    assert not gable.any()


def test_an_l_of_hips_and_of_gables():
    shape = Polygon([(0, 0), (16, 0), (16, 8), (8, 8), (8, 16), (0, 16)])
    feet = footprints(shape)
    rule = gable_edges(feet, roof_sides(feet))
    assert rule.sum() == 2
    assert list(kinds_of(surface_of(shape, np.ones(6)), shape)[0]) == ["hip"]
    names, gable = kinds_of(surface_of(shape, np.where(rule, 0.0, 1.0)), shape)
    assert list(names) == ["gable"]
    np.testing.assert_array_equal(gable, rule)


def test_what_the_surface_does_not_tell():
    """A roof too small for its cells, one off the raster, and one under a tree."""
    surface = surface_of(HOUSE, np.ones(4))
    x = np.arange(surface.heights_m.shape[1])
    tree = Surface(
        np.broadcast_to(
            2.0 * np.sin(2.2 * x) + 2.0 * np.cos(1.7 * x[:, np.newaxis][: surface.heights_m.shape[0]]),
            surface.heights_m.shape,
        ),
        surface.transform,
    )
    assert list(kinds_of(surface, box(5, 13, 6.5, 14.5), box(500, 500, 510, 510))[0]) == [None, None]
    assert list(kinds_of(tree, HOUSE)[0]) == [None]


def test_holes_in_the_surface_do_not_count():
    surface = surface_of(HOUSE, np.ones(4))
    heights = np.array(surface.heights_m)
    heights[::2] = np.nan
    falls = measure_falls(Surface(heights, surface.transform), np.array([HOUSE]))
    assert falls.cells[0] == 0


def test_the_surface_speaks_where_the_roof_does_not(share):
    surface = surface_of(HOUSE, still_in(HOUSE, SHORT))
    silent = share(box(0, 0, 30, 40), roof_table(HOUSE), surface=surface)
    assert list(silent.pieces["roof_kind"]) == ["gable"]
    assert list(silent.pieces["method"]) == ["skeleton, roof kind measured"]
    np.testing.assert_allclose(silent.downspouts["share_m2"], 35)
    spoken = share(box(0, 0, 30, 40), roof_table(HOUSE, roof_kind=["hip"]), surface=surface)
    assert list(spoken.pieces["roof_kind"]) == ["hip"]
    assert list(spoken.pieces["method"]) == ["skeleton"]
    unseen = share(
        box(0, 0, 30, 40), roof_table(box(2, 2, 4, 8.5)), surface=surface, roof_kind="flat", outbuilding_most_m2=5
    )
    assert list(unseen.pieces["roof_kind"]) == ["flat"]
    assert list(unseen.pieces["method"]) == ["skeleton, the surface shows no kind"]
    assert list(share(box(0, 0, 30, 40), roof_table(HOUSE)).pieces["method"]) == ["skeleton"]


@pytest.mark.parametrize(("bent", "cells"), [(0.25, 104), (0.35, 0)])
def test_a_bend_is_measured_by_the_cells_own_size(bent, cells):
    """Cells of 1 x 2 m on ground bent from north to south: |n + s - 2 m| / 2 m, of which 0.3 is a plane still."""
    row = np.arange(20.0)[:, np.newaxis]
    surface = Surface(np.broadcast_to(bent * row**2, (20, 20)), Affine(1.0, 0, 0, 0, -2.0, 40))
    falls = measure_falls(surface, np.array([box(2, 10, 17, 30)]))
    assert falls.cells.tolist() == [104]
    assert falls.plane.tolist() == [cells]

import numpy as np
import shapely
from affine import Affine
from hypothesis import given
from hypothesis import strategies as st
from pyproj import CRS

from screening.streets.catchments import catchment_cells, catchments, no_catchments

UTM = CRS.from_epsg(32631)
METRE = Affine(1, 0, 500_000, 0, -1, 4_000_100)


def halves(rows=40, columns=60):
    """The west drains to the first inlet, the east to the third, a strip in the north to none."""
    labels = np.where(np.arange(columns) < columns // 2, 1, 3) * np.ones((rows, 1), dtype=int)
    labels[:10] = 0
    return labels.astype(np.int32)


def test_each_inlet_has_the_ground_that_drains_to_it():
    labels = halves()
    table = catchments(labels, np.zeros(labels.shape, dtype=bool), METRE, ["i1", "i2", "i3"], UTM)
    assert table["inlet_id"].tolist() == ["i1", "i3"]
    assert table["area_m2"].tolist() == [900.0, 900.0]
    assert sorted(table["shade"]) == [1, 2]
    west, east = table.geometry
    assert west.bounds == (500_000.0, 4_000_060.0, 500_030.0, 4_000_090.0)
    assert east.bounds == (500_030.0, 4_000_060.0, 500_060.0, 4_000_090.0)
    assert shapely.intersection(west, east).area == 0
    assert shapely.intersection(west, east).length == 30.0


def test_roofs_go_with_the_nearest_ground():
    labels = halves()
    walls = np.zeros(labels.shape, dtype=bool)
    walls[16:24, 18:26] = True  # a house in the west half
    walls[16:24, 28:32] = True  # one on the border
    labels[walls] = 0
    cells, squares = catchment_cells(labels, walls, METRE)
    assert squares.a == 2.0
    assert (cells == halves()[1::2, 1::2]).all()


def test_ground_that_meets_no_inlet_stays_out_of_it_even_beside_roofs():
    labels = halves()
    walls = np.zeros(labels.shape, dtype=bool)
    walls[2:6, 10:20] = True
    cells, _ = catchment_cells(labels, walls, METRE)
    assert (cells[:5] == 0).all()


def test_specks_go_to_what_lies_around_them_but_for_an_inlet_s_only_ground():
    labels = halves()
    labels[30:32, 10:12] = 3  # a speck of the third in the first's ground
    labels[20:22, 50:54] = 2  # all that the second has
    table = catchments(labels, np.zeros(labels.shape, dtype=bool), METRE, ["i1", "i2", "i3"], UTM)
    assert dict(zip(table["inlet_id"], table["area_m2"], strict=True)) == {"i1": 900.0, "i2": 8.0, "i3": 892.0}
    assert len(set(table["shade"])) >= 2
    assert table["shade"].iloc[1] != table["shade"].iloc[2]


def test_squares_are_told_by_a_cell_in_their_middle():
    cells = np.arange(1, 26, dtype=np.int32).reshape(5, 5)
    walls = np.zeros(cells.shape, dtype=bool)
    half_metre = Affine(0.5, 0, 100, 0, -0.5, 200)
    taken, squares = catchment_cells(cells, walls, half_metre)
    assert taken.tolist() == [[cells[2, 2]]]
    assert squares == Affine(2, 0, 100, 0, -2, 200)
    coarse = Affine(3, 0, 100, 0, -3, 200)
    same, unchanged = catchment_cells(cells, walls, coarse)
    assert unchanged == coarse
    assert same.shape == cells.shape


@given(st.integers(0, 2**32 - 1))
def test_outlines_fit_together_and_keep_about_their_area(seed):
    rng = np.random.default_rng(seed)
    x, y = np.meshgrid(np.arange(80), np.arange(70))
    centres = rng.uniform(0, 75, (6, 2))
    labels = 1 + np.argmin([np.hypot(x - a, y - b) for a, b in centres], axis=0).astype(np.int32)
    labels[y < 8] = 0
    walls = (rng.random(labels.shape) < 0.05) & (y > 16)  # too far from ground without an inlet to be nearest to it
    table = catchments(labels, walls, METRE, list("abcdef"), UTM)
    shapes = table.geometry.to_numpy()
    assert shapely.is_valid(shapes).all()
    assert shapely.coverage_is_valid(shapes)
    assert abs(table["area_m2"].sum() - 4 * np.count_nonzero(labels[1::2, 1::2])) < 6 * 25  # specks at most
    assert abs(shapely.area(shapes) - table["area_m2"]).max() <= 4 * np.sqrt(table["area_m2"].max())


def test_without_inlets_there_is_no_row():
    assert no_catchments(UTM).columns.tolist() == ["inlet_id", "area_m2", "shade", "geometry"]
    assert len(no_catchments(UTM)) == 0

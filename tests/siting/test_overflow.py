from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, box

from screening.siting import overflow as module
from screening.siting.kernels import overflow as kernels
from screening.siting.lot_cells import lot_numbers
from screening.siting.overflow import Stop, downstream, overflows, setback_labels, stop_labels
from screening.terrain.codes import linear_steps
from tests.siting.lots import make_block, standard_lot
from tests.siting.routing import follow


def overflow(x, y, **arguments):
    block, context = make_block(**arguments)
    found = overflows(block, np.array([x]), np.array([y]), context.rules)
    return found.to[0], found.threatens[0], found.path[0]


def test_a_front_garden_overflows_to_the_street():
    to, threatens, path = overflow(10.0, 5.5, plane=(0.0, 0.03), **standard_lot())
    assert (to, threatens) == ("street", "")
    assert path.coords[0] == (10.0, 5.5)
    assert path.coords[-1][1] < 1.0


def test_a_rear_garden_above_another_house_threatens_it():
    lot = standard_lot()
    lot["roofs"] = [*lot["roofs"], box(4, 43, 16, 53)]
    to, threatens, path = overflow(10.0, 28.0, plane=(0.0, -0.04), **lot)
    assert (to, threatens) == ("building r1", "r1")
    assert 41.0 < path.coords[-1][1] < 43.0


def test_a_garden_above_its_own_house_threatens_it():
    to, threatens, _ = overflow(10.0, 28.0, plane=(0.0, 0.04), **standard_lot())
    assert (to, threatens) == ("building r0", "r0")


def test_overflow_onto_a_neighbour_is_told_as_the_lot_line():
    lot = {**standard_lot(), "lots": [box(0, 0, 20, 40), box(0, 40, 20, 80)]}
    to, _, path = overflow(10.0, 28.0, plane=(0.0, -0.04), **lot)
    assert to == "lot line"
    assert path.coords[-1][1] == pytest.approx(40.5)


def test_overflow_to_an_inlet_and_to_water():
    pond = overflow(10.0, 28.0, plane=(0.0, -0.04), water=[box(-20, 36, 40, 39)], **standard_lot())
    inlet = overflow(10.5, 28.0, plane=(0.0, -0.04), inlets=[Point(10.5, 36.5)], **standard_lot())
    assert pond[0] == "water"
    assert inlet[0] == "inlet"


def test_without_streets_ground_in_no_lot_ends_the_way():
    lot = {key: value for key, value in standard_lot().items() if key != "streets"}
    block, _ = make_block(plane=(0.0, 0.03), **lot)
    stops = stop_labels(block.layers, block.transform, block.shape)
    assert set(np.unique(stops)) == {Stop.NONE, Stop.OFF_LOTS}
    assert overflow(10.0, 5.5, plane=(0.0, 0.03), **lot)[0] == "ground in no lot, taken for a street"


def test_a_way_that_met_the_street_enters_nothing_after_it():
    lot = standard_lot()
    lot["roofs"] = [*lot["roofs"], box(4, -19, 16, -10)]
    assert overflow(10.0, 5.5, plane=(0.0, 0.03), **lot)[:2] == ("street", "")


@pytest.mark.parametrize("seed", range(3))
def test_the_pass_over_all_cells_agrees_with_a_walk_from_each(seed):
    lot = {**standard_lot(), "inlets": [Point(0.5, 1.5)], "water": [LineString([(-20, 38), (40, 36)])]}
    block, context = make_block(plane=(0.005, 0.01), noise_m=0.1, seed=seed, **lot)
    place = (block.layers, block.transform, block.shape)
    labels = stop_labels(*place), setback_labels(*place, context.rules)
    reaches, enters = downstream(block.rasters["direction"], *labels)
    walked = follow(block.rasters["direction"], *labels)
    ground = block.rasters["state"] == 0
    assert (reaches[ground] == walked[0][ground]).all()
    assert (enters[ground] == walked[1][ground]).all()
    assert len(np.unique(reaches)) >= 3
    in_place = downstream(block.rasters["direction"], *labels, out=labels[1])
    assert (in_place[0] == reaches).all()
    assert (in_place[1] == enters).all()
    assert np.shares_memory(in_place[1], labels[1])


def test_the_street_ends_at_the_lots_but_its_line_does_not():
    block, _ = make_block(**standard_lot(lots=[box(0, -1, 20, 40), box(-30, -40, 50, -8)]))
    y = block.transform.f + block.transform.e * (np.arange(block.shape[0]) + 0.5)
    column = int((10.5 - block.transform.c) / block.transform.a)
    for lots in (None, lot_numbers(block)):
        stops = stop_labels(block.layers, block.transform, block.shape, lots)[:, column]
        assert y[stops == Stop.STREET].tolist() == [0.5, -0.5, -1.5, -2.5, -3.5, -4.5, -5.5, -6.5, -7.5]
        assert set(np.unique(stops)) == {Stop.NONE, Stop.STREET}


def test_a_building_beyond_the_block_still_counts():
    block, context = make_block(plane=(0.0, -0.04), **standard_lot())
    enters = np.full(block.shape, 8, dtype=np.int32)
    block = replace(block, rasters={**block.rasters, "enters": enters})
    found = overflows(block, np.array([10.0]), np.array([28.0]), context.rules)
    assert (found.to[0], found.threatens[0]) == ("building farther down", "farther down")


def test_the_deepest_cut_on_the_way_is_told():
    block, context = make_block(plane=(0.0, 0.03), **standard_lot())
    carved = np.zeros(block.shape)
    carved[-22, :] = 0.3
    block = replace(block, rasters={**block.rasters, "carved_m": carved})
    found = overflows(block, np.array([10.0, 10.0]), np.array([5.5, 0.5]), context.rules)
    assert found.carved_m.tolist() == [0.3, 0.0]


def test_compiled_and_plain_agree(monkeypatch):
    block, context = make_block(plane=(0.01, 0.01), noise_m=0.05, **standard_lot())
    x, y = np.meshgrid(np.linspace(1, 19, 7), np.linspace(1, 39, 9))
    fast = overflows(block, x.ravel(), y.ravel(), context.rules)
    monkeypatch.setattr(module, "trace_overflows", kernels.trace_overflows.py_func)
    plain = overflows(block, x.ravel(), y.ravel(), context.rules)
    assert fast.to.tolist() == plain.to.tolist()
    assert shapely.equals_exact(fast.path, plain.path).all()


@pytest.mark.parametrize("kernel", [kernels.first_met, kernels.first_met.py_func], ids=["compiled", "plain"])
def test_the_first_stop_and_the_setback_entered_before_it(kernel):
    """Cells in a row, water running east: setback, setback and stop, bare ground, a stop, bare ground, a setback."""
    direction = np.array([1, 1, 1, 1, 1, 0], dtype=np.uint8)
    stops = np.array([0, 2, 0, 3, 0, 0], dtype=np.int32)
    setbacks = np.array([7, 8, 0, 0, 0, 9], dtype=np.int32)
    reaches, enters = np.full(6, kernels.UNKNOWN, np.uint8), np.full(6, -1, np.int32)
    assert kernel(direction, stops, setbacks, linear_steps(6), reaches, enters, np.empty(6, np.int64))
    assert reaches.tolist() == [2, 2, 3, 3, 0, 0]
    assert enters.tolist() == [7, 0, 0, 0, 9, 9]


@pytest.mark.parametrize("kernel", [kernels.first_met, kernels.first_met.py_func], ids=["compiled", "plain"])
def test_directions_in_a_circle_are_refused(kernel):
    nothing, reaches = np.zeros(2, np.int32), np.full(2, kernels.UNKNOWN, np.uint8)
    circle = np.array([1, 16], dtype=np.uint8)
    assert not kernel(circle, nothing, nothing, linear_steps(2), reaches, np.empty(2, np.int32), np.empty(2, np.int64))
    with pytest.raises(ValueError, match="in a circle"):
        downstream(circle.reshape(1, 2), nothing.reshape(1, 2), nothing.reshape(1, 2))

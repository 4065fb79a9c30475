import numpy as np
import pytest
from affine import Affine
from pyproj import CRS

from screening.grid import Grid
from screening.inputs.findings import Findings
from screening.inputs.resolution import height_step, tell_resolution

RAMP = np.linspace(100.03, 103.97, 400).reshape(20, 20)


def grid(values, cell_m=1.0, unit_m=1.0):
    return Grid.from_array(
        np.asarray(values, dtype=np.float32),
        Affine(cell_m, 0, 500000, 0, -cell_m, 4000000),
        crs=CRS.from_epsg(32631),
        height_factor=unit_m,
    )


def told(heights):
    findings = Findings()
    tell_resolution(heights, "elevation", findings)
    return [fault.what for fault in findings.faults], [note.text for note in findings.notes]


@pytest.mark.parametrize("cell_m", [0.5, 1.0, 3.0])
def test_fine_cells_are_not_spoken_of(cell_m):
    assert told(grid(RAMP, cell_m)) == ([], [])


def test_cells_as_large_as_a_garden_are_told():
    faults, notes = told(grid(RAMP, 10.0))
    assert faults == []
    assert notes[0].startswith("Cells of 10 m are about as large as a garden")


def test_cells_larger_than_a_garden_are_refused():
    faults, notes = told(grid(RAMP, 30.0))
    assert faults == ["Cells of 30 m are larger than a garden: no place on a lot can be told by them"]
    assert notes == []


@pytest.mark.parametrize(
    ("values", "step"),
    [
        (np.round(RAMP), 1.0),
        (np.round(2 * RAMP) / 2, 0.5),
        (np.round(10 * RAMP) / 10, 0.0),
        (RAMP, 0.0),
        (np.full((4, 4), 7.0), 0.0),
        (np.full((4, 4), np.nan), 0.0),
        (np.where(RAMP > 102, np.round(RAMP), np.nan), 1.0),
    ],
    ids=["metres", "halves", "tenths", "decimals", "level", "nothing", "with holes"],
)
def test_steps_of_heights(values, step):
    assert height_step(grid(values)) == step


def test_rounded_heights_are_told_with_the_error_that_rounding_makes():
    """A value rounded to steps of s has an error of s / sqrt(12), that of a uniform distribution (any handbook)."""
    _, notes = told(grid(np.round(RAMP)))
    assert notes[0].startswith("Heights come in steps of 1 m")
    assert "elevation_error_m to 0.29 or more" in notes[0]
    _, notes = told(grid(np.round(RAMP), unit_m=0.3048))
    assert notes[0].startswith("Heights come in steps of 0.3 m")
    assert "elevation_error_m to 0.09 or more" in notes[0]

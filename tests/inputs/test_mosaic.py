from itertools import pairwise

import numpy as np
import pytest
from affine import Affine
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import CRS

from screening.inputs.findings import Findings
from screening.inputs.mosaic import mosaic, seam_step
from screening.inputs.raster_file import RasterFile
from tests.inputs.made_up import UTM


def tile(values, column=0, row=0, *, cell=2.0, crs=UTM, unit="", name="tile", at=(500_000.0, 6_300_000.0)):
    transform = Affine(cell, 0, at[0] + column * cell, 0, -cell, at[1] - row * cell)
    return RasterFile(name, np.asarray(values, dtype="float32"), transform, CRS(crs), unit, 1, (name,))


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.integers(1, 11), max_size=2, unique=True),
    st.lists(st.integers(1, 8), max_size=2, unique=True),
    st.permutations(range(9)),
)
def test_a_raster_cut_anyhow_comes_back(column_cuts, row_cuts, order):
    values = np.random.default_rng(1).normal(100, 1, (9, 12)).astype("float32")
    values[4, 5] = np.nan
    rows, columns = [0, *sorted(row_cuts), 9], [0, *sorted(column_cuts), 12]
    tiles = [
        tile(values[top:bottom, left:right], left, top, name=f"{top}-{left}")
        for top, bottom in pairwise(rows)
        for left, right in pairwise(columns)
    ]
    tiles = [tiles[at] for at in order if at < len(tiles)]
    findings = Findings()
    whole = mosaic(tiles, findings, layer="elevation")
    assert findings.faults == []
    np.testing.assert_array_equal(whole.values, values)
    assert whole.transform.almost_equals(tile(values).transform)


def test_gaps_stay_missing_and_the_first_tile_wins():
    findings = Findings()
    first = tile([[1, np.nan], [1, 1]])
    second = tile([[2, 2], [2, 2]], column=1)
    third = tile([[3]], column=4, row=1, name="third")
    whole = mosaic([first, second, third], findings, layer="elevation")
    np.testing.assert_array_equal(whole.values, [[1, 2, 2, np.nan, np.nan], [1, 1, 2, np.nan, 3]])
    assert whole.files == ("tile", "third")


@pytest.mark.parametrize(
    ("other", "said"),
    [
        (tile([[1, 1]], crs="EPSG:32607", name="odd"), "CRS is not that of"),
        (tile([[1, 1]], unit="ft", name="odd"), "The tile says 'ft'"),
        (tile([[1, 1]], cell=2.5, name="odd"), "not as large"),
        (tile([[1, 1]], at=(500_000.7, 6_300_000.0), name="odd"), "do not line up"),
    ],
)
def test_tiles_that_do_not_fit_are_told(other, said):
    findings = Findings()
    assert mosaic([tile([[1, 1]]), other], findings, layer="elevation") is None
    assert said in findings.faults[0].what
    assert findings.faults[0].file == "odd"


def test_a_step_along_a_seam_is_told():
    rng = np.random.default_rng(2)
    ground = 100 + 0.02 * np.arange(20) + rng.normal(0, 0.01, (30, 20))
    left, right = ground[:, :10], ground[:, 10:] + 0.6
    findings = Findings()
    mosaic([tile(left), tile(right, column=10)], findings, layer="elevation")
    assert "step by 0.6" in findings.notes[0].text
    assert "column 10" in findings.notes[0].text
    across, beside = seam_step(np.hstack([left, right]), 10)
    assert across == pytest.approx(0.62, abs=0.01)
    assert beside == pytest.approx(0.02, abs=0.01)
    smooth = Findings()
    mosaic([tile(left), tile(right - 0.6, column=10)], smooth, layer="elevation")
    assert smooth.notes == []
    turned = Findings()
    mosaic([tile(left.T), tile(right.T, row=10)], turned, layer="elevation")
    assert "row 10" in turned.notes[0].text

"""Which candidates may be a lot's second garden, and which one is."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from screening.rules import Rules
from screening.siting.choose import choose_second, may_be_second, reasons_of, severity_of
from screening.siting.spot_limits import RULES_OUT
from tests.outputs.varied_lots import varied_screening

TWO = Rules(gardens_most=2)


def bits(mask, count=8):
    return [number for number in range(count) if mask >> number & 1]


def test_other_downspouts_and_footprints_apart():
    """Berm rings of 0.6 m each: ponding ellipses 1.2 m apart or more; lot b's candidates are none of lot a's."""
    table = pd.DataFrame(
        {
            "lot_id": ["a", "b", "a", "a", "a"],
            "candidate": [0, 0, 1, 2, 3],
            "downspout_ids": ['["p"]', '["z"]', '["q"]', '["p", "r"]', '["s"]'],
        }
    )
    table["geometry"] = [shapely.box(x, 0, x + 2, 2) for x in (0.0, 50.0, 3.2, 20.0, 3.1)]
    table = gpd.GeoDataFrame(table, geometry="geometry")
    found = [bits(mask) for mask in may_be_second(table, TWO).tolist()]
    # 1 is 1.2 m from 0; 2 shares downspout p with 0; 3 is 1.1 m from 0 and over 1
    assert found == [[1], [], [0, 2], [1, 3], [2]]
    assert not may_be_second(table, Rules()).any()
    assert may_be_second(table.iloc[:0], TWO).shape == (0,)


@pytest.mark.parametrize("seed", [11, 12])
def test_the_second_is_among_those_that_may_be(seed):
    run = varied_screening(60, seed=seed, rules=TWO)
    table = run.tables["candidates"]
    may = may_be_second(table, TWO)
    chosen = table["chosen"].to_numpy(dtype=bool)
    second = choose_second(table, chosen, TWO)
    spot = dict(zip(table["lot_id"][chosen], may[chosen], strict=True))
    allowed = [bool(spot.get(lot, 0) >> n & 1) for lot, n in zip(table["lot_id"], table["candidate"], strict=True)]
    assert second.sum() > 20
    assert np.array(allowed)[second].all()
    # where none is chosen though some may be, all of these are ruled out
    both = set(table["lot_id"][second])
    idle = np.array(allowed) & ~table["lot_id"].isin(both).to_numpy()
    severity, _ = severity_of(reasons_of(table, TWO), len(table))
    assert (severity[idle] == RULES_OUT).all()

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.streets.curve import feasible_kept_m3, gardens_wanted, kept_curve, kept_curves


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(0, 50), min_size=1, max_size=30))
def test_best_first_is_above_every_order_and_all_end_alike(kept):
    curves = kept_curves(np.array(kept), orders=30)
    for curve in (curves.low, curves.middle, curves.high):
        assert (curve <= curves.best + 1e-9).all()
        assert curve[0] == 0.0
        assert curve[-1] == pytest.approx(sum(kept))
        assert (np.diff(curve) >= -1e-9).all()
    assert (curves.low <= curves.high + 1e-12).all()


def test_equal_gardens_leave_no_band_and_seeds_repeat():
    even = kept_curves(np.full(4, 2.0))
    assert even.best.tolist() == even.low.tolist() == even.high.tolist() == [0, 2, 4, 6, 8]
    uneven = np.array([9.0, 1.0, 1.0, np.nan])
    assert kept_curves(uneven, seed=3).middle.tolist() == kept_curves(uneven, seed=3).middle.tolist()
    assert kept_curves(uneven).best.tolist() == [0, 9, 10, 11, 11]


def test_median_of_the_first_garden_of_two_kinds():
    """Three of four gardens keep 1 m3: the first to come keeps 1 at the median and 5 at the 95th percentile."""
    curves = kept_curves(np.array([5.0, 1.0, 1.0, 1.0]), orders=1000)
    assert (curves.low[1], curves.middle[1], curves.high[1]) == (1.0, 1.0, 5.0)


def test_gardens_for_a_share():
    curves = kept_curves(np.array([4.0, 3.0, 2.0, 1.0]))
    assert [gardens_wanted(curves.best, share) for share in (0.0, 0.4, 0.41, 0.7, 1.0)] == [0, 1, 2, 2, 4]
    assert gardens_wanted(kept_curves(np.zeros(3)).best, 0.5) is None
    with pytest.raises(ValueError, match="between 0 and 1"):
        gardens_wanted(curves.best, 1.5)


def test_only_feasible_lots_count():
    lots = gpd.GeoDataFrame(
        {
            "verdict": ["approach", "ruled out", "look closer"],
            "storm_kept_m3": pd.array([1.0, 7.0, None], dtype="Float64"),
        }
    )
    assert feasible_kept_m3(lots)[0] == 1.0
    assert np.isnan(feasible_kept_m3(lots)[1])


def test_best_gardens_first():
    assert kept_curve(np.array([1.0, 4.0, 2.0])).tolist() == [0, 4, 6, 7]


def test_curves_at_some_numbers_of_gardens_are_those_of_all():
    kept = np.array([4.0, 0.5, 3.0, np.nan, 2.0, 1.0])
    whole, some = kept_curves(kept, seed=3), kept_curves(kept, seed=3, gardens=np.array([0, 2, 6]))
    for name in ("best", "low", "middle", "high"):
        assert getattr(some, name).tolist() == getattr(whole, name)[[0, 2, 6]].tolist()

import numpy as np
import pytest

from screening.ranking.lot_draws import lot_draws, lot_key, weight_draws


def test_numbers_hang_on_the_id_and_the_seed_alone():
    both, one = lot_draws(["b", "a"], 30, 7), lot_draws(["a"], 30, 7)
    for name in ("soil_kind", "soil_rate", "roof"):
        assert (getattr(both, name)[1] == getattr(one, name)[0]).all()
        assert (getattr(both, name)[0] != getattr(both, name)[1]).all()
        assert (getattr(lot_draws(["a"], 30, 8), name) != getattr(one, name)).all()
    assert lot_key("a") != lot_key("A")


def test_weights_scatter_about_the_given():
    """Dirichlet: mean w, variance w (1 - w) / (sum of parameters + 1)."""
    given = np.array([40, 20, 15, 10, 10, 5])
    drawn = weight_draws(given, 100.0, 4000, 1) / 10_000
    assert drawn.mean(axis=0) == pytest.approx(given / 100, abs=0.005)
    assert drawn[:, 0].std() == pytest.approx(np.sqrt(0.4 * 0.6 / 101), rel=0.05)
    assert (weight_draws(given, 0.0, 3, 1) == given).all()
    assert (weight_draws(np.array([0, 50]), 10.0, 5, 1)[:, 0] == 0).all()
    assert (weight_draws(np.zeros(2, dtype=np.int64), 10.0, 5, 1) == 0).all()

import numpy as np
import pytest

from screening.ranking.error_field import error_field
from screening.ranking.ground_draws import GroundFacts, each_least


def test_the_least_row_of_each_group():
    values = np.array([[3.0, 1.0], [2.0, 5.0], [9.0, 9.0], [4.0, 0.0], [4.0, 7.0], [1.0, 8.0]])
    assert each_least(values, np.array([0, 2, 3])).tolist() == [[2.0, 1.0], [9.0, 9.0], [1.0, 0.0]]
    assert each_least(values[:0], np.zeros(0, dtype=np.int64)).shape == (0, 2)


@pytest.mark.parametrize("rows", [slice(0, 2), slice(1, 2), slice(0, 1)])
def test_the_tightest_lead_decides_wherever_leads_start(rows):
    """Two candidates, the first with two leads, the second led to from where the first one's second lead starts."""
    field = error_field(10.0, 50, 1)
    start = np.array([[0.0, 0.0], [7.0, 1.0], [7.0, 1.0]])
    place, east = np.array([[3.0, 4.0], [9.0, 9.0]]), np.array([[1.0, 0.0], [1.0, 0.0]])
    margin, error = np.array([0.3, 0.2, 0.1]), np.array([0.1, 0.2, 0.3])
    facts = GroundFacts(start, margin, error, np.array([0, 2]), place, east, np.array([4.0, 0.1]), np.array([1.0, 1.0]))
    drawn, slope = facts.draws(field, rows)
    each = margin[:, None] + error[:, None] * field.differences(start, place[[0, 0, 1]])
    assert drawn == pytest.approx(np.array([each[:2].min(axis=0), each[2]])[rows], abs=1e-9)
    steep = np.array([[4.0], [0.1]]) + field.gradients(place, east)
    assert slope == pytest.approx(np.maximum(steep, 0.0)[rows], abs=1e-9)

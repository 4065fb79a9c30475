import numpy as np

from screening.soils.rate_classes import (
    CONDUCTIVITY_CLASSES,
    PERMEABILITY_CLASSES,
    conductivity_class,
    permeability_class,
)
from screening.units import IN_PER_H_MM_PER_H, UM_PER_S_MM_PER_H


def test_classes_of_conductivity():
    # NRCS custom soil report: very low < 0.01, low to 0.1, moderately low to 1, moderately high to 10, high to 100,
    # very high >= 100 um/s
    inside = [0.0, 0.05, 0.5, 5.0, 50.0, 500.0]
    assert conductivity_class(inside).tolist() == list(CONDUCTIVITY_CLASSES)
    assert conductivity_class([0.0099, 0.01, 0.1, 1.0, 10.0, 99.9, 100.0]).tolist() == [
        "very low", "low", "moderately low", "moderately high", "high", "high", "very high",
    ]  # fmt: skip
    assert conductivity_class([np.nan, 9.17]).tolist() == ["unknown", "moderately high"]


def test_older_classes_of_permeability():
    # EPA land treatment manual 1981, adapted: < 0.06, 0.06-0.2, 0.2-0.6, 0.6-2, 2-6, 6-20, > 20 in/h; a rate on a bound
    # to the faster class: from memory
    inside = [0.03, 0.1, 0.3, 1.0, 3.0, 10.0, 30.0]
    assert permeability_class(inside).tolist() == list(PERMEABILITY_CLASSES)
    assert permeability_class([0.06, 0.2, 0.6, 2.0, 6.0, 20.0, 20.01]).tolist() == [
        "slow", "moderately slow", "moderate", "moderately rapid", "rapid", "rapid", "very rapid",
    ]  # fmt: skip
    assert permeability_class(np.nan) == "unknown"


def test_one_rate_has_two_words():
    # an inch an hour is 7.06 um/s (computed): moderately high now, moderate then
    rate_um_s = 1.0 * IN_PER_H_MM_PER_H / UM_PER_S_MM_PER_H
    assert (conductivity_class(rate_um_s), permeability_class(1.0)) == ("moderately high", "moderate")

"""The scalars of the search as one record, always of one type: kernels are compiled once for it."""

from __future__ import annotations

import numpy as np

from screening.rules import Rules
from screening.siting.search_arrays import Place, search_limits
from screening.siting.templates import footprint_templates


def limits_of(north=0.0, *, overflow_reach_m=None, **changes):
    """Limits for cells of a metre from x = 0 and below ``north``, under changed rules."""
    rules = Rules(**changes)
    shapes = footprint_templates(rules, 0.5, 0.5)
    place = Place(0.0, north, 1.0, 1.0)
    record = search_limits(rules, place, shapes, closed_bits=np.uint32(1), look_bits=np.uint32(2))
    if overflow_reach_m is not None:
        record["overflow_reach"] = overflow_reach_m
    return record

"""``Field``: one column or layer, told once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["Dtype", "Field"]

Dtype = Literal["text", "integer", "number", "flag", "geometry"]


@dataclass(frozen=True)
class Field:
    """A column of a table or a raster layer.

    Parameters
    ----------
    name
        Its name, the unit at its end.
    dtype
        ``text``, ``integer``, ``number``, ``flag`` (yes, no or unknown) or ``geometry``.
    unit
        Its unit as people read it, empty when it has none.
    step
        The rounding step of a number in its unit; 0 leaves it as it is.
    stage
        The stage that makes it.
    meaning
        One sentence for ``columns.csv`` and the map.
    """

    name: str
    dtype: Dtype
    unit: str
    step: float
    stage: str
    meaning: str

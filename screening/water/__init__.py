"""Water: how large a garden must be, how fast it empties, and what it keeps out of the drain."""

from __future__ import annotations

from screening.water.stage import lot_water
from screening.water.storm import storm

__all__ = ["lot_water", "storm"]

"""Soils: what a survey says of the ground, by lot and at a place, and how sure it is."""

from __future__ import annotations

from screening.soils.at_points import soil_at_points
from screening.soils.by_lot import lot_groups
from screening.soils.map_units import from_groups
from screening.soils.stage import assess, candidate_soils

__all__ = ["assess", "candidate_soils", "from_groups", "lot_groups", "soil_at_points"]

"""Every kind of thing that takes ground from a lot: its name, its effect, and where it stands.

Adding one is one function of the same shape, one line here and one test. Setbacks run from the eave, or the thing's
edge, to the outer edge of the berm ring; local code and the programme's own terms override the rules.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import geopandas as gpd

from screening.area import AreaContext, Block
from screening.siting import setback_buildings as buildings
from screening.siting import setback_ground as ground
from screening.siting import setback_layers as layers
from screening.siting import setback_lines as lines

__all__ = ["LOOK_CLOSER", "NO_DIGGING", "SETBACKS", "Setback"]

NO_DIGGING: Final = "no digging"
LOOK_CLOSER: Final = "look closer"


@dataclass(frozen=True)
class Setback:
    """One kind of constraint.

    Parameters
    ----------
    name
        What it is, in people's words.
    effect
        ``no digging``, or ``look closer``.
    rows
        Where it stands on a block: columns ``lot`` (position of the one lot that it holds for, -1 for any lot),
        ``clearance_m``, ``detail`` and geometry.
    """

    name: str
    effect: str
    rows: Callable[[Block, AreaContext], gpd.GeoDataFrame]


SETBACKS: Final[tuple[Setback, ...]] = (
    Setback("house", NO_DIGGING, buildings.houses),
    Setback("house with basement, downhill", NO_DIGGING, buildings.basements),
    Setback("garage", NO_DIGGING, buildings.garages),
    Setback("shed", NO_DIGGING, buildings.sheds),
    Setback("side or rear line", NO_DIGGING, lines.side_lines),
    Setback("street line", NO_DIGGING, lines.street_lines),
    Setback("narrow part of the lot", NO_DIGGING, lines.narrow_parts),
    Setback("paving", NO_DIGGING, layers.paving),
    Setback("tree, trunk known", NO_DIGGING, layers.trunks),
    Setback("tree, crown only", LOOK_CLOSER, layers.crowns),
    Setback("buried main", NO_DIGGING, layers.mains),
    Setback("buried service line", NO_DIGGING, layers.services),
    Setback("storm inlet", NO_DIGGING, layers.inlets),
    Setback("well", NO_DIGGING, layers.wells),
    Setback("septic field", NO_DIGGING, layers.septic_any),
    Setback("septic field, downhill", NO_DIGGING, layers.septic_uphill),
    Setback("water", NO_DIGGING, layers.water),
    Setback("easement", NO_DIGGING, layers.easements),
    Setback("retaining wall", NO_DIGGING, layers.retaining_walls),
    Setback("pool", NO_DIGGING, layers.pools),
    Setback("ground to avoid", NO_DIGGING, layers.avoid),
    Setback("ground to look at", LOOK_CLOSER, layers.avoid_look),
    Setback("steep ground", NO_DIGGING, ground.steep_ground),
    Setback("hollow that stands wet", NO_DIGGING, ground.wet_hollows),
    Setback("concentrated flow", NO_DIGGING, ground.concentrated_flow),
    Setback("water table", NO_DIGGING, ground.water_table),
    Setback("bedrock", NO_DIGGING, ground.bedrock),
    Setback("no elevation", NO_DIGGING, ground.no_elevation),
)
"""The constraints in order of their bits; ``open_ground`` adds ``another lot`` as the last."""

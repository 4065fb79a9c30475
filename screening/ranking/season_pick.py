"""The season's pick on the lots table: whom to visit for the most water, under what the programme asks for.

Value of a lot = chance that a garden can be built x water that it keeps out of the drain in a mean year (in the storm
where there is no rain record), in litres, as a whole number.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from screening.errors import BadInput, Fault
from screening.ranking.pick import GroupLimit, Pick, pick
from screening.rules import Rules

__all__ = ["Asked", "Funnel", "SeasonPick", "funnel", "lot_values_l", "season_pick", "shares_by_zone", "visit_order"]

NO_NAME: Final = "(unknown)"

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Asked:
    """What the programme asks of a pick.

    Parameters
    ----------
    visits
        Lots to visit; the rules' own where neither it nor a budget is given.
    budget, cost
        Money for the season, and what a garden costs.
    street_cap, zone_cap
        Most lots of any one street or zone.
    zone_floors, street_floors
        Least lots of zones and streets, by name.
    inside, outside
        Lots that must be in, and lots that must not.
    """

    visits: int | None = None
    budget: float | None = None
    cost: float | None = None
    street_cap: int | None = None
    zone_cap: int | None = None
    zone_floors: Mapping[str, int] = field(default_factory=dict)
    street_floors: Mapping[str, int] = field(default_factory=dict)
    inside: Sequence[str] = ()
    outside: Sequence[str] = ()


@dataclass(frozen=True)
class Funnel:
    """A season from households approached to gardens built, in whole lots."""

    approached: int
    answered: int
    built: int


@dataclass(frozen=True, eq=False)
class SeasonPick:
    """The pick.

    Parameters
    ----------
    lots
        Rows of the lots table, in visit order, with ``value_l``.
    pick
        Value, bound and proof.
    by
        ``year`` or ``storm``: the water that the value counts.
    """

    lots: Any
    pick: Pick
    by: str


def season_pick(lots: Any, rules: Rules, asked: Asked | None = None, *, seconds: float = 8.0) -> SeasonPick:
    """Pick the lots to visit.

    Parameters
    ----------
    lots
        The lots table, ranked and with chances.
    rules
        ``visits``, where nothing else is asked.
    asked
        What the programme asks.
    seconds
        Time for the exact solver.

    Raises
    ------
    BadInput
        When lots, streets or zones asked for are not there, or when no pick keeps every limit.
    """
    asked = asked or Asked()
    _check(lots, asked)
    value, by = lot_values_l(lots)
    must = lots["lot_id"].isin(list(asked.inside)).to_numpy(dtype=bool)
    never = lots["lot_id"].isin(list(asked.outside)).to_numpy(dtype=bool)
    listed = lots["rank"].notna().to_numpy(dtype=bool) & (value > 0)
    cost, budget = _cost(len(lots), asked, rules)
    found = pick(
        value, cost, budget, groups=_groups(lots, asked), must=must, never=never | ~(listed | must), seconds=seconds
    )
    chosen = lots[found.chosen].assign(value_l=value[found.chosen])
    return SeasonPick(visit_order(chosen), found, by)


def lot_values_l(lots: Any) -> tuple[NDArray[np.int64], str]:
    """Expected water kept of each lot, whole litres, and whether of a mean year or of the storm."""
    by = "year" if lots["year_kept_m3"].notna().any() else "storm"
    water = np.nan_to_num(_numbers(lots[f"{by}_kept_m3"]))
    chance = np.nan_to_num(_numbers(lots["chance_feasible"]))
    return np.floor(1000.0 * chance * water + 0.5).astype(np.int64), by


def visit_order(lots: Any) -> Any:
    """Lots by street, the street of most value first, on a street in the order of the addresses, else of the ids."""
    street = _names(lots["street"])
    total = lots["value_l"].groupby(street.to_numpy()).sum()
    best_first = {name: -int(total[name]) for name in total.index}
    house = lots["address"].str.extract(r"^\s*(\d+)", expand=False)
    keys = pd.DataFrame(
        {
            "street_value": street.map(best_first).to_numpy(),
            "street": street.to_numpy(),
            "house": pd.to_numeric(house).astype("Float64").fillna(np.inf).to_numpy(dtype=np.float64),
            "lot_id": lots["lot_id"].to_numpy(),
        }
    ).sort_values(["street_value", "street", "house", "lot_id"], kind="stable")
    return lots.iloc[keys.index.to_numpy()].reset_index(drop=True)


def shares_by_zone(picked: Any, lots: Any) -> pd.DataFrame:
    """The list's share by zone beside the households' share: ``zone, picked, picked_share, lots, lots_share``."""
    of_list, of_all = _names(picked["zone"]).value_counts(), _names(lots["zone"]).value_counts()
    zones = sorted(of_all.index)
    some = of_list.reindex(zones).fillna(0).astype(int)
    every = of_all.reindex(zones).astype(int)
    return pd.DataFrame(
        {
            "zone": zones,
            "picked": some.to_numpy(),
            "picked_share": some.to_numpy() / max(len(picked), 1),
            "lots": every.to_numpy(),
            "lots_share": every.to_numpy() / max(len(lots), 1),
        }
    )


def funnel(rules: Rules, *, visits: int | None = None, built: int | None = None) -> Funnel:
    """Season from approached to built, by ``answer_share`` and ``built_share``.

    Parameters
    ----------
    rules
        The shares.
    visits
        Households that answer and are visited.
    built
        Or gardens wanted; then the visits and the households to approach for them, rounded up.

    Raises
    ------
    ValueError
        When neither or both are given.
    BadInput
        When a share of 0 lets no household come so far.
    """
    if (visits is None) == (built is None):
        raise ValueError("give either visits or built")
    if rules.answer_share <= 0 or (built is not None and rules.built_share <= 0):
        raise BadInput([Fault("A share of 0 never ends in a garden", "Raise answer_share and built_share")])
    if built is not None:
        visits = int(np.ceil(built / rules.built_share - 1e-9))
    else:
        built = int(np.floor((visits or 0) * rules.built_share + 0.5))
    return Funnel(int(np.ceil((visits or 0) / rules.answer_share - 1e-9)), visits or 0, built)


def _cost(count: int, asked: Asked, rules: Rules) -> tuple[Floats, float]:
    """Cost of each lot and what all may cost: visits count one each."""
    if asked.budget is None:
        return np.ones(count), float(rules.visits if asked.visits is None else asked.visits)
    cost = asked.cost or 0.0
    if asked.visits is not None:
        return np.ones(count), float(min(asked.visits, int(asked.budget // cost)))
    return np.full(count, cost), asked.budget


def _groups(lots: Any, asked: Asked) -> list[GroupLimit]:
    """Caps and floors as limits on groups of lots."""
    limits = (("street", asked.street_cap, asked.street_floors), ("zone", asked.zone_cap, asked.zone_floors))
    groups = []
    for column, most, floors in limits:
        if most is None and not floors:
            continue
        names = _names(lots[column]).to_numpy(dtype=object)
        for name in sorted(set(names)):
            least = floors.get(name, 0)
            cap = most if name != NO_NAME else None
            if least or cap is not None:
                groups.append(GroupLimit(f"{column} {name}", np.flatnonzero(names == name), least, cap))
    return groups


def _check(lots: Any, asked: Asked) -> None:
    """Everything asked for must be there."""
    faults = []
    known = set(lots["lot_id"])
    for lot in [*asked.inside, *asked.outside]:
        if lot not in known:
            faults.append(Fault(f"No lot {lot}", "Give an id of the lots table"))
    for column, floors in (("zone", asked.zone_floors), ("street", asked.street_floors)):
        names = set(_names(lots[column]))
        faults += [
            Fault(f"No {column} {name}", f"Use one of the {column}s of the lots")
            for name in floors
            if name not in names
        ]
    if asked.budget is not None and (asked.cost is None or asked.cost <= 0):
        faults.append(Fault("A budget needs what a garden costs", "Give a cost above 0"))
    if faults:
        raise BadInput(faults)


def _names(column: Any) -> Any:
    return column.astype(object).where(column.notna() & (column != ""), NO_NAME)


def _numbers(column: Any) -> Floats:
    numbers: Floats = column.astype("Float64").to_numpy(dtype=np.float64, na_value=np.nan)
    return numbers

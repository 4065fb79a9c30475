"""Everything that the sheets need, gathered once for all of them: rows by lot, bills, and what lies around."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any, Final

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from screening.lot_rules import rule_sets
from screening.result import Screening
from screening.water.materials import bill_of_materials

__all__ = ["LotSheet", "Surroundings", "gather", "records"]

_TABLES: Final = ("roof_pieces", "roof_shares", "downspouts", "candidates", "leads", "overflow_paths", "reasons")
_PIPED: Final = frozenset({"shallow", "buried"})
_OPEN: Final = frozenset({"surface"})
_BILL_NEEDS: Final = ("ponding_area_m2", "footprint_m2", "lip_m", "ground_m", "berm_m", "cut_m")

Row = SimpleNamespace


@dataclass(frozen=True)
class LotSheet:
    """One lot's rows.

    Parameters
    ----------
    lot
        Its row of the lots table.
    rows
        Its rows of the other tables, by table.
    spot
        The candidate chosen, None when there is none.
    bill
        Quantities of the garden at the spot (``BILL_COLUMNS``), empty when they are not known.
    """

    lot: Row
    rows: Mapping[str, list[Row]]
    spot: Row | None
    bill: Mapping[str, float]

    @property
    def spot_leads(self) -> list[Row]:
        """Leads to the spot."""
        return self._of_spot("leads")

    @property
    def spot_overflow(self) -> list[Row]:
        """Ways of the spot's overflow."""
        return self._of_spot("overflow_paths")

    def _of_spot(self, table: str) -> list[Row]:
        return [row for row in self.rows[table] if self.spot is not None and row.candidate == self.spot.candidate]


class Surroundings:
    """Shapes of the whole area, found by box.

    Parameters
    ----------
    shapes
        Geometries by layer; missing ones are left out.
    """

    def __init__(self, shapes: Mapping[str, Iterable[Any]]) -> None:
        self._shapes = {name: [shape for shape in given if shape is not None] for name, given in shapes.items()}
        self._trees = {name: shapely.STRtree(given) for name, given in self._shapes.items()}

    def within(self, name: str, bounds_m: tuple[float, float, float, float]) -> list[Any]:
        """Shapes of a layer whose box meets a box [m], in order; none when there is no such layer."""
        if name not in self._trees:
            return []
        return [self._shapes[name][at] for at in sorted(self._trees[name].query(shapely.box(*bounds_m)))]


def records(table: Any) -> list[Row]:
    """Rows of a table with plain values, None where missing."""
    columns = {
        str(name): table[name].astype(object).where(table[name].notna(), None).tolist() for name in table.columns
    }
    return [Row(**dict(zip(columns, values, strict=True))) for values in zip(*columns.values(), strict=True)]


def _bills(spots: Mapping[str, Row], leads: Mapping[str, list[Row]], result: Screening) -> dict[str, dict[str, float]]:
    """Quantities by lot, for the spots whose levels are known; ``leads`` are each lot's, of all its candidates."""
    known = {lot: spot for lot, spot in spots.items() if all(getattr(spot, name) is not None for name in _BILL_NEEDS)}
    if not known:
        return {}

    def column(name: str) -> NDArray[np.float64]:
        return np.array([getattr(spot, name) for spot in known.values()], dtype=np.float64)

    size, foot, berm, cut = (column(name) for name in ("ponding_area_m2", "footprint_m2", "berm_m", "cut_m"))
    over = column("lip_m") - column("ground_m")
    pipe, swale = (np.array([_led_m(spot, leads[lot], how) for lot, spot in known.items()]) for how in (_PIPED, _OPEN))
    lots, found = list(known), {}
    for at, rules in rule_sets(lots, result.rules, result.own_rules):
        bills = bill_of_materials(size[at], foot[at], over[at], berm[at], cut[at], pipe[at], swale[at], rules)
        for row, bill in zip(at.tolist(), bills.to_dict("records"), strict=True):
            found[lots[row]] = {str(k): float(v) for k, v in bill.items()}
    return {lot: found[lot] for lot in lots}


def _led_m(spot: Row, leads: list[Row], how: frozenset[str]) -> float:
    """Length of a spot's leads that are made in one of some ways [m]."""
    return float(sum(row.run_m or 0.0 for row in leads if row.candidate == spot.candidate and row.lead in how))


def gather(result: Screening, lot_ids: Sequence[str]) -> tuple[list[LotSheet], Surroundings]:
    """Rows of each lot, in the order given, and what lies around them."""
    tables = result.tables
    lots = {
        str(row.lot_id): row for row in records(pd.DataFrame(tables["lots"][tables["lots"]["lot_id"].isin(lot_ids)]))
    }
    rows: dict[str, dict[str, list[Row]]] = {lot: {name: [] for name in _TABLES} for lot in lots}
    for name in _TABLES:
        table = tables[name]
        for row in records(pd.DataFrame(table[table["lot_id"].isin(lot_ids)])):
            rows[str(row.lot_id)][name].append(row)
    spots = {lot: row for lot, own in rows.items() for row in own["candidates"] if row.chosen}
    bills = _bills(spots, {lot: own["leads"] for lot, own in rows.items()}, result)
    around = {name: tables[name].geometry for name in ("lots", "roof_pieces")}
    around |= {name: result.layers[name].geometry for name in ("paved", "inlets") if name in result.layers}
    return [LotSheet(lots[lot], rows[lot], spots.get(lot), bills.get(lot, {})) for lot in lot_ids], Surroundings(around)

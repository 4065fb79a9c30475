"""Soil groups of each lot by their share of its open ground, from a labelled pass over mask cells."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import pandas as pd
from affine import Affine
from numpy.typing import NDArray

from screening.area import SoilMap
from screening.fields import TABLES, conform
from screening.soils.groups import LABELS, UNKNOWN
from screening.soils.kernels.tally import tally_soils
from screening.sources import rasterized

__all__ = ["lot_groups", "soil_lots", "unit_cells"]

_SOURCES = ("survey", "derived", "none")


def unit_cells(soil_map: SoilMap | None, transform: Affine, shape: tuple[int, int]) -> NDArray[np.int32]:
    """Position in ``soil_map.units`` of the unit at each cell's centre, -1 where none is mapped.

    Where polygons overlap, the first of the map counts.
    """
    cells = np.full(shape, -1, dtype=np.int32)
    if soil_map is None or soil_map.polygons.empty:
        return cells
    codes = soil_map.units.index.get_indexer(soil_map.polygons["unit"])
    shapes = [(geometry, int(code)) for geometry, code in zip(soil_map.polygons.geometry, codes, strict=True)]
    rasterized(shapes[::-1], out=cells, transform=transform)
    return cells


def soil_lots(
    lot: NDArray[np.int32],
    open_ground: NDArray[np.bool_],
    roofs: NDArray[np.bool_] | Callable[[NDArray[np.int64]], NDArray[np.bool_]],
    unit: NDArray[np.int32],
    lot_ids: Sequence[str],
    units: pd.DataFrame | None,
    cell_area_m2: float,
) -> pd.DataFrame:
    """Share of each group on each lot's open ground, or on the lot without roofs when it has no open ground.

    Parameters
    ----------
    lot
        Position of the lot in ``lot_ids`` at each mask cell, -1 where there is none.
    open_ground
        Whether digging is allowed in the cell.
    roofs
        Whether a roof covers the cell; or what tells it for the lots at given positions, asked only where it matters.
    unit
        Position of the map unit in ``units``, -1 where none is mapped.
    lot_ids
        Lot ids by position.
    units
        As ``SoilMap.units``; None when there is no map.
    cell_area_m2
        Area of a mask cell. [m2]

    Returns
    -------
    pandas.DataFrame
        The table ``soil_lots``: by lot, the largest share first, of equal shares the group that takes less water
        first. Labels stay as mapped, dual groups too. A lot without a single cell of ground is unknown.
    """
    cells = _cells(lot, open_ground, roofs, unit, len(lot_ids), units)
    by_label = cells.sum(axis=2)
    empty = by_label.sum(axis=1) == 0
    share = by_label / np.where(empty, 1, by_label.sum(axis=1))[:, None]
    share[empty, LABELS.index(UNKNOWN)] = 1.0
    where_lot, where_label = np.nonzero(share)
    source = np.where(empty[where_lot], _SOURCES.index("none"), cells.argmax(axis=2)[where_lot, where_label])
    order = np.lexsort((-where_label, -share[where_lot, where_label], where_lot))
    where_lot, where_label, source = where_lot[order], where_label[order], source[order]
    table = pd.DataFrame(
        {
            "lot_id": np.asarray(lot_ids, dtype=object)[where_lot],
            "hsg": np.asarray(LABELS, dtype=object)[where_label],
            "share": share[where_lot, where_label],
            "area_m2": by_label[where_lot, where_label] * cell_area_m2,
            "source": np.asarray(_SOURCES, dtype=object)[source],
        }
    )
    conformed: pd.DataFrame = conform(table, TABLES["soil_lots"])
    return conformed


def _cells(
    lot: NDArray[np.int32],
    open_ground: NDArray[np.bool_],
    roofs: NDArray[np.bool_] | Callable[[NDArray[np.int64]], NDArray[np.bool_]],
    unit: NDArray[np.int32],
    lots: int,
    units: pd.DataFrame | None,
) -> NDArray[np.int64]:
    """Cells of each lot by label and source: of its open ground, or off the roofs where there is none."""
    label_of, source_of = _unit_numbers(units)
    kind = label_of * len(_SOURCES) + source_of
    counts = np.zeros((lots, len(LABELS) * len(_SOURCES)), dtype=np.int64)
    tally_soils(lot, open_ground, unit, kind, np.ones(lots, dtype=np.bool_), counts)
    closed = counts.sum(axis=1) == 0
    if closed.any():
        covered = roofs(np.flatnonzero(closed)) if callable(roofs) else roofs
        tally_soils(lot, ~covered, unit, kind, closed, counts)
    return counts.reshape(lots, len(LABELS), len(_SOURCES))


def _unit_numbers(units: pd.DataFrame | None) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Number of the label and of the source of each unit; the last entry, which -1 reads, is unmapped ground."""
    labels = [] if units is None else list(units["hsg"])
    sources = [] if units is None else list(units["source"])
    label_of = np.array([LABELS.index(label) for label in [*labels, UNKNOWN]], dtype=np.int64)
    source_of = np.array([_SOURCES.index(source) for source in [*sources, "none"]], dtype=np.int64)
    return label_of, source_of


def lot_groups(table: pd.DataFrame) -> pd.DataFrame:
    """The one group of each lot: its largest share, from a table ``soil_lots``.

    Returns
    -------
    pandas.DataFrame
        Columns ``lot_id``, ``hsg``, ``hsg_share``, ``hsg_source``, one row a lot in the table's order.
    """
    first = table.drop_duplicates("lot_id", keep="first")
    names = {"share": "hsg_share", "source": "hsg_source"}
    return first[["lot_id", "hsg", "share", "source"]].rename(columns=names).reset_index(drop=True)

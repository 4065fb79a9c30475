"""Which street a lot fronts or reaches, and which side of its house a place lies on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from screening.area import Block
from screening.siting.lot_lines import lot_lines

__all__ = ["REACH_M", "Frontage", "frontage"]

REACH_M: Final = 40.0
"""A lot with no street line reaches a street no farther than this, over ground in no other lot."""

_LEAST_FRONT_M: Final = 3.0


@dataclass(frozen=True, eq=False)
class Frontage:
    """Fronts of the block's lots.

    Parameters
    ----------
    street
        Name of the street of each lot, as given or the one it fronts; None when unknown.
    lot
        Position of the lot of each front, int64, in order: one for each street that the lot fronts, its own street
        first.
    line
        Front lines: the edges that face that street, or the way to it.
    way_x, way_y
        Unit vector from the lot's house towards the front.
    near_m, far_m
        Least and most of the house along that vector. [m]
    """

    street: NDArray[Any]
    lot: NDArray[np.int64]
    line: NDArray[Any]
    way_x: NDArray[np.float64]
    way_y: NDArray[np.float64]
    near_m: NDArray[np.float64]
    far_m: NDArray[np.float64]

    def side(self, lot: NDArray[np.int64], x_m: NDArray[np.float64], y_m: NDArray[np.float64]) -> NDArray[Any]:
        """Side of the house that places lie on: ``front``, ``side`` or ``back``; None without a house or a front.

        A place beyond the house towards any street that the lot fronts is in front; else the lot's own street tells.

        Parameters
        ----------
        lot
            Positions of the lots.
        x_m, y_m
            The places. [m]
        """
        first = np.searchsorted(self.lot, lot)
        count = np.searchsorted(self.lot, lot, side="right") - first
        place = np.repeat(np.arange(len(lot)), count)
        begins = np.concatenate([[0], np.cumsum(count)])
        front = np.repeat(first - begins[:-1], count) + np.arange(begins[-1])
        along = self.way_x[front] * np.asarray(x_m)[place] + self.way_y[front] * np.asarray(y_m)[place]
        # 3 front, 2 side, 1 back, 0 unknown
        code = np.where(along > self.far_m[front], 3, np.where(along < self.near_m[front], 1, 2))
        code[np.isnan(self.far_m[front])] = 0
        found = np.zeros(len(lot), dtype=np.int64)
        found[count > 0] = code[begins[:-1][count > 0]]
        found[place[code == 3]] = 3
        names: NDArray[Any] = np.array([None, "back", "side", "front"], dtype=object)[found]
        return names


def frontage(block: Block) -> Frontage:
    """Find the fronts of the block's lots.

    The street of a lot that does not say is the one that its street lines face; of two, the one with the shorter
    front, as zoning reads a corner lot. A lot without a street line has the nearest street that it reaches over
    ground in no other lot.
    """
    street, fronts = block.once(frontage, lambda: _fronts(block))
    return Frontage(street, *_towards(block, fronts))


def _fronts(block: Block) -> tuple[NDArray[Any], pd.DataFrame]:
    """Street of each lot, and the fronts of all, each lot's own street first."""
    faced = _faced(block)
    missing = np.setdiff1d(np.arange(len(block.lots)), faced["lot"].unique())
    fronts = pd.concat([faced, _reached(block, missing)], ignore_index=True)
    given = block.lots["street"].astype("object").to_numpy()
    fronts["named"] = [_same(street, given[lot]) for street, lot in zip(fronts["street"], fronts["lot"], strict=True)]
    fronts = fronts.sort_values(
        ["lot", "named", "length_m", "street"], ascending=[True, False, True, True], kind="stable", ignore_index=True
    )
    best = fronts.drop_duplicates("lot").set_index("lot")["street"].reindex(np.arange(len(block.lots)))
    named = pd.Series(given).where(pd.Series(given).notna(), best.to_numpy())
    return named.astype("object").where(named.notna(), None).to_numpy(), fronts


def _same(street: Any, given: Any) -> bool:
    return isinstance(street, str) and isinstance(given, str) and street.casefold() == given.casefold()


def _faced(block: Block) -> pd.DataFrame:
    """Streets that lots face with their own street lines: ``lot``, ``street``, ``length_m``, ``line``."""
    lines = lot_lines(block)
    faces = lines.street >= 0
    start, end, lot = lines.start[faces], lines.end[faces], lines.lot[faces]
    if not len(lot):
        return pd.DataFrame({"lot": np.array([], dtype=np.int64), "street": [], "length_m": [], "line": []})
    name = block.layers["streets"]["street"].astype("object").to_numpy()[lines.street[faces]]
    pieces = pd.DataFrame({"lot": lot, "street": name, "piece": np.arange(len(lot))})
    group = pieces.groupby(["lot", "street"], sort=True, dropna=False).ngroup().to_numpy()
    order = np.argsort(group, kind="stable")
    fronts = np.asarray(shapely.linestrings(np.stack([start, end], axis=1)[order]))
    table = pieces.iloc[order].groupby(group[order]).first().drop(columns="piece")
    table["line"] = np.asarray(shapely.multilinestrings(fronts, indices=group[order]))
    table["length_m"] = shapely.length(table["line"].to_numpy())
    longest = table.groupby("lot")["length_m"].transform("max")
    # a corner that a cross street only brushes is no front, unless it is all there is
    return table[(table["length_m"] >= _LEAST_FRONT_M) | (table["length_m"] == longest)].reset_index(drop=True)


def _reached(block: Block, lots: NDArray[np.int64]) -> pd.DataFrame:
    """Nearest street that each lot reaches over ground in no other lot; lots that reach none have no row."""
    streets = block.layers.get("streets")
    rows = []
    if streets is not None and len(streets) and len(lots):
        shapes, around = block.lots.geometry.to_numpy(), block.layers["lots"]
        tree = shapely.STRtree(around.geometry.to_numpy())
        lines = streets.geometry.to_numpy()
        near, street = shapely.STRtree(lines).query(shapes[lots], predicate="dwithin", distance=REACH_M)
        ids, own = around["lot_id"].to_numpy(dtype=object), block.lots["lot_id"].to_numpy(dtype=object)
        for number in np.unique(near):
            lot = lots[number]
            found = _way_out(shapes[lot], ids == own[lot], lines, np.sort(street[near == number]), tree)
            if found is not None:
                rows.append((lot, streets["street"].iloc[found[0]], np.inf, found[1]))
    return pd.DataFrame(rows, columns=["lot", "street", "length_m", "line"])


def _way_out(
    lot: Any, mine: NDArray[np.bool_], streets: NDArray[Any], near: NDArray[np.int64], tree: shapely.STRtree
) -> tuple[int, Any] | None:
    """Street and straight way to it from a lot's edge, the shortest that crosses no other lot."""
    edge = shapely.segmentize(lot.boundary, 2.0)
    places = np.asarray(shapely.points(shapely.get_coordinates(edge)))
    place, street = (part.ravel() for part in np.meshgrid(np.arange(len(places)), near))
    ways = shapely.shortest_line(places[place], streets[street])
    length = shapely.length(ways)
    way, other = tree.query(ways, predicate="intersects")
    crossing = ~mine[other] & (shapely.length(shapely.intersection(ways[way], tree.geometries[other])) > 0.5)
    through_own = shapely.length(shapely.intersection(ways, lot)) > 0.5
    free = np.setdiff1d(np.flatnonzero((length <= REACH_M) & ~through_own), way[crossing])
    if not len(free):
        return None
    best = free[np.argmin(length[free])]
    return int(street[best]), ways[best]


def _towards(block: Block, fronts: pd.DataFrame) -> tuple[NDArray[Any], ...]:
    """Lot, line, vector from house to front, and the house's extent along it."""
    lot = fronts["lot"].to_numpy(dtype=np.int64)
    line = fronts["line"].to_numpy(dtype=object)
    house = _houses(block)[lot]
    some = ~shapely.is_missing(house)
    way = np.full((len(lot), 2), np.nan)
    near, far = np.full(len(lot), np.nan), np.full(len(lot), np.nan)
    if some.any():
        centre = shapely.centroid(house[some])
        to = shapely.get_coordinates(shapely.shortest_line(centre, line[some])).reshape(-1, 2, 2)
        vector = to[:, 1] - to[:, 0]
        way[some] = vector / np.maximum(np.hypot(*vector.T), 1e-9)[:, None]
        xy, index = shapely.get_coordinates(house[some], return_index=True)
        along = (xy * way[some][index]).sum(axis=1)
        near[some], far[some] = _extent(along, index, int(some.sum()))
    return lot, line, way[:, 0], way[:, 1], near, far


def _extent(values: NDArray[Any], index: NDArray[Any], count: int) -> tuple[NDArray[Any], NDArray[Any]]:
    low, high = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(low, index, values)
    np.maximum.at(high, index, values)
    return low, high


def _houses(block: Block) -> NDArray[Any]:
    """Largest roof piece of each lot, houses before other buildings; None without a roof."""
    houses = np.full(len(block.lots), None, dtype=object)
    pieces = block.tables.get("roof_pieces")
    if pieces is None or not len(pieces):
        return houses
    order = pieces.assign(house=pieces["kind"] == "house").sort_values(["house", "area_m2"], kind="stable")
    largest = order.drop_duplicates("lot_id", keep="last").set_index("lot_id").geometry
    found = largest.reindex(block.lots["lot_id"]).to_numpy()
    houses[:] = found
    return houses

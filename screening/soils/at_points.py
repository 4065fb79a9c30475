"""What the soil map says at points, with the groups within the error of its lines blended in."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import shapely
from numpy.typing import ArrayLike, NDArray

from screening.area import SoilMap
from screening.rules import Rules
from screening.soils.conductivity import design_ksat_um_s
from screening.soils.groups import CHANCE_COLUMNS, UNKNOWN

__all__ = ["other_unit_weights", "soil_at_points", "units_at_points"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


def soil_at_points(
    soil_map: SoilMap | None, x_m: ArrayLike, y_m: ArrayLike, rules: Rules, *, built: ArrayLike = True
) -> pd.DataFrame:
    """Group, chances, design conductivity, water table and bedrock at points.

    Near a line of the map the chances of the units on both sides are blended, since the line may be off by
    ``rules.soil_line_error_m``; group, conductivity and depths are those mapped at the point itself.

    Parameters
    ----------
    soil_map
        The map; None when there is none, and everything is unknown then.
    x_m, y_m
        Points, working CRS. [m]
    rules
        ``soil_line_error_m``, ``built_lot_divisor``, the groups' infiltration and its spread.
    built
        Whether the point lies on a built lot, one flag or one a point.

    Returns
    -------
    pandas.DataFrame
        One row a point, index 0..n-1: ``soil_name`` (of the map unit), ``hsg``, ``hsg_source``, ``near_groups``
        (the other groups within the line's error, by a comma), ``chance_a`` .. ``chance_d``,
        ``ksat_um_s``, ``ksat_source``, ``ksat_spread``, ``water_table_m``, ``bedrock_m``.
    """
    points_x, points_y = np.atleast_1d(np.asarray(x_m, float)), np.atleast_1d(np.asarray(y_m, float))
    if soil_map is None or soil_map.polygons.empty:
        return _unknown(len(points_x))
    unit = units_at_points(soil_map, points_x, points_y)
    point, other, weight = other_unit_weights(soil_map, points_x, points_y, unit, rules.soil_line_error_m)
    table = _unit_table(soil_map)
    rows = table.iloc[unit].reset_index(drop=True)  # -1 takes the last row, the one of unmapped ground
    chances = table[list(CHANCE_COLUMNS)].to_numpy(dtype=np.float64)
    blended = chances[unit] * (1.0 - np.bincount(point, weight, len(unit)))[:, None]
    np.add.at(blended, point, chances[other] * weight[:, None])
    ksat, source = design_ksat_um_s(rows["ksat_um_s"], rows["hsg"], rules, built=built)
    labels = table["hsg"].to_numpy()
    differs = labels[other] != labels[unit[point]]
    near_groups = _near_groups(point[differs], labels[other[differs]], len(unit))
    return pd.DataFrame(
        {
            "soil_name": rows["name"],
            "hsg": rows["hsg"],
            "hsg_source": rows["source"],
            "near_groups": near_groups,
            **{name: blended[:, column] for column, name in enumerate(CHANCE_COLUMNS[:4])},
            "ksat_um_s": ksat,
            "ksat_source": source.astype(object),
            "ksat_spread": np.where(source == "none", np.nan, rules.infiltration_spread),
            "water_table_m": rows["water_table_m"],
            "bedrock_m": rows["bedrock_m"],
        }
    )


def _unknown(count: int) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "soil_name": np.full(count, None, dtype=object),
            "hsg": np.full(count, UNKNOWN, dtype=object),
            "hsg_source": np.full(count, "none", dtype=object),
            "near_groups": np.full(count, "", dtype=object),
            **{name: np.zeros(count) for name in CHANCE_COLUMNS[:4]},
            "ksat_um_s": np.full(count, np.nan),
            "ksat_source": np.full(count, "none", dtype=object),
            "ksat_spread": np.full(count, np.nan),
            "water_table_m": np.full(count, np.nan),
            "bedrock_m": np.full(count, np.nan),
        }
    )


def _unit_table(soil_map: SoilMap) -> pd.DataFrame:
    """Map units, and a last row for ground that is not mapped."""
    unmapped = {
        "name": None,
        "hsg": UNKNOWN,
        "source": "none",
        **dict.fromkeys(CHANCE_COLUMNS, 0.0),
        "chance_unknown": 1.0,
    }
    columns = ["name", "hsg", "source", *CHANCE_COLUMNS, "ksat_um_s", "water_table_m", "bedrock_m"]
    units = {name: [*soil_map.units[name], unmapped.get(name, np.nan)] for name in columns}
    return pd.DataFrame(units)


def _near_groups(point: Integers, label: NDArray[Any], count: int) -> NDArray[Any]:
    """The labels named for each point, sorted, once each, separated by a comma."""
    code, names = pd.factorize(label, sort=True)
    named = np.zeros((count, len(names)), dtype=bool)
    named[point, code] = True
    sets, which = np.unique(named @ (1 << np.arange(len(names))), return_inverse=True)
    texts = [", ".join(name for bit, name in enumerate(names) if one >> bit & 1) for one in sets.tolist()]
    return np.array(texts, dtype=object)[which]


def units_at_points(soil_map: SoilMap, x_m: Floats, y_m: Floats) -> Integers:
    """Position in ``soil_map.units`` of the unit mapped at each point, -1 where none is.

    Where polygons overlap or a point lies on a line, the first polygon of the map counts.
    """
    codes = _unit_codes(soil_map)
    tree = shapely.STRtree(np.asarray(shapely.points(x_m, y_m)))
    polygon, point = tree.query(soil_map.polygons.geometry.to_numpy(), predicate="intersects")
    first = np.full(len(x_m), len(codes), dtype=np.int64)
    np.minimum.at(first, point, polygon)
    return np.append(codes, -1)[first]


def _unit_codes(soil_map: SoilMap) -> Integers:
    return np.asarray(soil_map.units.index.get_indexer(soil_map.polygons["unit"]), dtype=np.int64)


def other_unit_weights(
    soil_map: SoilMap, x_m: Floats, y_m: Floats, unit: Integers, line_error_m: float
) -> tuple[Integers, Integers, Floats]:
    """How much of each point belongs to other units, since the line between may lie elsewhere.

    The line's place is taken as uniform within ``line_error_m`` to either side, so that another unit at distance d
    holds the point with chance (1 - d / error) / 2. Where several do, the largest of their chances is shared among them
    in proportion.

    Returns
    -------
    point, unit, weight
        One row for each point and other unit within the error; the weights of a point sum to at most one half.
    """
    nothing = np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64), np.zeros(0)
    if line_error_m <= 0 or len(x_m) == 0:
        return nothing
    starts, ends, codes = _boundary_segments(soil_map, x_m, y_m, line_error_m)
    if len(codes) == 0:
        return nothing
    lines = np.asarray(shapely.linestrings(np.stack([starts, ends], axis=1)))
    point, segment = shapely.STRtree(lines).query(shapely.points(x_m, y_m), predicate="dwithin", distance=line_error_m)
    other = codes[segment] != unit[point]
    point, segment = point[other], segment[other]
    distance = _distance_to_segment(np.column_stack([x_m, y_m])[point], starts[segment], ends[segment])
    pair, inverse = np.unique(point * (len(soil_map.units) + 1) + codes[segment], return_inverse=True)
    nearest = np.full(len(pair), np.inf)
    np.minimum.at(nearest, inverse, distance)
    point, code = np.divmod(pair, len(soil_map.units) + 1)
    chance = np.clip(1.0 - nearest / line_error_m, 0.0, 1.0) / 2.0
    largest = np.zeros(len(x_m))
    np.maximum.at(largest, point, chance)
    total = np.zeros(len(x_m))
    np.add.at(total, point, chance)
    share = np.divide(largest, total, out=np.zeros_like(total), where=total > 0)
    return point, code, chance * share[point]


def _boundary_segments(soil_map: SoilMap, x_m: Floats, y_m: Floats, reach_m: float) -> tuple[Floats, Floats, Integers]:
    """Boundary segments within reach of the points' bounds, with the unit each bounds."""
    window = shapely.box(x_m.min() - reach_m, y_m.min() - reach_m, x_m.max() + reach_m, y_m.max() + reach_m)
    polygons = soil_map.polygons.geometry.to_numpy()
    near = np.sort(shapely.STRtree(polygons).query(window))
    codes = _unit_codes(soil_map)[near]
    parts, part_of = shapely.get_parts(polygons[near], return_index=True)
    rings, ring_of = shapely.get_rings(parts, return_index=True)
    coordinates, coordinate_of = shapely.get_coordinates(rings, return_index=True)
    joined = coordinate_of[1:] == coordinate_of[:-1]
    starts, ends = coordinates[:-1][joined], coordinates[1:][joined]
    west, south, east, north = shapely.bounds(window)
    low, high = np.minimum(starts, ends), np.maximum(starts, ends)
    inside = (high[:, 0] >= west) & (low[:, 0] <= east) & (high[:, 1] >= south) & (low[:, 1] <= north)
    bounded = codes[part_of[ring_of[coordinate_of[:-1][joined]]]]
    keep = inside & (bounded >= 0)
    return starts[keep], ends[keep], bounded[keep]


def _distance_to_segment(point: Floats, start: Floats, end: Floats) -> Floats:
    along = end - start
    length2 = (along**2).sum(axis=1)
    reach = ((point - start) * along).sum(axis=1)
    share = np.clip(np.divide(reach, length2, out=np.zeros_like(reach), where=length2 > 0), 0.0, 1.0)
    return np.asarray(np.hypot(*(point - (start + share[:, None] * along)).T))

"""How the columns of each layer are called in the area file, and what their values may be."""

from __future__ import annotations

from typing import Final

from screening.area import FOUND_COLUMNS, LAYER_COLUMNS

__all__ = ["CHOICES", "FLAGS", "GEOMETRY", "ID_COLUMNS", "LENGTHS", "column_keys"]

ID_COLUMNS: Final = {"lots": "lot_id", "roofs": "roof_id", "inlets": "inlet_id", "downspouts": "downspout_id"}
"""The id column of the layers that have one; its key in the area file is ``id``."""

FLAGS: Final = frozenset({"owner_occupied", "association", "basement"})
"""Columns that are yes, no or unknown."""

LENGTHS: Final = frozenset({"height_m", "trunk_m", "crown_m", "clearance_m"})
"""Columns that are lengths [m]; each has a key for its unit."""

CHOICES: Final[dict[tuple[str, str], tuple[str, ...]]] = {
    ("roofs", "kind"): ("house", "garage", "shed"),
    ("roofs", "roof_kind"): ("hip", "gable", "flat"),
    ("paved", "kind"): ("drive", "walk", "patio"),
    ("buried", "kind"): ("main", "service"),
    ("avoid", "kind"): ("wall", "pool", "other"),
    ("avoid", "effect"): ("no digging", "look closer"),
    ("downspouts", "leads_to"): ("pipe", "drive", "street", "lawn"),
}
"""Values that the columns with a fixed choice may have."""

GEOMETRY: Final[dict[str, str]] = {
    "lots": "polygon",
    "roofs": "polygon",
    "paved": "polygon",
    "soils": "polygon",
    "streets": "line",
    "inlets": "point",
    "downspouts": "point",
}
"""The one kind of geometry that a layer may have; layers not named take any."""


def column_keys(layer: str) -> dict[str, str]:
    """Keys of a layer's columns in the area file.

    Parameters
    ----------
    layer
        Name of a vector layer.

    Returns
    -------
    dict
        The column (a name of ``LAYER_COLUMNS``) by its key, in the order of ``LAYER_COLUMNS``.
    """
    keys: dict[str, str] = {}
    for column in LAYER_COLUMNS[layer]:
        if column in FOUND_COLUMNS:
            continue
        if column == ID_COLUMNS.get(layer):
            keys["id"] = column
        elif column in LENGTHS:
            keys[column.removesuffix("_m")] = column
        else:
            keys[column] = column
    return keys

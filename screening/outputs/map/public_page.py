"""The map for the public: streets and their totals, nothing of single lots."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

import pandas as pd

from screening.fields import TABLES
from screening.outputs.cautions import SHORT_CAUTION
from screening.outputs.map.columns import columns_of
from screening.outputs.map.pack import Pack
from screening.outputs.map.relief import hillshade_picture
from screening.outputs.map.shapes import COARSE, pack_shapes
from screening.outputs.map.shell import assemble
from screening.outputs.write import write_text
from screening.ranking.sentences import Units
from screening.result import Screening

__all__ = ["LEAST_LOTS", "PUBLIC_SCRIPTS", "public_page", "write_public_map"]

PUBLIC_SCRIPTS: Final = ("elements.js", "unpack.js", "units.js", "public.js")

LEAST_LOTS: Final = 3
"""Streets with fewer lots are put together: their totals would tell of single lots."""

_SUMS: Final = (
    "lots",
    "feasible",
    "roof_area_m2",
    "storm_runoff_m3",
    "storm_kept_m3",
    "year_runoff_m3",
    "year_kept_m3",
)


def _public_streets(streets: Any) -> Any:
    """Streets with lots enough to hide each one, the others in one row without a name or a line."""
    few = (streets["lots"].fillna(0) < LEAST_LOTS).to_numpy(dtype=bool)
    columns = ["street", *_SUMS, "geometry"]
    shown = streets.loc[~few, columns].reset_index(drop=True)
    if not few.any():
        return shown
    rest: dict[str, Any] = {name: [streets.loc[few, name].sum(min_count=1)] for name in _SUMS}
    rest |= {"street": ["Streets with few lots"], "geometry": [None]}
    if rest["lots"][0] < LEAST_LOTS:
        return shown
    return pd.concat([shown, pd.DataFrame(rest)[columns]], ignore_index=True)


def public_page(result: Screening, units: Units = "metric") -> str:
    """Streets and totals as one HTML page.

    Parameters
    ----------
    result
        The result of a run.
    units
        Units that the page starts with.
    """
    pack = Pack()
    streets = _public_streets(result.tables["streets"])
    fields = tuple(field for field in TABLES["streets"] if field.name in ("street", *_SUMS))
    table = columns_of(pd.DataFrame(streets), fields).add_to(pack)
    table["shapes"] = pack_shapes(pack, list(streets["geometry"]), result.crs, COARSE)
    meta = {
        "title": result.title, "short_caution": SHORT_CAUTION, "units": units, "tables": {"streets": table},
        "sections": pack.directory(), "storm_depth_mm": result.rules.storm_depth_mm,
    }  # fmt: skip
    pictures = {"ground": hillshade_picture(result.rasters["heights_m"], result.crs)}
    return assemble(meta, pack.base64(), pictures, scripts=PUBLIC_SCRIPTS, body="public")


def write_public_map(result: Screening, path: Path, units: Units = "metric") -> Path:
    """Write ``map_public.html``."""
    return write_text(path, public_page(result, units))

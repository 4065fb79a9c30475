"""Every table as GeoParquet, for machines: equal runs give equal bytes with the same versions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import geopandas as gpd

from screening.outputs.geopackage import table_frames
from screening.result import Screening

__all__ = ["write_geoparquet"]


def write_geoparquet(result: Screening, folder: Path, problems: Sequence[Mapping[str, str]] = ()) -> dict[str, Path]:
    """Write one file a table, with the box of every feature beside it where it has a geometry.

    Parameters
    ----------
    result
        The result of a run.
    folder
        Where to write, made when it is not there.
    problems
        Rows that other outputs add to the problems table.

    Returns
    -------
    dict
        Path of each file by ``geoparquet_`` and the table's name.
    """
    folder.mkdir(parents=True, exist_ok=True)
    paths = {}
    for name, frame, _ in table_frames(result, problems):
        path = folder / f"{name}.parquet"
        if isinstance(frame, gpd.GeoDataFrame):
            frame.to_parquet(path, index=False, compression="zstd", write_covering_bbox=True)
        else:
            frame.to_parquet(path, index=False, compression="zstd")
        paths[f"geoparquet_{name}"] = path
    return paths

"""A raster as the area file tells of it: its files put together, its CRS, the unit of its heights."""

from __future__ import annotations

import zipfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np
from pyproj import CRS
from pyproj.exceptions import CRSError

from screening.inputs.file_paths import members_of_zip, shown_path
from screening.inputs.findings import Findings
from screening.inputs.memory import most_cells, tell_too_many
from screening.inputs.mosaic import mosaic
from screening.inputs.placing import Bounds
from screening.inputs.raster_file import RasterFile, north_up, read_raster
from screening.inputs.working_crs import horizontal_crs, linear_unit_m, vertical_unit_m
from screening.units import US_SURVEY_FOOT_M, length_unit_m

__all__ = ["RasterTable", "WholeRaster", "read_raster_table"]

_ZERO_SHARE: Final = 0.01
"""Share of cells at exactly 0, all others above, from which a caution is given."""
_RASTER_ENDINGS: Final = (".tif", ".tiff", ".vrt", ".img", ".asc", ".dem", ".flt", ".bil", ".adf")
_LOWEST: Final = -1500.0
"""Heights below this, in metres or feet, lie below any dry land."""


@dataclass(frozen=True)
class RasterTable:
    """What the area file says of one raster.

    Parameters
    ----------
    layer
        ``elevation`` or ``surface``.
    paths
        Files to open, in the order that decides overlaps.
    folder
        Folder of the area file.
    vertical_unit, nodata, band, crs
        As written, None where the file itself must say.
    around
        From a CRS to the rectangle in it that is to be read; all when None.
    """

    layer: str
    paths: Sequence[str]
    folder: Path
    vertical_unit: str | None = None
    nodata: float | None = None
    band: int = 1
    crs: str | None = None
    around: Callable[[CRS], Bounds] | None = None

    def key(self, name: str) -> str:
        """The key in ``[elevation]`` that a fault should name."""
        return name if self.layer == "elevation" else f"surface_{name}"


@dataclass(frozen=True, eq=False)
class WholeRaster:
    """A raster put together from its files.

    Parameters
    ----------
    raster
        The cells.
    crs
        Its CRS.
    factor
        Metres in one unit of its heights [m].
    factor_from
        Where that was found: ``area file``, ``CRS``, ``band`` or ``assumed``.
    """

    raster: RasterFile
    crs: CRS
    factor: float
    factor_from: str


def read_raster_table(table: RasterTable, findings: Findings) -> WholeRaster | None:
    """Read the files of a raster and put them together.

    Parameters
    ----------
    table
        What the area file says of it.
    findings
        Where faults and notes go.

    Returns
    -------
    WholeRaster or None
        None when a fault stands in the way.
    """
    whole = len(findings.faults)
    tiles = [
        read_raster(
            path,
            shown_path(path, table.folder),
            findings,
            layer=table.layer,
            band=table.band,
            nodata=table.nodata,
            key=table.key("nodata"),
            crs=table.crs,
            around=table.around,
            most_cells=most_cells(),
        )
        for path in _rasters(table, findings)
    ]
    tiles = [tile for tile in tiles if tile is None or tile.values.size]
    cells = sum(tile.values.size for tile in tiles if tile is not None)
    if cells > most_cells():
        tell_too_many(cells, findings, file=", ".join(_names(table)), layer=table.layer)
    if not tiles and table.around is not None and not findings.faults[whole:]:
        what = "No cell with a height lies in the part that [within] names"
        findings.fault(what, "Check both, and their CRS", file=", ".join(_names(table)), layer=table.layer)
    usable = [_with_crs(north_up(tile), table, findings) for tile in tiles if tile is not None]
    good = [tile for tile in usable if tile is not None]
    if not good or len(good) < len(tiles) or findings.faults[whole:]:
        return None
    raster = mosaic(good, findings, layer=table.layer)
    if raster is None or raster.crs is None:
        return None
    vertical = _vertical_factor(raster, raster.crs, table, findings)
    if vertical is None:
        return None
    if raster.bands > 1:
        findings.note("caution", f"The raster has {raster.bands} bands; band {table.band} is read.", table.layer)
    _tell_odd_heights(raster, table, findings)
    return WholeRaster(raster, raster.crs, *vertical)


def _names(table: RasterTable) -> list[str]:
    """The files as people know them; the first few of many."""
    names = [shown_path(path, table.folder) for path in table.paths]
    return [*names[:3], *(["..."] if len(names) > 3 else [])]


def _rasters(table: RasterTable, findings: Findings) -> list[str]:
    """The files to open, each zip's rasters in its place."""
    paths: list[str] = []
    for path in table.paths:
        if not path.lower().endswith(".zip"):
            paths.append(path)
            continue
        name = shown_path(path, table.folder)
        try:
            inside = members_of_zip(path, _RASTER_ENDINGS)
        except (OSError, zipfile.BadZipFile) as error:
            findings.fault("The zip cannot be opened", f"It says: {error}", file=name, layer=table.layer)
            continue
        if not inside:
            findings.fault("The zip holds no raster", "Name another file", file=name, layer=table.layer)
        paths += inside
    return paths


def _with_crs(raster: RasterFile, table: RasterTable, findings: Findings) -> RasterFile | None:
    """The raster with a CRS: its own, or the area file's."""
    if table.crs is not None:
        try:
            said = CRS.from_user_input(table.crs)
            if raster.crs is not None and horizontal_crs(raster.crs) != horizontal_crs(said):
                told = f"{raster.name} says its CRS is {raster.crs.name}; the area file's crs is followed."
                findings.note("caution", told, table.layer)
            raster = replace(raster, crs=said)
        except CRSError:
            findings.fault(f"crs = {table.crs!r} is no CRS", 'Write crs = "EPSG:..."', layer=table.layer)
            return None
    if raster.crs is None:
        findings.fault(
            "The raster has no CRS", 'Add crs = "EPSG:..." to [elevation]', file=raster.name, layer=table.layer
        )
        return None
    horizontal = horizontal_crs(raster.crs)
    if not (horizontal.is_projected or horizontal.is_geographic):
        findings.fault(
            f"The raster's CRS ({raster.crs.name}) does not say where on earth it lies",
            'Add crs = "EPSG:..." to [elevation]',
            file=raster.name,
            layer=table.layer,
        )
        return None
    return raster


def _vertical_factor(raster: RasterFile, crs: CRS, table: RasterTable, findings: Findings) -> tuple[float, str] | None:
    """Metres in one unit of the heights, and where that was found."""
    from_crs = vertical_unit_m(crs)
    from_band = length_unit_m(raster.unit) if raster.unit else None
    if table.vertical_unit is not None:
        factor = length_unit_m(table.vertical_unit) or 1.0
        for other, whose in ((from_crs, "CRS"), (from_band, "band")):
            if other is not None and abs(other / factor - 1) > 1e-3:
                findings.note(
                    "caution",
                    f"The area file says heights are in {table.vertical_unit}, the raster's {whose} says "
                    f"{_unit_name(other)}; the area file is followed.",
                    table.layer,
                )
        return factor, "area file"
    if from_crs is not None:
        return from_crs, "CRS"
    if from_band is not None:
        return from_band, "band"
    if linear_unit_m(crs) == 1.0:
        findings.note("assumption", "Heights are taken to be in metres, as the horizontal unit is.", table.layer)
        findings.note(
            "caution",
            "The vertical unit is not stated by the raster: if heights are in feet, every slope and fall here is 3.28 "
            f'times too large. Add {table.key("vertical_unit")} = "m" or "ft" to [elevation].',
            table.layer,
        )
        return 1.0, "assumed"
    findings.fault(
        "The unit of the heights is not known: neither the CRS nor the band says it, and the horizontal unit is "
        f"{horizontal_crs(crs).axis_info[0].unit_name}",
        f'Add {table.key("vertical_unit")} = "ft" (or "us-ft", or "m") to [elevation]',
        file=raster.name,
        layer=table.layer,
    )
    return None


def _unit_name(metres: float) -> str:
    """A unit of length by its size."""
    for size, name in ((1.0, "metres"), (US_SURVEY_FOOT_M, "US survey feet"), (0.3048, "feet")):
        if abs(metres / size - 1) < 1e-9:
            return name
    return f"units of {metres:g} m"


def _tell_odd_heights(raster: RasterFile, table: RasterTable, findings: Findings) -> None:
    """Tell of heights below any land, and of many cells at exactly 0 when all others lie above."""
    values = raster.values
    low = float(np.nanmin(values))
    if low < _LOWEST:
        told = f"The lowest height is {low:g}: a mark of missing cells may have been resampled into the heights."
        findings.note("caution", told, table.layer)
    zeros = int(np.count_nonzero(values == 0))
    if zeros > _ZERO_SHARE * values.size and float(np.nanmin(values)) >= 0 and float(np.nanmedian(values)) > 0:
        above = float(np.min(values[values > 0]))
        if above > 1:
            findings.note(
                "caution",
                f"{zeros:,} cells are exactly 0 and the next lowest is {above:g}: if 0 marks missing cells, add "
                f"{table.key('nodata')} = 0 to [elevation].",
                table.layer,
            )

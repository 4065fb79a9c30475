"""Read ``[background]``: look through the air photo's files without loading them, and take over the online services."""

from __future__ import annotations

import warnings
import zipfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import numpy as np
import rasterio
import shapely
from pyproj import CRS, Transformer
from rasterio.enums import ColorInterp
from rasterio.errors import NotGeoreferencedWarning, RasterioError

from screening.background import Background, OnlineTiles, Photo, PhotoFile
from screening.inputs.area_file import AreaFile
from screening.inputs.elevation import Heights
from screening.inputs.file_paths import find_files, members_of_zip, shown_path
from screening.inputs.findings import Findings
from screening.inputs.working_crs import crs_of, horizontal_crs

__all__ = ["about_background", "read_background"]

_LAYER: Final = "background"
_ENDINGS: Final = (".tif", ".tiff", ".vrt", ".jp2", ".jpg", ".jpeg", ".png", ".img")
_WHOLE: Final = 0.995
"""Share of the elevation from which a photo is said to cover it."""


@dataclass
class _Seen:
    """What was seen of the photo's files: those of use, the ground that they cover, and the files behind them."""

    files: list[PhotoFile] = field(default_factory=list)
    ground: list[Any] = field(default_factory=list)
    opened: list[str] = field(default_factory=list)


def read_background(
    file: AreaFile, heights: Heights | None, findings: Findings, opened: list[str]
) -> Background | None:
    """What ``[background]`` names.

    Parameters
    ----------
    file
        The area file.
    heights
        The elevation; files of the photo that lie off it are passed over.
    findings
        Where faults and notes go.
    opened
        Gets the photo's files. Online services are not asked: only the map's reader does that.

    Returns
    -------
    Background or None
        None when nothing can be used.
    """
    said = file.background
    if said is None:
        return None
    photo = None if said.photo is None else _photo(file, heights, findings, opened)
    tiles = {
        key: OnlineTiles(address, credit, deepest)
        for key, address, credit, deepest in (
            ("tiles", said.tiles, said.tiles_credit, said.tiles_deepest),
            ("photo_tiles", said.photo_tiles, said.photo_tiles_credit, said.photo_tiles_deepest),
        )
        if address is not None and credit is not None
    }
    found = Background(photo, **tiles)
    return None if found == Background() else found


def _photo(file: AreaFile, heights: Heights | None, findings: Findings, opened: list[str]) -> Photo | None:
    """The photo's files that lie on the elevation."""
    said = file.background
    assert said is not None
    if said.photo_crs is not None and crs_of(said.photo_crs) is None:
        what = f"photo_crs = {said.photo_crs!r} is no CRS"
        findings.fault(what, 'Write photo_crs = "EPSG:..."', file=file.path.name, layer=_LAYER)
        return None
    names = find_files(said.photo or (), file.folder, findings, layer=_LAYER, allow_urls=file.allow_urls)
    before, seen = len(findings.faults), _Seen()
    for path in _rasters(names, file.folder, findings):
        _look(path, shown_path(path, file.folder), crs_of(said.photo_crs), heights, seen, findings)
    opened += seen.opened
    if len(findings.faults) > before or heights is None:
        return None
    if not seen.files:
        if names:
            told = "Check the file and its CRS; it must be of the same place"
            shown = ", ".join(said.photo or ())
            findings.fault("Nothing of the photo lies on the elevation", told, file=shown, layer=_LAYER)
        return None
    area = shapely.box(*heights.grid.bounds_m)
    share = shapely.union_all(seen.ground).intersection(area).area / area.area
    if share < _WHOLE:
        findings.note("caution", f"The air photo covers {100 * share:.0f}% of the elevation.", _LAYER)
    return Photo(tuple(seen.files), said.photo_credit or "")


def _rasters(names: list[str], folder: Path, findings: Findings) -> list[str]:
    """The rasters to open, each zip's in its place."""
    paths: list[str] = []
    for name in names:
        if not name.lower().endswith(".zip"):
            paths.append(name)
            continue
        try:
            inside = members_of_zip(name, _ENDINGS)
        except (OSError, zipfile.BadZipFile) as error:
            shown = shown_path(name, folder)
            findings.fault("The zip cannot be opened", f"It says: {error}", file=shown, layer=_LAYER)
            continue
        if not inside:
            shown = shown_path(name, folder)
            findings.fault("The zip holds no raster", "Name another file", file=shown, layer=_LAYER)
        paths += inside
    return paths


def _look(path: str, name: str, crs: CRS | None, heights: Heights | None, seen: _Seen, findings: Findings) -> None:
    """Look at one file of the photo: whether it can be used, and whether it lies on the elevation."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", NotGeoreferencedWarning)
            with rasterio.open(path) as dataset:
                own = crs_of(dataset.crs.to_wkt(version="WKT2_2019")) if dataset.crs else crs
                wrong = _wrong(dataset, own)
                ground = None if wrong or heights is None else _ground(dataset, own, heights.grid.crs)
                # of a mosaic only its own file counts: its tiles may be a whole county's
                parts = [path] if dataset.driver == "VRT" else [*dataset.files] or [path]
    except (RasterioError, OSError) as error:
        said = f"GDAL says: {str(error).replace(path, name)}"
        findings.fault("The photo cannot be read", said, file=name, layer=_LAYER)
        return
    for what, mend in wrong:
        findings.fault(what, mend, file=name, layer=_LAYER)
    if ground is None or heights is None or own is None or not ground.intersects(shapely.box(*heights.grid.bounds_m)):
        return
    seen.files.append(PhotoFile(path, name, horizontal_crs(own).to_wkt()))
    seen.ground.append(ground)
    seen.opened += [part for part in parts if not part.endswith((".aux.xml", ".ovr"))]


def _wrong(dataset: Any, crs: CRS | None) -> list[tuple[str, str]]:
    """What keeps a file from being a photo that can be shown, each with its mend."""
    wrong = []
    if dataset.count not in (1, 3, 4):
        mend = "Give one with 1 (grey), 3 (red, green, blue) or 4 bands (a fourth that says what is clear)"
        wrong.append((f"The photo has {dataset.count} bands", mend))
    types = sorted(set(dataset.dtypes))
    if types not in (["uint8"], ["uint16"]):
        wrong.append((f"The photo's values are {', '.join(types)}", "Write it with 8 or 16 bits a band, unsigned"))
    kinds = set(dataset.colorinterp)
    if ColorInterp.palette in kinds:
        wrong.append(("The photo holds numbers of a colour table, not light", "Write it as three bands"))
    if kinds & {ColorInterp.cyan, ColorInterp.magenta, ColorInterp.yellow, ColorInterp.black}:
        wrong.append(("The photo is in printing colours", "Write it as red, green and blue"))
    if dataset.transform.is_identity:
        wrong.append(("The photo is not georeferenced", "Give it a world file, or write it as GeoTIFF"))
    if crs is None:
        wrong.append(("The photo has no CRS", 'Add photo_crs = "EPSG:..." to [background]'))
    elif not (horizontal_crs(crs).is_projected or horizontal_crs(crs).is_geographic):
        told = f"The photo's CRS ({crs.name}) does not say where on earth it lies"
        wrong.append((told, "Write it with the right one"))
    return wrong


def _ground(dataset: Any, crs: CRS | None, working: CRS | None) -> Any:
    """The ground that a file covers, as a polygon in the working CRS; empty where it cannot be brought there."""
    along = np.linspace(0.0, 1.0, 21)
    zero, one = np.zeros_like(along), np.ones_like(along)
    across = np.concatenate([along, one, along[::-1], zero]) * dataset.width
    down = np.concatenate([zero, along, one, along[::-1]]) * dataset.height
    x, y = dataset.transform @ (across, down)
    x, y = Transformer.from_crs(horizontal_crs(crs), working, always_xy=True).transform(x, y)  # type: ignore[arg-type]
    if not (np.isfinite(x).all() and np.isfinite(y).all()):
        return shapely.Polygon()
    return shapely.Polygon(np.column_stack([x, y])).buffer(0)


def about_background(background: Background | None) -> list[str]:
    """What ``screening check`` says of the backgrounds: never more of an address than its scheme and host."""
    if background is None:
        return []
    lines = []
    if background.photo is not None:
        names = [file.name for file in background.photo.files]
        more = f" and {len(names) - 3:,} more" if len(names) > 3 else ""
        lines.append(f"Background: the air photo {', '.join(names[:3])}{more}, put into the map's page")
    for key, tiles in background.online.items():
        what = "an online map" if key == "tiles" else "an online air photo"
        lines.append(f"Background: {what} from {tiles.origin}, asked for once a reader switches it on")
        if tiles.carries_query:
            lines.append(f"  the address in {key} carries a query: all of it stands in the page, a key in it too")
    return lines

"""A part of a larger area: which lots are screened, and how far around them the other layers are read.

A county's files can be named as they are and one neighbourhood of them screened: of the rasters only the cells around
it are read, of the other layers only what meets those.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from pyproj import CRS, Transformer

from screening.inputs.area_model import Within
from screening.inputs.columns import as_ids, as_text
from screening.inputs.file_paths import find_files, shown_path
from screening.inputs.findings import Findings
from screening.inputs.known_keys import known_list
from screening.inputs.placing import Bounds
from screening.inputs.vector_file import Wanted, read_vector
from screening.inputs.working_crs import centre_degrees, crs_of, horizontal_crs, local_crs
from screening.units import length_unit_m

__all__ = ["Part", "read_part"]

_POINTS_ALONG: Final = 21
"""Points along each side of a rectangle that is brought into another CRS."""
_DEGREES: Final = "EPSG:4326"


@dataclass(frozen=True, eq=False)
class Part:
    """The part of a larger area that is screened.

    Parameters
    ----------
    shape
        Polygon or polygons, in ``crs``.
    crs
        Their CRS, x before y.
    margin_m
        How far around the shape's rectangle the other layers are read [m].
    name
        The shape, as people know it.
    """

    shape: Any
    crs: CRS
    margin_m: float
    name: str

    def bounds_in(self, crs: CRS) -> Bounds:
        """West, south, east, north of all that is read, in the units of a CRS."""
        west, south, east, north = shapely.bounds(self.shape)
        local = local_crs(self.crs, *centre_degrees(self.crs, (west + east) / 2, (south + north) / 2))
        west, south, east, north = _moved((west, south, east, north), self.crs, local)
        wide = west - self.margin_m, south - self.margin_m, east + self.margin_m, north + self.margin_m
        return _moved(wide, local, horizontal_crs(crs))

    def split(self, lots: gpd.GeoDataFrame) -> tuple[gpd.GeoDataFrame, frozenset[str]]:
        """The lots whose inner point lies inside the shape, and the ids of those elsewhere."""
        inner = gpd.GeoSeries(shapely.point_on_surface(np.asarray(lots.geometry.array, dtype=object)), crs=lots.crs)
        shapely.prepare(self.shape)
        inside = shapely.contains(self.shape, inner.to_crs(self.crs).to_numpy())
        elsewhere = as_ids(lots["lot_id"])[~inside].dropna()
        return lots[inside].reset_index(drop=True), frozenset(str(lot) for lot in elsewhere)


def _moved(bounds: Bounds, source: CRS, target: CRS) -> Bounds:
    """A rectangle that holds another of another CRS; not finite where that CRS does not reach."""
    move = Transformer.from_crs(source, target, always_xy=True)
    west, south, east, north = move.transform_bounds(*bounds, densify_pts=_POINTS_ALONG)
    return float(west), float(south), float(east), float(north)


def read_part(
    said: Within, folder: Path, findings: Findings, opened: list[str], *, allow_urls: bool = False
) -> Part | None:
    """Read ``[within]``.

    Parameters
    ----------
    said
        The table as written.
    folder
        Folder of the area file.
    findings
        Where faults and notes go.
    opened
        Files that were opened are added to it.
    allow_urls
        Whether files may come over the network.

    Returns
    -------
    Part or None
        None when a fault stands in the way.
    """
    margin_m = float(said.margin) * (length_unit_m(said.margin_unit) or 1.0)
    if said.box is not None:
        part = _of_box(said.box, said.crs or _DEGREES, margin_m, findings)
    else:
        part = _of_files(said, folder, margin_m, findings, opened, allow_urls=allow_urls)
    if part is not None and not (part.crs.is_geographic or part.crs.is_projected):
        findings.fault(f"{part.crs.name} is no CRS of a map", 'Write crs = "EPSG:..."', layer="within")
        return None
    if part is not None:
        findings.note(
            "assumption",
            f"Only the lots inside {part.name} are screened. Other layers are read {margin_m:g} m around it; water "
            "that comes from farther away is not counted, and streets that leave it are summed up without their other "
            "lots.",
            "within",
        )
    return part


def _of_box(box: Bounds, crs: str, margin_m: float, findings: Findings) -> Part | None:
    found = crs_of(crs)
    if found is None:
        findings.fault(f"crs = {crs!r} is no CRS", 'Write crs = "EPSG:..."', layer="within")
        return None
    if crs == _DEGREES and max(map(abs, box)) > 360:
        findings.fault("The box is not in degrees", 'Add crs = "EPSG:..." to [within]', layer="within")
        return None
    return Part(shapely.box(*box), horizontal_crs(found), margin_m, "the box")


def _of_files(
    said: Within, folder: Path, margin_m: float, findings: Findings, opened: list[str], *, allow_urls: bool
) -> Part | None:
    """The polygons that are meant, as one."""
    columns = {} if said.column is None else {"name": said.column}
    wanted = Wanted("within", columns, (), said.layer, said.crs, said.encoding)
    frames: list[gpd.GeoDataFrame] = []
    paths = find_files(said.file or (), folder, findings, layer="within", allow_urls=allow_urls)
    opened += paths
    for path in paths:
        frame = read_vector(path, shown_path(path, folder), wanted, findings)
        if frame is not None:
            frames.append(frame if not frames else frame.to_crs(frames[0].crs))
    if not frames or len(frames) < len(paths):
        return None
    shown = ", ".join(said.file or ())
    shapes = [shape for frame in frames for shape in _meant(frame, said.values)]
    if not shapes:
        there = sorted({str(name) for frame in frames for name in as_text(frame["name"]).dropna()}) if columns else []
        mend = known_list((said.values or ("",))[0], there) if columns else "Name another file"
        findings.fault("No polygon tells the part to screen", mend, file=shown, layer="within")
        return None
    shape = shapely.union_all(shapely.make_valid(shapely.force_2d(np.array(shapes, dtype=object))))
    name = " and ".join(said.values) if said.values else shown
    return Part(shape, horizontal_crs(frames[0].crs), margin_m, name)


def _meant(frame: gpd.GeoDataFrame, values: tuple[str, ...] | None) -> NDArray[Any]:
    """The polygons of a table that are meant."""
    shapes = np.asarray(frame.geometry.array, dtype=object)
    use = np.isin(shapely.get_type_id(shapes), (3, 6)) & ~shapely.is_empty(shapes)
    if values is not None:
        use &= as_text(frame["name"]).isin(values).to_numpy(dtype=bool)
    return shapes[use]

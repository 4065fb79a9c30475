"""Small made-up inputs on disk; the places hold no real neighbourhood."""

from pathlib import Path

import geopandas as gpd
import numpy as np
import rasterio
from affine import Affine
from pyproj import CRS
from shapely.geometry import box

UTM = "EPSG:32606"
WEST, NORTH = 500_000.0, 6_300_100.0


def plane(rows: int = 40, columns: int = 50, *, cell: float = 1.0, x_slope: float = 0.02) -> np.ndarray:
    """Heights of a plane that rises to the east, 100 at its west edge."""
    return np.tile(100 + x_slope * cell * (np.arange(columns) + 0.5), (rows, 1)).astype("float32")


def write_raster(
    path: Path,
    values: np.ndarray,
    *,
    transform: Affine | None = None,
    crs: str | CRS | None = UTM,
    nodata: float | None = None,
    unit: str | None = None,
    cell: float = 1.0,
) -> Path:
    transform = transform or Affine(cell, 0, WEST, 0, -cell, NORTH)
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        height=values.shape[0],
        width=values.shape[1],
        count=1,
        dtype=values.dtype,
        crs=CRS.from_user_input(crs).to_wkt() if crs is not None else None,
        transform=transform,
        nodata=nodata,
    ) as dataset:
        dataset.write(values, 1)
        if unit is not None:
            dataset.units = (unit,)
    return path


def lots(crs: str = UTM) -> gpd.GeoDataFrame:
    """Three lots side by side, 10 m wide and 20 m deep, their ids out of order."""
    shapes = [box(WEST + 10 * at, NORTH - 30, WEST + 10 * at + 10, NORTH - 10) for at in (1, 2, 3)]
    return gpd.GeoDataFrame(
        {"parcel": ["0010", "9", "0002"], "road": ["Elm", "Elm", None]}, geometry=shapes, crs=UTM
    ).to_crs(crs)


def roofs(crs: str = UTM) -> gpd.GeoDataFrame:
    """A roof of 6 by 8 m on each lot."""
    shapes = [box(WEST + 10 * at + 2, NORTH - 24, WEST + 10 * at + 8, NORTH - 16) for at in (1, 2, 3)]
    return gpd.GeoDataFrame({"use": ["House", "garage", "RES"]}, geometry=shapes, crs=UTM).to_crs(crs)


BASE = """title = "Made up"
[elevation]
file = "dtm.tif"
vertical_unit = "m"
[lots]
file = "lots.gpkg"
id = "parcel"
street = "road"
[roofs]
file = "roofs.geojson"
kind = "use"
"""


def write_area(folder: Path, more: str = "", *, base: str = BASE) -> Path:
    """A whole small area: elevation, lots in the raster's CRS, roofs in degrees."""
    write_raster(folder / "dtm.tif", plane())
    lots().to_file(folder / "lots.gpkg")
    roofs("EPSG:4326").to_file(folder / "roofs.geojson")
    path = folder / "area.toml"
    path.write_text(base + more, encoding="utf-8")
    return path


def quoted(value: object) -> str:
    if value is None:
        return ""
    return str(value) if isinstance(value, int | float) else '"' + str(value).replace('"', '""') + '"'


def write_rows(path: Path, rows: list[list[object]]) -> None:
    path.write_text("".join("|".join(quoted(value) for value in row) + "\n" for row in rows), encoding="utf-8")


def spread(width: int, at: dict[int, object]) -> list[object]:
    """A row of a width with values at some places, counted from the end where below 0."""
    row: list[object] = [None] * width
    for place, value in at.items():
        row[place] = value
    return row


def write_export(folder: Path, *, area: str = "zz001", first_key: int = 1, named: bool = False) -> Path:
    """A survey export of two map units and three polygons, its columns where the format has them.

    Parameters
    ----------
    named
        Write ``mstab.txt`` and ``mstabcol.txt``, with the tables' columns in another order than the known one.
    """
    keys = [str(first_key), str(first_key + 1)]
    (folder / "spatial").mkdir(parents=True)
    (folder / "tabular").mkdir()
    shapes = [box(WEST + 20 * at, NORTH - 40, WEST + 20 * at + 20, NORTH) for at in range(3)]
    frame = gpd.GeoDataFrame(
        {"AREASYMBOL": area.upper(), "MUSYM": ["Aa", "Ub", "Aa"], "MUKEY": [keys[0], keys[1], keys[0]]},
        geometry=shapes,
        crs=UTM,
    )
    frame.to_crs("EPSG:4326").to_file(folder / "spatial" / f"soilmu_a_{area}.shp")
    tabular = folder / "tabular"
    write_rows(
        tabular / "mapunit.txt",
        [
            spread(24, {0: "Aa", 1: 'Made-up loam, "flat" part', -2: "7", -1: keys[0]}),
            spread(24, {0: "Ub", 1: "Urban land", -2: "7", -1: keys[1]}),
        ],
    )
    components = [("Loam", 85, "Yes", "B", keys[0], "11"), ("Clay", 15, "No ", None, keys[0], "12")]
    components.append(("Urban land", 100, "Yes", None, keys[1], "13"))
    rows = [
        spread(109, {1: share, 3: name, 5: major, 79: group, -2: mukey, -1: f"{first_key}{cokey}"})
        for name, share, major, group, mukey, cokey in components
    ]
    if named:
        write_rows(tabular / "component_table.txt", [list(reversed(row)) for row in rows])
        write_rows(tabular / "mstab.txt", [["component", "c", "C", "text", "component_table"]])
        names = {2: "comppct_r", 4: "compname", 6: "majcompflag", 80: "hydgrp", 108: "mukey", 109: "cokey"}
        write_rows(
            tabular / "mstabcol.txt",
            [["component", 110 - at, names.get(at, f"col{at}"), "x"] for at in range(1, 110)],
        )
    else:
        write_rows(tabular / "comp.txt", rows)
    write_rows(
        tabular / "chorizon.txt",
        [spread(171, {6: 0, 9: 60, 82: 9.17, -2: f"{first_key}11", -1: f"{first_key}21"})],
    )
    write_rows(
        tabular / "muaggatt.txt",
        [
            spread(40, {0: "Aa", 1: "Made-up loam", 6: 30, 17: "B", -1: keys[0]}),
            spread(40, {0: "Ub", 1: "Urban land", -1: keys[1]}),
        ],
    )
    return folder

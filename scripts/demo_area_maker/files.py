"""Write the neighbourhood's files, the same bytes each time."""

from __future__ import annotations

from pathlib import Path

import geopandas as gpd
import numpy as np
import pyogrio
import rasterio
from affine import Affine
from numpy.typing import NDArray

from scripts.demo_area_maker import records, tables
from scripts.demo_area_maker.neighbourhood import Neighbourhood
from scripts.demo_area_maker.pads import NODATA_M, measured, with_holes
from scripts.demo_area_maker.relief import CELL_M
from scripts.demo_area_maker.survey_export import write_lines, write_survey

FIXED_TIME = "2024-01-01T00:00:00.000Z"
TEXTS = Path(__file__).parent / "texts"


def write_area(area: Neighbourhood, folder: Path) -> list[Path]:
    """Write everything into ``folder`` and return the files."""
    folder.mkdir(parents=True, exist_ok=True)
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": FIXED_TIME})
    try:
        write_elevation(area, folder / "elevation.tif")
        write_layers(folder / "lots.gpkg", {"lots": tables.lots(area)})
        write_roofs(folder / "roofs.geojson", tables.roofs(area))
        write_layers(folder / "ground.gpkg", tables.ground_layers(area))
        write_layers(folder / "underground.gpkg", tables.underground_layers(area))
        write_survey(folder / "soils", tables.soils(area))
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})
    write_lines(folder / "rain.csv", records.daily_rain(area.seed))
    write_lines(folder / "field.csv", records.field_rows(area))
    for text in sorted(TEXTS.iterdir()):
        write_lines(folder / text.name, text.read_text(encoding="utf-8").splitlines())
    return sorted(path for path in folder.rglob("*") if path.is_file())


def survey_heights(area: Neighbourhood) -> NDArray[np.float32]:
    """Heights as surveyed, to the centimetre, with the holes [m]."""
    heights = np.round(with_holes(area.frame, measured(area.ground, area.seed)), 2)
    return heights.astype(np.float32)


def write_elevation(area: Neighbourhood, path: Path) -> None:
    """Write the bare-earth raster."""
    heights = survey_heights(area)
    frame = area.frame
    transform = Affine(CELL_M, 0.0, tables.EAST_M + frame.left, 0.0, -CELL_M, tables.NORTH_M + frame.top)
    profile = {
        "driver": "GTiff",
        "dtype": "float32",
        "count": 1,
        "height": heights.shape[0],
        "width": heights.shape[1],
        "crs": tables.CRS,
        "transform": transform,
        "nodata": NODATA_M,
        "compress": "deflate",
        "zlevel": 9,
        "predictor": 3,
        "tiled": True,
        "blockxsize": 256,
        "blockysize": 256,
        "num_threads": 1,
    }
    with rasterio.open(path, "w", **profile) as out:
        out.write(heights, 1)


def write_layers(path: Path, layers: dict[str, gpd.GeoDataFrame]) -> None:
    """Write a GeoPackage with these layers, from nothing."""
    path.unlink(missing_ok=True)
    for name, frame in layers.items():
        pyogrio.write_dataframe(frame, path, layer=name, driver="GPKG", append=path.exists())


def write_roofs(path: Path, roofs: gpd.GeoDataFrame) -> None:
    """Write the roofs as GeoJSON in longitude and latitude."""
    path.unlink(missing_ok=True)
    options = {"COORDINATE_PRECISION": "8", "RFC7946": "NO"}
    pyogrio.write_dataframe(roofs.to_crs("EPSG:4326"), path, layer="roofs", driver="GeoJSON", layer_options=options)

"""What an analyst writes by hand with the usual libraries: the peer that a whole run is timed against.

python scripts/bench_peer.py FOLDER OUT

Reads ``elevation.tif``, ``lots.gpkg``, ``roofs.gpkg`` and ``soils.gpkg``; fills, routes, sums slope, roofs and soils by
lot, scores plainly and draws a map. It knows no downspouts, no places for a garden, no sizes, no limits, no chances.
"""

from __future__ import annotations

import sys
from pathlib import Path

import folium
import geopandas as gpd
import numpy as np
import pyflwdir
import rasterio
from exactextract import exact_extract

WORTH = {"A": 1.0, "B": 0.8, "C": 0.4, "D": 0.1}


def terrain(folder, out):
    """Filled, routed, accumulated; slope and accumulation written."""
    with rasterio.open(folder / "elevation.tif") as source:
        heights, how = source.read(1), source.profile
    _, direction = pyflwdir.dem.fill_depressions(heights, nodata=how["nodata"])
    flow = pyflwdir.from_array(direction, ftype="d8", transform=how["transform"], latlon=False)
    slope = pyflwdir.dem.slope(heights, nodata=how["nodata"], transform=tuple(how["transform"])[:6])
    for name, values in (("slope", slope), ("accumulation", flow.upstream_area("cell"))):
        with rasterio.open(out / f"{name}.tif", "w", **{**how, "dtype": "float32"}) as target:
            target.write(np.asarray(values, dtype=np.float32), 1)


def by_lot(folder, out):
    """Slope, roofs and the commonest soil of each lot."""
    lots = gpd.read_file(folder / "lots.gpkg")
    ways = {"strategy": "raster-sequential", "output": "pandas", "include_cols": ["lot_id"]}
    slope = exact_extract(str(out / "slope.tif"), lots, ["mean"], **ways).set_index("lot_id")["mean"]
    own = lots[["lot_id", "geometry"]]
    roofs = gpd.overlay(gpd.read_file(folder / "roofs.gpkg")[["geometry"]], own, keep_geom_type=True)
    soils = gpd.overlay(own, gpd.read_file(folder / "soils.gpkg"), keep_geom_type=True)
    soils["area"] = soils.area
    most = soils.sort_values("area").drop_duplicates("lot_id", keep="last").set_index("lot_id")["group"]
    lots["slope"] = lots["lot_id"].map(slope)
    lots["roof_m2"] = lots["lot_id"].map(roofs.assign(area=roofs.area).groupby("lot_id")["area"].sum()).fillna(0.0)
    lots["group"] = lots["lot_id"].map(most)
    return lots


def main():
    """Do it all."""
    folder, out = Path(sys.argv[1]), Path(sys.argv[2])
    out.mkdir(parents=True, exist_ok=True)
    terrain(folder, out)
    lots = by_lot(folder, out)
    flat = 1.0 - np.clip(lots["slope"].fillna(1.0) / 0.12, 0.0, 1.0)
    lots["score"] = lots["roof_m2"] / lots["roof_m2"].max() + lots["group"].map(WORTH).fillna(0.0) + flat
    lots["rank"] = lots["score"].rank(ascending=False, method="first").astype(int)
    lots.to_file(out / "lots.gpkg", driver="GPKG")
    lots.drop(columns="geometry").to_csv(out / "lots.csv", index=False)
    drawn = lots[["lot_id", "rank", "score", "geometry"]].to_crs(4326)
    west, south, east, north = drawn.total_bounds
    page = folium.Map([(south + north) / 2, (west + east) / 2], zoom_start=15)
    folium.GeoJson(drawn, tooltip=folium.GeoJsonTooltip(["lot_id", "rank"])).add_to(page)
    page.save(out / "map.html")


if __name__ == "__main__":
    main()

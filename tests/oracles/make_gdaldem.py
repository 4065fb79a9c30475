"""Make ``gdaldem.npz``: heights and what GDAL's own slope and aspect say of them.

Run by hand where ``gdaldem`` is installed (the stored file is from GDAL 3.6.2)::

    python tests/oracles/make_gdaldem.py

Heights are multiples of 1/256 m below 128 m, so that sums of them are exact in gdaldem's float32.
"""

import subprocess
import tempfile
from pathlib import Path

import numpy as np
import rasterio
from affine import Affine

CELL_X_M, CELL_Y_M = 2.0, 1.5
NODATA = -9999.0


def heights() -> np.ndarray:
    """Made-up ground with a flat, a cliff and a few holes."""
    rng = np.random.default_rng(42)
    y, x = np.mgrid[:48, :56]
    z = 60 + 30 * np.sin(x / 11) * np.cos(y / 9) + rng.normal(0, 0.5, x.shape)
    z[30:40, 5:20] = 64
    z[:, 40:] += 5
    z = (np.round(z * 256) / 256).astype(np.float32)
    z[10:12, 30:33] = z[44, 50] = NODATA
    return z


def main() -> None:
    z = heights()
    found = {"heights": z, "cell_m": np.array([CELL_X_M, CELL_Y_M]), "nodata": np.float32(NODATA)}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        transform = Affine(CELL_X_M, 0, 500000, 0, -CELL_Y_M, 4000000)
        profile = {"driver": "GTiff", "height": z.shape[0], "width": z.shape[1], "count": 1, "dtype": "float32"}
        with rasterio.open(folder / "z.tif", "w", transform=transform, nodata=NODATA, **profile) as target:
            target.write(z, 1)
        for mode, options in (("slope", ["-p"]), ("aspect", [])):
            command = ["gdaldem", mode, folder / "z.tif", folder / f"{mode}.tif", *options, "-q"]
            subprocess.run([str(part) for part in command], check=True)
            with rasterio.open(folder / f"{mode}.tif") as source:
                found[mode] = source.read(1)
    np.savez_compressed(Path(__file__).with_name("gdaldem.npz"), **found)


if __name__ == "__main__":
    main()

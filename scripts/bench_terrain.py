"""Time the terrain library beside its peers, on made-up ground, in one run.

    python scripts/bench_terrain.py                     # 4 million cells and 100 million
    python scripts/bench_terrain.py --cells 4e6         # only the small one
    python scripts/bench_terrain.py --large 1e9 --folder /some/disk
    python scripts/bench_terrain.py --steps 1.6e7       # where the time goes

Every contestant runs in a process of its own: it reads the raster into memory, runs once on a small corner (its
first call, told apart), then a few times on the whole; the best counts. Peak memory is what the process holds at its
greatest beyond the raster itself. Peers that are not installed are left out. `gdaldem` is run on raw files.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from affine import Affine

BLOCK = 1024
OCTAVES = ((2048, 5.0), (1024, 3.0), (512, 2.0), (256, 1.6), (128, 1.2), (64, 0.9), (32, 0.6), (16, 0.35), (8, 0.18))
NOISE_M = 0.03
PLACE = Affine(1, 0, 500000, 0, -1, 4500000)


# ---- made-up ground, by blocks of 1024 cells, the same wherever a window starts


def lattice(layer: int, rows: range, columns: range) -> np.ndarray:
    """Random numbers from -1 to 1 at the corners of a lattice."""
    with np.errstate(over="ignore"):
        h = np.arange(rows.start, rows.stop, dtype=np.uint64)[:, None] * np.uint64(0x9E3779B97F4A7C15)
        h = h ^ (np.arange(columns.start, columns.stop, dtype=np.uint64)[None] * np.uint64(0xC2B2AE3D27D4EB4F))
        h ^= np.uint64(layer + 1) * np.uint64(0x165667B19E3779F9)
        for shift, factor in ((33, 0xFF51AFD7ED558CCD), (33, 0xC4CEB9FE1A85EC53), (33, 1)):
            h = (h ^ (h >> np.uint64(shift))) * np.uint64(factor)
    return ((h >> np.uint64(40)).astype(np.float32) / np.float32(2**23) - 1).astype(np.float32)


def smooth(values: np.ndarray, first: int, width: int, start: int) -> np.ndarray:
    """Rows between the rows of a lattice, blended smoothly."""
    x = (first + np.arange(BLOCK)) / width - start
    k = x.astype(int)
    t = (x - k).astype(np.float32)[:, None]
    t = t * t * (3 - 2 * t)
    return values[k] * (1 - t) + values[k + 1] * t


def wave(layer: int, width: int, row: int, column: int) -> np.ndarray:
    """One octave of one block."""
    count = max(BLOCK // width, 1) + 2
    i, j = row // width, column // width
    corners = lattice(layer, range(i, i + count), range(j, j + count))
    return smooth(np.ascontiguousarray(smooth(corners, row, width, i).T), column, width, j).T


def block(row: int, column: int) -> np.ndarray:
    """Heights of one block [m], float32; NaN in a few ponds."""
    z = np.full((BLOCK, BLOCK), np.float32(60))
    for layer, (width, height) in enumerate(OCTAVES):
        z += np.float32(height) * wave(layer, width, row, column)
    noise = np.random.Generator(np.random.SFC64([1, row, column]))
    z += noise.standard_normal((BLOCK, BLOCK), np.float32) * np.float32(NOISE_M)
    z[wave(99, 128, row, column) > 0.83] = np.nan
    return z


def suburb(rows: int, columns: int, path: Path) -> None:
    """Write made-up ground to a raw .npy file."""
    out = np.lib.format.open_memmap(path, "w+", np.float32, (rows, columns))
    for row in range(0, rows, BLOCK):
        for column in range(0, columns, BLOCK):
            out[row : row + BLOCK, column : column + BLOCK] = block(row, column)[: rows - row, : columns - column]
    out.flush()


# ---- contestants: each is a maker of a function of no arguments, given heights with NaN


def ours_grid(z: np.ndarray) -> Any:
    from screening.grid import NODATA, VALID, Grid

    return Grid(z, PLACE, np.where(np.isnan(z), np.uint8(NODATA), np.uint8(VALID)))


def ours_drain(z: np.ndarray) -> Callable[[], Any]:
    from screening.terrain import drain

    grid = ours_grid(z)
    return lambda: drain(grid)


def ours_drain_again(z: np.ndarray) -> Callable[[], Any]:
    from screening.terrain import drain

    grid = ours_grid(z)
    held: list[Any] = [None]

    def run() -> Any:
        held[0] = drain(grid, out=held[0])
        return held[0]

    return run


def ours_route(z: np.ndarray) -> Callable[[], Any]:
    from screening.terrain import route

    grid = ours_grid(z)
    return lambda: route(grid)


def ours_slope(z: np.ndarray) -> Callable[[], Any]:
    from screening.terrain import slope_pct

    grid = ours_grid(z)
    return lambda: slope_pct(grid)


def pyflwdir_drain(z: np.ndarray) -> Callable[[], Any]:
    import pyflwdir

    heights = np.where(np.isnan(z), np.float32(-9999), z)

    def run() -> Any:
        filled, codes = pyflwdir.dem.fill_depressions(heights, nodata=-9999.0)
        return filled, codes, pyflwdir.from_array(codes, ftype="d8", check_ftype=False).upstream_area(unit="cell")

    return run


def pyflwdir_slope(z: np.ndarray) -> Callable[[], Any]:
    import pyflwdir

    heights = np.where(np.isnan(z), np.float32(-9999), z)
    return lambda: pyflwdir.dem.slope(heights, -9999.0, False, tuple(PLACE)[:6])


def topotoolbox_drain(z: np.ndarray) -> Callable[[], Any]:
    import topotoolbox

    heights = topotoolbox.GridObject()
    heights.z, heights.cellsize = z, 1.0

    def run() -> Any:
        flow = topotoolbox.FlowObject(heights)  # fills inside
        return flow, flow.flow_accumulation()

    return run


CONTESTANTS: dict[str, dict[str, Callable[[np.ndarray], Callable[[], Any]]]] = {
    "filled, direction, accumulation": {
        "screening": ours_drain,
        "screening, memory reused": ours_drain_again,
        "pyflwdir": pyflwdir_drain,
        "topotoolbox": topotoolbox_drain,
        "screening, with hollows and cuts": ours_route,
    },
    "Horn slope": {"screening": ours_slope, "pyflwdir": pyflwdir_slope},
}


def held_bytes(field: str) -> int:
    """Memory of this process from the kernel's own account [bytes]."""
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith(field):
            return int(line.split()[1]) * 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


def child(job: str, name: str, path: str, repeats: int) -> None:
    """Run one contestant and print what it took."""
    z = np.load(path)
    make = CONTESTANTS[job][name]
    try:
        small = make(np.ascontiguousarray(z[:300, :300]))
    except ImportError:
        print(json.dumps(None))
        return
    start = time.perf_counter()
    small()
    first = time.perf_counter() - start
    run = make(z)
    before = held_bytes("VmRSS")
    taken, worked = [], []
    for _ in range(repeats):
        start, work = time.perf_counter(), time.process_time()
        run()
        taken.append(time.perf_counter() - start)
        worked.append(time.process_time() - work)
    peak = held_bytes("VmHWM") - before
    print(json.dumps({"first": first, "best": min(taken), "processor": min(worked), "bytes": peak / z.size}))


def measure(job: str, name: str, path: Path, repeats: int) -> dict[str, Any] | None:
    """Run one contestant in a process of its own."""
    command = [sys.executable, __file__, "--child", job, name, str(path), str(repeats)]
    done = subprocess.run(command, capture_output=True, text=True, env=os.environ | {"PYTHONWARNINGS": "ignore"})
    if done.returncode:
        return {"failed": done.stderr.strip().splitlines()[-1] if done.stderr.strip() else str(done.returncode)}
    found: dict[str, Any] | None = json.loads(done.stdout.strip().splitlines()[-1])
    return found


def gdaldem(path: Path) -> dict[str, float] | None:
    """Time gdaldem's slope from raw file to raw file, and GDAL's reading and writing of the same alone."""
    z = np.load(path, mmap_mode="r")
    folder = path.parent
    raw, vrt = folder / "z.raw", folder / "z.vrt"
    np.where(np.isnan(z), np.float32(-9999), z).tofile(raw)
    vrt.write_text(
        f'<VRTDataset rasterXSize="{z.shape[1]}" rasterYSize="{z.shape[0]}">'
        f"<GeoTransform>{','.join(str(v) for v in PLACE.to_gdal())}</GeoTransform>"
        '<VRTRasterBand dataType="Float32" band="1" subClass="VRTRawRasterBand"><NoDataValue>-9999</NoDataValue>'
        f'<SourceFilename relativetoVRT="1">z.raw</SourceFilename><PixelOffset>4</PixelOffset>'
        f"<LineOffset>{4 * z.shape[1]}</LineOffset></VRTRasterBand></VRTDataset>"
    )
    target = ["-of", "ENVI", "-q", str(vrt), str(folder / "out.raw")]
    taken = {}
    try:
        for name, command in {
            "slope": ["gdaldem", "slope", str(vrt), str(folder / "out.raw"), "-p", "-of", "ENVI", "-q"],
            "copy": ["gdal_translate", *target],
        }.items():
            best = []
            for _ in range(2):
                start = time.perf_counter()
                subprocess.run(command, check=True, capture_output=True)
                best.append(time.perf_counter() - start)
            taken[name] = min(best)
    except FileNotFoundError:
        return None
    finally:
        for file in folder.glob("*.raw*"):
            file.unlink()
    return taken


def show(job: str, cells: int, results: dict[str, dict[str, Any] | None]) -> None:
    """Print ratios, then what they come from."""
    ours = results["screening"]
    print(f"\n{job}, {cells:.3g} cells")
    for name, found in results.items():
        if found is None:
            print(f"  {name:34s} not installed")
        elif "failed" in found:
            print(f"  {name:34s} failed: {found['failed']}")
        elif ours is not None and "best" in ours:
            print(
                f"  {name:34s} {found['best'] / ours['best']:8.2f} x   {found['best']:8.3f} s"
                f"  {found['best'] / cells * 1e9:7.1f} ns a cell (processor {found['processor'] / cells * 1e9:.1f})"
                f"  peak {found['bytes']:6.1f} bytes a cell"
                f"  first call {found['first']:6.2f} s"
            )


def compare(cells: int, folder: Path) -> None:
    """All contestants on one raster."""
    side = round(cells**0.5)
    path = folder / "z.npy"
    suburb(side, side, path)
    small = cells <= 2e7
    for job, makers in CONTESTANTS.items():
        results = {}
        for name in makers:
            slow = not name.startswith("screening") and job != "Horn slope"
            results[name] = measure(job, name, path, 5 if small else (1 if slow else 3))
        show(job, side * side, results)
    taken, ours = gdaldem(path), results["screening"]
    if taken is not None and ours is not None and "best" in ours:
        print(
            f"  {'gdaldem, raw file to raw file':34s} {taken['slope'] / ours['best']:8.2f} x   {taken['slope']:8.3f} s"
            f"  of which reading and writing alone take {taken['copy']:.3f} s; without them "
            f"{(taken['slope'] - taken['copy']) / ours['best']:.2f} x"
        )
    path.unlink()


# ---- large: from GeoTIFF to GeoTIFF in tiles


def large(cells: int, folder: Path, tile: int) -> None:
    """Make a GeoTIFF by windows and route it in a process of its own."""
    side = math.isqrt(cells - 1) + 1
    for size in sorted({10_000, side}):
        command = [sys.executable, __file__, "--large-make", str(size), "--folder", str(folder)]
        subprocess.run(command, check=True)
        command = [sys.executable, __file__, "--large-child", str(size), "--folder", str(folder), "--tile", str(tile)]
        subprocess.run(command, check=True, env=os.environ | {"GDAL_CACHEMAX": "64"})


def sink(folder: Path, name: str, side: int, dtype: str, nodata: float | None) -> Any:
    from screening.sources import GeoTiffSink

    return GeoTiffSink(folder / f"{name}.tif", (side, side), PLACE, dtype, nodata=nodata)


def large_make(side: int, folder: Path) -> None:
    from screening.sources import Window

    target = sink(folder, "elevation", side, "float32", float("nan"))
    start = time.perf_counter()
    for row in range(0, side, BLOCK):
        for column in range(0, side, BLOCK):
            z = block(row, column)[: side - row, : side - column]
            target.write(Window(row, column, *z.shape), z)
    target.close()
    print(f"\n{side} x {side} made in {time.perf_counter() - start:.0f} s", flush=True)


def large_child(side: int, folder: Path, tile: int) -> None:
    from screening.sources import ArraySource, GeoTiffSource
    from screening.terrain import RasterGrid, RoutingSinks, route_tiles

    warm = RasterGrid(ArraySource(block(0, 0)[:300, :300].copy(), PLACE))
    route_tiles(warm, RoutingSinks(), tile=128)
    sinks = {
        "filled": sink(folder, "filled", side, "float32", float("nan")),
        "direction": sink(folder, "direction", side, "uint8", 255),
        "accumulation": sink(folder, "accumulation", side, "int64", None),
    }
    start, work = time.perf_counter(), time.process_time()
    route_tiles(RasterGrid(GeoTiffSource(folder / "elevation.tif")), RoutingSinks(**sinks), tile=tile)
    for one in sinks.values():
        one.close()
    taken, work = time.perf_counter() - start, time.process_time() - work
    print(
        f"{side * side:.3g} cells, GeoTIFF to GeoTIFF, tiles of {tile}: {taken:.1f} s, "
        f"{taken / side**2 * 1e9:.1f} ns a cell (processor {work / side**2 * 1e9:.1f}), "
        f"peak {held_bytes('VmHWM') / 2**30:.2f} GiB",
        flush=True,
    )


# ---- where the time goes


def steps(cells: int, tile: int) -> None:
    """Time of each step on one thread [ns a cell]."""
    from screening.terrain import drain, finish, graph, in_memory, survey

    side = round(cells**0.5)
    with tempfile.TemporaryDirectory() as name:
        suburb(side, side, Path(name) / "z.npy")
        grid = ours_grid(np.load(Path(name) / "z.npy"))
    spent: Counter[str] = Counter()

    def timed(module: Any, name: str) -> None:
        inner = getattr(module, name)

        def outer(*args: Any) -> Any:
            start = time.thread_time()
            found = inner(*args)
            spent[name] += time.thread_time() - start
            return found

        setattr(module, name, outer)

    for module in (survey, finish, graph):
        for name in [name for name, value in vars(module).items() if hasattr(value, "py_func")]:
            timed(module, name)
    for name in ("survey_tile", "finish_tile", "solve"):
        timed(in_memory, name)
    best = None
    for _ in range(4):
        spent.clear()
        start = time.thread_time()
        drain(grid, tile=tile, threads=1)
        total = time.thread_time() - start
        if best is None or total < best[0]:
            best = total, dict(spent)
    assert best is not None
    print(f"{cells:.3g} cells, tiles of {tile}, one thread: {best[0] / cells * 1e9:.1f} ns a cell")
    for name, taken in sorted(best[1].items(), key=lambda item: -item[1]):
        print(f"  {name:18s} {taken / cells * 1e9:6.2f}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--cells", type=float, nargs="*", default=[4e6, 1e8])
    parser.add_argument("--large", type=float)
    parser.add_argument("--steps", type=float)
    parser.add_argument("--tile", type=int, default=512)
    parser.add_argument("--folder", type=Path, default=None)
    parser.add_argument("--child", nargs=4, help=argparse.SUPPRESS)
    parser.add_argument("--large-make", type=int, help=argparse.SUPPRESS)
    parser.add_argument("--large-child", type=int, help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.child:
        job, name, path, repeats = given.child
        child(job, name, path, int(repeats))
        return
    with tempfile.TemporaryDirectory(dir=given.folder) as name:
        folder = Path(name)
        if given.large_make:
            large_make(given.large_make, given.folder)
        elif given.large_child:
            large_child(given.large_child, given.folder, given.tile)
        elif given.large:
            large(round(given.large), folder, given.tile)
        elif given.steps:
            steps(round(given.steps), given.tile)
        else:
            for cells in given.cells:
                compare(round(cells), folder)


if __name__ == "__main__":
    main()

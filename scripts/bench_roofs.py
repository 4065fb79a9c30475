"""How many roofs a second: planes by family of footprint, on one thread.

python scripts/bench_roofs.py [--count 2000] [--seed 1]

Prints, for each family of made-up footprints, with all edges sloped and with a quarter of them as gables anywhere: mean
corners, polygons a second (processor time of the compiled planes, compiled before), and how the planes were found, in
the order of ``METHODS``. The last lines are the mix of all families and of the commoner shapes of houses.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

HOUSES = ("rectangle", "L", "T", "U", "cross", "courtyard", "rectilinear")


def measure(name, shapes, seed):
    """Time one family and print its line."""
    from screening.roofs.footprints import Footprints
    from screening.roofs.planes import METHODS, roof_planes

    feet = Footprints.from_polygons(shapes)
    speeds = np.ones(len(feet.xy_m))
    for label, speed in (
        ("sloped", speeds),
        ("gables", (np.random.default_rng(seed).random(len(speeds)) > 0.25) * 1.0),
    ):
        start = time.process_time()
        planes = roof_planes(feet, speed)
        rate = len(feet) / (time.process_time() - start)
        counts = np.bincount(planes.method, minlength=len(METHODS))
        print(f"{name:15s} {label} {len(speeds) / len(feet):5.1f} corners {rate:10,.0f}/s  methods {counts.tolist()}")


def main() -> int:
    """Measure every family."""
    from tests.roofs.made_up import FAMILIES, polygons

    parser = argparse.ArgumentParser(description="Measure roof planes by family of footprint.")
    parser.add_argument("--count", type=int, default=2000, help="footprints of each family")
    parser.add_argument("--seed", type=int, default=1, help="seed of the families")
    options = parser.parse_args()
    families = {name: polygons(name, options.count, options.seed) for name in FAMILIES}
    measure("(compiling)", families["rectangle"][:10], options.seed)
    for name, shapes in families.items():
        measure(name, shapes, options.seed)
    measure("all", np.concatenate(list(families.values())), options.seed)
    measure("houses", np.concatenate([families[name] for name in HOUSES]), options.seed)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())

"""Make the demo area, a neighbourhood that does not exist, from a seed: the same bytes each time.

python scripts/make_demo_area.py [--out demo_area] [--seed 7]
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

SEED = 7


def main() -> int:
    """Make the area and say what came out."""
    from scripts.demo_area_maker.files import write_area
    from scripts.demo_area_maker.neighbourhood import make_neighbourhood

    parser = argparse.ArgumentParser(description="Make the demo area from a seed.")
    parser.add_argument("--out", type=Path, default=ROOT / "demo_area", help="folder to write to")
    parser.add_argument("--seed", type=int, default=SEED, help="seed of everything that is random")
    options = parser.parse_args()
    area = make_neighbourhood(options.seed)
    files = write_area(area, options.out)
    size = sum(path.stat().st_size for path in files)
    print(f"{len(area.lots)} lots, {len(area.roofs)} roofs, {len(area.streets)} streets, {len(area.trees)} trees")
    print(f"{len(files)} files, {size / 1e6:.2f} MB in {options.out}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())

"""Are stated chances found? Truths of the demo generator, an area on file made from each, both screened.

python scripts/check_chances.py [--truths 50] [--first-seed 101]

Ground without noise, soils and roofs are drawn for each truth; its area on file has the error of the rules in its
elevation, its soil lines and its roofs. Prints stated against found for each tenth of both chances, and how often the
true rank lies in the intervals stated; ends with 1 when a tenth with 200 pairs or more is off by more than 0.10. Takes
about ten seconds of one core a truth.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

import pandas as pd

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))


def main() -> int:
    """Draw, screen, count and print."""
    from screening import Rules
    from scripts.demo_area_maker.neighbourhood import make_neighbourhood
    from scripts.truths.areas import draw_truth, survey_on_file
    from scripts.truths.pairs import INTERVALS, WIDEST, covered, lot_pairs, tenths, worst_gap

    parser = argparse.ArgumentParser(description="Compare stated chances with made-up truths.")
    parser.add_argument("--truths", type=int, default=50, help="how many truths")
    parser.add_argument("--first-seed", type=int, default=101, help="seed of the first; the others follow")
    options = parser.parse_args()
    rules = Rules()
    survey = survey_on_file(ROOT / "demo_area" / "area.toml", rules)
    parts = []
    for seed in range(options.first_seed, options.first_seed + options.truths):
        parts.append(lot_pairs(draw_truth(make_neighbourhood(seed), survey, rules), rules))
        print(f"\r{len(parts)} of {options.truths} truths, {time.process_time():.0f} s", end="", file=sys.stderr)
    print(file=sys.stderr)
    pairs = pd.concat(parts, ignore_index=True)
    print(f"{len(pairs)} pairs of lot and truth, {rules.visits} visits, {rules.draws} draws")
    worst = 0.0
    for stated, found in (("feasible", "is_feasible"), ("in_first", "is_in_first")):
        table = tenths(pairs[stated], pairs[found])
        worst = max(worst, worst_gap(table))
        print(f"\nchance_{stated}\n{table.round(3).to_string()}")
    print()
    for share in INTERVALS:
        print(f"ranks within their {share:.0%} interval: {covered(pairs, share):.3f}")
    print(f"\nwidest gap of a tenth with pairs enough: {worst:.3f}, allowed {WIDEST:.2f}")
    return int(worst > WIDEST)


if __name__ == "__main__":
    raise SystemExit(main())

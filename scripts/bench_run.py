"""A whole run against what an analyst writes by hand, on the same made-up suburb, in one go.

python scripts/bench_run.py [--lots 2000 20000] [--peer SCRIPT] [--keep FOLDER]

For each size: makes the suburb, runs ``screening run`` on it and then the peer (``scripts/bench_peer.py``, or another
script that takes FOLDER and OUT), each in a process of its own, and prints wall and processor seconds, the time a lot,
the peak memory, the ratio, and the share of each stage by ``timings.json``. A small run comes first, so that compiling
is in none of the figures. Wall seconds mean something on an idle machine only; processor seconds, nearly anywhere.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).resolve().parent))

from bench_suburb import make_suburb

ROOT = Path(__file__).resolve().parents[1]
PEER = ROOT / "scripts" / "bench_peer.py"


class Cost(NamedTuple):
    """What a process took."""

    wall_s: float
    processor_s: float
    memory_gib: float


def cost_of(command: list[str]) -> Cost:
    """Run a command and tell what it took, its threads and its peak memory with it."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")])}
    start = time.perf_counter()
    process = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    wall_s = time.perf_counter() - start
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise SystemExit(f"exit code {process.returncode}: {' '.join(command)}")
    return Cost(wall_s, used.ru_utime + used.ru_stime, used.ru_maxrss / 2**20)


def screening_run(area: Path, out: Path) -> list[str]:
    """The command of a whole run."""
    return [sys.executable, "-m", "screening", "run", str(area), "-o", str(out), "--overwrite", "-q"]


def line(name: str, cost: Cost, lots: int) -> str:
    """One line of the table."""
    a_lot = 1000.0 * cost.processor_s / lots
    return (
        f"{name:10s} {cost.wall_s:8.1f} s wall {cost.processor_s:8.1f} s processor {a_lot:7.2f} ms a lot"
        f" {cost.memory_gib:6.2f} GiB"
    )


def shares(path: Path) -> list[str]:
    """Processor seconds by stage, the largest first, with its share of them all."""
    figures = json.loads(path.read_text(encoding="utf-8"))
    seconds = figures["processor_s"]
    total = sum(seconds.values())
    lines = [f"  by stage, processor seconds summed over {figures['threads']} threads:"]
    for name, used in sorted(seconds.items(), key=lambda item: -item[1]):
        lines.append(f"  {name:14s} {used:8.2f} s {100.0 * used / total:5.1f}%")
    lines.append("  wall: " + ", ".join(f"{name} {used:.1f} s" for name, used in figures["wall_s"].items()))
    return lines


def compare(folder: Path, lots: int, peer: Path) -> Cost:
    """Make a suburb, run both, print both."""
    area = make_suburb(folder / f"suburb_{lots}", lots)
    ours = cost_of(screening_run(area, folder / f"out_{lots}"))
    theirs = cost_of([sys.executable, str(peer), str(area.parent), str(folder / f"peer_{lots}")])
    print(f"\n{lots} lots")
    print(line("run", ours, lots))
    print(line("peer", theirs, lots))
    print(f"run / peer: {ours.wall_s / theirs.wall_s:.2f} wall, {ours.processor_s / theirs.processor_s:.2f} processor")
    print("\n".join(shares(folder / f"out_{lots}" / "timings.json")), flush=True)
    return ours


def main() -> None:
    """Compare at each size."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--lots", type=int, nargs="+", default=[2_000, 20_000])
    parser.add_argument("--peer", type=Path, default=PEER, help="script that takes FOLDER OUT")
    parser.add_argument("--keep", type=Path, help="folder to work in, kept; else a temporary one")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as temporary:
        folder = given.keep or Path(temporary)
        cost_of(screening_run(make_suburb(folder / "suburb_small", 60), folder / "out_small"))
        costs = {lots: compare(folder, lots, given.peer) for lots in given.lots}
    if len(costs) > 1:
        first, last = min(costs), max(costs)
        ratio = (costs[last].processor_s / last) / (costs[first].processor_s / first)
        print(f"\nprocessor time a lot at {last} lots: {ratio:.2f} of that at {first}")


if __name__ == "__main__":
    main()

"""What numba's compiling costs a run of the demo area: once in a fresh environment, then in a second process.

    python scripts/bench_compile.py                     # sums by room, fresh and again
    python scripts/bench_compile.py --kernels           # every kernel and signature too
    python scripts/bench_compile.py --stages            # every stage of the compiler's work too

Two processes run the demo area one after the other; the first finds its NUMBA_CACHE_DIR empty, the second what the
first left there. Seconds are processor time of the thread that compiles. A kernel's own time leaves out the kernels
compiled on its way. The whole run is the processor time of the process, so that what compiling costs beyond its own
account shows as the difference of the two.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from collections import Counter, defaultdict
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))


class Stopwatch:
    """Nested spans of one thread's processor time; each span's own time leaves out the spans within it."""

    def __init__(self) -> None:
        self._open: list[list[float]] = []

    def start(self) -> None:
        """Open a span."""
        self._open.append([time.thread_time(), 0.0])

    def stop(self) -> float:
        """Close the innermost span and return its own time [s]."""
        start, within = self._open.pop()
        taken = time.thread_time() - start
        if self._open:
            self._open[-1][1] += taken
        return taken - within


def record(found: dict[str, Any]) -> None:
    """Have numba's events and its cache write what they take into ``found``."""
    from numba.core import codegen, event

    from screening.jit.kept import KeptKernel

    watch, stages = Stopwatch(), Stopwatch()

    class Kernels(event.Listener):
        def on_start(self, _: Any) -> None:
            watch.start()

        def on_end(self, event: Any) -> None:
            kernel = event.data["dispatcher"].py_func
            name = f"{kernel.__module__.removeprefix('screening.')}.{kernel.__qualname__}"
            types = ", ".join(str(one) for one in event.data["args"])
            found["compiled"].append((name, types, watch.stop()))

    class Stages(event.Listener):
        def on_start(self, _: Any) -> None:
            stages.start()

        def on_end(self, event: Any) -> None:
            found["stages"][event.data["name"].split(" [")[0]] += stages.stop()

    def timed(owner: Any, name: str, account: str, outer: Stopwatch) -> None:
        inner = getattr(owner, name)

        def method(*args: Any, **options: Any) -> Any:
            outer.start()
            try:
                done = inner(*args, **options)
            finally:
                found[account][name] += outer.stop()
            found["counts"][name] += done is not None
            return done

        setattr(owner, name, method)

    event.register("numba:compile", Kernels())
    event.register("numba:run_pass", Stages())
    for name in ("load_overload", "save_overload"):
        timed(KeptKernel, name, "cache", watch)
    for name in ("_optimize_functions", "_optimize_final_module", "get_pointer_to_function"):
        timed(codegen.JITCodeLibrary, name, "stages", stages)


def child(account: Path) -> None:
    """Run the demo area in this process and write the account."""
    found: dict[str, Any] = {"compiled": [], "stages": Counter(), "cache": Counter(), "counts": Counter()}
    record(found)
    from screening.demo_data import demo_area_path
    from screening.pipeline import run_area

    with tempfile.TemporaryDirectory() as out:
        run_area(demo_area_path(), Path(out) / "demo", overwrite=True)
    found["whole"] = time.process_time()
    account.write_text(json.dumps(found))


def show(found: dict[str, Any], by_kernel: bool, by_stage: bool) -> None:
    """Print one process's account."""
    rooms: defaultdict[str, list[float]] = defaultdict(list)
    for name, _, taken in found["compiled"]:
        rooms[name.split(".")[0]].append(taken)
    for room, taken in sorted(rooms.items()):
        print(f"  {room:12s} {sum(taken):7.2f} s   {len(taken):4d} kernels and signatures")
    cache = found["cache"]
    print(f"  {'compiling':12s} {sum(map(sum, rooms.values())):7.2f} s")
    print(f"  {'storing':12s} {cache.get('save_overload', 0.0):7.2f} s")
    print(
        f"  {'loading':12s} {cache.get('load_overload', 0.0):7.2f} s   {found['counts'].get('load_overload', 0)} found"
    )
    print(f"  {'whole run':12s} {found['whole']:7.2f} s")
    if by_stage:
        for stage, taken in sorted(found["stages"].items(), key=lambda item: -item[1]):
            print(f"    {taken:7.2f} s  {stage}")
    if by_kernel:
        for name, types, taken in sorted(found["compiled"], key=lambda item: -item[2]):
            print(f"    {taken:7.2f} s  {name}({types})")


def main() -> int:
    """Measure a fresh process and a second one."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--kernels", action="store_true", help="every kernel and signature")
    parser.add_argument("--stages", action="store_true", help="every stage of the compiler")
    parser.add_argument("--child", type=Path, help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.child:
        child(given.child)
        return 0
    with tempfile.TemporaryDirectory() as folder:
        account = Path(folder) / "account.json"
        environment = os.environ | {"NUMBA_CACHE_DIR": str(Path(folder) / "cache")}
        for label in ("fresh", "again"):
            subprocess.run([sys.executable, __file__, "--child", str(account)], check=True, env=environment)
            print(label)
            show(json.loads(account.read_text()), given.kernels, given.stages)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())

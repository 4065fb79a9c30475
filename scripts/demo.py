"""Screen the demo area on a machine that has Python and nothing else.

    python3 scripts/demo.py [options of ``screening demo``]

Makes the checkout's own environment the first time, then runs the screening: the path of the map and the first lots
come out on standard output.
"""

from __future__ import annotations

import subprocess
import sys

from own_environment import ROOT, CannotGoOn, ensure_environment


def main() -> int:
    """Make the environment, run the demo, return its exit code."""
    try:
        python = ensure_environment()
    except CannotGoOn as reason:
        print(reason, file=sys.stderr)
        return 1
    return subprocess.run([python, "-m", "screening", "demo", *sys.argv[1:]], cwd=ROOT, check=False).returncode


if __name__ == "__main__":
    raise SystemExit(main())

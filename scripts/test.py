"""Check everything on a machine that has Python and nothing else: lint, types, tests.

    python3 scripts/test.py [options of pytest]

Makes the checkout's own environment the first time. The tests marked ``browser`` open a real Chromium; where there is
none, it is installed when we are root on a Debian, and otherwise this says how to get it and fails.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

from own_environment import ROOT, CannotGoOn, ensure_environment, install_debian, is_debian_root

PLAYWRIGHT_BROWSER = """
from pathlib import Path
from playwright.sync_api import sync_playwright
with sync_playwright() as play:
    raise SystemExit(0 if Path(play.chromium.executable_path).exists() else 1)
"""
WORKERS = "2"


def ensure_chromium(python: Path) -> None:
    """See that the browser tests find a Chromium."""
    if shutil.which("chromium") is not None:
        return
    if subprocess.run([python, "-c", PLAYWRIGHT_BROWSER], cwd=ROOT, check=False).returncode == 0:
        return
    if is_debian_root():
        install_debian(["chromium"], "Tests marked browser")
        return
    raise CannotGoOn(
        "The tests marked `browser` (tests/outputs) open the map in Chromium, which is not here. Get it with\n"
        f"    apt-get install chromium        (Debian, as root)\n    {python} -m playwright install chromium"
    )


def main() -> int:
    """Run every check, the tests last; fail when one of them fails."""
    try:
        python = ensure_environment("dask", "test")
        ensure_chromium(python)
    except CannotGoOn as reason:
        print(reason, file=sys.stderr)
        return 1
    checks: list[list[str]] = [
        ["ruff", "check", "--quiet", "."],
        ["ruff", "format", "--check", "--quiet", "."],
        ["mypy"],
        ["pytest", "-n", WORKERS, *sys.argv[1:]],
    ]
    failed = []
    for check in checks:
        print(f"== {' '.join(check)}", flush=True)
        if subprocess.run([python, "-m", *check], cwd=ROOT, check=False).returncode != 0:
            failed.append(check[0])
    if failed:
        print(f"failed: {', '.join(failed)}", file=sys.stderr)
    return 1 if failed else 0


if __name__ == "__main__":
    raise SystemExit(main())

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

from database import NOT_HERE
from own_environment import ROOT, CannotGoOn, ensure_environment, install_debian, is_debian_root, missing_libraries

BROWSER_TESTS = "Tests marked `browser` (tests/outputs/map), which open the map in Chromium"
BROWSER_DRIVER = {"libatomic.so.1": "libatomic1"}
OWN_BROWSER = """
from pathlib import Path
from playwright.sync_api import sync_playwright
with sync_playwright() as play:
    raise SystemExit(0 if Path(play.chromium.executable_path).exists() else 1)
"""
WORKERS = "2"


def ensure_chromium(python: Path) -> None:
    """See that the browser tests find a Chromium and what drives it."""
    missing = missing_libraries(BROWSER_DRIVER)
    if missing:
        install_debian(missing, BROWSER_TESTS)
    if shutil.which("chromium") is not None:
        return
    if subprocess.run([python, "-c", OWN_BROWSER], cwd=ROOT, check=False, capture_output=True).returncode == 0:
        return
    if not is_debian_root():
        print(f"Elsewhere than on Debian: {python} -m playwright install chromium", file=sys.stderr)
    install_debian(["chromium"], BROWSER_TESTS)


def database_tests(python: Path) -> bool:
    """Run the tests that talk to a real database, with a server of their own; said aloud where there can be none."""
    print("== pytest -m database", flush=True)
    command = [python, ROOT / "scripts" / "database.py", "run", python, "-m", "pytest", "-q", "-m", "database"]
    code = subprocess.run([*map(str, command), "tests/database"], cwd=ROOT, check=False).returncode
    if code == NOT_HERE:
        print("SKIPPED: the tests with a database, as this machine has none and none can be installed", flush=True)
    return code in (0, NOT_HERE)


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
        ["pytest", "-n", WORKERS, "-m", "not database", *sys.argv[1:]],
    ]
    failed = []
    for check in checks:
        print(f"== {' '.join(check)}", flush=True)
        if subprocess.run([python, "-m", *check], cwd=ROOT, check=False).returncode != 0:
            failed.append(check[0])
    if not database_tests(python):
        failed.append("pytest -m database")
    if failed:
        print(f"failed: {', '.join(failed)}", file=sys.stderr)
    return 1 if failed else 0


if __name__ == "__main__":
    raise SystemExit(main())

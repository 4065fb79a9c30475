"""Make this checkout's own Python environment, once: ``.venv`` with the package and the versions of ``pins.txt``.

Standard library only, since nothing else is there yet. What the system itself lacks is installed when we are root on a
Debian; otherwise it is named, and nothing is done behind anybody's back.
"""

from __future__ import annotations

import ctypes
import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
VENV = ROOT / ".venv"
STAMP = VENV / "installed.json"
PINS = ROOT / "scripts" / "pins.txt"
NEEDED = (3, 11)


class CannotGoOn(Exception):
    """Something is missing that only the person at the machine can supply; the message says what and how."""


def run(command: list[str | Path], **settings: str) -> None:
    """Run a command in the checkout, with some environment variables set; stop when it fails."""
    words = [str(word) for word in command]
    done = subprocess.run(words, cwd=ROOT, env={**os.environ, **settings}, check=False)
    if done.returncode != 0:
        raise CannotGoOn(f"This failed, with exit code {done.returncode}: {' '.join(words)}")


def python_command() -> str:
    """A Python of the version that this package supports: the one that runs, or another on the path."""
    if sys.version_info[:2] == NEEDED:
        return sys.executable
    version = ".".join(map(str, NEEDED))
    other = shutil.which(f"python{version}")
    if other is None:
        found = ".".join(map(str, sys.version_info[:2]))
        raise CannotGoOn(f"Python {version} is needed and not found; this is Python {found}. Install it and run again.")
    return other


def is_debian_root() -> bool:
    """Whether Debian packages can be installed here without asking."""
    return hasattr(os, "geteuid") and os.geteuid() == 0 and shutil.which("apt-get") is not None


def install_debian(packages: list[str], what_for: str) -> None:
    """Install Debian packages, or say which are missing and what for."""
    if not is_debian_root():
        names = " ".join(packages)
        raise CannotGoOn(f"{what_for}: this system lacks {names}. On Debian, as root: apt-get install {names}")
    print(f"Installing {' '.join(packages)} ({what_for})", flush=True)
    run(["apt-get", "update", "-qq"], DEBIAN_FRONTEND="noninteractive")
    run(["apt-get", "install", "-y", "-qq", "--no-install-recommends", *packages], DEBIAN_FRONTEND="noninteractive")


def missing_libraries(packages: dict[str, str]) -> list[str]:
    """The Debian packages of those shared libraries that a Linux system lacks."""
    missing = []
    for library, package in packages.items() if sys.platform.startswith("linux") else ():
        try:
            ctypes.CDLL(library)
        except OSError:
            missing.append(package)
    return missing


def missing_debian_packages() -> list[str]:
    """What Debian's slim Python leaves out and the package needs."""
    venv = [] if importlib.util.find_spec("ensurepip") is not None else ["python3-venv"]
    return venv + missing_libraries({"libexpat.so.1": "libexpat1"})


def venv_python() -> Path:
    """The environment's Python."""
    return VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def wanted_state() -> str:
    """A hash of everything that decides what is installed."""
    digest = hashlib.sha256(str(ROOT).encode())
    for path in (ROOT / "pyproject.toml", PINS):
        digest.update(path.read_bytes())
    return digest.hexdigest()


def installed_extras(state: str) -> set[str] | None:
    """The extras that are installed, or None when nothing of this state is."""
    if not (STAMP.exists() and venv_python().exists()):
        return None
    stamp = json.loads(STAMP.read_text(encoding="utf-8"))
    return set(stamp["extras"]) if stamp["state"] == state else None


def ensure_environment(*extras: str) -> Path:
    """Make the environment unless it stands already; return its Python.

    Parameters
    ----------
    extras
        Optional parts of the package to install with it.
    """
    state = wanted_state()
    there = installed_extras(state)
    if there is not None and there.issuperset(extras):
        return venv_python()
    python = python_command()
    missing = missing_debian_packages()
    if missing:
        install_debian(missing, "A Python environment")
    if not venv_python().exists():
        print(f"Making a Python environment in {VENV}", flush=True)
        run([python, "-m", "venv", "--clear", VENV])
    install(sorted((there or set()) | set(extras)))
    STAMP.write_text(json.dumps({"state": state, "extras": sorted((there or set()) | set(extras))}), encoding="utf-8")
    return venv_python()


def install(extras: list[str]) -> None:
    """Install the package from the checkout, every version pinned, the build tool's among them."""
    print("Installing the package and what it needs (some minutes the first time)", flush=True)
    pip: list[str | Path] = [venv_python(), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    pip += ["--no-warn-script-location", "--root-user-action", "ignore", "--constraint", PINS]
    run([*pip, "setuptools"])
    package = f"{ROOT}[{','.join(extras)}]" if extras else str(ROOT)
    run([*pip, "--no-build-isolation", "--editable", package])

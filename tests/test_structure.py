"""What the layout promises: imports run one way, files stay small, compiled code has its own rooms."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "screening"
FILES = sorted(PACKAGE.rglob("*.py"))

BASE = (
    "errors",
    "units",
    "fields",
    "rules",
    "lot_rules",
    "grid",
    "sources",
    "jit",
    "background",
    "area",
    "places",
    "result",
    "progress",
    "clock",
    "demo_data",
)
FLOORS = (
    BASE,
    ("inputs",),
    ("terrain", "soils", "roofs"),
    ("siting",),
    ("water",),
    ("ranking",),
    ("streets",),
    ("season",),
    ("blocks", "outputs"),
    ("pipeline",),
    ("cli",),
    ("__main__",),
)
"""Rooms from the ground up: a room imports its own floor's own room, and rooms of floors below."""

INDEPENDENT = ({"terrain", "soils", "roofs"}, {"blocks", "outputs"})
"""Rooms on one floor that do not import each other."""


def room_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def floor(room: str) -> int:
    for number, rooms in enumerate(FLOORS):
        if room in rooms:
            return number
    raise AssertionError(f"{room} stands on no floor: add it to FLOORS in {Path(__file__).name}")


def imports(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("screening"):
            parts = node.module.split(".")
            found |= {parts[1]} if len(parts) > 1 else {alias.name for alias in node.names}
        elif isinstance(node, ast.Import):
            found |= {alias.name.split(".")[1] for alias in node.names if alias.name.startswith("screening.")}
    return found


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_imports_run_one_way(path):
    room = room_of(path)
    if room == "__init__":
        return
    for other in imports(path) - {room, "__version__"}:
        assert floor(other) <= floor(room), f"{path.relative_to(ROOT)} imports {other}, which stands above it"
        for rooms in INDEPENDENT:
            assert not {room, other} <= rooms, f"{path.relative_to(ROOT)} imports its neighbour {other}"


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_files_and_functions_stay_small(path):
    text = path.read_text(encoding="utf-8")
    assert text.count("\n") <= 300
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            length = node.end_lineno - node.lineno + 1
            assert length <= 60 or "kernels" in path.parts, f"{node.name}: {length} lines"


def test_only_kernels_compile():
    for path in FILES:
        text = path.read_text(encoding="utf-8")
        if path.is_relative_to(PACKAGE / "jit"):
            continue
        if re.search(r"^\s*(import numba|from numba)", text, re.MULTILINE):
            raise AssertionError(f"{path.relative_to(ROOT)} imports numba; use screening.jit in a kernels folder")
        if re.search(r"^@compiled", text, re.MULTILINE):
            assert "kernels" in path.parts, f"{path.relative_to(ROOT)} compiles outside a kernels folder"


def test_no_room_for_odds_and_ends():
    names = {path.stem for path in FILES} | {path.parent.name for path in FILES}
    assert not names & {"utils", "util", "helpers", "helper", "common", "core", "base", "misc"}


def test_stages_print_nothing():
    for path in FILES:
        if room_of(path) in ("cli", "progress"):
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            called = isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "print"
            assert not called, f"{path.relative_to(ROOT)} prints"

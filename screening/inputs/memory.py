"""How much memory a run takes, told before it does."""

from __future__ import annotations

import os
from typing import Final

from screening.inputs.findings import Findings

__all__ = ["GIB", "machine_memory_b", "memory_needed_b", "most_cells", "tell_memory", "tell_too_many"]

BASE_B: Final = 500e6
"""The program and its libraries [B]."""
CELL_B: Final = 80.0
"""Each cell of the elevation, at the peak, which is that of the terrain [B]."""
LOT_B: Final = 60e3
"""Each lot: its roofs, downspouts, places and their leads and reasons [B]."""
GIB: Final = 2.0**30


def memory_needed_b(cells: int, lots: int) -> float:
    """Memory that a run of so many cells and lots takes at its peak, roughly [B]."""
    return BASE_B + CELL_B * cells + LOT_B * lots


def machine_memory_b() -> float | None:
    """Memory of this machine [B]; None where the system does not tell."""
    try:
        return float(os.sysconf("SC_PAGE_SIZE")) * float(os.sysconf("SC_PHYS_PAGES"))
    except (AttributeError, OSError, ValueError):
        return None


def most_cells() -> float:
    """Cells of elevation beyond which this machine certainly cannot hold a run."""
    there = machine_memory_b()
    return float("inf") if there is None else 2.0 * there / CELL_B


def tell_too_many(cells: int, findings: Findings, *, file: str, layer: str) -> None:
    """Keep the fault of a raster that has more than `most_cells`."""
    what = f"{cells:,} cells are more than this machine can hold in memory"
    findings.fault(what, "Name a part of the area with [within], or give a coarser raster", file=file, layer=layer)


def tell_memory(cells: int, lots: int, findings: Findings) -> None:
    """Caution when a run takes more memory than the machine has."""
    needed, there = memory_needed_b(cells, lots), machine_memory_b()
    if there is not None and needed > there:
        findings.note(
            "caution",
            f"A run takes about {needed / GIB:.1f} GiB of memory, and this machine has {there / GIB:.1f}: name a "
            "part of the area with [within], or screen it on a larger machine.",
        )

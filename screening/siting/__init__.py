"""Siting: where on a lot a garden can stand, and why not elsewhere."""

from screening.siting.candidates import search
from screening.siting.choose import choose
from screening.siting.ground import ground
from screening.siting.judge import judge

__all__ = ["choose", "ground", "judge", "search"]

"""Siting: where on a lot a garden can stand, and why not elsewhere."""

from screening.siting.ground import ground

__all__ = ["ground"]

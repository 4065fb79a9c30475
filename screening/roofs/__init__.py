"""Roofs: pieces on lots, their planes, downspouts and the share of roof that drains to each.

``roof_shares`` is the stage; ``share_roofs`` does the same from plain tables.
"""

from screening.roofs.shares import roof_shares, share_roofs

__all__ = ["roof_shares", "share_roofs"]

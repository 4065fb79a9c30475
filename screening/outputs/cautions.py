"""What must be said wherever the results are read."""

from __future__ import annotations

from typing import Final

__all__ = ["CAUTIONS", "OTHER_HELP", "SHORT_CAUTION"]

SHORT_CAUTION: Final = (
    "A desk screening, not a design. Have buried utilities located before any digging. "
    "Local code, easements and licensed practitioners decide."
)

CAUTIONS: Final = (
    "This is a desk screening from maps, not a design: every place is to be seen before anything is promised.",
    "Have buried utilities located before any digging. Private lines (sprinklers, fences, tanks, septic) are not "
    "marked by a free locating service.",
    "Services are likely in every front yard.",
    "Keep clear of foundations, wells, septic fields, steep or unstable ground, and retaining walls.",
    "Cover or fence an open test hole, and never leave it overnight uncovered.",
    "Lot lines and downspouts on a map are not survey truth.",
    "Water that runs over a walk freezes: no overflow over a walk or a drive.",
    "Local code, easements and licensed practitioners decide.",
)

OTHER_HELP: Final = (
    "a rain barrel at a downspout",
    "a planter box fed by a downspout",
    "a tree",
    "planting in place of lawn",
    "permeable paving when a drive or patio is renewed",
)
"""What else could help where no garden place was found."""

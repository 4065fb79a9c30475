"""Name the nearest known word when a key, column or layer is not known."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

__all__ = ["known_list", "nearest"]


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word nearest to ``word``, or None when none is near."""
    by_lower = {name.lower(): name for name in sorted(known, reverse=True)}
    found = get_close_matches(word.lower(), sorted(by_lower), n=1, cutoff=0.5)
    return by_lower[found[0]] if found else None


def known_list(word: str, known: Iterable[str]) -> str:
    """A mend: the nearest known word, and all of them."""
    names = list(known)
    near = nearest(word, names)
    hint = f"Did you mean {near!r}? " if near else ""
    return f"{hint}Known: {', '.join(names) if names else 'none'}"

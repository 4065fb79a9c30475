"""Several ids in one cell of a table: a JSON list, since an id may hold any character."""

from __future__ import annotations

import json
from collections.abc import Iterable
from json.encoder import encode_basestring
from typing import Any

__all__ = ["ids_of", "ids_text"]


def ids_text(ids: Iterable[str]) -> str:
    """Ids as one text, in order of code points."""
    return f"[{', '.join(map(encode_basestring, sorted(ids)))}]"


def ids_of(text: Any) -> tuple[str, ...]:
    """The ids of such a text; none of a missing one."""
    return tuple(json.loads(text)) if isinstance(text, str) and text else ()

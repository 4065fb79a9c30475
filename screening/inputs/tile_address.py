"""The address of an online service's map tiles: what may stand in it.

It goes into the page and, cut to scheme and host, into the page's policy, so it is held to the few signs that addresses
need.
"""

from __future__ import annotations

import re
from typing import Final
from urllib.parse import urlsplit

__all__ = ["tile_address"]

_SIGNS: Final = re.compile(r"[A-Za-z0-9\-._~:/?@!$&()*+=%{}]*")
"""Signs of an address, without quotes, spaces, commas, semicolons, brackets and the sign of a fragment."""
_HOST: Final = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9\-]*[A-Za-z0-9])?(?:\.[A-Za-z0-9](?:[A-Za-z0-9\-]*[A-Za-z0-9])?)*")
_HOLDERS: Final = re.compile(r"\{([^{}]*)\}")
_EXAMPLE: Final = "https://tiles.example.org/{z}/{x}/{y}.png"


def tile_address(text: str) -> str:
    """An address of map tiles that can be used.

    Parameters
    ----------
    text
        As the area file writes it.

    Returns
    -------
    str
        The same.

    Raises
    ------
    ValueError
        With everything that is wrong with it, and an example; never with the address, which may hold a key.
    """
    wrong = [*_wrong_signs(text), *_wrong_place(text), *_wrong_holders(text)]
    if wrong:
        raise ValueError(f"{'; '.join(wrong)}; write it like {_EXAMPLE}")
    return text


def _wrong_signs(text: str) -> list[str]:
    """Signs that have no place in an address."""
    if _SIGNS.fullmatch(text):
        return []
    return ["it holds a sign that no such address needs (a space, quote, comma, semicolon, #, or one beyond ASCII)"]


def _wrong_place(text: str) -> list[str]:
    """Faults of scheme, host, port and what stands before the host."""
    try:
        parts = urlsplit(text)
        port_is_fine = parts.port is None or parts.port > 0
    except ValueError:
        return ["its host cannot be understood"]
    wrong = []
    if parts.scheme not in ("http", "https"):
        wrong.append("it must begin with https:// or http://")
    if "@" in parts.netloc:
        wrong.append("a user or password in it would stand in the page for all to read")
    place = parts.netloc.rpartition("@")[2]
    host = re.sub(r":\d+$", "", place)
    if not host:
        wrong.append("it names no host")
    elif not _HOST.fullmatch(host) or not port_is_fine:
        wrong.append("its host must be one plain name, without placeholders")
    return wrong


def _wrong_holders(text: str) -> list[str]:
    """Faults of the placeholders."""
    found = _HOLDERS.findall(text)
    wrong = [f"it lacks {{{name}}}" for name in ("z", "x") if name not in found]
    if "y" not in found and "-y" not in found:
        wrong.append("it lacks {y} (or {-y}, where rows count from the south)")
    if "y" in found and "-y" in found:
        wrong.append("it holds both {y} and {-y}")
    others = sorted(set(found) - {"z", "x", "y", "-y"})
    if others:
        wrong.append(
            f"{', '.join(f'{{{name}}}' for name in others)} is no placeholder here: name one host and one path"
        )
    if re.search(r"[{}]", _HOLDERS.sub("", text)):
        wrong.append("a brace stands alone in it")
    return wrong

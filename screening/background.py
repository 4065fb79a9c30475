"""What may lie under the map when its reader asks for it: an air photo from a file, and tiles of online services."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

__all__ = ["Background", "OnlineTiles", "Photo", "PhotoFile"]


@dataclass(frozen=True)
class PhotoFile:
    """One file of an air photo.

    Parameters
    ----------
    path
        As GDAL opens it.
    name
        As people know it.
    crs
        Its horizontal CRS as WKT.
    """

    path: str
    name: str
    crs: str


@dataclass(frozen=True)
class Photo:
    """An air photo: its files, where two overlap the first over the second, and whom to name for it."""

    files: tuple[PhotoFile, ...]
    credit: str = ""


@dataclass(frozen=True)
class OnlineTiles:
    """Map tiles of an online service.

    Parameters
    ----------
    address
        Address of one tile, with ``{z}``, ``{x}`` and ``{y}`` or ``{-y}``.
    credit
        What the service wants shown beside them.
    deepest
        Deepest zoom that it serves.
    """

    address: str
    credit: str
    deepest: int = 19

    @property
    def origin(self) -> str:
        """Scheme, host and port: all that a page's policy or a run record may tell of the address."""
        parts = urlsplit(self.address)
        return f"{parts.scheme}://{parts.netloc.rpartition('@')[2].lower()}"

    @property
    def host(self) -> str:
        """The host, for people."""
        return self.origin.partition("://")[2]

    @property
    def carries_query(self) -> bool:
        """Whether the address carries a query, which may hold a key."""
        return bool(urlsplit(self.address).query)


@dataclass(frozen=True)
class Background:
    """Every background that the area file names; each is off until a reader switches it on."""

    photo: Photo | None = None
    tiles: OnlineTiles | None = None
    photo_tiles: OnlineTiles | None = None

    @property
    def online(self) -> Mapping[str, OnlineTiles]:
        """The services given, by key of the area file."""
        both = {"tiles": self.tiles, "photo_tiles": self.photo_tiles}
        return {key: given for key, given in both.items() if given is not None}

    def record(self) -> dict[str, Any]:
        """What a run record tells: the photo's files, and of each service no more than scheme and host."""
        photo = {"photo": [file.name for file in self.photo.files]} if self.photo else {}
        return {**photo, **{key: tiles.origin for key, tiles in self.online.items()}}

"""What a page holds of its backgrounds: the air photo as a picture, and which services it may ask."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from screening.background import OnlineTiles
from screening.outputs.map.photo import Stretch, photo_picture, stretch_of
from screening.outputs.map.relief import Picture
from screening.result import Screening

__all__ = ["PageBackground", "Stretch", "background_of", "photo_stretch"]


@dataclass(frozen=True)
class PageBackground:
    """The backgrounds of one page.

    Parameters
    ----------
    photo
        The air photo around its lots; None where there is none.
    photo_names, photo_credit
        Its files, and whom to name for it.
    online
        Online services by key of the area file.
    """

    photo: Picture | None = None
    photo_names: tuple[str, ...] = ()
    photo_credit: str = ""
    online: Mapping[str, OnlineTiles] = field(default_factory=dict)

    @property
    def photo_url(self) -> str:
        """The photo as a data URI, empty where there is none."""
        return self.photo.url if self.photo else ""

    @property
    def origins(self) -> tuple[str, ...]:
        """Scheme and host of every service, each once."""
        return tuple(dict.fromkeys(tiles.origin for tiles in self.online.values()))

    def told(self) -> dict[str, Any]:
        """What the page's script is told, as JSON."""
        photo = self.photo and {
            "bounds": [list(corner) for corner in self.photo.bounds],
            "names": list(self.photo_names),
            "credit": self.photo_credit,
        }
        online = {
            key: {"address": tiles.address, "host": tiles.host, "credit": tiles.credit, "deepest": tiles.deepest}
            for key, tiles in self.online.items()
        }
        return {"photo": photo, "online": online}


def background_of(result: Screening, stretch: Stretch | None = None, *, photo: bool = True) -> PageBackground | None:
    """What a page of a result holds of its backgrounds; None where it has none.

    Parameters
    ----------
    result
        The result, its rasters cut to what the page shows.
    stretch
        Which values of a photo of 16 bits are black and white, where the page shows a part; found when None.
    photo
        False leaves the photo out.
    """
    given = result.background
    if given is None:
        return None
    shown = PageBackground(online=given.online)
    if photo and given.photo is not None:
        heights = result.rasters["heights_m"]
        picture = photo_picture(given.photo, heights, result.crs, stretch or photo_stretch(result))
        if picture is not None:
            names = tuple(dict.fromkeys(file.name for file in given.photo.files))
            shown = PageBackground(picture, names, given.photo.credit, given.online)
    return None if shown == PageBackground() else shown


def photo_stretch(result: Screening) -> Stretch | None:
    """Which values of a photo of 16 bits are black and white over the whole of a result; None for one of bytes."""
    given = result.background
    if given is None or given.photo is None:
        return None
    return stretch_of(given.photo, result.rasters["heights_m"], result.crs)

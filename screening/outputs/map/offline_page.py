"""A folium page that needs no network: every script and style stands in it, or it is not made at all."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Mapping, Sequence
from importlib import resources
from typing import Any, Final

import folium
from branca.element import CssLink, Element, Figure, JavascriptLink

__all__ = ["LEAFLET", "Literal", "MapShell", "OfflinePage", "content_policy", "leaflet_assets"]

LEAFLET: Final = ("leaflet.js", "leaflet.css")
"""Names of the assets that the shell links to; ``leaflet_assets`` holds their text."""

_ORIGIN: Final = re.compile(r"https?://[a-z0-9.\-]+(?::[0-9]+)?")


def _leaflet(name: str) -> bytes:
    """One of Leaflet's files."""
    return resources.files("xstatic.pkg.leaflet").joinpath("data", name).read_bytes()


def _text(name: str) -> str:
    """One of Leaflet's files as text, with the line ends that a browser hashes."""
    return _leaflet(name).decode("utf-8").replace("\r\n", "\n").replace("\r", "\n")


def leaflet_assets() -> dict[str, str]:
    """Leaflet's script and style as text: images as data, no source map, nothing that ends a script early."""
    script = re.sub(r"//# sourceMappingURL=\S*\s*$", "", _text("leaflet.js"))
    style = _text("leaflet.css")

    def inlined(found: re.Match[str]) -> str:
        name = found.group(1).strip("'\"")
        if name.startswith("#"):
            return "none"  # a behaviour of browsers long gone
        return f"url(data:image/png;base64,{base64.b64encode(_leaflet(name)).decode('ascii')})"

    return {
        "leaflet.js": script.replace("</script", "<\\/script"),
        "leaflet.css": re.sub(r"url\(([^)]*)\)", inlined, style),
    }


class Literal(Element):
    """Text that goes into the page as it is, never read as a template."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self._text = text

    def render(self, **kwargs: Any) -> str:  # noqa: ARG002  # the signature of an element
        """The text."""
        return self._text


class OfflinePage(Figure):
    """A figure that puts every asset into the page and raises on one that it holds no copy of.

    Parameters
    ----------
    assets
        Text of scripts and styles by the address that layers link them under.
    language
        Language of the page.
    style
        The page's own style, after those of the assets.
    head, before, after, last
        Text of the page's own: inside the head; in the body before the map and after it; and after the map's script.
    origins
        Scheme and host of services that the page may ask for pictures.
    """

    def __init__(
        self,
        assets: Mapping[str, str],
        language: str,
        head: str,
        before: str,
        after: str,
        last: str,
        style: str,
        origins: Sequence[str] = (),
    ) -> None:
        super().__init__()
        self._origins = tuple(origins)
        self._assets = assets
        self._language, self._style = language, style
        self._head, self._before, self._after, self._last = head, before, after, last
        self.header._children.clear()

    def _inline(self, element: Element) -> str:
        """One element of the head as text."""
        if isinstance(element, JavascriptLink | CssLink):
            if element.url not in self._assets:
                raise ValueError(f"the page has no local copy of {element.url}")
            tag = "script" if isinstance(element, JavascriptLink) else "style"
            return f"<{tag}>{self._assets[element.url]}</{tag}>"
        return _local(str(element.render()))

    def render(self, **kwargs: Any) -> str:
        """The whole page. To be called once: layers add to the page each time they are drawn."""
        for child in list(self._children.values()):
            child.render(**kwargs)
        head = "\n".join(self._inline(element) for element in self.header._children.values())
        body = "\n".join(_local(str(element.render())) for element in self.html._children.values())
        script = "\n".join(str(element.render()) for element in self.script._children.values())
        head = re.sub(r"<meta name=\"viewport\"[^>]*>", "", head)
        content = (
            f"{self._head}\n{head}\n<style>{self._style}</style>\n</head>\n<body>\n{self._before}\n{body}\n{self._after}\n"
            f"<script>{script}</script>\n{self._last}\n"
        )
        return (
            f'<!DOCTYPE html>\n<html lang="{self._language}">\n<head>\n<meta charset="utf-8">\n'
            f"{content_policy(content, self._origins)}\n{content}</body>\n</html>\n"
        )


def _local(text: str) -> str:
    """The text of an element, when no tag in it links to the outside."""
    outside = re.search(r"<[a-z]+[^>]*\s(?:src|href)\s*=\s*[\"']?(?!data:|#)[^\s\"'>]+", text)
    if outside:
        raise ValueError(f"the page has no local copy of what this links to: {outside.group(0)}")
    return text


def content_policy(content: str, origins: Sequence[str] = ()) -> str:
    """The policy that lets only the page's own scripts and styles run, as a meta element.

    Parameters
    ----------
    content
        The page; every ``script`` without a type and every ``style`` in it is allowed by its hash.
    origins
        Scheme and host of services that pictures may come from, beside the page itself.

    Raises
    ------
    ValueError
        When an origin is more than scheme, host and port, and so could say something else to the browser.
    """
    if not all(_ORIGIN.fullmatch(origin) for origin in origins):
        raise ValueError("the page's policy takes a scheme and a host, and no more")
    images = " ".join(["data:", "blob:", *dict.fromkeys(origins)])

    def hashes(pattern: str) -> str:
        found = re.findall(pattern, content, re.DOTALL)
        digests = [base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii") for text in found]
        return " ".join(f"'sha256-{digest}'" for digest in dict.fromkeys(digests)) or "'none'"

    policy = (
        f"default-src 'none'; script-src {hashes(r'<script>(.*?)</script>')}; "
        f"style-src {hashes(r'<style>(.*?)</style>')}; img-src {images}; base-uri 'none'; form-action 'none'"
    )
    return f'<meta http-equiv="Content-Security-Policy" content="{policy}">'


class MapShell(folium.Map):
    """A folium map that links to Leaflet and nothing else."""

    default_js = [("leaflet", LEAFLET[0])]  # noqa: RUF012  # folium reads a plain list
    default_css = [("leaflet_css", LEAFLET[1])]  # noqa: RUF012

"""Rows of the ``layer_styles`` table, by which a desktop GIS opens the GeoPackage's layers already drawn."""

from __future__ import annotations

from typing import Any, Final
from xml.etree import ElementTree

import pandas as pd

from screening.outputs.palette import GREY, SUITABILITY
from screening.outputs.suitability import suitability_breaks
from screening.result import Screening

__all__ = ["layer_styles"]

_FILLS: Final[dict[str, tuple[str, str]]] = {
    "roof_pieces": ("#c9c5bd", "#6f6a61"),
    "roof_shares": ("#ded9cf", "#8b857a"),
    "open_ground": ("#dcefd6", "#7fae74"),
    "candidates": ("#8fd0e6", "#145a75"),
    "catchments": ("#e4dff0", "#5b3f8f"),
}
_LINES: Final[dict[str, tuple[str, float]]] = {
    "leads": ("#145a75", 0.5),
    "overflow_paths": ("#b0562c", 0.4),
    "streets": ("#555555", 0.6),
}
_POINTS: Final[dict[str, str]] = {"downspouts": "#145a75", "inlet_totals": "#145a75", "problems": "#b00020"}


def _rgb(colour: str) -> str:
    """A colour as red, green, blue, alpha."""
    return ",".join(str(int(colour[at : at + 2], 16)) for at in (1, 3, 5)) + ",255"


def _symbol(parent: ElementTree.Element, name: str, kind: str, layer: str, options: dict[str, str]) -> None:
    """One symbol with one layer."""
    symbol = ElementTree.SubElement(parent, "symbol", {"name": name, "type": kind, "alpha": "1"})
    drawn = ElementTree.SubElement(symbol, "layer", {"class": layer, "enabled": "1", "pass": "0", "locked": "0"})
    held = ElementTree.SubElement(drawn, "Option", {"type": "Map"})
    for key, value in options.items():
        ElementTree.SubElement(held, "Option", {"name": key, "value": value, "type": "QString"})


def _fill(fill: str, line: str, style: str = "solid") -> dict[str, str]:
    return {
        "color": _rgb(fill), "style": style, "outline_color": _rgb(line), "outline_style": "solid",
        "outline_width": "0.2", "outline_width_unit": "MM",
    }  # fmt: skip


def _document(renderer: dict[str, str]) -> tuple[ElementTree.Element, ElementTree.Element, ElementTree.Element]:
    root = ElementTree.Element("qgis", {"version": "3.28.0", "styleCategories": "Symbology"})
    drawn = ElementTree.SubElement(root, "renderer-v2", renderer)
    return root, drawn, ElementTree.SubElement(drawn, "symbols")


def _text(root: ElementTree.Element) -> str:
    return ElementTree.tostring(root, encoding="unicode")


def _lots_style(breaks: tuple[int, ...]) -> str:
    """Lots by suitability class, ruled-out ones hatched."""
    root, renderer, symbols = _document({"type": "RuleRenderer", "symbollevels": "0", "enableorderby": "0"})
    rules = ElementTree.Element("rules", {"key": "all"})
    renderer.insert(0, rules)
    edges = (0, *breaks, 10001)
    for number, colour in enumerate(SUITABILITY):
        low, high = edges[number], edges[number + 1]
        ElementTree.SubElement(
            rules, "rule",
            {
                "key": f"class{number}", "symbol": str(number), "label": f"score {low / 100:g} to {high // 100}",
                "filter": f'"score" >= {low} AND "score" < {high}',
            },
        )  # fmt: skip
        _symbol(symbols, str(number), "fill", "SimpleFill", _fill(colour, "#333333"))
    ElementTree.SubElement(
        rules, "rule",
        {"key": "out", "symbol": "5", "label": "ruled out", "filter": "\"verdict\" = 'ruled out'"},
    )  # fmt: skip
    _symbol(symbols, "5", "fill", "SimpleFill", _fill(GREY, "#666666", "diagonal_x"))
    return _text(root)


def _single(kind: str, layer: str, options: dict[str, str]) -> str:
    root, _, symbols = _document({"type": "singleSymbol", "symbollevels": "0", "enableorderby": "0"})
    _symbol(symbols, "0", kind, layer, options)
    return _text(root)


def _styles(breaks: tuple[int, ...]) -> dict[str, str]:
    styles = {"lots": _lots_style(breaks)}
    for name, (fill, line) in _FILLS.items():
        styles[name] = _single("fill", "SimpleFill", _fill(fill, line))
    for name, (colour, width) in _LINES.items():
        options = {"line_color": _rgb(colour), "line_width": str(width), "line_width_unit": "MM", "line_style": "solid"}
        styles[name] = _single("line", "SimpleLine", options)
    for name, colour in _POINTS.items():
        options = {"name": "circle", "color": _rgb(colour), "outline_color": "255,255,255,255", "size": "1.6"}
        styles[name] = _single("marker", "SimpleMarker", options)
    return styles


def layer_styles(result: Screening) -> pd.DataFrame:
    """One style a layer that the result has, as the table that desktop GIS read."""
    breaks = suitability_breaks(result.tables["lots"]["score"])
    rows: list[dict[str, Any]] = []
    for name, text in _styles(breaks).items():
        if name not in result.tables:
            continue
        rows.append(
            {
                "f_table_catalog": "",
                "f_table_schema": "",
                "f_table_name": name,
                "f_geometry_column": "geom",
                "styleName": "default",
                "styleQML": text,
                "styleSLD": "",
                "useAsDefault": True,
                "description": "How this layer is drawn",
                "owner": "",
                "ui": "",
                "update_time": "2000-01-01T00:00:00.000Z",
            }
        )
    return pd.DataFrame(rows)

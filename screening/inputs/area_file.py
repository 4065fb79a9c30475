"""Parse the area file: every unknown key, wrong type and missing table told at once."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from screening.inputs.area_model import (
    LAYER_MODELS,
    TABLE_MODELS,
    TOP_KEYS,
    BackgroundTable,
    Elevation,
    Rainfall,
    Soils,
    Table,
    Within,
)
from screening.inputs.database import DATABASE
from screening.inputs.findings import Findings
from screening.inputs.known_keys import known_list
from screening.inputs.layer_keys import CHOICES, LENGTHS, column_keys
from screening.inputs.table_checks import check_tables
from screening.units import length_unit_m

__all__ = ["NEEDED", "AreaFile", "LayerTable", "parse_area_file"]

NEEDED = ("elevation", "lots", "roofs")
"""Tables without which nothing can be screened."""


@dataclass(frozen=True)
class LayerTable:
    """The table of one vector layer.

    Parameters
    ----------
    name
        The layer's name.
    file
        Paths, globs or URLs as written.
    layer, crs, encoding
        Layer of the file, CRS and text encoding where the file does not say.
    columns
        The file's column for each column of ``LAYER_COLUMNS`` that the area file names.
    factors
        Metres in one unit of each length column.
    values
        For columns with a fixed choice, the file's words and what they mean.
    """

    name: str
    file: tuple[str, ...]
    layer: str | None = None
    crs: str | None = None
    encoding: str | None = None
    columns: Mapping[str, str] = field(default_factory=dict)
    factors: Mapping[str, float] = field(default_factory=dict)
    values: Mapping[str, Mapping[str, str]] = field(default_factory=dict)


@dataclass(frozen=True)
class AreaFile:
    """The area file as parsed.

    Parameters
    ----------
    path
        Where it lies; the paths in it are relative to its folder.
    title
        The area's title; the file's name when it gives none.
    allow_urls
        Whether layers may come from the network.
    layers
        Tables of the vector layers that can be used.
    rules
        The ``[rules]`` table as written.
    written
        Names of all tables that were written, usable or not.
    """

    path: Path
    title: str
    allow_urls: bool = False
    within: Within | None = None
    elevation: Elevation | None = None
    soils: Soils | None = None
    rainfall: Rainfall | None = None
    field_files: tuple[str, ...] = ()
    background: BackgroundTable | None = None
    layers: Mapping[str, LayerTable] = field(default_factory=dict)
    rules: Mapping[str, Any] = field(default_factory=dict)
    written: frozenset[str] = frozenset()

    @property
    def folder(self) -> Path:
        """The folder that its paths are relative to."""
        return self.path.parent


def parse_area_file(path: Path, findings: Findings) -> AreaFile | None:
    """Parse an area file.

    Parameters
    ----------
    path
        The file.
    findings
        Where every fault goes.

    Returns
    -------
    AreaFile or None
        What could be understood; None when the file is missing or is no TOML.
    """
    data = _load(path, findings)
    if data is None:
        return None
    for key in data:
        if key not in TOP_KEYS:
            findings.fault(f"Unknown key {key!r} in the area file", known_list(key, TOP_KEYS), file=path.name)
    for name in NEEDED:
        if name not in data:
            findings.fault(
                f"The area file has no [{name}] table", f"Add [{name}] with its file", file=path.name, layer=name
            )
    tables = {name: _table(name, data[name], path.name, findings) for name in TABLE_MODELS if name in data}
    check_tables(tables, data, path.name, findings)
    results = tables.get("field")
    return AreaFile(
        path=path,
        title=_typed(data, "title", str, path.stem, path.name, findings),
        allow_urls=_typed(data, "allow_urls", bool, False, path.name, findings),
        within=_of(tables, "within", Within),
        elevation=_of(tables, "elevation", Elevation),
        soils=_of(tables, "soils", Soils),
        rainfall=_of(tables, "rainfall", Rainfall),
        field_files=results.model_dump()["file"] if results else (),
        background=_of(tables, "background", BackgroundTable),
        layers={
            name: _layer_table(name, table, path.name, findings)
            for name, table in tables.items()
            if name in LAYER_MODELS and table
        },
        rules=_typed(data, "rules", dict, {}, path.name, findings),
        written=frozenset(data),
    )


def _load(path: Path, findings: Findings) -> dict[str, Any] | None:
    """Read the TOML, numbers with a point as ``Decimal`` so that the user's text is kept."""
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"), parse_float=Decimal)
    except OSError as error:
        reason = (
            "There is no such file" if isinstance(error, FileNotFoundError) else f"It cannot be read: {error.strerror}"
        )
        findings.fault("The area file cannot be opened", reason, file=str(path))
    except UnicodeDecodeError:
        findings.fault("The area file is not UTF-8 text", "Save it as UTF-8", file=path.name)
    except tomllib.TOMLDecodeError as error:
        findings.fault(f"The area file is not TOML: {error}", "Mend that line", file=path.name)
    return None


def _typed(data: Mapping[str, Any], key: str, kind: type, default: Any, file: str, findings: Findings) -> Any:
    """A key at the top of the file, of one type."""
    value = data.get(key, default)
    if isinstance(value, kind):
        return value
    findings.fault(f"{key} must be {_WORDS[kind]}, got {_shown(value)}", f"Write {_EXAMPLES[key]}", file=file)
    return default


_WORDS = {str: "text", bool: "true or false", dict: "a table"}
_EXAMPLES = {
    "title": 'title = "Two streets"',
    "allow_urls": "allow_urls = true",
    "rules": "[rules] on a line of its own",
}


def _of(tables: Mapping[str, Table | None], name: str, kind: type[Any]) -> Any:
    table = tables.get(name)
    return table if isinstance(table, kind) else None


def _shown(value: Any) -> str:
    """A value as its owner would write it."""
    return str(value) if isinstance(value, Decimal) else repr(value)


def _plain(value: Any) -> Any:
    """The value with ``Decimal`` made float."""
    return float(value) if isinstance(value, Decimal) else value


def _table(name: str, data: Any, file: str, findings: Findings) -> Table | None:
    """Validate one table; unknown keys are faults, the rest is still used."""
    model = TABLE_MODELS[name]
    if not isinstance(data, dict):
        findings.fault(f"{name} must be a table, got {_shown(data)}", f"Write [{name}] on a line of its own", file=file)
        return None
    known: dict[str, Any] = {}
    for key, value in data.items():
        if key in model.model_fields:
            known[key] = _plain(value)
        else:
            findings.fault(
                f"Unknown key {key!r} in [{name}]", known_list(key, model.model_fields), file=file, layer=name
            )
    return _validated(name, model, known, file, findings)


def _validated(name: str, model: type[Table], known: dict[str, Any], file: str, findings: Findings) -> Table | None:
    """Validate the keys of a table; those that cannot be used are faults, and the rest is still used."""
    try:
        return model.model_validate(known)
    except ValidationError as error:
        bad = set()
        for one in error.errors():
            key = str(one["loc"][0])
            bad.add(key)
            if one["type"] == "missing":
                findings.fault(f"[{name}] has no {key!r}", f"Add {key} = ...", file=file, layer=name)
            else:
                said = one["msg"].removeprefix("Value error, ")
                # an address may hold a password or a key
                value = "that" if key in ("database", "tiles", "photo_tiles") else _shown(known[key])
                what = f"{key} in [{name}] cannot be {value}"
                findings.fault(what, said[:1].upper() + said[1:], file=file, layer=name)
        if not bad & known.keys():
            return None
        rest = {key: value for key, value in known.items() if key not in bad}
        return _validated(name, model, rest, file, Findings())


def _files(name: str, said: dict[str, Any], file: str, findings: Findings) -> tuple[str, ...]:
    """Files of a layer, or its table in a database."""
    files, table = said["file"], said["database"]
    if files is None and table is None:
        findings.fault(f"[{name}] has no 'file'", "Add file = ...", file=file, layer=name)
    if files is not None and table is not None:
        findings.fault(f"[{name}] has both 'file' and 'database'", "Keep one of the two", file=file, layer=name)
    return files or (() if table is None else (f"{DATABASE}{table}",))


def _layer_table(name: str, table: Table, file: str, findings: Findings) -> LayerTable:
    """A vector layer's table, its keys turned into column names."""
    said = table.model_dump()
    keys = column_keys(name)
    units = {column: said[f"{key}_unit"] for key, column in keys.items() if column in LENGTHS}
    values: dict[str, dict[str, str]] = {}
    for key, column in keys.items():
        choices = CHOICES.get((name, column))
        if choices is None:
            continue
        values[column] = said[f"{key}_values"] or {}
        for word, choice in values[column].items():
            if choice not in choices:
                what = f"{key}_values of [{name}] gives {word!r} the meaning {choice!r}"
                findings.fault(what, known_list(choice, choices), file=file, layer=name)
    return LayerTable(
        name=name,
        file=_files(name, said, file, findings),
        layer=said["layer"],
        crs=said["crs"],
        encoding=said["encoding"],
        columns={column: said[key] for key, column in keys.items() if said[key] is not None},
        factors={column: length_unit_m(unit) or 1.0 for column, unit in units.items()},
        values=values,
    )

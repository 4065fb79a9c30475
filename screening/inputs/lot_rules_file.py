"""Read rules that hold for single lots: a table with one row a lot or zone, one column a rule."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any, Final

import pandas as pd

from screening.inputs.cells import known_id
from screening.inputs.findings import Findings
from screening.inputs.known_keys import known_list, nearest
from screening.inputs.rules_file import RulesRead, aliased_rules, rules_from
from screening.lot_rules import AREA_ONLY, OwnRules
from screening.rules import Rules

__all__ = ["read_lot_rules"]

_KEYS: Final = ("lot_id", "zone")
_YES_NO: Final = {"yes": True, "true": True, "y": True, "1": True, "no": False, "false": False, "n": False, "0": False}


def read_lot_rules(
    path: Path,
    name: str,
    base: RulesRead,
    lots: Any,
    findings: Findings,
    elsewhere: frozenset[str] = frozenset(),
) -> OwnRules:
    """Read a table of rules by lot; every fault is kept.

    Parameters
    ----------
    path, name
        The CSV file, and what faults call it: columns ``lot_id`` or ``zone`` or both, then rules by name (lengths in
        feet and inches as in the area file). A row names one lot or one zone; an empty cell leaves the rule as it is.
    base
        The area's rules.
    lots
        Columns ``lot_id`` and ``zone``.
    findings
        Where faults go.
    elsewhere
        Ids of lots that are not screened; what the table says of them is passed over.

    Returns
    -------
    dict
        Rules by lot that differ from the area's; where both speak, the lot's own row wins over its zone's.
    """
    rows = _rows(path, name, findings)
    if not rows:
        return {}
    columns = _columns([str(column) for column in rows[0]], name, findings)
    if columns is None:
        return {}
    by_key: dict[str, dict[str, dict[str, Any]]] = {key: {} for key in _KEYS}
    for number, row in enumerate(rows, start=2):
        found = _row(row, number, columns, base, name, findings)
        if found is None:
            continue
        key, word, values = found
        if word in by_key[key]:
            findings.fault(f"Row {number}: {_said(key, word)} has a row already", "Keep one", file=name, layer="rules")
            continue
        by_key[key][word] = values
    by_key["lot_id"] = {lot: own for lot, own in by_key["lot_id"].items() if lot not in elsewhere}
    return _of_lots(by_key, lots, name, findings)


def _rows(path: Path, name: str, findings: Findings) -> list[dict[str, str]]:
    try:
        with path.open(encoding="utf-8-sig", newline="") as stream:
            return list(csv.DictReader(stream, restkey="", restval=""))
    except OSError as error:
        findings.fault("The rules by lot cannot be opened", f"{error.strerror}", file=name, layer="rules")
    except UnicodeDecodeError:
        findings.fault("The rules by lot are not UTF-8 text", "Save the table as CSV, UTF-8", file=name, layer="rules")
    return []


def _columns(names: list[str], file: str, findings: Findings) -> list[str] | None:
    """Names of the columns that are rules; None when no column tells the lots."""
    known = aliased_rules()
    rules = []
    for name in names:
        rule = known.get(name)
        if name in _KEYS:
            continue
        if rule is None:
            near = nearest(name, [*known, *_KEYS])
            mend = f"Did you mean {near!r}? " if near else ""
            findings.fault(
                f"Unknown rule {name!r} in the rules by lot",
                f"{mend}'screening rules' prints all of them",
                file=file,
                layer="rules",
            )
        elif rule in AREA_ONLY:
            findings.fault(
                f"{name} cannot be set by lot: {AREA_ONLY[rule]}",
                "Set it for the area, in [rules]",
                file=file,
                layer="rules",
            )
        else:
            rules.append(name)
    if not set(names) & set(_KEYS):
        findings.fault("The rules by lot have no column 'lot_id' or 'zone'", "Add one", file=file, layer="rules")
        return None
    return rules


def _said(key: str, word: str) -> str:
    return f"lot {word!r}" if key == "lot_id" else f"zone {word!r}"


def _row(
    row: Mapping[str, str], number: int, columns: list[str], base: RulesRead, file: str, findings: Findings
) -> tuple[str, str, dict[str, Any]] | None:
    """What one row speaks of, and its rules; None after a fault in what it speaks of."""
    named = [(key, row[key]) for key in _KEYS if row.get(key)]
    if len(named) != 1:
        findings.fault(
            f"Row {number} of the rules by lot names {'both a lot and a zone' if named else 'no lot and no zone'}",
            "A row names one lot or one zone",
            file=file,
            layer="rules",
        )
        return None
    key, word = named[0]
    given = {name: _value(name, row[name].strip()) for name in columns if row[name].strip()}
    own = Findings()
    read = rules_from(given, own, file=file, base=base)
    for fault in own.faults:
        findings.fault(f"{_said(key, word)}: {fault.what}", fault.mend, file=file, layer="rules", feature=word)
    known = aliased_rules()
    return key, word, {known[name]: getattr(read.rules, known[name]) for name in given}


def _value(name: str, text: str) -> Any:
    """A cell as the area file would give it: yes or no, a number, else the text."""
    if Rules.model_fields[aliased_rules()[name]].annotation is bool:
        return _YES_NO.get(text.lower(), text)
    try:
        number = Decimal(text)
    except InvalidOperation:
        return text
    return number if number.is_finite() else text


def _of_lots(by_key: Mapping[str, Mapping[str, dict[str, Any]]], lots: Any, file: str, findings: Findings) -> OwnRules:
    """Rules by lot: those of its zone, and over them its own."""
    ids = [str(lot) for lot in lots["lot_id"]]
    zones = [None if pd.isna(zone) else str(zone) for zone in lots["zone"]]
    known = set(ids)
    by_key = {**by_key, "lot_id": {known_id(word, known): values for word, values in by_key["lot_id"].items()}}
    for key, there in (("lot_id", ids), ("zone", [zone for zone in zones if zone is not None])):
        for word in by_key[key]:
            if word not in set(there):
                what = "No lot has the id" if key == "lot_id" else "No lot lies in a zone called"
                near = nearest(word, set(there))
                mend = f"Did you mean {near!r}?" if near else "Ids are kept letter for letter"
                if key == "zone" and not there:
                    mend = known_list(word, ["[lots] zone = the column of the zones"])
                findings.fault(f"{what} {word!r}", mend, file=file, layer="rules", feature=word)
    found = {}
    for lot, zone in zip(ids, zones, strict=True):
        values = {**by_key["zone"].get(zone or "", {}), **by_key["lot_id"].get(lot, {})}
        if values:
            found[lot] = dict(sorted(values.items()))
    return found

"""What changed between two runs, lot by lot and in sum, and why."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import pandas as pd

from screening.fields import REASONS
from screening.places import first_lots
from screening.ranking.verdict import VERDICTS
from screening.units import shown_score

__all__ = ["changed_lots", "compare_words", "record_changes"]

_WATCHED: Final = ("verdict", "deciding_limit", "score", "rank", "contact_status")
_TOLD: Final = ("contact_status", "answers", "tests", "levels", "consents", "ticket", "approved", "built", "inspected",
                "paid", "built_ponding_area_m2")  # fmt: skip
_SUMS: Final = (("storm_kept_m3", "kept in the storm"), ("year_kept_m3", "kept in a mean year"))

Tables = Mapping[str, Any]


def changed_lots(before: Tables, after: Tables, records: tuple[Mapping[str, Any], Mapping[str, Any]]) -> pd.DataFrame:
    """Lots that differ between two runs.

    Parameters
    ----------
    before, after
        Tables of the runs: ``lots``, ``reasons`` and, where there were field results, ``season``.
    records
        Their run records.

    Returns
    -------
    pandas.DataFrame
        One row a lot of either run whose verdict, deciding limit, score, rank or contact status differ: ``lot_id``,
        each of these before and after, ``reasons_gone``, ``reasons_new`` and ``cause``; in order of ``lot_id``.
    """
    old, new = _by_lot(first_lots(before["lots"])), _by_lot(first_lots(after["lots"]))
    codes = _weighty_codes(before["reasons"]), _weighty_codes(after["reasons"])
    seasons = _by_lot(before.get("season")), _by_lot(after.get("season"))
    rules = _rule_changes(*records)
    inputs = _input_changes(*records)
    rows = []
    for lot in sorted(set(old) | set(new)):
        a, b = old.get(lot, {}), new.get(lot, {})
        watched = {name: (_value(a, name), _value(b, name)) for name in _WATCHED}
        if all(x == y for x, y in watched.values()):
            continue
        gone = codes[0].get(lot, set()) - codes[1].get(lot, set())
        come = codes[1].get(lot, set()) - codes[0].get(lot, set())
        told = _told(seasons[0].get(lot, {}), seasons[1].get(lot, {}))
        row: dict[str, Any] = {"lot_id": lot}
        for name, (x, y) in watched.items():
            row[f"{name}_before"], row[f"{name}_after"] = x, y
        row["reasons_gone"] = " ".join(code for code in REASONS if code in gone)
        row["reasons_new"] = " ".join(code for code in REASONS if code in come)
        row["cause"] = _cause(a, b, watched, told, gone | come, rules, inputs)
        rows.append(row)
    columns = ["lot_id", *(f"{n}_{w}" for n in _WATCHED for w in ("before", "after")), "reasons_gone", "reasons_new",
               "cause"]  # fmt: skip
    return pd.DataFrame(rows, columns=columns)


def _by_lot(table: Any | None) -> dict[str, dict[str, Any]]:
    """Rows by lot, without geometry."""
    if table is None or not len(table):
        return {}
    plain = pd.DataFrame(table).drop(columns="geometry", errors="ignore")
    return {str(row["lot_id"]): row for row in plain.to_dict("records")}


def _value(row: Mapping[str, Any], name: str) -> Any:
    value = row.get(name)
    return None if value is None or pd.isna(value) else value


def _weighty_codes(reasons: Any) -> dict[str, set[str]]:
    """Codes of each lot's reasons, notes left out."""
    out: dict[str, set[str]] = {}
    heavy = reasons[reasons["severity"] != "note"]
    for lot, code in zip(heavy["lot_id"], heavy["code"], strict=True):
        out.setdefault(str(lot), set()).add(str(code))
    return out


def _told(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[str]:
    """Field results of the lot that are new."""
    parts = []
    for name in _TOLD:
        old, new = _value(before, name), _value(after, name)
        if old != new:
            parts.append(f"{name.replace('_', ' ')} {new if new is not None else 'taken back'}")
    return parts


def _cause(
    a: Mapping[str, Any],
    b: Mapping[str, Any],
    watched: Mapping[str, tuple[Any, Any]],
    told: list[str],
    codes: set[str],
    rules: Mapping[str, tuple[Any, Any]],
    inputs: list[str],
) -> str:
    """Why a lot changed, the nearest cause first; a rank alone moves because others do."""
    if not a or not b:
        return "the lot is new" if not a else "the lot is gone"
    causes = []
    own = any(x != y for name, (x, y) in watched.items() if name != "rank")
    if not told and not own:
        return "other lots moved"
    if told:
        causes.append("field results: " + ", ".join(told))
    same_soil = _value(a, "ksat_spot_um_s") == _value(b, "ksat_spot_um_s") and _value(a, "ksat_source") == _value(
        b, "ksat_source"
    )
    if not told and not same_soil and _value(b, "ksat_source") in ("nearby test", "test"):
        causes.append("soil tests nearby on the same map unit")
    elif not told and not same_soil:
        causes.append("conductivity moved by soil tests or the soil map")
    causes += [f"rule {n} {x} -> {y}" for n, (x, y) in rules.items() if n in {REASONS[c].rule for c in codes}]
    before_own, after_own = (set(str(_value(row, "own_rules") or "").split("; ")) for row in (a, b))
    if before_own != after_own:
        changed = sorted({words.split(" ")[0] for words in before_own ^ after_own if words})
        causes.append("rules of its own: " + ", ".join(changed))
    if not causes and rules:
        causes.append("rules: " + ", ".join(list(rules)[:6]))
    if not causes and inputs:
        causes.append("inputs: " + ", ".join(inputs[:6]))
    return "; ".join(causes) or "a reason that the records do not tell"


def _rule_changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> dict[str, tuple[Any, Any]]:
    old, new = before.get("rules", {}), after.get("rules", {})
    return {
        name: (old.get(name), new.get(name)) for name in sorted(set(old) | set(new)) if old.get(name) != new.get(name)
    }


def _input_changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[str]:
    old, new = before.get("inputs", {}), after.get("inputs", {})
    words = []
    for name in sorted(set(old) | set(new)):
        if old.get(name) != new.get(name):
            words.append(f"{name} ({'new' if name not in old else 'gone' if name not in new else 'changed'})")
    return words


def record_changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[str]:
    """Inputs, rules and program versions that differ between two run records, in lines."""
    lines = [f"Input {words}" for words in _input_changes(before, after)]
    lines += [f"Rule {name}: {x} -> {y}" for name, (x, y) in _rule_changes(before, after).items()]
    old, new = before.get("program", {}), after.get("program", {})
    lines += [
        f"Program {n}: {old.get(n)} -> {new.get(n)}" for n in sorted(set(old) | set(new)) if old.get(n) != new.get(n)
    ]
    return lines


def compare_words(before: Tables, after: Tables, records: tuple[Mapping[str, Any], Mapping[str, Any]]) -> list[str]:
    """Tell in lines what changed between two runs: causes, sums, then each lot that changed of its own accord."""
    changes = changed_lots(before, after, records)
    lots = [first_lots(tables["lots"]) for tables in (before, after)]
    lines = ["What went in:", *(f"  {line}" for line in record_changes(*records) or ["nothing differs"]), "In sum:"]
    for verdict in reversed(list(VERDICTS.values())):
        counts = [int((places["verdict"] == verdict).sum()) for places in lots]
        lines.append(f"  {verdict:<16}{counts[0]:>7} -> {counts[1]}")
    for column, words in _SUMS:
        sums = [_feasible_sum(places, column) for places in lots]
        lines.append(f"  {words}, all feasible gardens: {sums[0]} -> {sums[1]} m³")
    only_rank = changes["cause"] == "other lots moved"
    own = changes[~only_rank]
    moved = int(only_rank.sum())
    also = f"; {moved} more moved in rank only, because others did." if moved else ""
    lines.append(f"Lots that changed: {len(own)}{also}")
    for row in own.to_dict("records"):
        lines.append(f"  {row['lot_id']}: {_lot_change(row)}. Why: {row['cause']}.")
    return lines


def _feasible_sum(lots: Any, column: str) -> str:
    values = lots.loc[lots["verdict"] != "ruled out", column].dropna()
    return f"{float(values.sum()):.1f}" if len(values) else "unknown"


def _lot_change(row: Mapping[str, Any]) -> str:
    """One lot's change in words."""
    parts = []
    for name in ("verdict", "deciding_limit", "contact_status"):
        x, y = (_value(row, f"{name}_{when}") for when in ("before", "after"))
        if x != y:
            parts.append(f"{name.replace('_', ' ')} {x or 'none'} -> {y or 'none'}")
    for name, shown in (("score", shown_score), ("rank", int)):
        x, y = (_value(row, f"{name}_{when}") for when in ("before", "after"))
        if x != y:
            parts.append(f"{name} {'none' if x is None else shown(x)} -> {'none' if y is None else shown(y)}")
    return ", ".join(parts)

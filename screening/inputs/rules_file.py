"""Read and write rules as TOML; feet and inches are converted once."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Any, Final

from screening.errors import BadInput
from screening.inputs.findings import Findings
from screening.inputs.known_keys import nearest
from screening.rules import RULE_GROUPS, Rules
from screening.units import FOOT_M, INCH_M, INCH_MM, SQUARE_FOOT_M2

__all__ = ["RulesRead", "aliased_rules", "load_rules", "read_rules", "rules_from", "rules_toml"]

_ALIASES: Final = (
    ("_mm_h", (("_in_h", INCH_MM),)),
    ("_m2", (("_ft2", SQUARE_FOOT_M2),)),
    ("_mm", (("_in", INCH_MM),)),
    ("_m", (("_ft", FOOT_M), ("_in", INCH_M))),
)
_PAIRS: Final = (
    ("slope_look_pct", "slope_limit_pct"),
    ("upslope_look_m2", "upslope_limit_m2"),
    ("run_good_m", "run_limit_m"),
    ("capture_depth_least_mm", "capture_depth_mm"),
    ("void_fraction_low", "void_fraction"),
    ("ponding_area_least_m2", "ponding_area_most_m2"),
    ("infiltration_d_mm_h", "infiltration_c_mm_h"),
    ("infiltration_c_mm_h", "infiltration_b_mm_h"),
    ("infiltration_b_mm_h", "infiltration_a_mm_h"),
)
"""Rules of which the first may not be above the second."""

_CHOICES: Final = {"roof_kind": ("hip", "gable", "flat"), "lawn_condition": ("poor", "fair", "good")}


@dataclass(frozen=True)
class RulesRead:
    """Rules, and how their owner wrote them.

    Parameters
    ----------
    rules
        The rules.
    written
        For each rule that was given: its key and value as written.
    """

    rules: Rules
    written: Mapping[str, str] = field(default_factory=dict)


def _aliases() -> dict[str, tuple[str, float]]:
    """The rule and the factor to its unit for each key in feet or inches."""
    found: dict[str, tuple[str, float]] = {}
    for rule in Rules.model_fields:
        if "_per_" in rule:
            continue
        for suffix, others in _ALIASES:
            if rule.endswith(suffix):
                stem = rule.removesuffix(suffix)
                found.update({f"{stem}{other}": (rule, factor) for other, factor in others})
                break
    return found


def aliased_rules() -> dict[str, str]:
    """The rule behind every key that may be given: its own name, and those in feet and inches."""
    return {name: name for name in Rules.model_fields} | {key: rule for key, (rule, _) in _aliases().items()}


def _told(rule: str) -> dict[str, Any]:
    """Unit and basis of a rule."""
    extra = Rules.model_fields[rule].json_schema_extra
    return dict(extra) if isinstance(extra, dict) else {}


def _range(rule: str) -> tuple[float, float] | None:
    """Least and most that a rule may be; None for choices."""
    low = high = None
    for limit in Rules.model_fields[rule].metadata:
        low = getattr(limit, "ge", low)
        high = getattr(limit, "le", high)
    return (low, high) if low is not None and high is not None else None


def _number(value: float) -> str:
    """A number as short as TOML takes it."""
    return f"{value:.0f}" if float(value).is_integer() else repr(float(value))


def rules_from(
    given: Mapping[str, Any], findings: Findings, *, file: str = "", base: RulesRead | None = None
) -> RulesRead:
    """Rules from a table of them; every fault is kept.

    Parameters
    ----------
    given
        Values by key, ``Decimal`` where a number was written with a point.
    findings
        Where faults go.
    file
        For these.
    base
        Rules that ``given`` overrides; the defaults when None.

    Returns
    -------
    RulesRead
        The rules; the value before stands where a value cannot be used.
    """
    aliases = _aliases()
    values: dict[str, Any] = {}
    written: dict[str, str] = {}
    for key, value in given.items():
        rule, factor = (key, None) if key in Rules.model_fields else aliases.get(key, ("", None))
        if not rule:
            near = nearest(key, [*Rules.model_fields, *aliases])
            mend = f"Did you mean {near!r}? " if near else ""
            findings.fault(
                f"Unknown rule {key!r}", f"{mend}'screening rules' prints all of them", file=file, layer="rules"
            )
            continue
        if rule in values:
            first = written[rule].split(" = ")[0]
            findings.fault(f"{key!r} and {first!r} are the same rule", "Keep one", file=file, layer="rules")
            continue
        usable = _usable(key, rule, value, factor, findings, file)
        if usable is not None:
            values[rule] = usable
            written[rule] = f"{key} = {_as_written(value)}"
    before = base or RulesRead(Rules())
    rules = before.rules.model_copy(update=values)
    all_written = {**before.written, **written}
    if values:
        _check_pairs(rules, all_written, findings, file)
    return RulesRead(rules, all_written)


def _as_written(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    return str(value) if isinstance(value, Decimal | int) else f'"{value}"'


def _usable(
    key: str, rule: str, value: Any, factor: float | None, findings: Findings, file: str
) -> float | int | bool | str | None:
    """The value in the rule's unit and type; None after a fault."""
    kind = Rules.model_fields[rule].annotation
    limits = _range(rule)
    if limits is None:
        return _choice(key, rule, value, findings, file)
    if isinstance(value, bool) or not isinstance(value, Decimal | int | float):
        findings.fault(
            f"{key} must be a number, got {value!r}", f"Write {key} = {_default(rule)}", file=file, layer="rules"
        )
        return None
    if kind is int and value != int(value):
        findings.fault(
            f"{key} must be a whole number, got {value}", f"Write {key} = {int(value)}", file=file, layer="rules"
        )
        return None
    number = float(value) * (factor or 1.0)
    low, high = limits
    if not low <= number <= high:
        unit = str(_told(rule)["unit"])
        is_si = f" = {number:g} {unit}" if factor else ""
        findings.fault(
            f"{key} is {value}{is_si}, out of its range",
            f"It goes from {_number(low)} to {_number(high)} {unit}".rstrip(),
            file=file,
            layer="rules",
        )
        return None
    return int(number) if kind is int else number


def _choice(key: str, rule: str, value: Any, findings: Findings, file: str) -> bool | str | None:
    """A rule that is no number."""
    if Rules.model_fields[rule].annotation is bool:
        if isinstance(value, bool):
            return value
        findings.fault(f"{key} must be true or false, got {value!r}", f"Write {key} = false", file=file, layer="rules")
        return None
    words = _CHOICES[rule]
    if value in words:
        return str(value)
    findings.fault(f"{key} cannot be {value!r}", f"It is one of {', '.join(words)}", file=file, layer="rules")
    return None


def _default(rule: str) -> str:
    return _as_written(Rules.model_fields[rule].default) if rule else ""


def _check_pairs(rules: Rules, written: Mapping[str, str], findings: Findings, file: str) -> None:
    """Rules that limit each other."""
    for low, high in _PAIRS:
        if getattr(rules, low) > getattr(rules, high):
            said = [written.get(rule, f"{rule} = {_number(getattr(rules, rule))} (default)") for rule in (low, high)]
            findings.fault(
                f"{said[0]} is above {said[1]}",
                f"Give both, {low} at most as large as {high}",
                file=file,
                layer="rules",
            )
    if rules.infiltration_d_mm_h == rules.infiltration_a_mm_h:
        findings.fault(
            f"infiltration_a_mm_h and infiltration_d_mm_h are both {_number(rules.infiltration_a_mm_h)}",
            "Give group A more: a soil's value in the score lies between the two",
            file=file,
            layer="rules",
        )


def load_rules(path: Path, name: str, findings: Findings) -> Mapping[str, Any]:
    """The table of a rules file, its numbers with a point as ``Decimal``; empty after a fault."""
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"), parse_float=Decimal)
    except OSError as error:
        findings.fault("The rules file cannot be opened", f"{error.strerror}", file=name, layer="rules")
    except UnicodeDecodeError:
        findings.fault("The rules file is not UTF-8 text", "Save it as UTF-8", file=name, layer="rules")
    except tomllib.TOMLDecodeError as error:
        findings.fault(f"The rules file is not TOML: {error}", "Mend that line", file=name, layer="rules")
    return {}


def read_rules(path: Path | str) -> Rules:
    """Read a rules file.

    Parameters
    ----------
    path
        A TOML file of rules by key; what it does not give keeps its default.

    Raises
    ------
    BadInput
        With every unknown key, wrong type and value out of range.
    """
    findings = Findings()
    table = load_rules(Path(path), Path(path).name, findings)
    read = rules_from(table, findings, file=Path(path).name)
    if findings.faults:
        raise BadInput(findings.faults)
    return read.rules


def rules_toml(rules: Rules) -> str:
    """Rules as a file: each with its meaning, default, unit, range and basis as a comment.

    Parameters
    ----------
    rules
        The rules to write.

    Returns
    -------
    str
        TOML that ``read_rules`` reads back to the same rules.
    """
    heads = dict(RULE_GROUPS)
    lines = [
        "# Rules of the programme. Local code and the programme's own terms override these defaults.",
        "# Basis: CP common practice; P a published value; M from memory of a published handbook; J a judgement.",
        "# Keys that end in _m may be given in feet (_ft) or inches (_in), those in _mm in inches (_in), in _m2 in",
        "# square feet (_ft2), in _mm_h in inches an hour (_in_h).",
    ]
    for name, info in Rules.model_fields.items():
        if name in heads:
            lines += ["", f"# --- {heads[name]}"]
        told, limits = _told(name), _range(name)
        unit = f" [{told['unit']}]" if told["unit"] else ""
        between = f"; {_number(limits[0])} to {_number(limits[1])}" if limits else ""
        lines.append(f"# {info.description}{unit}; default {_toml(info.default)}{between}; {told['basis']}")
        lines.append(f"{name} = {_toml(getattr(rules, name))}")
    return "\n".join(lines) + "\n"


def _toml(value: Any) -> str:
    """A value as TOML."""
    if isinstance(value, bool):
        return str(value).lower()
    return repr(value) if isinstance(value, int | float) else f'"{value}"'

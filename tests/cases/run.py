"""Take a made-up lot through ground, search, soils and judging, wherever it lies and however it is turned."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import pandas as pd

from screening.area import AreaContext, Block, FieldFacts
from screening.fields.id_lists import ids_of
from screening.ranking.verdict import VERDICTS, verdicts
from screening.rules import Rules
from screening.siting import ground, judge, search
from screening.siting.field_results import with_field_results
from screening.soils import candidate_soils
from screening.units import UM_PER_S_MM_PER_H
from tests.cases.sites import EVERYWHERE, Site
from tests.siting.lots import make_block


@dataclass(frozen=True, eq=False)
class Outcome:
    """What the tool said of a lot: ``codes`` of the reasons that decided, ``spot`` in the plain frame."""

    verdict: str
    codes: tuple[str, ...]
    spot: tuple[float, float] | None
    led: int
    block: Block
    context: AreaContext
    tables: dict[str, Any]


def run_site(
    site: Site,
    *,
    rules: Rules | None = None,
    turn_deg: float = 0.0,
    shift_m: tuple[float, float] = (0.0, 0.0),
    noise_m: float = 0.0,
    seed: int = 1,
) -> Outcome:
    """Judge the first lot of a site."""
    soils = site.soils or ({"geometry": EVERYWHERE, "hsg": site.group},)
    block, context = make_block(
        site.plane, site.lots, site.roofs, site.streets, margin_m=10.0, rules=rules, ground=site.ground,
        turn_deg=turn_deg, shift_m=shift_m, noise_m=noise_m, seed=seed, soils=soils,
        downspouts=site.downspouts, **site.layers,
    )  # fmt: skip
    mask, tables = ground(block, context)
    block = block.with_tables(tables)
    block = block.with_tables(search(block, context, mask))
    block = block.with_tables(candidate_soils(block, context))
    if site.tests:
        context = replace(context, field=_field_facts(_placed_tests(site, block, turn_deg, shift_m)))
        block = block.with_tables(with_field_results(block, context))
    block = block.with_tables(judge(block, context))
    found = verdicts(block.lots["lot_id"], block.tables["reasons"]).iloc[0]
    candidates = block.tables["candidates"]
    chosen = candidates[candidates["chosen"] & (candidates["lot_id"] == block.lots["lot_id"].iloc[0])]
    spot = None
    led = 0
    if len(chosen):
        row = chosen.iloc[0]
        spot = plain(float(row["x_m"]), float(row["y_m"]), turn_deg, shift_m)
        led = len(ids_of(row["downspout_ids"]))
    reasons = block.tables["reasons"]
    severity = {words: name for name, words in VERDICTS.items()}[found["verdict"]]
    mine = (reasons["lot_id"] == block.lots["lot_id"].iloc[0]) & (reasons["severity"] == severity)
    codes = tuple(reasons["code"][mine & (severity != "note")])
    return Outcome(found["verdict"], codes, spot, led, block, context, dict(block.tables))


def plain(x: float, y: float, turn_deg: float, shift_m: tuple[float, float]) -> tuple[float, float]:
    """A place of the turned and shifted frame in the plain one."""
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    dx, dy = x - shift_m[0], y - shift_m[1]
    return c * dx + s * dy, c * dy - s * dx


def _placed_tests(site: Site, block: Block, turn_deg: float, shift_m: tuple[float, float]) -> pd.DataFrame:
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return pd.DataFrame(
        {
            "lot_id": [block.lots["lot_id"].iloc[0]] * len(site.tests),
            "x_m": [c * x - s * y + shift_m[0] for x, y, _ in site.tests],
            "y_m": [s * x + c * y + shift_m[1] for x, y, _ in site.tests],
            "test_ksat_um_s": [rate / UM_PER_S_MM_PER_H for _, _, rate in site.tests],
            "located": True,
            "unit": -1,
            "ksat_um_s": float("nan"),
            "ksat_spread": float("nan"),
            "slowest_h": float("nan"),
            "water_m": float("nan"),
        }
    )


def _field_facts(tests: pd.DataFrame) -> FieldFacts:
    """Soil tests, and nothing else learnt."""
    reasons = pd.DataFrame(columns=["lot_id", "code", "severity", "measured", "limit", "detail"])
    levels = pd.DataFrame(columns=["lot_id", "x_m", "y_m", "located", "drop_m"])
    return FieldFacts(tests, levels, frozenset(), reasons, pd.DataFrame(columns=["lot_id"]))


def right(site: Site, outcome: Outcome) -> list[str]:
    """What is wrong with an outcome, in words; empty when it is right."""
    wrong = []
    if outcome.verdict != site.verdict:
        wrong.append(f"verdict {outcome.verdict} ({', '.join(outcome.codes)}), not {site.verdict}")
    elif site.code is not None and site.code not in outcome.codes:
        wrong.append(f"decided by {', '.join(outcome.codes)}, not {site.code}")
    if site.led is not None and outcome.led != site.led:
        wrong.append(f"{outcome.led} downspouts led, not {site.led}")
    if site.places:
        if outcome.spot is None:
            wrong.append("no spot")
        else:
            away = min(math.dist(outcome.spot, place) for place in site.places)
            if away > site.tolerance_m:
                wrong.append(f"spot ({outcome.spot[0]:.1f}, {outcome.spot[1]:.1f}) is {away:.1f} m away")
    return wrong

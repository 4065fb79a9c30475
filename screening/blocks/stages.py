"""The way of the data inside a block: every stage from roofs to capture, in order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pandas as pd

from screening.area import AreaContext, Block, Tables
from screening.clock import Clock
from screening.fields import TABLES, conform
from screening.lot_rules import own_words, rule_sets
from screening.ranking.lot_rows import lot_rows
from screening.roofs import roof_shares
from screening.siting import ground, judge, search
from screening.siting.field_results import with_field_results
from screening.soils import assess, candidate_soils
from screening.water import lot_water

__all__ = ["join_tables", "run_block"]


def run_block(block: Block, context: AreaContext, clock: Clock | None = None) -> Tables:
    """Take one block from its roofs to its lots rows.

    Parameters
    ----------
    block, context
        The block and what is known of the area.
    clock
        Adds up each stage's processor time of this thread.

    Returns
    -------
    dict
        Tables as ``fields.TABLES`` declares them, ``lots`` without verdict, score and rank.

    Raises
    ------
    ValueError
        When the block's lots do not have one set of rules; ``split`` gives each set blocks of its own.
    """
    sets = rule_sets(block.lots["lot_id"], context.rules, context.own_rules)
    if len(sets) > 1:
        raise ValueError(f"the lots of one block have {len(sets)} sets of rules")
    context = replace(context, rules=sets[0][1])
    clock = clock or Clock()
    with clock.part("roofs"):
        block = block.with_tables(roof_shares(block, context))
    with clock.part("open ground"):
        mask, tables = ground(block, context)
        block = block.with_tables(tables)
    with clock.part("soils"):
        block = block.with_tables(assess(block, context, mask))
    with clock.part("search"):
        block = block.with_tables(search(block, context, mask))
    with clock.part("soils"):
        block = block.with_tables(candidate_soils(block, context))
        block = block.with_tables(with_field_results(block, context))
    with clock.part("judging"):
        block = block.with_tables(judge(block, context))
    with clock.part("water"):
        block = block.with_tables(lot_water(block, context))
        rows = lot_rows(block, block.tables)
        own = [own_words(context.own_rules[lot]) if lot in context.own_rules else None for lot in block.lots["lot_id"]]
        rows["own_rules"] = pd.array(own, dtype="str")
    tables = {name: table for name, table in block.tables.items() if name in TABLES}
    tables["lots"] = rows
    tables["problems"] = block.tables["roof_problems"]
    return tables


def join_tables(parts: Sequence[Tables]) -> Tables:
    """Join the tables of all blocks, each in the order of its lots (problems of their features), typed and rounded."""
    joined: Tables = {}
    for name in [name for name in TABLES if any(name in part for part in parts)]:
        tables = [part[name] for part in parts if name in part]
        filled = [table for table in tables if len(table)] or tables[:1]
        table = pd.concat(filled, ignore_index=True) if len(filled) > 1 else filled[0]
        keys = ["layer", "feature", "problem"] if name == "problems" else ["lot_id"]
        table = table.sort_values(keys, kind="stable", key=lambda column: column.astype(object))
        joined[name] = conform(table, TABLES[name])
    return joined

"""A result without addresses, for outputs that must not hold any."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd

from screening.result import Screening

__all__ = ["without_addresses"]


def without_addresses(result: Screening) -> Screening:
    """The same result with the column ``address`` of every table empty: lots go by their ids."""
    tables = dict(result.tables)
    for name, table in tables.items():
        if "address" in table.columns:
            tables[name] = table.assign(address=pd.array([pd.NA] * len(table), dtype="str"))
    return replace(result, tables=tables)

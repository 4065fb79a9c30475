"""The made-up lots as a fixture: ``make_block(...) -> (Block, AreaContext)``."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.siting import lots


@pytest.fixture
def make_block() -> Callable[..., Any]:
    """Make a block of made-up lots; see ``tests.siting.lots.make_block``."""
    return lots.make_block


@pytest.fixture
def standard_lot() -> Callable[..., dict[str, Any]]:
    """Arguments of the standard lot; see ``tests.siting.lots.standard_lot``."""
    return lots.standard_lot

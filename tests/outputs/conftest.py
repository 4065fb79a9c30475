from __future__ import annotations

from pathlib import Path

import pytest

from screening.outputs import write_outputs
from screening.result import Screening
from tests.outputs.made_up import make_screening


@pytest.fixture(scope="session")
def made_up() -> Screening:
    return make_screening()


@pytest.fixture(scope="session")
def written(made_up: Screening, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    return write_outputs(made_up, tmp_path_factory.mktemp("outputs"), {"screening_s": 1.23456})

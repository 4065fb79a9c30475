from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import sync_playwright

from screening.outputs import write_outputs
from screening.result import Screening
from tests.outputs.browser import ARGUMENTS, WIDTHS, Watched, chromium
from tests.outputs.made_up import make_screening


@pytest.fixture(scope="session")
def made_up() -> Screening:
    return make_screening()


@pytest.fixture(scope="session")
def written(made_up: Screening, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    return write_outputs(made_up, tmp_path_factory.mktemp("outputs"))


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium(), args=ARGUMENTS)
        yield started
        started.close()


@pytest.fixture
def new_page(browser: Any) -> Iterator[Callable[..., Watched]]:
    """Make a watched page, offline; every one is closed after the test."""
    contexts = []

    def make(width: str = "desktop", scheme: str = "light") -> Watched:
        across, down = WIDTHS[width]
        context = browser.new_context(
            viewport={"width": across, "height": down}, color_scheme=scheme, offline=True, reduced_motion="reduce"
        )
        contexts.append(context)
        watched = Watched(context.new_page())
        watched.listen()
        return watched

    yield make
    for context in contexts:
        context.close()

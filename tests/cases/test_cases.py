"""What a practitioner would say of made-up lots, straight and turned."""

from __future__ import annotations

import pytest

from tests.cases.run import right, run_site
from tests.cases.sites import SITES

BY_NAME = {site.name: site for site in SITES}


@pytest.mark.parametrize("name", BY_NAME)
def test_straight(name):
    assert right(BY_NAME[name], run_site(BY_NAME[name])) == []

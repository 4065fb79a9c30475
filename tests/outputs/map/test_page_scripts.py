"""The scripts of a page share one scope: a name declared twice would silently win over the first."""

import re
from collections import Counter
from pathlib import Path

import pytest

import screening.outputs.map
from screening.outputs.map.public_page import PUBLIC_SCRIPTS
from screening.outputs.map.shell import SCRIPTS, with_background

PAGE = Path(screening.outputs.map.__file__).parent / "page"
DECLARED = re.compile(r"^(?:async )?(?:function\*?|const|let|class) +(\w+)", re.MULTILINE)


@pytest.mark.parametrize(
    ("scripts", "least"), [(with_background(SCRIPTS), 300), (PUBLIC_SCRIPTS, 40)], ids=["full", "public"]
)
def test_no_name_is_declared_twice(scripts, least):
    names = Counter(name for script in scripts for name in DECLARED.findall((PAGE / script).read_text("utf-8")))
    assert len(names) > least
    assert [name for name, count in names.items() if count > 1] == []

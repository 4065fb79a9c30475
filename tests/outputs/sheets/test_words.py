from __future__ import annotations

from screening.inputs.field_columns import COLUMNS, CONSENTS
from screening.outputs.sheets import words


def test_boxes_are_named_as_the_field_files_columns() -> None:
    columns = {column.name: column.events for column in COLUMNS}
    for event, lines in (("call", words.CALL), ("test", words.SOIL_TEST), ("level", words.LEVELS)):
        assert {columns[name] for name, _ in lines} == {event}
    assert tuple(name for name, _ in words.CONSENTS) == CONSENTS

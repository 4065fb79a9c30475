from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screening.outputs.map.varints import unzigzag, varint_bytes, zigzag


def _read(data: bytes) -> list[int]:
    out, value, shift = [], 0, 0
    for byte in data:
        value |= (byte & 127) << shift
        shift += 7
        if byte < 128:
            out.append(value)
            value = shift = 0
    return out


def test_known_bytes() -> None:
    assert varint_bytes([0, 1, 127, 128, 300]) == bytes([0, 1, 127, 128, 1, 172, 2])
    assert zigzag([0, -1, 1, -2, 2]).tolist() == [0, 1, 2, 3, 4]
    assert unzigzag([0, 1, 2, 3, 4]).tolist() == [0, -1, 1, -2, 2]
    assert varint_bytes([]) == b""


@settings(max_examples=80, deadline=None)
@given(st.lists(st.integers(0, 2**53 - 1), max_size=40))
def test_numbers_come_back(numbers: list[int]) -> None:
    assert _read(varint_bytes(np.array(numbers, dtype=np.uint64))) == numbers


def test_numbers_beyond_the_page_are_refused() -> None:
    with pytest.raises(ValueError, match=r"2\*\*53"):
        varint_bytes(np.array([2**53], dtype=np.uint64))

"""Whole numbers as bytes: small ones take one byte, and the page reads them back with a dozen lines."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["unzigzag", "varint_bytes", "zigzag"]


def zigzag(values: ArrayLike) -> NDArray[np.uint64]:
    """Map whole numbers to whole numbers from 0, small ones to small ones: 0, -1, 1, -2 to 0, 1, 2, 3."""
    numbers = np.ascontiguousarray(values, dtype=np.int64)
    return ((numbers << 1) ^ (numbers >> 63)).view(np.uint64)


def unzigzag(numbers: ArrayLike) -> NDArray[np.int64]:
    """Undo the zigzag: 0, 1, 2, 3 to 0, -1, 1, -2."""
    values = np.asarray(numbers).astype(np.int64)
    return np.where(values % 2, -(values + 1) // 2, values // 2)


def varint_bytes(values: ArrayLike) -> bytes:
    """Write whole numbers from 0 as little-endian groups of seven bits, the high bit set on all but the last group.

    Parameters
    ----------
    values
        Whole numbers from 0 to below 2**53 (what the page's numbers hold exactly), shape (n,).

    Raises
    ------
    ValueError
        When a number is too large for the page.
    """
    numbers = np.asarray(values).ravel()
    if numbers.size == 0:
        return b""
    if int(numbers.max()) >= 2**53:
        raise ValueError(f"numbers must be below 2**53, got {int(numbers.max())}")
    groups = max(1, -(-int(numbers.max()).bit_length() // 7))
    if groups == 1:
        return numbers.astype(np.uint8).tobytes()
    narrow = np.uint32 if groups <= 4 else np.uint64
    rest: NDArray[np.unsignedinteger[Any]] = numbers.astype(narrow)
    out = np.empty((numbers.size, groups), dtype=np.uint8)
    there = np.ones((numbers.size, groups), dtype=bool)
    for group in range(groups):
        low = (rest & 0x7F).astype(np.uint8)
        rest = rest >> narrow(7)
        more = rest > 0
        out[:, group] = low | (more.view(np.uint8) << 7)
        if group + 1 < groups:
            there[:, group + 1] = more
    return out[there].tobytes()

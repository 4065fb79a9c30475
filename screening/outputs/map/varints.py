"""Whole numbers as bytes: small ones take one byte, and the page reads them back with a dozen lines."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["varint_bytes", "zigzag"]


def zigzag(values: ArrayLike) -> NDArray[np.uint64]:
    """Map whole numbers to whole numbers from 0, small ones to small ones: 0, -1, 1, -2 to 0, 1, 2, 3."""
    numbers = np.asarray(values, dtype=np.int64)
    return np.where(numbers < 0, -2 * numbers - 1, 2 * numbers).astype(np.uint64)


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
    numbers = np.asarray(values, dtype=np.uint64).ravel()
    if numbers.size == 0:
        return b""
    if int(numbers.max()) >= 2**53:
        raise ValueError(f"numbers must be below 2**53, got {int(numbers.max())}")
    groups = np.ones(numbers.size, dtype=np.int64)
    for group in range(1, 8):
        groups += numbers >= np.uint64(1 << (7 * group))
    starts = np.cumsum(groups) - groups
    out = np.zeros(int(groups.sum()), dtype=np.uint8)
    for group in range(int(groups.max())):
        has = groups > group
        bits = (numbers[has] >> np.uint64(7 * group)) & np.uint64(0x7F)
        more = np.where(groups[has] > group + 1, 0x80, 0).astype(np.uint64)
        out[starts[has] + group] = (bits | more).astype(np.uint8)
    return out.tobytes()

"""Where downspouts stand along the gutters: given ones, and placed ones where those do not reach."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from screening.roofs.footprints import Footprints, last_at_most
from screening.roofs.given import GivenSpouts
from screening.roofs.gutters import SHORT_M, Gutters, corner_places

__all__ = ["OFF_PARTY_M", "Sites", "place_sites"]

OFF_PARTY_M: Final = 0.3
"""A downspout at a party wall stands this far from it [m]."""
PLACED: Final = -1


@dataclass(frozen=True, eq=False)
class Sites:
    """Downspouts along gutters, in order: gutter, place along it [m], number of the given one or -1."""

    gutter: NDArray[np.int64]
    at_m: NDArray[np.float64]
    given: NDArray[np.int64]

    @classmethod
    def of(cls, gutter: NDArray[np.int64], at_m: NDArray[np.float64], given: NDArray[np.int64] | None = None) -> Sites:
        """Sites in any order; placed ones unless numbers of given ones come with them."""
        given = np.full(len(gutter), PLACED, np.int64) if given is None else given
        order = np.lexsort((given, at_m, gutter))
        return cls(gutter[order], at_m[order], given[order])

    def and_placed(self, gutter: NDArray[np.int64], at_m: NDArray[np.float64]) -> Sites:
        """The same and more placed ones."""
        given = np.concatenate([self.given, np.full(len(gutter), PLACED, np.int64)])
        return Sites.of(np.concatenate([self.gutter, gutter]), np.concatenate([self.at_m, at_m]), given)

    def around(self, gutters: Gutters) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]:
        """Stretches between neighbours along a gutter, right round a closed one: first, second, length [m]."""
        first = np.arange(len(self.gutter))
        last = np.ones(len(first), dtype=bool)
        last[:-1] = self.gutter[1:] != self.gutter[:-1]
        head = np.searchsorted(self.gutter, self.gutter)
        second = np.where(last, head, first + 1)
        keep = ~last | gutters.closed[self.gutter]
        gap = self.at_m[second] - self.at_m + np.where(last, gutters.length_m[self.gutter], 0.0)
        return first[keep], second[keep], gap[keep]


def place_sites(feet: Footprints, gutters: Gutters, given: GivenSpouts, run_most_m: float) -> Sites:
    """Put downspouts along gutters.

    Given ones come first. Where none is given: at corners, and at the ends that are no party wall (at a party wall only
    when there is no other place). Where some are given: at the corners and ends of stretches too long for them. In the
    end evenly wherever a gutter run would still be longer than allowed.

    Parameters
    ----------
    feet, gutters
        The pieces and their gutters.
    given
        Given downspouts.
    run_most_m
        Longest gutter run to one downspout. [m]
    """
    sites = _given_sites(feet, gutters, given)
    has_given = np.isin(np.arange(len(gutters.piece)), sites.gutter)
    corners = Sites.of(*corner_places(feet, gutters))
    off = np.minimum(OFF_PARTY_M, 0.25 * gutters.length_m)
    first = np.where(gutters.party_first, off, 0.0)
    last = gutters.length_m - np.where(gutters.party_last, off, 0.0)
    far = _far_corners(corners, sites, gutters, first, last, run_most_m)
    fresh = corners.gutter[~has_given[corners.gutter]], corners.at_m[~has_given[corners.gutter]]
    ends = _free_ends(gutters, first, last, ~has_given)
    clear = _clear_of_ends(*fresh, gutters, first, last)
    sites = sites.and_placed(*far).and_placed(fresh[0][clear], fresh[1][clear]).and_placed(*ends)
    bare = np.setdiff1d(np.arange(len(gutters.piece)), sites.gutter)
    sites = sites.and_placed(bare, first[bare])
    sites = sites.and_placed(*_far_ends(sites, gutters, first, last, run_most_m))
    return sites.and_placed(*_fill(sites, gutters, run_most_m))


def _given_sites(feet: Footprints, gutters: Gutters, given: GivenSpouts) -> Sites:
    """Given downspouts on their gutters; the end of a gutter that goes right round is its start."""
    piece = np.repeat(np.arange(len(given.offsets) - 1), np.diff(given.offsets))
    edge = given.edge + feet.edge_offsets[piece]
    order = np.argsort(gutters.edge, kind="stable")
    link = order[np.searchsorted(gutters.edge[order], edge)] if len(edge) else np.empty(0, np.int64)
    gutter = gutters.of_link[link]
    at_m = gutters.start_m[link] + given.at_m
    length = gutters.length_m[gutter]
    at_m = np.where(gutters.closed[gutter] & (at_m >= length - 1e-9), 0.0, np.minimum(at_m, length))
    return Sites.of(gutter, at_m, np.arange(len(edge)))


def _neighbours(
    corners: Sites, sites: Sites, gutters: Gutters
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_], NDArray[np.bool_]]:
    """Places of the sites before and after each corner on its gutter, and whether there is one."""
    offsets = np.searchsorted(sites.gutter, np.arange(len(gutters.piece) + 1))
    after = last_at_most(sites.at_m, offsets, corners.gutter, corners.at_m) + 1
    head, tail = offsets[corners.gutter], offsets[corners.gutter + 1]
    closed = gutters.closed[corners.gutter] & (tail > head)
    has_low, has_high = (after > head) | closed, (after < tail) | closed
    padded = np.append(sites.at_m, [0.0, 0.0])
    length = gutters.length_m[corners.gutter]
    low = np.where(after > head, padded[after - 1], padded[tail - 1] - length)
    high = np.where(after < tail, padded[after], padded[head] + length)
    return low, high, has_low, has_high


def _far_corners(
    corners: Sites,
    sites: Sites,
    gutters: Gutters,
    first: NDArray[np.float64],
    last: NDArray[np.float64],
    run_most_m: float,
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Corners on gutters with given downspouts that lie in a stretch too long for these, and not close to its ends."""
    low, high, has_low, has_high = _neighbours(corners, sites, gutters)
    start, end = first[corners.gutter], last[corners.gutter]
    inside = has_low & has_high & (high - low > 2.0 * run_most_m)
    at_start = ~has_low & has_high & (high > run_most_m)
    at_end = has_low & ~has_high & (gutters.length_m[corners.gutter] - low > run_most_m)
    low, high = np.where(has_low, low, start), np.where(has_high, high, end)
    clear = (corners.at_m >= low + SHORT_M) & (corners.at_m <= high - SHORT_M)
    keep = (inside | at_start | at_end) & clear
    return corners.gutter[keep], corners.at_m[keep]


def _free_ends(
    gutters: Gutters, first: NDArray[np.float64], last: NDArray[np.float64], use: NDArray[np.bool_]
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Ends of gutters that are no party wall; of two close together the first."""
    at_first = np.flatnonzero(use & ~gutters.closed & ~gutters.party_first)
    apart = gutters.party_first | (last - first >= SHORT_M)
    at_last = np.flatnonzero(use & ~gutters.closed & ~gutters.party_last & apart)
    return np.concatenate([at_first, at_last]), np.concatenate([first[at_first], last[at_last]])


def _clear_of_ends(
    gutter: NDArray[np.int64],
    at_m: NDArray[np.float64],
    gutters: Gutters,
    first: NDArray[np.float64],
    last: NDArray[np.float64],
) -> NDArray[np.bool_]:
    """Whether corners are not close to an end that has a downspout of its own."""
    low = np.where(gutters.party_first[gutter], first[gutter], first[gutter] + SHORT_M)
    high = np.where(gutters.party_last[gutter], last[gutter], last[gutter] - SHORT_M)
    return gutters.closed[gutter] | ((at_m >= low) & (at_m <= high))


def _far_ends(
    sites: Sites, gutters: Gutters, first: NDArray[np.float64], last: NDArray[np.float64], run_most_m: float
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Ends of gutters from which the run to the next downspout would be too long."""
    number = np.arange(len(gutters.piece))
    head = np.searchsorted(sites.gutter, number)
    tail = np.searchsorted(sites.gutter, number, side="right") - 1
    at_first = np.flatnonzero(~gutters.closed & (sites.at_m[head] > run_most_m)) if len(number) else number
    at_last = number
    if len(number):
        at_last = np.flatnonzero(~gutters.closed & (gutters.length_m - sites.at_m[tail] > run_most_m))
    return np.concatenate([at_first, at_last]), np.concatenate([first[at_first], last[at_last]])


def _fill(sites: Sites, gutters: Gutters, run_most_m: float) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Places evenly between neighbours that stand too far apart."""
    a, _, gap = sites.around(gutters)
    more = np.maximum(np.ceil(gap / (2.0 * run_most_m) - 1e-9).astype(np.int64) - 1, 0)
    step = np.arange(more.sum()) - np.repeat(np.cumsum(more) - more, more) + 1
    a, gap, parts = np.repeat(a, more), np.repeat(gap, more), np.repeat(more + 1, more)
    at_m = sites.at_m[a] + gap * step / parts
    length = gutters.length_m[sites.gutter[a]]
    return sites.gutter[a], np.where(at_m >= length, at_m - length, at_m)

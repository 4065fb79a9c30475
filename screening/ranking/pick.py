"""The pick: which lots to visit this season, for the most water kept out of the drain.

A knapsack with caps and floors by group (street, zone), lots that must be in and lots that must not. A greedy answer
is always held; the linear relaxation bounds the optimum; lots whose reduced cost exceeds the gap between the two
cannot change sides (Dembo and Hammer 1980; Balas and Zemel 1980, the core of a knapsack), and only the few that
remain go to an exact solver (HiGHS, through scipy). Values are whole numbers, so that an optimum is an optimum.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from screening.errors import BadInput, Fault

__all__ = ["GroupLimit", "Pick", "pick"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


_TOO_TIGHT = Fault("No pick keeps every cap and floor within the budget", "Loosen a cap, a floor or the budget")


@dataclass(frozen=True, eq=False)
class GroupLimit:
    """How many lots of a group may or must be picked."""

    name: str
    members: NDArray[np.int64]
    """Positions of its lots."""
    least: int = 0
    most: int | None = None


@dataclass(frozen=True, eq=False)
class Pick:
    """The lots picked, and how near to the best that is.

    Parameters
    ----------
    chosen
        True for the lots picked, shape (n,).
    value
        Sum of their values.
    bound
        No pick can have more.
    proven
        Whether it is proven to be the best.
    """

    chosen: Flags
    value: int
    bound: int
    proven: bool

    @property
    def gap(self) -> float:
        """How much more than ``value`` the bound is, as a share of the bound; 0 when proven."""
        return 0.0 if self.proven or self.bound <= 0 else (self.bound - self.value) / self.bound


@dataclass(frozen=True, eq=False)
class _Problem:
    value: NDArray[np.int64]
    cost: Floats
    budget: float
    groups: tuple[GroupLimit, ...]
    low: Floats
    high: Floats

    def rows(self) -> tuple[Any, Floats, Floats]:
        """The constraints as a sparse matrix with lower and upper limits: budget first, then the groups."""
        n = self.value.size
        indices = [np.arange(n)] + [group.members for group in self.groups]
        data = [self.cost] + [np.ones(group.members.size) for group in self.groups]
        pointers = np.cumsum([0] + [part.size for part in indices])
        matrix = sparse.csr_matrix((np.concatenate(data), np.concatenate(indices), pointers), shape=(len(indices), n))
        most = [np.inf if group.most is None else group.most for group in self.groups]
        least = [float(group.least) for group in self.groups]
        return matrix, np.array([-np.inf, *least]), np.array([self.budget, *most])


def pick(
    value: NDArray[np.int64],
    cost: Floats,
    budget: float,
    *,
    groups: Sequence[GroupLimit] = (),
    must: Flags | None = None,
    never: Flags | None = None,
    seconds: float = 8.0,
) -> Pick:
    """Pick the lots of most value within a budget.

    Parameters
    ----------
    value
        Value of each lot, whole numbers (chance to be feasible x water kept, in litres), shape (n,).
    cost
        Cost of each lot, not negative; all ones when ``budget`` is a number of visits. Shape (n,).
    budget
        The most that the lots picked may cost together.
    groups
        Caps and floors on the number of lots of a group.
    must, never
        Lots that must be in, and lots that must not, shape (n,).
    seconds
        Time for the exact solver; an answer is given in any case.

    Raises
    ------
    BadInput
        When no pick keeps every limit.
    """
    n = value.size
    must = np.zeros(n, bool) if must is None else must
    never = np.zeros(n, bool) if never is None else never
    dear = (cost > budget) & ~must
    problem = _Problem(
        value.astype(np.int64),
        cost.astype(np.float64),
        float(budget),
        tuple(groups),
        must.astype(np.float64),
        (~(never | dear | ((value < 0) & ~must))).astype(np.float64),
    )
    if n == 0:
        return Pick(np.zeros(0, bool), 0, 0, True)
    if (problem.low > problem.high).any():
        raise BadInput([Fault("Lots are asked both to be in the pick and not to be", "Take them off one list")])
    return _solve(problem, seconds)


def _solve(problem: _Problem, seconds: float) -> Pick:
    matrix, lower, upper = problem.rows()
    relaxed = _relax(problem, matrix, lower, upper)
    bound = int(np.floor(-relaxed.fun + 1e-6 * max(1.0, -relaxed.fun * 1e-6)))
    best = _greedy(problem, matrix, lower, upper, relaxed.x)
    if best is None or problem.value[best].sum() < bound:
        exact, proven_bound = _core(problem, matrix, lower, upper, relaxed, best, seconds)
        bound = min(bound, proven_bound)
        if exact is not None and (best is None or problem.value[exact].sum() > problem.value[best].sum()):
            best = exact
    if best is None:
        raise BadInput([_TOO_TIGHT])
    best = _earliest_of_equals(problem, best)
    total = int(problem.value[best].sum())
    return Pick(best, total, max(bound, total), total >= bound)


def _relax(problem: _Problem, matrix: Any, lower: Floats, upper: Floats) -> Any:
    """Solve the linear relaxation; its marginals are the reduced costs."""
    finite_low, finite_high = np.isfinite(lower) & (lower > 0), np.isfinite(upper)
    rows = sparse.vstack([matrix[finite_high], -matrix[finite_low]])
    limits = np.concatenate([upper[finite_high], -lower[finite_low]])
    bounds = np.column_stack([problem.low, problem.high])
    found = linprog(-problem.value.astype(np.float64), A_ub=rows, b_ub=limits, bounds=bounds, method="highs")
    if found.status == 2:
        raise BadInput([_TOO_TIGHT])
    return found


def _greedy(problem: _Problem, matrix: Any, lower: Floats, upper: Floats, relaxed: Floats) -> Flags | None:
    """Round the relaxation down, then add what still fits, best value for cost first; None when a floor is missed."""
    chosen = (relaxed >= 1 - 1e-9) | (problem.low > 0)
    used = matrix @ chosen.astype(np.float64)
    by_column = matrix.tocsc()
    ratio = problem.value / np.maximum(problem.cost, 1e-12)
    order = np.lexsort((np.arange(ratio.size), -problem.value, -ratio))
    for i in order[(problem.high[order] > 0) & ~chosen[order]]:
        if used[0] >= problem.budget - 1e-12 and problem.cost[i] > 0:
            continue
        span = slice(by_column.indptr[i], by_column.indptr[i + 1])
        rows, amounts = by_column.indices[span], by_column.data[span]
        if (used[rows] + amounts <= upper[rows] + 1e-9).all():
            chosen[i] = True
            used[rows] += amounts
    within = (used <= upper + 1e-9).all() and (used >= lower - 1e-9).all()
    return chosen if within else None


def _core(
    problem: _Problem, matrix: Any, lower: Floats, upper: Floats, relaxed: Any, best: Flags | None, seconds: float
) -> tuple[Flags | None, int]:
    """Solve exactly over the lots that reduced costs leave open; None when the time ran out without an answer."""
    reduced = relaxed.lower.marginals + relaxed.upper.marginals
    slack = np.inf if best is None else -relaxed.fun - problem.value[best].sum() - 1 + 1e-6
    low, high = problem.low.copy(), problem.high.copy()
    high[(reduced > slack) & (low == 0)] = 0.0
    low[(-reduced > slack) & (high == 1)] = 1.0
    free = np.flatnonzero(low < high)
    fixed = low.copy()
    fixed[free] = 0.0
    used = matrix @ fixed
    core = matrix[:, free]
    found = milp(
        -problem.value[free].astype(np.float64),
        integrality=np.ones(free.size),
        bounds=Bounds(np.zeros(free.size), np.ones(free.size)),
        constraints=LinearConstraint(core, lower - used, upper - used),
        options={"time_limit": float(seconds), "mip_rel_gap": 0.0},
    )
    settled = int(problem.value[fixed > 0].sum())
    held = -1 if best is None else int(problem.value[best].sum())
    if found.status == 2:  # nothing better than the greedy answer among the lots left open
        return None, held if held >= 0 else np.iinfo(np.int64).max
    dual = getattr(found, "mip_dual_bound", None)
    bound = settled + int(np.floor(-dual + 1e-6)) if dual is not None and np.isfinite(dual) else np.iinfo(np.int64).max
    if found.x is None:
        return None, max(bound, held)
    chosen = fixed > 0
    chosen[free] = found.x > 0.5
    return chosen, max(bound, held)


def _earliest_of_equals(problem: _Problem, chosen: Flags) -> Flags:
    """Among lots alike in value, cost, groups and limits, take the first: one answer, whatever the solver's way."""
    n = chosen.size
    membership = np.zeros(n, dtype=object)
    for number, group in enumerate(problem.groups):
        membership[group.members] += 1 << number
    kinds: dict[tuple[Any, ...], list[int]] = {}
    for i in range(n):
        limits = (problem.low[i], problem.high[i])
        key = (int(problem.value[i]), float(problem.cost[i]), membership[i], *limits)
        kinds.setdefault(key, []).append(i)
    out = chosen.copy()
    for alike in kinds.values():
        count = int(chosen[alike].sum())
        out[alike] = False
        out[alike[:count]] = True
    return out

"""Work shared among threads."""

import threading

import pytest

from screening.terrain.threads import crew, in_bands


@pytest.mark.parametrize("threads", [1, 2, 4])
def test_results_come_in_order_and_workspaces_are_never_shared(threads: int) -> None:
    made: list[list[int]] = []

    def workspace() -> list[int]:
        made.append([threading.get_ident()])
        return made[-1]

    def work(mine: list[int], number: int) -> int:
        assert mine[0] == threading.get_ident()
        return number * number

    with crew(threads, workspace) as hands:
        assert hands.map(work, 50) == [n * n for n in range(50)]
        hands.map(work, 20)
    assert 1 <= len(made) <= threads


@pytest.mark.parametrize("rows", [1, 128, 129, 1000, 5000])
def test_bands_cover_all_rows_once(rows: int) -> None:
    seen = []
    in_bands(lambda first, last: seen.extend(range(first, last)), rows, 2)
    assert sorted(seen) == list(range(rows))


def test_an_error_in_a_thread_is_raised() -> None:
    def work(_: None, number: int) -> None:
        if number == 3:
            raise ValueError("tile three")

    with pytest.raises(ValueError, match="tile three"), crew(2, lambda: None) as hands:
        hands.map(work, 8)

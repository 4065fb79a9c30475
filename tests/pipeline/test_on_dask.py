"""The workers of a Dask cluster give the answer that threads give."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import distributed
import numpy as np
import pytest

from screening.blocks import on_dask
from screening.blocks.area_terrain import area_terrain
from screening.blocks.on_dask import dask_client
from screening.blocks.split import cutter
from screening.blocks.whole_area import area_context
from screening.clock import Clock
from screening.errors import BadInput
from screening.pipeline import screen
from screening.rules import Rules
from tests.pipeline.test_threads import Told, assert_same


@pytest.fixture(scope="module", params=[1, 2])
def client(request: pytest.FixtureRequest) -> Iterator[Any]:
    with (
        distributed.LocalCluster(
            n_workers=request.param, threads_per_worker=1, processes=request.param > 1, dashboard_address=":0"
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        yield client


def test_the_answer_is_the_same_on_workers(area, result, client):
    clock, told = Clock(), Told()
    again = screen(area, lots_per_block=2, client=client, clock=clock, progress=told)
    assert_same(result, again)
    assert {"roofs", "search", "water"} <= clock.processor_s.keys()
    assert told.steps[-2:] == [(9, 9), "ranking"]


def test_a_fault_on_a_worker_is_raised_as_it_is(area, client):
    own = {area.layers["lots"]["lot_id"].iloc[1]: {"capture_depth_mm": 20.0}}
    context = replace(area_context(area, Rules()), own_rules=own)
    blocks = [cutter(area, area_terrain(area, Rules()))(np.arange(9))]
    with pytest.raises(ValueError, match="the lots of one block have 2 sets of rules"):
        list(on_dask.on_dask(client, blocks, context, Clock()))


def test_workers_are_started_by_number():
    with dask_client("1") as client:
        assert list(client.nthreads().values()) == [1]
        assert client.submit(sum, [1, 2]).result() == 3


@pytest.mark.parametrize("where", ["tcp://127.0.0.1:9", "nonsense://x"])
def test_no_scheduler_is_told_in_a_sentence(where, monkeypatch):
    monkeypatch.setattr(on_dask, "PATIENCE_S", 0.5)
    with pytest.raises(BadInput, match=f"No Dask scheduler answers at '{where}'"), dask_client(where):
        pass


def test_without_dask_the_mend_is_told(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(BadInput, match=r"Dask is not installed.*rain-garden-screening\[dask\]"), dask_client("2"):
        pass

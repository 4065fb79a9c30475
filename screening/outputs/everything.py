"""Write everything a run owes, aside first, so that nothing half-written ever stands under a final name."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_EXCEPTION, Executor, Future, ThreadPoolExecutor, wait
from contextlib import contextmanager
from dataclasses import replace
from importlib import import_module
from pathlib import Path
from typing import Any, TypeVar

from rasterio.errors import NotGeoreferencedWarning

from screening.clock import Clock
from screening.outputs.database import write_database
from screening.outputs.extras import Extras
from screening.outputs.geopackage import Problems, write_geopackage
from screening.outputs.geoparquet import write_geoparquet
from screening.outputs.no_addresses import without_addresses
from screening.outputs.record import write_record
from screening.outputs.terrain_files import RASTERS, write_terrain
from screening.outputs.write import written_aside
from screening.places import first_ids
from screening.ranking.sentences import Units
from screening.result import Screening

__all__ = ["Writer", "write_outputs", "writer"]

T = TypeVar("T")

_EARLIER = ("map_pages/[1-9]*.html", "map_public.html", *(f"terrain/{raster.layer}.tif" for raster in RASTERS))
"""What one run may write and the next may not: left behind, it would tell of another run."""


class Writer:
    """Writes what a run owes into a folder aside, each part as soon as what it tells is known."""

    def __init__(
        self, out_dir: Path, aside: Path, threads: tuple[Executor, Executor], clock: Clock, *, addresses: bool
    ) -> None:
        self._out_dir, self._aside, self._clock = out_dir, aside, clock
        self._beside, self._drawing = threads
        self._addresses = addresses
        self._terrain: Future[dict[str, Path]] | None = None
        self._tables: Future[Path] | None = None
        self._columns: Future[Any] | None = None
        self._rest: Future[tuple[Screening, Problems]] = Future()
        # what draws takes most of a second to load, which terrain leaves a core for
        self._loaded = self._drawing.submit(import_module, "screening.outputs.drawn")

    def ground_known(self, found: Screening) -> None:
        """Begin with the rasters of a result, of which nothing else need be known yet."""
        self._loaded.result()  # modules that load may set filters of warnings, and the next stage sets its own
        self._terrain = self._beside.submit(self._timed, write_terrain, found, self._aside / "terrain")

    def lots_known(self, found: Screening) -> None:
        """Begin with the tables that ranking leaves as they are."""
        found = found if self._addresses else without_addresses(found)
        path = self._aside / "lots.gpkg"
        self._tables = self._beside.submit(self._timed, write_geopackage, found, path, self._rest.result)
        self._columns = self._drawing.submit(self._on_page, found)

    def _on_page(self, found: Screening) -> Any:
        """What the map holds of the tables that ranking leaves as they are."""
        from screening.outputs import drawn

        return self._timed(drawn.settled_columns, found)

    def give_up(self, error: BaseException) -> None:
        """Let nothing wait for what will not come."""
        if not self._rest.done():
            self._rest.set_exception(error)

    def _timed(self, write: Callable[..., T], *given: Any) -> T:
        with self._clock.part("writing beside"):
            return write(*given)

    def finish(
        self,
        result: Screening,
        *,
        units: Units = "metric",
        public: bool = False,
        extras: Extras | None = None,
    ) -> dict[str, Path]:
        """Write the rest, as ``write_outputs`` says; paths as they will be once all is in its place."""
        from screening.outputs import drawn

        extras, aside = extras or Extras(), self._aside
        result = result if self._addresses else without_addresses(result)
        shown = result.by_place()
        first = first_ids(result.lots)
        extras = replace(extras, sheets_for=tuple(first.get(lot, lot) for lot in extras.sheets_for))
        if self._terrain is None:
            self.ground_known(result)
        if self._tables is None:
            self.lots_known(result)
        assert self._terrain is not None
        assert self._tables is not None
        assert self._columns is not None
        with warnings.catch_warnings():
            # pictures mute this for the whole process, and what is written beside them would unmute it
            warnings.simplefilter("ignore", NotGeoreferencedWarning)
            how: dict[str, Any] = {"addresses": self._addresses, "public": public, "settled": self._columns.result()}
            jobs = drawn.all_map_jobs(shown, aside, units, **how)
            maps = {name: self._drawing.submit(job) for name, job in jobs.items()}
            sheets, problems = drawn.write_wanted_sheets(shown, aside, units, extras)
            self._rest.set_result((result, problems))
            more = self._beside.submit(_write_more, result, aside, problems, extras)
            lists = drawn.write_lists(shown, aside, units)
            begun: list[Future[Any]] = [self._terrain, self._tables, more, *maps.values()]
            for done in wait(begun, return_when=FIRST_EXCEPTION).done:
                done.result()
        paths = {name: page.result() for name, page in maps.items()} | {"sheets": sheets}
        paths |= {"lots": self._tables.result()} | more.result() | lists | self._terrain.result()
        paths["run"] = write_record(result, aside / "run.json")
        return {name: self._out_dir / path.relative_to(aside) for name, path in paths.items()}


@contextmanager
def writer(out_dir: Path, clock: Clock | None = None, *, addresses: bool = True) -> Iterator[Writer]:
    """What writes the outputs of one run into a folder, where they stand once the context is left without a fault.

    Parameters
    ----------
    out_dir
        As ``write_outputs`` has it.
    clock
        Adds up the time of what is written beside other stages.
    addresses
        As ``write_outputs`` has it.
    """
    with written_aside(out_dir, _EARLIER) as aside, _threads() as threads:
        one = Writer(out_dir, aside, threads, clock or Clock(), addresses=addresses)
        try:
            yield one
        except BaseException as error:
            one.give_up(error)
            raise


def write_outputs(
    result: Screening,
    out_dir: Path | str,
    *,
    units: Units = "metric",
    addresses: bool = True,
    public: bool = False,
    extras: Extras | None = None,
) -> dict[str, Path]:
    """Write the map, the tables, the rasters and the run record.

    Parameters
    ----------
    result
        The result of a run.
    out_dir
        Folder to write into, made when it is not there. Files of an earlier run are replaced, each as a whole; its
        map pages, public map and terrain rasters that this run has none of are removed.
    units
        Units that people read first: the map starts with them (it switches), the workbook and the chart keep them. CSV,
        GeoPackage and rasters are metric always.
    addresses
        False leaves addresses out of every output: lots go by their ids.
    public
        Write ``map_public.html`` as well: streets and totals, nothing of single lots.
    extras
        Which lots get sheets; GeoParquet; a database.

    Returns
    -------
    dict
        Path of each output by its name: ``map``, ``sheets``, ``lots``, ``approach``, ``workbook``, ``ruled_out``,
        ``streets``, ``curves``, ``inlets``, ``columns``, ``chart``, ``overview``, ``run``, and
        one for each terrain raster; ``geoparquet_`` and the table's name where asked for.

    Raises
    ------
    BadInput
        When a lot that is to get a sheet is not there, or the database refuses.
    """
    with writer(Path(out_dir), addresses=addresses) as one:
        return one.finish(result, units=units, public=public, extras=extras)


@contextmanager
def _threads() -> Iterator[tuple[Executor, Executor]]:
    """A thread for rasters and tables, and two for the map, beside the sheets and the lists.

    When anything fails, what they have not begun they do not begin.
    """
    executors = ThreadPoolExecutor(1), ThreadPoolExecutor(2)
    try:
        yield executors
    finally:
        for to_the_end in (False, True):
            for executor in executors:
                executor.shutdown(to_the_end, cancel_futures=True)


def _write_more(result: Screening, folder: Path, problems: Problems, extras: Extras) -> dict[str, Path]:
    """The tables as GeoParquet and in a database, where asked for."""
    paths: dict[str, Path] = {}
    if extras.geoparquet:
        paths |= write_geoparquet(result, folder / "geoparquet", problems)
    if extras.database is not None:
        write_database(result, extras.database, problems, overwrite=True)
    return paths

"""Write everything a run owes, aside first, so that nothing half-written ever stands under a final name."""

from __future__ import annotations

from pathlib import Path

from screening.outputs.chart import write_street_chart
from screening.outputs.csv_files import write_csv_files
from screening.outputs.geopackage import write_geopackage
from screening.outputs.map import write_maps, write_public_map
from screening.outputs.overview import write_overview
from screening.outputs.record import write_record
from screening.outputs.sheets import write_sheets
from screening.outputs.terrain_files import RASTERS, write_terrain
from screening.outputs.workbook import write_workbook
from screening.outputs.write import written_aside
from screening.ranking.sentences import Units
from screening.result import Screening

__all__ = ["write_outputs"]

_EARLIER = ("map_pages/[1-9]*.html", "map_public.html", *(f"terrain/{raster.layer}.tif" for raster in RASTERS))
"""What one run may write and the next may not: left behind, it would tell of another run."""


def write_outputs(
    result: Screening,
    out_dir: Path | str,
    *,
    units: Units = "metric",
    addresses: bool = True,
    public: bool = False,
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
        False leaves addresses out of the map.
    public
        Write ``map_public.html`` as well: streets and totals, nothing of single lots.

    Returns
    -------
    dict
        Path of each output by its name: ``map``, ``sheets``, ``lots``, ``approach``, ``workbook``, ``ruled_out``,
        ``streets``, ``curves``, ``inlets``, ``columns``, ``chart``, ``overview``, ``run``, and one for
        each terrain raster.
    """
    out_dir = Path(out_dir)
    with written_aside(out_dir, _EARLIER) as aside:
        paths = write_maps(result, aside / "map.html", units, addresses=addresses)
        if public:
            paths["map_public"] = write_public_map(result, aside / "map_public.html", units)
        paths["sheets"], problems = write_sheets(result, aside / "sheets.pdf", units=units)
        paths["lots"] = write_geopackage(result, aside / "lots.gpkg", problems)
        paths |= write_csv_files(result, aside)
        paths["workbook"] = write_workbook(result, aside / "approach.xlsx", units)
        paths["chart"] = write_street_chart(result, aside / "streets.png", units)
        paths["overview"] = write_overview(result, aside / "overview.png")
        paths |= write_terrain(result, aside / "terrain")
        paths["run"] = write_record(result, aside / "run.json")
    return {name: out_dir / path.relative_to(aside) for name, path in paths.items()}

"""A truth of the demo generator as an area, and the area that an office would have on file of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from affine import Affine
from numpy.typing import NDArray
from pyproj import CRS

from screening import Rules, area_from_layers
from screening.area import Area, SoilMap
from screening.grid import Grid
from screening.inputs import read_area as read_files
from screening.soils.components import component_facts
from screening.soils.soil_map import soil_map
from scripts.demo_area_maker import tables
from scripts.demo_area_maker.neighbourhood import Neighbourhood
from scripts.demo_area_maker.relief import CELL_M
from scripts.truths.fields import gaussian_field
from scripts.truths.soil import true_soils

__all__ = ["Survey", "Truth", "certain_rules", "draw_truth", "survey_on_file"]

TRUTH_STAGE = 91
WEIGHTS = ("water_kept", "soil", "lead", "slope", "room", "side")
WEIGHT_SUM = 1000


@dataclass(frozen=True)
class Survey:
    """The soil survey on file: its map, and the components of its units (``soils.components.component_facts``)."""

    mapped: SoilMap
    components: pd.DataFrame


@dataclass(frozen=True)
class Truth:
    """What there is, with rules that know of no error, and what is on file."""

    true: Area
    true_rules: Rules
    on_file: Area


def survey_on_file(area_file: Path, rules: Rules) -> Survey:
    """The survey of the demo area, whose ground all truths share."""
    read = read_files(area_file)
    if read.raw_soils is None:
        raise ValueError(f"{area_file} has no soil survey")
    mapped, _ = soil_map(read.raw_soils.polygons, read.raw_soils.tables, rules)
    return Survey(mapped, component_facts(read.raw_soils.tables, rules))


def certain_rules(rules: Rules, random: np.random.Generator) -> Rules:
    """Rules without any error, their weights drawn about the given ones as firmly as the rules hold them."""
    given = np.array([getattr(rules, f"weight_{name}") for name in WEIGHTS], dtype=np.float64)
    weights = given / given.sum()
    if rules.score_weights_firmness > 0:
        weights = random.dirichlet(rules.score_weights_firmness * weights)
    whole = {f"weight_{name}": round(WEIGHT_SUM * w) for name, w in zip(WEIGHTS, weights, strict=True)}
    none = {
        "elevation_error_m": 0.0,
        "slope_error_pct": 0.0,
        "soil_line_error_m": 0.0,
        "infiltration_spread": 1.0,
        "roof_error_pct": 0.0,
        "score_weights_firmness": 0.0,
        "draws": 10,
    }
    return rules.model_copy(update={**none, **whole})


def draw_truth(made: Neighbourhood, survey: Survey, rules: Rules) -> Truth:
    """Draw soils, and what a survey flight and a digitizer make of ground and roofs.

    Parameters
    ----------
    made
        A neighbourhood of the demo generator; its ground and its roofs are the truth.
    survey
        Soils on file.
    rules
        Errors of what is on file.
    """
    random = np.random.default_rng([made.seed, TRUTH_STAGE])
    layers = _layers(made)
    ground = np.asarray(made.ground, dtype=np.float64)
    error = gaussian_field(ground.shape, rules.elevation_error_range_m / CELL_M, random)
    measured = np.round(ground + rules.elevation_error_m * error, 2)
    true = area_from_layers(_grid(made, ground), **layers, title="truth")
    digitized = {**layers, "roofs": _digitized(layers["roofs"], rules.roof_error_pct / 100.0, random)}
    on_file = area_from_layers(_grid(made, measured), **digitized, title="on file")
    soils = true_soils(survey.mapped, survey.components, true.layers["lots"], rules, random)
    return Truth(
        true=replace(true, soils=soils),
        true_rules=certain_rules(rules, random),
        on_file=replace(on_file, soils=survey.mapped),
    )


def _grid(made: Neighbourhood, heights: NDArray[np.float64]) -> Grid:
    frame = made.frame
    transform = Affine(CELL_M, 0.0, tables.EAST_M + frame.left, 0.0, -CELL_M, tables.NORTH_M + frame.top)
    return Grid.from_array(heights.astype(np.float32), transform, crs=CRS.from_user_input(tables.CRS))


def _layers(made: Neighbourhood) -> dict[str, gpd.GeoDataFrame]:
    """The neighbourhood's layers under the names of ``LAYER_COLUMNS``."""
    lots = tables.lots(made).rename(
        columns={"parcel_id": "lot_id", "owner_occ": "owner_occupied", "hoa": "association"}
    )
    roofs = tables.roofs(made).rename(columns={"form": "roof_kind"})
    roofs["basement"] = pd.array(roofs["basement"].map({"yes": True, "no": False}), dtype="boolean")
    ground = tables.ground_layers(made)
    ground["downspouts"] = ground["downspouts"].rename(columns={"spout": "downspout_id"})
    below = {name: layer for name, layer in tables.underground_layers(made).items() if len(layer)}
    return {"lots": lots, "roofs": roofs, **ground, **below}


def _digitized(roofs: gpd.GeoDataFrame, error: float, random: np.random.Generator) -> gpd.GeoDataFrame:
    """Roofs drawn too large or too small: the true area is that on file times 1 + error."""
    size = 1.0 / np.sqrt(np.maximum(1.0 + error * random.standard_normal(len(roofs)), 0.5))
    middle = shapely.get_coordinates(shapely.centroid(roofs.geometry.to_numpy()))
    shapes = [
        shapely.transform(shape, lambda p, m=m, s=s: m + s * (p - m))
        for shape, m, s in zip(roofs.geometry, middle, size, strict=True)
    ]
    return roofs.set_geometry(gpd.GeoSeries(shapes, index=roofs.index, crs=roofs.crs))

"""The tables of the area file as models: which keys there are, and of what type."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any, Final

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, create_model

from screening.area import LAYER_COLUMNS
from screening.inputs.database import table_name
from screening.inputs.layer_keys import CHOICES, LENGTHS, column_keys
from screening.inputs.tile_address import tile_address
from screening.units import LENGTH_UNITS_M, length_unit_m

__all__ = [
    "LAYER_MODELS",
    "RAIN_UNITS_MM",
    "TABLE_MODELS",
    "TOP_KEYS",
    "BackgroundTable",
    "Elevation",
    "Rainfall",
    "Soils",
    "Within",
]

RAIN_UNITS_MM: Final = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "inch": 25.4, "tenths_mm": 0.1}
"""Units of rain depth, in millimetres."""

_STEPS: Final = ("hour", "day")


def _as_files(value: Any) -> Any:
    """One path or a list of paths, as a tuple."""
    if isinstance(value, str):
        return (value,)
    if isinstance(value, list):
        return tuple(value)
    return value


def _as_box(value: Any) -> Any:
    """Four numbers, as a tuple of floats."""
    if not isinstance(value, list) or len(value) != 4:
        raise ValueError("write four numbers: west, south, east, north")
    return tuple(float(edge) if isinstance(edge, int | float | Decimal) else edge for edge in value)


def _length_unit(name: str) -> str:
    """A unit of length that is known."""
    if length_unit_m(name) is None:
        raise ValueError(f"known units: {', '.join(LENGTH_UNITS_M)}")
    return name


def _rain_unit(name: str) -> str:
    """A unit of rain depth that is known."""
    if name.lower() not in RAIN_UNITS_MM:
        raise ValueError(f"known units: {', '.join(RAIN_UNITS_MM)}")
    return name.lower()


def _step(name: str) -> str:
    """A step of a rain record that is known."""
    if name not in _STEPS:
        raise ValueError(f"known steps: {', '.join(_STEPS)}")
    return name


Files = Annotated[tuple[str, ...], BeforeValidator(_as_files), Field(min_length=1)]
Values = Annotated[tuple[str, ...], BeforeValidator(_as_files), Field(min_length=1)]
Box = Annotated[tuple[float, float, float, float], BeforeValidator(_as_box)]
LengthUnit = Annotated[str, AfterValidator(_length_unit)]
TileAddress = Annotated[str, AfterValidator(tile_address)]
DatabaseTable = Annotated[str, AfterValidator(table_name)]
Step = Annotated[str, AfterValidator(_step)]
RainUnit = Annotated[str, AfterValidator(_rain_unit)]


class Table(BaseModel):
    """One table of the area file."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class Elevation(Table):
    """``[elevation]``."""

    file: Files = Field(description="bare-earth raster: a path, a glob or a list of tiles")
    vertical_unit: LengthUnit | None = Field(None, description="unit of the heights")
    nodata: int | float | None = Field(None, description="value that marks missing cells where the file does not say")
    band: int = Field(1, ge=1, description="band to read")
    crs: str | None = Field(None, description="CRS where the file does not say, as EPSG:number or WKT")
    surface: Files | None = Field(None, description="surface raster (roofs and trees on it)")
    surface_vertical_unit: LengthUnit | None = Field(None, description="unit of the surface's heights")
    surface_nodata: int | float | None = Field(None, description="the same as nodata, for the surface")


class Within(Table):
    """``[within]``."""

    file: Files | None = Field(None, description="polygons of the part to screen")
    layer: str | None = Field(None, description="layer of the file")
    crs: str | None = Field(None, description="CRS where the file does not say; that of the box, degrees by default")
    encoding: str | None = Field(None, description="text encoding where the file does not say")
    column: str | None = Field(None, description="column that tells which polygons")
    values: Values | None = Field(None, description="what stands there for those that are meant")
    box: Box | None = Field(None, description="west, south, east, north, in place of a file")
    margin: int | float = Field(300, ge=0, description="how far around the other layers are read")
    margin_unit: LengthUnit = Field("m", description="its unit")


class Soils(Table):
    """``[soils]``."""

    file: Files | None = Field(None, description="polygons with a group column or a mukey column")
    layer: str | None = Field(None, description="layer of the file")
    crs: str | None = Field(None, description="CRS where the file does not say")
    encoding: str | None = Field(None, description="text encoding where the file does not say")
    export: Files | None = Field(None, description="folder or zip of a survey export; several for several survey areas")
    group: str | None = Field(None, description="column of the hydrologic group")
    mukey: str | None = Field(None, description="column of the map unit key")
    name: str | None = Field(None, description="column of the map unit's name")
    ksat: str | None = Field(None, description="column of the saturated conductivity [um/s]")
    water_table: str | None = Field(None, description="column of the depth to the seasonal high water table")
    water_table_unit: LengthUnit = Field("m", description="its unit")
    bedrock: str | None = Field(None, description="column of the depth to bedrock")
    bedrock_unit: LengthUnit = Field("m", description="its unit")


class Rainfall(Table):
    """``[rainfall]``."""

    file: Files | None = Field(None, description="hourly or daily record")
    unit: RainUnit | None = Field(None, description="unit of the depths: mm, in, ...")
    date: str | None = Field(None, description="column of the date or time")
    depth: str | None = Field(None, description="column of the depth")
    step: Step | None = Field(None, description="hour or day")
    storm_percentile: int | float | None = Field(
        None, ge=50, le=99.9, description="storm: this percentile of the record's days with over 0.1 inch"
    )
    frequency: str | None = Field(None, description="precipitation-frequency table (CSV) of the place")
    storm_years: int | None = Field(None, ge=1, description="storm: the table's depth that comes back in so many years")
    storm_hours: int | float = Field(24, gt=0, description="duration of that depth")


class FieldResults(Table):
    """``[field]``."""

    file: Files = Field(description="soil tests, levels, calls, consents, status, as built")


class BackgroundTable(Table):
    """``[background]``."""

    photo: Files | None = Field(None, description="air photo, put into the map's page")
    photo_crs: str | None = Field(None, description="CRS where the photo does not say, as EPSG:number or WKT")
    photo_credit: str | None = Field(None, description="whom to name for the photo")
    tiles: TileAddress | None = Field(None, description="address of the tiles of an online map")
    tiles_credit: str | None = Field(None, description="what the service wants shown")
    tiles_deepest: int = Field(19, ge=1, le=24, description="deepest zoom that it serves")
    photo_tiles: TileAddress | None = Field(None, description="address of the tiles of an online air photo")
    photo_tiles_credit: str | None = Field(None, description="what that service wants shown")
    photo_tiles_deepest: int = Field(19, ge=1, le=24, description="deepest zoom that it serves")


def _layer_model(layer: str) -> type[Table]:
    """The model of a vector layer's table, its column keys from ``LAYER_COLUMNS``."""
    fields: dict[str, Any] = {
        "file": (Files | None, Field(None, description="a path, a glob or a list")),
        "database": (DatabaseTable | None, Field(None, description="table of a PostGIS database, in place of a file")),
        "layer": (str | None, Field(None, description="layer of the file, where it has several")),
        "crs": (str | None, Field(None, description="CRS where the file does not say")),
        "encoding": (str | None, Field(None, description="text encoding where the file does not say")),
    }
    for key, column in column_keys(layer).items():
        fields[key] = (str | None, Field(None, description=f"column of {column}"))
        if column in LENGTHS:
            fields[f"{key}_unit"] = (LengthUnit, Field("m", description=f"unit of {column}"))
        if (layer, column) in CHOICES:
            words = ", ".join(CHOICES[layer, column])
            fields[f"{key}_values"] = (
                dict[str, str] | None,
                Field(None, description=f"the file's words for: {words}"),
            )
    model: type[Table] = create_model(f"{layer.capitalize()}Table", __base__=Table, **fields)
    return model


LAYER_MODELS: Final[dict[str, type[Table]]] = {layer: _layer_model(layer) for layer in LAYER_COLUMNS}
TABLE_MODELS: Final[dict[str, type[Table]]] = {
    "within": Within,
    "elevation": Elevation,
    "soils": Soils,
    **LAYER_MODELS,
    "rainfall": Rainfall,
    "field": FieldResults,
    "background": BackgroundTable,
}
TOP_KEYS: Final = ("title", "allow_urls", *TABLE_MODELS, "rules")
"""Everything that may stand at the top of an area file."""

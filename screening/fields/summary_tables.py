"""Tables of soils by lot, reasons, streets, inlets and problems."""

from __future__ import annotations

from screening.fields.field import Field

__all__ = ["CATCHMENTS", "CURVES", "INLETS", "PROBLEMS", "REASON_ROWS", "SOIL_LOTS", "STREETS"]

# fmt: off
SOIL_LOTS: tuple[Field, ...] = (
    Field("lot_id", "text", "", 0, "soils", "The lot."),
    Field("hsg", "text", "", 0, "soils", "Group, as the survey writes it, dual groups too; unknown when none is given."),
    Field("share", "number", "0 to 1", 0.0001, "soils", "Share of the open ground (of the lot without roofs when there is none)."),
    Field("area_m2", "number", "m2", 0.1, "soils", "Area."),
    Field("source", "text", "", 0, "soils", "survey, derived or none."),
)
REASON_ROWS: tuple[Field, ...] = (
    Field("lot_id", "text", "", 0, "siting", "The lot."),
    Field("code", "text", "", 0, "siting", "What the reason is about."),
    Field("severity", "text", "", 0, "siting", "rules out, look closer, test soil or note."),
    Field("measured", "number", "", 0.001, "siting", "Measured value."),
    Field("limit", "number", "", 0.001, "siting", "Its limit."),
    Field("unit", "text", "", 0, "siting", "Unit of both."),
    Field("detail", "text", "", 0, "siting", "A name or a source that the sentence needs."),
    Field("near", "flag", "", 0, "siting", "A limit failed narrowly."),
)
STREETS: tuple[Field, ...] = (
    Field("street", "text", "", 0, "streets", "The street."),
    Field("lots", "integer", "", 0, "streets", "Lots on it."),
    Field("feasible", "integer", "", 0, "streets", "Lots not ruled out."),
    Field("approach", "integer", "", 0, "streets", "Lots to approach."),
    Field("test_soil_first", "integer", "", 0, "streets", "Lots whose soil is to be tested first."),
    Field("look_closer", "integer", "", 0, "streets", "Lots to look at closer."),
    Field("ruled_out", "integer", "", 0, "streets", "Lots ruled out."),
    Field("roof_area_m2", "number", "m2", 0.1, "streets", "Roofs."),
    Field("storm_runoff_m3", "number", "m3", 0.01, "streets", "Shed in the storm."),
    Field("storm_captured_m3", "number", "m3", 0.01, "streets", "What its feasible gardens could capture in the storm."),
    Field("storm_kept_m3", "number", "m3", 0.01, "streets", "Of this, kept out of the drain."),
    Field("storm_kept_share", "number", "0 to 1", 0.001, "streets", "Kept over shed."),
    Field("year_runoff_m3", "number", "m3", 0.1, "streets", "Shed in a mean year."),
    Field("year_captured_m3", "number", "m3", 0.1, "streets", "What its feasible gardens could capture in a mean year."),
    Field("year_kept_m3", "number", "m3", 0.1, "streets", "Of this, kept out of the drain."),
    Field("gardens_for_share", "integer", "", 0, "streets", "Gardens, the best first, for the wanted share of what all could keep in the storm."),
    Field("gardens_for_share_random", "integer", "", 0, "streets", "The same, gardens in random order: half of the orders need no more."),
    Field("geometry", "geometry", "", 0, "streets", "The street's line; empty when none is given."),
)
INLETS: tuple[Field, ...] = (
    Field("inlet_id", "text", "", 0, "streets", "The inlet; one row for what meets none."),
    Field("lots", "integer", "", 0, "streets", "Lots whose roof water goes there for the most part."),
    Field("feasible", "integer", "", 0, "streets", "Of these, lots not ruled out."),
    Field("catchment_m2", "number", "m2", 1, "streets", "Ground whose water ends in it, along gutters too, and the roofs on it."),
    Field("storm_runoff_m3", "number", "m3", 0.01, "streets", "Shed towards it in the storm by roofs and paving, downspout by downspout."),
    Field("storm_captured_m3", "number", "m3", 0.01, "streets", "What feasible gardens could capture of this in the storm."),
    Field("storm_kept_m3", "number", "m3", 0.01, "streets", "Of this, kept out of the drain."),
    Field("storm_kept_share", "number", "0 to 1", 0.001, "streets", "Kept over shed."),
    Field("year_runoff_m3", "number", "m3", 0.1, "streets", "Shed towards it in a mean year."),
    Field("year_captured_m3", "number", "m3", 0.1, "streets", "What feasible gardens could capture of this in a mean year."),
    Field("year_kept_m3", "number", "m3", 0.1, "streets", "Of this, kept out of the drain."),
    Field("geometry", "geometry", "", 0, "streets", "The inlet."),
)
CATCHMENTS: tuple[Field, ...] = (
    Field("inlet_id", "text", "", 0, "streets", "The inlet."),
    Field("area_m2", "number", "m2", 1, "streets", "Ground whose water ends in it, along gutters too, and the roofs on it."),
    Field("shade", "integer", "", 0, "streets", "Number of a colour, 1 to 6: catchments side by side differ."),
    Field("geometry", "geometry", "", 0, "streets", "Outline of that ground, drawn on squares of 2 m or the cells where those are larger, corners cut."),
)
CURVES: tuple[Field, ...] = (
    Field("street", "text", "", 0, "streets", "The street; (all) is the whole area."),
    Field("gardens", "integer", "", 0, "streets", "Gardens built, of the street's feasible ones."),
    Field("best_m3", "number", "m3", 0.01, "streets", "Kept out of the drain in the storm by so many gardens, the best first."),
    Field("low_m3", "number", "m3", 0.01, "streets", "The same, gardens in random order: 5% of the orders keep less."),
    Field("median_m3", "number", "m3", 0.01, "streets", "The same: half of the orders keep less."),
    Field("high_m3", "number", "m3", 0.01, "streets", "The same: 95% of the orders keep less."),
)
PROBLEMS: tuple[Field, ...] = (
    Field("layer", "text", "", 0, "inputs", "The layer."),
    Field("feature", "text", "", 0, "inputs", "The feature, by its id or its number."),
    Field("problem", "text", "", 0, "inputs", "What is wrong."),
    Field("done", "text", "", 0, "inputs", "What was done: repaired, dropped, split, kept."),
    Field("area_before_m2", "number", "m2", 0.01, "inputs", "Area before."),
    Field("area_after_m2", "number", "m2", 0.01, "inputs", "Area after."),
    Field("geometry", "geometry", "", 0, "inputs", "Where."),
)

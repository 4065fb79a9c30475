"""Table of the season: what was done on each lot and what was built there."""

from __future__ import annotations

from screening.fields.field import Field

__all__ = ["OFF_LIST", "SEASON"]

OFF_LIST = ("built", "inspected", "paid", "refused", "not to be contacted")
"""Contact statuses that take a lot off the list: its verdict and score stay, it has no rank."""

# fmt: off
SEASON: tuple[Field, ...] = (
    Field("lot_id", "text", "", 0, "season", "The lot; only lots with a field result have a row."),
    Field("contact_status", "text", "", 0, "season", "How far the lot has come."),
    Field("approached", "text", "", 0, "season", "First date it was approached."),
    Field("answered", "text", "", 0, "season", "First date the household answered."),
    Field("visited", "text", "", 0, "season", "First date it was visited: a visit, a soil test or a level."),
    Field("tested", "text", "", 0, "season", "Date of its last soil test."),
    Field("applied", "text", "", 0, "season", "Date it applied."),
    Field("approved", "text", "", 0, "season", "Date it was approved before digging."),
    Field("built", "text", "", 0, "season", "Date the garden was built."),
    Field("inspected", "text", "", 0, "season", "Dates of inspections, separated by a space."),
    Field("paid", "text", "", 0, "season", "Date it was paid."),
    Field("answers", "text", "", 0, "season", "What the household said, each question's last answer."),
    Field("tests", "text", "", 0, "season", "Soil tests: hours of each filling, and the rate found in mm/h."),
    Field("levels", "text", "", 0, "season", "Level readings: ground at the spot below the ground at the house, in m."),
    Field("consents", "text", "", 0, "season", "Consents given or refused."),
    Field("ticket", "text", "", 0, "season", "Number of the utility locating ticket."),
    Field("built_ponding_area_m2", "number", "m2", 0.1, "season", "Ponding area as built."),
    Field("built_ponding_depth_mm", "number", "mm", 1, "season", "Ponding depth as built."),
    Field("built_bed_depth_mm", "number", "mm", 1, "season", "Bed depth as built."),
    Field("built_area_treated_m2", "number", "m2", 0.1, "season", "Roof and paving connected as built."),
    Field("built_native_share", "number", "0 to 1", 0.01, "season", "Native share of the plants as built."),
    Field("built_capture_depth_mm", "number", "mm", 0.1, "season", "Depth of rain that the garden holds as built."),
    Field("built_storm_captured_m3", "number", "m3", 0.01, "season", "Captured in the storm, as built."),
    Field("built_storm_kept_m3", "number", "m3", 0.01, "season", "Of this, kept out of the drain."),
    Field("built_year_captured_m3", "number", "m3", 0.1, "season", "Captured in a mean year, as built."),
    Field("built_year_kept_m3", "number", "m3", 0.1, "season", "Of this, kept out of the drain."),
    Field("outfall", "text", "", 0, "season", "Outfall or receiving water: as given, else the inlet that the lot's roof water ends in, else the nearest inlet."),
    Field("outfall_basis", "text", "", 0, "season", "given, over the ground, nearest inlet or unknown."),
    Field("geometry", "geometry", "", 0, "season", "The garden as built; else the spot; else a point on the lot."),
)

"""Tables of the siting stage. ``candidates`` suffices to choose among candidates anew, without any raster."""

from __future__ import annotations

from screening.fields.field import Field

__all__ = ["CANDIDATES", "LEADS", "OPEN_GROUND", "OVERFLOW_PATHS", "TAKEN"]

# fmt: off
CANDIDATES: tuple[Field, ...] = (
    Field("lot_id", "text", "", 0, "siting", "The lot."),
    Field("candidate", "integer", "", 0, "siting", "Its number on the lot, 0 to 7, in order of preference."),
    Field("chosen", "flag", "", 0, "siting", "Whether it is the lot's spot."),
    Field("second", "flag", "", 0, "siting", "Whether it is the lot's second garden, where the rules allow two."),
    Field("x_m", "number", "m", 0.001, "siting", "Centre, working CRS."),
    Field("y_m", "number", "m", 0.001, "siting", "Centre, working CRS."),
    Field("long_axis_deg", "number", "degrees", 0.1, "siting", "Long side, degrees anticlockwise from east."),
    Field("aspect", "number", "", 0.01, "siting", "Length over width of the ponding ellipse."),
    Field("room_m2", "number", "m2", 0.1, "siting", "Largest ponding area that fits."),
    Field("needed_m2", "number", "m2", 0.01, "siting", "Ponding area that holds the wanted depth from the downspouts led."),
    Field("ponding_area_m2", "number", "m2", 0.1, "siting", "Ponding area of the garden."),
    Field("footprint_m2", "number", "m2", 0.1, "siting", "Ponding area and berm ring."),
    Field("downspout_ids", "text", "", 0, "siting", "Downspouts led: their ids as a JSON list."),
    Field("draining_area_m2", "number", "m2", 0.01, "siting", "Their shares, and paving led."),
    Field("capture_depth_mm", "number", "mm", 0.1, "siting", "Depth of rain held."),
    Field("capture_most_mm", "number", "mm", 0.1, "siting", "Depth of rain that all its room holds from the least shares that the downspouts may have; empty where they may have none."),
    Field("eligible", "flag", "", 0, "siting", "Meets the programme's minimum."),
    Field("lead", "text", "", 0, "siting", "surface, shallow or buried."),
    Field("run_m", "number", "m", 0.01, "siting", "Longest lead."),
    Field("fall_m", "number", "m", 0.001, "siting", "Fall at the tightest lead, to the lip reported."),
    Field("fall_needed_m", "number", "m", 0.001, "siting", "Fall needed there."),
    Field("fall_margin_m", "number", "m", 0.001, "siting", "Fall at the lowest lip less the fall needed, tightest lead."),
    Field("fall_error_m", "number", "m", 0.001, "siting", "Error of that fall, one sigma."),
    Field("lip_m", "number", "m", 0.001, "siting", "Overflow level reported."),
    Field("lip_low_m", "number", "m", 0.001, "siting", "Lowest lip that can be built."),
    Field("lip_high_m", "number", "m", 0.001, "siting", "Highest lip that can be built."),
    Field("ground_m", "number", "m", 0.001, "siting", "Ground at the centre."),
    Field("drop_m", "number", "m", 0.001, "siting", "Drop from the centre to the lowest ground under the garden."),
    Field("berm_m", "number", "m", 0.01, "siting", "Berm crest over the lowest ground."),
    Field("cut_m", "number", "m", 0.01, "siting", "Uphill cut to the lip."),
    Field("slope_pct", "number", "%", 0.1, "siting", "Slope at the centre, or the steepest under the footprint less half its error where that is more."),
    Field("upslope_m2", "number", "m2", 1, "siting", "Most upslope area under the footprint."),
    Field("kept_share", "number", "0 to 1", 0.01, "siting", "Drain reach of the downspouts led, by share."),
    Field("kept_of_lot_share", "number", "0 to 1", 0.001, "siting", "Water it keeps out of the drain, of what all roofs of the lot could."),
    Field("side", "text", "", 0, "siting", "front, side or back."),
    Field("overflow_to", "text", "", 0, "siting", "Where the overflow goes."),
    Field("overflow_threatens", "text", "", 0, "siting", "Roof whose setback the overflow enters; empty when none."),
    Field("overflow_may_pass", "text", "", 0, "siting", "Roof whose setback the overflow may enter farther down than the rule counts, or when let out at the wrong end; empty when none."),
    Field("crosses_easement", "flag", "", 0, "siting", "A lead crosses an easement or main: consent."),
    Field("crosses_service", "flag", "", 0, "siting", "A lead crosses a buried service line: care."),
    Field("under_crown", "flag", "", 0, "siting", "Touches the crown of a tree of unknown trunk."),
    Field("look_at", "text", "", 0, "siting", "Other ground that it touches and somebody must look at."),
    Field("carved_m", "number", "m", 0.01, "siting", "Deepest cut through an obstacle in the elevation that its overflow hangs on."),
    Field("hsg", "text", "", 0, "soils", "Group there."),
    Field("hsg_source", "text", "", 0, "soils", "survey, derived, field or none."),
    Field("near_soil_line", "flag", "", 0, "soils", "Another group lies within the map line's error."),
    Field("chance_a", "number", "0 to 1", 0.001, "soils", "Chance of group A there."),
    Field("chance_b", "number", "0 to 1", 0.001, "soils", "Chance of group B there."),
    Field("chance_c", "number", "0 to 1", 0.001, "soils", "Chance of group C there."),
    Field("chance_d", "number", "0 to 1", 0.001, "soils", "Chance of group D there."),
    Field("ksat_um_s", "number", "um/s", 0.0001, "soils", "Design conductivity there."),
    Field("ksat_source", "text", "", 0, "soils", "survey, group, test or none."),
    Field("ksat_spread", "number", "factor", 0.01, "soils", "Its spread, factor of one sigma."),
    Field("water_table_m", "number", "m", 0.01, "soils", "Depth of the water table there; empty when none was seen."),
    Field("bedrock_m", "number", "m", 0.01, "soils", "Depth of bedrock there; empty when none was seen."),
    Field("failed_test_m", "number", "m", 0.1, "siting", "Distance to the nearest soil test on the lot that was too slow and does not stand for this place."),
    Field("test_h", "number", "h", 0.1, "siting", "Slowest filling of the soil tests that stand for this place; empty when none does."),
    Field("level_taken", "flag", "", 0, "siting", "Its fall was measured in the field."),
    Field("class_code", "integer", "", 0, "siting", "0 fall met, 1 within its error, 2 not met."),
    Field("geometry", "geometry", "", 0, "siting", "The ponding ellipse."),
)
LEADS: tuple[Field, ...] = (
    Field("lot_id", "text", "", 0, "siting", "The lot."),
    Field("candidate", "integer", "", 0, "siting", "The candidate."),
    Field("downspout_id", "text", "", 0, "siting", "The downspout."),
    Field("lead", "text", "", 0, "siting", "surface, shallow or buried."),
    Field("run_m", "number", "m", 0.01, "siting", "Length, bends counted."),
    Field("fall_m", "number", "m", 0.001, "siting", "Fall to the lip."),
    Field("fall_needed_m", "number", "m", 0.001, "siting", "Fall needed."),
    Field("geometry", "geometry", "", 0, "siting", "The lead."),
)
OVERFLOW_PATHS: tuple[Field, ...] = (
    Field("lot_id", "text", "", 0, "siting", "The lot."),
    Field("candidate", "integer", "", 0, "siting", "The candidate."),
    Field("overflow_to", "text", "", 0, "siting", "Where it goes."),
    Field("length_m", "number", "m", 0.1, "siting", "Length drawn."),
    Field("geometry", "geometry", "", 0, "siting", "The path down the ground from the lip."),
)
OPEN_GROUND: tuple[Field, ...] = (
    Field("lot_id", "text", "", 0, "siting", "The lot."),
    Field("area_m2", "number", "m2", 0.1, "siting", "Area."),
    Field("geometry", "geometry", "", 0, "siting", "Where digging is allowed after every setback."),
)
TAKEN: tuple[Field, ...] = (
    Field("lot_id", "text", "", 0, "siting", "The lot."),
    Field("constraint", "text", "", 0, "siting", "What took the ground."),
    Field("area_m2", "number", "m2", 0.1, "siting", "Ground of the lot that it takes, whatever else takes it too."),
    Field("alone_m2", "number", "m2", 0.1, "siting", "Ground that it alone takes."),
)

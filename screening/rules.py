"""Every limit, size and weight of a programme: one model behind defaults, validation, the printed file and the docs.

Local code and the programme's own terms override these defaults. ``basis`` says where a default comes from:
``CP`` common practice; ``P`` a published value (its source stands beside its check in the tests);
``M`` from memory of a published handbook; ``J`` a judgement of this project.
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

__all__ = ["RULE_GROUPS", "Rules"]


def rule(unit: str, low: float, high: float, basis: str, meaning: str) -> Any:
    """Describe one rule: its unit, the range that validates, its basis and what it means."""
    return Field(ge=low, le=high, description=meaning, json_schema_extra={"unit": unit, "basis": basis})


def choice(basis: str, meaning: str) -> Any:
    """Describe a rule that is not a number."""
    return Field(description=meaning, json_schema_extra={"unit": "", "basis": basis})


def weight(meaning: str) -> Any:
    """Describe a weight of the score."""
    return rule("", 0, 1000, "J", meaning)


class Rules(BaseModel):
    """The programme's rules; immutable. Lengths in metres unless the name says otherwise."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    # fmt: off
    # Setbacks, from the eave (or the thing's edge) to the outer edge of the berm ring
    house_setback_m: Annotated[float, rule("m", 0, 30, "CP, P", "house to garden")] = 3.0
    basement_setback_m: Annotated[float, rule("m", 0, 30, "CP, P", "house with a basement downhill of the garden")] = 6.0
    garage_setback_m: Annotated[float, rule("m", 0, 30, "CP", "garage on a slab to garden")] = 1.5
    shed_setback_m: Annotated[float, rule("m", 0, 30, "CP", "shed to garden")] = 1.0
    roof_overhang_m: Annotated[float, rule("m", 0, 2, "CP", "eave beyond the wall; moves the wall a lead must pass")] = 0.4
    side_line_setback_m: Annotated[float, rule("m", 0, 15, "CP", "side or rear lot line to garden")] = 1.5
    street_line_setback_m: Annotated[float, rule("m", 0, 15, "CP", "street line to garden")] = 1.0
    narrow_part_m: Annotated[float, rule("m", 0, 15, "J", "a part of a lot narrower than this is no ground: a flag lot's pole")] = 6.0
    paving_setback_m: Annotated[float, rule("m", 0, 5, "CP", "edge of walk, drive or patio to garden")] = 0.6
    well_setback_m: Annotated[float, rule("m", 0, 100, "P", "well to garden")] = 15.0
    septic_uphill_setback_m: Annotated[float, rule("m", 0, 100, "P", "septic field to a garden uphill of it")] = 15.0
    septic_downhill_setback_m: Annotated[float, rule("m", 0, 100, "P", "septic field to a garden downhill of it")] = 7.5
    retaining_wall_setback_m: Annotated[float, rule("m", 0, 30, "CP", "retaining wall of unknown height to garden")] = 3.0
    retaining_wall_setback_heights: Annotated[float, rule("x height", 0, 5, "CP", "retaining wall of known height")] = 1.5
    pool_setback_m: Annotated[float, rule("m", 0, 30, "CP", "pool to garden")] = 3.0
    steep_ground_setback_m: Annotated[float, rule("m", 0, 60, "P", "steep ground to garden")] = 15.0
    steep_ground_pct: Annotated[float, rule("%", 10, 100, "P", "ground that a garden keeps away from")] = 20.0
    steep_ground_least_m2: Annotated[float, rule("m2", 0, 1000, "J", "steep ground smaller than this is a bank, not a slope")] = 50.0
    overflow_clearance_m: Annotated[float, rule("m", 0, 10, "J", "overflow that passes nearer than this threatens a building")] = 1.5
    overflow_reach_m: Annotated[float, rule("m", 0, 500, "J", "overflow has spread and soaked farther down the ground than this")] = 30.0
    water_setback_m: Annotated[float, rule("m", 0, 60, "CP", "stream, pond or wetland to garden")] = 7.5
    buried_main_setback_m: Annotated[float, rule("m", 0, 10, "CP", "buried main to garden")] = 1.5
    buried_service_setback_m: Annotated[float, rule("m", 0, 10, "CP", "buried service line to garden")] = 0.6

    # Ground
    slope_look_pct: Annotated[float, rule("%", 1, 50, "CP", "slope under the footprint from which to look closer")] = 12.0
    slope_limit_pct: Annotated[float, rule("%", 1, 50, "CP", "slope under the footprint that rules out")] = 15.0
    slope_scale_m: Annotated[float, rule("m", 3, 10, "J", "width of the window that slope is measured over")] = 5.0
    upslope_look_m2: Annotated[float, rule("m2", 10, 1e6, "J", "upslope area at the spot from which to look closer")] = 500.0
    upslope_limit_m2: Annotated[float, rule("m2", 10, 1e6, "J", "upslope area at the spot to avoid")] = 2000.0
    hollow_depth_m: Annotated[float, rule("m", 0.01, 2, "J", "depth from which a hollow counts as wet")] = 0.10
    hollow_area_m2: Annotated[float, rule("m2", 1, 1000, "J", "area from which a hollow counts as wet")] = 10.0
    elevation_error_m: Annotated[float, rule("m", 0, 2, "P", "elevation error, one sigma")] = 0.10
    elevation_error_range_m: Annotated[float, rule("m", 0.1, 200, "J", "range of its Gaussian correlation")] = 10.0
    level_error_m: Annotated[float, rule("m", 0, 0.5, "J", "error of a fall measured with a level, one sigma")] = 0.02
    slope_error_pct: Annotated[float, rule("% points", 0, 10, "J", "error of a slope at its scale, one sigma")] = 1.0
    relief_m: Annotated[float, rule("m", 0, 10, "J", "ground about a lot's even slope, one sigma; draws shrink towards that slope")] = 0.3
    slope_relief_pct: Annotated[float, rule("% points", 0, 50, "J", "slopes of a lot's places about its mean slope, one sigma; draws shrink towards that mean")] = 2.0
    search_gain: Annotated[float, rule("x error", 0, 5, "J", "how much better a place that the search did not keep may be in truth, one sigma of a half-normal, in sigmas of the elevation's and the slope's error")] = 0.5
    assessed_least_share: Annotated[float, rule("share", 0, 1, "J", "share of the lot with valid data to be sure of it")] = 0.9

    # Lead, from downspout to garden
    freeboard_lead_m: Annotated[float, rule("m", 0, 0.5, "CP", "lip below the downspout's start, beyond the grade")] = 0.05
    lead_grade_pct: Annotated[float, rule("%", 0, 10, "CP", "least grade of a lead")] = 1.0
    start_depth_surface_m: Annotated[float, rule("m", 0, 2, "CP", "start of a surface swale below the ground")] = 0.0
    start_depth_shallow_m: Annotated[float, rule("m", 0, 2, "CP", "start of a shallow pipe below the ground")] = 0.10
    start_depth_buried_m: Annotated[float, rule("m", 0, 2, "CP", "start of a buried pipe below the ground")] = 0.20
    run_good_m: Annotated[float, rule("m", 0, 100, "CP", "length of a lead that is good")] = 9.0
    run_limit_m: Annotated[float, rule("m", 1, 100, "CP", "longest lead")] = 20.0
    run_per_roof_m_per_m2: Annotated[float, rule("m/m2", 0.01, 10, "J", "longest lead for each m2 of roof share led")] = 0.5
    run_always_m: Annotated[float, rule("m", 0, 50, "J", "lead length allowed whatever the roof share")] = 6.0
    pipe_diameter_m: Annotated[float, rule("m", 0.05, 0.5, "CP", "diameter of a lead pipe")] = 0.10
    pipe_cover_lawn_m: Annotated[float, rule("m", 0, 1, "CP", "cover of a pipe under lawn")] = 0.15
    pipe_cover_drive_m: Annotated[float, rule("m", 0, 1, "CP", "cover of a pipe under a drive")] = 0.30

    # Size of a garden
    capture_depth_mm: Annotated[float, rule("mm", 5, 200, "CP", "wanted depth of rain that a garden holds")] = 38.0
    capture_depth_least_mm: Annotated[float, rule("mm", 0, 200, "CP", "the programme's minimum")] = 38.0
    runoff_coefficient: Annotated[float, rule("", 0.5, 1, "P", "volumetric runoff coefficient of roofs and paving")] = 0.95
    ponding_depth_mm: Annotated[float, rule("mm", 50, 450, "CP, P", "ponding depth at the overflow lip")] = 150.0
    bed_depth_mm: Annotated[float, rule("mm", 0, 1200, "CP", "depth of the planting mix")] = 300.0
    void_fraction: Annotated[float, rule("", 0.05, 0.6, "CP, P", "void fraction of the planting mix")] = 0.40
    void_fraction_low: Annotated[float, rule("", 0.05, 0.6, "P", "lowest void fraction in the draws")] = 0.25
    berm_freeboard_mm: Annotated[float, rule("mm", 0, 300, "CP", "berm crest over the overflow lip")] = 50.0
    mulch_mm: Annotated[float, rule("mm", 0, 150, "CP", "mulch on the bed")] = 75.0
    pond_drawdown_h: Annotated[float, rule("h", 6, 120, "CP, P", "longest time for the pond to empty")] = 36.0
    bed_drawdown_h: Annotated[float, rule("h", 6, 168, "CP, P", "longest time for the whole bed to empty")] = 72.0
    ponding_area_least_m2: Annotated[float, rule("m2", 1, 50, "CP", "smallest ponding area")] = 3.0
    ponding_area_most_m2: Annotated[float, rule("m2", 2, 200, "CP", "largest ponding area")] = 28.0
    width_least_m: Annotated[float, rule("m", 0.3, 5, "CP", "least width of the ponding area")] = 1.2
    berm_ring_m: Annotated[float, rule("m", 0, 3, "CP", "width of the berm ring around the ponding area")] = 0.6
    draining_area_most_m2: Annotated[float, rule("m2", 20, 2000, "CP", "most draining area to one garden")] = 185.0
    berm_height_most_m: Annotated[float, rule("m", 0, 1, "CP", "highest berm")] = 0.30
    cut_most_m: Annotated[float, rule("m", 0, 2, "CP", "deepest uphill cut")] = 0.45
    gardens_most: Annotated[int, rule("", 1, 2, "J", "gardens on one lot")] = 1

    # Roofs
    gutter_run_most_m: Annotated[float, rule("m", 3, 40, "CP", "longest gutter run to one downspout")] = 12.0
    roof_share_least_m2: Annotated[float, rule("m2", 0, 100, "CP", "least roof share worth leading")] = 15.0
    outbuilding_most_m2: Annotated[float, rule("m2", 0, 100, "CP", "outbuilding left out of the shares, still in the way")] = 15.0
    lawn_soak_m: Annotated[float, rule("m", 1, 500, "J", "lawn over which roof water on its way falls to 37%")] = 15.0
    roof_kind: Annotated[str, choice("J", "roof where neither layer nor surface says: hip, gable or flat")] = "hip"

    # Soils
    infiltration_a_mm_h: Annotated[float, rule("mm/h", 0, 500, "M, J", "design infiltration where only group A is known")] = 20.0
    infiltration_b_mm_h: Annotated[float, rule("mm/h", 0, 500, "M, J", "the same, group B")] = 8.0
    infiltration_c_mm_h: Annotated[float, rule("mm/h", 0, 500, "M, J", "the same, group C")] = 4.0
    infiltration_d_mm_h: Annotated[float, rule("mm/h", 0, 500, "M, J", "the same, group D")] = 1.5
    infiltration_spread: Annotated[float, rule("factor", 1, 10, "M, J", "spread of design infiltration, factor of one sigma")] = 2.0
    built_lot_divisor: Annotated[float, rule("", 1, 20, "J", "survey conductivity on built lots is divided by this")] = 3.0
    infiltration_fast_mm_h: Annotated[float, rule("mm/h", 20, 2000, "CP", "too fast: caution near wells")] = 200.0
    water_table_clearance_m: Annotated[float, rule("m", 0, 3, "CP, M", "bed's bottom above the seasonal high water table")] = 0.6
    bedrock_clearance_m: Annotated[float, rule("m", 0, 3, "CP, M", "bed's bottom above bedrock")] = 0.6
    soil_line_error_m: Annotated[float, rule("m", 0, 100, "CP", "error of a soil map's line")] = 20.0
    soil_chance_out: Annotated[float, rule("chance", 0.5, 1, "J", "chance of an infeasible soil at which the map rules out")] = 0.9
    soil_map_purity: Annotated[float, rule("share", 0.5, 1, "J", "chance that a plainly mapped group is right; the rest to its neighbours")] = 0.80
    soil_test_spread: Annotated[float, rule("factor", 1, 10, "J", "spread of a soil test's conductivity, factor of one sigma")] = 1.4
    soil_test_reach_m: Annotated[float, rule("m", 0, 100, "J", "a soil test speaks for the places within this distance")] = 10.0
    soil_unit_correlation: Annotated[float, rule("", 0, 1, "J", "correlation of log conductivity across one map unit, however far")] = 0.5
    soil_correlation_range_m: Annotated[float, rule("m", 1, 5000, "J", "distance at which the rest of that correlation falls to 1/e")] = 100.0
    dual_group_drained: Annotated[bool, choice("J", "take the first letter of a dual group")] = False

    # Trees
    tree_trunk_radius_x: Annotated[float, rule("x trunk diameter", 3, 30, "M", "protected radius where the trunk is known")] = 12.0
    tree_crown_radius_x: Annotated[float, rule("x crown radius", 0.5, 3, "CP", "protected radius where only the crown is known")] = 1.0
    tree_height_least_m: Annotated[float, rule("m", 1, 20, "J", "what a surface raster shows this high, off the roofs, is a tree")] = 3.0
    tree_crown_least_m: Annotated[float, rule("m", 0, 15, "CP", "least protected radius where only the crown is known")] = 3.0

    # Planting
    berm_compost_mm: Annotated[float, rule("mm", 0, 150, "CP", "compost on the berm")] = 50.0
    plant_spacing_m: Annotated[float, rule("m", 0.1, 2, "CP", "plants, on a triangular grid")] = 0.45
    shrub_spacing_m: Annotated[float, rule("m", 0.3, 4, "CP", "shrubs")] = 1.2
    shrub_share: Annotated[float, rule("share", 0, 1, "J", "share of the planted area given to shrubs")] = 0.25
    native_share_least: Annotated[float, rule("share", 0, 1, "CP", "least native share of the plants")] = 0.75

    # Storm, year and the season
    storm_depth_mm: Annotated[float, rule("mm", 1, 1000, "CP", "storm that capture is told for")] = 38.0
    run_on: Annotated[bool, choice("J", "count what the ground uphill sheds over the lip into a garden")] = False
    lawn_condition: Annotated[str, choice("J", "lawn that its curve number is taken for: poor, fair or good")] = "fair"
    wanted_share: Annotated[float, rule("share", 0, 1, "J", "share of what all gardens of a street could keep that gardens are counted for")] = 0.5
    answer_share: Annotated[float, rule("share", 0, 1, "M, J", "households approached that answer")] = 0.15
    built_share: Annotated[float, rule("share", 0, 1, "M, J", "visits that end in a built garden")] = 0.5
    visits: Annotated[int, rule("lots", 1, 100000, "J", "visits this season; the first lots of the list")] = 30
    visits_of_street_most: Annotated[int, rule("lots", 0, 100000, "J", "most of these visits on one street; 0 as many as come")] = 0
    seed: Annotated[int, rule("", 0, 2**31, "J", "seed of every draw")] = 1
    draws: Annotated[int, rule("", 10, 10000, "J", "draws of the truth behind every chance")] = 200
    chance_look: Annotated[float, rule("chance", 0, 1, "J", "chance that the ground of a lot serves under which to look closer")] = 0.5
    roof_error_pct: Annotated[float, rule("%", 0, 20, "J", "error of a digitized roof's area, one sigma")] = 3.0
    score_weights_firmness: Annotated[float, rule("", 0, 1e6, "J", "how firm the weights are in the draws (Dirichlet); 0 as given")] = 100.0

    # Weights of the score, whole numbers
    weight_water_kept: Annotated[int, weight("water kept out of the drain")] = 40
    weight_soil: Annotated[int, weight("how well the soil takes water")] = 20
    weight_lead: Annotated[int, weight("ease of the lead: fall to spare and a short run")] = 15
    weight_slope: Annotated[int, weight("gentle ground under the garden")] = 10
    weight_room: Annotated[int, weight("room beyond the size that is needed")] = 10
    weight_side: Annotated[int, weight("a garden in front, where neighbours see it")] = 5

    # Value functions of the score: the value is 0 at `none` and full at `full`, a straight line between
    value_water_full_m3: Annotated[float, rule("m3", 0.1, 100, "J", "water kept in the storm that scores full")] = 5.0
    value_fall_full_m: Annotated[float, rule("m", 0.01, 5, "J", "fall beyond the need that scores full")] = 0.30
    value_room_full_x: Annotated[float, rule("x needed size", 1.01, 10, "J", "room that scores full")] = 2.0


# fmt: on
RULE_GROUPS: tuple[tuple[str, str], ...] = (
    ("house_setback_m", "Setbacks, from the eave or the thing's edge to the outer edge of the berm ring"),
    ("slope_look_pct", "Ground"),
    ("freeboard_lead_m", "Lead, from downspout to garden"),
    ("capture_depth_mm", "Size of a garden"),
    ("gutter_run_most_m", "Roofs"),
    ("infiltration_a_mm_h", "Soils"),
    ("tree_trunk_radius_x", "Trees"),
    ("berm_compost_mm", "Planting"),
    ("storm_depth_mm", "Storm, year and season"),
    ("weight_water_kept", "Weights of the score, whole numbers"),
    ("value_water_full_m3", "Value functions of the score"),
)
"""The first rule of each group and the group's heading, for the printed rules file."""

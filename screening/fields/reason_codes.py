"""Every reason that can stand behind a verdict: its code, its sentence, the rule that limits it.

A stage emits rows ``(lot_id, code, severity, measured, limit, unit, detail, near)``; the sentences and the CSV columns
derive from this list. Severity is the stage's to say: a limit failed beyond its uncertainty rules out, one failed
within it asks to look closer.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["REASONS", "SEVERITIES", "Reason"]

SEVERITIES: tuple[str, ...] = ("rules out", "look closer", "test soil", "note")
"""From the heaviest to the lightest."""


@dataclass(frozen=True)
class Reason:
    """A reason: ``sentence`` may hold {measured}, {limit} and {detail}, numbers coming with their unit."""

    code: str
    head: str
    sentence: str
    unit: str
    rule: str


# fmt: off
_ALL: tuple[Reason, ...] = (
    Reason("no_roof", "No roof", "No roof to catch: the largest roof share on this lot is {measured}, what is worth leading begins at {limit}.", "m2", "roof_share_least_m2"),
    Reason("not_assessed", "No elevation", "No elevation on the lot, so nothing could be judged ({measured} of the lot assessed).", "share", "assessed_least_share"),
    Reason("no_room", "Room", "No room: the largest garden that fits has {measured} of ponding area, the smallest allowed is {limit}. {detail}", "m2", "ponding_area_least_m2"),
    Reason("no_reach", "Reach", "No open ground within reach of a downspout: the nearest lies {measured} away, the longest lead is {limit}.", "m", "run_limit_m"),
    Reason("no_lead", "Lead", "Room {measured} from a downspout, but no straight lead gets there: house, lot line or a hump is in the way.", "m", "run_limit_m"),
    Reason("fall", "Fall", "Not enough fall: {measured} from the downspout to the lowest lip, {limit} needed. {detail}", "m", "lead_grade_pct"),
    Reason("slope", "Slope", "Steep: {measured} under the garden, the limit is {limit}. {detail}", "%", "slope_limit_pct"),
    Reason("slope_look", "Slope", "Rather steep: {measured} under the garden, to be looked at from {limit}.", "%", "slope_look_pct"),
    Reason("under_minimum", "Size", "Too small: the room holds {measured} of rain, the programme's minimum is {limit}.", "mm", "capture_depth_least_mm"),
    Reason("small_share", "Size", "The roof led is {measured} as far as its gutters can be guessed, what is worth leading begins at {limit}: see which way they fall.", "m2", "roof_share_least_m2"),
    Reason("draining_area", "Size", "Too much roof on one downspout: {measured}, one garden takes {limit} at most.", "m2", "draining_area_most_m2"),
    Reason("upslope", "Upslope water", "Concentrated flow: {measured} drain onto the spot, to be looked at from {limit}.", "m2", "upslope_look_m2"),
    Reason("water_table", "Water table", "Water table at {measured} below ground, as mapped or seen in a test hole; the bed needs {limit}.", "m", "water_table_clearance_m"),
    Reason("bedrock", "Bedrock", "Bedrock mapped at {measured} below ground; the bed needs {limit}.", "m", "bedrock_clearance_m"),
    Reason("pond_drawdown", "Drawdown", "The pond takes {measured} to empty, the limit is {limit}. {detail}", "h", "pond_drawdown_h"),
    Reason("bed_drawdown", "Drawdown", "The whole bed takes {measured} to empty, the limit is {limit}. {detail}", "h", "bed_drawdown_h"),
    Reason("failed_test", "Soil", "A soil test {measured} away on this lot was too slow: test here before anything else.", "m", "pond_drawdown_h"),
    Reason("slow_test", "Soil test", "A filling of the test hole took {measured} to empty, the limit is {limit}.", "h", "pond_drawdown_h"),
    Reason("repeat_test", "Soil test", "The test hole was filled once only ({measured}); a first filling reads too fast: fill it again.", "h", "pond_drawdown_h"),
    Reason("sump", "Water table", "The household has a sump pump: ground water may stand high, watch the test hole for it.", "", "water_table_clearance_m"),
    Reason("soil_group", "Soil", "Soil group {detail}: test before promising a garden.", "", "infiltration_c_mm_h"),
    Reason("soil_unknown", "Soil", "Soil group unknown ({detail}): test the soil.", "", "infiltration_c_mm_h"),
    Reason("soil_line", "Soil", "Another soil (group {detail}) is mapped within {limit} of the spot, the error of the map's line.", "m", "soil_line_error_m"),
    Reason("overflow", "Overflow", "The overflow would pass within {limit} of {detail}.", "m", "overflow_clearance_m"),
    Reason("consent", "Consent", "The lead crosses {detail}: consent is needed.", "", "buried_main_setback_m"),
    Reason("tree_crown", "Tree", "Under a tree whose trunk is not known ({detail}): see how near its roots are.", "", "tree_crown_least_m"),
    Reason("partly_assessed", "Elevation", "Only {measured} of the lot has elevation; {limit} is needed to be sure.", "share", "assessed_least_share"),
    Reason("carved", "Routing", "The way of the water hangs on a cut of {measured} through an obstacle in the elevation data (a culvert?).", "m", "hollow_depth_m"),
    Reason("chance", "Chance", "By the draws of the elevation's error the ground serves with a chance of {measured}; under {limit} it wants a closer look.", "share", "chance_look"),
    Reason("avoid", "Avoid", "{detail}", "", ""),
    Reason("wet_spots", "Wet ground", "The household knows wet spots on the lot ({detail}): see where they lie.", "", "pond_drawdown_h"),
    Reason("septic_told", "Septic", "The household has a septic tank or field that no map shows: find it before choosing a place.", "", "septic_uphill_setback_m"),
    Reason("owner", "Owner", "Who answered does not own the house: the owner must agree.", "", ""),
    Reason("association", "Association", "An association has a say here: its consent is needed.", "", ""),
    Reason("consent_refused", "Consent", "Consent was refused ({detail}).", "", ""),
    Reason("service_crossing", "Buried line", "The lead crosses a service line ({detail}): have it located, cross it shallow and by hand.", "", "buried_service_setback_m"),
    Reason("fast_soil", "Fast soil", "The soil takes {measured}; over {limit} keep well clear of wells.", "mm/h", "infiltration_fast_mm_h"),
    Reason("consent_given", "Consent", "Consent was given ({detail}).", "", ""),
    Reason("sprinklers", "Buried line", "The household has sprinklers: no free service marks their lines.", "", ""),
    Reason("piped", "Downspouts", "The household says that downspouts run into pipes: see where these end.", "", ""),
    Reason("overflow_may_pass", "Overflow", "The overflow may pass near {detail}: let out at the wrong end, or more than {limit} down the ground.", "m", "overflow_reach_m"),
    Reason("run_on", "Run-on", "{measured} of ground drain into the garden over its lip: what they shed in the storm, as {detail}, takes its part of the garden's room.", "m2", ""),
    Reason("run_on_unknown", "Run-on", "Ground without elevation may drain into the garden: what the garden captures of its roofs in the storm is not known.", "", ""),
    Reason("service", "Buried lines", "A lead crosses a buried service line: have it located, keep the lead shallow and dig by hand there.", "", "buried_service_setback_m"),
    Reason("taken", "Ground", "{detail}", "", ""),
    Reason("trees_unknown", "Trees", "Trees unknown: neither a tree layer nor a surface raster was given.", "", ""),
    Reason("paving_unknown", "Paving", "Drives and walks unknown: no such layer was given.", "", ""),
    Reason("buried_unknown", "Buried lines", "Buried lines unknown: no such layer was given; have them located before any digging.", "", ""),
    Reason("downspouts_placed", "Downspouts", "Downspouts are guesses of the tool: {measured} of {limit} placed by it.", "", ""),
    Reason("own_rules", "Rules", "Rules of its own hold for this lot: {detail}.", "", ""),
    Reason("street_unknown", "Street", "The lot's street is not known: {detail}.", "", ""),
    Reason("stacked", "Stacked lots", "Lots share this place ({detail}); its water is counted once.", "", ""),
)
REASONS: dict[str, Reason] = {reason.code: reason for reason in _ALL}
"""Reasons by code."""

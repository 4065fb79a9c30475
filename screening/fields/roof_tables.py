"""Tables of the roofs stage."""

from __future__ import annotations

from screening.fields.field import Field

__all__ = ["DOWNSPOUTS", "ROOF_PIECES", "ROOF_SHARES"]

# fmt: off
ROOF_PIECES: tuple[Field, ...] = (
    Field("piece_id", "text", "", 0, "roofs", "Roof id, a slash, lot id; a number where a roof lies on the lot in several parts."),
    Field("roof_id", "text", "", 0, "roofs", "The roof it is part of."),
    Field("lot_id", "text", "", 0, "roofs", "The lot it lies on."),
    Field("kind", "text", "", 0, "roofs", "house, garage or shed."),
    Field("kind_basis", "text", "", 0, "roofs", "given or guessed."),
    Field("roof_kind", "text", "", 0, "roofs", "hip, gable, flat or one slope."),
    Field("basement", "flag", "", 0, "roofs", "Whether it has a basement; empty when unknown."),
    Field("area_m2", "number", "m2", 0.01, "roofs", "Area of the piece in plan."),
    Field("shared", "flag", "", 0, "roofs", "Whether it is shared out to downspouts (outbuildings under the rule's size are not)."),
    Field("method", "text", "", 0, "roofs", "How its planes were found: skeleton, or the fallback used."),
    Field("geometry", "geometry", "", 0, "roofs", "The piece."),
)
ROOF_SHARES: tuple[Field, ...] = (
    Field("lot_id", "text", "", 0, "roofs", "The lot."),
    Field("piece_id", "text", "", 0, "roofs", "The roof piece."),
    Field("downspout_id", "text", "", 0, "roofs", "The downspout it drains to; empty when it is not led (an inner court)."),
    Field("area_m2", "number", "m2", 0.01, "roofs", "Area in plan."),
    Field("geometry", "geometry", "", 0, "roofs", "The part of the roof."),
)
DOWNSPOUTS: tuple[Field, ...] = (
    Field("downspout_id", "text", "", 0, "roofs", "Piece id, a slash, letter of the downspout; or its given id."),
    Field("lot_id", "text", "", 0, "roofs", "The lot."),
    Field("piece_id", "text", "", 0, "roofs", "The roof piece."),
    Field("placed", "flag", "", 0, "roofs", "Placed by the tool: a guess."),
    Field("share_m2", "number", "m2", 0.01, "roofs", "Roof share."),
    Field("share_low_m2", "number", "m2", 0.01, "roofs", "Roof share, gutters falling the other way."),
    Field("share_high_m2", "number", "m2", 0.01, "roofs", "Roof share, gutters falling this way."),
    Field("worth_leading", "flag", "", 0, "roofs", "Whether the share reaches the least worth leading."),
    Field("normal_x", "number", "", 0, "roofs", "Unit vector from the wall outward, east."),
    Field("normal_y", "number", "", 0, "roofs", "Unit vector from the wall outward, north."),
    Field("leads_to", "text", "", 0, "roofs", "pipe, drive, street or lawn, as given; empty when unknown."),
    Field("ground_m", "number", "m", 0.001, "siting", "Ground at the downspout, read off the wall."),
    Field("reach_share", "number", "0 to 1", 0.01, "siting", "Share of its water that today reaches the drain."),
    Field("reach_basis", "text", "", 0, "siting", "given, traced or guessed."),
    Field("inlet", "text", "", 0, "siting", "Inlet that its water ends in over the ground and along gutters; empty when none."),
    Field("geometry", "geometry", "", 0, "roofs", "Where it meets the wall."),
)

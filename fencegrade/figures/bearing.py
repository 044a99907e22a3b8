"""What soil carries sideways against a post: presumptive values of the building code."""

from enum import StrEnum

from msgspec import Struct

from fencegrade.figures.sources import Mark, Source


class SoilClass(StrEnum):
    """Soil by the classes of the code's table."""

    BEDROCK = "bedrock"
    ROCK = "rock"
    GRAVEL = "gravel"
    SAND = "sand"
    CLAY = "clay"


class Bearing(Struct, frozen=True, kw_only=True):
    """One class: what falls in it, lateral bearing (psf a foot of depth)."""

    material: str
    lateral: float
    source: Source


_TABLE = Source(
    document="International Building Code 2012, table 1806.2",
    mark=Mark.RESTATED,
)

BEARING = {
    SoilClass.BEDROCK: Bearing(material="crystalline bedrock", lateral=1200, source=_TABLE),
    SoilClass.ROCK: Bearing(material="sedimentary and foliated rock", lateral=400, source=_TABLE),
    SoilClass.GRAVEL: Bearing(material="sandy gravel and gravel (GW, GP)", lateral=200, source=_TABLE),
    SoilClass.SAND: Bearing(
        material="sand; silty or clayey sand or gravel (SW, SP, SM, SC, GM, GC)", lateral=150, source=_TABLE
    ),
    SoilClass.CLAY: Bearing(
        material="clay; sandy or silty clay; clayey silt; silt; sandy silt (CL, ML, MH, CH)",
        lateral=100,
        source=_TABLE,
    ),
}
"""Mud, organic soil and loose fill have no presumptive value."""

DEEPEST_COUNTED = 12.0
"""Feet: the depth of embedment counts for lateral pressure no farther than this."""

FORMULA_SOURCE = Source(
    document="International Building Code, section 1807.3.2.1, equation 18-1; that d counts to 12 ft is its "
    "definition of d there",
    mark=Mark.RESTATED,
)

PAVED_SOURCE = Source(
    document="International Building Code, section 1807.3.2.2, equation 18-2",
    mark=Mark.RESTATED,
)

ISOLATED_POLE_FACTOR = 2.0
"""Isolated poles that half an inch of movement at the ground under short loads does not harm, such as
those of
flagpoles and signs, may use twice the table. Whether a fence post counts as one is for the building official.
"""

ISOLATED_POLE_SOURCE = Source(
    document="International Building Code 2012, section 1806.3.4",
    mark=Mark.RESTATED,
)

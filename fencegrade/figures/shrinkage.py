"""How much narrower softwood boards are than green ones, by moisture content: published lines and words."""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType

from msgspec import Struct


class SpeciesGroup(StrEnum):
    """Woods that the published lines tell apart."""

    SOFTWOOD = "most softwoods"
    CEDAR = "redwood and cedars"


class ShrinkageLine(Struct, frozen=True, kw_only=True):
    """Width shrinkage from green in per cent, S = a - b M, with M the moisture content in per cent.

    Holds from `driest` to `wettest` per cent; `green` is the moisture content at and above which a board
    neither shrinks nor swells.
    """

    a: float
    b: float
    driest: float
    wettest: float
    green: float
    source: str


SHRINKAGE: Mapping[SpeciesGroup, ShrinkageLine] = MappingProxyType(
    {
        SpeciesGroup.SOFTWOOD: ShrinkageLine(
            a=6.031,
            b=0.215,
            driest=8.0,
            wettest=19.0,
            green=28.0,
            source="USDA Forest Products Laboratory, research paper FPL-RP-489: width, 8 to 19 %, green 28 %",
        ),
        SpeciesGroup.CEDAR: ShrinkageLine(
            a=3.454,
            b=0.157,
            driest=8.0,
            wettest=19.0,
            green=22.0,
            source="ASTM D1990, width of redwood and cedars, not checked against the document; green 22 % is "
            "where the line meets zero, own derivation",
        ),
    }
)
"""Lines by group. The range of the second is taken from the first."""


class MoistureWord(Struct, frozen=True, kw_only=True):
    """A word for how wet a board is, in per cent moisture content, and where the figure is from."""

    per_cent: float
    source: str


MOISTURE_WORDS: Mapping[str, MoistureWord] = MappingProxyType(
    {
        "wet": MoistureWord(
            per_cent=28.0,
            source="FPL-RP-489, moisture content of green wood in its shrinkage line",
        ),
        "damp": MoistureWord(
            per_cent=19.0,
            source="PS 20 (American Softwood Lumber Standard), limit of dry lumber, not checked against "
            "the document",
        ),
        "dry": MoistureWord(
            per_cent=12.0,
            source="USDA Wood Handbook, average for exterior wood, not checked against the document",
        ),
    }
)

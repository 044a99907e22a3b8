"""Measurements and their text: read as builders write them, kept in one unit each, printed as the tape reads.

Inside the program a length is in inches, a force in lbf, a string's weight in lbf per inch, a volume in
cubic feet, a weight in pounds, a pressure in lbf/ft2, a speed in mph, an angle in radians, a slope in rise
over run.
"""

from fencegrade.units.lengths import is_length, known_length_unit, length_in, parse_length, system_of
from fencegrade.units.marks import (
    MM_PER_INCH,
    default_mark,
    fixed_text,
    format_length,
    layout_mark,
    marks_down,
    marks_up,
    past_limit,
    reading_mark,
    to_marks,
)
from fencegrade.units.quantities import (
    ANGLE,
    FORCE,
    LINE_WEIGHT,
    MASS,
    PRESSURE,
    SPEED,
    VOLUME,
    Quantity,
    currency_of,
    format_angle,
    format_moment,
    format_money,
    format_share,
    format_slope,
    parse_money,
    parse_share,
    parse_slope,
)
from fencegrade.units.typed import UnitError, UnitSystem

__all__ = [
    "ANGLE",
    "FORCE",
    "LINE_WEIGHT",
    "MASS",
    "MM_PER_INCH",
    "PRESSURE",
    "SPEED",
    "VOLUME",
    "Quantity",
    "UnitError",
    "UnitSystem",
    "currency_of",
    "default_mark",
    "fixed_text",
    "format_angle",
    "format_length",
    "format_moment",
    "format_money",
    "format_share",
    "format_slope",
    "is_length",
    "known_length_unit",
    "layout_mark",
    "length_in",
    "marks_down",
    "marks_up",
    "parse_length",
    "parse_money",
    "parse_share",
    "parse_slope",
    "past_limit",
    "reading_mark",
    "system_of",
    "to_marks",
]

"""Lengths as builders type them, read into inches."""

import re
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

from fencegrade.units.typed import (
    NUMBER,
    UnitError,
    UnitSystem,
    bounded,
    number_value,
    plain_text,
    shown,
    signed_text,
    unreadable,
)

EXAMPLE = "5' 3-1/2\", 63-1/2 in or 1613 mm"
_UNITS = (
    ("in", Fraction(1), "inch", "inches", ('"', "ins")),
    ("ft", Fraction(12), "foot", "feet", ("'",)),
    ("yd", Fraction(36), "yard", "yards", ("yds",)),
    ("mm", Fraction(10, 254), "millimetre", "millimetres", ("millimeter", "millimeters")),
    ("cm", Fraction(100, 254), "centimetre", "centimetres", ("centimeter", "centimeters")),
    ("m", Fraction(10000, 254), "metre", "metres", ("meter", "meters")),
)
"""Each unit of length: its short name, its size (in), the word for one and for many, other spellings."""

INCHES_PER = {unit: inches for unit, inches, *_ in _UNITS}
LENGTH_NAMES = {unit: (unit, one, many, *others) for unit, _, one, many, others in _UNITS}
_WORDS = {unit: (one, many) for unit, _, one, many, _ in _UNITS}
_UNIT_OF = {name: unit for unit, names in LENGTH_NAMES.items() for name in names}
_IMPERIAL = ("in", "ft", "yd")
_PART = re.compile(rf"(?P<number>{NUMBER}) ?(?P<unit>[\"']|[a-z]+)\.?")
_BETWEEN = re.compile(r" ?(?:,|-|and )? ?")
_BARE = re.compile(NUMBER)
_BARE_INCHES = re.compile(r"[0-9]+(?:\.[0-9]+|[ -][0-9]+ ?/ ?[0-9]+)?")

_Part = tuple[Fraction, str]


def known_length_unit(text: str) -> str | None:
    """Return the short name of a length unit (`in`, `ft`, `yd`, `mm`, `cm`, `m`), or None for any other text.

    text: as in a column header: "inches", "Feet", "ft.", or a foot or inch mark.
    """
    return _UNIT_OF.get(plain_text(text).rstrip("."))


def system_of(text: str) -> UnitSystem:
    """Return the units a length was written in, by its last unit; imperial where that is none known."""
    found = re.search(r"([a-z]+)\.?\s*$", text.lower())
    unit = known_length_unit(found[1]) if found else None
    return UnitSystem.IMPERIAL if unit is None or unit in _IMPERIAL else UnitSystem.METRIC


def parse_length(text: str, unit: str | None = None) -> float:
    """Return the length that is written in `text`, in inches.

    text: a number with its unit, or whole larger units followed by smaller ones (5' 3-1/2"); a minus in front
        covers the whole. A bare number straight after feet is inches if it starts with a whole inch (5'10,
        5' 10 1/2), since nothing else is written so; 5' 1/2 is refused.
    unit: unit of the column, for numbers that carry none; a value's own unit wins. Without it a bare number
        is refused: 5.10 is read as 5 ft 10 in by one person and as 5.10 ft by another.

    The value is exact before it becomes the nearest float: 1 in = 25.4 mm, 1 ft = 12 in, 1 yd = 3 ft
    (NIST SP 811, appendix B). Raises UnitError for anything else, and above 1e9 in.
    """
    sign, body = signed_text(text, "length", EXAMPLE)
    parts = _bare_part(body, text, unit) if _BARE.fullmatch(body) else _parts(body, text)
    _check_order(parts, text)
    total = sum((number * INCHES_PER[name] for number, name in parts), Fraction(0))
    return bounded(sign * total, text, "1,000,000,000 in")


def is_length(text: str, unit: str | None = None) -> bool:
    """Whether `parse_length` reads it."""
    try:
        parse_length(text, unit)
    except UnitError:
        return False
    return True


def length_in(inches: float, unit: str) -> float:
    """Return a length given in inches in another unit.

    inches: any finite length; unit: its short name. Raises KeyError for another unit.
    """
    return float(Fraction(float(inches)) / INCHES_PER[unit])


def _bare_part(body: str, text: str, unit: str | None) -> list[_Part]:
    if unit is None:
        raise _no_unit(body, text)
    name = known_length_unit(unit)
    if name is None:
        raise _unknown_unit(unit, unit)
    return [(number_value(body, text), name)]


def _no_unit(body: str, text: str) -> UnitError:
    entry = shown(text)
    halves = re.fullmatch(r"([0-9]+)\.([0-9]{1,2})", body)
    if halves is None or int(halves[2]) >= 12:
        which = ", ".join(f"{entry} {unit}" for unit in ("ft", "in", "m"))
        return UnitError(
            f"{entry} has no unit.", f"Write the unit after it: {which} or {entry} mm, whichever was read."
        )
    sign = "-" if entry[0] not in "+.0123456789" else ""
    return UnitError(
        f"{entry} has no unit.",
        f"Write {sign}{halves[1]}' {int(halves[2])}\", {entry} ft, {entry} in or {entry} m, "
        "whichever was read.",
    )


def _unknown_unit(word: str, text: str) -> UnitError:
    return UnitError(
        f"{shown(text)} has the unit {shown(word)}, which is no length unit known here.",
        "Use in, ft, yd, mm, cm or m.",
    )


def _parts(body: str, text: str) -> list[_Part]:
    """Return each number with its unit, in the order written."""
    parts: list[_Part] = []
    place = 0
    while place < len(body):
        found = _PART.match(body, place)
        if found is None:
            return [*parts, _bare_inches(body[place:], parts, text)]
        if found["unit"] not in _UNIT_OF:
            raise _unknown_unit(found["unit"], text)
        parts.append((number_value(found["number"], text), _UNIT_OF[found["unit"]]))
        place = _next_part(body, found.end(), text)
    return parts


def _next_part(body: str, end: int, text: str) -> int:
    """Return where the next number starts; a comma, hyphen or "and" with nothing after it is refused."""
    between = _BETWEEN.match(body, end)
    place = between.end() if between else end
    if end < len(body) <= place:
        raise unreadable(text, "length", EXAMPLE)
    return place


def _bare_inches(rest: str, parts: list[_Part], text: str) -> _Part:
    """Return the inches of 5'10, where only the feet are marked."""
    if not parts or not _BARE.fullmatch(rest):
        raise unreadable(text, "length", EXAMPLE)
    if parts[-1][1] != "ft" or not _BARE_INCHES.fullmatch(rest):
        raise UnitError(
            f"{shown(text)} has the number {rest} without a unit.",
            f"Write a unit after every number, as in {EXAMPLE}.",
        )
    return number_value(rest, text), "in"


def _check_order(parts: Sequence[_Part], text: str) -> None:
    """Refuse what does not run from whole larger units to smaller ones in one system."""
    for (larger, name), (smaller, next_name) in pairwise(parts):
        one_system = (name in _IMPERIAL) == (next_name in _IMPERIAL)
        (unit, units), (_, next_units) = _WORDS[name], _WORDS[next_name]
        if not one_system or INCHES_PER[name] <= INCHES_PER[next_name]:
            raise UnitError(
                f"{shown(text)} has {next_units} after {units}.",
                f"Write the larger unit first and keep to one system, as in {EXAMPLE}.",
            )
        if larger.denominator != 1:
            raise UnitError(
                f"{shown(text)} has part of a {unit} before the {next_units}.",
                f"Write whole {units} first, or one number with one unit.",
            )
        if smaller * INCHES_PER[next_name] >= INCHES_PER[name]:
            raise UnitError(
                f"{shown(text)} has a whole {unit} or more in the {next_units}.",
                f"Write less than one {unit} after the {units}, or one number with one unit.",
            )

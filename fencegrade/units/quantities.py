"""Quantities other than lengths: one reader of "number unit", and one table of units for each kind."""

import math
import re
import unicodedata
from collections.abc import Iterable, Mapping
from fractions import Fraction

from msgspec import Struct

from fencegrade.units.lengths import INCHES_PER, LENGTH_NAMES, known_length_unit, parse_length
from fencegrade.units.marks import fixed_text, format_length
from fencegrade.units.typed import (
    NUMBER,
    UnitError,
    UnitSystem,
    bounded,
    finite,
    number_value,
    shown,
    signed_text,
    unreadable,
)

_NUMBER_UNIT = re.compile(rf"(?P<number>{NUMBER}) ?(?P<unit>[^0-9].*)?")
_MONEY = re.compile(rf"(?P<before>[^0-9.,/ -]*) ?(?P<sign>-?) ?(?P<number>{NUMBER}) ?(?P<after>[^0-9.,/ -]*)")
_SIGN = re.compile(r"[^0-9.,/\s\-−]+")

# Exact by definition, NIST SP 811, appendix B: pound, pound-force, kilogram-force, gallon, mile.
_KG_PER_LB = Fraction("0.45359237")
_N_PER_LBF = Fraction("4.4482216152605")
_FT3_PER_IN3 = Fraction(1, 1728)
_NM_PER_FT_LBF = float(_N_PER_LBF * Fraction("0.3048"))
"""1.3558179 (NIST SP 811, appendix B)."""
_FT_PER_M = INCHES_PER["m"] / 12
_FT_PER_MILE = 5280


class Quantity(Struct, frozen=True, kw_only=True):
    """One kind of quantity: what it is called, its units in base units, and how each system prints it."""

    name: str
    example: str
    units: Mapping[str, Fraction]
    printed: Mapping[UnitSystem, tuple[str, int]]

    def parse(self, text: str, unit: str | None = None) -> float:
        """Return the quantity written in `text`, in base units.

        text: a number and a unit; unit: the unit of numbers that carry none. Raises UnitError.
        """
        sign, body = signed_text(text, self.name, self.example)
        found = _NUMBER_UNIT.fullmatch(body)
        if found is None:
            raise unreadable(text, self.name, self.example)
        if found["unit"] is None and unit is None:
            raise UnitError(f"{shown(text)} has no unit.", f"Write it as in {self.example}.")
        factor = self.units.get(_unit_text(found["unit"] or str(unit)))
        if factor is None:
            raise UnitError(
                f"{shown(text)} has no unit known for a {self.name}.", f"Write it as in {self.example}."
            )
        return bounded(
            sign * number_value(found["number"], text) * factor, text, f"any {self.name} known here"
        )

    def value_in(self, value: float, unit: str) -> float:
        """Return a quantity given in base units in another unit of its kind; KeyError for an unknown unit."""
        return float(Fraction(value) / self.units[_unit_text(unit)])

    def format(
        self, value: float, system: UnitSystem, unit: str | None = None, places: int | None = None
    ) -> str:
        """Return a quantity given in base units as text.

        value: finite; unit: printed unit; places: decimals; by default both are those of the table.
        """
        own_unit, own_places = self.printed[system]
        number = self.value_in(finite(value, self.name), unit or own_unit)
        return f"{fixed_text(number, own_places if places is None else places)} {unit or own_unit}"


def _unit_text(text: str) -> str:
    """Return a unit's spelling as the tables have it: no points, no spaces about a slash."""
    plain = " ".join(
        text.lower().replace(".", "").replace("^", "").replace("³", "3").replace("²", "2").split()
    )
    return re.sub(r" ?(?:/| per ) ?", "/", plain)


def _named(table: Iterable[tuple[str, Fraction]]) -> dict[str, Fraction]:
    """Return a table of factors by name from rows of names (parted by |) and a factor."""
    return {name: factor for names, factor in table for name in names.split("|")}


_WEIGHTS = (
    ("lb|lbs|pound|pounds", Fraction(1)),
    ("oz|ounce|ounces", Fraction(1, 16)),
    ("kg|kilogram|kilograms", 1 / _KG_PER_LB),
    ("g|gram|grams", 1 / _KG_PER_LB / 1000),
)
_FORCES = (
    ("lbf", Fraction(1)),
    ("n|newton|newtons", 1 / _N_PER_LBF),
    ("kn|kilonewton|kilonewtons", 1000 / _N_PER_LBF),
    ("kgf", 1 / _KG_PER_LB),
)
_LENGTHS = _named(("|".join(names), INCHES_PER[unit]) for unit, names in LENGTH_NAMES.items())
_PSF_PER_PA = 1 / _N_PER_LBF / _FT_PER_M**2

FORCE = Quantity(
    name="force",
    example="10 lbf or 45 N",
    units=_named(_FORCES + _WEIGHTS),
    printed={UnitSystem.IMPERIAL: ("lbf", 1), UnitSystem.METRIC: ("N", 1)},
)
LINE_WEIGHT = Quantity(
    name="line weight",
    example="1.4 g/m or 0.001 lb/ft",
    units={
        f"{weight}/{length}": factor / inches
        for weight, factor in _named(_FORCES + _WEIGHTS).items()
        for length, inches in _LENGTHS.items()
    },
    printed={UnitSystem.IMPERIAL: ("lb/ft", 6), UnitSystem.METRIC: ("g/m", 2)},
)
VOLUME = Quantity(
    name="volume",
    example="2.5 cu yd, 12 cu ft or 0.35 m3",
    units={
        spelling.format(name): inches**3 * _FT3_PER_IN3
        for name, inches in _LENGTHS.items()
        for spelling in ("{}3", "cu {}", "cubic {}")
    }
    | _named(
        (
            ("cf", Fraction(1)),
            ("cy", Fraction(27)),
            ("l|litre|litres|liter|liters", _FT_PER_M**3 / 1000),
            ("gal|gallon|gallons|us gal|us gallon|us gallons", 231 * _FT3_PER_IN3),
        )
    ),
    printed={UnitSystem.IMPERIAL: ("cu ft", 2), UnitSystem.METRIC: ("m3", 3)},
)
MASS = Quantity(
    name="weight",
    example="80 lb or 25 kg",
    units=_named(
        (
            *_WEIGHTS,
            ("t|tonne|tonnes|metric ton|metric tons", 1000 / _KG_PER_LB),
            ("ton|tons|short ton|short tons", Fraction(2000)),
        )
    ),
    printed={UnitSystem.IMPERIAL: ("lb", 1), UnitSystem.METRIC: ("kg", 1)},
)
SPEED = Quantity(
    name="speed",
    example="90 mph or 40 m/s",
    units=_named(
        (
            ("mph|mi/h|miles/hour", Fraction(1)),
            ("ft/s|fps", Fraction(3600, _FT_PER_MILE)),
            ("m/s", _FT_PER_M * 3600 / _FT_PER_MILE),
            ("km/h|kmh|kph", _FT_PER_M * 1000 / _FT_PER_MILE),
        )
    ),
    printed={UnitSystem.IMPERIAL: ("mph", 1), UnitSystem.METRIC: ("m/s", 1)},
)
PRESSURE = Quantity(
    name="pressure",
    example="20 psf or 1 kPa",
    units=_named(
        (
            ("psf|lb/ft2|lbf/ft2|lb/sq ft|lbf/sq ft", Fraction(1)),
            ("psi|lb/in2|lbf/in2|lb/sq in|lbf/sq in", Fraction(144)),
            ("pa|n/m2", _PSF_PER_PA),
            ("kpa|kn/m2", 1000 * _PSF_PER_PA),
            ("mpa|n/mm2", 1_000_000 * _PSF_PER_PA),
        )
    ),
    printed={UnitSystem.IMPERIAL: ("psf", 1), UnitSystem.METRIC: ("kPa", 3)},
)
ANGLE = Quantity(
    name="angle",
    example="12 deg",
    units=_named((("deg|°|degree|degrees", Fraction(math.pi) / 180), ("rad|radian|radians", Fraction(1)))),
    printed=dict.fromkeys(UnitSystem, ("deg", 1)),
)
_SHARE = Quantity(
    name="share",
    example="10 % or 0.1",
    units={
        "%": Fraction(1, 100),
        "percent": Fraction(1, 100),
        "per cent": Fraction(1, 100),
        "1": Fraction(1),
    },
    printed=dict.fromkeys(UnitSystem, ("%", 1)),
)
_SLOPE_EXAMPLE = "1 in / 8 ft, 12 % or 1:8"


def parse_share(value: str | float) -> float:
    """Return a share between 0 and 1 from a number (0.1) or text ("10 %", "0.1"). Raises UnitError."""
    share = _SHARE.parse(str(value), "1")
    if not 0 <= share <= 1:
        raise UnitError(f"{shown(str(value))} is not between 0 and 100 %.", "Write it as in 10 % or 0.1.")
    return share


def parse_money(value: str | float) -> float:
    """Return an amount of money from a number or from text with or without a currency sign or code.

    value: 4.1, "$ 4.10", "4,10 €", "USD 1,250.00". Exactly three digits after a lone comma or point (1,250)
        may be thousands or decimals, and are refused. Raises UnitError.
    """
    if isinstance(value, int | float) and not isinstance(value, bool):
        amount = Fraction(value) if math.isfinite(value) else _not_finite(value)
        return bounded(amount, str(value), "any price known here")
    sign, body = signed_text(str(value), "price", "4.10")
    found = _MONEY.fullmatch(body)
    if found is None or not (_is_currency(found["before"]) and _is_currency(found["after"])):
        raise unreadable(str(value), "price", "4.10")
    amount = number_value(found["number"], str(value), price=True)
    return bounded(-sign * amount if found["sign"] else sign * amount, str(value), "any price known here")


def currency_of(text: str) -> str:
    """The sign or code that text as `parse_money` reads it is written with, empty where it has none. Raises
    UnitError."""
    parse_money(text)
    found = _SIGN.search(text)
    return "" if found is None else found[0]


def _not_finite(value: float) -> Fraction:
    raise UnitError(f"{value} is not a finite number.", "Write it as in 4.10.")


def _is_currency(text: str) -> bool:
    """Whether the text is empty, a code of up to four letters, or a currency sign with letters about it.

    A unit of length is none: a length was typed where the price belongs.
    """
    if known_length_unit(text):
        return False
    return len(text) <= 4 and all(letter.isalpha() or unicodedata.category(letter) == "Sc" for letter in text)


def parse_slope(text: str) -> float:
    """Return a slope as rise over run.

    text: a length over a length (1 in / 8 ft, 1/4 in per ft), per cent (12 %), rise to run (1:8), or an angle
        (7 deg). "1 in 8" is refused: it may mean one to eight or an inch. Raises UnitError.
    """
    sign, body = signed_text(text, "slope", _SLOPE_EXAMPLE)
    if ratio := re.fullmatch(rf"({NUMBER}) ?: ?({NUMBER})", body):
        rise, run = (number_value(number, text) for number in ratio.groups())
    elif percent := re.fullmatch(rf"({NUMBER}) ?(?:%|per ?cent)", body):
        rise, run = number_value(percent[1], text), Fraction(100)
    elif pair := re.fullmatch(r"(.*[^0-9 ]) ?(?:/| per ) ?(.+)", body):
        rise, run = Fraction(parse_length(pair[1])), Fraction(parse_length(_with_number(pair[2])))
    elif re.fullmatch(rf"{NUMBER} in {NUMBER}", body):
        raise UnitError(
            f"{shown(text)} may mean one number to another, or inches.", "Write it as in 1:8 or 1 in / 8 ft."
        )
    else:
        return sign * _tangent(body, text)
    if run <= 0:
        raise UnitError(f"{shown(text)} has a run of zero or less.", f"Write it as in {_SLOPE_EXAMPLE}.")
    return sign * bounded(rise / run, text, "any slope known here")


def _with_number(length: str) -> str:
    return length if re.match(r"[-+.0-9]", length) else f"1 {length}"


def _tangent(body: str, text: str) -> float:
    """Return the slope of an angle under 90 degrees."""
    try:
        angle = ANGLE.parse(body)
    except UnitError as error:
        raise unreadable(text, "slope", _SLOPE_EXAMPLE) from error
    if angle >= math.radians(90):
        raise UnitError(f"{shown(text)} is no slope under 90 deg.", f"Write it as in {_SLOPE_EXAMPLE}.")
    return math.tan(angle)


def format_slope(slope: float, system: UnitSystem) -> str:
    """Return a slope as text: rise in a foot to 1/16 in (1-7/16 in per ft), or per cent to a tenth (12.0 %).

    slope: rise over run, finite.
    """
    if system is UnitSystem.IMPERIAL:
        return f"{format_length(12 * slope, system, 1 / 16)} per ft"
    return f"{fixed_text(100 * finite(slope, 'slope'), 1)} %"


def format_moment(foot_pounds: float, system: UnitSystem) -> str:
    """Return a bending moment given in ft lbf as text in whole ft lbf or N m (1,436 ft lbf; 1,948 N m)."""
    if system is UnitSystem.IMPERIAL:
        return f"{fixed_text(finite(foot_pounds, 'moment'), 0, grouped=True)} ft lbf"
    return f"{fixed_text(finite(foot_pounds, 'moment') * _NM_PER_FT_LBF, 0, grouped=True)} N m"


def format_angle(radians: float, places: int = 1) -> str:
    """Return an angle given in radians as text in degrees."""
    return ANGLE.format(radians, UnitSystem.IMPERIAL, places=places)


def format_share(share: float, places: int = 1) -> str:
    """Return a share of one as text in per cent."""
    return _SHARE.format(share, UnitSystem.IMPERIAL, places=places)


def format_money(value: float, currency: str = "$") -> str:
    """Return an amount with two decimals behind its currency sign ($4.10) or code (EUR 4.10).

    value: finite; currency: a sign, a code, or nothing.
    """
    amount = fixed_text(finite(value, "price"), 2, grouped=True)
    gap = " " if currency[-1:].isalpha() else ""
    return f"-{currency}{gap}{amount[1:]}" if amount.startswith("-") else f"{currency}{gap}{amount}"

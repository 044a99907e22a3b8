"""The kinds of value a job file holds, each with the check that reads it from text."""

import math
from collections.abc import Callable
from typing import Annotated, Any

from pydantic import BeforeValidator, ConfigDict, Field, ValidationInfo

from fencegrade import units

CLOSED = ConfigDict(extra="forbid", defer_build=True)
"""How every table of the files is read: a key that it does not know is a mistake."""

FROM_FILE = {"from": "file"}
"""Validation context of values that a builder wrote in a job file."""


def printable(text: str, most: int = 400) -> str:
    """The text with a question mark for each control character, cut short past `most` characters."""
    clean = "".join(c if c.isprintable() else "?" for c in text)
    return clean if len(clean) <= most else clean[: most - 3] + "..."


def shown_value(value: Any) -> str:
    """A value of the job file as a builder wrote it, short and printable."""
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return "a list"
    if isinstance(value, bool):
        return str(value).lower()
    text = f'"{value}"' if isinstance(value, str) else str(value)
    return printable(text, 60)


def _quantity(
    read: Callable[[str], float], example: str, check: Callable[[float], str] = lambda value: ""
) -> Callable[[Any, ValidationInfo], float]:
    """A reader for text with a unit; numbers and other types are refused with an example of what to write.

    `example`: one, or two with `or` between; `check` gives what is wrong with the value read, as `found;
    remedy` after the text itself, or nothing.
    A record made in Python, not read `FROM_FILE`, takes a finite number in the unit of the field as well.
    """

    shown = " or ".join(f'"{one}"' for one in example.split(" or "))

    def from_text(value: Any, info: ValidationInfo) -> float:
        plain = isinstance(value, int | float) and not isinstance(value, bool)
        if not plain and not isinstance(value, str):
            raise ValueError(f"{shown_value(value)} is not a text with its unit; write one, such as {shown}")
        if plain and (info.context == FROM_FILE or not math.isfinite(value)):
            raise ValueError(f"{value} has no unit; write it as text with its unit, such as {shown}")
        number = float(value) if plain else read(value)
        wrong = check(number)
        if wrong:
            raise ValueError(f"{shown_value(value)} {wrong}")
        return number

    return from_text


def _drop(value: Any, info: ValidationInfo) -> tuple[float, ...]:
    """One length, or a list of two."""
    read = _quantity(units.parse_length, _LENGTH, _positive)
    if not isinstance(value, list | tuple):
        return (read(value, info),)
    if len(value) != 2 and isinstance(value, list):
        raise ValueError(
            f'{shown_value(value)} is not a list of 2 lengths; write it so: ["31-1/4 in", "31-3/4 in"]'
        )
    return tuple(read(one, info) for one in value)


def _positive(value: float) -> str:
    return "" if value > 0 else "is not more than zero; check the number and its sign"


def _not_negative(value: float) -> str:
    return "is below zero; check the sign" if value < 0 else ""


def _plain_number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(
            f"{shown_value(value)} is not a plain number; write it without quotes and without a unit"
        )
    if not math.isfinite(value):
        raise ValueError(f"{value} is not a number one can use; write a finite one")
    return float(value)


def _share(value: Any) -> float:
    return units.parse_share(value) if isinstance(value, str) else _plain_number(value)


def price_of(value: Any) -> float:
    """A price as it is used: a plain number, zero to `MOST_PRICE`."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"{shown_value(value)} is not a plain number; write the price alone, such as 4.10")
    if not math.isfinite(value) or value < 0:
        raise ValueError(f"a price of {value} cannot be; write what one costs, zero or more")
    if value > MOST_PRICE:
        raise ValueError(f"a price of {value:g} is beyond {MOST_PRICE:,.0f}; check the decimal point")
    return float(value)


def _count(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise ValueError(f"{shown_value(value)} is not a count; write a whole number, zero or more")
    if value > MOST_COUNT:
        raise ValueError(f"{value} is more than {MOST_COUNT}; check the number")
    return value


def _number(value: Any) -> int:
    if _count(value) == 0:
        raise ValueError("numbers count from 1; write the number on the chart")
    return int(value)


def _text(value: Any) -> str:
    clean = "".join(c if c.isprintable() else " " for c in value).strip() if isinstance(value, str) else ""
    if not clean:
        raise ValueError(f"{shown_value(value)} is not a text; write words in quotes")
    if len(value) > MOST_TEXT:
        raise ValueError(f"is {len(value)} characters long; keep it under {MOST_TEXT}")
    return clean


def _sign(value: Any) -> str:
    if not isinstance(value, str):
        raise ValueError(f"{shown_value(value)} is not a text; write the sign in quotes")
    if len(value) > MOST_SIGN:
        raise ValueError(f"is {len(value)} characters long; keep it to {MOST_SIGN}")
    return "".join(c for c in value if c.isprintable()).strip()


def _within(low: float, high: float) -> Callable[[float], float]:
    def check(value: float) -> float:
        if not low <= value <= high:
            raise ValueError(f"{value:g} is not between {low:g} and {high:g}; check the number")
        return value

    return check


LEAST_PRICE, MOST_PRICE = 0.0001, 1e9
"""What the price of a board lies between; what is finer than the first is no money."""

MOST_COUNT = 10_000_000
MOST_TEXT = 200
MOST_SIGN = 8
MOST_TALL = 360.0
"""Inches that a fence or a post of it stands over the ground at most: 30 ft (own choice)."""

_LENGTH = "5-1/2 in or 140 mm"

Length = Annotated[float, BeforeValidator(_quantity(units.parse_length, _LENGTH))]
"""A length or elevation in inches, of any sign."""

Extent = Annotated[float, BeforeValidator(_quantity(units.parse_length, _LENGTH, _not_negative))]
"""A length in inches, zero or more."""

Size = Annotated[float, BeforeValidator(_quantity(units.parse_length, _LENGTH, _positive))]
"""A length in inches, more than zero."""

Pull = Annotated[float, BeforeValidator(_quantity(units.FORCE.parse, "10 lbf", _positive))]
"""A force in pounds-force."""

LineWeight = Annotated[float, BeforeValidator(_quantity(units.LINE_WEIGHT.parse, "1.4 g/m", _positive))]
"""Weight of a line by length, pounds-force per inch."""

Mass = Annotated[float, BeforeValidator(_quantity(units.MASS.parse, "15 g", _positive))]
"""A mass in pounds."""

Volume = Annotated[float, BeforeValidator(_quantity(units.VOLUME.parse, "40 l", _positive))]
"""A volume in cubic feet."""

Speed = Annotated[float, BeforeValidator(_quantity(units.SPEED.parse, "115 mph", _positive))]
"""A wind speed in miles an hour."""

Pressure = Annotated[float, BeforeValidator(_quantity(units.PRESSURE.parse, "20 psf", _positive))]
"""A pressure in pounds-force a square foot."""

Angle = Annotated[float, BeforeValidator(_quantity(units.ANGLE.parse, "90 deg", _positive))]
"""An angle in radians, more than zero."""

Slope = Annotated[float, BeforeValidator(_quantity(units.parse_slope, "6 %"))]
"""A slope, rise over run, of any sign."""

Point = tuple[Length, Length]
"""x and y of a point in inches."""

Price = Annotated[float, BeforeValidator(price_of)]
"""Money for one, in the job's currency."""

Count = Annotated[int, BeforeValidator(_count)]
"""A whole number, zero or more."""

Number = Annotated[int, BeforeValidator(_number)]
"""The number of a picket or a post, from 1."""

Drop = Annotated[tuple[float, ...], BeforeValidator(_drop)]
"""Lengths in inches down from a line, at a board's two edges or at one."""

Factor = Annotated[float, BeforeValidator(_within(1.0, 3.0)), BeforeValidator(_plain_number)]
"""A plain factor from 1 to 3."""

Rate = Annotated[float, BeforeValidator(_within(0.01, 10_000.0)), BeforeValidator(_plain_number)]
"""How many in an hour, a plain number."""

Share = Annotated[float, BeforeValidator(_within(0.0, 0.6)), BeforeValidator(_share)]
"""A share from 0 to 0.6: a plain number, or a text such as "1/3" or "30 %"."""

Chance = Annotated[float, BeforeValidator(_within(0.0, 1.0)), BeforeValidator(_share)]
"""A chance from 0 to 1: a plain number, or a text such as "30 %"."""

SideSlope = Annotated[float, BeforeValidator(_within(0.0, 20.0)), BeforeValidator(_plain_number)]
"""Horizontal to vertical, from 0 (upright) to 20."""

Sign = Annotated[str, BeforeValidator(_sign)]
"""A few characters, such as a currency sign; may be empty."""

Text = Annotated[str, BeforeValidator(_text)]
"""A line of words; control characters become spaces."""


def explained(description: str, **more: Any) -> Any:
    """A field of a job table with the one line that documents it."""
    return Field(description=description, **more)

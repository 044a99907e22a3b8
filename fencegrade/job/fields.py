"""The kinds of value a job file holds, each with the check that reads it from text."""

import math
from collections.abc import Callable
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from fencegrade import units


def _quantity(read: Callable[[str], float], example: str) -> Callable[[Any], float]:
    """A reader for text with a unit; numbers and other types are refused with an example of what to write."""

    def from_text(value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, str):
            shown = "true or false" if isinstance(value, bool) else f"{value!r}"
            raise ValueError(f'{shown} has no unit; write it as text with its unit, such as "{example}"')
        return read(value)

    return from_text


def _positive(value: float) -> float:
    if not value > 0:
        raise ValueError("must be more than zero; check the number and its sign")
    return value


def _not_negative(value: float) -> float:
    if value < 0:
        raise ValueError("must not be below zero; check the sign")
    return value


def _plain_number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"{value!r} is not a plain number; write it without quotes and without a unit")
    if not math.isfinite(value):
        raise ValueError(f"{value} is not a number one can use; write a finite one")
    return float(value)


def _price(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"{value!r} is not a plain number; write the price alone, such as 4.10")
    if not math.isfinite(value) or value < 0:
        raise ValueError(f"a price of {value} cannot be; write what one costs, zero or more")
    if value > MOST_PRICE:
        raise ValueError(f"a price of {value:g} is beyond {MOST_PRICE:,.0f}; check the decimal point")
    return float(value)


def _count(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise ValueError(f"{value!r} is not a count; write a whole number, zero or more")
    if value > MOST_COUNT:
        raise ValueError(f"{value} is more than {MOST_COUNT}; check the number")
    return value


def _text(value: Any) -> str:
    if not isinstance(value, str) or not value.strip():
        raise ValueError(f"{value!r} is not a text; write words in quotes")
    if len(value) > MOST_TEXT:
        raise ValueError(f"is {len(value)} characters long; keep it under {MOST_TEXT}")
    return "".join(c if c.isprintable() else " " for c in value).strip()


def _within(low: float, high: float) -> Callable[[float], float]:
    def check(value: float) -> float:
        if not low <= value <= high:
            raise ValueError(f"{value:g} is not between {low:g} and {high:g}; check the number")
        return value

    return check


MOST_PRICE = 1e9
MOST_COUNT = 10_000_000
MOST_TEXT = 200

_LENGTH = BeforeValidator(_quantity(units.parse_length, "5-1/2 in"))

Length = Annotated[float, _LENGTH]
"""A length or elevation in inches, of any sign."""

Extent = Annotated[float, BeforeValidator(_not_negative), _LENGTH]
"""A length in inches, zero or more."""

Size = Annotated[float, BeforeValidator(_positive), _LENGTH]
"""A length in inches, more than zero."""

Pull = Annotated[
    float, BeforeValidator(_positive), BeforeValidator(_quantity(units.parse_force, "10 lbf"))
]
"""A force in pounds-force."""

LineWeight = Annotated[
    float, BeforeValidator(_positive), BeforeValidator(_quantity(units.parse_line_weight, "1.4 g/m"))
]
"""Weight of a line by length, pounds-force per inch."""

Mass = Annotated[float, BeforeValidator(_positive), BeforeValidator(_quantity(units.parse_mass, "15 g"))]
"""A mass in pounds."""

Point = tuple[Length, Length]
"""x and y of a point in inches."""

Price = Annotated[float, BeforeValidator(_price)]
"""Money for one, in the job's currency."""

Count = Annotated[int, BeforeValidator(_count)]
"""A whole number, zero or more."""

Factor = Annotated[float, BeforeValidator(_within(1.0, 3.0)), BeforeValidator(_plain_number)]
"""A plain factor from 1 to 3."""

SideSlope = Annotated[float, BeforeValidator(_within(0.0, 20.0)), BeforeValidator(_plain_number)]
"""Horizontal to vertical, from 0 (upright) to 20."""

Text = Annotated[str, BeforeValidator(_text)]
"""A line of words; control characters become spaces."""


def explained(description: str, **more: Any) -> Any:
    """A field of a job table with the one line that documents it."""
    return Field(description=description, **more)

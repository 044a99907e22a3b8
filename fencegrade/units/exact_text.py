"""Lengths as text that is read as exactly the same length."""

from collections.abc import Iterator
from decimal import Decimal

from fencegrade.units.lengths import length_in, parse_length
from fencegrade.units.marks import fixed_text, format_length
from fencegrade.units.typed import UnitError, UnitSystem

IN_FEET = 120.0
"""Inches from which a length is written in feet and inches (own choice)."""

_PLACES = range(7)
"""Decimals tried before a value is written in full."""


def exact_length(inches: float, system: UnitSystem) -> str:
    """A length as text that is read as exactly the same length: `6 ft`, `71 ft 4 in`, `5-1/2 in`, `1.8 m`."""
    return next(t for t in _lengths(inches, system) if _read(t) == inches)


def _read(text: str) -> float | None:
    """The length a text says, in; None for one that rounding has brought past the largest there is."""
    try:
        return parse_length(text)
    except UnitError:
        return None


def _lengths(inches: float, system: UnitSystem) -> Iterator[str]:
    """Ways to write a length, the handiest first; the last is always exact."""
    if system is UnitSystem.IMPERIAL:
        if inches % 12 == 0 and abs(inches) >= 24:
            yield f"{inches / 12:.0f} ft"
        feet, rest = divmod(inches, 12) if inches >= IN_FEET else (0, inches)
        tapes = (format_length(rest, system, 1 / parts) for parts in (16, 32, 64))
        yield from (f"{feet:.0f} ft {tape}" if feet else tape for tape in tapes)
    else:
        if abs(inches) >= length_in(1, "in") * 39:
            yield from decimals(length_in(inches, "m"), "m", range(3))
        yield from decimals(length_in(inches, "mm"), "mm", range(10))
        yield from (f"{Decimal(inches) * Decimal('25.4'):.{places}f} mm" for places in range(10, 18))
    yield f"{inches!r} in"


def decimals(number: float, unit: str, places: range = _PLACES) -> Iterator[str]:
    """A number with its unit in more and more decimals."""
    for count in places:
        yield f"{fixed_text(number, count)} {unit}"

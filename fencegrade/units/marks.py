"""Lengths in whole marks of a tape, and printed as the tape reads."""

import math
from collections.abc import Callable
from decimal import ROUND_HALF_UP, Context, Decimal
from fractions import Fraction
from functools import lru_cache

from fencegrade.units.tolerances import MARK_GRACE
from fencegrade.units.typed import UnitSystem, finite

MM_PER_INCH = 25.4
_FINEST_FRACTION = 128
_WIDE = Context(prec=400)


def default_mark(system: UnitSystem) -> float:
    """Return the mark lengths are printed to unless another is asked for, in inches: 1/8 in or 1 mm."""
    return 0.125 if system is UnitSystem.IMPERIAL else 1 / MM_PER_INCH


def layout_mark(system: UnitSystem) -> float:
    """The mark gaps are set to, in inches: 1/32 in or 0.5 mm. Common practice, no source."""
    return 1 / 32 if system is UnitSystem.IMPERIAL else 0.5 / MM_PER_INCH


def reading_mark(system: UnitSystem) -> float:
    """The mark of readings and laid-out edges, in inches: 1/16 in or 1 mm. Common practice, no source."""
    return 1 / 16 if system is UnitSystem.IMPERIAL else 1 / MM_PER_INCH


def to_marks(inches: float, mark: float) -> int:
    """Return the nearest whole number of marks; a half goes away from zero, within MARK_GRACE.

    inches: any finite length; mark: the tape's mark in inches, over zero. Raises ValueError otherwise.
    """
    marks = _in_marks(inches, mark)
    return int(math.copysign(math.floor(abs(marks) + 0.5 + MARK_GRACE), marks))


def marks_down(inches: float, mark: float) -> int:
    """Return the whole number of marks at or below a length, as a board is cut, within MARK_GRACE.

    inches: any finite length; mark: the tape's mark in inches, over zero. Raises ValueError otherwise.
    """
    return math.floor(_in_marks(inches, mark) + MARK_GRACE)


def marks_up(inches: float, mark: float) -> int:
    """Return the whole number of marks at or above a length, within MARK_GRACE.

    inches: any finite length; mark: the tape's mark in inches, over zero. Raises ValueError otherwise.
    """
    return math.ceil(_in_marks(inches, mark) - MARK_GRACE)


def _in_marks(inches: float, mark: float) -> float:
    if not (math.isfinite(mark) and mark > 0):
        raise ValueError(f"the tape mark must be over zero, not {mark}")
    return finite(inches, "length") / mark


def past_limit(inches: float, limit: float, written: Callable[[float], str]) -> str:
    """Return a length that is past a limit as text by `written`: `just over 3 in` where both read the "
    "same."""
    text = written(inches)
    return f"just over {text}" if text == written(limit) else text


def format_length(inches: float, system: UnitSystem, mark: float | None = None, *, feet: bool = False) -> str:
    """Return a length as the tape reads, to the nearest mark (a half goes away from zero).

    inches: any finite length. system: inches with reduced fractions (63-1/2 in), or millimetres (1613 mm).
    mark: in inches, 1/8 in or 1 mm by default. A mark that is no halving of the inch down to 1/128 gives
        decimals of an inch; millimetres are whole unless the mark itself has decimals.
    feet: print feet and inches (5' 3-1/2"), inches alone below one foot; no effect in millimetres.
    Raises ValueError where the length is not finite or the mark not over zero. Round down with marks_down
    first where a length must not grow.
    """
    mark = default_mark(system) if mark is None else float(mark)
    return _tape_text(to_marks(inches, mark), mark, system, feet)


@lru_cache(maxsize=4096)
def _tape_text(count: int, mark: float, system: UnitSystem, feet: bool) -> str:
    """Return so many marks as the tape reads; a plan prints few lengths many times."""
    if system is UnitSystem.METRIC:
        millimetres = round(mark * MM_PER_INCH, 9)
        return f"{fixed_text(count * _exact(millimetres), _places(millimetres, whole_from=1))} mm"
    step = Fraction(mark)
    if step.denominator <= _FINEST_FRACTION:
        return _imperial_text(count * step, _fraction_text, feet)
    places = _places(mark)
    value = Fraction(fixed_text(count * _exact(mark), places))
    return _imperial_text(value, lambda part: fixed_text(_quotient(part), places), feet)


def _imperial_text(value: Fraction, as_text: Callable[[Fraction], str], feet: bool) -> str:
    """Return a signed value in inches, or feet and inches; as_text writes a number of no sign."""
    sign, size = "-" if value < 0 else "", abs(value)
    if not feet:
        return f"{sign}{as_text(size)} in"
    if size < 12:
        return f'{sign}{as_text(size)}"'
    inches = as_text(size % 12)
    zero = "0-" if "/" in inches and size % 12 < 1 else ""
    return f"{sign}{size // 12}' {zero}{inches}\""


def _fraction_text(value: Fraction) -> str:
    """Return a value of no sign as 63-1/2, 1/2 or 63."""
    whole, part = divmod(value, 1)
    if not part:
        return str(whole)
    return f"{whole}-{part}" if whole else str(part)


def _exact(mark: float) -> Decimal:
    """Return the decimal number a mark was written as."""
    return Decimal(repr(mark)).normalize()


def _quotient(value: Fraction) -> Decimal:
    return Decimal(value.numerator) / Decimal(value.denominator)


def _places(mark: float, whole_from: float = math.inf) -> int:
    """Return the decimals a mark is printed with: its own if few, else enough to tell marks apart.

    mark: in the printed unit; whole_from: marks of this size with more than two decimals are printed whole.
    """
    own = max(0, -int(_exact(mark).as_tuple().exponent))
    if own > 2 and mark >= whole_from:
        return 0
    return own if own <= 4 else max(0, math.ceil(-math.log10(mark))) + 1


def fixed_text(value: float | Decimal, places: int, *, grouped: bool = False) -> str:
    """Return a number with a fixed count of decimals, a half rounded away from zero, and never -0.

    value: any finite number; places: decimals, zero or more; grouped: thousands parted by commas.
    """
    exact = value if isinstance(value, Decimal) else Decimal(repr(float(value)))
    rounded = exact.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP, context=_WIDE)
    return f"{rounded if rounded else abs(rounded):{',' if grouped else ''}.{places}f}"

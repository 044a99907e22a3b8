"""Lengths, stations, money and counts as they are written, from the first complaint to the last sheet."""

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Protocol

import numpy as np
from msgspec import Struct

from fencegrade.units.exact_text import exact_length
from fencegrade.units.lengths import parse_length
from fencegrade.units.marks import (
    MM_PER_INCH,
    fixed_text,
    format_length,
    layout_mark,
    marks_up,
    reading_mark,
    to_marks,
)
from fencegrade.units.quantities import MASS, format_money
from fencegrade.units.tolerances import ROUNDING
from fencegrade.units.typed import UnitSystem

_MOST_RANGES = 6

_LONGEST_GIVEN = 12
"""Characters of a length that somebody wrote; what is exact in no fewer was worked out."""


class _Settings(Protocol):
    """What a job says about its numbers."""

    @property
    def units(self) -> UnitSystem: ...

    @property
    def tape(self) -> float: ...

    @property
    def currency(self) -> str: ...


class Words(Struct, frozen=True, kw_only=True):
    """How a job's numbers are written; `mark` (in) is the finest mark of its tape."""

    system: UnitSystem
    mark: float
    currency: str = ""

    @staticmethod
    def of(job: _Settings) -> "Words":
        """The words of a job."""
        return Words(system=job.units, mark=job.tape, currency=job.currency)

    @staticmethod
    def of_readings(system: UnitSystem) -> "Words":
        """Words to 1/16 in or 1 mm, where no job says otherwise."""
        return Words(system=system, mark=reading_mark(system))

    @staticmethod
    def of_layout(system: UnitSystem) -> "Words":
        """Words as gaps are set: to 1/32 in or 0.5 mm."""
        return Words(system=system, mark=layout_mark(system))

    @property
    def unit(self) -> str:
        """The unit numbers stand in without words: `in` or `mm`."""
        return "in" if self.system is UnitSystem.IMPERIAL else "mm"

    @property
    def mass_unit(self) -> str:
        """The unit weights stand in: `lb` or `kg`."""
        return "lb" if self.system is UnitSystem.IMPERIAL else "kg"

    def mass(self, pounds: float) -> float:
        """A weight as a number in the job's unit, clean to a hundredth."""
        return round(MASS.value_in(float(pounds), self.mass_unit), 2)

    def number(self, inches: float) -> float:
        """A length as a number in the job's unit, clean to a ten-thousandth."""
        return round(float(inches) * (1.0 if self.unit == "in" else MM_PER_INCH), 4) + 0.0

    @property
    def fine_mark(self) -> float:
        """The mark (in) of what `fine` tells."""
        return min(self.mark, reading_mark(self.system))

    def fine(self, inches: float) -> str:
        """A reading, a difference, a height to set by, or a width as ripped or laid out, told to 1/16 in or
        1 mm where the tape's own mark is coarser.
        """
        return format_length(float(inches), self.system, self.fine_mark)

    def length(self, inches: float) -> str:
        """A length as the tape reads: `63-1/2 in`, `1613 mm`."""
        return format_length(float(inches), self.system, self.mark)

    def width(self, inches: float) -> str:
        """The width that boards come to on average, finer than a tape reads it: `5.531 in`, `140.25 mm`."""
        return f"{fixed_text(self.number(inches), 2 if self.unit == 'mm' else 3)} {self.unit}"

    def at_most(self, inches: float) -> str:
        """What bounds a length: as `fine` tells it, but up to the next mark."""
        mark = self.fine_mark
        return format_length(marks_up(float(inches), mark) * mark, self.system, mark)

    def given(self, inches: float, *, feet: bool = False) -> str:
        """A length that somebody gave, such as a limit: as `fine` tells it, or exactly where that is another.

        `feet`: told as `height` does where that is exact. What is exact in no short text of either system
        was worked out, and is told as `fine` does.
        """
        text = format_length(float(inches), self.system, self.fine_mark, feet=feet)
        if abs(parse_length(text) - inches) < ROUNDING:
            return text
        own, *others = (exact_length(float(inches), s) for s in (self.system, *UnitSystem))
        exact = min((own, *others), key=len)
        return exact if len(exact) <= _LONGEST_GIVEN else self.fine(inches)

    def height(self, inches: float) -> str:
        """A height as people say it: `5' 10-3/4"`, `1790 mm`."""
        return format_length(float(inches), self.system, self.mark, feet=True)

    def height_to_set(self, inches: float) -> str:
        """A height that something is set by, as `height` says it, told as finely as `fine` does."""
        return format_length(float(inches), self.system, self.fine_mark, feet=True)

    def station(self, inches: float) -> str:
        """A station along the run, or a length along it, to 1/16 in or 1 mm where the tape's own mark is
        coarser: `24' 3-7/16"`, `7.390 m`. Every one counts from the run's start, so nothing adds up.
        """
        mark = self.fine_mark
        if self.system is UnitSystem.IMPERIAL:
            return format_length(float(inches), self.system, mark, feet=True)
        metres = to_marks(float(inches), mark) * mark * MM_PER_INCH / 1000
        return f"{fixed_text(metres, 3 if mark > reading_mark(self.system) - ROUNDING else 4)} m"

    def space(self, inches: float) -> str:
        """A space between boards, to 1/32 in or half a millimetre: a spacer is cut once, and what it is off
        adds up over every board laid by it.
        """
        return format_length(float(inches), self.system, layout_mark(self.system))

    def stretch(self, start: float, end: float) -> str:
        """A stretch of the run: `8' to 12' 6"`."""
        return f"{self.station(start)} to {self.station(end)}"

    def money(self, amount: float) -> str:
        """Money with the job's currency sign."""
        return format_money(amount, self.currency)

    def price(self, amount: float) -> str:
        """The price of one, with as many decimals as it has: `$4.10`, `$0.125`."""
        return self.money(amount) + price_digits(amount).partition(".")[2][2:]

    def sold_length(self, inches: float) -> str:
        """A length as a yard sells it, never rounded to the tape's mark: `12 ft`, `2.4 m`, `1219 mm`; in the
        other system where it is short in that alone.
        """
        systems = sorted(UnitSystem, key=lambda s: s is not self.system)
        return next((t for s in systems for t in _sold(float(inches), s)), self.fine(inches))


_AS_SOLD = 1e-4
"""Inches within which a text says a length that is sold: as finely as numbers are printed."""


LEAST_IN_METRES = 500
"""Millimetres from which what is sold is told in metres: a board, and no screw."""


def _sold(inches: float, system: UnitSystem) -> Iterator[str]:
    """The short texts of a length, the shortest first, in feet, sixty-fourths or hundredths of an inch, in
    tenths of a metre or of a millimetre; none that is off."""
    if system is UnitSystem.IMPERIAL:
        texts = [f"{inches / 12:.0f} ft", format_length(inches, system, 1 / 64), f"{inches:.2f} in"]
    else:
        mm = inches * MM_PER_INCH
        texts = [f"{mm / 1000:.1f} m"] if mm > LEAST_IN_METRES - 1 else []
        texts += [f"{mm:.0f} mm", f"{mm:.1f} mm"]
    yield from (text for text in texts if abs(parse_length(text) - inches) < _AS_SOLD)


def price_digits(amount: float) -> str:
    """A price as digits, two decimals or as many as it has, four at most."""
    whole, _, part = f"{amount:.4f}".partition(".")
    return f"{whole}.{part.rstrip('0').ljust(2, '0')}"


def numbers(values: Iterable[int], most: int = _MOST_RANGES) -> str:
    """Ascending whole numbers as ranges: `3-7, 9`; after `most` ranges only how many there are."""
    found = np.asarray(values if isinstance(values, np.ndarray) else list(values), dtype=np.int64)
    groups = np.split(found, np.flatnonzero(np.diff(found) > 1) + 1) if len(found) else []
    return ranges([(int(g[0]), int(g[-1])) for g in groups], most)


def ranges(stretches: Sequence[tuple[int, int]], most: int = _MOST_RANGES) -> str:
    """Stretches, first and last number each, as `numbers` writes them."""
    texts = [f"{first}" if first == last else f"{first}-{last}" for first, last in stretches]
    rest = len(texts) - most
    more = f" and {plural(rest, 'more stretch', 'more stretches')}" if rest > 0 else ""
    return ", ".join(texts[:most]) + more


def numbers_of(text: str, most: int) -> tuple[int, ...]:
    """The ascending whole numbers of a text as `numbers` writes them; none where it is no such text, counts
    from 0 or names more than `most`.
    """
    found: list[int] = []
    for part in text.split(","):
        match = re.fullmatch(r"\s*([1-9]\d{0,8})(?:\s*-\s*([1-9]\d{0,8}))?\s*", part, re.ASCII)
        first, last = (int(match[1]), int(match[2] or match[1])) if match else (1, 0)
        if not last >= first > (found[-1] if found else 0) or last - first >= most - len(found):
            return ()
        found += range(first, last + 1)
    return tuple(found)


def numbered(noun: str, indices: Iterable[int], most: int = _MOST_RANGES) -> str:
    """`posts 3-7, 9` for ascending indices counted from 0; `noun`: in the singular; `most`: see `numbers`."""
    found = [index + 1 for index in indices]
    return f"{noun if len(found) == 1 else noun + 's'} {numbers(found, most)}"


def listed(names: Iterable[str], word: str = "and") -> str:
    """Names in a sentence: `level, sloped and racked`, or with another `word`."""
    *most, last = names
    return f"{', '.join(most)} {word} {last}" if most else last


def plural(count: int, one: str, many: str | None = None) -> str:
    """A count with its word: `1 board`, `3 boards`."""
    return f"{count} {one if count == 1 else many or one + 's'}"

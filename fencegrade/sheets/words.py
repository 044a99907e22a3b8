"""Lengths, money and counts of one plan in the words of its job."""

from collections.abc import Iterable
from dataclasses import dataclass

from fencegrade.job.records import JobTable
from fencegrade.units import MASS, UnitSystem, format_length, format_money, format_sold, layout_mark


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """How this job's numbers are written."""

    system: UnitSystem
    mark: float
    currency: str

    @staticmethod
    def of(job: JobTable) -> "Words":
        """The words of a job."""
        return Words(system=job.units, mark=job.tape, currency=job.currency)

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
        return round(float(inches) * (1.0 if self.unit == "in" else 25.4), 4) + 0.0

    def length(self, inches: float) -> str:
        """A length as the tape reads: `63-1/2 in`, `1613 mm`."""
        return format_length(float(inches), self.system, self.mark)

    def height(self, inches: float) -> str:
        """A height as people say it: `5' 10-3/4"`, `1790 mm`."""
        return format_length(float(inches), self.system, self.mark, feet=True)

    def station(self, inches: float) -> str:
        """A station along the run: `24' 3-1/2"`, `7.39 m`."""
        if self.system is UnitSystem.IMPERIAL:
            return format_length(float(inches), self.system, self.mark, feet=True)
        return f"{float(inches) * 0.0254:.3f} m"

    def edge(self, inches: float) -> str:
        """The edge of a board as it is laid, to 1/32 in or half a millimetre: `24' 3-13/32"`, `7392.5 mm`."""
        return format_length(float(inches), self.system, layout_mark(self.system), feet=True)

    def money(self, amount: float) -> str:
        """Money with the job's currency sign."""
        return format_money(amount, self.currency)

    def price(self, amount: float) -> str:
        """The price of one, with as many decimals as it has: `$4.10`, `$0.125`."""
        return self.money(amount) + price_digits(amount).partition(".")[2][2:]

    def sold_length(self, inches: float) -> str:
        """A length as a yard sells it: `12 ft`, `2.4 m`."""
        return format_sold(inches, self.system, self.mark)


def price_digits(amount: float) -> str:
    """A price as digits, two decimals or as many as it has, four at most."""
    whole, _, part = f"{amount:.4f}".partition(".")
    return f"{whole}.{part.rstrip('0').ljust(2, '0')}"


def numbers(values: Iterable[int], most: int = 6) -> str:
    """Ascending whole numbers as ranges: `3-7, 9`; after `most` ranges only their number."""
    ranges: list[list[int]] = []
    for v in values:
        if ranges and v == ranges[-1][1] + 1:
            ranges[-1][1] = v
        else:
            ranges.append([v, v])
    texts = [str(a) if a == b else f"{a}-{b}" for a, b in ranges]
    rest = len(texts) - most
    more = f" and {plural(rest, 'more stretch', 'more stretches')}" if rest > 0 else ""
    return ", ".join(texts[:most]) + more


def plural(count: int, one: str, many: str | None = None) -> str:
    """A count with its word: `1 board`, `3 boards`."""
    return f"{count} {one if count == 1 else many or one + 's'}"

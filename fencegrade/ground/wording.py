"""How lengths are written in what the ground floor says."""

from dataclasses import dataclass

from fencegrade.units import UnitSystem, format_length, format_money, format_sold

FINEST = 1 / 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Say:
    """Lengths and money in the job's own words; `tape` (in) is the finest mark the job uses."""

    system: UnitSystem
    tape: float
    currency: str = ""

    def __call__(self, inches: float) -> str:
        """A length such as a reading or a misclosure."""
        return format_length(inches, self.system, min(self.tape, FINEST))

    def station(self, inches: float) -> str:
        """A station along the run."""
        return format_length(inches, self.system, min(self.tape, FINEST), feet=True)

    def stretch(self, a: float, b: float) -> str:
        """A stretch of the run."""
        return f"{self.station(a)} to {self.station(b)}"

    def sold(self, inches: float) -> str:
        """A length as a yard sells it: `12 ft`, `2.4 m`."""
        return format_sold(inches, self.system, min(self.tape, FINEST))

    def money(self, amount: float) -> str:
        """Money with the job's currency sign."""
        return format_money(amount, self.currency)

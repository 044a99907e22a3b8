"""How lengths are written in what the ground floor says."""

from dataclasses import dataclass

from fencegrade.units import UnitSystem, format_length

FINEST = 1 / 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Say:
    """Lengths in the job's own words; `tape` (in) is the finest mark the job uses."""

    system: UnitSystem
    tape: float

    def __call__(self, inches: float) -> str:
        """A length such as a reading or a misclosure."""
        return format_length(inches, self.system, min(self.tape, FINEST))

    def station(self, inches: float) -> str:
        """A station along the run."""
        return format_length(inches, self.system, min(self.tape, FINEST), feet=True)

    def stretch(self, a: float, b: float) -> str:
        """A stretch of the run."""
        return f"{self.station(a)} to {self.station(b)}"

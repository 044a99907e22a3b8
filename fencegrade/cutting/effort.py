"""Work spent, counted and not timed, so that a search ends at the same place on every machine.

The unit is about a microsecond of one core of 2.5 GHz: the steps that take time say what they did in numbers
of cells, rounds and branches, and this adds it up. The clock is only an emergency stop, far away.
"""

from __future__ import annotations

from time import perf_counter

PER_SECOND = 1_000_000
EMERGENCY = 12.0
"""Seconds of the clock for each second of work, and at least `LEAST_CLOCK`, before a search is broken off."""

LEAST_CLOCK = 60.0


class Effort:
    """What a search may still do."""

    def __init__(self, seconds: float, clock: float | None = None) -> None:
        self.most = seconds * PER_SECOND
        self.spent = 0.0
        self._until = perf_counter() + (max(LEAST_CLOCK, EMERGENCY * seconds) if clock is None else clock)

    def spend(self, units: float) -> None:
        """Add what a step did."""
        self.spent += units

    @property
    def left(self) -> float:
        """Units that may still be spent; none once the clock has stopped the search."""
        return 0.0 if perf_counter() >= self._until else max(0.0, self.most - self.spent)

    @property
    def over(self) -> bool:
        """True once nothing more may be done."""
        return self.left <= 0.0

    @property
    def clock_left(self) -> float:
        """Seconds of the clock until the emergency stop, for solvers that know nothing else."""
        return max(0.01, self._until - perf_counter())

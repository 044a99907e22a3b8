"""What every kind of survey is reduced to: heights at stations, and how well they close."""

import math
from collections.abc import Callable
from itertools import pairwise

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike

from fencegrade.ground.readings import Reading
from fencegrade.ground.sag import COMMON_LINE, COMMON_PULL, STRAIGHT, Hang, parabola_sag
from fencegrade.problems import Problem
from fencegrade.units import past_limit
from fencegrade.units.arrays import Floats, first_most
from fencegrade.units.tolerances import ROUNDING, SAME_LENGTH
from fencegrade.units.words import Words

ONLY_STRING = "string"
"""Name of the set-up where the survey names none."""


class StringChord(Struct, frozen=True, kw_only=True):
    """One set-up of the string as it hung: its ends and how far it sags below the chord between them.

    `start`, `end` stations, `start_height`, `end_height` elevations of its ends (in); `hang` how it hangs.
    """

    id: str
    start: float
    end: float
    start_height: float
    end_height: float
    hang: Hang = STRAIGHT

    @property
    def given_name(self) -> str | None:
        """Its name in the survey; None where it has none."""
        return None if self.id == ONLY_STRING else self.id

    @property
    def name(self) -> str:
        """What it is called: `string`, or `string A`."""
        return "string" if self.given_name is None else f"string {self.id}"

    @property
    def span(self) -> float:
        """Level distance between the ends (in)."""
        return self.end - self.start

    @property
    def rise(self) -> float:
        """How much higher the far end is than the first (in)."""
        return self.end_height - self.start_height

    @property
    def sag(self) -> float:
        """Sag at mid-span (in)."""
        return self.hang.at_mid_span(self.span, self.rise)

    @property
    def sag_given(self) -> bool:
        """Whether its sag was measured, or is known by its weight and pull."""
        return self.hang.known or self.sag > 0

    @property
    def common_sag(self) -> float:
        """How far (in) a common line, pulled by hand, would hang at mid-span."""
        return parabola_sag(COMMON_LINE, self.span, COMMON_PULL)

    def elevation(self, x: ArrayLike) -> Floats:
        """Elevation (in) of the string itself, sag taken off, at stations `x` (in) between its ends."""
        distance = np.asarray(x, dtype=float) - self.start
        chord = self.start_height + self.rise * distance / self.span
        return np.asarray(chord - self.hang.below_chord(distance, self.span, self.rise), dtype=float)


class Tie(Struct, frozen=True, kw_only=True):
    """A stake read from several set-ups: its station, their names, and how far they disagree (in)."""

    station: float
    setups: tuple[str, ...]
    apart: float


Allowed = tuple[float, str]
"""What one set-up may misclose by (in), and the rule in words, with `{setups}` for their number."""


class Closure(Struct, frozen=True, kw_only=True):
    """How a chain of set-ups closes on a height already known.

    `station` (in, None off the line) and `line` of the closing row; `setups` since the last known height;
    `computed`, `known`, `misclosure` = computed - known and `allowed` in inches; `rule` says in words where
    the allowed figure comes from.
    """

    line: int
    station: float | None
    setups: int
    computed: float
    known: float
    allowed: float
    rule: str

    @property
    def misclosure(self) -> float:
        """Computed less known (in)."""
        return self.computed - self.known

    @property
    def accepted(self) -> bool:
        """Whether the misclosure is within what is allowed."""
        return abs(self.misclosure) <= self.allowed + ROUNDING


class BookRow(Struct, frozen=True, kw_only=True):
    """One row of a level book reduced, inches.

    `line`, `station` (None off the line); its sights; the `setup` it was read from (counted from 1; 0 for the
    start); `elevation` by height of instrument, and `adjusted` for misclosure.
    """

    line: int
    station: float | None
    backsight: float | None
    intermediate: float | None
    foresight: float | None
    setup: int
    elevation: float
    adjusted: float

    @property
    def fresh(self) -> bool:
        """Whether a backsight starts here on a height of its own."""
        return self.backsight is not None and self.foresight is None


class LevelPage(Struct, frozen=True, kw_only=True):
    """A level book reduced: its rows, every `instrument` height (in), and the sums of the arithmetic
    check."""

    rows: tuple[BookRow, ...]
    instrument: tuple[float, ...]
    backsights: float
    foresights: float
    rise: float
    closures: tuple[Closure, ...]

    @property
    def steps(self) -> tuple[float | None, ...]:
        """Row by row, how much higher (in) it is than the row before; None where the page starts afresh."""
        later = (None if b.fresh else b.elevation - a.elevation for a, b in pairwise(self.rows))
        return (None, *later)

    @property
    def rises_and_falls(self) -> tuple[float, float]:
        """Sums (in) of the rises and of the falls, as far as the last foresight."""
        last = max((i for i, r in enumerate(self.rows) if r.foresight is not None), default=0)
        steps = [s for s in self.steps[: last + 1] if s is not None]
        return math.fsum(s for s in steps if s > 0), -math.fsum(s for s in steps if s < 0)

    @property
    def checks(self) -> bool:
        """Whether backsights less foresights, rises less falls, and last less first elevation agree."""
        rises, falls = self.rises_and_falls
        whole = self.backsights - self.foresights
        return abs(whole - self.rise) < SAME_LENGTH and abs(whole - (rises - falls)) < SAME_LENGTH


class Reduction(Struct, frozen=True, kw_only=True):
    """A survey as heights at stations.

    `readings` in file order; `strings` as they hung; `ties` and `closures` as found; `page` of a level book.
    """

    readings: tuple[Reading, ...]
    strings: tuple[StringChord, ...] = ()
    ties: tuple[Tie, ...] = ()
    closures: tuple[Closure, ...] = ()
    page: LevelPage | None = None

    @property
    def residuals(self) -> tuple[Tie, ...]:
        """The stakes read from several set-ups, where there are more than it takes to hang the set-ups."""
        checked = len(self.ties) >= len(self.strings) or any(t.apart > ROUNDING for t in self.ties)
        return self.ties if checked else ()

    @property
    def farthest(self) -> Reading | None:
        """The point read farthest off the run's line; None where no points were read."""
        points = [r for r in self.readings if r.offset is not None]
        return points[first_most(np.array([abs(r.offset or 0.0) for r in points]))] if points else None


Reduced = tuple[Reduction | None, tuple[Problem, ...]]
"""What a survey comes to, None with mistakes, and all problems."""

Level = Callable[[float], float]
"""From a station as it was taped to a level one (in)."""


def closing_on(
    reading: Reading | BookRow, known: float, computed: float, setups: int, own: float | None, usual: Allowed
) -> Closure:
    """How `setups` set-ups close on a height `known` (in) where they bring it to `computed` (in).

    `own`: the run's own limit (in); without one the usual limit of a set-up times the root of their number.
    """
    each, rule = usual
    return Closure(
        line=reading.line,
        station=reading.station,
        setups=setups,
        computed=computed,
        known=known,
        allowed=each * math.sqrt(setups) if own is None else own,
        rule=rule.format(setups=setups) if own is None else "the run's own limit",
    )


def past_allowed(closure: Closure, words: Words) -> str:
    """What is missing and how much of it would be let pass, for a closing that is refused."""
    limit = math.copysign(closure.allowed, closure.misclosure)
    missing = past_limit(closure.misclosure, limit, words.fine)
    return f"a misclosure of {missing}, more than {words.given(closure.allowed)} ({closure.rule})"

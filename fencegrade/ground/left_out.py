"""Stretches of a survey in which stakes seem left out: far wider than its readings usually stand apart.

o   o   o   o               o   o   o      usual steps, and one of four times as much
              ^   ^   ^                    the stakes that seem left out
"""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from statistics import median_low

import numpy as np
from msgspec import Struct

from fencegrade.ground.readings import Levels, line_place
from fencegrade.ground.wrong_station import last_alone
from fencegrade.job.survey import Mark
from fencegrade.problems import Problem, warning
from fencegrade.units.arrays import Floats
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words, listed

LEFT_OUT = 1.75
"""How many times the usual step between neighbouring stations one may be before a stake seems left out."""

FEWEST = 5
"""Stations from which a usual step is told."""

WIDEST_MEASURED = 120.0
"""Inches; the doubt between readings (`ground.band`) was measured on ground read no wider apart than this."""

MOST_TOLD = 6


class Hole(Struct, frozen=True, kw_only=True):
    """A stretch between two readings, `start` to `end` (in), that seems to miss some; they usually stand
    `usual` (in) apart.
    """

    start: float
    end: float
    usual: float

    @property
    def missing(self) -> list[float]:
        """Stations (in) of the stakes that seem left out: even, and no wider apart than usual."""
        return [float(x) for x in np.linspace(self.start, self.end, self._steps + 1)[1:-1]]

    @property
    def reach(self) -> float:
        """How far (in) from such a stake the ground is not read: half way to the next."""
        return (self.end - self.start) / self._steps / 2

    @property
    def _steps(self) -> int:
        return max(2, math.ceil((self.end - self.start) / self.usual - SAME_LENGTH))


def holes(stations: Sequence[float] | Floats, breaks: Sequence[float] | Floats = ()) -> list[Hole]:
    """The stretches between neighbours of the stations (in) that seem to miss one, the widest first.

    `breaks`: those of them (in) that were read where the ground breaks, besides the even ones. None where
    stations stand about evenly, or are too few to tell. Own derivation.
    """
    order, beside = sorted({float(x) for x in stations}), {float(x) for x in breaks}
    if len(order) < FEWEST:
        return []
    even = [x for x in order if x not in beside]
    usual = max(_usual([b - a for a, b in pairwise(x)]) for x in (order, even))
    found = [Hole(start=a, end=b, usual=usual) for a, b in pairwise(order) if b - a > LEFT_OUT * usual]
    return sorted(found, key=lambda hole: hole.start - hole.end)


def _usual(steps: Sequence[float]) -> float:
    """The usual step (in) beside the widest: that of the wider half, as readings at breaks stand closer."""
    others = sorted(steps)[:-1]
    return median_low(others[len(others) // 2 :]) if others else 0.0


def doubted_holes(levels: Levels, breaks: Floats, start: float, end: float) -> tuple[Hole, ...]:
    """The holes that put the ground of a run, `start` to `end` (in), in doubt, in order of station.

    Those no wider than the widest step the doubt between readings was measured for are none, and those are
    none too that have the word "confirmed" in the notes of the readings at both ends (one alone may answer
    another doubt), or end at a last station that is doubted itself.
    """
    last = float(levels.stations[-1]) if last_alone(levels.stations) else math.inf
    sure = {x for x, marks in zip(levels.stations, levels.marks, strict=True) if Mark.CONFIRMED in marks}
    return tuple(
        hole
        for hole in sorted(holes(levels.stations, breaks), key=lambda hole: hole.start)
        if hole.end - hole.start > WIDEST_MEASURED + SAME_LENGTH
        and hole.end < last
        and hole.start < end - SAME_LENGTH
        and hole.end > start + SAME_LENGTH
        and not {hole.start, hole.end} <= sure
    )


def hole_problems(
    found: Sequence[Hole],
    levels: Levels,
    source: str,
    words: Words,
    openings: Sequence[tuple[float, float]] = (),
) -> Iterator[Problem]:
    """A warning for every hole: where it is, what to read, and what waits for it: boards, or the gates whose
    `openings` (in) lie over it."""
    for hole in found:
        ends = [int(np.searchsorted(levels.stations, x)) for x in (hole.start, hole.end)]
        yield warning(
            line_place(source, *(levels.lines[i][0] for i in ends)),
            f"no reading between {words.station(hole.start)} and {words.station(hole.end)}; the others "
            f"usually stand {words.station(hole.usual)} apart",
            f"read the ground at {some_stations(hole.missing, words)}: "
            f"{' and '.join(_waiting(hole, openings, words))}. If the ground is even there, write confirmed "
            "in the notes of both readings",
        )


def _waiting(hole: Hole, openings: Sequence[tuple[float, float]], words: Words) -> Iterator[str]:
    """What stands over ground that a hole leaves unread, and waits for it."""
    start, end = hole.start + hole.reach, hole.end - hole.reach
    over = [(a, b) for a, b in openings if a < end - SAME_LENGTH and b > start + SAME_LENGTH]
    if sum(min(b, end) - max(a, start) for a, b in over) < end - start - SAME_LENGTH:
        yield "boards there are marked in place until then"
    if over:
        gates, hang, are = ("gate", "hangs", "is") if len(over) == 1 else ("gates", "hang", "are")
        at = listed([words.station(a) for a, _ in over])
        yield f"the {gates} at {at} {hang} by it, and {are} not to be made before"


def some_stations(stations: Sequence[float], words: Words) -> str:
    """Stations (in) in words, of many the first and how many more."""
    told = [words.station(x) for x in stations[:MOST_TOLD]]
    more = len(stations) - MOST_TOLD
    return f"{', '.join(told)} and {more} more" if more > 0 else listed(told)

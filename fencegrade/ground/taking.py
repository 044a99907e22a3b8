"""A doubt about a reading while it is being taken, when looking again costs a minute.

The same judgement as of a whole survey once there are enough readings; before that, steps that ground
seldom makes. Nothing is changed: a doubt is told, and the reader decides.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from fencegrade.ground import doubt
from fencegrade.ground.doubt import doubt_words, doubts, slips
from fencegrade.ground.readings import REPEAT_LIMIT, Reading, merge
from fencegrade.job.survey import Side
from fencegrade.units import UnitSystem
from fencegrade.units.tolerances import ROUNDING
from fencegrade.units.words import Words

STEEP = 0.6
"""Rise over run between two readings from which a step is doubted (common practice, no source)."""

LEAST_STEP = 8.0
"""Inches; a smaller step is not doubted, however near the readings are."""

ODD_PART = 0.5
"""Part of a steep step that the earlier reading's right figure must leave at most, to be the odd one."""

FEWEST = 5
"""Stations from which readings are held against their neighbours' line."""

LONG_DROP = 150.0
"""Inches; a longer drop than this is out of reach of a tape held by hand, and mostly a slip of the unit."""


class Taken(Struct, frozen=True, kw_only=True):
    """One reading as taken: station and drop from the string (in); `side` of a face, None on open ground."""

    station: float
    drop: float
    side: Side | None = None


class TakenDoubt(Struct, frozen=True, kw_only=True):
    """A doubt: `index` of a reading among those taken, what was `found`, a drop that `would_fit` (in).

    `stations` (in) that it is about: the reading's, or both ends of a step.
    """

    index: int
    stations: tuple[float, ...]
    found: str
    would_fit: float | None


def doubt_of_last(taken: Sequence[Taken], system: UnitSystem) -> TakenDoubt | None:
    """What is doubtful now that the last reading is in, and was not before: that reading or a neighbour.

    `taken`: readings in the order they were taken; `system`: whose words and whose everyday slips. Own
    derivation, on top of `doubt.doubts`.
    """
    before = {d.stations for d in every_doubt(taken[:-1], system)}
    return next((d for d in every_doubt(taken, system) if d.stations not in before), None)


def disagrees(taken: Sequence[Taken], reading: Taken, system: UnitSystem) -> Taken | None:
    """An earlier reading at the same station that differs by more than a repeat may."""
    return next(
        (
            t
            for t in taken
            if (t.station, t.side) == (reading.station, reading.side)
            and abs(t.drop - reading.drop) > REPEAT_LIMIT[system] + ROUNDING
        ),
        None,
    )


def rules(system: UnitSystem) -> dict[str, Any]:
    """Every rule that judges a reading just taken, as plain data for the page that takes readings too.

    Lengths in inches; `slips` in the order in which they are tried.
    """
    return {
        "longDrop": LONG_DROP,
        "steep": STEEP,
        "leastStep": LEAST_STEP,
        "oddPart": ODD_PART,
        "fewest": FEWEST,
        "barSlip": doubt.BAR_SLIP,
        "barAny": doubt.BAR_ANY,
        "ordinary": doubt.ORDINARY,
        "part": doubt.PART,
        "leastDeparture": doubt.LEAST_DEPARTURE,
        "floor": doubt.FLOOR,
        "around": doubt.AROUND,
        "repeatLimit": REPEAT_LIMIT[system],
        "rounding": ROUNDING,
        "slips": [{"name": s.name, "kind": str(s.kind), "by": s.by} for s in doubt.SLIPS[system]],
    }


def every_doubt(taken: Sequence[Taken], system: UnitSystem) -> list[TakenDoubt]:
    """Every doubt about readings taken so far; steep steps only where nothing else is doubted."""
    words = Words.of_readings(system)
    told = list(_long(taken, words))
    told += [d for d in _standing_out(taken, words) if d.index not in {t.index for t in told}]
    if not told:
        told += _steps(taken, words)
    return told


def _long(taken: Sequence[Taken], words: Words) -> Iterator[TakenDoubt]:
    for index, one in enumerate(taken):
        if one.drop > LONG_DROP:
            found = f"{words.fine(one.drop)} is a long way down from a string"
            yield TakenDoubt(index=index, stations=(one.station,), found=found, would_fit=None)


def _standing_out(taken: Sequence[Taken], words: Words) -> Iterator[TakenDoubt]:
    """Doubts as the whole survey would raise them; they begin with the fifth reading."""
    if len({t.station for t in taken}) < FEWEST:
        return
    readings = [
        Reading(line=i, station=t.station, elevation=-t.drop, raw=t.drop, side=t.side)
        for i, t in enumerate(taken)
    ]
    levels, _ = merge(readings, "", words)
    if levels is None:
        return
    for one in doubts(levels, words.system):
        found = doubt_words(one, words)
        yield TakenDoubt(index=one.line, stations=(one.station,), found=found, would_fit=one.readable)


def _steps(taken: Sequence[Taken], words: Words) -> Iterator[TakenDoubt]:
    """Steep steps between neighbours; of the two the odd one is doubted."""
    order = sorted(range(len(taken)), key=lambda i: taken[i].station)
    for k, (a, b) in enumerate(pairwise(order)):
        if _steepness(taken, [a, b]) <= 1:
            continue
        step = taken[b].drop - taken[a].drop
        doubted, fits = _odd_one(taken, order[max(k - 1, 0) : k + 3], (a, b), words.system)
        found = (
            f"from {words.station(taken[a].station)} to {words.station(taken[b].station)} the ground would "
            f"{'fall' if step > 0 else 'rise'} by {words.fine(abs(step))}"
        )
        yield TakenDoubt(
            index=doubted,
            stations=(taken[a].station, taken[b].station),
            found=found,
            would_fit=fits,
        )


def _steepness(taken: Sequence[Taken], row: Sequence[int]) -> float:
    """The steepest step between neighbours of a row, in those that ground seldom makes; a face is none."""
    steps = [
        abs(taken[b].drop - taken[a].drop) / max(LEAST_STEP, STEEP * (taken[b].station - taken[a].station))
        for a, b in pairwise(row)
        if taken[a].station != taken[b].station or taken[a].side is taken[b].side
    ]
    return max(steps, default=0.0)


def _odd_one(
    taken: Sequence[Taken], around: Sequence[int], pair: tuple[int, int], system: UnitSystem
) -> tuple[int, float | None]:
    """Which of a pair with a steep step is the odd one, and the figure that would fit in its place.

    It is the later taken, unless the earlier has a neighbour besides and the figure that its slip would have
    hidden leaves the steps `around` less than half as steep. Own derivation.
    """
    last, first = max(pair), min(pair)
    fits = {i: _nearest_slip(taken[i], taken[sum(pair) - i], system) for i in (last, first)}
    left = {}
    for i, drop in fits.items():
        row = list(taken)
        row[i] = row[i] if drop is None else replace(row[i], drop=drop)
        left[i] = _steepness(row, around)
    beside = around[0] == first or around[-1] == first
    odd = first if not beside and left[first] < left[last] * ODD_PART else last
    return odd, fits[odd]


def _nearest_slip(doubted: Taken, other: Taken, system: UnitSystem) -> float | None:
    """The figure an everyday slip would have hidden that is nearest to the neighbour's, if it is near."""
    close = [v for _, v in slips(doubted.drop, system) if v >= 0 and abs(v - other.drop) <= LEAST_STEP]
    return min(close, key=lambda v: abs(v - other.drop), default=None)

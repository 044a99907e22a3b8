"""Where one more reading is worth the walk, when there is enough, and which boards the chart may be trusted
for."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fencegrade.ground.fit import GroundProfile
from fencegrade.ground.wording import Say
from fencegrade.problems import Problem, note, warning

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

HALVING = 0.62
"""What halving a gap does to the deviation inside it: 0.5^0.7, fractal ground of exponent 0.7 (own
derivation)."""

WORTH = 0.5
"""A reading is worth the walk if it should spare at least this many boards (own choice)."""

MOST_STRETCHES = 3

SURE = 0.10
"""A board may be cut from the chart if the chance of its being off is no more than this (own choice)."""

ROOT_SPACING = 12.0
"""Readings this close (in) where a root or trunk is marked (common practice, no source)."""

BOARD = 6.0
"""Width (in) of the boards imagined where no slots are given."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Boards:
    """How sure the ground under every slot is.

    `left`, `right` (n,) edges (in); `deviation` (n,) one standard deviation (in) of the highest ground under
    the slot, which is that of the kept length; `chance_off` (n,) that it is off by more than the tolerance;
    `from_chart` (n,) whether the board may be cut from the chart, or is to be left long and marked in place;
    `chance_longer` (n,) that it needs another stock than planned (0 where no margin was given).
    """

    left: Floats
    right: Floats
    deviation: Floats
    chance_off: Floats
    from_chart: Flags
    chance_longer: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubtfulStretch:
    """A stretch between two readings: `start`, `end` (in), largest `deviation` (in) in it, and the number of
    boards a reading in its middle should spare (`gain`), off by more than the tolerance or in another stock.
    """

    start: float
    end: float
    deviation: float
    gain: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """Where to measure next: the most doubtful `stretches` worth a reading, whether to `read_breaks` first,
    whether there is `enough`, and `missing` stations (in) near marked roots; `boards` as they stand.
    """

    stretches: tuple[DoubtfulStretch, ...]
    read_breaks: bool
    enough: bool
    missing: tuple[float, ...]
    boards: Boards


def board_deviation(profile: GroundProfile, left: Floats, right: Floats) -> Floats:
    """One standard deviation (in) of the highest ground under slots [left, right] (n,) (in).

    That of the ground at the spot where the line is highest under the slot; ground rougher than readings can
    show is not in it. Errors: ValueError for slots outside the readings.
    """
    return profile.spread.deviation(_highest_spot(profile, left, right))


def weigh_boards(
    profile: GroundProfile,
    left: Floats,
    right: Floats,
    tolerance: float,
    margins: Floats | None = None,
    sure: float = SURE,
) -> Boards:
    """How sure the ground under every slot is.

    `left`, `right` (n,) inches; `tolerance` (in) a board may be off by; `margins` (n,) how much longer (in) a
    board may become before it needs another stock; `sure` the chance of being off up to which the chart
    holds.
    """
    spread = profile.spread.at(_highest_spot(profile, left, right))
    off = 2 * spread.beyond(tolerance)
    longer = np.zeros(len(off)) if margins is None else spread.beyond(np.maximum(margins, 0.0))
    return Boards(
        left=left,
        right=right,
        deviation=spread.deviation,
        chance_off=off,
        from_chart=off <= sure,
        chance_longer=longer,
    )


def advise(
    profile: GroundProfile,
    start: float,
    end: float,
    slots: tuple[Floats, Floats] | None = None,
    tolerance: float = 0.5,
    margins: Floats | None = None,
    marked: Sequence[tuple[float, float]] = (),
) -> Advice:
    """Where the next reading is worth most between `start` and `end` (in).

    `slots` left and right edges (in), else boards of 6 in all along; `tolerance` and `margins` as in
    `weigh_boards`; `marked` stretches (in) with a root or trunk. A reading's gain is the drop in the number
    of boards expected off or in another stock, if it is taken in the middle of a gap and the ground is as
    rough on the finer scale as models say. Source: own derivation.
    """
    left, right = _imagined(start, end) if slots is None else slots
    boards = weigh_boards(profile, left, right, tolerance, margins)
    stretches = _stretches(profile, boards, tolerance, margins)
    best = sorted(stretches, key=lambda s: -s.gain)[:MOST_STRETCHES]
    worth = tuple(s for s in best if s.gain >= WORTH)
    return Advice(
        stretches=worth,
        read_breaks=bool(worth) and not len(profile.breaks),
        enough=not worth,
        missing=tuple(_missing(profile.line.stations, marked)),
        boards=boards,
    )


def _imagined(start: float, end: float) -> tuple[Floats, Floats]:
    edges = np.linspace(start, end, max(2, round((end - start) / BOARD) + 1))
    return edges[:-1], edges[1:]


def _highest_spot(profile: GroundProfile, left: Floats, right: Floats) -> Floats:
    """Stations (in) where the line is highest under each slot."""
    under = profile.under(left, right)
    spot = np.where(under.left >= under.right, left, right)
    inside = under.highest > np.maximum(under.left, under.right)
    stations = profile.line.stations
    middle = (left + right) / 2
    k = np.clip(np.searchsorted(stations, middle), 1, len(stations) - 1)
    near = np.where(middle - stations[k - 1] < stations[k] - middle, stations[k - 1], stations[k])
    return np.asarray(np.where(inside, np.clip(near, left, right), spot), dtype=float)


def _stretches(
    profile: GroundProfile, boards: Boards, tolerance: float, margins: Floats | None
) -> list[DoubtfulStretch]:
    stations = profile.line.stations
    spot = _highest_spot(profile, boards.left, boards.right)
    gap = np.clip(np.searchsorted(stations, spot, side="right") - 1, 0, len(stations) - 2)
    width = np.maximum(stations[gap + 1] - stations[gap], 1e-9)
    twice = 2 * (spot - stations[gap]) / width
    now = profile.spread.at(spot, sag=False)
    there = profile.spread.at(stations[gap] + width * (twice - (twice >= 1)), sag=False)
    finer = np.maximum(HALVING * there.deviation, np.minimum(there.deviation, profile.reading_error))
    after = replace(there, deviation=finer)
    gain = 2 * (now.beyond(tolerance) - after.beyond(tolerance))
    if margins is not None:
        room = np.maximum(margins, 0.0)
        gain = gain + now.beyond(room) - after.beyond(room)
    total = np.bincount(gap, weights=gain, minlength=len(stations) - 1)
    peak = np.zeros(len(stations) - 1)
    np.maximum.at(peak, gap, now.deviation)
    return [
        DoubtfulStretch(
            start=float(stations[k]),
            end=float(stations[k + 1]),
            deviation=float(peak[k]),
            gain=float(total[k]),
        )
        for k in np.flatnonzero(total > 0)
    ]


def _missing(stations: Floats, marked: Sequence[tuple[float, float]]) -> Iterator[float]:
    """Stations (in) without a reading near, a foot apart, in marked stretches inside the survey."""
    for a, b in marked:
        low, high = max(a, float(stations[0])), min(b, float(stations[-1]))
        for x in np.arange(low, high + 1e-6, ROOT_SPACING):
            if np.abs(stations - x).min() > ROOT_SPACING / 2:
                yield float(x)


def advice_problems(advice: Advice, run: str, say: Say) -> Iterator[Problem]:
    """The advice as notes and warnings."""
    if advice.missing:
        listed = ", ".join(say.station(x) for x in advice.missing[:6])
        more = f" and {len(advice.missing) - 6} more" if len(advice.missing) > 6 else ""
        yield warning(
            run,
            f"a root or trunk is marked where no reading was taken near {listed}{more}",
            "read the ground there, a foot apart; a root lifts it where no curve can know",
        )
    if advice.enough:
        yield note(run, "the readings are enough: one more would hardly change a board or the purchase")
        return
    if advice.read_breaks:
        yield note(
            run,
            "the readings stand about evenly, so the ground between them is least sure where it breaks",
            "look where the ground leaves a straight edge: read it at every crest, toe, ditch lip and "
            "paving edge",
        )
    for s in advice.stretches:
        yield note(
            f"{run}, {say.stretch(s.start, s.end)}",
            f"the ground here is known to about {say(s.deviation)} (one standard deviation)",
            f"one reading near {say.station((s.start + s.end) / 2)} should spare about {s.gain:.1f} boards",
        )

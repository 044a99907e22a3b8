"""Readings that stand out of their neighbours, and the slip of the hand each one looks like.

Nothing is changed or dropped: a doubt is told, with the figure that would fit. A reading is doubted when it
departs from the straight line between its neighbours far more than readings around it do, and its neighbours
are ordinary once it is left out; an everyday slip that would explain it lowers the bar. A reading named as
one at a break left that line because the ground did: it is doubted only where it stands off what leads up to
it from either side as well. Own derivation; the bars were set so that few readings of real, rough ground are
doubted.
"""

import math
from collections.abc import Iterable, Iterator
from enum import StrEnum

import numpy as np
from msgspec import Struct

from fencegrade.ground.profile import between_faces
from fencegrade.ground.readings import Levels, line_place
from fencegrade.job.survey import Mark
from fencegrade.problems import Problem, warning
from fencegrade.units import UnitSystem
from fencegrade.units.arrays import Floats, Truths
from fencegrade.units.words import Words

BAR_SLIP, BAR_ANY = 5.0, 10.0
"""How many times the usual departure a reading must reach: with a slip that explains it, and with none."""

ORDINARY, PART = 3.5, 0.5
"""Its neighbours must stay under this many times the usual once it is left out, or this part of its own."""

LEAST_DEPARTURE = 2.5
"""No reading nearer than this (in) to its neighbours' line is doubted."""

FLOOR = 0.5
"""The usual departure is never taken as less than this (in)."""

AROUND = 5
"""Readings on each side that say what departure is usual."""

_FAR = 200
"""Readings on each side that are looked at when one is left out."""

FOOT, HUNDRED_MM = 12.0, 100 / 25.4


class Doubt(Struct, frozen=True, kw_only=True):
    """A reading that stands out: its place among the spots, `line`, `station` (in), `raw` as written (in).

    `departure` (in) above (+) or below the neighbours' line; `looks_like` an everyday slip or nothing;
    `would_fit` the figure (in) that slip would have hidden, else the one on the neighbours' line;
    `downward`: figures count down, from a string or a level's line.
    """

    spot: int
    line: int
    station: float
    raw: float
    departure: float
    looks_like: str
    would_fit: float
    downward: bool = True

    @property
    def readable(self) -> float | None:
        """The figure (in) that would fit; None where nobody can read it: less than nothing down a string."""
        return None if self.downward and self.raw >= 0 > self.would_fit else self.would_fit


def doubts(levels: Levels, system: UnitSystem) -> tuple[Doubt, ...]:
    """Readings of a survey that stand out of their neighbours.

    `levels` the readings in order; `system` decides which slips are everyday ones. Spots read more than once,
    spots whose note says "confirmed" and pieces between faces of fewer than five readings are not judged.
    """
    return tuple(
        found
        for first, past in between_faces(levels.stations)
        if past - first >= 5
        for found in _doubts_in(levels, first, past, system)
    )


def _doubts_in(levels: Levels, first: int, past: int, system: UnitSystem) -> Iterator[Doubt]:
    x, z = levels.stations[first:past], levels.elevations[first:past]
    breaks = np.array([Mark.BREAK in marks for marks in levels.marks[first:past]])
    departure = _departures(x, z)
    left, strangeness = _strangeness(x, z, departure, breaks)
    for i in np.flatnonzero((strangeness > BAR_SLIP) & (left > LEAST_DEPARTURE)):
        raw = float(levels.raw[first + i])
        if (
            math.isnan(raw)
            or Mark.CONFIRMED in levels.marks[first + i]
            or not _alone(x, z, breaks, int(i), float(strangeness[i]))
        ):
            continue
        wanted = raw + (-departure[i] if levels.upward else departure[i])
        slack = max(1.0, 0.15 * abs(float(departure[i])))
        looks = [(abs(v - wanted), name, v) for name, v in slips(raw, system) if abs(v - wanted) <= slack]
        if not looks and strangeness[i] < BAR_ANY:
            continue
        _, name, fits = min(looks, default=(0.0, "", float(wanted)))
        yield Doubt(
            spot=first + int(i),
            line=levels.lines[first + i][0],
            station=float(x[i]),
            raw=raw,
            departure=float(departure[i]),
            looks_like=name,
            would_fit=fits,
            downward=not levels.upward,
        )


def _strangeness(x: Floats, z: Floats, departure: Floats, breaks: Truths) -> tuple[Floats, Floats]:
    """What breaks leave of the size (in) of every reading's departure, and that in usual departures."""
    left = np.abs(_but_at_breaks(x, z, departure, breaks))
    return left, left / _usual(x, departure)


def _but_at_breaks(x: Floats, z: Floats, departure: Floats, breaks: Truths) -> Floats:
    """The departures (n,), of readings at `breaks` (n,) and at ends beside one the least of what may be said.

    At a break the line of the two readings before it, or after it, counts as well as that of its neighbours,
    unless the nearer of the two is a break itself: there the ground may bend. Where no such line leads up to
    a break nothing is known of it, and the departure is 0.
    """
    result = departure.copy()
    for i in np.flatnonzero(breaks).tolist():
        lines = [
            (z[near] + (z[next_] - z[near]) / (x[next_] - x[near]) * (x[i] - x[near]))
            for near, next_ in ((i - 1, i - 2), (i + 1, i + 2))
            if 0 <= next_ < len(x) and not breaks[near]
        ]
        result[i] = min((float(departure[i]), *(z[i] - line for line in lines)), key=abs) if lines else 0.0
    result[[0, -1]] *= ~breaks[[1, -2]]
    return result


def _departures(x: Floats, z: Floats) -> Floats:
    """Departure (in) of every reading from the line of its neighbours; at an end, of the two next to it."""
    result = np.empty(len(x))
    part = (x[1:-1] - x[:-2]) / (x[2:] - x[:-2])
    result[1:-1] = z[1:-1] - (z[:-2] + part * (z[2:] - z[:-2]))
    for end, near, next_ in ((0, 1, 2), (-1, -2, -3)):
        slope = (z[next_] - z[near]) / (x[next_] - x[near])
        result[end] = z[end] - (z[near] + slope * (x[end] - x[near]))
    return result


def _usual(x: Floats, departure: Floats) -> Floats:
    """Usual departure (in) around every reading: a robust spread of the others, by the reach of each."""
    reach = np.empty(len(x))
    reach[1:-1] = (x[2:] - x[:-2]) / 2
    reach[0], reach[-1] = 2 * (x[2] - x[0]), 2 * (x[-1] - x[-3])
    reach = (reach / np.median(reach)) ** 0.8
    scaled = np.abs(departure) / reach
    return np.maximum(1.4826 * median_around(scaled, AROUND, 1) * reach, FLOOR)


def median_around(values: Floats, reach: int, skipped: int) -> Floats:
    """Median of the values around each, `reach` each way, without itself and the next `skipped` each way."""
    count = len(values)
    middle = np.empty(count)
    inner = slice(reach, max(reach, count - reach))
    if count > 2 * reach:
        windows = np.lib.stride_tricks.sliding_window_view(values, 2 * reach + 1)
        left_out = range(reach - skipped, reach + skipped + 1)
        middle[inner] = np.median(np.delete(windows, left_out, axis=1), axis=1)
    for i in [*range(min(reach, count)), *range(inner.stop, count)]:
        near = [j for j in range(max(0, i - reach), min(count, i + reach + 1)) if abs(j - i) > skipped]
        middle[i] = np.median(values[near])
    return middle


def _alone(x: Floats, z: Floats, breaks: Truths, i: int, strangeness: float) -> bool:
    """Whether the readings around are ordinary, or far more so, once this one is left out."""
    first = max(0, i - _FAR)
    keep = np.arange(first, min(len(x), i + _FAR + 1))
    x, z, breaks = x[keep[keep != i]], z[keep[keep != i]], breaks[keep[keep != i]]
    i -= first
    _, left = _strangeness(x, z, _departures(x, z), breaks)
    return bool(left[max(0, i - 2) : i + 2].max() < max(ORDINARY, PART * strangeness))


class SlipKind(StrEnum):
    """What an everyday slip does to a figure."""

    ADD = "add"
    SCALE = "scale"
    TENTHS = "tenths"
    SWAP = "swap"


class Slip(Struct, frozen=True, kw_only=True):
    """An everyday slip of the hand: its name, and how the figure meant comes back from the one written.

    `by`: inches added or a factor; for `TENTHS` the inches of a tenth of a foot; for `SWAP` the unit (in)
    whose digits are exchanged.
    """

    name: str
    kind: SlipKind
    by: float


def _both_ways(name: str, kind: SlipKind, by: float) -> tuple[Slip, Slip]:
    back = -by if kind is SlipKind.ADD else 1 / by
    first, second = (back, by) if kind is SlipKind.ADD else (by, back)
    return Slip(name=name, kind=kind, by=first), Slip(name=name, kind=kind, by=second)


FOOT_FOR_INCH = "feet written where inches were meant, or the other way round"
CENTI_FOR_MILLI = "centimetres and millimetres mixed up"

_CENTIMETRES = _both_ways("inches and centimetres mixed up", SlipKind.SCALE, 2.54)
SLIPS = {
    UnitSystem.IMPERIAL: (
        *_both_ways("a slipped foot", SlipKind.ADD, FOOT),
        Slip(name="tenths of a foot read as inches", kind=SlipKind.TENTHS, by=1.2),
        *_both_ways(FOOT_FOR_INCH, SlipKind.SCALE, FOOT),
        *_CENTIMETRES,
        Slip(name="two digits swapped", kind=SlipKind.SWAP, by=1.0),
    ),
    UnitSystem.METRIC: (
        *_both_ways("a slip of 100 mm", SlipKind.ADD, HUNDRED_MM),
        *_both_ways("a slip of 200 mm", SlipKind.ADD, 2 * HUNDRED_MM),
        *_both_ways("a slip of one metre", SlipKind.ADD, 10 * HUNDRED_MM),
        *_both_ways(CENTI_FOR_MILLI, SlipKind.SCALE, 10.0),
        *_CENTIMETRES,
        Slip(name="two digits swapped", kind=SlipKind.SWAP, by=1 / 25.4),
    ),
}
"""Everyday slips; the page that takes readings has them from here. Source: common practice, no source."""


def slips(raw: float, system: UnitSystem) -> Iterator[tuple[str, float]]:
    """Everyday slips that may have turned another figure (in) into `raw` (in), each with that figure."""
    for slip in SLIPS[system]:
        for meant in _meant(raw, slip):
            yield slip.name, meant


def _meant(raw: float, slip: Slip) -> Iterator[float]:
    if slip.kind is SlipKind.ADD:
        yield raw + slip.by
    elif slip.kind is SlipKind.SCALE:
        yield raw * slip.by
    elif slip.kind is SlipKind.TENTHS:
        feet, inches = divmod(raw, FOOT)
        yield feet * FOOT + inches * slip.by
    else:
        for other in _swapped(abs(raw) / slip.by):
            yield math.copysign(other * slip.by, raw)


def _swapped(value: float) -> Iterator[float]:
    """The value with two neighbouring digits of its whole part swapped."""
    whole, part = divmod(round(value, 6), 1.0)
    digits = f"{int(whole)}"
    for k in range(len(digits) - 1):
        if digits[k] != digits[k + 1]:
            yield int(digits[:k] + digits[k + 1] + digits[k] + digits[k + 2 :]) + part


def doubt_words(doubt: Doubt, words: Words) -> str:
    """What is doubted, and the slip it looks like."""
    side = "above" if doubt.departure > 0 else "below"
    look = f", which looks like {doubt.looks_like}" if doubt.looks_like else ""
    return (
        f"{words.fine(doubt.raw)} at {words.station(doubt.station)} puts the ground "
        f"{words.fine(abs(doubt.departure))} {side} the line of its neighbours{look}"
    )


def doubt_problems(found: Iterable[Doubt], source: str, words: Words) -> Iterator[Problem]:
    """A warning for every doubted reading."""
    for doubt in found:
        fits = doubt.readable
        told = ", station and figure" if fits is None else f"; {words.fine(fits)} would fit"
        yield warning(
            line_place(source, doubt.line),
            doubt_words(doubt, words),
            f"check it on the page or on the ground{told}. If it is right, read it once more as a row of its "
            "own, or write confirmed in its note",
        )

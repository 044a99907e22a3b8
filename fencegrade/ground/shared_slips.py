"""Slips that several readings share: two neighbours read a foot off, or everything from one stake on.

           o--o--o                        o--o--o          one step that the readings around do not lead on
    o--o--o       the string moved, or            o--o     to; two of opposite sense enclose the readings
                  a foot slipped                           that are off

A step is doubted where it has the size of an everyday slip and all other steps are small beside it; a wall
or a kerb has its own rows, before and after, and is left out, and so is a step beside a reading named as one
at a break: there the ground itself bends. Own derivation; the bars were set so that no real ground that was
read every 4 to 10 ft is doubted.
"""

from collections.abc import Iterator, Sequence

import numpy as np
from msgspec import Struct

from fencegrade.ground.doubt import SLIPS, SlipKind, median_around
from fencegrade.ground.left_out import Hole, some_stations
from fencegrade.ground.profile import between_faces
from fencegrade.ground.readings import Levels, span_place
from fencegrade.job.survey import Mark
from fencegrade.problems import Problem, warning
from fencegrade.units import UnitSystem
from fencegrade.units.arrays import Floats
from fencegrade.units.words import Words

BAR = 5.0
"""How many times the usual step out of line a step must reach."""

FLOOR = 0.75
"""The usual step out of line is never taken as less than this (in)."""

NEAR = 1.0
"""How far from the size of a slip a step may be and still look like it, besides the usual step (in)."""

AROUND = 4
"""Steps on each side that say where a step leads."""

MOST_SHARED = 3
"""Readings that one slip shares between two steps; more are a bank."""


class SharedSlip(Struct, frozen=True, kw_only=True):
    """Readings (spots `first` to `last`) that lie `off` (in) above (+) or below where the others lead.

    `unread`: where stakes seem left out beside them, so that the ground itself may step there.
    """

    first: int
    last: int
    off: float
    unread: tuple[Hole, ...] = ()


def shared_slips(levels: Levels, system: UnitSystem, left_out: Sequence[Hole] = ()) -> tuple[SharedSlip, ...]:
    """Slips shared by neighbouring readings, none where one of them is read again or confirmed.

    `levels`: the readings in order; `system`: whose everyday slips; `left_out`: where stakes seem left out.
    """
    return tuple(
        found
        for first, past in between_faces(levels.stations)
        if past - first >= 6
        for found in _in_piece(levels, first, past, system, left_out)
    )


def _in_piece(
    levels: Levels, first: int, past: int, system: UnitSystem, left_out: Sequence[Hole]
) -> Iterator[SharedSlip]:
    x, z = levels.stations[first:past], levels.elevations[first:past]
    off = _out_of_line(x, z)
    usual = _usual_of_others(off)
    sizes = np.array([s.by for s in SLIPS[system] if s.kind is SlipKind.ADD and s.by > 0])
    far = np.abs(off) > BAR * usual
    beside = np.convolve(far, np.ones(3), "same") > 0
    ordinary = float(np.abs(off)[~beside].max(initial=0.0))
    near = _from_slip(off, sizes) <= np.maximum(NEAR + usual, ordinary)
    near |= _from_slip(off - _next_to(off), sizes) <= NEAR + usual / 2
    breaks = np.array([Mark.BREAK in marks for marks in levels.marks[first:past]])
    off = np.where(breaks[:-1] | breaks[1:], 0.0, off)
    hits = np.flatnonzero(far & near & (off != 0)).tolist()
    pair = _enclosing(off, hits)
    last = past - first - 1
    if pair:
        block, size = (pair[0] + 1, pair[1]), off[pair[0]]
    elif len(hits) == 1:
        (k,) = hits
        block = (0, k) if k < last / 2 else (k + 1, last)
        size = -off[k] if k < last / 2 else off[k]
    else:
        return
    spots = range(first + block[0], first + block[1] + 1)
    known = [i for i in spots if levels.count[i] > 1 or Mark.CONFIRMED in levels.marks[i]]
    if not known:
        start, end = float(levels.stations[spots[0]]), float(levels.stations[spots[-1]])
        unread = tuple(hole for hole in left_out if hole.end == start or hole.start == end)
        yield SharedSlip(first=spots[0], last=spots[-1], off=float(size), unread=unread)


def _from_slip(off: Floats, sizes: Floats) -> Floats:
    """(n,) how far (in) each step is from the nearest size of an everyday slip."""
    return np.asarray(np.abs(np.abs(off)[:, None] - sizes).min(axis=1))


def _next_to(off: Floats) -> Floats:
    """(n,) mean of the steps next to each (in): on ground that turns smoothly they lead on to it."""
    padded = np.concatenate([off[1:2], off, off[-2:-1]])
    return np.asarray((padded[:-2] + padded[2:]) / 2)


def _enclosing(off: Floats, hits: list[int]) -> tuple[int, int] | None:
    """The two steps that enclose readings that are off, by the `hits` among all steps; None if they do not.

    The way back need not look like a slip by itself where the ground turns: it counts when it is nearer to
    the slip than to nothing.
    """
    if len(hits) not in (1, 2):
        return None
    k = hits[0]
    others = hits[1:] or [
        j
        for j in range(max(0, k - MOST_SHARED), min(len(off), k + MOST_SHARED + 1))
        if j != k and -off[j] * np.sign(off[k]) > abs(off[k]) / 2
    ]
    if not others:
        return None
    j = max(others, key=lambda j: abs(float(off[j])))
    near = 1 <= abs(j - k) <= MOST_SHARED and off[j] * off[k] < 0
    return (min(j, k), max(j, k)) if near else None


def _out_of_line(x: Floats, z: Floats) -> Floats:
    """(n - 1,) how far (in) each step leaves the slope of the steps around it."""
    slope = np.diff(z) / np.diff(x)
    return np.asarray((slope - median_around(slope, AROUND, 0)) * np.diff(x))


def _usual_of_others(off: Floats) -> Floats:
    """(n,) the usual step out of line (in) beside each, by the median of all the others."""
    size = np.abs(off)
    order = np.argsort(size, kind="stable")
    rank, rest = np.empty_like(order), len(off) - 1
    rank[order] = np.arange(len(off))
    ranked = size[order]
    low, high = ((k + (k >= rank)) for k in ((rest - 1) // 2, rest // 2))
    return np.asarray(np.maximum(FLOOR, 1.4826 * (ranked[low] + ranked[high]) / 2))


def shared_problems(
    found: tuple[SharedSlip, ...], levels: Levels, source: str, words: Words
) -> Iterator[Problem]:
    """A warning for every slip that readings share."""
    for slip in found:
        lines = [levels.lines[i][0] for i in range(slip.first, slip.last + 1)]
        start, end = words.station(levels.stations[slip.first]), words.station(levels.stations[slip.last])
        where = (
            f"the reading at {start} lies" if len(lines) == 1 else f"the readings from {start} to {end} lie"
        )
        side = "higher" if slip.off > 0 else "lower"
        yield warning(
            span_place(source, lines[0], lines[-1]),
            f"{where} {words.fine(abs(slip.off))} {side} than the others lead on to, which looks like a slip "
            "shared by them or a string that moved",
            f"{_unread(slip, words)}read one of them again; if they are right, write confirmed in a note of "
            "theirs, or before and after where a wall or kerb stands",
        )


def _unread(slip: SharedSlip, words: Words) -> str:
    """What to read before anything else, where stakes seem left out beside the readings."""
    stakes = [x for hole in slip.unread for x in hole.missing]
    return (
        f"read the ground at {some_stations(stakes, words)} first; if they still look off, " if stakes else ""
    )

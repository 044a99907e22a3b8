"""Two neighbouring readings written in each other's row: exchanged back, nothing looks like a slip any more.

o   o       o   o            o   o   .   o   o
        o                              o           the two in the middle stand in each other's place
      o   o       o    ->          o       o
"""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from msgspec.structs import replace

from fencegrade.ground.doubt import LEAST_DEPARTURE
from fencegrade.ground.readings import Levels, line_place
from fencegrade.ground.wrong_unit import kept
from fencegrade.job.survey import Mark
from fencegrade.problems import Problem, warning
from fencegrade.units.arrays import Indices
from fencegrade.units.words import Words

AROUND = 40
"""Readings on each side of a doubt that are judged again."""

NEAR = 2
"""Readings on each side of a doubt among which two may be exchanged."""

MOST_DOUBTED = 6
"""Spots in doubt of which one exchange can be the cause; more have others."""

SMOOTHER, THAN_OTHERS = 0.5, 0.8
"""Part of the bends around a doubt that an exchange must leave at most, and of those the next best leaves."""


def exchanged_rows(levels: Levels, doubted: Sequence[int], fits: Mapping[int, float]) -> int | None:
    """The first spot of two neighbours that make the ground smooth once their figures are exchanged.

    `levels`: the readings in order; `doubted`: spots at which something looks like a slip, with the figure
    (in) that `fits` where it is one alone. Spots read more than once and confirmed ones are left as they are.
    None where no two do, others do nearly as well, or the figures that fit do better. Own derivation.
    """
    if not 0 < len(doubted) <= MOST_DOUBTED:
        return None
    low = max(0, min(doubted) - AROUND)
    near = np.zeros(len(levels.stations), dtype=bool)
    near[low : max(doubted) + AROUND + 1] = True
    part = kept(levels, near)
    firsts = {d + k - low for d in doubted for k in range(-NEAR, NEAR)} & set(range(len(part.raw) - 1))
    changed = np.unique(np.add.outer(sorted(firsts), np.arange(-1, 3)))
    found = sorted((_bends(it, changed), k) for k in firsts if (it := _exchanged(part, k)))
    if not found:
        return None
    (least, best), *others = found
    fitted = _with_figures(part, {spot - low: figure for spot, figure in fits.items()})
    smooth = least <= SMOOTHER * _bends(part, changed) and (not fits or least < _bends(fitted, changed))
    alone = all(least <= THAN_OTHERS * bends for bends, _ in others)
    return low + best if smooth and alone else None


def _bends(levels: Levels, spots: Indices) -> float:
    """How far (in) some readings together lie off the line of their neighbours."""
    x, z = levels.stations, levels.elevations
    inner = np.flatnonzero((np.diff(x[:-1]) > 0) & (np.diff(x[1:]) > 0)) + 1
    inner = np.intersect1d(inner, spots)
    part = (x[inner] - x[inner - 1]) / (x[inner + 1] - x[inner - 1])
    return float(np.abs(z[inner] - z[inner - 1] - part * (z[inner + 1] - z[inner - 1])).sum())


def _exchanged(levels: Levels, k: int) -> Levels | None:
    """The readings with the figures of two neighbours exchanged; None where these are known, or alike."""
    here, there = levels.raw[k : k + 2].tolist()
    known = any(Mark.CONFIRMED in marks for marks in levels.marks[k : k + 2])
    if known or not abs(there - here) > LEAST_DEPARTURE or levels.stations[k] == levels.stations[k + 1]:
        return None
    return _with_figures(levels, {k: there, k + 1: here})


def _with_figures(levels: Levels, figures: Mapping[int, float]) -> Levels:
    """The readings with other figures (in) at some spots."""
    elevations = levels.elevations.copy()
    for spot, figure in figures.items():
        elevations[spot] += (figure - levels.raw[spot]) * (1 if levels.upward else -1)
    return replace(levels, elevations=elevations)


def exchanged_problems(k: int, levels: Levels, source: str, words: Words) -> Iterator[Problem]:
    """A warning that names both rows, that at a spot `k` and the next."""
    here, there = (words.station(float(levels.stations[i])) for i in (k, k + 1))
    figures = [words.fine(float(levels.raw[i])) for i in (k, k + 1)]
    yield warning(
        line_place(source, levels.lines[k][0], levels.lines[k + 1][0]),
        f"the readings at {here} and {there} look exchanged: {figures[0]} fits at {there} and {figures[1]} "
        f"at {here}",
        "check both on the page or on the ground, and write each beside its own station; if they are right, "
        "write confirmed in their notes",
    )

"""The ground as it is, and people whose readings, marks and cuts err, the same way for every way of
building."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

INCHES = 1000 / 25.4
WIDTH = 5.5
"""Width of a board (in); boards stand side by side."""
CLEARANCE, LEAST, MOST = 2.0, 1.0, 3.0
"""Open height wanted under the high side of a board, and the least and the most that may be (in)."""
STOCK = {72.0: 4.35, 96.0: 6.60, 120.0: 9.45}
"""Boards sold: length (in) and price, invented, as a yard's list looks."""
MARK = 0.125
LEAST_HEIGHT = 72.0
MOST_RELIEF = 40.0
"""A level top is built only over ground whose highest and lowest point differ by no more (in)."""

READING, CUT, HELD, ASIDE = 3 / 16, 1 / 16, 1 / 16, 1 / 8
"""Standard deviations (in): of a reading, a cut, a top held to the line, a board set off its mark along the
fence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """True ground along one line: stations `x` and elevations `z` (in), straight between them."""

    name: str
    x: Floats
    z: Floats

    @property
    def length(self) -> float:
        """Length of the fence on it: whole boards, so that every way has the same slots (in)."""
        return float(np.floor(self.x[-1] / WIDTH) * WIDTH)

    def at(self, x: Floats) -> Floats:
        """Elevation at stations."""
        return np.interp(x, self.x, self.z)

    def under(self, left: Floats, right: Floats) -> tuple[Floats, Floats]:
        """Lowest and highest true ground under boards."""
        across = left[:, None] + np.linspace(0.0, 1.0, 9) * (right - left)[:, None]
        z = self.at(across)
        return z.min(axis=1), z.max(axis=1)


def grounds(folder: Path, *, level: bool) -> Iterator[Ground]:
    """The lines of a terrain folder (columns station_m, elevation_m); for a level top the gentlest long
    stretch."""
    for path in sorted(folder.glob("*.csv")):
        rows = [
            line.split(",") for line in path.read_text("utf-8").splitlines() if line and line[0].isdigit()
        ]
        x, z = np.array(rows, dtype=float).T * INCHES
        a, b = gentle(z) if level else (0, len(x))
        yield Ground(name=path.stem, x=x[a:b] - x[a], z=z[a:b])


def gentle(z: Floats) -> tuple[int, int]:
    """The longest stretch (indices from, to) whose relief is at most `MOST_RELIEF`."""
    best, start = (0, 1), 0
    for end in range(1, len(z) + 1):
        while np.ptp(z[start:end]) > MOST_RELIEF:
            start += 1
        if end - start > best[1] - best[0]:
            best = start, end
    return best


@dataclass(frozen=True, slots=True, kw_only=True)
class Crew:
    """Errors of one draw: of readings by whole inch of station, of cuts, tops and places by board (in)."""

    reading: Floats
    cut: Floats
    held: Floats
    aside: Floats

    def reads(self, ground: Ground, stations: Floats) -> Floats:
        """Elevations as read and rounded to the tape's mark."""
        z = ground.at(stations) + self.reading[np.rint(stations).astype(int)]
        return np.asarray(np.round(z / MARK) * MARK)


def a_crew(ground: Ground, draw: int, *, perfect: bool = False) -> Crew:
    """The people of one draw on one line; `perfect`: they make no error."""
    seed = [draw, *ground.name.encode()]
    rng, boards = np.random.default_rng(seed), round(ground.length / WIDTH)
    by = 0.0 if perfect else 1.0
    return Crew(
        reading=by * rng.normal(0, READING, int(ground.length) + 2),
        cut=by * rng.normal(0, CUT, boards),
        held=by * rng.normal(0, HELD, boards),
        aside=by * rng.normal(0, ASIDE, boards),
    )


def slots(ground: Ground) -> tuple[Floats, Floats]:
    """Left and right edges of every board as planned (in)."""
    left: Floats = np.arange(round(ground.length / WIDTH), dtype=np.float64) * WIDTH
    return left, np.asarray(left + WIDTH, dtype=np.float64)


def grid(ground: Ground, spacing: float) -> Floats:
    """Stations read on an even grid, both ends included (in)."""
    inner = np.arange(0.0, ground.length - 0.3 * spacing, spacing)
    return np.append(inner, ground.length)

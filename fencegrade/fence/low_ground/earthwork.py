"""Earth moved along a line: volumes from sections, cut against fill, and high ground that could be shaved.

         .--.  <- shaved to here, and the top line comes down with it
level __/____\\______________
_______/      \\____    ____
                   `--'
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fencegrade.fence.low_ground.soil_body import Section, depth_moments
from fencegrade.ground.profile import Floats, GroundLine

BANK_TO_COMPACTED = 0.9
"""Volume of common earth tamped over its volume in the ground (see `figures.soil_volume`)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CutAndFill:
    """Earth between the ground and a wanted surface, cubic feet: `cut` in the ground, `fill` compacted."""

    cut: float
    fill: float

    def balance(self, bank_to_compacted: float = BANK_TO_COMPACTED) -> float:
        """Compacted fill (cubic feet) left over from the cut; negative is what must be brought."""
        return self.cut * bank_to_compacted - self.fill


@dataclass(frozen=True, slots=True, kw_only=True)
class Shaving:
    """High ground shaved to a level, so that a level top may come down: an offer, never done unasked.

    `level`: elevation (in) the ground is shaved to; `drop`: how much (in) the top comes down; `stretches`:
    stations (in) where earth is taken; `cut`: cubic feet in the ground; `gives`: cubic feet of compacted
    fill.
    """

    level: float
    drop: float
    stretches: tuple[tuple[float, float], ...]
    cut: float
    gives: float


def end_area_volume(stations: ArrayLike, areas: ArrayLike, pyramids: bool = False) -> float:
    """Volume from cross sections by average end areas.

    `stations` (n,), `areas` (n,): in any one unit; `pyramids`: take a strip with nothing at one end as a
    pyramid, a third of length times area, not a half. Errors: ValueError for fewer than two sections or
    stations that do not ascend. Source: standard earthwork formula; exact only where areas change evenly, and
    too large for slopes that taper.
    """
    x, a = np.asarray(stations, dtype=float), np.asarray(areas, dtype=float)
    if x.shape != a.shape or len(x) < 2 or bool(np.any(np.diff(x) <= 0)):
        raise ValueError("a volume needs two sections or more, at stations that ascend")
    near, far = a[:-1], a[1:]
    share = np.where(pyramids & ((near == 0) != (far == 0)), 1 / 3, 1 / 2)
    return float(np.sum(np.diff(x) * (near + far) * share))


def prismoidal_volume(spacing: float, areas: ArrayLike) -> float:
    """Volume from evenly spaced cross sections by the prismoidal (Simpson's) formula.

    `spacing` and `areas` (n,) in any one unit. Simpson's formula needs an odd number of sections; where their
    number is even, the last strip is taken by average end areas. Errors: ValueError for fewer than three.
    Source: standard earthwork formula.
    """
    a = np.asarray(areas, dtype=float)
    if len(a) < 3:
        raise ValueError("the prismoidal formula needs three sections or more")
    odd = len(a) if len(a) % 2 else len(a) - 1
    last = (a[-2] + a[-1]) / 2 * spacing if odd < len(a) else 0.0
    inner = a[0] + 4 * a[1 : odd - 1 : 2].sum() + 2 * a[2 : odd - 2 : 2].sum() + a[odd - 1]
    return float(spacing / 3 * inner + last)


def cut_and_fill(
    line: GroundLine,
    stations: Sequence[float] | Floats,
    elevations: Sequence[float] | Floats,
    section: Section,
) -> CutAndFill:
    """Earth between the ground and a wanted surface of straight pieces.

    `stations`, `elevations` (n,): corners of the surface (in). Exact. Errors: ValueError outside the
    readings.
    """
    x, z = np.asarray(stations, dtype=float), np.asarray(elevations, dtype=float)
    fill = depth_moments(line, x[:-1], x[1:], z[:-1], z[1:])
    cut = depth_moments(_upside_down(line), x[:-1], x[1:], -z[:-1], -z[1:])
    return CutAndFill(cut=float(section.volume(cut).sum()), fill=float(section.volume(fill).sum()))


def shaving(
    line: GroundLine,
    start: float,
    end: float,
    drop: float,
    section: Section,
    bank_to_compacted: float = BANK_TO_COMPACTED,
) -> Shaving:
    """What shaving the highest ground of [start, end] by `drop` would take; all inches.

    A level top rests on the highest ground, so it may come down as far. Errors: ValueError for a stretch
    outside the readings or a drop that is not over zero.
    """
    if not drop > 0:
        raise ValueError("ground is shaved by a height over zero")
    level = float(line.highest(start, end)) - drop
    moved = cut_and_fill(line, [start, end], [level, level], section)
    return Shaving(
        level=level,
        drop=drop,
        stretches=tuple(_above(line, start, end, level)),
        cut=moved.cut,
        gives=moved.cut * bank_to_compacted,
    )


def _upside_down(line: GroundLine) -> GroundLine:
    return GroundLine(stations=line.stations, elevations=-line.elevations, coefficients=-line.coefficients)


def _above(line: GroundLine, start: float, end: float, level: float) -> list[tuple[float, float]]:
    """Stretches between readings, joined, in which some ground is above the level."""
    inside = line.stations[(line.stations > start) & (line.stations < end)]
    x = np.unique(np.concatenate([[start], inside, [end]]))
    high = line.highest(x[:-1], x[1:]) > level
    edges = np.flatnonzero(np.diff(np.concatenate([[False], high, [False]]).astype(int)))
    return [(float(x[a]), float(x[b])) for a, b in zip(edges[::2], edges[1::2], strict=True)]

"""The ends of a fill: sloped off along the fence until they run out on the ground.

    surface ______
            ::::::`-._   1 : end_slope
            ::::::::::`-._
    ________::::::::::::::`-._____ ground
           edge            reach

A taper runs under the neighbouring boards, which are cut to keep their clearance over it. It may not enter a
stretch that must stay free of soil, nor pass a vertical face unless the ground beyond the face holds it.
Past the fence's end it goes on over the ground as surveyed there, beyond the last reading over level ground.
"""

from enum import IntEnum

import numpy as np
from msgspec import Struct

from fencegrade.fence.low_ground.soil_body import Moments, depth_moments
from fencegrade.ground.cubics import Cubics, crossing, cubic_at, monotone_parts, over_line
from fencegrade.ground.profile import GroundLine
from fencegrade.units.arrays import Floats, Indices, Truths, as_one
from fencegrade.units.tolerances import ROUNDING, SAME_LENGTH

UPRIGHT = 1e-6
"""Horizontal to vertical of an end written as upright."""


class Stop(IntEnum):
    """What a taper comes up against; where two stand at one station the first named rules."""

    NO_SOIL = 0
    FACE = 1
    END = 2


class Stops(Struct, frozen=True, kw_only=True, eq=False):
    """Stations (k,) in ascending order at which tapers stop, and what stands there."""

    stations: Floats
    kinds: Indices

    def next(self, edge: Floats) -> tuple[Floats, Indices]:
        """The first stop at or after each edge, and its kind."""
        k = np.minimum(np.searchsorted(self.stations, edge - ROUNDING), len(self.stations) - 1)
        return self.stations[k], self.kinds[k]


class Tapers(Struct, frozen=True, kw_only=True, eq=False):
    """Tapers (m,): whether each is possible, the station it reaches (in), and the integrals of its depth."""

    possible: Truths
    reach: Floats
    moments: Moments


def stops(no_soil: Floats, faces: Floats, end: float) -> Stops:
    """Stops from the near ends of soil-free stretches, the vertical faces, and the survey's end (in)."""
    stations = np.concatenate([no_soil, faces, [end]])
    kinds = np.repeat([Stop.NO_SOIL, Stop.FACE, Stop.END], [len(no_soil), len(faces), 1]).astype(np.int64)
    order = np.lexsort([kinds, stations])
    return Stops(stations=stations[order], kinds=kinds[order])


def tapers(
    line: GroundLine, edge: Floats, surface: Floats, halts: Stops, end_slope: float, most_depth: float
) -> Tapers:
    """Tapers that run forward from `edge` (m,), where the fill's surface is at `surface` (m,), all in inches.

    `end_slope`: horizontal to vertical; `most_depth`: greatest depth (in) anywhere, and by it the greatest
    length: a taper longer than `most_depth` x `end_slope` chases ground that falls away and is refused.
    Errors: ValueError where an edge lies outside the readings. Source: own derivation.
    """
    run = max(end_slope, UPRIGHT)
    stop, kind = halts.next(edge)
    far = edge + most_depth * run + SAME_LENGTH
    kind = np.where(far < stop, np.int64(Stop.NO_SOIL), kind)
    stop = np.maximum(np.minimum(stop, far), edge)
    reach, left, deep = _run_out(line, edge, surface, stop, run, most_depth)
    held = (kind == Stop.END) | ((kind == Stop.FACE) & _held_by_face(line, edge, surface, stop, run))
    possible = ~deep & (np.isnan(left) | held)
    reach = np.maximum(np.where(np.isnan(left), reach, stop), edge)
    beyond = np.where((kind == Stop.END) & possible, np.nan_to_num(left), 0.0)
    inside = depth_moments(line, edge, reach, surface, surface - (reach - edge) / run, clip=False)
    return Tapers(
        possible=possible,
        reach=reach,
        moments=Moments(first=inside.first + beyond**2 * run / 2, second=inside.second + beyond**3 * run / 3),
    )


def backward_tapers(
    line: GroundLine,
    edge: Floats,
    surface: Floats,
    no_soil: Floats,
    end_slope: float,
    most_depth: float,
) -> Tapers:
    """Tapers that run back from `edge` (m,) towards the survey's start; `no_soil`: far ends of stretches
    (in)."""
    halts = stops(-no_soil, -line.faces, -line.start)
    found = tapers(mirrored(line), -edge, surface, halts, end_slope, most_depth)
    return Tapers(possible=found.possible, reach=-found.reach, moments=found.moments)


def mirrored(line: GroundLine) -> GroundLine:
    """The same ground seen from the other side: stations with their sign changed."""
    c, h = line.coefficients, np.diff(line.stations)
    turned = np.column_stack(
        [
            -c[:, 0],
            3 * c[:, 0] * h + c[:, 1],
            -((3 * c[:, 0] * h + 2 * c[:, 1]) * h + c[:, 2]),
            line.elevations[1:],
        ]
    )
    return GroundLine(
        stations=-line.stations[::-1],
        elevations=line.elevations[::-1].copy(),
        coefficients=turned[::-1].copy(),
    )


def _run_out(
    line: GroundLine, edge: Floats, surface: Floats, stop: Floats, run: float, most_depth: float
) -> tuple[Floats, Floats, Truths]:
    """Where each taper meets the ground, the depth left where it meets its stop first (else nan), and whether
    it was too deep on the way."""
    reach, left = edge.copy(), np.full(len(edge), np.nan)
    deep = np.zeros(len(edge), dtype=bool)
    after = np.searchsorted(line.stations, edge, side="right") - 1
    before = np.searchsorted(line.stations, edge, side="left") - 1
    piece = np.clip(np.where(stop <= edge, before, after), 0, len(line.stations) - 2)
    live = np.arange(len(edge))
    at = edge.copy()
    who, met_in = [], []
    while len(live):
        base, far = line.stations[piece], np.minimum(stop[live], line.stations[piece + 1])
        height = surface[live] + edge[live] / run
        c = over_line(line.coefficients[piece], base, height, np.full(len(live), -1 / run))
        points = monotone_parts(c, at - base, far - base)
        values = np.stack([cubic_at(c, t) for t in points])
        down = values <= ROUNDING
        met = down.any(axis=0)
        k = np.where(met, down.argmax(axis=0), 3)
        too_deep = np.where(np.arange(4)[:, None] <= k, values, 0.0).max(axis=0) > most_depth + SAME_LENGTH
        who.append(live[met])
        met_in.append(_first_meeting(c[met], base[met], points[:, met], k[met]))
        stopped = ~met & (far >= stop[live])
        left[live[stopped]] = values[3][stopped]
        deep[live] |= too_deep
        on = ~(met | stopped | too_deep)
        live, at, piece = live[on], far[on], piece[on] + 1
    if met_in:
        meeting = as_one(met_in)
        reach[np.concatenate(who)] = meeting.base + crossing(meeting.cubic, meeting.low, meeting.high)
    return reach, left, deep


def _first_meeting(c: Floats, base: Floats, points: Floats, k: Indices) -> Cubics:
    """Where depths (n, 4) meet the ground first: at the first of the points (4, n), or from the points k - 1
    to k."""
    columns = np.arange(len(k))
    return Cubics(cubic=c, base=base, low=points[np.maximum(k - 1, 0), columns], high=points[k, columns])


def _held_by_face(line: GroundLine, edge: Floats, surface: Floats, stop: Floats, run: float) -> Truths:
    """Whether the ground just beyond each stop is as high as the taper there."""
    inside = np.clip(stop, line.start, line.end)
    return np.asarray(line.elevation(inside) >= surface - (stop - edge) / run - ROUNDING)

"""Ground points in a plane system, projected square on the run.

     . point          offset: square off the line
     |
o----+---------------o
from_xy  station      to_xy
"""

import math
from collections.abc import Iterator, Sequence

import numpy as np

from fencegrade.ground.readings import Reading, line_place
from fencegrade.ground.reduction import Level, Reduced, Reduction
from fencegrade.job.records import Run
from fencegrade.job.survey import PointReading, PointSurvey, marks_of
from fencegrade.problems import Problem, has_mistake, mistake, note
from fencegrade.units import past_limit
from fencegrade.units.arrays import Floats, Indices
from fencegrade.units.words import Words, plural

MOST_OFFSET = 24.0
"""A point further off the run than this (in) is refused unless the run says otherwise (own choice)."""

ONE_SPOT = 0.25
"""Points this near to each other along the run (in) are one spot read more than once (own choice)."""

DECIMALS = 6
"""Projected stations (in) are rounded to so many decimals: what is left is arithmetic."""

NAMED = 5
"""No more far points than this are named one by one."""


def reduce(run: Run, survey: PointSurvey, words: Words, place: str, level: Level) -> Reduced:
    """Stations and elevations of points along the run.

    `run` with `from_xy` (station 0) and `to_xy` further along, else the first and the last point; `survey`
    the points (in); else as `strings.reduce`. Result: the reduction with the offset of every point (None with
    mistakes), and all problems: ends missing or alike, points too far off the line, points along two lines.
    """
    ends, problems = _ends(run, survey, place)
    if ends is None:
        return None, tuple(problems)
    xy = np.array([(r.x, r.y) for r in survey.rows])
    stations, offsets = project(xy, *ends)
    limit = MOST_OFFSET if run.most_offset is None else run.most_offset
    far = np.flatnonzero(np.abs(offsets) > limit)
    problems += _far(survey, xy, stations, offsets, far, limit, words)
    if has_mistake(problems):
        return None, tuple(problems)
    readings = (
        Reading(
            line=row.line,
            station=float(s),
            elevation=row.z,
            raw=row.z,
            upward=True,
            marks=marks_of(row.note),
            offset=float(offset),
        )
        for row, s, offset in zip(survey.rows, spots(stations), offsets, strict=True)
    )
    return Reduction(readings=tuple(readings)), tuple(problems)


def spots(stations: Floats) -> Floats:
    """One station for all points of a spot: that of its first point, of its last one at the far end.

    `stations` (n,) inches, in any order. So the survey reaches exactly as far as its points do.
    """
    at = np.round(stations, DECIMALS)
    order = np.argsort(at, kind="stable")
    found, start = at.copy(), -np.inf
    for k in order:
        start = start if at[k] - start <= ONE_SPOT else at[k]
        found[k] = start
    found[found == start] = at[order[-1]]
    return found


def project(xy: Floats, start: Sequence[float], end: Sequence[float]) -> tuple[Floats, Floats]:
    """Stations along and offsets off (left positive) the line from `start` to `end`, all in one unit.

    `xy` (n, 2). Source: scalar and cross product with the unit vector of the line.
    """
    way = np.asarray(end, dtype=float) - np.asarray(start, dtype=float)
    way = way / np.hypot(*way)
    relative = xy - np.asarray(start, dtype=float)
    return relative @ way, way[0] * relative[:, 1] - way[1] * relative[:, 0]


def _ends(
    run: Run, survey: PointSurvey, place: str
) -> tuple[tuple[Sequence[float], Sequence[float]] | None, list[Problem]]:
    if (run.from_xy is None) != (run.to_xy is None):
        missing = "to_xy" if run.to_xy is None else "from_xy"
        return None, [
            mistake(f"{place}, {missing}", f"{missing} is missing", "a point survey needs both or neither")
        ]
    first, last = survey.rows[0], survey.rows[-1]
    told = run.from_xy is not None and run.to_xy is not None
    start = run.from_xy if run.from_xy is not None else (first.x, first.y)
    end = run.to_xy if run.to_xy is not None else (last.x, last.y)
    if math.dist(start, end) < 1.0:
        found = (
            "the run's two points are one and the same"
            if told
            else "the first and the last point are the same"
        )
        return None, [mistake(f"{place}, to_xy", found, "give from_xy and to_xy, two points along the fence")]
    if told:
        return (start, end), []
    found = "the run is taken from the first point of the survey to its last"
    return (start, end), [note(survey.source, found, "give from_xy and to_xy if it runs elsewhere")]


def _far(
    survey: PointSurvey,
    xy: Floats,
    stations: Floats,
    offsets: Floats,
    far: Indices,
    limit: float,
    words: Words,
) -> Iterator[Problem]:
    if len(far) >= 3 and _one_line(xy[far], limit):
        lines = [survey.rows[i].line for i in far]
        yield mistake(
            line_place(survey.source, lines[0], lines[-1]),
            f"{len(far)} of {len(xy)} points, from line {lines[0]} to line {lines[-1]}, lie along another "
            "line",
            "make each straight line a run with its own survey, from_xy and to_xy",
        )
        return
    for i in far[:NAMED]:
        row: PointReading = survey.rows[i]
        side = "left" if offsets[i] > 0 else "right"
        off = past_limit(abs(float(offsets[i])), limit, words.fine)
        yield mistake(
            line_place(survey.source, row.line),
            f"the point at {words.station(float(stations[i]))} lies {off} "
            f"{side} of the run, more than {words.given(limit)}",
            "check its x and y and the run's from_xy and to_xy, or set most_offset",
        )
    if len(far) > NAMED:
        yield mistake(
            survey.source,
            f"{plural(len(far) - NAMED, 'more point')} as far off",
            "check from_xy and to_xy first",
        )


def _one_line(xy: Floats, limit: float) -> bool:
    """Whether points lie along one straight line of their own."""
    centred = xy - xy.mean(axis=0)
    _, spread, _ = np.linalg.svd(centred, full_matrices=False)
    across = spread[-1] / math.sqrt(len(xy))
    return bool(across < limit / 2 and spread[0] > 4 * spread[-1])

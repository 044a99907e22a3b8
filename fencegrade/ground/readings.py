"""Ground readings as heights at stations, put in order: repeats averaged, faces kept as pairs."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.job.survey import Mark, Side
from fencegrade.problems import Problem, mistake, note, warning
from fencegrade.units import UnitSystem
from fencegrade.units.arrays import Floats, Indices
from fencegrade.units.tolerances import ROUNDING
from fencegrade.units.words import Words

REPEAT_LIMIT = {UnitSystem.IMPERIAL: 0.5, UnitSystem.METRIC: 12 / 25.4}
"""Two readings of one spot further apart than this (in) are a mistake (common practice, no source)."""


class Reading(Struct, frozen=True, kw_only=True):
    """One height of the ground.

    `line` it was written on; `station`, `elevation` (in); `side` of a face; `setup` it was read from; `raw`
    the figure as written (in): a drop or a sight, or an elevation where `upward`; `marks` its note holds;
    `offset` of a point off the run's line (in, left positive), None where no point was read.
    """

    line: int
    station: float
    elevation: float
    raw: float
    upward: bool = False
    side: Side | None = None
    setup: str | None = None
    marks: frozenset[Mark] = frozenset()
    offset: float | None = None


class Levels(Struct, frozen=True, kw_only=True, eq=False):
    """Readings in order of station, one a spot; a face is two spots at one station.

    `stations`, `elevations` (n,) inches; `lines`: the file's lines behind each; `count` (n,) readings
    averaged; `raw` (n,) the figure as written of a spot read once (in), NaN else; `upward` whether it grows
    with the ground; `marks` of any reading of a spot; `repeat_squares` (in^2) and `repeat_freedom`: squares
    about the mean of repeats under one set-up, and their degrees of freedom.
    """

    stations: Floats
    elevations: Floats
    lines: tuple[tuple[int, ...], ...]
    count: Indices
    raw: Floats
    upward: bool
    marks: tuple[frozenset[Mark], ...]
    repeat_squares: float
    repeat_freedom: int


LEAST_IN_ORDER = 4
"""Rows in order along the run from which one at the end of the file counts as read later (own choice)."""

LATE_SHARE = 3
"""How many rows in order each row read later needs before it (own choice)."""

STEPS_BACK = 3
"""How many times as many steps must go down the stations as up them, in a page read from the far end (own
choice)."""

_SAME_PLACES = 6
"""Decimals of an inch by which stations are told apart."""

MOST_ALIKE = 8
"""Problems of one kind that are told one by one; of more the worst, and how many there are."""

FACE_ROWS = "; if a wall or kerb stands there, its rows need before and after in a side column"
FACE_ELSEWHERE = "; a wall or kerb needs a survey of elevations, with before and after in its side column"


def line_place(source: str, *lines: int) -> str:
    """The place of one line of a file, or of several."""
    if len(lines) == 1:
        return f"{source} line {lines[0]}"
    return f"{source} lines {', '.join(map(str, lines[:-1]))} and {lines[-1]}"


def span_place(source: str, one: int, other: int) -> str:
    """The place of all lines of a file from one to another, in either order."""
    first, last = sorted((one, other))
    if last - first < 2:
        return line_place(source, *sorted({first, last}))
    return f"{source} lines {first} to {last}"


def along(rows: Sequence[tuple[int, float]], source: str, words: Words) -> Iterator[Problem]:
    """Mistakes in the order of `rows` (line, station): a station must rise, or repeat one read before.

    A page read from the far end is taken the other way round, with a warning.
    """
    back = _runs_back(rows)
    if back:
        far, near = (words.station(pick(s for _, s in rows)) for pick in (max, min))
        yield warning(
            line_place(source, rows[0][0]),
            f"the readings run backwards, from {far} to {near}",
            "they were taken in order of station; check that stations count from the run's start",
        )
    if tail := _appended(rows, -1 if back else 1):
        listed = " and ".join(words.station(s) for _, s in tail[:3]) + (" and more" if len(tail) > 3 else "")
        alone = len(tail) == 1
        yield note(
            line_place(source, *(line for line, _ in tail[:3])),
            f"{listed} stand{'s' if alone else ''} at the end of the file, taken in place along the run",
            f"move the row{'' if alone else 's'} there, if you like",
        )
        return
    seen: set[float] = set()
    ahead = rows[::-1] if back else rows
    last_line, last = ahead[0] if ahead else (0, 0.0)
    for line, station in ahead:
        if station in seen:
            continue
        if station < last:
            yield mistake(
                line_place(source, line),
                f"station {words.station(station)} comes after {words.station(last)} (line {last_line})",
                "check both stations, and write the rows in order along the run",
            )
        seen.add(station)
        last_line, last = line, station


def _appended(rows: Sequence[tuple[int, float]], way: int) -> Sequence[tuple[int, float]]:
    """Rows at the end that were read later, between others: few, in any order, within the rest, which go up
    the stations, or down with `way` -1. A station that is read again may stand anywhere among them.
    """
    rows = _first_of_each(rows)
    stations = [way * s for _, s in rows]
    at = next((k for k, (a, b) in enumerate(pairwise(stations), start=1) if b < a), len(rows))
    head, tail = stations[:at], stations[at:]
    inside = bool(tail) and head[0] < min(tail) and max(tail) < head[-1]
    return rows[at:] if inside and at >= max(LEAST_IN_ORDER, LATE_SHARE * len(tail)) else ()


def _first_of_each(rows: Sequence[tuple[int, float]]) -> list[tuple[int, float]]:
    """The rows (line, station) without those at a station that came before."""
    first: dict[float, tuple[int, float]] = {}
    for line, station in rows:
        first.setdefault(station, (line, station))
    return list(first.values())


def exchanged(stations: Sequence[float], drops: Sequence[float]) -> bool:
    """Whether the drops rise all along from nothing, as stations do, while the stations go to and fro."""
    rise = all(b > a for a, b in pairwise(drops))
    return len(drops) > 3 and drops[0] == 0 and rise and any(b < a for a, b in pairwise(stations))


def columns_exchanged(place: str) -> Problem:
    """The mistake of a survey whose stations and drops stand in each other's column."""
    return mistake(
        place,
        "the drops rise all along from 0 and the stations do not",
        "station and drop look exchanged: put the distances along the string under station",
    )


def _runs_back(rows: Sequence[tuple[int, float]]) -> bool:
    """Whether nearly all the steps from row to row go down the stations."""
    steps = [b - a for (_, a), (_, b) in pairwise(rows)]
    return len(rows) > 2 and sum(s < 0 for s in steps) > STEPS_BACK * sum(s > 0 for s in steps)


def merge(
    readings: Iterable[Reading], source: str, words: Words, *, sided: bool = True, chained: bool = True
) -> tuple[Levels | None, tuple[Problem, ...]]:
    """One elevation a spot, in order of station.

    `readings` in any order; `sided` whether the survey has a side column; `chained` whether its set-ups are
    tied by the stakes they share, so that rows of one set-up alone repeat each other; rows at one station
    without a side are repeats and are averaged; rows with sides make a face. Result: the levels, or None with
    the mistakes found: a side given once only, repeats that disagree, too few stations.
    """
    at: dict[float, list[Reading]] = {}
    known: dict[float, float] = {}
    for reading in readings:
        station = known.setdefault(round(reading.station, _SAME_PLACES), reading.station)
        here = reading if reading.station == station else replace(reading, station=station)
        at.setdefault(station, []).append(here)
    stations = sorted(at)
    spots = [spot for station in stations for spot in _spots(at[station])]
    faces = [(0.0, p) for station in stations for p in _face_mistakes(at[station], source, words)]
    problems = [*worst_of(faces, source, "more stations have sides that do not go together", words)]
    repeats = [p for spot in spots for p in _repeat_mistakes(spot, stations, source, words, sided, chained)]
    problems += worst_of(repeats, source, "more stations have readings that disagree", words)
    problems += _too_few(stations, source, words)
    if not problems and (len(at[min(at)]) > 1 or len(at[max(at)]) > 1):
        problems += [p for end in (min(at), max(at)) for p in _end_face(at[end], source, words)]
    return (None if problems else _levels(spots)), tuple(problems)


def _spots(rows: list[Reading]) -> list[list[Reading]]:
    before = [r for r in rows if r.side is Side.BEFORE]
    after = [r for r in rows if r.side is Side.AFTER]
    plain = [r for r in rows if r.side is None]
    return [spot for spot in (before, plain, after) if spot]


def _face_mistakes(rows: list[Reading], source: str, words: Words) -> Iterator[Problem]:
    sides = {r.side for r in rows}
    if sides == {None} or sides == {Side.BEFORE, Side.AFTER}:
        return
    given = next(r for r in rows if r.side is not None)
    if None in sides:
        bare = next(r for r in rows if r.side is None)
        yield mistake(
            line_place(source, bare.line),
            f"at {words.station(bare.station)} line {given.line} has a side and this row has none",
            "write before or after in its side column, or take the side off both if there is no face",
        )
    else:
        other = "after" if given.side is Side.BEFORE else "before"
        yield mistake(
            line_place(source, given.line),
            f"side {given.side} is given once only at {words.station(given.station)}",
            f"a vertical face needs two rows: add the reading {other} it, or take the side off",
        )


def _end_face(rows: list[Reading], source: str, words: Words) -> Iterator[Problem]:
    if any(r.side for r in rows):
        yield mistake(
            line_place(source, *(r.line for r in rows)),
            f"the face at {words.station(rows[0].station)} is the survey's end, with no reading beyond it",
            "add a reading on the other side of the face, or keep only the side the fence is on",
        )


def worst_of(
    found: Sequence[tuple[float, Problem]], place: str, more: str, words: Words
) -> Iterator[Problem]:
    """Problems of one kind, each with how far something is off (in), 0 for no such thing: of many the worst
    few, and how many `more` there are."""
    worst = sorted(range(len(found)), key=lambda k: -found[k][0])
    yield from (found[k][1] for k in sorted(worst[:MOST_ALIKE]))
    if rest := worst[MOST_ALIKE:]:
        least, most = words.fine(found[rest[-1]][0]), words.fine(found[rest[0]][0])
        by = f", by {most}" if least == most else f", by {least} to {most}"
        told = f"{len(rest):,} {more}{by if found[rest[0]][0] else ''}"
        remedy = "look for what they share, such as two surveys in one file, a set-up or a unit"
        yield replace(found[0][1], place=place, found=told, remedy=remedy)


def _repeat_mistakes(
    spot: list[Reading], stations: list[float], source: str, words: Words, sided: bool, chained: bool
) -> Iterator[tuple[float, Problem]]:
    """How far readings of a spot are apart (in), where that is too far, and what is said of it."""
    for setup in dict.fromkeys(r.setup if chained else None for r in spot):
        rows = sorted((r for r in spot if not chained or r.setup == setup), key=lambda r: r.elevation)
        apart = rows[-1].elevation - rows[0].elevation
        if apart > REPEAT_LIMIT[words.system] + ROUNDING:
            lines = sorted((rows[0].line, rows[-1].line))
            told = mistake(
                line_place(source, *lines),
                f"two readings at {words.station(rows[0].station)} disagree by {words.fine(apart)}",
                "read it again and correct one"
                + _skipped(rows[0].station, stations, words)
                + (FACE_ROWS if sided else FACE_ELSEWHERE),
            )
            yield apart, told


def _skipped(station: float, stations: list[float], words: Words) -> str:
    """A word on the neighbouring station that an even spacing would have, if it is missing."""
    gaps = np.diff(stations)
    if len(gaps) < 3:
        return ""
    usual, i = float(np.median(gaps)), stations.index(station)
    for near, step in ((i, 1), (i - 1, -1)):
        if 0 <= near < len(gaps) and abs(gaps[near] - 2 * usual) < 0.1 * usual:
            return f", or its station: {words.station(station + step * usual)} is missing"
    return ""


def _too_few(stations: list[float], source: str, words: Words) -> list[Problem]:
    if not stations:
        return [mistake(source, "the survey holds no reading on the run", "write at least two rows")]
    if len(stations) == 1:
        found = f"every reading is at one station, {words.station(stations[0])}"
        return [
            mistake(source, found, "read the ground at two stations or more, both ends of the fence included")
        ]
    return []


def _levels(spots: list[list[Reading]]) -> Levels:
    means = [
        spot[0].elevation if len(spot) == 1 else float(np.mean([r.elevation for r in spot])) for spot in spots
    ]
    squares, freedom = 0.0, 0
    for spot in (s for s in spots if len(s) > 1):
        for setup in {r.setup for r in spot}:
            heights = np.array([r.elevation for r in spot if r.setup == setup])
            squares += float(np.sum((heights - heights.mean()) ** 2))
            freedom += len(heights) - 1
    return Levels(
        stations=np.array([spot[0].station for spot in spots]),
        elevations=np.array(means),
        lines=tuple(tuple(r.line for r in spot) for spot in spots),
        count=np.array([len(spot) for spot in spots], dtype=np.intp),
        raw=np.array([spot[0].raw if len(spot) == 1 else np.nan for spot in spots]),
        upward=spots[0][0].upward,
        marks=tuple(frozenset[Mark]().union(*(r.marks for r in spot)) for spot in spots),
        repeat_squares=squares,
        repeat_freedom=freedom,
    )

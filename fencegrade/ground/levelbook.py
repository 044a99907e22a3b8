"""A level book reduced by the height of instrument.

    backsight on a known height, intermediate sights, foresight on a turning point, move, backsight on it:
        height of instrument = elevation + backsight
        elevation            = height of instrument - sight

Sources: height of instrument method and arithmetic check, any surveying text, e.g. Ghilani & Wolf, Elementary
Surveying; the US Navy's NAVEDTRA 14071, chapter 7, for spreading a misclosure.
"""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.ground.readings import Reading, along, line_place
from fencegrade.ground.reduction import (
    BookRow,
    Closure,
    Level,
    LevelPage,
    Reduced,
    Reduction,
    closing_on,
    past_allowed,
)
from fencegrade.job.records import Run
from fencegrade.job.survey import LevelBook, LevelRow, marks_of
from fencegrade.problems import Problem, Severity, has_mistake, mistake, note, warning
from fencegrade.units.words import Words

SETUP_LIMIT = 5 / 25.4
"""Allowed misclosure of one set-up (in): 5 mm, of N set-ups 5 sqrt(N) mm, a construction rule of thumb
(university teaching notes, "Levelling (continued)", Burnaby Building example)."""

USUAL_CLOSURE = (SETUP_LIMIT, "5 mm times the root of {setups} set-ups, a construction rule of thumb")

THIRD_ORDER = 12.0 / 25.4
"""Third order levelling: 12 mm times the root of the distance in km (US definitions of the orders until
1998)."""

KILOMETRE = 1e6 / 25.4


class _Walk(Struct, frozen=True, kw_only=True):
    """Rows as they come: elevations so far, every height of instrument, and what was found wrong."""

    rows: tuple[BookRow, ...]
    instrument: tuple[float, ...]
    problems: tuple[Problem, ...]


def reduce(run: Run, survey: LevelBook, words: Words, place: str, level: Level) -> Reduced:
    """Elevations of every station in a level book.

    `run` may set the misclosure to accept; `survey` the rows (in); else as `strings.reduce`. Result: the
    reduction with its page (None with mistakes), and all problems. Rows without a station are turning points
    off the line.
    """
    page, problems = level_page(survey, words, run.most_misclosure)
    if page is None:
        return None, problems
    problems += tuple(_in_order(page, survey.source, words))
    if has_mistake(problems):
        return None, problems
    written = {row.line: row for row in survey.rows}
    readings = tuple(
        Reading(
            line=r.line,
            station=r.station,
            elevation=r.adjusted,
            raw=_sight(written[r.line]) if r.setup else r.adjusted,
            setup=f"{r.setup}",
            side=written[r.line].side,
            marks=marks_of(written[r.line].note),
        )
        for r in page.rows
        if r.station is not None
    )
    return Reduction(readings=readings, closures=page.closures, page=page), problems


def level_page(
    book: LevelBook, words: Words, most_misclosure: float | None = None
) -> tuple[LevelPage | None, tuple[Problem, ...]]:
    """The page reduced, checked and adjusted.

    `book` the rows (in); `most_misclosure` (in) to accept, else 5 mm times the root of the set-ups. What is
    missing within it is spread by distance where every turning point has a station, else in equal shares a
    set-up, cumulative. Result: the page (None with mistakes) and all problems.
    """
    walk = _walk(book, words)
    if has_mistake(walk.problems):
        return None, walk.problems
    rows, closures = _close(walk.rows, book.rows, most_misclosure)
    backsights, foresights, rise = _sums(walk.rows, book.rows)
    problems = [*walk.problems, *_closing_problems(closures, len(walk.instrument), book, words)]
    page = LevelPage(
        rows=rows,
        instrument=walk.instrument,
        backsights=backsights,
        foresights=foresights,
        rise=rise,
        closures=closures,
    )
    bad = has_mistake(problems)
    return (None if bad else page), tuple(problems)


def _in_order(page: LevelPage, source: str, words: Words) -> Iterator[Problem]:
    """What is out of order along the run in the rows of each set-up; those of one may go the way back, and a
    station of an earlier one may be read again, as the first mark is to close.
    """
    before: set[float] = set()
    for setup in sorted({r.setup for r in page.rows}):
        every = [(r.line, r.station) for r in page.rows if r.setup == setup and r.station is not None]
        rows = [(line, station) for line, station in every if station not in before]
        before |= {station for _, station in every}
        way_back = all(b <= a for (_, a), (_, b) in pairwise(rows))
        if rows and (setup == 1 or not way_back):
            yield from along(rows, source, words)


def _sight(row: LevelRow) -> float:
    """The sight that gave the row its elevation."""
    return next(float(s) for s in (row.foresight, row.intermediate, row.backsight) if s is not None)


def _walk(book: LevelBook, words: Words) -> _Walk:
    """Carry the height of instrument down the page."""
    rows: list[BookRow] = []
    instrument: list[float] = []
    problems: list[Problem] = []
    open_setup = False
    for row in book.rows:
        fault = _fault(row, rows, open_setup, book.source)
        if fault is not None:
            problems.append(fault)
            if not instrument:
                break
            continue
        elevation = _elevation(row, rows, instrument, open_setup)
        setup = len(instrument)
        if row.foresight is not None:
            open_setup = False
        if row.backsight is not None:
            instrument.append(elevation + row.backsight)
            open_setup = True
        rows.append(
            BookRow(
                line=row.line,
                station=row.station,
                backsight=row.backsight,
                intermediate=row.intermediate,
                foresight=row.foresight,
                setup=setup,
                elevation=elevation,
                adjusted=elevation,
            )
        )
    if not problems and book.rows and book.rows[0].known is None:
        found = f"the first row has no known elevation and is taken as {words.fine(0.0)}"
        problems.append(note(line_place(book.source, book.rows[0].line), found))
    if not problems or all(p.severity is not Severity.MISTAKE for p in problems):
        problems += _page_end(rows, open_setup, book)
    return _Walk(rows=tuple(rows), instrument=tuple(instrument), problems=tuple(problems))


def _elevation(
    row: LevelRow, rows: Sequence[BookRow], instrument: Sequence[float], open_setup: bool
) -> float:
    if row.foresight is not None:
        return instrument[-1] - row.foresight
    if row.intermediate is not None:
        return instrument[-1] - row.intermediate
    if row.known is not None and not open_setup:
        return row.known
    return rows[-1].elevation if rows else 0.0


def _fault(row: LevelRow, rows: Sequence[BookRow], open_setup: bool, source: str) -> Problem | None:
    """What makes a row impossible at this place of the page, if anything."""
    place = line_place(source, row.line)
    sights = (row.backsight, row.intermediate, row.foresight)
    if all(s is None for s in sights):
        return mistake(place, "the row has no sight at all", "fill in a sight, or take the row out")
    if row.intermediate is not None and (row.backsight is not None or row.foresight is not None):
        other = "backsight" if row.backsight is not None else "foresight"
        return mistake(
            place,
            f"the row has an intermediate sight and a {other}, so a sight stands one row or one column off",
            "a turning point has a foresight and a backsight and no intermediate sight; compare with the "
            "page",
        )
    if not rows:
        if row.backsight is None or row.foresight is not None:
            return mistake(
                place, "the page does not begin with a backsight alone", "begin with one on a known height"
            )
        return None
    if row.backsight is not None and row.foresight is None:
        return _bare_backsight(row, rows, open_setup, place)
    if row.backsight is None and not open_setup:
        return mistake(
            place,
            f"the set-up was closed by the foresight of line {rows[-1].line}, and no backsight opened "
            "another",
            "write the backsight of the new set-up in the row of the turning point",
        )
    if row.foresight is not None and not open_setup:
        return mistake(
            place, "a foresight before any backsight of its set-up", "compare the rows with the page"
        )
    return None


def _bare_backsight(row: LevelRow, rows: Sequence[BookRow], open_setup: bool, place: str) -> Problem | None:
    """A backsight without a foresight is right only on the point just closed on, or on a known height."""
    last = rows[-1]
    if not open_setup and (row.station == last.station or row.known is not None):
        return None
    if open_setup:
        return mistake(
            place,
            "a second backsight with no foresight before it: the last set-up was never closed",
            "add the foresight on this turning point from the set-up before",
        )
    return mistake(
        place,
        f"this backsight is on another point than the foresight of line {last.line} before it",
        "write foresight and backsight of a turning point in one row; the sights may stand one row off",
    )


def _page_end(rows: Sequence[BookRow], open_setup: bool, book: LevelBook) -> Iterator[Problem]:
    if open_setup and rows and book.rows[-1].intermediate is None:
        yield mistake(
            line_place(book.source, rows[-1].line),
            "the page ends with a backsight and nothing read from it",
            "add the last sights, or take the backsight off",
        )


def _sums(rows: Sequence[BookRow], written: Sequence[LevelRow]) -> tuple[float, float, float]:
    """Backsights and foresights of the set-ups that were closed, and the rise they should explain.

    A known height on which a backsight starts afresh is no rise of the page.
    """
    foresights = [w.foresight for w in written if w.foresight is not None]
    backsights = [w.backsight for w in written if w.backsight is not None][: len(foresights)]
    last = max((i for i, w in enumerate(written) if w.foresight is not None), default=0)
    fresh = [
        rows[i].elevation - rows[i - 1].elevation
        for i in range(1, last)
        if written[i].backsight is not None and written[i].foresight is None
    ]
    rise = rows[last].elevation - rows[0].elevation - math.fsum(fresh)
    return math.fsum(backsights), math.fsum(foresights), rise


def _close(
    rows: Sequence[BookRow], written: Sequence[LevelRow], most: float | None
) -> tuple[tuple[BookRow, ...], tuple[Closure, ...]]:
    """Hold the page against every known height on it and spread what is missing between them."""
    at = _way(rows, written)
    anchors: list[tuple[float, float]] = []
    last_setup, closures = 0, []
    for way, row, w in zip(at, rows, written, strict=True):
        if w.known is None:
            continue
        if anchors and row.setup > last_setup:
            computed = row.elevation + anchors[-1][1]
            closures.append(closing_on(row, w.known, computed, row.setup - last_setup, most, USUAL_CLOSURE))
        anchors.append((way, w.known - row.elevation))
        last_setup = row.setup
    if not anchors:
        return tuple(rows), ()
    ways, missing = [a for a, _ in anchors], [m for _, m in anchors]
    adjusted = (r.elevation + float(np.interp(way, ways, missing)) for way, r in zip(at, rows, strict=True))
    return tuple(replace(r, adjusted=z) for r, z in zip(rows, adjusted, strict=True)), tuple(closures)


def _way(rows: Sequence[BookRow], written: Sequence[LevelRow]) -> list[float]:
    """How far along the chain each row is: by distance where every turning point has a station, else by
    set-up."""
    turning = [w.foresight is not None or w.backsight is not None for w in written]
    if any(r.station is None for r, turn in zip(rows, turning, strict=True) if turn):
        return [float(r.setup) for r in rows]
    way, ways, last = 0.0, [], rows[0].station
    for r in rows:
        if r.station is not None and last is not None:
            way += abs(r.station - last)
            last = r.station
        ways.append(way)
    return ways if way > 0 else [float(r.setup) for r in rows]


def third_order_limit(distance: float) -> float:
    """Misclosure (in) that third order levelling allows over a `distance` (in): 12 mm times the root of km.

    Source: US definitions of the orders of levelling used until 1998. Over a fence's length it is finer than
    a tape reads, so it is told and not asked for.
    """
    return THIRD_ORDER * math.sqrt(distance / KILOMETRE)


def _closing_problems(
    closures: Sequence[Closure], setups: int, book: LevelBook, words: Words
) -> Iterator[Problem]:
    if not closures and setups > 1:
        yield warning(
            line_place(book.source, book.rows[-1].line),
            f"{setups} set-ups close on no known elevation, so a sight misread at a turning point cannot "
            "be seen",
            _how_to_close(book, words),
        )
    for closure in closures:
        if closure.accepted and (way := _length(book)) > 0:
            yield note(
                line_place(book.source, closure.line),
                f"the page closes to {words.fine(closure.misclosure)}; {words.given(closure.allowed)} is "
                f"allowed ({closure.rule}); third order levelling would allow "
                f"{third_order_limit(way) * 25.4:.1f} mm over this way, finer than a tape reads",
            )
        if not closure.accepted:
            yield mistake(
                line_place(book.source, closure.line),
                f"the page carries {words.fine(closure.computed)} to a mark known as "
                f"{words.fine(closure.known)}: {past_allowed(closure, words)}",
                "look for a sight misread or written in the wrong column, above all at the turning points; "
                "or set most_misclosure",
            )


def _how_to_close(book: LevelBook, words: Words) -> str:
    """What to do so that the page closes: its first mark is read once more, or said to be that mark."""
    first, last = book.rows[0], max(k for k, r in enumerate(book.rows) if r.backsight is not None)
    both = "" if first.known is not None else " there and in the first row"
    known = f"its height, {words.fine(first.known or 0.0)}, in the column known{both}"
    again = [r.line for r in book.rows[last + 1 :] if r.station == first.station is not None]
    read = (
        f"line {again[-1]} reads the first mark's station again: if it is that mark,"
        if again
        else "read the first mark again from the last set-up, as a row of its own, and"
    )
    return f"{read} write {known}"


def _length(book: LevelBook) -> float:
    """How far (in) the stations of a page reach."""
    stations = [row.station for row in book.rows if row.station is not None]
    return max(stations) - min(stations) if stations else 0.0

"""Readings under strings reduced to elevations; several set-ups chained by the stakes they share.

string A o---------------o
                     string B o--------------o
           drop |           |  | stake read from both
ground  ________v___________v__v__________
"""

from collections.abc import Callable, Iterator, Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.ground.readings import Reading, along, columns_exchanged, exchanged, line_place, worst_of
from fencegrade.ground.reduction import (
    ONLY_STRING,
    Closure,
    Level,
    Reduced,
    Reduction,
    StringChord,
    Tie,
    closing_on,
    past_allowed,
)
from fencegrade.ground.sag import hang_of
from fencegrade.job.records import Run, StringLine
from fencegrade.job.survey import StringReading, StringSurvey, marks_of
from fencegrade.problems import Problem, has_mistake, mistake, note, warning
from fencegrade.units.arrays import Floats
from fencegrade.units.tolerances import ROUNDING
from fencegrade.units.words import Words

TIE_LIMIT = 0.25
"""Two strings should agree on a shared stake within this (in): common practice, no source."""

CLOSING_LIMIT = 0.25
"""Allowed misclosure of one set-up of a string (in); times sqrt(n) for n: common practice, no source."""

SLACK = 8.0
"""Weight of a string over its pull at which the parabola's sag is as long as its span."""

OFFSET_DECIMALS = 9
"""Heights of set-ups (in) by least squares are rounded to so many decimals: last bits differ by processor."""


class _Setup(Struct, frozen=True, kw_only=True):
    """One set-up with its readings; heights count from `height` at its first end, or from 0 there."""

    id: str
    height: float | None
    chord: StringChord
    rows: tuple[StringReading, ...]

    def reaches(self, station: float) -> bool:
        return self.chord.start - ROUNDING <= station <= self.chord.end + ROUNDING

    def relative(self, row: StringReading) -> float:
        return float(self.chord.elevation(row.station)) - row.drop


def as_taped(station: float) -> float:
    """A station that was taped level already."""
    return station


def reduce(run: Run, survey: StringSurvey, words: Words, place: str, level: Level) -> Reduced:
    """Elevations of every reading under one string or several.

    `run` gives the set-ups, `survey` the readings (in) at level stations, `place` how the job file names this
    run, `level` turns a station of the job file into a level one. z = chord - sag - drop; offsets of set-ups
    without a height by least squares on shared stations; a known elevation at a row closes the chain, and
    what is missing within the limit is spread over the set-ups. Result: the reduction (None with mistakes)
    and all problems. Source: height of instrument method, the string in the place of the line of sight;
    spread in equal shares a set-up as in the Navy's NAVEDTRA 14071, chapter 7.
    """
    problems = [*_row_problems(survey, words)]
    setups, found = _setups(run, survey, words, place, level)
    problems += found
    if has_mistake(problems):
        return None, tuple(problems)
    offsets, loose = _offsets(setups, survey, words)
    if loose:
        return None, (*problems, *loose)
    reduction = _raise(setups, offsets)
    reduction, closing = _close(reduction, setups, survey, run, words)
    problems += [*closing, *_tie_problems(reduction.ties, run, words), *_sag_problems(reduction, run, words)]
    bad = has_mistake(problems)
    return (None if bad else reduction), tuple(problems)


def _row_problems(survey: StringSurvey, words: Words) -> Iterator[Problem]:
    for row in survey.rows:
        if row.drop < 0:
            yield mistake(
                line_place(survey.source, row.line),
                f"the drop at {words.station(row.station)} is {words.fine(row.drop)}: ground above a tight "
                "string",
                "check the sign; where the ground does reach the string, raise the string and read again",
            )
        elif row.drop == 0:
            yield warning(
                line_place(survey.source, row.line),
                f"the string touches the ground at {words.station(row.station)}, so it is bent there",
                "raise the string and read that set-up again, or check that 0 was meant",
            )


def _setups(
    run: Run, survey: StringSurvey, words: Words, place: str, level: Callable[[float], float]
) -> tuple[list[_Setup], list[Problem]]:
    by_name: dict[str | None, list[StringReading]] = {}
    for row in survey.rows:
        by_name.setdefault(row.string, []).append(row)
    declared = run.string or (StringLine(id=next(iter(by_name), None) if len(by_name) == 1 else None),)
    problems = [*_undeclared(declared, by_name, survey, place)]
    for rows in by_name.values():
        if exchanged([r.station for r in rows], [r.drop for r in rows]):
            problems.append(columns_exchanged(line_place(survey.source, rows[0].line)))
        else:
            problems += along([(r.line, r.station) for r in rows], survey.source, words)
    setups = []
    for i, line in enumerate(declared):
        lone = len(declared) == 1 and line.id not in by_name
        rows = list(survey.rows) if lone else by_name.get(line.id, [])
        if not rows:
            problems.append(_no_rows(line, f"{place}, string {i + 1}", survey))
            continue
        if line.line_level is not None and line.pull is None and line.sag is None:
            problems.append(_unknown_pull(f"{place}, string {i + 1}, line_level"))
        setup = _setup(run, line, tuple(rows), level, alone=len(declared) == 1)
        if setup.chord.span * setup.chord.hang.load > SLACK:
            problems.append(_no_string(f"{place}, string {i + 1}, pull", setup.chord.span, words))
        else:
            setups.append(setup)
    problems += _outside(setups, survey, words)
    return sorted(setups, key=lambda s: (s.chord.start, s.chord.end)), problems


def _undeclared(
    declared: Sequence[StringLine],
    names: dict[str | None, list[StringReading]],
    survey: StringSurvey,
    place: str,
) -> Iterator[Problem]:
    known = [line.id for line in declared]
    for name, rows in names.items():
        if name in known or (name is None and len(declared) == 1 and len(names) == 1):
            continue
        where = line_place(survey.source, rows[0].line)
        if name is None:
            yield mistake(
                where, "the row does not say which string it was read from", "fill in its string column"
            )
            continue
        listed = ", ".join(str(k) for k in known if k is not None) or "none"
        yield mistake(
            f"{place}, string",
            f"the readings from {where} on name string {name!r}, which is not declared (declared: {listed})",
            f'add a [[run.string]] with id = "{name}", or correct the string column',
        )


def _no_rows(line: StringLine, place: str, survey: StringSurvey) -> Problem:
    return mistake(
        place,
        f"string {line.id!r} has no reading in {survey.source}",
        "take it out, or check the string column",
    )


def _unknown_pull(place: str) -> Problem:
    return mistake(
        place,
        "what a line level left hanging does to the string depends on the pull, which is not given",
        "give weight and pull, or the sag measured at mid-span with the level on; or take the level off "
        "and read again",
    )


def _no_string(place: str, span: float, words: Words) -> Problem:
    return mistake(
        place,
        f"a line of that weight, so pulled, hangs lower than the {words.station(span)} between its ends",
        "check its weight, its pull and where its ends are",
    )


def _setup(
    run: Run, line: StringLine, rows: tuple[StringReading, ...], level: Callable[[float], float], alone: bool
) -> _Setup:
    """A set-up's chord; ends not given are the run's for a lone string, else the first and last reading."""
    stations = [r.station for r in rows]
    first, last = min(stations), max(stations)
    if alone:
        first = min(first, level(run.start) if run.start is not None else first)
        last = max(last, level(run.end) if run.end is not None else last)
    start = level(line.start) if line.start is not None else first
    end = level(line.end) if line.end is not None else last
    span = max(end - start, ROUNDING)
    chord = StringChord(
        id=line.id or ONLY_STRING,
        start=start,
        end=start + span,
        start_height=line.height or 0.0,
        end_height=(line.height or 0.0) - line.fall,
        hang=hang_of(line.weight, line.pull, line.sag, line.line_level, span, line.fall / span),
    )
    return _Setup(id=line.id or ONLY_STRING, height=line.height, chord=chord, rows=rows)


def _outside(setups: Sequence[_Setup], survey: StringSurvey, words: Words) -> Iterator[Problem]:
    """Readings beyond their strings: all in one where every reading fits once counted from the other end."""
    beyond = [(s.chord, row) for s in setups for row in s.rows if not s.reaches(row.station)]
    if not beyond:
        return
    whole = min(s.chord.start for s in setups) + max(s.chord.end for s in setups)
    if len(beyond) > 1 and all(s.reaches(whole - row.station) for s in setups for row in s.rows):
        lines = [row.line for _, row in beyond]
        yield mistake(
            line_place(survey.source, min(lines), max(lines)),
            f"{len(beyond)} readings lie beyond the strings they were read from, and none would if all were "
            "counted from the other end",
            f"if they were read from there, count the stations from the run's start ({words.station(whole)} "
            "less each); else correct them, or the strings' start and end in the job file",
        )
        return
    for chord, row in beyond:
        yield mistake(
            line_place(survey.source, row.line),
            f"the reading at {words.station(row.station)} lies beyond its string, which hangs from "
            f"{words.stretch(chord.start, chord.end)}",
            "correct the station, or the string's start and end in the job file",
        )


def _shared(setups: Sequence[_Setup]) -> dict[tuple[float, object], dict[int, float]]:
    """Mean height of each spot by each set-up that read it, counted from that set-up's own zero."""
    spots: dict[tuple[float, object], dict[int, list[float]]] = {}
    for i, setup in enumerate(setups):
        for row in setup.rows:
            spots.setdefault((row.station, row.side), {}).setdefault(i, []).append(setup.relative(row))
    means = {key: {i: float(np.mean(v)) for i, v in by.items()} for key, by in spots.items()}
    return {key: by for key, by in means.items() if len(by) > 1}


def _offsets(setups: Sequence[_Setup], survey: StringSurvey, words: Words) -> tuple[Floats, list[Problem]]:
    """What to add to each set-up's heights: none where its height is given, else by its ties."""
    shared = _shared(setups)
    fixed = {i for i, s in enumerate(setups) if s.height is not None} or {0}
    reached = set(fixed)
    while grown := {i for by in shared.values() if reached & set(by) for i in by} - reached:
        reached |= grown
    loose = [i for i in range(len(setups)) if i not in reached]
    if loose:
        return np.zeros(0), [_untied(setups, loose[0], survey, words)]
    free = [i for i in range(len(setups)) if i not in fixed]
    offsets = np.zeros(len(setups))
    if free:
        offsets[free] = _least_squares(free, shared)
    return offsets, []


def _least_squares(free: list[int], shared: dict[tuple[float, object], dict[int, float]]) -> Floats:
    """Offsets (f,) of the `free` set-ups: all that read one spot as near to their mean there as can be."""
    rows, wanted = [], []
    for by in shared.values():
        column = np.array([[float(i == k) for k in free] for i in by])
        heights = np.array(list(by.values()))
        rows.append(column - column.mean(axis=0))
        wanted.append(heights.mean() - heights)
    offsets = np.linalg.lstsq(np.concatenate(rows), np.concatenate(wanted), rcond=None)[0]
    return np.asarray(np.round(offsets, OFFSET_DECIMALS), dtype=float)


def _untied(setups: Sequence[_Setup], loose: int, survey: StringSurvey, words: Words) -> Problem:
    setup = setups[loose]
    other = setups[loose - 1] if loose else setups[1]
    gap = setup.rows[0].station if loose else setup.rows[-1].station
    stake = min((r.station for r in other.rows), key=lambda s: abs(s - gap))
    return mistake(
        line_place(survey.source, setup.rows[0].line),
        f"string {setup.id} shares no station with the strings before it, so its height is unknown",
        f"read one stake from both strings, such as the one at {words.station(stake)}, or give string "
        f"{setup.id} its height in the job file",
    )


def _raise(setups: Sequence[_Setup], offsets: Floats) -> Reduction:
    readings = [
        Reading(
            line=row.line,
            station=row.station,
            elevation=setup.relative(row) + float(offset),
            raw=row.drop,
            side=row.side,
            setup=setup.id,
            marks=marks_of(row.note),
        )
        for setup, offset in zip(setups, offsets, strict=True)
        for row in setup.rows
    ]
    ties = []
    for (station, _), by in sorted(_shared(setups).items(), key=lambda item: item[0][0]):
        heights = [z + offsets[i] for i, z in by.items()]
        names = tuple(setups[i].id for i in by)
        ties.append(Tie(station=station, setups=names, apart=float(max(heights) - min(heights))))
    chords = [_lift(s.chord, o, o) for s, o in zip(setups, offsets, strict=True)]
    return Reduction(readings=tuple(readings), strings=tuple(chords), ties=tuple(ties))


def _lift(chord: StringChord, start: float, end: float) -> StringChord:
    return replace(
        chord, start_height=chord.start_height + float(start), end_height=chord.end_height + float(end)
    )


def _along_chain(setups: Sequence[_Setup], index: int, station: float) -> float:
    """How many set-ups lie before this station: k - 1 at the start of the k-th string, k at its end."""
    stations = [r.station for r in setups[index].rows]
    first, last = min(stations), max(stations)
    return index + (0.5 if last == first else float(np.clip((station - first) / (last - first), 0, 1)))


def _close(
    reduction: Reduction, setups: Sequence[_Setup], survey: StringSurvey, run: Run, words: Words
) -> tuple[Reduction, list[Problem]]:
    """Check the chain against known elevations and spread what is missing over the set-ups."""
    index = {s.id: i for i, s in enumerate(setups)}
    known = {row.line: row.known for row in survey.rows if row.known is not None}
    if not known:
        return reduction, []
    place_of = {r.line: _along_chain(setups, index[r.setup or ""], r.station) for r in reduction.readings}
    marks = sorted((r for r in reduction.readings if r.line in known), key=lambda r: place_of[r.line])
    has_height = any(s.height is not None for s in setups)
    anchors: list[tuple[float, float]] = [(0.0, 0.0)] if has_height else []
    closures = []
    rule = f"{words.fine(CLOSING_LIMIT)} times the square root of {{setups}} set-ups, common practice"
    usual = (CLOSING_LIMIT, rule)
    for r in marks:
        wanted = float(known[r.line])
        if not anchors:
            anchors.append((place_of[r.line], wanted - r.elevation))
            continue
        at, so_far = anchors[-1]
        passed = max(1, round(place_of[r.line] - at))
        closures.append(closing_on(r, wanted, r.elevation + so_far, passed, run.most_misclosure, usual))
        anchors.append((place_of[r.line], wanted - r.elevation))
    problems = [_refused(c, survey, words) for c in closures if not c.accepted]
    return _spread(reduction, setups, anchors, place_of, tuple(closures)), problems


def _refused(closure: Closure, survey: StringSurvey, words: Words) -> Problem:
    return mistake(
        line_place(survey.source, closure.line),
        f"the strings carry {words.fine(closure.computed)} to {words.station(closure.station or 0.0)}, the "
        f"known elevation is {words.fine(closure.known)}: {past_allowed(closure, words)}",
        "read the shared stakes again from both strings, or check the known elevation",
    )


def _spread(
    reduction: Reduction,
    setups: Sequence[_Setup],
    anchors: list[tuple[float, float]],
    place_of: dict[int, float],
    closures: tuple[Closure, ...],
) -> Reduction:
    at, by = [a for a, _ in anchors], [c for _, c in anchors]
    readings = tuple(
        replace(r, elevation=r.elevation + float(np.interp(place_of[r.line], at, by)))
        for r in reduction.readings
    )
    chords = tuple(
        _lift(
            chord,
            np.interp(_along_chain(setups, i, chord.start), at, by),
            np.interp(_along_chain(setups, i, chord.end), at, by),
        )
        for i, chord in enumerate(reduction.strings)
    )
    return replace(reduction, readings=readings, strings=chords, closures=closures)


def _tie_problems(ties: Sequence[Tie], run: Run, words: Words) -> Iterator[Problem]:
    apart = [tie for tie in ties if tie.apart > TIE_LIMIT + ROUNDING]
    told = [
        warning(
            f"{run.name}, {words.station(tie.station)}",
            f"strings {' and '.join(tie.setups)} disagree by {words.fine(tie.apart)} on this stake; "
            f"{words.fine(TIE_LIMIT)} is common practice",
            "read the stake again from both strings; one of them may have moved or slackened",
        )
        for tie in apart
    ]
    found = list(zip((tie.apart for tie in apart), told, strict=True))
    return worst_of(found, run.name, "more stakes have strings that disagree", words)


def _sag_problems(reduction: Reduction, run: Run, words: Words) -> Iterator[Problem]:
    for chord in reduction.strings:
        if chord.hang.level:
            yield note(
                f"{run.name}, {words.stretch(chord.start, chord.end)}",
                "the line level left hanging pulls the string down "
                f"{words.fine(chord.hang.level * chord.span / 4)} more in the middle; this is corrected",
                "take it off before reading next time",
            )

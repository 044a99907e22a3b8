"""Figures that look written in another unit than their heading says: single readings, a whole column, a pull.

Nothing is changed: a doubt is told. A reading is held against the line of the others around it that half of
them may leave without moving it (repeated medians), so that two or three in centimetres in a column of
millimetres do not hide each other; it is doubted where it lies far off that line, is no figure of their size,
and another unit, or another place of the decimal point, brings it there. The bars were set so that no real,
rough ground is doubted. Of a column three things speak: how large the figures are for what they measure, what
their decimals are multiples of, and how steep the ground would be. A column is doubted where its own unit
fails badly in size, or in two of the three, and another unit passes all of them.
"""

import math
from collections.abc import Iterator, Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.ground.doubt import AROUND, BAR_SLIP, CENTI_FOR_MILLI, FLOOR, FOOT_FOR_INCH, Doubt
from fencegrade.ground.profile import between_faces
from fencegrade.ground.readings import Levels
from fencegrade.ground.reduction import StringChord
from fencegrade.ground.sag import COMMON_LINE, parabola_sag
from fencegrade.job.records import Run
from fencegrade.job.survey import Mark, Survey
from fencegrade.problems import Problem, warning
from fencegrade.units import MM_PER_INCH, UnitSystem
from fencegrade.units.arrays import Floats, Indices, Truths
from fencegrade.units.words import Words

FEWEST = 4
"""Figures from which a column is judged."""

SIZES = {"drop": (3.0, 6.0, 48.0, 96.0), "sight": (3.0, 8.0, 144.0, 240.0)}
"""Inches a middling figure may be: least at all, least usually, most usually, most at all; a string hangs
above the grass and under the eye, a staff is read above its foot and under its top (common practice, no
source)."""

STEEPEST = 0.35
"""Rise over run that middling neighbours of a survey seldom reach (common practice, no source)."""

FLATTEST = 2.0
"""Inches; elevations that differ by less than this all along a run are hardly worth a survey (own choice)."""

WRITTEN = {
    "in": (16.0, 1.0),
    "ft": (100.0, 12.0),
    "m": (1000.0, 100 / 2.54),
    "cm": (10.0, 1 / 2.54),
    "mm": (2.0, 1 / 25.4),
}
"""Unit: the parts of it that figures are written in, and its length in inches: sixteenths, hundredths of a
foot, millimetres, halves of a millimetre (common practice, no source)."""

NAMES = {"in": "inches", "ft": "decimal feet", "m": "metres", "cm": "centimetres", "mm": "millimetres"}

SOFT_PULL, HARD_PULL = 4.5, 70.0
"""lbf; hands pull a line harder than the first (20 N), and a mason's line breaks near the second (common
practice, no source)."""

KILOGRAM_FORCE, NEWTON = 2.2046226218, 0.2248089431
"""lbf by kgf, by N. Source: NIST SP 811, appendix B.8; standard gravity 9.80665 m/s^2 exactly."""


FEWEST_AROUND = 5
"""Readings between two faces from which they are judged."""

PASSES = 3
"""Times the readings are judged, each time by those that nothing was found of before."""

LEAST = 8.0
"""Inches off the line of the others from which a reading is judged: little is to be told from less."""

REACHES = (AROUND, 3)
"""Readings each way whose line is tried: the many, or, where the ground bends, the nearest (own choice)."""

OTHER_SIZE = 3.0
"""Times the middling figure of the others, or part of it, beyond which a figure is none of theirs."""

NEAR, NEAR_USUAL, NEAR_PART = 1.0, 3.0, 0.2
"""How far off the line of the others a reading may lie in its right unit: inches, times the usual departure
of the others, or part of it; the largest counts."""

_DECIMAL = "a slipped decimal point"
_SCALES = {
    UnitSystem.IMPERIAL: (
        (12.0, FOOT_FOR_INCH),
        (10.0, _DECIMAL),
        (100.0, _DECIMAL),
        (MM_PER_INCH, "inches and millimetres mixed up"),
    ),
    UnitSystem.METRIC: (
        (10.0, CENTI_FOR_MILLI),
        (100.0, _DECIMAL),
        (1000.0, "metres and millimetres mixed up"),
        (MM_PER_INCH, "inches and millimetres mixed up"),
    ),
}
"""How many times too large or too small a figure in another unit is. Source: common practice, no source."""


class _Column(Struct, frozen=True, kw_only=True):
    """Figures (n,) of a survey, inches: what they measure, at which stations, and how to read them."""

    what: str
    stations: Floats
    values: Floats

    def fails(self, unit: str, base: str) -> tuple[bool, int]:
        """Whether the figures are badly out of size taken as `unit`, and how many of the three fail."""
        parts, inches = WRITTEN[unit]
        numbers = self.values / WRITTEN[base][1]
        taken = numbers * inches
        middling = float(np.median(np.abs(taken)))
        sized = SIZES.get(self.what)
        badly = sized is not None and not sized[0] <= middling <= sized[3]
        odd = sized is not None and not sized[1] <= middling <= sized[2]
        flat = sized is None and float(np.ptp(taken)) < FLATTEST
        whole = numbers * parts
        decimals = float(np.mean(np.abs(whole - np.round(whole)) > 1e-4)) > 0.25
        return badly, odd + decimals + (flat or self._steep(taken))

    def _steep(self, taken: Floats) -> bool:
        across = np.diff(self.stations)
        open_ = across > 0
        return bool(open_.any() and np.median(np.abs(np.diff(taken)[open_] / across[open_])) > STEEPEST)


def unit_slips(levels: Levels, system: UnitSystem) -> tuple[Doubt, ...]:
    """Readings of a survey that look like another unit than the others.

    `levels`: the readings in order; `system`: whose units. Spots read more than once and those whose note
    says "confirmed" are not judged.
    """
    return tuple(
        found
        for first, past in between_faces(levels.stations)
        if past - first >= FEWEST_AROUND
        for found in _in_piece(levels, np.arange(first, past), system)
    )


def _in_piece(levels: Levels, piece: Indices, system: UnitSystem) -> list[Doubt]:
    """Those of a piece between faces: judged by all the others, then by those that were not doubted."""
    found, doubted = list[Doubt](), set[int]()
    if np.abs(np.diff(levels.elevations[piece])).max() < LEAST / 2:
        return found
    for _ in range(PASSES):
        sound = np.array([i for i in piece.tolist() if i not in doubted])
        if len(sound) < FEWEST_AROUND - 1:
            break
        found = [doubt for spot in piece.tolist() for doubt in _judged(levels, spot, sound, system)]
        before, doubted = doubted, {doubt.spot for doubt in found}
        if doubted == before:
            break
    return found


def without(levels: Levels, found: tuple[Doubt, ...]) -> Levels:
    """The readings without those that are doubted already."""
    keep = np.ones(len(levels.stations), dtype=bool)
    keep[[doubt.spot for doubt in found]] = False
    return levels if keep.all() else kept(levels, keep)


def kept(levels: Levels, keep: Truths) -> Levels:
    """Some of the readings, those that `keep` (n,) says."""
    own = np.flatnonzero(keep).tolist()
    return replace(
        levels,
        stations=levels.stations[keep],
        elevations=levels.elevations[keep],
        lines=tuple(levels.lines[i] for i in own),
        count=levels.count[keep],
        raw=levels.raw[keep],
        marks=tuple(levels.marks[i] for i in own),
    )


def _judged(levels: Levels, spot: int, sound: Indices, system: UnitSystem) -> Iterator[Doubt]:
    """One reading against the line of the sound ones nearest to it."""
    raw = float(levels.raw[spot])
    if math.isnan(raw) or Mark.CONFIRMED in levels.marks[spot]:
        return
    lines = [_line_around(levels, _nearest(sound, spot, reach), spot) for reach in REACHES]
    level, usual, usually = min(lines, key=lambda line: line[1])
    off = float(levels.elevations[spot]) - level
    wanted = raw + (-off if levels.upward else off)
    alike = usually / OTHER_SIZE < abs(raw) < usually * OTHER_SIZE
    if alike or abs(off) <= max(LEAST, BAR_SLIP * usual):
        return
    near = [
        (abs(meant - wanted), name, meant)
        for scale, name in _SCALES[system]
        for meant in (raw * scale, raw / scale)
        if abs(meant - wanted) <= max(NEAR, NEAR_USUAL * usual, NEAR_PART * min(abs(meant), abs(wanted)))
        and abs(meant - wanted) < abs(off) / 4
        and 1 / 2 < wanted / meant < 2
        and (not levels.upward or min(abs(raw), abs(meant)) > LEAST)
    ]
    if near:
        _, name, meant = min(near)
        yield Doubt(
            spot=spot,
            line=levels.lines[spot][0],
            station=float(levels.stations[spot]),
            raw=raw,
            departure=off,
            looks_like=name,
            would_fit=meant,
            downward=not levels.upward,
        )


def _nearest(sound: Indices, spot: int, reach: int) -> Indices:
    """The sound readings around one, `reach` each way, or more on one side where it stands near an end."""
    others = sound[sound != spot]
    start = int(np.searchsorted(others, spot)) - reach
    start = min(max(start, 0), max(len(others) - 2 * reach, 0))
    return np.asarray(others[start : start + 2 * reach])


def _line_around(levels: Levels, others: Indices, spot: int) -> tuple[float, float, float]:
    """Elevation (in) at a spot by the line of others, their usual departure, their middling figure (in)."""
    level, usual = _line_of(levels.stations[others], levels.elevations[others], levels.stations[spot])
    figures = np.abs(levels.raw[others])
    known = figures[~np.isnan(figures)]
    return level, usual, float(np.median(known)) if len(known) else 0.0


def _line_of(x: Floats, z: Floats, at: float) -> tuple[float, float]:
    """Elevation (in) at a station by the repeated medians of others (k,), and their usual departure (in).

    Source: Siegel 1982, Robust regression using repeated medians, Biometrika 69, from memory.
    """
    across = x[None, :] - x[:, None]
    apart = across != 0
    slopes = np.divide(z[None, :] - z[:, None], across, out=np.full(across.shape, np.nan), where=apart)
    slope = float(np.median(_medians(slopes)))
    level = float(np.median(z + slope * (at - x)))
    spread = 1.4826 * float(np.median(np.abs(z + slope * (at - x) - level)))
    return level, max(FLOOR, spread)


def _medians(rows: Floats) -> Floats:
    """The median of each row, without what is nan in it; as `nanmedian`, which takes ten times as long."""
    count = np.count_nonzero(~np.isnan(rows), axis=1)[:, None]
    middle = np.take_along_axis(np.sort(rows, axis=1), np.hstack([(count - 1) // 2, count // 2]), axis=1)
    return np.asarray(middle.sum(axis=1) / 2)


def column_doubts(survey: Survey, levels: Levels, words: Words) -> Iterator[Problem]:
    """A warning where the drops, sights or elevations of a survey look written in another unit.

    Parameters
    ----------
    survey : Survey
        As read, inches.
    levels : Levels
        Its readings in order of station.
    words : Words
        For the words.
    """
    column = _column(survey, levels)
    if column is None or len(column.values) < FEWEST:
        return
    base = survey.unit if survey.unit in WRITTEN else _base(column.values)
    badly, failed = column.fails(base, base)
    if not badly and failed < 2:
        return
    metric = base not in ("in", "ft")
    tried = (u for u in WRITTEN if u != base and (metric or u != "m"))
    others = [u for u in tried if column.fails(u, base) == (False, 0)]
    if not others:
        return
    low, high = float(np.min(column.values)), float(np.max(column.values))
    looks = " or ".join(NAMES[u] for u in others)
    written = (
        f"under a heading in {NAMES[base].removeprefix('decimal ')}"
        if survey.unit
        else f"written as {NAMES[base]}"
    )
    yield warning(
        survey.source,
        f"the {column.what}s, {words.fine(low)} to {words.fine(high)}, look like {looks} {written}",
        "check the unit in the heading; if the figures are right, write confirmed = true in the run in "
        "the job file",
    )


def _column(survey: Survey, levels: Levels) -> _Column | None:
    once = ~np.isnan(levels.raw)
    what = survey.kind.figure
    if not what:
        return None
    return _Column(what=what, stations=levels.stations[once], values=levels.raw[once])


def _base(inches: Floats) -> str:
    """The unit the figures stand in: that in which most of them are short numbers."""
    hundredths = {u: inches / WRITTEN[u][1] * 100 for u in ("in", "mm")}
    short = {u: np.mean(np.abs(v - np.round(v)) < 1e-4) for u, v in hundredths.items()}
    return "mm" if short["mm"] > short["in"] else "in"


def pull_doubts(run: Run, strings: Sequence[StringChord], words: Words) -> Iterator[Problem]:
    """A warning for a pull that no hand pulls a line with, and that another unit would explain.

    Parameters
    ----------
    run : Run
        Whose strings they are, pulls in lbf.
    strings : as they hung.
    """
    spans = {c.id: c.span for c in strings}
    for line in run.string:
        span = spans.get(line.id or "", max(spans.values(), default=0.0))
        pull = line.pull
        if pull is None or not span or SOFT_PULL <= pull <= HARD_PULL:
            continue
        meant = pull * KILOGRAM_FORCE / NEWTON if pull < SOFT_PULL else pull * NEWTON / KILOGRAM_FORCE
        if not SOFT_PULL <= meant <= HARD_PULL:
            continue
        weight = line.weight or COMMON_LINE
        sag, other = parabola_sag(weight, span, pull), parabola_sag(weight, span, meant)
        right, unit = (pull / NEWTON, "N") if pull < SOFT_PULL else (pull / KILOGRAM_FORCE, "kgf")
        instead = "kgf" if unit == "N" else "N"
        yield warning(
            f"{run.name}, {words.stretch(strings[0].start, strings[-1].end)}",
            f"a pull of {right:.3g} {unit} lets the string hang {words.fine(sag)} in the middle, which no "
            f"hand does; {right:.3g} {instead} would be {words.fine(other)}",
            "check the unit of pull; if it is right, write confirmed = true in the run in the job file",
        )

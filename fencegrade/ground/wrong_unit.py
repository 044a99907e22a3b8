"""A whole column that looks written in another unit than its heading says, and a pull that looks like it.

Nothing is changed: a doubt is told. Three things speak: how large the figures are for what they measure,
what their decimals are multiples of, and how steep the ground would be. A column is doubted where its own
unit fails badly in size, or in two of the three, and another unit passes all of them.
"""

from collections.abc import Iterator, Sequence

import numpy as np
from msgspec import Struct

from fencegrade.ground.readings import Levels, line_place
from fencegrade.ground.reduction import StringChord
from fencegrade.ground.sag import COMMON_LINE, COMMON_PULL, parabola_sag
from fencegrade.job.records import Run
from fencegrade.job.survey import Mark, Survey
from fencegrade.problems import Problem, warning
from fencegrade.units.arrays import Floats
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

WRITTEN = {"in": (16.0, 1.0), "ft": (100.0, 12.0), "cm": (10.0, 1 / 2.54), "mm": (2.0, 1 / 25.4)}
"""Unit: the parts of it that figures are written in, and its length in inches: sixteenths, hundredths of a
foot, millimetres, halves of a millimetre (common practice, no source)."""

NAMES = {"in": "inches", "ft": "decimal feet", "cm": "centimetres", "mm": "millimetres"}

SOFT_PULL, HARD_PULL = 4.5, 70.0
"""lbf; hands pull a line harder than the first (20 N), and a mason's line breaks near the second (common
practice, no source)."""

FAR_ALONE = 3.0
"""Times the length of all the rest that a last station stands off before it is doubted (own choice)."""

FAR_STEP = 8.0
"""Times the widest step between the others that it stands off as well (own choice)."""

SAG_SHARE = 0.5
"""Share of the middling drop under a string that its common sag may reach before it is doubted: then how hard
it was pulled decides the ground more than the tape does (own choice; some 300 ft at knee height)."""

KILOGRAM_FORCE, NEWTON = 2.2046226218, 0.2248089431
"""lbf by kgf, by N. Source: NIST SP 811, appendix B.8; standard gravity 9.80665 m/s^2 exactly."""


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
    base = _base(column.values)
    badly, failed = column.fails(base, base)
    if not badly and failed < 2:
        return
    others = [u for u in WRITTEN if u != base and column.fails(u, base) == (False, 0)]
    if not others:
        return
    low, high = float(np.min(column.values)), float(np.max(column.values))
    looks = " or ".join(NAMES[u] for u in others)
    yield warning(
        survey.source,
        f"the {column.what}s, {words.fine(low)} to {words.fine(high)}, look like {looks} written as "
        f"{NAMES[base]}",
        "check the unit in the heading; if the figures are right, write confirmed = true in the run in "
        "the job file",
    )


def station_doubts(survey: Survey, levels: Levels, words: Words) -> Iterator[Problem]:
    """A warning where the last station stands alone, far past all others, unless its note confirms it.

    Parameters
    ----------
    survey : Survey
        As read, inches.
    levels : Levels
        Its readings in order of station.
    words : Words
        For the words.
    """
    stations = np.unique(levels.stations)
    if len(stations) < FEWEST or Mark.CONFIRMED in levels.marks[-1]:
        return
    *others, last = np.diff(stations)
    if last > FAR_ALONE * (stations[-2] - stations[0]) and last > FAR_STEP * max(others):
        end, before = (words.station(float(s)) for s in (stations[-1], stations[-2]))
        yield warning(
            line_place(survey.source, *levels.lines[-1]),
            f"station {end} stands alone, far past {before}, the last one before it",
            'check its decimal point and its unit; if it is right, write "confirmed" in its note',
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


def sag_doubts(levels: Levels, strings: Sequence[StringChord], name: str, words: Words) -> Iterator[Problem]:
    """A warning for a string so long that by its own sag, which nobody gave, it could not hang where it was
    read.

    Parameters
    ----------
    levels : Levels
        The readings in order of station, with the drops as read (in).
    strings : as they hung.
    name : str
        Of the run.
    words : Words
        For the words.
    """
    for chord in strings:
        sag = parabola_sag(COMMON_LINE, chord.span, COMMON_PULL)
        under = (levels.stations >= chord.start) & (levels.stations <= chord.end) & ~np.isnan(levels.raw)
        drops = levels.raw[under]
        if chord.sag or not len(drops) or sag <= SAG_SHARE * float(np.median(drops)):
            continue
        low, high = words.fine(float(drops.min())), words.fine(float(drops.max()))
        yield warning(
            f"{name}, {words.stretch(chord.start, chord.end)}",
            f"one string over {words.station(chord.span)} hangs some {words.fine(sag)} low in the middle "
            f"by its own weight, and the ground was read {low} to {high} under it: the ground there is not "
            "known nearly as well as boards need",
            "read it again from shorter strings that share stakes, or give the string's sag, or its weight "
            "and pull; if all is right, write confirmed = true in the run in the job file",
        )


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

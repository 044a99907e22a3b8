"""What a note says of the place of its reading, and the table of the job that should say it too."""

import re
from collections.abc import Iterator
from itertools import groupby

from msgspec import Struct

from fencegrade.ground.readings import MOST_ALIKE, Levels, line_place, span_place
from fencegrade.job.records import Run
from fencegrade.job.survey import Mark, Survey, marks_of, words_of
from fencegrade.problems import Problem, warning
from fencegrade.units.arrays import Floats
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words, listed

GATE_NEAR = 12.0
"""Inches from an edge of an opening, or from a post that stands, within which a reading is one at that gate
post (own choice)."""


_OVER_SOIL = re.compile(r"(?:^|[,;])\s*(?!no\b)(?:[^\s,;]+\s)?(snow|leaves|grass)\b", re.IGNORECASE)
"""What lies over the soil, where a note or a part of it begins with it, as in "long grass" or "snow 6 in"."""


class _Asked(Struct, frozen=True, kw_only=True):
    """What follows where no `table` covers a mark, and what to write."""

    table: str
    follows: str
    remedy: str


_ASKED = {
    Mark.ROOT: _Asked(
        table="[[run.root]]",
        follows="a post or soil may be planned on it",
        remedy='write [[run.root]] with start = "..." and end = "..."',
    ),
    Mark.WATER: _Asked(
        table="[[run.keep_open]]",
        follows="a post or soil may be planned in it",
        remedy='write [[run.keep_open]] with start = "...", end = "..." and height = "..."',
    ),
    Mark.GATE_POST: _Asked(
        table="[[run.gate]]",
        follows="no gate is planned there",
        remedy='write [[run.gate]] with station = "..." and width = "...", or [[run.existing_post]] with '
        'station = "..." if the post stands',
    ),
}


def unplaced_marks(run: Run, levels: Levels, taped: Floats, source: str, words: Words) -> Iterator[Problem]:
    """A warning where notes name a root, water or a gate post that no table of the run says anything of.

    `levels`: the readings of the run, `taped` (n,) their stations (in) as the job counts them. Neighbours
    with one mark are told once.
    """
    first = float(taped[0]) if run.start is None else run.start
    last = float(taped[-1]) if run.end is None else run.end
    for mark, asked in _ASKED.items():
        bare = [
            mark in marks
            and first - SAME_LENGTH <= x <= last + SAME_LENGTH
            and not _covered(run, mark, float(x))
            for x, marks in zip(taped, levels.marks, strict=True)
        ]
        for told, group in groupby(range(len(bare)), key=bare.__getitem__):
            if told:
                own = list(group)
                ends = [levels.lines[i][0] for i in (own[0], own[-1])]
                near = [float(taped[i]) for i in (max(own[0] - 1, 0), min(own[-1] + 1, len(taped) - 1))]
                yield warning(
                    span_place(source, *ends),
                    f"the note says {mark} at {words.station(float(taped[own[0]]))}, and no {asked.table} of "
                    f"{run.name} covers it: {asked.follows}",
                    f"{asked.remedy}; the readings beside it stand at {words.stretch(*near)}. If nothing has "
                    "to be kept there, take the word out of the note",
                )


def uncounted_marks(survey: Survey) -> Iterator[Problem]:
    """A warning where a word that a note may say of its reading stands in one, but where it does not count.

    Of those that ask for a table none is told: they decide nothing by themselves.
    """
    for mark in (Mark.BREAK, Mark.CONFIRMED):
        lines = [r.line for r in survey.rows if mark in words_of(r.note) - marks_of(r.note)]
        if lines:
            more = f" and of {len(lines) - MOST_ALIKE} more" if len(lines) > MOST_ALIKE else ""
            yield warning(
                line_place(survey.source, *lines[:MOST_ALIKE]),
                f"the word {mark} stands within the note{more} or in a question, and does not count there",
                f'if it is meant, begin the note with it, as in "{mark}, ditch lip"; if not, take it out',
            )


def soil_covered(survey: Survey) -> Iterator[Problem]:
    """A warning where notes name what lies over the soil, of readings that none says are confirmed."""
    named = ((r.line, _OVER_SOIL.search(r.note), marks_of(r.note)) for r in survey.rows if r.note)
    found = [(line, word[1].lower()) for line, word, marks in named if word and Mark.CONFIRMED not in marks]
    if found:
        lines = [line for line, _ in found]
        more = f" and those of {len(lines) - MOST_ALIKE} more" if len(lines) > MOST_ALIKE else ""
        what = listed(dict.fromkeys(word for _, word in found))
        yield warning(
            line_place(survey.source, *lines[:MOST_ALIKE]),
            f"the notes{more} say {what}, which is no soil: boards cut for it come short by its depth",
            "read from the string down to the soil; where that was done write confirmed in the note",
        )


def _covered(run: Run, mark: Mark, x: float) -> bool:
    """Whether a table of the run says of the place (in) what the mark says."""
    if mark is Mark.GATE_POST:
        edges = [e for gate in run.gate for e in (gate.station, gate.end)]
        return any(abs(x - e) <= GATE_NEAR for e in (*edges, *(p.station for p in run.existing_post)))
    stretches = run.root if mark is Mark.ROOT else run.keep_open
    return any(s.start - SAME_LENGTH <= x <= s.end + SAME_LENGTH for s in stretches)

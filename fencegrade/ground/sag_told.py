"""What is said of strings by how far they hang: not corrected, too long for what was read, or too tight."""

from collections.abc import Iterator, Sequence

import numpy as np

from fencegrade.ground.readings import Levels
from fencegrade.ground.reduction import StringChord
from fencegrade.ground.sag import COMMON_LINE, parabola_sag
from fencegrade.ground.wrong_unit import HARD_PULL
from fencegrade.job.records import Run
from fencegrade.problems import Problem, note, warning
from fencegrade.units.arrays import Truths
from fencegrade.units.words import Words

MEASURE_SAG = (
    "to know it, carry the height of both ends to mid-span with a water level or a laser, measure how far "
    "the string hangs under it, and write it as sag; or give weight and pull"
)
"""How to measure the sag of a string."""

SAG_SHARE = 0.5
"""Share of the middling drop under a string that its common sag may reach before it is doubted: then how hard
it was pulled decides the ground more than the tape does (own choice; some 300 ft at knee height)."""

SAG_TOLD = 0.25
"""Inches that a measured sag may be less than the least a line hangs before it is doubted: a measured one is
right to half of it (own choice)."""


def too_long_to_hang(levels: Levels, chord: StringChord) -> bool:
    """Whether by its own sag, which nobody gave, a string could hardly have hung where it was read."""
    drops = levels.raw[_under(levels, chord)]
    return not chord.sag_given and len(drops) > 0 and chord.common_sag > SAG_SHARE * float(np.median(drops))


def sag_doubts(levels: Levels, run: Run, strings: Sequence[StringChord], words: Words) -> Iterator[Problem]:
    """A warning for a string so long that by its own sag it could not hang where it was read, and for one
    that no hand pulls as tight as its measured sag asks.

    Parameters
    ----------
    levels : Levels
        The readings in order of station, with the drops as read (in).
    run : Run
        Whose strings they are.
    strings : as they hung.
    words : Words
        For the words.
    """
    weights = {line.id: line.weight for line in run.string}
    for chord in strings:
        place = f"{run.name}, {words.stretch(chord.start, chord.end)}"
        if too_long_to_hang(levels, chord):
            drops = levels.raw[_under(levels, chord)]
            low, high = words.fine(float(drops.min())), words.fine(float(drops.max()))
            yield warning(
                place,
                f"one string over {words.station(chord.span)} hangs some {words.fine(chord.common_sag)} low "
                f"in the middle by its own weight, and the ground was read {low} to {high} under it: the "
                "ground there is not known nearly as well as boards need",
                "read it again from shorter strings that share stakes, or give the string's sag, or its "
                "weight and pull; if all is right, write confirmed = true in the run in the job file",
            )
        weight = weights.get(chord.id) or weights.get(None) or COMMON_LINE
        least = parabola_sag(weight, chord.span, HARD_PULL)
        if chord.hang.known and chord.sag < least - SAG_TOLD:
            yield warning(
                place,
                f"a sag of {words.fine(chord.sag)} over {words.station(chord.span)} asks for a harder pull "
                f"than a line stands: near breaking it still hangs {words.fine(least)} low",
                "measure the sag again in the middle, all of it under the straight line between the ends; if "
                "it is right, write confirmed = true in the run in the job file",
            )


def _under(levels: Levels, chord: StringChord) -> Truths:
    """Which readings (n,) were taken from a string alone."""
    within = (levels.stations >= chord.start) & (levels.stations <= chord.end)
    return np.asarray(within & ~np.isnan(levels.raw))


def uncorrected(levels: Levels, run: Run, strings: Sequence[StringChord], words: Words) -> Iterator[Problem]:
    """What is said of strings whose sag nobody gave and that hang low enough to tell.

    Inputs as `sag_doubts`; not of those that are doubted for it.
    """
    low = [c for c in strings if not c.sag_given and c.common_sag > max(words.mark, 1 / 16)]
    yield from _uncorrected([c for c in low if run.confirmed or not too_long_to_hang(levels, c)], run, words)


def _uncorrected(chords: Sequence[StringChord], run: Run, words: Words) -> Iterator[Problem]:
    """One warning for all strings whose sag nobody gave, at the longest of them."""
    if not chords:
        return
    worst = max(chords, key=lambda chord: chord.common_sag)
    name = worst.name if worst.given_name else f"the {worst.name}"
    place = f"{run.name}, {words.stretch(worst.start, worst.end)}"
    which = f"{name} is"
    if len(chords) > 1:
        place, which = run.name, f"{len(chords)} strings are"
    span = "this span" if len(chords) == 1 else f"the longest span ({name})"
    found = (
        f"{which} not corrected for sag; a common mason's line (1.4 g/m) pulled with 10 lbf (45 N) hangs "
        f"{words.fine(worst.common_sag)} low in the middle of {span}. "
    )
    if run.tops_levelled:
        yield warning(place, f"{found}Boards there come out too short by it", MEASURE_SAG)
        return
    yield note(
        place,
        f"{found}Taken for granted: the tops are marked from a string pulled the same way; then sag bends "
        "the line of the tops and cancels in every length. If they are levelled otherwise, say "
        "tops_levelled = true",
        MEASURE_SAG,
    )

"""Checks between the values of a job's runs: stretches, gates, strings and the runs they join."""

import math
import re
from collections.abc import Collection, Iterator, Sequence
from itertools import pairwise

from fencegrade.job.fields import MOST_TALL
from fencegrade.job.records import Gate, Run, StringLine
from fencegrade.problems import Problem, mistake
from fencegrade.units.tolerances import ROUNDING
from fencegrade.units.words import Words

_SHEETS_OWN = re.compile(r"(\bleaf \d+|^all runs)$", re.IGNORECASE)
"""Names that stand on the sheets of several runs for a gate's leaf, or for all runs together."""

MOST_RUN = 12.0 * 5280 * 200
"""Two hundred miles: a longer run is a slip of the decimal point."""

LEAST_GATE = 3.0
"""Inches; a narrower opening, with its spaces at hinge and latch, is a slip of the unit."""


def check_runs(
    runs: Sequence[Run], numbers: Sequence[int], name: str, broken: Collection[str], words: Words
) -> Iterator[Problem]:
    """Every mistake that lies between two values of runs; parameters as of `checks.check_job`."""
    yield from _names(runs, numbers, name)
    yield from _joins(runs, numbers, name, broken)
    for number, run in zip(numbers, runs, strict=True):
        yield from _run(run, f"{name} run {number + 1}", words)


def _names(runs: Sequence[Run], numbers: Sequence[int], name: str) -> Iterator[Problem]:
    seen: set[str] = set()
    for number, run in zip(numbers, runs, strict=True):
        if run.name in seen:
            found, remedy = f'"{run.name}" names two runs', "give each run its own name"
            yield mistake(f"{name} run {number + 1}, name", found, remedy)
        elif len(runs) > 1 and _SHEETS_OWN.search(run.name):
            found = f'"{run.name}" is what the sheets call something else'
            remedy = "give the run a name that is neither that of a gate leaf nor of all runs"
            yield mistake(f"{name} run {number + 1}, name", found, remedy)
        seen.add(run.name)


def _joins(
    runs: Sequence[Run], numbers: Sequence[int], name: str, broken: Collection[str]
) -> Iterator[Problem]:
    names = [run.name for run in runs]
    for number, run in zip(numbers, runs, strict=True):
        place = f"{name} run {number + 1}, join"
        others = ", ".join(f'"{n}"' for n in dict.fromkeys(names) if n != run.name)
        if run.join is None or run.join in broken:
            continue
        if run.join == run.name:
            yield mistake(
                place,
                f'"{run.name}" joins itself',
                "name the run at whose far end it starts, or take join out",
            )
        elif run.join not in names:
            remedy = f"write one of {others}" if others else "add that run, or take join out"
            yield mistake(place, f'there is no run "{run.join}" to join', remedy)


def _run(run: Run, place: str, words: Words) -> Iterator[Problem]:
    start, end = run.start, run.end
    if start is not None and end is not None:
        if end <= start:
            yield mistake(
                f"{place}, end",
                f"the run ends at {words.station(end)}, before its start at {words.station(start)}",
                "write stations that grow along the run",
            )
        elif end - start > MOST_RUN:
            yield mistake(
                f"{place}, end", f"the run is longer than {MOST_RUN / 63360:.0f} miles", "check the unit"
            )
    for key in ("no_post", "root", "no_soil", "keep_open", "clearance"):
        for i, stretch in enumerate(getattr(run, key)):
            if stretch.end <= stretch.start:
                yield mistake(
                    f"{place}, {key} {i + 1}, end",
                    f"the stretch ends at {words.station(stretch.end)}, not after its start at "
                    f"{words.station(stretch.start)}",
                    "write the nearer station as start",
                )
    for i, post in enumerate(run.existing_post):
        if post.height is not None and post.height > MOST_TALL:
            found = f"a post {words.fine(post.height)} tall is no fence post"
            yield mistake(f"{place}, existing_post {i + 1}, height", found, "check the number and its unit")
    yield from _overlaps(run, "keep_open", place, words)
    yield from _overlaps(run, "clearance", place, words)
    yield from _gates(run, place, words)
    for i, line in enumerate(run.string):
        yield from _string(line, f"{place}, string {i + 1}", len(run.string))
    ids = [line.id for line in run.string if line.id is not None]
    for twice in sorted({i for i in ids if ids.count(i) > 1}):
        yield mistake(f"{place}, string", f'two strings have the id "{twice}"', "give each set-up its own id")


def _overlaps(run: Run, key: str, place: str, words: Words) -> Iterator[Problem]:
    stretches = sorted(getattr(run, key), key=lambda s: s.start)
    for first, second in pairwise(stretches):
        if second.start < first.end:
            yield mistake(
                f"{place}, {key}",
                f"two stretches overlap between {words.station(second.start)} and {words.station(first.end)}",
                "let one end where the next begins",
            )


def _gates(run: Run, place: str, words: Words) -> Iterator[Problem]:
    for i, gate in enumerate(run.gate):
        yield from _swing(gate, f"{place}, gate {i + 1}")
        if gate.width < LEAST_GATE:
            yield mistake(
                f"{place}, gate {i + 1}, width",
                f"an opening of {words.given(gate.width)} takes no leaf",
                "check the number and its unit",
            )
        far = gate.end
        if run.start is not None and gate.station < run.start:
            yield mistake(
                f"{place}, gate {i + 1}, station",
                f"the gate begins at {words.station(gate.station)}, before the run at "
                f"{words.station(run.start)}",
                "move the gate into the run",
            )
        if run.end is not None and far > run.end:
            yield mistake(
                f"{place}, gate {i + 1}, width",
                f"the gate reaches {words.station(far)}, past the run's end at {words.station(run.end)}",
                "move the gate into the run or make it narrower",
            )
    for first, second in pairwise(sorted(run.gate, key=lambda g: g.station)):
        if second.station < first.end:
            yield mistake(
                f"{place}, gate",
                f"two gates overlap at {words.station(second.station)}",
                "move one gate or make it narrower",
            )


def _string(line: StringLine, place: str, count: int) -> Iterator[Problem]:
    if (line.weight is None) != (line.pull is None):
        given, wanted = ("weight", "pull") if line.pull is None else ("pull", "weight")
        yield mistake(
            f"{place}, {given}", f"{given} is given without {wanted}", f"add {wanted}, or take {given} out"
        )
    if line.weight is not None and line.sag is not None:
        yield mistake(
            f"{place}, sag", "sag is given twice, as measured and by weight and pull", "keep one of the two"
        )
    if count > 1 and line.id is None:
        remedy = 'name each set-up, such as id = "A"'
        yield mistake(f"{place}, id", "one of several strings has no id", remedy)
    if line.start is not None and line.end is not None and line.end <= line.start:
        yield mistake(
            f"{place}, end", "the string ends before it starts", "write stations that grow along the run"
        )


def _swing(gate: Gate, place: str) -> Iterator[Problem]:
    if gate.open_angle is not None and gate.open_angle > math.pi + ROUNDING:
        yield mistake(
            f"{place}, open_angle", "a leaf opens by half a turn at most", "write an angle up to 180 deg"
        )
    if gate.swing_rise is not None and (gate.hinge is None or gate.swing is None or gate.leaves == 2):
        yield mistake(
            f"{place}, swing_rise",
            "readings in the swing belong to one leaf, one hinge post and one side",
            "add hinge and swing, with one leaf; or write slope_across instead",
        )

"""A lean taken from the fence itself: which boards of a run take it up, and where their edges come."""

from collections.abc import Iterator

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.building.lean import (
    LeanSpread,
    LeanTold,
    Toward,
    lean_problems,
    read_lean_question,
    spread_over_slots,
    told_problems,
)
from fencegrade.building.resume_ask import named_run
from fencegrade.fence.pickets.patterns import in_the_way
from fencegrade.job.as_built import PicketUp
from fencegrade.job.choices import Pattern
from fencegrade.planning.layout import stretches_of
from fencegrade.planning.plan import FencePlan
from fencegrade.planning.run import RunPlan
from fencegrade.problems import Problem, mistake, raise_mistakes, refuse, warning
from fencegrade.units.arrays import Indices, Truths, some_of
from fencegrade.units.words import Words, numbered

_OF_JOB = ("height", "spacing", "width")
"""Parts of a lean that a job's plan already says."""


class JobLean(Struct, frozen=True, kw_only=True, eq=False):
    """A lean spread over boards of a run: the run's name, numbers of those boards, edges by station, and what
    a builder must see."""

    run: str
    after: int
    numbers: tuple[int, ...]
    spread: LeanSpread
    problems: tuple[Problem, ...]


def job_lean(
    plan: FencePlan,
    run: str | None,
    after: int | None,
    told: LeanTold,
) -> JobLean:
    """Spread the lean of picket number `after` over the next ones of its stretch.

    `told`: its height, spacing and width are the plan's and must be None. A lean not given, and a board's
    width, are those written down of the picket; `after` None is the last one up. With two rows the leaning
    one's row takes it up. Errors: JobMistakesError with every mistake.
    """
    system = plan.units
    said, remedy = "the job already says it", "leave it out, or ask without the job"
    found = [mistake(part, said, remedy) for part in _OF_JOB if told.sizes[part] is not None]
    own = {part: None if part in _OF_JOB else text for part, text in told.sizes.items()}
    found += told_problems(replace(told, sizes=own), system)
    index, unknown = named_run([r.run.name for r in plan.runs], run)
    row = plan.runs[index]
    picket, wrong = _leaning(row, plan.job.pickets.pattern, after)
    recorded = next((p for p in plan.job.built.of(row.run.name).picket if p.number == picket), None)
    known = recorded is not None and recorded.lean is not None
    if not known:
        found += _lean_missing(told, None if unknown or wrong else picket)
    raise_mistakes([*found, *unknown, *([] if unknown else wrong)])
    member = np.flatnonzero((row.layout.row == 0) & _stretch(row, picket))
    slots = some_of(row.slots, member)
    last = int(np.flatnonzero(member == picket - 1)[0])
    tall = member[last + 1 :] if last + 1 < len(member) else member[last:]
    height = float(row.cuts.kept[tall].max()) * plan.mark
    gaps = slots.left[last + 1 :] - slots.right[last:-1]
    spacing = max(0.0, float(gaps.min())) if len(gaps) else plan.job.pickets.spacing
    width = float(slots.width[last]) if recorded is None or recorded.width is None else recorded.width
    planned = {"height": f"{height!r} in", "spacing": f"{spacing!r} in", "width": f"{width!r} in"}
    told = replace(told, sizes={**told.sizes, **planned})
    if recorded is not None:
        told = _lean_of(recorded, told)
    question = read_lean_question(told, system)
    spread = spread_over_slots(slots, last, question)
    if not spread.boards:
        at = Words.of_readings(system).station(float(slots.right[-1]))
        refuse("after", f"picket {picket} is the last before {at}", "set it plumb again")
    numbers = tuple(int(k) + 1 for k in member[last + 1 : last + 1 + spread.boards])
    return JobLean(
        run=row.run.name,
        after=picket,
        numbers=numbers,
        spread=spread,
        problems=(*lean_problems(question), *_by_record(plan, row, picket, member, numbers)),
    )


def _by_record(
    plan: FencePlan, row: RunPlan, picket: int, member: Indices, numbers: tuple[int, ...]
) -> Iterator[Problem]:
    """That the picket that leans does not stand by a record that has others, and boards that are to take the
    lean up and hang; `member`: the boards of their stretch."""
    if row.layout.coming[picket - 1] and any(run.picket for run in plan.job.built.run):
        found = f"picket {picket} of {row.run.name} is not up by the record of what stands"
        yield warning("after", found, "check its number and its run, or write it in built.toml")
    up = [n - 1 for n in numbers if not row.layout.coming[n - 1]]
    if up:
        last = int(member[~row.layout.coming[member]][-1])
        found = f"{numbered('picket', up)} {'is' if len(up) == 1 else 'are'} up already"
        remedy = "take down what is up and hang it again by these edges"
        if last != int(member[-1]):
            remedy += f", or begin after the last one up, {last + 1}"
        yield warning("after", found, remedy)


def _leaning(row: RunPlan, pattern: Pattern, after: int | None) -> tuple[int, list[Problem]]:
    """The number of the picket that leans, given or the last one up, and what is wrong with it."""
    up, count = np.flatnonzero(~row.layout.coming), len(row.slots)
    number = int(up[-1]) + 1 if after is None and len(up) else after
    if number is None:
        found, remedy = "it is not said which picket leans", "say its number"
    elif number < 1:
        found, remedy = "no picket is up, so none leans", "write the leaning one's number"
    elif number > count:
        found = f"{number} pickets are said to be up, but the plan has {count} in {row.run.name}"
        remedy = f"write 1 to {count}"
    elif row.layout.row[number - 1] != 0:
        found, near = in_the_way(pattern, number)
        remedy = f"give {near}"
    else:
        return number, []
    return 1, [mistake("after", found, remedy)]


def _stretch(row: RunPlan, number: int) -> Truths:
    """(n,) which pickets stand in the stretch of one of them."""
    faces, posts = row.ground.line.faces, row.layout.bays.posts
    ends = stretches_of(row.run, row.start, row.end, faces, posts, row.layout.style)
    middles = row.slots.centre
    here = float(middles[number - 1])
    start, end = next((a, b) for a, b in ends if a <= here <= b)
    return np.asarray((middles >= start) & (middles <= end))


def _lean_missing(told: LeanTold, number: int | None) -> Iterator[Problem]:
    """What is not said of a lean that is not written down, of picket `number` where that is known."""
    whose = "the lean" if number is None else f"the lean of picket {number}"
    if told.sizes["lean"] is None:
        found = f"{whose} is neither given nor written down"
        yield mistake("lean", found, "say how much over which height, or write lean in built.toml")
    elif told.sizes["over"] is None:
        found = f"it is not said over which height {whose} was measured"
        yield mistake("over", found, "say it, or write lean in built.toml")


def _lean_of(recorded: PicketUp, told: LeanTold) -> LeanTold:
    """What was said, with the lean as it was written down where there is one."""
    if recorded.lean is None:
        return told
    lean, over = recorded.lean
    sizes = dict(told.sizes)
    if sizes["lean"] is None or sizes["over"] is None:
        sizes |= {"lean": f"{abs(lean)!r} in", "over": f"{over!r} in"}
    return replace(told, sizes=sizes, toward=told.toward or (Toward.START if lean >= 0 else Toward.END))

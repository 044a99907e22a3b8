"""A lean taken from the fence itself: which boards of a run take it up, and where their edges come."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from fencegrade.building.lean import (
    LeanQuestion,
    LeanSpread,
    Toward,
    lean_problems,
    read_lean_question,
    spread_over_slots,
)
from fencegrade.building.resume_ask import read_ask
from fencegrade.building.resume_stretch import stretch_at
from fencegrade.fence.slots import Slots
from fencegrade.planning.plan import FencePlan
from fencegrade.problems import mistake, raise_mistakes
from fencegrade.units.words import Words


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JobLean:
    """A lean spread over boards of a run: the run's name, numbers of those boards, and edges by station."""

    run: str
    after: int
    numbers: tuple[int, ...]
    question: LeanQuestion
    spread: LeanSpread


def job_lean(
    plan: FencePlan,
    run: str | None,
    after: int | None,
    texts: Mapping[str, str | None],
    toward: Toward | None,
    boards: int | None,
) -> JobLean:
    """Spread the lean of picket number `after` over the next ones of its stretch.

    `texts`: as `read_lean_question` takes them; height, spacing and width are the plan's and must be None.
    With two rows the lean is spread over the pickets of the leaning one's row. Errors: JobMistakesError with
    every mistake found.
    """
    system = plan.job.job.units
    given = [option for option in ("--height", "--spacing", "--width") if texts[option] is not None]
    found = [mistake(option, "the job already says it", "take it out, or take --job out") for option in given]
    if after is None:
        found.append(mistake("--after", "it is not said which picket leans", "add --after N, its number"))
    raise_mistakes(found)
    assert after is not None
    if after < 1:
        raise_mistakes(
            [mistake("--after", "no picket is up, so none leans", "write the leaning one's number")]
        )
    ask = read_ask(plan, run=run, after=after, at=_edge_text(plan, run, after))
    row = plan.runs[ask.run]
    stretch = stretch_at(plan, ask.run, after)
    member = np.flatnonzero(row.layout.row == 0)
    member = member[(member >= stretch.first) & (member < stretch.past)]
    slots = Slots(left=row.slots.left[member], right=row.slots.right[member])
    last = int(np.flatnonzero(member == after - 1)[0])
    height = float(row.cuts.kept[member[last:]].max()) * plan.mark
    gaps = slots.left[last + 1 :] - slots.right[last:-1]
    spacing = float(gaps.min(initial=np.inf))
    filled = {
        **texts,
        "--height": f"{height!r} in",
        "--spacing": f"{max(0.0, spacing) if len(gaps) else plan.job.pickets.spacing!r} in",
        "--width": f"{float(slots.width[last])!r} in",
    }
    question = read_lean_question(filled, toward, boards, system)
    question = replace(question, assumed=tuple(a for a in question.assumed if texts.get(a[0]) is None))
    raise_mistakes(lean_problems(question))
    spread = spread_over_slots(slots, last, question.lean, height=height, limit=question.limit, boards=boards)
    if not spread.boards:
        at = Words.of_readings(system).station(stretch.end)
        found = [mistake("--after", f"picket {after} is the last before {at}", "set it plumb again")]
        raise_mistakes(found)
    numbers = tuple(int(k) + 1 for k in member[last + 1 : last + 1 + spread.boards])
    return JobLean(run=row.run.name, after=after, numbers=numbers, question=question, spread=spread)


def _edge_text(plan: FencePlan, run: str | None, after: int) -> str | None:
    """The planned edge of a picket as text, where the plan has it; else nothing, and the reader says why."""
    names = [r.run.name for r in plan.runs]
    index = names.index(run) if run in names else 0
    right = plan.runs[index].slots.right
    return f"{float(right[after - 1])!r} in" if 1 <= after <= len(right) else "0 in"

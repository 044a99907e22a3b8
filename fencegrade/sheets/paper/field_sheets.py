"""The field sheets: one PDF to take to the yard, black on white, large enough to read at arm's length."""

from collections.abc import Iterator

from reportlab.platypus import Flowable

from fencegrade.job.choices import PaperSize
from fencegrade.planning.plan import FencePlan
from fencegrade.sheets.digging import NOT_CHECKED, is_checked
from fencegrade.sheets.drawings.picture import known_fonts
from fencegrade.sheets.facts import grounds_of, provisional_mark
from fencegrade.sheets.paper.cover import cover, many_notes
from fencegrade.sheets.paper.gate import gates
from fencegrade.sheets.paper.hang import hanging
from fencegrade.sheets.paper.posts import posts, rails
from fencegrade.sheets.paper.saw import at_the_saw, boards_of_several
from fencegrade.sheets.paper.setting_out import setting_out
from fencegrade.sheets.paper.sheet import SIZES, Look, one_column, sheet_pdf, two_columns
from fencegrade.sheets.paper.side import from_the_side
from fencegrade.sheets.paper.yard import assumed, low_ground, yard_list
from fencegrade.units import UnitSystem


def field_sheets(plan: FencePlan) -> bytes:
    """The plan on paper, as PDF.

    `plan`: a whole plan. Result: the same bytes for the same plan, on the paper the job names, else Letter
    for an imperial job and A4 for a metric one. The job at a glance comes first, then setting out, then run
    by run the fence from the side, posts, rails, hanging, the saw, gates and low ground; the yard's list,
    what was assumed and sources come last. A job of more than `MOST_CHARTED` pickets has no chart on paper,
    and the sheets say so.
    """
    known_fonts()
    look = sheet_look(plan)
    return sheet_pdf(look, "Field sheets of a wood picket fence", list(_story(plan, look)))


def sheet_look(plan: FencePlan) -> Look:
    """What every page of a plan's sheets shows."""
    job = plan.job.job
    usual = PaperSize.LETTER if job.units is UnitSystem.IMPERIAL else PaperSize.A4
    tag = "" if is_checked(plan) else NOT_CHECKED
    return Look(title=job.title, tag=tag, size=SIZES[job.paper or usual], warned=_warned(plan))


def _warned(plan: FencePlan) -> dict[str, str]:
    """What stands at the head of the pages of each run that is provisional, and of those of every run."""
    heads = {run.run.name: provisional_mark((run.ground,)) for run in plan.runs}
    heads[_every(plan)] = provisional_mark(grounds_of(plan))
    return {place: head for place, head in heads.items() if head}


def _every(plan: FencePlan) -> str:
    """The place of pages that belong to the whole job."""
    return plan.runs[0].run.name if len(plan.runs) == 1 else "all runs"


def _story(plan: FencePlan, look: Look) -> Iterator[Flowable]:
    every = _every(plan)
    yield from cover(plan, look, every)
    yield from one_column()
    yield from setting_out(plan, look, every)
    for index, run in enumerate(plan.runs):
        place = run.run.name
        yield from one_column()
        yield from from_the_side(plan, index, look, place)
        yield from one_column()
        yield from posts(plan, index, look, place)
        yield from rails(plan, index, look, place)
        if run.layout.coming.any():
            yield from hanging(plan, index, look, place)
            yield from one_column()
            yield from at_the_saw(plan, index, look, place)
        if index == len(plan.runs) - 1:
            yield from boards_of_several(plan, look, every)
        yield from gates(plan, index, look, place)
        yield from low_ground(plan, index, look, place)
    yield from one_column()
    yield from yard_list(plan, look, every)
    yield from two_columns()
    yield from many_notes(plan)
    yield from assumed(plan, look, every)

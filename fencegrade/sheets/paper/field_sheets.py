"""The field sheets: one PDF to take to the yard, black on white, large enough to read at arm's length."""

from fencegrade.planning.plan import FencePlan
from fencegrade.sheets.digging import NOT_CHECKED, is_checked
from fencegrade.sheets.paper.cover import draw_before_digging, draw_cover, draw_last, draw_look_at
from fencegrade.sheets.paper.cut_pages import draw_chart, draw_saw_list, draw_shared_boards
from fencegrade.sheets.paper.page import Paper
from fencegrade.sheets.paper.schedules import draw_buying, draw_gates, draw_low_ground, draw_posts, draw_rails
from fencegrade.sheets.paper.strips import draw_strips


def field_sheets(plan: FencePlan) -> bytes:
    """The plan on paper, as PDF: A4 for a metric job, Letter for an imperial one.

    `plan`: a whole plan. Result: the same bytes for the same plan. The job at a glance comes first, then
    the list before digging, then run by run the drawing, posts, rails, cut chart, saw list, gates and low
    ground; buying list, assumptions and sources come last. A job of more than `MOST_CHARTED` pickets has no
    cut chart on paper, and the sheets say where it is.
    """
    return field_paper(plan).pdf("Field sheets of a wood picket fence")


def field_paper(plan: FencePlan) -> Paper:
    """The pages of the field sheets before they become a PDF."""
    job = plan.job.job
    paper = Paper(system=job.units, title=job.title, tag="" if is_checked(plan) else NOT_CHECKED)
    paper.place = _every_run(plan)
    draw_cover(paper, plan)
    draw_before_digging(paper, plan)
    draw_look_at(paper, plan)
    for index, run in enumerate(plan.runs):
        paper.place = run.run.name
        draw_strips(paper, plan, index)
        draw_posts(paper, plan, index)
        draw_rails(paper, plan, index)
        draw_chart(paper, plan, index)
        draw_saw_list(paper, plan, index)
        draw_gates(paper, plan, index)
        draw_low_ground(paper, plan, index)
    paper.place = _every_run(plan)
    draw_shared_boards(paper, plan)
    draw_buying(paper, plan)
    draw_last(paper, plan)
    return paper


def _every_run(plan: FencePlan) -> str:
    return plan.runs[0].run.name if len(plan.runs) == 1 else "all runs"

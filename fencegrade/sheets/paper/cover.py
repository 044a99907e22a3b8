"""The first sheet: how the fence stands, what is sure and what is not, what to buy."""

from collections.abc import Iterator

import numpy as np
from reportlab.platypus import Flowable

from fencegrade.fence.low_ground.gaps import GapAction
from fencegrade.planning.buying import buying_list
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.problems import Problem, Severity
from fencegrade.sheets.cautions import CHECK_THREE
from fencegrade.sheets.digging import is_checked
from fencegrade.sheets.drawings.elevation import legend, small_elevation
from fencegrade.sheets.facts import (
    EVERY_UP,
    UNTIL_READ,
    before_buying,
    board_words,
    cost_words,
    grounds_of,
    height_words,
    open_below,
    provisional_words,
    run_facts,
    space_words,
    tops_words,
    unpriced_words,
    up_words,
)
from fencegrade.sheets.mark_in_place import in_place, least_sure, sure
from fencegrade.sheets.paper.blocks import (
    Drawn,
    boxed,
    gap,
    heading,
    kept,
    named,
    named_all,
    set_out,
    taken,
    title,
    words,
)
from fencegrade.sheets.paper.sheet import Look
from fencegrade.sheets.screen.summary import ON_HAND, buy_words
from fencegrade.sheets.work import carried_words, pace_words
from fencegrade.units.words import Words, numbered, numbers, plural

_SHARES = (1.0, 0.85, 0.7, 0.6, 0.5, 0.4, 0.3, 0.0)
"""Sizes that drawings on the first sheet are tried in; each run has one to scale on a sheet of its own."""
_MOST_NOTES = 3
"""Notes that stand on the first sheet; more of them stand with what was assumed."""


def cover(plan: FencePlan, look: Look, place: str) -> Iterator[Flowable]:
    """The job at a glance: of several runs on one page, where smaller drawings of them or none leave room."""
    if len(plan.runs) > 1:
        for share in _SHARES:
            if taken(_cover(plan, look, place, share), look) <= look.height:
                return _cover(plan, look, place, share)
    return _cover(plan, look, place, 1.0)


def _cover(plan: FencePlan, look: Look, place: str, share: float) -> Iterator[Flowable]:
    """The job at a glance, its drawings at a share of their usual size, or none."""
    say = plan.words
    yield from title("The fence", place)
    yield from (boxed(f"{text}.") for text in provisional_words(grounds_of(plan)))
    if not is_checked(plan):
        yield boxed(
            "Buried lines: NOT CHECKED YET. Do not dig until every line of “Before you dig” is ticked."
        )
    to_set = plan.posts_to_set
    longest = max(run.end - run.start for run in plan.runs)
    for run, own in zip(plan.runs, to_set, strict=True):
        parts: list[Flowable] = [heading(f"{run.run.name}: {run.top.style} top")]
        if share:
            wide = look.width * (run.end - run.start) / longest
            picture, larger = small_elevation(run, plan, wide, share)
            parts += [Drawn(picture), gap(3)]
            if larger > 1:
                parts.append(words(f"Heights are drawn {larger:g} times the lengths.", small=True))
        yield kept(parts)
        said = list(run_said(plan, run, int(own.wanted.sum()), say))
        yield from [named_all(said)] if len(plan.runs) > 1 else (named(name, text) for name, text in said)
    warnings = [p for p in plan.problems if p.severity is not Severity.NOTE]
    if warnings:
        yield heading("Look at these first")
        yield from (named(p.place, p.message, small=len(plan.runs) > 1) for p in warnings)
    yield from _to_buy(plan, look, say)
    yield boxed(CHECK_THREE)
    if _on_cover(plan):
        yield kept(worth_knowing(plan))


def _on_cover(plan: FencePlan) -> bool:
    """Whether the notes stand on the first sheet, which a job of several runs fills without them."""
    return len(notes_of(plan)) <= _MOST_NOTES and len(plan.runs) == 1


def notes_of(plan: FencePlan) -> list[Problem]:
    """What is worth knowing and asks for nothing."""
    return [p for p in plan.problems if p.severity is Severity.NOTE]


def worth_knowing(plan: FencePlan) -> Iterator[Flowable]:
    """The notes that came with the plan."""
    if notes_of(plan):
        yield heading("Worth knowing")
        yield from (words(str(p), small=True) for p in notes_of(plan))


def many_notes(plan: FencePlan) -> Iterator[Flowable]:
    """The notes where there is no room for them on the first sheet."""
    if not _on_cover(plan):
        yield from worth_knowing(plan)


def run_said(plan: FencePlan, run: RunPlan, to_set: int, say: Words) -> Iterator[tuple[str, str]]:
    """What a builder wants to know of a run before anything else, name and words."""
    gates = f", {plural(len(run.layout.gates), 'gate')}" if run.layout.gates else ""
    yield (
        "Length",
        f"{say.station(run.end - run.start)}: {plural(len(run.slots), 'picket')}{up_words([run])}, "
        f"{plural(to_set, 'post')} to set, {plural(len(run.layout.bays), 'bay')}{gates}",
    )
    facts = run_facts(plan, run)
    yield "Picket tops", f"{tops_words(run, say)}; over the ground {height_words(plan, facts, say)}"
    yield (
        "Boards",
        f"{board_words(facts, say)}; spaces {space_words(run, say)}",
    )
    yield (
        "Below them",
        f"at most {open_below(run, facts.open_widest - 1, say)} (picket {facts.open_widest}) open",
    )
    soil = [k for g in run.gaps if g.action is GapAction.FILL for k in range(g.first - 1, g.last)]
    if soil:
        yield "Soil", f"under {numbered('picket', soil, 12)}"
    yield "Ready", sure_words(run)


def sure_words(run: RunPlan) -> str:
    """How many boards may be cut now, how sure the least sure is, and which are marked in place."""
    if not run.layout.coming.any():
        return EVERY_UP
    left = np.flatnonzero(in_place(run))
    worst = least_sure((run,))
    now = f"{plural(int(sure(run).sum()), 'board')} can be cut now{f' ({worst})' if worst else ''}"
    told = f"no board {UNTIL_READ}" if run.ground.provisional else now
    if not len(left):
        return told
    are = "is" if len(left) == 1 else "are"
    return f"{told}; {len(left)} {are} marked in place: {numbers((left + 1).tolist(), 14)}"


def _to_buy(plan: FencePlan, look: Look, say: Words) -> Iterator[Flowable]:
    bought = buying_list(plan)
    cost = f", {cost_words(bought.cost, plan.missing, say)}" if bought.cost is not None else ""
    lines = [words(buy_words(line, say), small=True) for line in bought.lines if line.to_buy]
    there = [buy_words(line, say).removesuffix(ON_HAND) for line in bought.lines if not line.to_buy]
    half = (len(lines) + 1) // 2
    rows = [[a, b] for a, b in zip(lines[:half], [*lines[half:], ""], strict=False)]
    halves = [look.width / 2] * 2
    parts: list[Flowable] = [heading(f"To buy{cost}")]
    if rows:
        parts.append(set_out(rows, halves, LEFTPADDING=0, TOPPADDING=0, BOTTOMPADDING=0, VALIGN="TOP"))
    if there:
        parts.append(words(f"On hand, and not to be bought: {'; '.join(there)}.", small=True))
    parts += [words(f"{text}.", bold=True) for text in before_buying(plan)]
    carried = f"{carried_words(plan, bought, say)}."
    parts.append(words(f"{unpriced_words(plan)} {carried}".lstrip(), small=True))
    if pace := pace_words(plan):
        parts.append(words(f"Work at your pace: {pace}.", small=True))
    yield kept(parts)


def legend_words(plan: FencePlan, run: RunPlan, pickets: np.ndarray) -> Iterator[Flowable]:
    """What must be said of some pickets under their drawing."""
    for sign, text in legend(run, plan, pickets):
        yield words(f"{sign} {text}".lstrip(), bold=bool(sign))

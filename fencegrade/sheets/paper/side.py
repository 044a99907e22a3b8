"""The fence from the side, to scale, in strips under one another."""

import math
from collections.abc import Iterator

import numpy as np
from reportlab.platypus import Flowable

from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.cautions import Work
from fencegrade.sheets.drawings.beside import NAMES, SIDE
from fencegrade.sheets.drawings.canvas import end_text
from fencegrade.sheets.drawings.parts import run_parts
from fencegrade.sheets.drawings.picture import BLACK, WHITE, Picture, Sketch
from fencegrade.sheets.drawings.strip import Strip, make_strip, strip_picture
from fencegrade.sheets.paper.blocks import Drawn, cautions_of, gap, kept, title, words
from fencegrade.sheets.paper.cover import legend_words
from fencegrade.sheets.paper.sheet import Look
from fencegrade.units import MM_PER_INCH, UnitSystem
from fencegrade.units.tolerances import SAME_LENGTH, WHOLE

POINTS = 72.0
"""Points in an inch of paper."""
SCALES = {
    UnitSystem.IMPERIAL: {
        24: "1/2 in = 1 ft",
        32: "3/8 in = 1 ft",
        48: "1/4 in = 1 ft",
        64: "3/16 in = 1 ft",
        96: "1/8 in = 1 ft",
        192: "1/16 in = 1 ft",
        384: "1/32 in = 1 ft",
    },
    UnitSystem.METRIC: {
        20: "1 : 20",
        25: "1 : 25",
        50: "1 : 50",
        100: "1 : 100",
        200: "1 : 200",
        500: "1 : 500",
    },
}
"""Scales that a scale rule has, largest first: inches of fence to an inch of paper, and their words."""
_ONE_PAGE = 110.0
"""Height (points) of the heading, the bar and the legend of a page."""
_USUAL = {UnitSystem.IMPERIAL: 64, UnitSystem.METRIC: 50}
"""The scale that is taken for runs of several pages; larger ones only for a run that fits one page."""
_MOST_PAGES = 3
"""Pages of one run, at most, before a smaller scale is taken."""
_MORE_STRIPS = 4
"""Times as many strips as the length alone asks for, at most, before a smaller scale is taken."""


def from_the_side(plan: FencePlan, index: int, look: Look, place: str) -> Iterator[Flowable]:
    """The elevation of one run on as few pages as a scale that can be read allows."""
    *before, last = _groups(plan, index, look, place)
    for group in before:
        yield from group
    yield kept(last)
    if planning_has_room(plan, look):
        yield from cautions_of(plan, Work.PLANNING)


def _groups(plan: FencePlan, index: int, look: Look, place: str) -> list[list[Flowable]]:
    """What the drawing of a run is made of: its head, its strips, the last of them with the legend."""
    run = plan.runs[index]
    scale, said, strips = scaled_strips(plan, run, look)
    told = f"Scale {said}, heights and lengths alike, if printed at full size; measure the bar."
    head = [*title("From the side", place), words(told), Drawn(_bar(plan, scale)), gap(4)]
    groups: list[list[Flowable]] = [
        head,
        *([Drawn(strip_picture(run, plan, strip)), gap(6)] for strip in strips),
    ]
    groups[-1][1:] = legend_words(plan, run, np.arange(len(run.slots)))
    return groups


def planning_has_room(plan: FencePlan, look: Look) -> bool:
    """Whether the cautions of planning stand under the drawing of a job of one run: where its last page has
    room for them; else they stand with the setting out.
    """
    if len(plan.runs) > 1:
        return False
    used = 0.0
    for group in (*_groups(plan, 0, look, ""), cautions_of(plan, Work.PLANNING)):
        high = sum(part.wrap(look.width, look.height)[1] + part.getSpaceAfter() for part in group)
        fits = used + high <= look.height
        used = used + high if fits else high
    return fits


def scaled_strips(plan: FencePlan, run: RunPlan, look: Look) -> tuple[int, str, list[Strip]]:
    """The largest scale of a scale rule that shows a run on one page if it can be read so, the words for it,
    and its strips; beyond the scales of a rule as small a one as a page asks for.
    """
    high = look.height - _ONE_PAGE

    def fits(scale: int, strips: list[Strip]) -> bool:
        most = 1.0 if scale < _USUAL[plan.units] else _MOST_PAGES
        few = sum(s.height + 6 for s in strips) / high <= most or scale >= max(SCALES[plan.units])
        return bool(strips) and few and max(s.height for s in strips) <= high

    tried = ((scale, said, _strips(plan, run, look, POINTS / scale)) for scale, said in _scales(plan.units))
    return next(one for one in tried if fits(one[0], one[2]))


def _scales(system: UnitSystem) -> Iterator[tuple[int, str]]:
    """Scales and their words, largest first, without end."""
    yield from SCALES[system].items()
    smaller = max(SCALES[system])
    while True:
        smaller *= 2
        yield smaller, f"1 : {smaller:,}"


def _strips(plan: FencePlan, run: RunPlan, look: Look, per: float) -> list[Strip]:
    """As few strips of a run as the width allows at `per` points to an inch; none where an opening or what
    stands about a face, which is not divided, is too wide for one."""
    room = (look.width - NAMES - SIDE) / per
    least = math.ceil((run.end - run.start) / room - WHOLE)
    for count in range(least, _MORE_STRIPS * least + 1):
        parts = run_parts(run, (run.end - run.start) / count)
        if all(part.end - part.start <= room + SAME_LENGTH for part in parts):
            return [make_strip(run, plan, part, per, per) for part in parts]
    return []


def _bar(plan: FencePlan, scale: int) -> Picture:
    """A bar of known length, to see whether the printer kept the scale."""
    system = plan.units
    imperial = system is UnitSystem.IMPERIAL
    wide = 2 * POINTS if imperial else 50 / MM_PER_INCH * POINTS
    sketch = Sketch()
    for k in range(4):
        a, b = k * wide / 4, (k + 1) * wide / 4
        sketch.line(((a, 3.0), (b, 3.0)), 6.0 if k % 2 == 0 else 1.0, BLACK if k % 2 == 0 else WHITE)
    sketch.line(((0.0, 0.0), (wide, 0.0), (wide, 6.0), (0.0, 6.0), (0.0, 0.0)), 0.8)
    real = end_text(wide * scale / POINTS, system, plan.mark)
    sketch.text(wide + 8, 7.0, f"{'2 in' if imperial else '50 mm'} on paper, {real} of fence", 10.0)
    return Picture(width=wide + 260, height=10.0, items=tuple(sketch.items))

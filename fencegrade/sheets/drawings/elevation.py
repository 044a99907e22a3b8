"""The fence seen square on, as it will stand: strips of a run one under another, to one scale."""

import math
from collections.abc import Callable, Iterator, Sequence

import numpy as np

from fencegrade.fence.low_ground.gaps import GapAction
from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.drawings.beside import NAMES, SIDE
from fencegrade.sheets.drawings.canvas import end_text
from fencegrade.sheets.drawings.parts import run_parts
from fencegrade.sheets.drawings.picture import BLACK, Picture, Sketch, wrapped
from fencegrade.sheets.drawings.seen import FLAGGED, LOOK_AT
from fencegrade.sheets.drawings.strip import Strip, draw_strip, make_strip, strip_picture
from fencegrade.sheets.facts import open_below, over_height, provisional_mark
from fencegrade.units.arrays import Indices
from fencegrade.units.words import Words, numbered, numbers

WIDTH = 740.0
"""Points across a picture; fits Letter and A4 laid sideways."""
LONGEST = 480.0
"""Longest strip (in): 40 ft, some 12 m."""
HIGHEST = 900.0
"""Points that a strip is high at most: steeper or deeper ground is drawn to a smaller scale."""
MOST_STRIPS = 3
"""Strips in one picture."""

LEFT_LONG, URGENT = "■", "▼"
"""Signs of the legend: boards in the accent, and those that have a mark over them besides."""

MARGIN = 14.0
TITLE, _LINE = 14.0, 10.5
_MOST_UP = 3.2
"""Points to an inch at most, so that a short run is not drawn larger than it can be looked at."""


def elevation_figures(run: RunPlan, plan: FencePlan) -> list[Picture]:
    """The elevation of one run, in as many pictures as it needs.

    `run`: one of the plan's runs; `plan`: the whole plan. Every picture is at one scale, heights and lengths
    alike.
    """
    parts = run_parts(run, LONGEST)
    longest = max(part.end - part.start for part in parts)
    scale = min((WIDTH - 2 * MARGIN - NAMES - SIDE) / longest, _MOST_UP)
    strips = [make_strip(run, plan, part, scale, scale) for part in parts]
    tallest = max(strip.high - strip.low for strip in strips)
    if tallest * scale > HIGHEST:
        scale = HIGHEST / tallest
        strips = [make_strip(run, plan, part, scale, scale) for part in parts]
    groups = [strips[k : k + MOST_STRIPS] for k in range(0, len(strips), MOST_STRIPS)]
    return [_picture(run, plan, group) for group in groups]


def _picture(run: RunPlan, plan: FencePlan, strips: Sequence[Strip]) -> Picture:
    sketch, room = Sketch(), WIDTH - 2 * MARGIN
    pickets = np.concatenate([s.part.pickets for s in strips])
    line = heading_line(run, plan, strips[0].part.start, strips[-1].part.end, pickets)
    title = plan.job.title
    doubted = ((mark, _LINE, True),) if (mark := provisional_mark((run.ground,))) else ()
    y = 8 + sketch.head(MARGIN, MARGIN, room, ((title, TITLE, True), (line, _LINE, False), *doubted))
    for strip in strips:
        draw_strip(sketch, run, plan, strip, MARGIN, y)
        y += strip.height + 8
    for sign, text in legend(run, plan, pickets):
        y = _write_legend(sketch, sign, text, y, room)
    return Picture(
        width=WIDTH,
        height=round(y + MARGIN, 2),
        items=tuple(sketch.items),
        title=f"{title}: {line}",
        description=described(run, plan, pickets),
    )


def _write_legend(sketch: Sketch, sign: str, text: str, y: float, room: float) -> float:
    """One line of the legend behind its sign; where the next one goes."""
    size, at = _LINE, np.array([MARGIN, y + 2])
    if sign == LEFT_LONG:
        sketch.surfaces([np.array([(0, 0), (9, 0), (9, 9), (0, 9)]) + at], FLAGGED, 0.5, accent=True)
    elif sign == URGENT:
        sketch.surfaces([np.array([(0, 1), (9, 1), (4.5, 9)]) + at], BLACK, 0)
    for one in wrapped(text, room - 16, size):
        sketch.text(MARGIN + 16, y + size, one, size)
        y += 1.3 * size
    return y


def heading_line(run: RunPlan, plan: FencePlan, start: float, end: float, pickets: Indices) -> str:
    """What is seen, in one line: run, stretch, pickets, top, and heights over the ground."""
    say, job = plan.words, plan.job.job
    stretch = f"{end_text(start, job.units, plan.mark)} to {end_text(end, job.units, plan.mark)}"
    which = numbers((int(i) + 1 for i in pickets), most=2) or "none"
    line = f"{run.run.name}, {stretch}: pickets {which}, {run.top.style} top"
    if len(pickets):
        low, high = run.cuts.height[pickets].min(), run.cuts.tallest[pickets].max()
        line += f", {say.height(low)} to {say.height(high)} over the ground"
    return line


def legend(run: RunPlan, plan: FencePlan, pickets: Indices) -> Iterator[tuple[str, str]]:
    """What must be said of some pickets: the sign they are drawn with, empty for none, and the words."""
    say = plan.words
    for flag in (f for f in PicketFlag if f not in _DRAWN):
        which = pickets[run.flags[flag][pickets]]
        for words, own in _flag_words(flag, run, say, which):
            told = f"{words}: {numbered('picket', own, 24)}"
            yield LEFT_LONG if flag is PicketFlag.MARK_IN_PLACE else URGENT * (flag in LOOK_AT), told
    for action, words in ((GapAction.FILL, "soil under"), (GapAction.KICKBOARD, "kickboard under")):
        over = pickets_over(run, pickets, action)
        if len(over):
            yield "", f"{words} {numbered('picket', over, 24)}"
    yield from _standing_words(run, pickets)


_DRAWN = (PicketFlag.STANDS, PicketFlag.KEPT_OPEN)
"""Flags that no words below the drawing tell: they are written in it."""


def _standing_words(run: RunPlan, pickets: Indices) -> Iterator[tuple[str, str]]:
    """How what stands already is told from what is to come."""
    posts, up = np.flatnonzero(run.posts.standing), pickets[~run.layout.coming[pickets]]
    if len(posts):
        yield "", f"drawn white, standing already: {numbered('post', posts)}"
    if len(up):
        yield "", f"drawn grey, up already: {numbered('picket', up)}"


def pickets_over(run: RunPlan, pickets: Indices, action: GapAction) -> Indices:
    """Those of some pickets that stand over low ground with one action."""
    chosen = [np.arange(g.first - 1, g.last) for g in run.gaps if g.action is action]
    return pickets[np.isin(pickets, np.concatenate(chosen))] if chosen else pickets[:0]


def _flag_words(
    flag: PicketFlag, run: RunPlan, say: Words, which: Indices
) -> Iterator[tuple[str, list[int]]]:
    """What a flag says of the pickets that have it, and of which: each is ripped to its own width."""
    own = [int(i) for i in which]
    if not own:
        return
    match flag:
        case PicketFlag.GAP:
            up = run.flags[PicketFlag.STANDS]
            for told, some in ((str(flag), which[~up[which]]), (_TOO_SHORT, which[up[which]])):
                if these := some.tolist():
                    upto = _up_to(these, lambda i: open_below(run, i, say), lambda i: float(run.cuts.gap[i]))
                    yield f"{told}, {upto} open", these
        case PicketFlag.NO_SOIL:
            yield f"{flag} may lie under them", own
        case PicketFlag.OVER_HEIGHT:
            upto = _up_to(own, lambda i: over_height(run, i, say), lambda i: float(run.cuts.tallest[i]))
            yield f"{flag}, {upto}", own
        case PicketFlag.RIPPED | PicketFlag.SLIVER:
            alike: dict[str, list[int]] = {}
            for i in own:
                alike.setdefault(say.fine(float(run.slots.width[i])), []).append(i)
            yield from ((f"{flag} to {wide}", these) for wide, these in alike.items())
        case PicketFlag.MARK_IN_PLACE:
            yield f"{flag}, leave long", own
        case _:
            yield str(flag), own


_TOO_SHORT = "stands too short"
"""What is told of a picket that is up and leaves too much open: it can be scribed no more."""


def _up_to(which: Sequence[int], told: Callable[[int], str], large: Callable[[int], float]) -> str:
    """What is told of some pickets in one text: that of the largest, `up to` it where others differ."""
    most = told(max(which, key=large))
    return most if all(told(i) == most for i in which) else f"up to {most}"


def described(run: RunPlan, plan: FencePlan, pickets: Indices) -> str:
    """The drawing in words, for those who cannot see it."""
    start, end = run.start, run.end
    told = [f"{mark}."] if (mark := provisional_mark((run.ground,))) else []
    told += [
        f"Elevation of {heading_line(run, plan, start, end, pickets)}.",
        f"{len(pickets)} pickets under a {run.top.style} top.",
    ]
    told += [f"{text}." for _, text in legend(run, plan, pickets)]
    return " ".join(told)


_TALLEST = 200.0
"""Points that a small elevation is high at most: a steep or deep run is drawn narrower."""
_MOST_LARGER = 4.0
"""How many times larger its heights may be drawn than its lengths, so that a long run is still seen."""


def small_elevation(run: RunPlan, plan: FencePlan, width: float, share: float = 1.0) -> tuple[Picture, float]:
    """A whole run at a glance without words, `width` points across; `share`: of its usual size.

    Result: the picture, and how many times larger its heights are drawn than its lengths.
    """
    (part,) = run_parts(run, math.inf)
    along = min(width / (part.end - part.start), 1.4) * share
    strip = make_strip(run, plan, part, along, along, words=False)
    along = min(along, share * _TALLEST / (strip.high - strip.low))
    wanted = share * 58.0 / ((strip.high - strip.low) * along)
    larger = min(max(1.0, round(2 * wanted) / 2), _MOST_LARGER)
    strip = make_strip(run, plan, part, along, along * larger, words=False)
    return strip_picture(run, plan, strip), larger

"""The words of an elevation drawing: what is written, where it would best stand, and how much it matters."""

from collections.abc import Iterator

import numpy as np
from matplotlib.axes import Axes

from fencegrade.fence.low_ground.gaps import GapAction
from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.fence.slots import Floats
from fencegrade.ground.strings import ONLY_STRING
from fencegrade.job.records import HeightRule, TopStyle
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.drawings import style
from fencegrade.sheets.drawings.canvas import Scale, end_text
from fencegrade.sheets.drawings.labels import Label, Spot, beside, fitted, over, text_size, under
from fencegrade.sheets.drawings.parts import Part, posts_in
from fencegrade.sheets.drawings.picket_shapes import Indices
from fencegrade.sheets.facts import limit_line, open_below, over_height
from fencegrade.sheets.words import Words, numbers

_NUMBER_STEPS = (1, 2, 5, 10, 20, 50, 100)
_NAME_ROOM = 330.0
"""Points the name of a run may take in the second line."""
_WIDE = (0.0, 45.0, -45.0, 90.0, -90.0, 140.0, -140.0, 200.0, -200.0, 280.0, -280.0)
"""Sideways shifts (points) at which a word about a stretch is tried."""
_NEAR = (3, 6, 12, 24, 48, 10_000)
"""Flagged pickets no further apart than this many share one word; the first that gives few enough words."""
_MOST_GROUPS = 4


def second_line(run: RunPlan, plan: FencePlan, part: Part) -> str:
    """What the drawing shows, under its heading."""
    name = fitted(run.run.name, _NAME_ROOM, style.SUBTITLE_SIZE)
    which = f"part {part.number} of {part.of}, " if part.of > 1 else ""
    pickets = numbers((int(i) + 1 for i in part.pickets), most=3) or "none"
    return f"{name}: {which}{_stretch(plan, part)}, pickets {pickets}, {plan.style} top"


def _stretch(plan: FencePlan, part: Part) -> str:
    units, mark = plan.job.job.units, plan.mark
    return f"{end_text(part.start, units, mark)} to {end_text(part.end, units, mark)}"


def described(run: RunPlan, plan: FencePlan, part: Part) -> str:
    """The drawing in words, for those who cannot see it."""
    say = Words.of(plan.job.job)
    told = [
        f"Elevation of {run.run.name} from {_stretch(plan, part)}: "
        f"{len(part.pickets)} pickets under a {plan.style} top."
    ]
    if len(part.pickets):
        told.append(
            f"Height above the ground {say.height(run.cuts.height[part.pickets].min())} "
            f"to {say.height(run.cuts.tallest[part.pickets].max())}."
        )
    told += [f"{text}." for _, text in _flag_texts(run, say, part)]
    return " ".join(told).replace("\n", " ")


def elevation_labels(axes: Axes, run: RunPlan, plan: FencePlan, part: Part, scale: Scale) -> Iterator[Label]:
    """Every label of one part, the stations apart."""
    say = Words.of(plan.job.job)
    yield from _flag_labels(run, say, part)
    yield from _gap_labels(run, say, part)
    yield from _stock_labels(run, plan, say, part)
    yield from _heights(axes, run, say, part)
    yield from _number_labels(run, part, scale)
    yield from _gate_labels(run, say, part)
    yield from _line_labels(run, plan, say, part)
    yield from _ground_labels(run, say, part)
    yield from _post_labels(run, part)


def _clusters(indices: Indices) -> list[Indices]:
    """Indices in at most a few groups whose members stand near one another."""
    groups: list[Indices] = []
    for near in _NEAR:
        groups = [g for g in np.split(indices, np.flatnonzero(np.diff(indices) > near) + 1) if len(g)]
        if len(groups) <= _MOST_GROUPS:
            break
    return groups


def commonest(stock: Indices) -> int:
    """Index of the stock most pickets are cut from; -1 where none serves any."""
    served = stock[stock >= 0]
    return int(np.bincount(served).argmax()) if len(served) else -1


def _named(indices: Indices) -> str:
    word = "picket" if len(indices) == 1 else "pickets"
    return f"{word} {numbers((int(i) + 1 for i in indices), most=3)}".replace(" and ", "\nand ")


def _flag_texts(run: RunPlan, say: Words, part: Part) -> Iterator[tuple[Indices, str]]:
    """Flagged pickets near one another, with what is to be said of them."""
    for flag in PicketFlag:
        if flag not in run.flags:
            continue
        for group in _clusters(part.pickets[run.flags[flag][part.pickets]]):
            yield group, f"{_named(group)}:\n{_flag_words(flag, run, say, group)}"


def words_under_ground(run: RunPlan, plan: FencePlan, part: Part) -> int:
    """How many words about low ground and pickets want room under the ground."""
    say = Words.of(plan.job.job)
    flagged = [text for _, text in _flag_texts(run, say, part) if PicketFlag.OVER_HEIGHT not in text]
    return len(flagged) + len(list(_gap_labels(run, say, part)))


def _flag_words(flag: PicketFlag, run: RunPlan, say: Words, group: Indices) -> str:
    match flag:
        case PicketFlag.GAP:
            return f"open {open_below(run, int(group[run.cuts.gap[group].argmax()]), say)}, {flag}"
        case PicketFlag.OVER_HEIGHT:
            check = run.height_check
            if check is not None and check.rule is HeightRule.AVERAGE:
                return f"{flag}, {over_height(run, int(group[0]), say)}"
            return f"{flag}, up to {say.height(run.cuts.tallest[group].max())}"
        case PicketFlag.RIPPED | PicketFlag.SLIVER:
            return f"{flag} to {say.length(run.slots.width[group].min())}"
        case _:
            return str(flag)


def _flag_labels(run: RunPlan, say: Words, part: Part) -> Iterator[Label]:
    for group, text in _flag_texts(run, say, part):
        middle = float(run.slots.centre[group[len(group) // 2]])
        high = PicketFlag.OVER_HEIGHT in text
        z = float(run.cuts.top[group].max()) if high else _ground(run, middle)
        spots = over(26, 4, shifts=_WIDE) if high else under(9, 9, shifts=_WIDE)
        yield Label(
            text=text, at=((middle, z),), spots=spots, rank=1, color=style.BLACK, bold=True, leader=True
        )


def _gap_labels(run: RunPlan, say: Words, part: Part) -> Iterator[Label]:
    for gap in run.gaps:
        a, b = max(gap.start, part.start), min(gap.end, part.end)
        if b <= a or gap.action not in (GapAction.FILL, GapAction.LEAVE_OPEN):
            continue
        text = f"{_named(np.arange(gap.first - 1, gap.last))}:\n{_gap_words(gap.action, say, gap.deepest)}"
        middle = (a + b) / 2
        at = ((middle, _ground(run, middle)),)
        yield Label(text=text, at=at, spots=under(9, 9, shifts=_WIDE), rank=2, leader=True)


def _gap_words(action: GapAction, say: Words, deepest: float) -> str:
    if action == GapAction.FILL:
        return f"fill, {say.length(deepest)} open without"
    return "kept open for water"


def _stock_labels(run: RunPlan, plan: FencePlan, say: Words, part: Part) -> Iterator[Label]:
    """Which boards the pickets are cut from, where more than one length is used."""
    used = np.unique(run.stock[run.stock >= 0])
    if len(used) < 2:
        return
    for k in map(int, used):
        for group in _clusters(part.pickets[run.stock[part.pickets] == k]):
            at = tuple(_spots_on(run, group))
            yield Label(
                text=f"{_stock_text(plan.stock.offered[k].length, say)} boards",
                at=at,
                spots=(Spot(),),
                rank=3,
            )


def _spots_on(run: RunPlan, group: Indices) -> Iterator[tuple[float, float]]:
    """Places on the pickets of a group, the middles of its longest rows of neighbours first."""
    rows = np.split(group, np.flatnonzero(np.diff(group) > 1) + 1)
    for row in sorted(rows, key=len, reverse=True):
        for along in (4, 3, 5, 2, 6):
            i = row[len(row) * along // 8]
            low, high = float(run.cuts.bottom_left[i]), float(run.cuts.top[i])
            for up in (0.3, 0.2, 0.7):
                yield float(run.slots.centre[i]), low + up * (high - low)


def _stock_text(inches: float, say: Words) -> str:
    return f"{inches / 12:g} ft" if say.unit == "in" and inches % 12 == 0 else say.length(inches)


def _heights(axes: Axes, run: RunPlan, say: Words, part: Part) -> Iterator[Label]:
    """Dimension lines at the shortest and the tallest height above the ground."""
    if not len(part.pickets):
        return
    heights, tallest = run.cuts.height[part.pickets], run.cuts.tallest[part.pickets]
    low, high = int(np.argmin(heights)), int(np.argmax(tallest))
    if say.height(heights[low]) == say.height(tallest[high]):
        middle = len(part.pickets) // 2
        yield _dimension(axes, run, int(part.pickets[middle]), float(heights[middle]), say, "height")
        return
    yield _dimension(axes, run, int(part.pickets[low]), float(heights[low]), say, "shortest")
    yield _dimension(axes, run, int(part.pickets[high]), float(tallest[high]), say, "tallest")


def _dimension(axes: Axes, run: RunPlan, picket: int, height: float, say: Words, word: str) -> Label:
    x, top = float(run.slots.centre[picket]), float(run.cuts.top[picket])
    arrow = {
        "arrowstyle": "<|-|>",
        "mutation_scale": 7,
        "lw": 1.1,
        "color": style.BLACK,
        "shrinkA": 0,
        "shrinkB": 0,
    }
    axes.annotate("", (x, top), xytext=(x, top - height), arrowprops=arrow, zorder=10, annotation_clip=False)
    at = tuple((x, top - height * share) for share in (0.5, 0.35, 0.65, 0.2, 0.8))
    return Label(text=f"{word} {say.height(height)}", at=at, spots=beside(5), rank=1, bold=True)


def _number_labels(run: RunPlan, part: Part, scale: Scale) -> Iterator[Label]:
    if not len(part.pickets):
        return
    room = text_size(f"{int(part.pickets[-1]) + 1}", style.SMALL_SIZE)[0] + 6
    apart = np.diff(run.slots.centre[part.pickets])
    pitch = float(np.median(apart)) * scale.paper * style.POINTS if len(apart) else room
    step = next((s for s in _NUMBER_STEPS if s * pitch >= room), _NUMBER_STEPS[-1])
    ends = (int(part.pickets[0]), int(part.pickets[-1]))
    for i in map(int, part.pickets):
        clear = min(i - ends[0], ends[1] - i) >= 0.75 * step
        if i in ends or (clear and (i + 1) % step == 0):
            yield Label(
                text=f"{i + 1}",
                at=((float(run.slots.centre[i]), float(run.cuts.top[i])),),
                spots=over(2.5),
                rank=1 if i in ends else 6,
                size=style.SMALL_SIZE,
                boxed=False,
            )


def _gate_labels(run: RunPlan, say: Words, part: Part) -> Iterator[Label]:
    for gate in run.run.gate:
        left, right = max(gate.station, part.start), min(gate.station + gate.width, part.end)
        if right > left:
            x = (left + right) / 2
            low = float(run.ground.profile.highest(left, right))
            high = float(run.top.at(np.array([x]))[0])
            at = tuple((x, low + share * (high - low)) for share in (0.5, 0.7, 0.3, 0.85))
            text = f"gate\n{say.height(gate.width)}"
            yield Label(text=text, at=at, spots=(Spot(), *over(14, 2)), rank=2)


def _line_labels(run: RunPlan, plan: FencePlan, say: Words, part: Part) -> Iterator[Label]:
    yield from _top_labels(run, plan, say, part)
    for string in run.ground.strings:
        a, b = max(string.start, part.start), min(string.end, part.end)
        if b > a:
            at = _along(a, b, string.elevation(_shares(a, b)))
            yield Label(
                text=_string_name(string.id),
                at=at,
                spots=(*under(2), *over(2)),
                rank=3,
                color=style.GREEN,
                bold=True,
            )
    if plan.job.top.most_height is not None:
        x = _shares(part.start, part.end)
        ground = run.ground.profile.elevation(x)
        at = _along(part.start, part.end, limit_line(run, plan.job.top.most_height, ground, x))
        text = f"height limit {say.height(plan.job.top.most_height)}"
        yield Label(text=text, at=at, spots=(*over(2), *under(2)), rank=3)


def _string_name(name: str) -> str:
    return "string" if name == ONLY_STRING else f"string {name}"


def _top_labels(run: RunPlan, plan: FencePlan, say: Words, part: Part) -> Iterator[Label]:
    """The top line's height at both ends, or once where it is level."""
    level = plan.style is TopStyle.LEVEL
    for x, inward in ((part.start, 1), (part.end, -1))[: 1 if level else 2]:
        z = float(run.top.at(np.array([x]))[0])
        spots = tuple(
            Spot(right=inward * shift, up=up, side="left" if inward > 0 else "right", base="bottom")
            for shift in (0.0, 60.0, 120.0)
            for up in (14.0, 25.0, 36.0, 47.0, 58.0)
        )
        yield Label(
            text=_top_text(run, say, x, z), at=((x, z),), spots=spots, rank=2, color=style.BLUE, bold=True
        )


def _top_text(run: RunPlan, say: Words, x: float, z: float) -> str:
    """The top's height at a station, from the string there if there is one."""
    for string in run.ground.strings:
        if string.start - 1e-6 <= x <= string.end + 1e-6:
            rise = z - float(string.elevation(x))
            way = "above" if rise >= 0 else "below"
            return f"top {say.length(abs(rise))} {way} {_string_name(string.id)}"
    return f"top at elevation {say.length(z)}"


def _ground_labels(run: RunPlan, say: Words, part: Part) -> Iterator[Label]:
    x = _shares(part.start, part.end)
    at = _along(part.start, part.end, run.ground.profile.elevation(x))
    yield Label(text="ground", at=at, spots=under(5), rank=4, boxed=False)
    readings = run.ground.stations
    seen = np.flatnonzero((readings >= part.start) & (readings <= part.end))
    if len(seen):
        at = tuple((float(readings[i]), float(run.ground.elevations[i])) for i in seen[1:])
        yield Label(text="reading", at=at, spots=under(8, 3, shifts=(0.0, 25.0, -25.0)), rank=5, leader=True)
    line = run.ground.profile.line
    for face in line.faces:
        if part.start < face < part.end:
            after, before = float(line.elevation(face)), float(line.elevation(face, before=True))
            text = f"face {say.length(abs(after - before))}"
            yield Label(
                text=text,
                at=((float(face), min(after, before)),),
                spots=under(8, 3, shifts=_WIDE),
                rank=3,
                leader=True,
            )


def _post_labels(run: RunPlan, part: Part) -> Iterator[Label]:
    for post in posts_in(run, part):
        yield Label(
            text=f"post {post.number}" + (", stands" if post.standing else ""),
            at=((post.station, post.foot),),
            spots=under(2),
            rank=0,
            size=style.SMALL_SIZE,
            boxed=False,
        )


def _ground(run: RunPlan, x: float) -> float:
    return float(run.ground.profile.elevation(x))


def _shares(a: float, b: float) -> Floats:
    return a + (b - a) * np.array([0.85, 0.12, 0.3, 0.6, 0.45, 0.72, 0.93])


def _along(a: float, b: float, z: Floats) -> tuple[tuple[float, float], ...]:
    return tuple((float(x), float(y)) for x, y in zip(_shares(a, b), z, strict=True))

"""The words beside a fence seen from the side: numbers over it; stretches, posts, bays, stations under it."""

import math
from collections.abc import Iterator, Sequence

import numpy as np
from msgspec import Struct

from fencegrade.fence.low_ground.gaps import GapAction
from fencegrade.fence.pickets.flags import PicketFlag
from fencegrade.job.choices import LeafShape
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.drawings.canvas import end_text, station_text, stations_between
from fencegrade.sheets.drawings.parts import Part, posts_in
from fencegrade.sheets.drawings.picture import BLACK, Sketch, fitted, text_width
from fencegrade.sheets.drawings.seen import LOOK_AT, View, any_of
from fencegrade.units.arrays import Floats
from fencegrade.units.tolerances import ROUNDING, SAME_LENGTH
from fencegrade.units.words import Words

SIZE = 10.0
"""Type size of every word beside a strip, points."""
ROW = 1.2 * SIZE
"""Height of a row of words."""
BRACKET = ROW + 5.0
"""Height of a row of brackets with their words."""
NAMES = 50.0
"""Room at the left for the names of lines, points."""
SIDE = 12.0
"""Room at the right, points."""
_MARK = 3.0
"""Half the width, at most, of the mark over a board that wants deciding, points."""
_AIR = 4.0
"""Points kept free between two words of one row."""
_ASIDE = 6.0
"""Points that the number of a post is moved aside at most, so that its neighbour's has room too."""


class Bracket(Struct, frozen=True, kw_only=True):
    """A stretch told in a word under the fence; stations in inches."""

    start: float
    end: float
    text: str


Brackets = tuple[tuple[Bracket, ...], ...]
"""Brackets row by row."""


def brackets_of(run: RunPlan, words: Words, part: Part) -> Iterator[Bracket]:
    """Stretches with a word under the fence: soil, kickboards, what is kept open, faces, gates, and strings
    that begin within the part; those that run on from before it are named at its left.
    """
    told = {
        GapAction.FILL: "soil",
        GapAction.KICKBOARD: "kickboard",
        GapAction.LEAVE_OPEN: "kept open",
        GapAction.NONE: "stays open",
    }
    for gap in run.gaps:
        a, b = max(gap.start, part.start), min(gap.end, part.end)
        if b > a and gap.action in told:
            deep = f" {words.length(gap.fill_depth)}" if gap.fill_depth else ""
            yield Bracket(start=a, end=b, text=f"{told[gap.action]}{deep}")
    line = run.ground.line
    for face in line.faces:
        if part.start < face < part.end:
            rise = abs(float(line.elevation(face)) - float(line.elevation(face, before=True)))
            yield Bracket(start=float(face), end=float(face), text=f"face {words.length(rise)}")
    for gate in run.layout.gates:
        a, b = gate.gate.station, gate.gate.end
        if part.start <= (a + b) / 2 <= part.end:
            how = "pair" if len(gate.chosen) > 1 else f"opens {gate.chosen[0].swing}"
            leant = [f.shape is LeafShape.RAKED for f in gate.chosen]
            raked = ", raked" if all(leant) else ", one raked" * any(leant)
            text = f"{words.given(gate.gate.width, feet=True)}, {how}{raked}"
            yield Bracket(start=max(a, part.start), end=min(b, part.end), text=text)
    for string in run.ground.strings:
        if part.start + SAME_LENGTH < string.start < part.end - SAME_LENGTH:
            yield Bracket(start=string.start, end=min(string.end, part.end), text=string.name)


def packed(found: list[Bracket], part: Part, along: float) -> Brackets:
    """Brackets in as few rows as keep their words apart; none leaves the strip."""
    rows: list[list[Bracket]] = []
    ends: list[float] = []
    for one in sorted(found, key=lambda b: (b.start, b.end, b.text)):
        a, b = _word_span(one, part, along)
        k = next((k for k, end in enumerate(ends) if a >= end + 2 * _AIR), len(rows))
        if k == len(rows):
            rows.append([])
        rows[k].append(one)
        ends[k : k + 1] = [b]
    return tuple(map(tuple, rows))


def _word_span(one: Bracket, part: Part, along: float) -> tuple[float, float]:
    """From where to where (points from the strip's start) a bracket with its word reaches."""
    a, b = (one.start - part.start) * along, (one.end - part.start) * along
    wide, most = text_width(one.text, SIZE), (part.end - part.start) * along + SIDE
    middle = min(max((a + b) / 2, wide / 2 - NAMES + 8), most - wide / 2)
    return min(a, middle - wide / 2), max(b, middle + wide / 2)


def write_names(sketch: Sketch, names: Sequence[tuple[float, str]], view: View) -> None:
    """Names of lines at the left, one under another where the lines run close, each joined to its line."""
    lowest = -math.inf
    for at, name in sorted(names):
        y = max(at, lowest + ROW)
        lowest = y
        sketch.text(view.left - 9, y + 0.35 * SIZE, fitted(name, NAMES - 10, SIZE), SIZE, anchor=1.0)
        sketch.line(((view.left - 7, y), (view.left - 1, at)), 0.5)


def write_numbers(sketch: Sketch, run: RunPlan, plan: FencePlan, part: Part, view: View) -> None:
    """Numbers over the boards as room allows, the gate's name, and a mark over boards that want deciding."""
    urgent = any_of(run, set(LOOK_AT) - {PicketFlag.MARK_IN_PLACE})
    for i in map(int, part.pickets):
        if urgent[i]:
            x, y = view.x(float(run.slots.centre[i])), view.y(float(run.cuts.top[i])) - 2
            half = min(_MARK, 0.45 * float(run.slots.width[i]) * view.along)
            sketch.surfaces(
                [np.array([(x - half, y - 2 * half), (x + half, y - 2 * half), (x, y)])], BLACK, 0
            )
    aside = plan.job.posts.width / 2
    posts = np.array([(p.station - aside, p.station + aside, p.top) for p in posts_in(run, part)])
    posts = posts.reshape(-1, 3)
    shown: list[tuple[float, float]] = []
    for gate in run.run.gate:
        middle = gate.station + gate.width / 2
        if part.start <= middle <= part.end:
            here = np.array([middle])
            half = text_width("gate", SIZE, bold=True) / 2
            high = max(
                float(run.top.at(here)[0]), _strings_over(run, here), _posts_over(posts, view, middle, half)
            )
            _write_over(sketch, view.x(middle), view.y(high) - 8, "gate", shown, bold=True)
    numbers = [int(i) + 1 for i in part.pickets]
    ends = {numbers[0], numbers[-1]} if numbers else set()
    for n in [*sorted(ends), *(n for n in numbers if n % 5 == 0 and n not in ends)]:
        x = view.x(float(run.slots.centre[n - 1]))
        half = text_width(f"{n}", SIZE) / 2 + _AIR / 2
        near = np.abs(run.slots.centre - run.slots.centre[n - 1]) * view.along <= half + 4
        high = max(
            float(run.cuts.top[near].max()),
            _strings_over(run, run.slots.centre[near]),
            _posts_over(posts, view, float(run.slots.centre[n - 1]), half),
        )
        over = 8 + (2 * _MARK if urgent[near].any() else 0.0)
        _write_over(sketch, x, view.y(high) - over, f"{n}", shown)


def _strings_over(run: RunPlan, x: Floats) -> float:
    """The highest that any string hangs at stations `x` (in); words stand over it."""
    high = [-math.inf]
    for string in run.ground.strings:
        here = x[(x >= string.start) & (x <= string.end)]
        high += string.elevation(here).tolist()
    return max(high)


def _posts_over(posts: Floats, view: View, station: float, half: float) -> float:
    """The highest of posts, (p, 3) their edges and top (in), that a word which reaches `half` points from a
    station would touch.
    """
    reach = half / view.along
    here = (posts[:, 0] <= station + reach) & (posts[:, 1] >= station - reach)
    return float(posts[here, 2].max(initial=-math.inf))


def _write_over(
    sketch: Sketch, x: float, y: float, text: str, shown: list[tuple[float, float]], bold: bool = False
) -> None:
    half = text_width(text, SIZE, bold) / 2 + _AIR / 2
    if all(x + half <= a or x - half >= b for a, b in shown):
        shown.append((x - half, x + half))
        sketch.text(x, y, text, SIZE, bold=bold, anchor=0.5)


def write_foot(sketch: Sketch, run: RunPlan, plan: FencePlan, part: Part, rows: Brackets, view: View) -> None:
    """Under the fence: brackets row by row, posts and bays, the line of stations."""
    y = view.base + 4
    for row in rows:
        for one in row:
            a, b = view.x(one.start), view.x(one.end)
            sketch.line(((a, y - 3), (a, y), (b, y), (b, y - 3)), 0.8)
            wide, (first, last) = text_width(one.text, SIZE), _word_span(one, part, view.along)
            middle = (a + b) / 2 if b - a >= wide else view.left + (first + last) / 2
            sketch.text(middle, y + 0.95 * SIZE, one.text, SIZE, anchor=0.5)
        y += BRACKET
    y += ROW
    posts = [(view.x(p.station), f"{p.number}") for p in posts_in(run, part)]
    bays = run.layout.bays
    inside = [k for k in range(len(bays)) if bays.right[k] > part.start + 12 and bays.left[k] < part.end - 12]
    middles = [(max(bays.left[k], part.start) + min(bays.right[k], part.end)) / 2 for k in inside]
    least, most = view.left - 9, view.left + (part.end - part.start) * view.along + SIDE
    sketch.text(least, y, "posts", SIZE, bold=True, anchor=1.0)
    shown: list[tuple[float, float]] = [(0.0, least)]
    _write_row(sketch, _moved_apart(posts, least, most), y, most, shown, bold=True)
    _write_row(
        sketch,
        [(view.x(float(x)), f"bay {k + 1}") for k, x in zip(inside, middles, strict=True)],
        y,
        most,
        shown,
    )
    write_stations(sketch, plan, part, view, y + 6)


def _moved_apart(numbers: list[tuple[float, str]], least: float, most: float) -> list[tuple[float, str]]:
    """Bold numbers at their places (points), in order: two that would touch move a little apart, where that
    leaves them clear of the others and within `least` and `most`.
    """
    halves = [text_width(text, SIZE, bold=True) / 2 for _, text in numbers]
    places = [min(x, most - half) for (x, _), half in zip(numbers, halves, strict=True)]
    for k in range(len(places) - 1):
        apart = halves[k] + halves[k + 1] + _AIR + ROUNDING - (places[k + 1] - places[k])
        before = places[k - 1] + halves[k - 1] if k else least
        after = places[k + 2] - halves[k + 2] - _AIR if k + 2 < len(places) else most
        room = places[k] - halves[k] - _AIR - before, after - places[k + 1] - halves[k + 1]
        aside = min(max(apart / 2, apart - room[0]), room[1])
        if apart > 0 and 0 <= apart - aside <= min(room[0], _ASIDE) and 0 <= aside <= _ASIDE:
            places[k], places[k + 1] = places[k] - (apart - aside), places[k + 1] + aside
    return [(x, text) for x, (_, text) in zip(places, numbers, strict=True)]


def write_stations(sketch: Sketch, plan: FencePlan, part: Part, view: View, y: float) -> None:
    """The line of stations of a part at a height (points), and what is written along it."""
    system = plan.units
    round_ones = stations_between(part.start, part.end, view.along / 72, system)
    ends = [(view.x(s), end_text(s, system, plan.mark)) for s in (part.start, part.end)]
    labels = [*ends, *((view.x(s), station_text(s, system)) for s in round_ones)]
    sketch.line(((view.x(part.start), y), (view.x(part.end), y)), 0.8)
    for x, _ in labels:
        sketch.line(((x, y - 2), (x, y + 3)), 0.8)
    _write_row(sketch, labels, y + 13, view.x(part.end) + SIDE, [])


def _write_row(
    sketch: Sketch,
    labels: Sequence[tuple[float, str]],
    y: float,
    most: float,
    shown: list[tuple[float, float]],
    bold: bool = False,
) -> None:
    """Labels on one line without those that would touch an earlier one; none passes `most`."""
    for at, text in labels:
        half = text_width(text, SIZE, bold) / 2
        x = min(at, most - half)
        if all(x + half + _AIR <= a or x - half - _AIR >= b for a, b in shown):
            shown.append((x - half, x + half))
            sketch.text(x, y, text, SIZE, bold=bold, anchor=0.5)

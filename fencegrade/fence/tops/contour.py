"""A contour top: follows the ground, smoothed, boards near one length.

          ceiling   : : : : : :      the smoothest line between the two: least largest bend from picket to
        .--''--..__.--''--.          picket, then least sum of bends, then the lowest
          least height over the ground

The ceiling is, picket by picket, as high as the top may go on the board it would need if the top followed
the ground exactly, and never more than MOST_EASE over that: easing the line never costs a longer board.
"""

import numpy as np
from msgspec.structs import replace

from fencegrade.fence.slots import Slots
from fencegrade.fence.tops.asked import Proof, TopChoice, TopWish, chosen
from fencegrade.fence.tops.chains import Chain, chain_over
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.line_on_ground import ToClear, corner_need, highest_over_chords
from fencegrade.fence.tops.linear_programme import CLEAR, Aim, solve_chains
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.cubics import extremes_about_line
from fencegrade.ground.profile import GroundLine
from fencegrade.problems import Problem, note, warning
from fencegrade.units.arrays import Floats, Truths, first_most

NEIGHBOUR_STEP = 1.0
"""Inches between neighbouring picket tops from which the step is named (common practice, no source)."""

MOST_EASE = 6.0
"""Inches the line may at most rise over one that follows the ground exactly (own choice)."""

MOST_AT_ONCE = 800
"""Corners of one programme, whose time grows with nearly their square; a longer run is smoothed in parts of
three quarters as many."""

_BLOCK = 16
"""Corners of a longer run of which only the outer two stay where the ground under all of them is straight."""

_STRAIGHT = 1e-3
"""Inches a line that follows the ground may there be off the one through those two."""

_AHEAD = 100
"""Corners that one part has in common with the next, so that it knows what comes."""

_UNDER = 2 * CLEAR[Aim.BEND]
_NAMED = 6


def choose(wish: TopWish) -> TopChoice:
    """The smoothest line that keeps the least height without asking longer boards than the ground does.

    Corners stand over the middle of each picket. A run of more than `MOST_AT_ONCE` has fewer where its ground
    is straight, is smoothed part by part, and nothing is proven of the whole. Errors: ValueError where the
    run lies outside the readings. Source: own derivation; linear programme.
    """
    x = every = _corners(wish.line, wish.slots, wish.start, wish.end)
    over = chain_over(wish, x)
    follows = _following(over.under, x, wish.least_height)
    if len(every) > MOST_AT_ONCE:
        x = every[_may_bend(every, follows)]
        over = chain_over(wish, x)
        follows = _following(over.under, x, wish.least_height)
    chain = replace(over, upper=_ceiling(wish, x, follows), weight=np.zeros(len(x)))
    found = _smoothest(chain)
    proof = Proof.NONE if found is None or len(every) > MOST_AT_ONCE else Proof.BEND
    heights = follows if found is None else found
    top = TopLine(style=TopStyle.CONTOUR, stations=x, elevations=heights)
    return chosen(wish, top, proof, tuple(_steps(wish, top)))


def _smoothest(chain: Chain) -> Floats | None:
    """Heights of least bend; a long chain part by part, each going on from the last two corners before it."""
    count, heights, first, last = len(chain), chain.lower.copy(), 0, 0
    whole = count <= MOST_AT_ONCE
    while last < count:
        last = min(first + (count if whole else MOST_AT_ONCE * 3 // 4), count)
        lower, upper = chain.lower[first:last].copy(), chain.upper[first:last].copy()
        if first:
            lower[:2] = upper[:2] = heights[first : first + 2]
        x, weight = chain.x[first:last], chain.weight[first:last]
        part = replace(chain, x=x, lower=lower, upper=upper, weight=weight)
        found = solve_chains([part], Aim.BEND, whole=whole)
        if found is None:
            return None
        new = first + 2 if first else 0
        heights[new:last] = found[0][new - first :]
        first = _between_faces(chain.x, first, last - _AHEAD)
    over, _ = highest_over_chords(chain.under, chain.x, heights)
    return np.asarray(heights + max(0.0, float(over.max()) + chain.height))


def _between_faces(x: Floats, after: int, index: int) -> int:
    """The last corner up to `index`, and well after `after`, with no step about it; else `index`."""
    for k in range(index, (after + index) // 2, -1):
        if x[k - 1] < x[k] < x[k + 1] < x[k + 2]:
            return k
    return index


def _corners(line: GroundLine, slots: Slots, start: float, end: float) -> Floats:
    """The run's ends, the middles of pickets, and each face twice."""
    faces = line.faces[(line.faces > start) & (line.faces < end)]
    inner = slots.centre[(slots.centre > start) & (slots.centre < end)]
    return np.sort(
        np.concatenate([np.unique(np.concatenate([[start, end], np.setdiff1d(inner, faces)])), faces, faces])
    )


def _may_bend(x: Floats, follows: Floats) -> Truths:
    """Corners (n,) of a long run at which its line may bend: all but the inner ones of blocks over straight
    ground with no face.

    `follows` (n,): heights of the line that follows the ground.
    """
    first = np.arange(0, len(x) - _BLOCK, _BLOCK)[:, None]
    at = first + np.arange(_BLOCK + 1)
    rise, run = follows[at] - follows[first], x[at] - x[first]
    off = np.abs(rise - rise[:, -1:] * run / run[:, -1:]).max(axis=1)
    straight = (off <= _STRAIGHT) & np.all(np.diff(run, axis=1) > 0, axis=1)
    may = np.ones(len(x), dtype=bool)
    may[at[straight, 1:-1]] = False
    return may


def _following(under: ToClear, x: Floats, least_height: float) -> Floats:
    """The line over the corners that follows the ground, both ends of a piece lifted by what pierces it."""
    ground = corner_need(under, x)
    over, _ = highest_over_chords(under, x, ground)
    lift = np.maximum(over, 0.0)
    return np.asarray(ground + least_height + np.maximum(np.append(lift, 0.0), np.insert(lift, 0, 0.0)))


def _ceiling(wish: TopWish, x: Floats, follows: Floats) -> Floats:
    """Highest a corner may come: no dearer board than the line that follows the ground, nor far over it."""
    top = TopLine(style=TopStyle.CONTOUR, stations=x, elevations=follows)
    crown = top.at(wish.slots.centre)
    same = np.minimum(wish.cost.ceiling(crown) - _UNDER, crown + MOST_EASE)
    highest = follows + MOST_EASE
    corner = np.searchsorted(x, wish.slots.centre)
    own = x[corner] == wish.slots.centre
    np.minimum.at(highest, corner[own], same[own])
    for near in corner[~own], corner[~own] - 1:
        np.minimum.at(highest, near, follows[near] + (same - crown)[~own])
    return np.maximum(highest, follows)


def _steps(wish: TopWish, top: TopLine) -> list[Problem]:
    """Neighbouring picket tops that differ sharply, and steps at faces."""
    crown, centre = top.at(wish.slots.centre), wish.slots.centre
    faces = top.stations[:-1][np.diff(top.stations) == 0]
    rise = np.abs(np.diff(crown))
    apart = np.searchsorted(faces, centre[:-1]) != np.searchsorted(faces, centre[1:])
    near = np.diff(centre) < 2 * wish.slots.width.max(initial=0.0)
    sharp = np.flatnonzero((rise > NEIGHBOUR_STEP + wish.mark / 2) & near & ~apart)
    found = [
        note(
            wish.place(float(f)), f"the top steps {wish.words.length(abs(float(s)))} at a face of the ground"
        )
        for f, s in zip(faces, top.steps, strict=True)
    ]
    if len(sharp):
        worst = int(sharp[first_most(rise[sharp])])
        numbers = ", ".join(f"{k + 1}-{k + 2}" for k in sharp[:_NAMED])
        more = f" and {len(sharp) - _NAMED} more" if len(sharp) > _NAMED else ""
        found.append(
            warning(
                wish.place(float(centre[worst])),
                f"neighbouring tops differ by over {wish.words.length(NEIGHBOUR_STEP)}: "
                f"pickets {numbers}{more}; most between {worst + 1} and {worst + 2}, "
                f"{wish.words.length(float(rise[worst]))}",
                _smoother(wish, float(centre[worst]), float(rise[worst])),
            )
        )
    return found


def _smoother(wish: TopWish, station: float, rise: float) -> str:
    """What top would have smaller steps between neighbours at a station, where they differ by a `rise`, and
    keep the height limit between its posts, all in inches."""
    ends = np.concatenate([[wish.start], wish.posts, [wish.end]])
    a, b = ends[ends <= station].max(), ends[ends > station].min()
    ground = wish.line.elevation(a), wish.line.elevation(b, before=True)
    slope = float(ground[1] - ground[0]) / (b - a)
    apart = float(np.diff(wish.slots.centre).min())
    most = np.inf if wish.most_height is None else wish.most_height - wish.least_height
    ways = []
    for style, steep in (TopStyle.RACKED, slope), (TopStyle.STEPPED, 0.0):
        high, low = extremes_about_line(wish.line, np.array([a]), np.array([b]), np.array([steep]))
        if abs(steep) * apart < rise - wish.mark and float((high - low)[0]) <= most:
            ways.append(str(style))
    if ways:
        return f"choose a {' or '.join(ways)} top there"
    return (
        "no other top is smoother there within the height limit: set posts nearer, or let it be higher there"
    )

"""New posts between two given ones: the fewest that reach, then the most even.

Posts are placed by reach first: post k can stand no farther than k bays from the left post reach, and no
nearer than the bays after it must still reach the right one. That leaves each a window. Closed stretches
split the windows; which side of them each post takes is found by a dynamic programme over points in the
windows, and the posts are then evened out exactly on the sides it chose.

      A     [lo_1  hi_1]   [lo_2 // closed // hi_2]      B
"""

import numpy as np
from msgspec import Struct

from fencegrade.fence.bays.even_division import divide_evenly
from fencegrade.fence.bays.reach import Span
from fencegrade.units.arrays import Floats
from fencegrade.units.tolerances import SAME_LENGTH

_LEAST_POINTS, _MOST_POINTS = 16, 160
"""Points in the window of a post, in the dynamic programme: for a stretch of many posts, and of few."""

_MOST_STATES = 200_000
"""Points of all windows together, for which the number in each is chosen."""

_ROUNDS = 40
"""Rounds in which the rail slopes of evened-out bays are taken anew."""


class Stretch(Struct, frozen=True, kw_only=True):
    """A stretch between two given posts, inches: where new posts may not stand, and what rails must cover.

    `closed`: open intervals for the centres of new posts; `post` width; `inner`, `begin`, `finish`, `whole`:
    how much longer than its bay a rail is in the middle, in the first bay, the last, a bay that is both.
    """

    start: float
    end: float
    closed: tuple[tuple[float, float], ...]
    post: float
    inner: float
    begin: float
    finish: float
    whole: float

    def extras(self, count: int) -> Floats:
        """Extra length of the rail in each of `count` bays."""
        if count == 1:
            return np.array([self.whole])
        extras = np.full(count, self.inner)
        extras[0], extras[-1] = self.begin, self.finish
        return extras

    def allowed(self) -> tuple[Floats, Floats]:
        """Lower and upper ends (in) of the intervals where new posts may stand, in order."""
        last = self.end - self.post
        low, high, reached = [], [], self.start + self.post
        for a, b in [*sorted(self.closed), (last, np.inf)]:
            if min(a, last) > reached + SAME_LENGTH:
                low.append(reached)
                high.append(min(a, last))
            reached = max(reached, b)
        return np.array(low), np.array(high)


class Shortfall(Struct, frozen=True, kw_only=True):
    """A bay that nothing reaches across, from and to (in): inches by which the largest `spacing` and the
    longest `rail` are too short for it, zero for one that serves."""

    start: float
    end: float
    spacing: float
    rail: float


def place_posts(span: Span, stretch: Stretch) -> Floats | tuple[Shortfall, ...]:
    """New posts between two given ones, (n,) stations in inches, or every bay that cannot be spanned.

    The fewest bays, then the least sum of squared bays. Source: own derivation.
    """
    plain = _evenly(span, stretch)
    if plain is not None:
        return plain
    forward = _forward(span, stretch)
    if isinstance(forward, tuple) or not len(forward):
        return forward
    backward = _backward(span, stretch, len(forward))
    low, _ = stretch.allowed()
    rough = forward if len(low) == 1 else _choose_sides(span, stretch, backward, forward)
    return _even_on_sides(span, stretch, rough if _stands(span, stretch, rough) else forward)


def _evenly(span: Span, stretch: Stretch) -> Floats | None:
    """The most even posts of the least number any ground allows, where nothing stands against them."""
    length = stretch.end - stretch.start
    flat = min(span.spacing, span.rail - stretch.inner)
    count = max(1, int(np.ceil((length - SAME_LENGTH) / flat)))
    while np.minimum(span.spacing, span.rail - stretch.extras(count)).sum() < length - SAME_LENGTH:
        count += 1
    most = np.minimum(span.spacing, span.rail - stretch.extras(count))
    unbound = np.full(count - 1, np.inf)
    inner = divide_evenly(stretch.start, stretch.end, -unbound, unbound, most)
    if inner is None or not _stands(span, stretch, inner):
        return None
    return inner


def _stands(span: Span, stretch: Stretch, inner: Floats) -> bool:
    """Whether all rails reach and all posts stand where they may."""
    cuts = np.concatenate([[stretch.start], inner, [stretch.end]])
    bays = np.diff(cuts)
    rails = span.taken(cuts[:-1], cuts[1:], stretch.extras(len(bays)))
    if (
        bays.min() < stretch.post - SAME_LENGTH
        or bays.max() > span.spacing + SAME_LENGTH
        or rails.max() > span.rail + SAME_LENGTH
    ):
        return False
    return not any(((inner > a + SAME_LENGTH) & (inner < b - SAME_LENGTH)).any() for a, b in stretch.closed)


def _forward(span: Span, stretch: Stretch) -> Floats | tuple[Shortfall, ...]:
    """The farthest each post can stand, as many as are needed to reach the end; or every bay that nothing
    reaches across, those after one as if a post stood where it ends."""
    low, high = stretch.allowed()
    found: list[float] = []
    short: list[Shortfall] = []
    at = stretch.start
    while at < stretch.end:
        last = stretch.finish if found else stretch.whole
        if span.fits(at, stretch.end, last):
            break
        best = _farthest_allowed(span, at, stretch.inner if found else stretch.begin, low, high)
        if best < at + stretch.post - SAME_LENGTH:
            short.append(_shortfall(span, stretch, at, bool(found)))
            best = short[-1].end
        found.append(best)
        at = best
    return tuple(short) or np.array(found)


def _farthest_allowed(span: Span, at: float, extra: float, low: Floats, high: Floats) -> float:
    """The farthest place a post may stand that a rail reaches from `at`; `at` itself if there is none."""
    k = len(low) - 1
    while k >= 0:
        far = span.farthest(at, extra, float(high[k]))
        if far >= low[k] - SAME_LENGTH:
            return far
        k = min(int(np.searchsorted(low, far + SAME_LENGTH, side="right")), k) - 1
    return at


def _shortfall(span: Span, stretch: Stretch, at: float, inner: bool) -> Shortfall:
    """The bay from `at` to the next place a post may stand."""
    low, high = stretch.allowed()
    after = low[low > at + stretch.post - SAME_LENGTH]
    beyond = float(after[0]) if len(after) else stretch.end
    if len(after):
        extra = stretch.inner if inner else stretch.begin
    else:
        extra = stretch.finish if inner else stretch.whole
    k = int(np.searchsorted(low, at + SAME_LENGTH, side="right")) - 1
    edge = float(high[k]) if k >= 0 and at <= high[k] else at
    if at < edge < beyond and max(span.shortfalls(edge, beyond, extra)) > SAME_LENGTH:
        at = edge
    spacing, rail = (x if x > SAME_LENGTH else 0.0 for x in span.shortfalls(at, beyond, extra))
    return Shortfall(start=at, end=beyond, spacing=spacing, rail=rail)


def _backward(span: Span, stretch: Stretch, count: int) -> Floats:
    """The nearest each of `count` posts can stand so that the bays after it still reach the end."""
    low, high = stretch.allowed()
    found = np.empty(count)
    at = stretch.end
    for k in range(count - 1, -1, -1):
        near = span.nearest(at, stretch.inner if k < count - 1 else stretch.finish, stretch.start)
        i = min(int(np.searchsorted(high, near - SAME_LENGTH)), len(low) - 1)
        at = max(near, float(low[i]))
        found[k] = at
    return found


def _choose_sides(span: Span, stretch: Stretch, near: Floats, far: Floats) -> Floats:
    """Posts on points of their windows with the least sum of squared bays, by dynamic programme."""
    extras = stretch.extras(len(far) + 1)
    points = _points(stretch, near, far, int(np.clip(_MOST_STATES / len(far), _LEAST_POINTS, _MOST_POINTS)))
    cost = np.where(np.arange(points.shape[1]) == 0, 0.0, np.inf)
    came = np.empty((len(points) - 1, points.shape[1]), dtype=np.int64)
    step = max(1, _MOST_STATES * 10 // points.shape[1] ** 2)
    for k in range(0, len(came), step):
        a, b = points[k : k + step + 1][:-1, :, None], points[k + 1 : k + step + 1][:, None, :]
        squares = _squares(span, stretch, a, b, extras[k : k + step, None, None])
        for i, square in enumerate(squares):
            total = cost[:, None] + square
            came[k + i] = np.argmin(total, axis=0)
            cost = total.min(axis=0)
    chosen = np.zeros(len(points), dtype=np.int64)
    for k in range(len(came) - 1, -1, -1):
        chosen[k] = came[k, chosen[k + 1]]
    return points[np.arange(len(points)), chosen][1:-1]


def _squares(span: Span, stretch: Stretch, a: Floats, b: Floats, extra: Floats) -> Floats:
    """The squares of bays from `a` to `b`; without end where the bay cannot be."""
    a, b = np.broadcast_arrays(a, b)
    bay = b - a
    rail = span.taken(a, np.maximum(b, a + SAME_LENGTH), extra)
    good = (
        (bay >= stretch.post - SAME_LENGTH)
        & (bay <= span.spacing + SAME_LENGTH)
        & (rail <= span.rail + SAME_LENGTH)
    )
    return np.where(good, bay**2, np.inf)


def _points(stretch: Stretch, near: Floats, far: Floats, count: int) -> Floats:
    """Points (n + 2, count) of the windows where posts may stand, the given posts in the first and last row.

    Evenly spread over each window; one in a closed stretch goes to the nearer edge of it.
    """
    low, high = stretch.allowed()
    points = near[:, None] + (far - near)[:, None] * np.linspace(0.0, 1.0, count)
    points[:, -1] = far
    k = np.clip(np.searchsorted(low, points + SAME_LENGTH, side="right") - 1, 0, len(low) - 1)
    before, after = high[k], low[np.minimum(k + 1, len(low) - 1)]
    nearer = np.where(
        (points - before > after - points) & (after <= far[:, None] + SAME_LENGTH), after, before
    )
    points = np.where(points > before + SAME_LENGTH, nearer, points)
    ends = np.array([[stretch.start], [stretch.end]]) + np.zeros(count)
    return np.concatenate([ends[:1], points, ends[1:]])


def _even_on_sides(span: Span, stretch: Stretch, rough: Floats) -> Floats:
    """Posts evened out on the sides of closed stretches that `rough` puts them on."""
    extras = stretch.extras(len(rough) + 1)
    low, high = _sides(stretch, rough)
    near = _nearest_on_sides(span, stretch, low, extras)
    cuts = np.concatenate([[stretch.start], rough, [stretch.end]])
    for _ in range(_ROUNDS):
        slope = span.slopes(cuts[:-1], cuts[1:])
        most = np.minimum(span.spacing, span.longest(slope) - extras)
        inner = divide_evenly(stretch.start, stretch.end, low, high, most)
        if inner is None:
            break
        moved = np.abs(inner - cuts[1:-1]).max()
        cuts = np.concatenate([[stretch.start], inner, [stretch.end]])
        if moved < SAME_LENGTH / 10:
            break
    kept = _within_reach(span, stretch, cuts[1:-1], near, extras)
    better = _stands(span, stretch, kept) and _unevenness(stretch, kept) < _unevenness(stretch, rough)
    return kept if better else rough


def _sides(stretch: Stretch, rough: Floats) -> tuple[Floats, Floats]:
    """The interval between closed stretches that each post stands in."""
    starts, ends = stretch.allowed()
    side = np.clip(np.searchsorted(starts, rough + SAME_LENGTH, side="right") - 1, 0, len(starts) - 1)
    return starts[side], ends[side]


def _nearest_on_sides(span: Span, stretch: Stretch, low: Floats, extras: Floats) -> Floats:
    """The nearest place of each post, at or after `low`, from which the bays after it reach the end."""
    near, at = low.copy(), stretch.end
    for k in range(len(low) - 1, -1, -1):
        near[k] = at = max(low[k], span.nearest(at, float(extras[k + 1]), stretch.start))
    return near


def _within_reach(span: Span, stretch: Stretch, inner: Floats, near: Floats, extras: Floats) -> Floats:
    """The same posts, each drawn back to where a rail reaches it from the one before."""
    kept, at = inner.copy(), stretch.start
    cuts = np.concatenate([[stretch.start], inner, [stretch.end]])
    if (span.taken(cuts[:-1], cuts[1:], extras) <= span.rail + SAME_LENGTH).all():
        return kept
    for k in range(len(inner)):
        kept[k] = at = max(near[k], min(inner[k], span.farthest(at, float(extras[k]), stretch.end)))
    return kept


def _unevenness(stretch: Stretch, inner: Floats) -> float:
    bays = np.diff(np.concatenate([[stretch.start], inner, [stretch.end]]))
    return float(((bays - bays.mean()) ** 2).sum())

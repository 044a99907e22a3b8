"""Bays: where the posts stand, so that every rail reaches with its bearing on both posts.

 post        post          post                post
  ||          ||            ||  gate opening    ||
  ||==========||============||                  ||=====
  |<-- bay -->|<--- bay --->|
start
"""

from itertools import pairwise

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.bays.given_posts import (
    Ends,
    ForcedPost,
    KeepOut,
    PostKind,
    Reason,
    forced_posts,
    keep_outs,
    reaching_in,
    standing_notes,
)
from fencegrade.fence.bays.new_posts import Shortfall, Stretch, place_posts
from fencegrade.fence.bays.reach import SlopeOf, Span, chord_slope_at, chord_slopes, slanted_ends
from fencegrade.fence.stock_steps import for_sale
from fencegrade.ground.profile import GroundLine
from fencegrade.job.choices import RailJoint
from fencegrade.job.records import Posts, Rails, Run
from fencegrade.problems import Problem, has_mistake, mistake, warning
from fencegrade.units import UnitSystem
from fencegrade.units.arrays import Floats, Indices, Truths
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words, listed

BESIDE = (
    "; where it is paving along the fence, and posts may stand beside it, [[run.no_soil]] in place of "
    "[[run.keep_open]] keeps the soil away alone"
)
"""What may have been meant where a stretch kept open leaves posts no place."""

_IMPERIAL = Words(system=UnitSystem.IMPERIAL, mark=1 / 16)


class Bays(Struct, frozen=True, kw_only=True, eq=False):
    """The posts of a run and the bays between them; stations and lengths in inches.

    `posts` (n,) centres in order; `kinds` (n,); `sizes` (n,) their widths along the run; `standing` (n,)
    whether a post already stands; `old` (n,) whether it did before the job. `first` (m,) index of each bay's
    left post, its right one being the next; a gate opening is no bay. `rail` (m,) length of a rail along the
    slope, bearing included; `slope` (m,) rise over run of the rails; `extra` (m,) how
    much farther than the bay a rail runs, horizontal; `overlap` the same between two line posts (0 where
    rails butt); `reach` longest rail offered; `rail_height` (in).
    """

    posts: Floats
    kinds: tuple[PostKind, ...]
    sizes: Floats
    standing: Truths
    old: Truths
    first: Indices
    rail: Floats
    slope: Floats
    extra: Floats
    overlap: float
    reach: float
    rail_height: float

    def __len__(self) -> int:
        return len(self.first)

    @property
    def hangs(self) -> Truths:
        """(n,) the posts beside a gate opening of this run; an end post may hang one of another run too."""
        opening = np.ones(len(self.posts) - 1, dtype=bool)
        opening[self.first] = False
        return np.asarray(np.append(opening, False) | np.append(False, opening))

    @property
    def left(self) -> Floats:
        """Station (in) of each bay's left post."""
        return self.posts[self.first]

    @property
    def right(self) -> Floats:
        """Station (in) of each bay's right post."""
        return self.posts[self.first + 1]

    @property
    def width(self) -> Floats:
        """Post centre to post centre (in), horizontal."""
        return self.right - self.left

    @property
    def taken(self) -> Floats:
        """(m,) what each rail takes of its board (in): its length and its two slanted ends."""
        return self.rail + slanted_ends(self.rail_height, self.slope)


def lay_bays(
    run: Run,
    posts: Posts,
    rails: Rails,
    line: GroundLine,
    start: float,
    end: float,
    slope_of: SlopeOf | None = None,
    *,
    words: Words = _IMPERIAL,
    hung: Ends = (False, False),
) -> tuple[Bays | None, tuple[Problem, ...]]:
    """The fewest bays whose rails reach, then the most even ones.

    `start`, `end`: stations of the end posts' centres (in). `slope_of(a, b)`: slope of the rails between
    posts at `a` and `b` (arrays of stations), the ground's chord if absent; 0 for level rails. `words`: how
    lengths are written; `hung`: whether the first and the last post hang a gate of a run that shares them.
    `posts.fixed` speaks for every run: stations outside this one are let be. Result: the
    bays, or None where a mistake stops them, and every problem found.

    A bay is at most `posts.spacing` and its rail, (bay - post + bearings) sqrt(1 + m^2), with its slanted
    ends at most the longest stock. A rail covers half of a post (butted) or all of it (lapped) unless
    `rails.bearing` says otherwise, and all of an end or gate post. New posts stand no nearer than half a hole
    to a `no_post` stretch; also to a `keep_open` stretch, or where that leaves no way, no nearer than half a
    post, and at worst with their centre on its edge, which is said. Most even is the least sum of squared
    bays between given posts. Source: own derivation; half a post of bearing is common practice, no source.
    The number of bays is the fewest where the ground is nowhere steeper than 45 degrees.
    """
    forced, problems = forced_posts(run, posts, line, start, end, words, hung)
    problems += _unfit(run, posts, rails, words)
    outs = keep_outs(run, posts.hole_diameter)
    problems += reaching_in(run, forced, outs, posts.hole_diameter, line, words)
    problems += standing_notes(run, forced, posts.width, words)
    if has_mistake(problems):
        return None, tuple(problems)
    layout = _Layout.of(posts, rails, line, slope_of)
    inner: list[Floats] = []
    for first, second in pairwise(forced):
        placed, found = _between(run, layout, first, second, outs, words)
        problems += found
        inner.append(placed)
    if has_mistake(problems):
        return None, tuple(problems)
    return _bays(layout, forced, inner), tuple(problems)


def bays_as_set(
    bays: Bays,
    stations: Floats,
    standing: Truths,
    posts: Posts,
    rails: Rails,
    line: GroundLine,
    slope_of: SlopeOf | None = None,
) -> Bays:
    """The same bays between posts where they were really set.

    `stations` (n,): centres (in), ascending; `standing` (n,): which posts stand; the rest as `lay_bays`. A
    rail may be longer than the longest stock; it covers as much of both posts as before.
    """
    span = _Layout.of(posts, rails, line, slope_of).span
    left, right = stations[bays.first], stations[bays.first + 1]
    return replace(
        bays,
        posts=stations,
        standing=standing,
        rail=span.lengths(left, right, bays.extra),
        slope=span.slopes(left, right),
    )


class _Layout(Struct, frozen=True, kw_only=True):
    """What every stretch of a run has in common."""

    span: Span
    post: float
    hole: float
    bearing: float

    @staticmethod
    def of(posts: Posts, rails: Rails, line: GroundLine, slope_of: SlopeOf | None) -> "_Layout":
        butted = rails.joint is RailJoint.BUTTED
        bearing = rails.bearing or (posts.width / 2 if butted else posts.width)
        return _Layout(
            span=Span(
                rail=max(s.length for s in for_sale(rails.stock)),
                height=rails.height,
                spacing=posts.spacing,
                slope_of=slope_of or chord_slopes(line),
                slope_at=chord_slope_at(line)
                if slope_of is None
                else lambda a, b: float(np.asarray(slope_of(np.asarray(a), np.asarray(b)))),
            ),
            post=posts.width,
            hole=posts.hole_diameter,
            bearing=bearing,
        )

    def extra(self, left: ForcedPost | None = None, right: ForcedPost | None = None) -> float:
        """How much longer (in) than its bay a rail is: what it covers of both posts, less half of each.

        `left`, `right`: its given posts; None for a new line post.
        """
        return self._past(left) + self._past(right)

    def _past(self, post: ForcedPost | None) -> float:
        """How far (in) a rail runs past the middle of a post."""
        width = self.post if post is None else post.width
        return (width if post is not None and post.closes else self.bearing) - width / 2


def _unfit(run: Run, posts: Posts, rails: Rails, words: Words) -> list[Problem]:
    longest = max(s.length for s in for_sale(rails.stock))
    if min(posts.spacing, longest) <= posts.width + SAME_LENGTH:
        return [
            mistake(
                f"{run.name}, posts",
                f"with a spacing of {words.fine(posts.spacing)} and rails of {words.sold_length(longest)} "
                f"there is nothing between posts {words.fine(posts.width)} wide",
                "check the units of spacing, width and rail stock",
            )
        ]
    return []


def _between(
    run: Run, layout: _Layout, first: ForcedPost, second: ForcedPost, outs: tuple[KeepOut, ...], words: Words
) -> tuple[Floats, list[Problem]]:
    """New posts between two given ones, and what there is to say of them."""
    none = np.empty(0)
    if first.opens:
        return none, []
    shortfalls: tuple[Shortfall, ...] = ()
    for margin in (layout.hole / 2, layout.post / 2, 0.0):
        stretch = _stretch(layout, first, second, outs, margin)
        placed = place_posts(layout.span, stretch)
        if not isinstance(placed, tuple):
            return placed, _on_edges(run, placed, outs, layout, margin, words)
        shortfalls = placed
        if not any(o.reason is Reason.KEEP_OPEN for o in outs):
            break
    return none, [_too_far(run, layout, short, outs, words) for short in shortfalls]


def _stretch(
    layout: _Layout, first: ForcedPost, second: ForcedPost, outs: tuple[KeepOut, ...], margin: float
) -> Stretch:
    """The stretch between two given posts; `margin`: how far (in) new posts keep from a water way."""
    closed = []
    for out in outs:
        clear = margin if out.reason is Reason.KEEP_OPEN else layout.hole / 2
        if out.end + clear > first.station and out.start - clear < second.station:
            closed.append((out.start - clear, out.end + clear))
    return Stretch(
        start=first.station,
        end=second.station,
        closed=tuple(closed),
        post=layout.post,
        inner=layout.extra(),
        begin=layout.extra(first),
        finish=layout.extra(None, second),
        whole=layout.extra(first, second),
    )


def _on_edges(
    run: Run, placed: Floats, outs: tuple[KeepOut, ...], layout: _Layout, margin: float, words: Words
) -> list[Problem]:
    """A warning for each post whose hole reaches into a water way."""
    found = []
    for out in outs:
        near = placed[
            (placed > out.start - layout.hole / 2 + SAME_LENGTH)
            & (placed < out.end + layout.hole / 2 - SAME_LENGTH)
        ]
        if margin < layout.hole / 2 and out.reason is Reason.KEEP_OPEN and len(near):
            stations = " and ".join(words.station(float(x)) for x in near)
            stand, reach = (
                (f"the post at {stations} stands", "its hole reaches")
                if len(near) == 1
                else (f"the posts at {stations} stand", "their holes reach")
            )
            found.append(
                warning(
                    f"{run.name}, {words.stretch(out.start, out.end)}",
                    f"{stand} at the edge of the stretch kept open, {reach} "
                    "into it: no other place keeps every bay within the rails and the spacing",
                    "offer a longer rail or a wider spacing to clear it, and ask the drainage authority",
                )
            )
    return found


def _too_far(run: Run, layout: _Layout, short: Shortfall, outs: tuple[KeepOut, ...], words: Words) -> Problem:
    limits = (
        (short.spacing, layout.span.spacing, "the largest post spacing", "allow a wider post spacing"),
        (short.rail, layout.span.rail, "the longest rail", "offer a longer rail"),
    )
    lacking = [f"{what}, {words.fine(n)}, is {words.fine(by)} too short" for by, n, what, _ in limits if by]
    remedies = [remedy for by, *_, remedy in limits if by]
    there = [o for o in outs if o.end > short.start and o.start < short.end]
    open_there = any(o.reason is Reason.KEEP_OPEN for o in there)
    written = f" ({_as_written(there, layout, words)})" if there else ""
    return mistake(
        f"{run.name}, {words.stretch(short.start, short.end)}",
        f"no post can stand between {words.station(short.start)} and {words.station(short.end)}{written}, "
        f"and {' and '.join(lacking)} for that bay",
        f"{' and '.join(remedies)}, or give the posts a place in the stretch{BESIDE if open_there else ''}",
    )


def _as_written(outs: list[KeepOut], layout: _Layout, words: Words) -> str:
    """Stretches that hold no post as the job file has them, and what new posts keep from them besides."""
    what = {o: "the old hole" if o.reason is Reason.OLD_HOLE else f"[[run.{o.reason}]]" for o in outs}
    told = listed([f"{what[o]} {words.stretch(o.start, o.end)}" for o in outs])
    wet = [o.reason is Reason.KEEP_OPEN for o in outs]
    if all(wet):
        return told
    half = f"with half a hole, {words.fine(layout.hole / 2)}, on either side"
    return f"{told}, {half}{' of what is not kept open' if any(wet) else ' of each' if len(wet) > 1 else ''}"


def _bays(layout: _Layout, forced: list[ForcedPost], inner: list[Floats]) -> Bays:
    stations: list[float] = []
    given: list[ForcedPost | None] = []
    for post, after in zip(forced, [*inner, np.empty(0)], strict=True):
        stations += [post.station, *after.tolist()]
        given += [post, *[None] * len(after)]
    centres = np.array(stations)
    opens = [post is not None and post.opens for post in given]
    first = np.flatnonzero(~np.array(opens[:-1])).astype(np.int64)
    extra = np.array([layout.extra(given[k], given[k + 1]) for k in first])
    left, right = centres[first], centres[first + 1]
    old = np.array([post is not None and post.standing for post in given])
    return Bays(
        posts=centres,
        kinds=tuple(PostKind.LINE if post is None else post.kind for post in given),
        sizes=np.array([layout.post if post is None else post.width for post in given]),
        standing=old,
        old=old,
        first=first,
        rail=layout.span.lengths(left, right, extra),
        slope=layout.span.slopes(left, right),
        extra=extra,
        overlap=layout.extra(),
        reach=layout.span.rail,
        rail_height=layout.span.height,
    )

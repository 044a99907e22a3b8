"""Posts: how long each is, how deep it stands, and where it is cut.

top line ----  ____
post height   |    |  above ground = top line + post height - ground
              |    |
ground ~~~~~~~|    |~~~~~~
              |    |  depth = greatest of the rules that hold
              |____|
               ::::    gravel
"""

from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from fencegrade.fence.bays.bays import Bays
from fencegrade.fence.bays.given_posts import PostKind
from fencegrade.fence.rails.rails import top_at_posts
from fencegrade.fence.tops.line import TopLine
from fencegrade.ground.profile import GroundLine
from fencegrade.job.records import Posts, Run, Stock
from fencegrade.units.arrays import Floats, Indices, Truths
from fencegrade.units.tolerances import SAME_LENGTH

NO_POST = -1
"""Stands for a stock index where a post already stands, or where none is long enough."""


class DepthRule(StrEnum):
    """What asks for a depth in the ground."""

    SHARE = "share of the post's length"
    LEAST = "least depth"
    FROST = "frost"
    WIND = "wind and soil"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DepthChoice:
    """One rule's answer for every post (n,): depth in the ground, whole length of the post (in), and the
    index of the shortest stock that serves, or NO_POST.
    """

    rule: DepthRule
    depth: Floats
    total: Floats
    stock: Indices


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PostSchedule:
    """Every post (n,): stations, elevations and lengths in inches.

    `ground`: at a face the lower side; `top` of the post; `above` ground; `measured`: whether that is known
    of a post that stands; `choices`: each rule on its own; `rule`: which of `choices` asks the greatest
    depth; `eased`: a little less than that rule asks, as deep as the next shorter post goes; `depth` of the
    post in the ground, `hole` with gravel; `total` length needed; `gate`: gate posts, which are bought from
    `gate_offered`, the others from `offered`; `stock`: index in the post's own list (by length),
    NO_POST for a post that stands already and
    where no stock serves; `cut_off`: what a post of that stock is too long.
    """

    station: Floats
    kinds: tuple[PostKind, ...]
    standing: Truths
    measured: Truths
    ground: Floats
    top: Floats
    above: Floats
    choices: tuple[DepthChoice, ...]
    rule: Indices
    eased: Truths
    depth: Floats
    hole: Floats
    total: Floats
    offered: tuple[Stock, ...]
    gate_offered: tuple[Stock, ...]
    gate: Truths
    stock: Indices
    cut_off: Floats

    def __len__(self) -> int:
        return len(self.station)

    @property
    def new(self) -> Truths:
        """Posts that are to be set."""
        return ~self.standing

    @property
    def share(self) -> Floats:
        """Share of each post's length that stands in the ground."""
        return self.depth / self.total

    def offered_for(self, post: int) -> tuple[Stock, ...]:
        """The lengths a post is bought in, shortest first."""
        return self.gate_offered if self.gate[post] else self.offered

    def eased_by(self, posts: Posts) -> "PostSchedule":
        """The same posts with another `posts.share_tolerance`."""
        lists = _Lists(line=self.offered, of_gates=self.gate_offered, gate=self.gate)
        deeper = np.where(self.gate, posts.gate_deeper, 0.0)
        depth, eased = _eased(self.above, deeper, posts, lists, np.stack([c.depth for c in self.choices]))
        total = self.above + depth
        stock = np.where(self.standing, NO_POST, lists.shortest(total))
        return replace(self, depth=depth, total=total, eased=eased & ~self.standing, stock=stock)

    def set_by(self, post: int) -> str:
        """What decides the depth of a post, in words."""
        if self.eased[post]:
            return "length of the post sold"
        return str(self.choices[self.rule[post]].rule)


def post_schedule(
    run: Run,
    bays: Bays,
    crown: Floats,
    line: GroundLine,
    posts: Posts,
    wind_depth: Floats | None = None,
) -> PostSchedule:
    """The posts of a run.

    `crown`: (n,) see `crown_at_posts`; a post that stands keeps the height it is given with.
    `wind_depth`: (n,) depth (in) that wind and soil ask for, where it was asked for. The depth is the
    greatest of `posts.depth_share` of the whole length, `posts.least_depth`, `posts.frost_depth` and
    `wind_depth`, and `posts.gate_deeper` more for gate posts; the stock the shortest that is long enough.
    Where a shorter one falls short of the share alone, by `posts.share_tolerance` or less, and costs no more,
    it is taken and stands as deep as it goes. Source: a third of the post in the ground is a trade rule (see
    figures.holes), gate posts 6 in deeper likewise.
    """
    ground = np.minimum(line.elevation(bays.posts), line.elevation(bays.posts, before=True))
    stood = _standing_heights(run, bays)
    above = np.where(np.isnan(stood), np.maximum(crown - ground, 0.0), stood)
    lists = _Lists.of(posts, bays)
    deeper = np.where(lists.gate, posts.gate_deeper, 0.0)
    choices = _choices(above, deeper, posts, lists, wind_depth)
    strict = np.stack([c.depth for c in choices])
    depth, eased = _eased(above, deeper, posts, lists, strict)
    total = above + depth
    stock = np.where(bays.standing, NO_POST, lists.shortest(total))
    return PostSchedule(
        station=bays.posts,
        kinds=bays.kinds,
        standing=bays.standing,
        measured=~(bays.standing & np.isnan(stood)),
        ground=ground,
        top=np.where(np.isnan(stood), crown, ground + stood),
        above=above,
        choices=choices,
        rule=np.argmax(strict, axis=0).astype(np.int64),
        eased=eased & ~bays.standing,
        depth=depth,
        hole=depth + posts.gravel,
        total=total,
        offered=lists.line,
        gate_offered=lists.of_gates,
        gate=lists.gate,
        stock=stock,
        cut_off=np.nan_to_num(np.maximum(lists.lengths(stock) - total, 0.0)),
    )


def crown_at_posts(
    top: TopLine, bays: Bays, posts: Posts, ends: tuple[float, float] = (-np.inf, -np.inf)
) -> Floats:
    """Elevation (in) the post tops are to have, (n,): at a step, and at a corner, by the higher of two tops.

    `ends`: elevation (in) of the tops of the runs that meet this one at its first and at its last post.
    """
    tops = top_at_posts(top, bays.posts)
    tops[0], tops[-1] = max(tops[0], ends[0]), max(tops[-1], ends[1])
    return tops + posts.height


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Lists:
    """The lengths on offer: for line posts, for gate posts, and which posts (n,) are cut from the latter."""

    line: tuple[Stock, ...]
    of_gates: tuple[Stock, ...]
    gate: Truths

    @staticmethod
    def of(posts: Posts, bays: Bays) -> "_Lists":
        return _Lists(
            line=tuple(sorted(posts.stock, key=lambda s: s.length)),
            of_gates=tuple(sorted(posts.gate_stock or posts.stock, key=lambda s: s.length)),
            gate=np.array([k is PostKind.GATE for k in bays.kinds], dtype=bool),
        )

    def shortest(self, total: Floats) -> Indices:
        """Index of the shortest stock as long as each total, in the post's own list; NO_POST past the
        longest.
        """
        found = [_shortest(total, offered) for offered in (self.line, self.of_gates)]
        return np.where(self.gate, found[1], found[0])

    def lengths(self, stock: Indices) -> Floats:
        """Length (in) of the stock of each post; nan for NO_POST."""
        return self._by(stock, [[s.length for s in offered] for offered in (self.line, self.of_gates)])

    def prices(self, stock: Indices) -> Floats:
        """Price of the stock of each post, 0 where none is given; nan for NO_POST."""
        return self._by(stock, [[s.price or 0.0 for s in offered] for offered in (self.line, self.of_gates)])

    def _by(self, stock: Indices, values: list[list[float]]) -> Floats:
        line, gates = (np.array([*v, np.nan])[np.minimum(stock, len(v))] for v in values)
        return np.where(self.gate, gates, line)


def _shortest(total: Floats, offered: tuple[Stock, ...]) -> Indices:
    found = np.searchsorted(np.array([s.length for s in offered]), total - SAME_LENGTH)
    return np.where(found < len(offered), found, NO_POST).astype(np.int64)


def _standing_heights(run: Run, bays: Bays) -> Floats:
    """Height (in) over the ground of each post that stands and whose height is given; nan for the others."""
    heights = np.full(len(bays.posts), np.nan)
    for post in run.existing_post:
        if post.keep and post.height is not None:
            heights[bays.standing & (np.abs(bays.posts - post.station) < SAME_LENGTH)] = post.height
    return heights


def _choices(
    above: Floats, deeper: Floats, posts: Posts, lists: _Lists, wind_depth: Floats | None
) -> tuple[DepthChoice, ...]:
    asked = {
        DepthRule.SHARE: _by_share(above, posts.depth_share),
        DepthRule.LEAST: np.full(len(above), posts.least_depth),
    }
    if posts.frost_depth > 0:
        asked[DepthRule.FROST] = np.full(len(above), posts.frost_depth)
    if wind_depth is not None:
        asked[DepthRule.WIND] = np.asarray(wind_depth, dtype=float)
    return tuple(
        DepthChoice(
            rule=rule,
            depth=depth + deeper,
            total=above + depth + deeper,
            stock=lists.shortest(above + depth + deeper),
        )
        for rule, depth in asked.items()
    )


def _by_share(above: Floats, share: float) -> Floats:
    return above * share / (1 - share)


def _eased(
    above: Floats, deeper: Floats, posts: Posts, lists: _Lists, strict: Floats
) -> tuple[Floats, Truths]:
    """Depth of each post, and whether the share is eased for it to spare a longer post."""
    depth = strict.max(axis=0)
    if posts.share_tolerance <= 0 or posts.depth_share <= 0:
        return depth, np.zeros(len(above), dtype=bool)
    least = _by_share(above, max(posts.depth_share - posts.share_tolerance, 0.0)) + deeper
    least = np.vstack([least, strict[1:]]).max(axis=0)
    shorter, longer = lists.shortest(above + least), lists.shortest(above + depth)
    spared = np.isnan(lists.prices(longer)) | (lists.prices(shorter) <= lists.prices(longer))
    taken = (shorter != NO_POST) & ((longer == NO_POST) | (shorter < longer)) & spared
    return np.where(taken, lists.lengths(shorter) - above, depth), taken

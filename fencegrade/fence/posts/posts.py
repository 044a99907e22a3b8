"""Posts: how long each is, how deep it stands, and where it is cut.

top line ----  ____
post height   |    |  above ground = top line + post height - ground
              |    |
ground ~~~~~~~|    |~~~~~~
              |    |  depth = greatest of the rules that hold
              |____|
               ::::    gravel
"""

from collections.abc import Sequence
from enum import StrEnum

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.bays.bays import Bays
from fencegrade.fence.bays.given_posts import PostKind
from fencegrade.fence.pickets.cuts import marks_up
from fencegrade.fence.rails.rails import top_at_posts
from fencegrade.fence.stock import NO_STOCK, by_length, shortest_serving
from fencegrade.fence.stock_steps import for_sale
from fencegrade.fence.tops.line import TopLine
from fencegrade.ground.profile import GroundLine
from fencegrade.job.records import Posts, Run, Stock
from fencegrade.units import MM_PER_INCH, UnitSystem
from fencegrade.units.arrays import Floats, Indices, Marks, Truths
from fencegrade.units.tolerances import SAME_LENGTH

TOP_ALLOWED = {UnitSystem.IMPERIAL: 0.25, UnitSystem.METRIC: 6 / MM_PER_INCH}
"""Inches that two figures of one post's top may differ before anything is made of it, as the tape and the
ground under it do when they are read again: common practice, no source."""


class DepthRule(StrEnum):
    """What asks for a depth in the ground."""

    SHARE = "share of the post's length"
    LEAST = "least depth"
    FROST = "frost"
    WIND = "wind and soil"


class DepthChoice(Struct, frozen=True, kw_only=True, eq=False):
    """One rule's answer: the depth (n,) in the ground it asks of every post (in)."""

    rule: DepthRule
    depth: Floats


class PostStock(Struct, frozen=True, kw_only=True, eq=False):
    """What posts there are in: `line` posts, and those `of_gates`, which are the posts `gate` (n,) says.

    `mark`: tape mark (in). A length on offer counts to the mark below, as for whatever is cut.
    """

    line: tuple[Stock, ...]
    of_gates: tuple[Stock, ...]
    gate: Truths
    mark: float

    def of(self, post: int) -> tuple[Stock, ...]:
        """The lengths a post is bought in, shortest first."""
        return self.of_gates if self.gate[post] else self.line

    def to_marks_up(self, total: Floats) -> Floats:
        """Lengths (n,) (in) to the mark above."""
        return np.asarray(marks_up(total, self.mark) * self.mark)

    def shortest(self, total: Floats) -> Indices:
        """Index of the shortest stock as long as each total (n,) (in) in the post's own list, or NO_STOCK."""
        asked = marks_up(total, self.mark)
        line, gates = (
            np.append(np.arange(len(lengths)), NO_STOCK)[shortest_serving(lengths, asked)]
            for lengths in self._lengths
        )
        return np.where(self.gate, gates, line)

    def lengths(self, stock: Indices) -> Floats:
        """Length (in), to the mark, of the stock of each post; nan for NO_STOCK."""
        return self._by(stock, [np.multiply(lengths, self.mark) for lengths in self._lengths])

    def prices(self, stock: Indices) -> Floats:
        """Price of the stock of each post, 0 where none is given, infinite where no more can be bought; nan
        for NO_STOCK."""
        prices = [[s.price or 0.0 if s.sold else np.inf for s in o] for o in (self.line, self.of_gates)]
        return self._by(stock, [np.array(own) for own in prices])

    @property
    def _lengths(self) -> list[Marks]:
        return [by_length(offered, self.mark)[1] for offered in (self.line, self.of_gates)]

    def _by(self, stock: Indices, values: Sequence[Floats]) -> Floats:
        line, gates = (np.append(v, np.nan)[np.minimum(stock, len(v))] for v in values)
        return np.where(self.gate, gates, line)


class PostSchedule(Struct, frozen=True, kw_only=True, eq=False):
    """Every post (n,): stations, elevations and lengths in inches.

    `ground`: at a face the lower side; `crown`: where the top is wanted, see `crown_at_posts`; `top` of the
    post; `above` ground; `known`: whether that is known, as it is not of an old post that nobody
    measured; `choices`: each rule on its own; `eased`: a little less than the greatest of them, as deep as
    the next shorter post goes; `depth` of the post in the ground; `old`: those that stood before the job;
    `planned`: the whole length each was to have before any was set; `sold`: what posts are bought in;
    `stock`: index in the post's own list, NO_STOCK for a post that stands already and where none serves.
    """

    station: Floats
    kinds: tuple[PostKind, ...]
    standing: Truths
    known: Truths
    ground: Floats
    crown: Floats
    top: Floats
    above: Floats
    choices: tuple[DepthChoice, ...]
    eased: Truths
    depth: Floats
    old: Truths
    planned: Floats
    sold: PostStock
    stock: Indices

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

    @property
    def total(self) -> Floats:
        """The whole length each post needs."""
        return self.above + self.depth

    @property
    def needed(self) -> Floats:
        """The whole length each post needs, to the mark above."""
        return self.sold.to_marks_up(self.total)

    @property
    def gate(self) -> Truths:
        """Gate posts."""
        return self.sold.gate

    @property
    def rule(self) -> Indices:
        """Which of `choices` asks the greatest depth of each."""
        return np.asarray(np.stack([c.depth for c in self.choices]).argmax(axis=0))

    @property
    def cut_off(self) -> Floats:
        """What a post of its stock is too long."""
        return np.nan_to_num(np.maximum(self.sold.lengths(self.stock) - self.total, 0.0))

    def eased_by(self, posts: Posts) -> "PostSchedule":
        """The same posts with another `posts.share_tolerance`."""
        depth, eased = _eased(self.above, posts, self.sold, self.choices)
        stock = np.where(self.standing, NO_STOCK, self.sold.shortest(self.above + depth))
        return replace(self, depth=depth, eased=eased & ~self.standing, stock=stock)

    def with_post(self, post: int, other: "PostSchedule", there: int, posts: Posts) -> "PostSchedule":
        """The same posts, one of them being another run's too: it stands on the lower ground of the two, as
        deep as the rules of both ask.
        """
        above, ground, planned = self.above.copy(), self.ground.copy(), self.planned.copy()
        if not self.standing[post]:
            above[post] = max(above[post], other.above[there])
            ground[post] = min(ground[post], other.ground[there])
        planned[post] = max(planned[post], other.planned[there])
        choices = tuple(_as_deep(c, post, o, there) for c, o in zip(self.choices, other.choices, strict=True))
        shared = replace(self, above=above, ground=ground, planned=planned, choices=choices)
        return shared.eased_by(posts)

    def set_by(self, post: int) -> str:
        """What decides the depth of a post, in words."""
        if self.eased[post]:
            return "stock length"
        return str(max(self.choices, key=lambda choice: choice.depth[post]).rule)


def post_schedule(
    run: Run,
    bays: Bays,
    crown: Floats,
    line: GroundLine,
    posts: Posts,
    mark: float,
    wind_depth: Floats | None = None,
) -> PostSchedule:
    """The posts of a run.

    `crown`: (n,) see `crown_at_posts`; a post that stands keeps the height it is given with; `mark`: tape
    mark (in).
    `wind_depth`: (n,) depth (in) that wind and soil ask for, where it was asked for. The depth is the
    greatest of `posts.depth_share` of the whole length, `posts.least_depth`, `posts.frost_depth` and
    `wind_depth`, and `posts.gate_deeper` more for gate posts; the stock the shortest that is long enough.
    Where a shorter one falls short of the share alone, by `posts.share_tolerance` or less, and costs no more,
    it is taken and stands as deep as it goes. Source: a third of the post in the ground is a trade rule (see
    figures.holes), gate posts 6 in deeper likewise.
    """
    ground = ground_at_posts(line, bays.posts)
    stood = standing_heights(run, bays)
    wanted = np.maximum(crown - ground, 0.0)
    above = np.where(np.isnan(stood), wanted, stood)
    sold = _sold(posts, bays, mark)
    choices = _choices(above, posts, sold, wind_depth)
    depth, eased = _eased(above, posts, sold, choices)
    listed = np.where(bays.old, above, wanted)
    asked, _ = _eased(listed, posts, sold, _choices(listed, posts, sold, wind_depth))
    return PostSchedule(
        station=bays.posts,
        kinds=bays.kinds,
        standing=bays.standing,
        known=~(bays.old & np.isnan(stood)),
        ground=ground,
        crown=crown,
        top=np.where(np.isnan(stood), crown, ground + stood),
        above=above,
        choices=choices,
        eased=eased & ~bays.standing,
        depth=depth,
        old=bays.old,
        planned=listed + asked,
        sold=sold,
        stock=np.where(bays.standing, NO_STOCK, sold.shortest(above + depth)),
    )


def _as_deep(own: DepthChoice, post: int, other: DepthChoice, there: int) -> DepthChoice:
    """A rule's depths with that of one post no less than the same rule asks of it in another run."""
    depth = own.depth.copy()
    depth[post] = max(depth[post], other.depth[there])
    return replace(own, depth=depth)


def one_post_each(
    schedules: Sequence[PostSchedule], corners: Sequence[tuple[int, int]], posts: Posts
) -> list[PostSchedule]:
    """The posts run by run, that of each corner the same in all the runs that share it.

    `schedules`: run by run; `corners`: pairs (run that ends there, run that starts there). Source: own
    derivation.
    """
    found = list(schedules)
    for before, after in [*corners, *corners]:
        found[before] = found[before].with_post(-1, found[after], 0, posts)
        found[after] = found[after].with_post(0, found[before], -1, posts)
    return found


def crown_at_posts(
    top: TopLine, bays: Bays, posts: Posts, ends: tuple[float, float] = (-np.inf, -np.inf)
) -> Floats:
    """Elevation (in) the post tops are to have, (n,): at a step, and at a corner, by the higher of two tops.

    `ends`: elevation (in) of the tops of the runs that meet this one at its first and at its last post.
    """
    tops = top_at_posts(top, bays.posts)
    tops[0], tops[-1] = max(tops[0], ends[0]), max(tops[-1], ends[1])
    return tops + posts.height


def _sold(posts: Posts, bays: Bays, mark: float) -> PostStock:
    """What the posts of a run are bought in."""
    return PostStock(
        line=_reaching(posts.stock, mark),
        of_gates=_reaching(posts.gate_stock or posts.stock, mark),
        gate=np.array([k is PostKind.GATE for k in bays.kinds], dtype=bool),
        mark=mark,
    )


def _reaching(offered: Sequence[Stock], mark: float) -> tuple[Stock, ...]:
    """The posts that can be bought, shortest first, with those on hand that are longer than all of them."""
    longest = max((s.length for s in for_sale(offered)), default=0.0)
    return by_length([s for s in offered if s.sold or s.length > longest], mark)[0]


def ground_at_posts(line: GroundLine, stations: Floats) -> Floats:
    """Elevation (in) of the ground that posts at `stations` (n,) (in) stand on, the lower side of a face."""
    return np.minimum(line.elevation(stations), line.elevation(stations, before=True))


def standing_heights(run: Run, bays: Bays) -> Floats:
    """Height (in) over the ground of each post that stands and whose height is given; nan for the others."""
    heights = np.full(len(bays.posts), np.nan)
    for post in run.existing_post:
        if post.keep and post.height is not None:
            heights[bays.standing & (np.abs(bays.posts - post.station) < SAME_LENGTH)] = post.height
    return heights


def _choices(
    above: Floats, posts: Posts, sold: PostStock, wind_depth: Floats | None
) -> tuple[DepthChoice, ...]:
    asked: dict[DepthRule, Floats | float] = {
        DepthRule.SHARE: _by_share(above, posts.depth_share),
        DepthRule.LEAST: posts.least_depth,
    }
    if posts.frost_depth > 0:
        asked[DepthRule.FROST] = posts.frost_depth
    if wind_depth is not None:
        asked[DepthRule.WIND] = wind_depth
    deeper = np.where(sold.gate, posts.gate_deeper, 0.0)
    return tuple(DepthChoice(rule=rule, depth=depth + deeper) for rule, depth in asked.items())


def _by_share(above: Floats, share: float) -> Floats:
    return above * share / (1 - share)


def _eased(
    above: Floats, posts: Posts, sold: PostStock, choices: Sequence[DepthChoice]
) -> tuple[Floats, Truths]:
    """Depth of each post, and whether the share is eased for it to spare a longer post."""
    strict = np.stack([c.depth for c in choices])
    depth = strict.max(axis=0)
    least = _by_share(above, max(posts.depth_share - posts.share_tolerance, 0.0))
    least = np.vstack([least + np.where(sold.gate, posts.gate_deeper, 0.0), strict[1:]]).max(axis=0)
    shorter, longer = sold.shortest(above + least), sold.shortest(above + depth)
    spared = np.isnan(sold.prices(longer)) | (sold.prices(shorter) <= sold.prices(longer))
    taken = (shorter != NO_STOCK) & ((longer == NO_STOCK) | (shorter < longer)) & spared
    return np.where(taken, sold.lengths(shorter) - above, depth), taken

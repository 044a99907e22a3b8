"""Posts: how long each is, how deep it stands, and where it is cut.

top line ----  ____
post height   |    |  above ground = top line + post height - ground
              |    |
ground ~~~~~~~|    |~~~~~~
              |    |  depth = greatest of the rules that hold
              |____|
               ::::    gravel
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from fencegrade.fence.bays.bays import Bays
from fencegrade.fence.bays.given_posts import PostKind
from fencegrade.fence.bays.reach import HAIR
from fencegrade.fence.rails.rails import top_at_posts
from fencegrade.fence.tops.line import TopLine
from fencegrade.figures.holes import HOLE_FOR_TAMPED_EARTH
from fencegrade.ground.profile import Floats, GroundLine
from fencegrade.job.records import Posts, Run, Stock
from fencegrade.problems import Problem, note, warning
from fencegrade.units.words import Words, numbered, plural

Indices = NDArray[np.int64]

NO_POST = -1
"""Stands for a stock index where a post already stands, or where none is long enough."""

TALL_HEIGHT, TALL_SPACING, SMALL_POST = 78.0, 72.0, 3.5
"""Inches. Over 6-1/2 ft a municipal rule wants 4x6 posts, or 4x4 posts no more than 6 ft apart: seen in an
ordinance reposted without its city; a fence rule of its place, not a general one."""


class DepthRule(StrEnum):
    """What asks for a depth in the ground."""

    SHARE = "share of the post's length"
    LEAST = "least depth"
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

    `ground`: at a face the lower side; `top` of the post; `above` ground; `choices`: each rule on its own;
    `rule`: which of `choices` asks the greatest depth; `depth` of the post in the ground, `hole` with gravel;
    `total` length needed; `stock`: index in `offered` (by length), NO_POST for a post that stands already and
    where no stock serves; `cut_off`: what a post of that stock is too long.
    """

    station: Floats
    kinds: tuple[PostKind, ...]
    standing: NDArray[np.bool_]
    ground: Floats
    top: Floats
    above: Floats
    choices: tuple[DepthChoice, ...]
    rule: Indices
    depth: Floats
    hole: Floats
    total: Floats
    offered: tuple[Stock, ...]
    stock: Indices
    cut_off: Floats

    def __len__(self) -> int:
        return len(self.station)

    @property
    def new(self) -> NDArray[np.bool_]:
        """Posts that are to be set."""
        return ~self.standing

    @property
    def share(self) -> Floats:
        """Share of each post's length that stands in the ground."""
        return self.depth / self.total


def post_schedule(
    run: Run,
    bays: Bays,
    top: TopLine,
    line: GroundLine,
    posts: Posts,
    say: Words,
    wind_depth: Floats | None = None,
) -> tuple[PostSchedule, tuple[Problem, ...]]:
    """The posts of a run, and what a builder must see of them.

    `top`: at a step the post serves the higher side; a post that stands keeps the height it is given with.
    `wind_depth`: (n,) depth (in) that wind and soil ask
    for, where it was asked for. The depth is the greatest of `posts.depth_share` of the whole length,
    `posts.least_depth` and `wind_depth`, and `posts.gate_deeper` more for gate posts; the stock the shortest
    that is long enough. Source: a third of the post in the ground is a trade rule (see figures.holes), gate
    posts 6 in deeper likewise.
    """
    ground = np.minimum(line.elevation(bays.posts), line.elevation(bays.posts, before=True))
    crown = top_at_posts(top, bays.posts) + posts.height
    stood = _standing_heights(run, bays)
    above = np.where(np.isnan(stood), np.maximum(crown - ground, 0.0), stood)
    offered = tuple(sorted(posts.stock, key=lambda s: s.length))
    deeper = np.where([k is PostKind.GATE for k in bays.kinds], posts.gate_deeper, 0.0)
    choices = _choices(above, deeper, posts, offered, wind_depth)
    depths = np.stack([c.depth for c in choices])
    depth = depths.max(axis=0)
    total = above + depth
    stock = np.where(bays.standing, NO_POST, _shortest(total, offered))
    lengths = np.array([*(s.length for s in offered), np.nan])
    schedule = PostSchedule(
        station=bays.posts,
        kinds=bays.kinds,
        standing=bays.standing,
        ground=ground,
        top=np.where(np.isnan(stood), crown, ground + stood),
        above=above,
        choices=choices,
        rule=np.argmax(depths, axis=0).astype(np.int64),
        depth=depth,
        hole=depth + posts.gravel,
        total=total,
        offered=offered,
        stock=stock,
        cut_off=np.nan_to_num(np.maximum(lengths[stock] - total, 0.0)),
    )
    return schedule, tuple(_findings(run, schedule, bays, posts, crown, say))


def _standing_heights(run: Run, bays: Bays) -> Floats:
    """Height (in) over the ground of each post that stands and whose height is given; nan for the others."""
    heights = np.full(len(bays.posts), np.nan)
    for post in run.existing_post:
        if post.keep and post.height is not None:
            heights[bays.standing & (np.abs(bays.posts - post.station) < HAIR)] = post.height
    return heights


def _choices(
    above: Floats, deeper: Floats, posts: Posts, offered: tuple[Stock, ...], wind_depth: Floats | None
) -> tuple[DepthChoice, ...]:
    share = posts.depth_share
    asked = {
        DepthRule.SHARE: above * share / (1 - share),
        DepthRule.LEAST: np.full(len(above), posts.least_depth),
    }
    if wind_depth is not None:
        asked[DepthRule.WIND] = np.asarray(wind_depth, dtype=float)
    return tuple(
        DepthChoice(
            rule=rule,
            depth=depth + deeper,
            total=above + depth + deeper,
            stock=_shortest(above + depth + deeper, offered),
        )
        for rule, depth in asked.items()
    )


def _shortest(total: Floats, offered: tuple[Stock, ...]) -> Indices:
    """Index of the shortest stock as long as each total; NO_POST past the longest."""
    lengths = np.array([s.length for s in offered])
    found = np.searchsorted(lengths, total - HAIR)
    return np.where(found < len(offered), found, NO_POST).astype(np.int64)


def _findings(
    run: Run, schedule: PostSchedule, bays: Bays, posts: Posts, crown: Floats, say: Words
) -> Iterator[Problem]:
    if not schedule.offered:
        yield warning(f"{run.name}, posts", "no post length is offered", "add [[posts.stock]] with a length")
    else:
        yield from _too_long(run, schedule, say)
    yield from _standing_off(run, schedule, crown, say)
    yield from _one_hole(run, schedule, posts, say)
    yield from _shallow(run, schedule, say)
    yield from _tall(run, schedule, bays, posts, say)
    yield from _at_faces(run, schedule, say)
    if schedule.new.any() and posts.hole_diameter < HOLE_FOR_TAMPED_EARTH * posts.width - HAIR:
        yield note(
            f"{run.name}, holes",
            f"{say(posts.hole_diameter)} is less than twice the posts' width",
            "three times the width with concrete, twice with tamped earth is common practice",
        )


def _too_long(run: Run, schedule: PostSchedule, say: Words) -> Iterator[Problem]:
    found = np.flatnonzero(schedule.new & (schedule.stock == NO_POST))
    if not len(found):
        return
    k = int(found[np.argmax(schedule.total[found])])
    longest, total = schedule.offered[-1].length, float(schedule.total[k])
    yield warning(
        f"{run.name}, {numbered('post', found)}",
        f"no stock serves: post {k + 1} at {say.station(float(schedule.station[k]))} needs "
        f"{say(float(schedule.above[k]))} above the ground and {say(float(schedule.depth[k]))} in it "
        f"({schedule.choices[schedule.rule[k]].rule}), {say(total)}; the longest post is {say(longest)}, "
        f"{say(total - longest)} too short",
        "add a longer post, lower the top there, or change the depth rule where the local code allows",
    )


def _standing_off(run: Run, schedule: PostSchedule, crown: Floats, say: Words) -> Iterator[Problem]:
    """Posts that stand and are lower, or higher, than this top wants them."""
    for k in np.flatnonzero(schedule.standing).tolist():
        missing = float(crown[k] - schedule.top[k])
        place = f"{run.name}, post {k + 1} at {say.station(float(schedule.station[k]))}"
        if missing > HAIR:
            yield warning(
                place,
                f"the post that stands here is {say(missing)} too short for this top",
                "lower the top there, let the pickets stand higher over the post, or set a new post",
            )
        elif missing < -HAIR:
            yield note(
                place,
                f"the post that stands here is {say(-missing)} higher than this top wants it",
                "cut it down once the rails hang, or let it show",
            )


def _one_hole(run: Run, schedule: PostSchedule, posts: Posts, say: Words) -> Iterator[Problem]:
    """Neighbours so near that their holes run into each other."""
    apart = np.where(schedule.new[1:] & schedule.new[:-1], np.diff(schedule.station), np.inf)
    for k in np.flatnonzero((apart > HAIR) & (apart < posts.hole_diameter - HAIR)).tolist():
        yield warning(
            f"{run.name}, posts {k + 1} and {k + 2}",
            f"their middles are {say(float(apart[k]))} apart and a hole is {say(posts.hole_diameter)} wide: "
            "the two holes run into one",
            "move the gate so that one post serves both, or set the two in one hole",
        )


def _shallow(run: Run, schedule: PostSchedule, say: Words) -> Iterator[Problem]:
    """The new post with the least share of its length in the ground, where that is under a third."""
    share = np.where(schedule.new, schedule.share, np.inf)
    k = int(np.argmin(share))
    if share[k] < 1 / 3 - 1e-6:
        yield warning(
            f"{run.name}, post {k + 1} at {say.station(float(schedule.station[k]))}",
            f"{say(float(schedule.depth[k]))} of {say(float(schedule.total[k]))} is in the ground "
            f"({share[k]:.0%}), less than the third that is common practice",
            "dig the tall posts' holes deeper, or ask what the local code wants",
        )


def _tall(run: Run, schedule: PostSchedule, bays: Bays, posts: Posts, say: Words) -> Iterator[Problem]:
    """Bays that are tall for the posts that carry them."""
    if min(posts.width, posts.thickness or posts.width) > SMALL_POST + HAIR:
        return
    above = schedule.above - posts.height
    tall = np.maximum(above[bays.first], above[bays.first + 1]) > TALL_HEIGHT + HAIR
    found = np.flatnonzero(tall & (bays.width > TALL_SPACING + HAIR))
    if len(found):
        worst = float(np.maximum(above[bays.first], above[bays.first + 1])[found].max())
        yield warning(
            f"{run.name}, {plural(len(found), 'bay')} from "
            f"{say.station(float(bays.left[found[0]]))} to "
            f"{say.station(float(bays.right[found[-1]]))}",
            f"tops stand up to {say(worst)} over the ground on posts {say(posts.width)} wide",
            "take larger posts or set them closer, dig deeper, or ask the local authority: some ask for it "
            f"above {say(TALL_HEIGHT)}",
        )


def _at_faces(run: Run, schedule: PostSchedule, say: Words) -> Iterator[Problem]:
    for k, kind in enumerate(schedule.kinds):
        if kind is PostKind.FACE:
            yield warning(
                f"{run.name}, post {k + 1} at {say.station(float(schedule.station[k]))}",
                "the post stands at a wall or face; its length is taken from the lower ground",
                "a post or footing near a wall loads it: ask an engineer before digging",
            )

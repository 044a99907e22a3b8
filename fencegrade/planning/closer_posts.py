"""Whether posts a little closer let a shorter rail reach, and what that spares."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from msgspec import Struct

from fencegrade.fence.posts.concrete import concrete_for
from fencegrade.fence.stock_steps import for_sale
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle
from fencegrade.ground.survey import RunGround
from fencegrade.job.read import Job
from fencegrade.job.records import Stock
from fencegrade.planning.families import Family
from fencegrade.planning.layout import RunLayout, lay_out
from fencegrade.planning.part_families import rail_family
from fencegrade.planning.run import RunPlan
from fencegrade.problems import JobMistakesError, Problem, note
from fencegrade.units.tolerances import MARK_GRACE, SAME_LENGTH
from fencegrade.units.words import Words

LEAST_OF_SPACING = 0.75
"""Posts closer than this share of the spacing asked for are another fence, not a slight change: own
choice."""


def closer_posts(
    job: Job,
    grounds: list[RunGround],
    styles: Sequence[TopStyle],
    tops: Sequence[TopLine],
    runs: Sequence[RunPlan],
    rails: Family | None,
) -> Iterator[Problem]:
    """How a shorter rail could reach everywhere, with its saving: posts a little closer, or end bays alone.

    `rails`: as they are bought now, None where gate frames are cut with them. Rails of the other
    layout are counted as one board each, so that the
    saving is at least the one told; posts and their concrete at the dearest. Nothing where rails have no
    prices or some are on hand. Source: own derivation.
    """
    stock = sorted(job.rails.stock, key=lambda s: s.length)
    if any(s.price is None or s.on_hand or not s.sold for s in stock) or not all(
        len(r.layout.bays) for r in runs
    ):
        return
    words = job.words
    found: list[tuple[float, int, _Way]] = []
    for way in _ways(job, runs, stock, words):
        try:
            layouts, _ = lay_out(way.job, grounds, styles, tops)
        except JobMistakesError:
            continue
        more = _to_set(layouts) - _to_set([r.layout for r in runs])
        timber = _rails_cost(layouts, runs, way.job.rails.stock)
        if timber is not None:
            found.append((timber + more * _dearest_post(job), more, way))
    if not found:
        return
    cost, more, way = min(found, key=lambda f: f[0])
    if _one_board_each(runs, stock) <= cost:
        return
    saving = (rails or _rails_alone(job, runs)).plan.cost - cost
    if saving > 0.005:
        posts = "the same posts" if more <= 0 else f"{more} more post{'s' if more > 1 else ''}"
        yield note(
            "posts and rails", f"{way.told}: {words.money(saving)} less or better with {posts}", way.remedy
        )


class _Way(Struct, frozen=True, kw_only=True):
    """Another way to lay the bays: the job that asks for it, what it does, and how a builder writes it."""

    job: Job
    told: str
    remedy: str


def _ways(job: Job, runs: Sequence[RunPlan], stock: Sequence[Stock], words: Words) -> Iterator[_Way]:
    for k, short in enumerate(stock[:-1]):
        sold = words.sold_length(short.length)
        yield _Way(
            job=replace(job, rails=replace(job.rails, stock=tuple(stock[: k + 1]))),
            told=f"with some bays a little narrower rails of {sold} reach in every bay",
            remedy=f"to have it so, offer no rail over {sold} under [rails] in the job file",
        )
        spacing = _spacing(job, runs, short)
        if LEAST_OF_SPACING * job.posts.spacing <= spacing < job.posts.spacing:
            yield _Way(
                job=replace(job, posts=replace(job.posts, spacing=spacing)),
                told=f"posts {words.fine(spacing)} apart at most let rails of {sold} reach",
                remedy=(
                    f'to have it so, write spacing = "{words.fine(spacing)}" under [posts] in the job file'
                ),
            )


def _rails_alone(job: Job, runs: Sequence[RunPlan]) -> Family:
    """The rails as they are bought now, without the frames of gates."""
    names = [r.run.name for r in runs]
    return rail_family(job, [r.rail_pieces for r in runs], names, [r.rails_coming for r in runs])


def _spacing(job: Job, runs: Sequence[RunPlan], short: Stock) -> float:
    """The largest spacing (in), in whole marks, at which a stock reaches in every bay as they slope now."""
    slope = max(float(np.abs(r.layout.bays.slope).max()) for r in runs)
    extra = max(float(r.layout.bays.extra.max()) for r in runs)
    mark = job.tape
    level = (short.length - job.rails.height * slope) / math.hypot(1.0, slope)
    return math.floor((level - extra) / mark + MARK_GRACE) * mark


def _to_set(layouts: Sequence[RunLayout]) -> int:
    return sum(int((~lay.bays.standing).sum()) for lay in layouts)


def _one_board_each(runs: Sequence[RunPlan], stock: Sequence[Stock]) -> float:
    """What the rails as planned would cost were none cut with another: at least what they do cost."""
    cut = ((r.rail_pieces, r.rails_coming) for r in runs)
    lengths = [x for p, own in cut for x in (p.length + p.ends)[own].tolist()]
    prices = ([s.price or 0.0 for s in stock if s.length >= x - SAME_LENGTH] for x in lengths)
    return sum(min(p, default=math.inf) for p in prices)


def _rails_cost(
    layouts: Sequence[RunLayout], runs: Sequence[RunPlan], stock: Sequence[Stock]
) -> float | None:
    """Cost of rails cut one from a board, the cheapest that is long enough; None where none is."""
    total = 0.0
    for lay, run in zip(layouts, runs, strict=True):
        rows = int(run.rails.row.max()) + 1
        for length in lay.bays.taken.tolist():
            prices = [s.price or 0.0 for s in stock if s.length >= length - SAME_LENGTH]
            if not prices:
                return None
            total += rows * min(prices)
    return total


def _dearest_post(job: Job) -> float:
    """What one more post costs at most: the dearest post and the bags of its hole."""
    sold = for_sale(job.posts.stock)
    post = max(s.price or 0.0 for s in sold)
    deepest = np.array([max(s.length for s in sold) / 2])
    hole = concrete_for(deepest, np.zeros(1, dtype=bool), job.posts)
    return post + hole.bags_in_all * (job.posts.bag_price or 0.0)

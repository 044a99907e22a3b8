"""A stepped top: level within a bay, changing only at posts, at heights the tape shows.

______
      |______         ______   no board gets cheaper by rising, so every bay stands as low as its own ground,
             |_______|         and the limits on its steps, let it
   post   post     post
"""

import numpy as np
from msgspec import Struct

from fencegrade.fence.tops.asked import Proof, TopChoice, TopWish, chosen
from fencegrade.fence.tops.bays import at_faces, bay_edges, bay_of, face_remarks
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.table import TopStyle
from fencegrade.problems import Problem, note, warning
from fencegrade.units.arrays import Floats, Indices, Truths, first_most
from fencegrade.units.tolerances import MARK_GRACE, REACH_GRACE

_TIE = 1e-3
_TRIED = 20_000_000
"""Heights of bays tried for equal steps; beyond it only every so many sizes are."""


class _Bays(Struct, frozen=True, kw_only=True, eq=False):
    """The bays on a grid of heights: `anchor` + mark x whole number.

    `edges` (b + 1,) stations; `bound` (b,) marks the ground itself asks; `free` (b - 1,) whether the step at
    a post is not limited (a face).
    """

    edges: Floats
    anchor: float
    bound: Indices
    free: Truths


def choose(wish: TopWish) -> TopChoice:
    """The stepped top of least cost within its limits; of equal ones, of least timber.

    `wish.posts`: stations (m,); `wish.limits`: `most_step`, `equal_steps` (every step up or down the same
    size, where there is one). Heights lie on tape marks below the highest bay's. Neither limit holds at a
    face, where ground itself steps. Errors: ValueError where the run lies outside the readings. Source: own
    derivation: of heights whose steps keep a limit the least at each bay keep it too.
    """
    bays = _bays(wish)
    limit = None if wish.limits.most_step is None else int(wish.limits.most_step / wish.mark + MARK_GRACE)
    if wish.limits.equal_steps:
        heights, proven = _equal_steps(wish, bays, limit)
    else:
        heights, proven = _within_steps(bays.bound, limit, bays.free), True
    top = _line(wish, bays, heights)
    proof = Proof.COST_ON_TAPE if proven else Proof.NONE
    return chosen(wish, top, proof, tuple(_remarks(wish, bays, heights)))


def _bays(wish: TopWish) -> _Bays:
    edges = bay_edges(wish)
    asked = wish.line.highest(edges[:-1], edges[1:])
    boards = wish.line.highest(wish.slots.left, wish.slots.right)
    np.maximum.at(asked, bay_of(edges, wish.slots.centre), boards)
    asked += wish.least_height
    anchor = float(asked.max())
    bound = np.ceil((asked - anchor) / wish.mark - MARK_GRACE).astype(np.int64)
    return _Bays(edges=edges, anchor=anchor, bound=bound, free=at_faces(edges, wish.line))


def _line(wish: TopWish, bays: _Bays, heights: Indices) -> TopLine:
    z = bays.anchor + heights * wish.mark
    return TopLine(
        style=TopStyle.STEPPED, stations=np.repeat(bays.edges, 2)[1:-1], elevations=np.repeat(z, 2)
    )


def _within_steps(least: Indices, limit: int | None, free: Truths) -> Indices:
    """The lowest heights (.., b) not under `least` whose steps stay within the limit, in marks."""
    low = least.copy()
    if limit is None:
        return low
    for b in range(1, low.shape[-1]):
        if not free[b - 1]:
            low[..., b] = np.maximum(low[..., b], low[..., b - 1] - limit)
    for b in range(low.shape[-1] - 2, -1, -1):
        if not free[b]:
            low[..., b] = np.maximum(low[..., b], low[..., b + 1] - limit)
    return low


def _equal_steps(wish: TopWish, bays: _Bays, limit: int | None) -> tuple[Indices, bool]:
    """Heights of least cost whose steps, but at faces, are of one size or none; whether all sizes were tried.

    Between two faces all heights are whole steps from one of them, and for each height that one may have the
    lowest such heights are the best.
    """
    most = int(np.ptp(bays.bound))
    most = most if limit is None else min(most, limit)
    stride = 1 + most * most * len(bays.bound) // (2 * _TRIED)
    costs = _bay_costs(wish, bays, most)
    parts = np.split(np.arange(len(bays.bound)), np.flatnonzero(bays.free) + 1)
    best, least = bays.bound, np.inf
    for size in range(0, most + 1, stride):
        found = [_cheapest_start(bays.bound[part], costs[part], size) for part in parts]
        cost = sum(c for _, c in found)
        if cost < least:
            best, least = np.concatenate([heights for heights, _ in found]), cost
    return best, stride == 1


def _cheapest_start(bound: Indices, costs: Floats, size: int) -> tuple[Indices, float]:
    """The heights of least cost of the bays between two faces, whole steps of `size` apart; and that cost."""
    step = max(size, 1)
    start = np.arange(step)[:, None] if size else bound.max()[None, None]
    tried = start + step * -((start - bound) // step)
    tried = _within_steps(tried, size, np.zeros(len(bound) - 1, dtype=bool))
    total = costs[np.arange(len(bound)), tried - bound].sum(axis=1)
    first = int(total.argmin())
    return tried[first], float(total[first])


def _bay_costs(wish: TopWish, bays: _Bays, most: int) -> Floats:
    """(b, h): cost of each bay's pickets at 0, 1, 2.. marks over its bound, with a trace of timber for ties.

    Up to `most` marks over the highest bay.
    """
    bay = bay_of(bays.edges, wish.slots.centre)
    cost = wish.cost.on_marks(np.full(len(bay), bays.anchor))
    bays_in, high = len(bays.bound), int(np.ptp(bays.bound)) + most + 1
    passed = np.floor((cost.reach + REACH_GRACE - bays.anchor) / wish.mark) + 1 - bays.bound[bay][:, None]
    cell = np.clip(passed, 0, high).astype(np.int64) + (high + 1) * bay[:, None]
    rises = np.bincount(cell.ravel(), cost.charge.ravel(), minlength=bays_in * (high + 1))
    base = np.bincount(bay, cost.base, minlength=bays_in)
    least = cost.charge[cost.charge > 0]
    trace = _TIE * (least.min() if least.size else 1.0) / max(1.0, float(len(bay) * high))
    timber = trace * np.bincount(bay, minlength=bays_in)[:, None] * np.arange(high)
    return np.asarray(base[:, None] + np.cumsum(rises.reshape(bays_in, high + 1)[:, :high], axis=1) + timber)


def _remarks(wish: TopWish, bays: _Bays, heights: Indices) -> list[Problem]:
    """Bays that the limits hold up, faces inside a bay, and steps at faces."""
    found = face_remarks(wish, bays.edges)
    held = (heights - bays.bound) * wish.mark
    if (held > 0).any():
        worst, count = first_most(held), int((held > 0).sum())
        found.append(
            warning(
                wish.place(float(bays.edges[worst])),
                f"{'a bay stands' if count == 1 else f'{count} bays stand'} higher than the ground asks, "
                f"so that {_limits(wish)}; bay {worst + 1} by {wish.words.length(float(held[worst]))}",
                "allow a larger step, or set posts closer there",
            )
        )
    steps = np.diff(heights) * wish.mark
    found.extend(
        note(
            wish.place(float(bays.edges[b + 1])),
            f"the top steps {wish.words.length(abs(float(steps[b])))} at a face of the ground",
        )
        for b in np.flatnonzero(bays.free & (steps != 0))
    )
    return found


def _limits(wish: TopWish) -> str:
    """What holds bays up, in words."""
    told = ["all steps are of one size"] if wish.limits.equal_steps else []
    if wish.limits.most_step is not None:
        told.append(f"no step is over {wish.words.given(wish.limits.most_step)}")
    return " and ".join(told)

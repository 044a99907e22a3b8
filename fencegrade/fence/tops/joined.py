"""Tops of runs that meet at corners, found together so that they meet at one height."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fencegrade.fence.tops.chains import Aim, Chain, solve_chains
from fencegrade.fence.tops.level import level_at, level_top
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.racked import racked_chain, shares
from fencegrade.fence.tops.touch import corner_ground
from fencegrade.fence.tops.wish import Proof, TopChoice, TopWish, chosen
from fencegrade.ground.profile import Floats
from fencegrade.job.records import TopStyle
from fencegrade.problems import Problem, note

_MET = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerStep:
    """Two runs at a corner: `before` ends there, `after` starts there; the top rises by `step` (in)."""

    before: int
    after: int
    step: float


def choose_joined(
    wishes: Sequence[TopWish], corners: Sequence[tuple[int, int]], style: TopStyle
) -> tuple[TopChoice, ...] | None:
    """Tops of several runs that meet at every corner; None only should the solver fail.

    `wishes`: one a run, all on one datum; `corners`: (run that ends there, run that starts there), a closed
    yard included; `style`: level (runs that meet share one height), sloped or racked (least timber over all
    runs together, within each first wish's `most_slope` and `most_bend`). Errors: ValueError for a style
    that cannot be joined. Source: own derivation; linear programme.
    """
    if style is TopStyle.LEVEL:
        return _joined_level(wishes, corners)
    if style not in (TopStyle.SLOPED, TopStyle.RACKED):
        raise ValueError(f"a {style} top is not joined at corners; print the steps instead")
    chains = [_two_ends(w) if style is TopStyle.SLOPED else racked_chain(w) for w in wishes]
    meetings = [((a, -1), (b, 0)) for a, b in corners]
    slope, bend = wishes[0].limits.most_slope, wishes[0].limits.most_bend
    heights = solve_chains(chains, Aim.TIMBER, slope, bend, meetings)
    if heights is None:
        return None
    return tuple(
        chosen(w, TopLine(style=style, stations=c.x, elevations=z), Proof.TIMBER)
        for w, c, z in zip(wishes, chains, heights, strict=True)
    )


def _joined_level(wishes: Sequence[TopWish], corners: Sequence[tuple[int, int]]) -> tuple[TopChoice, ...]:
    heights = [float(level_top(w.line, w.start, w.end, w.least_height).elevations[0]) for w in wishes]
    for _ in wishes:
        for a, b in corners:
            heights[a] = heights[b] = max(heights[a], heights[b])
    return tuple(
        chosen(w, level_at(w.start, w.end, z), Proof.LOWEST) for w, z in zip(wishes, heights, strict=True)
    )


def _two_ends(wish: TopWish) -> Chain:
    x = np.array([wish.start, wish.end])
    return Chain(
        line=wish.line,
        x=x,
        lower=corner_ground(wish.line, x) + wish.least_height,
        upper=np.full(2, np.inf),
        weight=shares(x, wish.slots.centre),
        height=wish.least_height,
    )


def corner_steps(tops: Sequence[TopLine], corners: Sequence[tuple[int, int]]) -> tuple[CornerStep, ...]:
    """The step of the top at every corner, in inches; 0 where two runs meet."""

    def ends(top: TopLine) -> Floats:
        return top.elevations[[0, -1]]

    return tuple(
        CornerStep(before=a, after=b, step=float(ends(tops[b])[0] - ends(tops[a])[1])) for a, b in corners
    )


def corner_remarks(wishes: Sequence[TopWish], steps: Sequence[CornerStep]) -> list[Problem]:
    """What to say of corners where the tops do not meet."""
    return [
        note(
            f"corner of {wishes[s.before].name} and {wishes[s.after].name}",
            f"the top steps {'up' if s.step > 0 else 'down'} {wishes[s.after].say(abs(s.step))}",
            "join the two runs, or leave the corner post long enough for both",
        )
        for s in steps
        if abs(s.step) > _MET
    ]

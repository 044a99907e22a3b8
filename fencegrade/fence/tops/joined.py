"""Tops of runs that meet at corners, found together so that they meet at one height."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fencegrade.fence.tops.asked import Proof, TopChoice, TopWish, chosen
from fencegrade.fence.tops.level import level_at, level_top
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.line_on_ground import corner_ground
from fencegrade.fence.tops.linear_programme import Aim, Chain, solve_chains
from fencegrade.fence.tops.racked import choose_racked, racked_chain, racked_remarks, shares
from fencegrade.fence.tops.sloped import choose_sloped
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
    yard included; `style`: level (runs that meet share one height), sloped or racked (least timber over the
    runs that meet, within the first wish's `most_slope` and `most_bend`); a run that meets none has the best
    top of its own. Errors: ValueError for a style that cannot be joined. Source: own derivation; linear
    programme.
    """
    if style is TopStyle.LEVEL:
        return _joined_level(wishes, corners)
    if style not in (TopStyle.SLOPED, TopStyle.RACKED):
        raise ValueError(f"a {style} top is not joined at corners; print the steps instead")
    alone = choose_sloped if style is TopStyle.SLOPED else choose_racked
    meeting = sorted({run for corner in corners for run in corner})
    found = _meeting(wishes, meeting, corners, style)
    if found is None:
        return None
    return tuple(found[k] if k in found else alone(w) for k, w in enumerate(wishes))


def _meeting(
    wishes: Sequence[TopWish], runs: Sequence[int], corners: Sequence[tuple[int, int]], style: TopStyle
) -> dict[int, TopChoice] | None:
    """The tops of the runs that meet, by run."""
    if not runs:
        return {}
    racked = style is TopStyle.RACKED
    chains = [racked_chain(wishes[k]) if racked else _two_ends(wishes[k]) for k in runs]
    meetings = [((runs.index(a), -1), (runs.index(b), 0)) for a, b in corners]
    limits = wishes[0].limits
    heights = solve_chains(chains, Aim.TIMBER, limits.most_slope, limits.most_bend, meetings)
    if heights is None:
        return None
    found = {}
    for k, chain, z in zip(runs, chains, heights, strict=True):
        top = TopLine(style=style, stations=chain.x, elevations=z)
        remarks = racked_remarks(wishes[k], top) if racked else ()
        found[k] = chosen(wishes[k], top, Proof.TIMBER, remarks)
    return found


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

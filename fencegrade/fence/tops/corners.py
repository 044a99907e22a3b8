"""Corners of runs that join: how the top steps there."""

from collections.abc import Sequence

from msgspec import Struct

from fencegrade.fence.tops.asked import Corner, TopWish
from fencegrade.fence.tops.line import TopLine
from fencegrade.problems import Problem, note
from fencegrade.units.tolerances import SAME_LENGTH


class CornerStep(Struct, frozen=True, kw_only=True):
    """Two runs at a corner: `before` ends there, `after` starts there; the top rises by `step` (in)."""

    before: int
    after: int
    step: float


def corner_steps(tops: Sequence[TopLine], corners: Sequence[Corner]) -> tuple[CornerStep, ...]:
    """The step of the top at every corner, in inches; 0 where two runs meet."""

    return tuple(
        CornerStep(before=a, after=b, step=float(tops[b].elevations[0] - tops[a].elevations[-1]))
        for a, b in corners
    )


def corner_remarks(wishes: Sequence[TopWish], steps: Sequence[CornerStep]) -> list[Problem]:
    """What to say of corners where the tops do not meet."""
    return [
        note(
            f"corner of {wishes[s.before].name} and {wishes[s.after].name}",
            f"the top steps {'up' if s.step > 0 else 'down'} {wishes[s.after].words.length(abs(s.step))}",
            "one post serves both and is cut for the higher",
        )
        for s in steps
        if abs(s.step) > SAME_LENGTH
    ]

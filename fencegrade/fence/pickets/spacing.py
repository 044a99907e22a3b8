"""The spaces between pickets as laid, stretch by stretch, and the spacer that keeps each.

start                                end
  |[1]  [2]  [3]  [4]  [5]  [6]  [7]|      one stretch: one space, not rounded
      gap
"""

from collections.abc import Iterable, Iterator, Sequence

import numpy as np
from msgspec import Struct

from fencegrade.fence.slots import Slots
from fencegrade.problems import Problem, note
from fencegrade.units import to_marks
from fencegrade.units.arrays import Floats, Indices, Truths
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words, numbered

OTHER = 0.25
"""Inches by which a space may come out other than asked before that is told: what the eye sees beside a space
as asked (own choice)."""


class Spacing(Struct, frozen=True, kw_only=True):
    """Neighbours of one row that stand one space apart.

    `row`: 0 for the first row; `first`, `last`: numbers of its end pickets, counted from 1; `start`, `end`:
    outer edges of those two (stations, in); `gap`: the space between neighbours (in), not rounded; `spaces`:
    how many there are.
    """

    row: int
    first: int
    last: int
    start: float
    end: float
    gap: float
    spaces: int

    def spacer(self, mark: float) -> float:
        """The width (in) of the block to cut: the space to the nearest `mark` (in)."""
        return to_marks(self.gap, mark) * mark

    def gained(self, mark: float, spaces: int | None = None) -> float:
        """How much farther (in) than planned so many spaces, or all of them, come by the spacer."""
        return (self.spaces if spaces is None else spaces) * (self.spacer(mark) - self.gap)

    def last_space(self, mark: float, spaces: int | None = None) -> float:
        """What is left for the last of so many spaces (in) where the others are set by the spacer."""
        count = self.spaces if spaces is None else spaces
        return self.gap - self.gained(mark, max(count - 1, 0))


def over_a_post(space: Spacing, posts: Floats) -> bool:
    """Whether a stretch is one space alone over one of the posts or faces (stations, in)."""
    return space.spaces == 1 and bool(((posts > space.start) & (posts < space.end)).any())


def other_spaces(spaces: Iterable[Spacing], posts: Floats, wanted: float) -> list[Spacing]:
    """The stretches of the first row whose space is seen to be another than is `wanted` (in).

    `posts`: stations (in) of posts and faces, over which two bays meet by no spacer.
    """
    return [
        s
        for s in spaces
        if s.row == 0 and abs(s.gap - wanted) > OTHER + SAME_LENGTH and not over_a_post(s, posts)
    ]


def space_remarks(
    name: str, others: Sequence[Spacing], wanted: float, rips: bool, words: Words
) -> Iterator[Problem]:
    """What is wanted, what is laid and why, where they differ; `rips`: whether ripped boards keep it."""
    if others:
        gaps = sorted({words.space(s.gap): s.gap for s in others}.items(), key=lambda g: g[1])
        laid = f"come to {gaps[0][0]}" if len(gaps) == 1 else f"run from {gaps[0][0]} to {gaps[-1][0]}"
        which = np.concatenate([np.arange(s.first - 1, s.last) for s in others])
        yield note(
            f"{name}, {numbered('picket', which)}",
            f"even spaces between whole boards {laid}, where {words.given(wanted)} is wanted",
            "try another spacing or board width"
            + (', or keep the space: fit = "rip last" or "rip both ends" under [pickets]' if rips else ""),
        )


def laid_spaces(slots: Slots, row: Indices, openings: Sequence[tuple[float, float]]) -> tuple[Spacing, ...]:
    """The stretches of equal spaces of one run, in order along it, the first row before the second.

    slots: the pickets (stations, in); row: (n,) 0 or 1; openings: both edges of each gate (in), across which
    there is no space. Result: every pair of neighbours of a row that no gate parts is in one stretch. Source:
    own derivation.
    """
    return tuple(
        s for k in np.unique(row).tolist() for s in _of_row(slots, np.flatnonzero(row == k), k, openings)
    )


def _of_row(
    slots: Slots, members: Indices, row: int, openings: Sequence[tuple[float, float]]
) -> list[Spacing]:
    left, right = slots.left[members], slots.right[members]
    gaps = left[1:] - right[:-1]
    parted = _parted(left, right, openings)
    breaks = (np.abs(np.diff(gaps)) > SAME_LENGTH) | parted[1:] | parted[:-1]
    parts = np.split(np.arange(len(gaps)), np.flatnonzero(breaks) + 1)
    return [
        Spacing(
            row=row,
            first=int(members[part[0]]) + 1,
            last=int(members[part[-1] + 1]) + 1,
            start=float(left[part[0]]),
            end=float(right[part[-1] + 1]),
            gap=float(gaps[part].mean()),
            spaces=len(part),
        )
        for part in parts
        if len(part) and not parted[part[0]]
    ]


def _parted(left: Floats, right: Floats, openings: Sequence[tuple[float, float]]) -> Truths:
    """Whether a gate stands between each picket and the next."""
    parted = np.zeros(max(len(left) - 1, 0), dtype=bool)
    for start, end in openings:
        after = int(np.searchsorted(left, (start + end) / 2))
        if (
            0 < after < len(left)
            and right[after - 1] <= start + SAME_LENGTH
            and left[after] >= end - SAME_LENGTH
        ):
            parted[after - 1] = True
    return parted

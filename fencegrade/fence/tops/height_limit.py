"""The local height limit, as the rule measures it, always from the ground as surveyed and never from fill.

every point    a picket's top over the lowest ground beneath it
average        the mean height of the line over a straight stretch
lower side     as every point, but beside a face the lower ground counts on both of its sides

    ____top____
   |   |   |   |
---+---+.face  |
        |      |  lower side
        '------+
"""

import numpy as np
from msgspec import Struct

from fencegrade.fence.slots import Slots
from fencegrade.fence.tops.line import TopLine
from fencegrade.fence.tops.line_on_ground import (
    ground_alone,
    ground_sides,
    lowest_at,
    pieces_between,
)
from fencegrade.ground.profile import GroundLine
from fencegrade.job.choices import HeightRule
from fencegrade.problems import Problem, warning
from fencegrade.units import UnitSystem, past_limit
from fencegrade.units.arrays import Floats, Truths, first_most
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words, numbered

_ASK = "ask the permit office how height is measured, lower the top, or choose another top"


class HeightCheck(Struct, frozen=True, kw_only=True, eq=False):
    """A top held against the local limit; heights and stations in inches.

    `measured` (n,): the height each picket counts with under the rule; `over` (n,): those past the limit.
    `tallest` of the pickets, its index `picket` and the `station` of the ground that makes it so.
    """

    rule: HeightRule
    limit: float
    measured: Floats
    over: Truths
    tallest: float
    picket: int
    station: float


def highest_allowed(line: GroundLine, slots: Slots, most_height: float | None, rule: HeightRule) -> Floats:
    """Highest top (n,) in inches each picket may have under the rule; infinite where none is set for it.

    An average binds no single picket, so it gives no limit here. Errors: ValueError where a slot lies
    outside the readings.
    """
    if most_height is None or rule is HeightRule.AVERAGE:
        return np.full(len(slots), np.inf)
    return _counted_ground(line, slots, rule)[0] + most_height


def check_heights(
    line: GroundLine,
    slots: Slots,
    top: TopLine,
    most_height: float,
    rule: HeightRule,
) -> HeightCheck:
    """How high the fence counts under the local rule.

    `line`: the ground as surveyed; `slots`: one picket or more; `top`: their top line; `most_height`: the
    limit (in). Errors: ValueError outside the readings. Source: own derivation; rules
    differ by place, and only the permit office decides.
    """
    low, at = _counted_ground(line, slots, rule)
    measured = top.at(slots.centre) - low
    if rule is HeightRule.AVERAGE:
        measured = np.full(len(slots), mean_height(line, top, top.stations[0], top.stations[-1]))
    tallest = first_most(measured)
    return HeightCheck(
        rule=rule,
        limit=most_height,
        measured=measured,
        over=measured > most_height + SAME_LENGTH,
        tallest=float(measured[tallest]),
        picket=tallest,
        station=float(at[tallest]),
    )


def height_remarks(check: HeightCheck, name: str, units: UnitSystem, mark: float) -> list[Problem]:
    """What to say of pickets over the limit: how many, the tallest and where; nothing where none is.

    `name`: of the run; `mark`: of the tape (in).
    """
    if not check.over.any():
        return []
    over = np.flatnonzero(check.over)
    which, words = numbered("picket", over), Words(system=units, mark=mark)
    if check.rule is HeightRule.AVERAGE:
        return [
            warning(
                f"{name}, {which}",
                f"the top stands {past_limit(check.tallest, check.limit, words.height)} above the ground on "
                f"average, over the limit of {words.given(check.limit, feet=True)}",
                _ASK,
            )
        ]
    return [
        warning(
            f"{name}, {which}",
            f"{len(over)} of {len(check.over)} pickets over the limit of "
            f"{words.given(check.limit, feet=True)} ({check.rule}): "
            f"{past_limit(check.tallest, check.limit, words.height)} at picket {check.picket + 1}, "
            f"over the ground at {words.station(check.station)}",
            _ASK,
        )
    ]


def _counted_ground(line: GroundLine, slots: Slots, rule: HeightRule) -> tuple[Floats, Floats]:
    """The ground (in) each picket is measured from, and its station."""
    low, at = lowest_at(line, slots.left, slots.right)
    if rule is not HeightRule.LOWER_SIDE:
        return low, at
    before, after = ground_sides(line, line.faces)
    for face, ground in zip(line.faces, np.minimum(before, after), strict=True):
        beside = []
        if (left := np.flatnonzero(slots.right <= face + SAME_LENGTH)).size:
            beside.append(left[slots.right[left].argmax()])
        if (right := np.flatnonzero(slots.left >= face - SAME_LENGTH)).size:
            beside.append(right[slots.left[right].argmin()])
        for k in beside:
            if ground < low[k]:
                low[k], at[k] = ground, face
    return low, at


def mean_height(line: GroundLine, top: TopLine, a: float, b: float) -> float:
    """Mean height (in) of a top over the ground between stations a < b (in); exact.

    Errors: ValueError where the stretch lies outside the readings. Source: own derivation: the integral of
    each cubic and of each straight piece.
    """
    pieces, _, _ = pieces_between(ground_alone(line), np.array([a]), np.array([b]))
    ground = sum(
        float((pieces.cubic[:, 3 - k] * (pieces.high ** (k + 1) - pieces.low ** (k + 1))).sum()) / (k + 1)
        for k in range(4)
    )
    inner = top.stations[(top.stations > a) & (top.stations < b)]
    x = np.concatenate([[a], np.unique(inner), [b]])
    before, after = top.sides(x)
    return (float((np.diff(x) * (after[:-1] + before[1:]) / 2).sum()) - ground) / (b - a)

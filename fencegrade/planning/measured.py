"""Ground measured in place, under boards still to come: the line through it, and what is hard to believe."""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from msgspec.structs import replace

from fencegrade.fence.slots import Slots
from fencegrade.fence.tops.line import TopLine
from fencegrade.ground.profile import GroundLine, ground_line
from fencegrade.ground.survey import RunGround
from fencegrade.job.as_built import MeasuredGround, PicketUp
from fencegrade.problems import Problem, warning
from fencegrade.units import past_limit
from fencegrade.units.arrays import Floats, some_of
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words

LIKELY = 0.95
"""Chance with which the ground under a board lies in the range that its length to expect is told by."""

BESIDE = 1.0
"""Inches that ground measured in place may lie outside that range before it is told (own choice): a tuft or a
clod is honest."""


def ground_as_measured(
    ground: RunGround, slots: Slots, top: TopLine, rows: Mapping[int, MeasuredGround]
) -> tuple[RunGround, Floats]:
    """The ground with what was measured in place, and that ground (n, 2) at both edges of its boards, in.

    `ground`: as surveyed; `top`: the line it was measured from; `rows`: by the board (index) of each. How
    sure the rest is stays as the survey has it. Source: own derivation.
    """
    measured = np.full((len(slots), 2), np.nan)
    if not rows:
        return ground, measured
    line = ground.line
    for k, row in rows.items():
        a, b = float(slots.left[k]), float(slots.right[k])
        measured[k] = _edges_of_ground(ground.line, a, b, top, row)
        line = _line_through(line, a, b, (measured[k][0], measured[k][1]))
    return replace(ground, profile=replace(ground.profile, line=line)), measured


def believed_off(ground: RunGround, slots: Slots) -> Floats:
    """How far (n,) in the highest ground under each board, measured in place, may lie off what the readings
    say before it is doubted; by the plan and by the page alike.

    `ground`: as surveyed. Source: own derivation, the range that a length to expect is told by.
    """
    return np.asarray(ground.spread.at(slots.centre).half_width(LIKELY) + BESIDE)


def doubted_off(
    ground: RunGround, slots: Slots, measured: Floats, rows: Mapping[int, MeasuredGround]
) -> Floats:
    """How far (n,) in the ground measured under each board lies over the survey's where that is doubted; 0
    elsewhere, and where a row is confirmed. `ground`: as surveyed; `measured`, `rows`: of
    `ground_as_measured`."""
    off = np.zeros(len(slots))
    own = np.array([k for k, row in rows.items() if not row.confirmed], dtype=np.int64)
    if len(own):
        under = some_of(slots, own)
        found = measured[own].max(axis=1) - ground.profile.highest(under.left, under.right)
        off[own] = np.where(np.abs(found) > believed_off(ground, under) + SAME_LENGTH, found, 0.0)
    return off


def far_off(
    off: Floats, believed: Floats, rows: Mapping[int, MeasuredGround], words: Words
) -> Iterator[Problem]:
    """What is said of rows that the survey makes hard to believe; `off`, `believed`: as the two above."""
    for k, row in rows.items():
        if off[k]:
            found = (
                f"the ground there is then {words.fine(abs(off[k]))} {'over' if off[k] > 0 else 'under'} the "
                f"line through the readings, which leave {words.fine(believed[k])} likely"
            )
            remedy = (
                "measure it again; if it is right, write confirmed = true beside it: until then the board is "
                "to be marked in place"
            )
            yield warning(f"{row.place}, drop", found, remedy)


def too_long(
    ground: RunGround, slots: Slots, top: TopLine, rows: Sequence[PicketUp], words: Words
) -> Iterator[Problem]:
    """Boards up whose length as written, from the line of the tops, would reach far into the ground."""
    kept = {p.number - 1: p.kept for p in rows if p.kept is not None}
    if not kept:
        return
    under, places = some_of(slots, np.array(list(kept))), {p.number - 1: p.place for p in rows}
    foot = top.at(under.centre) - np.array(list(kept.values()))
    into = ground.profile.lowest(under.left, under.right) - foot
    believed = believed_off(ground, under)
    for k, deep, likely in zip(kept, into.tolist(), believed.tolist(), strict=True):
        if deep > likely + SAME_LENGTH:
            reaches = past_limit(deep, likely, words.fine)
            found = (
                f"a board of {words.given(kept[k])} from the line of the tops reaches {reaches} "
                f"into the ground through the readings, which leave {words.fine(likely)} likely"
            )
            yield warning(f"{places[k]}, kept", found, "measure it again, from its tip to its foot")


def _edges_of_ground(
    line: GroundLine, a: float, b: float, top: TopLine, measured: MeasuredGround
) -> tuple[float, float]:
    """Elevations (in) of the ground at a board's two edges, from the drops measured there."""
    at_a, at_b = float(top.sides(np.array(a))[1]), float(top.sides(np.array(b))[0])
    if len(measured.drop) == 2:
        return at_a - measured.drop[0], at_b - measured.drop[1]
    (drop,) = measured.drop
    left, right = float(line.elevation(a)), float(line.elevation(b, before=True))
    if left >= right:
        return at_a - drop, min(right, at_a - drop)
    return min(left, at_b - drop), at_b - drop


def _line_through(line: GroundLine, a: float, b: float, edges: tuple[float, float]) -> GroundLine:
    """The ground line through what was measured at a board's two edges, in place of any reading between.

    A face at an edge keeps its other side.
    """
    x, z, faces = line.stations, line.elevations, line.faces
    before = int(np.searchsorted(x, a - SAME_LENGTH)) + bool(
        len(faces) and np.abs(faces - a).min() <= SAME_LENGTH
    )
    past = int(np.searchsorted(x, b + SAME_LENGTH)) - bool(
        len(faces) and np.abs(faces - b).min() <= SAME_LENGTH
    )
    stations = np.concatenate([x[:before], [a, b], x[past:]])
    elevations = np.concatenate([z[:before], edges, z[past:]])
    return ground_line(stations, elevations)

"""Gate leaves: hung a trifle higher where that spares a longer board, with their pickets and frames."""

from collections.abc import Iterator, Sequence

import numpy as np
from msgspec.structs import replace

from fencegrade.fence.gates.frame import LeafFrame, frame_notes, leaf_frame
from fencegrade.fence.gates.gates import (
    SPACING_WITHIN,
    GatePlan,
    LeafPickets,
    leaf_pickets,
    lifted,
    most_lift,
)
from fencegrade.fence.stock import by_length, shortest_serving
from fencegrade.fence.stock_steps import NO_STOCK_CHARGE, board_costs, cheapest_from
from fencegrade.fence.tops.line import TopLine
from fencegrade.figures.lumber import Wood
from fencegrade.figures.shrinkage import SpeciesGroup
from fencegrade.job.read import Job
from fencegrade.job.records import Pickets
from fencegrade.planning.layout import RunLayout
from fencegrade.problems import Problem
from fencegrade.units import MASS, marks_down
from fencegrade.units.arrays import Marks
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words


def hang_gates(job: Job, layout: RunLayout, top: TopLine) -> tuple[RunLayout, tuple[LeafPickets, ...]]:
    """A run with its gates as they are hung, and the pickets of their leaves in order.

    A leaf is lifted by whole tape marks where its boards then cost less, no further than `most_lift`.
    """
    gates, leaves = list[GatePlan](), list[LeafPickets]()
    for gate in layout.gates:
        own = _leaves(job, layout, gate, top)
        up = _spared(job, np.concatenate([leaf.kept for leaf in own]), most_lift(gate, job.pickets.most_gap))
        if up:
            gate = lifted(gate, up * job.tape)
            own = _leaves(job, layout, gate, top)
        gates.append(gate)
        leaves += own
    return replace(layout, gates=tuple(gates)), tuple(leaves)


def _spared(job: Job, kept: Marks, most: float) -> int:
    """By how many tape marks the boards of a gate, (n,) marks long, are made shorter so that they cost least;
    `most` (in) in all."""
    stock, lengths = by_length(job.pickets.stock, job.tape)
    costs = cheapest_from(board_costs(stock))
    costs = np.append(costs, NO_STOCK_CHARGE * costs[-1])
    by = range(marks_down(most, job.tape) + 1)
    return int(np.argmin([costs[shortest_serving(lengths, kept - marks)].sum() for marks in by]))


def _leaves(job: Job, layout: RunLayout, gate: GatePlan, top: TopLine) -> list[LeafPickets]:
    """The leaves of a gate, spaced as in the fence on the side whose space they keep best, with the fewest
    pickets ripped: the same side whichever way the run is walked. Of two as good, the space that comes nearer
    to the one wanted, then the smaller."""
    wanted = job.pickets.spacing

    def worth(laid: tuple[float, list[LeafPickets]]) -> tuple[float, ...]:
        space, leaves = laid
        off = any(abs(gap - space) > SPACING_WITHIN + SAME_LENGTH for leaf in leaves for gap in leaf.gaps())
        rips = sum(len(leaf.ripped()) for leaf in leaves)
        return off, rips, round(abs(space - wanted), 6), space

    beside = {round(gap, 6): gap for gap in _spaces_beside(layout, gate, wanted)}
    spaces = list(beside.values()) or [wanted]
    return min(((space, _spaced(job, layout, gate, top, space)) for space in spaces), key=worth)[1]


def _spaced(job: Job, layout: RunLayout, gate: GatePlan, top: TopLine, space: float) -> list[LeafPickets]:
    """The leaves of a gate with their pickets a `space` (in) apart, as near as they fit."""
    pickets, edges = job.pickets, np.array([gate.gate.station, gate.gate.end])
    return [
        leaf_pickets(
            gate,
            k,
            layout.ground.line,
            np.array([top.sides(edges)[1][0], top.sides(edges)[0][1]]),
            layout.width,
            space,
            pickets.fit,
            job.tape,
            pickets.pattern,
        )
        for k in range(len(gate.chosen))
    ]


def frame_gates(
    job: Job, layout: RunLayout, leaves: Sequence[LeafPickets], words: Words
) -> tuple[tuple[LeafFrame, ...], list[Problem]]:
    """The frame of every gate leaf of a run, and what a builder must see of them."""
    frames, found, pickets = list[LeafFrame](), list[Problem](), iter(leaves)
    thickness, wood = job.pickets.thickness, picket_wood(job.pickets)
    for number, gate in enumerate(layout.gates, start=1):
        notes = list[tuple[float, Problem]]()
        for k in range(len(gate.chosen)):
            frame = leaf_frame(gate, k, next(pickets), wood, thickness, job.rails, job.tape)
            frames.append(frame)
            mass = MASS.format(frame.weight, job.units, places=0)
            told = frame_notes(f"{layout.run.name}, gate {number}", gate, frame, job.posts, mass, words)
            notes += ((frame.weight, note) for note in told)
        heaviest_last = (note for _, note in sorted(notes, key=lambda noted: noted[0]))
        found += {note.remedy: note for note in heaviest_last}.values()
    return tuple(frames), found


def _spaces_beside(layout: RunLayout, gate: GatePlan, wanted: float) -> Iterator[float]:
    """The space (in) between the two pickets of the first row next to a gate, on either side that has two."""
    near = layout.width + wanted
    for s in layout.spaces():
        apart = gate.gate.station - s.end, s.start - gate.gate.end
        if s.row == 0 and any(-SAME_LENGTH <= x < near for x in apart):
            yield s.gap


def picket_wood(pickets: Pickets) -> Wood:
    """The wood pickets are weighed as, by the job's species."""
    return Wood.CEDAR if pickets.species is SpeciesGroup.CEDAR else Wood.SOFTWOOD

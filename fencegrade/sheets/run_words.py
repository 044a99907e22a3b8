"""Gates, patterns, corners, wind and concrete of a plan, in words and as tables."""

import math
from collections.abc import Iterator

from fencegrade.fence.gates.frame import CABLE, LeafFrame
from fencegrade.fence.gates.gates import HINGE_SPACE, LATCH_SPACE, GatePlan, LeafFit, describe
from fencegrade.fence.low_ground.bill import SOLD_BY, soil_unit
from fencegrade.fence.pickets.patterns import DEFINITIONS, hidden_angle
from fencegrade.fence.posts.wind_load import WindLoad
from fencegrade.fence.tops.corners import corner_steps
from fencegrade.job.choices import HingePost, Pattern
from fencegrade.planning.buying import bag_weight_words, buying_list, section_words
from fencegrade.planning.layout import joined_corners
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.tables import Cell, Table, columns_of
from fencegrade.units import (
    FORCE,
    MASS,
    PRESSURE,
    VOLUME,
    UnitSystem,
    format_angle,
    format_moment,
    marks_down,
)
from fencegrade.units.arrays import first_most
from fencegrade.units.tolerances import WHOLE
from fencegrade.units.words import Words, listed, numbers


def gate_lines(run: RunPlan, words: Words) -> Iterator[str]:
    """Where a run's gates are and how each leaf is to be hung."""
    for number, plan in enumerate(run.layout.gates, start=1):
        gate = plan.gate
        width, at = words.given(gate.width, feet=True), words.station(gate.station)
        hung = "; ".join(describe(fit) for fit in plan.chosen)
        yield f"  gate {number}, {width} wide at {at}: {hung}"


def leaf_space_words(gate: GatePlan, words: Words) -> str:
    """How wide a leaf is, and the spaces that its hinges and its latch take of the opening."""
    latch = "between the leaves" if len(gate.chosen) > 1 else "at the latch"
    return (
        f"{words.fine(gate.leaf_width)} wide, {words.fine(HINGE_SPACE)} clear at the hinges and "
        f"{words.fine(LATCH_SPACE)} {latch}"
    )


def frame_lines(plan: FencePlan) -> Iterator[str]:
    """What every leaf of every gate is made of."""
    words = plan.words
    for run, names in zip(plan.runs, plan.leaf_names, strict=True):
        for name, frame in zip(names, run.frames, strict=True):
            yield f"{name}: {frame_words(frame, words)}"


def frame_words(frame: LeafFrame, words: Words) -> str:
    """What the frame of a leaf is made of, which way its brace runs, and what it hangs on."""
    hinge, latch = (words.length(s) for s in frame.stiles)
    stiles = f"stiles {hinge} at the hinges and {latch} at the latch" if hinge != latch else f"stiles {hinge}"
    weight = MASS.format(frame.weight, words.system, places=0)
    flat = f", so flat that the leaf sags without {CABLE}" if frame.flat else ""
    return (
        f"frame: {section_words(frame.thick, frame.wide, words.system)}, its top {words.fine(frame.wide)} "
        f"under the picket tops; {stiles}, {_rail_words(frame, words)}, brace "
        f"{words.length(frame.brace)} before its ends are cut, from the bottom at the hinges up to the top "
        f"at the latch, {math.degrees(frame.angle):.0f} deg{flat}; {frame.hinges} hinges for {weight}"
        + "".join(f"; {told}" for told in (*_ripped_words(frame, words), *_slant_words(frame, words)))
    )


def _rail_words(frame: LeafFrame, words: Words) -> str:
    """The rails of a leaf's frame: one length, or each from the lowest up."""
    lengths = [words.length(rail) for rail in frame.rails]
    if len(set(lengths)) == 1:
        return f"{len(lengths)} rails {lengths[0]}"
    return f"rails from the bottom up {listed(lengths)} along the slope, their ends plumb"


def _slant_words(frame: LeafFrame, words: Words) -> Iterator[str]:
    """How the pickets of a raked leaf are cut at the bottom."""
    rise, toward = words.fine(abs(frame.slant)), "end" if frame.slant > 0 else "start"
    if rise != words.fine(0.0):
        yield (
            f"bottoms of the pickets cut along the leaf, rising {rise} toward the run's {toward} over a "
            "whole one; their lengths are of the longer side"
        )


def _ripped_words(frame: LeafFrame, words: Words) -> Iterator[str]:
    """Which pickets of a leaf are ripped, and to what."""
    told: dict[str, list[int]] = {}
    for number, width in frame.ripped:
        told.setdefault(words.fine(width), []).append(number)
    for rip, which in told.items():
        yield f"picket{'s' if len(which) > 1 else ''} {numbers(which)} ripped to {rip}"


def gate_table(plan: FencePlan) -> Table:
    """Every way to hang every leaf, the best first, and which is chosen."""
    columns = columns_of(
        "run | gate:count | leaf:count | hinge at | opens to | bottom | "
        "over ground at hinge:over | over ground at latch:over | ground nearest at | chosen"
    )
    rows = [
        (run.run.name, number, leaf, *_fit_cells(fit, gate, leaf - 1))
        for run in plan.runs
        for number, gate in enumerate(run.layout.gates, start=1)
        for leaf, fits in enumerate(gate.fits, start=1)
        for fit in fits
    ]
    return Table(name="gates", columns=columns, rows=rows)


def _fit_cells(fit: LeafFit, gate: GatePlan, leaf: int) -> tuple[Cell, ...]:
    side = "nearer the start" if fit.hinge is HingePost.START else "nearer the end"
    return (
        side,
        str(fit.swing),
        str(fit.shape),
        fit.hinge_height,
        fit.latch_height,
        format_angle(fit.tightest) if fit.tightest > 0 else "shut",
        "chosen" if fit == gate.chosen[leaf] else None,
    )


def pattern_lines(plan: FencePlan) -> Iterator[str]:
    """What a pattern of two rows means, how far its pickets overlap, and from where it is seen through."""
    pattern = plan.job.pickets.pattern
    if pattern is Pattern.SIDE_BY_SIDE:
        return
    words = plan.words
    yield DEFINITIONS[pattern]
    overlap = least_overlap(plan)
    if overlap is None:
        return
    if overlap <= 0:
        yield f"  the rows leave {words.length(-overlap)} open to see straight through"
        return
    yield f"  pickets of the two rows overlap by {overlap_words(overlap, words)}, before they dry"
    if pattern is Pattern.SHADOWBOX:
        angle = format_angle(hidden_angle(overlap, plan.job.rails.thickness))
        yield f"  nobody sees through from less than {angle} off straight on"


def overlap_words(overlap: float, words: Words) -> str:
    """The least overlap (in) of a plan, never rounded up."""
    return f"{words.length(marks_down(overlap, words.mark) * words.mark)} or more"


def least_overlap(plan: FencePlan) -> float | None:
    """The least that a picket of one row overlaps its neighbour in the other (in); None without a neighbour.

    Neighbours more than a picket's width apart have a gate or a post's step between them.
    """
    found = []
    for run in plan.runs:
        slots, row = run.slots, run.layout.row
        laps = slots.right[:-1] - slots.left[1:]
        near = (row[:-1] != row[1:]) & (laps > -plan.job.pickets.width)
        found += laps[near].tolist()
    return min(found, default=None)


def corner_lines(plan: FencePlan) -> Iterator[str]:
    """Whether the tops of joined runs meet at their corner, or by how much they step."""
    words = plan.words
    corners = joined_corners([run.layout for run in plan.runs])
    for step in corner_steps([run.top for run in plan.runs], corners):
        before, after = plan.runs[step.before].run.name, plan.runs[step.after].run.name
        way = "up" if step.step > 0 else "down"
        met = (
            "the tops meet"
            if words.length(abs(step.step)) == words.length(0.0)
            else f"the top steps {way} {words.length(abs(step.step))}"
        )
        last = len(plan.runs[step.before].slots)
        reach = f"picket {last} of {before} and picket 1 of {after} reach it"
        yield f"corner of {before} and {after}: {met}; one post serves both; {reach}"


def wind_lines(plan: FencePlan) -> Iterator[str]:
    """The screen of wind and soil, run by run, and everything it assumes; nothing where no site is given."""
    words = plan.words
    assumed: dict[str, None] = {}
    for run in plan.runs:
        if run.wind is None:
            continue
        screen = run.wind
        worst = first_most(screen.moment)
        deepest = first_most(screen.depth)
        yield (
            f"  {run.run.name}: {pressure_words(screen.load, words)}; most at post "
            f"{worst + 1}: {FORCE.format(float(screen.load.force[worst]), words.system)}, "
            f"{format_moment(float(screen.moment[worst]), words.system)} at the ground; "
            + (
                f"a post carries {format_moment(float(screen.allowed[worst]), words.system)}"
                if screen.judged[worst]
                else "it stood before the job and is not judged"
            )
        )
        planned = (
            f"{words.length(float(run.posts.depth[deepest]))} is planned"
            if screen.judged[deepest]
            else "it stood before the job and is not judged"
        )
        yield (
            f"  {run.run.name}: {words.length(float(screen.depth[deepest]))} in the ground is asked for at "
            f"post {deepest + 1}, {planned}"
        )
        assumed |= dict.fromkeys(screen.assumptions)
    yield from (f"  taken: {text}" for text in assumed)


def pressure_words(load: WindLoad, words: Words) -> str:
    """The wind's pressure on a run and, where more, that on the post it presses most."""
    text = f"{PRESSURE.format(load.pressure, words.system)} on the fence"
    if load.ends.any():
        text += f", up to {PRESSURE.format(float(load.taken.max()), words.system)} at its ends"
    return text


def run_cost_lines(plan: FencePlan) -> Iterator[str]:
    """What each run's share of the list costs, where there are several and prices."""
    bought, words = buying_list(plan), plan.words
    if len(plan.runs) > 1 and bought.cost is not None:
        shares = zip(plan.runs, bought.cost_by_run(len(plan.runs)), strict=True)
        yield f"of it {', '.join(f'{run.run.name} {words.money(cost)}' for run, cost in shares)}"


def shared_bags(plan: FencePlan) -> str:
    """That the holes together take fewer bags than whole ones for each; empty where they do not."""
    each, in_all = int(plan.concrete.bags.sum()), plan.concrete.bags_in_all
    if not each > in_all > 0:
        return ""
    return (
        f"{in_all} bags of concrete where what is left of one goes on to the next hole; whole bags for each "
        f"hole would be {each}"
    )


def concrete_lines(plan: FencePlan) -> Iterator[str]:
    """What the concrete means on site: ready-mix where it is much, two people where a bag is heavy."""
    concrete, words = plan.concrete, plan.words
    if concrete.delivered:
        short = soil_unit(words.system)
        unit = "cubic yards" if words.system is UnitSystem.IMPERIAL else "cubic metres"
        volume = VOLUME.value_in(concrete.ordered, short)
        halves = math.ceil(volume / SOLD_BY - WHOLE) * SOLD_BY
        weight = MASS.format(concrete.weight, words.system, places=0)
        yield (
            f"  {volume:.2f} {unit} of concrete, {weight} in bags: ask for {halves:g} {short} of ready-mix, "
            "delivered"
        )
    if told := shared_bags(plan):
        yield f"  {told}"
    if concrete.heavy and concrete.bags_in_all:
        bag = bag_weight_words(concrete.bag_weight, words.system)
        yield f"  a bag of {bag} is a lift for two, or for a cart"

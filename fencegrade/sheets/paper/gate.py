"""Gates: each leaf drawn with its frame, brace and swing, how it hangs, and its boards."""

from collections.abc import Iterator, Sequence

import numpy as np
from reportlab.platypus import Flowable

from fencegrade.fence.gates.frame import LeafFrame
from fencegrade.fence.gates.gates import CAUTIONS, GatePlan, LeafPickets, describe
from fencegrade.fence.pickets.patterns import row_names
from fencegrade.job.choices import TopEnd
from fencegrade.planning.hanging import between_posts
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.sheets.drawings.picture import Picture, Sketch
from fencegrade.sheets.drawings.seen import View, draw_leaf, draw_swing
from fencegrade.sheets.hanging import rip_words
from fencegrade.sheets.paper.blocks import Drawn, grid, kept, named, set_out, title, words
from fencegrade.sheets.paper.sheet import Look, room_for
from fencegrade.sheets.run_words import frame_words, leaf_space_words
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words

AS_DRAWN = (
    "the run's start is at the left, the pickets toward you, the frame behind them dashed, hinges black: "
    "build the frame so and lay the boards on it. With the pickets on the fence's other face all is mirrored."
)
"""From which side a leaf is seen: built from the wrong one, brace, hinges and boards come out mirrored."""

_HIGH = 125.0
"""Points a leaf is drawn high."""


def gates(plan: FencePlan, index: int, look: Look, place: str) -> Iterator[Flowable]:
    """Every gate of a run."""
    run, say = plan.runs[index], plan.words
    leaves, names = numbered_leaves(plan), plan.leaf_names[index]
    first = sum(len(r.leaves) for r in plan.runs[:index])
    hung = 0
    for number, gate in enumerate(run.layout.gates, start=1):
        yield room_for(340)
        yield from title(f"Gate {number}" if len(run.layout.gates) > 1 else "Gate", place)
        here = slice(hung, hung + len(gate.chosen))
        own, called = run.frames[here], names[here]
        hung += len(gate.chosen)
        pair = len(gate.chosen) > 1
        yield from (
            named(name, text, small=pair)
            for name, text in gate_said(gate, between_posts(run, gate.gate), called, own, say)
        )
        yield named("As drawn", AS_DRAWN, small=True)
        for k in range(len(gate.chosen)):
            over = f"Boards of {called[k]}" if pair else "Boards of the leaf"
            yield kept([_leaf(plan, run, gate, k, own[k], leaves[first], over, look, say)])
            first += 1
        yield kept([words(" ".join(CAUTIONS), small=True)])


def gate_said(
    gate: GatePlan, posts: float, names: Sequence[str], frames: Sequence[LeafFrame], say: Words
) -> Iterator[tuple[str, str]]:
    """What is built and how it hangs, in the order it is done; `posts`: clear between them (in)."""
    a, wide = gate.gate.station, gate.gate.width
    count = len(gate.chosen)
    leaves = f"{count} leaves, each" if count > 1 else "one leaf,"
    clear = f"{say.given(wide, feet=True)} clear between posts"
    if abs(posts - wide) > SAME_LENGTH:
        clear = (
            f"{say.given(wide, feet=True)} clear beside the board that is up, {say.fine(posts)} between posts"
        )
    where = f"{say.station(a)} to {say.station(a + wide)}: {clear}"
    yield "Opening", f"{where}; {leaves} {leaf_space_words(gate, say)}"
    for name, frame, fit in zip(names, frames, gate.chosen, strict=True):
        called = f"{name[:1].upper()}{name[1:]}" if count > 1 else "Hang it as"
        yield called, f"{describe(fit)}, looking along the run"
        yield (
            "Its bottom, shut",
            f"{say.fine(fit.hinge_height)} over the ground at the hinge, "
            f"{say.fine(fit.latch_height)} at the latch",
        )
        yield "Its frame", frame_words(frame, say).removeprefix("frame: ")


def numbered_leaves(plan: FencePlan) -> list[tuple[LeafPickets, Sequence[float]]]:
    """Every leaf of the job, with the length as sold (in) of the board of each of its pickets."""
    leaves = [leaf for run in plan.runs for leaf in run.leaves]
    family = plan.families.gate_pickets
    stock = family.sold_of().tolist() if family is not None else []
    ends = np.cumsum([len(leaf.kept) for leaf in leaves]).tolist()
    return [(leaf, stock[end - len(leaf.kept) : end]) for leaf, end in zip(leaves, ends, strict=True)]


def _leaf(
    plan: FencePlan,
    run: RunPlan,
    gate: GatePlan,
    which: int,
    frame: LeafFrame,
    numbered: tuple[LeafPickets, Sequence[float]],
    over: str,
    look: Look,
    say: Words,
) -> Flowable:
    """The drawing of a leaf beside its boards."""
    leaf, stock = numbered
    names = row_names(plan.job.pickets.pattern)
    rows = [
        (
            f"{k + 1}",
            *([names[row].split()[0]] if names else []),
            say.fine(float(leaf.slots.left[k] - leaf.slots.left[0])),
            say.length(kept_marks * plan.mark),
            say.sold_length(board) if board else "none",
        )
        for k, (kept_marks, board, row) in enumerate(
            zip(leaf.kept.tolist(), stock, leaf.row.tolist(), strict=True)
        )
    ]
    head = names[0].split()[1] if names else ""
    boards = grid(
        look.width * 0.52,
        ("no.", *([head] if names else []), "left edge", "keep", "stock"),
        rows,
        left=(head,),
        bold=("no.", "keep"),
        tick=True,
        over=[words(over, bold=True)],
        row=16.0,
        notes={k - 1: rip_words(wide, say) for k, wide in frame.ripped},
    )
    picture = Drawn(_picture(run, gate, which, frame, leaf, plan.job.pickets.top_end, look.width * 0.44))
    both = set_out([[picture, boards]], [None, None], VALIGN="TOP", LEFTPADDING=0)
    both.hAlign = "LEFT"
    return both


def _picture(
    run: RunPlan,
    gate: GatePlan,
    which: int,
    frame: LeafFrame,
    leaf: LeafPickets,
    top_end: TopEnd,
    width: float,
) -> Picture:
    left, right = float(leaf.slots.left[0]), float(leaf.slots.right[-1])
    low, high = float(leaf.bottom.min()), float(leaf.top.max())
    ground = float(run.ground.line.lowest(left, right))
    scale = min(_HIGH / (high - low), 2 * _HIGH / (high - ground), (width - 14) / (right - left))
    foot = (low - ground) * scale + 44
    tall = (high - low) * scale + 8
    view = View(left=6.0, base=tall + foot, start=left, low=low - foot / scale, along=scale, up=scale)
    sketch = Sketch()
    draw_leaf(sketch, leaf, gate, which, frame, top_end, view)
    x = np.array([left, right])
    z = run.ground.line.elevation(x)
    sketch.line(map(tuple, view.points(np.stack([x, z], axis=-1)).tolist()), 1.3)
    draw_swing(sketch, run, leaf, gate, which, view)
    return Picture(width=(right - left) * scale + 12, height=tall + foot, items=tuple(sketch.items))

"""The families of the fence's other parts: gate pickets, kickboards, posts and rails."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import numpy as np
from msgspec import Struct

from fencegrade.fence.gates.frame import LeafFrame
from fencegrade.fence.gates.gates import LeafPickets
from fencegrade.fence.low_ground.kickboard import Kickboard
from fencegrade.fence.pickets.cuts import marks_down, marks_up
from fencegrade.fence.posts.posts import PostSchedule
from fencegrade.fence.rails.pieces import RailPieces
from fencegrade.fence.stock import NO_STOCK, by_length
from fencegrade.fence.stock_steps import for_sale
from fencegrade.job.choices import TopEnd
from fencegrade.job.read import Job
from fencegrade.job.records import Stock as JobStock
from fencegrade.planning.families import Families, Family, as_once_sold, family, held_before
from fencegrade.units.arrays import Floats, Marks, Truths
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import numbered


def leaf_names(runs: Sequence[str], leaves: Sequence[Sequence[int]]) -> tuple[tuple[str, ...], ...]:
    """Run by run, the name of every leaf, counted within its gate: `leaf 2`, `gate 1 leaf 2` where its run
    has several gates, `lane leaf 2` where several runs have gates.

    `runs`: their names; `leaves`: run by run, how many leaves each gate has. Source: own derivation.
    """
    apart = sum(bool(own) for own in leaves) > 1
    return tuple(
        tuple(
            f"{f'{run} ' if apart else ''}{f'gate {g} ' if len(own) > 1 else ''}leaf {k}"
            for g, count in enumerate(own, start=1)
            for k in range(1, count + 1)
        )
        for run, own in zip(runs, leaves, strict=True)
    )


def gate_family(job: Job, leaves: Sequence[tuple[str, LeafPickets]], pickets: Family) -> Family | None:
    """The pickets of gate leaves, each leaf with its name, from the same stock; what the run leaves on hand
    is used first.
    """
    if not leaves:
        return None
    rows = zip(pickets.offered, pickets.counts(True), strict=True)
    return gates_cut_from(job, leaves, [replace(s, on_hand=s.on_hand - used) for s, used in rows])


def gates_cut_from(job: Job, leaves: Sequence[tuple[str, LeafPickets]], stock: Sequence[JobStock]) -> Family:
    """The pickets of gate leaves, at least one, each leaf with its name, from this stock."""
    flat = job.pickets.top_end is TopEnd.FLAT
    labels = [f"{name} picket {k + 1}" for name, leaf in leaves for k in range(len(leaf.kept))]
    return family(
        np.maximum(np.concatenate([leaf.kept for _, leaf in leaves]), 1),
        labels.__getitem__,
        stock,
        job.tape,
        one_piece=not flat,
        kerf=job.job.kerf,
        least_offcut=job.job.least_offcut if flat else 0.0,
    )


class PostsToSet(Struct, frozen=True, kw_only=True, eq=False):
    """The posts of one run (n,): which are to be set, their whole length and their depth in the ground (in).

    `up`: those of the job that stand; `planned`: the whole length before any stood (in). The post at a corner
    stands once: with the run that ends there.
    """

    wanted: Truths
    up: Truths
    total: Floats
    planned: Floats
    depth: Floats
    schedule: PostSchedule


def posts_to_set(job: Job, schedules: Sequence[PostSchedule]) -> tuple[PostsToSet, ...]:
    """Run by run, the posts that are bought and set.

    `schedules`: one a run of the job, in order; the post at a corner stands, or is to be set, in both of its
    runs. Source: own derivation.
    """
    found = tuple(
        PostsToSet(
            wanted=s.new.copy(),
            up=s.standing & ~s.old,
            total=s.total.copy(),
            planned=s.planned.copy(),
            depth=s.depth.copy(),
            schedule=s,
        )
        for s in schedules
    )
    names = {run.name for run in job.runs}
    for own, run in zip(found, job.runs, strict=True):
        if run.join in names:
            own.wanted[0] = own.up[0] = False
    return found


def kickboard_family(job: Job, laid: Sequence[Sequence[Kickboard]], names: Sequence[str]) -> Family | None:
    """The kickboards, one board each, as the choice of what closes low ground counts them."""
    every = [(run, board) for run, boards in zip(names, laid, strict=True) for board in boards]
    if not every:
        return None
    mark = job.tape
    labels = [f"{run} under {numbered('picket', range(board.first - 1, board.last))}" for run, board in every]
    return family(
        marks_down(np.array([board.length for _, board in every]), mark),
        labels.__getitem__,
        tuple(sorted(job.soil.kickboard, key=lambda s: s.length)),
        mark,
        one_piece=True,
        kerf=job.job.kerf,
    )


def post_family(
    job: Job, schedules: Sequence[PostSchedule], names: Sequence[str], gate: bool = False
) -> Family:
    """The posts to be set, each of one piece, long enough to the mark above; one at a corner of two runs.

    `gate`: the gate posts, where they have a stock of their own; else the others, or all. What stands has
    used boards on hand as the list gave them.
    """
    offered, _ = by_length(job.posts.gate_stock if gate else job.posts.stock, mark := job.tape)
    posts, apart = posts_to_set(job, schedules), bool(job.posts.gate_stock)
    own = [(p.schedule.gate == gate) | (not apart) for p in posts]

    def cut(which: list[Truths], totals: list[Floats], stock: Sequence[JobStock]) -> Family:
        asked = marks_up(np.concatenate([t[w] for t, w in zip(totals, which, strict=True)]), mark)
        at = [(n, int(k) + 1) for w, n in zip(which, names, strict=True) for k in np.flatnonzero(w)]
        labels = [f"{run} post {number}" for run, number in at]
        return family(asked, labels.__getitem__, stock, mark, one_piece=True, kerf=job.job.kerf)

    every = [(p.wanted | p.up) & o for p, o in zip(posts, own, strict=True)]
    up = np.concatenate([p.up[w] for p, w in zip(posts, every, strict=True)])
    left = _left_on_hand(offered, up, lambda stock: cut(every, [p.planned for p in posts], stock))
    return cut([p.wanted & o for p, o in zip(posts, own, strict=True)], [p.total for p in posts], left)


def _left_on_hand(
    offered: Sequence[JobStock], up: Truths, cut: Callable[[Sequence[JobStock]], Family]
) -> tuple[JobStock, ...]:
    """Stock with the boards on hand that pieces which are `up` (p,) leave; `cut`: all the pieces cut from a
    stock as if none stood."""
    if not up.any() or not any(s.on_hand for s in offered):
        return tuple(offered)
    used = held_before(cut(as_once_sold(offered)), up)
    return tuple(replace(s, on_hand=s.on_hand - n) for s, n in zip(offered, used, strict=True))


def rail_family(
    job: Job,
    pieces: Sequence[RailPieces],
    names: Sequence[str],
    coming: Sequence[Truths],
    frames: Sequence[tuple[str, LeafFrame]] = (),
) -> Family:
    """The rails to be cut, several a board where they fit, and after them the `frames` of gate
    leaves, each with the name of its leaf.

    `coming`: run by run, which pieces are still to be cut. What stands has used boards on hand as the list
    gave them.
    """
    framed = [(f"{leaf} {name}", own) for leaf, f in frames for name, *own in f.pieces()]
    offered = tuple(sorted(job.rails.stock, key=lambda s: s.length))
    up = np.concatenate([*(~own for own in coming), np.zeros(len(framed), dtype=bool)])
    every = [np.ones(len(own), dtype=bool) for own in coming]
    left = _left_on_hand(offered, up, lambda stock: _rails_cut(job, pieces, names, every, framed, stock))
    return _rails_cut(job, pieces, names, coming, framed, left)


def _rails_cut(
    job: Job,
    pieces: Sequence[RailPieces],
    names: Sequence[str],
    which: Sequence[Truths],
    framed: Sequence[tuple[str, list[float]]],
    offered: Sequence[JobStock],
) -> Family:
    """Some of the rails, and the pieces of frames by name, cut from a stock."""
    mark = job.tape
    taken = [np.stack([p.length[own], p.ends[own]]) for p, own in zip(pieces, which, strict=True)]
    taken.append(np.array([own for _, own in framed], dtype=float).reshape(-1, 2).T)
    lengths, ends = np.concatenate(taken, axis=1)
    labels = [
        _rail_name(p, int(k), n)
        for p, n, own in zip(pieces, names, which, strict=True)
        for k in np.flatnonzero(own)
    ]
    labels += [name for name, _ in framed]
    asked = marks_down(lengths, mark)
    return family(
        asked,
        labels.__getitem__,
        offered,
        mark,
        kerf=job.job.kerf,
        least_offcut=job.job.least_offcut,
        ends=np.minimum(marks_up(ends, mark), _most_for_ends(asked, lengths + ends, offered, mark)),
    )


def _most_for_ends(asked: Marks, taken: Floats, offered: Sequence[JobStock], mark: float) -> Marks:
    """(p,) the most marks for slanted ends: what the longest board leaves beside a piece that it serves.

    `asked` in marks; `taken` of a board by each piece (in).
    """
    longest = max(s.length for s in for_sale(offered))
    left = marks_down(np.array([longest]), mark) - asked
    return np.where(taken <= longest + SAME_LENGTH, left, np.iinfo(np.int64).max)


def stock_by_post(families: Families, posts: Sequence[PostsToSet]) -> list[list[JobStock | None]]:
    """Run by run, the stock each post is cut from; None where none is set or none serves."""
    own = [_bought(family) for family in (families.posts, families.gate_posts or families.posts)]
    at = own if families.gate_posts is not None else [own[0], own[0]]
    return [
        [
            next(at[gate]) if wanted else None
            for wanted, gate in zip(p.wanted.tolist(), p.schedule.gate.tolist(), strict=True)
        ]
        for p in posts
    ]


def _bought(own: Family) -> Iterator[JobStock | None]:
    """The stock of each piece of a family, in order."""
    return (None if k == NO_STOCK else own.offered[k] for k in own.by_piece().entry.tolist())


def _rail_name(pieces: RailPieces, index: int, run: str) -> str:
    first, last = int(pieces.first_bay[index]) + 1, int(pieces.last_bay[index]) + 1
    bays = f"bay {first}" if first == last else f"bays {first}-{last}"
    return f"{run} {bays} row {int(pieces.row[index]) + 1}{'' if pieces.fits[index] else ' (does not fit)'}"

"""What is cut from which board: pickets, posts and rails, each a family with its plan and its proof."""

from collections import defaultdict, deque
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fencegrade.cutting import Board, CutPlan, Piece, Stock, cut_plan
from fencegrade.fence.gates.gates import LeafPickets
from fencegrade.fence.low_ground.kickboard import Kickboard
from fencegrade.fence.pickets.cuts import Cuts, Marks, marks_down
from fencegrade.fence.posts.posts import PostSchedule
from fencegrade.fence.rails.rails import RailPieces
from fencegrade.fence.stock import NO_STOCK, StockChoice
from fencegrade.ground.profile import Floats
from fencegrade.job.read import Job
from fencegrade.job.records import Stock as JobStock
from fencegrade.job.records import TopEnd


@dataclass(frozen=True, slots=True, kw_only=True)
class TracedBoard:
    """One board: its stock and pieces in tape marks, and the name of the place each piece goes to."""

    stock: int
    pieces: tuple[int, ...]
    names: tuple[str, ...]
    offcut: int
    on_hand: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Family:
    """Pieces of one kind and the plan that cuts them.

    `offered`: the stock, in the order of the plan's `entry`; `asked`: (p,) lengths in tape marks;
    `name_of`: from a piece's index to where it goes; `unserved`: indices of pieces longer than any stock,
    which the plan leaves out.
    """

    offered: tuple[JobStock, ...]
    asked: Marks
    name_of: Callable[[int], str]
    unserved: tuple[int, ...]
    plan: CutPlan

    def laid(self) -> Iterator[tuple[Board, tuple[int, ...]]]:
        """Every board, one by one, with the indices of the pieces cut from it, in the order of its cuts."""
        waiting: dict[int, deque[int]] = defaultdict(deque)
        left_out = set(self.unserved)
        for i, length in enumerate(self.asked.tolist()):
            if i not in left_out:
                waiting[length].append(i)
        for board in self.plan.boards:
            wanted = [p + s for p, s in zip(board.pieces, board.shortened, strict=True)]
            for _ in range(board.count):
                yield board, tuple(waiting[w].popleft() for w in wanted)

    def traced(self) -> Iterator[TracedBoard]:
        """Every board with the places its pieces go to."""
        for board, members in self.laid():
            yield TracedBoard(
                stock=board.stock,
                pieces=board.pieces,
                names=tuple(self.name_of(i) for i in members),
                offcut=board.offcut,
                on_hand=board.on_hand,
            )

    def stock_of(self) -> Marks:
        """The stock (tape marks) each piece is cut from, (p,); 0 where none serves."""
        found = np.zeros(len(self.asked), dtype=np.int64)
        for board, members in self.laid():
            found[list(members)] = board.stock
        return found

    def counts(self, on_hand: bool) -> list[int]:
        """Boards of each stock offered that are bought, or taken from those on hand."""
        counts = [0] * len(self.offered)
        for board in self.plan.boards:
            if board.on_hand == on_hand:
                counts[board.entry] += board.count
        return counts


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Families:
    """The families of a plan; `gate_pickets` is None without a gate, `kickboards` where none is laid."""

    pickets: Family
    gate_pickets: Family | None
    kickboards: Family | None
    posts: Family
    rails: Family

    def named(self) -> dict[str, Family]:
        """The families by name, in the order a builder needs them."""
        every = {
            "pickets": self.pickets,
            "gate_pickets": self.gate_pickets,
            "kickboards": self.kickboards,
            "posts": self.posts,
            "rails": self.rails,
        }
        return {name: family for name, family in every.items() if family is not None}


def family(
    asked: Marks,
    name_of: Callable[[int], str],
    offered: Sequence[JobStock],
    mark: float,
    *,
    kerf: float = 0.0,
    least_offcut: float = 0.0,
    one_piece: bool = False,
    slack: Marks | None = None,
) -> Family:
    """Plan one family.

    `asked`: (p,) lengths in tape marks; `mark`, `kerf`, `least_offcut` in inches; `slack`: (p,) how much
    shorter each may be made, in marks; `one_piece`: a board gives one piece only.
    """
    loose = np.zeros_like(asked) if slack is None else slack
    longest = int(marks_down(np.array([max(s.length for s in offered)]), mark)[0])
    fits = asked - loose <= longest
    kinds, counts = np.unique(np.stack([asked[fits], loose[fits]]), axis=1, return_counts=True)
    plan = cut_plan(
        [Piece(length=int(a), slack=int(b), count=int(n)) for (a, b), n in zip(kinds.T, counts, strict=True)],
        [_stock(s, mark) for s in offered],
        int(np.ceil(kerf / mark - 1e-6)),
        least_offcut=int(np.ceil(least_offcut / mark - 1e-6)),
        one_piece=one_piece,
    )
    return Family(
        offered=tuple(offered),
        asked=asked,
        name_of=name_of,
        unserved=tuple(int(i) for i in np.flatnonzero(~fits)),
        plan=plan,
    )


def _stock(stock: JobStock, mark: float) -> Stock:
    return Stock(
        length=int(marks_down(np.array([stock.length]), mark)[0]),
        price=stock.price,
        on_hand=stock.on_hand,
    )


def share_boards(
    job: Job, full: Cuts, most_gap: Floats, choice: StockChoice, name_of: Callable[[int], str]
) -> tuple[StockChoice, Family]:
    """The picket family, and the stock of each picket under its plan.

    `full`: pickets as decided so far; `most_gap`: (n,) largest gap allowed (in);
    `name_of`: see `picket_names`. With a shaped top end every
    picket has a board of its own, as `choice` says; flat ends let a board give several, and a picket may be
    a little shorter within its gap where that saves a board.
    """
    mark = job.job.tape
    served = choice.stock != NO_STOCK
    lengths = np.append(choice.lengths, 0)[choice.stock]
    asked = np.where(served, np.minimum(full.kept, lengths), full.kept)
    if job.pickets.top_end is not TopEnd.FLAT:
        return choice, family(asked, name_of, choice.offered, mark, one_piece=True, kerf=job.job.kerf)
    slack = np.where(served, marks_down(np.maximum(most_gap - full.gap, 0.0), mark), 0)
    slack = np.minimum(slack - (full.kept - asked), asked - 1).clip(0)
    plan = family(
        asked,
        name_of,
        choice.offered,
        mark,
        kerf=job.job.kerf,
        least_offcut=job.job.least_offcut,
        slack=slack,
    )
    return _shared(choice, plan), plan


def picket_names(runs: Sequence[tuple[str, int]]) -> Callable[[int], str]:
    """From a picket's place in the job to its name; `runs`: the name and the number of pickets of each."""
    if len(runs) == 1:
        return lambda index: f"picket {index + 1}"
    ends = np.cumsum([count for _, count in runs])

    def name_of(index: int) -> str:
        run = int(np.searchsorted(ends, index, side="right"))
        return f"{runs[run][0]} picket {index - int(ends[run]) + runs[run][1] + 1}"

    return name_of


def _shared(choice: StockChoice, plan: Family) -> StockChoice:
    """The stock of each picket where boards give several: that of the board it is cut from."""
    stock = np.full_like(choice.stock, NO_STOCK)
    on_hand = np.zeros_like(choice.on_hand)
    kept = plan.asked.copy()
    for board, members in plan.laid():
        stock[list(members)], on_hand[list(members)] = board.entry, board.on_hand
        kept[list(members)] = board.pieces
    return replace(
        choice,
        stock=stock,
        on_hand=on_hand,
        kept=kept,
        used=np.array(plan.counts(True)) + np.array(plan.counts(False)),
        bought=np.array(plan.counts(False)),
    )


def gate_family(job: Job, leaves: Sequence[LeafPickets], pickets: Family) -> Family | None:
    """The pickets of gate leaves, from the same stock; what the run leaves on hand is used first."""
    if not leaves:
        return None
    labels = [f"leaf {n} picket {k + 1}" for n, leaf in enumerate(leaves, 1) for k in range(len(leaf.kept))]
    left = [s.on_hand - used for s, used in zip(pickets.offered, pickets.counts(True), strict=True)]
    return family(
        np.maximum(np.concatenate([leaf.kept for leaf in leaves]), 1),
        labels.__getitem__,
        [replace(s, on_hand=n) for s, n in zip(pickets.offered, left, strict=True)],
        job.job.tape,
        one_piece=job.pickets.top_end is not TopEnd.FLAT,
        kerf=job.job.kerf,
        least_offcut=job.job.least_offcut,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PostsToSet:
    """The posts of one run (n,): which are to be set, their whole length and their depth in the ground (in).

    The post at a corner stands once: with the run that ends there, as long and as deep as the two runs ask.
    """

    wanted: NDArray[np.bool_]
    total: Floats
    depth: Floats
    offered: tuple[JobStock, ...]

    @property
    def stock(self) -> list[JobStock | None]:
        """The shortest stock that is long enough for each post; None where none is wanted or none serves."""
        return [
            next((s for s in self.offered if s.length >= total - 1e-6), None) if wanted else None
            for wanted, total in zip(self.wanted.tolist(), self.total.tolist(), strict=True)
        ]


def posts_to_set(job: Job, schedules: Sequence[PostSchedule]) -> tuple[PostsToSet, ...]:
    """Run by run, the posts that are bought and set.

    `schedules`: one a run of the job, in order. Source: own derivation.
    """
    found = tuple(
        PostsToSet(wanted=s.new.copy(), total=s.total.copy(), depth=s.depth.copy(), offered=s.offered)
        for s in schedules
    )
    index = {run.name: k for k, run in enumerate(job.runs)}
    for after, run in zip(found, job.runs, strict=True):
        if run.join in index:
            before = found[index[run.join]]
            before.total[-1] = max(before.total[-1], after.total[0])
            before.depth[-1] = max(before.depth[-1], after.depth[0])
            before.wanted[-1] &= after.wanted[0]
            after.wanted[0] = False
    return found


def kickboard_family(job: Job, laid: Sequence[Sequence[Kickboard]], names: Sequence[str]) -> Family | None:
    """The kickboards, one board each, as the choice of what closes low ground counts them."""
    every = [(run, board) for run, boards in zip(names, laid, strict=True) for board in boards]
    if not every:
        return None
    mark = job.job.tape
    labels = [f"{run} under pickets {board.first}-{board.last}" for run, board in every]
    return family(
        marks_down(np.array([board.length for _, board in every]), mark),
        labels.__getitem__,
        tuple(sorted(job.soil.kickboard, key=lambda s: s.length)),
        mark,
        one_piece=True,
        kerf=job.job.kerf,
    )


def post_family(job: Job, schedules: Sequence[PostSchedule], names: Sequence[str]) -> Family:
    """The posts to be set, each of one piece, long enough to the mark above; one at a corner of two runs."""
    mark = job.job.tape
    posts = posts_to_set(job, schedules)
    totals = np.concatenate([p.total[p.wanted] for p in posts])
    labels = [
        f"{n} post {int(k) + 1}" for p, n in zip(posts, names, strict=True) for k in np.flatnonzero(p.wanted)
    ]
    asked = np.ceil(totals / mark - 1e-6).astype(np.int64)
    return family(asked, labels.__getitem__, schedules[0].offered, mark, one_piece=True, kerf=job.job.kerf)


def rail_family(job: Job, pieces: Sequence[RailPieces], names: Sequence[str]) -> Family:
    """The rails, several a board where they fit."""
    mark = job.job.tape
    lengths = np.concatenate([p.length for p in pieces])
    labels = [_rail_name(p, k, n) for p, n in zip(pieces, names, strict=True) for k in range(len(p))]
    offered = tuple(sorted(job.rails.stock, key=lambda s: s.length))
    return family(
        marks_down(lengths, mark),
        labels.__getitem__,
        offered,
        mark,
        kerf=job.job.kerf,
        least_offcut=job.job.least_offcut,
    )


def _rail_name(pieces: RailPieces, index: int, run: str) -> str:
    first, last = int(pieces.first_bay[index]) + 1, int(pieces.last_bay[index]) + 1
    bays = f"bay {first}" if first == last else f"bays {first}-{last}"
    return f"{run} {bays} row {int(pieces.row[index]) + 1}"

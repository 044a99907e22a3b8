"""What is cut from which board: pickets, posts and rails, each a family with its plan and its proof."""

import dataclasses
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import pairwise

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.cutting import Board, CutPlan, Stock
from fencegrade.fence.pickets.cuts import marks_down
from fencegrade.fence.stock import NO_STOCK, Needs, StockChoice, by_length
from fencegrade.fence.stock_steps import for_sale
from fencegrade.job.choices import TopEnd
from fencegrade.job.read import Job
from fencegrade.job.records import Stock as JobStock
from fencegrade.planning.laid import Begun, Saw, cut_slanted, cut_square, in_order
from fencegrade.units import marks_up
from fencegrade.units.arrays import Floats, Indices, Marks, Truths
from fencegrade.units.tolerances import WHOLE


class TracedBoard(Struct, frozen=True, kw_only=True):
    """One board: its stock, its pieces and the `slants` of each, what its slanted ends would take besides, in
    tape marks, and the name of the place each piece goes to.

    `sold`: its length as it is sold, by which it is told, and `left`: what is left of that after the last
    cut (in); `stock` and `offcut` are the whole marks in them.
    """

    stock: int
    sold: float
    pieces: tuple[int, ...]
    slants: tuple[int, ...]
    names: tuple[str, ...]
    offcut: int
    left: float
    on_hand: bool

    @property
    def ends(self) -> int:
        """What the slanted ends of all its pieces take together (tape marks)."""
        return max(self.slants)


class Family(Struct, frozen=True, kw_only=True, eq=False):
    """Pieces of one kind and the plan that cuts them.

    `offered`: the stock, in the order of the plan's `entry`; `asked`: (p,) lengths in tape marks; `ends`:
    (p,) what slanted ends take of a board besides, and `left_long`: (p,) what is left on a piece to mark it
    in place, in marks; `name_of`: from a piece's index to where it goes; `unserved`: indices of pieces longer
    than any stock, which the plan leaves out; `placed`: (q,) indices of the others in the order they are cut,
    board by board as in the plan; `mark`: of the tape (in), of which the plan knows whole ones; `kerf`: what
    a cut takes, in marks; `begun`: boards of each stock, counted with those on hand, that gave pieces which
    stand already and have others to give, cut as they were to be.
    """

    offered: tuple[JobStock, ...]
    asked: Marks
    ends: Marks
    left_long: Marks
    name_of: Callable[[int], str]
    unserved: tuple[int, ...]
    plan: CutPlan
    placed: Marks
    mark: float
    kerf: int
    begun: tuple[int, ...]

    def sold(self, board: Board) -> float:
        """The length of a board of the plan as it is sold (in)."""
        return self.offered[board.entry].length

    def left(self, board: Board) -> float:
        """What is left of a board as it is sold (in); less than a mark and its kerf is none."""
        return board.offcut * self.mark + self._over(board) if board.offcut else 0.0

    def _over(self, board: Board) -> float:
        """By how much a board as it is sold is longer than its whole marks (in)."""
        return max(0.0, self.sold(board) - board.stock * self.mark)

    @property
    def waste(self) -> float:
        """The length of boards (in), as they are sold, that becomes neither a piece nor an offcut kept."""
        over = sum(b.count * self._over(b) for b in self.plan.boards)
        return self.plan.waste * self.mark + over

    def laid(self) -> Iterator[tuple[Board, tuple[int, ...]]]:
        """Every board, one by one, with the indices of the pieces cut from it, in the order of its cuts."""
        at, placed = 0, self.placed.tolist()
        for board in self.plan.boards:
            size = len(board.pieces)
            for _ in range(board.count):
                yield board, tuple(placed[at : at + size])
                at += size

    def by_piece(self) -> "Pieces":
        """Every piece with the board it is cut from and the length it is cut to."""
        boards = self.plan.boards
        sizes = [len(b.pieces) * b.count for b in boards]
        entry = np.full(len(self.asked), NO_STOCK, dtype=np.int16)
        on_hand, kept = np.zeros(len(self.asked), dtype=bool), self.asked.copy()
        entry[self.placed] = np.repeat([b.entry for b in boards], sizes)
        on_hand[self.placed] = np.repeat([b.on_hand for b in boards], sizes)
        kept[self.placed] = in_order(boards, lambda b: b.pieces)
        return Pieces(entry=entry, on_hand=on_hand, kept=kept)

    def traced(self) -> Iterator[TracedBoard]:
        """Every board with the places its pieces go to."""
        for board, members in self.laid():
            yield TracedBoard(
                stock=board.stock,
                sold=self.sold(board),
                pieces=board.pieces,
                slants=tuple(self.ends[list(members)].tolist()),
                names=tuple(self.name_of(i) for i in members),
                offcut=board.offcut,
                left=self.left(board),
                on_hand=board.on_hand,
            )

    def sold_of(self) -> Floats:
        """The length as it is sold (in) of the board each piece is cut from, (p,); 0 where none serves."""
        return np.append([s.length for s in self.offered], 0.0)[self.by_piece().entry]

    def asked_of_boards(self, least: Marks | None = None) -> Marks:
        """The length (b,) in tape marks that would do for what each board gives, board by board; `least`
        (p,): were its pieces no longer than this."""
        boards, order = self.plan.boards, self.placed
        size = np.repeat([len(b.pieces) for b in boards], [b.count for b in boards])
        if not len(size):
            return np.zeros(0, dtype=np.int64)
        starts = np.append(0, np.cumsum(size[:-1]))
        pieces = in_order(boards, lambda b: b.pieces) + self.left_long[order]
        pieces = pieces if least is None else np.minimum(pieces, least[order])
        whole = np.add.reduceat(pieces, starts) + np.maximum.reduceat(self.ends[order], starts)
        return np.asarray(whole + self.kerf * (size - 1), dtype=np.int64)

    def entry_of_boards(self) -> tuple[Indices, Truths]:
        """The stock each board (b,) is of, board by board, and whether it is on hand."""
        boards, count = self.plan.boards, [b.count for b in self.plan.boards]
        entry = np.repeat(np.array([b.entry for b in boards], dtype=np.int64), count)
        return entry, np.repeat(np.array([b.on_hand for b in boards], dtype=bool), count)

    def boards_shared(self, own: Truths) -> list[int]:
        """Whole boards of each stock offered that some of the pieces (p,) take, of boards that others share
        their part."""
        parts = [0.0] * len(self.offered)
        for board, members in self.laid():
            parts[board.entry] += float(own[list(members)].mean())
        return [math.ceil(part - WHOLE) for part in parts]

    def boards_given(self, own: Truths) -> list[int]:
        """Boards of each stock offered that give none but some of the pieces (p,) `own`."""
        counts = [0] * len(self.offered)
        for board, members in self.laid():
            counts[board.entry] += bool(own[list(members)].all())
        return counts

    def boards_with(self, own: Truths) -> list[int]:
        """Boards of each stock offered that give some of the pieces (p,) `own`."""
        counts = [0] * len(self.offered)
        for board, members in self.laid():
            counts[board.entry] += bool(own[list(members)].any())
        return counts

    def wood(self, marked: Truths) -> Marks:
        """Tape marks (p,) there are to cut each piece from, all its board has left when its turn comes.

        Pieces that are `marked` (p,) in place come last, in the order of the board.
        """
        wood = self.asked.copy()
        for board, members in self.laid():
            left = board.stock - (len(members) - 1) * self.kerf - sum(board.pieces)
            pieces = dict(zip(members, board.pieces, strict=True))
            after = left + sum(n for i, n in pieces.items() if marked[i])
            for i, length in pieces.items():
                wood[i] = after if marked[i] else length + left
                after -= length if marked[i] else 0
        return wood

    def ends_by_board(self) -> list[int]:
        """What slanted ends take (tape marks) of each of the plan's boards, those cut alike once."""
        size = [len(b.pieces) * b.count for b in self.plan.boards]
        starts = np.cumsum([0, *size]).tolist()
        return [int(self.ends[self.placed[a:b]].max()) for a, b in pairwise(starts)]

    def counts(self, on_hand: bool) -> list[int]:
        """Boards of each stock offered that are bought, or taken from those on hand."""
        counts = [0] * len(self.offered)
        for board in self.plan.boards:
            if board.on_hand == on_hand:
                counts[board.entry] += board.count
        return counts


class Pieces(Struct, frozen=True, kw_only=True, eq=False):
    """The pieces (p,) of a family as cut: `entry` of their stock or NO_STOCK, whether it is `on_hand`, and
    the length `kept` in tape marks."""

    entry: Marks
    on_hand: Truths
    kept: Marks


def _used_up(family: Family, mark: float) -> tuple[tuple[float, int], ...]:
    """Lengths (in) no longer sold that would serve some unserved piece, and how many there were on hand."""
    least = int((family.asked + family.ends)[list(family.unserved)].min())
    long = marks_down(np.array([s.length for s in family.offered]), mark) >= least
    rows = [s for s, serves in zip(family.offered, long, strict=True) if serves and s.on_hand and not s.sold]
    return tuple((s.length, s.on_hand) for s in sorted(rows, key=lambda s: s.length))


class Missing(Struct, frozen=True, kw_only=True):
    """Pieces of one part of a fence that no stock serves.

    `part`: its name, of one; `table`: of the job file that offers its stock; `count` of them; `needed`: the
    longest of them, slanted ends and all, `longest`: the longest stock that can be bought (in); `used_up`:
    lengths (in) of stock no longer sold that would serve some of them, and how many were on hand, all of them
    taken.
    """

    part: str
    table: str
    count: int
    needed: float
    longest: float
    used_up: tuple[tuple[float, int], ...]

    def as_dict(self, number: Callable[[float], float]) -> dict[str, object]:
        """As plan and comparison have it; `number`: from inches to the unit of their lengths."""
        return {
            "part": self.part,
            "count": self.count,
            "needed": number(self.needed),
            "longest": number(self.longest),
            "used_up": [{"length": number(length), "count": count} for length, count in self.used_up],
        }


_TABLES = {
    "pickets": "[[pickets.stock]]",
    "gate_pickets": "[[pickets.stock]]",
    "kickboards": "[[soil.kickboard]]",
    "posts": "[[posts.stock]]",
    "gate_posts": "[[posts.gate_stock]]",
    "rails": "[[rails.stock]]",
}
"""The families in the order a builder needs them, and the table of the job file that offers their stock."""


class Families(Struct, frozen=True, kw_only=True, eq=False):
    """The families of a plan; `gate_pickets` is None without a gate, `kickboards` where none is laid,
    `gate_posts` where they are cut from the same stock as the others.
    """

    pickets: Family
    gate_pickets: Family | None
    kickboards: Family | None
    posts: Family
    gate_posts: Family | None
    rails: Family

    def named(self) -> dict[str, Family]:
        """The families by name, in the order a builder needs them."""
        every = ((name, getattr(self, name)) for name in _TABLES)
        return {name: family for name, family in every if family is not None}

    def boards_of_pickets(self, on_hand: bool) -> list[int]:
        """How many boards of each stock the pickets and those of gates take, from the one pile or bought."""
        own = [f.counts(on_hand) for f in (self.pickets, self.gate_pickets) if f is not None]
        return [sum(counts) for counts in zip(*own, strict=True)]

    def pickets_left_on_hand(self) -> list[int]:
        """How many boards of each stock on hand the pickets and those of gates do not take."""
        rows = zip(self.pickets.offered, self.boards_of_pickets(on_hand=True), strict=True)
        return [stock.on_hand - taken for stock, taken in rows]

    def of_posts(self) -> list[Family]:
        """Those of posts."""
        return [family for name, family in self.named().items() if name.endswith("posts")]

    def missing(self, mark: float) -> tuple["Missing", ...]:
        """What no stock serves, part by part, and so is in no list of boards; `mark`: tape mark (in)."""
        return tuple(
            Missing(
                part=name.replace("_", " ").removesuffix("s"),
                table=_TABLES[name],
                count=len(family.unserved),
                needed=float((family.asked + family.ends)[list(family.unserved)].max()) * mark,
                longest=max(s.length for s in for_sale(family.offered)),
                used_up=_used_up(family, mark),
            )
            for name, family in self.named().items()
            if family.unserved
        )


def as_once_sold(stock: Sequence[JobStock]) -> tuple[JobStock, ...]:
    """Stock as it was when what stands was cut: a length that is not sold and not there, yet listed, was sold
    then."""
    return tuple(s if s.sold or s.on_hand else dataclasses.replace(s, limit=None) for s in stock)


def held_before(own: Family, up: Truths) -> list[int]:
    """Boards on hand of each stock offered that have given all to the pieces `up` (p,): by the list when
    nothing stood, of each length those on hand first. One cut in part is there still for the rest.

    `own`: all the pieces, cut as if none stood.
    """
    return [min(s.on_hand, n) for s, n in zip(own.offered, own.boards_given(up), strict=True)]


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
    left_long: Marks | None = None,
    ends: Marks | None = None,
    begun: Sequence[Begun] = (),
) -> Family:
    """Plan one family.

    `asked`: (p,) lengths in tape marks; `mark`, `kerf`, `least_offcut` in inches; `slack`: (p,) how much
    shorter each may be made, in marks; `one_piece`: a board gives one piece only; `left_long` (p,) marks left
    on a piece, which count as left over in the plan; `ends`: (p,) marks that slanted ends take, once a board,
    of pieces of which none is left long or made shorter; `begun`: boards that are cut already in part, which
    count with those on hand, and all the pieces each gives.
    """
    none = np.broadcast_to(np.int64(0), len(asked))
    loose, extra = none if slack is None else slack, none if left_long is None else left_long
    slanted = none if ends is None else ends
    whole, given = _without(offered, begun), [i for b in begun for i in b.members]
    fits = _served(asked + extra + slanted - loose, whole, mark, given)
    saw = Saw(
        stock=tuple(_stock(s, mark) for s in whole),
        kerf=marks_up(kerf, mark),
        least_offcut=marks_up(least_offcut, mark),
        one_piece=one_piece,
    )
    if slanted.any():
        plan, placed = cut_slanted(asked, slanted, fits, saw)
    else:
        plan, placed = cut_square(asked, extra, loose, fits, begun, saw)
    return Family(
        offered=tuple(offered),
        asked=asked,
        ends=slanted,
        left_long=extra,
        name_of=name_of,
        unserved=tuple(np.setdiff1d(np.flatnonzero(~fits), given).tolist()),
        plan=plan,
        placed=placed,
        mark=mark,
        kerf=saw.kerf,
        begun=tuple(s.on_hand - w.on_hand for s, w in zip(offered, whole, strict=True)),
    )


def _without(offered: Sequence[JobStock], begun: Sequence[Begun]) -> list[JobStock]:
    """The stock less the boards begun."""
    counts = [sum(b.entry == k for b in begun) for k in range(len(offered))]
    return [dataclasses.replace(s, on_hand=s.on_hand - n) for s, n in zip(offered, counts, strict=True)]


def _stock(stock: JobStock, mark: float) -> Stock:
    return Stock(
        length=int(marks_down(np.array([stock.length]), mark)[0]),
        price=stock.price,
        on_hand=stock.on_hand,
        limit=stock.limit,
    )


def _served(asked: Marks, offered: Sequence[JobStock], mark: float, given: Sequence[int]) -> Truths:
    """Which pieces (p,) of these lengths (marks) there is a board for, those `given` left out: those longer
    than all that can be bought take one each of those on hand, the longest first, each the shortest that is
    as long."""
    stock, lengths = by_length(offered, mark)
    fits = asked <= max((n for s, n in zip(stock, lengths.tolist(), strict=True) if s.sold), default=0)
    fits[list(given)] = False
    left = [s.on_hand for s in stock]
    for piece in sorted(np.setdiff1d(np.flatnonzero(~fits), given).tolist(), key=lambda p: -int(asked[p])):
        board = next((k for k, n in enumerate(lengths) if left[k] and n >= asked[piece]), None)
        if board is not None:
            left[board] -= 1
            fits[piece] = True
    return fits


def share_boards(
    job: Job,
    needs: Needs,
    choice: StockChoice,
    name_of: Callable[[int], str],
    begun: Sequence[Begun] = (),
) -> tuple[StockChoice, Family]:
    """The picket family, and every picket on the board its plan cuts it from.

    `needs`: of all pickets of the job; `choice`: their stock, one picket a board; `name_of`: see
    `picket_names`; `begun`: as `family` has them. With a shaped top end every picket has a board of its own;
    flat ends let a board give several, and a picket may be a little shorter where that saves a board, within
    its gap and while it is sure enough. What is to be marked in place is left long as far as `needs` asks.
    """
    mark, flat = job.tape, job.pickets.top_end is TopEnd.FLAT
    slack = (choice.kept - np.maximum(needs.shortest, 1)).clip(0)
    marked = needs.long_end > choice.kept
    shared = family(
        choice.kept,
        name_of,
        choice.offered,
        mark,
        one_piece=not flat,
        kerf=job.job.kerf,
        least_offcut=job.job.least_offcut if flat else 0.0,
        slack=np.where((choice.stock == NO_STOCK) | marked, 0, slack) if flat else None,
        left_long=np.where(marked, needs.long_end - choice.kept, 0),
        begun=begun,
    )
    cut = shared.by_piece()
    whole = np.append(choice.lengths, 0)[cut.entry]
    bought = np.array(shared.counts(False), dtype=np.int64)
    final = replace(
        choice,
        stock=cut.entry,
        on_hand=cut.on_hand,
        kept=cut.kept,
        # one that was shortened is sure by that, and cut with those from the chart
        wood=shared.wood((needs.long_end > 0) & (cut.kept == choice.kept)) if flat else whole,
        used=bought + np.array(shared.counts(True), dtype=np.int64),
        bought=bought,
    )
    return final, shared


class PicketNames(Struct, frozen=True, kw_only=True, eq=False):
    """Names of pickets by their place in the job, or in a selection of them.

    `runs`: the name and the number of pickets of each run; `places`: (k,) of the selected ones in the job,
    None for all.
    """

    runs: tuple[tuple[str, int], ...]
    places: Indices | None = None

    def __call__(self, index: int) -> str:
        """The name of one picket, without its run's where there is one run."""
        place = index if self.places is None else int(self.places[index])
        if len(self.runs) == 1:
            return f"picket {place + 1}"
        ends = np.cumsum([count for _, count in self.runs])
        run = int(np.searchsorted(ends, place, side="right"))
        name, count = self.runs[run]
        return f"{name} picket {place - int(ends[run]) + count + 1}"

    def of(self, places: Indices) -> "PicketNames":
        """The names of some of all pickets."""
        return PicketNames(runs=self.runs, places=places)


def picket_names(runs: Iterable[tuple[str, int]]) -> PicketNames:
    """From a picket's place in the job to its name; `runs`: the name and the number of pickets of each."""
    return PicketNames(runs=tuple(runs))

"""Pieces laid on boards: each cut goes to a piece, and every piece has its own length again.

The cutter knows whole lengths that add up. What slanted ends take of a board is taken once, for pieces with
slanted ends lie one in the other, in the order of their slant and turned over where one leans the other way:

 board ____________________________________
      |    /               //           /   |    l1 + l2 + kerf + the greater of e1, e2 <= board
      |___/_______________//___________/____|    e = what both ends of a piece take of a board of its own
          |<---- l1 ---->||<-- l2 -->|
"""

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.cutting import Board, CutPlan, Piece, Stock, cut_plan
from fencegrade.units.arrays import Marks, Truths

_KNOWN = 128
"""Lists whose cut plan is kept in case the same list comes again."""


@lru_cache(maxsize=_KNOWN)
def _cut(
    pieces: tuple[Piece, ...], stock: tuple[Stock, ...], kerf: int, least_offcut: int, one_piece: bool
) -> CutPlan:
    """The cut plan of a list: the rails of a fence whose line is moved are the same, and so is their plan."""
    return cut_plan(pieces, stock, kerf, least_offcut=least_offcut, one_piece=one_piece)


class Saw(Struct, frozen=True, kw_only=True):
    """What boards are cut from and how: `stock`, `kerf` and `least_offcut` in tape marks."""

    stock: tuple[Stock, ...]
    kerf: int
    least_offcut: int
    one_piece: bool = False

    def plan(self, asked: Marks, loose: Marks, fits: Truths) -> tuple[CutPlan, Marks]:
        """The plan of the pieces that fit, and which piece (q,) every cut in order gives.

        `asked`: (p,) lengths; `loose`: (p,) how much shorter each may be made.
        """
        kinds, counts = np.unique(np.stack([asked[fits], loose[fits]]), axis=1, return_counts=True)
        pieces = (
            Piece(length=int(a), slack=int(b), count=int(n))
            for (a, b), n in zip(kinds.T, counts, strict=True)
        )
        plan = _cut(tuple(pieces), self.stock, self.kerf, self.least_offcut, self.one_piece)
        return plan, _hand_out(asked, loose, fits, plan.boards)

    @property
    def longest(self) -> int:
        """The longest board that can be bought."""
        return max(s.length for s in self.stock if s.limit != 0)

    def less(self, marks: int) -> "Saw":
        """The same with every board shorter, at its own price; at its own length where there are none."""
        if not marks:
            return self
        unpriced = all(s.price is None for s in self.stock if s.limit != 0)
        return replace(
            self,
            stock=tuple(
                replace(s, length=max(1, s.length - marks), price=s.length if unpriced else s.price)
                for s in self.stock
            ),
        )


class Begun(Struct, frozen=True, kw_only=True):
    """A board that gave some of its pieces: the `entry` of its stock, and indices of all that it gives."""

    entry: int
    members: tuple[int, ...]


def in_order(boards: Sequence[Board], what: Callable[[Board], Sequence[int]]) -> Marks:
    """Something of every piece in the order they are cut, board by board."""
    rows = [np.tile(np.array(what(b), dtype=np.int64), b.count) for b in boards]
    return np.concatenate([np.zeros(0, dtype=np.int64), *rows])


def _hand_out(asked: Marks, may_lose: Marks, fits: Truths, boards: Sequence[Board]) -> Marks:
    """Which piece (q,) every cut in order gives: each cut goes to a piece of the length it was made for that
    may lose as much as it lost, first come first served."""
    lost = in_order(boards, lambda b: b.shortened)
    wanted = in_order(boards, lambda b: b.pieces) + lost
    cuts, pieces = np.lexsort((np.arange(len(wanted)), -lost, wanted)), np.flatnonzero(fits)
    pieces = pieces[np.argsort(asked[pieces], kind="stable")]
    placed = np.empty(len(wanted), dtype=np.int64)
    edges = np.flatnonzero(np.diff(wanted[cuts])) + 1
    for own, waiting in zip(np.split(cuts, edges), np.split(pieces, edges), strict=True):
        for size in dict.fromkeys(lost[own].tolist()):
            here = own[lost[own] == size]
            free = waiting[may_lose[waiting] >= size][: len(here)] if size else waiting
            placed[np.sort(here)] = free
            waiting = np.setdiff1d(waiting, free, assume_unique=True)
    return placed


def own_lengths(
    plan: CutPlan, placed: Marks, extra: Marks, ends: Marks, saw: Saw, kept: int | None = None
) -> tuple[CutPlan, Marks]:
    """The plan with every piece at its own length, and the pieces (q,) in its order.

    `extra`: (p,) marks that a piece is shorter than it was planned; `ends`: (p,) marks that its slanted ends
    take, once a board, of what is left over, which is told along its longer edge. `saw`: the boards as they
    are; `kept`: length of the offcuts worth keeping, counted if absent.
    """
    found: dict[tuple[object, ...], tuple[Board, list[Marks]]] = {}
    at = 0
    for board in plan.boards:
        size = len(board.pieces) * board.count
        whole = saw.stock[board.entry].length
        for pieces, lost, slant, members in _alike(board, placed[at : at + size], extra, ends):
            over = max(0, whole - sum(pieces) - saw.kerf * len(pieces))
            own = replace(board, stock=whole, pieces=pieces, shortened=lost, offcut=over, count=0)
            key = (whole, board.entry, not board.on_hand, tuple(-p for p in pieces), lost, slant)
            found.setdefault(key, (own, []))[1].append(members)
        at += size
    every = [found[key] for key in sorted(found)]
    boards = tuple(replace(b, count=sum(len(m) for m in of)) for b, of in every)
    least = saw.least_offcut
    if kept is None:
        kept = sum(b.offcut * b.count for b in boards if least and b.offcut >= least)
    used = sum(b.stock * b.count for b in boards)
    waste = used - kept - sum(sum(b.pieces) * b.count for b in boards)
    shown = replace(plan, boards=boards, kept=kept, waste=waste, waste_share=waste / used if used else 0.0)
    order = (m.ravel() for _, of in every for m in of)
    return shown, np.concatenate([np.zeros(0, dtype=np.int64), *order])


def _alike(
    board: Board, placed: Marks, extra: Marks, ends: Marks
) -> Iterator[tuple[tuple[int, ...], tuple[int, ...], int, Marks]]:
    """The boards of one way to cut, apart by what their pieces (p,) are: their lengths, in the order of their
    slant and the longest first, what each lost, what slanted ends take, and (b, k) the pieces of each such
    board; `placed`: those of all in the order of cuts."""
    members = placed.reshape(board.count, -1)
    cut = np.array(board.pieces, dtype=np.int64) - extra[members]
    order = np.lexsort((members, -cut, ends[members]))
    members, cut = (np.take_along_axis(rows, order, axis=1) for rows in (members, cut))
    lost, k = np.array(board.shortened, dtype=np.int64)[order], cut.shape[1]
    rows = np.hstack([cut, lost, ends[members].max(axis=1, keepdims=True)])
    kinds, which = np.unique(rows, axis=0, return_inverse=True)
    own = np.split(np.argsort(which, kind="stable"), np.cumsum(np.bincount(which))[:-1])
    for kind, boards in zip(kinds.tolist(), own, strict=True):
        yield tuple(kind[:k]), tuple(kind[k:-1]), kind[-1], members[boards]


def _boards(plan: CutPlan, placed: Marks) -> Iterator[tuple[Board, list[int]]]:
    """Every board, one by one, with its pieces."""
    at, order = 0, placed.tolist()
    for board in plan.boards:
        for _ in range(board.count):
            yield board, order[at : at + len(board.pieces)]
            at += len(board.pieces)


def cut_square(
    asked: Marks, extra: Marks, loose: Marks, fits: Truths, begun: Sequence[Begun], saw: Saw
) -> tuple[CutPlan, Marks]:
    """The plan of pieces with square ends, and the pieces (q,) in its order.

    `asked`: (p,) lengths; `extra`: (p,) marks left on each, which count as left over in the plan; `loose`:
    (p,) how much shorter each may be made; `fits`: (p,) those to plan; `begun`: boards with the pieces they
    give besides, which cost nothing.
    """
    none = np.zeros(len(asked), dtype=np.int64)
    plan, placed = saw.plan(asked + extra, loose, fits)
    kept = None if begun else plan.kept
    for one in begun:
        pieces = tuple((asked + extra)[list(one.members)].tolist())
        board = Board(
            stock=saw.stock[one.entry].length,
            pieces=pieces,
            offcut=0,
            count=1,
            shortened=(0,) * len(pieces),
            on_hand=True,
            entry=one.entry,
        )
        plan, placed = replace(plan, boards=(*plan.boards, board)), np.append(placed, one.members)
    return own_lengths(plan, placed, extra, none, saw, kept) if begun or extra.any() else (plan, placed)


def cut_slanted(asked: Marks, ends: Marks, fits: Truths, saw: Saw) -> tuple[CutPlan, Marks]:
    """The plan of pieces with slanted ends, and the pieces (q,) in its order.

    `asked`: (p,) lengths; `ends`: (p,) what both ends of each take of a board of its own, see above; `fits`:
    (p,) those that some board serves. With all boards shorter by some level, and every piece as much longer
    as its ends take more than that, whatever the cutter plans can be cut. With the level the least that any
    ends take, and every piece at its own length, it plans no worse than can be cut. Where that plan can be
    cut too, or no board gives two pieces, the plan is the best; else the better of two levels is taken, with
    what no plan can go under. Source: own derivation.
    """
    least, longest = int(ends[fits].min(initial=0)), int(asked[fits].max(initial=0))
    level = min(int(ends[fits].max(initial=0)), saw.longest - longest)
    alone = 2 * int(asked[fits].min(initial=longest)) + saw.kerf > max(s.length for s in saw.stock)
    if alone or least == level:
        return _at_level(least, asked, ends, fits, saw)
    bound, placed = saw.less(least).plan(asked, np.zeros_like(asked), fits)
    if all(
        sum(b.pieces) + saw.kerf * (len(b.pieces) - 1) + int(ends[of].max()) <= saw.stock[b.entry].length
        for b, of in _boards(bound, placed)
    ):
        return _as_slanted(bound, placed, np.zeros_like(asked), ends, saw)
    tries = [_at_level(each, asked, ends, fits, saw) for each in (least, level) if each >= least]
    plan, placed = min(tries, key=lambda one: (one[0].exact_cost, one[0].waste))
    return replace(plan, exact_bound=bound.exact_bound, raw_bound=bound.raw_bound), placed


def _at_level(level: int, asked: Marks, ends: Marks, fits: Truths, saw: Saw) -> tuple[CutPlan, Marks]:
    """Such a plan with all boards shorter by a level."""
    extra = np.maximum(ends - level, 0)
    plan, placed = saw.less(level).plan(asked + extra, np.zeros_like(asked), fits)
    return _as_slanted(plan, placed, extra, ends, saw)


def _as_slanted(plan: CutPlan, placed: Marks, extra: Marks, ends: Marks, saw: Saw) -> tuple[CutPlan, Marks]:
    """The plan as it is cut, its cost that of the boards as they are."""
    shown, order = own_lengths(plan, placed, extra, ends, saw)
    priced = any(s.price is not None for s in saw.stock if s.limit != 0)
    return replace(shown, priced=priced), order

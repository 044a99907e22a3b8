"""Boards that give more than one picket, those cut alike together, and what of them is marked in place."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from fencegrade.job.records import TopEnd
from fencegrade.planning.families import TracedBoard, picket_names
from fencegrade.planning.plan import FencePlan
from fencegrade.sheets.mark_in_place import in_place
from fencegrade.units.words import Words, numbers


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedBoards:
    """Boards cut alike: how many, of which stock (in), and what is left of each (in).

    `cuts`: the lengths (in) cut from the chart, longest first, with the names of their pickets; `long`: the
    pickets that are marked in place from what those leave, with the lengths (in) to expect.
    """

    count: int
    stock: float
    cuts: tuple[tuple[float, tuple[str, ...]], ...]
    long: tuple[tuple[float, str], ...]
    left: float


def shared_boards(plan: FencePlan) -> list[SharedBoards]:
    """The boards that give more than one picket, as cut; none where ends are shaped."""
    if plan.job.pickets.top_end is not TopEnd.FLAT:
        return []
    name_of = picket_names([(r.run.name, len(r.slots)) for r in plan.runs])
    marked = {name_of(int(i)) for i in np.flatnonzero(np.concatenate([in_place(r) for r in plan.runs]))}
    families = (plan.families.pickets, plan.families.gate_pickets)
    return [
        boards
        for family in families
        if family is not None
        for boards in _of_family(family.traced(), marked, plan.mark)
    ]


def _of_family(boards: Iterator[TracedBoard], marked: set[str], mark: float) -> Iterator[SharedBoards]:
    alike: dict[tuple[object, ...], list[TracedBoard]] = {}
    for board in boards:
        if len(board.pieces) > 1:
            alone = () if marked.isdisjoint(board.names) else board.names
            alike.setdefault((board.stock, board.pieces, board.offcut, alone), []).append(board)
    yield from (_alike(own, marked, mark) for own in alike.values())


def _alike(boards: Sequence[TracedBoard], marked: set[str], mark: float) -> SharedBoards:
    one = boards[0]
    places = [(p * mark, tuple(b.names[k] for b in boards)) for k, p in enumerate(one.pieces)]
    sure = [(length, names) for length, names in places if marked.isdisjoint(names)]
    return SharedBoards(
        count=len(boards),
        stock=one.stock * mark,
        cuts=tuple(
            (length, tuple(name for _, names in same for name in names))
            for length, same in groupby(sure, key=lambda place: place[0])
        ),
        long=tuple((length, names[0]) for length, names in places if not marked.isdisjoint(names)),
        left=one.offcut * mark,
    )


def pieces_words(boards: SharedBoards, words: Words) -> str:
    """What is cut from such boards, and what is left long: `34 in for lane 4-7; ♦ the rest for lane 64`."""
    told = [
        f"{words.length(length)}{_each(len(names), boards.count)} for {_places(names)}"
        for length, names in boards.cuts
    ]
    if boards.long:
        each = ", then ".join(f"{_places((name,))} (about {words.length(p)})" for p, name in boards.long)
        told.append(f"♦ {'the rest' if told else 'the whole board'} for {each}")
    return "; ".join(told)


def _each(pieces: int, boards: int) -> str:
    return f", {pieces // boards} from each," if pieces > boards else ""


def _places(names: Sequence[str]) -> str:
    """Pickets by run: `lane 4-7, 17 and orchard 3`, or `pickets 4-7` in a job of one run."""
    runs: dict[str, list[int]] = {}
    for name in names:
        run, _, number = name.rpartition("picket ")
        runs.setdefault(run.strip(), []).append(int(number))
    return " and ".join(_of_run(run, sorted(own)) for run, own in runs.items())


def _of_run(run: str, own: list[int]) -> str:
    return f"{run or ('picket' if len(own) == 1 else 'pickets')} {numbers(own, 60)}"


HOW_TO_CUT = (
    "Cut the lengths named first. ♦: what is left of the board stays long, goes to the picket named, and is "
    "marked in place there; where two are named, the first is marked and cut before the second."
)
"""How such a board is cut where some of it is left long."""


def shared_rows(plan: FencePlan, words: Words) -> Iterator[tuple[str, str, str, str]]:
    """Count, stock, pieces, and what is left of each board, of all that give more than one picket."""
    for boards in shared_boards(plan):
        left = words.length(boards.left) if boards.left else ""
        yield f"{boards.count}", words.sold_length(boards.stock), pieces_words(boards, words), left

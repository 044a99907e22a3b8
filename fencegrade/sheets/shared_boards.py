"""Boards that give more than one picket, those cut alike together, and what of them is marked in place."""

import re
from collections.abc import Iterator, Sequence
from itertools import groupby

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.job.choices import TopEnd
from fencegrade.planning.families import Family, PicketNames, TracedBoard, picket_names
from fencegrade.planning.plan import FencePlan
from fencegrade.sheets.mark_in_place import in_place
from fencegrade.units.words import Words, numbers

LONG = "♦"
"""Stands before what is left long and marked in place."""


class SharedBoards(Struct, frozen=True, kw_only=True):
    """Boards cut alike: how many, of which stock (in), and what is left of each (in).

    `cuts`: the lengths (in) cut from the chart, longest first, with the names of their pickets; `long`: the
    pickets that are marked in place from what those leave, with the lengths (in) to expect.
    """

    count: int
    stock: float
    cuts: tuple[tuple[float, tuple[str, ...]], ...]
    long: tuple[tuple[float, str], ...]
    left: float


def traced_boards(plan: FencePlan, family: Family) -> Iterator[TracedBoard]:
    """Every board of a family with the places of its pieces, those from the chart first.

    `family`: of the plan. A piece that is marked in place takes what the others leave of its board: its name
    begins with `LONG`.
    """
    marked = _marked(plan) if family is plan.families.pickets else frozenset()
    for board in family.traced():
        if marked.isdisjoint(board.names):
            yield board
            continue
        places = sorted(zip(board.pieces, board.names, strict=True), key=lambda place: place[1] in marked)
        names = tuple(f"{LONG} {name}" if name in marked else name for _, name in places)
        yield replace(board, pieces=tuple(p for p, _ in places), names=names)


def _marked(plan: FencePlan) -> frozenset[str]:
    """The names of the pickets that are marked in place."""
    name_of = every_picket(plan)
    doubt = np.concatenate([in_place(r) for r in plan.runs])
    return frozenset(name_of(int(i)) for i in np.flatnonzero(doubt))


def alike(plan: FencePlan, family: Family) -> Iterator[list[TracedBoard]]:
    """The boards of a family as `traced_boards` has them, those cut alike together.

    A board of which something is left long stands alone.
    """
    found: dict[tuple[object, ...], list[TracedBoard]] = {}
    for board in traced_boards(plan, family):
        alone = board.names if any(name.startswith(LONG) for name in board.names) else ()
        found.setdefault((board.sold, board.pieces, board.slants, board.left, alone), []).append(board)
    yield from found.values()


def shared_boards(plan: FencePlan) -> list[SharedBoards]:
    """The boards that give more than one picket, as cut; none where ends are shaped."""
    if plan.job.pickets.top_end is not TopEnd.FLAT:
        return []
    families = (plan.families.pickets, plan.families.gate_pickets)
    return [
        _shared(boards, plan.mark)
        for family in families
        if family is not None
        for boards in alike(plan, family)
        if len(boards[0].pieces) > 1
    ]


def _shared(boards: Sequence[TracedBoard], mark: float) -> SharedBoards:
    one = boards[0]
    places = [(p * mark, tuple(b.names[k] for b in boards)) for k, p in enumerate(one.pieces)]
    sure = [place for place in places if not place[1][0].startswith(LONG)]
    return SharedBoards(
        count=len(boards),
        stock=one.sold,
        cuts=tuple(
            (length, tuple(name for _, names in same for name in names))
            for length, same in groupby(sure, key=lambda place: place[0])
        ),
        long=tuple((length, names[0].removeprefix(f"{LONG} ")) for length, names in places[len(sure) :]),
        left=one.left,
    )


def board_mates(family: Family) -> dict[str, str]:
    """What is said of each picket whose board gives others too, by its name: which those are."""
    boards = (b.names for b in family.traced() if len(b.pieces) > 1)
    return {
        name: f"same board as {_places([other for other in names if other != name])}"
        for names in boards
        for name in names
    }


def every_picket(plan: FencePlan) -> PicketNames:
    """The names of all pickets of a plan, by their place in it."""
    return picket_names([(r.run.name, len(r.slots)) for r in plan.runs])


def pieces_words(boards: SharedBoards, words: Words) -> str:
    """What is cut from such boards, and what is left long: `34 in for lane 4-7; ♦ the rest for lane 64`."""
    told = [
        f"{words.length(length)}{_each(len(names), boards.count)} for {_places(names)}"
        for length, names in boards.cuts
    ]
    if boards.long:
        each = ", then ".join(f"{_places((name,))} (about {words.length(p)})" for p, name in boards.long)
        told.append(f"{LONG} {'the rest' if told else 'the whole board'} for {each}")
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
    word = "picket" if len(own) == 1 else "pickets"
    said = f"{run} {word}" if re.search(r"\bleaf \d+$", run) else run or word
    return f"{said} {numbers(own, 60)}"


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

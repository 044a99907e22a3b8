"""Rails line by line: the pieces of each with the bays they run over, and its marks at every post."""

import math
from collections.abc import Iterator

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from fencegrade.fence.rails.pieces import SQUARE
from fencegrade.fence.rails.rails import bay_tops
from fencegrade.ground.survey_line import over_line
from fencegrade.planning.families import TracedBoard
from fencegrade.planning.hanging import posts_over_line
from fencegrade.planning.plan import FencePlan, RunPlan
from fencegrade.units.arrays import Floats
from fencegrade.units.tolerances import SAME_LENGTH
from fencegrade.units.words import Words, plural

SPARE_OF_RAIL = 0.375
"""Inches that a board should be longer than its rails, for posts are set by hand: common practice, no
source."""


class RailLine(Struct, frozen=True, kw_only=True):
    """Neighbouring rails of one line that are cut alike.

    `row` from 1, the top one first; `first`, `last` bay, from 1; `pieces`; `length` of each (in), what it has
    `taken` of a board with its slanted ends (in), and its `stock`, None where none serves; `drops`: least and
    most that their upper edges lie below the tops, plumb (in); `angle`: ends off square (degrees); whether it
    `fits` with the others of its bay.
    """

    row: int
    first: int
    last: int
    pieces: int
    length: float
    taken: float
    stock: float | None
    drops: tuple[float, float]
    angle: float
    fits: bool

    @property
    def spans(self) -> int:
        """How many bays one piece runs over."""
        return (self.last - self.first + 1) // self.pieces


def nothing_to_spare(plan: FencePlan, board: TracedBoard) -> bool:
    """Whether a post a little too far from the next leaves a board for rails short of its pieces."""
    cuts = plan.job.job.kerf * (len(board.pieces) - 1)
    return (board.stock - sum(board.pieces) - board.ends) * plan.mark - cuts < SPARE_OF_RAIL - SAME_LENGTH


def slanted_words(plan: FencePlan, words: Words) -> str:
    """How rails with slanted ends are measured and cut; empty where every end is square."""
    family = plan.families.rails
    if not family.ends.any():
        return ""
    several = any(len(set(family.ends[list(of)].tolist())) > 1 for _, of in family.laid() if len(of) > 2)
    order = ", in the order of their slant" if several else ""
    most = words.length(int(family.ends.max()) * plan.mark)
    return (
        "Slanted ends: measure a rail along one edge, from cut to cut; from corner to corner it takes up "
        f"to {most} more of its board. Rails of one board lie slant against slant{order}, turned over where "
        "one leans the other way."
    )


def bays_without_spare(plan: FencePlan, index: int) -> tuple[list[int], list[int]]:
    """Bays of a run, from 1, with rails still to be cut that have nothing to spare: those of a board of their
    own, and those that share one with other pieces."""
    run, family = plan.runs[index], plan.families.rails
    before = sum(int(r.rails_coming.sum()) for r in plan.runs[:index])
    own = dict(enumerate(np.flatnonzero(run.rails_coming).tolist(), start=before))
    found: tuple[set[int], set[int]] = (set(), set())
    for board, members in zip(family.traced(), (of for _, of in family.laid()), strict=True):
        if nothing_to_spare(plan, board):
            for k in (own[i] for i in members if i in own):
                first, last = int(run.rail_pieces.first_bay[k]), int(run.rail_pieces.last_bay[k])
                found[len(members) > 1].update(range(first + 1, last + 2))
    return sorted(found[0]), sorted(found[1])


def spare_words(plan: FencePlan, words: Words) -> str:
    """That boards for rails have nothing to spare and what to buy for it; empty where none is so."""
    boards = list(plan.families.rails.traced())
    tight = [board for board in boards if nothing_to_spare(plan, board)]
    if not tight:
        return ""
    longest = words.sold_length(max(board.sold for board in tight))
    have = "has" if len(tight) == 1 else "have"
    return (
        f"Rails: {len(tight)} of {plural(len(boards), 'board')} {have} nothing to spare: a "
        "bay that comes out wider than planned takes another board; measure the bays of a board before its "
        f"first cut, and buy a spare of {longest}."
    )


def rails_taken(plan: FencePlan, index: int) -> Floats:
    """(p,) what each rail piece of a run takes of its board, slanted ends and all (in); 0 of those up."""
    pieces, coming = plan.runs[index].rail_pieces, plan.runs[index].rails_coming
    before = sum(int(r.rails_coming.sum()) for r in plan.runs[:index])
    taken = np.zeros(len(pieces))
    ends = plan.families.rails.ends[before : before + int(coming.sum())]
    taken[coming] = pieces.cut(plan.mark)[coming] + ends * plan.mark
    return taken


def rail_lines(plan: FencePlan, index: int) -> tuple[RailLine, ...]:
    """The rails of a run still to be cut, line by line from the top one, neighbours cut alike as one row."""
    merged: list[RailLine] = []
    for one in sorted(_pieces(plan, index), key=lambda r: (r.row, r.first)):
        last = merged[-1] if merged else None
        if last is not None and last.last + 1 == one.first and _alike(last, one):
            drops = (min(last.drops[0], one.drops[0]), max(last.drops[1], one.drops[1]))
            merged[-1] = replace(last, last=one.last, pieces=last.pieces + 1, drops=drops)
        else:
            merged.append(one)
    return tuple(merged)


def _alike(a: RailLine, b: RailLine) -> bool:
    numbers = ((a.length, b.length), (a.angle, b.angle))
    same = a.row == b.row and a.stock == b.stock and a.spans == b.spans and a.fits == b.fits
    return same and all(abs(x - y) < SAME_LENGTH for x, y in numbers)


def _pieces(plan: FencePlan, index: int) -> Iterator[RailLine]:
    run = plan.runs[index]
    pieces, rows, family = run.rail_pieces, run.rails, plan.families.rails
    coming = np.flatnonzero(run.rails_coming).tolist()
    before = sum(int(r.rails_coming.sum()) for r in plan.runs[:index])
    stock = family.sold_of()[before : before + len(coming)].tolist()
    cut, taken = pieces.cut(plan.mark).tolist(), rails_taken(plan, index).tolist()
    at = {(int(b), int(r)): k for k, (b, r) in enumerate(zip(rows.bay, rows.row, strict=True))}
    for place, k in enumerate(coming):
        first, row = int(pieces.first_bay[k]), int(pieces.row[k])
        own = at[first, row]
        yield RailLine(
            row=row + 1,
            first=first + 1,
            last=int(pieces.last_bay[k]) + 1,
            pieces=1,
            length=cut[k],
            taken=taken[k],
            stock=stock[place] or None,
            drops=(float(rows.drop[own]), float(rows.drop[own])),
            fits=bool(pieces.fits[k]),
            angle=round(math.degrees(angle), 1) if (angle := float(rows.angle[own])) >= SQUARE else 0.0,
        )


def rail_marks(run: RunPlan) -> dict[int, list[tuple[float, ...]]]:
    """For each post, from 1, that rails are still to be fixed to, and each line of rails from the top
    one: its upper edge over the line of the readings (in), one value, or two where the bay before and the bay
    after differ; none of a rail that is up or does not fit.
    """
    rows, bays, pieces = run.rails, run.layout.bays, run.rail_pieces
    up = {
        (int(bay), int(pieces.row[k]))
        for k in np.flatnonzero(~run.rails_coming).tolist()
        for bay in (pieces.first_bay[k], pieces.last_bay[k])
    }
    tops = bay_tops(run.top, bays)
    found: dict[int, list[list[float]]] = {}
    count = int(rows.row.max()) + 1 if len(rows) else 0
    for k in range(len(rows)):
        bay, row, drop = int(rows.bay[k]), int(rows.row[k]), float(rows.drop[k])
        if (bay, row) in up or not rows.fits[k]:
            continue
        sides = ((0, bays.left[bay], tops.left[bay]), (1, bays.right[bay], tops.right[bay]))
        for after, station, top in sides:
            edge = over_line(run.ground, np.array([station]), np.array([top - drop]))
            post = int(bays.first[bay]) + 1 + after
            found.setdefault(post, [[] for _ in range(count)])[row].append(float(edge[0]))
    return {post: [_once(values) for values in marks] for post, marks in sorted(found.items())}


def rails_past_posts(run: RunPlan) -> dict[int, float]:
    """How far (in) the mark of a rail still to be fixed is over the top of its post, from 1, where it is."""
    tops = posts_over_line(run)
    highest = {
        post: max((v for m in each for v in m), default=-np.inf) for post, each in rail_marks(run).items()
    }
    past = {post: mark - float(tops[post - 1]) for post, mark in highest.items()}
    return {post: by for post, by in past.items() if by > SAME_LENGTH}


def _once(values: list[float]) -> tuple[float, ...]:
    return (values[0],) if values and max(values) - min(values) < SAME_LENGTH else tuple(values)

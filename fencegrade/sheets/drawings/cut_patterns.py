"""Cutting plans as patterns to be drawn: one a way of cutting a board."""

from collections.abc import Sequence
from itertools import islice

from fencegrade.cutting import Board
from fencegrade.planning.boards import ListPlan
from fencegrade.planning.families import Family, TracedBoard
from fencegrade.planning.plan import FencePlan
from fencegrade.sheets.drawings.cut_boards import CutPattern
from fencegrade.sheets.shared_boards import alike

MOST_PATTERNS = 48
"""Ways of cutting that are drawn; a plan with more is better read as a table."""


def list_patterns(listed: ListPlan) -> list[CutPattern]:
    """The patterns of a cut list, with the names of pieces whose length has one name alone."""
    unit = listed.mark or 1.0
    return [
        _pattern(b, 0, unit, listed.kerf * unit, b.count, [_only_name(listed, p) for p in b.pieces])
        for b in listed.plan.boards[:MOST_PATTERNS]
    ]


def _only_name(listed: ListPlan, length: int) -> str:
    names = list(listed.names.get(length, {}))
    return names[0] if len(names) == 1 else ""


def family_patterns(plan: FencePlan, family: Family) -> list[CutPattern]:
    """The patterns of a family of a plan.

    Pieces of a pattern that is cut once carry the place they go to; what is marked in place comes last.
    """
    mark, kerf = plan.mark, plan.job.job.kerf
    return [
        _pattern(
            boards[0], boards[0].ends, mark, kerf, len(boards), boards[0].names if len(boards) == 1 else ()
        )
        for boards in islice(alike(plan, family), MOST_PATTERNS)
    ]


def _pattern(
    board: Board | TracedBoard, ends: int, unit: float, kerf: float, count: int, names: Sequence[str]
) -> CutPattern:
    return CutPattern(
        stock=board.stock * unit,
        pieces=tuple(p * unit for p in board.pieces),
        ends=ends * unit,
        offcut=board.offcut * unit,
        count=count,
        kerf=kerf,
        names=tuple(names) if any(names) else (),
    )

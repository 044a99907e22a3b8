"""Cutting plans as patterns to be drawn: one a way of cutting a board."""

from fencegrade.cutting import Board
from fencegrade.planning.boards import ListPlan
from fencegrade.planning.families import Family
from fencegrade.sheets.drawings.cut_boards import CutPattern

MOST_PATTERNS = 48
"""Ways of cutting that are drawn; a plan with more is better read as a table."""


def list_patterns(listed: ListPlan) -> list[CutPattern]:
    """The patterns of a cut list, with the names of pieces whose length has one name alone."""
    unit = listed.mark or 1.0
    return [
        _pattern(b, unit, listed.kerf * unit, tuple(_only_name(listed, p) for p in b.pieces))
        for b in listed.plan.boards[:MOST_PATTERNS]
    ]


def _only_name(listed: ListPlan, length: int) -> str:
    names = list(listed.names.get(length, {}))
    return names[0] if len(names) == 1 else ""


def family_patterns(family: Family, mark: float, kerf: float) -> list[CutPattern]:
    """The patterns of a plan's family; `mark`, `kerf` in inches.

    Pieces of a pattern that is cut once carry the place they go to.
    """
    names: dict[int, tuple[str, ...]] = {}
    for board, members in family.laid():
        if board.count == 1:
            names[id(board)] = tuple(family.name_of(i) for i in members)
    return [_pattern(b, mark, kerf, names.get(id(b), ())) for b in family.plan.boards[:MOST_PATTERNS]]


def _pattern(board: Board, unit: float, kerf: float, names: tuple[str, ...]) -> CutPattern:
    return CutPattern(
        stock=board.stock * unit,
        pieces=tuple(p * unit for p in board.pieces),
        offcut=board.offcut * unit,
        count=board.count,
        kerf=kerf,
        names=names if any(names) else (),
    )

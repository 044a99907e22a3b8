"""Cutting plans as patterns to be drawn: one a way of cutting a board."""

from itertools import islice

from fencegrade.planning.boards import ListPlan
from fencegrade.planning.families import Family
from fencegrade.planning.plan import FencePlan
from fencegrade.sheets.drawings.cut_boards import CutPattern
from fencegrade.sheets.shared_boards import alike

MOST_PATTERNS = 48
"""Ways of cutting that are drawn; a plan with more is better read as a table."""


def list_patterns(listed: ListPlan) -> list[CutPattern]:
    """The patterns of a cut list, with the names of pieces whose length has one name alone."""
    unit = listed.mark or 1.0
    return [
        CutPattern(
            stock=b.stock * unit,
            pieces=tuple(p * unit for p in b.pieces),
            offcut=b.offcut * unit,
            count=b.count,
            kerf=listed.kerf * unit,
            names=tuple(names) if any(names := [_only_name(listed, p) for p in b.pieces]) else (),
        )
        for b in listed.plan.boards[:MOST_PATTERNS]
    ]


def _only_name(listed: ListPlan, length: int) -> str:
    names = list(listed.names.get(length, {}))
    return names[0] if len(names) == 1 else ""


def family_patterns(plan: FencePlan, family: Family) -> list[CutPattern]:
    """The patterns of a family of a plan.

    Pieces of a pattern that is cut once carry the place they go to; what is marked in place comes last.
    """
    return [
        CutPattern(
            stock=boards[0].sold,
            pieces=tuple(p * plan.mark for p in boards[0].pieces),
            slants=tuple(n * plan.mark for n in boards[0].slants),
            offcut=boards[0].left,
            count=len(boards),
            kerf=plan.job.job.kerf,
            names=boards[0].names if len(boards) == 1 else (),
        )
        for boards in islice(alike(plan, family), MOST_PATTERNS)
    ]

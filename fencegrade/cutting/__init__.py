"""Cutting plans for lengths in whole tape marks: exact, with a proof of how good they are.

Knows integers only: pieces, stock boards, a saw kerf and prices. `cut_plan` is the whole of it for most
callers.
"""

from fencegrade.cutting.mistakes import CuttingError, CuttingMistake, NoPlanFoundError, TooFewBoardsError
from fencegrade.cutting.plan import cut_plan, plan_problem
from fencegrade.cutting.reading import read_problem
from fencegrade.cutting.records import Board, CutPlan, Piece, Problem, Stock

__all__ = [
    "Board",
    "CutPlan",
    "CuttingError",
    "CuttingMistake",
    "NoPlanFoundError",
    "Piece",
    "Problem",
    "Stock",
    "TooFewBoardsError",
    "cut_plan",
    "plan_problem",
    "read_problem",
]

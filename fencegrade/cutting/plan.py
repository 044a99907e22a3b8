"""Cutting plans for people: read the list, solve it, lay the boards, audit them, say how good they are."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from fractions import Fraction
from functools import partial
from time import perf_counter
from typing import Any

from msgspec import Struct

from fencegrade.cutting.audit import AuditError, audit
from fencegrade.cutting.effort import Effort
from fencegrade.cutting.exact import solve
from fencegrade.cutting.laying import lay_boards, least_lengths
from fencegrade.cutting.mistakes import NoPlanFoundError, TooFewBoardsError
from fencegrade.cutting.model import Cut, Model, Result, build_model, ceil_of, cost_unit, lacks, plan_cost
from fencegrade.cutting.polish import polish
from fencegrade.cutting.reading import read_problem
from fencegrade.cutting.records import Board, CutPlan, Problem, Whole
from fencegrade.cutting.settling import settle
from fencegrade.cutting.single import solve_single

Solver = Callable[..., Result]


def cut_plan(
    pieces: Iterable[Any] | Mapping[int, int],
    stock: Iterable[Any] | Mapping[int, Any],
    kerf: Whole = 0,
    *,
    least_offcut: Whole = 0,
    one_piece: bool = False,
    seconds: float = 5.0,
) -> CutPlan:
    """Plan how to cut pieces from stock boards at least cost, with a bound that no plan can go under.

    pieces: lengths, (length, count) pairs, `Piece` records, or a mapping from length to count
    stock: lengths, (length, price) pairs, `Stock` records, or a mapping from length to price; without any
        price the length bought is made least
    kerf: width of the saw cut; least_offcut: shortest offcut worth keeping, 0 for none
    one_piece: a board gives a single piece, however long it is
    seconds: time for the exact solver; when it is over the best plan is given with its gap
    All lengths in whole tape marks, as any kind of whole number. Pieces l1 .. ln fit on a board where
    l1 + .. + ln + (n - 1) kerf <= stock. Pieces are shortened only where that saves money; equal cost is
    settled, as far as the search sees, by fewer boards, fewer different ways of cutting and more kept in
    offcuts (without `least_offcut` the longest single one).
    Raises `CuttingError` for mistakes in the list.
    """
    problem = read_problem(pieces, stock, kerf, least_offcut=least_offcut, one_piece=one_piece)
    return plan_problem(problem, seconds)


def plan_problem(problem: Problem, seconds: float = 5.0, solver: Solver = solve) -> CutPlan:
    """Plan a checked problem; see `cut_plan`.

    solver: another search, to compare with or to count its work
    """
    start = perf_counter()
    boards, cost, raw = _planned(problem, seconds, solver)
    unit, found = cost_unit(problem), audit(problem, boards)
    if found != cost * unit:
        raise AuditError(f"cost {cost * unit} claimed, {found} found")
    buyable = [s for s in problem.stock if s.limit != 0]
    alike = len(buyable) == 1 and not any(s.on_hand for s in problem.stock)
    taken = sum(b.stock * b.count for b in boards)
    least = problem.least_offcut
    kept = sum(b.offcut * b.count for b in boards if least and b.offcut >= least)
    waste = taken - kept - sum(sum(b.pieces) * b.count for b in boards)
    return CutPlan(
        boards=boards,
        exact_cost=found,
        exact_bound=min(ceil_of(raw), cost) * unit,
        raw_bound=min(raw, Fraction(cost)) * unit,
        unit=unit,
        each=unit if alike else None,
        priced=problem.priced,
        seconds=perf_counter() - start,
        waste=waste,
        waste_share=waste / taken if taken else 0.0,
        kept=kept,
    )


class _Solved(Struct, frozen=True, kw_only=True):
    """What was found for the pieces at some lengths (one for each entry of the list)."""

    lengths: Sequence[int]
    model: Model
    single: bool
    result: Result


def _planned(problem: Problem, seconds: float, solver: Solver) -> tuple[tuple[Board, ...], int, Fraction]:
    """Solve at full length, and first with every piece at its shortest where that may save money: what costs
    more than that at full length is of no use.

    Returns the boards, what they cost, and what no plan costs less than, in units of cost.
    """
    if not any(piece.count for piece in problem.pieces):
        return (), 0, Fraction(0)
    full, least = least_lengths(problem)
    if full == least:
        found = shortest = _solved(problem, full, seconds, solver)
    else:
        shortest = _solved(problem, least, seconds / 2, solver)
        found = _solved(problem, full, seconds / 2, partial(solver, shorter=shortest.result))
        if shortest.result.cost < found.result.cost or lacks(found.model, found.result.cuts):
            found = shortest
    _refuse(problem, found, seconds)
    cuts = _settled(problem, found)
    boards = lay_boards(problem, found.model, found.lengths, cuts)
    return boards, plan_cost(found.model, cuts), shortest.result.raw


def _solved(problem: Problem, lengths: Sequence[int], seconds: float, solver: Solver) -> _Solved:
    model = build_model(problem, lengths)
    single = problem.one_piece or 2 * model.weights[-1] > max(bar.capacity for bar in model.bars)
    result = solve_single(model) if single else solver(model, Effort(seconds))
    return _Solved(lengths=lengths, model=model, single=single, result=result)


def _refuse(problem: Problem, found: _Solved, seconds: float) -> None:
    """Raise where pieces are left that only a board nobody offered would hold."""
    model, cuts = found.model, found.result.cuts
    lacking = [cut for cut in cuts if model.bars[cut.bar].lacking]
    if not lacking:
        return
    sizes = Counter[int]()
    for cut in lacking:
        for i, number in cut.items:
            sizes[model.weights[i] - problem.kerf] += number * cut.times
    if not found.result.short:
        held = [cut for cut in cuts if not model.bars[cut.bar].lacking]
        raise NoPlanFoundError(sizes.items(), lay_boards(problem, model, found.lengths, held), seconds)
    boards = sum(cut.times for cut in lacking)
    raise TooFewBoardsError(sizes.items(), boards, max(*sizes, *(s.length for s in problem.stock)))


def _settled(problem: Problem, found: _Solved) -> tuple[Cut, ...]:
    """The plan of the same cost that is best at the saw."""
    if found.single:
        return found.result.cuts
    least, kerf = problem.least_offcut, problem.kerf
    keeps = (lambda gap: gap - kerf if gap - kerf >= least else 0) if least else None
    return settle(found.model, polish(found.model, found.result.cuts, keeps), keeps)

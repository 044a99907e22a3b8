"""Cutting plans for people: read the list, solve it, lay the boards, audit them, say how good they are."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from time import perf_counter
from typing import Any

from msgspec import Struct

from fencegrade.cutting.audit import AuditError, audit
from fencegrade.cutting.constructive import plan_cost
from fencegrade.cutting.effort import Effort
from fencegrade.cutting.exact import ExactSolver
from fencegrade.cutting.laying import lay_boards, least_lengths
from fencegrade.cutting.mistakes import NoPlanFoundError, TooFewBoardsError
from fencegrade.cutting.model import Model, Result, build_model, cost_unit
from fencegrade.cutting.polish import polish
from fencegrade.cutting.reading import read_problem
from fencegrade.cutting.records import Board, CutPlan, Problem, Whole
from fencegrade.cutting.settling import settle
from fencegrade.cutting.single import plan_single
from fencegrade.cutting.solver import Solver
from fencegrade.cutting.wording import Proof


def cut_plan(
    pieces: Iterable[Any] | Mapping[int, int],
    stock: Iterable[Any] | Mapping[int, Any],
    kerf: Whole = 0,
    *,
    least_offcut: Whole = 0,
    one_piece: bool = False,
    seconds: float = 5.0,
    solver: Solver | None = None,
) -> CutPlan:
    """Plan how to cut pieces from stock boards at least cost, with a bound that no plan can go under.

    pieces: lengths, (length, count) pairs, `Piece` records, or a mapping from length to count
    stock: lengths, (length, price) pairs, `Stock` records, or a mapping from length to price; without any
        price the length bought is made least
    kerf: width of the saw cut; least_offcut: shortest offcut worth keeping, 0 for none
    one_piece: a board gives a single piece, however long it is
    seconds: time for the exact solver; when it is over the best plan is given with its gap
    solver: another solver, where the exact one is not wanted
    All lengths in whole tape marks, as any kind of whole number. Pieces l1 .. ln fit on a board where
    l1 + .. + ln + (n - 1) kerf <= stock. Equal cost is settled by less shortening, and then, as far as the
    search sees, by fewer boards, fewer different ways of cutting and more kept in offcuts (without
    `least_offcut` the longest single one).
    Raises `CuttingError` for mistakes in the list.
    """
    problem = read_problem(pieces, stock, kerf, least_offcut=least_offcut, one_piece=one_piece)
    return plan_problem(problem, seconds, solver)


def plan_problem(problem: Problem, seconds: float = 5.0, solver: Solver | None = None) -> CutPlan:
    """Plan a checked problem; see `cut_plan`."""
    start = perf_counter()
    if not any(piece.count for piece in problem.pieces):
        draft = _Draft(boards=(), cost=Fraction(0), raw=Fraction(0), bound=Fraction(0))
    elif problem.one_piece:
        draft = _single_draft(problem)
    else:
        draft = _draft(problem, seconds, solver or ExactSolver())
    cost = audit(problem, draft.boards)
    if cost != draft.cost or draft.bound > cost:
        raise AuditError(f"cost {draft.cost} with bound {draft.bound} claimed, {cost} found")
    return _finished(problem, draft, perf_counter() - start)


class _Draft(Struct, frozen=True, kw_only=True):
    """A plan before its audit: boards, cost, and the bound as computed and rounded up to a step of cost."""

    boards: tuple[Board, ...]
    cost: Fraction
    raw: Fraction
    bound: Fraction


def _single_draft(problem: Problem) -> _Draft:
    boards, left_over = plan_single(problem)
    if left_over:
        raise TooFewBoardsError(left_over.items(), sum(left_over.values()), max(left_over))
    cost = audit(problem, boards)
    return _Draft(boards=boards, cost=cost, raw=cost, bound=cost)


def _draft(problem: Problem, seconds: float, solver: Solver) -> _Draft:
    """Solve at full length, and again with every piece at its shortest where that may save money."""
    longest = max(s.length for s in problem.stock if s.on_hand or s.limit != 0)
    full, least = least_lengths(problem.pieces, longest)
    if full == least:
        return _solved(problem, full, solver, seconds)
    model = build_model(problem, full)
    at_full = solver.solve(model, Effort(seconds / 2))
    short = build_model(problem, least)
    at_least = solver.solve(short, Effort(seconds / 2))
    if at_full.cost <= at_least.cost and not _lacking(model, at_full):
        unit = cost_unit(problem)
        bound = min(at_least.bound, at_full.cost)
        raw = min(at_least.raw, Fraction(at_full.cost))
        return _laid(problem, model, full, at_full, raw * unit, bound * unit)
    return _checked(problem, short, least, at_least, seconds)


def _solved(problem: Problem, lengths: Sequence[int], solver: Solver, seconds: float) -> _Draft:
    model = build_model(problem, lengths)
    return _checked(problem, model, lengths, solver.solve(model, Effort(seconds)), seconds)


def _checked(
    problem: Problem, model: Model, lengths: Sequence[int], result: Result, seconds: float
) -> _Draft:
    lacking = _lacking(model, result)
    if lacking:
        sizes = {model.weights[i] - problem.kerf: n for i, n in lacking.items()}
        if not result.short:
            held = [cut for cut in result.cuts if not model.bars[cut.bar].lacking]
            raise NoPlanFoundError(sizes.items(), lay_boards(problem, model, lengths, held), seconds)
        boards = sum(cut.times for cut in result.cuts if model.bars[cut.bar].lacking)
        raise TooFewBoardsError(sizes.items(), boards, max(*sizes, *(s.length for s in problem.stock)))
    unit = cost_unit(problem)
    return _laid(problem, model, lengths, result, result.raw * unit, result.bound * unit)


def _laid(
    problem: Problem, model: Model, lengths: Sequence[int], result: Result, raw: Fraction, bound: Fraction
) -> _Draft:
    least, kerf = problem.least_offcut, problem.kerf
    keeps = (lambda gap: gap - kerf if gap - kerf >= least else 0) if least else None
    cuts = settle(model, polish(model, result.cuts, keeps), keeps)
    boards = lay_boards(problem, model, lengths, cuts)
    return _Draft(boards=boards, cost=plan_cost(model, cuts) * cost_unit(problem), raw=raw, bound=bound)


def _lacking(model: Model, result: Result) -> dict[int, int]:
    """Pieces, by weight index, that only a board nobody offered would hold."""
    found: dict[int, int] = {}
    for cut in result.cuts:
        if model.bars[cut.bar].lacking:
            for i, number in cut.items:
                found[i] = found.get(i, 0) + number * cut.times
    return found


def _finished(problem: Problem, draft: _Draft, seconds: float) -> CutPlan:
    used = sum(b.stock * b.count for b in draft.boards)
    kept = sum(
        b.offcut * b.count for b in draft.boards if problem.least_offcut and b.offcut >= problem.least_offcut
    )
    waste = used - kept - sum(sum(b.pieces) * b.count for b in draft.boards)
    priced = any(s.price is not None for s in problem.stock if s.limit != 0)
    return CutPlan(
        boards=draft.boards,
        exact_cost=draft.cost,
        exact_bound=draft.bound,
        proven=draft.bound >= draft.cost,
        seconds=seconds,
        waste=waste,
        waste_share=waste / used if used else 0.0,
        kept=kept,
        priced=priced,
        figures=_proof(problem, draft, priced),
    )


def _proof(problem: Problem, draft: _Draft, priced: bool) -> Proof:
    buyable = [s for s in problem.stock if s.limit != 0]
    unit = cost_unit(problem)
    one = len(buyable) == 1 and not any(s.on_hand for s in problem.stock)
    return Proof(
        cost=draft.cost,
        raw=draft.raw,
        bound=draft.bound,
        unit=unit,
        each=unit if one else None,
        priced=priced,
        boards=sum(b.count for b in draft.boards),
    )

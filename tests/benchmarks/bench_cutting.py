"""Measure the cutting solver: share proven in time, beside CP-SAT and scipy's integer programme on arc flow.

Run `python tests/benchmarks/bench_cutting.py [CLASS ..] [--seconds S] [--most N] [--rivals]`.
Classical classes are read from the folder named by FENCEGRADE_CUTTING: one JSON file a class, `[{name,
capacity, optimum, items: [[length, demand], ..]}]`. The class `fence` (five stock lengths) and the class
`yard` (200 to 800 short, tall or mixed pieces, two to six boards in inches or millimetres, priced by the
foot, longer cheaper, longer dearer or as in a shop, some on hand or limited) are made here. Times are of the
processor, not of the clock. Every plan is checked here without the solver's own check. With `--rivals` the
same lists go to those of OR-Tools' CP-SAT and `scipy.optimize.milp` that are installed, one thread each, in
the same run. With `--tiny N` so many lists of two to eight pieces, limits and prices of all kinds, are
compared with the least cost over every way to share the pieces among the boards.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from importlib.util import find_spec
from itertools import islice
from math import inf
from pathlib import Path
from random import Random
from statistics import median
from time import process_time
from typing import Any

import numpy as np
from msgspec.structs import replace

from fencegrade.cutting import CutPlan, Piece, Problem, Stock, plan_problem
from fencegrade.cutting.model import Model, build_model, cost_unit

FEET = (6, 8, 10, 12, 16)
PRICES = {
    "realistic": (398, 648, 878, 1078, 1598),
    "per_foot": (378, 504, 630, 756, 1008),
    "long_cheap": (450, 560, 660, 760, 960),
}
LENGTHS = {"uniform": (480, 768), "near_6_ft": (560, 600), "short": (200, 420), "mixed": (160, 768)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One list to cut, and its best cost where that is known."""

    name: str
    problem: Problem
    best: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """What a solver reached on one case."""

    cost: float
    bound: float
    proven: bool
    seconds: float


def folder() -> Path | None:
    """Where the classical instances lie, if anywhere."""
    named = os.environ.get("FENCEGRADE_CUTTING")
    return Path(named) if named and Path(named).is_dir() else None


def classes() -> list[str]:
    """Names of the classical classes in the folder."""
    place = folder()
    return [] if place is None else sorted(p.stem for p in place.glob("*.json") if _is_class(p))


def _is_class(path: Path) -> bool:
    rows = json.loads(path.read_text())
    return isinstance(rows, list) and bool(rows) and "capacity" in rows[0]


def cases(name: str) -> Iterator[Case]:
    """Read one class, or make the fence-like lists."""
    if name == "yard":
        yield from (yard_case(seed) for seed in range(60))
        return
    if name.startswith("fence"):
        yield from fence_cases(name.partition(":")[2] or None)
        return
    place = folder()
    assert place is not None
    for row in json.loads((place / f"{name}.json").read_text()):
        pieces = tuple(Piece(length=length, count=count) for length, count in row["items"])
        stock = (Stock(length=row["capacity"], price=1),)
        yield Case(name=row["name"], problem=Problem(pieces=pieces, stock=stock), best=row["optimum"])


def fence_cases(prices: str | None = None) -> Iterator[Case]:
    """Make fence-like lists in eighths of an inch: 96 to 600 pieces, five stock lengths, kerf 1/8 in."""
    for kind, (low, high) in LENGTHS.items():
        for pricing, cents in PRICES.items():
            if prices is not None and pricing != prices:
                continue
            for size in (96, 200, 400, 600):
                chance = Random(f"{kind} {size}")
                counts = Counter(chance.randint(low, high) for _ in range(size))
                problem = Problem(
                    pieces=tuple(Piece(length=length, count=n) for length, n in sorted(counts.items())),
                    stock=tuple(Stock(length=96 * f, price=c) for f, c in zip(FEET, cents, strict=True)),
                    kerf=1,
                )
                yield Case(name=f"{kind}_{pricing}_{size}", problem=problem, best=None)


def yard_case(seed: int) -> Case:
    """A list as a yard could be asked for it; everything that may differ from list to list does."""
    chance = Random(f"fence {seed}")
    metric = chance.random() < 0.4
    foot = 0 if metric else 12 * chance.choice([8, 16])
    every = (
        [1800, 2100, 2400, 2700, 3000, 3600, 4200, 4800]
        if metric
        else [f * foot for f in (6, 8, 10, 12, 14, 16)]
    )
    kerf = chance.choice([2, 3, 4]) if metric else max(1, foot // 96)
    boards = sorted(chance.sample(every, chance.randint(2, 6)))
    shape = chance.choice(["short", "tall", "mixed"])
    low, high = {"short": (0.25, 0.5), "tall": (0.55, 0.95), "mixed": (0.25, 0.95)}[shape]
    tall = min(2100 if metric else 6 * foot, boards[0])
    size = chance.randint(200, 800)
    counts = Counter(chance.randint(int(low * tall), int(high * tall)) for _ in range(size))
    pricing = chance.choice(["foot", "cheaper", "dearer", "real"])
    rate = chance.uniform(0.6, 1.6) / (foot or 300)
    stock = []
    for place, length in enumerate(boards):
        slope = {"foot": 1.0, "real": 1.0, "cheaper": 0.88, "dearer": 1.12}[pricing]
        price = rate * length * (length / boards[0]) ** (slope - 1.0)
        price *= chance.uniform(0.93, 1.07) if pricing == "real" else 1.0
        on_hand = chance.randint(2, 20) if chance.random() < 0.25 else 0
        limited = chance.random() < 0.25 and place < len(boards) - 1
        limit = chance.randint(5, 60) if limited else None
        stock.append(Stock(length=length, price=round(price, 2), on_hand=on_hand, limit=limit))
    pieces = tuple(Piece(length=length, count=n) for length, n in sorted(counts.items()))
    unit = "mm" if metric else "in"
    return Case(
        name=f"{seed}_{shape}_{pricing}_{unit}",
        problem=Problem(pieces=pieces, stock=tuple(stock), kerf=kerf),
        best=None,
    )


def faults(problem: Problem, plan: CutPlan) -> list[str]:
    """What is wrong with a plan, from the list alone: pieces, room, limits, cost."""
    made: Counter[int] = Counter()
    used: Counter[tuple[int, bool]] = Counter()
    found = []
    for board in plan.boards:
        stock = problem.stock[board.entry]
        made.update({length: board.pieces.count(length) * board.count for length in set(board.pieces)})
        used[board.entry, board.on_hand] += board.count
        if sum(board.pieces) + problem.kerf * (len(board.pieces) - 1) > stock.length:
            found.append(f"{board.pieces} is longer than {stock.length}")
    wanted: Counter[int] = Counter()
    for piece in problem.pieces:
        wanted[piece.length] += piece.count
    if made != wanted:
        found.append("other pieces than asked")
    cost = 0.0
    for (entry, on_hand), count in used.items():
        stock = problem.stock[entry]
        most = stock.on_hand if on_hand else stock.limit
        if most is not None and count > most:
            found.append(f"{count} of stock {entry}")
        cost += 0.0 if on_hand else count * float(stock.length if stock.price is None else stock.price)
    if abs(cost - float(plan.cost)) > 1e-6 * max(1.0, cost):
        found.append(f"cost {cost} told as {plan.cost}")
    return found


def measure(problem: Problem, seconds: float) -> Measured:
    """Solve with this package."""
    start = process_time()
    plan = plan_problem(problem, seconds)
    spent = process_time() - start
    for fault in faults(problem, plan):
        print(f"  WRONG: {fault}")
    return Measured(
        cost=float(plan.cost),
        bound=float(plan.lower_bound),
        proven=plan.proven,
        seconds=spent,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ArcFlow:
    """Boards as ways through their marks: an arc for each piece at each mark, then one to the end of a board.

    Valério de Carvalho, Annals of Operations Research 86 (1999) 629-659; pieces come from long to short.
    """

    model: Model
    pieces: list[tuple[int, int]]
    ends: list[tuple[int, int]]
    unit: Fraction

    @property
    def arcs(self) -> Iterator[tuple[int, int | None]]:
        """Where each arc starts and ends (None: at the end of a board), the pieces' arcs first."""
        yield from ((mark, mark + self.model.weights[i]) for mark, i in self.pieces)
        yield from ((mark, None) for mark, _ in self.ends)

    @property
    def most(self) -> list[int]:
        """How much may flow over each arc."""
        total, bars = sum(self.model.demands), self.model.bars
        limits = [total if bar.limit is None else bar.limit for bar in bars]
        return [self.model.demands[i] for _, i in self.pieces] + [limits[b] for _, b in self.ends]

    def rows(self) -> tuple[list[list[tuple[int, int]]], list[int], list[int]]:
        """Rows as (arc, factor), and their least and most: marks, pieces, limited boards."""
        through: dict[int, list[tuple[int, int]]] = {}
        for arc, (start, end) in enumerate(self.arcs):
            if start:
                through.setdefault(start, []).append((arc, -1))
            if end is not None:
                through.setdefault(end, []).append((arc, 1))
        cut: list[list[tuple[int, int]]] = [[] for _ in self.model.demands]
        for arc, (_, i) in enumerate(self.pieces):
            cut[i].append((arc, 1))
        limited = {b: bar.limit for b, bar in enumerate(self.model.bars) if bar.limit is not None}
        ended: dict[int, list[tuple[int, int]]] = {b: [] for b in limited}
        for arc, (_, b) in enumerate(self.ends, len(self.pieces)):
            if b in ended:
                ended[b].append((arc, 1))
        marks, demands = [0] * len(through), list(self.model.demands)
        least, most = [*marks, *demands, *[0] * len(limited)], [*marks, *demands, *limited.values()]
        return [*through.values(), *cut, *ended.values()], least, most


def arc_flow(problem: Problem) -> ArcFlow:
    """The flow of a list; boards nobody offers are left out."""
    model = build_model(problem, [p.length for p in problem.pieces])
    model = replace(model, bars=tuple(bar for bar in model.bars if not bar.lacking))
    longest = max(bar.capacity for bar in model.bars)
    marks, pieces = {0}, set[tuple[int, int]]()
    for i, (weight, demand) in enumerate(zip(model.weights, model.demands, strict=True)):
        for _ in range(demand):
            fresh = {(mark, i) for mark in marks if mark + weight <= longest} - pieces
            if not fresh:
                break
            pieces |= fresh
            marks |= {mark + weight for mark, _ in fresh}
    ends = [(mark, b) for mark in marks - {0} for b, bar in enumerate(model.bars) if mark <= bar.capacity]
    return ArcFlow(model=model, pieces=sorted(pieces), ends=sorted(ends), unit=cost_unit(problem))


def measure_cp_sat(problem: Problem, seconds: float) -> Measured:
    """Solve the arc flow with OR-Tools CP-SAT, one worker; making the model counts."""
    from ortools.sat.python import cp_model  # type: ignore[import-not-found, import-untyped, unused-ignore]

    start = process_time()
    flow = arc_flow(problem)
    model: Any = cp_model.CpModel()
    arcs = [model.new_int_var(0, most, "") for most in flow.most]
    for row, least, most in zip(*flow.rows(), strict=True):
        model.add_linear_constraint(sum(arcs[arc] * factor for arc, factor in row), least, most)
    ends = zip(arcs[len(flow.pieces) :], flow.ends, strict=True)
    model.minimize(sum(arc * flow.model.bars[b].cost for arc, (_, b) in ends))
    solver: Any = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(model)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return Measured(
        cost=solver.objective_value * float(flow.unit) if found else inf,
        bound=solver.best_objective_bound * float(flow.unit),
        proven=status == cp_model.OPTIMAL,
        seconds=process_time() - start,
    )


def measure_milp(problem: Problem, seconds: float) -> Measured:
    """Solve the arc flow with `scipy.optimize.milp`; making the model counts."""
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import coo_array

    start = process_time()
    flow = arc_flow(problem)
    rows, least, most = flow.rows()
    entries = [(number, arc, factor) for number, row in enumerate(rows) for arc, factor in row]
    place, column, data = (np.array(part) for part in zip(*entries, strict=True))
    size = len(flow.pieces) + len(flow.ends)
    matrix = coo_array((data.astype(float), (place, column)), shape=(len(rows), size)).tocsr()
    costs = np.array([0] * len(flow.pieces) + [flow.model.bars[b].cost for _, b in flow.ends], dtype=float)
    answer = milp(
        costs,
        constraints=[LinearConstraint(matrix, least, most)],
        integrality=np.ones(size, dtype=np.int64),
        bounds=Bounds(0, np.array(flow.most, dtype=float)),
        options={"time_limit": seconds, "mip_rel_gap": 0.0},
    )
    return Measured(
        cost=inf if answer.x is None else float(answer.fun) * float(flow.unit),
        bound=float(answer.mip_dual_bound or 0.0) * float(flow.unit),
        proven=answer.status == 0,
        seconds=process_time() - start,
    )


def report(
    name: str, seconds: float, solver: Any = measure, *, most: int | None = None, loud: bool = True
) -> list[Measured]:
    """Solve a class, or its first `most` lists, and print how much of it was proven in time."""
    found = []
    for case in islice(cases(name), most):
        result = solver(case.problem, seconds)
        found.append(result)
        if case.best is not None and not result.bound - 1e-6 <= case.best <= result.cost + 1e-6:
            print(f"  WRONG {case.name}: {result} but the optimum is {case.best}")
        if loud and (not result.proven or result.seconds > 5):
            gap = (result.cost - result.bound) / result.cost if result.cost < inf else inf
            print(f"  {case.name}: {result.cost:g} >= {result.bound:g} ({gap:.2%}) {result.seconds:.1f} s")
    times = sorted(r.seconds for r in found)
    proven = [r for r in found if r.proven]
    widest = max((r.cost - r.bound) / r.cost if r.cost < inf else inf for r in found if r.cost)
    near = sum(r.proven or r.cost - r.bound <= 2e-4 * r.cost for r in found if r.cost < inf)
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(
        f"{name}: {len(found)} cases, proven {len(proven)} ({near} to 0.02 %), within 1 s "
        f"{sum(r.seconds <= 1 for r in proven)}, within 10 s {sum(r.seconds <= 10 for r in proven)}, within "
        f"60 s {sum(r.seconds <= 60 for r in proven)}, median {median(times):.3f} s, longest {times[-1]:.1f} "
        f"s, widest gap {widest:.3%}, {memory} MB so far",
        flush=True,
    )
    return found


def tiny(number: int) -> None:
    """Compare tiny lists with plain enumeration: as they are, and with one piece a board."""
    sys.path.append(str(Path(__file__).parents[1] / "support"))
    from every_sharing import cheapest, random_case

    wrong = 0
    for seed in range(number):
        problem, lengths, boards = random_case(10_000 + seed)
        for one_piece in (False, True):
            asked = replace(problem, one_piece=one_piece)
            least = cheapest(lengths, boards, problem.kerf, most=1 if one_piece else len(lengths))
            plan = plan_problem(asked, 20)
            found = faults(asked, plan)
            if found or not plan.proven or plan.exact_cost != least:
                print(f"  WRONG {seed} {asked}: {plan.exact_cost} for {least} {found}")
                wrong += 1
    print(f"tiny: {2 * number} lists, {wrong} other than enumeration says", flush=True)


def rivals() -> list[Any]:
    """The other solvers that are installed."""
    there = [("ortools", measure_cp_sat), ("scipy", measure_milp)]
    return [measured for name, measured in there if find_spec(name)]


def main() -> None:
    """Run the classes named on the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("classes", nargs="*")
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--rivals", action="store_true")
    parser.add_argument("--most", type=int, metavar="N", help="only the first N lists of a class")
    parser.add_argument("--tiny", type=int, default=0, metavar="N")
    wanted = parser.parse_args()
    if wanted.tiny:
        tiny(wanted.tiny)
        return
    for name in wanted.classes or [*classes(), "fence", "yard"]:
        report(name, wanted.seconds, most=wanted.most)
        for rival in rivals() if wanted.rivals else ():
            print(rival.__name__, end=" ")
            report(name, wanted.seconds, rival, most=wanted.most, loud=False)


if __name__ == "__main__":
    main()

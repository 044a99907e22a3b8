"""Measure the cutting solver: share proven in time, against CP-SAT and a plain assignment model.

Run `python tests/benchmarks/bench_cutting.py [CLASS ..] [--seconds S] [--rivals]`. Classical classes are read
from
the folder named by FENCEGRADE_CUTTING: one JSON file a class, `[{name, capacity, optimum, items: [[length,
demand], ..]}]`. The class `fence` (fence-like lists with five stock lengths) is made here and needs no
folder. OR-Tools is needed only for `--rivals`.
"""

from __future__ import annotations

import argparse
import json
import os
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from random import Random
from statistics import median
from time import perf_counter
from typing import Any

import numpy as np

from fencegrade.cutting import Piece, Problem, Stock, plan_problem

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


def measure(problem: Problem, seconds: float) -> Measured:
    """Solve with this package."""
    start = perf_counter()
    plan = plan_problem(problem, seconds)
    return Measured(
        cost=float(plan.cost),
        bound=float(plan.lower_bound),
        proven=plan.proven,
        seconds=perf_counter() - start,
    )


def first_fit_bars(problem: Problem) -> int:
    """Bars used by first-fit decreasing on the first stock: an upper limit for the assignment models."""
    left: list[int] = []
    for piece in sorted(problem.pieces, key=lambda p: -p.length):
        for _ in range(piece.count):
            for i, room in enumerate(left):
                if room >= piece.length:
                    left[i] -= piece.length
                    break
            else:
                left.append(problem.stock[0].length - piece.length)
    return len(left)


def measure_cp_sat(problem: Problem, seconds: float) -> Measured:
    """Solve a single-stock case with OR-Tools CP-SAT, one worker, a counting assignment model."""
    from ortools.sat.python import cp_model  # type: ignore[import-not-found, import-untyped, unused-ignore]

    bars, capacity = first_fit_bars(problem), problem.stock[0].length
    model: Any = cp_model.CpModel()
    used = [model.new_bool_var("") for _ in range(bars)]
    loads: list[list[Any]] = [[] for _ in range(bars)]
    for piece in problem.pieces:
        most = min(piece.count, capacity // piece.length)
        numbers = [model.new_int_var(0, most, "") for _ in range(bars)]
        model.add(sum(numbers) == piece.count)
        for load, number in zip(loads, numbers, strict=True):
            load.append(number * piece.length)
    for load, bar in zip(loads, used, strict=True):
        model.add(sum(load) <= capacity * bar)
    for first, second in pairwise(used):
        model.add(first >= second)
    model.minimize(sum(used))
    solver: Any = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = seconds
    start = perf_counter()
    status = solver.solve(model)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return Measured(
        cost=solver.objective_value if found else float(bars),
        bound=solver.best_objective_bound,
        proven=status == cp_model.OPTIMAL,
        seconds=perf_counter() - start,
    )


def measure_assignment(problem: Problem, seconds: float) -> Measured:
    """Solve a single-stock case as a plain assignment model with scipy's HiGHS."""
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import coo_array, eye_array, hstack, kron

    bars, capacity = first_fit_bars(problem), problem.stock[0].length
    lengths = np.array([p.length for p in problem.pieces], dtype=float)
    counts = np.array([p.count for p in problem.pieces], dtype=float)
    size = len(lengths)
    cover = hstack([kron(np.ones((1, bars)), eye_array(size)), coo_array((size, bars))])
    load = hstack([kron(eye_array(bars), lengths[np.newaxis, :]), -capacity * eye_array(bars)])
    start = perf_counter()
    answer = milp(
        np.concatenate([np.zeros(size * bars), np.ones(bars)]),
        constraints=[LinearConstraint(cover, counts, counts), LinearConstraint(load, -np.inf, 0)],
        integrality=np.ones(size * bars + bars),
        bounds=Bounds(0, np.concatenate([np.tile(counts, bars), np.ones(bars)])),
        options={"time_limit": seconds},
    )
    cost = float(bars) if answer.x is None else float(answer.fun)
    bound = 0.0 if answer.mip_dual_bound is None else float(answer.mip_dual_bound)
    return Measured(cost=cost, bound=bound, proven=answer.status == 0, seconds=perf_counter() - start)


def report(name: str, seconds: float, solver: Any = measure, *, loud: bool = True) -> list[Measured]:
    """Solve a class and print how much of it was proven in time."""
    found = []
    for case in cases(name):
        result = solver(case.problem, seconds)
        found.append(result)
        if case.best is not None and not result.bound - 1e-6 <= case.best <= result.cost + 1e-6:
            print(f"  WRONG {case.name}: {result} but the optimum is {case.best}")
        if loud and (not result.proven or result.seconds > 5):
            gap = (result.cost - result.bound) / result.cost
            print(f"  {case.name}: {result.cost:g} >= {result.bound:g} ({gap:.2%}) {result.seconds:.1f} s")
    times = sorted(r.seconds for r in found)
    proven = [r for r in found if r.proven]
    print(
        f"{name}: {len(found)} cases, proven {len(proven)}, within 1 s {sum(r.seconds <= 1 for r in proven)},"
        f" within 10 s {sum(r.seconds <= 10 for r in proven)},"
        f" median {median(times):.3f} s, longest {times[-1]:.1f} s",
        flush=True,
    )
    return found


def main() -> None:
    """Run the classes named on the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("classes", nargs="*")
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--rivals", action="store_true")
    wanted = parser.parse_args()
    for name in wanted.classes or [*classes(), "fence"]:
        report(name, wanted.seconds)
        if wanted.rivals and not name.startswith("fence"):
            for rival in (measure_cp_sat, measure_assignment):
                print(rival.__name__, end=" ")
                report(name, wanted.seconds, rival, loud=False)


if __name__ == "__main__":
    main()

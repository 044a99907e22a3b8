"""Cutting lists that are planned in a moment and between them go most ways through the search.

What each costs, in money and in work counted, is kept in `tests/unit/cutting/work.txt` and made again by
`python -m tests.refresh_samples`, or alone by `python tests/support/quick_lists.py`: a search that blunders
finds the same plan and works longer for it.
"""

from collections import Counter
from pathlib import Path
from random import Random

from fencegrade.cutting import Piece, Problem, Stock, plan_problem
from fencegrade.cutting.effort import Effort
from fencegrade.cutting.exact import solve
from fencegrade.cutting.model import Model, Result

KEPT = Path(__file__).parents[1] / "unit" / "cutting" / "work.txt"
SEEDS = (8, 18, 27, 33, 43, 48, 52, 59, 60, 73, 75, 77, 83)
"""Of 150 lists the few that reach nearly every line that all of them do, most lines three times."""


class Counted:
    """The exact solver, the work of its calls added up."""

    def __init__(self) -> None:
        self.work = 0.0

    def __call__(self, model: Model, effort: Effort, shorter: Result | None = None) -> Result:
        """As the exact solver."""
        result = solve(model, effort, shorter)
        self.work += effort.spent
        return result


def quick_list(seed: int) -> Problem:
    """One list: boards of one length or several, some on hand or few, pieces alike or each another."""
    chance = Random(f"list {seed}")
    scale = chance.choice([100, 240, 480, 576, 1000])
    shape = chance.choice(["triplets", "several", "several", "limited", "one", "few"])
    lengths = _triplets(chance, scale) if shape == "triplets" else _any(chance, scale, few=shape == "few")
    stock = [Stock(length=scale, price=400)]
    limited = shape == "limited"
    if shape in {"several", "limited", "few"}:
        for times in chance.sample([0.75, 1.25, 4 / 3, 1.6, 2], chance.randint(1, 3)):
            price = round(400 * times * chance.uniform(0.93, 1.05))
            on_hand = chance.choice([0, 3]) if limited else 0
            limit = chance.choice([None, 6]) if limited else None
            stock.append(Stock(length=int(scale * times), price=price, on_hand=on_hand, limit=limit))
    counts = sorted(Counter(lengths).items())
    pieces = tuple(
        Piece(length=length, count=n, slack=chance.choice([0, 0, 4]) if limited else 0)
        for length, n in counts
    )
    kerf = 0 if shape == "triplets" else chance.choice([0, 1, 2])
    return Problem(pieces=pieces, stock=tuple(stock), kerf=kerf, least_offcut=chance.choice([0, scale // 5]))


def _triplets(chance: Random, scale: int) -> list[int]:
    """Lengths of which three and three fill a board without loss."""
    lengths = []
    for _ in range(chance.choice([8, 12, 16])):
        first = chance.randint(scale // 4, scale * 2 // 5)
        second = chance.randint(scale // 4, scale * 9 // 20)
        lengths += [first, second, scale - first - second]
    return lengths


def _any(chance: Random, scale: int, *, few: bool) -> list[int]:
    low, high = chance.choice([(0.12, 0.35), (0.2, 0.5), (0.3, 0.7)])
    some = [chance.randint(int(low * scale), int(high * scale)) for _ in range(6 if few else 60)]
    return [chance.choice(some) for _ in range(chance.choice([20, 40, 80]))]


def told(seed: int) -> str:
    """A line: the list, its cost and bound, boards, ways of cutting, longest offcut kept and the work."""
    solver = Counted()
    plan = plan_problem(quick_list(seed), 0.5, solver)
    boards = sum(board.count for board in plan.boards)
    found = (plan.exact_cost, plan.exact_bound, boards, len(plan.boards), plan.kept)
    return " ".join(map(str, (seed, *found, round(solver.work))))


def all_told() -> str:
    """Every list, a line each, under what the columns are."""
    return "\n".join(["list cost bound boards ways kept work", *map(told, SEEDS), ""])


if __name__ == "__main__":
    KEPT.write_text(all_told(), encoding="utf-8")
